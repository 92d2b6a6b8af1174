"""What people write above a column, and what it means: the trade's words in English, German, French and Spanish.

To teach a new heading, add its words to the line they belong to, in lower case and without accents. Source of the word lists:
common practice, no source.
"""

import re
from dataclasses import dataclass

from brakedata import cells
from brakedata.cells import text as cell_text
from brakedata.cells import words

ROLES = {
    "vehicle_id": "the vehicle's name or number",
    "vin": "vehicle identification number",
    "description": "description of the vehicle",
    "wear_class": "kind of vehicle (wears alike)",
    "duty": "what the vehicle is used for",
    "date": "date of the visit or reading",
    "odometer": "odometer",
    "distance_unit": "unit of the odometer (km, mi)",
    "visit_id": "number of the visit, job or invoice",
    "reason": "why it came in",
    "complaint": "complaint, in the customer's or driver's words",
    "technician": "who did the work",
    "note": "a note",
    "work": "work done, in words",
    "product_line": "parts fitted",
    "cost": "what it cost",
    "axle": "axle",
    "side": "side",
    "part": "part (inner pad, rotor ...)",
    "position": "place on the vehicle (LF, rear left inner ...)",
    "measure": "what was measured (thickness, diameter ...)",
    "unit": "unit of the readings (mm, in, 32nds)",
    "taken": "before or after the work",
    "thickness": "thickness readings",
    "diameter": "drum diameters",
    "runout": "runout readings",
    "not used": "not used",
}
"""Everything a column can be, in words for a person."""

READINGS = ("thickness", "diameter", "runout")


def _phrases(text: str) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(phrase.split()) for phrase in text.replace("\n", " ").split(",") if phrase.strip())


PHRASES = {
    "vehicle_id": _phrases(
        "vehicle id, vehicle no, vehicle number, vehicle, veh, veh id, veh no, unit no, unit number, unit id, fleet no, fleet number, fleet id, asset, "
        "asset id, asset no, bus, bus no, truck, truck no, van, van no, car, car no, reg, reg no, registration, registration no, plate, plate no, "
        "licence plate, license plate, number plate, fahrzeug, fahrzeugnummer, fahrzeug nr, fzg, fzg nr, kfz, kennzeichen, wagen, "
        "wagennummer, wagen nr, vehicule, no vehicule, immatriculation, immat, parc, no parc, vehiculo, matricula, placa, unidad, coche, camion, "
        "furgoneta, veiculo, matriculation"
    ),
    "vin": _phrases("vin, vin no, vin number, chassis, chassis no, chassis number, fahrgestellnummer, fin, numero de chassis, bastidor, no de serie"),
    "description": _phrases(
        "vehicle description, vehicle model, vehicle make, vehicle type, make, model, make model, modell, modele, modelo, marque, marca, description, "
        "fahrzeugtyp, typ, vehicle name"
    ),
    "wear_class": _phrases("class, vehicle class, wear class, fleet class, vehicle category, category, fahrzeugklasse, klasse, categorie, categoria, clase"),
    "duty": _phrases("duty, usage, service type of use, einsatz, einsatzart, usage type, uso"),
    "date": _phrases(
        "date, visit date, service date, inspection date, check date, job date, transaction date, date in, date of visit, date of service, date checked, "
        "date done, datetime, date time, datetime occurred, date occurred, day, datum, tag, prufdatum, besuchsdatum, jour, date de visite, "
        "date visite, date controle, fecha, dia, fecha visita, fecha de visita"
    ),
    "odometer": _phrases(
        "odometer, odo, odom, odometer reading, odo reading, current odometer, current odo, adjusted odometer, mileage, current mileage, miles, km, kms, "
        "kilometers, kilometres, clock, clock reading, speedo, speedo reading, km stand, kmstand, kilometerstand, laufleistung, tachostand, tacho, "
        "kilometer, kilometrage, compteur, km compteur, kilometraje, cuentakilometros, kilometros, odometro, hodometro"
    ),
    "distance_unit": _phrases("odometer unit, odo unit, distance unit, mileage unit, km or mi, km mi, odometer units, distance units"),
    "visit_id": _phrases(
        "visit id, visit, visit no, visit number, job no, job number, job id, ro, ro no, ro number, repair order, repair order no, work order, work order no, "
        "work order number, wo, wo no, order no, invoice, invoice no, invoice number, inspection no, inspection id, ticket, ticket no, inc id, "
        "incident, incident id, jobcard, job card, job card no, auftrag, auftragsnummer, auftragsnr, auftrag nr, rechnung, rechnungsnummer, "
        "ordre, no ordre, ordre de reparation, facture, no facture, orden, orden de trabajo, factura, no factura, besuch nr"
    ),
    "reason": _phrases("reason, visit reason, reason for visit, visit type, service type, grund, anlass, motif, motivo"),
    "complaint": _phrases(
        "complaint, complaints, customer complaint, driver complaint, customer concern, concern, driver report, driver says, symptom, symptoms, "
        "problem, fault, faults, defect, defects, issue, beanstandung, mangel, reklamation, kundenangabe, plainte, symptome, queja, averia, sintoma"
    ),
    "technician": _phrases(
        "technician, tech, mechanic, fitter, inspector, checked by, done by, by, initials, mechaniker, monteur, prufer, techniker, mecanicien, "
        "technicien, mecanico, tecnico"
    ),
    "note": _phrases(
        "note, notes, remark, remarks, comment, comments, bemerkung, bemerkungen, anmerkung, anmerkungen, hinweis, remarque, remarques, commentaire, "
        "commentaires, observaciones, observations, nota, notas, comentario, comentarios, other, free text"
    ),
    "work": _phrases(
        "work, work done, work performed, job, job done, jobs, repair, repairs, repairs done, action, action taken, service done, parts replaced, "
        "arbeit, arbeiten, durchgefuhrte arbeiten, arbeiten ausgefuhrt, travaux, travail, travaux effectues, intervention, trabajo, trabajos, "
        "trabajo realizado, trabajos realizados, reparacion, reparation"
    ),
    "product_line": _phrases("brand, pad brand, parts brand, product line, product, part line, pad make, pad type, parts used, fabrikat, hersteller, marke"),
    "cost": _phrases("cost, price, amount, total cost, total price, kosten, preis, betrag, cout, prix, montant, coste, costo, precio, importe"),
    "axle": _phrases("axle, axle no, axle number, achse, essieu, eje"),
    "side": _phrases("side, seite, cote, lado"),
    "part": _phrases("part, component, item, bauteil, teil, piece, pieza, pad, inner outer, in out, inner or outer, pad position"),
    "position": _phrases("position, pos, wheel, wheel position, corner, location, brake position, rad, radposition, roue, rueda, emplacement, posicion"),
    "measure": _phrases("measure, measure type, measured, what, dimension, kind of measure, messgrosse"),
    "unit": _phrases("unit, units, uom, unit of measure, reading unit, thickness unit, einheit, unite, unidad, unidad de medida"),
    "taken": _phrases("taken, before after, before or after, before, when taken, vorher nachher, avant apres, antes despues"),
    "thickness": _phrases(
        "thickness, pad thickness, lining thickness, pads, pad, lining, linings, shoe, shoes, shoe thickness, pad depth, pad reading, reading, readings, "
        "measurement, measurements, value, pad remaining, lining remaining, remaining, pad left, brake pads, brake pad, brake lining, brake linings, brakes, "
        "brake, belag, belagstarke, belage, bremsbelag, bremsbelage, restbelag, belagdicke, dicke, starke, messwert, wert, epaisseur, plaquette, "
        "plaquettes, garniture, garnitures, valeur, mesure, espesor, pastilla, pastillas, medida, valor, grosor"
    ),
    "diameter": _phrases("drum diameter, drum dia, diameter, trommeldurchmesser, diametre, diametre tambour, diametro"),
    "runout": _phrases("runout, run out, rotor runout, seitenschlag, voile, alabeo"),
}  # fmt: skip
"""Headings by what they mean, as words in a row; the longest that is found in a heading wins."""

OF_ANY_HEADING = ("date", "odometer", "complaint", "note", "cost", "thickness", "diameter", "runout")
"""Roles whose words count in any heading; those of the others must be all that it says."""
SAYS_NOTHING = frozenset("no nr number id code name the our fleet km mi mm in of de der du des n".split())

ODOMETER_OF_ANOTHER_TIME = frozenset(
    "previous prev last next since driven distance per due remaining limit interval trip start end begin new change was before letzter letzte nachster "
    "dernier prochain ultimo proximo anterior".split()
)
DATE_OF_SOMETHING_ELSE = frozenset(
    "next due birth expiry expires expiration retired service-due last previous prev order ordered invoice paid printed created updated entered "
    "nachste nachster prochaine prochain proxima proximo registration build built purchase purchased mot letzte".split()
)
TYRES = frozenset(
    "tyre tyres tire tires tread treads reifen profil profiltiefe pneu pneus neumatico neumaticos pressure psi bar kpa".split()
)
BRAKES = frozenset(
    "brake brakes pad pads lining linings shoe shoes rotor rotors disc discs disk drum drums belag belage bremsbelag bremsbelage bremse bremsen "
    "restbelag belagstarke belagdicke bremsscheibe bremsbacke frein freins plaquette plaquettes garniture garnitures machoire freno frenos pastilla "
    "pastillas zapata zapatas bremsen bremsenprufung bremspruefung".split()
)
LINING_WORDS = {
    **{word: "pad" for word in "pad pads plaquette plaquettes pastilla pastillas bremsbelag bremsbelage belag belage restbelag belagstarke belagdicke".split()},
    **{word: "shoe" for word in "shoe shoes bremsbacke bremsbacken machoire machoires zapata zapatas".split()},
    **{word: "rotor" for word in "rotor rotors disc discs disk disks bremsscheibe bremsscheiben scheibe disque disques disco discos".split()},
    **{word: "drum" for word in "drum drums trommel trommeln tambour tambours tambor tambores".split()},
}  # fmt: skip
FACES = {
    **dict.fromkeys("inner inside inboard ib innen inn interieur interior interieure int".split(), "inner_pad"),
    **dict.fromkeys("outer outside outboard ob aussen exterieur exterior exterieure ext out".split(), "outer_pad"),
    **dict.fromkeys("leading auflaufend".split(), "leading_shoe"),
    **dict.fromkeys("trailing ablaufend".split(), "trailing_shoe"),
}
UNIT_WORDS = frozenset(
    "mm in inch inches ins 32nds 32nd in32 32 1 zoll pouce pouces pulgada pulgadas percent pct prozent".split()
)
THIN_WORDS = frozenset(
    "brake brakes thickness remaining reading measurement value depth life min starke dicke epaisseur espesor rest frein freins freno frenos "
    "the of de la le les del axle wheel achse achs essieu eje thk rad roue rueda bremse bremsen".split()
)
"""Words of a heading that say nothing about the place."""
SUMS = re.compile(
    r"(?:grand |sub ?-?)?(?:totals?|sums?|averages?|avg|mean|min|max|count|summe[n]?|gesamt|gesamtsumme|durchschnitt|mittelwert|anzahl|"
    r"totaux|moyenne|somme|suma|promedio|media|totales)\b[ :.]*(?:.{0,30})?", re.I
)  # fmt: skip


def tokens(heading: str) -> list[str]:
    """Words of a heading, folded; ``TreadDepth`` and ``TIRE_ID`` are two words each."""
    split = re.sub(r"(?<=[a-z0-9])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])", " ", cell_text.tidy(heading))
    return re.findall(r"[^\W_]+|%", cell_text.fold(split).replace("ß", "ss"))


def wordy(cell: str) -> bool:
    """Whether a cell reads like a heading: letters, and no date, number or long text."""
    cell = cell.strip()
    if not cell or len(cell) > 60 or not re.search(r"[^\W\d_]|%", cell):
        return False
    plain = re.sub(
        r"1/32|/ ?32|32nds?|in32|\b(?:axle|achse|essieu|eje|column) ?\d\b|\b[1-9](?=\.?\s?(?:axle|achse|essieu))",
        "",
        cell,
        flags=re.I,
    )
    return not re.search(r"\d", plain)


def is_heading(cell: str) -> bool:
    """Whether a cell is made of heading words: something a column can be, a place on the vehicle, a unit."""
    found = tokens(cell)
    if not found:
        return False
    if meaning(cell).role or unit_of(cell) or any(word in UNIT_WORDS for word in found):
        return True
    return all(word in FACES or word in LINING_WORDS or word in THIN_WORDS or _place_word(word) for word in found)


def _place_word(word: str) -> bool:
    return (
        word
        in words.LEFT | words.RIGHT | words.FRONT | words.REAR | words.DRIVER | words.PASSENGER | words.NEARSIDE | words.OFFSIDE
        or bool(re.fullmatch(r"[lr]h?[fr]|[fr]h?[lr]|[vh][lr]|[vh]a|a[vr][gd]|[lrfvhgd]|[no]s[fr]?|\d", word))
    )


@dataclass(frozen=True)
class Meaning:
    """What a heading's words say: the role, the words that said so, and why it is none although words match."""

    role: str = ""
    said: str = ""
    against: str = ""


def meaning(heading: str) -> Meaning:
    """The role a heading names, by the longest of `PHRASES` found in it; empty where none is."""
    found = tokens(heading)
    if TYRES & set(found):
        return Meaning("not used", next(word for word in found if word in TYRES), "of tyres, not of brake linings")
    best, role = (), ""
    for name, phrases in PHRASES.items():
        for phrase in phrases:
            longer = (len(phrase), name == "note") > (len(best), role == "note")
            here = longer and any(tuple(found[i : i + len(phrase)]) == phrase for i in range(len(found)))
            if here and (name in OF_ANY_HEADING or set(found) - set(phrase) <= SAYS_NOTHING):
                best, role = phrase, name
    if not role:
        return Meaning()
    said = " ".join(best)
    others = set(found) - set(best)
    if role == "odometer" and others & ODOMETER_OF_ANOTHER_TIME:
        return Meaning("not used", said, f"{' '.join(sorted(others & ODOMETER_OF_ANOTHER_TIME))}: not the odometer of this day")
    if role == "date" and others & DATE_OF_SOMETHING_ELSE:
        return Meaning("not used", said, f"{' '.join(sorted(others & DATE_OF_SOMETHING_ELSE))}: not the day of the visit")
    return Meaning(role, said)


_UNITS = (
    ("in32", re.compile(r"32 ?nds?|/ ?32|in32|32ths|thirty.?seconds")),
    ("mm", re.compile(r"(?<![a-z])mm(?![a-z])|millim")),
    ("in", re.compile(r"\binch(?:es)?\b|[(\[] ?in\.? ?[)\]]|\"|zoll|pouces?|pulgadas?")),
    ("%", re.compile(r"%|percent|\bpct\b|prozent")),
    ("km", re.compile(r"\bkms?\b|kilomet|tachostand|\bkm-?stand")),
    ("mi", re.compile(r"\bmi\b|\bmiles?\b|\bmillas\b|\bmilles\b")),
)


def unit_of(heading: str) -> str | None:
    """The unit a heading names: mm, in, in32, %, km or mi; None where none, or two of them."""
    low = cell_text.fold(cell_text.tidy(heading))
    found = [unit for unit, pattern in _UNITS if pattern.search(low)]
    return found[0] if len(found) == 1 else None


@dataclass(frozen=True)
class Place:
    """Where a column's readings were taken; empty parts are not said by the heading.

    ``question`` names what must be answered before the place is known (``driver_side``, ``traffic_side``); ``several`` are the
    places of a column with several readings in a cell, in their order.
    """

    axle: str = ""
    side: str = ""
    part: str = ""
    question: str = ""
    assumed: str = ""
    several: tuple[str, ...] = ()


WHEEL = re.compile(r"[lr]h?[fr]|[fr]h?[lr]|[vh][lr]|a[vr][gd]|[no]s[fr]")
"""Words that name one wheel."""


def places(headings: list[str], hints: dict) -> list[Place | None]:
    """Where each heading of a sheet is on the vehicle, all looked at together; None for a heading that names no wheel or axle.

    Parameters
    ----------
    headings : list of str, shape (columns,)
    hints : dict
        As for `cells.read`: ``country``, ``driver_side``, ``traffic_side``.

    Returns
    -------
    list of Place or None, shape (columns,)
    """
    if any(_SLASHED.search(cell_text.fold(heading)) for heading in headings):
        headings = [re.sub(r"(?i)\b([lr]) ?/ ?([fr])\b", r"\1\2", heading) for heading in headings]
    bare, faces = zip(*(_bare(heading) for heading in headings), strict=True) if headings else ((), ())
    asked = list(dict.fromkeys(code for text in bare for code in (*text.split(), text) if text))
    read = dict(zip(asked, cells.read("position", asked, "", hints), strict=True)) if asked else {}
    return [_place(text, face, read) for text, face in zip(bare, faces, strict=True)]


_SLASHED = re.compile(r"\b[lr] ?/ ?f\b")
"""L/F, R/F: a sheet that writes its wheels so."""


def _bare(heading: str) -> tuple[str, tuple[str, ...]]:
    """A heading's words of place, without unit and filler, and the faces and parts it names."""
    found = tokens(re.sub(r"[(\[][^)\]]*(?:mm|in|inch|32|%)[^)\]]*[)\]]|1/32|/ ?32\b|32nds?|in32", " ", heading, flags=re.I))
    if "%" in found:
        found = [word for word in found if word not in ("%", "left", "rest", "restant", "worn", "used")]
    german = any(word in ("links", "rechts", "innen", "aussen", "achse") or word.startswith("brems") for word in found)
    wheel = any(WHEEL.fullmatch(word) or word in words.LEFT | words.RIGHT for word in found)
    parts, place = [], []
    for at, word in enumerate(found):
        if word == "in" and wheel and at:
            parts.append("inner_pad")
        elif word in FACES:
            parts.append(FACES[word])
        elif word in LINING_WORDS:
            parts.append(LINING_WORDS[word])
        elif german and word in ("va", "ha"):
            place.append("front" if word == "va" else "rear")
        elif word.isdigit() and word != "1" or word == "1" and words.AXLE_NUMBER_WORDS & set(found):
            place += ["axle", word]
        elif word not in UNIT_WORDS and word not in THIN_WORDS:
            place.append(word)
    if not place or not all(word == "axle" or _place_word(word) for word in place):
        return "", ()
    return " ".join(place), tuple(parts)


def _place(text: str, parts: tuple[str, ...], read: dict) -> Place | None:
    if not text:
        return None
    faces = [part for part in parts if part in FACES.values()]
    part = faces[0] if len(faces) == 1 else parts[0] if len(set(parts)) == 1 else ""
    codes = [word for word in text.split() if WHEEL.fullmatch(word)]
    if len(codes) > 1:
        several = tuple(_code(read[code].value) for code in codes)
        return Place(part=part, several=several) if all(several) and len(codes) == len(text.split()) else None
    reading = read[text]
    if reading.question in ("driver_side", "traffic_side"):
        return Place(part=part, question=reading.question)
    value = reading.value
    if not isinstance(value, dict) or value.get("axle") is None or len(set(faces)) > 1:
        return None
    return Place(value["axle"], value["side"] or "", part or value["part"] or "", "", reading.assumed)


def _code(value) -> str:
    """Key of a wheel in a cell of several readings: LF, RR ...; empty where it is none."""
    if not isinstance(value, dict) or not value.get("side") or value.get("axle") not in ("front", "rear"):
        return ""
    return f"{value['side'][0]}{value['axle'][0]}".upper()
