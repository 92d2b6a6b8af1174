"""Thicknesses that stand in notes and lines of work: taken where a person has said so once, and only where nothing is left open.

Truth: what each sentence says, by hand. Source of the forms: common practice, no source.
"""

import pytest
from test_mapping_oddities import DAYS, read

from brakedata import mapping
from brakedata.mapping import texts

FRONT, REAR = ("front", "", "pad"), ("rear", "", "pad")
WHEELS = [("front", "left", "pad"), ("front", "right", "pad"), ("rear", "left", "pad"), ("rear", "right", "pad")]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("oil change, pads LF 11.1 RF 10.5 LR 8 RR 8.5 mm", dict(zip(WHEELS, (11.1, 10.5, 8, 8.5), strict=True))),
        ("Brakes checked. F 7mm R 5mm", {FRONT: 7, REAR: 5}),
        ("rotated tyres; pads 6mm front 4mm rear", {FRONT: 6, REAR: 4}),
        ("service, brakes ok, front 10mm rear 7mm", {FRONT: 10, REAR: 7}),
        ("front pads worn down to 2mm", {FRONT: 2}),
        ("front pads 5mm left, rear pads 6mm left", {FRONT: 5, REAR: 6}),
        ("5mm front pads, 4mm rear shoes", {FRONT: 5, ("rear", "", "shoe"): 4}),
        ("Bremsbeläge VA 6 mm/HA 4,5 mm", {FRONT: 6, REAR: 4.5}),
        ("plaquettes avant 7 mm, arrière 5 mm", {FRONT: 7, REAR: 5}),
        ("front left 7 mm, front right 6 mm pads", {WHEELS[0]: 7, WHEELS[1]: 6}),
        ("front pads 2mm - replaced front pads", {FRONT: 2}),  # measured, then renewed
        ("front pads replaced. Rear pads 5 mm", {REAR: 5}),
        ("MOT passed. Advisory: front pads 3 mm", {FRONT: 3}),
        ("customer complains noise, front pads 3 mm", {FRONT: 3}),
        ("front pads 5 mm, rotors scored", {FRONT: 5}),
        ("Rear pads LR 11 mm, RR 10 mm, recommend soon", dict(zip(WHEELS[2:], (11, 10), strict=True))),
        ("front brake pads: LF 8mm RF 7mm, rear LR 5mm RR 6mm", dict(zip(WHEELS, (8, 7, 5, 6), strict=True))),
        ("Front: L 8 mm R 7 mm; Rear: L 5 mm R 6 mm pads", dict(zip(WHEELS, (8, 7, 5, 6), strict=True))),
        ("front pads done, rear pads 5 mm", {REAR: 5}),
        ("tyres rotated. brake pads LF 8 mm RF 7 mm", dict(zip(WHEELS[:2], (8, 7), strict=True))),
        ("Front pads 9.3mm L 10.6mm R, rear 9.8mm L 8mm R", dict(zip(WHEELS, (9.3, 10.6, 9.8, 8), strict=True))),
    ],
)
def test_what_a_sentence_says_beyond_doubt(text, said):
    found, question = texts.read(text, {"delimiter": ";"})
    assert {place: value for *place, value, _ in found for place in [tuple(place)]} == said
    assert all(unit == "mm" for *_, unit in found) and question == ""


@pytest.mark.parametrize(
    "text",
    [
        "tyres LF 7mm RF 6mm, brakes ok", "checked brakes. tyre depths, LF 7mm RF 6mm", "brakes ok, tread 7mm front 6mm rear",
        "tyres and brakes F 7mm R 5mm", "new front pads 12mm", "fitted new pads. front 12 mm rear 11 mm", "replaced rear pads, 12 mm rear pads",
        "front pads min 2mm", "replace front pads at 3mm", "2 front pads, rear 5 mm", "front rotor 24.1 mm, pads 5 mm",
        "front pads 5 mm, front pads 6 mm", "front pads 5 mm, LF 6 mm", "machined front rotors 0.5mm, rear pads 4mm", "brake pipe 5 mm rear corroded",
        "brake hose front 10 mm union", "front brake pad 7 mm wear", "front pads 45 mm", "pads 7mm", "front pads 7/6.5 mm", "front pads 5 mm rear 7",
        "rotors: front 22 mm, rear 9 mm. pads ok", "Bremsscheiben: vorne 22 mm, hinten 10 mm. Beläge ok", "Drums: rear 12 mm. Shoes ok",
        "Winterreifen: VA 6 mm, HA 5 mm. Bremsen ok", "Tyers: F 6mm R 5mm. Brakes ok", "Check play. Front 2 mm, brakes ok", "wear: front pads 3 mm",
        "front pads worn 3 mm", "front pads down 3 mm", "van 7: front pads 9 mm", "same as unit 12, front pads 5 mm", "parts used: front pads 12 mm",
        "qty 2: front pads 12 mm", "pads put in. front pads 12 mm", "relined rear. rear shoes 8 mm", "changement plaquettes. plaquettes avant 12 mm",
        "Bremsen gemacht. Beläge vorne 12 mm", "now with: front pads 12 mm", "desgaste pastillas delanteras 3 mm",
        "limit: front pads 3 mm", "last service: front pads 5mm, rear pads 4mm", "ordered - front pads 12 mm", "trailer: brake pads front 5mm",
        "quote. front pads 3 mm", "neue Beläge, vorne 12 mm", "plaquettes remplacées, avant 12 mm", "letzte Messung: Beläge vorne 5 mm",
        "rotated. LF 6 mm RF 6 mm LR 7 mm RR 7 mm. brakes ok", "front pads done. front pads 11 mm", "Beläge gemacht, vorne 11 mm",
        "rear pads LF 8 mm", "front pads: LR 8 mm", "front van 3: left 8 mm pads",
        "brake pads 2 front", "front pads 3 to 4 mm", "front pads <3mm", "brakes 50%",
    ],
)  # fmt: skip
@pytest.mark.parametrize("hints", [{}, {"unit": "mm"}])
def test_what_could_be_something_else_is_not_taken(text, hints):
    assert texts.read(text, hints)[0] == []


def test_a_32nd_stays_one():
    assert texts.read("front pads at 6/32 rear at 5/32", {})[0] == [(*FRONT, 6.0, "32nds"), (*REAR, 5.0, "32nds")]


def test_what_is_missing_is_asked():
    assert texts.read("pads LF 11.1 RF 11.7", {}) == ([], "unit")
    assert texts.read("N/S/F pad 5mm O/S/F pad 4mm", {}) == ([], "traffic_side")
    assert texts.read("N/S/F pad 5mm O/S/F pad 4mm", {"traffic_side": "left"})[0] == [(*WHEELS[0], 5.0, "mm"), (*WHEELS[1], 4.0, "mm")]


HEAD = "Reg,Date,Km,Work done\n"
SAID = ["pads 9mm front 8mm rear", "front pads 8mm, rear pads 7mm", "front pads 3mm - replaced front pads", "oil change"]


def lines(said):
    return "".join(f'V1,{day},{20_000 + 9_000 * n},"{text}"\n' for n, (day, text) in enumerate(zip(DAYS, said, strict=True)))


def test_nothing_is_taken_before_a_person_has_said_so(tmp_path):
    got, found, proposal = read(tmp_path, HEAD + lines(SAID))
    assert got == {} and found["code"].eq("R74-ask").sum() == 3
    (question,) = proposal.questions
    assert question.vital and "front pad 9 mm, rear pad 8 mm" in question.why


@pytest.mark.parametrize("answer", ["yes", "no"])
def test_the_answer_holds_for_the_next_month(tmp_path, answer):
    _, _, proposal = read(tmp_path, HEAD + lines(SAID), name="january.csv")
    proposal.answer("readings_in_texts.1", answer)
    proposal.save()
    (tmp_path / "january.csv").unlink()
    got, found, proposal = read(tmp_path, HEAD + lines(SAID), name="february.csv")
    assert proposal.questions == [] and not found["code"].isin(["R74-ask", "R75-no-reading"]).any()
    assert len(got) == (5 if answer == "yes" else 0)
    if answer == "yes":
        assert got["V1", DAYS[2], "front", "", "pad", "before"] == 3
        work = mapping.propose(tmp_path).built.tables["work"]
        assert work[["axle", "part", "action"]].to_numpy().tolist() == [["front", "pads", "replaced"]]
        assert found.loc[found["code"].eq("R71-assumed"), "reading"].str.contains("as the text says; so in 3 cells").any()


def test_a_reading_of_its_own_column_counts_before_that_of_the_text(tmp_path):
    head = "Reg,Date,Km,Remarks,Front pads mm\n"
    rows = "".join(f'V1,{day},{20_000 + 9_000 * n},"front pads {9 - n} mm, rear pads {8 - n} mm",{9 - n}.2\n' for n, day in enumerate(DAYS))
    _, _, proposal = read(tmp_path, head + rows)
    assert [(question.key, question.vital) for question in proposal.questions] == [("readings_in_texts.1", False)]
    proposal.answer("readings_in_texts.1", "yes")
    proposal.save()
    got, _, _ = read(tmp_path, head + rows)
    assert {key[2]: mm for key, mm in got.items() if key[1] == DAYS[0]} == {"front": 9.2, "rear": 8}


def test_a_customers_complaint_is_no_measurement(tmp_path):
    head = "Reg,Date,Km,Complaint\n"
    got, found, proposal = read(tmp_path, head + lines(SAID))
    assert got == {} and proposal.questions == []
    assert found["code"].eq("R75-no-reading").sum() == 3


def test_a_job_between_two_readings_of_the_only_part_named_loses_neither():
    """Rotors named between them leave it open of which part the second is; source: common practice, no source."""
    found = [("front", "", "pad", 3.0, "mm"), ("rear", "", "pad", 7.0, "mm")]
    assert texts.read("front pads 3mm, replaced front pads, rear 7mm", {}) == (found, "")
    assert texts.read("front pads 3mm. Replaced front pads and rotors. Rear pads 7mm ok", {}) == (found, "")
    assert texts.read("front pads 3mm, replaced front pads and rotors, rear 7mm", {}) == ([], "")
