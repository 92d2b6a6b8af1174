"""A records folder, loaded into one frozen object of checked tables.

``read`` takes the tables of ``columns.RECORD_TABLES`` from a folder of CSV or Parquet files or one XLSX workbook, turns
every cell into its kind and reports every cell that could not be used. What was written stays beside what was understood
(``..._written``, ``unit``, ``factor``). What the cells mean together is judged in ``checks``, which makes the `Records`.
"""

import re
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

from brakedata import codes, findings, guards, handwritten, settings_file, tablefiles, units
from brakedata.columns import AXLE_NAMES, NEEDED_TABLES, RECORD_TABLES
from brakedata.findings import RecordsError
from brakedata.settings_file import SETTINGS_FILE


@dataclass(frozen=True)
class Settings:
    """What ``records.toml`` says: the folder's own units, and a person's answers to proposed pad changes.

    ``pad_changes`` maps (visit_id, axle, side) to True (yes, changed there) or False (no). ``mask_vins`` (``[vins] mask``) hides
    VINs in whatever is exported. ``answers`` are the ``[[answers.kind]]`` tables as written; `answered` reads them. ``shop`` is what
    the shop said once (`SHOP`), ``layouts`` the ``[[layout]]`` tables, which `mapping` reads, ``units_said`` which of the units stand in
    the file, and ``repeat`` the shop's own repeat error (mm) and how many readings it rests on (``[gauge]``), or None.
    """

    distance_unit: str = "km"
    thickness_unit: str = "mm"
    pad_changes: dict[tuple[str, str, str], bool] = field(default_factory=dict)
    mask_vins: bool = False
    answers: dict[str, list] = field(default_factory=dict)
    shop: dict = field(default_factory=dict)
    layouts: tuple[dict, ...] = ()
    units_said: frozenset[str] = field(default=frozenset(), compare=False)
    repeat: tuple[float, int] | None = None


SHOP = {
    "country": "two letters, for instance GB",
    "driver_side": "left or right",
    "traffic_side": "left or right",
    "date_order": "day_first, month_first or year_first",
    "decimal": "the decimal mark, . or ,",
    "percent": "left or worn",
    "new_thickness_mm": "how thick a new lining is, mm",
    "words": 'what your own words mean, for instance OK = ">=5 mm"',
}
"""What a shop says once, in the part ``[shop]`` of ``records.toml``: the hints of `cells.read`."""
LARGEST_REPEAT_MM, LEAST_REPEATED = 2.0, 10
"""A repeat error over the first, or from fewer repeated readings than the second, is not used (common practice, no source)."""
_SAID = {
    "driver_side": ("left", "right"), "traffic_side": ("left", "right"), "date_order": ("day_first", "month_first", "year_first"),
    "decimal": (".", ","), "percent": ("left", "worn"),
}  # fmt: skip


def shop_value(key: str, value):
    """One answer of `SHOP` as the cells' reader takes it, or None where it cannot be."""
    if key in _SAID:
        return value if value in _SAID[key] else None
    if key == "country":
        return value.upper() if isinstance(value, str) and len(value) == 2 and value.isalpha() else None
    if key == "new_thickness_mm":
        value = float(value) if isinstance(value, str) and re.fullmatch(r"\d{1,2}(?:\.\d+)?", value.strip()) else value
        return float(value) if type(value) in (int, float) and 0 < value <= 30 else None
    if key == "words":
        return {str(k): str(v) for k, v in value.items()} if isinstance(value, dict) else None
    return None


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
    coded_measurements : DataFrame
        ``measurements`` as they are kept: texts as codes (`codes`). ``measurements`` writes them out each time it is asked for.
    findings : DataFrame
        Every row or cell that was left out or noticed, and why (``columns.FINDINGS``).
    settings : Settings
    rows_read : DataFrame or None
        ``file, sheet, outcome, why, rows``: what came of every row of every file; the rows add up to those of the files.
    trail : DataFrame or None
        For a shop's own files (see `mapping`): ``row, file, sheet, line``, where each ``row`` stands. None for our tables, whose
        ``row`` is the line in their own file.
    """

    source: Path
    vehicles: pd.DataFrame
    limits: pd.DataFrame
    visits: pd.DataFrame
    coded_measurements: pd.DataFrame
    work: pd.DataFrame
    odometer_log: pd.DataFrame
    findings: pd.DataFrame
    settings: Settings
    rows_read: pd.DataFrame | None = None
    trail: pd.DataFrame | None = None

    @property
    def measurements(self) -> pd.DataFrame:
        """The measurements with their texts written out."""
        return codes.plain(self.coded_measurements)

    def rows_of(self, table: str) -> pd.Series:
        """Which row of its source each row of a table is."""
        return (self.coded_measurements if table == "measurements" else getattr(self, table))["row"]

    @property
    def newest_date(self) -> pd.Timestamp:
        """Newest date of any visit or odometer reading: the default as-of date."""
        dates = [frame["date"].max() for frame in (self.visits, self.odometer_log) if len(frame)]
        if not dates:
            raise RecordsError(f"{self.source.name}: no dated visit could be used: see what brakedata check says of it.")
        return max(dates)


class NoTables(RecordsError):
    """None of our tables is there: what is there may be a shop's own."""


TAKEN, LEFT_OUT = "taken", "left out"


def account(rows: pd.DataFrame) -> pd.DataFrame:
    """Rows by outcome: ``file, sheet, outcome, why, rows``, of ``file, sheet, why, rows``; ``why`` is empty where they were taken."""
    rows = rows.assign(outcome=np.where(rows["why"].eq(""), TAKEN, LEFT_OUT))
    out = rows.groupby(["file", "sheet", "outcome", "why"], sort=False)["rows"].sum().reset_index()
    order = ["file", "sheet", "outcome", "rows"]
    return out.sort_values(order, ascending=[True, True, False, False], kind="stable", ignore_index=True)


def at_source(found: pd.DataFrame, trail: pd.DataFrame | None) -> pd.DataFrame:
    """Findings with the file and the line as they are to be looked up: ``table`` names the file and sheet, ``row`` its line."""
    if trail is None or not len(found):
        return found
    place = trail.drop_duplicates("row").set_index("row").reindex(found["row"]).set_axis(found.index)
    here = place["line"].notna() & found["table"].ne("limits")
    sheet = place["sheet"].fillna("")
    name = place["file"].fillna("") + np.where(sheet.ne(""), ", sheet " + sheet, "")
    row = place["line"].astype("float64").where(here, found["row"])
    return found.assign(table=name.where(here, found["table"]).astype("str"), row=row)


def read(path, say) -> tuple[Path, dict[str, pd.DataFrame], Settings, list[pd.DataFrame]]:
    """Read a records folder or workbook, cell by cell.

    Parameters
    ----------
    path : str or Path
        A folder holding the tables, or one ``.xlsx`` workbook.
    say : callable
        Called with a short text before each step.

    Returns
    -------
    source : Path
    tables : dict of DataFrame
        Every table of the contract, an absent one empty; every row of the file, ``usable`` False where it lacks a cell that
        it cannot do without.
    settings : Settings
    found : list of DataFrame
        Findings.

    Raises
    ------
    RecordsError
        When nothing could be done: no such folder, no table in it, a needed table or one of its columns missing.
    """
    source = guards.place(path)
    say("reading the tables")
    raw, settings, found = read_tables(source)
    say("checking the cells")
    tables = {}
    for name in RECORD_TABLES:
        tables[name], more = _typed(name, raw.get(name), settings)
        found += more
    return source, tables, settings, found


def as_written(source) -> dict[str, pd.DataFrame]:
    """The tables of a records folder or workbook, every cell as it stands in the file, with ``row``, the line it stands on."""
    return read_tables(Path(source))[0]


def is_ours(file: Path) -> bool:
    """Whether a file is one of our tables, or a workbook that holds one, by its name and its columns.

    Any shop may have a list of vehicles: that alone says nothing. The limits are ours by their name.
    """
    name, ending = file.stem.lower(), file.suffix.lower()
    if ending == ".xlsx":
        book = tablefiles.open_workbook(file)
        named = [(_table_of(sheet), sheet) for sheet in book.sheet_names]
        return any(_has_columns(table, tablefiles.sheet_columns(book, sheet)) for table, sheet in named if table in DECIDING)
    if name not in RECORD_TABLES or name == "vehicles" or ending not in (".csv", ".parquet"):
        return False
    return name == "limits" or _has_columns(name, tablefiles.file_columns(file))


DECIDING = ("visits", "measurements")
"""Tables by which a folder or workbook is known as ours."""


def _has_columns(table: str, columns) -> bool:
    """Whether a table has all the columns that it needs, but for one."""
    return sum(column.name not in columns for column in RECORD_TABLES[table] if column.required) < 2


def _table_of(sheet: str) -> str:
    return sheet.strip().lower().replace(" ", "_")


# --- finding and reading the files ------------------------------------------------------------------------------------


def read_tables(source: Path) -> tuple[dict[str, pd.DataFrame], Settings, list[pd.DataFrame]]:
    """The tables of a folder or workbook as text, its settings, and findings; `NoTables` where none of ours is there."""
    folder = source if source.is_dir() else source.parent
    settings, found = read_settings(folder)
    if source.is_dir():
        raw, more = _read_folder(source)
    elif source.suffix.lower() == ".xlsx":
        raw, more = _read_workbook(source)
    else:
        raise NoTables(f"{source.name} is neither a folder nor an .xlsx workbook: give one of these.")
    found += more
    missing = [name for name in NEEDED_TABLES if name not in raw]
    ours = any(_has_columns(name, raw[name].columns) for name in DECIDING if name in raw)
    if missing:
        raise (RecordsError if ours else NoTables)(
            f"{source.name}: no table named {' and none named '.join(missing)} found: each table is a file "
            f"(for instance {missing[0]}.csv) or a sheet; blank templates come with the kit."
        )
    if not ours:
        raise NoTables(
            f"{source.name}: neither visits nor measurements have the columns that they need; blank templates come with the kit."
        )
    for name in RECORD_TABLES:
        if name not in raw:
            found.append(findings.make("R1-table-missing", name))
    return raw, settings, found


def _read_folder(folder: Path):
    files, found = _files(folder)
    raw = {}
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
        raise NoTables(f"{folder.name} holds {len(books)} workbooks and no table: name the workbook to read.")
    raise NoTables(
        f"{folder.name} holds no table: put vehicles.csv, visits.csv and measurements.csv (or .parquet) or one workbook there."
    )


def _files(folder: Path):
    """Files of a folder by lower-case name; R2 where two names differ in their case only."""
    try:
        listed = sorted(file for file in folder.iterdir() if file.is_file())
    except OSError as problem:
        raise RecordsError(
            f"{folder} could not be opened ({problem.strerror or problem}): ask for leave to read it."
        ) from problem
    files, found = {}, []
    for file in listed:
        first = files.setdefault(file.name.lower(), file)
        if first is not file and file.stem.lower() in RECORD_TABLES:
            reading = f"{first.name} was used, {file.name} was not"
            found.append(findings.make("R2-table-twice", file.stem.lower(), reading=reading))
    return files, found


def _read_workbook(file: Path):
    raw, found = {}, []
    book = tablefiles.open_workbook(file)
    for sheet in book.sheet_names:
        name = _table_of(sheet)
        if name in raw:
            found.append(findings.make("R2-table-twice", name, reading=f"the first sheet was used, {sheet} was not"))
        elif name in RECORD_TABLES:
            raw[name], more = tablefiles.read_sheet(book, sheet, name)
            found += more
    return raw, found


def read_settings(folder: Path) -> tuple[Settings, list[pd.DataFrame]]:
    """Read ``records.toml`` of a records folder; without the file, the defaults (km, mm, no answers)."""
    said, found = settings_file.read(folder), []
    chosen = _own_units(said.get("units", {}), found)
    pad_changes = {}
    answers = said.get("pad_change", [])
    for entry in answers if isinstance(answers, list) else [answers]:
        answer = str(entry.get("answer", "")).strip().lower() if isinstance(entry, dict) else ""
        if answer in ("yes", "no") and "visit_id" in entry and "axle" in entry:
            axle, side = (str(entry.get(key, "both")).strip().lower() for key in ("axle", "side"))
            pad_changes[str(entry["visit_id"]).strip(), axle, side] = answer == "yes"
        else:
            found.append(_misread("pad_change", entry))
    shop, layouts = _shop_and_layouts(said, found)
    units_said = frozenset(said["units"]) if isinstance(said.get("units"), dict) else frozenset()
    settings = Settings(
        chosen["distance"], chosen["thickness"], pad_changes, *_vins_and_answers(said, found), shop, layouts, units_said,
        _repeat(said.get("gauge"), found),
    )  # fmt: skip
    return settings, found


def _repeat(written, found) -> tuple[float, int] | None:
    """The shop's own repeat error and the number of readings behind it; None where it says none that a study can give."""
    if written is None:
        return None
    sd, count = (written.get("repeat_sd_mm"), written.get("readings")) if isinstance(written, dict) else (None, None)
    if type(sd) in (int, float) and type(count) is int and 0 < sd <= LARGEST_REPEAT_MM and count >= LEAST_REPEATED:
        return float(sd), count
    found.append(_misread("gauge", written))
    return None


def _shop_and_layouts(said, found) -> tuple[dict, tuple[dict, ...]]:
    """What the shop said once, and the kinds of foreign file it knows, as written."""
    written, shop = said.get("shop", {}), {}
    if not isinstance(written, dict):
        found.append(_misread("shop", written))
        written = {}
    for key, value in written.items():
        shop[key] = shop_value(key, value)
        if shop[key] is None:
            found.append(_misread(f"shop.{key}", value))
            del shop[key]
    layouts = said.get("layout", [])
    layouts = layouts if isinstance(layouts, list) else [layouts]
    for layout in layouts:
        if not isinstance(layout, dict) or not isinstance(layout.get("columns", {}), dict):
            found.append(_misread("layout", layout))
    return shop, tuple(one for one in layouts if isinstance(one, dict) and isinstance(one.get("columns", {}), dict))


def _vins_and_answers(said, found) -> tuple[bool, dict[str, list]]:
    """Whether VINs are hidden, and the answers about who is who by kind, as written."""
    vins, answers = said.get("vins", {}), said.get("answers", {})
    hidden = vins.get("mask", False) if isinstance(vins, dict) else vins
    if not isinstance(hidden, bool):
        found.append(_misread("vins", vins))
        hidden = True
    if not isinstance(answers, dict):
        found.append(_misread("answers", answers))
        answers = {}
    return hidden, {kind: its if isinstance(its, list) else [its] for kind, its in answers.items()}


def _own_units(written, found) -> dict[str, str]:
    """The folder's own units by the ``units`` part of ``records.toml``."""
    chosen = {"distance": "km", "thickness": "mm"}
    if not isinstance(written, dict):
        found.append(_misread("units", written))
        return chosen
    for key, reader in (("distance", units.distance_unit), ("thickness", units.thickness_unit)):
        if key in written:
            unit = reader(str(written[key]))
            if unit is None:
                found.append(_misread(f"units.{key}", written[key]))
            else:
                chosen[key] = unit
    return chosen


def _misread(column, value) -> pd.DataFrame:
    return findings.make("R15-setting-not-understood", SETTINGS_FILE, column=column, value=str(value))


def answer_pad_change(folder, visit_id: str, axle: str, side: str, changed: bool) -> Path:
    """Remember a person's answer to a proposed pad change in ``records.toml`` beside the records.

    An earlier answer to the same question is replaced; everything else in the file, comments too, stays as it is.

    Returns
    -------
    Path
        The file written.
    """
    question = {"visit_id": visit_id, "axle": axle, "side": side}
    with settings_file.changing(folder) as document:
        settings_file.entry(document, "pad_change", question)["answer"] = "yes" if changed else "no"
    return settings_file.place(folder)


# --- cells to kinds ---------------------------------------------------------------------------------------------------

KEPT_WITHOUT = {("visits", "odometer"), ("visits", "odometer_unit"), ("vehicles", "odometer_unit")}
"""Cells that may be unreadable without their row being lost: the visit's work and words count without its odometer."""


def _typed(table: str, raw: pd.DataFrame | None, settings: Settings):
    """The cells of one table in their kinds, with ``usable`` False where a row lacks a cell it cannot do without.

    Each reader below looks at the distinct texts of a column once: it gives the values by name, where they are wrong
    (bool, one a text), and the rule that says so.
    """
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
            found.append(findings.make("R3-column-missing", table, column=missing))
            raw = raw.iloc[:0]
    row = raw["row"].to_numpy()
    out, usable, mended = {"row": row}, np.ones(len(raw), dtype=bool), []
    for column in columns:
        place, text, each_once = _distinct(raw[column.name] if column.name in raw.columns else None, len(raw), column.kind)
        values, wrong, code = _READERS.get(column.kind, _read_text)(text, column, settings)
        must = column.required and column.kind != "thickness_unit"
        blank = (text == "").to_numpy() if must else np.zeros(len(text), dtype=bool)
        needed = column.required or column.kind in ("choice", "flag") or column.kind.endswith("_unit")
        for rule, bad in ((code, wrong), ("R7-cell-empty", blank)):
            if bad.any() and (at := bad[place].copy()).any():
                unexplained = at
                if rule == code and handwritten.can_be(column):
                    mended.append(handwritten.read(table, column, raw, np.flatnonzero(at), text.drop_duplicates(), settings))
                    found += mended[-1].found
                    at[mended[-1].rows] = False
                    unexplained = at.copy()
                    unexplained[mended[-1].explained] = False
                if unexplained.any():
                    written = text.array.take(np.flatnonzero(unexplained) if place is ALL else place[unexplained])
                    found.append(findings.make(rule, table, row=row[unexplained], column=column.name, value=written))
                if needed and (table, column.name) not in KEPT_WITHOUT:
                    usable &= ~at
        for name, value in values.items():
            if place is ALL:
                out[name] = value
            elif isinstance(value, pd.Series) and value.dtype == "str":
                same = each_once and value is text
                many = same and len(text) > codes.MOST_ORDERED and codes.coded(raw[column.name])
                out[name] = raw[column.name] if many else codes.from_places(place, value, same)
            else:
                out[name] = pd.Series(value).array.take(place)
    frame = pd.DataFrame({**out, "usable": usable}, copy=False)
    for one in mended:
        for name, cells in one.cells.items():
            frame[name] = codes.text(frame[name])
            changed = [place for place, cell in enumerate(cells) if cell is not None]
            frame.iloc[one.rows[changed], frame.columns.get_loc(name)] = [cells[place] for place in changed]
    return frame, found


def limits_beside(folder: Path, settings: Settings) -> tuple[pd.DataFrame, list[pd.DataFrame]]:
    """Our own limits table where it lies beside a shop's own files, else an empty one; and findings."""
    files, found = _files(folder)
    raw = None
    for ending, reader in (("csv", tablefiles.read_csv), ("parquet", tablefiles.read_parquet)):
        if raw is None and f"limits.{ending}" in files:
            raw, found = reader(files[f"limits.{ending}"], "limits")
    table, more = _typed("limits", raw, settings)
    return codes.plain(table), [*found, *more]


def empty_table(table: str, settings: Settings) -> pd.DataFrame:
    """A table without rows, in the columns and kinds that `read` gives."""
    return codes.plain(_typed(table, None, settings)[0])


ALL = slice(None)
"""The place of every cell in a column whose cells were not sorted into distinct texts."""


def _distinct(cells: pd.Series | None, rows: int, kind: str) -> tuple[np.ndarray | slice, pd.Series, bool]:
    """Place of every cell among the column's distinct texts, these, and whether they are known to differ from one another.

    Stripped, missing as empty, dates as YYYY-MM-DD. What rarely repeats, as numbers and free texts of a file, stays as it is, `ALL`.
    """
    if cells is None:
        return np.zeros(rows, dtype="int8"), pd.Series([""], dtype="str"), True
    if isinstance(cells.dtype, pd.StringDtype) and (kind in ("number", "text") or kind == "id" and cells.head(1_000).is_unique):
        place, distinct = ALL, cells
    elif isinstance(cells.dtype, pd.CategoricalDtype) and not (cells.cat.codes < 0).any():
        place, distinct = cells.cat.codes.to_numpy(), pd.Series(cells.cat.categories)
    else:
        plain = cells.astype("object").astype("str") if isinstance(cells.dtype, pd.CategoricalDtype) else cells
        place, distinct = pd.factorize(plain.astype("str") if plain.dtype == "object" else plain, use_na_sentinel=False)
        distinct = pd.Series(distinct)
    if pd.api.types.is_datetime64_any_dtype(distinct):
        text = distinct.dt.strftime("%Y-%m-%d")
    else:
        text = distinct.astype("str")
        if pd.api.types.is_numeric_dtype(distinct):
            text = text.str.replace(r"^(-?\d+)\.0$", r"\1", regex=True)
    if distinct.hasnans:
        text = text.mask(distinct.isna(), "").fillna("").astype("str")
    stripped = text.str.strip()
    return place, stripped, place is not ALL and stripped.equals(distinct)


def _read_text(text, column, settings):
    return {column.name: text}, np.zeros(len(text), dtype=bool), ""


def _number(text: pd.Series) -> np.ndarray:
    """Plain decimal numbers, NaN for anything else."""
    import pyarrow

    blank = text == ""
    filled = text.mask(blank) if blank.any() else text
    try:
        return pyarrow.array(filled).cast(pyarrow.float64()).to_numpy(zero_copy_only=False)
    except pyarrow.ArrowInvalid:  # not all of them are numbers
        return pd.to_numeric(filled, errors="coerce").to_numpy(dtype="float64", na_value=np.nan)


def _read_number(text, column, settings):
    number = _number(text)
    wrong = ~np.isfinite(number)
    if wrong.any():
        wrong &= (text != "").to_numpy()
    return {column.name: np.where(wrong, np.nan, number), f"{column.name}_written": text}, wrong, "R8-not-a-number"


def _read_reading(text, column, settings):
    """A number, or a bound: ``value`` for a number, ``low`` and ``high`` for a bound (open side empty)."""
    number = _number(text)
    bound = text.str.replace("≤", "<=").str.replace("≥", ">=").str.extract(r"^([<>])=?\s*(.*)$")
    edge = _number(bound[1].fillna(""))
    low, high = (np.where(bound[0].eq(sign) & np.isfinite(edge), edge, np.nan) for sign in (">", "<"))
    wrong = (text != "").to_numpy() & ~np.isfinite(number) & np.isnan(low) & np.isnan(high)
    number = np.where(np.isfinite(number), number, np.nan)
    return {"value": number, "low": low, "high": high, "value_written": text}, wrong, "R8-not-a-number"


def _read_date(text, column, settings):
    day, rest = text.str.slice(0, 10), text.str.slice(10)
    plain = rest.eq("") | rest.str.match(r"[T ]\d{2}:\d{2}")
    date = pd.to_datetime(day.where(plain & day.ne("")), format="%Y-%m-%d", errors="coerce").astype("datetime64[s]")
    return {column.name: date}, (text.ne("") & date.isna()).to_numpy(), "R9-not-a-date"


def _read_choice(text, column, settings):
    word = text.str.lower().str.replace(r"[\s-]+", "_", regex=True)
    wrong = ((word != "") & ~word.isin(column.choices)).to_numpy()
    return {column.name: word.mask(wrong, "")}, wrong, "R10-unknown-word"


def _read_axle(text, column, settings):
    word = text.str.lower()
    allowed = word.isin(("", *AXLE_NAMES, *column.choices)) | word.str.fullmatch(r"[1-9]")
    wrong = ~allowed.to_numpy(dtype=bool)
    return {column.name: word.mask(wrong, "")}, wrong, "R10-unknown-word"


def _read_flag(text, column, settings):
    word = text.str.lower()
    yes, no = word.isin(("true", "yes", "y", "1")), word.isin(("false", "no", "n", "0", ""))
    return {column.name: yes.to_numpy()}, ~(yes | no).to_numpy(), "R10-unknown-word"


def _read_unit(text, column, settings):
    distance = column.kind == "distance_unit"
    reader = units.distance_unit if distance else units.thickness_unit
    own = settings.distance_unit if distance else settings.thickness_unit
    unit = pd.Series([own if word == "" else reader(word) for word in text], dtype="str")
    factor = unit.map(units.DISTANCE_KM if distance else units.THICKNESS_MM).to_numpy(dtype="float64", na_value=np.nan)
    return {column.name: unit.fillna(""), "factor": factor}, unit.isna().to_numpy(), "R11-unknown-unit"


_READERS = {
    "number": _read_number, "reading": _read_reading, "date": _read_date, "choice": _read_choice, "axle": _read_axle,
    "flag": _read_flag, "distance_unit": _read_unit, "thickness_unit": _read_unit,
}  # fmt: skip
