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
from brakedata.layouts import Sheet, without_weekday
from brakedata.mapping import names
from brakedata.mapping.kinds import Kind, is_day, spread

_YEAR = re.compile(r"(?<!\d)(?:19|20)\d\d(?!\d)")
_MONTH = re.compile(r"([^\W\d_]{3,9})\.?[ _-]*((?:19|20)\d\d)(?!\d)")
_DAY = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?\.?")
_DAY_AND_MONTH = re.compile(
    r"(?:\d{1,2}(?:st|nd|rd|th)?[-/. ]+(?:\d{1,2}|[^\W\d_]{3,9})|(?:[^\W\d_]{3,9})[-/. ]+\d{1,2}(?:st|nd|rd|th)?)\.?", re.I
)
_NAMED_MONTH = re.compile(r"([^\W\d_]{3,9})\.?[-/. ]+(\d\d)\.?")
_NUMBERED_MONTH = re.compile(r"(0?[1-9]|1[0-2])[-/.](\d\d)")
_OR_A_YEAR = re.compile(r"(?:[^\W\d_]{3,9}|0?[1-9]|1[0-2])\.?[-/. ]+(?:1[3-9]|[2-9]\d)\.?")
"""``Jan 24``, ``02/24``: a day of a month, or a month of a year."""
_MONTH_AND_YEAR = re.compile(
    r"[^\W\d_]{3,9}\.?[-/. ]*(?:(?:19|20)|')\d\d|(?:0?[1-9]|1[0-2]) ?[-/.] ?(?:19|20)\d\d|(?:19|20)\d\d ?[-/.] ?(?:0?[1-9]|1[0-2])"
)
_SAYS_NOTHING = headings.BRAKES | frozenset(
    "check checks checked inspection inspections service services servicing log logs sheet record records history measurement measurements reading "
    "book notebook diary carnet cahier libreta cuaderno buch heft boek schrift quaderno in mm 32nds inch zoll "
    "vans buses trucks cars coaches taxis lorries minibuses trailers ambulances tractors "
    "readings data list report year winter summer season quarter fleet vehicle vehicles workshop export jahr kontrolle kontrollen prufung prufungen "
    "messung messungen werkstatt annee controle controles releve releves atelier ano revision revisiones control controles taller anno controlli "
    "controllo jaar controle inspectie rok kontrola q pads of for the and de der des del".split()
)
"""Words beside a year that leave it the year of the records: ``Brake checks 2024``, not ``Bus 2014`` or ``Form rev 2019``."""
_TWO_YEARS = re.compile(r"(?<!\d)((?:19|20)\d\d) ?[-/–] ?(?:19|20)?(\d\d)(?!\d)")
_A_DATE = re.compile(
    r"(?<!\d)(?:\d{1,2}[-/._]\d{1,2}[-/._](?:19|20)\d\d|(?:19|20)\d\d([-/._])[01]?\d\1[0-3]?\d|(?:19|20)\d\d[01]\d[0-3]\d)(?!\d)"
)
_A_NAMED_DATE = re.compile(
    r"(?<!\d)\d{1,2}(?:st|nd|rd|th)?\.?[ _-](?:of )?([^\W\d_]{3,9})\.?,?[ _-](?:19|20)\d\d(?!\d)|"
    r"([^\W\d_]{3,9})\.? \d{1,2}(?:st|nd|rd|th)?,? (?:19|20)\d\d(?!\d)",
    re.I,
)
_A_LABEL = re.compile(r"(?i)year|yr|jahr|baujahr|annee|année|ano|año|anno|jaar|bouwjaar|rok")
_DATED_NAME = re.compile(r"(?<!\d)((?:19|20)\d\d)[-_. ]?(0[1-9]|1[0-2])(?![-_.]?\d)")
"""A file's name that ends in a year and month: ``dollies 2026-03``."""
MONTH_OF_A_NAME = " of month "
MOSTLY = 0.8
SOME = 0.1
"""So many days without a year among whole ones are worth a question; fewer are left out one by one, and said."""
HALF_A_YEAR = 6
"""Months that a day must stand back behind the one before it to be of the next year, and no slip in the order."""
NEXT_MONTHS = 10
"""Months that it stands back where it is of the next two months of the new year: one step onward then is enough to show the order."""
MOST_STEP = 3
"""How many times as much as at any other step an odometer that stands out of order may go on at one."""


@dataclass(frozen=True)
class Columns:
    """The columns that say when: the day's, and those by which its order shows; None where there is none."""

    date: str | None
    vehicle: str | None = None
    odometer: str | None = None


def lacking(kind: Kind, column: str) -> str:
    """What most cells of a column of days lack: ``year``, ``day``, or ``month`` and year where each sheet's name or title says both; else empty."""
    texts = [without_weekday(text) for text in kind.samples(column, 60)]
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
            named = all(map(_NAMED_MONTH.fullmatch, texts)) or len(texts) > 2 and len(last) == 1  # 01/24, 02/24, 03/24
            return "day" if few and named else ""
        return "year"
    days = [int(found[1]) for text in texts if (found := _DAY.fullmatch(text))]
    if len(days) >= MOSTLY * len(texts) and all(1 <= day <= 31 for day in days) and all(month for _, month, _ in _over(kind)):
        return "month"
    return ""


def mixed(kind: Kind, column: str) -> bool:
    """Whether nearly all cells of a column are days, some of them whole and some without their year or as a month."""
    texts = [without_weekday(text) for text in kind.samples(column, 60)]
    parts = sum(bool(_DAY_AND_MONTH.fullmatch(text) or _MONTH_AND_YEAR.fullmatch(text)) for text in texts)
    return kind.holds(column).date > 0 and parts + sum(map(is_day, texts)) >= MOSTLY * len(texts)


def _lacks(kind: Kind, column: str) -> str:
    """What days of a column lack, as `lacking`; the year too where only some of them do, which no whole days around them show."""
    if what := lacking(kind, column):
        return what
    some = mixed(kind, column) and _days(kind, column, "year")[1].sum() >= SOME * kind.holds(column).filled
    return "year" if some else ""


def _over(kind: Kind) -> list[tuple[str, str, str]]:
    """For each row the year and month that stand over it, and the text that says them; empty where none does, or several.

    A sheet ``January`` under a title or a file's name ``Vans 2024`` is of that month; beside sheets of a turn of the year, December and
    January, only where that says two years.
    """
    above, sheet, titles, file = names.over(kind)
    cards = np.repeat([_card(sheet) for sheet in kind.sheets], [len(sheet.cells) for sheet in kind.sheets])
    lines_of = {(title, card): _of_the_records(title.split("\n"), card) for title, card in set(zip(titles, cards, strict=True))}
    own = {text: _said(text) for text in {*above, *sheet, *file, *(line for lines in lines_of.values() for line in lines)}}
    months = _months(kind)
    turns = _turns(kind, months)
    blocks = any(own[text][0] for text in above)
    out = []
    for line, name, title, stem, card in zip(above, sheet, titles, file, cards, strict=True):
        every = [*_of_the_records([line], card), name, *(() if blocks else lines_of[title, card]), stem]
        year, month, source = next((own[text] for text in every if own[text][0]), ("", "", ""))
        if not year and (dated := _DATED_NAME.search(stem)):  # whatever else it says: only where all days are of that month
            year, source = dated[1], f"{stem}{MONTH_OF_A_NAME}{int(dated[2])}"
        if name in months and not month:
            turn, last = turns[stem, name], max(turn for (its, _), turn in turns.items() if its == stem)
            sure = year and (not last or last == 1 and _TWO_YEARS.search(source))
            year, month, source = str(int(year) + turn) if sure else "", name, ", ".join(filter(None, (name, source)))
        out.append((year, month, source))
    return out


def _months(kind: Kind) -> dict[str, int]:
    """The names of sheets that are a month and no more, with its number."""
    return {sheet.sheet: month for sheet in kind.sheets if sheet.sheet.isalpha() and (month := _month_of(sheet.sheet))}


def _turns(kind: Kind, months: dict[str, int]) -> dict[tuple[str, str], int]:
    """How often the year turns before each sheet named by a month, April to March, in the order in which they stand in their file.

    From March back to January it does not turn.
    """
    of: dict[str, list[str]] = {}
    for sheet in kind.sheets:
        its = of.setdefault(sheet.file.rpartition(".")[0], [])
        its += [sheet.sheet] if sheet.sheet in months and sheet.sheet not in its else []
    out = {}
    for file, its in of.items():
        steps = np.diff([months[name] for name in its])
        back = np.cumsum(steps < 0) if (steps > 0).any() else np.zeros(len(steps), dtype=int)
        out |= {(file, name): int(turn) for name, turn in zip(its, [0, *back], strict=False)}
    return out


def _card(sheet: Sheet) -> bool:
    """Whether a sheet is of one vehicle, or describes one over its table: a year under a label there may be that of its model."""
    columns = {headings.meaning(column).role for column in sheet.headers}
    labels = {headings.meaning(text.partition(":")[0]).role for text in (*sheet.above, *sheet.over)}
    return not columns & {"vehicle_id", "vin"} or bool(labels & {"vehicle_id", "vin", "description"})


def _of_the_records(lines: list[str], card: bool) -> list[str]:
    """Title lines without a year under its label, ``Year: 2016``, in one cell or in two, where that may be the vehicle's (``card``)."""
    if not card:
        return lines
    labels = [text.partition(":")[0].strip() for text in lines]
    labelled = [
        _A_LABEL.fullmatch(label) and (":" in text or label == text.strip()) for label, text in zip(labels, lines, strict=True)
    ]
    behind = [False, *(label and not text.partition(":")[2].strip() for label, text in zip(labelled, lines, strict=True))]
    return [
        text
        for text, own, its in zip(lines, labelled, behind, strict=False)
        if not own and not (its and _YEAR.fullmatch(text.strip()))
    ]


def _said(text: str) -> tuple[str, str, str]:
    """The year and month that a name or title says, and itself; the first of two years, ``2023-24``; nothing from a day's date.

    The day of a report, or of its export, may be of the year after its records.
    """
    if _A_DATE.search(text) or any(_is_month(one[1] or one[2]) for one in _A_NAMED_DATE.finditer(text)):
        return "", "", ""
    two = _TWO_YEARS.search(text)
    both = two and (int(two[1]) + 1) % 100 == int(two[2])
    years = {two[1]} if both else set(_YEAR.findall(text))
    month = _MONTH.search(text.replace("_", " "))
    named = month and not both and _is_month(month[1])
    rest = {word for word in headings.tokens(text) if not word.isdigit()} - ({cell_text.fold(month[1])} if named else set())
    if len(years) != 1 or not rest <= _SAYS_NOTHING:
        return "", "", ""
    return years.pop(), month[1] if named else "", text


def _is_month(word: str) -> bool:
    return bool(_month_of(word))


def _month_of(word: str) -> int:
    """The month that a word names, 1 to 12; 0 where it names none."""
    read = cells.read("date", [f"1 {word} 2024"])[0]
    return int(read.value[5:7]) if read.taken and isinstance(read.value, str) else 0


def unsaid(kind: Kind, columns: Columns, answers: dict) -> list[str]:
    """The files with days without a year that nothing completes yet."""
    kind = _between_whole_days(kind, columns.date, answers, Told()) if columns.date else kind
    what = _lacks(kind, columns.date) if columns.date else ""
    if what in ("", "day"):
        return []
    text, fits = _days(kind, columns.date, what)
    completed_here = {at for *_, rows, _ in _groups(kind, columns, text, fits, what, answers) for at in rows}
    files = kind.place["file"].to_numpy()
    told = {*answers.get("years", {}), *(files if answers.get("year") else ())}
    told -= answers.get("years_from", {}).keys() - {files[at] for at in completed_here}  # next year's under the same name
    return [
        file for file in dict.fromkeys(files[at] for at in np.flatnonzero(fits) if at not in completed_here) if file not in told
    ]


def first_days(kind: Kind, columns: Columns, answers: dict) -> dict[str, str]:
    """The first day, ``YYYY-MM-DD``, that each file's answered year gave."""
    kind = _between_whole_days(kind, columns.date, answers, Told()) if columns.date else kind
    what = _lacks(kind, columns.date) if columns.date else ""
    if what != "year":
        return {}
    text, fits = _days(kind, columns.date, what)
    files, out = kind.place["file"].to_numpy(), {}
    for year, _, source, rows, later in _groups(kind, columns, text, fits, what, answers):
        if source == ANSWERED and files[rows[0]] in answers.get("years", {}):
            out[files[rows[0]]] = str(_first_day(columns.date, text, rows, year, later, answers))
    return {file: day for file, day in out.items() if day != "NaT"}


def _first_day(column: str, text: pd.Series, rows: list[int], year: str, later: np.ndarray, answers: dict) -> np.datetime64:
    """The first of these days, each so many years ``later`` than the first one's; NaT where none can be read."""
    hints = {"date_order": answers["date_order"]} if answers.get("date_order") else {}
    whole = dict.fromkeys(_whole(text[at], "year", str(int(year) + int(more)), "") for at, more in zip(rows, later, strict=True))
    day = _read(list(whole), column, hints)
    return np.sort(day)[0]  # NaT comes last


ANSWERED = "what was answered"


def completed(kind: Kind, columns: Columns, answers: dict, told: Told) -> Kind:
    """The table with the days of a column completed by what stands over each row, else by the answers; noted (R71)."""
    column = columns.date
    kind = _between_whole_days(kind, column, answers, told) if column else kind
    what = _lacks(kind, column) if column else ""
    if not what:
        return kind
    if what == "day":
        return _with_whole_years(kind, column, told)
    text, fits = _days(kind, column, what)
    out = kind.cells[column].copy()
    for year, month, source, rows, later in _groups(kind, columns, text, fits, what, answers):
        for at, more in zip(rows, later, strict=True):
            out[at] = _whole(text[at], what, str(int(year) + int(more)), month)
            told.stands_for.setdefault(column, {}).setdefault(text[at], out[at])
        on = f", a later one for {int((later > 0).sum())} of them" if later.any() else ""
        said = f"{what} taken from “{source}”{on}; so in {len(rows)} rows"
        told.noted.append(("R71-assumed", rows[0], column, text[rows[0]], said))
    return replace(kind, cells=kind.cells.assign(**{column: pd.Series(out, dtype="str")}))


def _between_whole_days(kind: Kind, column: str, answers: dict, told: Told) -> Kind:
    """The table with days without a year among whole ones, ``6 Jun`` after ``5 Jan 2024``, in a sheet kept in order of time.

    Each is given the one year that puts it between the whole days around it, or within half a year of the only one beside it; noted (R71).
    Any other stays as it is.
    """
    code, _, plain = kind.coded(column)
    texts = plain.to_numpy(dtype=object)[code]
    short = np.array([bool(_DAY_AND_MONTH.fullmatch(text)) and not _OR_A_YEAR.fullmatch(text) for text in plain], dtype=bool)[
        code
    ]
    if not short.any() or short.all():
        return kind
    hints = {"date_order": answers["date_order"]} if answers.get("date_order") else {}
    day = np.where(short, np.datetime64("NaT"), _read(texts, column, hints))
    known = np.flatnonzero(~np.isnat(day))
    if len(known) < 2:
        return kind
    first, last = (int(str(one)[:4]) for one in (day[known].min(), day[known].max()))
    could = [_read([_whole(text, "year", str(year), "") if one else text for text, one in zip(texts, short, strict=True)], column, hints)
             for year in range(first - 1, last + 2)]  # fmt: skip
    sheet = pd.factorize(kind.place["file"] + "/" + kind.place["sheet"])[0]
    found = np.full(len(texts), np.datetime64("NaT", "D"))
    for those in (np.flatnonzero(sheet == one) for one in np.unique(sheet[short])):
        found[those] = _in_their_place(day[those], np.array(could)[:, those], short[those])
    taken = np.flatnonzero(~np.isnat(found))
    if not len(taken):
        return kind
    said = f"{found[taken[0]]}, as the whole days around it show; so in {len(taken)} rows"
    told.noted.append(("R71-assumed", taken[0], column, texts[taken[0]], said))
    whole = kind.cells[column].to_numpy(dtype=object).copy()
    whole[taken] = found[taken].astype(str)
    told.stands_for.setdefault(column, {}).update(zip(texts[taken[::-1]], whole[taken[::-1]], strict=True))
    return replace(kind, cells=kind.cells.assign(**{column: pd.Series(whole, dtype="str")}))


def _read(texts, column: str, hints: dict) -> np.ndarray:
    """The days of a column's texts, NaT where there is none, shape (rows,)."""
    return np.array(
        [one.value if isinstance(one.value, str) else "NaT" for one in cells.read("date", texts, column, hints)], "datetime64[D]"
    )


def _in_their_place(day: np.ndarray, could: np.ndarray, short: np.ndarray) -> np.ndarray:
    """The one day of those it ``could`` be, shape (years, rows), that puts each ``short`` row between the whole days around it; else NaT."""
    out, known = np.full(len(day), np.datetime64("NaT", "D")), np.flatnonzero(~np.isnat(day))
    steps = np.diff(day[known])
    if len(known) < 2 or not ((steps >= 0).all() or (steps <= 0).all()) or not (steps != 0).any():
        return out
    on = bool((steps >= 0).all())
    for at in np.flatnonzero(short):
        place = int(np.searchsorted(known, at))
        before, after = (day[known[one]] if 0 <= one < len(known) else None for one in (place - 1, place))
        before, after = (before, after) if on else (after, before)
        low = before if before is not None else after - NEAR
        high = after if after is not None else before + NEAR
        fits = could[(could[:, at] >= low) & (could[:, at] <= high), at]
        out[at] = fits[0] if len(fits) == 1 else out[at]
    return out


NEAR = np.timedelta64(183, "D")
"""So far from the only whole day beside it a day without a year is looked for."""


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
    told.stands_for.setdefault(column, {}).update(zip(plain, whole, strict=True))
    return replace(kind, cells=kind.cells.assign(**{column: spread(code, whole)}))


def as_month(text: str) -> str:
    """A month and two figures of its year with all four, ``Jan 2024`` of ``Jan 24``; any other text as it is."""
    if numbers := _NUMBERED_MONTH.fullmatch(text):
        return f"{numbers[1]}/20{numbers[2]}"
    found = _NAMED_MONTH.fullmatch(text)
    return f"{found[1]} 20{found[2]}" if found else text


def is_day_alone(text: str) -> bool:
    """Whether a text is a day without its month: ``3``, ``14th``."""
    return bool(_DAY.fullmatch(without_weekday(text.strip())))


def is_month_of_a_year(text: str) -> bool:
    """Whether a text can be a month and its year: ``05/2023``, ``05/23``, ``May 2023``."""
    return bool(_MONTH_AND_YEAR.fullmatch(text) or _NUMBERED_MONTH.fullmatch(text))


def _days(kind: Kind, column: str, what: str) -> tuple[pd.Series, np.ndarray]:
    """The column's texts, and which of them are days that lack this."""
    code, _, texts = kind.coded(column)
    texts = [without_weekday(text) for text in texts]
    form = (_DAY_AND_MONTH if what == "year" else _DAY).fullmatch
    fits = np.array([bool(form(one)) for one in texts], dtype=bool)
    if what == "year" and not lacking(kind, column):  # among whole days
        fits &= [not _OR_A_YEAR.fullmatch(one) for one in texts]
    return spread(code, texts), fits[code]


def _groups(kind: Kind, columns: Columns, text: pd.Series, fits: np.ndarray, what: str, answers: dict):
    """``year, month, source, rows, later`` of the days that can be completed: those of one file under one name or title, or by its answer.

    ``later`` says how many years after the first one each row is. A title of two years, ``2023-24``, counts only where the days show the turn;
    an answer, only where it puts no day before the first one that it was answered for (``years_from``).
    """
    files, over = kind.place["file"].tolist(), _over(kind)
    turns = _turns(kind, _months(kind)) if what == "month" else {}
    groups: dict[tuple, list[int]] = {}
    for at in np.flatnonzero(fits):
        groups.setdefault((files[at], over[at]), []).append(int(at))
    for (file, named), rows in groups.items():
        answered = answers.get("years", {}).get(file, answers.get("year", "")), named[1], ANSWERED
        for year, month, source in (named, answered):
            source, _, of_month = source.partition(MONTH_OF_A_NAME)
            if not year or of_month and not _all_in(text, rows, int(of_month), what, answers, columns.date):
                continue
            two = what == "year" and not of_month and bool(_TWO_YEARS.search(source))
            later = _later(kind, columns, text, rows, year, two) if what == "year" else np.zeros(len(rows), dtype=int)
            if what == "month" and source == ANSWERED:
                later += turns.get((file.rpartition(".")[0], kind.place["sheet"].iloc[rows[0]]), 0)
            known = later >= 0
            since = answers.get("years_from", {}).get(file, "") if source == ANSWERED and what == "year" else ""
            those = [at for at, one in zip(rows, known, strict=True) if one]
            if since[:4] == year and _first_day(columns.date, text, those, year, later[known], answers) < np.datetime64(since):
                continue
            if known.any() and (later.max() > 0 or not two):
                yield year, month, source, those, later[known]
                break


def _all_in(text: pd.Series, rows: list[int], month: int, what: str, answers: dict, column: str) -> bool:
    """Whether days without their year can all be of one month: ``03/03, 05/03, 17/03`` in ``checks 2026-03``."""
    hints = {"date_order": answers["date_order"]} if answers.get("date_order") else {}
    days = _read([_whole(one, "year", "2024", "") for one in dict.fromkeys(text[rows])], column, hints) if what == "year" else []
    return bool(len(days)) and all(str(day)[5:7] == f"{month:02d}" for day in days)


def _later(kind: Kind, columns: Columns, text: pd.Series, rows: list[int], year: str, two_years: bool = False) -> np.ndarray:
    """How many years after the first day each of these days is, shape (rows,); -1 where that cannot be told.

    Each vehicle's days go on as its odometer does, else as they stand; one that steps back by half a year is of the next year. A vehicle
    that shows no such step, in a file where others do, has its days in or about the months on one side of the step, or they are not told.
    Where no smaller step shows which way the file runs, only a title of ``two_years`` says that there is a turn.
    """
    read = cells.read("date", [_whole(text[at], "year", year, "") for at in rows])
    month = np.array([int(one.value[5:7]) if isinstance(one.value, str) else 0 for one in read])
    who = kind.stripped(columns.vehicle).to_numpy()[rows] if columns.vehicle else np.full(len(rows), "")
    km = _plain_numbers(kind, columns.odometer)[rows] if columns.odometer else np.full(len(rows), np.nan)
    frame = pd.DataFrame({"at": range(len(rows)), "who": who, "km": km, "month": month})
    frame = frame[frame["month"] > 0]
    if not len(frame):
        return np.zeros(len(rows), dtype=int)
    step = frame.groupby("who", sort=False)["month"].diff()
    small = step[step.abs() < HALF_A_YEAR]
    onward, backward = int((small > 0).sum()), int((small < 0).sum())
    out = np.zeros(len(rows), dtype=int)
    if not frame["who"].duplicated(keep=False).any() and len(frame) > 2:  # a visit each: the file's own order is all there is
        out[frame["at"]] = _one_turn(frame["month"].to_numpy(), two_years)
        return out
    believed = frame.groupby("who", sort=False)[["km", "month"]].apply(_odometer_tells_order)
    by_km = frame["who"].map(believed).astype(bool) & frame["km"].notna().all()
    key = frame["km"].where(by_km, frame["at"] if onward >= backward else -frame["at"])
    ordered = frame.assign(key=key).sort_values("key", kind="stable").sort_values("who", kind="stable")
    back = ordered.groupby("who", sort=False)["month"].diff().le(-HALF_A_YEAR)
    turn = back & (by_km[ordered.index] | (onward + backward > 0) | two_years)
    turns = turn.groupby(ordered["who"], sort=False).cumsum()
    out[ordered["at"]] = turns
    turning = set(ordered.loc[turn, "who"])
    others = ordered[~ordered["who"].isin(turning)]
    if not turning or not len(others):
        return out
    before, after = (ordered.loc[ordered["who"].isin(turning) & side, "month"] for side in (turns == 0, turns > 0))
    gap = before.min() - after.max() if turns.max() == 1 else 0
    sides = (others["month"] <= after.max() + gap / 3, others["month"] >= before.min() - gap / 3)
    late, early = ((side & (gap > 0)).groupby(others["who"]).transform("any") for side in sides)
    out[others["at"]] = np.where(late != early, late.astype(int), -1)
    return out


def _odometer_tells_order(its: pd.DataFrame) -> bool:
    """Whether a vehicle's odometer (``km``) says in which order its days came, and not the order in which they stand.

    It does not where it goes against days that stand in the order of one year, nor where it goes on at once by more than thrice as much
    as ever else: a typing error, or a new instrument.
    """
    visits = its.drop_duplicates()
    km, month = np.diff(visits["km"]), np.diff(visits["month"])
    if len(km) < 2 or (km >= 0).all() or (km <= 0).all():
        return True
    on = np.sort(np.diff(np.sort(visits["km"])))
    return not ((month >= 0).all() or (month <= 0).all()) and on[-1] <= MOST_STEP * on[-2]


def _one_turn(month: np.ndarray, two_years: bool) -> np.ndarray:
    """The years after the first of the days of a visit a vehicle, which show one turn of the year and else go on; shape (visits,)."""
    step = np.diff(month)
    back = step < 0
    turns = back.sum() == 1 and step.min() <= -HALF_A_YEAR
    sure = (step > 0).sum() > 1 or (step > 0).any() and step.min() <= -NEXT_MONTHS or two_years
    return np.append(0, np.cumsum(back)) * int(turns and sure)


def _plain_numbers(kind: Kind, column: str) -> np.ndarray:
    """The digits of each cell of a column as a number, NaN where there are none."""
    return pd.to_numeric(kind.stripped(column).str.replace(r"\D", "", regex=True), errors="coerce").to_numpy(dtype=float)


def _whole(text: str, what: str, year: str, month: str) -> str:
    if what == "month":
        return f"{_DAY.fullmatch(text)[1]} {month} {year}"
    bare = text.rstrip(".")
    mark = next((sign for sign in "/.-" if sign in bare), " ")
    return f"{bare}{mark}{year}"
