"""Comebacks: curves, limits, comparisons, shrinkage and charts against published numbers.

Every expected number comes from outside the package. How sure it is stands beside it: "read" in a public source; "value from
memory, recomputed" where an independent library gives every printed digit; "worked by hand".
"""

import importlib.util
import json
from fractions import Fraction
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from public_data import reference

from brakedata.comebacks import compare, curves, explain, firth, funnel, over_time

SIX_MP = [6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35]
SIX_MP_RELAPSED = [1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0]
PLACEBO = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]


def stored(source, key=None):
    """Reference values of other software that come in the surpyval wheel; the package itself is not imported."""
    found = importlib.util.find_spec("surpyval")
    if found is None:
        pytest.skip("surpyval is not installed: its wheel holds the reference values")
    folder = Path(found.submodule_search_locations[0]) / "tests" / "reference" / "data"
    held = json.loads((folder / f"{source}.json").read_text("utf-8"))
    if key is None:
        return held
    return held["references"][key]["values"]


def fixture(name):
    return {key: np.array(column, dtype=float) for key, column in stored("fixtures")[name]["columns"].items()}


# ------------------------------------------------------------------------------------------------ curves and their limits


def test_remission_under_6mp():
    """Source: Freireich et al. (1963), Blood 21, 699-716; the estimate as R prints it, read."""
    curve = curves.curve(SIX_MP, np.array(SIX_MP_RELAPSED, dtype=bool))
    expected = [0.8571, 0.8067, 0.7529, 0.6902, 0.6275, 0.5378, 0.4482]
    np.testing.assert_array_equal(curve.km, [6, 7, 10, 13, 16, 22, 23])
    np.testing.assert_allclose(1 - curve.risk(curve.km), expected, atol=6e-5)
    assert np.isnan(curve.risk(36.0))


def test_log_rank_of_6mp_against_placebo():
    """Source: as above; log-rank chi square 16.79 (16.792941, p 4.17e-5), read. The exact p is of the same size."""
    ends = np.array(SIX_MP + PLACEBO, dtype=float)
    back = np.array(SIX_MP_RELAPSED + [1] * len(PLACEBO), dtype=bool)
    found = curves.difference(ends, back, np.arange(len(ends)) < len(SIX_MP))
    assert found.seen == 9
    assert found.expected == pytest.approx(19.25, abs=5e-3)  # the same table of R, value from memory, recomputed
    assert found.chi2 == pytest.approx(16.792941, abs=1e-6)
    assert 2e-6 < found.fewer < 2e-4


@pytest.mark.parametrize("name", ["lung", "ties", "left_truncation"])
def test_kaplan_meier_of_r(name):
    """Source: R survival 3.5-8, survfit, values in the surpyval wheel; left_truncation enters late."""
    data, expected = fixture(name), stored("r_survival", f"km_{name}")
    end = data.get("time", data.get("x"))
    curve = curves.curve(end, data["c"] == 0, data.get("tl"))
    at, died = np.array(expected["time"], dtype=float), np.array(expected["n_event"]) > 0
    np.testing.assert_array_equal(curve.km, at[died])
    np.testing.assert_array_equal(curve.at_risk, np.array(expected["n_risk"])[died])
    np.testing.assert_allclose(1 - curve.risk(at), np.array(expected["surv"], dtype=float), rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize(("key", "column"), [("logrank_lung_sex", "sex"), ("logrank_ties", "z1")])
def test_log_rank_of_r(key, column):
    """Source: R survival 3.5-8, survdiff, values in the surpyval wheel."""
    name = "lung" if "lung" in key else "ties"
    data, expected = fixture(name), stored("r_survival", key)
    end = data.get("time", data.get("x"))
    first = data[column] == np.unique(data[column])[0]
    found = curves.difference(end, data["c"] == 0, first)
    assert found.chi2 == pytest.approx(np.ravel(expected["chisq"])[0], rel=1e-9)
    assert [found.seen, found.expected] == pytest.approx([expected["observed"][0], expected["expected"][0]], rel=1e-9)


def test_cumulative_incidence_of_r():
    """Source: R cmprsk 2.2-11, cuminc, values in the surpyval wheel: two ways to end, two groups."""
    data, expected = fixture("competing"), stored("r_cmprsk", "cuminc_competing")
    for name, values in zip(expected["curves"], expected["est"], strict=True):
        group, way = map(int, name.split())
        here = data["group"] == group
        known = [place for place, value in enumerate(values) if value is not None]
        found = curves.happened(data["x"][here], data["cause"][here], np.array(expected["times"])[known])
        np.testing.assert_allclose(found[way - 1], [values[place] for place in known], rtol=1e-12, atol=1e-12)


def test_cumulative_incidence_of_deaths_in_the_pbc_trial():
    """Source: R cmprsk 2.2-11 in the surpyval wheel; drug 0 at 1, 3, 5 and 10 years, read."""
    data = fixture("pbc")
    here = data["drug"] == 0
    found = curves.happened(data["years"][here], data["cause"][here], [1, 3, 5, 10])
    np.testing.assert_allclose(found[1], [0.0844156, 0.2077922, 0.2927528, 0.4778786], atol=5e-8)


@pytest.mark.parametrize(
    ("back", "jobs", "low", "high"),
    [(81, 263, 0.2527, 0.3676), (15, 148, 0.0578, 0.1617), (0, 20, 0.0, 0.1684), (1, 29, 0.0009, 0.1776)],
)
def test_limits_are_the_exact_binomial_ones_where_all_are_watched(back, jobs, low, high):
    """Source: R. G. Newcombe (1998), Statistics in Medicine 17, 857-872, Table I, Clopper-Pearson; from memory, recomputed."""
    end = np.r_[np.arange(1.0, back + 1), np.full(jobs - back, 20_000.0)]
    found = curves.curve(end, np.arange(jobs) < back).limits(10_000.0)
    np.testing.assert_allclose(found, [low, high], atol=6e-5)


# --------------------------------------------------------------------------------------------------- repeats

VALVE_SEATS = {
    251: (761,), 252: (759,), 327: (98, 667), 328: (326, 653, 653, 667), 329: (665,), 330: (84, 667), 331: (87, 663),
    389: (646, 653), 390: (92, 653), 391: (651,), 392: (258, 328, 377, 621, 650), 393: (61, 539, 648),
    394: (254, 276, 298, 640, 644), 395: (76, 538, 642), 396: (635, 641), 397: (349, 404, 561, 649), 398: (631,), 399: (596,),
    400: (120, 479, 614), 401: (323, 449, 582), 402: (139, 139, 589), 403: (593,), 404: (573, 589), 405: (165, 408, 604, 606),
    406: (249, 594), 407: (344, 497, 613), 408: (265, 586, 595), 409: (166, 206, 348, 389), 410: (601,), 411: (410, 581, 601),
    412: (611,), 413: (608,), 414: (587,), 415: (367, 603), 416: (202, 563, 570, 585), 417: (587,), 418: (578,), 419: (578,),
    420: (586,), 421: (585,), 422: (582,),
}  # fmt: skip


def engines(histories):
    """Job, return distance and watched distance of histories whose last number is the end of the watch."""
    job = [place for place, days in enumerate(histories) for _ in days[:-1]]
    return job, [day for days in histories for day in days[:-1]], [days[-1] for days in histories]


def test_simple_fleet():
    """Source: W. Q. Meeker, L. A. Escobar (1998), Table 16.1; exact fractions, worked by hand there."""
    found = curves.returns_per_job(*engines([(5, 8, 12), (16,), (1, 8, 16, 20)]))
    np.testing.assert_array_equal(found.km, [1, 5, 8, 16])
    np.testing.assert_allclose(found.mean, [float(Fraction(*pair)) for pair in ((1, 3), (2, 3), (4, 3), (11, 6))], rtol=1e-14)
    variance = [float(Fraction(*pair)) for pair in ((6, 81), (6, 81), (24, 81), (163, 216))]
    np.testing.assert_allclose(found.se**2, variance, rtol=1e-12)


def test_valve_seats():
    """Source: W. Nelson (1995), Technometrics 37, 147-157: 41 engines, 48 replacements; histories and values from memory,
    recomputed by others; robust standard errors of R at 61, 76 and 100 days."""
    job, day, end = engines(list(VALVE_SEATS.values()))
    assert (len(end), len(day)) == (41, 48)
    found = curves.returns_per_job(job, day, end)
    at = [61, 76, 100, 200, 300, 400, 500, 600, 640, 646, 653]
    mean = [
        0.0243902, 0.0487805, 0.1463415, 0.2682927, 0.4634146, 0.6585366, 0.8085366, 1.0142641, 1.2435422, 1.3204653, 1.5426875,
    ]  # fmt: skip
    np.testing.assert_allclose(found.at(at)[0], mean, atol=5e-8)
    np.testing.assert_allclose(found.at(at[:3])[1], [0.02409097, 0.03364120, 0.05519934], atol=5e-9)


@pytest.mark.parametrize(
    ("batch", "units", "replaced", "expected"),
    [
        (1, 15, 24, {300: (0.333333, 0.1217161), 400: (0.666667, 0.1539601), 650: (1.6, 0.2458545)}),
        (2, 18, 26, {300: (1.222222, 0.1851852), 382: (1.444444, 0.2111436)}),
    ],
)
def test_braking_grids(batch, units, replaced, expected):
    """Source: N. Doganaksoy, W. Nelson (1998), Lifetime Data Analysis 4, 259-277; R survfit with robust errors."""
    data = pd.read_csv(reference(f"braking_grids_{batch}.csv"))
    ends = data.groupby("unit")["days"].max()
    again = data[data["event"].eq("Replacement")]
    assert (len(ends), len(again)) == (units, replaced)
    found = curves.returns_per_job(ends.index.get_indexer(again["unit"]), again["days"], ends)
    for at, (mean, se) in expected.items():
        assert [float(value) for value in found.at(at)] == pytest.approx([mean, se], abs=6e-7)


def test_mean_cumulative_function_of_r():
    """Source: R survival 3.5-8, cumulative hazard with robust errors, values in the surpyval wheel."""
    data, expected = fixture("mettas_zhao"), stored("r_survival", "mcf_mettas_zhao")
    units = np.unique(data["i"])
    end = [data["x"][(data["i"] == unit)].max() for unit in units]
    again = data["c"] == 0
    found = curves.returns_per_job(np.searchsorted(units, data["i"][again]), data["x"][again], end)
    mean, se = found.at(expected["time"])
    np.testing.assert_allclose(mean, expected["cumhaz"], rtol=1e-9)
    np.testing.assert_allclose(se, expected["std_chaz"], rtol=1e-9)


# --------------------------------------------------------------------------------------------------- many comparisons, strata


def test_benjamini_hochberg():
    """Source: Y. Benjamini, Y. Hochberg (1995), J. Royal Statistical Society B 57, 289-300: of 15 four below .05; read."""
    p = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0]
    q = compare._q_values(pd.Series([*p, np.nan]))
    np.testing.assert_allclose(q[:5], [0.0015, 0.003, 0.0095, 0.035625, 0.0603], rtol=1e-12)
    assert (q <= 0.05).sum() == 4
    assert np.isnan(q.iloc[-1])


def test_mantel_haenszel():
    """Source: A. Agresti, Categorical Data Analysis, cream in eight centres: common odds ratio 2.13 (2.134549), from memory."""
    cream = [(11, 25), (16, 4), (14, 5), (2, 14), (6, 11), (1, 10), (1, 4), (4, 2)]
    control = [(10, 27), (22, 10), (7, 12), (1, 16), (0, 12), (0, 10), (1, 8), (6, 1)]
    cured, not_cured = np.array(cream + control).T
    steps = pd.DataFrame({"job": np.arange(16), "band": 0, "back": cured * 1.0, "tries": (cured + not_cured) * 1.0})
    centre = pd.Series([*range(8), *range(8)])
    ratio, low, high = explain.stratified_ratio(steps, np.arange(16) < 8, centre)
    assert ratio == pytest.approx(2.134549, abs=5e-7)
    assert low < ratio < high


# --------------------------------------------------------------------------------------------------- regression


def test_firth_on_the_endometrial_data():
    """Source: G. Heinze, M. Schemper (2002), Statistics in Medicine 21, 2409-2419; values of R logistf, read."""
    data = pd.read_csv(reference("endometrial.csv"))
    fitted = firth.fit(np.column_stack([np.ones(len(data)), data[["NV", "PI", "EH"]]]), data["HG"])
    np.testing.assert_allclose(fitted.coef, [3.77455951, 2.92927330, -0.03475175, -2.60416387], atol=2e-7)
    assert fitted.loglik == pytest.approx(-24.0372678, abs=1e-7)
    limits = [(1.0825371, 7.20928050), (0.6097244, 7.85463171), (-0.1244587, 0.04045547), (-4.3651832, -1.23272106)]
    np.testing.assert_allclose([fitted.interval(place) for place in range(4)], limits, atol=2e-6)


def test_logistic_regression_without_penalty():
    """Source: Spector, Mazzeo, in W. Greene, Econometric Analysis; Stata 11 values in the statsmodels wheel, read. A million of
    each student make the penalty nought."""
    statsmodels = pytest.importorskip("statsmodels.api")
    data = statsmodels.datasets.spector.load_pandas()
    many = 1e7
    fitted = firth.fit(np.column_stack([np.ones(32), data.exog]), data.endog * many, np.full(32, many))
    np.testing.assert_allclose(fitted.coef, [-13.0213483201, 2.82611297201, 0.0951576702557, 2.37868772835], rtol=1e-6)
    expected = [4.93132462871, 1.26294114526, 0.141554207662, 1.06456430165]
    np.testing.assert_allclose(fitted.se * np.sqrt(many), expected, rtol=1e-6)


# --------------------------------------------------------------------------------------------------- charts

WAFERS = [
    12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6,
]  # fmt: skip
THREE_SIGMA = 0.9973


def test_p_chart():
    """Source: NIST/SEMATECH e-Handbook 6.3.3.2: 30 wafers of 50, mean .2313, signals 15 and 23, read. Normal limits .4102 and
    .0524 there; binomial ones here, and the same signals."""
    share = np.array(WAFERS) / 50
    assert share.mean() == pytest.approx(0.2313, abs=5e-5)
    low, high = funnel(np.full(30, 50.0), share.mean(), THREE_SIGMA)
    np.testing.assert_array_equal(np.flatnonzero((share < low) | (share > high)) + 1, [15, 23])
    assert (low[0], high[0]) == pytest.approx((0.0524, 0.4102), abs=0.03)


def test_p_chart_of_unequal_groups():
    """Source: NIST, CCP.DAT: mean 465/4678, one signal, subgroup 14 (36 of 200)."""
    bad, made, _ = np.loadtxt(reference("CCP.DAT"), skiprows=25, max_rows=20).T
    assert (bad.sum(), made.sum()) == (465, 4678)
    low, high = funnel(made, bad.sum() / made.sum(), THREE_SIGMA)
    np.testing.assert_array_equal(np.flatnonzero((bad / made < low) | (bad / made > high)) + 1, [14])


VALVE_GAPS_H = [
    286, 948, 536, 124, 816, 729, 4, 143, 431, 8, 2837, 596, 81, 227, 603, 492, 1199, 1214, 2831, 96,
]  # fmt: skip


def test_chart_of_times_between_failures():
    """Source: D. C. Montgomery, Introduction to Statistical Quality Control, valve failures: 20 gaps, none outside by the chart
    of the gaps to the power 0.2777 (mean 5.38662); from memory, recomputed. None is outside the exact exponential limits."""
    gaps = np.array(VALVE_GAPS_H, dtype=float)
    assert (gaps**0.2777).mean() == pytest.approx(5.38662, abs=2e-5)
    low, high = over_time.limits(1, 1 - THREE_SIGMA)
    assert (low, high) == pytest.approx((0.00135, 6.6077), rel=1e-3)  # exponential quantiles, worked by hand
    in_means = gaps / gaps.mean()
    assert ((in_means > low) & (in_means < high)).all()


COAL_MINE_DISASTERS = [
    4, 5, 4, 1, 0, 4, 3, 4, 0, 6, 3, 3, 4, 0, 2, 6, 3, 3, 5, 4, 5, 3, 1, 4, 4, 1, 5, 5, 3, 4, 2, 5, 2, 2, 3, 4, 2, 1, 3, 2, 2,
    1, 1, 1, 1, 3, 0, 0, 1, 0, 1, 1, 0, 0, 3, 1, 0, 3, 2, 2, 0, 1, 1, 1, 0, 1, 0, 1, 0, 0, 0, 2, 1, 0, 0, 0, 1, 1, 0, 2, 3, 3,
    1, 1, 2, 1, 1, 1, 1, 2, 4, 2, 0, 0, 1, 4, 0, 0, 0, 1, 0, 0, 0, 0, 0, 1, 0, 0, 1, 0, 1, 0,
]  # fmt: skip


def test_change_date_of_the_coal_mine_disasters():
    """Source: R. G. Jarrett (1979), Biometrika 66, 191-193; B. P. Carlin, A. E. Gelfand, A. F. M. Smith (1992), Applied
    Statistics 41, 389-405: 191 disasters in Britain, 1851 to 1962, 3.1 a year up to 1891 and 0.9 after; from memory."""
    counts = np.array(COAL_MINE_DISASTERS)
    assert (len(counts), counts.sum()) == (112, 191)
    starts = pd.to_datetime([f"{year}-01-01" for year in range(1851, 1964)])
    _, date, first, last, times, p, sentence = over_time._change(counts, np.full(112, 191 / 112), starts)
    assert date.year == 1892
    assert first.year >= 1886 and last.year <= 1897
    assert times == pytest.approx(0.9 / 3.1, abs=0.01)
    assert p < 0.001
    assert "0.3 times" in sentence


# --------------------------------------------------------------------------------------------------- shrinkage

HITS = [18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7]
SEASON = [
    0.346, 0.298, 0.276, 0.222, 0.273, 0.270, 0.263, 0.210, 0.269, 0.230, 0.264, 0.256, 0.303, 0.264, 0.226, 0.285, 0.316, 0.200,
]  # fmt: skip
STEIN = [
    0.294, 0.289, 0.285, 0.280, 0.275, 0.275, 0.270, 0.266, 0.261, 0.261, 0.256, 0.256, 0.256, 0.256, 0.256, 0.252, 0.247, 0.242,
]  # fmt: skip


def test_baseball():
    """Source: B. Efron, C. Morris (1977), Scientific American 236: 18 players after 45 at bats, and their season. Season averages
    and estimates from memory: the total squared errors .0753 and .0213 are reproduced. Ours is another prior: as good."""
    raw = np.array(HITS) / 45
    season, stein = np.array(SEASON), np.array(STEIN)
    assert ((raw - season) ** 2).sum() == pytest.approx(0.0753, abs=5e-4)
    assert ((stein - season) ** 2).sum() == pytest.approx(0.0213, abs=5e-4)
    pooled = compare.pooled_risk(HITS, np.full(18, 45.0), raw.mean())
    assert ((pooled - season) ** 2).sum() < 0.0213 * 1.1
    np.testing.assert_allclose(pooled, stein, atol=0.015)
    assert (np.diff(pooled) <= 1e-12).all()


RAT_TUMOURS = (
    [(0, 20)] * 7 + [(0, 19)] * 4 + [(0, 18)] * 2 + [(0, 17)] + [(1, 20)] * 4 + [(1, 19)] * 2 + [(1, 18)] * 2
    + [(2, 25), (2, 24), (2, 23)] + [(2, 20)] * 6 + [(1, 10), (5, 49), (2, 19), (5, 46), (3, 27), (2, 17), (7, 49), (7, 47)]
    + [(3, 20)] * 2 + [(2, 13), (9, 48), (10, 50)] + [(4, 20)] * 7 + [(10, 48)] + [(4, 19)] * 3 + [(5, 22), (11, 46), (12, 49)]
    + [(5, 20)] * 2 + [(6, 23), (5, 19), (6, 22)] + [(6, 20)] * 3 + [(16, 52), (15, 46), (15, 47), (9, 24), (4, 14)]
)  # fmt: skip


def test_rat_tumours():
    """Source: A. Gelman et al., Bayesian Data Analysis, ch. 5 (R. E. Tarone 1982): 70 earlier groups of mean .136 and standard
    deviation .103, and 4 of 14; from memory, the two recomputed. Maximum likelihood of all 71 by scipy alone: Beta(2.3416,
    14.1148), log likelihood -156.5689 with the binomial coefficients."""
    from scipy.special import gammaln

    x, n = np.array(RAT_TUMOURS, dtype=float).T
    assert len(x) == 71
    assert (x[:-1] / n[:-1]).mean() == pytest.approx(0.136, abs=5e-4)
    assert (x[:-1] / n[:-1]).std() == pytest.approx(0.103, abs=5e-4)
    coefficients = (gammaln(n + 1) - gammaln(x + 1) - gammaln(n - x + 1)).sum()

    def loglik(a, b):
        return compare.beta_binomial_loglik(x, n, a, b).sum() + coefficients

    assert loglik(2.3416, 14.1148) == pytest.approx(-156.5689, abs=1e-4)
    around = [loglik(2.3416 + da, 14.1148 + db) for da in (-0.05, 0, 0.05) for db in (-0.3, 0, 0.3)]
    assert max(around) == around[4]


def test_pooling_the_rat_tumours():
    """Source: as above: 4 of 14 is drawn to (4 + 2.3416) / (14 + 2.3416 + 14.1148) = .2082 by the prior of maximum likelihood
    (.223 by the moments of the earlier groups). Ours averages over priors about the mean: near, not equal."""
    x, n = np.array(RAT_TUMOURS, dtype=float).T
    pooled = compare.pooled_risk(x, n, (x / n).mean())
    assert pooled[-1] == pytest.approx(0.2082, abs=0.01)
    assert pooled.std() < (x / n).std()
