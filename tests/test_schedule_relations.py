"""Relations the schedule must hold whatever the numbers are: units, shifts, order, repetition, nesting, time, evidence.

The fleets are made small, with everything that people leave out or write wrongly; their truth is not used here but to count.
"""

import os
import subprocess
import sys
from pathlib import Path

import hypothesis.strategies as st
import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings

import brakedata
from brakedata import forecast, lives, schedule, shared_model, simulate

KM_COLUMNS = ["odometer_km", "due_odometer_km", "due_odometer_early_km", "due_odometer_late_km", "discard_odometer_early_km"]
DATES = ["last_reading_date", "due_date", "due_date_early", "due_date_late"]
OF_AXLE = ["vehicle_id", "axle"]
LINING = "pad|shoe"


def load(tables, folder, **form):
    """Tables of a made fleet, written as a records folder and loaded again."""
    return brakedata.load(simulate.write(tables, folder, **form))


def by_axle(table):
    """A schedule table in the order of its axles; the schedule's own order is by date."""
    return table.sort_values(OF_AXLE, ignore_index=True)


def same(table, other, exactly=True):
    pd.testing.assert_frame_equal(table, other, check_exact=exactly)


@pytest.fixture(scope="module")
def made():
    """Twenty vehicles over three years, with slips, unrecorded changes and lost cells, and a fuel card's odometers."""
    return simulate.fleet(vehicles=20, years=3.0, seed=21, log_every_days=45, slip_share=0.01, retired_share=0.1)


@pytest.fixture(scope="module")
def records(made, tmp_path_factory):
    return load(made.tables, tmp_path_factory.mktemp("records"))


@pytest.fixture(scope="module")
def planned(records):
    """Its schedule at the newest date."""
    return schedule.make(records)


@pytest.fixture(scope="module")
def planned_earlier(made, records):
    """Its schedule as it would have been made 300 days before."""
    return schedule.make(records, made.as_of - pd.Timedelta(days=300))


# ------------------------------------------------------------------------------------------------ every axle, in order


def test_one_row_for_every_axle_in_service(made, planned):
    """Source: the made fleet's own list of axles in service."""
    expected = made.truth[OF_AXLE].sort_values(OF_AXLE, ignore_index=True)
    found = by_axle(planned.table)[OF_AXLE]
    assert list(found.itertuples(index=False)) == list(expected.itertuples(index=False))
    assert made.tables["vehicles"]["retired_date"].notna().any()


def test_quantiles_are_in_order(planned, planned_earlier):
    """Relation: early, middle, late; discard not before due; a chance is 0 to 1; soonest first."""
    for table in (planned.table, planned_earlier.table):
        assert table[["due_odometer_km", "due_date"]].notna().all().all()
        for early, late in (
            ("due_odometer_early_km", "due_odometer_km"),
            ("due_odometer_km", "due_odometer_late_km"),
            ("due_date_early", "due_date"),
            ("due_date", "due_date_late"),
            ("due_odometer_early_km", "discard_odometer_early_km"),
        ):
            assert (table[early] <= table[late]).all(), (early, late)
        assert (table["due_odometer_early_km"] < table["due_odometer_late_km"]).all()
        assert table["risk_before_next_visit"].between(0, 1).all()
        assert table["due_date"].is_monotonic_increasing
        assert (table["rate_mm_per_10000km"] > 0).all()


def test_thickness_is_over_replace_where_the_due_is_ahead(planned):
    """Relation: an axle whose middle due odometer lies ahead has its governing lining over replace_at now, and the reverse."""
    t = planned.table
    limits = planned.model.positions.drop_duplicates(OF_AXLE).set_index(OF_AXLE)["replace_at_mm"]
    over = t["thickness_mm"] - limits.reindex(pd.MultiIndex.from_frame(t[OF_AXLE])).to_numpy()
    clear = over.abs() > 0.5
    assert ((over > 0) == (t["due_odometer_km"] > t["odometer_km"]))[clear].all()


def test_readings_are_counted_and_basis_says_so(tmp_path):
    """Source: counted by hand from the tables of a fleet whose every job was recorded."""
    made = simulate.fleet(vehicles=16, years=2.5, seed=8, slip_share=0.0, unrecorded_share=0.0)
    m, w, v = made.tables["measurements"], made.tables["work"], made.tables["visits"]
    jobs = w[w["part"].isin(["pads", "shoes"]) & w["action"].eq("replaced")].merge(v, on="visit_id")
    last_job = jobs.groupby(["vehicle_id", "axle"])["date"].max()
    m = m[m["part"].str.contains(LINING)].merge(v[["visit_id", "vehicle_id", "date"]], on="visit_id")
    fitted = last_job.reindex(pd.MultiIndex.from_frame(m[OF_AXLE])).to_numpy()
    fitted = pd.Series(fitted, index=m.index).fillna(pd.Timestamp("1990-01-01"))
    count = m[(m["date"] > fitted) | (m["date"].eq(fitted) & m["taken"].eq("after"))].groupby(OF_AXLE).size()
    plan = schedule.make(load(made.tables, tmp_path))
    t = plan.table
    expected = count.reindex(pd.MultiIndex.from_frame(t[OF_AXLE])).fillna(0).to_numpy()
    left_out = plan.findings["code"].isin(["R33-several-readings", "R41-reading-misfit", "R42-sides-swapped"]).sum()
    assert (t["readings"] <= expected).all()
    assert (expected - t["readings"]).sum() <= left_out
    assert (t["basis"].eq("fleet") == (expected == 0)).all()
    assert set(t["basis"]) == {"own", "shared", "fleet"}
    median = t.groupby("basis")["readings"].median()
    assert median["own"] > median["shared"] > median["fleet"] == 0


# ------------------------------------------------------------------------------------- units, order, repetition, places


def test_miles_and_32nds_give_the_same_days(made, planned, tmp_path):
    """Relation: the same records in miles and 32nds; odometers to the km, dates to the day."""
    other = schedule.make(load(made.tables, tmp_path, distance_unit="mi", thickness_unit="32nds"))
    one, two = by_axle(planned.table), by_axle(other.table)
    assert (one[KM_COLUMNS] - two[KM_COLUMNS]).abs().max().max() <= 1
    same(one[DATES + ["basis", "readings", "governing_part", "governing_side", "findings"]],
         two[DATES + ["basis", "readings", "governing_part", "governing_side", "findings"]])  # fmt: skip
    assert (one["thickness_mm"] - two["thickness_mm"]).abs().max() <= 0.011


def test_workbook_in_miles_and_inches_shuffled(made, planned, tmp_path):
    """Relation: another form, other units and another order of the rows at once."""
    form = dict(form="xlsx", distance_unit="mi", thickness_unit="in", shuffle_seed=5)
    other = schedule.make(load(made.tables, tmp_path, **form))
    one, two = by_axle(planned.table), by_axle(other.table)
    assert (one[KM_COLUMNS] - two[KM_COLUMNS]).abs().max().max() <= 1
    same(one[DATES + ["findings"]], two[DATES + ["findings"]])


def test_limits_in_inches_are_limits_in_mm(made, planned, tmp_path):
    """Relation: only the limits table in inches, ten digits written."""
    limits = made.tables["limits"].copy()
    for name in ("new", "replace_at", "discard_at", "machine_to"):
        limits[name] = (limits[name] / 25.4).round(10)
    limits["unit"] = "in"
    other = schedule.make(load({**made.tables, "limits": limits}, tmp_path))
    one, two = by_axle(planned.table), by_axle(other.table)
    assert (one[KM_COLUMNS] - two[KM_COLUMNS]).abs().max().max() <= 1
    same(one[DATES], two[DATES])


def test_order_of_rows_does_not_matter(made, planned, tmp_path):
    """Relation: every table shuffled gives the same schedule bit for bit."""
    other = schedule.make(load(made.tables, tmp_path, shuffle_seed=9))
    same(planned.table, other.table)
    assert planned.model.scales == other.model.scales


def test_parquet_is_csv(made, planned, tmp_path):
    """Relation: another form of the same folder gives the same schedule bit for bit."""
    same(planned.table, schedule.make(load(made.tables, tmp_path, form="parquet")).table)


@pytest.mark.parametrize(("cells", "axles", "kept", "rows"), [(1, 1, 0, 1), (20_000, 7, 200_000, 500)])
def test_chunks_do_not_matter(records, planned, monkeypatch, cells, axles, kept, rows):
    """Relation: however few vehicles are worked on at a time, the same answer bit for bit, before any rounding."""
    monkeypatch.setattr(shared_model, "CHUNK_CELLS", cells)
    monkeypatch.setattr(shared_model, "KEPT_BYTES", kept)
    monkeypatch.setattr(lives, "SLICE_ROWS", rows)
    monkeypatch.setattr(forecast, "CHUNK_AXLES", axles)
    other = schedule.make(records)
    same(planned.lives.readings, other.lives.readings)
    same(planned.lives.lives, other.lives.lives)
    same(planned.lives.proposals, other.lives.proposals)
    same(planned.findings, other.findings)
    assert planned.model.scales == other.model.scales
    assert np.array_equal(planned.model.covariance, other.model.covariance)
    for one, two in ((planned.model.beta, other.model.beta), (planned.model.positions, other.model.positions)):
        same(one, two)
    same(planned.forecast.axles, other.forecast.axles)
    same(planned.table, other.table)


def test_again_in_another_process(records, planned, tmp_path):
    """Relation: the same answer bit for bit, in a process that hashes words differently, through the command line."""
    out = tmp_path / "again.parquet"
    code = "import sys; from brakedata import cli; sys.argv[0] = 'brakedata'; cli.main()"
    done = subprocess.run(
        [sys.executable, "-c", code, "schedule", str(records.source), "--out", str(out)],
        env={**os.environ, "PYTHONHASHSEED": "1"}, capture_output=True, text=True, check=False,
        cwd=Path(__file__).parents[1],
    )  # fmt: skip
    assert done.returncode in (0, 1), done.stderr
    again = pd.read_parquet(out)
    same(again.astype({name: planned.table[name].dtype for name in again}), planned.table)


def test_shifted_odometers_shift_the_due_odometers(tmp_path):
    """Relation: 50,000 km more on every odometer of vehicles that joined used, and every due odometer moves by exactly that.

    (A vehicle that joined new would no longer have joined new.)
    """
    made = simulate.fleet(vehicles=14, years=3.0, seed=31, joined_new_share=0.0, log_every_days=60, slip_share=0.0)
    moved = dict(made.tables)
    for name, column in (("visits", "odometer"), ("odometer_log", "odometer"), ("vehicles", "in_service_odometer")):
        moved[name] = moved[name].assign(**{column: moved[name][column] + 50_000})
    one, two = (
        by_axle(schedule.make(load(tables, tmp_path / name)).table) for name, tables in (("one", made.tables), ("two", moved))
    )
    assert (two[KM_COLUMNS] - one[KM_COLUMNS] - 50_000).abs().max().max() <= 1
    rest = [name for name in one if name not in KM_COLUMNS]
    same(one[rest], two[rest], exactly=False)


# ----------------------------------------------------------------------------------------------------------------- time


def truncated(tables, as_of):
    """The tables as they lay on the desk on that day: later rows not written yet, later leavings not known."""
    visits = tables["visits"][tables["visits"]["date"] <= as_of]
    vehicles = tables["vehicles"]
    out = {
        "visits": visits,
        "vehicles": vehicles.assign(retired_date=vehicles["retired_date"].where(vehicles["retired_date"] <= as_of)),
        "odometer_log": tables["odometer_log"][tables["odometer_log"]["date"] <= as_of],
        "limits": tables["limits"],
    }
    for name in ("measurements", "work"):
        out[name] = tables[name][tables[name]["visit_id"].isin(visits["visit_id"])]
    return out


def test_nothing_after_the_as_of_date_matters(made, planned_earlier, tmp_path):
    """Relation: the records cut off at the as-of date give the schedule that the whole records give for that date."""
    cut_off = schedule.make(load(truncated(made.tables, planned_earlier.as_of), tmp_path), planned_earlier.as_of)
    one, two = by_axle(planned_earlier.table), by_axle(cut_off.table)
    same(one.drop(columns="findings"), two.drop(columns="findings"))


def test_no_finding_after_the_as_of_date_is_named(made, planned_earlier, tmp_path):
    """Relation: as above, for the codes of the findings."""
    cut_off = schedule.make(load(truncated(made.tables, planned_earlier.as_of), tmp_path), planned_earlier.as_of)
    same(by_axle(planned_earlier.table)[["findings"]], by_axle(cut_off.table)[["findings"]])


def test_the_window_moves_with_the_as_of_date(planned, planned_earlier):
    """Relation: the earlier schedule knows less, and says so."""
    assert planned_earlier.table["readings"].sum() < planned.model.readings["date"].notna().sum()
    assert planned_earlier.table["last_reading_date"].max() <= planned_earlier.as_of
    estimated = planned_earlier.table.groupby("vehicle_id")["odometer_km"].first()
    later = planned.table.groupby("vehicle_id")["odometer_km"].first()
    assert (estimated < later.reindex(estimated.index)).all()


# ------------------------------------------------------------------------------------------------------------- evidence


def test_one_more_reading_on_the_line_narrows_the_window(made, planned, tmp_path):
    """Relation: six axles measured once more at the as-of date, each lining exactly where it was expected."""
    positions = planned.model.positions
    odometer = planned.table.groupby("vehicle_id")["odometer_km"].first()
    wide = (planned.table["due_odometer_late_km"] - planned.table["due_odometer_early_km"]).set_axis(
        pd.MultiIndex.from_frame(planned.table[OF_AXLE])
    )
    gone = (odometer.reindex(positions["vehicle_id"]).to_numpy() - positions["ref_km"]) / 10_000
    positions = positions.assign(gone=gone, now=positions["thickness_mm"] - np.exp(positions["log_rate"]) * gone)
    axle = positions.groupby(OF_AXLE)
    fit_to_add = axle["part"].transform("size").eq(4) & positions["gone"].gt(0.3) & axle["now"].transform("min").gt(2.0)
    chosen = positions[fit_to_add].drop_duplicates("vehicle_id").head(6)
    assert len(chosen) == 6
    rows = positions.merge(chosen[OF_AXLE])
    visits = pd.DataFrame(
        {
            "visit_id": "more " + chosen["vehicle_id"], "vehicle_id": chosen["vehicle_id"], "date": made.as_of,
            "odometer": odometer.reindex(chosen["vehicle_id"]).to_numpy(), "odometer_unit": "km",
        }
    )  # fmt: skip
    readings = rows[["axle", "side", "part"]].assign(
        visit_id="more " + rows["vehicle_id"], measure="thickness", value=rows["now"].round(2), unit="mm"
    )
    more = {
        "visits": pd.concat([made.tables["visits"], visits], ignore_index=True),
        "measurements": pd.concat([made.tables["measurements"], readings], ignore_index=True),
    }
    again = schedule.make(load({**made.tables, **more}, tmp_path), made.as_of).table.set_index(OF_AXLE)
    for axle in chosen[OF_AXLE].itertuples(index=False, name=None):
        row = again.loc[axle]
        assert row["last_reading_date"] == made.as_of
        assert row["due_odometer_late_km"] - row["due_odometer_early_km"] < wide[axle]


@given(st.integers(0, 10_000), st.floats(0.05, 0.98), st.floats(0.05, 0.98))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_a_wider_level_contains_a_narrower_one(planned, which, one, other):
    """Relation: bands of any two levels nest, along the running life and ahead, and hold the middle; wear never gives back."""
    narrow, wide = sorted((one, other))
    position = planned.model.positions.iloc[which % len(planned.model.positions)]
    km = position["ref_km"] + np.linspace(-8000, 60_000, 9)
    inner, outer = (schedule.path(planned, position["axle_no"], position["slot"], km, level) for level in (narrow, wide))
    assert (outer["low_mm"] <= inner["low_mm"]).all()
    assert (inner["low_mm"] <= inner["middle_mm"]).all()
    assert (inner["middle_mm"] <= inner["high_mm"]).all()
    assert (inner["high_mm"] <= outer["high_mm"]).all()
    ahead = inner["odometer_km"] >= position["ref_km"]
    assert (inner.loc[ahead, "middle_mm"].diff().dropna() <= 1e-9).all()


@given(st.integers(0, 10_000), st.floats(1.0, 5.0), st.floats(0.1, 2.0))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_a_higher_planning_point_is_due_earlier(planned, which, replace_at, more):
    """Relation: for every axle and any planning point; the rate and today's thickness do not change with it."""
    axle_no = which % len(planned.lives.axles)
    low, high = planned.try_replace_at(replace_at, axle_no), planned.try_replace_at(replace_at + more, axle_no)
    for name in ("due_km", "due_early_km", "due_late_km"):
        assert high[name] < low[name]
    assert high["due_day"] <= low["due_day"]


def test_the_limits_own_planning_point_changes_nothing(planned):
    """Relation: trying the planning point that the limits table gives is the schedule itself."""
    axle_no = planned.model.positions.groupby("axle_no")["replace_at_mm"].first()
    for number, replace_at in list(axle_no.items())[::7]:
        tried = planned.try_replace_at(replace_at, number)
        pd.testing.assert_series_equal(tried, planned.forecast.axles.loc[number], check_exact=True)


def test_replace_at_raised_in_the_limits_table(made, planned, tmp_path):
    """Relation: the whole table again with every lining planned 1 mm thicker: every axle is due earlier."""
    limits = made.tables["limits"]
    limits = limits.assign(replace_at=limits["replace_at"] + limits["part"].str.contains(LINING))
    higher = by_axle(schedule.make(load({**made.tables, "limits": limits}, tmp_path)).table)
    assert (higher["due_odometer_km"] < by_axle(planned.table)["due_odometer_km"]).all()


# ----------------------------------------------------------------------------------------------------- hardly any records


def write_folder(folder, **tables):
    folder.mkdir(exist_ok=True)
    for name, text in tables.items():
        (folder / f"{name}.csv").write_text(text.strip() + "\n", encoding="utf-8")
    return folder


HARDLY_ANY = dict(
    vehicles="""
vehicle_id,wear_class,in_service_date,in_service_odometer
A,van,2024-01-02,10
B,van,2024-01-05,12
C,van,2024-01-07,8""",
    visits="""
visit_id,vehicle_id,date,odometer
1,A,2024-09-01,15000
2,A,2025-03-01,26000
3,B,2024-08-01,14000
4,B,2025-02-15,25500
5,C,2024-10-01,16000
6,C,2025-03-02,24000""",
    measurements="""
visit_id,axle,side,part,measure,value,unit
1,front,left,pad,thickness,9.5,mm
2,front,left,pad,thickness,8,mm
3,front,left,pad,thickness,10,mm
4,front,left,pad,thickness,8.5,mm
5,front,left,pad,thickness,9,mm
6,front,left,pad,thickness,8,mm""",
)


SLIPPED_JOB = {
    **HARDLY_ANY,
    "visits": HARDLY_ANY["visits"] + "\n7,A,2025-06-01,3100\n8,A,2026-01-10,44000",
    "work": "visit_id,axle,side,part,action\n7,front,both,pads,replaced",
}
"""Vehicle A's pads are changed at about 31,000 km, written 3100."""


def test_a_later_odometer_does_not_say_where_an_earlier_job_was(tmp_path):
    """Relation: on the day of the job the visit of seven months later does not matter."""
    today = {**SLIPPED_JOB, "visits": SLIPPED_JOB["visits"].rsplit("\n", 1)[0]}
    whole, cut_off = (
        schedule.make(brakedata.load(write_folder(tmp_path / name, **tables)), "2025-06-01").table
        for name, tables in (("whole", SLIPPED_JOB), ("today", today))
    )
    same(by_axle(whole), by_axle(cut_off))


def test_linings_fitted_today_are_new_even_if_the_odometer_was_slipped(tmp_path):
    """Source: worked by hand; new linings (11 mm or so) at 1.4 mm per 10,000 km last far over 20,000 km from the job."""
    today = {**SLIPPED_JOB, "visits": SLIPPED_JOB["visits"].rsplit("\n", 1)[0]}
    row = schedule.make(brakedata.load(write_folder(tmp_path, **today))).table.set_index("vehicle_id").loc["A"]
    assert row["due_odometer_early_km"] > 31_000 + 20_000


def test_three_vehicles_with_two_readings_each(tmp_path):
    """Source: the contract; an answer for each, wide, and due about where the plain line of about 1.4 mm per 10,000 km ends."""
    table = schedule.make(brakedata.load(write_folder(tmp_path, **HARDLY_ANY))).table
    assert sorted(table["vehicle_id"]) == ["A", "B", "C"]
    assert table["basis"].isin(["own", "shared"]).all()
    assert table["readings"].tolist() == [2, 2, 2]
    numbers = table[[name for name in KM_COLUMNS if not name.startswith("discard")]]
    assert np.isfinite(numbers).all().all()
    width = table["due_odometer_late_km"] - table["due_odometer_early_km"]
    assert width.between(8_000, 60_000).all()
    assert table["due_odometer_km"].between(45_000, 80_000).all()
    assert table["findings"].str.contains("R38-limit-default").all()
    assert table["discard_odometer_early_km"].isna().all(), "no discard limit is known, so none is forecast"


def test_a_vehicle_without_visits_keeps_its_rows(tmp_path):
    """Source: the contract; D has an odometer from when it joined, E has none: its due fields are empty and the code says why."""
    more = HARDLY_ANY["vehicles"] + "\nD,van,2025-01-01,20000\nE,van,2025-01-01,\n"
    made = schedule.make(brakedata.load(write_folder(tmp_path, **{**HARDLY_ANY, "vehicles": more})))
    table = made.table.set_index("vehicle_id")
    assert {"A", "B", "C", "D", "E"} == set(table.index)
    joined = table.loc[["D"]]
    assert joined["due_odometer_km"].notna().all()
    assert joined["basis"].eq("fleet").all()
    none = table.loc[["E"]]
    assert none[["due_odometer_km", "due_odometer_early_km", "due_date", "thickness_mm"]].isna().all().all()
    assert none["findings"].str.contains("R25-odometer-none").all()
    assert none["basis"].eq("").all()


def test_no_vehicle_in_service_is_one_sentence(tmp_path):
    """Source: the contract; nothing can be done, and it says why and what to do."""
    records = brakedata.load(write_folder(tmp_path, **HARDLY_ANY))
    with pytest.raises(brakedata.RecordsError, match="no vehicle is in service on 2020-01-01: check"):
        schedule.make(records, "2020-01-01")
