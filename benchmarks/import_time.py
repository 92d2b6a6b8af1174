"""How long importing brakedata takes, as a multiple of importing pandas.

Best of five fresh interpreters each, taken in turn, so that a busy machine disturbs both alike. The aim is at most 1.3.
"""

import subprocess
import sys

RUNS = 5
TIMED = {
    "pandas": "import pandas",
    "brakedata": "import brakedata",
    "brakedata, ready to load records": "import brakedata; brakedata.load",  # its modules are loaded when first used
}


def taken_s(statement: str) -> float:
    """Seconds a fresh interpreter takes for the statement."""
    code = f"import time; start = time.perf_counter(); {statement}; print(time.perf_counter() - start)"
    return float(subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout)


def main():
    """Print each time and its ratio to pandas'."""
    rounds = [{name: taken_s(statement) for name, statement in TIMED.items()} for _ in range(RUNS)]
    best_s = {name: min(taken[name] for taken in rounds) for name in TIMED}
    for name, seconds in best_s.items():
        print(f"import {name}: {1000 * seconds:.0f} ms, {seconds / best_s['pandas']:.2f} times pandas")


if __name__ == "__main__":
    main()
