"""Tables written to files: CSV, XLSX, Parquet or HTML by the file's ending, harmless to whoever opens them.

Text that a spreadsheet would run (cells that begin with = + - @, a tab or a line break) gets an apostrophe in front; numbers
stay numbers. In HTML every text is escaped.
"""

from pathlib import Path

import pandas as pd

from brakedata.findings import RecordsError

SUFFIXES = (".csv", ".xlsx", ".parquet", ".html")
_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def write(frame: pd.DataFrame, path, title: str = "") -> Path:
    """Write a table to ``path``.

    Parameters
    ----------
    frame : DataFrame
    path : str or Path
        Ends in .csv, .xlsx, .parquet or .html.
    title : str
        Sheet name, or heading of the HTML page.

    Returns
    -------
    Path
        The file written, absolute.

    Raises
    ------
    RecordsError
        Another ending, a folder that does not exist, or a file that is open elsewhere.
    """
    path = Path(path).expanduser().resolve()
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise RecordsError(f"{path.name}: the file's name must end in {', '.join(SUFFIXES)}.")
    if not path.parent.is_dir():
        raise RecordsError(f"{path.parent} does not exist: make the folder first, or choose another.")
    writer = {".csv": _csv, ".xlsx": _xlsx, ".parquet": _parquet, ".html": _html}[suffix]
    try:
        writer(frame, path, title or path.stem)
    except OSError as problem:
        raise RecordsError(
            f"{path.name} could not be written ({problem.strerror or problem}): close it in other programs, or choose another name."
        ) from problem
    return path


def harmless(frame: pd.DataFrame) -> pd.DataFrame:
    """The table with an apostrophe before every text a spreadsheet would take for a formula."""
    out = frame.copy()
    for name in out.columns:
        if pd.api.types.is_string_dtype(out[name]) and len(out):
            text = out[name].fillna("").astype("str")
            out[name] = text.where(~text.str.startswith(_STARTS), "'" + text)
    return out


def _dated(frame):
    """Dates as YYYY-MM-DD text."""
    out = frame.copy()
    for name in out.columns:
        if pd.api.types.is_datetime64_any_dtype(out[name]):
            out[name] = out[name].dt.strftime("%Y-%m-%d")
    return out


def _csv(frame, path, title):
    harmless(_dated(frame)).to_csv(path, index=False, encoding="utf-8-sig", lineterminator="\n")


def _parquet(frame, path, title):
    frame.to_parquet(path, index=False)


def _xlsx(frame, path, title):
    safe = harmless(frame)
    options = {"options": {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}}
    with pd.ExcelWriter(path, engine="xlsxwriter", date_format="yyyy-mm-dd", datetime_format="yyyy-mm-dd", engine_kwargs=options) as book:
        sheet = "".join(c for c in title if c not in "[]:*?/\\'")[:31] or "table"
        safe.to_excel(book, sheet_name=sheet, index=False)
        page = book.sheets[sheet]
        page.freeze_panes(1, 0)
        page.autofilter(0, 0, len(safe), max(len(safe.columns) - 1, 0))
        for i, name in enumerate(safe.columns):
            longest = safe[name].astype("str").str.len().max() if len(safe) else 0
            page.set_column(i, i, min(max(len(str(name)), int(longest)), 60) + 2)


PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>{title}</title>
<style>
body {{ font: 15px/1.5 system-ui, sans-serif; color: #1c2733; margin: 2rem; }}
table {{ border-collapse: collapse; }}
th, td {{ padding: .35rem .7rem; border-bottom: 1px solid #d5dce4; text-align: left; vertical-align: top; }}
th {{ position: sticky; top: 0; background: #fff; }}
td.number {{ text-align: right; font-variant-numeric: tabular-nums; }}
p {{ max-width: 46rem; color: #4b5967; }}
</style></head><body><h1>{title}</h1><p>{caution}</p>{table}</body></html>
"""
CAUTION = (
    "Planning aid, not a safety inspection. Measure the thinnest spot; the vehicle's service information, the mark on the part "
    "and the law where you drive come first. A brake that makes noise, pulls, leaks or feels different is checked now, "
    "whatever a forecast says."
)


def _html(frame, path, title):
    from html import escape

    path.write_text(PAGE.format(title=escape(title), caution=escape(CAUTION), table=html_table(frame)), encoding="utf-8")


def html_table(frame: pd.DataFrame) -> str:
    """The table as HTML, every text escaped, missing cells empty."""
    return _dated(frame).to_html(index=False, escape=True, na_rep="", border=0, justify="left")
