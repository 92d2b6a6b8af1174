"""How long `brakedata schedule` takes, as a multiple of a plain loop of straight lines over the same files.

A made fleet (2,000 vehicles over four years, about 120,000 readings) is written to a temporary folder. Two fresh processes read
it, one after the other: the command line, and a loop that reads the same CSV files with pandas and fits one statsmodels OLS to
every life and position with two readings or more. The aim is at most 1. `--vehicles N` makes another size.
"""

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pandas as pd

LININGS = ["inner_pad", "outer_pad", "pad", "leading_shoe", "trailing_shoe", "shoe"]
AS_COMMAND = "import sys; from brakedata import cli; sys.argv[0] = 'brakedata'; cli.main()"


def loop(folder: Path) -> int:
    """The plain way: read, cut at the recorded changes, one line a life and position, where it meets replace_at."""
    import statsmodels.api as sm

    tables = {name: pd.read_csv(folder / f"{name}.csv") for name in ("vehicles", "limits", "visits", "measurements", "work")}
    work = tables["work"]
    jobs = work[work["part"].isin(["pads", "shoes"]) & work["action"].eq("replaced")]
    readings = tables["measurements"][tables["measurements"]["part"].isin(LININGS)]
    readings = readings.merge(tables["visits"], on="visit_id").merge(tables["vehicles"][["vehicle_id", "wear_class"]])
    limits = tables["limits"][tables["limits"]["part"].isin(["pad", "shoe"])]
    limits = limits.set_index(["applies_to", "axle"])["replace_at"].to_dict()
    changed = readings.merge(jobs[["visit_id", "axle"]].drop_duplicates().assign(changed=True), how="left")["changed"]
    readings = readings.assign(changed=changed.notna().to_numpy(), side=readings["side"].fillna(""))
    visits = readings.drop_duplicates(["visit_id", "axle"]).sort_values(["vehicle_id", "axle", "date"])
    visits["life"] = visits.groupby(["vehicle_id", "axle"])["changed"].cumsum()
    readings = readings.merge(visits[["visit_id", "axle", "life"]], on=["visit_id", "axle"])
    readings["life"] -= readings["changed"] & readings["taken"].ne("after")
    fitted = 0
    for key, one in readings.groupby(["vehicle_id", "axle", "life", "side", "part"]):
        if one["odometer"].min() == one["odometer"].max():
            continue
        line = sm.OLS(one["value"].to_numpy(), sm.add_constant(one["odometer"].to_numpy(float))).fit()
        level, slope = line.params
        if slope < 0:
            (limits[one["wear_class"].iloc[0], key[1]] - level) / slope
        fitted += 1
    return fitted


def timed_s(command: list[str]) -> tuple[float, str]:
    """Seconds that a process takes, and what it printed."""
    start = time.perf_counter()
    done = subprocess.run([sys.executable, *command], capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise SystemExit(done.stderr)
    return time.perf_counter() - start, done.stdout.strip()


def main():
    """Make the fleet, run both, print the ratio."""
    from brakedata import simulate

    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--vehicles", type=int, default=2000)
    parser.add_argument("--loop", metavar="FOLDER", help="only run the plain loop on this folder")
    asked = parser.parse_args()
    if asked.loop:
        print(loop(Path(asked.loop)))
        return
    with tempfile.TemporaryDirectory() as place:
        made = simulate.fleet(vehicles=asked.vehicles, years=4.0, seed=1)
        folder = simulate.write(made.tables, Path(place) / "records")
        out = Path(place) / "schedule.csv"
        schedule_s, _ = timed_s(["-c", AS_COMMAND, "schedule", str(folder), "--out", str(out)])
        loop_s, lines = timed_s([__file__, "--loop", str(folder)])
        axles = len(pd.read_csv(out))
    print(
        f"{asked.vehicles:,} vehicles, {len(made.tables['measurements']):,} readings: schedule of {axles:,} axles "
        f"{schedule_s:.1f} s, plain loop of {int(lines):,} lines {loop_s:.1f} s, ratio {schedule_s / loop_s:.2f}"
    )


if __name__ == "__main__":
    main()
