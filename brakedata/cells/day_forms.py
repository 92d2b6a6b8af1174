"""The ways a date is written: with marks, with a month's name, as digits only, as a week, from one day to another."""

import calendar
import datetime
import re
from dataclasses import replace

from brakedata.cells import words
from brakedata.cells.day_order import (
    BASE_1904,
    EARLIEST_YEAR,
    EMPTY,
    LATEST_YEAR,
    LIKELY_YEARS,
    NUMERIC,
    PENDING,
    Found,
    Known,
    Stop,
    column_order,
    packed_orders,
    real,
    say,
    six_digits,
)
from brakedata.cells.reading import ASK, Reading, ask, assumed, flag, ok, refuse

_MONTH_YEAR = re.compile(r"(\d{1,2})[-/. ](\d{4})|(\d{4})[-/. ](\d{1,2})")
_ORDINAL_DAY = re.compile(r"(\d{4})-(\d{3})")
_DAY_MONTH = re.compile(r"\d{1,2} ?[-/. \\] ?\d{1,2}\.?")
_MIXED_MARKS = re.compile(r"(\d{1,4})[-/.\\ ,]{1,2}(\d{1,2})[-/.\\ ,]{1,2}(\d{1,5})")


def expression(core: str, known: Known) -> Found | None:
    """One whole date; None when the text is something else."""
    found = NUMERIC.fullmatch(core)
    if found:
        return triple(found[1], found[3], found[4], found[2], known)
    found = _ORDINAL_DAY.fullmatch(core)
    if found:
        return _day_of_year(int(found[1]), int(found[2]))
    found = _MONTH_YEAR.fullmatch(core)
    if found:
        year, month = (found[2], found[1]) if found[1] else (found[3], found[4])
        return _month(int(year), int(month), core)
    if _DAY_MONTH.fullmatch(core):
        raise Stop(ask(f"{core!r}: the year is missing, and which is the month?", "date_order", "D15"))
    found = _MIXED_MARKS.fullmatch(core)
    if found:
        return triple(found[1], found[2], found[3], "/", known)
    return _named(core, known)


def _day_of_year(year: int, number: int) -> Found:
    first = real(year, 1, 1)
    if first is None or not 1 <= number <= 366 or (first + datetime.timedelta(number - 1)).year != year:
        raise Stop(flag(None, None, f"{year} has no day {number}; not taken", "D12"))
    day = first + datetime.timedelta(number - 1)
    return Found(day, day, rule="D6")


def month_end(first: datetime.date) -> datetime.date:
    """Last day of the month that begins with ``first``."""
    return first.replace(day=calendar.monthrange(first.year, first.month)[1])


def _month(year: int, month: int, core: str) -> Found:
    first = real(year, month, 1)
    if first is None:
        raise Stop(flag(None, None, f"{core!r}: no such month; not taken", "D12"))
    return Found(first, month_end(first), ("month only",), (), "D9")


def _full_year(two: int, known: Known) -> int:
    """Rule D4: 69 to 99 are of the last century, and so is what would lie after the day of the records by a decade."""
    year = 2000 + two if two < 69 else 1900 + two
    return year - 100 if known.as_of and year > known.as_of.year + 10 else year


def _other_calendar(year: int, country: str) -> tuple[int, str]:
    if country == "TH" and 2480 <= year <= 2620:
        return year - 543, "Buddhist year, minus 543"
    if country == "TW" and 69 <= year <= 150:
        return year + 1911, "year of the Republic, plus 1911"
    return year, ""


def triple(a: str, b: str, c: str, mark: str, known: Known) -> Found:
    """Three numbers with marks between: rules D1 to D4."""
    if known.country == "TW" and len(a) in (2, 3) and len(c) <= 2 and 100 <= int(a) <= 150:
        a = str(int(a) + 1911)
    if len(a) == 4:
        return _year_first(int(a), int(b), int(c), known)
    if len(a) > 2 or len(c) in (1, 3, 5):
        raise Stop(flag(None, None, f"{a}{mark}{b}{mark}{c}: a digit too many or too few; not taken", "D12"))
    first, second = int(a), int(b)
    if len(c) == 2 and (first > 31 or known.short_year == "first"):
        found = _year_first(_full_year(first, known), second, int(c), replace(known, year_first=None))
        return replace(found, notes=(*found.notes, "two-digit year first"))
    if len(c) == 2 and known.short_year is None and _may_be_year(a, b, c, mark, known):
        raise Stop(ask(f"{a}{mark}{b}{mark}{c}: year first, or day first?", "date_order", "D4"))
    year, note = _other_calendar(int(c), known.country) if len(c) == 4 else (_full_year(int(c), known), "")
    notes = (note,) if note else ()
    if year == 0 or (0 in (first, second) and year in (1900, 1899, 1904, 1970, 1)):
        raise Stop(refuse("the empty date of a program", "D13"))
    dmy, mdy = real(year, second, first), real(year, first, second)
    if dmy is None and mdy is None:
        raise Stop(flag(None, None, f"{a}{mark}{b}{mark}{c}: no such day; not taken", "D12"))
    if dmy is None or mdy is None or dmy == mdy:
        day = dmy or mdy
        own = "dmy" if mdy is None else "mdy"
        against = dmy != mdy and known.order in ("both", {"dmy": "mdy", "mdy": "dmy"}[own])
        doubts = ("the column's other dates are in the other order",) if against and known.order_from != "as answered" else ()
        return Found(day, day, notes, doubts)
    return _by_order(dmy, mdy, f"{a}{mark}{b}{mark}{c}", mark, notes, known)


def _may_be_year(a: str, b: str, c: str, mark: str, known: Known) -> bool:
    """Whether a two-digit first number could as well be the year: the last one is no recent year, or one of the decade before."""
    if len(a) != 2 or int(a) not in LIKELY_YEARS or not 1 <= int(c) <= 31 or not 1 <= int(b) <= 12 or a == c:
        return False
    if known.as_of and int(a) > known.as_of.year % 100:
        return False
    earlier = int(c) < 20 <= int(a) and mark != "."
    return int(c) < LIKELY_YEARS.start + 1 or earlier or (mark == "-" and len(b) == 2)


def _by_order(dmy, mdy, text, mark, notes, known: Known) -> Found:
    """Rules D1 and D2 for a day that is real in both orders."""
    if known.order == "both":
        raise Stop(ask(f"{text}: the column holds dates in both orders", "date_order", "D1"))
    by_weekday = [day for day in (dmy, mdy) if {day.weekday()} == known.weekdays]
    if len(by_weekday) == 1 and known.order is None:
        return Found(by_weekday[0], by_weekday[0], (*notes, "order of day and month as the weekday shows"))
    if known.order:
        day = dmy if known.order == "dmy" else mdy
        return Found(day, day, (*notes, f"{'day' if known.order == 'dmy' else 'month'} first, {known.order_from}"))
    if mark == "." and known.country in words.DOTTED_DATES:
        return Found(dmy, dmy, (*notes, f"day first, as dates with points are written in {known.country}"), (), "D2")
    if known.country in words.DAY_FIRST or known.country in words.MONTH_FIRST:
        first = known.country in words.DAY_FIRST
        day = dmy if first else mdy
        doubt = f"{'day' if first else 'month'} first only because the country is {known.country}; no date in the column shows it"
        return Found(day, day, notes, (doubt,), "D2")
    raise Stop(ask(f"{text}: day or month first? no date in the column settles it", "date_order", "D1"))


def _year_first(year: int, second: int, third: int, known: Known) -> Found:
    """Rule D3."""
    year, note = _other_calendar(year, known.country)
    notes = (note,) if note else ()
    if year == 0 or (0 in (second, third) and year in (1899, 1900, 1904, 1970)):
        raise Stop(refuse("the empty date of a program", "D13"))
    ymd, ydm = real(year, second, third), real(year, third, second)
    if ymd is None and ydm is None:
        raise Stop(flag(None, None, f"{year}-{second:02d}-{third:02d}: no such day; not taken", "D12"))
    if ymd is None:
        return Found(ydm, ydm, notes, ("year-day-month, as some exports write it",), "D3")
    if ydm is not None and ydm != ymd and known.year_first in ("ydm", "both"):
        raise Stop(ask(f"{year}-{second:02d}-{third:02d}: another date of the column is year-day-month", "date_order", "D3"))
    return Found(ymd, ymd, notes, (), "D3")


def _named(core: str, known: Known) -> Found | None:
    """Rule D5: exactly one month by name, with its day and year around it."""
    if not re.fullmatch(r"[\w '\-/.,(&]+", core) or NUMERIC.search(core):
        return None
    pieces = re.findall(r"'?\d+|[^\W\d_]+|[-(&/]", core)
    months = [i for i, p in enumerate(pieces) if p in words.MONTHS]
    others = [p for p in pieces if p[0].isalpha() and p not in words.MONTHS]
    if len(months) != 1 or others or "(" in pieces or "&" in pieces:
        return None
    month = words.MONTHS[pieces[months[0]]]
    before = [p for p in pieces[: months[0]] if p not in "-/"]
    after = [p for p in pieces[months[0] + 1 :] if p not in "-/"]
    days = _named_days(before, after, bool(re.search(r"\d ?- ?\d", core)), core)
    if days is None:
        return None
    first, last, year_text = days
    if year_text is None:
        return _without_year(first, month, core, known)
    if len(year_text.strip("'")) not in (2, 4):
        raise Stop(flag(None, None, f"{core!r}: a digit too many or too few in the year; not taken", "D12"))
    if first == last and len(before) == len(after) == 1 and len(before[0]) == len(after[0]) == 2:
        first, last, year_text = _named_short(int(before[0]), int(after[0]), core, known)
    year = int(year_text.strip("'"))
    year, note = (_full_year(year, known), "") if len(year_text.strip("'")) == 2 else _other_calendar(year, known.country)
    if first is None:
        return _month(year, month, core)
    ends = real(year, month, first), real(year, month, last)
    if None in ends or ends[0] > ends[1]:
        raise Stop(flag(None, None, f"{core!r}: no such day; not taken", "D12"))
    return Found(*ends, (note,) if note else (), (), "D5" if first == last else "D10")


def _named_short(a: int, b: int, core: str, known: Known) -> tuple[int, int, str]:
    """Rule D4 around a month's name: day first as usual, the year first where the column shows it."""
    if known.short_year == "first":
        return b, b, f"{a:02d}"
    late = known.as_of is not None and a > known.as_of.year % 100
    if known.short_year is None and a in LIKELY_YEARS and 1 <= b < LIKELY_YEARS.start and not late:
        raise Stop(ask(f"{core!r}: year first, or day first?", "date_order", "D4"))
    return a, a, f"{b:02d}"


def _named_days(before: list[str], after: list[str], dashed: bool, core: str) -> tuple[int | None, int | None, str | None] | None:
    """First day, last day and year as written around a month's name; None when the numbers fit no way of writing a date."""
    counts = (len(before), len(after))
    is_day = [len(p) <= 2 and not p.startswith("'") for p in before + after]
    if counts == (0, 1):
        if is_day[0]:
            raise Stop(ask(f"{core!r}: a day or a year after the month?", "words", "D15"))
        return None, None, after[0]
    if counts == (1, 0):
        return (int(before[0]), int(before[0]), None) if is_day[0] else (None, None, before[0])
    if counts == (1, 1):
        if is_day[0]:
            return int(before[0]), int(before[0]), after[0]
        return (int(after[0]), int(after[0]), before[0]) if is_day[1] else None
    if counts == (0, 2) and is_day[0]:
        return int(after[0]), int(after[0]), after[1]
    if counts == (2, 1) and is_day[0] and is_day[1] and dashed:
        return int(before[0]), int(before[1]), after[0]
    if counts == (0, 3) and is_day[0] and is_day[1] and dashed:
        return int(after[0]), int(after[1]), after[2]
    return None


def _without_year(day: int, month: int, core: str, known: Known) -> Found:
    """Rule D15: the year of the records where they say it, listed; else asked."""
    if known.as_of:
        for year in (known.as_of.year, known.as_of.year - 1):
            found = real(year, month, day)
            if found and found <= known.as_of:
                return Found(found, found, (), ("the year is missing: the last such day before the records were taken",), "D15")
    raise Stop(ask(f"{core!r}: the year is missing", "words", "D15"))


# --- from one day to another ------------------------------------------------------------------------------------------

_BETWEEN = re.compile(r" ?(?:\bto\b|\bthru\b|\bthrough\b|\bbis\b|\bau\b|\bal\b|\band\b|→) ?| - |-|/")


def span(core: str, known: Known) -> Found | None:
    """Rule D10: two days, the first of which may borrow its month and year from the second."""
    if "(" in core or "&" in core:
        return None
    for cut in _BETWEEN.finditer(core):
        if cut[0].strip() == "and" and "between" not in core:
            continue
        ends = [NUMERIC.fullmatch(core[: cut.start()].strip()), NUMERIC.fullmatch(core[cut.end() :].strip())]
        if cut[0] == "/" and all(ends) and {end[2] for end in ends} == {"/"}:
            raise Stop(ask(f"{core!r}: two dates; which is the reading's?", "words", "D21"))
        left, right = core[: cut.start()].strip(" ,"), core[cut.end() :].strip(" ,")
        for first_text, last_text in _ends(left, right):
            found = _both_ends(first_text, last_text, known, borrowed=first_text != left)
            if found:
                return found
    return None


def _ends(left: str, right: str):
    """Ways to write both ends in full."""
    yield left, right
    numeric = NUMERIC.fullmatch(right)
    if numeric and numeric[2] != " " and len(numeric[1]) <= 2:
        mark = numeric[2]
        if re.fullmatch(rf"\d{{1,2}}{re.escape(mark)}\d{{1,2}}\.?", left):
            yield f"{left.rstrip('.')}{mark}{numeric[4]}", right
        elif re.fullmatch(r"\d{1,2}\.?", left):
            yield f"{left.rstrip('.')}{mark}{numeric[3]}{mark}{numeric[4]}", right
    first, last = re.fullmatch(r"(\d{1,2})/\d{1,2}", left), re.fullmatch(r"(\d{1,2})/(\d{4}|\d\d)", right)
    if first and last and int(last[1]) > 12:  # 5/13-15/24
        yield f"{left}/{last[2]}", f"{first[1]}/{right}"
    year = re.search(r"(?:'\d\d|\d{4}|(?<=[a-z][ -])\d\d)$", right)
    if year and re.search("[a-z]", left) and not re.search(r"\d{4}", left):
        yield f"{left} {year[0]}", right


def _both_ends(first_text: str, last_text: str, known: Known, borrowed: bool) -> Found | None:
    triples = [NUMERIC.fullmatch(x) for x in (first_text, last_text)]
    if known.order is None and all(triples):
        order = column_order([first_text, last_text], "")[0]
        if order in ("dmy", "mdy"):
            known = replace(known, order=order, order_from="as the other end shows")
    try:
        ends = [expression(x, known) for x in (first_text, last_text)]
    except Stop as stop:
        if all(triples) and stop.reading.status == ASK:
            raise
        return None
    if None in ends or any(e.first != e.last for e in ends):
        return None
    first, last = ends
    if borrowed and first.first.month > 10 and last.first.month < 3:
        first = replace(first, first=first.first.replace(year=last.first.year - 1))
    if not 0 <= (last.first - first.first).days <= 92:
        raise Stop(ask(f"{first.first} and {last.first}: two dates; which is the reading's?", "words", "D21"))
    return Found(first.first, last.first, first.notes or last.notes, first.doubts + last.doubts, "D10")


# --- digits without marks, weeks, other calendars ---------------------------------------------------------------------

_ERAS = {"令和": 2018, "平成": 1988}


def calendar_signs(low: str) -> Reading | None:
    """Year, month and day with East Asian signs (rules D5 and D18)."""
    found = re.fullmatch(r"(令和|平成)?(\d{1,4}|元) ?[年년] ?(\d{1,2}) ?[月월](?: ?(\d{1,2}) ?[日일])?", low)
    if not found:
        return None
    year = (1 if found[2] == "元" else int(found[2])) + _ERAS.get(found[1], 0)
    month, day = int(found[3]), int(found[4] or 1)
    first = real(year, month, day)
    if first is None or not EARLIEST_YEAR <= year <= LATEST_YEAR:
        return flag(None, None, f"{low!r}: no such day; not taken", "D12")
    if not found[4]:
        return assumed({"low": first.isoformat(), "high": month_end(first).isoformat()}, None, "month only", "D9")
    return assumed(first.isoformat(), None, f"year of {found[1]}", "D18") if found[1] else ok(first.isoformat(), None, "D5")


def weeks_and_quarters(low: str, known: Known) -> Reading | None:
    """Rule D9."""
    found = re.fullmatch(r"(\d{4})-?w(\d{2})-?([1-7])", low)
    if found:
        return _week(int(found[1]), int(found[2]), int(found[3]), known)
    letters = "|".join(sorted(words.WEEK, key=len, reverse=True))
    low = low.removeprefix("iso ")
    found = re.fullmatch(rf"(?:{letters})\.? ?(\d{{1,2}})(?:[ /,.\-]+(?:of )?(\d{{4}})| ?(?:/|') ?(\d{{2}}))?", low)
    turned = re.fullmatch(rf"(\d{{4}})[ /,.\-]*(?:{letters})\.?[ -]?(\d{{1,2}})", low)
    if found and not (found[2] or found[3]):
        return ask(f"{low!r}: the year is missing", "words", "D15")
    if found or turned:
        week, year = (found[1], found[2] or found[3]) if found else (turned[2], turned[1])
        return _week(_full_year(int(year), known) if len(year) == 2 else int(year), int(week), None, known)
    found = re.fullmatch(r"q([1-4])[ /-]?'?(\d{4})|(\d{4})[ /-]?q([1-4])", low)
    if found:
        year, quarter = int(found[2] or found[3]), int(found[1] or found[4])
        if not EARLIEST_YEAR <= year <= LATEST_YEAR:
            return flag(None, None, f"{low!r}: no brake record is of that year; not taken", "D12")
        first = datetime.date(year, 3 * quarter - 2, 1)
        last = month_end(datetime.date(year, 3 * quarter, 1))
        return say(low, Found(first, last, ("quarter",), (), "D9"), {}, False, "", known)
    return None


def _week(year: int, week: int, weekday: int | None, known: Known) -> Reading:
    try:
        first = datetime.date.fromisocalendar(year, week, weekday or 1)
        last = datetime.date.fromisocalendar(year, week, weekday or 7)
    except (ValueError, OverflowError):
        return flag(None, None, f"{year} has no week {week}; not taken", "D12")
    if not EARLIEST_YEAR <= year <= LATEST_YEAR:
        return flag(None, None, f"{year}: no brake record is of that year; not taken", "D12")
    return say(f"{year} week {week}", Found(first, last, () if weekday else ("ISO week",), (), "D9"), {}, False, "", known)


def digits_only(low: str, known: Known) -> Reading | None:
    """Rules D6 to D8: cells of digits, and a point."""
    if not re.fullmatch(r"\d+(?:[.,]\d+)?", low) or re.fullmatch(r"\d{1,2}[.,]\d{1,2}|\d{1,2}[.,]\d{4}|\d{4}[.,]\d{1,2}", low):
        return None
    whole, _, part = low.replace(",", ".").partition(".")
    if int(whole) == 0:
        return refuse("0 in a date cell", "D13")
    if known.numbers_are_days or len(whole) == 5:
        return _day_number(whole, known)
    if part:
        return ask(f"{low!r} cannot be read as a date", "words", "D6")
    if len(whole) in (12, 14) and packed_orders(whole[:8]) == {"ymd"}:
        return say(low, _packed_day(whole[:8], "ymd", ("year, month, day, time",)), {}, False, "", known)
    if len(whole) == 8:
        return _eight(whole, known)
    if len(whole) == 6:
        day = six_digits(whole, known.packed) if known.packed else None
        if day:
            return assumed(day.isoformat(), None, f"{known.packed}: {known.packed_from}", "D6")
        return ask(f"{whole}: in which order are year, month and day?", "date_order", "D6")
    if len(whole) == 7 and EARLIEST_YEAR <= int(whole[:4]) <= LATEST_YEAR:
        found = _day_of_year(int(whole[:4]), int(whole[4:]))
        return flag(found.first.isoformat(), None, "taken as a year and a day of the year", "D6")
    if len(whole) in (10, 13):
        seconds = int(whole) / (1000 if len(whole) == 13 else 1)
        day = (datetime.datetime(1970, 1, 1) + datetime.timedelta(seconds=seconds)).date()
        unit = "milliseconds" if len(whole) == 13 else "seconds"
        return say(low, Found(day, day, (f"{unit} since 1970, world time",), (), "D8"), {}, False, "", known)
    if len(whole) == 4 and 1900 <= int(whole) <= 2100:
        return refuse(f"{whole}: a year only", "D15")
    return refuse(f"{low!r} is no date", "D6")


def _packed_day(text: str, order: str, notes: tuple[str, ...] = ()) -> Found:
    at = {"ymd": (text[:4], text[4:6], text[6:]), "dmy": (text[4:], text[2:4], text[:2]), "mdy": (text[4:], text[:2], text[2:4])}[
        order
    ]
    day = datetime.date(*map(int, at))
    return Found(day, day, notes, (), "D6")


def _eight(text: str, known: Known) -> Reading:
    orders = packed_orders(text)
    if not orders:
        if text in ("00000000", "19000101", "19700101", "99991231", "18991230", "01011900", "01011970"):
            return refuse(f"{text}: the empty date of a program", "D13")
        return flag(None, None, f"{text}: no such day; not taken", "D12")
    if orders == {"ymd"} and known.year_first in ("ydm", "both") and text[4:6] != text[6:] and int(text[6:]) <= 12:
        return ask(f"{text}: another date of the column is year, day, month", "date_order", "D6")
    if len(orders) == 1:
        return say(text, _packed_day(text, next(iter(orders))), {}, False, "", known)
    days = {order: _packed_day(text, order).first for order in orders}
    if len(set(days.values())) == 1:
        return say(text, _packed_day(text, next(iter(orders))), {}, False, "", known)
    if orders == {"dmy", "mdy"} and known.order in orders:
        return say(text, _packed_day(text, known.order, (known.order_from,)), {}, False, "", known)
    return ask(f"{text}: in which order are year, month and day?", "date_order", "D6")


def _day_number(whole: str, known: Known) -> Reading:
    """Rule D7: a spreadsheet's day number, sure only where the file reader knows that the cell is a number."""
    number = int(whole)
    if len(whole) > 6 or number > 80_000:
        return (
            ask(f"{whole}: a spreadsheet's day number?", "words", "D7")
            if not known.numbers_are_days
            else _big_number(whole, known)
        )
    day = known.base + datetime.timedelta(number)
    year, day_of_year = divmod(number, 1000)
    if known.numbers_are_days:
        if number < 2 or day in EMPTY:
            return refuse(f"{whole}: the empty date of a program", "D13")
        system = "1904" if known.base == BASE_1904 else "1900"
        return say(whole, Found(day, day, (f"a spreadsheet's day number, {system} system",), (), "D7"), {}, False, "", known)
    if not 1995 <= day.year <= 2040:
        if len(whole) == 5 and 1 <= day_of_year <= 366:
            return ask(f"{whole}: a year and day of the year, or a spreadsheet's day number?", "words", "D7")
        return ask(f"{whole}: a spreadsheet's day number?", "words", "D7")
    return assumed(day.isoformat(), None, "a spreadsheet's day number, 1900 system", PENDING)


def _big_number(whole: str, known: Known) -> Reading:
    plain = digits_only(whole, replace(known, numbers_are_days=False))
    return plain or ask(f"{whole}: cannot be read as a date", "words", "D7")
