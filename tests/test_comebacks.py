"""Comebacks: jobs, links, rates, what goes with them, trend and cost, on records written by hand and on made shops."""

import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner

import brakedata
from brakedata import cli, columns, comebacks, simulate, simulate_shop
from brakedata.comebacks import compare, curves, explain, firth, over_time, watch
from brakedata.findings import RecordsError

TABLE = [answer.name for answer in columns.COMEBACKS]


def row(table, **cells):
    """A row of a record table, other cells empty."""
    return {name: cells.get(name, "") for name in simulate.columns_of(table)}


def job(visit, axle="front", part="pads", action="replaced", **cells):
    return row("work", visit_id=visit, axle=axle, part=part, action=action, **cells)


def visit(name, date, km, vehicle="V1", **cells):
    return row("visits", visit_id=name, vehicle_id=vehicle, date=date, odometer=km, **cells)


def shop(folder, visits, work, measurements=(), vehicles=None, log=(), settings=""):
    """A records folder of rows; every vehicle named in the visits is listed."""
    names = dict.fromkeys(one["vehicle_id"] for one in visits)
    tables = {
        "vehicles": vehicles or [row("vehicles", vehicle_id=name) for name in names],
        "visits": visits,
        "work": work,
        "measurements": list(measurements) or [row("measurements", visit_id="none", axle="front")],
        "odometer_log": log,
    }
    folder.mkdir(exist_ok=True)
    for name, rows in tables.items():
        pd.DataFrame(rows, columns=simulate.columns_of(name)).to_csv(folder / f"{name}.csv", index=False)
    if settings:
        (folder / "records.toml").write_text(settings, "utf-8")
    return brakedata.load(folder)


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "records"


BASE = [
    visit("J1", "2024-01-10", 50_000, technician="Ash"),
    visit("J2", "2024-03-10", 56_000, technician="Birch"),
    visit("END", "2025-06-01", 90_000),
]
BASE_WORK = [job("J1"), job("J2", "rear")]


def links_of(folder, complaint, km, date="2024-05-01", more=(), work=(), **cells):
    records = shop(folder, [*BASE, visit("C", date, km, complaint=complaint, **cells), *more], [*BASE_WORK, *work])
    return comebacks.find(records).links


# ------------------------------------------------------------------------------------------------ jobs and their factors


def test_a_job_is_an_axle_of_a_visit_with_linings_rotors_or_drums_replaced_or_machined(folder):
    work = [
        job("J1", product_line="line A"),
        job("J1", part="rotor", action="machined"),
        job("J1", part="hub_face", action="cleaned"),
        job("J1", part="slide_pins", action="lubricated"),
        job("J1", part="slide_pins", action="freed"),
        job("J1", "rear", part="drum", product_line="line D"),
        job("J2", part="hub_face", action="cleaned"),  # no job: nothing was fitted
        job("J2", part="caliper"),
    ]
    measured = [
        row("measurements", visit_id="J1", axle="front", side="left", part="rotor", measure="runout", value=0.03, taken="after"),
        row("measurements", visit_id="J1", axle="front", side="right", part="rotor", measure="runout", value=0.06, taken="after"),
        row("measurements", visit_id="J1", axle="rear", side="left", part="drum", measure="runout", value=0.09, taken="before"),
    ]
    found = comebacks.find(shop(folder, BASE, work, measured)).jobs.set_index("axle")
    assert found.index.tolist() == ["front", "rear"]
    front, rear = found.loc["front"], found.loc["rear"]
    assert front["done"] == "pads replaced, rotor machined"
    assert (front["technician"], front["product_line"], front["season"]) == ("Ash", "line A", "December to February")
    assert (front["hub_face"], front["hardware"], front["wear_class"]) == ("cleaned", "unrecorded", "unrecorded")
    assert front["slide_pins"] == "lubricated, freed"
    assert (front["runout"], front["runout_mm"]) == ("over 0.05 mm", 0.06)
    assert (rear["runout"], rear["product_line"]) == ("unrecorded", "line D")


# ------------------------------------------------------------------------------------------------ linking


@pytest.mark.parametrize(
    ("complaint", "km", "expected"),
    [
        ("front brakes squeal", 57_000, ("J1", "front")),  # the axle is said, though another job is newer
        ("squeal when braking", 57_000, ("J2", "rear")),  # not said: the newest job
        ("rear pads squeal", 57_000, ("J2", "rear")),
        ("front brakes squeal", 60_000, ("J1", "front")),  # at the very end of the window for noise
        ("front brakes squeal", 60_001, None),
        ("pulsation from front when braking", 60_001, ("J1", "front")),  # pulsation comes late
        ("pulsation from front when braking", 65_000, ("J1", "front")),
        ("pulsation from front when braking", 65_001, None),
        ("pulls left when braking", 57_000, ("J2", "rear")),
        ("no brake noise", 57_000, None),
        ("wheel bearing hums", 57_000, None),
        ("brake warning light on", 57_000, None),  # a brake complaint, but no comeback of a brake job
        ("", 57_000, None),
    ],
)
def test_a_complaint_belongs_to_the_newest_earlier_job_within_the_window_of_its_kind(folder, complaint, km, expected):
    links = links_of(folder, complaint, km)
    found = [(one.job_visit_id, one.job_axle) for one in links.itertuples()]
    assert found == ([] if expected is None else [expected])
    if expected:
        start, day = {"J1": (50_000, "2024-01-10"), "J2": (56_000, "2024-03-10")}[expected[0]]
        assert links.loc[0, "km_after"] == km - start
        assert links.loc[0, "days_after"] == (pd.Timestamp("2024-05-01") - pd.Timestamp(day)).days
        assert links.loc[0, "complaint"] == complaint
        assert links.loc[0, "words"]


def test_windows_can_be_set(folder):
    records = shop(folder, [*BASE, visit("C", "2024-05-01", 57_000, complaint="front brakes squeal")], BASE_WORK)
    assert len(comebacks.find(records, windows=comebacks.Windows(noise_km=7_000)).links) == 1
    assert len(comebacks.find(records, windows=comebacks.Windows(noise_km=6_999)).links) == 0
    assert len(comebacks.find(records, windows=comebacks.Windows(days=112)).links) == 1
    assert len(comebacks.find(records, windows=comebacks.Windows(days=111)).links) == 0


def test_the_work_of_the_visit_says_the_axle_where_nobody_does(folder):
    links = links_of(folder, "squeal when braking", 57_000, work=[job("C", "front", "hardware", "lubricated")])
    assert links[["job_visit_id", "axle_from"]].to_numpy().tolist() == [["J1", "work"]]


def test_the_note_is_read_apart_and_says_what_the_complaint_does_not(folder):
    links = links_of(folder, "service", 57_000, note="front brakes squeal on road test")
    assert links[["job_visit_id", "axle_from", "symptoms"]].to_numpy().tolist() == [["J1", "note", "note: noise (squeal)"]]


def test_of_two_axles_done_at_one_visit_the_front_is_taken_where_nobody_says(folder):
    links = links_of(folder, "squeal when braking", 57_000, work=[job("J2", "front")])
    assert links[["job_visit_id", "job_axle"]].to_numpy().tolist() == [["J2", "front"]]


def test_an_axle_by_number_is_the_same_axle(folder):
    records = shop(folder, [*BASE, visit("C", "2024-05-01", 57_000, complaint="front squeals")], [job("J1", "1"), job("J2", "2")])
    assert comebacks.find(records).links["job_axle"].tolist() == ["1"]


def test_a_complaint_at_the_visit_of_the_next_job_belongs_to_the_job_before(folder):
    links = links_of(folder, "front brakes squeal", 57_000, work=[job("C")])
    assert links["job_visit_id"].tolist() == ["J1"]


def test_a_second_complaint_about_the_same_thing_is_one_comeback(folder):
    more = [
        visit("C2", "2024-06-01", 58_000, complaint="still squeals, front brakes"),
        visit("C3", "2024-07-01", 59_000, complaint="front brakes pulsate"),
    ]
    links = links_of(folder, "front brakes squeal", 57_000, more=more)
    assert links[["visit_id", "again", "counts"]].to_numpy().tolist() == [
        ["C", False, True], ["C2", True, False], ["C3", False, True],
    ]  # fmt: skip


def test_an_odometer_that_is_not_believed_is_estimated_between_its_neighbours(folder):
    records = shop(folder, [*BASE, visit("C", "2024-02-09", 5_000, complaint="front brakes squeal")], BASE_WORK)
    found = comebacks.find(records)
    assert found.links["km_after"].tolist() == pytest.approx([3_000], abs=1)  # half way from 50,000 to 56,000, worked by hand


def test_a_job_without_any_odometer_is_listed_and_not_counted(folder):
    visits = [*BASE, visit("X", "2024-01-01", "", vehicle="V2", technician="Ash"), visit("Y", "2024-02-01", "", vehicle="V2")]
    found = comebacks.find(shop(folder, visits, [*BASE_WORK, job("X")]))
    assert found.findings[["code", "vehicle_id"]].to_numpy().tolist() == [["R60-job-without-odometer", "V2"]]
    assert comebacks.rates(found, by="axle").table["jobs"].sum() == 2


def test_nothing_dated_after_the_as_of_date_is_used(folder):
    visits = [*BASE, visit("C", "2024-05-01", 57_000, complaint="front brakes squeal"), visit("J3", "2024-06-01", 58_000)]
    records = shop(folder, visits, [*BASE_WORK, job("J3")])
    found = comebacks.find(records, as_of="2024-04-01")
    assert len(found.links) == 0
    assert found.jobs["visit_id"].tolist() == ["J1", "J2"]
    assert found.jobs["watched_km"].tolist() == [6_000, 0]


# ------------------------------------------------------------------------------------------------ answers


def squeal(folder, settings=""):
    return shop(folder, [*BASE, visit("C", "2024-05-01", 57_000, complaint="front brakes squeal")], BASE_WORK, settings=settings)


SETTINGS = """# our shop
[units]
distance = "km"  # as driven

[[comeback]]
visit_id = "C"
job_visit_id = "J1"
axle = "front"
answer = "unknown"
"""


def test_an_answer_is_kept_beside_the_records_and_comments_stay(folder):
    squeal(folder, SETTINGS)
    comebacks.answer(folder, "C", "J1", "front", "no", reason="stone in the shield")
    kept = (folder / "records.toml").read_text("utf-8")
    assert "# our shop" in kept and "# as driven" in kept
    assert kept.count("[[comeback]]") == 1
    links = comebacks.find(brakedata.load(folder)).links
    assert links[["answer", "reason", "counts"]].to_numpy().tolist() == [["no", "stone in the shield", False]]
    comebacks.answer(folder, "C", "J1", "front", "yes")
    found = comebacks.find(brakedata.load(folder))
    assert found.links[["answer", "counts"]].to_numpy().tolist() == [["yes", True]]
    assert found.jobs["comeback_km"].dropna().tolist() == [7_000]


def test_unknown_still_counts(folder):
    assert comebacks.find(squeal(folder, SETTINGS)).links[["answer", "counts"]].to_numpy().tolist() == [["unknown", True]]


def test_a_link_that_a_person_makes_replaces_the_proposal(folder):
    squeal(folder)
    comebacks.answer(folder, "C", "J2", "rear", "yes")
    links = comebacks.find(brakedata.load(folder)).links
    assert links[["job_visit_id", "job_axle", "answer"]].to_numpy().tolist() == [["J2", "rear", "yes"]]


def test_a_link_that_a_person_makes_may_be_outside_the_window(folder):
    shop(folder, [*BASE, visit("C", "2025-05-01", 85_000, complaint="front brakes squeal")], BASE_WORK)
    assert len(comebacks.find(brakedata.load(folder)).links) == 0
    comebacks.answer(folder, "C", "J1", "front", "yes")
    assert comebacks.find(brakedata.load(folder)).jobs["comeback_km"].dropna().tolist() == [35_000]


def test_an_answer_about_a_job_that_is_not_there_is_told(folder):
    squeal(folder)
    comebacks.answer(folder, "C", "J9", "front", "yes")
    found = comebacks.find(brakedata.load(folder))
    assert found.findings["code"].tolist() == ["R61-answer-without-job"]
    assert found.links["job_visit_id"].tolist() == ["J1"]


@pytest.mark.parametrize(
    "entry",
    ['answer = "perhaps"\nvisit_id = "C"\njob_visit_id = "J1"\naxle = "front"', 'answer = "yes"\nvisit_id = "C"'],
)
def test_an_entry_that_cannot_be_understood_is_told(folder, entry):
    found = comebacks.find(squeal(folder, f"[[comeback]]\n{entry}\n"))
    assert found.findings["code"].tolist() == ["R15-setting-not-understood"]
    assert found.links["answer"].tolist() == [""]


def test_another_answer_is_refused_in_a_sentence(folder):
    squeal(folder)
    with pytest.raises(RecordsError, match="answer yes, no or unknown"):
        comebacks.answer(folder, "C", "J1", "front", "maybe")


def test_the_shops_own_words_are_used(folder):
    records = squeal(folder, '[words]\nnoise = ["blorps"]\n')
    assert len(comebacks.find(records).links) == 1
    folder = folder.with_name("other")
    records = shop(folder, [*BASE, visit("C", "2024-05-01", 57_000, complaint="front blorps")], BASE_WORK)
    assert len(comebacks.find(records).links) == 0
    (folder / "records.toml").write_text('[words]\nnoise = ["blorps"]\n', "utf-8")
    assert len(comebacks.find(brakedata.load(folder)).links) == 1


# ------------------------------------------------------------------------------------------------ rates


def four_jobs(folder):
    """Four jobs on four vehicles: back at 2,000; watched 1,000 and 4,000; back at 6,000 km, watched to 20,000."""
    visits, work = [], []
    for place, (back, end) in enumerate([(2_000, 30_000), (None, 1_000), (None, 4_000), (6_000, 20_000)], start=1):
        one = f"V{place}"
        visits.append(visit(f"J{place}", "2024-01-10", 50_000, vehicle=one, technician="Ash" if place < 3 else "Birch"))
        if back:
            visits.append(
                visit(f"C{place}", f"2024-0{place + 1}-10", 50_000 + back, vehicle=one, complaint="front brakes squeal")
            )
        visits.append(visit(f"E{place}", "2024-12-01", 50_000 + end, vehicle=one))
        work.append(job(f"J{place}", part="pads"))
        work.append(job(f"J{place}", part="hub_face", action="cleaned" if place % 2 else "not_done"))
    return shop(folder, visits, work)


def test_risk_counts_jobs_as_far_as_they_were_watched(folder):
    """Worked by hand: 4 jobs at risk at 0; 3 at 2,000 km (one back); 1 at 6,000 (back). 1 - 2/3 * 0 = 1; within 5,000: 1/3."""
    found = comebacks.find(four_jobs(folder))
    whole = comebacks.rates(found, by="axle", within_km=5_000)
    assert whole.shop["risk"] == pytest.approx(1 / 3)
    assert whole.table["followed_km"].tolist() == [2_000 + 1_000 + 4_000 + 5_000]
    assert whole.table["comebacks"].tolist() == [1]
    assert comebacks.rates(found, by="axle", within_km=6_000).shop["risk"] == 1.0
    assert whole.shop["rate_all"] == 1 / 4


def test_the_table_is_the_contracts(folder):
    table = comebacks.rates(comebacks.find(four_jobs(folder)), by="hub_face").table
    assert table.columns.tolist() == TABLE
    assert table[["factor", "level", "jobs"]].to_numpy().tolist() == [["hub_face", "cleaned", 2], ["hub_face", "not_done", 2]]


def test_a_person_under_fifty_jobs_gets_no_figure(folder):
    made = comebacks.rates(comebacks.find(four_jobs(folder)), by="technician")
    assert made.table["findings"].tolist() == ["R63-too-few-to-say"] * 2
    assert made.table.drop(columns=["factor", "level", "jobs", "followed_km", "findings"]).isna().all(axis=None)
    assert made.detail.drop(columns=["factor", "level"]).isna().all(axis=None)
    with pytest.raises(RecordsError, match="too few to say"):
        comebacks.excess(comebacks.find(brakedata.load(folder)), "technician", "Ash")


def test_the_watch_ends_at_the_next_job_on_the_axle_and_not_at_one_on_another(folder):
    visits = [*BASE, visit("J3", "2024-09-01", 70_000), visit("J4", "2024-10-01", 75_000)]
    jobs = comebacks.find(shop(folder, visits, [*BASE_WORK, job("J3", "front"), job("J4", "rear", "drum")])).jobs
    assert jobs.set_index("visit_id")["watched_km"].to_dict() == {"J1": 20_000, "J2": 19_000, "J3": 20_000, "J4": 15_000}
    assert jobs["watch_end"].tolist() == ["next job", "next job", "last seen", "last seen"]


def test_a_vehicle_not_seen_again_was_not_watched(folder):
    jobs = comebacks.find(shop(folder, BASE[:2], BASE_WORK)).jobs.set_index("visit_id")
    assert jobs["watched_km"].to_dict() == {"J1": 6_000, "J2": 0}
    assert jobs["seen_again"].to_dict() == {"J1": True, "J2": False}


def test_an_odometer_in_the_log_is_a_look_too(folder):
    log = [row("odometer_log", vehicle_id="V1", date="2025-08-01", odometer=95_000)]
    jobs = comebacks.find(shop(folder, BASE, BASE_WORK, log=log)).jobs
    assert jobs["watched_km"].tolist() == [45_000, 39_000]


def test_jobs_done_before_complaints_were_written_down_enter_late(folder):
    """Worked by hand: the pace is 40,000 km in 508 days; J1 is 22 days before 1 February 2024, J2 after it."""
    records = shop(folder, [*BASE, visit("C", "2024-01-20", 51_000, complaint="front brakes squeal")], BASE_WORK)
    found = comebacks.find(records, complaints_since="2024-02-01")
    assert len(found.links) == 0
    assert found.jobs["entry_km"].iloc[0] == pytest.approx(22 * 40_000 / 508, rel=0.35)
    assert np.isnan(found.jobs["entry_km"].iloc[1])
    curve = curves.curve([5.0, 4.0, 9.0], [True, True, False], [3.0, np.nan, 6.0])
    assert curve.at_risk.tolist() == [2.0, 1.0]  # the third enters at 6, worked by hand


def test_where_no_job_was_watched_so_far_the_risk_is_left_empty(folder):
    made = comebacks.rates(comebacks.find(four_jobs(folder)), by="hub_face", within_km=25_000).table.set_index("level")
    assert np.isnan(made.loc["cleaned", "risk"])  # one back at 2,000, the other watched to 4,000
    assert made.loc["cleaned", "findings"] == "R62-not-watched-so-far"
    assert made.loc["not_done", "risk"] == 1.0  # the only one watched beyond 1,000 came back


def test_unknown_factors_and_distances_are_refused(folder):
    found = comebacks.find(four_jobs(folder))
    with pytest.raises(RecordsError, match="hub_face"):
        comebacks.rates(found, by="weather")
    for distance in (0, -1, np.nan):
        with pytest.raises(RecordsError, match="above 0"):
            comebacks.rates(found, within_km=distance)


def test_letters_stand_for_technicians_in_the_order_of_their_first_job(folder):
    found = comebacks.as_letters(comebacks.find(four_jobs(folder)))
    assert found.jobs["technician"].tolist() == ["A", "A", "B", "B"]


def test_limits_of_a_wider_level_hold_those_of_a_narrower_one():
    curve = curves.curve([100.0, 200.0, 300.0, 5e4, 5e4], [True, False, True, False, False])
    levels = [curve.limits(1_000, level) for level in (0.5, 0.8, 0.95, 0.99)]
    assert all(wide[0] <= low <= high <= wide[1] for (low, high), wide in zip(levels, levels[1:], strict=False))
    assert curve.limits(1_000)[0] < curve.risk(1_000.0) < curve.limits(1_000)[1]


def test_limits_tell_how_few_are_left_to_watch():
    """With one job left the upper limit must be wide, though no comeback was seen for long (log-log limits would not be)."""
    end = np.r_[np.linspace(10, 20, 40), [9_999.0]]
    curve = curves.curve(end, np.arange(41) == 0)
    assert curve.limits(9_000.0)[1] > 0.9
    assert curve.limits(9.0)[1] < 0.1


def test_pooled_risks_lie_between_the_own_and_the_shops():
    pooled = compare.pooled_risk([0, 3, 30], [10, 20, 100], 0.2)
    assert 0 < pooled[0] < 0.2
    assert 0.15 < pooled[1] < 0.2
    assert 0.2 < pooled[2] < 0.3
    assert abs(pooled[2] - 0.3) < abs(pooled[2] - 0.2)  # the large group stays nearer to its own


def test_the_funnel_narrows_and_holds_the_shop():
    low, high = comebacks.funnel(np.arange(5, 400), 0.1, 0.998)
    assert ((low <= 0.1) & (high >= 0.1)).all()
    assert high[-1] < high[45] < high[5]
    inner = comebacks.funnel(np.arange(5, 400), 0.1, 0.95)
    assert ((inner[0] >= low) & (inner[1] <= high)).all()


def test_chances_of_a_small_sample_are_worked_by_hand():
    """Two of two in the group back before four of the rest, all watched: chance of both firsts 2/6 * 1/5 = 1/15; of none
    4/6 * 3/5 = 6/15."""
    end, group = np.array([1.0, 2.0, 9, 9, 9, 9]), np.array([1, 1, 0, 0, 0, 0], dtype=bool)
    found = curves.difference(end, end < 9, group)
    assert found.expected == pytest.approx(2 / 6 + 1 / 5)
    law_of_two = (2 / 6) * (1 / 5)
    assert (found.more, found.fewer) == pytest.approx((law_of_two, 1.0))


def test_within_strata_a_job_is_compared_with_its_own_kind_only():
    """Worked by hand: in the first stratum one of two jobs is the group's and comes back, chance 1/2; in the second the
    group's two of three, one comes back and is not the group's, chance of that 1/3. Chances of 0, 1, 2: 1/6, 1/2, 1/3."""
    end, strata = np.array([1.0, 9, 1, 9, 9]), ["a", "a", "b", "b", "b"]
    group = np.array([1, 0, 0, 1, 1], dtype=bool)
    found = curves.difference(end, end < 9, group, strata=strata)
    assert (found.seen, found.expected) == (1, pytest.approx(1 / 2 + 2 / 3))
    assert (found.more, found.fewer) == pytest.approx((1 / 2 + 1 / 3, 1 / 6 + 1 / 2))


def test_a_shop_without_any_comeback_gets_its_answers_too(folder):
    """Nothing came back of two jobs watched for 10,000 km: the upper limit is 1 - 0.025 ** (1/2), worked by hand."""
    records = shop(folder, BASE, BASE_WORK)
    found = comebacks.find(records)
    made = comebacks.rates(found)
    assert made.shop["risk"] == 0.0
    assert (made.shop["risk_low"], made.shop["risk_high"]) == (0.0, pytest.approx(1 - 0.025 ** (1 / 2)))
    assert (made.table["comebacks"].dropna() == 0).all()
    together = comebacks.goes_with(found)
    assert len(comebacks.look_first(together)) == 0
    assert "too few to say" in comebacks.trend(found).sentence
    assert comebacks.cost(records, found, together).returns == 0


def test_returns_count_every_visit(folder):
    """Two jobs watched to 40,000 and 34,000 km, three returns of the first: 3 of 2 jobs by 9,000 km."""
    more = [
        visit("C2", "2024-06-01", 58_000, complaint="still squeals, front brakes"),
        visit("C3", "2024-07-01", 59_000, complaint="front brakes squeal"),
    ]
    visits = [*BASE, visit("C", "2024-05-01", 57_000, complaint="front brakes squeal"), *more]
    told = comebacks.returns(comebacks.find(shop(folder, visits, BASE_WORK)))
    assert told.at([6_999, 7_000, 8_000, 9_000])[0].tolist() == [0, 0.5, 1.0, 1.5]


# ------------------------------------------------------------------------------------------------ relations


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A made shop of 300 jobs, its folder and what is found in it."""
    world = simulate_shop.shop(11, jobs=300)
    folder = simulate.write(world.tables, tmp_path_factory.mktemp("shop"))
    return world, comebacks.find(brakedata.load(folder))


def tables_agree(one, other):
    left, right = (comebacks.rates(found).table for found in (one, other))
    pd.testing.assert_frame_equal(left, right, rtol=1e-6, check_exact=False)


def test_the_order_of_rows_does_not_matter(made, tmp_path):
    other = simulate.write(made[0].tables, tmp_path, shuffle_seed=5)
    tables_agree(made[1], comebacks.find(brakedata.load(other)))


def test_miles_give_the_same_answer(made, tmp_path):
    other = simulate.write(made[0].tables, tmp_path, distance_unit="mi")
    tables_agree(made[1], comebacks.find(brakedata.load(other)))


def test_the_same_records_give_the_same_answer(made):
    again = comebacks.rates(made[1]).table
    pd.testing.assert_frame_equal(comebacks.rates(made[1]).table, again, check_exact=True)
    assert comebacks.trend(made[1]).p == comebacks.trend(made[1]).p


def test_the_jobs_of_a_factor_add_up_to_the_shops(made):
    whole = comebacks.rates(made[1])
    sums = whole.table[whole.table["factor"].ne("technician")].groupby("factor")[["jobs", "comebacks"]].sum()
    assert (sums["jobs"] == 300).all()
    assert (sums["comebacks"] == whole.shop["comebacks"]).all()


def test_links_are_those_that_were_made(made):
    world, found = made
    true = set(map(tuple, world.comebacks[["visit_id", "job_visit_id", "axle"]].to_numpy()))
    linked = set(map(tuple, found.links[["visit_id", "job_visit_id", "job_axle"]].to_numpy()))
    assert len(true & linked) >= 0.95 * len(true)
    assert len(true & linked) >= 0.95 * len(linked)


# ------------------------------------------------------------------------------------------------ made shops with known truth


@pytest.fixture(scope="module")
def loaded_shops(tmp_path_factory):
    """Six made shops of 900 jobs and their records."""
    worlds = [simulate_shop.shop(seed) for seed in range(1, 7)]
    return [(world, brakedata.load(simulate.write(world.tables, tmp_path_factory.mktemp("shop")))) for world in worlds]


@pytest.fixture(scope="module")
def shops(loaded_shops):
    """The made shops and what is found in them."""
    return [(world, comebacks.find(records)) for world, records in loaded_shops]


def test_true_risks_lie_inside_the_limits(shops):
    inside = []
    for world, found in shops:
        for name in ("technician", "hub_face", "product_line", "axle"):
            table = comebacks.rates(found, by=name).table
            true = table["level"].map(world.jobs.groupby(name)["risk"].mean())
            said = table["risk"].notna() & true.notna()
            inside += ((table["risk_low"] <= true) & (true <= table["risk_high"]))[said].tolist()
    assert len(inside) == 72
    assert np.mean(inside) >= 0.9


def test_the_watch_is_not_cut_short_for_those_who_do_not_complain(loaded_shops, shops, monkeypatch):
    """Vehicles are seen because they complain: with every watch ended at the newest odometer the shop looks a seventh worse."""

    def bias(pairs):
        return np.mean([np.log(comebacks.rates(found, by="axle").shop["risk"] / true) for true, found in pairs])

    ours = [(world.jobs["risk"].mean(), found) for world, found in shops]
    monkeypatch.setattr(watch, "_stay", lambda *parts: (0.0, 0.0))
    newest = [(world.jobs["risk"].mean(), comebacks.find(records)) for world, records in loaded_shops]
    assert abs(bias(ours)) < 0.12
    assert bias(newest) > bias(ours) + 0.08


def test_the_bad_one_is_flagged_and_the_new_one_never(shops):
    flagged = []
    for _, found in shops:
        table = comebacks.rates(found, by="technician").table.set_index("level")
        flagged.append("R64-beyond-chance" in table.loc[simulate_shop.BAD, "findings"])
        assert table.loc[simulate_shop.NEW, "findings"] == "R63-too-few-to-say"
    assert sum(flagged) >= 5


def test_a_bad_one_does_not_make_the_others_look_good():
    """Nine in ten of A's jobs come back, two in ten of all others': B, C and D are alike, and A hides nobody."""
    back = {"A": 54, "B": 12, "C": 12, "D": 12}
    km = np.concatenate([np.r_[np.linspace(500, 9_500, n), np.full(60 - n, np.nan)] for n in back.values()])
    found = made_jobs(technician=np.repeat(list(back), 60), back=km)
    table = comebacks.rates(found, by="technician").table.set_index("level")
    assert table["findings"].tolist() == ["R64-beyond-chance", "", "", ""]
    assert table.loc[["B", "C", "D"], "q_value"].min() > 0.5


def test_a_bad_one_does_not_hide_another():
    """A's jobs nearly all come back, of B's a third, of the other 400 one in seven: beside A, B looks like the rest."""
    counts = {"A": (100, 90), "B": (60, 20), "C": (200, 28), "D": (200, 28)}
    km = np.concatenate([np.r_[np.linspace(500, 9_500, k), np.full(n - k, np.nan)] for n, k in counts.values()])
    names = np.repeat(list(counts), [n for n, _ in counts.values()])
    table = comebacks.rates(made_jobs(technician=names, back=km), by="technician").table.set_index("level")
    assert table["findings"].tolist() == ["R64-beyond-chance", "R64-beyond-chance", "", ""]


def test_of_two_levels_one_comes_back_more_and_the_other_less():
    km = np.r_[np.linspace(500, 9_500, 40), np.full(60, np.nan), np.linspace(500, 9_500, 5), np.full(95, np.nan)]
    made = comebacks.rates(made_jobs(hub_face=np.repeat(["cleaned", "not_done"], 100), back=km), by="hub_face")
    assert made.table["findings"].tolist() == ["R64-beyond-chance"] * 2
    more = made.detail["expected"] < made.table["comebacks"]
    assert more.tolist() == [True, False]


def people_and_hub_faces():
    """Unwashed hub faces come back one in two, washed ones one in ten, whoever does them; Elm mostly leaves them."""
    return [
        ("Ash", "cleaned", 150, 15), ("Ash", "not_done", 10, 5), ("Birch", "cleaned", 150, 15), ("Birch", "not_done", 10, 5),
        ("Elm", "cleaned", 40, 4), ("Elm", "not_done", 120, 60),
    ]  # fmt: skip


def test_nobody_is_flagged_for_what_the_hub_face_explains():
    made = comebacks.rates(made_jobs(**spread(people_and_hub_faces())), by="technician")
    assert made.held_equal == "hub_face"
    assert made.table["findings"].tolist() == [""] * 3
    assert made.detail["expected"].to_numpy() == pytest.approx([20, 20, 64], abs=2)


def test_a_bad_one_is_flagged_with_the_hub_face_held_equal():
    made = comebacks.rates(made_jobs(**spread([*people_and_hub_faces(), ("Cedar", "cleaned", 150, 45)])), by="technician")
    told = made.findings[made.findings["code"] == "R64-beyond-chance"]
    assert told["value"].tolist() == ["Cedar"]
    assert "hub_face held equal" in told["reading"].iloc[0]


def test_who_cannot_be_told_from_what_goes_with_comebacks_is_not_compared():
    """Ash alone leaves hub faces, always."""
    groups = [("Ash", "not_done", 120, 40), ("Birch", "cleaned", 150, 15), ("Cedar", "cleaned", 150, 15)]
    table = comebacks.rates(made_jobs(**spread(groups)), by="technician").table.set_index("level")
    assert np.isnan(table.loc["Ash", "q_value"])
    assert table["findings"].tolist() == [""] * 3


def test_the_hub_face_is_the_stronger_explanation_of_the_hasty_one(shops):
    hasty = [comebacks.excess(found, "technician", simulate_shop.HASTY).explained_by for _, found in shops]
    bad = [comebacks.excess(found, "technician", simulate_shop.BAD).explained_by for _, found in shops]
    assert hasty.count("hub_face") >= 5
    assert bad == [""] * 6


def test_a_shop_without_any_difference_is_left_in_peace(tmp_path):
    flags = 0
    for seed in range(1, 13):
        world = simulate_shop.shop(seed, differ=False)
        folder = simulate.write(world.tables, tmp_path / str(seed))
        flags += bool(
            len(
                comebacks.rates(comebacks.find(brakedata.load(folder)), by="technician").findings.query(
                    "code == 'R64-beyond-chance'"
                )
            )
        )
    assert flags <= 1


# ------------------------------------------------------------------------------------------------ what goes with it


def made_jobs(**columns):
    """A shop as `find` gives it, of columns of jobs: factors, and ``back`` (km of the comeback, NaN = watched to 20,000)."""
    frame = pd.DataFrame(columns)
    back = frame.pop("back")
    for name in comebacks.FACTORS:
        if name not in frame:
            frame[name] = "unrecorded"
    frame = frame.assign(
        km=10_000.0, date=pd.Timestamp("2024-01-01") + pd.to_timedelta(np.arange(len(frame)), unit="D"), axle="front",
        visit_id=[f"J{n}" for n in range(len(frame))], comeback_km=back, watched_km=20_000.0, entry_km=np.nan,
        watch_end="last seen", seen_again=True,
    )  # fmt: skip
    return comebacks.Comebacks(
        pd.Timestamp("2026-01-01"), frame, pd.DataFrame(), pd.DataFrame(), comebacks.Windows(), 0.0, 0.0, brakedata.findings.empty()
    )


def spread(groups):
    """Columns of jobs of groups (technician, hub face, jobs, comebacks): comebacks evenly along 10,000 km."""
    parts = []
    for who, face, jobs, back in groups:
        km = np.full(jobs, np.nan)
        km[:back] = np.linspace(500, 9_500, back) if back else []
        parts.append(pd.DataFrame({"technician": who, "hub_face": face, "back": km}))
    return pd.concat(parts, ignore_index=True).to_dict("list")


SIMPSON = [("Ash", "not_done", 160, 64), ("Ash", "cleaned", 40, 2), ("Birch", "not_done", 40, 20), ("Birch", "cleaned", 160, 16)]
"""Ash: 40 % and 5 %; Birch: 50 % and 10 %: Ash is better on either, and worse on the whole (66 of 200 against 36 of 200)."""


def test_simpsons_paradox_is_warned_of():
    found = made_jobs(**spread(SIMPSON))
    made = comebacks.goes_with(found)
    ash = made.table.set_index("level").loc["Ash"]
    assert ash["crude"] > 1 and ash["crude_low"] > 1
    assert ash["adjusted"] < 1
    assert ash["stratified"] < 1 and ash["stratified_by"] == "hub_face"
    assert ash["findings"] == "R66-crude-and-adjusted-disagree"
    assert "Ash" in made.findings["value"].tolist()
    assert comebacks.excess(found, "technician", "Ash").explained_by == "hub_face"


def test_ratios_are_those_worked_by_hand():
    """60 of 300 against 30 of 300 at even pace: hazards -log(0.8) / -log(0.9) = 2.118 where both are watched alike."""
    found = made_jobs(**spread([("Ash", "cleaned", 300, 60), ("Birch", "cleaned", 300, 30)]))
    made = comebacks.goes_with(found).table.set_index("level")
    assert made.loc["Ash", "crude"] == pytest.approx(2.118, rel=0.05)
    assert made.loc["Birch", "crude"] == pytest.approx(1 / made.loc["Ash", "crude"], rel=1e-6)
    assert made.loc["Ash", "crude_low"] == pytest.approx(1.36, rel=0.05)  # 2.118 * exp(-1.96 * sqrt(1/60 + 1/30))
    assert made.loc["Ash", "statement"] == explain.statement(*made.loc["Ash", ["adjusted", "adjusted_low", "adjusted_high"]])


def test_a_level_whose_jobs_all_came_back_or_none_still_gets_a_ratio():
    groups = [
        ("Ash", "cleaned", 200, 20),
        ("Ash", "not_done", 30, 30),
        ("Birch", "cleaned", 150, 10),
        ("Birch", "unrecorded", 60, 0),
    ]
    made = comebacks.goes_with(made_jobs(**spread(groups))).table.set_index("level")
    for level, low, high in (("not_done", 5, 1e4), ("unrecorded", 0, 0.5)):
        assert low <= made.loc[level, "crude"] < high
        assert 0 <= made.loc[level, "crude_low"] < made.loc[level, "crude"] < made.loc[level, "crude_high"] < np.inf


def test_what_cannot_be_told_apart_is_said():
    """Ash alone leaves hub faces, always; nobody else ever does."""
    groups = [("Ash", "not_done", 120, 40), ("Birch", "cleaned", 150, 15), ("Cedar", "cleaned", 150, 15)]
    found = made_jobs(**spread(groups))
    ash = comebacks.excess(found, "technician", "Ash")
    assert ash.explained_by == ""
    assert "hub_face" not in ash.others.get("factor", pd.Series(dtype=str)).tolist()
    assert "cannot tell it from hub_face" in ash.sentence


def test_people_with_few_jobs_are_in_no_statement():
    groups = [("Ash", "cleaned", 200, 20), ("Birch", "cleaned", 150, 20), ("Newt", "cleaned", 40, 20)]
    made = comebacks.goes_with(made_jobs(**spread(groups)))
    assert made.table["level"].tolist() == ["Ash", "Birch"]


@pytest.mark.parametrize(
    ("ratio", "said"),
    [
        ((3.14, 1.62, 5.83), "3.1 times (1.6 to 5.8)"),
        ((0.5, 0.221, 0.96), "0.50 times (0.22 to 1.0)"),
        ((np.nan,) * 3, "cannot be told apart from what is held equal"),
    ],
)
def test_statements(ratio, said):
    assert explain.statement(*ratio) == said


def test_no_statement_speaks_of_causes(made):
    told = comebacks.goes_with(made[1])
    texts = [*told.table["statement"], *told.findings["reading"], comebacks.excess(made[1], "axle", "front").sentence]
    assert not re.search("caus|because|due to|blame|fault", " ".join(texts))


def test_what_was_recorded_is_compared_between_comebacks_and_the_rest():
    groups = [("Ash", "not_done", 50, 25), ("Ash", "unrecorded", 50, 25), ("Ash", "cleaned", 100, 0)]
    table = comebacks.recorded(made_jobs(**spread(groups))).set_index("factor").loc["hub_face"]
    assert table[["came_back", "quiet"]].tolist() == [50, 150]
    assert table[["recorded_came_back", "left_came_back"]].tolist() == [0.5, 0.5]
    assert table["recorded_quiet"] == pytest.approx(125 / 150)


def test_what_to_look_at_first_names_the_measurement():
    first = comebacks.look_first(comebacks.goes_with(made_jobs(**spread(SIMPSON))))
    assert first[["factor", "level", "sure"]].to_numpy().tolist() == [["hub_face", "not_done", True]]
    assert "runout" in first.loc[0, "measure"]
    assert "0.05 mm" in first.loc[0, "confirmed_by"]


def test_the_penalty_counts_half_a_comeback():
    """One group of 10 jobs, none back: Firth's estimate is (0 + 1/2) / (10 + 1), worked by hand (Jeffreys' prior)."""
    fitted = firth.fit(np.ones((1, 1)), [0.0], [10.0])
    assert 1 / (1 + np.exp(-fitted.coef[0])) == pytest.approx(0.5 / 11)


# ------------------------------------------------------------------------------------------------ over time


def over_years(first, then, jobs=400, change=200, seed=3):
    rng = np.random.default_rng(seed)
    risk = np.where(np.arange(jobs) < change, first, then)
    back = np.where(rng.random(jobs) < risk, rng.uniform(500, 9_500, jobs), np.nan)
    return made_jobs(technician=["Ash"] * jobs, back=back)


def test_a_change_is_found_where_it_was_made():
    found = comebacks.trend(over_years(0.08, 0.3))
    true = pd.Timestamp("2024-01-01") + pd.Timedelta(days=200)
    assert found.change_from <= true <= found.change_to
    assert abs((found.change_date - true).days) <= 60
    assert 2 < found.times < 8
    assert found.p < 0.01


def test_no_change_is_left_in_peace_about_as_often_as_stated():
    alarms = [np.isfinite(comebacks.trend(over_years(0.15, 0.15, seed=seed)).times) for seed in range(60)]
    assert np.mean(alarms) <= 0.12  # 0.05 stated; 60 shops


def test_jobs_done_lately_are_no_improvement():
    """Half of the jobs were watched for 1,000 km only: fewer comebacks, and no change."""
    found = over_years(0.25, 0.25)
    short = np.arange(400) >= 200
    jobs = found.jobs.assign(
        watched_km=np.where(short, 1_000.0, 20_000.0),
        comeback_km=found.jobs["comeback_km"].where(~short | (found.jobs["comeback_km"] <= 1_000)),
    )
    told = comebacks.trend(replace(found, jobs=jobs))
    assert jobs["comeback_km"].iloc[200:].notna().sum() < 15 < jobs["comeback_km"].iloc[:200].notna().sum()
    assert np.isnan(told.times)


def test_few_comebacks_say_nothing_about_time():
    told = comebacks.trend(over_years(0.01, 0.01, jobs=150))
    assert np.isnan(told.p)
    assert "too few to say" in told.sentence


def test_jobs_between_comebacks_add_up():
    told = comebacks.trend(over_years(0.15, 0.15))
    assert len(told.between) == told.months["comebacks"].sum()
    assert told.months["expected"].sum() == pytest.approx(told.months["comebacks"].sum())
    assert not told.between["outside"].any()


def test_chart_limits_keep_the_stated_false_alarm():
    rng = np.random.default_rng(8)
    low, high = over_time.limits(40)
    gaps = rng.exponential(1.0, (4_000, 40))
    assert ((gaps < low) | (gaps > high)).any(axis=1).mean() == pytest.approx(0.05, abs=0.01)


# ------------------------------------------------------------------------------------------------ cost


def test_cost_of_comebacks_a_month(folder):
    """Worked by hand: two returns at 80 and 120 in 2024-01-10 to 2025-06-01, 508 days = 16.69 months."""
    visits = [
        *BASE,
        visit("C", "2024-05-01", 57_000, complaint="front brakes squeal"),
        visit("D", "2024-06-01", 60_000, complaint="rear brakes pulsate"),
    ]
    work = [
        *BASE_WORK,
        job("C", "front", "hardware", "lubricated", cost=50),
        job("C", "front", "hub_face", "cleaned", cost=30),
        job("C", "rear", "hub_face", "cleaned", cost=999),  # another axle
        job("D", "rear", "hub_face", "cleaned", cost=120),
    ]
    records = shop(folder, visits, work)
    found = comebacks.find(records)
    nothing = comebacks.goes_with(found)
    told = comebacks.cost(records, found, nothing)
    months = 508 / (365.25 / 12)
    assert (told.returns, told.priced) == (2, 2)
    assert told.cost_a_month[0] == pytest.approx(200 / months)
    assert told.cost_a_month[1] < told.cost_a_month[0] < told.cost_a_month[2]
    assert told.worst == ()
    assert comebacks.cost(records, found, nothing, cost_of_one=300).cost_a_month[0] == pytest.approx(600 / months)
    with pytest.raises(RecordsError, match="no cost"):
        comebacks.cost(records, found, nothing, cost_of_one=-1)


def test_what_halving_the_worst_habit_would_save(loaded_shops, shops):
    """True excess of the unwashed: their jobs that came back, less what they would have been at the clean risk."""
    worst, inside = [], []
    for (world, found), (_, records) in zip(shops, loaded_shops, strict=True):
        cost = comebacks.cost(records, found, comebacks.goes_with(found), cost_of_one=100)
        worst.append(cost.worst)
        if cost.worst != ("hub_face", "not_done"):
            continue
        unwashed = world.jobs[world.jobs["hub_face"].eq("not_done")]
        clean = world.jobs[world.jobs["hub_face"].eq("cleaned")].groupby("technician")["risk"].mean()
        excess = (1 - unwashed["technician"].map(clean) / unwashed["risk"])[unwashed["back_km"] <= 10_000].sum()
        low, high = (cost.months * number for number in cost.saved_a_month[1:])
        inside.append(low <= excess / 2 <= high)
        assert cost.saved_cost_a_month[0] == pytest.approx(100 * cost.saved_a_month[0])
    assert worst.count(("hub_face", "not_done")) >= 4
    assert np.mean(inside) >= 0.8


# ------------------------------------------------------------------------------------------------ command line and demo


@pytest.fixture(scope="module")
def demo():
    return brakedata.load("demo_records" if pd.io.common.file_exists("demo_records") else brakedata.places.demo_records())


def test_the_demo_tells_its_planted_stories(demo):
    found = comebacks.find(demo)
    lines = comebacks.rates(found, by="product_line").table.set_index("level")
    assert "R64-beyond-chance" in lines.loc["line K", "findings"]
    assert lines["risk"].idxmax() == "line K"
    people = comebacks.rates(found, by="technician").table.set_index("level")
    assert people.index[people["findings"].str.contains("R64")].tolist() == ["T3"]
    assert comebacks.excess(found, "product_line", "line K").explained_by == ""
    assert "hub_face" in comebacks.excess(found, "technician", "T3").sentence


def run(*arguments):
    return CliRunner().invoke(cli.main, ["comebacks", *map(str, arguments)])


def test_the_command_writes_the_contracts_columns(made, tmp_path):
    folder = simulate.write(made[0].tables, tmp_path / "shop")
    done = run(folder, "--by", "hub_face", "--within-km", "8000", "--out", tmp_path / "out.csv")
    assert done.exit_code == 0
    written = pd.read_csv(tmp_path / "out.csv")
    assert written.columns.tolist() == TABLE
    assert written["level"].tolist() == ["cleaned", "not_done", "unrecorded"]
    assert written["jobs"].sum() == 300


def test_the_command_prints_a_readable_table(made, tmp_path):
    folder = simulate.write(made[0].tables, tmp_path / "shop")
    done = run(folder, "--letters")
    assert done.exit_code == 0
    assert not set(simulate_shop.TECHNICIANS) & set(re.findall(r"\w+", done.output))
    assert "Whole shop" in done.output and "within 10,000 km" in done.output
    assert max(map(len, done.output.splitlines())) < 150


def test_a_bad_factor_ends_in_one_sentence(made, tmp_path):
    folder = simulate.write(made[0].tables, tmp_path / "shop")
    done = run(folder, "--by", "weather")
    assert done.exit_code == 2
    assert len(done.stderr.strip().splitlines()) == 1
    assert "hub_face" in done.stderr


def test_records_without_work_end_in_one_sentence(tmp_path):
    shop(tmp_path / "bare", BASE, [])
    done = run(tmp_path / "bare")
    assert done.exit_code == 2
    assert "no brake job" in done.stderr
