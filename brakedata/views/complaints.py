"""Complaints and the jobs they are held to belong to, as a person reads and answers them."""

import numpy as np
import pandas as pd

from brakedata.shown import Shown, count_text, day_text
from brakedata.views.wear import axle_words

OPEN, ANSWERED, ALL, OTHER = "not answered", "answered", "all", "other complaints"
LISTS = (OPEN, ANSWERED, ALL, OTHER)
"""What a list of complaints holds: links by answer, and complaints that are in no link."""
ANSWER_WORDS = {"": OPEN, "yes": "yes", "no": "no", "unknown": "unknown"}


def complaints(found, records, which: str) -> pd.DataFrame:
    """The complaints of one of `LISTS`, newest first.

    Returns
    -------
    DataFrame
        As `linking.propose`; of complaints in no link, at a vehicle with an earlier job, the job's columns are empty.
    """
    if which == OTHER:
        return _in_no_link(found, records)
    links = found.links.sort_values(["date", "visit_no", "job"], ascending=[False, False, True], kind="stable", ignore_index=True)
    chosen = {OPEN: links["answer"].eq(""), ANSWERED: links["answer"].ne(""), ALL: links["answer"].notna()}[which]
    return links[chosen].reset_index(drop=True)


def _in_no_link(found, records):
    """Visits with a text that are in no link, at vehicles with an earlier job."""
    visits = records.visits[records.visits["date"] <= found.as_of]
    texts = visits[["complaint", "note"]].fillna("")
    visits = visits.assign(**texts)[texts.ne("").any(axis=1)]
    first = visits["vehicle_id"].map(found.jobs.groupby("vehicle_id")["visit_no"].min())
    rows = visits[(visits["visit_no"] > first) & ~visits["visit_id"].isin(found.links["visit_id"])]
    read = found.complaints[["visit_id", "symptoms", "words"]]
    rows = rows[["visit_id", "vehicle_id", "visit_no", "date", "complaint", "note"]].merge(read, on="visit_id", how="left")
    rows = rows.assign(symptoms=rows["symptoms"].fillna(""), words=rows["words"].fillna(""), answer="", reason="")
    rows = rows.reindex(columns=found.links.columns)
    return rows.sort_values(["date", "visit_no"], ascending=False, kind="stable", ignore_index=True)


def earlier_jobs(found, complaint) -> list[tuple[str, int]]:
    """The jobs a complaint can belong to, newest first: what each is called, and its place in ``found.jobs``."""
    jobs = found.jobs[found.jobs["vehicle_id"].eq(complaint["vehicle_id"]) & (found.jobs["visit_no"] < complaint["visit_no"])]
    jobs = jobs.sort_values(["visit_no", "axle"], ascending=[False, True], kind="stable")
    return [
        (f"{visit} {axle_words(axle)}, {day_text(date)}: {done}", int(place))
        for place, visit, axle, date, done in jobs[["visit_id", "axle", "date", "done"]].itertuples()
    ]


def pair(found, records, complaint, job: int) -> pd.Series:
    """A complaint and any job, as a link."""
    done = found.jobs.loc[job]
    km = records.visits.loc[records.visits["visit_id"].eq(complaint["visit_id"]), "clock_km"].iloc[0]
    said = {name: complaint[name] for name in ("visit_id", "vehicle_id", "date", "complaint", "note", "symptoms")}
    links = found.links
    here = links[links["visit_id"].eq(complaint["visit_id"]) & links["job"].eq(job)]
    return pd.Series(
        {
            **said, "job_visit_id": done["visit_id"], "job_axle": done["axle"], "job_done": done["done"],
            "job_complaint": done["complaint"], "job_note": done["note"], "km_after": max(km - done["km"], 0.0),
            "days_after": (complaint["date"] - done["date"]).days, "answer": here["answer"].iloc[0] if len(here) else "",
            "reason": here["reason"].iloc[0] if len(here) else "",
        }
    )  # fmt: skip


def link_cells(links: pd.DataFrame, shown: Shown) -> pd.DataFrame:
    """Suspected comebacks as they are shown: both texts, distance and days between them, and the answer."""
    return pd.DataFrame(
        {
            "vehicle": links["vehicle_id"], "job": [f"{visit} {axle_words(axle)}" for visit, axle in _pairs(links)],
            "done then": links["job_done"], "said at the job": _texts(links, "job_complaint", "job_note"),
            "back": links["date"].map(day_text), f"after [{shown.distance}]": links["km_after"].map(shown.distance_number),
            "days": links["days_after"].map("{:,}".format), "said on return": _texts(links, "complaint", "note"),
            "read as": links["symptoms"], "by the words": links["words"],
            "a person's answer": [answered(*pair) for pair in zip(links["answer"], links["reason"], strict=True)],
            "counts": _counting(links), "axle by": links["axle_from"].replace("", "newest job"),
        }
    )  # fmt: skip


def _pairs(links):
    return zip(links["job_visit_id"], links["job_axle"], strict=True)


def _texts(links, complaint, note):
    return [" / ".join(filter(None, pair)) for pair in zip(links[complaint], links[note], strict=True)]


def answered(answer: str, reason: str) -> str:
    """What a person answered, with the reason."""
    return ANSWER_WORDS[answer] + (f": {reason}" if reason else "")


def _counting(links):
    reasons = [links["answer"].eq("no"), links["again"], links["km_after"].isna()]
    return np.select(reasons, ["no", "no, about the same thing again", "no, its odometer is not known"], "yes")


def question(link, shown: Shown) -> str:
    """A complaint and a job as a question a person can answer."""
    said, then = (" / ".join(filter(None, (link[a], link[b]))) for a, b in (("complaint", "note"), ("job_complaint", "job_note")))
    after = " and ".join(filter(None, (shown.distance_text(link["km_after"]), count_text(int(link["days_after"]), "day"))))
    at_job = f" (said then: “{then}”)" if then else ""
    read = f" (read as {link['symptoms']})" if link["symptoms"] else ""
    return (
        f"Vehicle {link['vehicle_id']}, {axle_words(link['job_axle'])} axle: {link['job_done']} at visit {link['job_visit_id']}"
        f"{at_job}; {after} later, visit {link['visit_id']} of {day_text(link['date'])}: “{said}”{read}. Is it a comeback of that job?"
    )


def other_cells(complaints: pd.DataFrame) -> pd.DataFrame:
    """Complaints in no link as they are shown."""
    return pd.DataFrame(
        {
            "vehicle": complaints["vehicle_id"], "visit": complaints["visit_id"], "date": complaints["date"].map(day_text),
            "said": _texts(complaints, "complaint", "note"), "read as": complaints["symptoms"], "by the words": complaints["words"],
        }
    )  # fmt: skip
