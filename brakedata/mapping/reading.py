"""Every used column of a kind of table read through `cells.read`, with what was assumed, doubted, asked and refused."""

import re

import numpy as np
import pandas as pd

from brakedata import cells, headings
from brakedata.cells.reading import ASK, OK, OK_ASSUMED, REFUSE, Reading
from brakedata.cells.told import Told
from brakedata.mapping.guess import Role
from brakedata.mapping.kinds import Kind
from brakedata.units import DISTANCE_KM, THICKNESS_MM, distance_unit, thickness_unit

OUR_UNIT = {"in32": "32nds", "mm": "mm", "in": "in"}
THEIR_UNIT = {"32nds": "in32", "mm": "mm", "in": "in", "um": "mm"}
FACES = {"inner": "inner_pad", "outer": "outer_pad"}
WHEELS = {f"{side[0]}{axle[0]}".upper(): (axle, side) for axle in ("front", "rear") for side in ("left", "right")}
LEFT_OR_WORN = ("left", "worn", "used", "remaining", "rest", "restant")
PLACE = ["axle", "side", "part"]


def hints_of(kind: Kind, shop: dict, answers: dict) -> dict:
    """The hints for `cells.read`: how the file came, what the shop said, what was answered for this kind of file."""
    sheet = kind.sheets[0]
    own = {key: answers[key] for key in ("date_order", "decimal", "percent") if answers.get(key)}
    source = "csv" if sheet.source == "parquet" else sheet.source
    return {
        **shop,
        "source": source,
        **({"delimiter": sheet.delimiter} if sheet.delimiter in ",;\t" and sheet.delimiter else {}),
        **own,
    }


def _filled(kind: Kind, column: str) -> tuple[np.ndarray, list[str]]:
    text = kind.cells[column]
    rows = np.flatnonzero(text.str.strip().ne("").to_numpy())
    return rows, text.iloc[rows].tolist()


def dates(kind: Kind, column: str, hints: dict, told: Told) -> pd.Series:
    """Days of a column, NaT where there is none."""
    rows, texts = _filled(kind, column)
    number = (
        {"cell_type": "number"}
        if kind.sheets[0].source == "xlsx" and all(re.fullmatch(r"\d{5}(\.\d+)?", t) for t in texts)
        else {}
    )
    readings = cells.read("date", texts, column, {**hints, **number})
    told.of(column, rows, texts, readings)
    out = np.full(len(kind.cells), None, dtype=object)
    spans = [at for at, reading in enumerate(readings) if isinstance(reading.value, dict)]
    told.refuse("R73-not-believed", column, rows[spans], [texts[at] for at in spans], "no single day")
    for row, reading in zip(rows, readings, strict=True):
        if isinstance(reading.value, str):
            out[row] = reading.value
    return pd.to_datetime(pd.Series(out, dtype="str"), format="%Y-%m-%d", errors="coerce").astype("datetime64[s]")


def odometers(kind: Kind, column: str, unit_column: str | None, unit: str | None, hints: dict, told: Told) -> pd.DataFrame:
    """Odometers of a column: ``km``, ``unit``, ``written`` (shape (rows,)); NaN where none was read."""
    out = pd.DataFrame({"km": np.nan, "unit": "", "written": kind.cells[column].str.strip()})
    km, units = np.full(len(out), np.nan), np.full(len(out), "", dtype=object)
    for rows, texts, own in _by_unit(kind, column, unit_column, distance_unit, unit, told):
        readings = cells.read("odometer", texts, column, {**hints, **({"unit": own} if own else {})})
        told.of(column, rows, texts, readings)
        bounds = [at for at, reading in enumerate(readings) if isinstance(reading.value, dict)]
        told.refuse("R73-not-believed", column, rows[bounds], [texts[at] for at in bounds], "no single odometer")
        for row, reading in zip(rows, readings, strict=True):
            if isinstance(reading.value, (int, float)):
                km[row], units[row] = reading.value, reading.unit if reading.unit in DISTANCE_KM else "km"
    return out.assign(km=km, unit=pd.Series(units, dtype="str"))


def _by_unit(kind, column, unit_column, reader, unit, told):
    """Rows of a column by the unit that its own unit column says; where that is empty, the unit answered for the file."""
    rows, texts = _filled(kind, column)
    if unit_column is None:
        yield rows, texts, unit
        return
    written = kind.cells[unit_column].iloc[rows].str.strip()
    for word in written.unique():
        those = np.flatnonzero(written.eq(word).to_numpy())
        own = reader(word) if word else unit
        picked = [texts[at] for at in those]
        if word and own is None:
            told.refuse("R75-no-reading", column, rows[those], picked, f"its unit “{word}” is none that is known")
        else:
            yield rows[those], picked, own


def places(kind: Kind, column: str, what: str, hints: dict, told: Told) -> pd.DataFrame:
    """``axle, side, part`` (shape (rows,)) of a column of places, axles, sides or parts; empty where it does not say."""
    rows, texts = _filled(kind, column)
    readings = headings.positions(texts, what, hints)
    if what == "part":
        readings = [
            _part_named(headings.part_only(text)) if reading.status != OK and headings.part_only(text) else reading
            for text, reading in zip(texts, readings, strict=True)
        ]
    if what == "position":
        readings = _wheel_and_face(texts, readings, hints)
    told.of(column, rows, texts, readings)
    out = np.full((len(kind.cells), 3), "", dtype=object)
    several = [at for at, reading in enumerate(readings) if isinstance(reading.value, list)]
    told.refuse("R75-no-reading", column, rows[several], [texts[at] for at in several], "several places for one reading")
    for row, reading in zip(rows, readings, strict=True):
        if isinstance(reading.value, dict):
            out[row] = [reading.value.get(key) or "" for key in PLACE]
    return pd.DataFrame(out, columns=PLACE)


def _part_named(part: str) -> Reading:
    return Reading(OK, {"axle": None, "side": None, "part": part}, None, "", "M2")


def _wheel_and_face(texts: list[str], readings: list[Reading], hints: dict) -> list[Reading]:
    """Cells such as ``RR inner``, asked because of one word, read with wheel and face apart, as in headings."""
    asked = list(dict.fromkeys(text for text, reading in zip(texts, readings, strict=True) if reading.status == ASK))
    if not asked:
        return readings
    every = list(dict.fromkeys(texts))
    known = dict(zip(every, headings.places(every, hints), strict=True))
    out = []
    for text, reading in zip(texts, readings, strict=True):
        place = known[text]
        if reading.status == ASK and place is not None and place.axle:
            value = {"axle": place.axle, "side": place.side or None, "part": place.part or None}
            reading = Reading(OK_ASSUMED, value, None, "a wheel, as in the column's other cells", "M1")
        out.append(reading)
    return out


_MEASURES = (
    ("runout", ("runout", "run out")),
    ("thickness_variation", ("variation", "dtv")),
    ("diameter", ("diameter", "dia")),
    ("thickness", ("thick",)),
)


_OF_A_LINING = frozenset(headings.LINING_WORDS) | frozenset(
    "lining linings garniture garnitures balata balatas remaining depth wear reading value starke dicke rest epaisseur espesor grosor".split()
)


def _of_a_lining(text: str) -> bool:
    """Whether a word for what was measured is one of linings, or nothing is written."""
    said = set(headings.tokens(text))
    return not text.strip() or bool(said & _OF_A_LINING) and not said & headings.TYRES


def measures(kind: Kind, column: str) -> pd.Series:
    """What each row measured, by a column that says so; empty where its words are none of those that are known."""
    words = kind.cells[column].str.lower()
    out = words.map({text: "thickness" if _of_a_lining(text) else "" for text in words.unique()})
    for name, signs in reversed(_MEASURES):
        out = out.mask(words.map(lambda text, signs=signs: any(sign in text for sign in signs)), name)
    return out


def readings(
    kind: Kind, column: str, role: Role, unit_column: str | None, unit: str | None, hints: dict, told: Told, place: pd.DataFrame
) -> pd.DataFrame:
    """Readings of a column, a row each: ``at`` (row of the kind), ``axle, side, part, measure, low, high, value, unit, written, taken, event``.

    ``value`` in ``unit``; a bound has ``low`` or ``high`` instead. ``event`` marks the rows that say that the part was replaced.
    """
    out: list[tuple] = []
    of_metal = place["part"].isin(("rotor", "drum")).to_numpy() | (
        role.part in ("rotor", "drum") or role.kind in ("runout", "diameter")
    )
    sizes = np.where(place["part"].eq("drum") | (role.part == "drum") | (role.kind == "diameter"), "diameter", role.kind)
    named = headings.unit_of(column)
    own_header = _header_for(column, role, named)
    for rows, texts, own in _by_unit(
        kind, column, unit_column, thickness_unit, None if named in THEIR_UNIT.values() else unit, told
    ):
        hint = {"unit": THEIR_UNIT[own]} if own else {}
        hint |= {"order": _order(role)} if role.several else {}
        read = cells.read("pad_thickness", texts, own_header, {**hints, **hint})
        read = [
            _gauge(text, named or (unit_column and THEIR_UNIT.get(own)), own, sizes[row], hints) if of_metal[row] else reading
            for row, text, reading in zip(rows, texts, read, strict=True)
        ]
        read = [_settled(text, reading, hints) for text, reading in zip(texts, read, strict=True)]
        told.of(column, rows, texts, read)
        for row, text, reading in zip(rows, texts, read, strict=True):
            if reading.taken:
                out += _spread(row, text, reading, role, hints, told, column)
    frame = pd.DataFrame(out, columns=["at", *PLACE, "low", "high", "value", "unit", "written", "taken", "event"])
    frame["at"] = frame["at"].astype("int64")
    own = place.iloc[frame["at"]].reset_index(drop=True)
    clash = np.zeros(len(frame), dtype=bool)
    for name in ("axle", "side"):
        clash |= (frame[name].ne("") & own[name].ne("") & frame[name].ne(own[name])).to_numpy()
        frame[name] = np.where(frame[name].eq(""), own[name], frame[name])
    finer = own["part"].ne("") & (frame["part"].isin(("", "pad", "shoe")) | own["part"].isin(("rotor", "drum")))
    frame["part"] = np.where(finer, own["part"], frame["part"])
    told.refuse("R75-no-reading", column, frame["at"][clash], frame["written"][clash], "the heading and the row name two places")
    frame = frame[~clash].reset_index(drop=True)
    return frame.assign(measure=role.kind, column=column)


def _order(role: Role) -> list[str]:
    """The places of several readings in a cell: left and right become wheels where the axle is known."""
    codes = {"left": "L", "right": "R"}
    return [
        codes[word] + role.axle[0].upper() if word in codes and role.axle in ("front", "rear") else word for word in role.several
    ]


def _header_for(column: str, role: Role, named: str | None) -> str:
    """The heading as the cells' reader should see it: the place is known, its unit and its per cent count."""
    if role.several or not (role.axle or role.side or role.part):
        return column
    if named == "%":
        return " ".join(["%", *(word for word in headings.tokens(column) if word in LEFT_OR_WORN)]) if role.axle else column
    return f"pad {'32nds' if named == 'in32' else f'({named})' if named in ('mm', 'in') else ''}".strip()


_GAUGE = re.compile(r"(\d{1,3}(?:[.,]\d{1,3})?)\s*(mm|in|\")?", re.I)


_METAL = {"thickness": {"in": (0.2, 2.2), "mm": (4.0, 60.0)}, "diameter": {"in": (5.0, 22.0), "mm": (120.0, 520.0)}}
"""What a rotor's thickness and a drum's diameter can be, in either unit: never the same number. Source: common practice, no source."""


def _gauge(text: str, unit: str | None, answered: str | None, measure: str, hints: dict) -> Reading:
    """Rotors and drums: a plain number, with its unit in the cell, the heading or its column, else by its size, else as answered."""
    found = _GAUGE.fullmatch(text.strip())
    if not found:
        return Reading(REFUSE, None, None, f"{text.strip()!r} is no plain number", "G1")
    unit = {"mm": "mm", "in": "in", '"': "in"}.get((found[2] or "").lower(), unit)
    number, assumed = float(found[1].replace(",", ".")), ""
    if unit not in OUR_UNIT:
        fits = [name for name, (low, high) in _METAL.get(measure, {}).items() if low <= number <= high]
        unit, assumed = (
            (fits[0], f"taken as {fits[0]}: no rotor or drum is so large or small otherwise") if fits else (answered, "")
        )
    if unit not in ("mm", "in"):
        return Reading(ASK, None, None, "mm or inches? no unit in the cell, the header or an answer given before", "G2", "unit")
    if "," in found[1] and hints.get("decimal") != "," and hints.get("delimiter") != ";":
        return Reading(ASK, None, None, f"{text.strip()!r}: a decimal comma, or two readings?", "G3", "decimal")
    return Reading(OK_ASSUMED if assumed else OK, number * THICKNESS_MM[unit], unit, assumed, "G4" if assumed else "G1")


def _settled(text: str, reading: Reading, hints: dict) -> Reading:
    """A share of the lining is a reading once the shop has said how thick a new one is; a row of readings once their order is known."""
    if isinstance(reading.value, dict) and "share" in reading.value and not isinstance(hints.get("new_thickness_mm"), float):
        return Reading(
            ASK, None, None, "a share of a new lining: how thick is a new one, in mm?", reading.rule, "new_thickness_mm"
        )
    if isinstance(reading.value, list):
        return Reading(ASK, None, None, f"{len(reading.value)} readings: in which order?", reading.rule, "order")
    return reading


def _spread(row, text, reading: Reading, role: Role, hints: dict, told: Told, column: str) -> list[tuple]:
    """The readings in one cell, each with its place."""
    value, unit = reading.value, OUR_UNIT.get(reading.unit, "mm")
    place = (role.axle, role.side, role.part)

    def one(mm, at=place, taken=role.taken, event=False):
        return (row, *at, np.nan, np.nan, _in(mm, unit), unit, text.strip(), taken, event)

    if isinstance(value, (int, float)):
        return [one(value)]
    if "share" in value:
        return [
            (
                row,
                *place,
                np.nan,
                np.nan,
                round(value["share"] * hints["new_thickness_mm"], 6),
                "mm",
                text.strip(),
                role.taken,
                False,
            )
        ]
    if "event" in value:
        before, after = value.get("before"), value.get("after")
        out = [one(before)] if isinstance(before, (int, float)) else []
        out += [one(after, taken="after")] if isinstance(after, (int, float)) else []
        return out + [(row, *place, np.nan, np.nan, np.nan, unit, text.strip(), "", True)]
    if "low" in value:
        low, high = (_in(value[key], unit) for key in ("low", "high"))
        return [(row, *place, low, high, np.nan, unit, text.strip(), role.taken, False)]
    out = []
    for key, mm in value.items():
        at = _where(key, place)
        if at is None or not isinstance(mm, (int, float)):
            told.refuse("R75-no-reading", column, [row], [text], f"{key}: not a place under this heading")
        else:
            out.append(one(mm, at))
    return out


def _in(mm, unit: str) -> float:
    return np.nan if mm is None else round(mm / THICKNESS_MM[unit], 6)


def _where(key: str, place: tuple[str, str, str]) -> tuple[str, str, str] | None:
    """The place a key of a cell's reading means under a heading's place; None where the two contradict."""
    axle, side, part = place
    if key in WHEELS:
        own = WHEELS[key]
        return (*own, part) if axle in ("", own[0]) and side in ("", own[1]) else None
    if key in ("front", "rear"):
        return (key, side, part) if axle in ("", key) else None
    if key in FACES:
        return (axle, side, FACES[key]) if part in ("", "pad", FACES[key]) else None
    return (axle, side, key) if key in ("pad", "shoe", "rotor", "drum") and part in ("", key) else None
