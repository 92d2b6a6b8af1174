"""From the read columns of foreign files to our tables, and an account of every row."""

from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from brakedata import codes, findings, headings, vins
from brakedata.cells.reading import OK, REFUSE, Reading
from brakedata.cells.told import Told
from brakedata.columns import RECORD_TABLES
from brakedata.headings import READINGS
from brakedata.layouts import A_NOTE, A_TITLE, HEADER_AGAIN
from brakedata.mapping import file_units, jobs, names, one_vehicle, reading, texts, years
from brakedata.mapping.guess import NOT_USED, Role, parsed
from brakedata.mapping.kinds import ABOVE, DITTO, FILE_NAME, SHEET_NAME, Kind, spread
from brakedata.mapping.names import NO_PART
from brakedata.mapping.reading import PLACE
from brakedata.records import Settings, empty_table
from brakedata.units import DISTANCE_KM, THICKNESS_MM

VISIT_TEXTS = ("reason", "complaint", "technician", "note")
OF_A_WORKSHOP = (*VISIT_TEXTS, "visit_id", "work")
"""Roles by which a row is a visit; a price alone may be of fuel."""
VEHICLE_TEXTS = ("vin", "description", "wear_class", "duty")
AFTER = r"after|nach|apres|après|despu|outgoing|as left|post|dopo"
"""In a cell that says when a row was measured: after the work."""
EXAMPLES = "example sample beispiel muster exemple ejemplo esempio voorbeeld przyklad przykład exemplo".split()
"""What a row that shows how a form is filled names as its vehicle."""
NO_VEHICLE, NO_DATE, NO_ODOMETER = "no vehicle is named", "no date that could be read", "no odometer that could be read"
AGAIN, AGAIN_IN_USED = "the same as another row", "the same as another row in the columns that are used"
READINGS_LOST = "no reading in it could be used"
NEARLY_ALL = 0.9
IN_TEXTS = "readings_in_texts"
PARTS_ALONE = "parts_alone"
WORK_IN_NOTES = "work_in_notes"
REFUSED = "another column of the row, or the name of its sheet, says that it was declined, waits or was not approved; kept as a note of the visit"
MOST_DECISIONS = 100
"""A column of decisions has no more different texts."""
NOT_CLEAR = "a thickness in a text, not clear beyond doubt: give it a column of its own"
READ = ["at", *PLACE, "low", "high", "value", "unit", "written", "taken", "event", "measure", "column"]
"""What is known of each reading of a file, as `reading.readings` gives it."""
LEFT_OUT = ("R73-not-believed", "R75-no-reading")


@dataclass
class Layout:
    """How one kind of table is read: the role of each column, and the answers that hold for it."""

    kind: Kind
    roles: dict[str, str]
    answers: dict
    waiting: dict[str, str] = field(default_factory=dict)
    """Columns that are not read before a question is answered, by its key."""
    said: frozenset[str] = frozenset()
    """Columns whose role a person gave."""
    unplaced: list[str] = field(default_factory=list)
    """Columns of readings of a place that nothing names, which are asked about."""

    def columns(self, *roles: str) -> list[str]:
        """Columns with one of these roles, in their order."""
        return [column for column, role in self.roles.items() if role.partition(":")[0] in roles and column not in self.waiting]

    def unit_beside(self, column: str) -> str | None:
        """The column that says the unit of a column of readings: the one named like it, else the one that stands beside it.

        Where none does, the one that names what was measured, ``Pads (mm)``, if it says the unit there.
        """
        units = self.columns("unit") or [
            name
            for name in self.columns("part", "measure")
            if any(headings.unit_of(text) in ("mm", "in", "in32") for text in self.kind.samples(name, 30))
        ]
        if any(unit.endswith(ABOVE) for unit in units):
            said = headings.unit_of(column) or parsed(self.roles[column]).part in ("rotor", "drum")
            units = [unit for unit in units if not unit.endswith(ABOVE) or not said]
        if len(units) < 2:
            return units[0] if units else None
        order, words = list(self.roles), set(headings.tokens(column))
        after = order.index(units[0]) > min(map(order.index, self.columns(*READINGS)))

        def near(unit):
            ahead = order.index(unit) - order.index(column) if after else order.index(column) - order.index(unit)
            return -len(words & set(headings.tokens(unit))), ahead < 0, abs(ahead)

        return min(units, key=near)

    def one(self, role: str) -> str | None:
        """The column with a role, None where there is none."""
        return next(iter(self.columns(role)), None)

    @property
    def days(self) -> years.Columns:
        """The columns that say when each row was."""
        return years.Columns(self.one("date"), self.names_vehicle, self.one("odometer"))

    @property
    def names_vehicle(self) -> str | None:
        """The column that names the vehicle: its own, else that of vehicle identification numbers where it is filled."""
        vin = self.one("vin")
        filled = vin and self.kind.holds(vin).filled >= NEARLY_ALL * len(self.kind.cells)
        return self.one("vehicle_id") or (vin if filled else None)


@dataclass
class Built:
    """Our tables made of foreign files.

    Attributes
    ----------
    tables : dict of DataFrame
        As `records.read` gives them; ``row`` counts on through all sheets, `trail` says which line of which file that is.
    found : list of DataFrame
        Findings.
    trail : DataFrame
        ``row, file, sheet, line`` of every line of every sheet.
    shares : DataFrame
        ``row, table, in_row``: each row that gave something to a table, and the table's row it went into.
    outcome : Series
        By row: why it is no part of any table, empty where it is.
    told : list of Told
        What the readers said, one a layout.
    """

    tables: dict[str, pd.DataFrame]
    found: list[pd.DataFrame]
    trail: pd.DataFrame
    shares: pd.DataFrame
    outcome: pd.Series
    told: list[Told]


def build(layouts: list[Layout], shop: dict, settings: Settings, limits: pd.DataFrame) -> Built:
    """Read every layout's columns and put our tables together, with our own table of limits."""
    trail = trail_of([sheet for layout in layouts for sheet in layout.kind.sheets])
    names = one_vehicle.spellings(layouts, limits["applies_to"])
    other = one_vehicle.other_names(layouts, names)
    parts = [_Part(layout, rows, shop, names, its) for layout, rows, its in zip(layouts, _rows(layouts), other, strict=True)]
    known = pd.concat([part.visits for part in parts], ignore_index=True)
    for part in parts:
        part.look_up(known)
    found: list[pd.DataFrame] = []
    shares: list[pd.DataFrame] = []
    visits, of_row = _visits(parts, found, shares)
    tables = {
        "vehicles": _vehicles(parts, found, shares),
        "visits": visits,
        "measurements": _measurements(parts, of_row, found, shares, trail),
        "work": _work(parts, of_row, found, shares, trail),
        "odometer_log": _log(parts, found, shares, trail),
    }
    own = limits.assign(applies_to=limits["applies_to"].replace(names))
    tables = {name: own if name == "limits" else _as_typed(name, tables[name], settings) for name in RECORD_TABLES}
    outcome = pd.concat([_no_records(layouts), *(part.why for part in parts)]).sort_index()
    shared = pd.concat(shares, ignore_index=True) if shares else pd.DataFrame(columns=["row", "table", "in_row"])
    kept = outcome.index.isin(shared["row"].unique())
    outcome = outcome.mask(outcome.eq("") & ~kept, "nothing in it could be used").mask(kept, "")
    for part in parts:
        again = outcome.index.isin(part.gave_again) & ~kept
        outcome = outcome.mask(again, AGAIN)
        outcome = outcome.mask(again & ~outcome.index.isin(part.rows_again()), AGAIN_IN_USED)
        outcome = outcome.mask(again & outcome.index.isin(part.readings_lost()), READINGS_LOST)
    found += _row_findings(outcome, trail)
    for part in parts:
        found += part.findings()
    return Built(tables, found, trail, shared, outcome, [part.told for part in parts])


def trail_of(sheets) -> pd.DataFrame:
    """``row, file, sheet, line`` of every line; rows count on from sheet to sheet, so that each has its own number."""
    parts = []
    for sheet, before in zip(sheets, _rows_before(sheets), strict=True):
        line = np.sort(np.concatenate([sheet.line, sheet.no_record["line"].to_numpy(dtype="int64")]))
        parts.append(pd.DataFrame({"row": before + line, "file": sheet.file, "sheet": sheet.sheet, "line": line}))
    empty = pd.DataFrame({"row": pd.Series(dtype="int64"), "file": "", "sheet": "", "line": pd.Series(dtype="int64")})
    return pd.concat(parts, ignore_index=True) if parts else empty


def _rows_before(sheets) -> list[int]:
    """How many rows are counted before each sheet."""
    last = [max(sheet.line.max(initial=0), sheet.no_record["line"].max() if len(sheet.no_record) else 0) for sheet in sheets]
    return [0, *np.cumsum(np.array(last, dtype="int64")).tolist()][: len(last)]


def _rows(layouts: list[Layout]) -> list[np.ndarray]:
    """The row number of each row of each layout's kind."""
    before = iter(_rows_before([sheet for layout in layouts for sheet in layout.kind.sheets]))
    return [np.concatenate([next(before) + sheet.line for sheet in layout.kind.sheets]) for layout in layouts]


def _no_records(layouts) -> pd.Series:
    """Why the lines that are no records are none, by row number."""
    sheets = [sheet for layout in layouts for sheet in layout.kind.sheets]
    rows = [
        before + sheet.no_record["line"].to_numpy(dtype="int64")
        for sheet, before in zip(sheets, _rows_before(sheets), strict=True)
    ]
    why = pd.concat([sheet.no_record["why"] for sheet in sheets], ignore_index=True)
    return pd.Series(why.to_numpy(dtype=object), index=np.concatenate(rows), dtype="str")


class _Part:
    """One layout's rows, read."""

    def __init__(self, layout: Layout, rows: np.ndarray, shop: dict, names: dict[str, str], other: dict[str, tuple[str, str]]):
        self.layout, self.rows, self.told = layout, rows, Told()
        kind = years.completed(_dittos(layout, self.told), layout.days, layout.answers, self.told)
        self.kind = _carried_down(layout, _written_once(layout, kind, self.told), self.told)
        self.hints = reading.hints_of(self.kind, shop, layout.answers)
        self.why = pd.Series("", index=rows, dtype="str")
        self.gave_again = np.zeros(0, dtype="int64")
        n = len(rows)
        self.vehicle = self.kind.stripped(layout.names_vehicle) if layout.names_vehicle else _nothing(len(rows))
        for row, written in self.vehicle[self.vehicle.isin(names.keys())].drop_duplicates().items() if names else ():
            said = f"taken for “{names[written]}”: the same but for capitals, blanks and hyphens; so in {int(self.vehicle.eq(written).sum())} rows"
            self.told.noted.append(("R71-assumed", row, layout.names_vehicle, written, said))
        self.vehicle = self.vehicle.replace(names) if names else self.vehicle
        for row, written in self.vehicle[self.vehicle.isin(other.keys())].drop_duplicates().items() if other else ():
            said = f"taken for “{other[written][0]}”: {other[written][1]}; so in {int(self.vehicle.eq(written).sum())} rows"
            self.told.noted.append(("R71-assumed", row, layout.names_vehicle, written, said))
        self.vehicle = self.vehicle.replace({name: its[0] for name, its in other.items()}) if other else self.vehicle
        date = layout.one("date")
        self.date = (
            reading.dates(self.kind, date, self.hints, self.told) if date else pd.Series(np.full(n, None), dtype="datetime64[s]")
        )
        odometer = layout.one("odometer")
        self.has_odometer = odometer is not None
        self.odometer = (
            reading.odometers(
                self.kind, odometer, layout.one("distance_unit"), layout.answers.get("distance_unit"), self.hints, self.told
            )
            if odometer
            else pd.DataFrame({"km": np.full(n, np.nan), "unit": _nothing(n), "written": _nothing(n)})
        )
        self._other_units()
        self.readings = self._readings()
        said_over = [set(headings.tokens(name)) for name in layout.kind.cells.columns]
        fuel = any(headings.FUEL & words and not words & headings.NO_FUEL for words in said_over)
        visit = ("complaint", "work", "reason", "technician", *READINGS) if fuel else (*OF_A_WORKSHOP, *READINGS)
        written = [column for column in layout.columns(*visit) if layout.kind.holds(column).filled]
        self.is_log = not written and not self._waiting_readings()
        said = {name: self._texts(name) for name in VISIT_TEXTS}
        asked = () if layout.answers.get(IN_TEXTS) == "no" else layout.columns("note", "work", "reason", "complaint")
        self.in_texts = {column: self._thicknesses_in(column) for column in asked}
        self.jobs, unclear = self._jobs()
        if found := self._from_texts():
            self.readings = pd.concat([self.readings, pd.DataFrame(found, columns=READ)], ignore_index=True)
        said["note"] = _both(said["note"], unclear)
        self.visits = pd.DataFrame(
            {
                "row": rows, "number": self._text("visit_id"), "vehicle_id": self.vehicle, "date": self.date,
                "odometer_km": self.odometer["km"], "odometer_unit": self.odometer["unit"], "odometer_written": self.odometer["written"],
                **said,
            }
        )  # fmt: skip

    def _other_units(self) -> None:
        """R50: a file whose odometers go on in the other unit, where no heading and no row says it."""
        column, unit = self.layout.one("odometer"), self.layout.answers.get("distance_unit")
        if column and unit and not self.layout.one("distance_unit") and headings.unit_of(column) not in DISTANCE_KM:
            piece = pd.factorize(_sheets(self.kind))[0]
            for row, said in file_units.noticed(piece, self.vehicle, self.date, self.odometer["km"].to_numpy(), unit):
                self.told.noted.append(("R50-unit-changed", row, column, self.odometer["written"][row], said))

    def _waiting_readings(self) -> bool:
        return any(role.partition(":")[0] in READINGS for role in self.layout.roles.values())

    def _text(self, role: str) -> pd.Series:
        column = self.layout.one(role)
        return self.kind.stripped(column) if column else _nothing(len(self.rows))

    def _texts(self, role: str) -> pd.Series:
        out = _nothing(len(self.rows))
        for column in self.layout.columns(role):
            out = _both(out, self.kind.stripped(column))
        return out

    def _places(self) -> pd.DataFrame:
        """``axle, side, part`` that the rows themselves say (shape (rows,)); the part is `NO_PART` where they name a tyre or the like."""
        place = pd.DataFrame({name: _nothing(len(self.rows)) for name in PLACE})
        for what in ("position", "axle", "side", "part"):
            column = self.layout.one(what)
            if not column:
                continue
            own = reading.places(self.kind, column, what, self.hints, self.told, self.layout.one("axle") is not None)
            code, _, said = self.kind.coded(column)
            other = pd.Series([headings.of_tyres(text) for text in said], dtype=bool).to_numpy()[code]
            if what == "part" and own["part"].ne("").any():
                else_named = pd.Series([text != "" and not headings.brakes_only(text) for text in said], dtype=bool).to_numpy()[
                    code
                ]
                other |= else_named & own.eq("").all(axis=1).to_numpy()
            if what in ("position", "part"):
                place["part"] = place["part"].mask(place["part"].eq("") & other, NO_PART)
            place = place.where(place.ne(""), own)
        return place

    def _readings(self) -> pd.DataFrame:
        layout, place = self.layout, self._places()
        named, by = names.said(self.kind)
        own = {headings.part_named(column).rpartition("_")[2] for column in layout.columns(*READINGS)} - {""}
        line = named["line"] if len(own) < 2 else named["line"].where(named["line"].eq(NO_PART), "")  # each column knows its part
        by_name, by_line = (place.assign(part=place["part"].mask(place["part"].eq(""), said)) for said in (named["part"], line))
        parts, no_part = [], {}
        plain = [column for column in layout.columns(*READINGS) if not parsed(layout.roles[column]).several]
        comma = reading.comma_shown(self.kind, plain, self.hints)
        for column in layout.columns(*READINGS):
            role: Role = parsed(layout.roles[column])
            where = by_line if headings.part_named(column) else by_name  # a heading that names its part knows better than a title
            no_part[column] = set(np.flatnonzero(where["part"].eq(NO_PART)))
            parts.append(
                reading.readings(
                    self.kind, column, role, layout.unit_beside(column), layout.answers.get("thickness_unit"),
                    self.hints | (comma if column in plain else {}), self.told, where, layout.one("measure"),
                )
            )  # fmt: skip
        for told in (self.told.noted, self.told.asked) if any(no_part.values()) else ():
            told[:] = [one for one in told if one[1] not in no_part.get(one[2], ())]  # of tyres nothing is asked
        out = pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=READ)
        measure = layout.one("measure")
        if measure:
            out["measure"] = reading.measures(self.kind, measure).to_numpy()[out["at"].to_numpy(dtype="int64")]
            unknown = out["measure"].eq("").to_numpy()
            lost = out[unknown]
            word = self.kind.cells[measure].str.strip().to_numpy()[lost["at"].to_numpy(dtype="int64")]
            said = [f"“{one}” was measured: what that is is not known" for one in word]
            self.told.noted += zip(["R75-no-reading"] * len(lost), lost["at"], lost["column"], lost["written"], said, strict=True)
            out = out[~unknown].reset_index(drop=True)
        after = named["taken"].eq("after").to_numpy()
        if after.any() and len(out):
            first = int(np.flatnonzero(after)[0])
            said = f"after the work, as “{by['taken'][first]}” over the records says; so in {int(after.sum())} rows"
            self.told.noted.append(("R71-assumed", first, out["column"].iloc[0], "", said))
        taken = layout.one("taken")
        if taken:
            code, words, _ = self.kind.coded(taken)
            after = after | words.str.lower().str.contains(AFTER, regex=True).to_numpy()[code]
        out["taken"] = np.where(out["taken"].eq("") & after[out["at"].to_numpy(dtype="int64")], "after", out["taken"])
        return self._with_part(out, place, by["part"])

    def _with_part(self, out: pd.DataFrame, place: pd.DataFrame, by: pd.Series) -> pd.DataFrame:
        """Readings whose axle and part are known; the others are asked or named."""
        part = self.layout.answers.get("part", "")
        out["part"] = out["part"].mask(out["part"].eq(""), part)
        other = out["part"].eq(NO_PART).to_numpy()
        if other.any():
            column, lost = self.layout.one("part") or self.layout.one("position"), out[other]
            word = by.mask(place["part"].eq(NO_PART), self.kind.stripped(column)) if column else by
            said = [f"“{one}” is no part of a brake that is known" for one in word.to_numpy()[lost["at"].to_numpy(dtype="int64")]]
            self.told.noted += zip(["R75-no-reading"] * len(lost), lost["at"], lost["column"], lost["written"], said, strict=True)
            out = out[~other].reset_index(drop=True)
        no_axle, no_part = (out[name].eq("").to_numpy() for name in ("axle", "part"))
        for told, what, lost, said in (
            (self.told.noted, "R75-no-reading", no_axle, NO_AXLE),
            (self.told.asked, "part", no_part & ~no_axle, "of which part is this reading?"),
        ):
            its, n = out[lost], int(lost.sum())
            told += zip([what] * n, its["at"], its["column"], its["written"], [said] * n, strict=True)
        good = ~(no_axle | no_part)
        return out if good.all() else out[good].reset_index(drop=True)

    def _thicknesses_in(self, column: str) -> dict[int, tuple[str, list, str]]:
        """The texts of a column that tell a thickness of linings, by code: the text, what it says beyond doubt, the question it raises."""
        _, every, stripped = self.kind.coded(column)
        those = np.flatnonzero(every.str.contains(texts.HOLDS_THICKNESS, regex=True).to_numpy())
        told = {at: stripped[at] for at in those if headings.BRAKES & set(headings.tokens(stripped[at]))}
        unit = reading.THEIR_UNIT.get(self.layout.answers.get("thickness_unit", ""))
        hints = self.hints | ({"unit": unit} if unit else {})
        heard = column in self.layout.columns("complaint")  # what a customer says is no measurement
        return {at: (text, *(([], "") if heard else texts.read(text, hints))) for at, text in told.items()}

    def _from_texts(self) -> list[tuple]:
        """Readings that stand in notes and lines of work, once a person has said that they are; R74, R75: what is not read of them."""
        out, answer = [], self.layout.answers.get(IN_TEXTS)
        if not any(self.in_texts.values()):
            return out
        measured = set(zip(self.readings["at"], self.readings["axle"], strict=True))
        for column, told in self.in_texts.items():
            code, said = self.kind.coded(column)[0], []
            for row in np.flatnonzero(np.isin(code, list(told))):
                text, found, question = told[code[row]]
                if question:
                    self.told.asked.append((question, row, column, text, "a thickness in a text: which side or unit is meant?"))
                elif not found:
                    self.told.refuse("R75-no-reading", column, [row], [text], NOT_CLEAR)
                elif answer != "yes":
                    self.told.asked.append((IN_TEXTS, row, column, text, texts.in_words(found)))
                else:
                    said.append((row, found, text))
            if said:
                row, found, text = said[0]
                self.told.noted.append(
                    ("R71-assumed", row, column, text, f"{texts.in_words(found)}, as the text says; so in {len(said)} cells")
                )
            out += [
                (row, axle, side, part, np.nan, np.nan, value, unit, text, "", False, "thickness", column)
                for row, found, text in said for axle, side, part, value, unit in found if (row, axle) not in measured
            ]  # fmt: skip
        return out

    def _jobs(self) -> tuple[pd.DataFrame, pd.Series]:
        """Rows of the work table by the words of the work columns, and the words that were not clear."""
        rows, unclear = [], _nothing(len(self.rows))
        by_row = bool(self.layout.columns("position", "axle"))
        for column in self.layout.columns("work"):
            code, _, every = self.kind.coded(column)
            said = self._said_of_work(column, every)
            if self.layout.answers.get(IN_TEXTS) == "yes":
                for at, (words, found, _) in self.in_texts[column].items():
                    said[at] = said[at] if said[at].rows or not found else jobs.work(texts.rest(words))
            placed = self._at_their_places(column) if by_row else []
            rows += placed
            alone = self.layout.answers.get(PARTS_ALONE) == jobs.REPLACED_ALONE
            read = [(*one.rows, *one.alone) if alone else one.rows for one in said]
            marks = bool(jobs.of_heading(column, tuple(self.kind.cells.columns)) or by_row and jobs.action_of_heading(column)[0])
            kept = [bool(words) and not (marks and jobs.mark(words) is False) for words in every]
            noted = np.array([keep and not its for keep, its in zip(kept, read, strict=True)], dtype=bool)
            lost = np.array([one.unclear or bool(one.alone) and not alone for one in said], dtype=bool)
            for at in np.flatnonzero(np.array([bool(its) for its in read], dtype=bool)[code]):
                rows += [(at, *self._of_linings(job), every[code[at]]) for job in read[code[at]]]
            here = ~np.isin(np.arange(len(code)), [at for at, *_ in placed])
            text, those = self.kind.stripped(column), np.flatnonzero(lost[code] & here)
            self.told.refuse("R77-work-not-clear", column, those.tolist(), text.iloc[those], "kept as a note of the visit")
            unclear = _both(unclear, text.where((noted | lost)[code] & here, ""))
            self.told.seen[column] = {words: _work_read(its) for words, its in zip(every, read, strict=True) if words}
        rows = self._not_refused(rows + self._in_notes())
        for at, axle, side, part, written in self.readings.loc[
            self.readings["event"].astype(bool), ["at", *PLACE, "written"]
        ].itertuples(index=False):
            rows.append((at, axle, side, jobs.part_of_work(part), "replaced", written))
        self.readings = self.readings[~self.readings["event"].astype(bool)]
        return pd.DataFrame(rows, columns=["at", "axle", "side", "part", "action", "note"]), unclear

    def _in_notes(self) -> list[tuple]:
        """Jobs that stand in notes, once a person has said that they are what was done; R74 until then, R77 for what is not clear."""
        answer, out = self.layout.answers.get(WORK_IN_NOTES), []
        for column in self.layout.columns("note") if answer != "no" else ():
            code, _, every = self.kind.coded(column)
            measured = {at for at, (_, found, _) in self.in_texts.get(column, {}).items() if found}
            said: dict[int, tuple[jobs.Row, ...]] = {
                at: jobs.in_note(self._numbered(texts.rest(every[at]) if at in measured else every[at]))
                for at in np.flatnonzero(jobs.may_tell(every))
            }
            if not any(said.values()):
                continue
            for at in np.flatnonzero(np.isin(code, [place for place, its in said.items() if its])):
                text, rows = every[code[at]], [self._of_linings(job) for job in said[code[at]]]
                if answer == "yes":
                    out += [(at, *job, text) for job in rows]
                else:
                    self.told.asked.append((WORK_IN_NOTES, at, column, text, _work_read(rows).value))
            unclear = [
                place
                for place, its in said.items()
                if jobs.names_renewal(every[place]) and (not its or len(its) < len(jobs.work(every[place]).rows))
            ]
            those = np.flatnonzero(np.isin(code, unclear)) if answer == "yes" else ()
            self.told.refuse(
                "R77-work-not-clear",
                column,
                list(those),
                every.iloc[code[those]] if len(those) else (),
                "kept as a note of the visit",
            )
        return out

    def _said_of_work(self, column: str, every) -> list[jobs.Work]:
        """What each text of a column of work says: a mark what its heading says, axles under ``Relined`` that they were, any other its words."""
        by_heading = jobs.Work(jobs.of_heading(column, tuple(self.kind.cells.columns)))
        relined = not by_heading.rows and jobs.done_by_heading(column)
        of_row = bool(self.layout.columns("position", "axle")) and bool(jobs.action_of_heading(column)[0])

        def said(text: str) -> jobs.Work:
            done = jobs.mark(text) if by_heading.rows or of_row else None
            if not text or done is not None:
                return by_heading if text and done else jobs.Work()
            own = jobs.work(self._numbered(text))
            return jobs.work(f"{text} {column} {jobs.LININGS}") if relined and not own.rows else own

        return [said(text) for text in every]

    def _numbered(self, text: str) -> str:
        return jobs.with_numbers(text, tuple(self.layout.answers.get("axles", "").split()))

    def _at_their_places(self, column: str) -> list[tuple]:
        """Jobs of cells that name the action alone, ``Replaced``, or the part too, at the place and on the part that their row's reading names."""
        code, _, every = self.kind.coded(column)
        of_heading, named = jobs.action_of_heading(column)
        action = np.array(
            [jobs.action_alone(text) or of_heading if jobs.mark(text) or jobs.action_alone(text) else "" for text in every],
            dtype=object,
        )
        tyres = any(headings.TYRES & set(headings.tokens(other)) for other in self.kind.cells.columns)
        here = self.readings[every.ne("").to_numpy()[code][self.readings["at"].to_numpy(dtype="int64")]]
        out, read = [], {}
        for at, its in here.groupby("at"):
            text, axles, sides = every[code[at]], its["axle"].unique(), its["side"].unique()
            axle, side = axles[0], sides[0] if len(sides) == 1 else ""
            if not axle or len(axles) > 1:
                continue
            if done := action[code[at]]:
                parts = named or tuple(dict.fromkeys(jobs.part_of_work(part) for part in its["part"] if part))
                of_one = bool(named) or len(parts) == 1 and not tyres and (done != "machined" or parts[0] in ("rotor", "drum"))
                out += [(at, axle, side, part, done, text) for part in parts if of_one]
                continue
            if (axle, text) not in read:
                told = jobs.work(text)
                own = () if told.rows or told.alone else jobs.work(f"{axle if axle.isalpha() else f'axle {axle}'} {text}").rows
                read[axle, text] = (
                    [(*job[:2], *self._of_linings(job)[2:]) for job in own] if {job[0] for job in own} == {axle} else []
                )
            out += [(at, axle, own_side or side, part, done, text) for _, own_side, part, done in read[axle, text]]
        return out

    def _not_refused(self, rows: list[tuple]) -> list[tuple]:
        """The jobs but those of a row of which another column, its file or its sheet says that they were not done: ``Declined``, ``quotes.csv``."""
        if not rows:
            return rows
        refused = self._of_quotes()
        for column in self.kind.cells.columns:
            refused |= self._refused_in(column)
        lost = [row for row in rows if refused[row[0]]]
        if lost:
            column = self.layout.columns("work", "note")[0]
            self.told.refuse("R77-work-not-clear", column, [row[0] for row in lost], [row[-1] for row in lost], REFUSED)
        return [row for row in rows if not refused[row[0]]]

    def _refused_in(self, column: str) -> np.ndarray:
        """Of which rows a column, if it is one of decisions or of marks under one, says that the work was not done, bool, shape (rows,)."""
        code, _, every = self.kind.coded(column)
        role, found = self.layout.roles[column].partition(":")[0], set(headings.tokens(column))
        none = np.zeros(len(code), dtype=bool)
        if len(every) > MOST_DECISIONS or role in ("note", "complaint", *READINGS):
            return none
        marked = [jobs.mark(text) if text else None for text in every]
        if any(one is None and text for one, text in zip(marked, every, strict=True)):
            said = [jobs.decision(text) for text in every]
            decides = role != "work" and all(one or not text for one, text in zip(said, every, strict=True))
            if decides and ("refused" in said or "waiting" in said and found & headings.DECISION):
                return np.array([one in ("refused", "waiting") for one in said], dtype=bool)[code]
        elif found & headings.REFUSED or "not" in found:
            return np.array([one is True for one in marked], dtype=bool)[code]
        elif found & headings.DECISION and role != "work" and True in marked:  # where nobody wrote no, a blank says it
            return np.array([one is False if False in marked else one is None for one in marked], dtype=bool)[code]
        return none

    def _of_quotes(self) -> np.ndarray:
        """Which rows stand in a file or sheet of quotes, plans or refusals, by its name, bool, shape (rows,)."""
        place = self.kind.place[["file", "sheet"]]
        named = {
            text
            for text in pd.unique(place.to_numpy().ravel())
            if headings.OF_QUOTES & set(headings.tokens(text.rpartition(".")[0] or text))
        }
        return place.isin(named).any(axis=1).to_numpy(copy=True)

    def _of_linings(self, job: jobs.Row) -> jobs.Row:
        """A job on ``linings`` as one on shoes where that is what this file measures on the axle, else on pads."""
        axle, side, part, action = job
        if part != jobs.LININGS:
            return job
        measured = self.readings.loc[self.readings["axle"].eq(axle), "part"]
        shoes = bool(len(measured)) and measured.isin(["shoe", "leading_shoe", "trailing_shoe"]).all()
        return axle, side, "shoes" if shoes else "pads", action

    def look_up(self, known: pd.DataFrame) -> None:
        """Vehicle and date of rows that name only their visit, from the sheets that name all three; then why rows are left out."""
        v = self.visits
        if self.layout.one("visit_id") and (not self.layout.names_vehicle or not self.layout.one("date")):
            whole = known[known["number"].ne("") & known["vehicle_id"].ne("") & known["date"].notna()]
            whole = (
                whole.drop_duplicates("number").set_index("number")[["vehicle_id", "date"]].reindex(v["number"]).set_axis(v.index)
            )
            v["vehicle_id"] = v["vehicle_id"].where(v["vehicle_id"].ne(""), whole["vehicle_id"].fillna("")).astype("str")
            v["date"] = v["date"].fillna(whole["date"])
        self.vehicle, self.date = v["vehicle_id"], v["date"]
        vehicle, date = self.layout.names_vehicle, self.layout.one("date")
        no_vehicle = NO_VEHICLE if vehicle or self.layout.one("visit_id") else "which column names the vehicle is not known"
        no_vehicle = no_vehicle if {*self.layout.roles.values()} - {NOT_USED} else "no column of its table is used"
        no_date = NO_DATE if date or self.layout.one("visit_id") else "which column holds the date is not known"
        lists = bool(vehicle) and self.is_log and not self.has_odometer and bool(self.layout.columns(*VEHICLE_TEXTS))
        self.is_list = lists and (
            not date or not v.loc[v["vehicle_id"].ne(""), "vehicle_id"].duplicated().any()
        )  # a day in service
        why = pd.Series("", index=v.index, dtype="str")
        if not self.is_list:
            why = why.mask(v["date"].isna(), no_date)
        why = why.mask(v["vehicle_id"].eq(""), no_vehicle)
        if self.is_log and not self.is_list:
            reason = NO_ODOMETER if self.has_odometer else "which column is the odometer is not known"
            why = why.mask(why.eq("") & v["odometer_km"].isna(), reason)
        of_example = v["vehicle_id"].str.lower().str.strip("*()[]:. ").isin(EXAMPLES)
        why = why.mask(why.eq("") & of_example, "its vehicle's name says that it is an example")
        self.good = why.eq("").to_numpy()
        self.why = pd.Series(why.to_numpy(), index=self.rows, dtype="str")

    def _matters(self, at: pd.Series, column: pd.Series) -> pd.Series:
        """Whether cells are worth a finding: their row is used, or is left out because of this cell."""
        why = self.why.iloc[at].set_axis(at.index)
        of_date, of_odometer = column.eq(self.layout.one("date")), column.eq(self.layout.one("odometer"))
        return why.eq("") | why.eq(NO_DATE) & of_date | why.eq(NO_ODOMETER) & of_odometer

    def rows_again(self) -> np.ndarray:
        """Rows whose every cell is that of another row."""
        if not len(self.gave_again):
            return self.gave_again
        alike = self.kind.cells.drop(columns=[FILE_NAME, SHEET_NAME], errors="ignore").duplicated(keep=False)
        return self.rows[alike.to_numpy()]

    def readings_lost(self) -> np.ndarray:
        """Rows of which a reading was asked about or refused, and so is told in a finding."""
        reads = set(self.layout.columns(*READINGS))
        lost = [at for _, at, column, *_ in self.told.asked if column in reads]
        lost += [at for code, at, column, *_ in self.told.noted if column in reads and code in LEFT_OUT]
        return self.rows[np.unique(np.array(lost, dtype="int64"))]

    def findings(self) -> list[pd.DataFrame]:
        """What the readers said, as findings."""
        table = "odometer_log" if self.is_log else "visits"
        reads = set(self.layout.columns(*READINGS))
        columns = ["code", "at", "column", "value", "reading"]
        noted, asked = (pd.DataFrame(told, columns=columns) for told in (self.told.noted, self.told.asked))
        advice = ("not read before it is answered: " + asked["code"]).where(asked["code"].ne("words"), "")
        frame = pd.concat([noted.assign(advice=""), asked.assign(code="R74-ask", advice=advice)], ignore_index=True)
        if not len(frame):
            return []
        frame = frame[self._matters(frame["at"], frame["column"])]
        frame = frame.assign(
            table=np.where(frame["column"].isin(reads), "measurements", table), row=self.rows[frame["at"].to_numpy(dtype="int64")]
        )
        return [
            findings.make(
                code, table, row=its["row"], column=its["column"], value=its["value"], reading=its["reading"], advice=its["advice"]
            )
            for (code, table), its in frame.groupby(["code", "table"])
        ]  # fmt: skip


NO_AXLE = "which axle is not said"


def _dittos(layout: Layout, told: Told) -> Kind:
    """Ditto signs for the vehicle, day, odometer or visit say what stands above them, in the line right above; else nothing."""
    kind = layout.kind
    columns = (layout.names_vehicle, *map(layout.one, ("date", "odometer", "visit_id")))
    signs = {column: kind.coded(column)[2].str.fullmatch(DITTO).to_numpy() for column in columns if column}
    if not any(sign.any() for sign in signs.values()):
        return kind
    cells, sheet = kind.cells.copy(), _sheets(kind)
    piece = (kind.place["line"].diff().ne(1) | sheet.ne(sheet.shift())).cumsum()
    for column, sign in signs.items():
        text, ditto = kind.stripped(column), sign[kind.coded(column)[0]]
        if ditto.any():
            cells[column] = text.mask(ditto).groupby(piece).ffill().fillna("").astype("str")
            at = int(np.flatnonzero(ditto)[0])
            said = f"a ditto sign: as in the line above; so in {int(ditto.sum())} rows"
            told.noted.append(("R71-assumed", at, column, text[at], said))
    return replace(kind, cells=cells)


def _sheets(kind: Kind) -> pd.Series:
    return kind.place["file"] + "/" + kind.place["sheet"]


def _written_once(layout: Layout, kind: Kind, told: Told) -> Kind:
    """The vehicle, or the day, written over many rows once: each name stands once, and what stands beside the blanks goes with it.

    Below a vehicle's name its odometer never falls; below a day each vehicle stands once.
    """
    who, day, odometer = layout.names_vehicle, layout.one("date"), layout.one("odometer")
    if not who or not day or not odometer:
        return kind
    for column, other in ((who, day), (day, who)):
        text, beside = kind.stripped(column), kind.stripped(other)
        named, blank = text.ne(""), text.eq("") & beside.ne("")
        if (
            column.endswith(ABOVE)
            or blank.sum() < max(named.sum(), 1)
            or text[named].duplicated().any()
            or not named[~_sheets(kind).duplicated()].all()
        ):
            continue
        below = pd.DataFrame({"of": named.cumsum(), "who": beside, "odometer": kind.stripped(odometer)})[beside.ne("")]
        if column == who:
            number = pd.to_numeric(below["odometer"].str.replace(r"\D", "", regex=True), errors="coerce")
            fits = number.notna().all() and number.groupby(below["of"]).is_monotonic_increasing.all()
        else:
            fits = not below.duplicated(["of", "who"]).any()
        if not fits:
            continue
        cells = kind.cells.copy()
        cells[column] = text.mask(blank, text.where(named).ffill()).astype("str")
        at = int(np.flatnonzero(blank)[0])
        said = f"nothing is written: as in the last row above that says it; so in {int(blank.sum())} rows"
        told.noted.append(("R71-assumed", at, column, cells[column][at], said))
        return replace(kind, cells=cells)
    return kind


def _carried_down(layout: Layout, kind: Kind, told: Told) -> Kind:
    """A row a wheel, and the vehicle and day written on the first only: the rows right below it, of other places, are of that visit."""
    where = layout.columns("position", "axle", "side", "part")
    vehicle = layout.names_vehicle
    who = [column for column in (vehicle, *(layout.one(role) for role in ("date", "odometer", "visit_id"))) if column]
    if not where or not vehicle or not layout.one("date") or not layout.columns(*READINGS):
        return kind
    texts = kind.cells[[*who, *where]].apply(lambda cells: cells.str.strip())
    bare = texts[who].eq("").all(axis=1).to_numpy() & texts[where].ne("").any(axis=1).to_numpy()
    if not bare.any():
        return kind
    place, lines = texts[where].agg("|".join, axis=1).str.lower().tolist(), kind.place["line"].to_numpy()
    sheet = (kind.place["file"] + "/" + kind.place["sheet"]).to_numpy()
    whole = texts[[vehicle, layout.one("date")]].ne("").all(axis=1).to_numpy()
    named = list(texts[who].itertuples(index=False, name=None))
    head, seen, carried, of = -1, set(), [], []
    for at in range(len(texts)):
        on = at and lines[at] == lines[at - 1] + 1 and sheet[at] == sheet[at - 1]
        if bare[at] and on and head >= 0 and place[at] not in seen:
            carried.append(at)
            of.append(head)
        elif head < 0 or not on or named[at] != named[head]:
            head, seen = (at if whole[at] and place[at].strip("|") else -1), set()
        seen.add(place[at])
    if not carried:
        return kind
    cells = kind.cells.copy()
    cells.loc[carried, who] = cells.loc[of, who].to_numpy()
    value = cells[who[0]].iloc[carried[0]]
    said = f"no vehicle and day of its own: of the visit above it; so in {len(carried)} rows"
    told.noted.append(("R71-assumed", carried[0], who[0], value, said))
    return replace(kind, cells=cells)


def _work_read(rows) -> Reading:
    """What a line of work was read as, for a person."""
    said = "; ".join(" ".join(filter(None, (axle, side, part.replace("_", " "), action))) for axle, side, part, action in rows)
    return Reading(OK, said) if said else Reading(REFUSE, assumed="kept as a note of the visit")


def _both(first: pd.Series, second: pd.Series) -> pd.Series:
    """Two texts as one."""
    if not second.ne("").any():
        return first
    joined = first + np.where(first.ne("") & second.ne(""), "; ", "") + second
    return joined.astype("str")


def _nothing(rows: int) -> pd.Series:
    """A column of empty texts."""
    return spread(np.zeros(rows, dtype="int64"), [""])


# --- our tables -------------------------------------------------------------------------------------------------------


def _share(shares, table, row, in_row) -> None:
    names = [*RECORD_TABLES]
    named = pd.Categorical.from_codes(np.full(len(row), names.index(table)), names)
    shares.append(pd.DataFrame({"row": np.asarray(row), "table": named, "in_row": np.asarray(in_row)}))


def _visits(parts: list[_Part], found, shares) -> tuple[pd.DataFrame, pd.Series]:
    """One row a visit, and the visit's name by row."""
    v = (
        pd.concat([part.visits[part.good] for part in parts if not part.is_log], ignore_index=True)
        if any(not p.is_log for p in parts)
        else None
    )
    if v is None or not len(v):
        return pd.DataFrame(), pd.Series(dtype="str")
    v["visit_id"] = _named(v)
    v = v.sort_values(["visit_id", "row"], kind="stable", ignore_index=True)
    begins = v["visit_id"].ne(v["visit_id"].shift()).to_numpy()
    visit = np.cumsum(begins) - 1
    row, out = v["row"].to_numpy(), v.loc[begins, ["visit_id", "row", "vehicle_id", "date"]].reset_index(drop=True)
    again = np.zeros(len(v), dtype=bool)
    several = np.flatnonzero(np.bincount(visit)[visit] > 1)
    again[several] = v.iloc[several].duplicated(["visit_id", "odometer_km", *VISIT_TEXTS])
    _share(shares, "visits", row[~again], row[begins][visit[~again]])
    with_odometer = _first_of(visit, v["odometer_km"].notna().to_numpy(), len(out))
    for name in ("odometer_km", "odometer_unit", "odometer_written"):
        out[name] = v[name].array.take(with_odometer, allow_fill=True)
    written = v["odometer_written"].array.take(
        _first_of(visit, v["odometer_written"].ne("").to_numpy(), len(out)), allow_fill=True
    )
    out["odometer_written"] = out["odometer_written"].fillna(pd.Series(written)).fillna("")
    for name in VISIT_TEXTS:
        out[name] = _said_in(visit, v[name], len(out))
    _gave_again(parts, row[again])
    if not any(part.has_odometer for part in parts if not part.is_log):
        found.append(findings.make("R70-column-missing", "visits", column="odometer"))
    return out, v.set_index("row")["visit_id"]


def _first_of(visit: np.ndarray, where: np.ndarray, visits: int) -> np.ndarray:
    """Place of each visit's first row for which ``where`` holds; -1 where there is none. Shape (visits,)."""
    place, those = np.full(visits, -1), np.flatnonzero(where)[::-1]
    place[visit[those]] = those
    return place


def _said_in(visit: np.ndarray, text: pd.Series, visits: int) -> np.ndarray:
    """What each visit's rows say, each text once, shape (visits,)."""
    out = np.full(visits, "", dtype=object)
    said = pd.DataFrame({"visit": visit, "text": text})[text.ne("").to_numpy()].drop_duplicates()
    several = said["visit"].duplicated(keep=False).to_numpy()
    out[said["visit"][~several]] = said["text"][~several]
    joined = said[several].groupby("visit")["text"].agg("; ".join)
    out[joined.index] = joined
    return pd.array(out, dtype="str")


def _gave_again(parts: list[_Part], rows: np.ndarray) -> None:
    """Remember the rows that said what another row had said."""
    for part in parts:
        part.gave_again = np.append(part.gave_again, rows[np.isin(rows, part.rows)])


def _named(v: pd.DataFrame) -> pd.Series:
    """The visit of each row: its own number where that stands for one vehicle and day, else vehicle, day and odometer.

    A row without an odometer belongs to the visit of its vehicle and day, where there is only one.
    """
    code, days = pd.factorize(v["date"])
    day = v["vehicle_id"] + " " + spread(code, days.strftime("%Y-%m-%d"))
    code, km = pd.factorize(v["odometer_km"].round())
    known = spread(code, [*(str(int(one)) for one in km), ""])  # no odometer is place -1
    nameless = known.eq("")
    if nameless.any():
        said = pd.DataFrame({"day": day, "known": known})[~nameless].drop_duplicates()
        only = said.drop_duplicates("day", keep=False).set_index("day")["known"]
        known = known.mask(nameless, day.map(only).astype("str").fillna(""))
    made = (day + " " + known).str.strip()
    numbered = v["number"].ne("")
    if not numbered.any():
        return made
    several = day[numbered].groupby(v["number"][numbered]).transform("nunique").gt(1).reindex(v.index, fill_value=True)
    return v["number"].mask(several, made)


def _vehicles(parts: list[_Part], found, shares) -> pd.DataFrame:
    """One row a vehicle named anywhere, with the text most often written about it; R72: several VINs under one name."""
    frames = []
    for part in parts:
        frame = pd.DataFrame({"row": part.rows, "vehicle_id": part.vehicle, **{name: part._text(name) for name in VEHICLE_TEXTS}})
        frames.append(frame[part.good].assign(listed=part.is_list))
    v = pd.concat(frames, ignore_index=True)
    if not len(v):
        return pd.DataFrame()
    out = v.drop_duplicates("vehicle_id")[["row", "vehicle_id"]].reset_index(drop=True)
    for name in VEHICLE_TEXTS:
        said = v[v[name].ne("")].groupby(["vehicle_id", name], sort=False).size().reset_index(name="times")
        said = (
            said.sort_values("times", ascending=False, kind="stable").drop_duplicates("vehicle_id").set_index("vehicle_id")[name]
        )
        out[name] = said.reindex(out["vehicle_id"]).fillna("").to_numpy()
    found.append(_several_vins(v))
    listed = v[v["listed"]]
    _share(shares, "vehicles", listed["row"], listed["vehicle_id"].map(out.set_index("vehicle_id")["row"]))
    return out


def _several_vins(v: pd.DataFrame) -> pd.DataFrame:
    """R72: names of vehicles under which several VINs are written, on the first row of the second; the end of one is no other."""
    written = v[v["vin"].ne("")].drop_duplicates(["vehicle_id", "vin"])
    written = written.assign(number=vins.normalised(written["vin"])).drop_duplicates(["vehicle_id", "number"])
    said = []
    for vehicle, its in written[written["vehicle_id"].duplicated(keep=False)].groupby("vehicle_id", sort=False):
        ends = [sum(other.endswith(number) for other in its["number"]) > 1 for number in its["number"]]
        others = its[~np.array(ends)]
        if len(others) > 1:
            said.append(
                (
                    others["row"].iloc[1],
                    vehicle,
                    others["vin"].iloc[1],
                    "one vehicle with several VINs: " + ", ".join(others["vin"]),
                )
            )
    frame = pd.DataFrame(said, columns=["row", "vehicle_id", "value", "reading"])
    return findings.make(
        "R72-read-with-doubt", "vehicles", column="vin", **{name: its.to_numpy() for name, its in frame.items()},
        advice="if they are several vehicles, give each a name of its own, or let the VIN name the vehicle in records.toml; else correct the VIN",
    )  # fmt: skip


def _once(frame: pd.DataFrame, key: list[str], parts, table: str, found, shares, trail) -> pd.DataFrame:
    """R79: the same thing from two rows; the first counts. Equal readings within a row are several readings."""
    if not codes.again(frame, key).any():
        _share(shares, table, *[frame["row"].unique()] * 2)
        return frame
    in_the_row = codes.again(frame, ["row", *key])
    nth = codes.plain(frame[["row", *key]]).groupby(["row", *key], dropna=False).cumcount() if in_the_row.any() else 0
    frame = frame.assign(nth=nth)
    again = codes.again(frame, [*key, "nth"])
    row = frame["row"].to_numpy()
    _share(shares, table, *[pd.unique(row[~again])] * 2)
    _gave_again(parts, row[again])
    if again.any():
        named = frame[key[0]]
        like_them = ~again & named.isin(named[again].unique()).to_numpy()
        rows, first = (codes.plain(frame.loc[those, [*key, "nth", "row"]]) for those in (again, like_them))
        rows = rows.merge(first.rename(columns={"row": "first_row"}), on=[*key, "nth"], how="left").drop_duplicates("row")
        first_at = trail.set_index("row").loc[rows["first_row"]]
        said = (
            "first in "
            + first_at["file"]
            + np.where(first_at["sheet"].ne(""), ", sheet " + first_at["sheet"], "")
            + ", line "
            + first_at["line"].astype("str")
        )
        found.append(findings.make("R79-same-again", table, row=rows["row"], reading=said.to_numpy()))
    return codes.rows(frame.drop(columns="nth"), np.flatnonzero(~again))


def _measurements(parts, of_row, found, shares, trail) -> pd.DataFrame:
    frames = []
    for part in parts:
        frame = part.readings[part.good[part.readings["at"].to_numpy(dtype="int64")]]
        frames.append(frame.assign(row=part.rows[frame["at"].to_numpy(dtype="int64")]))
        part.readings = part.readings.iloc[:0]  # they are many
    m = pd.concat(frames, ignore_index=True)
    if not len(m):
        return pd.DataFrame()
    visit, ids = pd.factorize(of_row)
    m["visit_id"] = codes.from_places(visit[of_row.index.get_indexer(m["row"])], pd.Series(ids), each_once=True)
    for name in (*PLACE, "measure", "taken", "unit"):
        place, texts = pd.factorize(m[name])
        m[name] = codes.from_places(place, pd.Series(texts), each_once=True)
    m["factor"] = np.array([THICKNESS_MM[unit] for unit in m["unit"].cat.categories])[m["unit"].cat.codes]
    for name in ("value", "low", "high"):
        m[name] = m[name].astype("float64")
        m[f"{name}_key"] = (m[name] * m["factor"]).round(4)
    key = ["visit_id", *PLACE, "measure", "taken", "value_key", "low_key", "high_key"]
    return _once(m.rename(columns={"written": "value_written"}), key, parts, "measurements", found, shares, trail)


def _work(parts, of_row, found, shares, trail) -> pd.DataFrame:
    frames = []
    for part in parts:
        w = part.jobs[part.good[part.jobs["at"].to_numpy(dtype="int64")]]
        at = w["at"].to_numpy(dtype="int64")
        frames.append(
            w.assign(
                row=part.rows[at],
                product_line=part._text("product_line").to_numpy()[at],
                cost_written=part._text("cost").to_numpy()[at],
            )
        )
    w = pd.concat(frames, ignore_index=True)
    if not len(w):
        return pd.DataFrame()
    w["visit_id"] = w["row"].map(of_row)
    first = ~w.duplicated("row")
    w["cost_written"] = w["cost_written"].where(first, "")
    w["cost"] = pd.to_numeric(w["cost_written"].str.replace(",", ".", regex=False), errors="coerce")
    return _once(w, ["visit_id", "axle", "side", "part", "action"], parts, "work", found, shares, trail)


def _log(parts, found, shares, trail) -> pd.DataFrame:
    frames = [part.visits[part.good] for part in parts if part.is_log and not part.is_list]
    log = pd.concat(frames, ignore_index=True) if frames else pd.DataFrame()
    return _once(log, ["vehicle_id", "date", "odometer_km"], parts, "odometer_log", found, shares, trail) if len(log) else log


def _as_typed(name: str, frame: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """A table in the columns and kinds that `records.read` gives, and every row usable."""
    empty = empty_table(name, settings)
    if not len(frame):
        return empty
    frame = frame.reset_index(drop=True)
    if "odometer_km" in frame:
        frame["odometer_unit"] = frame["odometer_unit"].where(
            frame["odometer_unit"].isin(list(DISTANCE_KM)), settings.distance_unit
        )
        frame["factor"] = frame["odometer_unit"].map(DISTANCE_KM).astype("float64")
        frame["odometer"] = (frame["odometer_km"] / frame["factor"]).round(1)
    elif name == "vehicles":
        frame["odometer_unit"], frame["factor"] = settings.distance_unit, DISTANCE_KM[settings.distance_unit]
    out, repeated = {}, ("value_written",) if name == "measurements" else ("vehicle_id",) if "odometer_km" in frame else ()
    for column, dtype in empty.dtypes.items():
        if column in frame:
            cells = codes.of_texts(frame[column]) if column in repeated else frame[column]
            out[column] = cells if codes.coded(cells) else (cells.fillna("") if dtype == "str" else cells).astype(dtype)
        else:
            missing = pd.Series([True if column == "usable" else "" if dtype == "str" else None], dtype=object).astype(dtype)
            out[column] = missing.array.take(np.zeros(len(frame), dtype="int64"))
    extra = {"written_in": codes.of_texts(frame["column"].astype("str"))} if name == "measurements" else {}
    return pd.DataFrame({**out, **extra}, index=frame.index)


def _row_findings(outcome: pd.Series, trail: pd.DataFrame) -> list[pd.DataFrame]:
    """R78 for lines that are no records (one finding a reason and sheet, totals each), R76 for records that were left out."""
    place = trail.set_index("row")
    out = []
    no_record = outcome.isin(NO_RECORD) & outcome.ne("the header")
    rows = pd.DataFrame({"row": outcome.index[no_record], "why": outcome[no_record].to_numpy()})
    if len(rows):
        rows = rows.join(place[["file", "sheet"]], on="row")
        some = rows.groupby(["file", "sheet", "why"], sort=False).agg(row=("row", "first"), lines=("row", "size")).reset_index()
        said = some["why"] + np.where(some["lines"] > 1, ", " + some["lines"].astype("str") + " lines", "")
        out.append(findings.make("R78-no-record", "file", row=some["row"], reading=said))
    lost = outcome.ne("") & ~outcome.isin((*NO_RECORD, AGAIN, AGAIN_IN_USED, READINGS_LOST))
    if lost.any():
        out.append(
            findings.make("R76-row-left-out", "file", row=outcome.index[lost].to_numpy(), reading=outcome[lost].to_numpy())
        )
    return out


NO_RECORD = (A_TITLE, "the header", "blank", HEADER_AGAIN, "totals", "a ruled line", A_NOTE)
"""Why a line of a sheet is no record."""
