"""Days written without their year, ``10-Jan``, or without month and year, ``3``: what stands over the sheet completes them."""

import re
from dataclasses import replace

import numpy as np
import pandas as pd

from brakedata import cells
from brakedata.cells.told import Told
from brakedata.mapping.kinds import Kind, spread

_YEAR = re.compile(r"(?<!\d)(?:19|20)\d\d(?!\d)")
_MONTH = re.compile(r"([^\W\d_]{3,9})\.?[ _-]*((?:19|20)\d\d)(?!\d)")
_DAY = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?\.?")
_DAY_AND_MONTH = re.compile(
    r"(?:\d{1,2}(?:st|nd|rd|th)?[-/. ]+(?:\d{1,2}|[^\W\d_]{3,9})|(?:[^\W\d_]{3,9})[-/. ]+\d{1,2}(?:st|nd|rd|th)?)\.?", re.I
)
MOSTLY = 0.8


def lacking(kind: Kind, column: str) -> str:
    """What most cells of a column of days lack: ``year``, or ``month`` and year where each sheet's name or title says both; else empty."""
    texts = kind.samples(column, 60)
    if not texts:
        return ""
    if np.mean([bool(_DAY_AND_MONTH.fullmatch(text)) for text in texts]) >= MOSTLY:
        last = [int(found[1]) for text in texts if (found := re.search(r"(\d{1,2})(?:st|nd|rd|th)?\.?$", text))]
        return "" if last and (len(set(last)) < 3 or max(last) - min(last) < 3) else "year"  # Jan-24, 10/24: a month and its year
    days = [int(found[1]) for text in texts if (found := _DAY.fullmatch(text))]
    if len(days) >= MOSTLY * len(texts) and all(1 <= day <= 31 for day in days) and all(month for _, month, _ in _over(kind)):
        return "month"
    return ""


def _over(kind: Kind) -> list[tuple[str, str, str]]:
    """The year and the month that the name or the titles of each sheet say, and which of them; empty where none does, or several."""
    out = []
    for sheet in kind.sheets:
        said = ("", "", "")
        for text in (sheet.sheet, *sheet.above, sheet.file):
            years = set(_YEAR.findall(text))
            if len(years) == 1:
                month = _MONTH.search(text)
                month = month[1] if month and cells.read("date", [f"1 {month[1]} {month[2]}"])[0].taken else ""
                said = years.pop(), month, text
                break
        out.append(said)
    return out


def completed(kind: Kind, column: str | None, answer: str, told: Told) -> Kind:
    """The table with the days of a column completed by what stands over each sheet, else by the answer; noted (R71)."""
    what = lacking(kind, column) if column else ""
    if not what:
        return kind
    over = [said if said[0] else (answer, "", "what was answered") for said in _over(kind)]
    of = {(sheet.file, sheet.sheet): at for at, sheet in enumerate(kind.sheets)}
    sheet = np.array([of[pair] for pair in zip(kind.place["file"], kind.place["sheet"], strict=True)], dtype="int64")
    code, _, texts = kind.coded(column)
    text, out = spread(code, texts), kind.cells[column].copy()
    form = (_DAY_AND_MONTH if what == "year" else _DAY).fullmatch
    fits = np.array([bool(form(one)) for one in texts], dtype=bool)[code]
    for at, (year, month, source) in enumerate(over):
        mine = fits & (sheet == at)
        if not year or not mine.any():
            continue
        out[mine] = [_whole(one, what, year, month) for one in text[mine]]
        first = int(np.flatnonzero(mine)[0])
        told.noted.append(
            ("R71-assumed", first, column, text[first], f"{what} taken from “{source}”; so in {int(mine.sum())} rows")
        )
    return replace(kind, cells=kind.cells.assign(**{column: pd.Series(out, dtype="str")}))


def _whole(text: str, what: str, year: str, month: str) -> str:
    if what == "month":
        return f"{_DAY.fullmatch(text)[1]} {month} {year}"
    bare = text.rstrip(".")
    mark = next((sign for sign in "/.-" if sign in bare), " ")
    return f"{bare}{mark}{year}"
