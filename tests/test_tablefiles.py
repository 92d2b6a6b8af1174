"""Table files as people's programs write them: the same cells, each with the line a person finds it on.

Expected lines are counted by hand in the texts below; the first line of a file is line 1.
"""

import codecs
import csv as library
import datetime
import io

import numpy as np
import openpyxl
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from brakedata import tablefiles
from brakedata.findings import RecordsError

PLAIN = "visit_id,axle,note\nW1,front,a\nW2,rear,b\n"
CELLS = [["W1", "front", "a"], ["W2", "rear", "b"]]


def csv(tmp_path, data):
    """Cells, lines and codes of a CSV file that holds ``data``."""
    file = tmp_path / "work.csv"
    file.write_bytes(data if isinstance(data, bytes) else data.encode("utf-8"))
    frame, found = tablefiles.read_csv(file, "work")
    return frame.drop(columns="row").to_numpy().tolist(), frame["row"].tolist(), [code for part in found for code in part["code"]]


@pytest.mark.parametrize(
    "data",
    [
        PLAIN, PLAIN.replace("\n", "\r\n"), PLAIN.replace("\n", "\r"), PLAIN.rstrip("\n"), PLAIN.replace(",", ";"),
        PLAIN.replace(",", "\t"), codecs.BOM_UTF8 + PLAIN.encode(), PLAIN.encode("utf-16"), PLAIN.encode("utf-16-le"),
        PLAIN.encode("utf-16-be"), codecs.BOM_UTF16_BE + PLAIN.encode("utf-16-be"), '"visit_id","axle","note"\n"W1","front","a"\n"W2","rear","b"\n',
        " Visit ID ,AXLE,\tNote\nW1,front,a\nW2,rear,b\n", "VISIT-ID,Axle,NOTE,,\nW1,front,a,,\nW2,rear,b,,\n",
    ],
    ids=["plain", "CRLF", "CR", "no last line end", "semicolons", "tabs", "BOM", "UTF-16", "UTF-16 LE bare", "UTF-16 BE bare",
         "UTF-16 BE", "quoted", "header case and spaces", "empty columns"],
)  # fmt: skip
def test_one_table_in_many_writings(data, tmp_path):
    assert csv(tmp_path, data) == (CELLS, [2, 3], [])


def test_the_header_is_named_alike_however_it_is_spaced(tmp_path):
    frame, _ = tablefiles.read_csv(_file(tmp_path, "\ufeffVisit  ID; Axle ;product-Line\n1;2;3\n"), "work")
    assert list(frame.columns) == ["visit_id", "axle", "product_line", "row"]


def _file(tmp_path, text, name="work.csv"):
    file = tmp_path / name
    file.write_text(text, encoding="utf-8", newline="")
    return file


@pytest.mark.parametrize(
    ("text", "cells", "lines"),
    [
        ("\n\nvisit_id,axle,note\n\nW1,front,a\n,,\n  , ,\nW2,rear,b\n\n", CELLS, [5, 8]),
        ('visit_id,axle,note\nW1,front,"two\nlines"\nW2,rear,b\n', [["W1", "front", "two\nlines"], ["W2", "rear", "b"]], [2, 4]),
        ('visit_id,axle,"no\nte"\r\nW1,front,"a\r\n\r\nb"\r\nW2,rear,b', [["W1", "front", "a\n\nb"], ["W2", "rear", "b"]], [3, 6]),
        ('visit_id,axle,note\nW1,front,"a\nb"\nW2,rear,c,d,e\nW3,rear\nW4,rear,"x\ny"\nW5,rear,z\n',
         [["W1", "front", "a\nb"], ["W3", "rear", ""], ["W4", "rear", "x\ny"], ["W5", "rear", "z"]], [2, 5, 6, 8]),
        ("visit_id,axle,note\n", [], []),
        ("visit_id,axle,note", [], []),
        ("", [], []),
        ("\n \n", [], []),
    ],
    ids=["blank lines", "quoted line end", "in the header too, CRLF", "ragged", "header only", "header only, no end", "empty", "blank"],
)  # fmt: skip
def test_lines_are_the_lines_a_person_counts(text, cells, lines, tmp_path):
    assert csv(tmp_path, text)[:2] == (cells, lines)


def test_a_line_with_too_many_cells_is_kept_aside_with_what_it_holds(tmp_path):
    file = _file(tmp_path, "visit_id,axle,note\nW1,front,a, b\nW2,rear,c,,\n")
    frame, (found,) = tablefiles.read_csv(file, "work")
    assert frame["visit_id"].tolist() == ["W2"]
    assert found[["code", "row", "value"]].to_numpy().tolist() == [["R5-cells-too-many", 2.0, "W1,front,a, b"]]


HEADER = "visit_id,axle,side,part,note\n"


@pytest.mark.parametrize(
    ("text", "ids", "quotes"),
    [
        (HEADER + 'W1,front,left,rotor,"open\nW2,rear,left,rotor,b\nW3,rear,,drum,c\n', ["W1", "W2", "W3"], [2]),
        (HEADER + 'W1,front,left,rotor,a\nW2,rear,left,rotor,"b\nW3,rear,,drum,c\nW4,rear,,drum,"d"\nW5,rear,,drum,e\n',
         ["W1", "W2", "W3", "W4", "W5"], [3]),
        (HEADER + 'W1,front,left,rotor,3" wide and 5" long\nW2,rear,left,rotor,b\n', ["W1", "W2"], []),
        (HEADER + 'W1,front,left,rotor,"a, long\nnote, on two lines"\nW2,rear,left,rotor,b\n', ["W1", "W2"], []),
    ],
    ids=["never closed", "closed rows later", "inches", "a note on two lines"],
)  # fmt: skip
def test_an_open_quotation_mark_swallows_no_row(text, ids, quotes, tmp_path):
    frame, found = tablefiles.read_csv(_file(tmp_path, text), "work")
    assert frame["visit_id"].tolist() == ids
    assert [row for part in found for row in part["row"] if part["code"].eq("R16-quote-open").all()] == quotes


def test_a_header_named_twice_keeps_the_first(tmp_path):
    frame, (found,) = tablefiles.read_csv(_file(tmp_path, "visit_id,Note,note\nW1,a,b\n"), "work")
    assert frame["note"].tolist() == ["a"]
    assert found[["code", "column"]].to_numpy().tolist() == [["R4-column-twice", "note"]]


def test_windows_letters_are_read_and_said(tmp_path):
    cells, _, codes = csv(tmp_path, "visit_id,note\nW1,Bremsklötze – neu\n".encode("cp1252"))
    assert cells == [["W1", "Bremsklötze – neu"]]
    assert codes == ["R6-encoding"]


def test_zero_bytes_of_a_damaged_copy_are_left_out_and_said(tmp_path):
    cells, lines, codes = csv(tmp_path, PLAIN.encode() + b"W3,\0fro\0nt,c\n")
    assert cells == [*CELLS, ["W3", "front", "c"]]
    assert codes == ["R6-encoding"]


@pytest.mark.parametrize(
    "data",
    [bytes(range(256)) * 40, b"PK\x03\x04" + b"\0" * 500 + b"xl/workbook.xml", np.random.default_rng(4).bytes(5000), b"\0" * 4000],
    ids=["all bytes", "a zip", "noise", "zeros"],
)  # fmt: skip
def test_what_is_no_text_is_refused_in_a_sentence(data, tmp_path):
    with pytest.raises(RecordsError, match=r"^work\.csv is not a text table: save it again as \.csv, or take it out of the folder\.$"):
        csv(tmp_path, data)


def test_a_huge_cell_is_one_cell(tmp_path):
    """A million letters, past what the standard library's reader takes unasked, on the quick and on the slow way."""
    for tail in ("", "W9,too,many,cells\n"):
        cells, lines, _ = csv(tmp_path, f"visit_id,axle,note\nW1,front,{'x' * 1_000_000}\nW2,rear,b\n{tail}")
        assert [len(row[2]) for row in cells] == [1_000_000, 1]
        assert lines == [2, 3]


def test_a_file_that_cannot_be_opened_is_said_in_a_sentence(tmp_path):
    with pytest.raises(RecordsError, match=r"work\.csv could not be opened \(.+\): close it in other programs and try again\."):
        tablefiles.read_csv(tmp_path / "work.csv", "work")


text_cells = st.text(st.characters(exclude_categories=["C"], exclude_characters="\x85\u2028\u2029"), max_size=12)


@given(st.lists(st.tuples(text_cells, text_cells, text_cells), max_size=8))
@settings(deadline=None)
def test_any_text_survives_the_way_through_a_file(tmp_path_factory, rows):
    """Written by the standard library's writer, read by ours: every cell, in order, blank lines gone."""
    file = tmp_path_factory.mktemp("any") / "work.csv"
    with file.open("w", encoding="utf-8", newline="") as out:
        writer = library.writer(out, quoting=library.QUOTE_ALL)
        writer.writerows([("visit_id", "axle", "note"), *rows])
    frame, found = tablefiles.read_csv(file, "work")
    written = [(n + 2, *row) for n, row in enumerate(rows) if any(cell.strip() for cell in row)]
    assert found == []
    assert frame[["row", "visit_id", "axle", "note"]].to_numpy().tolist() == [list(row) for row in written]


# --- Parquet


def test_parquet_keeps_types_and_the_columns_that_were_an_index(tmp_path):
    file = tmp_path / "visits.parquet"
    frame = pd.DataFrame(
        {
            "Vehicle ID": pd.Series([7, 8], dtype="Int64"), "date": [datetime.date(2024, 2, 29), None],
            "reason": pd.Categorical(["inspection", None]), "odometer": np.array([1.5, np.nan], dtype="float32"),
        },
        index=pd.Index(["W1", "W2"], name="visit_id"),
    )  # fmt: skip
    frame.to_parquet(file)
    read, found = tablefiles.read_parquet(file, "visits")
    assert found == []
    assert set(read.columns) == {"vehicle_id", "date", "reason", "odometer", "visit_id", "row"}
    assert read["visit_id"].tolist() == ["W1", "W2"] and read["row"].tolist() == [2, 3]


@pytest.mark.parametrize("data", [b"", b"PAR1", b"PAR1" + b"\0" * 300 + b"PAR1", PLAIN.encode()], ids=["empty", "cut off", "hollow", "text"])
def test_a_broken_parquet_file_is_refused_in_a_sentence(data, tmp_path):
    (tmp_path / "visits.parquet").write_bytes(data)
    with pytest.raises(RecordsError, match=r"^visits\.parquet is not a readable Parquet file: export it again\.$"):
        tablefiles.read_parquet(tmp_path / "visits.parquet", "visits")


# --- XLSX


def book(tmp_path, rows, name="work"):
    """A workbook with one sheet, made by another library than the one that reads it."""
    made = openpyxl.Workbook()
    made.active.title = name
    for row in rows:
        made.active.append(row)
    made.save(tmp_path / "records.xlsx")
    return tablefiles.open_workbook(tmp_path / "records.xlsx")


def test_a_sheet_is_read_as_a_person_sees_it(tmp_path):
    rows = [
        [None, None], ["Visit ID", "Date ", "value", "flag", "note"],
        ["W1", datetime.date(2024, 2, 29), 3, True, "a"], [], ["W2", datetime.datetime(2024, 3, 1, 8, 15), 2.5, False, None],
        [12345678901234567890, "2024-03-02", 1e-3, None, "c"], [None, None, None, None, None, "scribble"],
    ]  # fmt: skip
    frame, found = tablefiles.read_sheet(book(tmp_path, rows), "work", "work")
    assert found == []
    assert frame[["visit_id", "date", "value", "flag", "note", "row"]].to_numpy().tolist() == [
        ["W1", "2024-02-29", "3", "true", "a", 3], ["W2", "2024-03-01 08:15:00", "2.5", "false", "", 5],
        ["1.234567890123457e+19", "2024-03-02", "0.001", "", "c", 6],
    ]  # fmt: skip


def test_an_empty_sheet_and_a_header_alone(tmp_path):
    assert list(tablefiles.read_sheet(book(tmp_path, []), "work", "work")[0].columns) == ["row"]
    frame, found = tablefiles.read_sheet(book(tmp_path, [["visit_id", "visit_id", "axle"]]), "work", "work")
    assert list(frame.columns) == ["visit_id", "axle", "row"] and len(frame) == 0
    assert [part["code"].tolist() for part in found] == [["R4-column-twice"]]


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04 no more", PLAIN.encode(), np.random.default_rng(1).bytes(3000)])
def test_a_broken_workbook_is_refused_in_a_sentence(data, tmp_path):
    (tmp_path / "records.xlsx").write_bytes(data)
    with pytest.raises(RecordsError, match=r"^records\.xlsx is not a readable workbook: open it and save it again as \.xlsx\.$"):
        tablefiles.open_workbook(tmp_path / "records.xlsx")


def test_a_workbook_cut_off_half_way_is_refused_in_a_sentence(tmp_path):
    book(tmp_path, [["visit_id", "note"]] + [[f"W{n}", "x" * 50] for n in range(300)])
    whole = (tmp_path / "records.xlsx").read_bytes()
    for share in (0.3, 0.6, 0.95):
        (tmp_path / "half.xlsx").write_bytes(whole[: int(share * len(whole))])
        with pytest.raises(RecordsError):
            tablefiles.read_sheet(tablefiles.open_workbook(tmp_path / "half.xlsx"), "work", "work")


@settings(max_examples=300, deadline=None)
@given(
    lines=st.lists(st.lists(st.sampled_from(["", " ", "7,5", "LF", "a;b", '"', 'he said "ok"', "é", "=1+1", "0012", "x\ny"]), min_size=1, max_size=4),
                   min_size=1, max_size=6),
    separator=st.sampled_from(",;\t|"), quoted=st.booleans(),
)
def test_the_quick_way_of_even_lines_reads_what_the_slow_way_reads(lines, separator, quoted):
    """Relation: a text that the quick way takes gives the cells that the standard library's reader gives, one line a row."""
    out = io.StringIO()
    if quoted:
        library.writer(out, delimiter=separator, lineterminator="\n").writerows(lines)
    else:
        out.write("\n".join(separator.join(row) for row in lines))
    text = out.getvalue().rstrip("\n")
    even = tablefiles.even_lines(text, separator)
    if even is None:
        return
    code, texts = even
    slow = [row + [""] * (code.shape[1] - len(row)) for row in tablefiles.split_lines(text, separator)[0]]  # a blank line is short
    assert texts[code].tolist() == slow
    assert len(set(texts)) == len(texts)


def test_the_quick_way_takes_even_lines_and_leaves_the_rest():
    assert tablefiles.even_lines("a,b\n1,\n\"x,y\",2", ",")[0].shape == (3, 2)
    assert tablefiles.even_lines("a,b\n1", ",") is None  # a line too short
    assert tablefiles.even_lines('a,b\n"x\ny",2', ",") is None  # a cell over two lines
    assert tablefiles.even_lines('a,b\n6" pad,2', ",") is None  # a mark inside a cell


@pytest.mark.parametrize(
    ("written", "page"), [("Data przeglądu;Klocek przód mm", "cp1250"), ("Prüfung;Belag größe ½ m³", "cp1252"), ("Épaisseur;Révisé à", "cp1252")]
)
def test_the_code_page_shows_in_the_words(written, page):
    """Source of the codes: the standard library's tables of Windows-1250 and Windows-1252."""
    text, found = tablefiles.text_of((written + "\n").encode(page), "a.csv", "visits")
    assert text == written + "\n"
    assert page.removeprefix("cp") in found[0]["advice"].iloc[0]
