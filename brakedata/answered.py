"""What a person has answered about who is who: kept in ``records.toml``, and applied to the tables as they are read.

::

    [[answers.same_visit]]         # one visit on two papers: taken together under the first
    visit_id = "W12"
    other_visit_id = "W13"
    answer = "yes"                 # yes, no or unknown

    [[answers.vehicles_swapped]]   # each visit belongs to the other's vehicle
    visit_id = "W20"
    other_visit_id = "W21"
    answer = "yes"

    [[answers.sides_swapped]]      # left is right at this visit, on this axle
    visit_id = "W30"
    axle = "front"
    answer = "no"

    [[answers.new_cluster]]        # from this day on the odometer shows this much too little (below zero: too much)
    vehicle_id = "V-7"
    from = "2024-05-01"
    add = 152300
    unit = "km"
    answer = "yes"

    [[answers.odometer_unit]]      # these odometers are in another unit: km, mi, or hours with km_per_hour
    vehicle_id = "V-9"
    where = "all"                  # all, visits, odometer_log, "visit W40", or "from 2024-05-01"
    unit = "hours"
    km_per_hour = 30
    answer = "yes"

Only a yes changes anything, in the tables as read and never in a file; each change has a finding R84, and the cells as written
stay beside the changed ones.
"""

import json
from pathlib import Path

import numpy as np
import pandas as pd

from brakedata import codes, findings, settings_file
from brakedata.findings import RecordsError
from brakedata.settings_file import SETTINGS_FILE
from brakedata.units import DISTANCE_KM

SAID = ("yes", "no", "unknown")
KINDS = {
    "same_visit": ("visit_id", "other_visit_id"),
    "vehicles_swapped": ("visit_id", "other_visit_id"),
    "sides_swapped": ("visit_id", "axle"),
    "new_cluster": ("vehicle_id", "from"),
    "odometer_unit": ("vehicle_id", "where"),
}
"""Kinds of question, and what names one."""
JOINED_TEXTS = ("reason", "complaint", "technician", "note")


def identity(kind: str, fields: dict) -> tuple[str, ...]:
    """What makes two answers the same question: the kind and what names it; two visits in either order are one question."""
    named = [str(fields[name]).strip() for name in KINDS[kind]]
    return (kind, *(sorted(named) if "other_visit_id" in KINDS[kind] else named))


def understood(settings) -> tuple[dict[tuple, dict], list[pd.DataFrame]]:
    """The answers of ``records.toml`` by `identity` (the last one counts), and findings R15 for entries that are none."""
    answers, found = {}, []
    for kind, entries in settings.answers.items():
        for entry in entries:
            problem = _problem(kind, entry)
            if problem:
                found.append(_misread(kind, entry, problem))
            else:
                answers[identity(kind, entry)] = {**entry, "answer": str(entry["answer"]).strip().lower()}
    return answers, found


def sides_not_swapped(settings) -> list[tuple[str, str]]:
    """Visits and axles of which a person said that left and right are not swapped."""
    return [name[1:] for name, entry in understood(settings)[0].items() if name[0] == "sides_swapped" and entry["answer"] == "no"]


def _problem(kind, entry) -> str:
    """What is wrong with an entry; empty where nothing is."""
    if kind not in KINDS:
        return f"kinds of answers are {', '.join(KINDS)}"
    if not isinstance(entry, dict) or not {*KINDS[kind], "answer"} <= entry.keys():
        return f"it needs {', '.join(KINDS[kind])} and answer"
    if str(entry["answer"]).strip().lower() not in SAID:
        return "answer is yes, no or unknown"
    if kind == "new_cluster" and not (_number(entry.get("add")) and entry.get("unit") in DISTANCE_KM):
        return "it needs add, a number, and unit, km or mi"
    if kind == "new_cluster" and pd.isna(_day(entry["from"])):
        return "from is a day, YYYY-MM-DD"
    if kind == "odometer_unit" and not (entry.get("unit") in DISTANCE_KM or _hours(entry)):
        return "it needs unit: km, mi, or hours and km_per_hour"
    if kind == "odometer_unit" and not _where_known(str(entry["where"])):
        return "where is all, visits, odometer_log, visit and its number, or from and a day"
    return ""


def _number(number) -> bool:
    return isinstance(number, int | float) and not isinstance(number, bool) and np.isfinite(number)


def _hours(entry) -> bool:
    speed = entry.get("km_per_hour")
    return entry.get("unit") == "hours" and _number(speed) and speed > 0


def _day(text):
    return pd.to_datetime(str(text).strip(), format="%Y-%m-%d", errors="coerce")


def _where_known(where) -> bool:
    first, _, rest = where.strip().partition(" ")
    return (
        where in ("all", "visits", "odometer_log") or (first == "visit" and rest) or (first == "from" and not pd.isna(_day(rest)))
    )


def _misread(kind, entry, problem) -> pd.DataFrame:
    said = ", ".join(f"{name} = {value}" for name, value in entry.items()) if isinstance(entry, dict) else str(entry)
    advice = f"{problem}: correct the entry in records.toml; it was not used"
    return findings.make("R15-setting-not-understood", SETTINGS_FILE, column=f"answers.{kind}", value=said, advice=advice)


# --- applying a yes ---------------------------------------------------------------------------------------------------


def apply(tables: dict[str, pd.DataFrame], settings) -> tuple[dict[str, pd.DataFrame], list[pd.DataFrame]]:
    """The tables with every answered yes carried out, and the findings R84 that say so (R15 where an answer fits nothing).

    Parameters
    ----------
    tables : dict of DataFrame
        As ``records.read`` gives them; they are not changed.
    settings : Settings

    Returns
    -------
    tables : dict of DataFrame
    found : list of DataFrame
    """
    answers, found = understood(settings)
    yes = {name: entry for name, entry in answers.items() if entry["answer"] == "yes"}
    if yes:
        tables = {name: codes.plain(table) for name, table in tables.items()}
        for kind, carry_out in _CHANGES.items():
            for entry in (entry for name, entry in yes.items() if name[0] == kind):
                made = carry_out(tables, {name: str(value).strip() for name, value in entry.items()}, entry)
                found += made or [_misread(kind, entry, "the records hold no such visit, vehicle or reading")]
    return tables, found


def _applied(table, rows, column, value, reading) -> list[pd.DataFrame]:
    """R84 on the first of the rows concerned."""
    first = rows.iloc[:1]
    return [
        findings.make(
            "R84-answer-applied", table, row=first["row"], vehicle_id=first.get("vehicle_id", ""), column=column, value=value,
            reading=reading,
        )
    ]  # fmt: skip


def _two_visits(tables, said):
    """Places of the two visits of an answer, or none."""
    visits = tables["visits"]
    place = [np.flatnonzero(visits["visit_id"].eq(said[name])) for name in ("visit_id", "other_visit_id")]
    return [at[0] for at in place] if all(len(at) for at in place) and said["visit_id"] != said["other_visit_id"] else []


def _take_together(tables, said, _):
    """The second visit's readings, work and words under the first; its own row goes."""
    both = _two_visits(tables, said)
    visits = tables["visits"]
    if not both or visits["vehicle_id"].iloc[both[0]] != visits["vehicle_id"].iloc[both[1]]:
        return []
    first, second = both
    gone = visits.iloc[[second]]
    for name in JOINED_TEXTS:
        texts = dict.fromkeys(filter(None, visits[name].iloc[both]))  # each once, in order
        visits.loc[visits.index[first], name] = "; ".join(texts)
    if visits["odometer"].isna().iloc[first]:
        for name in ("odometer", "odometer_written", "odometer_unit", "factor"):
            visits.loc[visits.index[first], name] = visits[name].iloc[second]
    tables["visits"] = visits.drop(index=visits.index[second]).reset_index(drop=True)
    for name in ("measurements", "work"):
        ids = tables[name]["visit_id"]
        tables[name]["visit_id"] = ids.mask(ids.eq(said["other_visit_id"]), said["visit_id"])
    return _applied("visits", gone, "visit_id", said["other_visit_id"], f"taken together with visit {said['visit_id']}")


def _swap_vehicles(tables, said, _):
    """Each of two visits to the other's vehicle."""
    both = _two_visits(tables, said)
    if not both:
        return []
    visits = tables["visits"]
    rows = visits.iloc[both]
    visits.loc[visits.index[both], "vehicle_id"] = rows["vehicle_id"].to_numpy()[::-1]
    now = visits["vehicle_id"].iloc[both].to_numpy()
    return [
        findings.make(
            "R84-answer-applied", "visits", row=rows["row"], vehicle_id=now, column="vehicle_id", value=rows["vehicle_id"], reading=now,
        )
    ]  # fmt: skip


def _swap_sides(tables, said, _):
    """Left and right of the readings of one axle at one visit."""
    m = tables["measurements"]
    there = m["visit_id"].eq(said["visit_id"]) & m["axle"].eq(said["axle"]) & m["side"].isin(("left", "right"))
    if not there.any():
        return []
    m["side"] = m["side"].mask(there, m["side"].map({"left": "right", "right": "left"}))
    return _applied("measurements", m[there], "side", f"{said['axle']} left and right", f"swapped on {there.sum()} readings")


def _add_distance(tables, said, entry):
    """So much more on every odometer of a vehicle from a day on."""
    more_km = entry["add"] * DISTANCE_KM[entry["unit"]]
    made = []
    for name in ("visits", "odometer_log"):
        table = tables[name]
        there = table["vehicle_id"].eq(said["vehicle_id"]) & (table["date"] >= _day(said["from"]))
        table["odometer"] = table["odometer"].mask(there, table["odometer"] + more_km / table["factor"])
        if there.any():
            reading = f"{said['add']} {said['unit']} added to {there.sum()} from {said['from']} on"
            made += _applied(name, table[there], "odometer", table.loc[there, "odometer_written"].iloc[:1], reading)
    return made


def _other_unit(tables, said, entry):
    """Odometers of a vehicle read in the unit that a person named."""
    factor = entry["km_per_hour"] if said["unit"] == "hours" else DISTANCE_KM[said["unit"]]
    made = []
    for name, column in (("vehicles", "in_service_odometer"), ("visits", "odometer"), ("odometer_log", "odometer")):
        table = tables[name]
        there = table["vehicle_id"].eq(said["vehicle_id"]) & _in_scope(said["where"], name, table)
        table["factor"] = table["factor"].mask(there, factor)
        there &= table[column].notna()
        if there.any():
            reading = f"{there.sum()} read as {said['unit']}" + (f", {factor} km an hour" if said["unit"] == "hours" else "")
            made += _applied(name, table[there], column, table.loc[there, f"{column}_written"].iloc[:1], reading)
    return made


def _in_scope(where, name, table):
    """Which rows of a table ``where`` speaks of; all rows, or bool by row."""
    first, _, rest = where.partition(" ")
    if first == "visit":
        return table["visit_id"].eq(rest.strip()) if name == "visits" else False
    if first == "from":
        return table["date"] >= _day(rest) if name != "vehicles" else False
    return where in ("all", name)


_CHANGES = {
    "vehicles_swapped": _swap_vehicles, "same_visit": _take_together, "sides_swapped": _swap_sides, "odometer_unit": _other_unit,
    "new_cluster": _add_distance,
}  # fmt: skip


# --- remembering ------------------------------------------------------------------------------------------------------


def lines(kind: str, fields: dict, said: str = "yes") -> str:
    """The lines of ``records.toml`` that give an answer."""
    written = [f"{name} = {json.dumps(value, ensure_ascii=False)}" for name, value in {**fields, "answer": said}.items()]
    return "\n".join([f"[[answers.{kind}]]", *written])


def remember(folder, kind: str, fields: dict, said: str) -> Path:
    """Write a person's answer into ``records.toml`` beside the records.

    An earlier answer to the same question is replaced; everything else in the file, comments too, stays as it is.

    Parameters
    ----------
    folder : str or Path
        The records folder, or the workbook in it.
    kind, fields
        The question, as a proposal of ``who_is_who`` has it.
    said : str
        ``yes``, ``no`` or ``unknown``.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    RecordsError
        Another answer, or a file that cannot be written.
    """
    if said not in SAID:
        raise RecordsError(f"“{said}” is no answer to this question: answer yes, no or unknown.")
    with settings_file.changing(folder) as document:
        document.setdefault("answers", {})
        one = settings_file.entry(document["answers"], kind, fields, lambda one: _about(kind, one, fields))
        for name, value in {**fields, "answer": said}.items():
            one[name] = value
    return settings_file.place(folder)


def _about(kind, entry, fields) -> bool:
    """Whether an entry is about the question that ``fields`` name."""
    return set(KINDS[kind]) <= entry.keys() and identity(kind, entry) == identity(kind, fields)
