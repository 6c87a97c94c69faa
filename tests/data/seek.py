"""Writes seek.json: what SciPy's COBYLA and grids find for questions that `seek` answers. Both see only what `check` tells of
variants, and nothing of how `seek` goes about it.

COBYLA (Powell, Advances in Optimization and Numerical Analysis, 1994) from the values of the file and from a place beside
them; grids of so many places to a side over all bounds, then over the neighbourhood of the best, five times.

    pip install scipy==1.17.1 && python3 seek.py PROGRAM
"""

import itertools
import json
import pathlib
import re
import subprocess
import sys
import tempfile

import scipy
from scipy.optimize import minimize

HERE = pathlib.Path(__file__).parent
# File, free params with bounds and start, what is wanted the least of, and what must be at least nothing, all in mm.
# None has an island apart from the rest over several params, such as an opening that bites the rim: `seek` may miss those and says so.
QUESTIONS = [
    ("plate", {"across": (20, 90, 60)}, "across", ["web(base) - 5"]),
    ("plate", {"across": (20, 90, 60), "off": (0, 20, 4)}, "across", ["web(base) - 5", "off - 6.5"]),
    ("plate", {"across": (20, 90, 60), "eye": (4, 30, 12)}, "across - 2 * eye", ["web(base) - 4", "eye - 8", "40 - across"]),
    ("plate", {"across": (20, 90, 60), "eye": (4, 30, 12), "off": (0, 20, 4)}, "across - eye - off",
     ["web(base) - 3", "off - 2", "10 - off", "24 - eye", "across - 30"]),
    ("plate", {"eye": (4, 30, 12), "off": (0, 20, 4)}, "-(eye + off)", ["web(base) - 5"]),
    ("plate", {"eye": (4, 30, 12)}, "-eye", ["web(base) - 7"]),
    ("plate", {"off": (0, 20, 4)}, "-off", ["web(base) - 6"]),
    ("spots", {"across": (30, 80, 60)}, "across", ["web(cover) - 2"]),
    ("spots", {"hole": (5, 16, 10)}, "-hole", ["centring_slack(spots) - 1", "web(cover) - 2"]),
]


def measured(program, text, places, measures):
    """Every place's params and measures, as an `expect` that no dial meets tells them; and whether anything else stands."""
    variants = "\n".join(
        f"  variant v{at} {{ {'; '.join(f'{name} = {value:.6f}mm' for name, value in place.items())} }}"
        for at, place in enumerate(places))
    expects = "\n".join(f"expect {measure} > 9999mm" for measure in measures)
    with tempfile.TemporaryDirectory() as folder:
        file = pathlib.Path(folder) / "sought.dial"
        file.write_text(f"{text}\n{expects}\nfamily {{\n{variants}\n}}\n")
        said = subprocess.run([program, "check", file, "--message-format", "json"], capture_output=True, check=False)
    known = [{**place} for place in places]
    for found in json.loads(said.stdout)["findings"]:
        those = [int(name[1:]) for name in found["variants"]] or range(len(places))
        told = re.search(r"`(.+)` is (-?[0-9.]+)", found["message"])
        for at in those:
            if found["finding"] == "not-as-expected":
                known[at][told[1]] = float(told[2])
            elif found["severity"] != "advice" and not found["accepted"]:
                known[at]["stands"] = True
    return known


def value(expression, figures):
    """The value of an expression; none where a measure is missing."""
    names = re.findall(r"[a-z_]+\([a-z]+\)", expression)
    if any(name not in figures for name in names):
        return None
    for name in names:
        expression = expression.replace(name, repr(figures[name]))
    return eval(expression, {}, {key: it for key, it in figures.items() if isinstance(it, (int, float))})


class Question:
    def __init__(self, program, file, free, least, rooms):
        self.program, self.free, self.least, self.rooms = program, free, least, rooms
        self.text = (HERE / "seek" / f"{file}.dial").read_text()
        self.known = {}

    def look(self, places):
        new = [place for place in dict.fromkeys(places) if place not in self.known]
        for place, figures in self.measured(new):
            rooms = [value(room, figures) for room in self.rooms]
            least = value(self.least, figures)
            if least is None or None in rooms:
                rooms, least = [-10.0] * len(self.rooms), 1e3
            self.known[place] = (least, rooms + [-1.0 if figures.get("stands") else 1.0])
        return [self.known[place] for place in places]

    def measured(self, places):
        names = re.findall(r"[a-z_]+\([a-z]+\)", " ".join([self.least, *self.rooms]))
        for at in range(0, len(places), 500):
            some = places[at:at + 500]
            yield from zip(some, measured(self.program, self.text, [dict(zip(self.free, it)) for it in some], sorted(set(names))))

    def cobyla(self):
        best = None
        ends = list(self.free.values())
        for shift in (0.0, -0.25):
            start = [min(max(at + shift * (high - low), low), high) for low, high, at in ends]
            clipped = lambda x: tuple(round(min(max(it, low), high), 6) for it, (low, high, _) in zip(x, ends))
            one = lambda x: self.look([clipped(x)])[0]
            inside = [{"type": "ineq", "fun": lambda x, at=at: one(x)[1][at]} for at in range(len(self.rooms) + 1)]
            inside += [{"type": "ineq", "fun": lambda x, at=at: x[at] - ends[at][0]} for at in range(len(ends))]
            inside += [{"type": "ineq", "fun": lambda x, at=at: ends[at][1] - x[at]} for at in range(len(ends))]
            reach = max(high - low for low, high, _ in ends) / 8
            found = minimize(lambda x: one(x)[0], start, method="COBYLA", constraints=inside,
                             options={"rhobeg": reach, "tol": 1e-4, "maxiter": 150})
            least, rooms = one(found.x)
            if min(rooms) >= -1e-3 and (best is None or least < best):
                best = least
        return best

    def grid(self):
        sides = {1: 57, 2: 15, 3: 9}[len(self.free)]
        ends = [(low, high) for low, high, _ in self.free.values()]
        best = None
        for _ in range(6):
            axes = [[round(low + (high - low) * at / (sides - 1), 6) for at in range(sides)] for low, high in ends]
            places = list(itertools.product(*axes))
            kept = [(least, place) for place, (least, rooms) in zip(places, self.look(places)) if min(rooms) >= -1e-3]
            if not kept:
                return best
            if best is None or min(kept)[0] < best:
                best, place = min(kept)
            steps = [2.5 * (high - low) / (sides - 1) for low, high in ends]
            bounds = [(low, high) for low, high, _ in self.free.values()]
            ends = [(max(it - by, low), min(it + by, high)) for it, by, (low, high) in zip(place, steps, bounds)]
        return best


def main():
    answers = []
    for file, free, least, rooms in QUESTIONS:
        question = Question(sys.argv[1], file, free, least, rooms)
        answer = {"file": file, "free": list(free), "least": least, "rooms": rooms,
                  "cobyla": round(float(question.cobyla()), 4), "cobyla_designs": len(question.known)}
        answer["grid"] = round(float(question.grid()), 4)
        print(answer, flush=True)
        answers.append(answer)
    said = {"scipy": scipy.__version__, "answers": answers}
    (HERE / "seek.json").write_text(json.dumps(said, indent=1) + "\n")


main()
