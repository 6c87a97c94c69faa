"""A family of a thousand dials, built without what is printed: how long it takes, how much two threads help, its peak memory, and
what a second run takes that finds everything as before.

    cargo build --release
    python3 tests/bench/families.py [FROM TO [OUTLINE]]

Diameters run from FROM to TO mm (40 to 59.5 where left out) in a thousand even steps; OUTLINE is a shape of the language in
which `across` is the diameter. Sizes that fill boards badly take longest, since a layout on fewer is searched for. The ratio
is measured on every tenth dial, one thread and two in turn, so that work of others on the machine touches both alike; times
of processors are told beside those of the clock.
"""

import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
PROGRAM = os.environ.get("DIALWRIGHT", str(TOP / "target" / "release" / "dialwright"))
PAIRS = 5
DIAL = """dial "Saltmarsh Ferry: crew aboard"
with "shop.dial"
param across: length = 60mm
let out = 0.33 * across
outline {outline}
layer base of birch {{
  engrave ring crew {{ labels 0 to 9; radius out }}
  back engrave text("SALTMARSH\\nFERRY", height: 0.06 * across)
}}
layer cover of birch {{
  window peep = circle(diameter: 0.2 * across) at polar(out, 0deg)
  engrave text("CREW", height: 0.08 * across) at (0mm, -0.25 * across)
  score circle(diameter: 0.94 * across)
}}
stack {{ base; turn on magnets(disc); cover }}
reads crew through peep from 50cm
run 8 {{ margin 5mm; gap 2mm }}
family {{ each across in [{sizes}] }}
"""


def family(folder, sizes, outline):
    folder.mkdir()
    (folder / "shop.dial").write_text((TOP / "examples" / "saltmarsh" / "shop.dial").read_text())
    text = DIAL.format(outline=outline, sizes=", ".join(f"{size:.4f}mm" for size in sizes))
    (folder / "crew.dial").write_text(text)
    return folder / "crew.dial"


def built(dial, jobs, out):
    """Seconds by the clock and of processors, and peak memory in MB, of one build."""
    command = [PROGRAM, "build", str(dial), "--no-print", "--jobs", str(jobs), "--out", str(out)]
    began = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    said = process.stdout.read()
    _, status, used = os.wait4(process.pid, 0)
    took = time.perf_counter() - began
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode in (0, 1), said
    return took, used.ru_utime + used.ru_stime, used.ru_maxrss / 1000, said


def main():
    least, most = (float(given) for given in sys.argv[1:3]) if len(sys.argv) > 2 else (40.0, 59.5)
    outline = sys.argv[3] if len(sys.argv) > 3 else "circle(diameter: across)"
    sizes = [least + (most - least) * step / 999 for step in range(1000)]
    print(f"{platform.machine()}, {os.cpu_count()} cores, {platform.system()} {platform.release()}")
    for command in (["rustc", "--version"], [PROGRAM, "--version"]):
        print(subprocess.run(command, stdout=subprocess.PIPE, text=True, check=True).stdout.strip())
    print(f"{least:g} to {most:g} mm, {outline}")
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        whole = family(folder / "whole", sizes, outline)
        took, used, memory, said = built(whole, 2, folder / "built")
        assert "1000 anew" in said, said
        print(f"1,000 dials, two threads   {took:6.2f} s by the clock, {used:6.2f} s of processors, {memory:.0f} MB at most")
        took, used, memory, said = built(whole, 2, folder / "built")
        assert "1000 as before" in said and "unchanged" in said, said
        print(f"nothing changed since      {took:6.2f} s by the clock, {used:6.2f} s of processors, {memory:.0f} MB at most")
        tenth = family(folder / "tenth", sizes[::10], outline)
        pairs = [[built(tenth, jobs, folder / f"{jobs}-{pair}")[:2] for jobs in (1, 2)] for pair in range(PAIRS)]
        one, two = ([statistics.median(pair[at][which] for pair in pairs) for which in (0, 1)] for at in (0, 1))
        ratio = statistics.median(pair[0][0] / pair[1][0] for pair in pairs)
        best = min(pair[0][0] for pair in pairs) / min(pair[1][0] for pair in pairs)
        print(f"every tenth, one thread    {one[0]:6.2f} s by the clock, {one[1]:6.2f} s of processors (medians of {PAIRS})")
        print(f"every tenth, two threads   {two[0]:6.2f} s by the clock, {two[1]:6.2f} s of processors")
        print(f"two threads are            {ratio:6.2f} times as quick (median of pairs), {best:.2f} (the best of each)")


if __name__ == "__main__":
    main()
