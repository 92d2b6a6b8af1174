"""Findings: everything that was noticed about the records, as rows that can be counted and filtered.

A rule is defined once, below, with its number, its severity and the advice it gives. A finding is one row of
the findings table (see ``columns.FINDINGS``); sentences for people are made from the row, never parsed from it.
"""

import unicodedata
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
        Rule("R17-not-read", "left_out", "this file in the zip was not read: take it out and give it by itself"),
        Rule("R18-line-cut", "left_out", "the file ends in the middle of a line, as one that was still being written: save or export it again"),
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
        Rule("R34-bound", "note", "used as a limit, such as 2 or less, and not as a number: write what the gauge shows where you can"),
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
        Rule("R50-unit-changed", "note", "if so, write the unit in the heading or in each cell, and read the file again; else look at who measured how"),
        Rule("R67-only-thin-written", "note", "linings are written down only once they are thin: rates look faster than they are and due dates too early; write every reading down"),
        Rule("R68-only-finished-written", "note", "linings are written down only for lives that have ended: rates look faster than they are; write down what is measured on running ones"),
        # comebacks
        Rule("R60-job-without-odometer", "left_out", "the job's visit has no odometer that can be believed: write it as read, so that the job can be watched"),
        Rule("R61-answer-without-job", "note", "this answer names a visit or a job that the records do not hold: correct it or delete it"),
        Rule("R62-not-watched-so-far", "note", "no job of this level has been watched so far: ask for a shorter distance"),
        Rule("R63-too-few-to-say", "note", "too few to say: no figure is given for a person under 50 jobs"),
        Rule("R64-beyond-chance", "note", "differs from the rest of the shop by more than chance: look at what goes with it before anyone is blamed"),
        Rule("R65-seen-again-only", "note", "the risk rests on the few vehicles that were seen again; of all jobs far fewer are known to have come back"),
        Rule("R66-crude-and-adjusted-disagree", "note", "alone it differs by more than chance, with other things held equal it may not: look at what goes with it before you conclude"),
        # foreign files and hand-written cells
        Rule("R70-column-missing", "note", "no column of this kind is known in these files: name it in records.toml if there is one"),
        Rule("R71-assumed", "note", "read so, by the column and what was answered before: say so if it is wrong"),
        Rule("R72-read-with-doubt", "note", "read as shown: look at it, and correct the cell if it is wrong"),
        Rule("R73-not-believed", "left_out", "seen and not taken: look at the cell and correct it"),
        Rule("R74-ask", "left_out", "it can mean two things: write it out, or answer the question once"),
        Rule("R75-no-reading", "left_out", "no reading: write a number with its unit, or leave the cell empty"),
        Rule("R76-row-left-out", "left_out", "nothing of this row could be used"),
        Rule("R77-work-not-clear", "note", "write part, axle and what was done, for instance: front pads replaced"),
        Rule("R78-no-record", "note", "no record: a title, a total, a blank line"),
        Rule("R79-same-again", "note", "it was there before and counts once"),
        # vehicle identification numbers, and who is who
        Rule("R80-vin-form", "left_out", "a VIN has 17 letters and digits, never I, O or Q: copy it from the vehicle; it was not used"),
        Rule("R81-vin-check-digit", "left_out", "the ninth character of a North American VIN must agree with the others: copy it from the vehicle; it was not used"),
        Rule("R82-vin-not-north-american", "note", "the check digit does not agree; outside North America it need not: compare it with the vehicle"),
        Rule("R83-vin-twice", "note", "two vehicles with one VIN, or nearly: if it is one vehicle under two names, use one name"),
        Rule("R84-answer-applied", "note", "changed while reading, as answered in records.toml; the file is as it was"),
        Rule("R85-visit-twice", "note", "two visits look like one written down twice: answer in records.toml"),
        Rule("R86-vehicles-swapped", "note", "two vehicles look swapped at this visit: answer in records.toml"),
        Rule("R87-sides-swapped", "note", "left and right look swapped at this visit: answer in records.toml"),
        Rule("R88-new-cluster", "note", "the odometer goes on at another level, as after a new cluster: answer in records.toml"),
        Rule("R89-odometer-unit", "note", "the odometer seems to count in another unit: answer in records.toml"),
        # track record
        Rule("R90-record-too-short", "note", "too few forecasts of these records can be judged yet: go on measuring at every visit"),
        Rule("R91-windows-too-narrow", "note", "the due windows held less than 8 times in 10, by more than chance: plan by the early end, and look at what changed"),
        # what moves wear, gauge study
        Rule("R92-not-alike", "note", "the compared sets differ in more than this: only like was compared with like; lean on it the less, the fewer these are"),
        Rule("R93-nothing-alike", "refused", "no vehicle of the others is like these, so nothing can be compared: fit both to like vehicles, then ask again"),
        Rule("R94-gauge-study-small", "note", "the gauge study is too small: measure about ten vehicles twice; until then the stated default is used"),
        # held back, and seen beside the forecast
        Rule("R95-own-forecast-held-back", "note", "whether its linings were changed is not answered: the window is like vehicles' wear from the thickness last read; answer the proposed change, or read new linings at the next change"),
        Rule("R96-readings-unresolved", "note", "readings of this vehicle were left out and none of this axle's running life is left: the window is that of like vehicles; correct their unit, part or position, or measure it once"),
        Rule("R97-use-changed", "note", "other work, another depot, or parked? dates follow the newer pace: correct the odometers if it is a mistake"),
        Rule("R98-rotor-past-limit", "note", "the newest reading of a rotor, drum or parking-brake shoe is at or beyond discard_at: inspect now"),
        Rule("R99-two-values", "note", "two readings of one lining on one visit lie far apart, and both count: correct the one that is of something else"),
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


def legible(text, most: int = 200) -> str:
    """A name or a cell for a sentence: on one line, without letters that steer a terminal or turn the writing round, cut to ``most``."""
    seen = "".join(" " if letter.isspace() else letter for letter in str(text)[: 4 * most])
    seen = "".join(letter for letter in seen if unicodedata.category(letter)[0] != "C")
    return seen if len(seen) <= most else f"{seen[: most - 1]}…"


def sentence(finding) -> str:
    """One finding as a sentence: where, what, what to do."""
    finding = {name: legible(finding[name]) if isinstance(finding[name], str) else finding[name] for name in COLUMNS}
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
