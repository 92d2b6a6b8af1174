"""Odometers held against the vehicle's own: back, rolled over, too far, the same as before (rules O16 to O19)."""

import datetime
from dataclasses import dataclass, replace

from brakedata.cells.reading import FLAG, OK_ASSUMED, Reading, flag, lower_to
from brakedata.units import DISTANCE_KM, KM_PER_MI

MOST_KM_A_DAY = 1000
USUAL_STEP_KM = 5000.0
"""Distance between two visits where the vehicle's own readings do not show it yet (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Past:
    km: float
    day: datetime.date | None


def _day(value) -> datetime.date | None:
    try:
        return datetime.date.fromisoformat(str(value)[:10])
    except ValueError:
        return None


def _past(hints: dict) -> list[_Past]:
    out = []
    for item in hints.get("previous") or ():
        value, unit, day = (
            (item.get("value"), item.get("unit", "km"), _day(item.get("date"))) if isinstance(item, dict) else (item, "km", None)
        )
        if isinstance(value, (int, float)) and unit in DISTANCE_KM:
            out.append(_Past(value * DISTANCE_KM[unit], day))
    return out


def against_history(readings: list[Reading], hints: dict) -> list[Reading]:
    """Rules O16 to O19: the cells go on with the vehicle whose accepted readings are ``previous``; suggest, never apply."""
    past = _past(hints)
    if not past:
        return readings
    dates = list(hints.get("dates") or ())
    days = [_day(dates[i]) if i < len(dates) else None for i in range(len(readings))]
    digits = hints.get("odometer_digits")
    capacity = 10 ** int(digits) if isinstance(digits, int) and 3 <= digits <= 7 else None
    offset = 0.0
    disputed: tuple[int, float] | None = None  # to which row a reading and those after it contradict each other, and its km
    out = []
    for i, reading in enumerate(readings):
        if not isinstance(reading.value, (int, float)) or reading.rule == "O9":
            out.append(_range_judged(reading, past[-1]))
            continue
        if offset and reading.value < past[-1].km:
            added = replace(
                reading, value=round(reading.value + offset, 1), offset_km=reading.offset_km and reading.offset_km + offset
            )
            reading = lower_to(added, OK_ASSUMED, f"{offset:,.0f} km added: the cluster was changed", "O10")
        later = [
            (j, r.value)
            for j, (r, day) in enumerate(zip(readings[i + 1 : i + 4], days[i + 1 : i + 4], strict=True), i + 1)
            if isinstance(r.value, (int, float)) and r.rule != "O9" and not (day and days[i] and day < days[i])
        ]
        judged = _judged(reading, days[i], past, capacity)
        if judged.value is not None and not _later_than(days[i], past):
            lower = _lower_after(judged, past[-1], later)
            agreeing = 1 + sum(j < lower[0] for j, _ in later) if lower else 0
            if lower and agreeing <= len(lower):
                judged = _far(judged, "the vehicle's later readings are lower", past[-1], _usual(past))
                if agreeing == len(lower):
                    disputed = max(lower[-1], disputed[0] if disputed else 0), reading.value
            elif disputed and i <= disputed[0] and reading.value < disputed[1]:
                doubt = f"{disputed[1]:,.0f} km stands before it: which of the two is wrong is not known; not taken"
                judged = flag(None, None, doubt, "O16")
        if judged.value is not None:
            offset = reading.offset_km or offset
        if judged.value is not None and not _later_than(days[i], past):
            past.append(_Past(judged.value, days[i]))
        out.append(judged)
    return out


def _usual(past: list[_Past]) -> float:
    """The longest step between two of the vehicle's own readings; 0 where there is none."""
    return max((b.km - a.km for a, b in zip(past, past[1:], strict=False) if b.km > a.km), default=0.0)


def _lower_after(reading: Reading, last: _Past, later: list[tuple[int, float]]) -> list[int]:
    """Rows after a reading that stand below it, though not below the last accepted one."""
    slack = 0.15 + _rounding(reading)
    return [j for j, km in later if last.km <= km < reading.value - slack]


def _later_than(day: datetime.date | None, past: list[_Past]) -> list[_Past]:
    """Accepted readings of later days, where the rows are not in the order of their days."""
    return [one for one in past if day and one.day and one.day > day]


def _out_of_turn(reading: Reading, day: datetime.date, past: list[_Past], slack: float) -> Reading:
    """A reading of a day before accepted ones must lie between those around its day."""
    before = max((one.km for one in past if one.day and one.day <= day), default=0.0)
    after = min(one.km for one in _later_than(day, past))
    if before - slack <= reading.value <= after + slack:
        return reading
    between = f"between {before:,.0f} and {after:,.0f} km" if before else f"up to {after:,.0f} km"
    return flag(None, None, f"by the readings around {day} it should stand {between}; not taken", "O16")


def _range_judged(reading: Reading, last: _Past) -> Reading:
    """An interval or bound that lies wholly before the last reading is not taken."""
    high = reading.value.get("high") if isinstance(reading.value, dict) else None
    if high is not None and high < last.km - 0.15:
        return flag(None, None, f"goes back from {last.km:,.0f} km; not taken", "O16")
    return reading


def _rounding(reading: Reading) -> float:
    """How far below the true distance, in km, a reading in thousands or an estimate may lie."""
    factor = DISTANCE_KM[reading.unit or "km"]
    if reading.rule not in ("O3", "O5"):
        return 0.0
    shown = round(reading.value / factor)
    step = next(step for step in (1000, 100, 10, 1) if shown % step == 0)
    return (step if reading.rule == "O5" else step - 1) * factor


def _judged(reading: Reading, day, past: list[_Past], capacity: int | None) -> Reading:
    last, km = past[-1], reading.value
    usual = _usual(past)
    elapsed = max((day - last.day).days, 1) if day and last.day and day >= last.day else None
    slack = 0.15 + _rounding(reading)
    if _later_than(day, past):
        return _out_of_turn(reading, day, past, slack)
    if km < last.km - slack:
        return _rolled_over(reading, last, usual, elapsed, capacity) or _back(reading, last, usual)
    if abs(km - last.km) < 0.15:
        if elapsed is not None and elapsed <= 1:
            return reading
        return lower_to(reading, FLAG, "the same as the reading before: copied, or parked", "O19")
    step = km - last.km
    if elapsed is not None and step > MOST_KM_A_DAY * elapsed:
        return _far(reading, f"{step:,.0f} km in {elapsed} days", last, usual)
    usual = usual or USUAL_STEP_KM
    fits_otherwise = any(last.km <= other <= last.km + max(3 * usual, 1000.0) for other in _otherwise(reading))
    quick = elapsed is None or step > 300 * elapsed
    if quick and fits_otherwise and step > 5 * usual or (elapsed is None and step > max(10 * usual, 50_000)):
        return _far(reading, f"{step:,.0f} km on, when {usual:,.0f} was usual", last, usual)
    return reading


def _otherwise(reading: Reading) -> list[float]:
    """What the number would be in the other unit, or ten times off."""
    km = reading.value
    other = km / KM_PER_MI if reading.unit == "mi" else km * KM_PER_MI
    return [other, km / 10, km * 10]


def _suggestion(reading: Reading, last: _Past, usual: float) -> str:
    names = ["in " + ("km" if reading.unit == "mi" else "miles"), "without the last digit (tenths)", "with a digit lost"]
    limit = last.km + max(3 * usual, 5000.0)
    fits = [
        f"{name} it would fit ({km:,.0f} km)"
        for name, km in zip(names, _otherwise(reading), strict=True)
        if last.km <= km <= limit
    ]
    return "; " + " or ".join(fits) if fits else ""


def _back(reading: Reading, last: _Past, usual: float) -> Reading:
    hint = _suggestion(reading, last, usual)
    return flag(None, None, f"goes back {last.km - reading.value:,.0f} km from {last.km:,.0f} km; not taken{hint}", "O16")


def _far(reading: Reading, why: str, last: _Past, usual: float) -> Reading:
    return flag(None, None, f"too far: {why}; not taken{_suggestion(reading, last, usual)}", "O18")


def _rolled_over(reading: Reading, last: _Past, usual: float, elapsed: int | None, capacity: int | None) -> Reading | None:
    """Rule O17: an odometer of known digits that passed its end; None when that does not explain it."""
    if capacity is None:
        return None
    factor = DISTANCE_KM[reading.unit or "km"]
    shown, stood = reading.value / factor, last.km / factor
    if shown >= capacity:
        return None
    turns = -(-(stood - shown) // capacity)
    total = round((shown + turns * capacity) * factor, 1)
    most = MOST_KM_A_DAY * elapsed if elapsed is not None else max(3 * usual, 30_000.0)
    if total - last.km > min(most, 0.5 * capacity * factor):
        return None
    return lower_to(
        replace(reading, value=total),
        OK_ASSUMED,
        f"rolled over: {total / factor:,.0f} {reading.unit} in all; confirm once per vehicle",
        "O17",
    )
