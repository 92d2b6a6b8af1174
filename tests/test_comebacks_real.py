"""Comebacks on real records nobody here made: repeats by vehicle, from the words to the mean number of returns."""

import numpy as np
import pandas as pd
import pytest
from public_data import real

from brakedata import comebacks, symptoms
from brakedata.comebacks import curves


@pytest.fixture(scope="module")
def road_calls():
    """Road calls of a transit agency, a year and a half of 229 vehicles, every vehicle watched all the time."""
    calls = pd.read_csv(real("03_transit_road_calls_brake_404.csv"), dtype="str", encoding="latin-1").fillna("")
    day = pd.to_datetime(calls["DATETIME_OCCURRED"], format="%m/%d/%Y %I:%M:%S %p").dt.normalize()
    return calls.assign(day=(day - day.min()).dt.days)


def test_repeats_by_vehicle(road_calls):
    """All vehicles watched to the end: the mean is calls over vehicles, its error their spread over root n (by hand)."""
    vehicles = road_calls["VEHICLE_ID"].unique()
    assert (len(road_calls), len(vehicles)) == (404, 229)
    unit = pd.Index(vehicles).get_indexer(road_calls["VEHICLE_ID"])
    end = road_calls["day"].max()
    told = curves.returns_per_job(unit, road_calls["day"], np.full(len(vehicles), end))
    for day in (180, 365, end):
        counts = np.bincount(unit[road_calls["day"] <= day], minlength=len(vehicles))
        mean, se = told.at(day)
        assert mean == pytest.approx(counts.mean())
        assert se == pytest.approx(counts.std() / np.sqrt(len(vehicles)))


def test_each_answer_rests_on_words_of_its_own_call(road_calls):
    said = symptoms.read_all(road_calls["DESCRIPTION"])
    kinds = pd.Series([one.category for one in said])
    assert kinds.isin(comebacks.KINDS).sum() > 40
    for text, one in zip(road_calls["DESCRIPTION"], said, strict=True):
        assert all(word in text for word in one.words)


def test_repeats_of_the_same_thing_are_fewer_than_calls(road_calls):
    """A second call of a vehicle about the same kind is no new thing."""
    said = symptoms.read_all(road_calls["DESCRIPTION"])
    calls = road_calls.assign(kind=[one.category for one in said])
    calls = calls[calls["kind"].isin(comebacks.KINDS)]
    things = calls.drop_duplicates(["VEHICLE_ID", "kind"])
    assert len(calls["VEHICLE_ID"].unique()) <= len(things) < len(calls)
