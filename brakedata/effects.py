"""What moves wear: product line, duty, wear class and axle as effects on the wear rate, compared on like vehicles only.

An effect is a ratio of wear rates: 1.14 is 14 % faster. Two sets of linings are alike where they share wear class, axle, lining and
duty (for a comparison of duties: the others of these). A level is compared with the other levels only within such strata, so that a
line fitted mostly to hard-driven vans is not blamed for the vans.

The shared model draws every effect toward nothing. Here its equations are solved again with the strata and the lines left free (prior
standard deviation ``FREE_LOG_SD``), at the variances it found, so that nothing is drawn in. What a vehicle's, an axle's and a life's own
rate add to the error is in those variances: many readings of one vehicle are still one vehicle. Limits are Student's, with as many
degrees of freedom as vehicles in effect carry the comparison (Satterthwaite 1946, An approximate distribution of estimates of variance
components, Biometrics Bulletin 2, 110-114; vehicles as its units), and q values are those of Benjamini and Hochberg (1995, J. Royal
Statistical Society B 57, 289-300) over the levels of one factor.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata import findings
from brakedata.shared_model import FreeEffects, SharedModel

FACTORS = {
    "product_line": ("wear_class", "axle", "lining", "duty"), "duty": ("wear_class", "axle", "lining"),
    "wear_class": ("axle", "lining", "duty"), "axle": ("wear_class", "lining", "duty"),
}  # fmt: skip
"""What is compared, and what must be the same for it."""
FREE_LOG_SD = 10.0
LEVEL = 0.95
BEYOND_CHANCE = 0.05
LEAST_SETS, LEAST_VEHICLES = 6, 5
"""A level with fewer sets of linings or fewer vehicles is too few to say (common practice, no source)."""
UNLIKE = 0.25
"""Standardised difference from which groups are called unlike, where vehicles dealt out by chance would seldom differ as much (Rubin
2001, Using propensity scores to help design observational studies, Health Services and Outcomes Research Methodology 2, 169-188)."""
STRATUM_AT = ("kind_at", "class_at", "duty_at", "cell_at")
"""The first columns of the model's design, which together make a stratum."""


@dataclass(frozen=True)
class Effects:
    """What moves wear in a fleet.

    Attributes
    ----------
    table : DataFrame
        One row a factor and level (where there are but two levels, the first): ``factor, level, ratio`` (its wear rate over that of the
        other levels on like vehicles; NaN where nothing can be said), ``low, high`` (95 % limits), ``p_value, q_value, sets, vehicles``
        (lives of an axle's linings and vehicles of the level that have like ones to compare with), ``sets_rest, vehicles_rest`` (those
        like ones), ``sets_all`` (of the level, alike or not), ``strata, unlike`` (what the groups differ in most; pads are never set
        against shoes), ``difference`` (standardised), ``share, share_rest`` (of the two groups of which that is true), ``finding`` (code,
        or empty).
    findings : DataFrame
        R92 the groups are unlike, R93 nothing to compare with.
    """

    table: pd.DataFrame
    findings: pd.DataFrame

    @property
    def beyond_chance(self) -> pd.DataFrame:
        """The rows that differ by more than chance, false discoveries controlled."""
        return self.table[self.table["q_value"] <= BEYOND_CHANCE]


def find(model: SharedModel) -> Effects:
    """Effects of product line, duty, wear class and axle on the wear rate.

    Parameters
    ----------
    model : SharedModel

    Returns
    -------
    Effects
    """
    sets = sets_of(model)
    solved = FreeEffects(model, ["cell", "line"], FREE_LOG_SD) if len(sets) else None
    frames = [_compared(factor, sets, solved) for factor in FACTORS]
    table = pd.concat(frames, ignore_index=True)
    found = [_finding(row) for row in table[table["finding"].ne("")].itertuples()]
    return Effects(table, findings.join(found))


def _finding(row):
    """R92 or R93 of one row."""
    reading = f"{row.unlike}: {100 * row.share:.0f} % against {100 * row.share_rest:.0f} %" if row.unlike else ""
    table = "work" if row.factor == "product_line" else "vehicles"
    return findings.make(row.finding, table, column=row.factor, value=row.level, reading=reading)


def sets_of(model: SharedModel) -> pd.DataFrame:
    """The sets of linings that readings say something of, one row a life of an axle's linings.

    Returns
    -------
    DataFrame
        ``axle_life_id, vehicle_id, wear_class, axle, lining, duty, product_line`` (empty: not recorded), and ``kind_at, class_at, duty_at,
        cell_at``, where in the model's ``beta`` its stratum stands (-1: nowhere).
    """
    columns = model.solved.design.columns_of_readings[~model.solved.state.bound]
    readings = model.readings.assign(**{name: columns[:, j] for j, name in enumerate(STRATUM_AT)})
    readings = readings[~readings["misfit"] & (readings["odometer_since"] > 0)]
    one = readings.drop_duplicates("axle_life_id").sort_values("axle_life_id", kind="stable", ignore_index=True)
    return one[["axle_life_id", "vehicle_id", "wear_class", "axle", "lining", "duty", "product_line", *STRATUM_AT]]


# --- one factor -------------------------------------------------------------------------------------------------------


def _compared(factor, sets, solved) -> pd.DataFrame:
    """All levels of a factor, each against the others."""
    told = sets[sets[factor].ne("")] if len(sets) else sets
    levels = sorted(told[factor].unique())
    levels = levels[:1] if len(levels) == 2 else levels if len(levels) > 2 else []
    rows = [_row(factor, level, told, solved) for level in levels]
    table = pd.DataFrame(rows, columns=list(_COLUMNS))
    known = table["p_value"].notna()
    if known.any():
        from scipy.stats import false_discovery_control

        table.loc[known, "q_value"] = false_discovery_control(table.loc[known, "p_value"])
    return table


_COLUMNS = (
    "factor", "level", "ratio", "low", "high", "p_value", "q_value", "sets", "vehicles", "sets_rest", "vehicles_rest", "sets_all", "strata",
    "unlike", "difference", "share", "share_rest", "finding",
)  # fmt: skip


def _row(factor, level, sets, solved):
    """One level against the others."""
    from scipy import stats

    like = list(FACTORS[factor])
    mine, rest = sets[sets[factor].eq(level)], sets[sets[factor].ne(level)]
    linings = np.intersect1d(mine["lining"], rest["lining"])
    mine, rest = (group[group["lining"].isin(linings)] for group in (mine, rest))
    stratum = _strata(sets, like)
    both = np.intersect1d(stratum[mine.index], stratum[rest.index])
    here, there = mine[stratum[mine.index].isin(both)], rest[stratum[rest.index].isin(both)]
    row = dict.fromkeys(_COLUMNS, np.nan) | {
        "factor": factor, "level": level, "sets": len(here), "vehicles": here["vehicle_id"].nunique(), "sets_rest": len(there),
        "vehicles_rest": there["vehicle_id"].nunique(), "sets_all": int(sets[factor].eq(level).sum()), "strata": len(both), "finding": "", "unlike": "",
    }  # fmt: skip
    if not len(both):
        return row | {"finding": "R93-nothing-alike"}
    row |= _unlike(mine, rest, like)
    by_chance = 2 * np.sqrt(1 / mine["vehicle_id"].nunique() + 1 / rest["vehicle_id"].nunique())
    if row["difference"] > max(UNLIKE, by_chance):
        row["finding"] = "R92-not-alike"
    if min(len(here), len(there)) < LEAST_SETS or min(row["vehicles"], row["vehicles_rest"]) < LEAST_VEHICLES:
        return row
    estimate, error, carried_by = solved.contrast(_weights(factor, level, here, there, stratum, solved.table))
    freedom = max(carried_by - 1.0, 1.0)
    half = stats.t.ppf(0.5 + LEVEL / 2, freedom) * error
    p = 2 * stats.t.sf(abs(estimate) / error, freedom)
    return row | {"ratio": np.exp(estimate), "low": np.exp(estimate - half), "high": np.exp(estimate + half), "p_value": p}


def _strata(sets, like) -> pd.Series:
    """A number for each set, the same where all of ``like`` is the same."""
    return pd.Series(pd.factorize(pd.MultiIndex.from_frame(sets[like]))[0], index=sets.index)


def _weights(factor, level, here, there, stratum, table) -> np.ndarray:
    """What to take of each entry of beta: the level minus the mean of the others in each stratum, strata weighed by their vehicles."""
    weights = np.zeros(len(table))
    if factor == "product_line":
        place = table.index[table["kind"].eq("line")]
        at = pd.Series(place, index=table.loc[place, "level"])
        weights[at[level]] = 1.0
        share = there["product_line"].map(at).dropna().astype(int).value_counts(normalize=True)
        weights[share.index] -= share.to_numpy()
        return weights
    vehicles = [group.groupby(stratum[group.index])["vehicle_id"].nunique() for group in (here, there)]
    each = vehicles[0] * vehicles[1] / (vehicles[0] + vehicles[1])
    for group, sign in ((here, 1.0), (there, -1.0)):
        number = stratum[group.index]
        own = sign * number.map(each / each.sum() / number.value_counts()).to_numpy()
        for name in STRATUM_AT:
            at = group[name].to_numpy()
            np.add.at(weights, at[at >= 0], own[at >= 0])
    return weights


def _unlike(mine, rest, like) -> dict:
    """What the two groups differ in most: the word, the standardised difference and the shares of the two groups."""
    worst = {"unlike": "", "difference": 0.0, "share": np.nan, "share_rest": np.nan}
    for name in like:
        shares = pd.concat([group[name].value_counts(normalize=True) for group in (mine, rest)], axis=1).fillna(0.0)
        one, other = shares.iloc[:, 0], shares.iloc[:, 1]
        spread = np.sqrt((one * (1 - one) + other * (1 - other)) / 2)
        away = ((one - other).abs() / spread.where(spread > 0)).mask((spread == 0) & one.ne(other), np.inf)
        if len(away) and away.max() > worst["difference"]:
            word = (one - other).where(away.eq(away.max())).idxmax()
            worst = {"unlike": word, "difference": float(away.max()), "share": one[word], "share_rest": other[word]}
    return worst
