"""How long importing brakedata takes, as a multiple of importing pandas.

Best of five fresh interpreters each, taken in turn, so that a busy machine disturbs both alike. The aim is at most 1.3.
"""

import subprocess
import sys

RUNS = 5
TIME_IMPORT = "import time; start = time.perf_counter(); import {}; print(time.perf_counter() - start)"


def import_s(module: str) -> float:
    """Seconds one fresh interpreter takes to import the module."""
    run = subprocess.run([sys.executable, "-c", TIME_IMPORT.format(module)], capture_output=True, text=True, check=True)
    return float(run.stdout)


def main():
    """Print both times and their ratio."""
    taken_s = {"brakedata": [], "pandas": []}
    for _ in range(RUNS):
        for module, seconds in taken_s.items():
            seconds.append(import_s(module))
    best_s = {module: min(seconds) for module, seconds in taken_s.items()}
    for module, seconds in best_s.items():
        print(f"import {module}: {1000 * seconds:.0f} ms")
    print(f"ratio: {best_s['brakedata'] / best_s['pandas']:.2f} (aim: at most 1.3)")


if __name__ == "__main__":
    main()
