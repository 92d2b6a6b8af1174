"""Lives of linings, rotors and drums: which reading belongs to which fitted part.

A life begins when a part is fitted and ends when it is replaced. Recorded replacements cut a side's readings into lives
(a ``before`` reading of that visit belongs to the life that ends there, an ``after`` reading to the new one). Where the
thickness jumps up and no job is recorded, a change is proposed (R40); a person's yes or no in ``records.toml`` settles it,
until then the proposed change is taken as one.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata import findings
from brakedata.limits import part_family
from brakedata.records import Records

JUMP_MM = {"lining": 2.0, "park_brake": 2.0, "rotor": 0.6, "drum": 0.6}
"""A mean growth of a side's readings by this much opens a new life. 2 mm finds nearly all changes of linings and is rarely
a misreading; 1 mm is mostly gauge (simulated; common practice, no source)."""
BOTH_SIDES_JUMP_MM = 1.5
MISREAD_RETURN_MM = 0.3
JOINED_NEW_KM = 1000.0
"""A vehicle whose odometer was under this when it joined came new (a vehicle that joins new has run a delivery trip; common
practice, no source)."""
SIDE_KEY = ["vehicle_id", "axle", "side", "family"]
AXLE_LOOK = ["vehicle_id", "axle", "family", "order"]


@dataclass(frozen=True)
class Lives:
    """Lives and their readings up to the as-of date.

    Attributes
    ----------
    as_of : Timestamp
    readings : DataFrame
        One row a usable reading: ``vehicle_id, wear_class, duty, axle, side, part, family`` (lining, park_brake, rotor, drum),
        ``visit_id, visit_no, date, odometer_km, value_mm, value_written, unit, factor, taken, technician, row, life_id,
        axle_life_id``; sorted by vehicle, axle, family, side, part and time.
    lives : DataFrame, index ``life_id``
        One row a life of a side: ``vehicle_id, axle, side, family, start_kind`` (job, new_vehicle, jump, unknown),
        ``start_km`` (middle of what is known; NaN when unknown), ``start_low_km, start_high_km, start_date, product_line,
        end_kind`` (job, jump, running), ``end_km, end_date, axle_life_id`` (shared by sides fitted together), ``readings``.
    axles : DataFrame
        One row an axle of a vehicle in service at the as-of date: ``vehicle_id, wear_class, duty, axle, lining`` (pad or shoe).
    proposals : DataFrame
        Unrecorded changes: ``visit_id, vehicle_id, axle, side, date, before_mm, after_mm, since_date, answer`` ("", yes, no).
    findings : DataFrame
    """

    as_of: pd.Timestamp
    readings: pd.DataFrame
    lives: pd.DataFrame
    axles: pd.DataFrame
    proposals: pd.DataFrame
    findings: pd.DataFrame


def cut(records: Records, as_of=None) -> Lives:
    """Cut a fleet's readings into lives, using nothing dated after ``as_of`` (default: the newest date in the records).

    Returns
    -------
    Lives
    """
    as_of = records.newest_date if as_of is None else pd.Timestamp(as_of)
    found: list[pd.DataFrame] = []
    readings = _usable_readings(records, as_of, found)
    jobs = _jobs(records, as_of)
    axles = _axles(records, readings, jobs, as_of, found)
    sides = _sides(readings, jobs, axles)
    events = _start_events(sides, records, jobs)
    readings["side_code"] = _code(readings, sides)
    readings["order"] = 2 * readings["visit_no"] + readings["taken"].eq("after")
    events = events.sort_values(["side_code", "order"], kind="stable", ignore_index=True)
    readings["life_id"] = _assign(readings, events)
    readings = _time_sorted(readings)
    readings["start_visit"] = events["visit_no"].to_numpy()[readings["life_id"]]
    readings, jumps, proposals = _jumps(readings, sides, records.settings.pad_changes, found)
    events = pd.concat([events, jumps], ignore_index=True)
    events = events.sort_values(["side_code", "order"], kind="stable", ignore_index=True)
    readings["life_id"] = _assign(readings, events)
    lives = _life_table(events, readings)
    readings["axle_life_id"] = lives["axle_life_id"].to_numpy()[readings["life_id"]]
    return Lives(
        as_of,
        readings.drop(columns=["side_code", "order", "start_visit"]).reset_index(drop=True),
        lives, axles, proposals, findings.join(found),
    )  # fmt: skip


def _time_sorted(readings):
    return readings.sort_values(
        ["vehicle_id", "axle", "family", "side", "part", "order"], kind="stable", ignore_index=True
    )


def _usable_readings(records, as_of, found):
    """Readings of thickness (drums: diameter) that are numbers at a believed odometer, one a part and visit (R33)."""
    m = records.measurements
    right = np.where(m["part"].eq("drum"), m["measure"].eq("diameter"), m["measure"].eq("thickness"))
    m = m[right & m["value_mm"].notna() & (m["date"] <= as_of)]
    visits = records.visits[["visit_id", "odometer_km", "odometer_ok", "technician"]]
    m = m.merge(visits, on="visit_id", how="left")
    m = m[m["odometer_ok"]].reset_index(drop=True)
    family = part_family(m["part"])
    m["family"] = family.where(family.isin(("rotor", "drum")), "lining").mask(m["part"].eq("park_brake"), "park_brake")
    key = ["vehicle_id", "axle", "side", "part", "visit_no", "taken"]
    several = m.duplicated(key, keep=False).to_numpy()
    if several.any():
        worn_first = np.where(m["family"].eq("drum"), -m["value_mm"], m["value_mm"])
        m = m.assign(worn=worn_first).sort_values([*key, "worn"], kind="stable")
        set_aside = m[m.duplicated(key)]
        found.append(
            findings.make(
                "R33-several-readings", "measurements", row=set_aside["row"], vehicle_id=set_aside["vehicle_id"], column="value",
                value=set_aside["value_written"],
            )
        )  # fmt: skip
        m = m.drop_duplicates(key).drop(columns="worn").reset_index(drop=True)
    kind = records.vehicles[["vehicle_id", "wear_class", "duty"]]
    return m.drop(columns=["low", "high", "value", "measure", "low_mm", "high_mm"]).merge(kind, on="vehicle_id", how="left")


def _jobs(records, as_of):
    """Recorded replacements (rotors and drums: also machining), one row a side."""
    w = records.work
    family = w["part"].map({"pads": "lining", "shoes": "lining", "rotor": "rotor", "drum": "drum"})
    cuts = w["action"].eq("replaced") | (family.isin(("rotor", "drum")) & w["action"].eq("machined"))
    w = w.assign(family=family)[family.notna() & cuts & (w["date"] <= as_of)]
    visits = records.visits[["visit_id", "clock_km"]]
    w = w.merge(visits, on="visit_id", how="left")
    return w.drop_duplicates(["visit_id", "axle", "side", "family"])[
        ["vehicle_id", "axle", "side", "family", "visit_no", "visit_id", "date", "clock_km", "product_line", "part"]
    ].reset_index(drop=True)


def _axles(records, readings, jobs, as_of, found):
    """Every axle of every vehicle in service: those its records name, its limits name, or its class has.

    R43 one axle under two names, R44 axles assumed.
    """
    vehicles = records.vehicles
    visited = records.visits[records.visits["date"] <= as_of]["vehicle_id"].unique()
    here = (vehicles["retired_date"].isna() | (vehicles["retired_date"] > as_of)) & (
        vehicles["in_service_date"].isna() | (vehicles["in_service_date"] <= as_of) | vehicles["vehicle_id"].isin(visited)
    )
    vehicles = vehicles[here][["vehicle_id", "wear_class", "duty", "row"]]
    lining = readings[readings["family"].eq("lining")]
    last = lining.sort_values(["date", "row"], kind="stable").drop_duplicates(["vehicle_id", "axle"], keep="last")
    seen = last[["vehicle_id", "axle"]].assign(lining=part_family(last["part"]))
    worked = jobs[jobs["family"].eq("lining")][["vehicle_id", "axle"]].assign(lining="")
    worked["lining"] = jobs[jobs["family"].eq("lining")]["part"].map({"pads": "pad", "shoes": "shoe"})
    known = pd.concat([seen, worked], ignore_index=True).drop_duplicates(["vehicle_id", "axle"])
    lim = records.limits
    lim = lim[lim["part"].isin(("pad", "shoe")) & lim["axle"].ne("*")][["applies_to", "axle", "part"]]
    own = lim.rename(columns={"applies_to": "vehicle_id", "part": "lining"})
    by_class = vehicles.merge(lim.rename(columns={"applies_to": "wear_class", "part": "lining"}), on="wear_class")
    peers = known.merge(vehicles, on="vehicle_id")
    size = peers.groupby("wear_class")["vehicle_id"].nunique()
    common = peers.groupby(["wear_class", "axle", "lining"])["vehicle_id"].nunique().reset_index(name="count")
    common = common[common["count"] >= 0.5 * common["wear_class"].map(size)]
    by_peers = vehicles.merge(common, on="wear_class")
    every = lim[lim["applies_to"].eq("*")].drop(columns="applies_to").rename(columns={"part": "lining"})
    named = vehicles.merge(every, how="cross")
    columns = ["vehicle_id", "axle", "lining"]
    sources = [known[columns], own[columns], by_class[columns], by_peers[columns]]
    axles = pd.concat(sources, ignore_index=True).drop_duplicates(["vehicle_id", "axle"])
    axles = axles[axles["vehicle_id"].isin(vehicles["vehicle_id"])]
    numbered = axles.loc[~axles["axle"].isin(("front", "rear")), "vehicle_id"].unique()
    axles = pd.concat([axles, named[~named["vehicle_id"].isin(numbered)][columns]]).drop_duplicates(["vehicle_id", "axle"])
    none = vehicles[~vehicles["vehicle_id"].isin(axles["vehicle_id"])]
    if len(none):
        found.append(findings.make("R44-axle-assumed", "vehicles", row=none["row"], vehicle_id=none["vehicle_id"]))
        assumed = none[["vehicle_id"]].merge(pd.DataFrame({"axle": ["front", "rear"], "lining": "pad"}), how="cross")
        axles = pd.concat([axles, assumed])
    mixed = set(axles.loc[axles["axle"].eq("front"), "vehicle_id"]) & set(axles.loc[axles["axle"].eq("1"), "vehicle_id"])
    if mixed:
        odd = vehicles[vehicles["vehicle_id"].isin(mixed)]
        found.append(findings.make("R43-axle-two-names", "measurements", vehicle_id=odd["vehicle_id"], column="axle"))
    axles = axles.merge(vehicles.drop(columns="row"), on="vehicle_id", how="left")
    axles = axles.sort_values(["vehicle_id", "axle"], kind="stable", ignore_index=True)
    return axles[["vehicle_id", "wear_class", "duty", "axle", "lining"]]


def _sides(readings, jobs, axles):
    """Every side of every axle and family that has a life: measured ones, and both sides where the axle is told apart."""
    seen = readings[["vehicle_id", "axle", "family", "side"]].drop_duplicates()
    owners = pd.concat(
        [
            seen[["vehicle_id", "axle", "family"]],
            jobs[["vehicle_id", "axle", "family"]],
            axles[["vehicle_id", "axle"]].assign(family="lining"),
        ]
    ).drop_duplicates()
    whole = seen[seen["side"].eq("")]
    told_apart = seen[seen["side"].ne("")][["vehicle_id", "axle", "family"]].drop_duplicates()
    unseen = owners.merge(seen[["vehicle_id", "axle", "family"]].drop_duplicates(), how="left", indicator=True)
    unseen = unseen[unseen["_merge"].eq("left_only")].drop(columns="_merge")
    both = pd.concat([told_apart, unseen]).drop_duplicates().merge(pd.DataFrame({"side": ["left", "right"]}), how="cross")
    sides = pd.concat([whole, both], ignore_index=True)[SIDE_KEY]
    return sides.sort_values(["vehicle_id", "axle", "family", "side"], kind="stable", ignore_index=True)


def _code(frame, sides):
    """Place of each row's side in ``sides``."""
    index = pd.MultiIndex.from_frame(sides.astype("object"))
    return index.get_indexer(pd.MultiIndex.from_frame(frame[SIDE_KEY].astype("object")))


def _start_events(sides, records, jobs):
    """Where lives begin by the records: every side's first life, and one a recorded job and side."""
    vehicle = records.vehicles.set_index("vehicle_id")
    start = sides["vehicle_id"].map(vehicle["in_service_odometer_km"]).to_numpy()
    new = start <= JOINED_NEW_KM
    first = pd.DataFrame(
        {
            "side_code": np.arange(len(sides)), "order": -1.0, "kind": np.where(new, "new_vehicle", "unknown"),
            "start_km": np.where(new, start, np.nan), "start_low_km": np.where(new, start, np.nan),
            "start_high_km": np.where(new, start, np.nan), "visit_no": -1, "product_line": "",
            "start_date": sides["vehicle_id"].map(vehicle["in_service_date"]).where(new),
        }
    )  # fmt: skip
    job = jobs.merge(sides.assign(side_code=np.arange(len(sides))), on=["vehicle_id", "axle", "family"], suffixes=("", "_of"))
    job = job[job["side"].eq("both") | job["side_of"].eq("") | job["side"].eq(job["side_of"])]
    one_sided = job["side"].ne("both") & job["side_of"].eq("")
    known_km = job["clock_km"].where(~one_sided)
    from_job = pd.DataFrame(
        {
            "side_code": job["side_code"], "order": 2.0 * job["visit_no"] + 0.5,
            "kind": np.where(one_sided | job["clock_km"].isna(), "unknown", "job"),
            "start_km": known_km, "start_low_km": known_km, "start_high_km": known_km,
            "visit_no": job["visit_no"], "product_line": job["product_line"], "start_date": job["date"],
        }
    ).drop_duplicates(["side_code", "order"])  # fmt: skip
    events = pd.concat([first, from_job], ignore_index=True)
    for name in SIDE_KEY:
        events[name] = sides[name].to_numpy()[events["side_code"]]
    return events


def _assign(readings, events):
    """Life (place in ``events``) of each reading: the last event of its side before it."""
    span = 2 * max(readings["visit_no"].max() if len(readings) else 0, events["visit_no"].max() if len(events) else 0) + 10
    keys = events["side_code"].to_numpy() * float(span) + events["order"].to_numpy()
    asked = readings["side_code"].to_numpy() * float(span) + readings["order"].to_numpy()
    return np.searchsorted(keys, asked, side="left") - 1


def _jumps(readings, sides, answers, found):
    """R40 unrecorded changes, R41 lone misreadings, R42 swapped sides.

    Growth since the last look is averaged over the readings of a side (less gauge noise), over the axle where both sides
    grew, and compared through the thinnest reading where the parts written down differ from look to look.
    """
    r = _growth(readings)
    look = r.drop_duplicates(["side_code", "order"])
    axle = look.groupby(AXLE_LOOK, sort=False)["side_grew"].agg(["min", "max", "mean", "size"])
    axle = axle.join(_thinnest_growth(readings), how="left")
    at = pd.MultiIndex.from_frame(r[AXLE_LOOK])
    least, most, mean, number, thinnest = (axle[name].reindex(at).to_numpy() for name in ("min", "max", "mean", "size", "thinnest"))
    lining = r["family"].eq("lining").to_numpy()
    limit = r["family"].map(JUMP_MM).to_numpy()
    swapped = lining & (number == 2) & (most >= 2.0) & (least <= -2.0) & (np.abs(most + least) <= 0.5 * most)
    together = lining & (number == 2) & (mean >= BOTH_SIDES_JUMP_MM) & (least >= 1.0)
    whole = together | (thinnest >= limit)
    jumped = ((r["side_grew"] >= limit).to_numpy() | whole) & ~swapped
    misread = jumped & (r["side_returned"] <= MISREAD_RETURN_MM).to_numpy()
    for code, wrong in (("R41-reading-misfit", misread), ("R42-sides-swapped", swapped)):
        if wrong.any():
            rows = r[wrong]
            found.append(
                findings.make(
                    code, "measurements", row=rows["row"], vehicle_id=rows["vehicle_id"], column="value",
                    value=rows["value_written"],
                )
            )  # fmt: skip
    fresh = r.assign(whole=whole | (number == 1), before_mm=r["last_mm"])[jumped & ~misread]
    changes = (
        fresh.groupby(AXLE_LOOK, sort=False)
        .agg(
            visit_id=("visit_id", "first"), visit_no=("visit_no", "first"), date=("date", "first"), row=("row", "min"),
            odometer_km=("odometer_km", "first"), last_km=("look_km", "max"), last_date=("look_date", "max"),
            before_mm=("before_mm", "mean"), after_mm=("value_mm", "mean"), whole=("whole", "max"),
            side=("side", lambda side: side.iloc[0] if side.nunique() == 1 else ""), thinnest_before=("thinnest_before", "min"),
        )
        .reset_index()
    )  # fmt: skip
    changes["before_mm"] = changes["before_mm"].fillna(changes["thinnest_before"])
    changes["side"] = np.where(changes["whole"] | changes["side"].eq(""), "both", changes["side"])
    proposals = _proposals(changes, answers, found)
    refused = set(map(tuple, proposals[proposals["answer"].eq("no")][["visit_id", "axle"]].to_numpy()))
    kept = [(visit, axle) not in refused for visit, axle in zip(changes["visit_id"], changes["axle"])]
    starts = changes[np.array(kept, dtype=bool)].merge(
        sides.assign(side_code=np.arange(len(sides))), on=["vehicle_id", "axle", "family"], suffixes=("", "_of")
    )
    starts = starts[starts["side"].eq("both") | starts["side_of"].eq("") | starts["side"].eq(starts["side_of"])]
    jumps = pd.DataFrame(
        {
            "side_code": starts["side_code"], "order": starts["order"] - 0.25, "kind": "jump",
            "start_km": (starts["last_km"] + starts["odometer_km"]) / 2, "start_low_km": starts["last_km"],
            "start_high_km": starts["odometer_km"], "visit_no": starts["visit_no"], "product_line": "",
            "start_date": starts["date"], "vehicle_id": starts["vehicle_id"], "axle": starts["axle"],
            "side": starts["side_of"], "family": starts["family"],
        }
    )  # fmt: skip
    return readings[~(misread | swapped)].reset_index(drop=True), jumps, proposals


def _growth(readings):
    """Readings with their growth since the part's last reading of this life, and the side's mean of it.

    ``last_mm`` the part's last reading; ``side_returned`` how far the side's next readings lie over its last ones;
    ``look_km, look_date`` the axle's last look.
    """
    track = readings.groupby(["life_id", "part"], sort=False)["value_mm"]
    sign = np.where(readings["family"].eq("drum"), -1.0, 1.0)
    r = readings.assign(
        grew=sign * track.diff().to_numpy(), last_mm=track.shift(1),
        returned=sign * (track.shift(-1) - track.shift(1)).to_numpy(),
    )  # fmt: skip
    side = r.groupby(["side_code", "order"], sort=False)[["grew", "returned"]].transform("mean")
    r["side_grew"], r["side_returned"] = side["grew"], side["returned"]
    looks = readings.drop_duplicates(AXLE_LOOK).sort_values(AXLE_LOOK, kind="stable")
    earlier = looks.groupby(["vehicle_id", "axle", "family"], sort=False)[["odometer_km", "date", "value_mm"]].shift(1)
    looks = looks.assign(look_km=earlier["odometer_km"], look_date=earlier["date"], thinnest_before=earlier["value_mm"])
    return r.merge(looks[[*AXLE_LOOK, "look_km", "look_date", "thinnest_before"]], on=AXLE_LOOK, how="left")


def _thinnest_growth(readings) -> pd.Series:
    """Growth of an axle's thinnest lining between looks at which all of it was seen, index ``AXLE_LOOK``, in one life.

    All of an axle is seen by one reading of the axle as a whole, or by both sides, each through ``pad`` (``shoe``) or both parts.
    """
    lining = readings[readings["family"].eq("lining")]
    thin = lining["part"].isin(("pad", "shoe"))
    side = lining.assign(seen=np.where(thin, 2, 1)).groupby([*AXLE_LOOK, "side"], sort=False)
    side = side.agg(thinnest=("value_mm", "min"), seen=("seen", "sum"), life=("start_visit", "max")).reset_index()
    side = side[side["seen"] >= 2].assign(sides=np.where(side.loc[side["seen"] >= 2, "side"].eq(""), 2, 1))
    look = side.groupby(AXLE_LOOK).agg(thinnest=("thinnest", "min"), sides=("sides", "sum"), life=("life", "max"))
    look = look[look["sides"] >= 2].reset_index()
    grew = look.groupby(["vehicle_id", "axle", "family", "life"], sort=False)["thinnest"].diff()
    return pd.Series(grew.to_numpy(), index=pd.MultiIndex.from_frame(look[AXLE_LOOK]), name="thinnest")


def _proposals(changes, answers, found):
    """One proposal an axle and visit, with the person's answer where there is one."""
    p = changes[changes["family"].eq("lining")].reset_index(drop=True)
    said = [answers.get((v, a, s), answers.get((v, a, "both"))) for v, a, s in zip(p["visit_id"], p["axle"], p["side"])]
    p["answer"] = pd.Series(["" if yes is None else "yes" if yes else "no" for yes in said], dtype="str")
    p = p.rename(columns={"last_date": "since_date"})
    open_ones = p[p["answer"].eq("")]
    if len(open_ones):
        found.append(
            findings.make(
                "R40-change-unrecorded", "measurements", row=open_ones["row"], vehicle_id=open_ones["vehicle_id"],
                column=open_ones["axle"] + " " + open_ones["side"],
                value=open_ones["before_mm"].map("{:.1f}".format) + " to " + open_ones["after_mm"].map("{:.1f} mm".format),
                reading="changed by visit " + open_ones["visit_id"] + " of " + open_ones["date"].dt.strftime("%Y-%m-%d"),
            )
        )  # fmt: skip
    columns = ["visit_id", "vehicle_id", "axle", "side", "date", "since_date", "before_mm", "after_mm", "row", "answer"]
    return p[columns].sort_values(["vehicle_id", "date", "axle"], kind="stable", ignore_index=True)


def _life_table(events, readings):
    """The lives, with where each ends and which were fitted together."""
    lives = events.rename(columns={"kind": "start_kind"}).copy()
    following = lives.groupby("side_code", sort=False)
    lives["end_km"] = following["start_km"].shift(-1)
    lives["end_date"] = following["start_date"].shift(-1)
    lives["end_kind"] = following["start_kind"].shift(-1).fillna("running")
    together = lives["start_kind"].where(lives["start_kind"].ne("new_vehicle"), "unknown")
    key = pd.MultiIndex.from_arrays([lives["vehicle_id"], lives["axle"], lives["family"], lives["visit_no"], together])
    lives["axle_life_id"] = pd.factorize(key)[0]
    lives["readings"] = np.bincount(readings["life_id"], minlength=len(lives))
    lives.index = pd.RangeIndex(len(lives), name="life_id")
    return lives[
        ["vehicle_id", "axle", "side", "family", "start_kind", "start_km", "start_low_km", "start_high_km", "start_date",
         "product_line", "end_kind", "end_km", "end_date", "axle_life_id", "readings"]
    ]  # fmt: skip
