"""Made fleets with known truth, for tests, benchmarks and the demo.

A made fleet is drawn in two steps. `draw_world` draws what is true and nobody sees: how hard each vehicle, axle and
pad wears, how far it is driven each week. `walk` sends the vehicles through the shop: what was read, what was changed,
and what slipped on the way to paper. `fleet` does both.

Wear law. The linings of an axle share one wear clock, in mm, which grows with distance at the mean rate of the
vehicle's class, axle and duty and wanders about it (a gamma process: independent increments, never backwards, variance
`wander**2` times the mean). A position wears `clock * exp(effects)`, so the effects multiply::

    thickness = start - (clock(odometer) - clock(start odometer)) * exp(vehicle + axle + side of disc + position + life)

The clock is drawn every `STEP_KM` and runs straight between, so a path is continuous, never grows, and a crossing
is interpolated. All numbers here are invented; their sizes follow common practice (no published pad history exists).
"""

import re
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

from brakedata.columns import AXLE_NAMES, RECORD_TABLES
from brakedata.units import DISTANCE_KM, THICKNESS_MM

STEP_KM = 250.0
"""Distance between two drawn points of a wear clock."""
SIDES = ("left", "left", "right", "right")
"""Side of each of the four lining positions of an axle."""
MOST_DRIVEN_DAY = 210.0
"""Day of the year on which most is driven, where there is a season."""
INNER = np.array([True, False, True, False])
"""Which of the four positions are the inner pad (or the leading shoe)."""


@dataclass(frozen=True)
class Brake:
    """One axle's brake as the class is built: lining, and the rotor or drum it works on.

    `part` is "pad" (on a rotor) or "shoe" (in a drum); `rate_mm_per_10000km` is the lining's mean wear on mixed duty;
    lengths in mm. A rotor's limits lie below its new thickness, a drum's above its new diameter.
    """

    rate_mm_per_10000km: float
    part: str = "pad"
    new_mm: float = 12.0
    replace_at_mm: float = 3.0
    discard_at_mm: float = 1.6
    mate_new_mm: float = 28.0
    mate_machine_to_mm: float = 25.6
    mate_discard_mm: float = 25.0


@dataclass(frozen=True)
class WearClass:
    """A kind of vehicle: `share` of the fleet, its brakes, and its typical distance a day on mixed duty (km)."""

    name: str
    share: float
    front: Brake
    rear: Brake
    km_per_day: float = 75.0
    description: str = ""


@dataclass(frozen=True)
class Effects:
    """How much wear and use differ. All but `wander` and `start_sd_mm` are standard deviations of a logarithm."""

    vehicle: float = 0.20
    axle: float = 0.12
    inner: float = 0.07
    """Not a spread: the inner pad (leading shoe) wears exp(+inner), the outer exp(-inner), on every axle."""
    position: float = 0.08
    life: float = 0.12
    wander: float = 0.30
    """The variance of a wear clock is wander**2 (mm) times its mean (mm)."""
    start_sd_mm: float = 0.20
    use: float = 0.30
    use_week: float = 0.35
    use_drift_year: float = 0.10
    use_change_share: float = 0.06
    """Share of vehicles whose daily distance changes once, by a factor of 0.5 to 2."""
    use_season: float = 0.0
    """Not a spread: daily distance goes as exp(use_season * cos) over the year, most at the end of July."""
    mate: float = 0.0
    """How much axles differ in what a lining takes off its rotor (drum)."""


@dataclass(frozen=True)
class Habits:
    """What people write down. All are shares of the axle looks (or jobs) concerned."""

    thinnest_only: float = 0.10
    one_side: float = 0.08
    not_measured: float = 0.08
    drum_not_opened: float = 0.45
    """A drum axle is not measured this often, besides."""
    before_at_job: float = 0.85
    after_at_job: float = 0.35
    mate_read: float = 0.12
    """Looks at which the rotor thickness (drum diameter) is read on both sides."""
    machined: float = 0.15
    """Jobs that keep the rotor (drum) and machine it, where the cut stays inside machine_to."""
    early_job: float = 0.01
    """Looks at which the linings are changed although they are good for longer."""


DRUM = dict(
    part="shoe",
    new_mm=5.0,
    replace_at_mm=2.0,
    discard_at_mm=1.0,
    mate_new_mm=230.0,
    mate_machine_to_mm=231.4,
    mate_discard_mm=232.0,
)
CLASSES = (
    WearClass(
        "panel van",
        0.4,
        Brake(1.5),
        Brake(1.0, new_mm=11.0, mate_new_mm=16.0, mate_machine_to_mm=14.6, mate_discard_mm=14.0),
        80.0,
        "panel van, long roof",
    ),
    WearClass(
        "small van",
        0.3,
        Brake(1.2, mate_new_mm=24.0, mate_machine_to_mm=22.6, mate_discard_mm=22.0),
        Brake(0.30, **DRUM),
        65.0,
        "small van, two seats",
    ),
    WearClass(
        "pickup",
        0.2,
        Brake(1.3, mate_new_mm=30.0, mate_machine_to_mm=28.6, mate_discard_mm=28.0),
        Brake(1.1, new_mm=10.0, mate_new_mm=20.0, mate_machine_to_mm=18.6, mate_discard_mm=18.0),
        70.0,
        "pickup, crew cab",
    ),
    WearClass("minibus", 0.1, Brake(2.0), Brake(1.6, new_mm=11.0), 95.0, "minibus, sixteen seats"),
)
DUTIES = {"urban": (0.4, 1.35, 0.8), "mixed": (0.4, 1.0, 1.0), "highway": (0.2, 0.65, 1.5)}
"""duty: (share of the fleet, factor on wear, factor on distance a day)."""


@dataclass(frozen=True)
class World:
    """What is true of a made fleet before anybody looks. V vehicles, 2 axles, 4 lining positions.

    Days count from the first day of the records. Rates are mm a km, distances km.
    """

    seed: int
    first_day: np.datetime64
    days: int
    """Last day of the records (the as-of day)."""
    classes: tuple[WearClass, ...]
    effects: Effects
    vehicle_id: np.ndarray
    class_of: np.ndarray
    duty: np.ndarray
    joined_new: np.ndarray
    in_service_day: np.ndarray
    in_service_km: np.ndarray
    retired_day: np.ndarray
    """NaN while in service."""
    last_seen_day: np.ndarray
    """No visit is made after this day."""
    km_a_day: np.ndarray
    """(V, weeks), running on years past the last day of the records."""
    rate: np.ndarray
    """(V, 2): mean growth of the axle's wear clock."""
    log_effect: np.ndarray
    """(V, 2, 4): vehicle, axle, inner or outer, and position together."""
    mate_log_effect: np.ndarray
    """(V, 2): on what a mm of lining takes off the rotor (drum)."""
    first_start_km: np.ndarray
    """(V, 2): where the linings on the axle at the start were fitted; before in_service_km on a used vehicle."""

    def brakes(self, attribute: str) -> np.ndarray:
        """(V, 2) values of one attribute of `Brake`."""
        table = np.array([[getattr(c.front, attribute), getattr(c.rear, attribute)] for c in self.classes])
        return table[self.class_of]


@dataclass(frozen=True)
class Fleet:
    """A made fleet: the records as people wrote them, and the truth behind them.

    Attributes
    ----------
    tables : dict of DataFrame
        vehicles, limits, visits, measurements, work and, when asked for, odometer_log, in the contract's columns.
        Dates are datetime64, odometers whole km, lengths mm; an empty cell is missing.
    as_of : Timestamp
        Last day of the records.
    truth : DataFrame
        One row an axle in service at `as_of`: vehicle_id, axle, part, odometer_km, thickness_mm (thinnest position),
        governing_side, governing_part, due_odometer_km and due_date (first position at replace_at in the current life,
        as if left running), discard_odometer_km, start_known (fitting recorded, or joined new).
    lives : DataFrame
        One row a life of an axle's linings: vehicle_id, axle, life (0, 1, ...), start_odometer_km, end_odometer_km
        (NaN while running), start_known, end_recorded (False while running).
    positions : DataFrame
        One row a life and position: vehicle_id, axle, life, side, part, start_mm, rate_mm_per_10000km (mean rate, the
        clock's wander left out), thickness_mm (at as_of; NaN for a life that has ended).
    mates : DataFrame
        One row a rotor or drum in service: vehicle_id, axle, side, part, size_mm (thickness or diameter) at as_of.
    mates_ahead : DataFrame
        As `mates`, with size_1_mm, size_2_mm, size_3_mm at the next three changes of linings, each set left running to
        replace_at (a set past it is changed at as_of) and the rotor or drum neither renewed nor machined.
    readings : DataFrame
        Aligned with tables["measurements"]: true_mm.
    visits : DataFrame
        Aligned with tables["visits"]: true_odometer_km, slipped.
    """

    tables: dict[str, pd.DataFrame]
    as_of: pd.Timestamp
    truth: pd.DataFrame
    lives: pd.DataFrame
    positions: pd.DataFrame
    mates: pd.DataFrame
    mates_ahead: pd.DataFrame
    readings: pd.DataFrame
    visits: pd.DataFrame


def fleet(
    vehicles: int = 200,
    years: float = 4.0,
    seed: int = 1,
    *,
    end_date: str = "2026-06-30",
    classes: tuple[WearClass, ...] = CLASSES,
    effects: Effects = Effects(),
    habits: Habits = Habits(),
    gauge_step_mm: float = 0.5,
    repeat_sd_mm: float = 0.15,
    slip_share: float = 0.004,
    unrecorded_share: float = 0.04,
    missing_share: float = 0.05,
    joined_new_share: float = 0.7,
    retired_share: float = 0.02,
    inspection_interval_days: float = 120.0,
    log_every_days: float | None = None,
) -> Fleet:
    """Make a fleet with known truth.

    Parameters
    ----------
    vehicles, years, seed, end_date
        Size, length of the records, seed, and their last day. The same arguments give the same fleet bit for bit.
    classes, effects, habits
        What the vehicles are, how they differ, what people write down.
    gauge_step_mm, repeat_sd_mm
        A reading is (true + normal error) rounded to the step.
    slip_share
        Share of visits whose odometer was written with a slipped digit. 0 switches it off.
    unrecorded_share
        Share of lining changes that left no work row; half of them left no visit either. 0 switches it off.
    missing_share
        Share of single readings left out.
    joined_new_share
        Share of vehicles that joined the fleet new; of the others nobody knows how worn the first linings were.
    retired_share
        Share of vehicles that left service before the end.
    inspection_interval_days
        Mean days between two visits at the class's usual use; vehicles driven more come more often.
    log_every_days
        Mean days between two rows of odometer_log; None makes no such table.
    """
    world = draw_world(
        vehicles,
        years,
        seed,
        end_date=end_date,
        classes=classes,
        effects=effects,
        joined_new_share=joined_new_share,
        retired_share=retired_share,
    )
    return walk(
        world,
        habits=habits,
        gauge_step_mm=gauge_step_mm,
        repeat_sd_mm=repeat_sd_mm,
        slip_share=slip_share,
        unrecorded_share=unrecorded_share,
        missing_share=missing_share,
        inspection_interval_days=inspection_interval_days,
        log_every_days=log_every_days,
    )


def draw_world(
    vehicles: int,
    years: float,
    seed: int,
    *,
    end_date: str = "2026-06-30",
    classes: tuple[WearClass, ...] = CLASSES,
    effects: Effects = Effects(),
    joined_new_share: float = 0.7,
    retired_share: float = 0.02,
) -> World:
    """Draw what is true of a made fleet; see `fleet`. Half of the vehicles join at the start of the records."""
    if vehicles < 1 or years <= 0:
        raise ValueError("a made fleet needs at least one vehicle and some time: give vehicles >= 1 and years > 0")
    rng = np.random.default_rng(_seeds(seed)[0])
    days = round(years * 365.25)
    first_day = np.datetime64(end_date, "D") - days
    shape = (vehicles, 2, 4)
    class_of = rng.choice(len(classes), vehicles, p=_shares([c.share for c in classes]))
    duty = rng.choice(len(DUTIES), vehicles, p=_shares([d[0] for d in DUTIES.values()]))
    duty_wear, duty_use = np.array([d[1:] for d in DUTIES.values()])[duty].T

    rate = np.array([[c.front.rate_mm_per_10000km, c.rear.rate_mm_per_10000km] for c in classes])[class_of] / 1e4
    rate = rate * duty_wear[:, None]
    log_effect = (
        rng.normal(0, effects.vehicle, (vehicles, 1, 1))
        + rng.normal(0, effects.axle, (vehicles, 2, 1))
        + np.where(INNER, effects.inner, -effects.inner)
        + rng.normal(0, effects.position, shape)
    )

    late = rng.random(vehicles) < 0.5
    in_service_day = np.where(late, rng.uniform(0.06, 0.8, vehicles), rng.uniform(0, 0.06, vehicles)) * days
    joined_new = rng.random(vehicles) < joined_new_share
    in_service_km = np.where(joined_new, rng.uniform(5, 60, vehicles), rng.uniform(3e4, 1.6e5, vehicles)).round()
    worn_km = rng.uniform(0, 0.8, (vehicles, 2)) * _usable_mm(classes, class_of) / (rate * np.exp(log_effect.max(-1)))
    first_start_km = np.where(joined_new[:, None], 0.0, np.maximum(in_service_km[:, None] - worn_km, 0.0).round())

    retired = rng.random(vehicles) < retired_share
    served = rng.uniform(0.2, 1.0, vehicles) * (days - in_service_day)
    retired_day = np.where(retired, np.floor(in_service_day + served), np.nan)
    return World(
        seed=seed,
        first_day=first_day,
        days=days,
        classes=tuple(classes),
        effects=effects,
        vehicle_id=np.array([f"V-{n}" for n in range(1, vehicles + 1)], dtype=object),
        class_of=class_of,
        duty=np.array(list(DUTIES), dtype=object)[duty],
        joined_new=joined_new,
        in_service_day=np.floor(in_service_day),
        in_service_km=in_service_km,
        retired_day=retired_day,
        last_seen_day=np.full(vehicles, float(days)),
        km_a_day=_use(
            rng,
            vehicles,
            days,
            float(pd.Timestamp(first_day).day_of_year),
            duty_use * np.array([c.km_per_day for c in classes])[class_of],
            effects,
        ),
        rate=rate,
        log_effect=log_effect,
        mate_log_effect=np.random.default_rng(_seeds(seed)[6]).normal(0, effects.mate, (vehicles, 2)),
        first_start_km=first_start_km,
    )


def _seeds(seed: int) -> list[np.random.SeedSequence]:
    """Seeds of: the world, the clocks, the shop, the gauge, the dirt, the odometer log, rotors and drums, what lies ahead."""
    return np.random.SeedSequence(seed).spawn(8)


def _shares(shares: list[float]) -> np.ndarray:
    """Shares scaled to sum to one."""
    shares = np.asarray(shares, dtype=float)
    return shares / shares.sum()


def _usable_mm(classes: tuple[WearClass, ...], class_of: np.ndarray) -> np.ndarray:
    """(V, 2) lining from new down to replace_at."""
    return np.array([[b.new_mm - b.replace_at_mm for b in (c.front, c.rear)] for c in classes])[class_of]


def _use(
    rng: np.random.Generator, vehicles: int, days: int, first_day_of_year: float, typical: np.ndarray, effects: Effects
) -> np.ndarray:
    """(V, weeks) km a day: own level, weekly noise, slow drift, season, and for some vehicles one change of use.

    The weeks run twelve years past the records, so that a due odometer has its date.
    """
    weeks = days // 7 + 12 * 52
    level = np.log(typical) + rng.normal(0, effects.use, vehicles)
    noise = rng.normal(0, effects.use_week, (vehicles, weeks))
    drift = np.cumsum(rng.normal(0, effects.use_drift_year / np.sqrt(52), (vehicles, weeks)), axis=1)
    drift -= drift[:, [days // 7]]
    change = np.where(rng.random(vehicles) < effects.use_change_share, rng.uniform(-1, 1, vehicles) * np.log(2), 0.0)
    after = np.arange(weeks) * 7 > rng.uniform(0.2, 0.9, vehicles)[:, None] * days
    season = effects.use_season * np.cos(2 * np.pi * (first_day_of_year + np.arange(weeks) * 7 - MOST_DRIVEN_DAY) / 365.25)
    return np.exp(level[:, None] + noise - effects.use_week**2 / 2 + drift + change[:, None] * after + season)


class Odometers:
    """True odometer of every vehicle on any day, and back."""

    def __init__(self, world: World):
        driven = np.concatenate([np.zeros((len(world.class_of), 1)), np.cumsum(world.km_a_day * 7, axis=1)], axis=1)
        self._km = driven
        self._km = driven + (world.in_service_km - self.at(world.in_service_day))[:, None]

    def at(self, day: np.ndarray, rows: np.ndarray | slice = slice(None)) -> np.ndarray:
        """(R,) km on one day each for the vehicles `rows`."""
        km = self._km[rows]
        week = np.clip((day // 7).astype(int), 0, km.shape[1] - 2)
        low, high = _pick(km, week), _pick(km, week + 1)
        return low + (high - low) * (day / 7 - week)

    def day_of(self, km: np.ndarray, rows: np.ndarray | slice = slice(None)) -> np.ndarray:
        """(R,) day on which each vehicle of `rows` reaches `km`; past the drawn weeks at the last year's pace."""
        path = self._km[rows]
        week = np.clip((path < km[:, None]).sum(axis=1) - 1, 0, path.shape[1] - 2)
        low, high = _pick(path, week), _pick(path, week + 1)
        inside = (week + (km - low) / (high - low)) * 7
        pace = (path[:, -1] - path[:, -53]) / (52 * 7)
        beyond = (path.shape[1] - 1) * 7 + (km - path[:, -1]) / pace
        return np.where(km > path[:, -1], beyond, inside)


class _Clocks:
    """The wear clock of every axle, drawn every STEP_KM from where its first linings were fitted."""

    def __init__(self, world: World, end_km: np.ndarray, rng: np.random.Generator):
        self._rng, self._wander = rng, world.effects.wander
        self._rate, self.origin_km = world.rate, world.first_start_km
        self._mm = np.zeros(world.rate.shape + (1,))
        self._grow(int((end_km[:, None] - self.origin_km).max() // STEP_KM) + 2)

    def _grow(self, steps: int) -> None:
        """Draw `steps` more points of every clock."""
        mean = np.broadcast_to((self._rate * STEP_KM)[..., None], self._rate.shape + (steps,))
        size = self._wander**2
        more = self._rng.gamma(mean / size, size) if size else mean
        self._mm = np.concatenate([self._mm, self._mm[..., -1:] + np.cumsum(more, axis=-1)], axis=-1)

    def at(self, km: np.ndarray) -> np.ndarray:
        """(V, 2) clock in mm at odometers (V,) or (V, 2)."""
        place = (np.broadcast_to(km.reshape(len(km), -1), self.origin_km.shape) - self.origin_km) / STEP_KM
        step = np.clip(place.astype(int), 0, self._mm.shape[-1] - 2)
        low, high = _pick(self._mm, step), _pick(self._mm, step + 1)
        return low + (high - low) * (place - step)

    def km_of(self, mm: np.ndarray) -> np.ndarray:
        """(V, 2) odometer at which each clock reaches `mm`, interpolated; the clocks run on until all have."""
        while (self._mm[..., -1] < mm).any():
            self._grow(400)
        step = (self._mm < mm[..., None]).sum(axis=-1) - 1
        low, high = _pick(self._mm, step), _pick(self._mm, step + 1)
        return self.origin_km + (step + (mm - low) / (high - low)) * STEP_KM


def _pick(values: np.ndarray, where: np.ndarray) -> np.ndarray:
    """values[..., where] along the last axis, one a row."""
    return np.take_along_axis(values, where[..., None], axis=-1)[..., 0]


@dataclass
class _State:
    """The linings and rotors (drums) on every axle now. (V, 2) or with 4 positions or 2 sides."""

    life: np.ndarray
    start_km: np.ndarray
    start_clock: np.ndarray
    start_mm: np.ndarray
    log_effect: np.ndarray
    mate_mm: np.ndarray
    mate_clock: np.ndarray
    jobs_on_mate: np.ndarray

    def thickness(self, clock: np.ndarray) -> np.ndarray:
        """(V, 2, 4) true lining thickness when the clocks stand at `clock` (V, 2)."""
        return self.start_mm - (clock - self.start_clock)[..., None] * np.exp(self.log_effect)

    def mate(self, clock: np.ndarray, wear: np.ndarray) -> np.ndarray:
        """(V, 2, 2) true rotor thickness (drum diameter) each side; `wear` (V, 2) is signed mm a mm of clock."""
        return self.mate_mm + ((clock - self.mate_clock) * wear)[..., None] * np.exp(
            self.log_effect.reshape(*self.life.shape, 2, 2).mean(-1)
        )


@dataclass
class _Log:
    """What happened, one entry a round of visits, stacked at the end."""

    entries: dict[str, list] = field(default_factory=dict)

    def add(self, **arrays: np.ndarray) -> None:
        """Keep a copy of each array under its name."""
        for name, array in arrays.items():
            self.entries.setdefault(name, []).append(np.array(array))

    def stacked(self) -> dict[str, np.ndarray]:
        """name: array with the round as its first axis."""
        return {name: np.stack(rounds) for name, rounds in self.entries.items()}


class _Shop:
    """Everything a visit needs: who measures with what, and when linings are changed."""

    def __init__(
        self,
        world: World,
        clocks: _Clocks,
        rng: np.random.Generator,
        gauge_rng: np.random.Generator,
        habits: Habits,
        gauge_step_mm: float,
        repeat_sd_mm: float,
        missing_share: float,
        km_between_visits: np.ndarray,
    ):
        self.world, self.clocks, self.rng, self.gauge_rng, self.habits = world, clocks, rng, gauge_rng, habits
        self.step_mm, self.repeat_sd_mm, self.missing_share = gauge_step_mm, repeat_sd_mm, missing_share
        self.is_drum = world.brakes("part") == "shoe"
        self.mate_wear = np.where(self.is_drum, 0.15, -0.12) * np.exp(world.mate_log_effect)
        self.limits = {
            name: world.brakes(name) for name in ("new_mm", "replace_at_mm", "discard_at_mm", "mate_new_mm", "mate_machine_to_mm")
        }
        self.wear_to_next_mm = world.rate * km_between_visits[:, None]
        self.state = self._first_state()
        self.log = _Log()

    def _first_state(self) -> _State:
        """The linings and rotors on every axle when the vehicle joined; a used vehicle's rotor may be on its second."""
        world, shape = self.world, self.world.rate.shape
        zero = np.zeros(shape)
        second = ~world.joined_new[:, None] & (self.rng.random(shape) < 0.5) & (world.first_start_km > 0)
        worn = second * self.mate_wear * (self.limits["new_mm"] - self.limits["replace_at_mm"])
        return _State(
            life=np.zeros(shape, dtype=int),
            start_km=world.first_start_km.copy(),
            start_clock=zero.copy(),
            start_mm=self._new_linings(),
            log_effect=world.log_effect + self._life_effect(),
            mate_mm=np.repeat((self.limits["mate_new_mm"] + worn)[..., None], 2, axis=-1),
            mate_clock=zero.copy(),
            jobs_on_mate=second.astype(int),
        )

    def _new_linings(self) -> np.ndarray:
        """(V, 2, 4) true thickness of freshly fitted linings."""
        return self.limits["new_mm"][..., None] + self.rng.normal(0, self.world.effects.start_sd_mm, self.world.log_effect.shape)

    def _life_effect(self) -> np.ndarray:
        """(V, 2, 1) log effect of one life."""
        return self.rng.normal(0, self.world.effects.life, self.world.rate.shape + (1,))

    def read(self, true_mm: np.ndarray, step_mm: float, repeat_sd_mm: float) -> np.ndarray:
        """What the gauge says: true plus error, rounded to the step."""
        seen = true_mm + self.gauge_rng.normal(0, repeat_sd_mm, true_mm.shape)
        return np.maximum(np.round(np.round(seen / step_mm) * step_mm, 6), 0.0)

    def heard_km(self) -> np.ndarray:
        """(V,) odometer at which the driver hears an axle and brings the vehicle in: half of discard_at is left."""
        left = self.state.start_mm - 0.5 * self.limits["discard_at_mm"][..., None]
        wear = (left / np.exp(self.state.log_effect)).min(-1)
        return self.clocks.km_of(self.state.start_clock + wear).min(-1)

    def visit(self, here: np.ndarray, day: np.ndarray, km: np.ndarray) -> None:
        """One visit of the vehicles `here` (V,) on `day` (V,) at true odometer `km` (V,)."""
        clock = self.clocks.at(km)
        true = self.state.thickness(clock)
        seen = self.read(true, self.step_mm, self.repeat_sd_mm)
        each, side_thin, axle_thin = self._what_is_read(true)
        mate = self.state.mate(clock, self.mate_wear)
        thinnest = np.minimum(
            np.where(each, seen, np.inf).min(-1), np.where(side_thin | axle_thin, self._at_thinnest(true, seen), np.inf)
        )
        job = here[:, None] & self._is_changed(thinnest, true)
        dropped = job & (self.rng.random(job.shape) > self.habits.before_at_job)
        self.log.add(
            day=day,
            km=km,
            here=here,
            job=job,
            life=self.state.life,
            start_km=self.state.start_km,
            start_mm=self.state.start_mm,
            log_effect=self.state.log_effect,
            true=true,
            seen=seen,
            each=each & (here[:, None] & ~dropped)[..., None],
            side_thin=side_thin & here[:, None] & ~dropped,
            axle_thin=axle_thin & here[:, None] & ~dropped,
            mate=mate,
            mate_seen=self.read(mate, 0.1, 0.03),
            mate_read=here[:, None] & np.isfinite(thinnest) & (self.rng.random(job.shape) < self.habits.mate_read),
        )
        self._do(job, km, clock, mate)

    @staticmethod
    def _at_thinnest(true: np.ndarray, values: np.ndarray) -> np.ndarray:
        """(V, 2) value at the truly thinnest of the four positions."""
        return _pick(values, true.argmin(-1))

    def _what_is_read(self, true: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Which positions are written down (V, 2, 4), where only the thinnest a side, where only the axle's thinnest.

        At or under discard_at nobody overlooks them: all are measured.
        """
        habits, shape = self.habits, self.world.rate.shape
        heard = true.min(-1) <= self.limits["discard_at_mm"]
        draw, drum_draw, half = self.rng.random(shape), self.rng.random(shape), self.rng.random(shape) < 0.5
        side = self.rng.random(shape) < 0.5
        looked = heard | ~((draw < habits.not_measured) | self.is_drum & (drum_draw < habits.drum_not_opened))
        edges = habits.not_measured + np.cumsum([habits.thinnest_only, habits.one_side])
        thin = looked & ~heard & (draw >= habits.not_measured) & (draw < edges[0])
        one_side = looked & ~heard & (draw >= edges[0]) & (draw < edges[1])
        wanted = ~one_side[..., None] | ((np.array(SIDES) == "left") == side[..., None])
        kept = self.rng.random(true.shape) >= self.missing_share
        return (looked & ~thin)[..., None] & wanted & kept, thin & half, thin & ~half

    def _is_changed(self, thinnest: np.ndarray, true: np.ndarray) -> np.ndarray:
        """(V, 2) whether the linings are changed at this visit."""
        replace_at = self.limits["replace_at_mm"]
        margin = self.rng.normal(0.2, 0.3, thinnest.shape)
        due = thinnest <= replace_at + margin + np.minimum(self.wear_to_next_mm, 0.2 * self.limits["new_mm"])
        early = (
            (self.rng.random(thinnest.shape) < self.habits.early_job)
            & np.isfinite(thinnest)
            & (true.min(-1) < 0.75 * self.limits["new_mm"])
        )
        return due | early

    def _do(self, job: np.ndarray, km: np.ndarray, clock: np.ndarray, mate: np.ndarray) -> None:
        """Fit new linings where `job` (V, 2), and renew, machine or keep the rotors (drums)."""
        state = self.state
        new_mm, effect = self._new_linings(), self.world.log_effect + self._life_effect()
        renew = job & (state.jobs_on_mate >= 1)
        cut = mate + np.where(self.is_drum, 0.4, -0.4)[..., None]
        inside = np.where(
            self.is_drum,
            cut.max(-1) <= self.limits["mate_machine_to_mm"],
            cut.min(-1) >= self.limits["mate_machine_to_mm"],
        )
        machine = job & ~renew & inside & (self.rng.random(job.shape) < self.habits.machined)
        after_read = job & (self.rng.random(job.shape) < self.habits.after_at_job)
        self.log.add(
            renew=renew,
            machine=machine,
            after=new_mm,
            after_read=after_read,
            after_seen=self.read(new_mm, self.step_mm, self.repeat_sd_mm),
        )
        state.life = state.life + job
        state.start_km = np.where(job, km[:, None], state.start_km)
        state.start_clock = np.where(job, clock, state.start_clock)
        state.start_mm = np.where(job[..., None], new_mm, state.start_mm)
        state.log_effect = np.where(job[..., None], effect, state.log_effect)
        reset = (renew | machine)[..., None]
        fresh = np.where(renew[..., None], self.limits["mate_new_mm"][..., None], cut)
        state.mate_mm = np.where(job[..., None], np.where(reset, fresh, mate), state.mate_mm)
        state.mate_clock = np.where(job, clock, state.mate_clock)
        state.jobs_on_mate = np.where(renew, 0, state.jobs_on_mate + job)


def walk(
    world: World,
    *,
    habits: Habits = Habits(),
    gauge_step_mm: float = 0.5,
    repeat_sd_mm: float = 0.15,
    slip_share: float = 0.004,
    unrecorded_share: float = 0.04,
    missing_share: float = 0.05,
    inspection_interval_days: float = 120.0,
    log_every_days: float | None = None,
) -> Fleet:
    """Send a drawn world through the shop and write its records; see `fleet`.

    Linings are changed, both sides together, at a visit whose thinnest reading is at about replace_at, or is expected
    to be by the next visit; sometimes earlier; and when they are heard. Every second job changes the rotors (drums).
    """
    _, clock_seed, shop_seed, gauge_seed, dirt_seed, log_seed, _, ahead_seed = _seeds(world.seed)
    odometers = Odometers(world)
    vehicles = len(world.class_of)
    end_km = odometers.at(np.full(vehicles, float(world.days)))
    clocks = _Clocks(world, end_km, np.random.default_rng(clock_seed))
    rng = np.random.default_rng(shop_seed)
    pace = np.median(world.km_a_day, axis=1)
    interval = inspection_interval_days * np.sqrt(np.median(pace) / pace)
    shop = _Shop(
        world,
        clocks,
        rng,
        np.random.default_rng(gauge_seed),
        habits,
        gauge_step_mm,
        repeat_sd_mm,
        missing_share,
        pace * interval,
    )

    last = np.fmin(np.minimum(world.last_seen_day, world.days), world.retired_day)
    previous = world.in_service_day
    day = world.in_service_day + np.ceil(rng.uniform(0.2, 1.0, vehicles) * interval)
    while True:
        day = np.clip(np.ceil(odometers.day_of(shop.heard_km())), np.minimum(previous + 1, day), day)
        shop.visit(day <= last, day, odometers.at(day))
        previous, day = day, day + np.ceil(interval * rng.lognormal(-0.045, 0.3, vehicles))
        if (day > last).all():
            break
    return _write_up(
        shop,
        odometers,
        end_km,
        np.random.default_rng(dirt_seed),
        slip_share,
        unrecorded_share,
        log_every_days,
        np.random.default_rng(log_seed),
        np.random.default_rng(ahead_seed),
    )


def _write_up(
    shop: _Shop,
    odometers: Odometers,
    end_km: np.ndarray,
    dirt: np.random.Generator,
    slip_share: float,
    unrecorded_share: float,
    log_every_days: float | None,
    log_rng: np.random.Generator,
    ahead_rng: np.random.Generator,
) -> Fleet:
    """Turn what happened into records and truth tables, with slips and unrecorded changes."""
    world, happened = shop.world, shop.log.stacked()
    recorded, shown = _unrecorded(happened["job"], happened["here"], unrecorded_share, dirt)
    visits, visit_truth, number = _visits_table(world, happened, recorded, shown, slip_share, dirt)
    measurements, readings = _measurements_table(shop, happened, recorded, number)
    lives, positions = _lives_tables(shop, happened, recorded, end_km)
    tables = {
        "vehicles": _vehicles_table(world),
        "limits": _limits_table(world),
        "visits": visits,
        "measurements": measurements,
        "work": _work_table(world, happened, recorded, number),
    }
    if log_every_days:
        tables["odometer_log"] = _odometer_log(world, odometers, log_every_days, log_rng)
    return Fleet(
        tables=tables,
        as_of=pd.Timestamp(world.first_day + world.days),
        truth=_truth(shop, odometers, end_km, lives),
        lives=lives,
        positions=positions,
        mates=_mates_table(shop, shop.state.mate(shop.clocks.at(end_km), shop.mate_wear), ["size_mm"]),
        mates_ahead=_mates_table(shop, *_mates_ahead(shop, end_km, ahead_rng)),
        readings=readings,
        visits=visit_truth,
    )


def _unrecorded(job: np.ndarray, here: np.ndarray, share: float, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Which jobs (J, V, 2) left a work row, and which visits (J, V) a visit row; exactly the share asked is lost."""
    jobs = np.flatnonzero(job)
    lost = np.zeros(job.size, dtype=bool)
    lost[rng.choice(jobs, round(share * len(jobs)), replace=False)] = True
    lost = lost.reshape(job.shape)
    elsewhere = lost.any(-1) & ~(job & ~lost).any(-1) & (rng.random(here.shape) < 0.5)
    return job & ~lost, here & ~elsewhere


def _visits_table(
    world: World, happened: dict, recorded: np.ndarray, shown: np.ndarray, slip_share: float, rng: np.random.Generator
) -> tuple[pd.DataFrame, pd.DataFrame, np.ndarray]:
    """The visits in the order of their days, their truth, and each visit's row number (J, V; -1 where not shown)."""
    round_no, vehicle = np.nonzero(shown)
    order = np.lexsort((vehicle, happened["day"][round_no, vehicle]))
    round_no, vehicle = round_no[order], vehicle[order]
    number = np.full(shown.shape, -1)
    number[round_no, vehicle] = np.arange(len(order))
    true_km = happened["km"][round_no, vehicle]
    odometer, slipped = _slip(np.floor(true_km).astype(int), slip_share, rng)
    job = recorded[round_no, vehicle].any(-1)
    visits = pd.DataFrame(
        {
            "visit_id": _visit_ids(np.arange(len(order))),
            "vehicle_id": world.vehicle_id[vehicle],
            "date": _date(world, happened["day"][round_no, vehicle]),
            "odometer": odometer,
            "odometer_unit": "km",
            "reason": np.where(job, "brake job", "inspection"),
            "technician": np.array(["T1", "T2", "T3", "T4"], dtype=object)[rng.integers(0, 4, len(order))],
        }
    )
    truth = pd.DataFrame({"visit_id": visits["visit_id"], "true_odometer_km": true_km, "slipped": slipped})
    return visits.reindex(columns=columns_of("visits")), truth, number


def columns_of(table: str) -> list[str]:
    """The contract's columns of one record table."""
    return [column.name for column in RECORD_TABLES[table]]


def _visit_ids(number: np.ndarray) -> np.ndarray:
    """W1, W2, ... for row numbers 0, 1, ..."""
    return np.array([f"W{n + 1}" for n in number], dtype=object)


def _date(world: World, day: np.ndarray) -> np.ndarray:
    """Dates of days counted from the first day of the records; NaN gives an empty date."""
    known = np.isfinite(day)
    dates = world.first_day + np.floor(np.where(known, day, 0)).astype("timedelta64[D]")
    return np.where(known, dates, np.datetime64("NaT", "D")).astype("datetime64[s]")


def _slip(odometer: np.ndarray, share: float, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Write exactly `share` of the odometers with a slipped digit, off by 2,000 km or more."""
    can = np.flatnonzero(odometer >= 10_000)
    rows = rng.choice(can, min(round(share * len(odometer)), len(can)), replace=False)
    slipped = np.zeros(len(odometer), dtype=bool)
    slipped[rows] = True
    written = odometer.copy()
    for row in np.sort(rows):
        while abs(written[row] - odometer[row]) < 2_000:
            written[row] = _slipped_digit(str(odometer[row]), rng)
    return written, slipped


def _slipped_digit(digits: str, rng: np.random.Generator) -> int:
    """One odometer with a digit mistaken, left out, doubled, or swapped with its neighbour."""
    at = int(rng.integers(0, len(digits) - 1))
    slips = (
        digits[:at] + str(rng.integers(0, 10)) + digits[at + 1 :],
        digits[:at] + digits[at + 1 :],
        digits[:at] + digits[at] + digits[at:],
        digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :],
    )
    return int(slips[rng.choice(4, p=[0.5, 0.2, 0.2, 0.1])])


def _measurements_table(
    shop: _Shop, happened: dict, recorded: np.ndarray, number: np.ndarray
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The readings written down, in the order of the visits, and the true value of each."""
    noted = (number >= 0)[..., None] & np.ones(2, dtype=bool)
    before = np.where(recorded, "before", None)
    true, seen, after = happened["true"], happened["seen"], happened["after"]
    thinnest = true.argmin(-1)
    side_of = np.array(SIDES, dtype=object)
    lining = np.where(shop.is_drum, "shoe", "pad").astype(object)
    place = np.where(
        shop.is_drum[..., None],
        np.where(INNER, "leading_shoe", "trailing_shoe"),
        np.where(INNER, "inner_pad", "outer_pad"),
    ).astype(object)
    mate = np.where(shop.is_drum, "drum", "rotor").astype(object)

    def rows(shown: np.ndarray, order: int, side, part, value: np.ndarray, truth: np.ndarray, taken) -> pd.DataFrame:
        index = np.nonzero(shown & (noted if shown.ndim == 3 else noted[..., None]))
        spread = [np.broadcast_to(np.asarray(a, dtype=object), shown.shape)[index] for a in (side, part, taken)]
        return pd.DataFrame(
            {
                "number": number[index[:2]],
                "axle_no": index[2],
                "order": order,
                "place": index[3] if shown.ndim == 4 else 0,
                "side": spread[0],
                "part": spread[1],
                "taken": spread[2],
                "value": value[index],
                "true_mm": truth[index],
            }
        )

    side_true = true.reshape(*true.shape[:3], 2, 2)
    side_pick = side_true.argmin(-1)
    side_seen = _pick(seen.reshape(side_true.shape), side_pick)
    frames = [
        rows(happened["each"], 0, side_of, place, seen, true, before[..., None]),
        rows(
            happened["side_thin"][..., None] & np.ones(2, dtype=bool),
            0,
            np.array(["left", "right"], dtype=object),
            lining[..., None],
            side_seen,
            side_true.min(-1),
            before[..., None],
        ),
        rows(happened["axle_thin"], 0, None, lining, _pick(seen, thinnest), true.min(-1), before),
        rows(
            happened["mate_read"][..., None] & np.ones(2, dtype=bool),
            1,
            np.array(["left", "right"], dtype=object),
            mate[..., None],
            happened["mate_seen"],
            happened["mate"],
            before[..., None],
        ),
        rows(
            (happened["after_read"] & recorded)[..., None] & np.ones(4, dtype=bool),
            2,
            side_of,
            place,
            happened["after_seen"],
            after,
            "after",
        ),
    ]
    table = pd.concat(frames, ignore_index=True)
    table = table.sort_values(["number", "axle_no", "order", "place"], kind="stable", ignore_index=True)
    table["visit_id"] = _visit_ids(table["number"].to_numpy())
    table["axle"] = np.array(AXLE_NAMES, dtype=object)[table["axle_no"]]
    table["measure"] = np.where(table["part"] == "drum", "diameter", "thickness")
    table["unit"] = "mm"
    return table.reindex(columns=columns_of("measurements")), table[["visit_id", "axle", "side", "part", "taken", "true_mm"]]


def _work_table(world: World, happened: dict, recorded: np.ndarray, number: np.ndarray) -> pd.DataFrame:
    """The recorded jobs: linings, and what was done to the rotors or drums."""
    shown = recorded & (number >= 0)[..., None]
    is_drum = np.broadcast_to(world.brakes("part") == "shoe", shown.shape)
    frames = []
    for order, done, disc, drum, action in (
        (0, shown, "pads", "shoes", "replaced"),
        (1, shown & happened["renew"], "rotor", "drum", "replaced"),
        (1, shown & happened["machine"], "rotor", "drum", "machined"),
    ):
        index = np.nonzero(done)
        frames.append(
            pd.DataFrame(
                {
                    "number": number[index[:2]],
                    "axle_no": index[2],
                    "order": order,
                    "side": "both",
                    "part": np.where(is_drum[index], drum, disc),
                    "action": action,
                }
            )
        )
    table = pd.concat(frames, ignore_index=True).sort_values(["number", "axle_no", "order"], kind="stable", ignore_index=True)
    table["visit_id"] = _visit_ids(table["number"].to_numpy())
    table["axle"] = np.array(AXLE_NAMES, dtype=object)[table["axle_no"]]
    return table.reindex(columns=columns_of("work"))


def _vehicles_table(world: World) -> pd.DataFrame:
    """One row a vehicle, as the fleet office knows it."""
    return pd.DataFrame(
        {
            "vehicle_id": world.vehicle_id,
            "description": np.array([c.description for c in world.classes], dtype=object)[world.class_of],
            "wear_class": np.array([c.name for c in world.classes], dtype=object)[world.class_of],
            "duty": world.duty,
            "in_service_date": _date(world, world.in_service_day),
            "in_service_odometer": world.in_service_km.astype(int),
            "odometer_unit": "km",
            "retired_date": _date(world, world.retired_day),
        }
    ).reindex(columns=columns_of("vehicles"))


def _limits_table(world: World) -> pd.DataFrame:
    """One row a lining, rotor or drum of each class."""
    rows = []
    for kind in world.classes:
        for axle, brake in zip(AXLE_NAMES, (kind.front, kind.rear), strict=True):
            mate = ("drum", "diameter") if brake.part == "shoe" else ("rotor", "thickness")
            rows += [
                dict(
                    part=brake.part,
                    measure="thickness",
                    new=brake.new_mm,
                    replace_at=brake.replace_at_mm,
                    discard_at=brake.discard_at_mm,
                ),
                dict(
                    part=mate[0],
                    measure=mate[1],
                    new=brake.mate_new_mm,
                    discard_at=brake.mate_discard_mm,
                    machine_to=brake.mate_machine_to_mm,
                ),
            ]
            for row in rows[-2:]:
                row |= dict(applies_to=kind.name, axle=axle, unit="mm", includes_backing=False, source="invented maker's sheet")
    return pd.DataFrame(rows).reindex(columns=columns_of("limits"))


def _odometer_log(world: World, odometers: Odometers, every_days: float, rng: np.random.Generator) -> pd.DataFrame:
    """Odometers as a fuel card notes them, in whole km, in the order of the days."""
    vehicles = len(world.class_of)
    last = np.fmin(np.minimum(world.last_seen_day, world.days), world.retired_day)
    gaps = np.maximum(every_days * rng.lognormal(-0.02, 0.2, (vehicles, int(world.days / every_days * 1.5) + 2)), 1.0)
    day = np.floor(world.in_service_day[:, None] + np.cumsum(gaps, axis=1))
    vehicle, entry = np.nonzero(day <= last[:, None])
    day = day[vehicle, entry]
    order = np.lexsort((vehicle, day))
    vehicle, day = vehicle[order], day[order]
    return pd.DataFrame(
        {
            "vehicle_id": world.vehicle_id[vehicle],
            "date": _date(world, day),
            "odometer": np.floor(odometers.at(day, vehicle)).astype(int),
            "odometer_unit": "km",
        }
    )


def _lives_tables(shop: _Shop, happened: dict, recorded: np.ndarray, end_km: np.ndarray) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Every life of every axle's linings, and every position of each."""
    world, state = shop.world, shop.state
    round_no, vehicle, axle = np.nonzero(happened["job"])
    now_vehicle, now_axle = (a.ravel() for a in np.indices(state.life.shape))
    ended = (round_no, vehicle, axle)
    running = (now_vehicle, now_axle)
    both = {
        name: np.concatenate([happened[name][ended], getattr(state, name)[running]])
        for name in ("life", "start_km", "start_mm", "log_effect")
    }
    vehicle, axle = np.concatenate([vehicle, now_vehicle]), np.concatenate([axle, now_axle])
    end = np.concatenate([happened["km"][ended[:2]], np.full(len(now_vehicle), np.nan)])
    noted = np.concatenate([recorded[ended], np.zeros(len(now_vehicle), dtype=bool)])
    order = np.lexsort((both["life"], axle, vehicle))
    vehicle, axle, end, noted = vehicle[order], axle[order], end[order], noted[order]
    both = {name: values[order] for name, values in both.items()}
    known = np.where(both["life"] == 0, world.joined_new[vehicle], np.roll(noted, 1))
    lives = pd.DataFrame(
        {
            "vehicle_id": world.vehicle_id[vehicle],
            "axle": np.array(AXLE_NAMES, dtype=object)[axle],
            "life": both["life"],
            "start_odometer_km": both["start_km"],
            "end_odometer_km": end,
            "start_known": known.astype(bool),
            "end_recorded": noted,
        }
    )

    now = np.where(np.isnan(end)[:, None], state.thickness(shop.clocks.at(end_km))[vehicle, axle], np.nan)
    part = np.where(
        shop.is_drum[vehicle, axle][:, None],
        np.where(INNER, "leading_shoe", "trailing_shoe"),
        np.where(INNER, "inner_pad", "outer_pad"),
    )
    positions = lives.loc[np.repeat(np.arange(len(lives)), 4), ["vehicle_id", "axle", "life"]].reset_index(drop=True)
    positions["side"] = np.tile(np.array(SIDES, dtype=object), len(lives))
    positions["part"] = part.ravel()
    positions["start_mm"] = both["start_mm"].ravel()
    positions["rate_mm_per_10000km"] = (world.rate[vehicle, axle][:, None] * np.exp(both["log_effect"]) * 1e4).ravel()
    positions["thickness_mm"] = now.ravel()
    return lives, positions


def _truth(shop: _Shop, odometers: Odometers, end_km: np.ndarray, lives: pd.DataFrame) -> pd.DataFrame:
    """One row an axle in service on the last day; see `Fleet.truth`."""
    world, state = shop.world, shop.state
    pace = np.exp(state.log_effect)
    to_replace = (state.start_mm - shop.limits["replace_at_mm"][..., None]) / pace
    to_discard = (state.start_mm - shop.limits["discard_at_mm"][..., None]) / pace
    due = shop.clocks.km_of(state.start_clock + to_replace.min(-1))
    discard = shop.clocks.km_of(state.start_clock + to_discard.min(-1))
    first = to_replace.argmin(-1)
    vehicle, axle = np.nonzero(np.isnan(world.retired_day)[:, None] & np.ones(2, dtype=bool))
    at = (vehicle, axle)
    is_drum, inner = shop.is_drum[at], INNER[first[at]]
    known = lives.loc[lives["end_odometer_km"].isna(), "start_known"].to_numpy().reshape(-1, 2)
    return pd.DataFrame(
        {
            "vehicle_id": world.vehicle_id[vehicle],
            "axle": np.array(AXLE_NAMES, dtype=object)[axle],
            "odometer_km": end_km[vehicle],
            "thickness_mm": state.thickness(shop.clocks.at(end_km)).min(-1)[at],
            "governing_side": np.array(SIDES, dtype=object)[first[at]],
            "governing_part": np.where(
                is_drum, np.where(inner, "leading_shoe", "trailing_shoe"), np.where(inner, "inner_pad", "outer_pad")
            ).astype(object),
            "due_odometer_km": due[at],
            "due_date": _date(world, odometers.day_of(due[at], vehicle)),
            "discard_odometer_km": discard[at],
            "start_known": known[at],
        }
    )


def _mates_ahead(shop: _Shop, end_km: np.ndarray, rng: np.random.Generator) -> tuple[np.ndarray, list[str]]:
    """(V, 2, 2, 3) rotor thickness (drum diameter) at the next three changes of linings, and its columns' names."""
    world, state = shop.world, shop.state
    replace_at = shop.limits["replace_at_mm"][..., None]
    due = state.start_clock + ((state.start_mm - replace_at) / np.exp(state.log_effect)).min(-1)
    sizes = [state.mate(np.maximum(due, shop.clocks.at(end_km)), shop.mate_wear)]
    for _ in range(2):
        start = shop.limits["new_mm"][..., None] + rng.normal(0, world.effects.start_sd_mm, world.log_effect.shape)
        effect = world.log_effect + rng.normal(0, world.effects.life, world.rate.shape + (1,))
        clock = ((start - replace_at) / np.exp(effect)).min(-1)
        by_side = np.exp(effect.reshape(*world.rate.shape, 2, 2).mean(-1))
        sizes.append(sizes[-1] + (clock * shop.mate_wear)[..., None] * by_side)
    return np.stack(sizes, axis=-1), [f"size_{n}_mm" for n in (1, 2, 3)]


def _mates_table(shop: _Shop, size: np.ndarray, names: list[str]) -> pd.DataFrame:
    """One row a rotor or drum in service on the last day; `size` (V, 2, 2), or (V, 2, 2, N) with a name each."""
    world = shop.world
    vehicle, axle, side = np.nonzero(np.isnan(world.retired_day)[:, None, None] & np.ones((2, 2), dtype=bool))
    table = pd.DataFrame(
        {
            "vehicle_id": world.vehicle_id[vehicle],
            "axle": np.array(AXLE_NAMES, dtype=object)[axle],
            "side": np.array(["left", "right"], dtype=object)[side],
            "part": np.where(shop.is_drum[vehicle, axle], "drum", "rotor"),
        }
    )
    sizes = size.reshape(*size.shape[:3], len(names))[vehicle, axle, side]
    return table.assign(**dict(zip(names, sizes.T, strict=True)))


def write(
    tables: dict[str, pd.DataFrame],
    folder: str | Path,
    form: str = "csv",
    distance_unit: str = "km",
    thickness_unit: str = "mm",
    shuffle_seed: int | None = None,
) -> Path:
    """Write tables in km and mm as a records folder, in any form and units of the contract.

    Parameters
    ----------
    tables : dict of DataFrame
        As in `Fleet.tables`.
    folder : path
        Made when absent.
    form : {"csv", "parquet", "xlsx"}
        A file a table, or one workbook records.xlsx with a sheet a table.
    distance_unit : {"km", "mi"}
    thickness_unit : {"mm", "in", "32nds"}
        With 32nds, linings are written in 32nds and rotors, drums and runout in inches.
        Converted numbers keep ten significant digits.
    shuffle_seed : int, optional
        Shuffle the rows of every table.

    Returns
    -------
    Path
        The folder.
    """
    if form not in ("csv", "parquet", "xlsx"):
        raise ValueError(f"form is {form!r}: give csv, parquet or xlsx")
    if distance_unit not in ("km", "mi") or thickness_unit not in ("mm", "in", "32nds"):
        raise ValueError(f"units are {distance_unit!r} and {thickness_unit!r}: give km or mi, and mm, in or 32nds")
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    ready = {name: _in_thickness_unit(_in_distance_unit(table, distance_unit), thickness_unit) for name, table in tables.items()}
    if shuffle_seed is not None:
        rng = np.random.default_rng(shuffle_seed)
        ready = {name: table.iloc[rng.permutation(len(table))].reset_index(drop=True) for name, table in ready.items()}
    if form == "xlsx":
        with pd.ExcelWriter(folder / "records.xlsx", datetime_format="yyyy-mm-dd") as book:
            for name, table in ready.items():
                table.to_excel(book, sheet_name=name, index=False)
    for name, table in ready.items():
        if form == "csv":
            table.to_csv(folder / f"{name}.csv", index=False, date_format="%Y-%m-%d", lineterminator="\n")
        elif form == "parquet":
            table.to_parquet(folder / f"{name}.parquet", index=False)
    return folder


def _ten_digits(number: float) -> float:
    """A number rounded to ten significant digits."""
    return float(f"{number:.10g}")


def _divided(cell, by: float):
    """A written number, or a bound such as "<2", divided; an empty cell stays empty."""
    if isinstance(cell, str):
        bound, number = re.fullmatch(r"([<>]=?)?(.+)", cell).groups()
        return f"{bound or ''}{_ten_digits(float(number) / by):.10g}"
    return _ten_digits(cell / by)


def _in_distance_unit(table: pd.DataFrame, unit: str) -> pd.DataFrame:
    """A table in km written in `unit`."""
    if unit == "km" or "odometer_unit" not in table:
        return table
    per_km = DISTANCE_KM[unit]
    column = "odometer" if "odometer" in table else "in_service_odometer"
    return table.assign(**{column: [_divided(km, per_km) for km in table[column]], "odometer_unit": unit})


def _in_thickness_unit(table: pd.DataFrame, unit: str) -> pd.DataFrame:
    """A table in mm written in `unit`."""
    if unit == "mm" or "unit" not in table:
        return table
    lining = table["part"].str.contains("pad|shoe|park_brake") & (unit == "32nds")
    by = np.where(lining, THICKNESS_MM["32nds"], THICKNESS_MM["in"])
    columns = [name for name in ("value", "new", "replace_at", "discard_at", "machine_to") if name in table]
    return table.assign(
        unit=np.where(lining, "32nds", "in"),
        **{name: [_divided(mm, divisor) for mm, divisor in zip(table[name], by, strict=True)] for name in columns},
    )
