"""Where a number comes from, and what one more reading does: against sampling, against a refit, and by relations."""

import folders
import numpy as np
import pandas as pd
import pytest

import brakedata
from brakedata import explain, records, rotors, schedule, shared_model, simulate
from brakedata.shown import Shown


@pytest.fixture(scope="module")
def made():
    return simulate.fleet(vehicles=90, years=4.0, seed=301, slip_share=0.0, unrecorded_share=0.0)


@pytest.fixture(scope="module")
def plan(made, tmp_path_factory):
    return schedule.make(brakedata.load(simulate.write(made.tables, tmp_path_factory.mktemp("fleet"))))


@pytest.fixture(scope="module")
def weighed(plan):
    """Weights of the position that leads on each axle."""
    slots = plan.forecast.axles["governing_slot"]
    return pd.DataFrame([explain.weights(plan, int(axle_no), int(slot)) for axle_no, slot in slots.items()], index=slots.index)


def test_weights_come_to_one_and_none_is_negative(weighed):
    assert list(weighed.columns) == list(explain.SOURCES)
    assert weighed.sum(axis=1).to_numpy() == pytest.approx(1.0)
    assert weighed.to_numpy().min() > -1e-9


def test_each_source_weighs_only_where_it_is(plan, weighed):
    readings = plan.model.readings[~plan.model.readings["misfit"]]
    running = plan.lives.lives["end_kind"].eq("running").to_numpy()[readings["life_id"]]
    key = pd.MultiIndex.from_frame(plan.lives.axles[["vehicle_id", "axle"]])
    now, before = (readings[mask].groupby(["vehicle_id", "axle"]).size().reindex(key).fillna(0).to_numpy() for mask in (running, ~running))
    assert (weighed.loc[now == 0, ["own readings", "sister positions"]].abs() < 1e-9).all().all()
    assert (weighed.loc[before == 0, "earlier lives"].abs() < 1e-9).all()
    assert (weighed.loc[before > 4, "earlier lives"] > 0.02).all()
    assert (now == 0).any() and (before == 0).any()


def test_what_stays_with_like_vehicles_is_what_the_estimate_holds_back(made, plan, weighed):
    """Where an axle truly wears otherwise than its like, its estimate goes along by all but the like vehicles' weight.

    Source: the made fleet's true rates: over all axles the slope of (estimate - like) on (1 - weight) (truth - like) is 1.
    """
    positions = plan.model.positions.set_index(["axle_no", "slot"])
    slots = plan.forecast.axles["governing_slot"].astype(int)
    mine = positions.loc[list(zip(slots.index, slots, strict=True))]
    solved = plan.model.solved
    like = np.append(solved.state.beta, 0.0)[solved.design.columns_of_stars[:, :6]].sum(axis=1)
    like = pd.Series(like, index=positions.index).loc[mine.index].to_numpy()
    true = made.positions[made.positions["thickness_mm"].notna()].set_index(["vehicle_id", "axle", "side", "part"])["rate_mm_per_10000km"]
    truth = np.log(true.reindex(pd.MultiIndex.from_frame(mine[["vehicle_id", "axle", "side", "part"]])).to_numpy())
    told = np.isfinite(truth)
    x = ((1 - weighed["like vehicles"].to_numpy()) * (truth - like))[told]
    y = (mine["log_rate"].to_numpy() - like)[told]
    slope = (x * y).sum() / (x * x).sum()
    print(f"slope {slope:.2f} over {told.sum()} axles")
    assert told.sum() > 100
    assert 0.85 <= slope <= 1.15


def test_weights_by_hand():
    """Two readings of equal worth from two sources, worked by hand: each takes 1 / 2 alone, 2 / 3 together, so 1 / 3 each.

    Source: prior variance 1, noise variance 1: one reading takes 1 / (1 + 1), two take 2 / (2 + 1).
    """
    covariance = np.array([[2.0, 1.0], [1.0, 2.0]])
    taken = explain._taken_by_source(covariance, np.ones(2), np.array([0, 2]))
    assert taken == pytest.approx([1 / 3, 0, 1 / 3, 0])


def test_the_covariance_after_a_reading_is_that_of_sampling(plan):
    """Source: 400,000 draws of the state of one axle and of its readings, regressed on one another."""
    model = plan.model
    axle_no = int(plan.forecast.axles["due_late_km"].sub(plan.forecast.axles["due_early_km"]).idxmax())
    mine = model.positions[model.positions["axle_no"].eq(axle_no)]
    most, slots = model.covariance.shape[1] // 2, mine["slot"].to_numpy()
    at = np.append(slots, most + slots)
    rate, gone, step = np.exp(mine["log_rate"].to_numpy()), 1.3, 0.5
    generator = np.random.default_rng(3)
    drawn = generator.multivariate_normal(np.zeros(len(at)), model.covariance[axle_no][np.ix_(at, at)], 400_000)
    wander = generator.normal(size=(len(drawn), 1)) * np.sqrt(explain.WANDER_AHEAD * gone * rate) * model.scales["wander"]
    state = np.column_stack([drawn[:, : len(slots)], drawn[:, len(slots) :] - rate * gone * drawn[:, : len(slots)] - wander])
    noise = generator.normal(0, np.sqrt(step**2 / 12 + model.scales["repeat_mm"] ** 2), (len(drawn), len(slots)))
    read = state[:, len(slots) :] + noise
    rest = state - read @ np.linalg.lstsq(read, state, rcond=None)[0]
    grid = [np.zeros((len(model.covariance), most)) for _ in range(2)]
    there = np.zeros((len(model.covariance), most), dtype=bool)
    there[axle_no, slots] = True
    grid[0][axle_no, slots], grid[1][axle_no, slots] = rate, gone
    after = explain._read_covariance(model, *grid, there, step)[axle_no][np.ix_(at, at)]
    scale = np.sqrt(np.diag(after))
    assert after / np.outer(scale, scale) == pytest.approx(np.cov(rest.T) / np.outer(scale, scale), abs=0.02)


def test_a_reading_narrows_by_what_was_promised(made, plan, tmp_path, monkeypatch):
    """One axle of each vehicle read at the as-of date (true thickness, gauge of the fleet), the model refitted with the same variances:
    the due windows narrow, over all those axles together, by the promised amount give or take 15 %."""
    truth = made.positions[made.positions["thickness_mm"].notna()]
    number = truth["vehicle_id"].str[2:].astype(int)
    truth = truth[truth["axle"].eq(np.where(number % 2, "front", "rear"))]
    km = made.truth.groupby("vehicle_id")["odometer_km"].first()
    truth = truth[truth["vehicle_id"].isin(km.index)]
    vehicles = truth["vehicle_id"].unique()
    visits = pd.DataFrame(
        {"visit_id": "last " + vehicles, "vehicle_id": vehicles, "date": made.as_of, "odometer": km[vehicles].round().to_numpy(), "odometer_unit": "km"}
    )
    generator = np.random.default_rng(4)
    seen = np.round((truth["thickness_mm"] + generator.normal(0, 0.15, len(truth))) / 0.5) * 0.5
    rows = truth[["axle", "side", "part"]].assign(visit_id="last " + truth["vehicle_id"], measure="thickness", value=np.maximum(seen, 0.5), unit="mm")
    tables = {**made.tables, "visits": pd.concat([made.tables["visits"], visits]), "measurements": pd.concat([made.tables["measurements"], rows])}
    monkeypatch.setattr(shared_model, "PRIOR_SCALES", np.array([plan.model.scales[name] for name in shared_model.SCALES]))
    monkeypatch.setattr(shared_model, "_estimate_scales", lambda *args: None)
    again = schedule.make(brakedata.load(simulate.write(tables, tmp_path)), made.as_of)
    promised = explain.one_more_reading(plan).table
    key = ["vehicle_id", "axle"]
    both = promised.merge(again.table, on=key).merge(truth[key].drop_duplicates(), on=key)
    both = both[both["due_odometer_late_km"] > both["odometer_km"]]  # a lining still running
    came = (both["width_km"] - (both["due_odometer_late_km"] - both["due_odometer_early_km"])).sum()
    print(f"promised {both['narrows_km'].mean():,.0f} km, came {came / len(both):,.0f} km of {both['width_km'].mean():,.0f}, {len(both)} axles")
    assert len(both) > 60
    assert both["narrows_km"].sum() > 0.1 * both["width_km"].sum()
    assert came == pytest.approx(both["narrows_km"].sum(), rel=0.15)


def test_ranked_by_what_a_reading_tells(plan):
    more = explain.one_more_reading(plan)
    ranked = explain.measure_next(more)
    assert ranked["narrows_km"].is_monotonic_decreasing
    assert (more.table["narrows_km"].dropna() > -0.03 * more.table["width_km"].dropna()).all()
    here = plan.usage.table["odometer_km"].reindex(plan.lives.axles["vehicle_id"]).to_numpy()
    since = here - plan.model.positions.groupby("axle_no")["ref_km"].first().to_numpy()
    share = more.table["narrows_km"] / more.table["width_km"]
    assert share[since > np.quantile(since, 0.7)].median() > 2 * share[since < np.quantile(since, 0.3)].median()
    few = explain.one_more_reading(plan, [2, 5]).table
    pd.testing.assert_frame_equal(few, more.table.loc[[2, 5]], check_exact=True)


def test_sentences(plan, weighed):
    said = explain.weights_text(weighed.iloc[0])
    assert said.startswith("Weights behind the wear rate: ") and "like vehicles" in said
    row = explain.measure_next(explain.one_more_reading(plan)).iloc[0]
    assert explain.reading_text(row, Shown("mi", "mm")).count(" mi") == 2
    assert explain.reading_text(row.where(row.index != "width_km", np.nan)).startswith("One good odometer")


# --- where the kit holds its own forecast back

GROWN = {
    ("measurements", folders.line_of(visit, r)): f"{visit},front,{side},{part},thickness,{mm},mm,before"
    for visit, mm in (("a4", 12.0), ("a5", 11.0), ("a6", 10.0))
    for r, (_, side, part, _) in enumerate(folders.READINGS[:4])
}


def row_of(plan, vehicle="A", axle="front"):
    return plan.table[plan.table["vehicle_id"].eq(vehicle) & plan.table["axle"].eq(axle)].iloc[0]


def test_an_unanswered_change_holds_the_own_forecast_back(tmp_path):
    """The change answered, its own readings carry the window; not answered, it is like vehicles', from the thickness last read."""
    asked = schedule.make(folders.load(tmp_path / "asked", GROWN))
    folder = folders.write(tmp_path / "said", folders.planted(GROWN))
    records.answer_pad_change(folder, "a4", "front", "both", True)
    said = schedule.make(brakedata.load(folder))
    assert said.lives.proposals["answer"].tolist() == ["yes"]
    held, own = row_of(asked), row_of(said)
    assert held["basis"] == "fleet" and own["basis"] != "fleet"
    assert "R95-own-forecast-held-back" in held["findings"] and "R95" not in own["findings"]
    assert held["thickness_mm"] == pytest.approx(own["thickness_mm"], abs=0.5)
    width = [row["due_odometer_late_km"] - row["due_odometer_early_km"] for row in (held, own)]
    assert width[0] > 1.2 * width[1]
    words = " ".join(schedule.why(asked, "A", "front"))
    assert "Typical of like vehicles" in words and "held back" in words and "answer the proposed change" in words


def test_without_an_odometer_the_typical_window_is_named(tmp_path):
    """No due odometer is made up; the like vehicles' window from new is said beside the reading that settles it."""
    tables = folders.texts()
    tables["visits"] = "\n".join(
        line.replace(",8000,", ",,") if line.startswith("b1") else line for line in tables["visits"].splitlines() if not line.startswith("b") or line.startswith("b1")
    )
    lines = [line for line in tables["measurements"].splitlines() if not line.startswith(("b2", "b3", "b4", "b5", "b6"))]
    vehicles = tables["vehicles"].replace("B,van,urban,2023-01-02,30,km,", "B,van,urban,2023-01-02,,km,")
    log = "\n".join(line for line in tables["odometer_log"].splitlines() if not line.startswith("B,"))
    folder = folders.write(tmp_path, {**tables, "measurements": "\n".join(lines) + "\n", "vehicles": vehicles, "odometer_log": log + "\n"})
    plan = schedule.make(brakedata.load(folder))
    row = row_of(plan, "B")
    assert pd.isna(row["due_odometer_km"]) and "R25-odometer-none" in row["findings"]
    said = schedule.why(plan, "B", "front")
    assert "one good odometer" in said[0] and "Typical of like vehicles" in said[1]


def test_typical_life_is_that_of_like_vehicles(made, plan):
    """Source: the made fleet's true mean rates: half of a class's sets last longer than the middle, give or take chance."""
    front = plan.lives.axles[plan.lives.axles["axle"].eq("front")]
    usable = made.tables["limits"].query("axle == 'front' and part == 'pad'").set_index("applies_to")
    usable = usable["new"] - usable["replace_at"]
    fastest = made.positions[made.positions["axle"].eq("front")].groupby(["vehicle_id", "life"])["rate_mm_per_10000km"].max().reset_index()
    kind = front.set_index("vehicle_id")[["wear_class", "duty"]]
    shares = []
    for (wear_class, duty), some in front.groupby(["wear_class", "duty"]):
        life = schedule.typical_life_km(plan, int(some.index[0]))
        its = fastest[fastest["vehicle_id"].isin(kind.index[(kind["wear_class"] == wear_class) & (kind["duty"] == duty)])]
        km = usable[wear_class] / its["rate_mm_per_10000km"] * 10_000
        shares += [(km.between(life["due_early_km"], life["due_late_km"])).to_numpy()]
    held = np.concatenate(shares).mean()
    print(f"held {held:.2f}")
    assert 0.68 <= held <= 0.95


def test_readings_that_cannot_be_made_out_are_named_on_the_axle(tmp_path):
    lines = {("measurements", folders.line_of(visit, r)): f"{visit},front,{side},{part},thickness,9,furlong,before"
             for visit in folders.VISITS[:6] for r, (_, side, part, _) in enumerate(folders.READINGS[:4])}  # fmt: skip
    row = row_of(schedule.make(folders.load(tmp_path, lines)))
    assert row["basis"] == "fleet"
    assert "R96-readings-unresolved" in row["findings"]


def test_a_rotor_past_its_limit_is_named(tmp_path):
    planted = {("measurements", None): "a6,front,left,rotor,thickness,24.9,mm,before"}
    plan = schedule.make(folders.load(tmp_path / "past", planted))
    assert "R98-rotor-past-limit" in row_of(plan)["findings"] and "R98" not in row_of(plan, "B")["findings"]
    near = schedule.make(folders.load(tmp_path / "near", {("measurements", None): "a6,front,left,rotor,thickness,25.1,mm,before"}))
    assert "R98" not in row_of(near)["findings"]


@pytest.mark.parametrize(("mm", "past"), [(1.2, False), (1.0, True), (0.8, True)])
def test_parking_brake_shoes_are_held_against_the_limit_of_shoes_and_nothing_is_forecast_of_them(tmp_path, mm, past):
    limits = folders.texts()["limits"] + "van,front,shoe,thickness,mm,4,,1,,,sheet 1\n"
    rows = folders.texts()["measurements"] + "".join(
        f"{visit},front,{side},park_brake,thickness,{value},mm,before\n"
        for visit, side, value in (("a5", "left", 2.4), ("a6", "left", mm), ("a6", "right", 3.0))
    )
    plan = schedule.make(folders.load(tmp_path, limits=limits, measurements=rows))
    assert ("R98-rotor-past-limit" in row_of(plan)["findings"]) == past
    named = plan.findings[plan.findings["code"].eq("R98-rotor-past-limit")]
    assert len(named) == past and named["column"].eq("front parking-brake shoe").all()
    said = rotors.parking_sentences(plan, "A", "front")
    assert len(said) == 1 + past and f"left {mm:.1f} mm on" in said[-1] and "2 readings" in said[-1] and "discard_at 1.0 mm" in said[-1]
    assert "right 3.0 mm" in said[-1] and "nothing is forecast" in said[-1]
    assert "inspect now" in said[0] or not past
    assert rotors.parking_sentences(plan, "B", "front") == []


def test_a_newer_reading_of_thicker_parking_brake_shoes_clears_the_old_one_and_without_a_limit_it_is_said(tmp_path):
    rows = folders.texts()["measurements"] + "".join(
        f"{visit},front,left,park_brake,thickness,{mm},mm,before\n" for visit, mm in (("a4", 0.6), ("a6", 3.9))
    )
    limits = folders.texts()["limits"]
    plan = schedule.make(folders.load(tmp_path / "a", limits=limits + "van,front,shoe,thickness,mm,4,,1,,,sheet 1\n", measurements=rows))
    assert "R98" not in row_of(plan)["findings"] and "left 3.9 mm" in rotors.parking_sentences(plan, "A", "front")[0]
    plan = schedule.make(folders.load(tmp_path / "b", measurements=rows))
    assert "R98" not in row_of(plan)["findings"] and "no discard_at for shoes" in rotors.parking_sentences(plan, "A", "front")[0]
