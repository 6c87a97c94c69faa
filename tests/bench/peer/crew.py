"""The setups of `examples/saltmarsh/crew.dial`, made by hand-written steps with public libraries.

    python3 crew.py FONT.ttf OUT_FOLDER

This is what a maker with some Python would write for one dial: no language, no diagnostics, no magnets, no quote and no
run sheet. It sets the lettering (fontTools), finds the largest height at which every reading clears its opening, turns the
dial through all its stops, moves every cut by half the kerf (shapely), lays sixteen parts in rows, looks whether any
two overlap, and writes the drawing of both setups (svgwrite) and the list of operations. Curves become short chords.
"""

import json
import math
import sys
from pathlib import Path

import svgwrite
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont
from shapely import affinity
from shapely.geometry import MultiPolygon, Point, Polygon, box
from shapely.ops import unary_union

ACROSS, MOST, DIALS = 60.0, 9, 8
RADIUS, PEEP = 0.33 * ACROSS, 0.2 * ACROSS
BOARD, MARGIN, GAP, KERF = 305.0, 5.0, 2.0, 0.16
POCKET, DEPTH, CLEAR = 8.1, 1.6, 1.2
CHORDS = 32  # to a quarter turn
COLOURS = {"engrave": "#56b4e9", "score": "#009e73", "pocket": "#0072b2", "opening": "#e69f00", "outline": "#cc79a7"}


class Lettering:
    """Text as filled areas, capitals of a given height."""

    def __init__(self, path):
        self.font = TTFont(path)
        self.glyphs, self.cmap = self.font.getGlyphSet(), self.font.getBestCmap()
        self.capitals = self.font["glyf"]["H"].yMax

    def contours(self, name):
        pen = DecomposingRecordingPen(self.glyphs)
        self.glyphs[name].draw(pen)
        contours, points = [], []
        for step, given in pen.value:
            if step == "moveTo":
                points = [given[0]]
            elif step == "lineTo":
                points.append(given[0])
            elif step == "qCurveTo":
                for off, on in quadratics(given):
                    points.extend(chords(points[-1], off, on))
            elif step == "closePath":
                contours.append(points)
        return contours

    def line(self, text, height):
        pen, parts = 0, []
        for letter in text:
            name = self.cmap[ord(letter)]
            area = Polygon()
            for contour in self.contours(name):
                area = area.symmetric_difference(Polygon(contour))
            parts.append(affinity.translate(area, pen, 0))
            pen += self.glyphs[name].width
        scale = height / self.capitals
        return affinity.scale(unary_union(parts), scale, scale, origin=(0, 0))

    def text(self, text, height, spacing=1.5):
        lines = [self.line(line, height) for line in text.split("\n")]
        placed = []
        for row, line in enumerate(lines):
            low, _, high, _ = line.bounds
            down = row * spacing * height
            placed.append(affinity.translate(line, -(low + high) / 2, -down - height / 2))
        whole = unary_union(placed)
        return affinity.translate(whole, 0, (len(lines) - 1) * spacing * height / 2)


def quadratics(given):
    offs, end = list(given[:-1]), given[-1]
    for at, off in enumerate(offs):
        if at + 1 < len(offs):
            after = offs[at + 1]
            yield off, ((off[0] + after[0]) / 2, (off[1] + after[1]) / 2)
        else:
            yield off, end


def chords(start, off, end, count=8):
    for step in range(1, count + 1):
        t = step / count
        a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
        yield (a * start[0] + b * off[0] + c * end[0], a * start[1] + b * off[1] + c * end[1])


def disc(diameter, x=0.0, y=0.0):
    return Point(x, y).buffer(diameter / 2, quad_segs=CHORDS)


def placed(label, bearing):
    """A label at its bearing, clockwise from the top, its foot towards the axis."""
    return affinity.rotate(affinity.translate(label, 0, RADIUS), -bearing, origin=(0, 0))


def labels(lettering):
    """Every reading at the largest height that clears the opening, all alike."""
    unit = [lettering.text(str(number), 1.0) for number in range(MOST + 1)]
    room = disc(PEEP - 2 * CLEAR)
    low, high = 0.5, PEEP
    for _ in range(40):
        middle = (low + high) / 2
        fits = all(room.contains(affinity.scale(label, middle, middle, origin=(0, 0))) for label in unit)
        low, high = (middle, high) if fits else (low, middle)
    sized = [affinity.scale(label, low, low, origin=(0, 0)) for label in unit]
    return [placed(label, at * 360 / len(sized)) for at, label in enumerate(sized)]


def prove(readings):
    """The least room of any reading in its opening, every stop turned."""
    least = math.inf
    for stop, reading in enumerate(readings):
        opening = placed(disc(PEEP), stop * 360 / len(readings))
        assert opening.contains(reading), f"stop {stop + 1} is hidden"
        others = [other for at, other in enumerate(readings) if at != stop]
        assert not any(opening.intersects(other) for other in others), f"stop {stop + 1} shows another"
        least = min(least, opening.boundary.distance(reading))
    return least


def layers(lettering):
    readings = labels(lettering)
    margin = prove(readings)
    body, pocket, rim = disc(ACROSS), disc(POCKET), disc(ACROSS - 4).exterior
    base = {
        "front": [("engrave", label) for label in readings] + [("pocket", pocket)],
        "back": [("engrave", affinity.scale(lettering.text("SALTMARSH\nFERRY", 4.0), -1, 1, origin=(0, 0)))],
        "openings": [],
    }
    word = affinity.translate(lettering.text("CREW", 5.0), 0, -15)
    cover = {
        "front": [("engrave", word), ("score", rim)],
        "back": [("pocket", pocket)],
        "openings": [disc(PEEP, 0, RADIUS).buffer(-KERF / 2, quad_segs=CHORDS)],
    }
    return body, {"base": base, "cover": cover}, margin


def places():
    pitch = ACROSS + GAP
    count = int((BOARD - 2 * MARGIN + GAP) // pitch)
    spots = [(MARGIN + ACROSS / 2 + pitch * x, MARGIN + ACROSS / 2 + pitch * y) for y in range(count) for x in range(count)]
    return spots[: 2 * DIALS]


def verify(parts, body):
    room = box(MARGIN, MARGIN, BOARD - MARGIN, BOARD - MARGIN)
    laid = [affinity.translate(body, x, y) for _, x, y in parts]
    assert all(room.buffer(1e-6).contains(part) for part in laid)
    for at, part in enumerate(laid):
        assert all(part.distance(other) > GAP - 0.05 for other in laid[:at]), "parts too near"


def setups(lettering):
    body, kinds, margin = layers(lettering)
    outline = body.buffer(KERF / 2, quad_segs=CHORDS)
    names = [f"{kind}-{number + 1}" for number in range(DIALS) for kind in kinds]
    parts = [(name, x, y) for name, (x, y) in zip(names, places())]
    verify(parts, body)
    front, back = [], []
    for wanted in ["engrave", "score", "pocket"]:
        for name, x, y in parts:
            kind = kinds[name.split("-")[0]]
            for work, shape in kind["front"]:
                if work == wanted:
                    front.append((work, name, affinity.translate(shape, x, y)))
            for work, shape in kind["back"]:
                if work == wanted:
                    mirrored = affinity.scale(shape, -1, 1, origin=(0, 0))
                    back.append((work, name, affinity.translate(mirrored, x, y)))
    for name, x, y in parts:
        openings = kinds[name.split("-")[0]]["openings"]
        front.extend(("opening", name, affinity.translate(opening.exterior, x, y)) for opening in openings)
    front.extend(("outline", name, affinity.translate(outline.exterior, x, y)) for name, x, y in parts)
    return [front, back], margin


def rings(shape):
    if isinstance(shape, MultiPolygon):
        return [ring for part in shape.geoms for ring in rings(part)]
    if isinstance(shape, Polygon):
        return [shape.exterior, *shape.interiors]
    return [shape]


def path(shape):
    drawn = []
    for ring in rings(shape):
        points = [f"{x:.3f},{BOARD - y:.3f}" for x, y in ring.coords[:-1]]
        drawn.append("M" + " L".join(points) + " Z")
    return " ".join(drawn)


def draw(operations, file):
    sheet = svgwrite.Drawing(str(file), size=(f"{BOARD}mm", f"{BOARD}mm"), viewBox=f"0 0 {BOARD} {BOARD}", debug=False)
    for work, colour in COLOURS.items():
        group = sheet.g(id=work)
        for kind, _, shape in operations:
            if kind == work:
                filled = kind in ("engrave", "pocket")
                paint = {"fill": colour, "fill_rule": "evenodd"} if filled else {"fill": "none", "stroke": colour}
                group.add(sheet.path(d=path(shape), **paint))
        sheet.add(group)
    sheet.save()


def main(font, folder):
    out = Path(folder)
    out.mkdir(parents=True, exist_ok=True)
    made, margin = setups(Lettering(font))
    listed = []
    for number, operations in enumerate(made, 1):
        draw(operations, out / f"board-1-setup-{number}.svg")
        listed.append([{"do": work, "part": part, "path": path(shape)} for work, part, shape in operations])
    (out / "operations.json").write_text(json.dumps(listed, indent=1))
    everything = [operation for operations in made for operation in operations]
    cut = sum(shape.length for work, _, shape in everything if work in ("opening", "outline"))
    engraved = sum(shape.area for work, _, shape in everything if work == "engrave")
    print(json.dumps({"cut_mm": round(cut, 3), "engraved_mm2": round(engraved, 3), "least_margin_mm": round(margin, 4)}))


if __name__ == "__main__":
    main(*sys.argv[1:3])
