"""The workbook that is handed back: questionable rows as they stand in the file, with the reason beside each. Own practice."""


import openpyxl
import pandas as pd
import pytest
from click.testing import CliRunner
from folders import line_of, load, planted, write

from brakedata import findings, handback, tables, vins
from brakedata.cli import main
from brakedata.findings import RecordsError

PLANTED = {
    ("visits", 1): "visit_id,vehicle_id,date,odometer,odometer_unit,reason,technician,line,Our own column",
    ("visits", 2): "a1,Z,soon,8000,parsecs,inspection,T1,=1+1,@x",
    ("measurements", line_of("b2", 3)): "b2,front,right,outer_pad,thinness,9,mm,before",
}
NO_MASK = vins.Mask({}, False)


def book(file):
    """Every sheet as a list of rows of cells."""
    return {sheet.title: [list(row) for row in sheet.iter_rows(values_only=True)] for sheet in openpyxl.load_workbook(file)}


@pytest.fixture
def written(tmp_path):
    folder = write(tmp_path / "r", planted(PLANTED))
    run = CliRunner().invoke(main, ["check", str(folder), "--out", str(tmp_path / "back.xlsx")])
    assert run.exit_code == 1, run.output
    return folder, book(tmp_path / "back.xlsx")


def test_the_findings_come_first_then_a_sheet_a_table_with_its_questionable_rows_only(written):
    _, sheets = written
    assert list(sheets) == ["findings", "measurements", "visits"]
    assert sheets["findings"][0] == findings.COLUMNS
    assert {row[0] for row in sheets["visits"][1:]} == {2}
    assert {row[0] for row in sheets["measurements"][1:]} == {line_of("a1", n) for n in range(6)} | {line_of("b2", 3)}


def test_a_row_stands_whole_as_written_with_every_reason_beside_it(written):
    _, sheets = written
    head, row = sheets["visits"]
    assert head == ["line", "reason", "visit_id", "vehicle_id", "date", "odometer", "odometer_unit", "reason (as written)",
                    "technician", "line (as written)", "our_own_column"]  # fmt: skip
    assert row[2:7] == ["a1", "Z", "soon", "8000", "parsecs"] and row[7:9] == ["inspection", "T1"]
    reasons = row[1].split("\n")
    assert len(reasons) == 2
    assert any("date" in reason for reason in reasons)
    assert "R11-unknown-unit odometer_unit: use km or mi for distances, mm, in or 32nds for thicknesses" in reasons


def test_cells_are_harmless(written):
    _, sheets = written
    assert sheets["visits"][1][-2:] == ["'=1+1", "'@x"]


def test_the_files_are_not_changed(written):
    folder, _ = written
    for name, text in planted(PLANTED).items():
        assert (folder / f"{name}.csv").read_text("utf-8") == text


def test_a_workbook_is_handed_back_with_the_lines_of_its_sheets(tmp_path):
    cells = {name: [line.split(",") for line in text.splitlines()] for name, text in planted(PLANTED).items()}
    with pd.ExcelWriter(tmp_path / "records.xlsx") as out:
        for name, rows in cells.items():
            pd.DataFrame([row + [""] * (len(rows[0]) - len(row)) for row in rows]).to_excel(out, sheet_name=name, index=False, header=False, startrow=2)
    run = CliRunner().invoke(main, ["check", str(tmp_path / "records.xlsx"), "--out", str(tmp_path / "back.xlsx")])
    assert run.exit_code == 1, run.output
    assert book(tmp_path / "back.xlsx")["visits"][1][0] == 4


def test_records_in_order_give_a_workbook_that_says_so(tmp_path):
    folder = write(tmp_path / "r", planted({}))
    run = CliRunner().invoke(main, ["check", str(folder), "--out", str(tmp_path / "back.xlsx")])
    assert run.exit_code == 0, run.output
    assert book(tmp_path / "back.xlsx") == {"findings": [findings.COLUMNS]}


def test_one_of_the_records_is_never_written_over(tmp_path):
    folder = write(tmp_path / "r", planted({}))
    run = CliRunner().invoke(main, ["check", str(folder), "--out", str(folder / "visits.xlsx")])
    assert run.exit_code == 2 and "never written over" in run.output


def test_other_endings_are_the_findings_alone(tmp_path):
    folder = write(tmp_path / "r", planted(PLANTED))
    CliRunner().invoke(main, ["check", str(folder), "--out", str(tmp_path / "back.csv")])
    assert pd.read_csv(tmp_path / "back.csv").columns.tolist() == findings.COLUMNS


def test_ten_thousand_findings_are_all_written(tmp_path):
    lines = "\n".join(f"a1,front,left,inner_pad,word {n},9,mm,before" for n in range(10_000))
    records = load(tmp_path / "r", {("measurements", None): lines})
    assert (records.findings["code"] == "R10-unknown-word").sum() == 10_000
    file = handback.write(records, records.findings, tmp_path / "back.xlsx", NO_MASK)
    rows = book(file)["measurements"]
    assert len(rows) == 10_001 and rows[-1][6] == "word 9999"


def test_sheets_whose_long_names_begin_alike_stay_apart(tmp_path):
    """A sheet's name has 31 letters at most, and capitals do not tell two apart (limits of the XLSX format)."""
    frames = {f"{'a long name of a file ' * 2}{n}": pd.DataFrame({"n": [n]}) for n in range(12)} | {"Visits": pd.DataFrame({"n": [-1]})}
    frames["visits"] = pd.DataFrame({"n": [-2]})
    file = tables.write_sheets(frames, tmp_path / "x.xlsx")
    assert [rows[1][0] for rows in book(file).values()] == [*range(12), -1, -2]


def test_more_rows_than_a_sheet_holds_is_one_sentence(tmp_path, monkeypatch):
    monkeypatch.setattr(tables, "MOST_SHEET_ROWS", 2)
    records = load(tmp_path / "r", PLANTED)
    with pytest.raises(RecordsError, match="more than a sheet of a workbook holds"):
        handback.write(records, records.findings, tmp_path / "back.xlsx", NO_MASK)
    assert not (tmp_path / "back.xlsx").exists() and not list(tmp_path.glob("*.writing*"))
