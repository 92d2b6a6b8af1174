"""Own line: least squares, its band, and Fieller's interval for the place where the line meets a limit.

Every expected number comes from outside the package. How sure it is stands beside it: "read" in a public source; "value from
memory, recomputed" where an independent library gives every printed digit; "worked by hand".
"""

from pathlib import Path

import hypothesis.strategies as st
import numpy as np
import pandas as pd
import pytest
import scipy.stats
import statsmodels.api as sm
from hypothesis import given, settings
from public_data import reference
from scipy.optimize import brentq

from brakedata import own_line
from brakedata.units import KM_PER_MI

WORKED_KM = np.array([0, 10, 20, 30, 40]) * 1000 * KM_PER_MI
WORKED_MM = [11.0, 9.6, 8.1, 6.5, 5.2]


@pytest.fixture(scope="module")
def worked():
    """Five readings of one pad, thousand miles and mm."""
    return own_line.fit(WORKED_KM, WORKED_MM)


# ------------------------------------------------------------------------------------------------------ the line itself


def test_norris():
    """Source: NIST StRD, Norris, certified values, read; the data come in the scipy wheel."""
    file = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_linregress" / "Norris.dat"
    if not file.is_file():
        pytest.skip("this scipy was installed without its tests, which hold Norris.dat")
    y, x = np.loadtxt(file, skiprows=60).T
    line = own_line.fit(x, y)
    assert line.readings == 36
    assert line.intercept_mm == pytest.approx(-0.262323073774029, rel=1e-11)
    assert line.slope_mm_per_km == pytest.approx(1.00211681802045, rel=1e-13)
    assert line.slope_se == pytest.approx(0.429796848199937e-03, rel=1e-11)
    assert line.residual_sd_mm == pytest.approx(0.884796396144373, rel=1e-11)
    low, high = line.band(0.0, level=0.95, new_reading=False)
    intercept_se = (high - low) / 2 / scipy.stats.t.ppf(0.975, 34)
    assert intercept_se == pytest.approx(0.232818234301152, rel=1e-11)


def test_worked_line(worked):
    """Source: worked by hand. Sxx = 1000, Sxy = -147.0, SSE = 0.0190 in thousand miles and mm; t(0.975, 3) = 3.182446."""
    mi1000 = 1000 * KM_PER_MI
    assert worked.slope_mm_per_km * mi1000 == pytest.approx(-0.1470, abs=1e-12)
    assert worked.intercept_mm == pytest.approx(11.020, abs=1e-12)
    assert worked.residual_sd_mm == pytest.approx(np.sqrt(0.0190 / 3), rel=1e-11)
    assert worked.residual_sd_mm == pytest.approx(0.079582, abs=5e-7)
    assert worked.slope_se * mi1000 == pytest.approx(0.0025166, abs=5e-8)
    low, high = worked.slope_interval(level=0.95)
    assert (high - low) / 2 * mi1000 == pytest.approx(3.182446 * 0.0025166, rel=2e-5)
    assert (high + low) / 2 == pytest.approx(worked.slope_mm_per_km, rel=1e-12)


@pytest.mark.parametrize(
    ("limit_mm", "meets", "mean_line", "new_reading"),
    [
        (3.0, 54.5578, (52.621, 56.701), (51.989, 57.333)),
        (2.0, 61.3605, (59.095, 63.872), (58.537, 64.430)),
        (1.6, 64.0816, (61.683, 66.742), (61.151, 67.275)),
    ],
)
def test_worked_line_meets_limits(worked, limit_mm, meets, mean_line, new_reading):
    """Source: worked by hand (closed form), 95 %, thousand miles; the intervals are not symmetric."""
    for asked, expected in ((False, mean_line), (True, new_reading)):
        crossing = worked.meets(limit_mm, level=0.95, new_reading=asked)
        found = np.array([crossing.km, crossing.low_km, crossing.high_km]) / 1000 / KM_PER_MI
        assert found[0] == pytest.approx(meets, abs=6e-5)
        assert found[1:] == pytest.approx(expected, abs=6e-4)
        assert crossing.kind == "bounded"
        assert crossing.level == 0.95
        assert found[2] - found[0] > found[0] - found[1]


def test_two_readings_make_a_line_and_no_interval():
    """Source: worked by hand, 11.0 mm at 0 and 7.0 mm at 25,000 mi is 3.0 mm at 50,000 mi; no degree of freedom is left."""
    line = own_line.fit(np.array([0.0, 25_000.0]) * KM_PER_MI, [11.0, 7.0], step_mm=0.1)
    crossing = line.meets(3.0, level=0.8)
    assert crossing.km == pytest.approx(50_000 * KM_PER_MI, rel=1e-12)
    assert crossing.kind == "whole_line"
    assert np.isnan(crossing.low_km)
    assert np.isnan(crossing.high_km)
    assert line.slope_interval(0.5) == (-np.inf, np.inf)
    low, high = line.band(30_000.0, 0.5)
    assert (low, high) == (-np.inf, np.inf)


def test_two_readings_of_an_unknown_gauge_make_no_interval_either():
    """Source: worked by hand; without a floor two readings leave no residual, which is no evidence of none."""
    line = own_line.fit([0.0, 40_000.0], [11.0, 7.0])
    assert line.meets(3.0).kind == "whole_line"
    assert line.slope_interval() == (-np.inf, np.inf)
    low, high = line.band([30_000.0])
    assert (low[0], high[0]) == (-np.inf, np.inf)


@pytest.mark.parametrize("odometer_km", [[], [10_000.0], [10_000.0, 10_000.0, 10_000.0]])
def test_no_line_through_one_place(odometer_km):
    """Source: worked by hand."""
    with pytest.raises(ValueError, match="two different odometers"):
        own_line.fit(odometer_km, [8.0] * len(odometer_km))


@pytest.mark.parametrize(("step_mm", "sd_mm"), [(1.0, 0.289), (25.4 / 32, 0.229), (0.5, 0.144), (0.1, 0.029)])
def test_residual_floor_of_the_gauge(step_mm, sd_mm):
    """Source: worked by hand, a rounding error even over one step has standard deviation step / sqrt(12)."""
    km = np.arange(5) * 10_000.0
    exact = own_line.fit(km, 12.0 - km * 1e-4, step_mm)
    assert exact.residual_sd_mm == pytest.approx(sd_mm, abs=6e-4)
    assert exact.slope_se == pytest.approx(exact.residual_sd_mm / np.sqrt(1e9), rel=1e-12)
    rough = 12.0 - km * 1e-4 + np.array([1, -2, 2, -2, 1]) * 3.0
    assert own_line.fit(km, rough, step_mm).residual_sd_mm == own_line.fit(km, rough).residual_sd_mm > 3.0


def test_floor_widens_the_worked_line():
    """Source: worked by hand, 0.079582 is under the 0.2887 of a 1 mm gauge, so the band must be 3.627 times as wide."""
    fine, coarse = (own_line.fit(WORKED_KM, WORKED_MM, step).band(60_000.0) for step in (0.0, 1.0))
    assert (coarse[1] - coarse[0]) / (fine[1] - fine[0]) == pytest.approx(0.288675 / 0.079582, rel=1e-5)


def test_flat_readings_meet_no_limit():
    """Source: worked by hand; a pad read 8 mm five times with a 0.5 mm gauge says nothing of when it is worn."""
    crossing = own_line.fit(np.arange(5) * 10_000.0, [8.0] * 5, step_mm=0.5).meets(3.0)
    assert crossing.kind != "bounded"
    assert np.isnan(crossing.low_km)
    assert np.isnan(crossing.high_km)


# ------------------------------------------------------------------------------------------- inverse prediction, published

THERMOSTAT = np.arange(96, 111, 2), [95.71, 98.16, 99.52, 102.09, 103.79, 106.18, 108.14, 110.21]
CHAMBER = (
    np.arange(0, 101, 10),
    [206.36, 225.52, 252.18, 289.33, 318.11, 349.49, 383.03, 410.70, 444.40, 469.14, 501.16],
)


@pytest.mark.parametrize(
    ("data", "height", "level", "new_reading", "published", "within"),
    [
        (THERMOSTAT, 104, 0.95, True, (103.995, 103.4, 104.6), (6e-4, 0.06, 0.06)),
        (THERMOSTAT, 100, 0.90, True, (100.1, 99.63, 100.59), (0.06, 6e-3, 6e-3)),
        (CHAMBER, 400, 0.99, False, (66.5, 65.07, 68.03), (0.06, 6e-3, 6e-3)),
    ],
)
def test_published_calibrations(data, height, level, new_reading, published, within):
    """Source: Graybill and Iyer 1996, Regression Analysis, pp. 431 and 433, read, to the digits printed."""
    crossing = own_line.fit(*data).meets(height, level, new_reading)
    for found, expected, tolerance in zip((crossing.km, crossing.low_km, crossing.high_km), published, within, strict=True):
        assert found == pytest.approx(expected, abs=tolerance)


def test_arsenic():
    """Source: Greenwell and Schubert Kabban 2014, R Journal 6(1), read: 2.9314 (2.6035, 3.2587), 90 %."""
    measured, actual = np.loadtxt(reference("ARSENIC.DAT")).T
    crossing = own_line.fit(actual, measured).meets(3.0, 0.90, new_reading=True)
    assert len(measured) == 32
    assert (crossing.km, crossing.low_km, crossing.high_km) == pytest.approx((2.9314, 2.6035, 3.2587), abs=6e-5)


@pytest.mark.parametrize(("height", "place"), [(15, 6.093810), (90, 43.939831)])
def test_fluorescence_line(height, place):
    """Source: Massart et al. 1997, Handbook of Chemometrics, ch. 8 example 7, read: 6.1 and 43.9 (places only)."""
    line = own_line.fit(np.arange(0, 51, 10), [4, 21.2, 44.6, 61.8, 78, 105.2])
    assert line.meets(height).km == pytest.approx(place, abs=6e-7)


def test_laser_pseudo_lives():
    """Source: Meeker and Escobar 1998, Statistical Methods for Reliability Data, ch. 13, the 15 printed hours.

    Values from memory, recomputed. Lines through the origin would give 3707, 4173, 5621: the intercept is pinned here.
    """
    printed = [3702, 4194, 5847, 6172, 5301, 3592, 6051, 6538, 5110, 3306, 5326, 4995, 4721, 5689, 6102]
    laser = pd.read_csv(reference("gaas_laser.csv"))
    hours = [own_line.fit(unit["hours"], unit["increase"]).meets(10.0).km for _, unit in laser.groupby("unit")]
    assert hours == pytest.approx(printed, abs=0.6)


# ----------------------------------------------------------------------------------- agreement with an independent library


def statsmodels_band(x, y, at, level, new_reading):
    """Edges of the band by statsmodels' own prediction, not by the package."""
    fitted = sm.OLS(y, sm.add_constant(np.asarray(x, dtype=float))).fit()
    exog = np.column_stack([np.ones(np.size(at)), np.ravel(at)])
    return fitted.get_prediction(exog).conf_int(obs=new_reading, alpha=1 - level).T


@pytest.mark.parametrize("level", [0.5, 0.8, 0.95])
@pytest.mark.parametrize("new_reading", [False, True])
def test_band_is_that_of_statsmodels(worked, level, new_reading):
    """Source: statsmodels' get_prediction, no printed number; recomputed on every run."""
    at = np.linspace(-20_000, 150_000, 18)
    low, high = worked.band(at, level, new_reading)
    expected = statsmodels_band(WORKED_KM, WORKED_MM, at, level, new_reading)
    assert low == pytest.approx(expected[0], rel=1e-9, abs=1e-9)
    assert high == pytest.approx(expected[1], rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("limit_mm", [3.0, 1.6])
@pytest.mark.parametrize("new_reading", [False, True])
@pytest.mark.parametrize("level", [0.8, 0.95])
def test_fieller_is_where_the_band_meets_the_limit(worked, limit_mm, new_reading, level):
    """Source: root-finding on statsmodels' band, an independent road to the same interval (agrees to 1e-9)."""
    crossing = worked.meets(limit_mm, level, new_reading)

    def over(edge):
        return lambda km: statsmodels_band(WORKED_KM, WORKED_MM, km, level, new_reading)[edge, 0] - limit_mm

    early = brentq(over(0), 40_000, crossing.km, xtol=1e-7)
    late = brentq(over(1), crossing.km, 200_000, xtol=1e-7)
    assert crossing.low_km == pytest.approx(early, rel=1e-9)
    assert crossing.high_km == pytest.approx(late, rel=1e-9)


# ------------------------------------------------------------------------------------------- when there is no interval


@pytest.mark.parametrize(
    ("mm", "kind"),
    [
        ([9.0, 8.5, 9.4, 8.0, 8.6], "half_lines"),
        ([9.0, 8.5, 9.4, 8.0, 9.4], "half_lines"),
        ([11.0, 9.6, 8.1, 6.5, 5.2], "bounded"),
    ],
)
def test_kind_of_a_far_limit(mm, kind):
    """Source: worked by hand; g = (t se / slope)**2 at 95 % is 19, 549 and 0.003: an interval exists only under 1."""
    km = np.arange(5) * 10_000.0
    assert own_line.fit(km, mm).meets(3.0, 0.95).kind == kind


def test_whole_line():
    """Source: worked by hand; readings that scatter about 6 mm without a slope agree with 6 mm at any place."""
    crossing = own_line.fit(np.arange(5) * 10_000.0, [6.0, 6.5, 5.5, 6.6, 5.9]).meets(6.0, 0.95)
    assert crossing.kind == "whole_line"
    assert np.isnan(crossing.low_km)


readings = st.lists(st.floats(1.0, 14.0), min_size=3, max_size=7)


@given(readings, st.floats(0.0, 15.0), st.sampled_from([0.5, 0.8, 0.95]), st.booleans())
@settings(max_examples=200, deadline=None, derandomize=True)
def test_kind_agrees_with_the_band_everywhere(mm, limit_mm, level, new_reading):
    """Relation: a place belongs to the answer exactly when the band there holds the limit (the definition of the interval)."""
    km = np.arange(len(mm)) * 9_000.0
    line = own_line.fit(km, mm, step_mm=0.1)
    crossing = line.meets(limit_mm, level, new_reading)
    at = line.mean_km + np.concatenate([-np.geomspace(1e-2, 1e13, 400)[::-1], [0.0], np.geomspace(1e-2, 1e13, 400)])
    low, high = line.band(at, level, new_reading)
    slack = 1e-9 * np.abs(at - line.mean_km) * (np.abs(line.slope_mm_per_km) + line.slope_se) + 1e-9
    surely_in = (low < limit_mm - slack) & (limit_mm + slack < high)
    surely_out = (low > limit_mm + slack) | (limit_mm - slack > high)
    if crossing.kind == "whole_line":
        assert not surely_out.any()
    elif crossing.kind == "half_lines":
        assert not surely_out[[0, -1]].any()
    else:
        inside = (at >= crossing.low_km) & (at <= crossing.high_km)
        assert not surely_out[inside].any()
        assert not surely_in[~inside].any()
        assert crossing.low_km <= crossing.km <= crossing.high_km


# ------------------------------------------------------------------------------------------------------------ relations


@given(st.floats(0.0, 900_000.0), st.floats(0.01, 5.0))
@settings(max_examples=50, deadline=None, derandomize=True)
def test_shift_and_unit(shift_km, per_km):
    """Relation: a shifted odometer shifts the answer by as much, and another unit of distance only changes the unit."""
    plain = own_line.fit(WORKED_KM, WORKED_MM).meets(3.0, 0.8)
    moved = own_line.fit(WORKED_KM * per_km + shift_km, WORKED_MM).meets(3.0, 0.8)
    for name in ("km", "low_km", "high_km"):
        assert (getattr(moved, name) - shift_km) / per_km == pytest.approx(getattr(plain, name), rel=1e-6)


def test_levels_nest(worked):
    """Relation: a wider level contains a narrower one, and a new reading is less certain than the line."""
    narrow, wide, new = worked.meets(3.0, 0.5), worked.meets(3.0, 0.8), worked.meets(3.0, 0.8, new_reading=True)
    assert new.low_km < wide.low_km < narrow.low_km < narrow.km < narrow.high_km < wide.high_km < new.high_km
