"""Over time: is it getting worse, and since when.

Jobs stand in order of their date, and each counts by how many comebacks it was expected to give for as long as it was watched,
by the shop's own curve; a job of last month counts little. Then between two comebacks a shop without a change passes an
exponential amount of expectation, and the comebacks of a stretch of time are a fair share of all.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata.comebacks import curves
from brakedata.comebacks.compare import WITHIN_KM

FALSE_ALARM = 0.05
"""A chart, or a date of change, of a shop without any change raises a false alarm this often."""
DRAWS = 4_000
SEED = 20
FEWEST_EXPECTED = 3.0
"""A change is looked for where at least so many comebacks are expected on either side of it."""
FEWEST_COMEBACKS = 8
LIKELY = 7.35
"""Dates of change whose doubled log likelihood is within this of the best are within its 95 % limits: the 95 % quantile x of
(1 - exp(-x / 2))**2, larger than chi square's since a date of change is no smooth parameter (B. E. Hansen (2000), Econometrica
68, 575-603)."""


@dataclass(frozen=True)
class Trend:
    """Comebacks over time.

    Attributes
    ----------
    between : DataFrame
        One row a comeback, by the date of its job: ``date, job, jobs_between`` (jobs, as if watched for the whole distance, since
        the job before it that came back), ``low, high`` (limits) and ``outside``.
    excess : DataFrame
        One row the end of a week: ``date, excess`` (comebacks of all jobs done until then, beyond those expected of them),
        ``low, high`` (limits that a shop without a change stays within on all dates together but for `FALSE_ALARM` of shops; NaN
        where nothing can be said).
    months : DataFrame
        One row a month of jobs: ``month, jobs, comebacks, expected`` (of so many jobs watched so far, by the shop's own curve).
    change_date : Timestamp
        Jobs from then on come back more, or less often; NaT where no change is beyond chance.
    change_from, change_to : Timestamp
        95 % limits of the date.
    times : float
        How many times as often jobs come back since; NaN without a change.
    p : float
        How often a shop without a change shows one as strong; NaN where there are too few comebacks to say.
    sentence : str
    """

    between: pd.DataFrame
    excess: pd.DataFrame
    months: pd.DataFrame
    change_date: pd.Timestamp
    change_from: pd.Timestamp
    change_to: pd.Timestamp
    times: float
    p: float
    sentence: str


def trend(found, within_km: float = WITHIN_KM) -> Trend:
    """Jobs between comebacks, and the date since when it is worse or better.

    Parameters
    ----------
    found : Comebacks
    within_km : float

    Returns
    -------
    Trend
    """
    jobs = found.jobs[found.jobs["km"].notna()].sort_values(["date", "visit_id", "axle"], kind="stable")
    back = jobs["comeback_km"].le(within_km).to_numpy()
    expected, whole = _expected(jobs, within_km)
    date = jobs["date"].to_numpy()
    week = (date - date.min()).astype("timedelta64[D]").astype(int) // 7
    counts = np.bincount(week, back, minlength=week.max() + 1), np.bincount(week, expected, minlength=week.max() + 1)
    starts = pd.Timestamp(date.min()) + pd.to_timedelta(7 * np.arange(week.max() + 2), unit="D")
    month = jobs["date"].dt.to_period("M").dt.to_timestamp()
    months = pd.DataFrame({"month": month, "jobs": 1, "comebacks": back * 1, "expected": expected})
    months = months.groupby("month").sum().reset_index()
    excess, *change = _change(*counts, starts)
    return Trend(_between(jobs, back, expected, whole), excess, months, *change)


def _expected(jobs, within_km):
    """Comebacks each job was expected to give for as long as it was watched, and what one watched to the end would."""
    back = jobs["comeback_km"].to_numpy()
    end = np.where(np.isnan(back), jobs["watched_km"], back)
    entry = jobs["entry_km"].to_numpy()
    curve = curves.curve(end, ~np.isnan(back), entry)
    hazard = np.r_[0.0, np.cumsum(curve.events / curve.at_risk)]

    def upto(km):
        return hazard[np.searchsorted(curve.km, np.minimum(km, within_km), side="right")]

    return np.maximum(upto(end) - upto(np.nan_to_num(entry, nan=-1.0)), 0.0), float(upto(within_km))


def limits(points: int, false_alarm: float = FALSE_ALARM) -> tuple[float, float]:
    """Limits for each of so many exponential gaps of mean 1, so that the whole chart raises a false alarm this often."""
    one = 1 - (1 - false_alarm) ** (1 / max(points, 1))
    return float(-np.log1p(-one / 2)), float(-np.log(one / 2))


def _between(jobs, back, expected, whole):
    """The chart of jobs between comebacks."""
    at = np.flatnonzero(back)
    passed = np.diff(np.r_[0.0, np.cumsum(expected)[at]])
    low, high = limits(len(at))
    return pd.DataFrame(
        {
            "date": jobs["date"].to_numpy()[at], "job": jobs.index[at], "jobs_between": passed / whole if whole else passed,
            "low": low / whole if whole else low, "high": high / whole if whole else high,
            "outside": (passed < low) | (passed > high),
        }
    )  # fmt: skip


def _change(back, expected, starts):
    """The excess by week, change date, its limits, the ratio, the p value and a sentence; ``back``, ``expected`` a week each."""
    nothing = (pd.NaT, pd.NaT, pd.NaT, np.nan)
    total = back.sum()
    before = np.cumsum(expected)[:-1]
    excess = pd.DataFrame({"date": starts[1:-1], "excess": np.cumsum(back)[:-1] - before, "low": np.nan, "high": np.nan})
    possible = (before >= FEWEST_EXPECTED) & (total - before >= FEWEST_EXPECTED)
    if total < FEWEST_COMEBACKS or not possible.any():
        return (
            excess,
            *nothing,
            np.nan,
            f"{total:.0f} comeback{'s are' if round(total) != 1 else ' is'} too few to say whether it changes.",
        )
    before = before[possible]
    strength = _strength(np.cumsum(back)[:-1][possible], before, total)
    rng = np.random.default_rng(SEED)
    drawn = np.cumsum(rng.multinomial(int(total), expected / expected.sum(), DRAWS), axis=1)[:, :-1][:, possible]
    strongest = np.sort(_strength(drawn, before, total).max(axis=1))
    for name, count in zip(("low", "high"), _as_strong(strongest[-int(FALSE_ALARM * (1 + DRAWS))], before, total), strict=True):
        excess.loc[possible, name] = count - before
    p = float((1 + (strongest >= strength.max()).sum()) / (1 + DRAWS))
    if p > FALSE_ALARM:
        return excess, *nothing, p, f"No change beyond chance (a shop without any shows as much {_often(p)})."
    dates = starts[1:-1][possible]
    best = int(strength.argmax())
    near = dates[strength >= strength.max() - LIKELY]
    early = np.cumsum(back)[:-1][possible][best]
    times = ((total - early) / (total - before[best])) / (max(early, 0.5) / before[best])
    best_day, first_day, last_day = (f"{day:%d %B %Y}" for day in (dates[best], near[0], near[-1]))
    sentence = (
        f"Jobs done since about {best_day} ({first_day} to {last_day}) come back {times:.1f} times as often as those before "
        f"(a shop without any change shows as much {_often(p)})."
    )
    return excess, dates[best], near[0], near[-1], float(times), p, sentence


def _strength(early, before, total):
    """Twice the log likelihood gained by a change at each place, for counts ``early`` of ``total`` expected to be ``before``."""
    from scipy.special import xlogy

    late, after = total - early, total - before
    return 2 * (xlogy(early, early / before) + xlogy(late, late / after))


def _as_strong(strength, before, total):
    """The counts below and above ``before`` of which a change would be just so strong; NaN where none is."""
    found = []
    for end in (np.zeros(len(before)), np.full(len(before), total)):
        near, far = before.copy(), end.copy()
        for _ in range(50):
            middle = (near + far) / 2
            beyond = _strength(middle, before, total) > strength
            near, far = np.where(beyond, near, middle), np.where(beyond, middle, far)
        found.append(np.where(_strength(end, before, total) > strength, far, np.nan))
    return found


def _often(p):
    if p < 0.001:
        return "less than once in a thousand"
    return f"{100 * p:.{1 if p < 0.1 else 0}f} times in a hundred"
