"""Writes glyph_runs.tsv: advances, boxes and areas of glyph runs, as fontTools and shapely give them.

    python glyph_runs.py FOLDER_WITH_DEJAVU_TTF > glyph_runs.tsv

Runs hold no ligatures, so that the only shaping is the font's pair kerning, read here from its GPOS table.
A run whose contours overlap has its area from shapely on a flattened copy, and is marked so.
"""
import sys
import fontTools
import shapely
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont

FONTS = ["DejaVuSans", "DejaVuSans-Bold", "DejaVuSerif"]
WORDS = """CREW HARVEST LANTERN FATHOMS DEPTH WIND OIL TIDE AVA To Tar WAVE Yes. P. LT Ly VAT "AT"
N NE E SE S SW W NW fair rain snow gale fog calm quay Qq joy & @ % # § (3) [4] {5} 1/2 3.50 10:30 +5 -7 −7 ±3
Ústí Žluťoučký kůň Müller Åre œuvre ÇĞŞ ñandú Łódź Ωμέγα Дверь ♠ ♥ ♦ ♣ → ← ↑ ↓ ✦ ☠ ⚓ ⚔ ½ ° €5 ‘a’ “b” – — …
Bbdpq 6689 3008 HxHxH oOo0 iIl1 ZzSs KkXx MmWw gjpqy ;:,.!? ¿¡ æðøþß ĄĘ ŐŰ ȘȚ""".split()
TEXTS = [str(number) for number in range(31)] + WORDS


def kerning(font):
    """Pair adjustments of the first glyph's advance, lookup by lookup, for the default language."""
    table = font["GPOS"].table if "GPOS" in font else None
    if table is None:
        return lambda left, right: 0
    script = next(s for s in table.ScriptList.ScriptRecord if s.ScriptTag == "latn").Script
    features = [table.FeatureList.FeatureRecord[i] for i in script.DefaultLangSys.FeatureIndex]
    indices = sorted({i for f in features if f.FeatureTag == "kern" for i in f.Feature.LookupListIndex})

    def of_subtable(sub, left, right):
        sub = getattr(sub, "ExtSubTable", sub)
        if left not in sub.Coverage.glyphs:
            return None
        if sub.Format == 1:
            pairs = sub.PairSet[sub.Coverage.glyphs.index(left)].PairValueRecord
            found = next((p.Value1 for p in pairs if p.SecondGlyph == right), None)
            return None if found is None else getattr(found, "XAdvance", 0)
        first, second = sub.ClassDef1.classDefs.get(left, 0), sub.ClassDef2.classDefs.get(right, 0)
        return getattr(sub.Class1Record[first].Class2Record[second].Value1, "XAdvance", 0)

    def kern(left, right):
        total = 0
        for index in indices:
            values = (of_subtable(sub, left, right) for sub in table.LookupList.Lookup[index].SubTable)
            total += next((value for value in values if value is not None), 0)
        return total

    return kern


def flattened_area(drawing):
    """Area under the nonzero rule of a decomposed recording, each curve as 64 chords."""
    contour, contours = [], []
    for operator, points in drawing:
        if operator == "moveTo":
            contour = list(points)
        elif operator == "lineTo":
            contour += points
        elif operator == "qCurveTo":
            *controls, end = points
            ends = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in zip(controls, controls[1:])] + [end]
            for control, stop in zip(controls, ends):
                start = contour[-1]
                for step in range(1, 65):
                    t = step / 64
                    contour.append(tuple((1 - t) ** 2 * s + 2 * t * (1 - t) * c + t * t * e
                                         for s, c, e in zip(start, control, stop)))
        else:
            contours.append(contour)
    rings = [shapely.LinearRing(c) for c in contours if len(c) > 2]
    discs = [(shapely.Polygon(ring), 1 if ring.is_ccw else -1) for ring in rings]
    faces = shapely.polygonize([shapely.union_all(rings)]).geoms
    inner = [(face, face.representative_point()) for face in faces]
    return sum(face.area for face, point in inner if sum(sense for disc, sense in discs if disc.contains(point)))


print(f"# fontTools {fontTools.version}, shapely {shapely.__version__}, DejaVu 2.37; font units, y up")
print("# font\ttext\tadvances\tx0\ty0\tx1\ty1\tarea\toverlap")
for name in FONTS:
    font = TTFont(f"{sys.argv[1]}/{name}.ttf")
    cmap, glyphs, kern = font.getBestCmap(), font.getGlyphSet(), kerning(font)
    for text in TEXTS:
        if any(ord(c) not in cmap for c in text):
            continue
        names = [cmap[ord(c)] for c in text]
        advances = [glyphs[n].width + (kern(n, m) if m else 0) for n, m in zip(names, names[1:] + [None])]
        bounds, area, drawing, pen = BoundsPen(glyphs), AreaPen(glyphs), DecomposingRecordingPen(glyphs), 0
        for glyph, advance in zip(names, advances):
            for target in (bounds, area, drawing):
                glyphs[glyph].draw(TransformPen(target, (1, 0, 0, 1, pen, 0)))
            pen += advance
        exact, flat = abs(area.value), flattened_area(drawing.value)
        overlap = abs(exact - flat) > 5e-5 * exact
        figures = [*bounds.bounds, round(flat if overlap else exact, 2), int(overlap)]
        print(name, text, ",".join(map(str, advances)), *(f"{value:.3f}".rstrip("0").rstrip(".") if i < 4 else value for i, value in enumerate(figures)), sep="\t")
