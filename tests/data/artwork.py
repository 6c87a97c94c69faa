"""Writes beside each drawing of `artwork` what a browser shows of it: NAME.png.

    python artwork.py chromium artwork

Made with Chromium 156.0.8078.108 (headless), Pillow 13.0.0, numpy 2.4.6; DejaVu 2.37 is installed, as the drawings with text need.
Each drawing is one CSS inch square. It is shown as an image on a white page at 4 by 4 device pixels to a CSS pixel, and
averaged to 96 by 96 cells, of which the file keeps the share that is dark in 255 steps (255: all of it). Drawings with text are
shown at 12 by 12: the browser draws the outlines of large letters, and makes small ones bolder than they are.

A drawing of other paints than black and white has its pixels parted into dark and light first, at a relative luminance of one
half (W3C WCAG 2.2), as engraving does. Black on white is not, so that no edge moves.
"""
import pathlib
import subprocess
import sys
import tempfile

import numpy
from PIL import Image

SIDE = 96
TONES = {"shape-colours", "value-half-clear", "value-colours", "value-colours-4", "effect-group-opacity",
         "effect-stroke-opacity", "select-specificity"}


def shown(chromium, files, across, fine):
    """The pixels of a page with these drawings in rows, linear in the grey of the screen."""
    tiles = "".join(f'<img src="{file.resolve().as_uri()}">' for file in files)
    style = f"body{{margin:0;width:{across * SIDE}px;font-size:0}}img{{width:{SIDE}px;height:{SIDE}px}}"
    with tempfile.TemporaryDirectory() as folder:
        page, picture = pathlib.Path(folder, "page.html"), pathlib.Path(folder, "page.png")
        page.write_text(f"<!doctype html><style>{style}</style><body>{tiles}")
        flags = ["--headless", "--no-sandbox", "--hide-scrollbars", "--font-render-hinting=none", "--disable-lcd-text",
                 "--allow-file-access-from-files", "--lang=en", f"--force-device-scale-factor={fine}",
                 f"--user-data-dir={folder}/profile",
                 f"--window-size={across * SIDE},{across * SIDE}", f"--screenshot={picture}", page.as_uri()]
        subprocess.run([chromium, *flags], check=True, capture_output=True)
        return numpy.asarray(Image.open(picture).convert("RGB"), dtype=float) / 255


def dark(pixels, is_toned):
    if not is_toned:
        return 1 - pixels.mean(axis=2)
    linear = numpy.where(pixels <= 0.04045, pixels / 12.92, ((pixels + 0.055) / 1.055) ** 2.4)
    return (linear @ [0.2126, 0.7152, 0.0722] < 0.5).astype(float)


def write(chromium, drawings, across, fine):
    tile = SIDE * fine
    for first in range(0, len(drawings), across * across):
        some = drawings[first:first + across * across]
        page = shown(chromium, some, across, fine)
        for at, drawing in enumerate(some):
            row, column = divmod(at, across)
            pixels = page[row * tile:(row + 1) * tile, column * tile:(column + 1) * tile]
            cells = dark(pixels, drawing.stem in TONES).reshape(SIDE, fine, SIDE, fine).mean(axis=(1, 3))
            Image.fromarray((cells * 255).round().astype("uint8")).save(drawing.with_suffix(".png"), optimize=True)


chromium, folder = sys.argv[1], pathlib.Path(sys.argv[2])
drawings = sorted(folder.glob("*.svg"))
lettered = [drawing for drawing in drawings if "<text" in drawing.read_text()]
write(chromium, [drawing for drawing in drawings if drawing not in lettered], 10, 4)
write(chromium, lettered, 5, 12)
