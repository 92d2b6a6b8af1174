"""How far each vehicle is driven: odometer to date and date to odometer, with the uncertainty of both.

A vehicle's pace is its distance over time between all believed odometers (visits and odometer log), a stretch one year old
counting half. It is drawn toward the pace of its wear class by as much as paces of that class scatter less than a short
history does. How far a pace holds into the future is measured on the fleet itself: on past dates, the pace known then
against the distance that followed. All in logarithms, so a pace is never negative.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

HALF_LIFE_DAYS = 365.0
PRIOR_KM_PER_DAY = 60.0
PRIOR_LOG_SD = 0.5
"""Pace of a vehicle of which nothing is known: about 22,000 km a year within a factor of 1.6 (common practice, no source)."""
DRIFT_VARIANCE = 0.02
SHORT_VARIANCE_DAYS = 2.0
"""Prior variance of log (distance driven / distance expected) over h days: 0.02 + 2 / h; a fleet's own history replaces it."""
PRIOR_PAIRS = 20.0
MIN_DAYS = 14.0


@dataclass(frozen=True)
class Usage:
    """Pace of every vehicle at the as-of date.

    Attributes
    ----------
    table : DataFrame, index ``vehicle_id``
        ``last_date``, ``last_km`` (newest believed odometer, NaN where none), ``km_per_day``, ``log_sd`` (of the pace itself),
        ``days`` (days of history behind it), ``odometers`` (how many), ``odometer_km`` (at the as-of date).
    drift, short_days : float
        Variance of log (distance / expected) over h days is ``drift + short_days / h``.
    as_of : Timestamp
    """

    table: pd.DataFrame
    drift: float
    short_days: float
    as_of: pd.Timestamp

    def log_sd(self, days: np.ndarray, own_log_sd: np.ndarray) -> np.ndarray:
        """Standard deviation of log (distance / expected) over ``days``, same shape as ``days``."""
        return np.sqrt(self.drift + self.short_days / np.maximum(days, MIN_DAYS) + own_log_sd**2)


def fit(records, as_of) -> Usage:
    """Pace of every vehicle from the odometers dated up to ``as_of``.

    Parameters
    ----------
    records : Records
    as_of : Timestamp

    Returns
    -------
    Usage
    """
    as_of = pd.Timestamp(as_of)
    points = believed_odometers(records, as_of)
    stretches = _stretches(points)
    today = _day(as_of)
    vehicles = records.vehicles.set_index("vehicle_id")
    pace = _pace(stretches, today, len(vehicles))
    drift, short = _how_far_it_holds(stretches, today, len(vehicles))
    group = pd.factorize(vehicles["wear_class"])[0]
    log_pace, log_sd = _shrink(pace, group, drift, short)
    last = points.drop_duplicates("vehicle", keep="last").set_index("vehicle").reindex(range(len(vehicles)))
    table = pd.DataFrame(
        {
            "last_date": last["date"].to_numpy(), "last_km": last["km"].to_numpy(), "km_per_day": np.exp(log_pace),
            "log_sd": log_sd, "days": pace["days"],
            "odometers": np.bincount(points["vehicle"], minlength=len(vehicles)),
        },
        index=vehicles.index,
    )  # fmt: skip
    idle = (as_of - table["last_date"]).dt.days.to_numpy()
    table["odometer_km"] = table["last_km"] + table["km_per_day"] * idle
    return Usage(table, drift, short, as_of)


def believed_odometers(records, as_of) -> pd.DataFrame:
    """All believed odometers up to ``as_of``: ``vehicle`` (place in the vehicles table), ``date``, ``day``, ``km``, in order."""
    columns = ["vehicle_id", "date", "odometer_km"]
    frames = [frame[frame["odometer_ok"]][columns] for frame in (records.visits, records.odometer_log)]
    joined = records.vehicles[records.vehicles["in_service_ok"]]
    joined = joined[["vehicle_id", "in_service_date", "in_service_odometer_km"]].set_axis(columns, axis=1)
    points = pd.concat([*frames, joined], ignore_index=True)
    points = points[points["date"] <= as_of].drop_duplicates()
    place = pd.Index(records.vehicles["vehicle_id"]).get_indexer(points["vehicle_id"])
    points = pd.DataFrame({"vehicle": place, "date": points["date"].to_numpy(), "km": points["odometer_km"].to_numpy()})
    points = points.sort_values(["vehicle", "date", "km"], kind="stable", ignore_index=True)
    points["day"] = points["date"].to_numpy().astype("datetime64[D]").astype("int64").astype(float)
    return points


def _day(date) -> float:
    return float(np.datetime64(pd.Timestamp(date), "D").astype("int64"))


def _stretches(points):
    """Distance and time between neighbouring odometers of a vehicle; same-day ones are one."""
    points = points.drop_duplicates(["vehicle", "day"], keep="last")
    vehicle, day, km = (points[name].to_numpy() for name in ("vehicle", "day", "km"))
    same = vehicle[1:] == vehicle[:-1]
    return {
        "vehicle": vehicle[1:][same], "start": day[:-1][same], "end": day[1:][same], "km": np.maximum(np.diff(km)[same], 0.0),
    }  # fmt: skip


def _pace(stretches, today, n):
    """Weighted distance over weighted time up to ``today``; a stretch that spans ``today`` is left out."""
    known = stretches["end"] <= today
    vehicle = stretches["vehicle"][known]
    days = (stretches["end"] - stretches["start"])[known]
    age = today - (stretches["end"] + stretches["start"])[known] / 2
    weight = 0.5 ** (age / HALF_LIFE_DAYS)
    km = np.bincount(vehicle, weight * stretches["km"][known], minlength=n)
    weighted_days = np.bincount(vehicle, weight * days, minlength=n)
    plain_days = np.bincount(vehicle, days, minlength=n)
    with np.errstate(divide="ignore", invalid="ignore"):
        log_pace = np.where((weighted_days > 0) & (km > 0), np.log(km / weighted_days), np.nan)
    return {"log_pace": log_pace, "weighted_days": weighted_days, "days": plain_days}


def _how_far_it_holds(stretches, today, n):
    """Variance of log (what followed / pace known before), split into a lasting part and one that fades as 1 / days."""
    spans, squares = [], []
    for horizon in (90.0, 180.0, 360.0):
        for back in (horizon, horizon + 180.0, horizon + 360.0):
            origin = today - back
            before = _pace(stretches, origin, n)
            inside = (stretches["start"] >= origin) & (stretches["end"] <= origin + horizon)
            days = np.bincount(stretches["vehicle"][inside], (stretches["end"] - stretches["start"])[inside], minlength=n)
            km = np.bincount(stretches["vehicle"][inside], stretches["km"][inside], minlength=n)
            good = (days >= 0.5 * horizon) & (km > 0) & (before["days"] >= 120) & np.isfinite(before["log_pace"])
            with np.errstate(divide="ignore"):
                miss = np.log(km[good] / days[good]) - before["log_pace"][good]
            spans.append(days[good])
            squares.append(np.minimum(np.abs(miss), 1.5) ** 2)
    spans, squares = np.concatenate(spans), np.concatenate(squares)
    design = np.column_stack([np.ones_like(spans), 1.0 / np.maximum(spans, MIN_DAYS)])
    prior = np.array([DRIFT_VARIANCE, SHORT_VARIANCE_DAYS])
    ridge = PRIOR_PAIRS * np.diag([1.0, 1.0 / 120.0**2])
    normal = design.T @ design + ridge
    drift, short = np.linalg.solve(normal, design.T @ squares + ridge @ prior)
    return float(max(drift, 0.002)), float(max(short, 0.1))


def _shrink(pace, group, drift, short):
    """Each log pace drawn toward its class by the usual normal weights; the class toward the prior."""
    own_variance = short / np.maximum(pace["weighted_days"], 1.0) + 0.25 * drift
    known = np.isfinite(pace["log_pace"]) & (pace["weighted_days"] >= 7)
    value = np.where(known, pace["log_pace"], 0.0)
    weight = np.where(known, 1.0 / (own_variance + PRIOR_LOG_SD**2), 0.0)
    n = group.max() + 1 if len(group) else 0
    total = np.bincount(group, weight, minlength=n) + 1.0
    center = (np.bincount(group, weight * value, minlength=n) + np.log(PRIOR_KM_PER_DAY)) / total
    count = np.bincount(group, known, minlength=n)
    square = np.bincount(group, np.where(known, (value - center[group]) ** 2 - own_variance, 0.0), minlength=n)
    spread = np.maximum((square + 3 * PRIOR_LOG_SD**2) / (count + 3), 0.01)[group]
    center = center[group]
    share = np.where(known, spread / (spread + own_variance), 0.0)
    return center + share * (value - center), np.sqrt(spread * (1 - share))
