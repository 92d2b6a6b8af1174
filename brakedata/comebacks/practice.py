"""What to look at first: for each thing that goes with comebacks, the measurement that would confirm the suspicion.

All of it is common practice, no source; the vehicle's service information comes first.
"""

import numpy as np
import pandas as pd

from brakedata.comebacks.explain import AN_EXCESS, GoesWith, statement
from brakedata.comebacks.jobs import UNRECORDED

CAUTIONS = (
    "The vehicle's service information and the maker's limits come before every figure here.",
    "Take brake dust for asbestos: never blow it out or brush it dry.",
    "Secure the raised vehicle before you go under it; hang the caliper, never by its hose.",
    "Pump the pedal until it is firm before the vehicle moves, then test at walking pace.",
)
MEASURE = {
    "hub_face": (
        "runout at the rotor on the car, nuts torqued, before and after the hub face is cleaned",
        "over 0.05 mm; rust of 0.025 mm at the edge of the hub gives 0.05 to 0.10 mm",
    ),
    "wheel_nuts": ("runout with the nuts tightened by torque wrench, star order, two passes, against as found", "over 0.05 mm"),
    "rotor": (
        "thickness at 8 points or more, 25 mm from the edge, with a micrometer that reads 0.001 mm",
        "variation over 0.013 mm; over 0.020 mm act",
    ),
    "runout": ("runout on the car, and the hub's own runout", "over 0.05 mm; hub over 0.04 mm"),
    "thickness_variation": ("thickness at 8 points or more, 25 mm from the edge", "variation over 0.013 mm"),
    "slide_pins": ("inner and outer pad of both sides; travel of the pins by hand", "inner and outer more than 2 mm apart"),
    "caliper": ("inner and outer pad; push-back force of the piston; does the wheel turn free", "more than 2 mm apart"),
    "hose": ("does the wheel turn free once the bleeder is opened", "free only then"),
    "hardware": ("clips, shims and contact points: renewed, in place, lubricated; pad thickness first", "missing, reused or dry"),
    "pads": ("was the pad maker's own bedding done; glaze or deposits on pad and rotor", "glazed, or bedding not recorded"),
    "shoes": ("drum diameter at two places at 90 degrees; lining contact", "variation over 0.09 mm"),
    "drum": ("drum diameter at two places at 90 degrees", "variation over 0.09 mm"),
    "shield": ("gap between shield and rotor all round, turned by hand", "any contact"),
    "product_line": ("like vehicles with another line, done the same way otherwise", "the line alone makes the difference"),
}
"""Factor: what to measure, and what would confirm it."""


def look_first(together: GoesWith, most: int = 5) -> pd.DataFrame:
    """What goes with most comebacks beyond those of other jobs, and how to make sure.

    Parameters
    ----------
    together : GoesWith
    most : int
        So many rows at most.

    Returns
    -------
    DataFrame
        Levels of which jobs come back more often by more than chance, alone or with other things held equal: ``factor, level,
        jobs, comebacks, excess`` (comebacks beyond those of other jobs), ``times`` (a sentence, other things held equal),
        ``sure`` (beyond chance then too), ``measure, confirmed_by``; the sure ones first, then the largest excess.
    """
    table = together.table
    if not len(table):
        return table
    known = table["factor"].isin(MEASURE) & table["level"].ne(UNRECORDED)
    beyond = (table["crude_low"] > 1) | (table["adjusted_low"] > 1)
    rows = table[known & beyond & (table["adjusted"] >= AN_EXCESS)].copy()
    rows["excess"] = rows["comebacks"] * (1 - 1 / rows["adjusted"])
    rows["sure"] = rows["adjusted_low"] > 1
    rows["times"] = [statement(*row) for row in rows[["adjusted", "adjusted_low", "adjusted_high"]].to_numpy()]
    for place, name in enumerate(("measure", "confirmed_by")):
        rows[name] = np.array([MEASURE[factor][place] for factor in rows["factor"]], dtype=object)
    rows = rows.sort_values(["sure", "excess", "factor"], ascending=[False, False, True], kind="stable", ignore_index=True)
    return rows[["factor", "level", "jobs", "comebacks", "excess", "times", "sure", "measure", "confirmed_by"]].head(most)
