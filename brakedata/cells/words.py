"""The words people write in brake records, by what they mean.

To teach the reader a new word, add it to the line it belongs to, in lower case and without accents. Sources: common
practice, no source; calendars and number formats of countries from memory.
"""


def _split(text: str) -> frozenset[str]:
    return frozenset(text.split())


# --- any field --------------------------------------------------------------------------------------------------------

NO_READING = frozenset({
    "", "-", "?", "n/a", "na", "n.a", "n.a.", "none", "nil", "null", "nan", "nat", "no", "x", "xx", "xxx", "tbd", "tba", "tbc", "unknown",
    "unk", "unkn", "same", "ditto", "dto", "do", "as above", "as before", "above", "blank", "empty", "void", "missing", "pending", "later",
    "n/m", "n/c", "n/r", "nm", "not", "no reading", "no access", "no display", "no data", "skip", "skipped", "notes", "note",
    "k.a.", "k.a", "keine angabe", "entfallt", "inconnu", "neant", "s/d", "s.d", "ninguno", "sin dato", "desconocido", "idem", "unbekannt",
    "illegible", "unreadable", "can't read", "cant read", "n/v", "nv", "not visible", "hidden", "covered",
    "asap", "soon", "na na", "n a", "not applicable", "not available", "tick", "yes", "y", "✓", "✔", "✗", "☑", "√",
})  # fmt: skip

DECIMAL_COMMA = _split(
    "DE AT FR BE NL LU ES PT IT PL CZ SK HU RO BG HR SI RS BA GR TR RU UA BY SE NO DK FI IS EE LV LT BR AR CL CO UY PY VE EC BO ZA ID VN"
)
DECIMAL_POINT = _split("US GB UK IE AU NZ IN JP CN KR TW HK MX TH SG MY IL KE NG PH PK CH LI")

KEEP_LEFT = _split(
    "GB UK IE AU NZ ZA IN JP MT CY KE TZ UG ZM ZW NA BW LS SZ MZ MW MY SG TH ID HK MO LK PK BD NP BT BN JM TT BB BS GY SR MU SC FJ PG IM JE GG"
)
KEEP_RIGHT = _split(
    "US CA MX DE AT CH LI FR BE NL LU ES PT IT PL CZ SK HU RO BG HR SI RS BA ME MK AL GR TR RU UA BY MD SE NO DK FI IS EE LV LT BR AR CL CO "
    "PE UY PY VE EC BO CR PA GT HN SV NI DO PR CU CN KR TW PH VN IL EG MA DZ TN SA AE QA KW NG GH SN CI ET"
)

# --- position ---------------------------------------------------------------------------------------------------------

LEFT = _split("lewy lewa lewe lewej left lft lh lt lhs ls leftside leftie links lks gauche izquierda izquierdo izq izqda izda sinistra sinistro sin sx "
              "esquerda esquerdo esq vanster venstre lefthand")  # fmt: skip
RIGHT = _split("prawy prawa prawe prawej right rt rgt rh rhs rs rght rite rightside rechts rts droite droit derecha derecho der dcha destra destro dx "
               "direita direito dir hoger hoyre hojre righthand")  # fmt: skip
FRONT = _split("przod przedni przednia przednie przedniej front frt frts frnt fnt fronts frontal fwd forward vorne vorn avant avants delantera delantero delanteras "
               "delanteros anteriore anteriori ant dianteira dianteiro frente voor vooras vorderachse fram foran vorderrad ft fa")  # fmt: skip
REAR = _split("tył tylny tylna tylne tylnej rear rears re rer reer rea back bck bk hinten arriere arrieres trasera trasero traseras traseros posteriore posteriori post "
              "traseira traseiro achter achteras hinterachse bak hinterrad aft ra")  # fmt: skip
GUESSED_AXLE = _split("ft re rer reer rea bak bck bk aft ant fa ra")
"""Axle words short or odd enough to be stated as an assumption."""

NEARSIDE = _split("ns nearside near curbside kerbside curb kerb")
OFFSIDE = _split("os offside off streetside roadside street road")
DRIVER = _split("driver drivers drv drvr dvr drvs drivside ds driverside operator conducteur fahrer fahrerseite conductor")
PASSENGER = _split("passenger passengers pass psgr pax passngr pasenger passanger passside ps codriver copilot passager "
                   "beifahrer beifahrerseite acompanante pasajero")  # fmt: skip

INNER = _split("inner inners inboard ib inside innen inr innr interior interieur interno interna int binnen binnenste piston")
OUTER = _split("outer outers outboard ob outside aussen outr exterior exterieur externo externa ext buiten")
PARTS = {
    **dict.fromkeys(_split("pad pads belag belage bremsbelag bremsbelage plaquette plaquettes pastilla pastillas lining linings "
                         "remblok remblokken blok blokken pastiglia pastiglie pastilha pastilhas klocek klocki desticka desticky"), "pad"),
    **dict.fromkeys(_split("shoe shoes bremsbacke bremsbacken machoire machoires zapata zapatas "
                         "backe backen bremsbacken remschoen remschoenen ganascia ganasce szczeka szczeki"), "shoe"),
    **dict.fromkeys(_split("rotor rotors disc discs disk disks bremsscheibe bremsscheiben disque disques disco discos "
                         "scheibe scheiben dischi remschijf remschijven schijf schijven tarcza tarcze"), "rotor"),
    **dict.fromkeys(_split("drum drums trommel trommeln tambour tambours tambor tambores "
                         "bremstrommel bremstrommeln remtrommel remtrommels tamburo tamburi beben bebny"), "drum"),
    **dict.fromkeys(_split("parkbrake handbrake epb hb pb parking park ebrake handbremse feststellbremse"), "park_brake"),
    "leading": "leading_shoe",
    "trailing": "trailing_shoe",
}  # fmt: skip
GUESSED_PART = _split("hb pb")

BOTH = _split("both pair bth beide beidseitig deux ambos ambas entrambi sides")
EVERY_WHEEL = _split("all every each entire complete")
POSITION_FILLER = _split(
    "wheel wheels whl whls tire tires tyre tyres brake brakes side sides corner position hand the of at on only end axle axles brk brks "
    "frein freins bremse bremsen freno frenos freio rueda roue rad reifen posn loc location the set assy assembly unit "
    "achse essieu eje asse eixo osie"
)
OTHER_THINGS = _split(
    "bumper bumpers mirror mirrors door doors window windows windscreen windshield wiper wipers lamp lamps light lights headlight headlights "
    "headlamp headlamps taillight bulb bulbs indicator shock shocks absorber absorbers strut struts spring springs damper dampers tie ball joint "
    "bearing bearings boot boots cv seat belt fender fenders wing mudguard mudflap differential diff bushing bushings bush wishbone driveshaft "
    "axleshaft seal seals exhaust glass engine gearbox clutch"
)
"""Parts of a vehicle that are no brake and no place of one."""
EITHER = _split("or oder ou")
NOT_THERE = _split("except but not no other opposite than without besides")
REMOVE_REPLACE = frozenset({
    "r&r", "r+r", "r and r", "r & r", "r + r", "rnr", "r&i", "r n r", "remove and replace", "remove & replace", "replace", "replaced",
    "remove/replace", "removed and replaced", "removed & replaced", "remove replace", "repair", "repaired", "spare",
})  # fmt: skip

TRUCK_AXLES = {
    **dict.fromkeys(_split("steer steering steers str"), "steer"),
    **dict.fromkeys(_split("drive drives driven drv"), "drive"),
    **dict.fromkeys(_split("tag tags"), "tag"),
    **dict.fromkeys(_split("pusher lift"), "pusher"),
}  # fmt: skip
TRAILER = _split("trailer trl trlr tlr trailers semi anhanger remorque remolque auflieger")
AXLE_NUMBER_WORDS = _split("axle axles ax axl achse essieu eje as asse eixo osie")
ORDINALS = {
    "first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "1st": 1, "2nd": 2, "3rd": 3, "4th": 4, "5th": 5,
    "lead": 1, "forward": 1, "fwd": 1, "front": 1, "rear": -1, "rearward": -1, "back": -1, "last": -1,
}  # fmt: skip

MIDDLE = _split("middle mid center centre")

COUNTRY_CODES = {
    ("DE", "AT", "CH", "LI"): {
        "vl": "front left", "vr": "front right", "hl": "rear left", "hr": "rear right", "va": "front", "ha": "rear",
        "v": "front", "h": "rear",
    },
    ("FR", "BE", "CH", "LU", "CA"): {
        "avg": "front left", "avd": "front right", "arg": "rear left", "ard": "rear right", "av": "front", "ar": "rear",
        "g": "left", "d": "right",
    },
    ("ES", "MX", "AR", "CL", "CO", "PE", "EC", "UY"): {
        "di": "front left", "dd": "front right", "ti": "rear left", "td": "rear right", "del": "front", "tras": "rear",
    },
    ("IT",): {"as": "front left", "ad": "front right", "ps": "rear left", "pd": "rear right"},
    ("PT", "BR"): {"de": "front left", "dd": "front right", "te": "rear left", "td": "rear right"},
    ("NL", "BE"): {"lv": "front left", "rv": "front right", "la": "rear left", "ra": "rear right", "va": "front", "aa": "rear"},
    ("SE",): {"vf": "front left", "hf": "front right", "vb": "rear left", "hb": "rear right"},
}  # fmt: skip
"""Wheel codes that only a country settles."""

SHORT_SIDES = (
    (("DE", "AT", "CH", "LI", "NL"), _split("links rechts li vorne vorn vorderachse hinten hinterachse va ha achse seite belag belage voor achter zijde"),
     {"re": "right", "li": "left", "vo": "front", "hi": "rear", "hint": "rear", "vord": "front"}),
    (("FR", "LU"), _split("gauche droite droit avant av arriere arr avd avg ard arg essieu cote plaquette plaquettes"),
     {"d": "right", "dr": "right", "dt": "right", "dte": "right", "g": "left", "ga": "left", "gch": "left", "gche": "left", "arr": "rear"}),
    (("ES", "MX", "AR", "CL", "CO", "PE", "EC", "UY"),
     _split("izquierda izquierdo izq derecha derecho del delantera delantero delanteras delanteros trasera trasero traseras traseros tras eje lado pastilla pastillas"),
     {"d": "right", "i": "left", "del": "front", "tras": "rear", "delant": "front"}),
    (("IT",), _split("sinistra sinistro destra destro dx sx anteriore anteriori ant post posteriore posteriori asse lato pastiglia pastiglie"),
     {"d": "right", "s": "left"}),
    (("PT", "BR"), _split("esquerda esquerdo esq direita direito dianteira dianteiro diant traseira traseiro eixo lado pastilha pastilhas"),
     {"d": "right", "e": "left", "diant": "front", "tras": "rear"}),
    (("SE",), _split("vanster hoger fram bak"), {"v": "left", "h": "right"}),
    (("PL",), _split("osie strona lewy prawy lewa prawa przod przednia przednie tylna tylne klocki"), {"l": "left", "p": "right"}),
)  # fmt: skip
"""Short words for a side or axle that mean something else in another language: the countries, the words that show the language, the meanings."""

CODES_OF_ANY_COUNTRY = {"avg": "front left", "avd": "front right", "arg": "rear left", "ard": "rear right"}
"""Foreign wheel codes that nothing else looks like."""

CODE_PAIRS = (
    ({"vl": "front left", "vr": "front right"}, {"hl": "rear left", "hr": "rear right"}),
    ({"lv": "front left", "rv": "front right"}, {"lh": "rear left", "rh": "rear right"}),
    ({"lv": "front left", "rv": "front right"}, {"la": "rear left", "ra": "rear right"}),
    ({"di": "front left", "dd": "front right"}, {"ti": "rear left", "td": "rear right"}),
    ({"de": "front left", "dd": "front right"}, {"te": "rear left", "td": "rear right"}),
    ({"as": "front left", "ad": "front right"}, {"ps": "rear left", "pd": "rear right"}),
    ({"lp": "front left", "pp": "front right"}, {"lt": "rear left", "pt": "rear right"}),
    ({"vf": "front left", "hf": "front right"}, {"vb": "rear left", "hb": "rear right"}),
    ({"va": "front"}, {"ha": "rear"}),
    ({"fl": "front left", "fr": "front right"}, {"bl": "rear left", "br": "rear right"}),
    ({"lf": "front left", "rf": "front right"}, {"lb": "rear left", "rb": "rear right"}),
    ({"av": "front"}, {"ar": "rear"}),
)
"""German, Dutch, French, Spanish, Portuguese, Italian, Polish and Swedish wheel codes, and English ones with back for rear, read without the country where the column has both front and rear ones."""

# --- thickness --------------------------------------------------------------------------------------------------------

THICKNESS_UNITS = {
    **dict.fromkeys(_split("mm millimetre millimetres millimeter millimeters milimeter milimeters milimetro milimetros millim mms"), "mm"),
    **dict.fromkeys(_split("in inch inches ins zoll pouce pouces pulgada pulgadas"), "in"),
    '"': "in",
    **dict.fromkeys(_split("cm centimetre centimeter"), "cm"),
    **dict.fromkeys(_split("thou thous"), "thou"),
    **dict.fromkeys(_split("mil mils m"), "unclear"),
    **dict.fromkeys(_split("um micron microns"), "um"),
    **dict.fromkeys(_split("nds nd ths th"), "fraction"),
    **dict.fromkeys(_split("% percent pct prozent"), "%"),
    **dict.fromkeys(_split("km kms mi mile miles mls k tkm hrs hours"), "distance"),
}  # fmt: skip
OTHER_QUANTITIES = _split(
    "nm psi bar kpa kgf kg lb lbs lbf ftlb rpm volt volts deg degrees weeks months years month year wks mths yrs days hr hour stunden heures horas"
)
"""Units of torque, pressure, force, temperature and time: a number with one of them is no lining."""
ABOUT = _split("~ about approx approximately approximate approximated around ca circa c abt est estimated estimate eyeballed eyeball visual ish "
               "nearly roughly say ungefahr env environ aprox unos unas guess guessed visually")  # fmt: skip
UNDER = _split("< ≤ under below beneath unter upto sub")
OVER = _split("> ≥ over above beyond uber")
AND = _split("& and und et y + e")
RANGE = _split("- to thru through bis or a")
LEFT_OVER = _split("left remaining remain remains rem remainder rest restant reste restent noch queda quedan resta restano")
USED_UP = _split("worn used gone consumed verschlissen")
WORN_AWAY = USED_UP | _split("wear verschleiss abnutzung usure desgaste usura")
REPLACED = _split("new replaced renewed changed fitted installed replacement brandnew neu ersetzt neuf remplace remplacees nuevo nuevas "
                  "cambiado cambiadas rnew newpads nos")  # fmt: skip
NEW_WORDS = _split("new neu neuf nuevo nuevas brandnew")
BEFORE = _split("before was old previously prior vorher antes from")
AFTER = _split("after now nachher apres despues currently")
CONDITION = _split(
    "cracked crack cracks crumbling glazed glaze contaminated oily oil grease greasy soaked fluid delaminating delaminated delamination "
    "separating separated uneven unevenly tapered taper scored chipped broken loose seized sticking stuck rusted rust burnt burned blue blued "
    "grinding noisy squeal squealing noise wear hot fouled missing damaged flaking peeling edge lip corroded wet leak leaking dragging heat hotspots"
)
ADVICE = _split(
    "needs need needed recommend recommended recommends rec req required due soon quote quoted declined decline order ordered advise advised "
    "replace replacing change changing wants want suggest suggested urgent overdue asap monitor watch next"
)
OTHER_PURPOSE = _split(
    "limit limits min minimum max maximum spec specs specification discard should will be last time previous prev not no don't dont didn't "
    "cannot can't isn't wasn't without almost like as near close unless if when until target expected maybe possibly either tyre tire tread tyres "
    "tires runout torque star stars points score grade level reifen profil pneu pneus neumatico neumaticos gomma gomme pneumatico profiel dot "
    "set sets qty pcs pieces verschleissgrenze grenzwert grenze mindestdicke mindestmass mindest mini minimal limite legal seuil minimo minima soll"
)
THICKNESS_FILLER = _split(
    "pad pads lining linings thick thickness the of is at measured measure reading meas avg average brake brakes material friction "
    "are on gauge gauged tool belag belage plaquettes pastillas still ok good fine fair poor bad pass passed red yellow green amber only "
    "just deep thk thinnest lowest life low it customer"
)
NUMBER_WORDS = {
    "zero": 0, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10, "eleven": 11,
    "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15, "sixteen": 16, "seventeen": 17, "eighteen": 18, "nineteen": 19,
    "twenty": 20, "thirty": 30, "forty": 40, "fourty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80, "ninety": 90,
}  # fmt: skip

# --- odometer ---------------------------------------------------------------------------------------------------------

DISTANCE_UNITS = {
    **dict.fromkeys(_split("km kms kilometre kilometres kilometer kilometers kilometros quilometros kilometern klm klms ks"), "km"),
    **dict.fromkeys(_split("mi mile miles mls meilen millas milles milhas"), "mi"),
    **dict.fromkeys(_split("h hr hrs hour hours std stunden heures horas"), "h"),
}  # fmt: skip
OTHER_METER = _split(
    "hub hubo hubodometer hubometer hubodo hubmeter ecm ecu obd gps telematics trailer trlr trl reefer apu pto engine"
)
DOUBTED = _split(
    "tmu nam eml actual exempt exceeds true broken inop inoperative stuck unknown wrong incorrect faulty frozen intermittent"
)
CLUSTER = _split("cluster clusters speedo speedometer instrument")
ODOMETER_FILLER = _split("odo odometer odom reading mileage dash clock clocks on the is shows showing display kilometrage "
                         "kilometerstand stand tachostand total")  # fmt: skip
FIRST_OF_VISIT = _split("in arrival arr arrive arrived start begin i")
LAST_OF_VISIT = _split("out departure dep depart left end finish finished o")

STOOD_BEFORE = _split("old was previous prior before from")
STANDS_NOW = _split("now after reads")
EXCHANGED = _split("new replaced changed swapped fitted installed swap")
NOT_THE_ODOMETER = _split(
    "last next trip remaining go limit service warranty until every per price cost interval since mph kmh kph rpm psi gal mil mille mils "
    "range autonomie inspektion wartung nachste nachster nachstes entretien prochain prochaine proximo proxima revision ro wo inv invoice job "
    "ticket kg lbs l ltr litre litres liter liters fuel"
)

# --- date -------------------------------------------------------------------------------------------------------------

MONTHS = {
    **dict.fromkeys(_split("january jan januar janner janvier janv enero ene gennaio gen janeiro januari stycznia styczen ocak ledna"), 1),
    **dict.fromkeys(_split("february feb februar feber febr fevrier fevr fev febrero febbraio fevereiro februari lutego luty subat unora"), 2),
    **dict.fromkeys(_split("march mar mars marz maerz mrz marzo marco maart mrt marca marzec mart brezna marts"), 3),
    **dict.fromkeys(_split("april apr avril avr abril abr aprile kwietnia kwiecien nisan dubna"), 4),
    **dict.fromkeys(_split("may mai mayo maggio mag maio mei maj maja mayis mayıs kvetna"), 5),
    **dict.fromkeys(_split("june jun juni juin junio giugno giu junho czerwca czerwiec haziran cervna"), 6),
    **dict.fromkeys(_split("july jul juli juillet juil julio luglio lug julho lipca lipiec temmuz cervence"), 7),
    **dict.fromkeys(_split("august aug aout agosto ago augustus augusti sierpnia sierpien agustos srpna"), 8),
    **dict.fromkeys(_split("september sep sept septembre septiembre settembre set sett setembro wrzesnia wrzesien eylul zari"), 9),
    **dict.fromkeys(_split("october oct oktober okt octobre octubre ottobre ott outubro out pazdziernika pazdziernik ekim rijna"), 10),
    **dict.fromkeys(_split("november nov novembre noviembre novembro kasim kasım"), 11),
    **dict.fromkeys(_split("december dec dezember dez decembre diciembre dic dicembre dezembro grudnia grudzien aralik aralık prosince desember"), 12),
}  # fmt: skip
WEEKDAYS = {
    **dict.fromkeys(_split("monday mon montag maandag mo lundi lun lunes lunedi"), 0),
    **dict.fromkeys(_split("tuesday tue tues dienstag dinsdag di mardi martes martedi"), 1),
    **dict.fromkeys(_split("wednesday wed weds mittwoch woensdag mi mercredi mer miercoles mie mercoledi"), 2),
    **dict.fromkeys(_split("thursday thu thur thurs donnerstag donderdag do jeudi jeu jueves jue giovedi"), 3),
    **dict.fromkeys(_split("friday fri freitag vrijdag vendredi ven viernes vie venerdi"), 4),
    **dict.fromkeys(_split("saturday sat samstag sonnabend zaterdag sa samedi sam sabado sab sabato"), 5),
    **dict.fromkeys(_split("sunday sun sonntag zondag so dimanche dim domingo dom domenica"), 6),
}  # fmt: skip
DATE_FILLER = _split("the of on date dated done le el den am de del il du completed serviced service visit checked inspected in")
DATE_ABOUT = _split("~ about abt approx approximately around ca circa c est estimated roughly")
WEEK = _split("wk week w kw cw sem semaine semana woche")
BEFORE_DAY = _split("before < ≤ vor avant antes")
AFTER_DAY = _split("after > ≥ since nach apres despues")
PLANNED = _split(
    "by until till due not missed declined planned scheduled schedule appt appointment booked booking expires expiry exp valid order ordered quote quoted will "
    "prev previous built mfg manufactured purchased bought sold registered born birthday termin rdv cita cancelled canceled abgesagt annule anulado postponed verschoben rescheduled reserved"
)
DOTTED_DATES = _split("DE AT CH LI PL CZ SK HR SI RS RU UA BY BG RO TR NO DK FI EE LV IS")
"""Countries that write day.month.year with dots."""
DAY_FIRST = _split(
    "GB UK IE AU NZ ZA IN DE AT CH LI FR BE NL LU ES PT IT PL CZ SK HR SI RS RU UA BY BG RO TR NO DK FI EE LV IS GR BR AR CL CO MX PE TH SG MY "
    "IL EG MA NG PK ID VN"
)
MONTH_FIRST = _split("US PR GU")
