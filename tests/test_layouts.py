"""Which lines of a foreign file are titles, headings, records and totals; and that no line gets lost.

The files are written here by hand; what is what is said by whoever wrote them.
"""

import io
import zipfile
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from brakedata import layouts, tablefiles

ROWS = [["Van 1", "2024-03-01", "7,5"], ["Van 2", "2024-03-02", "8"], ["Van 3", "2024-03-13", "6,25"]]


def only(path: Path) -> layouts.Sheet:
    (sheet,), _ = layouts.read(path)
    return sheet


def text_of(separator: str, rows) -> str:
    return "\n".join(separator.join(f'"{cell}"' if separator in cell else cell for cell in row) for row in rows)


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_the_same_table_in_any_separator_and_encoding(separator, encoding, tmp_path):
    head = ["Fahrzeug", "Prüfdatum", "Belagstärke mm"]
    file = tmp_path / "a.txt"
    file.write_bytes(text_of(separator, [head, *ROWS]).encode(encoding))
    sheet = only(file)
    assert sheet.headers == head and sheet.delimiter == separator and sheet.header_line == 1
    assert sheet.cells.to_numpy().tolist() == ROWS and sheet.line.tolist() == [2, 3, 4]


def test_titles_blank_lines_totals_and_a_second_heading_are_no_records(tmp_path):
    file = tmp_path / "a.csv"
    lines = ["Fleet report", "Printed 2024-04-01,,", "", "Vehicle,Date,Pad mm,Note", "Van 1,2024-03-01,7.5,", "", "Vehicle,Date,Pad mm,Note",
             "Van 2,2024-03-02,8,total loss of fluid", "-----,,,", "Total,,15.5,", ""]  # fmt: skip
    file.write_text("\n".join(lines))
    sheet = only(file)
    assert sheet.headers == ["Vehicle", "Date", "Pad mm", "Note"] and sheet.line.tolist() == [5, 8]
    assert sheet.no_record[["line", "why"]].to_numpy().tolist() == [
        [1, "a title above the table"], [2, "a title above the table"], [3, "blank"], [4, "the header"], [6, "blank"], [7, "the header again"],
        [9, "a ruled line"], [10, "totals"],
    ]  # fmt: skip


def test_two_heading_lines_with_gaps_and_one_of_units(tmp_path):
    file = tmp_path / "a.csv"
    file.write_text("Vehicle,Date,Front,,Rear,\n,,left,right,left,right\n,,mm,mm,mm,mm\nV1,2024-03-01,7,8,6,5\n")
    sheet = only(file)
    assert sheet.headers == ["Vehicle", "Date", "Front / left / mm", "Front / right / mm", "Rear / left / mm", "Rear / right / mm"]
    assert sheet.line.tolist() == [4]


def test_a_table_of_words_keeps_its_first_record(tmp_path):
    file = tmp_path / "a.csv"
    file.write_text("Vehicle,Driver,Complaint\nVan one,Bo,squeals\nVan two,Al,grinds\n")
    sheet = only(file)
    assert sheet.headers == ["Vehicle", "Driver", "Complaint"] and len(sheet.cells) == 2


def test_no_heading_at_all_keeps_the_first_line(tmp_path):
    file = tmp_path / "a.csv"
    file.write_text("V1,2024-03-01,51000,LF,7.5\nV2,2024-03-02,61000,RF,8\n")
    sheet = only(file)
    assert sheet.header_line == 0 and len(sheet.cells) == 2 and sheet.headers[0] == "column 1"


def test_lines_that_are_too_long_are_named(tmp_path):
    file = tmp_path / "a.csv"
    file.write_text("Vehicle,Date,Note\n" + "V1,2024-03-01,fine\n" * 9 + "V2,2024-03-02,worn, badly\n")
    sheet = only(file)
    assert sheet.no_record.loc[sheet.no_record["why"].eq("more cells than the header"), "line"].tolist() == [11]
    assert len(sheet.cells) == 9 and sheet.headers == ["Vehicle", "Date", "Note"]


@pytest.mark.parametrize("form", ["xlsx", "parquet", "zip"])
def test_the_other_forms_hold_the_same_cells(form, tmp_path):
    frame = pd.DataFrame({"Vehicle": ["V1", "V2"], "Date": pd.to_datetime(["2024-03-01", "2024-03-02"]), "Pad mm": [7.5, 8.0]})
    file = tmp_path / f"a.{form}"
    if form == "xlsx":
        frame.to_excel(file, index=False)
    elif form == "parquet":
        frame.to_parquet(file)
    else:
        with zipfile.ZipFile(file, "w") as packed:
            packed.writestr("deep/a.csv", frame.assign(Date=frame["Date"].dt.strftime("%Y-%m-%d")).to_csv(index=False).replace("8.0", "8"))
    assert only(file).cells.to_numpy().tolist() == [["V1", "2024-03-01", "7.5"], ["V2", "2024-03-02", "8"]]


def test_a_folder_goes_on_past_a_broken_file_and_says_so(tmp_path):
    (tmp_path / "a.csv").write_text("Vehicle,Date\nV1,2024-03-01\n")
    (tmp_path / "b.xlsx").write_bytes(b"PK\x03\x04 nothing")
    sheets, found = layouts.read(tmp_path)
    assert [sheet.file for sheet in sheets] == ["a.csv"]
    assert [part["table"].iloc[0] for part in found] == ["b.xlsx"]


cell = st.text(st.sampled_from(list("ab7 .-%/é\"")), max_size=6)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(cell, min_size=1, max_size=5), min_size=1, max_size=12))
def test_no_line_is_lost_and_none_is_there_twice(rows):
    """Every line up to the last written one is a record or has a reason; no cell of a record is changed."""
    import csv
    import tempfile

    out = io.StringIO()
    csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL).writerows(rows)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "a.csv"
        file.write_text(out.getvalue(), "utf-8")
        sheets, _ = layouts.read(file)
    lines = sorted(line for sheet in sheets for line in [*sheet.line, *sheet.no_record["line"]])
    assert lines == list(range(1, len(lines) + 1))
    assert not any(text.strip() for row in rows[len(lines) :] for text in row)
    for sheet in sheets:
        for line, record in zip(sheet.line, sheet.cells.to_numpy().tolist(), strict=True):
            assert [text for text in record if text.strip()] == [text for text in rows[line - 1] if text.strip()]


@settings(max_examples=300, deadline=None)
@given(st.lists(st.text(alphabet='ab1" ,;', max_size=12), min_size=1, max_size=6))
def test_the_quick_way_to_cut_lines_gives_what_the_slow_one_gives_or_nothing(lines):
    text = "\n".join(lines)
    quick = tablefiles._a_line_each(text, ",")
    slow, at, _ = tablefiles._over_lines(text, ",")
    assert not quick or [row or [""] for row in slow] == quick and at == list(range(1, len(quick) + 1))
    assert quick or '"' in text


def test_a_quoted_cell_over_two_lines_stays_one_cell(tmp_path):
    file = tmp_path / "a.csv"
    file.write_text('Vehicle,Date,Note\nV1,2024-03-01,"one\ntwo"\nV2,2024-03-02,"12,345"\n')
    sheet = only(file)
    assert sheet.cells["Note"].tolist() == ["one\ntwo", "12,345"] and sheet.line.tolist() == [2, 4]
