"""What is left after a power cut, by every verb that writes.

    sudo python3 tests/power/cut.py PROGRAM [ROUNDS]

PROGRAM is a built dialwright. A file system in a file is mounted, each verb writes into it, and at the moment at which the verb
has ended the file is copied: it then holds what had reached the disc, and nothing that still waited in memory. The copy is
mounted, which plays back its journal as after a cut, and must hold the new outputs whole. In further rounds the copy is made at
a drawn moment while the verb still runs; then it must hold the former outputs whole or the new ones.

It needs Linux, the tools of ext4, and somebody who may mount. It ends with 1 where anything was lost.
"""

import pathlib
import random
import shutil
import subprocess
import sys
import tempfile
import time

MEGABYTES = 192
HERE = pathlib.Path(__file__).resolve().parent.parent.parent
FAMILY = "\nparam more: length = 0mm from 0mm to 9mm\nfamily { each more in 0mm to 9mm by 0.5mm }\n"

program = str(pathlib.Path(sys.argv[1]).resolve())
rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 20
drawn = random.Random(20261130)

dial = (HERE / "examples/first.dial").read_text()
TEXTS = {
    "a.dial": dial,
    "wide.dial": dial.replace("60mm", "62mm"),
    "family.dial": dial + FAMILY,
    "wide-family.dial": dial.replace("60mm", "62mm") + FAMILY,
    "untidy.dial": dial.replace(" of ", "   of   "),
    "slip.dial": dial.replace("labels", "labells"),
    "shop.dial": (HERE / "examples/saltmarsh/shop.dial").read_text(),
}
# What writes, what it wrote before, and where.
VERBS = [
    ("build wide.dial --no-print --out out", "build a.dial --no-print --out out", "out"),
    ("build wide-family.dial --no-print --out all", "build family.dial --no-print --out all", "all"),
    ("build family.dial --no-print --out cached --cache cache", None, "cached"),
    ("coupon shop.dial --stock birch --out cards", None, "cards"),
    ("tidy untidy.dial", None, "untidy.dial"),
    ("check slip.dial --mend", None, "slip.dial"),
    ("check a.dial --sarif log.sarif", "check wide.dial --sarif log.sarif", "log.sarif"),
    ("turn wide.dial --picture stops.svg", "turn a.dial --picture stops.svg", "stops.svg"),
]


def run(*command, **settings):
    return subprocess.run(command, check=True, capture_output=True, **settings)


def files(place):
    """Every file of a folder, or the one file, with what is in it."""
    if place.is_file():
        return {place.name: place.read_bytes()}
    return {str(path.relative_to(place)): path.read_bytes() for path in place.rglob("*") if path.is_file()}


class Disc:
    """A file system in a file, mounted."""

    def __init__(self, image, at):
        self.image, self.at = image, at
        at.mkdir(exist_ok=True)

    def __enter__(self):
        run("mount", "-o", "loop", str(self.image), str(self.at))
        return self.at

    def __exit__(self, *_):
        run("umount", str(self.at))


def after_a_cut(image, work, written):
    """What a copy of the disc holds once its journal was played back."""
    copy = work / "copy.img"
    shutil.copyfile(image, copy)
    with Disc(copy, work / "copy") as at:
        return files(at / written) if (at / written).exists() else None


def words(arguments):
    return [program, *arguments.split()]


def one(verb, before, written, work, share):
    """Whether what was written, or what was there before, is whole after a cut at this share of the verb's time."""
    image = work / "disc.img"
    with open(image, "wb") as file:
        file.truncate(MEGABYTES << 20)
    run("mkfs.ext4", "-q", str(image))
    with Disc(image, work / "disc") as at:
        for name, text in TEXTS.items():
            (at / name).write_text(text)
        if before:
            subprocess.run(words(before), cwd=at, capture_output=True)
        run("sync")
        old = files(at / written) if (at / written).exists() else None
        began = time.monotonic()
        child = subprocess.Popen(words(verb), cwd=at, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        if share is None:
            child.wait()
            left = after_a_cut(image, work, written)
        else:
            time.sleep(share * took[verb])
            left = after_a_cut(image, work, written)
            child.wait()
        took[verb] = time.monotonic() - began if share is None else took[verb]
        new = files(at / written)
    assert new != old, f"{verb} wrote nothing"
    return left == new if share is None else left in (old, new)


took = {}
lost = 0
with tempfile.TemporaryDirectory() as folder:
    for verb, before, written in VERBS:
        shares = [None] + [drawn.uniform(0, 1.2) for _ in range(rounds)]
        failed = [share for share in shares if not one(verb, before, written, pathlib.Path(folder), share)]
        lost += len(failed)
        when = ", ".join("its end" if share is None else f"{share:.2f} of its time" for share in failed)
        print(f"{verb}: {len(shares)} cuts, {len(failed)} lost something{' (at ' + when + ')' if failed else ''}", flush=True)
sys.exit(lost > 0)
