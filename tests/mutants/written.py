#!/usr/bin/env python3
"""Mutants of what is written: those of src/geometry, src/output, src/plan and src/quote that change a file of a build must be
told by reading it back, or by a test. See README.md beside it.

    written.py draw --seed 1 --count 300    list all, draw some, weave these, build, write down what each dial reaches
    run.py record --tests REGEX             the tests that are asked
    written.py run --minutes 60             try them; goes on where it stopped
    written.py report                       what was found
"""

import argparse
import json
import random
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from itertools import chain, zip_longest

import run as machine

FOLDERS = ("geometry", "output", "plan", "quote")
KNOWN, REACHED, FOUND = (machine.WORK / name for name in ("known.tsv", "reached.json", "written.jsonl"))
PROGRAM = machine.WORK_BUILD / "debug/examples/written"
# Dials drawn at random that are asked as well, and how many dials are asked about a mutant, the quickest that reach it.
SEEDS, MOST = 24, 8
# Seconds of the processor for all dials of a mutant.
LONGEST = 60


def draw(arguments: argparse.Namespace) -> None:
    """Weaves what is drawn alone: all others are left out."""
    machine.WORK.mkdir(parents=True, exist_ok=True)
    subprocess.run(["cargo", "build", "--quiet", "--target-dir", machine.WORK / "weaver"], cwd=machine.HERE, check=True)
    patterns = [part for folder in FOLDERS for part in ("-f", f"src/{folder}/**")]
    listing = machine.cargo("mutants", "--list", "--json", *patterns, folder=machine.ROOT, capture_output=True, check=True).stdout
    machine.LIST.write_text(listing)
    numbers = list(range(1, len(machine.listed()) + 1))
    random.Random(arguments.seed).shuffle(numbers)
    machine.LEFT_OUT.write_text("".join(f"{number}\tnot drawn\n" for number in sorted(numbers[arguments.count :])))
    print(f"{len(numbers)} mutants, {arguments.count} drawn", flush=True)
    machine.weave_all()
    build(arguments)


def build(arguments: argparse.Namespace) -> None:
    (machine.TREE / "examples").mkdir(exist_ok=True)
    shutil.copyfile(machine.HERE / "written.rs", machine.TREE / "examples/written.rs")
    machine.build()
    machine.cargo("build", "--example", "written", folder=machine.TREE, check=True)
    record(arguments)


def record(arguments: argparse.Namespace) -> None:
    """What each dial is written as without a mutant, how long that takes, and which mutants it reaches."""
    folders = ("examples", "tests/dials", "tests/random/kept")
    dials = chain.from_iterable(machine.TREE.glob(f"{folder}/**/*.dial") for folder in folders)
    files = sorted(str(it.relative_to(machine.TREE)) for it in dials if it.name != "shop.dial")

    def look(name: str) -> tuple[str, float, list[int]] | None:
        with tempfile.NamedTemporaryFile("r") as marks:
            begun = time.monotonic()
            code, said = written([name], DIALWRIGHT_MUTANT_REACHED=marks.name)
            took = time.monotonic() - begun
            if code:
                return print(f"{name} is not as it was meant, and left out", flush=True)
            return said, took, sorted(set(map(int, marks.read().split())))

    names = [*files, *(f"seed {seed}" for seed in range(1, SEEDS + 1))]
    with ThreadPoolExecutor(arguments.jobs) as pool:
        found = {name: it for name, it in zip(names, pool.map(look, names)) if it}
    KNOWN.write_text("".join(said for said, _, _ in found.values()))
    reached = {name: {"seconds": took, "mutants": numbers} for name, (_, took, numbers) in found.items()}
    REACHED.write_text(json.dumps(reached))


def written(arguments: list[str], **variables: str) -> tuple[int, str]:
    """What the example ended with, and what it printed."""

    def limits() -> None:
        resource.setrlimit(resource.RLIMIT_CPU, (LONGEST, LONGEST + 1))
        resource.setrlimit(resource.RLIMIT_AS, (8 << 30, 8 << 30))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))

    done = subprocess.run(
        [PROGRAM, *arguments], cwd=machine.TREE, env=machine.environment() | variables, stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL, text=True, errors="replace", start_new_session=True, preexec_fn=limits,
    )  # fmt: skip
    return done.returncode, done.stdout


def names_for(number: int) -> list[str]:
    """The dials that reach a mutant, the quickest first, those of files and those drawn at random in turn."""
    reached = json.loads(REACHED.read_text())
    names = sorted((name for name in reached if number in reached[name]["mutants"]), key=lambda name: reached[name]["seconds"])
    kinds = [[name for name in names if name.startswith("seed ") == drawn] for drawn in (False, True)]
    return [name for pair in zip_longest(*kinds) for name in pair if name][:MOST]


def verdict(trial: machine.Trial, number: int, mutant: dict) -> dict:
    names = names_for(number)
    if not names:
        return {"verdict": "unreached"}
    code, said = written([str(KNOWN), *names], DIALWRIGHT_MUTANT=str(number))
    lines = [line.split("\t") for line in said.splitlines()]
    files = sorted({file.split("/", 1)[1] for line in lines if line[0] == "changed" for file in line[2].split()})
    if code:
        return {"verdict": "ends the build", "files": files}
    if not files:
        return {"verdict": "changes nothing"}
    if caught := next((line for line in lines if line[0] == "caught"), None):
        return {"verdict": "random dials" if caught[1].startswith("seed ") else "read back", "by": caught[1:], "files": files}
    found = trial.verdict(number, mutant)
    # Every requirement on a layout is proven by reading back. Where nothing else differs in any dial, this one is as good.
    other = "another layout" if all(line[3] == "as good" for line in lines if line[0] == "changed") else "survived"
    return {"verdict": "test" if "test" in found else other, "by": found.get("test"), "files": files}


def run(arguments: argparse.Namespace) -> None:
    mutants, skipped = machine.listed(), machine.left_out()
    done = rows()
    numbers = [number for number in range(1, len(mutants) + 1) if number not in skipped]
    random.Random(arguments.seed).shuffle(numbers)
    again = {number for number, row in done.items() if row["verdict"] == "survived"} if arguments.again else set()
    trial = machine.Trial(arguments.budget)
    end = time.monotonic() + 60 * arguments.minutes

    def look(number: int) -> None:
        if time.monotonic() < end:
            mutant = mutants[number - 1]
            row = {"id": number, "name": mutant["name"], "file": mutant["file"]} | verdict(trial, number, mutant)
            with FOUND.open("a") as file:
                file.write(json.dumps(row) + "\n")

    with ThreadPoolExecutor(arguments.jobs) as pool:
        list(pool.map(look, (number for number in numbers if (number in again if arguments.again else number not in done))))


def rows() -> dict[int, dict]:
    lines = FOUND.read_text().splitlines() if FOUND.exists() else []
    return {row["id"]: row for row in map(json.loads, lines)}


def report(_: argparse.Namespace) -> None:
    nothing, columns = ("unreached", "changes nothing", "another layout"), ("ends the build", "read back", "random dials", "test", "survived")
    table = {name: Counter() for name in (*FOLDERS, "all", "boards and list", "other files")}
    for row in rows().values():
        of_boards = any(file.startswith("board-") or file == "operations.json" for file in row.get("files", ()))
        for name in (row["file"].split("/")[1], "all", "boards and list" if of_boards else "other files"):
            table[name][row["verdict"]] += 1
    print("| of | tried |", " | ".join((*nothing, *columns)), "| caught | 95 % interval |")
    print("| --- |", " | ".join(["--:"] * (len(nothing) + len(columns) + 3)), "|")
    for name, row in table.items():
        changing = sum(row[column] for column in columns)
        caught = changing - row["survived"]
        low, high = machine.wilson(caught, changing)
        counts = " | ".join(str(row[column]) for column in (*nothing, *columns))
        print(f"| {name} | {sum(row.values())} | {counts} | {100 * caught / max(changing, 1):.1f} % | {100 * low:.1f} to {100 * high:.1f} % |")
    for row in rows().values():
        if row["verdict"] in ("survived", "another layout"):
            print(f"- {row['verdict']}: {row['id']} `{row['name']}`: {' '.join(row['files'])}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("step", choices=["draw", "build", "run", "report"])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--minutes", type=float, default=45)
    parser.add_argument("--jobs", type=int, default=1, help="how many mutants are tried at a time")
    parser.add_argument("--budget", type=float, default=12, help="seconds of tests before a mutant counts as survived")
    parser.add_argument("--again", action="store_true", help="try those anew that survived, and no others")
    arguments = parser.parse_args()
    steps = {"draw": draw, "build": build, "run": run, "report": report}
    steps[arguments.step](arguments)


if __name__ == "__main__":
    sys.exit(main())
