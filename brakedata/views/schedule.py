"""The schedule as a person reads it: filtered, sorted, in words, and what it comes to."""

import pandas as pd

from brakedata import schedule
from brakedata.columns import SCHEDULE
from brakedata.schedule import Schedule
from brakedata.shown import Shown, chance_text, count_text, day_text
from brakedata.views.wear import axle_words, part_words

ALL = "all"
HORIZONS = {"3 months": 3, "6 months": 6, "12 months": 12, "any time": 0}
"""Months ahead; 0 sets no end."""
ORDERS = {
    "due date, even odds": ("due_date", True),
    "due date, 1 chance in 10": ("due_date_early", True),
    "chance at discard": ("risk_before_next_visit", False),
    "thickness now": ("thickness_mm", True),
    "vehicle": ("vehicle_id", True),
}
NOTABLE_RISK = 0.1
KEY = (
    "bar: due window, 8 in 10; white mark: even odds; ink mark: next usual visit; "
    "darker: more likely to be at discard before that visit"
)


def with_more(made: Schedule) -> pd.DataFrame:
    """The schedule table with ``wear_class`` and ``next_visit_date`` beside it."""
    kind = made.lives.axles[["vehicle_id", "axle", "wear_class"]]
    out = made.table.merge(kind, on=["vehicle_id", "axle"], how="left")
    days = schedule.usual_next_visit(made.records, made.as_of).reindex(out["vehicle_id"]).to_numpy()
    return out.assign(next_visit_date=(made.as_of + pd.to_timedelta(days, unit="D")).normalize())


def horizon_end(as_of, months: int | None):
    """Last day of the horizon; None for any time."""
    return None if months is None else pd.Timestamp(as_of) + pd.DateOffset(months=months)


def filtered(table, as_of, *, months=None, wear_class=ALL, axle=ALL, vehicle="", order="due date, even odds") -> pd.DataFrame:
    """Rows of ``with_more`` that pass the filters, in the chosen order.

    Parameters
    ----------
    table : DataFrame
    as_of : Timestamp
    months : int, optional
        Axles with at least one chance in ten of being due within so many months; those without a forecast always stay.
    wear_class, axle : str
    vehicle : str
        Part of a vehicle_id, in small or capital letters.
    order : str
        A key of ``ORDERS``.
    """
    keep = pd.Series(True, index=table.index)
    end = horizon_end(as_of, months)
    if end is not None:
        keep &= table["due_date_early"].isna() | (table["due_date_early"] <= end)
    for column, wanted in (("wear_class", wear_class), ("axle", axle)):
        if wanted != ALL:
            keep &= table[column].eq(wanted)
    if vehicle.strip():
        keep &= table["vehicle_id"].str.lower().str.contains(vehicle.strip().lower(), regex=False)
    column, up = ORDERS[order]
    first = [column, "due_date", "vehicle_id", "axle"] if column != "due_date" else ["due_date", "vehicle_id", "axle"]
    names = list(dict.fromkeys(first))
    ascending = [up, *[True] * (len(names) - 1)]
    return table[keep].sort_values(names, ascending=ascending, kind="stable", na_position="last").reset_index(drop=True)


def headline(rows: pd.DataFrame, among: int, as_of, months: int | None) -> str:
    """What the filtered rows come to, in one sentence."""
    axles = count_text(among, "axle")
    risky = rows[rows["risk_before_next_visit"] >= NOTABLE_RISK].sort_values("risk_before_next_visit", ascending=False)
    end = horizon_end(as_of, months)
    when = f"may be due by {day_text(end)}" if end is not None else "listed"
    said = f"{len(rows):,} of {axles} {when}"
    if not len(rows):
        return f"None of {axles} {when}"
    lacking = rows["due_odometer_km"].notna() & rows["risk_before_next_visit"].isna()
    unknown = f"for {lacking.sum():,} no discard limit is recorded, so their chance is not known"
    if not len(risky):
        if not lacking.any():
            return f"{said}; none carries more than 1 chance in 10 of reaching discard before its next usual visit"
        if lacking.sum() == rows["due_odometer_km"].notna().sum():
            return f"{said}; no discard limit is recorded for them, so the chance of reaching it is not known"
        return f"{said}; of those with a discard limit none carries more than 1 chance in 10 of reaching it before its next usual visit; {unknown}"
    first = f"{risky['vehicle_id'].iloc[0]} {axle_words(risky['axle'].iloc[0])}"
    verb = "carries" if len(risky) == 1 else "carry"
    more = f"; {unknown}" if lacking.any() else ""
    return (
        f"{said}; {len(risky):,} {verb} more than 1 chance in 10 of reaching discard before the next usual visit, {first} first"
        f"{more}"
    )


def about(made: Schedule, record: str = "") -> tuple[tuple[str, str], ...]:
    """What a reader of the written schedule must know, as `tables.write` takes it: of when, of what, and what each column says."""
    t = made.table
    units = "Distances in km, thicknesses in mm; a chance of 1 is certainty."
    return (
        ("", f"Brake schedule of {made.records.source.name} as of {day_text(made.as_of)}: {count_text(len(t), 'axle')} of "
             f"{count_text(t['vehicle_id'].nunique(), 'vehicle')} in service. {units}"),
        ("", "Thickness and odometer are estimates for that day, not readings; the last reading's day stands beside them. The due window, early "
             "to late, holds eight times in ten: once in ten it is due before, once after. An empty risk: no discard limit is recorded."),
        *([("", record)] if record else []),
        *((answer.name, f"{answer.meaning} [{answer.unit}]" if answer.unit else answer.meaning) for answer in SCHEDULE),
    )  # fmt: skip


def cells(rows: pd.DataFrame, shown: Shown) -> pd.DataFrame:
    """The rows in words and chosen units, columns named as they are shown."""

    def window(what, text):
        names = [f"due_{what[0]}{what[1]}", f"due_{what[0]}_early{what[1]}", f"due_{what[0]}_late{what[1]}"]
        return [f"{text(m)} ({text(a)} to {text(b)})" if pd.notna(m) else "" for m, a, b in rows[names].itertuples(index=False)]

    rate = shown.rate_text(1.0).split(" per ")[1]
    stands_on = zip(rows["basis"], rows["readings"], strict=True)
    return pd.DataFrame(
        {
            "axle": [f"{vehicle} {axle_words(axle)}" for vehicle, axle in zip(rows["vehicle_id"], rows["axle"], strict=True)],
            "first to be due": [part_words(s, p) for s, p in zip(rows["governing_side"], rows["governing_part"], strict=True)],
            "now, median": rows["thickness_mm"].map(shown.thickness_text),
            f"wear per {rate}, median": [shown.rate_text(r).split(" per ")[0] for r in rows["rate_mm_per_10000km"]],
            f"due [{shown.distance}], even odds (8 in 10 between)": window(("odometer", "_km"), lambda km: shown.distance_number(km, 100)),
            "due date, even odds (8 in 10 between)": window(("date", ""), day_text),
            "at discard before next visit": [
                chance_text(chance) or ("no discard limit" if pd.notna(due) else "")
                for chance, due in zip(rows["risk_before_next_visit"], rows["due_odometer_km"], strict=True)
            ],
            "stands on": [f"{b}, {count_text(int(n), 'reading')}" if b else "" for b, n in stands_on],
            "findings": rows["findings"].map(_numbers_of),
        }
    )  # fmt: skip


def _numbers_of(codes: str) -> str:
    """``R40, R45`` of a row's finding codes."""
    return ", ".join(code.split("-")[0] for code in codes.split())
