"""How many dials read right where nothing strays but their glued layers: plain draws.

Run from this folder with numpy 2.4.6 (pip install numpy==2.4.6): python glued.py > glued.json

A round label of radius 3 mm stands 20 mm out on the lowest of four layers. A round opening of radius 5 mm stands 20 mm out on the
uppermost. The two lower layers are glued to each other, and so are the two upper ones; the halves turn by four stops. Each joint is
laid once for a dial: shifted by normal errors of `glued` mm in x and in y, and turned about the axis by one of `glued` over `rim`
radians. A stop reads right where label and opening stand no farther apart than 2 mm. `plus_minus` is 95 % of the draws' own.
"""

import json

import numpy

DRAWS = 4_000_000


def share(right):
    part = right.mean()
    return {"share": round(float(part), 6), "plus_minus": round(float(1.96 * (part * (1 - part) / DRAWS) ** 0.5), 6)}


def case(rim, glued):
    draws = numpy.random.default_rng(2026)

    def joint():
        across, up, askew = glued * draws.normal(size=(3, DRAWS))
        return across + 1j * up, numpy.exp(1j * askew / rim)

    (low, low_askew), (high, high_askew) = joint(), joint()
    stops = []
    for stop in range(4):
        turned = numpy.exp(-0.5j * numpy.pi * stop)
        opening = low + low_askew * turned * (high + high_askew * 20j)
        stops.append(abs(opening - turned * 20j) <= 2)
    return {"rim": rim, "glued": glued, "stop": share(stops[0]), "whole": share(numpy.all(stops, axis=0))}


print(json.dumps([case(400.0, 1.0), case(30.0, 0.7)], indent=2))
