"""Which limit holds for which part of which vehicle.

The most specific row of the limits table wins, whole: a vehicle's own before its wear class before ``*``, and within each
a named or numbered axle before ``*``. Where no row says when to replace, the kit's planning point is used and said so
(R38); a discard limit is never made up (R39).
"""

import numpy as np
import pandas as pd

from brakedata import findings

DEFAULT_REPLACE_MM = {"pad": 3.0, "shoe": 1.6}
"""Planning points where the limits table is silent: pads 3.0 mm (common practice, no source); bonded shoes 1.6 mm, that is
2/32 in (the limit several inspection rules print; common practice, no source as a planning point)."""
DEFAULT_NEW_MM = {"pad": 11.0, "shoe": 5.0}
"""New lining where nothing says: car pads 10 to 12 mm, drum linings 4 to 5/32 in and more (common practice, no source).
Only the centre of a wide prior, see ``shared_model``."""
VALUES = ("new_mm", "replace_at_mm", "discard_at_mm", "machine_to_mm")


def part_family(parts: pd.Series) -> pd.Series:
    """The limits table's part for each measured part: pad, shoe, rotor or drum."""
    return parts.map(
        {"inner_pad": "pad", "outer_pad": "pad", "pad": "pad", "leading_shoe": "shoe", "trailing_shoe": "shoe", "shoe": "shoe",
         "park_brake": "shoe", "rotor": "rotor", "drum": "drum"}
    )  # fmt: skip


def resolve(limits: pd.DataFrame, asked: pd.DataFrame) -> pd.DataFrame:
    """The limits row that wins for each asked part.

    Parameters
    ----------
    limits : DataFrame
        The records' limits table; no two rows for the same thing.
    asked : DataFrame, shape (n, ...)
        With ``vehicle_id``, ``wear_class``, ``axle``, ``family`` (pad, shoe, rotor, drum) and ``measure``.

    Returns
    -------
    DataFrame, shape (n, 7)
        ``new_mm, replace_at_mm, discard_at_mm, machine_to_mm, includes_backing, source, limit_row`` in the order of ``asked``;
        empty (NaN, False, "") where no row holds.
    """
    best = pd.DataFrame(
        {**{name: np.full(len(asked), np.nan) for name in VALUES}, "includes_backing": False, "source": "", "limit_row": np.nan}
    )
    if not len(limits) or not len(asked):
        return best
    table = pd.MultiIndex.from_frame(limits[["applies_to", "axle", "part", "measure"]].astype("object"))
    winner = np.full(len(asked), -1)
    for owner in ("vehicle_id", "wear_class", "*"):
        for axle in ("axle", "*"):
            key = pd.MultiIndex.from_arrays(
                [
                    (asked[owner] if owner != "*" else pd.Series("*", index=asked.index)).astype("object"),
                    (asked[axle] if axle != "*" else pd.Series("*", index=asked.index)).astype("object"),
                    asked["family"].astype("object"),
                    asked["measure"].astype("object"),
                ]
            )
            place = table.get_indexer(key)
            winner = np.where(winner < 0, place, winner)
    won = winner >= 0
    picked = limits.iloc[winner[won]]
    for name in (*VALUES, "includes_backing", "source"):
        best.loc[won, name] = picked[name].to_numpy()
    best.loc[won, "limit_row"] = picked["row"].to_numpy()
    return best


def planning(limits: pd.DataFrame, asked: pd.DataFrame) -> tuple[pd.DataFrame, list[pd.DataFrame]]:
    """Limits to plan linings by: as ``resolve``, with the kit's planning point where none is given.

    Returns
    -------
    DataFrame
        As ``resolve`` plus ``replace_default`` (bool): the planning point is the kit's own, not the table's.
    list of DataFrame
        Findings R37, R38, R39, one a vehicle class, axle and part.
    """
    best = resolve(limits, asked)
    backing = best["includes_backing"].to_numpy(dtype=bool)
    best.loc[backing, ["new_mm", "replace_at_mm", "discard_at_mm"]] = np.nan
    best["replace_default"] = best["replace_at_mm"].isna()
    default = asked["family"].map(DEFAULT_REPLACE_MM).to_numpy()
    best["replace_at_mm"] = best["replace_at_mm"].fillna(pd.Series(default))
    below = (best["replace_at_mm"] < best["discard_at_mm"]).to_numpy() & best["replace_default"].to_numpy()
    best.loc[below, "replace_at_mm"] = best.loc[below, "discard_at_mm"]
    found = []
    masks = {
        "R37-limit-with-backing": backing,
        "R38-limit-default": best["replace_default"].to_numpy(),
        "R39-no-discard-limit": best["discard_at_mm"].isna().to_numpy(),
    }
    for code, mask in masks.items():
        if mask.any():
            kinds = asked[mask].assign(replace=best.loc[mask, "replace_at_mm"].to_numpy())
            kinds = kinds.drop_duplicates(["wear_class", "axle", "family"])
            reading = kinds["replace"].map("replace at {:.1f} mm".format) if code == "R38-limit-default" else ""
            what = (kinds["wear_class"] + " " + kinds["axle"] + " " + kinds["family"]).str.strip()
            found.append(findings.make(code, "limits", column=what, reading=reading))
    return best, found
