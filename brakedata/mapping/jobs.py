"""Work done as people write it, one line of words, to rows of the work table: only where part, action and axle are all clear.

A line that names the part and the axle alone, ``front pads``, is what was replaced where the shop has said so (`REPLACED_ALONE`).
"""

import re
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from brakedata import headings
from brakedata.cells import words
from brakedata.cells.text import fold, tidy
from brakedata.mapping.job_words import (
    ACTION_OF,
    ALONE,
    AND,
    AXLES,
    BRAKES,
    CONDITION,
    DECIDED,
    DENIES,
    HEARSAY,
    LININGS,
    ORDERS,
    OTHER_WORK,
    PART_OF,
    REFUSED,
    RELINED,
    RENEWED,
    SMALL,
    TAKEN_BACK,
    UNSURE,
    WAITING,
)

REPLACED_ALONE = "replaced"
"""What the shop has said that a part alone means; any other answer leaves it a note."""
_REMOVED = re.compile(r"\br ?(?:&|and|\+|n|/) ?r\b")
"""R&R: removed and replaced."""
_FIRST_AXLE = re.compile(
    r"\b(?:(?P<number>[1-9])(?:st|nd|rd|th|er|re|e|eme|a|o|\.|ª|º) ?|(?P<word>first|second|third) )(?:axle|achse|essieu|eje|eixo|asse|as)\b"
)
"""``1st axle``, ``1. Achse``, ``2e essieu``."""
_TRUCK_AXLE = re.compile(rf"\b(?P<name>{'|'.join(words.TRUCK_AXLES)})\b(?: (?P<axle>axles?))?", re.I)

Row = tuple[str, str, str, str]


@dataclass(frozen=True)
class Work:
    """What a line of words says was done.

    ``rows`` are ``(axle, side, part, action)``; ``alone`` those of parts named with their axle and without a word for what was done, as if
    replaced; ``unclear``: more is written that could be work on brakes.
    """

    rows: tuple[Row, ...] = ()
    alone: tuple[Row, ...] = ()
    unclear: bool = False


def _words(text: str) -> list[str]:
    """The words and numbers of a text, in small letters without accents."""
    return re.findall(r"[^\W_]+", fold(tidy(text)).replace("ß", "ss"))


def action_alone(text: str) -> str:
    """The action that a cell names and nothing else, ``Replaced``; empty where it says more."""
    found = _words(text)
    return ACTION_OF.get(found[0], "") if len(found) == 1 and found[0] not in ORDERS else ""


def action_of_heading(heading: str) -> tuple[str, tuple[str, ...]]:
    """The action, and the parts, that a heading asks of each row's place: ``Replaced?``, ``Rotor replaced``; empty for an order, or where it
    names an axle."""
    found = _words(heading)
    actions = {ACTION_OF[word] for word in found if word in ACTION_OF and word not in headings.NEW}
    known = {*found} <= ACTION_OF.keys() | PART_OF.keys() | BRAKES | SMALL | {"y", "n", "yes", "no", "done"}
    parts = tuple(dict.fromkeys(PART_OF[word] for word in found if word in PART_OF))
    return (actions.pop(), parts) if len(actions) == 1 and known and not {*found} & ORDERS else ("", ())


def decision(text: str) -> str:
    """What a cell of decisions says of its row's work: ``refused``, ``waiting``, or ``done``; empty for a cell of anything else."""
    found = set(_words(text))
    if not found or not found <= DECIDED | REFUSED | WAITING:
        return ""
    return "refused" if found & REFUSED else "waiting" if found & WAITING else "done"


def with_numbers(text: str, axles: tuple[str, ...]) -> str:
    """A line of work with the named axles of a truck by their numbers: ``steer axle pads`` as ``axle 1 pads``."""

    def number(named: re.Match) -> str:
        at = [str(place) for place, name in enumerate(axles, 1) if name == words.TRUCK_AXLES[named["name"].casefold()]]
        return f"axle {' & '.join(at)}" if len(at) == 1 or at and named["axle"] == "axles" else named[0]

    return _TRUCK_AXLE.sub(number, text) if axles else text


def names_action(text: str) -> bool:
    """Whether a text holds a word for something done: replaced, machined, checked."""
    return any(word in ACTION_OF for word in _words(text))


def read(text: str) -> list[Row] | None:
    """``(axle, side, part, action)`` of everything a line of words says was done; None where it is not clear.

    >>> read("Front pads and rotors replaced")
    [('front', '', 'pads', 'replaced'), ('front', '', 'rotor', 'replaced')]
    >>> read("recommend rear pads soon") is None
    True
    """
    return list(work(text).rows) or None


def work(text: str, orders: bool = True) -> Work:
    """What a line of words says was done, clause by clause; nothing where one word of it says that it was not, or not yet.

    A clause without an axle is of the one that the others name: ``front pads replaced, rotors machined``. Without ``orders`` a clause that
    says what is to be done, ``skim rear discs``, says nothing.
    """
    plain = (
        _REMOVED.sub(" replaced ", fold(tidy(text)).replace("ß", "ss")).replace(" + ", " and ").replace("de tras ", "traseira ")
    )
    plain = re.sub(r"\b([a-z]|bzw|inkl|vo|hi|li|re)\.", r"\1 ", plain)  # Beläge u. Scheiben
    plain = _FIRST_AXLE.sub(lambda named: f"axle {words.ORDINALS.get(named['word']) or named['number']}", plain)
    cut = re.split(
        r"[;,.\n]|\bthen\b", _DASHES.sub(lambda dash: "\n|" if _names_no_action(plain[: dash.start()]) else " ", plain)
    )
    clauses = [found for clause in cut for found in _apart(re.findall(r"[^\W_]+|^\|", clause)) if found and found != ["|"]]
    linked = [found[0] == "|" for found in clauses]
    clauses = [found[1:] if link else found for found, link in zip(clauses, linked, strict=True)]
    about = _about_brakes({word for found in clauses for word in found})
    if "?" in text or any(_says_nothing_was_done(found) for found in clauses):
        return Work(unclear=about)
    read = _of_what_was_named(
        [
            (piece, None if not orders and ORDERS & set(found) else _clause(piece), link and not at)
            for found, link in zip(clauses, linked, strict=True)
            for at, piece in enumerate(_by_axle(found))
        ]
    )
    named = {axle for _, one in read if one for axle in one.axles}
    rows: list[Row] = []
    alone: list[Row] = []
    unclear = False
    for found, one in read:
        axles = one.axles or sorted(named) if one and (one.axles or len(named) == 1) else []
        if not one or not axles:
            if any(map(str.isdigit, "".join(found))) and not _numbered(found)[0]:  # 2023: another day's
                return Work(unclear=about)
            unclear |= not set(found) <= OTHER_WORK
            continue
        if one.action:
            rows += [(axle, one.side, part, one.action) for axle in axles for part in one.parts]
            continue
        renewed = [part for part in one.parts if part in RENEWED and not one.worn and not any(linked)]
        alone += [(axle, one.side, part, "replaced") for axle in axles for part in renewed]
        unclear |= renewed != one.parts
    return Work(tuple(rows), tuple(alone), unclear and about)


_DOES = re.compile(rf"\b(?:{'|'.join(sorted(ACTION_OF))}|done)\b|{_REMOVED.pattern}")


def in_note(text: str) -> tuple[Row, ...]:
    """What a note says was done to linings, rotors or drums; nothing for an order, ``replace front pads``, or for parts alone.

    >>> in_note("Squeals when cold. Front pads replaced")
    (('front', '', 'pads', 'replaced'),)
    >>> in_note("replace front pads"), in_note("front pads 4 mm")
    ((), ())
    """
    said = work(text, orders=False)
    rows = said.rows or (said.alone if "done" in _words(text) else ())
    return tuple(row for row in rows if row[2] in RENEWED and row[3] in ("replaced", "machined"))


def names_renewal(text: str) -> bool:
    """Whether a text holds a word for a lining, rotor or drum and one for its being replaced or machined."""
    found = set(_words(text))
    parts = {PART_OF[word] for word in found if word in PART_OF} | ({LININGS} if BRAKES & found else set())
    return bool(parts & set(RENEWED)) and bool({ACTION_OF.get(word) for word in found} & {"replaced", "machined"})


def may_tell(texts: pd.Series) -> np.ndarray:
    """Whether texts hold a word for something done, shape (texts,): those worth reading one by one."""
    plain = texts.str.normalize("NFKD").str.encode("ascii", "ignore").str.decode("ascii").str.lower()
    return plain.str.contains(_DOES, regex=True).to_numpy(dtype=bool)


_BRAKISH = re.compile(r"br(?:ak|em|oms)|frein|fren|rem[bvs]|trav|hamul|belag|pad|dis[ck]|rotor|drum|lining|shoe|plaq|pastil")


def _about_brakes(found: set[str]) -> bool:
    """Whether the words of a line may be about linings, rotors or drums, so that it is worth a finding where it is not clear."""
    places = words.FRONT | words.REAR | AXLES
    alone = len(found) == 1 and bool(found & (ACTION_OF.keys() | UNSURE))
    named = bool(found & (PART_OF.keys() | BRAKES)) or any(_BRAKISH.match(word) for word in found)
    return alone or named or bool(found & places and found & ACTION_OF.keys())


def _says_nothing_was_done(found: list[str]) -> bool:
    """Whether a clause leaves it open that anything of the whole text was done at this visit."""
    heard = HEARSAY & set(found) and bool(
        set(found) & (ACTION_OF.keys() | {word for word, part in PART_OF.items() if part in RENEWED})
    )
    return (
        bool(UNSURE & set(found)) or bool(heard) or set(found) in TAKEN_BACK or bool(DENIES & set(found)) and _of_another(found)
    )


def _of_another(found: list[str]) -> bool:
    """Whether a clause that denies something is of what another clause names: ``not done``, ``no``; ``rear pads not`` names its own."""
    own = PART_OF.keys() | BRAKES | words.FRONT | words.REAR
    return not own & set(found) and (len(found) < 3 or bool(set(found) & (ACTION_OF.keys() | {"done"})))


_YES = re.compile(r"(?i)x+|[✓✔☑√]|y(?:es)?|j(?:a)?|o(?:ui)?|si|sì|sí|sim|s|tak|t(?:rue)?|1|done|replaced|new|neu")
_NO = re.compile(r"(?i)n(?:o|ein|on|ee|ie|ej)?|0|f(?:alse)?|[-–—.]+|n/?a")
_ASKS = re.compile(r"(?i)\(?\b(?:y ?/ ?n|yes ?/ ?no|j ?/ ?n|ja ?/ ?nein|o ?/ ?n|oui ?/ ?non|s ?/ ?n|x)\b\)?|\?")


def of_heading(heading: str, beside: tuple[str, ...] = ()) -> tuple[Row, ...]:
    """What a heading over marks says was done: ``Front pads replaced (Y/N)``, ``New front pads``, ``Rear pads done``.

    Nothing for what is to be done, ``Replace front pads``, or asked, ``New front pads?``. ``R`` is the rear ``beside`` the same heading with F;
    without a part the linings are meant.
    """
    asks = heading.rstrip().endswith("?")
    plain = _ASKS.sub(" ", heading)
    if any(_FRONT.sub("R", _ASKS.sub(" ", other)) == _LETTER_R.sub("R", plain) for other in beside if other != heading):
        plain = _LETTER_R.sub("rear", plain)
    found = set(_words(plain))
    if found & ORDERS or asks and found & headings.NEW:
        return ()
    said = work(plain)
    if not said.rows and not said.alone and found & ACTION_OF.keys():
        said = work(f"{plain} {'rotor' if 'machined' in {ACTION_OF.get(word) for word in found} else LININGS}")
    return said.rows or (said.alone if "done" in found else ()) if not said.unclear else ()


def done_by_heading(heading: str) -> bool:
    """Whether a heading is a word for something done to linings and no more: ``Relined``, over the axles."""
    return action_alone(heading) == "replaced" and not headings.NEW & set(headings.tokens(heading))


_FRONT, _LETTER_R = re.compile(r"(?i)\b(?:f|ft|frt|front)\b"), re.compile(r"(?i)\b(?:r|rr)\b")


def mark(text: str) -> bool | None:
    """Whether a cell marks that something was done, ``x`` or ``yes``, or was not, ``no``; None where it is no mark."""
    if _YES.fullmatch(text.strip()):
        return True
    return False if not text.strip() or _NO.fullmatch(text.strip()) else None


def _apart(found: list[str]) -> list[list[str]]:
    """A clause cut at the word ``and`` between two things done: ``shoes replaced and drums skimmed``."""
    for at, word in enumerate(found):
        before, after = ({ACTION_OF[one] for one in its if one in ACTION_OF} for its in (found[:at], found[at + 1 :]))
        if word in AND and before and after and before != after:
            return [found[:at], *_apart(found[at + 1 :])]
    return [found]


@dataclass(frozen=True)
class _Clause:
    axles: list[str]
    side: str
    parts: list[str]
    action: str
    worn: bool = False
    """Whether it says what the parts were like, and not what was done to them."""


def _of_what_was_named(read: list[tuple[list[str], _Clause | None, bool]]) -> list[tuple[list[str], _Clause | None]]:
    """The clauses, one of what was done and no more joined to the one before it that says of what: ``front pads worn, replaced``, ``front pads:
    replaced``. The third of each says that a colon or dash stands before it."""
    out: list[tuple[list[str], _Clause | None]] = []
    for words_of, one, link in read:
        found, before = set(words_of), out[-1][1] if out else None
        done = {ACTION_OF[word] for word in found if word in ACTION_OF}
        of_it = before and not before.action and (before.worn or link)
        if of_it and len(done) == 1 and found <= ACTION_OF.keys() | CONDITION | _JOINS and not found & ORDERS:
            out[-1] = [*out[-1][0], *words_of], replace(before, action=done.pop(), worn=False)
        else:
            out.append((words_of, one))
    return out


_SHORT_AXLES = {"va": "front", "ha": "rear", "av": "front", "ar": "rear"}
_JOINS = frozenset("and the both all so we also x done und et y e".split())
_DASHES = re.compile(r"(?::| [-–—])(?= )")


def _names_no_action(before: str) -> bool:
    """Whether the clause that a colon or dash ends names a part and nothing done to it; ``front: pads replaced`` and ``pads replaced - pending``
    are one clause each."""
    found = set(re.findall(r"[^\W_]+", re.split(r"[;,.\n]", before)[-1]))
    return bool(found & PART_OF.keys()) and not found & ACTION_OF.keys()


def _by_axle(found: list[str]) -> list[list[str]]:
    """A clause of several axles and parts cut so that each part keeps its own axle: ``front pads and rear shoes replaced``.

    Each piece keeps what was done. Axles all before the parts, or behind them, are of every part; where the order says neither, the clause
    is given as an axle without a part, which is not clear.
    """
    axles = words.FRONT | words.REAR | _SHORT_AXLES.keys()
    kinds = [
        "A" if word in axles or re.fullmatch(r"(?:ax|axle|achse|essieu)[1-9]", word) or word in AXLES and after[:1].isdigit()
        else "P" if word in PART_OF else "" for word, after in zip(found, [*found[1:], ""], strict=True)
    ]  # fmt: skip
    marks = [(at, kind) for at, kind in enumerate(kinds) if kind]
    runs = [one for n, one in enumerate(marks) if not n or marks[n - 1][1] != one[1]]
    order = "".join(kind for _, kind in runs)
    parts = {PART_OF[word] for word in found if word in PART_OF}
    several = len({found[at] for at, kind in marks if kind == "A"}) > 1 or sum(word in AXLES for word in found) > 1
    if len(order) < 3 or len(parts) < 2 or not several:
        return [found]
    if order[0] == order[-1]:
        return [[word for word, kind in zip(found, kinds, strict=True) if kind != "P"]]
    cuts = [at for at, kind in runs if kind == order[0]][1:]
    done = [word for word in found if word in ACTION_OF]
    pieces = [found[begin:end] for begin, end in zip([0, *cuts], [*cuts, None], strict=True)]
    return [piece if set(piece) & ACTION_OF.keys() else [*piece, *done] for piece in pieces]


def _clause(found: list[str]) -> _Clause | None:
    """What a clause names; None where a word of it is not known, or it names no part, several actions or sides."""
    parts = list(dict.fromkeys(PART_OF[word] for word in found if word in PART_OF))
    parts = parts or ([LININGS] if (BRAKES | RELINED) & set(found) else [])
    actions = {ACTION_OF[word] for word in found if word in ACTION_OF}
    front = {"f"} if parts else set()  # F pads
    axles, sides = (
        _named(found, words.FRONT | front, words.REAR, "front", "rear"),
        _named(found, words.LEFT, words.RIGHT, "left", "right"),
    )
    numbers, words_of = _numbered(found)
    axles = axles or numbers or (["front", "rear"] if "all" in found and not sides else [])
    found = [word for word in found if word not in words_of]
    places = {*words.FRONT, *words.REAR, *words.LEFT, *words.RIGHT, *front, "va", "ha", "av", "ar"}
    known = {*PART_OF, *ACTION_OF, *SMALL, *ALONE, *BRAKES, *CONDITION, *places}
    if len(actions) > 1 or not parts or len(sides) > 1 or not set(found) <= known:  # a word of DENIES is not known
        return None
    action = next(iter(actions), "")
    if action == "machined" and {*parts} & {"pads", "shoes"} or parts == [LININGS] and action not in ("", "replaced"):
        return None
    return _Clause(axles, sides[0] if sides else "", parts, action, not action and bool(CONDITION & set(found)))


def _numbered(found: list[str]) -> tuple[list[str], set[str]]:
    """Axles named by their number, ``axle 2``, ``ax1``, ``axles 1 & 2``, and the words that name them."""
    out, used, behind = [], set(), False
    for word in found:
        joined = re.fullmatch(r"(?:ax|axle|achse|essieu)([1-9])", word)
        if joined or behind and re.fullmatch(r"[1-9]", word):
            out.append(joined[1] if joined else word)
            used.add(word)
        behind = word in AXLES or behind and (word in AND or word.isdigit())
        used |= {word} if word in AXLES else set()
    return out, used if out else set()


def _named(found, first, second, one, other) -> list[str]:
    names = [one for word in found if word in first or _SHORT_AXLES.get(word) == one]
    names += [other for word in found if word in second or _SHORT_AXLES.get(word) == other]
    return list(dict.fromkeys(names))


def part_of_work(measured: str) -> str:
    """The work table's part for a measured part."""
    family = headings.LINING_WORDS.get(measured.removesuffix("_pad"), "")
    return {"rotor": "rotor", "drum": "drum"}.get(measured, "shoes" if "shoe" in measured or family == "shoe" else "pads")
