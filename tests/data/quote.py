#!/usr/bin/env python3
"""What a run of examples/saltmarsh/crew.dial takes and costs, worked out apart from dialwright, and stored in quote.json.

Run with the libraries of tests/bench/peer/requirements.txt:
    python3 quote.py FONT.ttf        # DejaVuSans.ttf, which comes with the crate `dejavu`
Lengths and areas are those of the plain script tests/bench/peer/crew.py (shapely; chords lie inside their curves, so they come out
a little low). Times and sums are simple kinematics, with the figures of examples/saltmarsh/shop.dial written down here once more.
"""

import importlib.metadata
import json
import math
import pathlib
import sys

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "bench" / "peer"))
import crew  # noqa: E402

CUT, SCORE, ENGRAVE, SPACING = 9.0, 90.0, 240.0, 0.1  # mm/s and mm
PASSES = [0.42, 0.83, 1.21, 1.62]  # mm after 1, 2, 3, 4 passes
SETUP, TURN, DIAL = 4 * 60.0, 15.0, 6 * 60.0  # s
MACHINE, BENCH, BOARD, MAGNET, EXTRA = 16.0, 22.0, 3.50, 0.35, 0.10  # crowns an hour, crowns each, share


def passes(depth):
    """The fewest on the line of least squares through the readings that reach the depth."""
    middle, mean = (len(PASSES) + 1) / 2, sum(PASSES) / len(PASSES)
    rise = sum((at - middle) * reading for at, reading in enumerate(PASSES, 1))
    slope = rise / sum((at - middle) ** 2 for at in range(1, len(PASSES) + 1))
    return next(count for count in range(1, len(PASSES) + 1) if mean + slope * (count - middle) >= depth)


def worked(font):
    setups, _ = crew.setups(crew.Lettering(font))
    done = [operation for setup in setups for operation in setup]
    length = lambda *kinds: sum(shape.length for work, _, shape in done if work in kinds)
    area = lambda kind: sum(shape.area for work, _, shape in done if work == kind)
    cut, scored = length("opening", "outline"), length("score")
    engraved, pocketed = area("engrave"), area("pocket") * passes(crew.DEPTH)
    machine = cut / CUT + scored / SCORE + (engraved + pocketed) / (ENGRAVE * SPACING)
    # Every part has work on both faces, so each is turned over once; all lie on one board.
    bench = len(setups) * SETUP + 2 * crew.DIALS * TURN + crew.DIALS * DIAL
    magnets = math.ceil(2 * crew.DIALS * (1 + EXTRA) - 1e-9)
    price = machine / 3600 * MACHINE + bench / 3600 * BENCH + BOARD + magnets * MAGNET
    return {
        "cut_mm": round(cut, 3), "scored_mm": round(scored, 3), "engraved_mm2": round(engraved, 3),
        "pocketed_mm2": round(pocketed, 3), "machine_s": round(machine, 2), "bench_s": bench, "magnets": magnets,
        "price": round(price, 4),
    }


if __name__ == "__main__":
    library = f"shapely {importlib.metadata.version('shapely')}"
    figures = {"made_by": "quote.py on tests/bench/peer/crew.py", "library": library, **worked(sys.argv[1])}
    (HERE / "quote.json").write_text(json.dumps(figures, indent=2) + "\n")
    print(json.dumps(figures))
