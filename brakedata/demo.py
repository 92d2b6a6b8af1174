"""The demo records: an invented depot of forty vehicles over five years, with stories planted in them.

`python -m brakedata.demo FOLDER` writes the records; the same bytes every time. Everything is invented: the depot
(Quillbank depot), the vehicles, the technicians, the product lines and every sentence of a complaint. Wear and readings
come from `simulate`; this module plants the stories, and adds what a shop writes around a brake job.
"""

import argparse
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

from brakedata import simulate
from brakedata.simulate import Brake, WearClass

SEED = 37
END_DATE = "2026-06-30"
YEARS = 5.0
VEHICLES = 40

STICKING_SLIDE = "PV-3"
"""Its right front inner pad wears 1.9 times as fast as it should, life after life."""
UNRECORDED_CHANGE = "MB-2"
"""Its second front pad change left no work row."""
USE_DOUBLED = "PU-2"
"""Driven twice as far each day from 1 April 2025."""
ODOMETER_SLIP = "SV-4"
"""The odometer of its visit of 15 January 2025 has lost a digit."""
VANISHED = "SV-6"
"""Not seen since September 2024, and never retired."""
RETIRED = "PV-7"
"""Retired on 30 September 2024."""
JUST_JOINED = "PU-5"
"""Joined new on 18 June 2026; no reading yet."""
SQUEALING_LINE = "line K"
"""Half of the pad jobs done with it bring the vehicle back with a squeal."""
SKIPS_HUB_FACES = "T3"
"""This technician does not clean hub faces; many of the disc jobs pulsate 4,000 to 12,000 km later."""
WRITES_BOUNDS = "T2"
"""This technician writes a pad under 2 mm as <2."""
NO_FUEL_CARD = ("PV-5", "PV-9", "SV-2", "SV-8", "MB-3", "PU-4")

CLASSES = (
    WearClass(
        "panel van",
        0.33,
        Brake(1.5),
        Brake(1.0, new_mm=11.0, mate_new_mm=16.0, mate_machine_to_mm=14.6, mate_discard_mm=14.0),
        105.0,
        "panel van, long roof",
    ),
    WearClass(
        "small van",
        0.28,
        Brake(1.3, mate_new_mm=24.0, mate_machine_to_mm=22.6, mate_discard_mm=22.0),
        Brake(0.35, **simulate.DRUM),
        90.0,
        "small van, two seats",
    ),
    WearClass(
        "pickup",
        0.22,
        Brake(1.4, mate_new_mm=30.0, mate_machine_to_mm=28.6, mate_discard_mm=28.0),
        Brake(1.2, new_mm=10.0, mate_new_mm=20.0, mate_machine_to_mm=18.6, mate_discard_mm=18.0),
        95.0,
        "pickup, crew cab",
    ),
    WearClass("minibus", 0.17, Brake(1.9), Brake(1.5, new_mm=11.0), 110.0, "minibus, sixteen seats"),
)
EFFECTS = simulate.Effects(use=0.2)
PREFIXES = ("PV", "SV", "PU", "MB")

SQUEAL = (
    "squeals at low speed since the {axle} pads were done",
    "{AXLE} BRAKES SQUEAL COMING UP TO LIGHTS",
    "high pitched squeal from {axle}, worst first thing in the morning",
    "squeal {axle} lt pedal, gone when hot",
    "driver says the {axle} brakes whistle all round the estate",
    "{AXLE} SQUEAL ON LIGHT BRAKING",
)
PULSATION = (
    "brake pedal pulses from motorway speed",
    "SHAKES WHEN BRAKING DOWNHILL",
    "judder under braking, {axle} I think, getting worse",
    "pulsation {axle} 80 to 50",
    "the whole vehicle shudders when I slow down for the slip road",
    "PULSING IN PEDAL, WAS FINE AFTER PADS",
)
WORN = (
    "grinding from the {axle} when stopping",
    "{AXLE} GRINDS, THIN?",
    "scraping noise {axle}, every stop",
    "pad light came on last week",
    "needs {axle} pads by the sound of it",
)
OTHER = (
    "heater blows cold on feet",
    "RATTLE FROM LOAD DOOR OVER BUMPS",
    "hums above 70, changes in bends, bearing?",
    "wipers smear",
    "clunk from the rear over speed humps, not when braking",
    "SEAT BELT SLOW TO ROLL UP",
    "tyre on the left front looks low",
    "engine light on and off",
)
CONTENT = (
    "service only, no brake noise",
    "DRIVER HAPPY WITH BRAKES",
    "no squeal any more since last visit",
    "nothing to report, asks if pads will last the winter",
)
STICKING_COMPLAINT = "pulls right when braking and a hot smell from right front wheel"
STICKING_NOTE = "right inner far thinner than outer, slide tight"
RUNOUT_NOTE = "hub face rusty, runout high, cleaned and refitted"


def build() -> dict[str, pd.DataFrame]:
    """The demo's tables, as `Fleet.tables`: what is true, what was read, then what the shop wrote around it."""
    world = _world()
    made = simulate.walk(world, slip_share=0, unrecorded_share=0, inspection_interval_days=90, log_every_days=30)
    tables = {name: table.astype(object) if name in ("visits", "work") else table.copy() for name, table in made.tables.items()}
    rng = np.random.default_rng([SEED, 1])
    jobs = _jobs(world, tables, rng)
    tables["work"] = _job_rows(tables["work"], jobs, rng)
    tables["measurements"] = _with_runout(tables["measurements"], jobs, rng)
    _everyday_complaints(tables["visits"], jobs, rng)
    _add_comebacks(world, tables, jobs, rng)
    _plant_unrecorded_change(tables, jobs)
    _write_bounds(tables)
    _plant_odometer_slip(tables["visits"])
    tables["limits"] = pd.concat([tables["limits"], _runout_limits()], ignore_index=True)
    log = tables["odometer_log"]
    tables["odometer_log"] = log[~log["vehicle_id"].isin(NO_FUEL_CARD)].reset_index(drop=True)
    return _in_order(tables)


def write(folder: str | Path) -> Path:
    """Write the demo records as CSV files into `folder`, made when absent."""
    return simulate.write(build(), folder)


def _world() -> simulate.World:
    """Forty vehicles, most of them there from the first year, with the stories of wear and use planted."""
    world = simulate.draw_world(VEHICLES, YEARS, SEED, end_date=END_DATE, classes=CLASSES, effects=EFFECTS, retired_share=0.0)
    ids = _ids(world.class_of)
    day_of = {
        name: float((np.datetime64(date) - world.first_day).astype(int))
        for name, date in (
            ("doubled", "2025-04-01"),
            ("last seen", "2024-12-20"),
            ("retired", "2024-09-30"),
            ("joined", "2026-06-18"),
        )
    }
    stories = np.isin(ids, (STICKING_SLIDE, UNRECORDED_CHANGE, USE_DOUBLED, ODOMETER_SLIP, VANISHED, RETIRED))
    in_service_day = np.floor(world.in_service_day * np.where(stories, 0.05, 0.5))
    new = ids == JUST_JOINED
    log_effect = world.log_effect.copy()
    log_effect[ids == STICKING_SLIDE, 0, 2] = log_effect[ids == STICKING_SLIDE, 0, 3] + np.log(1.9)
    km_a_day = world.km_a_day.copy()
    km_a_day[ids == USE_DOUBLED, int(day_of["doubled"] // 7) :] *= 2
    return replace(
        world,
        vehicle_id=ids,
        log_effect=log_effect,
        km_a_day=km_a_day,
        joined_new=world.joined_new | new,
        in_service_day=np.where(new, day_of["joined"], in_service_day),
        in_service_km=np.where(new, 12.0, world.in_service_km),
        first_start_km=np.where(new[:, None], 0.0, world.first_start_km),
        retired_day=np.where(ids == RETIRED, day_of["retired"], np.nan),
        last_seen_day=np.select([ids == VANISHED, new], [day_of["last seen"], day_of["joined"] - 1], world.days),
    )


def _ids(class_of: np.ndarray) -> np.ndarray:
    """PV-1, PV-2, ..., SV-1, ...: each kind numbered in turn."""
    number = pd.Series(class_of).groupby(class_of).cumcount() + 1
    return np.array([f"{PREFIXES[kind]}-{n}" for kind, n in zip(class_of, number, strict=True)], dtype=object)


def _jobs(world: simulate.World, tables: dict[str, pd.DataFrame], rng: np.random.Generator) -> pd.DataFrame:
    """One row a change of linings, with how it was done and what it will lead to.

    Columns: visit_id, axle, vehicle_id, vehicle (row of the world), technician, odometer, next_odometer (of the axle's
    next job, else the last known), disc, product_line, hub_face, hub_clean, squeals, pulsates.
    """
    work = tables["work"]
    jobs = work.loc[work["part"].isin(["pads", "shoes"]), ["visit_id", "axle", "part"]].merge(
        tables["visits"][["visit_id", "vehicle_id", "technician", "odometer"]], on="visit_id"
    )
    rows = pd.Series(np.arange(len(world.vehicle_id)), index=world.vehicle_id)
    jobs["vehicle"] = rows[jobs["vehicle_id"]].to_numpy()
    last_day = np.fmin(np.minimum(world.last_seen_day, world.days), world.retired_day)[jobs["vehicle"]]
    last_km = simulate.Odometers(world).at(last_day, jobs["vehicle"].to_numpy())
    jobs["next_odometer"] = jobs.groupby(["vehicle_id", "axle"])["odometer"].shift(-1).fillna(pd.Series(last_km))
    count = len(jobs)
    jobs["disc"] = jobs["part"] == "pads"
    lines = rng.choice(["line K", "line M", "line R", None], count, p=[0.3, 0.32, 0.28, 0.1])
    jobs["product_line"] = np.where(jobs["disc"], lines, "line S")
    skips = jobs["technician"] == SKIPS_HUB_FACES
    draw = rng.random(count)
    jobs["hub_face"] = np.where(
        skips,
        np.where(draw < 0.75, "not_done", None),
        np.where(draw < 0.8, "cleaned", np.where(draw < 0.84, "not_done", None)),
    )
    jobs["hub_clean"] = ~(skips | (jobs["hub_face"] == "not_done"))
    jobs["squeals"] = jobs["disc"] & (rng.random(count) < np.where(jobs["product_line"] == SQUEALING_LINE, 0.5, 0.06))
    jobs["pulsates"] = jobs["disc"] & (rng.random(count) < np.where(jobs["hub_clean"], 0.04, 0.55))
    return jobs


def _job_rows(work: pd.DataFrame, jobs: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """The work table with product lines and costs, and what else was done, or knowingly not done, at each job."""
    count = len(jobs)
    key = [work["visit_id"], work["axle"]]
    lines = jobs.set_index(["visit_id", "axle"])["product_line"]
    lining = work["part"].isin(["pads", "shoes"])
    work["product_line"] = np.where(lining, lines.reindex(pd.MultiIndex.from_arrays(key)).to_numpy(), None)
    price = work["part"].map({"pads": 88, "shoes": 74, "rotor": 164, "drum": 190})
    price = price.where(work["action"] != "machined", 60)
    work["cost"] = np.round(price.to_numpy(dtype=float) * rng.uniform(0.85, 1.2, len(work))).astype(int).astype(object)
    slides = np.where(
        jobs["vehicle_id"] == STICKING_SLIDE,
        "not_done",
        rng.choice(["lubricated", "freed", None], count, p=[0.55, 0.08, 0.37]),
    )

    def done(share: float, action: str) -> np.ndarray:
        """`action` at this share of the jobs, nothing noted at the others."""
        return np.where(rng.random(count) < share, action, None)

    extras = {
        "hub_face": np.where(jobs["disc"], jobs["hub_face"], None),
        "hardware": done(0.6, "replaced"),
        "slide_pins": np.where(jobs["disc"], slides, None),
        "wheel_nuts": done(0.85, "torqued"),
        "pads": np.where(jobs["disc"], done(0.6, "bedded"), None),
    }
    more = pd.concat([jobs[["visit_id", "axle"]].assign(part=part, action=action) for part, action in extras.items()])
    more = more[more["action"].notna()].assign(side="both")
    more.loc[(more["part"] == "hardware"), "cost"] = 19
    sticking = more["visit_id"].isin(jobs.loc[jobs["vehicle_id"] == STICKING_SLIDE, "visit_id"])
    more.loc[sticking & (more["part"] == "slide_pins") & (more["axle"] == "front"), "note"] = STICKING_NOTE
    return pd.concat([work, more.astype(object)], ignore_index=True).reindex(columns=simulate.columns_of("work"))


def _with_runout(measurements: pd.DataFrame, jobs: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """The readings with runout after fitting, taken at about half of the disc jobs, both sides."""
    read = jobs[jobs["disc"] & (rng.random(len(jobs)) < 0.5)]
    typical = np.where(read["hub_clean"], 0.028, 0.062)
    rows = [
        read[["visit_id", "axle"]].assign(
            side=side,
            part="rotor",
            measure="runout",
            unit="mm",
            taken="after",
            value=np.round(typical * rng.lognormal(0, 0.3, len(read)), 2),
        )
        for side in ("left", "right")
    ]
    return pd.concat([measurements, *rows], ignore_index=True)


def _everyday_complaints(visits: pd.DataFrame, jobs: pd.DataFrame, rng: np.random.Generator) -> None:
    """What drivers say at planned visits: mostly nothing, some other fault, and at a third of the jobs a worn brake."""
    draw = rng.random(len(visits))
    planned = (visits["reason"] == "inspection").to_numpy()
    for low, high, texts in ((0.0, 0.09, OTHER), (0.09, 0.14, CONTENT)):
        spoken = planned & (draw >= low) & (draw < high)
        visits.loc[spoken, "complaint"] = rng.choice(np.array(texts, dtype=object), spoken.sum())
    first = jobs.drop_duplicates("visit_id")
    worn = first[rng.random(len(first)) < 0.35]
    texts = _spoken(WORN, worn["axle"], rng)
    visits.loc[visits["visit_id"].isin(worn["visit_id"]), "complaint"] = visits["visit_id"].map(
        dict(zip(worn["visit_id"], texts, strict=True))
    )
    sticking = jobs.loc[(jobs["vehicle_id"] == STICKING_SLIDE) & (jobs["axle"] == "front"), "visit_id"].iloc[-1]
    visits.loc[visits["visit_id"] == sticking, "complaint"] = STICKING_COMPLAINT


def _spoken(texts: tuple[str, ...], axle: pd.Series, rng: np.random.Generator) -> list[str]:
    """One sentence for each axle, with the axle's name put in."""
    chosen = rng.integers(0, len(texts), len(axle))
    return [texts[i].format(axle=name, AXLE=name.upper()) for i, name in zip(chosen, axle, strict=True)]


def _add_comebacks(world: simulate.World, tables: dict[str, pd.DataFrame], jobs: pd.DataFrame, rng: np.random.Generator) -> None:
    """Add the visits at which squealing and pulsating jobs come back, and what was found then."""
    odometers = simulate.Odometers(world)
    squeal_km = jobs["odometer"] + rng.uniform(400, 5_000, len(jobs))
    pulse_km = jobs["odometer"] + rng.uniform(4_000, 12_000, len(jobs))
    back = pd.concat(
        [
            jobs[jobs["squeals"]].assign(back_km=squeal_km, kind="squeal"),
            jobs[jobs["pulsates"]].assign(back_km=pulse_km, kind="pulsation"),
        ]
    )
    back = back[back["back_km"] < back["next_odometer"]]
    day = np.floor(odometers.day_of(back["back_km"].to_numpy(), back["vehicle"].to_numpy()))
    back = back.assign(
        date=(world.first_day + day.astype(int)).astype("datetime64[s]"),
        back_km=odometers.at(day, back["vehicle"].to_numpy()),
    )
    seen = (
        pd.concat([tables["visits"][["vehicle_id", "date"]].astype({"date": "datetime64[s]"}), back[["vehicle_id", "date"]]])
        .duplicated()
        .to_numpy()[-len(back) :]
    )
    back = back[~seen]
    back_id = np.array([f"back {n}" for n in range(len(back))], dtype=object)
    squeal = (back["kind"] == "squeal").to_numpy()
    complaint = np.where(squeal, _spoken(SQUEAL, back["axle"], rng), _spoken(PULSATION, back["axle"], rng))
    visits = pd.DataFrame(
        {
            "visit_id": back_id,
            "vehicle_id": back["vehicle_id"].to_numpy(),
            "date": back["date"].to_numpy(),
            "odometer": np.floor(back["back_km"]).astype(int).to_numpy(),
            "odometer_unit": "km",
            "reason": "complaint",
            "complaint": complaint,
            "technician": rng.choice(["T1", "T2", "T4"], len(back)),
            "note": np.where(~squeal & ~back["hub_clean"].to_numpy(), RUNOUT_NOTE, None),
        }
    )
    tables["visits"] = pd.concat([tables["visits"], visits.astype(object)], ignore_index=True)
    place = pd.DataFrame({"visit_id": back_id, "axle": back["axle"].to_numpy(), "side": "both"})
    hours = np.random.default_rng([SEED, 2])
    tables["work"] = pd.concat(
        [
            tables["work"],
            place[squeal].assign(part="hardware", action="lubricated", cost=_hours(hours, squeal.sum(), 42)),
            place[~squeal].assign(part="rotor", action="checked", cost=_hours(hours, (~squeal).sum(), 95)),
            *[
                place[~squeal].assign(part=part, action=action)
                for part, action in (("hub_face", "cleaned"), ("wheel_nuts", "torqued"))
            ],
        ],
        ignore_index=True,
    )
    found = place[~squeal].assign(part="rotor", unit="mm")
    found_then = (
        ("runout", "before", 0.075, 2),
        ("thickness_variation", "before", 0.022, 3),
        ("runout", "after", 0.03, 2),
    )
    readings = [
        found.assign(
            side=side,
            measure=measure,
            taken=taken,
            value=np.round(typical * rng.lognormal(0, 0.25, len(found)), digits),
        )
        for side in ("left", "right")
        for measure, taken, typical, digits in found_then
    ]
    tables["measurements"] = pd.concat([tables["measurements"], *readings], ignore_index=True)


def _hours(rng: np.random.Generator, count: int, typical: float) -> np.ndarray:
    """What the hours of a return cost, written down three times in four."""
    cost = np.round(typical * rng.uniform(0.7, 1.6, count)).astype(int).astype(object)
    return np.where(rng.random(count) < 0.75, cost, None)


def _plant_unrecorded_change(tables: dict[str, pd.DataFrame], jobs: pd.DataFrame) -> None:
    """Take out what was written of one pad change, and leave the visit as if nothing had been done."""
    lost = jobs.loc[(jobs["vehicle_id"] == UNRECORDED_CHANGE) & (jobs["axle"] == "front"), "visit_id"].iloc[1]
    there = {name: (tables[name]["visit_id"] == lost) & (tables[name]["axle"] == "front") for name in ("work", "measurements")}
    tables["work"] = tables["work"][~there["work"]]
    readings = tables["measurements"][~(there["measurements"] & (tables["measurements"]["taken"] == "after"))]
    tables["measurements"] = readings.assign(taken=readings["taken"].mask(there["measurements"]))
    visits = tables["visits"]
    visits.loc[visits["visit_id"] == lost, ["reason", "complaint"]] = ["inspection", None]


def _write_bounds(tables: dict[str, pd.DataFrame]) -> None:
    """Write the thin pads of one technician as a bound."""
    visits, readings = tables["visits"], tables["measurements"]
    theirs = readings["visit_id"].isin(visits.loc[visits["technician"] == WRITES_BOUNDS, "visit_id"])
    thin = theirs & readings["part"].str.endswith("pad") & (readings["value"] < 2)
    tables["measurements"] = readings.assign(value=readings["value"].astype(object).mask(thin, "<2"))


def _plant_odometer_slip(visits: pd.DataFrame) -> None:
    """Lose the third digit of one odometer."""
    theirs = visits.index[
        (visits["vehicle_id"] == ODOMETER_SLIP)
        & (visits["reason"] == "inspection")
        & (visits["date"] >= pd.Timestamp("2024-01-01"))
    ]
    written = str(visits.loc[theirs[1], "odometer"])
    visits.loc[theirs[1], "odometer"] = int(written[:2] + written[3:])


def _runout_limits() -> pd.DataFrame:
    """Runout and thickness variation, the same for every rotor of the depot, in mm."""
    rows = pd.DataFrame({"measure": ["runout", "thickness_variation"], "discard_at": [0.05, 0.02]})
    rows = rows.assign(applies_to="*", axle="*", part="rotor", unit="mm", source="invented maker's sheet")
    return rows.reindex(columns=simulate.columns_of("limits"))


def _in_order(tables: dict[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    """Number the visits by date, sort what belongs to them the same way, and give the columns plain types."""
    visits = tables["visits"].sort_values(["date", "odometer"], kind="stable", ignore_index=True)
    number = pd.Series(np.arange(1, len(visits) + 1), index=visits["visit_id"])
    visits = visits.assign(
        visit_id=[f"W{n}" for n in number],
        date=pd.to_datetime(visits["date"]).dt.as_unit("s"),
        odometer=visits["odometer"].astype(int),
    )
    done = {}
    for name in ("measurements", "work"):
        table = tables[name]
        order = number[table["visit_id"]].to_numpy()
        table = table.assign(visit_id=[f"W{n}" for n in order], order=order)
        done[name] = table.sort_values(["order", "axle"], kind="stable", ignore_index=True).drop(columns="order")
    done["work"] = done["work"].astype({"cost": "Int64"})
    vehicles = tables["vehicles"].sort_values("wear_class", kind="stable", ignore_index=True)
    return {**tables, "vehicles": vehicles, "visits": visits, **done}


def main(arguments: list[str] | None = None) -> None:
    """Write the demo records into the folder named on the command line."""
    parser = argparse.ArgumentParser(prog="python -m brakedata.demo", description="Write the demo records.")
    parser.add_argument("folder", help="where to write them; made when absent")
    write(parser.parse_args(arguments).folder)


if __name__ == "__main__":
    main()
