"""Sheets named as our own tables are, names beside and over the tables, second header lines with a word nobody knows, visits side by side.

Truth: the plain numbers each file is written from, by hand. Source of the forms: common practice, no source.
"""

import openpyxl
import pandas as pd
import pytest
from test_mapping_oddities import read, read_folder, roles

import brakedata
from brakedata import checks, layouts, mapping, records
from brakedata.findings import RecordsError
from brakedata.mapping.kinds import FILE_NAME, SHEET_NAME

UNITS = '[units]\ndistance = "km"\nthickness = "mm"\n'


def book(path, sheets):
    """A workbook of ``{sheet: rows}``."""
    out = openpyxl.Workbook()
    out.remove(out.active)
    for sheet, rows in sheets.items():
        page = out.create_sheet(sheet)
        for row in rows:
            page.append(row)
    out.save(path)


def workbook(folder, sheets, name="book.xlsx"):
    """A workbook with the units said beside it."""
    folder.mkdir(exist_ok=True)
    book(folder / name, sheets)
    (folder / "records.toml").write_text(UNITS, encoding="utf-8")
    return folder


def left(got):
    """``{vehicle: {date: mm}}`` of the left front pads."""
    out = {}
    for (vehicle, day, axle, side, *_), value in got.items():
        if (axle, side) == ("front", "left"):
            out.setdefault(vehicle, {})[day] = value
    return out


CHECKS = [["Reg", "Date", "km", "Pad FL mm"], ["V1", "2024-01-10", 20_000, 9], ["V1", "2024-05-10", 31_000, 8], ["V2", "2024-02-10", 50_000, 7]]
TRUTH = {"V1": {"2024-01-10": 9, "2024-05-10": 8}, "V2": {"2024-02-10": 7}}
LISTS = {"own words": [["Reg", "Model"], ["V1", "van"], ["V2", "van"]], "our word": [["Vehicle ID", "Model"], ["V1", "van"], ["V2", "van"]]}


# --- sheets and files named as ours are


@pytest.mark.parametrize("vehicles", LISTS)
@pytest.mark.parametrize("name", ["Visits", "Measurements", "Checks"])
def test_a_workbook_with_sheets_named_as_ours_is_read_by_its_headings(name, vehicles, tmp_path):
    folder = workbook(tmp_path, {"Vehicles": LISTS[vehicles], name: CHECKS})
    assert mapping.foreign(folder) and not records.is_ours(folder / "book.xlsx")
    assert left(read_folder(folder)[0]) == TRUTH
    assert len(brakedata.load(folder).measurements) == 3


@pytest.mark.parametrize("name", ["visits", "measurements"])
def test_files_named_as_ours_are_read_by_their_headings(name, tmp_path):
    for file, rows in (("vehicles", LISTS["our word"]), (name, CHECKS)):
        pd.DataFrame(rows[1:], columns=rows[0]).to_csv(tmp_path / f"{file}.csv", index=False)
    (tmp_path / "records.toml").write_text(UNITS, encoding="utf-8")
    assert left(read_folder(tmp_path)[0]) == TRUTH
    assert len(brakedata.load(tmp_path).measurements) == 3


def test_a_table_of_readings_with_most_words_like_ours_but_no_visit_is_a_shops_own(tmp_path):
    rows = [["Vehicle", "Date", "km", "Axle", "Side", "Part", "Value"], ["V1", "2024-01-10", 20_000, "front", "left", "pad", 9]]
    assert left(read_folder(workbook(tmp_path, {"Measurements": rows}))[0]) == {"V1": {"2024-01-10": 9}}


OURS = {
    "vehicles": [["vehicle_id"], ["V1"]],
    "visits": [["Visit ID", "Vehicle ID", "Date", "Odometer"], ["a1", "V1", "2024-01-10", 20_000]],
    "measurements": [["visit_id", "axle", "side", "part", "measure", "value"], ["a1", "front", "left", "pad", "thickness", 9]],
}


@pytest.mark.parametrize("kind", ["workbook", "csv", "parquet"])
@pytest.mark.parametrize("wrong", [[("visits", "Odometer"), ("measurements", "value")], [("measurements", "value")], [("vehicles", "vehicle_id")]])
def test_our_tables_with_one_column_misspelt_are_still_ours_and_it_is_named(wrong, kind, tmp_path):
    table, column = wrong[0]
    tables = {name: [[f"{cell}x" if (name, cell) in wrong else cell for cell in rows[0]], *rows[1:]] for name, rows in OURS.items()}
    if kind == "workbook":
        workbook(tmp_path, tables)
    for name, rows in tables.items() if kind != "workbook" else ():
        frame = pd.DataFrame(rows[1:], columns=rows[0])
        frame.to_csv(tmp_path / f"{name}.csv", index=False) if kind == "csv" else frame.to_parquet(tmp_path / f"{name}.parquet")
    assert not mapping.foreign(tmp_path)
    with pytest.raises(RecordsError, match=f"^{table}: the column {column.lower()} is missing"):
        brakedata.load(tmp_path)


# --- a label and its value over the headings


HEAD = ["Date", "Odo km", "LF pad mm", "RF pad mm", "Done"]


def page(above, km=20_000, mm=9):
    return [*above, HEAD, *([f"2024-0{m}-10", km + 9_000 * m, mm - m, mm - m, None] for m in (1, 2, 3))]


def pads(first):
    return {f"2024-0{m}-10": first - m for m in (1, 2, 3)}


@pytest.mark.parametrize("name", ["Van 1", "Truck 1", "RT-1", "Bus 10", "Van A", "L 2", "5"])
@pytest.mark.parametrize("label", ["Vehicle:", "Vehicle", "Reg no:", "Reg"])
def test_the_cell_beside_a_label_is_its_value_whatever_it_looks_like(label, name, tmp_path):
    got, _, proposal = read_folder(workbook(tmp_path, {"Sheet1": page([[label, name]])}))
    assert left(got) == {name: pads(9)} and proposal.questions == []


@pytest.mark.parametrize("more", [["Front disc"], ["Front disc", "rear drum"], [None, "Discs all round"]])
def test_more_words_on_the_line_of_a_label_change_nothing(more, tmp_path):
    sheets = {name: page([["Vehicle:", name, None, *more]], 20_000 + 50_000 * at, 9 + at) for at, name in enumerate(("Van 1", "Van 2"))}
    got, _, proposal = read_folder(workbook(tmp_path, sheets))
    assert left(got) == {"Van 1": pads(9), "Van 2": pads(10)} and proposal.questions == []


def test_a_label_with_more_words_over_each_block_of_a_sheet(tmp_path):
    rows = [*page([["Vehicle:", "Van 1", None, "Front disc"]]), [], *page([["Vehicle:", "Van 2", None, "Front disc"]], 90_000, 8)]
    assert left(read_folder(workbook(tmp_path, {"Sheet1": rows}))[0]) == {"Van 1": pads(9), "Van 2": pads(8)}


@pytest.mark.parametrize("head", ["Reg:,Date,Odo km,LF pad mm,RF pad mm", "Reg:,Date:,Odo km:,LF pad mm:,RF pad mm:", "Van,Date,Odo km,LF pad mm,RF pad mm"])
def test_headings_with_colons_are_headings(head, tmp_path):
    got, _, proposal = read(tmp_path, f"{head}\nVan 1,2024-01-10,20000,9,8\nVan 1,2024-02-10,30000,8,7\n", UNITS)
    assert left(got) == {"Van 1": {"2024-01-10": 9, "2024-02-10": 8}} and proposal.questions == []


def test_a_heading_with_a_colon_and_a_word_behind_it_is_a_heading(tmp_path):
    head = ["Van: reg", "Date", "Odo km", "LF pad mm", "RF pad mm"]
    proposal = mapping.propose(workbook(tmp_path, {"Sheet1": [head, ["Van 1", "2024-01-10", 20_000, 9, 8], ["Van 1", "2024-02-10", 30_000, 8, 7]]}))
    assert [*roles(proposal)][:5] == head


def test_a_blank_to_fill_in_beside_another_is_no_vehicle():
    assert layouts._pairs(["Vehicle:", "Date"], all_of_it=True) == []
    assert layouts._pairs(["Vehicle:", "Van"], all_of_it=True) == [("Vehicle", "Van")]


# --- words that nobody knows in a second header line


TWO_AXLES = {
    "below": [["Bus", "Date", "km", "Front pads mm", None, "Rear pads mm", None, None], [None, None, None, "L", "R", "L", "R", "{}"]],
    "beside": [["Bus", "Date", "km", "Front pads mm", None, "Rear pads mm", None, "{}"], [None, None, None, "L", "R", "L", "R", None]],
    "three lines": [
        ["Bus", "Date", "km", "Pads mm", None, None, None, None],
        [None, None, None, "Front", None, "Rear", None, "{}"],
        [None, None, None, "L", "R", "L", "R", None],
    ],
    "three lines, few heads": [
        ["Bus", "Day seen", "km", "Front axle, pads mm", None, None, None, None],
        [None, None, None, "L", None, "R", None, "{}"],
        [None, None, None, "Inner", "Outer", "Inner", "Outer", None],
    ],
}


@pytest.mark.parametrize("word", ["Seen by", "Anything to say", "Bay light", "By"])
@pytest.mark.parametrize("form", TWO_AXLES)
def test_a_word_nobody_knows_in_a_second_header_line_changes_nothing(form, word, tmp_path):
    head = [[cell and cell.format(word) for cell in line] for line in TWO_AXLES[form]]
    rows = [["B7", f"2024-0{m}-10", 20_000 + 9_000 * m, 9 - m, 9.5 - m, 8 - m, 8.5 - m, "TK"] for m in (1, 2, 3)]
    got, found, _ = read_folder(workbook(tmp_path, {"Sheet1": [*head, *rows]}))
    assert [value for key, value in got.items() if key[1] == "2024-02-10"] == [7, 7.5, 6, 6.5]
    faces = ["inner_pad", "outer_pad"] * 2 if "few" in form else ["pad"] * 4
    assert [key[4] for key in got][:4] == faces
    assert not found["code"].isin(["R76-row-left-out", "R75-no-reading"]).any()


def test_a_first_record_of_words_under_a_group_is_a_record(tmp_path):
    rows = [["Bus", "Date", "km", "Front pads mm", None, "Rear pads mm", None, "Say"], ["B seven", None, None, "good", "worn", "L good", "worn", "dusty"],
            ["B seven", "2024-02-10", 20_000, "good", "worn", "good", "worn", "wet"]]  # fmt: skip
    proposal = mapping.propose(workbook(tmp_path, {"Sheet1": rows}))
    assert proposal.sheets["rows"].tolist() == [2] and "Front pads mm" in roles(proposal)


def test_a_first_record_of_words_under_headings_that_are_full_is_a_record(tmp_path):
    rows = [["Bus", "Date", "km", "FL pad mm", "FR pad mm", "Say"], ["Old bus", None, None, "worn", "worn", "dusty"],
            *(["B7", f"2024-0{m}-10", 20_000 + 9_000 * m, 9 - m, 9 - m, "wet"] for m in (1, 2, 3))]  # fmt: skip
    proposal = mapping.propose(workbook(tmp_path, {"Sheet1": rows}))
    assert proposal.sheets["rows"].tolist() == [4] and list(roles(proposal)) == rows[0]


def test_a_word_nobody_knows_stands_over_its_column_between_groups_and_their_parts(tmp_path):
    head = [["Bus", "Day seen", "km", "Front axle, pads mm", *[None] * 3, "Rear axle, pads mm", *[None] * 4],
            [*[None] * 3, *["L", None, "R", None] * 2, "Bay light"], [*[None] * 3, *["Inner", "Outer"] * 4, None]]  # fmt: skip
    rows = [["B7", f"2024-0{m}-10", 20_000 + 9_000 * m, *(n - m for n in range(16, 8, -1)), "TK"] for m in (1, 2, 3)]
    got, _, _ = read_folder(workbook(tmp_path, {"Sheet1": [*head, *rows]}))
    places = [(axle, side, part) for axle in ("front", "rear") for side in ("left", "right") for part in ("inner_pad", "outer_pad")]
    assert {key[2:5]: value for key, value in got.items() if key[1] == "2024-02-10"} == dict(zip(places, range(14, 6, -1), strict=True))


# --- the vehicle's name over a table, or as the sheet's


def offered(proposal):
    return [choice[0] for question in proposal.questions if question.key.startswith("vehicle_id") for choice in question.choices]


@pytest.mark.parametrize("above", [[], [["Yard, both loaders"], []]], ids=["", "with a title"])
def test_names_over_tables_beside_each_other_are_the_vehicles(above, tmp_path):
    head = HEAD[:4]
    both = [[f"2024-0{m}-10", 20_000 + 9_000 * m, 9 - m, 9 - m, None, f"2024-0{m}-17", 90_000 + 8_000 * m, 8 - m, 8 - m] for m in (1, 2, 3)]
    rows = [*above, ["Loader 1", None, None, None, None, "Loader 2"], [*head, None, *head], *both]
    got, _, proposal = read_folder(workbook(tmp_path, {"Loaders": rows}))
    assert not got and offered(proposal)[0] == layouts.LINE_ABOVE
    proposal.answer("vehicle_id.1", layouts.LINE_ABOVE)
    proposal.save()
    assert left(read_folder(tmp_path)[0]) == {"Loader 1": pads(9), "Loader 2": {f"2024-0{m}-17": 8 - m for m in (1, 2, 3)}}


TURNED = [["Gritter 3"], ["Date", *(f"2024-0{m}-10" for m in (1, 2, 3))], ["km", 29_000, 38_000, 47_000], ["LF pad mm", 8, 7, 6]]


@pytest.mark.parametrize("turned", [True, False])
@pytest.mark.parametrize("sheet", ["Gritter 3", "Sheet1"])
def test_a_name_over_the_only_table_and_as_its_sheets_is_offered(sheet, turned, tmp_path):
    rows = TURNED if turned else page([["Gritter 3"]])
    _, _, proposal = read_folder(workbook(tmp_path, {sheet: rows}))
    assert offered(proposal) == [layouts.LINE_ABOVE, *([SHEET_NAME] if sheet != "Sheet1" else []), FILE_NAME]
    proposal.answer("vehicle_id.1", offered(proposal)[0])
    assert left_of(proposal) == {"Gritter 3": pads(9)}


def left_of(proposal):
    m = checks.load_proposal(proposal).measurements
    m = m[m["side"].eq("left")]
    return {vehicle: dict(zip(its["date"].dt.strftime("%Y-%m-%d"), its["value_mm"], strict=True)) for vehicle, its in m.groupby("vehicle_id")}


@pytest.mark.parametrize("heads", [["Reg"], ["Job no"], []], ids=["vehicle", "visit", "label above"])
def test_the_title_and_the_sheets_name_are_no_columns_where_the_vehicle_is_named(heads, tmp_path):
    above = [["Brake book"]] if heads else [["Vehicle:", "V1"]]
    rows = [*above, [*heads, "Date", "km", "LF pad mm"], *([*["V1"][: len(heads)], f"2024-0{m}-10", 20_000 + 9_000 * m, 9 - m] for m in (1, 2, 3))]
    columns = roles(mapping.propose(workbook(tmp_path, {"Yard north": rows})))
    assert not {layouts.LINE_ABOVE, SHEET_NAME} & columns.keys()


# --- several visits on a vehicle's line


BLOCK = ["Date", "km", "FL pad mm", "FR pad mm"]
VISITS = {"D1": [9, 8, 7], "D2": [6, 5]}
"""Vehicle: its left pad at each of its visits, a month apart."""


def across(vehicle, block=slice(None), width=3):
    cells = [[f"2024-0{n}-10", 20_000 + 9_000 * n, mm, mm - 0.5][block] for n, mm in enumerate(VISITS[vehicle], 1)]
    return [cell for visit in cells for cell in visit] + [None] * ((width - len(cells)) * len(BLOCK[block]))


VISITS_TRUTH = {vehicle: {f"2024-0{n}-10": mm for n, mm in enumerate(its, 1)} for vehicle, its in VISITS.items()}
NAMES = [cell for n in (1, 2, 3) for cell in (f"Visit {n}", None, None, None)]
ACROSS = {
    "over the headings": [["Van", *NAMES], [None, *BLOCK * 3]],
    "beside the headings": [[None, *NAMES], ["Van", *BLOCK * 3]],
    "no names": [["Van", *BLOCK * 3]],
    "numbered": [["Van", *(f"{head} {n}" for n in (1, 2, 3) for head in BLOCK)]],
    "numbered in brackets": [["Van", *(f"{head} ({n})" for n in (1, 2, 3) for head in BLOCK)]],
}


@pytest.mark.parametrize("title", [[], [["Vans of the north yard"], []]], ids=["", "with a title"])
@pytest.mark.parametrize("form", ACROSS)
def test_the_vehicle_before_visits_side_by_side_is_of_each_of_them(form, title, tmp_path):
    rows = [*title, *ACROSS[form], *([vehicle, *across(vehicle)] for vehicle in reversed(VISITS))]
    got, found, proposal = read_folder(workbook(tmp_path, {"Vans": rows}))
    assert left(got) == VISITS_TRUTH and proposal.questions == []
    assert not found["code"].eq("R76-row-left-out").any()
    assert {*roles(proposal)} == {"Van", *BLOCK}


def test_a_title_before_visits_side_by_side_still_says_the_unit(tmp_path):
    head = ["Van", *["Date", "km", "FL pad", "FR pad"] * 3]
    folder = workbook(tmp_path, {"Vans": [["Brake pads, 32nds"], head, *([vehicle, *across(vehicle)] for vehicle in VISITS)]})
    (folder / "records.toml").unlink()
    got, _, proposal = read_folder(folder)
    assert left(got)["D1"]["2024-01-10"] == round(9 * 25.4 / 32, 3) and proposal.questions == []


def test_two_more_columns_before_and_the_day_not_first(tmp_path):
    order = [1, 0, 2, 3]
    head = ["Van", "Depot", *[BLOCK[n] for n in order] * 3]
    cells = {vehicle: across(vehicle) for vehicle in VISITS}
    rows = [[vehicle, "north", *(its[at + n] for at in (0, 4, 8) for n in order)] for vehicle, its in cells.items()]
    assert left(read_folder(workbook(tmp_path, {"Vans": [head, *rows]}))[0]) == VISITS_TRUTH


def test_numbers_that_are_no_visits_stay_in_the_headings(tmp_path):
    rows = [["Bus", "Date", "km", "Pad axle 1 left mm", "Pad axle 2 left mm"], ["B1", "2024-01-10", 20_000, 9, 8], ["B1", "2024-02-10", 30_000, 8, 7]]
    got, _, proposal = read_folder(workbook(tmp_path, {"Bus": rows}))
    assert [(key[2], value) for key, value in got.items()] == [("1", 9), ("2", 8), ("1", 8), ("2", 7)]
    assert list(roles(proposal)) == rows[0]


def test_numbers_of_axles_among_those_of_visits_stay_in_the_headings(tmp_path):
    head = ["Bus", *(name for n in (1, 2) for name in (f"Date {n}", f"km {n}", "Pad mm axle 1", "Pad mm axle 2"))]
    rows = [["B1", "2024-01-10", 20_000, 9, 8, "2024-02-10", 30_000, 8, 7], ["B2", "2024-01-10", 20_000, 9, 8, "2024-02-10", 30_000, 8, 7]]
    assert mapping.propose(workbook(tmp_path, {"Bus": [head, *rows]})).sheets["sheet"].tolist() == ["Bus"]


def test_a_second_vehicle_column_among_the_visits_is_not_guessed_at(tmp_path):
    rows = [["Van", *BLOCK, "Reg", *BLOCK], ["D1", *across("D1")[:4], "D2", *across("D2")[:4]]]
    assert len(mapping.propose(workbook(tmp_path, {"Vans": rows})).sheets) == 1
