"""Tables written to files: CSV, XLSX, Parquet or HTML by the file's ending, harmless to whoever opens them.

Text that a spreadsheet would run (cells that begin with = + - @, a tab or a line break) gets an apostrophe in front; numbers
stay numbers. In HTML every text is escaped.
"""

import datetime
from html import escape
from pathlib import Path

import pandas as pd

from brakedata.findings import RecordsError, legible

SUFFIXES = (".csv", ".xlsx", ".parquet", ".html")
_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
MOST_SHEET_ROWS, MOST_CELL_LETTERS = 1_048_575, 32_767
"""What a sheet and a cell of a workbook can hold (limits of the XLSX format)."""
MADE = datetime.datetime(2000, 1, 1)
"""The same table is the same workbook, bit for bit: it does not tell when it was written."""


def write(frame: pd.DataFrame, path, title: str = "", about: tuple = ()) -> Path:
    """Write a table to ``path``.

    Parameters
    ----------
    frame : DataFrame
    path : str or Path
        Ends in .csv, .xlsx, .parquet or .html.
    title : str
        Sheet name, or heading of the HTML page.
    about : sequence of (name, text)
        What a reader must know: a sentence, ``("", text)``, or the meaning of a column by its name; on a sheet of its own in a workbook, above
        and below the table in HTML, nowhere in the other forms.

    Returns
    -------
    Path
        The file written, absolute.

    Raises
    ------
    RecordsError
        Another ending, a folder that does not exist, a file that is open elsewhere, or more rows than a sheet holds.
    """
    path = target(path)
    writer = {".csv": _csv, ".xlsx": _xlsx, ".parquet": _parquet, ".html": _html}[path.suffix.lower()]
    return _put(path, lambda file: writer(frame, file, title or path.stem, tuple(about)))


def write_sheets(frames: dict[str, pd.DataFrame], path) -> Path:
    """Write a workbook with a sheet a table to ``path`` (.xlsx); otherwise as `write`."""
    path = target(path)
    return _put(path, lambda file: write_book(frames, file))


def _put(path, write_to) -> Path:
    """Write a file whole or not at all."""
    half_written = path.with_name(f"{path.stem}.writing{path.suffix}")
    try:
        write_to(half_written)
        half_written.replace(path)
    except OSError as problem:
        raise RecordsError(
            f"{path.name} could not be written ({problem.strerror or problem}): "
            "close it in other programs, or choose another name."
        ) from problem
    finally:
        half_written.unlink(missing_ok=True)
    return path


def target(path) -> Path:
    """The file that ``path`` names, absolute; refuses another ending, or a folder that does not exist."""
    try:
        path = Path(path).expanduser().resolve()
    except (OSError, RuntimeError, ValueError) as problem:
        raise RecordsError(f"{legible(path)} cannot be a file's name: choose another.") from problem
    if path.suffix.lower() not in SUFFIXES:
        raise RecordsError(f"{path.name}: the file's name must end in {', '.join(SUFFIXES)}.")
    if not path.parent.is_dir():
        raise RecordsError(f"{path.parent} does not exist: make the folder first, or choose another.")
    return path


def harmless(frame: pd.DataFrame) -> pd.DataFrame:
    """The table with an apostrophe before every text, headers too, that a spreadsheet would take for a formula."""
    out = frame.copy()
    for name in out.columns:
        if not pd.api.types.is_numeric_dtype(out[name]) and not pd.api.types.is_datetime64_any_dtype(out[name]):
            out[name] = out[name].astype("object").map(_quoted, na_action="ignore")
    return out.rename(columns=_quoted)


def _quoted(cell):
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_STARTS) else cell


def _dated(frame):
    """Dates as YYYY-MM-DD text."""
    out = frame.copy()
    for name in out.columns:
        if pd.api.types.is_datetime64_any_dtype(out[name]):
            out[name] = out[name].dt.strftime("%Y-%m-%d")
    return out


def _csv(frame, path, title, about):
    harmless(_dated(frame)).to_csv(path, index=False, encoding="utf-8-sig", lineterminator="\n")


def _parquet(frame, path, title, about):
    frame.to_parquet(path, index=False)


def _xlsx(frame, path, title, about):
    read_me = pd.DataFrame([("", CAUTION), *about], columns=["column", "meaning"])
    write_book({title: frame} | ({"read me": read_me} if about else {}), path)


def write_book(frames: dict[str, pd.DataFrame], path) -> None:
    """Write a workbook with a sheet a table: header bold and fixed, columns wide enough, texts harmless.

    A text longer than a cell can hold is cut, and ends in ``...``.
    """
    longest = max(map(len, frames.values()))
    if longest > MOST_SHEET_ROWS:
        raise RecordsError(f"{longest:,} rows are more than a sheet of a workbook holds: write .csv or .parquet instead.")
    options = {"options": {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}}
    formats = {"date_format": "yyyy-mm-dd", "datetime_format": "yyyy-mm-dd"}
    with pd.ExcelWriter(path, engine="xlsxwriter", engine_kwargs=options, **formats) as book:
        book.book.set_properties({"created": MADE})
        for title, frame in frames.items():
            safe = harmless(frame)
            texts = [name for name in safe.columns if pd.api.types.is_string_dtype(safe[name])]
            safe[texts] = safe[texts].map(_fitting, na_action="ignore")
            sheet = _sheet_name(title, book.sheets)
            safe.to_excel(book, sheet_name=sheet, index=False)
            page = book.sheets[sheet]
            page.freeze_panes(1, 0)
            page.autofilter(0, 0, len(safe), max(len(safe.columns) - 1, 0))
            for i, name in enumerate(safe.columns):
                longest = safe[name].astype("str").fillna("").str.len().max() if len(safe) else 0
                page.set_column(i, i, min(max(len(str(name)), int(longest)), 60) + 2)


def _sheet_name(title, taken) -> str:
    """The title as a sheet can be named: 31 letters, none of ``[]:*?/\\'``, and not as another sheet."""
    name = "".join(c for c in title if c not in "[]:*?/\\'")[:31] or "table"
    taken, n = {sheet.lower() for sheet in taken}, 2
    while name.lower() in taken:
        name, n = f"{name[:27]} {n}", n + 1
    return name


def _fitting(cell):
    long = isinstance(cell, str) and len(cell) > MOST_CELL_LETTERS
    return cell[: MOST_CELL_LETTERS - 3] + "..." if long else cell


PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>{title}</title>
<style>
body {{ font: 15px/1.5 system-ui, sans-serif; color: #1c2733; margin: 1.5rem; }}
table {{ border-collapse: collapse; font-size: 13px; line-height: 1.35; }}
th, td {{ padding: .25rem .45rem; border-bottom: 1px solid #d5dce4; text-align: left; vertical-align: top; }}
th {{ position: sticky; top: 0; background: #fff; }}
td.number {{ text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }}
td.day {{ white-space: nowrap; }}
p, dl {{ max-width: 46rem; color: #4b5967; }}
dt {{ font-weight: 600; color: #1c2733; margin-top: .5rem; }}
dd {{ margin: 0; }}
</style></head><body><h1>{title}</h1><p>{caution}</p>{said}{table}{meanings}</body></html>
"""
CAUTION = (
    "Planning aid, not a safety inspection. Measure the thinnest spot; the vehicle's service information, the mark on the part "
    "and the law where you drive come first. A brake that makes noise, pulls, leaks or feels different is checked now, "
    "whatever a forecast says."
)


def _html(frame, path, title, about):
    said = "".join(f"<p>{escape(text)}</p>" for name, text in about if not name)
    meanings = "".join(f"<dt>{escape(name)}</dt><dd>{escape(text)}</dd>" for name, text in about if name)
    meanings = f"<h2>What the columns say</h2><dl>{meanings}</dl>" if meanings else ""
    page = PAGE.format(title=escape(title), caution=escape(CAUTION), table=html_table(frame), said=said, meanings=meanings)
    path.write_text(page, encoding="utf-8")


def html_table(frame: pd.DataFrame) -> str:
    """The table as HTML, every text escaped and whole, numbers set right, missing cells empty; long names may break at each ``_``."""
    head = "".join(f"<th>{escape(str(name)).replace('_', '_<wbr>')}</th>" for name in frame.columns)
    columns = []
    for name in frame.columns:
        cells = _dated(frame[[name]])[name].astype("object")
        if pd.api.types.is_float_dtype(frame[name]):
            cells = cells.map(
                lambda cell: f"{cell:,.0f}" if cell == round(cell) and abs(cell) < 1e15 else cell, na_action="ignore"
            )
        texts = [escape(str(cell)) if known else "" for cell, known in zip(cells, cells.notna(), strict=True)]
        kind = ' class="number"' if pd.api.types.is_numeric_dtype(frame[name]) else ""
        kind = ' class="day"' if pd.api.types.is_datetime64_any_dtype(frame[name]) else kind
        columns.append([f"<td{kind}>{text}</td>" for text in texts])
    rows = "".join(f"<tr>{''.join(row)}</tr>\n" for row in zip(*columns, strict=True))
    return f"<table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>"
