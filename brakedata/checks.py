"""What the records say together: numbered rules over the loaded tables.

Each rule is a function named after what it looks at; its number (``R12``, ``R23`` ...) stands in ``findings.RULES``, in the
docstring, in the finding and in the test. Rules leave rows out only with a finding; they never change a value.
"""

from dataclasses import replace

import numpy as np
import pandas as pd

from brakedata import answered, codes, findings, mapping, unit_changes, vins
from brakedata.findings import RecordsError
from brakedata.records import NoTables, Records, account, read

LINING_RANGE_MM = (0.0, 30.0)
"""Lining 0 to 25 mm on light, to 30 mm on heavy vehicles (common practice, no source)."""
RANGES_MM = {
    ("rotor", "thickness"): (3.0, 60.0),
    ("drum", "diameter"): (100.0, 500.0),
    ("rotor", "runout"): (0.0, 2.0),
    ("drum", "runout"): (0.0, 2.0),
    ("rotor", "thickness_variation"): (0.0, 0.5),
}
"""What a part can be: rotors 6 to 50 mm, those of motorcycles from 3.5 mm, drums 150 to 450 mm with room either side (common practice, no source)."""
LINING_OF_A_DAY = ["visit_id", "axle", "side", "part", "taken"]
FAR_APART_MM = 2.0
"""More than the inner and the outer pad of a wheel usually differ (common practice, no source)."""
POSSIBLE_DATES = (pd.Timestamp("1950-01-01"), pd.Timestamp("2100-01-01"))
LONELY_DATE_DAYS = 730
MOST_KM_A_DAY = 1000.0
"""More than this on a day is not driven (common practice, no source)."""
MOST_ODOMETER_KM = 4_000_000.0
CLOCK_SLACK_KM = 1.0
LOOK_BACK = 32
PACE_DAYS = 14.0
"""A pace is judged between odometers at least about two weeks apart."""
OFF_PACE_KM = 3_000.0
OFF_PACE_SPREADS = 5.0
END_LEAP_KM = 8_000.0
END_LEAP_RATIO = 3.0


def load(path, progress=None) -> Records:
    """Load a records folder or workbook and check it; files of a shop's own go through `mapping`.

    Parameters
    ----------
    path : str or Path
        A folder holding the tables, or one ``.xlsx`` workbook; or any file or folder of a shop's own.
    progress : callable, optional
        Called with a short text before each step.

    Returns
    -------
    Records

    Raises
    ------
    RecordsError
        When nothing could be done: no such folder, no table in it, a needed table or one of its columns missing, or a question
        about a shop's own file that must be answered first.
    """
    say = progress or (lambda text: None)
    try:
        source, tables, settings, found = read(path, say)
    except NoTables:
        if not mapping.foreign(path):
            raise
        say("reading the files")
        proposal = mapping.propose(path)
        if mapping.stopped(proposal):
            raise RecordsError(mapping.stopped(proposal)) from None
        return load_proposal(proposal, say)
    tables, applied = answered.apply(tables, settings)
    loaded = check(source, tables, settings, [*found, *applied])
    return replace(loaded, rows_read=_rows_read(tables, loaded))


def load_proposal(proposal, progress=None) -> Records:
    """The records that a shop's own files give as they are understood now (`mapping.Proposal`), checked.

    What waits for an answer is left out.
    """
    say = progress or (lambda text: None)
    say("checking what the files say")
    built = proposal.built
    tables, applied = answered.apply(built.tables, proposal.settings)
    loaded = check(proposal.source, tables, proposal.settings, [*proposal.found, *built.found, *applied])
    return replace(loaded, trail=built.trail, rows_read=_rows_mapped(built, loaded))


def _left_out_by(loaded: Records) -> dict[tuple[str, int], str]:
    """The rule that left a row out, by table and row: the first that is not a note."""
    spoken = loaded.findings[loaded.findings["severity"].ne("note") & loaded.findings["row"].notna()]
    spoken = spoken.drop_duplicates(["table", "row"])
    return dict(zip(zip(spoken["table"], spoken["row"].astype("int64"), strict=True), spoken["code"], strict=True))


def _rows_read(tables, loaded: Records) -> pd.DataFrame:
    """What came of every row of our tables: in its table, or left out by which rule."""
    parts = []
    for name, table in tables.items():
        row, kept = table["row"], loaded.rows_of(name)
        parts += [(name, "", "", len(kept))]
        if len(kept) < len(row):
            spoken = loaded.findings[loaded.findings["severity"].ne("note") & loaded.findings["table"].eq(name)]
            by_rule = spoken.drop_duplicates("row").set_index("row")["code"]
            why = row[~row.isin(kept)].map(by_rule).fillna("see the findings")
            parts += [(name, "", code, times) for code, times in why.value_counts().items()]
    return account(pd.DataFrame(parts, columns=["file", "sheet", "why", "rows"]))


def _rows_mapped(built, loaded: Records) -> pd.DataFrame:
    """What came of every line of a shop's own files: it gave something to a table, or why it did not."""
    shares = built.shares
    here = pd.Series(False, index=shares.index)
    for name in shares["table"].unique():
        here |= shares["table"].eq(name) & shares["in_row"].isin(loaded.rows_of(name))
    lost = shares[~here]
    lost = lost[~lost["row"].isin(shares.loc[here, "row"])].drop_duplicates("row") if len(lost) else lost
    by_rule = _left_out_by(loaded)
    rules = {row: by_rule.get((table, at), "see the findings") for row, table, at in lost.itertuples(index=False)}
    why = built.outcome.where(~built.outcome.index.isin(list(rules)), built.outcome.index.map(rules)) if rules else built.outcome
    trail = built.trail
    return account(trail[["file", "sheet"]].assign(why=trail["row"].map(why).fillna("").astype("str"), rows=1))


def check(source, tables: dict[str, pd.DataFrame], settings, found: list[pd.DataFrame]) -> Records:
    """Apply every rule in order and freeze the result.

    Parameters
    ----------
    source, tables, settings, found
        As ``records.read`` gives them; the findings of the rules are added.

    Returns
    -------
    Records
    """
    found, tables_read = list(found), tables
    tables = {name: table if table["usable"].all() else table[table["usable"]] for name, table in tables.items()}
    tables = {name: table.drop(columns="usable").reset_index(drop=True) for name, table in tables.items()}
    vehicles = _once(codes.plain(tables["vehicles"]), ["vehicle_id"], "vehicles", found)
    vehicles["in_service_odometer_km"] = vehicles["in_service_odometer"] * vehicles["factor"]
    vehicles = _possible_service(vehicles, found)
    found += vins.noticed(vehicles)
    visits = _once(tables["visits"], ["visit_id"], "visits", found)
    visits, _ = _known(visits, "vehicle_id", vehicles, tables_read["vehicles"], "R13-unknown-vehicle", "visits", found)
    log = tables["odometer_log"]
    log, _ = _known(log, "vehicle_id", vehicles, tables_read["vehicles"], "R13-unknown-vehicle", "odometer_log", found)
    visits, log = (frame.assign(odometer_km=frame["odometer"] * frame["factor"]) for frame in (visits, log))
    visits, log = _possible_dates(visits, log, vehicles, found)
    _dates_in_service(visits, vehicles, found)
    visits = _sorted(visits, ["vehicle_id", "date", "odometer_km", "visit_id"])
    visits = _measured_first(visits, tables["measurements"]["visit_id"], tables["work"]["visit_id"])
    log = _once(log, ["vehicle_id", "date", "odometer_km"], "odometer_log", found)
    log = _sorted(log, ["vehicle_id", "date", "odometer_km"])
    visits, log = judge_odometers(visits, log, vehicles, found)
    limits = _limits(codes.plain(tables["limits"]), found)
    measurements = _measurements(tables["measurements"], visits, tables_read["visits"], found)
    work = _of_visits(tables["work"], visits, tables_read["visits"], "work", found)
    work["side"] = codes.instead(work["side"], "", "both")
    same = ["visit_id", "axle", "side", "part", "action", "product_line", "cost_written", "note"]
    work = _once(work, same, "work", found)
    work = _jobs_of_two_papers(work, found)
    work = _sorted(work, ["vehicle_id", "visit_no", "axle", "side", "part", "action", "row"])
    vehicles = vehicles.sort_values("vehicle_id", kind="stable", ignore_index=True)
    visits, work, log = (codes.plain(frame) for frame in (visits, work, log))
    measurements = codes.kept(measurements)
    found += unit_changes.noticed(measurements, visits)
    found = _with_vehicles(findings.join(found), tables_read)
    return Records(source, vehicles, limits, visits, measurements, work, log, found, settings)


def until(records: Records, as_of) -> Records:
    """The records as they stood on ``as_of``: rows dated later are taken out, and odometers are judged without them.

    Parameters
    ----------
    records : Records
    as_of : date

    Returns
    -------
    Records
    """
    as_of = pd.Timestamp(as_of)
    dated = ("visits", "odometer_log", "coded_measurements", "work")
    later = {name: getattr(records, name)["date"] > as_of for name in dated}
    if not any(late.any() for late in later.values()):
        return records
    kept = {name: getattr(records, name)[~late].reset_index(drop=True) for name, late in later.items()}
    gone = [(name.removeprefix("coded_"), row) for name, late in later.items() for row in getattr(records, name)["row"][late]]
    of_gone = pd.MultiIndex.from_frame(records.findings[["table", "row"]]).isin(gone)
    old = records.findings[~of_gone & ~records.findings["code"].isin(ODOMETER_RULES)]
    found = [old]
    vehicles = records.vehicles.drop(columns="in_service_ok")
    kept["visits"], kept["odometer_log"] = judge_odometers(
        kept["visits"].drop(columns=["odometer_ok", "visit_no", "clock_km"]), kept["odometer_log"].drop(columns="odometer_ok"),
        vehicles, found,
    )  # fmt: skip
    return replace(records, vehicles=vehicles, **kept, findings=findings.join(found))


ODOMETER_RULES = ("R22-odometer-impossible", "R23-odometer-back", "R24-odometer-leap", "R25-odometer-none")


def _with_vehicles(found, tables):
    """The findings with the vehicle of every row that names one, itself or through its visit."""
    vehicle_id = found["vehicle_id"].copy()
    for name, table in tables.items():
        asked = np.flatnonzero(found["table"].eq(name) & vehicle_id.eq("") & found["row"].notna())
        if name == "limits" or not len(asked):
            continue
        lines = found["row"].iloc[asked].astype("int64")
        named = table[table["row"].isin(lines)].drop_duplicates("row")
        if "vehicle_id" in table:
            owner = codes.text(named["vehicle_id"])
        else:
            visits = tables["visits"][["visit_id", "vehicle_id"]]
            visits = codes.plain(visits[visits["visit_id"].isin(named["visit_id"].unique())]).drop_duplicates("visit_id")
            owner = codes.text(named["visit_id"]).map(visits.set_index("visit_id")["vehicle_id"]).astype("str").fillna("")
        vehicle_id.iloc[asked] = owner.set_axis(named["row"].to_numpy()).reindex(lines).fillna("").to_numpy()
    return found.assign(vehicle_id=vehicle_id)


def _measurements(measurements, visits, listed, found):
    """Readings of known visits, in mm, each once and possible."""
    measurements = _of_visits(measurements, visits, listed, "measurements", found)
    for name in ("value", "low", "high"):
        measurements[f"{name}_mm"] = (measurements[name] * measurements["factor"]).round(6)
    measurements["taken"] = codes.instead(measurements["taken"], "", "before")
    measurements = _ranges(measurements, found)
    measurements = _reading_once(measurements, found)
    measurements = _all_zero(measurements, found)
    _two_values(measurements, found)
    _bounds(measurements, found)
    return _sorted(measurements, ["vehicle_id", "visit_no", "axle", "side", "part", "measure", "taken", "value_mm", "row"])


def _sorted(frame, columns):
    """The frame in order of ``columns``, equal rows as they stand."""
    at = codes.order(frame, columns)
    return frame if (at[1:] > at[:-1]).all() else codes.rows(frame, at)


def _once(frame, key, table, found):
    """R12: the same thing listed twice; the first row counts."""
    again = codes.again(frame, key)
    if not again.any():
        return frame
    first = codes.plain(frame[~again][[*key, "row"]]).rename(columns={"row": "first_row"})
    rows = codes.plain(frame[again]).merge(first, on=key, how="left")
    found.append(
        findings.make(
            "R12-listed-twice", table, row=rows["row"], column=key[0], value=rows[key[0]],
            vehicle_id=rows.get("vehicle_id", ""),
            reading="first on line " + rows["first_row"].astype("str"),
        )
    )  # fmt: skip
    return frame[~again].reset_index(drop=True)


def _reading_once(measurements, found):
    """R12 for linings: the same reading twice. Rotors and drums are measured at several points, which may agree."""
    key = ["visit_id", "axle", "side", "part", "measure", "taken", "value_written", "unit"]
    point = np.where(measurements["part"].isin(("rotor", "drum")), np.arange(len(measurements)), -1)
    return _once(measurements.assign(point=point), [*key, "point"], "measurements", found).drop(columns="point")


def _known(frame, column, known, listed, code, table, found):
    """R13, R14: rows that name a vehicle or a visit that is not listed, or whose own row was left out.

    Gives the other rows, and their places in ``known``.
    """
    place = codes.place(known[column], frame[column])
    here = place >= 0
    if here.all():
        return frame, place
    lost = frame[~here]
    what = column.removesuffix("_id")
    names, listed = codes.text(lost[column]), codes.plain(listed[[column, "row"]]).drop_duplicates(column)
    line = names.map(listed.set_index(column)["row"])
    out = line.notna().to_numpy()
    found.append(
        findings.make(
            code, table, row=lost["row"], vehicle_id=codes.text(lost["vehicle_id"]) if "vehicle_id" in lost else "", column=column,
            value=names,
            reading=np.where(out, f"{what}s line " + line.map("{:.0f}".format), ""),
            advice=np.where(out, f"the {what}'s own row was left out: correct that row first", ""),
        )
    )  # fmt: skip
    return frame[here].reset_index(drop=True), place[here]


def _possible_service(vehicles, found):
    """R20, R21 for the vehicles' own dates: an impossible one counts as empty; leaving before joining is a note."""
    for name in ("in_service_date", "retired_date"):
        bad = (vehicles[name] < POSSIBLE_DATES[0]) | (vehicles[name] >= POSSIBLE_DATES[1])
        _date_finding("R20-date-impossible", "vehicles", vehicles[bad], name, found)
        vehicles[name] = vehicles[name].mask(bad)
    _date_finding(
        "R21-date-out-of-service", "vehicles", vehicles[vehicles["retired_date"] < vehicles["in_service_date"]],
        "retired_date", found,
    )  # fmt: skip
    return vehicles


def _date_finding(code, table, rows, column, found):
    if len(rows):
        found.append(
            findings.make(
                code, table, row=rows["row"], vehicle_id=rows["vehicle_id"], column=column,
                value=rows[column].dt.strftime("%Y-%m-%d"),
            )
        )  # fmt: skip


def _possible_dates(visits, log, vehicles, found):
    """R20: dates before 1950 or after 2100, and the few that stand two years or more apart from all others.

    A date that lies in a vehicle's time in service by the vehicles table is not lonely. The clock of the computer is not
    asked: the same records give the same answer on every day.
    """
    dates = pd.concat([visits["date"], log["date"]], ignore_index=True)
    impossible = (dates < POSSIBLE_DATES[0]) | (dates >= POSSIBLE_DATES[1])
    bad = impossible | dates.isin(_lonely(dates[~impossible]))
    if not bad.any():
        return visits, log
    joined = pd.concat([_of_vehicle(frame, vehicles, "in_service_date") for frame in (visits, log)], ignore_index=True)
    bad = (bad & (impossible | ~(dates >= joined))).to_numpy()
    kept = []
    for table, frame, wrong in (("visits", visits, bad[: len(visits)]), ("odometer_log", log, bad[len(visits) :])):
        _date_finding("R20-date-impossible", table, frame[wrong], "date", found)
        kept.append(frame[~wrong].reset_index(drop=True))
    return kept


def _of_vehicle(frame, vehicles, column):
    """A date of each row's vehicle, empty where none is given."""
    place = codes.place(vehicles["vehicle_id"], frame["vehicle_id"])
    return pd.Series(vehicles[column].array.take(place, allow_fill=True), index=frame.index)


def _lonely(dates: pd.Series) -> np.ndarray:
    """Days so few and so far from all other days that their year is a slip; none where there are fewer than 20 dates."""
    if len(dates) < 20:
        return np.array([], dtype=dates.to_numpy().dtype)
    count = dates.value_counts().sort_index()
    days, count = count.index.to_numpy(), count.to_numpy()
    group = np.cumsum(np.r_[False, np.diff(days) > np.timedelta64(LONELY_DATE_DAYS, "D")])
    return days[np.bincount(group, count)[group] <= max(2, 0.005 * len(dates))]


def _dates_in_service(visits, vehicles, found):
    """R21: visits before the vehicle joined or after it left; a note, the visit counts."""
    joined, left = _of_vehicle(visits, vehicles, "in_service_date"), _of_vehicle(visits, vehicles, "retired_date")
    outside = (visits["date"] < joined) | (visits["date"] > left)
    _date_finding("R21-date-out-of-service", "visits", visits[outside.to_numpy()], "date", found)


def judge_odometers(visits, log, vehicles, found):
    """R22, R23, R24, R25: which odometers can be believed.

    R22: negative, beyond ``MOST_ODOMETER_KM``, or zero, which is written where nobody looked (but a vehicle may join at
    zero). R23, R24: of each vehicle's dated odometers (visits, log, and the one it joined with) the largest set is kept in
    which none goes back and none leaps by more than ``MOST_KM_A_DAY``; of these, the ones that do not go with the vehicle's
    own pace are left out too. R25: where fewer than half agree, none is believed. An odometer that is not believed is not
    used as one (``odometer_ok`` False); the visit stays.

    Parameters
    ----------
    visits, log : DataFrame
        Sorted by vehicle and date, with ``odometer_km``, NaN where it could not be read.
    vehicles : DataFrame
        Gets ``in_service_ok`` (bool).
    found : list of DataFrame
        Findings are added.

    Returns
    -------
    visits, log : DataFrame
        With ``odometer_ok`` (bool) and, for visits, ``visit_no`` (0, 1, ... within the vehicle by date) and ``clock_km``: the
        odometer, or the one estimated by date where it is not believed (NaN where none can be).
    """
    visits, log = visits.copy(deep=False), log.copy(deep=False)
    joined = vehicles.rename(
        columns={
            "in_service_date": "date", "in_service_odometer_km": "odometer_km", "in_service_odometer_written": "odometer_written"
        }
    )  # fmt: skip
    tables = {"odometer_log": log, "vehicles": joined, "visits": visits}
    rank = pd.factorize(vehicles["vehicle_id"], sort=True)[0]
    number = {name: rank[codes.place(vehicles["vehicle_id"], frame["vehicle_id"])] for name, frame in tables.items()}
    visits["visit_no"] = _place_within(number["visits"])
    for table, frame in tables.items():
        km = frame["odometer_km"]
        far = ((km < 0) | (km > MOST_ODOMETER_KM) | ((km == 0) & (table != "vehicles"))).to_numpy()
        frame["odometer_ok"] = (frame["odometer_km"].notna() & frame["date"].notna()).to_numpy() & ~far
        _odometer_finding("R22-odometer-impossible", table, frame[far], found)
    points = _dated_odometers(tables, number)
    points["code"] = _misfits(points["vehicle"].to_numpy(), _days(points["date"]), points["odometer_km"].to_numpy())
    misfits = points[points["code"] > 0]
    for place, (table, frame) in enumerate(tables.items()):
        for code, rule in ((BACK, "R23-odometer-back"), (LEAP, "R24-odometer-leap")):
            at = np.sort(misfits["at"][(misfits["code"] == code) & (misfits["table"] == place)])
            if len(at):
                frame.loc[at, "odometer_ok"] = False
                _odometer_finding(rule, table, frame.iloc[at], found)
    vehicles["in_service_ok"] = joined["odometer_ok"].to_numpy()
    good = points if not len(misfits) else points[points["code"] == 0]
    doubtful = ~visits["odometer_ok"].to_numpy()
    visits["clock_km"] = visits["odometer_km"]
    if doubtful.any():
        visits.loc[doubtful, "clock_km"] = _estimated(number["visits"][doubtful], visits["date"][doubtful], good)
    believed, seen = np.zeros(len(vehicles), dtype=bool), np.zeros(len(vehicles), dtype=bool)
    believed[good["vehicle"]] = True
    seen[number["visits"]] = seen[number["odometer_log"]] = True
    lost = vehicles[(seen & ~believed)[rank]]
    if len(lost):
        found.append(findings.make("R25-odometer-none", "vehicles", row=lost["row"], vehicle_id=lost["vehicle_id"]))
    return visits, log


def _jobs_of_two_papers(work: pd.DataFrame, found) -> pd.DataFrame:
    """R12: the same job of one day, written in two visits, the inspection's sheet and its bill; the one that names its parts is used.

    Which visits are one only a person says (R85), but nobody renews the same linings twice on a day.
    """
    key = ["vehicle_id", "date", "axle", "side", "part", "action"]
    if not codes.again(work, key).any():
        return work
    first = codes.plain(work).assign(at=np.arange(len(work)), bare=codes.text(work["product_line"]).eq("").to_numpy())
    first = first.sort_values(["bare", "visit_no"], kind="stable")  # the paper that names the parts
    again = first[first.duplicated(key) & first["action"].isin(("replaced", "machined"))]
    used = first.drop_duplicates(key).set_index(key)["visit_id"].loc[pd.MultiIndex.from_frame(again[key])].to_numpy()
    other = used != again["visit_id"].to_numpy()
    lost = again[other]
    if not len(lost):
        return work
    said = [f"of the same day as that of visit {visit}" for visit in used[other]]
    found.append(
        findings.make(
            "R12-listed-twice", "work", row=lost["row"], vehicle_id=lost["vehicle_id"], column="action", value=lost["action"], reading=said,
        )
    )  # fmt: skip
    return codes.rows(work, np.setdiff1d(np.arange(len(work)), lost["at"].to_numpy()))


SAME_ODOMETER_KM = 2.0
"""Odometers of one day so near each other are of one visit written twice, rounded to a whole km or mile."""


def _measured_first(visits: pd.DataFrame, measured: pd.Series, worked: pd.Series) -> pd.DataFrame:
    """The sorted visits, of those of one day and odometer the invoices behind the sheets: what was measured was so before the work.

    Two files give one visit twice, and only a person may make it one (R85); until then a worn pad is no reading of its successor.
    """
    name, km = visits["vehicle_id"], visits["odometer_km"].to_numpy()
    vehicle = name.cat.codes.to_numpy() if codes.coded(name) else pd.factorize(name)[0]
    near = ~(np.abs(np.diff(km)) > SAME_ODOMETER_KM)  # one without an odometer is of that day
    together = np.append(False, (np.diff(vehicle) == 0) & (np.diff(visits["date"].to_numpy()) == np.timedelta64(0)) & near)
    several = np.flatnonzero(together | np.append(together[1:], False))
    if not len(several):
        return visits
    ids = visits["visit_id"].iloc[several]
    only_work = (ids.isin(worked) & ~ids.isin(measured)).to_numpy()
    group = np.cumsum(~together)[several]
    order = np.arange(len(visits))
    order[several] = several[np.lexsort([several, only_work, group])]
    return codes.rows(visits, order)


def _place_within(vehicle: np.ndarray) -> np.ndarray:
    """0, 1, ... within each vehicle, shape (n,); the rows of a vehicle stand together."""
    at = np.arange(len(vehicle))
    first = np.append(True, np.diff(vehicle) != 0)[: len(vehicle)]
    return at - np.maximum.accumulate(np.where(first, at, 0))


BACK, LEAP = 1, 2


def _dated_odometers(tables, number) -> pd.DataFrame:
    """The possible odometers of all tables in order of vehicle, date and distance; ``at`` is the place in its ``table``."""
    places = {name: np.flatnonzero(frame["odometer_ok"]) for name, frame in tables.items()}

    def together(cells):
        return np.concatenate([cells[name][at] for name, at in places.items()])

    points = {
        "vehicle": together(number),
        "date": together({name: frame["date"].to_numpy() for name, frame in tables.items()}),
        "odometer_km": together({name: frame["odometer_km"].to_numpy() for name, frame in tables.items()}),
        "table": np.repeat(np.arange(len(places)), [len(at) for at in places.values()]),
        "at": np.concatenate(list(places.values())),
    }
    return _sorted(pd.DataFrame(points, copy=False), ["vehicle", "date", "odometer_km", "table"])


def _odometer_finding(code, table, rows, found):
    if len(rows):
        found.append(
            findings.make(
                code, table, row=rows["row"], vehicle_id=rows["vehicle_id"],
                column="in_service_odometer" if table == "vehicles" else "odometer", value=rows["odometer_written"],
                reading=rows["odometer_km"].round().map("{:.0f} km".format),
            )
        )  # fmt: skip


def _days(dates: pd.Series) -> np.ndarray:
    """Days since 1970-01-01, shape (n,), float."""
    return dates.to_numpy().astype("datetime64[D]").astype("int64").astype("float64")


def _misfits(vehicle: np.ndarray, day: np.ndarray, km: np.ndarray) -> np.ndarray:
    """Which of the odometers must go: 0 keep, BACK or LEAP; arrays as for `largest_consistent`."""
    code = largest_consistent(vehicle, day, km)
    kept = np.flatnonzero(code == 0)
    code[kept[off_pace(vehicle[kept], day[kept], km[kept])]] = LEAP
    all_of_it, agreeing = np.bincount(vehicle), np.bincount(vehicle, code == 0)
    doubtful = (all_of_it >= FEW_ODOMETERS) & (agreeing < 0.5 * all_of_it)
    return np.where(doubtful[vehicle] & (code == 0), BACK, code)


FEW_ODOMETERS = 4


def usual_pace(vehicle: np.ndarray, day: np.ndarray, km: np.ndarray, of=None) -> tuple[np.ndarray, np.ndarray]:
    """Median pace of each vehicle, km a day.

    Stretches are taken between the first odometers of fortnights. A vehicle with fewer than three stretches has the fleet's
    median pace.

    Parameters
    ----------
    vehicle, day, km : ndarray, shape (n,)
        As for `largest_consistent`.
    of : ndarray of int, optional
        The vehicles asked for, default all; any other may be given the fleet's pace.

    Returns
    -------
    pace : ndarray, shape (vehicles,)
    stretches : ndarray of int, shape (vehicles,)
        How many stretches of each vehicle there are.
    """
    v, pace, stretches = _paces(vehicle, day, km)
    asked = stretches if of is None else np.where(np.isin(np.arange(len(stretches)), of), stretches, 0)
    return _usual(v, pace, asked), stretches


def _paces(vehicle, day, km) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Vehicle and pace of every stretch, shape (stretches,), and how many stretches each vehicle has, shape (vehicles,)."""
    count = vehicle.max() + 1 if len(vehicle) else 0
    new_fortnight = (np.diff(vehicle) != 0) | (np.diff(np.floor(day / PACE_DAYS)) != 0)
    first = np.flatnonzero(np.r_[True, new_fortnight][: len(km)])
    v, d, k = vehicle[first], day[first], km[first]
    pace = np.diff(k) / np.maximum(np.diff(d), 1.0)
    good = (np.diff(v) == 0) & (pace > 0) & (pace <= MOST_KM_A_DAY)
    v, pace = v[1:][good], pace[good]
    return v, pace, np.bincount(v, minlength=count)


def _usual(v, pace, stretches) -> np.ndarray:
    """Median pace of each vehicle of three stretches or more, the fleet's of the others, shape (vehicles,)."""
    own = stretches >= 3
    fleet = np.median(pace) if len(pace) else np.nan
    return np.where(own, _medians(pace, v, own), fleet)


def pace_scatter(vehicle: np.ndarray, day: np.ndarray, km: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """`usual_pace`, how far each vehicle's paces scatter about it, as a share of it, and its stretches, each of shape (vehicles,).

    The scatter (1.4826 times the median distance from the median, a standard deviation under the normal law) is the fleet's
    where that is larger.
    """
    v, pace, stretches = _paces(vehicle, day, km)
    usual = _usual(v, pace, stretches)
    apart = np.abs(pace / usual[v] - 1)
    scatter = np.nan_to_num(_medians(apart, v, stretches > 0))
    return usual, 1.4826 * np.maximum(scatter, np.median(apart) if len(apart) else 0.0), stretches


def _medians(values: np.ndarray, vehicle: np.ndarray, asked: np.ndarray) -> np.ndarray:
    """Median of the values of each vehicle that is ``asked`` for, NaN for any other. Shape (vehicles,)."""
    if not asked.all():
        vehicle, values = vehicle[asked[vehicle]], values[asked[vehicle]]
    median = pd.Series(values).groupby(vehicle).median()
    out = np.full(len(asked), np.nan)
    out[median.index] = median
    return out


def largest_consistent(vehicle: np.ndarray, day: np.ndarray, km: np.ndarray) -> np.ndarray:
    """Points that must go so that the largest possible set of each vehicle's odometers agrees.

    Two odometers agree when the later one is not smaller and not more than ``MOST_KM_A_DAY`` a day larger (one day's worth
    on the same day). Of sets as large, the one with the steadiest pace. Longest chain by dynamic programming, looking back
    over ``LOOK_BACK`` points and the end of the best chain before them, all vehicles at once; only vehicles with a
    disagreement are looked at.

    Parameters
    ----------
    vehicle : ndarray of int, shape (n,)
        0, 1, ..., non-decreasing; each vehicle's points in order of date.
    day, km : ndarray, shape (n,)

    Returns
    -------
    ndarray of int, shape (n,)
        0 keep, BACK or LEAP.
    """
    code = np.zeros(len(km), dtype=int)
    step_ok = _agree(day[:-1], km[:-1], day[1:], km[1:]) | (vehicle[1:] != vehicle[:-1])
    if step_ok.all():
        return code
    lone, settled = _lone_misfits(vehicle, day, km, step_ok)
    code[lone] = np.where(km[lone] < km[lone - 1], BACK, LEAP)
    offenders = np.setdiff1d(vehicle[1:][~step_ok], settled)
    if not len(offenders):
        return code
    count = np.bincount(vehicle, minlength=1)
    pace, _ = usual_pace(vehicle, day, km, of=offenders)
    for size in np.unique(np.ceil(np.log2(count[offenders]))):  # vehicles of like history together: little padding
        chosen = np.flatnonzero(np.isin(vehicle, offenders[np.ceil(np.log2(count[offenders])) == size]))
        lane, place = pd.factorize(vehicle[chosen])[0], chosen - np.searchsorted(vehicle, vehicle[chosen])
        grid = np.full((3, lane.max() + 1, place.max() + 1), np.nan)
        grid[:, lane, place] = day[chosen], km[chosen], pace[vehicle[chosen]]
        keep = _best_chain(*grid)
        kept_km = pd.DataFrame(np.where(keep, grid[1], np.nan))
        before, after = kept_km.ffill(axis=1).to_numpy()[lane, place], kept_km.bfill(axis=1).to_numpy()[lane, place]
        back = np.where(np.isnan(before), km[chosen] > after, km[chosen] < before)
        code[chosen] = np.where(keep[lane, place], 0, np.where(back, BACK, LEAP))
    return code


def _lone_misfits(vehicle, day, km, step_ok) -> tuple[np.ndarray, np.ndarray]:
    """Single odometers that stand out of a history which agrees without them, and the vehicles of which that is all there is to say.

    One point, and only that one, mends the step or the two steps that do not agree, and the next such point is not near: then no
    larger set agrees, and `_best_chain` would find the same. Shapes: (points,), (vehicles,).
    """
    bad = np.append(~step_ok, False)  # of the step from each point to the next
    at = np.flatnonzero(bad)
    onto = at + 1
    first, last = np.append(True, np.diff(vehicle) != 0), np.append(np.diff(vehicle) != 0, True)

    def mends(point):
        """Whether the points on both sides of this one agree; never at an end, where there is nothing to compare."""
        before, after = np.maximum(point - 1, 0), np.minimum(point + 1, len(km) - 1)
        return ~first[point] & ~last[point] & _agree(day[before], km[before], day[after], km[after])

    left, right = mends(at), mends(onto)
    to_is_bad, from_is_bad = ~first[at] & bad[at - 1], bad[onto]  # the step before, the step after
    alone = ~to_is_bad & ~from_is_bad
    inside = ~first[at] & ~last[onto]
    clear = np.where(alone, (left != right) & inside, np.where(to_is_bad, left, right) & ~(to_is_bad & from_is_bad))
    point = np.where(to_is_bad | (alone & left), at, onto)
    near = (np.diff(vehicle[at]) == 0) & (np.diff(point) > 0) & (np.diff(point) < 4)
    clear &= ~(np.append(near, False) | np.append(False, near))
    settled = np.setdiff1d(vehicle[at], vehicle[at[~clear]])
    return np.unique(point[np.isin(vehicle[at], settled)]), settled


def _best_chain(day: np.ndarray, km: np.ndarray, pace: np.ndarray) -> np.ndarray:
    """Which points (lanes, most points) are on each lane's best chain; NaN is no point."""
    lanes = np.arange(len(km))
    score = np.where(np.isfinite(km), 1.0, -np.inf)
    previous = np.full(km.shape, -1)
    leader = np.zeros(len(km), dtype=int)
    for j in range(1, km.shape[1]):
        start = max(0, j - LOOK_BACK)
        back = np.column_stack([leader, np.tile(np.arange(start, j), (len(km), 1))])
        day_a, km_a = day[lanes[:, None], back], km[lanes[:, None], back]
        here = (day[:, j : j + 1], km[:, j : j + 1])
        usual = pace[:, j : j + 1] * np.maximum(here[0] - day_a, 1.0)
        with np.errstate(invalid="ignore"):
            uneven = np.abs(np.log((np.maximum(here[1] - km_a, 0.0) + STEADY_KM) / (usual + STEADY_KM)))
        reach = score[lanes[:, None], back] - 0.1 * np.minimum(np.nan_to_num(uneven, nan=3.0), 3.0)
        reach = np.where(_agree(day_a, km_a, *here), reach, -np.inf)
        best = reach.argmax(axis=1)
        gain = reach[lanes, best]
        linked = gain > 0
        score[:, j] += np.where(linked, gain, 0.0)
        previous[:, j] = np.where(linked, back[lanes, best], -1)
        leader = np.where(score[lanes, start] > score[lanes, leader], start, leader)
    keep = np.zeros(km.shape, dtype=bool)
    at = score.argmax(axis=1)
    while (at >= 0).any():
        alive = at >= 0
        keep[lanes[alive], at[alive]] = True
        at = np.where(alive, previous[lanes, at], -1)
    return keep


STEADY_KM = 500.0


def _agree(day_a, km_a, day_b, km_b):
    step = km_b - km_a
    return (step >= -CLOCK_SLACK_KM) & (step <= MOST_KM_A_DAY * np.maximum(day_b - day_a, 1.0))


def off_pace(vehicle: np.ndarray, day: np.ndarray, km: np.ndarray) -> np.ndarray:
    """Odometers that agree with their neighbours and yet do not go with the vehicle's pace.

    Between two others: it is far ahead of the usual pace on the way to it and as far behind on the way from it, or the other
    way about; far is ``OFF_PACE_SPREADS`` times the scatter of paces, and 3,000 km. First or last: nothing can contradict it,
    so it is not believed only when its stretch is more than ``END_LEAP_RATIO`` times as fast as usual (more where paces
    scatter) and 8,000 km longer. Needs three stretches of the vehicle.

    Parameters
    ----------
    vehicle, day, km : ndarray, shape (n,)
        As for `largest_consistent`, without disagreements.

    Returns
    -------
    ndarray of int
        Places in the arrays.
    """
    if len(km) < 2:
        return np.array([], dtype=int)
    pace, scatter, stretches = pace_scatter(vehicle, day, km)
    pace, scatter, enough = pace[vehicle[1:]], scatter[vehicle[1:]], (stretches >= 3)[vehicle[1:]]
    same = (np.diff(vehicle) == 0) & enough
    usual = pace * np.maximum(np.diff(day), 1.0)
    ahead = np.where(same, np.diff(km) - usual, 0.0)
    far = np.maximum(OFF_PACE_KM, OFF_PACE_SPREADS * scatter * usual)
    up, down = same & (ahead > far), same & (ahead < -far)
    between = np.flatnonzero((up[:-1] & down[1:]) | (down[:-1] & up[1:])) + 1
    fast = np.maximum(END_LEAP_RATIO - 1, 2 * OFF_PACE_SPREADS * scatter)
    leap = same & (ahead > END_LEAP_KM) & (ahead > fast * usual)
    first, last = np.r_[True, np.diff(vehicle) != 0], np.r_[np.diff(vehicle) != 0, True]
    return np.unique(np.r_[between, np.flatnonzero(leap & last[1:]) + 1, np.flatnonzero(leap & first[:-1])])


def _estimated(asked: np.ndarray, date: pd.Series, good: pd.DataFrame) -> np.ndarray:
    """Odometer of each vehicle asked for on a day, shape (asked,): on the straight line between the vehicle's believed odometers
    before and after; before the first and after the last by the vehicle's usual pace; NaN where neither is known."""
    if not len(good):
        return np.full(len(asked), np.nan)
    vehicle, day, km, when = good["vehicle"].to_numpy(), _days(good["date"]), good["odometer_km"].to_numpy(), _days(date)
    place, wanted = vehicle * FAR_DAYS + day, asked * FAR_DAYS + when
    before, after = np.searchsorted(place, wanted, side="right") - 1, np.searchsorted(place, wanted, side="left")
    has_before, has_after = (np.take(vehicle, at, mode="clip") == asked for at in (before, after))
    has_before &= before >= 0
    has_after &= after < len(vehicle)
    before, after = before.clip(0), after.clip(max=len(vehicle) - 1)
    pace, stretches = usual_pace(vehicle, day, km, of=asked)
    pace = np.where(stretches >= 1, pace, np.nan)
    onward = km[before] + pace[vehicle[before]] * (when - day[before])
    backward = np.maximum(km[after] - pace[vehicle[after]] * (day[after] - when), 0.0)
    share = (when - day[before]) / np.maximum(day[after] - day[before], 1.0)
    between = km[before] + (km[after] - km[before]) * share
    one = np.where(has_before, onward, np.where(has_after, backward, np.nan))
    return np.where(has_before & has_after, between, one)


FAR_DAYS = 1e7
"""More days than any two dates lie apart."""


def _of_visits(frame, visits, listed, table, found):
    """R14, and each row's vehicle, date and place in the vehicle's visits."""
    frame, place = _known(frame, "visit_id", visits, listed, "R14-unknown-visit", table, found)
    return frame.assign(**{name: visits[name].array.take(place) for name in ("vehicle_id", "date", "visit_no")})


def _limits(limits, found):
    """Limits in mm beside the numbers as written (``new_mm`` beside ``new``): R12, R30, R31, R36."""
    limits = _once(limits, ["applies_to", "axle", "part", "measure"], "limits", found)
    names = ["new", "replace_at", "discard_at", "machine_to"]
    for name in names:
        limits[f"{name}_mm"] = limits[name] * limits["factor"]
    least, most = _possible(limits)
    in_mm = limits[[f"{name}_mm" for name in names]]
    outside = ((in_mm.lt(least, axis=0)) | (in_mm.gt(most, axis=0))).any(axis=1).to_numpy()
    sign = np.where(limits["measure"].eq("thickness"), 1.0, -1.0)
    backwards = np.zeros(len(limits), dtype=bool)
    for fresh, worn in LIMIT_ORDER:
        backwards |= (sign * (limits[fresh] - limits[worn]) < 0).to_numpy()
    bad = np.zeros(len(limits), dtype=bool)
    for code, wrong in (
        ("R31-part-and-measure", np.isnan(least)), ("R30-out-of-range", outside), ("R36-limit-order", backwards)
    ):  # fmt: skip
        rows = limits[wrong & ~bad]
        bad |= wrong
        if len(rows):
            found.append(
                findings.make(
                    code, "limits", row=rows["row"], column="applies_to", value=rows["applies_to"],
                    reading=rows["axle"] + " " + rows["part"] + " " + rows["measure"],
                )
            )  # fmt: skip
    limits = limits[~bad]
    return limits.sort_values(["applies_to", "axle", "part", "measure"], kind="stable", ignore_index=True)


LIMIT_ORDER = (
    ("new", "machine_to"), ("new", "replace_at"), ("new", "discard_at"),
    ("machine_to", "discard_at"), ("replace_at", "discard_at"),
)  # fmt: skip
"""A thickness wears from the first to the second of each pair; a diameter, a runout grows."""


def _possible(frame) -> tuple[np.ndarray, np.ndarray]:
    """Least and most each row's part and measure can be, mm; NaN where this part is not measured this way."""
    low, high = np.full(len(frame), np.nan), np.full(len(frame), np.nan)
    lining = ~frame["part"].isin(("rotor", "drum"))
    thickness = (lining & frame["measure"].eq("thickness")).to_numpy()
    low[thickness], high[thickness] = LINING_RANGE_MM
    for (part, measure), (least, most) in RANGES_MM.items():
        these = (frame["part"].eq(part) & frame["measure"].eq(measure)).to_numpy()
        low[these], high[these] = least, most
    return low, high


def _ranges(measurements, found):
    """R30, R31: dimensions no such part has, and parts that are not measured this way."""
    low, high = _possible(measurements)
    odd = np.isnan(low)
    value = measurements["value_mm"].to_numpy()
    edge = np.where(np.isfinite(value), value, measurements["low_mm"].fillna(measurements["high_mm"]))
    out = ~odd & ((edge < low) | (edge > high))
    for code, wrong, column in (("R31-part-and-measure", odd, "measure"), ("R30-out-of-range", out, "value")):
        if wrong.any():
            rows = codes.plain(measurements[wrong])
            found.append(
                findings.make(
                    code, "measurements", row=rows["row"], vehicle_id=rows["vehicle_id"], column=column,
                    value=rows["measure"] if column == "measure" else rows["value_written"] + " " + rows["unit"],
                    reading=rows["part"] + " " + rows["measure"],
                )
            )  # fmt: skip
    return measurements[~(odd | out)].reset_index(drop=True) if (odd | out).any() else measurements


def _all_zero(measurements, found):
    """R32: a visit whose lining readings (three or more) are all zero was not measured, or is metal to metal: ask."""
    lining = measurements["measure"].eq("thickness") & ~measurements["part"].isin(("rotor", "drum"))
    read = (lining & measurements["value_mm"].notna()).to_numpy()
    zero = read & (measurements["value_mm"] == 0).to_numpy()
    if zero.sum() < 3:
        return measurements
    visit = pd.factorize(measurements["visit_id"])[0]
    zeros, reads = np.bincount(visit, zero)[visit], np.bincount(visit, read)[visit]
    doubtful = read & (zeros >= 3) & (zeros == reads)
    if doubtful.any():
        rows = measurements[doubtful]
        found.append(
            findings.make(
                "R32-all-zero", "measurements", row=rows["row"], vehicle_id=rows["vehicle_id"], column="value",
                value=rows["value_written"],
            )
        )  # fmt: skip
    return measurements[~doubtful].reset_index(drop=True) if doubtful.any() else measurements


def _two_values(measurements, found):
    """R99: two readings of one wheel's lining on one visit, further apart than a repeated or the other pad's reading is."""
    lining = measurements["measure"].eq("thickness") & ~measurements["part"].isin(("rotor", "drum")) & measurements["side"].ne("")
    its = measurements[lining & measurements["value_mm"].notna()]
    again = codes.again(its, LINING_OF_A_DAY)
    if not again.any():
        return
    its = codes.plain(its[its["visit_id"].isin(its["visit_id"][again].unique())])
    value = its.groupby(LINING_OF_A_DAY)["value_mm"]
    low, high = value.transform("min"), value.transform("max")
    rows = its[(high - low > FAR_APART_MM) & its["value_mm"].eq(low)].drop_duplicates(LINING_OF_A_DAY)
    if len(rows):
        found.append(
            findings.make(
                "R99-two-values", "measurements", row=rows["row"], vehicle_id=rows["vehicle_id"], column="value",
                value=rows["value_written"], reading=[f"{one:g} mm and {other:g} mm" for one, other in zip(low[rows.index], high[rows.index], strict=True)],
            )
        )  # fmt: skip


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
