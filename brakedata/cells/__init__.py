"""Cells as people write them, read a column at a time.

>>> from brakedata.cells import read
>>> [r.value for r in read("pad_thickness", ["7/32", "5,5 mm", "<3mm"])]
[5.55625, 5.5, {'low': None, 'high': 3.0}]

What a cell means is settled by the cell, its header, the whole column and the answers a person gave once; never in
silence. Each reading says what it read, what it assumed, or what must be asked.
"""

from collections.abc import Iterable

from brakedata.cells import text
from brakedata.cells.reading import Reading

__all__ = ["FIELDS", "Reading", "read"]

FIELDS = ("pad_thickness", "position", "odometer", "date")


def read(field: str, cells: Iterable, header: str = "", hints: dict | None = None) -> list[Reading]:
    """Read one column of one kind of cell.

    Parameters
    ----------
    field : str
        ``pad_thickness``, ``position``, ``odometer`` or ``date``.
    cells : iterable, shape (cells,)
        The cells as text, in the sheet's order; None counts as empty.
    header : str
        The column's header as in the sheet; may be empty.
    hints : dict, optional
        What was answered once or the file reader knows: ``unit`` (mm in in32 km mi h), ``country`` (two letters),
        ``driver_side`` and ``traffic_side`` (left, right), ``decimal``, ``delimiter``, ``source`` (csv xlsx text), ``cell_type``
        (text number date), ``date_system`` (1904), ``as_of`` and ``dates`` (YYYY-MM-DD), ``previous`` (this vehicle's accepted
        odometers, oldest first: km, or dicts of value, unit, date; the cells then go on with the same vehicle),
        ``odometer_digits``, ``axles`` from the front, ``wheels`` (the codes of wheels 1 to 4), ``new_thickness_mm``, ``words`` (what
        the shop's words mean, for instance ``{"OK": ">=5 mm"}``). Answers to questions this reader asks: ``date_order`` (day_first, month_first,
        year_first), ``percent`` and ``wear`` (left, worn: what per cent are, and numbers under a header of wear), ``order`` (the
        positions of several readings in a cell, in their order).

    Returns
    -------
    list of Reading, shape (cells,)
        Values: thickness in mm (a number, a list, a dict by position or part, ``{"share"}``, ``{"event"}``); position
        ``{"axle", "side", "part"}`` or a list of these; odometer in km; date as YYYY-MM-DD; an interval or a bound
        in any field as ``{"low", "high"}``.

    Raises
    ------
    ValueError
        For a field that is not one of the four. No text in a cell raises.
    """
    hints = hints or {}
    texts = [cell if isinstance(cell, str) else text.as_text(cell) for cell in cells]
    if field == "pad_thickness":
        from brakedata.cells import thickness as reader
    elif field == "position":
        from brakedata.cells import position as reader
    elif field == "odometer":
        from brakedata.cells import odometer as reader
    elif field == "date":
        from brakedata.cells import dates as reader
    else:
        raise ValueError(f"{field!r} cannot be read: say one of {', '.join(FIELDS)}")
    return reader.read_column(texts, str(header or ""), hints)
