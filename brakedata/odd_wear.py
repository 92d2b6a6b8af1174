"""Odd wear: a position, a side, an axle or a life that wears otherwise than its like, and the chance that this is not noise.

Four questions of every axle in service, each a difference of log wear rates:

- ``inner_outer``: inner against outer pads (leading against trailing shoes), over how they differ in the fleet;
- ``left_right``: left against right;
- ``axle``: the axle against like axles of its class and duty;
- ``since_job``: the running life against the axle's life before it.

The shared model draws such differences toward nothing, by the spread it found over the fleet. That drawing is taken out again, which
leaves what the readings alone say and how surely (estimate, standard error). Then two groups are weighed against each other
(Efron 2008, Microarrays, empirical Bayes and the two-groups model, Statistical Science 23, 1-22): ordinary axles, whose differences
have the fleet's spread, and odd ones, whose differences are ``ODD_LOG_SD`` wider. How common odd ones are is estimated over all
axles of the fleet, so that a long list of axles does not make chance finds look real. The chance told is that of the odd group: that
the difference is more than gauge noise and more than axles ordinarily differ.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from brakedata.schedule import Schedule
from brakedata.shown import chance_text

ODD_LOG_SD = 0.4
"""Odd wear is typically 1.5 times the other's, either way (common practice, no source)."""
ODD_SHARE, ODD_SHARE_AXLES = 0.02, 50.0
USUAL_AXLES = 20.0
"""Before any reading 2 in 100 are taken to be odd, as surely as if 50 axles had been looked at (common practice, no source)."""
LISTED = 0.5
PASSES = 50
NINE_TENTHS = 1.2816
"""Quantile of the normal distribution at 90 %."""
LEAST_SPAN, MOST_ERROR = 0.2, 0.5
"""A slope is compared where its readings span 2,000 km or more and their noise leaves it known to half of itself."""
LEAST_TOLD = 0.1
"""A difference is asked about where readings tell it at least this surely beside the fleet's spread."""
FIRST = {
    "inner faster": "caliper piston (seal, boot, corrosion), slide pins, pads tight in their abutments, pressure left in the hose",
    "outer faster": "slide pins and bushings, pads seized in the slides, bracket bent",
    "leading faster": "adjuster, return springs, wheel cylinder, anchor and contact points",
    "trailing faster": "adjuster, return springs, wheel cylinder, anchor and contact points",
    "side faster": "caliper or wheel cylinder dragging on the faster side, hose restricted; or the slower side not working; mixed linings",
    "axle faster": "duty, load and driver; parking brake not releasing; stability control working the axle",
    "axle slower": "whether this axle brakes at all: seized slides or cylinders, pressure reduced; readings of the right axle",
    "faster since": "what was fitted and how: product line, hardware and lubrication, bedding; then driver, duty and route since",
    "slower since": "whether it brakes as before: seized slides, other linings; then driver, duty and route since",
}
"""What a technician would look at first, cheapest and commonest first (common practice, no source)."""
CAUTION = (
    "Wheels chocked, vehicle on stands, never on a jack alone; brake dust may hold asbestos, never blow it off; the vehicle's service "
    "information comes first."
)


@dataclass(frozen=True)
class OddWear:
    """Odd wear of a fleet.

    Attributes
    ----------
    table : DataFrame
        One row an axle and question that could be asked, likeliest first: ``vehicle_id, axle, axle_no, kind, faster`` (what wears
        faster), ``slower, ratio`` (how many times as fast: median), ``ratio_low, ratio_high`` (8 times in 10 between), ``chance`` (that it
        is more than gauge noise and more than axles ordinarily differ), ``look_at`` (what to look at first).
    shares : dict
        Share of odd axles the fleet itself suggests, by kind.
    """

    table: pd.DataFrame
    shares: dict[str, float]

    @property
    def listed(self) -> pd.DataFrame:
        """The rows with at least even odds."""
        return self.table[self.table["chance"] >= LISTED]


def find(made: Schedule) -> OddWear:
    """Look for odd wear on every axle in service.

    Parameters
    ----------
    made : Schedule

    Returns
    -------
    OddWear
    """
    square = {name: sd**2 for name, sd in made.model.scales.items()}
    asked = {
        "inner_outer": (_inner_outer(made), 2 * square["position"]),
        "left_right": (_left_right(made), square["position"]),
        "axle": (_against_like(made), square["vehicle"] + square["axle"] + square["life"]),
        "since_job": (_since_job(made), 2 * square["life"]),
    }
    shares, tables = {}, []
    for kind, (seen, usual) in asked.items():
        shares[kind], judged = _judge(seen, usual)
        tables.append(judged.assign(kind=kind))
    table = pd.concat(tables, ignore_index=True)
    axles = made.lives.axles[["vehicle_id", "axle", "lining"]]
    table = table.join(axles.reset_index(drop=True), on="axle_no")
    table = _in_words(table).sort_values(
        ["chance", "ratio", "vehicle_id", "axle"], ascending=[False, False, True, True], kind="stable"
    )
    columns = [
        "vehicle_id",
        "axle",
        "axle_no",
        "kind",
        "faster",
        "slower",
        "ratio",
        "ratio_low",
        "ratio_high",
        "chance",
        "look_at",
    ]
    return OddWear(table[columns].reset_index(drop=True), shares)


# --- what the readings alone say of each difference: axle_no, away (log), error (its standard error) --------------------


def _inner_outer(made):
    """One row an axle and side."""
    positions = made.model.positions
    part = made.model.beta[made.model.beta["kind"].eq("part")].set_index("level")["estimate"]
    rates = positions["log_rate"] - positions["part"].map(part).fillna(0.0)
    sign = positions["part"].map({"inner_pad": 1, "outer_pad": -1, "leading_shoe": 1, "trailing_shoe": -1}).fillna(0)
    some = [_contrast(made, rates, sign.where(positions["side"].eq(side), 0)).assign(side=side) for side in ("left", "right", "")]
    return pd.concat(some, ignore_index=True)


def _left_right(made):
    sign = made.model.positions["side"].map({"left": 1, "right": -1}).fillna(0)
    return _contrast(made, made.model.positions["log_rate"], sign).assign(side="")


def _contrast(made, rates, sign):
    """Mean of ``rates`` of the positions with sign 1 minus that of those with sign -1, where an axle has both."""
    positions, square = made.model.positions, made.model.scales["position"] ** 2
    count, most = len(made.model.covariance), made.model.covariance.shape[1] // 2
    grid, value = np.zeros((count, most)), np.zeros((count, most))
    grid[positions["axle_no"], positions["slot"]], value[positions["axle_no"], positions["slot"]] = sign, rates
    plus, minus = (grid > 0).sum(1, keepdims=True), (grid < 0).sum(1, keepdims=True)
    weight = (grid > 0) / np.maximum(plus, 1) - (grid < 0) / np.maximum(minus, 1)
    variance = np.einsum("ai,aij,aj->a", weight, made.model.covariance[:, :most, :most], weight)
    both = np.flatnonzero((plus > 0) & (minus > 0))
    return _undrawn(both, (weight * value).sum(1)[both], variance[both], square * (weight**2).sum(1)[both])


def _against_like(made):
    """Mean log rate of an axle's positions minus that of like axles."""
    model, solved = made.model, made.model.solved
    positions = model.positions
    fleet = np.append(solved.state.beta, 0.0)[solved.design.columns_of_stars[:, :6]].sum(axis=1)
    axles, most = len(model.covariance), model.covariance.shape[1] // 2
    there = np.zeros((axles, most))
    there[positions["axle_no"], positions["slot"]] = 1.0
    has = there.sum(1) > 0
    weight = there / np.maximum(there.sum(1, keepdims=True), 1.0)
    mean = (positions["log_rate"] - fleet).groupby(positions["axle_no"]).mean().reindex(range(axles)).to_numpy()
    variance = np.einsum("ai,aij,aj->a", weight, model.covariance[:, :most, :most], weight)
    squares = {name: sd**2 for name, sd in model.scales.items()}
    prior = squares["vehicle"] + squares["axle"] + squares["life"] + squares["position"] * (weight**2).sum(1)
    return _undrawn(np.flatnonzero(has), mean[has], variance[has], prior[has]).assign(side="")


def _undrawn(axle_no, mean, variance, prior):
    """What the readings alone say, from a posterior (mean, variance) drawn toward 0 with variance ``prior``; where they say
    nothing the error is infinite."""
    precision = 1 / np.maximum(variance, 1e-12) - 1 / np.maximum(prior, 1e-12)
    told = precision > LEAST_TOLD / np.maximum(prior, 1e-12)
    with np.errstate(divide="ignore", invalid="ignore"):
        error = np.where(told, 1 / np.sqrt(np.maximum(precision, 1e-12)), np.inf)
        away = np.where(told, mean / variance * error**2, 0.0)
    return pd.DataFrame({"axle_no": axle_no, "away": away, "error": error})


def _since_job(made):
    """Log of the running life's slope over that of the axle's life before it, positions seen in both averaged.

    A slope errs by its readings, each position's own, and by the driving's wander, which the positions share.
    """
    scales, lives = made.model.scales, made.lives.lives
    seen = made.model.readings[~made.model.readings["misfit"]]
    life = _slopes(seen, scales)
    place = lives.groupby(["vehicle_id", "axle", "side", "family"], sort=False).cumcount().to_numpy()
    life["place"], life["running"] = place[life["life_id"]], lives["end_kind"].eq("running").to_numpy()[life["life_id"]]
    position = ["vehicle_id", "axle", "side", "part"]
    before = life.assign(place=life["place"] + 1)
    pair = life[life["running"]].merge(before, on=[*position, "place"], suffixes=("", "_before"))
    for name in ("noise", "sway"):
        pair[name] += pair[f"{name}_before"]
    pair["weight"] = 1 / pair["noise"]
    pair["weighed"] = pair["weight"] * (pair["log_slope"] - pair["log_slope_before"])
    axle = pair.groupby(["vehicle_id", "axle"]).agg(weight=("weight", "sum"), weighed=("weighed", "sum"), sway=("sway", "mean"))
    place = pd.MultiIndex.from_frame(made.lives.axles[["vehicle_id", "axle"]]).get_indexer(axle.index)
    error = np.sqrt(1 / axle["weight"] + axle["sway"])
    seen = pd.DataFrame(
        {"axle_no": place, "away": (axle["weighed"] / axle["weight"]).to_numpy(), "error": error.to_numpy(), "side": ""}
    )
    return seen[seen["axle_no"] >= 0].reset_index(drop=True)


def _slopes(seen, scales):
    """Log slope (mm per 10,000 km) of each life and position that fell clearly, with the variances of its noise and its sway."""
    key = ["vehicle_id", "axle", "side", "part", "life_id"]
    x, y = seen["odometer_km"] / 10_000.0, seen["value_mm"]
    group = seen.assign(x=x, y=y, xx=x * x, xy=x * y).groupby(key)
    sums = (
        group[["x", "y", "xx", "xy"]]
        .mean()
        .assign(n=group.size(), span=group["x"].max() - group["x"].min(), step=group["step_mm"].max())
    )
    spread = sums["n"] * (sums["xx"] - sums["x"] ** 2)
    sums = sums[(sums["n"] >= 2) & (sums["span"] > LEAST_SPAN)].assign(spread=spread)
    slope = -sums["n"] * (sums["xy"] - sums["x"] * sums["y"]) / sums["spread"]
    noise = (sums["step"] ** 2 / 12 + scales["repeat_mm"] ** 2) / sums["spread"] / slope**2
    sway = scales["wander"] ** 2 / (slope * sums["span"])
    out = sums.assign(log_slope=np.log(slope.where(slope > 0)), noise=noise, sway=sway)
    return out[(slope > 0) & (noise < MOST_ERROR**2)][["log_slope", "noise", "sway"]].reset_index()


# --- two groups -------------------------------------------------------------------------------------------------------


def _judge(seen, usual):
    """Share of odd axles, and of each its chance to be one of them and the size of its difference.

    Parameters
    ----------
    seen : DataFrame
        ``axle_no, side, away, error``.
    usual : float
        Variance of the differences over the fleet as the shared model found it, odd ones among them; it counts as ``USUAL_AXLES``
        axles beside what the ordinary ones show.
    """
    seen = seen[np.isfinite(seen["error"])].reset_index(drop=True)
    away, error2 = seen["away"].to_numpy(), seen["error"].to_numpy() ** 2
    share, ordinary = ODD_SHARE, usual
    for _ in range(PASSES):
        wide = np.array([[ordinary], [ordinary + ODD_LOG_SD**2]])
        density = np.exp(-(away**2) / (wide + error2) / 2) / np.sqrt(wide + error2)
        chance = share * density[1] / np.maximum(share * density[1] + (1 - share) * density[0], 1e-300)
        share = (ODD_SHARE * ODD_SHARE_AXLES + chance.sum()) / (ODD_SHARE_AXLES + len(away))
        weight = (1 - chance) * (usual / (usual + error2)) ** 2
        ordinary = (USUAL_AXLES * usual + (weight * (away**2 - error2)).sum()) / (USUAL_AXLES + weight.sum())
        ordinary = max(ordinary, 0.1 * usual)
    mean, variance = away * wide / (wide + error2), wide * error2 / (wide + error2)
    weight = np.stack([1 - chance, chance])
    middle = (weight * mean).sum(0)
    sd = np.sqrt(np.maximum((weight * (variance + mean**2)).sum(0) - middle**2, 0.0))
    return float(share), seen[["axle_no", "side"]].assign(chance=chance, middle=middle, sd=sd)


def _in_words(table):
    """With what wears faster than what, how many times as fast, and what to look at first."""
    ahead, shoe, kind = table["middle"].to_numpy() >= 0, table["lining"].eq("shoe").to_numpy(), table["kind"].to_numpy()
    side = (table["side"] + " ").str.lstrip().to_numpy(dtype=object)
    one, other = np.full(len(table), "", dtype=object), np.full(len(table), "", dtype=object)
    for name, first, second in (
        ("inner_outer", side + np.where(shoe, "leading shoe", "inner pad"), side + np.where(shoe, "trailing shoe", "outer pad")),
        ("left_right", "left side", "right side"), ("axle", "this axle", "like axles"), ("since_job", "this life", "the life before"),
    ):  # fmt: skip
        one, other = np.where(kind == name, first, one), np.where(kind == name, second, other)
    faster, slower = np.where(ahead, one, other), np.where(ahead, other, one)
    first = np.select(
        [kind == "inner_outer", kind == "left_right", kind == "axle"],
        [
            pd.Series(faster, dtype="str").str.split(" ").str[-2] + " faster",
            "side faster",
            np.where(ahead, "axle faster", "axle slower"),
        ],
        np.where(ahead, "faster since", "slower since"),
    )
    size, half = np.abs(table["middle"]), NINE_TENTHS * table["sd"]
    return table.assign(
        faster=faster, slower=slower, ratio=np.exp(size), ratio_low=np.exp(size - half), ratio_high=np.exp(size + half),
        look_at=[FIRST[name] for name in first],
    )  # fmt: skip


def sentence(row: pd.Series) -> str:
    """One row of the table as a sentence.

    Parameters
    ----------
    row : Series
        A row of ``OddWear.table``.
    """
    beyond = ", beyond how the two usually differ" if row["kind"] == "inner_outer" else ""
    verb = "wear" if row["faster"] == "like axles" else "wears"
    return (
        f"{row['faster'][:1].upper()}{row['faster'][1:]} {verb} {row['ratio']:.1f} times as fast as {row['slower']}{beyond} (8 times in 10 "
        f"{row['ratio_low']:.1f} to {row['ratio_high']:.1f}); chance that this is more than gauge noise and the usual spread: "
        f"{chance_text(row['chance'])}. Look first at: {row['look_at']}."
    )
