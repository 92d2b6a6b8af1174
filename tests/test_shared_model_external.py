"""The shared model's algebra against computations that share no line with it.

The model is written out a second time below, straight from its formula, as one long vector of unknowns with a diagonal prior:
fleet effects, vehicle, axle, position, life, start, and the increments of each life's wander. Plain dense numpy does the rest.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import scipy.optimize
import statsmodels.regression.tests
from public_data import reference

import brakedata
from brakedata import lives, shared_model, simulate, usage

KM = 10_000.0
SCALES = ["vehicle", "axle", "position", "life", "start_mm", "wander", "repeat_mm"]
RATES = {("pad", "front"): 0.93, ("pad", "rear"): 0.62, ("shoe", "front"): 0.5, ("shoe", "rear"): 0.3}
PRIOR_SD = {"kind": 0.7, "class": 0.4, "duty": 0.3, "cell": 0.15, "part": 0.12, "new": 0.1}
FLEET = tuple(PRIOR_SD)
EFFECTS = ("vehicle", "axle", "position", "life")


# ------------------------------------------------------------------------------------------------- made fleets, fitted


def fit(folder, passes=None):
    """The shared model of a records folder and what it was fitted to; ``passes`` more let the linearisation settle fully."""
    records = brakedata.load(folder)
    cut = lives.cut(records)
    last_km = usage.fit(records, cut.as_of).table["last_km"]
    with pytest.MonkeyPatch.context() as patch:
        if passes:
            patch.setattr(shared_model, "FINAL_PASSES", passes)
        model = shared_model.fit(cut, records.limits, last_km)
    return model, cut, last_km


MADE = {
    "recorded": dict(seed=11, unrecorded_share=0.2, joined_new_share=1.0),
    "unknown starts": dict(seed=12, unrecorded_share=0.2, joined_new_share=0.3, gauge_step_mm=1.0),
}


@pytest.fixture(scope="module", params=MADE)
def small(request, tmp_path_factory):
    """A small made fleet: recorded, jumped and unknown starts, discs and drums, several lives, missing cells."""
    made = simulate.fleet(vehicles=7, years=3.0, slip_share=0.0, retired_share=0.0, **MADE[request.param])
    folder = simulate.write(made.tables, tmp_path_factory.mktemp("small"))
    model, cut, last_km = fit(folder, passes=15)
    assert not model.readings["misfit"].any(), "choose a seed without misfits: the formula has none"
    kinds = set(cut.lives.loc[model.readings["life_id"], "start_kind"])
    assert {"job", "jump"} <= kinds
    assert ("unknown" in kinds) == (request.param == "unknown starts")
    return model, cut, last_km


# --------------------------------------------------------------------------------------- the model, written out once more


def facts(model, cut, last_km, asked):
    """Readings, then the positions asked about, as plain rows: where each life began, how sure that is, how far it ran."""
    first = model.readings.groupby("axle_life_id")["odometer_km"].min()
    about = ["vehicle_id", "axle", "side", "part", "life_id", "axle_life_id", "new_mm", "replace_at_mm"]
    rows = pd.concat(
        [
            model.readings[about].assign(km=model.readings["odometer_km"]),
            asked[about].assign(km=asked["ref_km"]),
        ],
        ignore_index=True,
    )
    rows = rows.merge(cut.axles.drop_duplicates("vehicle_id")[["vehicle_id", "wear_class", "duty"]], on="vehicle_id")
    life = cut.lives.loc[rows["life_id"]].reset_index(drop=True)
    rows["known"] = life["start_km"].notna()
    start = life["start_km"].fillna(rows["axle_life_id"].map(first)).fillna(rows["vehicle_id"].map(last_km))
    rows["distance"] = np.maximum(rows["km"] - start, 0) / KM
    rows["gap"] = ((life["start_high_km"] - life["start_low_km"]) / KM).where(rows["known"], 0.0)
    rows["lining"] = np.where(rows["part"].str.contains("shoe"), "shoe", "pad")
    return rows


def fleet_columns(row):
    """The fleet effects whose sum is a row's mean log rate."""
    cell = (row.wear_class, row.axle, row.lining)
    kind = ("kind", row.lining, row.axle)
    return [kind, ("class", *cell), ("duty", row.duty), ("cell", *cell, row.duty), ("part", row.part)]


def own_columns(row):
    """Vehicle, axle in vehicle, position on that axle, life of the axle."""
    place = (row.vehicle_id, row.axle)
    return [
        ("vehicle", row.vehicle_id),
        ("axle", *place),
        ("position", *place, row.side, row.part),
        ("life", row.axle_life_id),
    ]


class WrittenOut:
    """thickness = level - wear * (log rate) + start - wander, all unknowns in one vector with a diagonal prior.

    Readings come first, then the rows asked about. ``m`` and ``v`` say about which normal log rate each row is linearised:
    wear = distance * exp(m + v / 2), level = new - wear * (1 - m).
    """

    def __init__(self, rows, scales, m, v):
        self.rows, self.scales = rows, scales
        self.wear = rows["distance"].to_numpy() * np.exp(m + v / 2)
        self.rate = np.exp(m + v / 2)
        self.pull = self.wear * v
        self.root_rate = np.exp(m / 2)
        new = rows["new_mm"].to_numpy()
        middle = (new + rows["replace_at_mm"].to_numpy()) / 2
        self.level = np.where(rows["known"], new, middle) - self.wear * (1 - m)
        self.names, self.mean, self.variance = {}, [], []
        self.thickness = self._matrix(self._thickness_entries)
        self.log_rate = self._matrix(lambda i, row: {self._column(c): 1.0 for c in fleet_columns(row) + own_columns(row)})
        self.mean, self.variance = np.array(self.mean), np.array(self.variance)
        self.thickness, self.log_rate = (
            np.pad(h, ((0, 0), (0, len(self.mean) - h.shape[1]))) for h in (self.thickness, self.log_rate)
        )

    def _column(self, name, variance=None):
        if name not in self.names:
            self.names[name] = len(self.mean)
            kind = name[0]
            sd = PRIOR_SD[kind] if kind in FLEET else self.scales.get(kind)
            self.mean.append(np.log(RATES[name[1:]]) if kind == "kind" else 0.0)
            self.variance.append(sd**2 if variance is None else variance)
        return self.names[name]

    def _thickness_entries(self, i, row):
        entry = {self._column(name): -self.wear[i] for name in fleet_columns(row) + own_columns(row)}
        life_part = (row.life_id, row.part)
        entry[self._column(("start_mm", *life_part))] = 1.0
        if row.known:
            entry[self._column(("new", row.wear_class, row.axle, row.lining))] = 1.0
            entry[self._column(("when fitted", row.axle_life_id), 1 / 12)] = row.gap * self.rate[i]
        else:
            common = (0.6 * (row.new_mm - row.replace_at_mm)) ** 2
            entry[self._column(("worn before", row.axle_life_id), common)] = 1.0
            entry[self._column(("worn before", *life_part), 1.0)] = 1.0
        same_life = (self.rows["axle_life_id"] == row.axle_life_id).to_numpy()
        ticks = np.unique(np.append(0.0, self.rows["distance"][same_life]))
        for before, tick in zip(ticks[:-1], ticks[1:], strict=True):
            column = self._column(("wander step", row.axle_life_id, tick), self.scales["wander"] ** 2 * (tick - before))
            if tick <= row.distance:
                entry[column] = -self.root_rate[i]
        return entry

    def _matrix(self, entries):
        lines = [entries(i, row) for i, row in enumerate(self.rows.itertuples())]
        h = np.zeros((len(lines), len(self.mean)))
        for i, line in enumerate(lines):
            h[i, list(line)] = list(line.values())
        return h

    def is_kind(self, *kinds):
        return np.array([name[0] in kinds for name in self.names])

    def condition(self, value, noise, free):
        """Mean and covariance of the ``free`` unknowns given readings, the others held at their mean; textbook formulas."""
        n = len(value)
        h = self.thickness[:n][:, free]
        prior = self.variance[free]
        total = (h * prior) @ h.T + np.diag(noise)
        gain = np.linalg.solve(total, h * prior).T
        miss = value - self.level[:n] - self.thickness[:n] @ self.mean
        cost = np.linalg.slogdet(total)[1] + miss @ np.linalg.solve(total, miss)
        mean = self.mean.copy()
        mean[free] += gain @ miss
        return mean, np.diag(prior) - gain @ (h * prior), cost


def solve_densely(model, cut, last_km, asked):
    """Log rates and thicknesses of the rows asked about: means (m,), (m,) and joint covariance (2m, 2m).

    The rows asked about are linearised where the readings alone put them: mean from a first solution, spread of the vehicle's
    own effects with the fleet's held fixed.
    """
    state = model.solved.state
    rows = facts(model, cut, last_km, asked)
    n = len(model.readings)
    value = model.readings["value_mm"].to_numpy()
    noise = model.readings["step_mm"].to_numpy() ** 2 / 12 + model.scales["repeat_mm"] ** 2
    m, v = np.append(state.log_rate, np.zeros(len(asked))), np.append(state.spread, np.zeros(len(asked)))
    for _ in range(2):
        written = WrittenOut(rows, model.scales, m, v)
        everything, own = np.ones(len(written.mean), dtype=bool), ~written.is_kind(*FLEET)
        mean, covariance, _ = written.condition(value + written.pull[:n], noise, everything)
        _, within, _ = written.condition(value, noise, own)
        h = written.log_rate[n:]
        m[n:] = h @ mean
        v[n:] = np.einsum("ij,jk,ik->i", h[:, own], within, h[:, own])
    rates = written.is_kind(*FLEET, *EFFECTS)
    held = mean.copy()
    held[~rates] = 0.0
    written.mean = held
    mean, _, _ = written.condition(value, noise, ~rates)
    both = np.vstack([h, written.thickness[n:]])
    return h @ mean, written.level[n:] + written.thickness[n:] @ mean, both @ covariance @ both.T


def test_every_position_against_dense_algebra(small):
    """Source: the formula of the model, written out with explicit unknowns; agrees to rounding (no printed number)."""
    model, cut, last_km = small
    log_rate, thickness, covariance = solve_densely(model, cut, last_km, model.positions)
    assert model.positions["log_rate"].to_numpy() == pytest.approx(log_rate, abs=1e-6)
    assert model.positions["thickness_mm"].to_numpy() == pytest.approx(thickness, abs=1e-6)
    most, count = model.covariance.shape[1] // 2, len(model.positions)
    for axle_no, slots in model.positions.groupby("axle_no")["slot"]:
        at = np.concatenate([slots.index, count + slots.index])
        place = np.concatenate([slots, most + slots])
        expected = covariance[np.ix_(at, at)]
        assert model.covariance[axle_no][np.ix_(place, place)] == pytest.approx(expected, abs=1e-6)


def test_trace_against_dense_algebra(small):
    """Source: as above, at odometers along running lives: the band under the readings of a picture."""
    model, cut, last_km = small
    for at in range(0, len(model.positions), 9):
        position = model.positions.iloc[at]
        start = np.nan_to_num(cut.lives.loc[position["life_id"], "start_km"], nan=position["ref_km"])
        km = np.linspace(start, position["ref_km"], 4)
        asked = model.positions.loc[np.repeat(model.positions.index[at], 4)].assign(ref_km=km)
        _, thickness, covariance = solve_densely(model, cut, last_km, asked)
        mean, sd = model.trace(position["axle_no"], position["slot"], km)
        assert mean == pytest.approx(thickness, abs=1e-6)
        assert sd == pytest.approx(np.sqrt(np.diagonal(covariance)[4:]), abs=1e-6)


@pytest.fixture(scope="module")
def middling(tmp_path_factory):
    """The folder of a made fleet of 40 vehicles, with slips, lost cells and unrecorded changes."""
    return simulate.write(simulate.fleet(vehicles=40, years=3.0, seed=11).tables, tmp_path_factory.mktemp("middling"))


@pytest.fixture(scope="module")
def as_it_comes(middling):
    """Its model as the program fits it."""
    return fit(middling)[0]


def test_few_passes_settle(middling, as_it_comes):
    """Relation: the linearisation as the program stops it lies within 1 % of rate and 0.01 mm of a fully settled one."""
    few, many = as_it_comes.positions, fit(middling, passes=20)[0].positions
    assert np.abs(few["log_rate"] - many["log_rate"]).quantile(0.99) < 0.01
    assert np.abs(few["thickness_mm"] - many["thickness_mm"]).quantile(0.99) < 0.01


def test_an_axle_without_readings_is_that_of_like_axles(as_it_comes):
    """Relation: where nothing was read of a life, its rate is no surer than lives differ, and less sure than a read one's."""
    p = as_it_comes.positions
    rate_sd = np.sqrt(as_it_comes.covariance[p["axle_no"], p["slot"], p["slot"]])
    unread, read = p["readings"].eq(0).to_numpy(), p["readings"].ge(3).to_numpy()
    assert unread.sum() > 4
    assert rate_sd[unread].min() > as_it_comes.scales["life"]
    assert np.median(rate_sd[unread]) > np.median(rate_sd[read])


def test_gross_slip_is_left_out(tmp_path):
    """Relation: a reading 6 mm too thin is named, and the answer is as if it had never been written."""
    made = simulate.fleet(vehicles=12, years=3.0, seed=4, slip_share=0.0, unrecorded_share=0.0)
    m = made.tables["measurements"]
    true = made.readings["true_mm"].to_numpy()
    looks = m.groupby(["visit_id", "axle"])["value"].transform("size")
    wrong = np.flatnonzero((m["part"].eq("inner_pad") & looks.ge(4)).to_numpy() & (true > 8.5))[5]
    slipped = m.assign(value=np.where(np.arange(len(m)) == wrong, m["value"] - 6.0, m["value"]))
    without = m.drop(index=wrong).reset_index(drop=True)
    (one, cut, _), (other, *_) = (
        fit(simulate.write({**made.tables, "measurements": table}, tmp_path / name))
        for name, table in (("slipped", slipped), ("without", without))
    )
    found = pd.concat([cut.findings, one.findings])
    assert wrong + 2 in set(found.loc[found["code"].eq("R41-reading-misfit"), "row"])
    assert one.positions["thickness_mm"].to_numpy() == pytest.approx(other.positions["thickness_mm"], abs=0.01)
    assert one.positions["log_rate"].to_numpy() == pytest.approx(other.positions["log_rate"], abs=0.005)


# ------------------------------------------------------------------------------------------------- marginal likelihood


def prepare(state, chunks):
    """The readings of every chunk, made ready for the likelihood."""
    return [{**p, "parts": shared_model._parts(p)} for p in (shared_model._prepare(state, chunk) for chunk in chunks)]


def test_likelihood_and_its_slope(small):
    """Source: dense marginal likelihood of the written-out model; its slope by central differences (no printed number)."""
    model, cut, last_km = small
    state = model.solved.state
    n = len(model.readings)
    value, rounding = model.readings["value_mm"].to_numpy(), model.readings["step_mm"].to_numpy() ** 2 / 12
    rows = facts(model, cut, last_km, model.positions.iloc[:0])
    written = WrittenOut(rows, model.scales, state.log_rate, state.spread)
    kinds = [name[0] for name in written.names]
    belongs = np.array([[kind.split(" ")[0] == scale for kind in kinds] for scale in SCALES[:6]])
    at_one = written.variance.copy()
    fitted = np.array([model.scales[name] for name in SCALES])

    def set_scales(scales):
        written.variance = at_one * np.exp(2 * (np.log(scales / fitted)[:6] @ belongs))
        return rounding + scales[6] ** 2

    def dense_cost(log_scales):
        noise = set_scales(np.exp(log_scales))
        cost = written.condition(value + written.pull[:n], noise, np.ones(len(kinds), dtype=bool))[2]
        away = (log_scales - np.log(shared_model.PRIOR_SCALES)) / shared_model.PRIOR_SCALES_LOG_SD
        return cost / 2 + (away**2).sum() / 2

    chunks = shared_model._chunks(state.rows, np.arange(len(model.solved.vehicles)))
    prepared = prepare(state, chunks)
    points = np.log(fitted) + np.vstack([np.zeros(7), np.random.default_rng(3).normal(0, 0.3, (2, 7))])
    answers = [shared_model._likelihood(state, chunks, prepared, point) for point in points]
    dense = [dense_cost(point) for point in points]
    assert np.diff([a[0] for a in answers]) == pytest.approx(np.diff(dense), rel=1e-8)
    for point, (_, slope, _) in zip(points, answers, strict=True):
        step = 1e-4
        nudges = step * np.eye(7)
        differences = [(dense_cost(point + nudge) - dense_cost(point - nudge)) / (2 * step) for nudge in nudges]
        assert slope == pytest.approx(differences, rel=1e-5, abs=1e-5)


# --------------------------------------------------------- random slopes: what is left when only vehicles differ, published

NEARLY_NOTHING = 1e-8


def random_slopes(time, value, group, start=(0.0, 0.0), precision=1e-12):
    """The engine set to value = intercept + slope * time with both of them random: one axle, one position, one life a group.

    Nothing wanders, starts are ``start_mm``, rates ``vehicle``; linearised at rate 1 the slope is -(1 + log rate). The engine's
    intercept and slope are independent, so a correlated pair is met with time counted from where the two are: -cov / var(slope).
    """
    group = pd.factorize(group)[0]
    n, groups = len(time), group.max() + 1
    table = pd.DataFrame({"kind": ["kind", "new"], "level": ""})
    columns = np.full((2, 7), -1)
    columns[0, 0], columns[0, 6] = 0, 1
    every, star = np.zeros(n, dtype=int), np.zeros(groups, dtype=int)
    design = shared_model._Design(table, np.array(start), np.full(2, precision), columns, every, star)

    def rows(group, distance, value, kind):
        nothing = np.zeros(len(group))
        codes = dict.fromkeys(("vehicle", "axle", "track", "axle_life", "life_part"), group)
        return {
            **codes, "distance": distance, "known": nothing == 0, "new_mm": nothing, "replace_at_mm": nothing, "start_gap_km": nothing,
            "step_mm": nothing, "value": value, "low": nothing + np.nan, "high": nothing + np.nan, "kind": kind, "columns": columns,
        }  # fmt: skip

    state = shared_model._State(rows(group, np.asarray(time), np.asarray(value), every), design)
    state.log_rate[:] = 0.0
    stars = rows(np.arange(groups), np.zeros(groups), np.zeros(groups), star)
    return state, shared_model._chunks(state.rows, np.arange(groups), stars)


def reml(state, chunks, intercept_sd, slope_sd, residual_sd):
    """-2 log restricted likelihood, and its slope on the logarithms of the three."""
    log_scales = np.log([slope_sd, *[NEARLY_NOTHING] * 3, intercept_sd, NEARLY_NOTHING, residual_sd])
    cost, slope, _ = shared_model._likelihood(state, chunks, prepare(state, chunks), log_scales)
    away = (log_scales - np.log(shared_model.PRIOR_SCALES)) / shared_model.PRIOR_SCALES_LOG_SD
    slope = slope - away / shared_model.PRIOR_SCALES_LOG_SD
    return 2 * cost - away @ away + (len(state.rows["value"]) - 2) * np.log(2 * np.pi), 2 * slope[[4, 0, 6]]


def answers(state, chunks, intercept_sd, slope_sd, residual_sd):
    """Each group's intercept and slope, and their covariance: (groups, 2), (groups, 2, 2)."""
    state.log_scales = np.log([slope_sd, *[NEARLY_NOTHING] * 3, intercept_sd, NEARLY_NOTHING, residual_sd])
    groups = state.rows["vehicle"].max() + 1
    mean, covariance = np.zeros((groups, 2)), np.zeros((groups, 2, 2))
    for chunk, (_, said) in zip(chunks, shared_model._answer(state, chunks), strict=True):
        at = chunk.star_index[:, 0]
        mean[at] = np.column_stack([said["thickness"][:, 0], -1 - said["log_rate"][:, 0]])
        flip = np.diag([1.0, -1.0])
        covariance[at] = flip @ said["covariance"][:, ::-1, ::-1] @ flip
    return mean, covariance


def independent(intercept_variance, slope_variance, covariance):
    """Where time must start for intercept and slope to be independent, and the intercept's variance there."""
    origin = -covariance / slope_variance
    return origin, intercept_variance - covariance**2 / slope_variance


@pytest.fixture(scope="module")
def sleep():
    """Reaction times of 18 subjects on 10 days."""
    return pd.read_csv(reference("sleepstudy.csv"))


def test_sleepstudy_independent(sleep):
    """Source: Bates et al. 2015, J. Stat. Software 67(1), (Days || Subject), REML, read: 1743.669294 and the variances."""
    state, chunks = random_slopes(sleep["Days"], sleep["Reaction"], sleep["Subject"])

    def cost(log_sd):
        value, slope = reml(state, chunks, *np.exp(log_sd))
        return value, slope

    best = scipy.optimize.minimize(cost, np.log([20.0, 5.0, 20.0]), jac=True, tol=1e-10)
    assert best.fun == pytest.approx(1743.669294, abs=1e-5)
    assert np.exp(2 * best.x) == pytest.approx([627.569051, 35.858380, 653.583501], rel=2e-4)
    at_published = reml(state, chunks, *np.sqrt([627.569051, 35.858380, 653.583501]))
    assert at_published[0] == pytest.approx(1743.669294, abs=1e-6)
    assert np.abs(at_published[1]).max() < 1e-3


def test_sleepstudy_correlated(sleep):
    """Source: Bates et al. 2015, (Days | Subject), REML, read: criterion, fixed effects and standard errors, subjects' lines."""
    origin, intercept_variance = independent(612.100158, 35.071714, 9.604409)
    sds = np.sqrt([intercept_variance, 35.071714, 654.940008])
    state, chunks = random_slopes(sleep["Days"] - origin, sleep["Reaction"], sleep["Subject"])
    criterion, slope = reml(state, chunks, *sds)
    assert criterion == pytest.approx(1743.628272, abs=1e-6)
    assert np.abs(slope).max() < 1e-3
    lines, _ = answers(state, chunks, *sds)
    fixed_slope, at_origin = -1 - state.beta[0], state.beta[1]
    assert fixed_slope == pytest.approx(10.467286, rel=1e-7)
    assert at_origin - fixed_slope * origin == pytest.approx(251.405105, rel=1e-7)
    to_day_0 = np.array([origin, 1.0])
    assert np.sqrt(state.covariance[0, 0]) == pytest.approx(1.545790, rel=2e-5)
    assert np.sqrt(to_day_0 @ state.covariance @ to_day_0) == pytest.approx(6.824597, rel=2e-5)
    lines[:, 0] -= lines[:, 1] * origin
    by_subject = dict(zip(sleep["Subject"].unique(), lines, strict=True))
    assert by_subject[308] == pytest.approx([253.6636558, 19.6662617], abs=1e-3)
    assert by_subject[309] == pytest.approx([211.0063668, 1.8476053], abs=1e-3)
    assert by_subject[310] == pytest.approx([212.4446959, 5.0184295], abs=1e-3)
    assert by_subject[335] == pytest.approx([251.0714364, -0.2848792], abs=1e-3)


def test_sleepstudy_conditional_covariance(sleep):
    """Source: lme4's conditional covariance of subject 308, read: [[145.7055875, -21.4445036], [., 5.3122829]]."""
    origin, intercept_variance = independent(612.100158, 35.071714, 9.604409)
    at_origin = 251.405105 + 10.467286 * origin
    state, chunks = random_slopes(
        sleep["Days"] - origin, sleep["Reaction"], sleep["Subject"], start=(-11.467286, at_origin), precision=1e12
    )
    _, covariance = answers(state, chunks, *np.sqrt([intercept_variance, 35.071714, 654.940008]))
    back = np.array([[1.0, -origin], [0.0, 1.0]])
    found = back @ covariance[list(sleep["Subject"].unique()).index(308)] @ back.T
    assert found == pytest.approx(np.array([[145.7055875, -21.4445036], [-21.4445036, 5.3122829]]), rel=2e-5)


def test_dietox():
    """Source: lme4's values in statsmodels' own tests (test_dietox_slopes), read; the data come in the statsmodels wheel.

    72 pigs with unlike numbers of weighings, so that rows are padded.
    """
    file = Path(statsmodels.regression.tests.__file__).parent / "results" / "dietox.csv"
    if not file.is_file():
        pytest.skip("this statsmodels was installed without its tests, which hold dietox.csv")
    pigs = pd.read_csv(file)
    origin, intercept_variance = independent(19.4934552, 0.4160620, 0.2938323)
    sds = np.sqrt([intercept_variance, 0.4160620, 6.03745])
    state, chunks = random_slopes(pigs["Time"] - origin, pigs["Weight"], pigs["Pig"])
    criterion, slope = reml(state, chunks, *sds)
    assert criterion / -2 == pytest.approx(-2217.047, abs=1e-3)
    assert np.abs(slope).max() < 0.05
    answers(state, chunks, *sds)
    fixed_slope = -1 - state.beta[0]
    assert fixed_slope == pytest.approx(6.939014, abs=1e-4)
    assert state.beta[1] - fixed_slope * origin == pytest.approx(15.738650, abs=1e-4)
