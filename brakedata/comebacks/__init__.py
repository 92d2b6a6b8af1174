"""Comebacks: which brake jobs come back, how often, what goes with it, since when, and what it costs.

>>> found = brakedata.comebacks.find(brakedata.load("demo_records"))
>>> found.links                                      # complaints with the job each is held to belong to
>>> brakedata.comebacks.rates(found, by="hub_face").table

``find`` proposes; a person's answers (``answer``) are kept beside the records and respected the next time.
"""

from dataclasses import dataclass, replace

import pandas as pd

from brakedata import findings
from brakedata.comebacks import answers, curves, jobs, linking, watch
from brakedata.comebacks.answers import answer
from brakedata.comebacks.compare import WITHIN_KM, Rates, funnel, rates
from brakedata.comebacks.costs import cost
from brakedata.comebacks.explain import excess, goes_with, recorded
from brakedata.comebacks.jobs import FACTORS, UNRECORDED
from brakedata.comebacks.linking import KINDS, Windows
from brakedata.comebacks.over_time import trend
from brakedata.comebacks.practice import CAUTIONS, look_first

__all__ = [
    "CAUTIONS", "FACTORS", "KINDS", "WITHIN_KM", "Comebacks", "Rates", "Windows", "answer", "as_letters", "cost", "excess",
    "find", "funnel", "goes_with", "look_first", "rates", "recorded", "returns", "trend",
]  # fmt: skip


@dataclass(frozen=True)
class Comebacks:
    """The brake jobs of a shop and the complaints that are held to be their comebacks.

    Attributes
    ----------
    as_of : Timestamp
    jobs : DataFrame
        As `jobs.table`, with ``comeback_km`` (distance from the job to its first comeback, NaN where none is known) and
        ``watched_km, entry_km, watch_end, seen_again`` as in `watch.Watch`.
    complaints : DataFrame
        As `linking.complaints`: those of a kind that can be a comeback, and those that a person said are one.
    links : DataFrame
        As `linking.propose`.
    windows : Windows
    stay, log_sd : float
        As in `watch.Watch`.
    findings : DataFrame
        R15, R60 and R61.
    """

    as_of: pd.Timestamp
    jobs: pd.DataFrame
    complaints: pd.DataFrame
    links: pd.DataFrame
    windows: Windows
    stay: float
    log_sd: float
    findings: pd.DataFrame


def find(records, as_of=None, windows: Windows | None = None, complaints_since=None) -> Comebacks:
    """The brake jobs of the records, and the complaints that may be their comebacks.

    Parameters
    ----------
    records : Records
    as_of : date, optional
        Nothing dated after it is used; default the newest date in the records.
    windows : Windows, optional
        How long after a job a complaint can be its comeback; default as in `Windows`.
    complaints_since : date, optional
        The day from which complaints were written down, where the visits go further back: jobs done earlier are watched from
        then on, and what was said earlier is no comeback.

    Returns
    -------
    Comebacks

    Raises
    ------
    RecordsError
        ``records.toml`` cannot be read, or its word lists are none.
    """
    as_of = records.newest_date if as_of is None else pd.Timestamp(as_of)
    windows = windows or Windows()
    said, words, found = answers.read(records.source)
    done = jobs.table(records, as_of)
    spoken = linking.complaints(records, as_of, words or None, said.loc[said["answer"].eq("yes"), "visit_id"])
    if complaints_since is not None:
        spoken = spoken[spoken["date"] >= pd.Timestamp(complaints_since)].reset_index(drop=True)
    links = linking.propose(done, spoken, windows, said)
    done["comeback_km"] = links[links["counts"]].groupby("job")["km_after"].min().reindex(done.index)
    watched = watch.how_far(records, done, links, as_of, windows.days, complaints_since)
    for name, column in (("watched_km", watched.km), ("entry_km", watched.entry_km), ("watch_end", watched.end)):
        done[name] = column
    done["seen_again"] = watched.seen_again
    found += [_without_odometer(done), _lost_answers(said, done, records)]
    return Comebacks(as_of, done, spoken, links, windows, watched.stay, watched.log_sd, findings.join(found))


def returns(found: Comebacks) -> curves.Returns:
    """Returns per job by distance, every visit that is held to be one counted, second complaints too."""
    back = found.links[found.links["answer"].ne("no") & found.links["km_after"].notna()]
    watched = found.jobs["watched_km"]
    place = pd.Series(range(int(watched.notna().sum())), index=watched.index[watched.notna()])
    return curves.returns_per_job(place[back["job"]], back["km_after"], watched.dropna())


def as_letters(found: Comebacks) -> Comebacks:
    """The same with technicians as letters, in the order in which their names first stand in the jobs by date."""
    names = found.jobs.sort_values(["date", "visit_id"], kind="stable")["technician"]
    names = [name for name in dict.fromkeys(names) if name != UNRECORDED]
    letters = {name: _letter(place) for place, name in enumerate(names)}
    return replace(found, jobs=found.jobs.assign(technician=found.jobs["technician"].map(letters).fillna(UNRECORDED)))


def _letter(place):
    """A, B, ... Z, AA, AB ..."""
    return (_letter(place // 26 - 1) if place >= 26 else "") + chr(ord("A") + place % 26)


def _without_odometer(done):
    """R60: a job at an odometer that cannot be believed, so that nothing after it can be measured."""
    lost = done[done["km"].isna()]
    return findings.make(
        "R60-job-without-odometer", "visits", vehicle_id=lost["vehicle_id"], column="odometer", value=lost["visit_id"]
    )


def _lost_answers(said, done, records):
    """R61: an answer about a visit or a job that the records do not hold."""
    known = pd.MultiIndex.from_frame(done[["visit_id", "axle"]])
    there = pd.MultiIndex.from_frame(said[["job_visit_id", "job_axle"]]).isin(known)
    lost = said[~there | ~said["visit_id"].isin(records.visits["visit_id"])]
    return findings.make(
        "R61-answer-without-job", "records.toml", column="comeback", value=lost["visit_id"] + " " + lost["job_visit_id"]
    )
