"""Track record: what the kit would have said on past dates of these records, beside what came.

On each past date the schedule is made by `schedule.make` from what was known then and from nothing later: lives, model, its
variances and the use of each vehicle, all anew. What came is read off the records as they are now: where the first lining of
that life met its replace point, by the straight line through that lining's own last readings. Three things make such a
comparison lie, and each has its answer here.

- *Short lives finish first.* A forecast is judged only if it was not due yet by even odds and the axle has since been followed past
  the late end of its window: what is judged hangs on what was forecast and on how far the axle was followed, not on how long
  the lining lasted.
- *Linings are changed before they are due.* A change above the replace point is no due event. Near it (``TELLING_SHARE``) the line is
  drawn on to the point, if readings made after the forecast cover at least half of the wear that lay ahead then; other changes are
  not judged, and counted. A lining still above the point past the late end has missed it, changed or not.
- *Forecasts of one life are alike.* A life counts once, with the first of its forecasts that can be judged.

Readings are coarse, so the place that was met is known to within some distance (``true_low_km, true_high_km``, 8 in 10). A window
holds when the middle of that lies in it; where it straddles an end of the window the row says so (``edge``). A forecast and what
came of it lean in part on the same readings, which makes a record a little kind: on six made fleets of 200 vehicles 0.80 of the
windows held by the record, 0.77 in truth (638 windows).

Beside the due odometer stands the next reading of the lining that was named first, with its 8-in-10 band: it is there whatever
becomes of the life, so nothing selects it.
"""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from brakedata import checks, codes, findings, schedule
from brakedata.findings import RecordsError
from brakedata.forecast import CHUNK_AXLES, LEVELS, draw
from brakedata.lives import Lives
from brakedata.records import Records
from brakedata.schedule import Schedule
from brakedata.shared_model import UNIT_KM, SharedModel

MONTHS_BACK = (18,)
MOST_VEHICLES = 100
"""As-of dates and vehicles of the quick record that goes with every schedule."""
LINE_READINGS = 3
"""What came is told by the line through so many readings of a lining, the last of them the first at or under the point."""
FITTED_SD_MM = 0.25
"""How far a fitted lining differs from the ``new`` of the limits table (common practice, no source)."""
TELLING_SHARE = 1 / 3
"""A lining changed with more than this share of its usable thickness left does not tell when it would have been due."""
COVERED_SHARE = 1 / 2
EIGHT_IN_TEN_SD = 1.2815515655446004
PLAIN_INTERVAL_KM = 60_000.0
"""The plain rival's interval where the records know none (common practice, no source)."""
LEAST_LIVES = 3
LEAST_JUDGED = 10
AT_POINT_MM = 1e-6
REASONS = {
    "no forecast": "no forecast could be made",
    "due already": "was due already, by even odds",
    "not followed": "not followed past the late end of its window yet",
    "no falling line": "too few readings to tell where it met the point",
    "far above": "changed, or last read, with much lining left",
    "little read": "changed, or last read, too soon after the forecast to test it",
}
"""Why a forecast is not judged."""


@dataclass(frozen=True)
class TrackRecord:
    """Forecasts of past dates and what came.

    Attributes
    ----------
    as_of : Timestamp
        Nothing dated after it is used, for what came either.
    dates : list of Timestamp
        The past dates, oldest first.
    vehicles, among : int
        Vehicles judged, and vehicles in the records; fewer judged than there are stand for all, evenly by vehicle_id.
    due : DataFrame
        One row an axle and date: ``date, vehicle_id, axle, wear_class, basis, odometer_km`` (at the date), ``due_km, early_km,
        late_km`` (forecast), ``interval_km, own_line_km`` (the plain rivals' due odometers, NaN where they have no answer),
        ``true_km, true_low_km, true_high_km`` (what came), ``life`` (number of the life), ``seen_km`` (newest look at that life),
        ``why_not`` (a key of ``REASONS``, empty where judged), ``outcome`` (held, early, late: came before or after the window),
        ``edge`` (bool: the readings cannot tell for sure), ``counts`` (bool: the first judged of its life).
    next_readings : DataFrame
        One row an axle and date with a later reading of the lining named first: ``date, vehicle_id, axle, side, part, days`` (from the
        date to the reading), ``odometer_km, value_mm, middle_mm, low_mm, high_mm, outcome`` (held, thinner, thicker), ``counts``.
    findings : DataFrame
    """

    as_of: pd.Timestamp
    dates: list
    vehicles: int
    among: int
    due: pd.DataFrame
    next_readings: pd.DataFrame
    findings: pd.DataFrame

    @property
    def judged(self) -> pd.DataFrame:
        """The rows of ``due`` that count: one a life."""
        return self.due[self.due["counts"].astype(bool)]


def walk(plan: Schedule, months_back=MONTHS_BACK, most_vehicles: int | None = MOST_VEHICLES, progress=None) -> TrackRecord:
    """Forecast from past dates and compare with what came by the schedule's own as-of date.

    Parameters
    ----------
    plan : Schedule
        What came is read off its lives and readings.
    months_back : sequence of int
        The past dates, in months before ``plan.as_of``; dates before the records begin are passed over.
    most_vehicles : int or None
        Judge at most so many vehicles, evenly over the records by vehicle_id, by themselves; None judges all.
    progress : callable, optional
        Called with a short text before each step.

    Returns
    -------
    TrackRecord
    """
    say = progress or (lambda text: None)
    known = checks.until(plan.records, plan.as_of)
    ids = known.vehicles["vehicle_id"].to_numpy()
    chosen = ids[np.unique(np.linspace(0, len(ids) - 1, min(len(ids), most_vehicles or len(ids))).round().astype(int))]
    known = _only(known, chosen)
    came = _what_came(plan, chosen)
    due, readings, dates = [], [], []
    for months in sorted(months_back, reverse=True):
        date = plan.as_of - pd.DateOffset(months=months)
        say(f"forecasting as of {date:%Y-%m-%d} from what was known then")
        then = _schedule_of(known, date)
        if then is not None:
            dates.append(date)
            due.append(_due_rows(then, came))
            readings.append(_next_readings(then, came))
    due = _judge(pd.concat(due, ignore_index=True)) if due else pd.DataFrame(columns=DUE)
    readings = pd.concat(readings, ignore_index=True) if readings else pd.DataFrame(columns=NEXT)
    readings = readings.assign(counts=~readings.duplicated(["life", "part", "odometer_km"]))[NEXT]
    return TrackRecord(plan.as_of, dates, len(chosen), len(ids), due, readings, _notes(due[due["counts"].astype(bool)]))


def quick(plan: Schedule, progress=None) -> TrackRecord:
    """The record that goes with every schedule: one past date, at most ``MOST_VEHICLES`` vehicles.

    Where fewer than ``LEAST_JUDGED`` axles were read both before and after that date nothing is forecast: it would be too few.
    """
    date = plan.as_of - pd.DateOffset(months=MONTHS_BACK[0])
    read = plan.model.coded_readings(["vehicle_id", "axle", "date"]).groupby(["vehicle_id", "axle"])["date"].agg(["min", "max"])
    enough = ((read["min"] <= date) & (read["max"] > date)).sum() >= LEAST_JUDGED
    return walk(plan, MONTHS_BACK if enough else (), progress=progress)


def _only(records: Records, vehicle_ids) -> Records:
    """The records of some vehicles."""
    names = ("vehicles", "visits", "coded_measurements", "work", "odometer_log")
    some = {name: getattr(records, name) for name in names}
    return replace(records, **{name: f[f["vehicle_id"].isin(vehicle_ids)].reset_index(drop=True) for name, f in some.items()})


def _schedule_of(records, date) -> Schedule | None:
    """The schedule as it would have been made on ``date``; None where there were no records or no vehicle in service yet."""
    if not (records.visits["date"] <= date).any():
        return None
    try:
        return schedule.make(records, date)
    except RecordsError:
        return None


# --- what came ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Came:
    """What the records now say: ``lives`` of linings, ``crossings`` (a row a life of a side and part), ``readings``, and
    ``followed_km`` by vehicle and axle, the newest odometer at which it was looked at or its linings changed."""

    lives: pd.DataFrame
    crossings: pd.DataFrame
    readings: pd.DataFrame
    followed_km: pd.Series

    def lives_on(self, date) -> pd.DataFrame:
        """The life of each side that was running on ``date``."""
        begun = self.lives[~(self.lives["start_date"] > date)]
        return begun.drop_duplicates(["vehicle_id", "axle", "side"], keep="last")


def _what_came(plan, vehicle_ids) -> _Came:
    lives = plan.lives.lives.reset_index()
    lives = lives[lives["family"].eq("lining") & lives["vehicle_id"].isin(vehicle_ids)]
    model, mine = plan.model, plan.model.coded_readings(["vehicle_id", "misfit"])
    chosen = (mine["vehicle_id"].isin(vehicle_ids) & ~mine["misfit"]).to_numpy()
    readings = replace(model, given=model.given[chosen]).readings
    changes = lives[["vehicle_id", "axle", "end_km"]].rename(columns={"end_km": "odometer_km"})
    looks = pd.concat([readings[changes.columns], changes])
    followed = looks.groupby(["vehicle_id", "axle"])["odometer_km"].max()
    return _Came(lives, crossings(readings, plan.lives, plan.model), readings, followed)


def crossings(readings: pd.DataFrame, lives: Lives, model: SharedModel) -> pd.DataFrame:
    """Where each lining of each life met its replace point, by the straight line through its last readings.

    Parameters
    ----------
    readings : DataFrame
        Rows of ``model.readings``, none a misfit.
    lives : Lives
    model : SharedModel
        For the gauge's repeat error and the wander of wear, which say how far the line can be wrong.

    Returns
    -------
    DataFrame
        One row a life of a side and part: ``vehicle_id, axle, side, life_id, part, odometer_km`` (its newest reading up to the first
        at or under the point), ``true_km, sd_km``, ``left_mm`` (lining above the point there; 0 where it was met),
        ``usable_mm`` (new to replace point).
    """
    r = readings.assign(order=2 * readings["visit_no"] + readings["taken"].eq("after"))
    r["series"] = pd.factorize(pd.MultiIndex.from_frame(r[["life_id", "part"]]))[0]
    r["met"] = r["value_mm"] <= r["replace_at_mm"] + AT_POINT_MM
    r["variance"] = r["step_mm"] ** 2 / 12 + model.scales["repeat_mm"] ** 2
    r = r.sort_values(["series", "order"], kind="stable")
    r = r[r.groupby("series")["met"].cumsum() - r["met"] == 0]
    last = r.drop_duplicates("series", keep="last").set_index("series").sort_index()
    points = _last_points(r, lives)
    line = _lines(points["series"].to_numpy(), points["odometer_km"].to_numpy(), points["value_mm"].to_numpy(), len(last))
    end_mm = line["level"] + line["slope"] * (last["odometer_km"] - line["mean_km"])
    left = np.where(last["met"], 0.0, np.maximum(end_mm - last["replace_at_mm"], 0.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        km = line["mean_km"] + (last["replace_at_mm"] - line["level"]) / line["slope"]
        noise = points.groupby("series")["variance"].mean() * (1 / line["count"] + (km - line["mean_km"]) ** 2 / line["sxx"])
        sd = np.sqrt(noise + model.scales["wander"] ** 2 * left) / -line["slope"]
    out = last[["vehicle_id", "axle", "side", "life_id", "part", "odometer_km"]]
    falls = (line["slope"] < 0).to_numpy()
    return out.assign(
        true_km=km.where(falls), sd_km=sd.where(falls), left_mm=left, usable_mm=last["new_mm"] - last["replace_at_mm"]
    )


def _last_points(readings, lives):
    """The last readings of each series, with the fitting itself as a first point where it is known and ``new`` is given."""
    begun = readings.drop_duplicates("series")
    begun = begun[np.isin(lives.lives["start_kind"].to_numpy()[begun["life_id"]], ("job", "new_vehicle")) & begun["new_given"]]
    fitted = begun.assign(
        odometer_km=begun["start_km"], value_mm=begun["new_mm"], order=-1, variance=begun["variance"] + FITTED_SD_MM**2
    )
    points = pd.concat([readings, fitted], ignore_index=True).sort_values(["series", "order"], kind="stable")
    return points[points.groupby("series").cumcount(ascending=False) < LINE_READINGS]


def _lines(series, km, mm, count) -> pd.DataFrame:
    """Least squares line of each of ``count`` series: ``count, mean_km, level`` (mm there), ``slope`` (NaN where none), ``sxx``."""
    n = np.bincount(series, minlength=count)
    with np.errstate(divide="ignore", invalid="ignore"):
        mean, level = np.bincount(series, km, count) / n, np.bincount(series, mm, count) / n
        off = km - mean[series]
        sxx = np.bincount(series, off**2, count)
        slope = np.where(sxx > 0, np.bincount(series, off * (mm - level[series]), count) / sxx, np.nan)
    return pd.DataFrame({"count": n, "mean_km": mean, "level": level, "slope": slope, "sxx": sxx})


# --- forecasts of a past date, beside it --------------------------------------------------------------------------------

DUE = [
    "date", "vehicle_id", "axle", "wear_class", "basis", "odometer_km", "due_km", "early_km", "late_km", "interval_km", "own_line_km",
    "true_km", "true_low_km", "true_high_km", "life", "seen_km", "why_not", "outcome", "edge", "counts",
]  # fmt: skip
NEXT = [
    "date", "vehicle_id", "axle", "side", "part", "days", "odometer_km", "value_mm", "middle_mm", "low_mm", "high_mm", "outcome", "life",
    "counts",
]  # fmt: skip


def _due_rows(then: Schedule, came: _Came) -> pd.DataFrame:
    """One row an axle of a past schedule: what it said, what plain rivals said, what came."""
    rows = then.table.rename(
        columns={"due_odometer_km": "due_km", "due_odometer_early_km": "early_km", "due_odometer_late_km": "late_km"}
    )
    rows = rows[["vehicle_id", "axle", "basis", "odometer_km", "thickness_mm", "due_km", "early_km", "late_km"]]
    rows = then.lives.axles[["vehicle_id", "axle", "wear_class"]].merge(rows, on=["vehicle_id", "axle"]).assign(date=then.as_of)
    rows["interval_km"], rows["own_line_km"] = _by_interval(then, rows["odometer_km"]), _by_own_line(then)
    running = came.crossings[came.crossings["life_id"].isin(came.lives_on(then.as_of)["life_id"])]
    first = running.sort_values(["true_km", "life_id", "part"], kind="stable").drop_duplicates(["vehicle_id", "axle"])
    seen = running.groupby(["vehicle_id", "axle"])["odometer_km"].max().rename("seen_km").reset_index()
    told = first[["vehicle_id", "axle", "life_id", "true_km", "sd_km", "left_mm", "usable_mm"]].rename(
        columns={"life_id": "life"}
    )
    rows = rows.merge(told, on=["vehicle_id", "axle"], how="left").merge(seen, on=["vehicle_id", "axle"], how="left")
    rows["followed_km"] = came.followed_km.reindex(pd.MultiIndex.from_frame(rows[["vehicle_id", "axle"]])).to_numpy()
    replace_at = then.model.positions.groupby("axle_no")["replace_at_mm"].max().reindex(range(len(rows))).to_numpy()
    return rows.assign(ahead_mm=rows["thickness_mm"] - replace_at)


def _by_interval(then: Schedule, here: pd.Series) -> np.ndarray:
    """Due odometer of each axle by a fixed interval: the median distance between changes of its class and axle known then.

    Classes with fewer than ``LEAST_LIVES`` finished lives take the axle's, else ``PLAIN_INTERVAL_KM``. An interval that has run out is
    due at once; a running life whose start is not known has no answer.
    """
    lives, axles = then.lives.lives, then.lives.axles
    lives = lives[lives["family"].eq("lining")].merge(axles[["vehicle_id", "axle", "wear_class"]], on=["vehicle_id", "axle"])
    known = lives["start_kind"].isin(("job", "new_vehicle"))
    done = lives[known & lives["end_kind"].eq("job")].drop_duplicates("axle_life_id")
    done = done.assign(km=done["end_km"] - done["start_km"])
    interval = pd.Series(np.nan, index=axles.index)
    for key in (["wear_class", "axle"], ["axle"]):
        usual = done.groupby(key)["km"].agg(["median", "count"])
        usual = usual["median"].where(usual["count"] >= LEAST_LIVES).rename("usual").reset_index()
        interval = interval.fillna(axles[key].merge(usual, on=key, how="left")["usual"])
    start = lives[known & lives["end_kind"].eq("running")].groupby(["vehicle_id", "axle"])["start_km"].min()
    start = start.reindex(pd.MultiIndex.from_frame(axles[["vehicle_id", "axle"]])).to_numpy()
    return np.fmax(start + interval.fillna(PLAIN_INTERVAL_KM).to_numpy(), np.where(np.isnan(start), np.nan, here))


def _by_own_line(then: Schedule) -> np.ndarray:
    """Due odometer of each axle by the least squares line through each lining's own readings of its running life, first to meet
    its point; no answer where none has a falling line through two odometers."""
    positions = then.model.positions[["axle_no", "life_id", "part", "replace_at_mm"]]
    r = codes.plain(then.model.coded_readings(["life_id", "part", "odometer_km", "value_mm", "misfit"]))
    r = r[~r["misfit"]].drop(columns="misfit")
    r = r.merge(positions.assign(place=np.arange(len(positions))), on=["life_id", "part"])
    line = _lines(r["place"].to_numpy(), r["odometer_km"].to_numpy(), r["value_mm"].to_numpy(), len(positions))
    with np.errstate(divide="ignore", invalid="ignore"):
        km = line["mean_km"] + (positions["replace_at_mm"].to_numpy() - line["level"]) / line["slope"]
    first = km.where(line["slope"] < 0).groupby(positions["axle_no"].to_numpy()).min()
    return first.reindex(range(len(then.lives.axles))).to_numpy()


def _judge(rows):
    """Which forecasts can be judged, and how each came out."""
    above = (rows["seen_km"] > rows["late_km"]) & (rows["left_mm"] > 0) & (rows["true_km"] > rows["late_km"])
    why_not = {
        "no forecast": rows["due_km"].isna(),
        "due already": rows["due_km"] <= rows["odometer_km"],
        "not followed": ~(rows["late_km"] <= rows["followed_km"]),
        "no falling line": rows["true_km"].isna(),
        "far above": ~above & (rows["left_mm"] > TELLING_SHARE * rows["usable_mm"]),
        "little read": ~above & (rows["left_mm"] > (1 - COVERED_SHARE) * rows["ahead_mm"]),
    }
    why_not = np.select(list(why_not.values()), list(why_not), "")
    judged = why_not == ""
    half = EIGHT_IN_TEN_SD * rows["sd_km"]
    low, high = rows["true_km"] - half, rows["true_km"] + half
    early, late = rows["true_km"] < rows["early_km"], rows["true_km"] > rows["late_km"]
    outcome = np.where(~judged, "", np.where(early, "early", np.where(late, "late", "held")))
    edge = judged & (
        ((low < rows["early_km"]) & (high > rows["early_km"])) | ((low < rows["late_km"]) & (high > rows["late_km"]))
    )
    rows = rows.assign(true_low_km=low, true_high_km=high, why_not=why_not, outcome=outcome, edge=edge, counts=judged)
    rows["counts"] &= ~rows["life"].where(judged).duplicated()
    return rows[DUE]


def _next_readings(then: Schedule, came: _Came) -> pd.DataFrame:
    """The next reading of the lining that the past schedule named first on each axle, beside its 8-in-10 band."""
    axles, said = then.lives.axles, then.forecast.axles
    named = pd.DataFrame(
        {
            "vehicle_id": axles["vehicle_id"], "axle": axles["axle"], "side": said["governing_side"], "part": said["governing_part"],
            "slot": said["governing_slot"], "axle_no": np.arange(len(axles)),
        }
    )  # fmt: skip
    later = came.readings[(came.readings["date"] > then.as_of)]
    later = later[later["life_id"].isin(came.lives_on(then.as_of)["life_id"])]
    later = later.sort_values(["visit_no"], kind="stable").drop_duplicates(["vehicle_id", "axle", "side", "part"])
    columns = ["vehicle_id", "axle", "side", "part", "date", "odometer_km", "value_mm", "life_id"]
    rows = named[said["due_km"].notna()].merge(
        later[columns].rename(columns={"life_id": "life"}), on=["vehicle_id", "axle", "side", "part"]
    )
    rows["days"] = (rows["date"] - then.as_of).dt.days
    steps = then.model.given["step_mm"]
    step = steps.median() if len(steps) else 0.0
    noise_mm = np.sqrt(step**2 / 12 + then.model.scales["repeat_mm"] ** 2)
    rows["low_mm"], rows["middle_mm"], rows["high_mm"] = _reading_band(then.model, rows, noise_mm)
    thin, thick = rows["value_mm"] < rows["low_mm"] - AT_POINT_MM, rows["value_mm"] > rows["high_mm"] + AT_POINT_MM
    return rows.assign(date=then.as_of, outcome=np.where(thin, "thinner", np.where(thick, "thicker", "held")))


def _reading_band(model, rows, noise_mm):
    """Quantiles (``forecast.LEVELS``) of a new reading of each row's lining at its odometer, shape (3, n), gauge error included."""
    out = np.empty((3, len(rows)))
    order = np.argsort(rows["axle_no"].to_numpy(), kind="stable")
    for at in range(0, len(rows), CHUNK_AXLES):
        place = order[at : at + CHUNK_AXLES]
        axle_no, slot = rows["axle_no"].to_numpy()[place], rows["slot"].to_numpy()[place]
        d, lane = draw(model, axle_no), np.arange(len(place))
        gone = np.maximum(rows["odometer_km"].to_numpy()[place] - d.ref_km[lane, slot], 0.0)[:, None] / UNIT_KM
        mm = d.thickness_mm[lane, :, slot] - np.exp(d.log_rate[lane, :, slot]) * gone
        mm += np.sqrt(d.wander[lane, :, slot] * gone) * d.z[:, 0] + noise_mm * d.z[:, 2]
        out[:, place] = np.quantile(np.maximum(mm, 0.0), LEVELS, axis=1)
    return out


# --- what it comes to ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Score:
    """What a track record comes to; distances in km, NaN where there is nothing to take a median of.

    ``judged`` lives, of which ``held``, ``early`` (came before the window) and ``late``; ``edge`` of them the readings cannot tell for
    sure. ``miss_km`` and ``bias_km``: median size of (what came - due), and its median with its sign. ``interval_km, line_km``: the plain
    rivals' median misses on the ``interval_of, line_of`` lives on which they have an answer; ``miss_where_interval_km,
    miss_where_line_km`` the kit's own there.
    """

    judged: int
    held: int
    early: int
    late: int
    edge: int
    miss_km: float
    bias_km: float
    interval_of: int
    interval_km: float
    miss_where_interval_km: float
    line_of: int
    line_km: float
    miss_where_line_km: float


def score(rows: pd.DataFrame) -> Score:
    """Score judged rows of ``TrackRecord.due``."""
    off = rows["true_km"] - rows["due_km"]
    count = rows["outcome"].value_counts().reindex(["held", "early", "late"]).fillna(0).astype(int)
    rivals = []
    for name in ("interval_km", "own_line_km"):
        has = rows[name].notna()
        rivals += [int(has.sum()), float((rows["true_km"] - rows[name])[has].abs().median()), float(off[has].abs().median())]
    return Score(len(rows), *map(int, count), int(rows["edge"].sum()), float(off.abs().median()), float(off.median()), *rivals)


def limits_of(held: int, judged: int, level: float = 0.95) -> tuple[float, float]:
    """Limits of a share, after C. J. Clopper and E. S. Pearson (1934), The use of confidence or fiducial limits illustrated in the case
    of the binomial, Biometrika 26, 404-413."""
    from scipy.special import betaincinv

    tail = (1 - level) / 2
    low = 0.0 if held == 0 else float(betaincinv(held, judged - held + 1, tail))
    high = 1.0 if held == judged else float(betaincinv(held + 1, judged - held, 1 - tail))
    return low, high


def too_narrow(judged: int, held: int) -> bool:
    """Whether 8-in-10 windows held so seldom that chance does not explain it (under 25 times in 1,000)."""
    return judged >= LEAST_JUDGED and limits_of(held, judged)[1] < LEVELS[2] - LEVELS[0]


def _notes(judged):
    """R90: too few judged to say anything; R91: the windows held less than they say."""
    held = int(judged["outcome"].eq("held").sum())
    said = f"{held} of {len(judged)}"
    if len(judged) < LEAST_JUDGED:
        return findings.make("R90-record-too-short", "schedule", column="due_odometer_km", reading=said)
    if too_narrow(len(judged), held):
        return findings.make("R91-windows-too-narrow", "schedule", column="due_odometer_km", reading=said)
    return findings.empty()
