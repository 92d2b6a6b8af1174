"""Days written without their year, ``10-Jan``, without month and year, ``3``, or as a month, ``Jan 2024``: what stands over them completes them.

What a sheet's name, a title or a file's name says holds where it can be of no other thing (``Brake checks 2024``, not ``Form rev 2019``);
else a year is asked for each file. Days that go on from one year into the next, November to February, turn it.
"""

import re
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from brakedata import cells, headings
from brakedata.cells import text as cell_text
from brakedata.cells.told import Told
from brakedata.mapping import names
from brakedata.mapping.kinds import Kind, spread

_YEAR = re.compile(r"(?<!\d)(?:19|20)\d\d(?!\d)")
_MONTH = re.compile(r"([^\W\d_]{3,9})\.?[ _-]*((?:19|20)\d\d)(?!\d)")
_DAY = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?\.?")
_DAY_AND_MONTH = re.compile(
    r"(?:\d{1,2}(?:st|nd|rd|th)?[-/. ]+(?:\d{1,2}|[^\W\d_]{3,9})|(?:[^\W\d_]{3,9})[-/. ]+\d{1,2}(?:st|nd|rd|th)?)\.?", re.I
)
_NAMED_MONTH = re.compile(r"([^\W\d_]{3,9})\.?[-/. ]+(\d\d)\.?")
_MONTH_AND_YEAR = re.compile(
    r"[^\W\d_]{3,9}\.?[-/. ]*(?:(?:19|20)|')\d\d|(?:0?[1-9]|1[0-2]) ?[-/.] ?(?:19|20)\d\d|(?:19|20)\d\d ?[-/.] ?(?:0?[1-9]|1[0-2])"
)
_SAYS_NOTHING = headings.BRAKES | frozenset(
    "check checks checked inspection inspections service services servicing log logs sheet record records history measurement measurements reading "
    "readings data list report year winter summer season quarter fleet vehicle vehicles workshop export jahr kontrolle kontrollen prufung prufungen "
    "messung messungen werkstatt annee controle controles releve releves atelier ano revision revisiones control controles taller anno controlli "
    "controllo jaar controle inspectie rok kontrola q pads of for the and de der des del".split()
)
"""Words beside a year that leave it the year of the records: ``Brake checks 2024``, not ``Bus 2014`` or ``Form rev 2019``."""
_TWO_YEARS = re.compile(r"(?<!\d)((?:19|20)\d\d) ?[-/–] ?(?:19|20)?(\d\d)(?!\d)")
MOSTLY = 0.8
HALF_A_YEAR = 6
"""Months that a day must stand back behind the one before it to be of the next year, and no slip in the order."""


@dataclass(frozen=True)
class Columns:
    """The columns that say when: the day's, and those by which its order shows; None where there is none."""

    date: str | None
    vehicle: str | None = None
    odometer: str | None = None


def lacking(kind: Kind, column: str) -> str:
    """What most cells of a column of days lack: ``year``, ``day``, or ``month`` and year where each sheet's name or title says both; else empty."""
    texts = kind.samples(column, 60)
    if not texts:
        return ""
    if np.mean([bool(_MONTH_AND_YEAR.fullmatch(text)) for text in texts]) >= MOSTLY:
        return "day"
    if np.mean([bool(_DAY_AND_MONTH.fullmatch(text)) for text in texts]) >= MOSTLY:
        ends = [re.findall(r"\d{1,2}", text) for text in texts]
        last = {int(found[-1]) for found in ends if found}
        days_too = any(len(found) > 1 and int(found[0]) > 12 for found in ends) or any(
            len(found) == 1 and text[0].isdigit() for found, text in zip(ends, texts, strict=True)
        )  # 15-Jan
        as_years = min(last, default=0) >= 15 and (len(last) < 3 or max(last) - min(last) < 3)
        if as_years and not days_too:  # Jan-24, 10/24: a month and its year
            few = len(texts) > len(last) and max(last) - min(last) < 3
            return "day" if few and all(map(_NAMED_MONTH.fullmatch, texts)) else ""
        return "year"
    days = [int(found[1]) for text in texts if (found := _DAY.fullmatch(text))]
    if len(days) >= MOSTLY * len(texts) and all(1 <= day <= 31 for day in days) and all(month for _, month, _ in _over(kind)):
        return "month"
    return ""


def _over(kind: Kind) -> list[tuple[str, str, str]]:
    """For each row the year and month that stand over it, and the text that says them; empty where none does, or several."""
    above, sheet, titles, file = names.over(kind)
    own = {text: _said(text) for text in {*above, *sheet, *file, *(line for text in titles for line in text.split("\n"))}}
    blocks = any(own[text][0] for text in above)
    out = []
    for line, name, title, stem in zip(above, sheet, titles, file, strict=True):
        every = [line, name, *(() if blocks else title.split("\n")), stem]
        out.append(next((own[text] for text in every if own[text][0]), ("", "", "")))
    return out


def _said(text: str) -> tuple[str, str, str]:
    """The year and month that a name or title says, and itself; the first of two years, ``2023-24``."""
    two = _TWO_YEARS.search(text)
    both = two and (int(two[1]) + 1) % 100 == int(two[2])
    years = {two[1]} if both else set(_YEAR.findall(text))
    month = _MONTH.search(text.replace("_", " "))
    named = month and not both and cells.read("date", [f"1 {month[1]} {month[2]}"])[0].taken
    rest = {word for word in headings.tokens(text) if not word.isdigit()} - ({cell_text.fold(month[1])} if named else set())
    if len(years) != 1 or not rest <= _SAYS_NOTHING:
        return "", "", ""
    return years.pop(), month[1] if named else "", text


def unsaid(kind: Kind, columns: Columns, answers: dict) -> list[str]:
    """The files with days without a year that nothing completes yet."""
    what = lacking(kind, columns.date) if columns.date else ""
    if what in ("", "day"):
        return []
    text, fits = _days(kind, columns.date, what)
    completed_here = {at for *_, rows, _ in _groups(kind, columns, text, fits, what, answers) for at in rows}
    files = kind.place["file"].to_numpy()
    told = {*answers.get("years", {}), *(files if answers.get("year") else ())}
    return [
        file for file in dict.fromkeys(files[at] for at in np.flatnonzero(fits) if at not in completed_here) if file not in told
    ]


def completed(kind: Kind, columns: Columns, answers: dict, told: Told) -> Kind:
    """The table with the days of a column completed by what stands over each row, else by the answers; noted (R71)."""
    column = columns.date
    what = lacking(kind, column) if column else ""
    if not what:
        return kind
    if what == "day":
        return _with_whole_years(kind, column, told)
    text, fits = _days(kind, column, what)
    out = kind.cells[column].copy()
    for year, month, source, rows, later in _groups(kind, columns, text, fits, what, answers):
        for at, more in zip(rows, later, strict=True):
            out[at] = _whole(text[at], what, str(int(year) + int(more)), month)
        on = f", a later one for {int((later > 0).sum())} of them" if later.any() else ""
        said = f"{what} taken from “{source}”{on}; so in {len(rows)} rows"
        told.noted.append(("R71-assumed", rows[0], column, text[rows[0]], said))
    return replace(kind, cells=kind.cells.assign(**{column: pd.Series(out, dtype="str")}))


def _with_whole_years(kind: Kind, column: str, told: Told) -> Kind:
    """The table with months and two figures of their year, ``Jan 24``, as a month and a year; noted (R71)."""
    code, _, plain = kind.coded(column)
    whole = [as_month(text) for text in plain]
    short = np.array([one != text for one, text in zip(whole, plain, strict=True)], dtype=bool)
    if not short.any():
        return kind
    at = int(np.flatnonzero(short[code])[0])
    said = f"taken for the month {whole[code[at]]}; so in {int(short[code].sum())} rows"
    told.noted.append(("R71-assumed", at, column, plain[code[at]], said))
    return replace(kind, cells=kind.cells.assign(**{column: spread(code, whole)}))


def as_month(text: str) -> str:
    """A month and two figures of its year with all four, ``Jan 2024`` of ``Jan 24``; any other text as it is."""
    found = _NAMED_MONTH.fullmatch(text)
    return f"{found[1]} 20{found[2]}" if found else text


def _days(kind: Kind, column: str, what: str) -> tuple[pd.Series, np.ndarray]:
    """The column's texts, and which of them are days that lack this."""
    code, _, texts = kind.coded(column)
    form = (_DAY_AND_MONTH if what == "year" else _DAY).fullmatch
    return spread(code, texts), np.array([bool(form(one)) for one in texts], dtype=bool)[code]


def _groups(kind: Kind, columns: Columns, text: pd.Series, fits: np.ndarray, what: str, answers: dict):
    """``year, month, source, rows, later`` of the days that can be completed: those of one file under one name or title, or by its answer.

    ``later`` says how many years after the first one each row is. A title of two years, ``2023-24``, counts only where the days show the turn.
    """
    files, over = kind.place["file"].tolist(), _over(kind)
    groups: dict[tuple, list[int]] = {}
    for at in np.flatnonzero(fits):
        groups.setdefault((files[at], over[at]), []).append(int(at))
    for (file, named), rows in groups.items():
        answered = answers.get("years", {}).get(file, answers.get("year", "")), "", "what was answered"
        for year, month, source in (named, answered):
            if not year:
                continue
            later = _later(kind, columns, text, rows, year) if what == "year" else np.zeros(len(rows), dtype=int)
            known = later >= 0
            if known.any() and (later.max() > 0 or not _TWO_YEARS.search(source)):
                yield year, month, source, [at for at, one in zip(rows, known, strict=True) if one], later[known]
                break


def _later(kind: Kind, columns: Columns, text: pd.Series, rows: list[int], year: str) -> np.ndarray:
    """How many years after the first day each of these days is, shape (rows,); -1 where that cannot be told.

    Each vehicle's days go on as its odometer does, else as they stand; one that steps back by half a year is of the next year. A vehicle
    that shows no such step, in a file where others do, has its days in or about the months on one side of the step, or they are not told.
    """
    read = cells.read("date", [_whole(text[at], "year", year, "") for at in rows])
    month = np.array([int(one.value[5:7]) if isinstance(one.value, str) else 0 for one in read])
    who = kind.stripped(columns.vehicle).to_numpy()[rows] if columns.vehicle else np.full(len(rows), "")
    km = _plain_numbers(kind, columns.odometer)[rows] if columns.odometer else np.full(len(rows), np.nan)
    frame = pd.DataFrame({"at": range(len(rows)), "who": who, "km": km, "month": month})
    frame = frame[frame["month"] > 0]
    step = frame.groupby("who", sort=False)["month"].diff()
    small = step[step.abs() < HALF_A_YEAR]
    by = ["km"] if frame["km"].notna().all() else ["at"]
    ordered = frame.sort_values(by, ascending=by == ["km"] or bool((small > 0).sum() >= (small < 0).sum()), kind="stable")
    ordered = ordered.sort_values("who", kind="stable")
    back = ordered.groupby("who", sort=False)["month"].diff().le(-HALF_A_YEAR)
    turns = back.groupby(ordered["who"], sort=False).cumsum()
    out = np.zeros(len(rows), dtype=int)
    alone = ~frame["who"].duplicated(keep=False).any() and len(frame) > 2  # a visit each: the file's own order is all there is
    if alone:
        steps = frame["month"].diff()
        once = steps.lt(0).sum() == 1 and steps.min() <= -HALF_A_YEAR
        out[frame["at"]] = steps.lt(0).cumsum() if once else 0
        return out
    out[ordered["at"]] = turns
    turning = set(ordered.loc[back, "who"])
    others = ordered[~ordered["who"].isin(turning)]
    if not turning or not len(others):
        return out
    before, after = (ordered.loc[ordered["who"].isin(turning) & side, "month"] for side in (turns == 0, turns > 0))
    gap = before.min() - after.max() if turns.max() == 1 else 0
    sides = (others["month"] <= after.max() + gap / 3, others["month"] >= before.min() - gap / 3)
    late, early = ((side & (gap > 0)).groupby(others["who"]).transform("any") for side in sides)
    out[others["at"]] = np.where(late != early, late.astype(int), -1)
    return out


def _plain_numbers(kind: Kind, column: str) -> np.ndarray:
    """The digits of each cell of a column as a number, NaN where there are none."""
    return pd.to_numeric(kind.stripped(column).str.replace(r"\D", "", regex=True), errors="coerce").to_numpy(dtype=float)


def _whole(text: str, what: str, year: str, month: str) -> str:
    if what == "month":
        return f"{_DAY.fullmatch(text)[1]} {month} {year}"
    bare = text.rstrip(".")
    mark = next((sign for sign in "/.-" if sign in bare), " ")
    return f"{bare}{mark}{year}"
