"""How long linings last, and the shop's gauge study, as a person reads them."""

import numpy as np
import pandas as pd

from brakedata.gauge_study import LEAST_FREEDOM, REASON, GaugeStudy
from brakedata.pad_life import LEAST_REPLACED, LIVES, Group, PadLife
from brakedata.shown import Shown, count_text
from brakedata.views.wear import axle_words

ALL = "all"
NOT_RECORDED = "not recorded"
LIVES_IN_WORDS = {"replaced": "to replacement", "replace_at": "to the replace point"}
ENDED = {"replaced": "replaced", "replace_at": "told by their readings"}


def kind_words(axle: str, lining: str) -> str:
    """``front pads``."""
    return f"{axle_words(axle)} {lining}s"


def kinds(found: PadLife) -> list[str]:
    """Axles and linings of the sets, in words."""
    sets = found.sets[["axle", "lining"]].drop_duplicates().sort_values(["axle", "lining"])
    return [kind_words(axle, lining) for axle, lining in sets.itertuples(index=False)]


def classes(found: PadLife) -> list[str]:
    """Wear classes of the sets."""
    return sorted(word for word in found.sets["wear_class"].unique() if word)


def lines(found: PadLife) -> list[str]:
    """Product lines of the sets; those whose line is not recorded are one of them."""
    return [line or NOT_RECORDED for line in sorted(found.sets["product_line"].unique(), key=lambda line: (line == "", line))]


def most_seen(found: PadLife) -> tuple[str, str]:
    """Wear class and kind of lining with the most replacements."""
    count = found.sets[found.sets["ended"]].groupby(["wear_class", "axle", "lining"]).size()
    if not len(count):
        return ALL, next(iter(kinds(found)), "")
    wear_class, axle, lining = count.idxmax()
    return wear_class or ALL, kind_words(axle, lining)


def chosen(found: PadLife, wear_class: str = ALL, kind: str = ALL, line: str = ALL) -> pd.DataFrame:
    """The sets of a choice."""
    sets = found.sets
    words = pd.Series(
        [kind_words(axle, lining) for axle, lining in zip(sets["axle"], sets["lining"], strict=True)], index=sets.index
    )
    keep = np.ones(len(sets), dtype=bool)
    for column, wanted in (
        (sets["wear_class"], wear_class),
        (words, kind),
        (sets["product_line"].replace("", NOT_RECORDED), line),
    ):
        keep &= wanted == ALL or column.eq(wanted).to_numpy()
    return sets[keep]


def choice_words(wear_class: str, kind: str, line: str) -> str:
    """``front pads, panel van, line K``."""
    line = f"line {NOT_RECORDED}" if line == NOT_RECORDED else line
    return ", ".join([kind, *(word for word in (wear_class, line) if word != ALL)])


def headline(told: Group, what: str, shown: Shown) -> str:
    """The middle life to replacement of a choice, with its limits, in a line."""
    what = what[:1].upper() + what[1:]
    if told.curve is None:
        return f"{what}: too few to say, {told.ended} of {count_text(told.sets, 'set')} replaced"
    middle, low, high = told.curve.quantile(0.5)
    if np.isinf(middle):
        return f"{what}: more than half last longer than any was watched, {shown.forecast_text(told.curve.watched.farthest_km)}"
    limits = (
        f"{shown.distance_number(low, 100)} and more"
        if np.isinf(high)
        else f"{shown.distance_number(low, 100)} to {shown.distance_number(high, 100)}"
    )
    return f"{what}: half are replaced by {shown.forecast_text(middle)} (95 % limits {limits})".replace(
        f" {shown.distance}", f"\u00a0{shown.distance}"
    )


def _limits(low, high, shown):
    return f"95 % limits {shown.distance_number(low, 100)} to {shown.forecast_text(high)}"


def behind(told: Group) -> str:
    """What a curve rests on."""
    return (
        f"{count_text(told.sets, 'set')} on {count_text(told.vehicles, 'vehicle')}: {told.ended} replaced, {told.running} still running, counted as far "
        "as they have run; band: 95 % limits"
    )


def sentences(groups: dict[str, Group], what: str, found: PadLife, shown: Shown) -> list[str]:
    """What is known of how long a choice of sets lasts.

    Parameters
    ----------
    groups : dict of Group
        By life (`pad_life.LIVES`).
    what : str
        The choice in words.
    found : PadLife
    shown : Shown
    """
    said = [_life_sentence(life, told, what, shown) for life, told in groups.items()]
    told = groups["replaced"]
    if told.curve is not None and told.laws:
        best = max(told.laws, key=lambda law: law.log_likelihood)
        name = {"weibull": "Weibull", "lognormal": "lognormal"}[best.name]
        said.append(f"A {name} law fitted to the same lives puts the half at {shown.forecast_text(best.quantile(0.5)[0])}.")
    if found.left_out:
        said.append(
            f"In the whole fleet {count_text(found.left_out, 'set')} whose fitting is not on record (first linings of vehicles that joined used) "
            f"{'is' if found.left_out == 1 else 'are'} left out."
        )
    if found.unrecorded:
        said.append(
            f"{count_text(found.unrecorded, 'change')} that nobody recorded {'is' if found.unrecorded == 1 else 'are'} placed between two looks."
        )
    return said


def _life_sentence(life, told, what, shown) -> str:
    what = what[:1].upper() + what[1:]
    which = LIVES_IN_WORDS[life]
    if told.curve is None:
        return f"{what}, {which}: too few to say ({told.ended} of {count_text(told.sets, 'set')} {ENDED[life]}; {LEAST_REPLACED} are needed)."
    (early, *_), (middle, low, high), (late, *_) = (told.curve.quantile(chance) for chance in (0.1, 0.5, 0.9))
    parts = []
    if np.isinf(middle):
        parts.append(f"fewer than half have come so far within the {shown.forecast_text(told.curve.watched.farthest_km)} watched")
    else:
        limits = f"95 % limits {shown.forecast_text(low)} and more" if np.isinf(high) else _limits(low, high, shown)
        parts.append(f"half by {shown.forecast_text(middle)} ({limits})")
    parts += [f"{share} in 10 by {shown.forecast_text(km)}" for share, km in (("1", early), ("9", late)) if np.isfinite(km)]
    return (
        f"{what}, {which}: {', '.join(parts)}; {count_text(told.sets, 'set')} on {count_text(told.vehicles, 'vehicle')}, {told.ended} of them "
        f"{ENDED[life]}."
    )


def cells(table: pd.DataFrame, shown: Shown) -> pd.DataFrame:
    """``pad_life.table`` as words and numbers in the chosen units."""

    def km(name):
        return [_km(value, shown) for value in table[name]]

    middle = [
        "" if pd.isna(low) else f"{_km(low, shown)} and more" if np.isinf(high) else f"{_km(low, shown)} to {_km(high, shown)}"
        for low, high in zip(table["low_km"], table["high_km"], strict=True)
    ]
    said = {
        "wear class": table["wear_class"],
        "linings": [kind_words(a, x) for a, x in zip(table["axle"], table["lining"], strict=True)],
    }
    if "product_line" in table:
        said["product line"] = table["product_line"].replace("", NOT_RECORDED)
    return pd.DataFrame(
        {
            **said, "sets": table["sets"], "vehicles": table["vehicles"], "ended": table["ended"], "running": table["running"],
            f"half by [{shown.distance}]": ["too few to say" if pd.isna(m) else _km(m, shown) for m in table["middle_km"]],
            "its 95 % limits": middle, "1 in 10 by": km("early_km"), "9 in 10 by": km("late_km"), "half by Weibull": km("weibull_km"),
            "half by lognormal": km("lognormal_km"), "farthest watched": km("farthest_km"),
        }
    ).astype("str")  # fmt: skip


def _km(value, shown) -> str:
    return "" if pd.isna(value) else "not reached" if np.isinf(value) else shown.distance_number(value, 100)


# --- gauge study ------------------------------------------------------------------------------------------------------

HOW_TO = (
    "How: measure about ten vehicles as always; before they leave a second person measures them again without looking at the first sheet. "
    f"Write each round as a visit of its own on the same day, with its technician and the reason “{REASON}”."
)


def gauge_sentences(told: GaugeStudy, kept: tuple[float, int] | None, used_mm: float, shown: Shown) -> list[str]:
    """What the gauge study says, and which repeat error is on record.

    Parameters
    ----------
    told : GaugeStudy
    kept : tuple or None
        As `Settings.repeat`.
    used_mm : float
        The repeat error the model worked with.
    shown : Shown
    """
    mm = shown_small(shown)
    said = [
        f"The forecast works with a repeat error of {mm(used_mm)} (standard deviation of one reading, rounding apart), estimated with the wear."
    ]
    if kept is not None:
        said.append(
            f"records.toml says {mm(kept[0])}, from {count_text(kept[1], 'reading')} of a gauge study; the estimate starts from it."
        )
    if not told.readings:
        return [*said, "These records hold no gauge study.", HOW_TO]
    about = f"{count_text(told.readings, 'reading')} of {count_text(told.parts, 'lining')} by {count_text(told.people, 'person', 'people')}"
    if not np.isfinite(told.repeat_sd_mm):
        return [*said, f"Gauge study: {about}: too few to say ({LEAST_FREEDOM} repeated readings are needed).", HOW_TO]
    if told.repeat_sd_mm == 0:
        return [
            *said,
            f"Gauge study: {about}, all alike: the gauge, with its step of {mm(told.step_mm)}, is too coarse to show the error.",
            HOW_TO,
        ]
    said.append(
        f"Gauge study, {about}: one reading errs by {mm(told.repeat_sd_mm)} (standard deviation, whoever reads; 95 % limits "
        f"{mm(told.repeat_low_mm)} to {mm(told.repeat_high_mm)}), the rounding to {mm(told.step_mm)} taken out."
    )
    if told.people > 1:
        one, other = (
            told.people_table.iloc[told.people_table["away_mm"].argmax()],
            told.people_table.iloc[told.people_table["away_mm"].argmin()],
        )
        said.append(
            f"{one['technician']} reads {mm(one['away_mm'] - other['away_mm'])} thicker than {other['technician']} on the same linings, on average."
        )
    return said


def gauge_table(told: GaugeStudy, shown: Shown) -> pd.DataFrame:
    """The gauge study taken apart, standard deviations in the chosen unit."""
    mm = shown_small(shown)
    rows = [
        ("repeatability", "one person's readings of one lining", told.repeatability), ("reproducibility", "person against person", told.reproducibility),
        ("part", "lining against lining", told.part),
    ]  # fmt: skip
    if not np.isfinite(told.repeat_sd_mm):
        return pd.DataFrame(columns=["what", "between", "standard deviation, as read", "95 % limits"])
    return pd.DataFrame(
        [(name, words, mm(part.sd), f"{mm(part.low)} to {mm(part.high)}") for name, words, part in rows],
        columns=["what", "between", "standard deviation, as read", "95 % limits"],
    )


def shown_small(shown: Shown):
    """A small length in the chosen unit, one digit more than a thickness."""
    decimals, tail = {"mm": (2, " mm"), "in": (4, " in"), "32nds": (2, "/32 in")}[shown.thickness]
    return lambda mm: f"{shown.thickness_of(mm):.{decimals}f}{tail}"


def lives_asked() -> list[tuple[str, str]]:
    """The two lives as options."""
    return [(LIVES_IN_WORDS[life], life) for life in LIVES]
