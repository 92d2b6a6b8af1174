"""Bounds such as ``<2`` in the shared model: they move an axle's answer when, and only when, they say something.

Source: relations any honest use of a bound has to hold; the moments of a truncated normal are scipy's.
"""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

import brakedata
from brakedata import schedule, shared_model, simulate


@pytest.fixture(scope="module")
def made():
    return simulate.fleet(vehicles=25, seed=8, slip_share=0.0, unrecorded_share=0.0)


def planned(made, folder, axle=None, cell=None):
    """The schedule's row of ``axle`` with one more cell for all its pads on the newest visit of its vehicle, or without."""
    tables = dict(made.tables)
    if cell is not None:
        visits = tables["visits"]
        newest = visits[visits["vehicle_id"].eq(axle[0])].sort_values("date")["visit_id"].iloc[-1]
        row = {"visit_id": newest, "axle": axle[1], "part": "pad", "measure": "thickness", "value": cell, "unit": "mm"}
        more = pd.DataFrame([row | {"side": side} for side in ("left", "right")])
        tables["measurements"] = pd.concat([tables["measurements"].astype({"value": object}), more], ignore_index=True)
    for name, table in tables.items():
        table.to_csv(folder / f"{name}.csv", index=False)
    table = schedule.make(brakedata.load(folder)).table.set_index(["vehicle_id", "axle"])
    return table if axle is None else table.loc[axle]


@pytest.fixture(scope="module")
def plain(made, tmp_path_factory):
    return planned(made, tmp_path_factory.mktemp("plain"))


@pytest.fixture(scope="module")
def axle(plain):
    """A pad axle that is far from its replace point."""
    pads = plain[plain["governing_part"].str.endswith("pad") & plain["thickness_mm"].between(7, 10)]
    return pads.index[0]


def test_a_low_bound_brings_the_axle_forward(made, plain, axle, tmp_path):
    row = planned(made, tmp_path, axle, "<5")
    assert row["thickness_mm"] < plain.loc[axle, "thickness_mm"] - 0.5
    assert row["due_odometer_km"] < plain.loc[axle, "due_odometer_km"]
    assert row["readings"] == plain.loc[axle, "readings"], "a bound is not a number read"


@pytest.mark.parametrize("cell", ["<25", ">=0.1"])
def test_a_bound_that_says_nothing_changes_nothing(made, plain, axle, cell, tmp_path):
    row = planned(made, tmp_path, axle, cell)
    assert row["due_odometer_km"] == pytest.approx(plain.loc[axle, "due_odometer_km"], abs=60)
    assert row["due_odometer_late_km"] == pytest.approx(plain.loc[axle, "due_odometer_late_km"], abs=120)


def test_a_high_bound_puts_the_axle_off_and_narrows_its_window(made, plain, axle, tmp_path):
    row = planned(made, tmp_path, axle, ">=9")
    was = plain.loc[axle]
    assert row["due_odometer_early_km"] >= was["due_odometer_early_km"]
    assert row["due_odometer_km"] > was["due_odometer_km"] - 60


@pytest.mark.parametrize(("low", "high", "mean", "sd"), [(np.nan, 4.0, 5.0, 0.8), (9.0, np.nan, 8.5, 0.5), (np.nan, 6.0, 5.0, 1.0)])
def test_the_site_gives_the_truncated_normal_its_moments(low, high, mean, sd):
    """Source: scipy.stats.truncnorm; the site times what the others say must have these moments."""
    rows = {"low": np.array([low]), "high": np.array([high])}
    state = SimpleNamespace(
        rows=rows, bound=np.array([True]), value=np.array([0.0]), extra=np.array([shared_model.MISFIT_VARIANCE_MM2])
    )
    chunk = SimpleNamespace(index=np.array([[0]]))
    shared_model._bound_sites(state, chunk, np.array([[mean]]), np.array([[sd**2 + state.extra[0]]]))
    precision = 1 / sd**2 + 1 / state.extra[0]
    got = (mean / sd**2 + state.value[0] / state.extra[0]) / precision
    a, b = ((edge - mean) / sd for edge in (low if np.isfinite(low) else -np.inf, high if np.isfinite(high) else np.inf))
    wanted = stats.truncnorm(a, b, loc=mean, scale=sd)
    assert got == pytest.approx(wanted.mean(), rel=1e-6)
    assert 1 / precision == pytest.approx(wanted.var(), rel=1e-4)
