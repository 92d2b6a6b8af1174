"""Shared model: wear rates that lean on the axle's other positions, the vehicle's earlier lives, and like vehicles.

For vehicle v, axle a, life l, position p, at distance d since fitting::

    thickness = new + s_lp - d * exp(x'beta + u_v + w_va + h_vap + k_l) - B_l + noise

- beta: the fleet's log rates: lining and axle, wear class, duty, their cell, part (inner against outer), product line;
  and how far fitted linings differ from the ``new`` of the limits table. Normal priors, see ``PRIOR_SD``.
- u, w, h, k: vehicle, axle in vehicle, position on that axle, this life. s: start of this position's life. All normal.
- B: Brownian wander of driving, variance wander**2 a mm of the position's own expected wear, in step on the axle's positions. A life
  ends when enough is worn off, not after a set distance; only a variance in proportion to the wear keeps rates unbiased then, since
  then equal wear weighs equally, however far it took.
- noise: rounding (step**2 / 12) and repeat error; a reading that fits nothing is left out with a finding.
- a bound (``<2``, ``>=10``) is a reading known to lie on one side: it enters as the normal that, multiplied to what all else says
  of it, has the mean and variance of the truncated normal (expectation propagation, Minka 2001, UAI 17, 362-369).

The exponential is linearised about each position's own current rate and the linear model solved again until it settles
(Lindstrom and Bates 1990, Nonlinear mixed effects models for repeated measures data, Biometrics 46, 673-687); it is
linearised over the spread of the rate's posterior, not at its peak, because the peak overstates rates that few readings
carry: with log rate normal (m, v), wear is taken as exp(m + v/2) * (1 + log rate - m), the mean and slope that fit the normal
best, and the pull of the spread itself (minus v times the wear) stands in the working values. Variances
come from the whole fleet by marginal likelihood with weak log-normal priors (``PRIOR_SCALES``), so that a fleet of three
vehicles still works; given them each vehicle's posterior is exact linear algebra, many vehicles at a time.
"""

from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import pandas as pd
from threadpoolctl import threadpool_limits

from brakedata import codes, findings
from brakedata.columns import LINING_PARTS
from brakedata.limits import DEFAULT_NEW_MM, planning
from brakedata.lives import Lives, numbered
from brakedata.side_by_side import worked
from brakedata.units import GAUGE_STEPS_MM

UNIT_KM = 10_000.0
SCALES = ("vehicle", "axle", "position", "life", "start_mm", "wander", "repeat_mm")
PRIOR_SCALES = np.array([0.25, 0.15, 0.10, 0.12, 0.25, 0.25, 0.20])
"""Centres of the priors of the standard deviations: logs of rates, start in mm, wander in mm per root mm of wear, repeat error
in mm. Spread of lives between vehicles about 1.5-fold either way, one person's repeat about 0.2 to 0.5 mm (common practice,
no source)."""
PRIOR_SCALES_LOG_SD = 0.6
PRIOR_RATE = {("pad", True): 0.93, ("pad", False): 0.62, ("shoe", True): 0.5, ("shoe", False): 0.3}
"""Rate in mm per 10,000 km of front (True) and rear (False) linings where nothing is known: 1.5 and 1.0 mm per 10,000 mi for
pads (derived from trade lives; common practice, no source); shoes about half."""
PRIOR_SD = {"kind": 0.7, "class": 0.4, "duty": 0.3, "cell": 0.15, "part": 0.12, "line": 0.15, "new": 0.1, "new_unknown": 2.0}
"""Prior standard deviations of beta: logs of rates; ``new`` in mm (with and without a ``new`` in the limits table). Where nothing is
written down near new, a looser one would trade thickness for rate."""
UNKNOWN_START_SD_MM = 1.0
MISFIT_SD = 4.5
MISFIT_VARIANCE_MM2 = 1e4
FITTED_VEHICLES = 300
"""The variances are estimated on at most this many vehicles, evenly spread over the fleet by vehicle_id."""
FINAL_PASSES = 2
CHUNK_CELLS = 500_000
KEPT_BYTES = 500_000_000
"""What a pass over the fleet keeps of its vehicles until the fleet's effects are known; the rest, of more than about 35,000
vehicles, is computed again."""
LEAST_LIVES_OF_LINE = 4
CODES = ("axle", "track", "axle_life", "life_part")
ASKED_OF_READINGS = [
    "vehicle_id", "wear_class", "duty", "axle", "side", "part", "technician", "unit", "odometer_km", "value_mm",
    "life_id", "axle_life_id",
]  # fmt: skip
GIVEN = [
    "lining", "new_mm", "replace_at_mm", "discard_at_mm", "step_mm", "known_start", "start_km", "start_gap_km", "product_line",
    "new_given", "odometer_since", "misfit", "fitted_mm",
]  # fmt: skip
"""What the model adds to each reading: pad or shoe, its limits, the gauge's step, where its life began (``start_gap_km``: how far that
is not known; ``odometer_since`` in 10,000 km from there), whether it fits nothing, and the thickness the model takes it for."""


@dataclass(frozen=True)
class SharedModel:
    """The fitted model, and for every axle in service what it says of its running life.

    Attributes
    ----------
    scales : dict
        Standard deviations by name (``SCALES``).
    beta : DataFrame
        One row a fleet effect: ``kind, level, estimate, se, readings``.
    positions : DataFrame, shape (P, ...)
        One row a lining position of a running life, axles in the order of ``lives.axles``: ``axle_no`` (place in that table),
        ``vehicle_id, axle, side, part, life_id, ref_km`` (where the thickness below holds), ``thickness_mm, log_rate``
        (posterior means; rate in mm per 10,000 km), ``readings`` (of this position's life), and the limits ``new_mm,
        replace_at_mm, discard_at_mm``.
    covariance : ndarray, shape (A, 2 * M, 2 * M)
        Posterior covariance of the axle's log rates and thicknesses (M positions at most; log rates first); unused places zero.
    own_share : ndarray, shape (A,)
        Share of the prior variance of the axle's log rate that its own life's readings took away, 0 to 1.
    readings : DataFrame
        The readings given to the model: those of linings in ``lives.readings``, with what the model took them for (``GIVEN``).
    read, given : DataFrame
        They as they are kept: ``lives.coded_readings``, and ``GIVEN``, its index the place there.
    findings : DataFrame
    """

    scales: dict[str, float]
    beta: pd.DataFrame
    positions: pd.DataFrame
    covariance: np.ndarray
    own_share: np.ndarray
    read: pd.DataFrame
    given: pd.DataFrame
    findings: pd.DataFrame
    solved: "_Solved"

    @property
    def readings(self) -> pd.DataFrame:
        """The readings with their texts written out."""
        return codes.plain(self.coded_readings([*self.read.columns, *self.given.columns]))

    def coded_readings(self, columns: list[str]) -> pd.DataFrame:
        """Some columns of ``readings``, texts as codes."""
        own = self.given.reset_index(drop=True)
        read = codes.rows(self.read[[name for name in columns if name in self.read]], self.given.index.to_numpy())
        return pd.concat([read, own[[name for name in columns if name in own]]], axis=1)

    def trace(self, axle_no: int, slot: int, odometer_km) -> tuple[np.ndarray, np.ndarray]:
        """Posterior mean and standard deviation, in mm, of one position's thickness at past odometers of its running life.

        Parameters
        ----------
        axle_no, slot : int
            A row of ``positions``.
        odometer_km : array, shape (n,)

        Returns
        -------
        mean_mm, sd_mm : ndarray, shape (n,)
        """
        stars, state = self.solved.stars, self.solved.state
        mine = self._place(axle_no, slot)
        asked = stars.loc[np.repeat(mine, len(odometer_km))].reset_index(drop=True)
        asked["odometer_since"] = np.maximum(np.asarray(odometer_km) - asked["start_km"], 0.0) / UNIT_KM
        kind = np.repeat(self.solved.design.kind_of_stars[mine], len(odometer_km))
        star_rows = _row_arrays(asked, kind, self.solved.design, self.solved.vehicles)
        with threadpool_limits(1, "blas"):
            [chunk] = _chunks(state.rows, star_rows["vehicle"][:1], star_rows)
            answer = _posterior(state, chunk, _resolve(state, chunk))
        order = np.argsort(chunk.star_index[0])
        n = len(odometer_km)
        variance = np.diagonal(answer["covariance"][0])[n:]
        return answer["thickness"][0][order], np.sqrt(np.maximum(variance, 0.0))[order]

    def evidence(self, axle_no: int, slot: int) -> "Evidence":
        """What the vehicle's readings are to the log rate of one position.

        Parameters
        ----------
        axle_no, slot : int
            A row of ``positions``.
        """
        state, mine = self.solved.state, self._place(axle_no, slot)
        design = self.solved.design
        asked = _row_arrays(self.solved.stars.loc[mine], design.kind_of_stars[mine], design, self.solved.vehicles)
        [chunk] = _chunks(state.rows, asked["vehicle"], asked)
        w = _resolve(state, chunk)
        masks = _masks(chunk.stars(), w["side"])
        shows = _effect_covariance(state.squares, masks)[0, 0] * w["terms"]["wear"][0]
        same = {name: mask[0, 0] > 0 for name, mask in masks.items()}
        return Evidence(w["k"][0], shows, same["axle"], same["axle_life"], same["life_part"], state.squares[:4].sum())

    def _place(self, axle_no, slot):
        """Place of a position in ``positions``, as an index of one."""
        return self.positions.index[self.positions["axle_no"].eq(axle_no) & self.positions["slot"].eq(slot)]


@dataclass(frozen=True)
class Evidence:
    """A vehicle's n readings beside the log rate of one of its positions.

    Attributes
    ----------
    covariance : ndarray, shape (n, n)
        Of the readings, mm2, beta given.
    shows : ndarray, shape (n,)
        Their covariance with the log rate, mm.
    same_axle, same_life, same_position : ndarray of bool, shape (n,)
        Whether a reading is of the position's axle, of the axle's running life, and of the position in that life.
    prior_variance : float
        Of the log rate, beta given.
    """

    covariance: np.ndarray
    shows: np.ndarray
    same_axle: np.ndarray
    same_life: np.ndarray
    same_position: np.ndarray
    prior_variance: float


class FreeEffects:
    """The fleet's effects solved again with some of them left free, at the variances the model found.

    Parameters
    ----------
    model : SharedModel
    kinds : list of str
        Kinds of ``model.beta`` that no prior draws in.
    log_sd : float
        The prior standard deviation they are given instead.

    Attributes
    ----------
    table : DataFrame
        As ``model.beta``, without the estimates; one row an entry of beta.
    beta, covariance : ndarray, shape (k,), (k, k)
    """

    def __init__(self, model: SharedModel, kinds, log_sd: float):
        state, design = model.solved.state, model.solved.design
        self.table = design.table
        free = design.table["kind"].isin(kinds).to_numpy()
        design = replace(design, precision=np.where(free, log_sd**-2, design.precision))
        self._chunks = _chunks(state.rows, np.unique(state.rows["vehicle"]))
        solved = _solve(self._chunks, _to_prepare(state, self._chunks), design, state.squares, _only("x", "kx", "kr"))
        self.beta, self.covariance, self._solved = *solved[:2], list(solved[2])

    def contrast(self, weights: np.ndarray) -> tuple[float, float, float]:
        """Estimate and standard error of ``weights @ beta``, and how many vehicles in effect carry it.

        Parameters
        ----------
        weights : ndarray, shape (k,)
        """
        turned = self.covariance @ weights
        said = []
        for chunk, s in zip(self._chunks, self._solved, strict=True):
            mine = np.append(turned, 0.0)[chunk.local]
            said.append((np.einsum("bnc,bc->bn", s["x"], mine) * np.einsum("bnc,bc->bn", s["kx"], mine)).sum(axis=1))
        said = np.maximum(np.concatenate(said), 0.0)
        vehicles = said.sum() ** 2 / max((said**2).sum(), 1e-300)
        return float(weights @ self.beta), float(np.sqrt(weights @ turned)), float(vehicles)


@dataclass(frozen=True)
class _Solved:
    """What the model keeps to answer further questions about single axles."""

    state: "_State"
    design: "_Design"
    stars: pd.DataFrame
    vehicles: pd.Index


def fit(lives: Lives, limits: pd.DataFrame, last_km: pd.Series, progress=None, repeat=None) -> SharedModel:
    """Fit the shared model to the lining readings of a fleet.

    Parameters
    ----------
    lives : Lives
    limits : DataFrame
        The records' limits table.
    last_km : Series, index vehicle_id
        Newest believed odometer of each vehicle; places the thickness of a life that was never measured.
    progress : callable, optional
        Called with a short text before each step.
    repeat : tuple of float and int, optional
        The shop's own repeat error, mm, and how many readings it rests on (a gauge study); takes the place of the stated prior.

    Returns
    -------
    SharedModel
    """
    with threadpool_limits(1, "blas"):  # many small matrices: one thread is faster, and the same on every machine
        return _fit(lives, limits, last_km, progress or (lambda text: None), repeat)


def _fit(lives, limits, last_km, say, repeat):
    found: list[pd.DataFrame] = []
    say("preparing the readings")
    stars, readings = _rows(lives, limits, last_km, found)
    design = _design(stars, readings)
    seen = codes.text(readings["vehicle_id"].drop_duplicates())
    vehicles = pd.Index(np.unique(pd.concat([stars["vehicle_id"], seen]).unique().astype(str)))
    rows = _row_arrays(readings, design.kind_of_readings, design, vehicles)
    star_rows = _row_arrays(stars, design.kind_of_stars, design, vehicles)
    readings = pd.DataFrame(
        {name: readings[name] for name in readings.columns if name in GIVEN}, copy=False
    )  # ``rows`` hold the same arrays
    state = _State(rows, design, repeat)
    sample = _sample(rows, len(vehicles))
    if len(sample):
        say("estimating the fleet's variances")
        some = _chunks(rows, sample)
        _settle(state, some, passes=3)
        for steps in (6, 4):
            _estimate_scales(state, some, steps)
            _settle(state, some, passes=2)
    say("estimating every axle")
    everyone = _chunks(rows, np.arange(len(vehicles)), star_rows)
    others = ~np.isin(rows["vehicle"], sample)
    state.log_rate[others] = _fleet_rate(state.beta, rows["columns"])[rows["kind"][others]]
    state.spread[others] = state.squares[:4].sum()
    _settle(state, everyone, passes=FINAL_PASSES)
    work = _answer(state, everyone)
    solved = _Solved(state, design, stars, vehicles)
    return _result(solved, everyone, work, lives.coded_readings, readings, len(lives.axles), found)


# --- rows: readings, and the positions asked about --------------------------------------------------------------------


def _rows(lives: Lives, limits, last_km, found):
    """Positions of running lives to answer for and readings to fit, with start, limits and codes.

    The index of the readings is their place in ``lives.coded_readings``; the bounds follow with that in ``lives.coded_bounds``.
    """
    columns = [*ASKED_OF_READINGS, *(["low_mm", "high_mm"] if len(lives.coded_bounds) else [])]
    linings = []
    for frame in (lives.coded_readings, lives.coded_bounds):
        at = np.flatnonzero(frame["family"].eq("lining"))
        linings.append(codes.rows(frame[frame.columns.intersection(columns, sort=False)], at).set_axis(at))
    readings = pd.concat(linings) if len(linings[1]) else linings[0]
    place, readings = readings.index, readings.reset_index(drop=True)
    readings["lining"] = codes.mapped(
        readings["part"], lambda part: "pad" if part in ("inner_pad", "outer_pad", "pad") else "shoe"
    )
    stars = _asked_positions(lives, readings)
    plan, more = planning(limits, _asked_limits(stars))
    found += more
    stars = pd.concat([stars, plan[["new_mm", "replace_at_mm", "discard_at_mm", "replace_default"]]], axis=1)
    _, first, like = np.unique(
        numbered(readings, ["vehicle_id", "wear_class", "axle", "lining"]), return_index=True, return_inverse=True
    )
    plan = planning(limits, _asked_limits(codes.plain(readings.iloc[first])).reset_index(drop=True))[0]
    for name in ("new_mm", "replace_at_mm", "discard_at_mm"):
        readings[name] = plan[name].to_numpy()[like]
    over = (readings["value_mm"] > readings["new_mm"] + 2.0).to_numpy()
    if over.any():
        rows = _as_read(lives, place[over]).assign(new_mm=readings.loc[over, "new_mm"].to_numpy())
        found.append(
            findings.make(
                "R35-thicker-than-new", "measurements", row=rows["row"], vehicle_id=rows["vehicle_id"], column="value",
                value=rows["value_written"], reading=rows["new_mm"].map("new {:.1f} mm".format),
            )
        )  # fmt: skip
    past = (readings["value_mm"] <= readings["discard_at_mm"] + 1e-6).to_numpy() & readings["life_id"].isin(
        stars["life_id"]
    ).to_numpy()
    if past.any():
        rows = _as_read(lives, place[past])
        found.append(
            findings.make(
                "R46-past-limit", "measurements", row=rows["row"], vehicle_id=rows["vehicle_id"], column=rows["axle"],
                value=rows["value_written"] + " " + rows["unit"],
            )
        )  # fmt: skip
    number = readings["value_mm"].notna().to_numpy()
    readings["step_mm"] = 0.0
    readings.loc[number, "step_mm"] = gauge_step(readings[number])
    _place_starts(lives, readings, stars, last_km)
    return stars, readings.set_axis(place)


def _as_read(lives, place) -> pd.DataFrame:
    """The readings at some places of ``lives.coded_readings``, their texts written out."""
    return codes.plain(codes.rows(lives.coded_readings, place.to_numpy()))


def _asked_limits(frame) -> pd.DataFrame:
    """What to ask the limits table for each row's lining."""
    asked = frame[["vehicle_id", "wear_class", "axle", "lining"]].rename(columns={"lining": "family"})
    return asked.assign(measure="thickness")


def _asked_positions(lives: Lives, readings) -> pd.DataFrame:
    """Positions whose first passage decides: both sides and both parts of an axle where they are told apart."""
    axles = lives.axles.assign(axle_no=np.arange(len(lives.axles)))
    pair = readings["part"].isin(("inner_pad", "outer_pad", "leading_shoe", "trailing_shoe"))
    told = readings.assign(pair=pair, sided=readings["side"].ne(""))
    own = told.groupby(["vehicle_id", "axle"], sort=False)[["pair", "sided"]].max()
    peers = told.groupby(["wear_class", "axle"], sort=False)[["pair", "sided"]].mean() >= 0.5
    axles = axles.merge(codes.plain(own.reset_index()), on=["vehicle_id", "axle"], how="left")
    axles = axles.merge(codes.plain(peers.reset_index()), on=["wear_class", "axle"], how="left", suffixes=("", "_peers"))
    for name in ("pair", "sided"):
        own_says = axles[name].astype("float64")
        axles[name] = own_says.fillna(axles[f"{name}_peers"].astype("float64")).fillna(1.0) > 0
    running = lives.lives[lives.lives["end_kind"].eq("running") & lives.lives["family"].eq("lining")]
    stars = axles.merge(running.reset_index()[["vehicle_id", "axle", "side", "life_id"]], on=["vehicle_id", "axle"])
    whole = stars["side"].eq("")
    has_sides = stars["axle_no"].isin(stars.loc[~whole, "axle_no"])
    has_whole = stars["axle_no"].isin(stars.loc[whole, "axle_no"])
    stars = stars[np.where(stars["sided"] & has_sides, ~whole, whole | ~has_whole)]
    parts = pd.DataFrame(
        [("pad", True, "inner_pad"), ("pad", True, "outer_pad"), ("pad", False, "pad"),
         ("shoe", True, "leading_shoe"), ("shoe", True, "trailing_shoe"), ("shoe", False, "shoe")],
        columns=["lining", "pair", "part"],
    )  # fmt: skip
    stars = stars.merge(parts, on=["lining", "pair"])
    stars = stars.sort_values(["axle_no", "side", "part"], kind="stable", ignore_index=True)
    stars["product_line"] = lives.lives["product_line"].to_numpy()[stars["life_id"]]
    return stars.drop(columns=["pair", "sided", "pair_peers", "sided_peers"])


def gauge_step(readings: pd.DataFrame) -> np.ndarray:
    """Step of the gauge behind each reading, mm: the coarsest known step that a technician's readings are multiples of.

    Judged on the readings of one technician in one unit where there are 20 or more, else on the whole file; 97 in 100 must
    agree, so that a few odd values do not hide the step.
    """
    value = readings["value_mm"].to_numpy()
    step = np.zeros(len(value))
    done = np.zeros(len(value), dtype=bool)
    group = pd.factorize(numbered(readings, ["technician", "unit"]))[0]
    size = np.bincount(group)[group] if len(group) else group
    for key in (np.where(size >= 20, group, -1), np.zeros(len(value), dtype=int)):
        for candidate in GAUGE_STEPS_MM:
            off = np.abs(value / candidate - np.round(value / candidate)) * candidate
            fits = np.where(off <= 0.006, 1.0, 0.0)
            known = (key >= 0) & ~done
            share = np.zeros(len(value))
            if known.any():
                count = np.bincount(key[known])
                share[known] = (np.bincount(key[known], fits[known]) / np.maximum(count, 1))[key[known]]
            take = known & (share >= 0.97)
            step[take] = candidate
            done |= take
    return step


def _place_starts(lives: Lives, readings, stars, last_km):
    """Distance since the start of the life (or since the first reading where the start is unknown) and what is known of it."""
    life = lives.lives.assign(product_line=codes.of_texts(lives.lives["product_line"]))
    first_km = readings.groupby("axle_life_id")["odometer_km"].min()
    newest_km = readings.groupby("axle_life_id")["odometer_km"].max()
    for frame in (readings, stars):
        of = frame["life_id"].to_numpy()
        frame["axle_life_id"] = life["axle_life_id"].to_numpy()[of]
        start = life["start_km"].to_numpy()[of]
        known = np.isfinite(start)
        frame["known_start"] = known
        fallback = frame["axle_life_id"].map(first_km).fillna(codes.mapped(frame["vehicle_id"], last_km))
        frame["start_km"] = np.where(known, start, fallback)
        gap = (life["start_high_km"] - life["start_low_km"]).to_numpy()
        frame["start_gap_km"] = np.where(known, gap[of], 0.0)
        frame["product_line"] = life["product_line"].array.take(of)
        frame["new_given"] = frame["new_mm"].notna()
        frame["new_mm"] = frame["new_mm"].fillna(codes.mapped(frame["lining"], DEFAULT_NEW_MM))
    readings["odometer_since"] = np.maximum(readings["odometer_km"] - readings["start_km"], 0.0) / UNIT_KM
    stars["ref_km"] = stars["axle_life_id"].map(newest_km).fillna(stars["start_km"])
    stars["odometer_since"] = np.maximum(stars["ref_km"] - stars["start_km"], 0.0) / UNIT_KM


# --- design: the fleet's effects --------------------------------------------------------------------------------------


@dataclass
class _Design:
    """Columns of beta: what each is, its prior, and which of them each kind of row carries (the last kind, at -1, none)."""

    table: pd.DataFrame
    start: np.ndarray
    precision: np.ndarray
    columns_of_kinds: np.ndarray
    kind_of_readings: np.ndarray
    kind_of_stars: np.ndarray

    @property
    def columns_of_readings(self) -> np.ndarray:
        """The seven columns of each reading, shape (n, 7)."""
        return self.columns_of_kinds[self.kind_of_readings]

    @property
    def columns_of_stars(self) -> np.ndarray:
        """The seven columns of each position asked about, shape (P, 7)."""
        return self.columns_of_kinds[self.kind_of_stars]


def _design(stars, readings) -> _Design:
    """Seven columns a row: kind, class, duty, cell, part, line, new (the last -1 where the start is unknown)."""
    names = ["axle", "lining", "wear_class", "duty", "part", "product_line", "new_given", "known_start"]
    (kinds, like), (kinds_of_stars, like_of_stars) = (_kinds(frame[names]) for frame in (readings, stars))
    like_of_stars += len(kinds)
    kinds = pd.concat([kinds, kinds_of_stars], ignore_index=True)
    front = kinds["axle"].isin(("front", "1"))
    wear = kinds["wear_class"].where(kinds["wear_class"].ne(""), "no class")
    axle = wear + " " + kinds["axle"] + " " + kinds["lining"]
    level = {
        "kind": kinds["lining"] + np.where(front, " front", " rear"),
        "class": axle,
        "duty": kinds["duty"],
        "cell": axle + " " + kinds["duty"],
        "part": kinds["part"],
        "line": kinds["product_line"],
        "new": axle + np.where(kinds["new_given"], "", " (not given)"),
    }
    lives_of_line = readings.groupby("product_line")["life_id"].nunique()
    few = ~kinds["product_line"].isin(lives_of_line.index[lives_of_line >= LEAST_LIVES_OF_LINE].astype("str"))
    absent = {"duty": kinds["duty"].eq(""), "line": few | kinds["product_line"].eq(""), "new": ~kinds["known_start"]}
    columns_of_kinds = np.full((len(kinds) + 1, len(level)), -1, dtype="int32")
    readings_of_kinds = np.bincount(like, minlength=len(kinds))
    parts, offset = [], 0
    for j, (name, words) in enumerate(level.items()):
        there = ~absent[name].to_numpy() if name in absent else np.ones(len(kinds), dtype=bool)
        levels, code = np.unique(words.to_numpy(str)[there], return_inverse=True)
        columns_of_kinds[np.flatnonzero(there), j] = offset + code
        sd = np.full(len(levels), PRIOR_SD[name])
        if name == "new":
            sd[np.char.endswith(levels, "(not given)")] = PRIOR_SD["new_unknown"]
        mean = np.zeros(len(levels))
        if name == "kind":
            mean = np.array([np.log(PRIOR_RATE[word.split()[0], word.split()[1] == "front"]) for word in levels])
        count = np.bincount(code, readings_of_kinds[there], minlength=len(levels)).astype(int)
        parts.append(pd.DataFrame({"kind": name, "level": levels, "prior": mean, "sd": sd, "readings": count}))
        offset += len(levels)
    table = pd.concat(parts, ignore_index=True)
    precision = 1 / table["sd"].to_numpy() ** 2
    return _Design(table, table["prior"].to_numpy(), precision, columns_of_kinds, like.astype("int32"), like_of_stars)


def _kinds(frame) -> tuple[pd.DataFrame, np.ndarray]:
    """The rows of a frame that differ, and which of them each row is like, shape (n,)."""
    _, first, like = np.unique(numbered(frame, frame.columns), return_index=True, return_inverse=True)
    return codes.plain(frame.iloc[first]), like


def _row_arrays(frame, kind, design, vehicles) -> dict[str, np.ndarray]:
    """The arrays the algebra works on, one entry a row; ``columns`` of beta by ``kind``."""
    nothing = np.broadcast_to(np.nan, len(frame))
    bounds = {name: frame[f"{name}_mm"].to_numpy() if f"{name}_mm" in frame else nothing for name in ("low", "high")}
    value = frame["value_mm"].to_numpy() if "value_mm" in frame else np.zeros(len(frame))
    return {
        "vehicle": codes.place(pd.Series(vehicles), frame["vehicle_id"]).astype("int32"),
        "axle": _codes(frame, ["axle"]),
        "track": _codes(frame, ["axle", "side", "part"]),
        "axle_life": frame["axle_life_id"].to_numpy().astype("int32"),
        "life_part": _life_part(frame),
        "distance": frame["odometer_since"].to_numpy(),
        "known": frame["known_start"].to_numpy(),
        "new_mm": frame["new_mm"].to_numpy(),
        "replace_at_mm": frame["replace_at_mm"].to_numpy(),
        "start_gap_km": frame["start_gap_km"].to_numpy(),
        "step_mm": frame["step_mm"].to_numpy() if "step_mm" in frame else np.zeros(len(frame)),
        "value": np.nan_to_num(value) if len(value) and np.isnan(value).any() else value,
        **bounds,
        "kind": kind,
        "columns": design.columns_of_kinds,
    }


def _life_part(frame) -> np.ndarray:
    """A number for each lining of each life, shape (n,)."""
    return (frame["life_id"].to_numpy() * len(LINING_PARTS) + codes.place(pd.Series(LINING_PARTS), frame["part"])).astype("int32")


def _codes(frame, names):
    """A stable integer for the words of each row, equal wherever the words are equal."""
    _, first, like = np.unique(numbered(frame, names), return_index=True, return_inverse=True)
    columns = [frame[name].iloc[first].astype("str").tolist() for name in names]
    words = np.array(["|".join(row) for row in zip(*columns, strict=True)], dtype=object)
    return pd.util.hash_array(words, categorize=True).astype("int64")[like]


# --- the algebra, many vehicles at a time -----------------------------------------------------------------------------


class _State:
    """What is being estimated: log scales, beta, the log rate each reading is linearised about, and which misfit."""

    def __init__(self, rows, design, repeat=None):
        self.rows, self.design = rows, design
        self.prior, self.prior_sd = np.log(PRIOR_SCALES), np.full(len(SCALES), PRIOR_SCALES_LOG_SD)
        if repeat is not None:  # log of a standard deviation from n readings: about 1 / (2 n) variance
            self.prior[6], self.prior_sd[6] = np.log(repeat[0]), min(PRIOR_SCALES_LOG_SD, 1 / np.sqrt(2 * repeat[1]))
        self.log_scales = self.prior.copy()
        self.beta = design.start.copy()
        self.covariance = np.diag(1 / design.precision)
        self.log_rate = _fleet_rate(self.beta, rows["columns"])[rows["kind"]]
        self.spread = np.zeros(len(rows["value"]))
        self.misfit = np.zeros(len(rows["value"]), dtype=bool)
        self.bound = np.isfinite(rows["low"]) | np.isfinite(rows["high"])
        self.value = rows["value"].copy() if self.bound.any() else rows["value"]
        self.extra = np.zeros(len(rows["value"]))
        self.extra[self.bound] = MISFIT_VARIANCE_MM2
        self.passes = 0

    @property
    def squares(self):
        return np.exp(2 * self.log_scales)


def _fleet_rate(beta, columns) -> np.ndarray:
    """x'beta of the log rate: the first six columns."""
    return np.append(beta, 0.0)[columns[..., :6]].sum(axis=-1)


def _sample(rows, vehicles) -> np.ndarray:
    """Vehicles to estimate the variances on: those with readings, evenly spread."""
    seen = np.flatnonzero(np.bincount(rows["vehicle"], minlength=vehicles) >= 2)
    if len(seen) <= FITTED_VEHICLES:
        return seen
    return seen[np.linspace(0, len(seen) - 1, FITTED_VEHICLES).astype(int)]


@dataclass(frozen=True)
class _Chunk:
    """Some vehicles of like size side by side: b of them, n places for readings, m for positions asked about.

    ``index`` (b, n) and ``star_index`` (b, m) are places in ``rows`` and ``star_rows``, -1 at padding; ``local`` (b, c) are the columns
    of beta that each vehicle's rows carry, padded with -1. n, m and c are those of all vehicles of that size, so that a vehicle's answer
    does not depend on who shares its chunk. What stands there is gathered when asked for: one chunk at a time is in memory.
    """

    rows: dict
    star_rows: dict | None
    index: np.ndarray
    star_index: np.ndarray | None
    local: np.ndarray

    def readings(self) -> dict[str, np.ndarray]:
        """The row arrays of the readings, each (b, n)."""
        return _side(self.rows, self.index, self.local)

    def stars(self) -> dict[str, np.ndarray]:
        """The row arrays of the positions asked about, each (b, m)."""
        return _side(self.star_rows, self.star_index, self.local)


def _chunks(rows, chosen, star_rows=None) -> list[_Chunk]:
    """The chosen vehicles in chunks of like size."""
    order, start, count = _grouped(rows["vehicle"], chosen)
    if star_rows is not None:
        star_order, star_start, star_count = _grouped(star_rows["vehicle"], chosen)
    width = np.maximum(-(-count // 8) * 8, 8)
    out = []
    for size in np.unique(width):
        members = np.flatnonzero(width == size)
        step = max(1, int(CHUNK_CELLS // size**2))
        alike = []
        for these in (members[at : at + step] for at in range(0, len(members), step)):
            index, star_index = _padded(order, start[these], count[these], size), None
            columns = [_columns(rows, index)]
            if star_rows is not None:
                star_index = _padded(star_order, star_start[these], star_count[these], max(star_count[members].max(), 1))
                columns.append(_columns(star_rows, star_index))
            alike.append(_Chunk(rows, star_rows, index, star_index, _own_columns(np.concatenate(columns, axis=1))))
        most = max(chunk.local.shape[1] for chunk in alike)
        out += [replace(chunk, local=_widened(chunk.local, most)) for chunk in alike]
    return out


def _grouped(vehicle, chosen):
    order = np.argsort(vehicle, kind="stable")
    start = np.searchsorted(vehicle[order], chosen, side="left")
    return order, start, np.searchsorted(vehicle[order], chosen, side="right") - start


def _padded(order, start, count, width):
    inside = np.arange(width) < count[:, None]
    if not len(order):
        return np.full(inside.shape, -1)
    place = np.minimum(start[:, None] + np.arange(width), len(order) - 1)
    return np.where(inside, order[place], -1)


def _columns(rows, index):
    """The columns of beta of the rows at ``index`` (b, n), -1 at padding; shape (b, n, 7)."""
    kind = np.where(index >= 0, rows["kind"][index], -1) if len(rows["kind"]) else np.full(index.shape, -1)
    return rows["columns"][kind]


def _side(rows, index, local):
    """The row arrays at ``index``, shape (b, n); a padding row is like no other row and weighs nothing.

    ``at`` (b, n, 7) is where the columns of beta of each row stand in ``local``, ``width`` how many there are.
    """
    inside = index >= 0
    side = {"inside": inside.astype(float), "columns": _columns(rows, index), "width": local.shape[1]}
    side["at"] = _places(local, side["columns"])

    def at(name, padding=0.0):
        return np.where(inside, rows[name][index], padding) if len(rows[name]) else np.broadcast_to(padding, index.shape)

    for name in CODES:
        side[name] = at(name, -1 - np.arange(index.shape[1]))
    new, replace_at, unknown = at("new_mm"), at("replace_at_mm"), inside & ~at("known", False)
    side["distance"] = at("distance")
    side["new"] = np.where(unknown, (new + replace_at) / 2, new)
    side["start_sd"] = np.where(unknown, 0.6 * (new - replace_at), 0.0)
    side["start_gap"] = at("start_gap_km") / UNIT_KM / np.sqrt(12)
    side["start_own_variance"] = np.where(unknown, UNKNOWN_START_SD_MM**2, 0.0)
    side["rounding"] = at("step_mm") ** 2 / 12
    return side


def _own_columns(columns):
    """The columns of beta that each vehicle's rows carry, in order, shape (b, c), padded with -1."""
    ordered = np.sort(columns.reshape(len(columns), -1), axis=1)
    first = (ordered >= 0) & np.diff(ordered, axis=1, prepend=-1).astype(bool)
    vehicle, at = np.nonzero(first)
    place = np.cumsum(first, axis=1)[vehicle, at] - 1
    local = np.full((len(columns), max(first.sum(axis=1).max(initial=0), 1)), -1)
    local[vehicle, place] = ordered[vehicle, at]
    return local


def _widened(local, width):
    """``local`` with padding up to ``width`` columns."""
    return np.pad(local, ((0, 0), (0, width - local.shape[1])), constant_values=-1)


def _places(local, columns):
    """Place of each row's columns in its vehicle's own list, shape of ``columns``; -1 where none."""
    out = np.full(columns.shape, -1)
    for j in range(local.shape[1]):
        out[(columns == local[:, j, None, None]) & (columns >= 0)] = j
    return out


def _terms(side, log_rate, spread):
    """Sensitivity, wander and start spread of rows whose log rates are normal (log_rate, spread), each of shape (b, n)."""
    rate = np.exp(log_rate + spread / 2) * side["inside"]
    return {
        "wear": side["distance"] * rate,
        "distance": side["distance"],
        "root_rate": np.exp(log_rate / 2) * side["inside"],
        "start_common": np.sqrt(side["start_sd"] ** 2 + (side["start_gap"] * rate) ** 2),
        "start_own": side["start_own_variance"],
        "inside": side["inside"],
    }


def _masks(left, right):
    """Which rows share the axle, the position, the axle's life and the position's life; each of shape (b, n, m)."""
    return {name: (left[name][:, :, None] == right[name][:, None, :]).astype(float) for name in CODES}


def _cross(left, right):
    return left[:, :, None] * right[:, None, :]


def _start_covariance(t, u, m):
    """What is not known of where lives start, between rows ``t`` and ``u`` (own scatter of a part's start apart)."""
    common = m["axle_life"] * _cross(t["start_common"], u["start_common"])
    return common + m["life_part"] * np.sqrt(_cross(t["start_own"], u["start_own"]))


def _wander(t, u, m):
    """Wander shared by rows ``t`` and ``u``, per unit of its squared scale: what both wore over the shorter distance, in one life."""
    shorter = np.minimum(t["distance"][:, :, None], u["distance"][:, None, :])
    return m["axle_life"] * shorter * _cross(t["root_rate"], u["root_rate"])


def _effect_covariance(squares, m):
    """Prior covariance of u + w + h + k between the rows on either side of the masks, shape (b, n, m)."""
    total = squares[1] * m["axle"]
    total += squares[0]
    total += squares[2] * m["track"]
    total += squares[3] * m["axle_life"]
    return total


def _rest_covariance(squares, t, u, m):
    """Prior covariance of starts and wander between rows ``t`` and ``u``, shape (b, n, m)."""
    total = _start_covariance(t, u, m)
    total += squares[4] * m["life_part"] * _cross(t["inside"], u["inside"])
    total += squares[5] * _wander(t, u, m)
    return total


def _add_noise(covariance, squares, p):
    """Add the readings' own noise to the diagonals, in place."""
    n = covariance.shape[1]
    covariance[:, np.arange(n), np.arange(n)] += p["noise"] + squares[6] * p["terms"]["inside"]
    return covariance


def _x(side, rate_entry, new_entry):
    """Rows of the design on each vehicle's own columns, shape (b, n, c); ``rate_entry`` stands in the six rate columns."""
    at = side["at"]
    b, n, _ = at.shape
    lane, line = np.arange(b)[:, None], np.arange(n)[None, :]
    x = np.zeros((b, n, side["width"] + 1))
    for j in range(7):
        x[lane, line, at[:, :, j]] += rate_entry if j < 6 else new_entry
    return x[:, :, :-1]


def _prepare(state, chunk):
    """Everything of a chunk that does not depend on the scales, at the current linearisation."""
    side, index = chunk.readings(), chunk.index
    log_rate, spread = _at(state.log_rate, index), _at(state.spread, index)
    t = _terms(side, log_rate, spread)
    m = _masks(side, side)
    misfit = _at(state.misfit, index)
    x = _x(side, t["wear"], -side["inside"])
    working = (side["new"] - _at(state.value, index) - t["wear"] * (1 - log_rate + spread)) * side["inside"]
    prior = np.append(state.design.start, 0.0)[chunk.local]
    return {
        "side": side, "terms": t, "masks": m, "x": x, "misfit": misfit, "spread": spread,
        "noise": side["rounding"] + _at(state.extra, index) + MISFIT_VARIANCE_MM2 * misfit + (1 - side["inside"]),
        "rest": working - np.einsum("bnc,bc->bn", x, prior),
    }  # fmt: skip


def _at(values, index):
    """``values[index]``, zero at padding."""
    return np.where(index >= 0, values[index], 0.0) if len(values) else np.zeros(index.shape)


def _whitened(p, squares):
    """A chunk's pieces with the inverse covariance of its readings, and what it makes of the design and of the residuals."""
    effects = _effect_covariance(squares, p["masks"])
    k = effects * _cross(p["terms"]["wear"], p["terms"]["wear"])
    k += _rest_covariance(squares, p["terms"], p["terms"], p["masks"])
    _add_noise(k, squares, p)
    inverse = np.linalg.inv(k)
    kr = np.einsum("bij,bj->bi", inverse, p["rest"])
    return {**p, "effects": effects, "k": k, "inverse": inverse, "kx": inverse @ p["x"], "kr": kr}


def _solve(chunks, prepared, design, squares, kept):
    """Beta by generalised least squares with its prior, given the squared scales.

    Parameters
    ----------
    chunks : list of _Chunk
    prepared : list of callable
        Each gives a chunk's pieces (``_prepare``).
    kept : callable
        What to keep of a chunk's pieces (``_whitened``).

    Returns
    -------
    beta, covariance : ndarray
    solved : iterator of dict
        What was kept of each chunk, with ``alpha``: the inverse covariance times the residuals from beta; for it ``kr`` and ``kx`` must
        have been kept. Of the chunks that do not fit into ``KEPT_BYTES`` the pieces are made again when their turn comes.
    right : ndarray
        Right side of the normal equations.

    Notes
    -----
    Sums over vehicles are taken one vehicle after the other, so that they do not depend on the chunks.
    """
    normal, right = np.diag(design.precision), np.zeros(len(design.precision))
    in_memory, room = [], KEPT_BYTES

    def share(pieces_of):
        p = _whitened(pieces_of(), squares)
        return np.einsum("bnc,bn->bc", p["x"], p["kr"]), np.swapaxes(p["x"], 1, 2) @ p["kx"], kept(p)

    for chunk, (side, block, pieces) in zip(chunks, worked(share, prepared), strict=True):
        local = chunk.local
        np.add.at(right, local, np.where(local >= 0, side, 0.0))
        line, column = np.broadcast_arrays(local[:, :, None], local[:, None, :])
        np.add.at(normal, (line, column), np.where((line >= 0) & (column >= 0), block, 0.0))
        room -= sum(piece.nbytes for piece in pieces.values())
        in_memory.append(pieces if room >= 0 else None)
    covariance = np.linalg.inv(normal)
    shift = covariance @ right

    def answered(one):
        chunk, pieces_of, pieces = one
        s = pieces or kept(_whitened(pieces_of(), squares))
        return {**s, "alpha": s["kr"] - np.einsum("bnc,bc->bn", s["kx"], np.append(shift, 0.0)[chunk.local])}

    return design.start + shift, covariance, worked(answered, zip(chunks, prepared, in_memory, strict=True)), right


def _to_prepare(state, chunks):
    """What gives the pieces of each chunk when asked."""
    return [partial(_prepare, state, chunk) for chunk in chunks]


def _only(*names):
    """What keeps these of a chunk's pieces."""
    return lambda pieces: {name: pieces[name] for name in names}


def _settling(squares):
    """What ``_settle`` keeps of a chunk's pieces: nothing of shape (b, n, n)."""

    def kept(pieces):
        wear, inverse = pieces["terms"]["wear"], pieces["inverse"]
        to_rate = pieces["effects"] * wear[:, None, :]
        known = np.einsum("bij,bij->bi", to_rate @ inverse, to_rate)
        spread = np.maximum(squares[:4].sum() - known, 0.0)
        own = np.einsum("bii->bi", inverse).copy()
        return {**{name: pieces[name] for name in ("kx", "kr", "misfit")}, "wear": wear, "spread": spread, "own": own}

    return kept


def _settle(state, chunks, passes):
    """Solve, move every log rate to its posterior mean and mark misfits, ``passes`` times.

    A reading misfits when it lies more than ``MISFIT_SD`` standard deviations from what all other readings say of it.
    """
    squares = state.squares
    for _ in range(passes):
        prepared = _to_prepare(state, chunks)
        state.beta, state.covariance, solved, _ = _solve(chunks, prepared, state.design, squares, _settling(squares))
        for chunk, s in zip(chunks, solved, strict=True):
            side = chunk.readings()
            effect = _effects(squares, _masks(side, side), s["wear"] * s["alpha"])
            inside = chunk.index >= 0
            index = chunk.index[inside]
            state.log_rate[index] = (_fleet_rate(state.beta, side["columns"]) + np.clip(effect, -1.5, 1.5))[inside]
            state.spread[index] = s["spread"][inside]
            left_out_sd = np.sqrt(np.maximum(1 / s["own"] - MISFIT_VARIANCE_MM2 * s["misfit"], 1e-6))
            if state.passes:
                away = s["alpha"] / s["own"]
                state.misfit[index] = (np.abs(away) > MISFIT_SD * left_out_sd)[inside] & ~state.bound[index]
                _bound_sites(state, chunk, away, 1 / s["own"])
        state.passes += 1


def _bound_sites(state, chunk, thicker, variance):
    """Put each bound's normal where the truncated normal says, given what all other readings say of it.

    Parameters
    ----------
    thicker : ndarray, shape (b, n)
        What the others say minus the value now standing in for the bound, mm.
    variance : ndarray, shape (b, n)
        Variance of that difference, the bound's own extra variance included.
    """
    from scipy.special import log_ndtr

    chosen = (chunk.index >= 0) & (_at(state.bound, chunk.index) > 0)
    if not chosen.any():
        return
    index = chunk.index[chosen]
    spread = np.maximum(variance[chosen] - state.extra[index], 1e-6)
    mean = state.value[index] + thicker[chosen]
    below = np.isfinite(state.rows["high"][index])
    sign = np.where(below, 1.0, -1.0)
    edge = sign * (np.where(below, state.rows["high"][index], state.rows["low"][index]) - mean) / np.sqrt(spread)
    hazard = np.exp(-(edge**2) / 2 - log_ndtr(edge)) / np.sqrt(2 * np.pi)
    cut_mean = mean - sign * np.sqrt(spread) * hazard
    cut_variance = spread * np.clip(1 - edge * hazard - hazard**2, 1e-6, 1 - 1e-9)
    precision = 1 / cut_variance - 1 / spread
    state.extra[index] = np.minimum(1 / precision, MISFIT_VARIANCE_MM2)
    state.value[index] = np.where(
        precision > 1 / MISFIT_VARIANCE_MM2, (cut_mean / cut_variance - mean / spread) / precision, mean
    )


def _answer(state, chunks):
    """Beta solved once more where all has settled; then each chunk in turn and its posterior."""
    prepared = _to_prepare(state, chunks)
    state.beta, state.covariance, _, _ = _solve(chunks, prepared, state.design, state.squares, _only())

    def answer(chunk):
        solved = _resolve(state, chunk)
        return solved, _posterior(state, chunk, solved)

    return worked(answer, chunks)


def _unpulled(squares, p):
    """What takes the pull of the spread out of the residuals again, for wander, starts and noise, shape (b, n)."""
    k = _add_noise(_rest_covariance(squares, p["terms"], p["terms"], p["masks"]), squares, p)
    return np.linalg.solve(k, (p["spread"] * p["terms"]["wear"])[:, :, None])[:, :, 0]


def _effects(squares, masks, pull):
    """Posterior mean of u + w + h + k for the rows on the masks' left side, given ``pull`` = wear * alpha of the readings."""
    total = squares[0] * pull.sum(axis=1, keepdims=True)
    for square, name in zip(squares[1:4], ("axle", "track", "axle_life")):
        total = total + square * np.einsum("bij,bj->bi", masks[name], pull)
    return total


def _estimate_scales(state, chunks, steps):
    """Scales by marginal likelihood (beta integrated out) times their prior, at the current linearisation.

    Newton steps on the log scales with the average of observed and expected information (Gilmour, Thompson and Cullis 1995,
    Average information REML, Biometrics 51, 1440-1450), halved while they do not improve the likelihood.
    """
    prepared = [{**p, "parts": _parts(p)} for p in worked(partial(_prepare, state), chunks)]
    here = _likelihood(state, chunks, prepared, state.log_scales)
    for _ in range(steps):
        cost, slope, information = here
        step = np.clip(-np.linalg.solve(information, slope), -0.7, 0.7)
        if np.abs(step).max() < 1e-3:
            return
        for halving in (1.0, 0.5, 0.25):
            there = _likelihood(state, chunks, prepared, state.log_scales + halving * step)
            if there[0] <= cost:
                break
        else:
            return
        state.log_scales = state.log_scales + halving * step
        here = there


def _parts(p):
    """The covariance of a chunk's readings, taken apart into what each of the first six squared scales multiplies."""
    t, m = p["terms"], p["masks"]
    wear = _cross(t["wear"], t["wear"])
    start = m["life_part"] * _cross(t["inside"], t["inside"])
    return [wear, wear * m["axle"], wear * m["track"], wear * m["axle_life"], start, _wander(t, t, m)]


def _likelihood(state, chunks, prepared, log_scales):
    """Minus log marginal likelihood and prior at ``log_scales``: value, slope (7,) and average information (7, 7)."""
    squares = np.exp(2 * log_scales)
    away = (log_scales - state.prior) / state.prior_sd
    kept = _only("k", "inverse", "kx", "kr")
    beta, covariance, solved, right = _solve(chunks, [partial(dict, p) for p in prepared], state.design, squares, kept)
    fits, slopes, informations = [], [], []
    for chunk, p, s in zip(chunks, prepared, solved, strict=True):
        log_det = 2 * np.log(np.einsum("bii->bi", np.linalg.cholesky(s["k"]))).sum(axis=1)
        fits.append(log_det + (p["rest"] * s["kr"]).sum(axis=1))
        v = _own_covariance(covariance, chunk.local)
        kxv = s["kx"] @ v
        pull = s["inverse"] - kxv @ np.swapaxes(s["kx"], 1, 2) - _cross(s["alpha"], s["alpha"])
        moved = [np.einsum("bij,bj->bi", part, s["alpha"]) for part in p["parts"]] + [p["terms"]["inside"] * s["alpha"]]
        moved = np.stack(moved, axis=2)
        projected = s["inverse"] @ moved - kxv @ (np.swapaxes(s["kx"], 1, 2) @ moved)
        informations.append(np.swapaxes(moved, 1, 2) @ projected)
        parts = [np.einsum("bij,bij->b", pull, part) for part in p["parts"]]
        slopes.append(np.stack([*parts, np.einsum("bii,bi->b", pull, p["terms"]["inside"])], axis=1))
    slope, information = np.concatenate(slopes).sum(axis=0), np.concatenate(informations).sum(axis=0)
    minus_two_log = np.concatenate(fits).sum() - np.linalg.slogdet(covariance)[1] - right @ (beta - state.design.start)
    cost = 0.5 * float(minus_two_log) + 0.5 * float((away**2).sum())
    information = 2 * squares[:, None] * squares * information + np.diag(1 / state.prior_sd**2)
    return cost, squares * slope + away / state.prior_sd, information


def _own_covariance(covariance, local):
    """Covariance of beta on each vehicle's own columns, shape (b, c, c); zero at padding."""
    both = (local[:, :, None] >= 0) & (local[:, None, :] >= 0)
    return np.where(both, covariance[local[:, :, None], local[:, None, :]], 0.0)


# --- answers ----------------------------------------------------------------------------------------------------------


def _posterior(state, chunk, w):
    """Posterior of log rate and thickness of a chunk's star rows.

    Returns
    -------
    dict
        ``log_rate, thickness`` (b, m); ``covariance`` (b, 2m, 2m), log rates first; ``own`` (b, m), the share of the prior
        variance of the log rate that the readings of the same life of the axle took away.
    """
    star, squares = chunk.stars(), state.squares
    m = _masks(star, w["side"])
    fleet = _fleet_rate(state.beta, star["columns"])
    t = w["terms"]
    log_rate = fleet + _effects(squares, m, t["wear"] * w["alpha"])
    to_rate = _effect_covariance(squares, m) * t["wear"][:, None, :] * star["inside"][:, :, None]
    spread = squares[:4].sum() - np.einsum("bij,bij->bi", to_rate @ w["inverse"], to_rate)
    u = _terms(star, log_rate, np.maximum(spread, 0.0))
    without_rates = _rest_covariance(squares, u, t, m)
    to_thickness = without_rates + to_rate * u["wear"][:, :, None]
    x_rate = _x(star, star["inside"], 0.0)
    x_thickness = _x(star, u["wear"], -star["inside"])
    beta = np.append(state.beta, 0.0)[chunk.local]
    wear = np.einsum("bmc,bc->bm", x_thickness, beta) + np.einsum("bmn,bn->bm", to_thickness, w["alpha"])
    wear += np.einsum("bmn,bn->bm", without_rates, w["unpulled"])
    thickness = star["new"] - u["wear"] * (1 - log_rate) - wear
    both = np.concatenate([to_rate, -to_thickness], axis=1)
    x = np.concatenate([x_rate, -x_thickness], axis=1)
    ms = _masks(star, star)
    prior = _effect_covariance(squares, ms) * _cross(u["inside"], u["inside"])
    upper = np.concatenate([prior, -prior * u["wear"][:, None, :]], axis=2)
    thick = prior * _cross(u["wear"], u["wear"]) + _rest_covariance(squares, u, u, ms)
    lower = np.concatenate([-prior * u["wear"][:, :, None], thick], axis=2)
    weights = both @ w["inverse"]
    own_life = np.einsum("bmn,bmn,bmn->bm", weights[:, : u["wear"].shape[1]], to_rate, m["axle_life"])
    v = _own_covariance(state.covariance, chunk.local)
    r = x - both @ w["kx"]
    covariance = np.concatenate([upper, lower], axis=1) - weights @ np.swapaxes(both, 1, 2) + r @ v @ np.swapaxes(r, 1, 2)
    return {"log_rate": log_rate, "thickness": thickness, "covariance": covariance, "own": own_life / squares[:4].sum()}


def _resolve(state, chunk):
    """One chunk solved again with the fitted beta."""
    s = _whitened(_prepare(state, chunk), state.squares)
    shift = np.append(state.beta - state.design.start, 0.0)[chunk.local]
    alpha = s["kr"] - np.einsum("bnc,bc->bn", s["kx"], shift)
    return {**s, "alpha": alpha, "unpulled": _unpulled(state.squares, s)}


def _result(solved, chunks, work, read, given, axles, found):
    state, stars = solved.state, solved.stars
    count = len(stars)
    log_rate, thickness, own = np.zeros(count), np.zeros(count), np.zeros(count)
    slot = stars.groupby("axle_no").cumcount().to_numpy()
    axle_no = stars["axle_no"].to_numpy()
    most = int(slot.max()) + 1 if count else 1
    covariance = np.zeros((axles, 2 * most, 2 * most))
    fitted = np.full(len(given), np.nan)
    for chunk, (w, answer) in zip(chunks, work, strict=True):
        index, inside = chunk.star_index, chunk.star_index >= 0
        log_rate[index[inside]] = answer["log_rate"][inside]
        thickness[index[inside]] = answer["thickness"][inside]
        own[index[inside]] = answer["own"][inside]
        m = index.shape[1]
        same = inside[:, :, None] & inside[:, None, :]
        same &= axle_no[index][:, :, None] == axle_no[index][:, None, :]
        b, i, j = np.nonzero(same)
        for down in (0, 1):
            for across in (0, 1):
                covariance[axle_no[index[b, i]], slot[index[b, i]] + down * most, slot[index[b, j]] + across * most] = answer[
                    "covariance"
                ][b, i + down * m, j + across * m]
        seen = chunk.index >= 0
        noise = w["side"]["rounding"] + state.squares[6]
        fit_mm = _at(state.value, chunk.index) + np.where(w["misfit"], np.nan, noise * (w["alpha"] + w["unpulled"]))
        fitted[chunk.index[seen]] = fit_mm[seen]
    given = given.assign(misfit=state.misfit, fitted_mm=fitted)
    given = given[~state.bound] if state.bound.any() else given
    if state.misfit.any():
        odd = codes.plain(codes.rows(read, given.index[given["misfit"]].to_numpy()))
        found.append(
            findings.make(
                "R41-reading-misfit", "measurements", row=odd["row"], vehicle_id=odd["vehicle_id"], column="value",
                value=odd["value_written"] + " " + odd["unit"], reading=odd["axle"] + " " + odd["side"] + " " + odd["part"],
            )
        )  # fmt: skip
    used = pd.Index(_life_part(stars)).get_indexer(state.rows["life_part"][~(state.misfit | state.bound)])
    used = np.bincount(used[used >= 0], minlength=count)
    positions = stars[["axle_no", "vehicle_id", "axle", "side", "part", "life_id", "axle_life_id", "ref_km", "new_mm",
                       "replace_at_mm", "discard_at_mm", "replace_default"]].assign(
        slot=slot, thickness_mm=thickness, log_rate=log_rate, readings=used,
    )  # fmt: skip
    own_share = pd.Series(own).groupby(axle_no).mean().reindex(range(axles)).fillna(0.0).to_numpy() if count else np.zeros(axles)
    beta = state.design.table[["kind", "level", "readings"]].assign(estimate=state.beta, se=np.sqrt(np.diag(state.covariance)))
    scales = dict(zip(SCALES, np.exp(state.log_scales).tolist()))
    return SharedModel(scales, beta, positions, covariance, own_share, read, given, findings.join(found), solved)
