"""The service schedule: one row for every axle of every vehicle in service."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from brakedata import checks, codes, findings, limits, lives, selection, shared_model, usage
from brakedata.columns import SCHEDULE
from brakedata.findings import RecordsError
from brakedata.forecast import Forecast, ahead_mm, forecast
from brakedata.lives import Lives
from brakedata.records import Records
from brakedata.shared_model import SharedModel
from brakedata.shown import Shown, chance_text, count_text
from brakedata.usage import Usage

COLUMNS = [answer.name for answer in SCHEDULE]
OWN_SHARE = 0.5
USUAL_VISIT_DAYS = 180.0
"""Days between visits where a fleet's records do not say: twice a year (common practice, no source)."""
FARTHEST_DAYS = 36_500.0
NOT_SEEN_DAYS = 365
UNRESOLVED = (
    "R7-cell-empty",
    "R8-not-a-number",
    "R10-unknown-word",
    "R11-unknown-unit",
    "R30-out-of-range",
    "R31-part-and-measure",
)
"""Findings by which a reading was left out because its unit, part, position or number could not be made out."""


@dataclass(frozen=True)
class Schedule:
    """The schedule table and everything it was made from.

    Attributes
    ----------
    table : DataFrame
        ``columns.SCHEDULE``; sorted by due date, axles without a forecast last.
    findings : DataFrame
        Of the records and of the forecast.
    as_of : Timestamp
    records, lives, usage, model, forecast
        The steps on the way; where an axle's own forecast is held back ``model`` holds what like vehicles say in its place.
    held_back : ndarray of int
        Places in ``lives.axles`` of axles whose own forecast is held back, see ``R95``.
    """

    table: pd.DataFrame
    findings: pd.DataFrame
    as_of: pd.Timestamp
    records: Records
    lives: Lives
    usage: Usage
    model: SharedModel
    forecast: Forecast
    held_back: np.ndarray

    def try_replace_at(self, replace_at_mm: float, axle_no: int) -> pd.Series:
        """The schedule's row of one axle if its linings were replaced at ``replace_at_mm``.

        Returns
        -------
        Series
            As a row of ``forecast.axles``.
        """
        return forecast_of(self, self.model, [axle_no], replace_at_mm).axles.loc[axle_no]


def make(records: Records, as_of=None, progress=None) -> Schedule:
    """Forecast every axle in service.

    Parameters
    ----------
    records : Records
    as_of : date, optional
        Nothing dated after it is used; default the newest date in the records.
    progress : callable, optional
        Called with a short text before each step.

    Returns
    -------
    Schedule

    Raises
    ------
    RecordsError
        No vehicle is in service at the as-of date.
    """
    say = progress or (lambda text: None)
    as_of = records.newest_date if as_of is None else pd.Timestamp(as_of)
    known = checks.until(records, as_of)
    codes.give_back()
    say("cutting the readings into lives")
    cut = lives.cut(known, as_of)
    if not len(cut.axles):
        raise RecordsError(f"no vehicle is in service on {as_of:%Y-%m-%d}: check that date, in_service_date and retired_date.")
    use = usage.fit(known, as_of)
    model = shared_model.fit(cut, known.limits, use.table["last_km"], progress, known.settings.repeat)
    held = _unanswered(cut)
    model = like_vehicles(model, held)
    codes.give_back()
    say("forecasting every axle")
    ahead = _forecast(model, use, known, cut)
    codes.give_back()
    own = [selection.habits(known, cut), _never_measured(cut, model), _not_seen(known, cut, use), _overdue(cut, use, ahead)]
    own += [_held_back(cut, held), _unresolved(known, cut, model), _use_changed(use, cut), _rotor_past_limit(known, cut)]
    found = findings.join([known.findings, cut.findings, model.findings, *own])
    return Schedule(_table(known, cut, use, model, ahead, held, found), found, as_of, records, cut, use, model, ahead, held)


def forecast_of(made: Schedule, model: SharedModel, axle_no=None, replace_at_mm=None) -> Forecast:
    """The forecast of some axles by a model that differs from the schedule's own.

    Parameters
    ----------
    made : Schedule
    model : SharedModel
    axle_no : array of int, optional
        Increasing; default all.
    replace_at_mm : float, optional
        A planning point to try.
    """
    return _forecast(model, made.usage, made.records, made.lives, axle_no, replace_at_mm)


def _forecast(model, use, records, cut, axle_no=None, replace_at_mm=None):
    """The forecast, its days those of the calendar: ``forecast`` counts even days, and those since the last odometer by the calendar."""
    vehicle_ids = cut.axles["vehicle_id"].to_numpy()
    days = _next_visit_days(records, cut)
    if not use.season.found:
        return forecast(model, use, days, vehicle_ids, replace_at_mm, axle_no)
    idle = (use.as_of - use.table["last_date"]).dt.days.reindex(vehicle_ids).to_numpy(dtype=float)
    busier = -use.even_days(-idle) - idle
    ahead = forecast(model, use, use.even_days(days) + busier, vehicle_ids, replace_at_mm, axle_no)
    names = ["due_day", "due_day_early", "due_day_late"]
    axles = ahead.axles.assign(**{name: use.calendar_days(ahead.axles[name] - busier[ahead.axles.index]) for name in names})
    return Forecast(axles)


# --- what keeps an axle's own forecast back ---------------------------------------------------------------------------


def _unanswered(cut) -> np.ndarray:
    """Axles whose running life began with a change of linings that nobody recorded and nobody has said yes to."""
    asked = cut.proposals[cut.proposals["answer"].eq("")]
    running = cut.lives[
        cut.lives["end_kind"].eq("running") & cut.lives["start_kind"].eq("jump") & cut.lives["family"].eq("lining")
    ]
    began = running.merge(
        asked[["vehicle_id", "axle", "date"]],
        left_on=["vehicle_id", "axle", "start_date"],
        right_on=["vehicle_id", "axle", "date"],
    )
    keys = pd.MultiIndex.from_frame(cut.axles[["vehicle_id", "axle"]])
    return np.flatnonzero(keys.isin(pd.MultiIndex.from_frame(began[["vehicle_id", "axle"]])))


def like_vehicles(model: SharedModel, axle_no: np.ndarray) -> SharedModel:
    """The model with the wear rates of some axles as like vehicles' are, whatever was read of them; thicknesses stay as read.

    Parameters
    ----------
    model : SharedModel
    axle_no : array of int
    """
    if not len(axle_no):
        return model
    state, columns = model.solved.state, model.solved.design.columns_of_stars[:, :6]
    positions, covariance = model.positions.copy(), model.covariance.copy()
    mine = np.flatnonzero(positions["axle_no"].isin(axle_no))
    positions.loc[mine, "log_rate"] = np.append(state.beta, 0.0)[columns[mine]].sum(axis=1)
    square = {name: sd**2 for name, sd in model.scales.items()}
    fleet = np.pad(state.covariance, (0, 1))
    own = pd.DataFrame({"axle_no": positions["axle_no"].to_numpy()[mine], "at": np.arange(len(mine))})
    one, other = own.merge(own, on="axle_no")[["at_x", "at_y"]].to_numpy().T
    shared = fleet[columns[mine[one]][:, :, None], columns[mine[other]][:, None, :]].sum(axis=(1, 2))
    shared += square["vehicle"] + square["axle"] + square["life"] + square["position"] * (one == other)
    most = covariance.shape[1] // 2
    covariance[axle_no, :most, :], covariance[axle_no, :, :most] = 0.0, 0.0
    slot, axle = positions["slot"].to_numpy()[mine], positions["axle_no"].to_numpy()[mine]
    covariance[axle[one], slot[one], slot[other]] = shared
    own_share = model.own_share.copy()
    own_share[axle_no] = 0.0
    return replace(model, positions=positions, covariance=covariance, own_share=own_share)


def typical_life_km(made: Schedule, axle_no: int) -> pd.Series:
    """Distance a set of new linings lasts on like vehicles, from new to ``replace_at``: ``due_early_km, due_km, due_late_km``."""
    model = like_vehicles(made.model, np.array([axle_no]))
    mine = model.positions["axle_no"].eq(axle_no)
    new = model.positions.assign(
        thickness_mm=model.positions["thickness_mm"].mask(mine, model.positions["new_mm"]),
        ref_km=model.positions["ref_km"].mask(mine, 0.0),
    )
    return forecast_of(made, replace(model, positions=new), [axle_no]).axles.loc[
        axle_no, ["due_early_km", "due_km", "due_late_km"]
    ]


def _held_back(cut, held):
    """R95: no forecast of its own; the window is that of like vehicles from the thickness last read."""
    axles = cut.axles.iloc[held]
    return findings.make("R95-own-forecast-held-back", "measurements", vehicle_id=axles["vehicle_id"], column=axles["axle"])


def _unresolved(records, cut, model):
    """R96: an axle with no reading of this life, of a vehicle some of whose readings could not be made out."""
    lost = records.findings
    lost = lost[lost["table"].eq("measurements") & lost["code"].isin(UNRESOLVED) & lost["severity"].eq("left_out")]
    if not len(lost):
        return findings.empty()
    count = lost.groupby("vehicle_id").size()
    unread = _running_readings(cut, model) == 0
    axles = cut.axles[unread & cut.axles["vehicle_id"].isin(count.index).to_numpy()]
    said = [f"{number:,.0f} left out" for number in count.reindex(axles["vehicle_id"])]
    return findings.make(
        "R96-readings-unresolved", "measurements", vehicle_id=axles["vehicle_id"], column=axles["axle"], reading=said
    )


def _use_changed(use, cut):
    """R97: driven much more or much less than before, or hardly at all."""
    changed = use.changes[use.changes["vehicle_id"].isin(cut.axles["vehicle_id"])]
    cells = changed[["ratio", "parked", "since"]].itertuples(index=False)
    said = [
        f"{'hardly moved' if parked else f'{ratio:.1f} times as far a day'} since about {since:%Y-%m}"
        for ratio, parked, since in cells
    ]
    return findings.make("R97-use-changed", "vehicles", vehicle_id=changed["vehicle_id"].to_numpy(), reading=said)


def newest_fitted(records, cut, families) -> pd.DataFrame:
    """The newest reading a side of the rotors, drums or parking-brake shoes now fitted.

    Parameters
    ----------
    records : Records
    cut : Lives
    families : sequence of str
        Of rotor, drum, park_brake.

    Returns
    -------
    DataFrame
        Columns of ``Lives.readings``, ``discard_at_mm`` (NaN where the limits table has none), ``past`` (at or beyond it) and ``count`` (readings
        of this part on this side since it was fitted).
    """
    seen = cut.coded_readings
    seen = codes.plain(seen[seen["family"].isin(families)])
    seen["count"] = seen.groupby(["life_id", "part"])["value_mm"].transform("size")
    newest = seen.sort_values("date", kind="stable").drop_duplicates(["vehicle_id", "axle", "side", "family"], keep="last")
    newest = newest[cut.lives["end_kind"].eq("running").to_numpy()[newest["life_id"]]].reset_index(drop=True)
    drum = newest["family"].eq("drum").to_numpy()
    asked = newest.assign(measure=np.where(drum, "diameter", "thickness"), family=newest["family"].replace("park_brake", "shoe"))
    limit = limits.resolve(records.limits, asked)["discard_at_mm"].to_numpy()
    past = np.where(drum, newest["value_mm"] >= limit - 1e-6, newest["value_mm"] <= limit + 1e-6)
    return newest.assign(discard_at_mm=limit, past=past)


def _rotor_past_limit(records, cut):
    """R98: the newest reading of a rotor (drum, parking-brake shoe) now fitted is at or beyond discard_at."""
    newest = newest_fitted(records, cut, ("rotor", "drum", "park_brake"))
    past = newest[newest["past"]]
    name = past["family"].replace("park_brake", "parking-brake shoe")
    return findings.make(
        "R98-rotor-past-limit", "measurements", row=past["row"], vehicle_id=past["vehicle_id"], column=past["axle"] + " " + name,
        value=past["value_written"] + " " + past["unit"],
    )  # fmt: skip


def _never_measured(cut, model):
    """R45: an axle of which no lining was ever measured."""
    seen = pd.MultiIndex.from_frame(codes.plain(model.coded_readings(["vehicle_id", "axle"]).drop_duplicates()))
    axles = cut.axles[~pd.MultiIndex.from_frame(cut.axles[["vehicle_id", "axle"]]).isin(seen)]
    if not len(axles):
        return findings.empty()
    return findings.make("R45-axle-never-measured", "measurements", vehicle_id=axles["vehicle_id"], column=axles["axle"])


def _not_seen(records, cut, use):
    """R47: no odometer for over a year and over three usual gaps between visits."""
    since = (cut.as_of - use.table["last_date"]).dt.days
    gap = usual_gap(records, cut.as_of)
    lost = since.index[((since > NOT_SEEN_DAYS) & (since > 3 * gap)).to_numpy()].intersection(cut.axles["vehicle_id"])
    last = use.table.loc[lost, "last_date"].dt.strftime("last %Y-%m-%d")
    return findings.make("R47-not-seen", "vehicles", vehicle_id=lost.to_numpy(), reading=last.to_numpy())


def _overdue(cut, use, ahead):
    """R48: the late end of the due window was driven past already; the lining is worn out, or a change was not recorded."""
    here = use.table["odometer_km"].reindex(cut.axles["vehicle_id"]).to_numpy()
    late = cut.axles[(ahead.axles["due_late_km"] < here).to_numpy()]
    return findings.make("R48-overdue-unseen", "measurements", vehicle_id=late["vehicle_id"], column=late["axle"])


def _next_visit_days(records, cut):
    return usual_next_visit(records, cut.as_of).reindex(cut.axles["vehicle_id"]).to_numpy()


def usual_gap(records: Records, as_of) -> pd.Series:
    """Days between a vehicle's visit days, index vehicle_id: its median, the fleet's where it has fewer than three gaps."""
    visits = records.visits[records.visits["date"] <= as_of].drop_duplicates(["vehicle_id", "date"])
    gap = visits.groupby("vehicle_id")["date"].diff().dt.days
    by_vehicle = gap.groupby(visits["vehicle_id"]).agg(["median", "count"])
    fleet = gap.median() if gap.notna().any() else USUAL_VISIT_DAYS
    usual = by_vehicle["median"].where(by_vehicle["count"] >= 3).reindex(records.vehicles["vehicle_id"])
    return np.maximum(usual.fillna(fleet), 1.0)


def usual_next_visit(records: Records, as_of) -> pd.Series:
    """Days from ``as_of`` to each vehicle's next usual visit, index vehicle_id.

    The last visit plus as many of the vehicle's usual gaps as it takes to pass ``as_of``.
    """
    usual = usual_gap(records, as_of)
    visits = records.visits[records.visits["date"] <= as_of]
    last = visits.groupby("vehicle_id")["date"].max().reindex(usual.index)
    since = (pd.Timestamp(as_of) - last).dt.days.fillna(0.0)
    return usual * (np.floor(since / usual) + 1) - since


def _table(records, cut, use, model, ahead, held, found):
    axles, f = cut.axles, ahead.axles
    table = pd.DataFrame({"vehicle_id": axles["vehicle_id"], "axle": axles["axle"]})
    table["governing_part"], table["governing_side"] = f["governing_part"], f["governing_side"]
    newest = _used(model, "date").groupby(["vehicle_id", "axle"])["date"].max()
    key = pd.MultiIndex.from_frame(axles[["vehicle_id", "axle"]])
    table["last_reading_date"] = newest.reindex(key).to_numpy()
    table["odometer_km"] = use.table["odometer_km"].reindex(axles["vehicle_id"]).round().to_numpy()
    table["thickness_mm"] = f["thickness_mm"].round(2)
    table["rate_mm_per_10000km"] = f["rate_mm_per_10000km"].round(3)
    for when in ("", "_early", "_late"):
        table[f"due_odometer{when}_km"] = f[f"due{when}_km"].round()
        days = f[f"due_day{when}"].clip(-FARTHEST_DAYS, FARTHEST_DAYS).round()
        table[f"due_date{when}"] = (pd.Timestamp(cut.as_of) + pd.to_timedelta(days, unit="D")).astype("datetime64[s]")
    table["discard_odometer_early_km"] = f["discard_early_km"].round()
    table["risk_before_next_visit"] = f["risk"].round(3)
    readings = model.positions.groupby("axle_no")["readings"].sum().reindex(range(len(axles))).fillna(0).astype(int)
    whole = _running_readings(cut, model)
    table["readings"] = np.maximum(readings.to_numpy(), whole)
    table["basis"] = np.where(table["readings"] == 0, "fleet", np.where(model.own_share >= OWN_SHARE, "own", "shared"))
    table.loc[held, "basis"] = "fleet"
    nothing = table["due_odometer_km"].isna().to_numpy()
    table.loc[nothing, ["governing_part", "governing_side", "basis"]] = ""
    table.loc[nothing, ["thickness_mm", "rate_mm_per_10000km"]] = np.nan
    table["findings"] = _codes(axles, cut, model, found, nothing)
    table = table.sort_values(["due_date", "vehicle_id", "axle"], kind="stable", na_position="last", ignore_index=True)
    return table[COLUMNS]


def _used(model, column: str) -> pd.DataFrame:
    """The readings that fit: vehicle and axle as codes, and one column more."""
    fits = model.given.index[~model.given["misfit"]].to_numpy()
    return codes.rows(model.read[["vehicle_id", "axle", column]], fits)


def _running_readings(cut, model):
    """Used lining readings of each axle's running lives, all parts."""
    running = cut.lives.index[cut.lives["end_kind"].eq("running")]
    used = _used(model, "life_id")
    count = used[used["life_id"].isin(running)].groupby(["vehicle_id", "axle"]).size()
    return count.reindex(pd.MultiIndex.from_frame(cut.axles[["vehicle_id", "axle"]])).fillna(0).to_numpy(dtype=int)


ROW_CODES = (
    "R23-odometer-back", "R24-odometer-leap", "R25-odometer-none", "R32-all-zero", "R40-change-unrecorded",
    "R41-reading-misfit", "R42-sides-swapped", "R43-axle-two-names", "R44-axle-assumed", "R45-axle-never-measured",
    "R46-past-limit", "R47-not-seen", "R48-overdue-unseen", "R50-unit-changed", "R95-own-forecast-held-back", "R96-readings-unresolved", "R97-use-changed",
    "R98-rotor-past-limit",
)  # fmt: skip
"""Findings about a vehicle that are named in its schedule rows."""


def _codes(axles, cut, model, found, nothing):
    """Codes of the findings that bear on each row, separated by spaces."""
    about = found[found["code"].isin(ROW_CODES) & found["vehicle_id"].ne("")][["vehicle_id", "code", "column"]].drop_duplicates()
    named = about["column"].str.split(" ").str[0]
    about = about.assign(axle=named.where(named.isin(set(axles["axle"])), ""))
    rows = axles[["vehicle_id", "axle"]].reset_index(names="place")
    joined = rows.merge(about, on="vehicle_id", suffixes=("", "_of"))
    joined = joined[joined["axle_of"].eq("") | joined["axle_of"].eq(joined["axle"])]
    positions = model.positions.drop_duplicates("axle_no")
    planned = pd.concat(
        [
            joined[["place", "code"]],
            pd.DataFrame({"place": positions["axle_no"][positions["replace_default"]], "code": "R38-limit-default"}),
            pd.DataFrame({"place": positions["axle_no"][positions["discard_at_mm"].isna()], "code": "R39-no-discard-limit"}),
            pd.DataFrame({"place": np.flatnonzero(nothing), "code": "R25-odometer-none"}),
        ]
    ).drop_duplicates()  # fmt: skip
    texts = planned.sort_values(["place", "code"], kind="stable").groupby("place")["code"].agg(" ".join)
    return texts.reindex(range(len(axles))).fillna("").to_numpy()


def path(schedule: Schedule, axle_no: int, slot: int, odometer_km, level: float = 0.8) -> pd.DataFrame:
    """The shared estimate of one position over its running life and ahead.

    Parameters
    ----------
    schedule : Schedule
    axle_no, slot : int
        A row of ``schedule.model.positions``.
    odometer_km : array, shape (n,)
        Increasing.
    level : float
        Share of chances inside the band.

    Returns
    -------
    DataFrame, shape (n, 4)
        ``odometer_km, low_mm, middle_mm, high_mm``.
    """
    from scipy.special import ndtri

    km = np.asarray(odometer_km, dtype=float)
    positions = schedule.model.positions
    ref_km = float(positions.loc[positions["axle_no"].eq(axle_no) & positions["slot"].eq(slot), "ref_km"].iloc[0])
    past = km <= ref_km
    out = np.empty((3, len(km)))
    if past.any():
        mean, sd = schedule.model.trace(axle_no, slot, km[past])
        half = ndtri((1 + level) / 2) * sd
        out[:, past] = mean - half, mean, mean + half
    if not past.all():
        tails = [(1 - level) / 2, 0.5, (1 + level) / 2]
        out[:, ~past] = np.quantile(ahead_mm(schedule.model, axle_no, slot, km[~past]), tails, axis=0)
    out = np.maximum(out, 0.0)
    return pd.DataFrame({"odometer_km": km, "low_mm": out[0], "middle_mm": out[1], "high_mm": out[2]})


def why(schedule: Schedule, vehicle_id: str, axle: str, shown: Shown | None = None) -> list[str]:
    """Why an axle is due when it is, in plain sentences, each number with its unit, level and readings.

    Parameters
    ----------
    schedule : Schedule
    vehicle_id, axle : str
        A row of the schedule.
    shown : Shown, optional
        Units to speak in; default km and mm.

    Returns
    -------
    list of str
        Text from the records stands in it as written: escape it before showing it as HTML.
    """
    shown = shown or Shown()
    row = schedule.table[schedule.table["vehicle_id"].eq(vehicle_id) & schedule.table["axle"].eq(axle)].iloc[0]
    axle_no = int(_where(schedule.lives.axles, {"vehicle_id": vehicle_id, "axle": axle}).index[0])
    if pd.isna(row["due_odometer_km"]):
        return [f"No forecast: {findings.RULES['R25-odometer-none'].advice}.", _typical_text(schedule, axle_no, shown)]
    part = f"{row['governing_side']} {row['governing_part'].replace('_', ' ')}".strip()
    use = schedule.usage.table.loc[vehicle_id]
    said = [
        f"The {part} is expected to reach its replace point first: even odds by {shown.forecast_text(row['due_odometer_km'])} "
        f"({row['due_date']:%d %b %Y}); eight times in ten between "
        f"{shown.between_text(row['due_odometer_early_km'], row['due_odometer_late_km'])}.",
        f"On {schedule.as_of:%d %b %Y} it is estimated at {shown.thickness_text(row['thickness_mm'])} (median) at about "
        f"{shown.forecast_text(row['odometer_km'])}, wearing {shown.rate_text(row['rate_mm_per_10000km'])} (median).",
        _behind(schedule, row),
        f"Dates follow the vehicle's own use: about {shown.distance_text(use['km_per_day'])} a day, from "
        f"{use['odometers']:.0f} odometer readings over {use['days']:,.0f} days."
        if use["odometers"] > 1 and use["days"] > 0
        else f"Dates follow the usual use of the other vehicles, about {shown.distance_text(use['km_per_day'])} a day: "
        f"{count_text(int(use['odometers']), 'odometer reading')} of this vehicle cannot say its own.",
    ]
    if pd.isna(row["risk_before_next_visit"]):
        said.append("No discard limit is recorded for it: the chance of reaching that before the next usual visit is not known.")
    if pd.notna(row["risk_before_next_visit"]):
        chance = chance_text(row["risk_before_next_visit"])
        said.append(f"Chance of being at or under discard_at before the next usual visit: {chance}.")
    if row["basis"] == "fleet":
        said.append(_typical_text(schedule, axle_no, shown))
    return said + [f"{code}: {findings.RULES[code].advice}." for code in row["findings"].split()]


def _typical_text(schedule, axle_no, shown) -> str:
    """The like vehicles' typical window, named as such."""
    life = typical_life_km(schedule, axle_no)
    between = shown.between_text(life["due_early_km"], life["due_late_km"])
    return f"Typical of like vehicles: a set of linings lasts {between} from new to its replace point, eight times in ten."


def _behind(schedule, row) -> str:
    """How many readings, earlier lives and like axles stand behind a row."""
    this_axle = {"vehicle_id": row["vehicle_id"], "axle": row["axle"]}
    seen = schedule.model.coded_readings(["vehicle_id", "axle", "axle_life_id"])
    seen = _where(seen, this_axle)["axle_life_id"].unique()
    running = _where(schedule.model.positions, this_axle)["axle_life_id"]
    earlier = len(set(seen) - set(running))
    axles = schedule.lives.axles
    kind = _where(axles, this_axle).iloc[0]
    like = len(_where(axles, {"wear_class": kind["wear_class"], "axle": row["axle"], "lining": kind["lining"]})) - 1
    leans = {
        "own": "its own readings carry it",
        "shared": "its own readings and those of like axles carry it together",
        "fleet": "this life was never measured, so the window is that of like axles"
        + (" and of this vehicle's earlier lives" if earlier else ""),
    }[row["basis"]]
    counts = [
        f"{count_text(row['readings'], 'reading')} of this life",
        f"{count_text(earlier, 'earlier life', 'earlier lives')} of this axle",
        count_text(like, "like axle"),
    ]
    if row["basis"] == "fleet" and row["readings"]:
        leans = (
            "a change of linings is not answered, so its own rate is held back: like vehicles' wear from the thickness last read"
        )
    return f"Behind it: {', '.join(counts)}; {leans}."


def _where(frame, cells) -> pd.DataFrame:
    """Rows of ``frame`` whose cells are as given."""
    same = np.ones(len(frame), dtype=bool)
    for name, value in cells.items():
        same &= frame[name].eq(value).to_numpy()
    return frame[same]
