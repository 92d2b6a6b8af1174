"""Records and schedules opened in this session, kept so that every panel of a notebook shares them.

What is kept is known by the files' names, sizes and times: a file saved anew is read anew.
"""

import os
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

import brakedata
from brakedata import places, schedule, tables
from brakedata.findings import RecordsError
from brakedata.records import SETTINGS_FILE, Records
from brakedata.schedule import Schedule

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
    return _keep(("records", *_state(source)), lambda: brakedata.load(source, say))


def open_schedule(folder: str, as_of, say) -> Schedule:
    """The schedule of a folder or workbook at the as-of date; None takes the newest date."""
    records = open_records(folder, say)
    key = ("schedule", *_state(path_of(folder)), str(as_of))
    return _keep(key, lambda: schedule.make(records, as_of, say))


@dataclass(frozen=True)
class Judged:
    """What is wrong with a records folder: every finding, the changes that await an answer, and why no schedule can be made
    of it (empty where one can)."""

    records: Records
    findings: pd.DataFrame
    proposals: pd.DataFrame
    problem: str


def judge(folder: str, say) -> Judged:
    """Everything that was noticed about a folder; of one that no schedule can be made of, what was noticed on reading it."""
    records = open_records(folder, say)
    try:
        made = open_schedule(folder, None, say)
    except RecordsError as problem:
        return Judged(records, records.findings, pd.DataFrame(columns=["visit_id", "vehicle_id", "axle", "side", "answer"]), str(problem))
    return Judged(records, made.findings, made.lives.proposals, "")


def path_of(folder: str) -> Path:
    """The path a person wrote."""
    text = folder.strip().strip("\"'").strip()
    if not text:
        raise RecordsError("no records folder is named: write the folder or workbook that holds the records, then press Load.")
    return Path(text).expanduser()


def save(frame, records: Records, name: str) -> Path:
    """Write a table into the folder ``out`` beside the records and return the file, absolute.

    Raises
    ------
    RecordsError
        The folder or the file cannot be written.
    """
    beside = records.source if records.source.is_dir() else records.source.parent
    out = beside.resolve() / "out"
    try:
        out.mkdir(exist_ok=True)
    except OSError as problem:
        raise RecordsError(
            f"{out} could not be made ({problem.strerror or problem}): copy the records to a folder you may write to."
        ) from problem
    return tables.write(frame, out / name)


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
