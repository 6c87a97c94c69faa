"""Lists the work of a build, setup by setup: python3 worklist.py OUT/operations.json

For whoever writes a bridge to a machine: it shows how little it takes to read the list. Nothing but Python's own library.
"""

import json
import sys

with open(sys.argv[1], encoding="utf-8") as file:
    work = json.load(file)
if (work["format"], work["version"]) != ("dialwright operations", 4):
    sys.exit(f"version 4 is understood, not version {work['version']} of {work['format']}")

print(f"{work['dial']}: {work['dials']} dials on {len(work['boards'])} boards")
for caution in work["cautions"]:
    print(f"  ! {caution['text']}")
for number, board in enumerate(work["boards"], 1):
    print(f"board {number}: {board['stock']}, {board['width']:g} x {board['height']:g} x {board['thickness']:g} mm")
    for turn, setup in enumerate(board["setups"], 1):
        print(f"  setup {turn}: {setup['registers']}")
        # What is done goes in this order; what is alike and follows on is told once.
        lines = []
        for operation in setup["operations"]:
            what = [operation["do"], operation.get("edge"), operation.get("name"), operation.get("instruction")]
            line = " ".join(word for word in what if word)
            if lines and lines[-1][0] == line:
                lines[-1][1].append(operation.get("part"))
            else:
                lines.append((line, [operation.get("part")]))
        for line, parts in lines:
            named = [part for part in parts if part]
            print(f"    {line}{': ' + ', '.join(named) if named else ''}")
