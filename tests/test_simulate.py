"""The made fleets are what they say they are: their truth can be had a second way, and the records follow from it."""

import json
import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from brakedata import demo
from brakedata.simulate import Effects, Habits, fleet, write

DEMO_RECORDS = Path(__file__).parents[1] / "demo_records"
NO_SPREAD = {
    name: 0.0
    for name in ("vehicle", "axle", "inner", "position", "life", "start_sd_mm", "use", "use_week", "use_drift_year")
}
STEADY_USE = Effects(wander=0.0, use_week=0.0, use_drift_year=0.0, use_change_share=0.0)
SINGLE = ["inner_pad", "outer_pad", "leading_shoe", "trailing_shoe"]


@pytest.fixture(scope="module")
def made():
    """A fleet as it comes, 200 vehicles."""
    return fleet(seed=5, log_every_days=30)


@pytest.fixture(scope="module")
def straight():
    """A fleet without wander and with steady use: every path is a straight line, worked by hand below."""
    return fleet(vehicles=60, seed=2, effects=STEADY_USE)


def true_readings(made):
    """Readings of single linings with the true odometer and the life they belong to, by the life's odometers."""
    rows = made.readings.merge(made.visits[["visit_id", "true_odometer_km"]], on="visit_id")
    rows = rows.merge(made.tables["visits"][["visit_id", "vehicle_id"]], on="visit_id")
    rows = rows[rows["part"].isin(SINGLE)].merge(made.lives, on=["vehicle_id", "axle"])
    km, start, end = rows["true_odometer_km"], rows["start_odometer_km"], rows["end_odometer_km"].fillna(np.inf)
    after = rows["taken"] == "after"
    belongs = np.where(after, km == start, (km > start) & (km <= end))
    return rows[belongs].merge(made.positions, on=["vehicle_id", "axle", "life", "side", "part"])


def limits_of(made):
    """replace_at, discard_at and new of the lining of every axle, from the limits table."""
    limits = made.tables["limits"]
    limits = limits[limits["part"].isin(["pad", "shoe"])].rename(columns={"applies_to": "wear_class"})
    vehicles = made.tables["vehicles"][["vehicle_id", "wear_class"]]
    columns = ["vehicle_id", "axle", "new", "replace_at", "discard_at"]
    return vehicles.merge(limits[["wear_class", *columns[1:]]], on="wear_class")[columns]


# ------------------------------------------------------------------------------------------- truth, a second way


def test_true_readings_lie_on_straight_lines_when_nothing_wanders(straight):
    """Source: worked by hand, thickness = start - rate * distance since fitting."""
    rows = true_readings(straight)
    assert len(rows) > 2_000 and rows["life"].max() >= 1
    by_hand = rows["start_mm"] - rows["rate_mm_per_10000km"] / 1e4 * (
        rows["true_odometer_km"] - rows["start_odometer_km"]
    )
    np.testing.assert_allclose(rows["true_mm"], by_hand, rtol=0, atol=1e-8)


def test_due_and_discard_are_where_the_lines_meet_the_limits(straight):
    """Source: worked by hand, the earliest of the four positions."""
    now = straight.positions.dropna(subset=["thickness_mm"]).merge(
        straight.lives.loc[straight.lives["end_odometer_km"].isna()], on=["vehicle_id", "axle", "life"]
    )
    now = now.merge(limits_of(straight), on=["vehicle_id", "axle"])
    for limit, column in (("replace_at", "due_odometer_km"), ("discard_at", "discard_odometer_km")):
        distance = (now["start_mm"] - now[limit]) / now["rate_mm_per_10000km"] * 1e4
        by_hand = (now["start_odometer_km"] + distance).groupby([now["vehicle_id"], now["axle"]]).min()
        truth = straight.truth.set_index(["vehicle_id", "axle"])[column]
        np.testing.assert_allclose(truth, by_hand[truth.index], rtol=1e-9)


def test_due_date_is_distance_left_over_distance_a_day(straight):
    """Source: worked by hand; the use is steady, so two odometers of a vehicle give its distance a day."""
    visits = straight.tables["visits"].merge(straight.visits, on="visit_id")
    ends = visits.groupby("vehicle_id").agg(
        first=("date", "min"), last=("date", "max"), low=("true_odometer_km", "min"), high=("true_odometer_km", "max")
    )
    ends = ends[ends["last"] > ends["first"]]
    pace = (ends["high"] - ends["low"]) / (ends["last"] - ends["first"]).dt.days
    truth = straight.truth[straight.truth["vehicle_id"].isin(pace.index)]
    days = (truth["due_odometer_km"] - truth["odometer_km"]) / pace[truth["vehicle_id"]].to_numpy()
    due = straight.as_of + pd.to_timedelta(np.floor(days), unit="D")
    assert (due - truth["due_date"]).abs().max() <= pd.Timedelta(days=1)


def test_wander_has_the_variance_it_says():
    """Source: definition of the gamma process, variance wander**2 times the mean; one reading an axle."""
    made = fleet(vehicles=500, seed=3, effects=Effects(**NO_SPREAD, wander=0.4, use_change_share=0.0))
    rows = true_readings(made)
    rows = rows[(rows["taken"] != "after") & (rows["true_odometer_km"] - rows["start_odometer_km"] > 10_000)]
    one = rows.drop_duplicates(["vehicle_id", "axle"], keep="first")
    expected = one["rate_mm_per_10000km"] / 1e4 * (one["true_odometer_km"] - one["start_odometer_km"])
    score = (one["start_mm"] - one["true_mm"] - expected) / np.sqrt(0.4**2 * expected)
    assert len(score) > 700
    assert abs(score.mean()) < 0.12 and 0.9 < score.std() < 1.1


def test_paths_never_grow_and_the_due_odometer_parts_them(made):
    """Before due every position is over replace_at, after it the thinnest is not; thickness only falls in a life."""
    rows = true_readings(made).sort_values("true_odometer_km")
    keys = ["vehicle_id", "axle", "life", "side", "part"]
    assert rows.groupby(keys)["true_mm"].diff().max() <= 0
    current = rows[rows["end_odometer_km"].isna()].merge(limits_of(made), on=["vehicle_id", "axle"])
    current = current.merge(made.truth[["vehicle_id", "axle", "due_odometer_km"]], on=["vehicle_id", "axle"])
    before = current["true_odometer_km"] < current["due_odometer_km"]
    assert (current.loc[before, "true_mm"] > current.loc[before, "replace_at"]).all()


def test_thickness_now_is_over_replace_at_exactly_where_due_lies_ahead(made):
    truth = made.truth.merge(limits_of(made), on=["vehicle_id", "axle"])
    ahead = truth["due_odometer_km"] > truth["odometer_km"]
    assert 0 < (~ahead).sum() < 0.1 * len(truth)
    assert ((truth["thickness_mm"] > truth["replace_at"]) == ahead).all()
    assert ((truth["due_date"] >= made.as_of) == ahead).all()


def test_truth_has_a_row_for_every_axle_in_service(made):
    vehicles = made.tables["vehicles"]
    in_service = vehicles.loc[vehicles["retired_date"].isna(), "vehicle_id"]
    assert 0 < len(vehicles) - len(in_service) < 20
    expected = {(v, axle) for v in in_service for axle in ("front", "rear")}
    assert set(zip(made.truth["vehicle_id"], made.truth["axle"], strict=True)) == expected
    assert len(made.truth) == len(expected)
    thinnest = made.positions.dropna(subset=["thickness_mm"]).groupby(["vehicle_id", "axle"])["thickness_mm"].min()
    np.testing.assert_array_equal(
        made.truth["thickness_mm"], thinnest[pd.MultiIndex.from_frame(made.truth[["vehicle_id", "axle"]])]
    )
    np.testing.assert_array_equal(made.truth[["due_odometer_km", "discard_odometer_km"]].isna().sum(), [0, 0])
    assert (made.truth["discard_odometer_km"] > made.truth["due_odometer_km"]).all()


# ------------------------------------------------------------------------------------------- what people wrote


def test_readings_are_on_the_gauge_and_err_as_the_gauge_does(made):
    """Source: rounding to a step adds step / sqrt(12) (standards_and_practice, 3.2) to the repeat error."""
    table = made.tables["measurements"]
    for parts, bias_mm, rel in ((SINGLE, 0.01, 0.03), (["pad", "shoe"], 0.03, 0.1)):
        rows = table["part"].isin(parts).to_numpy()
        value = table.loc[rows, "value"].to_numpy(dtype=float)
        np.testing.assert_array_equal(value * 2, np.round(value * 2))
        error = value - made.readings.loc[rows, "true_mm"].to_numpy()
        assert abs(error.mean()) < bias_mm
        assert error.std() == pytest.approx(np.hypot(0.15, 0.5 / np.sqrt(12)), rel=rel)


def test_thinnest_seen_is_the_thinnest_of_its_side_or_axle(straight):
    """Source: worked by hand from the lines of the positions concerned."""
    rows = straight.readings.merge(straight.visits, on="visit_id")
    rows = rows.merge(straight.tables["visits"][["visit_id", "vehicle_id"]], on="visit_id").reset_index(names="row")
    rows = rows[rows["part"].isin(["pad", "shoe"])].merge(straight.lives, on=["vehicle_id", "axle"])
    end = rows["end_odometer_km"].fillna(np.inf)
    rows = rows[(rows["true_odometer_km"] > rows["start_odometer_km"]) & (rows["true_odometer_km"] <= end)]
    rows = rows.merge(straight.positions, on=["vehicle_id", "axle", "life"], suffixes=("", "_position"))
    rows = rows[rows["side"].isna() | (rows["side"] == rows["side_position"])]
    distance = rows["true_odometer_km"] - rows["start_odometer_km"]
    by_hand = (rows["start_mm"] - rows["rate_mm_per_10000km"] / 1e4 * distance).groupby(rows["row"]).min()
    assert len(by_hand) > 50 and 0 < rows["side"].isna().sum() < len(rows)
    np.testing.assert_allclose(rows.groupby("row")["true_mm"].first(), by_hand, rtol=0, atol=1e-8)


def test_nothing_is_dated_outside_the_records(made):
    vehicles = made.tables["vehicles"].set_index("vehicle_id")
    for name in ("visits", "odometer_log"):
        table = made.tables[name]
        joined = vehicles.loc[table["vehicle_id"], "in_service_date"].to_numpy()
        left = vehicles.loc[table["vehicle_id"], "retired_date"].fillna(made.as_of).to_numpy()
        assert (table["date"].to_numpy() >= joined).all() and (table["date"].to_numpy() <= left).all()
    assert made.tables["visits"]["date"].max() <= made.as_of == pd.Timestamp("2026-06-30")


def test_odometers_rise_but_for_the_share_of_slips_asked(made):
    visits = made.tables["visits"].merge(made.visits, on="visit_id")
    off = (visits["odometer"] - visits["true_odometer_km"]).abs()
    assert visits["slipped"].sum() == round(0.004 * len(visits)) == (off >= 1_000).sum()
    assert off[~visits["slipped"]].max() < 1
    both = pd.concat([visits[~visits["slipped"]], made.tables["odometer_log"]])[["vehicle_id", "date", "odometer"]]
    both = both.sort_values(["vehicle_id", "date", "odometer"])
    assert both.groupby("vehicle_id")["odometer"].diff().min() >= 0


@pytest.mark.parametrize("share", [0.0, 0.25])
def test_unrecorded_changes_are_the_share_asked_and_leave_no_row(share):
    made = fleet(vehicles=80, seed=4, unrecorded_share=share, slip_share=0)
    ended = made.lives[made.lives["end_odometer_km"].notna()]
    assert (~ended["end_recorded"]).sum() == round(share * len(ended)) and len(ended) > 100
    work = made.tables["work"]
    work = work[work["part"].isin(["pads", "shoes"])].merge(made.tables["visits"], on="visit_id")
    recorded = ended[ended["end_recorded"]]
    assert set(zip(work["vehicle_id"], work["axle"], work["odometer"], strict=True)) == set(
        zip(recorded["vehicle_id"], recorded["axle"], np.floor(recorded["end_odometer_km"]), strict=True)
    )
    after = made.tables["measurements"].query("taken == 'after'")
    assert set(zip(after["visit_id"], after["axle"], strict=True)) <= set(
        zip(work["visit_id"], work["axle"], strict=True)
    )
    visited = set(zip(made.tables["visits"]["vehicle_id"], made.tables["visits"]["odometer"], strict=True))
    lost = ended[~ended["end_recorded"]]
    seen = [pair in visited for pair in zip(lost["vehicle_id"], np.floor(lost["end_odometer_km"]), strict=True)]
    assert not share or 0.2 < np.mean(seen) < 0.8


def test_start_is_known_after_a_recorded_change_or_joining_new(made):
    vehicles = made.tables["vehicles"].set_index("vehicle_id")
    first = made.lives[made.lives["life"] == 0]
    new = vehicles.loc[first["vehicle_id"], "in_service_odometer"].to_numpy() < 100
    assert 0.55 < new.mean() < 0.85
    np.testing.assert_array_equal(first["start_known"], new)
    assert (first.loc[new, "start_odometer_km"] == 0).all()
    later = made.lives[made.lives["life"] > 0]
    before = made.lives.assign(life=made.lives["life"] + 1).set_index(["vehicle_id", "axle", "life"])
    np.testing.assert_array_equal(
        later["start_known"],
        before.loc[pd.MultiIndex.from_frame(later[["vehicle_id", "axle", "life"]]), "end_recorded"],
    )


def test_habits_can_be_switched_off():
    """With tidy habits every axle of every visit has its four readings, and every job its four after."""
    tidy = Habits(
        thinnest_only=0, one_side=0, not_measured=0, drum_not_opened=0, before_at_job=1, after_at_job=1, mate_read=0
    )
    made = fleet(vehicles=20, seed=6, habits=tidy, missing_share=0, slip_share=0, unrecorded_share=0)
    table = made.tables["measurements"]
    jobs = made.tables["work"]["part"].isin(["pads", "shoes"]).sum()
    assert (table["taken"] == "after").sum() == 4 * jobs > 0
    assert (table["taken"] != "after").sum() == 8 * len(made.tables["visits"])


# ------------------------------------------------------------------------------------------- the same again, written


def test_same_seed_same_bytes_other_seed_other_fleet(tmp_path):
    for name, seed in (("one", 8), ("two", 8), ("three", 9)):
        write(fleet(vehicles=15, seed=seed, log_every_days=40).tables, tmp_path / name)
    files = sorted(path.name for path in (tmp_path / "one").iterdir())
    assert len(files) == 6
    for file in files:
        assert (tmp_path / "one" / file).read_bytes() == (tmp_path / "two" / file).read_bytes()
    assert (tmp_path / "one" / "visits.csv").read_bytes() != (tmp_path / "three" / "visits.csv").read_bytes()


def read_back(folder, form):
    """The written tables by a plain reader, every column as written."""
    if form == "xlsx":
        return pd.read_excel(folder / "records.xlsx", sheet_name=None, engine="openpyxl")
    reader = {"csv": pd.read_csv, "parquet": pd.read_parquet}[form]
    return {path.stem: reader(path) for path in sorted(folder.glob(f"*.{form}"))}


@pytest.mark.parametrize("form", ["csv", "xlsx", "parquet"])
def test_miles_and_32nds_shuffled_convert_back_exactly(tmp_path, form):
    """Source: 1 mi = 1.609344 km, 1 in = 25.4 mm by definition."""
    made = fleet(vehicles=12, seed=7, log_every_days=60)
    write(made.tables, tmp_path, form=form, distance_unit="mi", thickness_unit="32nds", shuffle_seed=1)
    back = read_back(tmp_path, form)
    assert set(back) == set(made.tables)
    for name, table in made.tables.items():
        written = back[name]
        assert list(written.columns) == list(table.columns)
        if "odometer_unit" in table:
            assert set(written["odometer_unit"]) == {"mi"}
            column = "odometer" if "odometer" in table else "in_service_odometer"
            written[column] = (written[column] * 1.609344).round(3)
        if "unit" in table:
            lining = written["part"].str.contains("pad|shoe")
            np.testing.assert_array_equal(written["unit"], np.where(lining, "32nds", "in"))
            for column in {"value", "new", "replace_at", "discard_at", "machine_to"} & set(table.columns):
                written[column] = (written[column] * np.where(lining, 25.4 / 32, 25.4)).round(6)
        assert plain_rows(written) == plain_rows(table), name
        assert len(table) < 20 or not written.iloc[:, 0].equals(table.iloc[:, 0])


def plain_rows(table):
    """The rows of a table as sorted text, units left out, dates as days, numbers as numbers."""
    table = table.drop(columns=["unit", "odometer_unit"], errors="ignore")

    def text(cell):
        if pd.isna(cell):
            return ""
        if isinstance(cell, str) and not re.fullmatch(r"\d{4}-\d\d-\d\d", cell):
            return cell
        if isinstance(cell, (str, pd.Timestamp)):
            return str(pd.Timestamp(cell).date())
        return repr(float(cell))

    return sorted(json.dumps([text(cell) for cell in row]) for row in table.itertuples(index=False))


def test_a_bound_is_converted_and_stays_a_bound(tmp_path):
    """Source: 2 mm = 2.519685039/32 in, by hand."""
    rows = pd.DataFrame({"part": ["pad", "pad"], "value": ["<2", 12.7], "unit": "mm"})
    write({"measurements": rows}, tmp_path, thickness_unit="32nds")
    assert (tmp_path / "measurements.csv").read_text() == "part,value,unit\npad,<2.519685039,32nds\npad,16.0,32nds\n"


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda folder: fleet(vehicles=0), "vehicle"),
        (lambda folder: fleet(years=0), "years"),
        (lambda folder: write({}, folder, form="ods"), "ods"),
        (lambda folder: write({}, folder, distance_unit="furlong"), "furlong"),
    ],
)
def test_impossible_requests_are_refused_in_words(tmp_path, call, word):
    with pytest.raises(ValueError, match=word):
        call(tmp_path)


def test_the_smallest_fleet_has_its_truth():
    """One vehicle, five weeks: no visit need have been made, and both axles still have their due odometer."""
    made = fleet(vehicles=1, years=0.1, seed=1, retired_share=0)
    assert len(made.truth) == 2 and made.truth["due_odometer_km"].gt(made.truth["odometer_km"]).all()


# ------------------------------------------------------------------------------------------- the demo


@pytest.fixture(scope="module")
def told():
    """The demo's tables, with the vehicle, day and odometer beside every reading and every work row."""
    tables = demo.build()
    visit = tables["visits"][["visit_id", "vehicle_id", "date", "odometer", "technician", "reason", "complaint"]]
    joined = {name: tables[name].merge(visit, on="visit_id") for name in ("measurements", "work")}
    return tables | joined


def test_demo_records_in_the_repository_are_what_the_demo_writes(tmp_path):
    demo.main([str(tmp_path / "Bremsen – Übersicht (neu)")])
    written = sorted((tmp_path / "Bremsen – Übersicht (neu)").iterdir())
    assert len(written) == 6
    for path in written:
        assert path.read_text(encoding="utf-8") == (DEMO_RECORDS / path.name).read_text(encoding="utf-8"), path.name


def test_demo_depot_is_as_described(told):
    vehicles = told["vehicles"]
    assert len(vehicles) == 40 and vehicles["wear_class"].nunique() == 4
    assert (told["visits"]["date"].max() - told["visits"]["date"].min()).days > 4.8 * 365
    jobs = told["work"][told["work"]["part"].isin(["pads", "shoes"]) & (told["work"]["action"] == "replaced")]
    assert len(jobs) >= 200 and {"pads", "shoes"} == set(jobs["part"])
    known = set(told["visits"]["visit_id"])
    assert set(told["measurements"]["visit_id"]) <= known and set(told["work"]["visit_id"]) <= known
    assert not told["visits"].duplicated(["vehicle_id", "date"]).any()


def test_demo_sticking_slide_shows_in_the_readings(told):
    rows = told["measurements"]
    rows = rows[(rows["axle"] == "front") & rows["part"].isin(["inner_pad", "outer_pad"]) & (rows["side"] == "right")]
    rows = rows[rows["value"].map(lambda value: not isinstance(value, str))]
    wide = rows.assign(value=rows["value"].astype(float)).pivot_table(
        index=["vehicle_id", "visit_id"], columns="part", values="value"
    )
    apart = (wide["outer_pad"] - wide["inner_pad"]).groupby("vehicle_id").max().sort_values()
    assert apart.index[-1] == demo.STICKING_SLIDE and apart.iloc[-1] >= 3.5


def test_demo_unrecorded_change_is_a_jump_with_no_work(told):
    mine = told["measurements"].query("vehicle_id == @demo.UNRECORDED_CHANGE and axle == 'front'")
    mine = mine[mine["part"].isin(["inner_pad", "outer_pad"]) & (mine["taken"] != "after")]
    seen = mine.assign(value=pd.to_numeric(mine["value"], errors="coerce")).groupby("date")["value"].min()
    work = told["work"].query("vehicle_id == @demo.UNRECORDED_CHANGE and axle == 'front' and action == 'replaced'")
    grown = seen.index[1:][seen.diff().iloc[1:] > 2]
    before = seen.index[:-1][seen.diff().iloc[1:] > 2]
    recorded = [((work["date"] >= low) & (work["date"] <= high)).any() for low, high in zip(before, grown, strict=True)]
    assert recorded.count(False) == 1 and recorded.count(True) >= 3


def test_demo_vehicle_with_doubled_use(told):
    log = told["odometer_log"].query("vehicle_id == @demo.USE_DOUBLED").set_index("date")["odometer"]

    def km_a_day(low, high):
        part = log[low:high]
        return (part.iloc[-1] - part.iloc[0]) / (part.index[-1] - part.index[0]).days

    assert km_a_day("2025-04", "2026-06") / km_a_day("2024-01", "2025-03") == pytest.approx(2, rel=0.25)


def test_demo_vanished_retired_and_just_joined(told):
    visits, vehicles = told["visits"], told["vehicles"].set_index("vehicle_id")
    last = visits.groupby("vehicle_id")["date"].max()
    assert last[demo.VANISHED] == pd.Timestamp("2024-09-09") and pd.isna(vehicles.loc[demo.VANISHED, "retired_date"])
    others = last.drop([demo.VANISHED, demo.RETIRED])
    assert others.min() > pd.Timestamp("2026-01-01")
    assert vehicles["retired_date"].notna().sum() == 1
    assert vehicles.loc[demo.RETIRED, "retired_date"] >= last[demo.RETIRED]
    assert demo.JUST_JOINED not in last.index and demo.JUST_JOINED in vehicles.index


def test_demo_has_one_odometer_that_cannot_be(told):
    both = pd.concat([told["visits"], told["odometer_log"]])[["vehicle_id", "date", "odometer"]]
    both = both.sort_values(["vehicle_id", "date", "odometer"])
    back = both.groupby("vehicle_id")["odometer"].diff() < 0
    assert both.loc[back, "vehicle_id"].tolist() == [demo.ODOMETER_SLIP]
    assert both.loc[back, "date"].tolist() == [pd.Timestamp("2025-01-15")]


def came_back(told, sign, low_km, high_km):
    """Disc jobs, and whether the vehicle came with a complaint holding one of the words between the two distances."""
    work, visits = told["work"], told["visits"]
    jobs = work[(work["part"] == "pads") & (work["action"] == "replaced")]
    complaints = visits[(visits["reason"] == "complaint") & visits["complaint"].str.contains(sign, case=False)]
    pairs = jobs.merge(complaints[["vehicle_id", "odometer"]], on="vehicle_id", suffixes=("", "_back"))
    since = pairs["odometer_back"] - pairs["odometer"]
    back = pairs.loc[since.between(low_km, high_km), ["visit_id", "axle"]].drop_duplicates()
    return jobs.merge(back.assign(back=True), on=["visit_id", "axle"], how="left").fillna({"back": False})


def test_demo_line_that_squeals(told):
    jobs = came_back(told, "squeal|whistle", 0, 5_500)
    share = jobs.groupby(jobs["product_line"].eq(demo.SQUEALING_LINE))["back"].mean()
    assert share[True] > 0.35 and share[False] < 0.2


def test_demo_technician_who_skips_hub_faces(told):
    jobs = came_back(told, "puls|shak|judder|shudder", 4_000, 12_500)
    share = jobs.groupby(jobs["technician"].eq(demo.SKIPS_HUB_FACES))["back"].mean()
    assert share[True] > 0.35 and share[False] < 0.2
    faces = told["work"][told["work"]["part"] == "hub_face"]
    cleaned = faces[(faces["action"] == "cleaned") & (faces["reason"] != "complaint")]
    assert demo.SKIPS_HUB_FACES not in set(cleaned["technician"]) and len(cleaned) > 100
