"""Writes nesting.json: three sets of the literature and how an independent optimiser packs them. With `pentagons` it only prints how
wide a board the pentagons of tests/suite/nest.rs need.

Polygons: sets `albano`, `shirts` and `trousers` of the EURO special interest group on cutting and packing (ESICUP),
collection 2d_irregular, licence CC0 1.0; as converted to JSON in the assets of JeroenGar/jagua-rs.
Optimiser: spyrrow 0.9.0 (PyPI), 60 s each on one core, turns of 0 and 180 degrees, no separation.

    pip install spyrrow==0.9.0 && python3 nesting.py [pentagons]
"""

import json
import math
import pathlib
import sys

import spyrrow

SETS = {
    "albano": (4900, [
        (2, [0, 86, 966, 142, 1983, 0, 2185, 238, 2734, 217, 3000, 767, 2819, 900, 2819, 1360, 3000, 1493, 2734, 2043,
             2185, 2022, 1983, 2260, 966, 2118, 0, 2174]),
        (2, [0, 0, 3034, 0, 3034, 261, 0, 261]),
        (4, [0, 173, 1761, 0, 2183, 650, 2183, 1010, 1761, 1660, 0, 1487]),
        (4, [74, 0, 870, 119, 1666, 0, 1740, 125, 870, 305, 0, 125]),
        (4, [0, 0, 411, 65, 800, 0, 1189, 65, 1600, 0, 1500, 368, 800, 286, 100, 368]),
        (4, [0, 0, 936, 0, 936, 659, 0, 659]),
        (2, [56, 73, 1066, 143, 1891, 0, 2186, 288, 2573, 241, 2676, 926, 2594, 1366, 0, 1366]),
        (2, [0, 0, 2499, 0, 2705, 387, 2622, 934, 2148, 967, 1920, 1152, 1061, 1059, 0, 1125]),
    ]),
    "shirts": (40, [
        (8, [0, 0, 7, 1, 7, 5, 0, 7, -1, 5, -1, 4, -2, 3, -1, 2]),
        (8, [0, 0, 11, 0, 12, 2, 11, 3, 11, 5, 10, 6, 6, 5, 3, 6, 0, 5, -1, 3]),
        (8, [0, 0, 3, 0, 3, -1, 5, 0, 8, 0, 11, -1, 12, 4, 11, 8, 7, 7, 0, 7]),
        (15, [0, 0, 4, 0, 4, 2, 3, 3, 0, 3]),
        (15, [0, 0, 8, 0, 7, 1, 1, 1]),
        (15, [0, 0, 4, 0, 4, 1, 0, 1]),
        (15, [0, 0, 3, 0, 3, 1, 0, 1]),
        (15, [0, 0, 8, 0, 8, 2, 6, 2, 4, 1, 3, 1, 2, 2, -1, 2]),
    ]),
    "trousers": (79, [
        (8, [0, 0, 12, -1, 14, -3, 24, 0, 33, 1, 59, 2, 59, 13, 4, 13, 4, 8, 2, 5, 0, 5]),
        (8, [0, 0, 0, -14, 27, -17, 37, -20, 41, -22, 47, -19, 56, -16, 56, 0]),
        (1, [0, 0, 57, 0, 57, 5, 0, 5]),
        (1, [0, 0, 52, 0, 52, 5, 0, 5]),
        (1, [0, 0, 44, 0, 44, 5, 0, 5]),
        (1, [0, 0, 42, 0, 42, 5, 0, 5]),
        (8, [0, 0, 21, 0, 21, 2, 0, 2]),
        (8, [0, 0, 15, 4, 13, 7, 0, 6]),
        (1, [0, 0, 15, 1, 15, 4, 0, 4]),
        (1, [0, 0, 14, 0, 14, 5, 0, 5]),
        (1, [0, 0, 14, 1, 14, 4, 0, 4]),
        (1, [0, 0, 13, 0, 13, 5, 0, 5]),
        (2, [0, 0, 13, 1, 13, 4, 0, 4]),
        (2, [0, 0, 12, 0, 12, 5, 0, 5]),
        (8, [0, 0, 4, 2, 6, 10, 4, 11, -4, 11, -6, 10, -4, 2]),
        (8, [0, 0, 3, -2, 8, 0, 8, 8, 2, 8]),
        (4, [0, 0, 2, 1, 3, 6, 2, 7, -2, 7, -3, 6, -2, 1]),
    ]),
}


def packed(name):
    height, items = SETS[name]
    corners = lambda flat: list(zip(flat[::2], flat[1::2]))
    things = [
        spyrrow.Item(str(at), corners(flat) + [corners(flat)[0]], demand=count, allowed_orientations=[0, 180])
        for at, (count, flat) in enumerate(items)
    ]
    instance = spyrrow.StripPackingInstance(name, strip_height=height, items=things)
    solution = instance.solve(spyrrow.StripPackingConfig(total_computation_time=60, num_workers=1, seed=1))
    return {
        "name": name,
        "height": height,
        "width": round(solution.width, 4),
        "density": round(solution.density, 4),
        "items": [{"count": count, "corners": [list(at) for at in corners(flat)]} for count, flat in items],
    }


def pentagons(count):
    """Sharp circumradius 33 mm, fillets of 5 mm drawn as chords, 2 mm apart in a strip 295 mm high; quarter degrees do not matter."""
    core = 33 - 5 / math.cos(math.pi / 5)
    bearings = [(72 * side, 72 * side - 36 + step * 9) for side in range(5) for step in range(9)]
    at = lambda way, far: (far * math.sin(math.radians(way)), far * math.cos(math.radians(way)))
    outline = [tuple(a + b for a, b in zip(at(side, core), at(way, 5))) for side, way in bearings]
    turns = [float(turn) for turn in range(0, 72, 3)]
    item = spyrrow.Item("pentagon", outline + outline[:1], demand=count, allowed_orientations=turns)
    instance = spyrrow.StripPackingInstance("pentagons", strip_height=295, items=[item])
    config = spyrrow.StripPackingConfig(min_items_separation=2, total_computation_time=60, num_workers=1, seed=1)
    return instance.solve(config).width


if __name__ == "__main__" and sys.argv[1:] == ["pentagons"]:
    for count in [23, 24]:
        print(f"{count} pentagons: {pentagons(count):.1f} mm of 295")
elif __name__ == "__main__":
    sets = [packed(name) for name in SETS]
    lines = [json.dumps(one) for one in sets]
    text = '{"source": "see nesting.py", "optimiser": "spyrrow 0.9.0, 60 s, one core", "sets": [\n'
    pathlib.Path(__file__).with_name("nesting.json").write_text(text + ",\n".join(lines) + "\n]}\n")
