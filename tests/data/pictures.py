"""Makes the pictures of tests/data/pictures and tests/ui/shared: Pillow 13.0.0, numpy.

    python3 tests/data/pictures.py

All are drawn here. The tests know what is in each: a disc of radius 60 px about (100, 100) on 200 x 200 px, unless the
name says otherwise. Coverage is exact to 1/256 by 16 x 16 samples a pixel.
"""

import struct
import zlib
from pathlib import Path

import numpy
from PIL import Image

DATA = Path(__file__).parent / "pictures"
SHARED = Path(__file__).parent.parent / "ui" / "shared"


def cover(inside, width, height, samples=16):
    """The share of each pixel that lies inside."""
    step = (numpy.arange(samples) + 0.5) / samples
    x = (numpy.arange(width)[:, None] + step).ravel()
    y = (numpy.arange(height)[:, None] + step).ravel()
    hits = inside(x[None, :], y[:, None])
    return hits.reshape(height, samples, width, samples).mean(axis=(1, 3))


def disc(x, y):
    return (x - 100) ** 2 + (y - 100) ** 2 <= 60**2


def mix(share, mark, ground):
    """Pixels of two colours by the share of the first."""
    colours = share[..., None] * numpy.array(mark) + (1 - share[..., None]) * numpy.array(ground)
    return numpy.round(colours).astype("uint8")


def chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def main():
    DATA.mkdir(exist_ok=True)
    share = cover(disc, 200, 200)
    rgb = Image.fromarray(mix(share, (0, 0, 0), (255, 255, 255)))
    grey = rgb.convert("L")
    grey.save(DATA / "grey-8.png", dpi=(300, 300))
    deep = numpy.round((1 - share) * 65535).astype("uint16")
    Image.fromarray(deep).save(DATA / "grey-16.png")
    rgb.quantize(16).save(DATA / "palette.png")
    bits = Image.fromarray((255 * (share < 0.5)).astype("uint8")).convert("1")
    bits.save(DATA / "one-bit.png")
    clear = numpy.zeros((200, 200, 4), "uint8")
    clear[..., 3] = numpy.round(255 * share)
    Image.fromarray(clear).save(DATA / "alpha.png")
    grey.save(DATA / "grey.jpg", quality=95, dpi=(254, 254))
    rgb.save(DATA / "progressive.jpg", quality=95, progressive=True)
    rgb.convert("CMYK").save(DATA / "cmyk.jpg", quality=95)
    rgb.save(DATA / "colour.bmp", dpi=(300, 300))
    rgb.save(DATA / "lossless.webp", lossless=True)
    rgb.save(DATA / "lossy.webp", quality=90)
    rgb.save(DATA / "moving.webp", lossless=True, save_all=True, append_images=[Image.new("RGB", (200, 200))])
    rgb.save(DATA / "moving.png", save_all=True, append_images=[Image.new("RGB", (200, 200))])
    grey.save(DATA / "other.gif")
    whole = (DATA / "grey-8.png").read_bytes()
    (DATA / "cut-short.png").write_bytes(whole[: len(whole) // 2])
    whole = (DATA / "grey.jpg").read_bytes()
    (DATA / "cut-short.jpg").write_bytes(whole[: len(whole) * 2 // 3])
    whole = (DATA / "colour.bmp").read_bytes()
    (DATA / "cut-short.bmp").write_bytes(whole[: 5000])
    whole = (DATA / "lossless.webp").read_bytes()
    (DATA / "cut-short.webp").write_bytes(whole[: len(whole) // 2])
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", 60_000, 60_000, 8, 6, 0, 0, 0))
    bomb = b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(bytes(60_000))) + chunk(b"IEND", b"")
    (SHARED / "bomb.png").write_bytes(bomb)
    Image.new("RGB", (40, 40), (255, 255, 255)).save(SHARED / "blank.png")
    harbour().save(SHARED / "harbour.png", optimize=True)
    smeared().save(SHARED / "smeared.png", optimize=True)
    (SHARED / "half-sent.jpg").write_bytes((DATA / "cut-short.jpg").read_bytes())
    Image.fromarray(numpy.array(rgb)[::2, ::2]).save(SHARED / "moving.webp", lossless=True, save_all=True,
                                   append_images=[Image.new("RGB", (100, 100))])


def harbour():
    """A black boat on blue water under a grey moon, on white: areas in px2 by closed forms in the tests."""
    water = cover(lambda x, y: (abs(x - 120) <= 100) & (abs(y - 145) <= 25), 240, 200)
    boat = cover(lambda x, y: (abs(x - 120) <= 60) & (abs(y - 95) <= 15), 240, 200)
    moon = cover(lambda x, y: (x - 180) ** 2 + (y - 45) ** 2 <= 30**2, 240, 200)
    picture = numpy.full((200, 240, 3), 255.0)
    for share, colour in ((water, (32, 64, 128)), (boat, (0, 0, 0)), (moon, (128, 128, 128))):
        picture = share[..., None] * numpy.array(colour) + (1 - share[..., None]) * picture
    return Image.fromarray(numpy.round(picture).astype("uint8"))


def smeared():
    """A disc with dust round it and a smear of greys over its right side."""
    picture = 255 * (1 - cover(disc, 240, 200))
    for at in range(12):
        x, y = 8 + 19 * at, 6 + (at * 37) % 20
        picture[y : y + 2, x : x + 2] = 0
    across = numpy.arange(30)
    smear = 150 + 60 * numpy.sin(across * 1.9)[None, :] * numpy.cos(across * 2.3)[:, None]
    picture[85:115, 185:215] = smear
    return Image.fromarray(numpy.round(picture).astype("uint8"))


main()
