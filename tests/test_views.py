"""What panels show, as tables and sentences.

Truth: the small folder of ``folders.py``, whose wear is worked by hand: every front pad was 12 mm new and loses 1 mm in 8,000 km,
so it reaches 3.0 mm at 72,000 km; and the definitions 1 mi = 1.609344 km, 1/32 in = 0.79375 mm.
"""

import folders
import numpy as np
import pandas as pd
import pytest

from brakedata import schedule
from brakedata.shown import Shown
from brakedata.views import records as records_view
from brakedata.views import schedule as schedule_view
from brakedata.views import wear


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return schedule.make(folders.load(tmp_path_factory.mktemp("small") / "small"))


@pytest.fixture(scope="module")
def book(made):
    return wear.WearBook(made)


def changed(tmp_path):
    """Vehicle A's front pads replaced at its third visit, read before (9 mm) and after (12 mm) the job."""
    lines = {("measurements", None): "a3,front,left,inner_pad,thickness,12.0,mm,after", ("work", None): "a3,front,both,pads,replaced,,,"}
    return schedule.make(folders.load(tmp_path, lines))


# --- wear


def test_the_own_line_is_the_planted_line(book):
    view = book.view("A", "front")
    assert view.own_readings == 6
    assert view.own.slope_mm_per_km == pytest.approx(-1 / 8000)
    assert view.own.meets(3.0).km == pytest.approx(72_000)
    said = view.own_words(Shown())
    assert "1.25 mm per 10,000 km" in said
    assert "6 readings" in said
    assert "it meets 3.0 mm at 72,000 km, 8 times in 10 between" in said


def test_words_follow_the_units(book):
    said = book.view("A", "front").own_words(Shown("mi", "32nds"))
    assert "2.53/32 in per 10,000 mi" in said  # 1.25 / 0.79375 * 1.609344
    assert "it meets 3.8/32 in at 44,700 mi" in said  # 3.0 / 0.79375; 72,000 / 1.609344 = 44,739


def test_headline_and_level_stand_on_the_schedule_row(book, made):
    row = made.table[made.table["vehicle_id"].eq("A") & made.table["axle"].eq("front")].iloc[0]
    view = book.view("A", "front")
    early, middle, late = (f"{round(row[f'due_odometer{name}_km'] / 100) * 100:,}" for name in ("_early", "", "_late"))
    assert view.headline(Shown()).startswith(f"A front: due between {early} and {late} km, even odds by {middle} km (")
    behind = view.behind()
    assert behind.startswith(f"{row['governing_side']} {row['governing_part'].replace('_', ' ')} leads; 8 times in 10 inside this window;")
    assert behind.endswith("24 readings of this life, last 23 Aug 2024; 0 earlier lives, 1 like axle")


def test_a_job_ends_a_life(tmp_path):
    book = wear.WearBook(changed(tmp_path))
    view = book.view("A", "front")
    before = view.readings[~view.readings["running"]]
    assert len(view.readings) == 25
    assert sorted(before["odometer_km"].unique()) == [8000, 16000, 24000]
    assert view.earlier_lives == 1
    assert view.lives["words"].tolist() == ["new vehicle", "pads replaced"]
    assert view.lives["km"].tolist() == [20, 24000]
    assert view.lives["running"].tolist() == [False, True]
    only = book.view("A", "front", None, 0)
    assert only.from_km == 24000
    assert set(only.readings["odometer_km"]) == {24000, 32000, 40000, 48000}  # the visit of the job carries both lives


def test_history_reaches_back_as_far_as_asked(tmp_path):
    book = wear.WearBook(changed(tmp_path))
    assert book.view("A", "front", None, 1).from_km == 20
    assert book.view("A", "front", None, 10_000).from_km == 20


def test_a_chosen_position_carries_its_own_line(book):
    labels = book.view("A", "front").positions.set_index("slot")["label"]
    for slot, label in labels.items():
        view = book.view("A", "front", int(slot))
        assert view.position["label"] == label
        assert label in view.own_words(Shown())
    assert sorted(labels) == ["left inner pad", "left outer pad", "right inner pad", "right outer pad"]


def test_what_if_moves_the_window_and_says_so(book, made):
    view = book.view("A", "front")
    thicker = wear.what_if(view, made.try_replace_at(6.0, view.axle_no), 6.0)
    assert thicker.recorded_replace_mm == 3.0
    assert thicker.row["due_odometer_km"] == pytest.approx(48_000, abs=1500)  # 6 mm are worn off at 48,000 km
    assert "what if replaced at 6.0 mm: " in thicker.headline(Shown())
    assert "what if" not in view.headline(Shown())
    table = wear.window_table(thicker, Shown())
    assert table["limit"].tolist() == ["what if replaced at 6.0 mm", "discard at 1.6 mm"]
    same = wear.what_if(view, made.try_replace_at(3.0, view.axle_no), 3.0)
    for name in ("due_odometer_km", "due_odometer_early_km", "due_odometer_late_km"):
        assert same.row[name] == pytest.approx(view.row[name], abs=1)
    for name in ("due_date", "due_date_early", "due_date_late"):
        assert same.row[name] == view.row[name]


def test_the_readings_table_holds_every_reading_once(book):
    table = wear.readings_table(book.view("A", "front"), Shown())
    assert table["odometer [km]"].tolist() == ["48,000", "40,000", "32,000", "24,000", "16,000", "8,000"]
    assert table["left inner pad"].tolist() == ["6.0 mm", "7.0 mm", "8.0 mm", "9.0 mm", "10.0 mm", "11.0 mm"]
    assert table["visit"].tolist() == ["a6", "a5", "a4", "a3", "a2", "a1"]
    lines = [folders.line_of("a6", reading) for reading in range(4)]
    assert table["lines in measurements"][0] == ", ".join(map(str, lines))


def test_a_visit_with_both_lives_has_a_row_for_each(tmp_path):
    table = wear.readings_table(wear.WearBook(changed(tmp_path)).view("A", "front"), Shown())
    job = table[table["visit"].eq("a3")]
    assert job["life"].tolist() == ["this life", "earlier"]
    assert job["left inner pad"].tolist() == ["12.0 mm", "9.0 mm"]


def test_an_axle_without_a_believable_odometer_says_so(tmp_path):
    visits = {("visits", 2 + i): f"a{i + 1},A,2023-0{i + 1}-01,-5,km,," for i in range(6)}
    vehicles = {("vehicles", 2): "A,van,urban,,,km,"}
    log = {("odometer_log", line): None for line in (2, 3, 4)}
    made = schedule.make(folders.load(tmp_path, {**visits, **vehicles, **log}))
    view = wear.WearBook(made).view("A", "front")
    assert not view.forecast
    assert view.headline(Shown()) == "A front: no forecast, because no odometer of this vehicle can be believed"
    assert len(wear.window_table(view, Shown())) == 0
    assert wear.numbers(view, Shown()) == []


def test_rotors_stand_with_their_limits(tmp_path):
    made = schedule.make(folders.load(tmp_path, {("measurements", None): "a6,front,left,rotor,thickness,27.4,mm,before"}))
    book = wear.WearBook(made)
    disc = book.disc(book.view("A", "front"))
    assert disc.readings["value_mm"].tolist() == [27.4]
    assert disc.limits == {"machine to": 25.6, "discard at": 25.0}
    assert disc.headline(Shown()) == "A front rotors: left rotor 27.4 mm on 23 Aug 2024"
    none = book.disc(book.view("B", "front"))
    assert len(none.readings) == 0
    assert none.limits == {}


# --- schedule


ROWS = pd.DataFrame(
    {
        "vehicle_id": ["V1", "V2", "w3", "V4"], "axle": ["front", "rear", "front", "2"],
        "wear_class": ["van", "van", "bus", "bus"], "governing_part": ["inner_pad", "shoe", "outer_pad", ""],
        "governing_side": ["left", "", "right", ""], "thickness_mm": [4.0, 3.0, 5.0, None], "rate_mm_per_10000km": [1.0, 0.5, 2.0, None],
        "due_odometer_km": [50_000.0, 60_000, 70_000, None], "due_odometer_early_km": [45_000.0, 50_000, 65_000, None],
        "due_odometer_late_km": [55_000.0, 75_000, 76_000, None],
        "due_date": pd.to_datetime(["2025-03-01", "2025-05-01", "2025-09-01", None]),
        "due_date_early": pd.to_datetime(["2025-02-10", "2025-01-20", "2025-08-01", None]),
        "due_date_late": pd.to_datetime(["2025-04-01", "2025-11-01", "2025-10-01", None]),
        "risk_before_next_visit": [0.004, 0.35, 0.12, None], "basis": ["own", "shared", "fleet", ""], "readings": [8, 1, 0, 0],
        "findings": ["", "R38-limit-default R45-axle-never-measured", "", "R25-odometer-none"],
    }
)  # fmt: skip
"""Four axles, invented; the last has no forecast."""
AS_OF = pd.Timestamp("2025-01-01")


def chosen(**filters):
    rows = schedule_view.filtered(ROWS, AS_OF, **filters)
    return rows["vehicle_id"].tolist()


@pytest.mark.parametrize(
    ("filters", "vehicles"),
    [
        ({}, ["V1", "V2", "w3", "V4"]),
        ({"months": 1}, ["V2", "V4"]),  # 1 chance in 10 by 1 Feb; an axle without a forecast always stays
        ({"months": 3}, ["V1", "V2", "V4"]),
        ({"wear_class": "bus"}, ["w3", "V4"]),
        ({"axle": "front"}, ["V1", "w3"]),
        ({"vehicle": "V"}, ["V1", "V2", "V4"]),
        ({"vehicle": " W3 "}, ["w3"]),
        ({"vehicle": ".*"}, []),
        ({"order": "due date, 1 chance in 10"}, ["V2", "V1", "w3", "V4"]),
        ({"order": "chance at discard"}, ["V2", "w3", "V1", "V4"]),
        ({"order": "thickness now"}, ["V2", "V1", "w3", "V4"]),
    ],
)
def test_filters_and_orders(filters, vehicles):
    assert chosen(**filters) == vehicles


def test_filtering_leaves_the_table_alone():
    before = ROWS.copy()
    schedule_view.filtered(ROWS, AS_OF, months=3, order="vehicle")
    pd.testing.assert_frame_equal(ROWS, before)


@pytest.mark.parametrize(
    ("rows", "months", "sentence"),
    [
        (slice(0, 4), 6, "4 of 9 axles may be due by 1 Jul 2025; 2 carry more than 1 chance in 10 of reaching discard before the next usual "
                         "visit, V2 rear first"),
        (slice(0, 1), None, "1 of 9 axles listed; none carries more than 1 chance in 10 of reaching discard before its next usual visit"),
        (slice(2, 3), 12, "1 of 9 axles may be due by 1 Jan 2026; 1 carries more than 1 chance in 10 of reaching discard before the next "
                          "usual visit, w3 front first"),
        (slice(0, 0), 3, "None of 9 axles may be due by 1 Apr 2025"),
    ],
)  # fmt: skip
def test_headline_of_the_schedule(rows, months, sentence):
    assert schedule_view.headline(ROWS.iloc[rows], 9, AS_OF, months) == sentence


def test_a_headline_never_clears_axles_without_a_discard_limit():
    bare = ROWS.assign(risk_before_next_visit=np.nan)
    assert "none carries" not in (said := schedule_view.headline(bare.iloc[:3], 9, AS_OF, 6)) and "is not known" in said
    some = ROWS.iloc[:3].assign(risk_before_next_visit=[0.01, np.nan, np.nan])
    assert "of those with a discard limit none" in (said := schedule_view.headline(some, 9, AS_OF, 6)) and "for 2 no discard limit" in said


def test_schedule_cells_in_words_and_units():
    cells = schedule_view.cells(ROWS, Shown("mi", "in"))
    assert cells["axle"].tolist() == ["V1 front", "V2 rear", "w3 front", "V4 axle 2"]
    assert cells["first to be due"].tolist() == ["left inner pad", "thinnest shoe", "right outer pad", ""]
    assert cells["now, median"].tolist() == ["0.157 in", "0.118 in", "0.197 in", ""]
    assert cells["wear per 10,000 mi, median"].tolist()[0] == "0.063 in"  # 1.0 / 25.4 * 1.609344
    assert cells["due [mi], even odds (8 in 10 between)"].tolist()[0] == "31,100 (28,000 to 34,200)"
    assert cells["due date, even odds (8 in 10 between)"].tolist()[0] == "1 Mar 2025 (10 Feb 2025 to 1 Apr 2025)"
    assert cells["at discard before next visit"].tolist() == ["under 1 %", "35 %", "12 %", ""]
    assert cells["stands on"].tolist() == ["own, 8 readings", "shared, 1 reading", "fleet, 0 readings", ""]
    assert cells["findings"].tolist() == ["", "R38, R45", "", "R25"]


def test_next_visit_follows_the_vehicles_habit(made):
    """Visits every 100 days, the last on 23 Aug 2024, as of 2 Sep 2024: the next is expected on 1 Dec 2024."""
    rows = schedule_view.with_more(made)
    assert set(rows["next_visit_date"]) == {pd.Timestamp("2024-12-01")}
    assert set(rows["wear_class"]) == {"van"}


# --- records


def test_rows_are_counted_as_read_used_and_left_out(tmp_path):
    lines = {
        ("measurements", 3): "a1,front,left,outer_pad,thickness,thick,mm,before",
        ("measurements", 4): "a9,front,right,inner_pad,thickness,11.0,mm,before",
        ("visits", 3): "a2,A,2023-07-20,1600000000,km,inspection,T1",
    }
    records = folders.load(tmp_path, lines)
    count = records_view.counts(records, records.findings).set_index("table")
    assert count.loc["measurements"].tolist() == [72, 70, 0, 2, 0]
    assert count.loc["visits"].tolist() == [12, 11, 1, 0, 0]  # the visit stays, its odometer does not
    assert count.loc["vehicles"].tolist() == [2, 2, 0, 0, 0]
    assert records_view.headline(count.reset_index()) == "96 rows read: 2 rows not used, 1 used in part; 0 notes on the others"


def test_clean_records_are_called_clean(made):
    count = records_view.counts(made.records, made.findings)
    assert records_view.headline(count) == "All 96 rows could be used, and nothing stood out"


def test_findings_are_filtered_and_shown_as_written(tmp_path):
    lines = {("measurements", 3): "a1,front,left,outer_pad,thickness,<b>thick</b>,mm,before"}
    found = folders.load(tmp_path, lines).findings
    shown = records_view.lines(records_view.filtered(found, table="measurements", severity="left_out"))
    assert shown[["table", "line", "column", "as written"]].to_numpy().tolist() == [["measurements", "3", "value", "<b>thick</b>"]]
    assert shown["what to do"].tolist() == found["advice"].tolist()
    assert len(records_view.filtered(found, table="visits")) == 0
    rule = records_view.by_rule(found)
    assert rule["findings"].sum() == len(found) == 1


def test_an_unrecorded_change_becomes_a_question(tmp_path):
    grown = {("measurements", folders.line_of(visit, r)): f"{visit},front,{side},{part},thickness,{mm},mm,before"
             for visit, mm in (("a4", 12.0), ("a5", 11.0), ("a6", 10.0))
             for r, (_, side, part, _) in enumerate(folders.READINGS[:4])}  # fmt: skip
    proposals = schedule.make(folders.load(tmp_path, grown)).lives.proposals
    said = records_view.question(proposals.iloc[0], Shown())
    assert said.startswith("Vehicle A, front axle, both sides: 9.0 mm on 28 Oct 2023, then 12.0 mm on 5 Feb 2024 (visit a4,")
    assert said.endswith("Were linings replaced there?")
