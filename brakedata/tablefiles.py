"""Reading table files: CSV, Parquet and XLSX to frames of cells as written, with the line each row stands on.

Nothing is interpreted here and no file is changed. Every frame has the file's columns (names lower-cased, spaces to
underscores) and ``row``, the line in the source file; the header is line 1.
"""

import csv
import datetime
import io
from pathlib import Path

import numpy as np
import pandas as pd

from brakedata import findings
from brakedata.findings import RecordsError

LARGEST_FILE_BYTES = 4 * 1024**3


def read_csv(path: Path, table: str) -> tuple[pd.DataFrame, list[pd.DataFrame]]:
    """Cells of a CSV file as text, and the findings about the file itself.

    Comma, semicolon or tab as separator, whichever the header line has most of. UTF-8 with or without byte-order mark,
    UTF-16 with one, else Windows-1252 with a finding (R6). A line with more cells than the header is left out (R5).
    """
    found = []
    data = _bytes(path)
    text = None
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        text = data.decode("utf-16", errors="replace")
    else:
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = data.decode("cp1252", errors="replace")
            found.append(findings.make("R6-encoding", table, reading=path.name))
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    header = text.split("\n", 1)[0]
    separator = max(",;\t", key=header.count)
    try:
        frame = pd.read_csv(
            io.StringIO(text), dtype=str, sep=separator, keep_default_na=False, na_filter=False,
            skip_blank_lines=False, index_col=False, on_bad_lines="error", header=None,
        )  # fmt: skip
    except (pd.errors.ParserError, pd.errors.EmptyDataError, ValueError):
        frame = None
    if frame is None or frame.shape[1] != len(next(csv.reader([header], delimiter=separator), [])):
        return _read_ragged(text, separator, table, found)
    names = frame.iloc[0].tolist()
    frame = frame.iloc[1:].reset_index(drop=True)
    if text.count("\n") > len(frame) + 1:
        breaks = sum(frame[name].str.count("\n") for name in frame.columns).to_numpy()
        row = 2 + np.arange(len(frame)) + np.concatenate([[0], np.cumsum(breaks)[:-1]])[: len(frame)]
    else:
        row = 2 + np.arange(len(frame))
    return _named(frame, names, row, table, found)


def _bytes(path: Path) -> bytes:
    try:
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise RecordsError(f"{path.name} is larger than 4 GB: split it by year, or save it as Parquet.")
        return path.read_bytes()
    except OSError as problem:
        raise RecordsError(
            f"{path.name} could not be opened ({problem.strerror or problem}): close it in other programs and try again."
        ) from problem


def _read_ragged(text, separator, table, found):
    """The slow way round, for files whose lines differ in length: nothing lost, long lines reported."""
    csv.field_size_limit(2**31 - 1)
    reader = csv.reader(io.StringIO(text), delimiter=separator)
    names = next(reader, [])
    cells, rows, long_rows, long_text = [], [], [], []
    before = reader.line_num
    for line in reader:
        start, before = before + 1, reader.line_num
        if len(line) > len(names) and any(cell.strip() for cell in line[len(names) :]):
            long_rows.append(start)
            long_text.append(separator.join(line)[:200])
            continue
        cells.append((line + [""] * len(names))[: len(names)])
        rows.append(start)
    if long_rows:
        found.append(findings.make("R5-cells-too-many", table, row=long_rows, value=long_text))
    frame = pd.DataFrame(cells, columns=range(len(names)), dtype="str")
    return _named(frame, names, np.array(rows, dtype=int), table, found)


def read_parquet(path: Path, table: str) -> tuple[pd.DataFrame, list[pd.DataFrame]]:
    """Cells of a Parquet file with their own types; ``row`` counts as if a header were line 1."""
    try:
        frame = pd.read_parquet(path)
    except Exception as problem:  # a broken file raises many kinds
        raise RecordsError(f"{path.name} is not a readable Parquet file: export it again.") from problem
    names = [str(name) for name in frame.columns]
    frame = frame.reset_index(drop=True)
    frame.columns = range(len(names))
    return _named(frame, names, 2 + np.arange(len(frame)), table, [])


def sheet_names(path: Path) -> list[str]:
    """Names of the sheets of a workbook."""
    return _workbook(path).sheet_names


def _workbook(path: Path):
    from python_calamine import CalamineWorkbook

    data = _bytes(path)
    try:
        return CalamineWorkbook.from_filelike(io.BytesIO(data))
    except Exception as problem:  # a broken workbook raises many kinds
        raise RecordsError(f"{path.name} is not a readable workbook: open it and save it again as .xlsx.") from problem


def read_sheet(path: Path, sheet: str, table: str) -> tuple[pd.DataFrame, list[pd.DataFrame]]:
    """Cells of one sheet as text: the first line is the header, whole numbers without ``.0``, dates as YYYY-MM-DD."""
    lines = _workbook(path).get_sheet_by_name(sheet).to_python(skip_empty_area=False)
    if not lines:
        return _named(pd.DataFrame(), [], np.array([], dtype=int), table, [])
    width = max((i + 1 for i, cell in enumerate(lines[0]) if _as_text(cell)), default=0)
    names = [_as_text(cell) for cell in lines[0][:width]]
    extra = [i for i, line in enumerate(lines[1:]) if any(_as_text(cell) for cell in line[width:])]
    found = []
    if extra:
        texts = [";".join(_as_text(cell) for cell in lines[1 + i])[:200] for i in extra]
        found.append(findings.make("R5-cells-too-many", table, row=[i + 2 for i in extra], value=texts))
    kept = sorted(set(range(len(lines) - 1)) - set(extra))
    cells = [[_as_text(cell) for cell in lines[1 + i][:width]] for i in kept]
    frame = pd.DataFrame(cells, columns=range(width), dtype="str")
    return _named(frame, names, np.array(kept, dtype=int) + 2, table, found)


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


def _named(frame, names, row, table, found):
    """Put the header on, drop empty lines and repeated columns, add the line numbers."""
    names = [str(name).strip().lstrip("\ufeff").lower().replace(" ", "_") for name in names]
    frame = frame.iloc[:, : len(names)]
    frame.columns = range(len(names))
    first = {}
    for position, name in enumerate(names):
        if name and name in first:
            found.append(findings.make("R4-column-twice", table, row=1, column=name))
        elif name:
            first[name] = position
    frame = frame[list(first.values())]
    frame.columns = list(first)
    frame["row"] = row
    written = pd.Series(False, index=frame.index)
    for name in first:
        column = frame[name]
        written |= column.str.strip().ne("") if pd.api.types.is_string_dtype(column) else column.notna()
    return frame[written].reset_index(drop=True), found
