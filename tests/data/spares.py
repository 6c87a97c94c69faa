#!/usr/bin/env python3
"""How likely it is that enough of the dials of a run are sound, by scipy's binomial distribution, stored in spares.json.

    pip install scipy==1.17.1 && python3 spares.py
"""

import json
import pathlib

import scipy
from scipy.stats import binom

HERE = pathlib.Path(__file__).resolve().parent
CASES = [
    {"wanted": wanted, "spares": spares, "sound": sound, "chance": float(binom.sf(wanted - 1, wanted + spares, sound))}
    for wanted in (1, 2, 8, 24, 200, 5000)
    for spares in (0, 1, 2, 5, 20, 300)
    for sound in (0.1, 0.5, 0.9, 0.95, 0.99, 0.998, 0.9999)
]


def least(wanted, sound, enough=0.95):
    """The fewest spares with which enough are sound, in so many runs."""
    spares = 0
    while binom.sf(wanted - 1, wanted + spares, sound) < enough:
        spares += 1
    return spares


LEAST = [
    {"wanted": wanted, "sound": sound, "spares": least(wanted, sound)}
    for wanted in (1, 8, 24, 200)
    for sound in (0.5, 0.8, 0.9, 0.95, 0.99, 0.999)
]
stored = {"made_with": f"scipy {scipy.__version__}", "cases": CASES, "least": LEAST}
(HERE / "spares.json").write_text(json.dumps(stored, indent=1) + "\n")
