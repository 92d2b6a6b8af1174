"""Small files that were once read wrongly or left out without a word; each as a shop would write it.

Truth: the plain numbers each file is written from, by hand. Source of the forms: common practice, no source.
"""

import openpyxl
import pytest

import brakedata
from brakedata import cells, checks, headings, mapping
from brakedata.findings import RecordsError

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


def test_a_thickness_in_a_text_that_is_not_clear_is_said_not_to_be_read(tmp_path):
    text = "van,date,km,remark\nV1,2024-01-15,1000,front pads 5 mm at the inner edge\nV1,2024-02-15,2000,oil change\nV1,2024-03-15,3000,mirror 5 mm loose\n"
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


WEAR = 'van,date,km,LF pad wear mm,"Left rear, pad worn (mm)"\n'
"""Worn away so much of pads that were 12 mm new, over four visits: 0.5, 1.5, 3, 4.25 mm in front, twice that behind."""
GONE = (0.5, 1.5, 3.0, 4.25)


def wear_rows(of=lambda mm: f"{mm:g}"):
    return "".join(f"V1,{day},{1000 * n + 500},{of(mm)},{of(2 * mm)}\n" for n, (day, mm) in enumerate(zip(DAYS, GONE, strict=True)))


def test_wear_is_asked_and_nothing_is_taken_before(tmp_path):
    (tmp_path / "checks.csv").write_text(WEAR + wear_rows(), encoding="utf-8")
    with pytest.raises(RecordsError, match='what is left of the lining, or what is worn away.* wear = "left" or "worn",'):
        brakedata.load(tmp_path)
    got, found, proposal = read_folder(tmp_path)
    assert got == {} and [(question.key, question.vital) for question in proposal.questions] == [("wear.1", True)]
    assert found["code"].eq("R74-ask").sum() == 8
    assert proposal.ledger()["rows"].sum() == 5  # the visits themselves are taken
    assert all("asked: " in words for words in proposal.columns.set_index("column")["read_as"]["LF pad wear mm"])


def test_what_is_left_under_a_heading_of_wear_is_read_as_it_stands_once_that_is_said(tmp_path):
    proposal = read(tmp_path, WEAR + wear_rows())[2]
    proposal.answer("wear.1", "left")
    proposal.save()
    m = brakedata.load(tmp_path).measurements
    assert m.loc[m["axle"].eq("front"), "value_mm"].tolist() == list(GONE)
    assert m.loc[m["axle"].eq("rear"), "value_mm"].tolist() == [2 * mm for mm in GONE]


def test_what_is_worn_away_is_taken_off_a_new_lining_once_its_thickness_is_known(tmp_path):
    proposal = read(tmp_path, WEAR + wear_rows())[2]
    proposal.answer("wear.1", "worn")
    assert [question.key for question in proposal.questions] == ["new_thickness_mm"] and not len(checks.load_proposal(proposal).measurements)
    proposal.answer("new_thickness_mm", 12)
    assert proposal.questions == []
    text = proposal.save().read_text("utf-8")
    assert 'wear = "worn"' in text and "new_thickness_mm = 12" in text
    records = brakedata.load(tmp_path)
    m = records.measurements
    assert m.loc[m["axle"].eq("front"), "value_mm"].tolist() == [11.5, 10.5, 9.0, 7.75]
    assert m.loc[m["axle"].eq("rear"), "value_mm"].tolist() == [11.0, 9.0, 6.0, 3.5]
    assert m["value_written"].tolist()[:2] == ["0.5", "1"]
    assert records.findings["reading"].str.contains("a new lining of 12 mm less what is worn away; so in 4 cells").sum() == 2
    read(tmp_path, WEAR + "V1,2024-05-15,5000,5,10\n", name="may.csv")  # next month's file of the same kind
    assert mapping.propose(tmp_path).questions == []
    assert brakedata.load(tmp_path).measurements["value_mm"].tolist()[-2:] == [7.0, 2.0]


@pytest.mark.parametrize(
    ("cell", "low", "mm", "high"),
    [("<3", 9, None, None), (">=3", None, None, 9), ("2-3", 9, None, 10), ("about 4", None, 8, None), ("0 mm", None, 12, None), ("0", None, 12, None), ("12", None, 0, None),
     ("metal to metal", None, None, 0), ("30% left", None, 3.6, None), ("half", None, 6, None), ("OK", 5, None, None), ("1/8 in", None, 8.825, None)],
)  # fmt: skip
def test_bounds_and_words_under_what_is_worn_away(cell, low, mm, high):
    """By hand, of a new lining of 12 mm; shares, bare metal and the shop's own words speak of what is left by themselves."""
    hints = {"wear": "worn", "new_thickness_mm": 12.0, "words": {"OK": ">=5 mm"}}
    one, _ = cells.read("pad_thickness", [cell, "5"], "pad wear mm", hints)
    assert one.status != "ask"
    if mm is not None:
        value = 12 * one.value["share"] if isinstance(one.value, dict) else one.value
        assert value == pytest.approx(mm, abs=1e-9)
    else:
        assert one.value == {"low": low, "high": high}


@pytest.mark.parametrize("cell", ["13", "3 mm left", "3 -> 12"])
def test_what_cannot_be_worn_away_gives_no_value(cell):
    (one,) = cells.read("pad_thickness", [cell], "pad wear mm", {"wear": "worn", "new_thickness_mm": 12.0})
    assert one.value is None and one.status in ("ask", "flag")


@pytest.mark.parametrize("heading", ["Pad wear", "Front left wear (mm)", "Left wear mm", "LF worn mm", "used mm", "Verschleiß VL mm", "usure avant mm", "desgaste mm"])
def test_headings_that_speak_of_wear_are_asked_by_the_reader_of_cells(heading):
    (one,) = cells.read("pad_thickness", ["5 mm"], heading, {"percent": "worn"})
    assert (one.status, one.question) == ("ask", "wear")


@pytest.mark.parametrize(
    ("heading", "role"),
    [("wear class", "wear_class"), ("LF wear limit mm", "not used"), ("LF tread wear mm", "not used"), ("Wear notes", "note"), ("LF pad remaining wear mm", "thickness: front left pad"),
     ("LF Verschleißgrenze mm", "not used")],
)  # fmt: skip
def test_other_headings_with_the_word_wear_ask_nothing(tmp_path, heading, role):
    cell = "van" if "class" in heading else "fine" if "notes" in heading else "{}"
    rows = "".join(f"V1,{day},{1000 * n + 500},{9 - n},{cell.format(8 - n)}\n" for n, day in enumerate(DAYS))
    _, found, proposal = read(tmp_path, f"van,date,km,RF pad mm,{heading}\n{rows}")
    assert proposal.questions == [] and roles(proposal)[heading] == role
    assert not found["code"].eq("R74-ask").any()


def test_all_that_a_wear_column_needs_is_asked_at_once(tmp_path):
    rows = "".join(f"V1,{day},{1000 * n + 500},{9 - n}\n" for n, day in enumerate(DAYS))
    _, _, proposal = read(tmp_path, "van,date,km,Front wear\n" + rows)
    assert {question.key for question in proposal.questions} == {"thickness_unit.1", "wear.1", "part.1"}


def test_a_row_that_says_that_wear_was_measured_is_asked_and_the_others_are_read(tmp_path):
    rows = "".join(
        f"V1,{day},{1000 * n + 500},LF,{what},{value}\n" for n, day in enumerate(DAYS) for what, value in (("pad thickness", 9 - n), ("pad wear", 2 + n), ("wear limit", 2))
    )  # fmt: skip
    toml = '[[layout]]\npart = "pad"\n[shop]\nnew_thickness_mm = 12.0\n'
    got, found, proposal = read(tmp_path, "van,date,km,wheel,what,value mm\n" + rows, toml)
    assert list(got.values()) == [9, 8, 7, 6] and [question.key for question in proposal.questions] == ["wear.1"]
    assert found["code"].eq("R75-no-reading").sum() == 4  # the limits
    proposal.answer("wear.1", "worn")
    assert sorted(checks.load_proposal(proposal).measurements["value_mm"]) == [6, 7, 7, 8, 8, 9, 9, 10]


@pytest.mark.parametrize(("answer", "rotors"), [(None, []), ("worn", []), ("left", [25, 24, 23, 22])])
def test_the_wear_of_a_rotor_is_never_its_thickness(tmp_path, answer, rotors):
    rows = "".join(f"V1,{day},{1000 * n + 500},LF,{9 - n},{25 - n}\n" for n, day in enumerate(DAYS))
    _, _, proposal = read(tmp_path, "van,date,km,wheel,pad mm,rotor wear mm\n" + rows)
    assert [question.key for question in proposal.questions] == ["wear.1"]
    if answer:
        proposal.answer("wear.1", answer)
    m = checks.load_proposal(proposal).measurements
    assert m.loc[m["part"].eq("rotor"), "value_mm"].tolist() == rotors
    assert m.loc[m["part"].eq("pad"), "value_mm"].tolist() == [9, 8, 7, 6]


def test_an_answer_about_per_cent_leaves_millimetres_alone(tmp_path):
    rows = "".join(f"V1,{day},{1000 * n + 500},{80 - 10 * n},{9.5 - n}\n" for n, day in enumerate(DAYS))
    got, _, _ = read(tmp_path, "van,date,km,LF pad %,RF pad mm\n" + rows, '[shop]\npercent = "worn"\nnew_thickness_mm = 12.0\n')
    assert [got["V1", day, "front", "right", "pad", "before"] for day in DAYS] == [9.5, 8.5, 7.5, 6.5]
    assert [got["V1", day, "front", "left", "pad", "before"] for day in DAYS] == [2.4, 3.6, 4.8, 6.0]  # 12 less 80, 70, 60, 50 %


@pytest.mark.parametrize("left", ["Left front pad %", "Front left pad wear %"])
def test_left_beside_right_is_a_side_of_per_cent_too(tmp_path, left):
    rows = "".join(f"V1,{day},{1000 * n + 500},{80 - 10 * n},{70 - 10 * n}\n" for n, day in enumerate(DAYS))
    got, _, proposal = read(tmp_path, f"van,date,km,{left},{left.replace('Left', 'Right').replace('left', 'right')}\n{rows}", "[shop]\nnew_thickness_mm = 12.0\n")
    assert got == {} and [question.key for question in proposal.questions] == ["percent.1"]
    proposal.answer("percent.1", "left")
    m = checks.load_proposal(proposal).measurements
    assert m.loc[m["side"].eq("left"), "value_mm"].round(6).tolist() == [9.6, 8.4, 7.2, 6.0]
    assert m.loc[m["side"].eq("right"), "value_mm"].round(6).tolist() == [8.4, 7.2, 6.0, 4.8]


def test_a_number_among_per_cent_is_not_taken_for_either(tmp_path):
    rows = "".join(f"V1,{day},{1000 * n + 500},{cell}\n" for n, (day, cell) in enumerate(zip(DAYS, ("80%", "8", "60%", "50%"), strict=True)))
    toml = '[units]\nthickness = "mm"\n[shop]\npercent = "left"\nnew_thickness_mm = 12.0\n'
    got, found, _ = read(tmp_path, "van,date,km,LF pad\n" + rows, toml)
    assert list(got.values()) == [9.6, 7.2, 6.0] and found["code"].eq("R74-ask").sum() == 1


def test_two_readings_in_one_cell_of_many_hold_nothing_else_up(tmp_path):
    rows = "".join(f"V1,{day},{1000 * n + 500},{cell}\n" for n, (day, cell) in enumerate(zip(DAYS, ("9", "8", "7/6", "6"), strict=True)))
    got, found, proposal = read(tmp_path, "van,date,km,LF pad mm\n" + rows)
    assert [(question.key, question.vital) for question in proposal.questions] == [("order.1.LF pad mm", False)]
    assert list(got.values()) == [9, 8, 6] and found["code"].eq("R74-ask").sum() == 1


def test_each_row_has_its_own_value_and_finding_however_often_its_text_comes(tmp_path):
    cells_of = [("7?", "9", "mm"), ("8", "9", "32nds"), ("7?", "about 5", "mm"), ("8", "n/a", "mm"), ("7?", "about 5", "mm"), ("8", "9", "32nds")]
    rows = "".join(f"V1,2024-0{n}-15,{1000 * n},{a},{b},{unit}\n" for n, (a, b, unit) in enumerate(cells_of, 1))
    got, found, _ = read(tmp_path, "van,date,km,LF pad,RF pad,unit\n" + rows)
    mm, in32 = 1.0, 25.4 / 32
    by_side = {side: [value for (_, _, _, at, *_), value in got.items() if at == side] for side in ("left", "right")}
    assert by_side["left"] == pytest.approx([7 * mm, 8 * in32, 7 * mm, 8 * mm, 7 * mm, 8 * in32], abs=6e-4)
    assert by_side["right"] == pytest.approx([9 * mm, 9 * in32, 5 * mm, 5 * mm, 9 * in32], abs=6e-4)
    assert found.loc[found["code"].eq("R72-read-with-doubt"), "row"].tolist() == [2, 4, 6]  # each 7?
    assert found.loc[found["reading"].str.endswith("so in 2 cells"), "row"].tolist() == [4]  # about 5, told once


def test_an_answer_in_records_toml_that_cannot_be_is_said_and_asked_again(tmp_path):
    toml = '[[layout]]\nwear = "gone"\n[layout.columns]\n"LF pad wear mm" = "thickness: front left elbow"\n'
    got, found, proposal = read(tmp_path, WEAR + wear_rows(), toml)
    assert got == {} and [question.key for question in proposal.questions] == ["wear.1"]
    assert set(found.loc[found["code"].eq("R15-setting-not-understood"), "column"]) == {"layout.wear", "layout.columns.LF pad wear mm"}


# --- rows that name an axle, headings that name a side or a part ------------------------------------------------------


def axle_rows(left, right, *more, axles=("Front", "Rear")):
    """Two visits of two vehicles, a row an axle: 9 mm left and 8.6 right in front, 1 mm less behind, 0.5 mm less at the second visit."""
    out = [",".join(["Van", "Date", "km", "Axle", left, right, *(head for head, _ in more)])]
    for vehicle in (1, 2):
        for visit in range(2):
            for n, axle in enumerate(axles):
                mm = 9 - n - 0.5 * visit
                row = [f"V{vehicle}", DAYS[visit], str(20_000 * vehicle + 11_000 * visit), axle, f"{mm:g}", f"{mm - 0.4:g}"]
                out.append(",".join([*row, *(form(mm) for _, form in more)]))
    return "\n".join(out) + "\n"


@pytest.mark.parametrize(
    ("left", "right"),
    [
        ("L pad (mm)", "R pad (mm)"),
        ("Pad L (mm)", "Pad R (mm)"),
        ("Old pads L mm", "Old pads R mm"),
        ("LH pads mm", "RH pads mm"),
        ("Left pad mm", "Right pad mm"),
    ],
)
def test_sides_in_headings_beside_a_column_of_axles(tmp_path, left, right):
    got, found, proposal = read(tmp_path, axle_rows(left, right))
    assert proposal.questions == [] and len(got) == 16 and found.empty
    assert got["V2", DAYS[1], "rear", "left", "pad", "before"] == 7.5 and got["V2", DAYS[1], "rear", "right", "pad", "before"] == 7.1


def test_near_and_off_side_beside_a_column_of_axles_wait_for_the_side_of_the_road(tmp_path):
    got, _, proposal = read(tmp_path, axle_rows("N/S pad mm", "O/S pad mm"))
    assert got == {} and [question.key for question in proposal.questions] == ["traffic_side"]
    got, _, proposal = read(tmp_path, axle_rows("N/S pad mm", "O/S pad mm"), '[shop]\ntraffic_side = "left"\n')
    assert proposal.questions == [] and got["V1", DAYS[0], "front", "left", "pad", "before"] == 9 and len(got) == 16


def test_r_is_rear_where_f_stands_beside_it():
    assert headings.sides(["F pad", "R pad", "L pad"], {}) == {}
    assert headings.sides(["L pad", "R pad"], {}) == {"L pad": ("left", ""), "R pad": ("right", "")}
    assert headings.sides(["LF pad", "RF pad"], {}) == {} == headings.sides(["Left", "Remarks"], {})


def test_pads_and_rotors_of_both_sides_in_one_row_an_axle(tmp_path):
    rotors = [("Left rotor mm", lambda mm: f"{mm + 16:g}"), ("Right disc mm", lambda mm: "24.2"), ("Left disc mm", lambda mm: ""), ("Drum L", lambda mm: "")]
    got, _, proposal = read(tmp_path, axle_rows("Left pad mm", "Right pad mm", *rotors[:1], ("Right rotor mm", lambda mm: "24.2")))
    assert proposal.questions == [] and len(got) == 32
    assert got["V1", DAYS[0], "front", "left", "rotor", "before"] == 25 and got["V1", DAYS[0], "front", "left", "pad", "before"] == 9
    drums = [("Drum L mm", lambda mm: f"{230 - mm:g}"), ("Drum R mm", lambda mm: "228.6")]
    got, _, proposal = read(tmp_path, axle_rows("Shoe L mm", "Shoe R mm", *drums))
    assert proposal.questions == [] and got["V1", DAYS[0], "rear", "left", "drum", "before"] == 222 and len(got) == 32


def test_drums_of_sides_and_no_axle_are_asked_and_one_answer_places_them(tmp_path):
    rows = "".join(f"V1,{day},{20_000 + 9_000 * n},{5 - n / 5:g},{5.1 - n / 5:g},{228.6 + n / 5:g},228.9\n" for n, day in enumerate(DAYS))
    text = f"Van,Date,km,Rear shoes L mm,Rear shoes R mm,Drum Ø L,Drum Ø R\n{rows}"
    got, _, proposal = read(tmp_path, text)
    (question,) = proposal.questions
    assert len(got) == 8 and not question.vital and [value for value, _ in question.choices] == ["front", "rear", "not used"]
    proposal.answer(question.key, "rear")
    proposal.save()
    got, _, proposal = read_folder(tmp_path)
    assert proposal.questions == [] and got["V1", DAYS[1], "rear", "left", "drum", "before"] == 228.8 and len(got) == 16


def test_the_runout_of_a_wheel_keeps_its_wheel_and_is_of_the_rotor(tmp_path):
    rows = "".join(f"V1,{day},{20_000 + 9_000 * n},{9 - n},0.0{5 + n}\n" for n, day in enumerate(DAYS))
    read(tmp_path, f"Van,Date,km,Pad FL mm,Runout FL mm\n{rows}")
    proposal = mapping.propose(tmp_path)
    loaded = checks.load_proposal(proposal).measurements
    runout = loaded[loaded["measure"].eq("runout")]
    assert proposal.questions == [] and len(runout) == 4 and runout["part"].eq("rotor").all() and runout["value_mm"].tolist() == [0.05, 0.06, 0.07, 0.08]
    assert runout["axle"].eq("front").all() and runout["side"].eq("left").all()


def test_named_axles_of_trucks_are_asked_once(tmp_path):
    got, _, proposal = read(tmp_path, axle_rows("Left pad mm", "Right pad mm", axles=("Steer", "Drive", "Tag")))
    (question,) = proposal.questions
    assert question.key == "axles.1" and question.vital and all(key[2] == "front" for key in got)
    with pytest.raises(RecordsError, match="cannot be the answer"):
        proposal.answer(question.key, "steer banana")
    proposal.answer(question.key, "steer drive tag")
    proposal.save()
    got, _, proposal = read_folder(tmp_path)
    assert proposal.questions == [] and len(got) == 24
    assert got["V1", DAYS[0], "2", "left", "pad", "before"] == 8 and got["V1", DAYS[0], "3", "right", "pad", "before"] == 6.6


# --- lists of what was looked at --------------------------------------------------------------------------------------


def looked_at(heading, items):
    """Four visits; every item a row, the wheels as columns, its own first number less 0.1 a wheel and 1 a visit."""
    out = [f"Van,Date,km,{heading},FL,FR"]
    for n, day in enumerate(DAYS):
        out += [f"V1,{day},{20_000 + 9_000 * n},{item},{first - n / 2:g},{first - 0.1 - n / 2:g}" for item, first in items.items()]
    return "\n".join(out) + "\n"


@pytest.mark.parametrize("heading", ["Item", "Check", "What was looked at"])
def test_tyres_in_a_list_of_what_was_looked_at_are_never_pads(tmp_path, heading):
    got, found, proposal = read(tmp_path, looked_at(heading, {"Brake pads (mm)": 9, "Tyres (mm)": 6.2, "Discs (mm)": 24}))
    assert proposal.questions == [] and len(got) == 16 and roles(proposal)[heading] == "part"
    assert got["V1", DAYS[0], "front", "left", "pad", "before"] == 9 and got["V1", DAYS[0], "front", "right", "rotor", "before"] == 23.9
    lost = found[found["code"].eq("R75-no-reading") & found["column"].isin(["FL", "FR"])]
    assert len(lost) == 8 and lost["reading"].str.contains("no part of a brake").all()


def test_an_answer_about_the_part_is_not_for_rows_that_name_another(tmp_path):
    toml = '[[layout]]\npart = "pad"\n[layout.columns]\n"Item" = "part"\n[units]\nthickness = "mm"\n'
    got, _, _ = read(tmp_path, looked_at("Item", {"Pads": 9, "Tread": 6.2}), toml)
    assert len(got) == 8 and got["V1", DAYS[0], "front", "left", "pad", "before"] == 9


# --- what the rest of a sheet says ------------------------------------------------------------------------------------


@pytest.mark.parametrize("heading", ["Odo (000 km)", "Odo (000s km)", "km (000)", "Mileage (000 km)"])
def test_thousands_beside_their_unit(tmp_path, heading):
    rows = "".join(f"V1,{day},{20.3 + 11 * n:g},{9 - n}\n" for n, day in enumerate(DAYS))
    read(tmp_path, f"Reg,Date,{heading},Pad FL mm\n{rows}")
    proposal = mapping.propose(tmp_path)
    assert proposal.questions == [] and checks.load_proposal(proposal).visits["odometer_km"].tolist() == [20_300, 31_300, 42_300, 53_300]


def test_dittos_hide_no_column(tmp_path):
    rows = "".join(
        f"{day if n == 0 else chr(34) * 4},V1,{20_000 + 9_000 * at if n == 0 else chr(34) * 4},{wheel},{9 - at - n / 10:g}\n"
        for at, day in enumerate(DAYS)
        for n, wheel in enumerate(("FL", "FR", "RL", "RR"))
    )
    got, _, proposal = read(tmp_path, f"Date,Vehicle,Odo (km),Which,Pad mm\n{rows}")
    assert proposal.questions == [] and len(got) == 16 and got["V1", DAYS[2], "rear", "right", "pad", "before"] == 6.7


def test_readings_of_a_card_find_vehicle_and_day_on_the_sheet_of_cards(tmp_path):
    book = openpyxl.Workbook()
    cards, readings = book.active, book.create_sheet("Thickness")
    cards.append(["Card", "Date", "Reg", "km", "Fault"])
    readings.append(["Card", "Corner", "Pad mm"])
    for n, day in enumerate(DAYS):
        cards.append([f"J{900 + n}", day, "V1", 20_000 + 9_000 * n, "squeal"])
        for at, wheel in enumerate(("FL", "FR", "RL", "RR")):
            readings.append([f"J{900 + n}", wheel, 9 - n - at / 10])
    book.save(tmp_path / "b.xlsx")
    got, _, proposal = read_folder(tmp_path)
    assert proposal.questions == [] and len(got) == 16 and got["V1", DAYS[1], "rear", "left", "pad", "before"] == 7.8


def test_a_sheet_of_limits_asks_for_no_vehicle(tmp_path):
    book = openpyxl.Workbook()
    readings, limits = book.active, book.create_sheet("Limits")
    readings.append(["Reg", "Date", "km", "Pad FL mm", "Pad FR mm"])
    for n, day in enumerate(DAYS):
        readings.append(["V1", day, 20_000 + 9_000 * n, 9 - n, 8.5 - n])
    for row in (["Axle", "New", "Min"], ["Front", 12, 3], ["Rear", 11, 3]):
        limits.append(row)
    book.save(tmp_path / "b.xlsx")
    got, _, proposal = read_folder(tmp_path)
    assert proposal.questions == [] and len(got) == 8


# --- days without their year ------------------------------------------------------------------------------------------

SHORT_DAYS = {"10-Jan": "01-10", "14-Feb": "02-14", "21-Mar": "03-21", "25-Apr": "04-25"}


def yearly(*sheets, days=SHORT_DAYS, title=None):
    """A workbook with a sheet a name: four days of one vehicle each, 9 mm at first."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for number, name in enumerate(sheets):
        sheet = book.create_sheet(name)
        for row in ([[title]] if title else []) + [["Date", "Reg", "km", "FL pad mm"]]:
            sheet.append(row)
        for n, day in enumerate(days):
            sheet.append([day, f"V{number}", 20_000 + 9_000 * n, 9 - n])
    return book


@pytest.mark.parametrize(("sheets", "title"), [(["2022", "2023"], None), (["Log 2022", "Log 2023"], "Brakes")])
def test_the_year_of_a_sheet_completes_its_days(tmp_path, sheets, title):
    yearly(*sheets, title=title).save(tmp_path / "b.xlsx")
    got, found, proposal = read_folder(tmp_path)
    assert proposal.questions == [] and len(got) == 8
    assert {key[1] for key in got if key[0] == "V0"} == {f"2022-{day}" for day in SHORT_DAYS.values()}
    assert {key[1] for key in got if key[0] == "V1"} == {f"2023-{day}" for day in SHORT_DAYS.values()}
    noted = found[found["code"].eq("R71-assumed")]
    assert len(noted) == 2 and noted["value"].eq("10-Jan").all() and noted["reading"].str.contains("year taken from").all()


def test_a_year_that_nothing_says_is_asked_and_one_answer_settles_it(tmp_path):
    yearly("Sheet1").save(tmp_path / "b.xlsx")
    got, _, proposal = read_folder(tmp_path)
    (question,) = proposal.questions
    assert got == {} and question.key == "year.1" and question.vital
    with pytest.raises(RecordsError, match="cannot be the answer"):
        proposal.answer(question.key, "24")
    proposal.answer(question.key, "2024")
    proposal.save()
    got, _, proposal = read_folder(tmp_path)
    assert proposal.questions == [] and sorted(key[1] for key in got) == [f"2024-{day}" for day in SHORT_DAYS.values()]


def test_days_of_the_month_in_a_sheet_of_that_month(tmp_path):
    book = yearly("January 2024", "February 2024", days=("3", "9", "17", "25"))
    for sheet in book.worksheets:
        sheet["A1"] = "Day"
    book.save(tmp_path / "b.xlsx")
    got, _, proposal = read_folder(tmp_path)
    assert proposal.questions == [] and {key[1] for key in got if key[0] == "V1"} == {f"2024-02-{day}" for day in ("03", "09", "17", "25")}


@pytest.mark.parametrize("days", [("Jan-24", "Feb-24", "Mar-24", "Apr-24"), ("01/24", "02/24", "03/24", "04/24"), ("Nov-23", "Dec-23", "Jan-24", "Feb-24")])
def test_a_month_and_its_year_are_no_day_without_a_year(tmp_path, days):
    yearly("2024", days=days).save(tmp_path / "b.xlsx")
    got, _, _ = read_folder(tmp_path)
    assert got == {}


@pytest.mark.parametrize(("last", "asked"), [("6,0", False), ("6,4", True)])
def test_what_one_column_shows_of_the_decimal_mark_holds_for_its_neighbours(tmp_path, last, asked):
    rows = "".join(f"V1|{day}|{20_000 + 9_000 * n}|{n + 6},4|5,{n + 1}\n" for n, day in enumerate(DAYS)) + f"V1|2024-05-15|60000|8,0|{last}\n"
    _, _, proposal = read(tmp_path, "Reg|Date|Km|LF pad mm|RF pad mm\n" + rows, name="checks.txt")
    assert [question.key for question in proposal.questions] == ["decimal.1"] * asked


def test_a_sample_whose_year_was_completed_shows_what_it_was_read_as(tmp_path):
    yearly("2024").save(tmp_path / "b.xlsx")
    columns = mapping.propose(tmp_path).columns.set_index("column")
    assert columns.loc["Date", "read_as"][0].startswith("2024-01-10")
