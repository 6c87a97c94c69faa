"""Middles of rims, openings and pockets on `scans.png` by contours at half light, with scikit-image 0.26.0 and numpy 2.4.6.

    python3 tests/data/scans.py > tests/data/scans.json

The rim of a part is the largest contour half way between lid and char; an opening the one within it at the same light; a pocket the
round one half way between bare wood and dark. Middles are those of the areas, mm from the upper left corner; of an opening and a
pocket the distance of its middle from that of the rim is told, for which no turn is needed.
"""
import json
import pathlib

import numpy
from skimage import io, measure

folder = pathlib.Path(__file__).parent
codes = io.imread(folder / "scans.png").astype(float)
pixel = 25.4 / 300.0
c = codes / 255.0
light = numpy.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def middle(contour):
    """Of the area within, as x and y, and that area."""
    y, x = contour[:-1, 0] + 0.5, contour[:-1, 1] + 0.5
    cross = x * numpy.roll(y, -1) - numpy.roll(x, -1) * y
    area = cross.sum() / 2
    return (
        ((x + numpy.roll(x, -1)) * cross).sum() / (6 * area) * pixel,
        ((y + numpy.roll(y, -1)) * cross).sum() / (6 * area) * pixel,
        abs(area) * pixel**2,
    )


def closed(level):
    found = measure.find_contours(light, level)
    return [middle(it) for it in found if len(it) > 60 and numpy.allclose(it[0], it[-1])]


cut = closed((light.max() * 0.95 + 0.01) / 2)
burnt = closed((0.25 + 0.014) / 2)
parts = []
for x, y, area in cut:
    if area < 300:
        continue
    part = {"rim": [round(x, 4), round(y, 4)]}
    for kind, found, low, high in [("opening", cut, 40, 62), ("pocket", burnt, 40, 62)]:
        near = [it for it in found if low < it[2] < high and it[2] < area and numpy.hypot(it[0] - x, it[1] - y) < 13]
        if kind == "pocket":
            near = [it for it in near if numpy.hypot(it[0] - x, it[1] - y) < 1]
        if near:
            # Of the two edges of char the outer one counts, which is the larger.
            best = max(near, key=lambda it: it[2])
            part[kind] = round(float(numpy.hypot(best[0] - x, best[1] - y)), 4)
    parts.append(part)
print(json.dumps({"parts": parts}, indent=1))
