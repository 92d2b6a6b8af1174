"""The word lists: what customers, drivers and technicians write, and what it stands for.

Every list can be read and extended without programming. How a phrase is written, here and in a shop's own list:

- words are base forms: ``squeal`` also finds squeals, squealed, squealing, squealy; ``=stops`` finds only that form;
- neighbours: small words (`FILLERS`: a, the, is, my, very ...) may stand between them;
- ``..`` lets up to four other words stand between, but no word of denial and no end of clause;
- ``pad/shoe`` is either word, ``@part`` any word of that group (`GROUPS`), ``$`` the end of the clause;
- phrases are parted by commas. Where phrases overlap, the one with more words wins.

The words are general trade usage (common practice, no source).
"""

CATEGORIES = ("noise", "pulsation", "pull", "pedal", "drag", "warning-light", "leak", "parking-brake", "other", "none")

# ---------------------------------------------------------------- spelling, shorthand
# The word: how it is also written. Single slips (one letter more, less, other or swapped) need no entry.
SPELLINGS = {
    "abs": "antilock",
    "ac": "a/c aircon",
    "alignment": "algn",
    "bad": "terrible horrible awful horrendous nasty worst",
    "bearing": "brg brng",
    "bind": "bound",
    "bite": "bit",
    "brake": "brk brks brkg brking brkng brak braks break breaks breaking brek breks barke braked",
    "burn": "burnt",
    "caliper": "calliper callipers cal cals caliber",
    "check": "ck chk chck",
    "code": "dtc dtcs",
    "confirm": "conf cfm",
    "customer": "cust cus cstmr c/s c/c c/o owner",
    "duplicate": "dup dupd dupl",
    "engine": "eng",
    "fall": "fell",
    "feel": "felt",
    "floor": "flr flor floorboard",
    "fluid": "fld flud",
    "freeze": "froze frozen froz",
    "front": "frt frnt fr fnt",
    "go": "gone-down went",
    "grind": "grnd grndg grnding",
    "hear": "heard",
    "highway": "hwy fwy freeway motorway interstate expressway turnpike autobahn",
    "hold": "held",
    "judder": "juder",
    "leak": "lk lkg leek leeking",
    "left": "lft lt",
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
    "lose": "lost losing loosing loose-of",
    "noise": "nois nse",
    "nolonger": "anymore",
    "operator": "oper opr",
    "pad": "pds",
    "pedal": "peddle peddel pedel pedle pdl ped",
    "psi": "p.s.i.",
    "pulsate": "puls pulse puslate pulstate",
    "pulsation": "puslation pulstation",
    "release": "rls rlse relese",
    "rear": "reer rer",
    "right": "rght rt",
    "roadtest": "r/t rdtest",
    "rotor": "rtr rtrs disc disk",
    "runout": "r/o",
    "scrape": "scrapping",
    "seize": "siezed seazed",
    "shake": "shook shak shakin shaks",
    "shudder": "shutter shuttering",
    "sink": "sank sunk",
    "smell": "smelt smelly",
    "speed": "spd spds",
    "spin": "spun",
    "spongy": "sponge spungy spungey",
    "squeak": "sqk sqks sqking squeek squeeky",
    "squeal": "sql sqls sqling squeel squeeling",
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
    "vibrate": "vib vibs vibe vibes",
    "warp": "wrp",
    "wear": "worn wore wrn",
    "wheel": "whl whls",
    "with": "w/ w",
    "without": "w/o w/out wo",
    "wobble": "wobbly",
}

# ---------------------------------------------------------------- other languages: English <- German, French, Spanish
OTHER_LANGUAGES = {
    "brake": "bremse bremsen bremst gebremst bremsung bremsanlage frein freins freinage freine freiner freno frenos frena frenan "
             "frenar frenando frenado",
    "when =braking": "beim bremsen, beim abbremsen, wenn ich bremse, au freinage, en freinant, quand je freine, al frenar, "
                     "cuando freno, cuando frena",
    "without =braking": "ohne bremsen, ohne zu bremsen, sans freiner, sin frenar",
    "brake pedal": "bremspedal, pedale de frein, pedal de freno",
    "pedal": "pedale",
    "pad": "bremsbelag, bremsbelage, bremsbelaege, belag, belage, belaege, plaquette, plaquettes, pastilla, pastillas, balata, "
           "balatas",
    "rotor": "bremsscheibe, bremsscheiben, scheibe, scheiben, disque, disques, disco, discos",
    "squeal": "quietsch, quietscht, quietschen, quietschend, gequietsche, grince, grincent, grincement, grincements, grincer, "
              "couine, couinent, crisse, crissent, crissement, rechina, rechinan, rechinar, rechinido, rechinando, chirrido, "
              "chirridos, chirria, chirrian, chilla, chillan, chillando",
    "whistle": "pfeift, pfeifen, siffle, sifflent, sifflement, siffler, silba, silban, silbido",
    "noise": "gerausch, gerausche, geraeusch, geraeusche, bruit, bruits, ruido, ruidos",
    "brake noise": "bremsgerausch, bremsgerausche, bremsgeraeusche",
    "grind": "schleift, schleifen, schleifgerausch, schleifgeraeusch, knirscht, knirschen, mahlt, mahlen",
    "scrape": "kratzt, kratzen, gratte, grattent, frotte, frottent, frottement, raspa, raspan, roza, rozan, rozando",
    "metal on metal": "metall auf metall, fer contre fer, metal contra metal, metal con metal",
    "rattle": "klappert, klappern, scheppert, cliquette, cliquetis, traquetea, traqueteo",
    "clunk": "klackt, klacken, klackert, klackern, klopft, klopfen, poltert, poltern, knackt, knacken, claque, claquement, "
             "claquements, cogne, golpeteo, golpetea, golpea",
    "groan": "knarrt, knarzt, knarren, knarzen, grogne, cruje, crujen",
    "hum": "brummt, brummen, heult, drohnt, bourdonnement, bourdonne, ronfle, zumbido, zumba",
    "steeringwheel": "lenkrad, volant, volante",
    "shake": "zittert, zittern, wackelt, wackeln, flattert, flattern, ruttelt, tremble, tremblent, tremblement, trembler, tiembla, "
             "tiemblan",
    "vibrate": "vibriert, vibrieren, vibre, vibrent, vibrer, vibra, vibran, vibrar, vibrando, vibracion, vibraciones, vibrationen",
    "judder": "rubbelt, rubbeln, bremsenrubbeln, broute, broutent, broutage",
    "pulsate": "pulsiert, pulsieren, pulsa, pulsacion, pulsaciones",
    "warp": "verzogen, voile, voiles, alabeado, alabeados, deformados, torcidos",
    "pull": "zieht, jala, se jala, se carga, tira hacia, tira a",
    "pull left": "tire a gauche, tire vers la gauche, se va a la izquierda, se va hacia la izquierda, se va para la izquierda",
    "pull right": "tire a droite, tire vers la droite, se va a la derecha, se va hacia la derecha, se va para la derecha",
    "left": "links, linkes, linke, linker, gauche, izquierda, izquierdo",
    "right": "rechts, rechtes, rechte, rechter, droite, derecha, derecho",
    "to": "nach, vers, hacia",
    "front": "vorne, vorn, vorderrad, avant, delante, delantera, delantero, delanteras, delanteros, adelante",
    "rear": "hinten, hinterrad, arriere, atras, trasera, trasero, traseras, traseros",
    "soft": "weich, weiches, mou, molle, blando, blanda, suave",
    "spongy": "schwammig, spongieux, spongieuse, esponjoso, esponjosa",
    "hard": "hart, hartes, dure, duro, dura",
    "go floor": "durchtreten, fallt durch, faellt durch, sackt durch, s enfonce, au plancher, se va al fondo, se va al piso, "
                "va al fondo, hasta el fondo, se hunde",
    "not brake well": "bremst schlecht, bremst kaum, freine mal, frena mal, no frena bien, no frenan bien",
    "no brakes": "bremst nicht, freine pas, freine plus, no frena, no frenan",
    "long stop": "langer bremsweg, bremsweg lang, bremsweg zu lang, tarda en frenar, tarda en parar, tarda mucho en frenar",
    "hot": "heiss, heis, heisse, heise, heisses, chaud, chaude, brulant, brulante, caliente, calientes",
    "gets hot": "wird heiss, wird heis, chauffe, chauffent, se calienta, se calientan",
    "smell": "riecht, geruch, stinkt, odeur, ca sent, huele, huelen, olor",
    "burn": "verbrannt, verbranntem, brule, quemado, quemada",
    "smoke": "raucht, qualmt, rauch, fumee, humo, humea",
    "stick": "klemmt, klemmen, festgegangen, fest, bloque, bloquee, bloques, grippe, coince, pegado, pegada, pegados, trabado, "
             "trabada, atorado, atorada, atorados",
    "not release": "lost nicht, lost sich nicht, loest nicht, loest sich nicht, ne se desserre pas, ne desserre pas, ne lache pas, "
                   "no suelta, no sueltan, no se suelta",
    "drag": "reste serre, restent serres, se queda frenado, se queda frenada, se quedan frenados",
    "parkbrake": "handbremse, feststellbremse, parkbremse, frein a main, frein de stationnement, frein de parking, freno de mano, "
                 "freno de estacionamiento",
    "not hold": "halt nicht, haelt nicht, ne tient pas, ne tient plus, no agarra, no detiene, no sostiene, no aguanta",
    "light on": "leuchtet, voyant allume, luz encendida, luz prendida, se prende la luz, se prendio la luz, se enciende la luz",
    "light": "leuchte, lampe, kontrollleuchte, warnleuchte, warnlampe, bremsleuchte, voyant, temoin, luz, testigo",
    "dash": "armaturenbrett, tableau de bord, tablero",
    "fluid": "flussigkeit, liquide, liquido",
    "brake fluid": "bremsflussigkeit, bremsfluessigkeit, liquide de frein, liquide de freins, liquido de freno, liquido de frenos",
    "leak": "lauft aus, laeuft aus, verliert, leckt, undicht, tropft, fuite, fuit, coule, perd, fuga, gotea, derrama, pierde",
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
    "or": "oder, ou",
    "if": "falls",
    "the": "der, das, dem, den, le, la, les, el, los, las, une, ein, eine, einen, du, des, de, mon, ma, mes, mi, mis, ne, qui, que, "
           "il, elle, se, lo, es, sehr, tres, muy, ist, sind, sich, con, avec",
}

# ---------------------------------------------------------------- several words that are one
JOINED = {
    "parkbrake": "parking brake, park brake, hand brake, handbrake, e brake, ebrake, emergency brake, emg brake, p brake, pbrake, "
                 "pkg brake, spring brake, maxi brake, epb",
    "steeringwheel": "steering wheel",
    "gaspedal": "gas pedal, accelerator pedal, accelerator, clutch pedal, throttle",
    "roadtest": "road test, test drive, test drove, road tests",
    "nolonger": "no longer, no more, not anymore, not any more, not any longer",
    "wentaway": "=went away, has gone away, have gone away, disappear, =vanished, =went =quiet",
    "speedbump": "speed bump, speed hump",
    "wheelbearing": "wheel bearing, hub bearing, hub assembly, bearing",
    "wheelnut": "wheel nut, lug nut, wheel stud, wheel bolt, lug, =studs",
    "wheelcylinder": "wheel cylinder, wheel cyl",
    "nowandthen": "now and then, off and on, on and off, comes and goes, come and go, every so often, once in a while",
    "stopandgo": "stop and go",
    "alwayson": "all the time, all =time",
}

# Small words that may stand between two neighbours of a phrase.
FILLERS = """a an the my our your his her their its is are was were be been being am it that this to of really very too so
    just pretty quite little bit kind sort slightly somewhat super extremely about almost all way both gets get got getting
    become becomes feels feel seems seem went go goes going coming comes come came has have had even also still now then up
    down out there any some old bad badly loud starts starting started start constantly always sometimes often usually
    real kinda like sounds sound same more much and in on at i""".split()

GROUPS = {
    "part": "rotor drum caliper brake pad shoe hub wheel rim",
    "wheel": "wheel rim hub tire",
    "holder": "caliper piston pin pins slide bracket pad shoe wheelcylinder hose",
    "stuck": "stick seize freeze hang bind jam lock",
    "press": "press hit step touch apply push use tap",
    "shake": "shake vibrate vibration shimmy wobble shudder judder jitter tremble quiver flutter wiggle bounce hop",
    "pulse": "pulsate pulsation throb kick",
    "side": "left right curb kerb shoulder ditch offside nearside passenger driver centerline l r side oncoming",
    "veer": "pull drag veer dart dive swerve yank steer drift lead tug wander lurch jerk",
    "faulty": "bad loose wear play rough noise shot break broken fail hum growl pitted roar gone",
    "light": "light lamp indicator message icon warning",
    "on": "=on illuminate lit flicker flash blink show glow",
    "fault": "fault error code malfunction",
    "long": "long forever ages farther further while extra",
    "spot": "wheel tire caliper hub backing drum line hose inside cylinder wheelcylinder",
    "stand": "sit overnight park frost snow rain wash ice week morning winter",
    "lost": "out inop dead blown bulb not burn broken",
}

# ---------------------------------------------------------------- symptoms: category -> subtype -> phrases
SYMPTOMS = {
    "noise": {
        "squeal": "squeal, squeak, screech, chirp, sing, whistle, scream, howl, shriek, whine, squawk, wail, high pitch, high pitched",
        "grind": "grind, metal on metal, metal to metal, metal metal, crunch, gravelly, sandpaper, grate",
        "groan": "groan, moan, creak, honk, hoot, grunt, foghorn",
        "buzz": "buzz, whir, whirr",
        "clunk": "clunk, click, knock, thunk, thud, bang, clank, clack, pop, tick, clonk, tap, snap, clink",
        "rattle": "rattle, jingle, clatter, tinny",
        "scrape": "scrape, scratch, rub, scuff, swish, shield .. contact/touch/hit",
        "hum": "hum, roar, drone, rumble, growl, thump, whoosh, boom",
        "wear-indicator": "wear indicator, wear tab, wear .. tab, squealer",
        "unspecified": "noise, sound, racket, brake .. loud, loud brake, audible",
    },
    "pulsation": {
        "judder": "warp, brake surge, surge .. brake, grab release, uneven brake, lumpy, choppy, brake .. @shake, @shake .. =braking, "
                  "rough brake, brake rough",
        "pedal-pulse": "pedal .. @shake/@pulse, @shake/@pulse .. pedal, pulsate, pulsation, throb, heartbeat, bump bump, kick back, "
                       "kickback, pedal .. push/pushes back",
        "steering-shake": "@shake .. steeringwheel/steering, steeringwheel/steering .. @shake, steeringwheel/wheel .. side to side, "
                          "hand .. shake, front end .. @shake, wheel .. @shake, @shake .. =wheel",
        "rear-pulse": "rear/seat .. @shake/@pulse, @shake/@pulse .. rear/seat, drum .. out of round",
        "unspecified": "@shake",
    },
    "pull": {
        "pull": "@veer .. @side, go/head/want .. left/right, steer .. itself, pull, swerve, veer, not .. stop straight, "
                "tug .. steeringwheel, yank .. steeringwheel, steeringwheel .. yank",
    },
    "pedal": {
        "soft": "soft, mushy, squishy, squashy, pump .. brake/pedal, pump it, brake/pedal .. pump",
        "spongy": "spongy, pedal .. marshmallow",
        "low": "pedal .. floor/bottom/sink/fall/drop/low/fade/carpet/deep/far/further/halfway, low pedal, low brake pedal, go .. floor, "
               "to floor, brake .. floor/sink, long/excess/excessive/much/extra .. travel, pedal travel, bite .. low, brake low, "
               "push/press .. far/further, long pedal",
        "hard": "hard/stiff/heavy .. pedal, pedal .. hard/stiff/rock/brick/solid/wood/heavy, stiff brake, brake .. stiff, =brakes .. =hard, "
                "stand on .. brake/pedal, hard to push/press/depress, no assist/vacuum/booster, booster .. fail/leak/bad/dead, both =feet, "
                "push/press .. hard to, power brake .. gone/fail/out",
        "long-stop": "take .. @long, take longer, need .. @long .. stop, long .. stop, @long to stop, hard/difficult/slow/trouble to stop, trouble stop, "
                     "difficulty stop, not .. stop .. well/good/right/quick/fast/like/great/soon/short/properly/enough, not =stopping, "
                     "not want to stop, not stop bus/car/truck/van/coach/vehicle/me, not stop $, barely/hardly stop/slow, "
                     "weak/poor/bad/lazy brake, brake .. weak/poor/fade/lazy/slip/inefficient/bad, no/not/less .. bite, bite .. gone, "
                     "no/less/lack/reduced .. =stopping power, stop/=stopping distance, not .. slow, not brake .. well/good/right/properly/like, "
                     "brake .. not .. strong, brake not grab, poor stop, can not stop",
        "grabby": "grab, touchy, sensitive, snatch, jerk, jerky, bite too/hard/sharp, lock up when =braking, wheel lock .. brake, "
                  "throw .. forward, nose dive, brake .. aggressive/harsh/sharp, slightest touch",
        "no-brakes": "no =brakes, no brake $, lose .. =brakes/=brake/=braking, brake .. fail/quit/gone, brake .. =out, brake .. not work, "
                     "brake .. not .. work, not work .. brake, no pedal $, nothing there, nothing happen, do nothing, loss of .. brake/=braking, "
                     "complete/total .. brake .. fail/loss, brake .. nothing, brake .. not .. hold/respond/engage/stop, =without =brakes",
    },
    "drag": {
        "hot-wheel": "@part .. hot/overheat/glow, hot @part, overheat, too hot, hot to touch, heat .. from @part, @part .. boil, =hot =f",
        "smell": "smell, stink, odor, stench, reek",
        "smoke": "smoke, on fire",
        "bind": "drag, bind, not .. release, brake .. stay .. =on, brake .. stay engaged, hold back, stick brake, brake .. stick, "
                "not roll, not =rolling, not .. spin/coast, hard to spin/turn/roll, brake .. hang up, lock up, brake .. lock, "
                "apply/engage/=on .. by =itself/=themselves, apply/engage .. own, engage without, not let go, with .. brake =on, brake .. =on .. while, "
                "parkbrake cable .. not release/stick/seize, cable not release",
        "stuck-morning": "@wheel/brake .. @stuck .. @stand, @stand .. @wheel/brake .. @stuck, pop loose, wheel .. freeze, brake .. freeze, "
                         "rust .. to rotor",
    },
    "warning-light": {
        "brake-red": "brake warning @light, brake @light, brake .. =light =on, red @light, red brake @light, red exclamation, exclamation, "
                     "dash @light, dashboard @light, warning @light, @light .. dash, brake/bcu .. @fault, brake system/failure @light, "
                     "check brake system, brake fluid @light, brake alarm, @light @on",
        "pad-sensor": "wear @light, brake wear @light, pad wear, pad @light, pad wear @light, pad sensor, wear sensor, lining @light, lining wear, "
                      "message .. pad, check .. pad .. message/display, message .. check brake, =service brake .. =on, =service =brakes .. display/message/soon, "
                      "check =brakes .. display/message, =says .. pad",
        "abs": "abs, abs @light, abs @fault, anti lock, anti lock @light, wheel speed sensor",
        "esc": "stability, stability @light, stability control, traction @light, traction control, esc, esp, dsc, tcs, vsc, skid @light, anti skid",
    },
    "leak": {
        "fluid": "leak, seep, weep, drip, puddle, lose .. fluid, fluid .. low/lose/down/drop/empty/disappear/everywhere, low .. fluid, "
                 "add .. fluid, top .. fluid, fluid .. top, fluid on/from/under .. wheel/tire/ground/floor/driveway, =wet @spot, @spot .. =wet, oily @spot, "
                 "@spot .. oily, line/hose .. burst/rupture/blow, reservoir .. low/empty",
        "air": "air leak, leak air, leak .. air, lose .. air, air .. lose/drop/low/escape/bleed, low air, air .. not .. build, not build .. air, "
               "pressure .. not build, pressure .. low/drop, hiss, psi .. minute/min, chamber/diaphragm .. leak, drop .. psi",
    },
    "parking-brake": {
        "no-hold": "parkbrake .. not hold, parkbrake .. not .. hold/work/grab/catch/do/stop, not hold .. parkbrake, parkbrake .. weak/slip/fail/useless/inop/roll/creep, "
                   "weak parkbrake, roll .. parkbrake, creep .. parkbrake, no parkbrake, parkbrake .. nothing, roll .. on .. hill, stroke .. over, "
                   "not hold .. hill/grade/slope/incline",
        "travel": "parkbrake .. click/high/loose/far/travel/slack/notch/=up/=down/floor/stretch, lever .. high, cable .. stretch, =clicks",
        "stuck": "parkbrake .. @stuck, @stuck parkbrake, parkbrake .. not release, parkbrake .. not .. release/=off/free/disengage/return, "
                 "parkbrake .. refuse/drag, not .. release .. parkbrake, can not .. release parkbrake, not let go .. parkbrake, parkbrake .. not let go",
        "electric": "electric/electronic parkbrake .. noise/grind/@fault/engine/buzz, electronic parkbrake, electric parkbrake, "
                    "parkbrake .. @fault/motor/button/switch/actuator/knob/handle/problem/alarm/issue/noise, parkbrake @light, problem .. parkbrake, "
                    "parkbrake .. motor .. grind/noise, parkbrake .. actuator .. inop/fail, parkbrake button .. nothing, parkbrake .. pin",
    },
    "other": {
        "wheel-bearing": "wheelbearing .. @faulty, @faulty .. wheelbearing, wheelbearing, hub .. play",
        "tyre": "cup/feather/scallop .. tire, tire .. cup/feather/scallop/bulge/bald/wear/noise/squeal/hum/sing/low/flat, bulge .. tire, bald tire, noise .. tire, "
                "flat spot, flat tire, tpms, tire pressure",
        "balance": "out of balance, need balance, bent rim/wheel, wheel weight",
        "suspension": "ball joint, sway bar, strut .. @faulty/leak, shock .. @faulty/leak, control arm, tie rod, bushing, cv joint/axle/boot, spring .. broken",
        "alignment": "out of alignment, need alignment, alignment .. off/out, off center, not .. center, steeringwheel .. crooked",
        "belt": "belt .. @faulty/squeal/glaze, belt, serpentine, alternator, water pump, power steering, pulley, compressor",
        "wheel-nut": "wheelnut .. loose/miss/break/broken/torque/tight/not/off/snap, loose/miss/broken wheelnut, wheel .. loose, loose wheel, "
                     "wheel .. =came/=come/=fell/=nearly .. =off, wheel .. detach",
        "appearance": "brake dust, dust .. wheel/rim, wheel/rim .. dust, rotor/drum/caliper .. rust, rust .. rotor/drum/caliper, look .. rust, ugly, "
                      "scratch .. rim/wheel, rim .. scratch, wheel .. dirty/black, paint",
        "recall": "recall, bulletin, tsb, campaign",
        "stop-lamp": "=brake =lights, stop lamp, stop light .. @lost, brake lamp/light .. @lost, brake =light .. @lost, no stop lamp, no =brake =light, brake =lights .. @lost, "
                     "third brake light, tail light, brake light switch, high mount, rear brake light, brake =lights .. =on",
        "wildlife": "deer, dog, cat, raccoon, squirrel, accident, crash, collision, bumper, rear ended, in front of me, fender, =hit curb, =hit pothole, "
                    "=hit =a, insurance, swerve to/=miss, swerve .. avoid, brake checked",
        "not-brakes": "check engine, engine @light, oil @light, air bag, airbag, oil/coolant/transmission/fuel/gas/antifreeze/steering leak, leak oil/coolant/transmission/antifreeze/water, "
                      "fuel leak, water leak, sunroof, engine .. noise/knock/tick/rattle/smoke/stall, exhaust, muffler, wiper, horn, seat belt, radio, radiator, head light, headlight, turn signal, "
                      "battery, starter, transmission .. slip/shift/shudder/noise, clutch, gaspedal, acceleration, stall, smell gas/fuel/exhaust/coolant/oil, gas/fuel/exhaust/oil/coolant smell, "
                      "ac .. smell, tailpipe, wind noise, ignition, head gasket, driveshaft, heater, speedometer",
    },
}

# What a technician finds is a cause: it decides the category only where no symptom is told.
CAUSES = {
    "noise": {
        "grind": "no pad left, down to backing, down to metal, no lining, rotor .. score/groove, pad .. gone",
        "rattle": "clip .. miss/loose/broken, clip left out",
        "squeal": "pad .. glaze, glaze pad",
    },
    "pulsation": {
        "judder": "runout, dtv, thickness variation, hot spot, blue spot, =discs .. blue, out of true",
        "rear-pulse": "out of round",
    },
    "drag": {"bind": "@holder .. @stuck, @stuck .. @holder"},
    "leak": {"fluid": "pad/shoe .. soak"},
    "parking-brake": {"no-hold": "parkbrake .. shoe .. wear"},
}

# Too vague to be a symptom; denied, it denies that category.
ONLY_DENIED = {
    "warning-light": "light, =lights, lamp, warning light, code, warning",
    "leak": "fluid on ground/floor, fluid loss",
    "drag": "heat",
}

# Said of what is right: denies that category.
GOOD = {
    "noise": "quiet, silent",
    "pulsation": "smooth, runout .. ok/good/spec/within, dtv .. ok/good/spec/within, =true",
    "pull": "stop .. straight, track .. straight, straight",
    "pedal": "pedal .. good/firm/normal/fine/ok/solid/great/high, good/firm/normal pedal, firm, stop fine/ok/good/great/well/normal, "
             "brake feel/work/hold/stop .. normal/fine/good/ok/great/well, foot brake .. fine/ok/good",
    "leak": "=dry, fluid .. full/ok/good, full .. fluid",
    "drag": "spin free, roll free, free to spin, wheel .. cool",
    "parking-brake": "parkbrake .. hold, parkbrake .. ok/fine/good/works",
}

# Phrases that hold a symptom's word and mean something else.
NOT_THIS = """
    pull over, pull over to .. @side, pull into, pull in, pull =out, pull up, pull away, pull off, pull onto, pull from, pull apart,
    pull codes, pull back, pull wheel, pull =wheels, pull trailer, pull load, pull caliper, pull drum, pull rotor,
    light brake, light press, light touch, light pedal, light application, light stop, light use, light foot, light rain, light pressure,
    light duty, light squeal, light squeak, light noise, light grind, light vibration, light pulsation, light pull, light drag, light rust,
    stop =light, =stop =lights, at .. =light, at =lights, at .. =lights, traffic light, for .. =light, red =light .. stop, =red =lights, to .. red =light,
    anti squeal, anti rattle, squeal shim, noise shim, leak down, leak test, leak check, click type, anti seize, sound good, sound right, sound ok,
    hot day, hot weather, hot out, hot outside, run hot, hard stop, hard =stops, hard brake, hard =braking, brake hard, hard brake application,
    low speed, low mile, low mileage, low .. gear, long drive, long trip, long hill, long time, long descent, snap ring, drop off, tire rotation, rotate tire,
    no brake dust, steer wheel, stick shift, hit brake, hit pedal, brake light switch pedal, soft stop, soft =stops, jump start, pop in, tick box,
    parkbrake .. released, no reason, hop in, grab .. handle, dust shield, backing plate, rub .. paste, squeal of tires, oil pan
"""

# ---------------------------------------------------------------- denial, past, supposition
NO = "no, zero, nil, none, free of, free from, absence of, nolonger, without, not any"
NOT = "not, never, neither, nor, nothing, quit, =stopped, ceased"
CANNOT_FIND = """deny, can/could not duplicate/verify/reproduce/hear/feel/confirm/find/replicate/recreate, unable to
    duplicate/verify/reproduce/hear/feel/confirm/find/replicate/recreate, not able to duplicate/verify/reproduce/hear/feel, cnd, npf, ntf, nff,
    no problem found, no trouble found, no fault found, not duplicate, not verify, fail to duplicate"""
SAY_NOT = "can/could/would not say, not say, not that, not tell me, not claim, not true that, wrong to say, not mean"
NOT_ONLY = "not only, not just, nolonger just, not stop, never stop, not quit, no doubt, not bad, no pads, no matter"
CURED = """gone, fixed, fix, resolve, cure, correct, solve, eliminate, wentaway, all good, good now, ok now, fine now, great now,
    sorted, taken care, =stopped, quit, nolonger, not hear, not feel, not note, not notice, not find, not present,
    not detect, not evident, not return, not back, not duplicate, not verify, not confirm, not come back, not happen, history"""
BACK = """back, return, again, persist, remain, continue, reoccur, recur, not fix, not gone, not resolve, not cure, not help,
    no better, no change, no improvement, never fix, not go away, not completely, still, half fixed, less"""
PAST = "=used to, previous, previously, prior, formerly, history of, past complaint, old complaint"
IF = "if, in case, in the event, should it, should they, should the, should any, let me know, let us know, whether, unless, what if"
BEWARE = """watch for, watch out for, look out for, monitor for, monitor, keep .. eye, listen for, recheck for, check for, look for,
    inspect for, may, might, could, possible, possibly, potential, to prevent, prevent, to avoid, avoid, to reduce, reduce,
    to minimize, to stop, worried about, afraid of, expect, risk of, in future, can"""
# "if i brake", "if wet": when it happens, not whether it happens.
WHEN_NOT_WHETHER = """if i/you/we/u/driver .. @press/brake/stop/hold/slam/turn/drive/slow/reverse/back/ease/let/go/come/ride/stand/put, if =braking, if =brakes are, if cold, if wet, if hot,
    if rain, if park, if it rains, if it sits, if car sits, if left, if load, if empty, if raining, if possible, if need, not sure if, not know if,
    wonder if, wonder whether, see if, ask if, as if, even if"""
WORK_DONE = "replace, install, machine, resurface, adjust, clean, lube, lubricate, renew, rebuild, bleed, repair, tighten, overhaul"

# Words a denial or a warning reaches across: "no abnormal front brake noise", "may still squeak".
TRANSPARENT = set(FILLERS) | set("""any abnormal unusual brake front rear left right pad rotor caliper wheel hear feel make do does did
    have find note notice show cause produce experience exhibit other sign evidence trace indication warning dash excessive strange
    visible external active fluid abs or nor either further return lf rf lr rr sort type form complaint concern issue problem
    significant noticeable detectable apparent road these those from she he they we you customer driver report excess red again
    develop begin occasional slight minor light ever heavy single one heat side drum shoe steering steeringwheel pedal
    with under when new of concern the presence reported""".split())

# Names without a verb: in a list after a denial they are denied too ("no noise, pull or vibration").
BARE_NAMES = set("""noise noises sound squeal squeak squeaks squeals grind grinding pull pulling pulls vibration vibrations pulsation
    pulsations shake shaking shimmy judder leak leaks leaking drag dragging light lights lamp smell smoke clunk click rattle shudder
    groan scrape scraping rubbing wobble""".split())

# ---------------------------------------------------------------- what a symptom goes with
CUES = {
    "braking": "=brake, =brakes, =braking, brake, pedal, =stopping, come to .. stop, come to halt, when .. stop, each stop, every stop, at .. stop, on .. stop, to .. stop, "
               "first .. stop, last .. stop, hard stop, slow stop, quick stop, full stop, =stops, if i stop, slow down, =slowing, decelerate, deceleration, "
               "off ramp, exit ramp, let off, stopandgo, apply, application",
    "brake work": "brake job, brake work, brake service, brake pad, brake repair, brake change, brake inspection, =brakes .. done, =brakes .. change/replace, "
                  "new brake, new pad, new rotor, after brake, since brake, brake shop, brake dust, brake recall, brake =light, brake =lights, brake fluid, pad, "
                  "rotor, caliper, drum, shoe, last job, last visit, brake ok/fine/good, =brakes are ok/fine/good",
    "not braking": "not =braking, not =brakes, not brake, not when .. =braking/stop/brake, not only when .. =braking/brake, not just when .. brake, not just =braking/brake, "
                   "not brake related, not related .. brake, not from .. brake, not under =braking, not while =braking, not on .. brake, "
                   "brake or not, =braking or not, with or without .. brake/=braking, without .. brake/=braking/pedal, even coast, even when coast, "
                   "=braking .. no difference, brake .. no difference, =braking .. not .. change/affect/matter, brake .. not .. change/affect/matter, "
                   "fine/ok/smooth/better/gone when .. =braking/brake, fine/ok/smooth/better under/while/=braking =braking, better .. when .. brake, "
                   "regardless, whether .. =braking/brake, nothing to do with .. brake, =off .. brake, unrelated to brake, not affected by =braking/brake, "
                   "brake or coast, even .. off .. brake, independent of brake",
    "always": "alwayson, constant, constantly, always, at all speed, any speed, cruise, coast, straight road, straight line, flat road, hands off, "
              "let go of .. steeringwheel/wheel, accelerate, acceleration, steady speed, crown, steady, not =braking",
    "speed": "=mph, kph, highway, speed, faster, at 40, at 45, at 50, at 55, at 60, at 65, at 70, over 40, over 50, over 60, above 40, above 50, above 60, 40 and up",
    "bearing": "wheelbearing, louder .. speed, louder .. fast, change when .. turn/swerve, change when .. steer, change .. turn/swerve, with speed, increase .. speed, faster .. go, "
               "pitch .. speed, speed increase, louder .. turn/left/right, swerve, weave, follow .. speed, hub play, sweeping",
    "tyre": "tire, tread, cup, feather, flat spot, snow tire, road noise, on concrete, pavement",
    "balance": "balance, wheel weight, tire rotation, rotate, new tire, smooths out, bent",
    "bumps": "bump, pothole, speedbump, dirt road, rough road, driveway, uneven road, washboard, cobbles, cobblestone, railroad track, track, gravel road",
    "turning": "=turning, when .. turn, on .. turn, corner, full lock, lock to lock, turn .. wheel, turn .. steeringwheel, roundabout, curve, parking lot turn",
    "suspension": "strut, shock, sway bar, ball joint, control arm, tie rod, bushing, suspension, spring, link, cv, steering rack",
    "engine": "hood, bonnet, engine, idle, belt, ac, alternator, compressor, start up, startup, cold start, on .. =start, =start, crank, rev, power steering, pulley, "
              "in park, standing still, engine bay, gear, exhaust, transmission, shift, clutch, turbo, fan, heater, starter, wiper, window, door, seat, dash, trunk, glovebox",
    "first metres": "once, first time, right after start, after =start, after =starting, =pulling away, pull away, first .. drive, drive off, move off, self test, one time, "
                    "8 mph, 10 mph, ten mph, 5 mph, each =start, every =start",
    "lugs": "wheelnut, loose wheel, wheel loose",
    "alignment": "alignment, off center, crown, straight road, hands off, tire wear, aligned",
    "silenced": "stop .. when/if/once .. @press/brake, quit when .. @press/brake, away .. brake/pedal/@press, until .. brake/=brakes/@press, silent .. brake/pedal/foot, quiet .. foot, "
                "stop .. as soon as, disappear .. brake/@press, gone when .. @press/brake, stop .. pedal, =quiet when .. @press, quits, off .. brake, not when .. brake",
    "test": "roadtest, duplicate, verify, lift, today, after repair, cnd, npf",
}

# Something is wrong, but what?
TROUBLE = """problem, issue, wrong, funny, weird, odd, strange, same, again, still, not right, act up, something, trouble, not work, broken, break down,
    fail, fault, worse, bad, unsafe, scary, dangerous, defective, not good, not normal, malfunction, not happy, came back, second time, broke,
    off, stall, recall, separate, detach, not start, not open, unable"""

# ---------------------------------------------------------------- when and where
CONDITIONS = {
    "cold": "cold, morning, first stop, first .. =stops, first brake, frost, overnight, before .. warm, winter",
    "hot": "hot, warm up, =warm, =warmed, heat up, after highway, after .. drive",
    "wet": "wet, rain, damp, humid, wash, snow, dew, fog, moisture",
    "reverse": "reverse, back up, =backing",
    "light braking": "light brake, light press, light touch, light pedal, light application, light stop, light pressure, =lightly, gentle, barely touch, "
                     "slightest touch, soft stop, easy stop",
    "hard braking": "hard brake, brake hard, hard stop, hard =braking, stop hard, panic stop, heavy brake, stop fast, slam, emergency stop",
    "low speed": "low speed, slow speed, parking lot, in town, walking pace, creep, last few feet, last foot, crawl, stopandgo, slow stop",
    "high speed": "highway, high speed, at speed, from 50, from 55, from 60, from 65, from 70, 60, 65, 70, 75, 80, 100, 120, off ramp, exit ramp",
    "turning": "=turning, left turn, right turn, corner, turn left, turn right",
    "downhill": "downhill, down hill, mountain, descent, long hill, steep",
    "bumps": "bump, pothole, speedbump, rough road, cobbles, dirt road, gravel road",
    "loaded": "loaded, =load, towing, full bus",
    "always": "alwayson, constant, constantly, always, every stop, each stop, every time",
    "now and then": "sometimes, intermittent, nowandthen, occasional, occasionally",
}
AXLES = {
    "front": "front, steer axle, lf, rf, fl, lhf, rhf, nsf, osf",
    "rear": "rear, back wheel, back brake, back end, in back, from back, =the =back, lr, rr, rl, lhr, rhr, nsr, osr, drive axle",
}
SIDES = {
    "left": "left front, left rear, front left, rear left, left side, left wheel, left brake, left caliper, left rotor, left drum, left hub, "
            "lf, lr, rl, fl, lhf, lhr, nearside, nsf, nsr, left back, back left",
    "right": "right front, right rear, front right, rear right, right side, right wheel, right brake, right caliper, right rotor, right drum, right hub, "
             "rf, rr, rhf, rhr, offside, osf, osr, right back, back right",
}

# Words no slip is corrected to, and words that only look like a slip of a word above.
NEVER_CORRECTED_TO = set()
REAL_WORDS = set()
