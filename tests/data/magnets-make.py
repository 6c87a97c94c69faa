#!/usr/bin/env python3
"""Makes magnets-beside, -coaxial, -energy, -field and -rings.json, answers of the public library magpylib, and magnets-contact.json,
Bessel integrals summed with the public library scipy.

Run from this folder with magpylib 6.3.0, numpy 2.4.6 and scipy 1.17.1 (pip install magpylib==6.3.0):
    python3 magnets-make.py
(or with one of those names, for that file alone). It takes some five minutes. The answers are stored, so the tests need no Python.

Lower magnet: top pole at the origin, looking up. Upper magnet: lower pole `gap_mm` above, axis `offset_mm` to the
right. Both are magnetised upwards. Forces act on the upper magnet, in newtons; mm and tesla elsewhere. Rings: bearings run
clockwise from the top, seen from above; the torque acts on the upper ring, clockwise positive, in millinewton metres.
"""

import json
import math
import random
import sys

import magpylib
import numpy
import scipy

MESH = (192, 48, 24)  # cells round, outwards and up
COAXIAL_MESH = (256, 64, 32)
RING_MESH = (64, 16, 8)
CASES = 30


def cylinder(diameter, height, remanence, position):
    return magpylib.magnet.Cylinder(
        polarization=(0, 0, remanence),
        dimension=(diameter * 1e-3, height * 1e-3),
        position=tuple(part * 1e-3 for part in position),
    )


def force(case, mesh):
    (d1, h1, j1), (d2, h2, j2) = case["lower"], case["upper"]
    lower = cylinder(d1, h1, j1, (0, 0, -h1 / 2))
    upper = cylinder(d2, h2, j2, (case["offset_mm"], 0, case["gap_mm"] + h2 / 2))
    newtons, _ = magpylib.getFT(lower, upper, meshing=mesh)
    return newtons


def beside():
    random.seed(1979)
    sizes = [(3, 1), (4, 1), (4, 1.5), (5, 1.5), (6, 2), (8, 1.5), (8, 3), (10, 2)]
    remanences = [1.17, 1.25, 1.32, 1.45]
    for index in range(CASES):
        one = random.choice(sizes)
        other = one if index % 2 else random.choice(sizes)
        reach = (one[0] + other[0]) / 2
        case = {
            "lower": [*one, random.choice(remanences)],
            "upper": [*other, random.choice(remanences)],
            "gap_mm": round(random.uniform(0.2, 2.5), 2),
            "offset_mm": round(reach * random.uniform(0.05, 3.0), 2),
        }
        x, y, z = force(case, MESH)
        assert abs(y) < 1e-9
        yield case | {"sideways_n": float(x), "along_n": float(z)}


def energy():
    """Energy of the pairs of magnets-beside.json: `-J2/mu0` times the axial flux density of the lower magnet, integrated over
    the upper one by Gauss and Legendre's rule in radius and height and even steps round."""
    with open("magnets-beside.json", encoding="utf-8") as file:
        cases = json.load(file)["cases"]
    points, weights = numpy.polynomial.legendre.leggauss(24)
    points, weights = (points + 1) / 2, weights / 2
    round_, share = numpy.arange(96) * (2 * math.pi / 96), 2 * math.pi / 96
    for case in cases:
        (d1, h1, j1), (d2, h2, j2) = case["lower"], case["upper"]
        lower = cylinder(d1, h1, j1, (0, 0, -h1 / 2))
        r, t, z = numpy.meshgrid(points * d2 / 2, round_, case["gap_mm"] + points * h2, indexing="ij")
        w = weights[:, None, None] * r * (d2 / 2) * share * weights[None, None, :] * h2
        at = numpy.stack([case["offset_mm"] + r * numpy.cos(t), r * numpy.sin(t), z], axis=-1) * 1e-3
        axial = lower.getB(at.reshape(-1, 3))[:, 2].reshape(r.shape)
        joules = -j2 / scipy.constants.mu_0 * float((axial * w).sum()) * 1e-9
        yield {key: case[key] for key in ("lower", "upper", "gap_mm", "offset_mm")} | {"energy_mj": 1e3 * joules}


def coaxial():
    table = [
        ((4, 1), (4, 1), 0.1, 1.17), ((5, 1.5), (5, 1.5), 0.3, 1.32), ((6, 1.6), (6, 1.6), 0.3, 1.32),
        ((6, 2), (6, 2), 0.5, 1.32), ((8, 1.5), (8, 1.5), 0.1, 1.32), ((8, 3), (8, 3), 2, 1.45),
        ((10, 2), (10, 2), 0.5, 1.17), ((6, 2), (5, 1.5), 0.3, 1.32),
    ]
    for one, other, gap, remanence in table:
        case = {"lower": [*one, remanence], "upper": [*other, remanence], "gap_mm": gap, "offset_mm": 0.0}
        yield case | {"sideways_n": 0.0, "along_n": float(force(case, COAXIAL_MESH)[2])}


def field():
    random.seed(1962)
    for diameter, height, remanence in [(4, 1, 1.17), (5, 1.5, 1.32), (6, 1.6, 1.32), (8, 2, 1.32), (10, 2, 1.45)]:
        magnet = cylinder(diameter, height, remanence, (0, 0, -height / 2))
        for _ in range(6):
            above, off_axis = round(random.uniform(0.05, 6), 3), round(random.uniform(0, 1.5 * diameter), 3)
            radial, _, axial = magnet.getB((off_axis * 1e-3, 0, above * 1e-3))
            yield {
                "magnet": [diameter, height, remanence], "above_mm": above, "off_axis_mm": off_axis,
                "axial_t": float(axial), "radial_t": float(radial),
            }


def rings():
    signs_below, signs_above = [1, 1, -1, 1, -1, -1], [1, 1, -1, 1, -1, -1]
    diameter, height, remanence, gap, radius = 4, 1.5, 1.32, 0.3, 12

    def ring(signs, z, turned):
        def place(bearing):
            return (radius * math.sin(bearing), radius * math.cos(bearing), z)

        bearings = [math.radians(60 * seat + turned) for seat in range(6)]
        return [cylinder(diameter, height, sign * remanence, place(at)) for sign, at in zip(signs, bearings)]

    for degrees in [0, 4, 9, 15, 22, 30, 41, 55, 118, 200, 305, *range(7, 360, 19)]:
        below = ring(signs_below, -height / 2, 0)
        above = ring(signs_above, gap + height / 2, degrees)
        pushes, turns = magpylib.getFT(below, above, pivot=(0, 0, 0), meshing=RING_MESH)
        yield {
            "magnet": [diameter, height, remanence], "gap_mm": gap, "radius_mm": radius, "turned_deg": degrees,
            "below": signs_below, "above": signs_above,
            "torque_mnm": -1e3 * float(turns[..., 2].sum()), "along_n": float(pushes[..., 2].sum()),
        }


def contact():
    """Energy `J1 J2 pi r1 r2/mu0 int J1(k r1) J1(k r2) J0(k d) e^(-k g) (1 - e^(-k h1)) (1 - e^(-k h2)) dk / k^2` of two
    magnets close together, where a mesh is coarse, and its slopes. Simpson's rule; the tail left out is below 1e-6."""
    bessel, mm = scipy.special, 1e-3
    k = numpy.linspace(0, 2e7, 8_000_001)[1:]
    for d1, d2, gap, offset in [
        (6, 6, 0, 0.5), (6, 6, 0, 3), (6, 6, 0, 5.9), (4, 6, 0, 1), (4, 6, 0, 4.9), (4, 4, 0.02, 0.1), (4, 4, 0.02, 3.9),
        (4, 4, 0.1, 2),
    ]:
        h1, h2, remanence, r1, r2 = 1.5 * mm, 2 * mm, 1.32, d1 / 2 * mm, d2 / 2 * mm
        far = -numpy.expm1(-k * h1) * -numpy.expm1(-k * h2) * numpy.exp(-k * gap * mm)
        weight = far * bessel.j1(k * r1) * bessel.j1(k * r2)
        scale = remanence**2 * math.pi * r1 * r2 / scipy.constants.mu_0
        across = k * offset * mm

        def total(values):
            return scale * float(scipy.integrate.simpson(numpy.concatenate(([0.0], values)), dx=k[0]))

        yield {
            "lower": [d1, 1.5, remanence], "upper": [d2, 2, remanence], "gap_mm": gap, "offset_mm": offset,
            "energy_mj": -1e3 * total(weight * bessel.j0(across) / k**2),
            "along_n": -total(weight * bessel.j0(across) / k), "sideways_n": -total(weight * bessel.j1(across) / k),
        }


def store(name, cases, mesh):
    library = f"scipy {scipy.__version__}" if name == "contact" else f"magpylib {magpylib.__version__}"
    head = {"made_by": "magnets-make.py", "library": library} | ({"mesh": mesh} if mesh else {})
    rows = ",\n    ".join(json.dumps(case) for case in cases)
    with open(f"magnets-{name}.json", "w", encoding="utf-8") as file:
        file.write(json.dumps(head)[:-1] + ',\n  "cases": [\n    ' + rows + "\n  ]\n}\n")


FILES = {"beside": (beside, MESH), "energy": (energy, None), "coaxial": (coaxial, COAXIAL_MESH), "field": (field, None), "rings": (rings, RING_MESH)}
FILES["contact"] = (contact, None)
for name in sys.argv[1:] or FILES:
    store(name, FILES[name][0](), FILES[name][1])
