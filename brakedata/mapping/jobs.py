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

ACTIONS = {
    "replaced": "replaced replace replacement replacing renewed renew rpl repl slap installed fit fitted changed new install ersetzt "
    "erneuert gewechselt neu remplacement changement sustitucion recambio vervanging sostituzione substituicao troca remplace remplacee remplacees "
    "remplaces change changees neuf neuves cambiado cambiadas cambiados cambio nuevas nuevos sustituidas sustituidos vervangen vernieuwd "
    "getauscht ausgetauscht sostituite sostituiti sostituito sostituita substituidas substituidos substituido trocado trocadas trocados wymieniono "
    "wymienione wymiana skiftet byttet bytt bytta vaihdettu vymeneno vymena relined reline relining",
    "machined": "machined machine machining turned turn resurfaced resurface skimmed skim skimming abgedreht rectification rectificacion "
    "rectifie rectifies rectifiee rectifiees rectificado rectificados rectificada rectificadas rettificato rettificati rettificata "
    "afgedraaid svarvad svarvade svarvat retificado retificados rettifica retificacao przetoczone afdrejet avdreid sorvattu",
    "cleaned": "cleaned clean gereinigt nettoye nettoyes limpiado limpiados limpieza",
    "lubricated": "lubricated greased lubed geschmiert gefettet graisse engrasado",
    "freed": "freed gangbar debloque liberado",
    "adjusted": "adjusted eingestellt nachgestellt regle ajustado",
    "checked": "checked inspected measured gepruft controle controles revisado revisados",
}
PARTS = {
    "pads": "pad pads belag belage bremsbelag bremsbelage plaquette plaquettes pastilla pastillas remblok remblokken "
    "blokken klotze bremsklotze klotz pastiglie pastiglia pastilhas pastilha klocki klodser klosser kloss belagg desticky klockow "
    "bromsbelagg bremseklosser bremseklodser bremsebelegg",
    "shoes": "shoe shoes backen bremsbacke bremsbacken machoire machoires zapata zapatas remschoen remschoenen",
    "rotor": "rotor rotors disc discs disk disks bremsscheibe bremsscheiben scheibe scheiben disque disques disco discos remschijf remschijven "
    "schijven dischi tarcze tarcz skiver skivor bromsskivor bromsskiva bremseskiver",
    "drum": "drum drums trommel trommeln bremstrommel tambour tambours tambor tambores",
    "caliper": "caliper calipers calliper callipers bremssattel sattel etrier etriers pinza pinzas",
    "slide_pins": "slide slides pins sliders guide",
    "hardware": "hardware clips abutment",
    "fluid": "fluid bremsflussigkeit liquide liquido",
    "hose": "hose hoses flexible flexibles",
}
_ACTION = {word: action for action, those in ACTIONS.items() for word in those.split()}
_PART = {word: part for part, those in PARTS.items() for word in those.split()}
PART_WORDS = frozenset(_PART)
UNSURE = frozenset(
    "never declined decline recommend recommended recommends advise advised needs need needed next soon due quote quoted order ordered should "
    "empfohlen demnachst prevoir refuse pendiente required require remaining rec adv suggest suggested book booked booking monitor awaiting "
    "waiting last previous previously prev ago already earlier elsewhere dealer dealership owner himself herself yesterday since letzte letzten "
    "letzter letztes vorher bereits schon dernier derniere deja ultimo ultima anterior ya antes vorige eerder gia prima precedente will if "
    "unless must had".split()
)
"""Words by which nothing that a text says was done, or not at this visit."""
HEARSAY = frozenset("says said states stated claims told reports reported complains".split())
"""Words by which what the clause says of linings was not done here: ``driver says front pads replaced``."""
DENIES = frozenset("not no t ok good nicht kein keine pas non sin niet geen was were been".split())
"""Words by which what the clause itself says was not done: ``front pads ok, rear pads replaced``."""
CONDITION = frozenset(
    "worn glazed low thin cracked scored rusty rusted seized corroded warped lipped pitted contaminated soaked noisy squealing grinding uneven unevenly "
    "badly very out down metal under warranty to now verschlissen abgefahren usees usees gastadas versleten".split()
)
"""Words for what a part was like, beside one for what was done to it: ``front pads worn, replaced``."""
_SMALL = frozenset(
    "and & + the with of on at all both brake brakes set sets kit w und die der den mit et les des y las los de da das dos del con x 2 axle "
    "achse u jeu jeux e i og och en we ax this visit round around".split()
)


OTHER_WORK = frozenset(
    "oil filter change lube service serviced insp inspect inspection inspected annual mot tyre tyres tire tires wheel wheels rotate rotated rotation "
    "balance alignment wash washed wiper wipers battery bulb bulbs coolant belt plugs ac a c and general check checked road test routine safety pm "
    "interim full minor major olwechsel inspektion vidange revision aceite cambio de none nothing n na nil ok".split()
)
"""Words of work that is no work on brakes: a line of no others is no brake job."""
REPLACED_ALONE = "replaced"
"""What the shop has said that a part alone means; any other answer leaves it a note."""
LININGS = "linings"
"""Brakes without a word for pads or shoes: ``front brakes replaced``."""
_ALONE = frozenset("job done".split())
_BRAKES = frozenset(
    "brake brakes brks bremsen bremse freins frenos remmen freni travoes lining linings garniture garnitures belage balatas".split()
)
_ORDERS = frozenset(
    "replace replacement replacing renew install fit change turn resurface skim machine clean cambio wymiana vymena remplacement changement "
    "sustitucion recambio vervanging sostituzione substituicao troca rectification rectificacion rettifica retificacao rpl repl slap".split()
)
"""Words that say what is to be done, where a participle says that it was."""
_RELINED = frozenset("relined reline relining".split())
RENEWED = ("pads", "shoes", "rotor", "drum", LININGS)
"""Parts that a job named by them renews; slides, hoses and calipers may have been cleaned or freed."""
_REMOVED = re.compile(r"\br ?(?:&|and|\+|n|/) ?r\b")
"""R&R: removed and replaced."""

_FIRST_AXLE = re.compile(
    r"\b(?:(?P<number>[1-9])(?:st|nd|rd|th|er|re|e|eme|a|o|\.|ª|º) ?|(?P<word>first|second|third) )(?:axle|achse|essieu|eje|eixo|asse|as)\b"
)
"""``1st axle``, ``1. Achse``, ``2e essieu``."""

_TRUCK_AXLE = re.compile(rf"\b(?P<name>{'|'.join(words.TRUCK_AXLES)})\b(?: (?P<axle>axles?))?", re.I)
_REFUSED = frozenset(
    "declined rejected refused deferred cancelled canceled quoted abgelehnt verschoben storniert refuse refusee annule annulee rechazado cancelado "
    "geweigerd geannuleerd rifiutato annullato recusado odmowa".split()
)
_DECIDED = frozenset(
    "approved accepted authorised authorized completed complete done yes no by customer client owner pending open closed waiting awaiting approval in "
    "progress not ok invoiced paid ready for parts today next visit".split()
)
"""Words of which a column of decisions consists."""

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


def action_alone(text: str) -> str:
    """The action that a cell names and nothing else, ``Replaced``; empty where it says more."""
    found = re.findall(r"[^\W_]+", fold(tidy(text)).replace("ß", "ss"))
    return _ACTION.get(found[0], "") if len(found) == 1 and found[0] not in _ORDERS else ""


def action_of_heading(heading: str) -> str:
    """The action that a heading asks of each row's place: ``Replaced?``, ``Pads replaced``; empty for an order, or where it names an axle."""
    found = set(re.findall(r"[^\W_]+", fold(tidy(heading)).replace("ß", "ss")))
    actions = {_ACTION[word] for word in found if word in _ACTION and word not in headings.NEW}
    known = found <= _ACTION.keys() | _PART.keys() | _BRAKES | _SMALL | {"y", "n", "yes", "no", "done"}
    return actions.pop() if len(actions) == 1 and known and not found & _ORDERS else ""


def refused(text: str) -> bool | None:
    """Whether a cell of decisions says that the work of its row was not done, ``Declined``; None for a cell of anything else."""
    found = set(re.findall(r"[^\W_]+", fold(tidy(text)).replace("ß", "ss")))
    return bool(found & _REFUSED) if found <= _DECIDED | _REFUSED else None


def with_numbers(text: str, axles: tuple[str, ...]) -> str:
    """A line of work with the named axles of a truck by their numbers: ``steer axle pads`` as ``axle 1 pads``."""

    def number(named: re.Match) -> str:
        at = [str(place) for place, name in enumerate(axles, 1) if name == words.TRUCK_AXLES[named["name"].casefold()]]
        return f"axle {' & '.join(at)}" if len(at) == 1 or at and named["axle"] == "axles" else named[0]

    return _TRUCK_AXLE.sub(number, text) if axles else text


def names_action(text: str) -> bool:
    """Whether a text holds a word for something done: replaced, machined, checked."""
    return any(word in _ACTION for word in re.findall(r"[^\W_]+", fold(tidy(text)).replace("ß", "ss")))


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
    clauses = [
        found for clause in re.split(r"[;,.\n]|\bthen\b", plain) for found in _apart(re.findall(r"[^\W_]+", clause)) if found
    ]
    about = _about_brakes({word for found in clauses for word in found})
    if "?" in text or any(_says_nothing_was_done(found) for found in clauses):
        return Work(unclear=about)
    read = _of_what_was_worn([(found, None if not orders and _ORDERS & set(found) else _clause(found)) for found in clauses])
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
        renewed = [part for part in one.parts if part in RENEWED and not one.worn]
        alone += [(axle, one.side, part, "replaced") for axle in axles for part in renewed]
        unclear |= renewed != one.parts
    return Work(tuple(rows), tuple(alone), unclear and about)


_DOES = re.compile(rf"\b(?:{'|'.join(sorted(_ACTION))}|done)\b|{_REMOVED.pattern}")


def in_note(text: str) -> tuple[Row, ...]:
    """What a note says was done to linings, rotors or drums; nothing for an order, ``replace front pads``, or for parts alone.

    >>> in_note("Squeals when cold. Front pads replaced")
    (('front', '', 'pads', 'replaced'),)
    >>> in_note("replace front pads"), in_note("front pads 4 mm")
    ((), ())
    """
    said = work(text, orders=False)
    rows = said.rows or (said.alone if "done" in re.findall(r"[^\W_]+", fold(tidy(text))) else ())
    return tuple(row for row in rows if row[2] in RENEWED and row[3] in ("replaced", "machined"))


def names_renewal(text: str) -> bool:
    """Whether a text holds a word for a lining, rotor or drum and one for its being replaced or machined."""
    found = set(re.findall(r"[^\W_]+", fold(tidy(text)).replace("ß", "ss")))
    parts = {_PART[word] for word in found if word in _PART} | ({LININGS} if _BRAKES & found else set())
    return bool(parts & set(RENEWED)) and bool({_ACTION.get(word) for word in found} & {"replaced", "machined"})


def may_tell(texts: pd.Series) -> np.ndarray:
    """Whether texts hold a word for something done, shape (texts,): those worth reading one by one."""
    plain = texts.str.normalize("NFKD").str.encode("ascii", "ignore").str.decode("ascii").str.lower()
    return plain.str.contains(_DOES, regex=True).to_numpy(dtype=bool)


_BRAKISH = re.compile(r"br(?:ak|em|oms)|frein|fren|rem[bvs]|trav|hamul|belag|pad|dis[ck]|rotor|drum|lining|shoe|plaq|pastil")


def _about_brakes(found: set[str]) -> bool:
    """Whether the words of a line may be about linings, rotors or drums, so that it is worth a finding where it is not clear."""
    places = words.FRONT | words.REAR | _AXLES
    alone = len(found) == 1 and bool(found & (_ACTION.keys() | UNSURE))
    named = bool(found & (_PART.keys() | _BRAKES)) or any(_BRAKISH.match(word) for word in found)
    return alone or named or bool(found & places and found & _ACTION.keys())


def _says_nothing_was_done(found: list[str]) -> bool:
    """Whether a clause leaves it open that anything of the whole text was done at this visit."""
    heard = HEARSAY & set(found) and bool(
        set(found) & (_ACTION.keys() | {word for word, part in _PART.items() if part in RENEWED})
    )
    return bool(UNSURE & set(found)) or bool(heard) or bool(DENIES & set(found)) and _of_another(found)


def _of_another(found: list[str]) -> bool:
    """Whether a clause that denies something is of what another clause names: ``not done``, ``no``; ``rear pads not`` names its own."""
    own = _PART.keys() | _BRAKES | words.FRONT | words.REAR
    return not own & set(found) and (len(found) < 3 or bool(set(found) & (_ACTION.keys() | {"done"})))


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
    found = set(re.findall(r"[^\W_]+", fold(tidy(plain)).replace("ß", "ss")))
    if found & _ORDERS or asks and found & headings.NEW:
        return ()
    said = work(plain)
    if not said.rows and not said.alone and found & _ACTION.keys():
        said = work(f"{plain} {'rotor' if 'machined' in {_ACTION.get(word) for word in found} else LININGS}")
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
        before, after = ({_ACTION[one] for one in its if one in _ACTION} for its in (found[:at], found[at + 1 :]))
        if word in _AND and before and after and before != after:
            return [found[:at], *_apart(found[at + 1 :])]
    return [found]


_AND = frozenset("and und et y e i og och en".split())


@dataclass(frozen=True)
class _Clause:
    axles: list[str]
    side: str
    parts: list[str]
    action: str
    worn: bool = False
    """Whether it says what the parts were like, and not what was done to them."""


def _of_what_was_worn(read: list[tuple[list[str], _Clause | None]]) -> list[tuple[list[str], _Clause | None]]:
    """The clauses, one of what was done and no more joined to the one before it of what was worn: ``front pads worn, replaced``."""
    out: list[tuple[list[str], _Clause | None]] = []
    for words_of, one in read:
        found, before = set(words_of), out[-1][1] if out else None
        done = {_ACTION[word] for word in found if word in _ACTION}
        if before and before.worn and len(done) == 1 and found <= _ACTION.keys() | _SMALL | CONDITION and not found & _ORDERS:
            out[-1] = [*out[-1][0], *words_of], replace(before, action=done.pop(), worn=False)
        else:
            out.append((words_of, one))
    return out


def _clause(found: list[str]) -> _Clause | None:
    """What a clause names; None where a word of it is not known, or it names no part, several actions or sides."""
    parts = list(dict.fromkeys(_PART[word] for word in found if word in _PART))
    parts = parts or ([LININGS] if (_BRAKES | _RELINED) & set(found) else [])
    actions = {_ACTION[word] for word in found if word in _ACTION}
    front = {"f"} if parts else set()  # F pads
    axles, sides = (
        _named(found, words.FRONT | front, words.REAR, "front", "rear"),
        _named(found, words.LEFT, words.RIGHT, "left", "right"),
    )
    numbers, words_of = _numbered(found)
    axles = axles or numbers or (["front", "rear"] if "all" in found and not sides else [])
    found = [word for word in found if word not in words_of]
    places = {*words.FRONT, *words.REAR, *words.LEFT, *words.RIGHT, *front, "va", "ha", "av", "ar"}
    known = {*_PART, *_ACTION, *_SMALL, *_ALONE, *_BRAKES, *CONDITION, *places}
    if len(actions) > 1 or not parts or len(sides) > 1 or not set(found) <= known:  # a word of DENIES is not known
        return None
    action = next(iter(actions), "")
    if parts == [LININGS] and action not in ("", "replaced"):
        return None
    return _Clause(axles, sides[0] if sides else "", parts, action, not action and bool(CONDITION & set(found)))


_AXLES = frozenset("axle axles ax achse achsen essieu essieux eje ejes asse assi eixo as assen os osie aksel".split())


def _numbered(found: list[str]) -> tuple[list[str], set[str]]:
    """Axles named by their number, ``axle 2``, ``ax1``, ``axles 1 & 2``, and the words that name them."""
    out, used, behind = [], set(), False
    for word in found:
        joined = re.fullmatch(r"(?:ax|axle|achse|essieu)([1-9])", word)
        if joined or behind and re.fullmatch(r"[1-9]", word):
            out.append(joined[1] if joined else word)
            used.add(word)
        behind = word in _AXLES or behind and (word in _AND or word.isdigit())
        used |= {word} if word in _AXLES else set()
    return out, used if out else set()


def _named(found, first, second, one, other) -> list[str]:
    german = {"va": "front", "ha": "rear", "av": "front", "ar": "rear"}
    names = [one for word in found if word in first or german.get(word) == one]
    names += [other for word in found if word in second or german.get(word) == other]
    return list(dict.fromkeys(names))


def part_of_work(measured: str) -> str:
    """The work table's part for a measured part."""
    family = headings.LINING_WORDS.get(measured.removesuffix("_pad"), "")
    return {"rotor": "rotor", "drum": "drum"}.get(measured, "shoes" if "shoe" in measured or family == "shoe" else "pads")
