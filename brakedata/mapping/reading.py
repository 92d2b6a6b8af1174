"""Every used column of a kind of table read through `cells.read`, with what was assumed, doubted, asked and refused."""

import re
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from brakedata import cells, headings
from brakedata.cells import words
from brakedata.cells.reading import ASK, FLAG, OK, OK_ASSUMED, REFUSE, Reading
from brakedata.cells.text import decimal_mark
from brakedata.cells.thickness import ROTOR_MM, names_wear
from brakedata.cells.told import Told
from brakedata.mapping import years
from brakedata.mapping.guess import Role
from brakedata.mapping.kinds import ABOVE, Kind, spread
from brakedata.mapping.names import NO_PART
from brakedata.units import DISTANCE_KM, THICKNESS_MM, distance_unit, thickness_unit

OUR_UNIT = {"in32": "32nds", "mm": "mm", "in": "in"}
THEIR_UNIT = {"32nds": "in32", "mm": "mm", "in": "in", "um": "mm"}
FACES = {"inner": "inner_pad", "outer": "outer_pad"}
WHEELS = {f"{side[0]}{axle[0]}".upper(): (axle, side) for axle in ("front", "rear") for side in ("left", "right")}
PLACE = ["axle", "side", "part"]


def hints_of(kind: Kind, shop: dict, answers: dict) -> dict:
    """The hints for `cells.read`: how the file came, what the shop said, what was answered for this kind of file."""
    sheet = kind.sheets[0]
    own = {key: answers[key] for key in ("date_order", "day", "decimal", "percent", "wear") if answers.get(key)}
    source = "csv" if sheet.source == "parquet" else sheet.source
    return {
        **shop,
        "source": source,
        **({"delimiter": sheet.delimiter} if sheet.delimiter in ",;\t" and sheet.delimiter else {}),
        **own,
        **{key: answers[key].split() for key in ("axles", "wheels") if answers.get(key)},
    }


@dataclass(frozen=True)
class Cells:
    """The filled cells of a column: ``rows`` of the kind, which of the different ``texts`` each of them is (``code``), and these."""

    rows: np.ndarray
    code: np.ndarray
    texts: list[str]

    def at(self, those: np.ndarray) -> list[str]:
        """Texts of some of the cells, by their place among these."""
        return [self.texts[at] for at in self.code[those]]

    def part(self, those: np.ndarray) -> "Cells":
        """Some of the cells, by their place among these."""
        code, kept = pd.factorize(self.code[those])
        return Cells(self.rows[those], code, [self.texts[at] for at in kept])

    def told_apart(self, marks: np.ndarray) -> tuple["Cells", np.ndarray, np.ndarray]:
        """The same cells, equal texts of other ``marks`` apart; the earlier place and the mark of each text."""
        size = int(marks.max(initial=0)) + 1
        code, pairs = pd.factorize(self.code * size + marks)
        of, mark = np.divmod(pairs, size)
        return Cells(self.rows, code, [self.texts[at] for at in of]), of, mark


def _filled(kind: Kind, column: str) -> Cells:
    code, texts, stripped = kind.coded(column)
    every = Cells(np.arange(len(code)), code, texts.tolist())
    return every.part(np.flatnonzero(stripped.ne("").to_numpy()[code]))


def _all_of(those: np.ndarray, code: np.ndarray) -> np.ndarray:
    """Places of the cells whose text is among ``those``, by code."""
    return np.flatnonzero(np.isin(code, those))


def dates(kind: Kind, column: str, hints: dict, told: Told) -> pd.Series:
    """Days of a column, NaT where there is none."""
    filled = _filled(kind, column)
    number = (
        {"cell_type": "number"}
        if kind.sheets[0].source == "xlsx" and all(re.fullmatch(r"\d{5}(\.\d+)?", text) for text in filled.texts)
        else {}
    )
    in_order = [filled.texts[at] for at in filled.code]  # what stands around a date counts
    by_row = cells.read("date", in_order, column, {**hints, **number})
    files = kind.place["file"].to_numpy()[filled.rows]
    several = files.size and (files != files[0]).any()
    if several and (hints.get("date_order") or any(one.question == "date_order" for one in by_row)):
        for file in pd.unique(files):  # each file may write them in its own order; an answer holds where one shows none
            its = np.flatnonzero(files == file)
            own = cells.read("date", [in_order[at] for at in its], column, {**hints, **number})
            if not any(one.question == "date_order" for one in own):
                for at, one in zip(its, own, strict=True):
                    by_row[at] = one
    nth, first = pd.factorize(np.fromiter(map(id, by_row), dtype="int64", count=len(by_row)))
    known = {id(reading): reading for reading in by_row}
    filled, _, which = filled.told_apart(nth)
    readings = [known[first[at]] for at in which]
    lacks = years.lacking(kind, column)
    if lacks == "month":  # days alone, under months that are known
        readings = [
            Reading(ASK, None, None, "a day whose year is not said", one.rule, "year")
            if one.status == REFUSE and years.is_day_alone(text)
            else one
            for one, text in zip(readings, filled.texts, strict=True)
        ]
    readings = [
        replace(one, question="year")
        if one.status == ASK and (lacks in ("year", "month") or "year is missing" in one.assumed)
        else one
        for one in readings
    ]
    readings = [_day_of_month(one, hints.get("day")) for one in readings]
    told.spread(column, filled.rows, filled.code, filled.texts, readings)
    spans = _all_of([at for at, reading in enumerate(readings) if isinstance(reading.value, dict)], filled.code)
    told.refuse("R73-not-believed", column, filled.rows[spans], filled.at(spans), "no single day")
    days = pd.Series([reading.value if isinstance(reading.value, str) else None for reading in readings], dtype="str")
    out = np.full(len(kind.cells), np.datetime64("NaT", "s"))
    out[filled.rows] = pd.to_datetime(days, format="%Y-%m-%d", errors="coerce").to_numpy().astype("datetime64[s]")[filled.code]
    return pd.Series(out)


def _day_of_month(reading: Reading, day: str | None) -> Reading:
    """A month as the day of it that was answered, asked before; any other reading as it is."""
    span = reading.value if isinstance(reading.value, dict) else {}
    first, last = (pd.to_datetime(span.get(end), errors="coerce") for end in ("low", "high"))
    if not (first.is_month_start and first + pd.offsets.MonthEnd() == last):
        return reading
    if not day:
        return Reading(ASK, None, None, "a month and no day: which day of it is meant?", reading.rule, "day")
    its = first.replace(day=int(day)).strftime("%Y-%m-%d")
    return Reading(OK_ASSUMED, its, None, f"day {day} of the month, as was answered", reading.rule)


def odometers(kind: Kind, column: str, unit_column: str | None, unit: str | None, hints: dict, told: Told) -> pd.DataFrame:
    """Odometers of a column: ``km``, ``unit``, ``written`` (shape (rows,)); NaN where none was read."""
    written = kind.stripped(column)
    hints = hints | _thousands_mark(kind, column)
    km, units = np.full(len(written), np.nan), np.full(len(written), "", dtype=object)
    for those, own in _by_unit(kind, column, unit_column, distance_unit, unit, told):
        header, texts = _thousands(column, those.texts)
        readings = cells.read("odometer", texts, header, {**hints, **({"unit": own} if own else {})})
        told.spread(column, those.rows, those.code, those.texts, readings)
        bounds = _all_of([at for at, reading in enumerate(readings) if isinstance(reading.value, dict)], those.code)
        told.refuse("R73-not-believed", column, those.rows[bounds], those.at(bounds), "no single odometer")
        single = [reading if isinstance(reading.value, (int, float)) else None for reading in readings]
        km[those.rows] = np.array([np.nan if one is None else one.value for one in single])[those.code]
        said = ["" if one is None else one.unit if one.unit in DISTANCE_KM else "km" for one in single]
        units[those.rows] = np.array(said, dtype=object)[those.code]
    return pd.DataFrame({"km": km, "unit": pd.Series(units, dtype="str"), "written": written})


def _thousands(heading: str, texts: list[str]) -> tuple[str, list[str]]:
    """A heading of thousands without that word, and its cells with it, where none of them is too large for it; else as they are."""
    if headings.OF_TEN_KM.search(heading) and all(re.fullmatch(r"\d{2,6}(?:[.,]\d)?", text.strip()) for text in texts):
        tenfold = [f"{round(10 * float(text.strip().replace(',', '.')))}" for text in texts]
        return headings.OF_TEN_KM.sub(" km ", heading), tenfold
    numbers = [re.fullmatch(r"(\d{1,4})(?:[.,]\d{1,3})?", text.strip()) for text in texts]
    if (
        not headings.OF_THOUSANDS.search(heading)
        or not any(numbers)
        or any(found is None or int(found[1]) > 2_500 for found in numbers)
    ):
        return heading, texts
    return " ".join(headings.OF_THOUSANDS.sub(" ", heading).split()), [f"{text.strip()} k" for text in texts]


_GROUPED = re.compile(r"[1-9]\d{0,2}(?:([.,])\d{3})+")
CELLS_SAY = 5
"""So many different cells of a column say what all of them are alike in."""


def _thousands_mark(kind: Kind, column: str) -> dict:
    """The decimal mark, where every odometer has the other one before its last three figures: no dash shows thousandths."""
    texts = [text for text in kind.coded(column)[2] if text and not text.isdigit()]
    marks = {found[1] if (found := _GROUPED.fullmatch(text)) else "" for text in texts}
    return {"decimal": "," if marks == {"."} else "."} if len(texts) >= CELLS_SAY and marks in ({"."}, {","}) else {}


FAR = 4
"""So many mm two linings of one wheel seldom differ by: ``14,5`` is one number (common practice, no source)."""


def comma_shown(kind: Kind, columns: list[str], hints: dict) -> dict:
    """The decimal comma, where nothing says the mark and the columns of readings together show it: ``6,0`` is no two readings."""
    every = {text for column in columns for text in kind.coded(column)[2]} if decimal_mark(hints) is None else set()
    commas = [text for text in every if re.fullmatch(r"\d{1,2},\d{1,2}", text)]
    commas = commas or [found for text in sorted(every) for found in re.findall(r"(?<![\d.,])\d{1,2},\d{1,2}(?![\d.,])", text)]
    points = any(re.fullmatch(r"\d+\.\d+", text) for text in every)
    shows = sum(text.endswith(",0") or text[-3] == "," for text in commas) > 1
    pairs = [tuple(map(int, text.split(","))) for text in commas]
    shows |= all(second == 5 for _, second in pairs)  # halves: of two pads the second is not always 5 mm
    linings = all(first < ROTOR_MM for first, _ in pairs)  # not a disc and its pad
    shows |= linings and np.mean([abs(first - second) > FAR for first, second in pairs] or [0]) > 0.5
    return {"decimal": ","} if len(commas) >= CELLS_SAY and shows and not points else {}


def _by_unit(kind, column, unit_column, reader, unit, told):
    """The cells of a column by the unit that its own unit column says; where that is empty, the unit answered for the file."""
    filled = _filled(kind, column)
    if unit_column is None:
        yield filled, unit
        return
    code, _, said = kind.coded(unit_column)
    word, words_here = pd.factorize(said.to_numpy()[code[filled.rows]])
    parts_named = any(map(headings.part_named, words_here))  # what was measured, in some rows with its unit
    for at, written in enumerate(words_here):
        those = filled.part(np.flatnonzero(word == at))
        own = reader(written) or OUR_UNIT.get(headings.unit_of(written)) if written else unit
        own = unit if own is None and parts_named else own
        if written and own is None and not parts_named:
            every = those.at(np.arange(len(those.rows)))
            told.refuse("R75-no-reading", column, those.rows, every, f"its unit “{written}” is none that is known")
        else:
            yield those, own


_UNIT_BEHIND = re.compile(r"(?i)\s*[(\[](?:mm|in|inch(?:es)?|32nds?)[)\]]\s*$|(?<=\w)\s+mm\s*$")
"""``Disc (in)``, ``Front pads mm``: the unit of what is named, not the inner pad."""


def places(kind: Kind, column: str, what: str, hints: dict, told: Told, axle_too: bool = False) -> pd.DataFrame:
    """``axle, side, part`` (shape (rows,)) of a column of places, axles, sides or parts; empty where it does not say.

    ``axle_too``: another column names the axle, so a place may be a side alone.
    """
    filled = _filled(kind, column)
    texts = filled.texts
    readings = headings.positions([_UNIT_BEHIND.sub("", text) for text in texts], what, hints, column)
    if what == "part":
        readings = [
            _part_named(headings.part_only(text)) if reading.status != OK and headings.part_only(text) else reading
            for text, reading in zip(texts, readings, strict=True)
        ]
    if what == "position":
        of_sides = headings.positions(texts, "side", hints, column) if axle_too else readings
        readings = [side if one.status == ASK and side.taken else one for one, side in zip(readings, of_sides, strict=True)]
        readings = _wheel_and_face(texts, readings, hints)
    if what in ("position", "part"):
        readings = _of_known_parts(readings)
    told.spread(column, filled.rows, filled.code, texts, readings)
    several = _all_of([at for at, reading in enumerate(readings) if isinstance(reading.value, list)], filled.code)
    told.refuse("R75-no-reading", column, filled.rows[several], filled.at(several), "several places for one reading")
    said = [reading.value if isinstance(reading.value, dict) else {} for reading in readings]
    code = np.zeros(len(kind.cells), dtype="int64")
    code[filled.rows] = filled.code + 1
    return pd.DataFrame({name: spread(code, ["", *(one.get(name) or "" for one in said)]) for name in PLACE})


def _of_known_parts(readings: list[Reading]) -> list[Reading]:
    """A place beside a word that is not known is refused where other cells name parts: that word may be another part."""
    parts = any(isinstance(one.value, dict) and one.value.get("part") for one in readings)
    unknown = [
        one.status == FLAG and "is not known" in one.assumed and isinstance(one.value, dict) and not one.value.get("part")
        for one in readings
    ]
    return [
        Reading(REFUSE, None, None, f"{one.assumed}, and other rows name parts", one.rule) if parts and doubt else one
        for one, doubt in zip(readings, unknown, strict=True)
    ]


def _part_named(part: str) -> Reading:
    return Reading(OK, {"axle": None, "side": None, "part": part}, None, "", "M2")


def _wheel_and_face(texts: list[str], readings: list[Reading], hints: dict) -> list[Reading]:
    """Cells such as ``RR inner``, asked because of one word, read with wheel and face apart, as in headings."""
    asked = list(dict.fromkeys(text for text, reading in zip(texts, readings, strict=True) if reading.status == ASK))
    if not asked:
        return readings
    every = list(dict.fromkeys(texts))
    known = dict(zip(every, headings.places(every, hints), strict=True))
    out = []
    for text, reading in zip(texts, readings, strict=True):
        place = known[text]
        if reading.status == ASK and place is not None and place.axle:
            value = {"axle": place.axle, "side": place.side or None, "part": place.part or None}
            reading = Reading(OK_ASSUMED, value, None, "a wheel, as in the column's other cells", "M1")
        out.append(reading)
    return out


_MEASURES = (
    ("runout", ("runout", "run out")),
    ("thickness_variation", ("variation", "dtv")),
    ("diameter", ("diameter", "dia")),
    ("thickness", ("thick",)),
)


_OF_A_LINING = frozenset(headings.LINING_WORDS) | frozenset(
    "lining linings garniture garnitures balata balatas remaining depth wear reading value starke dicke rest epaisseur espesor grosor".split()
)


def _of_a_lining(text: str) -> bool:
    """Whether a word for what was measured is one of linings, or nothing is written."""
    said = set(headings.tokens(text))
    return not text.strip() or bool(said & _OF_A_LINING) and not said & headings.TYRES


def measures(kind: Kind, column: str) -> pd.Series:
    """What each row measured, by a column that says so; empty where its words are none of those that are known."""
    code, texts, _ = kind.coded(column)
    return spread(code, [_measure_of(text) for text in texts.str.lower()])


def _measure_of(text: str) -> str:
    if headings.NO_READING & set(headings.tokens(text)):
        return ""
    named = [name for name, signs in _MEASURES if any(sign in text for sign in signs)]
    return named[0] if named else "thickness" if _of_a_lining(text) else ""


def readings(
    kind: Kind, column: str, role: Role, unit_column: str | None, unit: str | None, hints: dict, told: Told, place: pd.DataFrame,
    measure: str | None,
) -> pd.DataFrame:  # fmt: skip
    """Readings of a column, a row each: ``at`` (row of the kind), ``axle, side, part, measure, low, high, value, unit, written, taken, event``.

    ``value`` in ``unit``; a bound has ``low`` or ``high`` instead. ``event`` marks the rows that say that the part was replaced. What a
    row measured is said by its heading or the column ``measure``.
    """
    of_wear = _of_wear(kind, column, measure)
    marks = _of_metal(role, place) + 3 * of_wear
    named = headings.unit_of(column)
    own_header = _header_for(column, role, named)
    of_wear_header = own_header if names_wear(own_header) else f"{own_header} wear"
    rows, entry, entries = [], [], []
    for those, own in _by_unit(kind, column, unit_column, thickness_unit, None if named in THEIR_UNIT.values() else unit, told):
        hint = {"unit": THEIR_UNIT[own]} if own else {}
        hint |= {"order": _order(role)} if role.several else {}
        headers = (own_header, of_wear_header) if of_wear.any() else (own_header,)
        of_lining = [_of_axle(cells.read("pad_thickness", those.texts, header, {**hints, **hint}), those.texts, header, {**hints, **hint}, role)
                     for header in headers]  # fmt: skip
        those, of, mark = those.told_apart(marks[those.rows])
        read = []
        for text, at, wear, metal in zip(those.texts, of, *np.divmod(mark, 3), strict=True):
            if not metal:
                read.append(_settled(text, of_lining[wear][at], role, hints))
            elif wear and hints.get("wear") != "left":
                read.append(_worn_metal(hints))
            else:
                unit_said = named or (unit_column and not unit_column.endswith(ABOVE) and THEIR_UNIT.get(own))
                read.append(_gauge(text, unit_said, own, (role.kind, "diameter")[metal - 1], hints))
        told.spread(column, those.rows, those.code, those.texts, read)
        made = [_spread(text, one, role, hints) if one.taken else ([], []) for text, one in zip(those.texts, read, strict=True)]
        refused = [why for _, why in made]
        for at in _all_of([at for at, why in enumerate(refused) if why], those.code):
            for why in refused[those.code[at]]:
                told.refuse("R75-no-reading", column, [those.rows[at]], those.at([at]), why)
        cell, which = _each_entry(those.code, np.array([len(its) for its, _ in made], dtype="int64"))
        rows.append(those.rows[cell])
        entry.append(len(entries) + which)
        entries += [one for its, _ in made for one in its]
    at, entry = (np.concatenate([np.zeros(0, dtype="int64"), *each]) for each in (rows, entry))
    frame = _entries(entries).iloc[entry].reset_index(drop=True)
    frame.insert(0, "at", at)
    frame = _placed(frame, place.iloc[at].reset_index(drop=True), column, told)
    drum = frame["part"].eq("drum") & (role.kind == "thickness")  # what is measured of a drum
    return frame.assign(measure=np.where(drum, "diameter", role.kind), column=column)


def _of_axle(read: list[Reading], texts: list[str], header: str, hints: dict, role: Role) -> list[Reading]:
    """``L9 R8`` under the heading of an axle: left and right of that one."""
    those = [at for at, one in enumerate(read) if one.status == ASK and "which axle" in one.assumed]
    if not those or role.axle not in ("front", "rear") or role.side:
        return read
    again = cells.read("pad_thickness", [texts[at] for at in those], f"{role.axle} {header}", hints)
    out = list(read)
    for at, one in zip(those, again, strict=True):
        out[at] = one if one.taken else out[at]
    return out


def _each_entry(code: np.ndarray, count: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Each cell as often as its text has entries: the cell, and which of the entries of all texts; ``count`` are those of each text."""
    times = count[code]
    cell = np.repeat(np.arange(len(code)), times)
    begins = np.cumsum(times) - times
    first = np.cumsum(count) - count
    return cell, first[code][cell] + np.arange(len(cell)) - begins[cell]


def _placed(frame: pd.DataFrame, own: pd.DataFrame, column: str, told: Told) -> pd.DataFrame:
    """Readings with the place that their row names (``own``) where the heading says less; those where the two contradict are left out."""
    clash = np.zeros(len(frame), dtype=bool)
    for name in ("axle", "side"):
        clash |= (frame[name].ne("") & own[name].ne("") & frame[name].ne(own[name])).to_numpy()
        frame[name] = frame[name].where(frame[name].ne(""), own[name])
    finer = own["part"].ne("") & (frame["part"].isin(("", "pad", "shoe")) | own["part"].isin(("rotor", "drum", NO_PART)))
    frame["part"] = frame["part"].mask(finer, own["part"])
    told.refuse("R75-no-reading", column, frame["at"][clash], frame["written"][clash], "the heading and the row name two places")
    return frame[~clash].reset_index(drop=True) if clash.any() else frame


def _of_metal(role: Role, place: pd.DataFrame) -> np.ndarray:
    """For each row 0 for a lining, 1 for a rotor or drum, 2 where its diameter is meant."""
    drum = place["part"].eq("drum").to_numpy() | (role.part == "drum") | (role.kind == "diameter")
    metal = drum | place["part"].eq("rotor").to_numpy() | (role.part == "rotor" or role.kind == "runout")
    return metal.astype("int64") + drum


_ENTRY = {"axle": "str", "side": "str", "part": "str", "low": "float64", "high": "float64", "value": "float64",
          "unit": "str", "written": "str", "taken": "str", "event": "bool"}  # fmt: skip


def _of_wear(kind: Kind, column: str, measure: str | None) -> np.ndarray:
    """Which rows hold wear, by the column's heading or by the cell that says what was measured, bool, shape (rows,)."""
    if measure is None or names_wear(column):
        return np.full(len(kind.cells), names_wear(column))
    code, texts, _ = kind.coded(measure)
    return np.array([names_wear(text) and bool(_measure_of(text)) for text in texts.str.lower()], dtype=bool)[code]


def _entries(entries: list[tuple]) -> pd.DataFrame:
    """What distinct cells give, a row each."""
    columns = zip(*entries, strict=True) if entries else [()] * len(_ENTRY)
    return pd.DataFrame({name: pd.Series(its, dtype=kind) for (name, kind), its in zip(_ENTRY.items(), columns, strict=True)})


def _order(role: Role) -> list[str]:
    """The places of several readings in a cell: left and right become wheels where the axle is known."""
    codes = {"left": "L", "right": "R"}
    return [
        codes[word] + role.axle[0].upper() if word in codes and role.axle in ("front", "rear") else word for word in role.several
    ]


def _header_for(column: str, role: Role, named: str | None) -> str:
    """The heading as the cells' reader should see it: the place is known, its unit and its per cent count."""
    if role.several or not (role.axle or role.side or role.part):
        return column
    found = headings.tokens(column)
    said = [word for word in found if word in words.WORN_AWAY | words.LEFT_OVER and word != "left"]
    if named == "%":
        said += ["left"] if "left" in found and (role.side != "left" or headings.left_over(found)) else []
        return " ".join(["%", *said]) if role.axle else column
    unit = "32nds" if named == "in32" else f"({named})" if named in ("mm", "in") else ""
    return " ".join(word for word in ("pad", unit, *(said if words.WORN_AWAY & set(said) else ())) if word)


_GAUGE = re.compile(r"(\d{1,3}(?:[.,]\d{1,3})?)\s*(mm|in|\")?", re.I)


_METAL = {"thickness": {"in": (0.2, 2.2), "mm": (4.0, 60.0)}, "diameter": {"in": (5.0, 22.0), "mm": (120.0, 520.0)}}
"""What a rotor's thickness and a drum's diameter can be, in either unit: never the same number. Source: common practice, no source."""


def _gauge(text: str, unit: str | None, answered: str | None, measure: str, hints: dict) -> Reading:
    """Rotors and drums: a plain number, with its unit in the cell, the heading or its column, else by its size, else as answered."""
    found = _GAUGE.fullmatch(text.strip())
    if not found:
        return Reading(REFUSE, None, None, f"{text.strip()!r} is no plain number", "G1")
    unit = {"mm": "mm", "in": "in", '"': "in"}.get((found[2] or "").lower(), unit)
    number, assumed = float(found[1].replace(",", ".")), ""
    if unit not in OUR_UNIT:
        fits = [name for name, (low, high) in _METAL.get(measure, {}).items() if low <= number <= high]
        unit, assumed = (
            (fits[0], f"taken as {fits[0]}: no rotor or drum is so large or small otherwise") if fits else (answered, "")
        )
    if unit not in ("mm", "in"):
        return Reading(ASK, None, None, "mm or inches? no unit in the cell, the header or an answer given before", "G2", "unit")
    if "," in found[1] and hints.get("decimal") != "," and hints.get("delimiter") != ";":
        return Reading(ASK, None, None, f"{text.strip()!r}: a decimal comma, or two readings?", "G3", "decimal")
    return Reading(OK_ASSUMED if assumed else OK, number * THICKNESS_MM[unit], unit, assumed, "G4" if assumed else "G1")


def _worn_metal(hints: dict) -> Reading:
    """Rotors and drums under a heading of wear: asked, and no reading where it is what is worn away."""
    if hints.get("wear") != "worn":
        return Reading(ASK, None, None, "a header of wear: what is left, or what is worn away?", "G5", "wear")
    return Reading(REFUSE, None, None, "what is worn off a rotor or drum does not say how thick or wide it is", "G5")


def _settled(text: str, reading: Reading, role: Role, hints: dict) -> Reading:
    """A share of the lining is a reading once the shop has said how thick a new one is; a row of readings once their order is known."""
    if isinstance(reading.value, dict) and any(isinstance(its, list) for its in reading.value.values()):
        placed = _of_its_axles(reading.value, role)
        if not placed:
            return Reading(ASK, None, None, "several readings of one place: in which order?", reading.rule, "order")
        return Reading(OK_ASSUMED, placed, reading.unit, f"{', '.join(role.several)}, as was answered", reading.rule)
    if isinstance(reading.value, dict) and "share" in reading.value and not isinstance(hints.get("new_thickness_mm"), float):
        return Reading(
            ASK, None, None, "a share of a new lining: how thick is a new one, in mm?", reading.rule, "new_thickness_mm"
        )
    if isinstance(reading.value, list):
        return Reading(ASK, None, None, f"{len(reading.value)} readings: in which order?", reading.rule, "order")
    return reading


def _of_its_axles(value: dict, role: Role) -> dict:
    """The readings of ``F 8/10 R 9/9`` by wheel, where the order of the two on an axle is known to be left and right; else empty."""
    if set(role.several) != {"left", "right"} or not all(
        axle in ("front", "rear") and isinstance(its, list) and len(its) == 2 for axle, its in value.items()
    ):
        return {}
    wheel = {(axle, side): code for code, (axle, side) in WHEELS.items() if len(code) == 2}
    return {wheel[axle, side]: mm for axle, its in value.items() for side, mm in zip(role.several, its, strict=True)}


def _spread(text: str, reading: Reading, role: Role, hints: dict) -> tuple[list[tuple], list[str]]:
    """The readings in one cell, each with its place, as in `_ENTRY`; and why others in it are none."""
    value, unit = reading.value, OUR_UNIT.get(reading.unit, "mm")
    place = (role.axle, role.side, role.part)

    def one(number, at=place, taken=role.taken, low=np.nan, high=np.nan, event=False, unit=unit):
        return (*at, low, high, number, unit, text.strip(), taken, event)

    if isinstance(value, (int, float)):
        return [one(_in(value, unit))], []
    if "share" in value:
        return [one(round(value["share"] * hints["new_thickness_mm"], 6), unit="mm")], []
    if "event" in value:
        before, after = value.get("before"), value.get("after")
        out = [one(_in(before, unit))] if isinstance(before, (int, float)) else []
        out += [one(_in(after, unit), taken="after")] if isinstance(after, (int, float)) else []
        return [*out, one(np.nan, taken="", event=True)], []
    if "low" in value:
        return [one(np.nan, low=_in(value["low"], unit), high=_in(value["high"], unit))], []
    out, refused = [], []
    for key, mm in value.items():
        at = _where(key, place)
        if at is None or not isinstance(mm, (int, float)):
            refused.append(f"{key}: not a place under this heading")
        else:
            out.append(one(_in(mm, unit), at))
    return out, refused


def _in(mm, unit: str) -> float:
    return np.nan if mm is None else round(mm / THICKNESS_MM[unit], 6)


def _where(key: str, place: tuple[str, str, str]) -> tuple[str, str, str] | None:
    """The place a key of a cell's reading means under a heading's place; None where the two contradict."""
    axle, side, part = place
    if key in WHEELS:
        own = WHEELS[key]
        return (*own, part) if axle in ("", own[0]) and side in ("", own[1]) else None
    if key in ("front", "rear"):
        return (key, side, part) if axle in ("", key) else None
    if key in FACES:
        return (axle, side, FACES[key]) if part in ("", "pad", FACES[key]) else None
    return (axle, side, key) if key in ("pad", "shoe", "rotor", "drum") and part in ("", key) else None
