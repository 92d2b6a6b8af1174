"""Days and the order of their numbers: what a column shows (rule D1), and what every found day is held against."""

import calendar
import datetime
import re
from dataclasses import dataclass

from brakedata.cells import text as t
from brakedata.cells import words
from brakedata.cells.reading import Reading, assumed, flag, ok, refuse

EARLIEST_YEAR, LATEST_YEAR = 1980, 2035
"""Years a brake record can be of; not by the clock, since the same records give the same answer on every day."""
LIKELY_YEARS = range(15, 28)
"""Two digits that look like a recent year as much as like a day."""
EMPTY = {
    datetime.date(*day)
    for day in (
        (1, 1, 1), (1753, 1, 1), (1899, 1, 1), (1899, 12, 30), (1899, 12, 31), (1900, 1, 1), (1900, 12, 31), (1901, 1, 1),
        (1904, 1, 1), (1969, 12, 31), (1970, 1, 1), (1980, 1, 1), (2099, 12, 31), (2999, 12, 31), (9999, 1, 1), (9999, 12, 31),
    )
}  # fmt: skip
"""What programs write for no date (common practice, no source)."""
PENDING = "D7 pending"
"""Rule of a day number that the column's other dates have yet to settle."""
BASE_1900, BASE_1904 = datetime.date(1899, 12, 30), datetime.date(1904, 1, 1)


@dataclass(frozen=True, slots=True)
class Known:
    """What the column and the hints say about every cell of the column."""

    order: str | None = None  # dmy, mdy, both or None: dates with the year last
    order_from: str = ""
    year_first: str | None = None  # ymd, ydm, both or None: dates with the year first
    short_year: str | None = None  # first or last: where two-digit years stand
    packed: str | None = None  # the order of six-digit cells
    packed_from: str = ""
    country: str = ""
    numbers_are_days: bool = False
    base: datetime.date = BASE_1900
    as_of: datetime.date | None = None
    weekdays: frozenset[int] = frozenset()  # named in the cell itself


@dataclass(frozen=True, slots=True)
class Found:
    """A day, or the first and last day of an interval."""

    first: datetime.date
    last: datetime.date
    notes: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    rule: str = "D1"


class Stop(Exception):
    """A reading found on the way: nothing more to look at."""

    def __init__(self, reading: Reading):
        super().__init__(reading.assumed)
        self.reading = reading


NUMERIC = re.compile(r"(?<![\d.])(\d{1,5}) ?([-/.\\ ,_]) ?(\d{1,2}) ?\2 ?(\d{1,5})(?![\d])")
TRIPLE = re.compile(r"(\d{1,4})[-/.](\d{1,2})[-/.](\d{1,4})(?:[T ]\d{1,2}:[\d:.]{2,15}Z?)?")
_NAMED_SHORT = re.compile(r"(\d{1,2})[-/. ]?([a-z]{3,9})\.?[-/. ]?(\d{2})")
_PACKED_8 = re.compile(r"\d{8}")


def column_order(clear: list[str], country: str):
    """What the column's dates show: order, where from, order of year-first dates, place of short years, packed order."""
    triples = []
    for text in clear:
        quick = TRIPLE.fullmatch(text)
        if quick:
            triples.append(quick.groups())
        elif not text.isdigit():
            triples += [m.group(1, 3, 4) for m in NUMERIC.finditer(t.letters_to_digits(text) or text)]
    named = [m.group(1, 2, 3) for text in clear if not text.isdigit() and (m := _NAMED_SHORT.fullmatch(t.fold(text)))]
    named = [x for x in named if x[1] in words.MONTHS]
    short = _short_years([x for x in [*triples, *named] if len(x[0]) <= 2 and len(x[2]) == 2])
    day_first, month_first, ymd, ydm = [], [], [], []
    for a, b, c in triples:
        first, second, third = int(a), int(b), int(c)
        if len(a) == 4:
            if second > 12 >= third >= 1 and second <= 31:
                ydm.append(a)
            elif third > 12 >= second >= 1 and third <= 31:
                ymd.append(a)
        elif len(a) <= 2 and len(c) in (2, 4):
            doubtful = len(c) == 2 and first in LIKELY_YEARS and short != "last"
            if 12 < first <= 31 and 1 <= second <= 12 and not doubtful and short != "first":
                day_first.append(f"{a}/{b}/{c}")
            elif 12 < second <= 31 and 1 <= first <= 12 and short != "first":
                month_first.append(f"{a}/{b}/{c}")
    packed_ydm: list[str] = []
    for text in clear:
        if _PACKED_8.fullmatch(text):
            orders = packed_orders(text)
            if orders == {"dmy"}:
                day_first.append(text)
            elif orders == {"mdy"}:
                month_first.append(text)
            elif (
                not orders
                and EARLIEST_YEAR <= int(text[:4]) <= LATEST_YEAR
                and real(int(text[:4]), int(text[6:]), int(text[4:6]))
            ):
                packed_ydm.append(text)
            elif orders == {"ymd"} and int(text[6:]) > 12:
                ymd.append(text)
    ydm += packed_ydm if not ymd else []  # among dates of year, month, day it is a slip
    order = "both" if day_first and month_first else "dmy" if day_first else "mdy" if month_first else None
    shown = (day_first + month_first)[:1]
    order_from = f"as {shown[0]} in the column shows" if shown else ""
    year_first = "both" if ymd and ydm else "ymd" if ymd else "ydm" if ydm else None
    return order, order_from, year_first, short, _packed_6([c for c in clear if re.fullmatch(r"\d{6}", c)])


def _short_years(triples) -> str | None:
    """Whether two-digit years stand first or last: from cells where one of the two cannot be a recent year."""
    firsts, lasts = {int(a) for a, _, _ in triples}, {int(c) for _, _, c in triples}
    if len(firsts | lasts) < 2:
        return None
    last = (
        any(a not in LIKELY_YEARS and a <= 31 for a in firsts)
        or any(c > 31 for c in lasts)
        or (len(lasts) == 1 and len(firsts) > 1)
    )
    first = any(a > 31 for a in firsts) or (len(firsts) == 1 and len(lasts) > 1)
    if first and last:
        return None
    return "first" if first else "last" if last else None


def real(year: int, month: int, day: int) -> datetime.date | None:
    """The day, or None when there is none such."""
    try:
        return datetime.date(year, month, day)
    except ValueError:
        return None


def packed_orders(text: str) -> set[str]:
    """Orders in which eight digits are a day of a year a record can be of."""
    tries = {
        "ymd": (text[:4], text[4:6], text[6:]),
        "dmy": (text[4:], text[2:4], text[:2]),
        "mdy": (text[4:], text[:2], text[2:4]),
    }
    return {
        name
        for name, (y, m, d) in tries.items()
        if EARLIEST_YEAR <= int(y) <= LATEST_YEAR and real(int(y), int(m), int(d)) is not None
    }


def six_digits(text: str, order: str) -> datetime.date | None:
    """Six digits read in one order, of a recent year; None when they are no such day."""
    two = {"ymd": (0, 2, 4), "dmy": (4, 2, 0), "mdy": (4, 0, 2)}[order]
    year, month, day = (int(text[i : i + 2]) for i in two)
    return real(2000 + year, month, day) if year < LIKELY_YEARS.stop else None


def _packed_6(cells: list[str]) -> str | None:
    fits = [order for order in ("ymd", "dmy", "mdy") if len(cells) > 1 and all(six_digits(c, order) for c in cells)]
    return fits[0] if len(fits) == 1 else None


def say(clear: str, found: Found, weekdays: dict[str, int], about: bool, bound: str, known: Known) -> Reading:
    """The reading of a found day or interval, held against weekday, years and the day of the records."""
    notes, doubts = list(found.notes), list(found.doubts)
    for day in (found.first, found.last):
        if day in EMPTY:
            return refuse(f"{clear!r}: the empty date of a program", "D13")
        if not EARLIEST_YEAR <= day.year <= LATEST_YEAR:
            return flag(None, None, f"{clear!r} reads {day}: no brake record is of that year; not taken", "D12")
    if known.as_of and found.first > known.as_of:
        doubts.append(f"after the day the records were taken ({known.as_of})")
    if found.first == found.last == datetime.date(2000, 1, 1):
        doubts.append("the first day of 2000 is often a program's empty date")
    if found.first != found.last and weekdays and not bound:
        doubts.append("a weekday is named, but the day is missing")
    if found.first == found.last and any(found.first.weekday() != w for w in weekdays.values()):
        doubts.append(f"{found.first} was a {calendar.day_name[found.first.weekday()]}")
    notes += ["about"] if about else []
    first, last = found.first.isoformat(), found.last.isoformat()
    value: object = first if first == last else {"low": first, "high": last}
    if bound and bound != "interval":
        value = {"low": None, "high": last} if bound == "before" else {"low": first, "high": None}
        notes.append(f"{bound} that day")
    elif first != last:
        notes.append("some day of those")
    rule = "D11" if bound in ("before", "after") else found.rule
    if doubts:
        return flag(value, None, "; ".join(doubts + notes), "D20" if "after the day" in doubts[0] else rule)
    return assumed(value, None, "; ".join(notes), rule) if notes else ok(value, None, rule)
