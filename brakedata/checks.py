"""What the records say together: numbered rules over the loaded tables.

Each rule is a function named after what it looks at; its number (``R12``, ``R23`` ...) stands in ``findings.RULES``, in the
docstring, in the finding and in the test. Rules leave rows out only with a finding; they never change a value.
"""

import numpy as np
import pandas as pd

from brakedata import findings
from brakedata.records import Records

LINING_RANGE_MM = (0.0, 30.0)
"""Lining 0 to 25 mm on light, to 30 mm on heavy vehicles (common practice, no source)."""
RANGES_MM = {
    ("rotor", "thickness"): (5.0, 60.0),
    ("drum", "diameter"): (100.0, 500.0),
    ("rotor", "runout"): (0.0, 2.0),
    ("drum", "runout"): (0.0, 2.0),
    ("rotor", "thickness_variation"): (0.0, 0.5),
}
"""What a part can be: rotors 6 to 50 mm, drums 150 to 450 mm with room either side (common practice, no source)."""
MOST_KM_A_DAY = 1000.0
"""More than this on a day is not driven (common practice, no source)."""
MOST_ODOMETER_KM = 4_000_000.0
LONELY_DATE_DAYS = 730
CLOCK_SLACK_KM = 1.0
LOOK_BACK = 32


def check(source, tables: dict[str, pd.DataFrame], settings, found: list[pd.DataFrame]) -> Records:
    """Apply every rule in order and freeze the result.

    Parameters
    ----------
    source : Path
    tables : dict of DataFrame
        As typed by ``records``; keys are the contract's table names.
    settings : Settings
    found : list of DataFrame
        Findings so far; those of the rules are added.

    Returns
    -------
    Records
    """
    found = list(found)
    vehicles = _once(tables["vehicles"], ["vehicle_id"], "vehicles", found)
    vehicles["in_service_odometer_km"] = vehicles["in_service_odometer"] * vehicles["factor"]
    visits = _once(tables["visits"], ["visit_id"], "visits", found)
    visits = _known(visits, "vehicle_id", vehicles["vehicle_id"], "R13-unknown-vehicle", "visits", found)
    log = _known(tables["odometer_log"], "vehicle_id", vehicles["vehicle_id"], "R13-unknown-vehicle", "odometer_log", found)
    for frame in (visits, log):
        frame["odometer_km"] = frame["odometer"] * frame["factor"]
    visits, log = _possible_dates(visits, log, found)
    _dates_in_service(visits, vehicles, found)
    visits = visits.sort_values(["vehicle_id", "date", "odometer_km", "visit_id"], kind="stable", ignore_index=True)
    log = log.sort_values(["vehicle_id", "date", "odometer_km"], kind="stable", ignore_index=True)
    log = _once(log, ["vehicle_id", "date", "odometer_km"], "odometer_log", found)
    visits, log = judge_odometers(visits, log, vehicles, found)
    limits = _limit_order(tables["limits"], found)
    measurements = _of_visits(tables["measurements"], visits, "measurements", found)
    measurements["value_mm"] = measurements["value"] * measurements["factor"]
    measurements["low_mm"] = measurements["low"] * measurements["factor"]
    measurements["high_mm"] = measurements["high"] * measurements["factor"]
    measurements["taken"] = measurements["taken"].replace("", "before")
    measurements = _ranges(measurements, found)
    measurements = _reading_once(measurements, found)
    measurements = _all_zero(measurements, found)
    _bounds(measurements, found)
    work = _of_visits(tables["work"], visits, "work", found)
    work["side"] = work["side"].replace("", "both")
    order = ["vehicle_id", "visit_no", "axle", "side", "part", "measure", "taken", "value_mm", "row"]
    measurements = measurements.sort_values(order, kind="stable", ignore_index=True)
    work = work.sort_values(["vehicle_id", "visit_no", "axle", "side", "part", "action", "row"], kind="stable", ignore_index=True)
    vehicles = vehicles.sort_values("vehicle_id", kind="stable", ignore_index=True)
    return Records(
        source, vehicles, limits, visits, measurements, work, log, findings.join(found), settings,
    )  # fmt: skip


def _once(frame, key, table, found):
    """R12: the same thing listed twice; the first row counts."""
    again = frame.duplicated(key).to_numpy()
    if again.any():
        first = frame.drop_duplicates(key)[[*key, "row"]].rename(columns={"row": "first_row"})
        rows = frame[again].merge(first, on=key, how="left")
        found.append(
            findings.make(
                "R12-listed-twice", table, row=rows["row"], column=key[0], value=rows[key[0]],
                vehicle_id=rows["vehicle_id"] if "vehicle_id" in rows else "",
                reading="first on line " + rows["first_row"].astype("str"),
            )
        )  # fmt: skip
    return frame[~again].reset_index(drop=True)


def _reading_once(measurements, found):
    """R12 for linings: the same reading twice. Rotors and drums are measured at several points, which may agree."""
    points = measurements["part"].isin(("rotor", "drum")).to_numpy()
    key = ["visit_id", "axle", "side", "part", "measure", "taken", "value_written", "unit"]
    kept = _once(measurements[~points].reset_index(drop=True), key, "measurements", found)
    return pd.concat([kept, measurements[points]], ignore_index=True)


def _known(frame, column, allowed, code, table, found):
    """R13, R14: rows that name a vehicle or a visit that is not listed."""
    known = frame[column].isin(allowed).to_numpy()
    if not known.all():
        lost = frame[~known]
        vehicle = lost["vehicle_id"] if "vehicle_id" in lost else ""
        found.append(findings.make(code, table, row=lost["row"], vehicle_id=vehicle, column=column, value=lost[column]))
    return frame[known].reset_index(drop=True)


def _possible_dates(visits, log, found):
    """R20: dates before 1950 or after 2100, and the few that stand two years or more apart from all others.

    The clock of the computer is not asked: the same records give the same answer on every day.
    """
    dates = pd.concat([visits["date"], log["date"]], ignore_index=True)
    bad_dates = dates[(dates < "1950-01-01") | (dates >= "2100-01-01")]
    few = max(2, int(0.005 * len(dates)))
    ordered = np.sort(dates[~dates.isin(bad_dates)].unique())
    counts = dates.value_counts()
    gaps = np.flatnonzero(np.diff(ordered) > np.timedelta64(LONELY_DATE_DAYS, "D"))
    if len(dates) >= 20:
        for gap in gaps:
            early, late = ordered[: gap + 1], ordered[gap + 1 :]
            for lonely in (early, late):
                if counts[lonely].sum() <= few:
                    bad_dates = pd.concat([bad_dates, pd.Series(lonely)])
    kept = []
    for table, frame in (("visits", visits), ("odometer_log", log)):
        bad = frame["date"].isin(bad_dates).to_numpy()
        if bad.any():
            lost = frame[bad]
            written = lost["date"].dt.strftime("%Y-%m-%d")
            found.append(
                findings.make(
                    "R20-date-impossible", table, row=lost["row"], vehicle_id=lost["vehicle_id"], column="date", value=written
                )
            )
        kept.append(frame[~bad].reset_index(drop=True))
    return kept


def _dates_in_service(visits, vehicles, found):
    """R21: visits before the vehicle joined or after it left; a note, the visit counts."""
    service = vehicles.set_index("vehicle_id")[["in_service_date", "retired_date"]]
    joined = visits["vehicle_id"].map(service["in_service_date"])
    left = visits["vehicle_id"].map(service["retired_date"])
    outside = ((visits["date"] < joined) | (visits["date"] > left)).to_numpy()
    if outside.any():
        odd = visits[outside]
        found.append(
            findings.make(
                "R21-date-out-of-service", "visits", row=odd["row"], vehicle_id=odd["vehicle_id"], column="date",
                value=odd["date"].dt.strftime("%Y-%m-%d"),
            )
        )  # fmt: skip


def judge_odometers(visits, log, vehicles, found):
    """R22, R23, R24, R25: which odometers can be believed.

    Of each vehicle's dated odometers (visits, log, and the one it joined with) the largest set is kept in which none goes
    back and none leaps by more than ``MOST_KM_A_DAY``; the others are not used as odometers (``odometer_ok`` False), the
    visit stays. A last or first odometer far off what the vehicle drives is left out too.

    Parameters
    ----------
    visits, log : DataFrame
        Sorted by vehicle and date, with ``odometer_km``.
    vehicles : DataFrame
    found : list of DataFrame
        Findings are added.

    Returns
    -------
    visits, log : DataFrame
        With ``odometer_ok`` (bool; for ``vehicles``, in place, ``in_service_ok``) and, for visits, ``visit_no`` (0, 1, ... within the vehicle by date) and ``clock_km``:
        the odometer, or the one estimated from its neighbours by date where it is not believed (NaN where none can be).
    """
    visits = visits.copy()
    log = log.copy()
    visits["visit_no"] = visits.groupby("vehicle_id", sort=False).cumcount()
    for table, frame in (("visits", visits), ("odometer_log", log)):
        far = ((frame["odometer_km"] < 0) | (frame["odometer_km"] > MOST_ODOMETER_KM)).to_numpy()
        frame["odometer_ok"] = ~far
        _odometer_finding("R22-odometer-impossible", table, frame[far], found)
    joined = vehicles.rename(columns={"in_service_date": "date", "in_service_odometer_km": "odometer_km"})
    joined["odometer_written"] = joined["in_service_odometer_written"]
    joined["odometer_ok"] = (joined["date"].notna() & joined["odometer_km"].between(0, MOST_ODOMETER_KM)).to_numpy()
    tables = {"vehicles": joined, "visits": visits, "odometer_log": log}
    columns = ["vehicle_id", "date", "odometer_km", "odometer_ok", "row"]
    points = [frame[columns].assign(table=table, at=np.arange(len(frame))) for table, frame in tables.items()]
    points = pd.concat(points, ignore_index=True)
    points = points[points["odometer_ok"]]
    points = points.sort_values(["vehicle_id", "date", "odometer_km", "table"], kind="stable", ignore_index=True)
    vehicle = pd.factorize(points["vehicle_id"])[0]
    day = _days(points["date"])
    km = points["odometer_km"].to_numpy()
    code = largest_consistent(vehicle, day, km)
    points["code"] = np.where(code > 0, np.where(code == 1, "R23-odometer-back", "R24-odometer-leap"), "")
    lone = lone_leaps(vehicle[code == 0], day[code == 0], km[code == 0])
    points.loc[np.flatnonzero(code == 0)[lone], "code"] = "R24-odometer-leap"
    for table, frame in tables.items():
        bad = points[(points["code"] != "") & (points["table"] == table)]
        ok = frame["odometer_ok"].to_numpy(copy=True)
        ok[bad["at"]] = False
        frame["odometer_ok"] = ok
        for rule in ("R23-odometer-back", "R24-odometer-leap"):
            _odometer_finding(rule, table, frame.iloc[np.sort(bad["at"][bad["code"] == rule])], found)
    vehicles["in_service_ok"] = joined["odometer_ok"].to_numpy()
    good = points[points["code"] == ""]
    visits["clock_km"] = np.where(visits["odometer_ok"], visits["odometer_km"], _between(visits, good))
    none = ~vehicles["vehicle_id"].isin(good["vehicle_id"]).to_numpy()
    seen = vehicles["vehicle_id"].isin(visits["vehicle_id"]).to_numpy()
    lost = vehicles[none & seen]
    if len(lost):
        found.append(findings.make("R25-odometer-none", "vehicles", row=lost["row"], vehicle_id=lost["vehicle_id"]))
    return visits, log


def _odometer_finding(code, table, rows, found):
    if len(rows):
        found.append(
            findings.make(
                code, table, row=rows["row"], vehicle_id=rows["vehicle_id"], column="odometer", value=rows["odometer_written"],
                reading=rows["odometer_km"].round().map("{:.0f} km".format),
            )
        )  # fmt: skip


def _days(dates: pd.Series) -> np.ndarray:
    """Days since 1970-01-01, shape (n,), float."""
    return dates.to_numpy().astype("datetime64[D]").astype("int64").astype("float64")


def largest_consistent(vehicle: np.ndarray, day: np.ndarray, km: np.ndarray) -> np.ndarray:
    """Points that must go so that the largest possible set of each vehicle's odometers agrees.

    Two odometers agree when the later one is not smaller and not more than ``MOST_KM_A_DAY`` a day larger (one day's worth
    on the same day). Longest chain by dynamic programming, looking back over ``LOOK_BACK`` points, all vehicles at once;
    only vehicles with a disagreement are looked at.

    Parameters
    ----------
    vehicle : ndarray of int, shape (n,)
        Non-decreasing; each vehicle's points in order of date.
    day, km : ndarray, shape (n,)

    Returns
    -------
    ndarray of int, shape (n,)
        0 keep; 1 goes back; 2 leaps.
    """
    code = np.zeros(len(km), dtype=int)
    if len(km) < 2:
        return code
    step_ok = _agree(day[:-1], km[:-1], day[1:], km[1:]) | (vehicle[1:] != vehicle[:-1])
    offenders = np.unique(vehicle[1:][~step_ok])
    if not len(offenders):
        return code
    chosen = np.flatnonzero(np.isin(vehicle, offenders))
    count = np.bincount(np.searchsorted(offenders, vehicle[chosen]))
    group = np.repeat(np.arange(len(offenders)), count)
    place = np.arange(len(chosen)) - np.repeat(np.cumsum(count) - count, count)
    width = count.max()
    grid_day, grid_km = np.full((len(offenders), width), np.nan), np.full((len(offenders), width), np.nan)
    grid_day[group, place], grid_km[group, place] = day[chosen], km[chosen]
    length = np.where(np.isfinite(grid_km), 1, 0)
    previous = np.full(grid_km.shape, -1)
    lanes = np.arange(len(offenders))
    for j in range(1, width):
        start = max(0, j - LOOK_BACK)
        agree = _agree(grid_day[:, start:j], grid_km[:, start:j], grid_day[:, j : j + 1], grid_km[:, j : j + 1])
        reach = np.where(agree, length[:, start:j], 0)
        best = (j - start - 1) - np.argmax(reach[:, ::-1], axis=1)
        gain = reach[lanes, best]
        linked = (gain > 0) & (length[:, j] > 0)
        length[:, j] += np.where(linked, gain, 0)
        previous[:, j] = np.where(linked, start + best, -1)
    keep = np.zeros(grid_km.shape, dtype=bool)
    at = width - 1 - np.argmax(length[:, ::-1], axis=1)
    alive = np.ones(len(offenders), dtype=bool)
    while alive.any():
        keep[lanes[alive], at[alive]] = True
        at = np.where(alive, previous[lanes, at], at)
        alive &= at >= 0
    dropped = ~keep[group, place]
    filled = pd.DataFrame(np.where(keep, grid_km, np.nan)).ffill(axis=1).to_numpy()
    back = grid_km[group, place] < filled[group, place]
    last_kept = pd.DataFrame(np.where(keep, grid_km, np.nan)).bfill(axis=1).to_numpy()
    back |= ~(grid_km[group, place] > last_kept[group, place]) & np.isnan(filled[group, place])
    code[chosen] = np.where(dropped, np.where(back, 1, 2), 0)
    return code


def _agree(day_a, km_a, day_b, km_b):
    step = km_b - km_a
    return (step >= -CLOCK_SLACK_KM) & (step <= MOST_KM_A_DAY * np.maximum(day_b - day_a, 1.0))


def lone_leaps(vehicle: np.ndarray, day: np.ndarray, km: np.ndarray) -> np.ndarray:
    """First or last odometers of a vehicle that lie far beyond what it drives on every other stretch.

    Nothing after the last odometer (before the first) can contradict it, so it is compared with the vehicle's own use: it
    is not believed when its stretch is more than 6 times as fast as the median stretch and more than 15,000 km longer than
    that pace would give. Needs four odometers.

    Returns
    -------
    ndarray of int
        Places in the arrays.
    """
    if len(km) < 4:
        return np.array([], dtype=int)
    same = vehicle[1:] == vehicle[:-1]
    days = np.maximum(np.diff(day), 1.0)
    step = np.diff(km)
    pace = pd.Series(np.where(same & (np.diff(day) >= 5), step / days, np.nan))
    typical = pace.groupby(vehicle[1:]).transform("median").to_numpy()
    enough = pace.notna().groupby(vehicle[1:]).transform("sum").to_numpy() >= 3
    wild = same & enough & (step > 6 * typical * days) & (step - typical * days > 15_000)
    first = np.r_[True, ~same]
    last = np.r_[~same, True]
    ends = np.flatnonzero(wild & last[1:]) + 1
    starts = np.flatnonzero(wild & first[:-1])
    return np.unique(np.r_[ends, starts])


def _between(visits: pd.DataFrame, good: pd.DataFrame) -> np.ndarray:
    """Odometer of each visit by straight line over time between the vehicle's believed odometers, NaN where none is near."""
    out = np.full(len(visits), np.nan)
    need = np.flatnonzero(~visits["odometer_ok"].to_numpy())
    if not len(need) or not len(good):
        return out
    asked = visits.iloc[need][["vehicle_id", "date"]].assign(at=need).sort_values("date", kind="stable")
    believed = good[["vehicle_id", "date", "odometer_km"]].sort_values("date", kind="stable")
    sides = {}
    for direction in ("backward", "forward"):
        named = believed.rename(columns={"odometer_km": "km"}).assign(on=believed["date"])
        sides[direction] = pd.merge_asof(asked, named, on="date", by="vehicle_id", direction=direction).set_index("at")
    before, after = sides["backward"].loc[need], sides["forward"].loc[need]
    day, day_a, day_b = (_days_or_nan(series) for series in (asked.set_index("at").loc[need, "date"], before["on"], after["on"]))
    span = np.where(day_b > day_a, day_b - day_a, 1.0)
    km_a, km_b = before["km"].to_numpy(), after["km"].to_numpy()
    out[need] = km_a + (km_b - km_a) * (day - day_a) / span
    return out


def _days_or_nan(dates: pd.Series) -> np.ndarray:
    return np.where(dates.isna(), np.nan, _days(dates.fillna(pd.Timestamp("1970-01-01"))))


def _of_visits(frame, visits, table, found):
    """R14, and each row's vehicle, date and place in the vehicle's visits."""
    frame = _known(frame, "visit_id", visits["visit_id"], "R14-unknown-visit", table, found)
    return frame.merge(visits[["visit_id", "vehicle_id", "date", "visit_no"]], on="visit_id", how="left")


def _limit_order(limits, found):
    """R36: a part wears from new over machine_to and replace_at to discard_at; drums the other way round."""
    sign = np.where(limits["measure"].eq("thickness"), 1.0, -1.0)
    bad = np.zeros(len(limits), dtype=bool)
    for thick, thin in (("new", "replace_at"), ("replace_at", "discard_at"), ("new", "discard_at"), ("machine_to", "discard_at")):
        bad |= (sign * (limits[thick] - limits[thin]) < 0).to_numpy()
    if bad.any():
        rows = limits[bad]
        found.append(findings.make("R36-limit-order", "limits", row=rows["row"], column="applies_to", value=rows["applies_to"]))
    return limits[~bad].reset_index(drop=True)


def _ranges(measurements, found):
    """R30, R31: dimensions no such part has, and parts that are not measured this way."""
    lining = ~measurements["part"].isin(("rotor", "drum"))
    low, high = np.full(len(measurements), np.nan), np.full(len(measurements), np.nan)
    thickness = (lining & measurements["measure"].eq("thickness")).to_numpy()
    low[thickness], high[thickness] = LINING_RANGE_MM
    for (part, measure), (least, most) in RANGES_MM.items():
        these = (measurements["part"].eq(part) & measurements["measure"].eq(measure)).to_numpy()
        low[these], high[these] = least, most
    odd = np.isnan(low)
    value = measurements["value_mm"].to_numpy()
    edge = np.where(np.isfinite(value), value, measurements["low_mm"].fillna(measurements["high_mm"]))
    out = ~odd & ((edge < low) | (edge > high))
    for code, wrong, column in (("R31-part-and-measure", odd, "measure"), ("R30-out-of-range", out, "value")):
        if wrong.any():
            rows = measurements[wrong]
            found.append(
                findings.make(
                    code, "measurements", row=rows["row"], vehicle_id=rows["vehicle_id"], column=column,
                    value=rows["measure"] if column == "measure" else rows["value_written"] + " " + rows["unit"],
                    reading=rows["part"] + " " + rows["measure"],
                )
            )  # fmt: skip
    return measurements[~(odd | out)].reset_index(drop=True)


def _all_zero(measurements, found):
    """R32: a visit whose lining readings (three or more) are all zero was not measured, or is metal to metal: ask."""
    lining = measurements["measure"].eq("thickness") & ~measurements["part"].isin(("rotor", "drum"))
    zero = measurements["value_mm"].eq(0).where(lining)
    by_visit = zero.groupby(measurements["visit_id"])
    doubtful = (lining & (by_visit.transform("sum") >= 3) & by_visit.transform("mean").eq(1)).to_numpy()
    if doubtful.any():
        rows = measurements[doubtful]
        found.append(
            findings.make(
                "R32-all-zero", "measurements", row=rows["row"], vehicle_id=rows["vehicle_id"], column="value",
                value=rows["value_written"],
            )
        )  # fmt: skip
    return measurements[~doubtful].reset_index(drop=True)


def _bounds(measurements, found):
    """R34: bounds are kept as inspections."""
    bound = measurements["value_mm"].isna().to_numpy()
    if bound.any():
        rows = measurements[bound]
        found.append(
            findings.make(
                "R34-bound", "measurements", row=rows["row"], vehicle_id=rows["vehicle_id"], column="value",
                value=rows["value_written"],
            )
        )  # fmt: skip
