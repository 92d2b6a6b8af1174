"""On which day: ``27/03/2024``, ``3-Apr-24``, ``13 mars 2024``, ``45385``, ``wk 14 2024``, ``3/12-3/14/24``.

Rules
-----
D1 one order of day and month for the column, shown by a date in it; else asked. A column that shows both orders is asked.
D2 where only the country tells the order: read and listed. D3 year first. D4 two-digit years. D5 months by name.
D6 digits without marks. D7 spreadsheet day numbers. D8 seconds since 1970. D9 weeks, months, quarters and thirds of a
month are intervals. D10 from one day to another. D11 before and after. D12 no such day, or a year that cannot be: flag.
D13 empty dates of programs: refuse. D14 the weekday disagrees: flag. D15 year missing: ask. D16 plans and relative days are
no dates. D17 letters for digits: flag. D18 other calendars. D19 far from its neighbours: flag. D20 after the day the records were
taken: flag. D21 two dates: ask. D22 more in the cell: flag.
D23 the year could stand first, and the column's other dates say so: flag. D24 a sheet of the other order opened in a spreadsheet, which
made dates of what it could and left the rest as text: flag what it made.
"""

import calendar
import collections
import datetime
import re
from dataclasses import replace

import numpy as np

from brakedata.cells import text as t
from brakedata.cells import words
from brakedata.cells.day_forms import calendar_signs, digits_only, expression, month_end, span, triple, weeks_and_quarters
from brakedata.cells.day_order import BASE_1900, BASE_1904, NUMERIC, PENDING, Found, Known, Stop, column_order, say
from brakedata.cells.reading import ASK, FLAG, OK, OK_ASSUMED, REFUSE, Reading, ask, flag, lower_to, refuse


def read_column(texts: list[str], header: str, hints: dict) -> list[Reading]:
    """Read a column of dates as ``YYYY-MM-DD``.

    Parameters
    ----------
    texts : list of str, shape (cells,)
    header : str
    hints : dict
        ``country``, ``source``, ``cell_type``, ``date_system``, ``as_of``, ``words``, ``date_order``.

    Returns
    -------
    list of Reading, shape (cells,)
    """
    known = _known(texts, header, hints)
    meanings = t.shop_words(hints)

    def rule(text: str) -> Reading:
        quick = None if meanings else _QUICK.fullmatch(text)
        if quick:
            return _quick(text, quick, known)
        return t.read_one(text, meanings, lambda clear: read_clear(clear, known))

    readings = t.each_once(texts, rule)
    other = _HEADER_OF_ANOTHER_DAY.search(t.fold(t.tidy(header))[: t.LONGEST_CELL])
    if other:
        doubt = f"the header speaks of {other[0]!r}, not of the day of a visit; not taken"
        return [reading if reading.value is None else flag(None, None, doubt, "D16") for reading in readings]
    readings = _two_systems(_with_day_numbers(readings))
    return _against_neighbours(_half_turned(texts, _year_at_either_end(texts, readings)))


_HEADER_OF_ANOTHER_DAY = re.compile(
    r"\b(?:due|next|expir\w*|warranty|birth|dob|planned|scheduled|previous|prev|fallig\w*|nachste\w*|prochaine?|proxim[ao]|prossim[ao])\b"
)
_QUICK = re.compile(r"(\d{4})(-)(\d{2})-(\d{2})(?:[T ]\d{2}:\d{2}(?::\d{2})?)?|(\d{1,2})([-/.])(\d{1,2})\6(\d{4}|\d{2})")


def _quick(text: str, parts: re.Match, known: Known) -> Reading:
    """The quick way for dates of three numbers."""
    a, mark, b, c = parts.groups()[:4] if parts[1] else parts.groups()[4:]
    try:
        return say(text, triple(a, b, c, mark, known), {}, False, "", known)
    except Stop as stop:
        return stop.reading


def read_clear(clear: str, known: Known) -> Reading:
    """Read one tidy, non-empty text."""
    clear = t.unwrapped(clear)
    reading = _try(clear, known)
    if (reading.value is None and (reading.status in (ASK, REFUSE) or reading.rule == "D12")) or reading.rule == "D22":
        mended = t.letters_to_digits(clear)
        second = _try(mended, known) if mended else None
        if second and second.value is not None:
            return lower_to(second, FLAG, f"{clear!r} read as {mended!r}: letters for digits", "D17")
    return reading


def _try(clear: str, known: Known) -> Reading:
    try:
        return _read(clear, known)
    except Stop as stop:
        return stop.reading


# --- what the column and the hints say --------------------------------------------------------------------------------

_ANSWERS = {"day_first": "dmy", "month_first": "mdy"}
_HEADER_FORM = re.compile(
    r"(?<![a-z])(?:(?P<ymd>y{2,4}|j{4}|a{4})[-/. ]?m{1,2}[-/. ]?[dt]{1,2}|(?P<dmy>[dtj]{1,2}[-/. ]?m{1,2})|(?P<mdy>m{1,2}[-/. ]?d{1,2}))"
    r"[-/. ]?[yja]{0,4}(?![a-z])"
)


def _header_order(header: str) -> str | None:
    """Order of year, month and day where the header writes the form out: ``DD/MM/YYYY``, ``TT.MM.JJ``."""
    found = _HEADER_FORM.search(t.fold(t.tidy(header))[: t.LONGEST_CELL])
    return found.lastgroup if found else None


_PACKED_FORM = re.compile(
    r"(?<![a-z])(?:(?P<ymd>yymmdd|jjmmtt|aammjj|aammdd)|(?P<dmy>ddmmyy|ttmmjj|jjmmaa|ddmmaa)|(?P<mdy>mmddyy))(?![a-z])"
)


def _packed_order(shown: str | None, header: str) -> tuple[str | None, str]:
    """Order of six digits and how it is known: by the column or a header that writes them out (``YYMMDD``); None where they differ."""
    found = _PACKED_FORM.search(t.fold(t.tidy(header))[: t.LONGEST_CELL])
    form = found.lastgroup if found else None
    if shown and form and shown != form:
        return None, ""
    return shown or form, "as the header says" if form else "the only order that reads all of the column"


def _known(texts: list[str], header: str, hints: dict) -> Known:
    country = str(hints.get("country") or "").upper()
    order, order_from, year_first, short, packed = column_order(t.distinct(texts), country)
    answered = hints.get("date_order")
    if order is None and answered in _ANSWERS:
        order, order_from = _ANSWERS[answered], "as answered"
    form = _header_order(header)
    if form in ("dmy", "mdy") and order != form:
        order, order_from = ("both", order_from) if order else (form, "as the header says")
    if answered == "year_first" or form == "ymd":
        short = "first"
    packed, packed_from = _packed_order(packed, header)
    number_cells = hints.get("cell_type") == "number" and hints.get("source") != "csv"
    return Known(
        order=order,
        order_from=order_from,
        year_first=year_first,
        short_year=short,
        packed=packed,
        packed_from=packed_from,
        country=country,
        numbers_are_days=number_cells or hints.get("date_system") in (1900, 1904, "1900", "1904"),
        base=BASE_1904 if str(hints.get("date_system")) == "1904" else BASE_1900,
        as_of=_iso(hints.get("as_of")),
    )


def _iso(value) -> datetime.date | None:
    try:
        return datetime.date.fromisoformat(str(value)[:10])
    except ValueError:
        return None


# --- one cell ---------------------------------------------------------------------------------------------------------

_ZONE = r"(?: ?(?:z|utc|gmt|cet|cest|bst|[ecmp][sd]t|[+-]\d{2}:?\d{2}))?"
_CLOCK = (
    r"(?:\d{1,2}(?::\d{2}){1,2}(?:[.,]\d{1,9})?(?: ?[ap]\.?m\.?)?|\d{1,2}(?:\.\d\d)? ?[ap]\.?m\.?|\d{1,2}h\d{2})"
    + _ZONE
    + r"(?: ?(?:uhr|h|hrs|o'clock))?"
)
_TIME_AT_END = re.compile(
    rf"(?:,? +(?:at |um |a las |@ ?)?|t|(?<=\d),? ?)(?:(?<![\d:]){_CLOCK})$"
    rf"|(?<=\d)t\d{{2}}(?:\d{{2}}){{0,2}}(?:\.\d+)?{_ZONE}$"
    rf"|(?<=\d{{8}})[ _-]\d{{4}}(?:\d{{2}})?$|(?<=[a-z] (?:19|20)\d\d) \d{{4}}(?: ?(?:hrs|h|z))?$"
    rf"|(?<=[-/. ]\d\d) (?:[01]?\d|2[0-3])\.[0-5]\d(?:\.\d{{2}}(?:\.\d{{1,9}})?)?(?: ?[ap]m)?$"
)
_TIME_AT_START = re.compile(rf"^{_CLOCK},? +(?=\S)")
_THIRDS = {
    **dict.fromkeys(("early", "beginning", "start", "begin", "anfang", "debut"), 0),
    **dict.fromkeys(("mid", "middle", "mitte"), 1),
    **dict.fromkeys(("late", "end", "ende", "fin"), 2),
}  # fmt: skip
_ORDINAL = re.compile(r"(?<=\d)(?:st|nd|rd|th|er|eme|º|ª)(?![a-z])|(?<=\d)\.(?= ?[a-z])")
_RELATIVE = frozenset(
    "today yesterday tomorrow last next week weeks days months month year now this morning afternoon recently "
    "heute gestern morgen hier demain ayer hoy".split()
)


def _read(clear: str, known: Known) -> Reading:
    low = t.fold(clear).strip(" .,;:'\"=")
    if not any(c.isdigit() for c in low) and "元" not in low:
        return refuse(f"{clear!r} is no date", "D16")
    low = _TIME_AT_START.sub("", _TIME_AT_END.sub("", low)).strip(" ,;").removesuffix("t") or low
    special = calendar_signs(low) or digits_only(low, known) or weeks_and_quarters(low, known)
    if special:
        return special
    names = re.findall(r"[a-z]+", low)
    if any(n in words.PLANNED for n in names):
        return ask(f"{clear!r}: the day of the visit, a plan or another day?", "words", "D16")
    if set(names) & _RELATIVE and not re.search(r"\bw(?:ee)?k (?:of|beginning|starting|commencing|ending)\b", low):
        return ask(f"{clear!r} counts from a day that is not known", "words", "D16")
    about = "~" in low or any(n in words.DATE_ABOUT for n in names)
    bound = _bound(low)
    third = next((_THIRDS[n] for n in names if n in _THIRDS), None)
    low = re.sub(r"(?<=\d[-/.])'(?=\d\d$)", "", _ORDINAL.sub(" ", low))
    low, week = _week_of(low)
    weekdays = _weekdays(low)
    core = _core(low, weekdays, bound)
    core = re.sub(r"^([a-z]+) (\d\d)$", r"\1 '\2", core) if third is not None else core  # mid May 24
    known = replace(known, weekdays=frozenset(weekdays.values())) if weekdays else known
    core, slips = _months_mended(core)
    found, unknown = expression(core, known), []
    found = found or span(core, known)
    if found is None:
        core, unknown = _known_words_only(core)
        found = (expression(core, known) or span(core, known)) if unknown else None
        if (
            found
            and found.first != found.last
            and found.rule == "D9"
            and not set(re.findall("[a-z]+", core)) & words.MONTHS.keys()
        ):
            found = None  # a month by its number, beside a word that may be the month
    if found is None:
        return _unreadable(clear, core)
    if week and found.first == found.last:
        step = datetime.timedelta(6)
        first, last = (found.first - step, found.first) if week == "ending" else (found.first, found.first + step)
        found = replace(found, first=first, last=last, rule="D9")
    if third is not None:
        found = _third_of_month(clear, found, third)
    found = replace(found, notes=(*found.notes, *slips)) if slips else found
    if "?" in low:
        unknown = [*unknown, "?"]
    if unknown:
        found = replace(found, doubts=(*found.doubts, f"the cell also says {' '.join(unknown)!r}"), rule="D22")
    return say(clear, found, weekdays, about, bound, known)


def _months_mended(core: str) -> tuple[str, list[str]]:
    """The text with a month's name that has one letter wrong put right where it names no other month, and what was so taken."""
    said = []
    for name in re.findall(r"[a-z]{4,}", core):
        if name not in words.MONTHS and name not in _NO_SLIPS:
            near = {words.MONTHS[right] for right in words.MONTHS if len(right) > 3 and t.one_slip(name, right)}
            if len(near) == 1:
                month = calendar.month_name[near.pop()]
                core = re.sub(rf"(?<![a-z]){name}(?![a-z])", month.lower(), core)
                said.append(f"{name!r} taken as {month}")
    return core, said


_NO_SLIPS = frozenset({*words.WEEKDAYS, *words.DATE_FILLER, *words.DATE_ABOUT, "thru", "through"})


def _week_of(low: str) -> tuple[str, str]:
    """``week of 11 March``, ``w/c``, ``w/e``: the text without it, and whether the day begins or ends the week."""
    found = re.search(r"\b(?:w/?[cb]|w(?:ee)?k (?:of|beginning|starting|commencing))\b|\b(?P<end>w/e|w(?:ee)?k ending)\b", low)
    if not found:
        return low, ""
    return low[: found.start()] + " " + low[found.end() :], "ending" if found["end"] else "beginning"


def _unreadable(clear: str, core: str) -> Reading:
    if len(NUMERIC.findall(core)) > 1 or len([n for n in re.findall(r"[a-z]+", core) if n in words.MONTHS]) > 1:
        return ask(f"{clear!r}: two dates; which is the reading's?", "words", "D21")
    return ask(f"{clear!r} cannot be read as a date", "words", "D22")


def _bound(low: str) -> str:
    first = re.match(r"[a-z]+|[<>≤≥]", low)
    if first and first[0] == "from" and re.search(r" (?:to|until|till|-) ", low):
        return "interval"
    if first and first[0] in words.BEFORE_DAY:
        return "before"
    return "after" if first and first[0] in words.AFTER_DAY else ""


def _weekdays(low: str) -> dict[str, int]:
    """Weekday words of the cell; the two-letter ones only at its beginning."""
    names = re.findall(r"[a-z]+", low)
    start = re.match(r"([a-z]{2})[.,]{0,2} ", low)
    return {n: words.WEEKDAYS[n] for n in names if n in words.WEEKDAYS and (len(n) > 2 or (start and n == start[1]))}


def _core(low: str, weekdays: dict[str, int], bound: str) -> str:
    drop = words.DATE_FILLER | words.DATE_ABOUT | weekdays.keys() | _THIRDS.keys() | {"between"}
    low = re.sub(r"^[a-z]+", " ", low) if bound else low
    kept = re.sub(r"[a-z]+", lambda m: " " if m[0] in drop else m[0], low)
    kept = re.sub(r"[(\[][ ,.]*[)\]]", " ", kept)
    kept = re.sub(r"[~<>≤≥?()\[\]]", lambda m: " ( " if m[0] in "([" else " ", kept)
    return re.sub(r" +", " ", kept).strip(" ,;:.-/")


def _known_words_only(core: str) -> tuple[str, list[str]]:
    unknown = [
        n
        for n in re.findall(r"[a-z]+", core)
        if n not in words.MONTHS and n not in ("to", "and", "thru", "through", "bis", "au", "al")
    ]
    for name in unknown:
        core = re.sub(rf"(?<![a-z]){re.escape(name)}(?![a-z])", " ", core)
    return re.sub(r" +", " ", re.sub(r"[^\w\s/.\-',&\\(]", " ", core)).strip(" ,;.-/&("), unknown


def _third_of_month(clear: str, found: Found, third: int) -> Found:
    if found.first.day != 1 or found.last != month_end(found.first):
        raise Stop(ask(f"{clear!r} cannot be read as a date", "words", "D9"))
    first = found.first.replace(day=(1, 11, 21)[third])
    last = found.first.replace(day=(10, 20)[third]) if third < 2 else found.last
    return Found(first, last, (f"{('first', 'middle', 'last')[third]} third of the month",), found.doubts, "D9")


# --- beside the other cells -------------------------------------------------------------------------------------------


def _ordinal(reading: Reading) -> int | None:
    if reading.status in (OK, OK_ASSUMED) and isinstance(reading.value, str):
        return datetime.date.fromisoformat(reading.value).toordinal()
    return None


def _with_day_numbers(readings: list[Reading]) -> list[Reading]:
    """Rule D7 for text files: a day number is believed where it falls among the column's other dates."""
    if not any(r.rule == PENDING for r in readings):
        return readings
    others = [o for r in readings if r.rule != PENDING and (o := _ordinal(r)) is not None]
    settled: dict[str, Reading] = {}
    for r in readings:
        if r.rule == PENDING and r.value not in settled:
            settled[r.value] = _settled_day_number(r, others)
    return [settled[r.value] if r.rule == PENDING else r for r in readings]


def _settled_day_number(reading: Reading, others: list[int]) -> Reading:
    day = _ordinal(reading)
    if not others:
        return lower_to(reading, FLAG, "no other date in the column shows whether that is right", "D7")
    if min(others) - 60 <= day <= max(others) + 60:
        return lower_to(reading, OK_ASSUMED, "falls among the column's other dates", "D7")
    apart = (BASE_1904 - BASE_1900).days
    hint = "; it would fit the 1904 system: suggest, not applied" if min(others) - 60 <= day + apart <= max(others) + 60 else ""
    return flag(None, None, f"reads {reading.value}, far from the column's other dates; not taken{hint}", "D7")


_SYSTEMS_APART = (BASE_1904 - BASE_1900).days


def _two_systems(readings: list[Reading]) -> list[Reading]:
    """Rule D7: day numbers of two systems in one column lie four years and a day apart, with nothing between; the fewer are not believed."""
    numbers = [i for i, r in enumerate(readings) if r.rule == "D7" and _ordinal(r) is not None]
    if not numbers:
        return readings
    days = sorted({o for r in readings if (o := _ordinal(r)) is not None})
    gap, at = max(((b - a, k) for k, (a, b) in enumerate(zip(days, days[1:], strict=False), 1)), default=(0, 0))
    if gap < _SYSTEMS_APART - 366:
        return readings
    out = list(readings)
    sides = [
        {i for i, r in enumerate(readings) if (o := _ordinal(r)) is not None and (o < days[at]) == below}
        for below in (True, False)
    ]
    for here, there, step in ((sides[0], sides[1], _SYSTEMS_APART), (sides[1], sides[0], -_SYSTEMS_APART)):
        others = [_ordinal(readings[i]) for i in there]
        for i in here & set(numbers):
            if len(here) <= len(there) and min(others) - 60 <= _ordinal(readings[i]) + step <= max(others) + 60:
                hint = "it would fit in the other of the two systems: suggest, not applied"
                out[i] = flag(
                    None, None, f"reads {readings[i].value}, far from the column's other dates; not taken; {hint}", "D7"
                )
    return out


_TYPED = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(?:\d{4}|\d{2})(?: .*)?")
_STORED = re.compile(r"\d{4}-\d\d-\d\d(?:[T ]\d\d:\d\d(?::\d\d)?)?|\d{5}(?:\.\d+)?")

_NAMED = re.compile(r"\d{1,2}-[A-Za-z]{3}-(?:\d{4}|\d{2})")
"""A spreadsheet's other way of showing a date; people write it too, so one alone is no sign of anything."""


def _half_turned(texts: list[str], readings: list[Reading]) -> list[Reading]:
    """Rule D24: stored dates whose days all could be months, beside typed dates none of which could be turned the other way round."""
    tidied = {text: t.tidy(text) if len(text) < 40 else "" for text in dict.fromkeys(texts)}
    by_hand = {text: m for text, one in tidied.items() if (m := _TYPED.fullmatch(one))}
    if not by_hand or any(max(int(m[1]), int(m[3])) <= 12 for m in by_hand.values()):
        return readings
    clear, typed = [tidied[text] for text in texts], [text for text in texts if text in by_hand]
    stored = [i for i, text in enumerate(clear) if _STORED.fullmatch(text) and _ordinal(readings[i]) is not None]
    by_name = [i for i, text in enumerate(clear) if _NAMED.fullmatch(text) and _ordinal(readings[i]) is not None]
    if len(by_name) > 1 and len(typed) > 1:
        stored = sorted(stored + by_name)
    days = {i: datetime.date.fromisoformat(readings[i].value) for i in stored}
    if not stored or any(day.day > 12 for day in days.values()) or _in_order_only_as_read(readings, days):
        return readings
    out = list(readings)
    for i, day in days.items():
        if day.day != day.month:
            doubt = f"reads {day}, or {day.replace(month=day.day, day=day.month)}: a spreadsheet made dates of this column's days up to 12 only"
            out[i] = flag(None, None, f"{doubt}, and may have changed day and month; not taken", "D24")
    return out


def _in_order_only_as_read(readings: list[Reading], stored: dict[int, datetime.date]) -> bool:
    """Whether a column is in order of time as it is read, and is not with the stored dates' day and month changed."""
    places = [i for i, r in enumerate(readings) if _ordinal(r) is not None]
    if len(places) < 4:
        return False
    read = [_ordinal(readings[i]) for i in places]
    changed = [_other_way_round(day) if i in stored else day for i, day in zip(places, read, strict=True)]
    return _falls(read) == 0 and _falls(changed) > 0


_TWO_DIGIT_YEAR = re.compile(r"(\d\d)[-/. ](0[1-9]|1[0-2])[-/. ](0[1-9]|[12]\d|3[01])")
_YEARS_APART = 10
MOST_FALLS = 0.1
"""Share of steps back in a column that is kept in order of time."""


def _year_at_either_end(texts: list[str], readings: list[Reading]) -> list[Reading]:
    """Rule D23: a date is not believed where more of the column's dates, or as many, lie about the year that its first number would be."""
    year_of = {
        id(r): int(r.value[:4])
        for r in {id(r): r for r in readings}.values()
        if isinstance(r.value, str) and r.status in (OK, OK_ASSUMED)
    }
    count = collections.Counter()
    for one, times in collections.Counter(map(id, readings)).items():
        if one in year_of:
            count[year_of[one]] += times
    if not count or max(count) - min(count) < _YEARS_APART - 2:
        return readings
    out, years = list(readings), [year_of.get(id(r)) for r in readings]
    for i, year in enumerate(years):
        found = _TWO_DIGIT_YEAR.fullmatch(t.tidy(texts[i])) if year else None
        other = 2000 + int(found[1]) if found else year
        if other and abs(other - year) >= _YEARS_APART and _about(count, year) <= _about(count, other):
            doubt = f"{texts[i].strip()!r}: {readings[i].value}, or the year first? Others lie about {other}; not taken"
            out[i] = flag(None, None, doubt, "D23")
    return out


def _about(count: collections.Counter, year: int) -> int:
    """How many dates lie in that year or the years beside it."""
    return sum(count[near] for near in (year - 1, year, year + 1))


def _against_neighbours(readings: list[Reading]) -> list[Reading]:
    """Rule D19: in a column kept in order of time, a day far from the days before and after it is not believed."""
    places = [i for i, r in enumerate(readings) if isinstance(r.value, str) and (r.status in (OK, OK_ASSUMED) or r.rule == "D20")]
    if len(places) < 3:
        return readings
    day_of = {value: datetime.date.fromisoformat(value).toordinal() for value in {readings[i].value for i in places}}
    days = [day_of[readings[i].value] for i in places]
    out, lonely = list(readings), _lonely(days)
    for k in _year_not_turned(days):
        doubt = f"{readings[places[k]].value}: a year off from the rows around it; not taken; with the next year it would fit: suggest, not applied"
        out[places[k]] = flag(None, None, doubt, "D19")
    for k in _changed_places(days):
        hint = "with day and month changed it would fit: suggest, not applied"
        doubt = f"{readings[places[k]].value} is out of the order of the rows around it; not taken; {hint}"
        out[places[k]] = flag(None, None, doubt, "D19")
    if len(days) > 5 and not _in_order(days, lonely):
        return out
    for k in lonely:
        if out[places[k]].value is not None and _far_off(days, k):
            day = readings[places[k]].value
            out[places[k]] = flag(None, None, f"{day} is far from the dates of the rows around it; not taken", "D19")
    return out


def _year_not_turned(days: list[int]) -> list[int]:
    """Places in a row where the old year was still written after the turn of the year, in a column kept in order of time."""
    n = len(days)
    if n < 4:
        return []
    steps = np.sign(np.diff(np.asarray(days)))
    backwards = bool(steps.sum() < 0)
    ordered = days[::-1] if backwards else days
    down = [k for k in range(1, n) if ordered[k] < ordered[k - 1] - 300]
    if len(down) != 1:
        return []
    first = down[0]
    if first > 1 and ordered[first - 1] > ordered[first - 2] + 300:
        return []
    last = next((k for k in range(first + 1, n) if ordered[k] > ordered[k - 1] + 300), n)
    run = [_next_year(day) for day in ordered[first:last]]
    rest = ordered[:first] + ordered[last:]
    after = ordered[last] if last < n else ordered[first - 1] + 31
    fits = ordered[first - 1] <= run[0] and run[-1] <= after and _falls(run) == 0
    if not fits or len(run) > len(rest) or any(a > b for a, b in zip(rest, rest[1:], strict=False)):
        return []
    return [n - 1 - k if backwards else k for k in range(first, last)]


def _next_year(day: int) -> int:
    date = datetime.date.fromordinal(day)
    return date.replace(year=date.year + 1, day=min(date.day, 28) if date.month == 2 else date.day).toordinal()


def _changed_places(days: list[int]) -> list[int]:
    """Places out of the order of the days around them that fall into it with day and month changed; none in a column without order."""
    if len(days) < 5:
        return []
    day, at = np.asarray(days), np.arange(len(days))
    other_of = {one: _other_way_round(one) for one in set(days)}
    other = np.array([other_of[one] for one in days])
    fixed = other == day
    last = np.concatenate([[-1], np.maximum.accumulate(np.where(fixed, at, -1))[:-1]])
    following = np.concatenate([np.minimum.accumulate(np.where(fixed, at, len(days))[::-1])[::-1][1:], [len(days)]])
    before, after = np.where(last < 0, at - 1, last), np.where(following == len(days), at + 1, following)
    inner = (before >= 0) & (after < len(days))
    ends = np.sort([day[before], day[after % len(days)]], axis=0)
    outside, fits = (day < ends[0]) | (day > ends[1]), (other >= ends[0]) & (other <= ends[1])
    out = np.flatnonzero(inner & outside & fits)
    rest = np.delete(day, out)
    return out.tolist() if len(rest) > 2 and _falls(rest) == 0 else []


def _other_way_round(day: int) -> int:
    """The day with its day and month changed; itself where that is no day."""
    date = datetime.date.fromordinal(day)
    return day if date.day > 12 else date.replace(month=date.day, day=date.month).toordinal()


def _lonely(days: list[int]) -> list[int]:
    """Places whose neighbours on both sides are more than 180 days away."""
    gaps = np.abs(np.diff(np.asarray(days)))
    before, after = np.concatenate([[9**9], gaps]), np.concatenate([gaps, [9**9]])
    return np.flatnonzero(np.minimum(before, after) > 180).tolist()


def _in_order(days: list[int], lonely: list[int]) -> bool:
    """Whether a column is kept in order of time, but for few steps or for a few lonely days."""
    few = len(lonely) <= max(1, MOST_FALLS * len(days))
    return _falls(days) <= MOST_FALLS or (few and _falls(np.delete(days, lonely)) <= MOST_FALLS)


def _falls(days: list[int]) -> float:
    """Share of steps back, or of steps on where fewer."""
    steps = np.diff(np.asarray(days))
    return min(int((steps < 0).sum()), int((steps > 0).sum())) / max(len(steps), 1)


def _far_off(days: list[int], k: int) -> bool:
    day = days[k]
    others = days[max(0, k - 2) : k] + days[k + 1 : k + 3]
    away = min(abs(day - o) for o in others)
    if away <= 180:
        return False
    if len(days) <= 5:
        rest = days[:k] + days[k + 1 :]
        if _falls(rest) > 0:
            return False
        if away > 3652 and max(rest) - min(rest) < 3652:
            return True
    if 0 < k < len(days) - 1:
        before, after = days[k - 1], days[k + 1]
        gap = abs(after - before)
        outside = not min(before, after) <= day <= max(before, after)
        return outside and min(abs(day - before), abs(day - after)) > 4 * max(gap, 15)
    return away > 5 * 365 and abs(others[0] - others[-1]) < 180
