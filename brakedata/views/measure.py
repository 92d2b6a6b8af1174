"""Which axle to measure next, and an axle's rotors, as a person reads them beside the schedule."""

import pandas as pd

from brakedata import explain, rotors
from brakedata.schedule import Schedule
from brakedata.shown import Shown, chance_text, count_text
from brakedata.views.wear import axle_words

LISTED = 5


def next_to_measure(made: Schedule, rows: pd.DataFrame, shown: Shown) -> tuple[str, pd.DataFrame]:
    """The axles of a schedule's rows whose due window one more reading would narrow most.

    Parameters
    ----------
    made : Schedule
    rows : DataFrame
        Rows of its table.
    shown : Shown

    Returns
    -------
    str
        What it comes to, in a sentence.
    DataFrame of str
        At most five axles, columns named as they are shown.
    """
    places = _places(made, rows)
    ranked = explain.measure_next(explain.one_more_reading(made, places)).head(LISTED) if len(places) else pd.DataFrame()
    if not len(ranked):
        return "No axle that passes the filters would be known better for one more reading.", pd.DataFrame()
    first = ranked.iloc[0]
    said = (
        f"Of {count_text(len(places), 'axle')} looked at, {first['vehicle_id']} {axle_words(first['axle'])} first: measured today, its due "
        f"window (8 in 10) is expected to narrow from {shown.forecast_text(first['width_km'])} to {shown.forecast_text(first['width_after_km'])}."
    )
    names = [f"{vehicle} {axle_words(axle)}" for vehicle, axle in zip(ranked["vehicle_id"], ranked["axle"], strict=True)]
    table = pd.DataFrame(
        {
            "axle": names,
            "due window now, 8 in 10": ranked["width_km"].map(shown.forecast_text).to_numpy(),
            "after one reading, expected": ranked["width_after_km"].map(shown.forecast_text).to_numpy(),
            "in days, now": [f"{days:,.0f}" for days in ranked["width_days"]],
            "in days, after": [f"{days:,.0f}" for days in ranked["width_after_days"]],
            "stands on": [_why_wide(made, place) for place in ranked.index],
        }
    )
    return said, table


def _places(made, rows):
    keys = pd.MultiIndex.from_frame(made.lives.axles[["vehicle_id", "axle"]])
    rows = rows[rows["due_odometer_km"].notna()]
    return sorted(keys.get_indexer(pd.MultiIndex.from_frame(rows[["vehicle_id", "axle"]])))


def _why_wide(made, place) -> str:
    """What the axle's window rests on, in a few words."""
    positions = made.model.positions
    readings = int(positions.loc[positions["axle_no"].eq(place), "readings"].sum())
    if place in made.held_back:
        return "a change of linings is not answered"
    return f"{count_text(readings, 'reading')} of this life" if readings else "this life was never measured"


def rotor_words(made: Schedule, fitted: rotors.Rotors, vehicle_id: str, axle: str, shown: Shown) -> list[str]:
    """Whether an axle's rotors or drums outlast its linings, in one sentence."""
    keys = pd.MultiIndex.from_frame(made.lives.axles[["vehicle_id", "axle"]])
    row = fitted.outlook([keys.get_loc((vehicle_id, axle))]).iloc[0]
    if row["reason"]:
        return rotors.sentences(row, shown)
    return [
        f"{row['part'].capitalize()}s, about {shown.thickness_text(row['size_mm'])} now: chance of still being inside discard_at "
        f"when these linings are due {chance_text(row['outlasts_this_set'])}, the next set {chance_text(row['outlasts_next_set'])}, the one "
        f"after {chance_text(row['outlasts_one_after'])}."
    ]
