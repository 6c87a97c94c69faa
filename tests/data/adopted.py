"""Draws dials of known parameters with three vector libraries, to be read back: `python adopted.py adopted`.

    pip install svgwrite drawsvg matplotlib

Two layers each but the last: a base with a pocket of 8.1 mm and labels, a cover with the same pocket and an opening.
`hexagon.svg` by svgwrite: elements, mm. `round.svg` by drawsvg: paths with arcs, units of a tenth of a millimetre, y turned
over by a transform. `octagon.svg` by matplotlib: curves in points, its groups named by `gid`.
"""
import math
import pathlib
import sys

import drawsvg
import matplotlib
import svgwrite

matplotlib.use("svg")
from matplotlib import patches, pyplot  # noqa: E402

CUT, ENGRAVE, POCKET = "#d02020", "#101010", "#20a040"
out = pathlib.Path(sys.argv[1])


def polar(radius, bearing):
    angle = math.radians(bearing)
    return radius * math.sin(angle), radius * math.cos(angle)


def hexagon():
    """across_corners 58mm; labels 1 to 6 at 19mm, 6mm high; opening obround 14mm by 12mm at polar(19mm, 0deg)."""
    drawing = svgwrite.Drawing(str(out / "hexagon.svg"), size=("100mm", "100mm"), viewBox="0 0 100 100", profile="full")
    for name in ("base", "cover"):
        group = drawing.g(id=name, transform="translate(50 50)")
        line = {"fill": "none", "stroke": CUT, "stroke_width": 0.1}
        group.add(drawing.polygon([(x, -y) for x, y in (polar(29, 60 * at) for at in range(6))], **line))
        group.add(drawing.circle((0, 0), 4.05, fill="none", stroke=POCKET, stroke_width=0.1))
        if name == "base":
            for at in range(6):
                x, y = polar(19, 60 * at)
                text = drawing.text(str(at + 1), insert=(0, 3), text_anchor="middle", font_family="DejaVu Sans", fill=ENGRAVE)
                text["font-size"] = 6 / 0.729
                text["transform"] = f"translate({x:.5f} {-y:.5f}) rotate({60 * at})"
                group.add(text)
        else:
            group.add(drawing.rect((-7, -25), (14, 12), rx=6, ry=6, **line))
        drawing.add(group)
    drawing.save()


def round_dial():
    """diameter 66mm; opening sector(radius: 29mm, inner: 17mm, from: -20deg, to: 20deg); six holes of 3mm at 12mm."""
    drawing = drawsvg.Drawing(1000, 1000, viewBox="0 0 1000 1000")
    drawing.width, drawing.height = "100mm", "100mm"
    for name in ("base", "cover"):
        group = drawsvg.Group(id=name, transform="translate(500 500) scale(1 -1)")
        line = {"fill": "none", "stroke": CUT, "stroke_width": 1}
        group.append(drawsvg.Path(**line).M(330, 0).A(330, 330, 0, 0, 1, -330, 0).A(330, 330, 0, 0, 1, 330, 0).Z())
        group.append(drawsvg.Circle(0, 0, 40.5, fill="none", stroke=POCKET, stroke_width=1))
        if name == "cover":
            (ax, ay), (bx, by) = polar(290, -20), polar(290, 20)
            (cx, cy), (dx, dy) = polar(170, 20), polar(170, -20)
            path = drawsvg.Path(**line).M(ax, ay).A(290, 290, 0, 0, 0, bx, by).L(cx, cy).A(170, 170, 0, 0, 1, dx, dy).Z()
            group.append(path)
            for at in range(6):
                x, y = polar(120, 30 + 60 * at)
                group.append(drawsvg.Circle(x, y, 15, **line))
        drawing.append(group)
    drawing.save_svg(str(out / "round.svg"))


def octagon():
    """One layer: circumradius 30mm, a flat at the top; pocket of 8.1mm; opening ellipse 15mm by 12mm at polar(19mm, 0deg)."""
    matplotlib.rcParams["svg.hashsalt"] = "adopted"
    figure = pyplot.figure(figsize=(100 / 25.4, 100 / 25.4))
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_xlim(-50, 50)
    axes.set_ylim(-50, 50)
    axes.axis("off")
    figure.patch.set_visible(False)
    line = {"fill": False, "edgecolor": CUT, "linewidth": 0.3}
    axes.add_patch(patches.RegularPolygon((0, 0), 8, radius=30, orientation=math.pi / 8, **line))
    axes.add_patch(patches.Circle((0, 0), 4.05, fill=False, edgecolor=POCKET, linewidth=0.3))
    axes.add_patch(patches.Ellipse((0, 19), 15, 12, **line))
    figure.savefig(out / "octagon.svg", metadata={"Date": None})


out.mkdir(exist_ok=True)
hexagon()
round_dial()
octagon()
versions = {"svgwrite": svgwrite.__version__, "drawsvg": __import__("importlib.metadata").metadata.version("drawsvg")}
versions["matplotlib"] = matplotlib.__version__
(out / "versions.txt").write_text("".join(f"{name} {version}\n" for name, version in versions.items()))
