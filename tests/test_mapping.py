"""Eight invented shops' files through the mapping: few questions once, none next month, and values equal to what the shop knows.

The truth stands in `make_shops` as plain numbers, before any file is written.
"""

import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from make_shops import ENDING, FOLDER, NEW_MM, SHOPS, checks_of, in_file

import brakedata
from brakedata import checks, mapping
from brakedata.findings import RecordsError
from brakedata.records import at_source

MM = {"in": 25.4, "mm": 1.0, "32nds": 25.4 / 32, "%": NEW_MM / 100}
KM = {"mi": 1.609344, "km": 1.0}
UNITS = {
    "inches_by_pad": ("mi", "in"), "semicolons": ("km", "mm"), "a_sheet_a_year": ("km", "mm"), "a_sheet_a_vehicle": ("km", "mm"),
    "thirty_seconds": ("mi", "32nds"), "driver_and_passenger": ("km", "mm"), "everything": ("km", "%"), "totals": ("mi", "mm"),
}  # fmt: skip
ANSWERS = {
    "inches_by_pad": {"thickness_unit.1": "in"},
    "semicolons": {"words": {"i.O.": ">=5 mm"}},
    "a_sheet_a_year": {"distance_unit.1": "km"},
    "a_sheet_a_vehicle": {},
    "thirty_seconds": {"part.1": "shoe"},
    "driver_and_passenger": {"driver_side": "right", "thickness_unit.1": "mm", "date_order.1": "day_first"},
    "everything": {"new_thickness_mm": NEW_MM},
    "totals": {"distance_unit.1": "mi", "thickness_unit.1": "mm", "part.1": "shoe"},
}  # fmt: skip
each_shop = pytest.mark.parametrize("shop", SHOPS)


def file_of(shop: str, month: int) -> Path:
    return FOLDER / shop / f"month{month}.{ENDING[shop]}"


def folder_with(tmp_path: Path, shop: str, *months: int) -> Path:
    """A folder with these months' files, and what the shop answered once before."""
    folder = tmp_path / "records"
    folder.mkdir(exist_ok=True)
    for month in months:
        shutil.copy(file_of(shop, month), folder)
    return folder


def answered(folder: Path, shop: str) -> Path:
    proposal = mapping.propose(folder)
    for key, value in ANSWERS[shop].items():
        proposal.answer(key, value)
    return proposal.save()


def truth(shop: str, all_checks) -> tuple[dict, dict]:
    """Odometers in km by (vehicle, date), readings in mm by (vehicle, date, axle, side, part)."""
    distance, thickness = UNITS[shop]
    odometers, readings = {}, {}
    for check in all_checks:
        day = pd.Timestamp(check.date)
        odometers[check.vehicle, day] = check.odometer * KM[distance]
        for place, value in check.readings.items():
            readings[check.vehicle, day, *place] = value * MM[thickness]
    if shop == "a_sheet_a_year":
        last = {(v, d.replace(year=2024)): km - 30_000 for (v, d), km in odometers.items()}
        readings |= {(v, d.replace(year=2024), *place): mm for (v, d, *place), mm in readings.items()}
        odometers |= last
    return odometers, readings


def loaded(records) -> tuple[dict, dict]:
    v, m = records.visits, records.measurements
    odometers = dict(zip(zip(v["vehicle_id"], v["date"], strict=True), v["odometer_km"], strict=True))
    edge = m["value_mm"].fillna(m["low_mm"])
    place = zip(m["vehicle_id"], m["date"], m["axle"], m["side"], m["part"], strict=True)
    return odometers, dict(zip(place, edge, strict=True))


def same(records, shop, all_checks) -> None:
    """The records hold what the shop knows, no more and no less."""
    odometers, readings = truth(shop, all_checks)
    if shop == "semicolons":  # two readings of a file are words that mean 5 mm and more
        words = records.measurements[records.measurements["value_mm"].isna()]
        assert len(words) and words["value_written"].eq("i.O.").all() and words["low_mm"].eq(5).all()
        place = zip(words["vehicle_id"], words["date"], words["axle"], words["side"], words["part"], strict=True)
        readings |= dict.fromkeys(place, 5.0)
    got_odometers, got_readings = loaded(records)
    assert len(records.visits) == len(odometers) and len(records.measurements) == len(readings)
    assert got_odometers == pytest.approx(odometers, abs=0.051)  # written to the tenth
    tolerance = 0.006 if shop == "inches_by_pad" else 1e-5  # its third month is in mm with two decimals
    assert got_readings == pytest.approx(readings, abs=tolerance)


@each_shop
def test_a_shop_s_first_file_goes_in_with_at_most_three_answers(shop, tmp_path):
    folder = folder_with(tmp_path, shop, 1)
    questions = [question.key for question in mapping.propose(folder).questions]
    assert sorted(questions) == sorted(ANSWERS[shop])  # all of them at once, before the first is answered
    assert len(questions) <= 3
    answered(folder, shop)
    assert mapping.propose(folder).questions == []
    same(brakedata.load(folder), shop, in_file(shop, 1))


@each_shop
def test_the_second_month_goes_in_with_none(shop, tmp_path):
    answered(folder_with(tmp_path, shop, 1), shop)
    next(tmp_path.glob("records/month1*")).unlink()
    folder = folder_with(tmp_path, shop, 2)
    assert mapping.propose(folder).questions == []
    assert mapping.propose(folder).sheets["layout"].eq("known").all()
    same(brakedata.load(folder), shop, in_file(shop, 2))


@each_shop
def test_months_that_overlap_add_nothing_twice(shop, tmp_path):
    folder = folder_with(tmp_path, shop, 1, 2)
    answered(folder, shop)
    records = brakedata.load(folder)
    same(records, shop, checks_of(shop, 1) + checks_of(shop, 2))
    again = records.findings[records.findings["code"].eq("R79-same-again")]
    assert len(again) and again["reading"].str.contains("first in month1").all()
    assert records.rows_read["why"].eq("the same as another row").any()


@each_shop
def test_every_line_of_every_file_is_accounted_for(shop, tmp_path):
    folder = folder_with(tmp_path, shop, 1, 2)
    before = {file.name: file.read_bytes() for file in folder.iterdir()}
    answered(folder, shop)
    records = brakedata.load(folder)
    ledger = mapping.propose(folder).ledger()
    assert ledger["rows"].sum() == records.rows_read["rows"].sum() == len(records.trail)
    assert records.rows_read.loc[records.rows_read["outcome"].eq("left out"), "why"].ne("").all()
    assert {file.name: file.read_bytes() for file in folder.iterdir() if file.name != "records.toml"} == before
    assert not records.trail.duplicated("row").any()


def lines_of(data: bytes, encoding: str) -> int:
    return len(data.decode(encoding).rstrip("\r\n").splitlines())


@pytest.mark.parametrize(("shop", "encoding"), [("inches_by_pad", "utf-8-sig"), ("semicolons", "cp1252"), ("thirty_seconds", "utf-16")])
def test_the_account_counts_the_lines_of_the_file_itself(shop, encoding):
    ledger = mapping.propose(file_of(shop, 1)).ledger()
    assert ledger["rows"].sum() == lines_of(file_of(shop, 1).read_bytes(), encoding)


def test_a_third_month_in_another_unit_asks_only_that(tmp_path):
    shop = "inches_by_pad"
    answered(folder_with(tmp_path, shop, 1), shop)
    (tmp_path / "records" / "month1.csv").unlink()
    folder = folder_with(tmp_path, shop, 3)
    proposal = mapping.propose(folder)
    assert [question.key for question in proposal.questions] == ["renamed.1"] and proposal.vital
    with pytest.raises(RecordsError, match=r"under new headings or in a new unit\? Nothing can be said"):
        brakedata.load(folder)
    proposal.answer("renamed.1", "yes")
    proposal.save()
    assert mapping.propose(folder).questions == []
    same(brakedata.load(folder), shop, in_file(shop, 3))
    both = folder_with(tmp_path, shop, 1)
    assert mapping.propose(both).questions == []  # the old headings are still known, in their own unit
    assert len(brakedata.load(both).measurements) == 8 * 11


def test_a_third_month_with_a_new_column_asks_only_that(tmp_path):
    shop = "everything"
    answered(folder_with(tmp_path, shop, 1), shop)
    (tmp_path / "records" / "month1.txt").unlink()
    folder = folder_with(tmp_path, shop, 3)
    proposal = mapping.propose(folder)
    assert [question.key for question in proposal.questions] == ["columns.1.Brake hose"] and not proposal.vital
    same(brakedata.load(folder), shop, in_file(shop, 3))  # nothing is made of it before it is answered
    proposal.answer("columns.1.Brake hose", "not used")
    proposal.save()
    assert mapping.propose(folder).questions == []


def test_complaints_and_work_come_with_the_visit(tmp_path):
    folder = folder_with(tmp_path, "everything", 1)
    answered(folder, "everything")
    records = brakedata.load(folder)
    assert records.visits.set_index("vehicle_id")["complaint"].to_dict() == {
        "F-01": "squeals when braking", "F-02": "pulls to the left; only when wet", "F-03": "",
    }  # fmt: skip
    work = records.work[["vehicle_id", "axle", "part", "action", "cost"]].to_numpy().tolist()
    assert work == [["F-01", "rear", "pads", "replaced", 120.5], ["F-02", "front", "pads", "replaced", 120.5]]
    assert set(records.visits["visit_id"]) == {"R101", "R102", "R103"}
    assert set(records.measurements["value_written"]) == {"85%", "80%", "75%"} & set(records.measurements["value_written"])


# --- where a value stands, and what is asked


def test_every_value_can_be_looked_up_in_its_file(tmp_path):
    """The file, sheet, line and cell of a reading, compared with the file read by another program."""
    import openpyxl

    folder = folder_with(tmp_path, "a_sheet_a_year", 1)
    answered(folder, "a_sheet_a_year")
    records = brakedata.load(folder)
    book = openpyxl.load_workbook(folder / "month1.xlsx")
    m = records.measurements.merge(records.trail, on="row")
    assert len(m) == 64 and set(m["sheet"]) == {"2024", "2025"} and set(m["file"]) == {"month1.xlsx"}
    for _, one in m.iterrows():
        line = [cell.value for cell in book[one["sheet"]][int(one["line"])]]
        column = 3 + ["front left inner_pad", "front left outer_pad", "front right inner_pad", "front right outer_pad",
                      "rear left inner_pad", "rear left outer_pad", "rear right inner_pad", "rear right outer_pad"].index(
            f"{one['axle']} {one['side']} {one['part']}")  # fmt: skip
        assert line[0] == one["vehicle_id"] and float(one["value_written"]) == line[column]


def test_findings_name_the_file_and_its_line(tmp_path):
    folder = folder_with(tmp_path, "semicolons", 1, 2)
    answered(folder, "semicolons")
    records = brakedata.load(folder)
    found = at_source(records.findings, records.trail)
    titles = found[found["code"].eq("R78-no-record")]
    assert titles[["table", "row"]].to_numpy().tolist() == [["month1.csv", 1], ["month1.csv", 2], ["month2.csv", 1], ["month2.csv", 2]]


def test_what_was_answered_stands_in_plain_words_beside_what_a_person_wrote(tmp_path):
    folder = folder_with(tmp_path, "inches_by_pad", 1)
    (folder / "records.toml").write_text('# mine\n[vins]\nmask = true # keep\n')
    answered(folder, "inches_by_pad")
    text = (folder / "records.toml").read_text("utf-8")
    assert text.startswith("# mine\n[vins]\nmask = true # keep\n")
    assert '"LF in" = "thickness: front left inner_pad"' in text and 'thickness_unit = "in"' in text
    assert '"Unit #" = "vehicle_id"' in text


def test_a_word_changed_by_hand_counts(tmp_path):
    folder = folder_with(tmp_path, "inches_by_pad", 1)
    file = answered(folder, "inches_by_pad")
    file.write_text(file.read_text("utf-8").replace('"RR out" = "thickness: rear right outer_pad"', '"RR out" = "not used"'), "utf-8")
    records = brakedata.load(folder)
    assert len(records.measurements) == 5 * 7


@each_shop
def test_the_lines_that_check_prints_answer_the_questions(shop, tmp_path):
    """Each question's lines, pasted into records.toml as they are, settle it (with the answer that stands there)."""
    folder = folder_with(tmp_path, shop, 1)
    while questions := mapping.propose(folder).questions:
        before = (folder / "records.toml").read_text("utf-8") if (folder / "records.toml").exists() else ""
        head = questions[0].line.split("\n")[0]
        line = questions[0].line if head not in before.split("\n") else None
        text = f"{before}\n{line}\n" if line else before.replace(head, questions[0].line)
        (folder / "records.toml").write_text(text, "utf-8")
        left = [question.key for question in mapping.propose(folder).questions]
        assert questions[0].key not in left and len(left) < len(questions)


def test_an_answer_that_cannot_be_is_refused_in_a_sentence():
    proposal = mapping.propose(file_of("inches_by_pad", 1))
    for key, value in [("thickness_unit.1", "furlongs"), ("nothing.1", "x"), ("columns.1.No such", "note"), ("columns.1.Date", "nonsense"), ("country", "Narnia")]:
        with pytest.raises(RecordsError, match="cannot be|is no question"):
            proposal.answer(key, value)


def test_schedule_waits_for_what_must_be_answered(tmp_path):
    from click.testing import CliRunner

    from brakedata import cli

    folder = folder_with(tmp_path, "inches_by_pad", 1)
    stopped = CliRunner().invoke(cli.main, ["schedule", str(folder)])
    assert stopped.exit_code == 2 and "In which unit are the lining readings?" in stopped.stderr and 'thickness = "mm"' in stopped.stderr
    told = CliRunner().invoke(cli.main, ["check", str(folder)])
    assert told.exit_code == 2 and "6 rows read = 5 taken + 1 left out (1 the header)" in told.stdout
    assert "LF in: thickness: front left inner_pad" in told.stdout
    answered(folder, "inches_by_pad")
    assert CliRunner().invoke(cli.main, ["check", str(folder)]).exit_code in (0, 1)
    made = CliRunner().invoke(cli.main, ["schedule", str(folder)])
    assert made.exit_code in (0, 1) and "101" in made.stdout


def test_the_first_rows_say_what_they_load_as():
    proposal = mapping.propose(file_of("semicolons", 1))
    first = proposal.first_rows(2)
    assert first["line"].tolist() == [4, 5]
    assert first["loads_as"][0].startswith("NX-TR 41, 2025-01-01, 61,240 km; note: Räder geprüft; front left inner pad 10.5 mm")


def test_our_own_limits_beside_a_shop_s_files_count(tmp_path):
    folder = folder_with(tmp_path, "a_sheet_a_vehicle", 1)
    (folder / "limits.csv").write_text("applies_to,axle,part,measure,unit,new,replace_at,discard_at\n*,front,pad,thickness,mm,12,4,2\n*,rear,pad,thickness,mm,11,x,2\n")
    records = brakedata.load(folder)
    assert records.limits["replace_at_mm"].tolist()[0] == 4 and len(records.measurements) == 12
    wrong = at_source(records.findings, records.trail).query("code == 'R8-not-a-number'")
    assert wrong[["table", "row"]].to_numpy().tolist() == [["limits", 3]]


def test_a_sheet_of_readings_finds_vehicle_and_day_by_the_job_s_number(tmp_path):
    with pd.ExcelWriter(tmp_path / "book.xlsx") as book:
        jobs = pd.DataFrame({"Job no": ["J1", "J2"], "Vehicle": ["A", "B"], "Date": ["2024-03-14", "2024-03-15"], "Odometer km": [51_000, 62_000]})
        jobs.to_excel(book, sheet_name="Jobs", index=False)
        readings = {"Job no": ["J1", "J2", "J9"], "Wheel": ["LF", "RF", "LF"], "Pad mm": [7.5, 6.0, 5.0]}
        pd.DataFrame(readings).to_excel(book, sheet_name="Measured", index=False)
    proposal = mapping.propose(tmp_path / "book.xlsx")
    assert proposal.questions == []
    records = checks.load_proposal(proposal)
    got = records.measurements[["vehicle_id", "visit_id", "axle", "side", "part", "value_mm"]].to_numpy().tolist()
    assert got == [["A", "J1", "front", "left", "pad", 7.5], ["B", "J2", "front", "right", "pad", 6.0]]
    lost = records.rows_read[records.rows_read["outcome"].eq("left out") & records.rows_read["why"].ne("the header")]
    assert lost[["sheet", "why", "rows"]].to_numpy().tolist() == [["Measured", "no vehicle is named", 1]]


@pytest.mark.parametrize("text", ["visit_id,date\nW1,2024-01-01\n", "a\n", "Vehicle,Date\n", "x,y,z\n1,2,3\n"])
def test_a_file_that_holds_nothing_to_load_is_refused_in_a_sentence(text, tmp_path):
    (tmp_path / "a.csv").write_text(text)
    assert mapping.propose(tmp_path / "a.csv").ledger()["rows"].sum() == text.count("\n")
    with pytest.raises(RecordsError, match="no row of it could be used|Nothing can be said before this is answered"):
        brakedata.load(tmp_path / "a.csv")


# --- relations


def wide(rows: np.ndarray, order) -> str:
    names = [f"{wheel} pad {face} mm" for wheel in ("LF", "RF", "LR", "RR") for face in ("inner", "outer")]
    lines = [",".join(["Vehicle", "Date", "Odometer km", *[names[at] for at in order]])]
    lines += [",".join([f"V{n}", f"2024-03-{n + 10}", str(50_000 + 700 * n), *[f"{row[at]:.1f}" for at in order]]) for n, row in enumerate(rows)]
    return "\n".join(lines)


def test_a_wide_sheet_keeps_every_cell_whatever_the_order_of_its_columns(tmp_path):
    generator = np.random.default_rng(7)
    rows = np.round(generator.uniform(3, 11, (9, 8)), 1)
    tables = []
    for nth in range(3):
        order = generator.permutation(8) if nth else np.arange(8)
        (tmp_path / f"{nth}").mkdir()
        file = tmp_path / f"{nth}" / "sheet.csv"
        file.write_text(wide(rows, order), "utf-8")
        m = brakedata.load(file).measurements
        assert len(m) == 72 and sorted(m["value_mm"]) == sorted(rows.ravel())
        key = ["vehicle_id", "axle", "side", "part", "value_mm"]
        tables.append(m[key].sort_values(key, ignore_index=True))
    pd.testing.assert_frame_equal(tables[0], tables[1])
    pd.testing.assert_frame_equal(tables[0], tables[2])


def test_long_and_wide_of_the_same_readings_give_the_same_table(tmp_path):
    rows = np.round(np.random.default_rng(3).uniform(3, 11, (5, 8)), 1)
    (tmp_path / "wide.csv").write_text(wide(rows, range(8)), "utf-8")
    places = [f"{wheel} {face}" for wheel in ("LF", "RF", "LR", "RR") for face in ("inner", "outer")]
    lines = ["Vehicle,Date,Odometer km,Position,Pad mm"]
    lines += [f"V{n},2024-03-{n + 10},{50_000 + 700 * n},{place},{row[at]:.1f}" for n, row in enumerate(rows) for at, place in enumerate(places)]
    (tmp_path / "long.csv").write_text("\n".join(lines), "utf-8")
    key = ["vehicle_id", "visit_id", "date", "axle", "side", "part", "value_mm"]
    one, other = (brakedata.load(tmp_path / name).measurements[key].sort_values(key, ignore_index=True) for name in ("wide.csv", "long.csv"))
    pd.testing.assert_frame_equal(one, other)


TYRES = "Vehicle,Date,Odometer km,{}\nA,2024-03-14,51000,7,8,6,7\nB,2024-03-15,42000,6,7,5,6\n"


def test_wheels_alone_are_not_called_pads_in_silence(tmp_path):
    """LF, RF, LR, RR and millimetres may be tyres: it is asked, and nothing is read until then."""
    (tmp_path / "a.csv").write_text(TYRES.format("LF mm,RF mm,LR mm,RR mm"))
    proposal = mapping.propose(tmp_path / "a.csv")
    assert [question.key for question in proposal.questions] == ["part.1"] and proposal.vital
    assert not len(proposal.built.tables["measurements"])
    proposal.answer("part.1", "not brakes")
    assert not len(checks.load_proposal(proposal).measurements) and not proposal.questions
    (tmp_path / "a.csv").write_text(TYRES.format("LF tread mm,RF tread mm,LR tread mm,RR tread mm"))
    proposal = mapping.propose(tmp_path / "a.csv")
    assert not len(proposal.built.tables["measurements"])
    assert proposal.columns["evidence"].str.contains("of tyres").sum() == 4
