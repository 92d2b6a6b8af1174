"""What moves wear: known effects of made fleets are found, none is made up, and like is compared with like.

Truth: made fleets whose product lines wear at rates told beforehand (`made_lines`).
"""

import made_lines
import numpy as np
import pandas as pd
import pytest

from brakedata import effects, figures_pad_life
from brakedata.views import effects as view

FASTER = np.log(1.15)
SEEDS = range(8)


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    """Eight fleets of 40 vehicles in which line K wears 15 % faster than L and M: the lines' rows, with the truth."""
    rows = []
    for seed in SEEDS:
        made = made_lines.fleet(40, seed, [FASTER, 0.0, 0.0], slip_share=0.0)
        table = effects.find(made_lines.model(made, tmp_path_factory.mktemp("lines"))).table
        rows.append(table.assign(seed=seed))
    table = pd.concat(rows, ignore_index=True)
    truth = {"line K": FASTER, "line L": -FASTER / 2, "line M": -FASTER / 2}
    return table.assign(truth=table["level"].map(truth), estimate=np.log(table["ratio"]))


def test_known_effects_are_found_without_bias_and_limits_hold(found):
    lines = found[found["factor"].eq("product_line") & found["ratio"].notna()]
    assert len(lines) == 3 * len(SEEDS)
    off = lines["estimate"] - lines["truth"]
    for _, one in off.groupby(lines["level"]):
        assert abs(one.mean()) <= 3 * one.std() / np.sqrt(len(one))
    held = (np.log(lines["low"]) <= lines["truth"]) & (lines["truth"] <= np.log(lines["high"]))
    assert held.sum() >= 20, "24 intervals of 95 %: under 20 would be one chance in two hundred"
    width = (np.log(lines["high"]) - np.log(lines["low"])) / 2
    assert (width < 0.2).all(), "wide limits hold for nothing"


def test_duty_is_found_as_it_was_made(found):
    """Urban wears 1.35, mixed 1.0, highway 0.65 times as fast (`simulate.DUTIES`); against the others, about 40, 40, 20 in a hundred."""
    duty = found[found["factor"].eq("duty") & found["ratio"].notna()]
    others = {"urban": (1.0 * 0.4 + 0.65 * 0.2) / 0.6, "highway": (1.35 * 0.4 + 1.0 * 0.4) / 0.8}
    for level, made in (("urban", 1.35), ("highway", 0.65)):
        ratio = duty.loc[duty["level"].eq(level), "ratio"]
        assert abs(np.log(ratio).mean() - np.log(made / others[level])) <= 0.12
        assert (duty.loc[duty["level"].eq(level), "q_value"] <= 0.05).mean() >= 0.75


def mostly_urban(rng, world):
    """Line K on urban vehicles and seldom elsewhere."""
    urban = np.repeat((world.duty == "urban")[:, None], 2, axis=1)
    return np.where(rng.random(urban.shape) < np.where(urban, 0.85, 0.15), 0, 1)


def test_a_line_fitted_to_hard_driven_vehicles_is_not_blamed_for_them(tmp_path):
    """Lines K and L wear alike, K is fitted to urban vehicles: it looks faster by far, and is not among like vehicles."""
    model = made_lines.model(made_lines.fleet(60, 3, [0.0, 0.0], choose=mostly_urban, slip_share=0.0), tmp_path)
    told = effects.find(model)
    [row] = told.table[told.table["factor"].eq("product_line")].itertuples()
    slopes = model.readings.groupby(["product_line", "axle_life_id", "part", "side"])[["odometer_since", "value_mm"]].agg(np.ptp)
    slopes = slopes[slopes["odometer_since"] > 1.0]
    raw = (slopes["value_mm"] / slopes["odometer_since"]).groupby("product_line").median()
    assert raw["line K"] / raw["line L"] > 1.1, "negative control: without like for like K looks faster"
    assert row.low < 1 < row.high and row.q_value > 0.05
    assert row.finding == "R92-not-alike" and row.unlike == "urban" and row.share > 0.6 > 0.4 > row.share_rest
    assert "Not alike: urban" in view.sentence(row)
    assert "R92-not-alike" in set(told.findings["code"])


def test_without_like_vehicles_nothing_is_compared(tmp_path):
    def apart(rng, world):
        return np.repeat((world.duty != "urban")[:, None], 2, axis=1).astype(int)

    told = effects.find(made_lines.model(made_lines.fleet(40, 4, [0.3, 0.0], choose=apart, slip_share=0.0), tmp_path))
    [row] = told.table[told.table["factor"].eq("product_line")].itertuples()
    assert row.finding == "R93-nothing-alike" and np.isnan(row.ratio) and np.isnan(row.q_value)
    assert "nothing can be compared" in view.sentence(row)
    assert told.findings["code"].eq("R93-nothing-alike").sum() == 1


def test_a_fleet_of_three_vehicles_says_too_few(tmp_path):
    told = effects.find(made_lines.model(made_lines.fleet(3, 1, [0.5, 0.0], slip_share=0.0), tmp_path))
    assert told.table["ratio"].isna().all()
    assert all("too few to say" in text or "nothing can be compared" in text for text in view.sentences(told.table))
    for factor in effects.FACTORS:
        rows = view.rows_of(told, factor)
        assert "few" in view.headline(rows, factor) or "No two levels" in view.headline(rows, factor)
        assert [len(trace["x"]) for trace in figures_pad_life.effects_spec(rows, factor)["data"]] == [0, 0]


# --- words (worked by hand)

ROW = {"factor": "product_line", "level": "line <K>", "ratio": 1.14, "low": 1.08, "high": 1.21, "q_value": 0.001, "sets": 34, "vehicles": 21,
       "sets_rest": 80, "vehicles_rest": 30, "sets_all": 34, "strata": 5, "unlike": "", "share": np.nan, "share_rest": np.nan, "finding": ""}  # fmt: skip


def row_of(**more):
    return next(pd.DataFrame([ROW | more]).itertuples())


def test_an_effect_in_words():
    assert view.sentence(row_of()) == (
        "Linings of line <K> wear 14 % faster (8 to 21 % faster, 95 % limits) than those of other lines on like vehicles: "
        "34 sets on 21 vehicles against 80 sets on 30."
    )
    within = view.sentence(row_of(low=0.96, high=1.09, ratio=1.02, q_value=0.4))
    assert "no difference beyond chance" in within and "4 % slower to 9 % faster" in within and "2 % faster" not in within
    assert view.between_text(0.79, 0.92) == "8 to 21 % slower"


def test_names_from_the_records_are_text_in_the_picture():
    spec = figures_pad_life.effects_spec(pd.DataFrame([ROW]), "product_line")
    assert "line &lt;K&gt;" in spec["layout"]["yaxis"]["ticktext"][0]
    assert "&lt;K&gt;" in spec["data"][0]["text"][0] and "<K>" not in spec["data"][0]["text"][0]
    assert spec["data"][0]["error_x"]["array"] == pytest.approx([0.07])
    assert "%" in spec["layout"]["xaxis"]["title"]["text"]
