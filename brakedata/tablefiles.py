"""Reading table files: CSV, Parquet and XLSX to frames of cells as written, with the line each row stands on.

Nothing is interpreted here and no file is changed. Every frame has the file's columns (names lower-cased, spaces to
underscores) and ``row``, the line in the source file, where the first line of the file is line 1. The header is the
first line that is not blank; blank lines are no rows.
"""

import csv
import datetime
import io
import re
from pathlib import Path

import numpy as np
import pandas as pd

from brakedata import findings
from brakedata.findings import RecordsError

LARGEST_FILE_BYTES = 4 * 1024**3
SEPARATORS = ",;\t"
CONTROL_SHARE = 0.05
"""A file in whose first 10,000 characters more than this share are control characters is not text."""

Read = tuple[pd.DataFrame, list[pd.DataFrame]]


# --- CSV --------------------------------------------------------------------------------------------------------------


def read_csv(path: Path, table: str) -> Read:
    """Cells of a CSV file as text, and the findings about the file itself.

    Comma, semicolon or tab as separator, whichever the header line has most of. UTF-8 with or without byte-order mark,
    UTF-16, else Windows-1252 with a finding (R6). A line with more cells than the header is left out (R5); a quotation
    mark that is never closed, or closed many rows later, is read as a plain character (R16).

    Raises
    ------
    RecordsError
        The file cannot be opened or is not text.
    """
    text, found = _decoded(path, table)
    above = re.match(r"(?:[ \t,;]*\n)*", text)
    blank_lines = above.group().count("\n")
    text = text[above.end() :]
    separator = max(SEPARATORS, key=text.split("\n", 1)[0].count)
    frame = _even(text, separator)
    if frame is None:
        return _uneven(text, separator, blank_lines, table, found)
    line = 1 + blank_lines + np.arange(len(frame))
    if text.count("\n") > len(frame):
        breaks = sum(frame[name].str.count("\n") for name in frame.columns).to_numpy(dtype=int)
        line[1:] += np.cumsum(breaks)[:-1]
        broken = frame[breaks > 0].to_numpy().ravel()
        if any(_holds_rows(cell, separator, frame.shape[1]) for cell in broken):
            return _uneven(text, separator, blank_lines, table, found)
    return _named(frame.iloc[1:].reset_index(drop=True), frame.iloc[0].tolist(), line[1:], table, found)


def _even(text: str, separator: str) -> pd.DataFrame | None:
    """Cells of a CSV text no line of which has more cells than the first; None for any other."""
    try:
        return pd.read_csv(
            io.StringIO(text), dtype=str, sep=separator, keep_default_na=False, na_filter=False,
            skip_blank_lines=False, index_col=False, on_bad_lines="error", header=None,
        )  # fmt: skip
    except (pd.errors.ParserError, pd.errors.EmptyDataError, ValueError):
        return None


def _uneven(text: str, separator: str, blank_lines: int, table: str, found: list) -> Read:
    """The slow way round, for files whose lines differ in length: nothing lost, long lines reported."""
    records, lines, open_quotes = _split(text, separator)
    lines = np.array(lines, dtype=int) + blank_lines
    if open_quotes:
        found.append(findings.make("R16-quote-open", table, row=np.array(open_quotes) + blank_lines))
    names = records[0] if records else []
    cells, rows, long_rows, long_text = [], [], [], []
    for record, line in zip(records[1:], lines[1:], strict=True):
        if any(cell.strip() for cell in record[len(names) :]):
            long_rows.append(line)
            long_text.append(separator.join(record)[:200])
        else:
            cells.append((record + [""] * len(names))[: len(names)])
            rows.append(line)
    if long_rows:
        found.append(findings.make("R5-cells-too-many", table, row=long_rows, value=long_text))
    frame = pd.DataFrame(cells, columns=range(len(names)), dtype="str")
    return _named(frame, names, np.array(rows, dtype=int), table, found)


def _split(text: str, separator: str) -> tuple[list[list[str]], list[int], list[int]]:
    """Records of a CSV text, the line each begins on, and the lines whose quotation marks were read as plain characters."""
    csv.field_size_limit(2**31 - 1)
    end = "\0"  # a line of its own, unless a quotation mark is still open
    reader = csv.reader(io.StringIO(f"{text}\n{end}"), delimiter=separator)
    records, lines, open_quotes = [], [], []
    written = text.split("\n")
    start = 1
    for record in reader:
        after = reader.line_num + 1
        unclosed = record[-1:] != [end] and record and record[-1].endswith(end)
        if record == [end]:
            break
        if unclosed or any(_holds_rows(cell, separator, len(records[0]) if records else 0) for cell in record):
            open_quotes.append(start)
            plain = csv.reader(written[start - 1 : after - 1], delimiter=separator, quoting=csv.QUOTE_NONE)
            split = [[cell.strip('"') for cell in cells] for cells in plain]
            records += split
            lines += range(start, start + len(split))
        else:
            records.append(record)
            lines.append(start)
        start = after
    return records, lines, open_quotes


def _holds_rows(cell: str, separator: str, width: int) -> bool:
    """Whether a quoted cell with line breaks has swallowed rows: a line in it with most of a row's separators."""
    if "\n" not in cell or width < 4:
        return False
    return any(line.count(separator) >= 0.6 * (width - 1) for line in cell.split("\n")[1:])


def _decoded(path: Path, table: str) -> tuple[str, list[pd.DataFrame]]:
    """Text of a file with ``\\n`` line ends, and what was found about its encoding (R6)."""
    data = _bytes(path)
    found = []
    head = np.frombuffer(data[: 2 * (len(data[:4000]) // 2)], dtype="uint8").reshape(-1, 2) == 0
    zeros = head.mean(axis=0) if len(head) else np.zeros(2)
    try:
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            text = data.decode("utf-16", errors="replace")
        elif zeros.max() > 0.4 and zeros.min() < 0.1:
            text = data.decode("utf-16-le" if zeros[1] > zeros[0] else "utf-16-be", errors="replace")
        else:
            text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
        found.append(findings.make("R6-encoding", table, reading=path.name))
    if len(re.findall(r"[\0-\x08\x0e-\x1f]", text[:10_000])) > CONTROL_SHARE * len(text[:10_000]):
        raise RecordsError(f"{path.name} is not a text table: save it again as .csv, or take it out of the folder.")
    if "\0" in text:
        text = text.replace("\0", "")
        advice = "the file holds zero bytes, as a damaged copy does; they were left out: export it again"
        found.append(findings.make("R6-encoding", table, reading=path.name, advice=advice))
    return text.replace("\r\n", "\n").replace("\r", "\n"), found


def _bytes(path: Path) -> bytes:
    try:
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise RecordsError(f"{path.name} is larger than 4 GB: split it by year, or save it as Parquet.")
        return path.read_bytes()
    except OSError as problem:
        raise RecordsError(
            f"{path.name} could not be opened ({problem.strerror or problem}): close it in other programs and try again."
        ) from problem


# --- Parquet ----------------------------------------------------------------------------------------------------------


def read_parquet(path: Path, table: str) -> Read:
    """Cells of a Parquet file with their own types; ``row`` counts as if a header were line 1."""
    from pyarrow import parquet

    data = _bytes(path)
    try:
        frame = parquet.ParquetFile(io.BytesIO(data)).read().to_pandas(ignore_metadata=True)
    except Exception as problem:  # a broken file raises many kinds
        raise RecordsError(f"{path.name} is not a readable Parquet file: export it again.") from problem
    names = [str(name) for name in frame.columns]
    frame.columns = range(len(names))
    return _named(frame, names, 2 + np.arange(len(frame)), table, [])


# --- XLSX -------------------------------------------------------------------------------------------------------------


def open_workbook(path: Path):
    """A workbook, with ``sheet_names``; for ``read_sheet``.

    Raises
    ------
    RecordsError
        The file cannot be opened or is no workbook.
    """
    from python_calamine import CalamineWorkbook

    data = _bytes(path)
    try:
        return CalamineWorkbook.from_filelike(io.BytesIO(data))
    except Exception as problem:  # a broken workbook raises many kinds
        raise RecordsError(f"{path.name} is not a readable workbook: open it and save it again as .xlsx.") from problem


def read_sheet(book, sheet: str, table: str) -> Read:
    """Cells of one sheet as text: whole numbers without ``.0``, dates as YYYY-MM-DD; ``row`` is the sheet's own number."""
    try:
        lines = book.get_sheet_by_name(sheet).to_python(skip_empty_area=False)
    except Exception as problem:  # a broken sheet raises many kinds
        raise RecordsError(f"the sheet {sheet} is not readable: open the workbook and save it again as .xlsx.") from problem
    texts = [[_as_text(cell) for cell in line] for line in lines]
    top = next((i for i, line in enumerate(texts) if any(text.strip() for text in line)), len(texts))
    names = texts[top] if texts[top:] else []
    frame = pd.DataFrame(texts[top + 1 :], columns=range(len(names)), dtype="str")
    return _named(frame, names, top + 2 + np.arange(len(frame)), table, [])


def _as_text(cell) -> str:
    if isinstance(cell, str):
        return cell
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, datetime.datetime):
        return cell.date().isoformat() if cell.time() == datetime.time() else cell.isoformat(sep=" ")
    return str(cell)


# --- all --------------------------------------------------------------------------------------------------------------


def _named(frame, names, row, table, found) -> Read:
    """Put the header on, drop blank lines and repeated columns, add the line numbers."""
    names = [re.sub(r"[\s-]+", "_", str(name).strip().strip("\ufeff").lower()) for name in names]
    first = {}
    for position, name in enumerate(names):
        if name and name in first:
            found.append(findings.make("R4-column-twice", table, column=name))
        elif name:
            first[name] = position
    frame = frame[list(first.values())]
    frame.columns = list(first)
    written = np.zeros(len(frame), dtype=bool)
    for name in first:
        column = frame[name]
        said = column.str.strip().ne("") if isinstance(column.dtype, pd.StringDtype) else True
        written |= (column.notna() & said).to_numpy()
    frame = frame.assign(row=row)
    return frame[written].reset_index(drop=True), found
