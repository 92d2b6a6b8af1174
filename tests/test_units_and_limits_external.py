"""Units, gauge steps, default limits and what happens exactly at a limit, against definitions and printed numbers.

Sources are named beside each check. "Printed" means read in the text named; "common practice, no source" is a trade number;
"exact" follows from 1 in = 25.4 mm and 1 mi = 1.609344 km (international yard and pound agreement, 1959).
"""

import numpy as np
import pandas as pd
import pint
import pytest

import brakedata
from brakedata import checks, limits, lives, shared_model, units

UREG = pint.UnitRegistry()

# ------------------------------------------------------------------------------------------------------------ conversions


def test_factors_are_the_definitions():
    """Source: exact; a mile is 63,360 inches."""
    assert units.DISTANCE_KM["mi"] - 1.609344 == 0
    assert units.THICKNESS_MM["in"] - 25.4 == 0
    inches_a_mile = units.KM_PER_MI * 1e6 / units.MM_PER_IN
    assert inches_a_mile == pytest.approx(63_360, rel=1e-15)
    assert units.THICKNESS_MM["32nds"] * 32 - 25.4 == 0


@pytest.mark.parametrize("word", ["km", "kilometre", "kilometers", "mi", "mile", "miles"])
def test_distances_against_pint(word):
    """Source: pint's unit definitions, an independent library."""
    assert units.DISTANCE_KM[units.distance_unit(word)] == pytest.approx(UREG(word).to("km").magnitude, rel=1e-14)


@pytest.mark.parametrize("word", ["mm", "millimetre", "millimeters", "in", "inch", "inches", "um", "micron", "microns"])
def test_thicknesses_against_pint(word):
    """Source: pint's unit definitions, an independent library."""
    assert units.THICKNESS_MM[units.thickness_unit(word)] == pytest.approx(UREG(word).to("mm").magnitude, rel=1e-14)


@pytest.mark.parametrize(("written", "unit"), [(" KM ", "km"), ("Miles", "mi"), ("mi.", "mi"), ("leagues", None), ("", None)])
def test_distance_words(written, unit):
    """Source: common spellings, no source."""
    assert units.distance_unit(written) == unit


@pytest.mark.parametrize(
    ("written", "unit"),
    [('"', "in"), ("1/32 in", "32nds"), ("32NDS", "32nds"), ("in / 32", "32nds"), ("µm", "um"), ("cm", None), ("", None)],
)
def test_thickness_words(written, unit):
    """Source: common spellings, no source. A centimetre is no unit of a pad gauge: a slip of ten must not pass."""
    assert units.thickness_unit(written) == unit


@pytest.mark.parametrize(
    ("count", "mm"),
    [(1, 0.79375), (2, 1.5875), (3, 2.38125), (4, 3.175), (5, 3.96875), (6, 4.7625), (8, 6.35), (12, 9.525), (14, 11.1125),
     (24, 19.05)],
)  # fmt: skip
def test_32nds(count, mm):
    """Source: exact. A limit of 3/16 in and a reading of 6/32 must be the very same number, to compare equal."""
    assert count * units.THICKNESS_MM["32nds"] == pytest.approx(mm, rel=1e-15)
    assert count / 32 * units.THICKNESS_MM["in"] == count * units.THICKNESS_MM["32nds"]


@pytest.mark.parametrize(
    ("inches", "mm"), [(0.0005, 0.0127), (0.002, 0.0508), (0.015, 0.381), (0.03, 0.762), (0.06, 1.524), (0.09, 2.286)]
)
def test_thousandths(inches, mm):
    """Source: exact."""
    assert inches * units.THICKNESS_MM["in"] == pytest.approx(mm, rel=1e-14)


@pytest.mark.parametrize(
    ("mm", "count"), [(3, 3.78), (2, 2.52), (1.5, 1.89), (1.6, 2.016), (3.2, 4.031), (4.8, 6.047), (6.4, 8.063)]
)
def test_mm_in_32nds(mm, count):
    """Source: worked by hand, to the digits given. Printed mm limits lie just over the 32nds they stand for."""
    digits = 2 if mm in (3, 2, 1.5) else 3
    assert round(mm / units.MM_PER_32ND, digits) == count


# ------------------------------------------------------------------------------------------------------------ gauge steps


@pytest.mark.parametrize(("step_mm", "sd_mm"), [(1.0, 0.289), (25.4 / 32, 0.229), (0.5, 0.144), (0.1, 0.029), (0.01, 0.0029)])
def test_gauge_step_is_found_and_its_rounding_known(step_mm, sd_mm):
    """Source: worked by hand, even error over one step has sd step / sqrt(12); checked by rounding made thicknesses."""
    true = np.random.default_rng(7).uniform(2.0, 12.0, 4000)
    read = np.round(true / step_mm) * step_mm
    assert np.std(read - true) == pytest.approx(sd_mm, rel=0.04)
    frame = pd.DataFrame({"value_mm": np.round(read, 4), "technician": "", "unit": "mm"})
    assert shared_model.gauge_step(frame) == pytest.approx(np.full(4000, step_mm))


def test_each_technician_has_their_own_gauge():
    """Source: worked by hand; readings in whole mm by one, in whole 32nds by another, too few by a third."""
    whole = pd.DataFrame({"value_mm": np.tile([3.0, 4.0, 7.0, 8.0, 11.0], 6), "technician": "A", "unit": "mm"})
    feeler = pd.DataFrame({"value_mm": np.tile([4, 5, 7, 9, 10], 6) * 0.79375, "technician": "B", "unit": "32nds"})
    few = pd.DataFrame({"value_mm": [3.37, 4.41, 5.13], "technician": "C", "unit": "mm"})
    step = shared_model.gauge_step(pd.concat([whole, feeler, few], ignore_index=True))
    assert step[:30] == pytest.approx(np.full(30, 1.0))
    assert step[30:60] == pytest.approx(np.full(30, 0.79375))
    assert (step[60:] <= 0.01).all()


# ------------------------------------------------------------------------------------------------------ limits by default


def asked(family, axle="front"):
    return pd.DataFrame(
        {"vehicle_id": ["A-1"], "wear_class": ["van"], "axle": [axle], "family": [family], "measure": ["thickness"]}
    )


def limit_rows(rows):
    frame = pd.DataFrame(rows)
    for name in ("new_mm", "replace_at_mm", "discard_at_mm", "machine_to_mm"):
        frame[name] = frame.get(name, np.nan)
    return frame.assign(
        part="pad", measure="thickness", source="", row=np.arange(len(frame)) + 2.0,
        includes_backing=frame.get("includes_backing", False),
    )  # fmt: skip


NO_LIMITS = pd.DataFrame()


def test_planning_point_of_pads():
    """Source: 3.0 mm is the trade's usual replace point (common practice, no source)."""
    best, found = limits.planning(NO_LIMITS, asked("pad"))
    assert best.loc[0, "replace_at_mm"] == 3.0
    assert best.loc[0, "replace_default"]
    assert np.isnan(best.loc[0, "discard_at_mm"]), "a discard limit is never made up"
    assert {code for part in found for code in part["code"]} == {"R38-limit-default", "R39-no-discard-limit"}


def test_planning_point_of_shoes():
    """Source: 49 CFR 393.47(d) prints 1.6 mm (1/16 in) for hydraulic drums, as quoted; 2/32 in is 1.5875 mm.

    As a planning point it is common practice, no source: it is the printed limit itself.
    """
    best, _ = limits.planning(NO_LIMITS, asked("shoe"))
    assert best.loc[0, "replace_at_mm"] == 1.6
    assert round(2 * units.MM_PER_32ND, 1) == 1.6


def test_new_pads_by_default():
    """Source: new friction of car pads commonly 10 to 12 mm (common practice, no source)."""
    assert 10.0 <= limits.DEFAULT_NEW_MM["pad"] <= 12.0


def test_new_shoes_by_default_are_within_the_wide_prior():
    """Source: new lining of car drum brakes 4 to 5/32 in (common practice, no source); the model's sd there is 2 mm."""
    away = np.array([4, 5]) * units.MM_PER_32ND - limits.DEFAULT_NEW_MM["shoe"]
    assert np.abs(away).max() < shared_model.PRIOR_SD["new_unknown"]


def test_makers_limit_raises_the_default():
    """Source: worked by hand; planning to 3.0 mm with a discard limit of 3.5 mm would plan to pass it."""
    rows = limit_rows([{"applies_to": "*", "axle": "*", "discard_at_mm": 3.5}])
    assert limits.planning(rows, asked("pad"))[0].loc[0, "replace_at_mm"] == 3.5
    own = limit_rows([{"applies_to": "*", "axle": "*", "discard_at_mm": 1.6, "replace_at_mm": 2.0}])
    best = limits.planning(own, asked("pad"))[0]
    assert best.loc[0, "replace_at_mm"] == 2.0
    assert not best.loc[0, "replace_default"]


@pytest.mark.parametrize("with_backing_mm", [9.0, 10.0, 12.0])
def test_limit_with_backing_plate_is_no_lining_limit(with_backing_mm):
    """Source: some makers give 9, 10 or 12 mm with the plate (common practice, no source); read as lining all pads are due."""
    rows = limit_rows([{"applies_to": "*", "axle": "*", "discard_at_mm": with_backing_mm, "includes_backing": True}])
    best, found = limits.planning(rows, asked("pad"))
    assert best.loc[0, "replace_at_mm"] == 3.0
    assert np.isnan(best.loc[0, "discard_at_mm"])
    assert "R37-limit-with-backing" in {code for part in found for code in part["code"]}


def test_most_specific_limit_wins():
    """Source: the contract of the records: vehicle, then wear class, then *; a named axle before *."""
    steps = [(who, axle) for who in ("*", "van", "A-1") for axle in ("*", "front")]
    ladder = [(who, axle, 1.0 + step) for step, (who, axle) in enumerate(steps)]
    for count in range(1, len(ladder) + 1):
        rows = limit_rows([{"applies_to": who, "axle": axle, "replace_at_mm": mm} for who, axle, mm in ladder[:count]])
        shuffled = rows.iloc[np.random.default_rng(count).permutation(count)].reset_index(drop=True)
        assert limits.resolve(shuffled, asked("pad")).loc[0, "replace_at_mm"] == count


@pytest.mark.parametrize(
    ("part", "measure", "value"),
    [
        ("rotor", "thickness", 45.0), ("rotor", "thickness", 37.0), ("rotor", "thickness", 8.0), ("rotor", "thickness", 24.60),
        ("drum", "diameter", 16.5 * 25.4 + 3.05), ("drum", "diameter", 180.0), ("rotor", "runout", 0.15),
        ("drum", "runout", 0.15), ("rotor", "thickness_variation", 0.0127), ("rotor", "thickness_variation", 0.05),
    ],
)  # fmt: skip
def test_published_dimensions_are_possible(part, measure, value):
    """Source: heavy disc 45 new, 37 worn (from memory); thin rear discs 8 mm; 16.5 in drum at discard (from memory); runout and
    thickness variation of UN Regulation No. 90 and workshop texts (printed, common practice)."""
    low, high = checks.RANGES_MM[part, measure]
    assert low < value < high


@pytest.mark.parametrize("value", [23.0, 19.05, 12.0, 0.76])
def test_published_linings_are_possible(value):
    """Source: heavy air disc pad 23 mm and drum block 3/4 in new (common practice; from memory); 0.030 in over the plate."""
    assert checks.LINING_RANGE_MM[0] < value < checks.LINING_RANGE_MM[1]


# --------------------------------------------------------------------------------------------------------- at the limit


def past_limit(folder, reading, reading_unit, limit, limit_unit):
    """Whether a running lining read so is named by R46, at or under discard_at."""
    rows = {
        "vehicles": "vehicle_id,in_service_date,in_service_odometer\nA-1,2024-01-01,5",
        "visits": "visit_id,vehicle_id,date,odometer\n1,A-1,2024-09-01,20000\n2,A-1,2025-03-01,31000",
        "measurements": "visit_id,axle,side,part,measure,value,unit\n"
        f"1,front,left,pad,thickness,{2 * float(reading)},{reading_unit}\n2,front,left,pad,thickness,{reading},{reading_unit}",
        "limits": f"applies_to,axle,part,measure,unit,discard_at\n*,*,pad,thickness,{limit_unit},{limit}",
    }
    for name, text in rows.items():
        (folder / f"{name}.csv").write_text(text + "\n", encoding="utf-8")
    records = brakedata.load(folder)
    cut = lives.cut(records)
    model = shared_model.fit(cut, records.limits, pd.Series({"A-1": 31_000.0}))
    assert len(model.readings) == 2
    return "R46-past-limit" in set(model.findings["code"])


@pytest.mark.parametrize(
    ("reading", "reading_unit", "limit", "limit_unit", "past"),
    [
        ("4", "32nds", "0.125", "in", True),
        ("5", "32nds", "0.125", "in", False),
        ("2", "32nds", "0.0625", "in", True),
        ("2", "32nds", "2", "32nds", True),
        ("6", "32nds", "0.1875", "in", True),
        ("7", "32nds", "0.1875", "in", False),
        ("1.5", "mm", "1.5", "mm", True),
        ("1.6", "mm", "1.5", "mm", False),
        ("1.6", "mm", "1.6", "mm", True),
        ("0.126", "in", "0.125", "in", False),
        ("0.125", "in", "4", "32nds", True),
        ("3.175", "mm", "0.125", "in", True),
        ("2.38125", "mm", "3", "32nds", True),
        ("6", "32nds", "4.7625", "mm", True),
    ],
)  # fmt: skip
def test_exactly_at_discard(tmp_path, reading, reading_unit, limit, limit_unit, past):
    """Source: worked by hand from the exact definitions; discard_at is "at or under" in the records' contract.

    Rules differ at the limit itself ("less than" in one, "or less" in the next); the program names both, so that a person
    looks. A limit printed in mm stands a little over its inches (3.2 for 3.175): a shop with a 32nds gauge enters inches.
    """
    assert past_limit(tmp_path, reading, reading_unit, limit, limit_unit) is past


def test_printed_mm_limit_catches_the_inch_reading_below_it(tmp_path):
    """Source: worked by hand; 2/32 in is 1.5875 mm, which "1/16 in or less", printed as 1.6 mm, fails in both units."""
    assert past_limit(tmp_path, "2", "32nds", "1.6", "mm")
