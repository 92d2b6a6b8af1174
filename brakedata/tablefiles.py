"""Reading table files: CSV, Parquet and XLSX to frames of cells as written, with the line each row stands on.

Nothing is interpreted here and no file is changed. Every frame has the file's columns (names lower-cased, spaces to
underscores) and ``row``, the line in the source file, where the first line of the file is line 1. The header is the
first line that is not blank; blank lines are no rows.
"""

import csv
import datetime
import io
import re
import zipfile
from itertools import chain
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pandas as pd

from brakedata import findings, guards
from brakedata.findings import RecordsError, legible

SEPARATORS = ",;\t"
CONTROL_SHARE = 0.05
"""A file in whose first 10,000 characters more than this share are control characters is not text."""
SAMPLE_BYTES = 256 * 1024
REPEATED_SHARE = 0.5
"""A column in whose first 256 KB fewer than this share of the cells are distinct is kept as codes and distinct texts."""
FEW_SHARE = 0.05
"""So is one of fewer distinct texts than this share of its rows: of so many, drawn at random, n cells hold n^2 / (2 x their number) twice."""

Read = tuple[pd.DataFrame, list[pd.DataFrame]]


# --- CSV --------------------------------------------------------------------------------------------------------------


def read_csv(path: Path, table: str) -> Read:
    """Cells of a CSV file as text (columns of repeated texts as categories), and the findings about the file itself.

    Comma, semicolon or tab as separator, whichever the header line has most of. UTF-8 with or without byte-order mark,
    UTF-16, else Windows-1252, or 1250 where Polish words show it, with a finding (R6). A line with more cells than the header is left out (R5); a quotation
    mark that is never closed, or closed many rows later, is read as a plain character (R16).

    Raises
    ------
    RecordsError
        The file cannot be opened, is not text, or is larger or wider than is read (`guards`).
    """
    data = guards.read_bytes(path)
    plain = _plain(data) if guards.kind_of(data) == "text" else None
    if plain is not None:
        names, frame = plain
        guards.check_grid(1, len(names), path.name)
        return _named(frame, names, 2 + np.arange(len(frame)), table, [])
    text, found = text_of(data, path.name, table)
    return read_text(text, path.name, table, found)


def _plain(data: bytes) -> tuple[list[str], pd.DataFrame] | None:
    """Header and cells of the usual file, read quickly: UTF-8, one line a row, every row as long as the header; else None."""
    import pyarrow
    from pyarrow import csv as arrow_csv

    data = data.removeprefix(b"\xef\xbb\xbf")
    if data.endswith((b"\n\n", b"\n\r\n")):
        data = data.rstrip(b"\r\n")
    end = data.find(b"\n")
    head = data[: max(end, 0)].rstrip(b"\r")
    returns = data.count(b"\r")
    if re.search(_CONTROL, data[:10_000].decode("latin-1")):
        return None
    if not head.strip(b" ,;\t\r") or b'"' in head or b"\0" in data or (returns and returns != data.count(b"\r\n")):
        return None
    separator = max(SEPARATORS, key=lambda mark: head.count(mark.encode()))
    if head.count(separator.encode()) >= guards.MOST_COLUMNS or not _quotes_paired(data, separator):
        return None
    try:
        names = head.decode("utf-8").split(separator)
        labels = [str(n) for n in range(len(names))]
        sample = data[end + 1 : data.find(b"\n", end + 1 + SAMPLE_BYTES) + 1 or None]
        first = _arrow(arrow_csv, sample, labels, separator, dict.fromkeys(labels, pyarrow.string()), 0)
        kinds = {
            name: pyarrow.dictionary(pyarrow.int32(), pyarrow.string())
            if _repeats(column, len(column) * len(data) / max(len(sample), 1))
            else pyarrow.string()
            for name, column in zip(labels, first.columns, strict=True)
        }
        cells = _arrow(arrow_csv, data, labels, separator, kinds, 1)
    except (pyarrow.ArrowInvalid, UnicodeDecodeError):
        return None
    if (returns or b'"' in data) and cells.num_rows != data.count(b"\n") - data.endswith(b"\n"):
        return None
    frame = cells.to_pandas()
    frame.columns = range(len(names))
    return names, frame


def even_lines(text: str, separator: str) -> tuple[np.ndarray, np.ndarray] | None:
    """Cells of a text every line of which has the same number of them, read quickly; None for any other text.

    Returns
    -------
    code : ndarray of int, shape (lines, columns)
        Which of ``texts`` each cell is.
    texts : ndarray of str
        The different ones.
    """
    import pyarrow
    from pyarrow import csv as arrow_csv

    width = text.split("\n", 1)[0].count(separator) + 1
    if width > guards.MOST_COLUMNS:
        return None
    data = text.encode("utf-8", "surrogatepass")
    if not _quotes_paired(data, separator):
        return None
    labels = [str(n) for n in range(width)]
    try:
        kinds = dict.fromkeys(labels, pyarrow.dictionary(pyarrow.int32(), pyarrow.string()))
        cells = _arrow(arrow_csv, data, labels, separator, kinds, 0).unify_dictionaries()
    except pyarrow.ArrowInvalid:
        return None
    if cells.num_rows != text.count("\n") + 1:
        return None
    columns = [column.chunk(0) if column.num_chunks == 1 else column.combine_chunks() for column in cells.columns]
    place, texts = pd.factorize(
        np.array(list(chain.from_iterable(column.dictionary.to_pylist() for column in columns)), dtype=object)
    )
    code = np.empty((cells.num_rows, width), dtype="int64")
    before = 0
    for n, column in enumerate(columns):
        code[:, n] = place[before : before + len(column.dictionary)][column.indices.to_numpy()]
        before += len(column.dictionary)
    return code, texts


def _repeats(first, rows: float) -> bool:
    """Whether a column repeats few texts, judged by its first cells: half repeat there, or as many as when `FEW_SHARE` of the rows differ."""
    again = len(first) - len(first.unique())
    return again > (1 - REPEATED_SHARE) * len(first) or 2 * again * FEW_SHARE * rows > len(first) ** 2


def _quotes_paired(data: bytes, separator: str) -> bool:
    """Whether every quotation mark belongs to a cell that begins and ends with one; that none goes over lines, their count shows."""
    if b'"' not in data:
        return True
    letters = np.frombuffer(data, dtype="uint8")
    at = np.flatnonzero(letters == ord('"'))
    opens, closes = at[0::2], at[1::2]
    if len(opens) != len(closes):
        return False
    before, after = letters[opens - 1], letters[np.minimum(closes + 1, len(letters) - 1)]
    starts = np.frombuffer(b'\n"' + separator.encode(), dtype="uint8")  # a doubled mark closes and opens again
    ends = np.append(starts, np.uint8(ord("\r")))
    return bool(np.isin(before, starts).all() and np.isin(after, ends).all())


def _arrow(arrow_csv, data: bytes, labels: list[str], separator: str, kinds: dict, skip: int):
    """A table of texts; raises where a line has more or fewer cells than there are labels."""
    import pyarrow

    return arrow_csv.read_csv(
        pyarrow.BufferReader(data),
        read_options=arrow_csv.ReadOptions(column_names=labels, skip_rows=skip, block_size=4 * 1024**2),
        parse_options=arrow_csv.ParseOptions(delimiter=separator, ignore_empty_lines=False),
        convert_options=arrow_csv.ConvertOptions(column_types=kinds, null_values=[], strings_can_be_null=False),
    )


def read_text(text: str, name: str, table: str, found: list, separator: str | None = None) -> Read:
    """Cells of a table written as text with ``\\n`` line ends; as `read_csv`, to whose findings it adds.

    Parameters
    ----------
    text : str
    name : str
        Of the file, for sentences.
    table : str
    found : list of DataFrame
    separator : str, optional
        Default: the one of comma, semicolon and tab that the header line has most of.
    """
    above = re.match(r"(?:[ \t,;]*\n)*", text)
    blank_lines = above.group().count("\n")
    text = text[above.end() :]
    head = text.split("\n", 1)[0]
    separator = separator or max(SEPARATORS, key=head.count)
    guards.check_grid(1, head.count(separator) + 1, name)
    text = without_endless_lines(text, separator, blank_lines, table, found)
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


def without_endless_lines(text: str, separator: str, blank_lines: int, table: str, found: list) -> str:
    """The text with lines of more cells than any table has columns emptied, and R5 for them: each cell would cost memory."""
    lines = text.split("\n")
    endless = [
        n for n, line in enumerate(lines) if len(line) > guards.MOST_COLUMNS and line.count(separator) > guards.MOST_COLUMNS
    ]
    if not endless:
        return text
    rows = np.array(endless) + blank_lines + 1
    found.append(findings.make("R5-cells-too-many", table, row=rows, value=[lines[n][:200] for n in endless]))
    for n in endless:
        lines[n] = ""
    return "\n".join(lines)


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
    records, lines, open_quotes = split_lines(text, separator)
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


def split_lines(text: str, separator: str) -> tuple[list[list[str]], list[int], list[int]]:
    """Records of a CSV text, the line each begins on, and the lines whose quotation marks were read as plain characters."""
    csv.field_size_limit(2**31 - 1)
    records = _a_line_each(text, separator)
    return (records, list(range(1, len(records) + 1)), []) if records else _over_lines(text, separator)


def _a_line_each(text: str, separator: str) -> list[list[str]]:
    """Records of a text none of whose cells goes over several lines, the quick way; empty for any other text."""
    written = text.split("\n")
    quoted = [at for at, line in enumerate(written) if '"' in line] if '"' in text else []
    read = list(csv.reader([f"{written[at]}\n" for at in quoted], delimiter=separator))
    if len(read) != len(quoted) or quoted and read[-1][-1].endswith("\n"):
        return []
    records = [line.split(separator) for line in written]
    for at, record in zip(quoted, read, strict=True):
        records[at] = record
    return records


def _over_lines(text: str, separator: str) -> tuple[list[list[str]], list[int], list[int]]:
    """As `split_lines`, of any text."""
    end = "\0"  # a line of its own, unless a quotation mark is still open
    written = text.split("\n")
    reader = csv.reader(chain((f"{line}\n" for line in written), [end]), delimiter=separator)
    records, lines, open_quotes = [], [], []
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


def text_of(data: bytes, name: str, table: str) -> tuple[str, list[pd.DataFrame]]:
    """Text of a file with ``\\n`` line ends, and what was found about its encoding (R6).

    Raises
    ------
    RecordsError
        The file is not text.
    """
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
        page = "1250" if re.search(_POLISH, data) else "1252"
        text = data.decode(f"cp{page}", errors="replace")
        advice = f"the file is not UTF-8; it was read as Windows-{page}: save it as UTF-8 if letters look wrong"
        found.append(findings.make("R6-encoding", table, reading=name, advice=advice))
    if guards.kind_of(data) not in ("text", "html", "empty") or (
        len(re.findall(_CONTROL, text[:10_000])) > CONTROL_SHARE * len(text[:10_000])
    ):
        raise RecordsError(f"{legible(name)} is not a text table: save it again as .csv, or take it out of the folder.")
    if "\0" in text:
        text = text.replace("\0", "")
        advice = "the file holds zero bytes, as a damaged copy does; they were left out: export it again"
        found.append(findings.make("R6-encoding", table, reading=name, advice=advice))
    return text.replace("\r\n", "\n").replace("\r", "\n"), found


_POLISH = rb"[A-Za-z][\xb9\xb3\xbf][a-z]"
"""Polish letters of Windows-1250 inside a word, where Windows-1252 has raised figures and a turned question mark."""
_CONTROL = r"[\0-\x08\x0e-\x1f]"


# --- Parquet ----------------------------------------------------------------------------------------------------------


def read_parquet(path: Path, table: str) -> Read:
    """Cells of a Parquet file with their own types, texts as categories; ``row`` counts as if a header were line 1."""
    import pyarrow
    from pyarrow import parquet

    data = guards.read_bytes(path)
    broken = f"{legible(path.name)} is not a readable Parquet file: export it again."
    try:
        said = parquet.ParquetFile(io.BytesIO(data))
        rows, columns = said.metadata.num_rows, said.schema_arrow.names
    except Exception as problem:  # a broken file raises many kinds
        raise RecordsError(broken) from problem
    guards.check_grid(rows // PARQUET_ROOM, len(columns), path.name)
    guards.check_size(sum(said.metadata.row_group(n).total_byte_size for n in range(said.num_row_groups)), path.name)
    try:
        cells = parquet.ParquetFile(io.BytesIO(data), read_dictionary=columns).read()
        texts = sum(_letters(column) for column in cells.columns if pyarrow.types.is_dictionary(column.type))
    except Exception as problem:
        raise RecordsError(broken) from problem
    guards.check_size(texts, path.name)
    frame = cells.to_pandas(ignore_metadata=True)
    frame.columns = range(len(columns))
    return _named(frame, columns, 2 + np.arange(len(frame)), table, [])


PARQUET_ROOM = 10
"""A Parquet file may hold as many cells as a text file of the largest size, ten times those of a sheet."""


def _letters(column) -> int:
    """Letters that a column of few distinct texts has when each cell is written out."""
    from pyarrow import compute

    chunks = [(compute.binary_length(chunk.dictionary), chunk.indices) for chunk in column.chunks]
    return sum(compute.sum(compute.take(lengths, places)).as_py() or 0 for lengths, places in chunks)


# --- XLSX -------------------------------------------------------------------------------------------------------------


def open_workbook(path: Path):
    """A workbook, with ``sheet_names``; for ``read_sheet``.

    Raises
    ------
    RecordsError
        The file cannot be opened or is no workbook that can be read (`guards`).
    """
    return open_book(guards.read_bytes(path), path.name)


def open_book(data: bytes, name: str):
    """A workbook from its bytes (.xlsx, .xls or .ods); ``name`` is for sentences."""
    return open_checked(guards.checked_workbook(data, name), name)


def open_checked(checked: bytes, name: str):
    """As `open_book`, of what `guards.checked_workbook` gave."""
    from python_calamine import CalamineWorkbook

    with guards.reader_faults(f"{legible(name)} is not a readable workbook: open it and save it again as .xlsx."):
        return CalamineWorkbook.from_filelike(io.BytesIO(checked))


def per_cent_cells(checked: bytes) -> dict[str, set[tuple[int, int]]]:
    """By sheet the cells of an .xlsx that show per cent, (row, column) from 0: 85 % is kept as 0.85 in them.

    Parameters
    ----------
    checked : bytes
        What `guards.checked_workbook` gave.
    """
    with zipfile.ZipFile(io.BytesIO(checked)) as parts:
        names = set(parts.namelist())
        if not {"xl/styles.xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels"} <= names:
            return {}
        styles = ElementTree.fromstring(parts.read("xl/styles.xml"))
        own = {one.get("numFmtId") for one in styles.iterfind("{*}numFmts/{*}numFmt") if "%" in (one.get("formatCode") or "")}
        shown = {
            str(at) for at, one in enumerate(styles.iterfind("{*}cellXfs/{*}xf")) if one.get("numFmtId") in own | {"9", "10"}
        }
        if not shown:
            return {}
        files = {one.get("Id"): one.get("Target", "") for one in ElementTree.fromstring(parts.read("xl/_rels/workbook.xml.rels"))}
        out = {}
        for sheet in ElementTree.fromstring(parts.read("xl/workbook.xml")).iterfind("{*}sheets/{*}sheet"):
            target = files.get(next((value for key, value in sheet.items() if key.endswith("}id")), ""), "")
            file = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
            cells = re.findall(rb"<(?:\w+:)?c\s([^>]*)>", parts.read(file)) if file in names else []
            out[sheet.get("name", "")] = {at for said in cells if (at := _styled(said.decode("utf-8", "replace"), shown))}
        return out


def _styled(said: str, styles: set[str]) -> tuple[int, int] | None:
    """Place of a cell by its attributes where its style is one of these."""
    attributes = dict(re.findall(r"\b([rs])\s*=\s*[\"']([^\"']*)", said))
    place = re.fullmatch(r"([A-Z]{1,3})(\d{1,7})", attributes.get("r", ""))
    if attributes.get("s") not in styles or not place:
        return None
    column = 0
    for letter in place[1]:
        column = 26 * column + ord(letter) - 64
    return int(place[2]) - 1, column - 1


def read_sheet(book, sheet: str, table: str, most: int | None = None) -> Read:
    """Cells of one sheet, or of its first ``most`` lines, as text: whole numbers without ``.0``, dates as YYYY-MM-DD; ``row`` is the sheet's own number."""
    with guards.reader_faults(f"the sheet {legible(sheet)} is not readable: open the workbook and save it again as .xlsx."):
        lines = book.get_sheet_by_name(sheet).to_python(skip_empty_area=False, nrows=most)
    texts = [[as_text(cell) for cell in line] for line in lines]
    top = next((i for i, line in enumerate(texts) if any(text.strip() for text in line)), len(texts))
    names = texts[top] if texts[top:] else []
    frame = pd.DataFrame(texts[top + 1 :], columns=range(len(names)), dtype="str")
    return _named(frame, names, top + 2 + np.arange(len(frame)), table, [])


def as_text(cell) -> str:
    """A cell of a workbook or Parquet file as text."""
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


def _column(heading) -> str:
    """A column's name by its heading."""
    return re.sub(r"[\s-]+", "_", str(heading).strip().strip("\ufeff").lower())


def file_columns(path: Path) -> list[str]:
    """The columns of a CSV or Parquet file, without its cells.

    Raises
    ------
    RecordsError
        The file cannot be opened or is not what its name says.
    """
    if path.suffix.lower() == ".parquet":
        from pyarrow import parquet

        with guards.reader_faults(f"{legible(path.name)} is not a readable Parquet file: export it again."):
            return list(map(_column, parquet.read_schema(path).names))
    with open(path, "rb") as opened:
        text, _ = text_of(opened.read(100_000), path.name, "")
    head = next((line for line in text.split("\n") if line.strip(" \t,;")), "")
    return [_column(name.strip('"')) for name in head.split(max(SEPARATORS, key=head.count))]


def sheet_columns(book, sheet: str) -> list[str]:
    """The columns of a sheet, by its first line that is not blank."""
    return [name for name in read_sheet(book, sheet, "", most=100)[0].columns if name != "row"]


def _named(frame, names, row, table, found) -> Read:
    """Put the header on, drop blank lines and repeated columns, add the line numbers."""
    names = list(map(_column, names))
    first = {}
    for position, name in enumerate(names):
        if name and name in first:
            found.append(findings.make("R4-column-twice", table, column=name))
        elif name:
            first[name] = position
    frame = frame[list(first.values())]
    frame.columns = list(first)
    written = np.zeros(len(frame), dtype=bool)
    for name in sorted(first, key=lambda name: not isinstance(frame[name].dtype, pd.CategoricalDtype)):  # the quick ones first
        if written.all():
            break
        written |= _holds_something(frame[name])
    frame = frame.assign(row=row)
    return (frame if written.all() else frame[written].reset_index(drop=True)), found


def _holds_something(column: pd.Series) -> np.ndarray:
    """Which cells of a column are not blank, shape (rows,)."""
    if isinstance(column.dtype, pd.CategoricalDtype):
        return np.append(_holds_something(pd.Series(column.cat.categories)), False)[column.cat.codes]  # missing is code -1
    blank = column.str.strip().eq("") if isinstance(column.dtype, pd.StringDtype) else False
    return (column.notna() & ~blank).to_numpy(dtype=bool)
