"""Which complaint belongs to which job: the kit proposes, a person confirms.

A complaint of noise, pulsation, pull or drag belongs to the newest earlier job on the same vehicle and axle, or on the vehicle
where nobody says which axle, when it comes within the window of its kind. A second complaint about the same thing is no second
comeback.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata import symptoms
from brakedata.comebacks.jobs import front_or_rear
from brakedata.records import Records

KINDS = ("noise", "pulsation", "pull", "drag")
"""Complaints that can be comebacks of a brake job (common practice, no source)."""


@dataclass(frozen=True)
class Windows:
    """How long after a job a complaint can still be its comeback, by kind (km), and for all kinds (days).

    Noise is early: pads seat within about 1,600 km, and what is left dry or loose is heard within about 10,000 km. Pulsation is
    late: it grows out of runout over 5,000 to 15,000 km. Pull and drag are taken as noise. After two years a vehicle has rusted
    and worn anew. All of it common practice, no source.
    """

    noise_km: float = 10_000.0
    pulsation_km: float = 15_000.0
    pull_km: float = 10_000.0
    drag_km: float = 10_000.0
    days: float = 730.0

    def km(self, kind: str) -> float:
        """The window of a kind, km."""
        return getattr(self, f"{kind}_km")


def complaints(records: Records, as_of: pd.Timestamp, words=None, held_to_be=()) -> pd.DataFrame:
    """Visits whose complaint or note speaks of a kind in `KINDS`, not denied, and those that a person said are comebacks.

    Parameters
    ----------
    records : Records
    as_of : Timestamp
    words : mapping, optional
        The shop's own words for `symptoms.read`.
    held_to_be : list of str
        Visits that a person said are comebacks, whatever their texts are read as.

    Returns
    -------
    DataFrame
        ``visit_id, vehicle_id, visit_no, date, km, complaint, note, kinds`` (tuple), ``symptoms`` (kind and subtype, as text),
        ``words`` (on which it rests), ``axle`` (front, rear or empty) and ``axle_from`` (complaint, note, work or nothing).
    """
    visits = records.visits[records.visits["date"] <= as_of]
    texts = visits[["complaint", "note"]].fillna("")
    spoken = texts.ne("").any(axis=1) | visits["visit_id"].isin(held_to_be)
    visits = visits[spoken].assign(**texts[spoken])
    said = {name: symptoms.read_all(visits[name], words) for name in ("complaint", "note")}
    pairs = list(zip(*said.values(), strict=True))
    rows = visits[["visit_id", "vehicle_id", "visit_no", "date", "clock_km", "complaint", "note"]]
    rows = rows.rename(columns={"clock_km": "km"})
    kinds = [tuple(dict.fromkeys(_kinds(told) + _kinds(noted))) for told, noted in pairs]
    rows["kinds"] = pd.Series(kinds, index=rows.index, dtype="object")
    axle, axle_from = _axle(rows, said, records)
    texts = {
        "symptoms": [_named(*pair) for pair in pairs],
        "words": [", ".join(dict.fromkeys(told.words + noted.words)) for told, noted in pairs],
        "axle": axle,
        "axle_from": axle_from,
    }
    for name, column in texts.items():
        rows[name] = pd.Series(column, index=rows.index, dtype="str")
    of_a_kind = rows["kinds"].map(len).gt(0).to_numpy()
    return rows[of_a_kind | rows["visit_id"].isin(held_to_be).to_numpy()].reset_index(drop=True)


def _kinds(said):
    """Kinds of comeback a text speaks of; none where all of it is denied."""
    if said.negated == "yes":
        return ()
    return tuple(kind for kind in dict.fromkeys((said.category, *said.also_category)) if kind in KINDS)


def _named(told, noted):
    """``noise (squeal); note: pulsation (judder)``."""
    named = [
        f"{who}{said.category}" + (f" ({said.subtype})" if said.subtype else "")
        for who, said in (("", told), ("note: ", noted))
        if _kinds(said)
    ]
    return "; ".join(named)


def _axle(rows, said, records):
    """The axle a complaint is about: as the complaint says, else the note, else the one axle worked on at that visit."""
    told, noted = (np.array([one.axle for one in said[name]], dtype=object) for name in ("complaint", "note"))
    measured = records.measurements
    measured = measured[measured["measure"].isin(("runout", "thickness_variation"))]
    touched = pd.concat([records.work[["visit_id", "axle"]], measured[["visit_id", "axle"]]])
    touched = touched.assign(axle=front_or_rear(touched["axle"])).drop_duplicates()
    only = touched[~touched["visit_id"].duplicated(keep=False)].set_index("visit_id")["axle"]
    worked = rows["visit_id"].map(only).astype("str").fillna("").to_numpy(dtype=object)
    axle = np.where(told != "", told, np.where(noted != "", noted, worked))
    source = np.where(told != "", "complaint", np.where(noted != "", "note", np.where(worked != "", "work", "")))
    return axle, source


def propose(jobs: pd.DataFrame, spoken: pd.DataFrame, windows: Windows, answers: pd.DataFrame) -> pd.DataFrame:
    """Complaints with the job each belongs to, and what a person said of it.

    Parameters
    ----------
    jobs : DataFrame
        As `jobs.table` gives them.
    spoken : DataFrame
        As `complaints` gives them.
    windows : Windows
    answers : DataFrame
        As `answers.read` gives them. A pair answered yes is a link even where none was proposed, and then the only one of its
        complaint; a pair answered no counts for nothing.

    Returns
    -------
    DataFrame
        One row a link, in order of job and distance: the columns of ``spoken``, ``job`` (place in ``jobs``), ``job_visit_id,
        job_axle, job_done, job_complaint, job_note, km_after, days_after, answer`` (empty, yes, no, unknown), ``reason,
        again`` (about what an earlier complaint of this job was about) and ``counts`` (a comeback in the rates).
    """
    proposed = _newest_job(jobs, spoken)
    pair = ["visit_id", "job_visit_id", "job_axle"]
    places = jobs[["visit_id", "axle"]].rename(columns={"visit_id": "job_visit_id", "axle": "job_axle"}).assign(job=jobs.index)
    said_yes = answers[answers["answer"].eq("yes")]
    made = spoken.merge(said_yes[pair], on="visit_id").merge(places, on=["job_visit_id", "job_axle"])
    links = proposed.merge(places, on="job")
    links = links[~links["visit_id"].isin(made["visit_id"])]
    links = _measured(pd.concat([made, links], ignore_index=True), jobs)
    inside = pd.Series([_inside(*row, windows) for row in links[["kinds", "km_after", "days_after"]].to_numpy()], dtype=bool)
    links = links[inside | links["visit_id"].isin(made["visit_id"])]
    links = links.merge(answers, on=pair, how="left").fillna({"answer": "", "reason": ""})
    links = links.sort_values(["job", "km_after", "visit_no", "visit_id"], kind="stable", ignore_index=True)
    links["again"] = _again(links)
    links["counts"] = links["answer"].ne("no") & ~links["again"] & links["km_after"].notna()
    return links


def _newest_job(jobs, spoken):
    """The newest job before each complaint: on its axle where that is known, else on the vehicle (front before rear)."""
    done = jobs[["vehicle_id", "visit_no"]].assign(axle=front_or_rear(jobs["axle"]).astype("str"), job=jobs.index)
    done = done.sort_values(["visit_no", "axle"], ascending=[True, False], kind="stable")  # of one visit the front comes last
    asked = spoken.sort_values("visit_no", kind="stable")
    known = asked["axle"].ne("")
    earlier = {"on": "visit_no", "direction": "backward", "allow_exact_matches": False}
    on_axle = pd.merge_asof(asked[known], done, by=["vehicle_id", "axle"], **earlier)
    on_vehicle = pd.merge_asof(asked[~known], done.drop(columns="axle"), by="vehicle_id", **earlier)
    both = pd.concat([on_axle, on_vehicle], ignore_index=True)
    return both[both["job"].notna()].astype({"job": "int64"})


def _measured(links, jobs):
    """Distance and days from job to complaint, and the job's own texts."""
    job = jobs.loc[links["job"]].reset_index(drop=True)
    links["km_after"] = np.maximum(links["km"] - job["km"], 0.0)
    links["days_after"] = (links["date"] - job["date"]).dt.days
    for name in ("done", "complaint", "note"):
        links[f"job_{name}"] = job[name].fillna("")
    return links


def _inside(kinds, km_after, days_after, windows):
    """Whether a complaint comes within the window of one of its kinds."""
    return days_after <= windows.days and any(km_after <= windows.km(kind) for kind in kinds)


def _again(links):
    """Whether an earlier complaint of the same job, not answered no, was about each of its kinds already."""
    kinds = links.loc[links["answer"].ne("no"), ["job", "kinds"]].explode("kinds")
    first = ~kinds.duplicated()
    news = first.groupby(level=0).any().reindex(links.index, fill_value=True)
    return ~news
