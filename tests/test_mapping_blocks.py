"""Sheets whose lines above the records say whose they are, sheets written with a column a visit, printed reports, and shares of a lining.

Truth: the plain numbers each file is written from, by hand. Source of the forms: common practice, no source.
"""

import io

import openpyxl
import pytest
from test_mapping_oddities import read, read_folder, roles

from brakedata import headings, layouts, mapping, tablefiles

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
