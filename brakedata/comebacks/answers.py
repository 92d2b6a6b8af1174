"""What a person said of a proposed comeback: kept in ``records.toml`` beside the records, and respected.

::

    [[comeback]]
    visit_id = "W571"        # the visit with the complaint
    job_visit_id = "W520"    # the visit of the job it is held to belong to
    axle = "front"
    answer = "yes"           # yes, no or unknown
    reason = "hub face rusty"
"""

from pathlib import Path

import pandas as pd

from brakedata import findings, settings_file
from brakedata.findings import RecordsError
from brakedata.settings_file import SETTINGS_FILE

ANSWERS = ("yes", "no", "unknown")
COLUMNS = ["visit_id", "job_visit_id", "job_axle", "answer", "reason"]


def read(folder) -> tuple[pd.DataFrame, dict, list[pd.DataFrame]]:
    """Answers to proposed comebacks, and the shop's own words for complaints.

    Parameters
    ----------
    folder : str or Path
        The records folder, or the workbook in it.

    Returns
    -------
    answers : DataFrame
        ``visit_id, job_visit_id, job_axle, answer, reason``, one row a pair (the last answer counts).
    words : dict
        The table ``[words]`` of ``records.toml``, for `symptoms.read`.
    found : list of DataFrame
        Findings R15: entries that could not be understood.
    """
    said = settings_file.read(folder)
    entries = said.get("comeback", [])
    rows, found = [], []
    for entry in entries if isinstance(entries, list) else [entries]:
        row = _entry(entry)
        if row is None:
            found.append(findings.make("R15-setting-not-understood", SETTINGS_FILE, column="comeback", value=str(entry)))
        else:
            rows.append(row)
    answers = pd.DataFrame(rows, columns=COLUMNS).astype("str").drop_duplicates(COLUMNS[:3], keep="last", ignore_index=True)
    words = said.get("words", {})
    if not isinstance(words, dict):
        found.append(findings.make("R15-setting-not-understood", SETTINGS_FILE, column="words", value=str(words)))
        words = {}
    return answers, words, found


def _entry(entry):
    """One answer as a row, or None where it is none."""
    if not isinstance(entry, dict) or not {"visit_id", "job_visit_id", "axle"} <= entry.keys():
        return None
    answer = str(entry.get("answer", "")).strip().lower()
    if answer not in ANSWERS:
        return None
    visit, job, axle = (str(entry[key]).strip() for key in ("visit_id", "job_visit_id", "axle"))
    return visit, job, axle.lower(), answer, str(entry.get("reason", "")).strip()


def answer(folder, visit_id: str, job_visit_id: str, axle: str, said: str, reason: str = "") -> Path:
    """Remember what a person said of a complaint and a job.

    An earlier answer about the same pair is replaced, and an earlier yes about another job of the same complaint becomes no:
    a complaint belongs to one job. Everything else in the file, comments too, stays as it is.

    Parameters
    ----------
    folder : str or Path
        The records folder, or the workbook in it.
    visit_id, job_visit_id, axle : str
        The visit with the complaint, the visit of the job and its axle.
    said : str
        ``yes``, ``no`` or ``unknown``.
    reason : str
        Why, in the person's own words.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    RecordsError
        Another answer, or a file that cannot be written.
    """
    if said not in ANSWERS:
        raise RecordsError(f"“{said}” is no answer to a proposed comeback: answer yes, no or unknown.")
    question = {"visit_id": visit_id, "job_visit_id": job_visit_id, "axle": axle}
    with settings_file.changing(folder) as document:
        one = settings_file.entry(document, "comeback", question)
        one["answer"], one["reason"] = said, reason
        if said == "yes":
            _take_back(document["comeback"], question)
    return settings_file.place(folder)


def _take_back(kept, question):
    """Turn every yes about another job of the complaint into no."""
    for entry in kept:
        other = any(str(entry.get(key)) != value for key, value in question.items())
        if other and str(entry.get("visit_id")) == question["visit_id"] and entry.get("answer") == "yes":
            entry["answer"] = "no"
