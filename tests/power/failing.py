"""Every call that a verb makes of the system to write fails in turn, and every verb is killed at drawn moments.

    python3 tests/power/failing.py PROGRAM [KILLS]

PROGRAM is a built dialwright. Each verb is run once as it is and its calls are counted; then once for each call with that one
failing (as a full disc, as a broken disc), and KILLS times with SIGKILL after a drawn part of its time. Whatever happens, the
folder must hold the former outputs whole or the new ones, and a verb that could not write must say so: exit 2 and a message.

It needs Linux and strace. It ends with 1 where anything was lost.
"""

import collections
import pathlib
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent.parent.parent
# Calls that bring something to the disc or onto the screen, and how each may fail.
CALLS = {
    "openat": "EACCES",
    "mkdir": "ENOSPC",
    "write": "ENOSPC",
    "fsync": "EIO",
    "fdatasync": "EIO",
    "syncfs": "EIO",
    "rename": "EIO",
    "renameat2": "EIO",
    "renameat": "EIO",
    "linkat": "EIO",
    "unlink": "EIO",
    "unlinkat": "EIO",
    "fchmod": "EPERM",
    "fchown": "EPERM",
    "ftruncate": "EIO",
    "flock": "ENOLCK",
    "copy_file_range": "EIO",
    "getdents64": "EIO",
}
FAMILY = "\nparam more: length = 0mm from 0mm to 9mm\nfamily { each more in [0mm, 1mm] }\n"

program = str(pathlib.Path(sys.argv[1]).resolve())
kills = int(sys.argv[2]) if len(sys.argv) > 2 else 100
drawn = random.Random(20261201)

dial = (HERE / "examples/first.dial").read_text()
wide = dial.replace("60mm", "62mm")
TEXTS = {
    "a.dial": dial,
    "wide.dial": wide,
    "family.dial": dial + FAMILY,
    "wide-family.dial": wide + FAMILY,
    "untidy.dial": dial.replace(" of ", "   of   "),
    "slip.dial": dial.replace("labels", "labells"),
    "sought.dial": dial + "\nparam more: length = 5mm from 1mm to 9mm\n",
    "shop.dial": (HERE / "examples/saltmarsh/shop.dial").read_text(),
}
# What writes, and what was written before into the same place.
VERBS = [
    ("build wide.dial --no-print --out out", ["build a.dial --no-print --out out"]),
    ("build wide-family.dial --no-print --out all", ["build family.dial --no-print --out all"]),
    ("build wide-family.dial --no-print --out cached --cache cache", ["build family.dial --no-print --out cached --cache cache"]),
    ("gather one two --out whole", [
        "build family.dial --no-print --shard 1/2 --out one",
        "build family.dial --no-print --shard 2/2 --out two",
    ]),
    ("coupon shop.dial --stock birch --out cards", []),
    ("tidy untidy.dial", []),
    ("check slip.dial --mend", []),
    ("check a.dial --sarif log.sarif", ["check wide.dial --sarif log.sarif"]),
    ("turn wide.dial --picture stops.svg", ["turn a.dial --picture stops.svg"]),
    ("hold a.dial --plot pull.svg", []),
    ("portrait wide.dial --size 40 --out portrait.png", ["portrait a.dial --size 40 --out portrait.png"]),
    ("seek sought.dial --free more --least more --write", []),
    ("begin new.dial --shows Points --readings 6 --across 60mm --shop shop.dial --stock birch --held-by magnets", []),
]


def files(place):
    """Every file of a folder with what is in it; a cache may hold more or less."""
    found = {str(path.relative_to(place)): path.read_bytes() for path in place.rglob("*") if path.is_file()}
    return {name: text for name, text in found.items() if not name.startswith("cache/")}


def bench(folder, before):
    """A folder as it is before a verb."""
    for name, text in TEXTS.items():
        (folder / name).write_text(text)
    for words in before:
        subprocess.run([program, *words.split()], cwd=folder, check=False, capture_output=True)


def copied(folder):
    """A fresh copy of it."""
    place = folder.parent / "run"
    shutil.rmtree(place, ignore_errors=True)
    shutil.copytree(folder, place)
    return place


LINE = re.compile(r"^(\d+) +(\w+)\((.*)")
SYSTEMS = re.compile(r'"/(lib|usr|etc|proc|sys|dev)')


def calls(words, place, log):
    """How the verb ends, and which calls of each kind it makes in any of its threads, by their number there."""
    ended = subprocess.run(
        ["strace", "-f", "-o", str(log), "-e", "trace=" + ",".join(CALLS), program, *words],
        cwd=place, capture_output=True,
    )
    counted, wanted = collections.Counter(), collections.defaultdict(set)
    for line in log.read_text(errors="replace").splitlines():
        found = LINE.match(line)
        if found is None:
            continue
        thread, call, arguments = found.groups()
        counted[thread, call] += 1
        # What the loader and the language's own library read is none of ours.
        if not (call == "openat" and SYSTEMS.search(arguments)):
            wanted[call].add(counted[thread, call])
    return ended.returncode, wanted


def main():
    lost = failed = killed = 0
    with tempfile.TemporaryDirectory() as folder:
        for verb, before in VERBS:
            words = verb.split()
            start = pathlib.Path(folder) / "start"
            shutil.rmtree(start, ignore_errors=True)
            start.mkdir()
            bench(start, before)
            old = files(start)
            place = copied(start)
            began = time.monotonic()
            code = subprocess.run([program, *words], cwd=place, capture_output=True).returncode
            took = time.monotonic() - began
            new = files(place)
            log = pathlib.Path(folder) / "calls"
            wanted = calls(words, copied(start), log)[1]
            assert code < 2 and new != old, f"{verb} wrote nothing"
            faults = []
            for call, numbers in sorted(wanted.items()):
                for number in sorted(numbers):
                    place = copied(start)
                    inject = f"inject={call}:error={CALLS[call]}:when={number}"
                    try:
                        ended = subprocess.run(
                            ["strace", "-f", "-o", "/dev/null", "-e", inject, program, *words],
                            cwd=place, capture_output=True, timeout=60,
                        )
                    except subprocess.TimeoutExpired:
                        faults.append(f"{call} {number}: hangs")
                        continue
                    failed += 1
                    left = files(place)
                    told = ended.stderr + ended.stdout
                    # What could not be taken away is left beside them; of what was asked for nothing is.
                    asked = {name: text for name, text in left.items() if name in old or name in new}
                    if ended.returncode not in (0, 1, 2):
                        faults.append(f"{call} {number}: ends with {ended.returncode}: {told[-300:]!r}")
                    elif asked not in (old, new):
                        differ = sorted(set(old.items()) ^ set(asked.items()))[:3]
                        faults.append(f"{call} {number}: half written: {[name for name, _ in differ]}")
                    elif ended.returncode < 2 and asked != new:
                        faults.append(f"{call} {number}: ends with {ended.returncode} and wrote nothing: {told[-200:]!r}")
                    elif ended.returncode == 2 and not told.strip() and call != "write":
                        faults.append(f"{call} {number}: says nothing")
            for _ in range(kills // len(VERBS) + 1):
                place = copied(start)
                child = subprocess.Popen([program, *words], cwd=place, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
                time.sleep(drawn.uniform(0, 1.1) * took)
                child.kill()
                child.wait()
                killed += 1
                left = files(place)
                if {name: text for name, text in left.items() if name in old or name in new} not in (old, new):
                    faults.append("a kill leaves it half written")
            lost += len(faults)
            print(f"{verb}: {sum(map(len, wanted.values()))} calls, {len(faults)} at fault", flush=True)
            for fault in faults:
                print(f"  {fault}", flush=True)
    print(f"{failed} calls failed, {killed} kills, {lost} at fault")
    sys.exit(lost > 0)


main()
