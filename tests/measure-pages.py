#!/usr/bin/env python3
"""Measures printed pages as poppler draws them: the size of each page, and the bar of 100 mm of a proof within 0.1 mm. That
the files are sound is told by qpdf's library, which reads every object of them; that they can be searched, by their text.

Needs pdfinfo, pdftoppm and pdftotext of poppler-utils, and pikepdf (tests/requirements.txt). Use: tests/measure-pages.py A4|Letter FILE.pdf ...
"""

import re
import subprocess
import sys

import pikepdf

# ISO 216; ANSI/ASME Y14.1, size A. In mm.
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
DOTS = 20  # to a millimetre


def sizes(file):
    """Width and height of every page, in mm."""
    said = subprocess.run(["pdfinfo", "-f", "1", "-l", "999", file], check=True, capture_output=True, text=True).stdout
    found = re.findall(r"Page +\d+ size: +([\d.]+) x ([\d.]+) pts", said)
    return [tuple(float(points) * 25.4 / 72 for points in page) for page in found]


def sound(file):
    """That a file has no fault, says its title and language, and has its title as text."""
    with pikepdf.open(file) as pdf:
        faults = pdf.check_pdf_syntax()
        title, language = str(pdf.docinfo.get("/Title", "")), str(pdf.Root.get("/Lang", ""))
    assert not faults and title and language, f"{file}: {faults}, title {title!r}, language {language!r}"
    text = subprocess.run(["pdftotext", file, "-"], check=True, capture_output=True, text=True).stdout
    # What kind of page it is stands before a colon.
    named = "".join(title.split(": ", 1)[-1].split())
    assert named in "".join(text.split()), f"{file}: `{named}` is no text of it"


def rows(file, page):
    """The rows of a page as bytes, 0 being black."""
    command = ["pdftoppm", "-gray", "-r", str(DOTS * 25.4), "-f", str(page), "-l", str(page), file]
    picture = subprocess.run(command, check=True, capture_output=True).stdout
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", picture)
    wide, high = int(head[1]), int(head[2])
    return [picture[head.end() + at * wide : head.end() + (at + 1) * wide] for at in range(high)]


def bars(file, page):
    """Lengths of dark runs between 95 and 105 mm, in mm."""
    dark = re.compile(rb"[\x00-\x7f]{%d,%d}" % (95 * DOTS, 105 * DOTS))
    long = re.compile(rb"[\x00-\x7f]{%d,}" % (105 * DOTS + 1))
    return [len(run[0]) / DOTS for row in rows(file, page) if not long.search(row) for run in dark.finditer(row)]


def main():
    paper, files = PAPERS[sys.argv[1]], sys.argv[2:]
    if not files:
        sys.exit("no files")
    for file in files:
        sound(file)
        pages = sizes(file)
        assert pages, f"{file}: no pages"
        for page in pages:
            assert all(abs(a - b) < 0.05 for a, b in zip(page, paper)), f"{file}: {page} is not {paper}"
        if not file.endswith("proof.pdf"):
            print(f"{file}: {len(pages)} pages")
            continue
        found = [bar for page in range(1, len(pages) + 1) for bar in bars(file, page)]
        # The strokes of 0.18 mm at both ends reach half their width past the bar.
        off = min((abs(bar - 0.18 - 100) for bar in found), default=None)
        assert off is not None and off <= 0.1, f"{file}: the bar of 100 mm measures {found}"
        print(f"{file}: {len(pages)} pages, the bar is {off:.3f} mm off")


main()
