"""Small files that were once read wrongly or left out without a word; each as a shop would write it.

Truth: the plain numbers each file is written from, by hand. Source of the forms: common practice, no source.
"""

import openpyxl
import pytest

from brakedata import checks, headings, mapping

DAYS = ("2024-01-15", "2024-02-15", "2024-03-15", "2024-04-15")


def read(tmp_path, text, toml="", name="checks.csv"):
    """The readings and the findings of a file as ``{(vehicle, date, axle, side, part, taken): mm}``, and its proposal."""
    (tmp_path / name).write_text(text, encoding="utf-8")
    if toml:
        (tmp_path / "records.toml").write_text(toml, encoding="utf-8")
    return read_folder(tmp_path)


def read_folder(folder):
    proposal = mapping.propose(folder)
    loaded = checks.load_proposal(proposal)
    m = loaded.measurements
    key = zip(m["vehicle_id"], m["date"].dt.strftime("%Y-%m-%d"), m["axle"], m["side"], m["part"], m["taken"], strict=True)
    return dict(zip(key, m["value_mm"].round(3), strict=True)), loaded.findings, proposal


def roles(proposal):
    return dict(zip(proposal.columns["column"], proposal.columns["role"], strict=True))


def test_each_row_says_its_unit_under_a_heading_that_names_the_lining(tmp_path):
    rows = "".join(f"V1,{day},{1000 * n + 500},LF,{value},{unit}\n" for n, (day, value, unit) in enumerate(
        [(DAYS[0], 9, "mm"), (DAYS[1], 11, "32nds"), (DAYS[2], 8, "mm"), (DAYS[3], 10, "32nds")], 1))  # fmt: skip
    got, _, proposal = read(tmp_path, "van,date,km,wheel,Lining pad,Lining unit\n" + rows)
    assert list(got.values()) == [9, round(11 * 25.4 / 32, 3), 8, round(10 * 25.4 / 32, 3)]
    assert proposal.questions == []


@pytest.mark.parametrize("unit_first", [False, True])
def test_two_unit_columns_each_belong_to_their_own_readings(tmp_path, unit_first):
    head = "van,date,km,wheel," + ("u,pads,u2,rotor" if unit_first else "pads,u,rotor,u2")
    rows = "".join(
        f"V1,{day},{1000 * n + 500},LF," + (f"mm,{9 - n},in,0.9{n}\n" if unit_first else f"{9 - n},mm,0.9{n},in\n")
        for n, day in enumerate(DAYS)
    )
    got, _, _ = read(tmp_path, f"{head}\n{rows}")
    assert [got["V1", day, "front", "left", "pad", "before"] for day in DAYS] == [9, 8, 7, 6]
    assert [got["V1", day, "front", "left", "rotor", "before"] for day in DAYS] == [round(0.9 * 25.4 + 0.254 * n, 3) for n in range(4)]


def test_a_rotor_is_never_measured_in_the_linings_32nds(tmp_path):
    rows = "".join(f"V1,{day},{1000 * n + 500},LF,{11 - n},{27.5 - n / 10}\n" for n, day in enumerate(DAYS))
    got, found, _ = read(tmp_path, "van,date,km,wheel,pad,rotor\n" + rows, '[units]\nthickness = "32nds"\n')
    assert [got["V1", day, "front", "left", "rotor", "before"] for day in DAYS] == [27.5, 27.4, 27.3, 27.2]
    assert got["V1", DAYS[0], "front", "left", "pad", "before"] == round(11 * 25.4 / 32, 3)
    assert found["reading"].str.contains("taken as mm").any()


def test_limits_and_new_dimensions_are_no_readings(tmp_path):
    head = "van,date,km,wheel,pad mm,pad new mm,pad min mm,rotor mm,rotor discard mm\n"
    rows = "".join(f"V1,{day},{1000 * n + 500},LF,{9 - n},12,{2 + n % 2},25,23\n" for n, day in enumerate(DAYS))
    got, _, proposal = read(tmp_path, head + rows)
    assert sorted(set(got.values())) == [6, 7, 8, 9, 25]
    assert proposal.questions == []


def test_the_lowest_point_is_a_reading_where_no_other_column_has_its_place(tmp_path):
    rows = "".join(f"V1,{day},{1000 * n + 500},{9 - n}\n" for n, day in enumerate(DAYS))
    got, _, _ = read(tmp_path, "van,date,km,LF pad min mm\n" + rows)
    assert list(got.values()) == [9, 8, 7, 6]


def test_before_and_after_the_work_stay_apart(tmp_path):
    rows = "".join(f"V1,{day},{1000 * n + 500},{4 - n},12\n" for n, day in enumerate(DAYS[:3]))
    got, _, proposal = read(tmp_path, "van,date,km,LF pad before mm,LF pad after mm\n" + rows)
    place = ("front", "left", "pad")
    assert [got["V1", day, *place, "before"] for day in DAYS[:3]] == [4, 3, 2]
    assert [got["V1", day, *place, "after"] for day in DAYS[:3]] == [12, 12, 12]
    proposal.save()
    assert read_folder(tmp_path)[0] == got


def test_a_second_header_in_another_order_starts_another_table(tmp_path):
    text = "Van,Date,Km,LF pad mm,RF pad mm,LR pad mm,RR pad mm\nV1,2024-01-15,1000,9,8,7,6\n,,,,,,\n"
    text += "Van,Date,Km,LF pad mm,LR pad mm,RF pad mm,RR pad mm\nV1,2024-02-15,2000,8.5,6.5,7.5,5.5\n"
    got, _, _ = read(tmp_path, text)
    at = {(side, axle): got["V1", "2024-02-15", axle, side, "pad", "before"] for axle in ("front", "rear") for side in ("left", "right")}
    assert at == {("left", "front"): 8.5, ("right", "front"): 7.5, ("left", "rear"): 6.5, ("right", "rear"): 5.5}


def test_what_was_measured_decides_and_unknown_words_are_left_out(tmp_path):
    rows = "".join(
        f"V1,{day},{1000 * n + 500},LF,{what},{value} mm\n"
        for n, day in enumerate(DAYS) for what, value in (("lining", 9 - n), ("tread", 7), ("brake fluid", 3))
    )  # fmt: skip
    got, found, _ = read(tmp_path, "van,date,km,wheel,what,value\n" + rows, '[[layout]]\npart = "pad"\n')
    assert list(got.values()) == [9, 8, 7, 6]
    assert found["code"].eq("R75-no-reading").sum() == 8


def test_a_column_that_names_parts_is_the_part_whatever_it_is_called(tmp_path):
    rows = "".join(f"V1,{day},{1000 * n + 500},{what},{value}\n" for n, day in enumerate(DAYS) for what, value in (("Pads mm", 9 - n), ("Discs mm", 26)))
    got, _, _ = read(tmp_path, "van,date,km,What,FL\n" + rows, '[units]\nthickness = "mm"\n')
    assert {key[4]: value for key, value in got.items() if key[1] == DAYS[3]} == {"pad": 6, "rotor": 26}


def test_merged_cells_hold_for_every_record_beside_them_and_no_further(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    for row in (["Van", "Date", "km", "Part", "FL mm"], ["V1", "2024-01-15", 1000, "pads", 9], [None, None, None, "discs", 26],
                ["V1", "2024-02-15", 2000, "pads", 8], [None, None, None, "discs", 25.9], [None, None, None, "pads", 3]):  # fmt: skip
        sheet.append(row)
    for column in (1, 2, 3):
        for top in (2, 4):
            sheet.merge_cells(start_row=top, start_column=column, end_row=top + 1, end_column=column)
    book.save(tmp_path / "checks.xlsx")
    got, found, _ = read_folder(tmp_path)
    assert {(day, part): value for (_, day, _, _, part, _), value in got.items()} == {
        ("2024-01-15", "pad"): 9, ("2024-01-15", "rotor"): 26, ("2024-02-15", "pad"): 8, ("2024-02-15", "rotor"): 25.9,
    }  # fmt: skip
    assert found.loc[found["code"].eq("R76-row-left-out"), "row"].tolist() == [6]


def test_rows_below_a_visit_are_of_it_until_a_place_comes_again_or_a_line_is_blank(tmp_path):
    text = "truck,date,km,wheel,pad mm\nT1,2024-01-15,1000,LF,9\n,,,RF,8\n,,,LF,3\nT1,2024-02-15,2000,LF,8\n,,,,\n,,,RF,2\n"
    got, found, _ = read(tmp_path, text)
    assert {(day, side): value for (_, day, _, side, *_), value in got.items()} == {
        ("2024-01-15", "left"): 9, ("2024-01-15", "right"): 8, ("2024-02-15", "left"): 8,
    }  # fmt: skip
    assert found.loc[found["code"].eq("R76-row-left-out"), "row"].tolist() == [4, 7]
    assert found["reading"].str.contains("of the visit above it").any()


def test_readings_of_a_place_that_nothing_names_are_asked_and_never_dropped_in_silence(tmp_path):
    rows = "".join(f"V1,{day},{1000 * n + 500},{9 - n} mm,{8 - n} mm\n" for n, day in enumerate(DAYS))
    got, _, proposal = read(tmp_path, "van,date,km,Corner A,Corner B\n" + rows)
    assert got == {}
    assert [(question.key, question.vital) for question in proposal.questions] == [("unplaced.1", True)]
    proposal.answer("columns.1.Corner A", "thickness: front left pad")
    proposal.answer("unplaced.1", "not used")
    assert proposal.questions == []


@pytest.mark.parametrize("head", ["Unit,Date,Km,1,2,3,4", "Unit,Date,Km,Technician,Notes,Duty,1,2,3,4"])
def test_headings_of_digits_alone_are_no_axles(tmp_path, head):
    extra = ",JB,ok,city" if "Notes" in head else ""
    rows = "".join(f"V{n},{day},{1000 * n + 500}{extra},9,8,7,6\n" for n, day in enumerate(DAYS))
    got, _, proposal = read(tmp_path, f"{head}\n{rows}")
    assert got == {}
    assert [question.key for question in proposal.questions] == ["unplaced.1"]


def test_a_thickness_in_a_text_is_said_not_to_be_read(tmp_path):
    text = "van,date,km,remark\nV1,2024-01-15,1000,front pads 5 mm\nV1,2024-02-15,2000,oil change\nV1,2024-03-15,3000,mirror 5 mm loose\n"
    _, found, _ = read(tmp_path, text)
    assert found.loc[found["code"].eq("R75-no-reading"), "row"].tolist() == [2]


def test_a_second_file_of_the_same_kind_is_no_news(tmp_path):
    head, rows = "van,date,km,LF pad mm\n", "V1,2024-01-15,1000,9\nV1,2024-02-15,2000,8\n"
    _, _, proposal = read(tmp_path, head + rows, name="january.csv")
    proposal.save()
    _, _, proposal = read(tmp_path, head + "V1,2024-03-15,3000,7\n", name="march.csv")
    assert proposal.questions == []


def test_the_part_can_be_said_in_two_lines_and_is_kept(tmp_path):
    rows = "".join(f"V1,{day},{1000 * n + 500},{9 - n},{8 - n}\n" for n, day in enumerate(DAYS))
    toml = '[shop]\ntraffic_side = "left"\n[units]\nthickness = "mm"\n[[layout]]\npart = "pad"\n'
    got, _, proposal = read(tmp_path, "van,date,km,N/S Front,O/S Front\n" + rows, toml)
    assert got["V1", DAYS[0], "front", "left", "pad", "before"] == 9
    proposal.save()
    assert read_folder(tmp_path)[0] == got


@pytest.mark.parametrize(
    ("heading", "axle", "side", "part"),
    [
        ("Balata del. izq.", "front", "left", ""), ("Balata tras. der.", "rear", "right", ""),
        ("Plaquettes Av. G", "front", "left", "pad"), ("Belag vorne re.", "front", "right", "pad"),
        ("Belag hinten li.", "rear", "left", "pad"), ("vorne links / front left", "front", "left", ""),
        ("LF lining mm", "front", "left", ""), ("LF brake pad current (mm)", "front", "left", "pad"),
    ],
)  # fmt: skip
def test_places_beside_other_words(heading, axle, side, part):
    place = headings.places([heading], {})[0]
    assert (place.axle, place.side, place.part) == (axle, side, part)


@pytest.mark.parametrize("heading", ["vorne links / front right", "front left / rear left"])
def test_halves_that_contradict_name_no_one_place(heading):
    place = headings.places([heading], {})[0]
    assert place is None or not (place.axle and place.side)


def test_inner_and_outer_in_one_cell_go_where_the_heading_says(tmp_path):
    rows = "".join(f"V1,{day},{1000 * n + 500},{8 - n}/{9 - n},{9 - n}/{8 - n}\n" for n, day in enumerate(DAYS))
    got, _, proposal = read(tmp_path, "van,date,km,LF i/o,RF outer/inner\n" + rows, '[units]\nthickness = "mm"\n')
    assert proposal.questions == []
    for side in ("left", "right"):
        assert [got["V1", day, "front", side, "inner_pad", "before"] for day in DAYS] == [8, 7, 6, 5]
        assert [got["V1", day, "front", side, "outer_pad", "before"] for day in DAYS] == [9, 8, 7, 6]


def test_millimetres_left_are_no_left_side(tmp_path):
    rows = "".join(f"V1,{day},{1000 * n + 500},front,{9 - n}\n" for n, day in enumerate(DAYS))
    got, _, _ = read(tmp_path, "van,date,km,axle,mm left\n" + rows)
    assert not any(side == "left" for _, _, _, side, *_ in got)


def test_in_is_the_inch_where_no_heading_says_out(tmp_path):
    rows = "".join(f"V1,{day},{1000 * n + 500},0.{35 - n}\n" for n, day in enumerate(DAYS))
    got, _, _ = read(tmp_path, "van,date,km,LF in\n" + rows, '[units]\nthickness = "in"\n[[layout]]\npart = "pad"\n')
    assert got["V1", DAYS[0], "front", "left", "pad", "before"] == round(0.35 * 25.4, 3)


def test_sides_of_numbered_axles(tmp_path):
    rows = "".join(f"T1,{day},{1000 * n + 500},{19 - n},18,17,16,15,14\n" for n, day in enumerate(DAYS))
    got, _, _ = read(tmp_path, "truck,date,km,1L,1R,2L,2R,3L,3R\n" + rows, '[units]\nthickness = "mm"\n[[layout]]\npart = "shoe"\n')
    on = {key[2] + key[3][0]: value for key, value in got.items() if key[1] == DAYS[0]}
    assert on == {"1l": 19, "1r": 18, "2l": 17, "2r": 16, "3l": 15, "3r": 14}
