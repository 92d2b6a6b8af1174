"""Do the windows hold what they say? On made fleets whose truth is known: a quick check, wide because it is quick.

Source: `simulate`, which draws wear by another law (a gamma process) than the model assumes. The bar the windows are built for is
77 to 83 % on thousands of axles; 72 to 88 % here, on about 890.
"""

import numpy as np
import pandas as pd
import pytest

import brakedata
from brakedata import schedule, simulate

FLEETS = {
    "0.5 mm gauge, every four months": dict(seed=101),
    "1 mm gauge, every six months": dict(seed=102, gauge_step_mm=1.0, inspection_interval_days=180.0),
    "32nds gauge, every eight months": dict(seed=103, gauge_step_mm=25.4 / 32, inspection_interval_days=240.0),
}


def per_life_ols(tables):
    """Due odometer of each axle by the plain way: a line through each position's readings since the last recorded change.

    The first position to reach replace_at decides; no answer where no position has a falling line through two odometers.
    """
    visits, work = tables["visits"], tables["work"]
    changes = work[work["part"].isin(["pads", "shoes"]) & work["action"].eq("replaced")].merge(visits, on="visit_id")
    fitted = changes.groupby(["vehicle_id", "axle"])["date"].max().rename("fitted").reset_index()
    r = tables["measurements"].merge(visits, on="visit_id").merge(fitted, how="left").fillna({"side": ""})
    r = r[r["part"].str.contains("pad|shoe")]
    r = r[r["fitted"].isna() | (r["date"] > r["fitted"]) | (r["date"].eq(r["fitted"]) & r["taken"].eq("after"))]
    limits = tables["limits"][tables["limits"]["part"].isin(["pad", "shoe"])]
    limits = limits.rename(columns={"applies_to": "wear_class"})[["wear_class", "axle", "replace_at"]]
    r = r.merge(tables["vehicles"][["vehicle_id", "wear_class"]]).merge(limits)
    due = []
    for (vehicle, axle, _, _), one in r.groupby(["vehicle_id", "axle", "side", "part"]):
        if one["odometer"].min() < one["odometer"].max():
            slope, level = np.polyfit(one["odometer"], one["value"], 1)
            if slope < 0:
                due.append((vehicle, axle, (one["replace_at"].iloc[0] - level) / slope))
    return pd.DataFrame(due, columns=["vehicle_id", "axle", "ols_km"]).groupby(["vehicle_id", "axle"], as_index=False).min()


@pytest.fixture(scope="module")
def judged(tmp_path_factory):
    """Every axle in service of three made fleets of 150 vehicles: forecast, plain line and truth side by side."""
    out = []
    for name, habits in FLEETS.items():
        made = simulate.fleet(vehicles=150, years=4.0, **habits)
        plan = schedule.make(brakedata.load(simulate.write(made.tables, tmp_path_factory.mktemp("fleet"))))
        rows = plan.table.merge(per_life_ols(made.tables), on=["vehicle_id", "axle"], how="left")
        rows = rows.merge(made.truth, on=["vehicle_id", "axle"], how="right", suffixes=("", "_true"))
        out.append(rows.assign(fleet=name))
    return pd.concat(out, ignore_index=True)


def test_an_answer_for_every_axle(judged):
    assert len(judged) > 800
    assert judged[["due_odometer_km", "due_date", "due_odometer_early_km", "due_odometer_late_km"]].notna().all().all()


@pytest.mark.parametrize("what", ["due_odometer", "due_date"])
def test_eight_times_in_ten(judged, what):
    """The truth lies between early and late 72 to 88 %, and beyond either 5 to 16 %."""
    end = {"due_odometer": "_km", "due_date": ""}[what]
    true = judged["due_odometer_km_true" if what == "due_odometer" else "due_date_true"]
    before = (true < judged[f"{what}_early{end}"]).mean()
    after = (true > judged[f"{what}_late{end}"]).mean()
    print(f"{what}: held {1 - before - after:.3f}, before {before:.3f}, after {after:.3f}, {len(judged)} axles")
    assert 0.72 <= 1 - before - after <= 0.88
    assert 0.05 <= before <= 0.16
    assert 0.05 <= after <= 0.16


@pytest.mark.parametrize("basis", ["own", "shared", "fleet"])
def test_eight_times_in_ten_whatever_it_leans_on(judged, basis):
    """The windows hold 65 to 93 % within each basis: they are wide where little was read, not wrong."""
    rows = judged[judged["basis"].eq(basis)]
    assert len(rows) > 60
    held = rows["due_odometer_km_true"].between(rows["due_odometer_early_km"], rows["due_odometer_late_km"])
    print(f"{basis}: held {held.mean():.3f} of {len(rows)}")
    assert 0.65 <= held.mean() <= 0.93


def test_windows_are_no_wider_than_they_must_be(judged):
    """Negative control: windows half as wide hold far less, so the check above could have failed."""
    middle, true = judged["due_odometer_km"], judged["due_odometer_km_true"]
    early = middle - (middle - judged["due_odometer_early_km"]) / 2
    late = middle + (judged["due_odometer_late_km"] - middle) / 2
    assert true.between(early, late).mean() < 0.62


def test_the_lining_named_is_the_lining_that_goes_first(judged):
    """Of four linings the one named is the right one far more often than one in four, and its thickness is the thinnest's."""
    named = judged["governing_part"].eq(judged["governing_part_true"])
    named &= judged["governing_side"].eq(judged["governing_side_true"])
    miss = judged["thickness_mm"] - judged["thickness_mm_true"]
    print(
        f"named rightly {named.mean():.2f}; thickness missed by {miss.abs().median():.2f} mm (median), {miss.mean():+.2f} (mean)"
    )
    assert named.mean() > 0.5
    assert miss.abs().median() < 0.5
    assert abs(miss.mean()) < 0.3


def test_misses_less_than_the_plain_line(judged):
    """Median miss of the due odometer at most 0.75 of the plain line's, on the axles where that answers at all (about half).

    Who knew every rate and today's thickness exactly would miss by about 0.4 of the plain line's: the wander ahead is nobody's.
    """
    rows = judged[judged["ols_km"].notna()]
    miss = (rows["due_odometer_km"] - rows["due_odometer_km_true"]).abs().median()
    plain = (rows["ols_km"] - rows["due_odometer_km_true"]).abs().median()
    print(f"median miss {miss:,.0f} km, plain line {plain:,.0f} km, {len(rows)} of {len(judged)} axles have a line")
    assert 0.3 * len(judged) < len(rows) < 0.95 * len(judged)
    assert miss <= 0.75 * plain
