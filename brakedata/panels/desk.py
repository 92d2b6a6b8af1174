"""Records and schedules opened in this session, kept so that every panel of a notebook shares them.

What is kept is known by the files' names, sizes and times: a file saved anew is read anew.
"""

import os
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

import brakedata
from brakedata import comebacks, guards, handback, mapping, places, schedule, tables, track_record, vins, who_is_who
from brakedata.comebacks import Comebacks, Windows
from brakedata.findings import RecordsError, join
from brakedata.records import Records
from brakedata.schedule import Schedule
from brakedata.settings_file import SETTINGS_FILE
from brakedata.track_record import TrackRecord

KEPT = 6
_kept: dict[tuple, object] = {}


def first_folder() -> str:
    """The records to open first: those ``brakedata lab`` was started on, else the demo records."""
    return os.environ.get("BRAKEDATA_RECORDS") or str(places.demo_records())


def open_records(folder: str, say) -> Records:
    """The checked records of a folder or workbook.

    Parameters
    ----------
    folder : str
        As a person writes it: blanks and quotation marks around it do not matter.
    say : callable
        Called with a short text before each step.
    """
    source = path_of(folder)
    return _keep(("records", *_state(source)), lambda: _load(source, say))


def _load(source: Path, say) -> Records:
    try:
        return brakedata.load(source, say)
    except RecordsError:
        question = mapping.propose(source).vital if mapping.foreign(source) else None
        if question is None:
            raise
        raise RecordsError(
            f"{source.name}: {question.text} Open the notebook 01_records and answer it there, under “Your own tables”."
        ) from None


def open_schedule(folder: str, as_of, say) -> Schedule:
    """The schedule of a folder or workbook at the as-of date; None takes the newest date."""
    records = open_records(folder, say)
    key = ("schedule", *_state(path_of(folder)), str(as_of))
    return _keep(key, lambda: schedule.make(records, as_of, say))


def open_track_record(folder: str, made: Schedule, months_back, most_vehicles, say) -> TrackRecord:
    """What the kit would have said of a schedule's records on past dates, beside what came; as ``track_record.walk``."""
    key = ("track record", *_state(path_of(folder)), str(made.as_of), months_back, most_vehicles)
    return _keep(key, lambda: track_record.walk(made, months_back, most_vehicles, say))


def open_quick_record(folder: str, made: Schedule) -> TrackRecord:
    """The track record that goes with a schedule; as ``track_record.quick``."""
    return _keep(("quick record", *_state(path_of(folder)), str(made.as_of)), lambda: track_record.quick(made))


@dataclass(frozen=True)
class Followed:
    """The records of a shop and the comebacks found in them."""

    records: Records
    found: Comebacks

    @property
    def as_of(self) -> pd.Timestamp:
        """The day up to which anything is used."""
        return self.found.as_of


def open_comebacks(folder: str, as_of, windows: Windows, say) -> Followed:
    """The comebacks of a folder or workbook at the as-of date; None takes the newest date."""
    records = open_records(folder, say)
    say("linking complaints to jobs")
    key = ("comebacks", *_state(path_of(folder)), str(as_of), windows)
    return _keep(key, lambda: follow(records, as_of, windows))


def follow(records: Records, as_of, windows: Windows) -> Followed:
    """The comebacks of records already open, with the answers as they now stand beside them."""
    return Followed(records, comebacks.find(records, as_of, windows))


@dataclass(frozen=True)
class Judged:
    """What is wrong with a records folder: every finding, the changes and the mix-ups that await an answer, and why no schedule
    can be made of it (empty where one can)."""

    records: Records
    findings: pd.DataFrame
    proposals: pd.DataFrame
    who: pd.DataFrame
    problem: str


def judge(folder: str, say) -> Judged:
    """Everything that was noticed about a folder; of one that no schedule can be made of, what was noticed on reading it."""
    records = open_records(folder, say)
    try:
        made, problem = open_schedule(folder, None, say), ""
        found, lives, proposals = made.findings, made.lives, made.lives.proposals
    except RecordsError as refused:
        found, lives, problem = records.findings, None, str(refused)
        proposals = pd.DataFrame(columns=["visit_id", "vehicle_id", "axle", "side", "answer"])
    say("comparing visits, vehicles and odometers")
    who = who_is_who.propose(records, lives)
    return Judged(records, join([found, who_is_who.proposed(who)]), proposals, who, problem)


def path_of(folder: str) -> Path:
    """The path a person wrote."""
    text = folder.strip().strip("\"'").strip()
    if not text:
        raise RecordsError("no records folder is named: write the folder or workbook that holds the records, then press Load.")
    return guards.place(text)


def save(frame, records: Records, name: str, about: tuple = ()) -> Path:
    """Write a table into the folder ``out`` beside the records, VINs hidden where ``records.toml`` says so; the file, absolute.

    ``about``: what its reader must know, as for `tables.write`.

    Raises
    ------
    RecordsError
        The folder or the file cannot be written.
    """
    return tables.write(vins.mask(records).frame(frame), _out(records) / name, about=about)


def hand_back(found, records: Records, name: str) -> Path:
    """Write findings, and the rows they speak of as written, into a workbook in the folder ``out`` beside the records."""
    return handback.write(records, found, _out(records) / name, vins.mask(records))


def _out(records: Records) -> Path:
    beside = records.source if records.source.is_dir() else records.source.parent
    out = beside.resolve() / "out"
    try:
        out.mkdir(exist_ok=True)
    except OSError as problem:
        raise RecordsError(
            f"{out} could not be made ({problem.strerror or problem}): copy the records to a folder you may write to."
        ) from problem
    return out


def _state(source: Path) -> tuple:
    """Names, sizes and times of the files behind a source."""
    files = sorted(source.iterdir()) if source.is_dir() else [source, source.parent / SETTINGS_FILE]
    stats = [(file.name, file.stat().st_mtime_ns, file.stat().st_size) for file in files if file.is_file()]
    return (str(source.resolve()), tuple(stats))


def _keep(key, make):
    if key not in _kept:
        value = make()
        while len(_kept) >= KEPT:
            del _kept[next(iter(_kept))]
        _kept[key] = value
    return _kept[key]
