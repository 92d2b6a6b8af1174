"""Words over and between the readings: this visit and the one before, marks of work, complaints under any heading, lines of a notebook.

Truth: the plain numbers each file is written from, by hand. Source of the forms: common practice, no source.
"""

import pytest
from test_mapping_oddities import read, roles
from test_mapping_sheets import book

from brakedata import cells, checks, mapping
from brakedata.mapping import jobs


def answered(proposal, **answers):
    """The loaded records after answers to those questions that are asked, by the first word of their key."""
    for question in proposal.questions:
        if (name := question.key.partition(".")[0]) in answers:
            proposal.answer(question.key, answers[name])
    assert proposal.questions == []
    return checks.load_proposal(proposal)


def placed(loaded):
    its = loaded.measurements
    return dict(zip(zip(its["vehicle_id"], its["axle"], its["side"], its["part"], strict=True), its["value_mm"].round(4), strict=True))


# --- this visit and the one before ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("left", "right", "before", "now"),
    [
        ("VL", "VR", "vorher", "jetzt"), ("LF", "RF", "before", "now"), ("LF", "RF", "old", "today"), ("LF", "RF", "last time", "this time"),
        ("AVG", "AVD", "précédent", "actuel"), ("Del. izq.", "Del. der.", "ant.", "act."), ("VL", "VR", "letzte", "aktuell"),
    ],
)  # fmt: skip
def test_beside_what_it_is_now_the_reading_before_is_of_another_visit(tmp_path, left, right, before, now):
    head = f"Fahrzeug;Datum;km;{left} {before} mm;{left} {now} mm;{right} {before} mm;{right} {now} mm\n"
    _, _, proposal = read(tmp_path, head + "V1;2024-01-13;50000;9;8;7;6\nV1;2024-02-14;52000;8;7;6;5\n")
    loaded = answered(proposal, part="pad")
    assert sorted(loaded.measurements["value_mm"]) == [5, 6, 7, 8] and set(loaded.measurements["taken"]) == {"before"}


def test_before_and_after_without_a_word_for_now_are_of_one_visit(tmp_path):
    _, _, proposal = read(tmp_path, "Van,Date,Km,LF pad before mm,LF pad after mm\nV1,2024-01-13,50000,3,11\nV1,2024-02-14,52000,9,9\n")
    assert sorted(set(answered(proposal).measurements["taken"])) == ["after", "before"]


def test_last_times_column_of_a_list_of_wheels_is_asked_and_never_the_front(tmp_path):
    text = "COCHE;FECHA;KM;RUEDA;ANT;ACT;MIN\nB2;17/03/2026;28204;DEL IZQ;4,5;4;3\nB2;17/03/2026;28204;TRAS IZQ;5,5;5;3\n"
    _, _, proposal = read(tmp_path, text)
    [question] = proposal.questions
    assert question.key == "unplaced.1" and {"ANT", "ACT"} <= set(dict(question.choices))


def test_what_is_worn_away_beside_what_is_left_says_nothing_more(tmp_path):
    _, _, proposal = read(tmp_path, "Van,Date,Km,LF pad mm,LF wear,RF pad mm,RF wear\nV1,2024-01-13,50000,7,0.5,6,0.7\nV1,2024-02-14,52000,6,1,5,1\n")
    assert sorted(answered(proposal).measurements["value_mm"]) == [5, 6, 6, 7]


@pytest.mark.parametrize("heading", ["Front disc min", "Disc min front", "Scheibe min VA"])
def test_a_rotors_minimum_that_never_changes_is_a_limit(tmp_path, heading):
    _, _, proposal = read(tmp_path, f"Van,Date,Km,Front pads mm,{heading}\nV1,2024-01-13,50000,7,22\nV2,2024-02-14,52000,6,22\n")
    assert set(answered(proposal).measurements["part"]) == {"pad"}


# --- parts, places and units of more languages ------------------------------------------------------------------------


@pytest.mark.parametrize(
    "wheels",
    [
        ["Kloss VF", "Kloss HF", "Kloss VB", "Kloss HB"], ["Bromsbelägg VF", "Bromsbelägg HF", "Bromsbelägg VB", "Bromsbelägg HB"],
        ["Jarrupala EV", "Jarrupala EO", "Jarrupala TV", "Jarrupala TO"], ["Destičky LP", "Destičky PP", "Destičky LZ", "Destičky PZ"],
        ["Venstre for", "Højre for", "Venstre bag", "Højre bag"], ["Past. ant. sx", "Past. ant. dx", "Past. post. sx", "Past. post. dx"],
        ["Plaquettes (mm) / Av. G", "Plaquettes (mm) / Av. D", "Plaquettes (mm) / Ar. G", "Plaquettes (mm) / Ar. D"],
    ],
)  # fmt: skip
def test_wheels_of_more_languages(tmp_path, wheels):
    _, _, proposal = read(tmp_path, "Bil;Date;Km;" + ";".join(wheels) + "\nV1;2024-01-13;50000;9;8;7;6\nV1;2024-02-14;52000;8;7;6;5\n")
    its = answered(proposal, thickness_unit="mm", part="pad").measurements
    first = its[its["visit_id"].str.contains("01-13")]
    assert dict(zip(first["value_mm"], zip(first["axle"], first["side"], strict=True), strict=True)) == {
        9: ("front", "left"), 8: ("front", "right"), 7: ("rear", "left"), 6: ("rear", "right"),
    }  # fmt: skip


def test_scandinavian_miles_are_ten_km(tmp_path):
    _, _, proposal = read(tmp_path, "Regnr;Datum;Mätarställning (mil);VF;HF;VB;HB\nA1;2024-01-13;4904;9;8;7;6\nA1;2024-02-14;4990;8;7;6;5\n")
    assert answered(proposal, thickness_unit="mm", part="pad").visits["odometer_km"].tolist() == [49_040, 49_900]


@pytest.mark.parametrize(("codes", "header"), [("VL 8 VR 7 HL 6 HR 5", "Messwerte"), ("AVG 8 AVD 7 ARG 6 ARD 5", ""), ("VF 8 HF 7 VB 6 HB 5", "")])
def test_a_cell_with_all_four_codes_of_a_language(codes, header):
    reading = cells.read("pad_thickness", [codes], header, {"unit": "mm"})[0]
    assert reading.status == "ok" and reading.value == {"LF": 8, "RF": 7, "LR": 6, "RR": 5}


def test_a_row_of_a_part_that_is_not_known_is_no_pad(tmp_path):
    rows = "".join(f"V1,2024-0{n}-13,{50_000 + n},{place},{mm}\n" for n in (1, 2, 3) for place, mm in (("Front pads", 9 - n), ("Front flurb", 24 - n)))
    _, _, proposal = read(tmp_path, f"Van,Date,Km,Position,Thickness mm\n{rows}")
    loaded = answered(proposal, part="pad")
    assert sorted(loaded.measurements["value_mm"]) == [6, 7, 8]
    assert loaded.findings["value"].eq("Front flurb").sum() == 3


@pytest.mark.parametrize("day", ["2026-W11-{}", "{}. 3. 2026", "0{}-Mar-2026 09:01 AM"])
def test_days_in_more_forms(tmp_path, day):
    lines = "".join(f"1-ABC-23{n};{day.format(n + 2)};{50_000 + n};9;8\n" for n in range(5)) + f"1-ABC-230;{day.format(7) if 'W' in day else day.format(8)};51000;8;8\n"
    lines += "1-ABC-231;13. 3. 2026;51000;8;8\n" if ". 3." in day else ""
    _, _, proposal = read(tmp_path, f"Nummerplaat;Datum;Km;LF pad mm;RF pad mm\n{lines}")
    assert roles(proposal)["Nummerplaat"] == "vehicle_id" and roles(proposal)["Datum"] == "date"
    assert answered(proposal).visits["date"].dt.month.eq(3).all()


def test_the_month_in_a_files_name_dates_its_days_where_all_are_of_it(tmp_path):
    head = "Trailer,Date,Km,L pad mm A1,Note\n".replace("L pad mm A1", "LF pad mm")
    lines = "D1,03/03,50000,9,\nD1,17/03,52000,8,\n"
    _, _, proposal = read(tmp_path, head + lines, name="dollies 2026-03.csv")
    assert answered(proposal).visits["date"].dt.strftime("%Y-%m").eq("2026-03").all()
    (tmp_path / "dollies 2026-03.csv").write_text(head + lines.replace("17/03", "17/05"))
    assert [question.key for question in mapping.propose(tmp_path).questions] == ["year.1"]


# --- work and complaints ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("heading", ["Front pads replaced", "New front pads", "Front pads done", "Changed front pads Y/N", "Front pads replaced (Y/N)"])
@pytest.mark.parametrize(("yes", "no"), [("X", ""), ("yes", "no"), ("Y", "N"), ("✓", "-")])
def test_marks_under_a_heading_of_work_are_that_work(tmp_path, heading, yes, no):
    text = f"Van,Date,Km,LF pad mm,{heading}\nV1,2024-01-13,50000,3,{no}\nV1,2024-02-14,52000,2,{yes}\nV1,2024-03-14,54000,9,{no}\n"
    _, _, proposal = read(tmp_path, text)
    loaded = answered(proposal)
    assert loaded.work[["axle", "part", "action"]].to_numpy().tolist() == [["front", "pads", "replaced"]]
    assert loaded.work["visit_id"].str.contains("02-14").all() and "R77-work-not-clear" not in set(loaded.findings["code"])


@pytest.mark.parametrize("heading", ["Parts fitted", "Erledigt", "What we did", "Se hizo"])
def test_work_under_a_heading_that_says_it_was_done(tmp_path, heading):
    rows = "V1,2024-01-13,50000,3,front pads replaced\nV1,2024-02-14,52000,9,\nV1,2024-03-14,54000,8,rear pads replaced\n"
    _, _, proposal = read(tmp_path, f"Van,Date,Km,LF pad mm,{heading}\n{rows}")
    assert answered(proposal).work["axle"].tolist() == ["front", "rear"]


@pytest.mark.parametrize(
    "heading",
    ["Customer says", "Write-up", "Kundenbeanstandung", "Fahrermeldung", "Reclamação", "Lamentele cliente", "Défaut signalé", "Advisory", "Whatever"],
)
def test_complaints_under_any_heading(tmp_path, heading):
    rows = "V1,2024-01-13,50000,9,squeals when cold\nV1,2024-02-14,52000,8,\nV1,2024-03-14,54000,7,pulls left\n"
    _, _, proposal = read(tmp_path, f"Van,Date,Km,LF pad mm,{heading}\n{rows}")
    assert answered(proposal).visits["complaint"].tolist() == ["squeals when cold", "", "pulls left"]


def test_a_group_of_readings_ends_before_the_complaints(tmp_path):
    head = ",,,BRAKE PADS (mm),,TIRE TREAD (32nds),,\nVan,Date,Miles,LF,RF,LF,RF,Complaint\n"
    _, _, proposal = read(tmp_path, head + "V1,03/11/2026,101967,3,7.5,9,5,\nV6,03/14/2026,35150,10.5,7.5,10,5,pulls left\n")
    loaded = answered(proposal)
    assert loaded.visits["complaint"].tolist() == ["", "pulls left"] and sorted(loaded.measurements["value_mm"]) == [3, 7.5, 7.5, 10.5]


# --- notebooks and notes ----------------------------------------------------------------------------------------------

NOTEBOOK = """Brakes book 2026
----------------
9/3/26 Patrol 84206 km - front pads 5mm, rear shoes 4mm, squealing
17/3/26 Triton 150591 km - front pads 4.5mm, rear shoes 4.5mm
(rang about pads, $85 a set, pick up thurs)
20/3/26 Patrol 85328 km - front pads 4.5mm, rear shoes 4mm
24/3/26 Triton 152976 km - front pads 4mm, rear shoes 4mm
"""
IN_PLACES = """März 2026, Bremsbeläge in mm
9 Mar - Car 3, 43,445 miles: NSF 3.5 OSF 9 NSR 4 OSR 4.5
12 Mar - Car 2, 35,306 miles: NSF 11 OSF 3.5 NSR 11 OSR 11. dual pedal soft
14 Mar - Car 5, 148,753 miles: NSF 10 OSF 11 NSR 8.5 OSR 9
"""


def test_lines_of_a_notebook(tmp_path):
    _, _, proposal = read(tmp_path, NOTEBOOK, name="book.txt")
    loaded = answered(proposal, readings_in_texts="yes")
    assert sorted(set(loaded.visits["vehicle_id"])) == ["Patrol", "Triton"] and loaded.visits["odometer_km"].max() == 152_976
    assert len(loaded.measurements) == 8 and set(loaded.measurements["part"]) == {"pad", "shoe"}
    left_out = loaded.findings[loaded.findings["code"].eq("R76-row-left-out")]
    assert len(left_out) == 1  # the line about the call
    ledger = proposal.ledger()
    assert ledger["rows"].sum() == len(NOTEBOOK.splitlines()) - 1  # the ruled line stands for the headings; the title is over them


def test_lines_of_a_notebook_with_a_list_of_wheels(tmp_path):
    _, _, proposal = read(tmp_path, IN_PLACES, name="cars.txt")
    loaded = answered(proposal, traffic_side="left")
    got = placed(loaded)
    assert len(got) == 12 and got["Car 2", "front", "right", "pad"] == 3.5 and got["Car 3", "rear", "right", "pad"] == 4.5
    assert loaded.visits["date"].dt.strftime("%Y-%m").eq("2026-03").all() and "dual pedal soft" in loaded.visits["note"].tolist()


@pytest.mark.parametrize("text", ["Van 1 was fine\nno table here\n12 March we closed\n", "a, b, c\n1, 2, 3\n4, 5, 6\n"])
def test_other_texts_are_no_notebook(text):
    from brakedata import layouts

    assert layouts._notebook(text) is None


def test_a_sheet_of_one_sentence_asks_nothing(tmp_path):
    sheet = [["Bus", "Date", "Odo km", "Front pads mm"], ["B1", "2024-01-13", 50_000, 8], ["B1", "2024-02-13", 52_000, 7]]
    book(tmp_path / "depot.xlsx", {"READ ME": [["Pad thickness in mm, all wheels. Ring the store before ordering."]], "North": sheet})
    proposal = mapping.propose(tmp_path)
    loaded = answered(proposal)
    assert len(loaded.measurements) == 2 and (loaded.findings["code"] == "R76-row-left-out").sum() == 1


def test_groups_of_any_words_over_wheels_that_repeat(tmp_path):
    head = ",,,Lining thickness (32nds),,Pushrod stroke (in),\nBus,Date,Odometer,LF,RF,LF,RF\n"
    _, _, proposal = read(tmp_path, head + "B6,03/22/26,74648,11,16,1.25,1.75\nB15,03/23/26,171875,11,18,1.5,1.75\n")
    loaded = answered(proposal, distance_unit="mi", part="shoe", unplaced="not used")
    assert sorted(loaded.measurements["value_mm"].round(2)) == [8.73, 8.73, 12.7, 14.29]


def test_codes_that_tell_vehicles_of_one_name_apart_are_asked_about(tmp_path):
    rows = "".join(
        f"U-10{n % 4},{'Parcel van' if n % 4 < 2 else 'SUV'},2024-0{n // 4 + 1}-1{n % 4},{50_000 + n * 1_000 + n % 4 * 20_000},{9 - n // 4}\n"
        for n in range(12)
    )
    _, _, proposal = read(tmp_path, f"Tag / unit,Vehicle,Date,Miles,LF pad mm\n{rows}")
    [question] = proposal.questions
    assert question.key == "vehicle_id.1" and list(dict(question.choices)) == ["Tag / unit", "Vehicle"]
    proposal.answer("vehicle_id.1", "Tag / unit")
    assert sorted(set(checks.load_proposal(proposal).visits["vehicle_id"])) == ["U-100", "U-101", "U-102", "U-103"]


def test_a_plate_or_a_job_beside_the_vehicle_asks_nothing(tmp_path):
    rows = "".join(f"AB{n % 3}2 CDE,Van {n % 3},2024-0{n // 3 + 1}-1{n % 3},{50_000 + n * 1_000 + n % 3 * 20_000},{9 - n // 3},J{n}\n" for n in range(9))
    _, _, proposal = read(tmp_path, f"Plate,Vehicle,Date,Km,LF pad mm,Job\n{rows}")
    assert proposal.questions == [] and roles(proposal)["Vehicle"] == "vehicle_id"


def test_a_complaint_under_a_form_with_a_line_to_sign(tmp_path):
    def form(plate, day, km, mm, complaint):
        return [
            ["Bremsprotokoll"], [], ["Kennzeichen:", plate, None, "Datum:", day], ["km-Stand:", km], [],
            ["Messung (mm)", "links", "rechts", "Mindestmaß"], ["Belag vorne", mm, mm - 1, 2], ["Scheibe vorne", 24, 23.5, 21], [],
            ["Beanstandung:", complaint], ["Unterschrift:"],
        ]  # fmt: skip

    book(tmp_path / "Protokolle.xlsx", {"W1": form("W-1", "20.04.2026", 64_509, 8, "quietscht"), "W2": form("W-2", "21.04.2026", 74_509, 6, None)})
    loaded = answered(mapping.propose(tmp_path), thickness_unit="mm")
    assert sorted(loaded.visits["complaint"]) == ["", "quietscht"]
    got = loaded.measurements.groupby("part")["value_mm"].apply(sorted).to_dict()
    assert got == {"pad": [5, 6, 7, 8], "rotor": [23.5, 23.5, 24, 24]}


@pytest.mark.parametrize("heading", ["Brake fluid (%)", "Brake temp C", "Slack adj stroke mm", "Brake fluid moisture"])
def test_other_measures_of_the_brakes_are_no_linings_and_ask_nothing(tmp_path, heading):
    _, _, proposal = read(tmp_path, f"Van,Date,Km,LF pad mm,{heading}\nV1,2024-01-13,50000,7,2\nV1,2024-02-14,52000,6,3\n")
    assert sorted(answered(proposal).measurements["value_mm"]) == [6, 7]


def test_columns_of_a_month_each_month_beside_the_last(tmp_path):
    head, first = "Kenteken;mrt datum;mrt km;mrt VA mm;mrt AA mm", "V-204-KK;02-03-2026;82936;3,5;10\nVX-90-LL;23-03-2026;35101;7,5;7\n"
    _, _, proposal = read(tmp_path, f"{head}\n{first}")
    loaded = answered(proposal, part="pad")
    assert placed(loaded) == {("V-204-KK", "front", "", "pad"): 3.5, ("V-204-KK", "rear", "", "pad"): 10, ("VX-90-LL", "front", "", "pad"): 7.5, ("VX-90-LL", "rear", "", "pad"): 7}
    proposal.save()
    both = [f"{one};{two}" for one, two in zip(first.splitlines(), ("15-04-2026;84936;3;9", "25-04-2026;37101;7;6"), strict=True)]
    _, _, proposal = read(tmp_path, f"{head};apr datum;apr km;apr VA mm;apr AA mm\n" + "\n".join(both) + "\n")
    loaded = answered(proposal)
    assert sorted(loaded.measurements["value_mm"]) == [3, 3.5, 6, 7, 7, 7.5, 9, 10] and set(loaded.visits["date"].dt.month) == {3, 4}


def pair_form(plate, day, miles, colon, *mm, note="squeals"):
    names = [f"{wheel} pad mm{colon}" for wheel in ("LF", "RF", "LR", "RR")]
    return [
        ["BRAKE CHECK"], [f"Reg{colon}", plate, f"Date{colon}", day], [f"Odometer km{colon}", miles, f"Technician{colon}", "Ray"],
        [names[0], mm[0], names[1], mm[1]], [names[2], mm[2], names[3], mm[3]], [f"Notes{colon}", note], [],
    ]  # fmt: skip


@pytest.mark.parametrize("colon", [":", ""])
@pytest.mark.parametrize("form", ["one sheet", "a sheet each", "csv"])
def test_forms_of_labels_and_values_in_pairs(tmp_path, colon, form):
    first, second = pair_form("AB12 CDE", "22/03/2024", 50_100, colon, 8, 7, 6, 5), pair_form("AB12 CDF", "23/03/2024", 60_100, colon, 9, 8, 7, 6, note=None)
    if form == "csv":
        (tmp_path / "forms.csv").write_text("".join(",".join("" if cell is None else str(cell) for cell in (row + [""] * 4)[:4]) + "\n" for row in first + second))
    else:
        book(tmp_path / "forms.xlsx", {"A": first + second} if form == "one sheet" else {"A": first, "B": second})
    loaded = answered(mapping.propose(tmp_path))
    got = placed(loaded)
    assert len(got) == 8 and got["AB12 CDE", "front", "right", "pad"] == 7 and got["AB12 CDF", "rear", "left", "pad"] == 7
    assert dict(zip(loaded.visits["vehicle_id"], loaded.visits["note"], strict=True)) == {"AB12 CDE": "squeals", "AB12 CDF": ""}
    assert loaded.visits["odometer_km"].tolist() == [50_100, 60_100] and set(loaded.visits["technician"]) == {"Ray"}


def test_a_table_and_a_form_with_two_values_a_label_are_no_pairs():
    from brakedata import layouts

    table = [["Reg", "Date", "Odometer km", "LF pad mm"], ["A1", "2024-01-13", "50000", "8"], ["A1", "2024-02-13", "52000", "7"]]
    form = [["Reg", "A1", "Date", "2024-01-13"], ["Odometer km", "50000"], ["", "Left", "Right"], ["Front pads", "8", "7"], ["Rear pads", "6", "5"]]
    for rows in (table, form):
        grid = layouts._grid("a.csv", "", "csv", ",", rows, range(1, len(rows) + 1))
        assert layouts._form_of_pairs(grid) is grid


def test_forms_of_a_line_of_labels_over_a_line_of_values(tmp_path):
    def form(van, day, km, *mm):
        return [["Vehicle", "Date", "Odometer km"], [van, day, km], ["LF pad mm", "RF pad mm", "LR pad mm", "RR pad mm"], list(mm), []]

    book(tmp_path / "forms.xlsx", {"Checks": form("Van 1", "15/01/2024", 50_000, 8, 7, 6, 5) + form("Van 2", "16/01/2024", 52_000, 5, 4, 3, 2)})
    got = placed(answered(mapping.propose(tmp_path)))
    assert len(got) == 8 and got["Van 1", "rear", "right", "pad"] == 5 and got["Van 2", "front", "left", "pad"] == 5


# --- what was done, and what was not ----------------------------------------------------------------------------------

NOT_THEN = [
    "Last job", "Next job", "Work declined", "Recommended work", "Quote", "Planned", "To do", "Work elsewhere", "Work not done", "Letzte Arbeiten",
    "Empfohlene Arbeiten", "Angebot", "Devis", "Travaux à prévoir", "Presupuestado", "Offerte", "Preventivo", "History",
]  # fmt: skip


@pytest.mark.parametrize("heading", NOT_THEN)
@pytest.mark.parametrize("cell", ["rear pads replaced", "rear pads"])
def test_work_that_was_not_done_then_is_no_work(tmp_path, heading, cell):
    rows = f"V1,2024-01-13,50000,3,front pads replaced,{cell}\nV1,2024-02-14,52000,9,,\nV1,2024-03-14,54000,8,,{cell}\n"
    _, _, proposal = read(tmp_path, f"Van,Date,Km,LF pad mm,Work done,{heading}\n{rows}")
    assert answered(proposal).work[["axle", "part"]].to_numpy().tolist() == [["front", "pads"]]
    assert roles(proposal)[heading] == "not used"


def test_lines_of_work_under_a_heading_that_does_not_say_are_asked_about(tmp_path):
    rows = "V1,2024-01-13,50000,3,front pads replaced\nV1,2024-02-14,52000,9,\nV1,2024-03-14,54000,8,rear pads replaced\n"
    _, _, proposal = read(tmp_path, f"Van,Date,Km,LF pad mm,Column X\n{rows}")
    [question] = proposal.questions
    assert question.key == "work.1" and not question.vital and not len(checks.load_proposal(proposal).work)
    proposal.answer("work.1", "Column X")
    assert answered(proposal).work["axle"].tolist() == ["front", "rear"]
    proposal.answer("work.1", "not used")
    assert not len(answered(proposal).work)


@pytest.mark.parametrize("heading", ["Replace front pads", "Fit new front pads", "Change front pads", "New front pads?", "Front pads needed"])
def test_marks_under_what_is_to_be_done_are_no_work(tmp_path, heading):
    text = f"Van,Date,Km,LF pad mm,{heading}\nV1,2024-01-13,50000,3,X\nV1,2024-02-14,52000,2,\nV1,2024-03-14,54000,2,X\n"
    _, _, proposal = read(tmp_path, text)
    assert not len(answered(proposal).work)


def test_one_odd_mark_is_named_and_the_others_are_read(tmp_path):
    text = "Van,Date,Km,LF pad mm,Front pads replaced\nV1,2024-01-13,50000,3,X\nV1,2024-02-14,52000,9,booked\nV1,2024-03-14,54000,8,\nV2,2024-03-14,54000,8,x\n"
    _, _, proposal = read(tmp_path, text)
    loaded = answered(proposal)
    assert len(loaded.work) == 2 and loaded.findings.loc[loaded.findings["code"].eq("R77-work-not-clear"), "value"].tolist() == ["booked"]


@pytest.mark.parametrize(("first", "second"), [("New pads F", "New pads R"), ("Replaced frt", "Replaced rr"), ("Klötze vorne getauscht", "Klötze hinten getauscht"), ("Remplacé AV", "Remplacé AR")])  # fmt: skip
def test_marks_of_both_axles(tmp_path, first, second):
    text = f"Van;Date;Km;LF pad mm;{first};{second}\nV1;2024-01-13;50000;3;x;\nV1;2024-02-14;52000;9;;x\nV1;2024-03-14;54000;8;;\n"
    _, _, proposal = read(tmp_path, text)
    assert answered(proposal).work["axle"].tolist() == ["front", "rear"]


def test_an_action_alone_is_of_the_rows_place(tmp_path):
    rows = "".join(f"V1,2024-0{n}-13,{50_000 + n},{wheel},Pad,{mm},{done}\n" for n, wheel, mm, done in ((1, "LF", 3, "Replaced"), (1, "RF", 3, "Replaced"), (1, "LR", 8, ""), (2, "LF", 11, "Deferred")))  # fmt: skip
    _, _, proposal = read(tmp_path, f"Van,Date,Km,Position,Item,Measured mm,Done\n{rows}")
    assert answered(proposal).work[["axle", "side", "part", "action"]].to_numpy().tolist() == [["front", "left", "pads", "replaced"], ["front", "right", "pads", "replaced"]]


def test_an_action_alone_without_a_reading_is_kept_as_a_note(tmp_path):
    rows = "V1,2024-01-13,50001,LF,Pad,3,Replaced\nV1,2024-01-13,50001,RF,Pad,,Replaced\nV1,2024-02-13,50002,LF,Pad,11,\n"
    _, _, proposal = read(tmp_path, f"Van,Date,Km,Position,Item,Measured mm,Done\n{rows}")
    loaded = answered(proposal)
    assert loaded.work["side"].tolist() == ["left"] and loaded.visits["note"].tolist() == ["Replaced", ""]
    assert loaded.findings.loc[loaded.findings["code"].eq("R77-work-not-clear"), "row"].tolist() == [3]


def test_shoes_at_the_rear_say_nothing_of_a_bare_front(tmp_path):
    _, _, proposal = read(tmp_path, "Date,Van,Km,Front L mm,Front R mm,Rear shoes L mm,Rear shoes R mm\n2024-01-13,V1,50000,8,7,3,3\n2024-02-13,V1,52000,7,6,3,2\n")
    assert [question.key for question in proposal.questions] == ["part.1"]
    its = answered(proposal, part="pad").measurements
    assert its.groupby("axle")["part"].agg(set).to_dict() == {"front": {"pad"}, "rear": {"shoe"}}


@pytest.mark.parametrize(("front", "rear"), [("Front pad left mm", "Rear pad left mm"), ("Front pads life left mm", "Rear pads life left mm")])
def test_left_without_a_right_is_what_remains(tmp_path, front, rear):
    _, _, proposal = read(tmp_path, f"Van,Date,Km,{front},{rear}\nV1,2024-01-13,50000,8,7\nV1,2024-02-14,52000,7,6\n")
    assert set(answered(proposal).measurements["side"]) == {""}


def test_in_beside_out_is_the_inner_pad(tmp_path):
    _, _, proposal = read(tmp_path, "Unit,Date,Km,F in,F out,R in,R out\nA1,2024-01-13,50000,8,7,6,5\nA1,2024-02-14,52000,7,6,5,4\n")
    its = answered(proposal, thickness_unit="mm", part="pad").measurements
    assert its.groupby("part")["value_mm"].max().to_dict() == {"inner_pad": 8, "outer_pad": 7}


def test_a_column_of_parts_quoted_is_no_place_of_the_readings(tmp_path):
    text = "Matricula;Fecha;Km;Pastillas del. mm;Pastillas tras. mm;Presupuestado\n9012 MNP;13/01/2024;50000;5;2;pastillas traseras\n9013 MNP;14/02/2024;52000;4;3;pastillas delanteras\n"
    _, _, proposal = read(tmp_path, text)
    assert sorted(answered(proposal).measurements["value_mm"]) == [2, 3, 4, 5] and roles(proposal)["Presupuestado"] == "not used"


def test_days_with_the_name_of_their_weekday(tmp_path):
    book(tmp_path / "Vans 2024.xlsx", {month: [["Van", "Day", "Km", "Front pads mm"], ["V1", day, km, 8]] for month, day, km in (("January", "Fri 5", 50_000), ("February", "Wed 14", 52_000))})  # fmt: skip
    dated = answered(mapping.propose(tmp_path)).visits["date"].dt.strftime("%Y-%m-%d").tolist()
    assert dated == ["2024-01-05", "2024-02-14"]


def test_two_labels_of_a_form_in_one_line(tmp_path):
    form = "BRAKE FORM\nRegistration: {0}       Date: {1}\nOdometer km: {2}             Inspector: Dee\nLF pads: {3} mm             RF pads: {4} mm\nComplaint: {5}\n\n"
    text = form.format("LK16 BBA", "21/03/2026", 77_310, 5, 6, "judder at 70") + form.format("LK16 BBC", "22/03/2026", 87_310, 8, 7, "none")
    _, _, proposal = read(tmp_path, text, name="forms.txt")
    got = placed(answered(proposal))
    assert got == {("LK16 BBA", "front", "left", "pad"): 5, ("LK16 BBA", "front", "right", "pad"): 6, ("LK16 BBC", "front", "left", "pad"): 8, ("LK16 BBC", "front", "right", "pad"): 7}


def test_axles_under_relined_are_the_axles_relined(tmp_path):
    rows = "T1,2024-01-13,50000,7,7,axle 2\nT2,2024-01-14,60000,6,6,axles 1 & 2\nT1,2024-02-14,52000,6,12,\n"
    _, _, proposal = read(tmp_path, f"Trailer,Date,Km,Axle 1 shoes mm,Axle 2 shoes mm,Relined\n{rows}")
    work = answered(proposal).work
    assert sorted(zip(work["visit_id"].str[:2], work["axle"], work["part"], strict=True)) == [("T1", "2", "shoes"), ("T2", "1", "shoes"), ("T2", "2", "shoes")]


@pytest.mark.parametrize("heading", ["Last time", "History", "Next visit", "Dernière fois"])
def test_complaints_of_another_visit_are_none_of_this_one(tmp_path, heading):
    rows = "V1,2024-01-13,50000,9,squeals when cold\nV1,2024-02-14,52000,8,\nV1,2024-03-14,54000,7,pulls left\n"
    _, _, proposal = read(tmp_path, f"Van,Date,Km,LF pad mm,{heading}\n{rows}")
    assert set(answered(proposal).visits["complaint"]) == {""}


def test_codes_that_stand_once_each_are_asked_about_and_ticket_numbers_are_not(tmp_path):
    text = "{},Unidad,Fecha,Km,LF pad mm\n{}7,camioneta,2024-01-13,50000,9\n{}9,pickup,2024-01-14,60000,8\n{}12,camioneta,2024-01-15,70000,7\n"
    _, _, proposal = read(tmp_path, text.format("No. eco", *["U-0"] * 3))
    assert [question.key for question in proposal.questions] == ["vehicle_id.1"]
    assert list(dict(proposal.questions[0].choices))[:2] == ["No. eco", "Unidad"]
    _, _, proposal = read(tmp_path, text.format("Number", *["4400"] * 3))
    assert proposal.questions == []


@pytest.mark.parametrize("cell", ["Replaced", "replaced", "done"])
def test_an_action_alone_beside_columns_of_wheels_is_of_no_wheel(tmp_path, cell):
    """A row a visit: nothing says which of the four wheels; under a heading that does, it is that axle alone."""
    head = "Van,Date,Km,LF pad mm,RF pad mm,LR pad mm,RR pad mm"
    lines = f"V1,2024-01-13,50000,3,3,8,8,{cell}\nV1,2024-02-14,52000,11,11,7,7,\n"
    _, _, proposal = read(tmp_path, f"{head},Work done\n{lines}")
    loaded = checks.load_proposal(proposal)
    assert not len(loaded.work) and loaded.visits["note"].tolist() == [cell, ""]
    _, _, proposal = read(tmp_path, f"{head},Front pads replaced\n{lines}")
    assert checks.load_proposal(proposal).work[["axle", "part"]].to_numpy().tolist() == [["front", "pads"]]


# --- work in notes ----------------------------------------------------------------------------------------------------

IN_NOTES = """Van,Date,Miles,LF pad mm,RF pad mm,Notes
7,2026-01-05,41200,9,9,
8,2026-01-06,51200,3,3,new front pads fitted
9,2026-01-06,31200,5,5,customer to book for pads
7,2026-03-05,44200,8,8,squeals when cold
8,2026-03-09,54200,10,10,recommend rear pads be replaced
9,2026-03-10,34200,2,2,"front pads worn, replaced"
7,2026-05-05,47200,7,7,replace front pads
8,2026-05-06,57200,9,9,front pads replaced last month by dealer
"""


def test_jobs_in_notes_are_asked_about_and_none_is_taken_before(tmp_path):
    _, _, proposal = read(tmp_path, IN_NOTES)
    [question] = proposal.questions
    assert question.key == "work_in_notes.1" and "(2 cells)" in question.text and not question.vital
    loaded = checks.load_proposal(proposal)
    assert loaded.work.empty
    said = loaded.findings[loaded.findings["column"].eq("Notes")]
    assert set(said["value"]) == {"new front pads fitted", "front pads worn, replaced"} and set(said["code"]) == {"R74-ask"}


def test_jobs_in_notes_are_work_once_somebody_says_so_and_orders_are_none(tmp_path):
    _, _, proposal = read(tmp_path, IN_NOTES)
    loaded = answered(proposal, work_in_notes="yes")
    assert loaded.work[["axle", "part", "action", "note"]].to_numpy().tolist() == [
        ["front", "pads", "replaced", "new front pads fitted"], ["front", "pads", "replaced", "front pads worn, replaced"],
    ]  # fmt: skip
    unclear = loaded.findings[loaded.findings["code"].eq("R77-work-not-clear")]
    assert set(unclear["value"]) == {"recommend rear pads be replaced", "replace front pads", "front pads replaced last month by dealer"}
    assert "squeals when cold" in set(loaded.visits["note"])  # and is read as a symptom there


def test_notes_that_are_no_record_of_work_stay_notes(tmp_path):
    _, _, proposal = read(tmp_path, IN_NOTES)
    loaded = answered(proposal, work_in_notes="no")
    assert loaded.work.empty and "new front pads fitted" in set(loaded.visits["note"])


@pytest.mark.parametrize(
    "text",
    [
        "replace front pads", "front pads 4 mm", "front pads", "fit new front pads next visit", "front pads replaced 2 weeks ago", "squeal since front pads replaced",
        "front pads were replaced by owner", "had front pads replaced", "driver says front pads replaced", "front pads not replaced",
        "Vordere Beläge bereits ersetzt", "pastillas delanteras ya cambiadas", "front pads replaced?", "front pads worn", "front pads worn, rear replaced soon",
    ],
)  # fmt: skip
def test_a_note_of_another_day_or_an_order_is_no_job(text):
    assert jobs.in_note(text) == ()


@pytest.mark.parametrize("text", ["front pads worn, replaced", "front pads worn out and replaced", "Front pads glazed; replaced under warranty", "front pads low, now replaced"])
def test_what_was_worn_and_replaced_is_replaced(text):
    assert jobs.work(text) == jobs.Work((("front", "", "pads", "replaced"),))


def test_worn_alone_is_no_job():
    assert jobs.work("front pads worn") == jobs.Work(unclear=True)
    assert jobs.work("front pads worn, replace").rows == ()


PAGES = """Van 7
5/1/26 41200 km LF 9 RF 9 LR 8 RR 8
16/3/26 44200 km front pads 3mm, replaced front pads, rear 7mm
KJ21 ABC:
6/1/26 51200 km LF 8 RF 8 LR 7 RR 7
7/3/26 54200 km LF 7 RF 7 LR 6 RR 6. Replaced rear pads
MOT 2026 due
9/5/26 57200 km LF 6 RF 6 LR 9 RR 9
"""


def test_a_page_a_vehicle_in_a_notebook(tmp_path):
    (tmp_path / "brakes.txt").write_text(PAGES, encoding="utf-8")
    loaded = answered(mapping.propose(tmp_path), thickness_unit="mm", part="pad", work_in_notes="yes", readings_in_texts="yes")
    its = loaded.measurements
    axles = its.groupby(["vehicle_id", its["date"].astype("str"), "axle"])["value_mm"].agg(["min", "max"])
    assert axles.reset_index().to_numpy().tolist() == [
        ["KJ21 ABC", "2026-01-06", "front", 8, 8], ["KJ21 ABC", "2026-01-06", "rear", 7, 7], ["KJ21 ABC", "2026-03-07", "front", 7, 7],
        ["KJ21 ABC", "2026-03-07", "rear", 6, 6], ["KJ21 ABC", "2026-05-09", "front", 6, 6], ["KJ21 ABC", "2026-05-09", "rear", 9, 9],
        ["Van 7", "2026-01-05", "front", 9, 9], ["Van 7", "2026-01-05", "rear", 8, 8], ["Van 7", "2026-03-16", "front", 3, 3],
        ["Van 7", "2026-03-16", "rear", 7, 7],
    ]  # fmt: skip
    assert loaded.work[["vehicle_id", "axle", "part", "action"]].to_numpy().tolist() == [
        ["KJ21 ABC", "rear", "pads", "replaced"], ["Van 7", "front", "pads", "replaced"],
    ]  # fmt: skip


@pytest.mark.parametrize("line", ["MOT 2026", "LF 9", "RF 10MM", "ROTOR 22", "2X NEW", "Replaced 2 pads", "Van came back", "Transit", "7"])
def test_a_remark_between_the_lines_of_a_page_is_no_vehicle(tmp_path, line):
    (tmp_path / "brakes.txt").write_text(PAGES.replace("MOT 2026 due", line), encoding="utf-8")
    loaded = answered(mapping.propose(tmp_path), thickness_unit="mm", part="pad", work_in_notes="yes", readings_in_texts="yes")
    assert set(loaded.vehicles["vehicle_id"]) == {"Van 7", "KJ21 ABC"}


# --- which column is work, and of which place ---------------------------------------------------------------------------


def of_work(tmp_path, text, **answers):
    _, _, proposal = read(tmp_path, text)
    loaded = answered(proposal, **answers)
    return {tuple(row) for row in loaded.work[["axle", "side", "part", "action"]].to_numpy()}, loaded


MIXED = """Van,Date,Km,LF pad mm,RF pad mm,{}
7,2026-01-05,41200,3,3,"front pads replaced, front discs replaced"
8,2026-01-06,51200,8,8,oil and filter
9,2026-01-06,31200,5,5,air filter replaced
7,2026-03-05,44200,11,11,headlamp bulb replaced
8,2026-03-09,54200,7,7,brake fluid flushed
"""


@pytest.mark.parametrize("heading", ["Done", "What was done", "Service performed", "Work carried out today", "Description of job", "Defect rectified", "Defects / work"])
def test_jobs_on_brakes_among_other_work_are_read_under_a_heading_that_says_done(tmp_path, heading):
    got, _ = of_work(tmp_path, MIXED.format(heading))
    assert got == {("front", "both", "pads", "replaced"), ("front", "both", "rotor", "replaced")}


@pytest.mark.parametrize("heading", ["Details", "Workshop", "Line", "Leistung", "Description"])
def test_one_job_on_brakes_in_a_column_of_texts_is_enough_to_ask(tmp_path, heading):
    _, _, proposal = read(tmp_path, MIXED.format(heading))
    [question] = proposal.questions
    assert question.key == "work.1" and heading in dict(question.choices)
    proposal.answer("work.1", heading)
    assert len(checks.load_proposal(proposal).work) == 2


def test_what_another_column_says_was_declined_is_no_job(tmp_path):
    text = MIXED.format("Work,Decision").replace('replaced"\n', 'replaced",Declined\n').replace("oil and filter", "rear pads replaced,Approved - completed")
    got, loaded = of_work(tmp_path, text)
    assert got == {("rear", "both", "pads", "replaced")}
    assert loaded.findings.loc[loaded.findings["code"].eq("R77-work-not-clear"), "reading"].str.contains("declined").any()


@pytest.mark.parametrize(("heading", "no"), [("Approved", "N"), ("Declined", "Y"), ("Approved?", "no")])
def test_marks_of_what_the_owner_decided(tmp_path, heading, no):
    yes = {"N": "Y", "Y": "N", "no": "yes"}[no]
    text = MIXED.format(f"Work,{heading}").replace('replaced"\n', f'replaced",{no}\n').replace("oil and filter", f"rear pads replaced,{yes}")
    assert of_work(tmp_path, text)[0] == {("rear", "both", "pads", "replaced")}


def test_a_column_of_yes_and_no_about_something_else_declines_nothing(tmp_path):
    text = MIXED.format("Work,Warranty").replace('replaced"\n', 'replaced",no\n').replace("oil and filter", "rear pads replaced,yes")
    assert len(of_work(tmp_path, text)[0]) == 3


def test_work_without_an_axle_is_of_the_one_its_row_names(tmp_path):
    text = "Van,Date,Km,Axle,Left pad mm,Right pad mm,Work\n7,2026-01-05,41200,Front,3,3,pads renewed + discs skimmed\n7,2026-01-05,41200,Rear,6,6,\n"
    text += "8,2026-01-06,51200,Front,8,8,rear pads replaced\n8,2026-01-06,51200,Rear,2,2,\n"
    got, _ = of_work(tmp_path, text)
    assert got == {("front", "both", "pads", "replaced"), ("front", "both", "rotor", "machined"), ("rear", "both", "pads", "replaced")}


@pytest.mark.parametrize(("heading", "yes", "no"), [("Replaced?", "Yes", "No"), ("Pads replaced", "Y", "N"), ("Replaced", "x", "")])
def test_marks_under_replaced_in_a_row_a_wheel_are_of_that_wheel(tmp_path, heading, yes, no):
    text = f"Van|Date|Km|Wheel|Pad mm|{heading}\n"
    text += "".join(f"7|2026-01-05|41200|{wheel}|{mm}|{yes if mm < 4 else no}\n" for wheel, mm in (("LF", 3), ("RF", 3), ("LR", 7), ("RR", 7)))
    got, loaded = of_work(tmp_path, text)
    assert got == {("front", "left", "pads", "replaced"), ("front", "right", "pads", "replaced")}
    assert not loaded.findings["code"].eq("R77-work-not-clear").any()


def test_named_axles_of_a_truck_in_lines_of_work(tmp_path):
    text = "Truck,Date,Km,Steer L mm,Steer R mm,Drive L mm,Drive R mm,Tag L mm,Tag R mm,Repairs\n"
    text += '7,2026-01-05,41200,3,3,8,8,4,4,"Replaced steer axle brake pads, Machined tag axle rotors"\n7,2026-03-05,44200,9,9,7,7,4,4,\n'
    got, _ = of_work(tmp_path, text, axles="steer drive tag", part="pad")
    assert got == {("1", "both", "pads", "replaced"), ("3", "both", "rotor", "machined")}


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("front pads ok, rear pads replaced", [("rear", "", "pads", "replaced")]),
        ("front pads replaced; pulls left", [("front", "", "pads", "replaced")]),
        ("front pads replaced; handbrake won't hold on a hill", [("front", "", "pads", "replaced")]),
        ("front pads replaced, rear not done", [("front", "", "pads", "replaced")]),
        ("front pads replaced, not", []), ("front pads, not replaced", []), ("front pads replaced if pads arrive", []),
        ("front pads replaced, at dealer last month", []), ("No brake work. front pads replaced?", []),
        ("relined axle 1", [("1", "", "linings", "replaced")]), ("skim front discs", [("front", "", "rotor", "machined")]),
        ("pads 1st axle replaced", [("1", "", "pads", "replaced")]), ("Beläge 1. Achse erneuert", [("1", "", "pads", "replaced")]),
        ("Plaquettes avant remplacées", [("front", "", "pads", "replaced")]), ("Remplacement des plaquettes avant", [("front", "", "pads", "replaced")]),
        ("disques AV rectifiés", [("front", "", "rotor", "machined")]), ("Sustitución de pastillas delanteras", [("front", "", "pads", "replaced")]),
        ("remblokken achter vervangen + remschijven achter afgedraaid", [("rear", "", "pads", "replaced"), ("rear", "", "rotor", "machined")]),
        ("dischi posteriori rettificati", [("rear", "", "rotor", "machined")]), ("bromsskivor fram svarvade", [("front", "", "rotor", "machined")]),
        ("wymiana klocków przód", [("front", "", "pads", "replaced")]), ("pastilhas da frente substituídas", [("front", "", "pads", "replaced")]),
        ("pastilhas de trás substituídas", [("rear", "", "pads", "replaced")]),
    ],
)  # fmt: skip
def test_lines_of_work_as_people_write_them(text, rows):
    assert jobs.work(text).rows == tuple(rows)


@pytest.mark.parametrize(("head", "cells"), [("Miles", '"64,259"'), ("Km", "29.987"), ("Mileage", "36 449"), ("Km", "29'987")])
def test_odometers_of_which_all_have_their_thousands_apart(tmp_path, head, cells):
    text = f"Van;Date;{head};LF pad mm;RF pad mm\n" + "".join(f"{n};2026-01-{n + 10:02};{cells.replace('9', str(n % 10))};{n};{n}\n" for n in range(2, 9))
    _, frame, proposal = read(tmp_path, text)
    assert roles(proposal)[head] == "odometer"


def test_the_command_runs_as_a_module():
    import subprocess
    import sys

    done = subprocess.run([sys.executable, "-m", "brakedata", "--help"], capture_output=True, text=True, check=True)
    assert "check" in done.stdout


def test_an_order_beside_what_was_done_is_said_and_not_taken(tmp_path):
    text = IN_NOTES.replace("new front pads fitted", '"New front pads fitted, skim front discs. Driver says pedal goes low"')
    _, _, proposal = read(tmp_path, text)
    loaded = answered(proposal, work_in_notes="yes")
    assert loaded.work["part"].tolist() == ["pads", "pads"]
    assert loaded.findings.loc[loaded.findings["code"].eq("R77-work-not-clear"), "value"].str.contains("skim").any()


@pytest.mark.parametrize("form", ["Friday 7 March 2025", "Fri 07/03/2025", "7th March 2025", "Freitag, 7. März 2025"])
def test_days_with_their_weekday_under_a_heading_of_dates(tmp_path, form):
    _, _, proposal = read(tmp_path, f'Van,Date,Km,LF pad mm\n7,"{form}",41200,9\n8,"{form}",51200,8\n')
    assert answered(proposal).visits["date"].astype("str").unique().tolist() == ["2025-03-07"]


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("front pads and rear shoes replaced", [("front", "pads"), ("rear", "shoes")]), ("pads front and shoes rear replaced", [("front", "pads"), ("rear", "shoes")]),
        ("front pads/rear rotors replaced", [("front", "pads"), ("rear", "rotor")]), ("front and rear pads and rotors replaced", [("front", "pads"), ("front", "rotor"), ("rear", "pads"), ("rear", "rotor")]),
        ("front pads and rotors and rear pads replaced", [("front", "pads"), ("front", "rotor"), ("rear", "pads")]), ("front pads and rear replaced", [("front", "pads"), ("rear", "pads")]),
        ("axle 1 pads and axle 2 shoes replaced", [("1", "pads"), ("2", "shoes")]), ("Beläge vorne und Backen hinten erneuert", [("front", "pads"), ("rear", "shoes")]),
        ("front hoses and rear pads replaced", [("front", "hose"), ("rear", "pads")]),
        ("front pads: replaced", [("front", "pads")]), ("Front: pads replaced", [("front", "pads")]), ("Front pads: new hardware fitted", [("front", "hardware")]),
        ("front pads worn - replaced hoses", [("front", "hose")]), ("front pads low, axle changed", []), ("est. front pads replaced", []), ("front pads machined", []),
    ],
)  # fmt: skip
def test_each_part_keeps_its_own_axle_and_what_was_done_to_it(text, rows):
    assert [(axle, part) for axle, _, part, _ in jobs.work(text).rows] == rows


@pytest.mark.parametrize(
    ("heading", "cells"),
    [
        ("Status", ["Completed", "Pending"]), ("Status", ["Closed", "Cancelled"]), ("Job status", ["complete", "in progress - not done"]), ("Type", ["Invoice", "Quote"]),
        ("Decision", ["go ahead", "not now"]), ("Completed?", ["Y", "N"]), ("Done?", ["yes", "no"]), ("Approved?", ["x", ""]), ("Not done", ["", "x"]), ("Quoted", ["", "x"]),
    ],
)  # fmt: skip
def test_work_that_waits_or_was_only_quoted_is_no_job(tmp_path, heading, cells):
    rows = ((7, "front pads replaced", cells[0]), (8, "rear pads replaced", cells[1]))
    text = f"Van,Date,Km,LF pad mm,LR pad mm,Work,{heading}\n" + "".join(f"{van},2026-01-15,41200,3,3,{work},{cell}\n" for van, work, cell in rows)
    assert {row[0] for row in of_work(tmp_path, text)[0]} == {"front"}


@pytest.mark.parametrize(("heading", "part"), [("Rotor replaced", "rotor"), ("Discs replaced?", "rotor"), ("Pads replaced?", "pads"), ("Machined?", None)])
def test_marks_are_of_the_part_that_their_heading_names(tmp_path, heading, part):
    text = f"Van,Date,Km,Axle,Pad mm,{heading}\n7,2026-01-15,41200,Front,3,Y\n7,2026-01-15,41200,Rear,6,N\n"
    assert {row[2] for row in of_work(tmp_path, text)[0]} == ({part} if part else set())


def test_a_page_under_a_name_that_is_not_known_is_of_no_vehicle(tmp_path):
    (tmp_path / "brakes.txt").write_text(PAGES.replace("KJ21 ABC:", "\nThe old blue one"), encoding="utf-8")
    loaded = answered(mapping.propose(tmp_path), thickness_unit="mm", part="pad", work_in_notes="yes", readings_in_texts="yes", vehicle_id="Vehicle")
    assert set(loaded.visits["vehicle_id"]) == {"Van 7"} and len(loaded.visits) == 2


@pytest.mark.parametrize("what", ["pending", "on hold", "refused", "cancelled", "n/a", "none", "to do", "TBD", "wrong van", "not req'd", "prior visit", "customer refused, old put back"])
@pytest.mark.parametrize("sign", [" - ", ": ", ", "])
def test_a_word_behind_a_job_that_takes_it_back(what, sign):
    assert jobs.work(f"front pads replaced{sign}{what}").rows == ()


@pytest.mark.parametrize("text", ["front pads - , replaced", "front pads: ", "front pads: - ", " - : - ", "front pads - | replaced", "|", "front pads: ; rear pads - - replaced"])
def test_signs_without_words_between_them_raise_nothing(text):
    assert {part for _, _, part, _ in jobs.work(text).rows} <= {"pads"}
