"""How thick the lining is: ``7/32``, ``5,5 mm``, ``<3``, ``LF5 RF6``, ``3 -> 12``, ``metal to metal``, ``30 % left``.

A cell is cut into quantities and words, each word is given one letter by what it means (``words.py``), and the row of
letters is the cell's *shape*: ``5 mm or less`` is ``#<``, ``F 5/5 R 7/7`` is ``K#/#K#/#``. A rule reads a shape.

Rules
-----
T1 dates made by a spreadsheet out of fractions. T2 nothing left (metal to metal, rivets). T3 M/M is asked. T4 words and
ratings without a number are refused. T5 no unit: ask. T6 decimal comma. T7 fractions: 32nds, 16ths and 64ths are inches;
halves, quarters and eighths need an inch mark. T8 bounds. T9 intervals. T10 about. T11 per cent. T12 several readings: the
header gives the order, else listed. T13 readings with their position. T14 replaced. T15 with the plate: ask. T16 what no
lining can be. T17 zeros and placeholders. T18 limits and last time's readings: ask; advice after a reading: flag. T19 a
condition or an unknown word beside a reading: flag. T20 letters for digits: flag. T21 inner and outer 3 mm or more apart:
flag. T22 two units for one reading. T23 a header of wear: what is left or what is worn away is asked once.
"""

import datetime
import re
from dataclasses import replace

from brakedata.cells import text as t
from brakedata.cells import words
from brakedata.cells.lining_places import completed, is_own, key_notes, labels_by_run, labels_of, name_of
from brakedata.cells.lining_tokens import HOW_FAR_OR_WHEN, MM, Known, Label, Numbers, Stop, Token, simplified, tokens_of
from brakedata.cells.position import country_codes, driver_side, short_words, traffic_side
from brakedata.cells.reading import FLAG, OK_ASSUMED, Reading, ask, assumed, flag, lower_to, ok, refuse
from brakedata.units import MM_PER_IN

THICKEST_LINING_MM = 25.0
"""Above this it is a rotor or a drum (heavy air-disc pads are 23 mm new; common practice, no source)."""
ROTOR_MM, ROTOR_TO_LINING = 18.0, 2.5
"""As thick as a rotor, and so many times the thickest other number of the column: no lining, however few the others (common
practice, no source)."""
THIN_MM = 0.5
"""Below this a number without a unit of its own may as well be inches (common practice, no source)."""
PLAUSIBLE_MM = {"pad": (0, 25), "shoe": (0, 25), "rotor": (6, 50), "drum": (150, 450)}
INNER_OUTER_APART_MM = 3.0
_ROUNDING_MM = 1e-6

_WRITTEN_UNIT = {"cm": "mm", "thou": "in", "um": "mm"}


def read_column(texts: list[str], header: str, hints: dict) -> list[Reading]:
    """Read a column of lining thicknesses, in mm.

    Parameters
    ----------
    texts : list of str, shape (cells,)
    header : str
    hints : dict
        ``unit``, ``country``, ``decimal``, ``delimiter``, ``driver_side``, ``traffic_side``, ``new_thickness_mm``, ``words``,
        ``percent``, ``wear``, ``order``, ``cell_type``.

    Returns
    -------
    list of Reading, shape (cells,)
    """
    known = _known(texts, header, hints)
    meanings = t.shop_words(hints)

    quick = not meanings and known.unit in ("mm", "in32") and not known.bare and len(known.labels) < 2

    def rule(text: str) -> Reading:
        if quick and _ORDINARY.fullmatch(text):
            return _try_single(text, known)
        return t.read_one(text, meanings, lambda clear: read_clear(clear, known))

    def rule_of_wear(text: str) -> Reading:
        reading = rule(text)
        said = t.meaning_of(text, meanings) is not None
        if reading.rule == "T17" and reading.question and hints.get("wear") == "worn" and not known.only_zeros:
            reading = ok(0.0, known.unit, "T17")  # nothing worn away, and no lining worn to nothing
        return reading if said else _under_wear(reading, text, hints.get("wear"), known.new_mm)

    readings = t.each_once(texts, rule_of_wear if names_wear(header) else rule)
    other = _header_of_another_measure(header, known)
    if other is None and _with_plate(header):
        return [_less_the_plate(reading) for reading in readings]
    return [other if other and reading.value is not None else reading for reading in readings]


_PLATE_IN_HEADER = re.compile(r"\b(?:backing|trager(?:platte)?|drager)\b|\bplates?\b")


def _with_plate(header: str) -> bool:
    """Whether a header says that the plate is measured too."""
    head = t.fold(t.tidy(header))[: t.LONGEST_CELL]
    return bool(_PLATE_IN_HEADER.search(head)) and "withplate" in simplified(head)


def _less_the_plate(reading: Reading) -> Reading:
    """Rule T15 for a whole column: what was measured with the plate is asked; shares, changes and nothing left are not measured so."""
    if reading.value is None or reading.rule in ("T2", "T11") or isinstance(reading.value, dict) and "event" in reading.value:
        return reading
    return ask("the header says with the plate: how thick is what does not wear?", "words", "T15")


_ORDINARY = re.compile(r"\d{1,2}(?:\.\d{1,3})?")


def _try_single(text: str, known: Known) -> Reading:
    """The quick way for a bare number."""
    try:
        return _single(text, Token("#", text, float(text)), known, [])
    except Stop as stop:
        return stop.reading


_POSITION_OR_ONE = re.compile(r"(?<![A-Za-z])[lLIO][1-9]")
"""l5, I5, O6: a position before its number as much as a one or a nought."""


def read_clear(clear: str, known: Known) -> Reading:
    """Read one tidy, non-empty text."""
    inside = t.unwrapped(clear)
    if inside != clear:
        reading = read_clear(inside, known)
        return (
            lower_to(reading, FLAG, "in brackets", "T19") if reading.value is not None and _PLAIN.fullmatch(inside) else reading
        )
    reading = _try(clear, known)
    unclear = reading.rule == "T19" or (reading.value is None and reading.rule in ("T4", "T5", "T13"))
    mended = t.letters_to_digits(clear) if unclear and not _POSITION_OR_ONE.search(clear) else None
    if mended:
        second = _try(mended, known)
        if second.value is not None and second.rule != "T19":
            return lower_to(second, FLAG, f"{clear!r} read as {mended!r}: letters for digits", "T20")
    return reading


def _try(clear: str, known: Known) -> Reading:
    try:
        return _read(clear, known)
    except Stop as stop:
        return stop.reading


# --- what header, column and hints say --------------------------------------------------------------------------------

_HEADER_32 = re.compile(r"32 ?nds?|/ ?32|in32|32ths|thirty.?seconds")
_HEADER_MM = re.compile(r"(?<!o)mm(?![a-z])|millim")
_HEADER_IN = re.compile(
    r"inch|(?<=[a-z]) in\.?$|\bmm ?(?:/|,|or|&|and) ?in\b|\bin ?(?:/|,|or|&|and) ?mm\b|[(\[] ?in\.? ?[)\]]|\"|"
    r"th(?:ic)?k(?:ness)?[ _,]+in\b(?! ?[(\[]?(?:mm|millim|1?/?32|inch))|, ?in\.?$|zoll|pouce|pulgada"
)
_HEADER_TENTHS = re.compile(r"x ?10\b|\b1/10\b|\b0[.,]1 ?mm|\btenths?\b")
_PLAIN = re.compile(r"\d+(?:\.\d+)?")
_IN_MM = re.compile(r"(?i)(\d+(?:\.\d+)?) ?(?:mm)?")
_IN_MM_COMMA = re.compile(r"(?i)(\d+(?:[.,]\d+)?) ?(?:mm)?")
_COMMA_NUMBER = re.compile(r"\d{1,2},\d{1,2}")


def _known(texts: list[str], header: str, hints: dict) -> Known:
    clear = t.distinct(texts)
    head = t.fold(t.tidy(header))[: t.LONGEST_CELL]
    unit, clash = _unit(head, hints.get("unit"))
    percent = _percent(head, hints.get("percent"))
    comma = _comma(clear, hints)
    found = [m for c in clear if len(c) < 12 and (m := (_IN_MM_COMMA if comma else _IN_MM).fullmatch(c))]
    filled = [c for c in clear if c.strip("-")]
    new_mm = hints.get("new_thickness_mm")
    known = Known(
        unit=unit,
        clash=clash,
        percent=percent,
        bare=_bare(head, clear, unit) if percent and (hints.get("percent") or _IN_PERCENT.search(head)) else "",
        comma=comma,
        new_mm=float(new_mm) if isinstance(new_mm, (int, float)) else None,
        numbers=Numbers.of({float(m[1].replace(",", ".")) for m in found}),
        only_zeros=all(_PLAIN.fullmatch(c) and float(c) == 0 for c in filled),
        pairs=any((m := _PAIR.fullmatch(c)) and (int(m[1]) >= int(m[2]) or int(m[2]) not in (2, 4, 8, 16, 32)) for c in clear),
        other_unit=_in_another_unit(texts, unit, hints.get("unit")),
        shares=any(re.fullmatch(r"0?\.\d*[1-9]\d*", c) for c in clear),
        driver=driver_side(hints)[0],
        nearside=traffic_side(hints),
        codes=_codes(clear, header, str(hints.get("country") or "")),
    )
    return _with_labels(known, head, hints.get("order"))


def _codes(texts: list[str], header: str, country: str) -> tuple[tuple[str, str], ...]:
    """Position words of the country's or the texts' language."""
    out: dict[str, str] = {}
    for language in reversed(short_words(texts, header, country)):
        out |= {word: its for word, its in language.meanings.items() if len(word) > 1 or language.letters}
    found = {word for text in texts for word in re.findall(r"[a-z]+", t.fold(text))}
    for front, rear in words.CODE_PAIRS:
        if front.keys() | rear.keys() <= found:
            out |= front | rear
    if len(words.CODES_OF_ANY_COUNTRY.keys() & found) > 1:
        out |= words.CODES_OF_ANY_COUNTRY
    return tuple((out | country_codes(country)).items())


_PAIR = re.compile(r"(\d{1,2}) ?/ ?(\d{1,2})")


def _in_another_unit(texts: list[str], unit: str | None, answered: str | None) -> bool:
    """Whether as many cells, and more than one, are written in the unit that is not the header's as have none of their own."""
    other = {"mm": _WITH_32, "in32": _WITH_MM}.get(unit or "")
    if other is None or answered == unit:
        return False
    marked = sum(bool(other.fullmatch(text.strip().lower())) for text in texts if len(text) < 12)
    return marked > 1 and marked >= sum(bool(_ORDINARY.fullmatch(text.strip())) for text in texts)


_WITH_32 = re.compile(r"\d{1,2} ?/ ?32(?: ?nds?)?\"?")
_WITH_MM = re.compile(r"\d{1,2}(?:\.\d)? ?mm")


def _unit(head: str, hint: str | None) -> tuple[str | None, str]:
    in32 = bool(_HEADER_32.search(head))
    found = {"in32"} if in32 else {"in"} if _HEADER_IN.search(head) else set()
    if _HEADER_MM.search(head):
        found.add("mm")
    if len(found) > 1:
        return None, "the header names two units"
    if _HEADER_TENTHS.search(head):
        return None, "the header speaks of tenths"
    unit = next(iter(found), None)
    hint = hint if hint in ("mm", "in", "in32") else None
    if unit and hint and unit != hint:
        return None, f"the header says {unit}, the answer given before says {hint}"
    return unit or hint, ""


_OF_LININGS = frozenset("brakes friction".split())
_NO_LININGS = frozenset(
    "scheibe scheiben tyre tyres tire tires tread runout stroke torque diameter dia reifen profil profiltiefe profieldiepte pneu pneus "
    "neumatico neumaticos gomme".split()
)
_NO_READINGS = frozenset(
    "limit limits discard spec specs specification legal allowed allowable permitted target qty quantity count previous prev mindestdicke "
    "mindestmass grenzwert verschleissgrenze limite".split()
)


def _header_of_another_measure(header: str, known: Known) -> Reading | None:
    """Rule T16 for a whole column: its header names a rotor, a tyre, a limit ...; None for a column of readings of linings."""
    names = _names(header)
    if names & _NO_READINGS:
        return flag(None, None, f"the header {header.strip()!r} names no reading of this visit; not taken", "T16")
    if names & words.NEW_WORDS and _unit(t.fold(t.tidy(header)), None)[0]:
        return ask(f"the header {header.strip()!r}: what a new lining has, or what was measured?", "words", "T16")
    parts = {words.PARTS[name] for name in names & words.PARTS.keys()}
    if (names & _NO_LININGS or parts & {"rotor", "drum"}) and not (names & _OF_LININGS or parts & {"pad", "shoe"}):
        return flag(None, None, f"the header {header.strip()!r} names something else than a lining; not taken", "T16")
    return None


def _names(text: str) -> set[str]:
    """Words of a header or cell; ``left`` beside an axle is a side."""
    low = t.fold(t.tidy(text))[: t.LONGEST_CELL]
    return set(re.findall(r"[a-z]+", re.sub(r"\b(front|rear)[\s_]+left\b|\bleft[\s_]+(?=(?:front|rear)\b)", r"\1 ", low)))


def names_wear(header: str) -> bool:
    """Whether a header speaks of wear, so that its numbers may be what is worn away; ``left`` beside it is more likely a side."""
    names = _names(header)
    return bool(names & words.WORN_AWAY) and not names & words.LEFT_OVER - {"left"}


def _under_wear(reading: Reading, text: str, wear: str | None, new_mm: float | None) -> Reading:
    """Rule T23: under a header of wear, what is worn away is taken off a new lining; what it is, is asked once.

    Shares of the lining and ``metal to metal`` say themselves what they are.
    """
    value = reading.value
    if value is None or wear == "left" or reading.rule == "T2" or isinstance(value, dict) and "share" in value:
        return reading
    if wear != "worn":
        return ask("a header of wear: what is left, or what is worn away?", "wear", "T23")
    if _names(text) & words.LEFT_OVER or isinstance(value, dict) and "event" in value:
        return ask(f"{text.strip()!r}: left, or worn away?", "words", "T23")
    if new_mm is None:
        return ask("worn away from what: how thick is a new lining, in mm?", "new_thickness_mm", "T23")
    left = _taken_off(new_mm, value)
    if left is None:
        return flag(None, None, f"{text.strip()!r}: more worn away than a new lining of {new_mm:g} mm has; not taken", "T23")
    if value == 0:
        return flag(left, reading.unit, "nothing worn away yet, or the form's default", "T17")
    return lower_to(replace(reading, value=left), OK_ASSUMED, f"a new lining of {new_mm:g} mm less what is worn away", "T23")


def _taken_off(new_mm: float, worn):
    """What is left where so much is worn away, of any form of value; None where that is less than nothing."""
    if isinstance(worn, list):
        left = [_taken_off(new_mm, one) for one in worn]
        return None if None in left else left
    if isinstance(worn, dict) and "low" not in worn:
        left = {place: _taken_off(new_mm, one) for place, one in worn.items()}
        return None if None in left.values() else left
    if isinstance(worn, dict):
        least, most = worn["high"], worn["low"]
        low, high = (None if one is None else round(new_mm - one, 6) for one in (least, most))
        return None if high is not None and high < 0 else {"low": None if low is None else max(low, 0.0), "high": high}
    return round(new_mm - worn, 6) if worn <= new_mm + _ROUNDING_MM else None


_IN_PERCENT = re.compile(r"%|percent|\bpct\b|prozent")


_LEFT_SIDE = re.compile(
    r"^left\b|(?<!life )(?<!lining )(?<!material )\bleft[\s_-]+(?:side|hand|wheel|pads?|shoes?|brakes?|inner|outer|%|percent|pct)"
)
"""A header in which left is a side, or may be one: before the part, or at the beginning."""


def _percent(head: str, answered: str | None) -> str | None:
    if not _IN_PERCENT.search(head):
        says_left = _names(head) & words.LEFT_OVER - {"left"} and not _names(head) & words.WORN_AWAY
        return answered if answered in ("left", "worn") else "left" if says_left else None
    if answered in ("left", "worn"):
        return answered
    names = _names(head)
    by_side = bool(_LEFT_SIDE.search(head)) or bool(names & words.WORN_AWAY - words.USED_UP)
    left_over = words.LEFT_OVER - {"left"} if by_side else words.LEFT_OVER
    left, worn = bool(names & left_over), bool(names & words.USED_UP)
    return "left" if left and not worn else "worn" if worn and not left else "unclear"


def _bare(head: str, clear: list[str], unit: str | None) -> str:
    """What a number alone is where per cent are known of (rule T11): per cent by its header, or by the cells beside it."""
    if _IN_PERCENT.search(head):
        return "%"
    if not any("%" in cell for cell in clear) or _unit(head, None)[0]:
        return ""
    return "?" if unit else "%"


def _comma(clear: list[str], hints: dict) -> str | None:
    mark = t.decimal_mark(hints)
    if mark == ",":
        return "as usual in this file"
    if mark == ".":
        return None
    commas = [c for c in clear if _COMMA_NUMBER.fullmatch(c)]
    points = any(re.fullmatch(r"\d+\.\d+", c) for c in clear)
    shows = any(c.endswith(",0") or len(c.split(",")[1]) == 2 for c in commas)
    return "as the column's other cells show" if len(commas) >= 3 and shows and not points else None


_SIDES_OR_FACES = re.compile(
    r"(?:l|left|lh) ?[/,&-] ?(?:r|right|rh)|(?:r|right|rh) ?[/,&-] ?(?:l|left|lh)|inner ?[/,&-] ?outer|outer ?[/,&-] ?inner"
)
"""What a header says in brackets about the order of two readings."""


def _with_labels(known: Known, head: str, order) -> Known:
    head = re.sub(r"\b(?:disc|disk|drum)s? (?=pads?|shoes?|brakes?|linings?)", "", head)
    head = re.sub(r"\b(shoe|pad)s? linings?\b", r"\1", head)
    head = re.sub(r"\bin (?=[(\[]?(?:mm|millim|1?/?32|inch))", " ", head)
    head = re.sub(r"[(\[](.*?)[)\]]", lambda m: f" {m[1]} " if _SIDES_OR_FACES.fullmatch(m[1].strip()) else " ", head)
    bare = re.sub(r"in (?=mm|32)|1?/ ?32\"?|in32|32nds?|\bmm\b|_", " ", head)
    if isinstance(order, (list, tuple)):
        bare = " ".join(str(name) for name in order).lower()
    try:
        labels = labels_of([tok for tok in tokens_of(bare, known) if tok.kind in "K,&"], known)
    except Stop as stop:
        return replace(known, unsettled=stop.reading if stop.reading.question != "words" else None)
    if len(labels) == 1:
        return replace(known, axle=labels[0].axle, side=labels[0].side, face=labels[0].face)
    axles, sides = {lab.axle for lab in labels}, {lab.side for lab in labels}
    same_axle = next(iter(axles)) if len(axles) == 1 else None
    same_side = next(iter(sides)) if len(sides) == 1 else None
    return replace(known, labels=tuple(labels), axle=same_axle, side=same_side)


# --- T1 dates made by a spreadsheet -----------------------------------------------------------------------------------

_DAY_NUMBERS = {
    (datetime.date(year, month, 1) - datetime.date(1899, 12, 30)).days: month for year in (1932, 2032) for month in range(1, 13)
}


def _eaten_fraction(low: str) -> Reading | None:
    """Rule T1: a fraction turned into a date. 7/32 becomes July 1932 or 2032; 3/16 becomes the 16th of March of any year."""
    found = re.fullmatch(r"(\d{1,2})?[- ]?([a-z]{3,9})\.?[- ](\d{2}|\d{4})", low)
    if found and _month(found[2]):
        day, month, year = found[1], _month(found[2]), int(found[3]) % 100
        return _from_date(int(day) if day else None, month, year)
    found = re.fullmatch(r"(\d{2}|\d{4})-([a-z]{3,9})", low) or re.fullmatch(r"(\d{1,2})[-. ]{1,2}([a-z]{3,9})\.?", low)
    if found and _month(found[2]):
        number, month = int(found[1]), _month(found[2])
        return _from_date(None, month, number % 100) if number > 31 else _from_date(number, month, None)
    found = re.fullmatch(r"([a-z]{3,9})[-. ]{1,2}(\d)", low)
    if found and _month(found[1]):
        return _from_date(int(found[2]), _month(found[1]), None)
    found = re.fullmatch(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[t ]\d{1,2}:\d{2}(?::\d{2})?(?:\.\d+)?)?", low)
    if found:
        return _from_date(int(found[3]), int(found[2]), int(found[1]) % 100)
    found = re.fullmatch(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})(?: \d{1,2}:\d{2}(?::\d{2})?(?: ?[ap]m)?)?", low)
    if found and (len(found[4]) == 4 or int(found[4]) > 12):
        first, second, year = int(found[1]), int(found[3]), int(found[4]) % 100
        if 1 in (first, second):
            return _from_date(1, second if first == 1 else first, year)
        if 16 in (first, second):
            return _from_date(16, second if first == 16 else first, None)
        return _from_date(first, second, year)
    if re.fullmatch(r"\d{5}(?:\.0+)?", low) and int(low[:5]) in _DAY_NUMBERS:
        return _eaten(_DAY_NUMBERS[int(low[:5])], 32)
    return None


def _month(word: str) -> int | None:
    """Number of a month by name; not of names that are words here too."""
    return None if word in ("out", "set", "ago") else words.MONTHS.get(word)


def _from_date(day: int | None, month: int, year: int | None) -> Reading:
    if year in (32, 64) and day in (None, 1) and 1 <= month <= 12:
        return _eaten(month, year)
    if day == 16 and 1 <= month <= 12:
        return _eaten(month, 16)
    return ask("a fraction or two readings turned into a date by the spreadsheet: which?", "words", "T1")


def _eaten(month: int, denominator: int) -> Reading:
    unit = "in32" if denominator == 32 else "in"
    value = month * MM_PER_IN / denominator
    return flag(value, unit, f"{month}/{denominator} in, turned into a date by the spreadsheet", "T1")


# --- T2 nothing left --------------------------------------------------------------------------------------------------

_METAL = r"(?:metal+|mtl|met|steel|iron|eisen|fer)"
_LINING = r"(?:pads?|linings?|shoes?|(?:friction|pad|brake)? ?material|friction|meat|belag)"
_NOTHING_LEFT = re.compile(
    rf"{_METAL}[ -]*(?:to|on|2|/|vs|auf|sur|-)[ -]*{_METAL}|\bm[ -]?2[ -]?m\b|\bm[ -]to[ -]m\b|\bbare (?:metal|steel)\b"
    rf"|(?:down |worn |gone |ground |hitting |right )*\b(?:to|on|onto|into|in|at|hitting)(?: the)?(?: bare)? "
    rf"(?:backing(?: ?plates?)?|back plates?|plates?|{_METAL}|rivets?(?: heads?)?)\b"
    rf"|\brivets?(?: heads?)? (?:showing|exposed|visible|touching)|\bbacking ?plates? (?:showing|touching|exposed)"
    rf"|^{_LINING} (?:all |completely |totally )?gone$"
    rf"|\b(?:no|zero) {_LINING}(?: at all)?(?: (?:left|remaining))?\b|\b(?:nothing|none|zero) (?:left|remaining)\b"
)


def _nothing_left(clear: str) -> Reading | None:
    """Rule T2: at or past the end of the lining, a bound at 0; beside other words only listed."""
    low = t.fold(clear)
    found = _NOTHING_LEFT.search(low)
    if not found:
        return None
    rest = re.findall(r"[a-z]+|\d[\d./]*", low[: found.start()] + " " + low[found.end() :])
    rest = [
        w for w in rest if w not in words.THICKNESS_FILLER and w not in ("front", "rear", "both", "all", "down", "right", "now")
    ]
    if any(
        w in words.OTHER_PURPOSE | words.ABOUT | words.REPLACED | words.AFTER or (w[0].isdigit() and w.strip("0.")) for w in rest
    ):
        return ask(f"{clear!r}: nothing left, or not yet?", "words", "T2") if not any(w[0].isdigit() for w in rest) else None
    value = {"low": None, "high": 0}
    if [w for w in rest if not w[0].isdigit()]:
        return flag(value, None, "nothing left, with more in the cell", "T2")
    return ok(value, None, "T2")


# --- the rules --------------------------------------------------------------------------------------------------------


_COUNT = re.compile(
    r"(?:\d{1,2} ?(?:new |x )?(?:pads|shoes|linings|belage|plaquettes|pastillas)|1 ?(?:pad|shoe))(?: left| remaining| worn)?"
)
_CLOCK = re.compile(r"\d{1,2}:[0-5]\d(?::[0-5]\d)?(?: ?[ap]m)?")
_LIMIT_BESIDE = re.compile(r"(?<=[\dm]) ?[,;(] ?(?:limit|discard|spec)(?: at)?[:=]? ?\d{1,2}(?:[.,]\d)? ?(?:mm)?\)?$")


def _read(clear: str, known: Known) -> Reading:
    low = t.fold(clear).strip()
    early = _eaten_fraction(low) or _nothing_left(clear) or _half(low)
    if early:
        return early
    if re.fullmatch(r"m ?[/.-] ?m", low):
        return ask("M/M: metal to metal, or mm with its number missing?", "words", "T3")
    if _COUNT.fullmatch(low):
        return ask(f"{clear!r}: how many, or how thick?", "words", "T12")
    if _CLOCK.fullmatch(low):
        return ask(f"{clear!r}: a time of day, or readings?", "words", "T4")
    if re.search(r"\d'\d|^\d+ ,\d+(?: ?mm)?$|\d\s*\.\s*\.\s*\d|,\s*,|\d\. +\d", low):
        return ask(f"{clear!r} is no number as usually written", "words", "T6")
    without = _LIMIT_BESIDE.sub("", HOW_FAR_OR_WHEN.sub("", low))
    tokens = tokens_of(simplified(without), known)
    if known.bare and any(tok.kind == "#" and tok.unit is None for tok in tokens):
        if known.bare == "?":
            raise Stop(ask(f"{clear!r} among per cent: per cent too, or a reading?", "words", "T11"))
        tokens = [replace(tok, kind="%") if tok.kind == "#" and tok.unit is None else tok for tok in tokens]
    doubts = _doubts(tokens)
    unknown = any(tok.kind in "u?" for tok in tokens)
    tokens = _without_asides(tokens)
    shape = "".join(tok.kind for tok in tokens)
    reading = _by_shape(clear, shape, tokens, known, unknown)
    if reading.value is not None and doubts:
        return lower_to(reading, FLAG, "; ".join(doubts), "T19")
    return reading


def _doubts(tokens: list[Token]) -> list[str]:
    return [f"the cell also says {tok.text!r}" for tok in tokens if tok.kind in "xu?"]


def _without_asides(tokens: list[Token]) -> list[Token]:
    """Without conditions, unknown words, distances and brackets that hold no quantity."""
    kept = [tok for i, tok in enumerate(tokens) if not _loose_dash(tok, tokens[i + 1 : i + 2])]
    kept = [tok for tok in kept if tok.kind not in "xud@?."]
    shape = "".join(tok.kind for tok in kept)
    if not re.search(r"\([^)]*[#%]", shape):
        kept = [tok for tok in kept if tok.kind not in "()"]
    while kept and kept[-1].kind == ",":
        kept.pop()
    while kept and kept[0].kind == ",":
        kept.pop(0)
    return kept


def _loose_dash(tok: Token, following: list[Token]) -> bool:
    """Whether a dash only leads over to words."""
    return tok.text == "-" and bool(following) and following[0].kind in "xu.vl(a"


_HALF = re.compile(
    r"(?:about |approx\.? |~ ?)?(?:a )?(?:half|1/2)(?: (?:of )?(?:a |the )?(?:pads?|linings?|life))?"
    r"(?: (?:left|worn|remaining|gone|used|life|life left))?"
)
_PART_OF_PAD = re.compile(r"(\d)/(\d)(?: of)?(?: the| a)? ?(pads?|linings?)?(?: (left|remaining|worn|gone|used))?")


def _half(low: str) -> Reading | None:
    """Rule T11 for shares written as fractions: half left is half worn; a third is no inch mark."""
    if _HALF.fullmatch(low) and not re.fullmatch(r"1/2(?: left| remaining)?", low):
        return flag({"share": 0.5}, None, "half of the lining", "T11")
    found = _PART_OF_PAD.fullmatch(low)
    if not found or not 0 < int(found[1]) < int(found[2]):
        return None
    share = int(found[1]) / int(found[2])
    if found[4] in ("worn", "gone", "used"):
        return flag({"share": 1 - share}, None, f"{low!r} taken as a share of the lining worn away", "T11")
    if found[4] and (found[3] or found[2] == "3"):
        return flag({"share": share}, None, f"{low!r} taken as a share of the lining left", "T11")
    return None


def _by_shape(clear: str, shape: str, tokens: list[Token], known: Known, unknown: bool) -> Reading:
    has_number = "#" in shape
    if "v" in shape and re.fullmatch(r"[^v]*#[^v#]*v[vn]*", shape) and "%" not in shape:
        sure = shape[: shape.index("v")]
        reading = _by_shape(clear, sure, tokens[: len(sure)], known, unknown)
        return lower_to(reading, FLAG, "with advice beside it", "T18") if reading.value is not None else reading
    shape = shape.replace("v", "z")
    if "z" in shape and not has_number:
        return refuse(f"{clear!r} is advice or a plan, not a reading", "T18")
    if "z" in shape:
        return ask(f"{clear!r}: a reading, a limit, advice or an earlier reading?", "words", "T18")
    if "P" in shape or "V" in shape:
        return ask("measured with the steel plate, or from the rivets: how thick is what does not wear?", "words", "T15")
    if any(tok.unit == "other" for tok in tokens):
        return refuse(f"{clear!r}: a number of something else than a lining", "T16")
    if any(tok.unit == "clash" for tok in tokens):
        return ask(f"{clear!r} names two units for one number", "words", "T22")
    shape = _arrow_up(shape, tokens, known)
    if re.search("[→nba]", shape):
        return _replaced(clear, shape, tokens, known, unknown)
    if "%" in shape:
        return _per_cent(clear, shape, tokens, known)
    if not has_number:
        return refuse(f"{clear!r} has no number and is not a word with a known bound", "T4")
    if "X" in shape:
        return ask(f"{clear!r}: a count times a reading, or two readings?", "words", "T12")
    if "w" in shape:
        return ask(f"{clear!r}: left, or worn away?", "words", "T11")
    if "B" in shape:
        return _everywhere(clear, shape, tokens, known)
    if "K" in shape:
        return _with_positions(clear, shape, tokens, known)
    return _numbers(clear, shape, tokens, known)


_PRIVATE_GUESSES = ("pair?", "points between readings", "against the header")


def _numbers(clear: str, shape: str, tokens: list[Token], known: Known) -> Reading:
    """Cells of quantities and signs only."""
    plain = shape.replace("l", "")
    notes = [tok.guess for tok in tokens if tok.guess and tok.guess not in _PRIVATE_GUESSES]
    if "~" in plain:
        notes.append("estimated by eye: a larger error")
        plain = plain.replace("~", "")
    quantities = [tok for tok in tokens if tok.kind == "#"]
    if plain == "-#" and quantities[0].number == 1 and quantities[0].unit is None:
        return refuse(f"{clear!r} is a placeholder", "T17")
    if plain == "-#":
        return lower_to(_single(clear, quantities[0], known, notes), FLAG, "a minus sign in front", "T19")
    if plain == "#":
        return _single(clear, quantities[0], known, notes)
    if plain in ("<#", "#≤", ">#", "#≥"):
        return _bound(clear, plain in ("<#", "#≤"), quantities[0], known, notes)
    if plain == "#±#":
        middle, give = _measured(quantities, known)
        return _say({"low": middle[0] - give[0], "high": middle[0] + give[0]}, middle[1], notes, "T9")
    if plain == "#-#":
        return _interval(clear, quantities, known, notes)
    if plain in ("#(#)", "#-(#)"):
        return _twice(clear, quantities, known)
    if re.fullmatch(r"#(?:[/,&-]*#)+", plain):
        return _several(clear, plain, quantities, known, notes)
    return ask(f"{clear!r} cannot be read: what does it mean?", "words", "T19")


def _say(value, unit, notes: list[str], rule: str) -> Reading:
    notes = list(dict.fromkeys(n for n in notes if n))
    return assumed(value, unit, "; ".join(notes), rule) if notes else ok(value, unit, rule)


def _need_unit(known: Known) -> Reading:
    why = known.clash or "no unit in the cell, the header or an answer given before"
    return ask(f"mm, inches or 32nds? {why}", "unit", "T5")


def _measured(quantities: list[Token], known: Known) -> list[tuple[float, str]]:
    """Each quantity in mm and its unit; a unit written once holds for the numbers beside it."""
    given = {q.unit for q in quantities if q.unit}
    shared = next(iter(given)) if len(given) == 1 else None
    if len(given) > 1 and any(q.unit is None for q in quantities):
        raise Stop(ask("two units in one cell, and a number without", "unit", "T22"))
    out = []
    for q in quantities:
        if q.guess == "pair?":
            raise Stop(ask(f"{q.text}: a fraction of an inch, or two readings?", "unit", "T7"))
        unit = q.unit or shared or known.unit
        if unit == "fraction" and known.unit != "in32":
            raise Stop(ask("a number with th or nd: 32nds, or a place in a row?", "unit", "T5"))
        unit = "in32" if unit == "fraction" else unit
        if unit == "unclear" and known.unit != "mm":
            raise Stop(ask("the unit is not clear: mm, or thousandths of an inch?", "unit", "T5"))
        if unit is None:
            raise Stop(_need_unit(known))
        if q.comma and q.unit is None and shared is None and known.comma is None:
            raise Stop(ask(f"{q.text!r}: a decimal comma, or two readings?", "decimal", "T6"))
        if q.guess == "points between readings" and not known.labels:
            raise Stop(ask(f"{q.text!r}: several readings with points between; in which order?", "order", "T12"))
        out.append((q.number * MM.get(unit, 1.0), _WRITTEN_UNIT.get(unit, unit)))
    return out


def _notes_of(quantities: list[Token], known: Known) -> list[str]:
    notes = []
    for q in quantities:
        if q.comma and q.unit is None and known.comma:
            notes.append(f"decimal comma, {known.comma}")
        if q.unit in ("in", "in32") and known.unit == "mm" and '"' not in q.text:
            notes.append("the cell's own unit was used, not the header's")
    return notes


def _single(clear: str, q: Token, known: Known, notes: list[str]) -> Reading:
    """One number: rules T5, T6, T16, T17."""
    if q.unit is None and q.text.replace(".", "") and set(q.text.replace(".", "").replace(",", "")) == {"9"} and q.number >= 99:
        return refuse(f"{clear!r} is a placeholder", "T17")
    if q.number == 0 and (q.unit is None):
        why = "every other cell is empty or 0" if known.only_zeros else "the form's default, or nothing left?"
        return ask(f"0: the form's default, or metal to metal? {why}", "words", "T17")
    if q.unit == "unclear" and re.search(r"\bmils?\b", clear.lower()):
        return ask("mil: mm in talk, thousandths of an inch by the book", "unit", "T5")
    if q.unit in ("thou", "um") and q.number < 10:
        return ask(f"{clear!r}: in that unit no lining at all; in which was it meant?", "unit", "T5")
    value, unit = _measured([q], known)[0]
    wrong = _implausible(q, value, unit, known)
    if wrong:
        return wrong
    reading = _say(value, "mm" if unit == "unclear" else unit, notes + _notes_of([q], known), "T5")
    if q.guess == "against the header":
        return lower_to(reading, FLAG, f"{q.text} taken as inches under a header of mm", "T7")
    if len(known.labels) > 1:
        return lower_to(reading, FLAG, f"one reading under a header of {len(known.labels)} positions", "T12")
    if (q.unit is None or known.unit in ("in", "in32")) and unit == "mm" and 0 < value < THIN_MM:
        return lower_to(reading, FLAG, "very thin for mm: inches?", "T16")
    if unit == "unclear":
        return lower_to(reading, FLAG, "m taken as mm", "T5")
    if q.unit is None and known.other_unit:
        return lower_to(reading, FLAG, "the unit is the header's, but the column's other cells are written in another one", "T22")
    if q.number == 0:
        return lower_to(reading, FLAG, "nothing left, or a default", "T17")
    return reading


def _implausible(q: Token, value: float, unit: str, known: Known) -> Reading | None:
    """Rule T16: what no lining can be, or what beside the column's other numbers looks like another unit."""
    if value > THICKEST_LINING_MM + 1e-9:
        if q.unit is None and (unit != "mm" or (q.number.is_integer() and q.number < 100 and "." not in q.text)):
            return ask(
                f"no lining is {value:.1f} mm: decimal point lost, two readings, per cent or another unit?", "words", "T16"
            )
        what = "a drum diameter" if value >= PLAUSIBLE_MM["drum"][0] else "a rotor"
        return flag(None, None, f"{value:.1f} mm is too thick for a lining: looks like {what}; not taken", "T16")
    if unit == "in32" and q.unit is None and (0 < q.number < 1 or 4 * q.number % 1):
        return ask(f"{q.text} where 32nds are written: inches, mm, or 32nds?", "unit", "T16")
    if q.unit in (None, "mm") and unit == "mm" and known.numbers and (value < 1 or value > 15):
        others, smallest, largest = known.numbers.beside(q.number)
        if q.unit is None and 0 < value < 1 and others >= 2 and smallest >= 2:
            return ask(f"{q.text}: inches or a slipped decimal? the column's other numbers run from {smallest:g}", "words", "T16")
        alone_among_linings = largest >= 1 and value >= ROTOR_MM and value >= ROTOR_TO_LINING * largest
        if q.unit == "mm":  # a number with its own unit is believed longer
            rotor = others >= 3 and alone_among_linings
        else:
            rotor = value > 15 and (others >= 3 and largest <= 12.5 or others >= 1 and alone_among_linings)
        if rotor:
            return flag(None, None, f"{value:g} mm beside at most {largest:g} elsewhere: looks like a rotor; not taken", "T16")
    return None


def _bound(clear: str, under: bool, q: Token, known: Known, notes: list[str]) -> Reading:
    """Rule T8."""
    value, unit = _measured([q], known)[0]
    if value > THICKEST_LINING_MM:
        return flag(None, None, f"{clear!r}: no lining is that thick; not taken", "T16")
    if value == 0 and not under:
        return ask(f"{clear!r}: more than nothing says nothing", "words", "T8")
    return _say(
        {"low": None, "high": value} if under else {"low": value, "high": None}, unit, _notes_of([q], known) + notes, "T8"
    )


def _interval(clear: str, quantities: list[Token], known: Known, notes: list[str]) -> Reading:
    """Rule T9: both ends kept; falling or equal numbers are two readings, a wide gap may be a replacement."""
    first, second = quantities
    if second.unit == "in32" and first.unit is None and second.text.endswith("/32"):
        first = replace(first, unit="in32")
    (low, unit), (high, _) = _measured([first, second], known)
    if max(low, high) > THICKEST_LINING_MM:
        return flag(None, None, f"{clear!r}: no lining is that thick; not taken", "T16")
    if low >= high or len(known.labels) == 2:
        return _several(clear, "#-#", quantities, known, notes)
    if high - low > 4:
        return ask(f"{clear!r}: an interval, two readings, or before and after a change?", "words", "T9")
    reading = _say({"low": low, "high": high}, unit, notes + _notes_of([first, second], known), "T9")
    if second.unit is None and unit == "mm" and high < THIN_MM:
        return lower_to(reading, FLAG, "very thin for mm: inches?", "T16")
    return reading


def _twice(clear: str, quantities: list[Token], known: Known) -> Reading:
    """Rule T22: one reading given in two units."""
    (first, unit), (second, other) = _measured(quantities, known)
    if all(q.unit for q in quantities) and unit != other:
        if abs(first - second) <= 0.5:
            return assumed(first, unit, "given in two units that agree; the first was taken", "T22")
        return ask(f"{clear!r}: the two units do not agree", "words", "T22")
    return _several(clear, "##", quantities, known, [])


def _several(clear: str, plain: str, quantities: list[Token], known: Known, notes: list[str]) -> Reading:
    """Rule T12: several readings; the header gives their order, else they are listed."""
    texts = [q.text for q in quantities]
    if plain == "#/#" and texts[1] in ("2", "4", "8") and quantities[0].number < quantities[1].number and not known.labels:
        return ask(f"{clear!r}: a fraction of an inch, a share, or two readings?", "unit", "T7")
    if plain == "#/#/#" and quantities[2].number > 12 and quantities[2].unit is None and "." not in texts[2]:
        return refuse(f"{clear!r} looks like a date", "T4")
    if plain == "#/#" and quantities[1].text == "10" and not known.labels and quantities[0].unit is None:
        return ask(f"{clear!r}: a score out of ten, or two readings?", "words", "T12")
    families = {"mm" if q.unit in ("mm", "cm", "um") else "in" for q in quantities if q.unit}
    if plain in ("#/#", "##", "#,#") and len(families) == 2 and all(q.unit for q in quantities):
        return _twice(clear, quantities, known)
    measured = _measured(quantities, known)
    values, unit = [v for v, _ in measured], measured[0][1]
    if max(values) > THICKEST_LINING_MM and not known.labels:
        return flag(None, None, f"{clear!r}: no lining is that thick; not taken", "T16")
    if not any(values):
        return ask(f"{clear!r}: defaults of the form, or nothing left?", "words", "T17")
    notes = notes + _notes_of(quantities, known)
    if known.unsettled:
        return known.unsettled
    if known.labels:
        if len(known.labels) != len(values):
            return ask(f"{clear!r}: {len(values)} readings under a header of {len(known.labels)} names", "order", "T12")
        if any(q.guess == "points between readings" for q in quantities):
            notes.append("points taken as marks between readings")
        reading = _keyed(list(known.labels), [[v] for v in values], unit, notes, known)
        if plain == "#/#" and not known.pairs and _like_inches(quantities) and reading.value is not None:
            return lower_to(reading, FLAG, "or a fraction of an inch? no other cell of the column shows two readings", "T7")
        return lower_to(reading, FLAG, "a dash between two readings, or an interval", "T12") if plain == "#-#" else reading
    listed = flag(values, unit, f"{len(values)} readings; in which order must be asked once", "T12")
    return lower_to(listed, FLAG, "; ".join(notes), "T12") if notes else listed


def _like_inches(quantities: list[Token]) -> bool:
    """Whether two bare numbers could be halves, quarters, eighths or 16ths of an inch."""
    over, under = (q.number for q in quantities)
    return all(q.unit is None for q in quantities) and under in (2, 4, 8, 16) and over < under and over % 2 == 1


def _everywhere(clear: str, shape: str, tokens: list[Token], known: Known) -> Reading:
    """``5mm all round``, ``both 5``: one number for several places."""
    quantities = [tok for tok in tokens if tok.kind == "#"]
    if len(quantities) != 1 or not set(shape) <= set("#B~lK"):
        return ask(f"{clear!r} cannot be read: what does it mean?", "words", "T12")
    single = _single(clear, quantities[0], known, [])
    if single.value is None or isinstance(single.value, dict):
        return single
    return lower_to(single, FLAG, "one number for several places", "T12")


# --- T11 per cent -----------------------------------------------------------------------------------------------------


def _per_cent(clear: str, shape: str, tokens: list[Token], known: Known) -> Reading:
    shares = [tok for tok in tokens if tok.kind == "%"]
    quantities = [tok for tok in tokens if tok.kind == "#"]
    share = shares[0].number / 100
    bare = re.sub(r"[()~=\-,/]", "", shape)
    said = "worn" if "w" in shape else "left" if "l" in shape else known.percent
    if quantities:
        return _reading_and_share(clear, bare, quantities, share, said, known)
    if len(shares) != 1 or not set(bare) <= set("%lw"):
        return ask(f"{clear!r}: per cent left, or worn?", "percent", "T11")
    if shares[0].unit is None and (0 < shares[0].number < 1 or shares[0].number == 1 and known.shares):
        return ask(f"{clear!r}: a share, or per cent?", "percent", "T11")
    if share > 1:
        return flag(None, None, f"{clear!r}: more than all of it; not taken", "T11")
    if said not in ("left", "worn"):
        if share == 0.5 and "%" in clear:
            return flag({"share": 0.5}, None, "half left is half worn; left or worn is asked for the column", "T11")
        return ask(f"{clear!r}: per cent left, or worn?", "percent", "T11")
    value = {"share": round(share if said == "left" else 1 - share, 6)}
    if known.percent in ("left", "worn") and said != known.percent:
        return flag(value, None, f"{clear!r} under a header of per cent {known.percent}", "T11")
    return assumed(value, None, "estimated by eye: a larger error", "T11") if "~" in shape else ok(value, None, "T11")


def _reading_and_share(clear, bare, quantities, share, said, known) -> Reading:
    """A reading with a per cent beside it: the reading is kept, the per cent is held against it."""
    if len(quantities) != 1 or not re.fullmatch(r"#[lw]?%[lw]?|%[lw]?#[lw]?", bare):
        return ask(f"{clear!r} cannot be read: what does it mean?", "words", "T11")
    single = _single(clear, quantities[0], known, [])
    if single.value is None:
        return single
    left = 1 - share if said == "worn" else share
    new = single.value / left if left > 0 else 0
    low, high = (0.8 * known.new_mm, 1.25 * known.new_mm) if known.new_mm else (8, 16)
    if low <= new <= high:
        return lower_to(single, OK_ASSUMED, "the per cent agrees and was left out", "T11")
    return lower_to(
        single, FLAG, f"the per cent does not fit: it would make a new lining {new:.0f} mm; the per cent was left out", "T11"
    )


# --- T14 replaced -----------------------------------------------------------------------------------------------------

_THIN_BEFORE_MM, _THICK_AFTER_MM = 6.0, 8.0
"""Between a lining this thin and one this thick a > is an arrow, and a lone number this thick is a new lining's (common practice, no
source)."""


def _arrow_up(shape: str, tokens: list[Token], known: Known) -> str:
    """The shape with ``1.5 > 11`` and ``2 > new`` as what was before and after; ``5 > 3`` and ``> 3`` stay."""
    found = re.search(r"#>(?=#$|n+#?$)", shape)
    if not found or tokens[found.start() + 1].text != ">" or shape.count("#") > 2 or len(known.labels) > 1:
        return shape
    measured = [value for value, _ in _measured([tok for tok in tokens if tok.kind == "#"], known)]
    if measured[0] > _THIN_BEFORE_MM or any(value < _THICK_AFTER_MM for value in measured[1:]):
        return shape
    return shape.replace(">", "→")


_REPLACED_BETWEEN = ("#n→#", "n#→#", "#na#", "b#na#")
"""Shapes of ``2 replaced with 12``, ``replaced 2 with 12``, ``4, replaced, now 12`` and ``was 4, replaced, now 12``."""


def _replaced(clear: str, shape: str, tokens: list[Token], known: Known, unknown: bool) -> Reading:
    quantities = [tok for tok in tokens if tok.kind == "#"]
    said_new = any(tok.kind == "n" and tok.text in words.NEW_WORDS for tok in tokens)
    bare = re.sub(r"n+", "n", re.sub(r"[^#nab→]", "", shape))
    bare = "n#" if bare == "n#n" else bare
    new_mm = known.new_mm
    if "K" in shape and not _same_place(tokens, known):
        return ask(f"{clear!r}: which of them was replaced?", "words", "T14")
    if set(shape) & set("%<>≤≥wX") or unknown:
        return ask(f"{clear!r}: replaced, or not?", "words", "T14")
    if bare == "n" and (set(shape) & set("-~") or re.search(r"\bstill\b", clear.lower())):
        return ask(f"{clear!r}: replaced, or not?", "words", "T14")
    if bare == "n":
        return ok(_event(None, new_mm), None, "T14")
    if len(quantities) > 2 or not quantities:
        return ask(f"{clear!r}: what was before and what after?", "words", "T14")
    measured = _measured(quantities, known)
    if any(v > THICKEST_LINING_MM for v, _ in measured):
        return flag(None, None, f"{clear!r}: no lining is that thick; not taken", "T16")
    unit, value = measured[0][1], measured[0][0]
    if bare in ("#→#", "b#a#", "#a#", "b#→#", "#→n#", "b#n#", "b#an#", "#an#", "#→#n", "b#a#n", *_REPLACED_BETWEEN):
        after = measured[1][0]
        if after < value + 1:
            return ask(f"{clear!r}: a change does not thin the lining", "words", "T14")
        return ok(_event(value, after), unit, "T14")
    if "/" in shape:
        return ask(f"{clear!r}: what was before and what after?", "words", "T14")
    if bare == "#b#" and re.search(r"\bwas\b", clear.lower()) and measured[1][0] >= value and measured[1][1] == unit:
        return lower_to(ok(value, unit, "T14"), OK_ASSUMED, f"{clear!r}: the thicker one was the reading before", "T14")
    if bare in ("#→n", "b#an", "#an", "b#n", "b#→n", "nb#"):
        replaced = ok(_event(value, new_mm), unit, "T14")
        return lower_to(replaced, FLAG, "thick for a lining that was replaced", "T14") if value >= 8 else replaced
    if bare in ("n→#", "na#"):
        thick = value >= _THICK_AFTER_MM
        return ok(_event(None, value), unit, "T14") if thick else ask(f"{clear!r}: how thick afterwards?", "words", "T14")
    if bare in ("n#", "#n"):
        return _new_or_old(clear, bare, said_new, quantities[0], value, unit, known)
    return ask(f"{clear!r}: what was before and what after?", "words", "T14")


def _new_or_old(clear, bare, said_new, q, value, unit, known) -> Reading:
    """One number beside ``new`` or ``replaced``: a thick one is the new lining, a thin one the old."""
    if said_new and q.unit is None and q.number in (1, 2, 4):
        return ask(f"{clear!r}: how many, or how thick?", "words", "T14")
    if value >= 8 or (said_new and bare == "n#" and value > 6):
        return ok(_event(None, value), unit, "T14")
    if value <= 5 and not said_new:
        reading = ok(_event(value, known.new_mm), unit, "T14")
        return reading if bare == "#n" else lower_to(reading, OK_ASSUMED, "the number is too thin for a new lining", "T14")
    return ask(f"{clear!r}: the new lining, or the old one?", "words", "T14")


def _event(before: float | None, after: float | None) -> dict:
    return {"event": "replaced", "before": before, "after": after}


def _same_place(tokens: list[Token], known: Known) -> bool:
    """Whether the positions named beside the change are the header's own."""
    labels = labels_of([tok for tok in tokens if tok.kind == "K"], known)
    own = (known.axle, known.side)
    return all(
        lab.part in (None, "pad", "shoe") and lab.face is None and (lab.axle, lab.side) in (own, (known.axle, None))
        for lab in labels
    )


# --- T13 readings with their position ---------------------------------------------------------------------------------


def _with_positions(clear: str, shape: str, tokens: list[Token], known: Known) -> Reading:
    notes = []
    if "~" in shape:
        notes.append("estimated by eye: a larger error")
    tokens = [tok for tok in tokens if tok.kind not in "~l()"]
    bare = "".join(tok.kind for tok in tokens)
    if set(bare) - set("K#/,&-"):
        return ask(f"{clear!r} cannot be read: what does it mean?", "words", "T13")
    runs = re.findall(r"[K/,&-]*K[K/,&-]*|[#/,&-]*#[#/,&-]*", bare)
    pieces, at = [], 0
    for run in runs:
        pieces.append(tokens[at : at + len(run)])
        at += len(run)
    names = [p for p in pieces if any(tok.kind == "K" for tok in p)]
    numbers = [[tok for tok in p if tok.kind == "#"] for p in pieces if any(tok.kind == "#" for tok in p)]
    notes += _notes_of([q for group in numbers for q in group], known)
    notes += [q.guess for group in numbers for q in group if q.guess and q.guess not in _PRIVATE_GUESSES]
    if len(names) != len(numbers):
        return ask(f"{clear!r}: which number belongs to which position?", "words", "T13")
    if len(names) == 1 and (_letter_glued(clear) or {tok.text for tok in names[0] if tok.kind == "K"} in ({"i"}, {"o"})):
        return ask(f"{clear!r}: a letter for a digit, or a position?", "words", "T13")
    flat = [tok for p in names for tok in [*p, Token(",")]]
    labels_of = labels_by_run(names, flat, known)
    everything = _measured([q for group in numbers for q in group], known)
    unit = everything[0][1]
    if any(v > PLAUSIBLE_MM["drum"][1] for v, _ in everything):
        return flag(None, None, f"{clear!r}: no brake part is that thick; not taken", "T16")
    labels, values = [], []
    each = iter(everything)
    for run_labels, group in zip(labels_of, numbers, strict=True):
        mms = [next(each)[0] for _ in group]
        if len(run_labels) == 1:
            labels.append(run_labels[0])
            values.append(mms)
        elif len(run_labels) == len(mms):
            labels += run_labels
            values += [[v] for v in mms]
        else:
            return ask(f"{clear!r}: which number belongs to which position?", "words", "T13")
    return _keyed(labels, values, unit, notes + key_notes(flat, known), known)


def _letter_glued(clear: str) -> bool:
    """One l, I or O stuck to a number: more likely a digit than a position."""
    return bool(re.search(r"(?<![A-Za-z])[lLI|O][0-9]|[0-9][lLIO](?![A-Za-z])", clear))


def _against_header(labels: list[Label], known: Known) -> list[str]:
    """Doubts about positions that are of different kinds, or not under their header."""
    kinds = {(bool(lab.axle), bool(lab.side), bool(lab.face), bool(lab.part)) for lab in labels}
    doubts = ["positions of different kinds in one cell"] if len(kinds) > 1 else []
    if any(
        known.axle
        and lab.axle not in (None, known.axle)
        or known.side
        and lab.side not in (None, known.side)
        or known.face
        and lab.face not in (None, known.face)
        for lab in labels
    ):
        doubts.append("a position that is not the header's")
    return doubts


def _keyed(labels: list[Label], values: list[list[float]], unit: str, notes: list[str], known: Known) -> Reading:
    """The dict of a cell's readings by position or part."""
    labels = [completed(lab, known) for lab in labels]
    doubts = _against_header(labels, known)
    if any(lab.side and not lab.axle for lab in labels):
        raise Stop(ask("left and right of which axle?", "words", "T13"))
    if all(lab.part in ("rotor", "drum") for lab in labels):
        return flag(None, None, "a rotor or a drum, not a lining; not taken", "T16")
    if len(labels) == 1 and len(values[0]) == 1 and is_own(labels[0], known) and values[0][0] > 0:
        q = Token("#", number=values[0][0], unit="mm")
        wrong = _implausible(q, values[0][0], "mm", known)
        return wrong or _say(values[0][0], unit, notes, "T13")
    if any(lab.face and lab.axle and (lab.axle, lab.side) != (known.axle, known.side) for lab in labels):
        doubts.append("inner and outer of a wheel named in the cell")
    value: dict[str, object] = {}
    faces: dict[str, dict[str, float]] = {}
    for label, numbers in zip(labels, values, strict=True):
        low, high = PLAUSIBLE_MM[label.part or "pad"]
        if any(not low <= v <= high + 1e-9 for v in numbers):
            return flag(None, None, f"{max(numbers):.1f} mm cannot be a {label.part or 'lining'}; not taken", "T16")
        if unit == "mm" and any(0 < v < THIN_MM for v in numbers):
            doubts.append("very thin for mm: inches?")
        if 0 in numbers:
            doubts.append("0: the form's default, or nothing left?")
        if len(numbers) > 1:
            doubts.append("several readings of one position; in which order must be asked once")
        name = name_of(label, labels, known)
        if label.face and len(numbers) == 1:
            faces.setdefault(name if name not in ("inner", "outer") else "", {})[label.face] = numbers[0]
        held = value.get(name)
        both = (held if isinstance(held, list) else [held] if held is not None else []) + numbers
        value[name] = both if len(both) > 1 else both[0]
        if held is not None and not label.face:
            raise Stop(ask(f"{name} is named twice", "words", "T13"))
        if held is not None:
            doubts.append("inner and outer listed in their order")
    for pair in faces.values():
        if len(pair) == 2 and abs(pair["inner"] - pair["outer"]) >= INNER_OUTER_APART_MM - _ROUNDING_MM:
            doubts.append(
                f"inner and outer {abs(pair['inner'] - pair['outer']):.1f} mm apart: a sticking slide or piston? "
                "judge on the thinner"
            )
    reading = _say(value, unit, notes, "T13")
    return lower_to(reading, FLAG, "; ".join(dict.fromkeys(doubts)), "T21" if faces else "T13") if doubts else reading
