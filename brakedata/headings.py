"""What people write above a column, and what it means: the trade's words in English, German, French, Spanish and
Dutch.

To teach a new heading, add its words to the line they belong to, in lower case and without accents. Source of the word lists:
common practice, no source.
"""

import re
from dataclasses import dataclass, replace

from brakedata import cells
from brakedata.cells import text as cell_text
from brakedata.cells import words
from brakedata.cells.position import opposite, traffic_side

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
        "asset id, asset no, bus, bus no, truck, truck no, van, van no, car, car no, reg, reg no, vehicle reg, registration, registration no, plate, plate no, "
        "licence plate, license plate, number plate, fahrzeug, kennz, rego, plant no, "
        "plant number, furgone, motorrad, no unite, fahrzeugnummer, fahrzeug nr, fzg, fzg nr, kfz, kennzeichen, wagen, "
        "wagennummer, wagen nr, vehicule, no vehicule, immatriculation, immat, parc, no parc, vehiculo, matricula, placa, unidad, coche, camion, "
        "furgoneta, veiculo, coach, coach no, taxi, taxi no, cab, cab no, minibus, lorry, lorry no, tractor, trailer, trailer no, ambulance, "
        "gritter, machine, machine no, hire car, motorcycle, bike, lkw, pkw, anhanger, camion no, remolque, furgon, autobus, vrachtwagen, "
        "bestelwagen, auto, mezzo, targa, veicolo, viatura, pojazd, nr rej, rejestracja, numer rejestracyjny, autocarro, "
        "matriculation, kenteken, voertuig, voertuignummer, voertuig nr, fleet, tanker, tanker no, nummerplaat, plaque, kontrollschild, economico, "
        "no economico, "
        "regnr, reg nr, registreringsnummer, nummerplade, skilt, bil, kjoretoy, koretoj, fordon, spz, vozidlo, "
        "rekisterinumero, ajoneuvo, rekkari"
    ),
    "vin": _phrases("vin, vin no, vin number, chassis, chassis no, chassis number, fahrgestellnummer, fin, numero de chassis, bastidor, no de serie, "
    "chassisnummer"),
    "description": _phrases(
        "vehicle description, vehicle model, vehicle make, vehicle type, make, model, make model, modell, modele, modelo, marque, marca, description, "
        "fahrzeugtyp, typ, vehicle name"
    ),
    "wear_class": _phrases("class, vehicle class, wear class, fleet class, vehicle category, category, fahrzeugklasse, klasse, categorie, categoria, clase"),
    "duty": _phrases("duty, usage, service type of use, einsatz, einsatzart, usage type, uso"),
    "date": _phrases(
        "date, visit date, service date, inspection date, check date, job date, transaction date, date in, date of visit, date of service, date checked, "
        "date done, datetime, date time, datetime occurred, date occurred, day, datum, tag, prufdatum, besuchsdatum, jour, date de visite, "
        "date visite, date controle, fecha, dia, fecha visita, fecha de visita, datum keuring, keuringsdatum, datum controle, controledatum, data, "
        "data visita, data controllo, data przegladu, dato, paivays, paivamaara, pvm, checked on, kontrolldatum"
    ),
    "odometer": _phrases(
        "odometer, odo, odom, odometer reading, odo reading, current odometer, current odo, adjusted odometer, mileage, current mileage, miles, km, kms, "
        "kilometers, kilometres, clock, clock reading, mi, speedo, speedo reading, km stand, kmstand, kilometerstand, laufleistung, tachostand, tacho, "
        "kilometer, kilometrage, compteur, km compteur, kilometraje, cuentakilometros, kilometros, odometro, hodometro, tellerstand, meter reading, "
        "chilometri, contachilometri, chilometraggio, percorrenza, quilometros, quilometragem, "
        "przebieg, licznik, stan licznika, matarstallning, miltal, kilometerstand, mittarilukema, stav km, tachometr, tkm"
    ),
    "distance_unit": _phrases("odometer unit, odo unit, distance unit, mileage unit, km or mi, km mi, odometer units, distance units, "
    "odo uom, odometer uom, mileage uom, meter unit, meter units, km or miles, km miles, km or mi"),
    "visit_id": _phrases(
        "visit id, visit, visit no, visit number, job no, job number, job id, ro, ro no, ro number, repair order, repair order no, work order, "
        "work order no, "
        "work order number, wo, wo no, order no, invoice, invoice no, invoice number, inspection no, inspection id, ticket, ticket no, card, card no, "
        "inc id, "
        "incident, incident id, jobcard, job card, job card no, auftrag, auftragsnummer, auftragsnr, auftrag nr, rechnung, rechnungsnummer, "
        "ordre, no ordre, ordre de reparation, facture, no facture, orden, orden de trabajo, factura, no factura, besuch nr, werkorder, werkorder nr, "
        "werkordernummer, opdracht, factuur, factuurnummer"
    ),
    "reason": _phrases("reason, visit reason, reason for visit, visit type, service type, grund, anlass, motif, motivo, reden"),
    "complaint": _phrases(
        "complaint, complaints, customer complaint, driver complaint, customer concern, concern, driver report, driver says, symptom, symptoms, "
        "problem, fault, faults, defect, defects, issue, beanstandung, mangel, reklamation, kundenangabe, plainte, symptome, queja, averia, sintoma, "
        "klacht, klachten, difetto, difetti, lamentela, avaria, queixa, defeito, anomalia, usterka, usterki, concerns, issues, feedback, write up, "
        "writeup, squawk, squawks, customer states, customer says, customer reports, driver remark, driver comment, driver remarks, driver comments, "
        "driver notes, customer comment, customer comments, customer remarks, customer notes, reported by driver, driver reports, "
        "advisory, advisories, kundenbeanstandung, beanstandungen, fahrermeldung, meldung, klage, reclamation, reclamations, anomalie, anomalies, "
        "signalement, defaut, defauts, gebreken, gebrek, storing, storingen, melding, segnalazione, segnalazioni, reclamo, reclami, lamentele, falla, "
        "fallas, quejas, reporte del operador, reporte del conductor, reclamacion, reclamacao, reclamacoes, queixas, zgloszenie, objawy, skarga, "
        "klager, felanmalan, fejl, zavada, zavady"
    ),
    "technician": _phrases(
        "technician, tech, mechanic, fitter, inspector, checked by, done by, by, initials, mechaniker, monteur, prufer, techniker, mecanicien, "
        "technicien, mecanico, tecnico, keurmeester, meccanico, mechanik"
    ),
    "note": _phrases(
        "note, notes, remark, remarks, comment, comments, bemerkung, bemerkungen, anmerkung, anmerkungen, hinweis, remarque, remarques, commentaire, "
        "commentaires, observaciones, observations, nota, notas, comentario, comentarios, other, free text, opmerking, opmerkingen, osservazioni, "
        "observacoes, uwagi, bem, bemerk, obs, observ, opm, kommentar, kommentare, notiz, notizen, befund, bijzonderheden, komentarz, poznamka, "
        "memo, sonstiges, findings, anmarkning, anmarkningar, bemaerkning, bemaerkninger, merknad, merknader, huomautus, huomautukset"
    ),
    "work": _phrases(
        "work, work done, work performed, job, job done, jobs, repair, repairs, repairs done, action, action taken, service done, parts replaced, "
        "arbeit, arbeiten, durchgefuhrte arbeiten, ausgefuhrte arbeit, arbeiten ausgefuhrt, travaux, travail, travaux effectues, intervention, trabajo, "
        "trabajos, work carried out, service performed, services performed, rectification, description of job, wykonane naprawy, naprawy, servico efetuado, "
        "servicos efetuados, atgard, atgarder, job description, work description, description of work, details of work, repair details, "
        "ausgefuhrte arbeiten, lavoro, lavori, lavori eseguiti, intervento, trabalho, trabalhos, servico, naprawa, praca, "
        "what we did, work done today, job today, se hizo, servico executado, servicos executados, executado, udfort arbejde, utfort arbeid, utfort arbete, "
        "wykonane prace, provedeno, provedene prace, tehty tyo, gemacht, erledigt, durchgefuhrt, eseguito, uitgevoerd, "
        "trabajo realizado, trabajos realizados, reparacion, reparation, werk, werkzaamheden, uitgevoerd werk, uitgevoerde werkzaamheden, reparatie"
    ),
    "product_line": _phrases("brand, pad brand, parts brand, product line, product, part line, pad make, pad type, parts used, fabrikat, hersteller, marke"),
    "cost": _phrases("cost, price, amount, total cost, total price, kosten, preis, betrag, cout, prix, montant, coste, costo, precio, importe, prijs, bedrag"),
    "axle": _phrases("axle, axle no, axle number, achse, essieu, eje, as, asse, eixo, osie"),
    "side": _phrases("side, seite, cote, lado, zijde, kant, lato, strona"),
    "part": _phrases("part, component, item, bauteil, teil, piece, pieza, elemento, element, peca, pezzo, pad, inner outer, in out, "
    "inner or outer, pad position, onderdeel"),
    "position": _phrases("position, pos, wheel, wheel position, corner, location, brake position, rad, radposition, roue, rueda, emplacement, "
    "posicion, positie, wiel, ruota, posizione, posicao, roda, kolo, koło, miejsce, pos code, position code, wheel code, location code"),
    "measure": _phrases("measure, measure type, measured, what, dimension, kind of measure, messgrosse, meas type, measurement type, reading type, "
    "type of measurement"),
    "unit": _phrases("unit, units, uom, unit of measure, reading unit, thickness unit, einheit, unite, unidad, unidad de medida, eenheid, meas uom, "
    "meas unit, value unit, measurement unit, meter uom, meter unit"),
    "taken": _phrases("taken, before after, before or after, before, when taken, vorher nachher, avant apres, antes despues"),
    "thickness": _phrases(
        "thickness, pad thickness, lining thickness, pads, pad, lining, linings, shoe, shoes, shoe thickness, pad depth, pad reading, reading, readings, "
        "measurement, measurements, value, pad remaining, lining remaining, remaining, pad left, brake pads, brake pad, brake lining, brake linings, brakes, "
        "brake, belag, belagstarke, belage, bremsbelag, bremsbelage, restbelag, belagdicke, dicke, starke, messwert, messwerte, wert, epaisseur, plaquette, "
        "plaquettes, garniture, garnitures, balata, balatas, valeur, mesure, espesor, pastilla, pastillas, medida, valor, grosor, dikte, remblok, "
        "remblokken, blokdikte, remblokdikte, remvoering, remvoeringen, restdikte, meting, waarde, meas val, meas value"
    ),
    "diameter": _phrases("drum diameter, drum dia, diameter, trommeldurchmesser, diametre, diametre tambour, diametro"),
    "runout": _phrases("runout, run out, rotor runout, seitenschlag, voile, alabeo"),
}  # fmt: skip
"""Headings by what they mean, as words in a row; the longest that is found in a heading wins."""

OF_ANY_HEADING = ("date", "odometer", "complaint", "note", "cost", "thickness", "diameter", "runout")
"""Roles whose words count in any heading; those of the others must be all that it says."""
SAYS_NOTHING = frozenset("which no nr number id code name the our fleet km mi mm in of de der du des n".split())

ODOMETER_OF_ANOTHER_TIME = frozenset(
    "previous prev last next since driven distance per due remaining limit interval trip start end begin new change was before letzter letzte nachster "
    "dernier prochain ultimo proximo proxima anterior vorige laatste volgende prox fitted ruc nachstes neste nasta".split()
)
DATE_WORDS = frozenset("date dates datum fecha data day when changed on".split())
DATE_OF_SOMETHING_ELSE = frozenset(
    "next due birth expiry expires expiration retired service-due last previous prev order ordered invoice paid printed created updated entered "
    "nachste nachster prochaine prochain proxima proximo prox frist termin przegladu "
    "registration build built purchase purchased mot letzte volgende vervaldatum vorige laatste".split()
)
TYRES = frozenset(
    "tyre tyres tire tires tread treads reifen profil profiltiefe pneu pneus neumatico neumaticos band banden profiel profieldiepte pressure psi "
    "bar kpa gomma gomme battistrada pneumatico pneumatici pneumatique pneumatiques opona opony bieznik llantas cubiertas "
    "winterreifen sommerreifen winterrader sommerrader reifenprofil".split()
)
BRAKES = frozenset(
    "brake brakes pad pads lining linings shoe shoes rotor rotors disc discs disk drum drums belag belage bremsbelag bremsbelage bremse bremsen "
    "restbelag belagstarke belagstarken belagdicke bremsbelagstarke bremsbelagstarken bremsbelagdicke bremsscheibe bremsbacke frein freins plaquette "
    "plaquettes garniture garnitures machoire freno frenos pastilla "
    "pastiglia pastiglie freni pastilha pastilhas travao travoes freio freios lona lonas klocek klocki klockow hamulec hamulce okladzina okladziny "
    "voering voeringen plaq guarnizione ferodo bremser brems bromsar broms kloss klosser bremsekloss bremseklosser bromskloss bromsklossar klods klodser "
    "bremseklods bremseklodser belagg bromsbelagg belegg bremsebelegg bremseskive bremseskiver bromsskiva bromsskivor jarru jarrut jarrupala jarrupalat "
    "brzdy desticka desticky "
    "pastillas balata balatas zapata zapatas bremsen bremsenprufung bremspruefung rem remmen remblok remblokken remblokdikte remvoering "
    "remvoeringen remschijf remschijven remtrommel remtrommels remschoen remschoenen".split()
)
LINING_WORDS = {
    **{word: "pad" for word in "pad pads plaquette plaquettes pastilla pastillas bremsbelag bremsbelage belag belage restbelag belagstarke belagstarken "
       "belagdicke bremsbelagstarke bremsbelagstarken bremsbelagdicke remblok remblokken remblokdikte blok blokken plaq pastiglia pastiglie pastilha pastilhas "
       "klocek klocki klockow kloss klosser bremsekloss bremseklosser bromskloss bromsklossar klods klodser bremseklods bremseklodser belagg bromsbelagg "
       "belegg bremsebelegg jarrupala jarrupalat desticka desticky".split()},
    **{word: "shoe" for word in "shoe shoes bremsbacke bremsbacken machoire machoires zapata zapatas remschoen remschoenen ganascia ganasce "
       "maxila maxilas szczeka szczeki szczek".split()},
    **{word: "rotor" for word in "rotor rotors disc discs disk disks bremsscheibe bremsscheiben scheibe scheiben disque disques disco discos dischi remschijf "
       "remschijven tarcza tarcze tarcz skive skiver bremseskive bremseskiver skiva skivor bromsskiva bromsskivor jarrulevy jarrulevyt "
       "kotouc kotouce".split()},
    **{word: "drum" for word in "drum drums trommel trommeln bremstrommel bremstrommeln tambour tambours tambor tambores tamburo "
       "tamburi remtrommel remtrommels "
       "beben bebny bebna".split()},
}  # fmt: skip
FACES = {
    **dict.fromkeys("inner inside inboard ib innen inn interieur interior interieure int binnen".split(), "inner_pad"),
    **dict.fromkeys("outer outside outboard ob aussen exterieur exterior exterieure ext out buiten".split(), "outer_pad"),
    **dict.fromkeys("leading auflaufend".split(), "leading_shoe"),
    **dict.fromkeys("trailing ablaufend".split(), "trailing_shoe"),
}
UNIT_WORDS = frozenset(
    "mm in inch inches ins 32nds 32nd in32 32 1 zoll pouce pouces pulgada pulgadas percent pct prozent".split()
)
NOW = frozenset(
    "now today current currently curr actual akt aktuell aktueller aktuelle heute jetzt ist istwert istmass actuel actuelle act atual attuale att nu huidig "
    "huidige obecnie teraz this deze oggi hoje hoy idag tanaan dnes".split()
)
"""Words by which a heading says that it is of this visit, beside one of the visit before."""
THIN_WORDS = (
    frozenset(
        "brake brakes thickness remaining reading measurement value depth life min lowest thinnest worst starke dicke epaisseur espesor rest "
        "frein freins freno frenos balata balatas the of de la le les del axle wheel achse achs essieu eje thk thick rad roue rueda bremse bremsen "
        "lining linings material friction "
        "readings measurements measured values wear worn used garniture garnitures forro "
        "forros verschleiss usure desgaste "
        "dikte slijtage rem remmen voering voeringen ruota ruote asse spessore freno freni guarnizione guarnizioni ferodo roda rodas eixo espessura travao "
        "travoes freio freios lona lonas kolo kola grubosc dia diam ø okladzina okladziny hamulec hamulce".split()
    )
    | NOW
)
"""Words of a heading that say nothing about the place."""
NO_READING = frozenset(
    "new nominal spec specification limit limits discard target allowed last previous prev change delta diff difference loss neu nennmass grenze "
    "verschleissgrenze mindest mindestmass sollmass grenzmass letzter letzte vorige differenz neuf neuve limite precedent difference dernier derniere "
    "nuevo nueva anterior ultimo ultima diferencia replace nieuw nieuwe grens vorige laatste verschil zuletzt vorherige "
    "precedente precedenti poprzednio poprzedni forra forrige edellinen mindestwert scorsa scorso minule".split()
)
"""Words that make of a lining's heading no reading of this day: a limit, a new part's dimension, an earlier reading, a difference."""
AGES = frozenset(
    "months weeks days age monate monaten wochen tage tagen alter mois semaines jours meses semanas dias mesi settimane giorni maanden weken dagen "
    "miesiace miesiecy dni".split()
)
"""Words by which a number under a lining's heading is how long it has been on, and no thickness."""
MONTH_WORDS = frozenset("month monat mois mes mese maand miesiac manad maned mesic kuukausi".split())
FITTED = frozenset(
    "fitted fit changed change renewed replaced installed done montiert eingebaut gewechselt getauscht erneuert montees monte posees changees remplacees "
    "montadas cambiadas montate cambiate gemonteerd vervangen wymienione".split()
)
"""Words of a heading over the days on which parts were renewed."""
MEASURED_WORDS = NOW | frozenset(
    "left remaining remain rem remains remainder now today current actual found result results reading readings read value values meas measure measured "
    "measurement measurements thickness thick thickn thkns thkness thk depth lining linings material friction millimetre millimetres millimeter millimeters "
    "mil mils what s how much is of on the amount gauge rest ist messung mess messwert starke dicke reste restant restante epaisseur mesure valeur "
    "espesor resto medida valor resta spessore rimanente dikte meting waarde grubosc espessura pomiar".split()
)
"""Words of a heading that say a lining was measured, or is left, and neither which nor where."""
LAST_TIME = frozenset("ant prec poprz previous prior".split())
"""Short words for the visit before where another heading says now: ``ant.`` is the front elsewhere."""
NEW = frozenset("new neu neue neuf neuve neuves nuevo nueva nuevas nieuw nieuwe".split())
RUNOUT = frozenset("runout seitenschlag voile".split())
AVERAGES = frozenset("avg average mean durchschnitt mittelwert moyenne promedio gemiddeld gemiddelde".split())
"""Worked out from other columns; ``avg`` is the left front wheel in French."""
FRENCH_WHEELS = frozenset("avd arg ard".split())
LOWEST = frozenset("min minimum mini max maximum minimo maximo".split())
"""A limit, or the lowest point measured: a limit where the same place has another column, or where it never changes."""
TAKEN = {
    **dict.fromkeys("after outgoing nachher nachh danach apres despues".split(), "after"),
    **dict.fromkeys("before incoming vorher vorh antes old alt alte oud oude vieux anciennes viejo viejas vecchie".split(), "before"),
}  # fmt: skip
SUMS = re.compile(
    r"(?:(?:grand|fleet|monthly|overall) |sub ?-?)?(?:totals?|sums?|averages?|avg|mean|min|max|minimum|maximum|limits?|count|ø|schnitt|srednia|średnia|razem|"
    r"summe[n]?|gesamt|gesamtsumme|durchschnitt|mittelwert|anzahl|"
    r"totaux|moyenne|somme|suma|promedio|media|totales|totaal|gemiddelde?|aantal)\b[ :.]*(?:.{0,30})?", re.I
)  # fmt: skip


def tokens(heading: str) -> list[str]:
    """Words of a heading, folded; ``TreadDepth`` and ``TIRE_ID`` are two words each, ``F.L.H.``, ``AvG`` and ``FrR`` one."""
    whole = _AS_LEFT.sub(
        lambda found: {"left": "after", "found": "before"}[found[1].lower()], cell_text.polish_axle(_tidy(heading))
    )
    whole = _WHEEL_OF_THREE.sub(lambda found: found[0].upper() if found[0][0] == "A" else found[0][0] + found[0][2], whole)
    split = re.sub(r"(?<=[a-z0-9])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z]{2})", " ", whole)
    plain = _SIDE_OF_ROAD.sub(
        lambda found: f" {found[1]}s{found[2] or ''} ", cell_text.fold(split).replace("ß", "ss").replace("ł", "l")
    )
    plain = re.sub(r"(?<=[a-z])ø|ø(?=[a-z])", "o", plain).replace("æ", "ae")
    plain = re.sub(
        r"\b(this|last|previous|deze|vorige|scorsa|ultima) (?:time|visit|check|month|inspection|reading|keer|maand|volta|vez)\b",
        r"\1",
        plain,
    )
    plain = re.sub(r"\b([lr]) ?/ ?s\b", lambda found: {"l": "left", "r": "right"}[found[1]], plain)
    plain = re.sub(r"\ba(?=[1-9]\b)", "axle", re.sub(r"\b([fr][lr])h\b", r"\1", plain))
    return re.findall(r"[^\W_]+|%", re.sub(r"\b(ax|axle|achse|essieu|eje|as|osie|steer|drive|tag|pusher)(?=\d\b)", r"\1 ", plain))


def _tidy(heading: str) -> str:
    """A heading in one way of writing signs and blanks, initials without their full stops: ``F.L.H.``, ``K.M.``."""
    return _INITIALS.sub(lambda found: found[0].replace(".", ""), cell_text.tidy(heading))


_INITIALS = re.compile(r"\b(?:[A-Za-z]\.){1,3}[A-Za-z](?![A-Za-z])\.?")
_AS_LEFT = re.compile(r"(?i)\bas[ _-](found|left)\b")
_WHEEL_OF_THREE = re.compile(r"\bA[vr][GD]\b|\b[FR]r[LR]\b")
_SIDE_OF_ROAD = re.compile(r"\b([no]) ?/ ?s(?:(?: ?/ ?| )([fr]))?\b")
"""N/S, O/S/F: near side and off side, as they are mostly written."""


def halves(heading: str) -> list[str]:
    """A heading or cell in two languages, cut at its bars or strokes with a space around; one piece where there is none."""
    return [piece.strip() for piece in re.split(r"\s[/|]\s", heading) if piece.strip()]


_SHORT = {
    "essieu": {"av": "front", "ar": "rear", "arr": "rear"},
    "cote": {"g": "left", "d": "right"},
    "achse": {"v": "front", "h": "rear", "va": "front", "ha": "rear", "vo": "front", "hi": "rear"},
    "seite": {"li": "left", "re": "right"},
    "eje": {"d": "front", "t": "rear", "del": "front", "tras": "rear"},
    "lado": {"i": "left", "e": "left", "d": "right", "dir": "right", "esq": "left"},
    "lato": {"s": "left", "d": "right"},
    "asse": {"ant": "front", "post": "rear"},
    "eixo": {"d": "front", "t": "rear", "diant": "front", "tras": "rear"},
    "strona": {"l": "left", "p": "right"},
    "kant": {"l": "left", "r": "right", "li": "left", "re": "right"},
    "zijde": {"l": "left", "r": "right", "li": "left", "re": "right"},
    "as": {"v": "front", "a": "rear"},
}
"""Short words for an axle or a side under the heading that says their language, for they are clear in no other."""
_BOTH = (
    {"av": "front", "ar": "rear"}, {"g": "left", "d": "right"}, {"va": "front", "ha": "rear"}, {"vo": "front", "hi": "rear"},
    {"li": "left", "re": "right"}, {"del": "front", "tras": "rear"},
)  # fmt: skip
"""Two short words that say their language by themselves where the cells of a column are both of them and no others."""


def _long(texts: list[str], heading: str) -> list[str]:
    """Short words for an axle or a side written out, where the heading or the column's other cells say in which language they are."""
    folded = [cell_text.fold(text.strip()).rstrip(".") for text in texts]
    short = next((pair for pair in _BOTH if pair.keys() == set(folded)), {})
    for word in tokens(heading):
        short = _SHORT.get(word, short)
    if not short and all(_SHORT_WHEEL.fullmatch(word) for word in folded) and {word[-1] for word in folded} == {"g", "d"}:
        return [f"{'avant' if word[1] == 'v' else 'arriere'} {'gauche' if word[-1] == 'g' else 'droite'}" for word in folded]
    return [short.get(word, text) for word, text in zip(folded, texts, strict=True)]


_SHORT_WHEEL = re.compile(r"a(?:v|rr?)[. ]+[gd]")
"""AV G, AR D: a wheel in French."""


def positions(texts: list[str], header: str, hints: dict, heading: str = "") -> list:
    """`cells.read` of places, in two languages too: ``vorne / front`` where both halves say the same.

    ``header`` says what they are (``axle``, ``side`` ...), ``heading`` is what stands over them.
    """
    texts = _long(texts, heading)
    out = cells.read("position", texts, header, hints)
    apart = [(at, halves(text)) for at, text in enumerate(texts) if not out[at].taken and len(halves(text)) > 1]
    for at, pieces in apart:
        read = cells.read("position", pieces, header, hints)
        if all(one.taken for one in read) and all(one.value == read[0].value for one in read):
            out[at] = read[0]
    return out


def either_side(texts: list[str]) -> list[str]:
    """For each text ``left`` or ``right`` where it names a side and no axle, the driver's and the near side as if they were left; else empty."""
    read = positions(texts, "side", {"driver_side": "left", "traffic_side": "left"})
    said = [one.value if one.status.startswith("ok") and isinstance(one.value, dict) else {} for one in read]
    return ["" if value.get("axle") else value.get("side") or "" for value in said]


def wordy(cell: str) -> bool:
    """Whether a cell reads like a heading: letters, and no date, number or long text."""
    cell = cell.strip()
    if not cell or len(cell) > 60 or not re.search(r"[^\W\d_]|%", cell):
        return False
    plain = re.sub(
        r"1/32|/ ?32|32nds?|in32|x ?1[.,]?000|\(1?[.,]?000\)|['’]000|\b[1-9][lr]\b|\b[lr][1-9]\b|"
        r"\b(?:axle|ax|achse|essieu|eje|as|column) ?\d\b|"
        r"\b[1-9](?=\.?\s?(?:axle|achse|essieu|[no] ?/? ?s\b|near|off|left|right|lh\b|rh\b|links|rechts|gauche|droite|izq|der))",
        "",
        cell,
        flags=re.I,
    )
    return not re.search(r"\d", plain)


def uncounted(names: list[str]) -> list[str]:
    """Headings that a form counts, ``3. Front pads``, ``Q4 Rear pads``, without their number; others, an axle's too, as they are."""
    found = [_COUNTED.fullmatch(name.strip()) for name in names]
    counted = [one for one in found if one]
    numbers, rest = [int(one["number"]) for one in counted], [one["rest"].lower() for one in counted]
    in_turn = len(counted) > 1 and numbers == list(range(numbers[0], numbers[0] + len(numbers)))
    marked = all(one["before"] or one["behind"] for one in counted) or len(counted) > 2
    of_axles = any(set(tokens(text)) & words.AXLE_NUMBER_WORDS or side_only(text) for text in rest)
    if not in_turn or not marked or of_axles or len(set(rest)) < len(rest):
        return names
    return [one["rest"] if one else name for one, name in zip(found, names, strict=True)]


_COUNTED = re.compile(r"(?i)(?P<before>q|no\.?|nr\.?|#)?\s*(?P<number>\d{1,3})(?P<behind>[.):-]?)\s+(?P<rest>[^\W\d].*)")


def is_heading(cell: str) -> bool:
    """Whether a cell is made of heading words: something a column can be, a place on the vehicle, a unit."""
    found = tokens(cell)
    if not found:
        return False
    if meaning(cell).role or unit_of(cell) or any(word in UNIT_WORDS for word in found):
        return True
    return all(word in FACES or word in LINING_WORDS or word in THIN_WORDS or _place_word(word) for word in found)


def goes_on(cell: str) -> bool:
    """Whether a cell can end the heading above it and says nothing by itself: ``no``, ``code``."""
    return set(tokens(cell)) <= SAYS_NOTHING


def is_group(cell: str) -> bool:
    """Whether a cell can be the name of several columns: a heading, and no title with a word of a heading in it."""
    found = tokens(cell)
    known = [word for word in found if word in _HEADING_WORDS or _place_word(word)]
    return is_heading(cell) and len(known) >= 0.5 * len(found)


_HEADING_WORDS = frozenset(
    {word for phrases in PHRASES.values() for phrase in phrases for word in phrase}
    | {*FACES, *LINING_WORDS, *THIN_WORDS, *UNIT_WORDS, *TAKEN, *TYRES, *NO_READING, *LOWEST, *SAYS_NOTHING, "%"}
)
_AXLE_SIDE = re.compile(r"[1-9][lr]|[lr][1-9]")
"""1L, R2: a side of a numbered axle."""


def _place_word(word: str) -> bool:
    return (
        word
        in words.LEFT
        | words.RIGHT
        | words.FRONT
        | words.REAR
        | words.TRUCK_AXLES.keys()
        | words.DRIVER
        | words.PASSENGER
        | words.NEARSIDE
        | words.OFFSIDE
        or bool(re.fullmatch(r"[lr]h?[fr]|[fr]h?[lr]|[vh][lr]|[vh]a|a[vr][gd]|[lrfvhgd]|[no]s[fr]?|\d|[1-9][lr]|[lr][1-9]", word))
    )


@dataclass(frozen=True)
class Meaning:
    """What a heading's words say: the role, the words that said so, and why it is none although words match."""

    role: str = ""
    said: str = ""
    against: str = ""


def meaning(heading: str) -> Meaning:
    """The role a heading names, by the longest of `PHRASES` found in it, or by both its halves; empty where none is."""
    whole, pieces = _meaning(heading), halves(heading)
    if whole.role or len(pieces) < 2:
        return whole
    said = [_meaning(piece) for piece in pieces]
    return said[0] if len({one.role for one in said}) == 1 else whole


NOT_DONE = frozenset(
    "last next previous prior pending deferred declined rejected refused cancelled canceled not history historical quote quoted estimate estimated offered "
    "offer recommended recommend recommendation recommendations advised advise advice advisory planned plan scheduled todo do elsewhere outside year monitor "
    "request requested needed needs need required due future proposed suggested letzte letzter nachste nachster offene offen geplante geplant empfohlene "
    "empfohlen angebot abgelehnt abgelehnte historie noch machen devis refuse refuses refusee prevoir precedents precedent historique conseille conseilles "
    "presupuesto presupuestado pendientes pendiente rechazado rechazada anterior anteriores hacer recomendado recomendados offerte nog doen advies vorige "
    "volgende afgewezen consigliati consigliato preventivo fare storico orcamento pendente recomendados historico zalecane planowane odmowione historia "
    "anbefalt anbefalet planlagt tilbud tilbudt rekommenderat planerat offert suositeltu suunniteltu doporuceno planovano".split()
)
"""Words of a heading over work that was not done on that day, or not yet."""
DONE = frozenset(
    "done fitted replaced completed performed carried repair repairs repaired work works job jobs parts renewed changed installed today did sold relined "
    "machined rectified rectification remedied fixed behoben atgard atgarder naprawy efetuado efetuados erledigt erledigte durchgefuhrt "
    "durchgefuhrte ausgefuhrt ausgefuhrte gemacht getauscht erneuert gewechselt arbeit arbeiten effectue effectues effectuee fait faits realise "
    "travaux remplace realizado realizados hecho hizo cambiado trabajo trabajos uitgevoerd uitgevoerde gedaan werk eseguito "
    "eseguiti fatto lavori sostituito executado feito trabalho substituido wykonano wykonane wymieniono udfort utfort utforda skiftet bytt tehty vaihdettu "
    "provedeno vymeneno".split()
)
"""Words of a heading over work that was done."""
REFUSED = frozenset(
    "declined refused rejected deferred cancelled canceled quoted quote estimate abgelehnt refuse rechazado geweigerd rifiutato".split()
)
DECISION = frozenset(
    "approved authorised authorized accepted approval authorisation authorization auth completed complete done finished status state decision outcome ahead "
    "document freigegeben freigabe genehmigt erledigt entscheidung stand accepte autorise statut aprobado estado goedgekeurd akkoord approvato stato".split()
)
"""Words of a heading over what the owner decided about the row's work, or whether it was done."""
OF_QUOTES = frozenset(
    "quote quotes quotation quotations estimate estimates offers planned plan declined rejected deferred angebot angebote devis presupuesto presupuestos "
    "offertes preventivi preventivo orcamento orcamentos".split()
)
"""Words of a file's or sheet's name by which the work in it was not done."""
REMEDY = frozenset(
    "rectified rectification remedied fixed repaired repair repairs work works done behoben arbeit arbeiten travaux trabajo lavori".split()
)
"""Words by which a heading of defects is one of what was done about them: ``Defect rectified``, ``Defects / work``."""
FUEL = frozenset(
    "fuel diesel petrol gallons gallon gal litres liters litre liter litros litri fill pump kraftstoff carburant combustible brandstof tanken getankt".split()
)
"""Words of a list of fill-ups: odometers, and no visits to a workshop."""
NO_FUEL = frozenset("oil coolant filter filters fluid adblue def ol huile aceite olio olie water top".split())
"""Words beside those by which a heading is of something else: ``Oil litres``, ``Fuel filter``."""
OTHER_MEASURES = frozenset(
    "fluid moisture temp temperature torque stroke travel pushrod slack bremsflussigkeit liquide liquido vloeistof vatska vaeske temperatur "
    "drehmoment".split()
)
"""What else is measured about brakes, and is no lining: fluid, temperature, push rod travel."""


def _meaning(heading: str) -> Meaning:
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
    other = (
        next((word for word in found if word in OTHER_MEASURES), "") if role in ("", "thickness", "diameter", "runout") else ""
    )
    if other:
        return Meaning("not used", other, "another measure of the brakes, no lining's")
    if not role:
        return Meaning()
    said = " ".join(best)
    others = set(found) - set(best)
    if said == "tag" and others - SAYS_NOTHING:  # a tag, and no day in German
        return Meaning()
    another = others & (ODOMETER_OF_ANOTHER_TIME | LINING_WORDS.keys() | {"left", "front", "rear"})  # km on these pads
    if role == "complaint" and others & REMEDY and not others & NOT_DONE:
        return Meaning("work", said)
    if role == "odometer" and another:
        return Meaning("not used", said, f"{' '.join(sorted(another))}: not the odometer of this day")
    if role == "date" and others & DATE_OF_SOMETHING_ELSE:
        return Meaning("not used", said, f"{' '.join(sorted(others & DATE_OF_SOMETHING_ELSE))}: not the day of the visit")
    return Meaning(role, said)


def stem(column: str) -> str:
    """A heading without its unit: by it a column whose unit changed is known again."""
    said = [word for word in tokens(column) if word not in UNIT_WORDS | _DISTANCES]
    return " ".join(said) or meaning(column).role or column


_DISTANCES = frozenset("km kms mi miles nds kilometer kilometers kilometres".split())


_UNITS = (
    ("in32", re.compile(r"32 ?nds?|/ ?32|in32|32ths|thirty.?seconds")),
    ("mm", re.compile(r"(?<![a-z])mm(?![a-z])|millim")),
    ("in", re.compile(r"\binch(?:es)?\b|[(\[] ?in\.? ?[)\]]|\"|zoll|pouces?|pulgadas?|[(\[] ?po\.? ?[)\]]")),
    ("%", re.compile(r"%|percent|\bpct\b|prozent")),
    ("km", re.compile(r"\bkms?\b|kilomet|tachostand|\bkm-?stand")),
    ("mi", re.compile(r"\bmi\b|\bmiles?\b|\bmillas\b|\bmilles\b")),
)

_OF_AN_INCH = re.compile(r"(?:1 ?/ ?)?\b32 ?(?:nds?|ths?)?\s?(?:of )?(?:an? )?(?:inch(?:es)?\b|in\b|\")")


def unit_of(heading: str) -> str | None:
    """The unit a heading names: mm, in, in32, %, km or mi; None where none, or two of them."""
    low = _OF_AN_INCH.sub(" in32 ", cell_text.fold(_tidy(heading)))
    found = [unit for unit, pattern in _UNITS if pattern.search(low)]
    return found[0] if len(found) == 1 else None


def unit_over(title: str, note: bool = False) -> str:
    """The unit of all readings under a title: ``readings in 32nds``, ``Brake pads (mm)``; empty where it names none, a limit or a number.

    A ``note`` stands under or between the records, and may be of some of them only: ``rear pads in 32nds`` then says nothing.
    """
    unit, said = unit_of(title), set(tokens(title))
    lining = said & (BRAKES | THIN_WORDS) or said <= UNIT_WORDS | MEASURED_WORDS
    number = re.search(r"\d", re.sub(r"(?i)1/32|/ ?32|32nds?|in32|32ths|(?<!\d)(?:19|20)\d\d(?!\d)", "", title))
    if unit not in ("mm", "in", "in32") or not lining or number or said & (NO_READING | LOWEST | TYRES):
        return ""
    parts = {LINING_WORDS[word] for word in said & LINING_WORDS.keys()}
    place = any(_place_word(word) for word in said - UNIT_WORDS)
    if note and (place or said & _OF_SOME or len(parts) == 1 and "pad" not in parts) or parts and parts <= {"rotor", "drum"}:
        return ""
    return "32nds" if unit == "in32" else unit


_OF_SOME = frozenset("above except unless only some this these those ausser nur oben sauf seulement excepto salvo solo".split())


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
    elif any(_SLASHED_AXLE.search(cell_text.fold(heading)) for heading in headings):
        headings = [re.sub(r"(?i)\b([fr]) ?/ ?([lr])\b", r"\1\2", heading) for heading in headings]
    words_here = {word for heading in headings for word in tokens(heading)}
    if words_here & {"frt", "ft", "front"} and "rr" in words_here and not words_here & {"lr", "rl", "lf", "rf", "fl", "fr"}:
        headings = [re.sub(r"(?i)\brr\b", "rear", heading) for heading in headings]  # Frt beside Rr
    headings = _codes_of_a_language(headings)
    pairs = [_PAIR.search(cell_text.fold(heading)) for heading in headings]
    headings = [
        heading[: pair.start()] + heading[pair.end() :] if pair else heading
        for heading, pair in zip(headings, pairs, strict=True)
    ]
    in_order = [_both_sides(heading, hints) for heading in headings]
    headings = [
        _KERB_SIDES.sub(" ", _SIDES.sub(" ", heading)) if order else heading
        for heading, order in zip(headings, in_order, strict=True)
    ]
    pieces = [list(dict.fromkeys([heading, *halves(heading)])) for heading in headings]
    out_too = any(_OUT & set(tokens(heading)) for heading in headings)
    right_too = any(words.RIGHT & set(tokens(heading)) for heading in headings)
    german = any(_GERMAN_SHEET & set(tokens(heading)) for heading in headings)
    short = _short_words({word for heading in headings for word in tokens(heading)})
    bare = {piece: _bare(piece, out_too, right_too, german, short) for its in pieces for piece in its}
    if any(re.search(r"(?i)\bb ?[1-9]\b", heading) for heading in headings):  # A1 beside B1 is no axle
        bare = {piece: ("", ()) if re.search(r"(?i)\b[ab] ?[1-9]\b", piece) else one for piece, one in bare.items()}
    for heading in _counted_twice(headings):  # one of two, not the whole axle
        bare |= dict.fromkeys([heading, *halves(heading)], ("", ()))
    counted = {word[0] for heading in headings for word in tokens(heading) if re.fullmatch(r"[flr][1-9]", word)}
    if counted == {"f", "r"}:  # front 1 and rear 1, not the right of axle 1
        bare = {
            piece: ("", ()) if any(re.fullmatch(r"r[1-9]", word) for word in tokens(piece)) else one
            for piece, one in bare.items()
        }
    if not any(meaning(heading).role in ("position", "axle", "side") for heading in headings) and hints.get(
        "numbered_wheels", True
    ):
        bare |= _numbered_wheels(headings)
    asked = list(dict.fromkeys(code for text, _ in bare.values() for code in (*text.split(), text) if text))
    read = dict(zip(asked, cells.read("position", asked, "", hints), strict=True)) if asked else {}
    out = []
    for its, pair, order in zip(pieces, pairs, in_order, strict=True):
        whole, *own = (_place(*bare[piece], read) for piece in its)
        place = own[0] if own and own[0] and all(one == own[0] for one in own) else whole
        if order and place and place.axle and not (place.side or place.question or pair):
            place = replace(place, several=order)
        elif order:
            place = None
        out.append(_paired(place, pair[0]) if pair else place)
    if not any({"steer", "drive"} & {words.TRUCK_AXLES.get(word) for word in tokens(heading)} for heading in headings):
        out = [
            None if words.TRUCK_AXLES.keys() & set(tokens(heading)) else place
            for heading, place in zip(headings, out, strict=True)
        ]
    return out


def _counted_twice(headings: list[str]) -> list[str]:
    """Headings of places that end in 1 where another says the same and 2, ``Front / 1`` beside ``Front / 2``; none of numbered axles or wheels."""
    counted = words.AXLE_NUMBER_WORDS | _OF_A_WHEEL | words.TRUCK_AXLES.keys()
    found = {tuple(tokens(heading)): heading for heading in headings}
    return [
        heading
        for words_of, heading in found.items()
        if len(words_of) > 1 and words_of[-1] == "1" and (*words_of[:-1], "2") in found and not counted & set(words_of)
    ]


_CODES = (
    dict(zip("lv rv la ra".split(), "lf rf lr rr".split(), strict=True)),
    dict(zip("di dd ti td".split(), "lf rf lr rr".split(), strict=True)),
    dict(zip("de dd te td".split(), "lf rf lr rr".split(), strict=True)),
    dict(zip("as ad ps pd".split(), "lf rf lr rr".split(), strict=True)),
    dict(zip("lp pp lt pt".split(), "lf rf lr rr".split(), strict=True)),
    dict(zip("pl pp tl tp".split(), "lf rf lr rr".split(), strict=True)),
    dict(zip("fe fd te td".split(), "lf rf lr rr".split(), strict=True)),
    dict(zip("nf of nr or".split(), "nsf osf nsr osr".split(), strict=True)),
    dict(zip("vf hf vb hb".split(), "lf rf lr rr".split(), strict=True)),
    dict(zip("ev eo tv to".split(), "lf rf lr rr".split(), strict=True)),
    dict(zip("lp pp lz pz".split(), "lf rf lr rr".split(), strict=True)),
)
"""Wheels as other languages or trades write them in two letters, clear only where all four stand beside one another."""


_OF_A_WHEEL = frozenset("wheel wheels rad roue rueda rueda ruota roda kolo wiel corner pos position".split())


def _numbered_wheels(headings: list[str]) -> dict[str, tuple[str, tuple[str, ...]]]:
    """Headings that count four wheels, ``Pad 1`` to ``Pad 4``: as `_bare` gives those that name them."""
    of: dict[tuple, dict[str, str]] = {}
    for heading in headings:
        found = tokens(heading)
        number = [word for word in found if word.isdigit()]
        rest = tuple(word for word in found if not word.isdigit() and word not in UNIT_WORDS)
        if (
            len(number) == 1
            and set(rest) & (LINING_WORDS.keys() | _OF_A_WHEEL)
            and set(rest) <= LINING_WORDS.keys() | THIN_WORDS | _OF_A_WHEEL
        ):
            of.setdefault(rest, {})[number[0]] = heading
    out = {}
    for rest, counted in of.items():
        if sorted(counted) == ["1", "2", "3", "4"]:
            parts = tuple(dict.fromkeys(LINING_WORDS[word] for word in rest if word in LINING_WORDS))
            out |= {heading: (f"wheel {number}", parts) for number, heading in counted.items()}
    return out


def _codes_of_a_language(headings: list[str]) -> list[str]:
    """Headings with the wheels of `_CODES` as those that are read everywhere."""
    for codes in _CODES:
        found = [_code_in(heading, codes) for heading in headings]
        if set(codes) <= {one[0].lower() for one in found if one}:
            return [
                heading[: one.start()] + codes[one[0].lower()] + heading[one.end() :] if one else heading
                for heading, one in zip(headings, found, strict=True)
            ]
    return headings


def _code_in(heading: str, codes: dict[str, str]) -> re.Match | None:
    """Where a heading has its wheel's code: the last one, capitals before a small word, ``Pastilha de travão DE``."""
    every = list(re.finditer(rf"(?i)\b(?:{'|'.join(codes)})\b", heading))
    capitals = [one for one in every if one[0].isupper()]
    return (capitals or every or [None])[-1]


_SIDES = re.compile(
    r"\b(?:(l|lh|left|li|links)/(?:r|rh|right|re|rechts)|(?:r|rh|right|re|rechts)/(?:l|lh|left|li|links))\b", re.I
)
"""L/R, or the other way: the sides of an axle, two readings in each cell."""


_KERB_SIDES = re.compile(r"\b(?:(n/?s|nearside) ?/ ?(?:o/?s|offside)|(?:o/?s|offside) ?/ ?(?:n/?s|nearside))\b", re.I)
"""NS/OS, or the other way."""


def _both_sides(heading: str, hints: dict) -> tuple[str, ...]:
    """The sides of an axle in the order in which a heading names them, ``Front R/L``; empty where it does not, ``R/L`` (rear left)."""
    found, kerb = _SIDES.search(heading), _KERB_SIDES.search(heading)
    near = traffic_side(hints) if kerb and not found else None
    rest = _KERB_SIDES.sub(" ", _SIDES.sub(" ", heading))
    if not (found or near) or not (words.FRONT | words.REAR | words.AXLE_NUMBER_WORDS) & set(tokens(rest)):
        return ()
    if near:
        return (near, opposite(near)) if kerb[1] else (opposite(near), near)
    return ("left", "right") if found[1] else ("right", "left")


_SLASHED = re.compile(r"\b[lr] ?/ ?f\b")
"""L/F, R/F: a sheet that writes its wheels so."""
_SLASHED_AXLE = re.compile(r"\bf ?/ ?l\b")
"""F/L, R/L: the axle first."""
_PAIR = re.compile(
    r"\b(?:i|in|inner|innen|int) ?/ ?(?:o|out|outer|aussen|außen|ext)\b|\b(?:o|out|outer|aussen|außen|ext) ?/ ?(?:i|in|inner|innen|int)\b"
)
"""i/o, inner/outer, or the other way: two readings in each cell."""


def _paired(place: Place | None, pair: str) -> Place | None:
    """A wheel whose cells hold the inner and the outer pad; None where the heading names no one wheel."""
    if place is None or place.several or place.question or place.part not in ("", "pad"):
        return None
    order = ("inner", "outer") if pair[0] == "i" else ("outer", "inner")
    return Place(place.axle, place.side, "", "", place.assumed, order)


def place_only(text: str) -> bool:
    """Whether a text names one place on the vehicle and nothing else: ``Front axle``, ``Left side``."""
    place = places([text], {})[0]
    return bool(place and not place.several or side_only(text))


def under_places(headings: list[str]) -> dict[str, tuple[Place, str]]:
    """Headings that name an axle or a wheel and beside it one of two words that nobody knows, the same two at each: ``LF / I``, ``LF / O``.

    Returns
    -------
    dict
        By heading: the place and the word; empty where not all of them are such.
    """
    apart = (
        lambda heading: heading.rpartition(" / ")[::2],
        lambda heading: heading.rpartition(" ")[::2],
        lambda heading: heading.partition(" ")[::-2],
    )
    for cut in apart:
        pieces = [tuple(piece.strip() for piece in cut(heading)) for heading in headings]
        where = places([place for place, _ in pieces], {})
        if not all(one and one.axle and not one.several and not one.question for one in where):
            continue
        words_at: dict[Place, list[str]] = {}
        for one, (_, word) in zip(where, pieces, strict=True):
            words_at.setdefault(one, []).append(word)
        first = next(iter(words_at.values()), [])
        if len(set(first)) == len(first) == 2 and "" not in first and all(its == first for its in words_at.values()):
            return {heading: (one, word) for heading, one, (_, word) in zip(headings, where, pieces, strict=True)}
    return {}


def place_or_day(text: str, role: str) -> bool:
    """Whether a text can stand in a column of places or of days (its ``role``): read or asked about as one, or with a word for one."""
    if role == "date":
        read = cells.read("date", [text])[0]
        numbers = re.findall(r"\d+", text)
        months = [one.taken for one in cells.read("date", [f"{word} 2024" for word in tokens(text) if not word.isdigit()])]
        return read.taken or all(months) and len(months) + len(numbers) > 1 and "cannot be read" not in read.assumed  # 3 Mar
    read = positions([text], role, {})[0]
    words_for_it = _OF_A_WHEEL | words.AXLE_NUMBER_WORDS | LINING_WORDS.keys()
    return (
        read.taken or read.question not in ("", "words", "axles") or names_place(text) or bool(words_for_it & set(tokens(text)))
    )


def part_only(heading: str) -> str:
    """The part a heading names by itself, with no place: ``Inner``, ``Rotor (mm)``; empty where it names none, several, or more."""
    found = [word for word in tokens(heading) if word not in TAKEN]
    found = [word for word in found if word not in UNIT_WORDS | THIN_WORDS] or found
    named = {"inner_pad"} if found == ["in"] else {FACES.get(word) or LINING_WORDS.get(word, "") for word in found}
    faces = named & set(FACES.values())
    return next(iter(faces or named)) if len(faces or named) == 1 and "" not in named else ""


def part_named(heading: str) -> str:
    """The one part among a heading's words, whatever else it says: ``Pad L (mm)``, ``Drum Ø R``; empty where it names none, or several."""
    found = tokens(heading)
    named = {FACES[word] for word in found if word in FACES} or {LINING_WORDS[word] for word in found if word in LINING_WORDS}
    return named.pop() if len(named) == 1 else ""


def of_tyres(text: str) -> bool:
    """Whether a text names tyres and no brakes: ``Tread 32nds``."""
    found = set(tokens(text))
    return bool(found & TYRES) and not found & BRAKES


def follows(text: str) -> bool:
    """Whether a line says what is read under it, and nothing else: ``Tyre depths``, ``After repair``, ``Rotors (mm)``, ``Brakes``."""
    return tyres_only(text) or taken_line(text) or brakes_only(text) or bool(part_line(text))


def tyres_only(text: str) -> bool:
    """Whether a text names tyres as what was measured, and nothing else: ``Tyre depths``, not ``Tyres changed``."""
    found = set(tokens(text))
    return bool(found & TYRES) and found <= TYRES | THIN_WORDS | MEASURED_WORDS | UNIT_WORDS | _OF_A_LIST


def part_line(text: str) -> str:
    """The part a line names as what was measured, as `part_only`; empty for a kind of brake, ``Disc brakes``."""
    found = [word for word in tokens(text) if word not in UNIT_WORDS | _OF_A_LIST]
    part = part_only(" ".join(found))
    kind = found[0] in LINING_WORDS and bool(set(found) & BRAKES - LINING_WORDS.keys()) if found else False
    return "" if kind and part in ("rotor", "drum") else part


def taken_line(text: str) -> bool:
    """Whether a line says when what follows was measured, and nothing else: ``After repair``, ``After fitting new pads``."""
    found = tokens(text)
    more = set(found[1:]) <= MEASURED_WORDS | UNIT_WORDS | BRAKES | words.FRONT | words.REAR | _WORK
    return taken_only(text) or bool(found) and found[0] in TAKEN and more


_OF_A_LIST = frozenset("check checks checked inspection inspections depths wear data record records list report section".split())
_WORK = frozenset(
    "work repair repairs job service fitting fitted replacement replacing replaced change changing changed new brake brakes".split()
)


def brakes_only(text: str) -> bool:
    """Whether a text names the brakes or their linings and no part beside them: ``Brakes (mm)``, not ``Brake fluid``."""
    found = set(tokens(text))
    return bool(found & BRAKES) and found <= BRAKES | THIN_WORDS | UNIT_WORDS


def names_place(text: str) -> bool:
    """Whether a word of a text names a wheel, an axle or a side."""
    return any(WHEEL.fullmatch(word) or word in words.LEFT | words.RIGHT | words.FRONT | words.REAR for word in tokens(text))


def says_no_place(heading: str) -> bool:
    """Whether a heading can be of any wheel: a code or a number, ``W1``, ``Pad 2``, ``column 5``, and no place or face, not even in part."""
    code = [word for word in tokens(heading) if word not in UNIT_WORDS | LINING_WORDS.keys() | {"column", "wheel"}]
    return len(code) < 2 and not any(
        _place_word(word) or word in FACES or WHEEL.match(word) for word in code if not word.isdigit()
    )


def measured_only(heading: str) -> bool:
    """Whether a heading says that something was measured or is left, or its unit, and nothing else: ``mm left``, ``Actual``, ``32nds``."""
    found = set(tokens(heading))
    return bool(found) and found <= MEASURED_WORDS | UNIT_WORDS | {"%"}


def taken(heading: str) -> str:
    """``before`` or ``after`` the work, where a heading says so; else empty."""
    said = {TAKEN[word] for word in tokens(heading) if word in TAKEN}
    return said.pop() if len(said) == 1 else ""


def taken_only(heading: str) -> bool:
    """Whether a heading says when something was measured, and nothing else: ``After (mm)``."""
    found = set(tokens(heading))
    return bool(found & TAKEN.keys()) and found <= TAKEN.keys() | MEASURED_WORDS | UNIT_WORDS | {
        "work",
        "repair",
        "job",
        "service",
    }


OF_THOUSANDS = re.compile(
    r"(?i)[(\[]?(?:\btsd\b\.?|\bthousands?\b|\bt(?=km\b)|(?:\bx ?|['’])1?[ .,]?000\b|(?<=\()1?[.,]?000s?(?= ?(?:kms?|mi|miles)?\))|\bmilliers\b)(?: of)?[)\]]?"
)
"""An odometer's heading that counts in thousands: ``km x1000``, ``Odo (000 km)``."""


OF_TEN_KM = re.compile(r"(?i)[(\[] ?mil ?[)\]]|\bmil$|\bmiltal\b")
"""An odometer's heading in Scandinavian miles of 10 km: ``Mätarställning (mil)``."""


def side_only(heading: str) -> str:
    """``left`` or ``right`` where a heading says that and no axle, in one language or two; empty where it does not."""
    found = {word for piece in halves(heading) for word in _bare(piece)[0].split()}
    return "left" if found and found <= words.LEFT else "right" if found and found <= words.RIGHT else ""


def sides(columns: list[str], hints: dict) -> dict[str, tuple[str, str]]:
    """Headings that differ in nothing but the side they name, ``L pad`` beside ``R pad``: which side it is, or the question for it.

    Parameters
    ----------
    columns : list of str
    hints : dict
        As for `places`.

    Returns
    -------
    dict
        By heading: ``left`` or ``right`` and nothing, or nothing and ``traffic_side`` or ``driver_side``.
    """
    named = {}
    for column in columns:
        found = tokens(column)
        of = {_SIDE_CLASS[word] for word in found if word in _SIDE_CLASS}
        if len(of) == 1 and not any(WHEEL.fullmatch(word) or word in words.FRONT | words.REAR for word in found):
            named[column] = of.pop(), tuple(sorted(word for word in found if word not in _SIDE_CLASS))
    whole = {tuple(sorted(tokens(column))) for column in columns}
    out = {}
    for column, (side, others) in named.items():
        front_too = side in ("left", "right") and tuple(sorted((*others, "f"))) in whole
        if (_OPPOSITE[side], others) in named.values() and not front_too:
            said = cells.read("position", [f"front {_SAID[side]}"], "", hints)[0]
            out[column] = (said.value["side"], "") if isinstance(said.value, dict) else ("", said.question)
    return out


_SIDE_CLASS = {
    **dict.fromkeys(words.LEFT, "left"), **dict.fromkeys(words.RIGHT, "right"), "l": "left", "r": "right",
    **dict.fromkeys(words.NEARSIDE, "near"), **dict.fromkeys(words.OFFSIDE, "off"),
    **dict.fromkeys(words.DRIVER, "driver"), **dict.fromkeys(words.PASSENGER, "passenger"),
}  # fmt: skip
_OPPOSITE = {"left": "right", "right": "left", "near": "off", "off": "near", "driver": "passenger", "passenger": "driver"}
_SAID = {"left": "left", "right": "right", "near": "nearside", "off": "offside", "driver": "driver", "passenger": "passenger"}

_GERMAN = frozenset(
    "links rechts innen aussen achse vorne hinten vorn belag belage scheibe scheiben backe backen blok blokken remblok remblokken voor achter vooras "
    "achteras".split()
)
"""And Dutch, whose VL and VR are the same wheels."""
_THICKNESS_LEFT = frozenset("material mm thickness lining friction".split())
"""``Front pad material left``, where no heading says right: what is left of it."""
_GERMAN_SHEET = frozenset(
    "fahrzeug kennzeichen kfz tachostand kilometerstand kmstand bemerkung bemerkungen werkstatt kenteken voertuig opmerking opmerkingen".split()
)
_GERMAN_WHEELS = frozenset("vl vr hl hr va ha aa".split())
_GERMAN_SHORT = {
    "vl": "vorne links",
    "vr": "vorne rechts",
    "hl": "hinten links",
    "hr": "hinten rechts",
    "li": "links",
    "re": "rechts",
    "vo": "vorne",
    "hi": "hinten",
    "fs": "fahrerseite",
    "bfs": "beifahrerseite",
}
_POLISH = frozenset(
    "klocek klocki klockow tarcza tarcze beben bebny szczeka szczeki okladzina okladziny przod tył tyl osie".split()
)
_POLISH_SHORT = {
    "l": "lewy",
    "p": "prawy",
    "tyl": "tył",
    "lp": "lewy przod",
    "pp": "prawy przod",
    "lt": "lewy tył",
    "pt": "prawy tył",
}
_ITALIAN = frozenset("pastiglia pastiglie ganascia ganasce guarnizione guarnizioni ferodo disco dischi tamburo tamburi".split())
_ITALIAN_SHORT = {
    "as": "anteriore sinistra",
    "ad": "anteriore destra",
    "ps": "posteriore sinistra",
    "pd": "posteriore destra",
}
_SPANISH = frozenset(
    "pastilha pastilhas lona lonas diant esq esquerda esquerdo dir direita direito "
    "izq izqda izda izquierda izquierdo der dcha derecha derecho balata balatas pastilla pastillas".split()
)
_SPANISH_SHORT = {"diant": "dianteira", "del": "delantera", "delant": "delantera", "tras": "trasera"}
_FRENCH = frozenset(
    "gauche droite droit plaquette plaquettes plaq garniture garnitures disque disques essieu roue frein freins".split()
)
_FRENCH_SHORT = {"av": "avant", "ar": "arriere", "arr": "arriere", "g": "gauche", "d": "droite", "dr": "droite"}
"""Short words that are clear in their own language only."""


_OUT = frozenset(word for word, part in FACES.items() if part == "outer_pad")


def left_over(found: list[str], right_too: bool = True) -> bool:
    """Whether ``left`` among a heading's words is what is left of the lining: no side, since another word says that.

    ``right_too``: whether another heading of the sheet says right.
    """
    sides = (words.LEFT | words.RIGHT) - {"left"}
    other = any(word in sides or WHEEL.fullmatch(word) or _AXLE_SIDE.fullmatch(word) for word in found)
    return "left" in found and (other or found.count("left") > 1 or not right_too)


def _short_words(found: set[str]) -> dict[str, str]:
    """Short words written out, by the languages that these words are of."""
    short = dict(_SPANISH_SHORT) if _SPANISH & found else {}
    short |= _FRENCH_SHORT if _FRENCH & found else {}
    short |= _POLISH_SHORT if _POLISH & found else {}
    short |= _ITALIAN_SHORT if _ITALIAN & found else {}
    short |= {"past": "pastiglia", "disc": "disco"} if {"sx", "dx"} <= found else {}
    short |= {"for": "foran", "bag": "bak"} if {"venstre", "hojre"} <= found else {}
    return short


def _bare(
    heading: str, out_too: bool = True, right_too: bool = False, german_too: bool = False, short_too: dict | None = None
) -> tuple[str, tuple[str, ...]]:
    """A heading's words of place, without unit and filler, and the faces and parts it names.

    ``in`` is the inner pad only where another heading says out (``out_too``), else the inch; ``left`` in a heading of per cent is
    the side only where another says right (``right_too``) and no other word says the side; ``german_too``: another heading is German;
    ``short_too``: short words of the language of other headings.
    """
    found = tokens(
        re.sub(r"[(\[][^)\]]*(?:mm|in|inch|32|%|\bpo\b)[^)\]]*[)\]]|1/32|/ ?32\b|32nds?|in32", " ", heading, flags=re.I)
    )
    found = [word for word in found if word not in TAKEN.keys() | RUNOUT | NEW]
    if "%" in found:
        if left_over(found, right_too):
            found.pop(len(found) - 1 - found[::-1].index("left"))
        found = [word for word in found if word not in ("%", "rest", "restant", "worn", "used")]
    at = found.index("left") if "left" in found and not right_too else 0
    if at and (found[at - 1] in _THICKNESS_LEFT or found[at - 1] in LINING_WORDS or found[at - 1] in ("life", "remaining")):
        found.pop(at)
    german = any(word in _GERMAN or word.startswith("brems") or german_too and word in _GERMAN_WHEELS for word in found)
    short = {**(_GERMAN_SHORT if german else {}), **(short_too or {}), **_short_words(set(found))}
    found = [piece for word in found for piece in short.get(word, word).split()]
    sides = words.LEFT | words.RIGHT | words.NEARSIDE | words.OFFSIDE | words.DRIVER | words.PASSENGER
    wheel = any(WHEEL.fullmatch(word) or word in sides | words.FRONT | words.REAR for word in found)
    said = [word for word in found if word == "1" or word not in UNIT_WORDS | THIN_WORDS | LINING_WORDS.keys() | FACES.keys()]
    one_side = len(said) == 2 and set(said) - {"1"} <= words.LEFT | words.RIGHT | words.NEARSIDE | words.OFFSIDE | {"l", "r"}
    parts, place = [], []
    for at, word in enumerate(found):
        if word == "in" and at and out_too and (wheel or _place_word(found[at - 1])):
            parts.append("inner_pad")
        elif word in FACES:
            parts.append(FACES[word])
        elif word in LINING_WORDS:
            parts.append(LINING_WORDS[word])
        elif _AXLE_SIDE.fullmatch(word):
            place += ["axle", *sorted(word)]
        elif german and word in ("va", "ha", "aa"):
            place.append("front" if word == "va" else "rear")
        elif word.isdigit() and at and found[at - 1] in words.TRUCK_AXLES:
            place.append(word)
        elif word.isdigit() and (
            words.AXLE_NUMBER_WORDS & set(found) or (one_side if word == "1" else sides & set(found) or {"l", "r"} & set(found))
        ):
            place += ["axle", word]
        elif word.isdigit() and word != "1":  # what it counts is not said
            return "", ()
        elif word not in UNIT_WORDS | THIN_WORDS | words.AXLE_NUMBER_WORDS:
            place.append(word)
    if not place or all(word.isdigit() for word in found) or not all(word == "axle" or _place_word(word) for word in place):
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
    if reading.question in ("driver_side", "traffic_side", "axles", "wheels"):
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
