"""Track record: past forecasts use nothing later, what came is read rightly, and a bad record is admitted.

Truth: made fleets (`simulate`) whose every life has a known crossing, straight lines worked by hand, and plain recomputations from
the tables as written.
"""

import folders
import numpy as np
import pandas as pd
import pytest
from public_data import real
from test_real_wear import KM, as_tables

import brakedata
from brakedata import figures_track_record, places, schedule, simulate, track_record
from brakedata.columns import AXLE_NAMES
from brakedata.shown import Shown
from brakedata.views import track_record as view

FORECAST = ["date", "vehicle_id", "axle", "basis", "odometer_km", "due_km", "early_km", "late_km", "interval_km", "own_line_km"]
DAY = pd.Timedelta(days=1)


def planned(tables, folder):
    return schedule.make(brakedata.load(simulate.write(tables, folder)))


def within_chance(share, expected, n):
    """Whether a share of n agrees with the expected one: 2.58 standard deviations, one false alarm in a hundred."""
    return abs(share - expected) <= 2.58 * np.sqrt(expected * (1 - expected) / n)


def crossings_of(world, lives, positions):
    """Odometer at which the first lining of each life of a made fleet meets replace_at, had it been left running."""
    end_km = simulate.Odometers(world).at(np.full(len(world.class_of), float(world.days)))
    clocks = simulate._Clocks(world, end_km, np.random.default_rng(np.random.SeedSequence(world.seed).spawn(2)[1]))
    vehicle = pd.Index(world.vehicle_id).get_indexer(lives["vehicle_id"])
    axle = lives["axle"].map({name: n for n, name in enumerate(AXLE_NAMES)}).to_numpy()
    usable = positions["start_mm"].to_numpy().reshape(-1, 4) - world.brakes("replace_at_mm")[vehicle, axle][:, None]
    pace = positions["rate_mm_per_10000km"].to_numpy().reshape(-1, 4) / 1e4 / world.rate[vehicle, axle][:, None]
    clocks.km_of(np.full(world.rate.shape, 200.0))  # drawn on until every life is through
    path, first = clocks._mm[vehicle, axle], clocks.origin_km[vehicle, axle]
    km = first[:, None] + np.arange(path.shape[1]) * simulate.STEP_KM
    out = []
    for wear, at, start, need in zip(path, km, lives["start_odometer_km"], (usable / pace).min(axis=1), strict=True):
        out.append(np.interp(np.interp(start, at, wear) + need, wear, at))
    return np.array(out)


def with_truth(world, made, record):
    """The record's rows with the life that was running, its true crossing, and whether that lay in the window."""
    lives = made.lives.assign(crossing_km=crossings_of(world, made.lives, made.positions))
    rows = record.due.reset_index().merge(lives, on=["vehicle_id", "axle"])
    end = rows["end_odometer_km"].fillna(np.inf)
    rows = rows[(rows["odometer_km"] >= rows["start_odometer_km"]) & (rows["odometer_km"] < end)].drop_duplicates("index")
    true = rows["crossing_km"]
    return rows.assign(truly=np.where(true < rows["early_km"], "early", np.where(true > rows["late_km"], "late", "held")))


FLEETS = {21: {}, 22: dict(gauge_step_mm=1.0, inspection_interval_days=160.0)}


@pytest.fixture(scope="module")
def walked(tmp_path_factory):
    """Two made fleets of 130 vehicles, walked at two past dates, all vehicles: (world, fleet, record) by seed."""
    out = {}
    for seed, habits in FLEETS.items():
        world = simulate.draw_world(130, 4.0, seed)
        made = simulate.walk(world, **habits)
        out[seed] = world, made, track_record.walk(planned(made.tables, tmp_path_factory.mktemp("known")), (18, 12), None)
    return out


@pytest.fixture(scope="module")
def known(walked):
    """The rows of both records with their truth."""
    return pd.concat([with_truth(*three).assign(fleet=seed) for seed, three in walked.items()], ignore_index=True)


# --- nothing later is used


def test_nothing_dated_after_a_date_changes_what_was_forecast_on_it(tmp_path):
    tables = simulate.fleet(30, 4.0, 5).tables
    plan = planned(tables, tmp_path / "as it was")
    date = plan.as_of - pd.DateOffset(months=18)
    before = track_record.walk(plan, (18,), None)
    rng = np.random.default_rng(1)
    later = tables["visits"]["date"] > date
    visits = tables["visits"].assign(odometer=tables["visits"]["odometer"] + np.where(later, 7_000, 0))
    on = tables["measurements"]["visit_id"].isin(visits.loc[later, "visit_id"])
    drawn = rng.uniform(1.0, 12.0, len(on)).round(1)
    measurements = tables["measurements"].assign(value=tables["measurements"]["value"].where(~on, drawn))
    work = tables["work"][~tables["work"]["visit_id"].isin(visits.loc[later, "visit_id"])]
    changed = {**tables, "visits": visits, "measurements": measurements, "work": work}
    after = track_record.walk(planned(changed, tmp_path / "changed later"), (18,), None)
    pd.testing.assert_frame_equal(before.due[FORECAST], after.due[FORECAST])
    assert not before.due["true_km"].equals(after.due["true_km"]), "what came did change"
    early = ~on & measurements["part"].eq("inner_pad")
    changed["measurements"] = measurements.assign(value=measurements["value"].where(~early, measurements["value"] - 1.0))
    third = track_record.walk(planned(changed, tmp_path / "changed before"), (18,), None)
    assert not before.due["due_km"].equals(third.due["due_km"]), "negative control: an earlier change is seen"


def test_a_past_forecast_is_the_schedule_of_the_records_cut_off_there(tmp_path):
    """The demo records with every later row deleted from the files give the forecasts that the record shows."""
    record = track_record.quick(schedule.make(brakedata.load(places.demo_records())))
    [date] = record.dates
    cut = {
        name: pd.read_csv(places.demo_records() / f"{name}.csv", dtype=str)
        for name in ("vehicles", "limits", "visits", "measurements", "work")
    }
    cut["visits"] = cut["visits"][cut["visits"]["date"] <= f"{date:%Y-%m-%d}"]
    for name in ("measurements", "work"):
        cut[name] = cut[name][cut[name]["visit_id"].isin(cut["visits"]["visit_id"])]
    (tmp_path / "cut").mkdir()
    for name, table in cut.items():
        table.to_csv(tmp_path / "cut" / f"{name}.csv", index=False)
    then = schedule.make(brakedata.load(tmp_path / "cut"), date).table.set_index(["vehicle_id", "axle"]).sort_index()
    said = record.due.set_index(["vehicle_id", "axle"]).sort_index()
    assert len(said) > 60
    for ours, its in (("due_km", "due_odometer_km"), ("early_km", "due_odometer_early_km"), ("late_km", "due_odometer_late_km")):
        pd.testing.assert_series_equal(said[ours], then[its], check_names=False)


# --- what came


def test_what_came_is_where_the_lining_truly_met_its_point(known):
    """Read off coarse readings, on average neither early nor late: medians within 400 km, half within 2,500 km."""
    rows = known[known["why_not"].eq("")]
    miss = rows["true_km"] - rows["crossing_km"]
    print(f"{len(rows)} judged: what came off by {miss.median():+,.0f} km (median), {miss.abs().median():,.0f} (median size)")
    assert len(rows) > 100
    assert abs(miss.median()) < 400
    assert miss.abs().median() < 2_500


def test_the_record_agrees_with_the_truth_within_chance(known):
    """How often windows held by the record, and how often they truly held on all forecasts that were followed far enough."""
    followed = known[known["why_not"].isin(["", "far above", "little read"])].drop_duplicates(
        ["fleet", "vehicle_id", "axle", "life_y"]
    )
    judged = known[known["counts"]]
    said, true = judged["outcome"].eq("held").mean(), followed["truly"].eq("held").mean()
    same = judged["truly"].eq("held").mean()
    print(f"record: {said:.3f} of {len(judged)} held; truly {same:.3f} of these, {true:.3f} of {len(followed)} followed")
    assert len(judged) > 80
    assert within_chance(said, true, len(judged))
    assert within_chance(said, same, len(judged))


def test_judging_only_lives_that_finished_is_the_trap_that_is_avoided(known):
    """Of the forecasts whose lining met its point by now, far more came before the window than after it; of those judged, not so."""
    newest = known.groupby(["fleet", "vehicle_id"])["odometer_km"].transform("max")
    naive = known[(known["due_km"] > known["odometer_km"]) & (known["crossing_km"] < newest + 10_000)]["truly"].value_counts()
    fair = known.loc[known["why_not"].isin(["", "far above", "little read"]), "truly"].value_counts()
    print(f"finished only: {naive.to_dict()}; followed far enough: {fair.to_dict()}")
    assert naive["early"] > 1.8 * naive["late"]
    assert fair["early"] < 1.3 * fair["late"]


def test_next_readings_lie_in_their_bands_eight_times_in_ten(walked):
    """Of the made fleets' next readings 74 to 88 % lie in the band; beyond either end 5 to 16 %."""
    n = pd.concat([record.next_readings for _, _, record in walked.values()])
    n = n[n["counts"]]
    share = n["outcome"].value_counts(normalize=True)
    print(f"{len(n)} next readings: {share.round(3).to_dict()}")
    assert len(n) > 500
    assert 0.74 <= share["held"] <= 0.88
    assert 0.05 <= share["thinner"] <= 0.16
    assert 0.05 <= share["thicker"] <= 0.16
    narrow = n["value_mm"].between(*(n["middle_mm"] + (n[end] - n["middle_mm"]) / 2 for end in ("low_mm", "high_mm")))
    assert narrow.mean() < 0.62, "negative control: half the band holds far less"


# --- fleets made here: each pad wears along straight lines, one visit every 90 days


def straight(bend=None, factor=1.0, changed_at=3.0, vans=40):
    """Vans of one class, 90 km a day, pads 12 mm new, rates 1.0 to 2.2 mm per 10,000 km; from day ``bend`` on ``factor`` times that.

    The gauge reads to 0.05 mm. Linings are changed at the first visit that finds one at or under ``changed_at``.
    """
    rows, jobs, readings = [], [], []
    for v, (van, rate) in enumerate(list(RATES.items())[:vans]):
        worn = 0.0
        for n in range(1, 17):
            day = 90 * n + 2 * v
            since = range(day - 90 if n > 1 else 0, day)
            worn += sum(90.0 * rate * (factor if bend and d >= bend else 1.0) for d in since)
            visit = f"v{v}-{n}"
            rows.append((visit, van, pd.Timestamp("2022-01-01") + day * DAY, 90 * day))
            mm = {place: max(12.0 - worn * k, 0.2) for place, k in POSITIONS.items()}
            readings += [
                (visit, "front", *place, "thickness", round(round(m / 0.05) * 0.05, 4), "mm", "before") for place, m in mm.items()
            ]
            if min(mm.values()) <= changed_at:
                jobs.append((visit, "front", "both", "pads", "replaced"))
                worn = 0.0
    vehicles = pd.DataFrame({"vehicle_id": list(RATES)[:vans], "wear_class": "van"})
    limits = pd.DataFrame(
        [dict(applies_to="*", axle="front", part="pad", measure="thickness", unit="mm", new=12.0, replace_at=3.0, discard_at=1.6)]
    )
    return {
        "vehicles": vehicles.assign(in_service_date=pd.Timestamp("2022-01-01"), in_service_odometer=0),
        "limits": limits,
        "visits": pd.DataFrame(rows, columns=["visit_id", "vehicle_id", "date", "odometer"]),
        "measurements": pd.DataFrame(readings, columns=["visit_id", "axle", "side", "part", "measure", "value", "unit", "taken"]),
        "work": pd.DataFrame(jobs, columns=["visit_id", "axle", "side", "part", "action"]),
    }  # fmt: skip


RATES = {f"van {v}": rate / 1e4 for v, rate in enumerate(np.linspace(1.0, 2.2, 40))}
"""Wear of the governing pad, mm a km."""
POSITIONS = {("left", "inner_pad"): 1.0, ("left", "outer_pad"): 0.9, ("right", "inner_pad"): 0.98, ("right", "outer_pad"): 0.88}


def test_straight_wear_and_a_fine_gauge_give_tiny_misses(tmp_path):
    """Pads lose 9 mm in 9 / rate km after they are fitted: what came is that place to 200 km, and the forecasts miss it by little."""
    tables = straight()
    record = track_record.walk(planned(tables, tmp_path), (18, 12), None)
    jobs = tables["work"].merge(tables["visits"], on="visit_id").groupby("vehicle_id")["odometer"].agg(list)
    off = []
    for row in record.judged.itertuples():
        due = np.array([0, *jobs[row.vehicle_id]]) + 9.0 / RATES[row.vehicle_id]
        off.append(np.abs(due - row.true_km).min())
    s = track_record.score(record.judged)
    print(f"{s}; what came is off by {max(off):.0f} km at most")
    assert s.judged >= 20
    assert max(off) < 200
    assert s.miss_km < 1_000
    assert s.held >= 0.75 * s.judged
    assert len(record.findings) == 0


def test_wear_that_doubles_is_admitted(tmp_path):
    """From a day just after the past date on everything wears twice as fast: most linings come before their window, and it says so."""
    tables = straight()
    as_of = tables["visits"]["date"].max()
    bend = (as_of - pd.DateOffset(months=18) - pd.Timestamp("2022-01-01")).days
    record = track_record.quick(planned(straight(bend, 2.0), tmp_path))
    s = track_record.score(record.judged)
    said = view.line(record, Shown())
    print(said)
    assert s.judged >= 15
    assert s.held <= 0.4 * s.judged
    assert s.early > 0.6 * s.judged
    assert s.bias_km < -3_000
    assert list(record.findings["code"]) == ["R91-windows-too-narrow"]
    assert "less than 8 in 10 by more than chance" in said


def test_a_lining_changed_far_above_its_point_was_not_due(tmp_path):
    """Pads changed at 8 mm never came near 3 mm: no window of theirs is judged, none is called held or early."""
    record = track_record.walk(planned(straight(changed_at=8.0, vans=20), tmp_path), (24, 18, 12), None)
    over = record.due["true_km"].notna() & record.due["late_km"].lt(record.due["odometer_km"].max())
    assert over.any()
    came_early = record.due["outcome"].isin(["held", "early"])
    assert came_early.sum() == 0
    assert "far above" in set(record.due["why_not"])


def test_a_life_counts_once(tmp_path):
    record = track_record.walk(planned(straight(vans=20), tmp_path), (24, 18, 15), None)
    can = record.due[record.due["why_not"].eq("")]
    assert len(can) > len(record.judged)
    assert record.judged["life"].is_unique
    assert set(record.judged["life"]) == set(can["life"])
    assert (record.judged.set_index("life")["date"] == can.groupby("life")["date"].min().reindex(record.judged["life"])).all()


def test_some_vehicles_stand_for_all_and_it_is_said(tmp_path):
    plan = planned(straight(), tmp_path)
    some = track_record.walk(plan, (18,), 15)
    assert (some.vehicles, some.among) == (15, 40)
    assert some.due["vehicle_id"].nunique() == 15
    assert "15 of 40 vehicles" in view.line(some, Shown())
    pd.testing.assert_frame_equal(some.due, track_record.walk(plan, (18,), 15).due)
    assert "40 vehicles" not in view.line(track_record.walk(plan, (18,), None), Shown())


# --- the plain rivals


def test_the_plain_rivals_by_hand(tmp_path):
    """Straight pads of one vehicle: its own line meets 3 mm where they truly do; the interval is the median distance between changes."""
    tables = straight()
    plan = planned(tables, tmp_path)
    date = plan.as_of - pd.DateOffset(months=12)
    due = track_record.walk(plan, (12,), None).due.set_index("vehicle_id")
    visits = tables["visits"][tables["visits"]["date"] <= date].set_index("visit_id")
    jobs = tables["work"]["visit_id"][tables["work"]["visit_id"].isin(visits.index)]
    jobs = visits.loc[jobs].groupby("vehicle_id")["odometer"]
    spans = pd.concat([jobs.first(), jobs.diff().dropna()])
    rate = pd.Series(RATES)
    start = jobs.max().reindex(rate.index).fillna(0.0)
    here = due["odometer_km"].reindex(rate.index)
    np.testing.assert_allclose(due["interval_km"].reindex(rate.index), np.maximum(start + spans.median(), here), atol=1)
    own = due["own_line_km"].reindex(rate.index)
    told = own.notna() & ((here - start) * rate > 3.0)
    assert told.sum() > 10
    assert ((own - start) * rate - 9.0)[told].abs().max() < 0.2


# --- sums and words


ROWS = pd.DataFrame(
    {
        "due_km": [100.0, 100.0, 100.0, 100.0], "true_km": [103.0, 99.0, 130.0, 90.0], "outcome": ["held", "held", "late", "early"],
        "interval_km": [80.0, np.nan, 100.0, 100.0], "own_line_km": [100.0, 99.0, np.nan, np.nan],
        "edge": [True, False, False, False],
    }
)  # fmt: skip


def test_a_score_by_hand():
    s = track_record.score(ROWS)
    assert (s.judged, s.held, s.early, s.late, s.edge) == (4, 2, 1, 1, 1)
    assert (s.miss_km, s.bias_km) == (6.5, 1.0)  # sizes 1, 3, 10, 30; with sign -10, -1, 3, 30
    assert (s.interval_of, s.interval_km, s.miss_where_interval_km) == (3, 23.0, 10.0)
    assert (s.line_of, s.line_km, s.miss_where_line_km) == (2, 1.5, 2.0)


def test_limits_of_a_share_in_closed_form():
    """With none or all of n the Clopper-Pearson limits are 1 - 0.025**(1/n) and 0.025**(1/n); the rest by the binomial sum."""
    assert track_record.limits_of(0, 10) == (0.0, pytest.approx(1 - 0.025**0.1))
    assert track_record.limits_of(10, 10) == (pytest.approx(0.025**0.1), 1.0)
    low, high = track_record.limits_of(41, 50)
    from scipy.stats import binom

    assert binom.sf(40, 50, low) == pytest.approx(0.025)
    assert binom.cdf(41, 50, high) == pytest.approx(0.025)


def test_too_narrow_only_beyond_chance():
    assert not track_record.too_narrow(50, 35)  # 35 of 50: up to 82 in 100
    assert track_record.too_narrow(50, 33)  # 33 of 50: up to 79 in 100
    assert not track_record.too_narrow(9, 0)


def test_too_few_is_said_and_nothing_is_forecast(tmp_path):
    record = track_record.quick(schedule.make(folders.load(tmp_path / "small")))
    assert record.dates == []
    assert "too few to say" in view.line(record, Shown())
    assert list(record.findings["code"]) == ["R90-record-too-short"]
    assert view.sentences(record, Shown()) == [view.line(record, Shown())]
    for frame in (view.by_date(record), view.misses(record), view.windows_table(record.judged, Shown()), view.not_judged(record)):
        assert len(frame) == 0


@pytest.fixture(scope="module")
def demo():
    return track_record.quick(schedule.make(brakedata.load(places.demo_records())))


def plain_truth(tables, row):
    """Where a judged row's first lining met its point, by numpy.polyfit over the rows of the files as written."""
    visits = tables["visits"].query("vehicle_id == @row.vehicle_id")
    mine = tables["work"][tables["work"]["part"].isin(["pads", "shoes"]) & tables["work"]["action"].eq("replaced")]
    mine = mine[mine["axle"].eq(row.axle)].merge(visits, on="visit_id").sort_values("date")
    fitted, removed = mine[mine["date"] <= row.date].tail(1), mine[mine["date"] > row.date].head(1)
    r = tables["measurements"].merge(visits, on="visit_id")
    r = r[r["axle"].eq(row.axle) & r["part"].str.contains("pad|shoe") & r["measure"].eq("thickness")].fillna({"side": ""})
    r = r.assign(after=r["taken"].eq("after"), value=pd.to_numeric(r["value"], errors="coerce")).dropna(subset="value")
    if len(fitted):
        r = r[(r["date"] > fitted["date"].iloc[0]) | (r["date"].eq(fitted["date"].iloc[0]) & r["after"])]
    if len(removed):
        r = r[(r["date"] < removed["date"].iloc[0]) | (r["date"].eq(removed["date"].iloc[0]) & ~r["after"])]
    vehicle = tables["vehicles"].set_index("vehicle_id").loc[row.vehicle_id]
    limit = tables["limits"][tables["limits"]["part"].isin(["pad", "shoe"]) & tables["limits"]["axle"].eq(row.axle)]
    limit = limit.set_index("applies_to").loc[vehicle["wear_class"]]
    start = (
        fitted["odometer"].iloc[0]
        if len(fitted)
        else vehicle["in_service_odometer"]
        if vehicle["in_service_odometer"] <= 1000
        else None
    )
    met = []
    for _, one in r.groupby(["side", "part"]):
        one = one.sort_values(["date", "after"])
        km, mm = one["odometer"].tolist(), one["value"].tolist()
        at = next((n for n, m in enumerate(mm) if m <= limit["replace_at"] + 1e-6), len(mm) - 1)
        km, mm = km[: at + 1], mm[: at + 1]
        if start is not None:
            km, mm = [start, *km], [limit["new"], *mm]
        slope, level = np.polyfit(km[-3:], mm[-3:], 1) if len(set(km[-3:])) > 1 else (0.0, 0.0)
        if slope < 0:
            met.append((limit["replace_at"] - level) / slope)
    return min(met)


def test_a_plain_recomputation_from_the_demo_files_says_the_same(demo):
    """Truths by polyfit from the files as written, counts and medians by hand: the sentence's own numbers."""
    names = ("vehicles", "limits", "visits", "measurements", "work")
    tables = {
        name: pd.read_csv(places.demo_records() / f"{name}.csv", parse_dates=["date"] if name == "visits" else [])
        for name in names
    }
    rows = demo.judged
    true = np.array([plain_truth(tables, row) for row in rows.itertuples()])
    np.testing.assert_allclose(true, rows["true_km"].astype(float), atol=1.0)
    held = int(((true >= rows["early_km"]) & (true <= rows["late_km"])).sum())
    off, rival = np.median(np.abs(true - rows["due_km"])), np.median(np.abs(true - rows["interval_km"]))
    said = view.line(demo, Shown())
    assert f"held {held} of {len(rows)} times" in said
    assert f"median miss {round(off / 100) * 100:,.0f} km" in said
    assert f"missed by {round(rival / 100) * 100:,.0f} km" in said


def test_sliding_wear_agrees_with_a_plain_recomputation(tmp_path):
    """The laboratory's sliders, on the odometer on which they wear straight, with a point each load meets on its way.

    Six of the twelve or more can be judged; truths by polyfit on the published readings; counts by hand.
    """
    wear = pd.read_csv(real("08_sliding_wear_12_units_x_8.csv")).sort_values(["unit", "cycles"], ignore_index=True)
    tables = as_tables(wear, KM["fifth root of cycles"](wear["cycles"]), 0.0)
    point = {10.0: 10.9, 50.0: 9.8, 100.0: 7.0}
    limits = [{**tables["limits"].iloc[0].to_dict(), "applies_to": f"{g:.0f} g", "replace_at": mm} for g, mm in point.items()]
    record = track_record.walk(planned({**tables, "limits": pd.DataFrame(limits)}, tmp_path), (12, 9, 6), None)
    rows = record.judged
    readings = tables["measurements"].merge(tables["visits"], on="visit_id")
    true = []
    for row in rows.itertuples():
        one = readings[readings["vehicle_id"].eq(row.vehicle_id)]
        mm, km = [12.0, *one["value"]], [0.0, *one["odometer"]]
        at = next((n for n, m in enumerate(mm) if m <= point[float(row.wear_class.split()[0])] + 1e-6), len(mm) - 1)
        slope, level = np.polyfit(km[at - 2 : at + 1], mm[at - 2 : at + 1], 1)
        true.append((point[float(row.wear_class.split()[0])] - level) / slope)
    true = np.array(true)
    s = track_record.score(rows)
    print(view.line(record, Shown()), s)
    assert len(rows) >= 6
    np.testing.assert_allclose(true, rows["true_km"].astype(float), atol=1.0)
    assert s.held == ((true >= rows["early_km"]) & (true <= rows["late_km"])).sum()
    assert s.miss_km == pytest.approx(np.median(np.abs(true - rows["due_km"])), abs=1.0)


def test_the_sentence_in_the_folder_s_unit(demo):
    km, mi = view.line(demo, Shown()), view.line(demo, Shown("mi"))
    miss = track_record.score(demo.judged).miss_km
    assert f"{round(miss / 100) * 100:,.0f} km" in km
    assert f"{round(miss / 1.609344 / 100) * 100:,.0f} mi" in mi
    assert " km" not in mi


def test_no_sentence_promises_a_good_brake(demo):
    assert "safe" not in " ".join(view.sentences(demo, Shown())).lower()


# --- pictures


def test_pictures_hold_what_was_judged(demo):
    rows = demo.judged
    windows = figures_track_record.windows(rows, Shown())
    came = next(t for t in windows.data if t.meta == "came")
    bars = next(t for t in windows.data if t.meta == "window")
    assert sorted(came.y) == pytest.approx(sorted(rows["true_km"] - rows["due_km"]))
    outside = [y for y, low, high in zip(came.y, bars.base, bars.y, strict=True) if not low <= y <= low + high]
    assert len(outside) == rows["outcome"].ne("held").sum() == list(came.marker.symbol).count("diamond")
    assert f"{rows['outcome'].eq('held').sum()} of {len(rows)}" in windows.layout.title.text
    in_miles = figures_track_record.windows(rows, Shown("mi"))
    assert max(next(t for t in in_miles.data if t.meta == "came").y) == pytest.approx(max(came.y) / 1.609344)
    shares = figures_track_record.by_date(view.by_date(demo))
    assert next(t for t in shares.data if t.meta == "due window").y[0] == pytest.approx(rows["outcome"].eq("held").mean())
    off = view.misses(demo)
    dots = next(t for t in figures_track_record.misses(off, Shown()).data if t.meta == "miss")
    assert len(dots.x) == len(off) == rows[["due_km", "interval_km", "own_line_km"]].notna().sum().sum()


def test_pictures_have_the_same_traces_whatever_they_show(demo, tmp_path):
    empty = track_record.quick(schedule.make(folders.load(tmp_path / "small")))

    def metas(record):
        specs = (
            figures_track_record.windows_spec(record.judged, Shown()),
            figures_track_record.by_date_spec(view.by_date(record)),
            figures_track_record.misses_spec(view.misses(record), Shown()),
        )
        return [[trace["meta"] for trace in spec["data"]] for spec in specs]

    assert metas(empty) == metas(demo)
