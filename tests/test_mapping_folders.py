"""Folders of several files: one vehicle under several names, a visit in two files, lists, bills, fuel cards, a file cut short.

Truth: the plain numbers each file is written from, by hand. Source of the forms: common practice, no source.
"""

import pytest
from test_mapping_words import answered

from brakedata import checks, mapping, schedule
from brakedata.mapping import one_vehicle

DAYS = [("13/10/2025", 60_000), ("14/12/2025", 66_000), ("15/02/2026", 72_000), ("16/04/2026", 78_000)]


def sheet(vehicles, column="Van"):
    """Four inspections of each vehicle, 9 to 4.5 mm in front; a kilometre apart from one vehicle to the next."""
    rows = [f"{day},{one},{km + n},{9 - 1.5 * at},{9 - 1.5 * at},9,9\n" for n, one in enumerate(vehicles) for at, (day, km) in enumerate(DAYS)]
    return f"Date,{column},Odometer km,LF pad mm,RF pad mm,LR pad mm,RR pad mm\n" + "".join(rows)


def loaded_from(tmp_path, files, **answers):
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return answered(mapping.propose(tmp_path), **answers)


# --- one vehicle under several names ------------------------------------------------------------------------------------


LIST = "Fleet no,Reg,Class\n21,KX21 ABC,panel van\n22,KX21 ABD,small van\n23,KX21 ABE,small van\n"


def bills(names, number=True):
    head, row = ("Invoice,", "{},") if number else ("", "")
    return f"{head}Date,Vehicle,Odometer km,Work,Price\n" + "".join(
        f"{row.format(500 + n)}16/04/2026,{name},{78_000 + n},Front brake pads replaced,140.00\n" for n, name in enumerate(names)
    )


@pytest.mark.parametrize(
    ("of_checks", "of_bills"),
    [
        (["21", "22", "23"], ["KX21 ABC", "KX21 ABD", "KX21 ABE"]), (["KX21 ABC", "KX21 ABD", "KX21 ABE"], ["21", "22", "23"]),
        (["21", "22", "23"], ["KX21ABC", "kx21 abd", "KX21-ABE"]), (["21", "22", "23"], ["Van 21", "Van 22", "Van 23"]),
        (["Van 21", "Van 22", "Van 23"], ["V021", "V022", "V023"]), (["Van 21", "Van 22", "Van 23"], ["21", "22", "23"]),
        (["Van 21 KX21 ABC", "Van 22 KX21 ABD", "Van 23 KX21 ABE"], ["Van 21", "Van 22", "Van 23"]),
    ],
)  # fmt: skip
def test_what_the_files_say_is_one_vehicle_is_one_and_said_so(tmp_path, of_checks, of_bills):
    files = {"checks.csv": sheet(of_checks), "bills.csv": bills(of_bills)}
    if "KX21 ABC" in (of_checks[0], of_bills[0]) or of_bills[0] == "KX21ABC":
        files["list.csv"] = LIST
    loaded = loaded_from(tmp_path, files)
    done = loaded.work["vehicle_id"].tolist()
    assert len(set(done)) == 3 and set(done) == set(loaded.measurements["vehicle_id"]) and len(loaded.vehicles) == 3
    assert loaded.findings.loc[loaded.findings["code"].eq("R71-assumed"), "reading"].str.contains("taken for").sum() >= 3


@pytest.mark.parametrize(
    ("of_checks", "of_bills"),
    [
        (["Van 21", "Van 22", "Van 23"], ["Truck 21", "Truck 22", "Truck 23"]),  # another fleet of the same numbers
        (["21", "22", "23"], ["31", "32", "33"]), (["Van 21", "Van 22", "Van 23"], ["21", "32", "33"]), (["V1-1", "V1-2"], ["V11", "V12"]),
    ],
)  # fmt: skip
def test_other_vehicles_stay_others(tmp_path, of_checks, of_bills):
    loaded = loaded_from(tmp_path, {"checks.csv": sheet(of_checks), "bills.csv": bills(of_bills)})
    assert set(loaded.work["vehicle_id"]) == set(of_bills)


def test_numbers_that_could_be_of_two_fleets_are_of_neither(tmp_path):
    files = {"vans.csv": sheet(["Van 21", "Van 22"]), "trucks.csv": sheet(["Truck 21", "Truck 22"], "Truck"), "bills.csv": bills(["21", "22"])}
    assert set(loaded_from(tmp_path, files).work["vehicle_id"]) == {"21", "22"}


def test_two_sheets_of_readings_are_not_joined_by_numbers_alone(tmp_path):
    loaded = loaded_from(tmp_path, {"a.csv": sheet(["21", "22"]), "b.csv": sheet(["Van 21", "Van 22"], "Vehicle")})
    assert len(loaded.vehicles) == 4


def test_a_plate_beside_two_numbers_links_nothing():
    assert one_vehicle._counted({"V1", "V2", "W3"}, {"1", "2", "3"}) == {}
    assert one_vehicle._longer({"Van 5", "Van 6"}, {"Van 5 A", "Van 5 B", "Van 6 C"}) == {}


# --- one visit in two files, lists, bills, fuel -------------------------------------------------------------------------


def due_of(loaded):
    rows = schedule.make(loaded).table
    return rows[rows["axle"].eq("front")].set_index("vehicle_id")["due_odometer_km"]


@pytest.mark.parametrize("off", [0, 1, -1])
def test_a_bill_of_the_day_stands_behind_the_sheet_that_was_measured_before_it(tmp_path, off):
    """Whether the bill has a number of its own or not, and whatever a km or mile is rounded to: a worn pad is no reading of the new one."""
    made = {}
    for numbered in (False, True):
        folder = tmp_path / str(numbered)
        folder.mkdir()
        bill = bills(["Van 4"], numbered).replace("78000", str(78_000 + off * numbered))
        made[numbered] = due_of(loaded_from(folder, {"checks.csv": sheet(["Van 4"]), "bills.csv": bill}))
    assert made[True].iloc[0] == pytest.approx(made[False].iloc[0], rel=1e-3) and made[True].iloc[0] > 90_000


FUEL = "Date,Van,Litres,Odometer km{}\n" + "".join(f"{day:02}/10/2025,Van 4,45.2,{60_000 + 97 * day}{{}}\n" for day in range(14, 29, 7))


@pytest.mark.parametrize(("head", "cell"), [("", ""), (",Cost", ",71.20"), (",Card", ",C-11"), (",Cost,Driver note", ",71.20,ok")])
def test_a_fuel_list_is_no_list_of_visits_whatever_else_stands_in_it(tmp_path, head, cell):
    loaded = loaded_from(tmp_path, {"checks.csv": sheet(["Van 4"]), "fuel.csv": FUEL.format(head, *[cell] * 3)})
    assert (len(loaded.visits), len(loaded.odometer_log)) == (4, 3)


def test_our_own_list_of_vehicles_beside_a_shops_sheet_gives_their_class(tmp_path):
    own = "vehicle_id,vin,description,wear_class,duty,in_service_date,in_service_odometer,odometer_unit,retired_date\nVan 4,,,panel van,,2021-03-05,,km,\n"
    limits = "applies_to,axle,part,measure,unit,new,replace_at,discard_at\npanel van,front,pad,thickness,mm,12,4,2\n"
    loaded = loaded_from(tmp_path, {"checks.csv": sheet(["Van 4"]), "vehicles.csv": own, "limits.csv": limits})
    assert loaded.vehicles["wear_class"].tolist() == ["panel van"]
    assert due_of(loaded).iloc[0] == pytest.approx(80_000, abs=1_500)  # 4 mm; the planning point of 3 mm would be 84,000


@pytest.mark.parametrize("extra", ["Part no", "Teilenummer", "Invoice no"])
def test_numbers_of_parts_tell_no_vehicles_apart(tmp_path, extra):
    text = f"Date,Vehicle,Odometer km,Work,{extra}\n"
    rows = [(1, "Front brake pads replaced", "BR-2"), (2, "Oil change", "OF-2"), (1, "Rear brake pads replaced", "BR-3"), (2, "Oil change", "OF-2")]
    text += "".join(f"1{at}/04/2026,Van {n},{80_000 + at},{work},{code}\n" for at, (n, work, code) in enumerate(rows, 3))
    proposal = mapping.propose(_one(tmp_path, text))
    assert proposal.questions == [] and set(checks.load_proposal(proposal).work["vehicle_id"]) == {"Van 1"}


def _one(tmp_path, text, name="bills.csv"):
    (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def test_the_day_of_a_bill_counts_where_there_is_no_other(tmp_path):
    text = bills(["Van 4"]).replace("Date", "Invoice date")
    assert loaded_from(tmp_path, {"bills.csv": text}).work["date"].astype("str").tolist() == ["2026-04-16"]
    both = "Date,Invoice date,Van,Odometer km,LF pad mm\n15/04/2026,16/05/2026,Van 4,78000,5\n17/04/2026,18/05/2026,Van 5,78000,5\n"
    other = tmp_path / "other"
    other.mkdir()
    assert loaded_from(other, {"a.csv": both}).visits["date"].astype("str").tolist() == ["2026-04-15", "2026-04-17"]


def test_a_list_of_prices_or_vehicles_is_asked_for_no_day(tmp_path):
    prices = "Job,Hours,Price\nFront pads,1.2,90\nRear pads,1.0,80\nDiscs,2,190\n"
    vehicles = "Van,Plate,Class,Front pads new mm,Discard mm\nVan 4,KX21 ABC,panel van,12,2\nVan 5,KX21 ABD,small van,11,2\n"
    (tmp_path / "prices.csv").write_text(prices, encoding="utf-8")
    (tmp_path / "list.csv").write_text(vehicles, encoding="utf-8")
    (tmp_path / "checks.csv").write_text(sheet(["Van 4", "Van 5"]), encoding="utf-8")
    proposal = mapping.propose(tmp_path)
    assert not any(question.vital for question in proposal.questions)
    assert len(checks.load_proposal(proposal).measurements) == 32


def test_a_table_can_be_said_to_hold_no_visits(tmp_path):
    (tmp_path / "checks.csv").write_text(sheet(["Van 4", "Van 5"]), encoding="utf-8")
    (tmp_path / "pivot.csv").write_text("Van,Avg front mm,Complaint\nVan 4,6.5,squeal\nVan 5,7.5,none\n", encoding="utf-8")
    proposal = mapping.propose(tmp_path)
    keys = [question.key for question in proposal.questions]
    assert "date.2" in keys
    proposal.answer("date.2", "not used")
    assert not [question for question in proposal.questions if question.vital]
    assert len(checks.load_proposal(proposal).measurements) == 32


def test_notes_that_begin_on_the_first_line_of_a_file(tmp_path):
    text = "".join(f"{day} Van {n} {km} km - front pads {9 - n}mm\n" for n, (day, km) in enumerate(DAYS, 1))
    loaded = loaded_from(tmp_path, {"notes.txt": text}, readings_in_texts="yes")
    assert sorted(loaded.measurements["value_mm"].unique()) == [5, 6, 7, 8]


@pytest.mark.parametrize(("end", "taken"), [("10.5,1", [10.5]), ("10.5,10.0,9,9\n", [10.5, 10.0, 9, 9])])
def test_the_last_cell_of_a_file_that_is_cut_short_is_not_believed(tmp_path, end, taken):
    loaded = loaded_from(tmp_path, {"checks.csv": sheet(["Van 4"]) + "25/04/2026,Van 4,78500," + end})
    assert loaded.measurements.loc[loaded.measurements["date"].astype("str").eq("2026-04-25"), "value_mm"].tolist() == taken
    assert loaded.findings["code"].eq("R18-line-cut").any() == (len(taken) == 1)


def test_a_job_in_the_sheet_and_on_its_bill_is_one_job(tmp_path):
    checked = sheet(["Van 4"]).replace("RR pad mm\n", "RR pad mm,Work\n").replace(",9,9\n", ",9,9,\n")
    checked = checked[:-1] + "front pads replaced\n"
    bill = "Invoice,Date,Vehicle,Odometer km,Work,Brand\n501,16/04/2026,Van 4,78000,Front brake pads replaced,Line K\n502,17/04/2026,Van 4,78020,Rear brake pads replaced,\n"
    loaded = loaded_from(tmp_path, {"checks.csv": checked, "bills.csv": bill})
    assert sorted(loaded.work[["axle", "product_line"]].to_numpy().tolist()) == [["front", "Line K"], ["rear", ""]]
    assert loaded.findings["code"].eq("R12-listed-twice").sum() == 1


def test_a_list_names_its_vehicles_by_the_heading_that_another_sheet_uses(tmp_path):
    listed = "No,Plate,Class\n21,KX21 ABC,panel van\n22,KX21 ABD,small van\n"
    loaded = loaded_from(tmp_path, {"checks.csv": sheet(["21", "22"], "No"), "list.csv": listed}, vehicle_id="No")
    assert len(loaded.vehicles) == 2 and set(loaded.measurements["vehicle_id"]) == set(loaded.vehicles["vehicle_id"])


@pytest.mark.parametrize(("one", "other"), [("Van", "Trailer"), ("Van", "Truck"), ("Tractor", "Trailer"), ("Wagen", "Anhänger")])
def test_numbers_under_two_kinds_of_vehicle_are_of_two_fleets(tmp_path, one, other):
    loaded = loaded_from(tmp_path, {"a.csv": sheet(["5", "9"], one), "b.csv": sheet(["5", "9"], other)})
    assert len(loaded.vehicles) == 4 if one != "Wagen" else len(loaded.vehicles) >= 2


def test_a_trailer_beside_its_tractor_is_another_vehicle(tmp_path):
    listed = "Tractor,Trailer plate\n5,RT11 KLM\n9,BX22 OOP\n"
    loaded = loaded_from(tmp_path, {"list.csv": listed, "checks.csv": sheet(["RT11 KLM", "BX22 OOP"], "Plate")})
    assert {"RT11 KLM", "BX22 OOP"} <= set(loaded.measurements["vehicle_id"])


@pytest.mark.parametrize("name", ["quotes.csv", "planned jobs.csv", "estimates 2026.csv", "declined.csv"])
def test_work_in_a_file_of_quotes_is_no_job(tmp_path, name):
    loaded = loaded_from(tmp_path, {name: bills(["Van 4"], False), "checks.csv": sheet(["Van 4"])})
    assert loaded.work.empty and loaded.findings["code"].eq("R77-work-not-clear").any()


@pytest.mark.parametrize("head", ["Service,Litres,Technician", "Reason,Coolant litres,Notes", "Oil litres,Notes"])
def test_a_workshop_list_that_counts_litres_is_one_of_visits(tmp_path, head):
    cells = {"Service": "A service", "Litres": "6", "Technician": "JK", "Reason": "service", "Coolant litres": "2", "Notes": "brakes ok", "Oil litres": "5"}
    row = ",".join(cells[name] for name in head.split(","))
    loaded = loaded_from(tmp_path, {"a.csv": f"Van,Date,Odometer km,{head}\nVan 4,13/01/2026,41000,{row}\nVan 4,14/02/2026,42000,{row}\n"})
    assert len(loaded.visits) == 2 and loaded.odometer_log.empty


@pytest.mark.parametrize(("one", "other"), [(("Van", "Van 1"), ("Unit", "Van 2")), (("Unit", "5"), ("Vehicle", "6")), (("Van", "5"), ("VIN", "1M8GDM9AXKP042788")), (("Bus", "5"), ("Unit", "6"))])
def test_two_files_that_differ_by_the_heading_of_their_vehicles_are_both_read(tmp_path, one, other):
    loaded = loaded_from(tmp_path, {"a.csv": sheet([one[1]], one[0]), "b.csv": sheet([other[1]], other[0])})
    assert set(loaded.measurements["vehicle_id"]) == {one[1], other[1]}
