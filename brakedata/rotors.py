"""Whether a rotor (drum) will outlast the linings on it, the next set, and the one after.

A rotor is worn by the same braking as its lining, so its wear is counted in mm per mm of lining worn::

    size left = level - exp(cell + axle) * lining worn - cuts + what the drive took unevenly + reading error

- level: the new size where fitting is known, else whatever its readings say; a cut (machining) is a step down, not wear.
- cell: log of the wear per mm of lining for the part, wear class and axle, drawn toward ``PRIOR_PER_MM``; axle: how this axle
  differs, normal, its spread estimated over the fleet.
- lining worn between two odometers: the side's own lining rate (shared model) times the distance, each life of the axle's linings
  scaled to what its last readings say was worn. What that leaves uneven within a life is a Brownian motion. How surely the rate of
  a life that was not measured is known blurs what rotor readings tell, and nothing that lies ahead: sets ahead count by the mm.

A drum grows: its diameter is taken with the sign turned. The linings' draws are those of the forecast; each further set is drawn
anew, from new down to ``replace_at``, and how far lives differ falls out, because the rotor is worn by the mm, not by the km.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata import codes, limits
from brakedata.forecast import draw, passage_km, standard_draws
from brakedata.schedule import Schedule, newest_fitted
from brakedata.shared_model import UNIT_KM, gauge_step
from brakedata.shown import Shown, chance_text, count_text

SETS = ("this_set", "next_set", "one_after")
"""The linings on the axle now, those fitted when they are due, and those fitted after these."""
PRIOR_PER_MM = {"rotor": 0.12, "drum": 0.15}
"""mm of rotor thickness or drum diameter per mm of lining worn, where nothing is known: 2 mm of rotor over two sets of pads of
8 mm each; drums about as much (derived from trade lives; common practice, no source)."""
PRIOR_LOG_SD = 0.5
CELL_LOG_SD = 0.3
AXLE_LOG_SDS = np.exp(np.linspace(np.log(0.02), np.log(0.5), 24))
"""Spreads between axles that are tried."""
AXLE_PRIOR = (0.15, 0.6)
"""Centre and log spread of the prior of that spread (common practice, no source)."""
SET_LOG_SD = 0.05
"""How far sets of linings differ in what they take off a rotor per mm of their own (common practice, no source)."""
NEW_SD_MM = 0.05
UNKNOWN_SD_MM = 20.0
CUT_MM, CUT_SD_MM = 0.35, 0.15
"""One machining, both faces together (drums: diameter): 0.25 to 0.38 mm (common practice, no source)."""
REPEAT_MM = 0.05
"""Repeat error of a rotor micrometer or drum gauge in the shop (common practice, no source)."""
LEAST_WORN_MM = 1.0
"""A life of linings is scaled by its readings where they say that so much was worn."""
UNEVEN = 0.33
"""Share of the linings' own wander that stays uneven between the readings of a life."""
BLUR_MEASURED = 0.1
"""Share of the rate's posterior variance that blurs a life scaled by its readings."""
OWN_SHARE = 0.5
CHUNK_AXLES = 400
PASSES = 4


@dataclass(frozen=True)
class Rotors:
    """What is known of a fleet's rotors and drums, and what is expected of them.

    Attributes
    ----------
    axle_log_sd : float
        Estimated spread between axles of wear per mm of lining.
    """

    made: Schedule
    sides: pd.DataFrame
    known: pd.DataFrame
    fitted: "_Fitted"

    @property
    def axle_log_sd(self) -> float:
        """Estimated spread between axles of the log of wear per mm of lining."""
        return self.fitted.axle_log_sd

    def outlook(self, axle_no=None) -> pd.DataFrame:
        """Chances of the rotors or drums of some axles; fixed draws, and an axle's answer does not depend on which others are asked.

        Parameters
        ----------
        axle_no : array of int, optional
            Places in ``lives.axles``, increasing; default all.

        Returns
        -------
        DataFrame, index ``axle_no``
            ``vehicle_id, axle, part`` (rotor, drum), ``discard_at_mm, machine_to_mm``; ``size_mm, size_low_mm, size_high_mm`` (of the side
            nearest its limit, at the as-of date: median, and eight times in ten between); ``outlasts_this_set, outlasts_next_set,
            outlasts_one_after`` (chance that both sides are still inside discard_at when those linings are due); ``machinable`` (that
            both could be machined once when this set is due and stay inside machine_to), ``machined_outlasts_next_set``;
            ``per_lining_mm`` (median wear per mm of lining), ``basis`` (own, shared, fleet), ``readings`` (of these rotors; with none,
            their fitting is known), ``reason`` (why nothing can be said; empty otherwise).
        """
        table = self.known if axle_no is None else self.known.loc[axle_no]
        asked = table.index[table["reason"].eq("")].to_numpy()
        pieces = [asked[at : at + CHUNK_AXLES] for at in range(0, len(asked), CHUNK_AXLES)]
        told = [_chances(self.made, self.known, self.sides, self.fitted, some) for some in pieces]
        return table.join(pd.concat(told)) if told else table.assign(**dict.fromkeys((*SIZES, *CHANCES), np.nan))


def fit(made: Schedule) -> Rotors:
    """Estimate how hard each axle wears its rotors (drums), and how big they are now.

    Parameters
    ----------
    made : Schedule

    Returns
    -------
    Rotors
    """
    chains = _chains(made)
    sides = _sides(made, chains)
    clock = _Clock(made)
    rows = _placed(_readings(made, sides, chains), clock)
    sides = _placed(sides, clock, rows)
    fitted = _fit(rows, sides, made.model, clock.measured)
    return Rotors(made, sides, _known(made, sides, rows, fitted), fitted)


# --- what is known of each side's rotor or drum -----------------------------------------------------------------------


def fitted(made: Schedule) -> pd.DataFrame:
    """When each rotor or drum was fitted or machined, as far as the records say.

    Returns
    -------
    DataFrame
        Index ``life_id``: ``vehicle_id, axle, family, side, start_date, start_km``, ``now`` (it is the one now fitted) and ``words``
        (``replaced``, ``machined``; empty where the life does not begin with a job).
    """
    chains = _chains(made)
    job, first = chains["start_kind"].eq("job"), ~chains.duplicated("chain")
    now = chains["chain"].isin(chains.loc[chains["end_kind"].eq("running"), "chain"])
    words = np.select([job & first, job], ["replaced", "machined"], "")
    return chains[["vehicle_id", "axle", "family", "side", "start_date", "start_km"]].assign(now=now, words=words)


def _chains(made: Schedule) -> pd.DataFrame:
    """Lives of rotors and drums, index ``life_id``, with the ``chain`` each belongs to: a machined part goes on, a replaced one
    begins a new chain. ``cuts`` is how often it was machined before, ``known`` whether it was new at ``origin_km``."""
    lives = made.lives.lives
    lives = lives[lives["family"].isin(("rotor", "drum"))]
    machined = lives["start_kind"].eq("job").to_numpy() & ~_replaced(made, lives)
    place = lives.groupby(["vehicle_id", "axle", "family", "side"], sort=False).cumcount().to_numpy()
    chain = np.cumsum(~(machined & (place > 0)))
    lives = lives.assign(chain=chain, cuts=lives.groupby(chain).cumcount())
    first = lives.groupby("chain")[["start_kind", "start_km"]].transform("first")
    new = first["start_kind"].isin(("job", "new_vehicle")) & first["start_km"].notna()
    return lives.assign(known=new, origin_km=first["start_km"].where(new))


def _replaced(made, lives) -> np.ndarray:
    """Whether each life begins with a recorded replacement (and not with machining alone)."""
    work = made.records.work
    work = work[work["part"].isin(("rotor", "drum")) & work["action"].eq("replaced")]
    when = ["vehicle_id", "axle", "part", "date"]
    asked = lives[["vehicle_id", "axle", "family", "start_date"]].set_axis(when, axis=1)
    out = np.zeros(len(lives), dtype=bool)
    for side in ("left", "right", ""):
        mine = lives["side"].eq(side).to_numpy()
        done = work[work["side"].isin((side, "both"))] if side else work
        out[mine] = pd.MultiIndex.from_frame(asked[mine]).isin(pd.MultiIndex.from_frame(done[when]))
    return out


def _sides(made: Schedule, chains) -> pd.DataFrame:
    """One row a rotor or drum now fitted: ``axle_no, side, family``, limits, ``chain, cuts, known, origin_km``, and the mean log rate
    of its lining, ``log_rate``, at ``ref_km``.

    Of an axle whose rotors no record names, they are the first ones where the vehicle's first linings are still on.
    """
    axles = made.lives.axles.assign(axle_no=np.arange(len(made.lives.axles)))
    axles["family"] = np.where(axles["lining"].eq("pad"), "rotor", "drum")
    asked = axles.assign(measure=np.where(axles["family"].eq("drum"), "diameter", "thickness"))
    names = ["new_mm", "discard_at_mm", "machine_to_mm"]
    axles[names] = limits.resolve(made.records.limits, asked)[names].to_numpy()
    now = chains.loc[
        chains["end_kind"].eq("running"), ["vehicle_id", "axle", "family", "side", "chain", "cuts", "known", "origin_km"]
    ]
    sides = axles.merge(now, on=["vehicle_id", "axle", "family"], how="left")
    bare = sides["chain"].isna().to_numpy()
    both = sides[bare].drop(columns="side").merge(pd.DataFrame({"side": ["left", "right"]}), how="cross")
    start = _first_fitting(made).reindex(pd.MultiIndex.from_frame(both[["vehicle_id", "axle"]])).to_numpy()
    both = both.assign(origin_km=start, known=np.isfinite(start), cuts=0, chain=-1 - np.arange(len(both)))
    sides = pd.concat([sides[~bare], both], ignore_index=True).sort_values(["axle_no", "side"], kind="stable", ignore_index=True)
    sides["known"] = sides["known"].astype(bool) & sides["new_mm"].notna()
    positions = made.model.positions
    axle = positions.groupby("axle_no")[["log_rate", "ref_km"]].mean().reindex(sides["axle_no"])
    own = positions.groupby(["axle_no", "side"])["log_rate"].mean().reindex(pd.MultiIndex.from_frame(sides[["axle_no", "side"]]))
    return sides.assign(
        log_rate=own.fillna(pd.Series(axle["log_rate"].to_numpy(), own.index)).to_numpy(), ref_km=axle["ref_km"].to_numpy()
    )


def _first_fitting(made) -> pd.Series:
    """Odometer at which the first linings were fitted, by vehicle and axle, where they are still on and the vehicle joined new."""
    lives = made.lives.lives
    first = lives[lives["family"].eq("lining") & lives["start_kind"].eq("new_vehicle") & lives["end_kind"].eq("running")]
    return first.groupby(["vehicle_id", "axle"])["start_km"].first()


def _readings(made: Schedule, sides, chains) -> pd.DataFrame:
    """Rotor and drum readings with their side's ``axle_no`` and ``log_rate``, their chain, ``left_mm`` (the size, signed so that wear
    makes it less) and ``noise`` (variance)."""
    seen = made.lives.coded_readings
    seen = codes.plain(seen[seen["family"].isin(("rotor", "drum"))])
    life = chains.loc[seen["life_id"], ["chain", "cuts", "known", "origin_km"]].set_index(seen.index)
    rows = pd.concat([seen, life], axis=1)
    mine = sides[["vehicle_id", "axle", "family", "side", "axle_no", "log_rate", "new_mm"]]
    rows = rows.merge(mine, on=["vehicle_id", "axle", "family", "side"])
    rows["known"] &= rows["new_mm"].notna()
    noise = gauge_step(rows) ** 2 / 12 + REPEAT_MM**2
    return rows.assign(left_mm=_sign(rows["family"]) * rows["value_mm"], noise=noise, ref_km=rows["odometer_km"])


class _Clock:
    """Distance driven by each axle, 10,000 km, a life of its linings counting by how hard it wore beside the running life's rate.

    Attributes
    ----------
    measured : ndarray of bool, shape (A,)
        Whether the running life's own readings say how hard it wore.
    """

    def __init__(self, made: Schedule):
        axles = pd.MultiIndex.from_frame(made.lives.axles[["vehicle_id", "axle"]])
        lives = made.lives.lives
        lives = lives[lives["family"].eq("lining") & lives["start_km"].notna()].drop_duplicates("axle_life_id")
        harder = _harder(made)
        place = axles.get_indexer(pd.MultiIndex.from_frame(lives[["vehicle_id", "axle"]]))
        running = lives["end_kind"].eq("running").to_numpy() & (place >= 0) & lives["axle_life_id"].isin(harder.index).to_numpy()
        self.measured = np.zeros(len(axles), dtype=bool)
        self.measured[place[running]] = True
        order = np.lexsort([lives["start_km"].to_numpy(), place])
        order = order[place[order] >= 0]
        self._place, self._start = place[order], lives["start_km"].to_numpy()[order]
        self._pace = np.exp(lives["axle_life_id"].map(harder).fillna(0.0).to_numpy()[order])
        first = np.append(True, self._place[1:] != self._place[:-1]) if len(order) else np.zeros(0, dtype=bool)
        gone = np.where(first, self._start, np.append(0.0, np.diff(self._start) * self._pace[:-1])[: len(order)])
        total = np.cumsum(gone)
        self._gone = total - (total - gone)[np.maximum.accumulate(np.where(first, np.arange(len(order)), 0))]

    def at(self, axle_no, km) -> np.ndarray:
        """Distance counted up to ``km`` (n,) of the axles ``axle_no`` (n,)."""
        km = np.asarray(km, dtype=float)
        if not len(self._place):
            return km / UNIT_KM
        span = 1.0 + max(self._start.max(), np.nanmax(km, initial=0.0))
        at = np.searchsorted(self._place * span + self._start, np.asarray(axle_no) * span + np.nan_to_num(km), side="right") - 1
        at = np.maximum(at, 0)
        inside = self._place[at] == axle_no
        return np.where(inside, self._gone[at] + (km - self._start[at]) * self._pace[at], km) / UNIT_KM


def _harder(made) -> pd.Series:
    """By axle_life_id: log of how much harder a life of linings wore, by its last readings, than the running life's rate says."""
    seen, positions = made.model.readings, made.model.positions
    seen = seen[seen["known_start"] & ~seen["misfit"]]
    rate = positions[["vehicle_id", "axle", "side", "part", "log_rate"]]
    seen = seen.merge(rate, on=["vehicle_id", "axle", "side", "part"])
    last = seen[seen["odometer_km"].eq(seen.groupby("axle_life_id")["odometer_km"].transform("max"))]
    worn = last["new_mm"] - last["fitted_mm"]
    last = last[(worn > LEAST_WORN_MM) & (last["odometer_since"] > 0)]
    return (
        np.log((worn / last["odometer_since"]).loc[last.index] / np.exp(last["log_rate"]))
        .groupby(last["axle_life_id"])
        .mean()
        .clip(-0.7, 0.7)
    )


def _placed(frame, clock, rows=None):
    """With ``lining_mm`` worn at ``ref_km`` since the chain's origin, and ``mean_mm`` and ``level_sd`` of its size there.

    A chain that was not known to be new begins at its first reading, as big as its biggest.
    """
    seen = (frame if rows is None else rows).groupby("chain").agg(first=("odometer_km", "min"), biggest=("left_mm", "max"))
    seen = seen.reindex(frame["chain"])
    known = frame["known"].to_numpy(dtype=bool)
    origin = np.where(known, frame["origin_km"], seen["first"])
    gone = clock.at(frame["axle_no"].to_numpy(), frame["ref_km"]) - clock.at(frame["axle_no"].to_numpy(), origin)
    lining = np.exp(frame["log_rate"].to_numpy()) * np.maximum(gone, 0.0)
    return frame.assign(
        origin_km=origin, lining_mm=lining, mean_mm=np.where(known, _sign(frame["family"]) * frame["new_mm"], seen["biggest"]),
        level_sd=np.where(known, NEW_SD_MM, UNKNOWN_SD_MM),
    )  # fmt: skip


def _sign(family) -> np.ndarray:
    return np.where(family == "drum", -1.0, 1.0)


# --- wear per mm of lining, and the size now --------------------------------------------------------------------------


@dataclass(frozen=True)
class _Fitted:
    """By axle, A of them with at most 2 sides each.

    ``seen`` is the log of the wear per mm of lining as the lining's estimated rate makes it look, with its standard deviation
    ``seen_sd``; the log itself is ``mean + share * (seen - mean)`` with standard deviation ``apart_sd``. ``told`` is the share of the
    prior variance of ``seen`` that the axle's own readings took. Given ``seen``, each side's signed size at ``ref_km`` is
    ``left_mm`` plus ``slope_mm`` a log more, with the covariance of what then is still unknown. ``side``: place in ``sides``, -1 none.
    """

    seen: np.ndarray
    seen_sd: np.ndarray
    mean: np.ndarray
    share: np.ndarray
    apart_sd: np.ndarray
    told: np.ndarray
    left_mm: np.ndarray
    slope_mm: np.ndarray
    covariance: np.ndarray
    side: np.ndarray
    axle_log_sd: float


def _fit(rows, sides, model, measured) -> _Fitted:
    """Estimate, going over to the linearisation about each axle's own value until it settles."""
    axles, scales = int(sides["axle_no"].max()) + 1, model.scales
    row_at, side_at = _padded(rows["axle_no"].to_numpy(), axles), _padded(sides["axle_no"].to_numpy(), axles)
    first = sides.drop_duplicates("axle_no")
    prior = np.log(first["family"].map(PRIOR_PER_MM).to_numpy())
    cell = pd.factorize(first["family"] + "|" + first["wear_class"] + "|" + first["axle"])[0]
    uneven = UNEVEN * scales["wander"] ** 2
    blur = np.where(measured, BLUR_MEASURED, 1.0) * _rate_variance(model)
    seen, moved = prior.copy(), np.zeros(axles)
    for _ in range(PASSES):
        told, away, star = _given(rows, sides, row_at, side_at, seen, uneven)
        clear = told / (1 + told * blur)
        sd = _axle_spread(clear, away, prior, cell)
        mean, variance = _cells(clear, away, prior, cell, sd)
        own = sd**2 + variance
        weight = told * (own + blur) / (1 + told * (own + blur))
        estimate = np.clip(mean + weight * (away - mean), prior - 1.5, prior + 1.5)
        moved, seen = estimate - seen, estimate
    return _Fitted(
        seen, np.sqrt((own + blur) * (1 - weight)), mean, own / (own + blur), np.sqrt(own * blur / (own + blur)), weight,
        star["left"] + star["slope"] * moved[:, None], star["slope"], star["covariance"], side_at, sd,
    )  # fmt: skip


def _rate_variance(model) -> np.ndarray:
    """Posterior variance of the mean log rate of each axle's positions."""
    axles, most = len(model.covariance), model.covariance.shape[1] // 2
    weight = np.zeros((axles, most))
    weight[model.positions["axle_no"], model.positions["slot"]] = 1.0
    weight /= np.maximum(weight.sum(axis=1, keepdims=True), 1.0)
    return np.einsum("ai,aij,aj->a", weight, model.covariance[:, :most, :most], weight)


def _padded(group, groups) -> np.ndarray:
    """Places of the members of each group, shape (groups, most), -1 where there are fewer."""
    order = np.argsort(group, kind="stable")
    count = np.bincount(group, minlength=groups)
    inside = np.arange(max(count.max(initial=0), 1)) < count[:, None]
    out = np.full(inside.shape, -1)
    out[inside] = order
    return out


def _given(rows, sides, row_at, side_at, log_per_mm, uneven):
    """Given the log wear per mm of lining to linearise about: how precisely the axle's own readings tell it, what they say, and
    the size of each side at ``ref_km``; all axles at once, in pieces."""
    pieces = [
        _some_given(
            rows, sides, row_at[at : at + CHUNK_AXLES], side_at[at : at + CHUNK_AXLES], log_per_mm[at : at + CHUNK_AXLES], uneven
        )
        for at in range(0, len(row_at), CHUNK_AXLES)
    ]
    told, away = (np.concatenate([piece[name] for piece in pieces]) for name in ("told", "away"))
    return told, away, {name: np.concatenate([piece[name] for piece in pieces]) for name in ("left", "slope", "covariance")}


def _some_given(rows, sides, row_at, side_at, log_per_mm, uneven):
    y, star = _taken(rows, row_at), _taken(sides, side_at)
    per_mm = np.exp(log_per_mm)[:, None]
    worn, star_worn = per_mm * y["lining_mm"], per_mm * star["lining_mm"]
    k = _covariance(y, y, per_mm, uneven)
    n = np.arange(row_at.shape[1])
    k[:, n, n] += np.where(row_at >= 0, _taken(rows, row_at, "noise"), 1.0)
    inverse = np.linalg.inv(k)
    away_mm = np.where(row_at >= 0, _taken(rows, row_at, "left_mm") - y["mean_mm"] + CUT_MM * y["cuts"] + worn, 0.0)
    told = np.einsum("bi,bij,bj->b", worn, inverse, worn)
    pull = np.einsum("bi,bij,bj->b", worn, inverse, away_mm)
    with np.errstate(divide="ignore", invalid="ignore"):
        away = log_per_mm - np.where(told > 0, pull / told, 0.0)
    cross = _covariance(star, y, per_mm, uneven)
    weights = cross @ inverse
    return {
        "told": told, "away": away,
        "left": star["mean_mm"] - CUT_MM * star["cuts"] - star_worn + np.einsum("bmn,bn->bm", weights, away_mm),
        "slope": -star_worn + np.einsum("bmn,bn->bm", weights, worn),
        "covariance": _covariance(star, star, per_mm, uneven) - weights @ np.swapaxes(cross, 1, 2),
    }  # fmt: skip


def _taken(frame, at, name=None):
    """Columns of ``frame`` at ``at``, shape (b, n); zero at padding."""
    if name is not None:
        values = frame[name].to_numpy(dtype=float)
        return np.where(at >= 0, values[at], 0.0) if len(values) else np.zeros(at.shape)
    names = ("lining_mm", "cuts", "mean_mm", "level_sd", "chain", "origin_km")
    return {name: _taken(frame, at, name) for name in names} | {"inside": at >= 0}


def _covariance(left, right, per_mm, uneven):
    """What two sizes of one axle have in common, the wear per mm of lining apart: level and cuts of the chain, uneven wear."""

    def pairs(name, of):
        return of(left[name][:, :, None], right[name][:, None, :])

    both = left["inside"][:, :, None] & right["inside"][:, None, :]
    chain = both & pairs("chain", np.equal)
    together = both & pairs("origin_km", np.equal)
    own = pairs("level_sd", np.multiply) + CUT_SD_MM**2 * pairs("cuts", np.minimum)
    return chain * own + together * uneven * per_mm[:, :, None] ** 2 * pairs("lining_mm", np.minimum)


def _axle_spread(told, away, prior, cell) -> float:
    """Spread between axles: the root of its mean square over ``AXLE_LOG_SDS``, each as likely as the readings and the prior say."""
    costs = []
    for sd in AXLE_LOG_SDS:
        mean, _ = _cells(told, away, prior, cell, sd)
        seen = told > 0
        variance = sd**2 + 1 / told[seen]
        cost = (np.log(variance) + (away - mean)[seen] ** 2 / variance).sum()
        costs.append(cost + (np.log(sd / AXLE_PRIOR[0]) / AXLE_PRIOR[1]) ** 2)
    likely = np.exp(-(np.array(costs) - min(costs)) / 2)
    return float(np.sqrt((likely @ AXLE_LOG_SDS**2) / likely.sum()))


def _cells(told, away, prior, cell, axle_log_sd):
    """Mean and variance of each axle's cell: cells drawn toward the mean of their part, and that toward the prior."""
    weight = np.where(told > 0, told / (1 + told * axle_log_sd**2), 0.0)
    total = np.bincount(cell, weight)
    own = np.bincount(cell, weight * away) / np.maximum(total, 1e-12)
    of_cell = np.zeros(len(total))
    of_cell[cell] = prior
    part = np.unique(of_cell, return_inverse=True)[1]
    trust = total / (1 + total * CELL_LOG_SD**2)
    part_precision = np.bincount(part, trust) + 1 / PRIOR_LOG_SD**2
    part_mean = ((np.bincount(part, trust * (own - of_cell)) / part_precision)[part]) + of_cell
    share = total * CELL_LOG_SD**2 / (1 + total * CELL_LOG_SD**2)
    mean = part_mean + share * (own - part_mean)
    variance = CELL_LOG_SD**2 * (1 - share) + (1 - share) ** 2 / part_precision[part]
    return mean[cell], variance[cell]


# --- answers ----------------------------------------------------------------------------------------------------------


def _changed_unrecorded(made, sides, rows) -> pd.Series:
    """By axle: whether its linings were changed without a record after the last that is known of its rotors."""
    lives = made.lives.lives
    change = lives[lives["family"].eq("lining") & lives["start_kind"].eq("jump")]
    change = change.groupby(["vehicle_id", "axle"])["start_high_km"].max()
    read = rows.groupby("chain")["odometer_km"].max().reindex(sides["chain"]).to_numpy()
    known = (
        sides.assign(km=np.fmax(read, sides["origin_km"]))
        .groupby("axle_no")
        .agg({"vehicle_id": "first", "axle": "first", "km": "min"})
    )
    return known["km"] < change.reindex(pd.MultiIndex.from_frame(known[["vehicle_id", "axle"]])).set_axis(known.index)


CHANCES = ("outlasts_this_set", "outlasts_next_set", "outlasts_one_after", "machinable", "machined_outlasts_next_set")
SIZES = ("size_mm", "size_low_mm", "size_high_mm", "per_lining_mm")


def _known(made, sides, rows, fitted) -> pd.DataFrame:
    """One row an axle, its chances still to come."""
    first = sides.drop_duplicates("axle_no").set_index("axle_no")
    table = first[["vehicle_id", "axle", "family", "discard_at_mm", "machine_to_mm"]].rename(columns={"family": "part"})
    of_this = rows["chain"].isin(sides["chain"])
    table["readings"] = rows[of_this].groupby("axle_no").size().reindex(table.index).fillna(0).astype(int)
    placed = (sides["known"] | sides["chain"].isin(rows["chain"])).groupby(sides["axle_no"]).all()
    reasons = {
        "no odometer of this vehicle can be believed": made.forecast.axles["due_km"].isna(),
        "the limits table has no discard_at for it": table["discard_at_mm"].isna(),
        "never measured, and its fitting is not recorded; one reading a side settles it": ~placed,
        "linings were changed since without a record, and it may have been changed with them; one reading a side settles it":
            _changed_unrecorded(made, sides, rows),
    }  # fmt: skip
    table["reason"] = np.select(list(reasons.values()), list(reasons), "")
    answered = table["reason"].eq("")
    basis = np.select([table["readings"].eq(0), fitted.told >= OWN_SHARE], ["fleet", "own"], "shared")
    return table.assign(basis=np.where(answered, basis, ""))


def _chances(made, table, sides, fitted, axle_no) -> pd.DataFrame:
    """Draws of the linings on the axles now, of the two sets after them, and of the rotors under them.

    b axles, S draws, m lining positions, 2 sides; a clock is lining worn in terms of an axle's own rate (10,000 km at that rate).
    """
    draws = draw(made.model, axle_no)
    most = draws.there.shape[1]
    z = standard_draws(4 * most + 5 + 9)[:, 2 * most + 5 :]
    (look, apart, cut, uneven), sets, unknown, starts = z[:, :4].T, z[:, 4:7], z[:, 7:9], z[:, 9:].reshape(len(z), 2, most)
    by_slot = made.model.positions.set_index(["axle_no", "slot"]).reindex(pd.MultiIndex.from_product([axle_no, range(most)]))
    new, replace_at = (by_slot[name].to_numpy(dtype=float).reshape(-1, 1, most) for name in ("new_mm", "replace_at_mm"))
    gone = _gone(made, sides, axle_no)
    clocks = [np.maximum(_running_clock(draws, replace_at), gone)]
    for set_no in range(2):
        left = new + made.model.scales["start_mm"] * starts[:, set_no] - replace_at
        one = np.where(draws.there[:, None, :], left / np.exp(draws.log_rate), np.inf)
        clocks.append(np.maximum(one.min(axis=2), 0.0))
    own = _positions_of_sides(sides, fitted.side[axle_no], by_slot["side"].to_numpy().reshape(-1, most), draws.there)
    rate = np.exp(np.einsum("bsm,bkm->bsk", np.where(draws.there[:, None, :], draws.log_rate, 0.0), own))
    seen = fitted.seen[axle_no][:, None] + fitted.seen_sd[axle_no][:, None] * look
    mean, share, apart_sd = (values[axle_no][:, None] for values in (fitted.mean, fitted.share, fitted.apart_sd))
    log_per_mm = mean + share * (seen - mean) + apart_sd * apart
    size = _sizes_at_ref(fitted, axle_no, seen, unknown)
    per_clock = np.exp(log_per_mm)[:, :, None] * rate
    lately = gone[:, :, None] * rate
    now = size - np.exp(log_per_mm)[:, :, None] * (lately + made.model.scales["wander"] * np.sqrt(lately) * uneven[:, None])
    there = []
    for set_no, clock in enumerate(clocks):
        size = size - per_clock * (clock * np.exp(SET_LOG_SD * sets[:, set_no]))[:, :, None]
        there.append(size)
    cut = np.maximum(CUT_MM + CUT_SD_MM * cut, 0.0)[None, :, None]
    return _told(table.loc[axle_no], fitted.side[axle_no] >= 0, now, there, cut, log_per_mm)


def _gone(made, sides, axle_no):
    """Distance from the linings' last reading to the as-of date, 10,000 km, shape (b, 1)."""
    ref_km = sides.drop_duplicates("axle_no").set_index("axle_no")["ref_km"].loc[axle_no].to_numpy()
    here_km = made.usage.table["odometer_km"].reindex(made.lives.axles["vehicle_id"].iloc[axle_no]).to_numpy()
    return np.maximum(here_km - ref_km, 0.0)[:, None] / UNIT_KM


def _running_clock(draws, replace_at):
    """Clock from the last reading until the first position is due, shape (b, S)."""
    from scipy.special import ndtr

    gap = draws.thickness_mm - replace_at
    due = draws.ref_km[:, None, :] + passage_km(draws, gap, draws.z[:, 0], ndtr(draws.z[:, 1]))
    first = np.argmin(np.where(draws.there[:, None, :], due, np.inf), axis=2)[:, :, None]
    clock = np.take_along_axis(gap, first, axis=2) / np.exp(np.take_along_axis(draws.log_rate, first, axis=2))
    return np.maximum(clock[:, :, 0], 0.0)


def _positions_of_sides(sides, side_at, side_of_position, there):
    """Weights of the lining positions in the mean of each side, shape (b, 2, m): its own, or all where sides are not told apart."""
    name = np.where(side_at >= 0, sides["side"].to_numpy()[side_at], "")
    own = (name[:, :, None] == side_of_position[:, None, :]) & there[:, None, :]
    own = np.where(own.any(axis=2, keepdims=True), own, there[:, None, :])
    return own / own.sum(axis=2, keepdims=True)


def _sizes_at_ref(fitted, axle_no, seen, unknown):
    """Sizes of the sides at the linings' last reading, signed, shape (b, S, 2)."""
    places = fitted.left_mm.shape[1]
    factor = np.linalg.cholesky(fitted.covariance[axle_no] + 1e-9 * np.eye(places))
    away = (seen - fitted.seen[axle_no][:, None])[:, :, None] * fitted.slope_mm[axle_no][:, None, :]
    return fitted.left_mm[axle_no][:, None, :] + away + unknown[:, :places] @ np.swapaxes(factor, 1, 2)


def _told(rows, there, now, at_changes, cut, log_per_mm) -> pd.DataFrame:
    """Chances and sizes of the draws: an axle's answer is that of both its sides."""
    sign = _sign(rows["part"].to_numpy())[:, None]

    def both(sizes, limit):
        inside = (sizes > (sign * rows[limit].to_numpy()[:, None])[:, :, None]) | ~there[:, None, :]
        return np.where(rows[limit].notna(), inside.all(axis=2).mean(axis=1), np.nan)

    worst = np.where(there[:, None, :], now, np.inf).min(axis=2)
    middle, *edges = np.quantile(worst, (0.5, 0.1, 0.9), axis=1) * sign[:, 0]
    low, high = np.sort(edges, axis=0)
    return pd.DataFrame(
        {
            "size_mm": middle, "size_low_mm": low, "size_high_mm": high, "per_lining_mm": np.median(np.exp(log_per_mm), axis=1),
            **{name: both(size, "discard_at_mm") for name, size in zip(CHANCES, at_changes)},
            "machinable": both(at_changes[0] - cut, "machine_to_mm"),
            "machined_outlasts_next_set": both(at_changes[1] - cut, "discard_at_mm"),
        },
        index=rows.index,
    )  # fmt: skip


LEAST_MACHINABLE = 0.05
"""A lesser chance to stay inside the machining limit is none worth planning with."""


def sentences(row: pd.Series, shown: Shown | None = None) -> list[str]:
    """What the outlook says of one axle, in plain sentences.

    Parameters
    ----------
    row : Series
        A row of ``Rotors.outlook``.
    shown : Shown, optional
        Units to speak in; default km and mm.
    """
    shown, part = shown or Shown(), row["part"]
    if row["reason"]:
        return [f"No outlook for the {part}s: {row['reason']}."]
    limit, size = shown.thickness_text(row["discard_at_mm"]), shown.thickness_text(row["size_mm"])
    inside = "smaller" if part == "drum" else "thicker"
    sign = _sign(part)
    past = sign * row["size_mm"] <= sign * row["discard_at_mm"]
    said = [
        f"The {part} nearer its limit is estimated at {size} now (8 times in 10 "
        f"{shown.thickness_text(row['size_low_mm'])} to {shown.thickness_text(row['size_high_mm'])}); {_leans_on(row)}.",
        f"Chance that both {part}s are still {inside} than the discard limit ({limit}) when the linings on them "
        f"now are due: {chance_text(row['outlasts_this_set'])}; when the next set is due: {chance_text(row['outlasts_next_set'])}; "
        f"and the set after: {chance_text(row['outlasts_one_after'])}.",
    ]
    if past:
        said.insert(
            0,
            f"By this estimate a {part} is probably at or past its discard limit ({limit}) already: measure both before anything else; "
            "machining is no way out. The mark on the part and the vehicle's service information decide.",
        )
    elif pd.notna(row["machinable"]) and row["machinable"] < LEAST_MACHINABLE:
        said.append(
            f"Too near the machining limit ({shown.thickness_text(row['machine_to_mm'])}) to be machined: chance that both stay {inside} "
            f"than it, if machined once at the next change: {chance_text(row['machinable'])}."
        )
    elif pd.notna(row["machinable"]):
        said.append(
            f"If both are machined once at the next change: chance that they stay {inside} than the machining limit "
            f"({shown.thickness_text(row['machine_to_mm'])}): {chance_text(row['machinable'])}; that they then outlast the next set: "
            f"{chance_text(row['machined_outlasts_next_set'])}."
        )
    return said


def parking_sentences(made: Schedule, vehicle_id: str, axle: str, shown: Shown | None = None) -> list[str]:
    """What was last read of an axle's parking-brake shoes, in plain sentences; none where they were never read.

    They wear when the brake is set rolling or drags, and not by distance (common practice, no source): nothing is forecast of them.
    """
    shown, read = shown or Shown(), newest_fitted(made.records, made.lives, ("park_brake",))
    read = read[read["vehicle_id"].eq(vehicle_id) & read["axle"].eq(axle)].sort_values("side", kind="stable")
    if not len(read):
        return []
    each = [
        f"{side or 'whole axle'} {shown.thickness_text(mm)} on {date:%Y-%m-%d} ({count_text(count, 'reading')})"
        for side, mm, date, count in read[["side", "value_mm", "date", "count"]].itertuples(index=False)
    ]
    limit = read["discard_at_mm"].iloc[0]
    against = (
        f"discard_at {shown.thickness_text(limit)}"
        if pd.notna(limit)
        else "the limits table has no discard_at for shoes of this axle"
    )
    past = ", ".join(read.loc[read["past"], "side"].replace("", "whole axle"))
    said = [
        f"Parking-brake shoes, last read: {'; '.join(each)}; {against}. They wear by how that brake is used, not by distance, so nothing "
        "is forecast of them: measure them when the drum is off."
    ]
    return [f"Parking-brake shoes at or under discard_at ({past}): inspect now.", *said] if past else said


def _leans_on(row) -> str:
    count = count_text(int(row["readings"]), "reading")
    return {
        "own": f"{count} of these {row['part']}s carry it",
        "shared": f"{count} of these {row['part']}s and the wear of like axles carry it together",
        "fleet": "never measured since they were fitted; it leans on like axles",
    }[row["basis"]]
