#!/usr/bin/env python3
"""Writes overlaps.json: 60 pairs of outlines laid at random, and the area that each pair shares by shapely.

tests/suite/overlap.rs adds up what two written outlines share, and judges every layout of the suite by it. Here that judge is held
to another library. Half of the pairs are discs and lobes (cubic curves, flattened here to 1e-5 mm), half are polygons with notches.

    pip install shapely==2.2.0 && python3 overlaps.py
"""

import importlib.metadata
import json
import math
import pathlib
import random

from shapely import Polygon

HERE = pathlib.Path(__file__).resolve().parent
KAPPA = 4 * (math.sqrt(2) - 1) / 3  # a quarter of a circle as a cubic curve


def polygon(rng, middle):
    corners = rng.randint(3, 14)
    turns = sorted(rng.uniform(0, 2 * math.pi) for _ in range(corners))
    if max((b - a) % (2 * math.pi) for a, b in zip(turns, turns[1:] + turns[:1])) > 3:
        return polygon(rng, middle)
    at = [(middle[0] + r * math.cos(t), middle[1] + r * math.sin(t)) for t in turns for r in [rng.uniform(6, 30)]]
    at = [(round(x, 3), round(y, 3)) for x, y in at]
    shape = Polygon(at)
    return ("M" + " L".join(f"{x},{y}" for x, y in at) + " Z", shape) if shape.is_valid else polygon(rng, middle)


def round_shape(rng, middle):
    across, high, turned = rng.uniform(8, 30), rng.uniform(8, 30), rng.uniform(0, math.pi)

    def place(x, y):
        x, y = across * x, high * y
        at = x * math.cos(turned) - y * math.sin(turned), x * math.sin(turned) + y * math.cos(turned)
        return round(middle[0] + at[0], 3), round(middle[1] + at[1], 3)

    quarter = [[(1, 0), (1, KAPPA), (KAPPA, 1), (0, 1)], [(0, 1), (-KAPPA, 1), (-1, KAPPA), (-1, 0)],
               [(-1, 0), (-1, -KAPPA), (-KAPPA, -1), (0, -1)], [(0, -1), (KAPPA, -1), (1, -KAPPA), (1, 0)]]
    curves = [[place(*at) for at in curve] for curve in quarter]
    path = "M{},{}".format(*curves[0][0])
    path += "".join(" C" + " ".join(f"{x},{y}" for x, y in curve[1:]) for curve in curves) + " Z"
    flat = []
    for a, b, c, d in curves:
        for step in range(1500):
            t = step / 1500
            w = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
            flat.append(tuple(sum(k * p[i] for k, p in zip(w, (a, b, c, d))) for i in (0, 1)))
    return path, Polygon(flat)


def main():
    rng = random.Random(20261130)
    pairs = []
    for number in range(60):
        make = polygon if number % 2 else round_shape
        far = rng.uniform(5, 65)
        (one, a), (other, b) = make(rng, (0, 0)), make(rng, (far, rng.uniform(-10, 10)))
        pairs.append({"one": one, "other": other, "shared_mm2": round(a.intersection(b).area, 4)})
    library = f"shapely {importlib.metadata.version('shapely')}"
    (HERE / "overlaps.json").write_text(json.dumps({"made_by": "overlaps.py", "library": library, "pairs": pairs}, indent=1) + "\n")
    print(sum(pair["shared_mm2"] > 0 for pair in pairs), "of", len(pairs), "overlap")


main()
