"""Pictures of comebacks, by what they contain.

Truth: tables written by hand here, a made shop (`simulate_shop`), and the rules of the house: no figure of a person with few jobs,
one blue scale, every axis with its unit.
"""

import colorsys
import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

import brakedata
from brakedata import comebacks, simulate, simulate_shop
from brakedata import figures_comebacks as figures
from brakedata.shown import Shown
from brakedata.views import comebacks as view

KM = Shown()


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """The records of a made shop, and what is found in them."""
    records = brakedata.load(simulate.write(simulate_shop.shop(4).tables, tmp_path_factory.mktemp("shop")))
    return records, comebacks.find(records)


@pytest.fixture(scope="module")
def people(shop):
    return comebacks.rates(shop[1], "technician")


@pytest.fixture(scope="module")
def together(shop):
    return comebacks.goes_with(shop[1])


@pytest.fixture(scope="module")
def funnel(people):
    return figures.funnel(view.funnel(people), "title", "note", "10,000 km")


@pytest.fixture(scope="module")
def pictures(shop, people, together, funnel):
    """One of each kind."""
    records, found = shop
    curve = view.by_distance(found, 10_000.0)
    trend = comebacks.trend(found)
    return {
        "funnel": funnel,
        "by_distance": figures.by_distance(curve, curve, "title", "note", "", KM),
        "ratios": figures.ratios(view.ratios(together, "technician"), "title", "note"),
        "over_time": figures.over_time(trend, "title", "note"),
        "cost": figures.cost(comebacks.cost(records, found, together), "title", "note"),
    }


def trace(figure, meta):
    (one,) = [t for t in figure.data if t.meta == meta]
    return one


def notes(figure):
    return " | ".join(re.sub("<[^>]+>", " ", note.text) for note in figure.layout.annotations)


# --- funnel


def test_levels_stand_at_the_rates_of_the_table(funnel, people):
    rated = people.table[people.table["risk"].notna()]
    levels = trace(funnel, "levels")
    np.testing.assert_allclose(levels.y, 100 * rated["risk"])
    np.testing.assert_allclose(levels.x, people.detail.loc[rated.index, "watched_jobs"])
    limits = trace(funnel, "limits")
    np.testing.assert_allclose(np.add(limits.y, limits.error_y.array), 100 * rated["risk_high"])
    np.testing.assert_allclose(np.subtract(limits.y, limits.error_y.arrayminus), 100 * rated["risk_low"])


def test_a_person_with_few_jobs_stands_below_the_axis_without_a_rate(funnel, people):
    few = trace(funnel, "too few")
    (jobs,) = people.table.loc[people.table["level"].eq(simulate_shop.NEW), "jobs"]
    assert (list(few.x), few.y[0] < 0) == ([jobs], True)
    assert all(tick >= 0 for tick in funnel.layout.yaxis.tickvals)
    assert re.sub("<[^>]+>", "", few.text[0]) == f"{simulate_shop.NEW}{jobs} jobs{jobs} jobs: too few to say"
    assert any("too few to say" in words for words in trace(funnel, "words").text)


def test_the_funnels_limits_are_binomial(funnel, people):
    """At 100 jobs and the shop's risk p: the limits lie within half a job of p +- 1.96 sqrt(p (1 - p) / 100) (normal)."""
    p = people.shop["risk"]
    for side, sign in (("low95", -1), ("high95", 1)):
        line = trace(funnel, side)
        normal = 100 * (p + sign * 1.96 * np.sqrt(p * (1 - p) / 100))
        assert np.interp(100, line.x, line.y) == pytest.approx(normal, abs=1.0)


def test_beyond_chance_is_darker_than_within(funnel, people):
    beyond = people.table["findings"].str.contains("R64")[people.table["risk"].notna()].to_numpy()
    light = [colorsys.rgb_to_hls(*(int(c[i : i + 2], 16) / 255 for i in (1, 3, 5)))[1] for c in trace(funnel, "levels").marker.color]
    assert beyond.any() and not beyond.all()
    assert max(np.array(light)[beyond]) < min(np.array(light)[~beyond])


def test_words_cover_no_point_and_no_other_words():
    assert figures.sides([100, 100], [100, 300], ["Ash", "Birch"]) == ["middle right"] * 2
    assert figures.sides([400, 440], [100, 100], ["a long name of a level", "B"]) == ["middle left", "middle right"]
    assert figures.sides([80, 120], [100, 100], ["a long name of a level", "B"])[0] == "top center"


# --- share by distance


def test_the_curve_of_a_level_stands_beside_the_shops(shop):
    found = shop[1]
    mine = view.by_distance(found, 10_000.0, "technician", simulate_shop.BAD)
    whole = view.by_distance(found, 10_000.0)
    picture = figures.by_distance(mine, whole, "title", "note", simulate_shop.BAD, Shown("mi"))
    share = trace(picture, "share")
    assert share.x[-1] * 1.609344 == pytest.approx(10_000.0)
    assert share.y[-1] == pytest.approx(100 * mine["risk"].iloc[-1])
    assert trace(picture, "shop").y[-1] == pytest.approx(100 * whole["risk"].iloc[-1])
    assert picture.layout.xaxis.title.text == "distance since the job [mi]"
    said = notes(picture)
    assert "jobs still watched" in said and f"{len(found.jobs):,}" in said
    assert f"{int(mine['watched'].iloc[-1]):,}" in said


def test_the_band_holds_the_curve(pictures):
    band, share = trace(pictures["by_distance"], "band"), trace(pictures["by_distance"], "share")
    half = len(band.x) // 2
    high, low = np.array(band.y[:half]), np.array(band.y[half:])[::-1]
    y = np.interp(band.x[:half], share.x, share.y)
    assert (low <= y + 1e-9).all() and (y <= high + 1e-9).all()


# --- what goes with it


def test_ratios_alone_and_held_equal_with_their_limits(pictures, together):
    rows = together.table[together.table["factor"].eq("technician")]
    for meta, name in (("alone", "crude"), ("held equal", "adjusted")):
        drawn = trace(pictures["ratios"], meta)
        np.testing.assert_allclose(drawn.x, rows[name])
        np.testing.assert_allclose(np.add(drawn.x, drawn.error_x.array), rows[f"{name}_high"])
        np.testing.assert_allclose(np.subtract(drawn.x, drawn.error_x.arrayminus), rows[f"{name}_low"])
    assert pictures["ratios"].layout.xaxis.type == "log"
    assert simulate_shop.NEW not in str(pictures["ratios"].layout)
    assert all(f"of {jobs} jobs came back" in notes(pictures["ratios"]) for jobs in rows["jobs"])


def test_ratios_beyond_the_picture_are_not_drawn_elsewhere():
    row = {"name": "x", "said": "over 100 times", "jobs": 20, "comebacks": 20}
    row |= dict.fromkeys(["crude", "adjusted"], 500.0) | dict.fromkeys(["crude_low", "adjusted_low"], 30.0)
    row |= {"crude_high": np.inf, "adjusted_high": np.inf}
    drawn = trace(figures.ratios(pd.DataFrame([row]), "title", "note"), "alone")
    assert list(drawn.x) == [500.0] and np.isfinite(drawn.error_x.array).all()


def test_nothing_to_compare_is_an_empty_picture(together):
    picture = figures.ratios(view.ratios(together, "shield"), "title", "note")
    assert all(len(t.x) == 0 for t in picture.data)


# --- over time, and cost


def made_trend(worse):
    """400 jobs over four years, a comeback of every tenth, in the last two years of every third where ``worse``."""
    n = np.arange(400)
    back = np.where(n < 200, n % 10 == 0, n % (3 if worse else 10) == 0)
    jobs = pd.DataFrame(
        {
            "km": 50_000.0, "date": pd.Timestamp("2022-01-03") + pd.to_timedelta(n * 3.65, unit="D").floor("D"), "axle": "front",
            "visit_id": [f"J{i:03}" for i in n], "comeback_km": np.where(back, 5_000.0, np.nan), "watched_km": 20_000.0, "entry_km": np.nan,
        }
    )  # fmt: skip
    nothing = pd.DataFrame()
    found = comebacks.Comebacks(pd.Timestamp("2026-01-01"), jobs, nothing, nothing, comebacks.Windows(), 0.0, 0.0, nothing)
    return comebacks.trend(found)


@pytest.mark.parametrize("worse", [True, False])
def test_a_change_is_told_just_where_the_excess_crosses_its_limit(worse):
    trend = made_trend(worse)
    excess = trend.excess.dropna()
    crossed = ((excess["excess"] < excess["low"]) | (excess["excess"] > excess["high"])).any()
    assert crossed == worse == pd.notna(trend.change_date)
    picture = figures.over_time(trend, trend.sentence, view.trend_note(trend))
    assert ("change:" in notes(picture)) == worse
    if worse:  # the truth: job 200, on 2 January 2024
        assert abs(trend.change_date - pd.Timestamp("2024-01-02")) < pd.Timedelta(days=90)
        assert (excess["excess"] < excess["low"]).any(), "a shop that got worse falls below the lower limit"


def test_excess_ends_at_nothing():
    """What is expected of all jobs is what came back of them."""
    trend = made_trend(True)
    np.testing.assert_allclose(trend.months["expected"].sum(), trend.months["comebacks"].sum())
    assert abs(trend.excess["excess"].iloc[-1]) < 2


def test_cost_bars_add_up_to_what_is_recorded(shop, together, pictures):
    made = comebacks.cost(*shop, together)
    bars = trace(pictures["cost"], "months")
    assert made.by_month["returns"].sum() == made.returns
    assert made.by_month["priced"].sum() == made.priced > 0
    np.testing.assert_allclose(sum(bars.y), made.by_month["cost"].sum())
    assert trace(pictures["cost"], "mean").y[0] == pytest.approx(made.cost_a_month[0])
    assert "currency" in pictures["cost"].layout.yaxis.title.text


# --- the rules of the house


def test_no_traffic_light_colours(pictures):
    for name, picture in pictures.items():
        for color in re.findall(r"#[0-9a-fA-F]{6}", str(picture.to_plotly_json())):
            red, green, blue = (int(color[i : i + 2], 16) for i in (1, 3, 5))
            assert blue >= max(red, green) - 4, f"{name}: {color}"


def test_every_axis_says_what_it_is(pictures):
    axes = {"funnel": ("xaxis", "yaxis"), "by_distance": ("xaxis", "yaxis"), "ratios": ("xaxis",), "over_time": ("xaxis", "yaxis", "yaxis2"),
            "cost": ("xaxis", "yaxis")}  # fmt: skip
    for name, its in axes.items():
        for axis in its:
            assert pictures[name].layout[axis].title.text


def test_text_of_the_records_is_no_markup(people):
    table = people.table.assign(level=people.table["level"].replace("Ash", "<b>Ash</b>"))
    made = replace(people, table=table)
    drawn = str(figures.funnel(view.funnel(made), "<i>title</i>", "note", "10,000 km").to_plotly_json())
    assert "<b>Ash" not in drawn and "<i>title" not in drawn and "&lt;b&gt;Ash" in drawn


@pytest.mark.parametrize(("jobs", "said"), [(0.0011, "under 0.01 jobs"), (0.05, "0.05 jobs"), (2.34, "2.3 jobs"), (234.4, "234 jobs"), (1234, "1,234 jobs")])
def test_a_limit_is_said_in_plain_figures(jobs, said):
    assert figures._jobs_apart(jobs) == said
