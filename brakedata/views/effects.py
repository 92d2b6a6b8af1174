"""What moves wear, as a person reads it."""

import numpy as np
import pandas as pd

from brakedata.effects import BEYOND_CHANCE, LEAST_SETS, LEAST_VEHICLES, Effects
from brakedata.shown import count_text
from brakedata.views.wear import axle_words

FACTORS = {"product_line": "product line", "duty": "duty", "wear_class": "wear class", "axle": "axle"}


def level_words(factor: str, level: str) -> str:
    """What wears: ``line K``, ``urban vehicles``, ``front axles``."""
    return {"product_line": level, "duty": f"{level} duty", "wear_class": level, "axle": f"{axle_words(level)} axle"}[factor]


def _who(row) -> str:
    return {
        "product_line": f"linings of {row.level}", "duty": f"linings on {row.level} duty", "wear_class": f"linings of the class {row.level}",
        "axle": f"linings of the {axle_words(row.level)} axle",
    }[row.factor]  # fmt: skip


def _others(row) -> str:
    return {
        "product_line": "those of other lines", "duty": "those on other duties", "wear_class": "those of other classes",
        "axle": "those of other axles",
    }[row.factor]  # fmt: skip


def percent_text(ratio: float) -> str:
    """``14 % faster``, ``9 % slower``."""
    if round(100 * abs(ratio - 1)) == 0:
        return "as fast"
    return f"{100 * abs(ratio - 1):.0f} % {'faster' if ratio > 1 else 'slower'}"


def between_text(low: float, high: float) -> str:
    """``8 to 21 % faster``, ``4 % slower to 9 % faster``."""
    one, other = percent_text(low), percent_text(high)
    if low > 1 and high > 1:
        return f"{100 * (low - 1):.0f} to {100 * (high - 1):.0f} % faster"
    if low < 1 and high < 1:
        return f"{100 * (1 - high):.0f} to {100 * (1 - low):.0f} % slower"
    return f"{one} to {other}"


def why_not(row) -> str:
    """Why nothing is said of a row; empty where something is."""
    if np.isfinite(row.ratio):
        return ""
    if row.finding == "R93-nothing-alike":
        return "nothing alike to compare with"
    return f"too few to say: {count_text(row.sets, 'set')} on {count_text(row.vehicles, 'vehicle')}"


def beyond_chance(row) -> bool:
    """Whether a row differs by more than chance, with false discoveries controlled."""
    return bool(row.q_value <= BEYOND_CHANCE)


def sentence(row) -> str:
    """One row of ``Effects.table`` as a sentence.

    Parameters
    ----------
    row : named tuple
        Of ``table.itertuples()``.
    """
    who = _who(row)
    who = who[:1].upper() + who[1:]
    if row.finding == "R93-nothing-alike":
        return f"{who}: nothing can be compared, no set of the others is on a like vehicle and axle."
    if not np.isfinite(row.ratio):
        return (
            f"{who}: too few to say ({count_text(row.sets, 'set')} on {count_text(row.vehicles, 'vehicle')} against {row.sets_rest} on "
            f"{row.vehicles_rest}; {LEAST_SETS} sets on {LEAST_VEHICLES} vehicles of each are needed)."
        )
    behind = f"{count_text(row.sets, 'set')} on {count_text(row.vehicles, 'vehicle')} against {count_text(row.sets_rest, 'set')} on {row.vehicles_rest}"
    where = "on the same kind of vehicle" if row.factor == "axle" else "on like vehicles"
    if beyond_chance(row):
        said = f"{who} wear {percent_text(row.ratio)} ({between_text(row.low, row.high)}, 95 % limits) than {_others(row)} {where}: {behind}."
    else:
        said = f"{who}: no difference beyond chance from {_others(row)} {where} ({between_text(row.low, row.high)}, 95 % limits): {behind}."
    return said + _warning(row)


def _warning(row) -> str:
    if row.finding != "R92-not-alike":
        return ""
    return (
        f" Not alike: {row.unlike} {100 * row.share:.0f} % of these, {100 * row.share_rest:.0f} % of the others; only like was compared with like"
        + (f", {row.sets} of its {row.sets_all} sets." if row.sets < row.sets_all else ".")
    )


def rows_of(found: Effects, factor: str) -> pd.DataFrame:
    """The rows of one factor, fastest first, those of which nothing is said last."""
    rows = found.table[found.table["factor"].eq(factor)]
    return rows.sort_values(["ratio", "level"], ascending=[False, True], kind="stable", na_position="last", ignore_index=True)


def headline(rows: pd.DataFrame, factor: str) -> str:
    """What one factor comes to, in a line."""
    if not len(rows):
        return f"No two levels of {FACTORS[factor]} in these records to compare"
    told = rows[rows["ratio"].notna()]
    if not len(told):
        return f"Too few to say whether {FACTORS[factor]} moves wear"
    beyond = told[told["q_value"] <= BEYOND_CHANCE]
    if not len(beyond):
        return f"No {FACTORS[factor]} wears differently from the others by more than chance"
    row = beyond.iloc[(np.log(beyond["ratio"]).abs()).argmax()]
    words = level_words(factor, row["level"])
    return f"{words[:1].upper()}{words[1:]}: {percent_text(row['ratio'])} ({between_text(row['low'], row['high'])}) than the others on like vehicles"


def sentences(rows: pd.DataFrame) -> list[str]:
    """All rows of one factor in sentences."""
    return [sentence(row) for row in rows.itertuples()]


def cells(rows: pd.DataFrame) -> pd.DataFrame:
    """Rows of ``Effects.table`` in words."""
    out = []
    for row in rows.itertuples():
        said = np.isfinite(row.ratio)
        out.append(
            {
                "level": row.level, "wears": percent_text(row.ratio) if said else why_not(row),
                "95 % limits": between_text(row.low, row.high) if said else "", "beyond chance": ("yes" if beyond_chance(row) else "no") if said else "",
                "q value": f"{row.q_value:.3f}" if said else "", "sets": str(row.sets), "vehicles": str(row.vehicles),
                "like sets": str(row.sets_rest), "their vehicles": str(row.vehicles_rest), "kinds shared": str(row.strata),
                "not alike in": f"{row.unlike}: {100 * row.share:.0f} % against {100 * row.share_rest:.0f} %" if row.finding == "R92-not-alike" else "",
            }
        )  # fmt: skip
    columns = [
        "level",
        "wears",
        "95 % limits",
        "beyond chance",
        "q value",
        "sets",
        "vehicles",
        "like sets",
        "their vehicles",
        "kinds shared",
        "not alike in",
    ]
    return pd.DataFrame(out, columns=columns)
