"""Thicknesses of linings that stand in notes and work lines: ``service, brakes ok, front pads 10 mm rear 7 mm``.

Only what says all of it is taken: linings or brakes are named, every number has its place, and its unit stands there or was answered,
and every word before it is understood: a word of places, linings or ordinary jobs, or work that `jobs` reads. An unknown label may
make the numbers something else (rotors:, parts used:, van 7:). The reading itself is `cells.read`'s.
A person is asked once whether such texts tell what was measured.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from brakedata import cells, headings
from brakedata.cells import words
from brakedata.cells.lining_tokens import DRIVER_KEYS, KERB_KEYS, KEY_WORDS
from brakedata.cells.reading import ASK, Reading
from brakedata.cells.text import fold, tidy
from brakedata.mapping import job_words, jobs
from brakedata.mapping.reading import OUR_UNIT, WHEELS
from brakedata.units import THICKNESS_MM

HOLDS_THICKNESS = (
    r"(?i)\d ?mm\b|\d ?/ ?32|\d ?nds\b|(?:\d/\d{1,2}|\.\d+) ?(?:in\b|inch|\")|"
    r"\b(?:[lr][fr]|[fr][lr]|[no]s[fr]|[vh][lr]|a[vr][gd])\b[ :=]{0,3}\d{1,2}(?:[.,]\d)?(?!\d)"
)
_LININGS = {word: part for word, part in headings.LINING_WORDS.items() if part in ("pad", "shoe")}
_LININGS |= dict.fromkeys(("lining", "linings"), "pad")
_AXLES = {"va": "front", "ha": "rear", "av": "front", "ar": "rear"}
_PLACE = frozenset(
    (*KEY_WORDS, *DRIVER_KEYS, *KERB_KEYS, *_AXLES, *words.FRONT, *words.REAR, *words.LEFT, *words.RIGHT, *"frlnsodp", "rr")
) - {word for word, part in headings.LINING_WORDS.items() if part in ("rotor", "drum")}
_SAYS_NOTHING = (headings.BRAKES - headings.LINING_WORDS.keys()) | words.LEFT_OVER | words.ABOUT | frozenset(
    "the are is at all still only just of on thickness thick meas measured checked inspected check inspect inspection reading "
    "readings ok okay good fine fair low thin gemessen gepruft mesure mesurees medido medidas axle axles achse essieu eje wheel wheels".split()
)  # fmt: skip
_WORN_TO = re.compile(r"\b(?:worn )?(?:down )?to(?= *\d)|\b(?:down|left) at(?= *\d)")
_KERB_SIDE = re.compile(r"\b([no]) ?/ ?s\b(?: ?/ ?([fr])\b)?")
_UNIT = r"(?:(?:mm|/ ?32(?:nds|nd|ths)?|32nds?|nds)\b|(?:/ ?(?:2|4|8|16|64) ?)?(?:inch(?:es)?\b|\"))"
_PIECE = re.compile(r"[;\n]| -+ (?!\d)|:(?! ?\d)|[.,](?!\d)|(?<!\d)\.|\b(?:and|und|et|y|en)\b")
_SIDES_BEHIND = re.compile(
    r"^((?:front|rear)(?: pad| shoe)?) (\d+(?:[.,]\d+)? mm) (l|r|left|right) (\d+(?:[.,]\d+)? mm) (l|r|left|right)$"
)
"""``front 9.3 mm L 10.6 mm R``: each side behind its number."""


def _before_its_wheels(axle: str, axle_words, more: str) -> re.Pattern:
    """``rear pads LR 11 mm, RR 10 mm``: an axle named before its own wheels."""
    wheels = [word for word, label in KEY_WORDS.items() if label.axle == axle and label.side]
    wheels += [word for word, (_, its) in (DRIVER_KEYS | KERB_KEYS).items() if its == axle] + [more]
    return re.compile(rf"\b(?:{'|'.join(axle_words)})((?: pad| shoe)?[ ,]+(?:{'|'.join(wheels)})\b)")


_BEFORE_ITS_WHEELS = (_before_its_wheels("front", words.FRONT, "fr"), _before_its_wheels("rear", words.REAR, "rr"))
_OVER_SIDES = re.compile(rf"\b((?:{'|'.join({*words.FRONT, *words.REAR})})\b[^,.;:\d]*): ?(?=[a-z]+[ :=]{{0,3}}\d)")
"""``front pads: left 8 mm``: an axle with a colon before its wheels."""
_TOKEN = re.compile(r"(?P<num>\d+(?:[.,]\d+)?)|(?P<word>[^\W\d_]+)|(?P<sign>[^\s\w]|_)")
_RENEWED = re.compile(
    r"\b(?:new|neue?[nrs]?|neufs?|neuves?|nuev\w+|nuov\w+|nowe|replac\w*|renew\w*|fitt\w*|fit|install\w*|changed|changing|swapp\w*|ersetz\w*|erneuer\w*|"
    r"gewechs\w*|getauscht|montiert|remplac\w*|montee?s?|cambi\w*|sustitu\w*|sostitu\w*|vervang\w*|vernieuw\w*|wymien\w*)\b"
)
_DONE = frozenset("done gemacht faites fait hechas hecho fatte fatto gedaan zrobione".split())
"""``front pads done``: the linings are new."""
_OF_TYRES = frozenset("rotated rotate rotation balanced balancing aligned alignment gewuchtet ausgewuchtet permutation".split())
"""Work on tyres, in whose words a depth of tread may stand."""
_ORDINARY = frozenset(
    "oil filter filters change changed service serviced full minor major interim annual yearly rotated rotate rotation tyre tyres tire tires wiper "
    "wipers blade blades wash washed washer mot test tested road drive safety check checks inspection inspected lights light bulb bulbs battery "
    "coolant top topped up fluid fluids air con ac passed pass ok okay all good fine advisory advisories brake brakes report and the done carried "
    "out customer complains noise squeal squeals cleaned lubed slides pins greased adjusted olwechsel ol wechsel inspektion service hu au tuv "
    "prep puncture punctures repair repaired valet valeted adblue wash plugs belt exhaust clutch tracking alternator starter horn mirror mirrors seat belts "
    "kontrolle gepruft vidange revision entretien controle essai cambio aceite filtro filtros revision itv lavado onderhoud beurt olie apk".split()
)
"""Words of ordinary jobs: a text may begin with them and go on with what was measured."""
_ELSEWHERE = frozenset(
    "limit limits min minimum max maximum spec specs specification discard legal should last previous prev next due ordered order quote quoted "
    "quotation estimate trailer trl trlr spare spares stock warranty was were earlier ago old before wear grenze grenzwert mindest mindestmass "
    "mindeststarke verschleiss verschleissgrenze letzte letzter letzten letztes vorher vorige anhanger bestellt angebot soll limite minimo dernier "
    "derniere precedent usure remorque commande commandees devis ultimo ultima anterior proximo proxima desgaste remolque pedido presupuesto target".split()
)
"""Words by which a thickness in the same text may be of another day, another vehicle, worn away, or what it should be."""
_KNOWN = _PLACE | _LININGS.keys() | _SAYS_NOTHING | {"mm", "nds", "nd", "ths", "inch", "inches"}
Found = tuple[str, str, str, float, str]


def read(text: str, hints: dict) -> tuple[list[Found], str]:
    """The lining thicknesses that a text tells beyond doubt.

    Parameters
    ----------
    text : str
        A note or line of work.
    hints : dict
        As for `cells.read`; ``unit`` counts where the text has none.

    Returns
    -------
    found : list of (axle, side, part, value, unit)
        ``side`` is empty for both wheels of an axle. Empty where the text, or any thickness in it, is not clear.
    question : str
        The key of a question whose answer would make it clear, else empty.
    """
    pieces = _pieces(text)
    if any(_ELSEWHERE & _said(piece) for piece in pieces):
        return [], ""
    tyres = any((headings.TYRES | _OF_TYRES) & _said(piece) for piece in pieces)
    named = {headings.LINING_WORDS[word] for piece in pieces for word in _said(piece) if word in headings.LINING_WORDS}
    alone = next(iter(named)) if len(named) == 1 and not tyres else ""
    out: list[Found] = []
    renewed: set[str] = set()
    for run in _runs(pieces):
        if run.unclear:
            return [], ""
        its, question = [], ""
        for group, part in _parts_of(run.pieces, tyres, alone):
            more, question = _of(group, part, hints)
            if not more or not run.understood:
                return [], question
            its += more
        if renewed & {"", *(axle for axle, *_ in its)} and its:  # the thickness of what was fitted, or of what came off?
            return [], ""
        out += its
        renewed |= run.renewed
    places = [one[:2] for one in out]
    axles = {axle for axle, side in places if not side}
    twice = len(set(places)) < len(places) or any(side and axle in axles for axle, side in places)
    return ([], "") if twice else (out, "")


def in_words(found: list[Found]) -> str:
    """What was read, for a person."""
    return ", ".join(" ".join(filter(None, (axle, side, part, f"{value:g}", unit))) for axle, side, part, value, unit in found)


def rest(text: str) -> str:
    """What a text says besides the thicknesses that `read` takes: its other pieces."""
    return "; ".join(piece for piece in _pieces(text) if not _said(piece) <= _KNOWN)


def _pieces(text: str) -> list[str]:
    low = _KERB_SIDE.sub(r"\1s\2", fold(tidy(text)).replace("ß", "ss"))
    low = _OVER_SIDES.sub(lambda over: f"{over[1]} " if _said(over[1]) <= _KNOWN else over[0], low)
    pieces = [" ".join(_WORN_TO.sub(" ", piece).split()) for piece in _PIECE.split(low)]
    return [piece for piece in pieces if piece]


def _said(piece: str) -> set[str]:
    return set(re.findall(r"[^\W\d_]+", piece))


@dataclass(frozen=True)
class _Run:
    """Neighbouring pieces of known words; ``understood``: so is all that stands before them.

    ``unclear``: a thickness stands in the piece of other words behind them. ``renewed`` are the axles whose parts the text up to its end
    says are new, ``""`` for any.
    """

    pieces: list[str]
    understood: bool
    unclear: bool
    renewed: set[str]


def _runs(pieces: list[str]) -> Iterator[_Run]:
    """The pieces of known words in runs, each with what the other pieces before and behind it say."""
    known: list[str] = []
    understood, job = True, False
    for piece in [*pieces, ""]:
        found = _said(piece)
        if piece and found <= _KNOWN:
            known.append(piece)
            continue
        said = jobs.read(piece) or []
        renewed = said or _RENEWED.search(piece) or found & _DONE and found & _LININGS.keys()
        named = {axle for axle, those in (("front", words.FRONT), ("rear", words.REAR)) if found & those}
        new = {axle for axle, *_ in said} or named or {""} if renewed else set()
        yield _Run(known, understood, bool(re.search(HOLDS_THICKNESS, piece)), new)
        more = job and found <= job_words.PART_OF.keys()  # replaced front pads and rotors
        understood = understood and (bool(said) or more or found <= _KNOWN | _ORDINARY)
        known, job = [], bool(said) or more


def _parts_of(pieces: list[str], tyres: bool, alone: str) -> list[tuple[list[str], str]]:
    """The pieces that hold numbers, neighbours of one part together, with that part; empty where it is not named.

    Where the text speaks of ``tyres`` too, the linings themselves must be named; ``alone`` is the only part that the whole text names.
    """
    named = [{_LININGS[word] for word in _said(piece) if word in _LININGS} for piece in pieces]
    every = set().union(*named)
    brakes = any(headings.BRAKES & _said(piece) for piece in pieces) and not tyres
    out: list[tuple[list[str], str]] = []
    last = next(iter(every)) if len(every) == 1 else alone if alone in ("pad", "shoe") else "pad" if brakes and not every else ""
    for piece, own in zip(pieces, named, strict=True):
        last = next(iter(own)) if len(own) == 1 else "" if own else last
        if not re.search(r"\d", piece):
            continue
        if out and out[-1][1] == last:
            out[-1][0].append(piece)
        else:
            out.append(([piece], last))
    return out


def _of(group: list[str], part: str, hints: dict) -> tuple[list[Found], str]:
    """The readings of neighbouring pieces; none where one of them lacks its unit or place."""
    if not part:
        return [], ""
    said = [word for piece in group for word in _kept(piece)]
    line = ", ".join(_SIDES_BEHIND.sub(r"\1 \3 \2 \5 \4", " ".join(_kept(piece))) for piece in group)
    for named_twice in _BEFORE_ITS_WHEELS:
        line = named_twice.sub(r"\1", line).strip()
    units = _units(line)
    if not units:
        return [], ""
    used = hints if units == "none" else {key: value for key, value in hints.items() if key != "unit"}
    reading: Reading = cells.read("pad_thickness", [line], "", used)[0]
    if reading.status == ASK:
        return [], reading.question if reading.question in ("driver_side", "traffic_side", "unit") else ""
    value = reading.value
    if not isinstance(value, dict) or reading.unit not in OUR_UNIT or not reading.status.startswith("ok"):
        return [], ""
    axles = {axle for word in said for axle, those in (("front", words.FRONT | {"f"}), ("rear", words.REAR)) if word in those}
    out, unit = [], OUR_UNIT[reading.unit]
    for key, mm in value.items():
        axle, side = WHEELS.get(key, (key, ""))
        if key in ("pad", "shoe") and len(axles) == 1 and len(value) == 1:
            axle = next(iter(axles))
        if axle not in ("front", "rear") or not isinstance(mm, int | float):
            return [], ""
        out.append((axle, side, part, round(mm / THICKNESS_MM[unit], 6), unit))
    return out, ""


def _kept(piece: str) -> list[str]:
    """The words of a piece that the cells' reader is given: places, linings, numbers and units."""
    found = [match[0] for match in _TOKEN.finditer(piece)]
    return [_LININGS.get(word, _AXLES.get(word, word)) for word in found if word not in _SAYS_NOTHING or word == "left"]


def _units(line: str) -> str:
    """``some`` where each number has its unit behind it, or each stands behind its place and the last one has a unit; ``none`` where each
    stands behind its place without one; empty for anything else."""
    numbers = list(re.finditer(r"(?<![\d.,/])(?<!/ )\d+(?:[.,]\d+)?", line))
    with_unit = [bool(re.match(rf" ?{_UNIT}", line[number.end() :])) for number in numbers]
    behind = [re.search(r"([a-z]+)( pad| shoe)? ?[:=@-]? ?$", line[: number.start()]) for number in numbers]
    placed = [bool(found) and found[1] in _PLACE for found in behind]
    if numbers and (all(with_unit) or all(placed) and with_unit[-1]):
        return "some"
    return "none" if numbers and all(placed) and not any(with_unit) and not any(found[2] for found in behind) else ""
