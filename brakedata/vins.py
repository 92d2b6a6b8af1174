"""Vehicle identification numbers: read, checked, compared and masked, a column at a time.

A VIN has 17 characters, capital letters and digits without I, O and Q (ISO 3779; value from memory). In North America the
ninth is a check digit (49 CFR 565.15(c), tables III to V); elsewhere it need not be one. What a slip of the pen may have
been is a suggestion, never a correction.
"""

import re
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from brakedata import findings

LENGTH = 17
CHECK_PLACE, YEAR_PLACE, SERIAL_PLACE = 8, 9, 11
"""Places counted from 0: the check digit, the model year, and where the serial number begins."""
WEIGHTS = np.array([8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2])
"""49 CFR 565.15(c), table IV."""
_LETTERS = dict(zip("ABCDEFGHJKLMNPRSTUVWXYZ", map(int, "12345678123457923456789"), strict=True))
"""49 CFR 565.15(c), table III."""
YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"
"""Model years 1980 to 2009, and again 2010 to 2039 (49 CFR 565.15, table VII; value from memory)."""
FIRST_YEAR, CYCLE = 1980, 30
LOOK_ALIKE = "0D 1L 2Z 5S 6G 8B MN UV".split()
"""Characters mistaken for each other in handwriting (common practice, no source)."""
MOST_SUGGESTED = 3
KEPT = 8
"""Characters that a masked VIN keeps: who made it and what kind of vehicle it is. The check digit (which tells of the serial
number), the year, the plant and the serial number are hidden."""

_VALUE = np.full(128, -1)
_VALUE[[ord(c) for c in "0123456789"]] = np.arange(10)
_VALUE[[ord(c) for c in _LETTERS]] = list(_LETTERS.values())
_TRUE_DIGIT = str.maketrans("OQI", "001")


def normalised(written: pd.Series) -> pd.Series:
    """Cells as VINs are compared: capitals, without blanks, hyphens, points, stars and a leading ``VIN``.

    >>> normalised(pd.Series(["vin: 1g4ah59h-45g118341"]))[0]
    '1G4AH59H45G118341'
    """
    text = written.fillna("").astype("str").str.normalize("NFKC").str.upper().str.strip()
    return text.str.replace(r"^VIN\W*|[\s.*_/-]+", "", regex=True)


def check_digit(vins: pd.Series) -> np.ndarray:
    """Check digit that belongs at the ninth place by 49 CFR 565.15(c), shape (n,), str; empty where there is none to compute."""
    letters = _letters(vins)
    value = _values(letters)
    value[:, CHECK_PLACE] = np.maximum(value[:, CHECK_PLACE], 0)
    digit = np.array(list("0123456789X"))[(value * WEIGHTS).sum(axis=1) % 11]
    return np.where((value >= 0).all(axis=1) & _whole(vins), digit, "")


def north_american(vins: pd.Series) -> np.ndarray:
    """Whether a VIN was given in North America, where the check digit is required: 1, 4, 5 and 7F to 70 the United States, 2
    Canada, 3 Mexico (world manufacturer identifiers of ISO 3780; value from memory)."""
    return vins.str.match(r"[1-5]|7[F-Z0-9]").to_numpy(dtype=bool)


def model_year(vins: pd.Series, joined_year=None) -> np.ndarray:
    """Model year of North American VINs, shape (n,), float; NaN where it is not known.

    The code at the tenth place comes round every 30 years. On cars, and on trucks up to 4,536 kg, a letter at the seventh
    place means 2010 or later and a digit 2009 or earlier (49 CFR 565.15(b), 565.25(b)). Heavier vehicles need not keep that: a
    year that lies after the vehicle joined the fleet is taken 30 years earlier, and is not known where that was before 1980.

    Parameters
    ----------
    vins : Series of str
        As `normalised` gives them.
    joined_year : array_like, shape (n,), optional
        Year each vehicle joined; NaN where not known. A model year may begin the year before.
    """
    letters = _letters(vins)
    place = {code: n for n, code in enumerate(YEAR_CODES)}
    year = FIRST_YEAR + pd.Series(letters[:, YEAR_PLACE]).map(place).to_numpy(dtype="float64")
    year += CYCLE * np.char.isalpha(letters[:, 6])
    if joined_year is not None:
        newest = np.asarray(joined_year, dtype="float64") + 1
        year = np.where(year > newest, year - CYCLE, year)
        year = np.where((year < FIRST_YEAR) | (year > newest), np.nan, year)
    return np.where(north_american(vins) & (check_digit(vins) == letters[:, CHECK_PLACE]), year, np.nan)


def judge(written: pd.Series) -> pd.DataFrame:
    """What can be said of each VIN of a column.

    Parameters
    ----------
    written : Series of str, shape (n,)

    Returns
    -------
    DataFrame, shape (n,)
        ``vin`` (normalised), ``problem`` ("" none or nothing written, ``length``, ``characters``, ``placeholder`` (one
        character all along), ``check digit`` (wrong, in North America), ``no check digit`` (wrong, elsewhere)), ``digit`` (the
        check digit that belongs there) and ``suggestion`` (what it may have been meant to be; "" where nothing or too much may).
    """
    vin = normalised(written).reset_index(drop=True)
    letters, digit, whole = _letters(vin), check_digit(vin), _whole(vin)
    legal = (_values(letters) >= 0).all(axis=1)
    wrong = digit != letters[:, CHECK_PLACE]
    home = north_american(vin)
    said = (vin != "").to_numpy()
    problem = np.select(
        [~said, ~whole, ~legal, (letters == letters[:, :1]).all(axis=1), wrong & home, wrong],
        ["", "length", "characters", "placeholder", "check digit", "no check digit"], "",
    )  # fmt: skip
    ask = np.isin(problem, ("characters", "check digit"))
    suggestion = pd.Series("", index=vin.index, dtype="str")
    suggestion[ask] = _suggested(vin[ask])
    return pd.DataFrame({"vin": vin, "problem": problem, "digit": digit, "suggestion": suggestion})


def pairs(judged: pd.DataFrame) -> pd.DataFrame:
    """VINs that are the same, or that one slip makes the same.

    Two VINs that both stand the test of their check digit are two vehicles, however alike: vehicles bought together have
    neighbouring serial numbers. A slip is looked for where one of the two cannot be right (O, Q or I for a digit, two
    neighbours swapped, one character mistaken); where no check digit is kept, only O, Q, I, and neighbours swapped before the
    serial number.

    Parameters
    ----------
    judged : DataFrame
        As `judge` gives it.

    Returns
    -------
    DataFrame
        ``first, second`` (places in ``judged``, first < second) and ``how``, one row a pair.
    """
    base = judged["vin"].str.translate(_TRUE_DIGIT)
    place = np.flatnonzero(_whole(base) & judged["problem"].ne("placeholder"))
    base, written, problem = base.iloc[place], judged["vin"].iloc[place], judged["problem"].iloc[place]
    table = pd.DataFrame({"place": place, "base": base.to_numpy(), "written": written.to_numpy()})
    out = [_joined(table, table, "base", "base")]
    out[0]["how"] = np.where(out[0]["written"] == out[0]["written_of"], "the same VIN", "O or Q for 0, I for 1")
    letters = _letters(base)
    foreign, wrong = problem.eq("no check digit").to_numpy(), problem.isin(("characters", "check digit")).to_numpy()
    for at in range(LENGTH - 1):
        may = (wrong | (foreign & (at + 1 < SERIAL_PLACE))) & (letters[:, at] != letters[:, at + 1])
        like = table.assign(like=_joined_text(_turned(letters, at)))
        out.append(_joined(like[may], table, "like", "base").assign(how="two neighbours swapped"))
    for at in range(LENGTH):
        blank = letters.copy()
        blank[:, at] = "?"
        like = table.assign(like=_joined_text(blank))
        near = _joined(like[wrong & ~foreign], like, "like", "like")
        out.append(near[near["base"] != near["base_of"]].assign(how="one character differs"))
    found = pd.concat(out, ignore_index=True)
    found["first"], found["second"] = found[["place", "place_of"]].min(axis=1), found[["place", "place_of"]].max(axis=1)
    found = found[found["first"] < found["second"]].drop_duplicates(["first", "second"])
    return found.sort_values(["second", "first"], ignore_index=True)[["first", "second", "how"]]


def noticed(vehicles: pd.DataFrame) -> list[pd.DataFrame]:
    """Findings about the VINs of the vehicles table: R80 length or characters, R81 check digit, R82 check digits not kept
    elsewhere, R83 two vehicles with the same VIN or nearly.

    Parameters
    ----------
    vehicles : DataFrame
        ``vin, vehicle_id, row``.
    """
    vehicles = vehicles.reset_index(drop=True)
    if vehicles["vin"].eq("").all():
        return []
    judged = judge(vehicles["vin"])
    habit = _usual_length(judged["vin"])
    form = judged["problem"].isin(("length", "characters", "placeholder")) & judged["vin"].str.len().ne(habit)
    digit = judged["problem"].eq("check digit")
    may = ("; it may be meant to be " + judged["suggestion"]).where(judged["suggestion"].ne(""), "")
    found = []
    if habit:
        same = judged["vin"].str.len().eq(habit).sum()
        said = f"{same:,} of {judged['vin'].ne('').sum():,} have {habit} characters, as if only a part were written"
        found.append(findings.make("R80-vin-form", "vehicles", column="vin", reading=said))
    found.append(_about("R80-vin-form", vehicles[form], _form(judged) + may))
    found.append(_about("R81-vin-check-digit", vehicles[digit], "the ninth should be " + judged["digit"] + may))
    return [*found, *_not_kept_elsewhere(vehicles, judged), *_alike(vehicles, judged)]


def _about(code, vehicles, reading) -> pd.DataFrame:
    """Findings about the VIN of some vehicles; ``reading`` by their index."""
    return findings.make(
        code, "vehicles", row=vehicles["row"], vehicle_id=vehicles["vehicle_id"], column="vin", value=vehicles["vin"].str.strip(),
        reading=reading.reindex(vehicles.index),
    )  # fmt: skip


def _usual_length(vins) -> int:
    """The length that more than half of a column's cells (three or more) have, where it is not 17: only a part of each is
    written; else 0."""
    length = vins[vins.ne("")].str.len()
    count = length[length.ne(LENGTH)].value_counts()
    return int(count.index[0]) if len(count) and count.iloc[0] >= max(3, 0.5 * len(length) + 0.5) else 0


def _form(judged) -> pd.Series:
    """What is wrong with the form of each VIN, in words."""
    length = judged["vin"].str.len().astype("str") + " characters"
    return length.where(
        judged["problem"].eq("length"),
        judged["problem"].map({"characters": "a character that no VIN has", "placeholder": "one character all along"}).fillna(""),
    )


def _not_kept_elsewhere(vehicles, judged) -> list[pd.DataFrame]:
    """R82: each VIN where most from elsewhere have a check digit (as vehicles built for North America do), else once."""
    wrong = judged["problem"].eq("no check digit")
    abroad = wrong | (judged["vin"].ne("") & judged["problem"].eq("") & ~north_american(judged["vin"]))
    if not wrong.any():
        return []
    if wrong.sum() < 0.5 * abroad.sum():
        return [_about("R82-vin-not-north-american", vehicles[wrong], "the ninth would be " + judged["digit"])]
    said = f"{wrong.sum():,} of {abroad.sum():,} have none that agrees"
    return [findings.make("R82-vin-not-north-american", "vehicles", column="vin", reading=said)]


def _alike(vehicles, judged) -> list[pd.DataFrame]:
    """R83, on the later of the two rows."""
    alike = pairs(judged)
    first, second = vehicles.iloc[alike["first"]], vehicles.iloc[alike["second"]]
    said = alike["how"] + ": vehicle " + first["vehicle_id"].to_numpy() + " on line " + first["row"].astype("str").to_numpy()
    return [
        findings.make(
            "R83-vin-twice", "vehicles", row=second["row"], vehicle_id=second["vehicle_id"], column="vin",
            value=second["vin"].str.strip(), reading=said,
        )
    ]  # fmt: skip


def _suggested(vins: pd.Series) -> np.ndarray:
    """What each wrong VIN may have been meant to be, shape (n,), str.

    O and Q are read as 0 and I as 1. Where the check digit of a North American VIN is still wrong: the VINs with a right one
    that two swapped neighbours, or one character mistaken for one like it, make; nothing where these are more than three,
    because a check digit agrees by chance once in eleven times.
    """
    base = vins.str.translate(_TRUE_DIGIT)
    letters = _letters(base)
    home = north_american(base)
    right = check_digit(base) == letters[:, CHECK_PLACE]
    legal = (_values(letters) >= 0).all(axis=1)
    out, count = np.where(legal & (right | ~home), base, "").astype("object"), np.zeros(len(base), dtype=int)
    for tried in _one_slip(letters):
        text = pd.Series(_joined_text(tried), dtype="str")
        agrees = home & ~right & north_american(text) & (tried != letters).any(axis=1) & _may_be_american(tried)
        agrees &= check_digit(text) == tried[:, CHECK_PLACE]
        out[agrees] += np.where(count[agrees] > 0, " or ", "").astype("object") + text[agrees].to_numpy(dtype="object")
        count += agrees
    return np.where(count <= MOST_SUGGESTED, out, "").astype("str")


def _one_slip(letters):
    """Every text with two neighbours swapped, and every text with one character mistaken for one like it."""
    for at in range(LENGTH - 1):
        yield _turned(letters, at)
    for pair in LOOK_ALIKE:
        for seen, meant in (pair, pair[::-1]):
            for at in range(LENGTH):
                tried = letters.copy()
                tried[letters[:, at] == seen, at] = meant
                yield tried


def _turned(letters, at) -> np.ndarray:
    """The characters with those at ``at`` and after it swapped."""
    turned = letters.copy()
    turned[:, [at, at + 1]] = letters[:, [at + 1, at]]
    return turned


def _may_be_american(letters) -> np.ndarray:
    """The tenth is a year code, the last four are digits (49 CFR 565.15(d); value from memory)."""
    return np.isin(letters[:, YEAR_PLACE], list(YEAR_CODES)) & np.char.isdigit(letters[:, 13:]).all(axis=1)


def _whole(vins) -> np.ndarray:
    return (vins.str.len() == LENGTH).to_numpy(dtype=bool)


def _letters(vins) -> np.ndarray:
    """Characters, shape (n, 17); blanks after the end of a shorter text."""
    texts = np.array(vins.fillna("").str.slice(0, LENGTH).str.ljust(LENGTH), dtype=f"U{LENGTH}")
    return np.ascontiguousarray(texts).view("U1").reshape(len(vins), LENGTH)


def _values(letters) -> np.ndarray:
    """Value of every character by table III, -1 for one that no VIN has, shape (n, 17)."""
    code = np.ascontiguousarray(letters).view("uint32").reshape(letters.shape)
    return np.where(code < 128, _VALUE[np.minimum(code, 127)], -1)


def _joined_text(letters) -> np.ndarray:
    return np.ascontiguousarray(letters).view(f"U{LENGTH}").ravel()


def _joined(left, right, on, on_right) -> pd.DataFrame:
    """Every pair of rows whose texts are the same, but none with itself."""
    both = left.assign(key=left[on]).merge(right.assign(key=right[on_right]), on="key", suffixes=("", "_of"))
    return both[both["place"] != both["place_of"]]


# --- masking ----------------------------------------------------------------------------------------------------------

SHAPE = re.compile(r"(?<![A-Za-z0-9])(?=(?:[A-Za-z]*[0-9]){4})[A-Za-z0-9]{17}(?![A-Za-z0-9])")
"""17 letters and digits in one piece, at least four of them digits."""
_LONG = re.compile(r"[A-Za-z0-9]{18,}")


@dataclass(frozen=True)
class Mask:
    """Hides the VINs of a records folder in whatever leaves it: VIN cells, vehicle ids that are VINs, VINs in any text.

    Attributes
    ----------
    names : dict of str to str
        What is written in place of each vehicle id that is a VIN, and of each VIN cell.
    """

    names: dict[str, str]
    on: bool

    def text(self, text: str) -> str:
        """The text with every VIN in it hidden."""
        return self._hidden(text) if self.on else text

    def frame(self, frame: pd.DataFrame) -> pd.DataFrame:
        """The table with every VIN in its texts hidden; the table itself where nothing is to be hidden."""
        if not self.on:
            return frame
        out = frame.copy()
        for name in out.columns:
            if not pd.api.types.is_numeric_dtype(out[name]) and not pd.api.types.is_datetime64_any_dtype(out[name]):
                place, distinct = pd.factorize(out[name], use_na_sentinel=False)
                hidden = [self._hidden(cell) if isinstance(cell, str) else cell for cell in distinct]
                out[name] = pd.Series(hidden, dtype=out[name].dtype).array.take(place)
        return out

    def _hidden(self, text):
        if text in self.names:
            return self.names[text]
        text = self._written.sub(lambda found: self.names[found.group()], text) if self._written else text
        text = SHAPE.sub(lambda found: self.names.get(found.group()) or masked(found.group()), text)
        return _LONG.sub(lambda found: self._inside(found.group()), text)

    def _inside(self, run):
        """A longer run of letters and digits with every known VIN in it hidden."""
        for at in range(len(run) - LENGTH + 1):
            if run[at : at + LENGTH] in self.names:
                run = run[:at] + self.names[run[at : at + LENGTH]] + self._inside(run[at + LENGTH :])
                break
        return run

    @cached_property
    def _written(self):
        """Pattern of the VIN cells that `SHAPE` does not know, such as one with a character too few."""
        odd = [name for name in self.names if name and not SHAPE.fullmatch(name)]
        return (
            re.compile("|".join(rf"(?<!\w){re.escape(name)}(?!\w)" for name in sorted(odd, key=len, reverse=True)))
            if odd
            else None
        )


LEAST_END = 5
"""An id of this many characters or more at the end of the vehicle's VIN is its serial number, not chance."""


def masked(vin: str) -> str:
    """One VIN with its end hidden, such as ``1G4AH59H*********``; all of it where it has not 17 characters."""
    text = normalised(pd.Series([vin]))[0]
    return text[:KEPT] + "*" * (LENGTH - KEPT) if len(text) == LENGTH else "*" * KEPT


def mask(records) -> Mask:
    """The mask that ``records.toml`` asks for (``[vins] mask = true``), or one that hides nothing.

    A vehicle id that is a VIN, or the end of the vehicle's own VIN, is hidden too; ids that look alike when masked are numbered
    in the order of the vehicles table.

    Parameters
    ----------
    records : Records
    """
    if not records.settings.mask_vins:
        return Mask({}, False)
    vehicles = records.vehicles.sort_values("row", kind="stable")
    written, ids = vehicles["vin"].str.strip(), vehicles["vehicle_id"]
    names = {vin: masked(vin) for vin in written.unique() if vin}
    own, name = normalised(written), normalised(ids)
    is_vin = name.str.fullmatch(SHAPE)
    is_end = np.array([len(n) >= LEAST_END and vin.endswith(n) for n, vin in zip(name, own, strict=True)], dtype=bool)
    short = name.where(is_vin, own)[is_vin | is_end].map(masked)
    numbered = short + "-" + (short.groupby(short).cumcount() + 1).astype("str")
    return Mask({**names, **dict(zip(ids[is_vin | is_end], numbered, strict=True))}, True)
