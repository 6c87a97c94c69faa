"""What the logs of `tests/fuzz/run` tell of each target, as a row of the table in README.md beside it."""

import re
import sys
from pathlib import Path

work, targets = Path(sys.argv[1]), sys.argv[2:]
print("| target | hours | executions | cov, ft at first | cov, ft at last | crashes, hangs |")
print("| --- | --- | --- | --- | --- | --- |")
for target in targets:
    text = (work / f"{target}.log").read_text(errors="replace")
    seen = re.findall(r"cov: (\d+) ft: (\d+)", text)
    runs, executions = re.split(r"^INFO: Seed: ", text, flags=re.M)[1:], 0
    for run in runs:
        counts = re.findall(r"^#(\d+)\t", run, flags=re.M) + re.findall(r"number_of_executed_units: (\d+)", run)
        executions += max(map(int, counts), default=0)
    times = [list(map(int, re.findall(rf"^=== {word} (\d+)", text, flags=re.M))) for word in ("begins", "ends")]
    seconds = sum(end - begin for begin, end in zip(*times))
    crashes = sum(not found.name.startswith("slow-unit") for found in (work / "crashes" / target).glob("*"))
    first, last = (seen[0], seen[-1]) if seen else (("-", "-"), ("-", "-"))
    hours = f"{seconds / 3600:.2f}" if seconds else "-"
    print(f"| {target} | {hours} | {executions:,} | {', '.join(first)} | {', '.join(last)} | {crashes} |")
