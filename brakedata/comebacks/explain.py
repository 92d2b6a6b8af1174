"""What goes with comebacks: each level against the rest of the shop, crude and with other things held equal.

Every job is followed over steps of distance; a step ends with a comeback or without one. Odds ratios over such short steps are
ratios of the pace at which jobs come back. None of this says what causes what: it says where to look and what to measure.
"""

import itertools
from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata import findings
from brakedata.columns import WORK_PARTS
from brakedata.comebacks import firth
from brakedata.comebacks.compare import FEWEST_JOBS_OF_A_PERSON, PEOPLE, WITHIN_KM
from brakedata.comebacks.jobs import FACTORS, FITTING_FACTORS, UNRECORDED
from brakedata.findings import RecordsError

HELD_EQUAL = (
    "hub_face", "technician", "product_line", "hardware", "slide_pins", "rotor", "wheel_nuts", "axle", "runout", "pads",
    "wear_class", "duty", "thickness_variation", "season",
)  # fmt: skip
"""What is held equal, as far as there are comebacks enough, in the order in which it matters (common practice, no source)."""
COMEBACKS_PER_LEVEL = 5
"""One more level is held equal for so many comebacks (common practice, no source)."""
FEWEST_JOBS = 15
"""Levels of fewer jobs are not compared, and are one level together where they are held equal."""
STEPS = 20
BANDS = 4
SURE = 0.05
A_GOOD_PART = 0.3
AN_EXCESS = 1.2
TANGLED = 0.2


@dataclass(frozen=True)
class GoesWith:
    """What goes with comebacks.

    Attributes
    ----------
    table : DataFrame
        One row a level, against all other jobs: ``factor, level, jobs, comebacks, crude, crude_low, crude_high`` (times as
        often, 95 % limits), ``adjusted, adjusted_low, adjusted_high`` (the things of ``held_equal`` held equal), ``stratified,
        stratified_low, stratified_high, stratified_by`` (Mantel-Haenszel, within the levels of the one other factor that moves
        the ratio most), ``statement`` and ``findings``.
    held_equal : tuple of str
        Factors that were held equal; the others were left out for want of comebacks.
    findings : DataFrame
        R66.
    """

    table: pd.DataFrame
    held_equal: tuple[str, ...]
    findings: pd.DataFrame


def goes_with(found, within_km: float = WITHIN_KM) -> GoesWith:
    """Each level against the rest of the shop: crude, stratified and adjusted.

    Parameters
    ----------
    found : Comebacks
    within_km : float

    Returns
    -------
    GoesWith

    Notes
    -----
    Stratified: N. Mantel, W. Haenszel (1959), J. National Cancer Institute 22, 719-748, limits of J. Robins, N. Breslow, S.
    Greenland (1986), Biometrics 42, 311-323. Crude and adjusted: `firth`.
    """
    shop = _follow(found, within_km)
    held = _affordable(shop)
    rows = []
    for name in shop.merged:
        counts = shop.jobs[name].value_counts()
        for level in sorted(counts.index[counts >= _fewest(name)]):
            rows.append(_against_the_rest(shop, name, level, [other for other in held if other != name]))
    table = pd.DataFrame(rows)
    if not len(table):
        return GoesWith(table, tuple(held), findings.empty())
    table["findings"] = np.where(_disagree(table), "R66-crude-and-adjusted-disagree", "")
    return GoesWith(table, tuple(held), _warned(table))


def _fewest(factor):
    return FEWEST_JOBS_OF_A_PERSON if factor in PEOPLE else FEWEST_JOBS


@dataclass(frozen=True)
class _Shop:
    """Jobs that were watched, and the steps of distance of each.

    ``steps``: ``job, band, back`` (comebacks), ``tries`` (steps, the last in part). ``merged``: by factor, each job's level,
    those of few jobs as one. ``dummies``: by factor, one column a level but the first, shape (jobs, levels - 1).
    """

    jobs: pd.DataFrame
    steps: pd.DataFrame
    merged: dict[str, pd.Series]
    dummies: dict[str, np.ndarray]

    def columns(self, mine, factors, apart=()):
        """A column of ones, the level, columns ``apart``, and the dummies of factors; what adds nothing is left out."""
        return _independent(np.column_stack([np.ones(len(mine)), mine, *apart, *(self.dummies[name] for name in factors)]))

    def design(self, columns):
        """Design and counts, steps alike taken together: one column a band, then all of ``columns`` but its first.

        Returns
        -------
        x : ndarray, shape (m, bands + columns - 1)
        y, n : ndarray, shape (m,)
        """
        pattern, kind = np.unique(columns[:, 1:], axis=0, return_inverse=True)
        band = self.steps["band"].to_numpy()
        key, place = np.unique(kind[self.steps["job"]] * BANDS + band, return_inverse=True)
        x = np.column_stack([np.eye(band.max() + 1)[key % BANDS], pattern[key // BANDS]])
        return x, np.bincount(place, self.steps["back"]), np.bincount(place, self.steps["tries"])

    @property
    def first(self):
        """Place of the level's coefficient in a design."""
        return int(self.steps["band"].max()) + 1


def _follow(found, within_km):
    jobs = found.jobs[found.jobs["km"].notna() & (found.jobs["watched_km"] > 0)].reset_index(drop=True)
    merged = {name: _merged(jobs[name]) for name in HELD_EQUAL}
    merged = {name: column for name, column in merged.items() if len(column.unique()) > 1}
    dummies = {name: pd.get_dummies(column, drop_first=True, dtype=float).to_numpy() for name, column in merged.items()}
    return _Shop(jobs, _steps(jobs, within_km), merged, dummies)


def _steps(jobs, within_km):
    """The steps of each job; bands of distance hold about the same number of comebacks each."""
    step = within_km / STEPS
    back = jobs["comeback_km"].to_numpy()
    back = np.where(back <= within_km, back, np.nan)
    end = np.where(np.isnan(back), np.minimum(jobs["watched_km"], within_km), np.ceil(np.maximum(back, 1.0) / step) * step)
    came = end[~np.isnan(back)]
    inner = np.unique(np.quantile(came, np.linspace(0, 1, BANDS + 1)[1:-1], method="higher")) if len(came) else np.array([])
    edges = np.r_[0.0, inner[inner < within_km], within_km]
    parts = []
    for band, (low, high) in enumerate(itertools.pairwise(edges)):
        begun = np.fmax(jobs["entry_km"].to_numpy(), low)
        here = end > begun
        inside = here & ~np.isnan(back) & (end <= high)
        tries = np.maximum((np.minimum(end, high) - begun) / step, inside)
        parts.append(pd.DataFrame({"job": np.flatnonzero(here), "band": band, "back": inside[here] * 1.0, "tries": tries[here]}))
    return pd.concat(parts, ignore_index=True)


def _merged(column):
    """A factor's levels, those of few jobs as one level ``other``."""
    counts = column.map(column.value_counts())
    return column.where(counts >= FEWEST_JOBS, "other")


def _affordable(shop):
    """The factors that can be held equal with so many comebacks."""
    left, held = shop.steps["back"].sum() / COMEBACKS_PER_LEVEL - BANDS, []
    for name, dummies in shop.dummies.items():
        if dummies.shape[1] <= left:
            held.append(name)
            left -= dummies.shape[1]
    return held


def _independent(columns):
    """The columns that are no sum of those before them."""
    patterns = np.unique(columns, axis=0)
    own = np.abs(np.diag(np.linalg.qr(patterns, mode="r"))) > 1e-8 * np.sqrt(len(patterns))
    return columns[:, np.r_[own, np.zeros(columns.shape[1] - len(own), dtype=bool)]]


def _ratio(shop, mine, factors, apart=()):
    """How many times as often jobs of one level come back, with 95 % limits, ``factors`` held equal; NaN where it is all."""
    if mine.min() == mine.max():
        return np.nan, np.nan, np.nan
    fitted = firth.fit(*shop.design(shop.columns(mine, factors, apart)))
    return tuple(np.exp([fitted.coef[shop.first], *fitted.interval(shop.first)]))


def _against_the_rest(shop, factor, level, held):
    mine = shop.jobs[factor].eq(level).to_numpy(dtype=float)
    crude, adjusted = _ratio(shop, mine, []), _ratio(shop, mine, held)
    by, stratified = _most_moving(shop, mine, held, crude[0])
    back = np.bincount(shop.steps["job"], shop.steps["back"], minlength=len(shop.jobs))
    return {
        "factor": factor, "level": level, "jobs": int(mine.sum()), "comebacks": int(back[mine > 0].sum()),
        **dict(zip(("crude", "crude_low", "crude_high"), crude, strict=True)),
        **dict(zip(("adjusted", "adjusted_low", "adjusted_high"), adjusted, strict=True)),
        **dict(zip(("stratified", "stratified_low", "stratified_high"), stratified, strict=True)), "stratified_by": by,
        "statement": statement(*adjusted),
    }  # fmt: skip


def _most_moving(shop, mine, factors, crude):
    """The Mantel-Haenszel ratio within the levels of the one factor that moves it furthest from the crude one."""
    found = {name: stratified_ratio(shop.steps, mine, shop.merged[name]) for name in factors}
    found = {name: ratio for name, ratio in found.items() if np.isfinite(ratio[0]) and ratio[0] > 0}
    if not found:
        return "", (np.nan, np.nan, np.nan)
    by = max(found, key=lambda name: abs(np.log(found[name][0] / crude)))
    return by, found[by]


def stratified_ratio(steps: pd.DataFrame, mine, strata: pd.Series) -> tuple[float, float, float]:
    """Mantel-Haenszel ratio of one level against the rest within strata (and bands of distance), with 95 % limits."""
    from statsmodels.stats.contingency_tables import StratifiedTable

    stratum, names = pd.factorize(strata)
    cell = (stratum[steps["job"]] * BANDS + steps["band"]) * 2 + (np.asarray(mine)[steps["job"]] == 0)
    back, tries = (np.bincount(cell, steps[name], minlength=2 * BANDS * len(names)).reshape(-1, 2) for name in ("back", "tries"))
    tables = np.stack([back, tries - back], axis=2)  # stratum x (level, rest) x (back, not)
    tables = tables[(tables.sum(axis=1).min(axis=1) > 0) & (tables.sum(axis=2).min(axis=1) > 0)]
    if not len(tables) or tables[:, :, 0].sum(axis=0).min() == 0:
        return np.nan, np.nan, np.nan
    pooled = StratifiedTable(list(tables))
    return (float(pooled.oddsratio_pooled), *map(float, pooled.oddsratio_pooled_confint()))


def statement(ratio: float, low: float, high: float) -> str:
    """``3.1 times (1.6 to 5.8)``; ``cannot be told apart`` where nothing is left to compare."""
    if not np.isfinite(ratio):
        return "cannot be told apart from what is held equal"
    return f"{_times(ratio)} times ({_times(low)} to {_times(high)})"


def _times(ratio):
    if ratio > 100:
        return "over 100"
    return f"{ratio:.1f}" if ratio >= 0.95 else f"{ratio:.2f}"


def _disagree(table):
    """Where the crude ratio is beyond chance and the adjusted one is not, or the two point opposite ways."""
    away = (table["crude_low"] > 1) | (table["crude_high"] < 1)
    still = (table["adjusted_low"] > 1) | (table["adjusted_high"] < 1)
    opposite = np.log(table["crude"]) * np.log(table["adjusted"]) < 0
    moved = np.abs(np.log(table["adjusted"])) < np.abs(np.log(table["crude"])) / 2
    return (away & ~still & moved & table["adjusted"].notna()) | (opposite & (away | still))


def _warned(table):
    rows = table[table["findings"].ne("")]
    crude = [statement(*row) for row in rows[["crude", "crude_low", "crude_high"]].to_numpy()]
    both = zip(crude, rows["statement"], strict=True)
    return findings.make(
        "R66-crude-and-adjusted-disagree", "comebacks", column=rows["factor"], value=rows["level"],
        reading=[f"{one} alone, {other} with other things held equal" for one, other in both],
    )  # fmt: skip


@dataclass(frozen=True)
class Excess:
    """What explains the excess of one level.

    Attributes
    ----------
    factor, level : str
    alone : tuple of float
        Times as often as the rest, with 95 % limits, nothing held equal.
    others : DataFrame
        One row another factor, the one that explains most first: ``factor, ratio, low, high`` (of the level, that factor held
        equal), ``share_gone`` (of the excess), ``p_level`` (the level matters still when the factor is held equal),
        ``p_factor`` (the factor matters still when the level is), ``stronger`` (``factor``, ``level`` or ``cannot tell``),
        ``sure`` (of the two only the stronger one matters beyond chance).
    explained_by : str
        The factor that explains the excess better than the level does, empty where none does.
    sentence : str
    """

    factor: str
    level: str
    alone: tuple[float, float, float]
    others: pd.DataFrame
    explained_by: str
    sentence: str


def excess(found, factor: str, level: str, within_km: float = WITHIN_KM) -> Excess:
    """Which other factor explains the excess of a level better than the level itself.

    A model holds the level and one other factor; each is tested with the other in (penalised likelihood ratio). A factor is the
    stronger explanation where a good part of the excess goes when it is held equal, and the model would lose more without it than
    without the level. The rest does not hold levels of the same factor that are themselves beyond chance: one bad one must not
    hide another.

    Parameters
    ----------
    found : Comebacks
    factor, level : str
        For instance ``technician`` and a name.
    within_km : float

    Returns
    -------
    Excess

    Raises
    ------
    RecordsError
        No such factor or level, or a person with too few jobs.
    """
    if factor not in FACTORS or not found.jobs[factor].eq(level).any():
        raise RecordsError(f"no job has {factor} “{level}”: give a level of the comebacks table.")
    count = int(found.jobs[factor].eq(level).sum())
    if factor in PEOPLE and level != UNRECORDED and count < FEWEST_JOBS_OF_A_PERSON:
        raise RecordsError(f"{count} jobs of one person are too few to say: no figure is given under {FEWEST_JOBS_OF_A_PERSON}.")
    shop = _follow(found, within_km)
    mine = shop.jobs[factor].eq(level).to_numpy(dtype=float)
    apart = _beyond_chance(shop, factor, level)
    alone = _ratio(shop, mine, [], apart)
    rows = {name: _one_other(shop, mine, apart, name, alone[0]) for name in shop.merged if name != factor}
    others = pd.DataFrame([row for row in rows.values() if row is not None])
    tangled = [name for name, row in rows.items() if row is None]
    explained_by = ""
    if len(others):
        others = others.sort_values(["share_gone", "factor"], ascending=[False, True], kind="stable", ignore_index=True)
        best = others[others["stronger"].eq("factor")]
        explained_by = best["factor"].iloc[0] if len(best) and alone[0] >= AN_EXCESS else ""
    return Excess(factor, level, alone, others, explained_by, _verdict(factor, level, alone, others, explained_by, tangled))


def _beyond_chance(shop, factor, level):
    """Columns of the factor's other levels that come back more often than the rest by more than chance."""
    counts = shop.jobs[factor].value_counts()
    others = [other for other in sorted(counts.index[counts >= FEWEST_JOBS]) if other != level]
    columns = [shop.jobs[factor].eq(other).to_numpy(dtype=float) for other in others]
    return [column for column in columns if _ratio(shop, column, [])[1] > 1]


def _one_other(shop, mine, apart, name, alone):
    """One row of ``Excess.others``; None where level and factor cannot be told apart."""
    columns = shop.columns(mine, [name], apart)
    if columns.shape[1] < 3 + len(apart):
        return None
    x, y, n = shop.design(columns)
    fitted = firth.fit(x, y, n)
    ratio, low, high = np.exp([fitted.coef[shop.first], *fitted.interval(shop.first)])
    p_level, p_factor = fitted.p_without([shop.first]), fitted.p_without(range(shop.first + 1 + len(apart), x.shape[1]))
    gone = 1 - np.log(ratio) / np.log(alone)
    better = "factor" if p_factor < p_level and gone >= A_GOOD_PART else "level" if p_level < p_factor else ""
    sure = min(p_level, p_factor) <= SURE < max(p_level, p_factor)
    return {
        "factor": name, "ratio": ratio, "low": low, "high": high, "share_gone": gone, "p_level": p_level, "p_factor": p_factor,
        "stronger": better or "cannot tell", "sure": bool(better) and sure,
    }  # fmt: skip


def _verdict(factor, level, alone, others, explained_by, tangled):
    which = f"{'of' if factor in PEOPLE else 'with'} {factor} {level}"
    said = f"jobs {which} come back {statement(*alone)} as often as the rest"
    if alone[0] < AN_EXCESS:
        return f"{said}: no excess to explain."
    if explained_by:
        row = others[others["factor"].eq(explained_by)].iloc[0]
        held = statement(row["ratio"], row["low"], row["high"])
        how = "goes with it better" if row["sure"] else "goes with it better, though not surely"
        return f"{said}; with {explained_by} held equal {held}: {explained_by} {how}."
    if alone[1] > 1 and len(others):
        moves = (others["p_factor"] <= TANGLED) | (others["share_gone"] >= A_GOOD_PART)
        tangled = tangled + others.loc[(others["p_level"] > SURE) & moves, "factor"].tolist()
    if alone[1] > 1 and tangled:
        return f"{said}; these records cannot tell it from {tangled[0]}: the two go together too closely."
    return f"{said}; nothing else that is recorded explains it."


def recorded(found, within_km: float = WITHIN_KM) -> pd.DataFrame:
    """What was recorded at the job: on those that came back, and on those that were watched and did not.

    Returns
    -------
    DataFrame
        ``factor`` (a part of the work table, or a measurement at fitting), ``came_back, quiet`` (jobs), ``recorded_came_back,
        recorded_quiet`` (share of them on which anything was written of it), ``left_came_back, left_quiet`` (share on which it
        was knowingly not done).
    """
    jobs = found.jobs[found.jobs["km"].notna() & found.jobs["seen_again"]]
    back = (jobs["comeback_km"] <= within_km).to_numpy()
    rows = []
    for name in WORK_PARTS + FITTING_FACTORS:
        written, left = jobs[name].ne(UNRECORDED).to_numpy(), jobs[name].str.contains("not_done", regex=False).to_numpy()
        if written.any() and back.any() and not back.all():
            rows.append(
                {
                    "factor": name, "came_back": int(back.sum()), "quiet": int((~back).sum()),
                    "recorded_came_back": written[back].mean(), "recorded_quiet": written[~back].mean(),
                    "left_came_back": left[back].mean(), "left_quiet": left[~back].mean(),
                }
            )  # fmt: skip
    return pd.DataFrame(rows)
