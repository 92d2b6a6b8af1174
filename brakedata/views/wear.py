"""One axle's wear: its readings, lives, limits, own line, shared estimate and due window, gathered for picture and table."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd

from brakedata import codes, explain, findings, limits, odd_wear, own_line, rotors, schedule
from brakedata.schedule import Schedule
from brakedata.shown import Shown, about_text, chance_text, count_text, day_text

LEVEL = 0.8
LEVEL_SD = 1.2815515655446004
"""Standard deviations from the middle to the edge of 8 in 10."""
PATH_STEPS = 60
LIVES_SHOWN = {"this life": 0, "this and 2 earlier lives": 2, "all lives": 10_000}
LIVES_SHOWN_FIRST = 2
"""How much history a person can choose to see: earlier lives beside the running one."""


@dataclass(frozen=True)
class WearView:
    """Everything the wear picture, its title and its table tell of one axle; distances in km, thicknesses in mm.

    Attributes
    ----------
    vehicle_id, axle : str
    as_of : Timestamp
    row : Series
        The axle's row of the schedule table; of the what-if where one is tried.
    positions : DataFrame
        Positions of the running life: ``slot, side, part, label, life_id, replace_at_mm, discard_at_mm, new_mm``.
    shown_slot : int
        The position whose lines are shown.
    readings : DataFrame
        Lining readings of the chosen lives: ``odometer_km, value_mm, fitted_mm, side, part, label, running`` (of the running
        life), ``misfit, written, visit_id, date, row``; newest first.
    lives : DataFrame
        Where linings were fitted: ``km, words, running``; by odometer.
    from_km : float
        Where the picture begins.
    path : DataFrame
        ``schedule.path`` of the shown position.
    own : OwnLine or None
        Line through the shown position's readings of this life; None below two odometers.
    own_readings : int
    recorded_replace_mm : float
        The replace point of the limits table (or the kit's own), whatever is tried.
    tried_mm : float or None
        The replace point being tried.
    replace_default : bool
        The replace point is the kit's own planning point.
    earlier_lives, like_axles : int
        What else stands behind the shared estimate.
    """

    vehicle_id: str
    axle: str
    as_of: pd.Timestamp
    row: pd.Series
    positions: pd.DataFrame
    shown_slot: int
    readings: pd.DataFrame
    lives: pd.DataFrame
    from_km: float
    path: pd.DataFrame
    own: own_line.OwnLine | None
    own_readings: int
    recorded_replace_mm: float
    tried_mm: float | None
    replace_default: bool
    earlier_lives: int
    like_axles: int

    @property
    def forecast(self) -> bool:
        """Whether the axle could be forecast."""
        return bool(pd.notna(self.row["due_odometer_km"]))

    @cached_property
    def position(self) -> pd.Series:
        """The position whose lines are shown."""
        return self.positions.iloc[int(np.argmax(self.positions["slot"].to_numpy() == self.shown_slot))]

    @property
    def replace_mm(self) -> float:
        """The replace point in force: the one tried, else the recorded one."""
        return self.recorded_replace_mm if self.tried_mm is None else self.tried_mm

    @property
    def name(self) -> str:
        """Vehicle and axle in words."""
        return f"{self.vehicle_id} {axle_words(self.axle)}"

    @property
    def axle_no(self) -> int:
        """Place of the axle in the table of axles."""
        return int(self.positions["axle_no"].iloc[0])

    @property
    def shows_leader(self) -> bool:
        """Whether the shown position is the one expected to be due first."""
        return self.position["label"] == part_words(self.row["governing_side"], self.row["governing_part"])

    def headline(self, shown: Shown) -> str:
        """The answer in one sentence, its level in the line below (``behind``)."""
        if not self.forecast:
            return f"{self.name}: no forecast, because no odometer of this vehicle can be believed"
        row = self.row
        window = shown.between_text(row["due_odometer_early_km"], row["due_odometer_late_km"])
        middle = f"even odds by {shown.forecast_text(row['due_odometer_km'])} ({about_text(row['due_date'])})"
        tried = "" if self.tried_mm is None else f"what if replaced at {shown.thickness_text(self.tried_mm)}: "
        verb = "was due" if row["due_odometer_late_km"] < row["odometer_km"] else "due"
        return f"{self.name}: {tried}{verb} between {window}, {middle}"

    def behind(self) -> str:
        """The level of the answer and what stands behind it."""
        if not self.forecast:
            return "write one good odometer of it to settle this"
        leader = part_words(self.row["governing_side"], self.row["governing_part"])
        newest = self.row["last_reading_date"]
        read = f", last {day_text(newest)}" if self.row["readings"] else ""
        return (
            f"{leader} leads; 8 times in 10 inside this window; {count_text(int(self.row['readings']), 'reading')} of this life"
            f"{read}; {count_text(self.earlier_lives, 'earlier life', 'earlier lives')}, {count_text(self.like_axles, 'like axle')}"
        )

    def own_words(self, shown: Shown) -> str:
        """What the own line of the shown position says, with its level and readings."""
        label = self.position["label"]
        count = count_text(self.own_readings, "reading")
        if self.own is None:
            return f"Own line, {label}: none; a line needs readings at two odometers of this life, here are {count}."
        rate = shown.rate_text(-self.own.slope_mm_per_km * 10_000)
        if self.own_readings < 3:
            return f"Own line, {label}: {rate} through {count}; two readings give a line but no interval."
        fast, slow = (-edge * 10_000 for edge in self.own.slope_interval(LEVEL))
        crossing = self.own.meets(self.replace_mm, LEVEL)
        at = shown.thickness_text(self.replace_mm)
        if crossing.kind == "bounded":
            meets = (
                f"it meets {at} at {shown.forecast_text(crossing.km)}, "
                f"8 times in 10 between {shown.between_text(crossing.low_km, crossing.high_km)}"
            )
        else:
            meets = f"not enough evidence to say where it meets {at}"
        return f"Own line, {label}: {rate} (8 times in 10 {shown.rate_between_text(slow, fast)}), {count}; {meets}."


def axle_words(axle: str) -> str:
    """``front``, ``rear``, or ``axle 3``."""
    return f"axle {axle}" if axle.isdigit() else axle


def part_words(side: str, part: str) -> str:
    """``left inner pad``; a thinnest-seen reading says so."""
    words = {"pad": "thinnest pad", "shoe": "thinnest shoe"}.get(part, part.replace("_", " "))
    return f"{side} {words}".strip()


PAST_LIMIT = "R98-rotor-past-limit"


class WearBook:
    """The axles of one schedule, ready to be looked at one by one; views already made are kept.

    Parameters
    ----------
    made : Schedule
    """

    def __init__(self, made: Schedule):
        self.made = made
        self._kept: dict[tuple, WearView] = {}
        self._rows = made.table.groupby(["vehicle_id", "axle"]).indices
        self._positions, self._place_of_positions = _grouped(_positions(made))
        self._readings, self._place_of_readings = _grouped(_readings(made))
        self._disc_jobs = rotors.fitted(made)
        self._discs, self._place_of_discs = _grouped(_disc_readings(made, self._disc_jobs))
        self._limits_of_discs = _disc_limits(made.records.limits, self._discs)
        self._fittings, self._place_of_fittings = _grouped(_fittings(made))
        axles = made.lives.axles
        self._like = axles.groupby(["wear_class", "axle", "lining"])["vehicle_id"].transform("size").to_numpy() - 1

    def axles_of(self, vehicle_id: str) -> list[str]:
        """Axles of a vehicle in the schedule, in order."""
        return sorted(axle for vehicle, axle in self._rows if vehicle == vehicle_id)

    def view(self, vehicle_id: str, axle: str, slot: int | None = None, earlier: int = LIVES_SHOWN_FIRST) -> WearView:
        """Gather what is known of one axle.

        Parameters
        ----------
        vehicle_id, axle : str
            A row of the schedule table.
        slot : int, optional
            Position whose lines are shown; default the one expected to be due first.
        earlier : int
            Earlier lives to show beside the running one.

        Returns
        -------
        WearView
        """
        asked = (vehicle_id, axle, slot, earlier)
        if asked not in self._kept:
            self._kept[asked] = self._gather(*asked)
        return self._kept[asked]

    def disc(self, view: WearView) -> "DiscView":
        """Rotor or drum readings of the axle from where its wear picture begins."""
        key = (view.vehicle_id, view.axle)
        seen = self._discs.iloc[self._place_of_discs.get(key, [])]
        seen = seen[seen["odometer_km"].to_numpy() >= view.from_km]
        if len(seen):
            seen = seen[seen["part"].eq(seen["part"].iloc[0])]
        family = seen["part"].iloc[0] if len(seen) else "rotor"
        known = self._limits_of_discs.get((*key, family), {}) if len(seen) else {}
        jobs = self._disc_jobs
        same = jobs["vehicle_id"].eq(view.vehicle_id) & jobs["axle"].eq(view.axle) & jobs["family"].eq(family)
        jobs = jobs[same & jobs["words"].ne("") & (jobs["start_km"] >= view.from_km)]
        return DiscView(view.name, family, seen, known, jobs.drop_duplicates(["start_km", "words"]).sort_values("start_km"))

    @cached_property
    def odd(self) -> odd_wear.OddWear:
        """Odd wear of the whole fleet."""
        return odd_wear.find(self.made)

    @cached_property
    def rotors(self) -> rotors.Rotors:
        """Rotors and drums of the whole fleet."""
        return rotors.fit(self.made)

    def sources(self, view: WearView, shown: Shown) -> list[str]:
        """Where the axle's number comes from and what one more reading would do, in plain sentences."""
        if not view.forecast:
            return []
        said = []
        if view.axle_no not in self.made.held_back:
            weighed = explain.weights(self.made, view.axle_no, view.shown_slot)
            said.append(f"{explain.weights_text(weighed)} (of the {view.position['label']}).")
        more = explain.one_more_reading(self.made, [view.axle_no])
        return [*said, f"{explain.reading_text(more.table.iloc[0], shown)}."]

    def odd_of(self, view: WearView) -> list[str]:
        """Odd wear of the axle, likeliest first, in plain sentences."""
        mine = self.odd.table[self.odd.table["axle_no"].eq(view.axle_no)]
        listed = mine[mine["chance"] >= odd_wear.LISTED]
        if not len(mine):
            return ["Not enough readings to tell."]
        if not len(listed):
            return [f"None beyond gauge noise and how axles ordinarily differ ({count_text(len(mine), 'comparison')} made)."]
        return [*(odd_wear.sentence(row) for _, row in listed.iterrows()), odd_wear.CAUTION]

    def rotors_of(self, view: WearView, shown: Shown) -> list[str]:
        """Whether the axle's rotors or drums outlast the linings on it and the sets after, in plain sentences."""
        said = rotors.sentences(self.rotors.outlook([view.axle_no]).iloc[0], shown)
        if PAST_LIMIT in view.row["findings"].split():
            advice = findings.RULES[PAST_LIMIT].advice
            said.insert(0, f"{advice[:1].upper()}{advice[1:]}.")
        return [*said, *rotors.parking_sentences(self.made, view.vehicle_id, view.axle, shown)]

    def _gather(self, vehicle_id, axle, slot, earlier):
        key = (vehicle_id, axle)
        row = self.made.table.iloc[self._rows[key][0]]
        positions = self._positions.iloc[self._place_of_positions[key]].reset_index(drop=True)
        if slot is None:
            leads = positions["label"] == part_words(row["governing_side"], row["governing_part"])
            slot = int(positions["slot"].iloc[int(np.argmax(leads.to_numpy(dtype=bool)))])
        position = positions.iloc[int(np.argmax(positions["slot"].to_numpy() == slot))]
        seen = self._readings.iloc[self._place_of_readings.get(key, [])]
        fittings = self._fittings.iloc[self._place_of_fittings.get(key, [])]
        running, km = seen["running"].to_numpy(dtype=bool), seen["odometer_km"].to_numpy()
        start = _least(fittings["km"].to_numpy()[fittings["running"].to_numpy(dtype=bool)], km[running], [position["ref_km"]])
        first = _from_km(fittings, km, start, earlier)
        mine = seen[running & (seen["label"] == position["label"]).to_numpy() & ~seen["misfit"].to_numpy(dtype=bool)]
        axle_no = int(position["axle_no"])
        return WearView(
            vehicle_id, axle, self.made.as_of, row, positions, slot, seen[km >= first], fittings[fittings["km"] >= first], first,
            _path(self.made, row, axle_no, slot, start, float(position["ref_km"])), _own(mine), len(mine),
            float(position["replace_at_mm"]), None, bool(position["replace_default"]),
            int(seen["axle_life_id"][~running].nunique()), int(self._like[axle_no]),
        )  # fmt: skip


def what_if(view: WearView, ahead: pd.Series, tried_mm: float) -> WearView:
    """The same axle with another replace point.

    Parameters
    ----------
    view : WearView
    ahead : Series
        What ``Schedule.try_replace_at`` says of the axle.
    tried_mm : float
    """
    row = view.row.copy()
    for ours, km, day in (
        ("", "due_km", "due_day"),
        ("_early", "due_early_km", "due_day_early"),
        ("_late", "due_late_km", "due_day_late"),
    ):
        row[f"due_odometer{ours}_km"] = ahead[km]
        row[f"due_date{ours}"] = view.as_of + pd.Timedelta(days=round(float(ahead[day])))
    row["governing_part"], row["governing_side"] = ahead["governing_part"], ahead["governing_side"]
    row["discard_odometer_early_km"], row["risk_before_next_visit"] = ahead["discard_early_km"], ahead["risk"]
    return replace(view, row=row, tried_mm=tried_mm)


def _grouped(frame):
    """A frame, and where in it each axle's rows are."""
    return frame, frame.groupby(["vehicle_id", "axle"], sort=False).indices


def _labels(frame):
    """``part_words`` of every row."""
    pairs = frame[["side", "part"]].drop_duplicates()
    pairs["label"] = [part_words(side, part) for side, part in pairs.itertuples(index=False)]
    return frame[["side", "part"]].merge(pairs, on=["side", "part"], how="left")["label"].to_numpy()


def _positions(made):
    columns = ["axle_no", "vehicle_id", "axle", "slot", "side", "part", "life_id", "ref_km", "new_mm", "replace_at_mm",
               "discard_at_mm", "replace_default"]  # fmt: skip
    positions = made.model.positions
    at = positions["axle_no"].to_numpy(), positions["slot"].to_numpy()
    sd = np.sqrt(made.model.covariance[at[0], at[1], at[1]])
    return positions[columns].assign(label=_labels(positions), log_rate_sd=sd)


def _readings(made):
    """Lining readings of the fleet, newest first within an axle."""
    seen = made.model.readings
    running = made.lives.lives.index[made.lives.lives["end_kind"].eq("running")]
    out = pd.DataFrame(
        {
            "vehicle_id": seen["vehicle_id"], "axle": seen["axle"], "odometer_km": seen["odometer_km"],
            "value_mm": seen["value_mm"], "fitted_mm": seen["fitted_mm"], "side": seen["side"], "part": seen["part"],
            "label": _labels(seen), "running": seen["life_id"].isin(running), "misfit": seen["misfit"],
            "written": seen["value_written"] + " " + seen["unit"], "visit_id": seen["visit_id"], "date": seen["date"],
            "row": seen["row"], "step_mm": seen["step_mm"], "axle_life_id": seen["axle_life_id"],
        }
    )  # fmt: skip
    return out.sort_values(["running", "odometer_km"], ascending=False, kind="stable", ignore_index=True)


def _disc_readings(made, fitted):
    """Rotor and drum readings of the fleet, newest first within an axle; ``running``: of the part now ``fitted``."""
    seen = made.lives.coded_readings
    seen = codes.plain(seen[seen["family"].isin(("rotor", "drum"))])
    out = pd.DataFrame(
        {
            "vehicle_id": seen["vehicle_id"], "axle": seen["axle"], "wear_class": seen["wear_class"],
            "odometer_km": seen["odometer_km"], "value_mm": seen["value_mm"], "fitted_mm": np.nan, "side": seen["side"],
            "part": seen["family"], "label": (seen["side"] + " " + seen["family"]).str.strip(), "misfit": False,
            "running": fitted["now"].reindex(seen["life_id"]).fillna(True).to_numpy(dtype=bool),
            "written": seen["value_written"] + " " + seen["unit"], "visit_id": seen["visit_id"], "date": seen["date"],
            "row": seen["row"],
        }
    )  # fmt: skip
    return out.sort_values("odometer_km", ascending=False, kind="stable", ignore_index=True)


def _disc_limits(table, discs) -> dict[tuple, dict[str, float]]:
    """By vehicle, axle and part: the limits of that rotor or drum by name, in mm; those not given are left away."""
    asked = discs[["vehicle_id", "wear_class", "axle", "part"]].drop_duplicates(ignore_index=True)
    asked = asked.rename(columns={"part": "family"})
    asked["measure"] = np.where(asked["family"].eq("drum"), "diameter", "thickness")
    best = limits.resolve(table, asked)[["machine_to_mm", "discard_at_mm"]].to_numpy()
    keys = asked[["vehicle_id", "axle", "family"]].itertuples(index=False, name=None)
    names = ("machine to", "discard at")
    return {
        key: {n: float(mm) for n, mm in zip(names, row, strict=True) if mm == mm} for key, row in zip(keys, best, strict=True)
    }


def _fittings(made):
    """Where linings were fitted, by odometer; sides fitted together are one."""
    lives = made.lives.lives
    lives = lives[lives["family"].eq("lining") & lives["start_km"].notna()]
    fitted = lives.assign(running=lives["end_kind"].eq("running")).groupby(["vehicle_id", "axle", "start_km"])
    out = fitted.agg(
        sides=("side", "nunique"), side=("side", "first"), kind=("start_kind", "first"), running=("running", "max")
    ).reset_index()
    what = made.lives.axles[["vehicle_id", "axle", "lining"]]
    out = out.merge(what, on=["vehicle_id", "axle"]).rename(columns={"start_km": "km"})
    lining = out["lining"].map({"pad": "pads", "shoe": "shoes"})
    side = out["side"].where(out["sides"].eq(1) & out["side"].ne(""), "")
    words = out["kind"].map({"job": " replaced", "jump": " changed, not recorded"})
    out["words"] = (side + " " + lining + words).str.strip().where(words.notna(), "new vehicle")
    return out[["vehicle_id", "axle", "km", "words", "running"]]


def _least(*arrays):
    """Least of all known numbers, 0 where none is known."""
    numbers = np.concatenate([np.asarray(array, dtype=float) for array in arrays])
    return float(np.nanmin(numbers)) if np.isfinite(numbers).any() else 0.0


def _from_km(fittings, km, start, earlier):
    """Odometer at which the picture begins: the start of the earliest life shown."""
    if earlier == 0:
        return start
    before = fittings["km"].to_numpy()
    before = before[before < start]
    return float(before[-earlier]) if earlier <= len(before) else _least([start], before, km)


def _path(made, row, axle_no, slot, start, ref_km):
    """The shared estimate from the start of this life to beyond the due window; empty where there is none."""
    if pd.isna(row["due_odometer_late_km"]):
        return pd.DataFrame({name: np.array([]) for name in ("odometer_km", "low_mm", "middle_mm", "high_mm")})
    end = np.nanmax([row["due_odometer_late_km"], row["discard_odometer_early_km"], ref_km])
    end = end + 0.12 * (end - start)
    path = schedule.path(made, axle_no, slot, np.unique(np.append(np.linspace(start, end, PATH_STEPS), ref_km)), LEVEL)
    worn = np.append(False, path["middle_mm"].to_numpy()[:-1] <= 0)
    return path[~worn]


def _own(mine):
    if mine["odometer_km"].nunique() < 2:
        return None
    return own_line.fit(mine["odometer_km"], mine["value_mm"], mine["step_mm"].max())


def window_table(view: WearView, shown: Shown) -> pd.DataFrame:
    """The due window as a table: what the picture's bar and lines show, in numbers."""
    row, at = view.row, shown.thickness_text
    whose = " (the kit's planning point)" if view.replace_default and view.tried_mm is None else ""
    what = "what if replaced at " if view.tried_mm is not None else "replace at "
    due = {
        "limit": f"{what}{at(view.replace_mm)}{whose}",
        "1 in 10 by": f"{shown.forecast_text(row['due_odometer_early_km'])}, {day_text(row['due_date_early'])}",
        "even odds by": f"{shown.forecast_text(row['due_odometer_km'])}, {day_text(row['due_date'])}",
        "9 in 10 by": f"{shown.forecast_text(row['due_odometer_late_km'])}, {day_text(row['due_date_late'])}",
    }
    discard = {
        "limit": f"discard at {at(view.position['discard_at_mm'])}" if pd.notna(view.position["discard_at_mm"]) else "",
        "1 in 10 by": shown.forecast_text(row["discard_odometer_early_km"]), "even odds by": "", "9 in 10 by": "",
    }  # fmt: skip
    if not view.forecast:
        return pd.DataFrame(columns=list(due))
    return pd.DataFrame([due, discard] if discard["limit"] else [due])


def readings_table(view: WearView, shown: Shown) -> pd.DataFrame:
    """The readings as a table: one row a visit and life, newest first, one column a position."""
    names = ["date", "odometer_km", "visit_id", "running", "label", "value_mm", "misfit", "row"]
    labels = sorted(set(view.readings["label"]))
    visits: dict[tuple, dict] = {}
    for date, km, visit_id, running, label, mm, misfit, line in view.readings[names].itertuples(index=False):
        visit = visits.setdefault((visit_id, running), dict.fromkeys(labels, ""))
        cell = shown.thickness_text(mm) + (" (left out)" if misfit else "")
        visit[label] = f"{visit[label]}; {cell}" if visit[label] else cell
        visit |= {"date": day_text(date), f"odometer [{shown.distance}]": shown.distance_number(km)}
        visit |= {"life": "this life" if running else "earlier", "visit": visit_id}
        visit.setdefault("lines", []).append(int(line))
    columns = ["date", f"odometer [{shown.distance}]", *labels, "life", "visit", "lines in measurements"]
    rows = [visit | {"lines in measurements": ", ".join(map(str, sorted(visit["lines"])))} for visit in visits.values()]
    return pd.DataFrame(rows, columns=columns)


def numbers(view: WearView, shown: Shown) -> list[tuple[str, str]]:
    """Further numbers of the axle, each a name and its value with unit, level and readings."""
    row = view.row
    if not view.forecast:
        return []
    leader = part_words(row["governing_side"], row["governing_part"])
    now, rate = "median", "median"
    if row["thickness_mm"] <= 0:
        now = "median: none left by this estimate, which goes beyond what was read"
    if view.shows_leader and len(view.path):
        if row["thickness_mm"] > 0 and row["odometer_km"] <= view.path["odometer_km"].iloc[-1]:
            low, high = (
                np.interp(row["odometer_km"], view.path["odometer_km"], view.path[name]) for name in ("low_mm", "high_mm")
            )
            now = f"median; 8 in 10 {shown.thickness_text(low)} to {shown.thickness_text(high)}"
        off = np.exp(LEVEL_SD * view.position["log_rate_sd"])
        middle = row["rate_mm_per_10000km"]
        rate = f"median; 8 in 10 {shown.rate_between_text(middle / off, middle * off)}"
    return [
        (
            f"{leader} on {day_text(view.as_of)}",
            f"{shown.thickness_text(row['thickness_mm'])} ({now}) at about {shown.forecast_text(row['odometer_km'])}",
        ),
        ("wear rate", f"{shown.rate_text(row['rate_mm_per_10000km'])} ({rate})"),
        ("at discard before the next usual visit", chance_text(row["risk_before_next_visit"]) or "not known: no discard limit"),
        ("behind these", view.behind()),
    ]


@dataclass(frozen=True)
class DiscView:
    """Rotor (or drum) readings of one axle and their limits, in mm.

    ``readings`` as in ``WearView``, newest first, possibly none; ``limits`` maps a limit's name to mm; ``jobs`` are the replacements and
    machinings as in ``rotors.fitted``, in order of distance.
    """

    name: str
    family: str
    readings: pd.DataFrame
    limits: dict[str, float]
    jobs: pd.DataFrame

    def headline(self, shown: Shown) -> str:
        """The newest readings of what is now fitted, in one sentence."""
        if not len(self.readings):
            return f"{self.name}: no rotor or drum reading in the lives shown"
        now = self.readings[self.readings["running"]]
        if not len(now):
            when = self.jobs.loc[self.jobs["words"].eq("replaced"), "start_date"].max()
            since = f" on {day_text(when)}" if pd.notna(when) else ""
            return f"{self.name} {self.family}s: replaced{since}, not measured since"
        newest = now[now["visit_id"].eq(now["visit_id"].iloc[0])]
        said = ", ".join(
            f"{label} {shown.thickness_text(mm)}" for label, mm in zip(newest["label"], newest["value_mm"], strict=True)
        )
        return f"{self.name} {self.family}s: {said} on {day_text(newest['date'].iloc[0])}"

    @property
    def what(self) -> str:
        """The measure in words."""
        return "drum diameter" if self.family == "drum" else "rotor thickness"

    def behind(self) -> str:
        """How many readings are shown."""
        if not len(self.readings):
            return ""
        gone = " (grey: of parts replaced since)" if not self.readings["running"].all() else ""
        return f"{count_text(len(self.readings), 'reading')}{gone}; whether they outlast the linings is said below"
