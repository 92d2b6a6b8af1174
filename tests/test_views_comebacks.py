"""Comebacks in words: what is said agrees with the numbers, names no cause, and gives no figure of a person with few jobs.

Truth: the made shop of `simulate_shop`, and the definitions 1 mi = 1.609344 km and q at most 0.05.
"""

import re

import numpy as np
import pandas as pd
import pytest

import brakedata
from brakedata import comebacks, simulate, simulate_shop
from brakedata.shown import Shown
from brakedata.views import comebacks as view
from brakedata.views import complaints

KM = Shown()


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    """What is found in a made shop of 900 jobs."""
    world = simulate_shop.shop(4)
    return comebacks.find(brakedata.load(simulate.write(world.tables, tmp_path_factory.mktemp("shop"))))


@pytest.fixture(scope="module")
def people(found):
    return comebacks.rates(found, "technician")


def test_the_headline_names_who_differs_and_counts_who_is_too_few(people):
    said = view.headline(people, "technician")
    flagged = set(people.table.loc[people.table["q_value"] <= 0.05, "level"])
    assert simulate_shop.BAD in flagged
    assert {name for name in simulate_shop.TECHNICIANS if name in said} == flagged
    assert "1 has too few jobs to say" in said


def test_a_person_with_few_jobs_has_no_figure_anywhere(people):
    cells = view.rate_cells(people, KM).set_index("level").loc[simulate_shop.NEW]
    assert cells["against the rest"] == "too few to say"
    assert (cells[["came back", "risk", "95 times in 100 between", "drawn toward the shop"]] == "").all()
    point = view.funnel(people).points.set_index("level").loc[simulate_shop.NEW]
    assert np.isnan(point["rate"]) and point["state"] == "few"
    assert point["said"].endswith("jobs: too few to say")


def test_nobody_is_ranked(people):
    names = view.rate_cells(people, KM)["level"].tolist()
    assert names == sorted(names)


def test_miles_are_miles(found):
    km, miles = (complaints.link_cells(found.links, Shown(unit)) for unit in ("km", "mi"))
    far = [pd.to_numeric(cells[f"after [{unit}]"].str.replace(",", "")) for cells, unit in ((km, "km"), (miles, "mi"))]
    np.testing.assert_allclose(far[1] * 1.609344, far[0], atol=1.0)


def test_both_texts_stand_in_the_list(found):
    cells = complaints.link_cells(found.links, KM)
    assert (cells["said on return"] == found.links["complaint"]).all()
    assert (cells["counts"] == "yes").sum() == found.links["counts"].sum()
    link = found.links.iloc[0]
    asked = complaints.question(link, KM)
    assert all(text in asked for text in (link["complaint"], link["job_done"], link["vehicle_id"], link["job_visit_id"]))


def test_the_curve_ends_at_the_risk_of_the_table(found, people):
    shop = view.by_distance(found, 10_000.0)
    assert shop["risk"].iloc[-1] == pytest.approx(people.shop["risk"])
    assert (shop["risk"].diff().dropna() >= 0).all()
    assert ((shop["low"] <= shop["risk"]) & (shop["risk"] <= shop["high"])).all()
    assert (shop["watched"].diff().dropna() <= 0).all()
    bad = view.by_distance(found, 10_000.0, "technician", simulate_shop.BAD)
    assert bad["risk"].iloc[-1] == pytest.approx(people.table.set_index("level").loc[simulate_shop.BAD, "risk"])


def test_the_funnel_tells_apart_what_the_table_does(people):
    funnel = view.funnel(people, {simulate_shop.BAD: "hub face cleaned as elsewhere"})
    states = funnel.points.set_index("level")["state"]
    flagged = set(people.table.loc[people.table["q_value"] <= 0.05, "level"])
    assert set(states.index[states.eq("beyond")]) == flagged
    assert "hub face cleaned as elsewhere" in funnel.points["said"].tolist()
    limits = funnel.limits
    assert ((limits["low998"] <= limits["low95"]) & (limits["high95"] <= limits["high998"])).all()


def test_no_sentence_names_a_cause_or_calls_anything_safe(found):
    together = comebacks.goes_with(found)
    tables = [
        view.together_cells(together), view.first_cells(comebacks.look_first(together)),
        view.recorded_cells(comebacks.recorded(found)), view.rate_cells(comebacks.rates(found), KM),
    ]  # fmt: skip
    texts = [view.held_equal_sentence(together), *(str(cell) for table in tables for cell in table.to_numpy().ravel())]
    assert not re.search(r"because|due to|blame|guilty|\bsafe\b", " ".join(texts).lower())
    assert view.CAUTION in texts[0]


def test_cost_says_when_nothing_is_recorded():
    nothing = comebacks.costs.Cost(
        3, 0, 12.0, (0.25, 0.1, 0.6), (np.nan,) * 3, (), (np.nan,) * 3, (np.nan,) * 3, pd.DataFrame()
    )  # fmt: skip
    said = " ".join(view.cost_sentences(nothing))
    assert "3 returns in 12 months" in said and "No cost is recorded" in said
    assert "nan" not in said


@pytest.mark.parametrize(("chance", "said"), [(0.294, "29 %"), (0.004, "0.4 %"), (0.0, "0 %"), (np.nan, "")])
def test_shares_in_words(chance, said):
    assert view.share_text(chance) == said
