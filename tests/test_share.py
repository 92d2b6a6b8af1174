"""The extract that a shop can hand on: nobody's name in it, and the same wear.

Truth: the records it was made from. Names and texts are planted so that none can stand in a file by chance.
"""


import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from folders import load, planted, texts, write
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import brakedata
from brakedata import schedule, share, simulate
from brakedata.cli import main
from brakedata.findings import RecordsError

KEY = share.Key(bytes(range(32)))


def shared(folder, out):
    run = CliRunner().invoke(main, ["share", str(folder), str(out)])
    assert run.exit_code in (0, 1), run.output
    return run.output


@pytest.fixture(scope="module")
def handed_on(tmp_path_factory):
    """A made fleet in miles and 32nds with an unanswered and an answered change, and its extract."""
    base = tmp_path_factory.mktemp("share")
    made = simulate.fleet(60, 4.0, seed=31, log_every_days=40.0)
    folder = simulate.write(made.tables, base / "r", distance_unit="mi", thickness_unit="32nds")
    changes = schedule.lives.cut(brakedata.load(folder)).proposals
    assert len(changes) >= 2
    visit, axle, side = changes.loc[0, ["visit_id", "axle", "side"]]
    answer = f'[[pad_change]]\nvisit_id = "{visit}"\naxle = "{axle}"\nside = "{side}"\nanswer = "no"\n'
    (folder / "records.toml").write_text(answer, encoding="utf-8")
    said = shared(folder, base / "out")
    return folder, base / "out", said


def key_of(folder):
    return share.key_of(folder)[0]


def test_the_schedule_of_the_extract_is_that_of_the_records_but_for_names_and_days(handed_on):
    folder, out, _ = handed_on
    key = key_of(folder)
    theirs = schedule.make(brakedata.load(folder)).table
    ours = schedule.make(brakedata.load(out)).table.set_index(["vehicle_id", "axle"])
    assert ours.index.is_unique and len(ours) == len(theirs) > 100
    ours = ours.loc[[(key.name("v", v), axle) for v, axle in zip(theirs["vehicle_id"], theirs["axle"], strict=True)]]
    for name in theirs.columns.drop(["vehicle_id", "axle"]):
        mine, its = ours[name].reset_index(drop=True), theirs[name]
        if pd.api.types.is_datetime64_any_dtype(its):
            assert (its.dropna() - mine.dropna()).eq(key.shift).all() and mine.isna().equals(its.isna()), name
        elif pd.api.types.is_numeric_dtype(its):
            np.testing.assert_allclose(mine.astype(float), its.astype(float), rtol=1e-6, atol=1e-6, err_msg=name)
        else:
            assert mine.tolist() == its.tolist(), name


def test_days_of_the_week_and_every_span_stay(handed_on):
    folder, out, _ = handed_on
    key, before, after = key_of(folder), brakedata.load(folder).visits, brakedata.load(out).visits.set_index("visit_id")
    moved = before["date"] - after.loc[[key.name("w", visit) for visit in before["visit_id"]], "date"].to_numpy()
    assert len(moved) > 400 and moved.eq(key.shift).all()
    assert 364 <= key.shift.days <= 3640 and key.shift.days % 7 == 0


def test_what_is_kept_and_what_is_left_out(handed_on):
    folder, out, said = handed_on
    heads = {file.stem: pd.read_csv(file, nrows=0).columns.tolist() for file in out.glob("*.csv")}
    assert heads == {
        "vehicles": ["vehicle_id", "wear_class", "duty", "in_service_date", "in_service_odometer", "odometer_unit", "retired_date"],
        "limits": ["applies_to", "axle", "part", "measure", "unit", "new", "replace_at", "discard_at", "machine_to", "includes_backing"],
        "visits": ["visit_id", "vehicle_id", "date", "odometer", "odometer_unit", "technician"],
        "measurements": ["visit_id", "axle", "side", "part", "measure", "unit", "taken", "value"],
        "work": ["visit_id", "axle", "side", "part", "action", "product_line"],
        "odometer_log": ["vehicle_id", "date", "odometer", "odometer_unit"],
    }
    before, after = brakedata.load(folder), brakedata.load(out)
    for table, column in (("vehicles", "wear_class"), ("work", "product_line"), ("vehicles", "duty")):
        assert sorted(getattr(before, table)[column]) == sorted(getattr(after, table)[column])
    assert before.visits["technician"].nunique() == after.visits["technician"].nunique() == 4
    assert after.visits["technician"].str.fullmatch("[A-Z]{6}").all()
    assert "never hand it on" in said and "complaints" in said


def test_the_same_key_gives_the_same_names_next_month(tmp_path):
    folder = write(tmp_path / "r", texts())
    assert "made" in shared(folder, tmp_path / "one")
    key = (folder / share.KEY_FILE).read_text("ascii")
    write(folder, planted({("visits", None): "a7,A,2024-12-01,56000,km,,T1"}))
    assert "used" in shared(folder, tmp_path / "two")
    assert (folder / share.KEY_FILE).read_text("ascii") == key
    one, two = (pd.read_csv(tmp_path / name / "visits.csv", dtype=str) for name in ("one", "two"))
    both = pd.concat([one, two]).drop_duplicates()
    assert len(both) == len(two) == 13
    (folder / share.KEY_FILE).unlink()
    shared(folder, tmp_path / "three")
    assert not set(pd.read_csv(tmp_path / "three" / "visits.csv")["visit_id"]) & set(two["visit_id"])


def test_nothing_is_written_but_the_extract_and_the_key(tmp_path):
    folder = write(tmp_path / "r", texts())
    before = {file: file.read_bytes() for file in tmp_path.rglob("*") if file.is_file()}
    shared(folder, tmp_path / "out")
    after = {file: file.read_bytes() for file in tmp_path.rglob("*") if file.is_file()}
    new = {file.relative_to(tmp_path).as_posix() for file in after.keys() - before.keys()}
    assert {file: after[file] for file in before} == before
    tables = ("vehicles", "limits", "visits", "measurements", "work", "odometer_log")
    assert new == {"r/share.key", "out/records.toml", *(f"out/{name}.csv" for name in tables)}
    secret = (folder / share.KEY_FILE).read_text("ascii").strip().encode()
    assert all(secret not in after[file] for file in after if file.parent.name == "out")


@pytest.mark.parametrize("case", ["not empty", "a file", "no parent", "itself"])
def test_a_folder_that_is_not_empty_or_cannot_be_made_is_refused_before_anything_is_done(tmp_path, case):
    folder = write(tmp_path / "r", texts())
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "x.txt").write_text("mine")
    out = {"not empty": tmp_path / "full", "a file": tmp_path / "full" / "x.txt", "no parent": tmp_path / "a" / "b", "itself": folder}[case]
    run = CliRunner().invoke(main, ["share", str(folder), str(out)])
    assert run.exit_code == 2 and run.output.startswith("brakedata: ")
    assert not (folder / share.KEY_FILE).exists() and (tmp_path / "full" / "x.txt").read_text() == "mine"


@pytest.mark.parametrize("content", [b"", b"abc", b"\xff\xfe", b"00" * 31])
def test_a_damaged_key_is_never_used_nor_replaced(tmp_path, content):
    (tmp_path / share.KEY_FILE).write_bytes(content)
    with pytest.raises(RecordsError, match="is not a key"):
        share.key_of(tmp_path)
    assert (tmp_path / share.KEY_FILE).read_bytes() == content


def test_names_cannot_be_told_without_the_key():
    other = share.Key(bytes(32))
    assert KEY.name("v", "A") != other.name("v", "A") != KEY.name("w", "A")
    assert KEY.name("v", "A") == KEY.name("v", "A") and len(KEY.name("v", "A")) == 17
    names = {KEY.name("v", str(n)) for n in range(20_000)}
    assert len(names) == 20_000
    letters = {KEY.letters(f"technician {n}") for n in range(200)}
    assert len(letters) == 200 and KEY.letters("") == ""


def test_a_class_that_holds_a_vehicles_name_is_hidden_and_its_limits_still_hold(tmp_path):
    records = load(tmp_path, {
        ("vehicles", 2): "Bus-4711,the Bus-4711 kind,urban,2023-01-02,20,km,", ("visits", 2): "a1,Bus-4711,2023-04-11,8000,km,inspection,T1",
        ("limits", 2): "the Bus-4711 kind,front,pad,thickness,mm,12,3,1.6,,false,sheet 1",
    })  # fmt: skip
    out = share.extract(records, KEY)
    hidden = KEY.name("x", "the Bus-4711 kind")
    assert hidden in set(out["vehicles"]["wear_class"]) and hidden in set(out["limits"]["applies_to"])
    assert "van" in set(out["vehicles"]["wear_class"]) and "van" in set(out["limits"]["applies_to"])


def test_a_text_that_a_spreadsheet_would_run_is_harmless(tmp_path):
    records = load(tmp_path / "r", {("work", None): "a1,front,both,hose,checked,=1+1,,"})
    out = share.write(records, tmp_path / "out", KEY)
    assert set(pd.read_csv(out / "work.csv", keep_default_na=False)["product_line"]) == {"", "'=1+1"}


def test_bounds_and_units_go_over_as_they_are(tmp_path):
    edits = {
        ("measurements", 2): "a1,front,left,inner_pad,thickness,<2,32nds,before", ("measurements", 3): "a1,front,left,outer_pad,thickness,>=10,mm,after",
        ("measurements", 4): "a1,front,right,inner_pad,thickness,0.43,in,before",
    }  # fmt: skip
    first = load(tmp_path / "r", edits)
    second = brakedata.load(share.write(first, tmp_path / "out", KEY))
    columns = ["axle", "side", "part", "measure", "unit", "taken", "value_mm", "low_mm", "high_mm"]
    a, b = (r.measurements.loc[:, columns].sort_values(columns, ignore_index=True) for r in (first, second))
    pd.testing.assert_frame_equal(a, b)


# --- no name, number or word survives

MARK = "QZ"
"""Planted texts begin so; no word of the kit does."""
tokens = st.text("ABCDEFGHJKLMNPRSTUVWXYZabcdefghijkmnop0123456789 -_./äßé", min_size=5, max_size=14).map(lambda text: f"{MARK}{text.strip()}x9")


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(st.lists(tokens, min_size=14, max_size=14, unique_by=lambda text: text.casefold()))
def test_no_id_vin_or_text_of_the_records_survives(tmp_path_factory, planted_texts):
    a, b, visit, work_visit, tech, other_tech, complaint, note, reason, described, own, work_note, source, vin = planted_texts
    folder = tmp_path_factory.mktemp("hidden")
    tables = {
        "vehicles": f"vehicle_id,vin,description,wear_class,duty,in_service_date,in_service_odometer\n{a},{vin},{described},van {b},urban,2023-01-02,20\n"
        f"{b},1G4AH59H45G118341,,{tech},of {a},2023-01-02,30\n",
        "limits": f"applies_to,axle,part,measure,unit,new,replace_at,discard_at,source\n{a},front,pad,thickness,mm,12,3,1.6,{source}\n"
        f"van {b},front,pad,thickness,mm,12,3,1.6,{source}\n",
        "visits": "visit_id,vehicle_id,date,odometer,reason,complaint,technician,note,our column\n"
        f"{visit},{a},2023-04-11,8000,{reason},{complaint},{tech},{note},{own}\n{work_visit},{b},2023-05-11,9000,,,{other_tech},,\n",
        "measurements": f"visit_id,axle,part,measure,value\n{visit},front,pad,thickness,11\n{work_visit},front,pad,thickness,11\n",
        "work": f"visit_id,axle,part,action,product_line,cost,note\n{work_visit},front,pads,replaced,line {tech},4711.25,{work_note}\n",
        "odometer_log": f"vehicle_id,date,odometer\n{a},2023-06-01,12000\n",
    }  # fmt: skip
    write(folder / "r", tables)
    (folder / "r" / "records.toml").write_text(f'[[pad_change]]\nvisit_id = "{visit}"\naxle = "front"\nanswer = "yes"\n', encoding="utf-8")
    shared(folder / "r", folder / "out")
    everything = "\n".join(f"{file.name}\n{file.read_text('utf-8-sig')}" for file in sorted((folder / "out").iterdir())).casefold()
    for text in (*planted_texts, "1G4AH59H45G118341", "4711.25", "2023-04-11", "our column", MARK):
        assert text.casefold() not in everything
    assert len(brakedata.load(folder / "out").visits) == 2
