"""Comebacks as a person reads them: what differs, which complaint belongs to which job, what goes with it, what to do."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata import comebacks
from brakedata.comebacks import curves
from brakedata.comebacks.compare import FLAG_Q, LEVEL
from brakedata.shown import Shown, count_text, day_text
from brakedata.views.wear import axle_words

OPEN, ALL = "not answered", "all"
ANSWER_WORDS = {"": OPEN, "yes": "yes", "no": "no", "unknown": "unknown"}
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
    names = " and ".join(words(level) for level in apart["level"])
    verb = "differs" if len(apart) == 1 else "differ"
    return f"By {words(by)}, {names} {verb} from the rest of the shop by more than chance{tail}"


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
        f"{came_back:,} of {count_text(int(shop['jobs']), 'job')} came back within {within}: {share_text(shop['rate_all'])} of "
        f"all, {share_text(shop['rate_seen'])} of those whose vehicle was seen again ({silent:,} not seen again).",
        f"Counting each job as far as it was watched, {share_text(shop['risk'])} come back ({limits}).",
    ]


def rate_cells(made, shown: Shown) -> pd.DataFrame:
    """The comebacks table in words and chosen units, columns named as they are shown."""
    t = made.table
    watched = made.detail["watched_jobs"]
    return pd.DataFrame(
        {
            "by": t["factor"].map(words), "level": t["level"].map(words), "jobs": t["jobs"].map("{:,}".format),
            f"watched [{shown.distance}]": [shown.distance_number(km, 1000) for km in t["followed_km"]],
            "jobs watched all the way (in part)": watched.map(lambda n: "" if pd.isna(n) else f"{n:,.0f}"),
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
    n = np.unique(np.round(np.geomspace(3, most, 120), 1))
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
    return pd.DataFrame(
        {
            "km": km,
            "risk": curve.risk(km),
            "low": limits[:, 0],
            "high": limits[:, 1],
            "watched": [curve.still_watched(x) for x in km],
        }
    )


def few_jobs(found, factor: str) -> set[str]:
    """Levels of a factor of which no figure may be shown: people with too few jobs."""
    made = comebacks.rates(found, factor)
    return set(made.table.loc[made.table["findings"].str.contains(TOO_FEW), "level"])


# --- the suspected comebacks


def link_cells(links: pd.DataFrame, shown: Shown) -> pd.DataFrame:
    """Suspected comebacks as they are shown: both texts, distance and days between them, and the answer."""
    return pd.DataFrame(
        {
            "vehicle": links["vehicle_id"], "job": [f"{visit} {axle_words(axle)}" for visit, axle in _pairs(links)],
            "done then": links["job_done"], "said at the job": _texts(links, "job_complaint", "job_note"),
            "came back": links["date"].map(day_text), "said on return": _texts(links, "complaint", "note"),
            "read as": links["symptoms"], f"after [{shown.distance}]": links["km_after"].map(shown.distance_number),
            "days": links["days_after"].map("{:,}".format), "axle by": links["axle_from"].replace("", "newest job"),
            "a person's answer": [_answered(*pair) for pair in zip(links["answer"], links["reason"], strict=True)],
            "counts": _counting(links),
        }
    )  # fmt: skip


def _pairs(links):
    return zip(links["job_visit_id"], links["job_axle"], strict=True)


def _texts(links, complaint, note):
    return [" / ".join(filter(None, pair)) for pair in zip(links[complaint], links[note], strict=True)]


def _answered(answer, reason):
    return ANSWER_WORDS[answer] + (f": {reason}" if reason else "")


def _counting(links):
    again = np.where(links["again"], "no, about the same thing again", "")
    return np.where(links["answer"].eq("no"), "no", np.where(again != "", again, "yes"))


def question(link, shown: Shown) -> str:
    """A suspected comeback as a question a person can answer."""
    said = " / ".join(filter(None, (link["complaint"], link["note"])))
    after = f"{shown.distance_text(link['km_after'])} and {count_text(int(link['days_after']), 'day')} later"
    return (
        f"Vehicle {link['vehicle_id']}, {axle_words(link['job_axle'])} axle: {link['job_done']} at visit {link['job_visit_id']}; "
        f"{after}, visit {link['visit_id']} of {day_text(link['date'])}: “{said}” (read as {link['symptoms']}). "
        "Is it a comeback of that job?"
    )


# --- what goes with it, what to do, over time, cost


def together_cells(together) -> pd.DataFrame:
    """What goes with comebacks as it is shown: crude beside adjusted, and a warning where the two disagree."""
    t = together.table
    if not len(t):
        return pd.DataFrame()
    crude, stratified = (
        [
            comebacks.explain.statement(*row) if np.isfinite(row[0]) else ""
            for row in t[[name, f"{name}_low", f"{name}_high"]].to_numpy()
        ]
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


def held_equal_sentence(together) -> str:
    """What was held equal."""
    if not together.held_equal:
        return f"Too few comebacks to hold anything else equal. {CAUTION}"
    return f"Held equal: {', '.join(map(words, together.held_equal))}, as far as there are comebacks enough. {CAUTION}"


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
