"""Sheets whose lines above the records say whose they are, sheets written with a column a visit, printed reports, and shares of a lining.

Truth: the plain numbers each file is written from, by hand. Source of the forms: common practice, no source.
"""

import io

import openpyxl
import pytest
from test_mapping_oddities import read, read_folder, roles

from brakedata import checks, headings, layouts, mapping, tablefiles
from brakedata.findings import RecordsError

UNITS = '[units]\ndistance = "km"\nthickness = "mm"\n'
HEAD = "Date,Mileage km,LF pad mm,RF pad mm,Remarks\n"


def lines(odometer, pad, n=3):
    return "".join(f"{14 + i}/0{1 + i}/2024,{odometer + 1000 * i},{pad - i},{pad - i - 0.5},\n" for i in range(n))


def vehicles(got):
    return {vehicle: got[vehicle, day, *rest] for vehicle, day, *rest in sorted(got, reverse=True) if rest[1] == "left"}


def outcomes(proposal):
    ledger = proposal.ledger()
    return dict(ledger.groupby(ledger["why"].where(ledger["outcome"].eq("left out"), "taken"))["rows"].sum())


THREE = {"YK19 ABC": 9, "LM68 TRE": 8, "BD21 WXY": 7}
"""Vehicle: its first left pad."""


@pytest.mark.parametrize("again", [True, False], ids=["heading again", "one heading"])
@pytest.mark.parametrize("label", ["Vehicle: {}", "Vehicle,{}", "Reg no: {}"])
def test_a_line_over_each_block_names_its_vehicle(again, label, tmp_path):
    if label == "Vehicle,{}" and not again:
        pytest.skip("two cells and no heading below them could be a record")
    blocks = [
        f"{label.format(name)}\n{HEAD if again or not at else ''}{lines(10_000 + 40_000 * at, pad)}"
        for at, (name, pad) in enumerate(THREE.items())
    ]
    got, _, proposal = read(tmp_path, "Brake book\n\n" + "\n".join(blocks), UNITS)
    assert vehicles(got) == THREE
    assert proposal.questions == [] and outcomes(proposal)["taken"] == 9


def test_a_title_without_that_word_ends_what_the_one_before_said(tmp_path):
    got, _, proposal = read(tmp_path, f"Vehicle: YK19 ABC\n{HEAD}{lines(10_000, 9)}\nLM68 TRE\n{HEAD}{lines(50_000, 8)}", UNITS)
    assert vehicles(got) == {"YK19 ABC": 9}
    assert outcomes(proposal)["no vehicle is named"] == 3


def test_the_title_of_the_next_page_ends_nothing_and_a_note_between_records_neither(tmp_path):
    text = f"Depot, page 1\nVehicle: YK19 ABC\n{HEAD}{lines(10_000, 9, 1)}* van was in for paint\n{lines(20_000, 9, 1)}\nDepot, page 2\n{HEAD}{lines(50_000, 8)}"
    got, _, proposal = read(tmp_path, text.replace("Depot, page", "Depot page"), UNITS)
    assert {key[0] for key in got} == {"YK19 ABC"} and outcomes(proposal)["taken"] == 5


def test_bare_names_over_blocks_are_asked_about_and_one_answer_names_them(tmp_path):
    text = "\n".join(f"{name}\n{HEAD}{lines(10_000 + 40_000 * at, pad)}" for at, (name, pad) in enumerate(THREE.items()))
    got, _, proposal = read(tmp_path, text, UNITS)
    assert not got and [question.key for question in proposal.questions] == ["vehicle_id.1"]
    proposal.answer("vehicle_id.1", layouts.LINE_ABOVE)
    proposal.save()
    assert vehicles(read_folder(tmp_path)[0]) == THREE


def test_a_vehicle_on_a_line_of_its_own_in_its_column(tmp_path):
    blocks = [f"{name},,,,,\n" + "".join(f",{line}\n" for line in lines(50_000 * at + 9_000, pad).splitlines()) for at, (name, pad) in enumerate(THREE.items())]
    got, _, proposal = read(tmp_path, f"Vehicle,{HEAD}{''.join(blocks)}", UNITS)
    assert vehicles(got) == THREE and proposal.questions == []


def test_a_card_a_visit_with_the_day_and_odometer_over_its_wheels(tmp_path):
    cards = [f"Vehicle: {name},Date: {14 + at}/02/2024,Odometer: {50_000 + at} km\nWheel,Inner pad mm,Outer pad mm\nLF,{pad},{pad + 1}\nRF,{pad},{pad}\n"
             for at, (name, pad) in enumerate(THREE.items())]  # fmt: skip
    got, _, proposal = read(tmp_path, "\n".join(cards))
    assert got["LM68 TRE", "2024-02-15", "front", "left", "inner_pad", "before"] == 8
    assert got["LM68 TRE", "2024-02-15", "front", "left", "outer_pad", "before"] == 9
    assert len(got) == 12 and proposal.questions == []


def test_several_days_under_one_vehicle(tmp_path):
    table = "Wheel,Inner pad mm,Outer pad mm\nLF,{0},9\nRF,{0},8\n"
    text = "Vehicle: V1,Date: 14/02/2024,\n" + table.format(7) + "\nDate: 15/03/2024,,\n" + table.format(6)
    got, _, _ = read(tmp_path, text)
    assert got["V1", "2024-02-14", "front", "left", "inner_pad", "before"] == 7 and got["V1", "2024-03-15", "front", "left", "inner_pad", "before"] == 6


def test_the_axle_over_each_table_of_a_sheet(tmp_path):
    head = "Kenteken\tDatum\tKm-stand\tLinks (mm)\tRechts (mm)\n"
    rows = [f"12-AB-{n}\t{14 + n}-02-2024\t{110 + n}.{147 + n}\t{9 - n},{5 * (n % 2)}\t{8 - n},0\n" for n in range(6)]
    rear = [row.replace(",5\t", ",2\t") for row in rows]
    got, _, proposal = read(tmp_path, f"Remblokken\n\nVOORAS\n{head}{''.join(rows)}\nACHTERAS\n{head}{''.join(rear)}", name="remmen.txt")
    assert proposal.questions == [] and len(got) == 24
    assert got["12-AB-1", "2024-02-15", "front", "left", "pad", "before"] == 8.5
    assert got["12-AB-1", "2024-02-15", "rear", "left", "pad", "before"] == 8.2


@pytest.mark.parametrize("labels", [("Left Front", "Right Front"), ("Front,Left", ",Right")])
def test_a_column_a_visit(labels, tmp_path):
    gap = "," if "," in labels[0] else ""
    text = f"Vehicle: Van 7\n\n{gap}Date,3/14/2024,4/15/2024,5/20/2024\n{gap}Odometer (miles),1000,2000,3000\n{labels[0]},9,8,7\n{labels[1]},9,8,6\n"
    got, _, proposal = read(tmp_path, "Brake pads in mm\n" + text)
    assert proposal.questions == [] and got["Van 7", "2024-05-20", "front", "right", "pad", "before"] == 6
    assert list(proposal.sheets["rows"]) == [3] and layouts.TURNED.strip() in proposal.sheets["sheet"][0]


def test_a_vehicle_list_with_dates_is_not_turned(tmp_path):
    got, _, _ = read(tmp_path, "Vehicle,Date,Km,LF pad mm\nVan 1,2024-03-01,50000,8\nVan 2,2024-03-02,51000,7\n")
    assert len(got) == 2


REPORT = """DEPOT NORTH          BRAKE LINING REPORT          PAGE 1

FLEET   DATE        ODO KM    AX1 LH  AX1 RH  INSPECTOR
NO                             MM      MM
------  ----------  --------  ------  ------  ---------
HG01    14/02/2024    50,123      18          SMITH
TR2     15/02/2024   151,456      17      16  PATEL

DEPOT NORTH          BRAKE LINING REPORT          PAGE 2

FLEET   DATE        ODO KM    AX1 LH  AX1 RH  INSPECTOR
NO                             MM      MM
------  ----------  --------  ------  ------  ---------
HG03    16/02/2024     9,789       8       9  SMITH

END OF REPORT
"""


def test_a_printed_report_is_cut_where_its_columns_stand(tmp_path):
    got, _, proposal = read(tmp_path, REPORT, '[[layout]]\npart = "pad"\n[layout.columns]\n"DATE" = "date"\n', name="report.txt")
    assert got == {
        ("HG01", "2024-02-14", "1", "left", "pad", "before"): 18, ("TR2", "2024-02-15", "1", "left", "pad", "before"): 17,
        ("TR2", "2024-02-15", "1", "right", "pad", "before"): 16, ("HG03", "2024-02-16", "1", "left", "pad", "before"): 8,
        ("HG03", "2024-02-16", "1", "right", "pad", "before"): 9,
    }  # fmt: skip
    assert proposal.questions == [] and sum(outcomes(proposal).values()) == len(REPORT.splitlines())


def test_a_title_is_no_group_of_columns(tmp_path):
    rows = "".join(f"Van {n},2024-03-1{n},{1000 * n + 500},{9 - n},{8 - n}\n" for n in range(1, 5))
    got, _, proposal = read(tmp_path, "Parks dept. fleet brake log,,,readings in 32nds,\nVeh,Date,Miles,LF pad,RF pad\n" + rows)
    assert proposal.questions == [] and roles(proposal)["Veh"] == "vehicle_id"
    assert got["Van 1", "2024-03-11", "front", "left", "pad", "before"] == round(8 * 25.4 / 32, 3)


@pytest.mark.parametrize(
    ("title", "unit"),
    [("readings in 32nds", "32nds"), ("Brake pads (mm)", "mm"), ("mm", "mm"), ("all lining readings in inches", "in"), ("New pad = 12 mm", ""),
     ("replace at 4/32", ""), ("minimum pad in mm", ""), ("Tyre tread and brakes in mm", ""), ("Depot report", ""), ("wheelbase in mm list", "")],
)  # fmt: skip
def test_the_unit_in_a_title_is_that_of_the_readings_only_where_it_says_so(title, unit):
    assert headings.unit_over(title) == unit


def test_a_heading_with_its_own_unit_goes_before_the_title(tmp_path):
    rows = "".join(f"V1,2024-03-1{n},{1000 * n + 500},{11 - n},25.5\n" for n in range(1, 5))
    got, _, _ = read(tmp_path, "Brake pads (mm)\nVehicle,Date,Km,LF pad (32nds),Rotor F\n" + rows)
    assert got["V1", "2024-03-11", "front", "left", "pad", "before"] == round(10 * 25.4 / 32, 3)
    assert got["V1", "2024-03-11", "front", "", "rotor", "before"] == 25.5


def test_cells_that_show_per_cent_are_shares_and_no_thickness(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Vehicle", "Date", "Km", "LF pad left", "Slope"])
    for n in range(4):
        sheet.append(["V1", f"2024-03-1{n}", 1000 * n + 500, 0.85 - n / 10, 0.5])
        sheet.cell(n + 2, 4).number_format = "0%"
        sheet.cell(n + 2, 5).number_format = "0.00"
    book.save(tmp_path / "pads.xlsx")
    (tmp_path / "records.toml").write_text('[shop]\npercent = "left"\nnew_thickness_mm = 12.0\n')
    got, _, proposal = read_folder(tmp_path)
    assert list(proposal.kinds[0].cells["LF pad left"]) == ["85%", "75%", "65%", "55%"]
    assert set(proposal.kinds[0].cells["Slope"]) == {"0.5"}
    assert sorted(got.values()) == pytest.approx([6.6, 7.8, 9.0, 10.2])


def test_a_workbook_without_shares_has_no_cells_of_them():
    out = io.BytesIO()
    openpyxl.Workbook().save(out)
    from brakedata import guards

    assert tablefiles.per_cent_cells(guards.checked_workbook(out.getvalue(), "a.xlsx")) == {}


@pytest.mark.parametrize(
    ("axle", "side", "words", "place"),
    [("Essieu", "Côté", "AV,D", ("front", "right")), ("Essieu", "Côté", "AR,G", ("rear", "left")), ("Eje", "Lado", "D,D", ("front", "right")),
     ("Achse", "Seite", "H,li", ("rear", "left")), ("As", "Zijde", "A,rechts", ("rear", "right"))],
)  # fmt: skip
def test_short_words_for_axle_and_side_under_a_heading_of_their_language(axle, side, words, place, tmp_path):
    rows = "".join(f"V1,2024-03-1{n},{1000 * n + 500},{words},{9 - n}\n" for n in range(1, 4))
    got, _, proposal = read(tmp_path, f"Vehicle,Date,Km,{axle},{side},Pad mm\n{rows}")
    assert {key[2:4] for key in got} == {place} and proposal.questions == []


def test_d_under_an_english_heading_is_the_driver(tmp_path):
    rows = "".join(f"V1,2024-03-1{n},{1000 * n + 500},F,{side},{9 - n}\n" for n, side in enumerate("DPD", 1))
    got, _, proposal = read(tmp_path, f"Vehicle,Date,Km,Axle,Side,Pad mm\n{rows}", '[shop]\ndriver_side = "right"\n')
    assert got["V1", "2024-03-11", "front", "right", "pad", "before"] == 8


@pytest.mark.parametrize("heading", ["km-Stand (Tsd.)", "Odometer km (000)", "Km x1000", "odometer, thousands of km"])
def test_an_odometer_in_thousands(heading, tmp_path):
    rows = "".join(f"V1;2024-03-1{n};{150 + n},{n};{9 - n},5\n" for n in range(1, 5))
    _, _, proposal = read(tmp_path, f"Vehicle;Date;{heading};LF pad mm\n{rows}")
    assert proposal.questions == []
    assert proposal.built.tables["visits"]["odometer"].tolist() == [151_100, 152_200, 153_300, 154_400]


def test_full_odometers_under_a_heading_of_thousands_are_asked(tmp_path):
    rows = "".join(f"V1;2024-03-1{n};{odometer};{9 - n},5\n" for n, odometer in enumerate(["98,5", "99,1", "99900", "101,2"]))
    _, _, proposal = read(tmp_path, f"Vehicle;Date;km (Tsd.);LF pad mm\n{rows}")
    assert proposal.built.tables["visits"]["odometer"].isna().all() and proposal.vital


def test_a_vin_names_the_vehicle_where_nothing_else_does(tmp_path):
    rows = "".join(f"1ETH85714R8B0320{n},2024-03-1{n},{1000 * n + 500},{9 - n}\n" for n in range(1, 4))
    got, _, proposal = read(tmp_path, f"VIN,Date,Km,LF pad mm\n{rows}")
    assert len({key[0] for key in got}) == 3 and proposal.questions == []


def test_a_table_of_values_with_tyres_among_them(tmp_path):
    """A dump of a database: every value with what was measured, where and in which unit."""
    rows = "".join(
        f"T{n},2024-03-1{n},{51_000 + n},MI,BRAKE PAD,LFI,0.{n}5,IN\nT{n},2024-03-1{n},{51_000 + n},MI,TIRE TREAD,LF,9,TREADS\n" for n in range(1, 5)
    )
    got, found, proposal = read(tmp_path, f"unit_no,svc_date,meter_reading,meter_uom,meas_type,pos_code,meas_val,meas_uom\n{rows}")
    assert got == {(f"T{n}", f"2024-03-1{n}", "front", "left", "inner_pad", "before"): pytest.approx(25.4 * (n / 10 + 0.05), abs=1e-3) for n in range(1, 5)}
    assert proposal.questions == [] and found["code"].eq("R75-no-reading").sum() == 4
    assert outcomes(proposal)["no reading in it could be used"] == 4


def test_rows_that_differ_in_unused_columns_are_not_called_the_same(tmp_path):
    text = "Vehicle,Date,Km,LF pad mm,Bay\nV1,2024-03-11,5000,8,1\nV1,2024-03-11,5000,8,2\nV2,2024-03-11,5000,8,2\nV2,2024-03-11,5000,8,2\n"
    _, _, proposal = read(tmp_path, text)
    assert outcomes(proposal)["the same as another row in the columns that are used"] == 1
    assert outcomes(proposal)["the same as another row"] == 1


def test_nothing_known_of_a_table_is_asked_and_no_dead_end(tmp_path):
    (tmp_path / "a.csv").write_text("7;14;8;9\n8;15;8;9\n9;16;7;8\n")
    assert [question.key for question in mapping.propose(tmp_path).questions] == ["vehicle_id.1", "date.1"]


def test_readings_under_a_heading_that_says_nothing_are_asked_about(tmp_path):
    rows = "".join(f"V1,2024-03-1{n},{1000 * n + 500},LF,{9 - n}\n" for n in range(1, 5))
    _, _, proposal = read(tmp_path, f"Vehicle,Date,Km,Wheel,Amt\n{rows}")
    assert [question.key for question in proposal.questions] == ["unplaced.1"]


def rows_of_places(*columns, parts=("inner", "outer"), days=4):
    """A long sheet whose rows name wheel and pad: the readings 11 mm less 1 mm a visit, 0.5 less outside, each column's ``form`` of them."""
    out = ["Unit,Date,Mileage (km),Wheel,Pad," + ",".join(head for head, _ in columns)]
    for day in range(days):
        for wheel in ("LF", "RF"):
            for n, part in enumerate(parts):
                mm = 11 - day - 0.5 * n
                out.append(f"T-1,{15 + day}/0{1 + day}/2023,{20000 + 9000 * day},{wheel},{part}," + ",".join(form(mm) for _, form in columns))
    return "\n".join(out) + "\n"


def mm(value):
    return f"{value:g}"


LAST = ("T-1", "2023-04-18", "front", "right", "outer_pad", "before")


@pytest.mark.parametrize("heading", ["mm left", "MM", "Now mm", "Actual (mm)", "Measured mm", "mm. rem.", "Gauge mm", "Ist mm", "Reste mm", "Depth mm"])
def test_a_row_that_names_its_place_has_a_reading_under_any_heading_of_measuring(tmp_path, heading):
    got, _, proposal = read(tmp_path, rows_of_places((heading, mm)))
    assert proposal.questions == [] and len(got) == 16 and got[LAST] == 7.5


@pytest.mark.parametrize(
    ("heading", "form", "asked"),
    [
        ("Found", mm, "unit"),
        ("Amount left", mm, "unit"),
        ("in.", lambda v: f"{v / 25.4:.2f}", "unit"),
        ("% left", lambda v: f"{v * 8:.0f}", "new_thickness"),
    ],
)
def test_what_such_a_heading_leaves_open_is_asked_of_the_reading_not_of_its_place(tmp_path, heading, form, asked):
    got, _, proposal = read(tmp_path, rows_of_places((heading, form)))
    assert [asked in question.key for question in proposal.questions] == [True] and got == {}


@pytest.mark.parametrize(
    ("other", "form"), [("Limit mm", lambda v: "3"), ("New mm", lambda v: "12"), ("Last mm", lambda v: mm(v + 1)), ("Amount", lambda v: "85")]
)
def test_a_column_of_other_numbers_beside_it_is_no_reading(tmp_path, other, form):
    got, _, _ = read(tmp_path, rows_of_places((other, form), ("mm left", mm)))
    assert len(got) == 16 and got[LAST] == 7.5


def test_which_of_two_columns_is_the_reading_is_asked_once_and_answered_by_name(tmp_path):
    text = rows_of_places(("Gauge mm", mm), ("Actual mm", lambda v: mm(v - 0.2)))
    got, _, proposal = read(tmp_path, text)
    (question,) = proposal.questions
    assert got == {} and question.key == "unplaced.1" and [value for value, _ in question.choices] == ["Gauge mm", "Actual mm", "not used"]
    proposal.answer(question.key, "Actual mm")
    assert proposal.questions == [] and roles(proposal)["Actual mm"].startswith("thickness") and roles(proposal)["Gauge mm"] == "not used"
    proposal.save()
    got, _, proposal = read_folder(tmp_path)
    assert proposal.questions == [] and got[LAST] == 7.3


def test_that_none_of_the_columns_is_a_reading_is_an_answer_too(tmp_path):
    _, _, proposal = read(tmp_path, rows_of_places(("Amt", mm)))
    proposal.answer("unplaced.1", "not used")
    assert proposal.questions == [] and set(roles(proposal)) >= {"Amt"} and roles(proposal)["Amt"] == "not used"
    with pytest.raises(RecordsError, match="cannot be the answer"):
        proposal.answer("unplaced.1", "left front")


def test_wear_under_such_a_heading_is_never_taken_for_what_is_left(tmp_path):
    got, _, proposal = read(tmp_path, rows_of_places(("mm worn", lambda v: mm(11 - v))))
    assert got == {} and proposal.questions
    proposal.answer(proposal.questions[0].key, "mm worn")
    assert any("worn away" in text for question in proposal.questions for _, text in question.choices)


def test_tables_beside_each_other_each_keep_their_own_vehicle_and_day(tmp_path):
    rows = "".join(f"V{n},2024-02-1{n},{5000 + n},{9 - n},,W{n},2025-03-1{n},{7000 + n},{6 - n}\n" for n in range(1, 5))
    got, _, proposal = read(tmp_path, f"Fleet no,Date,Km,LF pad mm,,Fleet no,Date,Km,LR pad mm\n{rows}")
    assert got["V1", "2024-02-11", "front", "left", "pad", "before"] == 8 and got["W1", "2025-03-11", "rear", "left", "pad", "before"] == 5
    assert len(got) == 8 and proposal.questions == []


def test_the_axle_over_tables_beside_each_other(tmp_path):
    rows = "".join(f"V1,2024-02-1{n},{5000 + n},{9 - n},{8 - n},,V1,2024-02-1{n},{5000 + n},{6 - n},{5 - n}\n" for n in range(1, 5))
    head = "Front axle,,,,,,Rear axle,,,,\nReg no,Date,Km,Pad left mm,Pad right mm,,Reg no,Date,Km,Pad left mm,Pad right mm\n"
    got, _, proposal = read(tmp_path, head + rows)
    assert got["V1", "2024-02-11", "front", "left", "pad", "before"] == 8 and got["V1", "2024-02-11", "rear", "right", "pad", "before"] == 4
    assert len(got) == 16 and proposal.questions == []


def test_left_and_right_in_the_heading_and_the_axle_in_the_row(tmp_path):
    rows = "".join(f"V1,2024-02-1{n},{5000 + n},{axle},{9 - n},{8 - n}\n" for n in range(1, 5) for axle in "FR")
    got, _, proposal = read(tmp_path, f"Van,Date,Km,Axle,Pad left mm,Pad right mm\n{rows}")
    assert got["V1", "2024-02-11", "front", "left", "pad", "before"] == 8 and got["V1", "2024-02-11", "rear", "right", "pad", "before"] == 7
    assert len(got) == 16 and proposal.questions == []


def test_left_is_what_is_left_where_no_heading_says_right(tmp_path):
    got, _, _ = read(tmp_path, "Van,Date,Km,Wheel,Pad left mm\nV1,2024-02-11,5000,RF,9\nV1,2024-02-11,5000,LF,8\n")
    assert got["V1", "2024-02-11", "front", "right", "pad", "before"] == 9


@pytest.mark.parametrize("cell", ["L{} R{}", "{}L {}R", "L {} / R {}", "left {} right {}"])
def test_left_and_right_in_one_cell_under_the_heading_of_an_axle(cell, tmp_path):
    rows = "".join(f"V1,2024-02-1{n},{5000 + n},{cell.format(9 - n, 8 - n)}\n" for n in range(1, 5))
    got, _, proposal = read(tmp_path, f"Van,Date,Km,Front pads mm\n{rows}")
    assert got["V1", "2024-02-11", "front", "left", "pad", "before"] == 8 and got["V1", "2024-02-11", "front", "right", "pad", "before"] == 7
    assert proposal.questions == []


def test_headings_with_axle_numbers_before_the_side_are_headings(tmp_path):
    rows = "".join(f"V{n},2024-02-1{n},{5000 + n},{9 - n},{8 - n},7,6\n" for n in range(1, 5))
    got, _, _ = read(tmp_path, f"Reg,Date,Km,1 N/S pad mm,1 O/S pad mm,2 N/S pad mm,Axle 2 offside pad mm\n{rows}", '[shop]\ntraffic_side = "left"\n')
    assert {key[2:4]: mm for key, mm in got.items() if key[0] == "V1"} == {("1", "left"): 8, ("1", "right"): 7, ("2", "left"): 7, ("2", "right"): 6}


# --- a second round ---------------------------------------------------------------------------------------------------


def wide(heads, values, n=3, before="", after=""):
    """Lines of van V1: a day, an odometer and the ``values(k)`` of each visit, under headings."""
    rows = "".join(f"V1,2024-0{k + 1}-14,{10_000 + 5_000 * k},{','.join(map(str, values(k)))}\n" for k in range(n))
    return f"{before}Van,Date,Km,{heads}\n{rows}{after}"


def of_visit(got, day="2024-01-14"):
    return {key[2:5]: value for key, value in got.items() if key[1] == day}


def test_a_heading_that_stands_twice_is_asked_about_and_its_count_is_no_axle(tmp_path):
    got, _, proposal = read(tmp_path, wide("Inner,Outer,Inner,Outer", lambda k: (9 - k, 8 - k, 7 - k, 6 - k)), UNITS)
    assert got == {} and [question.key for question in proposal.questions] == ["unplaced.1"]


@pytest.mark.parametrize("heads", ["Front pad mm,Front pad mm", "LF pad mm,Left front lining (mm)", "LF pad,LF pad mm"])
def test_columns_that_name_one_place_and_differ_are_asked_about(heads, tmp_path):
    got, _, proposal = read(tmp_path, wide(heads, lambda k: (9 - k, 8 - k)), UNITS)
    assert got == {} and [question.key for question in proposal.questions] == ["unplaced.1"]
    (tmp_path / "records.toml").write_text(UNITS + "[[layout]]\n[layout.columns]\n" + "".join(
        f'"{column}" = "thickness: front {side} pad"\n' for column, side in zip(proposal.columns["column"][3:], ("left", "right"), strict=True)))  # fmt: skip
    assert of_visit(read_folder(tmp_path)[0]) == {("front", "left", "pad"): 9, ("front", "right", "pad"): 8}


def test_one_place_in_two_units_or_equal_readings_are_not_asked_about(tmp_path):
    got, _, proposal = read(tmp_path, wide("LF pad mm,LF pad in,RF pad mm,RF pad mm", lambda k: (9 - k, (9 - k) / 25.4, 8 - k, 8 - k)), UNITS)
    assert proposal.questions == [] and of_visit(got) == {("front", "left", "pad"): 9, ("front", "right", "pad"): 8}


def test_an_average_is_no_left_front_wheel_but_in_french(tmp_path):
    got, _, _ = read(tmp_path, wide("LF pad mm,RF pad mm,Avg,Front avg mm", lambda k: (9 - k, 8 - k, 8.5 - k, 8.4 - k)), UNITS)
    assert of_visit(got) == {("front", "left", "pad"): 9, ("front", "right", "pad"): 8} and len(got) == 6
    got, _, _ = read(tmp_path, wide("AVG plaquette mm,AVD plaquette mm", lambda k: (9 - k, 8 - k)), UNITS)
    assert of_visit(got) == {("front", "left", "pad"): 9, ("front", "right", "pad"): 8}


def test_the_distance_on_these_pads_is_no_odometer(tmp_path):
    _, _, proposal = read(tmp_path, wide("LF pad mm", lambda k: (9 - k,)).replace("Km", "Km on pads"), UNITS)
    assert roles(proposal)["Km on pads"] == "not used"


def test_a_column_that_says_before_and_after_whatever_it_is_called(tmp_path):
    rows = "".join(f"V1,2024-0{k + 1}-14,{10_000 + 5_000 * k},{stage},{mm}\n" for k in range(3) for stage, mm in (("incoming", 5 - k), ("outgoing", 12)))
    got, _, _ = read(tmp_path, f"Van,Date,Km,Stage,LF pad mm\n{rows}")
    assert [got["V1", f"2024-0{k + 1}-14", "front", "left", "pad", "before"] for k in range(3)] == [5, 4, 3]
    assert [value for key, value in got.items() if key[5] == "after"] == [12, 12, 12]


@pytest.mark.parametrize("groups", [",Left front,,,Right front,", "Left front,,,Right front,,"], ids=["centred", "first"])
def test_a_group_over_the_middle_of_its_columns(groups, tmp_path):
    rows = wide("Inner,Outer,Disc,Inner,Outer,Disc", lambda k: (9 - k, 8 - k, 25, 7 - k, 6 - k, 24)).partition("\n")[2]
    got, _, _ = read(tmp_path, f"Van,Date,Km,{groups}\n,,,Inner,Outer,Disc,Inner,Outer,Disc\n{rows}", UNITS)
    assert of_visit(got) == {
        ("front", "left", "inner_pad"): 9, ("front", "left", "outer_pad"): 8, ("front", "left", "rotor"): 25,
        ("front", "right", "inner_pad"): 7, ("front", "right", "outer_pad"): 6, ("front", "right", "rotor"): 24,
    }  # fmt: skip


def test_groups_whose_columns_are_not_clear_name_only_those_they_stand_over(tmp_path):
    rows = wide("L,R,L,R", lambda k: (9 - k, 8 - k, 7 - k, 6 - k)).partition("\n")[2]
    got, _, _ = read(tmp_path, f",,,,Front pad,Rear pad,\nVan,Date,Km,L,R,L,L\n{rows}", UNITS)
    assert of_visit(got) == {("front", "right", "pad"): 8, ("rear", "left", "pad"): 7}


@pytest.mark.parametrize(
    "again",
    ["Van,Date,Miles,LF pad 32nds,RF pad 32nds", "Van,Date,Km,LR pad mm,RR pad mm"],
    ids=["another unit", "other wheels"],
)
def test_a_second_header_in_the_same_columns_starts_another_table(again, tmp_path):
    first = wide("LF pad mm,RF pad mm", lambda k: (9 - k, 8 - k))
    got, _, _ = read(tmp_path, first + again + "\nV1,2024-05-14,30000,8,7\n")
    axle, factor = ("rear", 1) if "LR" in again else ("front", 25.4 / 32)
    assert of_visit(got, "2024-05-14") == {(axle, "left", "pad"): round(8 * factor, 3), (axle, "right", "pad"): round(7 * factor, 3)}
    assert len(got) == 8


def test_a_title_right_above_a_header_in_another_order_belongs_to_it(tmp_path):
    cards = "Vehicle: A1,,,\nDate,Km,LF mm,RF mm\n2024-01-14,10000,9,8\n2024-02-14,11000,8,7\n,,,\n"
    cards += "Vehicle: B2,,,\nDate,Km,RF mm,LF mm\n2024-01-14,50000,6,5\n2024-02-14,51000,5,4\n"
    got, _, _ = read(tmp_path, cards, '[[layout]]\npart = "pad"\n')
    assert vehicles(got) == {"A1": 9, "B2": 5}


@pytest.mark.parametrize("note", ["* all readings in 32nds", "Note: all pad readings in 32nds of an inch"])
def test_a_unit_in_a_note_under_the_table(note, tmp_path):
    text = wide("LF pad,RF pad", lambda k: (11 - k, 10 - k), after=f"V2,2024-03-14,9000,7,7\n,,,,\n{note},,,,\n").replace("Van,", "Unit,")
    got, _, proposal = read(tmp_path, text)
    assert proposal.questions == [] and of_visit(got) == {("front", "left", "pad"): 8.731, ("front", "right", "pad"): 7.938}


@pytest.mark.parametrize("note", ["rear pads in 32nds", "rotors in inches", "all in 32nds except pads of V2", "readings above in 32nds", "new pads 12 mm"])
@pytest.mark.parametrize("between", [True, False])
def test_a_note_of_some_readings_only_says_no_unit_of_all(note, between, tmp_path):
    rows = wide("LF pad,LR pad,LF disc", lambda k: (9 - k, 8 - k, 25)).splitlines()
    rows.insert(2 if between else len(rows), f"{note},,,,,")
    got, _, _ = read(tmp_path, "\n".join(rows) + "\n", UNITS)
    assert of_visit(got, "2024-03-14") == {("front", "left", "pad"): 7, ("rear", "left", "pad"): 6, ("front", "left", "rotor"): 25}


def test_a_unit_said_between_the_records_holds_from_there_on(tmp_path):
    rows = wide("LF pad,RF pad", lambda k: (11 - k, 10 - k)).splitlines()
    got, _, _ = read(tmp_path, "\n".join([*rows[:3], "from here on readings in 32nds,,,,", *rows[3:]]) + "\n", UNITS)
    assert of_visit(got) == {("front", "left", "pad"): 11, ("front", "right", "pad"): 10}
    assert of_visit(got, "2024-03-14") == {("front", "left", "pad"): 7.144, ("front", "right", "pad"): 6.35}


@pytest.mark.parametrize("sign", ["do.", '""""', "ditto", "〃", '"-""-"'])
def test_a_ditto_sign_is_the_vehicle_above_and_no_vehicle(sign, tmp_path):
    rows = "".join(f"{name if not k else sign},2024-0{k + 1}-14,{odometer + 5_000 * k},{pad - k}\n"
                   for name, odometer, pad in (("V1", 10_000, 9), ("V2", 60_000, 8)) for k in range(3))  # fmt: skip
    got, found, _ = read(tmp_path, f"Van,Date,Km,LF pad mm\n{rows}")
    assert [*got.values()] == [9, 8, 7, 8, 7, 6] and [key[0] for key in got] == 3 * ["V1"] + 3 * ["V2"]
    assert "a ditto sign" in " ".join(found["reading"])


@pytest.mark.parametrize("between", ["", ",,,\n", "Average,,,8\n"])
def test_a_vehicle_written_once_over_its_visits(between, tmp_path):
    rows = between.join("".join(f"{'' if k else name},2024-0{k + 1}-14,{odometer + 5_000 * k},{pad - k}\n" for k in range(3))
                        for name, odometer, pad in (("V1", 60_000, 9), ("V2", 10_000, 8)))  # fmt: skip
    got, found, _ = read(tmp_path, f"Van,Date,Km,LF pad mm\n{rows}")
    assert [key[0] for key in got] == 3 * ["V1"] + 3 * ["V2"]
    assert "nothing is written: as in the last row above" in " ".join(found["reading"])
    back = f"Van,Date,Km,LF pad mm\n{rows}".replace(",20000,", ",5000,")  # an odometer that falls: of another vehicle
    got, found, _ = read(tmp_path, back)
    assert {key[0] for key in got} == {"V1", "V2"} and len(got) == 2 and found["code"].eq("R76-row-left-out").sum() == 4


def test_a_day_written_once_over_its_vehicles(tmp_path):
    rows = "".join(f"{'' if at else f'2024-0{k + 1}-14'},V{at},{10_000 * (at + 1) + 5_000 * k},{9 - k}\n" for k in range(3) for at in range(3))
    got, _, _ = read(tmp_path, f"Date,Van,Km,LF pad mm\n{rows}")
    assert [got[f"V{at}", f"2024-0{k + 1}-14", "front", "left", "pad", "before"] for k in range(3) for at in range(3)] == [9] * 3 + [8] * 3 + [7] * 3
    got, _, _ = read(tmp_path, f"Date,Van,Km,LF pad mm\n{rows.replace('V1', 'V0')}")
    assert len(got) == 3  # a vehicle twice below a day: days are missing


@pytest.mark.parametrize("traffic, right", [("left", "OS"), ("right", "NS")])
def test_in_under_the_near_side_is_the_inner_pad(traffic, right, tmp_path):
    rows = wide("", lambda k: (9 - k, 8 - k, 7 - k, 6 - k)).partition("\n")[2]
    head = "Van,Date,Km,Front,,,\n,,,O/S,,N/S,\n,,,Out,In,Out,In\n"
    toml = f'{UNITS}[shop]\ntraffic_side = "{traffic}"\n[[layout]]\npart = "pad"\n'
    got, _, _ = read(tmp_path, head + rows, toml)
    sides = ("right", "left") if right == "OS" else ("left", "right")
    places = [("front", side, part) for side in sides for part in ("outer_pad", "inner_pad")]
    assert of_visit(got) == dict(zip(places, (9, 8, 7, 6), strict=True))


def test_a_heading_says_the_order_of_left_and_right_in_its_cells(tmp_path):
    got, _, proposal = read(tmp_path, wide("Front R/L pads mm,Rear L/R pads mm", lambda k: (f"{9 - k}/{8 - k}", f"{7 - k}/{6 - k}")))
    assert proposal.questions == []
    assert of_visit(got) == {("front", "right", "pad"): 9, ("front", "left", "pad"): 8, ("rear", "left", "pad"): 7, ("rear", "right", "pad"): 6}


@pytest.mark.parametrize("heads", ["F/L,F/R,R/L,R/R", "L/F,R/F,L/R,R/R"])
def test_wheels_with_a_stroke(heads, tmp_path):
    got, _, _ = read(tmp_path, wide(heads, lambda k: (9 - k, 8 - k, 7 - k, 6 - k)), UNITS + '[[layout]]\npart = "pad"\n')
    assert of_visit(got) == {("front", "left", "pad"): 9, ("front", "right", "pad"): 8, ("rear", "left", "pad"): 7, ("rear", "right", "pad"): 6}


def test_disc_or_drum_is_the_kind_of_brake_and_not_what_was_measured(tmp_path):
    rows = "".join(f"V1,2024-0{k + 1}-14,{10_000 + 5_000 * k},{axle},{kind},{16 - k}\n" for k in range(3) for axle, kind in ((1, "Disc"), (2, "Drum")))
    got, _, proposal = read(tmp_path, f"Truck,Date,Km,Axle,Brakes,Thickness mm\n{rows}", UNITS)
    assert got == {} and [question.key for question in proposal.questions] == ["part.1"]


@pytest.mark.parametrize("vehicles", [["T-1"], ["101"], ["101", "204"]])
def test_a_column_of_units_names_the_vehicles_where_no_other_does_and_units_of_length_never(tmp_path, vehicles):
    head, *rows = rows_of_places(("mm left", mm)).splitlines()
    text = "\n".join([head, *(row.replace("T-1,", f"{vehicle},") for vehicle in vehicles for row in rows)])
    got, _, proposal = read(tmp_path, text + "\n")
    assert proposal.questions == [] and {vehicle for vehicle, *_ in got} == set(vehicles) and len(got) == 16 * len(vehicles)
    with_unit = [head.replace("Unit,", "Van,").replace("mm left", "left,Unit"), *(f"{row},mm" for row in text.splitlines()[1:])]
    (tmp_path / "checks.csv").write_text("\n".join(with_unit))
    got, _, proposal = read_folder(tmp_path)
    assert roles(proposal)["Unit"] == "unit" and len(got) == 16 * len(vehicles)


def test_a_file_of_one_vehicle_that_no_column_names_can_be_named_by_one_that_is_the_same_throughout_or_by_the_file(tmp_path):
    text = rows_of_places(("mm left", mm)).replace("Unit,", "Stock,").replace("T-1,", "Betty,")
    _, _, proposal = read(tmp_path, text, name="Van 12.csv")
    (question,) = proposal.questions
    assert question.key == "vehicle_id.1" and [value for value, _ in question.choices] == ["Stock", "(name of the file)"]
    proposal.answer(question.key, "(name of the file)")
    proposal.save()
    got, _, proposal = read_folder(tmp_path)
    assert proposal.questions == [] and {vehicle for vehicle, *_ in got} == {"Van 12"} and len(got) == 16


def test_days_that_stand_over_the_records_of_that_day(tmp_path):
    text = "Vehicle,Km,FL mm,FR mm\nFriday 7 March 2025,,,\nVan A,106743,3,3.5\nVan B,50100,8,8\nMon 10/03/2025,,,\nVan A,106999,9,9\nVan C,20100,7,7\nPrinted 11/03/2025,,,\n"
    got, _, proposal = read(tmp_path, text, '[[layout]]\npart = "pad"\n[layout.columns]\n"Vehicle" = "vehicle_id"\n')
    assert {(key[0], key[1], key[3]): mm for key, mm in got.items()} == {
        ("Van A", "2025-03-07", "left"): 3, ("Van A", "2025-03-07", "right"): 3.5, ("Van B", "2025-03-07", "left"): 8, ("Van B", "2025-03-07", "right"): 8,
        ("Van A", "2025-03-10", "left"): 9, ("Van A", "2025-03-10", "right"): 9, ("Van C", "2025-03-10", "left"): 7, ("Van C", "2025-03-10", "right"): 7,
    }  # fmt: skip
    assert sum(outcomes(proposal).values()) == len(text.splitlines())


TIGHT = """COUNTY LINK TRANSPORT            BRAKE WEAR REPORT              PAGE 1

DATE       VEH          KM    LF   RF  WORK
-------------------------------------------------
13/01/2025 5501      42425      3  3.5
14/01/2025 5502      36492      9    9
15/01/2025 5507      32025      3    3  FRONT PADS REPLACED, FRONT DISCS SKIMMED
16/01/2025 5502      37010   10.5 10.5
17/01/2025 5501      42973     10   10

5 RECORDS PRINTED
"""


def test_a_printed_report_whose_columns_stand_one_blank_apart(tmp_path):
    got, _, proposal = read(tmp_path, TIGHT, '[units]\nthickness = "mm"\n[[layout]]\npart = "pad"\n[layout.columns]\n"LF" = "thickness: front left"\n', name="report.txt")
    assert {(key[0], key[1], key[3]): mm for key, mm in got.items()} == {
        ("5501", "2025-01-13", "left"): 3, ("5501", "2025-01-13", "right"): 3.5, ("5502", "2025-01-14", "left"): 9, ("5502", "2025-01-14", "right"): 9,
        ("5507", "2025-01-15", "left"): 3, ("5507", "2025-01-15", "right"): 3, ("5502", "2025-01-16", "left"): 10.5, ("5502", "2025-01-16", "right"): 10.5,
        ("5501", "2025-01-17", "left"): 10, ("5501", "2025-01-17", "right"): 10,
    }  # fmt: skip
    assert len(checks.load_proposal(proposal).work) == 2


@pytest.mark.parametrize("line", ["Monday", "next day", "MOT due 12 March 2025", "2025-04", "No date", "Week 11"])
def test_a_line_that_is_no_day_ends_the_day_over_the_records(tmp_path, line):
    text = f"Vehicle,Km,FL pad mm,FR pad mm\n7 March 2025,,,\nVan A,106743,3,3.5\nVan B,50100,8,8\nVan C,,,\n{line},,,\nVan D,43000,9,8\n18 March 2025,,,\nVan E,20100,7,7\n"
    _, _, proposal = read(tmp_path, text)
    seen = dict(checks.load_proposal(proposal).visits[["vehicle_id", "date"]].astype("str").to_numpy().tolist())
    assert (seen["Van B"], seen["Van E"]) == ("2025-03-07", "2025-03-18") and seen.get("Van D") != "2025-03-07"
