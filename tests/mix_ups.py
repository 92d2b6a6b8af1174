"""Mix-ups planted in made fleets, with what was planted where; the truth for tests of ``who_is_who``."""

import numpy as np
import pandas as pd

from brakedata.units import KM_PER_MI


def same_visit(tables, rng, n):
    """Write ``n`` visits with readings and work on two papers: the work under a visit of its own, up to two days and 10 km on."""
    t = {name: table.copy() for name, table in tables.items()}
    visits = t["visits"]
    both = sorted(set(t["measurements"]["visit_id"]) & set(t["work"]["visit_id"]))
    chosen = rng.choice(both, n, replace=False)
    copies = visits[visits["visit_id"].isin(chosen)].copy()
    names = {visit: f"{visit}-invoice" for visit in chosen}
    copies["visit_id"] = copies["visit_id"].map(names)
    copies["date"] = copies["date"] + pd.to_timedelta(rng.integers(0, 3, n), unit="D")
    copies["odometer"] = copies["odometer"] + rng.integers(0, 11, n)
    t["visits"] = pd.concat([visits, copies], ignore_index=True)
    t["work"]["visit_id"] = t["work"]["visit_id"].replace(names)
    return t, {tuple(sorted(pair)) for pair in names.items()}


def vehicles_swapped(tables, rng, n):
    """Write ``n`` pairs of visits of one day under each other's vehicle."""
    t = {name: table.copy() for name, table in tables.items()}
    visits = t["visits"]
    pairs = visits.reset_index().merge(visits.reset_index(), on="date", suffixes=("", "_of"))
    pairs = pairs[pairs["vehicle_id"] < pairs["vehicle_id_of"]].sample(frac=1, random_state=int(rng.integers(1 << 30)))
    pairs = pairs.drop_duplicates("vehicle_id").drop_duplicates("vehicle_id_of")
    pairs = pairs[~pairs["vehicle_id"].isin(pairs["vehicle_id_of"])].head(n)
    vehicle = visits["vehicle_id"].to_numpy(dtype=object, copy=True)
    vehicle[pairs["index"]], vehicle[pairs["index_of"]] = pairs["vehicle_id_of"], pairs["vehicle_id"]
    t["visits"] = visits.assign(vehicle_id=vehicle)
    return t, {tuple(sorted(pair)) for pair in zip(pairs["visit_id"], pairs["visit_id_of"], strict=True)}


def sides_swapped(tables, rng, n, apart_mm):
    """Write left for right at ``n`` looks at which the two sides' means differ by ``apart_mm`` or more."""
    t = {name: table.copy() for name, table in tables.items()}
    m = t["measurements"]
    pads = m[m["side"].isin(["left", "right"]) & m["part"].str.contains("pad|shoe") & m["taken"].ne("after")]
    mean = pads.pivot_table("value", ["visit_id", "axle"], "side")
    looks = mean.index[(mean["left"] - mean["right"]).abs() >= apart_mm]
    looks = looks[np.sort(rng.choice(len(looks), min(n, len(looks)), replace=False))]
    here = pd.MultiIndex.from_frame(m[["visit_id", "axle"]]).isin(looks)
    m["side"] = m["side"].mask(here, m["side"].map({"left": "right", "right": "left"}))
    return t, set(looks)


def _odometers_from(tables, rng, n, change):
    """``change(odometer, day)`` applied to all odometers of ``n`` vehicles from a day in the middle of their history on."""
    t = {name: table.copy() for name, table in tables.items()}
    count = t["visits"].groupby("vehicle_id")["date"].size()
    chosen = rng.choice(sorted(count.index[count >= 8]), n, replace=False)
    for vehicle in chosen:
        its = t["visits"].loc[t["visits"]["vehicle_id"].eq(vehicle)].sort_values("date")
        place = int(rng.integers(3, len(its) - 3))
        day, last = its["date"].iloc[place], its["odometer"].iloc[place - 1]
        for name in ("visits", "odometer_log"):
            if name in t:
                here = t[name]["vehicle_id"].eq(vehicle) & (t[name]["date"] >= day)
                t[name]["odometer"] = t[name]["odometer"].astype(float).mask(here, change(t[name]["odometer"], last))
    return t, set(chosen)


def new_cluster(tables, rng, n):
    """New clusters that begin at zero."""
    return _odometers_from(tables, rng, n, lambda odometer, last: (odometer - last).clip(lower=1).astype(float))


def miles_from(tables, rng, n):
    """Meters that tell the same distance in miles from a day on."""
    return _odometers_from(tables, rng, n, lambda odometer, last: (odometer / KM_PER_MI).round())


def single_in_miles(tables, rng, n):
    """``n`` visits written in miles."""
    t = {name: table.copy() for name, table in tables.items()}
    visits = t["visits"].sort_values(["vehicle_id", "date"])
    inner = visits[
        visits["vehicle_id"].eq(visits["vehicle_id"].shift(2)) & visits["vehicle_id"].eq(visits["vehicle_id"].shift(-2))
    ]
    chosen = rng.choice(sorted(inner["visit_id"]), n, replace=False)
    here = t["visits"]["visit_id"].isin(chosen)
    t["visits"]["odometer"] = t["visits"]["odometer"].astype(float).mask(here, (t["visits"]["odometer"] / KM_PER_MI).round())
    return t, set(chosen)


def whole_meter(tables, rng, n, divisor, names=("vehicles", "visits", "odometer_log")):
    """All odometers of ``n`` vehicles in the named tables divided: by 1.609344 a meter of miles, by 30 one of hours."""
    t = {name: table.copy() for name, table in tables.items()}
    chosen = rng.choice(sorted(t["vehicles"]["vehicle_id"]), n, replace=False)
    for name in set(names) & set(t):
        column = "in_service_odometer" if name == "vehicles" else "odometer"
        here = t[name]["vehicle_id"].isin(chosen)
        t[name][column] = t[name][column].astype(float).mask(here, (t[name][column] / divisor).round())
    return t, set(chosen)
