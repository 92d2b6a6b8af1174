"""How far each vehicle is driven: odometer to date and date to odometer, with the uncertainty of both.

A vehicle's pace is its distance over time between all believed odometers (visits and odometer log), a stretch one year old
counting half. It is drawn toward the pace of its wear class by as much as paces of that class scatter less than a short
history does. Where use changed for good, the newer pace alone counts (``_changes``); where two years agree on a season, time is
counted in even days, of which the busy season holds more (``Season``). How far a pace holds into the future is measured on the
fleet itself: on past dates, the pace known then against the distance that followed. All in logarithms, so a pace is never negative.
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
DRIFT_SINCE = 0.25
"""Share of the lasting variance that a pace has gathered already since the middle of the time it was known by."""
PRIOR_PAIRS = 20.0
MIN_DAYS = 14.0
YEAR_DAYS = 365.25
SEASON_Z, SEASON_YEAR_Z = 4.0, 2.0
"""A season is taken up where its yearly wave stands so many standard errors from none, in each of two years at least the second."""
LEAST_SEASON_VEHICLES, LEAST_OF_A_YEAR = 5, 0.9
CHANGE_DAYS = (60.0, 90.0, 120.0, 180.0, 270.0, 365.0, 540.0)
"""How long ago use may have changed, days."""
CHANGE_Z, CHANGE_RATIO = 3.5, 1.5
"""A change of use is noticed where the pace since differs from the one before by so many standard deviations and so many fold: one
vehicle in a thousand by chance (common practice, no source)."""
LEAST_DAYS_BEFORE = 120.0
PARKED_KM_PER_DAY = 1.0


@dataclass(frozen=True)
class Season:
    """Daily distance over the year: ``exp(cosine * cos + sine * sin)`` of the time of year, scaled to a mean of 1.

    ``cosine`` and ``sine`` are both 0 where no season was found.
    """

    cosine: float = 0.0
    sine: float = 0.0

    @property
    def found(self) -> bool:
        """Whether there is one."""
        return self.cosine != 0.0 or self.sine != 0.0

    def even(self, day) -> np.ndarray:
        """Even days up to a calendar day (both from 1970-01-01); over a whole year as many as calendar days."""
        if not self.found:
            return np.asarray(day, dtype=float)
        return np.asarray(day, dtype=float) + np.interp(np.asarray(day, dtype=float) % YEAR_DAYS, *self._ahead)

    def calendar(self, even) -> np.ndarray:
        """Calendar day at which so many even days have passed; the other way about from ``even``."""
        even = np.asarray(even, dtype=float)
        if not self.found:
            return even
        day, ahead = self._ahead
        return even - np.interp(even % YEAR_DAYS, day + ahead, ahead, period=YEAR_DAYS)

    @property
    def _ahead(self):
        """Days of a year, and how far even time is ahead of the calendar there."""
        day = np.linspace(0.0, YEAR_DAYS, 1462)
        busy = np.exp(self.cosine * np.cos(2 * np.pi * day / YEAR_DAYS) + self.sine * np.sin(2 * np.pi * day / YEAR_DAYS))
        grown = np.append(0.0, np.cumsum((busy[1:] + busy[:-1]) / 2))
        return day, grown / grown[-1] * YEAR_DAYS - day


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
    season : Season
        ``km_per_day`` is a distance an even day.
    changes : DataFrame
        Vehicles whose use changed: ``vehicle_id, since`` (about when), ``ratio`` (pace since over pace before), ``parked`` (hardly
        moved since).
    """

    table: pd.DataFrame
    drift: float
    short_days: float
    as_of: pd.Timestamp
    season: Season
    changes: pd.DataFrame

    def even_days(self, days) -> np.ndarray:
        """Calendar days from the as-of date as even days."""
        today = _day(self.as_of)
        return self.season.even(today + np.asarray(days, dtype=float)) - self.season.even(today)

    def calendar_days(self, days) -> np.ndarray:
        """Even days from the as-of date as calendar days."""
        today = _day(self.as_of)
        return self.season.calendar(self.season.even(today) + np.asarray(days, dtype=float)) - today

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
    vehicles = records.vehicles.set_index("vehicle_id")
    season = _season(_stretches(points), _day(as_of))
    stretches = _stretches(points.assign(day=season.even(points["day"])))
    today = float(season.even(_day(as_of)))
    drift, short = _how_far_it_holds(stretches, today, len(vehicles))
    changes = _changes(stretches, today, len(vehicles), drift, short)
    pace = _pace(_since(stretches, changes["day"]), today, len(vehicles))
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
    idle = season.even(_day(as_of)) - season.even(_days(table["last_date"]))
    table["odometer_km"] = table["last_km"] + table["km_per_day"] * idle
    return Usage(table, drift, short, as_of, season, _changed(changes, vehicles.index, season))


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
    points["day"] = _days(points["date"])
    return points


def _days(dates) -> np.ndarray:
    """Days since 1970-01-01, NaN where no date is known."""
    dates = dates.to_numpy().astype("datetime64[D]")
    return np.where(np.isnat(dates), np.nan, dates.astype("int64").astype(float))


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
    """Variance of log (what followed / pace known before): a lasting part, and one that fades as 1 / days, of the days that
    followed and of the days the pace was known by."""
    spans, known_by, squares = [], [], []
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
            known_by.append(before["weighted_days"][good])
            squares.append(np.minimum(np.abs(miss), 1.5) ** 2)
    spans, known_by, squares = (np.concatenate(pieces) for pieces in (spans, known_by, squares))
    design = np.column_stack(
        [np.full_like(spans, 1 + DRIFT_SINCE), 1 / np.maximum(spans, MIN_DAYS) + 1 / np.maximum(known_by, MIN_DAYS)]
    )
    prior = np.array([DRIFT_VARIANCE, SHORT_VARIANCE_DAYS])
    ridge = PRIOR_PAIRS * np.diag([1.0, 1.0 / 120.0**2])
    normal = design.T @ design + ridge
    drift, short = np.linalg.solve(normal, design.T @ squares + ridge @ prior)
    return float(max(drift, 0.0005)), float(max(short, 0.1))


def _shrink(pace, group, drift, short):
    """Each log pace drawn toward its class by the usual normal weights; the class toward the prior."""
    own_variance = short / np.maximum(pace["weighted_days"], 1.0) + DRIFT_SINCE * drift
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


# --- season and change of use -----------------------------------------------------------------------------------------


def _season(stretches, today) -> Season:
    """A yearly wave in log pace over all vehicles, where the last two years of them agree on one.

    Each vehicle's year has its own level. Standard errors let a vehicle's stretches be alike (clustered by vehicle).
    """
    years = np.floor((today - (stretches["start"] + stretches["end"]) / 2) / YEAR_DAYS).astype(int)
    days = stretches["end"] - stretches["start"]
    good = (years >= 0) & (years < 6) & (days >= MIN_DAYS) & (stretches["km"] > 0)
    if not good.any():
        return Season()
    s = {name: values[good] for name, values in stretches.items()} | {"days": days[good], "year": years[good]}
    both, z = _wave(s, np.ones(good.sum(), dtype=bool))
    if z < SEASON_Z:
        return Season()
    by_year = [_wave(s, s["year"] == year) for year in (0, 1)]
    agree = all(one_z >= SEASON_YEAR_Z and wave @ both > 0.5 * np.hypot(*wave) * np.hypot(*both) for wave, one_z in by_year)
    return Season(*map(float, both)) if agree else Season()


def _wave(s, chosen):
    """Cosine and sine of the yearly wave of the chosen stretches, and how many standard errors its size is from none."""
    vehicle, year, start, end, days, km = (s[name][chosen] for name in ("vehicle", "year", "start", "end", "days", "km"))
    if len(np.unique(vehicle)) < LEAST_SEASON_VEHICLES or end.max() - start.min() < LEAST_OF_A_YEAR * YEAR_DAYS:
        return np.zeros(2), 0.0
    turn = 2 * np.pi / YEAR_DAYS
    x = (
        np.column_stack([np.sin(turn * end) - np.sin(turn * start), np.cos(turn * start) - np.cos(turn * end)])
        / (turn * days)[:, None]
    )
    group = np.unique(vehicle * 64 + year, return_inverse=True)[1]
    weight = days / (days + 90.0)
    total = np.bincount(group, weight)

    def level(values):
        return (np.bincount(group, weight * values) / total)[group]

    y = np.log(km / days)
    y = y - level(y)
    x = x - np.column_stack([level(column) for column in x.T])
    inverse = np.linalg.pinv((x * weight[:, None]).T @ x)
    wave = inverse @ ((x * weight[:, None]).T @ y)
    score = (weight * (y - x @ wave))[:, None] * x
    member = np.unique(vehicle, return_inverse=True)[1]
    meat = np.column_stack([np.bincount(member, column) for column in score.T])
    covariance = inverse @ (meat.T @ meat) @ inverse
    return wave, float(np.sqrt(max(wave @ np.linalg.pinv(covariance) @ wave, 0.0)))


def _changes(stretches, today, n, drift, short) -> dict[str, np.ndarray]:
    """Each vehicle's change of use: the day (NaN where none), the ratio of the pace since to that before, and the pace since."""
    best = {"day": np.full(n, np.nan), "ratio": np.full(n, np.nan), "pace": np.full(n, np.nan)}
    most = np.full(n, CHANGE_Z)
    for back in CHANGE_DAYS:
        since, before = (_plain_pace(stretches, n, low, high) for low, high in ((today - back, today), (-np.inf, today - back)))
        enough = (since["days"] >= 0.5 * min(back, 120.0)) & (before["days"] >= LEAST_DAYS_BEFORE)
        with np.errstate(divide="ignore", invalid="ignore"):
            log_ratio = np.log(np.maximum(since["km"], since["days"] * 0.1) / since["days"]) - np.log(
                before["km"] / before["days"]
            )
            sd = np.sqrt(drift + short / since["days"] + short / before["days"])
            z = np.abs(log_ratio) / sd
            better = enough & (before["km"] > 0) & (z > most) & (np.abs(log_ratio) > np.log(CHANGE_RATIO))
        most = np.where(better, z, most)
        for name, value in (
            ("day", today - back),
            ("ratio", np.exp(log_ratio)),
            ("pace", since["km"] / np.maximum(since["days"], 1.0)),
        ):
            best[name] = np.where(better, value, best[name])
    return best


def _plain_pace(stretches, n, low, high):
    """Distance and days of the stretches that lie between two days."""
    inside = (stretches["start"] >= low) & (stretches["end"] <= high)
    vehicle = stretches["vehicle"][inside]
    days = np.bincount(vehicle, (stretches["end"] - stretches["start"])[inside], minlength=n)
    return {"days": days, "km": np.bincount(vehicle, stretches["km"][inside], minlength=n)}


def _since(stretches, day):
    """Stretches from each vehicle's change of use on; all where it has none."""
    kept = ~(stretches["start"] < day[stretches["vehicle"]])
    return {name: values[kept] for name, values in stretches.items()}


def _changed(changes, vehicle_ids, season) -> pd.DataFrame:
    at = np.flatnonzero(np.isfinite(changes["day"]))
    since = np.round(season.calendar(changes["day"][at])).astype("int64").astype("datetime64[D]").astype("datetime64[s]")
    parked = changes["pace"][at] < PARKED_KM_PER_DAY
    return pd.DataFrame({"vehicle_id": vehicle_ids[at], "since": since, "ratio": changes["ratio"][at], "parked": parked})
