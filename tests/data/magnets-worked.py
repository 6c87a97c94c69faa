#!/usr/bin/env python3
"""Works out figures of magnets that tests/suite/physics (magnets.rs, turning.rs) and tests/suite/holding.rs state, and prints them.

Run with numpy 2.4.6 and scipy 1.17.1 (pip install numpy==2.4.6 scipy==1.17.1):
    python3 magnets-worked.py
It takes a minute. Nothing of dialwright is used: these are the field and the force of uniformly magnetised discs as Bessel integrals,

    Bz(rho, z) = J r/2 int J1(k r) J0(k rho) e^(-k z) (1 - e^(-k h)) dk
    E(g, d)    = -J1 J2 pi r1 r2/mu0 int J1(k r1) J1(k r2) J0(k d) e^(-k g) (1 - e^(-k h1)) (1 - e^(-k h2)) dk / k^2
    F(g, d)    = J1 J2 pi r1 r2/mu0 int J1(k r1) J1(k r2) J0(k d) e^(-k g) (1 - e^(-k h1)) (1 - e^(-k h2)) dk / k

summed by Simpson's rule. Discs are (diameter, height, remanence) in mm and T, gaps and offsets in mm, forces in N.
"""

import math

import numpy
import scipy

SCALE = math.pi / (4e-7 * math.pi) * 1e-6  # of J1 J2 r1 r2, radii in mm; mu0 differs from this by less than 1e-9
K = numpy.linspace(0, 2e4, 8_000_001)[1:]  # in 1/mm


def total(values):
    return float(scipy.integrate.simpson(numpy.concatenate(([0.0], values)), dx=K[0]))


def weight(lower, upper, gap):
    (d1, h1, _), (d2, h2, _) = lower, upper
    decay = -numpy.expm1(-K * h1) * -numpy.expm1(-K * h2) * numpy.exp(-K * gap)
    return decay * scipy.special.j1(K * d1 / 2) * scipy.special.j1(K * d2 / 2)


def scale(lower, upper):
    return lower[2] * upper[2] * lower[0] / 2 * upper[0] / 2 * SCALE


def pull(lower, upper, gap):
    # Beyond the last k, J1(k r)^2 is 1/(pi k r) on average: what like discs in contact still lack.
    tail = 1 / (math.pi * lower[0] / 2 * K[-1]) if gap == 0 and lower[0] == upper[0] else 0
    return scale(lower, upper) * (total(weight(lower, upper, gap) / K) + tail)


def slope(lower, upper, gap):
    return -scale(lower, upper) * total(weight(lower, upper, gap))


def draw_back(lower, upper, gap, offset):
    return scale(lower, upper) * total(weight(lower, upper, gap) / K * scipy.special.j1(K * offset))


def energy(one, gap, offset):
    """Of two like discs, in mJ; for gaps of 0.3 mm and more, where nothing is left beyond k = 100/mm."""
    k = numpy.linspace(0, 100, 100_001)[1:]
    values = (-numpy.expm1(-k * one[1]) * scipy.special.j1(k * one[0] / 2)) ** 2 * numpy.exp(-k * gap) / k**2
    values *= scipy.special.j0(k * offset)
    return -scale(one, one) * float(scipy.integrate.simpson(numpy.concatenate(([0.0], values)), dx=k[0]))


def field(disc, above, off_axis):
    diameter, height, remanence = disc
    k = numpy.linspace(0, 400, 80_001)[1:]
    values = -numpy.expm1(-k * height) * numpy.exp(-k * above) * scipy.special.j1(k * diameter / 2)
    values *= scipy.special.j0(k * off_axis)
    whole = float(scipy.integrate.simpson(numpy.concatenate(([0.0], values)), dx=k[0]))
    return remanence * diameter / 4 * whole


def flux_index(disc, off_axis):
    return (10 * field(disc, 0.38, off_axis)) ** 2 * math.pi * disc[0] ** 2 / 4


def whole_face(disc):
    """The largest over the face: a scan, and then a search about its best place."""
    places = [disc[0] / 2 * step / 40 for step in range(41)]
    best = max(places, key=lambda at: flux_index(disc, at))
    near = (max(0.0, best - disc[0] / 80), min(disc[0] / 2, best + disc[0] / 80))
    found = scipy.optimize.minimize_scalar(lambda at: -flux_index(disc, at), bounds=near, method="bounded")
    return max(flux_index(disc, best), -found.fun)


def magnets():
    print("the_pull_agrees_with_the_reference_table")
    like = [((4, 1, 1.17), 0.1), ((5, 1.5, 1.32), 0.3), ((6, 1.6, 1.32), 0.3), ((6, 2, 1.32), 0), ((6, 2, 1.32), 0.5)]
    like += [((8, 1.5, 1.32), 0.1), ((8, 3, 1.45), 2), ((10, 2, 1.17), 0.5)]
    pairs = [(one, one, gap) for one, gap in like]
    pairs += [((6, 2, 1.32), (5, 1.5, 1.32), 0.3), ((10, 2, 1.32), (4, 1, 1.32), 0)]
    for lower, upper, gap in pairs:
        print(f"  {lower} {upper} at {gap}: {pull(lower, upper, gap):.6f} N")
    print("centring_agrees_with_the_reference")
    one = (6, 2, 1.32)
    print(f"  slope {slope(one, one, 0.5):.5f} N/mm, stiffness {-slope(one, one, 0.5) / 2:.5f} N/mm")
    print(f"  draws back with {draw_back(one, one, 0.5, 0.1):.5f} N at 0.1 and {draw_back(one, one, 0.5, 0.5):.5f} N at 0.5 mm")
    print("the_hazard_index_agrees_with_the_reference_table")
    for disc in [(4, 1, 1.17), (5, 1.5, 1.32), (6, 1.6, 1.32), (8, 2, 1.32), (10, 2, 1.45)]:
        print(f"  {disc}: {field(disc, 0.05, 0):.4f} T, {flux_index(disc, 0):.1f} on the axis, {whole_face(disc):.1f} in all")


def rings():
    """Two like rings of six, one turned over: where their energy is least between two places at which their magnets meet."""
    print("rings_turned_over_repel_and_rest_between")
    one, radius = (4, 1.5, 1.32), 15

    def turned(degrees):
        apart = [2 * radius * abs(math.sin(math.radians(degrees + 60 * by) / 2)) for by in range(6)]
        return -sum(6 * energy(one, 0.3, offset) for offset in apart)

    found = scipy.optimize.minimize_scalar(turned, bounds=(10, 30), method="bounded", options={"xatol": 1e-4})
    print(f"  {found.x:.3f} degrees, where {turned(found.x):.6f} mJ are less than {turned(30):.6f} at 30")


def holding():
    """Discs of 8 by 1.5 mm less 0.015 mm of plating all round."""
    one = (7.97, 1.47, 1.32)
    print("the_pull_across_the_true_gap_agrees_with_bessel_integrals")
    print(f"  at 0.13: {pull(one, one, 0.13):.6f} N, flush (0.03): {pull(one, one, 0.03):.6f} N")
    stored = pull(one, one, 2.83) + 2 * pull(one, one, 4.43) + pull(one, one, 6.03)
    print(f"  stored on each other: {stored:.6f} N; turned over, at 1.48: {-pull(one, one, 1.48):.6f} N")
    print(f"  sunk to 2.25, at 1.43: {pull(one, one, 1.43):.6f} N")
    print("measures_follow_from_the_pull")
    bare = (8, 1.5, 1.32)  # the index is of the magnet as it is sold
    print(f"  flux index {flux_index(bare, 0):.3f} on the axis, {whole_face(bare):.3f} in all")


if __name__ == "__main__":
    print(f"numpy {numpy.__version__}, scipy {scipy.__version__}")
    magnets()
    rings()
    holding()
