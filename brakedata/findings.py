"""Findings: everything that was noticed about the records, as rows that can be counted and filtered.

A rule is defined once, below, with its number, its severity and the advice it gives. A finding is one row of
the findings table (see ``columns.FINDINGS``); sentences for people are made from the row, never parsed from it.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata.columns import FINDINGS

COLUMNS = [answer.name for answer in FINDINGS]
SEVERITIES = ("note", "left_out", "refused")


class RecordsError(Exception):
    """Nothing could be done; the message is one sentence that says where, what, and what to do."""


@dataclass(frozen=True)
class Rule:
    """A numbered rule: its code as shown, how serious it is, and what to do when it speaks."""

    code: str
    severity: str
    advice: str


RULES: dict[str, Rule] = {
    rule.code: rule
    for rule in (
        # reading the tables
        Rule("R1-table-missing", "note", "add this table if you keep such records; the answers do without it"),
        Rule("R2-table-twice", "note", "keep one of the two; the other was not read"),
        Rule("R3-column-missing", "left_out", "add the column, or name yours like it; the table could not be used"),
        Rule("R4-column-twice", "note", "two columns have this name; the first was used: rename or delete the other"),
        Rule("R5-cells-too-many", "left_out", "the line has more cells than the header; quote texts that hold the separator"),
        Rule("R6-encoding", "note", "the file is not UTF-8; it was read as Windows-1252: save it as UTF-8 if letters look wrong"),
        Rule("R7-cell-empty", "left_out", "fill in the cell; the row could not be used without it"),
        Rule("R8-not-a-number", "left_out", "write a plain number with a decimal point"),
        Rule("R9-not-a-date", "left_out", "write the date as YYYY-MM-DD"),
        Rule("R10-unknown-word", "left_out", "use one of the words of the column dictionary"),
        Rule("R11-unknown-unit", "left_out", "use km or mi for distances, mm, in or 32nds for thicknesses"),
        Rule("R12-listed-twice", "left_out", "the same thing is listed twice; the first row was used: delete one"),
        Rule("R13-unknown-vehicle", "left_out", "add the vehicle to the vehicles table, or correct its name"),
        Rule("R14-unknown-visit", "left_out", "add the visit to the visits table, or correct its number"),
        Rule("R15-setting-not-understood", "note", "correct the entry in records.toml; it was not used"),
        Rule("R16-quote-open", "note", "a quotation mark opened here is not closed on its line; it was read as a plain character: delete it"),
        # dates and odometers
        Rule("R20-date-impossible", "left_out", "correct the year; no other record is near this date"),
        Rule("R21-date-out-of-service", "note", "the date lies outside the vehicle's time in service: correct one of them"),
        Rule("R22-odometer-impossible", "left_out", "no vehicle shows this; write the odometer as read"),
        Rule("R23-odometer-back", "left_out", "it contradicts the vehicle's other odometers: look it up and correct it"),
        Rule("R24-odometer-leap", "left_out", "it is far off what this vehicle drives: look it up and correct it"),
        Rule("R25-odometer-none", "refused", "no odometer of this vehicle can be believed: one good odometer settles it"),
        # thicknesses and limits
        Rule("R30-out-of-range", "left_out", "no such part has this dimension: check the number and its unit"),
        Rule("R31-part-and-measure", "left_out", "this part is not measured this way: correct the part or the measure"),
        Rule("R32-all-zero", "left_out", "every reading of the visit is zero: if truly metal to metal, write <0.5; else leave it empty"),
        Rule("R33-several-readings", "note", "several readings of one part at one visit: the one nearest the limit was used"),
        Rule("R34-bound", "note", "used as a bound: it says at most how thin or how thick the part is; a number says more"),
        Rule("R35-thicker-than-new", "note", "thicker than the new part in the limits table: check both"),
        Rule("R36-limit-order", "left_out", "new comes first, then machine_to and replace_at, then discard_at: correct the row"),
        Rule("R37-limit-with-backing", "note", "this limit counts the backing plate and readings do not: give the lining limit"),
        Rule("R38-limit-default", "note", "no limit given: the kit's planning point was used; enter your own in the limits table"),
        Rule("R39-no-discard-limit", "note", "no discard_at in the limits table: enter the vehicle's service information"),
        # lives
        Rule("R40-change-unrecorded", "note", "the lining grew and no job is recorded: say yes or no to the proposed change, or add the work row"),
        Rule("R41-reading-misfit", "left_out", "it fits neither the readings before nor after: look it up, measure again"),
        Rule("R42-sides-swapped", "left_out", "one side grew as the other shrank: left and right may be swapped at this visit"),
        Rule("R43-axle-two-names", "note", "this vehicle's axles are named here and numbered there: use one way, or one axle counts as two"),
        Rule("R44-axle-assumed", "note", "no record says which axles this vehicle has: front and rear were taken"),
        Rule("R45-axle-never-measured", "note", "never measured: the window is that of like vehicles; one reading narrows it"),
        Rule("R48-overdue-unseen", "note", "due long before the as-of date with nine chances in ten, and not seen since: measure it, or add the job that was done"),
        Rule("R47-not-seen", "note", "no visit or odometer for a long time: enter retired_date if it left, else bring it in"),
        Rule("R49-after-not-said", "note", "it grew at a visit with a recorded job: taken as read after the work; write after in taken"),
        Rule("R46-past-limit", "note", "a reading of this life is at or under discard_at: inspect now"),
        # comebacks
        Rule("R60-job-without-odometer", "left_out", "the job's visit has no odometer that can be believed: write it as read, so that the job can be watched"),
        Rule("R61-answer-without-job", "note", "this answer names a visit or a job that the records do not hold: correct it or delete it"),
        Rule("R62-not-watched-so-far", "note", "no job of this level has been watched so far: ask for a shorter distance"),
        Rule("R63-too-few-to-say", "note", "too few to say: no figure is given for a person under 50 jobs"),
        Rule("R64-beyond-chance", "note", "differs from the rest of the shop by more than chance: look at what goes with it before anyone is blamed"),
        Rule("R65-seen-again-only", "note", "the risk rests on the few vehicles that were seen again; of all jobs far fewer are known to have come back"),
        Rule("R66-crude-and-adjusted-disagree", "note", "alone it differs by more than chance, with other things held equal it may not: look at what goes with it before you conclude"),
    )
}  # fmt: skip


def empty() -> pd.DataFrame:
    """A findings table with no row."""
    return pd.DataFrame({name: pd.Series(dtype="float64" if name == "row" else "str") for name in COLUMNS})


def make(code: str, table: str, *, row=np.nan, vehicle_id="", column="", value="", reading="", advice="") -> pd.DataFrame:
    """Findings of one rule, a row each; scalars are repeated.

    Parameters
    ----------
    code : str
        A key of ``RULES``.
    table : str
        The record table (or answer) it is about.
    row, vehicle_id, column, value, reading, advice : scalar or array, shape (n,)
        As in ``columns.FINDINGS``; an empty ``advice`` is the rule's own.

    Returns
    -------
    DataFrame, shape (n, 9)
    """
    rule = RULES[code]
    cells = {"row": row, "vehicle_id": vehicle_id, "column": column, "value": value, "reading": reading, "advice": advice}
    n = max((len(cell) for cell in cells.values() if np.ndim(cell)), default=1)
    if n == 0:
        return empty()
    cells = {name: np.asarray(cell) if np.ndim(cell) else np.repeat(np.asarray(cell), n) for name, cell in cells.items()}
    frame = pd.DataFrame({"code": rule.code, "severity": rule.severity, "table": table, **cells})
    for name in COLUMNS:
        if name == "row":
            frame[name] = pd.to_numeric(frame[name]).astype("float64")
        else:
            frame[name] = frame[name].astype("str").fillna("")
    frame.loc[frame["advice"] == "", "advice"] = rule.advice
    return frame[COLUMNS]


def join(parts: list[pd.DataFrame]) -> pd.DataFrame:
    """One findings table of several, in order of table, row and code."""
    parts = [part for part in parts if len(part)]
    if not parts:
        return empty()
    found = pd.concat(parts, ignore_index=True)
    return found.sort_values(["table", "row", "code", "vehicle_id", "column"], kind="stable", ignore_index=True)


def sentence(finding) -> str:
    """One finding as a sentence: where, what, what to do."""
    where = [finding["table"]]
    if pd.notna(finding["row"]):
        where.append(f"line {int(finding['row'])}")
    if finding["vehicle_id"]:
        where.append(f"vehicle {finding['vehicle_id']}")
    what = finding["column"]
    if finding["value"]:
        what = f"{what} “{finding['value']}”".strip()
    if finding["reading"]:
        what = f"{what} ({finding['reading']})".strip()
    place = ", ".join(where)
    return f"{finding['code']} {place}: {what + ': ' if what else ''}{finding['advice']}"
