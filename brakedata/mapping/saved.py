"""What ``records.toml`` knows about foreign files: one ``[[layout]]`` a kind of table, found again by its headings.

::

    [[layout]]
    name = "checks.csv"            # for people; the headings below are what it is found by
    confirmed = true               # a person has looked at every column: a new one is asked
    thickness_unit = "32nds"

    [layout.columns]
    "Unit #" = "vehicle_id"
    "LF in" = "thickness: front left inner_pad"
    "Route" = "not used"

A layout written by hand may name the few columns that need it, and the rest is guessed.
"""

import re
from pathlib import Path

from brakedata import findings, headings, settings_file
from brakedata.cells.words import TRUCK_AXLES
from brakedata.mapping.guess import NOT_BRAKES, parsed
from brakedata.mapping.kinds import Kind
from brakedata.records import SHOP, Settings, shop_value
from brakedata.settings_file import SETTINGS_FILE
from brakedata.units import distance_unit, thickness_unit

OF_A_LAYOUT = (
    "thickness_unit",
    "distance_unit",
    "date_order",
    "day",
    "decimal",
    "percent",
    "wear",
    "part",
    "axles",
    "wheels",
    "year",
    "years",
    "years_from",
    "readings_in_texts",
    "parts_alone",
    "work_in_notes",
)
"""Answers that hold for one kind of file."""
KNOWN_AGAIN = 0.5
"""A layout is a kind's when so many of the layout's columns stand in it."""


def layout_value(key: str, value):
    """One answer of `OF_A_LAYOUT`, in the words of `units` and `SHOP`; None where it cannot be."""
    if key == "thickness_unit":
        return thickness_unit(str(value))
    if key == "distance_unit":
        return distance_unit(str(value))
    if key == "part":
        return value if value in ("pad", "shoe", NOT_BRAKES) else None
    if key == "wear":
        return value if value in ("left", "worn") else None
    if key == "parts_alone":
        return value if value in ("replaced", "no") else None
    if key in ("readings_in_texts", "work_in_notes"):
        return value if value in ("yes", "no") else None
    if key == "years":
        whole = isinstance(value, dict) and all(layout_value("year", one) for one in value.values())
        return {str(file): str(one) for file, one in value.items()} if whole else None
    if key == "years_from":
        whole = isinstance(value, dict) and all(re.fullmatch(r"\d{4}-\d\d-\d\d", str(one)) for one in value.values())
        return {str(file): str(one) for file, one in value.items()} if whole else None
    if key == "day":
        return str(value) if str(value).isdecimal() and 1 <= int(value) <= 28 else None
    if key == "year":
        return str(value) if re.fullmatch(r"(?:19|20)\d\d", str(value)) else None
    if key == "wheels":
        wheels = str(value).upper().replace(",", " ").split()
        return " ".join(wheels) if sorted(wheels) == ["LF", "LR", "RF", "RR"] else None
    if key == "axles":
        axles = str(value).lower().replace(",", " ").split()
        return " ".join(axles) if 2 <= len(axles) <= 9 and set(axles) <= set(TRUCK_AXLES.values()) else None
    return shop_value(key, value) if key in OF_A_LAYOUT else None


def known(kind: Kind, settings: Settings) -> tuple[dict[str, str], dict, bool]:
    """What was said about a kind of table: roles by column, answers, and whether a person has looked at every column.

    The confirmed layout that shares most columns with it, and every layout written by hand all of whose columns stand in it.
    """
    here = set(kind.cells.columns)
    roles: dict[str, str] = {}
    answers: dict = {}
    best = layout_of(kind, settings)
    by_hand = [
        layout for layout in settings.layouts if layout.get("confirmed") is not True and layout.get("columns", {}).keys() <= here
    ]
    for layout in ([best] if best else []) + by_hand:
        roles |= {column: role for column, role in layout.get("columns", {}).items() if column in here and parsed(role)}
        answers |= {
            key: layout_value(key, layout[key]) for key in OF_A_LAYOUT if key in layout and layout_value(key, layout[key])
        }
    return roles, answers, best is not None


def layout_of(kind: Kind, settings: Settings) -> dict | None:
    """The confirmed layout that a kind of table is of: the one whose headings stand in it, units apart; None where none is."""
    here = {headings.stem(column) for column in kind.cells.columns}
    confirmed = [layout for layout in settings.layouts if layout.get("confirmed") is True and layout.get("columns")]
    shared = [len(here & {headings.stem(column) for column in layout["columns"]}) for layout in confirmed]
    best = max(range(len(confirmed)), key=lambda at: shared[at], default=None)
    if best is None or shared[best] < KNOWN_AGAIN * min(len(here), len({headings.stem(c) for c in confirmed[best]["columns"]})):
        return None
    return confirmed[best]


def misread(settings: Settings) -> list:
    """Findings R15 for what the layouts say and nobody can understand."""
    found = []
    for layout in settings.layouts:
        for column, role in layout.get("columns", {}).items():
            if parsed(role) is None:
                found.append(
                    findings.make("R15-setting-not-understood", SETTINGS_FILE, column=f"layout.columns.{column}", value=str(role))
                )
        for key in OF_A_LAYOUT:
            if key in layout and layout_value(key, layout[key]) is None:
                found.append(
                    findings.make("R15-setting-not-understood", SETTINGS_FILE, column=f"layout.{key}", value=str(layout[key]))
                )
    return found


def write(folder: Path, shop: dict, layouts: list[dict]) -> Path:
    """Write the answers into ``records.toml`` of a folder; comments, other parts and other layouts stay as they are.

    A layout replaces the confirmed one it shares most columns with; columns known before and not in this file are kept.

    Raises
    ------
    RecordsError
        The file cannot be read or written.
    """
    with settings_file.changing(folder, "the answers could not be written", "save again") as document:
        if shop:
            document.setdefault("shop", {})
            document["shop"].update({key: shop[key] for key in SHOP if key in shop})
        if layouts:
            _write_layouts(document, layouts)
    return settings_file.place(folder)


def _write_layouts(document, layouts: list[dict]) -> None:
    import tomlkit

    kept = document.setdefault("layout", tomlkit.aot())
    for layout in layouts:
        stems = {headings.stem(column) for column in layout["columns"]}
        shared = [
            len(stems & {headings.stem(c) for c in one.get("columns", {})}) if one.get("confirmed") is True else 0 for one in kept
        ]
        at = max(range(len(kept)), key=lambda at: shared[at], default=None)
        if at is None or not shared[at] or shared[at] < KNOWN_AGAIN * min(len(stems), len(kept[at]["columns"])):
            kept.append(tomlkit.table())
            at = len(document["layout"]) - 1
            document["layout"][at]["columns"] = tomlkit.table()
        entry = document["layout"][at]
        for key, value in layout.items():
            if key != "columns":
                entry[key] = value
        for column, role in layout["columns"].items():
            entry["columns"][column] = role
