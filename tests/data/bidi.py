"""Writes bidi.tsv: lines of text with letters that run from right to left, as ICU orders and HarfBuzz shapes them.

    python bidi.py FOLDER_WITH_DEJAVU_TTF > bidi.tsv

ICU's `ubidi` gives the base direction (by the first strong letter), the runs in visual order and the line as one sees it
with brackets mirrored. FriBidi, another implementation of UAX #9, must give the letters the same order, or nothing is
written. HarfBuzz shapes each run in its direction, parted where ICU says that the script changes. Needs the shared libraries of ICU 72 and
FriBidi, and uharfbuzz.
"""
import ctypes
import sys
import unicodedata
import uharfbuzz

TEXTS = """שלום
שלום 12
12 שלום
שלום 12 34
שלום 12,5 מ״מ
3.50 ₪
שלום 10:30
שלום 1/2
שלום 5-7
שלום +5 −7
20% הנחה
צוות (3)
צוות [א] {ב}
(צוות)
קציר "א" וגם ב
CREW צוות
צוות CREW
צוות CREW 12
CREW 12 צוות 34 END
CREW (צוות) END
צוות (CREW) סוף
צוות (CREW סוף)
CREW (צוות END)
a (ב) c [ד] e
א (b) ג [d] ה
1 א 2 ב 3
רוח: חזקה!
רוח? CREW!
שלום, Yes.
דרגה 5 < 7
א → ב
טוֹב מְאֹד
سلام
سلام ١٢
١٢ سلام
سلام 12
12 سلام
سلام ١٢٫٥
سلام ١٢/٣٤
سلام 12/34
سلام (١٢)
لا إله 7
قمح [٣] CREW
CREW قمح ١٢ END
CREW 1 قمح 2
ريح-3
ريح قوية، ٤٥٪
صيد NW 30°
שלום سلام
سلام שלום 9
א,ב;ג.
١٢
١٢ CREW
W‏(3)
צוות ‎(3)‎
½ כוס
x2 אב y3
אב x2, y3 גד
12-34 אב
אב 12-34""".split("\n")

icu, fribidi = ctypes.CDLL("libicuuc.so.72"), ctypes.CDLL("libfribidi.so.0")
for name in ("ubidi_open_72", "ubidi_getVisualRun_72", "ubidi_writeReordered_72"):
    getattr(icu, name).restype = ctypes.c_void_p if name == "ubidi_open_72" else ctypes.c_int32
DEFAULT_LTR, DO_MIRRORING, REMOVE_CONTROLS, NEUTRAL = 0xFE, 2, 8, 0x40
COMMON, INHERITED = 0, 1


def of_icu(text):
    """Base level, visual runs (start, end, backwards) and the line as seen. Texts hold no characters above U+FFFF."""
    units, error = text.encode("utf-16-le"), ctypes.c_int(0)
    kept = ctypes.create_string_buffer(units + b"\0\0")
    bidi = ctypes.c_void_p(icu.ubidi_open_72())
    icu.ubidi_setPara_72(bidi, kept, len(text), ctypes.c_uint8(DEFAULT_LTR), None, ctypes.byref(error))
    runs = []
    for at in range(icu.ubidi_countRuns_72(bidi, ctypes.byref(error))):
        start, length = ctypes.c_int32(), ctypes.c_int32()
        way = icu.ubidi_getVisualRun_72(bidi, at, ctypes.byref(start), ctypes.byref(length))
        runs.append((start.value, start.value + length.value, bool(way)))
    seen = ctypes.create_string_buffer(4 * len(text) + 2)
    length = icu.ubidi_writeReordered_72(
        bidi, seen, 2 * len(text), ctypes.c_uint16(DO_MIRRORING | REMOVE_CONTROLS), ctypes.byref(error))
    level = icu.ubidi_getParaLevel_72(bidi) & 1
    assert error.value <= 0, error.value
    icu.ubidi_close_72(bidi)
    return level, runs, seen.raw[:2 * length].decode("utf-16-le")


def of_fribidi(text):
    """Where each character stands in the text, from left to right as seen."""
    codes, base = (ctypes.c_uint32 * len(text))(*map(ord, text)), ctypes.c_uint32(NEUTRAL)
    seen, order = (ctypes.c_uint32 * (len(text) + 1))(), (ctypes.c_int * len(text))()
    assert fribidi.fribidi_log2vis(codes, len(text), ctypes.byref(base), seen, None, order, None)
    return list(order)


def letters_alone(text, order):
    """Without marks, which the shaper orders, and without characters that only steer."""
    return [at for at in order if not unicodedata.combining(text[at]) and unicodedata.category(text[at]) != "Cf"]


def by_script(text, start, end):
    """A run in parts of one script each."""
    starts, current = [start], None
    for at in range(start, end):
        error = ctypes.c_int(0)
        own = icu.uscript_getScript_72(ord(text[at]), ctypes.byref(error))
        if own in (COMMON, INHERITED):
            continue
        if current not in (None, own):
            starts.append(at)
        current = own
    return list(zip(starts, starts[1:] + [end]))


font = uharfbuzz.Font(uharfbuzz.Face(uharfbuzz.Blob.from_file_path(f"{sys.argv[1]}/DejaVuSans.ttf")))
version = (ctypes.c_uint8 * 4)()
icu.u_getVersion_72(version)
about = ctypes.c_char_p.in_dll(fribidi, "fribidi_version_info").value.decode().splitlines()[0]
print(f"# ICU {version[0]}.{version[1]}, {about}, HarfBuzz {uharfbuzz.version_string()}, DejaVu 2.37; font units")
print("# text\truns from right to left\tas seen\tglyphs: number,cluster (byte),advance,right,up")
for text in TEXTS:
    level, runs, seen = of_icu(text)
    order = [at for start, end, backwards in runs for at in range(start, end)[:: -1 if backwards else 1]]
    assert letters_alone(text, order) == letters_alone(text, of_fribidi(text)), text
    utf8, glyphs = text.encode(), []
    for start, end, backwards in runs:
        parts = by_script(text, start, end)
        for first, last in reversed(parts) if backwards else parts:
            buffer, before = uharfbuzz.Buffer(), len(text[:first].encode())
            buffer.add_utf8(utf8, before, len(text[first:last].encode()))
            buffer.direction = "rtl" if backwards else "ltr"
            buffer.guess_segment_properties()
            uharfbuzz.shape(font, buffer)
            glyphs += [(info.codepoint, info.cluster, at.x_advance, at.x_offset, at.y_offset)
                       for info, at in zip(buffer.glyph_infos, buffer.glyph_positions)]
    print(text, level, seen, " ".join(",".join(map(str, glyph)) for glyph in glyphs), sep="\t")
