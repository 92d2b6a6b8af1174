"""A million rows read and checked, against pandas reading the same files with its pyarrow engine and nothing more.

Three folders, each with a million rows of another table: measurements, odometer_log, visits (with the small tables that belong to
them); and a shop's own sheet of a million rows with a column a wheel, four million readings, whose columns are guessed. Each is read in processes of their own, turn and turn about; the ratio is that of the best times, the calls alone (imports
not counted). Memory is the most the process ever held.
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

ROWS = 1_000_000
TURNS = 3
AIM_RATIO, AIM_GB = 3.0, 2.0
SLIPS = 0.0005
"""Share of odometers with a slipped digit."""

PANDAS = """
import pandas as pd, pyarrow.csv
start = time.perf_counter()
tables = [pd.read_csv(file, engine="pyarrow") for file in files]
"""
BRAKEDATA = """
import brakedata, pyarrow.csv
from brakedata import checks
start = time.perf_counter()
records = checks.load(folder)
"""
FRAME = """
import json, resource, sys, time
from pathlib import Path
folder = Path(sys.argv[1])
files = sorted(folder.glob("*.csv"))
{what}
spent = time.perf_counter() - start
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1024 if sys.platform == "linux" else 1) / 1e9
print(json.dumps([spent, peak]))
"""


def odometers(rng, vehicles, each):
    """Vehicle, day and odometer of so many readings of each vehicle over six years, a few with a slipped digit."""
    day = np.sort(rng.permuted(np.tile(np.arange(1, 2190), (vehicles, 1)), axis=1)[:, :each], axis=1)
    number = np.arange(vehicles)[:, None]
    km = 20_000 + (30 + 50 * ((number * 7919) % 101) / 100) * day + 300 * np.sin(day / 50 + number)  # rises by 24 km a day or more
    km = np.where(rng.random(km.shape) < SLIPS, km + 10 ** rng.integers(4, 6, km.shape), km)
    date = (np.datetime64("2018-01-01") + day).astype(str)
    return np.repeat(np.arange(vehicles), each), date.ravel(), km.ravel().astype(int)


def tables(rng, vehicles, visits_each, log_each, positions):
    """The tables of a made fleet; rows in no order of vehicle."""
    ids = np.array([f"V-{n:05d}" for n in range(vehicles)])
    vehicle, date, km = odometers(rng, vehicles, visits_each)
    n = len(vehicle)
    number = np.array([f"W{k}" for k in range(n)])
    words = np.array(["", "", "", "squeals when cold", "pulls left, a little", "judder from 80 on"])
    visits = pd.DataFrame(
        {"visit_id": number, "vehicle_id": ids[vehicle], "date": date, "odometer": km, "odometer_unit": "km", "reason": "inspection",
         "complaint": words[rng.integers(0, 6, n)], "technician": np.array(["T1", "T2", "T3"])[rng.integers(0, 3, n)], "note": ""}
    ).iloc[rng.permutation(n)]  # fmt: skip
    seen = np.repeat(number, len(positions)) if positions else number[:1000]
    axle, side, part = np.array(positions or [("front", "left", "pad")], dtype=str).T
    times = len(seen) // len(axle)
    measured = pd.DataFrame(
        {"visit_id": seen[: times * len(axle)], "axle": np.tile(axle, times), "side": np.tile(side, times), "part": np.tile(part, times),
         "measure": "thickness", "value": rng.integers(30, 120, times * len(axle)) / 10, "unit": "mm", "taken": ""}
    )  # fmt: skip
    out = {
        "vehicles": pd.DataFrame({"vehicle_id": ids, "wear_class": "van", "in_service_date": "2017-06-01", "odometer_unit": "km"}),
        "visits": visits, "measurements": measured,
    }  # fmt: skip
    if log_each:
        vehicle, date, km = odometers(rng, vehicles, log_each)
        shuffled = rng.permutation(len(vehicle))
        out["odometer_log"] = pd.DataFrame({"vehicle_id": ids[vehicle], "date": date, "odometer": km, "odometer_unit": "km"}).iloc[shuffled]
    return out


EIGHT = [(axle, side, part) for axle in ("front", "rear") for side in ("left", "right") for part in ("inner_pad", "outer_pad")]
SHAPES = {
    "measurements": {"vehicles": 12_500, "visits_each": 10, "log_each": 0, "positions": EIGHT},
    "odometer_log": {"vehicles": 2_000, "visits_each": 10, "log_each": ROWS // 2_000, "positions": EIGHT},
    "visits": {"vehicles": 20_000, "visits_each": ROWS // 20_000, "log_each": 0, "positions": []},
}


def own_sheet(rng):
    """A shop's own sheet: a row a visit, a column a wheel."""
    vehicle, date, km = odometers(rng, 20_000, ROWS // 20_000)
    sheet = pd.DataFrame({"Unit": np.array([f"V-{n:05d}" for n in range(20_000)])[vehicle], "Date": date, "Odometer (km)": km})
    for wheel in ("LF", "RF", "LR", "RR"):
        sheet[f"{wheel} pad mm"] = rng.integers(30, 120, ROWS) / 10
    return {"inspections": sheet.assign(Remarks=np.array(["", "", "squeals when cold", "ok"])[rng.integers(0, 4, ROWS)])}


def once(folder, what):
    done = subprocess.run([sys.executable, "-c", FRAME.format(what=what), str(folder)], capture_output=True, text=True, check=True)
    return json.loads(done.stdout.splitlines()[-1])


def main():
    rng = np.random.default_rng(8)
    worst = [0.0, 0.0]
    with tempfile.TemporaryDirectory() as temporary:
        shapes = {shape: tables(rng, **said) for shape, said in SHAPES.items()} | {"a shop's own sheet": own_sheet(rng)}
        for shape, its in shapes.items():
            folder = Path(temporary) / shape
            folder.mkdir()
            for name, table in its.items():
                table.to_csv(folder / f"{name}.csv", index=False)
            size = sum(file.stat().st_size for file in folder.iterdir()) / 1e6
            turns = [(once(folder, PANDAS), once(folder, BRAKEDATA)) for _ in range(TURNS)]
            alone, loaded = min(turn[0][0] for turn in turns), min(turn[1][0] for turn in turns)
            peak = max(turn[1][1] for turn in turns)
            worst = [max(worst[0], loaded / alone), max(worst[1], peak)]
            print(
                f"1,000,000 rows of {shape} ({size:.0f} MB with what belongs to it): pandas {alone:.2f} s, "
                f"brakedata read and checked {loaded:.2f} s: {loaded / alone:.1f} times; {peak:.2f} GB"
            )
    print(f"worst: {worst[0]:.1f} times (aim {AIM_RATIO:.0f}), {worst[1]:.2f} GB (aim under {AIM_GB:.0f})")
    return 0 if worst[0] <= AIM_RATIO and worst[1] < AIM_GB else 1


if __name__ == "__main__":
    sys.exit(main())
