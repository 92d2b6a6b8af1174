"""Do the due windows hold, on fleets of known truth made by two laws? And what do the ways of writing down do to the rate?

    python benchmarks/windows_hold.py [SEEDS]

Not speed: shares. Over the fleets of each line: 80 % windows of odometer and date (held, truth before, truth after), 50 % windows,
median miss against the plain line a pad (where that answers), and how far the axle's rate is off (geometric mean of the ratio). Default 6 seeds of 150 vehicles a line, about a minute a line; seeds no test uses.
"""

import sys
import tempfile
from pathlib import Path

import another_law
import numpy as np
import pandas as pd

import brakedata
from brakedata import schedule, simulate
from brakedata.forecast import forecast

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
from test_calibration import per_life_ols  # noqa: E402

STEPS_MM = (0.1, 0.5, 1.0, 25.4 / 32)
CLEAN = dict(slip_share=0.0, unrecorded_share=0.0, missing_share=0.0)


def by_simulate(seed, **options):
    made = simulate.fleet(150, seed=seed, gauge_step_mm=STEPS_MM[seed % 4], **options)
    running = made.positions[made.positions["thickness_mm"].notna()]
    rate = np.exp(np.log(running["rate_mm_per_10000km"]).groupby([running["vehicle_id"], running["axle"]]).mean())
    return made.tables, made.truth.merge(rate.reset_index(), on=["vehicle_id", "axle"])


def by_another_law(seed, **options):
    return another_law.fleet(seed, gauge_step_mm=STEPS_MM[seed % 4], **options)


LINES = {
    "simulate, dirty": (by_simulate, {}),
    "simulate, clean": (by_simulate, CLEAN),
    "simulate, dirty, visits every 240 days": (by_simulate, dict(inspection_interval_days=240.0)),
    "other law, power 0": (by_another_law, dict(power=0)),
    "other law, power 1": (by_another_law, dict(power=1)),
    "other law, power 2": (by_another_law, dict(power=2)),
    "other law, visits every 240 days": (by_another_law, dict(interval_days=240.0)),
    "five fleets of 30": (by_another_law, dict(vehicles=30)),
    "all vehicles enter mid-life, 2 years": (by_another_law, dict(used_share=1.0, years=2.0)),
    "only thin ones written down": (by_another_law, dict(kept="thin only")),
    "thick ones written as >=6": (by_another_law, dict(kept="thick as bounds")),
    "only finished lives": (by_another_law, dict(kept="finished lives only")),
}


def judged(make, seed, options):
    """Forecast, plain line and truth of every axle of one fleet."""
    tables, truth = make(seed, **options)
    with tempfile.TemporaryDirectory() as folder:
        simulate.write(tables, folder)
        plan = schedule.make(brakedata.load(folder))
    tables["visits"]["date"] = pd.to_datetime(tables["visits"]["date"])
    numbers = pd.to_numeric(tables["measurements"]["value"], errors="coerce")
    plain = per_life_ols({**tables, "measurements": tables["measurements"].assign(value=numbers).dropna(subset="value").fillna("")})
    axles = plan.lives.axles[["vehicle_id", "axle"]].reset_index(drop=True)
    days = np.ones(len(axles))
    half = forecast(plan.model, plan.usage, days, axles["vehicle_id"].to_numpy(), levels=(0.25, 0.5, 0.75)).axles
    axles = axles.assign(q1_km=half["due_early_km"], q3_km=half["due_late_km"])
    rates = plan.model.positions.groupby(["vehicle_id", "axle"])["log_rate"].mean().reset_index()
    rows = truth.merge(rates, how="left", on=["vehicle_id", "axle"])
    rows = rows.merge(axles).merge(plain, how="left", on=["vehicle_id", "axle"])
    return rows.merge(plan.table, on=["vehicle_id", "axle"], how="left", suffixes=("_true", ""))


def line(name, rows):
    """One printed line."""
    true = rows["due_odometer_km_true"]
    before, after = (true < rows["due_odometer_early_km"]).mean(), (true > rows["due_odometer_late_km"]).mean()
    sooner, later = (rows["due_date_true"] < rows["due_date_early"]).mean(), (rows["due_date_true"] > rows["due_date_late"]).mean()
    half = true.between(rows["q1_km"], rows["q3_km"]).mean()
    some = rows[rows["ols_km"].notna()]
    miss = (some["due_odometer_km"] - some["due_odometer_km_true"]).abs().median()
    plain = (some["ols_km"] - some["due_odometer_km_true"]).abs().median()
    rate = np.exp((rows["log_rate"] - np.log(rows["rate_mm_per_10000km_true"])).mean()) - 1
    print(
        f"{name:40} {len(rows):6,} axles  km {1 - before - after:.3f} ({before:.3f} {after:.3f})  "
        f"date {1 - sooner - later:.3f} ({sooner:.3f} {later:.3f})  half {half:.3f}  "
        f"miss {miss:6,.0f} km, {miss / plain:.2f} of the plain line ({len(some) / len(rows):.2f} have one)  rate {rate:+.3f}",
        flush=True,
    )


def main(seeds=6):
    everything = []
    for name, (make, options) in LINES.items():
        rows = pd.concat([judged(make, 1000 + seed, options) for seed in range(seeds)], ignore_index=True)
        line(name, rows)
        everything.append(rows)
    line("all but the last four", pd.concat(everything[:-4], ignore_index=True))


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
