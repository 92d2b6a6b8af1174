"""Hand-written cells in our own tables: read, read and listed, asked or refused, as the cells' cases say; plain ones as ever.

Truth: 7/32 in = 5.55625 mm and 62,400 mi = 100,423 km by hand; the statuses are those of the cells' cases.
"""

import pandas as pd
import pytest
from folders import line_of, load, texts, write

import brakedata

READING = "a1,front,left,inner_pad,thickness,{},{},before"


def one_reading(tmp_path, written, unit="mm"):
    records = load(tmp_path, {("measurements", line_of("a1", 0)): READING.format(written, unit)})
    row = records.measurements[records.measurements["row"].eq(line_of("a1", 0))]
    own = records.findings[records.findings["row"].eq(line_of("a1", 0)) & records.findings["table"].eq("measurements")]
    return row, own


@pytest.mark.parametrize(
    ("written", "unit", "mm", "in_unit", "codes"),
    [
        ("11 mm", "", 11.0, "mm", []),
        ("11.0MM", "mm", 11.0, "mm", []),
        ("14/32", "32nds", 11.1125, "32nds", []),
        ("14/32", "mm", 11.1125, "32nds", ["R71-assumed"]),
        ('.433"', "in", 10.9982, "in", []),
        ("l0mm", "mm", 10.0, "mm", ["R72-read-with-doubt"]),
        ("~11", "mm", 11.0, "mm", ["R71-assumed"]),
    ],
)
def test_a_reading_as_people_write_it_is_read_in_the_unit_it_was_written_in(written, unit, mm, in_unit, codes, tmp_path):
    row, own = one_reading(tmp_path, written.replace('"', '""').join('""') if '"' in written else written, unit)
    assert row["value_mm"].tolist() == pytest.approx([mm], abs=1e-6)
    assert row["unit"].tolist() == [in_unit] and row["value_written"].tolist() == [written]
    assert own["code"].tolist() == codes


@pytest.mark.parametrize(
    ("written", "code"),
    [("5/6", "R73-not-believed"), ("55", "R30-out-of-range"), ("5.5.6.6", "R74-ask"), ("11 incl plate", "R74-ask"), ("good", "R8-not-a-number"), ("inner 3 outer 6", "R73-not-believed")],
)
def test_what_can_mean_two_things_is_left_out_and_says_so(written, code, tmp_path):
    row, own = one_reading(tmp_path, written)
    assert not len(row) and own["code"].tolist() == [code]


def test_the_reading_s_bounds_in_words(tmp_path):
    row, _ = one_reading(tmp_path, "10 or more")
    assert row["low_mm"].tolist() == [10.0] and row["high_mm"].isna().all()


def test_an_odometer_with_letters_for_digits_is_read_and_listed(tmp_path):
    records = load(tmp_path, {("visits", 3): "a2,A,2023-07-20,16OOO,km,,"})
    visit = records.visits.set_index("visit_id").loc["a2"]
    assert visit["odometer_km"] == 16_000 and visit["odometer_written"] == "16OOO"
    assert records.findings["code"].tolist() == ["R72-read-with-doubt"]
    miles = load(tmp_path / "miles", {("visits", 3): '"a2",A,2023-07-20,"9,942 mi",km,,'})
    assert miles.visits.set_index("visit_id")["odometer_km"]["a2"] == pytest.approx(9_942 * 1.609344, abs=1e-6)


def with_dates(folder, pattern, toml=""):
    """The folder with the dates of visits a1 to a6 written in another way."""
    lines = texts()["visits"].split("\n")
    for at in range(1, 7):
        cells = lines[at].split(",")
        lines[at] = ",".join([*cells[:2], pd.Timestamp(cells[2]).strftime(pattern), *cells[3:]])
    write(folder, {**texts(), "visits": "\n".join(lines)})
    (folder / "records.toml").write_text(toml)
    return brakedata.load(folder)


PLAIN_DATES = pd.date_range("2023-04-11", periods=6, freq="100D")


@pytest.mark.parametrize("pattern", ["%d/%m/%Y", "%m/%d/%y", "%d %b %Y", "%d.%m.%Y", "%Y%m%d"])
def test_dates_are_settled_by_their_column(pattern, tmp_path):
    """The days from the 12th on show which number is the day."""
    records = with_dates(tmp_path / "a", pattern)
    assert records.visits.query("vehicle_id == 'A'")["date"].tolist() == PLAIN_DATES.tolist()
    assert set(records.findings["code"]) <= {"R71-assumed"}


def test_a_date_that_nothing_settles_is_asked_once(tmp_path):
    line = {("visits", 2): "a1,A,11/04/2023,8000,km,inspection,T1"}
    records = load(tmp_path / "open", line)
    asked = records.findings.query("code == 'R74-ask'")
    assert asked["value"].tolist() == ["11/04/2023"] and "date_order" in asked["advice"].iloc[0]
    assert "a1" not in set(records.visits["visit_id"])
    (tmp_path / "open" / "records.toml").write_text('[shop]\ndate_order = "day_first"\n')
    again = brakedata.load(tmp_path / "open")
    assert again.visits.set_index("visit_id")["date"]["a1"] == PLAIN_DATES[0]


def test_a_side_or_axle_as_people_write_it(tmp_path):
    edited = {("measurements", line_of("a1", 0)): "a1,LF,,inner_pad,thickness,11,mm,before"}
    records = load(tmp_path, edited)
    row = records.measurements.set_index("row").loc[line_of("a1", 0)]
    assert (row["axle"], row["side"]) == ("front", "left")


def test_plain_tables_do_not_call_the_cells_reader(tmp_path, monkeypatch):
    def never(*args, **kwargs):
        raise AssertionError("a plain cell was read by hand")

    monkeypatch.setattr("brakedata.handwritten.cells.read", never)
    write(tmp_path / "plain", texts())
    brakedata.load(tmp_path / "plain")
