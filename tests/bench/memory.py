"""Peak memory of a command, in MB: python3 tests/bench/memory.py target/release/dialwright build FILE --out DIR"""

import resource
import subprocess
import sys

subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
print(f"{resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1000:.1f} MB")
