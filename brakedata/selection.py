"""Which readings get written down: two habits that make wear look faster than it is, and that no wear model can see through.

Where only thin linings are written down, the fast ones are seen first; where only finished lives are, the slow ones are missing.
Found by comparing how often linings were written down at visits of like distance since the linings were fitted.
"""

import numpy as np
import pandas as pd

from brakedata import codes, findings
from brakedata.lives import Lives
from brakedata.records import Records

LEAST_VISITS = 30
SLICE_VEHICLES = 20_000
"""Vehicles whose visits are laid beside their lives at a time."""
SELDOM, OFTEN = 0.10, 0.35
EARLY, LATE = 0.4, 0.8
"""Shares of the usual life of a class and axle. A habit is named where linings were written down at most 10 in 100 times here and at
least 35 in 100 there (our own choice; ordinary shops write down much the same share early and late)."""


def habits(records: Records, lives: Lives) -> pd.DataFrame:
    """R67, R68: only thin linings, or only linings of finished lives, are written down.

    Parameters
    ----------
    records : Records
    lives : Lives

    Returns
    -------
    DataFrame
        Findings, at most two rows, about the whole of the measurements.
    """
    looks = _looks(records, lives)
    early, late = looks[looks["share"] < EARLY], looks[looks["share"] > LATE]
    found = []
    if _apart(early, late):
        found.append(_finding("R67-only-thin-written", early, "early in a life", late, "late"))
    young = looks[looks["share"] < LATE]
    running, ended = young[young["running"]], young[~young["running"]]
    if _apart(running, ended):
        found.append(_finding("R68-only-finished-written", running, "in running lives", ended, "in finished ones"))
    return findings.join(found)


def _looks(records, lives):
    """One row a visit and axle in a life of known start: its ``share`` of the usual life, ``running``, ``written``."""
    table = lives.lives[lives.lives["family"].eq("lining")]
    table = table.drop_duplicates("axle_life_id")[["vehicle_id", "axle", "axle_life_id", "start_km", "end_km", "end_kind"]]
    table = table.merge(records.vehicles[["vehicle_id", "wear_class"]], on="vehicle_id")
    length = (table["end_km"] - table["start_km"]).where(table["end_kind"].eq("job"))
    table["usual_km"] = length.groupby([table["wear_class"], table["axle"]]).transform("median")
    table = table.dropna(subset=["start_km", "usual_km"])
    vehicles, visits = records.vehicles["vehicle_id"], records.visits[["visit_id", "clock_km"]]
    table = table.assign(vehicle=codes.place(vehicles, table["vehicle_id"]), running=table["end_kind"].eq("running"))
    table = table[["vehicle", "axle_life_id", "start_km", "end_km", "usual_km", "running"]]
    visits = visits.assign(vehicle=codes.place(vehicles, records.visits["vehicle_id"]), visit=np.arange(len(visits)))
    written = [
        codes.place(visits["visit_id"], frame["visit_id"]) * len(lives.lives) + frame["axle_life_id"].to_numpy()
        for frame in (lives.coded_readings, lives.coded_bounds)
    ]
    written = np.unique(np.concatenate(written))
    visits = visits.loc[records.visits["date"] <= lives.as_of, ["vehicle", "visit", "clock_km"]].dropna()
    parts = []
    for first in range(0, max(len(vehicles), 1), SLICE_VEHICLES):
        some, seen = (frame[frame["vehicle"].between(first, first + SLICE_VEHICLES - 1)] for frame in (table, visits))
        looks = some.merge(seen, on="vehicle")
        looks = looks[(looks["clock_km"] > looks["start_km"]) & ~(looks["clock_km"] > looks["end_km"])]
        look = looks["visit"] * len(lives.lives) + looks["axle_life_id"]
        looks = looks.assign(share=(looks["clock_km"] - looks["start_km"]) / looks["usual_km"], written=look.isin(written))
        parts.append(looks[["share", "running", "written"]])
    return pd.concat(parts, ignore_index=True)


def _apart(here, there) -> bool:
    """Whether linings are seldom written down here, often there."""
    if min(len(here), len(there)) < LEAST_VISITS:
        return False
    return here["written"].mean() <= SELDOM and there["written"].mean() >= OFTEN


def _finding(code, here, here_is, there, there_is):
    def says(looks, which):
        return f"{looks['written'].sum():,} of {len(looks):,} visits {which}"

    return findings.make(code, "measurements", column="value", reading=f"{says(here, here_is)}, {says(there, there_is)}")
