"""Days written without their year, ``10-Jan``, or without month and year, ``3``: what stands over them completes them.

What a sheet's name, a title or a file's name says holds where it can be of no other thing (``Brake checks 2024``, not ``Form rev 2019``);
else a year is asked for each file. Days that go on from one year into the next, November to February, turn it.
"""

import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pandas as pd

from brakedata import cells
from brakedata.cells.told import Told
from brakedata.layouts import LINE_ABOVE
from brakedata.mapping.kinds import Kind, spread

_YEAR = re.compile(r"(?<!\d)(?:19|20)\d\d(?!\d)")
_MONTH = re.compile(r"([^\W\d_]{3,9})\.?[ _-]*((?:19|20)\d\d)(?!\d)")
_DAY = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?\.?")
_DAY_AND_MONTH = re.compile(
    r"(?:\d{1,2}(?:st|nd|rd|th)?[-/. ]+(?:\d{1,2}|[^\W\d_]{3,9})|(?:[^\W\d_]{3,9})[-/. ]+\d{1,2}(?:st|nd|rd|th)?)\.?", re.I
)
_OF_ANOTHER_THING = re.compile(
    r"(?i)\b(?:rev|form|formular|est|established|founded|since|seit|depuis|desde|gegr\w*|model\w*|baujahr|version|ver|copyright|built|edition|"
    r"iso|din|ece|stand)\b|\bv\d|©"
)
_TWO_YEARS = re.compile(r"(?<!\d)((?:19|20)\d\d) ?[-/–] ?(?:19|20)?(\d\d)(?!\d)")
MOSTLY = 0.8
LATE, EARLY = 9, 4
"""A winter's months are September and later of one year, April and earlier of the next."""


def lacking(kind: Kind, column: str) -> str:
    """What most cells of a column of days lack: ``year``, or ``month`` and year where each sheet's name or title says both; else empty."""
    texts = kind.samples(column, 60)
    if not texts:
        return ""
    if np.mean([bool(_DAY_AND_MONTH.fullmatch(text)) for text in texts]) >= MOSTLY:
        ends = [re.findall(r"\d{1,2}", text) for text in texts]
        last = {int(found[-1]) for found in ends if found}
        days_too = any(len(found) > 1 and int(found[0]) > 12 for found in ends)
        as_years = min(last, default=0) >= 15 and (len(last) < 3 or max(last) - min(last) < 3)
        return "" if as_years and not days_too else "year"  # Jan-24, 10/24: a month and its year
    days = [int(found[1]) for text in texts if (found := _DAY.fullmatch(text))]
    if len(days) >= MOSTLY * len(texts) and all(1 <= day <= 31 for day in days) and all(month for _, month, _ in _over(kind)):
        return "month"
    return ""


def _over(kind: Kind) -> list[tuple[str, str, str]]:
    """For each row the year and month that stand over it, and the text that says them; empty where none does, or several."""
    out = []
    for sheet in kind.sheets:
        above = sheet.over[LINE_ABOVE].tolist() if LINE_ABOVE in sheet.over else [""] * len(sheet.cells)
        own = {text: _said(text, title=True) for text in set(above)}
        blocks = any(year for year, *_ in own.values())
        texts = [(sheet.sheet, False), *((text, True) for text in sheet.above if not blocks), (sheet.file, False)]
        every = next((found for text, title in texts if (found := _said(text, title))[0]), ("", "", ""))
        out += [own[text] if own[text][0] else every for text in above]
    return out


def _said(text: str, title: bool) -> tuple[str, str, str]:
    """The year and month that a name or title says, and itself; the first of two years, ``2023-24``."""
    plain = re.sub(r"[_.]+", " ", re.sub(r"\.\w{2,7}$", "", text)).strip()
    two = _TWO_YEARS.search(plain)
    if two and (int(two[1]) + 1) % 100 == int(two[2]):
        return two[1], "", text
    years = set(_YEAR.findall(plain))
    if len(years) != 1 or _OF_ANOTHER_THING.search(plain):
        return "", "", ""
    year = years.pop()
    month = _MONTH.search(plain)
    month = month[1] if month and cells.read("date", [f"1 {month[1]} {month[2]}"])[0].taken else ""
    at_an_end = plain.startswith(year) or plain.rstrip(" .,:;)-").endswith(year)
    return (year, month, text) if month or at_an_end or not title else ("", "", "")


def unsaid(kind: Kind, column: str | None, answers: dict) -> list[str]:
    """The files with days without a year that nothing completes yet."""
    what = lacking(kind, column) if column else ""
    if not what:
        return []
    text, fits = _days(kind, column, what)
    completed_here = {at for *_, rows, _ in _groups(kind, text, fits, what, answers) for at in rows}
    files = kind.place["file"].to_numpy()
    return list(dict.fromkeys(files[at] for at in np.flatnonzero(fits) if at not in completed_here))


def completed(kind: Kind, column: str | None, answers: dict, told: Told) -> Kind:
    """The table with the days of a column completed by what stands over each row, else by the answers; noted (R71)."""
    what = lacking(kind, column) if column else ""
    if not what:
        return kind
    text, fits = _days(kind, column, what)
    out = kind.cells[column].copy()
    for year, month, source, rows, later in _groups(kind, text, fits, what, answers):
        for at, turned in zip(rows, later, strict=True):
            out[at] = _whole(text[at], what, str(int(year) + bool(turned)), month)
        on = f", the next one for {int(later.sum())} of them" if later.any() else ""
        said = f"{what} taken from “{source}”{on}; so in {len(rows)} rows"
        told.noted.append(("R71-assumed", rows[0], column, text[rows[0]], said))
    return replace(kind, cells=kind.cells.assign(**{column: pd.Series(out, dtype="str")}))


def _days(kind: Kind, column: str, what: str) -> tuple[pd.Series, np.ndarray]:
    """The column's texts, and which of them are days that lack this."""
    code, _, texts = kind.coded(column)
    form = (_DAY_AND_MONTH if what == "year" else _DAY).fullmatch
    return spread(code, texts), np.array([bool(form(one)) for one in texts], dtype=bool)[code]


def _groups(kind: Kind, text: pd.Series, fits: np.ndarray, what: str, answers: dict):
    """``year, month, source, rows, later`` of the days that can be completed: those of one file under one name or title, or by its answer.

    ``later`` marks the rows of the year after; a title of two years, ``2023-24``, counts only where the days show the turn.
    """
    files = kind.place["file"].tolist()
    answered = {
        file: (answers.get("years", {}).get(file, answers.get("year", "")), "", "what was answered") for file in set(files)
    }
    groups: dict[tuple, list[int]] = {}
    for at, over in zip(np.flatnonzero(fits), [one for one, fit in zip(_over(kind), fits, strict=True) if fit], strict=True):
        groups.setdefault((files[at], over), []).append(int(at))
    for (file, over), rows in groups.items():
        days = [text[at] for at in rows]
        for year, month, source in (over, answered[file]):
            later = _turned(days, year) if year and what == "year" else None
            if year and (later is not None or not _TWO_YEARS.search(source)):
                yield year, month, source, rows, np.zeros(len(rows), dtype=bool) if later is None else later
                break


def _turned(texts: list[str], year: str) -> np.ndarray | None:
    """Which days, as they stand in a file, are of the year after the first one's; None where they do not show that they turn.

    In order of time but for one step back of half a year; or months of one winter only.
    """
    read = cells.read("date", [_whole(text, "year", year, "") for text in texts])
    month = np.array([int(one.value[5:7]) if isinstance(one.value, str) else 0 for one in read])
    known = month[month > 0]
    back = [at for at, (one, following) in enumerate(pairwise(known), 1) if following < one]
    if len(back) == 1 and known[back[0] - 1] - known[back[0]] >= 6:
        return np.arange(len(texts)) >= np.flatnonzero(month > 0)[back[0]]
    late, early = known >= LATE, known <= EARLY
    return (month > 0) & (month <= EARLY) if late.any() and early.any() and (late | early).all() else None


def _whole(text: str, what: str, year: str, month: str) -> str:
    if what == "month":
        return f"{_DAY.fullmatch(text)[1]} {month} {year}"
    bare = text.rstrip(".")
    mark = next((sign for sign in "/.-" if sign in bare), " ")
    return f"{bare}{mark}{year}"
