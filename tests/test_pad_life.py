"""How long linings last: published survival values, sets cut by hand, and made fleets with known lives.

Published: 98 brake pads with delayed entry (Kalbfleisch and Lawless 1992; no printed estimate found: each number agreed by two or more
independent libraries), shock absorbers (O'Connor 1985; Meeker and Escobar 1998, printed), GaAs lasers (Meeker and Escobar 1998; value
from memory, recomputed).
"""

import folders
import numpy as np
import pandas as pd
import pytest
from public_data import reference
from test_track_record import crossings_of

import brakedata
from brakedata import checks, figures_pad_life, lives, pad_life, simulate, survival, usage
from brakedata.shown import Shown
from brakedata.views import pad_life as view

# --- published


@pytest.fixture(scope="module")
def pads():
    table = pd.read_csv(reference("brake_pads.csv"))
    return table["t_1000km"].to_numpy(), np.ones(len(table), dtype=bool), table["u_1000km"].to_numpy()


def test_brake_pads_with_delayed_entry(pads):
    told = survival.estimate(*pads)
    at = [30, 40, 50, 60, 70, 80, 100, 120]
    share = [.9271232877, .8391472513, .6754764946, .5281681185, .3745192113, .2592825309, .1248397371, .0480152835]  # fmt: skip
    assert told.at(at) == pytest.approx(share, abs=1e-9)
    assert told.quantile(0.5) == pytest.approx((61.904, 54.039, 68.934), abs=1e-9)
    assert [told.quantile(p)[0] for p in (0.1, 0.25, 0.75, 0.9)] == pytest.approx([33.598, 45.228, 81.609, 101.869], abs=1e-9)
    place = np.searchsorted(told.km, [40, 60, 80], side="right") - 1
    assert told.se[place] == pytest.approx([0.0440660, 0.0521654, 0.0438564], abs=6e-8)


@pytest.mark.parametrize(
    ("name", "location", "scale", "error", "log_likelihood", "median"),
    [("weibull", 4.276598, 0.423696, 0.05081, -451.466704, 61.640), ("lognormal", 4.109304, 0.421395, 0.04539, -452.244151, 60.904)],
)
def test_brake_pads_laws(pads, name, location, scale, error, log_likelihood, median):
    law = survival.fit(name, *pads)
    assert (law.location, law.scale, law.log_likelihood) == pytest.approx((location, scale, log_likelihood), rel=2e-5)
    assert np.sqrt(law.covariance[0, 0]) == pytest.approx(error, rel=2e-4)
    assert law.quantile(0.5)[0] == pytest.approx(median, rel=2e-5)
    assert law.share([median]) == pytest.approx([0.5], abs=1e-4)


def test_brake_pads_go_wrong_where_entry_is_left_out(pads):
    """Negative control: the wrong answers, as published libraries give them too, and far from the right ones."""
    life, ended, _ = pads
    assert survival.estimate(life, ended).quantile(0.5)[0] == pytest.approx(65.053, abs=1e-9)
    weibull, lognormal = (survival.fit(name, life, ended) for name in survival.SCALES)
    assert (np.exp(weibull.location), 1 / weibull.scale) == pytest.approx((76.211, 2.683), rel=2e-4)
    assert (lognormal.location, lognormal.scale) == pytest.approx((4.13769, 0.40441), rel=2e-5)
    assert survival.fit("weibull", *pads).quantile(0.5)[0] < 0.95 * weibull.quantile(0.5)[0]


def test_shock_absorbers_with_lives_still_running():
    table = pd.read_csv(reference("shock_absorbers.csv"))
    given = table["miles"].to_numpy(), table["event"].eq("Failure").to_numpy()
    weibull, lognormal = (survival.fit(name, *given) for name in survival.SCALES)
    assert (np.exp(weibull.location), 1 / weibull.scale) == pytest.approx((27718.718, 3.16047), rel=2e-5)
    assert weibull.quantile(1 - np.exp(-1)) == pytest.approx((27718.72, 22347.77, 34380.49), rel=2e-6)
    assert np.exp(weibull.location) * np.sqrt(weibull.covariance[0, 0]) == pytest.approx(3046.023, rel=2e-5)
    assert (lognormal.location, lognormal.scale) == pytest.approx((10.144771, 0.530068), rel=2e-5)


LASER_HOURS = [3702, 4194, 5847, 6172, 5301, 3592, 6051, 6538, 5110, 3306, 5326, 4995, 4721, 5689, 6102]


def test_laser_lines_meet_their_limit_as_printed():
    """Percent increase to 10 %, here counted down; an intercept of its own for each unit."""
    table = pd.read_csv(reference("gaas_laser.csv"))
    points = pd.DataFrame({"unit": table["unit"], "km": table["hours"], "value_mm": -table["increase"], "replace_at_mm": -10.0})
    told = pad_life.meets(points, ["unit"])
    assert told.to_numpy() == pytest.approx(LASER_HOURS, abs=0.6)
    weibull, lognormal = (survival.fit(name, told, np.ones(15, dtype=bool)) for name in survival.SCALES)
    assert (np.exp(weibull.location), 1 / weibull.scale, weibull.log_likelihood) == pytest.approx((5507.60, 6.4071, -124.0881), rel=2e-5)
    assert (lognormal.location, lognormal.scale, lognormal.log_likelihood) == pytest.approx((8.51845, 0.20756, -125.4757), rel=3e-5)


# --- limits that allow for lives of one vehicle being alike (relations, and one by hand)


def test_each_life_its_own_unit_gives_greenwoods_errors(pads):
    """Without censoring the infinitesimal jackknife is the binomial variance, as Greenwood's is; n / (n - 1) for small n."""
    life, ended, _ = pads
    plain, by_unit = survival.estimate(life, ended), survival.estimate(life, ended, unit=np.arange(98))
    assert by_unit.se == pytest.approx(plain.se * np.sqrt(98 / 97), abs=1e-12)


def test_a_life_written_down_twice_says_no_more(pads):
    life, ended, entry = pads
    once = survival.estimate(life, ended, entry, np.arange(98))
    twice = survival.estimate(*(np.repeat(values, 2) for values in (life, ended, entry)), np.repeat(np.arange(98), 2))
    assert twice.se == pytest.approx(once.se, abs=1e-12)
    assert twice.share == pytest.approx(once.share, abs=1e-12)
    alone = survival.estimate(*(np.repeat(values, 2) for values in (life, ended, entry)))
    assert alone.se[:-1] == pytest.approx(once.se[:-1] / np.sqrt(2), rel=0.02), "negative control: as if they were twice as many"


def test_the_traps_of_a_short_file():
    """Lognormal lives of 60,000 km (drawn), records of 60,000 km: finished lives alone are short ones, those seen from mid-life long ones."""
    rng = np.random.default_rng(6)
    life, fitted = 60_000 * np.exp(rng.normal(0, 0.4, 20_000)), rng.uniform(-80_000, 60_000, 20_000)
    seen = fitted + life > 0
    life, fitted = life[seen], fitted[seen]
    entry, end, ended = np.maximum(-fitted, 0.0), np.minimum(life, 60_000 - fitted), fitted + life <= 60_000
    assert survival.estimate(end, ended, entry).quantile(0.5)[0] == pytest.approx(60_000, rel=0.02)
    law = survival.fit("lognormal", end, ended, entry)
    assert (law.location, law.scale) == pytest.approx((np.log(60_000), 0.4), rel=0.02)
    assert survival.estimate(end, ended).quantile(0.5)[0] > 1.05 * 60_000, "negative control: entry left out"
    new = fitted >= 0
    assert np.median(end[new & ended]) < 0.75 * 60_000, "negative control: finished lives alone"


def test_a_curve_by_hand():
    """Lives 4, 6+, 8 and 10 entering at 0, 0, 5 and 0: at 4 one of 3 ends, at 8 one of 2, at 10 the last."""
    told = survival.estimate([4.0, 6.0, 8.0, 10.0], [True, False, True, True], [0.0, 0.0, 5.0, 0.0])
    assert told.km.tolist() == [4, 8, 10]
    assert told.share == pytest.approx([2 / 3, 1 / 3, 0.0])
    assert told.se[:2] ** 2 == pytest.approx([(2 / 3) ** 2 * (1 / 6), (1 / 3) ** 2 * (1 / 6 + 1 / 2)])
    assert told.quantile(0.5)[0] == 8 and told.quantile(2 / 3)[0] == 9, "the middle of the step where the share is just that"
    assert survival.estimate([4.0, 6.0], [True, False]).quantile(0.9)[0] == np.inf
    assert np.isnan(survival.estimate([4.0, 6.0], [True, False]).at([7.0])[0])


def test_nothing_to_fit_is_no_law():
    assert survival.fit("weibull", [5.0, 7.0], [True, False]) is None
    assert survival.fit("lognormal", [5.0, 5.0], [True, True]) is None
    assert len(survival.estimate([], []).km) == 0


# --- sets of a small folder, by hand


def sets_of(folder, lines):
    records = folders.load(folder, lines)
    cut = lives.cut(records)
    return pad_life.find(records, cut, usage.fit(records, cut.as_of))


JOB = "a3,front,both,pads,replaced,line K,100,"


def test_a_set_is_watched_from_fitting_to_replacement_and_to_the_as_of_date(tmp_path):
    """A joined at 20 km, its front pads were replaced at 24,000 km; the last odometer of all, 49,000 km, is in the log."""
    found = sets_of(tmp_path, {("work", None): JOB})
    front = found.sets[found.sets["vehicle_id"].eq("A") & found.sets["axle"].eq("front")]
    first, second = front.itertuples()
    assert (first.entry_km, first.end_km, first.ended, first.start_kind, first.product_line) == (0, 23980, True, "new_vehicle", "")
    assert (second.entry_km, second.end_km, second.ended, second.product_line) == (0, 25000, False, "line K")
    assert found.left_out == 0 and found.unrecorded == 0


def test_a_vehicle_first_seen_long_after_it_joined_enters_there(tmp_path):
    """B joined new in 2020 at 30 km and was first seen in 2023 at 8,000 km: what was replaced before nobody knows."""
    late = {("vehicles", 3): "B,van,urban,2020-01-02,30,km,", ("odometer_log", 5): None, ("odometer_log", 6): None}
    entry = sets_of(tmp_path, late).sets.set_index(["vehicle_id", "axle"])["entry_km"]
    assert entry["A", "front"] == 0
    assert entry["B", "front"] == entry["B", "rear"] == 8000 - 30


def test_first_linings_of_a_vehicle_that_joined_used_are_left_out(tmp_path):
    found = sets_of(tmp_path, {("vehicles", 3): "B,van,urban,2023-01-02,3000,km,", ("work", None): JOB.replace("a3", "b3")})
    assert found.left_out == 2
    [front] = found.sets[found.sets["vehicle_id"].eq("B")].itertuples()
    assert front.axle == "front" and front.product_line == "line K" and front.start_kind == "job"


def test_life_to_the_point_by_hand(tmp_path):
    """Front pads lose 1 mm of 12 each 8,000 km from new: 3 mm would be met 72,000 km after fitting at 0 km. They were read over 48,000
    km, so the line is drawn on to 96,000 at most; rear pads, 0.5 mm of 11 each 8,000 km, meet it at 128,000 and count as beyond 96,000."""
    sets = sets_of(tmp_path, {}).sets.set_index(["vehicle_id", "axle"])
    front, rear = sets.loc[("A", "front")], sets.loc[("A", "rear")]
    assert front["met"] and front["point_km"] == pytest.approx(72_000, rel=2e-3)
    assert not rear["met"] and rear["point_km"] == pytest.approx(2 * (48_000 - 20))


def test_too_few_are_said_to_be_too_few(tmp_path):
    found = sets_of(tmp_path, {("work", None): JOB})
    groups = {life: pad_life.group(found.sets, life) for life in pad_life.LIVES}
    assert groups["replaced"].curve is None
    assert pad_life.table(found)["middle_km"].isna().all()
    assert "too few to say" in " ".join(view.sentences(groups, "front pads", found, Shown()))
    assert "too few to say" in view.cells(pad_life.table(found), Shown())["half by [km]"].tolist()
    spec = figures_pad_life.curve_spec(groups, "front <b>pads", Shown())
    assert [len(trace["x"]) for trace in spec["data"]] == [0, 0, 0, 0]
    assert "too few to say" in spec["layout"]["title"]["text"] and "<b>pads" not in spec["layout"]["title"]["text"].replace("<b>Front", "")


def test_all_that_were_watched_early_ended_and_others_came_later():
    """The curve would be zero from 10,000 km on though eleven sets ran farther: nothing is said."""
    end = np.r_[10_000.0, np.arange(11) * 1_000.0 + 60_000.0]
    sets = pd.DataFrame({"vehicle_id": [f"V{n}" for n in range(12)], "end_km": end, "ended": True, "entry_km": np.r_[0.0, np.full(11, 50_000.0)]})
    assert pad_life.group(sets).curve is None
    assert pad_life.group(sets.iloc[1:]).curve is not None


# --- made fleets


VAN = simulate.WearClass("van", 1.0, simulate.Brake(1.5), simulate.Brake(1.0, new_mm=11.0), 80.0)


@pytest.fixture(scope="module")
def long_run(tmp_path_factory):
    """A fleet followed for twelve years, the records as they stood after four, and the truth of every set fitted until then."""
    world = simulate.draw_world(90, 12.0, 8, classes=(VAN,), end_date="2032-06-30", joined_new_share=0.8, retired_share=0.0)
    made = simulate.walk(world, slip_share=0.0, unrecorded_share=0.02)
    records = brakedata.load(simulate.write(made.tables, tmp_path_factory.mktemp("long")))
    as_of = pd.Timestamp("2024-06-30")
    known = checks.until(records, as_of)
    cut = lives.cut(known, as_of)
    truth = made.lives.assign(crossing_km=crossings_of(world, made.lives, made.positions))
    odometer = pd.Series(simulate.Odometers(world).at(np.full(90, world.days - 2922.0)), index=world.vehicle_id)
    truth = truth[(truth["start_odometer_km"] < truth["vehicle_id"].map(odometer)) & truth["start_known"]]
    return pad_life.find(known, cut, usage.fit(known, as_of)), truth


@pytest.mark.parametrize("axle", ["front", "rear"])
def test_the_half_is_that_of_all_sets_followed_to_their_end(long_run, axle):
    found, truth = long_run
    truth = truth[truth["axle"].eq(axle)]
    assert truth["end_odometer_km"].notna().mean() > 0.97
    sets = found.sets[found.sets["axle"].eq(axle)]
    for life, end, most in (("replaced", "end_odometer_km", 0.12), ("replace_at", "crossing_km", 0.06)):
        true = (truth[end] - truth["start_odometer_km"]).fillna(np.inf).median()
        middle, low, high = pad_life.group(sets, life).curve.quantile(0.5)
        assert abs(middle / true - 1) <= most
        assert low <= true <= high


def test_rows_in_another_order_give_the_same_table(tmp_path):
    made = simulate.fleet(20, 4.0, 2)
    one = brakedata.load(simulate.write(made.tables, tmp_path / "one"))
    mixed = {name: table.sample(frac=1, random_state=3) for name, table in made.tables.items()}
    other = brakedata.load(simulate.write(mixed, tmp_path / "other"))
    tables = [pad_life.table(pad_life.find(records, lives.cut(records), usage.fit(records, records.newest_date))) for records in (one, other)]
    pd.testing.assert_frame_equal(*tables)
    assert tables[0]["sets"].sum() > 40


# --- pictures and the panel


def test_the_picture_holds_the_curve_its_limits_and_the_numbers_at_risk(long_run):
    found, _ = long_run
    groups = {life: pad_life.group(found.sets[found.sets["axle"].eq("front")], life) for life in pad_life.LIVES}
    told = groups["replaced"].curve
    front = found.sets[found.sets["axle"].eq("front")]
    from_new = int((front["entry_km"].eq(0) & (front["end_km"] > 0)).sum())
    for shown, factor in ((Shown(), 1.0), (Shown("mi"), 1.609344)):
        spec = figures_pad_life.curve_spec(groups, "front pads", shown)
        by = {trace["meta"]: trace for trace in spec["data"]}
        x, y = np.array(by["to replacement"]["x"]) * factor, np.array(by["to replacement"]["y"])
        middle = told.quantile(0.5)[0]
        assert y[x < middle - 1].min() > 0.5 >= y[x > middle + 1].max()
        assert max(by["limits"]["y"]) <= 1 and min(by["limits"]["y"]) >= 0
        assert spec["layout"]["xaxis"]["ticktext"][0].endswith(f">{from_new}</span>")
        assert f"[{shown.distance}]" in spec["layout"]["xaxis"]["title"]["text"]


def test_the_panel_follows_its_controls(tmp_path):
    import shutil

    from brakedata import places
    from brakedata.panels import PadLifePanel

    shutil.copytree(places.demo_records(), tmp_path / "demo")
    panel = PadLifePanel(tmp_path / "demo")
    panel.load()
    assert panel.fault is None and panel.strip.value == ""
    first = panel.answer()
    assert "half by" in first and "95 % limits" in first and "sets on" in first
    panel.factor.value = "duty"
    assert "urban duty wear" in panel.answer() and "urban duty" in panel.forest.widget.layout.yaxis.ticktext
    panel.line.value = "line K"
    assert "too few to say" in panel.said.value
    panel.line.value, panel.wear_class.value, panel.distance.value = "all", "all", "mi"
    assert " mi" in panel.said.value and " km" not in panel.said.value
    panel.by.value = next(reversed(panel.by.options))
    panel.life.value = "replace_at"
    assert "line K" in panel.table.value and "replace point" in panel.table.value
    panel.use_button.click()
    assert "says too little" in panel.strip.value and not (tmp_path / "demo" / "records.toml").exists()
    assert panel.fault is None
