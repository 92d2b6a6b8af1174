"""Lives with delayed entry and lives still running: survival curve, its limits, quantiles, Weibull and lognormal fits.

A life is at risk from the distance at which it was first seen (its entry) to the one at which it ended or was last seen; what would
have ended before it was first seen is not in the records, and leaving that out of account makes lives look longer than they are. The
product-limit estimate itself is `comebacks.curves.Curve`. Distances in km.
"""

from dataclasses import dataclass

import numpy as np

from brakedata.comebacks.curves import Curve, curve

LEVEL = 0.95
MOST_POINTS = 400
SCALES = ("weibull", "lognormal")


@dataclass(frozen=True)
class Survival:
    """How many of all lives go on beyond each distance.

    Attributes
    ----------
    km : ndarray, shape (k,)
        Distances at which lives ended.
    share : ndarray, shape (k,)
        Estimated share of lives that go beyond each (Kaplan and Meier 1958; with delayed entry).
    low, high : ndarray, shape (k,)
        95 % limits of it, by the logarithm of minus its logarithm.
    se : ndarray, shape (k,)
        Its standard error.
    watched : Curve
        Risk sets, for numbers at risk.
    """

    km: np.ndarray
    share: np.ndarray
    low: np.ndarray
    high: np.ndarray
    se: np.ndarray
    watched: Curve

    def at(self, km) -> np.ndarray:
        """Share of lives that go beyond distances; NaN beyond the farthest life watched."""
        km = np.asarray(km, dtype=float)
        share = np.r_[1.0, self.share][np.searchsorted(self.km, km, side="right")]
        return np.where((km <= self.watched.farthest_km) | (share == 0), share, np.nan)

    def quantile(self, chance: float) -> tuple[float, float, float]:
        """Distance by which a share ``chance`` of lives has ended, and its 95 % limits; infinite where the curve does not come so far."""
        return tuple(_reached(self.km, values, 1 - chance) for values in (self.share, self.low, self.high))


def _reached(km, share, wanted) -> float:
    """The first distance at which the share is down to the one wanted; the middle of the step where it is just that."""
    there = np.flatnonzero(share <= wanted + 1e-12)
    if not len(there):
        return np.inf
    here = there[0]
    on = there[share[there] < wanted - 1e-12]
    just = abs(share[here] - wanted) <= 1e-12 and len(on)
    return float((km[here] + km[on[0]]) / 2 if just else km[here])


def estimate(end_km, ended, entry_km=None, unit=None, level: float = LEVEL) -> Survival:
    """Survival curve of lives.

    Parameters
    ----------
    end_km : array, shape (n,)
        Distance at which a life ended or was last seen.
    ended : array of bool, shape (n,)
    entry_km : array, shape (n,), optional
        Distance at which it was first seen; default from its start. A life first seen at its end or later says nothing.
    unit : array, shape (n,), optional
        What lives go together by, such as the vehicle: limits then allow for lives of one unit being alike. Default: each life alone
        (Greenwood 1926).
    level : float

    Returns
    -------
    Survival

    Notes
    -----
    Standard errors by unit are infinitesimal jackknife ones (Efron 1981, Biometrika 68, 589-599), on at most ``MOST_POINTS`` distances.
    """
    from scipy.special import ndtri

    end_km, ended = np.asarray(end_km, dtype=float), np.asarray(ended, dtype=bool)
    entry_km = np.zeros(len(end_km)) if entry_km is None else np.asarray(entry_km, dtype=float)
    watched = curve(end_km, ended, np.where(entry_km > 0, entry_km, np.nan))
    share = watched.survival
    log_se = np.sqrt(np.cumsum(_growth(watched))) if unit is None else _log_se_by_unit(watched, end_km, ended, entry_km, unit)
    with np.errstate(divide="ignore", invalid="ignore"):
        half = ndtri(0.5 + level / 2) * log_se / np.abs(np.log(share))
        low, high = share ** np.exp(half), share ** np.exp(-half)
    over = share <= 0
    low, high = np.where(over, 0.0, low), np.where(over, np.r_[1.0, high][:-1], high)
    return Survival(watched.km, share, low, high, np.where(over, 0.0, share * np.where(over, 0.0, log_se)), watched)


def _growth(watched) -> np.ndarray:
    """Greenwood's terms; infinite where all at risk end at once."""
    with np.errstate(divide="ignore"):
        return watched.events / (watched.at_risk * (watched.at_risk - watched.events))


def _log_se_by_unit(watched, end_km, ended, entry_km, unit) -> np.ndarray:
    """Standard error of the log of the share at each distance, lives of one unit taken together."""
    held = np.maximum(watched.at_risk - watched.events, 1e-300)
    grown = np.r_[0.0, np.cumsum(watched.events / watched.at_risk / held)]
    jump = 1.0 / held
    k = len(watched.km)
    place = np.unique(np.linspace(0, k - 1, min(k, MOST_POINTS)).astype(int)) if k else np.zeros(0, dtype=int)
    counts = end_km > entry_km
    unit = np.unique(np.asarray(unit)[counts], return_inverse=True)[1]
    end, enter, over = (values[counts] for values in (end_km, entry_km, ended))
    last = np.searchsorted(watched.km, end, side="right")
    first = np.searchsorted(watched.km, enter, side="right")
    at_end = jump[np.minimum(last - 1, k - 1)] if k else np.zeros(len(end))
    variance = np.zeros(len(place))
    for j, point in enumerate(place):
        now = point + 1
        pull = grown[np.minimum(last, now)] - grown[np.minimum(first, now)] - np.where(over & (last <= now), at_end, 0.0)
        variance[j] = (np.bincount(unit, pull) ** 2).sum()
    units = max(unit.max(initial=0) + 1, 2)
    return np.sqrt(np.interp(np.arange(k), place, variance) * units / (units - 1)) if k else variance


# --- laws -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Law:
    """A Weibull or lognormal law of lives: ``log(life) = location + scale * (extreme value or normal)``.

    Attributes
    ----------
    name : str
    location, scale : float
        ``exp(location)`` is the Weibull law's characteristic life, ``1 / scale`` its shape; of the lognormal the mean and standard
        deviation of the logarithm.
    covariance : ndarray, shape (2, 2)
        Of location and the logarithm of scale.
    log_likelihood : float
    """

    name: str
    location: float
    scale: float
    covariance: np.ndarray
    log_likelihood: float

    def quantile(self, chance: float, level: float = LEVEL) -> tuple[float, float, float]:
        """Distance by which a share ``chance`` of lives has ended, with limits by the delta method on its logarithm."""
        from scipy.special import ndtri

        z = np.log(-np.log1p(-chance)) if self.name == "weibull" else ndtri(chance)
        slope = np.array([1.0, z * self.scale])
        half = ndtri(0.5 + level / 2) * np.sqrt(slope @ self.covariance @ slope)
        middle = self.location + z * self.scale
        return float(np.exp(middle)), float(np.exp(middle - half)), float(np.exp(middle + half))

    def share(self, km) -> np.ndarray:
        """Share of lives that go beyond distances."""
        with np.errstate(divide="ignore"):
            z = (np.log(np.asarray(km, dtype=float)) - self.location) / self.scale
        return np.exp(_log_share(self.name, z)[0])


def _log_share(name, z):
    """Log of the share beyond z, and its slope."""
    if name == "weibull":
        return -np.exp(z), -np.exp(z)
    from scipy.special import log_ndtr

    beyond = log_ndtr(-z)
    return beyond, -np.exp(-(z**2) / 2 - np.log(2 * np.pi) / 2 - beyond)


def _log_density(name, z):
    """Log of the density at z, and its slope."""
    if name == "weibull":
        return z - np.exp(z), 1 - np.exp(z)
    return -(z**2) / 2 - np.log(2 * np.pi) / 2, -z


def fit(name: str, end_km, ended, entry_km=None) -> Law | None:
    """Fit a law by maximum likelihood, lives still running censored, lives first seen late truncated at their entry.

    Parameters
    ----------
    name : str
        One of ``SCALES``.
    end_km, ended, entry_km : array, shape (n,)
        As for `estimate`.

    Returns
    -------
    Law or None
        None where fewer than two different lives have ended, or no best fit is found.
    """
    from scipy.optimize import minimize

    end_km, ended = np.asarray(end_km, dtype=float), np.asarray(ended, dtype=bool)
    entry_km = np.zeros(len(end_km)) if entry_km is None else np.asarray(entry_km, dtype=float)
    used = end_km > np.maximum(entry_km, 0.0)
    log_end, ended, late = np.log(end_km[used]), ended[used], entry_km[used] > 0
    log_entry = np.log(entry_km[used][late])
    if len(np.unique(log_end[ended])) < 2:
        return None

    def minus(at):
        location, scale = at[0], np.exp(at[1])
        z, first = (log_end - location) / scale, (log_entry - location) / scale
        value = np.where(ended, 1.0, 0.0)
        density, share, entry = _log_density(name, z), _log_share(name, z), _log_share(name, first)
        one = np.where(ended, density[0] - at[1] - log_end, share[0])
        slope = np.where(ended, density[1], share[1])
        by_location = -(slope.sum() - entry[1].sum()) / scale
        by_scale = -((slope * z).sum() - (entry[1] * first).sum()) - value.sum()
        return -(one.sum() - entry[0].sum()), -np.array([by_location, by_scale])

    begin = np.array([log_end[ended].mean(), np.log(max(log_end[ended].std(), 0.1))])
    found = minimize(minus, begin, jac=True, method="BFGS", options={"gtol": 1e-7})
    information = _curvature(minus, found.x)
    if (
        not np.isfinite(information).all()
        or np.linalg.eigvalsh(information)[0] <= 0
        or np.abs(minus(found.x)[1]).max() > 1e-3 * len(log_end)
    ):
        return None
    return Law(name, float(found.x[0]), float(np.exp(found.x[1])), np.linalg.inv(information), -float(found.fun))


def _curvature(minus, at, step: float = 1e-5) -> np.ndarray:
    """Second derivatives by differences of the slope."""
    columns = [(minus(at + move)[1] - minus(at - move)[1]) / (2 * step) for move in step * np.eye(2)]
    both = np.array(columns)
    return (both + both.T) / 2
