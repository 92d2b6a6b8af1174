"""The schedule of 200,000 vehicles (about 12 million readings, Parquet): how long it takes, and the most memory it ever holds.

The fleet is made in parts of 20,000 vehicles and written to a temporary folder; one process reads it and makes the schedule, the
command line's own way. The aim is under 8 GB; the time is reported. `--vehicles N` makes another size. Making it takes some minutes.
"""

import argparse
import json
import subprocess
import sys
import tempfile
from pathlib import Path

import pyarrow
from pyarrow import parquet

AIM_GB = 8.0
PART = 20_000
SCHEDULE = """
import json, resource, sys, time
start = time.perf_counter()
import brakedata
from brakedata import schedule
made = schedule.make(brakedata.load(sys.argv[1]))
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1024 if sys.platform == "linux" else 1) / 1e9
print(json.dumps([time.perf_counter() - start, peak, len(made.table), len(made.lives.coded_readings)]))
"""


def write(folder: Path, vehicles: int) -> None:
    """A made fleet of so many vehicles as Parquet, each part with ids of its own."""
    from brakedata import simulate

    files = {}
    for part, first in enumerate(range(0, vehicles, PART)):
        made = simulate.fleet(vehicles=min(PART, vehicles - first), years=4.0, seed=100 + part)
        for name, table in made.tables.items():
            if name == "limits" and part:
                continue
            ids = {column: f"p{part:02d}-" + table[column].astype("str") for column in ("vehicle_id", "visit_id") if column in table}
            texts = {column: table[column].astype("str") for column in table if table[column].dtype == "object"}
            rows = pyarrow.Table.from_pandas(table.assign(**{**texts, **ids}), preserve_index=False)
            if name not in files:
                files[name] = parquet.ParquetWriter(folder / f"{name}.parquet", rows.schema)
            files[name].write_table(rows.cast(files[name].schema))
    for file in files.values():
        file.close()


def main():
    """Make the fleet, schedule it in a process of its own, print time and memory."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--vehicles", type=int, default=200_000)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        write(Path(place), asked.vehicles)
        done = subprocess.run([sys.executable, "-c", SCHEDULE, place], capture_output=True, text=True, check=True)
    seconds, peak, axles, readings = json.loads(done.stdout.splitlines()[-1])
    print(
        f"{asked.vehicles:,} vehicles, {readings:,} readings: schedule of {axles:,} axles in {seconds / 60:.1f} minutes, "
        f"{peak:.2f} GB (aim under {AIM_GB:.0f})"
    )
    return 0 if peak < AIM_GB else 1


if __name__ == "__main__":
    sys.exit(main())
