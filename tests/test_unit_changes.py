"""A unit that changed without a change of heading is seen, and ordinary months are not.

Truth: made fleets by the kit's simulator, whose readings are then written in 32nds from a day on, in a month, or by one person.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import brakedata
from brakedata import simulate, unit_changes

MM_READ_AS = 32 / 25.4


@pytest.fixture(scope="module")
def fleet(tmp_path_factory):
    made = simulate.fleet(vehicles=24, years=2.5, seed=31, inspection_interval_days=80.0)
    return brakedata.load(simulate.write(made.tables, tmp_path_factory.mktemp("fleet")))


def in_32nds(measurements, which):
    """The thicknesses of the linings ``which`` as whole 32nds whose number was taken for mm."""
    thickness = measurements["part"].isin(unit_changes.LININGS) & measurements["measure"].eq("thickness") & which
    numbers = (measurements["value_mm"] * MM_READ_AS).round().clip(lower=1.0)
    return measurements.assign(value_mm=measurements["value_mm"].mask(thickness, numbers))


def said(measurements, visits):
    found = unit_changes.noticed(measurements, visits)
    return found[0] if found else None


@pytest.mark.parametrize("seed", range(41, 47))
@pytest.mark.parametrize(("gauge_step_mm", "days"), [(1.0, 60.0), (0.5, 200.0)])
def test_ordinary_records_are_left_alone(tmp_path, seed, gauge_step_mm, days):
    made = simulate.fleet(14, 2.0, seed, gauge_step_mm=gauge_step_mm, inspection_interval_days=days, unrecorded_share=0.3)
    records = brakedata.load(simulate.write(made.tables, tmp_path))
    assert unit_changes.noticed(records.measurements, records.visits) == []


def test_demo_records_are_left_alone():
    records = brakedata.load(Path(__file__).parents[1] / "demo_records")
    assert unit_changes.noticed(records.measurements, records.visits) == []


@pytest.mark.parametrize("share", [0.3, 0.5, 0.8])
def test_a_change_of_unit_at_a_day_is_seen_at_that_day(fleet, share):
    m = fleet.measurements
    day = m["date"].sort_values().iloc[int(share * len(m))]
    found = said(in_32nds(m, m["date"].ge(day)), fleet.visits)
    assert found["reading"].str.contains("in 32nds, and not in mm").all()
    seen = pd.Timestamp(found["reading"].str.extract(r"from (\d{4}-\d\d-\d\d) on").iloc[0, 0])
    assert abs((seen - day).days) <= 10
    assert found["vehicle_id"].nunique() >= 0.5 * fleet.vehicles["vehicle_id"].nunique()
    first = m.set_index("row")["date"].reindex(found["row"])
    assert (first.to_numpy() >= np.datetime64(seen)).all()


def test_records_that_were_in_another_unit_until_a_day_are_seen(fleet):
    m = fleet.measurements
    found = said(in_32nds(m, m["date"].lt(m["date"].quantile(0.6))), fleet.visits)
    assert found["reading"].str.contains(r"before \d{4}-\d\d-\d\d in 32nds, and not in mm").all()


def test_one_month_in_another_unit_is_seen(fleet):
    m = fleet.measurements
    month = m["date"].dt.to_period("M")
    found = said(in_32nds(m, month.eq(month.mode().iloc[0])), fleet.visits)
    assert found is not None
    assert found["reading"].str.contains("in 32nds, and not in mm").all()


def test_one_hand_in_another_unit_is_seen_and_named(fleet):
    visits = fleet.visits.assign(technician=np.where(np.arange(len(fleet.visits)) % 3 == 0, "B", "A"))
    m = fleet.measurements
    by = visits.set_index("visit_id")["technician"].reindex(m["visit_id"]).to_numpy()
    found = said(in_32nds(m, pd.Series(by == "B", index=m.index)), visits)
    assert found["reading"].str.contains("written by B in 32nds").all()


def test_harder_wear_from_a_day_on_is_no_change_of_unit(fleet):
    m = fleet.measurements.copy()
    m["unit"] = "32nds"
    day = m["date"].quantile(0.5)
    days = (m["date"] - day).dt.days.clip(lower=0)
    harder = m.assign(value_mm=(m["value_mm"] - 0.006 * days).clip(lower=1.0))
    assert unit_changes.noticed(harder, fleet.visits) == []


def test_few_linings_are_not_enough(fleet):
    few = fleet.vehicles["vehicle_id"].head(3)
    m = fleet.measurements[fleet.measurements["vehicle_id"].isin(few)].reset_index(drop=True)
    assert unit_changes.noticed(in_32nds(m, m["date"].ge(m["date"].quantile(0.5))), fleet.visits) == []
