"""Foreign files read once, and then by themselves: what each column is, what must be asked, what comes of it.

>>> from brakedata import mapping
>>> proposal = mapping.propose("checks.csv")            # reads, guesses; writes nothing
>>> proposal.columns[["column", "role", "evidence"]]    # what each column is taken for, and why
>>> [question.text for question in proposal.questions]  # what a person must say once
>>> proposal.answer("thickness_unit.1", "32nds")
>>> proposal.save()                                     # records.toml beside the records: next month nothing is asked

`checks.load` reads the same files with the answers kept there.
"""

from pathlib import Path

import pandas as pd

from brakedata import codes, guards, headings, layouts, records
from brakedata.cells.reading import Reading
from brakedata.findings import RecordsError
from brakedata.headings import READINGS, ROLES
from brakedata.mapping import questions as asking
from brakedata.mapping import saved, years
from brakedata.mapping.build import NO_RECORD, VEHICLE_TEXTS, Built, Layout, build
from brakedata.mapping.guess import EMPTY, NOT_BRAKES, NOT_USED, NOTHING_TO_ASK, Guess, guesses, in_turn, of_an_axle, parsed
from brakedata.mapping.kinds import FILE_NAME, SHEET_NAME, Kind, kinds_of
from brakedata.mapping.questions import Question
from brakedata.mapping.reading import WHEELS
from brakedata.records import SHOP, read_settings, shop_value
from brakedata.settings_file import SETTINGS_FILE

__all__ = ["Proposal", "Question", "foreign", "propose"]

LEAST_TABLE = 2
"""Rows that a table of which nothing is known must have to be asked about; less is a slip of the finger or another kind of file."""


def foreign(path) -> bool:
    """Whether a folder or file holds none of our own tables, and files that may be a shop's own."""
    source = guards.place(path)
    files = layouts.readable(source) if source.is_dir() else [source] if source.is_file() else []
    needed = [file for file in files if file.stem.lower() != "limits"]
    return bool(needed) and not any(map(_is_ours, needed))


def _is_ours(file: Path) -> bool:
    try:
        return records.is_ours(file)
    except (RecordsError, OSError):
        return False


def stopped(proposal: "Proposal") -> str:
    """Why nothing can be forecast of these files as they are understood now, in one sentence; empty where something can."""
    name, question = proposal.source.name, proposal.vital
    if question:
        lines = ", ".join(line.replace("   # or ", " or ") for line in question.line.split("\n"))
        return (
            f"{name}: {question.text} Nothing can be said before this is answered: write into {SETTINGS_FILE} beside the records, "
            f"each on a line of its own: {lines}; brakedata check lists every question."
        )
    if any(len(proposal.built.tables[table]) for table in ("visits", "odometer_log", "vehicles")):
        return ""
    return (
        f"{name}: no row of it could be used: brakedata check says what each column was taken for; name them in {SETTINGS_FILE}."
    )


def propose(path) -> "Proposal":
    """Read a foreign file or folder, with what ``records.toml`` knows about it, and guess the rest.

    Raises
    ------
    RecordsError
        Nothing there can be read, or it holds no table.
    """
    return Proposal(guards.place(path))


def as_written(path) -> dict[str, pd.DataFrame]:
    """Every sheet of a shop's own files by its name, each cell as it stands there, with ``row``, the line it stands on."""
    sheets, _ = layouts.read(guards.place(path), _is_ours)
    parts: dict[str, list[pd.DataFrame]] = {}
    for sheet in sheets:
        parts.setdefault(sheet.name, []).append(sheet.cells.assign(row=sheet.line))
    return {name: its[0] if len(its) == 1 else pd.concat(its, ignore_index=True).fillna("") for name, its in parts.items()}


class Proposal:
    """What a foreign file is taken for, and what is asked about it; nothing is written before `save`.

    Attributes
    ----------
    source : Path
    roles : list of (role, words)
        What a column can be.
    columns : DataFrame
        A row a column: ``layout, column, role, sure, evidence, samples, read_as, source`` (saved, guessed or answered).
    questions : list of Question
        Still open, the weightiest first.
    built : Built
        Our tables as they come of it now.
    """

    roles = [*((role, words) for role, words in ROLES.items() if role not in READINGS)] + [
        (
            f"thickness: {axle} {side} {part}".replace("  ", " "),
            f"thickness, {axle} {side} {part.replace('_', ' ')}".replace("  ", " "),
        )
        for axle in ("front", "rear")
        for side in ("left", "right", "")
        for part in ("inner_pad", "outer_pad", "pad", "shoe", "rotor")
    ]

    def __init__(self, source: Path):
        self.source = source
        self.folder = source if source.is_dir() else source.parent
        self.settings, self.found = read_settings(self.folder)
        sheets, found = layouts.read(source, _is_ours)
        self.found += [*saved.misread(self.settings), *found]
        if not sheets:
            reasons = [str(advice) for part in found for advice in part.loc[part["code"].eq("R17-not-read"), "advice"]]
            raise RecordsError(
                reasons[0]
                if len(reasons) == 1
                else f"{source.name} holds no table: give the folder or file that holds the records."
            )
        self.limits, more = records.limits_beside(self.folder, self.settings)
        self.found += more
        self.kinds = kinds_of(sheets)
        self._shop: dict = {}
        self._answers: dict[int, dict] = {kind.number: {} for kind in self.kinds}
        self._said: dict[int, dict[str, str]] = {kind.number: {} for kind in self.kinds}
        self._work_out()

    # --- answers

    def answer(self, key: str, value) -> None:
        """Answer a question, or say what a column is (``columns.<layout>.<heading>``, a role); in memory until `save`.

        Raises
        ------
        RecordsError
            No such question, or an answer that cannot be.
        """
        name, _, rest = key.partition(".")
        number, _, column = rest.partition(".")
        layout = self._layouts.get(int(number)) if number.isdigit() else None
        if name in SHOP and not rest:
            self._shop[name] = self._fitting(key, shop_value(name, value), value)
        elif layout is None:
            raise RecordsError(f"{key} is no question about {self.source.name}: answer one of those that are listed.")
        elif name == "year":
            year = self._fitting(key, saved.layout_value(name, value), value)
            files = [column] if column else years.unsaid(layout.kind, layout.days, layout.answers)
            self._answers[int(number)]["years"] = layout.answers.get("years", {}) | dict.fromkeys(files, year)
            since = layout.answers.get("years_from", {})
            self._answers[int(number)]["years_from"] = {file: day for file, day in since.items() if file not in files}
        elif name in saved.OF_A_LAYOUT:
            self._answers[int(number)][name] = self._fitting(key, saved.layout_value(name, value), value)
        elif name == "renamed":
            kept = self._renamed[int(number)]
            self._said[int(number)] |= {one: role if value == "yes" else NOT_USED for one, role in kept.items()}
        elif name == "unplaced":
            these = layout.unplaced
            self._said[int(number)] |= dict.fromkeys(these, NOT_USED) | self._fitting(
                key, self._the_reading(layout, these, value), value
            )
        elif name == "work":
            these = [column for column, guess in self._guesses[int(number)].items() if guess.rival == "work"]
            self._said[int(number)] |= dict.fromkeys(these, NOT_USED)
            if value != NOT_USED:
                self._say(layout, value if value in these else self._fitting(key, None, value), "work")
        elif name in ("vehicle_id", "date") and value == NOT_USED:  # a list of vehicles or prices
            kept = (name != "vehicle_id") * ("vehicle_id", *VEHICLE_TEXTS)
            self._said[int(number)] |= {column: role if role in kept else NOT_USED for column, role in layout.roles.items()}
        elif name in ("vehicle_id", "date", "odometer"):
            self._say(layout, value, name)
        elif name == "order":
            self._say(layout, column, f"{layout.roles[column].partition(';')[0]}; in order: {value}")
        elif name == "columns":
            self._say(layout, column, value)
        else:
            raise RecordsError(f"{key} is no question about {self.source.name}: answer one of those that are listed.")
        self._work_out()

    @staticmethod
    def _the_reading(layout: Layout, these: list[str], value) -> dict[str, str] | None:
        """What the answer about columns without a place says: none of them, all on one axle, or which one is the reading of each row."""
        if value in ("front", "rear"):
            return of_an_axle(layout.kind, these, value) or None
        if value in dict(asking.IN_ORDER) and len(these) == len(WHEELS):
            places = [(*WHEELS[wheel], headings.part_named(column)) for wheel, column in zip(value.split(), these, strict=True)]
            return {column: f"thickness: {' '.join(filter(None, place))}" for column, place in zip(these, places, strict=True)}
        if value in asking.TWO_WORDS:
            return in_turn(layout.kind, these, value) or None
        if value in these and layout.columns("position", "axle"):
            after = " after" if headings.taken(value) == "after" else ""
            return {value: f"thickness:{after}".rstrip(":") if layout.columns("part") else f"thickness: pad{after}"}
        return {} if value == NOT_USED else None

    def _fitting(self, key, fits, value):
        if fits is None:
            raise RecordsError(f"“{value}” cannot be the answer to {key}: choose one of those that are listed.")
        return fits

    def _say(self, layout: Layout, column: str, role: str) -> None:
        if column not in layout.roles or parsed(role) is None:
            raise RecordsError(
                f"“{column}” as “{role}” cannot be: name a column of {self.source.name} and one of the listed roles."
            )
        self._said[layout.kind.number][column] = role

    # --- what comes of it

    def _work_out(self) -> None:
        """Guess, read and build anew with the answers so far."""
        shop = self._shop_now()
        self._layouts: dict[int, Layout] = {}
        self._renamed: dict[int, dict[str, str]] = {}
        self._guesses: dict[int, dict[str, Guess]] = {}
        self._saved: dict[int, dict[str, str]] = {}
        new: dict[int, dict[str, str]] = {}
        for kind in self.kinds:
            self._layouts[kind.number], new[kind.number] = self._layout(kind, shop)
        self.built: Built = build(list(self._layouts.values()), shop, self.settings, self.limits)
        codes.give_back()
        self.questions: list[Question] = []
        for (number, layout), told in zip(self._layouts.items(), self.built.told, strict=True):
            if len(self.kinds) > 1 and _is_a_note(layout.kind):
                continue
            own = asking.of_layout(layout, self._guesses[number], told, new[number], self._renamed[number])
            self.questions += [question for question in own if question.key not in {one.key for one in self.questions}]
        if not self.questions and not any(len(self.built.tables[table]) for table in ("visits", "odometer_log", "vehicles")):
            number, layout = max(self._layouts.items(), key=lambda pair: len(pair[1].kind.cells))
            if len(layout.kind.cells) >= LEAST_TABLE:
                self.questions = asking.of_unknown(layout, self._guesses[number])
        self.questions.sort(key=lambda question: not question.vital)

    def _shop_now(self) -> dict:
        """What the shop said before and now; its words are added to the earlier ones."""
        words = {**self.settings.shop.get("words", {}), **self._shop.get("words", {})}
        return {**self.settings.shop, **self._shop, **({"words": words} if words else {})}

    def _layout(self, kind: Kind, shop: dict) -> tuple[Layout, dict[str, str]]:
        known, answers, confirmed = saved.known(kind, self.settings)
        for name in ("thickness", "distance"):
            if name in self.settings.units_said:
                answers.setdefault(f"{name}_unit", getattr(self.settings, f"{name}_unit"))
        answers |= self._answers[kind.number]
        guess = guesses(kind, {**shop, **answers, **{key: answers.get(key, "").split() for key in ("axles", "wheels")}})
        said = {**known, **self._said[kind.number]}
        fresh = (
            [column for column in guess if column not in said and guess[column].evidence not in NOTHING_TO_ASK]
            if confirmed
            else []
        )
        renamed = self._look_renamed(kind, fresh)
        new = {column: guess[column].role for column in fresh if column not in renamed}
        roles = {column: said.get(column, guess[column].role) for column in guess}
        waiting = {column: "new" for column in fresh}
        for column, one in guess.items():
            if one.question and column not in said and column not in waiting:
                waiting[column] = one.question
        if answers.get("part") == NOT_BRAKES:
            roles = {
                column: NOT_USED if role.partition(":")[0] in READINGS and not parsed(role).part else role
                for column, role in roles.items()
            }
        roles |= {column: NOT_USED for column in waiting if waiting[column] == "new"}
        self._renamed[kind.number], self._guesses[kind.number], self._saved[kind.number] = renamed, guess, known
        return Layout(kind, roles, answers, waiting, frozenset(said)), new

    def _look_renamed(self, kind: Kind, fresh: list[str]) -> dict[str, str]:
        """New columns whose heading, without its unit, is that of a column that is gone; with its role."""
        known = (saved.layout_of(kind, self.settings) or {"columns": {}})["columns"]
        here = set(kind.cells.columns)
        gone = {headings.stem(column): role for column, role in known.items() if column not in here and role != NOT_USED}
        return {
            column: gone[headings.stem(column)]
            for column in fresh
            if headings.stem(column) in gone and parsed(gone[headings.stem(column)])
        }

    @property
    def sheets(self) -> pd.DataFrame:
        """``file, sheet, rows, header_line, layout`` (known, known in part, new) of every sheet."""
        out = []
        for kind in self.kinds:
            known = set(self._saved[kind.number])
            state = "known" if set(kind.cells.columns) <= known else "known in part" if known else "new"
            out += [(s.file, s.sheet, len(s.cells), s.header_line, state) for s in kind.sheets]
        return pd.DataFrame(out, columns=["file", "sheet", "rows", "header_line", "layout"])

    @property
    def columns(self) -> pd.DataFrame:
        """What each column is taken for, and why."""
        out = []
        for (number, layout), told in zip(self._layouts.items(), self.built.told, strict=True):
            for column, role in layout.roles.items():
                guess, samples = self._guesses[number][column], layout.kind.samples(column)
                source = "answered" if column in self._said[number] else "saved" if column in self._saved[number] else "guessed"
                why = guess.evidence if source == "guessed" else f"as {source}"
                read = told.seen.get(column, {})
                seen = {text.strip(): reading for text, reading in read.items()}
                whole = told.stands_for.get(column, {})
                seen = {text: seen[day] for text, day in whole.items() if day in seen} | seen
                read_as = [_in_words(seen.get(text), role) for text in samples] if read else samples if role != NOT_USED else []
                sure = source != "guessed" or guess.sure
                out.append((number, column, role, sure, why, samples, read_as, source))
        return pd.DataFrame(out, columns=["layout", "column", "role", "sure", "evidence", "samples", "read_as", "source"])

    def ledger(self) -> pd.DataFrame:
        """Every line of every sheet by what came of it: ``file, sheet, outcome, why, rows``."""
        trail = self.built.trail
        why = trail["row"].map(self.built.outcome).fillna("")
        return records.account(trail[["file", "sheet"]].assign(why=why.astype("str"), rows=1))

    def first_rows(self, n: int = 20) -> pd.DataFrame:
        """What the first ``n`` records load as: ``file, sheet, line, loads_as, left_out``."""
        why = self.built.outcome
        rows = self.built.trail[~self.built.trail["row"].map(why).isin(NO_RECORD)].head(n)
        shares = self.built.shares[self.built.shares["row"].isin(rows["row"])]
        said = {row: _told(its, self.built.tables) for row, its in shares.groupby("row")}
        out = rows[["file", "sheet", "line"]].assign(
            loads_as=rows["row"].map(said).astype("object").fillna(""), left_out=rows["row"].map(why).fillna("")
        )
        return out.reset_index(drop=True)

    @property
    def vital(self) -> Question | None:
        """The first question without whose answer nothing can be forecast; None where there is none."""
        return next((question for question in self.questions if question.vital), None)

    def save(self) -> Path:
        """Write what was guessed and answered to ``records.toml`` beside the records; every column counts as looked at."""
        kept = []
        for number, layout in self._layouts.items():
            own = {
                key: layout.answers[key]
                for key in saved.OF_A_LAYOUT
                if layout.answers.get(key) and self._of_this_kind(number, key)
            }
            if since := years.first_days(layout.kind, layout.days, layout.answers):
                before = layout.answers.get("years_from", {})
                same = {file: day for file, day in before.items() if file in since and day[:4] == since[file][:4]}
                own["years_from"] = before | {file: min(day, same.get(file, day)) for file, day in since.items()}
            guess, said = self._guesses[number], self._said[number]
            waits = set() if set(layout.columns(*READINGS)) - set(layout.unplaced) else set(layout.unplaced)
            open_yet = {column for column, one in guess.items() if one.evidence == EMPTY or column in waits} - set(said)
            roles = {
                column: role
                for column, role in layout.roles.items()
                if layout.waiting.get(column) is None and column not in open_yet
            }
            kept.append({"name": layout.kind.sheets[0].file, "confirmed": True, **own, "columns": roles})
        file = saved.write(self.folder, {key: self._shop_now()[key] for key in self._shop}, kept)
        self.settings, _ = read_settings(self.folder)
        self._work_out()
        return file

    def _of_this_kind(self, number: int, key: str) -> bool:
        """Whether an answer was given for this kind of file, and not for the whole folder."""
        known = saved.known(self._layouts[number].kind, self.settings)[1]
        return key in self._answers[number] or key in known


def _is_a_note(kind: Kind) -> bool:
    """Whether a sheet beside others is a few lines of text and no table: ``READ ME``."""
    columns = [column for column in kind.cells.columns if column not in (SHEET_NAME, FILE_NAME)]
    return len(columns) == 1 and not any(sheet.header_line for sheet in kind.sheets) and kind.holds(columns[0]).number == 0


def _in_words(reading: Reading | None, role: str) -> str:
    """What a sample was read as, for a person."""
    if reading is None:
        return ""
    if not reading.taken and role == "work":
        return reading.assumed
    if not reading.taken:
        return {"ask": "asked: ", "refuse": "no reading: "}.get(reading.status, "not believed: ") + reading.assumed
    value = reading.value
    if isinstance(value, float | int):
        text = f"{value:,.0f} km" if role == "odometer" else f"{value:.2f} mm"
    elif isinstance(value, dict):
        text = ", ".join(f"{key} {one}" for key, one in value.items() if one is not None)
    else:
        text = str(value)
    return f"{text} ({reading.assumed})" if reading.assumed else text


def _told(shares: pd.DataFrame, tables) -> str:
    """What one row gave to our tables, in a sentence."""
    parts = []
    for table, its in shares.groupby("table", sort=False):
        frame = tables[table]
        for _, row in frame[frame["row"].isin(its["in_row"])].iterrows():
            parts.append(_SAID[table](row))
    return "; ".join(parts)


def _visit_said(row) -> str:
    odometer = f", {row['odometer']:,.0f} {row['odometer_unit']}" if pd.notna(row["odometer"]) else ""
    texts = [f"{name}: {row[name][:60]}" for name in ("reason", "complaint", "technician", "note") if row.get(name)]
    return "; ".join([f"{row['vehicle_id']}, {row['date']:%Y-%m-%d}{odometer}", *texts])


def _reading_said(row) -> str:
    number = f"{row['value']:g}" if pd.notna(row["value"]) else " to ".join(
        f"{sign} {row[name]:g}" for name, sign in (("low", "at least"), ("high", "at most")) if pd.notna(row[name])
    )  # fmt: skip
    place = " ".join(word for word in (row["axle"], row["side"], row["part"].replace("_", " ")) if word)
    return f"{place} {number} {row['unit']}" + (" after the work" if row["taken"] == "after" else "")


_SAID = {
    "visits": _visit_said,
    "odometer_log": _visit_said,
    "measurements": _reading_said,
    "work": lambda row: " ".join(word for word in (row["axle"], row["side"], row["part"], row["action"]) if word),
    "vehicles": lambda row: f"vehicle {row['vehicle_id']}",
}
