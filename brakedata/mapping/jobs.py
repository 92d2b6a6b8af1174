"""Work done as people write it, one line of words, to rows of the work table: only where part, action and axle are all clear."""

import re

from brakedata import headings
from brakedata.cells import words
from brakedata.cells.text import fold, tidy

ACTIONS = {
    "replaced": "replaced replace renewed fitted changed new install installed ersetzt erneuert gewechselt neu remplace remplacees remplaces change "
    "changees neuf neuves cambiado cambiadas cambiados cambio nuevas nuevos sustituidas sustituidos vervangen vernieuwd",
    "machined": "machined turned resurfaced skimmed abgedreht rectifie rectificado",
    "cleaned": "cleaned clean gereinigt nettoye nettoyes limpiado limpiados limpieza",
    "lubricated": "lubricated greased lubed geschmiert gefettet graisse engrasado",
    "freed": "freed gangbar debloque liberado",
    "adjusted": "adjusted eingestellt nachgestellt regle ajustado",
    "checked": "checked inspected measured gepruft controle controles revisado revisados",
}
PARTS = {
    "pads": "pad pads belag belage bremsbelag bremsbelage plaquette plaquettes pastilla pastillas remblok remblokken",
    "shoes": "shoe shoes bremsbacke bremsbacken machoire machoires zapata zapatas remschoen remschoenen",
    "rotor": "rotor rotors disc discs disk disks bremsscheibe bremsscheiben scheibe scheiben disque disques disco discos remschijf remschijven",
    "drum": "drum drums trommel trommeln bremstrommel tambour tambours tambor tambores",
    "caliper": "caliper calipers calliper callipers bremssattel sattel etrier etriers pinza pinzas",
    "slide_pins": "slide slides pins sliders guide",
    "hardware": "hardware clips abutment",
    "fluid": "fluid bremsflussigkeit liquide liquido",
    "hose": "hose hoses flexible flexibles",
}
_ACTION = {word: action for action, those in ACTIONS.items() for word in those.split()}
_PART = {word: part for part, those in PARTS.items() for word in those.split()}
UNSURE = frozenset(
    "not no never declined decline recommend recommended recommends advise advised needs need needed next soon due quote quoted order ordered will "
    "should if unless ok good nicht kein keine empfohlen demnachst pas non a prevoir refuse sin pendiente niet geen required require must left "
    "remaining".split()
)
_SMALL = frozenset(
    "and & + the with of on at all both brake brakes set sets kit und die der den mit et les des y las los de con x 2 axle achse".split()
)


def names_action(text: str) -> bool:
    """Whether a text holds a word for something done: replaced, machined, checked."""
    return any(word in _ACTION for word in re.findall(r"[^\W_]+", fold(tidy(text)).replace("ß", "ss")))


def read(text: str) -> list[tuple[str, str, str, str]] | None:
    """``(axle, side, part, action)`` of everything a line of words says was done; None where it is not clear.

    >>> read("Front pads and rotors replaced")
    [('front', '', 'pads', 'replaced'), ('front', '', 'rotor', 'replaced')]
    >>> read("recommend rear pads soon") is None
    True
    """
    out: list[tuple[str, str, str, str]] = []
    for clause in re.split(r"[;,.\n]|\bthen\b", fold(tidy(text)).replace("ß", "ss")):
        found = re.findall(r"[^\W_]+", clause)
        if not found:
            continue
        rows = _clause(found)
        if rows is None:
            return None
        out += rows
    return out or None


def _clause(found: list[str]):
    parts = list(dict.fromkeys(_PART[word] for word in found if word in _PART))
    actions = {_ACTION[word] for word in found if word in _ACTION}
    axles, sides = (
        _named(found, words.FRONT, words.REAR, "front", "rear"),
        _named(found, words.LEFT, words.RIGHT, "left", "right"),
    )
    axles = axles or (["front", "rear"] if "all" in found and not sides else [])
    known = {*_PART, *_ACTION, *_SMALL, *words.FRONT, *words.REAR, *words.LEFT, *words.RIGHT, "va", "ha"}
    if UNSURE & set(found) or len(actions) != 1 or not parts or not axles or len(sides) > 1 or not set(found) <= known:
        return None
    side = sides[0] if sides else ""
    return [(axle, side, part, next(iter(actions))) for axle in axles for part in parts]


def _named(found, first, second, one, other) -> list[str]:
    german = {"va": "front", "ha": "rear"}
    names = [one for word in found if word in first or german.get(word) == one]
    names += [other for word in found if word in second or german.get(word) == other]
    return list(dict.fromkeys(names))


def part_of_work(measured: str) -> str:
    """The work table's part for a measured part."""
    family = headings.LINING_WORDS.get(measured.removesuffix("_pad"), "")
    return {"rotor": "rotor", "drum": "drum"}.get(measured, "shoes" if "shoe" in measured or family == "shoe" else "pads")
