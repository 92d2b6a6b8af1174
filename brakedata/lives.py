"""Lives of linings, rotors and drums: which reading belongs to which fitted part.

A life begins when a part is fitted and ends when it is replaced. Recorded replacements cut a side's readings into lives
(a ``before`` reading of that visit belongs to the life that ends there, an ``after`` reading to the new one). Where the
thickness jumps up and no job is recorded, a change is proposed (R40); a person's yes or no in ``records.toml`` settles it,
until then the proposed change is taken as one.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata import answered, codes, findings
from brakedata.columns import AXLE_NAMES
from brakedata.limits import part_family
from brakedata.records import Records

JUMP_MM = {"lining": 2.0, "park_brake": 2.0, "rotor": 0.6, "drum": 0.6}
"""A mean growth of a side's readings by this much opens a new life, less where much wear was due. 2 mm finds nearly all
changes of linings and is rarely a misreading; 1 mm is mostly gauge (simulated; common practice, no source)."""
PRIOR_WEAR_MM_PER_KM = 1e-4
LEAST_STRETCH_KM = 1000.0
"""Wear to expect where the records say nothing, 1 mm in 10,000 km; judged on stretches of 1,000 km or more (common practice,
no source)."""
CHANGE_PLACE = 1 / 3
"""Where between two looks an unrecorded change is taken to have happened: nearer the first, at which the lining was seen to be
thin and the work row is easily forgotten (common practice, no source)."""
JOINED_NEW_KM = 1000.0
"""A vehicle whose odometer was under this when it joined came new (a vehicle that joins new has run a delivery trip; common
practice, no source)."""
SLICE_ROWS = 200_000
"""Readings looked at together, about; a larger fleet is taken some axles at a time."""
SIDE_KEY = ["vehicle_id", "axle", "side", "family"]


@dataclass(frozen=True)
class Lives:
    """Lives and their readings up to the as-of date.

    Attributes
    ----------
    as_of : Timestamp
    readings : DataFrame
        One row a usable reading: ``vehicle_id, wear_class, duty, axle, side, part, family`` (lining, park_brake, rotor, drum),
        ``visit_id, visit_no, date, odometer_km`` (estimated by date where ``odometer_ok`` is False), ``value_mm,
        value_written, unit, factor, taken, technician, row, life_id, axle_life_id``; sorted by vehicle, axle, family, side,
        part and time.
    bounds : DataFrame
        As ``readings``, for bounds such as ``<2``: ``value_mm`` empty, ``low_mm`` or ``high_mm`` given.
    coded_readings, coded_bounds : DataFrame
        Both as they are kept: texts as codes (`codes`). ``readings`` and ``bounds`` write them out each time they are asked for.
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
    coded_readings: pd.DataFrame
    coded_bounds: pd.DataFrame
    lives: pd.DataFrame
    axles: pd.DataFrame
    proposals: pd.DataFrame
    findings: pd.DataFrame

    @property
    def readings(self) -> pd.DataFrame:
        """The readings with their texts written out."""
        return codes.plain(self.coded_readings)

    @property
    def bounds(self) -> pd.DataFrame:
        """The bounds with their texts written out."""
        return codes.plain(self.coded_bounds)


def cut(records: Records, as_of=None) -> Lives:
    """Cut a fleet's readings into lives, using nothing dated after ``as_of`` (default: the newest date in the records).

    Returns
    -------
    Lives
    """
    as_of = records.newest_date if as_of is None else pd.Timestamp(as_of)
    found: list[pd.DataFrame] = []
    readings, bounds = _usable_readings(records, as_of, found)
    jobs = _jobs(records, as_of)
    columns = [*SIDE_KEY, "part", "date"]
    seen = pd.concat([readings[columns], bounds[columns]], ignore_index=True)
    axles = _axles(records, seen, jobs, as_of, found)
    sides = _sides(seen, jobs, axles)
    events = _in_order(_start_events(sides, records, jobs))
    marks = _in_lives(_marks(readings, sides), events)
    marks = _set_aside(marks, readings, answered.sides_not_swapped(records.settings), found)
    marks, readings = _after_the_work(marks, readings, sides, jobs, found)
    marks, events, changes = _open_lives(marks, readings, events, sides, records.settings.pad_changes)
    proposals = _proposals(changes, found)
    lives = _life_table(events, sides, marks["life_id"].to_numpy())
    bounds = _bounds_in_lives(bounds, sides, events, lives)
    readings = codes.rows(readings, marks["at"].to_numpy())
    readings["life_id"] = marks["life_id"]
    readings["axle_life_id"] = lives["axle_life_id"].to_numpy()[marks["life_id"]]
    return Lives(as_of, readings, bounds, lives, axles, proposals, findings.join(found))


def _bounds_in_lives(bounds, sides, events, lives):
    """Bounds with the life each belongs to; they say nothing of when a life begins."""
    marks = pd.DataFrame(
        {
            "at": np.arange(len(bounds)), "side_code": _side_codes(bounds, sides), "visit_no": bounds["visit_no"],
            "part_code": pd.factorize(bounds["part"], sort=True)[0],
            "order": 2 * bounds["visit_no"] + bounds["taken"].eq("after"),
        }
    )  # fmt: skip
    marks = _in_lives(_time_sorted(marks), events)
    bounds = bounds.iloc[marks["at"]].reset_index(drop=True).assign(life_id=marks["life_id"])
    return bounds.assign(axle_life_id=lives["axle_life_id"].to_numpy()[marks["life_id"]])


def _usable_readings(records, as_of, found):
    """Readings of thickness (drums: diameter) at a known or estimated odometer: numbers, one a part and visit (R33), and bounds."""
    m, visits, vehicles = records.coded_measurements, records.visits, records.vehicles
    right = np.where(m["part"].eq("drum"), m["measure"].eq("diameter"), m["measure"].eq("thickness"))
    visit = codes.place(visits["visit_id"], m["visit_id"])
    km = visits["clock_km"].to_numpy()[visit]
    usable = np.flatnonzero(right & (m["date"] <= as_of).to_numpy() & (visit >= 0) & np.isfinite(km))
    m, visit = codes.rows(m.drop(columns=["low", "high", "value", "measure"]), usable), visit[usable]
    m["taken"] = m["taken"].cat.set_categories(["after", "before"], ordered=True)
    m["odometer_km"], m["odometer_ok"] = km[usable], visits["odometer_ok"].to_numpy()[visit]
    m["technician"] = codes.from_places(visit, visits["technician"])
    m["family"] = codes.mapped(m["part"], lambda part: part if part in ("rotor", "drum", "park_brake") else "lining")
    for name in ("wear_class", "duty"):
        m[name] = codes.mapped(m["vehicle_id"], vehicles.set_index("vehicle_id")[name])
    number = m["value_mm"].notna().to_numpy()
    bounds = codes.rows(m, np.flatnonzero(~number))
    m = m.drop(columns=["low_mm", "high_mm"])
    m = m if number.all() else codes.rows(m, np.flatnonzero(number))
    key = ["vehicle_id", "axle", "side", "part", "visit_no", "taken"]
    if codes.again(m, key).any():
        worn_first = np.where(m["family"].eq("drum"), -m["value_mm"], m["value_mm"])
        m = m.assign(worn=worn_first)
        m = codes.rows(m, codes.order(m, [*key, "worn"]))
        again = codes.again(m, key)
        set_aside = codes.plain(m[again])
        found.append(
            findings.make(
                "R33-several-readings", "measurements", row=set_aside["row"], vehicle_id=set_aside["vehicle_id"], column="value",
                value=set_aside["value_written"],
            )
        )  # fmt: skip
        m = codes.rows(m.drop(columns="worn"), np.flatnonzero(~again))
    return m, bounds


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
    """Every axle of every vehicle in service: those its records or its limits name, and those the limits of its class or of
    all name or half of its class have, unless its axles are numbered in its records and those are named, or the other way
    about.

    R43 axles both named and numbered, R44 axles assumed.
    """
    vehicles = _in_service(records, as_of)
    if not len(vehicles):
        return pd.DataFrame(columns=["vehicle_id", "wear_class", "duty", "axle", "lining"], dtype="str")
    known = _linings_seen(readings, jobs)
    limits = records.limits
    limits = limits[limits["part"].isin(("pad", "shoe")) & limits["axle"].ne("*")].rename(columns={"part": "lining"})
    columns = ["vehicle_id", "axle", "lining"]
    own = pd.concat([known[columns], limits.rename(columns={"applies_to": "vehicle_id"})[columns]], ignore_index=True)
    like = pd.concat(
        [
            vehicles.merge(limits.rename(columns={"applies_to": "wear_class"}), on="wear_class"),
            vehicles.merge(_usual_axles(known.merge(vehicles, on="vehicle_id")), on="wear_class"),
            vehicles.merge(limits.loc[limits["applies_to"].eq("*"), ["axle", "lining"]], how="cross"),
        ],
        ignore_index=True,
    )[columns]
    named = known["axle"].isin(AXLE_NAMES)
    by_name, by_number = (like["vehicle_id"].isin(known.loc[way, "vehicle_id"]) for way in (named, ~named))
    like = like[np.where(like["axle"].isin(AXLE_NAMES), by_name | ~by_number, by_number | ~by_name)]
    axles = pd.concat([own, like], ignore_index=True)
    axles = axles[axles["vehicle_id"].isin(vehicles["vehicle_id"])]
    none = vehicles[~vehicles["vehicle_id"].isin(axles["vehicle_id"])]
    if len(none):
        found.append(findings.make("R44-axle-assumed", "vehicles", row=none["row"], vehicle_id=none["vehicle_id"]))
        assumed = none[["vehicle_id"]].merge(pd.DataFrame({"axle": AXLE_NAMES, "lining": "pad"}), how="cross")
        axles = pd.concat([axles, assumed], ignore_index=True)
    axles = axles.drop_duplicates(["vehicle_id", "axle"])
    named = axles["axle"].isin(AXLE_NAMES)
    mixed = np.intersect1d(axles.loc[named, "vehicle_id"], axles.loc[~named, "vehicle_id"])
    if len(mixed):
        found.append(findings.make("R43-axle-two-names", "measurements", vehicle_id=mixed, column="axle"))
    axles = axles.merge(vehicles.drop(columns="row"), on="vehicle_id", how="left")
    axles = axles.sort_values(["vehicle_id", "axle"], kind="stable", ignore_index=True)
    return axles[["vehicle_id", "wear_class", "duty", "axle", "lining"]]


def _in_service(records, as_of):
    """Vehicles that have joined (or been seen) by the as-of date and not left."""
    vehicles = records.vehicles
    visited = records.visits[records.visits["date"] <= as_of]["vehicle_id"].unique()
    left = vehicles["retired_date"] <= as_of
    to_come = (vehicles["in_service_date"] > as_of) & ~vehicles["vehicle_id"].isin(visited)
    return vehicles[~left & ~to_come][["vehicle_id", "wear_class", "duty", "row"]]


def _linings_seen(readings, jobs):
    """Lining (pad or shoe) of every axle that was measured, by the newest reading, or worked on."""
    linings = readings.loc[readings["family"].eq("lining"), ["vehicle_id", "axle", "part", "date"]]
    order = np.lexsort([pd.factorize(linings["part"], sort=True)[0], linings["date"]])
    newest = codes.plain(linings.iloc[order].drop_duplicates(["vehicle_id", "axle"], keep="last"))
    worked = jobs[jobs["family"].eq("lining")]
    worked = worked.assign(lining=worked["part"].map({"pads": "pad", "shoes": "shoe"}))
    known = pd.concat([newest.assign(lining=part_family(newest["part"])), worked], ignore_index=True)
    return known[["vehicle_id", "axle", "lining"]].drop_duplicates(["vehicle_id", "axle"])


def _usual_axles(peers):
    """Axles and linings that at least half of a wear class's vehicles have."""
    size = peers.groupby("wear_class")["vehicle_id"].transform("nunique")
    have = peers.groupby(["wear_class", "axle", "lining"])["vehicle_id"].transform("nunique")
    return peers.loc[have >= 0.5 * size, ["wear_class", "axle", "lining"]].drop_duplicates()


def _sides(readings, jobs, axles):
    """Every side of every axle and family that has a life: measured ones, and both sides where the axle is told apart."""
    seen = codes.plain(readings[["vehicle_id", "axle", "family", "side"]].drop_duplicates())
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


LOOK = ["axle_code", "order"]
"""What a look at an axle is: the axle and family by number, and its time within the vehicle: twice the visit's place, plus
one for readings after the work."""


def _marks(readings, sides):
    """The readings in numbers, all that the cutting needs.

    ``at`` (place in ``readings``), ``side_code`` (place in ``sides``), ``axle_code, part_code, order``, ``worn_mm`` (the
    dimension such that wear makes it smaller: drums minus the diameter), ``odometer_km``, ``wear_mm_per_km`` (to expect),
    ``limit`` (growth that is a change), ``lining`` (or parking-brake shoe), ``whole`` (the axle as a whole), ``thin``
    (the thinnest of a side), ``kind`` (wear class, axle and family by number).
    """
    code = _side_codes(readings, sides)
    family = readings["family"]
    marks = pd.DataFrame(
        {
            "at": np.arange(len(readings), dtype="int32"), "side_code": code, "axle_code": _axle_codes(sides)[code],
            "part_code": pd.factorize(readings["part"], sort=True)[0].astype("int8"),
            "order": 2 * readings["visit_no"] + readings["taken"].eq("after"),
            "worn_mm": np.where(family.eq("drum"), -1.0, 1.0) * readings["value_mm"], "odometer_km": readings["odometer_km"],
            "limit": family.map(JUMP_MM).astype("float64"), "lining": family.isin(("lining", "park_brake")),
            "whole": sides["side"].eq("").to_numpy()[code], "thin": readings["part"].isin(("pad", "shoe")),
            "kind": numbered(readings, ["wear_class", "axle", "family"]).astype("int32"),
        }
    )  # fmt: skip
    marks = _time_sorted(marks)
    return marks.assign(wear_mm_per_km=_usual_wear(marks))


def numbered(frame: pd.DataFrame, columns) -> np.ndarray:
    """A number for each row of ``frame``, the same where all ``columns`` are the same, shape (n,)."""
    code = np.zeros(len(frame), dtype="int64")
    for name in columns:
        part = pd.factorize(frame[name])[0]
        code = code * (part.max(initial=0) + 1) + part
    return code


def _side_codes(readings, sides) -> np.ndarray:
    """Place of each reading's side in ``sides``."""
    own, asked = np.zeros(len(sides), dtype="int64"), np.zeros(len(readings), dtype="int64")
    for name in SIDE_KEY:
        code, texts = pd.factorize(sides[name])
        own, asked = own * len(texts) + code, asked * len(texts) + codes.place(pd.Series(texts), readings[name])
    return pd.Index(own).get_indexer(asked).astype("int32")


def _axle_codes(sides) -> np.ndarray:
    """Number of each side's axle and family, shape (sides,); sides are in order of vehicle, axle and family."""
    key = sides[["vehicle_id", "axle", "family"]]
    return np.cumsum(~key.duplicated().to_numpy(), dtype="int32") - 1


def _time_sorted(marks):
    """Each part's history in one run."""
    by = np.lexsort([marks[name].to_numpy() for name in ("order", "part_code", "side_code")])
    return (marks if (by[1:] > by[:-1]).all() else marks.iloc[by]).reset_index(drop=True)


def _usual_wear(marks) -> np.ndarray:
    """Wear to expect of each reading's axle, mm a km: the median between looks of its own parts where there are eight
    stretches without growth, else that of its wear class, axle and family, else ``PRIOR_WEAR_MM_PER_KM``."""
    km, grew = marks["odometer_km"].diff().to_numpy(), marks["worn_mm"].diff().to_numpy()
    same = _same_track(marks, ["side_code", "part_code"]) & (km >= LEAST_STRETCH_KM) & (grew < marks["limit"] / 2)
    wear = pd.Series(-grew / np.where(same, km, np.nan))
    own = wear.groupby(marks["axle_code"]).agg(["median", "count"])
    own = own["median"].where(own["count"] >= 8)
    usual = marks["axle_code"].map(own).fillna(wear.groupby(marks["kind"]).transform("median")).fillna(PRIOR_WEAR_MM_PER_KM)
    return np.maximum(usual.to_numpy(), 0.0)


def _start_events(sides, records, jobs):
    """Where lives begin by the records: every side's first life, and one a recorded job and side."""
    vehicle = records.vehicles.set_index("vehicle_id")
    start = sides["vehicle_id"].map(vehicle["in_service_odometer_km"]).to_numpy()
    believed = vehicle["in_service_ok"] | vehicle["in_service_date"].isna()
    new = (start <= JOINED_NEW_KM) & sides["vehicle_id"].map(believed).to_numpy(dtype=bool)
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
    return events


def _in_order(events):
    return events.sort_values(["side_code", "order"], kind="stable", ignore_index=True)


def _in_lives(marks, events):
    """Marks in order of side, part and time with ``life_id``, the place in ``events`` of the last event before each."""
    marks = _time_sorted(marks)
    span = 2.0 + max(marks["order"].max() if len(marks) else 0.0, events["order"].max() if len(events) else 0.0)
    begin = events["side_code"].to_numpy() * span + events["order"].to_numpy()
    asked = marks["side_code"].to_numpy() * span + marks["order"].to_numpy()
    life_id = np.searchsorted(begin, asked, side="left") - 1
    return marks.assign(life_id=life_id, start_order=events["order"].to_numpy()[life_id])


def _whole_axles(marks) -> list[pd.DataFrame]:
    """The marks, in order of side, some whole axles at a time, so that what is made of them need not all be in memory at once."""
    axle = marks["axle_code"].to_numpy()
    begin = np.searchsorted(axle, axle[SLICE_ROWS::SLICE_ROWS])
    edges = np.unique(np.concatenate([[0], begin, [len(marks)]])) if len(marks) else [0, 0]
    return [marks.iloc[first:last] for first, last in zip(edges[:-1], edges[1:], strict=True)]


def _same_track(frame, columns) -> np.ndarray:
    """Whether each row goes on with the row above, that is, agrees with it in ``columns``."""
    values = frame[columns].to_numpy()
    return np.r_[False, (values[1:] == values[:-1]).all(axis=1)] if len(values) else np.zeros(0, dtype=bool)


def _compared(marks):
    """Marks with what the same part was at its last look in the same life: ``before_mm``, ``grew`` (NaN for a life's first),
    ``wear``, the mm it should have lost since, and ``before_order``, when that look was."""
    same = _same_track(marks, ["life_id", "part_code"])
    before = marks["worn_mm"].shift(1).where(same)
    km = marks["odometer_km"].diff().where(same)
    return marks.assign(
        before_mm=before, grew=marks["worn_mm"] - before, wear=np.maximum(km, 0.0) * marks["wear_mm_per_km"],
        before_order=marks["order"].shift(1).where(same),
    )  # fmt: skip


# --- readings set aside -----------------------------------------------------------------------------------------------


def _set_aside(marks, readings, not_swapped, found):
    """Marks without those that are mistaken: R42 swapped sides (but not the visits and axles of which a person said no), R41
    misreadings."""
    for code, mistaken in (
        ("R42-sides-swapped", _swapped), ("R41-reading-misfit", _lone_misreadings), ("R41-reading-misfit", _one_of_a_pair)
    ):  # fmt: skip
        wrong = np.concatenate([mistaken(_compared(some)) for some in _whole_axles(marks)])
        if code == "R42-sides-swapped" and not_swapped and wrong.any():
            wrong &= ~pd.MultiIndex.from_frame(readings.iloc[marks["at"]][["visit_id", "axle"]]).isin(not_swapped)
        if wrong.any():
            rows = codes.plain(readings.iloc[marks["at"][wrong]])
            found.append(
                findings.make(
                    code, "measurements", row=rows["row"], vehicle_id=rows["vehicle_id"], column="value",
                    value=rows["value_written"],
                )
            )  # fmt: skip
            marks = marks[~wrong].reset_index(drop=True)
    return marks


def _most_worn(wear, limit):
    """More than this is not plain wear, mm: three times the usual and half a ``limit``."""
    return 3 * wear + limit / 2


def _plausible(grew, wear, limit):
    """Whether a growth (mm, negative: worn) can be plain wear and gauge noise."""
    return (grew <= limit / 4) & (grew >= -_most_worn(wear, limit))


def _swapped(m) -> np.ndarray:
    """R42: a look at which each side goes on from where the other was, and the look after crosses back.

    At the last look of a life nothing can cross back; there one side must have grown by half a ``limit``.
    """
    side = m[~m["whole"] & m["grew"].notna()].groupby([*LOOK, "side_code"])
    side = side.agg(
        now=("worn_mm", "mean"), before=("before_mm", "mean"), wear=("wear", "max"), limit=("limit", "first"),
        before_order=("before_order", "max"),
    ).reset_index()  # fmt: skip
    two = side.duplicated(LOOK, keep=False)
    left, right = side[two].iloc[::2].reset_index(drop=True), side[two].iloc[1::2].reset_index(drop=True)
    wear, limit = np.maximum(left["wear"], right["wear"]), left["limit"]
    turned = (left["now"] - right["now"] - left["before"] + right["before"]).abs()
    crossed = (turned >= 1.5 * limit) & _plausible(left["now"] - right["before"], wear, limit)
    crossed = (crossed & _plausible(right["now"] - left["before"], wear, limit)).to_numpy()
    same = _same_track(left, ["axle_code"]) & (left["before_order"] == left["order"].shift(1)).to_numpy()
    goes_on = np.roll(same, -1)
    grew = np.maximum(left["now"] - left["before"], right["now"] - right["before"]) >= limit / 2
    swapped = crossed & _first_of_two(crossed, same) & np.where(goes_on, np.roll(crossed, -1), grew)
    span = 1 + int(m["order"].max()) if len(m) else 1
    looks, at = (frame["axle_code"].to_numpy("int64") * span + frame["order"].to_numpy() for frame in (left[swapped], m))
    return np.isin(at, looks) & ~m["whole"].to_numpy()


def _first_of_two(flag: np.ndarray, same: np.ndarray) -> np.ndarray:
    """In each run of flags (``same``: goes on with the row above) the first, the third and so on."""
    begins = flag & ~(np.roll(flag, 1) & same)
    place = np.arange(len(flag))
    return (place - np.maximum.accumulate(np.where(begins, place, 0))) % 2 == 0


def _lone_misreadings(m) -> np.ndarray:
    """R41: a reading far above (or below) both the one before and the one after, which go together without it.

    Far above: it grew by a ``limit`` and then lost more than can be worn. Far below: it lost more than can be worn and then
    grew by a ``limit``.
    """
    grew, wear, limit = (m[name].to_numpy() for name in ("grew", "wear", "limit"))
    goes_on = np.roll(_same_track(m, ["life_id", "part_code"]), -1)
    later_grew, later_wear = (np.where(goes_on, np.roll(values, -1), np.nan) for values in (grew, wear))
    above = (grew >= limit) & (-later_grew > _most_worn(later_wear, limit))
    below = (-grew > _most_worn(wear, limit)) & (later_grew >= limit)
    return (above | below) & _plausible(grew + later_grew, wear + later_wear, limit)


def _one_of_a_pair(m) -> np.ndarray:
    """R41: one pad (shoe) of a side grew by a ``limit`` and the other did not; they are changed in pairs.

    Of the two looks the one is mistaken at which the two parts differ more.
    """
    wrong = np.zeros(len(m), dtype=bool)
    known = np.flatnonzero(m["grew"].notna() & m["lining"])
    pair = m.iloc[known].assign(at=known)
    look = ["side_code", "order", "before_order"]
    pair = pair[pair.groupby(look)["at"].transform("size").eq(2)].sort_values([*look, "at"])
    one, two = pair.iloc[::2].reset_index(drop=True), pair.iloc[1::2].reset_index(drop=True)
    more, less = np.maximum(one["grew"], two["grew"]), np.minimum(one["grew"], two["grew"])
    alone = (more >= one["limit"]) & (less < one["limit"] / 4)
    apart_now = (one["worn_mm"] - two["worn_mm"]).abs() >= (one["before_mm"] - two["before_mm"]).abs()
    at = np.where(one["grew"] > two["grew"], one["at"], two["at"])
    wrong[np.where(apart_now, at, at - 1)[alone]] = True
    return wrong


def _after_the_work(marks, readings, sides, jobs, found):
    """R49: readings not said to be after the work, at a visit with a recorded job and no reading after it, that grew by a
    change's worth and are as thick as the thickest tenth of like axles."""
    side = sides.reset_index(names="side_code").merge(jobs, on=["vehicle_id", "axle", "family"], suffixes=("", "_done"))
    side = side[side["side_done"].eq("both") | side["side"].eq("") | side["side_done"].eq(side["side"])]
    done = pd.MultiIndex.from_arrays([side["side_code"].astype("int32"), 2 * side["visit_no"]])
    m = _compared(marks)
    grown = m[(m["grew"] >= m["limit"]) & (m["worn_mm"] >= m.groupby("kind")["worn_mm"].transform("quantile", 0.9))]
    grown = pd.MultiIndex.from_frame(grown[["side_code", "order"]]).intersection(done)
    if not len(grown):
        return marks, readings
    grown = grown.difference(pd.MultiIndex.from_arrays([m["side_code"], m["order"] - 1]))
    moved = pd.MultiIndex.from_frame(m[["side_code", "order"]]).isin(grown)
    if not moved.any():
        return marks, readings
    at = marks["at"][moved]
    rows = codes.plain(readings.iloc[at])
    found.append(
        findings.make(
            "R49-after-not-said", "measurements", row=rows["row"], vehicle_id=rows["vehicle_id"], column="taken",
            value=rows["value_written"], reading="after",
        )
    )  # fmt: skip
    taken = readings["taken"].mask(readings.index.isin(at), "after")
    return marks.assign(order=marks["order"] + moved), readings.assign(taken=taken)


# --- unrecorded changes -----------------------------------------------------------------------------------------------


def _open_lives(marks, readings, events, sides, answers):
    """R40: open a life wherever the parts of a side, or the thinnest of a side or an axle, grew by a change's worth.

    The first change of each axle opens a life, then the axles concerned are looked at again, until nothing grows within a
    life. Returns the marks in their lives, all events, and the changes with a person's answer ("", yes, no). A change that was
    answered no is not asked about again, and opens no life.
    """
    looks = pd.concat([_looks(m, readings) for m in _whole_axles(marks)])
    some, asked, parts = _in_lives(marks, events), events, []
    while True:
        grown = pd.concat([_grown(m) for m in _whole_axles(some)], ignore_index=True)
        changes = _changes(grown, looks, sides, answers)
        known = pd.MultiIndex.from_frame(pd.concat(parts)[LOOK]) if parts else []
        changes = changes[~pd.MultiIndex.from_frame(changes[LOOK]).isin(known)].drop_duplicates("axle_code")
        parts.append(changes)
        if not len(changes):
            changes = pd.concat(parts, ignore_index=True)
            events = _in_order(pd.concat([events, _openings(changes[changes["answer"].ne("no")], sides)], ignore_index=True))
            return _in_lives(marks, events), events, changes
        asked = _in_order(pd.concat([asked, _openings(changes, sides)], ignore_index=True))
        some = _in_lives(some[some["axle_code"].isin(changes["axle_code"])], asked)


def _enough(grew, wear, limit):
    """Whether a growth is a change: ``limit``, less where much wear was due, but not less than half of it."""
    return grew >= np.maximum(limit - 0.5 * wear, 0.5 * limit)


def _grown(marks):
    """How the thinnest and the parts grew at each look at which one of them changed."""
    grown = pd.concat([_grown_thinnest(marks), _grown_parts(marks)], ignore_index=True)
    look = grown["axle_code"].to_numpy("int64") * (1 + grown["order"].max()) + grown["order"].to_numpy()
    return grown[np.isin(look, look[grown["changed"].to_numpy(dtype=bool)])]


def _grown_parts(marks):
    """Growth of each side, the mean of its parts; changed, too, are both sides that grew by three quarters of it.

    One row a side and look: ``before, now`` (mm), ``whole``, ``changed`` (by a change's worth), ``stayed`` (by less than half
    of that).
    """
    m = _compared(marks)
    side = m[m["grew"].notna()].groupby([*LOOK, "side_code"])
    side = side.agg(
        before=("before_mm", "mean"), now=("worn_mm", "mean"), wear=("wear", "mean"),
        limit=("limit", "first"), whole=("whole", "first"),
    ).reset_index()  # fmt: skip
    side["grew"] = side["now"] - side["before"]
    axle = side.groupby(LOOK)
    together = _enough(axle["grew"].transform("mean"), axle["wear"].transform("mean"), 0.75 * side["limit"])
    together &= (axle["grew"].transform("min") >= 0.5 * side["limit"]) & (axle["grew"].transform("size") == 2)
    return _judged(side, together)


def _judged(side, changed=False):
    changed = changed | _enough(side["grew"], side["wear"], side["limit"])
    side = side.assign(changed=changed, stayed=~changed & (side["grew"] < 0.5 * side["limit"]) & ~side["whole"])
    return side[[*LOOK, "side_code", "before", "now", "whole", "changed", "stayed"]]


def _grown_thinnest(marks):
    """Growth of the thinnest lining of sides and whole axles between looks at which all of it was seen; as `_grown_parts`.

    All of a side is seen by ``pad`` (``shoe``) or by both parts; all of an axle by a reading of the axle as a whole or by all
    of both sides.
    """
    m = marks[marks["lining"]]
    m = m.assign(seen=np.where(m["thin"], 2, 1))
    columns = {
        "worn_mm": ("worn_mm", "min"), "odometer_km": ("odometer_km", "first"), "start_order": ("start_order", "max"),
        "wear_mm_per_km": ("wear_mm_per_km", "first"), "limit": ("limit", "first"),
    }  # fmt: skip
    side = m.groupby([*LOOK, "side_code"]).agg(**columns, seen=("seen", "sum"), whole=("whole", "first")).reset_index()
    side = side[side["seen"] >= 2]
    side["sides"] = np.where(side["whole"], 2, 1)
    axle = side.groupby(LOOK).agg(**columns, sides=("sides", "sum")).reset_index()
    axle = axle[axle["sides"] >= 2].assign(side_code=-1, whole=True)
    look = pd.concat([axle, side], ignore_index=True)
    track = ["axle_code", "side_code", "start_order"]
    look = look.sort_values([*track, "order"], kind="stable", ignore_index=True).rename(columns={"worn_mm": "now"})
    same = _same_track(look, track)
    look["before"] = look["now"].shift(1).where(same)
    look["wear"] = look["odometer_km"].diff().where(same) * look["wear_mm_per_km"]
    return _judged(look.assign(grew=look["now"] - look["before"])[same])


def _looks(marks, readings):
    """Every look at an axle, index ``LOOK``: what and when it was, and when the axle was looked at before."""
    first = marks.assign(row=readings["row"].to_numpy()[marks["at"]]).sort_values([*LOOK, "row"]).drop_duplicates(LOOK)
    columns = ["vehicle_id", "axle", "family", "visit_id", "visit_no", "date", "odometer_km", "row"]
    looks = readings.iloc[first["at"]][columns].set_axis(pd.MultiIndex.from_frame(first[LOOK]))
    same = _same_track(first, ["axle_code"])
    return looks.assign(last_km=looks["odometer_km"].shift(1).where(same), since_date=looks["date"].shift(1).where(same))


def _changes(grown, looks, sides, answers):
    """One change an axle and look, in order of time: which side, when it was last seen before, and a person's answer.

    A side is changed alone only where the other is known to have stayed. The thicknesses told are those of the thinnest, where
    all of it was seen.
    """
    by_side = grown.groupby([*LOOK, "side_code"])[["changed", "stayed", "whole"]].any().reset_index()
    by_side["stayed"] &= ~by_side["changed"]
    by_side["all"] = by_side["changed"] & by_side["whole"]
    told = (
        grown[grown["changed"]]
        .groupby(LOOK)
        .agg(side_code=("side_code", "max"), before=("before", "first"), after=("now", "first"))
    )
    look = by_side.groupby(LOOK).agg(stayed=("stayed", "any"), all=("all", "any"), sides=("changed", "sum"))
    change = codes.plain(told.join(look).join(looks))
    sign = np.where(change["family"].eq("drum"), -1.0, 1.0)
    change["before_mm"], change["after_mm"] = sign * change["before"], sign * change["after"]
    both = change["all"] | ~change["stayed"] | (change["sides"] > 1)
    change["side"] = np.where(both, "both", sides["side"].to_numpy()[change["side_code"]])
    said = zip(change["visit_id"], change["axle"], change["side"], strict=True)
    said = [answers.get(asked, answers.get((*asked[:2], "both"))) for asked in said]
    answer = pd.Series(["" if yes is None else "yes" if yes else "no" for yes in said], index=change.index, dtype="str")
    change["answer"] = answer.where(change["family"].eq("lining"), "")
    return change.drop(columns=["side_code", "stayed", "all", "sides", "before", "after"]).reset_index()


def _openings(changes, sides):
    """Events that open a life on every side concerned, somewhere between the two looks."""
    s = sides.assign(side_code=np.arange(len(sides)), axle_code=_axle_codes(sides))
    starts = changes.merge(s[["axle_code", "side_code", "side"]], on="axle_code", suffixes=("", "_of"))
    starts = starts[starts["side"].eq("both") | starts["side_of"].eq("") | starts["side"].eq(starts["side_of"])]
    return pd.DataFrame(
        {
            "side_code": starts["side_code"], "order": starts["order"] - 0.25, "kind": "jump",
            "start_km": starts["last_km"] + CHANGE_PLACE * (starts["odometer_km"] - starts["last_km"]), "start_low_km": starts["last_km"],
            "start_high_km": starts["odometer_km"], "visit_no": starts["visit_no"], "product_line": "",
            "start_date": starts["date"],
        }
    )  # fmt: skip


def _proposals(changes, found):
    """The changes of linings, one an axle and visit; R40 for those that nobody has answered."""
    p = changes[changes["family"].eq("lining")].reset_index(drop=True)
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


def _life_table(events, sides, life_ids):
    """The lives, with where each ends and which were fitted together."""
    place = events["side_code"].to_numpy()
    lives = events.rename(columns={"kind": "start_kind"}).assign(**{name: sides[name].array.take(place) for name in SIDE_KEY})
    following = lives.groupby("side_code", sort=False)
    lives["end_km"] = following["start_km"].shift(-1)
    lives["end_date"] = following["start_date"].shift(-1)
    lives["end_kind"] = following["start_kind"].shift(-1).fillna("running")
    together = lives["start_kind"].where(lives["start_kind"].ne("new_vehicle"), "unknown")
    key = pd.MultiIndex.from_arrays([lives["vehicle_id"], lives["axle"], lives["family"], lives["visit_no"], together])
    lives["axle_life_id"] = pd.factorize(key)[0]
    lives["readings"] = np.bincount(life_ids, minlength=len(lives))
    lives.index = pd.RangeIndex(len(lives), name="life_id")
    return lives[
        ["vehicle_id", "axle", "side", "family", "start_kind", "start_km", "start_low_km", "start_high_km", "start_date",
         "product_line", "end_kind", "end_km", "end_date", "axle_life_id", "readings"]
    ]  # fmt: skip
