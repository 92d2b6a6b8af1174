"""How long linings last: distance from fitting to replacement, and to ``replace_at``, by class, axle and product line.

A set is the linings fitted to an axle together; it ends with the first side that is replaced. Two lives of a set:

- as practised: to its replacement, whenever that was. Sets still on the vehicle count as far as they have run (right censoring).
- to ``replace_at``: to where the first of its linings would have reached that point, by the line through the new lining and the readings
  of each position. A line is drawn on to twice the distance it was read over, no farther: where it has not met the point by then, the
  set counts as having lasted that far. A change made early or late does not move this life.

A set whose fitting is on record is watched from its fitting. One that came on a new vehicle is watched from the vehicle's joining where
the vehicle was seen within ``JOINED_SEEN_DAYS`` of it, else from the distance it had when the vehicle was first seen: what was replaced
before that is in no record (delayed entry). A set whose fitting is not on record, on a vehicle that joined used, has no distance to
count from and is left out; so is what follows a vehicle's last visit by more than ``SEEN_DAYS``.

A vehicle that wears fast has more sets than others, and its later ones are cut off by the as-of date: on made fleets the half of all
sets ever fitted lay 7 % under the half to replacement told after four years and 2 % under that told after six, inside its limits;
the half to ``replace_at`` was within 2 % both times. (Wang and Chang 1999, Nonparametric estimation of a recurrent survival function, J.
American Statistical Association 94, 146-153, describe the trap.)
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata import limits, survival
from brakedata.limits import part_family
from brakedata.survival import Law, Survival

JOINED_SEEN_DAYS = 365.0
SEEN_DAYS = 365.0
"""A vehicle seen within the year before the as-of date is taken to run on to that date at its own pace."""
LEAST_REPLACED = 10
"""With fewer ends of lives than this no life is given (common practice, no source)."""
DRAWN_ON = 2.0
QUANTILES = (0.1, 0.5, 0.9)
LIVES = {"replaced": ("end_km", "ended"), "replace_at": ("point_km", "met")}
"""The two lives: to replacement, and to ``replace_at``; and the columns that hold them."""
GROUPS = ("wear_class", "axle", "lining", "product_line")


@dataclass(frozen=True)
class PadLife:
    """The sets of linings of a fleet.

    Attributes
    ----------
    sets : DataFrame
        One row a set whose start is known: ``vehicle_id, wear_class, duty, axle, lining, product_line`` (empty: not recorded),
        ``start_kind, end_kind`` (as in ``lives``), ``entry_km`` (distance since fitting at which it was first seen), ``end_km, ended`` (to
        replacement; else as far as it has run), ``point_km, met`` (to ``replace_at``; else as far as can be told; NaN without a reading),
        ``replace_at_mm``.
    left_out : int
        Sets left out because their start is not known.
    unrecorded : int
        Ends that nobody recorded, placed between two looks.
    as_of : Timestamp
    """

    sets: pd.DataFrame
    left_out: int
    unrecorded: int
    as_of: pd.Timestamp


@dataclass(frozen=True)
class Group:
    """How long the sets of one group last.

    Attributes
    ----------
    sets, vehicles, ended, running : int
        Sets watched at all, their vehicles, and how many of the sets ended and did not.
    curve : Survival or None
        None where there are too few ends; its limits allow for sets of one vehicle being alike.
    laws : tuple of Law
        Weibull and lognormal fits, where there are any.
    """

    sets: int
    vehicles: int
    ended: int
    running: int
    curve: Survival | None
    laws: tuple[Law, ...]


def find(records, lives, use) -> PadLife:
    """The sets of linings of a fleet and how long each lasted.

    Parameters
    ----------
    records : Records
        As they stood on the as-of date.
    lives : Lives
    use : Usage

    Returns
    -------
    PadLife
    """
    sets = _sets(lives)
    vehicles = records.vehicles.set_index("vehicle_id")
    for name in ("wear_class", "duty"):
        sets[name] = sets["vehicle_id"].map(vehicles[name])
    sets["lining"] = _linings(records, lives, sets)
    known = sets["start_km"].notna()
    left_out, sets = int((~known).sum()), sets[known].reset_index(drop=True)
    sets["ended"] = sets["end_kind"].ne("running") & sets["end_km"].notna()
    last_km = sets["vehicle_id"].map(_watched_to(records, use))
    sets["end_km"] = np.maximum(sets["end_km"].where(sets["ended"], last_km) - sets["start_km"], 0.0)
    sets["entry_km"] = _entry(records, sets)
    sets = _to_the_point(records, lives, sets)
    unrecorded = int((sets["ended"] & sets["end_kind"].eq("jump")).sum())
    columns = ["vehicle_id", "wear_class", "duty", "axle", "lining", "product_line", "start_kind", "end_kind", "entry_km", "end_km", "ended",
               "point_km", "met", "replace_at_mm"]  # fmt: skip
    return PadLife(sets[columns], left_out, unrecorded, lives.as_of)


def group(sets: pd.DataFrame, life: str = "replaced") -> Group:
    """How long some sets last.

    Parameters
    ----------
    sets : DataFrame
        Rows of ``PadLife.sets``.
    life : str
        ``replaced`` or ``replace_at``.

    Returns
    -------
    Group
    """
    end, ended = LIVES[life]
    sets = sets[sets[end] > sets["entry_km"]]
    count = int(sets[ended].sum())
    about = (len(sets), sets["vehicle_id"].nunique(), count, len(sets) - count)
    given = [sets[name].to_numpy() for name in (end, ended, "entry_km")]
    if count < LEAST_REPLACED:
        return Group(*about, None, ())
    curve = survival.estimate(*given, sets["vehicle_id"].to_numpy())
    if (curve.share[:-1] <= 0).any():  # all that were at risk ended early, and others came later: nothing can be said
        return Group(*about, None, ())
    laws = [survival.fit(name, *given) for name in survival.SCALES]
    return Group(*about, curve, tuple(law for law in laws if law is not None))


def table(found: PadLife, by=("wear_class", "axle", "lining"), life: str = "replaced") -> pd.DataFrame:
    """Life of linings by group.

    Parameters
    ----------
    found : PadLife
    by : sequence of str
        Some of ``GROUPS``.
    life : str
        ``replaced`` or ``replace_at``.

    Returns
    -------
    DataFrame
        One row a group: ``by``, ``sets, vehicles, ended, running``, ``early_km, middle_km, late_km`` (by which 1, 5 and 9 sets in 10 have
        ended), ``low_km, high_km`` (95 % limits of the middle), ``weibull_km, lognormal_km`` (the middle by these laws), ``farthest_km`` (how far
        any was watched). NaN where too few ended; infinite where the sets were not watched far enough.
    """
    by, rows = list(by), []
    for key, sets in found.sets.groupby(by, sort=True):
        rows.append((*key, *_numbers(group(sets, life))))
    return pd.DataFrame(rows, columns=[*by, *_NUMBERS])


_NUMBERS = (
    "sets",
    "vehicles",
    "ended",
    "running",
    "early_km",
    "middle_km",
    "late_km",
    "low_km",
    "high_km",
    "weibull_km",
    "lognormal_km",
    "farthest_km",
)


def _numbers(told: Group) -> tuple:
    about = (told.sets, told.vehicles, told.ended, told.running)
    if told.curve is None:
        return (*about, *[np.nan] * 8)
    early, middle, late = (told.curve.quantile(chance) for chance in QUANTILES)
    by_law = {law.name: law.quantile(0.5)[0] for law in told.laws}
    laws = [by_law.get(name, np.nan) for name in survival.SCALES]
    return (*about, early[0], middle[0], late[0], middle[1], middle[2], *laws, told.curve.watched.farthest_km)


# --- the sets ---------------------------------------------------------------------------------------------------------


def _sets(lives) -> pd.DataFrame:
    """One row a life of an axle's linings, index ``axle_life_id``; it ends where its first side does."""
    sides = lives.lives[lives.lives["family"].eq("lining")].reset_index()
    sides = sides.assign(order=sides["end_km"].fillna(np.inf).where(sides["end_kind"].ne("running"), np.inf))
    sides["replaced_first"] = sides["end_kind"].eq("running")
    first = sides.sort_values(["axle_life_id", "replaced_first", "order", "life_id"], kind="stable")
    columns = [
        "axle_life_id",
        "vehicle_id",
        "axle",
        "product_line",
        "start_kind",
        "start_km",
        "start_high_km",
        "start_date",
        "end_kind",
        "end_km",
    ]
    return first.drop_duplicates("axle_life_id")[columns].reset_index(drop=True)


def _linings(records, lives, sets) -> pd.Series:
    """Pad or shoe: by the axle's own readings and jobs, else by most of the like axles'."""
    readings = lives.readings[lives.readings["family"].eq("lining")]
    read = readings[["vehicle_id", "axle"]].assign(lining=part_family(readings["part"]))
    jobs = records.work[records.work["action"].eq("replaced") & records.work["part"].isin(("pads", "shoes"))]
    done = jobs[["vehicle_id", "axle"]].assign(lining=jobs["part"].map({"pads": "pad", "shoes": "shoe"}))
    seen = pd.concat([read, done], ignore_index=True)
    own = seen.drop_duplicates(["vehicle_id", "axle"]).set_index(["vehicle_id", "axle"])["lining"]
    lining = pd.Series(own.reindex(pd.MultiIndex.from_frame(sets[["vehicle_id", "axle"]])).to_numpy(), index=sets.index)
    key = [sets["wear_class"], sets["axle"]]
    usual = lining.eq("shoe").where(lining.notna()).astype("float64").groupby(key).transform("mean")
    return lining.fillna(usual.gt(0.5).map({True: "shoe", False: "pad"})).astype("str")


def _watched_to(records, use) -> pd.Series:
    """Odometer up to which each vehicle's changes of linings are on record."""
    now = use.table
    retired = records.vehicles.set_index("vehicle_id")["retired_date"].reindex(now.index) <= use.as_of
    seen = (use.as_of - now["last_date"]).dt.days <= SEEN_DAYS
    return now["odometer_km"].where(seen & ~retired, now["last_km"])


def _entry(records, sets) -> np.ndarray:
    """Distance since fitting at which each set was first seen."""
    visits = records.visits[records.visits["clock_km"].notna()].sort_values(["vehicle_id", "date", "visit_no"], kind="stable")
    first = visits.drop_duplicates("vehicle_id").set_index("vehicle_id")[["date", "clock_km"]].reindex(sets["vehicle_id"])
    waited = (first["date"].to_numpy() - sets["start_date"].to_numpy()) / np.timedelta64(1, "D")
    late = sets["start_kind"].eq("new_vehicle") & ~(waited <= JOINED_SEEN_DAYS)
    first_seen = np.where(late, first["clock_km"].fillna(np.inf), sets["start_km"])
    first_seen = np.where(sets["start_kind"].eq("jump"), sets["start_high_km"], first_seen)
    return np.maximum(first_seen - sets["start_km"].to_numpy(), 0.0)


# --- to replace_at ----------------------------------------------------------------------------------------------------


def _to_the_point(records, lives, sets) -> pd.DataFrame:
    """Sets with ``point_km``, ``met`` and ``replace_at_mm``."""
    asked = sets[["vehicle_id", "wear_class", "axle"]].assign(family=sets["lining"], measure="thickness")
    plan = limits.planning(records.limits, asked)[0]
    sets = sets.assign(replace_at_mm=plan["replace_at_mm"].to_numpy(), new_mm=plan["new_mm"].to_numpy())
    readings = lives.readings[lives.readings["family"].eq("lining")]
    read = readings.merge(sets[["axle_life_id", "start_km", "replace_at_mm", "new_mm"]], on="axle_life_id")
    read["km"] = read["odometer_km"] - read["start_km"]
    key = ["axle_life_id", "side", "part"]
    fitted = read[read["new_mm"].notna()].drop_duplicates(key)
    fitted = fitted.assign(km=0.0, value_mm=fitted["new_mm"])
    points = pd.concat([read, fitted], ignore_index=True)
    point = meets(points, key).groupby("axle_life_id").min()
    seen = read.groupby("axle_life_id")["km"].max()
    at, far = (sets["axle_life_id"].map(values).astype("float64") for values in (point, DRAWN_ON * seen))
    return sets.assign(point_km=np.fmin(at, far).where(far.notna()), met=(at <= far).to_numpy())


def meets(points: pd.DataFrame, key: list[str]) -> pd.Series:
    """Where the straight line through the readings of each unit meets its limit.

    Parameters
    ----------
    points : DataFrame
        ``km, value_mm, replace_at_mm`` and ``key``.
    key : list of str
        What tells units apart.

    Returns
    -------
    Series, index ``key``
        Distance; infinite where the line does not fall.
    """
    x, y = points["km"], points["value_mm"]
    mean = points.assign(x=x, y=y, xx=x * x, xy=x * y).groupby(key)[["x", "y", "xx", "xy", "replace_at_mm"]].mean()
    spread = mean["xx"] - mean["x"] ** 2
    slope = (mean["xy"] - mean["x"] * mean["y"]) / spread.where(spread > 0)
    return (mean["x"] + (mean["replace_at_mm"] - mean["y"]) / slope).where(slope < 0, np.inf)
