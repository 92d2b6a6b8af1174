"""Linings that change level all at once, by the ratio of two units: a column whose unit changed and whose heading did not.

Every lining is compared with its own reading before, less what it should have worn since. Wear, rounding and new linings scatter those
ratios; only a change of unit moves most axles of most vehicles by one and the same ratio (32nds read as mm: 32/25.4 = 1.26), on one
day, for one month, or in one person's hand. Source of the thresholds: common practice, no source; chosen on made fleets with and
without such a change.
"""

import numpy as np
import pandas as pd

from brakedata import codes, findings
from brakedata.units import THICKNESS_MM

LININGS = ("inner_pad", "outer_pad", "pad", "leading_shoe", "trailing_shoe", "shoe")
LEAST_AXLES, LEAST_VEHICLES = 8, 4
"""Fewer cannot show more than a few misreadings or new linings."""
MOST_OF_THEM = 0.65
"""So many of the axles lie nearer to the ratio than to none."""
MIDDLE_WITHIN = 0.08
"""So near to the ratio lies the middle axle, as a logarithm."""
USUAL_MM_PER_KM, RATES = 0.8e-4, (0.2e-4, 3e-4)
"""Wear where too few pairs of readings show it, and the least and most that is believed."""
USUAL_KM_A_DAY = 80.0
MOST_WORN = 0.25
"""Readings farther apart than the usual wear of this share of the lining say nothing: it may well have been changed."""
DAYS_TRIED = 8
LOOKED_AT = 30_000
"""Of more readings than this only every second, third ... vehicle is looked at: a column that changed shows in any of them."""

READ_HERE = ["vehicle_id", "visit_id", "visit_no", "date", "axle", "side", "part", "measure", "taken", "unit", "value_mm"]


def noticed(measurements: pd.DataFrame, visits: pd.DataFrame) -> list[pd.DataFrame]:
    """R50: most axles changed level at once by the ratio of two units.

    Parameters
    ----------
    measurements, visits : DataFrame
        As in `records.Records`.

    Returns
    -------
    list of DataFrame
        Findings: a row each vehicle that shows it, at its first such reading.
    """
    some, visits = _looked_at(measurements, visits)
    hand, names = pd.factorize(visits["technician"].astype("str"))
    pairs = _pairs(some, visits, hand)
    if pairs is None or not len(pairs):
        return []
    mixed = _mixed_up(some)
    seen = (_from_a_day(pairs, mixed), _in_a_month(pairs, mixed), _in_one_hand(pairs, mixed, names))
    best = max(filter(None, seen), key=lambda one: one[0].sum(), default=None)
    return [_found(measurements, pairs, *best)] if best else []


def _looked_at(measurements, visits) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The readings of enough vehicles, and the visits at which they were taken."""
    every = len(measurements) // LOOKED_AT + 1
    measurements = measurements[READ_HERE]
    if every > 1:
        measurements = measurements[pd.factorize(measurements["vehicle_id"])[0] % every == 0]
    return measurements, visits[visits["visit_id"].isin(measurements["visit_id"].unique())]


def _pairs(measurements, visits, hand: np.ndarray) -> pd.DataFrame | None:
    """Readings of one lining at two visits in a row: ``before_mm, after_mm, km, day_before, day``, by whose ``hand``, and whose they are."""
    m = measurements[
        measurements["part"].isin(LININGS) & measurements["measure"].eq("thickness") & measurements["value_mm"].gt(0)
    ]
    if len(m) < 2 * LEAST_AXLES:
        return None
    m = m.assign(later=m["taken"].ne("before"))
    m = m.iloc[codes.order(m, ["vehicle_id", "axle", "side", "part", "date", "visit_no", "later"])]
    at = pd.Index(visits["visit_id"].astype("str")).get_indexer(m["visit_id"].astype("str"))
    clock, by = visits["clock_km"].to_numpy(dtype="float64")[at], hand[at]
    lining = [pd.factorize(m[name])[0] for name in ("vehicle_id", "axle", "side", "part")]
    one = np.flatnonzero(np.all([name[1:] == name[:-1] for name in lining], axis=0) & (at[1:] != at[:-1]))
    if len(one) < LEAST_AXLES:
        return None
    day, value = m["date"].to_numpy().astype("datetime64[D]").astype("int64"), m["value_mm"].to_numpy()
    km, by_days = clock[one + 1] - clock[one], (day[one + 1] - day[one]) * USUAL_KM_A_DAY
    pairs = pd.DataFrame(
        {
            "before_mm": value[one], "after_mm": value[one + 1], "km": np.where(km >= 0, km, by_days).clip(500.0),
            "day_before": day[one], "day": day[one + 1], "by_before": by[one], "by": by[one + 1], "vehicle": lining[0][one],
            "axle": lining[0][one] * 100 + lining[1][one], "reading": m.index.to_numpy()[one + 1],
        }
    )  # fmt: skip
    return pairs[USUAL_MM_PER_KM * pairs["km"] < MOST_WORN * pairs["before_mm"]].reset_index(drop=True)


def _ratios(pairs, known) -> np.ndarray:
    """Logarithm of each reading over what it should be, by the wear of the pairs that are ``known`` to be in one unit."""
    worn = ((pairs["before_mm"] - pairs["after_mm"]) / pairs["km"])[known & (pairs["after_mm"] < 1.1 * pairs["before_mm"])]
    pace = float(np.clip(worn.median(), *RATES)) if len(worn) >= 2 * LEAST_AXLES else USUAL_MM_PER_KM
    expected = np.maximum(pairs["before_mm"] - pace * pairs["km"], 0.4 * pairs["before_mm"])
    return np.log(pairs["after_mm"] / expected).to_numpy()


def _mixed_up(measurements) -> list[tuple[str, str, float]]:
    """``(read in, written in, logarithm of the ratio)`` of the mix-ups that the unit of most readings allows."""
    read = str(measurements["unit"].astype("str").mode().iloc[0])
    return [
        (read, unit, float(np.log(THICKNESS_MM[read] / THICKNESS_MM[unit]))) for unit in ("mm", "32nds", "in") if unit != read
    ]


def _usable(ratio, log_ratio) -> np.ndarray:
    """Not so far off that only new linings explain it."""
    return np.abs(ratio) < 2.0 * abs(log_ratio)


def _near(ratio, log_ratio) -> np.ndarray:
    """Nearer to the units' ratio than to none."""
    return _usable(ratio, log_ratio) & (ratio * np.sign(log_ratio) > 0.5 * abs(log_ratio))


def _from_a_day(pairs, mixed) -> tuple | None:
    """The day from which on, or up to which, the readings are in another unit: the one that parts most pairs so; None where none does."""
    first = int(pairs["day_before"].min())
    start, end = pairs["day_before"].to_numpy() - first + 1, pairs["day"].to_numpy() - first + 1
    ratio, best = _ratios(pairs, np.ones(len(pairs), dtype=bool)), None
    for read, written, log_ratio in mixed:
        for turned in (log_ratio, -log_ratio):
            across, near = (_across(start, end, test(ratio, turned)) for test in (_usable, _near))
            could = np.flatnonzero((across >= LEAST_AXLES) & (near >= 0.7 * MOST_OF_THEM * across))
            for day in could[np.argsort(-(near[could] - 0.5 * across[could]), kind="stable")][:DAYS_TRIED]:
                over = (start <= day) & (day < end)
                shown, share = _shown(pairs, over, np.ones(len(pairs)), turned)
                if share and (best is None or share > best[0]):
                    when = np.datetime64(first + int(day), "D")
                    best = share, shown, f"from {when} on" if turned == log_ratio else f"before {when}", read, written
    return best and best[1:]


def _across(start, end, which) -> np.ndarray:
    """By day: how many of ``which`` pairs have one reading before and one on or after it."""
    days = int(end.max()) + 2
    return np.cumsum(np.bincount(start[which], minlength=days) - np.bincount(end[which], minlength=days))


def _in_a_month(pairs, mixed) -> tuple | None:
    """The month whose readings alone are in another unit; None where there is none."""
    month, month_before = (
        pairs[name].to_numpy().astype("datetime64[D]").astype("datetime64[M]") for name in ("day", "day_before")
    )
    return _apart(pairs, mixed, [(f"of {each}", month == each, month_before == each) for each in np.unique(month)])


def _in_one_hand(pairs, mixed, names) -> tuple | None:
    """The person whose readings are in another unit than everybody else's of the same linings; None where there is none."""
    by, by_before = pairs["by"].to_numpy(), pairs["by_before"].to_numpy()
    hands = [(f"written by {name}", by == at, by_before == at) for at, name in enumerate(names) if name]
    return _apart(pairs, mixed, hands if len(hands) > 1 else [])


def _apart(pairs, mixed, sets) -> tuple | None:
    """The set of readings that differs from those before and after it by the ratio of two units; the largest of several."""
    best, rough = None, _ratios(pairs, np.ones(len(pairs), dtype=bool))
    for said, own, own_before in sets:
        over, sign = own != own_before, np.where(own, 1.0, -1.0)
        for read, written, log_ratio in mixed:
            usable, near = _usable(rough[over], log_ratio), _near((rough * sign)[over], log_ratio)
            if near.sum() < LEAST_AXLES or near.sum() < 0.7 * MOST_OF_THEM * usable.sum():
                continue
            shown, share = _shown(pairs, over, sign, log_ratio)
            shown = shown & own if (shown & own).any() else shown
            if share and (best is None or shown.sum() > best[0].sum()):
                best = shown, said, read, written
    return best


def _shown(pairs, over: np.ndarray, sign: np.ndarray, log_ratio: float) -> tuple[np.ndarray, float]:
    """The pairs ``over`` a change that lie at the ratio, and the share of axles that do; none and 0 where it does not show."""
    ratio = _ratios(pairs, ~over)
    turned = ratio * sign
    over = over & _usable(ratio, log_ratio)
    axles = pd.DataFrame({"ratio": turned[over], "vehicle": pairs["vehicle"].to_numpy()[over]})
    axles = axles.groupby(pairs["axle"].to_numpy()[over]).agg(ratio=("ratio", "median"), vehicle=("vehicle", "first"))
    near = _near(axles["ratio"].to_numpy(), log_ratio)
    if (
        near.sum() < LEAST_AXLES
        or near.mean() < MOST_OF_THEM
        or axles["vehicle"][near].nunique() < LEAST_VEHICLES
        or abs(axles["ratio"].median() - log_ratio) > MIDDLE_WITHIN
        or (log_ratio < 0 and _wear_does_it(pairs[over & (sign > 0)], ratio[over & (sign > 0)], log_ratio))
    ):
        return over, 0.0
    return over & _near(turned, log_ratio), float(near.mean())


def _wear_does_it(pairs, ratio, log_ratio) -> bool:
    """Whether faster wear explains thinner linings about as well: it takes by the distance, and not in proportion to what is there."""
    before, after, km = (pairs[name].to_numpy() for name in ("before_mm", "after_mm", "km"))
    by_wear = np.abs(after - (before - np.median((before - after) / km) * km))
    by_unit = np.abs(after - after / np.exp(ratio - log_ratio))
    return bool(np.mean(by_unit) > 0.8 * np.mean(by_wear))


def _found(measurements, pairs, shown, said, read, written) -> pd.DataFrame:
    first = pairs[shown].drop_duplicates("vehicle")
    those = codes.plain(measurements[["vehicle_id", "row", "value_written"]].loc[first["reading"]])
    reading = (
        f"{int(shown.sum())} linings of {len(those)} vehicles change level by the ratio of {read} to {written} at once: "
        f"are the readings {said} in {written}, and not in {read}?"
    )
    return findings.make(
        "R50-unit-changed", "measurements", row=those["row"].to_numpy(), vehicle_id=those["vehicle_id"].to_numpy(), column="value",
        value=those["value_written"].to_numpy(), reading=reading,
    )  # fmt: skip
