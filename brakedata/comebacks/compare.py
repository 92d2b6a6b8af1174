"""How often jobs come back, by what: fair to jobs watched unequally far, to small groups, and to many comparisons at once."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata import findings
from brakedata.columns import COMEBACKS
from brakedata.comebacks import curves
from brakedata.comebacks.jobs import FACTORS, UNRECORDED
from brakedata.findings import RecordsError

WITHIN_KM = 10_000.0
LEVEL = 0.95
FLAG_Q = 0.05
"""A level is called different from the rest of the shop when its q value is at most this."""
HELD_Q = 0.2
"""What goes with comebacks is held equal between people from here on: sooner than it is called different, since to hold equal
what does not matter costs little, and to leave out what does accuses the wrong one (project's own rule)."""
FEWEST_JOBS_OF_A_PERSON = 50
"""Under so many jobs no figure is given for a person (project's own rule: with 40 jobs each, someone has twice the rate by
chance in three shops of five)."""
PEOPLE = ("technician",)
USUAL_SPREAD = 0.5
"""Prior scale of the spread of levels about the shop, as a share of the shop's risk (half normal; common practice, no source)."""
SPREADS = np.linspace(0.02, 2.0, 100)
MORE_SHARE = 0.8
"""Of the chance of a false alarm this much is spent on "more often than the rest", what is left on "less often" (project's own
rule: it is comebacks that a shop looks for)."""
SEEN_SHARE = 0.5
"""Where the rate over all jobs is under this share of the risk, the risk rests on the few that were seen again."""


@dataclass(frozen=True)
class Rates:
    """Comeback rates by factor and level.

    Attributes
    ----------
    table : DataFrame
        The contract's comebacks table (``columns.COMEBACKS``).
    detail : DataFrame, same rows
        ``seen_again`` (jobs whose vehicle was seen again), ``watched_jobs`` (jobs watched for the whole distance, those still
        being watched counting in part), ``rate_seen`` and ``rate_all`` (comebacks per job seen again, and per job: what is true
        of the shop lies between when nothing else is known of the silent ones), ``happened`` (share that comes back before
        anything else ends the watch), ``expected`` (comebacks, were the level like the rest; of people, with ``held_equal`` held
        equal) and ``p`` (of that).
    shop : Series
        The same columns for the whole shop.
    within_km : float
    held_equal : str
        The factor within whose levels people were compared; empty where none seems to go with comebacks.
    findings : DataFrame
        R62 to R65.
    """

    table: pd.DataFrame
    detail: pd.DataFrame
    shop: pd.Series
    within_km: float
    held_equal: str
    findings: pd.DataFrame

    @property
    def people(self) -> str:
        """How people were compared, in a sentence; empty where nothing was held equal."""
        equal = self.held_equal.replace("_", " ")
        return f"People are compared with {equal} held equal: it seems to go with comebacks." if equal else ""


def rates(found, by: str | None = None, within_km: float = WITHIN_KM) -> Rates:
    """Comeback rates by one factor, or by every factor.

    Parameters
    ----------
    found : Comebacks
    by : str, optional
        One of `FACTORS`; default all of them that tell jobs apart.
    within_km : float
        The distance after the job within which a comeback counts.

    Returns
    -------
    Rates

    Raises
    ------
    RecordsError
        No such factor, no such distance, or no job.

    Notes
    -----
    The q values count every comparison of the table asked for (Y. Benjamini, Y. Hochberg 1995, J. Royal Statistical Society B
    57, 289-300). A level that comes back more often by more than chance is set aside before the others are compared anew: in the
    rest it would hide another like it, and let all others look better than they are. People get different jobs and are not to be
    blamed for what goes with any of their jobs: they are compared within the levels of the one other factor that goes with
    comebacks most, where one may (`HELD_Q`). Levels stand in order of their names, never of their rates.
    """
    if by is not None and by not in FACTORS:
        raise RecordsError(f"“{by}” is no factor: give one of {', '.join(FACTORS)}.")
    if not within_km > 0:
        raise RecordsError(f"“{within_km:g}” is no distance: give the km after the job as a number above 0.")
    jobs = found.jobs[found.jobs["km"].notna()]
    if not len(jobs):
        raise RecordsError(
            "no brake job with an odometer is recorded: write what was replaced in a column of work (“front pads replaced”), "
            "or add work rows (pads, shoes, rotor, drum: replaced)."
        )
    factors = [by] if by else [name for name in FACTORS if len(jobs[name].unique()) > 1]
    watch = _Watch(jobs, within_km, found.log_sd)
    groups = [("shop", "all", np.ones(len(jobs), dtype=bool)), *_levels(jobs, factors)]
    rows = pd.DataFrame([watch.group(*group) for group in groups])
    rows["comebacks"] = rows["comebacks"].astype("Int64")
    few = rows["factor"].isin(PEOPLE) & rows["level"].ne(UNRECORDED) & (rows["jobs"] < FEWEST_JOBS_OF_A_PERSON)
    rows["pooled_risk"] = _pooled_by_factor(rows)
    held = _goes_with_most(watch, jobs) if {*factors} & {*PEOPLE} else ""
    strata = dict.fromkeys(PEOPLE, jobs[held].to_numpy()) if held else {}
    compared = _compare(watch, groups, (few | rows["factor"].eq("shop")).to_numpy(), strata)
    rows = pd.concat([rows, compared.drop(columns="more")], axis=1)
    rows.loc[few, [name for name in rows if name not in ("factor", "level", "jobs", "followed_km")]] = pd.NA
    rows["findings"], said = _said(rows, few, within_km, held)
    shop, rows = rows.iloc[0], rows.iloc[1:].reset_index(drop=True)
    names = [answer.name for answer in COMEBACKS]
    return Rates(rows[names], rows.drop(columns=names[2:]), shop, within_km, held, said)


def _levels(jobs, factors):
    """Factor, level and whose jobs they are, of every level."""
    return [(name, level, jobs[name].eq(level).to_numpy()) for name in factors for level in sorted(jobs[name].unique())]


def _goes_with_most(watch, jobs):
    """The factor, people apart, with the level that comes back more often with the least chance of it; empty where none seems to."""
    groups = _levels(jobs, [name for name in FACTORS if name not in PEOPLE and len(jobs[name].unique()) > 1])
    if not groups:
        return ""
    compared = _compare(watch, groups, np.zeros(len(groups), dtype=bool), {})
    beyond = compared[compared["more"] & (compared["q_value"] <= HELD_Q)]
    return groups[beyond["p"].idxmin()][0] if len(beyond) else ""


class _Watch:
    """The jobs of a shop with where each one's watch, or its wait for the comeback, ended."""

    def __init__(self, jobs, within_km, log_sd):
        came_back = jobs["comeback_km"].notna().to_numpy()
        self.end_km = np.where(came_back, jobs["comeback_km"], jobs["watched_km"])
        self.entry_km = jobs["entry_km"].to_numpy()
        self.seen = jobs["seen_again"].to_numpy()
        self.came_back, self.within_km, self.log_sd = came_back, within_km, log_sd
        self.cause = np.where(came_back, 1, np.where(jobs["watch_end"].isin(("next job", "gone")), 2, 0))
        self.part = self._part()

    def _part(self):
        """How much of the distance each quiet job was watched for: 1 for all of it, by the shop's own curve of comebacks.

        The odds of having come back by then over the odds of coming back within the distance, so that comebacks per job watched
        estimate the risk.
        """
        watched = np.minimum(self.end_km, self.within_km)
        whole = curves.curve(self.end_km, self.came_back, self.entry_km)
        risk = np.minimum(whole.risk(np.minimum(watched, whole.farthest_km)), 1 - 1e-9)
        full = np.nanmin([whole.risk(min(self.within_km, whole.farthest_km)), 1 - 1e-9])
        if full == 0:
            return watched / self.within_km
        return np.where(watched >= self.within_km, 1.0, (risk / (1 - risk)) / (full / (1 - full)))

    def group(self, factor, level, inside):
        """The figures of one level, as a row."""
        end, entry = self.end_km[inside], self.entry_km[inside]
        back = self.came_back[inside] & (end <= self.within_km)
        own = curves.curve(end, self.came_back[inside], entry)
        risk = float(own.risk(self.within_km))
        low, high = _wider(risk, *own.limits(self.within_km, LEVEL), self.log_sd)
        seen, count = int(self.seen[inside].sum()), int(back.sum())
        return {
            "factor": factor, "level": level, "jobs": int(inside.sum()),
            "followed_km": float(np.minimum(end, self.within_km).sum()), "comebacks": count,
            "risk": risk, "risk_low": low, "risk_high": high,
            "seen_again": seen, "watched_jobs": count + float(self.part[inside][~back].sum()),
            "rate_seen": count / seen if seen else np.nan, "rate_all": count / inside.sum(),
            "happened": self._happened(inside) if np.isfinite(risk) else np.nan,
        }  # fmt: skip

    def against(self, inside, aside, strata=None):
        """A level against the rest without the jobs set aside: comebacks expected, whether it has more, and p (NaN: not to be told)."""
        here = ~aside | inside
        end, back, entry = self.end_km[here], self.came_back[here], self.entry_km[here]
        strata = None if strata is None else strata[here]
        compared = curves.difference(end, back, inside[here], self.within_km, entry, strata)
        p = min(compared.more / MORE_SHARE, compared.fewer / (1 - MORE_SHARE), 1.0)
        alone = strata is not None and compared.variance == 0
        return compared.expected, compared.seen > compared.expected, np.nan if alone else p

    def _happened(self, inside):
        """Share of the jobs that come back within the distance before anything else ends their watch."""
        ways = curves.happened(self.end_km[inside], self.cause[inside], [self.within_km], self.entry_km[inside])
        return float(ways[0, 0]) if len(ways) else 0.0


def _compare(watch, groups, left_out, strata):
    """Every level against the rest of its factor: ``expected, more, p, q_value``; those with more by more than chance set aside in turn.

    ``strata``: by factor, what is held equal of each job.
    """
    factors = np.array([factor for factor, _, _ in groups], dtype=object)
    inside = [mine for _, _, mine in groups]
    aside = {factor: np.zeros(len(inside[0]), dtype=bool) for factor in factors}
    expected, p, more = np.full(len(groups), np.nan), np.full(len(groups), np.nan), np.zeros(len(groups), dtype=bool)
    done, changed = left_out.copy(), set(factors)
    while changed:
        for place in np.flatnonzero(~done):
            if factors[place] in changed and not (aside[factors[place]] | inside[place]).all():
                expected[place], more[place], p[place] = watch.against(
                    inside[place], aside[factors[place]], strata.get(factors[place])
                )
        q = _q_values(pd.Series(p)).to_numpy()
        beyond, changed = np.flatnonzero(~done & more & (q <= FLAG_Q)), set()
        for place in beyond[np.argsort(p[beyond], kind="stable")]:
            if factors[place] not in changed:
                aside[factors[place]] |= inside[place]
                done[place] = True
                changed.add(factors[place])
    return pd.DataFrame({"expected": expected, "more": more, "p": p, "q_value": q})


def _wider(risk, low, high, log_sd):
    """Limits with the spread of an uncertain watch added, on the scale of the logarithm of the cumulative hazard."""
    if not np.isfinite(risk):
        return np.nan, np.nan
    if log_sd == 0 or risk in (0.0, 1.0):
        return low, high
    hazard = -np.log1p(-np.array([low, risk, min(high, 1 - 1e-12)]))
    steps = np.log(np.maximum(hazard, 1e-12))
    half = np.hypot(steps - steps[1], 1.96 * log_sd) * (-1, 0, 1)
    low, _, high = -np.expm1(-hazard[1] * np.exp(half))
    return float(low), float(high)


def _pooled_by_factor(rows):
    """Risk of each level drawn toward the whole shop's, by how much the levels of its factor seem to differ."""
    shop = rows.iloc[0]
    mean = (shop["comebacks"] + 0.5) / (shop["watched_jobs"] + 1.0)
    pooled = pd.Series(np.nan, index=rows.index)
    for _, part in rows.groupby("factor", sort=False):
        pooled[part.index] = pooled_risk(part["comebacks"].to_numpy(float), part["watched_jobs"].to_numpy(), mean)
    return pooled


def pooled_risk(comebacks, watched_jobs, shop_risk: float) -> np.ndarray:
    """Risks of groups, each drawn toward the shop's: the smaller the group and the more alike the groups, the further.

    A group's risk is beta distributed about the shop's; how widely is averaged over `SPREADS` with the weight that the groups'
    own counts give them.

    Parameters
    ----------
    comebacks, watched_jobs : array, shape (k,)
        ``watched_jobs`` may be fractions.
    shop_risk : float
        Above 0.

    Returns
    -------
    ndarray, shape (k,)
    """
    x, n = np.asarray(comebacks, float), np.maximum(np.asarray(watched_jobs, float), np.asarray(comebacks, float))
    size = np.maximum((1 - shop_risk) / (shop_risk * SPREADS**2) - 1, 1e-3)
    a, b = (shop_risk * size)[:, None], ((1 - shop_risk) * size)[:, None]
    weight = beta_binomial_loglik(x, n, a, b).sum(axis=1) - 0.5 * (SPREADS / USUAL_SPREAD) ** 2
    weight = np.exp(weight - weight.max())
    return weight @ ((x + a) / (n + a + b)) / weight.sum()


def beta_binomial_loglik(x, n, a, b) -> np.ndarray:
    """Log likelihood of ``x`` comebacks of ``n`` jobs whose risk is Beta(a, b), without the binomial coefficient."""
    from scipy.special import betaln

    return betaln(x + a, n - x + b) - betaln(a, b)


def _q_values(p):
    """Benjamini and Hochberg's adjusted p values; NaN stays NaN."""
    from scipy.stats import false_discovery_control

    q = pd.Series(np.nan, index=p.index)
    here = p.notna()
    if here.any():
        q[here] = false_discovery_control(p[here].astype(float))
    return q


def _said(rows, few, within_km, held):
    """R62 to R65: codes of each row, and the findings."""
    unwatched = rows["risk"].isna() & ~few
    beyond = rows["q_value"].le(FLAG_Q).fillna(False).astype(bool)
    silent = (rows["rate_all"] < SEEN_SHARE * rows["risk"]).fillna(False).astype(bool)
    speaks = {
        "R62-not-watched-so-far": (unwatched, lambda row: f"no job was watched for {within_km:,.0f} km"),
        "R63-too-few-to-say": (few, lambda row: f"{row['jobs']} jobs"),
        "R64-beyond-chance": (beyond, lambda row: _beyond(row, held)),
        "R65-seen-again-only": (silent, _silent),
    }
    codes, made = pd.Series("", index=rows.index), []
    for code, (here, reading) in speaks.items():
        codes = codes.where(~here, (codes + " " + code).str.strip())
        about = rows[here & (rows["factor"].ne("shop") | (code == "R65-seen-again-only"))]
        if len(about):
            made.append(
                findings.make(
                    code, "comebacks", column=about["factor"], value=about["level"],
                    reading=[reading(row) for _, row in about.iterrows()],
                )
            )  # fmt: skip
    return codes, findings.join(made)


def _beyond(row, held):
    way = "more" if row["comebacks"] > row["expected"] else "fewer"
    equal = f", {held} held equal" if held and row["factor"] in PEOPLE else ""
    return f"{row['comebacks']} comebacks where {row['expected']:.1f} would be expected{equal}: {way} than chance gives"


def _silent(row):
    return f"{100 * row['rate_all']:.0f} % of all jobs, {100 * row['rate_seen']:.0f} % of those seen again"


def funnel(watched_jobs, shop_risk: float, level: float = LEVEL) -> tuple[np.ndarray, np.ndarray]:
    """Where the rate of a group no different from the shop would fall.

    Parameters
    ----------
    watched_jobs : array, shape (m,)
        Above 0, whole or not.
    shop_risk : float
    level : float
        0.95 or 0.998 by custom.

    Returns
    -------
    low, high : ndarray, shape (m,)

    Notes
    -----
    Binomial limits, straight between whole counts: D. J. Spiegelhalter (2005), Statistics in Medicine 24, 1185-1202.
    """
    n = np.asarray(watched_jobs, dtype=float)
    return tuple(np.clip(_between_counts(tail, n, shop_risk) / n, 0.0, 1.0) for tail in ((1 - level) / 2, (1 + level) / 2))


def _between_counts(chance, n, p):
    """The count that a binomial variable stays under with a chance, straight between whole counts."""
    from scipy.stats import binom

    whole = np.round(n)
    count = binom.ppf(chance, whole, p)
    under, upto = binom.cdf(count - 1, whole, p), binom.cdf(count, whole, p)
    return (count - (upto - chance) / (upto - under)) * n / np.maximum(whole, 1)
