"""What comebacks took, where that is recorded, and what halving the worst habit would save."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata.columns import WORK_PARTS
from brakedata.comebacks.explain import GoesWith
from brakedata.findings import RecordsError

DAYS_A_MONTH = 365.25 / 12
HABITS = ("product_line", *WORK_PARTS)
"""Factors that a shop can change; people, axles, classes and seasons are not among them."""
DRAWS = 4_000
SEED = 21


@dataclass(frozen=True)
class Cost:
    """What comebacks took.

    Attributes
    ----------
    returns : int
        Visits at which jobs came back, second complaints too.
    priced : int
        Those of which a cost is recorded.
    months : float
    returns_a_month, cost_a_month : tuple of float
        Estimate and 95 % limits; cost in the records' own currency, returns of which no cost is recorded taken at the mean;
        NaN where no cost is recorded.
    worst : tuple of str
        Factor and level that go with most comebacks beyond those of other jobs, other things held equal; empty where none is
        beyond chance.
    saved_a_month, saved_cost_a_month : tuple of float
        Comebacks, and cost, that halving that excess would save: estimate and 95 % limits.
    by_month : DataFrame
        One row a month of the records: ``month, returns, priced`` (of them), ``cost`` (of those priced).
    """

    returns: int
    priced: int
    months: float
    returns_a_month: tuple[float, float, float]
    cost_a_month: tuple[float, float, float]
    worst: tuple[str, ...]
    saved_a_month: tuple[float, float, float]
    saved_cost_a_month: tuple[float, float, float]
    by_month: pd.DataFrame


def cost(records, found, together: GoesWith, cost_of_one: float | None = None) -> Cost:
    """What comebacks took a month.

    Parameters
    ----------
    records : Records
    found : Comebacks
    together : GoesWith
        As `explain.goes_with` gives it.
    cost_of_one : float, optional
        What one return costs (hours, bay, parts, goodwill), where the shop knows better than its work rows; then it stands for
        every return.

    Returns
    -------
    Cost

    Raises
    ------
    RecordsError
        ``cost_of_one`` is negative.
    """
    if cost_of_one is not None and not cost_of_one >= 0:
        raise RecordsError(f"“{cost_of_one:g}” is no cost of a comeback: give a number of 0 or more.")
    visits = found.links[found.links["answer"].ne("no") & found.links["km_after"].notna()]
    visits = visits[["visit_id", "job_axle", "date"]].drop_duplicates(["visit_id", "job_axle"])
    price = _price(records, visits) if cost_of_one is None else np.full(len(visits), float(cost_of_one))
    first = records.visits["date"].min()
    months = max((found.as_of - first).days / DAYS_A_MONTH, 1.0)
    rng = np.random.default_rng(SEED)
    count = rng.gamma(len(visits) + 0.5, 1.0, DRAWS)
    known = price[np.isfinite(price)]
    mean = rng.choice(known, (DRAWS, len(known))).mean(axis=1) if len(known) else np.full(DRAWS, np.nan)
    worst, saved, drawn = _worst(together, rng)
    return Cost(
        len(visits), len(known), months, _three(len(visits), count, months),
        _three(len(visits) * _mean(known), count * mean, months), worst, _three(saved, drawn, months),
        _three(saved * _mean(known), drawn * mean, months), _by_month(visits["date"], price, first, found.as_of),
    )  # fmt: skip


def _mean(known):
    return known.mean() if len(known) else np.nan


def _price(records, visits):
    """Cost of the work on the axle that came back, at the visit it did; NaN where none is recorded."""
    work = records.work[records.work["cost"].notna()]
    cost = work.groupby(["visit_id", "axle"])["cost"].sum()
    return cost.reindex(pd.MultiIndex.from_frame(visits[["visit_id", "job_axle"]])).to_numpy()


def _by_month(date, price, first, last):
    """Returns of each month of the records, and what those with a cost took."""
    months = pd.period_range(first, last, freq="M").to_timestamp()
    rows = pd.DataFrame({"month": date.dt.to_period("M").dt.to_timestamp().to_numpy(), "cost": price})
    counts = rows.groupby("month")["cost"].agg(returns="size", priced="count", cost="sum")
    counts = counts.reindex(months, fill_value=0).astype({"cost": "float64"})
    return counts.rename_axis("month").reset_index()


def _worst(together, rng):
    """The habit with the largest excess beyond chance, and half of that excess, with draws of it."""
    table = together.table
    table = table[table["factor"].isin(HABITS) & (table["adjusted_low"] > 1)] if len(table) else table
    if not len(table):
        return (), np.nan, np.full(DRAWS, np.nan)
    row = table.loc[(table["comebacks"] * (1 - 1 / table["adjusted"])).idxmax()]
    spread = np.log(row["adjusted_high"] / row["adjusted_low"]) / (2 * 1.96)
    ratio = row["adjusted"] * np.exp(spread * rng.standard_normal(DRAWS))
    drawn = rng.gamma(row["comebacks"] + 0.5, 1.0, DRAWS) * np.maximum(1 - 1 / ratio, 0.0) / 2
    return (row["factor"], row["level"]), row["comebacks"] * (1 - 1 / row["adjusted"]) / 2, drawn


def _three(middle, drawn, months):
    """Estimate and 95 % limits a month."""
    low, high = np.quantile(drawn, [0.025, 0.975])
    return float(middle / months), float(low / months), float(high / months)
