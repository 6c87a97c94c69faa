#!/usr/bin/env python3
"""Mutation testing of src/geometry, src/physics, src/audit and src/plan on one build: see README.md beside it.

    run.py prepare    list the mutants (cargo-mutants), weave them into a copy of the tree, leave out what does not compile,
                      build the tests
    run.py build      build the tests again
    run.py record     run each test alone: how long it takes, which mutants it reaches
    run.py run        try the mutants in a drawn order until the time is up; goes on where it stopped
    run.py report     what was found

All that is made lies in target/mutants; remove it to begin anew.
"""

import argparse
import json
import math
import os
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter, defaultdict
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
WORK = Path(os.environ.get("DIALWRIGHT_MUTANTS", ROOT / "target/mutants"))
TREE = WORK / "tree"
WORK_BUILD = WORK / "build"
LIST, LEFT_OUT, TESTS, VERDICTS = (WORK / name for name in ("list.json", "left-out.tsv", "tests.json", "verdicts.jsonl"))
FOLDERS = ("geometry", "physics", "audit", "plan")
MARK = re.compile(r"//~(\d+)$")
# A test that takes longer by itself, in seconds of the processor, is not asked.
LONGEST = 20
# One that takes longer than this is asked after all others.
LONG = 4


# Preparing


def cargo(*arguments: str, folder: Path, **options) -> subprocess.CompletedProcess:
    env = os.environ | {"CARGO_TARGET_DIR": str(WORK_BUILD), "CARGO_PROFILE_DEV_OPT_LEVEL": "1"}
    return subprocess.run(["cargo", *arguments], cwd=folder, env=env, text=True, **options)


def listed() -> list[dict]:
    return json.loads(LIST.read_text())


def left_out() -> dict[int, str]:
    """The numbers of the mutants that were left out, with why. A mutant's number is its place in the list, from 1."""
    rows = (line.split("\t") for line in LEFT_OUT.read_text().splitlines())
    return {int(number): why for number, why in rows}


def copy_tree() -> None:
    """The files of the working tree, with the module that says which mutant is at work, and without lints."""
    names = subprocess.run(["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, capture_output=True, text=True)
    kept = {TREE / "src/mutant.rs"}
    for name in names.stdout.splitlines():
        source, copy = ROOT / name, TREE / name
        if source.is_file():
            kept.add(copy)
            copy.parent.mkdir(parents=True, exist_ok=True)
            if not copy.exists() or copy.read_bytes() != source.read_bytes():
                shutil.copyfile(source, copy)
                shutil.copymode(source, copy)
    for left in set((TREE / "src").rglob("*.rs")) - kept:
        left.unlink()
    manifest = (TREE / "Cargo.toml").read_text()
    (TREE / "Cargo.toml").write_text(re.sub(r"(?s)\[lints\.\w+\].*?(?=\n\[|\Z)", "", manifest) + "\n[workspace]\n")
    lib = TREE / "src/lib.rs"
    lib.write_text("#![allow(warnings)]\n" + lib.read_text().replace("pub mod analysis;", "pub mod analysis;\npub mod mutant;"))
    shutil.copyfile(HERE / "mutant.rs", TREE / "src/mutant.rs")


def weave() -> None:
    numbers = WORK / "left-out.txt"
    numbers.write_text("".join(f"{number}\n" for number in left_out()))
    command = [WORK / "weaver/debug/dialwright-mutants", TREE, LIST, numbers]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    with LEFT_OUT.open("a") as file:
        file.write(done.stdout)


def faulty(message: dict) -> tuple[set[int], bool]:
    """The mutants that an error of the compiler comes from; whether it lies in their own text, and not beside it."""
    spans = sorted(message["spans"], key=lambda span: not span["is_primary"])
    for span in spans:
        lines = (TREE / span["file_name"]).read_text().splitlines()
        for number in (span["line_end"], span["line_start"]):
            if found := MARK.search(lines[number - 1]):
                return {int(found[1])}, True
    for span in spans:
        lines = (TREE / span["file_name"]).read_text().splitlines()
        near = "\n".join(lines[span["line_start"] - 1 : span["line_end"] + 4])
        if found := re.findall(r"//~(\d+)$", near, re.M):
            return set(map(int, found)), False
    raise SystemExit(f"an error that no mutant explains:\n{message['rendered']}")


def keys(mutants: list[dict]) -> list[tuple]:
    """What each mutant is, wherever its lines have moved to: its name, the lines about it, and which of several alike it is."""
    seen: Counter = Counter()
    found = []
    for mutant in mutants:
        lines = [line for line in mutant["diff"].splitlines() if not line.startswith("@@")]
        key = (re.sub(r":\d+:\d+: ", ": ", mutant["name"]), "\n".join(lines))
        seen[key] += 1
        found.append((*key, seen[key]))
    return found


def renumber(now: list[dict]) -> None:
    """Takes what is known of mutants over to a new list; what is no longer there is forgotten."""
    numbers = {key: number for number, key in enumerate(keys(now), 1)}
    new = {old: numbers.get(key) for old, key in enumerate(keys(listed() if LIST.exists() else []), 1)}
    known = [(new[number], why) for number, why in (left_out() if LEFT_OUT.exists() else {}).items() if new[number]]
    LEFT_OUT.write_text("".join(f"{number}\t{why}\n" for number, why in sorted(known)))
    rows = [row | {"id": new[row["id"]], "name": now[new[row["id"]] - 1]["name"]} for row in verdicts().values() if new[row["id"]]]
    VERDICTS.write_text("".join(json.dumps(row) + "\n" for row in rows))
    tests = json.loads(TESTS.read_text()) if TESTS.exists() else {}
    for test in tests.values():
        test["reached"] = sorted(new[number] for number in test["reached"] if new[number])
    TESTS.write_text(json.dumps(tests))


def prepare() -> None:
    WORK.mkdir(parents=True, exist_ok=True)
    subprocess.run(["cargo", "build", "--quiet", "--target-dir", WORK / "weaver"], cwd=HERE, check=True)
    patterns = [part for folder in FOLDERS for part in ("-f", f"src/{folder}/**")]
    list_json = cargo("mutants", "--list", "--json", *patterns, folder=ROOT, capture_output=True, check=True).stdout
    if not LIST.exists() or LIST.read_text() != list_json:
        renumber(json.loads(list_json))
        LIST.write_text(list_json)
    weave_all()
    build()


def weave_all() -> None:
    """Weaves, and leaves out what does not compile, until all that is left does."""
    while True:
        copy_tree()
        weave()
        checked = cargo("check", "--lib", "--message-format", "json", folder=TREE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        messages = [json.loads(line) for line in checked.stdout.splitlines()]
        errors = [it["message"] for it in messages if it["reason"] == "compiler-message" and it["message"]["level"] == "error"]
        reasons: dict[int, str] = {}
        for error in (error for error in errors if error["spans"]):
            numbers, own = faulty(error)
            for number in numbers:
                why = f"does not compile: {error['message']}" if own else f"cannot be woven: {error['message']}"
                reasons.setdefault(number, why.splitlines()[0].replace("\t", " "))
        print(f"{len(errors)} errors, {len(reasons)} mutants left out", flush=True)
        if not reasons:
            break
        with LEFT_OUT.open("a") as file:
            file.writelines(f"{number}\t{why}\n" for number, why in sorted(reasons.items()))


def build() -> None:
    """Builds the woven tests, and notes where they lie; what is known of tests is kept."""
    arguments = ("test", "--no-run", "--lib", "--test", "suite", "--message-format", "json")
    built = cargo(*arguments, folder=TREE, stdout=subprocess.PIPE, check=True)
    found = [json.loads(line) for line in built.stdout.splitlines()]
    programs = {it["target"]["name"]: it["executable"] for it in found if it.get("profile", {}).get("test") and it.get("executable")}
    (WORK / "programs.json").write_text(json.dumps(programs))
    tests = json.loads(TESTS.read_text()) if TESTS.exists() else {}
    TESTS.write_text(json.dumps({name: test | {"program": programs[test["kind"]]} for name, test in tests.items()}))
    print(programs)


# Running tests


def allowed(expected: float) -> int:
    """The seconds after which tests that were expected to take so many are too slow."""
    return math.ceil(3 * expected + 2)


def environment() -> dict[str, str]:
    """What tests are run in, so that they change nothing."""
    own = {"PROPTEST_DISABLE_FAILURE_PERSISTENCE": "1", "INSTA_UPDATE": "no", "INSTA_WORKSPACE_ROOT": str(TREE)}
    return os.environ | own | {"RUST_BACKTRACE": "0", "CARGO_MANIFEST_DIR": str(TREE)}


def run_tests(program: str, names: list[str], seconds: int, **variables: str) -> tuple[str, str]:
    """Runs tests one after the other in a process of their own: `passed`, `failed` or `slow`, and the first at fault.

    Slow is what takes more than `seconds` of the processor, so that other work beside this makes nothing slow.
    """
    def limits() -> None:
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
        resource.setrlimit(resource.RLIMIT_AS, (8 << 30, 8 << 30))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))

    process = subprocess.Popen(
        [program, "--exact", "--test-threads=1", *names], cwd=TREE, env=environment() | variables, text=True, errors="replace",
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL, start_new_session=True, preexec_fn=limits,
    )  # fmt: skip
    try:
        output, _ = process.communicate(timeout=6 * seconds + 20)
        slow = process.returncode in (-signal.SIGXCPU, -signal.SIGKILL)
    except subprocess.TimeoutExpired:
        slow = True
    finally:
        try:
            os.killpg(process.pid, signal.SIGKILL)
        except ProcessLookupError:
            pass
    if slow:
        output, _ = process.communicate()
    if process.returncode == 0 and not slow:
        return "passed", ""
    failed = re.search(r"^test (\S+)(?: - should panic)? \.\.\. FAILED$", output, re.M)
    unfinished = re.findall(r"^test (\S+)(?: - should panic)? \.\.\. (?!ok|FAILED|ignored)", output, re.M)
    return "slow" if slow else "failed", failed[1] if failed else unfinished[-1] if unfinished else names[0]


def record(arguments: argparse.Namespace) -> None:
    """Runs each test alone, once for its time and once for what it reaches; goes on where it stopped, and drops what is gone."""
    tests = json.loads(TESTS.read_text()) if TESTS.exists() else {}
    reached = WORK / "reached.txt"
    found: set[str] = set()
    for kind, program in json.loads((WORK / "programs.json").read_text()).items():
        names = subprocess.run([program, "--list", "--format", "terse"], cwd=TREE, capture_output=True, text=True, check=True)
        for name in re.findall(r"^(\S+): test$", names.stdout, re.M):
            found.add(name)
            known = name in tests and tests[name]["verdict"] == "passed" and not arguments.again
            if known or not re.search(arguments.tests, name):
                continue
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            verdict, _ = run_tests(program, [name], LONGEST)
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            seconds = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
            reached.write_text("")
            if verdict == "passed":
                run_tests(program, [name], allowed(5 * seconds), DIALWRIGHT_MUTANT_REACHED=str(reached))
            else:
                print(f"{verdict}: {name}", flush=True)
            # A test that kills what it runs may leave half a line.
            numbers = sorted({int(line) for line in reached.read_text().split() if line.isdigit()})
            tests[name] = {"program": program, "kind": kind, "seconds": seconds, "verdict": verdict, "reached": numbers}
            TESTS.write_text(json.dumps(tests))
    tests = {name: test for name, test in tests.items() if name in found}
    TESTS.write_text(json.dumps(tests))
    seconds = sum(test["seconds"] for test in tests.values())
    print(f"{len(tests)} tests, {seconds:.0f} s, {len(set().union(*(test['reached'] for test in tests.values())))} mutants reached")


# Trying mutants


class Trial:
    """Tries mutants, and learns which tests find those of a function or file."""

    def __init__(self, budget: float) -> None:
        self.budget = budget
        tests = json.loads(TESTS.read_text())
        self.tests = {name: test for name, test in tests.items() if test["verdict"] == "passed"}
        self.reaching = defaultdict(list)
        # Quick tests first, and those that reach little: they look at it closely.
        cost = {name: (test["seconds"] + 0.02) * math.sqrt(len(test["reached"])) for name, test in self.tests.items()}
        for name in sorted(self.tests, key=cost.__getitem__):
            for number in self.tests[name]["reached"]:
                self.reaching[number].append(name)
        self.finders = defaultdict(Counter)
        self.steady = Counter()

    def order(self, number: int, mutant: dict) -> list[str]:
        """The tests that reach a mutant: those that found its neighbours, those named after its file or folder, all by cost."""
        reaching = self.reaching[number]
        known = set(reaching)
        first: list[str] = []
        for place in places(mutant):
            found = [name for name, _ in self.finders[place].most_common(30) if name in known and name not in first]
            first += found[:4]
        # What takes long comes last, however often it finds something.
        first = [name for name in first if self.tests[name]["seconds"] < LONG]
        rest = [name for name in reaching if name not in first]
        words = Path(mutant["file"]).with_suffix("").parts[1:]
        quick = [name for name in rest if self.tests[name]["seconds"] < LONG]
        named = {name for name in quick if any(part.startswith(words) for part in name.split("::")[:-1])}
        return first + [name for name in rest if name in named] + [name for name in rest if name not in named]

    def batches(self, names: list[str]):
        """Tests of one program each, within the budget, in batches that take ever longer."""
        spent, batch, size, limit = 0.0, [], 0.0, 0.5
        for name in names:
            test = self.tests[name]
            if spent + test["seconds"] > self.budget and spent > 0:
                continue
            if batch and (size + test["seconds"] > limit or test["program"] != self.tests[batch[0]]["program"]):
                yield batch, size
                batch, size, limit = [], 0.0, min(2 * limit, 6.0)
            batch.append(name)
            size += test["seconds"]
            spent += test["seconds"]
        if batch:
            yield batch, size

    def trusted(self, name: str) -> bool:
        """Whether a test that failed passes without the mutant, here and now; it is asked thrice at most."""
        if self.steady[name] < 3:
            test = self.tests[name]
            if run_tests(test["program"], [name], allowed(test["seconds"]), DIALWRIGHT_MUTANT="0")[0] != "passed":
                print(f"not steady: {name}", flush=True)
                self.tests.pop(name)
                for names in self.reaching.values():
                    if name in names:
                        names.remove(name)
                return False
            self.steady[name] += 1
        return True

    def verdict(self, number: int, mutant: dict) -> dict:
        names = self.order(number, mutant)
        if not names:
            return {"verdict": "unreached"}
        tried = 0
        for batch, expected in self.batches(names):
            batch = [name for name in batch if name in self.tests]
            if not batch:
                continue
            program = self.tests[batch[0]]["program"]
            verdict, name = run_tests(program, batch, allowed(expected), DIALWRIGHT_MUTANT=str(number))
            if verdict != "passed" and self.trusted(name):
                for place in places(mutant):
                    self.finders[place][name] += 1
                return {"verdict": verdict, "test": name}
            tried += len(batch)
        return {"verdict": "survived", "tried": tried, "reaching": len(names)}


def places(mutant: dict) -> list[str]:
    function = (mutant["function"] or {}).get("function_name", "")
    folder = os.path.dirname(mutant["file"])
    return [f"{mutant['file']}:{function}", mutant["file"], folder]


def verdicts() -> dict[int, dict]:
    lines = VERDICTS.read_text().splitlines() if VERDICTS.exists() else []
    return {row["id"]: row for row in map(json.loads, lines)}


def run(arguments: argparse.Namespace) -> None:
    mutants, skipped = listed(), left_out()
    numbers = [number for number in range(1, len(mutants) + 1) if number not in skipped]
    random.Random(arguments.seed).shuffle(numbers)
    wanted = re.compile(arguments.mutants)
    numbers = [number for number in numbers if wanted.search(mutants[number - 1]["name"])][: arguments.sample]
    done = verdicts()
    if arguments.again:
        numbers = [number for number in numbers if number in done and "test" not in done[number]]
    trial = Trial(arguments.budget)
    for row in done.values():
        if "test" in row:
            for place in places(mutants[row["id"] - 1]):
                trial.finders[place][row["test"]] += 1
    end = time.monotonic() + 60 * arguments.minutes
    for number in numbers:
        if time.monotonic() > end:
            break
        if number in done and not arguments.again:
            continue
        begun = time.monotonic()
        seed = done[number]["seed"] if number in done else arguments.seed
        row = {"id": number, "seed": seed, "name": mutants[number - 1]["name"]} | trial.verdict(number, mutants[number - 1])
        row["seconds"] = round(time.monotonic() - begun, 2)
        with VERDICTS.open("a") as file:
            file.write(json.dumps(row) + "\n")


# Reporting


def wilson(caught: int, tried: int) -> tuple[float, float]:
    """The 95 % interval of a proportion (E. B. Wilson, J. Am. Stat. Assoc. 22 (1927), 209-212)."""
    if tried == 0:
        return 0.0, 1.0
    z, p = 1.959964, caught / tried
    middle = p + z * z / (2 * tried)
    half = z * math.sqrt(p * (1 - p) / tried + z * z / (4 * tried * tried))
    return (middle - half) / (1 + z * z / tried), (middle + half) / (1 + z * z / tried)


def report(arguments: argparse.Namespace) -> None:
    """What was found; of one seed alone, those that it drew and no seed before it."""
    mutants, skipped, found = listed(), left_out(), verdicts()
    if arguments.only_seed:
        found = {number: row for number, row in found.items() if row["seed"] == arguments.only_seed}
    columns = ("listed", "unviable", "not woven", "tried", "failed", "slow", "unreached", "survived")
    table = {folder: Counter() for folder in (*FOLDERS, "all")}
    for number, mutant in enumerate(mutants, 1):
        why = skipped.get(number, "")
        column = found[number]["verdict"] if number in found and not why else "unviable" if "not compile" in why else "not woven" if why else ""
        for row in (mutant["file"].split("/")[1], "all"):
            table[row]["listed"] += 1
            table[row][column] += 1
            table[row]["tried"] += number in found and not why
    print("| folder |", " | ".join(columns), "| caught | 95 % interval |")
    print("| --- |", " | ".join(["--:"] * (len(columns) + 2)), "|")
    for folder, row in table.items():
        caught = row["failed"] + row["slow"]
        low, high = wilson(caught, row["tried"])
        part = 100 * caught / max(row["tried"], 1)
        print(f"| {folder} |", " | ".join(str(row[column]) for column in columns), f"| {part:.1f} % | {100 * low:.1f} to {100 * high:.1f} % |")
    for number, row in sorted(found.items(), key=lambda it: it[1]["name"]):
        if row["verdict"] in ("survived", "unreached") and number not in skipped:
            print(f"{number}\t{row['verdict']}\t{row.get('tried', 0)}/{row.get('reaching', 0)}\t{row['name']}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("step", choices=["prepare", "build", "record", "run", "report"])
    parser.add_argument("--seed", type=int, default=1, help="of the order in which mutants are tried")
    parser.add_argument("--only-seed", type=int, help="report what this seed drew")
    parser.add_argument("--sample", type=int, help="try no more than the first so many of that order")
    parser.add_argument("--minutes", type=float, default=45)
    parser.add_argument("--budget", type=float, default=12, help="seconds of tests before a mutant counts as survived")
    parser.add_argument("--tests", default="", metavar="REGEX", help="record only the tests whose names match")
    parser.add_argument("--mutants", default="", metavar="REGEX", help="only those whose names match")
    parser.add_argument("--again", action="store_true", help="try those anew that were not caught, and no others; record anew")
    arguments = parser.parse_args()
    steps = {"prepare": prepare, "build": build, "record": record, "run": run, "report": report}
    if arguments.step in ("record", "run", "report"):
        steps[arguments.step](arguments)
    else:
        steps[arguments.step]()


if __name__ == "__main__":
    sys.exit(main())
