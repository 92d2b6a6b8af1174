"""Gauge study: how far two people, or one person twice, differ on the same lining, which is the repeat error of the shop's own readings.

How it is written down, within the contract's tables: measure about ten vehicles as always, then have a second person (or the same one,
later, without looking at the first sheet) measure them again before they leave. Each round is a visit of its own, of the same day, with
the technician who read it and the reason ``gauge study``, and no linings are changed between. Only visits with that reason count: two
visits of one day may else be one written down twice.

The readings are taken apart as ``reading = part + person + error`` (two-way analysis of variance, part and person crossed, cells of
any size): *repeatability* is the error, how far one person's readings of one part scatter (what persons do differently part by part is
in it); *reproducibility* is how far persons differ over all parts; *part* how far the linings do. What the forecast needs is the scatter
of a reading, whoever takes it: repeatability and reproducibility together.

A gauge with a coarse step hides error: two readings of one lining agree when both are rounded to the same mark. That is worked back
(`unrounded`), since the model adds the rounding of every gauge itself.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from brakedata import findings, settings_file
from brakedata.findings import RecordsError
from brakedata.records import LEAST_REPEATED
from brakedata.units import GAUGE_STEPS_MM

REASON = "gauge study"
LEVEL = 0.95
LEAST_FREEDOM = LEAST_REPEATED
"""Fewer repeated readings than this, those used up by the parts and persons counted off, say too little."""


@dataclass(frozen=True)
class Part:
    """One standard deviation, mm, with its 95 % limits (``high`` may be infinite)."""

    sd: float
    low: float
    high: float


@dataclass(frozen=True)
class GaugeStudy:
    """What a gauge study says.

    Attributes
    ----------
    readings, parts, people : int
        Readings taken more than once, the linings they are of, and who took them.
    freedom : int
        Degrees of freedom of the repeatability.
    step_mm : float
        Step of the gauge; 0 where none is seen.
    repeatability, reproducibility, part : Part
        As read, rounding and all. Reproducibility and its limits are 0 with one person.
    repeat_sd_mm : float
        Repeat error of a reading, whoever takes it, rounding taken out again; NaN where the study is too small.
    repeat_low_mm, repeat_high_mm : float
        Its 95 % limits.
    people_table : DataFrame
        ``technician, readings, away_mm`` (how far above the mean of all readings of the same linings).
    findings : DataFrame
        R94 where the study is too small.
    """

    readings: int
    parts: int
    people: int
    freedom: int
    step_mm: float
    repeatability: Part
    reproducibility: Part
    part: Part
    repeat_sd_mm: float
    repeat_low_mm: float
    repeat_high_mm: float
    people_table: pd.DataFrame
    findings: pd.DataFrame


def readings_of(records) -> pd.DataFrame:
    """The readings of the gauge studies in the records.

    Parameters
    ----------
    records : Records

    Returns
    -------
    DataFrame
        ``part`` (number of the lining, rotor or drum on its day), ``technician, value_mm``, only parts read more than once.
    """
    visits = records.visits[records.visits["reason"].str.strip().str.lower().eq(REASON)]
    one = records.measurements
    one = one[one["value_mm"].notna() & one["measure"].eq("thickness")]
    one = one.drop(columns=["vehicle_id", "date"]).merge(visits[["visit_id", "vehicle_id", "date", "technician"]], on="visit_id")
    lining = ~one["part"].isin(("rotor", "drum"))
    one = one[lining].reset_index(drop=True)
    one["part"] = one.groupby(["vehicle_id", "date", "axle", "side", "part", "taken"], sort=True).ngroup()
    several = one.groupby("part")["part"].transform("size") > 1
    return one.loc[several, ["part", "technician", "value_mm"]].reset_index(drop=True)


def study(readings: pd.DataFrame) -> GaugeStudy:
    """Take readings of the same parts apart.

    Parameters
    ----------
    readings : DataFrame
        ``part, technician, value_mm``, each part read at least twice.

    Returns
    -------
    GaugeStudy

    Notes
    -----
    Limits: repeatability chi-square; the others Williams and Tukey's (Williams 1962, A confidence interval for variance components,
    Biometrika 49, 278-281).
    """
    readings = readings.sort_values(["part", "technician"], kind="stable").reset_index(drop=True)
    part = np.unique(readings["part"], return_inverse=True)[1]
    names, person = np.unique(readings["technician"].astype(str), return_inverse=True)
    value = readings["value_mm"].to_numpy(dtype=float)
    sums = _sums_of_squares(value, part, person)
    about = (len(value), len(np.unique(part)), len(names), int(sums["error"][1]))
    step = _step(value)
    if sums["error"][1] < LEAST_FREEDOM:
        none = Part(np.nan, np.nan, np.nan)
        reading = f"{about[0]} readings of {about[1]} parts by {about[2]} people"
        found = (
            findings.make("R94-gauge-study-small", "visits", column="reason", value=REASON, reading=reading)
            if len(value)
            else findings.empty()
        )
        return GaugeStudy(*about, step, none, none, none, np.nan, np.nan, np.nan, _people(names, person, part, value), found)
    repeatability = _error(*sums["error"])
    by_person, by_part = (_component(*sums[name], *sums["error"]) for name in ("person", "part"))
    sd, low, high = _of_a_reading(repeatability, by_person, sums, step)
    return GaugeStudy(
        *about, step, repeatability, by_person, by_part, sd, low, high, _people(names, person, part, value), findings.empty()
    )


def of_records(records) -> GaugeStudy:
    """The gauge study in the records; one without a reading where there is none."""
    return study(readings_of(records))


def _sums_of_squares(value, part, person) -> dict[str, tuple[float, float, float]]:
    """Sum of squares, degrees of freedom and mean number of readings of: person (given part), part (given person), error."""
    parts, people = part.max(initial=-1) + 1, person.max(initial=-1) + 1
    if not len(value):
        return {name: (0.0, 0.0, 1.0) for name in ("person", "part", "error")}
    count = np.zeros((parts, people))
    np.add.at(count, (part, person), 1.0)
    design = np.zeros((len(value), people))
    design[np.arange(len(value)), person] = 1.0
    within = value - _means(part, value)[part]
    apart = design - np.column_stack([_means(part, column)[part] for column in design.T])
    effect, _, rank, _ = np.linalg.lstsq(apart, within, rcond=None)
    error = float(((within - apart @ effect) ** 2).sum())
    freedom = len(value) - parts - rank
    person_sum = float((within**2).sum()) - error
    alone = value - _means(person, value)[person]
    part_sum = float((alone**2).sum()) - error
    part_freedom = parts + rank - people
    kept = (apart**2).sum() / max(rank, 1)
    apart_parts = len(value) - (count**2 / count.sum(axis=0)).sum()
    return {
        "person": (max(person_sum, 0.0), float(rank), kept), "part": (max(part_sum, 0.0), float(part_freedom), apart_parts / max(part_freedom, 1)),
        "error": (error, float(freedom), 1.0),
    }  # fmt: skip


def _means(group, value):
    return np.bincount(group, value) / np.bincount(group)


def _error(square, freedom, _):
    """Standard deviation of the error with its limits."""
    from scipy.stats import chi2

    tails = chi2.ppf([0.5 + LEVEL / 2, 0.5 - LEVEL / 2], freedom)
    return Part(*np.sqrt([square / freedom, *(square / tails)]).tolist())


def _component(square, freedom, each, error_square, error_freedom, _):
    """Standard deviation of what a mean square holds beyond the error, ``each`` readings in it, with its limits."""
    from scipy.stats import chi2, f

    if freedom < 1:
        return Part(0.0, 0.0, 0.0)
    error = error_square / error_freedom
    variance = [(square / freedom - error) / each]
    for tail in (0.5 + LEVEL / 2, 0.5 - LEVEL / 2):
        variance.append((square - freedom * error * f.ppf(tail, freedom, error_freedom)) / (each * chi2.ppf(tail, freedom)))
    return Part(*np.sqrt(np.maximum(variance, 0.0)).tolist())


def _of_a_reading(repeatability, by_person, sums, step):
    """Repeat error of a reading whoever takes it, with its limits: Satterthwaite's degrees of freedom; rounding taken out."""
    from scipy.stats import chi2

    total = repeatability.sd**2 + by_person.sd**2
    _, error_freedom, _ = sums["error"]
    square, freedom, each = sums["person"]
    shares = [(repeatability.sd**2 * (1 - 1 / each), error_freedom)] + ([(square / freedom / each, freedom)] if freedom else [])
    effective = total**2 / max(sum(share**2 / df for share, df in shares), 1e-12)
    tails = chi2.ppf([0.5 + LEVEL / 2, 0.5 - LEVEL / 2], max(effective, 1.0))
    return tuple(unrounded(variance, step) for variance in (total, *(total * max(effective, 1.0) / tails)))


def _step(value) -> float:
    """Step of the gauge, mm: the coarsest known one that the readings are multiples of."""
    for step in GAUGE_STEPS_MM:
        if len(value) and np.mean(np.abs(value / step - np.round(value / step)) * step <= 0.006) >= 0.97:
            return float(step)
    return 0.0


def unrounded(variance: float, step_mm: float) -> float:
    """Standard deviation of the error before readings were rounded, from how far rounded readings of one part scatter.

    With true sizes spread evenly over the step, readings with normal errors of standard deviation s, rounded to the step, scatter about the
    mean of their part with variance ``s**2 + step**2 / 12 - step**2 / (2 pi**2) * sum(exp(-(2 pi k s / step)**2) / k**2)``: nothing for s = 0,
    Sheppard's ``s**2 + step**2 / 12`` for a large s (worked out by hand from the Fourier series of x (1 - x)).

    Parameters
    ----------
    variance : float
        Variance within parts, mm2.
    step_mm : float

    Returns
    -------
    float
        mm.
    """
    from scipy.optimize import brentq

    if step_mm <= 0 or variance <= 0:
        return float(np.sqrt(max(variance, 0.0)))
    return float(brentq(lambda sd: scatter(sd, step_mm) - variance, 0.0, np.sqrt(variance) + step_mm))


def scatter(sd_mm: float, step_mm: float) -> float:
    """Variance within a part of readings with this error, rounded to this step; the other way about from `unrounded`."""
    k = np.arange(1, 400)
    hidden = (np.exp(-((2 * np.pi * k * sd_mm / step_mm) ** 2)) / k**2).sum()
    return float(sd_mm**2 + step_mm**2 / 12 - step_mm**2 / (2 * np.pi**2) * hidden)


def _people(names, person, part, value) -> pd.DataFrame:
    """How far each person reads above the mean of all readings of the same linings."""
    within = value - _means(part, value)[part] if len(value) else value
    count = np.bincount(person, minlength=len(names))
    away = np.bincount(person, within, minlength=len(names)) / np.maximum(count, 1)
    return pd.DataFrame({"technician": names, "readings": count, "away_mm": away})


# --- kept beside the records ------------------------------------------------------------------------------------------


def keep(records, told: GaugeStudy) -> Path:
    """Write the repeat error into ``records.toml`` beside the records, for the model to use; the file.

    Raises
    ------
    RecordsError
        The study is too small or its gauge too coarse, or the file cannot be written.
    """
    if not told.repeat_sd_mm > 0:
        raise RecordsError(
            "the gauge study says too little to be used: measure about ten vehicles twice, with a finer gauge if all readings agree."
        )
    with settings_file.changing(records.source, "the repeat error could not be written", "try again") as document:
        document.setdefault("gauge", {})
        document["gauge"].update({"repeat_sd_mm": round(told.repeat_sd_mm, 3), "readings": told.readings})
    return settings_file.place(records.source)
