"""What a person must say once about a kind of foreign file: one short list, the weightiest question first."""

import re
from collections import Counter
from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata import headings
from brakedata.cells.thickness import names_wear
from brakedata.cells.told import Told
from brakedata.headings import READINGS
from brakedata.mapping import jobs, years
from brakedata.mapping.build import IN_TEXTS, NO_AXLE, PARTS_ALONE, VEHICLE_TEXTS, WORK_IN_NOTES, Layout
from brakedata.mapping.guess import NOT_BRAKES, NOT_USED, UNPLACED, Guess, in_turn, of_an_axle, parsed
from brakedata.mapping.kinds import FILE_NAME, Kind
from brakedata.mapping.reading import WHEELS

WEIGHTY = 0.5
"""A question that holds back at least this share of a column's cells must be answered before anything is forecast."""
MOST_WORDS = 8
SEEN_OFTEN = 2
"""A word is asked about when it stands in at least so many cells."""


@dataclass(frozen=True)
class Question:
    """One question.

    Attributes
    ----------
    key : str
        What `Proposal.answer` takes.
    text : str
        The question, in a sentence.
    why : str
        What depends on it.
    choices : tuple of (value, words)
        The possible answers; empty where it is to be written.
    vital : bool
        Nothing can be forecast before it is answered.
    line : str
        What to write into ``records.toml`` for it.
    """

    key: str
    text: str
    why: str
    choices: tuple[tuple[str, str], ...]
    vital: bool
    line: str


_ASKED = {
    "thickness_unit": ("In which unit are the lining readings?", (("mm", "millimetres"), ("32nds", "32nds of an inch"), ("in", "inches")), "layout"),
    "distance_unit": ("In which unit are the odometers?", (("km", "kilometres"), ("mi", "miles")), "layout"),
    "date_order": (
        "In which order are the dates written?",
        (("day_first", "day, month, year"), ("month_first", "month, day, year"), ("year_first", "year, month, day")), "layout",
    ),
    "year": ("Of which year is the first of the days that are written without one?", (), "layout"),
    "day": (
        "The dates are months without a day: which day of the month is each taken for?",
        (("15", "the 15th, the middle"), ("1", "the 1st")), "layout",
    ),
    "driver_side": ("On which side of the vehicle does the driver sit?", (("left", "left"), ("right", "right")), "shop"),
    "traffic_side": ("On which side of the road does traffic keep (near side is the kerb's side)?", (("left", "left"), ("right", "right")), "shop"),
    "wheels": (
        "Which wheel is which number?",
        (("LF RF LR RR", "1 LF, 2 RF, 3 LR, 4 RR"), ("LF LR RF RR", "1 LF, 2 LR, 3 RF, 4 RR"),
         ("RF LF RR LR", "1 RF, 2 LF, 3 RR, 4 LR"), ("LF RF RR LR", "1 LF, 2 RF, 3 RR, 4 LR")),
        "layout",
    ),
    "axles": (
        "Which axles do these vehicles have, from the front?",
        (("steer drive", "steer, drive"), ("steer drive drive", "steer, drive, drive"), ("steer drive tag", "steer, drive, tag"),
         ("steer steer drive drive", "steer, steer, drive, drive")), "layout",
    ),
    "decimal": ("Which sign is the decimal mark?", ((",", "comma"), (".", "point")), "layout"),
    "percent": ("Are the per cent what is left of the lining, or what is worn away?", (("left", "left"), ("worn", "worn away")), "layout"),
    "wear": ("Is what stands under a heading of wear what is left of the lining, or what is worn away?", (("left", "left"), ("worn", "worn away")), "layout"),
    "new_thickness_mm": ("How thick is a new lining, in mm?", (), "shop"),
    "part": ("Of what are these readings?", (("pad", "brake pads"), ("shoe", "brake shoes"), (NOT_BRAKES, "no brakes (tyres ...): leave them out")), "layout"),
}  # fmt: skip
_EXAMPLE = {"new_thickness_mm": "12.0"}


def of_layout(
    layout: Layout, guess: dict[str, Guess], told: Told, new: dict[str, str], renamed: dict[str, str]
) -> list[Question]:
    """Every open question about one layout.

    Parameters
    ----------
    layout, told
        The layout as it was read, and what the readers said.
    guess : dict
        The guesses by column.
    new : dict
        Columns that this kind of file did not have before, with their guessed role.
    renamed : dict
        New columns that look like one that is gone, with its role.
    """
    if _no_visits(layout, guess):
        return []
    n, out = layout.kind.number, []
    out += _missing(layout, guess) + _unplaced(layout, guess, told)
    held = _held_back(layout, told, guess)
    for key, (columns, weighty) in held.items():
        if key == "year":
            out += _years(layout, columns[0], weighty)
            continue
        text, choices, where = _ASKED[key]
        named = ", ".join(f"“{column}”" for column in columns[:4]) + (" ..." if len(columns) > 4 else "")
        samples = ", ".join(layout.kind.samples(columns[0], 3))
        full = f"{key}.{n}" if where == "layout" else key
        if key in ("new_thickness_mm", "percent", "wear"):  # other columns can be read without it
            weighty &= set(layout.columns(*READINGS)) <= set(columns)
        answer = _EXAMPLE.get(key) or f'"{choices[0][0]}"'
        out.append(
            Question(full, text, f"column {named}: {samples}", choices, weighty, _line(key, where, answer, choices, layout))
        )
    several = Counter(column for question, _, column, *_ in told.asked if question == "order")
    out += [_order(layout, column, times) for column, times in several.items()]
    out += _in_texts(layout, told) + _which_work(layout, guess) + _parts_alone(layout) + _in_notes(layout, told) + _words(told)
    if renamed:
        pairs = "; ".join(f"“{column}”: {role}" for column, role in list(renamed.items())[:3])
        lines = "\n".join(
            ["[[layout]]", "[layout.columns]", *(f"{_quoted(column)} = {_quoted(role)}" for column, role in renamed.items())]
        )
        out.append(
            Question(
                f"renamed.{n}", "Are these columns the ones that are gone, under new headings or in a new unit?", pairs,
                (("yes", "yes, the same"), ("no", "no, leave them out")), any(map(_weighs, renamed.values())), lines,
            )
        )  # fmt: skip
    again = {f"{role.partition(':')[0]}.{n}" for role in renamed.values()}  # asked with the columns that are gone
    out = [question for question in out if question.key not in again]
    for column, role in new.items():
        if column in layout.unplaced:
            continue
        samples = ", ".join(layout.kind.samples(column, 3))
        out.append(
            Question(
                f"columns.{n}.{column}", f"“{column}” is new in this kind of file: what is it?", f"guess: {role}; cells: {samples}",
                tuple(dict.fromkeys([(role, role), (NOT_USED, NOT_USED)])), False, f"[[layout]]\n[layout.columns]\n{_quoted(column)} = {_quoted(role)}",
            )
        )  # fmt: skip
    return sorted(out, key=lambda question: not question.vital)


def _weighs(role: str) -> bool:
    return role.partition(":")[0] in (*READINGS, "vehicle_id", "date", "odometer")


def _weighs_as_reading(role: str) -> bool:
    return role.partition(":")[0] in READINGS


def _quoted(text: str) -> str:
    import json

    return json.dumps(text, ensure_ascii=False)


def _line(key, where, answer, choices, layout) -> str:
    said = f"   # or {', '.join(_quoted(value) for value, _ in choices[1:])}" if choices else ""
    if key in ("thickness_unit", "distance_unit"):
        return f"[units]\n{key.removesuffix('_unit')} = {answer}{said}"
    if where == "shop" or key in ("date_order", "decimal", "percent"):
        return f"[shop]\n{key} = {answer}{said}"
    column = next(iter(layout.columns(*READINGS)), None)
    named = f"\n[layout.columns]\n{_quoted(column)} = {_quoted(layout.roles[column])}" if column else ""
    return f"[[layout]]\n{key} = {answer}{said}{named}"


def _no_visits(layout: Layout, guess: dict[str, Guess]) -> bool:
    """Whether a table can hold no visits: a list of prices, with jobs but neither vehicle, day, odometer, number of a visit nor reading."""
    could = {g.rival for g in guess.values()} | {role.partition(":")[0] for role in layout.roles.values()}
    days = any(_day_numbers(layout.kind, column) or layout.kind.holds(column).date > 0 for column in guess)
    return not could & {"vehicle_id", "vin", "date", "odometer", "visit_id", "position", UNPLACED, *READINGS} and not days


def _lists_vehicles(layout: Layout) -> bool:
    """Whether a table is a list of vehicles: each once, with what it is, and no day anywhere."""
    vehicle = layout.names_vehicle
    texts = layout.kind.stripped(vehicle) if vehicle else None
    once = vehicle is not None and not texts[texts.ne("")].duplicated().any() and layout.kind.holds(vehicle).filled > 1
    days = any(layout.kind.holds(column).date > 0 for column in layout.kind.cells.columns)
    return (
        once
        and not days
        and bool(layout.columns(*VEHICLE_TEXTS))
        and not layout.columns(*READINGS, "complaint", "work", "odometer")
    )


def of_unknown(layout: Layout, guess: dict[str, Guess]) -> list[Question]:
    """What must be asked of a table of which nothing is known."""
    return _missing(layout, guess, holds_records=True)


def _missing(layout: Layout, guess: dict[str, Guess], holds_records: bool = False) -> list[Question]:
    """Which column names the vehicle, holds the date, holds the odometer: asked where none or several could be."""
    kind, out = layout.kind, []
    by_visit = layout.one("visit_id") is not None
    holds_records |= bool(layout.columns(*READINGS, "complaint", "work", "date", "odometer")) or any(
        g.rival not in ("", "work") for column, g in guess.items() if column not in layout.said
    )
    rivals = {
        role: [c for c, g in guess.items() if g.rival == role and layout.roles[c] == NOT_USED] for role in ("date", "odometer")
    }
    rivals["date"] = rivals["date"] or [c for c in guess if layout.roles[c] == NOT_USED and _day_numbers(kind, c)]
    texts = {
        "vehicle_id": "Which column names the vehicle?",
        "date": "Which column is the date of the visit or reading?",
        "odometer": "Which column is the odometer of that day?",
    }
    for role, text in texts.items():
        if layout.one(role) or role == "vehicle_id" and (layout.names_vehicle or by_visit):
            continue
        could = _could_be(layout, guess) if role == "vehicle_id" else rivals[role]
        if not holds_records or not could and (role == "odometer" or by_visit or _lists_vehicles(layout)):
            continue
        why = "; ".join(f"“{column}”: {', '.join(kind.samples(column, 3))}" for column in could[:6])
        why = why or f"no column of {kind.sheets[0].name} looks like one"
        column = could[0] if could else "heading of that column"
        line = f"[[layout]]\n[layout.columns]\n{_quoted(column)} = {_quoted(role)}"
        if len(could) > 1:
            line += "   # or " + ", ".join(_quoted(other) for other in could[1:6])
        choices = tuple((column, f"{column}: {', '.join(kind.samples(column, 2))}") for column in could)
        if role != "odometer" and not layout.columns(*READINGS):
            choices += ((NOT_USED, "none: this table holds no visits and no readings"),)
            line += "" if could else f'   # or, where it holds no visits: each of its other columns = "{NOT_USED}"'
        vital = role != "odometer" or any(guess[column].evidence.startswith("the heading") for column in could)
        out.append(Question(f"{role}.{kind.number}", text, why, choices, vital, line))
    return out


def _day_numbers(kind: Kind, column: str) -> bool:
    """Whether numbers could be days: a spreadsheet's, ``44944``, or written in one piece, ``231005``."""
    texts = kind.samples(column, 30)
    forms = (
        r"[3-5]\d{4}",
        r"\d\d(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01])",
        r"(?:19|20)\d\d(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01])",
    )
    return bool(texts) and any(all(re.fullmatch(form, text) for text in texts) for form in forms)


IN_ORDER = tuple((order, f"at the wheels in this order: {', '.join(order.split())}") for order, _ in _ASKED["wheels"][1])
"""Where four columns were taken that do not say it."""


def _unplaced(layout: Layout, guess: dict[str, Guess], told: Told) -> list[Question]:
    """Columns that hold readings of a place that nothing names: one question for all, told column by column."""
    n, kind = layout.kind.number, layout.kind
    these = [c for c, g in guess.items() if g.rival == UNPLACED and layout.roles[c] == NOT_USED and c not in layout.said]
    if not layout.columns("position", "axle"):  # no row says where either
        lost = Counter(column for _, _, column, _, said in told.noted if said == NO_AXLE)
        these += [
            column
            for column in layout.columns(*READINGS)
            if lost[column] >= WEIGHTY * layout.kind.holds(column).filled > 0 or _of_no_place(layout, column)
        ]
    layout.unplaced = these
    if not these:
        return []
    named = "; ".join(f"“{column}”: {', '.join(kind.samples(column, 2))}" for column in these[:8])
    if layout.columns("position", "axle") and not layout.columns(*READINGS):
        return [_of_the_row(layout, these, named)]
    said = (
        in_turn(kind, these, _two_words(these)[0][0]) if _two_words(these) else dict.fromkeys(these, "thickness: front left pad")
    )
    lines = [f"{_quoted(column)} = {_quoted(role)}" for column, role in said.items()]
    lines[0] += f'   # its own place each, or "{NOT_USED}"'
    axles = (("front", "on the front axle"), ("rear", "on the rear axle")) if of_an_axle(kind, these, "front") else ()
    axles += _two_words(these)
    axles += IN_ORDER if len(these) == len(WHEELS) and all(map(headings.says_no_place, these)) else ()
    return [
        Question(
            f"unplaced.{n}", "Where were the readings in these columns taken?", named,
            (*axles, (NOT_USED, "nowhere on the brakes: leave them out; else say it column by column")),
            not set(layout.columns(*READINGS)) - set(these) and not _lists_vehicles(layout), "\n".join(["[[layout]]", "[layout.columns]", *lines]),
        )
    ]  # fmt: skip


TWO_WORDS = ("left right", "right left", "inner outer", "outer inner", "before after")


def _two_words(columns: list[str]) -> tuple[tuple[str, str], ...]:
    """What two words beside each place of these headings can mean, ``LF / I, LF / O``; none where they are not so."""
    said = list(headings.under_places(columns).values())
    if not said:
        return ()
    first, second = dict.fromkeys(word for _, word in said)
    sided = any(place.side for place, _ in said)
    could = [order for order in TWO_WORDS if not sided or "left" not in order]
    return tuple((order, f"“{first}” is {order.split()[0]}, “{second}” {order.split()[1]}") for order in could)


def _of_no_place(layout: Layout, column: str) -> bool:
    """Whether neither the heading of a column of plain numbers nor its cells can say an axle: asked with the unit, not after it."""
    role = parsed(layout.roles[column])
    plain = all(re.fullmatch(r"\d{1,3}(?:[.,]\d{1,3})?", text) for text in layout.kind.samples(column, 30))
    return not (role.axle or role.several or column in layout.waiting) and plain


def _of_the_row(layout: Layout, these: list[str], named: str) -> Question:
    """Columns of numbers in a table whose rows name the place: which of them is the reading."""
    role = "thickness" if layout.columns("part") else "thickness: pad"
    lines = [f"{_quoted(these[0])} = {_quoted(role)}", *(f"{_quoted(column)} = {_quoted(NOT_USED)}" for column in these[1:])]
    lines[0] += f'   # thickness: pad, thickness: shoe ..., or "{NOT_USED}"'
    choices = tuple((column, f"“{column}” is the lining that was measured ({role})") for column in these)
    return Question(
        f"unplaced.{layout.kind.number}", "Which column holds the lining readings, at the place that its row names?", named,
        (*choices, (NOT_USED, "none of them: leave them out")), True, "\n".join(["[[layout]]", "[layout.columns]", *lines]),
    )  # fmt: skip


def _could_be(layout: Layout, guess: dict[str, Guess]) -> list[str]:
    """Unused columns that could name the vehicle: short texts, those that differ and those of letters and digits first; the file's name last,
    and what looks like a date, an odometer or a reading after it."""
    kind = layout.kind
    could = [
        column
        for column, said in layout.roles.items()
        if said in (NOT_USED, "vin", "description")
        and kind.holds(column).filled > 0.5 * len(kind.cells)
        and kind.holds(column).length < 30
        and kind.holds(column).date < 0.5
    ]
    return sorted(
        could,
        key=lambda column: (
            column not in guess or guess[column].rival != "vehicle_id",
            column in guess and guess[column].rival not in ("", "vehicle_id"),
            kind.holds(column).distinct < 2,
            column == FILE_NAME,
            kind.holds(column).letters < 0.9 or kind.holds(column).number > 0,
            -kind.holds(column).distinct,
        ),
    )


def _held_back(layout: Layout, told: Told, guess: dict[str, Guess]) -> dict[str, tuple[list[str], bool]]:
    """Questions of the cells' reader by key: the columns they hold back, and whether they hold back most of one."""
    times: Counter = Counter()
    for question, _, column, *_ in told.asked:
        if question == "unit":
            question = "distance_unit" if layout.roles[column] == "odometer" else "thickness_unit"
        if question in _ASKED:
            times[question, column] += 1
    for column, question in layout.waiting.items():
        if question in _ASKED:
            times[question, column] += layout.kind.holds(column).filled
    for column, one in guess.items():
        unit_known = layout.answers.get("distance_unit") or layout.one("distance_unit") or headings.unit_of(column)
        if one.rival == "odometer" and layout.one("odometer") is None and not unit_known:
            times["distance_unit", column] += layout.kind.holds(column).filled
    sided = [column for column, question in layout.waiting.items() if question in ("driver_side", "traffic_side", "wheels")]
    for column in [*layout.columns(*READINGS), *sided]:
        faces = {"inner", "outer"} <= set(parsed(layout.roles[column]).several)
        if (
            not faces
            and not _row_says_part(layout, told)
            and not layout.answers.get("part")
            and not parsed(layout.roles[column]).part
        ):
            times["part", column] = layout.kind.holds(column).filled
    for column, question in layout.waiting.items():
        if question in ("driver_side", "traffic_side", "wheels") and not _says_unit(layout, column):
            times["thickness_unit", column] += layout.kind.holds(column).filled
    for column in {column for question, column in times if question == "thickness_unit" and names_wear(column)}:
        if not layout.answers.get("wear") and headings.unit_of(column) != "%":
            times["wear", column] = layout.kind.holds(column).filled  # asked with the unit, not after it
    out: dict[str, tuple[list[str], bool]] = {}
    for (question, column), count in times.items():
        columns, weighty = out.get(question, ([], False))
        full = count >= WEIGHTY * layout.kind.holds(column).filled
        some = question in ("date_order", "thickness_unit", "decimal") and count >= 0.1 * layout.kind.holds(column).filled
        if full or some or question not in ("thickness_unit", "distance_unit", "decimal", "percent", "date_order"):
            out[question] = ([*columns, column], weighty or full)
    return {key: out[key] for key in _ASKED if key in out}


def _row_says_part(layout: Layout, told: Told) -> bool:
    """Whether the rows say of which part they are, at their place or in a column of its own; ``Brakes`` does not."""
    column = layout.one("part")
    if column:
        return not any(headings.brakes_only(text) and not headings.part_named(text) for text in layout.kind.samples(column, 30))
    seen = [one.value for column in layout.columns("position", "axle") for one in told.seen.get(column, {}).values()]
    return any(isinstance(value, dict) and value.get("part") for value in seen)


def _says_unit(layout: Layout, column: str) -> bool:
    """Whether the unit of a column of readings is known before they are read."""
    written = any(re.search(r"mm|/|\"|in\b|%", text) for text in layout.kind.samples(column))
    return bool(written or layout.answers.get("thickness_unit") or layout.unit_beside(column) or headings.unit_of(column))


def _years(layout: Layout, column: str, weighty: bool) -> list[Question]:
    """Of which year the days without one are, a question a file: the next month's may be of the next year."""
    n, files = layout.kind.number, years.unsaid(layout.kind, layout.days, layout.answers)
    samples = ", ".join(layout.kind.samples(column, 3))
    if years.lacking(layout.kind, column) == "month":
        samples += f"; sheets {', '.join(dict.fromkeys(sheet.sheet for sheet in layout.kind.sheets[:6]))}"
    again = "   # and take the file out of years_from"
    return [
        Question(
            f"year.{n}.{file}" if len(files) > 1 else f"year.{n}", _ASKED["year"][0] + (f" ({file})" if len(files) > 1 else ""),
            f"column “{column}”: {samples}", (), weighty,
            f'[[layout]]\nyears = {{ {_quoted(file)} = "2024" }}{again if file in layout.answers.get("years_from", {}) else ""}\n'
            f'[layout.columns]\n{_quoted(column)} = "date"',
        )
        for file in files
    ]  # fmt: skip


def _in_texts(layout: Layout, told: Told) -> list[Question]:
    """Whether thicknesses in notes and lines of work are what was measured then."""
    found = [(column, text, said) for question, _, column, text, said in told.asked if question == IN_TEXTS]
    if not found:
        return []
    times = Counter(column for column, *_ in found)
    most = max(times[column] / layout.kind.holds(column).filled for column in times)
    samples = "; ".join(f"“{text[:80]}”: {said}" for _, text, said in list(dict.fromkeys(found))[:3])
    return [
        Question(
            f"{IN_TEXTS}.{layout.kind.number}", f"Are the thicknesses in these texts ({len(found)} cells) of linings, as measured on that day?",
            samples, (("yes", "yes, read them"), ("no", "no, leave them out")), most >= WEIGHTY and not any(map(_weighs_as_reading, layout.roles.values())),
            f'[[layout]]\n{IN_TEXTS} = "yes"   # or "no"\n[layout.columns]\n{_quoted(found[0][0])} = {_quoted(layout.roles[found[0][0]])}',
        )
    ]  # fmt: skip


def _which_work(layout: Layout, guess: dict[str, Guess]) -> list[Question]:
    """Which columns of lines of work say what was done, where their headings do not."""
    these = [c for c, g in guess.items() if g.rival == "work" and layout.roles[c] == NOT_USED and c not in layout.said]
    if not these or not layout.one("date") and not layout.one("visit_id"):
        return []
    named = "; ".join(f"“{column}”: {', '.join(layout.kind.samples(column, 2))}" for column in these[:4])
    choices = tuple((column, f"“{column}” does") for column in these)
    return [
        Question(
            f"work.{layout.kind.number}", "Which column says what was done on that day, not quoted, planned or done before?", named,
            (*choices, (NOT_USED, "none of them")), False, f'[[layout]]\n[layout.columns]\n{_quoted(these[0])} = "work"   # or "{NOT_USED}"',
        )
    ]  # fmt: skip


def _parts_alone(layout: Layout) -> list[Question]:
    """Whether a line of work that names a part and no more says that it was replaced."""
    if layout.answers.get(PARTS_ALONE):
        return []
    found = Counter()
    for column in layout.columns("work"):
        code, _, texts = layout.kind.coded(column)
        times = np.bincount(code, minlength=len(texts))
        found.update({(column, text): int(times[at]) for at, text in enumerate(texts) if text and jobs.work(text).alone})
    if sum(found.values()) < (PARTS_OFTEN if {column for column, _ in found} <= layout.said else 1):
        return []
    named = ", ".join(f"“{text[:60]}”" for _, text in list(found)[:4])
    column = next(iter(found))[0]
    return [
        Question(
            f"{PARTS_ALONE}.{layout.kind.number}",
            f"Does a line of work that names only the part mean that it was replaced ({sum(found.values())} cells)?", f"column “{column}”: {named}",
            ((jobs.REPLACED_ALONE, "yes, replaced"), ("no", "no, or not always: keep it as a note")), False,
            f'[[layout]]\n{PARTS_ALONE} = "{jobs.REPLACED_ALONE}"   # or "no"\n[layout.columns]\n{_quoted(column)} = "work"',
        )
    ]  # fmt: skip


def _in_notes(layout: Layout, told: Told) -> list[Question]:
    """Whether jobs that stand in notes were done at the visit of the note."""
    found = [(column, text, said) for question, _, column, text, said in told.asked if question == WORK_IN_NOTES]
    if len(found) < (PARTS_OFTEN if {column for column, *_ in found} <= layout.said else 1):
        return []
    cells = "1 cell" if len(found) == 1 else f"{len(found)} cells"
    samples = "; ".join(f"“{text[:80]}”: {said}" for _, text, said in list(dict.fromkeys(found))[:3])
    return [
        Question(
            f"{WORK_IN_NOTES}.{layout.kind.number}", f"Do these notes ({cells}) say what was done on that day?", samples,
            (("yes", "yes, it was done then"), ("no", "no, or not always: keep them as notes")), False,
            f'[[layout]]\n{WORK_IN_NOTES} = "yes"   # or "no"\n[layout.columns]\n{_quoted(found[0][0])} = {_quoted(layout.roles[found[0][0]])}',
        )
    ]  # fmt: skip


PARTS_OFTEN = 3
"""So many lines of work that name a part alone, or stand in notes, are worth a question about a kind of file that a person has looked at before."""


def _order(layout: Layout, column: str, times: int) -> Question:
    """In which order the readings stand in the ``times`` cells of a column that hold several."""
    role = layout.roles[column]
    where = parsed(role)
    choices = [
        ("LF RF LR RR", "left front, right front, left rear, right rear"),
        ("left right", "left, right"),
        ("inner outer", "inner, outer"),
    ]
    if where.axle or where.side:
        choices = choices[1:] if not where.side else choices[2:]
    line = f"[[layout]]\n[layout.columns]\n{_quoted(column)} = {_quoted(f'{role}; in order: {choices[0][0]}')}"
    return Question(
        f"order.{layout.kind.number}.{column}", f"In which order are the readings in “{column}”?", ", ".join(layout.kind.samples(column, 3)),
        tuple(choices), times >= WEIGHTY * layout.kind.holds(column).filled, line,
    )  # fmt: skip


def _words(told: Told) -> list[Question]:
    """What the shop's own words mean, where they stand in several cells."""
    words = Counter(
        value.strip()
        for code, _, _, value, said in told.noted
        if code == "R75-no-reading" and "not a word with a known bound" in said
    )
    often = [word for word, times in words.most_common(MOST_WORDS) if times >= SEEN_OFTEN]
    if not often:
        return []
    listed = ", ".join(f"“{word}” ({words[word]} cells)" for word in often)
    line = "[shop.words]\n" + "\n".join(f'{_quoted(word)} = ">=5 mm"   # or "no reading"' for word in often)
    return [
        Question(
            "words",
            f"What do these words mean, at least or at most how thick? {listed}",
            "they are left out until then",
            (),
            False,
            line,
        )
    ]


def as_table(questions: list[Question]) -> pd.DataFrame:
    """The questions as a table: ``key, text, why, vital, line``."""
    return pd.DataFrame(
        [(q.key, q.text, q.why, q.vital, q.line) for q in questions], columns=["key", "text", "why", "vital", "line"]
    )
