"""Habits of writing down that make wear look faster: noticed where they are, not where they are not.

Source: made fleets (`simulate`), whose readings are then left out as the habit would have it.
"""

import numpy as np
import pandas as pd
import pytest

import brakedata
from brakedata import lives, selection, simulate

LINING = "pad|shoe"


@pytest.fixture(scope="module")
def made():
    return simulate.fleet(120, years=4.0, seed=77)


def noticed(tables, folder):
    records = brakedata.load(simulate.write(tables, folder))
    return selection.habits(records, lives.cut(records))


def of_lining(tables):
    return tables["measurements"]["part"].str.contains(LINING) & tables["measurements"]["taken"].ne("after")


def test_ordinary_records_show_no_habit(made, tmp_path):
    assert len(noticed(made.tables, tmp_path)) == 0


def test_a_shop_that_often_skips_shows_no_habit(made, tmp_path):
    """Half of all looks left out at random."""
    looks = made.tables["measurements"]["visit_id"].astype(str) + made.tables["measurements"]["axle"]
    kept = looks.isin(np.random.default_rng(1).permutation(looks.unique())[::2])
    assert len(noticed({**made.tables, "measurements": made.tables["measurements"][kept]}, tmp_path)) == 0


def test_only_thin_ones_written_down(made, tmp_path):
    thin_mm = np.where(made.tables["measurements"]["part"].str.contains("shoe"), 2.5, 5.0)
    thick = of_lining(made.tables) & (made.tables["measurements"]["value"] > thin_mm)
    found = noticed({**made.tables, "measurements": made.tables["measurements"][~thick]}, tmp_path)
    assert found["code"].tolist() == ["R67-only-thin-written"]
    assert " of " in found["reading"].iloc[0]


def test_only_finished_lives_written_down(made, tmp_path):
    m = made.tables["measurements"].reset_index(names="place").merge(made.tables["visits"][["visit_id", "vehicle_id"]])
    m["true_km"] = m["visit_id"].map(made.visits.set_axis(made.tables["visits"]["visit_id"])["true_odometer_km"])
    running = made.lives[made.lives["end_odometer_km"].isna()][["vehicle_id", "axle", "start_odometer_km"]]
    m = m.merge(running, on=["vehicle_id", "axle"]).set_index("place").sort_index()
    gone = of_lining(made.tables) & (m["true_km"] > m["start_odometer_km"])
    found = noticed({**made.tables, "measurements": made.tables["measurements"][~gone]}, tmp_path)
    assert found["code"].tolist() == ["R68-only-finished-written"]


def test_few_records_say_nothing(made, tmp_path):
    few = made.tables["vehicles"]["vehicle_id"].head(3)
    visits = made.tables["visits"][made.tables["visits"]["vehicle_id"].isin(few)]
    tables = {**made.tables, "vehicles": made.tables["vehicles"].head(3), "visits": visits}
    for name in ("measurements", "work"):
        tables[name] = made.tables[name][made.tables[name]["visit_id"].isin(visits["visit_id"])]
    thick = of_lining(tables) & (tables["measurements"]["value"] > 5)
    found = noticed({**tables, "measurements": tables["measurements"][~thick]}, tmp_path)
    assert isinstance(found, pd.DataFrame) and len(found) == 0
