#!/usr/bin/env python3
"""Makes clicks-rest.json: where click stops come to rest under friction, and how far off the axis friction holds a pair of magnets.

Run from this folder with magpylib 6.3.0, numpy 2.4.6 and scipy 1.17.1 (pip install magpylib==6.3.0 numpy==2.4.6 scipy==1.17.1):
    python3 clicks-rest.py
It takes some minutes. The answers are stored, so the tests need no Python. Nothing of dialwright is used.

Turns: two rings of disc magnets face each other, and a pull on the axis presses the halves together. The forces on every upper magnet
come from magpylib's field and its integral over the magnet, pair by pair every half degree, with a cubic spline between (scipy's
CubicSpline). The upper half is let go at an angle and its motion integrated in time (scipy's solve_ivp, Radau),

    J w' = T(a) - mu arm (F + P(a)) tanh(w / slow) - c w,    a' = w

with the friction of Coulomb, smoothed below `slow` radians a second. Damping c is large, so that it creeps (a hand, not a flywheel). It
has come to rest when it moves by less than a hundredth of a degree in the last half of the time. `rests_deg` is where; tests hold the
dead band's ends to those let go from either side, and its basin to the first that does not come.

Pairs: the shift at which the force back on the axis equals mu times the pull, both by magpylib, found by scipy's brentq.

Sizes in mm, tesla, newtons, degrees; bearings run clockwise; magnets look all up.
"""

import json
import math

import magpylib
import numpy
import scipy
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

MESH = (64, 16, 8)  # cells of a magnet: round, outwards and up
PAIR_MESH = (128, 32, 16)
INERTIA = 2e-6  # kg m2: a disc of wood
DAMPING = 0.02  # N m s: overdamped by far
SLOW = 1e-6  # radians a second


def cylinder(size, position):
    diameter, height, remanence = size
    return magpylib.magnet.Cylinder(
        polarization=(0, 0, remanence),
        dimension=(diameter * 1e-3, height * 1e-3),
        position=tuple(part * 1e-3 for part in position),
    )


def place(radius, bearing):
    return radius * math.sin(math.radians(bearing)), radius * math.cos(math.radians(bearing))


def torque_and_pull(case, turned):
    """Of one lower magnet at the top on one upper magnet turned by so much: clockwise positive, N m; and their pull, N."""
    size, height = case["magnet"], case["magnet"][1]
    lower = cylinder(size, (*place(case["radius"], 0), -height / 2))
    x, y = place(case["radius"], turned)
    upper = cylinder(size, (x, y, case["gap"] + height / 2))
    force, _ = magpylib.getFT(lower, upper, meshing=MESH)
    return (y * force[0] - x * force[1]) * 1e-3, -force[2]


def curves(case):
    """Torque and pull of the rings against the angle in radians: forces of pairs add up, and one pair is even about its middle."""
    near, far = numpy.arange(0, 40, 0.5), numpy.arange(40, 181, 4.0)
    degrees = numpy.append(near, far)
    found = numpy.array([torque_and_pull(case, at) for at in degrees])
    degrees = numpy.concatenate((-degrees[:0:-1], degrees))
    torque, pull = (
        CubicSpline(degrees, numpy.concatenate((sign * found[:0:-1, at], found[:, at]))) for at, sign in ((0, -1), (1, 1))
    )

    fine = numpy.linspace(0, 360, 7201)

    def over_pairs(of):
        ways = [upper - lower for upper in case["upper"] for lower in case["lower"]]
        values = sum(of((fine + way + 180) % 360 - 180) for way in ways)
        values[-1] = values[0]
        return CubicSpline(numpy.radians(fine), values, bc_type="periodic")

    return over_pairs(torque), over_pairs(pull)


def let_go(case, torque, pull, mu, start):
    arm = case["arm"] * 1e-3

    def motion(_, state):
        angle, speed = state
        pressed = max(case["axis"] + float(pull(angle)), 0.0)
        held = mu * arm * pressed * math.tanh(speed / SLOW)
        return [speed, (float(torque(angle)) - held - DAMPING * speed) / INERTIA]

    end = 12.0
    done = solve_ivp(motion, (0, end), [math.radians(start), 0.0], method="Radau", rtol=1e-7, atol=1e-9, t_eval=[end / 2, end])
    half, last = numpy.degrees(done.y[0])
    assert abs(last - half) < 1e-2, (start, half, last)
    return float(last)


CASES = [
    # Six pairs, each stop alike; one magnet above and uneven stops, so that neighbours pull it over.
    {"magnet": [4.0, 1.5, 1.2], "radius": 15.0, "gap": 0.3, "lower": [0, 60, 120, 180, 240, 300], "upper": [0, 60, 120, 180, 240, 300], "axis": 6.0, "arm": 18.0, "stop": 0.0, "coefficients": [0.1, 0.3, 0.6], "starts": [-24, -14, -9, -3, 3, 9, 14, 24]},
    {"magnet": [4.0, 1.5, 1.2], "radius": 12.0, "gap": 0.3, "lower": [0, 25, 200], "upper": [0], "axis": 4.0, "arm": 18.0, "stop": 0.0, "coefficients": [0.05, 0.12], "starts": [-20, -10, -6, 5, 8, 11]},
    {"magnet": [3.0, 2.0, 1.3], "radius": 20.0, "gap": 0.6, "lower": [0, 45, 90, 135, 180, 225, 270, 315], "upper": [0, 45, 90, 135, 180, 225, 270, 315], "axis": 3.0, "arm": 20.0, "stop": 45.0, "coefficients": [0.15, 0.4], "starts": [30, 36, 40, 50, 54, 60]},
]


def turns():
    for case in CASES:
        torque, pull = curves(case)
        for mu in case["coefficients"]:
            rests = [let_go(case, torque, pull, mu, start) for start in case["starts"]]
            kept = {key: value for key, value in case.items() if key != "coefficients"}
            yield kept | {"mu": mu, "rests_deg": rests}


def forces(size, gap, offset):
    lower = cylinder(size, (0, 0, -size[1] / 2))
    upper = cylinder(size, (offset, 0, gap + size[1] / 2))
    newtons, _ = magpylib.getFT(lower, upper, meshing=PAIR_MESH)
    return -float(newtons[0]), -float(newtons[2])


def pairs():
    for size, gap in [([7.97, 1.47, 1.32], 0.13), ([5.97, 1.97, 1.2], 0.5), ([9.97, 1.97, 1.25], 0.83)]:
        for mu in (0.12, 0.3, 0.5):

            def left(offset):
                back, pull = forces(size, gap, offset)
                return back - mu * pull

            yield {"magnet": size, "gap": gap, "mu": mu, "held_mm": brentq(left, 0.01, size[0] / 2, xtol=1e-4)}


if __name__ == "__main__":
    library = f"magpylib {magpylib.__version__}, scipy {scipy.__version__}"
    answers = {"library": library, "turns": list(turns()), "pairs": list(pairs())}
    with open("clicks-rest.json", "w", encoding="utf-8") as file:
        json.dump(answers, file, indent=1)
        file.write("\n")
