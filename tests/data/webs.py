"""Random shapes and their narrowest webs by shapely and a sampled Voronoi skeleton: writes webs.json beside this file.

Run with shapely 2.2.0, scipy 1.17.1 and numpy 2.4.6 (PyPI); the versions are stored with the answers. A shape is a list of steps,
each a disc or a polygon that is added or taken away. Lengths in mm.

A web is the least distance of two contours, or a neck: a ridge of the Voronoi diagram of points along the walls where the
diagram's graph, taken apart from the widest places down, first joins two parts that both hold a disc at least a twentieth wider.
It is measured between the walls themselves, and an erosion by a little less and a little more than half of it must differ: in
pieces (a neck) or in holes (between two contours). Shapes with a neck of which it is a near thing whether it is one are left out.
"""

import json
import math
import pathlib

import numpy as np
import scipy
import shapely
from scipy.spatial import Voronoi
from shapely.geometry import Point, Polygon

rng = np.random.default_rng(20261130)
STEP = 0.06
SUBSTANCE = 1.05


def polygon(x, y, size, count):
    angles = np.sort(rng.uniform(0, 2 * math.pi, count))
    reach = size * rng.uniform(0.35, 1.0, count)
    points = [[round(float(x + r * math.cos(a)), 3), round(float(y + r * math.sin(a)), 3)] for a, r in zip(angles, reach)]
    return points if Polygon(points).is_valid and Polygon(points).area > 1 else polygon(x, y, size, count)


def wedge(bearing, tip, back):
    """A notch from outside: a triangle whose tip lies `tip` from the middle."""
    half = rng.uniform(0.05, 0.5)
    far = tip + back
    corners = [(tip, 0.0), (far, half * back), (far, -half * back)]
    turned = [(x * math.cos(bearing) - y * math.sin(bearing), x * math.sin(bearing) + y * math.cos(bearing)) for x, y in corners]
    return [[round(float(x), 3), round(float(y), 3)] for x, y in turned]


def draw():
    steps = []
    kind = rng.integers(0, 4)
    if kind == 0:
        steps.append(["+", "circle", 0.0, 0.0, 30.0])
    elif kind == 1:
        steps.append(["+", "polygon", polygon(0, 0, 34, int(rng.integers(5, 12)))])
    else:
        for _ in range(int(rng.integers(2, 5))):
            x, y = (round(float(at), 3) for at in rng.uniform(-18, 18, 2))
            steps.append(["+", "circle", x, y, round(float(rng.uniform(5, 15)), 3)])
    for _ in range(int(rng.integers(0, 4))):
        steps.append(["-", "polygon", wedge(rng.uniform(0, 2 * math.pi), rng.uniform(2, 25), rng.uniform(8, 40))])
    for _ in range(int(rng.integers(0, 4))):
        x, y = (round(float(at), 3) for at in rng.uniform(-22, 22, 2))
        if rng.random() < 0.5:
            steps.append(["-", "circle", x, y, round(float(rng.uniform(1, 7)), 3)])
        else:
            steps.append(["-", "polygon", polygon(x, y, rng.uniform(2, 9), int(rng.integers(3, 7)))])
    return steps


def build(steps):
    shape = Polygon()
    for step in steps:
        if step[1] == "polygon":
            part = Polygon(step[2])
        else:
            part = Polygon([(step[2] + step[4] * math.cos(a), step[3] + step[4] * math.sin(a)) for a in np.arange(8192) * math.pi / 4096])
        shape = shape.union(part) if step[0] == "+" else shape.difference(part)
    return shape


def between_contours(shape):
    rings = [shape.exterior, *shape.interiors]
    gaps = [a.distance(b) for i, a in enumerate(rings) for b in rings[i + 1 :]]
    return min(gaps, default=math.inf)


def necks(shape):
    """All necks as (width, how much wider the lesser side is)."""
    points = np.concatenate([[ring.interpolate(at).coords[0] for at in np.linspace(0, ring.length, max(8, math.ceil(ring.length / STEP)), endpoint=False)]
                             + list(ring.coords[:-1] if len(ring.coords) < 400 else []) for ring in [shape.exterior, *shape.interiors]])
    points = np.unique(points, axis=0)
    diagram = Voronoi(points)
    inside = shapely.contains_xy(shape, diagram.vertices)
    edge = shape.boundary
    radius = shapely.distance(edge, shapely.points(diagram.vertices))
    ridges = []
    for (a, b), (u, v) in zip(diagram.ridge_points, diagram.ridge_vertices):
        if u < 0 or v < 0 or not inside[u] or not inside[v]:
            continue
        p, q, c, d = points[a], points[b], diagram.vertices[u], diagram.vertices[v]
        across = q - p
        sides = [across[0] * (at[1] - p[1]) - across[1] * (at[0] - p[0]) for at in (c, d)]
        level = np.hypot(*across) / 2 if sides[0] * sides[1] < 0 else min(radius[u], radius[v])
        ridges.append((min(level, radius[u], radius[v]) if sides[0] * sides[1] >= 0 else level, u, v, p, q))
    ridges.sort(key=lambda ridge: -ridge[0])
    parent, widest = list(range(len(radius))), list(radius)

    def find(at):
        while parent[at] != at:
            parent[at] = parent[parent[at]]
            at = parent[at]
        return at

    found = []
    for level, u, v, p, q in ridges:
        u, v = find(u), find(v)
        if u == v:
            continue
        lesser = min(widest[u], widest[v])
        if lesser > level * 1.01:
            width = settle(edge, p, q)
            found.append((width, 2 * lesser / width))
        if widest[u] < widest[v]:
            u, v = v, u
        parent[v] = u
    return found


def settle(edge, p, q):
    for _ in range(6):
        reach = math.dist(p, q) / 4
        here, there = (edge.intersection(Point(at).buffer(reach, 64)) for at in (p, q))
        pair = shapely.shortest_line(here, there)
        p, q = pair.coords
    return pair.length


def erosion_differs(shape, width):
    def count(by):
        worn = shape.buffer(-by, 256)
        pieces = [it for it in getattr(worn, "geoms", [worn]) if not it.is_empty and not it.buffer(-0.02 * by).is_empty]
        return len(pieces), sum(len(it.interiors) for it in pieces)

    # GEOS simplifies what it erodes by a hundredth of how far.
    return count(width / 2 * 0.98) != count(width / 2 * 1.02)


shapes = []
tried = 0
while len(shapes) < 40:
    tried += 1
    steps = draw()
    shape = build(steps)
    if shape.geom_type != "Polygon" or shape.area < 100 or any(Polygon(ring).area < 0.5 for ring in shape.interiors):
        continue
    between = between_contours(shape)
    if between < 0.02:
        continue
    all_necks = necks(shape)
    least = min([between, *(width for width, more in all_necks if more >= SUBSTANCE)])
    if any(width < least * 1.05 and 0.98 * SUBSTANCE < more < 1.03 * SUBSTANCE for width, more in all_necks):
        continue
    kind = "none" if math.isinf(least) else "contours" if least == between else "neck"
    # Enough of each kind.
    if kind == "contours" and sum(it["kind"] == kind for it in shapes) >= 15 or kind == "none" and sum(it["kind"] == kind for it in shapes) >= 6:
        continue
    if kind != "none":
        if not erosion_differs(shape, least):
            print("erosion does not tell", steps, least)
            continue
    shapes.append({"steps": steps, "kind": kind, "web": None if kind == "none" else round(least, 6)})
    print(len(shapes), kind, least, flush=True)

versions = {"shapely": shapely.__version__, "scipy": scipy.__version__, "numpy": np.__version__}
answer = {"versions": versions, "seed": 20261130, "tried": tried, "shapes": shapes}
pathlib.Path(__file__).with_suffix(".json").write_text(json.dumps(answer, indent=1) + "\n")
