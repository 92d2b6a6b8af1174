"""Foreign files to plain tables of text: which lines are a title, the header, records, totals; each cell as it was written.

A `Sheet` is one table of one file, of any shape a shop keeps: commas, semicolons, tabs or bars between the cells, one or several
header lines (merged ones too), titles above, totals below, or no header at all; workbooks of many sheets; zipped exports. No cell is
interpreted here, and every line is kept or named with the reason why it is no record.
"""

import csv
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import chain
from pathlib import Path

import numpy as np
import pandas as pd

from brakedata import findings, guards, headings, tablefiles
from brakedata.findings import RecordsError

TEXT_ENDINGS = (".csv", ".tsv", ".txt", ".tab", ".dat")
OTHER_ENDINGS = (".xlsx", ".xlsm", ".xls", ".ods", ".parquet", ".zip")
SEPARATORS = ",;\t|"
LOOKED_AT = 60
"""Lines in which the header is looked for."""
MOST_HEADER_LINES = 3
WORDY_SHARE = 0.8
"""At least so many of a header line's filled cells read like headings."""


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
    sheets = [_sheet(part) for grid in grids for part in _apart(grid)]
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
        book = tablefiles.open_book(data, name)
        return [_workbook_sheet(book, sheet, name) for sheet in book.sheet_names]
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
    separator = _separator(text)
    text = tablefiles.without_endless_lines(text.rstrip("\n"), separator, 0, name, found)
    rows, lines, open_quotes = tablefiles.split_lines(text, separator)
    if open_quotes:
        found.append(findings.make("R16-quote-open", name, row=open_quotes))
    guards.check_grid(len(rows), max(map(len, rows), default=0), name)
    return _grid(name, "", "csv", separator, rows, lines)


def _separator(text: str) -> str:
    """The sign between the cells: the one that cuts most lines into the same number of cells, more than one."""
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
    return best


def _workbook_sheet(book, sheet: str, name: str) -> _Grid:
    with guards.reader_faults(f"{name}: the sheet {guards.shown(sheet)} is not readable: open the workbook and save it again."):
        opened = book.get_sheet_by_name(sheet)
        rows = [[tablefiles.as_text(cell) for cell in row] for row in opened.to_python(skip_empty_area=False)]
        merged = guards.merged(opened)
    return _grid(name, guards.shown(sheet, 200), "xlsx", "", rows, range(1, len(rows) + 1), merged)


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
        if header and sum(name in header for name in said) >= 0.5 * len(said) and _another(names, header):
            starts.append(int(after_filled[at - 1]))  # with the blank lines above it
            header = names
        header = header or names
    out = []
    for begin, end in zip([0, *starts], [*starts, lines], strict=True):
        merged = [((t - begin, f), (b - begin, last)) for (t, f), (b, last) in grid.merged if begin <= t and b < end]
        out.append(_part(grid, begin, end, merged) if starts else grid)
    return out


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
    """Whether a line of headings stands otherwise than the one above: a word that both have is in another column."""
    return any(name and name in header and (at >= len(header) or header[at] != name) for at, name in enumerate(names))


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
    names = _each_once([name or f"column {place + 1}" for place, name in enumerate(names)])
    why = np.full(last, "", dtype=object)
    why[:top] = "a title above the table"
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
    kept = body[why[body] == ""]
    gone = np.flatnonzero(why != "")
    value = [" ".join(" ".join(grid.texts[code[at]]).split())[:120] for at in gone]
    chosen = np.flatnonzero(used)
    texts = pd.array(grid.texts, dtype="str")
    frame = pd.DataFrame({names[place]: texts.take(code[kept, place]) for place in chosen})
    return Sheet(
        grid.file, grid.sheet, grid.source, grid.delimiter, list(frame.columns), int(line[header[0]]) if header else 0,
        [cell.strip() for row in head[:top] for cell in row if cell.strip()], frame, line[kept],
        pd.DataFrame({"line": line[gone], "why": why[gone], "value": value}),
    )  # fmt: skip


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
        row = cells[at][filled[at]]
        plain = [cell for cell in row if not cell.strip().isdigit()]
        numbered = (
            len(plain) > 2
            and all(map(headings.is_heading, plain))
            and len({*row}) == len(row)
            and all(len(c) < 3 for c in row if c not in plain)
        )
        if np.mean([headings.wordy(cell) for cell in (plain if numbered else row)]) < WORDY_SHARE:
            return at if all(_sparse(cells, filled, counts, above, usual) for above in range(at)) else 0, []
        return _header_lines(cells, filled, counts, at, usual)
    return 0, []


def _sparse(cells, filled, counts, at, usual) -> bool:
    return counts[at] < max(2, 0.5 * usual)


def _header_lines(cells, filled, counts, at, usual) -> tuple[int, list[int]]:
    """A full header line at ``at``: with the lines of groups above it, and of parts or units below it."""
    lines = [at]
    while at and len(lines) < MOST_HEADER_LINES and _is_group(cells[at - 1], filled[at - 1]):
        at -= 1
        lines.insert(0, at)
    below = lines[-1] + 1
    while below < len(cells) and len(lines) < MOST_HEADER_LINES and _goes_on(cells[below], filled[below]):
        lines.append(below)
        below += 1
    return at, lines


def _is_group(row, filled) -> bool:
    """A line of group names over a header line: heading words only, and two of them, or one that is not in the first column."""
    names = row[filled]
    return (
        bool(len(names)) and all(map(headings.wordy, names)) and all(map(headings.is_heading, names)) and bool(filled[1:].any())
    )


def _goes_on(row, filled) -> bool:
    """A second header line: heading words in all that is filled, and in no more cells than records have texts."""
    names = row[filled]
    return (
        len(names) > 1
        and all(map(headings.wordy, names))
        and np.mean([headings.is_heading(name) for name in names]) >= WORDY_SHARE
    )


def _joined(rows, filled, merged) -> list[str]:
    """One heading a column from several lines, group names carried to the right over the gaps of a merged cell."""
    rows = rows.copy()
    for at in range(len(rows) - 1):
        spans = [(first, last) for (top, first), (_, last) in merged if last > first] if merged else []
        for place in range(1, rows.shape[1]):
            if rows[at, place].strip() or not filled[at + 1 :, place].any():
                continue
            inside = any(first < place <= last and rows[at, first].strip() for first, last in spans)
            if inside or (not merged and rows[at, place - 1].strip()):
                rows[at, place] = rows[at, place - 1]
    return [" / ".join(dict.fromkeys(" ".join(cell.split()) for cell in column if cell.strip())) for column in rows.T]


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
    return np.select([again, totals, ruled], ["the header again", "totals", "a ruled line"], "").astype(object)
