#!/usr/bin/env python3
"""Measures printed pages as poppler draws them: the size of each page, the bar of 100 mm of a proof and the crosses of a sheet
that is printed before it is cut within 0.1 mm. That
the files are sound is told by qpdf's library, which reads every object of them; that they can be searched, by their text. What
PDF/UA-1 asks for beyond that is looked for by its structure, as veraPDF would where a Java is at hand.

Needs pdfinfo, pdftoppm and pdftotext of poppler-utils, and pikepdf (tests/requirements.txt). Use: tests/measure-pages.py A4|Letter FILE.pdf ...
"""

import json
import os
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
        found, pages = unmet(pdf), len(pdf.pages)
    assert not found, f"{file}: PDF/UA-1 {sorted(found)}"
    assert not faults and title and language, f"{file}: {faults}, title {title!r}, language {language!r}"
    text = subprocess.run(["pdftotext", file, "-"], check=True, capture_output=True, text=True).stdout
    # What kind of page it is stands before a colon.
    named = "".join(title.split(": ", 1)[-1].split())
    assert named in "".join(text.split()), f"{file}: `{named}` is no text of it"
    read_in_order(file, pages, named)


# Standard structure types, ISO 32000-1:2008, 14.8.4.
STANDARD = set(
    "Document Part Art Sect Div BlockQuote Caption TOC TOCI Index NonStruct Private P H H1 H2 H3 H4 H5 H6 L LI Lbl LBody Table TR TH "
    "TD THead TBody TFoot Span Quote Note Reference BibEntry Code Link Annot Ruby RB RT RP Warichu WT WP Figure Formula Form".split()
)


def elements(node):
    """All elements of a structure tree, in reading order."""
    for kid in node if isinstance(node, pikepdf.Array) else [node]:
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield kid
        if isinstance(kid, pikepdf.Dictionary) and "/K" in kid:
            yield from elements(kid.K)


def fonts(page):
    """The descriptor of every typeface of a page, and whether its letters are told."""
    for font in page.Resources.get("/Font", {}).values():
        for inner in font.get("/DescendantFonts", [font]):
            yield inner.get("/FontDescriptor", {}), "/ToUnicode" in font


def unmet(pdf):
    """What a file does not meet of PDF/UA-1, as far as a program can tell: each by its clause."""
    root, metadata = pdf.Root, pdf.open_metadata()
    pages = list(pdf.pages)
    tree = root.get("/StructTreeRoot")
    kinds = [str(element.S)[1:] for element in elements(tree)] if tree is not None else []
    roles = {str(name)[1:] for name in tree.get("/RoleMap", {})} if tree is not None else set()
    pictures = [it for it in elements(tree) if it.S == "/Figure"] if tree is not None else []
    levels = [int(kind[1]) for kind in kinds if kind in {"H1", "H2", "H3", "H4", "H5", "H6"}]
    asked = {
        "5: the metadata name no part of PDF/UA": metadata.get("pdfuaid:part") == "1",
        "6.1: encrypted": not pdf.is_encrypted,
        "7.1: not marked as tagged": bool(root.get("/MarkInfo", {}).get("/Marked", False)),
        "7.1: suspect": not root.get("/MarkInfo", {}).get("/Suspects", False),
        "7.1: no structure tree": tree is not None,
        "7.1: a structure type has no standard role": set(kinds) <= STANDARD | roles,
        "7.1: the metadata have no title": bool(metadata.get("dc:title")),
        "7.1: a reader shows the name of the file, not the title": bool(
            root.get("/ViewerPreferences", {}).get("/DisplayDocTitle", False)
        ),
        "7.2: no language": bool(str(root.get("/Lang", ""))),
        "7.3: a picture says nothing": all("/Alt" in it or "/ActualText" in it for it in pictures),
        "7.4.2: levels of headings are skipped": all(b <= a + 1 for a, b in zip([0, *levels], levels)),
        "7.18.3: a page with annotations has no tab order": all(
            "/Annots" not in page or page.get("/Tabs") == "/S" for page in pages
        ),
        "7.19: a script": "/OpenAction" not in root and "/JavaScript" not in root.get("/Names", {}),
        "7.21.4: a typeface is not embedded": all(
            any(name in descriptor for name in ("/FontFile", "/FontFile2", "/FontFile3"))
            for page in pages
            for descriptor, _ in fonts(page)
        ),
        "7.21.7: letters without Unicode": all(told for page in pages for _, told in fonts(page)),
    }
    assert any(True for page in pages for _ in fonts(page)), "no text"
    return {clause for clause, met in asked.items() if not met}


def read_in_order(file, pages, title):
    """That text is read as it stands on the page: each page's foot last, and the title first of all."""
    said = subprocess.run(["pdftotext", "-raw", file, "-"], check=True, capture_output=True, text=True).stdout
    read = [" ".join(page.split()) for page in said.split("\f")][:pages]
    # A title too long for its line ends in an ellipsis.
    first, whole = "".join(read[0].split()), "".join(title.split())
    begun = first.split("…")[0]
    assert first.startswith(whole) or (len(begun) > 20 and whole.startswith(begun)), f"{file}: begins with {read[0][:60]!r}"
    for at, page in enumerate(read, 1):
        assert page.endswith(f"page {at} of {pages}"), f"{file}: page {at} ends with {page[-60:]!r}"


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


def middle(run):
    """The middle of what is dark in a run of pixels, in mm from its start."""
    dark = [at for at, pixel in enumerate(run) if pixel < 128]
    assert dark, "nothing is dark where a cross should be"
    return (sum(dark) / len(dark) + 0.5) / DOTS


def printed_sheet(file):
    """A sheet that is printed before it is cut: as large as its board, its crosses where the list has them. Says how far off they are."""
    folder, name = os.path.split(file)
    with open(os.path.join(folder, "operations.json"), encoding="utf-8") as text:
        board = json.load(text)["boards"][int(name.split("-")[1]) - 1]
    wide, high = board["width"], board["height"]
    assert len(sizes(file)) == 1 and all(abs(a - b) < 0.05 for a, b in zip(sizes(file)[0], (wide, high))), f"{file}: {sizes(file)}"
    with pikepdf.open(file) as pdf:
        assert not pdf.check_pdf_syntax() and str(pdf.docinfo.get("/Title", "")), file
    page, off = rows(file, 1), []
    for x, y in board["print"]["crosses"]:
        x, y = (wide - x if "-under" in name else x), high - y
        # Beyond the ring of the one that is ringed, across each arm.
        first, beside = int((x - 0.8) * DOTS), int((y - 0.8) * DOTS)
        across = page[int((y + 3) * DOTS)][first : first + int(1.6 * DOTS)]
        along = bytes(row[int((x + 3) * DOTS)] for row in page[beside : beside + int(1.6 * DOTS)])
        off += [abs(first / DOTS + middle(across) - x), abs(beside / DOTS + middle(along) - y)]
    assert max(off) < 0.1, f"{file}: crosses lie off by {off}"
    return max(off)


def main():
    paper, files = PAPERS[sys.argv[1]], sys.argv[2:]
    if not files:
        sys.exit("no files")
    for file in files:
        if re.search(r"board-\d+-print(-under)?\.pdf$", file):
            print(f"{file}: of true size, its crosses {printed_sheet(file):.3f} mm off at the most")
            continue
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
