"""Comebacks on real records nobody here made: repeats by vehicle, from the words to the mean number of returns."""

import csv

import numpy as np
import pandas as pd
import pytest
from public_data import real

from brakedata import comebacks, symptoms
from brakedata.comebacks import curves


@pytest.fixture(scope="module")
def road_calls():
    """Road calls of a transit agency, a year and a half of 229 vehicles, every vehicle watched all the time."""
    calls = pd.read_csv(real("03_transit_road_calls_brake_404.csv"), dtype="str").fillna("")
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


def test_the_dispatchers_own_code_agrees_where_it_names_one_thing(road_calls):
    """Code 0225 is the parking brake: a weak label of nobody here, on texts that mostly name it."""
    calls = road_calls[road_calls["SYMP_SYMPTOM"].eq("0225") & road_calls["DESCRIPTION"].str.contains("PARK")]
    kinds = [one.category for one in symptoms.read_all(calls["DESCRIPTION"])]
    assert len(calls) > 20
    assert kinds.count("parking-brake") >= 0.8 * len(calls)


# --- owners' complaints


@pytest.fixture(scope="module")
def owners():
    """Complaints of owners to a federal office, tabs and no header; columns by place, as the office describes them."""
    file = real("02_nhtsa_flatfile_sample100.txt")
    rows = pd.read_csv(file, sep="\t", header=None, dtype="str", quoting=csv.QUOTE_NONE).fillna("")
    assert rows.shape == (101, 49)
    return rows[[7, 11, 14, 17, 19]].set_axis(["failed", "component", "vin", "miles", "text"], axis=1)


def test_what_is_not_brakes_is_hardly_ever_called_noise_or_pulsation(owners):
    """The office's component is the label: at most 5 % of the complaints about something else."""
    elsewhere = owners[~owners["component"].str.contains("BRAKE")]
    kinds = pd.Series([one.category for one in symptoms.read_all(elsewhere["text"])])
    assert len(elsewhere) == 89
    assert kinds.isin(("noise", "pulsation")).mean() <= 0.05
    assert kinds.isin(("other", "none")).mean() >= 0.8


def test_complaints_about_brakes_are_more_often_read_as_such(owners):
    brakes = owners["component"].str.contains("BRAKE").to_numpy()
    said = symptoms.read_all(owners["text"])
    named = np.array([one.category not in ("other", "none") for one in said])
    assert named[brakes].mean() > 3 * named[~brakes].mean()
    for text, one in zip(owners["text"], said, strict=True):
        assert all(word in text for word in one.words)


def test_owners_complaints_by_distance_and_by_vehicle(owners):
    """Nobody is followed beyond the complaint: the share by a distance is a count, and no vehicle complains twice (by hand)."""
    miles = owners["miles"][owners["miles"].ne("")].astype(float)
    curve = curves.curve(miles, np.ones(len(miles), dtype=bool))
    assert len(miles) == 65
    assert curve.risk(60_000.0) == pytest.approx((miles <= 60_000).mean())
    vehicles = owners["vin"][owners["vin"].ne("")]
    told = curves.returns_per_job(np.arange(len(vehicles)), np.ones(len(vehicles)), np.full(len(vehicles), 2.0))
    assert told.at(1.0) == pytest.approx((1.0, 0.0)) and vehicles.is_unique
