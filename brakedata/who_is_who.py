"""Who is who: mix-ups the records hint at, proposed with what speaks for each, and changed only by a person's yes.

A proposal changes nothing. An answer is kept by ``answered.remember`` and a yes is carried out by ``answered.apply`` when the
records are next loaded.
"""

import numpy as np
import pandas as pd

from brakedata import answered, findings
from brakedata.checks import CLOCK_SLACK_KM, MOST_KM_A_DAY, MOST_ODOMETER_KM, OFF_PACE_KM, PACE_DAYS, pace_scatter, usual_pace
from brakedata.columns import LINING_PARTS
from brakedata.shown import THICKNESSES, Shown, count_text, day_text
from brakedata.units import KM_PER_MI

CODES = {
    "same_visit": "R85-visit-twice", "vehicles_swapped": "R86-vehicles-swapped", "sides_swapped": "R87-sides-swapped",
    "new_cluster": "R88-new-cluster", "odometer_unit": "R89-odometer-unit",
}  # fmt: skip
COLUMNS = ["kind", "fields", "vehicle_id", "visits", "date", "table", "row", "strength", "evidence", "answer"]
SAME_VISIT_DAYS, SAME_VISIT_KM = 3, 25.0
"""An invoice and an inspection sheet of one visit lie at most this far apart: a few days in the shop, a test drive (common
practice, no source)."""
FAR_SPREADS, NEAR_SPREADS = 4.0, 3.0
"""An odometer is off its vehicle's line beyond the first, on another's within the second, in standard deviations."""
CLUSTER_LEAP_KM = 50_000.0
UNIT_SLACK = 0.03
"""How near a ratio of odometers must lie to 1.609 to be read as miles against kilometres."""
HOURS_PACE, HOURS_WEAR = 1 / 8, 5.0
"""A meter of hours advances an eighth as fast as like vehicles' or less, and wear per unit of it is five times theirs or more
(20 to 60 km an hour of running; common practice, no source)."""
JOINED_NEW_KM = 1000.0
"""As in ``lives``."""
LEAST_LIKE = 8
"""Vehicles of one class that must be known before one is judged by them."""


def propose(records, cut=None) -> pd.DataFrame:
    """Every mix-up that the records hint at.

    - ``same_visit``: two visits of a vehicle within 3 days and 25 km whose contents complete or repeat each other. Strong: on
      the same day at the same odometer. Not where the later brings a complaint after a job: that may be a comeback.
    - ``vehicles_swapped``: on one day the odometers of two vehicles are each off their own vehicle's line and on the other's.
    - ``sides_swapped``: at one look left and right differ the other way about than at the looks around it; and the looks that
      ``lives`` sets aside as R42.
    - ``new_cluster``: an odometer falls (or leaps) to another level and goes on from there, two readings or more.
    - ``odometer_unit``: miles read as kilometres, or the other way about (against the vehicle's own line, or against the
      odometer log); or hours (an eighth of the pace of like vehicles, and five times their wear).

    Parameters
    ----------
    records : Records
    cut : Lives, optional
        The readings cut into lives; without them R42 is not asked about.

    Returns
    -------
    DataFrame
        ``kind, fields`` (dict: the answer's entries in ``records.toml``), ``vehicle_id, visits`` (as text), ``date, table,
        row, strength`` (strong, fair), ``evidence`` (a sentence), ``answer`` ("", no, unknown).
    """
    points = _points(records)
    unit = records.settings.thickness_unit
    shown = Shown(records.settings.distance_unit, unit if unit in THICKNESSES else "mm")
    whole = [_tables_apart(points), _unlike_the_class(records, points)]
    swapped = _swapped_vehicles(points, shown)
    points = points[~points["vehicle_id"].isin([vehicle for part in whole if len(part) for vehicle in part["vehicle_id"]])]
    points = points.reset_index(drop=True)
    parts = [
        *whole, swapped, _new_clusters(points, shown), _single_visits(points, shown), _same_visits(records),
        _swapped_sides(records, cut, shown),
    ]  # fmt: skip
    parts = [part for part in parts if len(part)]
    if not parts:
        return pd.DataFrame({name: pd.Series(dtype="object") for name in COLUMNS})
    found = pd.concat(parts, ignore_index=True)
    known, _ = answered.understood(records.settings)
    names = [answered.identity(kind, fields) for kind, fields in zip(found["kind"], found["fields"], strict=True)]
    found["answer"] = pd.Series([known.get(name, {}).get("answer", "") for name in names], dtype="str")
    return found[COLUMNS].sort_values(["kind", "vehicle_id", "date", "row"], kind="stable", ignore_index=True)


def proposed(proposals: pd.DataFrame) -> pd.DataFrame:
    """Findings R85 to R89: the proposals nobody has answered, with the lines of ``records.toml`` that answer them."""
    parts = []
    for kind, rows in proposals[proposals["answer"].eq("")].groupby("kind"):
        advice = [
            f"is it so? Answer yes, no or unknown in records.toml:\n{answered.lines(kind, fields)}" for fields in rows["fields"]
        ]
        parts += [
            findings.make(
                CODES[kind], table, row=its["row"], vehicle_id=its["vehicle_id"], column="odometer" if "odometer" in kind else "",
                value=its["visits"], reading=its["evidence"], advice=pd.Series(advice, index=rows.index)[its.index],
            )
            for table, its in rows.groupby("table")
        ]  # fmt: skip
    return findings.join(parts)


def answer_lines(proposals: pd.DataFrame) -> str:
    """The lines of ``records.toml`` that answer yes to every proposal nobody has answered."""
    still = proposals[proposals["answer"].eq("")]
    return "\n\n".join(answered.lines(kind, fields) for kind, fields in zip(still["kind"], still["fields"], strict=True))


# --- the same visit twice ---------------------------------------------------------------------------------------------


def _same_visits(records) -> pd.DataFrame:
    visits = records.visits.reset_index(drop=True)
    pair = pd.concat([_neighbours(visits, step) for step in (1, 2)], ignore_index=True)
    km = (pair["odometer_km"] - pair["odometer_km_of"]).abs()
    pair = pair[((pair["date_of"] - pair["date"]).dt.days <= SAME_VISIT_DAYS) & ~(km > SAME_VISIT_KM)]
    pair = pair[~pair["visit_id"].isin(pair["visit_id_of"])]  # three papers of one visit: each with the first
    if not len(pair):
        return pair
    readings = ["axle", "side", "part", "measure", "taken"]
    read, read_of, alike, unlike = _contents(pair, records.measurements, readings, "value_written")
    done, done_of, redone, _ = _contents(pair, records.work, ["axle", "side", "part", "action"], "product_line")
    complete = ((read == 0) != (read_of == 0)) | ((done == 0) != (done_of == 0)) | (alike + redone > 0)
    later = pair["date_of"] > pair["date"]
    comeback = later & (done > 0) & pair["complaint_of"].ne("")
    papers = (read + done > 0) & (read_of + done_of > 0)
    p = pair.assign(read=read, read_of=read_of, done=done, done_of=done_of, km=km)[complete & papers & (unlike == 0) & ~comeback]
    strong = (p["date"] == p["date_of"]) & (p["km"] <= CLOCK_SLACK_KM)
    evidence = [
        f"visits {a.visit_id} and {a.visit_id_of} of vehicle {a.vehicle_id} are of {_days_apart(a.date, a.date_of)}"
        f"{'' if pd.isna(a.km) else f', their odometers {a.km:.0f} km apart'}; {a.visit_id} has {_papers(a.read, a.done)}, "
        f"{a.visit_id_of} {_papers(a.read_of, a.done_of)}, and nothing in them disagrees"
        for a in p.itertuples()
    ]
    fields = [{"visit_id": a, "other_visit_id": b} for a, b in zip(p["visit_id"], p["visit_id_of"], strict=True)]
    return _made("same_visit", p, fields, p["visit_id"] + " and " + p["visit_id_of"], "visits", p["row_of"], strong, evidence)


def _neighbours(visits, step):
    """Each visit with the one ``step`` after it of the same vehicle (``..._of``)."""
    columns = ["visit_id", "vehicle_id", "date", "odometer_km", "complaint", "row"]
    later = visits[columns].shift(-step).add_suffix("_of")
    both = pd.concat([visits[columns], later], axis=1)
    return both[both["vehicle_id"] == both["vehicle_id_of"]]


def _contents(pair, table, key, value):
    """Rows of a table at the first and at the second visit of each pair, and how many stand in both: alike, and not alike."""
    count = table.groupby("visit_id").size()
    first, second = (pair[name].map(count).fillna(0).astype(int) for name in ("visit_id", "visit_id_of"))
    numbered = pair[["visit_id", "visit_id_of"]].reset_index(names="pair")
    at = [numbered.merge(table, left_on=name, right_on="visit_id", suffixes=("", "_row")) for name in ("visit_id", "visit_id_of")]
    both = at[0].merge(at[1], on=["pair", *key], suffixes=("", "_second"))
    same = both[value] == both[f"{value}_second"]
    alike, unlike = (both[rows].groupby("pair").size().reindex(pair.index, fill_value=0) for rows in (same, ~same))
    return first, second, alike, unlike


def _days_apart(day, other) -> str:
    return day_text(day) if day == other else f"{day_text(day)} and {day_text(other)}"


def _papers(read, done) -> str:
    said = [count_text(n, one) for n, one in ((read, "reading"), (done, "work row")) if n]
    return " and ".join(said)


# --- odometers --------------------------------------------------------------------------------------------------------


def _points(records) -> pd.DataFrame:
    """Every dated odometer that a vehicle can show, in order of vehicle, date and distance.

    ``vehicle_id, vehicle`` (by number), ``day, date, km, ok`` (believed), ``table, visit_id, row, factor``; ``before, after``
    (places of the believed ones before and after, -1 where none), ``pace`` (km a day), ``expected`` (km on the line of the
    vehicle's other believed odometers, NaN where there are none) and ``spread`` (its standard deviation, km).
    """
    joined = records.vehicles.rename(
        columns={"in_service_date": "date", "in_service_odometer_km": "odometer_km", "in_service_ok": "odometer_ok"}
    )
    tables = {"vehicles": joined, "visits": records.visits, "odometer_log": records.odometer_log}
    columns = ["vehicle_id", "date", "odometer_km", "odometer_ok", "row", "factor", "visit_id"]
    p = pd.concat([frame.reindex(columns=columns).assign(table=name) for name, frame in tables.items()], ignore_index=True)
    p = p[p["date"].notna() & (p["odometer_km"] >= 0) & (p["odometer_km"] <= MOST_ODOMETER_KM)]
    p = p[(p["odometer_km"] > 0) | p["table"].eq("vehicles")]
    p = p.sort_values(["vehicle_id", "date", "odometer_km", "table"], kind="stable", ignore_index=True)
    p = p.rename(columns={"odometer_km": "km", "odometer_ok": "ok"})
    p["ok"] = p["ok"].astype(bool)
    p["vehicle"] = pd.factorize(p["vehicle_id"])[0]
    p["day"] = p["date"].to_numpy().astype("datetime64[D]").astype("int64").astype("float64")
    return _with_expected(p)


def _with_expected(p):
    vehicle, day, km = (p[name].to_numpy() for name in ("vehicle", "day", "km"))
    place, ok = np.arange(len(p)), p["ok"].to_numpy()
    before = np.r_[-1, np.maximum.accumulate(np.where(ok, place, -1))][: len(p)]
    after = np.r_[np.minimum.accumulate(np.where(ok, place, len(p))[::-1])[::-1], len(p)][1 : len(p) + 1]
    before = np.where((before >= 0) & (np.take(vehicle, before, mode="clip") == vehicle), before, -1)
    after = np.where((after < len(p)) & (np.take(vehicle, after, mode="clip") == vehicle), after, -1)
    pace, scatter = _own_pace(p)
    gone, left = day - day[before], day[after] - day
    with np.errstate(invalid="ignore", divide="ignore"):
        between = km[before] + (km[after] - km[before]) * np.where(gone + left > 0, gone / (gone + left), 0.0)
        middle = gone * left / np.maximum(gone + left, 1.0)
    onward, backward = km[before] + pace * gone, np.maximum(km[after] - pace * left, 0.0)
    expected = np.select([(before >= 0) & (after >= 0), before >= 0, after >= 0], [between, onward, backward], np.nan)
    away = np.select([(before >= 0) & (after >= 0), before >= 0], [np.sqrt(2) * middle, 1.2 * gone], 1.2 * left)
    return p.assign(
        before=before, after=after, pace=pace, expected=expected, spread=pace * (scatter * away + DAY_SLACK) + KM_SLACK
    )


DAY_SLACK, KM_SLACK = 2.0, 200.0
"""An odometer may be noted two days late, and rounded (common practice, no source)."""


def _own_pace(p):
    """Pace (km a day) and scatter of each point's vehicle, by its believed odometers; the fleet's where it has few."""
    good = p[p["ok"]]
    pace, scatter, _ = pace_scatter(good["vehicle"].to_numpy(), good["day"].to_numpy(), good["km"].to_numpy())
    by_vehicle = pd.DataFrame({"pace": pace, "scatter": scatter}).loc[np.unique(good["vehicle"])]
    mine = by_vehicle.reindex(p["vehicle"]).fillna(by_vehicle.median())
    return mine["pace"].to_numpy(), mine["scatter"].to_numpy()


def _agree(p, i, j) -> np.ndarray:
    """Whether the odometer at place j can follow that at place i; False across vehicles and beyond the ends."""
    i_in, j_in = np.clip(i, 0, len(p) - 1), np.clip(j, 0, len(p) - 1)
    day, km, vehicle = (p[name].to_numpy() for name in ("day", "km", "vehicle"))
    step = km[j_in] - km[i_in]
    fits = (step >= -CLOCK_SLACK_KM) & (step <= MOST_KM_A_DAY * np.maximum(day[j_in] - day[i_in], 1.0))
    usual = p["pace"].to_numpy()[i_in] * (day[j_in] - day[i_in])
    fits &= ~((step - usual > CLUSTER_LEAP_KM) & (step > 5 * usual))
    return fits & (i >= 0) & (j < len(p)) & (vehicle[i_in] == vehicle[j_in])


def _swapped_vehicles(p, shown) -> pd.DataFrame:
    off = (p["km"] - p["expected"]).abs() > np.maximum(FAR_SPREADS * p["spread"], OFF_PACE_KM / 2)
    suspect = p[p["table"].eq("visits") & off].reset_index(names="at")
    pair = suspect.merge(suspect, on="date", suffixes=("", "_of"))
    pair = pair[pair["vehicle_id"] < pair["vehicle_id_of"]]
    near = (pair["km"] - pair["expected_of"]).abs() <= NEAR_SPREADS * pair["spread_of"]
    near &= (pair["km_of"] - pair["expected"]).abs() <= NEAR_SPREADS * pair["spread"]
    pair = pair[near]
    alone = ~(pair["at"].duplicated(keep=False) | pair["at_of"].duplicated(keep=False) | pair["at"].isin(pair["at_of"]))
    pair = pair[alone & ~pair["at_of"].isin(pair["at"])]
    d = shown.distance_text
    evidence = [
        f"on {day_text(a.date)} vehicle {a.vehicle_id} is written with {d(a.km)} (visit {a.visit_id}) where its own line says about "
        f"{d(a.expected)}, and vehicle {a.vehicle_id_of} with {d(a.km_of)} (visit {a.visit_id_of}) where its own says about "
        f"{d(a.expected_of)}: swapped, both fit"
        for a in pair.itertuples()
    ]
    fields = [{"visit_id": a, "other_visit_id": b} for a, b in zip(pair["visit_id"], pair["visit_id_of"], strict=True)]
    far = (pair["km"] - pair["expected"]).abs() > 2 * FAR_SPREADS * np.maximum(pair["spread"], pair["spread_of"])
    visits = pair["visit_id"] + " and " + pair["visit_id_of"]
    return _made("vehicles_swapped", pair, fields, visits, "visits", pair["row"], far, evidence)


def _breaks(p) -> pd.DataFrame:
    """Where a vehicle's odometers break, once, into two runs of two readings or more that agree in themselves.

    The first reading after each break, with ``km_before, date_before`` (the last before it), ``expected`` (km had the line gone
    on), ``pace_before, pace_after`` (km a day) and ``sure`` (three stretches or more on both sides).
    """
    i = np.arange(len(p) - 1)
    broken = ~_agree(p, i, i + 1) & ~_agree(p, i, i + 2) & ~_agree(p, i - 1, i + 1)  # neither reading alone is the mistaken one
    vehicle, day, km = (p[name].to_numpy() for name in ("vehicle", "day", "km"))
    at = i[broken & _agree(p, i - 1, i) & _agree(p, i + 1, i + 2) & (vehicle[:-1] == vehicle[1:])]
    begins = np.r_[True, vehicle[1:] != vehicle[:-1]][: len(p)]
    begins[at + 1] = True
    run = np.cumsum(begins) - 1
    pace, stretches = (of_run[run] for of_run in usual_pace(run, day, km))
    b = p.iloc[at + 1].assign(
        km_before=km[at], date_before=p["date"].to_numpy()[at], pace_before=pace[at], pace_after=pace[at + 1],
        sure=np.minimum(stretches[at], stretches[at + 1]) >= 3, expected=km[at] + pace[at] * (day[at + 1] - day[at]),
    )  # fmt: skip
    goes_on = day[np.searchsorted(vehicle, b["vehicle"], side="right") - 1] - b["day"] >= PACE_DAYS
    far = (b["expected"] - b["km"]).abs() > OFF_PACE_KM
    return b[goes_on & far & ~b["vehicle"].duplicated(keep=False)].reset_index(drop=True)


def _new_clusters(p, shown) -> pd.DataFrame:
    """A break after which the vehicle goes on from another level; or, told in miles from then on, from the same."""
    b = _breaks(p)
    ratio = b["expected"].clip(lower=1.0) / b["km"].clip(lower=1.0)
    slower = b["pace_before"] / b["pace_after"]
    level = b["factor"].eq(1.0) & _miles(ratio)
    miles = level & b["sure"] & (np.abs(np.log(slower / KM_PER_MI)) < 0.25)
    unit = b["factor"].map({1.0: "km"}).fillna("mi")
    add = _rounded((b["expected"] - b["km"]) / b["factor"])
    day = b["date"].dt.strftime("%Y-%m-%d")
    clusters = [
        {"vehicle_id": v, "from": when, "add": n, "unit": u}
        for v, when, n, u in zip(b["vehicle_id"], day, add, unit, strict=True)
    ]
    counted = [{"vehicle_id": v, "where": f"from {when}", "unit": "mi"} for v, when in zip(b["vehicle_id"], day)]
    d = shown.distance_text
    evidence = [
        f"vehicle {a.vehicle_id} showed {d(a.km_before)} on {day_text(a.date_before)}, {d(a.km)} on {day_text(a.date)}, and went on "
        + (
            "from there at six tenths of its pace: the same distance told in miles"
            if counts
            else f"from there: with {n:,} {u} added its line goes on{' (or it tells the same distance in miles now)' if could else ''}"
        )
        for a, n, u, counts, could in zip(b.itertuples(), add, unit, miles, level)
    ]
    kind = np.where(miles, "odometer_unit", "new_cluster")
    fields = [told if counts else cluster for told, cluster, counts in zip(counted, clusters, miles)]
    return _made(kind, b, fields, b["visit_id"].fillna(""), b["table"], b["row"], b["sure"], evidence)


def _miles(ratio) -> np.ndarray:
    """Whether a ratio is that of kilometres to miles."""
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.abs(np.log(np.asarray(ratio, dtype="float64") / KM_PER_MI)) < UNIT_SLACK


def _rounded(distance) -> list[int]:
    """To the nearest hundred; what lies between two readings is not known better."""
    return [int(round(n, -2)) for n in distance]


def _single_visits(p, shown) -> pd.DataFrame:
    """Visits whose odometer is not believed and lies on the vehicle's line when it is read in the other unit."""
    v = p[p["table"].eq("visits") & ~p["ok"] & ((p["km"] - p["expected"]).abs() > FAR_SPREADS * p["spread"])]
    v = v[v["before"].ge(0) & v["after"].ge(0)]
    unit, factor = v["factor"].map({1.0: "mi"}).fillna("km"), v["factor"].map({1.0: KM_PER_MI}).fillna(1 / KM_PER_MI)
    fits = ((v["km"] * factor - v["expected"]).abs() <= v["spread"]) & (
        _miles(v["expected"] / v["km"]) | _miles(v["km"] / v["expected"])
    )
    v, unit = v[fits], unit[fits]
    d = shown.distance_text
    evidence = [
        f"vehicle {a.vehicle_id} is written with {d(a.km)} at visit {a.visit_id} where its line says about {d(a.expected)}: read in {u} it fits"
        for a, u in zip(v.itertuples(), unit)
    ]
    fields = [{"vehicle_id": a.vehicle_id, "where": f"visit {a.visit_id}", "unit": u} for a, u in zip(v.itertuples(), unit)]
    return _made("odometer_unit", v, fields, v["visit_id"], "visits", v["row"], False, evidence)


def _tables_apart(p) -> pd.DataFrame:
    """Vehicles whose visits and odometer log run side by side at the ratio of miles to kilometres: three visits or more."""
    log, visits = p[p["table"].eq("odometer_log")], p[p["table"].eq("visits")]
    if not len(log) or not len(visits):
        return pd.DataFrame()
    place, known = (frame["vehicle"] * FAR_DAYS + frame["day"] for frame in (visits, log))
    ends = log.groupby("vehicle")["day"].agg(["min", "max"]).reindex(visits["vehicle"])
    inside = visits["day"].between(ends["min"].to_numpy(), ends["max"].to_numpy())
    ratio = (visits["km"] / np.maximum(np.interp(place, known, log["km"]), 1.0))[inside].groupby(visits["vehicle"])
    v = ratio.agg(ratio="median", seen="size").reset_index()
    visits_less = _miles(1 / v["ratio"])
    in_km = [v["vehicle"].map(frame.groupby("vehicle")["factor"].first()).eq(1.0).to_numpy() for frame in (visits, log)]
    less_in_km, more_in_km = np.where(visits_less, in_km, in_km[::-1])
    v["table"] = np.where(visits_less == less_in_km, "visits", "odometer_log")  # the one that is read in the wrong unit
    v["unit"] = np.where(less_in_km, "mi", "km")
    v = v[(visits_less | _miles(v["ratio"])) & (v["seen"] >= 3) & (less_in_km | ~more_in_km)]
    v = v.merge(p.drop_duplicates(["vehicle", "table"]), on=["vehicle", "table"])
    evidence = [
        f"vehicle {a.vehicle_id}: the odometers of its {a.seen} visits lie at {a.ratio:.2f} times its odometer log; with {a.table} read "
        f"in {a.unit} they agree"
        for a in v.itertuples()
    ]
    fields = [{"vehicle_id": a.vehicle_id, "where": a.table, "unit": a.unit} for a in v.itertuples()]
    return _made("odometer_unit", v, fields, "", v["table"], v["row"], True, evidence)


FAR_DAYS = 1e7
"""More days than any two dates lie apart."""


def _unlike_the_class(records, p) -> pd.DataFrame:
    """Vehicles that drive an eighth as far as like ones, and wear five times as much for it: a meter of hours; or that do both
    at the ratio of miles, where like vehicles hardly differ."""
    seen = (
        p[p["ok"]]
        .groupby("vehicle_id")
        .agg(first=("km", "first"), last=("km", "last"), begin=("day", "first"), end=("day", "last"))
    )
    seen = seen[(seen["end"] - seen["begin"] >= 90) & (seen["last"] > seen["first"])]
    v = records.vehicles.set_index("vehicle_id").join(seen, how="inner")
    v["pace"] = (v["last"] - v["first"]) / (v["end"] - v["begin"])
    v["wear"] = _wear(records).reindex(v.index)
    like = v.groupby("wear_class")
    usual, wear = like["pace"].transform("median"), like["wear"].transform("median")
    apart = np.log(v["pace"] / usual)
    usual_apart = 1.4826 * apart.abs().groupby(v["wear_class"]).transform("median")
    v = v.assign(slower=usual / v["pace"], harder=v["wear"] / wear, known=like["pace"].transform("size"))
    v = v[(v["known"] >= LEAST_LIKE) & v["harder"].notna()].assign(usual_apart=usual_apart)
    hours = v[(v["slower"] >= 1 / HOURS_PACE) & (v["harder"] >= HOURS_WEAR)].reset_index()
    even = v["usual_apart"] < np.log(KM_PER_MI) / FAR_SPREADS
    miles = (
        even
        & v["factor"].eq(1.0)
        & (np.abs(np.log(v["slower"] / KM_PER_MI)) < 0.15)
        & (np.abs(np.log(v["harder"] / KM_PER_MI)) < 0.3)
    )
    miles = v[miles].reset_index()
    parts = []
    for rows, unit, extra in (
        (hours, "hours", [{"km_per_hour": int(round(n))} for n in hours["harder"]]), (miles, "mi", [{}] * len(miles)),
    ):  # fmt: skip
        told = [
            f"vehicle {a.vehicle_id} counts {a.pace:.1f} a day where like vehicles count {a.pace * a.slower:.0f}, and wears {a.harder:.1f} "
            f"times as much for each: a meter of {'hours' if unit == 'hours' else 'miles'}"
            for a in rows.itertuples()
        ]
        fields = [{"vehicle_id": name, "where": "all", "unit": unit, **more} for name, more in zip(rows["vehicle_id"], extra)]
        parts.append(_made("odometer_unit", rows.assign(date=pd.NaT), fields, "", "vehicles", rows["row"], unit == "hours", told))
    return pd.concat([part for part in parts if len(part)] or parts[:1], ignore_index=True)


def _wear(records) -> pd.Series:
    """Median wear of each vehicle's linings between readings of one part, mm for each km of its odometer."""
    m = records.measurements
    m = m[m["part"].isin(LINING_PARTS) & m["value_mm"].notna()].merge(records.visits[["visit_id", "odometer_km"]], on="visit_id")
    track = ["vehicle_id", "axle", "side", "part"]
    m = m.sort_values([*track, "date", "odometer_km"], kind="stable")
    same = (m[track] == m[track].shift()).all(axis=1)
    lost, driven = -m["value_mm"].diff()[same], m["odometer_km"].diff()[same]
    wear = (lost / driven)[(lost > 0) & (driven > 0)]
    return wear.groupby(m["vehicle_id"]).median()


# --- sides ------------------------------------------------------------------------------------------------------------


def _swapped_sides(records, cut, shown) -> pd.DataFrame:
    """Looks at an axle that were set aside as R42, or whose difference between left and right is that of the looks around it
    turned about."""
    look = _crossed(_differences(records))
    m = records.measurements
    look = look[look["turned"]]
    if cut is not None:
        aside = cut.findings.loc[cut.findings["code"].eq("R42-sides-swapped"), "row"]
        aside = m.loc[m["row"].isin(aside), ["visit_id", "axle"]].drop_duplicates()
        look = look.merge(aside, on=["visit_id", "axle"], how="outer", indicator="by")
        look["strong"] = look["strong"].fillna(False).astype(bool) | look["by"].ne("left_only")
    rows = m[m["side"].isin(("left", "right"))].groupby(["visit_id", "axle"], sort=False)
    rows = rows.agg(date=("date", "first"), row=("row", "min"), vehicle=("vehicle_id", "first")).reset_index()
    look = look.drop(columns="vehicle_id").merge(rows.rename(columns={"vehicle": "vehicle_id"}), on=["visit_id", "axle"])
    d = shown.thickness_text
    evidence = [
        f"vehicle {a.vehicle_id}, visit {a.visit_id} of {day_text(a.date)}, {a.axle} axle: each side goes on from where the other was"
        + (
            ""
            if pd.isna(a.apart)
            else f" (left {d(a.left)}, right {d(a.right)}; the looks around say that {'left' if a.should > 0 else 'right'} "
            f"should be the thicker by about {d(abs(a.should))})"
        )
        for a in look.itertuples()
    ]
    fields = [{"visit_id": a, "axle": b} for a, b in zip(look["visit_id"], look["axle"], strict=True)]
    return _made("sides_swapped", look, fields, look["visit_id"], "measurements", look["row"], look["strong"], evidence)


def _differences(records) -> pd.DataFrame:
    """The linings at each look before any work, in order of time: ``vehicle_id, axle, visit_id, km, left, right`` (mm, means of
    the parts read on both sides), ``apart`` (left minus right), ``life`` (by number: a recorded change of linings begins
    another) and ``start_km`` (where it began, NaN where not known)."""
    m = records.measurements
    m = m[m["part"].isin(LINING_PARTS) & m["value_mm"].notna() & m["taken"].ne("after") & m["side"].isin(("left", "right"))]
    axle = ["vehicle_id", "axle"]
    part = m.pivot_table("value_mm", [*axle, "visit_no", "visit_id", "part"], "side").reindex(columns=["left", "right"])
    look = part.dropna().groupby([*axle, "visit_no", "visit_id"]).mean().reset_index()
    w = records.work
    jobs = w.loc[
        w["part"].isin(("pads", "shoes")) & w["action"].eq("replaced"), [*axle, "visit_no", "visit_id"]
    ].drop_duplicates()
    both = pd.concat([look.assign(job=0), jobs.assign(job=1)], ignore_index=True)
    both["km"] = both["visit_id"].map(records.visits.set_index("visit_id")["clock_km"])
    both = both.sort_values([*axle, "visit_no", "job"], kind="stable", ignore_index=True)
    number = both.groupby(axle, sort=False).ngroup()
    both["life"] = number * MOST_LIVES + both["job"].groupby(number).cumsum()
    joined = records.vehicles.set_index("vehicle_id")["in_service_odometer_km"]
    joined = both["vehicle_id"].map(joined.where(joined <= JOINED_NEW_KM))
    both["start_km"] = (
        both["km"].where(both["job"].eq(1)).groupby(both["life"]).ffill().where(both["life"] % MOST_LIVES > 0, joined)
    )
    return both[both["job"].eq(0) & both["km"].notna()].assign(apart=both["left"] - both["right"]).reset_index(drop=True)


def _crossed(look) -> pd.DataFrame:
    """Which looks are ``turned``: the difference between the sides is the opposite of what it ``should`` be by the looks around,
    and neither side is thicker than the other was before.

    Between two looks the difference is on the line between them. At the last look of a life it has grown with the distance
    since the linings were fitted, where that is known; at the first it is that of the two looks after.
    """
    if not len(look):
        return look.assign(should=np.nan, turned=False, strong=False)
    life, km, start = (look[name].to_numpy(dtype="float64") for name in ("life", "km", "start_km"))
    apart, left, right = (look[name].to_numpy() for name in ("apart", "left", "right"))

    def beside(values, step):
        """``values`` so many looks on within the life, NaN where there is none."""
        at = np.arange(len(look)) + step
        inner = np.clip(at, 0, len(look) - 1)
        return np.where((at == inner) & (life[inner] == life), values[inner], np.nan)

    with np.errstate(invalid="ignore", divide="ignore"):
        grown = [np.clip((km - start) / (beside(km, -n) - start), 1.0, MOST_GROWTH) for n in (1, 2)]
        share = (km - beside(km, -1)) / np.maximum(beside(km, 1) - beside(km, -1), 1.0)
    between = beside(apart, -1) + share * (beside(apart, 1) - beside(apart, -1))
    since_start = pd.DataFrame([beside(apart, -n) * grown[n - 1] for n in (1, 2)]).mean().to_numpy()
    two_before, two_after = ((beside(apart, step) + beside(apart, 2 * step)) / 2 for step in (-1, 1))
    last = np.where(np.isnan(since_start), two_before, since_start)
    should = np.select([~np.isnan(between), ~np.isnan(last)], [between, last], two_after)
    around = np.array([beside(apart, step) for step in (-2, -1, 1, 2)])
    around[0, ~np.isnan(between)] = around[3, ~np.isnan(between)] = np.nan
    steady = (np.isnan(around) | (around * np.sign(should) >= 0.3 * np.abs(should) / MOST_GROWTH)).all(axis=0)
    known = ~np.isnan(should)
    spread = max(1.4826 * np.median(np.abs(apart - should)[known]) if known.any() else 0.0, LEAST_SPREAD_MM)
    size = -apart * np.sign(should)
    turned = (
        known
        & steady
        & (size >= 0.5 * np.abs(should))
        & (size <= MOST_GROWTH * np.abs(should))
        & (np.abs(apart - should) >= SIDES_FAR * spread)
    )
    growth = np.fmax(left - beside(right, -1), right - beside(left, -1))
    growth = np.fmax(growth, np.fmax(beside(right, 1) - left, beside(left, 1) - right))
    turned &= growth <= SIDES_GROWTH_MM
    strong = ~np.isnan(between) & (np.abs(apart - should) >= 1.5 * SIDES_FAR * spread)
    return look.assign(should=should, turned=turned, strong=strong)


MOST_LIVES = 1_000_000
MOST_GROWTH = 2.5
LEAST_SPREAD_MM, SIDES_GROWTH_MM = 0.2, 1.0
SIDES_FAR = 7.0
"""A difference between two sides is turned about when it lies this many standard deviations of such differences over the fleet
away from what it should be, is its opposite within a factor of two or so, and no side has grown by more than a millimetre from what
the other was (simulated; common practice, no source)."""


def _made(kind, rows, fields, visits, table, row, strong, evidence) -> pd.DataFrame:
    """Proposals, one a row of ``rows``."""
    return pd.DataFrame(
        {
            "kind": kind, "fields": list(fields), "vehicle_id": rows["vehicle_id"].to_numpy(), "visits": np.asarray(visits),
            "date": rows["date"].to_numpy(), "table": np.asarray(table), "row": np.asarray(row, dtype="float64"),
            "strength": np.where(strong, "strong", "fair"), "evidence": list(evidence),
        },
        index=pd.RangeIndex(len(rows)),
    )  # fmt: skip
