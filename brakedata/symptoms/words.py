"""The word lists: what customers, drivers and technicians write, and what it stands for.

Every list can be read and extended without programming. How a phrase is written, here and in a shop's own list:

- words are base forms: ``squeal`` also finds squeals, squealed, squealing, squealy; ``=stops`` finds only that form;
- ``#`` is any number;
- neighbours: small words (`FILLERS`: a, the, is, my, very ...) may stand between them;
- ``..`` lets up to four other words stand between, but no word of denial and no end of clause;
- ``pad/shoe`` is either word, ``@part`` any word of that group (`GROUPS`), ``^`` and ``$`` are the start and the end of the clause;
- phrases are parted by commas. Where phrases overlap, the one with more words wins.

The words are general trade usage (common practice, no source).
"""

CATEGORIES = ("noise", "pulsation", "pull", "pedal", "drag", "warning-light", "leak", "parking-brake", "other", "none")


# ---------------------------------------------------------------- spelling, shorthand
# The word: how it is also written. A single slip of a letter (see CORRECTED) needs no entry.
SPELLINGS = {
    "abs": "antilock",
    "ac": "a/c aircon",
    "alignment": "algn",
    "bad": "terrible horrible awful horrendous nasty worst",
    "bearing": "brg brng",
    "blow": "blew blown",
    "brake": "brk brks brkg brking brkng brak braks break breaks breaking brek breks barke braked",
    "burn": "burnt",
    "caliper": "calliper callipers cal cals caliber",
    "check": "ck chk chck",
    "code": "dtc dtcs",
    "confirm": "conf cfm",
    "customer": "cust cus cstmr c/s c/c c/o owner",
    "do": "does did doing done",
    "duplicate": "dup dupd dupl",
    "engine": "eng",
    "fall": "fell",
    "feel": "felt",
    "floor": "flr flor floorboard",
    "fluid": "fld flud",
    "freeze": "froze frozen froz",
    "front": "frt frnt fr fnt",
    "go": "goes going went",
    "grind": "grd grdg grnd grndg grnding",
    "hear": "heard",
    "highway": "hwy fwy freeway motorway interstate expressway turnpike autobahn",
    "hold": "held",
    "judder": "juder",
    "leak": "lk lkg leek leeking leakage",
    "left": "lft lt",
    "inop": "inoperative",
    "light": "lite lites lght",
    "long": "longer",
    "loud": "louder",
    "low": "lower",
    "fast": "faster",
    "hard": "harder",
    "hot": "hotter",
    "slow": "slower",
    "soft": "softer",
    "weak": "weaker",
    "indicator": "ind",
    "keep": "kept",
    "lining": "linings",
    "lose": "lost losing loosing",
    "noise": "nois nse",
    "nolonger": "anymore",
    "operator": "oper opr",
    "pad": "pds",
    "pedal": "peddle peddel pedel pedle pdl ped",
    "psi": "p.s.i.",
    "pulsate": "puls pulse puslate pulstate",
    "pulsation": "pulsashun puslation pulstation",
    "release": "rls rlse relese",
    "rear": "reer rer",
    "right": "rght rt",
    "roadtest": "r/t rdtest",
    "rotor": "rtr rtrs disc disk",
    "run": "ran",
    "runout": "r/o tir",
    "say": "said says saying",
    "scrape": "scrapping",
    "seize": "siezed seazed",
    "shake": "shook shaken shaky shak shakin shaks",
    "shudder": "shutter shuttering",
    "sink": "sank sunk",
    "smell": "smelt smelly",
    "speed": "spd spds",
    "spin": "spun",
    "spongy": "sponge spungy spungey",
    "squeak": "sqk sqks sqking squeek squeeks squeeking squeeky sqeek sqeeks sqeeking sqeeky sqweek skweek",
    "squeal": "sql sqls sqling squeel squeels squeeling sqeel sqeels sqeeling squeling skweel skweal sqweal sqweel",
    "stand": "stood",
    "state": "sts",
    "steering": "stg strg stearing",
    "stick": "stuck stuk",
    "stop": "stp stps",
    "suspension": "susp",
    "tire": "tyre",
    "transmission": "trans tranny gearbox",
    "until": "til till",
    "verify": "ver verf verif vrfy",
    "vibration": "vibrashun vibrasion viberation",
    "vibrate": "vib vibs vibe vibes",
    "warp": "wrp warpage",
    "wear": "worn wore wrn",
    "no": "zero",
    "wheel": "whl whls",
    "when": "whenever everytime wen",
    "with": "w/ w",
    "without": "w/o w/out wo",
    "wobble": "wobbly",
}

# One slip of a letter (one more, less, other, or two swapped) is put right towards these words only ...
CORRECTED = """
    squeal squeak screech grind whistle scrape rattle groan rumble noise sound vibrate vibration shimmy shudder
    judder wobble shake pulsate pulsation throb pedal brake spongy mushy floor caliper rotor wheel bearing steering
    steeringwheel fluid release smoke sensor warning light alignment suspension handbrake parking front travel
    freeze seize squishy touchy sensitive replace highway morning backing resolve duplicate verify customer clunk
    dashboard intermittent cylinder hydraulic
""".split()

# ... and never from these, which are words of their own.
REAL_WORDS = set(
    """
    backing baked baker baking banking barking batter battle beak bearded bearings beating billing blunk born bounce
    bounced bouncer bound brace braced braces brag brave bravo break breeze breezy bright bristle bull bumble burner
    burns calling cattle censor chunk chunks clank clearing clink clung cobble costume costumer count crabby creek
    crumble customs cylinders darking dashed dissolve dragon drags drain drunk dull duplex duplicated dwell earning
    equal falling fight filling flight flood flooring floors flour flue fluent fluids fluke flunk font fonts found
    founder freeze freezer from fronts frost frozen full fumble gobble grabbed grain grains grand gravel green
    grinder gristle groans groin ground growl grown grubby hacking hearing hull humble jumble lacking leaked leaking
    leaks leaky lean leap leaps lease light lighten lighter lighting lightly lightning lights marking medal metal
    might morning motor mound mount mourning mumble mush mushroom nibble night noised nose noses notice notices
    novice packing parkin parking parting peak pedaling pedals penal petal place placed plunk poise polling pooling
    posse pouncing pound prattle prize pull pulled pulley pulling pulls pulsar pushing racking rattan relapse relate
    related releaser replaced replacer replay replayed replays replica reserve resolved resolver revers reversed
    revert reverted revolve right rolling rooter roster rotator rotors round rumba rumbled scrap scrapped scraps
    scream screen screwed screws seal sealed seals seize seizure selling senior sensory sequel shabby shade shaded
    shades shaken shall shape shaped shapes shaping share shared shares sharing shatter shelf shell shells shimmer
    ships shiver shops shudders shutter sight size sized sizes sizing skull slick slight small smart smelling smells
    smoker snake sneak sounds sparking speak spell spelling spells spoke spoken sponge squid stack stake stall steal
    steel steeling steeped steering step steps sticker sticks stock stoke stops strip stripe stroke stuck stumble
    swell tearing thank thanks think thinks thistle through throw thrown throws tight tired touch touched tough
    traveled travels trove trunk tumble turn turning turns verified verily voice waning warming warnings warring
    weak wearing whale wheal wheeled wheeler while whistler whittle whole wobbles wound
""".split()
)

# ---------------------------------------------------------------- other languages
# English: German, French, Spanish and the commonest Dutch and Italian, without accents. Several words are parted by commas.
OTHER_LANGUAGES = {
    "brake": "bremse bremsen bremst gebremst bremsung bremsanlage frein freins freinage freine freiner freno "
    "frenos frena frenan frenar frenando frenado remmen remt freni frenata frenate",
    "when =braking": "beim bremsen, beim abbremsen, wenn ich bremse, au freinage, en freinant, quand je freine, "
    "al frenar, cuando freno, cuando frena, bij remmen, bij het remmen, tijdens remmen, in frenata, quando freno, "
    "quando si frena",
    "without =braking": "ohne bremsen, ohne zu bremsen, sans freiner, sin frenar",
    "brake pedal": "bremspedal, pedale de frein, pedal de freno",
    "pedal": "pedale",
    "pad": "bremsbelag, bremsbelage, bremsbelaege, belag, belage, belaege, plaquette, plaquettes, pastilla, "
    "pastillas, balata, balatas",
    "rotor": "bremsscheibe, bremsscheiben, scheibe, scheiben, disque, disques, disco, discos",
    "squeal": "quietsch, quietscht, quietschen, quietschend, quietschende, quietschenden, quietschgerausch, "
    "gequietsche, grince, grincent, grincement, grincements, grincer, couine, couinent, crisse, "
    "crissent, crissement, rechina, rechinan, rechinar, rechinido, rechinando, chirrido, chirridos, "
    "chirria, chirrian, chilla, chillan, chillando, chillido, chillidos, piepen, piept, piepend, gepiep, "
    "fischiano, fischia, fischio, stridono, stridio, cigolano, cigolio",
    "whistle": "pfeift, pfeifen, siffle, sifflent, sifflement, siffler, silba, silban, silbido",
    "noise": "gerausch, gerausche, geraeusch, geraeusche, bruit, bruits, ruido, ruidos",
    "brake noise": "bremsgerausch, bremsgerausche, bremsgeraeusche",
    "grind": "schleift, schleifen, schleifgerausch, schleifende, schleifgeraeusch, knirscht, knirschen, mahlt, mahlen",
    "scrape": "kratzt, kratzen, gratte, grattent, frotte, frottent, frottement, raspa, raspan, roza, rozan, rozando",
    "metal on metal": "metall auf metall, fer contre fer, metal contra metal, metal con metal",
    "rattle": "klappert, klappern, scheppert, cliquette, cliquetis, traquetea, traqueteo",
    "clunk": "klackt, klacken, klackert, klackern, klopft, klopfen, poltert, poltern, knackt, knacken, claque, "
    "claquement, claquements, cogne, golpeteo, golpetea, golpea",
    "groan": "knarrt, knarzt, knarren, knarzen, grogne, cruje, crujen",
    "hum": "brummt, brummen, heult, drohnt, bourdonnement, bourdonne, ronfle, zumbido, zumba",
    "steeringwheel": "lenkrad, volant, volante",
    "shake": "zittert, zittern, wackelt, wackeln, flattert, flattern, ruttelt, tremble, tremblent, tremblement, "
    "tremblements, trembler, tiembla, tiemblan",
    "vibrate": "vibriert, vibrieren, vibre, vibrent, vibrer, vibra, vibran, vibrar, vibrando, vibracion, "
    "vibraciones, vibrationen, trilt, trillen, trilling, trillingen, vibrano, vibrazioni",
    "judder": "rubbelt, rubbeln, bremsenrubbeln, broute, broutent, broutage",
    "pulsate": "pulsiert, pulsieren, pulsa, pulsacion, pulsaciones",
    "warp": "verzogen, voile, voiles, alabeado, alabeados, deformados, torcidos",
    "pull": "zieht, jala, se jala, se carga, tira hacia, tira a",
    "pull left": "tire a gauche, tire vers la gauche, se va a la izquierda, se va hacia la izquierda, se va para la izquierda",
    "pull right": "tire a droite, tire vers la droite, se va a la derecha, se va hacia la derecha, se va para la derecha",
    "left": "links, linkes, linke, linker, sinistra, linksvoor, linksachter, gauche, izquierda, izquierdo",
    "right": "rechts, rechtes, rechte, rechter, destra, rechtsvoor, rechtsachter, droite, derecha, derecho",
    "to": "nach, vers, hacia",
    "front": "vorne, vorn, vorderrad, avant, delante, delantera, delantero, delanteras, delanteros, adelante",
    "rear": "hinten, hinterrad, arriere, atras, trasera, trasero, traseras, traseros",
    "soft": "weich, weiches, mou, molle, blando, blanda, suave",
    "spongy": "schwammig, spongieux, spongieuse, esponjoso, esponjosa",
    "hard": "hart, hartes, dure, duro, dura",
    "go floor": "durchtreten, fallt durch, faellt durch, sackt durch, s enfonce, au plancher, se va al fondo, "
    "se va al piso, va al fondo, hasta el fondo, se hunde",
    "not brake well": "bremst schlecht, bremst kaum, freine mal, frena mal, no frena bien, no frenan bien",
    "no brakes": "bremst nicht, freine pas, freine plus, no frena, no frenan",
    "long stop": "langer bremsweg, bremsweg lang, bremsweg zu lang, tarda en frenar, tarda en parar, tarda mucho en frenar",
    "hot": "heiss, heis, heisse, heise, heisses, chaud, chaude, brulant, brulante, caliente, calientes",
    "gets hot": "wird heiss, wird heis, chauffe, chauffent, se calienta, se calientan",
    "smell burn": "sent le brule, ca sent le brule",
    "smell": "riecht, geruch, stinkt, odeur, ca sent, huele, huelen, olor",
    "burn": "verbrannt, verbranntem, brule, quemado, quemada",
    "smoke": "raucht, qualmt, rauch, fumee, humo, humea",
    "stick": "klemmt, klemmen, festgegangen, fest, bloque, bloquee, bloques, grippe, coince, pegado, pegada, "
    "pegados, trabado, trabada, atorado, atorada, atorados",
    "not spin": "no gira, dreht nicht, ne tourne pas",
    "electric parkbrake": "epb",
    "not release": "lost nicht, lost sich nicht, loest nicht, loest sich nicht, ne se desserre pas, "
    "ne desserre pas, ne lache pas, no suelta, no sueltan, no se suelta",
    "drag": "reste serre, restent serres, se queda frenado, se queda frenada, se quedan frenados",
    "parkbrake": "handbremse, feststellbremse, parkbremse, frein a main, frein de stationnement, frein de parking, "
    "freno de mano, freno de estacionamiento, handrem, freno a mano",
    "not hold": "houdt niet, non tiene, halt nicht, haelt nicht, ne tient pas, ne tient plus, no agarra, no detiene, no sostiene, no aguanta",
    "light on": "leuchtet, voyant allume, luz encendida, luz prendida, se prende la luz, se prendio la luz, se enciende la luz",
    "light": "leuchte, lampe, kontrollleuchte, warnleuchte, warnlampe, voyant, temoin, luz, testigo",
    "brake light": "voyant de frein, voyant de freins, temoin de frein, luz de freno, luz de frenos, bremsleuchte, "
    "bremskontrollleuchte",
    "=on": "allume, allumee, encendida, encendido, prendida, prendido",
    "dash": "armaturenbrett, tableau de bord, tablero",
    "fluid": "flussigkeit, liquide, liquido",
    "brake fluid": "brake oil, remvloeistof, olio freni, liquido freni, bremsflussigkeit, bremsfluessigkeit, liquide de frein, liquide de freins, liquido de freno, "
    "liquido de frenos",
    "leak": "perdita, perdite, lekt, lekkage, lauft aus, laeuft aus, verliert, leckt, undicht, tropft, fuite, fuit, coule, perd, fuga, gotea, derrama, pierde",
    "air": "luft, aire",
    "no": "kein, keine, keinen, aucun, aucune, pas de, ningun, ninguna",
    "not": "nicht, pas, tampoco",
    "nolonger": "nicht mehr, ya no, plus de, plus aucun, plus aucune, kein mehr",
    "never": "jamais, nunca, nie",
    "without": "ohne, sans, sin",
    "gone": "weg, verschwunden, disparu, desaparecio",
    "fixed": "behoben, repariert, arreglado, resolu",
    "cold": "kalt, kalten, kalter, froid, froide, frio",
    "wet": "nass, nasse, mouille, mojado, humide",
    "rain": "regen, pluie, lluvia",
    "reverse": "ruckwarts, rueckwarts, rueckwaerts, marche arriere, en reversa, de reversa",
    "wheelbearing": "radlager, roulement de roue, roulement, balero, baleros, rodamiento",
    "tire": "reifen, pneu, pneus, llanta, llantas, neumatico, neumaticos",
    "wheel": "rad, felge, felgen, roue, roues, rueda, ruedas, jante",
    "bump": "bodenwelle, bodenwellen, schlagloch, dos d ane, nid de poule, tope, topes, bache, baches",
    "shock": "stossdampfer, stosdampfer, amortisseur, amortiguador, amortiguadores",
    "belt": "keilriemen, riemen, courroie, correa",
    "roadtest": "probefahrt, essai routier, prueba de manejo, prueba de ruta",
    "highway": "autoroute, autopista, carretera",
    "speed": "geschwindigkeit, vitesse, velocidad",
    "check": "prufen, pruefen, verifier, controler, revisar, checar",
    "oil change": "olwechsel, oelwechsel, vidange, cambio de aceite",
    "always": "immer, toujours, siempre",
    "even": "auch, meme, incluso",
    "when": "wenn, quand, lorsque, cuando",
    "morning": "morgens, matin, manana, mananas",
    "but": "aber, mais, pero",
    "and": "und, et",
    "or": "oder, ou, ni",
    "the": "der, das, dem, den, le, la, les, el, los, las, une, ein, eine, einen, du, des, de, mon, ma, mes, mi, "
    "mis, qui, que, il, elle, se, lo, es, sehr, tres, muy, ist, sind, sich, est, sont, esta, con, avec",
}

# ---------------------------------------------------------------- several words that are one
JOINED = {
    "parkbrake": "hand break, handbreak, park break, parking break, parking lever, parking pedal, brake lever, park brake, "
    "hand brake, handbrake, e brake, ebrake, emergency brake, emg brake, p brake, pbrake, pkg brake, "
    "spring brake, maxi brake, maxi can, spring can, maxi chamber, maxi pot",
    "ac": "air conditioning, air conditioner, air con, climate control",
    "steeringwheel": "steering wheel",
    "gaspedal": "gas pedal, accelerator pedal, accelerator, clutch pedal, throttle",
    "roadtest": "road test, test drive, test drove, road tests",
    "nolonger": "no longer, no more, not anymore, not any more, not any longer",
    "wentaway": "=went away, has gone away, have gone away, =vanished, =went =quiet",
    "runout": "rotor run out, run out excess",
    "speedbump": "speed bump, speed hump",
    "wheelbearing": "wheel bearing, hub bearing, hub assembly, bearing",
    "wheelnut": "wheel nut, lug nut, wheel stud, wheel bolt, lug, =studs",
    "wheelcylinder": "wheel cylinder, wheel cyl",
    "nowandthen": "now and then, off and on, on and off, comes and goes, come and go, every so often, once in a while",
    "stopandgo": "stop and go",
    "upanddown": "up and down",
    "wetanddry": "wet and dry, wet or dry, rain or shine",
    "alwayson": "all the time, all =time",
}

# Small words that may stand between two neighbours of a phrase.
FILLERS = """
    a an the my our your his her their its is are was were be been being am it that this to of really very too so
    just pretty quite little bit kind sort slightly somewhat super extremely about almost all way both gets get got
    getting become becomes feels feel seems seem went go goes going coming comes come came has have had even also
    still now then up down out there any some old bad badly loud starts starting started start constantly always
    sometimes often usually real kinda like same more much and in on at i
""".split()

# Groups, written @name in a phrase.
GROUPS = {
    "part": "rotor drum caliper brake pad shoe hub wheel rim",
    "wheel": "wheel rim hub tire",
    "holder": "caliper piston pin pins slide bracket pad shoe wheelcylinder hose",
    "stuck": "stick seize freeze hang bind jam lock",
    "press": "press hit step touch apply push use tap",
    "shake": "shake vibrate vibration surge shimmy wobble shudder judder jitter tremble quiver flutter wiggle bounce hop "
    "dance nibble jackhammer tremor jiggle bob twitch oscillate oscillation",
    "move": "go head want jump move slide lunge try shoot push step grab walk tend nose throw",
    "pulse": "pulsate pulsation throb kick thump chatter ripple",
    "side": "left right curb kerb shoulder ditch offside nearside passenger driver centerline l r side oncoming",
    "veer": "pull drag veer dart dive swerve yank steer drift lead tug wander lurch jerk head lean crab swing squirm snap nudge",
    "faulty": "bad loose wear play rough noise shot break broken fail hum growl pitted roar gone",
    "light": "light lamp indicator message icon warning symbol telltale triangle",
    "on": "=on illuminate lit flicker flash blink show glow",
    "fault": "fault error code malfunction",
    "long": "long forever ages farther further while extra",
    "spot": "wheel tire caliper hub =backing drum line hose inside cylinder wheelcylinder",
    "stand": "sit overnight park frost snow rain wash ice week morning winter",
    "lost": "out inop dead blown bulb not burn broken fail failure",
}

# ---------------------------------------------------------------- symptoms
# Category, subtype, phrases. A sound, a shake or a pull is placed by what stands around it (CUES).
SYMPTOMS = {
    "noise": {
        "squeal": "squeal, squeak, screech, chirp, sing, whistle, scream, shriek, squawk, wail, yelp, cry, peep, "
        "squelch, twitter, shrill, ring, tweet, cheep, high pitch, high pitched, high frequency, tone, ear pierce, "
        "like .. mouse, chalkboard, chalk board",
        "grind": "grind, metal on metal, metal to metal, metal metal, steel on steel, crunch, scrunch, gravelly, sandpaper, grate, "
        "graunch, gnash, like .. gravel, like .. metal",
        "groan": "groan, moan, creak, honk, hoot, grunt, foghorn, trumpet, moo, bellow",
        "buzz": "vibrate noise/sound, buzz, whir, whirr",
        "clunk": "clunk, click, knock, thunk, thud, bang, clank, clack, pop, tick, clonk, tap, ping, snap, crackle, "
        "slap, clink, clang, clap, clatter once",
        "rattle": "rattle, jingle, clatter, tinny",
        "scrape": "drag sound/noise/scrape, scrape, rasp, scratch, rub, scuff, swish, whish, brush, "
        "shield .. contact/touch/hit, pebble, stone/rock .. wedge/stick/catch/lodge",
        "whine": "howl, whine",
        "hum": "hum, roar, drone, rumble, growl, grumble, bass note, thump, whoosh, boom, whop, flap, helicopter, airplane",
        "wear-indicator": "=wear indicator .. hit/touch/contact/rub/rotor, =wear indicator, wear tab, wear .. tab, "
        "squealer, wear sensor .. touch/contact/rub/rotor",
        "unspecified": "noise, sound, racket, brake .. loud, loud brake, audible, rumble strip noise, noisily, din",
    },
    "pulsation": {
        "judder": "judder, warp, brake surge, surge .. brake, grab release, unsteady brake, "
        "brake chatter, chatter brake, on off on off, stutter, buck, blur, coffee .. shake, "
        "thickness .. vary, lumpy, choppy, rumble strip, square wheel, wheel .. square, bent rotor, "
        "rotor .. bent, railroad ties, brake .. @shake, @shake .. =braking, rough brake, brake rough",
        "pedal-pulse": "pedal .. @shake/@pulse/jump/bump/ripple/thump/hammer, pedal .. upanddown, "
        "@shake/@pulse .. pedal, pulsate, pulsation, throb, heartbeat, bump bump, kick back, "
        "kickback, pedal .. push/pump/fight back, pedal .. push up, wave .. pedal, "
        "pedal .. chatter/ripple, pedal .. tap/hit/beat/nudge/move .. foot, "
        "pedal .. against .. foot, thump/chatter/ripple .. pedal, pedal thump",
        "steering-shake": "left right left, @shake .. steeringwheel/steering, steeringwheel/steering .. @shake, "
        "steeringwheel/wheel .. side to side, "
        "steeringwheel/steering .. jump/dance/kick/rattle/buzz/wiggle/hammer/jerk, "
        "hand .. @shake/buzz/tingle/numb, front end .. @shake, wheel .. @shake, @shake .. =wheel",
        "rear-pulse": "rear/seat .. @shake/@pulse, @shake/@pulse .. rear/seat, drum .. out of round",
        "unspecified": "@shake",
    },
    "pull": {
        "pull": "=pulls over to .. left/right, it/car/truck/van/bus/vehicle/brake/steering pull over to .. left/right, "
        "snatch/grab/bite to .. left/right/side, snatch/grab left/right, uneven brake, brake uneven, brake unequal, unequal brake, @veer .. @side, @veer .. one side, left/right pull/tug, slew, one side .. brake .. more, "
        "brake .. more .. one side, brake imbalance, imbalance, brake .. stronger, one/left/right side brake hard/more, brake .. weak/strong than .. left/right/other, "
        "uneven .. side/left/right, @move left/right/side/curb/ditch, send .. left/right, left/right .. lane, "
        "lane .. left/right, change lane, cross .. line/lane, steer .. itself, pull, swerve, veer, "
        "not .. stop straight, tug .. steeringwheel, fight .. steeringwheel, steeringwheel .. pull, "
        "self steer, counter steer, toward/towards .. @side, steeringwheel .. turn .. left/right/itself, "
        "have to hold steeringwheel/wheel straight, keep .. straight, hard to keep .. straight, "
        "into .. other/next/oncoming lane, crooked stop, stop .. crooked, yank .. steeringwheel, "
        "steeringwheel .. yank",
    },
    "pedal": {
        "soft": "@press .. two/three/several/few times, @press .. twice, soft, mushy, squishy, squashy, pump .. brake/pedal, pump it, pump up, pump twice, be pumped, "
        "brake/pedal .. pump, like .. pillow/mush, pedal .. give, air in line/system/lines/brakes, "
        "pedal .. vague, no feel, pedal .. stay down, pedal .. not return, pedal .. slow to return, "
        "pedal .. slow .. back, pedal .. not .. move, plan .. =stops, nothing before .. brake, "
        "not lock .. wheel, brake .. numb, way ahead, brake delay, delay .. brake/pedal, reduced =braking, "
        "=braking/brake .. performance, brake less, not as good as before, not as good as it was, "
        "brake not as good, brake .. not as .. before, pedal .. stick",
        "spongy": "spongy, marshmallow",
        "low": "low =brakes, pedal .. down to metal, pedal =down, "
        "pedal .. floor/bottom/sink/fall/drop/low/fade/carpet/deep/far/further/halfway, low pedal, "
        "low brake pedal, sink, go .. floor, to floor, brake .. floor/sink, "
        "long/excess/excessive/much/extra .. travel, pedal travel, bite .. low, brake low $, "
        "push/press .. far/further/way, long pedal, pedal .. nothing until, pedal .. before brake, "
        "pedal .. more than, brake .. down further, two pumps, two press, second press, "
        "high .. second pump, pedal .. two, long stroke, brake .. lower than, pedal .. higher after",
        "hard": "hard/stiff/heavy .. pedal, pedal .. hard/stiff/rock/brick/solid/wood/heavy, stiff brake, "
        "brake .. stiff, =brakes .. =hard, stand on .. brake/pedal, hard to push/press/depress, "
        "no assist/vacuum/booster/boost, vacuum .. leak/split/crack/fail/loss, low vacuum, "
        "lack .. assist/boost, booster/servo .. hiss, hiss .. booster/servo, servo .. fail/leak/bad/dead, "
        "not .. servo, servo .. not, booster .. fail/leak/bad/dead, both =feet, wooden pedal, "
        "pedal .. wooden/stone/cement/concrete/board, leg .. workout, stiff as, push/press .. hard to, "
        "no power brake, power brake .. gone/fail/out",
        "long-stop": "take .. @long, take longer, take .. to stop/halt, need .. @long .. stop, "
        "more distance/room/space .. stop, more distance/room/space, long .. stop, @long to stop, "
        "hard/difficult/slow/trouble to stop, trouble stop, difficulty stop, "
        "not .. stop .. well/good/right/quick/fast/like/great/soon/short/properly/enough, "
        "not =stopping, not want to stop, not stop bus/car/truck/van/coach/vehicle/me, not stop $, "
        "barely/hardly stop/slow, weak/poor/bad/lazy brake, "
        "brake .. weak/poor/fade/lazy/slip/inefficient, brake bad, no/not/less .. bite, bite .. gone, "
        "no/less/lack/reduced .. =stopping power, =stopping power .. gone/low/weak/poor/bad, "
        "no =stopping $, stop/=stopping/=braking/=brake distance, not .. slow, "
        "not brake .. well/good/right/properly/like, brake .. not .. strong, brake not grab, "
        "poor/low/weak/bad retardation/efficiency, retardation/efficiency .. poor/low/weak/down, fail .. brake test/efficiency, brake efficiency .. low/poor/fail, brake not .. good/effective, poor stop, can not stop, ran/run/slide through/past, overshoot, brake .. less, "
        "not enough =stopping/=braking, not .. =stopping power, stroke .. long/excessive/out, long stroke, "
        "=brakes .. late, slow .. apply, not enough brake, not much brake, little brake, brake .. not enough, not .. braking power/force, "
        "braking power/force .. low/weak/less/down, stop .. feet later, scared .. stop, "
        "almost/nearly hit, stop .. late",
        "grabby": "grab, =touchy, sensitive, snatch, jerk, jerky, bite too/hard/sharp, "
        "lock up at/with .. touch, lock up easy, lock up =empty, lock up when =empty/unladen, lock up .. when =empty/unladen, lock up too easy, "
        "lock up when =braking/brake/stop, lock up on .. application/stop/stops, lock up under, "
        "wheel lock .. brake, throw .. forward, throw .. off .. seat, bite like, nose dive, "
        "brake .. aggressive/harsh/sharp/fierce/sudden/abrupt/hard when, wheel lock when .. brake, "
        "lock up easily/quick/quickly/too/immediately, stop too hard, too sharp, sharp brake, nod, "
        "slightest touch, throw me, into .. windshield, whiplash, stop .. abrupt/sudden, =grabs",
        "no-brakes": "no =brakes, no trailer/front/rear/service =brakes, no =brake $, no =braking at, lose =brakes, lose all =brakes, lose =brake $, lose =braking, "
        "brake .. fail/failure/quit/inop/inoperative, brake gone, brake completely/totally/suddenly gone, =brakes =out, brake .. not work, "
        "brake .. not .. work, not work .. brake, no pedal $, no pedal first/when/at/after/on/until/in, nothing there, nothing happen, "
        "do nothing, loss of .. brake/=braking, complete/total .. brake .. fail/loss, "
        "brake .. nothing, brake not hold/respond/engage/stop, brake do/will not hold/respond/engage/stop, "
        "@press .. brake/pedal/brakes .. nothing, brake give out, =brakes =gave, no response, "
        "keep roll/going/move, =kept =going, =without =brakes",
    },
    "drag": {
        "hot-wheel": "glow @part, @part .. blue from heat, blister, melt, @part .. hot/overheat/glow, hot @part, hot .. front/rear/corner, overheat, "
        "too hot, hot to touch, heat .. from @part, @part .. heat =up, sizzle, fry .. egg, "
        "can not touch .. @part, can not hold hand, brake .. heat, brake rub .. heat, "
        "@part/front/rear/side .. =hot, @part .. boil, =f .. =f, lf/rf/lr/rr .. =degrees, "
        "hub/drum/caliper/wheel .. =f/=deg/=degree/=degrees, "
        "hub/drum/caliper/wheel/rotor =temp/=temperature/=temps .. =c/others/other/against/than, "
        "lf/rf/lr/rr/lhf/rhf/lhr/rhr/nsf/osf/nsr/osr .. =hot",
        "smell": "brake .. burn, burn .. brake, smell, stink, odor, stench, reek, whiff, burn brake/brakes",
        "smoke": "smoke, on fire, steam from @part/front/rear",
        "bind": "shoe/pad/piston .. not return/retract/release/back, brake by =itself/own/=themselves, brake on own, release slow/slowly/late, =brakes not .. =off, slow to release, drag, bind, drag left/right front/rear/wheel/side, "
        "drag in/at/on left/right, not .. release, brake .. stay .. =on, "
        "brake .. stay/remain .. engaged/applied, stay on, hold back, held back, heavy to roll, "
        "roll .. heavy, like .. brake/parkbrake .. on, brake .. partly on, "
        "brake .. slightly/partially/always/little .. =on, free .. brake, brake .. free, break free, "
        "temperature .. higher/hotter/more, degree .. hotter/more/higher, hotter than, warmer than, "
        "brake .. rub .. not release, stick brake, brake .. stick, brake .. seize, brake .. catch, "
        "wheel .. lock, brake .. =on alwayson, feel .. =on alwayson, wheel .. @stuck, "
        "wheel .. hard .. rotate/turn/spin, hard .. rotate, jump free, rust on $, not roll, not =rolling, "
        "slow by itself, slow on own, slow .. when .. off gas, sticky brake, not move $, not turn by hand, "
        "rock .. loose/free, brake .. sticky, jam on, not .. spin/coast, wheel .. not .. turn, "
        "hard/tight/stiff/heavy to spin/turn/roll/rotate, wheel .. tight/stiff, brake .. hang up/on, lock up, brake .. lock, "
        "apply/engage/=on .. by =itself/=themselves, apply/engage .. own, engage without, not let go, "
        "brake never .. go, tight =brakes, =brakes tight, stop/slow .. by =itself, lock wheel, rust jack, "
        "with .. brake =on, mud .. =on, brake .. =on .. while, parkbrake cable .. not release/stick/seize, "
        "cable not release",
        "stuck-morning": "@stuck .. to .. drum/rotor/disc, @wheel/brake .. @stuck .. @stand, @stand .. @wheel/brake .. @stuck, pop loose, "
        "wheel .. freeze, brake .. freeze, rust .. to rotor/drum/disc, rust .. together, "
        "rust solid",
    },
    "warning-light": {
        "unnamed": "low air @light/buzzer/warning/alarm/beep, air pressure @light/buzzer/alarm, low pressure @light/buzzer/alarm, warning @light, @light .. dash, @light @on, @light .. stay .. =on, =warning .. =on, dash @light, dashboard @light, red @light",
        "brake-red": "brake warning @light, brake warning .. =on, brake @light, brake .. =light =on, "
        "brake =light stay =on, brake =light stay lit/illuminate, red brake @light, red exclamation, "
        "exclamation, red circle, brake .. lit, brake .. illuminate, christmas tree, "
        "parkbrake =light, =brake =lights .. =on .. dash, =brake =lights .. dash, "
        "brake/bcu .. @fault, brake system/failure @light, check brake system, brake fluid @light, "
        "brake alarm, @light .. brake .. @on, brake light .. dash, brake =light .. not .. off, "
        "brake =light .. not go out, warning check brake, warning .. fluid low, brake .. message/warning, warning .. brake",
        "pad-sensor": "=wear @light, brake =wear @light, pad =wear .. =on, pad =wear .. dash/display/screen/pop/chime, pad @light, pad =wear @light, pad wear @light, "
        "pad sensor, wear sensor, lining @light, lining wear, message .. pad, "
        "check .. pad .. message/display, message .. check brake, "
        "replace .. =pads .. screen/display/message/dash, pad .. message, "
        "screen/display .. brake/pad, =service brake message/light/warning .. =on, service brake =on, "
        "=service =brakes .. display/message/soon, check =brakes .. display/message, "
        "dash/display/screen/car/computer/message/it say .. pad/brake, tell .. brake/pad need",
        "abs": "abs @light, abs @on, abs .. come on, abs .. stay on, abs .. lit/flash/illuminate, abs @fault, "
        "anti lock .. @light, anti lock .. @on, wheel speed sensor",
        "esc": "stability .. @light, stability .. @on/unavailable/off, traction .. @light, traction .. @on, "
        "esc/esp/dsc/tcs/vsc .. @light, esc/esp/dsc/tcs/vsc @on, skid @light, slip @light, skid .. lamp, anti skid @light",
    },
    "leak": {
        "fluid": "leak, seep, seepage, weep, drip, puddle, lose .. fluid, "
        "fluid .. low/lose/down/drop/empty/disappear/everywhere, low .. fluid, add .. fluid, "
        "put .. fluid, fill .. fluid, refill, top .. fluid, fluid .. again, fluid .. run out, "
        "go through .. fluid, wet patch/spot, fluid .. stain, stain .. ground/driveway/floor, "
        "spot .. ground/driveway/floor, low on fluid, brake fluid .. low/loss, out of brake fluid, "
        "fluid loss, =wet around, @spot .. soak, fluid .. top, "
        "fluid on/from/under/behind .. wheel/tire/ground/floor/driveway/car/van/truck/bus, =wet @spot, damp @spot, @spot .. damp, "
        "=wet with .. fluid, spray .. fluid, fluid .. spray, @spot .. =wet, =oily/=greasy @spot, slippery, "
        "@spot .. =oily, line .. rust, line/hose .. break/broken/blow, brake line broke, "
        "line/hose/pipe .. burst/rupture/blow/split, burst/split line/hose/pipe, brake pipe .. rust/leak/corrode, reservoir .. low/empty/down/drop",
        "air": "tank/pressure/air .. bleed down/off, tank/pressure .. drop/fall/bleed, air leak, leak air, leak .. air, lose .. air, air .. lose/drop/low/escape/bleed, low air, "
        "air .. not .. build, not build, air .. not hold, not hold air, air .. run down/out, "
        "compressor .. run/cycle/not/never/constant, compressor .. not .. keep up, pressure .. not build, "
        "pressure .. low/drop, lose pressure, lose .. pressure, build .. air .. slow, air .. slow, "
        "chamber/diaphragm/valve/fitting/gladhand .. blow, blow .. chamber/diaphragm/valve, blow =air, blow out/off =air, "
        "slow .. build, hiss, to air up, slow .. air up, psst, air .. gauge, gauge .. drop, "
        "psi .. minute/min, chamber/diaphragm .. leak, drop .. psi",
    },
    "parking-brake": {
        "no-hold": "parkbrake .. hold .. poorly/badly/weakly, parkbrake .. pull not, parkbrake .. not hold, parkbrake .. not .. work/hold/grab/catch/do/stop, "
        "not hold .. parkbrake, parkbrake .. weak/slip/fail/useless/inop/roll/creep, weak parkbrake, "
        "parkbrake .. only .. hold, parkbrake .. cage, parkbrake .. hold .. one/only, parkbrake .. works .. one/only, brake set .. not hold, "
        "lever .. flop/tension, parkbrake .. one side, creep .. brake set, roll .. brake set, "
        "parkbrake .. broke/break/broken/snap, parkbrake .. barely/hardly/almost .. hold/work, "
        "parkbrake .. let .. roll, parkbrake .. not enough, parkbrake .. no effect, roll .. parkbrake, "
        "creep .. parkbrake, no parkbrake, parkbrake .. nothing, roll .. on .. hill, stroke .. over, "
        "not hold .. hill/grade/slope/incline",
        "travel": "^ parkbrake .. adjust, parkbrake need .. adjust, parkbrake need adjust, "
        "parkbrake pedal .. down/floor/low/far, parkbrake .. click/high/too/loose/far/travel/slack/notch/=up/=down/floor/stretch, "
        "lever .. high, cable .. stretch, # =clicks, # notch, many =clicks, many notch",
        "stuck": "knob/button .. pop out, knob/button .. not stay, parkbrake .. @stuck, @stuck parkbrake, parkbrake .. not release, "
        "parkbrake .. not .. release/=off/free/disengage/return, parkbrake .. refuse/drag/rust, "
        "parkbrake .. not .. come off/out/back/=in, unable .. parkbrake, parkbrake .. unable, "
        "parkbrake .. not move, @stuck .. parkbrake, not .. release .. parkbrake, "
        "can not .. release parkbrake, not let go .. parkbrake, parkbrake .. not let go",
        "electric": "electric/electronic parkbrake @light, electric/electronic parkbrake .. @light, "
        "electric/electronic parkbrake .. noise/grind/@fault/engine/buzz, electronic parkbrake, "
        "electric parkbrake, "
        "parkbrake .. @fault/motor/button/switch/actuator/knob/handle/problem/alarm/issue/noise, "
        "parkbrake message, parkbrake squeal/squeak/grind/click/creak, problem .. parkbrake, "
        "parkbrake .. motor .. grind/noise, parkbrake .. actuator .. inop/fail, "
        "parkbrake button .. nothing, brake button/knob/handle, parkbrake .. pin",
    },
    "other": {
        "wheel-bearing": "wheelbearing .. @faulty, @faulty .. wheelbearing, wheelbearing, hub .. play",
        "tyre": "cup/feather/scallop .. tire, "
        "tire .. cup/feather/scallop/bulge/bald/wear/noise/loud/squeal/hum/sing/low/flat, bulge .. tire, "
        "bald/worn tire, noise .. tire, flat spot, flat tire, tpms, tire pressure",
        "balance": "out of balance, need balance, bent rim/wheel, wheel weight",
        "suspension": "ball joint, sway bar, strut .. @faulty/leak, shock .. @faulty/leak, control arm, tie rod, "
        "bushing, cv joint/axle/boot, coil/leaf spring .. broken",
        "alignment": "wander, out of alignment, steering/steeringwheel crooked, "
        "steering/steeringwheel .. not straight, car/vehicle/van/truck/steering drift $, "
        "need alignment, steering .. loose, alignment .. off/out, off center, not .. center, "
        "steeringwheel .. crooked/=off",
        "belt": "belt .. @faulty/squeal/glaze, belt, serpentine, alternator, water pump, power steering, pulley, "
        "ac compressor, compressor .. @faulty/noise/grind",
        "wheel-nut": "nut .. loose/miss/shear, stud .. shear/break/broken/loose, "
        "wheelnut .. loose/miss/break/broken/torque/tight/not/off/snap, loose/miss/broken wheelnut, "
        "wheel .. loose, loose wheel, wheel .. =came/=come/=fell/=nearly .. =off, wheel .. detach",
        "appearance": "brake dust, dust .. wheel/rim, wheel/rim .. dust, rotor/drum/caliper .. rust, "
        "rust .. rotor/drum/caliper, look .. rust, ugly, scratch rim/wheel, rim .. scratch, "
        "wheel .. dirty/black, paint",
        "recall": "recall, bulletin, tsb, campaign",
        "stop-lamp": "=brake =lights, stop lamp, stop light .. @lost, brake lamp/light .. @lost, light .. brake circuit, brake circuit .. light, "
        "brake =light .. @lost, brake/stop =light bulb gone, stop lamp bulb gone, no stop lamp, no =stop =lights, no =stop =light, no =brake =light, "
        "no =brake =lights, no =brake =lights .. on, brake =lights .. @lost, third brake light, "
        "tail light, brake =lights .. flicker/dim, brake light switch, high mount, rear brake light, "
        "brake =lights .. =on, =brake =lights stay =on, =brake =lights stay lit/illuminate, =brake =lights .. not .. off, "
        "=brake =light stay =on",
        "wildlife": "debris, ran over, run over, deer, dog, cat, raccoon, squirrel, accident, crash, collision, "
        "bumper, rear ended, in front of me, fender, =hit curb, =hit pothole, =hit =a, hit me, hit my, "
        "dashcam, dash cam, had to brake .. for, brake .. for .. cyclist/pedestrian/child/kid/animal/fox/moose/bike, "
        "hit us, hit from behind, hit by, insurance, swerve to =miss, swerve for/into, "
        "swerve .. avoid, =brake =checked",
        "not-brakes": "engine/exhaust brake .. not .. work/hold, engine/exhaust/compression brake, retarder, check engine, engine @light, oil @light, air bag, airbag, "
        "oil/coolant/transmission/fuel/gas/antifreeze/steering leak, "
        "leak oil/coolant/transmission/antifreeze/water, fuel leak, water leak, sunroof, "
        "engine .. noise/knock/tick/rattle/smoke/stall, exhaust, muffler, wiper, horn, seat belt, "
        "radio, radiator, head light, headlight, turn signal, battery, starter, "
        "transmission .. slip/shift/noise, "
        "@shake .. clutch/idle, clutch/transmission/engine .. @shake, clutch, gaspedal, acceleration, stall, "
        "smell gas/fuel/exhaust/coolant/oil, gas/fuel/exhaust/oil/coolant smell, ac .. smell, ac .. blow/warm/cold/hot, "
        "tailpipe, wind noise, seat/dash/trunk .. squeak/rattle/buzz/noise, "
        "door squeak/creak/rattle/noise, ac not, ignition, head gasket, driveshaft, heater, "
        "speedometer",
    },
}

# What a technician finds is a cause: it decides the category only where no symptom is told.
CAUSES = {
    "noise": {
        "grind": "no pad left, down to backing, down to metal, no lining, rotor/drum .. score/groove, score rotor/drum, "
        "worn/down/into .. rivet, =ground .. rotor/drum, pad .. gone",
        "rattle": "clip .. miss/loose/broken, clip left out",
        "squeal": "pad .. glaze, glaze pad",
    },
    "pulsation": {
        "judder": "runout, dtv, thickness variation, hot spot, blue spot, =discs .. blue, out of true, oval, eccentric",
        "rear-pulse": "out of round",
    },
    "drag": {
        "bind": "return spring, @holder .. @stuck, @stuck .. @holder",
    },
    "warning-light": {
        "abs": "abs, anti lock",
        "esc": "stability, traction, esc, esp, dsc, tcs, vsc, anti skid",
    },
    "leak": {
        "fluid": "pad/shoe .. soak, oil on/over .. pad/shoe/lining/drum, oil .. on .. pad/shoe/lining/drum/wheel, "
        "hub/wheel/axle seal .. leak/blow/fail/bad",
    },
    "parking-brake": {
        "no-hold": "parkbrake .. shoe .. wear",
    },
}

# Too vague to be a symptom; denied, it denies that category.
ONLY_DENIED = {
    "warning-light": "light, =lights, lamp, warning light, code, warning",
    "leak": "fluid on ground/floor, fluid loss",
    "pull": "drift",
    "drag": "heat",
}

# Said of what is right: denies that category; denied itself ("not quiet"), it is a symptom.
GOOD = {
    "noise": "quiet, silent, hear nothing",
    "pulsation": "=smooth, runout .. ok/good/spec/within, dtv .. ok/good/spec/within, =true",
    "pull": "stop .. straight, track .. straight, brake .. straight, straight stop, =straight $, ^ =straight",
    "pedal": "no change .. pedal, pedal .. same, pedal .. unchanged, "
    "pedal .. good/firm/normal/fine/ok/solid/great/high, good/firm/normal pedal, firm, "
    "stop fine/ok/good/great/well/normal, brake work/feel/hold/stop .. normal/fine/good/ok/great/well, "
    "foot brake .. fine/ok/good",
    "warning-light": "^ light/lamp =off $, ^ light/lamp out $, no lamp $",
    "leak": "leak/air test/check .. pass/ok/good/fine, pass .. leak test, ^ =dry, line/hose/caliper/cylinder/wheelcylinder/fitting/all/everything/connection/backing .. =dry, "
    "fluid/reservoir/level .. full/ok/good/fine/normal/correct, full .. fluid",
    "drag": "spin free, roll free, free to spin, wheel .. cool",
    "parking-brake": "parkbrake .. hold, parkbrake .. ok/fine/good/works",
}

# Phrases that hold a symptom's word and mean something else.
NOT_THIS = """
    out of spec, not in spec, not within, can/could not stop .. from, not stop .. from, keep .. from, let go of .. wheel/steeringwheel, pull
    over, pull over to .. @side, pull into, pull in, pull =out, pull up, pull away, pull off, pull onto, pull from,
    pull apart, uneven brake/pad/lining/shoe wear, uneven wear, wear .. uneven, in/from/of =brakes gone, in/from/of .. =brakes gone, pull codes, pull back, pull wheel, pull =wheels, pull trailer, pull load, pull caliper, pull drum,
    pull rotor, light brake, light press, light touch, light pedal, light application, light stop, light use, light
    foot, light rain, light pressure, light duty, light squeal, light squeak, light noise, light grind, light
    vibration, light pulsation, light pull, light drag, light rust, stop =light, =stop =lights, at .. =light, at
    =lights, at .. =lights, traffic =light, traffic =lights, for .. =light, red =light .. stop, =red =lights, to .. red =light, anti
    squeal, anti rattle, squeal =shim, squeal =shims, noise =shim, noise =shims, leak down, leak test, leak check,
    click type, no =brakes apply/use/involve, no brake apply, with no =brakes, anti seize, sound good, sound right,
    sound ok, ear .. dry, pin .. dry, slide .. dry, dry pin, dry slide, dry contact, boot dry, dry boot, drive
    straight, steer straight, go straight, dry road, dry weather, dry pavement, dry day, straight road, straight
    line, straight ahead, hot day, hot weather, hot out, hot outside, run hot, through .. puddle, through ..
    =puddles, hard stop, hard =stops, hard brake, hard =braking, brake hard, hard brake application, low speed, low
    mile, low mileage, low .. gear, long drive, long trip, long hill, long time, long descent, snap ring, drop off,
    tire rotation, rotate tire, no brake dust, without warning, no warning, hard of hearing, steer wheel, stick
    shift, hit brake, hit pedal, brake light switch pedal, soft stop, soft =stops, jump start, pop in, pop out, tick
    box, alarm .. sound, sound .. alarm, sound horn, parkbrake .. released, no reason, hop in, tap it, tap brake,
    tap pedal, tap .. brake, grab .. handle, dust shield, backing plate, rub .. paste, squeal of tires, oil pan
"""

# ---------------------------------------------------------------- denied, past, supposed

# Denials that stand before a name, and before a verb.
NO = "no, nil, none, free of, free from, absence of, nolonger, without, not any"
NOT = "not, never, neither, nor, nothing, quit, =stopped, ceased"

# Looked for and not found: reaches the whole sentence.
CANNOT_FIND = """
    deny, can/could not make/get, unable to make/get, not able to make/get, can/could not
    duplicate/verify/reproduce/hear/feel/confirm/find/replicate/recreate, unable to
    duplicate/verify/reproduce/hear/feel/confirm/find/replicate/recreate, not able to
    duplicate/verify/reproduce/hear/feel, cnd, cnr, cnv, utd, npf, ntf, nff, none found, none heard, none felt, none note, nothing
    found, no problem found, no trouble found, no fault found, not duplicate, not verify, fail to duplicate
"""

# Denies a denial: "cannot say it never squeals".
SAY_NOT = """
    hardly day/=stop/morning/week, nobody can tell, no one can tell, no =stop, not one/single .. =stop/day/morning/week/mile/trip, no day, not day,
    never day, never say, never claim, can/could/would not say, not say, not that, not like, not as if, not as
    though, not tell me, not claim, not true that, not believe, not think, not agree, not convince, wrong to say,
    not mean
"""

# No denial at all.
NOT_ONLY = """
    not only, not just, nolonger just, not stop, never stop, not quit, no doubt, not bad, no pads, no matter
"""

# Said before the symptom: "fixed the leak".
CURING = "fix, cure, resolve, eliminate, correct, repair, get rid of, got rid of, took care of"

# Said after the symptom: "the squeal is gone".
CURED = """
    gone, =disappeared, do not $, not since, none since, never since, fixed, fix, resolve, cure, correct, solve,
    eliminate, wentaway, all good, good now, ok now, fine now, great now, sorted, taken care, =repaired, go out,
    went out, stay out, =off now, off again, =stopped, quit, nolonger, not hear, not feel, not note, not notice, not
    find, not present, not there, not now, never come, never happen, never appear, never return, not detect, not evident, not
    return, not back, not duplicate, not verify, not confirm, =no $, none $, not come back, not happen, history
"""

# After a cure these tell when, not that it is cured: "gone when warm"; so does a few stops before it.
SOMETIMES = set("when once after until if while with for in above below as unless by".split())
FEW = set("few couple first until warm then minute mile".split())
# With these beside it, it is a cure all the same: "gone after the new pads".
REPAIRS = set(
    "replace machine repair clean new job visit service install fit balance change bleed adjust lube grease bed cut resurface "
    "roadtest".split()
)
# "pads gone" and "when i stopped" are no cures.
NOT_CURED = set("pad lining shoe material clip".split())
STOPPERS = set("i we you he she when car bus truck vehicle van until".split())
# It goes on: "used to squeal when cold, now always".
EVER = set("alwayson always worse constantly constant every all".split())

# What may follow the last name of a list of denied names.
AFTER_A_LIST = set("all at drive during feel felt find hear note now on present roadtest test".split())

# Said after a measurement.
FINE = "ok, good, fine, within, in spec, normal"

# "it should not squeal, but it does".
IT_DOES = "it do, they do, it is, they are, it still do, they still do, it was, do anyway, it can"

# Not cured after all.
BACK = """
    back, return, again, persist, remain, continue, reoccur, recur, not fix, not repair, not gone, not resolve, not cure, not
    help, no better, no change, no improvement, never fix, not go away, not completely, still, half fixed, less
"""

# Said after a lamp: it does not burn.
UNLIT = "not =on, not lit, not illuminate, not flash"

# Said before a symptom of the past, and after it.
PAST = """
    =used to, before repair, before you, before service, before last, prior to, previous, previously, prior,
    formerly, history of, past complaint, old complaint
"""
PAST_SINCE = """
    before $, there before, before you, before repair, before service, before work, before new, before last, until you, until repair, until last, until service, until new
"""

# Supposed: reaches the whole clause.
IF = """
    if, in case, in the event, should it, should they, should the, should any, let me know, let us know, whether,
    unless, what if, will the/new/it/they/these/this
"""

# Supposed, or told to do: reaches the next symptom only.
BEWARE = """
    watch .. for, monitor .. for, check .. for .. leak, watch for, watch out for, look out for, monitor for,
    monitor, keep .. eye, listen for, recheck for, check for, look for, inspect for, report any, any sign, worry
    about, make sure no, ensure no, may, might, could, possible, possibly, potential, to prevent, prevent, to avoid,
    avoid, to reduce, reduce, to minimize, to stop, worried about, afraid of, expect, risk of, in future
"""

# Said after the symptom: it has not happened yet.
MAY_COME = """
    possible, can be expected, is expected, are expected, may occur, may happen, can occur, to be expected, could
    occur, expect until, normal until, normal for first
"""

# "if i brake", "if wet": when it happens, not whether.
WHEN_NOT_WHETHER = """
    if i/you/we/u/driver ..
    @press/brake/stop/hold/slam/turn/drive/slow/reverse/back/ease/let/go/come/ride/stand/put, if =braking, if
    =brakes are, if =brakes/pedal .. apply/press/drag/hold/touch, if driven, if sit, if stop, if press, if cold, if
    wet, if hot, if rain, if park, if it rains, if it sits, if car sits, if left, if load, if empty, if raining, if
    possible, if need, not sure if, not know if, wonder if, wonder whether, see if, ask if, as if, even if
"""

# What was told was looked for and found; a test was made; work was done.
CONFIRMED = "=verified, =confirmed, =duplicated, =dup, =dupd, =conf, =ver, =verf, =verif, =vfd, verify on, can duplicate, heard on roadtest"
TESTED = """
    complaint, concern, today, at this time, currently, after .. =stops, roadtest, test, drove, drive it, verify,
    duplicate, inspect
"""
WORK_DONE = """
    replace, install, machine, resurface, adjust, clean, lube, lubricate, renew, rebuild, bleed, repair, tighten,
    overhaul
"""

# Words a denial or a warning reaches across: "no abnormal front brake noise", "may still squeak".
TRANSPARENT = set(FILLERS) | set(
    """
    abnormal abs active again apparent begin brake caliper cause complaint concern customer dash detectable develop
    did do does driver drum either ever evidence excess excessive exhibit experience external find fluid form from
    front further he hear heat heavy indication issue left lf light lr make minor never new no nor not note notice
    noticeable occasional once one or other pad pedal presence problem produce rear red report reported return rf
    right road rotor rr she shoe show side sign significant single slight steering steeringwheel strange these they
    those trace type under unusual visible warning we wheel when with without you
""".split()
)

# Names without a verb: in a list after a denial they are denied too ("no noise, pull or vibration").
BARE_NAMES = set(
    """
    click clunk drag dragging grind grinding groan judder lamp leak leaking leaks light lights noise noises pull
    pulling pulls pulsation pulsations rattle rubbing scrape scraping shake shaking shimmy shudder smell smoke sound
    squeak squeaks squeal squeals vibration vibrations wobble
""".split()
)

# ---------------------------------------------------------------- what a symptom goes with
CUES = {
    "not a cue": "cam bushing, s cam .. bushing, pin bushing, caliper bushing, before/to/from .. standstill, before standing still, after .. gravel/dirt road, tire shop, tire place, tire store, tire change, at tire, spring brake",
    "braking": "not brake .. straight, not brake without, can not brake without, not stop without, can not stop without, =brake, =brakes, "
    "=braking, brake, pedal, =stopping, come to .. stop, come to halt/rest, pull up, pulling up, stop sign, coming to/up .. light/lights, approach, when .. stop, each stop, "
    "every stop, at .. stop, on .. stop, to .. stop, first .. stop, last .. stop, hard stop, slow stop, "
    "quick stop, full stop, =stops, if/when/as i/you/we/u/driver .. stop/halt, to/before .. standstill, before standing still, slow down, =slowing, when/as/while .. slow, "
    "slow .. car/vehicle/bus/van/truck, decelerate, deceleration, off ramp, exit ramp, off highway, "
    "exit, let off, let off .. brake, ease off .. brake, come off .. brake, lift off .. brake, "
    "back off .. brake, stopandgo, apply, application",
    "brake work": "brake job, brake work, brake service, brake pad, brake repair, brake change, brake inspection, "
    "=brakes .. done, =brakes .. change/replace, new brake, new pad, new rotor, after brake, "
    "since brake, brake shop, brake dust, brake recall, brake =light, brake =lights, brake fluid, "
    "pad, rotor, caliper, drum, shoe, last job, last visit, brake ok/fine/good, "
    "=brakes are ok/fine/good",
    "not braking": "not =braking, not =brakes, not brake, not when .. =braking/stop/brake, "
    "not only when .. =braking/brake, not just when .. brake, not just =braking/brake, "
    "not brake related, not related .. brake, not from .. brake, not under =braking, "
    "never under/when/while =braking/brake, not while =braking, not on .. brake, brake or not, "
    "=braking or not, with or without .. brake/=braking, without .. brake/=braking/pedal, "
    "even coast, even when coast, =braking/brake .. no difference/effect/influence/change, "
    "no matter what .. brake/=braking, nothing when/while/under/on .. =braking/brake, "
    "=braking .. not .. change/affect/matter, brake .. not .. change/affect/matter, "
    "fine/ok/smooth/better/gone when .. =braking/brake, "
    "fine/ok/smooth/better under/while/=braking =braking, better .. when .. brake, "
    "away/gone/better/stop/smooth/disappear when .. =slowing/slow, regardless, brake or =off, "
    "=on or =off, whether .. =braking/brake, nothing to do with .. brake, =off .. brake, "
    "unrelated to brake, not affected by =braking/brake, brake or coast, no change/difference .. brake, with no =brakes, "
    "same on or off, no =brakes apply/use/involve, no brake apply, no =braking, "
    "brake not involve/cause/issue/relate, even .. off .. brake, independent of brake, "
    "brake off or =on, =off or =on .. same, =on or =off .. same",
    "always": "alwayson, while drive, when drive, constant, constantly, always, at all speed, any speed, cruise, coast, straight road, "
    "straight line, flat road, hands off, let go of .. steeringwheel/wheel, accelerate, acceleration, "
    "steady speed, crown, steady, not =braking",
    "speed": "=mph, kph, kmh, highway, speed, fast",
    "bearing": "wheelbearing, louder .. speed, louder .. fast, change when .. turn/swerve, change when .. steer, "
    "change .. turn/swerve, with speed, increase .. speed, faster .. go, pitch .. speed, "
    "speed increase, louder .. turn/left/right, swerve, weave, follow .. speed, hub play, sweeping",
    "tyre": "tire, tread, cup, feather, flat spot, snow tire, road noise, on concrete, pavement",
    "balance": "balance, wheel weight, tire rotation, rotate, new tire, smooths out, bent",
    "bumps": "bump, pothole, speedbump, dirt road, rough road, driveway, uneven road, washboard, cobbles, "
    "cobblestone, railroad track, track, gravel road",
    "turning": "=turning, =steering =at, lock turn, steeringwheel .. lock, steer .. standstill, when .. turn, "
    "on .. turn, corner, full lock, lock to lock, turn .. wheel, turn .. steeringwheel, roundabout, "
    "curve, parking lot turn",
    "suspension": "strut, shock, sway bar, ball joint, control arm, tie rod, bushing, suspension, coil spring, "
    "leaf spring, link, cv, steering rack",
    "engine": "=acceleration, accelerate, hood, bonnet, engine, idle, catalytic, manifold, converter, belt, ac, alternator, compressor, start up, "
    "startup, after =starting, cold start, on .. =start, =start, =starting car/engine, start car/engine, crank, rev, power steering, pulley, in park, "
    "standing still, standstill, engine bay, gear, exhaust, transmission, shift, clutch, turbo, fan, "
    "heater, starter, wiper, =in .. dash, =in .. trunk, =in .. seat, behind .. dash, glovebox",
    "wheel": "wheel, tire, hub, rim",
    "abs": "abs, module, pump area",
    "elsewhere": "oil, coolant, antifreeze, water, seat, door, window, transmission, radiator, manifold, "
    "catalytic, gasoline, fuel, air bag, airbag, key, ignition, latch, roof, sunroof, trunk, vent, "
    "engine, hood, exhaust, battery, ac, clutch, steering, gear, tank, hybrid",
    "first metres": "once, each/every/per trip, first time, right after start, after =start, after =starting, =pulling away, pull away, "
    "first .. drive, drive off, move off, self test, one time, 8 mph, 10 mph, ten mph, 5 mph, "
    "each =start, every =start",
    "lugs": "wheelnut, loose wheel, wheel loose",
    "alignment": "alignment, off center, crown, straight road, hands off, tire wear, aligned",
    "silenced": "stop .. when/if/once .. @press/brake, quit when .. @press/brake, away .. brake/pedal/@press, "
    "until .. brake/=brakes/@press, silent .. brake/pedal/foot, quiet .. foot, stop .. as soon as, "
    "disappear .. brake/@press, gone when .. @press/brake, stop .. pedal, =quiet when .. @press, "
    "gone if .. brake, not when .. brake",
}

# ---------------------------------------------------------------- nothing named
# Where no symptom is found by name and no work is asked for: what the words point to.
HINTS = {
    "parking-brake": "parkbrake",
    "leak": "fluid, air pressure, psi, air, hydraulic, wet, reservoir",
    "warning-light": "dash, display, screen, light on, lit, chime, beep, light",
    "pull": "left/right when/while/under/on/if .. =braking/brake/stop/slow, left/right .. =braking/brake/=brakes, "
    "=braking/brake/=brakes .. left/right, lane, sideways, not .. straight",
    "pedal": "pedal, @press .. brake, =to stop, stop .. bus/car/truck/van, brake feel, booster, vacuum, assist, "
    "distance, slow .. down, not stop, not slow, effort, response, foot, brake .. not",
    "pulsation": "bumpy, hammering, stutter, washboard, uneven .. stop/brake",
    "noise": "like .. when .. brake/stop, =brakes .. like, brake like, hear, ear, brake .. sound, squealy",
    "drag": "not move, roll, hot, heat, coast, gas mileage, held, wheel .. not",
}
WORK_ASKED = """
    check, inspect, inspection, replace, change, install, quote, estimate, please, service, pm, rotate, measure, mm,
    renew, reline, adjust, clean, lube, bleed, flush, machine, resurface, spec, ok, good, fine, new, torque, bed, fit,
    fitted, perform, complete, oil change, appointment, how much, price, cost, due, annual, greased, avoid, told,
    advise, job, =brake =work, tested, no defect, no complaint, within
"""

NO_TROUBLE = """
    no issue, no problem, no trouble, no fault, no defect, no concern, no other/further/more/brake
    issue/problem/trouble/fault/defect/concern, nothing wrong, nothing strange/odd/unusual
"""

# Something is wrong, but what?
TROUBLE = """
    problem, issue, wrong, funny, weird, odd, strange, same, again, still, not right, act up, something, trouble,
    thing, not work, broken, break down, fail, fault, worse, bad, unsafe, scary, dangerous, defective, not good, not
    normal, malfunction, not happy, not fix, came back, second time, broke, stall, recall, separate, detach, not
    start, not open, not go, stick, unable, failure, difficult, hazard, shutdown, junk
"""

# ---------------------------------------------------------------- when and where
CONDITIONS = {
    "cold": "cold, morning, first stop, first .. =stops, first brake, frost, overnight, before .. warm, winter",
    "hot": "hot, warm up, =warm, =warmed, heat up, after highway, after .. drive",
    "wet": "wet, rain, damp, humid, wash, snow, dew, fog, moisture",
    "reverse": "reverse, back up, =backing",
    "light braking": "light brake, light press, light touch, light pedal, light application, light stop, "
    "light pressure, =lightly, gentle, barely touch, slightest touch, soft stop, easy stop",
    "hard braking": "hard brake, brake hard, hard stop, hard =braking, stop hard, panic stop, heavy brake, "
    "stop fast, slam, emergency stop",
    "low speed": "low speed, slow speed, parking lot, in town, walking pace, creep, last few feet, last foot, "
    "crawl, stopandgo, slow stop",
    "high speed": "highway, high speed, at speed, from 50, from 55, from 60, from 65, from 70, 60, 65, 70, 75, 80, "
    "100, 120, off ramp, exit ramp",
    "turning": "=turning, =steering =at, lock turn, steeringwheel .. lock, steer .. standstill, left turn, "
    "right turn, corner, turn left, turn right",
    "downhill": "downhill, down hill, mountain, descent, long hill, steep",
    "bumps": "bump, pothole, speedbump, rough road, cobbles, dirt road, gravel road",
    "loaded": "loaded, =load, towing, full bus",
    "always": "alwayson, while drive, when drive, constant, constantly, always, every stop, each stop, every time",
    "now and then": "sometimes, intermittent, nowandthen, occasional, occasionally",
}
AXLES = {
    "front": "front, steer axle, lf, rf, fl, lhf, rhf, nsf, osf",
    "rear": "rear, back wheel, back brake, back end, in back, from back, =the =back, lr, rr, rl, lhr, rhr, nsr, osr, drive axle",
}
SIDES = {
    "left": "left front, left rear, front left, rear left, left side, left wheel, left brake, left caliper, "
    "left rotor, left drum, left hub, lf, lr, rl, fl, lhf, lhr, nearside, nsf, nsr, left back, back left",
    "right": "right front, right rear, front right, rear right, right side, right wheel, right brake, "
    "right caliper, right rotor, right drum, right hub, rf, rr, rhf, rhr, offside, osf, osr, right back, "
    "back right",
}
