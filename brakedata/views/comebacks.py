"""Comebacks as a person reads them: what differs, which complaint belongs to which job, what goes with it, what to do."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata import comebacks
from brakedata.comebacks import curves, over_time
from brakedata.comebacks.compare import FLAG_Q, LEVEL
from brakedata.comebacks.explain import statement
from brakedata.shown import Shown, count_text

TOO_FEW, BEYOND = "R63-too-few-to-say", "R64-beyond-chance"
CAUTION = "What goes together need not be cause and effect."


def words(name: str) -> str:
    """``hub face`` of ``hub_face``; a person's and a line's names stay as they are written."""
    return name.replace("_", " ")


def share_text(chance) -> str:
    """``29 %``, ``0.4 %`` under 1 %; empty where not known."""
    if pd.isna(chance):
        return ""
    return f"{100 * chance:.0f} %" if chance >= 0.01 or chance == 0 else f"{100 * chance:.1f} %"


def between_text(low, high) -> str:
    """``24 to 36 %``; empty where not known."""
    return "" if pd.isna(low) or pd.isna(high) else f"{100 * low:.0f} to {100 * high:.0f} %"


def headline(made, by: str) -> str:
    """What the levels of a factor come to, in one sentence."""
    judged = made.table[made.table["q_value"].notna()]
    apart = made.table[made.table["findings"].str.contains(BEYOND)]
    few = int(made.table["findings"].str.contains(TOO_FEW).sum())
    tail = f" ({count_text(few, 'has', 'have')} too few jobs to say)" if few else ""
    if not len(judged):
        return f"Nothing can be said by {words(by)}{tail}"
    if not len(apart):
        return f"None of {len(judged)} levels of {words(by)} differs from the shop by more than chance{tail}"
    more = made.detail.loc[apart.index, "expected"] < apart["comebacks"]
    ways = (("more often", apart[more]), ("less often", apart[~more]))
    said = [f"{way} with {_and([f'“{words(level)}”' for level in rows['level']])}" for way, rows in ways if len(rows)]
    return f"By {words(by)}, jobs come back {', '.join(said)}, by more than chance{tail}"


def _and(names):
    """``A``, ``A and B``, ``A, B and C``."""
    *first, last = names
    return f"{', '.join(first)} and {last}" if first else last


def behind(made, shown: Shown) -> str:
    """What stands behind a picture of rates: the shop, the level of its limits, and how jobs still watched count."""
    shop = made.shop
    within, jobs = shown.distance_text(made.within_km), count_text(int(shop["jobs"]), "job")
    return (
        f"whole shop: {share_text(shop['risk'])} come back within {within} ({between_text(shop['risk_low'], shop['risk_high'])}, "
        f"{100 * LEVEL:.0f} times in 100); {jobs}, those still being watched count in part"
    )


def shop_sentences(found, made, shown: Shown) -> list[str]:
    """What is known of the whole shop, in sentences."""
    shop, links = made.shop, found.links
    answered = int(links["answer"].ne("").sum())
    silent = int(shop["jobs"] - shop["seen_again"])
    within, came_back = shown.distance_text(made.within_km), int(shop["comebacks"])
    limits = between_text(shop["risk_low"], shop["risk_high"])
    return [
        f"{count_text(len(links), 'complaint')} may belong to a brake job; a person has answered {answered:,} of them.",
        f"{came_back:,} of {count_text(int(shop['jobs']), 'job')} have one within {within}: {share_text(shop['rate_all'])} of "
        f"all, {share_text(shop['rate_seen'])} of those whose vehicle was seen again ({silent:,} not seen again).",
        f"Counting each job as far as it was watched, {share_text(shop['risk'])} come back ({limits}).",
        *([made.people] if made.people else []),
    ]


def rate_cells(made, shown: Shown) -> pd.DataFrame:
    """The comebacks table in words and chosen units, columns named as they are shown."""
    t = made.table
    watched = made.detail["watched_jobs"]
    return pd.DataFrame(
        {
            "by": t["factor"].map(words), "level": t["level"].map(words), "jobs": t["jobs"].map("{:,}".format),
            f"watched [{shown.distance}]": [shown.distance_number(km, 1000) for km in t["followed_km"]],
            "jobs watched": watched.map(lambda n: "" if pd.isna(n) else f"{n:,.0f}"),
            "came back": t["comebacks"].map(lambda n: "" if pd.isna(n) else f"{n:,}"),
            "risk": t["risk"].map(share_text),
            "95 times in 100 between": [between_text(a, b) for a, b in zip(t["risk_low"], t["risk_high"], strict=True)],
            "drawn toward the shop": t["pooled_risk"].map(share_text),
            "against the rest": [_verdict(*row) for row in zip(t["findings"], t["q_value"], strict=True)],
        }
    )  # fmt: skip


def _verdict(codes, q):
    if TOO_FEW in codes:
        return "too few to say"
    if pd.isna(q):
        return "not compared"
    return f"beyond chance (q {_q(q)})" if q <= FLAG_Q else f"within chance (q {_q(q)})"


def _q(q):
    return "under 0.001" if q < 0.001 else f"{q:.3f}"


@dataclass(frozen=True)
class Funnel:
    """Levels of a factor against what chance gives.

    Attributes
    ----------
    points : DataFrame
        ``level, watched_jobs, jobs, rate, low, high`` (chances), ``state`` (beyond, within, few), ``said`` (beside the point).
    limits : DataFrame
        ``watched_jobs, low95, high95, low998, high998``.
    shop_risk : float
    """

    points: pd.DataFrame
    limits: pd.DataFrame
    shop_risk: float


def funnel(made, told=None) -> Funnel:
    """The funnel of a table of rates.

    Parameters
    ----------
    made : Rates
        Of one factor.
    told : mapping, optional
        Level to what is said beside its point.
    """
    table = made.table.assign(watched_jobs=made.detail["watched_jobs"])
    few = table["findings"].str.contains(TOO_FEW)
    state = np.where(few, "few", np.where(table["findings"].str.contains(BEYOND), "beyond", "within"))
    said = [_beside(row, told or {}) for row in table.assign(state=state).to_dict("records")]
    points = pd.DataFrame(
        {
            "level": table["level"].map(words), "watched_jobs": table["watched_jobs"].where(~few, table["jobs"] * 1.0),
            "jobs": table["jobs"], "rate": table["risk"].where(~few), "low": table["risk_low"], "high": table["risk_high"],
            "state": state, "said": said,
        }
    )  # fmt: skip
    shop_risk = float(made.shop["risk"])
    most = max(float(points["watched_jobs"].max()) * 1.15, 20.0)
    n = np.unique(np.round(np.geomspace(5, most, 120)))
    inside = 0 < shop_risk < 1
    edges = [comebacks.funnel(n, shop_risk, level) if inside else (np.full(len(n), np.nan),) * 2 for level in (0.95, 0.998)]
    limits = pd.DataFrame(
        {"watched_jobs": n, "low95": edges[0][0], "high95": edges[0][1], "low998": edges[1][0], "high998": edges[1][1]}
    )
    return Funnel(points, limits, shop_risk)


def _beside(row, told):
    if row["state"] == "few":
        return f"{count_text(int(row['jobs']), 'job')}: too few to say"
    if pd.isna(row["risk"]):
        return "not watched so far yet"
    return told.get(row["level"], "beyond chance" if row["state"] == "beyond" else "")


def by_distance(found, within_km: float, factor: str = "", level: str = "") -> pd.DataFrame:
    """The share that has come back by each distance, with its 95 % limits, of one level or of the whole shop.

    Returns
    -------
    DataFrame
        ``km, risk, low, high, watched`` (jobs still watched there); as far as any job was watched, at most ``within_km``.
    """
    jobs = found.jobs[found.jobs["km"].notna()]
    jobs = jobs[jobs[factor].eq(level)] if factor else jobs
    back = jobs["comeback_km"].notna()
    curve = curves.curve(jobs["comeback_km"].where(back, jobs["watched_km"]), back, jobs["entry_km"])
    end = min(within_km, curve.farthest_km)
    km = np.unique(np.r_[0.0, curve.km[curve.km <= end], np.linspace(0, end, 60)])
    limits = np.array([curve.limits(x, LEVEL) for x in km]).reshape(-1, 2)
    watched = [curve.still_watched(x) for x in km]
    return pd.DataFrame({"km": km, "risk": curve.risk(km), "low": limits[:, 0], "high": limits[:, 1], "watched": watched})


def distance_headline(level: pd.DataFrame, shop: pd.DataFrame, factor: str, name: str, shown: Shown) -> str:
    """Where the curve of a level, and that of the shop, end."""
    end = level.iloc[-1]
    within = shown.distance_text(end["km"])
    said = f"Within {within}, {share_text(end['risk'])} of jobs come back ({between_text(end['low'], end['high'])})"
    if not factor:
        return said
    shop_risk = np.interp(end["km"], shop["km"], shop["risk"])
    return (
        f"{words(factor).capitalize()} “{words(name)}”: within {within}, {share_text(end['risk'])} come back "
        f"({between_text(end['low'], end['high'])}), {share_text(shop_risk)} in the whole shop"
    )


def few_jobs(found, factor: str) -> set[str]:
    """Levels of a factor of which no figure may be shown: people with too few jobs."""
    made = comebacks.rates(found, factor)
    return set(made.table.loc[made.table["findings"].str.contains(TOO_FEW), "level"])


# --- what goes with it, what to do, over time, cost


def together_cells(together) -> pd.DataFrame:
    """What goes with comebacks as it is shown: crude beside adjusted, and a warning where the two disagree."""
    t = together.table
    if not len(t):
        return pd.DataFrame()
    crude, stratified = (
        [statement(*row) if np.isfinite(row[0]) else "" for row in t[[name, f"{name}_low", f"{name}_high"]].to_numpy()]
        for name in ("crude", "stratified")
    )
    by = [f"{said} by {words(name)}" if said and name else "" for said, name in zip(stratified, t["stratified_by"], strict=True)]
    return pd.DataFrame(
        {
            "what": t["factor"].map(words), "level": t["level"].map(words), "jobs": t["jobs"].map("{:,}".format),
            "came back": t["comebacks"].map("{:,}".format), "as often as the rest, alone": crude,
            "other things held equal": t["statement"], "within levels of one other (Mantel-Haenszel)": by,
            "warning": np.where(t["findings"].ne(""), "alone and held equal disagree", ""),
        }
    )  # fmt: skip


def ratios(together, factor: str = "") -> pd.DataFrame:
    """Rows of `explain.goes_with` for a picture: of one factor, or those that go with more comebacks by more than chance.

    Returns
    -------
    DataFrame
        ``name`` (what and level), ``jobs, comebacks, crude, crude_low, crude_high, adjusted, adjusted_low, adjusted_high, said``.
    """
    table = together.table
    if not len(table):
        return table.reindex(columns=["name", *RATIO_COLUMNS, "said"])
    if factor:
        rows = table[table["factor"].eq(factor)].assign(name="")
    else:
        rows = comebacks.look_first(together)[["factor", "level"]].merge(table, on=["factor", "level"])
        rows = rows.assign(name=rows["factor"].map(words) + ": ")
    said = np.where(rows["adjusted"].notna(), rows["statement"], "cannot be told apart")
    return rows[RATIO_COLUMNS].assign(name=rows["name"] + rows["level"].map(words), said=said).reset_index(drop=True)


RATIO_COLUMNS = [
    "jobs", "comebacks", "crude", "crude_low", "crude_high", "adjusted", "adjusted_low", "adjusted_high",
]  # fmt: skip


def ratios_headline(rows: pd.DataFrame, factor: str = "") -> str:
    """What goes with more comebacks, other things held equal, in one sentence."""
    if not len(rows):
        return f"Too few jobs to compare by {words(factor)}" if factor else "Nothing goes with more comebacks by more than chance"
    sure = rows[rows["adjusted_low"] > 1]
    if len(sure):
        top = sure.loc[sure["adjusted"].idxmax()]
        return f"With “{top['name']}” jobs come back {top['said']} as often as others, other things held equal"
    if factor:
        return f"With other things held equal, no level of {words(factor)} goes with more comebacks by more than chance"
    return "With other things held equal, none of these goes with more comebacks by more than chance"


def held_equal_sentence(together) -> str:
    """What was held equal."""
    if not together.held_equal:
        return f"Too few comebacks to hold anything else equal. {PACE} {CAUTION}"
    return f"Held equal: {', '.join(map(words, together.held_equal))}, as far as there are comebacks enough. {PACE} {CAUTION}"


PACE = "“Times as often” compares the pace at which jobs come back while they are watched; that is more than the ratio of the shares."


def first_cells(first: pd.DataFrame) -> pd.DataFrame:
    """What to look at first as it is shown."""
    if not len(first):
        return pd.DataFrame()
    return pd.DataFrame(
        {
            "look at": first["factor"].map(words) + ": " + first["level"].map(words),
            "why": [
                f"{count_text(int(n), 'comeback')} of {count_text(int(jobs), 'job')}; {times} with other things held equal"
                + ("" if sure else ", which chance may have given")
                for n, jobs, times, sure in first[["comebacks", "jobs", "times", "sure"]].itertuples(index=False)
            ],
            "measure": first["measure"], "confirmed by": first["confirmed_by"],
        }
    )  # fmt: skip


def explained(found, made, by: str) -> list:
    """`explain.Excess` of each level that comes back more often by more than chance."""
    apart = made.table[made.table["findings"].str.contains(BEYOND) & made.table["level"].ne(comebacks.jobs.UNRECORDED)]
    more = apart[made.detail.loc[apart.index, "expected"] < apart["comebacks"]]
    return [comebacks.excess(found, by, level, made.within_km) for level in more["level"]]


def excess_sentences(excesses) -> list[str]:
    """What else that is recorded goes with the excess of each level."""
    said = [excess.sentence for excess in excesses]
    return [sentence[:1].upper() + words(sentence[1:]) for sentence in said]


def beside_points(found, excesses) -> dict[str, str]:
    """For the funnel, by level: how what goes better with its excess differs between its jobs and the others."""
    return {excess.level: _contrast(found.jobs, excess) for excess in excesses if excess.explained_by}


def _contrast(jobs, excess):
    """``beyond chance; hub face not done on 75 % of these jobs, 9 % elsewhere``: the level of the other factor that differs most."""
    mine, other = jobs[excess.factor].eq(excess.level), jobs[excess.explained_by]
    shares = pd.DataFrame(
        {"here": other[mine].value_counts(normalize=True), "elsewhere": other[~mine].value_counts(normalize=True)}
    )
    shares = shares.fillna(0.0).sort_index()
    name = (shares["here"] - shares["elsewhere"]).idxmax()
    here, elsewhere = (share_text(shares.loc[name, place]) for place in ("here", "elsewhere"))
    return f"beyond chance; {words(excess.explained_by)} {words(name)} on {here} of these jobs, {elsewhere} elsewhere"


def returns_sentence(found, within_km: float, shown: Shown) -> str:
    """How many visits a hundred jobs bring back, second complaints too."""
    mean, se = comebacks.returns(found).at(within_km)
    low, high = max(mean - 1.96 * se, 0.0), mean + 1.96 * se
    return (
        f"Every visit counted, second complaints too, 100 jobs bring {100 * mean:.0f} back within {shown.distance_text(within_km)} "
        f"({100 * low:.0f} to {100 * high:.0f}, 95 times in 100)."
    )


def recorded_cells(recorded: pd.DataFrame) -> pd.DataFrame:
    """What was recorded on jobs that came back and on those that did not."""
    if not len(recorded):
        return pd.DataFrame()
    return pd.DataFrame(
        {
            "at the job": recorded["factor"].map(words),
            "recorded on those that came back": recorded["recorded_came_back"].map(share_text),
            "recorded on the others": recorded["recorded_quiet"].map(share_text),
            "knowingly left, came back": recorded["left_came_back"].map(share_text),
            "knowingly left, others": recorded["left_quiet"].map(share_text),
        }
    )


def trend_note(trend) -> str:
    """What the limits of the chart over time mean."""
    if not trend.excess["low"].notna().any():
        return "too few comebacks for limits"
    return (
        f"blue: comebacks of the jobs done so far, beyond those to be expected of them; of 100 shops without a change, "
        f"{100 * (1 - over_time.FALSE_ALARM):.0f} stay between the dotted limits all the time"
    )


def cost_headline(cost) -> str:
    """What comebacks take a month, in one sentence."""
    returns, low, high = cost.returns_a_month
    if not cost.priced:
        return f"{returns:.1f} returns a month ({low:.1f} to {high:.1f}); no cost is recorded of any"
    middle, low, high = cost.cost_a_month
    return f"Comebacks took {middle:,.0f} a month ({low:,.0f} to {high:,.0f}) in {count_text(cost.returns, 'return')}"


def cost_note(cost) -> str:
    """What the bars and the band of the picture of cost are."""
    known = (
        f"a cost is known of {cost.priced:,} of {cost.returns:,}, the others taken at the mean"
        if cost.priced
        else "no cost is recorded"
    )
    return f"bar: a month, as recorded; line: the mean, its band 95 times in 100; {known}"


def cost_sentences(cost) -> list[str]:
    """What comebacks took, and what halving the worst habit would save."""
    returns, low, high = cost.returns_a_month
    said = [f"{count_text(cost.returns, 'return')} in {cost.months:.0f} months: {returns:.1f} a month ({low:.1f} to {high:.1f})."]
    if not cost.priced:
        said.append(
            "No cost is recorded of any return: write what the work cost in the work table, or say above what one return costs."
        )
    else:
        middle, low, high = cost.cost_a_month
        said.append(
            f"They took {middle:,.0f} a month ({low:,.0f} to {high:,.0f}), in the currency of the records; a cost is known of "
            f"{cost.priced:,} of {cost.returns:,}."
        )
    if not cost.worst:
        return [*said, "No habit goes with comebacks beyond chance, so nothing can be said of what a change would save."]
    factor, level = map(words, cost.worst)
    middle, low, high = cost.saved_a_month
    saved = f"Halving what goes with {factor}: {level} would spare {middle:.2f} comebacks a month ({low:.2f} to {high:.2f})"
    if cost.priced:
        middle, low, high = cost.saved_cost_a_month
        saved += f", or {middle:,.0f} a month ({low:,.0f} to {high:,.0f})"
    return [*said, f"{saved}, were it the cause."]
