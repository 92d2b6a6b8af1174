"""Mix-ups: proposed where they were planted, hardly ever where none was, and changed only by a remembered yes.

Truth: made fleets (``brakedata.simulate``) in which ``mix_ups`` wrote one thing for another; the small folder of ``folders``.
"""

import dataclasses
import tomllib

import mix_ups
import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from folders import VISITS, line_of, load, planted, texts, write

import brakedata
from brakedata import answered, lives, simulate, who_is_who
from brakedata.cli import main
from brakedata.findings import RecordsError
from brakedata.panels import RecordsPanel
from brakedata.records import SETTINGS_FILE
from brakedata.units import KM_PER_MI

VEHICLES, PLANTED = 400, 20
UNEVEN = dataclasses.replace(simulate.Effects(), position=0.25)
"""Pads of an axle that wear more unlike than is usual: where left and right are alike nobody can tell them swapped."""


def loaded(tables, folder):
    return brakedata.load(simulate.write(tables, folder))


def proposals(records):
    return who_is_who.propose(records, lives.cut(records))


def asked(found, kind):
    """The questions of one kind, as `answered.identity` names them without the kind."""
    rows = found[found["kind"].eq(kind)]
    return [answered.identity(kind, fields)[1:] for fields in rows["fields"]]


@pytest.fixture(scope="module")
def fleet():
    return simulate.fleet(VEHICLES, 4.0, seed=21, log_every_days=30.0, effects=UNEVEN)


@pytest.fixture(scope="module")
def unmixed(fleet, tmp_path_factory):
    return loaded(fleet.tables, tmp_path_factory.mktemp("unmixed"))


PLANTS = {
    "same_visit": mix_ups.same_visit,
    "vehicles_swapped": mix_ups.vehicles_swapped,
    "new_cluster": mix_ups.new_cluster,
    "single": mix_ups.single_in_miles,
    "miles from": mix_ups.miles_from,
    "hours": lambda tables, rng, n: mix_ups.whole_meter(tables, rng, n // 2, 30),
    "visits in miles": lambda tables, rng, n: mix_ups.whole_meter(tables, rng, n, KM_PER_MI, ("vehicles", "visits")),
    "log in miles": lambda tables, rng, n: mix_ups.whole_meter(tables, rng, n, KM_PER_MI, ("odometer_log",)),
}


@pytest.fixture(scope="module")
def mixed(fleet, tmp_path_factory):
    """The fleet with one kind of mix-up in each eighth of it: the records, the proposals, and what was planted."""
    rng = np.random.default_rng(5)
    parts, truth = [], {}
    of_visit = fleet.tables["visits"].set_index("visit_id")["vehicle_id"]
    group = {vehicle: n % len(PLANTS) for n, vehicle in enumerate(fleet.tables["vehicles"]["vehicle_id"])}
    for n, (name, plant) in enumerate(PLANTS.items()):
        some = {}
        for table, frame in fleet.tables.items():
            owner = frame.get("vehicle_id", frame["visit_id"].map(of_visit) if "visit_id" in frame else None)
            some[table] = frame if owner is None else frame[owner.map(group).eq(n)].reset_index(drop=True)
        some, truth[name] = plant(some, rng, PLANTED)
        parts.append(some)
    tables = {name: pd.concat([part[name] for part in parts], ignore_index=True) for name in fleet.tables}
    tables["limits"] = fleet.tables["limits"]
    folder = tmp_path_factory.mktemp("mixed")
    records = loaded(tables, folder)
    return folder, records, proposals(records), truth


# --- what is found, and what is not


def test_hardly_a_vehicle_without_a_mix_up_is_asked_about(unmixed):
    """Bound: under 1 in 100 vehicles; with the fleet of this test none or one or two."""
    assert proposals(unmixed)["vehicle_id"].nunique() < 0.01 * VEHICLES


def units(found, prefix):
    rows = found.loc[found["kind"].eq("odometer_unit"), "fields"]
    return {fields["vehicle_id"]: fields for fields in rows if fields["where"].startswith(prefix)}


def test_most_planted_mix_ups_are_proposed_and_little_else(mixed):
    _, records, found, truth = mixed
    single = {fields["where"].removeprefix("visit ") for fields in found["fields"] if fields.get("where", "").startswith("visit ")}
    got = {
        "same_visit": set(asked(found, "same_visit")), "vehicles_swapped": set(asked(found, "vehicles_swapped")),
        "new_cluster": {vehicle for vehicle, _ in asked(found, "new_cluster")}, "single": single,
        "miles from": set(units(found, "from")), "hours": {v for v, f in units(found, "all").items() if f["unit"] == "hours"},
        "visits in miles": set(units(found, "visits")), "log in miles": set(units(found, "odometer_log")),
    }  # fmt: skip
    share = {name: len(got[name] & truth[name]) / len(truth[name]) for name in PLANTS}
    assert all(share[name] >= 0.85 for name in PLANTS if name != "miles from"), share
    assert share["miles from"] >= 0.6, share
    owner = records.visits.set_index("visit_id")["vehicle_id"]
    touched = {part for its in truth.values() for name in its for part in ([name] if isinstance(name, str) else name)}
    touched |= set(owner.reindex(sorted(touched)).dropna())
    rest = set(found["vehicle_id"]) - touched
    assert len(rest) < 0.01 * VEHICLES, rest


def test_swapped_sides_that_can_be_seen_are_mostly_proposed(fleet, tmp_path):
    """To be seen: 2 mm apart, and a look before and a look after in the same life."""
    tables, truth = mix_ups.sides_swapped(fleet.tables, np.random.default_rng(6), 60, 2.0)
    records = loaded(tables, tmp_path)
    looks = who_is_who._differences(records)
    around = looks.groupby("life").cumcount().gt(0) & looks.groupby("life").cumcount(ascending=False).gt(0)
    seen = set(zip(looks.loc[around, "visit_id"], looks.loc[around, "axle"], strict=True)) & truth
    found = set(asked(proposals(records), "sides_swapped"))
    assert len(seen) >= 10
    assert len(found & seen) >= 0.6 * len(seen)
    assert len(found - truth) <= 0.01 * VEHICLES + 0.15 * len(truth)


def test_swapped_sides_are_put_right_by_a_yes(fleet, tmp_path):
    tables, truth = mix_ups.sides_swapped(fleet.tables, np.random.default_rng(6), 60, 2.0)
    records = loaded(tables, tmp_path)
    found = proposals(records)
    found = found[[(fields.get("visit_id"), fields.get("axle")) in truth for fields in found["fields"]]]
    (tmp_path / SETTINGS_FILE).write_text("\n".join(answered.lines("sides_swapped", f) for f in found["fields"]), encoding="utf-8")
    again = brakedata.load(tmp_path)
    right = fleet.tables["measurements"]
    m = again.measurements.sort_values("row")
    right = right.assign(row=np.arange(2, 2 + len(right)))
    m = m.merge(right[["row", "side"]], on="row", suffixes=("", "_right"))
    here = pd.MultiIndex.from_frame(m[["visit_id", "axle"]]).isin([(f["visit_id"], f["axle"]) for f in found["fields"]])
    assert here.sum() > 40
    assert (m.loc[here, "side"] == m.loc[here, "side_right"].fillna("")).all()
    assert (again.findings["code"] == "R84-answer-applied").sum() == len(found)


def test_a_few_sentences_hold_the_evidence(mixed):
    _, _, found, _ = mixed
    assert set(found["strength"]) <= {"strong", "fair"}
    for row in found.itertuples():
        assert all(name in row.evidence for name in ([row.vehicle_id] if row.kind != "same_visit" else row.visits.split(" and ")))


# --- a yes, and what it does


@pytest.fixture(scope="module")
def put_right(mixed):
    """The mixed fleet loaded with every proposal answered yes, in the very lines that the findings give."""
    folder, _, found, _ = mixed
    before = {file.name: file.read_bytes() for file in folder.iterdir()}
    advice = who_is_who.proposed(found)["advice"]
    lines = [text.split("\n", 1)[1] for text in advice]
    (folder / SETTINGS_FILE).write_text("\n\n".join(lines) + "\n", encoding="utf-8")
    records = brakedata.load(folder)
    changed = {file.name for file in folder.iterdir() if before.get(file.name) != file.read_bytes()}
    return records, found, changed


def test_odometers_answered_yes_are_the_true_ones_again(put_right, mixed, fleet):
    """A new cluster is joined on to within what the vehicle drives between two visits; miles are exact to their rounding."""
    records, found, _ = put_right
    true = fleet.visits.set_index("visit_id")["true_odometer_km"]
    got = records.visits[records.visits["odometer_ok"]].set_index("visit_id")
    vehicles = {kind: set(found.loc[found["kind"].eq(kind), "vehicle_id"]) for kind in who_is_who.CODES}
    miss = (got["odometer_km"] - true.reindex(got.index)).abs()
    slips = fleet.visits.set_index("visit_id")["slipped"].reindex(got.index).fillna(False).astype(bool)
    hours = set(units(found, "all"))
    in_miles = got["vehicle_id"].isin(vehicles["odometer_unit"] - vehicles["new_cluster"] - hours) & ~slips & true.reindex(got.index).notna()
    joined = got["vehicle_id"].isin(vehicles["new_cluster"] & mixed[3]["new_cluster"]) & ~slips
    assert in_miles.sum() > 300 and joined.sum() > 100
    assert miss[in_miles].median() < 2 and (miss[in_miles] < 3).mean() > 0.97
    assert miss[joined].quantile(0.9) < 5_000


def test_visits_answered_yes_are_one_or_belong_to_their_own_vehicle(put_right, mixed, fleet):
    records, _, _ = put_right
    truth = mixed[3]
    visits = set(records.visits["visit_id"])
    owner = fleet.tables["visits"].set_index("visit_id")["vehicle_id"]
    got = records.visits.set_index("visit_id")["vehicle_id"]
    found = mixed[2]
    for first, second in set(asked(found, "same_visit")) & truth["same_visit"]:
        assert len({first, second} & visits) == 1
        kept = first if first in visits else second
        assert {kept} <= set(records.work["visit_id"]) and {kept} <= set(records.measurements["visit_id"])
    swapped = [visit for pair in set(asked(found, "vehicles_swapped")) & truth["vehicles_swapped"] for visit in pair]
    assert got[swapped].tolist() == owner[swapped].tolist() and len(swapped) > 20


def test_each_yes_has_a_finding_no_file_is_changed_and_nothing_is_asked_again(put_right):
    records, found, changed = put_right
    assert changed == {SETTINGS_FILE}
    applied = records.findings[records.findings["code"].eq("R84-answer-applied")]
    assert len(applied) >= len(found)
    assert not records.findings["code"].eq("R15-setting-not-understood").any()
    again = proposals(records)
    key = {answered.identity(kind, fields) for kind, fields in zip(found["kind"], found["fields"], strict=True)}
    repeated = [kind for kind, fields in zip(again["kind"], again["fields"], strict=True) if answered.identity(kind, fields) in key]
    assert repeated == []
    assert len(again) <= 0.05 * len(found)


# --- one thing at a time, in the small folder


def cell_edits():
    """Visit a4's work on a paper of its own, a day later."""
    return {
        ("visits", None): "x9,A,2024-02-06,32004,km,,T2", ("work", None): "x9,front,both,pads,replaced,line K,,",
    }  # fmt: skip


def small(folder, edits, toml=""):
    write(folder, planted(edits))
    (folder / SETTINGS_FILE).write_text(toml, encoding="utf-8")
    return brakedata.load(folder)


def test_the_small_folder_has_nobody_mixed_up(tmp_path):
    assert proposals(load(tmp_path)).empty


def test_one_visit_on_two_papers(tmp_path):
    found = proposals(small(tmp_path, cell_edits()))
    assert asked(found, "same_visit") == [("a4", "x9")]
    assert found["evidence"][0] == (
        "visits a4 and x9 of vehicle A are of 5 Feb 2024 and 6 Feb 2024, their odometers 4 km apart; a4 has 6 readings, x9 1 work row, "
        "and nothing in them disagrees"
    )


@pytest.mark.parametrize(
    "edits",
    [
        {("visits", None): "x9,A,2024-02-09,32004,km,,T2", ("work", None): "x9,front,both,pads,replaced,,,"},  # four days
        {("visits", None): "x9,A,2024-02-06,32060,km,,T2", ("work", None): "x9,front,both,pads,replaced,,,"},  # 60 km
        {("visits", None): "x9,A,2024-02-06,32004,km,,T2", ("work", None): "a4,front,both,pads,replaced,,,"},  # an empty visit
        {("visits", None): "x9,A,2024-02-06,32004,km,,T2", ("measurements", None): "x9,front,left,inner_pad,thickness,11.5,mm,before"},
    ],
    ids=["days", "distance", "empty", "disagree"],
)
def test_two_visits_near_each_other_that_are_not_one(tmp_path, edits):
    assert asked(proposals(small(tmp_path, edits)), "same_visit") == []


def test_a_complaint_the_day_after_a_job_is_not_taken_for_the_jobs_own_paper(tmp_path):
    edits = {
        ("visits", 1): "visit_id,vehicle_id,date,odometer,odometer_unit,reason,technician,complaint",
        ("visits", None): "x9,A,2024-02-06,32004,km,,T2,squeals", ("work", None): "a4,front,both,pads,replaced,,,\nx9,front,both,hose,checked,,,",
    }  # fmt: skip
    assert proposals(small(tmp_path, edits)).empty
    edits[("visits", None)] = edits[("visits", None)].removesuffix("squeals")
    assert asked(proposals(small(tmp_path, edits)), "same_visit") == [("a4", "x9")]


def test_taken_together_words_join_and_the_first_keeps_its_odometer(tmp_path):
    fields = {"visit_id": "a4", "other_visit_id": "x9"}
    records = small(tmp_path, cell_edits(), answered.lines("same_visit", fields))
    visit = records.visits.set_index("visit_id").loc["a4"]
    assert "x9" not in set(records.visits["visit_id"])
    assert (visit["technician"], visit["odometer_written"]) == ("T1; T2", "32000")
    assert records.work.loc[records.work["action"].eq("replaced"), "visit_id"].tolist() == ["a4"]
    note = records.findings.iloc[0]
    assert (note["code"], note["table"], note["row"], note["value"]) == ("R84-answer-applied", "visits", 14, "x9")
    assert note["reading"] == "taken together with visit a4" and len(records.findings) == 1


@pytest.mark.parametrize("said", ["no", "unknown"])
def test_another_answer_changes_nothing_and_ends_the_asking(tmp_path, said):
    asked_first = proposals(small(tmp_path, cell_edits()))
    answered.remember(tmp_path, "same_visit", asked_first["fields"][0], said)
    records = brakedata.load(tmp_path)
    found = proposals(records)
    assert found["answer"].tolist() == [said] and len(records.findings) == 0
    assert len(records.visits) == 13 and who_is_who.proposed(found).empty
    assert len(who_is_who.proposed(asked_first)) == 1


def test_a_no_about_swapped_sides_lets_the_readings_count(tmp_path):
    """Left loses 0.6 mm a visit and right 1.4; at a4 they stand the other way about."""
    edits = {}
    for visit in VISITS[:6]:
        sides = [12 - 0.6 * int(visit[1]), 12 - 1.4 * int(visit[1])]
        for place, value in enumerate(np.repeat(sides[::-1] if visit == "a4" else sides, 2)):
            part = f"{'left' if place < 2 else 'right'},{('inner_pad', 'outer_pad')[place % 2]}"
            edits["measurements", line_of(visit, place)] = f"{visit},front,{part},thickness,{value:.1f},mm,before"
    records = small(tmp_path, edits)
    cut = lives.cut(records)
    assert cut.findings["code"].tolist() == ["R42-sides-swapped"] * 4
    assert asked(who_is_who.propose(records, cut), "sides_swapped") == [("a4", "front")]
    front = {}
    for said in ("no", "yes", "unknown"):
        (tmp_path / SETTINGS_FILE).write_text(answered.lines("sides_swapped", {"visit_id": "a4", "axle": "front"}, said), encoding="utf-8")
        again = lives.cut(brakedata.load(tmp_path))
        its = again.readings[again.readings["visit_id"].eq("a4") & again.readings["axle"].eq("front")]
        front[said] = its.groupby("side")["value_mm"].mean().round(1).to_dict()
    assert front == {"no": {"left": 6.4, "right": 9.6}, "yes": {"left": 9.6, "right": 6.4}, "unknown": {}}


UNIT_CASES = {
    "all, hours": ("all", {"unit": "hours", "km_per_hour": 30}, [240_000, 480_000], 600),
    "all, miles": ("all", {"unit": "mi"}, [8000 * KM_PER_MI, 16_000 * KM_PER_MI], 20 * KM_PER_MI),
    "one visit": ("visit a2", {"unit": "mi"}, [8000, 16_000 * KM_PER_MI], 20),
    "from a day": ("from 2023-07-20", {"unit": "mi"}, [8000, 16_000 * KM_PER_MI], 20),
    "the log only": ("odometer_log", {"unit": "mi"}, [8000, 16_000], 20),
}


@pytest.mark.parametrize("case", UNIT_CASES)
def test_an_answered_unit_is_used_where_it_was_said(tmp_path, case):
    where, more, visits, joined = UNIT_CASES[case]
    records = small(tmp_path, {}, answered.lines("odometer_unit", {"vehicle_id": "A", "where": where, **more}))
    its = records.visits.set_index("visit_id")
    assert its.loc[["a1", "a2"], "odometer_km"].tolist() == pytest.approx(visits)
    assert its.loc[["a1", "a2"], "odometer_written"].tolist() == ["8000", "16000"]
    assert its.loc["b2", "odometer_km"] == 16_000
    assert records.vehicles["in_service_odometer_km"].tolist() == pytest.approx([joined, 30])


def test_a_distance_is_added_in_the_unit_that_was_said(tmp_path):
    fields = {"vehicle_id": "A", "from": "2024-05-15", "add": 1000, "unit": "mi"}
    records = small(tmp_path, {("visits", 6): "a5,A,2024-05-15,25000,mi,inspection,T1"}, answered.lines("new_cluster", fields))
    its = records.visits.set_index("visit_id")["odometer_km"]
    assert its[["a4", "a5", "a6"]].tolist() == pytest.approx([32_000, 26_000 * KM_PER_MI, 48_000 + 1000 * KM_PER_MI])
    log = records.odometer_log[records.odometer_log["vehicle_id"].eq("A")]
    assert log["odometer_km"].tolist() == pytest.approx([3200, 12_000, 49_000 + 1000 * KM_PER_MI])


BAD_ANSWERS = [
    '[[answers.same_visit]]\nvisit_id = "a1"\nanswer = "yes"',
    '[[answers.same_visit]]\nvisit_id = "a1"\nother_visit_id = "q"\nanswer = "yes"',
    '[[answers.same_visit]]\nvisit_id = "a1"\nother_visit_id = "b1"\nanswer = "yes"',
    '[[answers.same_visit]]\nvisit_id = "a1"\nother_visit_id = "a2"\nanswer = "perhaps"',
    '[[answers.vehicles_swapped]]\nvisit_id = "a1"\nother_visit_id = "a1"\nanswer = "yes"',
    '[[answers.sides_swapped]]\nvisit_id = "a1"\naxle = "third"\nanswer = "yes"',
    '[[answers.new_cluster]]\nvehicle_id = "A"\nfrom = "May"\nadd = 1\nunit = "km"\nanswer = "yes"',
    '[[answers.new_cluster]]\nvehicle_id = "A"\nfrom = "2023-05-01"\nadd = "much"\nunit = "km"\nanswer = "yes"',
    '[[answers.new_cluster]]\nvehicle_id = "A"\nfrom = "2023-05-01"\nadd = nan\nunit = "km"\nanswer = "yes"',
    '[[answers.odometer_unit]]\nvehicle_id = "A"\nwhere = "all"\nunit = "hours"\nanswer = "yes"',
    '[[answers.odometer_unit]]\nvehicle_id = "A"\nwhere = "all"\nunit = "hours"\nkm_per_hour = 0\nanswer = "yes"',
    '[[answers.odometer_unit]]\nvehicle_id = "A"\nwhere = "sometimes"\nunit = "mi"\nanswer = "yes"',
    '[[answers.odometer_unit]]\nvehicle_id = "Q"\nwhere = "all"\nunit = "mi"\nanswer = "yes"',
    '[[answers.whatever]]\nvisit_id = "a1"\nanswer = "yes"',
    'answers = 3',
]  # fmt: skip


@pytest.mark.parametrize("toml", BAD_ANSWERS)
def test_an_answer_that_cannot_be_followed_is_one_finding_and_changes_nothing(tmp_path, toml):
    records = small(tmp_path / "r", {}, toml)
    assert records.findings["code"].tolist() == ["R15-setting-not-understood"]
    plain = load(tmp_path / "plain")
    for name in texts():
        pd.testing.assert_frame_equal(getattr(records, name), getattr(plain, name))


def test_the_last_answer_counts_in_either_order_of_the_visits(tmp_path):
    lines = [answered.lines("same_visit", {"visit_id": a, "other_visit_id": b}, said) for a, b, said in (("a4", "x9", "yes"), ("x9", "a4", "no"))]
    assert len(small(tmp_path, cell_edits(), "\n".join(lines)).visits) == 13


def test_remembering_replaces_the_earlier_answer_and_keeps_the_rest(tmp_path):
    mine = '# my own\n[units]\nthickness = "mm" # as we measure\n\n[[pad_change]]\nvisit_id = "a3"\naxle = "front"\nanswer = "no"\n'
    (tmp_path / SETTINGS_FILE).write_text(mine, encoding="utf-8")
    cluster = {"vehicle_id": 'A "7" é', "from": "2024-05-01", "add": 1200, "unit": "km"}
    for said in ("unknown", "yes"):
        answered.remember(tmp_path, "new_cluster", cluster, said)
    answered.remember(tmp_path, "sides_swapped", {"visit_id": "a1", "axle": "rear"}, "no")
    text = (tmp_path / SETTINGS_FILE).read_text("utf-8")
    assert text.startswith(mine)
    said = tomllib.loads(text)["answers"]
    assert said == {"new_cluster": [{**cluster, "answer": "yes"}], "sides_swapped": [{"visit_id": "a1", "axle": "rear", "answer": "no"}]}
    assert tomllib.loads(answered.lines("new_cluster", cluster)) == {"answers": {"new_cluster": [{**cluster, "answer": "yes"}]}}


def test_only_yes_no_and_unknown_are_answers(tmp_path):
    with pytest.raises(RecordsError, match="answer yes, no or unknown"):
        answered.remember(tmp_path, "same_visit", {"visit_id": "a", "other_visit_id": "b"}, "maybe")
    (tmp_path / SETTINGS_FILE).write_text("not = toml = at all", encoding="utf-8")
    with pytest.raises(RecordsError, match="correct or close that file"):
        answered.remember(tmp_path, "same_visit", {"visit_id": "a", "other_visit_id": "b"}, "no")


# --- where it shows


def test_check_lists_the_question_and_the_lines_that_answer_it(tmp_path):
    folder = write(tmp_path / "r", planted(cell_edits()))
    run = CliRunner().invoke(main, ["check", str(folder)])
    assert run.exit_code == 0, run.output
    assert "R85-visit-twice" in run.output
    block = run.stdout[run.stdout.rindex("[[answers.same_visit]]") :]
    (folder / SETTINGS_FILE).write_text(block, encoding="utf-8")
    again = CliRunner().invoke(main, ["check", str(folder)])
    assert "R84-answer-applied" in again.output and "R85" not in again.output


@pytest.mark.parametrize(("said", "visits"), [("yes", 12), ("no", 13), ("unknown", 13)])
def test_the_panel_asks_and_remembers(tmp_path, said, visits):
    folder = write(tmp_path / "r", planted(cell_edits()))
    panel = RecordsPanel(folder)
    panel.load()
    assert panel.fault is None and panel.strip.value == ""
    assert "one visit on two papers" in panel.who.question.value
    panel.who.buttons[said].click()
    assert panel.fault is None and panel.strip.value == ""
    assert len(panel.made.records.visits) == visits
    assert tomllib.loads((folder / SETTINGS_FILE).read_text("utf-8"))["answers"]["same_visit"][0]["answer"] == said
    assert ("None:" if said == "yes" else f"answered: {said}") in panel.who.question.value


def test_the_panel_shows_texts_of_the_records_as_texts(tmp_path):
    edits = {key: text.replace("x9", "<b>x9") for key, text in cell_edits().items()}
    panel = RecordsPanel(write(tmp_path / "r", planted(edits)))
    panel.load()
    assert "<b>x9" not in panel.who.question.value and "&lt;b&gt;x9" in panel.who.question.value


def test_the_same_records_give_the_same_questions(mixed):
    _, records, found, _ = mixed
    pd.testing.assert_frame_equal(proposals(records), found)
