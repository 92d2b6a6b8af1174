"""Complaint texts to symptoms.

complaints.csv: written for this project by one author, labels and all. complaints_more.csv: written here, labelled by
the same definitions (common practice, no source), each batch before the code had read it; the column `note` says which
batch. First seen, batches 10 to 17 scored, in category and negated: 96.0 and 100 % (n 101), 95.1 and 99.3 % (144), 92.6 and
97.5 % (121), 95.8 and 99.2 % (118), 89.4 and 96.8 % (94), 95.7 and 98.6 % (138), together 94.3 and 98.6 % (716); and batch 14,
far-fetched wording on purpose, 75.5 and 98.0 % (102). After each batch the lists learned the words that were missing, so the
files score higher here than a text nobody has seen will.

The last lines of complaints_more.csv are own cases, answers by the cases' conventions: of 802 texts written in four batches before
they were read, those that were missed at first and whose answer is not itself in doubt. First read, in category and negated: 92.4
and 97.8 % (n 368), 81.5 and 97.5 % (157, truck drivers and writers in a foreign language), 92.5 and 98.8 % (160), 94.9 and 96.6 %
(117); of 132 that are not the brakes, 3 were called noise or pulsation.
"""

import csv
import os
import subprocess
import sys
import time
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from public_data import real

from brakedata.symptoms import CATEGORIES, Symptoms, read, read_all
from brakedata.symptoms import words as lists

DATA = Path(__file__).parent / "data"
FILES = ("complaints.csv", "complaints_more.csv")
each_file = pytest.mark.parametrize("name", FILES)


def cases(name):
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def share(right):
    return sum(right) / len(right)


@cache
def answers(name):
    """The cases of a file beside what is read in them."""
    return [(case, read(case["text"])) for case in cases(name)]


ALL_TEXTS = [case["text"] for name in FILES for case in cases(name)]


# --- the same text, the same answer


def test_which_of_two_equal_phrases_wins_is_the_same_in_every_process():
    code = 'from brakedata.symptoms import read; print(read("clicks", {"noise": ["click"], "parking-brake": ["=clicks"]}).category)'
    said = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed},
            cwd=Path(__file__).parents[1],
            capture_output=True,
            text=True,
            check=True,
        ).stdout.strip()
        for seed in "0123"
    }
    assert said == {"noise"}


# --- the labelled texts


@each_file
def test_the_category_is_right(name):
    assert share([answer.category == case["category"] for case, answer in answers(name)]) >= 0.98


@each_file
def test_what_is_denied_is_seen_as_denied(name):
    assert share([answer.negated == case["negated"] for case, answer in answers(name)]) >= 0.98


@each_file
def test_further_categories_are_told_in_the_order_of_the_text(name):
    assert share([";".join(answer.also_category) == case["also_category"] for case, answer in answers(name)]) >= 0.97


@each_file
def test_the_subtype_is_mostly_right(name):
    labelled = [
        (case, answer) for case, answer in answers(name) if case["subtype"] not in ("", "typo", "abbrev", "double-negative")
    ]
    assert share([answer.subtype == case["subtype"] for case, answer in labelled]) >= 0.85


@each_file
def test_what_is_not_the_brakes_is_hardly_ever_called_noise_or_pulsation(name):
    others = [answer.category for case, answer in answers(name) if case["category"] == "other"]
    assert share([category in ("noise", "pulsation") for category in others]) <= 0.05


@each_file
def test_no_complaint_is_hardly_ever_called_a_symptom(name):
    quiet = [answer.category for case, answer in answers(name) if case["category"] == "none"]
    assert share([category not in ("none", "other") for category in quiet]) <= 0.03


# --- rules, one text each (worked by hand from the meaning of the words; common practice, no source)


@pytest.mark.parametrize(
    ("text", "category", "negated"),
    [
        ("no noise on road test", "none", "yes"),
        ("customer denies noise and vibration", "none", "yes"),
        ("squeal - could not duplicate", "none", "yes"),
        ("squeal w/o pulsation", "noise", "partial"),
        ("squeal gone since the new pads", "none", "yes"),
        ("squeal gone after a few stops", "noise", "no"),
        ("fixed the squeal last visit but it is back", "noise", "no"),
        ("let me know if it squeals", "none", "yes"),
        ("if i brake lightly it squeals", "noise", "no"),
        ("cant say it doesnt squeal", "noise", "no"),
        ("the squeal is not gone", "noise", "no"),
        ("no idea why it squeals", "noise", "no"),
        ("it should not squeal but it does", "noise", "no"),
        ("does not squeal when hot, only when cold", "noise", "no"),
        ("used to squeal, now it grinds", "noise", "no"),
        ("no noise, pull or vibration", "none", "yes"),
        ("no noise but it pulls left when braking", "pull", "partial"),
        ("pedal is not firm", "pedal", "no"),
        ("brakes are quiet", "none", "yes"),
        ("brakes are not quiet", "noise", "no"),
    ],
)
def test_denials(text, category, negated):
    answer = read(text)
    assert (answer.category, answer.negated) == (category, negated)


@pytest.mark.parametrize(
    ("braking", "not_braking"),
    [
        ("steering wheel shakes at 65 when braking", "steering wheel shakes at 65 all the time"),
        ("pulls left when braking", "pulls left all the time, not just braking"),
        ("hum from the front only when braking", "hum from the front that gets louder with speed"),
        ("clunk from front when i hit the brakes", "clunk from front over bumps, brakes or not"),
        ("brakes squeal in the morning", "belt squeals in the morning"),
        ("grinding when braking", "grinding when turning, not from the brakes"),
    ],
)
def test_braking_or_not_decides_whether_it_is_the_brakes(braking, not_braking):
    assert read(braking).category not in ("other", "none")
    assert read(not_braking).category == "other"


@pytest.mark.parametrize(
    ("text", "axle", "side"),
    [
        ("LF squeal", "front", "left"),
        ("rear brakes grind", "rear", ""),
        ("front and rear squeal", "", ""),
        ("nearside rear binding", "rear", "left"),
        ("pulls left when braking", "", ""),
        ("Bremse hinten links schleift", "rear", "left"),
        ("squeals", "", ""),
    ],
)
def test_axle_and_side_where_the_text_says_them(text, axle, side):
    answer = read(text)
    assert (answer.axle, answer.side) == (axle, side)


@pytest.mark.parametrize(
    ("text", "conditions"),
    [
        ("squeals when cold in reverse", {"cold", "reverse"}),
        ("squeals on light pedal in the rain", {"wet", "light braking"}),
        ("shakes when braking from 70 on the highway", {"high speed"}),
        ("grinds", set()),
    ],
)
def test_conditions(text, conditions):
    assert set(read(text).conditions) == conditions


def test_reported_against_found():
    assert read("c/s squeal, verified").found == "confirmed"
    assert read("c/s squeal, unable to duplicate").found == "not found"
    assert read("squeals").found == ""


@pytest.mark.parametrize(
    ("written", "meant"),
    [("squeek", "squeal"), ("viberation", "vibration"), ("grindng", "grinding"), ("sqlng", "squealing"), ("peddle", "pedal")],
)
def test_misspelling_and_shorthand_read_as_the_word(written, meant):
    assert read(f"{written} when braking").category == read(f"{meant} when braking").category


@pytest.mark.parametrize("word", ["shape", "small", "think", "thanks", "place", "cracked", "ground", "stream", "called"])
def test_words_that_only_look_like_a_symptom_are_left_alone(word):
    assert read(f"the {word} of it").category == "none"


# --- the answer


@given(st.text())
def test_no_text_is_refused(text):
    assert read(text).category in CATEGORIES


@given(st.lists(st.sampled_from(sorted({word for text in ALL_TEXTS for word in text.split()})), max_size=40).map(" ".join))
def test_the_words_an_answer_rests_on_stand_in_the_text(text):
    answer = read(text)
    assert all(word in text for word in answer.words)


def test_an_answer_with_a_brake_category_says_what_it_rests_on():
    for case, answer in (pair for name in FILES for pair in answers(name)):
        assert answer.words or answer.category in ("none", "other"), case["text"]


@pytest.mark.parametrize("change", [str.upper, str.title, lambda text: "  " + text.replace(" ", "   ") + " "])
def test_case_and_spacing_change_nothing(change):
    for text in ALL_TEXTS[::7]:
        plain, changed = read(text), read(change(text))
        assert (plain.category, plain.subtype, plain.negated, plain.also_category) == (
            changed.category,
            changed.subtype,
            changed.negated,
            changed.also_category,
        ), text


@pytest.mark.parametrize("blank", [None, "", "  ", float("nan"), 7, "?!"])
def test_nothing_said_is_no_complaint(blank):
    assert read(blank) == Symptoms("none", "service")


def test_a_column_is_read_as_its_texts_are():
    texts = ["brakes squeal", None, "brakes squeal", "pulls left when braking"]
    assert read_all(texts) == [read(text) for text in texts]


# --- the shop's own words


def test_own_words_add_a_symptom():
    assert read("it gwerps when stopping").category == "other"
    answer = read("it gwerps when stopping", {"noise/squeal": ["gwerp"]})
    assert (answer.category, answer.subtype, answer.words) == ("noise", "squeal", ("gwerps",))


def test_own_words_come_before_ours():
    assert read("brakes squeal", {"other": ["squeal"]}).category == "other"


def test_own_words_are_denied_like_ours():
    assert read("no yelp on road test", {"noise": ["yelp"]}).negated == "yes"


def test_ignored_words_are_no_symptom():
    assert read("squeal street, bay 4").category == "noise"
    assert read("squeal street, bay 4", {"ignore": ["squeal street"]}).category == "none"


def test_own_words_may_be_phrases():
    assert read("stop box lit", {"warning-light": ["stop box .. lit"]}).category == "warning-light"


@pytest.mark.parametrize("words", [{"sounds": ["yelp"]}, {"noise": "yelp"}, {"noise": [3]}, {"noise": [" "]}])
def test_a_word_list_that_cannot_be_read_is_said_in_one_sentence(words):
    with pytest.raises(ValueError, match="symptoms: ") as refused:
        read("x", words)
    assert "\n" not in str(refused.value)


# --- the lists


def test_no_phrase_is_written_twice():
    for by_subtype in lists.SYMPTOMS.values():
        for phrases in by_subtype.values():
            written = [" ".join(phrase.split()) for phrase in phrases.split(",")]
            assert len(written) == len(set(written))


# --- long texts


@pytest.mark.parametrize(
    "piece",
    [
        "squeal ",
        "no squeal ",
        "not ",
        "no noise, ",
        "squeal gone back ",
        "if squeal ",
        "brake pedal not ",
        "a",
        ".,;",
        "'",
        "squeal. fixed. ",
    ],
)
def test_long_texts_take_bounded_time(piece):
    """10,000 characters at their worst (bound: 10 s, for a slow machine; about 1 s here)."""
    start = time.process_time()
    read((piece * 10_000)[:10_000])
    assert time.process_time() - start < 10


# --- records nobody here made


def test_dispatchers_notes_are_read_to_the_end():
    with real("03_transit_road_calls_brake_404.csv").open(encoding="utf-8", errors="replace", newline="") as file:
        rows = list(csv.DictReader(file))
    answers = read_all(row["DESCRIPTION"] for row in rows)
    assert len(answers) == 404
    soft = [answer.category for answer, row in zip(answers, rows, strict=True) if "SOFT BRAKES" in row["DESCRIPTION"]]
    assert soft and all("pedal" in category or category == "warning-light" for category in soft)
    parking = [a for a, row in zip(answers, rows, strict=True) if row["SYMP_SYMPTOM"] == "0225"]
    assert share(["parking-brake" in (a.category, *a.also_category) for a in parking]) >= 0.8


def test_narratives_about_other_parts_are_seldom_brake_complaints():
    """The agency's component is a weak label: narratives filed under air bags, engine, fuel or locks only."""
    with real("02_nhtsa_flatfile_sample100.txt").open(encoding="utf-8", errors="replace") as file:
        rows = [line.rstrip("\n").split("\t") for line in file]
    far = [row[19] for row in rows if row[11].startswith(("AIR BAGS", "ENGINE", "FUEL", "LATCHES", "SEAT"))]
    assert len(far) > 20
    assert share([read(text).category in ("noise", "pulsation") for text in far]) <= 0.05


def test_with_is_no_form_of_within():
    """Within asks for work ("runout within spec"); with says nothing, so what is named beside it counts."""
    assert read("alarm with the parking brake").category == "parking-brake"
    assert read("parking brake within spec").category == "none"
