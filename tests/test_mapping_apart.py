"""Vehicles, axles, days and kinds of reading that one small sign tells apart: none may become the other without a word.

Truth: the plain numbers each file is written from, by hand. Source of the forms: common practice, no source.
"""

import pytest
from test_mapping_oddities import DAYS, read, read_folder
from test_mapping_sheets import book

from brakedata import checks, mapping
from brakedata.findings import RecordsError

HEAD = "Date,Km,FL pad mm\n"


def rows(first, mm, head=""):
    return "".join(f"{head}{day},{first + 1_000 * n},{mm - n}\n" for n, day in enumerate(DAYS))


@pytest.mark.parametrize("again", ["", HEAD])
@pytest.mark.parametrize(("one", "two"), [("Van 1", "Van 2"), ("Bus 12", "Bus 14")])
def test_blocks_named_by_a_number_are_two_vehicles(tmp_path, one, two, again):
    _, _, proposal = read(tmp_path, f"{one}\n{HEAD}{rows(1_000, 9)}\n{two}\n{again}{rows(5_000, 12)}")
    proposal.answer("vehicle_id.1", "(line above the records)")
    loaded = checks.load_proposal(proposal)
    assert {name: its["value_mm"].max() for name, its in loaded.measurements.groupby("vehicle_id")} == {one: 9, two: 12}


def test_blocks_of_numbered_axles_are_two_axles(tmp_path):
    lines = [f"Truck,Date,km,L pad mm,R pad mm\nT1,2024-01-10,1000,{mm},{mm}\nT1,2024-03-10,2000,{mm},{mm}\n" for mm in (9, 7)]
    got, _, _ = read(tmp_path, f"Axle 1\n{lines[0]}\nAxle 2\n{lines[1]}")
    assert {key[2]: mm for key, mm in got.items()} == {"1": 9, "2": 7}


@pytest.mark.parametrize(
    ("nouns", "plates", "named"),
    [
        (("Auto", "Golf", "Golf"), ("Kenteken", "12-AB-34", "99-XX-11"), ("12-AB-34", "99-XX-11")),
        (("Machine", "Lathe 2", "Lathe 2"), ("Reg", "AB12 CDE", "XY34 FGH"), ("AB12 CDE", "XY34 FGH")),
        (("Coach", "Setra", "Setra"), ("Fleet No", "12", "14"), ("12", "14")),
        (("Van", "Van 1", "Van 2"), ("Plate", "AB12 CDE", "XY34 FGH"), ("Van 1", "Van 2")),
    ],
)
def test_a_model_is_no_vehicle_where_plates_or_numbers_tell_them_apart(tmp_path, nouns, plates, named):
    head = f"{nouns[0]},{plates[0]},Date,Km,FL pad mm\n"
    _, _, proposal = read(tmp_path, head + rows(1_000, 9, f"{nouns[1]},{plates[1]},") + rows(5_000, 12, f"{nouns[2]},{plates[2]},"))
    assert set(checks.load_proposal(proposal).visits["vehicle_id"]) == set(named)


def test_the_portuguese_de_between_words_is_no_wheel(tmp_path):
    heads = ";".join(f"Pastilha de travão {code} mm" for code in ("DE", "DD", "TE", "TD"))
    text = f"Matrícula;Data;Km;{heads}\n" + "".join(f"AA-11-BB;{day};{9_000 * n};9;8;7;6\n" for n, day in enumerate(DAYS, 1))
    got, _, _ = read(tmp_path, text)
    of = {key[2:4]: mm for key, mm in got.items() if key[1] == DAYS[0]}
    assert of == {("front", "left"): 9, ("front", "right"): 8, ("rear", "left"): 7, ("rear", "right"): 6}


# --- years ------------------------------------------------------------------------------------------------------------

SHORT = ["Van", "Date", "km", "FL pad mm"]


def short(days, first=1_000):
    return [["V1", day, first + 1_000 * n, 9 - n] for n, day in enumerate(days)]


def read_years(tmp_path, *lines):
    book(tmp_path / "b.xlsx", {"Sheet1": lines})
    got, _, proposal = read_folder(tmp_path)
    return sorted(key[1] for key in got), [question.key for question in proposal.questions]


@pytest.mark.parametrize(("one", "two"), [("Year 2023", "Year 2024"), ("2023", "2024")])
def test_each_block_has_its_own_year(tmp_path, one, two):
    days, asked = read_years(tmp_path, [one], SHORT, *short(["3-Mar", "17-May"]), [], [two], SHORT, *short(["4-Mar", "14-Jun"], 9_000))
    assert (days, asked) == (["2023-03-03", "2023-05-17", "2024-03-04", "2024-06-14"], [])


def test_each_block_has_its_own_month(tmp_path):
    head = ["Van", "Day", "km", "FL pad mm"]
    days, _ = read_years(tmp_path, ["January 2024"], head, *short(["3", "17"]), [], ["February 2024"], head, *short(["4", "14"], 9_000))
    assert days == ["2024-01-03", "2024-01-17", "2024-02-04", "2024-02-14"]


@pytest.mark.parametrize("title", ["Hill Garage - established 1998", "Form rev 2019", "Long 2015 vans brake checks", "Summer 2023-24"])
def test_a_year_of_something_else_dates_nothing(tmp_path, title):
    days, asked = read_years(tmp_path, [title], SHORT, *short(["15-May", "20-Jun", "18-Jul"]))
    assert (days, asked) == ([], ["year.1"])


@pytest.mark.parametrize("title", ["Winter 2023-24", "Brake checks 2023"])
def test_a_winter_turns_its_year(tmp_path, title):
    days, _ = read_years(tmp_path, [title], SHORT, *short(["15-Nov", "20-Dec", "18-Jan"]))
    assert days == ["2023-11-15", "2023-12-20", "2024-01-18"]


@pytest.mark.parametrize("days", [("10/11", "12/11", "15/11", "29/11"), ("Nov 10", "Nov 11", "Nov 12"), ("15.11.", "17.11.", "19.11.")])
def test_the_days_of_one_month_are_completed_by_one_answer(tmp_path, days):
    book(tmp_path / "b.xlsx", {"Sheet1": [SHORT, *short(days)]})
    proposal = mapping.propose(tmp_path)
    assert [question.key for question in proposal.questions] == ["year.1"]
    proposal.answer("year.1", "2023")
    dated = checks.load_proposal(proposal).visits["date"]
    assert len(dated) == len(days) and dated.dt.strftime("%Y-%m").eq("2023-11").all()


def test_an_answered_year_is_not_the_next_files(tmp_path):
    head = ",".join(SHORT) + "\n"
    (tmp_path / "nov.csv").write_text(head + "V1,15-Nov,1000,9\nV1,17-Nov,2000,8\nV1,28-Nov,3000,8\n")
    proposal = mapping.propose(tmp_path)
    proposal.answer("year.1", "2023")
    proposal.save()
    (tmp_path / "jan.csv").write_text(head + "V1,15-Jan,4000,7\nV1,17-Jan,5000,7\nV1,20-Jan,5500,7\n")
    proposal = mapping.propose(tmp_path)
    assert [question.key for question in proposal.questions] == ["year.1"]
    proposal.answer("year.1", "2024")
    proposal.save()
    got, _, proposal = read_folder(tmp_path)
    assert proposal.questions == [] and min(got)[1] == "2023-11-15" and max(got)[1] == "2024-01-20"


def test_an_answered_year_is_asked_again_when_the_same_name_holds_next_years_days(tmp_path):
    head, file = ",".join(SHORT) + "\n", tmp_path / "log.csv"
    autumn, spring = "V1,03-Nov,1000,9\nV1,28-Nov,3000,8\n", "V1,15-Jan,4000,7\nV1,20-Feb,5500,7\n"

    def asked(text, year=""):
        file.write_text(head + text)
        proposal = mapping.propose(tmp_path)
        keys = [question.key for question in proposal.questions]
        if year:
            proposal.answer("year.1", year)
        proposal.save()
        return keys, [f"{day:%Y-%m}" for day in checks.load_proposal(proposal).visits["date"]]

    assert asked(autumn, "2023") == (["year.1"], ["2023-11", "2023-11"])
    assert asked(autumn + spring) == ([], ["2023-11", "2023-11", "2024-01", "2024-02"])
    assert asked(spring) == (["year.1"], [])
    assert asked(spring, "2024") == (["year.1"], ["2024-01", "2024-02"])
    assert asked("V1,14-Apr,6000,6\nV1,20-Jun,6500,6\n") == ([], ["2024-04", "2024-06"])
    assert asked("V1,02-Jan,4000,7\n" + spring, "2024") == (["year.1"], ["2024-01", "2024-01", "2024-02"])  # an earlier row of that year


def test_an_answered_order_of_dates_stays_when_another_file_shows_the_other(tmp_path):
    head = "Van,Date,km,FL pad mm\n"
    _, _, proposal = read(tmp_path, head + "V1,06/07/2024,1000,9\nV1,08/09/2024,2000,8\n", name="c.csv")
    proposal.answer("date_order.1", "day_first")
    proposal.save()
    got, _, _ = read(tmp_path, head + "V1,10/25/2024,3000,7\n", name="d.csv")
    assert sorted(key[1] for key in got) == ["2024-07-06", "2024-09-08", "2024-10-25"]


# --- vehicles and what was measured -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("names", "many"),
    [
        (("M-AB 12", "MA-B 12"), 2), (("M-AB 12", "MA-B 12", "MAB12"), 3), (("1-A1", "1A-1"), 2), (("V1-1", "V11"), 2),
        (("Van 3", "VAN-3", "van3"), 1), (("Red Van", "redvan"), 1),
    ],
)  # fmt: skip
def test_spellings_are_joined_only_where_their_gaps_agree(tmp_path, names, many):
    lines = "".join(f"{names[n % len(names)]},{day},{1_000 + 1_000 * n},{9 - n}\n" for n, day in enumerate(DAYS))
    _, _, proposal = read(tmp_path, "Van," + HEAD + lines)
    assert checks.load_proposal(proposal).visits["vehicle_id"].nunique() == many


def test_a_limit_of_a_vehicle_in_another_spelling_is_its_limit(tmp_path):
    (tmp_path / "limits.csv").write_text("applies_to,axle,part,measure,unit,new,replace_at,discard\nVAN-3,*,pad,thickness,mm,12,6,5\n")
    (tmp_path / "a.csv").write_text("Van," + HEAD + rows(1_000, 9, "Van 3,"))
    assert checks.load_proposal(mapping.propose(tmp_path)).limits["applies_to"].tolist() == ["Van 3"]


@pytest.mark.parametrize("repeat", [True, False])
def test_a_label_with_nothing_behind_it_ends_the_vehicle(tmp_path, repeat):
    head = ["Date", "Km", "FL pad mm"]
    one, two = ([[day, first + 1_000 * n, 9 - n] for n, day in enumerate(DAYS)] for first in (1_000, 9_000))
    book(tmp_path / "b.xlsx", {"Sheet1": [["Vehicle:", "V1"], head, *one, [], ["Vehicle:", None], *([head] if repeat else []), *two]})
    loaded = checks.load_proposal(mapping.propose(tmp_path))
    assert loaded.visits["odometer_km"].tolist() == [1_000, 2_000, 3_000, 4_000]
    assert loaded.findings["code"].eq("R76-row-left-out").sum() == 4


@pytest.mark.parametrize(("brakes", "tyres"), [("Brakes (mm)", "Tyres (mm)"), ("Brakes", "Tires"), ("Brake Lining", "Tread")])
def test_tyres_beside_brakes_are_never_linings(tmp_path, brakes, tyres):
    text = "".join(
        f"101,{day},{1_000 * n},{item},{mm - n},{mm - n}\n" for n, day in enumerate(DAYS, 1) for item, mm in ((brakes, 12), (tyres, 9))
    )
    _, _, proposal = read(tmp_path, "Unit #,Date,Km,Item,LF,RF\n" + text)
    for question in list(proposal.questions):
        proposal.answer(question.key, {"part": "pad", "thickness_unit": "mm"}[question.key.partition(".")[0]])
    assert proposal.questions == []
    assert sorted(set(checks.load_proposal(proposal).measurements["value_mm"])) == [8, 9, 10, 11]


@pytest.mark.parametrize("heads", ["Before mm,After mm", "Before,After", "Vorher mm,Nachher mm"])
def test_before_and_after_stay_apart(tmp_path, heads):
    text = "".join(f"V1,{day},{9_000 * n},{wheel},4,12\n" for n, day in enumerate(DAYS, 1) for wheel in ("LF", "RF"))
    _, _, proposal = read(tmp_path, f"Van,Date,Km,Wheel,{heads}\n{text}")
    for question in list(proposal.questions):
        proposal.answer(question.key, {"part": "pad", "thickness_unit": "mm"}[question.key.partition(".")[0]])
    m = checks.load_proposal(proposal).measurements
    assert set(zip(m["taken"], m["value_mm"], strict=True)) == {("before", 4.0), ("after", 12.0)} and len(m) == 16


@pytest.mark.parametrize("names", [("Front", "Rear"), ("front axle", "rear axle")])
@pytest.mark.parametrize("files", [True, False])
def test_sheets_and_files_named_for_an_axle_say_where(tmp_path, names, files):
    head = ["Truck", "Date", "km", "L pad mm", "R pad mm"]
    tables = {name: [head, *(["T1", day, 1_000 * n, mm, mm] for n, day in enumerate(DAYS, 1))] for name, mm in zip(names, (9, 7), strict=True)}
    for name, lines in tables.items() if files else ():
        (tmp_path / f"{name}.csv").write_text("\n".join(",".join(map(str, line)) for line in lines))
    if not files:
        book(tmp_path / "b.xlsx", tables)
    got, _, proposal = read_folder(tmp_path)
    assert proposal.questions == [] and {key[2]: mm for key, mm in got.items()} == {"front": 9, "rear": 7} and len(got) == 16


# --- columns beside readings ------------------------------------------------------------------------------------------


def wide(tmp_path, heads, **answers):
    text = "".join(f"V1,{day},{9_000 * n},{','.join(str(20 + at - n) for at in range(len(heads)))}\n" for n, day in enumerate(DAYS, 1))
    _, _, proposal = read(tmp_path, f"Van,Date,Km,{','.join(heads)}\n{text}")
    for key, value in answers.items():
        proposal.answer(f"{key}.1", value)
    m = checks.load_proposal(proposal).measurements
    m = m[m["date"].eq(m["date"].min())] if len(m) else m
    return {(one.axle, one.side): one.value_mm - 19 for one in m.itertuples()}, [question.key for question in proposal.questions]


@pytest.mark.parametrize("drive", ["Drive {} {}", "Drive{} {}"])
def test_numbered_drive_axles_are_read_once_the_axles_are_said(tmp_path, drive):
    heads = ["Steer L", "Steer R", *(drive.format(n, side) for n in (1, 2) for side in "LR")]
    got, asked = wide(tmp_path, heads, axles="steer drive drive", part="shoe", thickness_unit="mm")
    assert asked == [] and got == {(axle, side): at for at, (axle, side) in enumerate((a, s) for a in "123" for s in ("left", "right"))}


@pytest.mark.parametrize(
    "heads",
    [
        ["Diant. esq.", "Diant. dir.", "Tras. esq.", "Tras. dir."], ["VA links", "VA rechts", "AA links", "AA rechts"],
        ["Oś 1 L", "Oś 1 P", "Oś 2 L", "Oś 2 P"],
    ],
)  # fmt: skip
def test_both_axles_of_a_language_are_read(tmp_path, heads):
    got, asked = wide(tmp_path, heads, part="pad", thickness_unit="mm")
    assert asked == [] and [(axle in ("front", "1"), side) for axle, side in sorted(got, key=got.get)] == [
        (True, "left"), (True, "right"), (False, "left"), (False, "right")
    ]  # fmt: skip


@pytest.mark.parametrize("heads", [["LF", "RF", "LFD", "RFD", "LRD", "RRD"], ["XA", "XB", "YA", "YB"]])
def test_wheels_under_codes_of_a_shops_own_are_asked_about(tmp_path, heads):
    _, asked = wide(tmp_path, heads)
    assert "unplaced.1" in asked


def test_other_numbers_beside_readings_are_not_asked_about(tmp_path):
    _, asked = wide(tmp_path, ["Pads LF mm", "Pads RF mm", "Gap 1", "Seq", "Pads new mm"])
    assert asked == []


# --- numbered wheels --------------------------------------------------------------------------------------------------

NUMBERED = {
    "rows": "Van,Date,Km,Wheel,Pad mm\n" + "".join(f"V1,{day},{9_000 * n},{at},{9 + at - n}\n" for n, day in enumerate(DAYS, 1) for at in (1, 2, 3, 4)),
    "wheels": "Van,Date,Km,Wheel 1 mm,Wheel 2 mm,Wheel 3 mm,Wheel 4 mm\n"
    + "".join(f"V1,{day},{9_000 * n},{10 - n},{11 - n},{12 - n},{13 - n}\n" for n, day in enumerate(DAYS, 1)),
    "pads": "Van,Date,Km,Pad 1 mm,Pad 2 mm,Pad 3 mm,Pad 4 mm\n"
    + "".join(f"V1,{day},{9_000 * n},{10 - n},{11 - n},{12 - n},{13 - n}\n" for n, day in enumerate(DAYS, 1)),
}


@pytest.mark.parametrize("form", NUMBERED)
@pytest.mark.parametrize("order", ["LF RF LR RR", "LF RF RR LR"])
def test_numbered_wheels_are_no_axles_and_asked_once(tmp_path, form, order):
    got, _, proposal = read(tmp_path, NUMBERED[form], name="january.csv")
    assert got == {} and "wheels.1" in [question.key for question in proposal.questions]
    proposal.answer("wheels.1", order)
    if form == "wheels":
        proposal.answer("part.1", "pad")
    proposal.save()
    (tmp_path / "january.csv").rename(tmp_path / "february.csv")
    got, _, proposal = read_folder(tmp_path)
    of = {f"{key[3][0]}{key[2][0]}".upper(): mm for key, mm in got.items() if key[1] == DAYS[0]}
    assert proposal.questions == [] and of == dict(zip(order.split(), (9, 10, 11, 12), strict=True))


def test_two_numbered_pads_are_no_two_axles(tmp_path):
    got, asked = wide(tmp_path, ["Pad 1", "Pad 2"])
    assert got == {} and "unplaced.1" in asked


# --- names over the records, tables under one another -------------------------------------------------------------------

WHEEL_HEAD = ["Unit", "Date", "Odometer km", "LF", "RF"]


def of_two_names(path, one, two, form):
    """The same table twice, 9 mm under the first name and 6 mm under the second: two sheets, two files, or two blocks."""
    tables = {name: [WHEEL_HEAD, *(["A1", day, 9_000 * n, mm, mm] for n, day in enumerate(DAYS, 1))] for name, mm in ((one, 9), (two, 6))}
    if form == "sheets":
        book(path / "b.xlsx", tables)
    elif form == "blocks":
        book(path / "b.xlsx", {"Sheet1": [line for name, lines in tables.items() for line in ([name], *lines, [])]})
    for name, lines in tables.items() if form == "files" else ():
        (path / f"{name}.csv").write_text("\n".join(",".join(map(str, line)) for line in lines))
    proposal = mapping.propose(path)
    for question in list(proposal.questions):
        proposal.answer(question.key, {"part": "pad", "thickness_unit": "mm"}[question.key.partition(".")[0]])
    assert proposal.questions == []
    m = checks.load_proposal(proposal).measurements
    return {(part, taken, mm) for part, taken, mm in zip(m["part"], m["taken"], m["value_mm"], strict=True)}


@pytest.mark.parametrize("form", ["sheets", "files", "blocks"])
def test_what_stands_under_the_name_of_tyres_is_no_lining(tmp_path, form):
    assert of_two_names(tmp_path, "Brakes", "Tyre tread", form) == {("pad", "before", 9.0)}


@pytest.mark.parametrize("form", ["sheets", "files", "blocks"])
def test_pads_and_shoes_before_and_after_are_told_apart_by_their_names(tmp_path, form):
    assert of_two_names(tmp_path, "Pads", "Shoes", form) == {("pad", "before", 9.0), ("shoe", "before", 6.0)}
    for file in tmp_path.iterdir():
        file.unlink()
    assert of_two_names(tmp_path, "Before", "After", form) == {("pad", "before", 9.0), ("pad", "after", 6.0)}


def test_a_garage_named_after_tyres_still_measures_brakes(tmp_path):
    got, _, _ = read(tmp_path, "Van," + HEAD + rows(1_000, 9, "V1,"), name="tyre centre brakes.csv")
    assert len(got) == 4


@pytest.mark.parametrize("blank", ["", "\n"])
def test_another_table_under_the_first_is_a_table_of_its_own(tmp_path, blank):
    one = "Unit,Date,Km,LF pad mm,RF pad mm\n" + "".join(f"A1,{day},{9_000 * n},9,8\n" for n, day in enumerate(DAYS, 1))
    two = "Truck,Date,Km,Axle 2 L shoe mm,Axle 2 R shoe mm\nT1,2024-01-15,90000,16,17\n"
    got, _, proposal = read(tmp_path, one + blank + two)
    assert proposal.questions == []
    assert {key[2:5]: mm for key, mm in got.items() if key[0] == "T1"} == {("2", "left", "shoe"): 16, ("2", "right", "shoe"): 17}
    assert {key[4] for key in got if key[0] == "A1"} == {"pad"}


@pytest.mark.parametrize("cell", ["G {}", "ok {}mm", "{} ok"])
def test_a_column_that_names_its_lining_is_never_dropped(tmp_path, cell):
    got, _, _ = read(tmp_path, "Van," + HEAD + "".join(f"V1,{day},{9_000 * n},{cell.format(10 - n)}\n" for n, day in enumerate(DAYS, 1)))
    assert list(got.values()) == [9, 8, 7, 6]


@pytest.mark.parametrize("name", ["Fleet average", "Minimum", "Limit", "Schnitt", "Średnia"])
def test_lines_of_sums_are_no_vehicles(tmp_path, name):
    _, _, proposal = read(tmp_path, "Van," + HEAD + rows(1_000, 9, "V1,") + f"{name},2024-05-31,,8\n")
    assert set(checks.load_proposal(proposal).visits["vehicle_id"]) == {"V1"}


def test_tyres_among_the_places_of_a_check_list_are_no_linings(tmp_path):
    text = "".join(f"V1,{day},{9_000 * n},{what},{mm}\n" for n, day in enumerate(DAYS, 1) for what, mm in (("Brake pad front left", 9), ("Tyre tread front left", 5.5)))
    got, found, _ = read(tmp_path, "Van,Date,Km,Check item,Result\n" + text, '[units]\nthickness = "mm"\n')
    assert set(got.values()) == {9} and found["reading"].str.contains("is no part of a brake").sum() == 4


def test_per_cent_beside_millimetres_is_no_second_reading(tmp_path):
    text = "".join(f"V1,{day},{9_000 * n},9,33\n" for n, day in enumerate(DAYS, 1))
    got, _, proposal = read(tmp_path, "Van,Date,Km,LF pad mm,LF pad %\n" + text)
    assert proposal.questions == [] and set(got.values()) == {9}


@pytest.mark.parametrize(("other", "noted"), [(6, 4), (8, 0)])
def test_two_values_of_one_lining_far_apart_are_said(tmp_path, other, noted):
    text = "".join(f"V1,{day},{9_000 * n},LF,{mm}\n" for n, day in enumerate(DAYS, 1) for mm in (9, other))
    _, found, _ = read(tmp_path, "Van,Date,Km,Pos,Pad mm\n" + text)
    assert found["code"].eq("R99-two-values").sum() == noted
    if noted:
        assert found.loc[found["code"].eq("R99-two-values"), "reading"].eq("6 mm and 9 mm").all()


def test_a_wheel_beside_an_unknown_word_is_asked_about(tmp_path):
    _, asked = wide(tmp_path, ["LF zork", "RF zork"])
    assert asked == ["unplaced.1"]


def test_a_new_linings_thickness_may_be_typed(tmp_path):
    text = "".join(f"V1,{day},{9_000 * n},{90 - 5 * n}%\n" for n, day in enumerate(DAYS, 1))
    _, _, proposal = read(tmp_path, "Van,Date,Km,LF pad left %\n" + text)
    proposal.answer("new_thickness_mm", "10")
    assert proposal.questions == [] and checks.load_proposal(proposal).measurements["value_mm"].tolist() == [8.5, 8.0, 7.5, 7.0]


# --- readings that a spreadsheet made dates of --------------------------------------------------------------------------


@pytest.mark.parametrize(("heads", "asked"), [(("LF pad 32nds", "RF pad 32nds"), []), (("LF pad", "RF pad"), []), (("LF", "RF"), ["part.1"])])
def test_a_whole_column_of_eaten_fractions_is_read_and_listed(tmp_path, heads, asked):
    lines = [["V1", f"2024-0{n}-15", 9_000 * n, f"1932-0{9 - n}-01", f"1932-0{8 - n}-01"] for n in (1, 2, 3, 4)]
    book(tmp_path / "a.xlsx", {"Sheet1": [["Unit", "Date", "Odometer mi", *heads], *lines]})
    proposal = mapping.propose(tmp_path)
    assert [question.key for question in proposal.questions] == asked
    if asked:
        proposal.answer("part.1", "pad")
    loaded = checks.load_proposal(proposal)
    first = loaded.measurements[loaded.measurements["date"].eq("2024-01-15")]
    assert (first["value_mm"] * 32 / 25.4).round(6).tolist() == [8, 7] and loaded.findings["code"].eq("R72-read-with-doubt").sum() == 8


def test_the_days_of_a_change_are_no_eaten_readings(tmp_path):
    lines = [["V1", f"2024-0{n}-15", 9_000 * n, "2023-05-01", 9 - n] for n in (1, 2, 3, 4)]
    book(tmp_path / "a.xlsx", {"Sheet1": [["Unit", "Date", "Odometer mi", "LF pad fitted", "LF pad mm"], *lines]})
    got, _, _ = read_folder(tmp_path)
    assert list(got.values()) == [8, 7, 6, 5]


@pytest.mark.parametrize("heads", [["Blok vl", "Blok vr"], ["Belag VL", "Belag VR"]])
def test_two_front_wheels_of_a_language_are_read_without_the_rear_ones(tmp_path, heads):
    got, asked = wide(tmp_path, heads, thickness_unit="mm")
    assert asked == [] and got == {("front", "left"): 0, ("front", "right"): 1}


# --- what must not be told apart, or joined, by too small a sign ---------------------------------------------------------


def dated(tmp_path, name, *lines, head="Van,Date,km,FL pad mm", year=None):
    (tmp_path / name).write_text(head + "\n" + "".join(",".join(map(str, line)) + "\n" for line in lines))
    proposal = mapping.propose(tmp_path)
    if year:
        proposal.answer("year.1", year)
    visits = checks.load_proposal(proposal).visits
    return sorted(zip(visits["vehicle_id"], visits["date"].dt.strftime("%Y-%m-%d"), strict=True)), [one.key for one in proposal.questions]


def test_a_sheet_sorted_by_vehicle_does_not_turn_its_year(tmp_path):
    days = [(van, day, km, 9) for van, first in (("V1", 1_000), ("V2", 500)) for day, km in (("15-Jan", first), ("3-Jun", first + 900), ("22-Nov", first + 1_900))]
    got, asked = dated(tmp_path, "Brake checks 2024.csv", *days)
    assert asked == [] and len(got) == 6 and all(day.startswith("2024") for _, day in got)


@pytest.mark.parametrize("days", [("15-Apr", "18-Oct"), ("15-Jan", "20-Mar", "18-Oct", "2-Dec"), ("15-Mar", "20-Nov", "28-Dec")])
def test_days_in_order_do_not_turn_their_year(tmp_path, days):
    got, _ = dated(tmp_path, "2024.csv", *(("V1", day, 1_000 * n, 9) for n, day in enumerate(days, 1)))
    assert len(got) == len(days) and all(day.startswith("2024") for _, day in got)


def test_every_turn_counts(tmp_path):
    days = ("15-Mar", "20-Nov", "28-Dec", "5-Jan", "9-Aug", "12-Dec", "3-Jan")
    got, _ = dated(tmp_path, "log.csv", *(("V1", day, 1_000 * n, 9) for n, day in enumerate(days, 1)), year="2023")
    assert [day[:4] for _, day in got] == ["2023"] * 3 + ["2024"] * 3 + ["2025"]


def test_the_turn_that_one_vehicle_shows_dates_the_others_of_the_winter(tmp_path):
    lines = [("V1", "15-Nov", 1_000, 9), ("V1", "20-Jan", 2_000, 8), ("V2", "18-Feb", 3_000, 7), ("V2", "2-Mar", 3_500, 7), ("V3", "2-Dec", 1_000, 9)]
    got, asked = dated(tmp_path, "Winter 2023-24.csv", *lines)
    assert asked == [] and got == [
        ("V1", "2023-11-15"), ("V1", "2024-01-20"), ("V2", "2024-02-18"), ("V2", "2024-03-02"), ("V3", "2023-12-02")
    ]  # fmt: skip


def test_a_vehicle_that_shows_no_turn_in_a_log_of_years_is_not_dated(tmp_path):
    turns = [("V1", day, 1_000 * n, 9) for n, day in enumerate(("15-Nov", "20-Jan", "20-Jul", "20-Dec", "20-Feb"), 1)]
    got, _ = dated(tmp_path, "log.csv", *turns, ("V2", "18-Feb", 3_000, 7), ("V2", "2-May", 3_500, 7), year="2023")
    assert {van for van, _ in got} == {"V1"}


def test_the_number_of_a_bus_is_no_year(tmp_path):
    book(tmp_path / "b.xlsx", {name: [["Date", "km", "FL pad mm"], ["15-Jan", 1_000, 9], ["15-Mar", 2_000, 8]] for name in ("Bus 2014", "Bus 2016")})
    proposal = mapping.propose(tmp_path)
    assert [question.key for question in proposal.questions] == ["year.1"] and not len(proposal.built.tables["visits"])


@pytest.mark.parametrize(("one", "two"), [("Tyre bay", "Brake bay"), ("before march", "after march")])
def test_the_name_of_a_file_does_not_overrule_its_headings(tmp_path, one, two):
    for van, name in (("V1", one), ("V2", two)):
        (tmp_path / f"{name}.csv").write_text("Van," + HEAD + rows(1_000, 9, f"{van},"))
    got, _, _ = read_folder(tmp_path)
    assert len(got) == 8 and {key[5] for key in got} == {"before"}


@pytest.mark.parametrize(
    ("heads", "names", "vehicles"),
    [
        (("Truck", "Trailer No"), (("T1", "R7"), ("T2", "R7")), {"T1", "T2"}),
        (("Van", "Plate"), (("Transit 350", "P1 AAA"), ("Transit 350", "P2 BBB")), None),  # a model, or a new plate: asked
        (("Van", "Plate"), (("T12", "AB12 CDE"), ("T12", "AB12 CDF")), {"T12"}),  # written wrongly once
        (("Van", "Plate"), (("Big Red", "AB12 CDE"), ("Blue", "")), {"Big Red", "Blue"}),
        (("LKW", "Kennz"), (("Actros", "12-AB-34"), ("Actros", "99-XX-11")), {"12-AB-34", "99-XX-11"}),
    ],
)
def test_which_column_names_the_vehicle(tmp_path, heads, names, vehicles):
    lines = "".join(f"{one},{two},2024-01-15,{1_000 * n},9\n" for n, (one, two) in enumerate(names, 1))
    _, _, proposal = read(tmp_path, f"{heads[0]},{heads[1]},{HEAD}{lines}")
    if vehicles is None:
        assert [question.key for question in proposal.questions] == ["vehicle_id.1"] and len(proposal.questions[0].choices) == 2
    else:
        assert proposal.questions == [] and set(checks.load_proposal(proposal).visits["vehicle_id"]) == vehicles


@pytest.mark.parametrize(
    ("one", "two"),
    [("Unit 1/2", "Unit 1/3"), ("Bus 1 of 3", "Bus 2 of 3"), ("Hill Long LWB van 1", "Hill Long LWB van 2"), ("Van 1 (MOT 12/03)", "Van 2 (MOT 14/05)")],
)
def test_titles_that_differ_by_any_number_name_two_vehicles(tmp_path, one, two):
    _, _, proposal = read(tmp_path, f"{one}\n{HEAD}{rows(1_000, 9)}\n{two}\n{HEAD}{rows(5_000, 12)}")
    proposal.answer("vehicle_id.1", "(line above the records)")
    assert set(checks.load_proposal(proposal).visits["vehicle_id"]) == {one, two}


@pytest.mark.parametrize("page", ["Page 2", "Seite 2 von 3"])
def test_the_number_of_a_page_names_none(tmp_path, page):
    _, _, proposal = read(tmp_path, f"Van 1\n{HEAD}{rows(1_000, 9)}\n{page}\n{HEAD}{rows(5_000, 12)}")
    proposal.answer("vehicle_id.1", "(line above the records)")
    assert set(checks.load_proposal(proposal).visits["vehicle_id"]) == {"Van 1"}


def test_numbered_pads_of_a_named_wheel_are_no_wheels(tmp_path):
    text = "".join(f"V1,{day},{9_000 * n},{wheel},9,8,9,8\n" for n, day in enumerate(DAYS, 1) for wheel in ("LF", "RF"))
    _, _, proposal = read(tmp_path, "Van,Date,Km,Wheel,Pad 1 mm,Pad 2 mm,Pad 3 mm,Pad 4 mm\n" + text)
    assert "wheels.1" not in [question.key for question in proposal.questions]


def test_a_slip_among_packed_dates_is_a_slip(tmp_path):
    text = "".join(f"V1,{day},{1_000 * n},9\n" for n, day in enumerate(("20240105", "20240213", "20241305", "20240402"), 1))
    got, _, proposal = read(tmp_path, "Van,Date,Km,LF pad mm\n" + text)
    assert proposal.questions == [] and sorted(key[1] for key in got) == ["2024-01-05", "2024-02-13", "2024-04-02"]


@pytest.mark.parametrize("extra", [["Bay"], ["Qty"], ["LF torque"], ["LF temp", "RF temp"], ["Front wipers", "Rear wipers"], ["Age", "Gr", "Std"]])
def test_ordinary_numbers_beside_readings_ask_nothing(tmp_path, extra):
    _, asked = wide(tmp_path, ["LF pad mm", "RF pad mm", *extra])
    assert asked == []


def test_per_cent_of_an_axle_beside_its_wheels_is_no_reading(tmp_path):
    text = "".join(f"V1,{day},{9_000 * n},9,8,33%\n" for n, day in enumerate(DAYS, 1))
    got, _, proposal = read(tmp_path, "Van,Date,KMs,LF pad mm,RF pad mm,Brake % front\n" + text)
    assert proposal.questions == [] and set(got.values()) == {8, 9}


TWO = [("V1", "2024-01-15", 20_000), ("V1", "2024-05-20", 34_000)]


def csv_of(head, mm):
    return head + "\n" + "".join(f"{vehicle},{day},{km},{mm}\n" for vehicle, day, km in TWO)


@pytest.mark.parametrize(
    "head",
    ["Vehicle,Date,Km,3. Front pads mm,4. Rear pads mm", "1 Vehicle,2 Date,3 Km,4 Front pads mm,5 Rear pads mm", "Q1 Vehicle,Q2 Date,Q3 Km,Q4 Front pads mm,Q5 Rear pads mm"],
)  # fmt: skip
def test_a_form_that_counts_its_headings(tmp_path, head):
    got, _, proposal = read(tmp_path, csv_of(head, "9,8"))
    assert {key[2]: mm for key, mm in got.items()} == {"front": 9, "rear": 8} and proposal.questions == []


def test_an_axles_number_is_no_count_of_the_form(tmp_path):
    _, _, proposal = read(tmp_path, csv_of("Truck,Date,Km,1. axle pads mm,2. axle shoes mm", "9,8"))
    loaded = checks.load_proposal(proposal)
    assert set(zip(loaded.measurements["axle"], loaded.measurements["value_mm"], strict=True)) == {("1", 9), ("2", 8)}


@pytest.mark.parametrize("names", [("Left", "Right"), ("LH", "RH"), ("Left side", "Right side"), ("Nearside", "Offside")])
def test_sheets_of_a_side_over_columns_of_axles(tmp_path, names):
    for name, mm in zip(names, ("9,8", "7,6"), strict=True):
        (tmp_path / f"{name}.csv").write_text(csv_of("Vehicle,Date,Km,Front pad mm,Rear pad mm", mm))
    proposal = mapping.propose(tmp_path)
    if names[0] == "Nearside":
        assert proposal.vital.key == "traffic_side"
        proposal.answer("traffic_side", "left")
    loaded = checks.load_proposal(proposal)
    its = loaded.measurements
    truth = {("front", "left", 9), ("rear", "left", 8), ("front", "right", 7), ("rear", "right", 6)}
    assert set(zip(its["axle"], its["side"], its["value_mm"], strict=True)) == truth


@pytest.mark.parametrize("side", [("Left", "Right"), ("L", "R"), ("LH inner", "RH inner")])
def test_a_place_that_is_a_side_beside_a_column_of_axles(tmp_path, side):
    lines = [f"T1,2024-01-15,20000,{axle},{one},{mm}" for axle, one, mm in zip(("Front", "Front", "Rear", "Rear"), side * 2, (12, 11, 10, 9), strict=True)]
    _, _, proposal = read(tmp_path, "Truck,Date,Km,Axle,Position,Pad mm\n" + "\n".join(lines) + "\n")
    loaded = checks.load_proposal(proposal)
    its = loaded.measurements
    truth = {("front", "left", 12), ("front", "right", 11), ("rear", "left", 10), ("rear", "right", 9)}
    assert set(zip(its["axle"], its["side"], its["value_mm"], strict=True)) == truth


def test_per_cent_of_pads_beside_discs_in_mm_is_asked_not_dropped(tmp_path):
    _, _, proposal = read(tmp_path, csv_of("Vehicle,Date,Km,Front pads %,Front discs mm", "80,25"))
    assert "percent.1" in [question.key for question in proposal.questions]


@pytest.mark.parametrize("names", ["LF pad mm,RF pad mm", "3. LF pad mm,4. RF pad mm"])
def test_a_line_of_the_period_over_the_heading(tmp_path, names):
    got, _, _ = read(tmp_path, "From,2024-01-01,To,2025-04-30,,\n" + csv_of(f"Vehicle,Date,Km,{names}", "9,8"))
    assert sorted(got.values()) == [8, 8, 9, 9]


def test_polish_wheels_and_odometer(tmp_path):
    _, _, proposal = read(tmp_path, csv_of("Pojazd,Data,Stan licznika,Klocek LP mm,Klocek PP mm", "9,8"))
    loaded = checks.load_proposal(proposal)
    its = loaded.measurements
    assert set(zip(its["axle"], its["side"], its["value_mm"], strict=True)) == {("front", "left", 9), ("front", "right", 8)}
    assert loaded.visits["odometer_km"].tolist() == [20_000, 34_000] and proposal.questions == []


@pytest.mark.parametrize(
    ("names", "heading", "mm", "km"),
    [(("Cars mm", "Trucks 32nds"), "Km", [8, 8 * 25.4 / 32], [20_000, 20_000]), (("UK miles", "EU km"), "Odometer", [8, 8], [20_000 * 1.609344, 20_000])],
)
def test_units_that_the_files_names_say_apart(tmp_path, names, heading, mm, km):
    """Source of the mile and the inch: NIST Special Publication 811, appendix B.8 (exact)."""
    for at, name in enumerate(names):
        (tmp_path / f"{name}.csv").write_text(csv_of(f"Vehicle,Date,{heading},LF pad,RF pad", "9,8").replace("V1", f"V{at}"))
    proposal = mapping.propose(tmp_path)
    if "thickness_unit.1" in [question.key for question in proposal.questions]:
        proposal.answer("thickness_unit.1", "mm")
    loaded = checks.load_proposal(proposal)
    first = loaded.measurements.query("side == 'right'").drop_duplicates("vehicle_id")
    assert proposal.questions == [] and first["value_mm"].tolist() == pytest.approx(mm)
    assert loaded.visits.drop_duplicates("vehicle_id")["odometer_km"].tolist() == pytest.approx(km)


@pytest.mark.parametrize("days", [("Jan 24", "Jun 24"), ("Jan 2024", "juin 2024"), ("01/2024", "06/2024"), ("2024-01", "2024-06"), ("1.2024", "6.2024")])
def test_months_without_a_day_are_asked_once_and_kept(tmp_path, days):
    text = "Vehicle,Date,Km,LF pad mm\n" + "".join(f"V1,{day},{km},{mm}\n" for day, km, mm in zip(days, (20_000, 31_000), (9, 8), strict=True))
    _, _, proposal = read(tmp_path, text)
    assert proposal.vital.key == "day.1" and not len(checks.load_proposal(proposal).measurements)
    with pytest.raises(RecordsError, match="31"):
        proposal.answer("day.1", "31")
    proposal.answer("day.1", "15")
    proposal.save()
    again = mapping.propose(tmp_path)
    truth = {"2024-01-15": 9, "2024-06-15": 8}
    its = checks.load_proposal(again).measurements
    assert again.questions == [] and dict(zip(its["date"].dt.strftime("%Y-%m-%d"), its["value_mm"], strict=True)) == truth
    shown = again.columns.set_index("column").loc["Date", "read_as"]
    assert [one[:10] for one in shown] == list(truth)


def test_days_of_one_month_are_no_years(tmp_path):
    """``10-Jan`` and ``12-Jan`` lack their year, they are no Januaries of 2010 and 2012."""
    _, _, proposal = read(tmp_path, "Vehicle,Date,Km,LF pad mm\nV1,10-Jan,20000,9\nV2,12-Jan,31000,8\n")
    assert [question.key for question in proposal.questions] == ["year.1"]


@pytest.mark.parametrize("names", ["W1,W2,W3,W4,W5,W6", "Wheel 1,Wheel 2,Wheel 3,Wheel 4,Wheel 5,Wheel 6"])
def test_columns_that_only_count_are_asked_about(tmp_path, names):
    _, _, proposal = read(tmp_path, csv_of(f"Vehicle,Date,Km,{names}", "9,8,7,7,6,6"))
    assert proposal.vital.key == "unplaced.1"


def test_boxes_that_were_ticked_are_not_asked_about(tmp_path):
    _, _, proposal = read(tmp_path, csv_of("Vehicle,Date,Km,Check 1,Check 2,Check 3,Check 4", "1,1,0,1"))
    assert proposal.questions == []


@pytest.mark.parametrize("heading", ["Rear pads fitted", "LF pad months", "Front pads age", "Beläge Tage", "LF pad km"])
def test_how_long_a_part_has_been_on_is_no_reading(tmp_path, heading):
    cell = "05/23" if "fitted" in heading else "6"
    got, _, proposal = read(tmp_path, csv_of(f"Vehicle,Date,Km,LF pad mm,RF pad mm,{heading}", f"9,8,{cell}"))
    assert proposal.questions == [] and sorted(got.values()) == [8, 8, 9, 9]


@pytest.mark.parametrize("names", ["Part,New mm,Min mm,,", "Component,New thickness,Min thickness,,"])
def test_a_list_of_limits_under_the_records(tmp_path, names):
    limits = f",,,,\nLimits,,,,\n{names}\nFront pad,12,3,,\nRear pad,11,3,,\n"
    got, _, proposal = read(tmp_path, csv_of("Vehicle,Date,Km,LF pad mm,RF pad mm", "9,8") + limits)
    assert proposal.questions == [] and sorted(got.values()) == [8, 8, 9, 9]
    lost = proposal.ledger().query("why == 'no column of its table is used'")
    assert lost["rows"].sum() == 2


TOP = (
    [["Brake check form"], [], ["Vehicle", "{0}", "", "Date", "{1}"], ["Odometer km", "{2}", "", "Technician", "T1"], []],
    [["Vehicle:", "{0}"], ["Date:", "{1}"], ["Km:", "{2}"], []],
)
BODY = {
    "a line an axle": [["Pads mm", "Left", "Right"], ["Front", "{3}", "{4}"], ["Rear", "{5}", "{6}"], [], ["Remarks", "ok"]],
    "a line an axle, no unit": [["", "N/S", "O/S"], ["Front", "{3} mm", "{4} mm"], ["Rear", "{5} mm", "{6} mm"]],
    "a title an axle": [["Front"], ["", "Left", "Right"], ["Pad mm", "{3}", "{4}"], ["Disc mm", "22", "22"],
                        ["Rear"], ["", "Left", "Right"], ["Pad mm", "{5}", "{6}"], ["Disc mm", "10", "10"]],
}  # fmt: skip


@pytest.mark.parametrize("body", BODY)
@pytest.mark.parametrize("top", [0, 1])
def test_a_form_a_visit_with_a_column_a_side(tmp_path, top, body):
    """Every line is accounted for, and no label of the form becomes a column or a record."""
    said = [("Van 1", "2024-03-05", 51_000, 9, 8, 7, 6), ("Van 2", "2024-03-06", 61_000, 8, 7, 6, 5)]
    book(tmp_path / "shop.xlsx", {f"Sheet {at}": [[cell.format(*its) for cell in row] for row in [*TOP[top], *BODY[body]]] for at, its in enumerate(said)})
    proposal = mapping.propose(tmp_path)
    for question in proposal.questions:
        assert question.key in ("traffic_side", "part.1")
        proposal.answer(question.key, {"traffic_side": "left", "part.1": "pad"}[question.key])
    its = checks.load_proposal(proposal)
    pads = its.measurements[its.measurements["part"].eq("pad")]
    truth = {(vehicle, axle, side): mm for vehicle, _, _, *four in said
             for (axle, side), mm in zip([("front", "left"), ("front", "right"), ("rear", "left"), ("rear", "right")], four, strict=True)}  # fmt: skip
    assert dict(zip(zip(pads["vehicle_id"], pads["axle"], pads["side"], strict=True), pads["value_mm"], strict=True)) == truth
    assert its.visits["odometer_km"].tolist() == [51_000, 61_000] and its.rows_read.query("outcome == 'left out'")["why"].isin(
        ["a title above the table", "the header", "blank", "the header again", "a note under the table"]
    ).all()


ON_WHEELS = ("LF", "RF")


def of_wheels(mm, day="2024-01-10"):
    return "".join(f"{wheel},{day},{mm}\n" for wheel in ON_WHEELS)


def greatest(proposal):
    """The greatest reading of each vehicle, where the lines over the records name it."""
    proposal.answer("vehicle_id.1", "(line above the records)")
    return {name: its["value_mm"].max() for name, its in checks.load_proposal(proposal).measurements.groupby("vehicle_id")}


@pytest.mark.parametrize("comma", ["", ","])
@pytest.mark.parametrize(
    ("one", "two", "again"),
    [("Van 1", "Van 2", True), ("Van 1", "Van 2", False), ("AB12 CDE", "XY34 FGH", True), ("AB12 CDE", "XY34 FGH", False), ("101", "102", True)],
)
def test_titles_in_a_table_of_two_columns(tmp_path, one, two, again, comma):
    head = "Date,LF pad mm\n"
    first, second = ("".join(f"{day},{mm - n}\n" for n, day in enumerate(DAYS)) for mm in (12, 8))
    _, _, proposal = read(tmp_path, f"{one}{comma}\n{head}{first}\n{two}{comma}\n{head if again else ''}{second}")
    assert greatest(proposal) == {one: 12, two: 8}


def test_a_day_without_a_reading_over_the_next_page_is_no_title(tmp_path):
    head = "Date,LF pad mm\n"
    _, _, proposal = read(tmp_path, f"Van 1\n{head}10 Jan 2024,9\n10 Feb 2024,\n{head}10 Mar 2024,8\n")
    assert greatest(proposal) == {"Van 1": 9}


@pytest.mark.parametrize("over", [True, False])
@pytest.mark.parametrize(("one", "two"), [("Van 1", "Van 2"), ("Big Red", "Old Blue"), ("R12", "R13"), ("Trailer 6", "Trailer 7")])
def test_vehicles_in_the_column_of_wheels(tmp_path, one, two, over):
    head = "Wheel,Date,Pad mm\n"
    first = f"{one},,\n{head}" if over else f"{head}{one},,\n"
    _, _, proposal = read(tmp_path, f"{first}{of_wheels(12)}{two},,\n{of_wheels(8)}")
    assert greatest(proposal) == {one: 12, two: 8}


def test_items_of_a_form_with_no_reading_end_no_vehicle(tmp_path):
    got, _, _ = read(tmp_path, f"Vehicle: Van 1\nWheel,Date,Pad mm\n{of_wheels(9)}Spare,,\nHorn,,\n{of_wheels(8, '2024-02-10')}")
    assert {key[0] for key in got} == {"Van 1"} and sorted(got.values()) == [8, 8, 9, 9]


LISTS = {
    "vehicle": ("Vehicle,Date,LF pad mm\n", lambda day, mm: f"V1,{day},{mm}\n"),
    "date": ("Vehicle: V1\nDate,Km,LF pad mm\n", lambda day, mm: f"{day},1{day[6]}000,{mm}\n"),
    "worded date": ("Vehicle: V1\nDate,Km,LF pad mm\n", lambda day, mm: f"15 {'JanFebMarApr'[3 * int(day[6]) - 3 :][:3]} 2024,1{day[6]}000,{mm}\n"),
    "job": ("Job no,Vehicle,Date,LF pad mm\n", lambda day, mm: f"J{day[6]},V1,{day},{mm}\n"),
    "wheel": ("Wheel,Vehicle,Date,Pad mm\n", lambda day, mm: f"LF,V1,{day},{mm}\n"),
}


def listed(tmp_path, of, *lines):
    """The readings of a list with these lines between its rows, one row a month from 9 mm down; what is no row stands alone in its line."""
    head, row = LISTS[of]
    days = iter(zip(DAYS, (9, 8, 7, 6), strict=True))
    text = "".join(row(*next(days)) if line is None else line + "," * (head.splitlines()[-1].count(",")) + "\n" for line in lines)
    got, found, _ = read(tmp_path, head + text)
    return {mm: key[4:] for key, mm in got.items()}, set(found["code"])


@pytest.mark.parametrize("of", LISTS)
@pytest.mark.parametrize("line", ["Tyre depths", "Tread mm", "Reifenprofil"])
def test_under_a_line_of_tyres_nothing_is_a_lining(tmp_path, of, line):
    got, codes = listed(tmp_path, of, None, line, None, "Brake pads", None)
    assert got == {9: ("pad", "before"), 7: ("pad", "before")} and "R75-no-reading" in codes


@pytest.mark.parametrize("of", LISTS)
@pytest.mark.parametrize("line", ["After repair", "After fitting new pads"])
def test_under_a_line_of_the_work_readings_are_after_it(tmp_path, of, line):
    got, _ = listed(tmp_path, of, None, line, None, "Before", None)
    assert got == {9: ("pad", "before"), 8: ("pad", "after"), 7: ("pad", "before")}


@pytest.mark.parametrize("line", ["Tyres changed", "After hours", "Disc brakes", "Front tyres worn out"])
def test_a_line_of_something_else_changes_no_reading(tmp_path, line):
    assert listed(tmp_path, "vehicle", None, line, None)[0] == {9: ("pad", "before"), 8: ("pad", "before")}


def test_under_a_line_of_rotors_nothing_is_a_pad(tmp_path):
    text = "V1,2024-01-15,9\nRotors,,\nV1,2024-01-15,24\nPads,,\nV1,2024-02-15,8\n"
    got, _, _ = read(tmp_path, "Vehicle,Date,LF pad mm\n" + text)
    assert {mm: key[4] for key, mm in got.items()} == {9: "pad", 24: "rotor", 8: "pad"}


def test_under_a_line_of_tyres_nothing_is_a_rotor_either(tmp_path):
    got, _, _ = read(tmp_path, "Vehicle,Date,LF pad mm,LF disc mm\nV1,2024-01-15,9,25\nTyres,,,\nV1,2024-02-15,5,6\n")
    assert {mm: key[4] for key, mm in got.items()} == {9: "pad", 25: "rotor"}


def under(tmp_path, title, days, kms=None, vehicles=None):
    """The days read of a list under a title, in its order: of one vehicle with these odometers, or of one vehicle a row."""
    names = vehicles or ["V1"] * len(days)
    head = ["Van", "Date", *(["km"] if kms else []), "FL pad mm"]
    rows = [[name, day, *([kms[n]] if kms else []), 9] for n, (name, day) in enumerate(zip(names, days, strict=True))]
    book(tmp_path / "b.xlsx", {"Sheet1": [*([line] for line in title), head, *rows]})
    proposal = mapping.propose(tmp_path)
    visits = checks.load_proposal(proposal).visits.sort_values("row")
    return visits["date"].dt.strftime("%Y-%m").tolist(), [question.key for question in proposal.questions]


@pytest.mark.parametrize("order", [1, -1])
@pytest.mark.parametrize(
    ("days", "kms", "truth"),
    [
        (["10-Jan", "12-Apr", "9-Jul", "11-Oct"], [10_000, 41_000, 18_000, 22_000], ["2024-01", "2024-04", "2024-07", "2024-10"]),  # for 14,000
        (["10-Jan", "12-Apr", "9-Jul", "11-Oct"], [10_000, 24_000, 18_000, 22_000], ["2024-01", "2024-04", "2024-07", "2024-10"]),
        (["10-Jan", "12-Mar", "9-Sep", "11-Oct", "8-Nov"], [100_000, 104_000, 108_000, 500, 1_500], ["2024-01", "2024-03", "2024-09", "2024-10", "2024-11"]),
        (["10-Oct", "8-Nov", "12-Jan", "9-Mar"], [100_000, 101_000, 500, 1_500], ["2024-10", "2024-11", "2025-01", "2025-03"]),  # a new cluster
        (["10-Nov", "20-Dec", "12-Jan", "9-Mar"], [10_000, 110_000, 12_000, 14_000], ["2024-11", "2024-12", "2025-01", "2025-03"]),
        (["18-Jan", "15-Nov", "20-Dec", "3-Mar"], [12_000, 10_000, 11_000, 14_000], ["2025-01", "2024-11", "2024-12", "2025-03"]),  # in no order
    ],
)  # fmt: skip
def test_an_odometer_that_cannot_be_moves_no_year(tmp_path, days, kms, truth, order):
    assert under(tmp_path, ["Brake checks 2024"], days[::order], kms[::order]) == (truth[::order], [])


@pytest.mark.parametrize("days", [["14-Nov", "10-Feb"], ["20-Jul", "10-Jan"]])
def test_two_visits_half_a_year_apart_show_no_order(tmp_path, days):
    assert {day[:4] for day in under(tmp_path, ["Brake checks 2024"], days)[0]} == {"2024"}


def test_a_title_of_two_years_shows_the_turn_of_two_visits(tmp_path):
    assert under(tmp_path, ["Winter 2023-24"], ["14-Nov", "10-Feb"])[0] == ["2023-11", "2024-02"]


@pytest.mark.parametrize(
    ("days", "years"),
    [
        (["20-Nov", "11-Nov", "5-Mar"], [2024, 2024, 2024]),  # newest first
        (["10-Aug", "12-Nov", "5-Feb"], [2024, 2024, 2024]),  # the same, with a late entry
        (["15-Nov", "20-Dec", "18-Jan"], [2024, 2024, 2025]),
        (["15-Aug", "20-Oct", "18-Dec", "3-Mar"], [2024, 2024, 2024, 2025]),
    ],
)
def test_a_visit_a_vehicle_turns_its_year_only_where_the_order_shows(tmp_path, days, years):
    got, _ = under(tmp_path, ["Brake checks 2024"], days, vehicles=[f"V{n}" for n in range(len(days))])
    assert [int(day[:4]) for day in got] == years


@pytest.mark.parametrize(
    "title",
    [
        ["Vehicle: Van 1", "Year: 2016"], ["Make: Hill", "Year: 2016"], ["Year: 2016", "VIN: WDB9066331S123456"], ["Report 14 January 2025"],
        ["14.01.2025"], ["Report 2025-01-14"], ["Report January 14th, 2025"],
    ],
)  # fmt: skip
def test_the_year_of_a_model_or_of_a_report_dates_nothing(tmp_path, title):
    assert under(tmp_path, title, ["10-Mar", "12-May"], [10_000, 12_000]) == ([], ["year.1"])


@pytest.mark.parametrize("title", ["Year: 2024", "Year 2024", "January 2024", "Brake checks 01/2024"])
def test_the_year_of_the_records_dates_them(tmp_path, title):
    assert under(tmp_path, [title], ["10-Jan", "12-Jan"], [10_000, 12_000])[0] == ["2024-01", "2024-01"]


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(
    ("days", "truth"),
    [
        (("5 Jan 2024", "6 Jun", "8 Nov", "7 Feb 2025", "8 Oct"), ("2024-01-05", "2024-06-06", "2024-11-08", "2025-02-07", None)),
        (("3 Nov", "5 Jan 2024", "6 Jun 2024", "1 Sep"), ("2023-11-03", "2024-01-05", "2024-06-06", "2024-09-01")),
        (("5 Jan 2022", "6 Jun", "7 Jul 2024"), ("2022-01-05", None, "2024-07-07")),
    ],
)
def test_days_without_a_year_among_whole_ones(tmp_path, days, truth, turned):
    """The year is the one that keeps the order of time; where two do, or none near by, the row waits."""
    days, truth = (days[::-1], truth[::-1]) if turned else (days, truth)
    lines = [f"V{at},{day},{20_000 + at},9\n" for at, day in enumerate(days)]
    _, _, proposal = read(tmp_path, "Vehicle,Date,Km,LF pad mm\n" + "".join(lines))
    its = checks.load_proposal(proposal).visits
    known = dict(zip(its["vehicle_id"], its["date"].dt.strftime("%Y-%m-%d"), strict=True))
    assert known == {f"V{at}": day for at, day in enumerate(truth) if day}


VINS = ("WDB9066331S123456", "WDB9066571S654321")
"""Made up; no check digit that must agree."""


def numbered(*lines, head="Van,VIN"):
    """A list of vehicles and their numbers, a row a visit."""
    return f"{head},{HEAD}" + "".join(f"{name},{number},{DAYS[n % 4]},{10_000 + 1_000 * n},{9 - n / 2}\n" for n, (name, number) in enumerate(lines))


@pytest.mark.parametrize(("head", "times"), [("Van,VIN", 1), ("Van,VIN", 2), ("Van,Chassis no", 2), ("Vehicle,Serial no", 2)])
@pytest.mark.parametrize("name", ["Hill Long", "Van 3"])
def test_a_name_of_several_vins_is_asked_about(tmp_path, name, times, head):
    _, _, proposal = read(tmp_path, numbered(*[(name, vin) for vin in VINS] * times, head=head))
    assert [question.key for question in proposal.questions] == ["vehicle_id.1"]
    proposal.answer("vehicle_id.1", head.partition(",")[2])
    assert set(checks.load_proposal(proposal).visits["vehicle_id"]) == {*VINS}


@pytest.mark.parametrize(
    "lines",
    [
        [("V1", VINS[0]), ("V1", VINS[0]), ("V1", VINS[0][:-1] + "7")],  # written wrongly once
        [("V1", VINS[0]), ("V1", VINS[0].lower()), ("V1", VINS[0][-8:]), ("V1", "")],
        [("V1", VINS[0]), ("V2", VINS[1]), ("V1", VINS[0])],
        [("V1", VINS[0]), ('""', VINS[0]), ("V2", VINS[1]), ('""', VINS[1])],
    ],
)
def test_one_vin_in_several_spellings_asks_nothing(tmp_path, lines):
    _, found, proposal = read(tmp_path, numbered(*lines))
    assert proposal.questions == [] and set(checks.load_proposal(proposal).visits["vehicle_id"]) == {name for name, _ in lines if name != '""'}
    assert found["code"].eq("R72-read-with-doubt").sum() == (lines[-1][1] not in ("", *VINS))  # the slip is told


def test_a_vin_under_the_wrong_name_of_many_is_told(tmp_path):
    many = [(f"V{n}", f"WDB9066331S12{n}45{n}") for n in range(1, 9)]
    _, found, proposal = read(tmp_path, numbered(*many, ("V1", VINS[1])))
    assert proposal.questions == []
    told = found[found["code"].eq("R72-read-with-doubt") & found["column"].eq("vin")]
    assert told[["vehicle_id", "row", "value"]].to_numpy().tolist() == [["V1", 10, VINS[1]]] and VINS[1] in told["reading"].iloc[0]


@pytest.mark.parametrize("head", ["Van,Pad serial no", "Van,Serial no"])
def test_a_number_of_a_part_or_of_each_row_names_no_vehicle(tmp_path, head):
    numbers = ("S1001", "S1001", "S2002", "S2002") if "Pad" in head else ("1", "2", "3", "4")
    _, _, proposal = read(tmp_path, numbered(*(("V1", number) for number in numbers), head=head))
    assert proposal.questions == []


FORM = ("Vehicle: {0}\nDate: {1}\nMileage: {2:,} mi\n", "LF pad: {3} mm\nRF pad: {4} mm\n", "Front pads   L: {3} mm   R: {4} mm\n")


@pytest.mark.parametrize("body", [1, 2])
@pytest.mark.parametrize("apart", ["", "\n", "BRAKE INSPECTION\n\n", "-----\n"])
def test_forms_of_lines_of_label_and_value(tmp_path, apart, body):
    """Source of the mile: NIST Special Publication 811, appendix B.8 (exact)."""
    said = [("Unit 21", "2024-01-27", 41_750, 9.5, 8), ("Unit 22", "2024-02-03", 32_002, 7, 6.5), ("Unit 21", "2024-06-07", 45_100, 8, 7)]
    text = "".join(apart + (FORM[0] + FORM[body]).format(*its) + "Notes: ok\nroad tested\n" for its in said)
    (tmp_path / "forms.txt").write_text(text)
    proposal = mapping.propose(tmp_path)
    loaded = checks.load_proposal(proposal)
    its = loaded.measurements.merge(loaded.visits[["visit_id", "odometer_km", "note"]], on="visit_id")
    got = set(zip(its["vehicle_id"], its["date"].dt.strftime("%Y-%m-%d"), its["odometer_km"].round(3), its["side"], its["value_mm"], strict=True))
    truth = {(vehicle, day, round(miles * 1.609344, 3), side, mm) for vehicle, day, miles, *two in said for side, mm in zip(("left", "right"), two, strict=True)}
    assert got == truth and proposal.questions == [] and set(its["note"]) == {"ok; road tested"}


def test_a_table_with_a_labelled_line_over_it_is_no_form(tmp_path):
    text = "Vehicle: V1\nDepot: North\nDate,Km,LF pad mm,RF pad mm\n" + "".join(f"{day},{km},9,8\n" for _, day, km in TWO)
    got, _, _ = read(tmp_path, text)
    assert sorted(got.values()) == [8, 8, 9, 9]


@pytest.mark.parametrize(("order", "truth"), [("LF RF LR RR", [("front", "left"), ("front", "right"), ("rear", "left"), ("rear", "right")]),
                                              ("LF LR RF RR", [("front", "left"), ("rear", "left"), ("front", "right"), ("rear", "right")])])  # fmt: skip
def test_four_columns_of_no_place_take_one_answer(tmp_path, order, truth):
    _, _, proposal = read(tmp_path, csv_of("Vehicle,Date,Km,W1,W2,W3,W4", "9,8,7,6"))
    assert order in dict(proposal.vital.choices)
    proposal.answer("unplaced.1", order)
    for question in proposal.questions:
        proposal.answer(question.key, {"thickness_unit.1": "mm", "part.1": "pad"}[question.key])
    proposal.save()
    again = mapping.propose(tmp_path)
    its = checks.load_proposal(again).measurements
    assert again.questions == [] and set(zip(its["axle"], its["side"], its["value_mm"], strict=True)) == {(*place, mm) for place, mm in zip(truth, (9, 8, 7, 6), strict=True)}


@pytest.mark.parametrize(
    ("two", "taken", "sides"),
    [(("lks.", "rts."), "before before", "left right"), (("vorher", "nachher"), "before after", " "), (("Before", "After"), "before after", " ")],
)
def test_a_second_line_of_headings_in_any_words(tmp_path, two, taken, sides):
    """Under a group's name and over numbers any words are headings; before, the first column became the whole axle in silence."""
    rows = [["Fahrzeug", "Datum", "km-Stand", "Beläge vorne (mm)", None], [None, None, None, *two], ["LKW 1", "22.01.2024", 80_000, 12, None], ["LKW 2", "23.01.2024", 90_000, 9, 8]]
    book(tmp_path / "shop.xlsx", {"2024": rows})
    its = checks.load_proposal(mapping.propose(tmp_path)).measurements.sort_values("value_mm", ascending=False)
    assert its["value_mm"].tolist() == [12, 9, 8]
    first, second = sides.split(" ")
    assert its["side"].tolist() == [first, first, second]
    assert its["taken"].tolist() == [taken.split()[0]] * 2 + [taken.split()[1]]


@pytest.mark.parametrize("two", [("upper", "lower"), ("piston", "finger"), ("kierowca", "pasażer")])
def test_a_second_line_of_headings_nobody_knows_is_asked_about(tmp_path, two):
    rows = [["Vehicle", "Date", "Km", "Front pads (mm)", None], [None, None, None, *two], ["V1", "22/01/2024", 80_000, 12, 11], ["V2", "23/01/2024", 90_000, 9, 8]]
    book(tmp_path / "shop.xlsx", {"2024": rows})
    proposal = mapping.propose(tmp_path)
    assert proposal.questions and not len(checks.load_proposal(proposal).measurements)


def test_front_1_and_rear_1_are_not_sides_of_axle_1(tmp_path):
    got, _, proposal = read(tmp_path, csv_of("Machine,Date,Km,F1 mm,F2 mm,R1 mm,R2 mm", "9,8,7,6"))
    assert got == {} and proposal.vital.key == "unplaced.1"


@pytest.mark.parametrize(("heading", "cells", "role"), [("Front pad after mm", (11, ""), "after"), ("Remarks", ("squeals", ""), "note")])
def test_a_column_that_was_empty_is_read_when_it_fills(tmp_path, heading, cells, role):
    text = f"Vehicle,Date,Km,Front pad before mm,{heading}\nV1,{{0}},20000,8,{{1}}\nV2,{{0}},30000,9,{{2}}\n"
    file = tmp_path / "checks.csv"
    file.write_text(text.format("2024-01-22", "", ""))
    mapping.propose(tmp_path).save()
    file.write_text(text.format("2024-02-22", *cells))
    proposal = mapping.propose(tmp_path)
    loaded = checks.load_proposal(proposal)
    assert proposal.questions == [] and len(loaded.visits) == 2
    if role == "after":
        assert loaded.measurements.query("taken == 'after'")["value_mm"].tolist() == [11]
    else:
        assert loaded.visits["note"].tolist() == ["squeals", ""]


def test_an_odometer_log_with_an_empty_column_of_remarks_stays_one(tmp_path):
    _, _, proposal = read(tmp_path, "Vehicle,Date,Km,Remarks\nV1,2024-01-22,20000,\nV2,2024-01-23,30000,\n")
    loaded = checks.load_proposal(proposal)
    assert (len(loaded.odometer_log), len(loaded.visits)) == (2, 0)


def test_codes_of_parts_beside_codes_of_places(tmp_path):
    rows = "".join(f"{v},{day},20000,{pos},{part},{mm},MM\n" for v, day in (("V1", "20240113"), ("V2", "20240114"))
                   for pos, part, mm in (("FL", "PAD_I", 10), ("FL", "PAD_O", 7.5), ("FR", "PAD_I", 9), ("FR", "PAD_O", 8.5), ("RL", "SHOE", 8), ("RR", "SHOE", 7)))  # fmt: skip
    _, _, proposal = read(tmp_path, "VEH_ID,INSP_DT,ODO_KM,POS_CD,COMP_CD,MEAS_VAL,MEAS_UOM\n" + rows)
    its = checks.load_proposal(proposal).measurements
    assert its.groupby("part").size().to_dict() == {"inner_pad": 4, "outer_pad": 4, "shoe": 4} and proposal.questions == []


def test_two_readings_an_axle_in_one_cell_are_asked_for_their_order(tmp_path):
    _, _, proposal = read(tmp_path, "Vehicle,Date,Km,Brake pads (mm),Notes\nV1,2024-01-16,20000,F 8/10 R 7/6,ok\nV2,2024-01-29,30000,F 9/9 R 8/8,\n")
    assert proposal.vital.key == "order.1.Brake pads (mm)"
    proposal.answer(proposal.vital.key, "left right")
    its = checks.load_proposal(proposal).measurements.query("vehicle_id == 'V1'")
    assert set(zip(its["axle"], its["side"], its["value_mm"], strict=True)) == {("front", "left", 8), ("front", "right", 10), ("rear", "left", 7), ("rear", "right", 6)}


def test_a_ruled_line_says_the_columns_of_a_report(tmp_path):
    """A column of remarks that is empty this month is no part of the one beside it."""
    lines = ["UNIT   DATE        ODOMETER   LF   RF   LR   RR  REMARKS", "-----  ----------  --------  ---  ---  ---  ---  ---------"]
    lines += [f"{1101 + at}   01/{14 + at}/2024     {46620 + at}   13   12   10   {6 + at}  " for at in range(4)]
    (tmp_path / "report.txt").write_text("\n".join(lines) + "\n")
    proposal = mapping.propose(tmp_path)
    assert proposal.columns.set_index("column").loc["RR", "role"] == "thickness: rear right"


@pytest.mark.parametrize("name", ["EXAMPLE", "Beispiel:", "(sample)"])
def test_a_row_that_shows_how_a_form_is_filled_is_no_vehicle(tmp_path, name):
    text = f"Vehicle,Date,Km,LF pad mm,RF pad mm\n{name},1/01/2020,50000,8,7\n" + "".join(f"{v},{day},{km},9,8\n" for v, day, km in TWO)
    _, _, proposal = read(tmp_path, text)
    loaded = checks.load_proposal(proposal)
    assert name not in set(loaded.vehicles["vehicle_id"]) and len(loaded.visits) == len(TWO)
    assert loaded.findings.query("code == 'R76-row-left-out'")["reading"].str.contains("example").sum() == 1


def test_as_found_and_as_left_are_before_and_after(tmp_path):
    _, _, proposal = read(tmp_path, "Car,Date,Km,When,LF pad mm\nV1,2024-01-13,20000,As found,3\nV1,2024-01-13,20000,As left,12\nV2,2024-01-14,30000,As found,5\n")
    its = checks.load_proposal(proposal).measurements
    assert set(zip(its["taken"], its["value_mm"], strict=True)) == {("before", 3), ("after", 12), ("before", 5)}


def test_an_odometer_in_thousands_under_a_heading_that_says_nothing(tmp_path):
    _, _, proposal = read(tmp_path, "Fzg.;Datum;Stand;VL mm;VR mm;Bem.\nV1;13.01.2024;37 Tkm;9;8;\nV1;14.06.2024;42 Tkm;8;7;ok\n")
    assert checks.load_proposal(proposal).visits["odometer_km"].tolist() == [37_000, 42_000]


def test_a_column_of_words_at_a_wheel_is_not_dropped(tmp_path):
    _, _, proposal = read(tmp_path, "Vehicle,Date,Km,LF pad mm,LR mm\nV1,2024-01-13,20000,9,?\nV2,2024-01-14,30000,8,seized\n")
    loaded = checks.load_proposal(proposal)
    assert loaded.findings.query("column == 'LR mm'")["value"].tolist() == ["?", "seized"]


@pytest.mark.parametrize("heads", [["FE", "FD", "TE", "TD"], ["PL", "PP", "TL", "TP"], ["F.L.H.", "F.R.H.", "R.L.H.", "R.R.H."], ["AvG", "AvD", "ArG", "ArD"]])
def test_wheels_in_the_codes_of_a_language(tmp_path, heads):
    _, _, proposal = read(tmp_path, csv_of("Vehicle,Date,Km," + ",".join(f"{head} mm" for head in heads), "9,8,7,6"))
    proposal.answer("part.1", "pad")
    its = checks.load_proposal(proposal).measurements.query("date == date.min()")
    assert set(zip(its["axle"], its["side"], its["value_mm"], strict=True)) == {("front", "left", 9), ("front", "right", 8), ("rear", "left", 7), ("rear", "right", 6)}


@pytest.mark.parametrize("where", ["Axle", "Wheel"])
def test_a_column_a_day_of_inspection(tmp_path, where):
    """A cell left empty is no visit; a new day next month asks nothing."""
    places = {"Axle": (("Front", "front", ""), ("Rear", "rear", "")), "Wheel": (("LF", "front", "left"), ("RF", "front", "right"))}[where]
    mm = {("Van 1", 0): (9, 8.5, 8), ("Van 1", 1): (7, 6.5, 6), ("Van 2", 0): (6, "", 5), ("Van 2", 1): (5, "", 4)}
    for days in (("2024-02-25", "2024-04-25", "2024-06-25"), ("2024-08-25", "2024-10-25", "2024-12-25")):
        rows = [["Pad thickness mm"], [], ["Vehicle", where, *days], *([vehicle, places[at][0], *its] for (vehicle, at), its in mm.items())]
        book(tmp_path / "shop.xlsx", {"Pads": rows})
        proposal = mapping.propose(tmp_path)
        loaded = checks.load_proposal(proposal)
        its = loaded.measurements
        got = dict(zip(zip(its["vehicle_id"], its["axle"], its["side"], its["date"].dt.strftime("%Y-%m-%d"), strict=True), its["value_mm"], strict=True))
        truth = {(vehicle, *places[at][1:], day): one for (vehicle, at), four in mm.items() for day, one in zip(days, four, strict=True) if one}
        assert got == truth and len(loaded.visits) == 5 and proposal.questions == []
        proposal.save()


def test_two_days_in_a_heading_of_texts_are_no_days_of_inspection(tmp_path):
    rows = [["Vehicle", "2024-02-25", "2024-04-25"], ["Van 1", "passed", "failed"], ["Van 2", "passed", "passed"]]
    book(tmp_path / "shop.xlsx", {"Tests": rows})
    assert not len(checks.load_proposal(mapping.propose(tmp_path)).measurements)


@pytest.mark.parametrize(("cells", "decimal"), [(("14,5", "13,5", "12,5", "10,5", "9,5"), True), (("9,1", "9,2", "8,1", "10,3", "8,2"), True),
                                                (("9,8", "8,8", "8,7", "7,6", "6,5"), False), (("24,9", "24,8", "23,8", "23,7", "22,7"), False)])  # fmt: skip
def test_commas_that_can_only_be_decimal_ones_are_not_asked_about(tmp_path, cells, decimal):
    """Two linings of a wheel seldom differ by more than 4 mm, and the second is not always 5 (common practice, no source)."""
    rows = [["Bus", "Date", "Km", "FL pad mm"], *([f"B{at}", f"2024-01-{13 + at}", 20_000 + at, cell] for at, cell in enumerate(cells))]
    book(tmp_path / "shop.xlsx", {"2024": rows})
    proposal = mapping.propose(tmp_path)
    got = checks.load_proposal(proposal).measurements["value_mm"].tolist()
    assert (sorted(got) == sorted(float(cell.replace(",", ".")) for cell in cells)) is decimal
    assert ("decimal.1" in [question.key for question in proposal.questions]) is not decimal


def test_visits_side_by_side_with_their_number_first(tmp_path):
    head = "Vehicle," + ",".join(f"Visit {n} date,Visit {n} km,Visit {n} front pad mm" for n in (1, 2))
    _, _, proposal = read(tmp_path, head + "\nV1,2024-01-13,20000,9,2024-06-13,30000,8\nV2,2024-01-14,40000,7,2024-06-14,50000,6\n")
    its = checks.load_proposal(proposal)
    assert sorted(its.measurements["value_mm"]) == [6, 7, 8, 9] and its.visits["odometer_km"].tolist() == [20_000, 30_000, 40_000, 50_000]


def in_two_months(folder, first, second, answers=()):
    """Readings of the second month's files, ``{name: rows}`` or ``{name: {sheet: rows}}``, after the answers to the first; and what is asked then."""
    for files in (first, second):
        for file in [file for file in folder.iterdir() if file.name != "records.toml"]:
            file.unlink()
        for name, rows in files.items():
            book(folder / name, rows)
        proposal = mapping.propose(folder)
        for key, value in dict(answers).items() if files is first else ():
            proposal.answer(key, value)
        if files is first:
            proposal.save()
    its = checks.load_proposal(proposal).measurements
    return set(zip(its["axle"], its["side"], its["part"], its["value_mm"].round(4), strict=True)), [question.key for question in proposal.questions]


PADS = ["Van", "Date", "Km", "Front pad mm", "Rear pad mm"]


def test_a_name_that_says_the_side_holds_when_it_stands_alone(tmp_path):
    both = {"Nearside": [PADS, ["V1", "2024-01-20", 50_000, 8, 7]], "Offside": [PADS, ["V1", "2024-01-20", 50_000, 9, 6]]}
    got = in_two_months(tmp_path, {"a.xlsx": both}, {"a.xlsx": {"Offside": [PADS, ["V1", "2024-05-20", 55_000, 5, 4]]}}, {"traffic_side": "left"})
    assert got == ({("front", "right", "pad", 5), ("rear", "right", "pad", 4)}, [])


def test_a_name_that_says_the_part_holds_when_it_stands_alone(tmp_path):
    head = ["Van", "Date", "Km", "LF mm"]
    both = {"Pads": [head, ["V1", "2024-01-20", 50_000, 8]], "Rotors": [head, ["V1", "2024-01-20", 50_000, 22.1]]}
    got = in_two_months(tmp_path, {"a.xlsx": both}, {"a.xlsx": {"Rotors": [head, ["V1", "2024-05-20", 55_000, 21.9]]}})
    assert got == ({("front", "left", "rotor", 21.9)}, [])


def test_the_unit_in_a_name_is_that_of_its_own_file(tmp_path):
    """Source of the inch: NIST Special Publication 811, appendix B.8 (exact)."""
    head = ["Unit", "Date", "Km", "LF pad", "RF pad"]
    got = in_two_months(tmp_path, {"cars mm.xlsx": {"2024": [head, ["C1", "2024-01-20", 50_000, 8, 7]]}}, {"trucks 32nds.xlsx": {"2024": [head, ["T1", "2024-05-20", 55_000, 14, 12]]}})
    assert got == ({("front", "left", "pad", 11.1125), ("front", "right", "pad", 9.525)}, [])


def test_a_short_name_of_a_file_says_no_side(tmp_path):
    got, asked = in_two_months(tmp_path, {"p.xlsx": {"d": [PADS, ["V1", "2024-01-20", 50_000, 8, 7]]}}, {"p.xlsx": {"d": [PADS, ["V1", "2024-05-20", 55_000, 5, 4]]}})
    assert got == {("front", "", "pad", 5), ("rear", "", "pad", 4)} and asked == []


def test_what_waits_for_a_place_is_asked_again(tmp_path):
    head = ["Van", "Date", "Km", "XA", "XB", "YA", "YB"]
    rows = {"a.xlsx": {"2024": [head, ["V1", "2024-01-20", 50_000, 8, 7, 6, 5], ["V2", "2024-01-20", 50_000, 8, 7, 6, 5]]}}
    assert in_two_months(tmp_path, rows, rows) == (set(), ["unplaced.1"])


@pytest.mark.parametrize(
    ("names", "mm", "got"),
    [
        ("Front pads mm as found,Front pads mm as left", "4,11", {("front", "", "before", 4), ("front", "", "after", 11)}),
        ("LF pad mm old,LF pad mm new", "4,11", {("front", "left", "before", 4), ("front", "left", "after", 11)}),
        ("Front pad material left mm,Rear pad material left mm", "4,11", {("front", "", "before", 4), ("rear", "", "before", 11)}),
        ("A1 mm,A2 mm,B1 mm,B2 mm", "8,7,6,5", set()),
        ("LFI,LFO,RFI,RFO", "8,7,6,5", set()),
        ("LV bi,LV bu,RV bi,RV bu", "8,7,6,5", set()),
        ("LF pad 1 mm,LF pad 2 mm,RF pad 1 mm,RF pad 2 mm", "8,3,7,2", {("front", "left", "before", 8), ("front", "right", "before", 7)}),
        ("Front pad mm,,Rear pad mm,", "8,9,6,5", {("front", "", "before", 8), ("rear", "", "before", 6)}),
    ],
)
def test_words_and_numbers_that_are_no_place(tmp_path, names, mm, got):
    """What is not placed is asked about, and never put on another wheel, side or axle."""
    _, _, proposal = read(tmp_path, csv_of(f"Vehicle,Date,Km,{names}", mm))
    its = checks.load_proposal(proposal).measurements
    assert set(zip(its["axle"], its["side"], its["taken"], its["value_mm"], strict=True)) == got
    whole = len(got) == len(mm.split(","))
    assert ("unplaced.1" in [question.key for question in proposal.questions]) is not whole


def test_a_form_with_lines_of_sides_under_columns_of_axles(tmp_path):
    book(tmp_path / "a.xlsx", {"1": [["Vehicle", "V1", "Date", "2024-01-20"], ["Km", 50_000], [], ["Pads (mm)", "Front", "Rear"], ["Left", 8, 7], ["Right", 6, 5]]})
    its = checks.load_proposal(mapping.propose(tmp_path)).measurements
    assert set(zip(its["axle"], its["side"], its["value_mm"], strict=True)) == {("front", "left", 8), ("rear", "left", 7), ("front", "right", 6), ("rear", "right", 5)}


def test_a_form_that_lacks_a_line_takes_none_from_the_next(tmp_path):
    forms = ("Vehicle: Van 1\nDate: 20/01/2024\nMileage: 50,000 km\nLF pad: 8 mm\n", "Date: 21/02/2024\nMileage: 61,000 km\nLF pad: 5 mm\n",
             "Date: 22/03/2024\nVehicle: Van 3\nMileage: 70,000 km\nLF pad: 6 mm\n")  # fmt: skip
    (tmp_path / "forms.txt").write_text("\n".join(forms))
    loaded = checks.load_proposal(mapping.propose(tmp_path))
    its = loaded.measurements
    assert set(zip(its["vehicle_id"], its["date"].dt.strftime("%Y-%m-%d"), its["value_mm"], strict=True)) == {("Van 1", "2024-01-20", 8), ("Van 3", "2024-03-22", 6)}
    assert loaded.findings.query("code == 'R76-row-left-out'")["reading"].tolist() == ["no vehicle is named"]


def test_a_line_over_the_rest_of_a_form_holds_for_that_rest(tmp_path):
    text = ("Vehicle: Van 1\nDate: 20/01/2024\nMileage: 50,000 km\nFront pads: 3 mm\nRear pads: 6 mm\nAfter repair\nFront pads: 11 mm\n\n"
            "Vehicle: Van 2\nDate: 21/02/2024\nMileage: 61,000 km\nFront pads: 5 mm\n")  # fmt: skip
    (tmp_path / "forms.txt").write_text(text)
    its = checks.load_proposal(mapping.propose(tmp_path)).measurements
    truth = {("Van 1", "front", "before", 3), ("Van 1", "rear", "before", 6), ("Van 1", "front", "after", 11), ("Van 2", "front", "before", 5)}
    assert set(zip(its["vehicle_id"], its["axle"], its["taken"], its["value_mm"], strict=True)) == truth


def test_a_month_among_whole_days_is_no_day(tmp_path):
    _, _, proposal = read(tmp_path, "Van,Date,Km,LF pad mm\nV1,12/01/2024,50000,8\nV1,02/24,51000,7\nV1,22/05/2024,52000,6\n")
    assert checks.load_proposal(proposal).visits["date"].dt.strftime("%Y-%m-%d").tolist() == ["2024-01-12", "2024-05-22"]


def test_italian_outer_pads_beside_a_column_of_axles(tmp_path):
    text = "Targa;Data;Km;Asse;Int. SX;Est. SX;Int. DX;Est. DX\nV1;20/01/2024;50000;Ant;8;7;6;5\nV1;20/01/2024;50000;Post;7;6;5;4\n"
    _, _, proposal = read(tmp_path, text)
    proposal.answer("thickness_unit.1", "mm")
    its = checks.load_proposal(proposal).measurements
    assert proposal.questions == [] and its.groupby("part").size().to_dict() == {"inner_pad": 4, "outer_pad": 4}


def test_a_week_is_no_month(tmp_path):
    """The first week of January 2024 begins on the first of the month (ISO 8601: Monday)."""
    _, _, proposal = read(tmp_path, "Vehicle,Date,Km,LF pad mm\nV1,2024-01-15,20000,9\nV1,2024-W01,19000,9.5\nV1,2024-02-15,21000,8.5\n")
    assert "day.1" not in [question.key for question in proposal.questions]
    assert checks.load_proposal(proposal).visits["date"].dt.strftime("%Y-%m-%d").tolist() == ["2024-01-15", "2024-02-15"]


def test_a_remark_in_a_form_that_speaks_of_pads_is_no_title(tmp_path):
    text = "Vehicle: Van 1\nDate: 20/01/2024\nMileage: 50,000 km\nLF pad: 8 mm\nNotes: ok\npads look fine\nRF pad: 7 mm\n\nVehicle: Van 2\nDate: 21/02/2024\nMileage: 61,000 km\nLF pad: 5 mm\n"
    (tmp_path / "forms.txt").write_text(text)
    loaded = checks.load_proposal(mapping.propose(tmp_path))
    its = loaded.measurements
    assert set(zip(its["vehicle_id"], its["side"], its["value_mm"], strict=True)) == {("Van 1", "left", 8), ("Van 1", "right", 7), ("Van 2", "left", 5)}
    assert loaded.visits["note"].tolist() == ["ok; pads look fine", ""]


@pytest.mark.parametrize("remark", [["Remarks", "squeals when cold"], ["Remarks: squeals when cold"], ["Remarks:", "squeals when cold"]])
def test_a_remark_under_a_form_is_of_its_visit(tmp_path, remark):
    top = [["Vehicle", "Van 1", "Date", "2024-03-05"], ["Km", 51_000], []]
    bodies = {"lines": [["Pads mm", "Left", "Right"], ["Front", 9, 8], ["Rear", 7, 6], []],
              "titles": [["Front"], ["", "Left", "Right"], ["Pad mm", 9, 8], ["Rear"], ["", "Left", "Right"], ["Pad mm", 7, 6]]}  # fmt: skip
    for name, body in bodies.items():
        (tmp_path / name).mkdir()
        book(tmp_path / name / "a.xlsx", {"1": [*top, *body, remark]})
        assert checks.load_proposal(mapping.propose(tmp_path / name)).visits["note"].tolist() == ["squeals when cold"]


def test_a_remark_under_a_table_of_many_visits_is_of_none(tmp_path):
    _, _, proposal = read(tmp_path, csv_of("Vehicle,Date,Km,LF pad mm", "9") + "Remarks,measured cold,,\n")
    assert set(checks.load_proposal(proposal).visits["note"]) == {""}


TWO_UNDER = """Unit,Date,Miles,{one},,{other},
,,,{a},{b},{a},{b}
A1,2024-01-13,50000,8,7,8,9
A2,2024-02-14,61000,3,5,6,6
A1,2024-03-17,71000,4,2,5,7
"""


@pytest.mark.parametrize(
    ("one", "other", "a", "b", "answer", "first"),
    [
        ("Front pads mm", "Rear pads mm", "1", "2", "left right", {("front", "left", "pad"): 8, ("front", "right", "pad"): 7, ("rear", "right", "pad"): 9}),
        ("Front pads mm", "Rear pads mm", "S1", "S2", "right left", {("front", "right", "pad"): 8, ("front", "left", "pad"): 7, ("rear", "left", "pad"): 9}),
        ("LF pad mm", "RF pad mm", "I", "O", "inner outer", {("front", "left", "inner_pad"): 8, ("front", "right", "outer_pad"): 9}),
        ("LF pad mm", "RF pad mm", "P1", "P2", "outer inner", {("front", "left", "outer_pad"): 8, ("front", "right", "inner_pad"): 9}),
    ],
)
def test_two_words_under_each_place_are_asked_once(tmp_path, one, other, a, b, answer, first):
    _, _, proposal = read(tmp_path, TWO_UNDER.format(one=one, other=other, a=a, b=b))
    [question] = proposal.questions
    assert question.key == "unplaced.1" and answer in dict(question.choices)
    proposal.answer("unplaced.1", answer)
    loaded = checks.load_proposal(proposal)
    its = loaded.measurements[loaded.measurements["visit_id"].str.contains("01-13")]
    got = dict(zip(zip(its["axle"], its["side"], its["part"], strict=True), its["value_mm"], strict=True))
    assert proposal.questions == [] and len(got) == 4 and first.items() <= got.items()


def test_of_two_numbered_columns_none_is_the_whole_axle(tmp_path):
    got, _, proposal = read(tmp_path, "Unit,Date,Miles,Front pad mm 1,Front pad mm 2\nA1,2024-01-13,50000,8,7\nA2,2024-02-14,61000,3,5\n")
    assert not got and [question.key for question in proposal.questions] == ["unplaced.1"]


def test_numbered_axles_stay_axles(tmp_path):
    got, _, proposal = read(tmp_path, "Truck,Date,km,Axle 1 pads mm,Axle 2 pads mm\nA1,2024-01-13,50000,8,7\nA2,2024-02-14,61000,3,5\n")
    assert proposal.questions == [] and {key[2] for key in got} == {"1", "2"}


@pytest.mark.parametrize(("found", "left", "when"), [("vorh.", "nachh.", ["before", "after"]), ("Ist", "Grenze", ["before"])])
def test_german_words_under_an_axle(tmp_path, found, left, when):
    rows = "A1,13.01.2024,50000,8,2,7,2\nA2,14.02.2024,61000,3,2,6,2\n".replace(",", ";")
    _, _, proposal = read(tmp_path, f"Kfz;Datum;km;VA Belag mm;;HA Belag mm;\n;;;{found};{left};{found};{left}\n{rows}")
    its = checks.load_proposal(proposal).measurements
    assert proposal.questions == [] and len(its) == 4 * len(when) and set(its["taken"]) == set(when)


def month_tabs(*months, day=3):
    head = ["Van", "Day", "Miles", "Front pads mm"]
    return {month: [head, ["V1", day, 50_000 + 900 * n, 9 - n], ["V2", day + 9, 60_000 + 900 * n, 8 - n]] for n, month in enumerate(months)}


@pytest.mark.parametrize(
    ("name", "months", "answer", "truth"),
    [
        ("Vans 2024", ["January", "February", "March"], "", ["2024-01-03", "2024-02-03", "2024-03-03"]),
        ("Vans 2024-25", ["November", "December", "January"], "", ["2024-11-03", "2024-12-03", "2025-01-03"]),
        ("Vans 2024", ["November", "December", "January"], "2023", ["2023-11-03", "2023-12-03", "2024-01-03"]),  # of which year is not clear
        ("checks", ["Januar", "Februar"], "2024", ["2024-01-03", "2024-02-03"]),
    ],
)
def test_days_on_sheets_named_by_months(tmp_path, name, months, answer, truth):
    book(tmp_path / f"{name}.xlsx", month_tabs(*months))
    proposal = mapping.propose(tmp_path)
    assert [question.key for question in proposal.questions] == (["year.1"] if answer else [])
    if answer:
        proposal.answer("year.1", answer)
    visits = checks.load_proposal(proposal).visits
    assert visits.loc[visits["vehicle_id"].eq("V1"), "date"].dt.strftime("%Y-%m-%d").tolist() == truth


def test_months_newest_first_turn_no_year(tmp_path):
    book(tmp_path / "Vans 2024.xlsx", month_tabs("March", "February", "January"))
    proposal = mapping.propose(tmp_path)
    assert proposal.questions == [] and set(checks.load_proposal(proposal).visits["date"].dt.year) == {2024}


@pytest.mark.parametrize("heading", ["Mois", "Month", "Monat"])
def test_a_column_of_months_is_the_date_where_no_other_is(tmp_path, heading):
    text = "Van,{},Km,Front pads mm{}\nV1,01/2024,50000,8{}\nV2,01/2024,60000,7{}\nV1,02/2024,52000,7{}\n"
    _, _, proposal = read(tmp_path, text.format(heading, "", "", "", ""))
    assert [question.key for question in proposal.questions] == ["day.1"]
    got, _, proposal = read(tmp_path, text.format(heading, ",Date", ",2024-01-05", ",2024-01-07", ",2024-02-09"))
    assert proposal.questions == [] and {key[1] for key in got} == {"2024-01-05", "2024-01-07", "2024-02-09"}


def test_days_behind_one_whole_day_are_asked_for_their_year(tmp_path):
    _, _, proposal = read(tmp_path, "Van;Date;Km;Front pads mm\nV1;20/11/2024;50000;8\nV1;15/12;52000;8\nV1;22/01;54000;7\nV1;25/02;56000;6\n")
    assert [question.key for question in proposal.questions] == ["year.1"]
    proposal.answer("year.1", "2024")
    dated = checks.load_proposal(proposal).visits["date"].dt.strftime("%Y-%m").tolist()
    assert dated == ["2024-11", "2024-12", "2025-01", "2025-02"]


@pytest.mark.parametrize("over", [["Pastillas (mm)", "", "Discos (mm)", ""], ["Discos (mm)", "", "Pastillas (mm)", ""]])
def test_short_words_of_a_sheets_language_under_its_parts(tmp_path, over):
    rows = [["Unidad", "Fecha", "Km", *over], ["", "", "", "Del.", "Tras.", "Del.", "Tras."], ["U1", "15/01/2024", 50000, 8, 7, 6, 5], ["U2", "16/01/2024", 52000, 6, 7, 5, 4]]
    book(tmp_path / "enero.xlsx", {"Enero": rows})
    proposal = mapping.propose(tmp_path)
    assert proposal.questions == []
    roles = dict(zip(proposal.columns["column"], proposal.columns["role"], strict=True))
    assert roles["Pastillas (mm) / Del."] == "thickness: front pad" and roles["Discos (mm) / Tras."] == "thickness: rear rotor"


def test_an_axle_over_a_second_form_is_no_title_of_a_page(tmp_path):
    def form(van, day, km, front, rear):
        axle = lambda name, mm: [[name], ["", "Left", "Right"], ["Inner mm", mm, mm - 1], ["Outer mm", mm, mm - 2]]  # noqa: E731
        return [["Vehicle", van], ["Date", day], ["Odometer", f"{km} mi"], *axle("FRONT", front), *axle("REAR", rear), []]

    book(tmp_path / "forms.xlsx", {"Sheet": form("Van 1", "15/01/2024", 50_000, 8, 7) + form("Van 2", "16/01/2024", 52_000, 6, 5)})
    its = checks.load_proposal(mapping.propose(tmp_path)).measurements
    got = its.groupby(["vehicle_id", "axle"])["value_mm"].max().to_dict()
    assert got == {("Van 1", "front"): 8, ("Van 1", "rear"): 7, ("Van 2", "front"): 6, ("Van 2", "rear"): 5} and len(its) == 16
