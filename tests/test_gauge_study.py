"""Gauge study: published variances, planted errors found again, rounding taken out, and what is kept for the model.

Published: Montgomery's two-factor gauge study (20 parts, 3 people, twice; reduced model; value from memory, recomputed).
"""

import folders
import numpy as np
import pandas as pd
import pytest
from public_data import reference

import brakedata
from brakedata import gauge_study, lives, simulate, who_is_who
from brakedata.findings import RecordsError
from brakedata.shown import Shown
from brakedata.views import pad_life as view


@pytest.fixture(scope="module")
def published():
    return pd.read_csv(reference("montgomery_gauge_rr.csv")).rename(columns={"op": "technician", "y": "value_mm"})


def test_published_variances(published):
    told = gauge_study.study(published)
    variances = [part.sd**2 for part in (told.part, told.reproducibility, told.repeatability)]
    assert np.round(variances, 4) == pytest.approx([10.2513, 0.0106, 0.8832], abs=1e-9)
    assert (told.readings, told.parts, told.people, told.freedom) == (120, 20, 3, 98)
    sums = gauge_study._sums_of_squares(
        published["value_mm"].to_numpy(), published["part"].to_numpy() - 1, published["technician"].to_numpy() - 1
    )
    assert [sums["part"][0], sums["person"][0], sums["error"][0]] == pytest.approx([1185.425, 2.617, 27.050 + 59.500], abs=5e-4)


def test_repeatability_limits_are_those_of_chi_square(published):
    """By hand: 86.55 / 98 = 0.88316; chi-square with 98 degrees of freedom, 2.5 and 97.5 %: 72.501 and 127.282 (tables)."""
    limits = gauge_study.study(published).repeatability
    assert [limits.low**2, limits.high**2] == pytest.approx([86.55 / 127.282, 86.55 / 72.501], rel=1e-4)


def test_gaps_are_taken_as_an_independent_library_takes_them(published):
    """A third of the readings missing: sums of squares as statsmodels' type II analysis of variance."""
    import statsmodels.formula.api as smf
    from statsmodels.stats.anova import anova_lm

    some = published.sample(80, random_state=1)
    some = some[some.groupby("part")["part"].transform("size") > 1]
    part, person = (np.unique(some[name], return_inverse=True)[1] for name in ("part", "technician"))
    ours = gauge_study._sums_of_squares(some["value_mm"].to_numpy(), part, person)
    theirs = anova_lm(smf.ols("value_mm ~ C(part) + C(technician)", some).fit(), typ=2)
    assert [ours["part"][0], ours["person"][0], ours["error"][0]] == pytest.approx(theirs["sum_sq"].tolist(), rel=1e-8)
    assert [ours["part"][1], ours["person"][1], ours["error"][1]] == theirs["df"].tolist()


@pytest.mark.parametrize(("step", "sd"), [(0.1, 0.15), (0.5, 0.15), (0.5, 0.3), (25.4 / 32, 0.25)])
def test_ten_vehicles_and_two_people_give_the_planted_error_back(step, sd):
    """Eight linings a vehicle, read once by each: within 25 % nine times in ten, without bias, limits hold (40 studies)."""
    rng, told = np.random.default_rng(5), []
    part, person = np.repeat(np.arange(80), 2), np.tile(["T1", "T2"], 80)
    for _ in range(40):
        read = rng.uniform(3, 12, 80)[part] + rng.normal(0, sd, 160)
        told.append(
            gauge_study.study(pd.DataFrame({"part": part, "technician": person, "value_mm": np.round(read / step) * step}))
        )
    found = np.array([one.repeat_sd_mm for one in told])
    assert (np.abs(found / sd - 1) <= 0.25).mean() >= 0.85
    assert abs(found.mean() / sd - 1) <= 0.06
    assert np.mean([one.repeat_low_mm <= sd <= one.repeat_high_mm for one in told]) >= 0.85
    assert {one.step_mm for one in told} == {step}


def test_a_person_who_reads_thicker_counts_in_the_error_of_a_reading():
    """Repeat error 0.1 mm, people 0.4 mm apart (0.41 as drawn): their standard deviation, 0.28 mm, and 0.1 mm make 0.30 mm."""
    rng = np.random.default_rng(2)
    part, second = np.repeat(np.arange(80), 2), np.tile([0.0, 0.4], 80)
    read = np.round(rng.uniform(3, 12, 80)[part] + second + rng.normal(0, 0.1, 160), 2)
    told = gauge_study.study(pd.DataFrame({"part": part, "technician": np.where(second > 0, "B", "A"), "value_mm": read}))
    assert told.repeatability.sd == pytest.approx(0.1, rel=0.2)
    assert told.repeat_sd_mm == pytest.approx(0.30, rel=0.1)
    assert told.people_table["away_mm"].to_numpy() == pytest.approx([-0.2, 0.2], abs=0.02)
    assert "B reads 0.41 mm thicker than A" in " ".join(view.gauge_sentences(told, None, 0.2, Shown()))


@pytest.mark.parametrize("ratio", [0.1, 0.3, 0.6, 1.5])
def test_what_rounding_hides(ratio):
    """Scatter of rounded pairs, drawn: half the mean squared difference of two readings of one lining."""
    rng = np.random.default_rng(1)
    true = rng.uniform(0, 1, 400_000)
    one, other = (np.round(true + rng.normal(0, ratio, len(true))) for _ in range(2))
    assert gauge_study.scatter(ratio, 1.0) == pytest.approx(((one - other) ** 2).mean() / 2, rel=0.02)
    assert gauge_study.unrounded(gauge_study.scatter(ratio, 1.0), 1.0) == pytest.approx(ratio, rel=1e-6)
    assert gauge_study.unrounded(0.04, 0.0) == 0.2


# --- records


def with_study(folder, reason="gauge study", value="9.6"):
    """The small folder, with visit a6 of vehicle A measured again by T2 on the same day."""
    again = {("visits", None): f"a7,A,2024-08-23,48000,km,{reason},T2"}
    tables = folders.planted(again)
    tables["visits"] = tables["visits"].replace("a6,A,2024-08-23,48000,km,inspection,T1", f"a6,A,2024-08-23,48000,km,{reason},T1")
    rows = [f"a7,{axle},{side},{part},thickness,{value},mm,before" for axle, side, part, _ in folders.READINGS]
    tables["measurements"] += "\n".join(rows) + "\n"
    return brakedata.load(folders.write(folder, tables))


def test_only_visits_said_to_be_a_gauge_study_count(tmp_path):
    records = with_study(tmp_path / "said", reason="Gauge study ")
    readings = gauge_study.readings_of(records)
    assert len(readings) == 12 and readings["part"].nunique() == 6 and set(readings["technician"]) == {"T1", "T2"}
    told = gauge_study.of_records(records)
    assert np.isnan(told.repeat_sd_mm) and told.findings["code"].tolist() == ["R94-gauge-study-small"]
    assert "too few to say" in " ".join(view.gauge_sentences(told, None, 0.2, Shown()))
    assert len(gauge_study.readings_of(with_study(tmp_path / "twice", reason="inspection"))) == 0
    assert not len(gauge_study.of_records(folders.load(tmp_path / "none")).findings)


def test_a_made_fleet_measured_twice_gives_its_error_back(tmp_path):
    """Fourteen vehicles of a made fleet read again, 0.2 mm repeat error both times; nothing about the second round is found fault with."""
    made = simulate.fleet(20, 3.0, 5, gauge_step_mm=0.1, slip_share=0.0, repeat_sd_mm=0.2)
    visits, readings = made.tables["visits"], made.tables["measurements"]
    last = visits.sort_values("date").drop_duplicates("vehicle_id", keep="last").head(14)
    twice = readings[
        readings["visit_id"].isin(last["visit_id"]) & ~readings["part"].isin(("rotor", "drum")) & readings["taken"].ne("after")
    ]
    read = made.readings["true_mm"][twice.index] + np.random.default_rng(0).normal(0, 0.2, len(twice))
    second = last.assign(visit_id="G" + last["visit_id"].astype(str), technician="T9", complaint=None)
    visits = pd.concat([visits, second], ignore_index=True)
    said = visits["visit_id"].isin([*last["visit_id"], *second["visit_id"]])
    tables = made.tables | {
        "visits": visits.assign(reason=visits["reason"].where(~said, "gauge study")),
        "measurements": pd.concat([readings, twice.assign(visit_id="G" + twice["visit_id"].astype(str), value=read.round(1))]),
    }
    records = brakedata.load(simulate.write(tables, tmp_path))
    told = gauge_study.of_records(records)
    assert told.parts > 60 and told.readings == 2 * told.parts
    assert told.repeat_sd_mm == pytest.approx(0.2, rel=0.25) and told.repeat_low_mm <= 0.2 <= told.repeat_high_mm
    assert records.findings["table"].isin(("visits", "measurements")).sum() == 0
    assert len(who_is_who.propose(records, lives.cut(records))) == 0


def good_study(sd=0.2):
    rng = np.random.default_rng(4)
    part = np.repeat(np.arange(40), 2)
    read = np.round(rng.uniform(3, 12, 40)[part] + rng.normal(0, sd, 80), 1)
    return gauge_study.study(pd.DataFrame({"part": part, "technician": np.tile(["T1", "T2"], 40), "value_mm": read}))


def test_the_repeat_error_is_kept_beside_the_records_and_read_again(tmp_path):
    records = folders.load(tmp_path / "mine")
    assert records.settings.repeat is None
    (tmp_path / "mine" / "records.toml").write_text('# ours\n[units]\ndistance = "km"\n')
    told = good_study()
    file = gauge_study.keep(records, told)
    again = folders.load(tmp_path / "mine")
    assert again.settings.repeat == (round(told.repeat_sd_mm, 3), 80)
    text = file.read_text()
    assert text.startswith("# ours") and "[gauge]" in text and 'distance = "km"' in text
    assert again.findings["code"].ne("R15-setting-not-understood").all()


@pytest.mark.parametrize("text", ["repeat_sd_mm = 0", "repeat_sd_mm = 21\nreadings = 40", 'repeat_sd_mm = "x"\nreadings = 40',
                                  "repeat_sd_mm = 0.2\nreadings = 3", "repeat_sd_mm = nan\nreadings = 40", "repeat_sd_mm = true\nreadings = 40"])  # fmt: skip
def test_a_repeat_error_that_cannot_be_is_a_finding_and_is_not_used(tmp_path, text):
    folders.load(tmp_path / "mine")
    (tmp_path / "mine" / "records.toml").write_text(f"[gauge]\n{text}\n")
    records = folders.load(tmp_path / "mine")
    assert records.settings.repeat is None
    found = records.findings[records.findings["code"].eq("R15-setting-not-understood")]
    assert found["column"].tolist() == ["gauge"] and "repeat_sd_mm" in found["value"].iloc[0]


def test_a_study_in_which_all_readings_agree_is_not_kept(tmp_path):
    part = np.repeat(np.arange(40), 2)
    told = gauge_study.study(pd.DataFrame({"part": part, "technician": np.tile(["T1", "T2"], 40), "value_mm": 3.0 + part % 8}))
    assert told.repeat_sd_mm == 0 and told.repeat_high_mm == 0
    assert "too coarse" in " ".join(view.gauge_sentences(told, None, 0.2, Shown()))
    with pytest.raises(RecordsError, match="finer gauge"):
        gauge_study.keep(folders.load(tmp_path / "mine"), told)
    assert not (tmp_path / "mine" / "records.toml").exists()


def test_the_wear_model_takes_the_shops_own_error_for_the_stated_one(tmp_path):
    """A few vehicles say little of the repeat error themselves: what the study said moves the estimate, and more so the more readings."""
    made = simulate.fleet(8, years=2.0, seed=5)
    folder = simulate.write(made.tables, tmp_path)
    sd = {}
    for said in ("", "readings = 10", "readings = 500"):
        (folder / "records.toml").write_text(f"[gauge]\nrepeat_sd_mm = 0.6\n{said}\n" if said else "", encoding="utf-8")
        sd[said] = brakedata.schedule.make(brakedata.load(folder)).model.scales["repeat_mm"]
    assert sd[""] < sd["readings = 10"] < sd["readings = 500"] < 0.62
