"""A guess for every column, from its heading and from what stands in it, with the evidence in a sentence."""

import re
from collections import Counter
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
import pandas as pd

from brakedata import headings, symptoms, vins
from brakedata.cells import text as cell_text
from brakedata.cells import words as cell_words
from brakedata.cells.thickness import names_wear
from brakedata.columns import MEASURED_PARTS
from brakedata.layouts import LINE_ABOVE
from brakedata.mapping import jobs, years
from brakedata.mapping.kinds import ABOVE, DITTO, FILE_NAME, SHEET_NAME, Kind

NOT_USED = "not used"
NOT_BRAKES = "not brakes"
EMPTY, A_NAME = "nothing is written in it", "a name, and no column of the table"
NOT_YET = "nothing is written in it yet; by its heading"
A_LIST = "a list of limits and new dimensions, of no vehicle and no day"
NOTHING_TO_ASK = (EMPTY, NOT_YET, A_NAME, A_LIST)
"""The evidence for columns that are never news."""
ONE_ONLY = (
    "vehicle_id", "vin", "description", "wear_class", "duty", "date", "odometer", "distance_unit", "visit_id", "reason", "technician",
    "product_line", "cost", "axle", "side", "part", "position", "measure", "taken",
)  # fmt: skip
"""Roles that one column of a table has."""
ASKED_WHEN_SEVERAL = ("date", "odometer")


@dataclass(frozen=True)
class Guess:
    """What a column is taken for.

    ``role`` is a word of `headings.ROLES`, or a reading with its place (``thickness: front left inner_pad``); ``sure`` False where a
    person should look; ``rival`` names the role that several columns could be, ``question`` what must be answered before it is read.
    """

    role: str
    evidence: str
    sure: bool = True
    rival: str = ""
    question: str = ""


def guesses(kind: Kind, hints: dict) -> dict[str, Guess]:
    """A guess for every column of a kind of table, by heading."""
    columns = list(kind.cells.columns)
    if not any(sheet.header_line for sheet in kind.sheets):
        first, at = {column: _by_contents(kind, column) for column in columns}, {}
    else:
        of_places = any(_of_places(kind, column) for column in (SHEET_NAME, FILE_NAME, LINE_ABOVE) if column in columns)
        written = [_as_written(column, columns) for column in columns]
        at = dict(zip(columns, headings.places(written, {**hints, "numbered_wheels": not of_places}), strict=True))
        first = {column: _one(kind, column, at[column]) for column in columns}
        first |= _by_the_name(kind, first)
        first |= _rows_of_axles(kind, first) or _rows_of_sides(kind, first)
        first = _by_the_row(kind, first, hints)
        first = {column: _of_that_day(kind, column, guess) for column, guess in first.items()}
    first |= _no_second_place(first)
    first |= _only_day(kind, first)
    out = _unknown_odometer(kind, _beside_readings(kind, _nowhere(kind, _of_one_place(kind, _once(kind, first)))))
    if _only_limits(kind, out):
        return dict.fromkeys(out, Guess(NOT_USED, A_LIST))
    return out | _not_yet(kind, out, at)


OF_TEXTS = ("note", "complaint", "work", "technician", "reason", "product_line", "cost")


def _not_yet(kind: Kind, out: dict[str, Guess], at: dict) -> dict[str, Guess]:
    """Columns in which nothing is written yet, by their heading alone: the next file of the kind may fill them."""
    taken = {guess.role for guess in out.values()}
    new: dict[str, Guess] = {}
    for column in [column for column, guess in out.items() if guess.evidence == EMPTY]:
        said, place = headings.meaning(column.removesuffix(ABOVE)), at.get(column)
        guess = Guess(said.role if said.role in OF_TEXTS and not said.against else NOT_USED, EMPTY)
        guess = Guess("work", EMPTY) if jobs.of_heading(column, tuple(kind.cells.columns)) else guess
        of_linings = place and place.axle and not place.several and said.role not in ("work", "note", "complaint", "date")
        if of_linings and not said.against:
            guess = _of_that_day(kind, column, _reading_at(kind, column, place))
            no_part = any(role.startswith("thickness") and not parsed(role).part for role in taken)
            if guess.role != NOT_USED and not parsed(guess.role).part and not no_part:
                guess = Guess(NOT_USED, EMPTY)
        if guess.role not in (NOT_USED, *taken) and not guess.question:
            new[column] = Guess(guess.role, NOT_YET)
            taken.add(guess.role)
    return new


def _by_the_name(kind: Kind, first: dict[str, Guess]) -> dict[str, Guess]:
    """Sheets or files named ``Front`` and ``Rear`` where nothing in the table says on which axle, ``Left`` and ``Right`` where nothing says a side."""
    said = [parsed(guess.role) for guess in first.values() if guess.role != NOT_USED]
    if any(role.kind == "position" or role.several for role in said):
        return {}
    axle, side = (any(role.kind == what or getattr(role, what) for role in said) for what in ("axle", "side"))
    could = () if axle and side else ("side",) if axle else ("axle", "position")
    named = {column: _of_places(kind, column) for column in (SHEET_NAME, FILE_NAME) if column in first}
    role, column = next(((role, column) for column, role in named.items() if role in could), ("", ""))
    return {column: Guess(role, "the names say places on the vehicle")} if role else {}


def _rows_of_axles(kind: Kind, first: dict[str, Guess]) -> dict[str, Guess]:
    """The column whose cells name axles under no heading that says so, in a form with a column a side: ``Left, Right`` over ``Front``, ``Rear``."""
    if not {*headings.either_side(list(first))} >= {"left", "right"} or any(guess.role == "axle" for guess in first.values()):
        return {}
    for column, guess in first.items():
        where = headings.places(kind.samples(column, 60), {})
        axles = [place for place in where if place and place.axle and not place.side]
        sides = any(place and place.side for place in where)
        if (
            guess.role in (NOT_USED, "position", "part")
            and not sides
            and (len({place.axle for place in axles}) > 1 or all(place.part for place in axles) and len(axles) > 1)
            and len(axles) >= 0.5 * len(where)
        ):
            return {column: Guess("axle", "its cells name axles, and the columns beside it sides", sure=False)}
    return {}


def _rows_of_sides(kind: Kind, first: dict[str, Guess]) -> dict[str, Guess]:
    """The column whose cells name sides under no heading that says so, beside columns of axles: ``Front, Rear`` over ``Left``, ``Right``."""
    said = [parsed(guess.role) for guess in first.values() if guess.role != NOT_USED]
    axles = any(role.kind in headings.READINGS and role.axle and not (role.side or role.several) for role in said)
    if not axles or any(role.kind == "side" for role in said):
        return {}
    for column, guess in first.items():
        texts = [] if column in (SHEET_NAME, FILE_NAME, LINE_ABOVE) else kind.samples(column, 60)
        if guess.role in (NOT_USED, "part", "position") and {*headings.either_side(texts)} == {"left", "right"}:
            return {column: Guess("side", "its cells name sides, and the columns beside it axles", sure=False)}
    return {}


_OF_A_BILL = frozenset("invoice bill rechnung facture factura factuur fattura ticket entered created".split())


def _only_day(kind: Kind, first: dict[str, Guess]) -> dict[str, Guess]:
    """The day of a bill, ``Invoice date``, where its table has no other day."""
    if any(guess.role == "date" or guess.rival == "date" for guess in first.values()):
        return {}
    bills = [c for c in first if kind.holds(c).date > 0.8 and set(headings.tokens(c)) & _OF_A_BILL and first[c].role == NOT_USED]
    return {bills[0]: Guess("date", "the only day of its table", sure=False)} if len(bills) == 1 else {}


def _unknown_odometer(kind: Kind, out: dict[str, Guess]) -> dict[str, Guess]:
    """Where a table of visits has no odometer, the columns whose numbers could be one are asked about."""
    roles = {parsed(guess.role).kind if guess.role != NOT_USED else "" for guess in out.values()}
    if "date" not in roles or "odometer" in roles or not roles & {*headings.READINGS, "complaint", "work"}:
        return out
    if any(guess.rival == "odometer" for guess in out.values()):
        return out
    asked = Guess(NOT_USED, "the cells are numbers that could be odometers", sure=False, rival="odometer")
    return out | dict.fromkeys(
        [column for column, guess in out.items() if guess.role == NOT_USED and _like_odometers(kind, column)], asked
    )


def _like_odometers(kind: Kind, column: str) -> bool:
    """Whether a column holds whole numbers as large as odometers, nearly all of them different."""
    holds = kind.holds(column)
    if (
        holds.number < 0.95
        or not 3_000 < holds.typical < 1_500_000
        or holds.distinct < 0.8 * holds.filled
        or headings.meaning(column).against
    ):
        return False
    texts = kind.samples(column, 60)
    return all(re.fullmatch(r"\d[\d., ']*(?: ?(?:km|mi))?", text) for text in texts)


def _as_written(column: str, columns: list[str]) -> str:
    """A heading without the count that it has here because it stands there twice, ``LF (2)``; ``Est.`` beside ``Int.`` is the outer pad."""
    first = re.sub(r" \(\d+\)$", "", column)
    first = first if first in columns else column
    return re.sub(r"(?i)\best\b", "ext", first) if any("int" in headings.tokens(other) for other in columns) else first


def _no_second_place(out: dict[str, Guess]) -> dict[str, Guess]:
    """Columns whose cells alone look like places, where every reading has its axle in its heading: they speak of something else."""
    reads = [parsed(guess.role) for guess in out.values() if guess.role.partition(":")[0] in headings.READINGS]
    if not reads or not all(role.axle or role.several for role in reads):
        return {}
    return {
        column: Guess(NOT_USED, "places on the vehicle, but each reading has its own in its heading", sure=False)
        for column, guess in out.items()
        if guess.role == "position" and guess.evidence.startswith(("the cells", "some of its cells"))
    }


def _of_one_place(kind: Kind, out: dict[str, Guess]) -> dict[str, Guess]:
    """Columns whose headings name the same place, and whose cells differ in a row, are asked about."""
    out = out | _per_cent_beside(kind, out) | _wear_beside(out)
    of: dict[str, list[str]] = {}
    for column, guess in out.items():
        said = parsed(guess.role)
        if said.kind in headings.READINGS and (said.axle or said.side):
            part = said.part or "pad"  # of which part is not said: it could be the pad
            words = (f"{said.kind}:", said.axle, said.side, part, *said.several, said.taken)
            of.setdefault(" ".join(word for word in words if word), []).append(column)
    differ = [
        (role, pair)
        for role, columns in of.items()
        for pair in combinations(columns, 2)
        if NOT_USED not in (out[pair[0]].role, out[pair[1]].role)
        and not _of_two_kinds(*pair)
        and _differ(*map(kind.stripped, pair))
    ]
    for role, pair in differ:
        for column in pair:
            out[column] = Guess(NOT_USED, f"several columns name one place ({role})", sure=False, rival=UNPLACED)
    return out


def _per_cent_beside(kind: Kind, out: dict[str, Guess]) -> dict[str, Guess]:
    """Columns of per cent of an axle or wheel that other columns give in a unit: they say the same, less exactly."""
    placed = {
        column: role
        for column, guess in out.items()
        if guess.role != NOT_USED and (role := parsed(guess.role)).kind == "thickness" and role.axle
    }
    shares = [
        column
        for column in placed
        if headings.unit_of(column) == "%" or all(text.endswith("%") for text in kind.samples(column, 30))
    ]
    said = {}
    for column in shares:
        axle, side = placed[column].axle, placed[column].side
        beside = [
            one
            for one, role in placed.items()
            if one not in shares
            and role.axle == axle
            and side in ("", role.side)
            and (role.part or "pad") == (placed[column].part or "pad")
            and not (kind.stripped(column).ne("") & kind.stripped(one).eq("")).any()
        ]
        if beside:
            said[column] = Guess(NOT_USED, f"in per cent what “{beside[0]}” says in its unit")
    return said


def _wear_beside(out: dict[str, Guess]) -> dict[str, Guess]:
    """Columns of what is worn away at a place whose thickness another column gives: ``NSF wear`` beside ``NSF pad mm``."""
    placed = {
        column: role
        for column, guess in out.items()
        if guess.role != NOT_USED
        and (role := parsed(guess.role)).kind == "thickness"
        and (role.axle or role.side or guess.question)
    }
    worn = [column for column in placed if names_wear(column)]
    left = {_of_place(column): column for column in placed if column not in worn}
    return {
        column: Guess(NOT_USED, f"what is worn away, where “{left[_of_place(column)]}” says what is left")
        for column in worn
        if _of_place(column) in left
    }


def _of_place(column: str) -> frozenset[str]:
    """A heading's words of place."""
    return frozenset(
        word for word in headings.tokens(column) if headings.names_place(word) or word in headings.FACES or word.isdigit()
    )


def _of_two_kinds(one: str, other: str) -> bool:
    """Whether two headings say other things of a place: in two units, per cent and not, what is worn away and what is left."""
    first, second = headings.unit_of(one), headings.unit_of(other)
    return first != second and (bool(first and second) or "%" in (first, second)) or names_wear(one) != names_wear(other)


def _differ(one, other) -> bool:
    return bool((one.ne("") & other.ne("") & one.ne(other)).any())


def _nowhere(kind: Kind, out: dict[str, Guess]) -> dict[str, Guess]:
    """Where a table of brakes has no readings, its columns that could hold them are asked about; drums of no place in any table."""
    roles = {guess.role.partition(":")[0] for guess in out.values()}
    unplaced = Guess(NOT_USED, "the cells look like readings, but the heading does not say of what", sure=False, rival=UNPLACED)
    drums = [column for column, guess in out.items() if guess.role == NOT_USED and _looks_measured(kind, column)]
    reads = roles & set(headings.READINGS)
    named = [
        column
        for column, guess in out.items()
        if not reads
        and guess == Guess(NOT_USED, SAYS_NOTHING)
        and (
            headings.part_named(column)
            or any(map(headings.WHEEL.fullmatch, headings.tokens(column)))
            or any(place and place.axle for place in headings.places(_cut(column), {}))
        )
        and _looks_read(kind, column)
        and not (headings.NO_READING | headings.LOWEST | headings.AVERAGES) & set(headings.tokens(column))
    ]
    out = out | dict.fromkeys([column for column in (*drums, *named) if not headings.meaning(column).against], unplaced)
    if (
        roles & {*headings.READINGS, "work", "complaint"}
        or _of_limits(out)
        or any(g.rival == UNPLACED for g in out.values())
        or not brakes(kind)
        and not roles & {"position", "axle", "part"}
        and not any(map(headings.part_only, out))
    ):
        return out
    could = [
        column
        for column, guess in out.items()
        if guess.role == NOT_USED
        and kind.holds(column).reading > 0.8
        and 0 < kind.holds(column).typical < 40
        and not headings.meaning(column).against
    ]
    return out | dict.fromkeys(could, unplaced)


def _cut(column: str) -> list[str]:
    """A heading without its last piece, and without its first."""
    return [column.rpartition(" / ")[0], column.rpartition(" ")[0], column.partition(" ")[2]]


def _beside_readings(kind: Kind, out: dict[str, Guess]) -> dict[str, Guess]:
    """Columns of numbers like those of the readings beside them, under headings built alike, are asked about.

    ``LFD`` beside ``LF``, ``Tras. dir.`` beside ``Diant. dir.``; and ``FE FD TE TD`` or ``W1`` to ``W6`` in a table of visits without readings.
    """
    reads = [column for column, guess in out.items() if guess.role != NOT_USED and parsed(guess.role).kind in headings.READINGS]
    could = [
        column
        for column, guess in out.items()
        if guess == Guess(NOT_USED, SAYS_NOTHING)
        and any(sheet.header_line for sheet in kind.sheets)
        and not (headings.NO_READING | headings.LOWEST | headings.AVERAGES) & set(headings.tokens(column))
        and kind.holds(column).number > 0.8
        and kind.holds(column).reading > 0.8
        and 0 < kind.holds(column).typical < 32
    ]
    if reads:
        near = [kind.holds(column).typical for column in reads if kind.holds(column).typical > 0]
        sides = (cell_words.LEFT | cell_words.RIGHT) & {word for column in reads for word in headings.tokens(column)}
        could = [
            column
            for column in could
            if (sides & set(headings.tokens(column)) or _around_a_wheel(column) or _NAMELESS.fullmatch(column) or _counted(column) in map(_counted, reads))
            and near and min(near) / 3 < kind.holds(column).typical < 3 * max(near)
        ]  # fmt: skip
    else:
        could = could if {"vehicle_id", "date"} <= {g.role for g in out.values()} else []
        codes = [column for column in could if re.fullmatch(r"[A-Z]{2}", column)]
        firsts, seconds = ({column[at] for column in codes} for at in (0, 1))
        two_by_two = len(codes) == 4 and len(firsts) == len(seconds) == 2  # two axles by two sides
        stem = {column: re.sub(r"^[A-Z]?\d$|\d+", "#", column) for column in could}
        times = Counter(stem.values())
        counted = [column for column in could if times[stem[column]] >= COUNTED and kind.holds(column).typical >= 2]
        words = Counter(word for column in could for word in set(headings.tokens(column)))
        alike = [
            column for column in could if _around_a_wheel(column) or all(words[word] > 1 for word in headings.tokens(column))
        ]
        could = codes if two_by_two else counted or (alike if len(alike) >= COUNTED else [])
    like = "those of the readings beside them" if reads else "readings"
    why = f"the cells look like {like}, but the heading does not say where they were taken"
    return out | dict.fromkeys(could, Guess(NOT_USED, why, sure=False, rival=UNPLACED))


_NAMELESS = re.compile(r"column \d+")


def _counted(column: str) -> str:
    """A heading without the number that it counts by: ``LF 2`` beside ``LF 1``."""
    return re.sub(r"\d+", "#", column)


COUNTED = 4
"""So many columns that differ in their number only, ``W1`` to ``W6``, may be wheels."""


def _around_a_wheel(column: str) -> bool:
    """Whether a heading is a wheel's code with a letter more: ``LFD``, ``2RR``."""
    code = column.strip().lower()
    return len(code) == 3 and any(headings.WHEEL.fullmatch(piece) for piece in (code[:2], code[1:], code[0] + code[2]))


def _of_limits(out: dict[str, Guess]) -> bool:
    """Whether a table lists limits and new dimensions, of no vehicle and no day."""
    words = {word for column in out for word in headings.tokens(column)}
    dated = any({guess.role, guess.rival} & {"date", "odometer", "vehicle_id", "visit_id"} for guess in out.values())
    return not dated and bool(words & (headings.NO_READING | headings.LOWEST))


def _only_limits(kind: Kind, out: dict[str, Guess]) -> bool:
    """Whether a table lists limits and new dimensions and nothing that was measured: each of its columns of numbers says so."""
    numbers = [column for column in out if kind.holds(column).number > 0.5 or kind.holds(column).reading > 0.5]
    of_limits = (headings.LOWEST | headings.NO_READING).intersection
    return _of_limits(out) and len(numbers) > 1 and all(of_limits(headings.tokens(column)) for column in numbers)


def _of_that_day(kind: Kind, column: str, guess: Guess) -> Guess:
    """A column of readings, unless its heading says a limit, a new part's dimension, an earlier reading; before or after the work."""
    if guess.role.partition(":")[0] not in headings.READINGS:
        return guess
    said = set(headings.tokens(column))
    if (
        headings.unit_of(column) in ("km", "mi")
        or not headings.unit_of(column)
        and (said & headings.AGES or _days_of_work(kind, column))
    ):
        return Guess(NOT_USED, "the heading or the cells say since when the part is on, no reading of this visit", sure=False)
    if earlier := _of_the_visit_before(column, said, kind.cells.columns):
        return Guess(NOT_USED, f"the visit before: “{earlier}” beside it says that of this one")
    against = said & headings.NO_READING
    if said & headings.NEW and any(
        said - headings.NEW == {*headings.tokens(other)} - headings.TAKEN.keys() and headings.taken(other) == "before"
        for other in kind.cells.columns
    ):
        against -= headings.NEW  # beside what came off
        guess = _at_that_time(guess, "after")
    if not any(headings.FRENCH_WHEELS & set(headings.tokens(other)) for other in kind.cells.columns):
        against |= said & headings.AVERAGES
    if not against and said & headings.LOWEST:
        bare = said - headings.LOWEST - headings.UNIT_WORDS
        others = (set(headings.tokens(other)) - headings.UNIT_WORDS for other in kind.cells.columns if other != column)
        enough = 1 if headings.part_named(column) in ("rotor", "drum") else 3
        if bare in others or kind.holds(column).filled > enough and kind.holds(column).distinct == 1:
            against = said & headings.LOWEST
    if against:
        word = next(word for word in headings.tokens(column) if word in against)
        return Guess(
            NOT_USED,
            f"“{word}” in the heading: a limit, another day's dimension or an average, no reading of this visit",
            sure=False,
        )
    when = headings.taken(column)
    return _at_that_time(guess, when) if when else guess


def _of_the_visit_before(column: str, said: set[str], columns) -> str:
    """The heading that says now, of the same place, beside one that says before or last time: ``LF now`` beside ``LF before``; else empty."""
    last = {word for word in said if headings.TAKEN.get(word) == "before"} | said & headings.LAST_TIME
    rest = said - last - headings.UNIT_WORDS
    for other in columns if last else ():
        its = set(headings.tokens(other)) - headings.UNIT_WORDS
        if other != column and its & headings.NOW and its - headings.NOW == rest - headings.NOW:
            return other
    return ""


def _at_that_time(guess: Guess, when: str) -> Guess:
    role, order = guess.role.partition(";")[::2]
    role = f"{role.strip()}{'' if ':' in role else ':'} {when}" + (f";{order}" if order else "")
    return replace(guess, role=role, evidence=f"{guess.evidence}; {when} the work")


def _days_of_work(kind: Kind, column: str) -> bool:
    """Whether a column holds the months in which parts were renewed: ``05/23`` under ``Rear pads fitted``."""
    texts = kind.samples(column, 30)
    return bool(headings.FITTED & set(headings.tokens(column)) and texts) and all(map(years.is_month_of_a_year, texts))


def _by_the_row(kind: Kind, first: dict[str, Guess], hints: dict) -> dict[str, Guess]:
    """Columns whose rows say where they are: ``Inner``, ``Rotor`` beside a column of wheels, ``Left`` beside one of axles."""
    here = {guess.role for guess in first.values()}
    sides = headings.sides(list(first), hints)
    if {"left", "right"} <= {headings.side_only(column) for column in first}:
        sides = {column: (headings.side_only(column), "") for column in first if headings.side_only(column)} | sides
    out_too = any(headings.part_only(column) == "outer_pad" for column in first)
    out = dict(first)
    for column, guess in first.items():
        said = parsed(guess.role)
        placed = said.kind in headings.READINGS and (said.axle or said.side or said.several) if guess.role != NOT_USED else False
        if guess.role != NOT_USED and said.kind not in headings.READINGS or placed or headings.meaning(column).against:
            continue
        part = headings.part_only(column)
        if headings.tokens(column) == ["in"] and not out_too:  # the inch, not the inner pad
            part = ""
        if column in sides and "axle" in here and not here & {"position", "side"}:
            if _looks_read(kind, column) or _looks_measured(kind, column):
                out[column] = _of_a_side(kind, column, *sides[column])
        elif part and guess.role == NOT_USED and not guess.question and here & {"position", "axle"} and _looks_read(kind, column):
            out[column] = Guess(
                f"thickness: {part}", "the heading names the part and the row the place, and the cells look like readings"
            )
    return out | _measured(kind, out)


def _of_a_side(kind: Kind, column: str, side: str, question: str) -> Guess:
    """A column of readings whose heading names the side, and whose rows name the axle."""
    part, why = headings.part_named(_as_written(column, list(kind.cells.columns))), ""
    if _measure_of(column, part) == "runout":
        part = "rotor"
    if not part or part in ("inner_pad", "outer_pad"):
        part, why = part_of(kind, column, part)
    role = f"{_measure_of(column, part)}: {side} {part}".replace(":  ", ": ").rstrip(": ")
    if question:
        return Guess(role, "the heading names a side by the driver or the road", sure=False, question=question)
    return Guess(role, f"the heading names the side and the row the axle, and the cells look like readings{why}", sure=bool(part))


def of_an_axle(kind: Kind, columns: list[str], axle: str) -> dict[str, str]:
    """The roles of columns whose headings name side and part, on this axle; empty where one of them names either not."""
    sides = headings.sides(list(kind.cells.columns), {})
    if not all(sides.get(column, ("", ""))[0] and headings.part_named(column) for column in columns):
        return {}
    parts = {column: headings.part_named(column) for column in columns}
    return {column: f"{_measure_of(column, part)}: {axle} {sides[column][0]} {part}" for column, part in parts.items()}


def in_turn(kind: Kind, columns: list[str], order: str) -> dict[str, str]:
    """The roles of columns ``LF / I, LF / O, RF / I, RF / O`` where the two words of each place mean this, in their order; empty where they are not so."""
    out, seen = {}, Counter()
    for column, (place, _) in headings.under_places(columns).items():
        part = part_of(kind, column, place.part)[0]
        said = order.split()[seen[place]]
        seen[place] += 1
        side, part = said if said in ("left", "right") else place.side, f"{said}_pad" if said in ("inner", "outer") else part
        when = said if said in ("before", "after") else ""
        where = " ".join(filter(None, (place.axle, side, part, when)))
        out[column] = f"{_measure_of(column, part)}: {where}"
    return out


def _looks_measured(kind: Kind, column: str) -> bool:
    """Whether a column headed drum holds numbers of its size, too big for a lining."""
    holds = kind.holds(column)
    return headings.part_named(column) == "drum" and holds.number > 0.5 and holds.date < 0.5


def _measure_of(column: str, part: str) -> str:
    return "runout" if headings.RUNOUT & set(headings.tokens(column)) else "diameter" if part == "drum" else "thickness"


def _measured(kind: Kind, out: dict[str, Guess]) -> dict[str, Guess]:
    """The one column of readings, ``mm left``, of a table whose rows name the place, where no heading names the lining."""
    here = {parsed(guess.role).kind for guess in out.values()}
    reads = [column for column, guess in out.items() if parsed(guess.role).kind in headings.READINGS]
    per_cent = [column for column in reads if headings.unit_of(column) == "%"]
    if not here & {"position", "axle"} or len(per_cent) < len(reads) or _of_limits(out):
        return {}
    could = [
        column
        for column, guess in out.items()
        if guess.role in (NOT_USED, "cost")  # the amount left
        and not guess.question
        and column.strip().casefold() != "amount"
        and (headings.measured_only(column) or headings.taken_only(column))
        and _looks_read(kind, column)
    ]
    could = [column for column in could if headings.unit_of(column) != "%"] or could
    when = [headings.taken(column) for column in could]
    if len(could) != 1 and sorted(when) != ["after", "before"]:
        return {}
    part, why = ("", "") if "part" in here else part_of(kind, could[0], "")
    said = "the heading says that it was measured, the row where, and the cells look like readings"
    sure = bool(part) or bool(brakes(kind))
    twice = Guess(NOT_USED, f"in per cent what “{could[0]}” says in its unit")
    return dict.fromkeys(could, Guess(f"thickness: {part}".rstrip(": "), f"{said}{why}", sure)) | dict.fromkeys(per_cent, twice)


def _one(kind: Kind, column: str, place) -> Guess:
    if column in (SHEET_NAME, FILE_NAME):
        return Guess(NOT_USED, A_NAME)
    if column == LINE_ABOVE:
        return _line_above(kind, column)
    holds, said = kind.holds(column), headings.meaning(column.removesuffix(ABOVE))
    if not holds.filled:
        return Guess(NOT_USED, EMPTY)
    if holds.thickness_unit >= 0.8 and holds.letters >= 0.5 and not said.against:
        return Guess("unit", "the cells are mm, in or 32nds")
    if said.role in ("", "work", "thickness") and set(headings.tokens(column)) & headings.DONE and _acts(kind, column):
        return Guess("work", "the heading says that it was done, and the cells what, at the place that the row names")
    if jobs.of_heading(column, tuple(kind.cells.columns)) and _marks(kind, column):
        return Guess("work", "the heading says what was done, and the cells mark where")
    could_be_work = said.role in ("", "description", "product_line", "thickness") and not said.against
    if could_be_work and (_says_work(kind, column) or _says_some_work(kind, column)):
        return _work_under(column)
    if said.against:
        return Guess(NOT_USED, f"“{said.said}” in the heading: {said.against}", sure=not _could_be_reading(said, holds))
    of_part = bool(headings.part_named(column))
    reads = (
        _looks_read(kind, column)
        or of_part
        and (_begins_with_numbers(kind, column) or bool(headings.unit_of(column)) and holds.date < 0.5)
        or bool(place and place.axle)
        and headings.unit_of(column) in ("mm", "in", "in32")
        and holds.date < 0.5
    )
    if place is not None and said.role not in ("work", "note", "complaint", "date") and (reads or _eaten(kind, column, of_part)):
        return _reading_at(kind, column, place)
    if set(headings.tokens(column)) <= headings.MONTH_WORDS and years.lacking(kind, column) == "day" and not _has_days(kind):
        return Guess("date", "the heading says a month, and the cells are months without a day", sure=False, rival="date")
    check = _CHECKS.get(said.role)
    if check is None:
        return Guess(said.role, _says(said)) if said.role else _by_contents(kind, column)
    return check(kind, column, said)


def _has_days(kind: Kind) -> bool:
    """Whether a heading of the table says the day."""
    return any(headings.meaning(column.removesuffix(ABOVE)).role == "date" for column in kind.cells.columns)


def _eaten(kind: Kind, column: str, of_part: bool) -> bool:
    """Whether the dates under a wheel's heading are readings that a spreadsheet made dates of, ``7/32``, ``8.5``, and no dates of its parts."""
    found = set(headings.tokens(column))
    if kind.holds(column).date < 0.5 or found & (headings.DATE_WORDS | cell_words.REPLACED | headings.DATE_OF_SOMETHING_ELSE):
        return False
    fraction = [bool(re.match(r"19(?:16|32|64)-", text)) for text in kind.samples(column, 30)]
    return of_part or bool(headings.unit_of(column)) or all(fraction)


def _line_above(kind: Kind, column: str) -> Guess:
    """What the lines over the blocks of a sheet are: places on the vehicle, or names."""
    role = _of_places(kind, column)
    return Guess(role, "the lines over the records name places on the vehicle") if role else Guess(NOT_USED, A_NAME)


def _of_places(kind: Kind, column: str) -> str:
    """``axle``, ``side`` or ``position`` where all of a column's texts are such; else empty."""
    texts = kind.samples(column, 60)
    where = headings.places(texts, {})
    sides = headings.either_side(texts)
    if where and all(place or side for place, side in zip(where, sides, strict=True)):
        return "side" if all(sides) else "position" if any(sides) or any(place.side for place in where) else "axle"
    return ""


def _could_be_reading(said, holds) -> bool:
    return bool(headings.TYRES & set(said.said.split())) and holds.reading > 0.5 and holds.typical <= 40


def _says(said) -> str:
    return f"the heading says “{said.said}”"


# --- readings ---------------------------------------------------------------------------------------------------------


def _looks_read(kind: Kind, column: str) -> bool:
    """Whether most cells look like thickness readings, per cent or words for them, and not like odometers or texts."""
    holds = kind.holds(column)
    return (
        holds.filled > 0
        and holds.date < 0.5
        and (holds.length < 25 or holds.reading >= 0.8)  # several, each with its place
        and (holds.reading >= 0.4 or holds.distinct <= 12 and holds.reading > 0)
    )


def _begins_with_numbers(kind: Kind, column: str) -> bool:
    """Whether most cells begin with a number as large as a lining, ``11.8 (min 3)``: to be read, or refused one by one."""
    texts = kind.samples(column, 20)
    begin = [bool(re.match(r"[<>~]? ?\d{1,2}(?:[.,]\d{1,2})?(?![\d./,-])", text)) for text in texts]
    return bool(texts) and sum(begin) >= 0.8 * len(texts) and kind.holds(column).date < 0.5 and kind.holds(column).length < 25


_ASKED_BECAUSE = {
    **dict.fromkeys(("driver_side", "traffic_side"), "the heading names a side by the driver or the road"),
    "axles": "the heading names an axle by its kind",
    "wheels": "the heading counts the wheels",
}


def _reading_at(kind: Kind, column: str, place) -> Guess:
    part, why = part_of(kind, column, place.part) if _measure_of(column, "") != "runout" else ("rotor", "")
    if place.several in (("inner", "outer"), ("outer", "inner")):
        role = f"thickness: {place.axle} {place.side}".strip() + f"; in order: {' '.join(place.several)}"
        return Guess(role, f"the heading names the place, and its cells hold two readings, {' and '.join(place.several)} pad")
    measure = _measure_of(column, part)
    if place.several:
        where = " ".join(word for word in (place.axle, part) if word)
        role = f"{measure}: {where}; in order: {' '.join(place.several)}"
        return Guess(role, f"the heading names {len(place.several)} wheels in this order{why}", sure=bool(part))
    where = " ".join(word for word in (place.axle, place.side, part) if word)
    if place.question:
        role = f"{measure}: {part}".rstrip(": ")
        return Guess(role, _ASKED_BECAUSE[place.question], sure=False, question=place.question)
    assumed = f"; {place.assumed}" if place.assumed else ""
    return Guess(
        f"{measure}: {where}", f"the heading names the place, and the cells look like readings{why}{assumed}", sure=bool(part)
    )


def part_of(kind: Kind, column: str, part: str) -> tuple[str, str]:
    """The part a reading column is of, and how it is known where the heading does not say; empty where it is not known."""
    if part:
        faces = part in ("inner_pad", "outer_pad")
        middle = any({"middle", "centre", "center", "mitte"} & set(headings.tokens(name)) for name in kind.cells.columns)
        if not faces or not middle or brakes(kind):
            return part, "; inner and outer: of a pad" if faces and not brakes(kind) else ""
        return "", "; inner, middle and outer, as of a tyre"
    found = {headings.LINING_WORDS[word] for word in brakes(kind) if word in headings.LINING_WORDS} & {"pad", "shoe"}
    if _LININGS & set(headings.tokens(column)) and any(headings.part_named(one) in found for one in kind.cells.columns):
        return "", "; other columns say pad or shoe, this one does not"
    if len(found) == 1 and not _of_other_axles(kind, column, next(iter(found))):
        part = found.pop()
        return part, f"; {part}s by the words over the table"
    return "", "; of which part is not said"


def _of_other_axles(kind: Kind, column: str, part: str) -> bool:
    """Whether only headings of other axles name a part: shoes at the rear say nothing of a bare ``Front L``."""
    if any(headings.LINING_WORDS.get(word) == part for word in kind.about):
        return False
    own = _axles_of(column)
    naming = [_axles_of(other) for other in kind.cells.columns if headings.part_named(other) == part]
    return bool(own and naming) and all(axles and not axles & own for axles in naming)


def _axles_of(column: str) -> set[str]:
    """The axles that a heading names, by its words and codes of wheels."""
    found = headings.tokens(column)
    out = {"front"} if set(found) & cell_words.FRONT else set()
    out |= {"rear"} if set(found) & cell_words.REAR else set()
    places = headings.places([column], {})
    return out | {place.axle for place in places if place and place.axle}


_LININGS = frozenset(
    "lining linings garniture garnitures voering voeringen guarnizione guarnizioni lona lonas okladzina okladziny".split()
)
"""Words for the lining of a pad or of a shoe."""


def brakes(kind: Kind) -> set[str]:
    """Words over the table that speak of brakes."""
    found = kind.about | {word for column in kind.cells.columns for word in headings.tokens(column)}
    return found & headings.BRAKES


# --- other columns ----------------------------------------------------------------------------------------------------


def _date(kind, column, said):
    if kind.holds(column).date >= 0.5 or _day_numbers(kind, column):
        return Guess("date", f"{_says(said)}, and the cells are dates", rival="date")
    if lacks := years.lacking(kind, column):
        they = "months without a day" if lacks == "day" else f"days without their {lacks}"
        return Guess("date", f"{_says(said)}, and the cells are {they}", sure=False, rival="date")
    if years.mixed(kind, column):
        return Guess("date", f"{_says(said)}, and the cells are dates, some of them in part", sure=False, rival="date")
    return Guess(NOT_USED, f"{_says(said)}, but the cells are no dates", sure=False)


def _day_numbers(kind, column) -> bool:
    holds = kind.holds(column)
    return kind.sheets[0].source == "xlsx" and holds.number > 0.9 and 30_000 < holds.typical < 60_000


_THOUSANDS = re.compile(r"\d{1,3}(?:[.,'’ ]\d{3})+\D*")
"""``64,259`` and ``29.987``: thousands apart, under a heading of odometers."""


def _odometer(kind, column, said):
    holds = kind.holds(column)
    if holds.distance_unit >= 0.8 and holds.letters > 0.8:
        return Guess("distance_unit", f"{_says(said)}, and the cells are km or mi")
    marked = sum(bool(_THOUSANDS.fullmatch(text)) for text in kind.samples(column, 30)) >= 0.5 * min(holds.distinct, 30)
    small = holds.typical <= 40 and holds.distinct > 3 and not marked and not headings.OF_THOUSANDS.search(column)
    if holds.number >= 0.5 and not small:
        return Guess("odometer", f"{_says(said)}, and the cells are numbers", rival="odometer")
    return Guess(NOT_USED, f"{_says(said)}, but the cells are no odometers", sure=False)


def _unit(kind, column, said):
    holds = kind.holds(column)
    if holds.thickness_unit >= 0.8:
        return Guess("unit", f"{_says(said)}, and the cells are mm, in or 32nds")
    if holds.distance_unit >= 0.8:
        return Guess("distance_unit", f"{_says(said)}, and the cells are km or mi")
    if holds.thickness_unit >= 0.2:
        return Guess("unit", f"{_says(said)}, and some cells are mm, in or 32nds", sure=False)
    if (
        said.said.split()[0] in ("unit", "unidad", "unite")
        and holds.distinct > 1
        and len(said.said.split()) == 1
        and holds.number < 1
        or "#" in column
    ):
        return Guess("vehicle_id", f"{_says(said)}, and the cells are no units: names of vehicles")
    return Guess(NOT_USED, f"{_says(said)}, but the cells are no units of length")


def _distance_unit(kind, column, said):
    fits = kind.holds(column).distance_unit >= 0.8
    return Guess("distance_unit", _says(said)) if fits else Guess(NOT_USED, f"{_says(said)}, but the cells are not km or mi")


def _text(kind, column, said):
    if kind.holds(column).letters >= 0.5:
        return Guess(said.role, _says(said))
    return Guess(NOT_USED, f"{_says(said)}, but the cells are no words")


def _description(kind, column, said):
    if kind.holds(column).length > 40 and not _has(kind, "complaint"):
        return Guess("complaint", f"{_says(said)}, and the cells are long texts")
    return _text(kind, column, said)


def _has(kind, role) -> bool:
    return any(headings.meaning(column).role == role and kind.holds(column).letters >= 0.5 for column in kind.cells.columns)


def _place(kind, column, said):
    holds = kind.holds(column)
    if said.role == "part" and holds.number > 0.5:
        return _thickness(kind, column, said)
    if holds.place >= 0.5:
        return Guess(said.role, f"{_says(said)}, and the cells name places on the vehicle")
    if said.role == "part" and _names_parts(kind, column, headed=True):
        return Guess("part", f"{_says(said)}, and some of its cells name parts of the brakes")
    return (
        _thickness(kind, column, said)
        if said.role == "part" and holds.reading > 0.5
        else Guess(NOT_USED, f"{_says(said)}, but the cells name none")
    )


def _measure(kind, column, said):
    """A column that says what was measured: the dimension, or the part."""
    named = [headings.part_only(text) for text in kind.samples(column, 20)]
    if named and all(named):
        return Guess("part", f"{_says(said)}, and the cells name parts")
    if kind.holds(column).number > 0.5:
        return Guess(NOT_USED, f"{_says(said)}, but the cells are numbers")
    return Guess("measure", _says(said))


def _taken(kind, column, said):
    if kind.holds(column).number > 0.5:
        return Guess(NOT_USED, f"{_says(said)}, but the cells are numbers", sure=False)
    return Guess("taken", _says(said))


def _thickness(kind, column, said):
    if not _looks_read(kind, column):
        named = [headings.part_only(text) for text in kind.samples(column, 20)]
        if set(named) == {"rotor", "drum"}:
            return Guess(NOT_USED, f"{_says(said)}, and the cells say disc or drum: the kind of brake, not what was measured")
        if named and all(named):
            return Guess("part", f"{_says(said)}, and the cells name parts")
        return Guess("work", f"{_says(said)}, and the cells are texts", sure=False) if kind.holds(column).length > 12 else Guess(
            NOT_USED, f"{_says(said)}, but the cells are no readings", sure=False
        )  # fmt: skip
    if kind.holds(column).typical > 200:
        return Guess(NOT_USED, f"{_says(said)}, but the numbers are too large for it", sure=False)
    measure = said.role if said.role in headings.READINGS else "thickness"
    named = [headings.LINING_WORDS[word] for word in headings.tokens(column) if word in headings.LINING_WORDS]
    part = headings.part_only(column) or (named[0] if len(set(named)) == 1 else "")
    if not part and not any(headings.meaning(name).role == "part" for name in kind.cells.columns):
        part, why = part_of(kind, column, "")
        return Guess(
            f"{measure}: {part}".rstrip(": "),
            f"{_says(said)}, and the cells look like readings{why}",
            sure=bool(part) or bool(brakes(kind)),
        )
    return Guess(f"{measure}: {part}".rstrip(": "), f"{_says(said)}, and the cells look like readings")


def _work(kind, column, said):
    numbers = [bool(re.fullmatch(r"[^\W\d_]{0,4}[-/# ]{0,2}\d+[a-z]?", text, re.I)) for text in kind.samples(column, 30)]
    if said.said in ("job", "jobs", "auftrag") and numbers and all(numbers):
        return Guess("visit_id", f"{_says(said)}, and the cells are numbers")
    return Guess("work", _says(said))


def _visit_id(kind, column, said):
    fuel = any(headings.FUEL & set(headings.tokens(name)) for name in kind.cells.columns)
    if fuel and said.said.startswith("card"):
        return Guess(NOT_USED, f"{_says(said)}: a fuel card, and no visit")
    return Guess("visit_id", _says(said))


def _vin(kind, column, said):
    return Guess("vin", _says(said))


_CHECKS = {
    "date": _date, "odometer": _odometer, "unit": _unit, "distance_unit": _distance_unit, "description": _description,
    "complaint": _text, "reason": _text, "duty": _text, "wear_class": _text, "technician": _text, "axle": _place, "side": _place,
    "visit_id": _visit_id, "work": _work, "part": _place, "position": _place, "measure": _measure, "thickness": _thickness,
    "diameter": _thickness, "runout": _thickness, "vin": _vin, "taken": _taken,
}  # fmt: skip


def _by_contents(kind: Kind, column: str) -> Guess:
    """A guess for a column whose heading says nothing: only from what nothing else looks like."""
    holds = kind.holds(column)
    if not holds.filled:
        return Guess(NOT_USED, EMPTY)
    if holds.vin > 0.8:
        return Guess("vin", "the cells look like vehicle identification numbers")
    if holds.date > 0.8 and headings.DATE_OF_SOMETHING_ELSE & set(headings.tokens(column)):
        return Guess(NOT_USED, "the cells are dates, but of something else", sure=False)
    if holds.date > 0.8:
        return Guess("date", "the cells are dates", rival="date")
    if holds.distinct <= 12 and {headings.taken(text) for text in kind.samples(column, 12)} == {"before", "after"}:
        return Guess("taken", "the cells say before or after the work")
    if holds.length > 60 and holds.distinct > 0.5 * holds.filled:
        return Guess("complaint", "the cells are long texts, each another")
    if not any(sheet.header_line for sheet in kind.sheets) and holds.number > 0.95 and 3_000 < holds.typical < 500_000:
        return Guess(NOT_USED, "the cells are numbers that could be odometers", sure=False, rival="odometer")
    if holds.place > 0.95 and holds.letters > 0.95 and holds.distinct > 2 and not _tells_work(kind, column):
        texts = kind.samples(column, 30)
        if all(map(headings.part_named, texts)) and not any(map(headings.names_place, texts)):
            return Guess("part", "the cells name parts of the brakes", sure=False)
        return Guess("position", "the cells name places on the vehicle", sure=False)
    if holds.filled > 1 and all(map(_DISTANCE.fullmatch, kind.samples(column, 60))) and not headings.part_named(column):
        return Guess("odometer", "the cells are numbers with km or miles", sure=False, rival="odometer")
    if _names_parts(kind, column):
        places = sum(headings.names_place(text) for text in kind.samples(column, 30)) > 0.5 * len(kind.samples(column, 30))
        return Guess(
            "position" if places else "part", "some of its cells name parts of the brakes" + (", and where" if places else "")
        )
    if _complains(kind, column):
        return Guess("complaint", "the cells are complaints about brakes", sure=False)
    if _reads_like_a_lining(kind, column):
        return Guess(NOT_USED, "the cells look like readings, but where they were taken is not said", sure=False, rival=UNPLACED)
    return Guess(NOT_USED, SAYS_NOTHING)


_DISTANCE = re.compile(r"(?i)\d[\d., ']* ?(?:t ?km|tsd\.? ?km|km|k ?mi|mi|miles)")


def _says_work(kind: Kind, column: str) -> bool:
    """Whether half of a column's texts or more say what was done on brakes: ``front pads replaced``, or name parts of an axle alone.

    Parts alone are places where a reading has none in its heading, unless the heading says that something was not done.
    """
    texts = kind.samples(column, 30)
    behind = f" {column} {jobs.LININGS}" if jobs.done_by_heading(column) else ""
    said = [jobs.work(text + behind) for text in texts]
    by_row = any(
        headings.meaning(other).role in (*headings.READINGS, "unit", "measure") and not headings.names_place(other)
        for other in kind.cells.columns
    )
    by_row &= not set(headings.tokens(column)) & headings.NOT_DONE
    return (
        bool(texts)
        and kind.holds(column).letters > 0.9
        and sum(bool(one.rows or one.alone and not by_row and not any(side for _, side, *_ in one.alone)) for one in said)
        >= 0.5 * len(texts)
        and kind.holds(column).reading < 0.3
    )


def _says_some_work(kind: Kind, column: str) -> bool:
    """Whether a column of texts says among other things, beyond doubt, what was done on brakes."""
    _, _, texts = kind.coded(column)
    holds = kind.holds(column)
    if (
        holds.letters < 0.9
        or holds.reading >= 0.3
        or holds.length < 4
        or set(headings.tokens(column)) & (headings.NO_READING | _OTHER_VISITS)
    ):
        return False
    told = texts[jobs.may_tell(texts)].head(200)
    return any(row[2] in jobs.RENEWED for text in told for row in jobs.work(text).rows)


def _acts(kind: Kind, column: str) -> bool:
    """Whether the cells of a column are actions alone, ``Replaced``, in a table whose rows name the place."""
    texts = kind.samples(column, 30)
    places = any(headings.meaning(other).role in ("position", "axle") for other in kind.cells.columns)
    alone = sum(
        bool(jobs.action_alone(text) or jobs.action_of_heading(column)[0] and jobs.mark(text) is not None) for text in texts
    )
    return places and 0 < 0.5 * len(texts) <= alone and max(map(len, texts)) < 20


def _work_under(column: str) -> Guess:
    """A column of lines of work, by whether its heading says that it was done, or not, or neither."""
    found = set(headings.tokens(column))
    if found & headings.NOT_DONE:
        return Guess(NOT_USED, "lines of work, but the heading says that it was not done then, or not yet", sure=False)
    if found & headings.DONE:
        return Guess("work", "the heading says that it was done, and the cells what")
    return Guess(NOT_USED, "lines of work, but the heading does not say that it was done then", sure=False, rival="work")


def _marks(kind: Kind, column: str) -> bool:
    """Whether most cells of a column are marks, ``x`` or ``no``."""
    code, _, texts = kind.coded(column)
    filled = texts.ne("").to_numpy()[code]
    marked = np.array([bool(text) and jobs.mark(text) is not None for text in texts], dtype=bool)[code]
    return bool(filled.any()) and marked.sum() >= 0.6 * filled.sum()


_OTHER_VISITS = frozenset("history next historie historique historial historico storico historia".split())


def _complains(kind: Kind, column: str) -> bool:
    """Whether a quarter of a column's texts or more, and two of them, are complaints about brakes, under no heading of another visit."""
    texts = kind.samples(column, 40)
    if set(headings.tokens(column)) & (headings.NO_READING | _OTHER_VISITS):
        return False
    if kind.holds(column).letters < 0.9 or kind.holds(column).length < 4:
        return False
    found = sum(symptoms.read(text).category not in ("none", "other") for text in texts)
    return found >= max(2, 0.25 * len(texts))


def _tells_work(kind: Kind, column: str) -> bool:
    """Whether the cells say what was done at a place, ``Front pads replaced``."""
    return any(jobs.names_action(text) for text in kind.samples(column, 30))


def _names_parts(kind: Kind, column: str, headed: bool = False) -> bool:
    """Whether a column lists what was looked at, some of it linings: ``Brake pads (mm)``, ``Tyres (mm)``.

    Under a heading that says nothing (``headed`` False) the same things must come again and again, about as often as one another.
    """
    holds, texts = kind.holds(column), kind.samples(column, 30)
    named = [headings.part_named(text) for text in texts]
    lining = sum(part not in ("", "rotor", "drum") for part in named)
    tyres = any(headings.of_tyres(text) for text in texts)
    brakes_too = tyres and any(headings.BRAKES & set(headings.tokens(text)) for text in texts)
    if (
        not (lining or brakes_too)
        or _tells_work(kind, column)
        or holds.distinct > 30
        or holds.length > 40
        or max(len(headings.tokens(text)) for text in texts) > 6
    ):
        return False
    times = np.bincount(kind.coded(column)[0])[kind.coded(column)[2].ne("").to_numpy()]
    again = times.min() >= max(2, 0.5 * times.max()) and holds.filled > 0.9 * len(kind.cells) and holds.letters > 0.9
    return bool((headed or again) and (tyres or sum(map(bool, named)) >= 0.5 * len(texts)))


SAYS_NOTHING = "neither heading nor cells say what it is"
UNPLACED = "unplaced"
"""The rival of columns that hold readings of a place that nothing names: they are asked about."""
_WITH_UNIT = re.compile(r"[<>~ ]*\d{1,2}(?:[.,]\d{1,3})? ?mm|\d{1,2} ?/ ?32(?: ?(?:in|nds|\"))?|\d{1,2} ?(?:/32)?nds", re.I)


def _reads_like_a_lining(kind: Kind, column: str) -> bool:
    """Whether nearly all cells are thicknesses by their form alone: with their unit, or under a word for a lining."""
    holds = kind.holds(column)
    if holds.reading < 0.8 or holds.length >= 25 or (headings.TYRES | headings.NO_READING) & set(headings.tokens(column)):
        return False
    texts = kind.samples(column, 20)
    written = sum(bool(_WITH_UNIT.fullmatch(text)) for text in texts) >= 0.5 * len(texts)
    written |= headings.unit_of(column) in ("mm", "in", "in32")
    return written or (bool(headings.BRAKES & set(headings.tokens(column))) or column.isdigit()) and 1 < holds.typical < 40


# --- one of each ------------------------------------------------------------------------------------------------------


def _once(kind: Kind, first: dict[str, Guess]) -> dict[str, Guess]:
    """Of several columns for one role the first is kept, or none where that must be asked."""
    out = dict(first)
    for role in ONE_ONLY:
        those = [column for column, guess in out.items() if guess.role == role]
        if len(those) < 2:
            continue
        if role in ASKED_WHEN_SEVERAL:
            for column in those:
                out[column] = Guess(NOT_USED, f"{out[column].evidence}; {len(those)} columns could be the {role}", False, role)
        else:
            keep = max(those, key=lambda column: (_rank(kind, column), kind.holds(column).filled, -those.index(column)))
            plate = _plate_instead(kind, keep, those) if role == "vehicle_id" else None
            if plate == UNSURE:
                why = f"{len(those)} columns could name the vehicle"
                out |= {column: Guess(NOT_USED, f"{out[column].evidence}; {why}", False, role) for column in those}
                continue
            keep = plate or keep
            for column in set(those) - {keep}:
                out[column] = Guess(NOT_USED, f"“{keep}” was taken as the {role}")
    texts = [column for column, guess in out.items() if guess.role == "complaint"]
    if len(texts) > 1 and all(first[column].evidence.startswith("the cells") for column in texts):
        longest = max(texts, key=lambda column: kind.holds(column).length)
        for column in set(texts) - {longest}:
            out[column] = Guess("note", out[column].evidence)
    return _several_of_a_name(kind, _finer_names(kind, _names(kind, out)))


def _finer_names(kind: Kind, out: dict[str, Guess]) -> dict[str, Guess]:
    """The vehicles' column asked about where another of codes tells vehicles of one name apart: ``Parcel van`` beside ``U-101`` and ``U-102``."""
    chosen = next((column for column, guess in out.items() if guess.role == "vehicle_id"), None)
    if chosen is None or chosen in (SHEET_NAME, FILE_NAME, LINE_ABOVE) or chosen.endswith(ABOVE):
        return out
    names = kind.stripped(chosen)
    finer = [column for column, guess in out.items() if guess.role == NOT_USED and _codes_of(kind, column, names)]
    if not finer:
        return out
    why = f"two columns could name the vehicle: under one name in “{chosen}” stand several in “{finer[0]}”"
    return out | {column: Guess(NOT_USED, why, sure=False, rival="vehicle_id") for column in (chosen, finer[0])}


_NUMBERING = frozenset(
    "unit tag id no nr n num number nummer numero reg plate fleet eco economico prefixo interno wagennr wagen parc".split()
)
"""Words of a heading over the numbers or codes of vehicles."""
_OF_PARTS = frozenset(
    "part parts article artikel item sku stock teil teile teilenummer piece pieces reference pieza onderdeel onderdeelnummer invoice job order po batch serial "
    "codice ricambio peca".split()
)
"""Words of a heading over the numbers of parts and papers, which tell no vehicles apart."""


def _codes_of(kind: Kind, column: str, names: pd.Series) -> bool:
    """Whether a column holds codes that come again, each with one of the ``names`` and some name with several of them."""
    holds, codes = kind.holds(column), kind.stripped(column)
    coded = (
        (holds.letters > 0.5 or holds.number > 0.5 and set(headings.tokens(column)) & _NUMBERING)
        and holds.length < 20
        and holds.date < 0.5
        and holds.reading < 0.5
        and holds.vin < 0.5
    )
    named = set(headings.tokens(column)) & _NUMBERING
    if set(headings.tokens(column)) & _OF_PARTS:
        return False
    once = holds.distinct == holds.filled and bool(named) and holds.letters > 0.5 and names.duplicated().any()
    if not coded or holds.filled < 0.9 * len(codes) or not (1 < holds.distinct <= 0.7 * holds.filled or once):
        return False
    pairs = pd.DataFrame({"code": codes, "name": names})[codes.ne("") & names.ne("")].drop_duplicates()
    digits = pairs["code"].str.contains(r"\d").mean() > (0.2 if named else 0.8)
    return bool(digits and not pairs["code"].duplicated().any() and pairs["name"].nunique() < len(pairs) and len(pairs) > 2)


A_NUMBER, A_NOUN, A_PLATE, A_TRAILER = 3, 2, 1, 0
UNSURE = "unsure"


def _rank(kind: Kind, column: str) -> int:
    """A column of the vehicle's numbers goes before one named by a noun (van, machine), that before its plate; its trailer comes last."""
    found = set(headings.tokens(column))
    if found & cell_words.TRAILER:
        return A_TRAILER
    if re.search(r"reg|plate|kennz|zulass|immat|matr[ií]cula|placa|kenteken|targa|rejestr|rego|licen[cs]e|vrm", column, re.I):
        return A_PLATE
    numbered = re.search(r"(?i)\b(?:no|nr|num|number|nummer|numero|id|fleet|unit|asset|parc)\b|#|n[°º]", column)
    return A_NUMBER if numbered and _mostly_digits(kind, column) else A_NOUN


def _mostly_digits(kind: Kind, column: str) -> bool:
    texts = kind.samples(column, 60)
    return sum(bool(re.search(r"\d", text)) for text in texts) > 0.5 * len(texts)


def _plate_instead(kind: Kind, keep: str, those: list[str]) -> str | None:
    """The column of plates where what is under a noun are models, ``Golf``; `UNSURE` where that cannot be told, None where they are no models."""
    plates = [column for column in those if _rank(kind, column) == A_PLATE]
    if _rank(kind, keep) != A_NOUN or not plates:
        return None
    plate = plates[0]
    if kind.holds(plate).filled <= 0.5 * kind.holds(keep).filled:
        return None
    whole = kind.holds(plate).filled >= kind.holds(keep).filled
    if not _mostly_digits(kind, keep):
        return plate if whole else UNSURE
    pairs = pd.DataFrame(
        {"noun": kind.stripped(keep), "plate": kind.stripped(plate).str.casefold().str.replace(r"[\W_]+", "", regex=True)}
    )
    pairs = pairs[pairs.ne("").all(axis=1)].value_counts().reset_index()
    if pairs.loc[pairs["count"] > 1, "noun"].duplicated().any():  # both plates again and again
        return plate if whole else UNSURE
    several = pairs[pairs["noun"].duplicated(keep=False)].groupby("noun")["plate"]
    return UNSURE if any(not _one_plate(its.tolist()) for _, its in several) else None


def _several_of_a_name(kind: Kind, out: dict[str, Guess]) -> dict[str, Guess]:
    """Where the column that names the vehicle names its model, and VINs or serial numbers tell several apart, it is asked which one does."""
    name = next((column for column, guess in out.items() if guess.role == "vehicle_id"), None)
    for column in out if name else ():
        serial = out[column].role == NOT_USED and _is_serial(kind, column)
        if (out[column].role == "vin" or serial) and _share_of_several(kind, name, column) >= OFTEN:
            why = f"under some names of “{name}” stand several of “{column}”"
            return out | {one: Guess(NOT_USED, f"{out[one].evidence}; {why}", False, "vehicle_id") for one in (name, column)}
    return out


def _is_serial(kind: Kind, column: str) -> bool:
    """Whether a column holds serial numbers of vehicles, some of them again and again; one that is new in each row counts the rows."""
    said, holds = set(headings.tokens(column)), kind.holds(column)
    return bool(_SERIAL & said) and not _OF_A_PART & said and holds.distinct < holds.filled


_SERIAL = frozenset("serial serie seriennummer seriennr serienummer seriale".split())
_OF_A_PART = headings.BRAKES | headings.TYRES | frozenset("part parts gauge tool caliper invoice job".split())
OFTEN = 0.2
"""Share of the vehicles' names under which several VINs stand, from which on it is asked, and not told name by name."""


def _share_of_several(kind: Kind, name: str, column: str) -> float:
    """Share of the names of vehicles under which a column has several VINs or numbers, but for one that was once written wrongly."""
    (of, _, names), (which, _, written) = kind.coded(name), kind.coded(column)
    times = pd.DataFrame({"name": of, "number": which}).value_counts().reset_index()
    names, numbers = (texts.mask(texts.str.fullmatch(DITTO), "").to_numpy() for texts in (names, vins.normalised(written)))
    times = times.assign(name=names[times["name"]], number=numbers[times["number"]])
    times = times[times[["name", "number"]].ne("").all(axis=1)].groupby(["name", "number"], as_index=False)["count"].sum()
    times = times.sort_values("count", ascending=False, kind="stable")
    several = [its for _, its in times.groupby("name") if len(its) > 1 and not _once_wrong(its)]
    return len(several) / max(times["name"].nunique(), 1)


def _once_wrong(its: pd.DataFrame) -> bool:
    """Whether all the numbers under a name (``number``, ``count``) are the first of them, but for one letter written once, or its end."""
    first, others = its["number"].iloc[0], its.iloc[1:]
    return all(
        first.endswith(number) or number.endswith(first) or count == 1 and cell_text.one_slip(number, first)
        for number, count in zip(others["number"], others["count"], strict=True)
    )


def _one_plate(plates: list[str]) -> bool:
    """Whether plates are one that was once written wrongly."""
    return all(
        cell_text.one_slip(plates[0], other) or plates[0].translate(_O_FOR_0) == other.translate(_O_FOR_0) for other in plates[1:]
    )


_O_FOR_0 = str.maketrans("oil", "011")


def _names(kind: Kind, out: dict[str, Guess]) -> dict[str, Guess]:
    """The vehicle by the column of units, or by the name of its sheet, where no other column names it."""
    if any(guess.role == "vehicle_id" for guess in out.values()):
        return out
    units = [column for column, guess in out.items() if guess.role == NOT_USED and _could_be_vehicles(kind, column)]
    if len(units) == 1:
        why = "the heading says “unit”, the cells are no units, and no other column names the vehicle"
        return out | {units[0]: Guess("vehicle_id", why, sure=False)}
    if SHEET_NAME not in out:
        return out
    names = kind.cells[SHEET_NAME].unique()
    if len(names) > 1 and not any(
        re.fullmatch(r"\D*(?:19|20)\d{2}\D*|\d{1,2}|[^\W\d]{3,9}", name) and not re.search(r"van|bus|truck|car", name, re.I)
        for name in names
    ):
        out[SHEET_NAME] = Guess("vehicle_id", "no column names the vehicle, and each sheet is named differently")
    return out


def _could_be_vehicles(kind: Kind, column: str) -> bool:
    """Whether a column headed ``Unit`` holds numbers of vehicles, ``101``; ``each`` or ``7.5`` are none."""
    texts = kind.samples(column, 20)
    numbered = all(re.search(r"\d", text) and not re.search(r"\d[.,]\d", text) for text in texts)
    return headings.tokens(column) in (["unit"], ["unidad"], ["unite"]) and bool(texts) and numbered


@dataclass(frozen=True)
class Role:
    """A role as `parsed`: ``kind`` (a word of `headings.ROLES`), and for readings the place."""

    kind: str
    axle: str = ""
    side: str = ""
    part: str = ""
    several: tuple[str, ...] = ()
    taken: str = ""


def parsed(role: str) -> Role | None:
    """A role as it stands in ``records.toml``; None where it is none."""
    said, _, order = (piece.strip() for piece in str(role).partition("; in order:"))
    kind, _, place = (piece.strip() for piece in said.partition(":"))
    if kind not in headings.ROLES or (place or order) and kind not in headings.READINGS:
        return None
    where = {"axle": "", "side": "", "part": "", "taken": ""}
    for word in place.split():
        if word in ("front", "rear") or re.fullmatch("[1-9]", word):
            where["axle"] = word
        elif word in ("left", "right"):
            where["side"] = word
        elif word in MEASURED_PARTS:
            where["part"] = word
        elif word in ("before", "after"):
            where["taken"] = word
        else:
            return None
    several = tuple(order.replace(",", " ").split())
    return Role(kind, **where, several=several) if all(re.fullmatch(ORDERED, word) for word in several) else None


ORDERED = r"[LR][FR]|front|rear|left|right|inner|outer"
"""What several readings in a cell can be of, in their order."""
