"""Files that mean harm, or are merely broken: one sentence each, nothing executed, memory bounded.

The bombs are made here, a few kilobytes each; sizes and limits of the formats are those of their specifications (ECMA-376,
OpenDocument 1.2, MS-CFB, MS-XLS, zip application note).
"""

import io
import os
import re
import stat
import struct
import subprocess
import sys
import zipfile
from pathlib import Path

import folders
import pandas as pd
import pyarrow
import pytest
from click.testing import CliRunner
from pyarrow import parquet

from brakedata import cli, findings, guards, records, tablefiles, tables
from brakedata.findings import RecordsError
from brakedata.panels import RecordsPanel, desk

SENTENCE = re.compile(r"[^\n]{10,400}: [^\n]+\.")
"""Where and what, a colon, what to do."""


def refused(make) -> str:
    """The sentence with which something is refused."""
    with pytest.raises(RecordsError) as problem:
        make()
    assert SENTENCE.fullmatch(str(problem.value)), problem.value
    return str(problem.value)


def check(source) -> tuple[int, str]:
    """Exit status and all output of ``brakedata check``; a traceback or a defect of ours fails the test."""
    result = CliRunner().invoke(cli.main, ["check", str(source)])
    said = result.output
    assert "Traceback" not in said and "went wrong inside" not in said, said[-2000:]
    assert isinstance(result.exception, SystemExit | None), result.exception
    return result.exit_code, said


def one_sentence(source, words: str):
    """The command line and the panel both give one sentence with these words, and nothing else happens."""
    status, said = check(source)
    assert status == 2
    assert said.startswith("brakedata: ") and said.count("\n") == 1 and words in said, said
    assert SENTENCE.fullmatch(said.removeprefix("brakedata: ").strip())
    panel = RecordsPanel(str(source))
    panel.load()
    assert panel.fault is None
    assert words.lower() in panel.strip.value.lower() and "<p role='alert'>" in panel.strip.value


def small(tmp_path, **changed) -> Path:
    """The small folder, with whole files replaced."""
    return folders.write(tmp_path / "records", {**folders.texts(), **changed})


# --- files that are no files


def test_a_folder_where_a_file_is_looked_for(tmp_path):
    (tmp_path / "work.csv").mkdir()
    assert "is a folder" in refused(lambda: tablefiles.read_csv(tmp_path / "work.csv", "work"))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in this system's folders")
def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "work.csv")
    assert "is a device and no file" in refused(lambda: tablefiles.read_csv(tmp_path / "work.csv", "work"))


@pytest.mark.skipif(sys.platform == "win32", reason="links need leave on this system")
def test_links_that_go_round(tmp_path):
    loop = tmp_path / "records"
    loop.symlink_to(loop)
    one_sentence(loop, "could not be opened")
    (tmp_path / "work.csv").symlink_to(tmp_path / "work.csv")
    assert "could not be opened" in refused(lambda: tablefiles.read_csv(tmp_path / "work.csv", "work"))


def test_a_file_that_may_not_be_read(tmp_path, monkeypatch):
    """As where another program holds it, or its owner forbids it; whoever runs the tests may be allowed everything."""
    folder = small(tmp_path)

    def forbidden(file, *args):
        raise PermissionError(13, "Permission denied", str(file))

    monkeypatch.setattr(guards, "open", forbidden, raising=False)
    one_sentence(folder, "vehicles.csv could not be opened (Permission denied)")


@pytest.mark.parametrize("name", ["no such folder", "~nobody-of-this-name/records", "x" * 5000, "a\0b", "\x1b[31mred"])
def test_names_that_lead_nowhere(name):
    status, said = check(name)
    assert status == 2 and said.count("\n") == 1 and "\x1b" not in said and len(said) < 500


def test_a_lock_file_is_no_workbook(tmp_path):
    (tmp_path / "~$fleet.xlsx").write_bytes(b"\x05owner" + b" " * 159)
    one_sentence(tmp_path / "~$fleet.xlsx", "is only the mark of an open workbook")


def test_a_file_that_grows_while_it_is_read(tmp_path, monkeypatch):
    folder, fstat = small(tmp_path), os.fstat

    def grown(number):
        with open(folder / "vehicles.csv", "ab") as other_program:
            other_program.write(b"C,van,,,,,\n")
        return fstat(number)

    monkeypatch.setattr(guards.os, "fstat", grown)
    assert "is being written by another program" in refused(lambda: records.read(folder, lambda text: None))


def test_a_file_that_shrinks_while_it_is_read(tmp_path, monkeypatch):
    file, stat_of = tmp_path / "work.csv", os.stat
    file.write_text("visit_id\nW1\n" * 50)

    def cut(path, **more):
        before = stat_of(path, **more)
        file.write_text("visit_id\n")
        return before

    monkeypatch.setattr(guards.os, "stat", cut)
    assert "is being written by another program" in refused(lambda: guards.read_bytes(file))


def test_what_passes_by_is_no_record():
    passing = ["~$book.xlsx", ".~lock.book.ods#", ".hidden.csv", "__MACOSX/visits.csv", "Thumbs.db", "desktop.ini", "visits.csv.part", "a/.DS_Store"]
    read = ["visits.csv", "2024/visits.csv", "temp.csv", "part.xlsx", "my~$book.xlsx", "LF#2.csv"]
    assert [name for name in passing + read if guards.passing(name)] == passing


# --- sizes


def test_a_file_larger_than_is_read(tmp_path):
    """600 MB with nothing in it: a hole, which costs the disk nothing."""
    folder = small(tmp_path)
    with open(folder / "visits.csv", "wb") as hole:
        hole.truncate(600 * 1024**2)
    one_sentence(folder, "visits.csv holds 600 MB, and 512 MB is the most that is read")


def test_a_million_columns(tmp_path):
    wide = ",".join(f"c{n}" for n in range(1_000_000))
    one_sentence(small(tmp_path, visits=f"{wide}\n1,2\n"), "visits.csv has 1,000,000 columns, and 2,000 is the most")


def test_a_million_columns_in_quotation_marks(tmp_path):
    wide = ",".join(f'"c{n}"' for n in range(1_000_000))
    one_sentence(small(tmp_path, visits=f"{wide}\n1,2\n"), "visits.csv has 1,000,000 columns, and 2,000 is the most")


def test_a_line_without_end(tmp_path):
    """30 MB on one line: as a header it names no column we know; as a row it has more cells than any table."""
    one_sentence(small(tmp_path, visits=b"x" * 30_000_000), "visits: the column visit_id")
    endless = folders.texts()["work"] + "," * 30_000_000 + "\n"
    status, said = check(small(tmp_path, work=endless))
    assert status == 1 and len(said) < 5_000
    assert "R5-cells-too-many work, line 3" in said


def test_an_endless_cell_is_cut_in_the_sentence_about_it(tmp_path):
    status, said = check(folders.write(tmp_path, folders.planted({("measurements", 2): f"a1,front,left,inner_pad,thickness,{'9' * 1_000_000}x,mm,"})))
    assert status == 1 and "R8-not-a-number measurements, line 2" in said and len(said) < 5_000


@pytest.mark.parametrize("data", [b"", b"\n\n\n", b"\xef\xbb\xbf", b" , ,\n,,\n"], ids=["empty", "line ends", "a mark", "separators"])
def test_nothing_in_a_needed_file(data, tmp_path):
    one_sentence(small(tmp_path, visits=data), "visits: the column visit_id and the column vehicle_id")


def test_headers_and_nothing_below(tmp_path):
    only = {name: text.split("\n", 1)[0] + "\n" for name, text in folders.texts().items()}
    status, said = check(folders.write(tmp_path, only))
    assert status == 0 and "0 vehicles" in said


def test_three_kinds_of_line_end_in_one_file(tmp_path):
    file = tmp_path / "work.csv"
    file.write_bytes(b"visit_id,axle\r\nW1,front\nW2,rear\rW3,front\r\n")
    frame, found = tablefiles.read_csv(file, "work")
    assert frame[["visit_id", "row"]].to_numpy().tolist() == [["W1", 2], ["W2", 3], ["W3", 4]] and not found


# --- one thing by its name, another by its content


def written(frame: pd.DataFrame, ending: str) -> bytes:
    out = io.BytesIO()
    if ending == "xlsx":
        frame.to_excel(out, index=False, engine="openpyxl")
    else:
        frame.to_parquet(out)
    return out.getvalue()


VISITS = pd.DataFrame({"visit_id": ["W1"], "vehicle_id": ["A"], "date": ["2024-01-01"], "odometer": [1]})
OTHER_THINGS = {
    "workbook": written(VISITS, "xlsx"), "parquet": written(VISITS, "parquet"), "pdf": b"%PDF-1.7\n" + b"1 0 obj\n" * 99,
    "gzip": b"\x1f\x8b\x08\0" + b"abc" * 99, "picture": b"\x89PNG\r\n" + b"abc" * 99, "database": b"SQLite format 3\0" + b"abc" * 99,
}  # fmt: skip


@pytest.mark.parametrize("name", OTHER_THINGS)
def test_another_kind_of_file_named_csv(name, tmp_path):
    one_sentence(small(tmp_path, visits=OTHER_THINGS[name]), "visits.csv is not a text table")


@pytest.mark.parametrize("data", [b"<html><table><tr><td>visit_id", OTHER_THINGS["pdf"], OTHER_THINGS["gzip"], b""], ids=["html", "pdf", "gzip", "empty"])
def test_another_kind_of_file_named_xlsx(data, tmp_path):
    (tmp_path / "book.xlsx").write_bytes(data)
    one_sentence(tmp_path / "book.xlsx", "book.xlsx")


def test_a_text_or_parquet_named_xlsx_is_read_for_what_it_is(tmp_path):
    for data in (b"visit_id,date\nW1,2024-01-01\n", OTHER_THINGS["parquet"]):
        (tmp_path / "book.xlsx").write_bytes(data)
        check(tmp_path / "book.xlsx")


def test_kinds_are_told_by_content():
    for kind, data in {"xlsx": OTHER_THINGS["workbook"], "ods": ods('<table:table table:name="a"/>'), "xls": b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1",
                       "zip": zipped({"a.csv": b"x"}), "parquet": OTHER_THINGS["parquet"], "pdf": b"%PDF-", "text": b"PAR1,Rar,PK\n1,2,3\n",
                       "html": b"\xef\xbb\xbf\n<HTML>", "empty": b" \r\n"}.items():  # fmt: skip
        assert guards.kind_of(data) == kind


# --- zips


def zipped(members: dict, packing=zipfile.ZIP_DEFLATED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", packing) as packed:
        for name, data in members.items():
            packed.writestr(name, data)
    return out.getvalue()


TRICKS = ["../visits.csv", "a/../../visits.csv", "/etc/visits.csv", "C:\\visits.csv", "c:visits.csv", "..\\visits.csv", "\\\\server\\visits.csv", "visits.csv\0.txt", "inner.zip"]


@pytest.mark.parametrize("name", TRICKS)
def test_path_tricks_in_a_zip_are_named_and_not_read(name):
    plain = zipfile.ZipInfo("x")
    plain.filename = name  # the constructor would tidy it
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("good.csv", b"ok")
        packed.writestr(plain, b"bad")
    members, found = guards.zip_members(out.getvalue(), "export.zip")
    assert [(member.name, member.read()) for member in members] == [("good.csv", b"ok")]
    assert [part["code"].tolist() for part in found] == [["R17-not-read"]]
    assert "\0" not in found[0]["value"][0] and found[0]["advice"][0].count(":") == 1 or name == "inner.zip"


def test_links_in_a_zip_are_not_followed():
    link = zipfile.ZipInfo("visits.csv")
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr(link, "/etc/hostname")
    members, (found,) = guards.zip_members(out.getvalue(), "export.zip")
    assert members == [] and "link" in found["advice"][0]


def test_what_a_zip_from_another_system_carries_along():
    members, found = guards.zip_members(
        zipped({"2024/": b"", "2024/visits.csv": b"a", "2023\\visits.csv": b"b", "__MACOSX/2024/._visits.csv": b"", "2024/~$x.xlsx": b""}), "export.zip"
    )
    assert [(member.path, member.name, member.read()) for member in members] == [("2023/visits.csv", "visits.csv", b"b"), ("2024/visits.csv", "visits.csv", b"a")]
    assert found == []


def test_two_files_of_one_name_in_a_zip():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed, pytest.warns(UserWarning, match="Duplicate name"):
        packed.writestr("visits.csv", b"first")
        packed.writestr("visits.csv", b"second")
    members, (found,) = guards.zip_members(out.getvalue(), "export.zip")
    assert [member.read() for member in members] == [b"first"]
    assert found["value"].tolist() == ["visits.csv"]


def test_zip_bombs_are_not_unpacked():
    zeros = zipped({"visits.csv": bytes(64 * 1024**2)})
    assert re.search(r"export\.zip would unpack to 1,0\d\d times its size", refused(lambda: guards.zip_members(zeros, "export.zip")))
    many = zipped({f"{n}.csv": b"" for n in range(1_001)})
    assert "holds 1,001 files" in refused(lambda: guards.zip_members(many, "export.zip"))


def test_a_zip_whose_directory_claims_less_or_more_than_it_holds():
    """The sizes in the directory (at 24 of its entry) are what is believed: nothing beyond is unpacked."""
    honest = zipped({"visits.csv": b"0123456789" * 100})
    at = honest.index(b"PK\x01\x02") + 24
    for size in (5, 5_000_000):
        lying = honest[:at] + struct.pack("<I", size) + honest[at + 4 :]
        (member,), _ = guards.zip_members(lying, "export.zip")
        assert "make or fetch it again" in refused(member.read)
    huge = honest[:at] + struct.pack("<I", 4_000_000_000) + honest[at + 4 :]
    assert "512 MB is the most" in refused(lambda: guards.zip_members(huge, "export.zip"))


BROKEN_ZIPS = {"empty": b"", "begun": b"PK\x03\x04", "ended": b"PK\x05\x06", "cut": zipped({"a": b"x" * 999})[:-30]}


@pytest.mark.parametrize("data", BROKEN_ZIPS.values(), ids=BROKEN_ZIPS)  # named: a zip's bytes tell the time
def test_a_broken_zip(data):
    assert refused(lambda: guards.zip_members(data, "export.zip")).startswith("export.zip is damaged and cannot be unpacked")


def test_a_damaged_or_protected_or_oddly_packed_member():
    good = zipped({"visits.csv": os.urandom(2000)})
    (member,), _ = guards.zip_members(good[:500] + bytes(20) + good[520:], "export.zip")
    assert "visits.csv is damaged" in refused(member.read)
    odd = zipped({"visits.csv": b"x" * 2000}, zipfile.ZIP_BZIP2)
    locked = bytearray(good)
    locked[good.index(b"PK\x01\x02") + 8] |= 1
    for data, word in ((odd, "packed in an unusual way"), (bytes(locked), "protected by a password")):
        members, (found,) = guards.zip_members(data, "export.zip")
        assert members == [] and word in found["advice"][0]


# --- workbooks

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
PARTS = {
    "[Content_Types].xml": f'<Types xmlns="{PACKAGE}/content-types"><Default Extension="xml" ContentType="application/xml"/></Types>',
    "_rels/.rels": f'<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="r1" Type="{OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
    "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><sheets><sheet name="work" sheetId="1" r:id="r1"/></sheets></workbook>',
    "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="r1" Type="{OFFICE}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>',
}  # fmt: skip


def cell(place: str, text: str) -> str:
    return f'<c r="{place}" t="inlineStr"><is><t>{text}</t></is></c>'


HEADER = f'<row r="1">{cell("A1", "visit_id")}{cell("B1", "note")}</row>'


def xlsx(rows: str, head="", before="", after="", **parts) -> bytes:
    """A workbook of one sheet from the XML of its rows."""
    sheet = f'{head}<worksheet xmlns="{MAIN}">{before}<sheetData>{HEADER}{rows}</sheetData>{after}</worksheet>'
    return zipped({**PARTS, "xl/worksheets/sheet1.xml": sheet, **parts})


def read(data: bytes):
    """The first sheet's cells."""
    book = tablefiles.open_book(data, "book.xlsx")
    return tablefiles.read_sheet(book, book.sheet_names[0], "work")[0].drop(columns="row").to_numpy().tolist()


LAUGHS = "<?xml version='1.0'?><!DOCTYPE z [<!ENTITY a0 'ha'>" + "".join(f"<!ENTITY a{n} '{f'&a{n - 1};' * 10}'>" for n in range(1, 10)) + "]>"
BOMBS = {
    "cells a sheet apart": (xlsx(f'<row r="1048576">{cell("XFD1048576", "x")}</row>'), "has 16,384 columns"),
    "rows apart": (xlsx(f'<row r="1048576">{cell("ZZ1048576", "x")}</row>'), "spans 1,048,576 rows of 702 columns"),
    "row only in the cell's name": (xlsx(f'<row r="2">{cell("ZZ1048576", "x")}</row>'), "spans 1,048,576 rows of 702 columns"),
    "row only in the row": (xlsx(f'<row r="900000000"><c><v>1</v></c></row>{cell("AA3", "x")}'), "spans 900,000"),
    "beyond a sheet": (xlsx(cell("ZZZZZZ999999999", "x")), "columns, and 2,000 is the most"),
    "a number without end": (xlsx(cell("A" + "9" * 6000, "x")), "is not a readable workbook"),
    "hidden behind a sign": (xlsx('<row r="2"><c x=">" r="XFD1048576"><v>1</v></c></row>'), "is not a readable workbook"),
    "hidden behind another name": (xlsx("""<row r="2"><c x=' r="A1"' r="XFD1048576"><v>1</v></c></row>"""), "16,384 columns"),
    "cells without names": (xlsx('<row r="2">' + "<c><v>1</v></c>" * 3000 + "</row>"), "has 3,002 columns"),
    "another prefix": (xlsx('<x:row r="1048576"><x:c r="ZZ1048576"><x:v>1</x:v></x:c></x:row>'), "spans 1,048,576 rows of 702"),
    "definitions of definitions": (xlsx(cell("A2", "&a9;"), head=LAUGHS), "holds definitions"),
    "another file's content": (xlsx(cell("A2", "&x;"), head='<!DOCTYPE z [<!ENTITY x SYSTEM "file:///etc/passwd">]>'), "holds definitions"),
    "in the shared texts": (xlsx("", **{"xl/sharedStrings.xml": f"{LAUGHS}<sst/>"}), "holds definitions"),
    "merged cells": (xlsx("", after="<mergeCells>" + '<mergeCell ref="A1:XFD1048576"/>' * 100_001 + "</mergeCells>"), "more than 100,000 merged cells"),
    "letters without end": (xlsx("", **{"xl/sharedStrings.xml": b"<sst><si><t>" + b"A" * 64 * 1024**2 + b"</t></si></sst>"}), "times its size"),
    "zero bytes": (xlsx("\0"), "is not a readable workbook"),
    "cut off": (xlsx(cell("A2", "x"))[:-200], "is not a readable workbook"),
    "no sheet": (zipped(PARTS), "is not readable"),
    "an old binary workbook": (zipped({"xl/workbook.bin": b"x"}), "is not a readable workbook"),
}  # fmt: skip


@pytest.mark.parametrize("name", BOMBS)
def test_a_workbook_that_is_a_bomb(name):
    data, words = BOMBS[name]
    assert words in refused(lambda: read(data))


def test_a_workbook_that_only_claims_to_be_large(tmp_path):
    """The dimension and the merged ranges of a sheet are what its writer said, and cost nothing."""
    data = xlsx(cell("A2", "W1"), before='<dimension ref="A1:XFD1048576"/>', after='<mergeCells><mergeCell ref="A1:XFD1048576"/></mergeCells>')
    assert read(data) == [["W1", ""]]
    sheet = tablefiles.open_book(data, "book.xlsx").get_sheet_by_name("work")
    assert guards.merged(sheet) == [((0, 0), (1, 1))]


def test_merged_ranges_that_lie_on_one_another_are_not_all_given():
    data = xlsx(cell("A2", "W1"), after="<mergeCells>" + '<mergeCell ref="A1:B2"/>' * 1000 + "</mergeCells>")
    assert len(guards.merged(tablefiles.open_book(data, "book.xlsx").get_sheet_by_name("work"))) == 1


def test_a_workbook_shows_one_reader_what_it_shows_the_next():
    """Two parts of one name: the reader is given the first only, which is the one that was looked at."""
    out = io.BytesIO(xlsx(cell("A2", "W1")))
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as packed, pytest.warns(UserWarning, match="Duplicate name"):
        packed.writestr("xl/worksheets/sheet1.xml", f'<worksheet xmlns="{MAIN}"><sheetData>{cell("XFD1048576", "x")}</sheetData></worksheet>')
    assert read(out.getvalue()) == [["W1", ""]]


def test_a_formula_is_what_it_last_showed(tmp_path):
    """Kept as text or number by the program that wrote it; nothing is computed here, and a web address is not visited."""
    rows = '<row r="2"><c r="A2" t="str"><f>HYPERLINK("http://x.invalid","W1")</f><v>W1</v></c><c r="B2"><f>1+1</f></c></row>'
    assert read(xlsx(rows)) == [["W1", ""]]


def test_sheet_names_are_only_names(tmp_path):
    """Path tricks and script in a sheet's name: no table of ours has that name, and the sentence carries neither."""
    for name in ("../../work", "C:\\work", "&lt;script&gt;", "a&#x202e;b", "w" * 5000):
        book = {**PARTS, "xl/workbook.xml": PARTS["xl/workbook.xml"].replace('"work"', f'"{name}"')}
        (tmp_path / "book.xlsx").write_bytes(zipped({**book, "xl/worksheets/sheet1.xml": f'<worksheet xmlns="{MAIN}"><sheetData>{HEADER}</sheetData></worksheet>'}))
        status, said = check(tmp_path / "book.xlsx")
        assert status in (0, 1, 2) and "\u202e" not in said and "w" * 500 not in said
    assert sorted(file.name for file in tmp_path.iterdir()) == ["book.xlsx"]


ODS = "urn:oasis:names:tc:opendocument:xmlns"


def ods(tables_xml: str) -> bytes:
    content = (
        f'<office:document-content xmlns:office="{ODS}:office:1.0" xmlns:table="{ODS}:table:1.0" xmlns:text="{ODS}:text:1.0">'
        f"<office:body><office:spreadsheet>{tables_xml}</office:spreadsheet></office:body></office:document-content>"
    )
    manifest = f'<manifest:manifest xmlns:manifest="{ODS}:manifest:1.0"/>'
    return zipped({"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": content, "META-INF/manifest.xml": manifest})


def ods_cell(text: str, repeated=1) -> str:
    return f'<table:table-cell office:value-type="string" table:number-columns-repeated="{repeated}"><text:p>{text}</text:p></table:table-cell>'


def ods_row(cells: str, repeated=1) -> str:
    return f'<table:table-row table:number-rows-repeated="{repeated}">{cells}</table:table-row>'


EMPTY_TO_THE_EDGE = '<table:table-cell table:number-columns-repeated="16382"/>'


def test_an_ods_that_is_a_bomb():
    for rows, words in (
        (ods_row(ods_cell("x", 16_384)), "16,384 columns"),
        (ods_row(ods_cell("x", 700), 1_048_576), "1,048,576 rows of 700 columns"),
        (ods_row('<table:table-cell table:number-columns-repeated="16383"/>' + ods_cell("x")), "16,384 columns"),
        (ods_row("<table:table-cell/>", 999_999_999) + ods_row(ods_cell("x")), "1,000,000,000 rows"),
    ):
        assert words in refused(lambda rows=rows: read(ods(f'<table:table table:name="work">{rows}</table:table>')))


def test_an_ods_as_office_programs_write_it():
    """Empty cells to the edge of the sheet in every row, and empty rows to its foot, are no cells."""
    rows = ods_row(ods_cell("visit_id") + ods_cell("note") + EMPTY_TO_THE_EDGE) + ods_row(ods_cell("W1") + ods_cell("") + EMPTY_TO_THE_EDGE)
    assert read(ods(f'<table:table table:name="work">{rows}{ods_row(EMPTY_TO_THE_EDGE, 1_048_574)}</table:table>')) == [["W1", ""]]


def xls(cells: list[tuple[int, int, float]], name="Workbook", loop=False) -> bytes:
    """An .xls with numbers in cells (row, column, value): streams as MS-CFB, records as MS-XLS lay down."""
    def record(kind, data):
        return struct.pack("<HH", kind, len(data)) + data

    sheet = record(0x809, struct.pack("<HHHHII", 0x600, 0x10, 0, 0, 0, 0)) + b"".join(
        record(0x203, struct.pack("<HHHd", row, column, 0, value)) for row, column, value in cells
    ) + record(0x0A, b"")  # fmt: skip
    title = b"work"
    start = 16 + 4 + 4 + 12 + len(title) + 4
    bound = record(0x85, struct.pack("<IBBBB", start, 0, 0, len(title), 0) + title)
    stream = record(0x809, struct.pack("<HHHHII", 0x600, 5, 0, 0, 0, 0)) + bound + record(0x0A, b"")
    stream = stream.ljust(start, b"\0") + sheet
    stream = stream.ljust(max(4096, -(-len(stream) // 512) * 512), b"\0")
    sectors = len(stream) // 512
    chain = [*range(3, sectors + 2), 0xFFFFFFFE]
    table = [0xFFFFFFFD, 0xFFFFFFFE, *(chain if not loop else [2] * sectors)]
    table = struct.pack("<128I", *table, *[0xFFFFFFFF] * (128 - len(table)))

    def entry(text, kind, first, size):
        raw = text.encode("utf-16-le") + b"\0\0"
        return raw.ljust(64, b"\0") + struct.pack("<HBBIII", len(raw), kind, 1, 0xFFFFFFFF, 0xFFFFFFFF, 1 if kind == 5 else 0xFFFFFFFF) + bytes(36) + struct.pack("<IQ", first, size)

    directory = (entry("Root Entry", 5, 0xFFFFFFFE, 0) + entry(name, 2, 2, len(stream))).ljust(512, b"\0")
    head = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(16) + struct.pack("<HHHHH", 0x3E, 3, 0xFFFE, 9, 6) + bytes(6)
    head += struct.pack("<IIIIIIIII", 0, 1, 1, 0, 4096, 0xFFFFFFFE, 0, 0xFFFFFFFE, 0) + struct.pack("<109I", 0, *[0xFFFFFFFF] * 108)
    return head + table + directory + stream


def test_an_xls_is_read_and_one_that_is_a_bomb_is_not():
    assert read(xls([(0, 0, 1.0), (1, 0, 2.0), (1, 1, 3.0)])) == [["2"]]
    assert "65,536 columns" in refused(lambda: read(xls([(0, 0, 1.0), (65535, 65535, 2.0)])))
    assert "65,536 rows of 1,024 columns" in refused(lambda: read(xls([(0, 0, 1.0), (65535, 1023, 2.0)])))


def test_an_xls_that_is_broken_or_locked():
    good = xls([(0, 0, 1.0)])
    assert "protected by a password" in refused(lambda: read(xls([], name="EncryptedPackage")))
    for data in (good[:8], good[:300], good[:512] + bytes(512) + good[1024:], xls([], name="Other"), xls([(0, 0, 1.0)], loop=True)):
        assert "is not a readable workbook" in refused(lambda data=data: read(data)) or data == good


# --- Parquet


def test_a_parquet_file_that_is_a_bomb(tmp_path):
    """A long text that a million rows point to; more rows than are read."""
    file = tmp_path / "visits.parquet"
    long = pyarrow.DictionaryArray.from_arrays(pyarrow.array([0] * 1_000_000, pyarrow.int32()), ["x" * 5_000])
    parquet.write_table(pyarrow.table({"visit_id": long}), file)
    assert file.stat().st_size < 20_000
    assert "visits.parquet holds 4,768 MB" in refused(lambda: tablefiles.read_parquet(file, "visits"))
    wide = pyarrow.table({f"c{n}": pyarrow.array([1]) for n in range(2_001)})
    parquet.write_table(wide, file)
    assert "2,001 columns" in refused(lambda: tablefiles.read_parquet(file, "visits"))
    rows = pyarrow.table({"a": pyarrow.array([0], pyarrow.int8()).take(pyarrow.array([0] * 10_000_000))} | {f"c{n}": pyarrow.nulls(10_000_000) for n in range(25)})
    parquet.write_table(rows, file)
    assert file.stat().st_size < 1_000_000
    assert "rows of 26 columns" in refused(lambda: tablefiles.read_parquet(file, "visits"))


# --- settings


@pytest.mark.parametrize("data", [b"a = " + b"[" * 100_000, b"\0" * 50, b"\xff\xfe", b"[units\n", b"units = 3\nanswers = 4\n[[pad_change]]\nvisit_id=1\n"])
def test_settings_that_mean_harm(data, tmp_path):
    folder = small(tmp_path)
    (folder / "records.toml").write_bytes(data)
    status, said = check(folder)
    assert (status == 2 and said.count("\n") == 1 and "records.toml could not be read" in said) or "R15-setting-not-understood" in said


# --- all of them at once, with little memory


@pytest.mark.skipif(sys.platform == "win32", reason="this system cannot limit a process's memory")
def test_bombs_stay_within_a_gigabyte(tmp_path):
    """Each in turn, in a process that gets no more than 1.5 GB; it lives to say its sentence about each."""
    for number, (data, _) in enumerate(BOMBS.values()):
        (tmp_path / f"{number}.xlsx").write_bytes(data)
    (tmp_path / "90.xlsx").write_bytes(xls([(0, 0, 1.0), (65535, 65535, 2.0)]))
    (tmp_path / "91.xlsx").write_bytes(ods(f'<table:table table:name="work">{ods_row(ods_cell("x", 16_384), 1_048_576)}</table:table>'))
    code = (
        "import resource, sys, pathlib; resource.setrlimit(resource.RLIMIT_AS, (1536 * 1024**2,) * 2)\n"
        "from brakedata import tablefiles\nfrom brakedata.findings import RecordsError\n"
        "for file in sorted(pathlib.Path(sys.argv[1]).iterdir()):\n"
        "    try:\n        book = tablefiles.open_workbook(file); tablefiles.read_sheet(book, book.sheet_names[0], 'work')\n"
        "    except RecordsError as problem:\n        print(problem)\n"
    )
    done = subprocess.run([sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, timeout=120, env={**os.environ, "OPENBLAS_NUM_THREADS": "1"})
    assert done.returncode == 0, done.stderr[-2000:]
    assert len(done.stdout.splitlines()) == len(list(tmp_path.iterdir()))


# --- text is data

SCRIPT = "<script>alert(1)</script><img src=x onerror=alert(2)>"
STARTS = ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1+1", "\r=1+1")


def hostile_texts(tmp_path):
    """Script, formulas and terminal letters wherever a text can stand."""
    lines = folders.planted(
        {
            ("visits", None): f'x1,"{SCRIPT}",2024-09-02,1,km,"=cmd|\'/c calc\'!A1","\x1b]0;owned\x07\x1b[31m"',
            ("measurements", 2): f'a1,front,left,inner_pad,thickness,"{SCRIPT}",mm,',
            ("work", None): '"=HYPERLINK(""http://x.invalid"")",front,both,hub_face,cleaned,@x,,',
            ("vehicles", None): "\x1b[2Jclear,van,urban,2023-01-02,30,km,",
        }
    )
    return folders.write(tmp_path / "records", lines)


def test_script_in_a_record_stays_text(tmp_path):
    folder = hostile_texts(tmp_path)
    out = tmp_path / "found.html"
    result = CliRunner().invoke(cli.main, ["check", str(folder), "--out", str(out)])
    assert result.exit_code == 1
    page = out.read_text("utf-8")
    assert "&lt;script&gt;alert(1)" in page and "<script" not in page and "<img" not in page
    desk._kept.clear()
    panel = RecordsPanel(str(folder))
    panel.load()
    assert panel.fault is None
    assert "&lt;script&gt;alert(1)" in panel.lines.value
    assert "<script" not in panel.lines.value and "<img" not in panel.lines.value + panel.counts.value + panel.status.value


def test_a_folder_named_like_script_stays_text(tmp_path):
    folder = folders.write(tmp_path / "<img src=x onerror=alert(1)>", folders.texts())
    panel = RecordsPanel(str(folder))
    panel.load()
    assert "&lt;img" in panel.status.value and "<img" not in panel.status.value
    panel.folder.value = str(tmp_path / "<img src=x>")
    panel.load()
    assert "&lt;img" in panel.strip.value and "<img" not in panel.strip.value


def test_no_letter_steers_the_terminal(tmp_path):
    folder = hostile_texts(tmp_path)
    for command in ("check", "schedule"):
        result = CliRunner().invoke(cli.main, [command, str(folder)])
        assert result.exit_code == 1
        assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e]", result.output)


@pytest.mark.parametrize("start", STARTS)
def test_what_a_spreadsheet_would_run_is_made_harmless(start, tmp_path):
    import openpyxl

    frame = pd.DataFrame({start: [start, "plain"], "number": [-1.5, 2.0]})
    for ending in ("csv", "xlsx"):
        file = tables.write(frame, tmp_path / f"out.{ending}", "t")
        if ending == "csv":
            cells = pd.read_csv(file, encoding="utf-8-sig", header=None, dtype=str, lineterminator="\n").to_numpy().tolist()
        else:
            cells = [[c.value for c in row] for row in openpyxl.load_workbook(file).active.iter_rows()]
            assert all(c.data_type != "f" for row in openpyxl.load_workbook(file).active.iter_rows() for c in row)
        assert str(cells[0][0]).startswith("'") and str(cells[1][0]).startswith("'")
        assert float(cells[1][1]) == -1.5


def test_a_sentence_is_one_line_and_legible():
    assert findings.legible("a\nb\x1b[31m\u202ec\0") == "a b[31mc"
    assert findings.legible("x" * 500, 10) == "x" * 9 + "…"
    long = findings.make("R8-not-a-number", "visits", row=7, column="odometer", value="\x1b" + "9" * 10_000)
    said = findings.sentence(long.iloc[0])
    assert len(said) < 400 and "\x1b" not in said and "999…”" in said
