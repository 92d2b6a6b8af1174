"""Headings, wheels and words of several languages and trades, and what two files of one kind write differently.

Truth: the plain numbers each file is written from, by hand. Source of the forms: common practice, no source.
"""

import pytest
from test_mapping_oddities import DAYS, read, read_folder, roles

from brakedata import checks, headings, mapping

WHEELS = (("front", "left"), ("front", "right"), ("rear", "left"), ("rear", "right"))


def wheels_wide(head, columns, sep=";", odometer="Km"):
    """Four visits of one vehicle, a column a wheel in the order of `WHEELS`: 9, 8.7, 8.4 and 8.1 mm, 1 mm less a visit."""
    out = [sep.join([*head, odometer, *columns])]
    for n, day in enumerate(DAYS):
        out.append(sep.join(["AB-12-CD", day, str(20_000 + 9_000 * n), *(f"{9 - n - 0.3 * at:g}".replace(".", ",") for at in range(len(columns)))]))
    return "\n".join(out) + "\n"


@pytest.mark.parametrize(
    ("head", "columns"),
    [
        (("Kenteken", "Datum"), ("Remblok LV mm", "Remblok RV mm", "Remblok LA mm", "Remblok RA mm")),
        (("Immat.", "Date"), ("Plaquettes AV G (mm)", "Plaquettes AV D (mm)", "Plaquettes AR G (mm)", "Plaquettes AR D (mm)")),
        (("Véhicule", "Date"), ("Plaq. AVG mm", "Plaq. AVD mm", "Plaq. ARG mm", "Plaq. ARD mm")),
        (("Matrícula", "Fecha"), ("Pastilla DI mm", "Pastilla DD mm", "Pastilla TI mm", "Pastilla TD mm")),
        (("Targa", "Data"), ("Pastiglie ant. SX mm", "Pastiglie ant. DX mm", "Pastiglie post. SX mm", "Pastiglie post. DX mm")),
        (("Placa", "Data"), ("Pastilha diant. esq. mm", "Pastilha diant. dir. mm", "Pastilha tras. esq. mm", "Pastilha tras. dir. mm")),
        (("Nr rej.", "Data"), ("Klocki przód L mm", "Klocki przód P mm", "Klocki tył L mm", "Klocki tył P mm")),
        (("Veículo", "Data"), ("Pastilha DE mm", "Pastilha DD mm", "Pastilha TE mm", "Pastilha TD mm")),
        (("Veicolo", "Data"), ("Pastiglie AS mm", "Pastiglie AD mm", "Pastiglie PS mm", "Pastiglie PD mm")),
        (("Pojazd", "Data"), ("Klocki LP mm", "Klocki PP mm", "Klocki LT mm", "Klocki PT mm")),
        (("Kenteken", "Datum"), ("Blok LV mm", "Blok RV mm", "Blok LA mm", "Blok RA mm")),
        (("Fahrzeug", "Datum"), ("Belag VL mm", "Belag VR mm", "Belag HL mm", "Belag HR mm")),
    ],
)
def test_wheels_in_headings_as_languages_write_them(tmp_path, head, columns):
    got, _, proposal = read(tmp_path, wheels_wide(head, columns))
    assert proposal.questions == []
    assert {key[2:4]: mm for key, mm in got.items() if key[1] == DAYS[0]} == dict(zip(WHEELS, (9, 8.7, 8.4, 8.1), strict=True))
    assert len(got) == 16 and {key[4] for key in got} == {"pad"}


def test_ra_is_the_rear_axle_where_the_other_three_wheels_are_not_beside_it():
    assert [place and (place.axle, place.side) for place in headings.places(["Pads FA", "Pads RA"], {})] == [("front", ""), ("rear", "")]
    assert headings.places(["LV", "RV", "LA", "RA"], {})[3].side == "right"


def test_axles_of_a_truck_with_d_for_right(tmp_path):
    columns = [f"Plaquettes essieu {axle} {side} (mm)" for axle in (1, 2) for side in "GD"]
    got, _, proposal = read(tmp_path, wheels_wide(("N° parc", "Date"), columns))
    assert proposal.questions == [] and got["AB-12-CD", DAYS[0], "2", "right", "pad", "before"] == 8.1


def test_french_wheels_in_cells(tmp_path):
    rows = "".join(f"V1;{day};{20_000 + 9_000 * n};{wheel};{9 - n - at / 10:g}\n" for n, day in enumerate(DAYS) for at, wheel in enumerate(("AV G", "AV D", "AR G", "AR D")))
    got, _, proposal = read(tmp_path, f"Véhicule;Date;Km;Position;Plaquette mm\n{rows}")
    assert proposal.questions == [] and got["V1", DAYS[0], "rear", "right", "pad", "before"] == 8.7


# --- work is no place -------------------------------------------------------------------------------------------------

WORK = ("Front pads replaced", "Rear discs replaced", "Front calipers cleaned", "all pads replaced")


@pytest.mark.parametrize("heading", ["Work carried out", "Job description", "Done", "Details"])
def test_what_was_done_is_never_where_a_reading_was_taken(tmp_path, heading):
    rows = "".join(f"V{1 + n % 2},{day},{20_000 + 9_000 * n},{WORK[n]},{9 - n},{8.5 - n}\n" for n, day in enumerate(DAYS))
    got, _, proposal = read(tmp_path, f"Reg,Date,Km,{heading},LF pad mm,RF pad mm\n{rows}")
    assert roles(proposal)[heading] in ("work", "not used") and len(got) == 8
    assert got["V2", DAYS[1], "front", "left", "pad", "before"] == 8
    work = checks.load_proposal(proposal).work
    assert roles(proposal)[heading] == "not used" or sorted(work["part"]) == ["pads", "pads", "pads", "rotor"] or len(work) == 5


def test_all_pads_are_those_of_both_axles():
    from brakedata.mapping import jobs

    assert jobs.read("all pads replaced") == [("front", "", "pads", "replaced"), ("rear", "", "pads", "replaced")]
    assert jobs.read("all front pads replaced") == [("front", "", "pads", "replaced")]


@pytest.mark.parametrize(
    ("line", "rows", "alone", "unclear"),
    [
        ("front pads", "", "front pads", False),
        ("frt pads/rotors", "", "front pads, front rotor", False),
        ("front brake job", "", "front linings", False),
        ("front pads, turned rotors", "front rotor machined", "front pads", False),
        ("front pads replaced, rotors machined", "front pads replaced, front rotor machined", "", False),
        ("R&R rear brakes", "rear linings replaced", "", False),
        ("oil change, front pads replaced", "front pads replaced", "", False),
        ("oil change", "", "", False),
        ("front calipers", "", "", True),  # cleaned, freed, replaced?
        ("brake flush", "", "", True),
        ("recommend front pads, rotors machined", "", "", True),
        ("front pads replaced, 2023", "", "", True),
        ("quote: front pads replaced, rear pads replaced", "", "", True),
        ("R pads", "", "", True),  # right or rear
        ("ax2 pads and discs", "", "2 pads, 2 rotor", False),
        ("garnitures essieu 1 remplacées", "1 linings replaced", "", False),
        ("rear pads replaced?", "", "", True),
        ("Beläge u. Scheiben HA erneuert", "rear pads replaced, rear rotor replaced", "", False),
        ("rear shoes replaced and drums skimmed", "rear shoes replaced, rear drum machined", "", False),
    ],
)
def test_what_a_line_of_work_says(line, rows, alone, unclear):
    from brakedata.mapping import jobs

    said = jobs.work(line)
    assert [", ".join(" ".join(filter(None, row)) for row in its) for its in (said.rows, said.alone)] == [
        rows, ", ".join(f"{name} replaced" for name in alone.split(", ") if name),
    ]  # fmt: skip
    assert said.unclear == unclear


JOBS = ["insp", "front pads", "oil change", "rear shoes", "front brake job", "front pads and rotors"]


@pytest.mark.parametrize("answer", ["replaced", "no", ""])
def test_a_part_alone_in_a_column_of_work_is_asked_once(tmp_path, answer):
    rows = "".join(f"V1,2024-0{n + 1}-03,{20_000 + 3_000 * n},{9 - n},{8 - n},{job}\n" for n, job in enumerate(JOBS))
    _, _, proposal = read(tmp_path, f"Unit,Date,km,Front pads mm,Rear shoes mm,Job\n{rows}")
    [question] = proposal.questions
    assert question.key == "parts_alone.1" and not question.vital and "“front pads”" in question.why
    if answer:
        proposal.answer("parts_alone.1", answer)
        proposal.save()
        proposal = mapping.propose(proposal.source)
        assert proposal.questions == []
    loaded = checks.load_proposal(proposal)
    done = sorted(zip(loaded.work["visit_id"].str[3:10], loaded.work["axle"], loaded.work["part"], strict=True))
    unclear = loaded.findings["code"].eq("R77-work-not-clear").sum()
    if answer == "replaced":
        assert unclear == 0 and done == [
            ("2024-02", "front", "pads"), ("2024-04", "rear", "shoes"), ("2024-05", "front", "pads"), ("2024-06", "front", "pads"),
            ("2024-06", "front", "rotor"),
        ]  # fmt: skip
    else:
        assert done == [] and unclear == 4


def test_a_job_s_number_is_its_number_and_its_words_are_the_work(tmp_path):
    rows = "".join(f"J{100 + n},V1,{day},{20_000 + 9_000 * n},{9 - n}\n" for n, day in enumerate(DAYS))
    _, _, proposal = read(tmp_path, f"Job,Reg,Date,Km,LF pad mm\n{rows}")
    assert roles(proposal)["Job"] == "visit_id"
    rows = "".join(f"front pads replaced,V1,{day},{20_000 + 9_000 * n},{9 - n}\n" for n, day in enumerate(DAYS))
    _, _, proposal = read(tmp_path, f"Job,Reg,Date,Km,LF pad mm\n{rows}")
    assert roles(proposal)["Job"] == "work"


# --- what is asked instead of dropped ---------------------------------------------------------------------------------


def test_readings_of_sides_and_no_axle_are_asked_for_their_axle(tmp_path):
    rows = "".join(f"V1,{day},{20_000 + 9_000 * n},{9 - n},{8.5 - n}\n" for n, day in enumerate(DAYS))
    got, _, proposal = read(tmp_path, f"Reg,Date,Km,Pads L mm,Pads R mm\n{rows}")
    (question,) = proposal.questions
    assert got == {} and question.key == "unplaced.1" and question.vital
    proposal.answer(question.key, "front")
    proposal.save()
    got, _, proposal = read_folder(tmp_path)
    assert proposal.questions == [] and got["V1", DAYS[0], "front", "right", "pad", "before"] == 8.5


def test_linings_beside_pads_may_be_shoes_and_are_asked(tmp_path):
    rows = "".join(f"V1,{day},{20_000 + 9_000 * n},{9 - n},{8.5 - n},{4.9 - n / 5:g},{4.8 - n / 5:g}\n" for n, day in enumerate(DAYS))
    got, _, proposal = read(tmp_path, f"Reg,Date,Km,LF pad mm,RF pad mm,LR lining mm,RR lining mm\n{rows}")
    assert [question.key for question in proposal.questions] == ["part.1"] and len(got) == 8
    proposal.answer("part.1", "shoe")
    proposal.save()
    got, _, _ = read_folder(tmp_path)
    assert got["V1", DAYS[0], "rear", "left", "shoe", "before"] == 4.9 and got["V1", DAYS[0], "front", "left", "pad", "before"] == 9


def test_truck_axles_in_headings_wait_for_the_axles(tmp_path):
    rows = "".join(f"V1,{day},{20_000 + 9_000 * n},{17 - n},{16 - n},{15 - n},{14 - n}\n" for n, day in enumerate(DAYS))
    got, _, proposal = read(tmp_path, f"Unit no,Date,Km,Steer L pad mm,Steer R pad mm,Drive L pad mm,Drive R pad mm\n{rows}")
    assert [question.key for question in proposal.questions] == ["axles.1"] and len(got) == 8
    proposal.answer("axles.1", "steer drive")
    proposal.save()
    got, _, proposal = read_folder(tmp_path)
    assert proposal.questions == [] and len(got) == 16 and {key[2] for key in got if got[key] < 15.5 and key[1] == DAYS[0]} <= {"2", "rear"}


@pytest.mark.parametrize("heading", ["Meter", "Teller", "Stand"])
def test_an_odometer_under_an_unknown_heading_is_asked(tmp_path, heading):
    rows = "".join(f"V1,{day},{20_000 + 9_000 * n},{9 - n}\n" for n, day in enumerate(DAYS))
    _, _, proposal = read(tmp_path, f"Reg,Date,{heading},LF pad mm\n{rows}")
    assert "odometer.1" in [question.key for question in proposal.questions]
    proposal.answer("odometer.1", heading)
    proposal.answer("distance_unit.1", "km")
    assert proposal.questions == [] and checks.load_proposal(proposal).visits["odometer_km"].tolist() == [20_000, 29_000, 38_000, 47_000]


@pytest.mark.parametrize(("cells", "heading"), [(("45306", "45337", "45366", "45397"), "Dt"), (("240115", "240215", "240315", "240415"), "YMD")])
def test_numbers_that_could_be_days_are_offered(tmp_path, cells, heading):
    rows = "".join(f"V1,{day},{20_000 + 9_000 * n},{9 - n}\n" for n, day in enumerate(cells))
    _, _, proposal = read(tmp_path, f"Reg,{heading},Km,LF pad mm\n{rows}")
    (question,) = proposal.questions
    assert question.key == "date.1" and [value for value, _ in question.choices] == [heading]


def test_a_limit_beside_each_reading_is_asked_and_never_hides_the_column(tmp_path):
    rows = "".join(f"V1,{day},{20_000 + 9_000 * n},{9 - n} (min 3)\n" for n, day in enumerate(DAYS))
    got, found, proposal = read(tmp_path, f"Reg,Date,Km,LF pad mm\n{rows}")
    assert got == {} and roles(proposal)["LF pad mm"].startswith("thickness") and found["code"].eq("R74-ask").sum() == 4


# --- two files, two ways ----------------------------------------------------------------------------------------------


def test_each_file_may_write_its_days_in_its_own_order(tmp_path):
    one, two = ("05/01/2023", "28/01/2023", "28/04/2023"), ("05/28/2023", "07/08/2023", "09/30/2023")
    head = "Vehicle,Date,Odometer km,LF pad mm\n"
    (tmp_path / "b.csv").write_text(head + "".join(f"M1,{day},{50_000 + 9_000 * n},{6 - n}\n" for n, day in enumerate(two)))
    got, _, proposal = read(tmp_path, head + "".join(f"M1,{day},{20_000 + 9_000 * n},{9 - n}\n" for n, day in enumerate(one)), name="a.csv")
    assert proposal.questions == []
    assert sorted(key[1] for key in got) == ["2023-01-05", "2023-01-28", "2023-04-28", "2023-05-28", "2023-07-08", "2023-09-30"]


def test_a_file_that_does_not_tell_its_order_is_asked_where_others_contradict_one_another(tmp_path):
    head = "Vehicle,Date,Odometer km,LF pad mm\n"
    for name, days in {"a": ("05/01/2023", "28/01/2023"), "b": ("05/28/2023", "09/30/2023"), "c": ("03/04/2024", "05/06/2024")}.items():
        (tmp_path / f"{name}.csv").write_text(head + "".join(f"M{name},{day},{20_000 + 9_000 * n},{9 - n}\n" for n, day in enumerate(days)))
    got, _, proposal = read_folder(tmp_path)
    assert [question.key for question in proposal.questions] == ["date_order.1"] and {key[0] for key in got} == {"Ma", "Mb"}


def test_one_vehicle_in_several_spellings_is_one_and_it_is_said(tmp_path):
    names = ("Van 3", "VAN 3", "van3", "Van-3")
    rows = "".join(f"{names[n]},{day},{20_000 + 9_000 * n},{9 - n}\n" for n, day in enumerate(DAYS))
    got, found, _ = read(tmp_path, f"Vehicle,Date,Km,LF pad mm\n{rows}V1-1,2024-01-15,1000,9\nV11,2024-01-15,1000,9\n")
    assert {key[0] for key in got} == {"Van 3", "V1-1", "V11"} and len(got) == 6
    said = found[found["code"].eq("R71-assumed") & found["column"].eq("Vehicle")]
    assert sorted(said["value"]) == ["VAN 3", "Van-3", "van3"] and said["reading"].str.contains("taken for “Van 3”").all()


def test_a_program_s_guard_of_text_is_no_part_of_a_name(tmp_path):
    rows = "".join(f'"=""0012""",{day},{20_000 + 9_000 * n},{9 - n}\n' for n, day in enumerate(DAYS))
    got, _, _ = read(tmp_path, f"Vehicle,Date,Km,LF pad mm\n{rows}")
    assert {key[0] for key in got} == {"0012"}


def test_each_row_says_the_unit_of_its_odometer(tmp_path):
    rows = "".join(f"{unit}1,{day},{20_000 + 9_000 * n},{unit},{9 - n}\n" for unit in ("KM", "MI") for n, day in enumerate(DAYS))
    read(tmp_path, f"Asset,Date,Odo,Odo UOM,LF pad mm\n{rows}")
    proposal = mapping.propose(tmp_path)
    visits = checks.load_proposal(proposal).visits.groupby("vehicle_id")["odometer_km"].first().round(1)
    assert proposal.questions == [] and visits.to_dict() == {"KM1": 20_000, "MI1": round(20_000 * 1.609344, 1)}


def two_files(tmp_path, factor, order=("a", "b"), vehicles=4, per_year=(20_000, 30_000, 14_000, 45_000)):
    """Two files of three visits each of some vehicles that go on as before; the odometers of the second times ``factor``."""
    for part, name in enumerate(order):
        rows = ["Vehicle,Date,Odometer,LF pad mm"]
        for v in range(vehicles):
            for n in range(3):
                month = 1 + n + 5 * part
                km = 30_000 + 15_000 * v + per_year[v] * (month - 1) / 12
                rows.append(f"Z{v},2023-{month:02}-1{v},{km * (factor if part else 1):.0f},{9 - 0.3 * month:.1f}")
        (tmp_path / f"{name}.csv").write_text("\n".join(rows) + "\n")
    (tmp_path / "records.toml").write_text('[units]\ndistance = "km"\n')
    found = checks.load_proposal(mapping.propose(tmp_path)).findings
    return found[found["code"].eq("R50-unit-changed") & found["column"].eq("Odometer")]


@pytest.mark.parametrize(("factor", "said"), [(1 / 1.609344, "is this file in miles"), (1.609344, "is the file before it in miles")])
@pytest.mark.parametrize("vehicles", [2, 4])
def test_a_file_whose_odometers_go_on_in_the_other_unit_is_noticed(tmp_path, factor, said, vehicles):
    found = two_files(tmp_path, factor, vehicles=vehicles)
    assert sorted(found["vehicle_id"]) == [f"Z{v}" for v in range(vehicles)] and found["reading"].str.contains(said).all()


@pytest.mark.parametrize("factor", [1.0, 1.1, 0.95])
def test_files_that_go_on_in_the_same_unit_are_not(tmp_path, factor):
    assert two_files(tmp_path, factor).empty


def test_one_new_cluster_between_two_files_is_no_other_unit(tmp_path):
    assert two_files(tmp_path, 1.0).empty
    file = tmp_path / "b.csv"
    file.write_text("\n".join(line.replace(line.split(",")[2], f"{int(line.split(',')[2]) * 0.62:.0f}") if line.startswith("Z1") else line for line in file.read_text().splitlines()))
    assert checks.load_proposal(mapping.propose(tmp_path)).findings["code"].eq("R50-unit-changed").sum() == 0


@pytest.mark.parametrize("heads", [("Year", "Month", "Day"), ("Jahr", "Monat", "Tag")])
def test_days_in_three_columns(tmp_path, heads):
    rows = "".join(f"V1,{day[:4]},{int(day[5:7])},{int(day[8:])},{20_000 + 9_000 * n},{9 - n}\n" for n, day in enumerate(DAYS))
    got, _, proposal = read(tmp_path, f"Reg,{','.join(heads)},Km,LF pad mm\n{rows}")
    assert proposal.questions == [] and sorted(key[1] for key in got) == list(DAYS)
    (tmp_path / "checks.csv").write_text((tmp_path / "checks.csv").read_text().replace(",15,", ",31,"))
    got, found, _ = read_folder(tmp_path)
    assert sorted(key[1] for key in got) == ["2024-01-31", "2024-03-31"]  # no such day: left out, and said
    assert found["value"].isin(["2024-02-31", "2024-04-31"]).sum() == 2


@pytest.mark.parametrize(
    ("text", "said"),
    [("pads LF 11.1 RF 11.7 new", True), ("Belag VL 9,5", True), ("pads 7 NSF 8 OSF", True), ("front pads replaced", False), ("tyres LF 6 RF 5", False)],
)
def test_readings_in_a_text_are_said_not_to_be_read(tmp_path, text, said):
    rows = "".join(f'V1,{day},{20_000 + 9_000 * n},"{text}",{9 - n}\n' for n, day in enumerate(DAYS))
    got, found, _ = read(tmp_path, f"Reg,Date,Km,Remarks,LR pad mm\n{rows}")
    assert len(got) == 4 and found["reading"].str.contains("a thickness in a text, not clear").any() == said


@pytest.mark.parametrize(
    ("heads", "cells"),
    [
        ("Targa;Data;Km;Ruota;Pastiglia mm", "AS AD PS PD"), ("Targa;Data;Km;Asse;Lato;Pastiglia mm", "ant|sx ant|dx post|sx post|dx"),
        ("Nr rej.;Data;Km;Koło;Klocek mm", "LP PP LT PT"), ("Nr rej.;Data;Km;Oś;Strona;Klocek mm", "1|L 1|P 2|L 2|P"),
        ("Matrícula;Data;Km;Roda;Pastilha mm", "DE DD TE TD"), ("Matrícula;Data;Km;Eixo;Lado;Pastilha mm", "dianteiro|E dianteiro|D traseiro|E traseiro|D"),
        ("Matrícula;Fecha;Km;Eje;Lado;Pastilla mm", "delantero|I delantero|D trasero|I trasero|D"),
        ("Kennz.;Datum;Km;Achse;Seite;Belag mm", "VA|li VA|re HA|li HA|re"), ("Kenteken;Datum;Km;As;Zijde;Blok mm", "voor|li voor|re achter|li achter|re"),
        ("Immat;Date;Km;Essieu;Côté;Plaquette mm", "AV|G AV|D AR|G AR|D"),
    ],
)  # fmt: skip
def test_the_places_of_rows_in_eight_languages(tmp_path, heads, cells):
    rows = "".join(
        f"V1;{day};{20_000 + 9_000 * n};{cell.replace('|', ';')};{10 + at - n}\n" for n, day in enumerate(DAYS) for at, cell in enumerate(cells.split())
    )
    got, _, proposal = read(tmp_path, f"{heads}\n{rows}")
    of = {(key[2] in ("front", "1"), key[3]): mm for key, mm in got.items() if key[1] == DAYS[0]}
    assert proposal.questions == [] and of == {(True, "left"): 10, (True, "right"): 11, (False, "left"): 12, (False, "right"): 13}
