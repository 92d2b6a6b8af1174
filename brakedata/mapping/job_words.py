"""The words in which work on brakes is written, by what they mean.

In small letters without accents; to teach the reader a new word, add it to the line it belongs to. Source: common practice, no source.
"""

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
ACTION_OF = {word: action for action, those in ACTIONS.items() for word in those.split()}
PART_OF = {word: part for part, those in PARTS.items() for word in those.split()}
UNSURE = frozenset(
    "pending req reqd refused cancelled canceled void voided todo tbd advisory prior postponed deferred rejected deleted error wrong nr "
    "never est estimate estimated declined decline recommend recommended recommends advise advised needs need needed next soon due quote quoted order ordered "
    "should "
    "empfohlen demnachst prevoir refuse pendiente required require remaining rec adv suggest suggested book booked booking monitor awaiting "
    "waiting last previous previously prev ago already earlier elsewhere dealer dealership owner himself herself yesterday since letzte letzten "
    "letzter letztes vorher bereits schon dernier derniere deja ultimo ultima anterior ya antes vorige eerder gia prima precedente will if "
    "unless must had".split()
)
"""Words by which nothing that a text says was done, or not at this visit."""
HEARSAY = frozenset("says said states stated claims told reports reported complains".split())
"""Words by which what the clause says of linings was not done here: ``driver says front pads replaced``."""
TAKEN_BACK = tuple(frozenset(said.split()) for said in ("on hold", "to do", "none", "n a", "no", "not"))
"""Clauses, each by its words, that take back what the one before says was done."""
DENIES = frozenset("not no t ok good nicht kein keine pas non sin niet geen was were been".split())
"""Words by which what the clause itself says was not done: ``front pads ok, rear pads replaced``."""
CONDITION = frozenset(
    "worn glazed low thin cracked scored rusty rusted seized corroded warped lipped pitted contaminated soaked noisy squealing grinding uneven unevenly "
    "badly very out down metal under warranty to now verschlissen abgefahren usees usees gastadas versleten".split()
)
"""Words for what a part was like, beside one for what was done to it: ``front pads worn, replaced``."""
SMALL = frozenset(
    "and & + the with of on at all both brake brakes set sets kit w und die der den mit et les des y las los de da das dos del con x 2 axle "
    "achse u jeu jeux e i og och en we ax this visit round around".split()
)


OTHER_WORK = frozenset(
    "oil filter change lube service serviced insp inspect inspection inspected annual mot tyre tyres tire tires wheel wheels rotate rotated rotation "
    "balance alignment wash washed wiper wipers battery bulb bulbs coolant belt plugs ac a c and general check checked road test routine safety pm "
    "interim full minor major olwechsel inspektion vidange revision aceite cambio de none nothing n na nil ok".split()
)
"""Words of work that is no work on brakes: a line of no others is no brake job."""
LININGS = "linings"
"""Brakes without a word for pads or shoes: ``front brakes replaced``."""
ALONE = frozenset("job done".split())
BRAKES = frozenset(
    "brake brakes brks bremsen bremse freins frenos remmen freni travoes lining linings garniture garnitures belage balatas".split()
)
ORDERS = frozenset(
    "replace replacement replacing renew install fit change turn resurface skim machine clean cambio wymiana vymena remplacement changement "
    "sustitucion recambio vervanging sostituzione substituicao troca rectification rectificacion rettifica retificacao rpl repl slap".split()
)
"""Words that say what is to be done, where a participle says that it was."""
RELINED = frozenset("relined reline relining".split())
RENEWED = ("pads", "shoes", "rotor", "drum", LININGS)
"""Parts that a job named by them renews; slides, hoses and calipers may have been cleaned or freed."""


REFUSED = frozenset(
    "declined rejected refused deferred cancelled canceled quoted quote quotation estimate estimated offer offered postponed abgelehnt verschoben "
    "storniert angebot refuse refusee annule annulee devis rechazado cancelado presupuesto geweigerd geannuleerd offerte rifiutato annullato preventivo "
    "recusado orcamento odmowa".split()
)
"""Words of a decision by which nothing was done."""
WAITING = frozenset(
    "pending open hold waiting awaiting booked scheduled planned later not no next think nein offen non niet nie".split()
)
"""Words of a decision by which nothing was done yet, in a column of decisions."""
DECIDED = frozenset(
    "approved accepted authorised authorized completed complete done yes no by customer client owner pending open closed waiting awaiting approval in "
    "progress not ok invoiced invoice paid ready for parts today next visit bill finished fitted started go ahead now month week later phone phoned d s it "
    "about will think said walked away on hold the rechnung erledigt facture factura factuur fattura".split()
)
"""Words of which a column of decisions consists."""
AND = frozenset("and und et y e i og och en".split())
AXLES = frozenset("axle axles ax achse achsen essieu essieux eje ejes asse assi eixo as assen os osie aksel".split())
