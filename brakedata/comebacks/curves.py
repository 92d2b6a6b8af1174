"""How comebacks build up with distance: risk sets, Kaplan-Meier risk, its limits, competing ends, repeats, and the log-rank test.

A job is at risk from the distance at which its watch began to the distance at which it ended; it is at risk at its own end.
Distances in km, chances between 0 and 1.
"""

from dataclasses import dataclass, replace

import numpy as np


@dataclass(frozen=True)
class Curve:
    """Comebacks by distance, at the distances at which there were some.

    Attributes
    ----------
    km : ndarray, shape (k,)
    at_risk, events : ndarray, shape (k,)
        Jobs watched at that distance, and how many of them came back there.
    end_km : ndarray, shape (n,)
        Where each job's watch (or its wait for the comeback) ended, sorted.
    entry_km : ndarray, shape (n,)
        Where each job's watch began, sorted.
    """

    km: np.ndarray
    at_risk: np.ndarray
    events: np.ndarray
    end_km: np.ndarray
    entry_km: np.ndarray

    @property
    def survival(self) -> np.ndarray:
        """Chance of no comeback up to and at each of ``km`` (product limit).

        Source: E. L. Kaplan, P. Meier (1958), J. American Statistical Association 53, 457-481.
        """
        return np.cumprod(1.0 - self.events / self.at_risk)

    def risk(self, within_km) -> np.ndarray:
        """Chance of a comeback within a distance; NaN beyond the farthest job watched, unless all came back."""
        within_km = np.asarray(within_km, dtype=float)
        risk = 1.0 - np.r_[1.0, self.survival][np.searchsorted(self.km, within_km, side="right")]
        return np.where((within_km <= self.farthest_km) | (risk == 1.0), risk, np.nan)

    @property
    def farthest_km(self) -> float:
        """Distance to which the farthest job was watched; 0 where none was."""
        return float(self.end_km[-1]) if len(self.end_km) else 0.0

    def watched_at(self, km) -> np.ndarray:
        """How many jobs are at risk at distances; one is at risk at its own end, not yet where its watch began."""
        begun = np.searchsorted(self.entry_km, km, side="left")
        return (begun - np.searchsorted(self.end_km, km, side="left")).astype(float)

    def still_watched(self, within_km: float) -> int:
        """How many jobs are at risk just beyond a distance."""
        return int((self.entry_km <= within_km).sum() - (self.end_km <= within_km).sum())

    def limits(self, within_km: float, level: float = 0.95) -> tuple[float, float]:
        """Limits for the chance of a comeback within a distance that hold for small counts too.

        Beta product limits: at each comeback the chance of none is bounded by a beta variable, and their product by one with
        the same mean and variance. With all jobs watched far enough they are the exact binomial (Clopper-Pearson) limits.

        Source: M. P. Fay, E. H. Brittain, M. A. Proschan (2013), Biostatistics 14, 723-736.
        """
        from scipy import stats

        tail = (1.0 - level) / 2.0
        here = self.km <= within_km
        failed, held = self.events[here], self.at_risk[here] - self.events[here]
        beyond = self.still_watched(within_km)
        low = 1.0 - stats.beta.ppf(1.0 - tail, *_product_of_betas(held + 1.0, failed)) if here.any() else 0.0
        if beyond == 0:
            return float(low), 1.0
        high = 1.0 - stats.beta.ppf(tail, *_product_of_betas(np.r_[held + 1.0, beyond], np.r_[failed, 1.0]))
        return float(low), float(high)


def _product_of_betas(a, b):
    """Parameters of the beta variable with the mean and variance of a product of independent ones."""
    mean = np.prod(a / (a + b))
    square = np.prod(a * (a + 1.0) / ((a + b) * (a + b + 1.0)))
    size = (mean - square) / (square - mean**2)
    return mean * size, (1.0 - mean) * size


def curve(end_km, came_back, entry_km=None) -> Curve:
    """Risk sets of jobs.

    Parameters
    ----------
    end_km : array, shape (n,)
        Distance from the job to its comeback, or to the end of its watch.
    came_back : array of bool, shape (n,)
        Whether it ended with a comeback.
    entry_km : array, shape (n,), optional
        Distance at which the watch began, of a job done before complaints were written down; NaN, and default: at the job. A
        job whose watch ended before it began, or there, was not watched.

    Returns
    -------
    Curve
    """
    end_km, came_back = np.asarray(end_km, dtype=float), np.asarray(came_back, dtype=bool)
    entry_km = np.full(len(end_km), -1.0) if entry_km is None else np.nan_to_num(np.asarray(entry_km, dtype=float), nan=-1.0)
    watched = end_km > entry_km
    end_km, came_back, entry_km = end_km[watched], came_back[watched], entry_km[watched]
    km, events = np.unique(end_km[came_back], return_counts=True)
    watch = Curve(km, np.array([]), events.astype(float), np.sort(end_km), np.sort(entry_km))
    return replace(watch, at_risk=watch.watched_at(km))


def happened(end_km, cause, within_km, entry_km=None) -> np.ndarray:
    """Cumulative incidence: the share of jobs that end in each way within a distance, given that the other ways end them too.

    Parameters
    ----------
    end_km : array, shape (n,)
    cause : array of int, shape (n,)
        0 still watched; 1, 2, ... the way it ended.
    within_km : array, shape (m,)
    entry_km : array, shape (n,), optional
        As for `curve`.

    Returns
    -------
    ndarray, shape (number of ways, m)

    Notes
    -----
    Source: O. O. Aalen, S. Johansen (1978), Scandinavian J. of Statistics 5, 141-150.
    """
    end_km, cause = np.asarray(end_km, dtype=float), np.asarray(cause, dtype=int)
    ended = curve(end_km, cause > 0, entry_km)
    cause = np.where(np.isin(end_km, ended.km), cause, 0)
    before = np.r_[1.0, ended.survival[:-1]] if len(ended.km) else np.array([])
    place = np.searchsorted(ended.km, np.asarray(within_km, dtype=float), side="right")
    out = []
    for way in range(1, cause.max(initial=0) + 1):
        mine = np.bincount(np.searchsorted(ended.km, end_km[cause == way]), minlength=len(ended.km))
        out.append(np.r_[0.0, np.cumsum(before * mine / ended.at_risk)][place])
    return np.array(out).reshape(-1, len(place))


JOBS_AT_ONCE = 1_000


@dataclass(frozen=True)
class Returns:
    """Mean cumulative function: returns per job up to each distance, and its standard error."""

    km: np.ndarray
    mean: np.ndarray
    se: np.ndarray

    def at(self, km) -> tuple[np.ndarray, np.ndarray]:
        """Mean and standard error at distances, each of their shape."""
        place = np.searchsorted(self.km, np.asarray(km, dtype=float), side="right")
        return np.r_[0.0, self.mean][place], np.r_[0.0, self.se][place]


def returns_per_job(job, return_km, watched_km) -> Returns:
    """Mean number of returns of a job by distance, repeats included, whatever the jobs have in common.

    Parameters
    ----------
    job : array of int, shape (r,)
        Place in ``watched_km`` of the job that came back.
    return_km : array, shape (r,)
        Distance from job to return.
    watched_km : array, shape (n,)
        How far each job was watched.

    Returns
    -------
    Returns

    Notes
    -----
    Source: J. F. Lawless, C. Nadeau (1995), Technometrics 37, 158-168: estimate and robust variance.
    """
    job, return_km, watched_km = np.asarray(job, int), np.asarray(return_km, float), np.asarray(watched_km, float)
    km, place = np.unique(return_km, return_inverse=True)
    at_risk = len(watched_km) - np.searchsorted(np.sort(watched_km), km, side="left")
    step = np.bincount(place, minlength=len(km)) / at_risk
    variance = np.zeros(len(km))
    for first in range(0, len(watched_km), JOBS_AT_ONCE):
        some = watched_km[first : first + JOBS_AT_ONCE]
        here = (job >= first) & (job < first + JOBS_AT_ONCE)
        own = np.zeros((len(some), len(km)))
        np.add.at(own, (job[here] - first, place[here]), 1.0)
        influence = np.cumsum((some[:, None] >= km) * (own - step) / at_risk, axis=1)
        variance += (influence**2).sum(axis=0)
    return Returns(km, np.cumsum(step), np.sqrt(variance))


@dataclass(frozen=True)
class Difference:
    """Log-rank comparison of one group with the rest.

    Attributes
    ----------
    seen, expected, variance : float
        Comebacks of the group, how many were to be expected were it like the rest, and the variance of that.
    more, fewer : float
        The chance of so many comebacks or more, and of so few or fewer.
    """

    seen: float
    expected: float
    variance: float
    more: float
    fewer: float

    @property
    def chi2(self) -> float:
        """The log-rank statistic, one degree of freedom."""
        return (self.seen - self.expected) ** 2 / self.variance


def difference(end_km, came_back, in_group, within_km: float = np.inf, entry_km=None, strata=None) -> Difference:
    """Does a group come back more or less often than the rest, within a distance?

    At each comeback the number from the group is hypergeometric given who is watched; the chances are those of the law of
    their sum, so that they hold for small counts. Within strata, a job is compared with those of its own stratum only.

    Parameters
    ----------
    end_km, came_back : array, shape (n,)
        As for `curve`.
    in_group : array of bool, shape (n,)
    within_km : float
    entry_km : array, shape (n,), optional
        As for `curve`.
    strata : array, shape (n,), optional
        What is held equal; default: nothing.

    Returns
    -------
    Difference

    Notes
    -----
    Source: N. Mantel (1966), Cancer Chemotherapy Reports 50, 163-170.
    """
    end_km, came_back, in_group = np.asarray(end_km, float), np.asarray(came_back, bool), np.asarray(in_group, bool)
    counted = came_back & (end_km <= within_km)
    entry_km = np.full(len(end_km), np.nan) if entry_km is None else np.asarray(entry_km, dtype=float)
    kind = np.zeros(len(end_km), dtype=int) if strata is None else np.unique(strata, return_inverse=True)[1]
    parts = [_risk_sets(*(column[kind == one] for column in (end_km, counted, in_group, entry_km))) for one in np.unique(kind)]
    events, at_risk, total = (np.concatenate(column) for column in zip(*parts, strict=True)) if parts else np.zeros((3, 0))
    share = at_risk / total
    spread = events * share * (1 - share) * (total - events) / np.maximum(total - 1, 1)
    seen = int((counted & in_group & ~(end_km <= entry_km)).sum())
    law = _law_of_sum(events, at_risk, total)
    more, fewer = float(law[seen:].sum()), float(law[: seen + 1].sum())
    return Difference(seen, float((events * share).sum()), float(spread.sum()), more, fewer)


def _risk_sets(end_km, counted, in_group, entry_km):
    """At each distance with a comeback: how many there are, how many jobs of the group are watched, and how many in all."""
    everyone = curve(end_km, counted, entry_km)
    of_group = curve(end_km[in_group], counted[in_group], entry_km[in_group])
    return everyone.events, of_group.watched_at(everyone.km), everyone.at_risk


def _law_of_sum(events, group, total):
    """Probabilities of 0, 1, ... comebacks from the group, all distances together."""
    from scipy.stats import hypergeom

    law = np.array([1.0])
    for drawn, mine, watched in zip(events, group, total, strict=True):
        chance = mine / watched
        one = [1 - chance, chance] if drawn == 1 else hypergeom.pmf(np.arange(drawn + 1), watched, mine, drawn)
        law = np.convolve(law, one)
    return law
