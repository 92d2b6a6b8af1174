"""The track record as a person reads it: what past windows came to, in sentences and plain tables."""

import numpy as np
import pandas as pd

from brakedata import track_record
from brakedata.shown import Shown, count_text, day_text
from brakedata.track_record import LEAST_JUDGED, REASONS, TrackRecord
from brakedata.views.wear import axle_words, part_words

DATES = {
    "18 months ago": (18,),
    "18, 12 and 6 months ago": (18, 12, 6),
    "every 3 months for 18 months": (18, 15, 12, 9, 6, 3),
    "every 6 months for 36 months": (36, 30, 24, 18, 12, 6),
}
"""As-of dates to walk over, in months before the schedule's own."""
FIRST_DATES = "18, 12 and 6 months ago"
METHODS = {"due_km": "this kit", "own_line_km": "own line", "interval_km": "fixed interval"}
OUTCOMES = {"held": "inside the window", "early": "before it", "late": "after it"}
NEXT_OUTCOMES = {"held": "inside the band", "thinner": "thinner", "thicker": "thicker"}


def line(record: TrackRecord, shown: Shown) -> str:
    """The sentence that goes with a schedule: how often past windows held, by how much they missed, and what a plain rival would have
    missed by."""
    s = track_record.score(record.judged)
    if s.judged < LEAST_JUDGED:
        return (
            f"Track record: too few to say ({count_text(s.judged, 'past window')} that can be judged; {LEAST_JUDGED} are needed)."
        )
    said = (
        f"Track record: in the last {_span(record)} the early-late window held {s.held} of {s.judged:,} times; "
        f"median miss {shown.forecast_text(s.miss_km)}{_rival(s, shown)}."
    )
    if track_record.too_narrow(s.judged, s.held):
        said += f" That is less than 8 in 10 by more than chance ({s.early} came before the window, {s.late} after it): lean on the early end."
    return said + _when(record) + _sampled(record)


def _when(record) -> str:
    """As of which dates the forecasts were made: a schedule looks back once, the notebook several times."""
    if len(record.dates) == 1:
        return f" Forecast once, as of {day_text(record.dates[0])}."
    return f" Forecast as of {len(record.dates)} past dates, the first {day_text(record.dates[0])}; each life of linings counts once."


def _span(record) -> str:
    months = (record.as_of.year - record.dates[0].year) * 12 + record.as_of.month - record.dates[0].month
    return f"{months} months"


def _rival(s, shown) -> str:
    """What a fixed interval would have missed by; on how many windows, where not on all."""
    if s.interval_of < LEAST_JUDGED:
        return ""
    where = "" if s.interval_of == s.judged else f" (on {s.interval_of:,} of them)"
    return f"; a fixed interval would have missed by {shown.forecast_text(s.interval_km)}{where}"


def _sampled(record) -> str:
    if record.vehicles == record.among:
        return ""
    return f" Judged on {record.vehicles:,} of {record.among:,} vehicles, evenly chosen, by themselves."


def sentences(record: TrackRecord, shown: Shown) -> list[str]:
    """What the track record comes to, and what it leaves open."""
    said = [line(record, shown)]
    s = track_record.score(record.judged)
    if s.judged >= LEAST_JUDGED:
        low, high = track_record.limits_of(s.held, s.judged)
        said.append(
            f"Eight in ten is what a window promises; {s.held} of {s.judged:,} agrees with anything from {100 * low:.0f} to {100 * high:.0f} in "
            f"100 (95 % limits). {s.early} came before the window, {s.late} after it; of {s.edge:,} the readings cannot tell for sure."
        )
        way = "later" if s.bias_km > 0 else "earlier"
        said.append(
            f"Half of the linings came to their point more than {shown.forecast_text(abs(s.bias_km))} {way} than forecast."
        )
        if s.line_of >= LEAST_JUDGED:
            said.append(
                f"On the {s.line_of:,} of them that had a line of their own that line missed by {shown.forecast_text(s.line_km)}, "
                f"the kit by {shown.forecast_text(s.miss_where_line_km)} (medians)."
            )
    return [*said, *_next_words(record)]


def _next_words(record) -> list[str]:
    n = record.next_readings
    n = n[n["counts"].astype(bool)]
    if len(n) < LEAST_JUDGED:
        return []
    count = n["outcome"].value_counts()
    return [
        f"The next reading of the lining named first lay in its 8-in-10 band {count.get('held', 0):,} of {len(n):,} times "
        f"({count.get('thinner', 0):,} thinner, {count.get('thicker', 0):,} thicker), half of them over {n['days'].median():.0f} days after the forecast."
    ]


def by_date(record: TrackRecord) -> pd.DataFrame:
    """How often windows and bands held, by as-of date: ``what`` (due window, next reading), ``date, judged, held, share, low, high``
    (95 % limits of the share)."""
    frames = {"due window": record.due[record.due["outcome"].ne("")], "next reading": record.next_readings}
    rows = []
    for what, frame in frames.items():
        for date, some in frame.groupby("date"):
            held = int(some["outcome"].eq("held").sum())
            rows.append((what, date, len(some), held, held / len(some), *track_record.limits_of(held, len(some))))
    return pd.DataFrame(rows, columns=["what", "date", "judged", "held", "share", "low", "high"]).astype(
        {"date": "datetime64[s]"}
    )


def misses(record: TrackRecord) -> pd.DataFrame:
    """What came minus what was said, a row a judged life and method that has an answer: ``method, miss_km`` (later than said: over 0)."""
    rows = record.judged
    told = [pd.DataFrame({"method": word, "miss_km": rows["true_km"] - rows[name]}) for name, word in METHODS.items()]
    return pd.concat(told, ignore_index=True).dropna(ignore_index=True).astype({"miss_km": float})


def windows_table(rows: pd.DataFrame, shown: Shown) -> pd.DataFrame:
    """Judged windows in words and chosen units: those outside their window first, then by how far the even odds missed."""
    off, outside = (rows["true_km"] - rows["due_km"]).abs(), rows["outcome"].ne("held")
    rows = rows.iloc[np.lexsort([-off.to_numpy(dtype=float), ~outside.to_numpy()])]

    def km(name):
        return [shown.distance_number(value, 100) for value in rows[name]]

    window = [f"{a} to {b}" for a, b in zip(km("early_km"), km("late_km"), strict=True)]
    came = [f"{a} (8 in 10: {b} to {c})" for a, b, c in zip(km("true_km"), km("true_low_km"), km("true_high_km"), strict=True)]
    return pd.DataFrame(
        {
            "as of": rows["date"].map(day_text),
            "axle": [f"{vehicle} {axle_words(axle)}" for vehicle, axle in zip(rows["vehicle_id"], rows["axle"], strict=True)],
            f"then at [{shown.distance}]": km("odometer_km"),
            f"due [{shown.distance}]": km("due_km"),
            "window, 8 in 10": window,
            f"came at [{shown.distance}]": came,
            "so it came": [OUTCOMES[o] + (", cannot tell for sure" if e else "") for o, e in zip(rows["outcome"], rows["edge"], strict=True)],
            "own line said": km("own_line_km"),
            "fixed interval said": km("interval_km"),
            "basis": rows["basis"],
        }
    )  # fmt: skip


def readings_table(rows: pd.DataFrame, shown: Shown) -> pd.DataFrame:
    """Next readings in words and chosen units, those outside their band first."""
    out = rows.assign(off=(rows["value_mm"] - rows["middle_mm"]).abs(), inside=rows["outcome"].eq("held"))
    out = out.sort_values(["inside", "off"], ascending=[True, False], kind="stable")
    band = [f"{shown.thickness_text(a)} to {shown.thickness_text(b)}" for a, b in zip(out["low_mm"], out["high_mm"], strict=True)]
    return pd.DataFrame(
        {
            "as of": out["date"].map(day_text),
            "axle": [f"{vehicle} {axle_words(axle)}" for vehicle, axle in zip(out["vehicle_id"], out["axle"], strict=True)],
            "lining": [part_words(s, p) for s, p in zip(out["side"], out["part"], strict=True)],
            "days later": [f"{days:.0f}" for days in out["days"]],
            f"odometer [{shown.distance}]": [shown.distance_number(km) for km in out["odometer_km"]],
            "expected": out["middle_mm"].map(shown.thickness_text),
            "band, 8 in 10": band,
            "read": out["value_mm"].map(shown.thickness_text),
            "so it was": out["outcome"].map(NEXT_OUTCOMES),
        }
    )  # fmt: skip


def not_judged(record: TrackRecord) -> pd.DataFrame:
    """Forecasts that cannot be judged, by reason, in words."""
    count = record.due["why_not"].value_counts()
    return pd.DataFrame(
        [(f"{count[why]:,}", word) for why, word in REASONS.items() if why in count.index], columns=["forecasts", "why"]
    )
