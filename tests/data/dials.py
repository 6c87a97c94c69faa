"""Random dials and what shapely says of them: writes dials.json beside this file.

Run with shapely 2.2.0 (PyPI) and numpy 2.4.6; the versions are stored with the answers. Each dial is a disc with a
ring of polygons under a disc with one window. Lengths in mm, bearings clockwise from the top, y up.
"""

import json
import math
import pathlib

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Point, Polygon

rng = np.random.default_rng(20240607)
OUTLINE = 30.0
STEP = 0.02


def place(shape, radius, bearing):
    at = math.radians(bearing)
    return affinity.translate(shape, radius * math.sin(at), radius * math.cos(at))


def star(size):
    count = int(rng.integers(5, 15))
    angles = np.sort(rng.uniform(0, 2 * math.pi, count))
    reach = size * rng.uniform(0.45, 1.0, count)
    shape = Polygon([(r * math.cos(a), r * math.sin(a)) for a, r in zip(angles, reach)])
    return shape if shape.is_valid and shape.area > 1 else star(size)


def ellipse(width, height):
    points = [2 * math.pi * k / 4096 for k in range(4096)]
    return Polygon([(width / 2 * math.cos(t), height / 2 * math.sin(t)) for t in points])


def window(size):
    if rng.random() < 0.6:
        width, height = 2 * size * rng.uniform(1.0, 1.3), 2 * size * rng.uniform(0.9, 1.1)
        return {"ellipse": [width, height]}, ellipse(width, height)
    sides = int(rng.integers(4, 9))
    corners = [(size * 1.25 * math.sin(2 * math.pi * k / sides), size * 1.25 * math.cos(2 * math.pi * k / sides))
               for k in range(sides)]
    return {"polygon": corners}, Polygon(corners)


def depth(points_of, body):
    """How far the deepest vertex lies inside the body; none where no vertex does."""
    inside = [Point(p) for p in points_of.exterior.coords if body.contains(Point(p))]
    return max((body.exterior.distance(p) for p in inside), default=None)


def sides(due, others, hole, stop):
    """Brute-force sweep: the first multiple of STEP, either way, at which the reading fails."""
    def fails(by):
        turned = affinity.rotate(due, stop + by, origin=(0, 0))
        if not hole.covers(turned):
            return True
        return any(hole.intersects(affinity.rotate(one, stop + by, origin=(0, 0))) for one in others)

    def first(sign):
        return next((k * STEP for k in range(1, int(180 / STEP)) if fails(sign * k * STEP)), 180.0)

    return [first(-1), first(1)]


def dial():
    count = int(rng.integers(4, 13))
    radius = float(rng.uniform(15, 21))
    size = float(min(rng.uniform(2.5, 4.5), 0.8 * radius * math.sin(math.pi / count)))
    stops = [360 * k / count for k in range(count)]
    if rng.random() < 0.3:
        stops = sorted(s + float(rng.uniform(-0.1, 0.1)) * 360 / count for s in stops)
    at = float(rng.uniform(0, 360))
    spec, hole = window(size * float(rng.choice([0.75, 1.0, 1.25, 1.6, 1.9])))
    spec["turned"] = float(rng.uniform(0, 360))
    spec["at"] = [radius, at]
    hole = place(affinity.rotate(hole, -spec["turned"], origin=(0, 0)), radius, at)
    bearings = [s + at for s in stops]
    labels = [place(star(size), radius, b + float(rng.uniform(-1, 1))) for b in bearings]
    shapely.prepare(hole)
    answers = []
    for k, stop in enumerate(stops):
        turned = [affinity.rotate(one, stop, origin=(0, 0)) for one in labels]
        due, others = turned[k], turned[:k] + turned[k + 1:]
        visible = shapely.intersection(due, hole, grid_size=1e-9).area
        foreign = sum(shapely.intersection(one, hole, grid_size=1e-9).area for one in others)
        whole = hole.covers(due)
        out = [hole.exterior.distance(Point(p)) for p in due.exterior.coords if not hole.covers(Point(p))]
        margin = due.exterior.distance(hole.exterior) if whole else (-max(out) if out else None)
        near = min(one.distance(hole) for one in others)
        reads = whole and foreign == 0
        answers.append({
            "visible": visible, "foreign": foreign, "margin": margin, "foreign_gap": near if foreign == 0 else None,
            "fails_at": sides(labels[k], labels[:k] + labels[k + 1:], hole, stop) if reads else None,
        })
    return {
        "window": spec, "stops": stops, "bearings": bearings,
        "labels": [[list(p) for p in one.exterior.coords[:-1]] for one in labels], "answers": answers,
    }


def rounded(value):
    if isinstance(value, float):
        return round(value, 9)
    if isinstance(value, dict):
        return {key: rounded(one) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [rounded(one) for one in value]
    return value


dials = [dial() for _ in range(32)]
found = {
    "library": f"shapely {shapely.__version__}, GEOS {shapely.geos_version_string}",
    "outline": OUTLINE, "step": STEP, "dials": dials,
}
text = json.dumps(rounded(found), separators=(",", ":")).replace('{"window"', '\n{"window"')
pathlib.Path(__file__).with_name("dials.json").write_text(text + "\n")
stops = [one for each in dials for one in each["answers"]]
print(len(dials), "dials,", len(stops), "stops,", sum(one["fails_at"] is not None for one in stops), "read right,",
      sum(one["foreign"] > 0 for one in stops), "shared")
