"""Made records by another wear law than `brakedata.simulate`: Brownian wander, drawn a life at a time, vehicle by vehicle.

The wander of a life has variance ``WANDER**2`` a mm of mean wear; a position carries it times exp(power / 2 * its own effects), so
that its variance grows with the power of its rate: 0 (the same for all), 1 (in proportion), 2 (effects multiply the whole path).
A lining never grows back. Plain loops: this is to be right by reading, not fast.
"""

import numpy as np
import pandas as pd

STEP_KM = 200.0
WANDER, START_SD_MM, REPEAT_SD_MM = 0.30, 0.20, 0.15
SD = {"vehicle": 0.20, "axle": 0.12, "position": 0.08, "life": 0.12}
INNER = np.array([0.07, -0.07, 0.07, -0.07])
POSITIONS = [("left", "inner_pad"), ("left", "outer_pad"), ("right", "inner_pad"), ("right", "outer_pad")]
RATE = {("A", "front"): 1.5, ("A", "rear"): 1.0, ("B", "front"): 1.2, ("B", "rear"): 0.9, ("C", "front"): 1.9, ("C", "rear"): 1.4}
ON_WEAR = {"urban": 1.3, "mixed": 1.0, "highway": 0.7}
ON_USE = {"urban": 0.8, "mixed": 1.0, "highway": 1.5}
NEW_MM, REPLACE_AT_MM, DISCARD_AT_MM, THIN_MM = 12.0, 3.0, 1.6, 6.0
END = pd.Timestamp("2026-06-30")
KEPT = ("all", "thin only", "thick as bounds", "finished lives only")


class _Life:
    """One life of an axle's four linings: true thickness by odometer."""

    def __init__(self, generator, start_km, rate, effects, power):
        steps = int(25 / (rate * STEP_KM * np.exp(effects.min()))) + 50
        mean = rate * STEP_KM * np.arange(steps + 1)
        wander = np.append(0.0, np.cumsum(generator.normal(0, WANDER * np.sqrt(rate * STEP_KM), steps)))
        worn = mean * np.exp(effects)[:, None] + wander * np.exp(power / 2 * effects)[:, None]
        self.start_km, self.rate_mm_per_10000km = start_km, rate * 1e4 * np.exp(effects.mean())
        self.path_mm = (NEW_MM + generator.normal(0, START_SD_MM, 4))[:, None] - np.maximum.accumulate(worn, axis=1)

    def at(self, km):
        steps = np.arange(self.path_mm.shape[1]) * STEP_KM + self.start_km
        return np.array([np.interp(km, steps, path) for path in self.path_mm])

    def due(self):
        """Odometer at which the first position reaches the limit."""
        after = np.argmax(self.path_mm <= REPLACE_AT_MM, axis=1).clip(1)
        low = self.path_mm[np.arange(4), after]
        high = self.path_mm[np.arange(4), after - 1]
        return (self.start_km + STEP_KM * (after - 1 + (high - REPLACE_AT_MM) / (high - low))).min()


def fleet(seed, vehicles=150, power=1, gauge_step_mm=0.5, years=4.0, used_share=0.3, interval_days=120.0, kept="all"):
    """Records in the contract's tables, and one row of truth an axle.

    Parameters
    ----------
    power : {0, 1, 2}
    used_share : float
        Share of vehicles that joined with linings worn nobody knows how far.
    kept : one of `KEPT`
        Which readings are written down; "thick as bounds" writes ``>=6`` for a reading of 6 mm or more.

    Returns
    -------
    tables : dict of DataFrame
    truth : DataFrame
        ``vehicle_id, axle, due_odometer_km, due_date, rate_mm_per_10000km`` (geometric mean of the four positions).
    """
    generator = np.random.default_rng(seed)
    days = int(365.25 * years)
    classes = generator.choice(["A", "B", "C"], vehicles, p=[0.5, 0.3, 0.2])
    duties = generator.choice(list(ON_USE), vehicles, p=[0.4, 0.4, 0.2])
    rows = {"vehicles": [], "visits": [], "measurements": [], "work": []}
    truth = []
    for number in range(vehicles):
        vehicle, wear_class, duty = f"V{number:04d}", classes[number], duties[number]
        first_km = generator.uniform(20_000, 120_000) if generator.random() < used_share else 0.0
        a_day = 75 * ON_USE[duty] * np.exp(generator.normal(0, 0.3))
        weeks = np.exp(generator.normal(0, 0.35, days // 7 + 2000) - 0.06) * a_day * 7
        driven = first_km + np.append(0.0, np.cumsum(weeks))
        week = np.arange(len(driven))
        joined = (END - pd.Timedelta(days=days)).date()
        rows["vehicles"].append((vehicle, wear_class, duty, joined, round(first_km)))
        own = generator.normal(0, SD["vehicle"])
        axles = {}
        for axle in ("front", "rear"):
            lasting = own + generator.normal(0, SD["axle"]) + generator.normal(0, SD["position"], 4) + INNER
            rate = RATE[wear_class, axle] * ON_WEAR[duty] / 1e4
            worn_km = generator.uniform(0, 0.7) * min(8 / (1.5 * rate), first_km)
            axles[axle] = {"lasting": lasting, "rate": rate, "readings": []}
            axles[axle]["life"] = _Life(generator, first_km - worn_km, rate, lasting + generator.normal(0, SD["life"]), power)
        day = generator.uniform(0, interval_days)
        while day < days:
            km = float(np.interp(int(day) / 7, week, driven))
            visit = len(rows["visits"]) + 1
            rows["visits"].append((visit, vehicle, (END - pd.Timedelta(days=days - int(day))).date(), round(km)))
            for axle, a in axles.items():
                seen = np.round((a["life"].at(km) + generator.normal(0, REPEAT_SD_MM, 4)) / gauge_step_mm) * gauge_step_mm
                if generator.random() < 0.08:
                    continue
                for (side, part), value in zip(POSITIONS, np.maximum(seen, 0.0).round(4), strict=True):
                    if generator.random() > 0.05 and (value < THIN_MM or kept != "thin only"):
                        said = ">=6" if kept == "thick as bounds" and value >= THIN_MM else value
                        a["readings"].append((visit, axle, side, part, "thickness", said, "mm", "before"))
                ahead = min(a["rate"] * a_day * interval_days, 0.2 * NEW_MM)
                if seen.min() <= REPLACE_AT_MM + generator.normal(0.2, 0.3) + ahead:
                    rows["work"].append((visit, axle, "both", "pads", "replaced"))
                    rows["measurements"] += a["readings"]
                    a["readings"] = []
                    a["life"] = _Life(generator, km, a["rate"], a["lasting"] + generator.normal(0, SD["life"]), power)
            day += max(20.0, generator.gamma(6, interval_days / 6))
        for axle, a in axles.items():
            rows["measurements"] += [] if kept == "finished lives only" else a["readings"]
            due_km = a["life"].due()
            due_day = float(np.interp(due_km, driven, week)) * 7 if due_km > first_km else 0.0
            due_date = END - pd.Timedelta(days=days) + pd.Timedelta(days=due_day)
            truth.append((vehicle, axle, due_km, due_date, a["life"].rate_mm_per_10000km))
    columns = {
        "vehicles": ["vehicle_id", "wear_class", "duty", "in_service_date", "in_service_odometer"],
        "visits": ["visit_id", "vehicle_id", "date", "odometer"],
        "measurements": ["visit_id", "axle", "side", "part", "measure", "value", "unit", "taken"],
        "work": ["visit_id", "axle", "side", "part", "action"],
    }
    tables = {name: pd.DataFrame(rows[name], columns=columns[name]) for name in columns}
    limits = [(c, axle, "pad", "thickness", "mm", NEW_MM, REPLACE_AT_MM, DISCARD_AT_MM) for c, axle in RATE]
    names = ["applies_to", "axle", "part", "measure", "unit", "new", "replace_at", "discard_at"]
    tables["limits"] = pd.DataFrame(limits, columns=names)
    names = ["vehicle_id", "axle", "due_odometer_km", "due_date", "rate_mm_per_10000km"]
    return tables, pd.DataFrame(truth, columns=names)
