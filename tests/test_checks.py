"""Every rule of the loader and of the checks: one planted thing that it must find, one near miss that it must not.

The folder of ``folders.py`` with nothing planted has no finding, so whatever is found was planted. Where a limit is common
practice, its source stands beside it in the code.
"""

import numpy as np
import pandas as pd
import pytest
from folders import VISITS, line_of, load, planted, texts, write
from public_data import real

import brakedata
from brakedata import checks, findings
from brakedata.simulate import fleet
from brakedata.simulate import write as write_fleet

DATES = "2023-04-11 2023-07-20 2023-10-28 2024-02-05 2024-05-15 2024-08-23".split()


def test_the_small_folder_has_nothing_wrong(tmp_path):
    records = load(tmp_path)
    assert findings.RULES and len(records.findings) == 0
    assert [len(getattr(records, name)) for name in texts()] == [2, 3, 12, 72, 1, 6]


def reading(visit, n, text):
    """The edit that writes ``text`` on the line of one reading."""
    return {("measurements", line_of(visit, n)): text}


# code: (edits, table, line, vehicle, column, value as written, what it was taken for, near miss)
CASES = {
    "R4-column-twice": (
        {("work", 1): "visit_id,axle,side,part,action,note,cost, NOTE "}, "work", None, "", "note", "", "",
        {("work", 1): "visit_id,axle,side,part,action,note,cost,note 2"},
    ),
    "R5-cells-too-many": (
        {("work", None): "a1,rear,both,hose,checked,,,old, hard"}, "work", 3, "", "", "a1,rear,both,hose,checked,,,old, hard", "",
        {("work", None): 'a1,rear,both,hose,checked,,,"old, hard",,,'},
    ),
    "R7-cell-empty": (
        reading("a2", 1, "a2,front,left,outer_pad,thickness, ,mm,before"), "measurements", line_of("a2", 1), "A", "value", "", "",
        reading("a2", 1, "a2,front,left,outer_pad,thickness,10,,"),
    ),
    "R8-not-a-number": (
        reading("b1", 0, "b1,front,left,inner_pad,thickness,thick,mm,before"),
        "measurements", line_of("b1", 0), "B", "value", "thick", "",
        reading("b1", 0, "b1,front,left,inner_pad,thickness, 1.1e1 ,mm,before"),
    ),
    "R9-not-a-date": (
        {("visits", 3): "a2,A,soon,16000,km,inspection,T1"}, "visits", 3, "A", "date", "soon", "",
        {("visits", 3): "a2,A,2023-07-20 08:15,16000,km,inspection,T1"},
    ),
    "R10-unknown-word": (
        reading("a1", 2, "a1,front,inwards,inner_pad,thickness,11,mm,before"),
        "measurements", line_of("a1", 2), "A", "side", "inwards", "",
        reading("a1", 2, "a1,Front,RIGHT,Inner Pad,Thickness,11,mm,Before"),
    ),
    "R11-unknown-unit": (
        reading("a1", 5, "a1,rear,right,pad,thickness,10.5,cm,before"), "measurements", line_of("a1", 5), "A", "unit", "cm", "",
        reading("a1", 5, "a1,rear,right,pad,thickness,10.5,Millimetres,before"),
    ),
    "R12-listed-twice": (
        {("measurements", None): "a4,front,left,inner_pad,thickness,8.0,mm,before"},
        "measurements", 74, "A", "visit_id", "a4", f"first on line {line_of('a4', 0)}",
        {("measurements", None): "a4,front,left,inner_pad,thickness,12.0,mm,after"},
    ),
    "R13-unknown-vehicle": (
        {("visits", None): "c1,C,2023-08-01,9000,km,,"}, "visits", 14, "C", "vehicle_id", "C", "",
        {("visits", None): "c1,A,2023-08-01,17000,km,,"},
    ),
    "R14-unknown-visit": (
        {("work", None): "z9,front,both,rotor,checked,,,"}, "work", 3, "", "visit_id", "z9", "",
        {("work", None): "b6,front,both,rotor,checked,,,"},
    ),
    "R16-quote-open": (
        {("work", None): 'a1,rear,both,hose,checked,,,"old'},
        "work", 3, "A", "", "", "",
        {("work", None): 'a1,rear,both,hose,checked,,,the "old" one'},
    ),
    "R20-date-impossible": (
        {("visits", 4): "a3,A,1949-12-31,24000,km,,"}, "visits", 4, "A", "date", "1949-12-31", "",
        {("visits", 4): "a3,A,2023-10-29,24000,km,,"},
    ),
    "R21-date-out-of-service": (
        {("vehicles", 3): "B,van,urban,2023-04-12,30,km,"}, "visits", 8, "B", "date", DATES[0], "",
        {("vehicles", 3): f"B,van,urban,{DATES[0]},30,km,2024-08-23", ("odometer_log", 5): None},
    ),
    "R22-odometer-impossible": (
        {("visits", 5): f"a4,A,{DATES[3]},0,km,,"}, "visits", 5, "A", "odometer", "0", "0 km",
        {("visits", 5): f"a4,A,{DATES[3]},31000,km,,"},
    ),
    "R23-odometer-back": (
        {("visits", 6): f"a5,A,{DATES[4]},4000,km,,"}, "visits", 6, "A", "odometer", "4000", "4000 km",
        {("visits", 6): f"a5,A,{DATES[4]},32000,km,,"},
    ),
    "R24-odometer-leap": (
        {("visits", 7): f"a6,A,{DATES[5]},148000,mi,,", ("odometer_log", 4): None},
        "visits", 7, "A", "odometer", "148000", "238183 km",
        {("visits", 7): f"a6,A,{DATES[5]},60000,km,,", ("odometer_log", 4): None},
    ),
    "R30-out-of-range": (
        reading("b2", 3, "b2,front,right,outer_pad,thickness,1.25,in,before"),
        "measurements", line_of("b2", 3), "B", "value", "1.25 in", "outer_pad thickness",
        reading("b2", 3, "b2,front,right,outer_pad,thickness,0.39,in,before"),
    ),
    "R31-part-and-measure": (
        {("measurements", None): "a1,rear,left,drum,thickness,230,mm,before"},
        "measurements", 74, "A", "measure", "thickness", "drum thickness",
        {("measurements", None): "a1,rear,left,drum,diameter,230,mm,before"},
    ),
    "R34-bound": (
        reading("a6", 4, "a6,rear,left,pad,thickness,≤ 8.5,mm,before"), "measurements", line_of("a6", 4), "A", "value", "≤ 8.5", "",
        reading("a6", 4, "a6,rear,left,pad,thickness,8.5,mm,before"),
    ),
    "R36-limit-order": (
        {("limits", 3): "van,rear,pad,thickness,mm,11,1,1.6,,,sheet 1"}, "limits", 3, "", "applies_to", "van", "rear pad thickness",
        {("limits", 3): "van,rear,pad,thickness,mm,11,1.6,1.6,,,sheet 1"},
    ),
}  # fmt: skip


@pytest.mark.parametrize("code", CASES)
def test_a_rule_finds_what_was_planted_and_says_where(code, tmp_path):
    edits, table, row, vehicle, column, value, taken_for, near = CASES[code]
    found = load(tmp_path / "planted", edits).findings
    one = found[found["code"].eq(code)]
    assert len(one) == 1
    one = one.iloc[0]
    assert (one["table"], one["vehicle_id"], one["column"], one["value"], one["reading"]) == (table, vehicle, column, value, taken_for)
    assert pd.isna(one["row"]) if row is None else one["row"] == row
    assert (one["severity"], one["advice"]) == (findings.RULES[code].severity, findings.RULES[code].advice)
    assert code not in set(load(tmp_path / "near", near).findings["code"])


@pytest.mark.parametrize(
    ("code", "sentence"),
    [
        ("R8-not-a-number",
         "R8-not-a-number measurements, line 38, vehicle B: value “thick”: write a plain number with a decimal point"),
        ("R12-listed-twice",
         "R12-listed-twice measurements, line 74, vehicle A: visit_id “a4” (first on line 20): "
         "the same thing is listed twice; the first row was used: delete one"),
        ("R23-odometer-back",
         "R23-odometer-back visits, line 6, vehicle A: odometer “4000” (4000 km): "
         "it contradicts the vehicle's other odometers: look it up and correct it"),
        ("R31-part-and-measure",
         "R31-part-and-measure measurements, line 74, vehicle A: measure “thickness” (drum thickness): "
         "this part is not measured this way: correct the part or the measure"),
    ],
)  # fmt: skip
def test_a_finding_reads_as_a_sentence(code, sentence, tmp_path):
    found = load(tmp_path, CASES[code][0]).findings
    assert sentence in [findings.sentence(finding) for _, finding in found.iterrows()]


def test_every_rule_says_how_serious_it_is_and_what_to_do():
    numbers = [code.split("-")[0] for code in findings.RULES]
    assert len(set(numbers)) == len(numbers)
    for code, rule in findings.RULES.items():
        assert rule.code == code
        assert rule.severity in findings.SEVERITIES
        assert len(rule.advice) > 15 and not rule.advice.endswith(".")


# --- tables and files


def test_r1_an_optional_table_is_missed_and_an_empty_one_is_not(tmp_path):
    found = load(tmp_path / "without", work=None).findings
    assert found[["code", "severity", "table"]].to_numpy().tolist() == [["R1-table-missing", "note", "work"]]
    assert len(load(tmp_path / "empty", work=texts()["work"].split("\n")[0] + "\n").findings) == 0


def test_r2_a_table_in_two_forms(tmp_path):
    folder = write(tmp_path, texts())
    pd.DataFrame({"vehicle_id": ["Z"]}).to_parquet(folder / "vehicles.parquet")
    (folder / "vehicles.txt").write_text("not a table")
    records = brakedata.load(folder)
    assert list(records.vehicles["vehicle_id"]) == ["A", "B"]
    assert records.findings[["code", "table", "reading"]].to_numpy().tolist() == [
        ["R2-table-twice", "vehicles", "vehicles.csv was used, vehicles.parquet was not"]
    ]


def test_r3_an_optional_table_without_a_needed_column_is_not_used(tmp_path):
    records = load(tmp_path, {("limits", 1): texts()["limits"].splitlines()[0].replace("unit", "units")})
    assert len(records.limits) == 0
    assert records.findings[["code", "severity", "table", "column"]].to_numpy().tolist() == [
        ["R3-column-missing", "left_out", "limits", "unit"]
    ]


def test_r6_windows_letters_are_read_and_said(tmp_path):
    text = texts()["vehicles"].replace("urban", "städtisch")
    records = load(tmp_path, vehicles=text.encode("cp1252"))
    assert list(records.vehicles["duty"]) == ["städtisch"] * 2
    assert list(records.findings["code"]) == ["R6-encoding"]
    assert len(load(tmp_path / "utf8", vehicles=text).findings) == 0


def test_r15_settings_that_are_not_understood_are_said_and_the_others_count(tmp_path):
    folder = write(tmp_path, texts())
    (folder / "records.toml").write_text('[units]\ndistance = "leagues"\nthickness = "in"\n[[pad_change]]\nvisit_id = "a2"\n')
    found = brakedata.load(folder).findings
    assert found.loc[found["code"].eq("R15-setting-not-understood"), ["column", "value"]].to_numpy().tolist() == [
        ["pad_change", "{'visit_id': 'a2'}"], ["units.distance", "leagues"],
    ]  # fmt: skip
    (folder / "records.toml").write_text('units = "mi"\npad_change = 3\n')
    found = brakedata.load(folder).findings
    assert list(found["column"]) == ["pad_change", "units"]


# --- rows that depend on others


def test_r12_each_table_counts_a_thing_once(tmp_path):
    again = {
        ("vehicles", None): "A,truck,highway,,,,", ("limits", None): "van,front,pad,thickness,mm,13,3,1.6,,,sheet 2",
        ("visits", None): "a1,A,2023-04-11,8000,km,,", ("work", None): "a3,front,,hub_face,cleaned,,,",
        ("odometer_log", None): "A,2023-02-10,3200,km",
    }  # fmt: skip
    records = load(tmp_path, again)
    found = records.findings
    assert set(found["code"]) == {"R12-listed-twice"}
    assert found[["table", "row", "reading"]].to_numpy().tolist() == [
        ["limits", 5, "first on line 2"], ["odometer_log", 8, "first on line 2"], ["vehicles", 4, "first on line 2"],
        ["visits", 14, "first on line 2"], ["work", 3, "first on line 2"],
    ]  # fmt: skip
    assert list(records.vehicles["wear_class"]) == ["van", "van"]
    assert list(records.limits["new"]) == [12, 28, 11]


def test_r12_spares_two_points_of_a_rotor_that_agree(tmp_path):
    """A rotor is measured at several points; two that agree are two readings."""
    points = ["a1,front,left,rotor,thickness,27.5,mm,before"] * 2
    records = load(tmp_path, measurements=texts()["measurements"] + "\n".join(points) + "\n")
    assert len(records.findings) == 0
    assert records.measurements["part"].eq("rotor").sum() == 2


def test_r14_says_when_the_visit_itself_was_left_out(tmp_path):
    records = load(tmp_path, {("visits", 3): "a2,A,29.2.2023,16000,km,,"})
    found = records.findings[records.findings["code"].eq("R14-unknown-visit")]
    assert sorted(found["row"]) == [line_of("a2", n) for n in range(6)]
    assert set(found["reading"]) == {"visits line 3"}
    assert set(found["advice"]) == {"the visit's own row was left out: correct that row first"}
    assert set(found["vehicle_id"]) == {"A"}


@pytest.mark.parametrize(
    ("line", "code"),
    [(f"a2,A,{DATES[1]},,km,,", "R7-cell-empty"), (f"a2,A,{DATES[1]},about a lot,km,,", "R8-not-a-number"),
     (f"a2,A,{DATES[1]},16000,leagues,,", "R11-unknown-unit")],
)  # fmt: skip
def test_a_visit_stays_a_visit_without_its_odometer(line, code, tmp_path):
    """Its work and words count; its odometer is estimated from its neighbours, by hand half way between 8,000 and 24,000."""
    records = load(tmp_path, {("visits", 3): line, ("odometer_log", 3): None})
    assert list(records.findings["code"]) == [code]
    visit = records.visits.set_index("visit_id").loc["a2"]
    assert not visit["odometer_ok"]
    assert visit["clock_km"] == pytest.approx(16000)
    assert len(records.measurements) == 72


def test_a_vehicle_stays_a_vehicle_without_its_odometer_unit(tmp_path):
    records = load(tmp_path, {("vehicles", 2): "A,van,urban,2023-01-02,20,leagues,"})
    assert list(records.findings["code"]) == ["R11-unknown-unit"]
    assert len(records.visits) == 12


@pytest.mark.parametrize("visits", [2, 3])
def test_r20_a_lonely_date_is_a_slip_and_a_lonely_pair_too_but_not_three(visits, tmp_path):
    """Far from all others is two years; few is two, or one in two hundred (common practice, no source)."""
    extra = {("odometer_log", None): "A,2023-02-11,3300,km"}
    extra |= {("visits", 2 + n): f"a{n + 1},A,1999-05-0{n + 1},{8000 * (n + 1)},km,," for n in range(visits)}
    extra |= {("vehicles", 2): "A,van,urban,,20,km,"}
    texts_ = planted(extra)
    texts_["odometer_log"] += "".join(f"B,2023-03-{day:02d},{4500 + day},km\n" for day in range(1, 28))
    found = load(tmp_path, **texts_).findings
    rows = found.loc[found["code"].eq("R20-date-impossible"), "row"].tolist()
    assert rows == ([2, 3] if visits == 2 else [])


def test_r20_spares_the_lonely_date_of_a_vehicle_that_had_joined_by_then(tmp_path):
    edits = {("visits", 2): "a1,A,2019-05-01,8000,km,,", ("vehicles", 2): "A,van,urban,2019-04-01,20,km,"}
    texts_ = planted(edits)
    texts_["odometer_log"] += "".join(f"B,2023-03-{day:02d},{4500 + day},km\n" for day in range(1, 28))
    assert "R20-date-impossible" not in set(load(tmp_path, **texts_).findings["code"])


def test_r20_and_r21_look_at_the_dates_of_the_vehicles_too(tmp_path):
    records = load(tmp_path, {("vehicles", 2): "A,van,urban,2023-01-02,20,km,2203-01-02", ("vehicles", 3): "B,van,,2023-01-02,30,km,2022-01-01"})
    found = records.findings[records.findings["table"].eq("vehicles")]
    assert found[["code", "row", "column", "value"]].to_numpy().tolist() == [
        ["R20-date-impossible", 2, "retired_date", "2203-01-02"], ["R21-date-out-of-service", 3, "retired_date", "2022-01-01"],
    ]  # fmt: skip
    assert records.vehicles["retired_date"].isna().tolist() == [True, False]


def test_r25_a_vehicle_whose_odometers_disagree_is_not_believed(tmp_path):
    """Ten odometers that go down and down: no three agree, fewer than half."""
    edits = {("visits", 2 + n): f"a{n + 1},A,{DATES[n]},{km},km,," for n, km in enumerate((1111, 600, 500, 40, 30, 25))}
    edits |= {("odometer_log", 2 + n): f"A,{date},{km},km" for n, (date, km) in enumerate((("2023-02-10", 9), ("2023-05-31", 700), ("2024-09-02", 22)))}
    found = load(tmp_path, edits).findings
    none = found[found["code"].eq("R25-odometer-none")]
    assert none[["severity", "vehicle_id", "row"]].to_numpy().tolist() == [["refused", "A", 2]]
    listed = found[found["table"].isin(("visits", "odometer_log", "vehicles")) & found["column"].str.contains("odometer")]
    assert len(listed) == 10 and set(listed["vehicle_id"]) == {"A"}


@pytest.mark.parametrize(("zeros", "asked"), [(6, 6), (5, 0)])
def test_r32_a_whole_visit_of_zeros_is_asked_about(zeros, asked, tmp_path):
    edits = {}
    for n in range(zeros):
        line = planted({})["measurements"].splitlines()[line_of("a6", n) - 1]
        edits[("measurements", line_of("a6", n))] = ",".join([*line.split(",")[:5], "0", "mm", "before"])
    found = load(tmp_path, edits).findings
    assert found["code"].eq("R32-all-zero").sum() == asked


@pytest.mark.parametrize(
    ("line", "code"),
    [("van,front,pad,thickness,in,12,3,1.6,,,", "R30-out-of-range"), ("van,front,pad,runout,mm,,,0.1,,,", "R31-part-and-measure"),
     ("van,front,rotor,thickness,mm,28,,25,24.9,,", "R36-limit-order"), ("van,front,rotor,thickness,mm,25.5,,25,25.6,,", "R36-limit-order"),
     ("van,rear,drum,diameter,mm,230,,229,,,", "R36-limit-order"), ("van,rear,drum,diameter,mm,230,231,232,231.5,,", None),
     ("van,front,pad,thickness,in,0.47,0.12,0.06,,,", None), ("van,front,rotor,runout,mm,,,0.05,,,", None)],
)  # fmt: skip
def test_limits_must_be_possible_and_in_order(line, code, tmp_path):
    """A lining of 304.8 mm is none; a rotor wears down, a drum wears open (worked by hand)."""
    records = load(tmp_path, limits=texts()["limits"].splitlines()[0] + "\n" + line + "\n")
    assert list(records.findings["code"]) == ([] if code is None else [code])
    assert len(records.limits) == (code is None)


# --- odometers


def test_the_largest_set_of_odometers_that_agree_is_kept():
    """Worked by hand: the second goes ahead of the third; of the sets of four, the steadiest leaves the second out."""
    vehicle, day = np.zeros(5, dtype=int), np.array([0.0, 100, 200, 300, 400])
    code = checks.largest_consistent(vehicle, day, np.array([10_000.0, 35_000, 30_000, 40_000, 50_000]))
    assert code.tolist() == [0, checks.LEAP, 0, 0, 0]
    code = checks.largest_consistent(vehicle, day, np.array([10_000.0, 20_000, 3_000, 40_000, 50_000]))
    assert code.tolist() == [0, 0, checks.BACK, 0, 0]
    code = checks.largest_consistent(vehicle, day / 100, np.array([10_000.0, 11_000, 12_500, 13_000, 14_000]))
    assert code.tolist() == [0, 0, checks.LEAP, 0, 0]


def test_a_long_run_of_wrong_odometers_does_not_hide_the_right_ones():
    """Forty readings a thousand times too small between sixty good ones, more than the look-back."""
    day = np.arange(100.0) * 10
    km = 50_000 + 80 * day
    km[30:70] /= 1000
    code = checks.largest_consistent(np.zeros(100, dtype=int), day, km)
    assert np.flatnonzero(code).tolist() == list(range(30, 70))


def test_no_odometer_and_one_odometer_are_fine():
    nothing = np.zeros(0)
    assert len(checks.largest_consistent(nothing.astype(int), nothing, nothing)) == 0
    assert len(checks.off_pace(nothing.astype(int), nothing, nothing)) == 0
    assert checks.largest_consistent(np.zeros(1, dtype=int), np.zeros(1), np.ones(1)).tolist() == [0]


def test_off_pace_finds_a_slip_between_and_leaves_a_rest_and_a_doubled_use_alone():
    """Stretches of 100 days at 80 km a day, 8,000 km; a slip of 6,000 km, a stretch without driving, a use that doubled."""
    day, steady = np.arange(10.0) * 100, np.full(9, 8000.0)
    odometer = lambda steps: np.r_[0.0, np.cumsum(steps)] + 10_000  # noqa: E731
    slip = odometer(steady)
    slip[5] += 6000
    rested = odometer(np.where(np.arange(9) == 4, 0.0, steady))
    doubled = odometer(np.where(np.arange(9) > 4, 16000.0, steady))
    last = odometer(steady)
    last[-1] += 30_000
    found = [checks.off_pace(np.zeros(10, dtype=int), day, km).tolist() for km in (slip, rested, doubled, last)]
    assert found == [[5], [], [], [9]]


@pytest.fixture(scope="module")
def slipped(tmp_path_factory):
    """A made fleet with 2 % of its odometers written with a slipped digit: the visits as loaded, beside the truth."""
    made = fleet(vehicles=250, seed=31, slip_share=0.02)
    records = brakedata.load(write_fleet(made.tables, tmp_path_factory.mktemp("slipped")))
    visits = records.visits.merge(made.visits, on="visit_id")
    return visits.assign(error_km=(visits["odometer_km"] - visits["true_odometer_km"]).abs())


def test_slips_that_matter_are_found_and_good_odometers_are_left_alone(slipped):
    """Nine in ten of the slips of 10,000 km and more, as of all slips eight in ten; at most one good one in a hundred."""
    found = ~slipped["odometer_ok"]
    large = slipped["slipped"] & (slipped["error_km"] >= 10_000)
    assert large.sum() >= 30
    assert found[large].mean() >= 0.9
    assert found[slipped["slipped"]].mean() >= 0.8
    assert found[~slipped["slipped"]].mean() <= 0.01


def test_an_estimated_odometer_is_near_the_true_one(slipped):
    wrong = slipped[~slipped["odometer_ok"] & slipped["clock_km"].notna()]
    assert len(wrong) >= 20
    assert (wrong["clock_km"] - wrong["true_odometer_km"]).abs().median() < 2_000


@pytest.fixture(scope="module")
def fuel_cards(tmp_path_factory):
    """A city's fuel-card export, 153 vehicles, as the odometer log of a records folder without visits."""
    source = pd.read_csv(real("04_city_fuel_card_odometers_6570.csv"), dtype=str)
    log = pd.DataFrame(
        {
            "vehicle_id": source["Department"].str.strip() + " " + source["Vehicle ID"].str.strip(),
            "date": pd.to_datetime(source["Transaction Date"], format="%m/%d/%Y"), "odometer": source["Current Odometer"],
            "odometer_unit": "mi",
        }
    )  # fmt: skip
    folder = tmp_path_factory.mktemp("fuel cards")
    log.assign(date=log["date"].dt.strftime("%Y-%m-%d")).to_csv(folder / "odometer_log.csv", index=False)
    log[["vehicle_id"]].drop_duplicates().to_csv(folder / "vehicles.csv", index=False)
    (folder / "visits.csv").write_text("visit_id,vehicle_id,date,odometer\n")
    (folder / "measurements.csv").write_text("visit_id,axle,part,measure,value\n")
    return log.assign(row=np.arange(2, len(log) + 2)), brakedata.load(folder)


def test_real_odometers_that_go_back_are_listed(fuel_cards):
    """Each reading lower than the one before it: one of the two, at least, is a finding. Nothing believed goes back or leaps."""
    log, records = fuel_cards
    listed = set(records.findings.loc[records.findings["table"].eq("odometer_log"), "row"])
    log = log.assign(odometer=log["odometer"].astype(float), at=range(len(log)))
    log = log.sort_values(["vehicle_id", "date", "odometer"], kind="stable")
    back = log.groupby("vehicle_id")["odometer"].diff() < 0
    pairs = list(zip(log["row"].shift(1)[back], log["row"][back], strict=True))
    assert len(pairs) > 300
    assert [pair for pair in pairs if not listed & set(pair)] == []
    good = records.odometer_log[records.odometer_log["odometer_ok"]].groupby("vehicle_id")
    km, days = good["odometer_km"].diff(), good["date"].diff().dt.days
    assert km.min() >= 0
    assert not (km > 1000 * days.clip(lower=1)).any()


def test_real_odometers_absurd_ones_are_listed(fuel_cards):
    """The two wrong years, every zero, and whatever a vehicle cannot show."""
    log, records = fuel_cards
    found = records.findings
    wrong_years = set(log.loc[~log["date"].dt.year.eq(2017), "row"])
    assert wrong_years and wrong_years == set(found.loc[found["code"].eq("R20-date-impossible"), "row"])
    twice = found["code"].eq("R12-listed-twice")
    zero = set(log.loc[log["odometer"].astype(float).eq(0), "row"])
    assert len(zero) == 48 and zero <= set(found.loc[found["code"].eq("R22-odometer-impossible") | twice, "row"])
    assert len(records.odometer_log) + twice.sum() + len(wrong_years) == len(log)
    assert records.odometer_log["odometer_ok"].mean() > 0.85


def test_real_odometers_give_a_plausible_use(fuel_cards):
    """One vehicle read by hand: a new cluster on 12 May 2017, then 364 to 9,456 miles in 232 days, 63.1 km a day. City
    vehicles drive less than 200 km a day, half of them less than 40 (common practice, no source)."""
    _, records = fuel_cards
    good = records.odometer_log[records.odometer_log["odometer_ok"]].groupby("vehicle_id")
    days = (good["date"].max() - good["date"].min()).dt.days
    a_day = ((good["odometer_km"].max() - good["odometer_km"].min()) / days)[days > 60]
    assert len(a_day) > 120
    assert a_day["PW 113"] == pytest.approx((9456 - 364) * 1.609344 / 232, rel=1e-6)
    assert a_day.max() < 200
    assert a_day.median() < 40


# --- as of


def test_until_is_as_if_the_later_rows_had_never_been_written(tmp_path):
    """A fleet cut off by hand at a date, against the whole fleet taken back to it."""
    made = fleet(vehicles=25, seed=8, slip_share=0.03, log_every_days=40)
    as_of = pd.Timestamp("2024-12-31")
    visits = made.tables["visits"]
    known = visits[visits["date"] <= as_of]["visit_id"]
    early = {
        name: table[table["date"] <= as_of] if "date" in table else table[table["visit_id"].isin(known)] if "visit_id" in table else table
        for name, table in made.tables.items()
    }
    back = checks.until(brakedata.load(write_fleet(made.tables, tmp_path / "all")), as_of)
    then = brakedata.load(write_fleet(early, tmp_path / "early"))
    for name in ("vehicles", "limits", "visits", "measurements", "work", "odometer_log"):
        one, other = getattr(back, name), getattr(then, name)
        pd.testing.assert_frame_equal(one.drop(columns="row"), other.drop(columns="row"))
    pd.testing.assert_frame_equal(back.findings.drop(columns="row"), then.findings.drop(columns="row"))
    assert len(back.visits) < len(visits)


def test_every_visit_of_the_small_folder_counts_once():
    assert len(set(VISITS)) == 12
