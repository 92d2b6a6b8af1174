"""How far each job was watched: the distance over which its comeback, had there been one, would have been seen.

The watch starts at the job, never at the first return, and ends with the next job on the axle, the vehicle's retirement, or the
last sight of the vehicle. A vehicle that comes back with a complaint is seen just because it complains: were the watch of the
quiet ones to end at their newest odometer, the shop would look worse than it is. So a customer is taken to stay on for a while
after the last look (a part of the usual distance between looks, never beyond the as-of date), the same part for all, chosen so
that as many comebacks fall beyond the last look as are seen to. Where every quiet vehicle was looked at to the end, that is
nothing, and the watch ends at the newest believed odometer.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata import usage
from brakedata.comebacks import curves
from brakedata.comebacks.jobs import same_axle

FEWEST_SEEN_AFTER = 5
LEAST_SHARE_AFTER = 0.1
"""With fewer comebacks whose vehicle was seen again afterwards, or a smaller share of them, how long customers stay on cannot be
told, and the watch ends at the newest odometer."""
LONGEST_STAY = 5.0


@dataclass(frozen=True)
class Watch:
    """How far jobs were watched.

    Attributes
    ----------
    km : ndarray, shape (n,)
        From the job to the end of its watch, not before its comeback; NaN where the job has no odometer.
    entry_km : ndarray, shape (n,)
        From the job to where its watch began, of jobs done before complaints were written down; NaN = at the job.
    end : ndarray of str, shape (n,)
        ``next job``, ``gone`` (retired), ``days over`` or ``last seen``.
    seen_again : ndarray of bool, shape (n,)
        Whether the vehicle was seen at all after the job.
    stay : float
        For what part of the usual distance between looks a customer is taken to stay on after the last look.
    log_sd : float
        Standard deviation of the logarithm of every risk that comes from ``stay`` being estimated; 0 where it is 0.
    """

    km: np.ndarray
    entry_km: np.ndarray
    end: np.ndarray
    seen_again: np.ndarray
    stay: float
    log_sd: float


def how_far(records, jobs: pd.DataFrame, links: pd.DataFrame, as_of: pd.Timestamp, days: float, since=None) -> Watch:
    """Watch of each job.

    Parameters
    ----------
    records : Records
    jobs, links : DataFrame
        As `jobs.table` and `linking.propose` give them; ``jobs`` with ``comeback_km``.
    as_of : Timestamp
    days : float
        No job is watched for longer than this.
    since : Timestamp, optional
        Complaints were written down from this day on; jobs done earlier are watched from then.

    Returns
    -------
    Watch
    """
    use = usage.fit(records, as_of).table.reindex(jobs["vehicle_id"])
    looks = _looks(records, as_of)
    start, back = jobs["km"].to_numpy(), jobs["comeback_km"].to_numpy()
    look = np.maximum(_last_look_km(looks, jobs, links) - start, 0.0)
    room, limit = _room(records, use, jobs, as_of, days)
    room = np.maximum(room - start, look)
    cap = _next_job_km(jobs, links) - start
    gap = _usual_gap_km(looks, links, jobs["vehicle_id"])
    came_back = np.isfinite(back)
    seen_after = came_back & (back <= look)
    stay, log_sd = _stay(look, room, np.where(np.isnan(cap), np.inf, cap), gap, back)
    end = np.fmin(np.minimum(room, look + stay * gap), cap)
    why = np.where(cap <= end, "next job", np.where((room <= end) & (limit != ""), limit, "last seen"))
    return Watch(np.fmax(end, back), _entry_km(use, jobs, since), why, (look > 0) | came_back | seen_after, stay, log_sd)


def _looks(records, as_of):
    """Every believed odometer: ``vehicle_id, date, km, visit_id`` (empty for the odometer log)."""
    columns = ["vehicle_id", "date", "odometer_km", "visit_id"]
    frames = [frame[frame["odometer_ok"] & (frame["date"] <= as_of)] for frame in (records.visits, records.odometer_log)]
    looks = pd.concat([frame.reindex(columns=columns) for frame in frames], ignore_index=True)
    return looks.rename(columns={"odometer_km": "km"}).fillna({"visit_id": ""})


def _last_look_km(looks, jobs, links):
    """Newest odometer of each job's vehicle, leaving out the visits at which the job itself came back."""
    last = jobs["vehicle_id"].map(looks.groupby("vehicle_id")["km"].max()).to_numpy(dtype=float, copy=True)
    back = links[["job", "visit_id"]].drop_duplicates().assign(own=True)
    own = jobs.loc[back["job"].unique(), ["vehicle_id"]].reset_index(names="job")
    other = own.merge(looks, on="vehicle_id").merge(back, on=["job", "visit_id"], how="left")
    other = other[other["own"].isna()].groupby("job")["km"].max()
    last[own["job"]] = other.reindex(own["job"]).to_numpy()
    return last


def _next_job_km(jobs, links):
    """Odometer of the next job on the axle, km, NaN where there is none or where it is the comeback's own repair."""
    key = [jobs["vehicle_id"], same_axle(jobs["axle"])]
    next_km, next_visit = (jobs[name].groupby(key).shift(-1) for name in ("km", "visit_id"))
    own = pd.MultiIndex.from_frame(links[["job", "visit_id"]])
    repair = pd.MultiIndex.from_arrays([jobs.index, next_visit]).isin(own)
    return next_km.mask(repair).to_numpy()


def _room(records, use, jobs, as_of, days):
    """Odometer up to which a job can have been watched at all, by the vehicle's pace, and what sets it.

    The as-of date, the retirement of the vehicle, or ``days`` after the job, whichever comes first.
    """
    retired = jobs["vehicle_id"].map(records.vehicles.set_index("vehicle_id")["retired_date"]).to_numpy("datetime64[s]")
    over = jobs["date"].to_numpy("datetime64[s]") + np.timedelta64(int(min(days, 36_500)), "D")
    end = np.fmin(np.fmin(retired, over), np.datetime64(as_of, "s"))
    limit = np.where(end == retired, "gone", np.where(end == over, "days over", ""))
    return _km_on(use, jobs, end), limit


def _km_on(use, jobs, date):
    """Odometer on dates after the jobs by the vehicles' paces, km: from the newest odometer, before it from the job on."""
    ahead = (date - use["last_date"].to_numpy("datetime64[s]")) / np.timedelta64(1, "D")
    after = (date - jobs["date"].to_numpy("datetime64[s]")) / np.timedelta64(1, "D")
    pace, last_km = use["km_per_day"].to_numpy(), use["last_km"].to_numpy()
    return np.where(ahead >= 0, last_km + pace * ahead, np.minimum(jobs["km"].to_numpy() + pace * after, last_km))


def _entry_km(use, jobs, since):
    """Distance from each job done before ``since`` to that day, NaN of the others."""
    if since is None:
        return np.full(len(jobs), np.nan)
    day = np.datetime64(pd.Timestamp(since), "s")
    km = _km_on(use, jobs, np.full(len(jobs), day)) - jobs["km"].to_numpy()
    return np.where(jobs["date"].to_numpy("datetime64[s]") < day, np.maximum(km, 0.0), np.nan)


def _usual_gap_km(looks, links, vehicle_id):
    """Usual distance between looks at each vehicle, complaints apart, drawn toward the shop's by one gap."""
    plain = looks[~looks["visit_id"].isin(links["visit_id"])].drop_duplicates(["vehicle_id", "km"])
    span = plain.groupby("vehicle_id")["km"].agg(["min", "max", "size"])
    gaps, distance = span["size"] - 1, span["max"] - span["min"]
    usual = distance.sum() / max(gaps.sum(), 1)
    return ((distance + usual) / (gaps + 1)).reindex(vehicle_id).fillna(usual).to_numpy()


def _stay(look, room, cap, gap, back):
    """The part of a gap that customers stay on, and what its being estimated adds to the spread of log risk."""
    came_back = np.isfinite(back)
    beyond = came_back & (back > look)
    after = came_back.sum() - beyond.sum()
    if not beyond.any() or after < max(FEWEST_SEEN_AFTER, LEAST_SHARE_AFTER * came_back.sum()):
        return 0.0, 0.0
    known = np.isfinite(look)
    sure = np.minimum(look, cap)
    clean = curves.curve(np.where(came_back & ~beyond, back, sure)[known], (came_back & ~beyond)[known])
    hazard = np.r_[0.0, np.cumsum(clean.events / clean.at_risk)]

    def between(low, high):
        place = [np.searchsorted(clean.km, km, side="right") for km in (low, high)]
        return (hazard[place[1]] - hazard[place[0]]).sum()

    quiet = known & ~came_back

    def too_many(stay):
        end = np.minimum(np.minimum(room, look + stay * gap), cap)
        return between(sure[quiet], np.maximum(end, sure)[quiet]) + between(look[beyond], back[beyond]) - beyond.sum()

    low, high = 0.0, LONGEST_STAY
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if too_many(middle) < 0 else (low, middle)
    return high, float(np.sqrt(beyond.sum() / (after * came_back.sum())))
