"""Odometers that go on in the other unit from one file or sheet to the next, under a heading that says none.

Each vehicle's first odometer in a file is compared with its last one before it and the distance driven since at its usual pace. Faults
of one vehicle scatter; only another unit moves most of them by 1.609 at once. Source of the thresholds: common practice, no source.
"""

import numpy as np
import pandas as pd

from brakedata.units import KM_PER_MI

LEAST_VEHICLES = 2
MOST_OF_THEM = 2 / 3
WITHIN = 0.2
"""So near to the ratio of the units lies a vehicle, as a logarithm; the ratio itself is 0.48."""
USUAL_KM_A_DAY, MUCH_FASTER = 80.0, 2.5
"""Pace where a vehicle shows none, and how many times its own pace a step upward must be."""


def noticed(piece: np.ndarray, vehicle: pd.Series, date: pd.Series, km: np.ndarray, unit: str) -> list[tuple[int, str]]:
    """Rows at which vehicles go on in the other unit, and what to say of them.

    Parameters
    ----------
    piece : ndarray of int, shape (rows,)
        Which file and sheet each row is of.
    vehicle, date, km
        Of each row; km as it was read.
    unit : str
        The unit it was read in, km or mi.
    """
    rows = pd.DataFrame({"piece": piece, "vehicle": vehicle, "date": pd.to_datetime(date), "km": km, "row": np.arange(len(km))})
    rows = rows[rows["vehicle"].ne("") & rows["date"].notna() & (rows["km"] > 0)]
    if rows["piece"].nunique() < 2:
        return []
    rows = rows.sort_values(["vehicle", "date", "row"], kind="stable", ignore_index=True)
    before = rows.shift()
    same, days = rows["vehicle"].eq(before["vehicle"]), (rows["date"] - before["date"]).dt.days
    within = same & rows["piece"].eq(before["piece"]) & (days > 0)
    pace = ((rows["km"] - before["km"]) / days).where(within).groupby(rows["vehicle"]).median()
    own = rows["vehicle"].map(pace)
    ratio = np.log(rows["km"] / (before["km"] + own.fillna(USUAL_KM_A_DAY).clip(0.0, 1_000.0) * days))
    faster = (rows["km"] - before["km"]) / days.clip(lower=1) > MUCH_FASTER * own.clip(lower=USUAL_KM_A_DAY / 2)
    possible = (ratio < 0) & (rows["km"] < before["km"]) | (
        ratio > 0
    ) & faster  # a new file where nothing shows the pace says nothing
    steps = rows.assign(ratio=ratio.where(possible, 0.0), last=before["piece"])[same & rows["piece"].ne(before["piece"])]
    out = []
    for _, pairs in steps.groupby(["last", "piece"]):
        first = pairs.drop_duplicates("vehicle")
        for sign, said in ((-1, "lower"), (1, "higher")):
            near = (first["ratio"] - sign * np.log(KM_PER_MI)).abs() < WITHIN
            if near.sum() >= LEAST_VEHICLES and near.mean() >= MOST_OF_THEM:
                whose = "this file" if (unit == "km") == (sign < 0) else "the file before it"
                text = (
                    f"{int(near.sum())} of {len(first)} vehicles stand about {KM_PER_MI:.1f} times {said} here than their last odometers in "
                    f"the file before: is {whose} in {'miles' if unit == 'km' else 'km'}?"
                )
                out += [(int(row), text) for row in first.loc[near, "row"]]
    return out
