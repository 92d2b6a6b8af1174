"""One vehicle under several names: written in several ways, by its plate in one file and its number in another, with a word or without.

Only what the files themselves say is taken, and each is said (R71): a sheet that gives both names side by side, the same spelling but
for capitals and blanks, or the same numbers with one word of vehicles before them.
"""

import re
from itertools import pairwise

import pandas as pd

from brakedata import headings
from brakedata.cells import words

MOSTLY = 0.8
"""So many of a file's vehicles must be found under the other name."""
LEAST = 2
"""And at least so many."""
OF_ANY_VEHICLE = frozenset("unit vehicle veh no nr num fleet id car fahrzeug fzg wagen vehicule vehiculo voertuig v u".split())
"""Words before a number that say no more than that it is a vehicle."""
_SEPARATORS = re.compile(r"[\s_.-]+")
_COUNTED = re.compile(r"\s*([^\W\d_]*)[\s#.:-]*0*(\d+)\s*")


def spellings(layouts, limits: pd.Series) -> dict[str, str]:
    """Vehicles written in several ways, ``Van 3``, ``VAN3``: the first spelling for each of the others, those of ``limits`` last.

    A blank or hyphen between two digits tells vehicles apart: ``V1-1`` is not ``V11``. So do two that stand at other places:
    ``M-AB 12`` is not ``MA-B 12``, and either could be ``MAB12``.
    """
    named = [layout.kind.coded(layout.names_vehicle)[2] for layout in layouts if layout.names_vehicle]
    texts = (
        pd.concat([*named, limits[limits.str.contains(r"\d")]], ignore_index=True).drop_duplicates()
        if named
        else pd.Series(dtype="str")
    )
    texts = texts[texts.ne("")]
    plain = texts.str.casefold().str.replace(r"(?<=\d)[\s_.-]+(?=\d)", "-", regex=True)
    plain = plain.str.replace(r"(?<!\d)[\s_.-]+|[\s_.-]+(?!\d)", "", regex=True)
    again = plain.duplicated(keep=False)
    out: dict[str, str] = {}
    for _, its in texts[again].groupby(plain[again], sort=False):
        gaps = sorted(
            ({len(_SEPARATORS.sub("", text[: gap.start()])) for gap in _SEPARATORS.finditer(text)} for text in its), key=len
        )
        if all(fewer <= more for fewer, more in pairwise(gaps)):
            out |= dict.fromkeys(its.iloc[1:], its.iloc[0])
    return out


def other_names(layouts, spelled: dict[str, str]) -> list[dict[str, tuple[str, str]]]:
    """A layout's vehicles under their name in another layout, each with the reason.

    Parameters
    ----------
    layouts : list of Layout
    spelled : dict
        As `spellings` gives it.

    Returns
    -------
    list of dict
        A layout each: the name written there, to the other name and why it is taken for it.
    """
    named = [_names(layout, spelled) for layout in layouts]
    measured = [bool(layout.columns(*headings.READINGS)) for layout in layouts]
    out = _of_several_fleets(layouts, named)
    for here, names in enumerate(named):
        rank = [there for there in range(len(named)) if there != here and named[there]]
        rank.sort(key=lambda there: (not measured[there], there))
        if not names or out[here] or any(measured[there] and len(names & named[there]) >= MOSTLY * len(names) for there in rank):
            continue
        beside = next(
            (
                found
                for there in rank
                if (found := _beside(names, layouts[here].names_vehicle, named[there], layouts[there], spelled))
            ),
            {},
        )
        if beside or measured[here]:
            out[here] = beside
        else:
            out[here] = _of_one(names, [named[there] for there in rank if measured[there]])
    for its in out:  # a name of a name: the plate of a van whose number another file writes with a word
        for name, (other, why) in its.items():
            last = next((more[other] for more in out if other in more and more[other][0] != name), None)
            if last:
                its[name] = last[0], f"{why}, and “{other}” for “{last[0]}”: {last[1]}"
    return out


_FLEETS = (
    frozenset("van vans transporter fourgon furgon furgone".split()), frozenset("car cars pkw voiture coche auto".split()),
    frozenset("truck trucks lorry lorries lkw camion hgv".split()), frozenset("bus buses coach coaches autobus minibus".split()),
    frozenset("tractor tractors zugmaschine tracteur".split()), frozenset((*words.TRAILER, "wohnwagen")),
)  # fmt: skip
"""Headings that name a kind of vehicle: numbers under two of them are of two fleets."""


def _of_several_fleets(layouts, named: list[set[str]]) -> list[dict[str, tuple[str, str]]]:
    """Bare numbers that stand under ``Van`` in one layout and under ``Trailer`` in another, each with its word."""
    fleet = [_fleet(layout) for layout in layouts]
    out: list[dict[str, tuple[str, str]]] = [{} for _ in layouts]
    for here, names in enumerate(named):
        others = [
            named[there] for there in range(len(named)) if None not in (fleet[here], fleet[there]) and fleet[there] != fleet[here]
        ]
        both = {name for name in names if name.isdigit() and any(name in those for those in others)}
        if both:
            word = layouts[here].names_vehicle
            why = f"another file has that number for another kind of vehicle than “{word}”"
            out[here] = {name: (f"{word} {name}", why) for name in names if name.isdigit()}
    return out


def _fleet(layout) -> int | None:
    """Which kind of vehicle the heading of a layout's vehicles names, None for any."""
    said = set(headings.tokens(layout.names_vehicle or ""))
    return next((n for n, those in enumerate(_FLEETS) if those & said), None)


def _names(layout, spelled: dict[str, str]) -> set[str]:
    """The vehicles that a layout names."""
    if not layout.names_vehicle:
        return set()
    texts = layout.kind.coded(layout.names_vehicle)[2]
    return {spelled.get(text, text) for text in texts if text}


def _plain(name: str) -> str:
    return _SEPARATORS.sub("", name).casefold()


def _beside(names: set[str], heading: str, theirs: set[str], layout, spelled: dict[str, str]) -> dict[str, tuple[str, str]]:
    """Names, under a ``heading``, that stand in another column of a layout beside its vehicles, each with one of those and no other."""
    own = layout.names_vehicle
    for column in layout.kind.cells.columns:
        if words.TRAILER & set(headings.tokens(column)):  # what it pulls
            continue
        said = headings.meaning(column).role in ("vehicle_id", "vin") or headings.stem(column) == headings.stem(heading)
        texts = layout.kind.coded(column)[2]
        letters = texts[texts.ne("")].str.contains(r"[^\W\d_]", regex=True).mean() > MOSTLY
        if (
            column == own
            or layout.roles[column].partition(":")[0] not in ("not used", "vin", "description")
            or not (said or letters)
            or len({_plain(text) for text in texts} & {_plain(name) for name in names}) < MOSTLY * len(names)
        ):
            continue
        pairs = pd.DataFrame({"other": layout.kind.stripped(column), "own": layout.kind.stripped(own)})
        pairs = pairs[pairs["other"].ne("") & pairs["own"].ne("")].drop_duplicates()
        pairs = pairs.assign(
            own=pairs["own"].map(lambda text: spelled.get(text, text)), other=pairs["other"].map(_plain)
        ).drop_duplicates()
        if pairs["other"].duplicated().any() or pairs["own"].duplicated().any():
            continue
        of = dict(zip(pairs["other"], pairs["own"], strict=True))
        found = {name: of[_plain(name)] for name in names if _plain(name) in of and name not in theirs}
        if len(found) >= max(LEAST, MOSTLY * len(names)):
            file = layout.kind.sheets[0].file
            return {name: (other, f"{file} gives it as “{column}” of “{own}” {other}") for name, other in found.items()}
    return {}


def _of_one(names: set[str], measured: list[set[str]]) -> dict[str, tuple[str, str]]:
    """Names of a file without readings as those of the files with readings, where only one of these or all alike could be meant."""
    found = [its for theirs in measured if (its := _counted(names, theirs) or _longer(names, theirs))]
    return found[0] if found and all(its == found[0] for its in found) else {}


def _counted(names: set[str], theirs: set[str]) -> dict[str, tuple[str, str]]:
    """``V09`` for ``9`` or ``Van 9``: the same numbers, each file with one word before all of them, or none."""
    here, there = _numbers(names), _numbers(theirs)
    if not here or not there or here[0] == there[0] and names == theirs:
        return {}
    (word, own), (other_word, others) = here, there
    alike = (
        word == other_word or not word or not other_word or {word, other_word} & OF_ANY_VEHICLE
        or len(min(word, other_word, key=len)) == 1 and word[0] == other_word[0]
    )  # fmt: skip
    both = own.keys() & others.keys()
    if not alike or len(both) < max(LEAST, MOSTLY * len(own)):
        return {}
    return {
        own[at]: (others[at], "the same number, with one word before all numbers of a file")
        for at in both
        if own[at] != others[at]
    }


def _numbers(names: set[str]) -> tuple[str, dict[int, str]] | None:
    """The one word before the numbers of all names, and the names by their numbers; None where they are not made so."""
    found = {name: _COUNTED.fullmatch(name) for name in names}
    if not all(found.values()):
        return None
    before = {one[1].casefold() for one in found.values()}
    by_number = {int(one[2]): name for name, one in found.items()}
    return (before.pop(), by_number) if len(before) == 1 and len(by_number) == len(names) else None


def _longer(names: set[str], theirs: set[str]) -> dict[str, tuple[str, str]]:
    """``Van 5`` for ``Van 5 NC40 NHF``: names that begin or end one other name each, and no two the same."""
    out = {}
    for name in names - theirs:
        found = [
            other
            for other in theirs
            if re.search(rf"(?i)(?:^{re.escape(name)}(?=[\s,;(/|-])|(?<=[\s,;(/|-]){re.escape(name)}$)", other)
        ]
        if len(found) == 1 and re.search(r"\d", name) and re.search(r"[^\W\d_]", name):
            out[name] = found[0]
    once = len(set(out.values())) == len(out)
    if not once or len(out) < max(LEAST, MOSTLY * len(names)):
        return {}
    return {name: (other, "the longer name holds it") for name, other in out.items()}
