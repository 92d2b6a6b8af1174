"""A records folder, loaded into one frozen object of checked tables.

``load`` reads the tables of ``columns.RECORD_TABLES`` from a folder of CSV or Parquet files or one XLSX workbook, turns
every cell into its kind, converts to km, mm and dates, and reports every cell that could not be used. What was written
stays beside what was understood (``..._written``, ``..._unit``). What the cells mean together is judged in ``checks``.
"""

import tomllib
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

from brakedata import findings, tablefiles, units
from brakedata.columns import AXLE_NAMES, NEEDED_TABLES, RECORD_TABLES
from brakedata.findings import RecordsError

SETTINGS_FILE = "records.toml"


@dataclass(frozen=True)
class Settings:
    """What ``records.toml`` says: the folder's own units, and a person's answers to proposed pad changes.

    ``pad_changes`` maps (visit_id, axle, side) to True (yes, changed there) or False (no).
    """

    distance_unit: str = "km"
    thickness_unit: str = "mm"
    pad_changes: dict[tuple[str, str, str], bool] = field(default_factory=dict)


@dataclass(frozen=True)
class Records:
    """The checked tables of one records folder. No frame in it is changed after loading.

    Attributes
    ----------
    source : Path
        The folder or workbook.
    vehicles, limits, visits, measurements, work, odometer_log : DataFrame
        The contract's columns that could be used, in canonical units (``odometer_km``, ``value_mm``, ``new_mm`` ...), with
        ``row`` the line in the source file. ``measurements`` and ``work`` also carry ``vehicle_id`` and ``date``.
    findings : DataFrame
        Every row or cell that was left out or noticed, and why (``columns.FINDINGS``).
    settings : Settings
    """

    source: Path
    vehicles: pd.DataFrame
    limits: pd.DataFrame
    visits: pd.DataFrame
    measurements: pd.DataFrame
    work: pd.DataFrame
    odometer_log: pd.DataFrame
    findings: pd.DataFrame
    settings: Settings

    @property
    def newest_date(self) -> pd.Timestamp:
        """Newest date of any visit or odometer reading: the default as-of date."""
        dates = [frame["date"].max() for frame in (self.visits, self.odometer_log) if len(frame)]
        if not dates:
            raise RecordsError(f"{self.source.name}: no dated visit could be used: see what brakedata check says of it.")
        return max(dates)


def load(path, progress=None) -> Records:
    """Load a records folder or workbook and check it.

    Parameters
    ----------
    path : str or Path
        A folder holding the tables, or one ``.xlsx`` workbook.
    progress : callable, optional
        Called with a short text before each step.

    Returns
    -------
    Records

    Raises
    ------
    RecordsError
        When nothing could be done: no such folder, no table in it, a needed table or one of its columns missing.
    """
    from brakedata import checks

    say = progress or (lambda text: None)
    source = Path(path).expanduser()
    say("reading the tables")
    raw, settings, found = _read_tables(source)
    say("checking the cells")
    tables = {}
    for name in RECORD_TABLES:
        tables[name], more = _typed(name, raw.get(name), settings)
        found += more
    return checks.check(source, tables, settings, found)


# --- finding and reading the files ------------------------------------------------------------------------------------


def _read_tables(source: Path):
    if not source.exists():
        raise RecordsError(f"{source} does not exist: give the folder or workbook that holds the records.")
    folder = source if source.is_dir() else source.parent
    settings, found = read_settings(folder)
    if source.is_dir():
        raw, more = _read_folder(source)
    elif source.suffix.lower() == ".xlsx":
        raw, more = _read_workbook(source)
    else:
        raise RecordsError(f"{source.name} is neither a folder nor an .xlsx workbook: give one of these.")
    found += more
    missing = [name for name in NEEDED_TABLES if name not in raw]
    if missing:
        raise RecordsError(
            f"{source.name}: no table named {' and none named '.join(missing)} found: each table is a file "
            f"(for instance {missing[0]}.csv) or a sheet; blank templates come with the kit."
        )
    for name in RECORD_TABLES:
        if name not in raw:
            found.append(findings.make("R1-table-missing", name))
    return raw, settings, found


def _read_folder(folder: Path):
    files = {file.name.lower(): file for file in sorted(folder.iterdir()) if file.is_file()}
    raw, found = {}, []
    for name in RECORD_TABLES:
        in_csv, in_parquet = files.get(f"{name}.csv"), files.get(f"{name}.parquet")
        if in_csv and in_parquet:
            found.append(findings.make("R2-table-twice", name, reading=f"{in_csv.name} was used, {in_parquet.name} was not"))
        if in_csv:
            raw[name], more = tablefiles.read_csv(in_csv, name)
        elif in_parquet:
            raw[name], more = tablefiles.read_parquet(in_parquet, name)
        else:
            continue
        found += more
    if raw:
        return raw, found
    books = [file for name, file in files.items() if name.endswith(".xlsx") and not name.startswith("~$")]
    if len(books) == 1:
        return _read_workbook(books[0])
    if len(books) > 1:
        raise RecordsError(f"{folder.name} holds {len(books)} workbooks and no table: name the workbook to read.")
    raise RecordsError(
        f"{folder.name} holds no table: put vehicles.csv, visits.csv and measurements.csv (or .parquet) or one workbook there."
    )


def _read_workbook(book: Path):
    raw, found = {}, []
    sheets = {name.strip().lower().replace(" ", "_"): name for name in tablefiles.sheet_names(book)}
    for name in RECORD_TABLES:
        if name in sheets:
            raw[name], more = tablefiles.read_sheet(book, sheets[name], name)
            found += more
    return raw, found


def read_settings(folder: Path) -> tuple[Settings, list[pd.DataFrame]]:
    """Read ``records.toml`` of a records folder; without the file, the defaults (km, mm, no answers)."""
    file = folder / SETTINGS_FILE
    if not file.is_file():
        return Settings(), []
    try:
        said = tomllib.loads(file.read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError) as problem:
        raise RecordsError(f"{SETTINGS_FILE} could not be read ({problem}): correct that line or delete the file.") from problem
    found = []

    def misread(column, value):
        found.append(findings.make("R15-setting-not-understood", SETTINGS_FILE, column=column, value=str(value)))

    written = said.get("units", {})
    chosen = {"distance": "km", "thickness": "mm"}
    for key, reader in (("distance", units.distance_unit), ("thickness", units.thickness_unit)):
        if key in written:
            unit = reader(str(written[key]))
            if unit is None:
                misread(f"units.{key}", written[key])
            else:
                chosen[key] = unit
    pad_changes = {}
    for entry in said.get("pad_change", []):
        answer = str(entry.get("answer", "")).strip().lower() if isinstance(entry, dict) else ""
        if answer in ("yes", "no") and "visit_id" in entry and "axle" in entry:
            key = (str(entry["visit_id"]), str(entry["axle"]), str(entry.get("side", "both")))
            pad_changes[key] = answer == "yes"
        else:
            misread("pad_change", entry)
    return Settings(chosen["distance"], chosen["thickness"], pad_changes), found


def answer_pad_change(folder, visit_id: str, axle: str, side: str, changed: bool) -> Path:
    """Remember a person's answer to a proposed pad change in ``records.toml`` beside the records.

    An earlier answer to the same question is replaced; everything else in the file, comments too, stays as it is.

    Returns
    -------
    Path
        The file written.
    """
    import tomlkit

    folder = Path(folder)
    file = (folder if folder.is_dir() else folder.parent) / SETTINGS_FILE
    document = tomlkit.parse(file.read_text(encoding="utf-8-sig")) if file.is_file() else tomlkit.document()
    if "pad_change" not in document:
        document["pad_change"] = tomlkit.aot()
    question = {"visit_id": visit_id, "axle": axle, "side": side}
    same = [entry for entry in document["pad_change"] if all(str(entry.get(key)) == value for key, value in question.items())]
    if not same:
        document["pad_change"].append(tomlkit.item(question))
        same = [document["pad_change"][-1]]
    same[0]["answer"] = "yes" if changed else "no"
    file.write_text(tomlkit.dumps(document), encoding="utf-8")
    return file


# --- cells to kinds ---------------------------------------------------------------------------------------------------


def _typed(table: str, raw: pd.DataFrame | None, settings: Settings):
    """Turn the raw cells of one table into their kinds; rows that lack a required cell are left out."""
    columns = RECORD_TABLES[table]
    found: list[pd.DataFrame] = []
    if raw is None:
        raw = pd.DataFrame({"row": pd.Series(dtype="int64")})
    else:
        missing = [c.name for c in columns if c.required and c.name not in raw.columns]
        if missing and table in NEEDED_TABLES:
            raise RecordsError(
                f"{table}: the column {' and the column '.join(missing)} is missing: add it, or name yours so in the header."
            )
        if missing:
            found.append(findings.make("R3-column-missing", table, row=1, column=missing))
            raw = raw.iloc[:0]
    out = pd.DataFrame({"row": raw["row"].to_numpy()})
    keep = np.ones(len(out), dtype=bool)
    for column in columns:
        cells = raw[column.name] if column.name in raw.columns else pd.Series("", index=raw.index, dtype="str")
        read = _READERS.get(column.kind, _read_text)
        values, written, wrong, code = read(cells.reset_index(drop=True), column, settings)
        wrong = np.asarray(wrong, dtype=bool)
        if wrong.any():
            found.append(findings.make(code, table, row=out["row"][wrong], column=column.name, value=written[wrong]))
        lost = wrong & (column.required or column.kind.endswith("_unit"))
        if column.required:
            blank = (written == "").to_numpy(dtype=bool) & ~wrong
            if column.kind == "thickness_unit":
                blank[:] = False
            if blank.any():
                found.append(findings.make("R7-cell-empty", table, row=out["row"][blank], column=column.name))
            lost |= blank
        keep &= ~lost
        for name, value in values.items():
            out[name] = value
    out = out[keep].reset_index(drop=True)
    if table == "limits":
        out = _limits_to_mm(out)
    return out, found


def _text(cells: pd.Series) -> pd.Series:
    """Any column as stripped text; numbers without a trailing ``.0``, dates as YYYY-MM-DD, missing as empty."""
    if pd.api.types.is_string_dtype(cells):
        return cells.fillna("").str.strip()
    if pd.api.types.is_datetime64_any_dtype(cells):
        return cells.dt.strftime("%Y-%m-%d").fillna("").astype("str")
    missing = cells.isna()
    text = cells.astype("str").str.strip().str.replace(r"^(-?\d+)\.0$", r"\1", regex=True)
    return text.mask(missing, "")


def _read_text(cells, column, settings):
    text = _text(cells)
    return {column.name: text}, text, np.zeros(len(text), dtype=bool), ""


def _number(cells: pd.Series, text: pd.Series) -> np.ndarray:
    if pd.api.types.is_numeric_dtype(cells) and not pd.api.types.is_bool_dtype(cells):
        return cells.to_numpy(dtype="float64", na_value=np.nan)
    return pd.to_numeric(text.where(text != ""), errors="coerce").to_numpy(dtype="float64", na_value=np.nan)


def _read_number(cells, column, settings):
    text = _text(cells)
    number = _number(cells, text)
    wrong = (text != "").to_numpy() & ~np.isfinite(number)
    return {column.name: np.where(wrong, np.nan, number), f"{column.name}_written": text}, text, wrong, "R8-not-a-number"


def _read_reading(cells, column, settings):
    """A number, or a bound: ``value`` for a number, ``low`` and ``high`` for a bound (open side empty)."""
    text = _text(cells)
    number = _number(cells, text)
    low, high = np.full(len(text), np.nan), np.full(len(text), np.nan)
    odd = ~np.isfinite(number) & (text != "").to_numpy()
    if odd.any():
        parts = text[odd].str.replace("≤", "<=").str.replace("≥", ">=").str.extract(r"^([<>])=?\s*(.*)$")
        edge = pd.to_numeric(parts[1], errors="coerce").to_numpy(dtype="float64", na_value=np.nan)
        low[odd] = np.where(parts[0] == ">", edge, np.nan)
        high[odd] = np.where(parts[0] == "<", edge, np.nan)
    wrong = odd & ~np.isfinite(low) & ~np.isfinite(high)
    number = np.where(np.isfinite(number), number, np.nan)
    return {"value": number, "low": low, "high": high, "value_written": text}, text, wrong, "R8-not-a-number"


def _read_date(cells, column, settings):
    text = _text(cells)
    day = text.str.slice(0, 10)
    tail = text.str.slice(10)
    plain = tail.eq("") | tail.str.match(r"^[T ]\d{2}:\d{2}")
    date = pd.to_datetime(day.where(plain & day.ne("")), format="%Y-%m-%d", errors="coerce").astype("datetime64[s]")
    wrong = (text.ne("") & date.isna()).to_numpy()
    return {column.name: date}, text, wrong, "R9-not-a-date"


def _read_choice(cells, column, settings):
    text = _text(cells)
    word = text.str.lower().str.replace(r"[\s-]+", "_", regex=True)
    wrong = ((word != "") & ~word.isin(column.choices)).to_numpy()
    return {column.name: word.mask(wrong, "")}, text, wrong, "R10-unknown-word"


def _read_axle(cells, column, settings):
    text = _text(cells)
    word = text.str.lower()
    allowed = word.isin(AXLE_NAMES) | word.str.fullmatch(r"[1-9]")
    if column.meaning.endswith("* for all"):
        allowed |= word.eq("*")
    wrong = ((word != "") & ~allowed).to_numpy()
    return {column.name: word.mask(wrong, "")}, text, wrong, "R10-unknown-word"


def _read_flag(cells, column, settings):
    text = _text(cells)
    word = text.str.lower()
    yes, no = word.isin(("true", "yes", "y", "1")), word.isin(("false", "no", "n", "0", ""))
    return {column.name: yes.to_numpy()}, text, ~(yes | no).to_numpy(), "R10-unknown-word"


def _read_unit(cells, column, settings):
    text = _text(cells)
    distance = column.kind == "distance_unit"
    reader = units.distance_unit if distance else units.thickness_unit
    own = settings.distance_unit if distance else settings.thickness_unit
    words = {word: own if word == "" else reader(word) for word in text.unique()}
    unit = text.map(words)
    wrong = unit.isna().to_numpy()
    factor = units.DISTANCE_KM if distance else units.THICKNESS_MM
    name = "odometer_unit" if distance else "unit"
    return {name: unit.fillna("").astype("str"), "factor": unit.map(factor).to_numpy(dtype="float64", na_value=np.nan)}, text, wrong, "R11-unknown-unit"


_READERS = {
    "number": _read_number, "reading": _read_reading, "date": _read_date, "choice": _read_choice, "axle": _read_axle,
    "flag": _read_flag, "distance_unit": _read_unit, "thickness_unit": _read_unit,
}  # fmt: skip


def _limits_to_mm(limits: pd.DataFrame) -> pd.DataFrame:
    """Limits in mm beside the numbers as written (``new_mm`` beside ``new``)."""
    for name in ("new", "replace_at", "discard_at", "machine_to"):
        limits[f"{name}_mm"] = limits[name] * limits["factor"]
    return limits
