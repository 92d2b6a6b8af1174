"""The kinds of table found in foreign files: sheets of the same headings taken together, and what each column holds."""

import re
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from brakedata import headings, layouts, units
from brakedata.cells import text as cell_text
from brakedata.cells import words as cell_words
from brakedata.layouts import FOLLOWS, LINE_ABOVE, Sheet

SHEET_NAME, FILE_NAME, ABOVE = "(name of the sheet)", "(name of the file)", " (above the table)"
ALIKE = 0.6
"""Sheets that share at least this part of their headings are one kind of table."""
LOOKED_AT = 400
"""Distinct texts of a column by which it is judged."""


@dataclass
class Kind:
    """Sheets with the same headings, as one table.

    Attributes
    ----------
    number : int
        Its place among the kinds, from 1.
    sheets : list of Sheet
    cells : DataFrame, shape (rows, columns)
        Texts as written; a column that a sheet lacks is empty there.
    place : DataFrame, shape (rows, 3)
        ``file, sheet, line`` of each row.
    """

    number: int
    sheets: list[Sheet]
    cells: pd.DataFrame
    place: pd.DataFrame
    _held: dict = field(default_factory=dict)
    _coded: dict = field(default_factory=dict, init=False)

    @property
    def about(self) -> set[str]:
        """Words of the names and titles that stand over the whole table."""
        texts = [text for sheet in self.sheets for text in (sheet.file, sheet.sheet, *sheet.above)]
        return {word for text in texts for word in headings.tokens(text)}

    def holds(self, column: str) -> "Holds":
        """What a column's cells look like."""
        if column not in self._held:
            self._held[column] = look(self.stripped(column), column)
        return self._held[column]

    def coded(self, column: str) -> tuple[np.ndarray, pd.Series, pd.Series]:
        """Which of its different texts each cell of a column is, these in order of first sight, and without blanks around them."""
        if column not in self._coded:
            code, texts = pd.factorize(self.cells[column])
            plain = pd.Series(texts).str.strip().str.replace(r'^="([^"=]*)"$', r"\1", regex=True)  # kept as text by a program
            self._coded[column] = code, pd.Series(texts), plain
        return self._coded[column]

    def stripped(self, column: str) -> pd.Series:
        """A column's texts without blanks around them."""
        code, _, texts = self.coded(column)
        return spread(code, texts)

    def samples(self, column: str, most: int = 5) -> list[str]:
        """The column's first different texts."""
        texts = self.coded(column)[2]
        return texts[texts.ne("")].drop_duplicates().head(most).tolist()


def spread(code: np.ndarray, texts) -> pd.Series:
    """A column of texts from different texts and which of them each row has."""
    return pd.Series(pd.array(texts, dtype="str").take(code))


def kinds_of(sheets: list[Sheet]) -> list[Kind]:
    """The kinds of table in these sheets, in order of first sight."""
    groups: list[tuple[set, list[Sheet]]] = []
    for sheet in sheets:
        own = set(sheet.headers)
        for names, group in groups:
            alike = group[0].source == sheet.source and bool(sheet.header_line) == bool(group[0].header_line)
            if alike and len(own & names) >= ALIKE * len(own | names) and not _same_under_other_headings(own, names):
                group.append(sheet)
                names |= own
                break
        else:
            groups.append((own, [sheet]))
    return [_kind(number, group) for number, (_, group) in enumerate(groups, 1)]


def _same_under_other_headings(own: set[str], names: set[str]) -> bool:
    """Whether the vehicle, day or odometer stands under another heading in each, ``Van`` and ``Vehicle``: one column of them would be empty."""

    def keys(headers):
        of = {_KEYS.get(headings.meaning(name).role): headings.stem(name) for name in headers}
        return {key: stem for key, stem in of.items() if key}

    here, there = keys(own - names), keys(names - own)
    return any(here[key] != there[key] for key in here.keys() & there.keys())


_KEYS = {"vehicle_id": "vehicle", "vin": "vehicle", "unit": "vehicle", "date": "date", "odometer": "odometer"}
"""Headings by what of a record they could name; a unit is a vehicle or mm."""


def _kind(number: int, sheets: list[Sheet]) -> Kind:
    parts, places = [], []
    files = len({sheet.file for sheet in sheets})
    names = {layouts.own_name(sheet.sheet) for sheet in sheets}
    by_name = _units_by_name(sheets)
    several = len({(sheet.file, layouts.own_name(sheet.sheet)) for sheet in sheets}) > files
    for sheet in sheets:
        part = sheet.cells.copy()
        part = _days_in_one(part)
        as_units = {column for column in sheet.headers if _vehicles_as_units(column, sheet.cells[column])}
        own = {headings.meaning(column).role for column in set(sheet.headers) - as_units}
        nameless = not as_units and not own & NAMING
        by_label = {headings.meaning(label).role for label in sheet.over} & NAMING
        for label, its in by_name.items():
            if headings.meaning(label).role not in own | {headings.meaning(one).role for one in sheet.over}:
                part[label + ABOVE] = its[sheet.name]
        for label, texts in sheet.over.items():
            role = headings.meaning(label).role
            if label == LINE_ABOVE:
                if nameless and not by_label or len({*texts}) > 1 or all(map(headings.place_only, texts)):
                    part[LINE_ABOVE] = texts
            elif label != FOLLOWS and (role not in ("date", "odometer", "unit") or role not in own):
                part[label + ABOVE] = texts
        if (
            several
            or _says_place(layouts.own_name(sheet.sheet))
            or nameless
            and not by_label
            and len(names) == 1
            and not any(map(_GIVEN_NAME.fullmatch, names))
        ):
            part[SHEET_NAME] = layouts.own_name(sheet.sheet)
        if files > 1 or nameless or _says_place(_stem(sheet.file)):
            part[FILE_NAME] = _stem(sheet.file)
        parts.append(part)
        places.append(pd.DataFrame({"file": sheet.file, "sheet": sheet.sheet, "line": sheet.line}))
    whole = parts[0] if len(parts) == 1 else pd.concat(parts, ignore_index=True).fillna("")
    return Kind(number, sheets, whole.astype("str"), pd.concat(places, ignore_index=True))


def _units_by_name(sheets: list[Sheet]) -> dict[str, dict[str, str]]:
    """Units that the names of sheets or files say, ``Cars mm`` beside ``Trucks 32nds``, by what they are units of; empty where one says none.

    A name alone says the unit of readings only: ``Service each 10000 km`` is of no odometer.
    """
    out = {}
    for label, known in (("Unit", ("mm", "in", "in32")), ("Odometer unit", ("km", "mi"))):
        for names in ([_stem(sheet.file) for sheet in sheets], [layouts.own_name(sheet.sheet) for sheet in sheets]):
            said = [unit if unit in known else "" for unit in map(headings.unit_of, names)]
            if any(said) and (label == "Unit" or len({*said}) > 1 and all(said)):
                out[label] = {sheet.name: "32nds" if unit == "in32" else unit for sheet, unit in zip(sheets, said, strict=True)}
    return out


def _stem(file: str) -> str:
    """A file's name without its ending."""
    return re.sub(r"\.\w{2,7}$", "", file)


SHORTEST = 3
"""Letters of a name by itself that says a place: ``p.csv`` is of no passenger."""


def _says_place(name: str) -> bool:
    """Whether a name says a place on the vehicle and nothing else: a sheet ``Offside``, a file ``front``."""
    return len(name) >= SHORTEST and (headings.place_only(name) or any(headings.either_side([name])))


NAMING = {"vehicle_id", "vin", "visit_id"}
"""Roles of columns that say which vehicle a row is of."""
_GIVEN_NAME = re.compile(r"(?:sheet|tabelle|feuil|feuille|hoja|blad|foglio|planilha|arkusz|table|page)?[ _-]?\d*", re.I)
"""Names that a program gives to a sheet."""


_YEARS = "year yr jahr annee ano anno jaar rok".split()
_MONTHS = "month mon monat mois mes mese maand miesiac".split()
_DAYS = "day tag jour dia giorno dag dzien".split()


def _days_in_one(cells: pd.DataFrame) -> pd.DataFrame:
    """The table with one column of days, where year, month and day stand in three columns."""
    named = {" ".join(headings.tokens(column)): column for column in cells}
    three = [next((named[word] for word in words if word in named), None) for words in (_YEARS, _MONTHS, _DAYS)]
    if None in three:
        return cells
    year, month, day = (cells[column].str.strip() for column in three)
    named_month = month.str.fullmatch(r"[^\W\d_]{3,9}\.?")
    whole = year.str.fullmatch(r"(?:19|20)\d\d") & (month.str.fullmatch(r"\d\d?") | named_month) & day.str.fullmatch(r"\d\d?")
    if whole.mean() <= 0.5:
        return cells
    days = (year + "-" + month.str.zfill(2) + "-" + day.str.zfill(2)).mask(named_month, day + " " + month + " " + year)
    return cells.drop(columns=three).assign(**{", ".join(three): days.where(whole, (year + " " + month + " " + day).str.strip())})


def _vehicles_as_units(column: str, cells: pd.Series) -> bool:
    """Whether a column headed ``Unit`` holds no units, but names of vehicles."""
    return headings.meaning(column).role == "unit" and not any(map(units.thickness_unit, cells.unique()[:LOOKED_AT]))


@dataclass(frozen=True)
class Holds:
    """Shares (0 to 1) of a column's filled cells that look like something."""

    filled: int
    distinct: int
    number: float
    date: float
    reading: float
    vin: float
    place: float
    thickness_unit: float
    distance_unit: float
    letters: float
    length: float
    typical: float
    """Middle one of the plain numbers."""


DITTO = r"(?i)[-\u2013 ]*(?:[\"\u201d\u2033]+|''|,,|\u3003)[-\u2013 ]*|do\.?|dto\.?|ditto|idem|dito|id\."
"""Signs that a cell says what the one above it says."""
_NUMBER = re.compile(
    r"[<>~]?\s*-?[\d]+(?:[.,' \u00a0\u2009\u202f]\d+)*\s*(?:k|kms?|mi|miles|mls|t ?km|tsd\.?(?: ?km)?)?\.?", re.I
)
_A_DAY = re.compile(
    r"\d{4}-\d{1,2}-\d{1,2}(?:[ T].*)?|\d{1,2}[-/.]\d{1,2}[-/.]\d{2,4}(?:[ ,T].*)?|\d{1,2}\. \d{1,2}\. ?\d{2,4}|(?:19|20)\d{2}[01]\d[0-3]\d|"
    r"\d{4}[/.]\d{1,2}[/.]\d{1,2}|(?:19|20)\d\d-?W[0-5]\d-?[1-7]|"
    r"(?:\d{1,2}(?:st|nd|rd|th)?[-. ]+(?:of )?(?P<month>[^\W\d]{3,9})\.?[-., ]+(?:\d{4}|\d\d)|"
    r"(?P<first>[^\W\d]{3,9})\.? \d{1,2},? \d{4})(?:,? \d{1,2}[:.]\d\d.*)?"
)
_MONTH_BEGINS = frozenset(name[:3] for name in cell_words.MONTHS)


def is_day(text: str) -> bool:
    """Whether a text looks like a whole day: ``2024-03-05``, ``5. 3. 2024``, ``5 March 24``; no plate, ``1-ABC-234``."""
    found = _A_DAY.fullmatch(layouts.without_weekday(text))
    month = found and (found["month"] or found["first"])
    return bool(found) and (not month or cell_text.fold(month)[:3] in _MONTH_BEGINS)


_READING = re.compile(
    r"[<>≤≥~]?=?\s*\d{1,3}(?:[.,]\d{1,4})?\s*(?:mm|in|\"|%|/\s*32(?:nds|\")?|/\d{1,2}(?:in|\")?|\+|or less)?"
    r"(?:\s*[-/;&,]\s*\d{1,2}(?:[.,]\d{1,2})?\s*(?:mm|%|\")?)*|\d{1,2} ?/ ?(?:16|32|64)(?: ?(?:in|nds|\"))?|metal to metal|m/m",
    re.I,
)
_PLACE_WORD = (
    r"(?:[lriofgd]|[lr]h?[fr]?|[no]s[fr]?|[vh][lr]|a[vr][gd]|left|right|inner|outer|in|out|front|rear|li|re|links|rechts|izq|der)"
)
_AMOUNT = r"\d{1,2}(?:[.,]\d)?(?: ?/ ?\d{1,2}(?:[.,]\d)?)?(?: ?mm)?"
_PLACED = re.compile(rf"(?:{_PLACE_WORD}[ :.=-]*{_AMOUNT}[ ,;/&-]*){{2,4}}|(?:{_AMOUNT} ?{_PLACE_WORD}[ ,;/&-]*){{2,4}}", re.I)
"""Several readings in a cell, each with its place: ``L9 R8``."""
_VIN = re.compile(r"(?=.*[A-Z])(?=.*\d)[A-Z0-9]{17}", re.I)


def look(column: pd.Series, heading: str) -> Holds:
    """Shares of a column's filled cells that look like numbers, dates, readings, places ..., by its first distinct texts."""
    text = column[column != ""]
    counts = text.value_counts(sort=False)
    head = counts.head(LOOKED_AT)
    ditto = head.index.str.fullmatch(DITTO)
    dittos, head = int(head[ditto].sum()), head[~ditto]
    weight = head.to_numpy(dtype=float)
    total = weight.sum() or 1.0

    def share(test) -> float:
        return float(weight[[bool(test(cell)) for cell in head.index]].sum() / total)

    plain = pd.to_numeric(pd.Series(head.index, dtype="str").str.replace(",", ".", regex=False), errors="coerce").dropna()
    return Holds(
        filled=len(text) - dittos,
        distinct=len(counts),
        number=share(_NUMBER.fullmatch),
        date=share(is_day),
        reading=share(lambda cell: _READING.fullmatch(cell) or _PLACED.fullmatch(cell)),
        vin=share(_VIN.fullmatch),
        place=_places(head.index.tolist(), weight / total, heading),
        thickness_unit=share(units.thickness_unit),
        distance_unit=share(units.distance_unit),
        letters=share(lambda cell: any(letter.isalpha() for letter in cell)),
        length=float(np.average([len(cell) for cell in head.index], weights=weight)) if len(head) else 0.0,
        typical=float(plain.median()) if len(plain) else np.nan,
    )


def _places(texts: list[str], weight, heading: str) -> float:
    """Share of cells that name a wheel, axle, side or part."""
    if not texts or len(texts) > 60:
        return 0.0
    hints = {"driver_side": "left", "traffic_side": "right"}
    read = [headings.positions(texts, header, hints, heading) for header in ("position", "axle", "side", "part")]
    read.append(headings.positions(texts, "axle", {**hints, "axles": ("steer", "drive", "tag")}, heading))
    return float(weight[[any(one.taken for one in those) for those in zip(*read, strict=True)]].sum())
