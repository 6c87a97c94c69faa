"""Writes kerf.json: outlines moved by half a kerf, by shapely's `buffer` with round joins.

    pip install shapely==2.2.0; python3 tests/data/kerf.py > tests/data/kerf.json

Sharp stars and combs that are drawn by seed, and cams of two arcs. shapely follows arcs by chords: of an outline within
2e-6 mm, and of a join within 1e-6 mm of the arc that it stands for. Of each, the area and some places on its edge, in mm.
"""

import json
import math
import random

import shapely
from shapely.geometry import Polygon

JOIN = 512  # segments of a quarter turn: at a radius of 0.2 mm they lie within 1e-6 mm


def star(draw):
    """A star with points of all lengths, some of them sharper than the kerf is wide."""
    count = draw.randint(5, 13)
    places = []
    for at in range(2 * count):
        out = draw.uniform(16, 30) if at % 2 == 0 else draw.uniform(5, 14)
        round_ = 2 * math.pi * (at + draw.uniform(-0.2, 0.2)) / (2 * count)
        places.append((round(out * math.sin(round_), 3), round(out * math.cos(round_), 3)))
    return places


def comb(draw):
    """Teeth whose gaps are wider than two kerfs, with square corners both ways."""
    places, x = [(0.0, 0.0)], 0.0
    for _ in range(draw.randint(3, 8)):
        high, wide, gap = draw.uniform(6, 12), draw.uniform(1, 4), draw.uniform(0.8, 3)
        places += [(x, high), (x + wide, high), (x + wide, 4.0), (x + wide + gap, 4.0)]
        x += wide + gap
    places.append((x, 0.0))
    return [(round(x, 3), round(y, 3)) for x, y in places]


def cam(draw):
    """Two circles and the lines that touch both, as SVG arcs."""
    big, small = round(draw.uniform(8, 14), 3), round(draw.uniform(1, 6), 3)
    apart = round(draw.uniform(16, 24), 3)
    lean = math.asin((big - small) / apart)
    at = lambda x, r, up: (x + r * math.sin(lean), up * r * math.cos(lean))
    corners = [at(0, big, -1), at(apart, small, -1), at(apart, small, 1), at(0, big, 1)]
    corners = [(round(x, 9), round(y, 9)) for x, y in corners]
    (a, b, c, d) = corners
    data = (f"M{a[0]},{a[1]} L{b[0]},{b[1]} A{small},{small} 0 0 1 {c[0]},{c[1]} "
            f"L{d[0]},{d[1]} A{big},{big} 0 1 1 {a[0]},{a[1]} Z")

    def arc(centre, radius, start, sweep):
        steps = max(8, math.ceil(sweep / (2 * math.acos(1 - 2e-6 / radius))))
        return [(centre + radius * math.cos(start + sweep * k / steps), radius * math.sin(start + sweep * k / steps))
                for k in range(steps + 1)]

    right = math.pi / 2 - lean
    return data, arc(apart, small, -right, 2 * right) + arc(0, big, right, 2 * math.pi - 2 * right)


def main():
    draw, shapes = random.Random(3098), []
    for number in range(36):
        if number % 3 == 2:
            data, places = cam(draw)
        else:
            places = star(draw) if number % 3 == 0 else comb(draw)
            data = "M" + " L".join(f"{x},{y}" for x, y in places) + " Z"
        by = round(draw.choice([-1, 1]) * draw.uniform(0.05, 0.2), 4)
        moved = Polygon(places).buffer(by, quad_segs=JOIN, join_style="round")
        assert moved.geom_type == "Polygon" and not moved.interiors, number
        edge = moved.exterior
        places = [edge.interpolate(draw.random(), normalized=True) for _ in range(24)]
        shapes.append({"path": data, "by": by, "area": round(moved.area, 6), "length": round(edge.length, 5),
                       "edge": [[round(at.x, 7), round(at.y, 7)] for at in places]})
    rows = ",\n".join("  " + json.dumps(shape) for shape in shapes)
    print(f'{{"library": "shapely {shapely.__version__}", "shapes": [\n{rows}\n]}}')


main()
