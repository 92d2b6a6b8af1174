"""A small records folder in which nothing is wrong, and the means to plant one thing in it.

Two vehicles that joined new, six visits each about 100 days and 8,000 km apart, every front pad and the thinnest rear pad of
each side read at every visit. Invented.
"""

from pathlib import Path

import pandas as pd

import brakedata

VISITS = [f"{vehicle}{n}" for vehicle in "ab" for n in range(1, 7)]
"""Visit ids in file order: visit VISITS[i] stands on line 2 + i of visits, its readings on lines 2 + 6 i and on."""
READINGS = [
    ("front", "left", "inner_pad", 12.0), ("front", "left", "outer_pad", 12.0),
    ("front", "right", "inner_pad", 12.0), ("front", "right", "outer_pad", 12.0),
    ("rear", "left", "pad", 11.0), ("rear", "right", "pad", 11.0),
]  # fmt: skip
"""What is read at each visit, in file order, and how thick it was new; each loses 1 mm front, 0.5 mm rear a visit."""


def texts() -> dict[str, str]:
    """The tables as CSV texts, by name."""
    dates = pd.date_range("2023-04-11", periods=6, freq="100D").strftime("%Y-%m-%d")
    visits = [f"{v},{v[0].upper()},{dates[int(v[1]) - 1]},{8000 * int(v[1])},km,inspection,T1" for v in VISITS]
    readings = [
        f"{v},{axle},{side},{part},thickness,{new - int(v[1]) * (1.0 if axle == 'front' else 0.5)},mm,before"
        for v in VISITS
        for axle, side, part, new in READINGS
    ]
    log = [f"{v},{date},{km},km" for v in "AB" for date, km in (("2023-02-10", 3200), ("2023-05-31", 12000), ("2024-09-02", 49000))]
    tables = {
        "vehicles": ["vehicle_id,wear_class,duty,in_service_date,in_service_odometer,odometer_unit,retired_date",
                     "A,van,urban,2023-01-02,20,km,", "B,van,urban,2023-01-02,30,km,"],
        "limits": ["applies_to,axle,part,measure,unit,new,replace_at,discard_at,machine_to,includes_backing,source",
                   "van,front,pad,thickness,mm,12,3,1.6,,false,sheet 1", "van,rear,pad,thickness,mm,11,3,1.6,,,sheet 1",
                   "van,front,rotor,thickness,mm,28,,25,25.6,,sheet 1"],
        "visits": ["visit_id,vehicle_id,date,odometer,odometer_unit,reason,technician", *visits],
        "measurements": ["visit_id,axle,side,part,measure,value,unit,taken", *readings],
        "work": ["visit_id,axle,side,part,action,product_line,cost,note", "a3,front,both,hub_face,cleaned,,,"],
        "odometer_log": ["vehicle_id,date,odometer,odometer_unit", *log],
    }  # fmt: skip
    return {name: "\n".join(lines) + "\n" for name, lines in tables.items()}


def line_of(visit: str, reading: int) -> int:
    """Line of the measurements file on which reading 0 to 5 of a visit stands."""
    return 2 + 6 * VISITS.index(visit) + reading


def planted(lines: dict[tuple[str, int | None], str | None]) -> dict[str, str]:
    """The tables with lines changed: ``{(table, line): text}``; line None appends, text None deletes."""
    out = {name: text.splitlines() for name, text in texts().items()}
    for (table, line), text in lines.items():
        if line is None:
            out[table].append(text)
        else:
            out[table][line - 1] = text
    return {name: "\n".join(line for line in its if line is not None) + "\n" for name, its in out.items()}


def write(folder: Path, tables: dict[str, str | bytes | None]) -> Path:
    """Write tables as CSV files; None leaves a table out."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in tables.items():
        if text is not None:
            (folder / f"{name}.csv").write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    return folder


def load(folder: Path, lines=None, **tables):
    """Records of the small folder with lines planted, or whole tables replaced."""
    return brakedata.load(write(folder, {**planted(lines or {}), **tables}))
