"""The questionable rows, to hand back to whoever types: each as it stands in the file, with the reason beside it."""

import pandas as pd

from brakedata import mapping, tables
from brakedata import records as reading

ADDED = ("line", "reason")


def sheets(records, found: pd.DataFrame) -> dict[str, pd.DataFrame]:
    """The findings, and the rows they speak of as written.

    Parameters
    ----------
    records : Records
    found : DataFrame
        Findings (``columns.FINDINGS``).

    Returns
    -------
    dict of DataFrame
        ``findings`` as given, and a table for each record table with a questionable row: ``line, reason`` (every finding about
        the row: its rule, column, what it was taken for, and advice), then the file's own columns and cells.
    """
    found = reading.at_source(found, records.trail)
    out = {"findings": found}
    asked = found[found["row"].notna()]
    own = records.trail is None
    written = reading.as_written(records.source) if own else mapping.as_written(records.source)
    for name in dict.fromkeys(asked["table"]):
        if name in written:
            about = asked[asked["table"].eq(name)]
            reasons = _reason(about).groupby(about["row"].astype("int64")).agg("\n".join)
            rows = written[name].drop_duplicates("row")
            rows = rows[rows["row"].isin(reasons.index)]
            cells = rows.drop(columns="row").rename(columns={own: f"{own} (as written)" for own in ADDED})
            cells.insert(0, "line", rows["row"])
            cells.insert(1, "reason", rows["row"].map(reasons))
            out[name] = cells.sort_values("line", ignore_index=True)
    return out


def write(records, found: pd.DataFrame, path, mask):
    """Write `sheets` to one workbook, VINs hidden by ``mask`` (``vins.Mask``), and return the file.

    Raises
    ------
    RecordsError
        As ``tables.write``.
    """
    return tables.write_sheets({name: mask.frame(frame) for name, frame in sheets(records, found).items()}, path)


def _reason(found: pd.DataFrame) -> pd.Series:
    """One finding about a row as a text: which rule, where in the row, what it was taken for, what to do."""
    taken_for = (" (" + found["reading"] + ")").where(found["reading"].ne(""), "")
    where = (" " + found["column"]).where(found["column"].ne(""), "")
    return found["code"] + where + taken_for + ": " + found["advice"]
