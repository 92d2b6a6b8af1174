"""An extract of the records that a shop can hand on: who and when hidden, what wears and how fast kept.

Hidden: vehicle, visit and technician names are replaced by a keyed hash of themselves; every date is moved by one number of
whole weeks that the key gives. Left out: VINs, descriptions, reasons, complaints, notes, costs, sources of limits, columns of
the shop's own, and rows that could not be used. Kept: odometers, thicknesses, work and product lines, wear classes and duties.

All vehicles are moved by the same weeks, because a schedule holds at one day for all of them: the days of the week and the time
between any two dates stay, the season does not. Odometers stay, because whether a vehicle joined new is read from them; someone
who holds the same odometers can find the vehicle again.

The key stays with the shop. With the same key the same vehicle has the same name, and next month's extract joins this one.
"""

import hashlib
import os
import re
import secrets
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from brakedata import answered, tables, vins
from brakedata.findings import RecordsError
from brakedata.settings_file import SETTINGS_FILE
from brakedata.units import DISTANCE_KM

KEY_FILE = "share.key"
KEY_BYTES, NAME_BYTES, LETTERS = 32, 8, 6
WEEKS = (52, 520)
"""Dates are moved back by one to ten years."""
LONGEST_WORD, LEAST_INSIDE = 60, 3
"""A class, duty or product line longer than the first is a text and not a name; an id shorter than the second may stand in one
by chance (common practice, no source)."""


@dataclass(frozen=True)
class Key:
    """The shop's key, and what it makes of names and dates."""

    secret: bytes

    def name(self, kind: str, text: str) -> str:
        """The name of a vehicle (``kind`` v), a visit (w) or a word (x) in the extract: keyed BLAKE2b of 64 bits (RFC 7693)."""
        return kind + self._hash(kind, text, NAME_BYTES).hex() if text else ""

    def letters(self, text: str) -> str:
        """A technician in the extract: six letters."""
        number, out = int.from_bytes(self._hash("technician", text, NAME_BYTES), "big"), ""
        for _ in range(LETTERS):
            number, place = divmod(number, 26)
            out += "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[place]
        return out if text else ""

    @property
    def shift(self) -> pd.Timedelta:
        """By how much every date is moved back: whole weeks."""
        number = int.from_bytes(self._hash("weeks", "", NAME_BYTES), "big")
        return pd.Timedelta(days=7 * (WEEKS[0] + number % (WEEKS[1] - WEEKS[0] + 1)))

    def _hash(self, kind, text, size):
        return hashlib.blake2b(f"{kind}\0{text}".encode("utf-8", "surrogatepass"), key=self.secret, digest_size=size).digest()


def key_file(source) -> Path:
    """Where the key of a records folder or workbook is kept: beside the records."""
    source = Path(source)
    return (source if source.is_dir() else source.parent) / KEY_FILE


def key_of(source) -> tuple[Key, bool]:
    """The key of a records folder or workbook, made when there is none, and whether it was made.

    Raises
    ------
    RecordsError
        It cannot be read or written, or is no key.
    """
    file = key_file(source)
    try:
        if not file.exists():
            with os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="ascii") as new:
                new.write(secrets.token_hex(KEY_BYTES) + "\n")
            return Key(bytes.fromhex(file.read_text("ascii"))), True
        secret = bytes.fromhex(file.read_text("ascii"))
    except OSError as problem:
        raise RecordsError(
            f"{file} could not be read or made ({problem.strerror or problem}): copy the records to a folder you may write to."
        ) from problem
    except ValueError:
        secret = b""
    if len(secret) != KEY_BYTES:
        raise RecordsError(f"{file} is not a key: put the right one back, or delete it to begin anew with other names.")
    return Key(secret), False


def extract(records, key: Key) -> dict[str, pd.DataFrame]:
    """The tables of the extract, in the contract's columns, sorted by their new names.

    Parameters
    ----------
    records : Records
    key : Key

    Returns
    -------
    dict of DataFrame
    """
    known = _names_in(records)
    vehicles, visits, m, w = records.vehicles, records.visits, records.measurements, records.work
    limits, log = records.limits, records.odometer_log

    def named(kind, texts):
        return _mapped(texts, lambda text: key.name(kind, text))

    def word(texts):
        return _mapped(texts, lambda text: key.name("x", text) if _gives_away(text, known) else text)

    def whose(text):
        return (
            key.name("v", text)
            if text in set_of_ids
            else text
            if text == "*"
            else key.name("x", text)
            if _gives_away(text, known)
            else text
        )

    set_of_ids = set(vehicles["vehicle_id"])
    out = {
        "vehicles": pd.DataFrame(
            {
                "vehicle_id": named("v", vehicles["vehicle_id"]), "wear_class": word(vehicles["wear_class"]), "duty": word(vehicles["duty"]),
                "in_service_date": vehicles["in_service_date"] - key.shift,
                **_distance(vehicles, "in_service_odometer"), "retired_date": vehicles["retired_date"] - key.shift,
            }
        ),
        "limits": limits[["axle", "part", "measure", "unit", "new", "replace_at", "discard_at", "machine_to", "includes_backing"]].assign(
            applies_to=_mapped(limits["applies_to"], whose)
        ),
        "visits": pd.DataFrame(
            {
                "visit_id": named("w", visits["visit_id"]), "vehicle_id": named("v", visits["vehicle_id"]),
                "date": visits["date"] - key.shift, **_distance(visits, "odometer"), "technician": _mapped(visits["technician"], key.letters),
            }
        ),
        "measurements": m[["axle", "side", "part", "measure", "unit", "taken"]].assign(
            visit_id=named("w", m["visit_id"]), value=_readings(m)
        ),
        "work": w[["axle", "side", "part", "action"]].assign(visit_id=named("w", w["visit_id"]), product_line=word(w["product_line"])),
        "odometer_log": pd.DataFrame(
            {"vehicle_id": named("v", log["vehicle_id"]), "date": log["date"] - key.shift, **_distance(log, "odometer")}
        ),
    }  # fmt: skip
    firsts = {"measurements": "visit_id", "work": "visit_id", "limits": "applies_to"}
    for name, first in firsts.items():
        out[name] = out[name][[first, *out[name].columns.drop(first)]]
    out["work"] = out["work"].drop_duplicates()
    return {name: frame.sort_values(list(frame.columns[:2]), kind="stable", ignore_index=True) for name, frame in out.items()}


def write(records, folder, key: Key) -> Path:
    """Write the extract as a records folder.

    Parameters
    ----------
    records : Records
    folder : str or Path
        Must not exist, or be empty.
    key : Key

    Returns
    -------
    Path
        The folder, absolute.

    Raises
    ------
    RecordsError
        The folder is not empty or cannot be written.
    """
    folder = empty_folder(folder)
    try:
        folder.mkdir(exist_ok=True)
        (folder / SETTINGS_FILE).write_text(_settings(records, key), encoding="utf-8")
    except OSError as problem:
        raise RecordsError(f"{folder} could not be written ({problem.strerror or problem}): choose another.") from problem
    for name, frame in extract(records, key).items():
        if len(frame):
            tables.write(frame, folder / f"{name}.csv")
    return folder


def empty_folder(folder) -> Path:
    """The folder that a person named, absolute; refuses one that holds anything, or that cannot be made."""
    folder = Path(folder).expanduser().resolve()
    if folder.is_file() or (folder.is_dir() and any(folder.iterdir())):
        raise RecordsError(f"{folder} is not an empty folder: name a new one, nothing is written over.")
    if not folder.parent.is_dir():
        raise RecordsError(f"{folder.parent} does not exist: make the folder first, or choose another.")
    return folder


def _settings(records, key) -> str:
    """``records.toml`` of the extract: units, and the answers that are not yet carried out in its tables."""
    import tomlkit

    settings = records.settings
    document = tomlkit.document()
    document["units"] = {"distance": settings.distance_unit, "thickness": settings.thickness_unit}
    changes = [
        {"visit_id": key.name("w", visit), "axle": axle, "side": side, "answer": "yes" if changed else "no"}
        for (visit, axle, side), changed in settings.pad_changes.items()
        if visit in set(records.visits["visit_id"])
    ]
    kept = [
        {"visit_id": key.name("w", visit), "axle": axle, "answer": "no"} for visit, axle in answered.sides_not_swapped(settings)
    ]
    if changes:
        document["pad_change"] = changes
    if kept:
        document["answers"] = {"sides_swapped": kept}
    return tomlkit.dumps(document)


def _mapped(texts, make) -> pd.Series:
    """``make`` of every distinct text of a column."""
    return texts.map({text: make(text) for text in texts.unique()}).astype("str")


def _distance(frame, column) -> dict[str, pd.Series]:
    """An odometer as it counts after any answered change, in its own unit, and that unit."""
    unit = frame["odometer_unit"].where(frame["odometer_unit"].map(DISTANCE_KM).eq(frame["factor"]), "km")
    factor = unit.map(DISTANCE_KM)
    km = frame[f"{column}_km"]
    return {column: (km / factor).round(6), "odometer_unit": unit.where(km.notna(), "")}


def _readings(m) -> pd.Series:
    """Values in the unit they were read in: numbers, and bounds as ``<2``."""
    value = m["value"].map("{:.10g}".format).where(m["value"].notna(), "")
    for sign, edge in (("<", "high"), (">", "low")):
        value = value.mask(value.eq("") & m[edge].notna(), sign + m[edge].map("{:.10g}".format))
    return value


def _names_in(records) -> set[str]:
    """Every name that must not be handed on, in small letters."""
    v = records.vehicles
    names = [
        v["vehicle_id"],
        v["vin"],
        vins.normalised(v["vin"]),
        v["description"],
        records.visits["visit_id"],
        records.visits["technician"],
    ]
    return {text.strip().casefold() for texts in names for text in texts.unique()} - {""}


def _gives_away(word: str, known: set[str]) -> bool:
    """Whether a kept word is, or holds, a name or a VIN, or is too long to be a mere word."""
    text = word.strip().casefold()
    if text in known or len(text) > LONGEST_WORD or vins.SHAPE.search(word):
        return True
    edges = [0, *(at.start() for at in re.finditer(r"(?<=\w)(?=\W)|(?<=\W)(?=\w)|(?<=\W)(?=\W)", text)), len(text)]
    return any(text[a:b] in known for i, a in enumerate(edges) for b in edges[i + 1 :] if b - a >= LEAST_INSIDE)
