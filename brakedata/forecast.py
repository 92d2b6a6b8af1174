"""When the first position of each axle reaches its limit: by odometer, and by date.

The axle's positions are drawn forward together from the shared model's posterior, always with the same draws, so that the
same records give the same answer. A position's way to its limit is a Brownian motion with its own drift; its first
passage is inverse Gaussian (Folks and Chhikara 1978, The inverse Gaussian distribution, J. Royal Statistical Society B 40,
263-289), drawn with the same numbers for all positions of the axle because the wander is the driving's. The vehicle's own
use, drawn with them, turns the odometer into a date.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata.shared_model import UNIT_KM, SharedModel
from brakedata.side_by_side import worked
from brakedata.usage import Usage

DRAWS = 1024
SEED = 20_260_101
LEVELS = (0.1, 0.5, 0.9)
CHUNK_AXLES = 200
WANDER_AHEAD = 1.15
"""The wander ahead is taken so much wider in variance than the one fitted: how it grows with a position's own rate is not known, and
the position that governs is the fastest of its axle. On made fleets where wander grows with the rate's power 0, 1 and 2, 80 % windows
hold 79 to 82 % with it (`benchmarks/windows_hold.py`), up to two in a hundred less without."""


@dataclass(frozen=True)
class Forecast:
    """Quantiles of the draws, one row an axle; the index is its place in ``lives.axles``.

    Attributes
    ----------
    axles : DataFrame, shape (A, ...)
        ``governing_part, governing_side, governing_slot`` (the position that is first most often), ``thickness_mm`` (at the
        as-of date) and ``rate_mm_per_10000km`` (medians, of that position), ``due_km, due_early_km, due_late_km``,
        ``due_day, due_day_early, due_day_late`` (days after the as-of date), ``discard_early_km``, ``risk`` (of being at or under
        discard_at by the next usual visit); NaN where nothing can be said.
    """

    axles: pd.DataFrame


def forecast(
    model: SharedModel, usage: Usage, next_visit_day: np.ndarray, vehicle_ids, replace_at_mm=None, axle_no=None, levels=LEVELS
) -> Forecast:
    """Forecast every axle, or those asked for; an axle's answer does not depend on which others are asked.

    Parameters
    ----------
    model : SharedModel
    usage : Usage
    next_visit_day : array, shape (A,)
        Days after the as-of date of each axle's next usual visit.
    vehicle_ids : array, shape (A,)
        Vehicle of each axle.
    replace_at_mm : float, optional
        A planning point to try instead of the limits' own.
    axle_no : array of int, optional
        The axles asked for, increasing.
    levels : tuple of three floats
        Levels of early, middle and late.

    Returns
    -------
    Forecast
    """
    asked = np.arange(len(vehicle_ids)) if axle_no is None else np.asarray(axle_no)
    pieces = [asked[at : at + CHUNK_AXLES] for at in range(0, len(asked), CHUNK_AXLES)]
    use = usage.table.loc[vehicle_ids]

    def rows_of(piece):
        return _some_axles(model, usage, use.iloc[piece], piece, next_visit_day, replace_at_mm, levels)

    rows = list(worked(rows_of, pieces))
    return Forecast(pd.concat(rows, ignore_index=True).set_index(asked))


def standard_draws(columns: int) -> np.ndarray:
    """Normal draws, shape (DRAWS, columns): every column has the exact normal quantiles in its own fixed random order."""
    from scipy.special import ndtri

    generator = np.random.default_rng(SEED)
    ranks = np.stack([generator.permutation(DRAWS) for _ in range(columns)], axis=1)
    return ndtri((ranks + 0.5) / DRAWS)


@dataclass(frozen=True)
class AxleDraws:
    """Draws of some axles' positions; b axles, m places for positions, S draws.

    ``log_rate, thickness_mm`` (b, S, m) at ``ref_km`` (b, m); ``wander`` (b, S, m), variance in mm2 per 10,000 km, in proportion to
    the position's own rate; ``there`` (b, m) whether the place holds a position; ``z`` (S, 5) the shared draws of wander (3) and use (2).
    """

    log_rate: np.ndarray
    thickness_mm: np.ndarray
    ref_km: np.ndarray
    wander: np.ndarray
    there: np.ndarray
    z: np.ndarray


def draw(model: SharedModel, axle_no: np.ndarray) -> AxleDraws:
    """Draw the positions of the given axles from their joint posterior."""
    most = model.covariance.shape[1] // 2
    positions = _of_axles(model.positions, axle_no)
    grid = {name: _grid(positions, axle_no, name, most) for name in ("log_rate", "thickness_mm", "ref_km")}
    there = np.isfinite(grid["log_rate"])
    mean = np.concatenate([grid["log_rate"], grid["thickness_mm"]], axis=1)
    both = np.concatenate([there, there], axis=1)
    covariance = model.covariance[axle_no].copy()
    line = np.arange(2 * most)
    covariance[:, line, line] += np.where(both, 1e-9, 1.0)
    factor = np.linalg.cholesky(covariance)
    z = standard_draws(2 * most + 5)
    drawn = np.where(both, mean, 0.0)[:, None, :] + z[:, : 2 * most] @ np.swapaxes(factor, 1, 2)
    wander = WANDER_AHEAD * model.scales["wander"] ** 2 * np.exp(drawn[:, :, :most])
    return AxleDraws(drawn[:, :, :most], drawn[:, :, most:], grid["ref_km"], wander, there, z[:, 2 * most :])


def _of_axles(positions, axle_no):
    """Rows of the positions table (in order of axle) of some axles, increasing."""
    begin, end = np.searchsorted(positions["axle_no"], [axle_no[0], axle_no[-1] + 1])
    near = positions.iloc[begin:end]
    return near[near["axle_no"].isin(axle_no)]


def _grid(positions, axle_no, name, most):
    """A column of these axles' positions as (b, m), NaN where the axle has fewer positions."""
    grid = np.full((len(axle_no), most), np.nan)
    grid[np.searchsorted(axle_no, positions["axle_no"]), positions["slot"]] = positions[name]
    return grid


def passage_km(draws: AxleDraws, gap_mm: np.ndarray, z: np.ndarray, u: np.ndarray) -> np.ndarray:
    """Distance until each position has lost ``gap_mm``, in km.

    Parameters
    ----------
    draws : AxleDraws
    gap_mm : ndarray, shape (b, S, m)
        A gap already passed (negative) gives the distance since, at the position's rate, as a negative number.
    z, u : ndarray, shape (S,)
        Standard normal and uniform draws.

    Returns
    -------
    ndarray, shape (b, S, m)
    """
    rate = np.exp(draws.log_rate)
    mean = gap_mm / rate
    with np.errstate(divide="ignore", invalid="ignore"):
        shape = gap_mm**2 / draws.wander
        y = (z**2)[None, :, None] * mean / shape
        small = mean * (1 + y / 2 - np.sqrt(y + y**2 / 4))
        first = np.where(u[None, :, None] <= mean / (mean + small), small, mean**2 / small)
    return np.where(gap_mm > 0, np.where(np.isfinite(first), first, mean), mean) * UNIT_KM


def ahead_mm(model: SharedModel, axle_no: int, slot: int, odometer_km: np.ndarray) -> np.ndarray:
    """Draws of one position's thickness at odometers after its last reading, shape (DRAWS, n)."""
    draws = draw(model, np.array([axle_no]))
    gone = (np.asarray(odometer_km) - draws.ref_km[0, slot]) / UNIT_KM
    wander = np.sqrt(draws.wander[0, :, slot, None] * gone) * draws.z[:, :1]
    return draws.thickness_mm[0, :, slot, None] - np.exp(draws.log_rate[0, :, slot, None]) * gone - wander


def _some_axles(model, usage, use, axle_no, next_visit_day, replace_at_mm, levels):
    from scipy.special import ndtr

    draws = draw(model, axle_no)
    most = draws.there.shape[1]
    positions = _of_axles(model.positions, axle_no)
    replace_at = _grid(positions, axle_no, "replace_at_mm", most)
    discard_at = _grid(positions, axle_no, "discard_at_mm", most)
    if replace_at_mm is not None:
        replace_at = np.where(draws.there, replace_at_mm, np.nan)
    z = draws.z
    due = draws.ref_km[:, None, :] + passage_km(draws, draws.thickness_mm - replace_at[:, None, :], z[:, 0], ndtr(z[:, 1]))
    left = np.broadcast_to((replace_at - discard_at)[:, None, :], due.shape)
    more = passage_km(draws, left, z[:, 2], ndtr(z[:, 1][::-1]))
    discard = due + more
    none = ~draws.there.any(axis=1)
    due = np.where(draws.there[:, None, :], due, np.inf)
    governing = np.argmin(due, axis=2)
    counts = (governing[:, :, None] == np.arange(most)).sum(axis=1)
    slot = np.argmax(counts, axis=1)
    due_km = np.where(none[:, None], np.nan, due.min(axis=2))
    discard_km = np.where(np.isfinite(discard), discard, np.inf).min(axis=2)
    discard_km = np.where(np.isfinite(discard_km), discard_km, np.nan)
    idle = (usage.as_of - use["last_date"]).dt.days.to_numpy(dtype=float)
    last_km, pace = use["last_km"].to_numpy()[:, None], use["km_per_day"].to_numpy()[:, None]
    own_sd = use["log_sd"].to_numpy()[:, None]

    def day_of(km):
        plain = (km - last_km) / pace
        ahead = np.maximum(plain, 0.0)
        return np.where(plain > 0, ahead * np.exp(-usage.log_sd(ahead, own_sd) * z[None, :, 3]), plain) - idle[:, None]

    next_day = next_visit_day[axle_no][:, None] + idle[:, None]
    next_km = last_km + pace * next_day * np.exp(usage.log_sd(next_day, own_sd) * z[None, :, 3])
    lane = np.arange(len(axle_no))
    rate = np.exp(draws.log_rate[lane, :, slot])
    here = last_km[:, 0] + pace[:, 0] * idle
    gone = (here - draws.ref_km[lane, slot])[:, None] / UNIT_KM
    thickness = draws.thickness_mm[lane, :, slot] - rate * gone
    named = positions.set_index(["axle_no", "slot"]).reindex(pd.MultiIndex.from_arrays([axle_no, slot]))
    early, middle, late = np.quantile(due_km, levels, axis=1)
    day_early, day_middle, day_late = np.quantile(day_of(due_km), levels, axis=1)
    risk = np.where(np.isnan(discard_km).any(axis=1), np.nan, (discard_km <= next_km).mean(axis=1))
    return pd.DataFrame(
        {
            "governing_part": named["part"].to_numpy(), "governing_side": named["side"].to_numpy(), "governing_slot": slot,
            "thickness_mm": np.maximum(np.median(thickness, axis=1), 0.0), "rate_mm_per_10000km": np.median(rate, axis=1),
            "due_km": middle, "due_early_km": early, "due_late_km": late, "due_day": day_middle, "due_day_early": day_early,
            "due_day_late": day_late, "discard_early_km": np.quantile(discard_km, 0.1, axis=1), "risk": risk,
        }
    )  # fmt: skip
