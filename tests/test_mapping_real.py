"""Public files of other people through the mapping alone: what was taken and what was left out adds up to every row.

The counts of rows, empty cells, zeros and doubtful dates are counted here from the file's own text.
"""

import csv

import pandas as pd
import pytest
from public_data import real

from brakedata import checks, mapping


def account_of(records) -> tuple[int, int]:
    """Rows taken and left out."""
    rows = records.rows_read.groupby("outcome")["rows"].sum()
    assert records.rows_read.loc[records.rows_read["outcome"].eq("left out"), "why"].ne("").all()
    return int(rows.get("taken", 0)), int(rows.get("left out", 0))


def rows_of(file, separator=",", encoding="utf-8"):
    with open(file, encoding=encoding, newline="") as opened:
        return list(csv.reader(opened, delimiter=separator))


def answered(file, **answers):
    proposal = mapping.propose(file)
    for key, value in answers.items():
        proposal.answer(f"{key}.1", value)
    return proposal, checks.load_proposal(proposal)


def test_complaints_without_a_heading_load_by_column():
    file = real("02_nhtsa_flatfile_sample100.txt")
    rows = rows_of(file, "\t")
    assert mapping.propose(file).vital.key == "vehicle_id.1"
    proposal, records = answered(file, vehicle_id="column 15", date="column 8", odometer="column 18", distance_unit="mi")
    assert proposal.questions == []
    assert sum(account_of(records)) == len(rows)
    usable = [row for row in rows if row[14].strip() and row[7].strip()]
    lost = records.rows_read.set_index("why")["rows"]
    assert lost["no vehicle is named"] == sum(not row[14].strip() for row in rows)
    doubted = records.findings[records.findings["code"].eq("R73-not-believed") & records.findings["column"].eq("column 8")]
    assert lost["no date that could be read"] == len(rows) - lost["no vehicle is named"] - len(usable) + len(doubted)
    assert len(doubted) == 1 and account_of(records)[0] + lost.get("R20-date-impossible", 0) + 1 == len(usable)
    texts = {" ".join(row[19].split()) for row in usable}
    assert {" ".join(text.split()) for one in records.visits["complaint"] for text in [one]} <= texts


def test_road_calls_load_without_an_answer():
    file = real("03_transit_road_calls_brake_404.csv")
    rows = rows_of(file, encoding="cp1252" if b"\xfd" in file.read_bytes() else "utf-8")
    proposal, records = answered(file)
    assert proposal.questions == [] and account_of(records) == (404, 1)
    assert len(records.visits) == 404 and len(records.vehicles) == 229
    assert records.visits["date"].min() == pd.Timestamp("2017-01-04") and records.visits["date"].max() == pd.Timestamp("2018-06-29")
    assert set(records.visits["visit_id"]) == {row[1] for row in rows[1:]}
    assert records.visits["odometer_km"].isna().all()


def test_fuel_cards_load_once_the_odometer_is_named():
    file = real("04_city_fuel_card_odometers_6570.csv")
    rows = rows_of(file)[1:]
    first = mapping.propose(file)
    assert {question.key for question in first.questions} == {"distance_unit.1", "odometer.1"}
    choices = next(question for question in first.questions if question.key == "odometer.1").choices
    assert [value for value, _ in choices] == ["Current Odometer", "Adjusted Odometer"]  # not the previous one
    proposal, records = answered(file, odometer="Current Odometer", distance_unit="mi")
    assert sum(account_of(records)) == len(rows) + 1
    log = records.odometer_log.merge(records.trail, on="row")
    for vehicle, line, km in log[["vehicle_id", "line", "odometer_km"]].sample(500, random_state=1).itertuples(index=False):
        assert rows[line - 2][3] == vehicle and float(rows[line - 2][8]) * 1.609344 == pytest.approx(km, abs=0.1)
    zeros = sum(row[8].strip() in ("0", "") for row in rows)
    unread = records.rows_read.set_index("why")["rows"]["no odometer that could be read"]
    assert zeros == 48 <= unread


def test_tyre_treads_are_not_called_pads():
    file = real("05_tyre_tread_by_position_456.csv")
    proposal = mapping.propose(file)
    roles = proposal.columns.set_index("column")["role"]
    assert roles["TreadDepth"] == "not used" and proposal.vital is not None
    proposal, records = answered(file, vehicle_id="TireID")
    assert account_of(records) == (0, 457) and not len(records.measurements)
    assert records.rows_read["why"].str.contains("which column holds the date is not known").any()
