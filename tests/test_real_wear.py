"""Real wear that nobody here made: 12 laboratory sliders under three loads, eight readings each, as a records folder.

Source: published sliding-wear readings (cycles, microns lost, grams of load), read where they lie and not copied. Wear slows down
as it goes, about as the fifth root of the cycles. Two odometers are made of them: the fifth root, on which wear is straight from
the first cycle, and the cycles as they are, on which any straight line goes far wrong.
"""

import numpy as np
import pandas as pd
from public_data import real

import brakedata
from brakedata import own_line, schedule, simulate

MM_PER_MICRON = 0.2
NEW_MM = 12.0
KM = {"fifth root of cycles": lambda cycles: 20_000 * cycles**0.2, "cycles": lambda cycles: 200.0 * cycles}


def as_tables(wear, odometer_km, joined_km):
    """One vehicle a slider, one visit a reading, 0.1 mm gauge; the load is the wear class."""
    visits = pd.DataFrame(
        {
            "visit_id": np.arange(len(wear)) + 1,
            "vehicle_id": "slider " + wear["unit"].astype(int).astype(str),
            "date": pd.Timestamp("2024-01-01") + pd.to_timedelta(90 * wear.groupby("unit").cumcount(), unit="D"),
            "odometer": odometer_km.round(),
        }
    )
    measurements = visits[["visit_id"]].assign(
        axle="front", side="left", part="pad", measure="thickness", unit="mm",
        value=(NEW_MM - MM_PER_MICRON * wear["microns"]).round(1),
    )  # fmt: skip
    vehicles = visits[["vehicle_id"]].assign(wear_class=wear["grams"].astype(int).astype(str) + " g").drop_duplicates()
    vehicles = vehicles.assign(in_service_date=pd.Timestamp("2023-12-01"), in_service_odometer=joined_km)
    row = dict(applies_to="*", axle="*", part="pad", measure="thickness", unit="mm", new=NEW_MM, replace_at=2.0)
    limits = pd.DataFrame([row])
    return {"vehicles": vehicles, "visits": visits, "measurements": measurements, "limits": limits}


def predict(folder, which):
    """Each slider's last reading, hidden, beside what the shared model and its own line said of it from the first seven."""
    wear = pd.read_csv(real("08_sliding_wear_12_units_x_8.csv")).sort_values(["unit", "cycles"], ignore_index=True)
    odometer = KM[which](wear["cycles"])
    last = ~wear.duplicated("unit", keep="last")
    joined_km = 0.0 if which == "fifth root of cycles" else np.nan
    tables = as_tables(wear[~last].reset_index(drop=True), odometer[~last].reset_index(drop=True), joined_km)
    plan = schedule.make(brakedata.load(simulate.write(tables, folder)))
    assert len(plan.table) == 12
    rows = []
    for unit, km in zip(wear.loc[last, "unit"], odometer[last], strict=True):
        seven = wear[~last & wear["unit"].eq(unit)]
        mm = (NEW_MM - MM_PER_MICRON * seven["microns"]).round(1)
        line = own_line.fit(odometer[seven.index], mm, step_mm=0.1)
        position = plan.model.positions[plan.model.positions["vehicle_id"].eq(f"slider {unit:.0f}")].iloc[0]
        band = schedule.path(plan, position["axle_no"], position["slot"], [km]).iloc[0]
        true = NEW_MM - MM_PER_MICRON * wear.loc[last & wear["unit"].eq(unit), "microns"].iloc[0]
        lost = mm.iloc[-1] - true
        own_low, own_high = line.band(km)
        rows.append((unit, true, lost, band["middle_mm"], band["low_mm"], band["high_mm"], line.at(km), own_low, own_high))
    columns = ["unit", "true", "lost", "shared", "low", "high", "own", "own_low", "own_high"]
    table = pd.DataFrame(rows, columns=columns).astype(float)
    table.attrs["odometer"] = which
    return table


def judge(table):
    """Median misses in microns and how many of the 80 % bands held, for the shared model and the own line; and one sentence."""
    miss = {name: (table[name] - table["true"]).abs().median() / MM_PER_MICRON for name in ("shared", "own")}
    held = {
        "shared": table["true"].between(table["low"], table["high"]).sum(),
        "own": table["true"].between(table["own_low"], table["own_high"]).sum(),
    }
    lost = table["lost"].median() / MM_PER_MICRON
    print(
        f"odometer = {table.attrs['odometer']}: last reading missed by a median of {miss['shared']:.2f} microns (shared), "
        f"{miss['own']:.2f} (own line); worn since the reading before: {lost:.2f}; 80 % band held {held['shared']} and "
        f"{held['own']} of {len(table)}"
    )
    return miss, held, lost


def test_last_reading_where_wear_is_straight(tmp_path):
    """Bounds: a miss under half of what wore off since the reading before, less than the own line's, 7 of 12 bands or more.

    (Of 12 honest 80 % bands 6 or fewer hold 2 times in 100.) Measured when written: 0.79 and 1.07 microns of 2.39; 9 of 12.
    """
    miss, held, lost = judge(predict(tmp_path, "fifth root of cycles"))
    assert miss["shared"] < 0.5 * lost
    assert miss["shared"] < miss["own"]
    assert held["shared"] >= 7


def test_last_reading_where_wear_slows_down(tmp_path):
    """Negative control: no straight line fits, both miss by several times the wear; the shared band at least is wider for it.

    Measured when written: 10.4 (shared) and 10.1 (own line) microns of 2.39; 5 and 0 of 12.
    """
    miss, held, lost = judge(predict(tmp_path, "cycles"))
    assert miss["own"] > 2 * lost
    assert miss["shared"] < 1.2 * miss["own"]
    assert held["shared"] > held["own"]
