"""Foreign files to plain tables of text: which lines are a title, the header, records, totals; each cell as it was written.

A `Sheet` is one table of one file, of any shape a shop keeps: commas, semicolons, tabs or bars between the cells, one or several
header lines (merged ones too), titles above, totals below, or no header at all; workbooks of many sheets; zipped exports. No cell is
interpreted here, and every line is kept or named with the reason why it is no record.
"""

import csv
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import chain, pairwise
from pathlib import Path

import numpy as np
import pandas as pd

from brakedata import findings, guards, headings, tablefiles
from brakedata.cells import text as cell_text
from brakedata.cells import words as cell_words
from brakedata.findings import RecordsError

TEXT_ENDINGS = (".csv", ".tsv", ".txt", ".tab", ".dat")
OTHER_ENDINGS = (".xlsx", ".xlsm", ".xls", ".ods", ".parquet", ".zip")
SEPARATORS = ",;\t|"
LOOKED_AT = 60
"""Lines in which the header is looked for."""
MOST_HEADER_LINES = 3
WORDY_SHARE = 0.8
"""At least so many of a header line's filled cells read like headings."""
LONG_NAME = 4
"""Words of a line that is a sentence, and no name."""
LINE_ABOVE = "(line above the records)"
FOLLOWS = "(what follows)"
"""What a line says of the readings under it, and of no vehicle: tyres, the part, after the work."""
TURNED = " (turned: a line is a column)"
"""Behind the name of a sheet that was written with a column a visit."""
A_TITLE, A_NOTE, HEADER_AGAIN = "a title above the table", "a note under the table", "the header again"
OF_A_BLOCK = ("vehicle_id", "vin", "date", "odometer")
"""What a line over a block of records says of that block only; the rest it says holds until something else is said."""
OF_PLACE_OR_DAY = ("position", "axle", "side", "part", "date")
OF_TEXTS = ("part", "measure", "taken", "note", "complaint", "reason", "work", "description", "product_line")
"""Columns whose cells may say what a line over records can say."""
SAID_ABOVE = (*OF_A_BLOCK, "technician", "unit", "distance_unit")
"""What a line above records can say of them, ``Vehicle: Van 7``."""
REMARKS = ("note", "complaint", "work", "reason", "technician")
"""What a line under all records can say, ``Remarks: ok``."""


@dataclass(frozen=True)
class Sheet:
    """One table of one file.

    Attributes
    ----------
    file, sheet : str
        Name of the file (in a zip: ``zip/member``) and of its sheet, empty where it has none.
    source : str
        ``csv``, ``xlsx`` or ``parquet``: how its cells came.
    delimiter : str
        What stands between the cells of a text file, else empty.
    headers : list of str
        The columns' headings, each once; ``column 3`` where nothing stands above a column.
    header_line : int
        Line of the first header row; 0 where the table has none.
    above : list of str
        Texts of the title lines.
    over : DataFrame, shape (records, what is said)
        What the lines above the records say of them, by what it is: ``Vehicle``: ``Van 7`` from a line ``Vehicle: Van 7`` that stands
        over a block of records, and `LINE_ABOVE`, the text of a line that has no such word; empty where nothing is said.
    cells : DataFrame, shape (records, columns)
        Each cell as written, a column a heading.
    line : ndarray, shape (records,)
        Line in the file or sheet, counted from 1.
    no_record : DataFrame
        ``line, why, value``: the lines that are no records.
    """

    file: str
    sheet: str
    source: str
    delimiter: str
    headers: list[str]
    header_line: int
    above: list[str]
    over: pd.DataFrame
    cells: pd.DataFrame
    line: np.ndarray
    no_record: pd.DataFrame

    @property
    def name(self) -> str:
        """File and sheet, for sentences."""
        return f"{self.file}, sheet {self.sheet}" if self.sheet else self.file


@dataclass
class _Grid:
    """Cells of one sheet before anything is known about them: which of the different ``texts`` each is, shape (lines, columns)."""

    file: str
    sheet: str
    source: str
    delimiter: str
    code: np.ndarray
    texts: np.ndarray
    line: np.ndarray
    merged: list = field(default_factory=list)
    above: list[str] = field(default_factory=list)

    def words(self, at) -> np.ndarray:
        """The cells of a line, or of several, as text."""
        return self.texts[self.code[at]]


def _grid(file, sheet, source, delimiter, rows: list[list[str]], line, merged=()) -> _Grid:
    """A grid of lines of any length."""
    width = max(map(len, rows), default=0)
    even = (row if len(row) == width else [*row, *[""] * (width - len(row))] for row in rows)
    code, texts = pd.factorize(np.array(list(chain.from_iterable(even)), dtype=object))
    return _Grid(
        file, sheet, source, delimiter, code.reshape(len(rows), width), texts, np.asarray(line, dtype="int64"), list(merged)
    )


def read(path: Path, apart: Callable[[Path], bool] = lambda file: False) -> tuple[list[Sheet], list[pd.DataFrame]]:
    """Every table in a file, or in the files of a folder but those that are ``apart``.

    Returns
    -------
    sheets : list of Sheet
        In order of file name and of the sheets in the file; a sheet with nothing in it is not among them.
    found : list of DataFrame
        Findings about files and lines that could not be read.

    Raises
    ------
    RecordsError
        The path does not exist, or one file was given and it cannot be read.
    """
    found: list[pd.DataFrame] = []
    grids = []
    if path.is_dir():
        for file in readable(path):
            if apart(file):
                continue
            try:
                grids += _grids(file, found)
            except RecordsError as problem:
                found.append(findings.make("R17-not-read", guards.shown(file.name), advice=str(problem)))
    else:
        grids = _grids(path, found)
    sheets = [
        _sheet(table)
        for grid in map(_form_of_pairs, grids)
        for part in _apart(_turned(grid))
        for one_day in _days_across(part)
        for table in _side_by_side(one_day)
    ]
    return [sheet for sheet in sheets if len(sheet.headers)], found


def readable(folder: Path) -> list[Path]:
    """Files of a folder that may hold records, by their ending, in order of name."""
    try:
        listed = sorted((file for file in folder.iterdir() if file.is_file()), key=lambda file: file.name.lower())
    except OSError as problem:
        raise RecordsError(
            f"{folder} could not be opened ({problem.strerror or problem}): ask for leave to read it."
        ) from problem
    return [f for f in listed if f.suffix.lower() in TEXT_ENDINGS + OTHER_ENDINGS and not guards.passing(f.name)]


def _grids(file: Path, found: list) -> list[_Grid]:
    if not file.exists():
        raise RecordsError(f"{file} does not exist: give the folder or file that holds the records.")
    data = guards.read_bytes(file)
    kind = guards.kind_of(data)
    if kind == "parquet":
        frame, more = tablefiles.read_parquet(file, guards.shown(file.name))
        found += more
        return [_parquet(frame, file.name)]
    if kind == "zip":
        members, more = guards.zip_members(data, file.name)
        found += more
        grids = []
        for member in members:
            inside, name = member.read(), f"{guards.shown(file.name)}/{member.path}"
            try:
                grids += _grids_of(inside, guards.kind_of(inside), name, found)
            except RecordsError as problem:
                found.append(findings.make("R17-not-read", name, advice=str(problem)))
        return grids
    return _grids_of(data, kind, guards.shown(file.name), found)


def _grids_of(data: bytes, kind: str, name: str, found: list) -> list[_Grid]:
    if kind in ("xlsx", "xls", "ods"):
        checked = guards.checked_workbook(data, name)
        book = tablefiles.open_checked(checked, name)
        with guards.reader_faults(f"{name} is not a readable workbook: open it and save it again as .xlsx."):
            shares = tablefiles.per_cent_cells(checked) if kind == "xlsx" else {}
        return [_workbook_sheet(book, sheet, name, shares.get(sheet, set())) for sheet in book.sheet_names]
    if kind == "text":
        return [_text(data, name, found)]
    what = {"empty": "is empty", "parquet": "is a Parquet file in a zip: take it out of the zip"}.get(
        kind, f"is a file of kind {kind}"
    )
    raise RecordsError(f"{name} {what}: give a table as .csv, .txt, .xlsx, .xls, .ods, .parquet or .zip.")


# --- cells ------------------------------------------------------------------------------------------------------------


def _text(data: bytes, name: str, found: list) -> _Grid:
    text, more = tablefiles.text_of(data, name, name)
    found += more
    if forms := _notebook(text.rstrip("\n")) or _forms(text.rstrip("\n")):
        rows, lines, above = forms
        guards.check_grid(len(rows), len(rows[0]), name)
        return replace(_grid(name, "", "csv", "", rows, lines), above=above)
    separator = _separator(text)
    if not separator:
        rows = _by_place(text.rstrip("\n").split("\n"), name)
        guards.check_grid(len(rows), max(map(len, rows), default=0), name)
        return _grid(name, "", "csv", "", rows, range(1, len(rows) + 1))
    whole, text = text.endswith("\n"), text.rstrip("\n")
    if (even := tablefiles.even_lines(text, separator)) is not None:
        code, texts = even
        guards.check_grid(*code.shape, name)
        return _Grid(name, "", "csv", separator, code, texts, 1 + np.arange(len(code)))
    text = tablefiles.without_endless_lines(text, separator, 0, name, found)
    rows, lines, open_quotes = tablefiles.split_lines(text, separator)
    if open_quotes:
        found.append(findings.make("R16-quote-open", name, row=open_quotes))
    if (
        not whole
        and len(rows) > 2
        and len(rows[-1]) < len(rows[0])
        and len({len(row) for row in rows[:-1]}) == 1
        and rows[-1][-1].strip()
    ):
        found.append(
            findings.make("R18-line-cut", name, row=[lines[-1]], value=[rows[-1][-1]], reading="its last cell was not read")
        )
        rows[-1] = [*rows[-1][:-1], ""]
    guards.check_grid(len(rows), max(map(len, rows), default=0), name)
    return _grid(name, "", "csv", separator, rows, lines)


_DAY_NOTED = (
    r"\s*(?P<date>(?:19|20)\d\d-\d\d-\d\d|\d{1,2}[/.-]\d{1,2}(?:[/.-](?:\d{4}|\d\d))?\.?|\d{1,2}\.? [^\W\d_]{3,9}\.?(?: (?:\d{4}|\d\d)(?!\d))?|"
    r"[^\W\d_]{3,9}\.? \d{1,2}(?:,? \d{4})?)(?=[\s,;:–-])[\s,;:–-]+"
)
_ODOMETER_NOTED = (
    r"(?P<odometer>(?:\d{1,3}(?:[ .,]\d{3})+|\d{3,7}|\d{2,3} ?k)\s?(?:kms?|mi|miles|mls)?)(?<=[a-z])\b[\s,;:–-]*(?P<rest>.*)"
)
_NOTED = re.compile(_DAY_NOTED + r"(?P<vehicle>(?=\S*?[^\W\d_]|\S+ \S*[^\W\d_])\S.{0,39}?)[\s,;:–@-]+" + _ODOMETER_NOTED, re.I)
"""A line of a notebook: ``9/3/26 Patrol 84206 km - front pads 5mm``."""
_NOTED_ON_A_PAGE = re.compile(_DAY_NOTED + "(?P<vehicle>)" + _ODOMETER_NOTED, re.I)
"""A line on the page of one vehicle: ``9/3/26 84206 km - front pads 5mm``."""
_PLATE = re.compile(
    r"(?=.{5,10}$)(?!.*\d(?:MM|X|INC?H?|NDS|KMS?|K|MI|TH|ND|RD|ST)\b)(?=.*(?:[A-Z]\d|\d[A-Z]|[A-Z]-[A-Z]))[A-Z\d]{1,7}(?:[ -][A-Z\d]{1,5}){0,2}"
)
"""A plate alone on its line: letters and digits in one word, or a hyphen between letters; no ``MOT 2026``, no ``LF 9``."""
_PLACED_NUMBERS = re.compile(
    r"(?P<readings>(?:(?:[lr]h?[fr]|[fr][lr]h?|[vh][lr]|a[vr]\.?[gd]|[no]/?s/?[fr]?|[lrfi]|front|rear|va|ha)[ :=]*\d{1,2}(?:[.,]\d{1,2})?(?: ?mm)?[\s,;/]*){2,}"
    r"(?=[\s.]|$))[.\s]*(?P<note>.*)",
    re.I,
)
"""``NSF 3.5 OSF 9 NSR 4 OSR 4.5``, and a remark behind it."""
MOSTLY_NOTED = 0.5


def _notebook(text: str) -> tuple[list[list[str]], list[int], list[str]] | None:
    """Lines of a notebook, each with its day, vehicle, odometer and what was found, as a table; None for any other text.

    Gives the rows with headings first, the line each stands for, and the lines over the first; a line of another kind is a note of no vehicle.
    """
    sample = [line.rstrip() for line in text[:50_000].split("\n")[: LOOKED_AT * 10] if line.strip()]
    noted = next(
        (
            form
            for form in (_NOTED, _NOTED_ON_A_PAGE)
            if sum(bool(form.fullmatch(line)) for line in sample) >= max(3, MOSTLY_NOTED * len(sample))
        ),
        None,
    )
    if noted is None or noted is _NOTED_ON_A_PAGE and not _begins_page(sample[0]):
        return None
    rows, at, above, page, blank = [], [], [], "", False
    for number, line in enumerate(text.split("\n"), 1):
        one = noted.fullmatch(line.rstrip())
        if one:
            rest = one["rest"].strip()
            placed = _PLACED_NUMBERS.fullmatch(rest)
            readings, note = (placed["readings"].strip(" ,;"), placed["note"]) if placed else ("", rest)
            said = (one["date"], one["vehicle"] or page, one["odometer"], readings, note)
            rows.append([" ".join(text.split()) for text in said])
            at.append(number)
        elif noted is _NOTED_ON_A_PAGE and _begins_page(line):
            page = line.strip().rstrip(":").strip()
            blank = False
            continue
        elif line.strip() and not rows:
            above.append(" ".join(line.split()))
        elif line.strip():
            rows.append(["", "", "", "", " ".join(line.split())])
            at.append(number)
            page = "" if blank else page  # the page of another, under a name that is not known
        blank = not line.strip()
    names = ["Date", "Vehicle", "Odometer", "Readings", "Note"]
    used = [place for place in range(len(names)) if place < 3 or any(row[place] for row in rows)]
    return [[names[place] for place in used], *([row[place] for place in used] for row in rows)], [max(at[0] - 1, 1), *at], above


def _begins_page(line: str) -> bool:
    """Whether a line names a vehicle and nothing else: ``Van 7``, ``KJ21 ABC:``."""
    said = line.strip().rstrip(":").strip()
    first, _, number = said.partition(" ")
    named = (
        headings.meaning(first).role in ("vehicle_id", "unit")
        and re.fullmatch(r"(?:no\.? ?|nr\.? ?|# ?)?[\w-]{1,12}", number)
        and re.search(r"\d", number)
    )
    return bool(named or _PLATE.fullmatch(said) and not headings.names_place(said))


_LABELLED_LINE = re.compile(r"\s*([^\W\d_][^:|;\t]{0,39}?)(?:\s*[:=]\s*| {2,}(?=[^\W\d_]{1,6}\s*[:=]))(.*)")
"""``Mileage: 41,750 mi``, or ``Front pads   L: 9.5 mm   R: 9 mm``."""
_TWO_LABELS = re.compile(r"(?<=\S)\s{3,}(?=[^\W\d_][^:|;\t]{2,39}?:)")
"""Between two labels of one line: ``Reg: A1      Date: 11/03/2026``."""
MOSTLY_LABELLED = 0.6


def _labels_apart(line: str) -> list[str]:
    """A line of a form cut between two labels that have a value each; ``Front pads   L: 9 mm   R: 8 mm`` stays whole."""
    pieces = _TWO_LABELS.split(line)
    return pieces if all(":" in piece for piece in pieces) else [line]


def _forms(text: str) -> tuple[list[list[str]], list[int], list[str]] | None:
    """Forms written as lines of label and value, one under the other, as a table with a line a form; None for any other text.

    A form begins where the first label comes again, or a label of its head (vehicle, day) behind others. A line without a label that names
    a place, a part or says after the work stands before the labels under it. Gives the rows with the labels first, the line each stands for,
    and the lines over the first form. The labels stand for the first line, a form for its second.
    """
    sample = [piece for line in text[:50_000].split("\n")[: LOOKED_AT * 10] if line.strip() for piece in _labels_apart(line)]
    found = [_LABELLED_LINE.fullmatch(line) for line in sample]
    said = {headings.meaning(one[1]).role for one in found if one}
    if (
        sum(map(bool, found)) < max(3, MOSTLY_LABELLED * len(sample))
        or "date" not in said
        or not said & {"vehicle_id", "vin", "odometer"}
    ):
        return None
    labels: dict[str, None] = {}
    numbered = [(number, piece) for number, line in enumerate(text.split("\n"), 1) for piece in _labels_apart(line)]
    forms: list[tuple[int, dict[str, str]]] = []
    above: list[str] = []
    head: set[str] = set()
    label = section = ""
    begun = False
    for number, line in numbered:
        one, bare = _LABELLED_LINE.fullmatch(line), " ".join(line.split())
        if not one:
            if not forms:
                above += [bare] if bare else []
            elif headings.follows(bare) or headings.is_heading(bare) and not headings.meaning(bare).role:
                section = headings.taken(bare) or bare
            elif bare and bare not in above and headings.meaning(label).role in REMARKS:
                forms[-1][1][label] += f"; {bare}"  # the remark goes on
            continue
        name = " ".join(one[1].split())
        of_head = headings.meaning(name).role in OF_A_BLOCK
        opens = of_head or name == next(iter(labels), name)
        if not forms or opens and (name in forms[-1][1] or begun and name in head):
            forms.append((number, {}))
            section, begun = "", False
        begun |= not of_head
        head |= {name} if opens and not begun and len(forms) == 1 else set()
        label = f"{section} / {name}" if section and not of_head else name
        before = forms[-1][1].get(label)
        forms[-1][1][label] = f"{before}; {one[2].strip()}" if before else one[2].strip()
        labels[label] = None
    if len(labels) > guards.MOST_COLUMNS or any(len(its) < 2 for _, its in forms):
        return None
    rows = [list(labels), *([its.get(label, "") for label in labels] for _, its in forms)]
    return rows, [forms[0][0], *(number + 1 for number, _ in forms)], above


def _form_of_pairs(grid: _Grid) -> _Grid:
    """A sheet of forms as a table with a line a form; any other as it is.

    Forms have a label and its value side by side, twice or more in a line, ``Reg, AB12 CDE, Date, 12/03/2024`` over ``NSF, 8, OSF, 7``; or a
    line of labels over one of values, and other labels under these.
    """
    filled = _filled(grid)
    counts = filled.sum(axis=1)
    lines = np.flatnonzero(counts)
    if not 3 <= len(lines) <= MOST_FORM_LINES:
        return grid
    stripped = np.array([" ".join(text.split()) for text in grid.texts], dtype=object)
    texts = {int(at): stripped[grid.code[at]][filled[at]].tolist() for at in lines}
    pairs: dict[int, list[tuple[str, str]]] = {}
    for at, its in texts.items():
        apart = _labels_and_values(its) if len(its) > 1 else []
        if apart is None:  # a table
            pairs = {}
            break
        if apart:
            pairs[at] = apart
    if not any(len(its) > 1 and all(value for _, value in its) for its in pairs.values()):
        pairs = _values_under_labels(stripped[grid.code[lines]], lines)
    found = [pair for its in pairs.values() for pair in its]
    said = {headings.meaning(label).role for label, value in found if value}
    measured = sum(bool(re.match(r"[<>]?\d", value)) and _of_a_lining_or_wheel(label) for label, value in found)
    if "date" not in said or not said & {"vehicle_id", "vin", "odometer"} or measured < 2:
        return grid
    written = [
        (at, line)
        for at in lines
        for line in (
            [f"{label}: {value}" for label, value in pairs[at]] if at in pairs else texts[at] if len(texts[at]) == 1 else []
        )
    ]
    forms = _forms("\n".join(line for _, line in written))
    if forms is None:
        return grid
    rows, begins, above = forms
    first = [written[begin - 1][0] for begin in (begins[0], *(begin - 1 for begin in begins[1:]))]
    record = [int(lines[np.searchsorted(lines, at) + 1]) if at < lines[-1] else at for at in first[1:]]
    made = _grid(grid.file, grid.sheet, grid.source, grid.delimiter, rows, grid.line[[first[0], *record]])
    return replace(made, above=[*grid.above, *above])


MOST_FORM_LINES = 20_000
"""Lines of a sheet that may be forms; a longer one is a table."""


def _values_under_labels(cells: np.ndarray, lines: np.ndarray) -> dict[int, list[tuple[str, str]]]:
    """Labels with the values right under them, by the line of the labels; none where not all of a sheet is so, or one table says all of it.

    ``Vehicle, Date, Mileage`` over ``Van 1, 15/01/2024, 50000``, then ``Front left, Front right`` over ``8, 7``: a form.
    """
    out: dict[int, list[tuple[str, str]]] = {}
    at = 0
    while at < len(cells):
        here = [place for place, text in enumerate(cells[at]) if text]
        names = [cells[at, place].rstrip(": ") for place in here]
        if len(here) < 2:
            at += 1
            continue
        values = cells[at + 1] if at + 1 < len(cells) else np.full(cells.shape[1], "", dtype=object)
        named = all(not any(map(str.isdigit, name)) and headings.is_heading(name) for name in names)
        under = {place for place, text in enumerate(values) if text} <= {*here} and any(map(str.isdigit, "".join(values)))
        if not (named and under):
            return {}
        out[int(lines[at])] = list(zip(names, values[here], strict=True))
        at += 2
    kinds = {tuple(name for name, _ in its) for its in out.values()}
    heads = [kind for kind in kinds if {headings.meaning(name).role for name in kind} & {"vehicle_id", "vin", "date"}]
    return out if len(kinds) > 1 and len(heads) == 1 else {}


_A_NUMBER = re.compile(r"(?i)[<>~]?[\d.,/ -]+(?:mm|in|\"|32nds?|kms?|mi|miles|%)?")


def _labels_and_values(texts: list[str]) -> list[tuple[str, str]] | None:
    """The cells of a form's line as labels and their values, empty where a label has none; None where they do not alternate so."""
    out, at = [], 0
    while at < len(texts):
        label = texts[at].rstrip(": ")
        if not (texts[at].endswith(":") and label or headings.is_heading(label) and not _A_NUMBER.fullmatch(label)):
            return None
        after = texts[at + 1] if at + 1 < len(texts) else ""
        empty = after.endswith(":") or not any(map(str.isdigit, after)) and headings.is_heading(after)
        out.append((label, "" if empty else after))
        at += 1 if empty else 2
    return out


def _of_a_lining_or_wheel(label: str) -> bool:
    """Whether a label names a lining, an axle or a wheel."""
    return bool(headings.part_named(label) or headings.names_place(label))


def _separator(text: str) -> str:
    """The sign between the cells: the one that cuts most lines into the same number of cells; empty where cells stand in fixed places."""
    sample = text[:200_000].split("\n")[:200]
    best, most = ",", 0.0
    for separator in SEPARATORS:
        counts = Counter(len(row) for row in csv.reader(sample, delimiter=separator) if any(cell.strip() for cell in row))
        counts.pop(1, None)
        if counts:
            width, lines = max(counts.items(), key=lambda pair: (pair[1], pair[0]))
            score = lines + min(width, 50) / 100
            if score > most:
                best, most = separator, score
    apart = sum(len(_GAP.findall(line.strip())) > 1 for line in sample)
    return best if most >= apart or apart < 3 or not _gutters(sample) else ""


_GAP = re.compile(r"\S {2,}(?=\S)")


def _gutters(lines: list[str]) -> list[tuple[int, int]]:
    """Places, two letters wide or more, that are blank in each line of figures: what stands between them is a column."""
    table = [line for line in lines if len(_GAP.findall(line.strip())) > 1 and sum(map(str.isdigit, line)) > 5]
    if len(table) < 3 or max(map(len, table)) > guards.MOST_COLUMNS:
        return []
    width = max(map(len, table))
    ruled = next((line for line in lines if _RULED.fullmatch(line)), "")
    under = [(gap.start(), gap.end()) for gap in re.finditer(r"(?<=[-=_]) +(?=[-=_])", ruled)]
    if len(under) > 1 and all(" " in line.ljust(b)[a:b] for line in table for a, b in under):
        return under
    blank = np.ones(width, dtype=bool)
    for line in table:
        blank[: len(line)] &= np.frombuffer(line.encode("utf-32-le"), dtype="<u4") == ord(" ")
    edges = np.flatnonzero(np.diff(np.r_[False, blank, False].astype("int8")))
    gaps = [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True) if a and b < width]
    return _one_a_heading(lines, table, gaps) or [(a, b) for a, b in gaps if b - a > 1]


def _one_a_heading(lines: list[str], table: list[str], gaps: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The gaps, a single blank too, that stand between the words of the line of headings, one word a column; none where they do not fit."""
    above = [line for line in lines[: lines.index(table[0])] if line.strip() and not re.fullmatch(r"[\s=_-]*", line)]
    words_at = [word.start() for word in re.finditer(r"\S+", above[-1])] if above else []
    heading = above[-1] if above else ""
    ends = [word.end() for word in re.finditer(r"\S+", heading)]
    free = []
    for a, b in gaps:
        at = [place for place in range(a, b) if not heading[place : place + 1].strip()]
        if at and at[0] < (words_at or [0])[-1]:
            free.append((at[0], at[-1] + 1))
    between = [sum(begin < a < other for a, _ in free) for begin, other in pairwise(words_at)]
    fits = len(words_at) > 2 and len(table) > 4 and between == [1] * len(between) and len(free) == len(between)
    return free if fits and all(end <= a for end, (a, _) in zip(ends, free, strict=False)) else []


_RULED = re.compile(r" *[-=_]{2,}(?: +[-=_]{2,})+ *")
"""A ruled line under the headings of a printed report, a stroke a column."""


def _by_place(lines: list[str], name: str) -> list[list[str]]:
    """Cells that stand in fixed places, as a printed report has them; a line whose words run over these places is one cell."""
    gutters = _gutters(lines)
    exact = any(b - a == 1 for a, b in gutters)
    guards.check_grid(len(lines), len(gutters) + 1, name)
    rows = []
    for line in lines:
        cuts = [line.ljust(b)[a:b].find(" ") + a for a, b in gutters]
        cells = [line[begin:end].strip() for begin, end in zip([0, *cuts], [*cuts, None], strict=True)]
        tight = any(line[:cut].strip() and not line[cut - 1 : cut].isspace() and line[cut + 1 : cut + 2].strip() for cut in cuts)
        prose = tight and not all(cells) and not (exact and sum(map(str.isdigit, line)) > 5)
        over = any(cut < a for cut, (a, _) in zip(cuts, gutters, strict=True)) or prose
        rows.append([line.strip()] if over else cells)
    return rows


def _workbook_sheet(book, sheet: str, name: str, shares: set[tuple[int, int]]) -> _Grid:
    with guards.reader_faults(f"{name}: the sheet {guards.shown(sheet)} is not readable: open the workbook and save it again."):
        opened = book.get_sheet_by_name(sheet)
        rows = [[tablefiles.as_text(cell) for cell in row] for row in opened.to_python(skip_empty_area=False)]
        merged = guards.merged(opened)
    for row, column in shares:
        if row < len(rows) and column < len(rows[row]) and (number := _plain(rows[row][column])) is not None:
            rows[row][column] = f"{round(100 * number, 6):g}%"
    return _grid(name, guards.shown(sheet, 200), "xlsx", "", rows, range(1, len(rows) + 1), merged)


def _plain(text: str) -> float | None:
    """The number that a text is; None where it is none."""
    try:
        return float(text)
    except ValueError:
        return None


def _parquet(frame: pd.DataFrame, name: str) -> _Grid:
    columns = [column for column in frame.columns if column != "row"]
    texts = []
    for column in columns:
        cells = frame[column]
        if pd.api.types.is_datetime64_any_dtype(cells):
            cells = cells.dt.strftime("%Y-%m-%d")
        texts.append(["" if pd.isna(cell) else tablefiles.as_text(cell) for cell in cells.astype("object")])
    rows = [list(row) for row in zip(*texts, strict=True)]
    return _grid(guards.shown(name), "", "parquet", "", [[str(c) for c in columns], *rows], [1, *frame["row"].tolist()])


# --- lines ------------------------------------------------------------------------------------------------------------


_A_DAY = re.compile(r"\d{4}-\d\d?-\d\d?.*|\d\d?[-/. ]+(?:\d\d?|[^\W\d]{3,9}\.?)[-/., ]+\d{2,4}|[^\W\d]{3,9}\.? \d\d?,? \d{4}")


def _turned(grid: _Grid) -> _Grid:
    """A sheet with a column a visit, as one with a line a visit: headings stand in the first column, and days beside the one of the date."""
    filled = _filled(grid)
    if not filled.any() or filled.shape[1] < 2:
        return grid
    stripped = np.array([text.strip() for text in grid.texts], dtype=object)
    left = int(np.flatnonzero(filled.any(axis=0))[0])
    for label in range(left, min(left + 2, filled.shape[1] - 1)):  # a group of headings may stand before them
        named = np.flatnonzero(filled[:, label] & filled[:, label + 1 :].any(axis=1))
        if not 3 <= len(named) <= LOOKED_AT:
            continue
        names = stripped[grid.code[named, label]]
        of_date = [at for at, name in zip(named, names, strict=True) if headings.meaning(name).role == "date"]
        if len(of_date) == 1:
            break
    else:
        return grid
    if np.mean([headings.is_heading(name) for name in names]) < WORDY_SHARE:
        return grid
    if any(_over_sides(row) for row in stripped[grid.code[:, label:]]):
        return grid
    beside = [text for text in stripped[grid.code[of_date[0], label + 1 :]] if text]
    if not beside or not all(map(_A_DAY.fullmatch, beside)):
        return grid
    before = [at for at in range(of_date[0]) if filled[at].sum() == 1 or filled[at].sum() == 2 and len(beside) > 1]
    above = [": ".join(text.rstrip(": ") for text in stripped[grid.code[at]][filled[at]]) for at in before]
    kept = np.setdiff1d(np.arange(len(filled)), before)
    place = {int(at): new for new, at in enumerate(kept)}
    merged = [((f - left, place[t]), (last - left, place[b])) for (t, f), (b, last) in grid.merged if t in place and b in place]
    code = grid.code[kept, left:].T
    return replace(
        grid,
        sheet=f"{grid.sheet}{TURNED}".strip(),
        code=code,
        line=np.arange(left + 1, left + 1 + len(code)),
        merged=merged,
        above=above,
    )


def _over_sides(row) -> bool:
    """Whether a line of a form is the heading of a column a side: ``, Left, Right`` or ``Pads mm, N/S, O/S``."""
    texts = [text for text in row[1:] if text and not any(map(str.isdigit, text))]
    if len(texts) < 2 or row[0] and not headings.part_only(row[0]):
        return False
    return {*headings.either_side(texts)} >= {"left", "right"}


def _apart(grid: _Grid) -> list[_Grid]:
    """A sheet cut where another header line stands among its records: the same words in other columns would else be misread."""
    header: list[str] = []
    filled = _filled(grid)
    lines = len(grid.line)
    after_filled = np.maximum.accumulate(np.where(filled.any(axis=1), np.arange(1, lines + 1), 0))
    starts = []
    for at in np.flatnonzero((filled.sum(axis=1) >= 3) & ~(filled & _no_words(grid.texts)[grid.code]).any(axis=1)):
        names = [" ".join(cell.split()).lower() for cell in grid.words(at)]
        said = [name for name in names if name]
        if len(said) != len(set(said)) or not all(map(headings.wordy, said)):
            continue
        known = {headings.stem(name) for name in header if name}
        alike = sum(headings.stem(name) in known for name in said) >= 0.5 * len(said)
        if header and (alike or _says_columns(said) or _says_limits(said)) and _another(names, header):
            while at and filled[at - 1].sum() == 1 and at - 1 > max(starts, default=0):  # with the title right above it
                at -= 1
            starts.append(int(after_filled[at - 1]))  # and the blank lines above that
            header = names
        header = header or names
    out = []
    for begin, end in zip([0, *starts], [*starts, lines], strict=True):
        merged = [((t - begin, f), (b - begin, last)) for (t, f), (b, last) in grid.merged if begin <= t and b < end]
        out.append(_part(grid, begin, end, merged) if starts else grid)
    return out


def _days_across(grid: _Grid) -> list[_Grid]:
    """A sheet with a column a day of inspection, each as a table of its own under a line that names the day; a cell left empty is no visit."""
    filled, stripped = _filled(grid), np.array([text.strip() for text in grid.texts], dtype=object)
    for line in range(min(len(filled), LOOKED_AT)):
        row = stripped[grid.code[line]]
        days = [place for place, text in enumerate(row) if _A_DAY.fullmatch(text)]
        if len(days) > 1:
            break
    else:
        return [grid]
    said = {headings.meaning(text).role for text in row[: days[0]]}
    below = [text for text in stripped[grid.code[line + 1 :, days].ravel()] if text]
    numbers = sum(bool(_A_THICKNESS.fullmatch(text)) for text in below)
    others = [text for text in row[days[0] :] if text and not _A_DAY.fullmatch(text)]
    if (
        not said & {"vehicle_id", "vin", "position", "axle"}
        or "date" in said
        or others
        or numbers < WORDY_SHARE * max(len(below), 1)
    ):
        return [grid]
    blank, texts = len(grid.texts), np.array([*grid.texts, "", "reading"], dtype=object)
    out, named = [], grid.code.copy()
    for (top, first), (bottom, last) in grid.merged:
        if line < top and first == last < days[0]:
            named[top : bottom + 1, first] = named[top, first]
    for place in days:
        code = named[:, [*range(days[0]), place]].copy()
        code[line, -1] = blank + 1
        code[line + 1 :][~filled[line + 1 :, place]] = blank
        name = f"{grid.sheet} (column {_letters(place)})".strip()
        out.append(replace(grid, sheet=name, texts=texts, code=code, merged=[], above=[*grid.above, f"Date: {row[place]}"]))
    return out


_A_THICKNESS = re.compile(r"\d{1,2}(?:[.,]\d{1,2})?(?: ?mm)?|\d{1,2} ?/ ?32")


def _side_by_side(grid: _Grid) -> list[_Grid]:
    """Tables that stand beside each other, each with the vehicle, or the day, in a column of its own.

    Where they have a day each, a column before them that names the vehicle belongs to all of them.
    """
    filled = _filled(grid)
    head = grid.words(slice(LOOKED_AT + MOST_HEADER_LINES))
    _, header = _header(head, filled[: len(head)], filled.sum(axis=1)[: len(head)])
    if not header:
        return [grid]
    line = header[-1]
    written = _without_their_number([_lowest(column, line) for column in head.T])
    own = [" ".join(cell.split()) for cell in head[line]]
    if len(header) == 1 and written != own and len(set(written)) == len(written):  # a month so far
        named, words = grid.code.copy(), np.array([*grid.texts, *written], dtype=object)
        named[line] = len(grid.texts) + np.arange(len(written))
        return [replace(grid, code=named, texts=words)]
    names = [name.lower() for name in written]
    role = [headings.meaning(name).role for name in names]
    of_role = {one: name for name, one in reversed(list(zip(names, role, strict=True))) if names.count(name) > 1}
    first = next((of_role[one] for one in ("vehicle_id", "vin", "date") if one in of_role), None)
    starts = [at for at, name in enumerate(names) if first and name == first]
    alike = [name for name in names if name and names.count(name) == len(starts)]
    if (
        len(starts) < 2
        or len(set(alike)) < 2
        or not all(len({*names[a:b]} & {*alike}) > 1 for a, b in zip(starts, [*starts[1:], len(names)], strict=True))
    ):
        return [grid]
    before = any(names[: starts[0]])
    starts = _with_those_before(names, starts) if before else starts
    of_all: list[int] = []
    if {"vehicle_id", "vin"} & {*role} and headings.meaning(first).role == "date":
        if {"vehicle_id", "vin"} & {*role[starts[0] :]}:
            return [grid]
        of_all = list(range(starts[0]))
    elif before:
        starts[0] = 0
    blank, texts, code = len(grid.texts), np.array([*grid.texts, "", *written], dtype=object), grid.code.copy()
    code[line] = blank + 1 + np.arange(len(written))
    for at in of_all:
        code[:line, at][texts[code[:line, at]] == written[at]] = blank
    out = []
    for a, b in zip(starts, [*starts[1:], len(names)], strict=True):
        own, shared, more = code[:, a:b], code[:, of_all], len(of_all) - a
        shared[line + 1 :][~filled[line + 1 :, a:b].any(axis=1)] = blank
        merged = [((t, f + more), (bottom, last + more)) for (t, f), (bottom, last) in grid.merged if a <= f and last < b]
        name = f"{grid.sheet} (columns {_letters(a)} to {_letters(b - 1)})".strip()
        out.append(replace(grid, sheet=name, texts=texts, code=np.hstack([shared, own]), merged=merged))
    return out


def _lowest(column, line: int) -> str:
    """The heading of a column in a header line, or the vehicle's in a line above it."""
    own = " ".join(column[line].split())
    above = next((" ".join(cell.split()) for cell in column[:line][::-1] if cell.strip()), "")
    lifted = not own and headings.meaning(above).role in ("vehicle_id", "vin") and any(map(str.strip, column[line:]))
    return above if lifted else own


_NUMBERED = re.compile(
    r"(?i)(?:visit|check|inspection|insp|service|prüfung|kontrolle|contrôle|control|revisión) ?#?(?P<number>\d+)[ :./-]+(?P<name>.*[^\W\d].*)|"
    r"(?P<first>.*[^\W\d])[ .#(_-]*(?P<last>\d+)\)?"
)
"""``Visit 1 date`` or ``Date 1``."""


def _without_their_number(names: list[str]) -> list[str]:
    """Headings that repeat with a number, ``Date 1, km 1, Date 2, km 2``, without it; others as they are."""
    found = [_NUMBERED.fullmatch(name) for name in names]
    ends = [(one["name"] or one["first"], one["number"] or one["last"]) if one else None for one in found]
    of_months = [_of_a_month(name) for name in names]
    if any(end and headings.meaning(end[0]).role == "date" for end in of_months):
        ends = of_months
    days = [end[1] for end in ends if end and headings.meaning(end[0]).role == "date"]
    groups = [[end[0].lower() for end in ends if end and end[1] == number] for number in days]
    if len({*days}) < (1 if ends is of_months else 2) or any(group != groups[0] for group in groups):
        return names
    return [end[0] if end and end[1] in days else name for end, name in zip(ends, names, strict=True)]


def _of_a_month(name: str) -> tuple[str, str] | None:
    """A heading behind a month's name, ``mrt km``, and that name; None for any other."""
    first, _, rest = name.partition(" ")
    month = cell_words.MONTHS.get(cell_text.fold(first).rstrip("."))
    return (rest.strip(), str(month)) if month and rest.strip() else None


def _with_those_before(names: list[str], starts: list[int]) -> list[int]:
    """Where each table begins, when other columns stand before the one that it is known by: as far left as all of them have the same words."""
    back = 0
    while starts[0] - back > 0 and len({names[at - back - 1] for at in starts}) == 1:
        back += 1
    return [at - back for at in starts]


def _letters(column: int) -> str:
    """A column as spreadsheets name it, from 0: A, B ... AA."""
    return (_letters(column // 26 - 1) if column > 25 else "") + chr(65 + column % 26)


def own_name(sheet: str) -> str:
    """A sheet's name without what was added here."""
    return re.sub(r" ?\(columns? [A-Z]+(?: to [A-Z]+)?\)$", "", sheet).removesuffix(TURNED).strip()


def _part(grid: _Grid, begin: int, end: int, merged: list) -> _Grid:
    code, kept = pd.factorize(grid.code[begin:end].ravel())
    code = code.reshape(end - begin, -1)
    return replace(grid, code=code, texts=grid.texts[kept], line=grid.line[begin:end], merged=merged)


def _filled(grid: _Grid) -> np.ndarray:
    """Which cells hold anything, bool, shape (lines, columns)."""
    return np.array([bool(text.strip()) for text in grid.texts], dtype=bool)[grid.code]


def _no_words(texts: np.ndarray) -> np.ndarray:
    """Which texts are surely no heading, for they have neither letter nor sign of per cent, shape (texts,)."""
    return ~pd.Series(texts, dtype="str").str.contains(r"[A-Za-z%]|[^\x00-\x7F]", regex=True).to_numpy(dtype=bool)


def _another(names: list[str], header: list[str]) -> bool:
    """Whether a line of headings says another thing of a column than the one above."""
    return any(name and (at >= len(header) or header[at] != name) for at, name in enumerate(names))


def _sheet(grid: _Grid) -> Sheet:
    filled = _filled(grid)
    counts = filled.sum(axis=1)
    written = np.flatnonzero(counts)
    last = written[-1] + 1 if len(written) else 0
    width = filled.shape[1]
    code, filled, counts, line = grid.code[:last].copy(), filled[:last], counts[:last], grid.line[:last]
    head = grid.words(slice(min(last, LOOKED_AT + MOST_HEADER_LINES)))
    top, header = _header(head, filled, counts)
    _merged_down(code, filled, counts, grid.merged, header[-1] + 1 if header else top)
    names = _joined(head[header], filled[header], [r for r in grid.merged if r[0][0] in header]) if header else [""] * width
    begin = header[-1] + 1 if header else top
    body = np.arange(begin, last)
    used = filled[begin:].any(axis=0) | np.array([bool(name) for name in names], dtype=bool)
    names = _each_once([name or f"column {place + 1}" for place, name in enumerate(headings.uncounted(names))])
    why = np.full(last, "", dtype=object)
    why[:top] = A_TITLE
    why[header] = "the header"
    why[counts == 0] = "blank"
    unnamed = np.array([not name for name in (_joined(head[header], filled[header], []) if header else names)], dtype=bool)
    some = body[counts[body] > 0]
    why[some] = _no_records(code[some], filled[some], code[header], grid.texts)
    if header and grid.source == "csv" and unnamed.any():
        long = body[filled[body][:, unnamed].any(axis=1) & (why[body] == "")]
        if 0 < len(long) < 0.2 * len(body):
            why[long] = "more cells than the header"
            used &= ~unnamed
    over = _over(grid, code, filled, counts, why, begin, names, int(used.sum()))
    kept = body[why[body] == ""]
    gone = np.flatnonzero(why != "")
    gone = gone[~np.isin(line[gone], line[kept])]  # the labels given to a text whose first line is a record
    value = [" ".join(" ".join(grid.texts[code[at]]).split())[:120] for at in gone]
    chosen = np.flatnonzero(used)
    texts = pd.array(grid.texts, dtype="str")
    frame = pd.DataFrame({names[place]: texts.take(code[kept, place]) for place in chosen})
    return Sheet(
        grid.file, grid.sheet, grid.source, grid.delimiter, list(frame.columns), int(line[header[0]]) if header else 0,
        [*grid.above, *(cell.strip() for row in head[:top] for cell in row if cell.strip())],
        pd.DataFrame({name: pd.array(said[kept], dtype="str") for name, said in over.items()}), frame, line[kept],
        pd.DataFrame({"line": line[gone], "why": why[gone], "value": value}),
    )  # fmt: skip


def _over(grid: _Grid, code, filled, counts, why, begin: int, names: list[str], width: int) -> dict[str, np.ndarray]:
    """What the lines above each line say of it, by what it is; such lines among the records get their ``why``.

    A title over a block that names no vehicle ends what was said of the block before it: its records then have none.
    """
    lines = np.arange(len(why))
    plain = (why == "") & (lines >= begin)
    column = filled.argmax(axis=1)
    first = code[lines, column]
    under = plain & (counts > 0) & (counts < 3) & (width > 2) & _labelled(first, plain, grid.texts, REMARKS)
    unfilled = (counts == 1) & np.array([text.rstrip().endswith(":") for text in grid.texts], dtype=bool)[first]  # Signature:
    under &= lines > np.flatnonzero(plain & (counts > 0) & ~under & ~unfilled).max(initial=-1)
    why[under] = A_NOTE
    plain &= why == ""
    several, over_header = plain & (counts > 1), _over_header(why, counts)
    role = np.array([headings.meaning(name).role for name in names], dtype=object)
    fits = _fits(role, column, grid.texts[first], plain & (counts == 1) & (over_header | (width < 3)))
    bare_day = over_header & fits & (role[column] == "date") & filled[several].any(axis=0)[column]
    single = plain & (counts == 1) & ~bare_day
    if width < 3:
        single &= over_header | np.isin(role[column], OF_PLACE_OR_DAY) & ~fits
    few = single | plain & (counts > 0) & _labelled(first, plain, grid.texts, SAID_ABOVE)
    texts = {int(at): [text.strip() for text in grid.texts[code[at]][filled[at]]] for at in lines[few | (why == A_TITLE)]}
    pairs = {at: _pairs(its, all_of_it=at >= begin) for at, its in texts.items()}
    alone_at = [at for at in texts if at >= begin and single[at] and "date" not in role]
    places = {int(column[at]) for at in alone_at if _A_DAY.fullmatch(without_weekday(texts[at][0]))}
    whole = {
        text.strip() for place in places for text in grid.texts[code[several, place]]
    }  # a vehicle whose other cells are empty
    over_days = {at: texts[at][0] for at in alone_at if int(column[at]) in places and texts[at][0] not in whole}
    pairs |= {at: [("Date", day)] for at, day in over_days.items()}  # after one day each such line ends it, though it may be none
    by_number = {column[at] for at in lines[(why == A_TITLE) & (counts == 1)] if texts[int(at)][0].isdigit()}
    numbered = {int(at) for at in lines[single & over_header] if column[at] in by_number and texts[int(at)][0].isdigit()}
    alone = [int(at) for at in lines[few] if pairs[at] or single[at] and (_NAME_OR_YEAR.search(texts[at][0]) or at in numbered)]
    records = np.setdiff1d(lines[several], alone)
    if not len(records):
        return {}
    of_unit = {at: unit for at in alone if single[at] and (unit := headings.unit_over(texts[at][0], note=True))}
    pairs |= {at: [("Unit", unit)] for at, unit in of_unit.items()}
    why[[at for at in alone if at > records[-1]]] = A_NOTE
    own_lines = {at for at in alone if pairs[at] and all(":" in text for text in texts[at])} | of_unit.keys()
    own_lines |= over_days.keys()
    columns: dict[int, list[int]] = {}
    for at in alone:
        if not pairs[at]:
            columns.setdefault(int(column[at]), []).append(at)
    titles = [at for at in lines[why == A_TITLE].tolist() if len(texts[at]) == 1 and not pairs[at]]
    unnamed = not _says_vehicle(names, filled[records], pairs)
    for place, its in columns.items():
        below, named = grid.texts[code[records, place]], {at: texts[at][0] for at in its}
        own_lines |= {at for at in its if texts[at][0].isdigit()} | _no_cells(below, named)
        if role[place] not in OF_TEXTS:
            own_lines |= {at for at, text in named.items() if headings.follows(text)}
        if unnamed and role[place] in OF_PLACE_OR_DAY:
            own_lines |= _vehicles_among(role[place], {text.strip() for text in below}, named, len(titles))
        if not filled[records, place].any() and role[place] in SAID_ABOVE:
            own_lines |= set(its)
            pairs |= {at: [(names[place], texts[at][0])] for at in its}
    header_again = set(np.searchsorted(records, lines[why == HEADER_AGAIN]).tolist())
    blocks: dict[int, list[int]] = {}
    for at in [*lines[why == A_TITLE].tolist(), *alone]:
        first = int(np.searchsorted(records, at))
        if first < len(records) and (at < begin or at in own_lines or first in header_again):
            blocks.setdefault(first, []).append(at)
    if grid.above:
        texts[-1], pairs[-1] = grid.above, _pairs(grid.above, all_of_it=False)
        blocks.setdefault(0, []).insert(0, -1)
    why[[at for its in blocks.values() for at in its if at >= begin]] = A_TITLE
    said = {first: {headings.meaning(label).role for at in its for label, _ in pairs[at]} for first, its in blocks.items()}
    if {"vehicle_id", "date"} <= said.get(0, set()) and not any(said[first] & {*OF_A_BLOCK} for first in said if first):
        texts[-2], pairs[-2] = [], _remarks(grid.texts[code[at]][filled[at]] for at in lines[under])
        blocks[0].append(-2)  # a form of one visit: what stands under it is of that visit
    below = [text for at in alone if at > records[-1] for text in texts[at]] + grid.texts[code[under][filled[under]]].tolist()
    below += [
        name for place, name in enumerate(names) if headings.unit_over(name) and _words_only(grid.texts[code[records, place]])
    ]
    return _said_over(blocks, texts, pairs, below, records, len(why))


def without_weekday(text: str) -> str:
    """A day without the name of its weekday before it: ``Mon 5``, ``lun. 2 mars``."""
    first, _, rest = text.partition(" ")
    known = cell_words.WEEKDAYS.get(cell_text.fold(first).rstrip(".,"))
    return rest.strip() if known is not None and any(map(str.isdigit, rest)) else text


def _remarks(lines) -> list[tuple[str, str]]:
    """``(label, value)`` of lines such as ``Remarks: squeals``, in one cell or in two."""
    found = [[piece.strip() for piece in ":".join(map(str.strip, cells)).split(":", 1)] for cells in lines]
    return [(pair[0], pair[1].lstrip(": ")) for pair in found if len(pair) > 1 and pair[1].strip(": ")]


def _words_only(cells: np.ndarray) -> bool:
    """Whether the cells under a heading are words: its unit, ``Pads mm`` over ``Front`` and ``Rear``, is that of the columns beside it."""
    return any(cell.strip() for cell in cells) and not any(re.search(r"\d", cell) for cell in cells)


def _over_header(why: np.ndarray, counts: np.ndarray) -> np.ndarray:
    """Which lines stand right over the header again, blank lines apart, bool, shape (lines,)."""
    written = np.flatnonzero(counts)
    out = np.zeros(len(why), dtype=bool)
    out[written[:-1]] = why[written[1:]] == HEADER_AGAIN
    return out


def _fits(role: np.ndarray, column: np.ndarray, first: np.ndarray, where: np.ndarray) -> np.ndarray:
    """Which lines (of ``where``) have as their ``first`` text a place or day in a ``column`` of that ``role``, bool, shape (lines,)."""
    out = np.zeros(len(column), dtype=bool)
    for at in np.flatnonzero(where & np.isin(role[column], OF_PLACE_OR_DAY)):
        out[at] = headings.place_or_day(first[at].strip(), role[column[at]])
    return out


def _says_vehicle(names: list[str], filled: np.ndarray, pairs: dict[int, list]) -> bool:
    """Whether a column of the records, or a label over them, names the vehicle."""
    said = {headings.meaning(name).role for name, any_of in zip(names, filled.any(axis=0), strict=True) if any_of}
    said |= {headings.meaning(label).role for its in pairs.values() for label, _ in its}
    return bool(said & {"vehicle_id", "vin"})


def _vehicles_among(role: str, others: set[str], lines: dict[int, str], titles: int) -> set[int]:
    """Lines of one text that name a vehicle where their column holds places or days: ``Van 1``, or several names, each another.

    ``others`` are the column's texts in the records, ``titles`` how many lines of one text stand above the header.
    """
    could = {at: text for at, text in lines.items() if text not in others and len(text.split()) < LONG_NAME}
    nouns = {at for at, text in could.items() if headings.meaning(re.sub(r"\d+", " ", text)).role == "vehicle_id"}
    bare = {at: text for at, text in could.items() if at not in nouns and not headings.place_or_day(text, role)}
    differ = len(set(bare.values())) == len(bare) and len(bare) + len(nouns) + min(titles, 1) > 1
    return nouns | (bare.keys() if differ else set())


def _said_over(
    blocks: dict[int, list[int]], texts: dict[int, list[str]], pairs: dict[int, list], below: list[str], records: np.ndarray, rows: int
) -> dict[str, np.ndarray]:  # fmt: skip
    """What each record is told by the lines over its block, by what it is, from the first line to the last.

    ``blocks`` are the lines over each block by the place of its first record, ``below`` the texts under the last record and the like.
    """
    over = [text for at in blocks.get(0, []) for text in texts[at]]
    above = {_without_page(text) for text in over}
    units = {headings.unit_over(text) for text in over} | {headings.unit_over(text, note=True) for text in below}
    units -= {""}
    now: dict[str, str] = {"Unit": units.pop()} if len(units) == 1 else {}
    if now:
        blocks.setdefault(0, [])
    said: dict[str, np.ndarray] = {}
    starts = sorted(blocks)
    for first, after in zip(starts, [*starts[1:], len(records)][: len(starts)], strict=True):
        its = blocks[first]
        own = dict(pair for at in its for pair in pairs[at])
        bare = [texts[at][0] for at in its if len(texts[at]) == 1 and not pairs[at] and not _empty_label(texts[at][0])]
        if first:  # not the title of the next page
            bare = [
                text
                for text in bare
                if headings.place_only(text) or _without_page(text) not in above and not _PAGE.fullmatch(text)
            ]
        follows = [text for text in bare if headings.follows(text)]
        bare = [text for text in bare if text not in follows]
        named = {headings.meaning(label).role for label in own}
        emptied = {headings.meaning(text.strip().rstrip(": ")).role for at in its for text in texts[at] if _empty_label(text)}
        emptied -= named  # its value stands in the next cell
        of_another = any(not (headings.place_only(text) or headings.part_only(text)) for text in bare)
        ended = _ended(named | emptied, of_another) | emptied
        now = {label: text for label, text in now.items() if headings.meaning(label).role not in ended}
        now |= own | ({LINE_ABOVE: bare[-1]} if bare else {}) | ({FOLLOWS: "\n".join(follows)} if follows else {})
        for label, text in now.items():
            said.setdefault(label, np.full(rows, "", dtype=object))[records[first:after]] = text
    return said


def _ended(named: set[str], title: bool) -> set[str]:
    """What no longer holds for a block under lines that name these, or under a title."""
    if title or named & {"vehicle_id", "vin"}:
        return {*OF_A_BLOCK, "", *named & {"unit"}}
    return ({"date", "odometer"} if named & {"date", "odometer"} else set()) | named & {"unit"}


def _labelled(first: np.ndarray, where: np.ndarray, texts: np.ndarray, roles: tuple) -> np.ndarray:
    """Which lines begin with a word for one of these roles, bool, by the place of each line's first text."""
    known = np.zeros(len(texts), dtype=bool)
    for at in np.unique(first[where]):
        label, colon, _ = texts[at].strip().partition(":")
        if colon or not any(map(str.isdigit, label)):
            known[at] = headings.meaning(label).role in roles
    return known[first]


def _pairs(texts: list[str], all_of_it: bool) -> list[tuple[str, str]]:
    """``(label, value)`` of a line that says something of the records under it: ``Vehicle: Van 7``, in a cell or in two.

    Behind a label with a colon and its value may stand more words, no headings; ``all_of_it``: the line must say nothing else.
    """
    if _in_turn(texts):
        return [(label.strip().rstrip(": "), value) for label, value in zip(texts[::2], texts[1::2], strict=True)]
    out, used, marked = [], set(), False
    for at, text in enumerate(texts):
        label, colon, value = (piece.strip() for piece in text.partition(":"))
        role = headings.meaning(label).role
        if at in used or role not in SAID_ABOVE:
            continue
        beside = not value and at + 1 < len(texts) and _is_value(texts[at + 1], role, bool(colon), len(texts))
        value = texts[at + 1] if beside else value
        if value:
            out.append((label, value))
            used |= {at, at + beside}
            marked |= bool(colon) and not at
    more = [text for at, text in enumerate(texts) if at not in used and not _empty_label(text)]
    words = marked and not any(re.search(r"\d", text) or headings.meaning(text).role in SAID_ABOVE for text in more)
    return out if words or not more or not all_of_it else []


def _in_turn(texts: list[str]) -> bool:
    """Whether labels and values take turns in a line of a form, ``Vehicle, Van 1, Date, 2024-03-05``: no line of headings."""
    roles = [headings.meaning(label.strip().rstrip(": ")).role for label in texts[::2]]
    return (
        len(texts) > 3
        and len(texts) % 2 == 0
        and len({*roles} & {*SAID_ABOVE}) == len(roles)
        and not any(headings.wordy(value) and headings.is_heading(value) for value in texts[1::2])
        and any(re.search(r"\d", value) for value in texts[1::2])
    )


def _empty_label(text: str) -> bool:
    """Whether a text is a label with nothing behind it, ``Vehicle:``."""
    label, colon, value = text.strip().partition(":")
    return bool(colon) and not value.strip() and headings.meaning(label).role in SAID_ABOVE


def _is_value(text: str, role: str, colon: bool, cells: int) -> bool:
    """Whether a cell is what the label before it speaks of, and no heading beside another: ``Van 1`` after ``Vehicle``."""
    if not colon and cells > 2 or headings.meaning(text.partition(":")[0]).role and ":" in text:
        return False
    alone = colon and cells == 2 or not headings.wordy(text)
    return not headings.is_heading(text) or alone and headings.meaning(text).role in ("", role)


def _no_cells(below: np.ndarray, lines: dict[int, str]) -> set[int]:
    """Lines of one text that is no cell of its column: a name over numbers (``below``), no sentence; or a place on the vehicle."""
    worded = np.mean([any(map(str.isalpha, cell)) or not cell.strip() for cell in below])
    return {at for at, text in lines.items() if worded < 0.1 and len(text.split()) < LONG_NAME or headings.place_only(text)}


_NAME_OR_YEAR = re.compile(r"[^\W\d_]|^(?:19|20)\d\d$")
_PAGE = re.compile(
    r"(?i)\b(page|seite|pagina|página|pag\.?|hoja|folha|blatt|blad|strona|sheet)\W*\d+(?:\s*(?:of|von|de|di|van|/)\s*\d+)?"
)
"""A page's number behind its word; every other number may be what tells two blocks apart."""


def _without_page(text: str) -> str:
    return " ".join(_PAGE.sub(r"\1", text).lower().split())


def _merged_down(code, filled, counts, merged, begin: int) -> None:
    """One cell over several records holds for each of them that has anything else written in it."""
    for (top, first), (bottom, last) in merged:
        if begin <= top < bottom < len(code) and first == last and filled[top, first]:
            for at in range(top + 1, bottom + 1):
                if counts[at] and not filled[at, first]:
                    code[at, first], filled[at, first] = code[top, first], True


def _header(cells, filled, counts) -> tuple[int, list[int]]:
    """Lines of titles, and the places of the header lines (none where the table begins with records)."""
    usual = np.percentile(counts[counts > 0], 75) if (counts > 0).any() else 0
    for at in range(min(len(cells), LOOKED_AT)):
        if not counts[at] or counts[at] < max(min(2, usual), 0.5 * usual):
            continue
        row = np.array(headings.uncounted(cells[at][filled[at]].tolist()), dtype=object)
        texts = [cell.strip() for cell in row]
        said = _pairs(texts, all_of_it=True) and (counts[at] < usual or any(":" in cell for cell in row))
        if said or _in_turn(texts):
            continue
        plain = [cell for cell in row if not cell.strip().isdigit()]
        numbered = (
            len(plain) > 2
            and all(map(headings.is_heading, plain))
            and len({*row}) == len(row)
            and all(len(c) < 3 for c in row if c not in plain)
        )
        share = np.mean([headings.wordy(cell) for cell in (plain if numbered else row)])
        if share < WORDY_SHARE and not (share > 0 and _says_columns(row)):
            if (
                not at
                and share > 0
                and any(_names_columns(cells[below][filled[below]], counts[at]) for below in range(1, min(len(cells), 6)))
            ):
                continue  # From, 1 January, To, 30 April
            return at if all(_sparse(cells, filled, counts, above, usual) for above in range(at)) else 0, []
        return _header_lines(cells, filled, counts, at, usual)
    return 0, []


def _says_columns(row) -> bool:
    """Whether a line names the columns of the day and of the vehicle or odometer, as no record does."""
    said = {headings.meaning(cell).role for cell in row}
    return "date" in said and bool(said & {"vehicle_id", "vin", "odometer"})


def _says_limits(row) -> bool:
    """Whether a line is the heading of a list of limits: ``Part, New mm, Min mm``."""
    of_limits = [bool((headings.LOWEST | headings.NO_READING) & set(headings.tokens(cell))) for cell in row]
    return sum(of_limits) > 1 and not all(of_limits)


def _names_columns(row, more: int) -> bool:
    """Whether a line of more cells than these is all headings, and names the columns of the day and the vehicle."""
    names = headings.uncounted(list(row))
    return len(names) > more and all(map(headings.wordy, names)) and _says_columns(names)


def _sparse(cells, filled, counts, at, usual) -> bool:
    return counts[at] < max(2, 0.5 * usual)


def _header_lines(cells, filled, counts, at, usual) -> tuple[int, list[int]]:
    """A full header line at ``at``: with the lines of groups above it, and of parts or units below it."""
    lines = [at]
    names = [cell.strip().lower() for cell in cells[at][filled[at]]]
    repeat = len(set(names)) < len(names)  # the same wheels under several names
    while at and len(lines) < MOST_HEADER_LINES and _is_group(cells[at - 1], filled[at - 1], filled[lines].any(axis=0), repeat):
        at -= 1
        lines.insert(0, at)
    below = lines[-1] + 1
    while below < len(cells) and len(lines) < MOST_HEADER_LINES and _goes_on(cells, filled, below):
        lines.append(below)
        below += 1
    return at, lines


def _is_group(row, filled, below, repeat: bool) -> bool:
    """A line of group names over a header line: heading words only, and two of them, or one that is not in the first column.

    Where there are two of them any words may stand over columns that have no heading ``below``; where the headings below ``repeat``, any
    words beside one of them that begin right of the first column.
    """
    names = row[filled]
    if not len(names) or not filled[1:].any() or not all(map(headings.wordy, names)):
        return False
    known = np.array([headings.is_group(name) for name in names])
    over = repeat and known.any() and not filled[0] and len(names) > 1
    return bool(known.all() or known.sum() > 1 and (known | ~below[filled]).all() or over)


def _goes_on(cells, filled, at) -> bool:
    """A second header line: heading words in all that is filled, and in no more cells than records have texts.

    Any other words may stand beside them where the heading words are the parts of a group, over numbers.
    """
    here = filled[at]
    names = cells[at][here]
    if len(names) < 2:
        return False
    if _counts_in_groups(cells, filled, at):
        return True
    if not all(map(headings.wordy, names)):
        return False
    known = np.array([headings.is_heading(name) for name in names])
    if known.any() and np.mean(known | [headings.goes_on(name) for name in names]) >= WORDY_SHARE:
        return True
    return any(_parts_of_groups(cells, filled, at, np.flatnonzero(here)[those]) for those in (known, np.ones_like(known)))


def _counts_in_groups(cells, filled, at: int) -> bool:
    """Whether a line counts the columns of each group over it and says nothing else: ``1, 2, 1, 2`` or ``S1, S2, S1, S2``."""
    here, above = np.flatnonzero(filled[at]), np.flatnonzero(filled[at - 1])
    counts = [re.fullmatch(r"([^\W\d]?)(\d)", cells[at, place].strip()) for place in here]
    if not all(counts) or not len(above):
        return False
    group = np.searchsorted(above, here, side="right")
    runs = [[found[0] for found, one in zip(counts, group, strict=True) if one == its] for its in dict.fromkeys(group)]
    counted = [f"{counts[0][1]}{number + 1}" for number in range(len(runs[0]))]
    return len(runs) > 1 and len(counted) > 1 and all(run == counted for run in runs) and here[0] > 0


def _parts_of_groups(cells, filled, at: int, parts: np.ndarray) -> bool:
    """Whether these places of a line, two or more, stand under names of groups and over numbers, whatever their words."""
    above = filled[at - 1]
    grouped = ~above[parts] | ~np.append(above, True)[parts + 1]
    below = cells[at + 1 :, parts]
    numbers = np.array([[any(map(str.isdigit, cell)) and not headings.wordy(cell) for cell in row] for row in below], dtype=bool)
    written = filled[at + 1 : len(cells), parts].sum(axis=0)  # none yet in some of them
    return bool(len(parts) > 1 and grouped.all() and numbers.any() and (numbers.sum(axis=0) >= 0.5 * written).all())


def _joined(rows, filled, merged) -> list[str]:
    """One heading a column from several lines, group names carried to the right over the gaps of a merged cell."""
    rows = rows.copy()
    for at in range(len(rows) - 1):
        if not merged and _centred(rows, at):
            continue
        spans = [(first, last) for (top, first), (_, last) in merged if last > first] if merged else []
        for place in range(1, rows.shape[1]):
            if rows[at, place].strip() or not filled[at + 1 :, place].any():
                continue
            inside = any(first < place <= last and rows[at, first].strip() for first, last in spans)
            own = [cell for cell in rows[at + 1 :, place] if cell.strip()]
            if not inside and own and headings.meaning(own[-1]).role in REMARKS:  # under no group of readings
                continue
            if inside or (not merged and rows[at, place - 1].strip()):
                rows[at, place] = rows[at, place - 1]
    return [" / ".join(dict.fromkeys(" ".join(cell.split()) for cell in column if cell.strip())) for column in rows.T]


def _centred(rows, at: int) -> bool:
    """Groups written over the middle of their columns: a column before the first of them is named like one under it.

    Each column gets the group of its stretch where the names below repeat, and none where that is not clear.
    """
    below = ["".join(cell.strip() for cell in column) for column in rows[at + 1 :].T]
    group = [bool(cell.strip()) and bool(name) for cell, name in zip(rows[at], below, strict=True)]
    first = group.index(True) if any(group) else 0
    bare = [place for place in range(first) if below[place] and not rows[at, place].strip()]
    begin = next((place for place in bare if below[place] in below[first:]), None)
    if begin is None:
        return False
    length = below.index(below[begin], begin + 1) - begin
    stretch = [(place - begin) // length for place in range(len(below))]
    groups = {stretch[place]: rows[at, place] for place in range(first, len(below)) if group[place]}
    if len(groups) == sum(group):
        same = [below[begin + n * length : begin + (n + 1) * length] == below[begin : begin + length] for n in groups]
        for place in range(begin, len(below)) if all(same) else ():
            rows[at, place] = groups.get(stretch[place], "")
    return True


def _each_once(names: list[str]) -> list[str]:
    seen: Counter = Counter()
    out = []
    for name in names:
        seen[name] += 1
        out.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return out


def _no_records(code, filled, header, texts) -> np.ndarray:
    """Why lines below the header are no records, shape (lines,); empty where they are."""
    stripped = np.array([text.strip() for text in texts], dtype=object)
    same, _ = pd.factorize(stripped)
    again = np.zeros(len(code), dtype=bool)
    for line in header:
        again |= (same[code] == same[line]).all(axis=1)
    leading = filled & (np.cumsum(filled, axis=1) <= 2)
    sums = np.zeros(len(texts), dtype=bool)
    looked_at = np.unique(code[leading])
    sums[looked_at] = [bool(headings.SUMS.fullmatch(text)) for text in stripped[looked_at]]
    totals = (leading & sums[code]).any(axis=1)
    ruled = np.array([not text.strip("-=_*#. ") for text in stripped], dtype=bool)[code].all(axis=1)
    return np.select([again, totals, ruled], [HEADER_AGAIN, "totals", "a ruled line"], "").astype(object)
