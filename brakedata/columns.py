"""Every column of every record table and of every answer, defined once.

A record table's column is a name, what kind of cell it holds, and what it means. The loader, the blank
templates, the column dictionary and the exports are all made from the definitions below.
"""

from dataclasses import dataclass

AXLE_NAMES = ("front", "rear")
SIDES = ("left", "right")
LINING_PARTS = ("inner_pad", "outer_pad", "pad", "leading_shoe", "trailing_shoe", "shoe", "park_brake")
MEASURED_PARTS = LINING_PARTS + ("rotor", "drum")
WORK_PARTS = (
    "pads", "shoes", "rotor", "drum", "caliper", "slide_pins", "hardware", "hub_face",
    "wheel_cylinder", "hose", "fluid", "shield", "wheel_nuts",
)  # fmt: skip
ACTIONS = (
    "replaced", "machined", "cleaned", "lubricated", "freed",
    "adjusted", "torqued", "bedded", "checked", "not_done",
)  # fmt: skip
MEASURES = ("thickness", "diameter", "runout", "thickness_variation")


@dataclass(frozen=True)
class Column:
    """One column: its name, the kind of its cells, what it means, and whether a row needs it.

    ``kind`` is one of ``id``, ``text``, ``number``, ``date``, ``choice``, ``axle``, ``flag``, ``reading``
    (a number or a bound such as ``<2``), ``distance_unit``, ``thickness_unit``.
    """

    name: str
    kind: str
    meaning: str
    required: bool = False
    choices: tuple[str, ...] = ()


def _must(name: str, kind: str, meaning: str, choices: tuple[str, ...] = ()) -> Column:
    return Column(name, kind, meaning, True, choices)


RECORD_TABLES: dict[str, tuple[Column, ...]] = {
    "vehicles": (
        _must("vehicle_id", "id", "your own name or number for the vehicle; one row a vehicle"),
        Column("vin", "text", "vehicle identification number"),
        Column("description", "text", "anything that helps a person recognise it"),
        Column("wear_class", "text", "vehicles expected to wear alike, for instance panel van"),
        Column("duty", "text", "urban, mixed, highway, or your own words"),
        Column("in_service_date", "date", "when it joined"),
        Column("in_service_odometer", "number", "odometer when it joined; near zero = joined new"),
        Column("odometer_unit", "distance_unit", "km or mi; empty = the folder's own"),
        Column("retired_date", "date", "when it left; empty = still in service"),
    ),
    "limits": (
        _must("applies_to", "text", "a vehicle_id, a wear_class, or * for all"),
        _must("axle", "axle", "front, rear, a number from the front, or * for all", ("*",)),
        _must("part", "choice", "pad, shoe, rotor or drum", ("pad", "shoe", "rotor", "drum")),
        _must("measure", "choice", "what is measured", MEASURES),
        _must("unit", "thickness_unit", "mm, in or 32nds"),
        Column("new", "number", "the dimension of a new part"),
        Column("replace_at", "number", "your own planning point: replace when this is reached"),
        Column("discard_at", "number", "the maker's or the law's limit"),
        Column("machine_to", "number", "rotors and drums: never machine beyond this"),
        Column("includes_backing", "flag", "true where the limit counts the backing plate"),
        Column("source", "text", "where the limit was read"),
    ),
    "visits": (
        _must("visit_id", "id", "your own number for the visit; one row a visit"),
        _must("vehicle_id", "id", "which vehicle"),
        _must("date", "date", "day of the visit, YYYY-MM-DD"),
        _must("odometer", "number", "odometer at the visit"),
        Column("odometer_unit", "distance_unit", "km or mi; empty = the folder's own"),
        Column("reason", "text", "why it came in"),
        Column("complaint", "text", "the customer's or driver's own words"),
        Column("technician", "text", "who did the work"),
        Column("note", "text", "anything else"),
    ),
    "measurements": (
        _must("visit_id", "id", "the visit at which it was measured"),
        _must("axle", "axle", "front, rear, or a number from the front"),
        Column("side", "choice", "left or right; empty = the axle as a whole", choices=SIDES),
        _must("part", "choice", "which part; pad and shoe = the thinnest seen", MEASURED_PARTS),
        _must("measure", "choice", "what is measured", MEASURES),
        _must("value", "reading", "a number, or a bound such as <2 or >=10"),
        Column("unit", "thickness_unit", "mm, in or 32nds; empty = the folder's own"),
        Column("taken", "choice", "before or after the work of that visit; empty = before", choices=("before", "after")),
    ),
    "work": (
        _must("visit_id", "id", "the visit at which it was done"),
        _must("axle", "axle", "front, rear, or a number from the front"),
        Column("side", "choice", "left, right or both; empty = both", choices=("left", "right", "both")),
        _must("part", "choice", "what was worked on", WORK_PARTS),
        _must("action", "choice", "what was done, or not_done when knowingly left", ACTIONS),
        Column("product_line", "text", "the line of parts fitted, in your own words"),
        Column("cost", "number", "what it cost, in your own currency"),
        Column("note", "text", "anything else"),
    ),
    "odometer_log": (
        _must("vehicle_id", "id", "which vehicle"),
        _must("date", "date", "day of the reading, YYYY-MM-DD"),
        _must("odometer", "number", "odometer on that day"),
        Column("odometer_unit", "distance_unit", "km or mi; empty = the folder's own"),
    ),
}  # fmt: skip

NEEDED_TABLES = ("vehicles", "visits", "measurements")
"""Tables without which nothing can be forecast; the others may be absent."""


@dataclass(frozen=True)
class Answer:
    """One column of a table that the program gives: its name, its unit (empty where none) and its meaning."""

    name: str
    unit: str
    meaning: str


SCHEDULE: tuple[Answer, ...] = (
    Answer("vehicle_id", "", "which vehicle"),
    Answer("axle", "", "which axle"),
    Answer("governing_part", "", "the part expected to reach its replace point first"),
    Answer("governing_side", "", "the side it is on; empty = the axle as a whole"),
    Answer("last_reading_date", "date", "newest lining reading of this axle that was used"),
    Answer("odometer_km", "km", "estimated odometer at the as-of date"),
    Answer("thickness_mm", "mm", "estimated thickness of the governing part at the as-of date (median)"),
    Answer("rate_mm_per_10000km", "mm per 10,000 km", "estimated wear rate of the governing part (median)"),
    Answer("due_odometer_km", "km", "even odds that the first part has reached replace_at by then (median)"),
    Answer("due_odometer_early_km", "km", "one chance in ten that it is due by then (10 % quantile)"),
    Answer("due_odometer_late_km", "km", "nine chances in ten that it is due by then (90 % quantile)"),
    Answer("due_date", "date", "even odds that it is due by then (median)"),
    Answer("due_date_early", "date", "one chance in ten that it is due by then (10 % quantile)"),
    Answer("due_date_late", "date", "nine chances in ten that it is due by then (90 % quantile)"),
    Answer("discard_odometer_early_km", "km", "one chance in ten of being at discard_at by then"),
    Answer("risk_before_next_visit", "chance 0 to 1", "chance of being at or under discard_at before the next usual visit"),
    Answer("basis", "", "own: its own readings carry it; shared: own readings and the fleet's; fleet: no reading of this life"),
    Answer("readings", "readings", "lining readings of this axle's running life that were used"),
    Answer("findings", "", "codes of the findings that bear on this row"),
)  # fmt: skip

COMEBACKS: tuple[Answer, ...] = (
    Answer("factor", "", "what the jobs are told apart by"),
    Answer("level", "", "who, which, or the actions recorded on the job; unrecorded = nothing written"),
    Answer("jobs", "jobs", "brake jobs: one axle of one vehicle at one visit, linings, rotors or drums replaced or machined"),
    Answer("followed_km", "km", "total distance the jobs were watched, each until its comeback or the end of the window"),
    Answer("comebacks", "jobs", "jobs that came back within the window; a second complaint about the same thing is no second one"),
    Answer("risk", "chance 0 to 1", "chance of a comeback within the window, jobs still being watched counted as far as they were"),
    Answer("risk_low", "chance 0 to 1", "lower 95 % limit of risk"),
    Answer("risk_high", "chance 0 to 1", "upper 95 % limit of risk"),
    Answer("pooled_risk", "chance 0 to 1", "risk drawn toward the whole shop's, the more the fewer the jobs"),
    Answer("q_value", "chance 0 to 1", "share of false alarms among levels called different at this value (against the rest; people with what goes with comebacks most held equal)"),
    Answer("findings", "", "codes of the findings that bear on this row"),
)  # fmt: skip

FINDINGS: tuple[Answer, ...] = (
    Answer("code", "", "number and name of the rule"),
    Answer("severity", "", "note: used all the same; left_out: not used; refused: no answer could be given"),
    Answer("table", "", "which table"),
    Answer("row", "line", "line in the source file (the header is line 1)"),
    Answer("vehicle_id", "", "which vehicle, where known"),
    Answer("column", "", "which column"),
    Answer("value", "", "the cell as written"),
    Answer("reading", "", "what it was taken for, if anything"),
    Answer("advice", "", "what to do about it"),
)


def names(table: str) -> list[str]:
    """Column names of a record table, in the contract's order."""
    return [column.name for column in RECORD_TABLES[table]]
