"""Both side by side: the plain script in this folder, and `dialwright build`, on the same dial.

    python3 tests/bench/peer/run.py

Makes a virtual environment and a release build under target/, runs both in turn, checks that they made the same dial,
and prints medians and their ratio. The typeface is the one that comes with the program, from cargo's registry.
"""

import json
import os
import platform
import statistics
import subprocess
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
TOP = HERE.parents[2]
PEER = TOP / "target" / "peer"
DIAL = TOP / "examples" / "saltmarsh" / "crew.dial"
ROUNDS = 15


def told(*command, **options):
    return subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True, cwd=TOP, **options).stdout


def prepare():
    python = PEER / "venv" / "bin" / "python"
    if not python.exists():
        told(sys.executable, "-m", "venv", str(PEER / "venv"))
        told(str(python), "-m", "pip", "install", "--quiet", "-r", str(HERE / "requirements.txt"))
    told("cargo", "build", "--release", "--quiet")
    about = json.loads(told("cargo", "metadata", "--format-version", "1", "--locked"))
    crate = next(package for package in about["packages"] if package["name"] == "dejavu")
    font = next(Path(crate["manifest_path"]).parent.rglob("DejaVuSans.ttf"))
    return str(python), str(Path(about["target_directory"]) / "release" / "dialwright"), str(font)


def timed(command):
    began = time.perf_counter()
    done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, check=True)
    return time.perf_counter() - began, done.stdout


def same_dial(ours, theirs):
    """Chords lie inside their curves, so the script's lengths and areas come out a little low, and never high."""
    for what, made, peer in [
        ("cut, mm", ours["cut_length"], theirs["cut_mm"]),
        ("engraved, mm2", ours["engraved_area"], theirs["engraved_mm2"]),
    ]:
        short = 1 - peer / made
        print(f"  {what:14} {made:10.3f} {peer:10.3f}   {100 * short:.4f} % less")
        assert -1e-6 < short < 5e-4, f"{what}: not the same dial"


def main():
    python, dialwright, font = prepare()
    script = [python, str(HERE / "crew.py"), font, str(PEER / "script")]
    build = [dialwright, "build", str(DIAL), "--out", str(PEER / "built"), *sys.argv[1:]]
    timed(script), timed(build)
    times = [(timed(script), timed(build)) for _ in range(ROUNDS)]
    ours = json.loads((PEER / "built" / "operations.json").read_text())["summary"]
    print(f"{platform.machine()}, {os.cpu_count()} cores, {platform.system()} {platform.release()}")
    print(f"Python {platform.python_version()}, {', '.join((HERE / 'requirements.txt').read_text().split())}")
    print(told("rustc", "--version").strip() + ", " + told(dialwright, "--version").strip())
    print("\n                 dialwright     script")
    same_dial(ours, json.loads(times[0][0][1]))
    peer, own = (statistics.median(run[which][0] for run in times) for which in (0, 1))
    each = statistics.median(run[0][0] / run[1][0] for run in times)
    print(f"  whole, ms      {1000 * own:10.1f} {1000 * peer:10.1f}   {each:.1f} times (median of {ROUNDS} pairs)")


if __name__ == "__main__":
    main()
