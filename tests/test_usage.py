"""Season and change of use: found where they were made, not where they were not. Source: made fleets with known use."""

import numpy as np
import pandas as pd
import pytest

import brakedata
from brakedata import simulate, usage
from brakedata.simulate import Effects


def fitted(folder, seed=1, years=4.0, vehicles=60, **effects):
    made = simulate.fleet(vehicles=vehicles, years=years, seed=seed, effects=Effects(**effects), log_every_days=45.0)
    records = brakedata.load(simulate.write(made.tables, folder))
    return usage.fit(records, records.newest_date)


def test_a_season_is_found_with_its_size_and_time(tmp_path):
    """Made: exp(0.25 cos), most driven on day 210 of the year."""
    season = fitted(tmp_path, use_season=0.25, use_change_share=0.0).season
    assert np.hypot(season.cosine, season.sine) == pytest.approx(0.25, abs=0.04)
    most = np.arctan2(season.sine, season.cosine) % (2 * np.pi) / (2 * np.pi) * 365.25
    assert most == pytest.approx(210, abs=12)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_season_is_made_up(seed, tmp_path):
    assert not fitted(tmp_path, seed).season.found


def test_one_year_says_nothing_of_a_season(tmp_path):
    assert not fitted(tmp_path, years=1.2, use_season=0.25).season.found


def test_even_days_and_back():
    """A year holds as many even days as calendar days; the busy half more than half of them; there and back is nothing."""
    season, day = usage.Season(0.0, 0.2), np.linspace(18_000, 20_000, 777)
    assert season.calendar(season.even(day)) == pytest.approx(day, abs=1e-6)
    assert season.even(day + 365.25) - season.even(day) == pytest.approx(365.25)
    start = 50 * 365.25  # the sine is positive over the first half of such a year
    assert season.even(start + 365.25 / 2) - season.even(start) > 1.1 * 365.25 / 2
    assert usage.Season().even(day) == pytest.approx(day)


def test_a_change_of_use_is_noticed_and_followed(tmp_path):
    """V-1 is driven three times as far from 200 days before the end on, V-2 is parked 150 days before it; worked by hand."""
    made = simulate.fleet(vehicles=30, years=4.0, seed=4, effects=Effects(use_change_share=0.0), log_every_days=20.0, retired_share=0.0, slip_share=0.0)
    log = made.tables["odometer_log"]
    days = (made.as_of - log["date"]).dt.days
    old = log.groupby("vehicle_id")["odometer"].transform(lambda km: km)
    for vehicle, back, times in (("V-1", 200, 3.0), ("V-2", 150, 0.0)):
        mine = log["vehicle_id"].eq(vehicle)
        at = old[mine & (days >= back)].max()
        log.loc[mine & (days < back), "odometer"] = (at + times * (old[mine & (days < back)] - at)).round().astype(int)
    visits = made.tables["visits"]
    late = visits["vehicle_id"].isin(["V-1", "V-2"]) & ((made.as_of - visits["date"]).dt.days < 200)
    tables = {**made.tables, "visits": visits[~late], "odometer_log": log}
    tables["measurements"] = made.tables["measurements"][made.tables["measurements"]["visit_id"].isin(tables["visits"]["visit_id"])]
    tables["work"] = made.tables["work"][made.tables["work"]["visit_id"].isin(tables["visits"]["visit_id"])]
    records = brakedata.load(simulate.write(tables, tmp_path))
    use = usage.fit(records, made.as_of)
    changes = use.changes.set_index("vehicle_id")
    assert {"V-1", "V-2"} <= set(changes.index)
    assert len(changes) <= 4
    assert changes.loc["V-1", "ratio"] == pytest.approx(3.0, rel=0.35)
    assert abs((changes.loc["V-1", "since"] - (made.as_of - pd.Timedelta(days=200))).days) <= 75
    assert not changes.loc["V-1", "parked"] and changes.loc["V-2", "parked"]
