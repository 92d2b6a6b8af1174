"""Cells of our own tables that are no plain numbers, dates or words, read through `cells.read` with their column as context.

What it reads is used, with a finding where something was assumed or doubted (R71, R72); what can mean two things is left out with
the question (R74), what cannot be believed with the reason (R73). What is no reading at all keeps the plain rule's finding.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata import cells, findings
from brakedata.cells.reading import REFUSE, Reading
from brakedata.cells.told import Told
from brakedata.columns import LINING_PARTS, Column
from brakedata.units import DISTANCE_KM, THICKNESS_MM, distance_unit, thickness_unit

CONTEXT = 500
"""Plain cells of the column that the reader sees beside those that are not."""
THEIR_UNIT = {"mm": "mm", "in": "in", "32nds": "in32"}
OUR_UNIT = {"mm": "mm", "in": "in", "in32": "32nds"}
OF_WORK = {"pad": "pads", "shoe": "shoes"}


@dataclass(frozen=True)
class Mended:
    """Cells read after all.

    ``rows`` (places in the table) and ``cells`` (by column, one a row) are what was read; ``explained`` are the rows that are
    left out with a finding of their own.
    """

    rows: np.ndarray
    cells: dict[str, list]
    explained: np.ndarray
    found: list[pd.DataFrame]


def can_be(column: Column) -> bool:
    """Whether cells of this kind are read by `cells.read`."""
    return (
        column.kind in ("reading", "date", "axle")
        or "odometer" in column.name
        and column.kind == "number"
        or column.name in ("side", "part")
    )


def read(table: str, column: Column, raw: pd.DataFrame, rows: np.ndarray, texts: pd.Series, settings) -> Mended:
    """Read the cells of ``rows`` that are not written plainly.

    Parameters
    ----------
    table : str
    column : Column
        For which `can_be` holds.
    raw : DataFrame
        The table as written.
    rows : ndarray of int
        Places of the cells in the table.
    texts : Series of str
        The column's distinct texts.
    settings : Settings

    Returns
    -------
    Mended
    """
    written = raw[column.name].iloc[rows].astype("str").str.strip().tolist()
    hints = {**settings.shop, "source": "csv"}
    told, read_as, values = Told(), _READERS[_kind(column)], {}
    taken, explained = np.zeros(len(rows), dtype=bool), np.zeros(len(rows), dtype=bool)
    for those, own in _alike(column, raw, rows, settings):
        context = texts[texts.ne("")].head(CONTEXT).tolist()
        own_texts = [written[at] for at in those]
        readings = cells.read(_FIELD[_kind(column)], own_texts + context, column.name, {**hints, **own})[: len(own_texts)]
        for at, reading in zip(those, readings, strict=True):
            one = read_as(reading, column, raw, rows[at], table) if reading.taken else None
            explained[at] = reading.status != REFUSE and one is None
            if one is not None:
                taken[at] = True
                values[rows[at]] = one
            elif reading.taken:
                told.refuse(
                    "R73-not-believed", column.name, [rows[at]], [written[at]], "more than one cell of this column can hold"
                )
        used = [
            place for place, at in enumerate(those) if taken[at] or not readings[place].taken and readings[place].status != REFUSE
        ]
        told.of(column.name, rows[those[used]], [own_texts[place] for place in used], [readings[place] for place in used])
    place = rows[taken]
    names = list(dict.fromkeys(name for at in place for name in values[at]))
    changed = {name: [values[at].get(name) for at in place] for name in names}
    return Mended(place, changed, rows[explained], _findings(told, table, raw))


def _kind(column: Column) -> str:
    return "odometer" if column.kind == "number" else column.name if column.kind == "choice" else column.kind


_FIELD = {
    "odometer": "odometer",
    "reading": "pad_thickness",
    "date": "date",
    "axle": "position",
    "side": "position",
    "part": "position",
}


def _alike(column: Column, raw: pd.DataFrame, rows: np.ndarray, settings):
    """The rows by the unit that they are written in, with the hint that says it; readings only of linings."""
    at = np.arange(len(rows))
    if column.kind == "reading":
        at = at[_of_linings(raw, rows)]
        unit_of, own, column_of = thickness_unit, settings.thickness_unit, "unit"
    elif column.kind == "number":
        unit_of, own, column_of = distance_unit, settings.distance_unit, "odometer_unit"
    else:
        yield at, {}
        return
    written = _cells(raw, column_of, rows[at])
    units = np.array([(unit_of(word) if word else own) or "" for word in written], dtype=object)
    for unit in dict.fromkeys(units):
        if unit in DISTANCE_KM or unit in THEIR_UNIT:
            yield at[units == unit], {"unit": THEIR_UNIT.get(unit, unit)}


def _of_linings(raw, rows) -> np.ndarray:
    part = np.array([word.lower().replace(" ", "_") for word in _cells(raw, "part", rows)], dtype=object)
    measure = np.array([word.lower() for word in _cells(raw, "measure", rows)], dtype=object)
    return np.isin(part, LINING_PARTS) & (measure == "thickness")


def _cells(raw: pd.DataFrame, name: str, rows) -> list[str]:
    if name not in raw.columns:
        return [""] * len(rows)
    return raw[name].iloc[rows].astype("str").fillna("").str.strip().tolist()


def _thickness(reading: Reading, column, raw, row, table) -> dict | None:
    unit = OUR_UNIT.get(reading.unit)
    value = reading.value
    if isinstance(value, (int, float)) and unit:
        return {"value": _in(value, unit), "low": np.nan, "high": np.nan, "unit": unit, "factor": THICKNESS_MM[unit]}
    if isinstance(value, dict) and "low" in value:
        unit = unit or "mm"
        return {
            "value": np.nan,
            "low": _in(value["low"], unit),
            "high": _in(value["high"], unit),
            "unit": unit,
            "factor": THICKNESS_MM[unit],
        }
    return None


def _in(mm, unit: str) -> float:
    return np.nan if mm is None else round(mm / THICKNESS_MM[unit], 6)


def _odometer(reading: Reading, column, raw, row, table) -> dict | None:
    if not isinstance(reading.value, (int, float)):
        return None
    unit = reading.unit if reading.unit in DISTANCE_KM else "km"
    return {column.name: round(reading.value / DISTANCE_KM[unit], 1), "odometer_unit": unit, "factor": DISTANCE_KM[unit]}


def _date(reading: Reading, column, raw, row, table) -> dict | None:
    return {column.name: pd.Timestamp(reading.value)} if isinstance(reading.value, str) else None


def _place(reading: Reading, column, raw, row, table) -> dict | None:
    """An axle, side or part by itself; an axle's cell may name the side too, where the side's own cell is empty or agrees."""
    if not isinstance(reading.value, dict):
        return None
    said = {name: value for name, value in reading.value.items() if value}
    if column.name == "part" and table == "work":
        said["part"] = OF_WORK.get(said.get("part"), said.get("part"))
    others = said.keys() - {column.name}
    if column.name not in said or column.choices and column.kind == "choice" and said[column.name] not in column.choices:
        return None
    if not others:
        return {column.name: said[column.name]}
    if column.name == "axle" and others == {"side"} and _cells(raw, "side", [row])[0].lower() in ("", said["side"]):
        return said
    return None


_READERS = {"reading": _thickness, "odometer": _odometer, "date": _date, "axle": _place, "side": _place, "part": _place}


def _findings(told: Told, table: str, raw: pd.DataFrame) -> list[pd.DataFrame]:
    line = raw["row"].to_numpy()
    rows = [(code, line[at], column, value, said, "") for code, at, column, value, said in told.noted]
    rows += [
        ("R74-ask", line[at], column, value, said, ANSWERS.get(question, "")) for question, at, column, value, said in told.asked
    ]
    frame = pd.DataFrame(rows, columns=["code", "row", "column", "value", "reading", "advice"])
    return [
        findings.make(
            code, table, row=its["row"], column=its["column"], value=its["value"], reading=its["reading"], advice=its["advice"]
        )
        for code, its in frame.groupby("code")
    ]


ANSWERS = {
    "date_order": 'write the date as YYYY-MM-DD, or date_order = "day_first" under [shop] in records.toml',
    "driver_side": 'write left or right, or driver_side = "left" under [shop] in records.toml',
    "traffic_side": 'write left or right, or country = "GB" under [shop] in records.toml',
    "decimal": 'write a plain number with a decimal point, or decimal = "," under [shop] in records.toml',
    "percent": "write the reading as a number with its unit",
    "unit": "write a plain number, and its unit in the unit's own column",
}
"""What to do about a question of the cells' reader, by the hint that would settle it."""
