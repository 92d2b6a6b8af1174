"""The sentences and tables about a shop's own tables, on the invented shops of ``make_shops``; counted in their files by hand."""

import pandas as pd
import pytest
from test_mapping import SHOPS, file_of

from brakedata import mapping
from brakedata.findings import RecordsError
from brakedata.mapping import Question
from brakedata.views import mapping as view


def proposed(shop):
    return mapping.propose(file_of(shop, 1))


def one(samples, read_as, **more):
    return pd.Series({"samples": samples, "read_as": read_as, **more})


def test_the_headline_counts_columns_and_questions():
    assert view.headline(proposed("inches_by_pad")) == (
        "month1.csv: 12 columns, each of them sure or said, 1 question that must be answered before anything is forecast"
    )
    assert view.headline(proposed("totals")) == (
        "month1.xls: 7 columns, 4 not sure, 3 questions that must be answered before anything is forecast"
    )
    assert view.headline(proposed("semicolons")).endswith("1 question that may be answered")
    assert view.headline(proposed("a_sheet_a_vehicle")).endswith("nothing needs to be asked")


def test_the_unsure_columns_come_first_and_none_is_lost():
    columns = proposed("totals").columns
    assert [name for _, name in view.in_order(columns)] == ["L/F", "R/F", "L/R", "R/R", "Bus", "Checked on date", "Odometer"]


@pytest.mark.parametrize(
    ("samples", "read_as", "said"),
    [
        (["9", "8"], ["9.00 mm", "8.00 mm"], "read as 9.00 mm; 8.00 mm"),
        (["9,0", "8,5"], ["9.00 mm (comma)", "8.50 mm (comma)"], "read as 9.00 mm; 8.50 mm (comma)"),
        (["9,0", "8"], ["9.00 mm (comma)", "8.00 mm"], "read as 9.00 mm (comma); 8.00 mm"),
        (["a", "b"], ["asked: km (or mi)?", "asked: km (or mi)?"], "not read yet: km (or mi)?"),
        (["x", "y"], ["x", "y"], "read as written"),
        (["x"], [], "not used"),
        ([], [], ""),
        (["1", "2", "3", "4"], ["1 km", "2 km", "3 km", "4 km"], "read as 1 km; 2 km; 3 km"),
        (["1", "2"], ["1 mm", "asked: mm?"], "read as 1 mm; asked: mm?"),
    ],
)
def test_what_the_samples_are_read_as(samples, read_as, said):
    assert view.read_words(one(samples, read_as)) == said


def test_how_sure_a_guess_is_stands_in_words():
    assert view.surety(one([], [], source="guessed", sure=True, evidence="the heading says so")) == "Sure: the heading says so."
    assert view.surety(one([], [], source="guessed", sure=False, evidence="x")).startswith("Not sure, please look: x")
    assert view.surety(one([], [], source="answered", sure=True, evidence="as answered")) == "As you said."
    assert view.surety(one([], [], source="saved", sure=True, evidence="as saved")) == "As saved in records.toml."


@pytest.mark.parametrize("shop", SHOPS)
def test_every_guess_can_be_chosen(shop):
    """What a column is taken for stands among what it can be set to, once, and setting it changes nothing."""
    proposal = proposed(shop)
    for _, column in proposal.columns.iterrows():
        values = [value for _, value in view.role_options(proposal, column["role"])]
        assert values.count(column["role"]) == 1
        assert len({words for words, _ in view.role_options(proposal, column["role"])}) == len(values)


def test_the_shop_s_own_words_are_asked_one_by_one():
    (question,) = proposed("semicolons").questions
    assert view.words_asked(question) == ["i.O."]
    odd = Question("words", "", "", (), False, '[shop.words]\n"say \\"ok\\"" = ">=5 mm"   # or "no reading"\n"b = c" = ">=5 mm"')
    assert view.words_asked(odd) == ['say "ok"', "b = c"]


def test_a_choice_begins_with_none_chosen_and_a_missing_column_can_be_any():
    proposal = proposed("inches_by_pad")
    assert [value for _, value in view.answer_options(proposal, proposal.questions[0])] == ["", "mm", "32nds", "in"]
    nowhere = Question("date.1", "Which column is the date?", "", (), True, "")
    assert [value for _, value in view.answer_options(proposal, nowhere)][1:] == list(proposal.columns["column"])
    assert view.answer_options(proposed("everything"), proposed("everything").questions[0]) == []


@pytest.mark.parametrize(("text", "mm"), [("12", 12.0), ("10,5", 10.5), (" 9.5 mm", 9.5)])
def test_a_number_as_a_person_writes_it(text, mm):
    assert view.number(text) == mm


@pytest.mark.parametrize("text", ["thick", "12 to 14", "1/2", "1,200.5"])
def test_what_is_no_number_is_said(text):
    with pytest.raises(RecordsError, match="is no number of mm"):
        view.number(text)


def test_save_says_what_is_missing():
    proposal = proposed("totals")
    assert view.save_words(proposal) == "Save so far (3 answers missing)"
    assert view.missing(proposal)[1] == "In which unit are the odometers?" and not view.known(proposal)
    for key, value in {"distance_unit.1": "mi", "thickness_unit.1": "mm", "part.1": "shoe"}.items():
        proposal.answer(key, value)
    assert view.save_words(proposal) == "Save and check" and view.missing(proposal) == []
    assert not view.known(proposal)  # nobody has saved it


def test_the_first_rows_say_what_loads_and_why_not():
    rows = view.first_rows(proposed("driver_and_passenger").first_rows(20))
    assert list(rows.columns) == ["file", "line", "loads as", "left out because"]
    assert rows["line"].tolist() == ["2", "3", "4", "5"]
    assert rows["loads as"].tolist() == ["K1, 2025-01-01, 23,118 km", "", "", ""]
    assert rows["left out because"].ne("").tolist() == [False, True, True, True]
