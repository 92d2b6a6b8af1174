"""Where an axle's number comes from, and what one more reading would do to it.

Weights. Before any of its vehicle's readings an axle's log wear rate is that of like vehicles, give or take the spread between
them. Each source of readings takes away a part of that variance; what is left at the end stays with like vehicles, and that is also
how far the estimate still leans on them. How much a source takes depends on which came before it, so each is credited with its
average over all orders (Lindeman, Merenda and Gold 1980, Introduction to bivariate and multivariate analysis, 119-127; the Shapley
value). The weights are never negative and come to 1. What the fleet says of like vehicles rests on this vehicle too, by its share
in the fleet.

One more reading. The posterior covariance after a reading does not depend on what it will say (normal theory), so the window to
expect is that of the same estimate with the narrower covariance.
"""

from dataclasses import dataclass, replace
from itertools import combinations, permutations

import numpy as np
import pandas as pd

from brakedata.forecast import WANDER_AHEAD
from brakedata.schedule import Schedule, forecast_of
from brakedata.shared_model import UNIT_KM, SharedModel
from brakedata.shown import Shown, chance_text

SOURCES = ("own readings", "sister positions", "earlier lives", "other axles", "like vehicles")
"""Readings of this position in this life; of the axle's other positions in this life; of the axle's earlier lives; of the
vehicle's other axles; and what the fleet says of like vehicles."""


def weights(made: Schedule, axle_no: int, slot: int) -> pd.Series:
    """What each source weighs in the log wear rate of one position; index ``SOURCES``, sum 1.

    Parameters
    ----------
    made : Schedule
    axle_no, slot : int
        A row of ``model.positions``.
    """
    seen = made.model.evidence(axle_no, slot)
    source = np.select([seen.same_position, seen.same_life, seen.same_axle], [0, 1, 2], 3)
    taken = _taken_by_source(seen.covariance, seen.shows, source) / seen.prior_variance
    return pd.Series(np.append(taken, 1 - taken.sum()), index=SOURCES)


def _taken_by_source(covariance, shows, source) -> np.ndarray:
    """Variance each of four sources takes away, averaged over the orders in which they can come.

    Parameters
    ----------
    covariance : ndarray, shape (n, n)
        Of the readings.
    shows : ndarray, shape (n,)
        Their covariance with what is asked.
    source : ndarray, shape (n,)
        0 to 3.
    """
    sources = range(4)
    took = {}
    for several in (set(some) for size in range(5) for some in combinations(sources, size)):
        at = np.flatnonzero(np.isin(source, list(several)))
        took[frozenset(several)] = float(shows[at] @ np.linalg.solve(covariance[np.ix_(at, at)], shows[at])) if len(at) else 0.0
    orders = list(permutations(sources))
    out = np.zeros(4)
    for order in orders:
        for place, one in enumerate(order):
            out[one] += took[frozenset(order[: place + 1])] - took[frozenset(order[:place])]
    return out / len(orders)


@dataclass(frozen=True)
class OneMore:
    """What one more measuring of every axle today would do.

    Attributes
    ----------
    table : DataFrame, index as ``lives.axles``
        ``vehicle_id, axle, width_km, width_after_km, width_days, width_after_days`` (of the due window, 8 in 10; to be expected
        after every position of the axle is read once at the as-of date), ``narrows_km, narrows_days``; NaN without a forecast.
    step_mm : float
        Step of the gauge it is read with: the one most of the fleet's readings were taken with.
    """

    table: pd.DataFrame
    step_mm: float


def one_more_reading(made: Schedule, axle_no=None) -> OneMore:
    """Expected due windows after one more reading of each position of an axle at the as-of date.

    Parameters
    ----------
    made : Schedule
    axle_no : array of int, optional
        The axles asked for, increasing; default all.

    Returns
    -------
    OneMore
    """
    model, axles = made.model, made.lives.axles
    asked = np.arange(len(axles)) if axle_no is None else np.asarray(axle_no)
    here_km = made.usage.table["odometer_km"].reindex(axles["vehicle_id"]).to_numpy()
    step_mm = _usual_step(model.given)
    after = forecast_of(made, _read_once(model, here_km, step_mm), asked).axles
    before = made.forecast.axles.loc[asked]
    table = axles.loc[asked, ["vehicle_id", "axle"]].assign(
        width_km=before["due_late_km"] - before["due_early_km"], width_after_km=after["due_late_km"] - after["due_early_km"],
        width_days=before["due_day_late"] - before["due_day_early"], width_after_days=after["due_day_late"] - after["due_day_early"],
    )  # fmt: skip
    table["narrows_km"] = table["width_km"] - table["width_after_km"]
    table["narrows_days"] = table["width_days"] - table["width_after_days"]
    return OneMore(table, step_mm)


def _usual_step(readings) -> float:
    """Step of the gauge most readings were taken with, mm."""
    steps = readings["step_mm"].round(5)
    return float(steps.mode().iloc[0]) if len(steps) else 1.0


def _read_once(model: SharedModel, here_km, step_mm) -> SharedModel:
    """The model after each position was read once at ``here_km`` (A,) and found as thick as expected."""
    moved = model.positions
    axle, slot = moved["axle_no"].to_numpy(), moved["slot"].to_numpy()
    most = model.covariance.shape[1] // 2
    there = np.zeros((len(model.covariance), most), dtype=bool)
    there[axle, slot] = True
    ahead = np.maximum(here_km[axle] - moved["ref_km"].to_numpy(), 0.0) / UNIT_KM
    grid = np.zeros(there.shape)
    rate, gone = grid.copy(), grid.copy()
    rate[axle, slot] = np.exp(moved["log_rate"])
    gone[axle, slot] = np.nan_to_num(ahead)
    covariance = _read_covariance(model, rate, gone, there, step_mm)
    thickness = moved["thickness_mm"] - rate[axle, slot] * gone[axle, slot]
    ref_km = np.where(np.isfinite(ahead), moved["ref_km"] + ahead * UNIT_KM, moved["ref_km"])
    return replace(model, positions=moved.assign(thickness_mm=thickness, ref_km=ref_km), covariance=covariance)


def _read_covariance(model, rate, gone, there, step_mm):
    """Covariance of log rates and of thicknesses ``gone`` (10,000 km) after their reference, each thickness then read once.

    Parameters
    ----------
    rate, gone, there : ndarray, shape (A, M)
    """
    count, most = there.shape
    forward = np.broadcast_to(np.eye(2 * most), (count, 2 * most, 2 * most)).copy()
    place = np.arange(most)
    forward[:, most + place, place] = -rate * gone
    covariance = forward @ model.covariance @ np.swapaxes(forward, 1, 2)
    sway = model.scales["wander"] * np.sqrt(WANDER_AHEAD * rate * gone)
    covariance[:, most:, most:] += sway[:, :, None] * sway[:, None, :]
    noise = np.where(there, step_mm**2 / 12 + model.scales["repeat_mm"] ** 2, 1.0)
    seen = covariance[:, most:, most:] + noise[:, :, None] * np.eye(most)
    gain = np.linalg.solve(seen, covariance[:, most:, :])
    return covariance - np.swapaxes(covariance[:, most:, :], 1, 2) @ gain


def measure_next(more: OneMore) -> pd.DataFrame:
    """Axles by how much one more reading would narrow their due window, most first.

    Returns
    -------
    DataFrame
        Rows of ``OneMore.table``, those that a reading narrows by 100 km or more.
    """
    table = more.table[more.table["narrows_km"] >= 100.0]
    return table.sort_values(["narrows_km", "vehicle_id", "axle"], ascending=[False, True, True], kind="stable")


def weights_text(weighed: pd.Series) -> str:
    """The weights as a sentence, those that come to 1 % or more, heaviest first."""
    told = weighed[weighed >= 0.01].sort_values(ascending=False, kind="stable")
    parts = ", ".join(f"{name} {chance_text(share)}" for name, share in told.items())
    return f"Weights behind the wear rate: {parts}"


def reading_text(row: pd.Series, shown: Shown | None = None) -> str:
    """What one more reading would do, as a sentence.

    Parameters
    ----------
    row : Series
        A row of ``OneMore.table``.
    shown : Shown, optional
        Units to speak in; default km.
    """
    shown = shown or Shown()
    if pd.isna(row["width_km"]):
        return "One good odometer of this vehicle comes first"
    before, after = (shown.forecast_text(row[name]) for name in ("width_km", "width_after_km"))
    if row["narrows_km"] < 0.05 * row["width_km"]:
        return f"One more measuring today would hardly narrow the due window ({before} wide, 8 in 10)"
    return f"One more measuring today would narrow the due window (8 in 10) from about {before} to about {after}"
