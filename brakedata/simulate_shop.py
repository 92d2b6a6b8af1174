"""Made shops with known truth about comebacks, for tests and benchmarks.

A made shop has customers who come, are seen at odd distances, and leave; brake jobs by several technicians; and comebacks whose
chance is known for every job. One technician (`BAD`) has three times the chance whatever is done; one (`HASTY`) mostly leaves
hub faces unwashed, which gives pulsation three to four times as often whoever does it, and has no other fault; one (`NEW`) is
as bad as `BAD` but has few jobs. ``shop(seed, differ=False)`` is the same shop with one chance for all. All numbers and every
sentence of a complaint are invented.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata.columns import AXLE_NAMES
from brakedata.simulate import columns_of

TECHNICIANS = ("Ash", "Birch", "Cedar", "Elm", "Fir")
SHARES = (0.30, 0.27, 0.19, 0.20, 0.04)
BAD, HASTY, NEW = "Cedar", "Elm", "Fir"
TIMES_AS_BAD = 3.0
BASE_RISK = 0.08
"""Chance of a comeback of a job with a clean hub face by anyone else, over all distances."""
UNWASHED_EXCESS = 0.25
"""What an unwashed hub face adds to it, all of it pulsation."""
NOT_DONE = {HASTY: 0.75}
NOT_DONE_ELSEWHERE = 0.08
LINES = {"line A": 1.0, "line B": 1.0, "line C": 1.0}
NOISE_KM, PULSATION_KM = (300.0, 6_000.0), (3_000.0, 12_500.0)
NOISE_SHARE = 0.6
SPAN_DAYS = 1_095
FIRST_DAY = np.datetime64("2022-01-03")
TEXTS = {
    ("noise", True): ("{axle} brakes squeal at low speed", "SQUEAL {AXLE} WHEN BRAKING", "grinding from the {axle} when braking"),
    ("noise", False): ("brakes squeal at every stop", "SQUEALS ON LIGHT BRAKING", "grinding noise when braking"),
    ("pulsation", True): ("pulsation from {axle} when braking", "{AXLE} BRAKES PULSATE", "judder under braking, {axle}"),
    ("pulsation", False): ("brake pedal pulsates", "STEERING WHEEL SHAKES WHEN BRAKING", "judder when braking from speed"),
}  # fmt: skip
IDLE_TEXTS = ("", "", "", "", "", "service", "no brake noise", "heater blows cold", "wipers smear", "wheel bearing hums")


@dataclass(frozen=True)
class Shop:
    """A made shop.

    Attributes
    ----------
    tables : dict of DataFrame
        The record tables, as the contract has them.
    jobs : DataFrame
        The truth, one row a job: ``visit_id, axle, vehicle_id, technician, product_line, hub_face``,
        ``risk`` (its true chance of a comeback within ``within_km``) and ``back_km`` (where it came back; NaN where that was
        never seen).
    comebacks : DataFrame
        One row a returning visit: ``visit_id, job_visit_id, axle, kind, again`` (a second complaint about the same thing).
    within_km : float
    """

    tables: dict[str, pd.DataFrame]
    jobs: pd.DataFrame
    comebacks: pd.DataFrame
    within_km: float


def shop(seed: int, jobs: int = 900, differ: bool = True, within_km: float = 10_000.0, base_risk: float = BASE_RISK) -> Shop:
    """Draw a shop.

    Parameters
    ----------
    seed : int
    jobs : int
        How many brake jobs.
    differ : bool
        False: every job has the chance ``base_risk``, whoever did it and however.
    within_km : float
        The distance of the true risks.
    base_risk : float

    Returns
    -------
    Shop
    """
    rng = np.random.default_rng([seed, jobs])
    vehicles, done = _vehicles_and_jobs(rng, jobs)
    done = _how(rng, done)
    done = _chances(done, differ, base_risk, within_km)
    back = _comebacks(rng, done)
    tables = _tables(rng, vehicles, done, back)
    done, back = (_numbered(frame, tables["number"]) for frame in (done, back))
    del tables["number"]
    truth = done[["visit_id", "axle", "vehicle_id", "technician", "product_line", "hub_face", "risk"]]
    first = back[~back["again"]].set_index(["job_visit_id", "axle"])["after_km"]
    truth = truth.assign(back_km=first.reindex(pd.MultiIndex.from_frame(truth[["visit_id", "axle"]])).to_numpy())
    return Shop(tables, truth, back[["visit_id", "job_visit_id", "axle", "kind", "again"]], within_km)


def _vehicles_and_jobs(rng, jobs):
    """Customers with their pace and how far they stay, and the brake jobs of each, until there are enough jobs."""
    count = 2 * jobs
    pace = 45.0 * rng.lognormal(0.0, 0.4, count)
    vehicles = pd.DataFrame(
        {
            "vehicle_id": [f"V{n + 1}" for n in range(count)], "km_a_day": pace,
            "first_day": rng.uniform(0, SPAN_DAYS - 5, count), "start_km": rng.uniform(20_000, 150_000, count).round(),
            "stays_km": np.where(rng.random(count) < 0.12, 0.0, rng.exponential(45_000, count)),
            "card": rng.random(count) < 0.4, "wear_class": rng.choice(["panel van", "small van", "pickup"], count),
            "duty": rng.choice(["urban", "mixed", "highway"], count),
        }
    )  # fmt: skip
    vehicles["stays_km"] = np.minimum(vehicles["stays_km"], (SPAN_DAYS - vehicles["first_day"]) * pace)
    steps = np.column_stack([np.zeros(count), rng.uniform(12_000, 40_000, (count, 3))]).cumsum(axis=1)
    wanted = steps <= vehicles["stays_km"].to_numpy()[:, None]
    row, order = np.nonzero(wanted)
    axle = rng.choice(AXLE_NAMES, len(row), p=[0.6, 0.4])
    done = pd.DataFrame({"vehicle": row, "at_km": steps[row, order].round(), "axle": axle})
    both = done[rng.random(len(done)) < 0.06]
    other = both.assign(axle=both["axle"].map({"front": "rear", "rear": "front"}))
    done = pd.concat([done, other]).sort_values(["vehicle", "at_km", "axle"], kind="stable", ignore_index=True).head(jobs)
    done["vehicle_id"] = vehicles["vehicle_id"].to_numpy()[done["vehicle"]]
    return vehicles.head(done["vehicle"].max() + 1), _ends(done, vehicles)


def _ends(done, vehicles):
    """How far each job could be watched: to the next job on its axle or the day the customer was last there, km."""
    next_km = done.groupby(["vehicle", "axle"])["at_km"].shift(-1)
    stays = vehicles["stays_km"].to_numpy()[done["vehicle"]]
    return done.assign(room_km=np.fmin(next_km, stays) - done["at_km"], visit=done.groupby(["vehicle", "at_km"]).ngroup())


def _how(rng, done):
    """By whom, with what and how each job was done; one technician a visit."""
    visits = done["visit"].max() + 1
    done = done.assign(technician=rng.choice(TECHNICIANS, visits, p=SHARES)[done["visit"]])
    left = done["technician"].map(NOT_DONE).fillna(NOT_DONE_ELSEWHERE)
    draw = rng.random(len(done))
    unwritten = rng.random(len(done)) < 0.06
    return done.assign(
        product_line=rng.choice(list(LINES), len(done)),
        hub_face=np.where(unwritten, "unrecorded", np.where(draw < left, "not_done", "cleaned")),
        unwashed=draw < left,
        rotor=rng.choice(["replaced", "machined", ""], len(done), p=[0.4, 0.1, 0.5]),
        hardware=rng.choice(["replaced", ""], len(done), p=[0.6, 0.4]),
        slide_pins=rng.choice(["lubricated", "freed", ""], len(done), p=[0.6, 0.1, 0.3]),
        wheel_nuts=rng.choice(["torqued", ""], len(done), p=[0.8, 0.2]),
    )


def _share_within(limits, within_km):
    """Share of comebacks, uniform between two distances, that come within a distance."""
    return float(np.clip((within_km - limits[0]) / (limits[1] - limits[0]), 0.0, 1.0))


def _chances(done, differ, base_risk, within_km):
    """Chance of noise and of pulsation of each job over all distances, and of either within ``within_km``."""
    times = np.where(differ & done["technician"].isin((BAD, NEW)), TIMES_AS_BAD, 1.0)
    unwashed = np.where(differ & done["unwashed"], UNWASHED_EXCESS, 0.0)
    noise = base_risk * times * NOISE_SHARE
    pulsation = base_risk * times * (1 - NOISE_SHARE) + unwashed
    risk = noise * _share_within(NOISE_KM, within_km) + pulsation * _share_within(PULSATION_KM, within_km)
    return done.assign(noise=noise, pulsation=pulsation, risk=risk)


def _comebacks(rng, done):
    """The comebacks that were seen: those that came before the next job on the axle and before the customer left."""
    draw = rng.random(len(done))
    kind = np.where(draw < done["noise"], "noise", np.where(draw < done["noise"] + done["pulsation"], "pulsation", ""))
    after = np.where(kind == "noise", rng.uniform(*NOISE_KM, len(done)), rng.uniform(*PULSATION_KM, len(done)))
    back = done[["vehicle", "vehicle_id", "axle", "at_km", "room_km", "visit"]]
    back = back.assign(kind=kind, after_km=after.round(), again=False)
    back = back[(back["kind"] != "") & (back["after_km"] < back["room_km"])]
    more = back[rng.random(len(back)) < 0.2]
    more = more.assign(after_km=more["after_km"] + rng.uniform(400, 2_000, len(more)).round(), again=True)
    return pd.concat([back, more[more["after_km"] < more["room_km"]]], ignore_index=True)


def _tables(rng, vehicles, done, back):
    """The record tables; ``number`` maps (vehicle, km since its first visit) to a visit's name."""
    visits = pd.concat(
        [
            done.drop_duplicates("visit")[["vehicle", "at_km", "technician"]].assign(reason="brake job", complaint=""),
            back.assign(at_km=back["at_km"] + back["after_km"], reason="complaint", complaint=_spoken(rng, back))[
                ["vehicle", "at_km", "reason", "complaint"]
            ].assign(technician=rng.choice(TECHNICIANS[:2], len(back))),
            _routine(rng, vehicles),
        ]
    ).drop_duplicates(["vehicle", "at_km"])  # fmt: skip
    visits = visits.sort_values(["vehicle", "at_km"], kind="stable", ignore_index=True)
    visits["visit_id"] = [f"W{n + 1}" for n in range(len(visits))]
    visits["date"] = _date(vehicles, visits)
    for name in ("vehicle_id", "start_km"):
        visits[name] = vehicles[name].to_numpy()[visits["vehicle"]]
    visits["odometer"] = visits["start_km"] + visits["at_km"]
    number = visits.set_index(["vehicle", "at_km"])["visit_id"]
    tables = {
        "vehicles": vehicles.reindex(columns=columns_of("vehicles")),
        "visits": visits.reindex(columns=columns_of("visits")),
        "work": _work(rng, _numbered(done, number), _numbered(back, number)),
        "measurements": _thicknesses(rng, visits),
        "odometer_log": _log(vehicles),
    }
    return {**tables, "number": number}


def _numbered(frame, number):
    """Rows with the names of their visits: ``visit_id``, and ``job_visit_id`` where the row is a comeback."""
    at_job = number.reindex(pd.MultiIndex.from_frame(frame[["vehicle", "at_km"]])).to_numpy()
    if "after_km" not in frame:
        return frame.assign(visit_id=at_job)
    there = pd.MultiIndex.from_arrays([frame["vehicle"], frame["at_km"] + frame["after_km"]])
    return frame.assign(job_visit_id=at_job, visit_id=number.reindex(there).to_numpy())


def _date(vehicles, visits):
    pace, first = (vehicles[name].to_numpy()[visits["vehicle"]] for name in ("km_a_day", "first_day"))
    day = np.floor(first + visits["at_km"].to_numpy() / pace).astype(int)
    return (FIRST_DAY + day).astype("datetime64[s]")


def _spoken(rng, back):
    """What the customer says: three times in five with the axle."""
    names = rng.random(len(back)) < 0.6
    choice = rng.integers(0, 3, len(back))
    return [
        TEXTS[kind, bool(named)][pick].format(axle=axle, AXLE=axle.upper())
        for kind, named, pick, axle in zip(back["kind"], names, choice, back["axle"], strict=True)
    ]


def _routine(rng, vehicles):
    """Visits for something else, while the customer stays."""
    steps = rng.uniform(5_000, 15_000, (len(vehicles), 12)).round().cumsum(axis=1)
    row, order = np.nonzero(steps <= vehicles["stays_km"].to_numpy()[:, None])
    said = rng.choice(np.array(IDLE_TEXTS, dtype=object), len(row))
    return pd.DataFrame(
        {
            "vehicle": row, "at_km": steps[row, order], "technician": rng.choice(TECHNICIANS[:2], len(row)),
            "reason": "inspection", "complaint": said,
        }
    )  # fmt: skip


def _work(rng, done, back):
    """What was written of each job, and of what was done at each return."""
    price = np.round(rng.uniform(70, 130, len(done)), 2)
    rows = [done[["visit_id", "axle"]].assign(part="pads", action="replaced", product_line=done["product_line"], cost=price)]
    hub_face = done["hub_face"].replace("unrecorded", "")
    for part in ("rotor", "hub_face", "hardware", "slide_pins", "wheel_nuts"):
        action = hub_face if part == "hub_face" else done[part]
        rows.append(done.loc[action != "", ["visit_id", "axle"]].assign(part=part, action=action[action != ""]))
    said = back[rng.random(len(back)) < 0.8]
    cost = np.round(rng.lognormal(np.log(80.0), 0.4, len(said)), 2)
    noise = said["kind"].eq("noise")
    rows.append(
        said[["visit_id", "axle"]].assign(
            part=np.where(noise, "hardware", "hub_face"), action=np.where(noise, "lubricated", "cleaned"), cost=cost
        )
    )
    work = pd.concat(rows, ignore_index=True).assign(side="both")
    return work.reindex(columns=columns_of("work"))


def _thicknesses(rng, visits):
    """A pad reading a routine visit, so that the folder is complete."""
    rows = visits[visits["reason"].eq("inspection")][["visit_id"]]
    rows = rows.assign(axle="front", part="pad", measure="thickness", unit="mm", value=rng.integers(8, 22, len(rows)) / 2)
    return rows.reindex(columns=columns_of("measurements"))


def _log(vehicles):
    """Fuel card odometers, one a month, of the vehicles that have a card."""
    cards = vehicles[vehicles["card"]].reset_index(drop=True)
    months = np.arange(1, SPAN_DAYS // 30)
    km = months * 30.0 * cards["km_a_day"].to_numpy()[:, None]
    row, order = np.nonzero(km <= cards["stays_km"].to_numpy()[:, None])
    day = np.floor(cards["first_day"].to_numpy()[row] + 30.0 * months[order]).astype(int)
    odometer = cards["start_km"].to_numpy()[row] + np.floor(km[row, order])
    log = pd.DataFrame({"vehicle_id": cards["vehicle_id"].to_numpy()[row], "date": (FIRST_DAY + day).astype("datetime64[s]")})
    return log.assign(odometer=odometer).reindex(columns=columns_of("odometer_log"))
