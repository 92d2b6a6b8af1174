"""Where on the vehicle: ``LF``, ``o/s/r``, ``2nd axle left``, ``rear shoes``, ``VL``, ``front L & R``.

Rules
-----
P1 work, not a place (``R&R``). P2 every wheel. P3 the shop's numbering of wheels is asked once. P4 written words and
two-letter wheel codes. P5 a lone R, FR or RR is settled by the rest of the cell, the column or the header, else asked.
P6 driver's and passenger's side need the drive side, near side and off side the traffic side. P7 inner and outer. P8 axles
by number. P9 axles by name (steer, drive, tag) need the vehicle's axles. P10 a trailer is another vehicle: flag. P11 wheel
codes of other languages. P12 three of four wheels: flag. P13 axle missing: ask, unless the header says that the axle stands
in another column. P14 a word that is not known, or a doubt, beside a clear position: flag. P15 a slip of one letter in a
long word.
"""

import re
from dataclasses import dataclass, field, replace

from brakedata.cells import text as t
from brakedata.cells import words
from brakedata.cells.reading import Reading, ask, assumed, flag, ok, refuse

_SIDES = ("left", "right")


@dataclass(frozen=True, slots=True)
class _Known:
    """What the header, the column and the hints say about every cell of the column."""

    kind: str = "full"  # what the column holds: full, side, axle or part
    axle: str | None = None
    side: str | None = None
    part: str | None = None
    codes: frozenset[str] = frozenset()  # the column's cells as bare words
    named: frozenset[str] = frozenset()  # the words of the column's cells
    slashed: str | None = None  # wheel codes with a slash: side first (L/F, R/R) or axle first (F/L)
    country_codes: dict[str, str] = field(default_factory=dict)
    short: tuple["Short", ...] = ()
    driver: str | None = None
    driver_from: str = ""
    nearside: str | None = None
    axles: tuple[str, ...] = ()
    wheels: tuple[str, ...] = ()  # which wheel the shop calls 1, 2, 3 and 4
    trailer: bool = False  # the header names a trailer
    duals: bool = False  # inner and outer are wheels: the header names tyres, or the column has them on the rear only


@dataclass(slots=True)
class _Item:
    """One place being put together from words."""

    axle: str | None = None
    side: str | None = None
    part: str | None = None
    both: bool = False
    coded: bool = False  # axle and side came in one word, such as LF


class _Ask(Exception):
    """The cell cannot be read until a person answers."""

    def __init__(self, sentence: str, question: str = "words", rule: str = "P5"):
        super().__init__(sentence)
        self.reading = ask(sentence, question, rule)


def read_column(texts: list[str], header: str, hints: dict) -> list[Reading]:
    """Read a column of positions.

    Parameters
    ----------
    texts : list of str, shape (cells,)
    header : str
    hints : dict
        ``country``, ``driver_side``, ``traffic_side``, ``axles``, ``wheels`` (which wheel is 1, 2, 3, 4: ``LF RF LR RR``), ``words``.

    Returns
    -------
    list of Reading, shape (cells,)
        Values are ``{"axle", "side", "part"}`` or a list of these.
    """
    known = _known(texts, header, hints)
    meanings = t.shop_words(hints)
    return t.each_once(texts, lambda text: t.read_one(text, meanings, lambda clear: read_clear(clear, known)))


def read_clear(clear: str, known: _Known) -> Reading:
    """Read one tidy, non-empty text."""
    try:
        return _Cell(t.unwrapped(clear), known).reading()
    except _Ask as stop:
        return stop.reading


# --- what header, column and hints say --------------------------------------------------------------------------------


def opposite(side: str | None) -> str | None:
    """The other side; None stays None."""
    return {"left": "right", "right": "left"}.get(side)


def traffic_side(hints: dict) -> str | None:
    """Side of the road traffic keeps to, from ``traffic_side`` or the country; None when neither tells."""
    if hints.get("traffic_side") in _SIDES:
        return hints["traffic_side"]
    country = str(hints.get("country") or "").upper()
    if country in words.KEEP_LEFT:
        return "left"
    return "right" if country in words.KEEP_RIGHT else None


def driver_side(hints: dict) -> tuple[str | None, str]:
    """Side the driver sits on and how it is known, from ``driver_side`` or the country."""
    if hints.get("driver_side") in _SIDES:
        return hints["driver_side"], "as answered"
    keeps = traffic_side({"country": hints.get("country")})
    return opposite(keeps), f"as usual in {hints.get('country')}"


def country_codes(country: str) -> dict[str, str]:
    """Wheel codes of a country's language, as words this reader knows."""
    out: dict[str, str] = {}
    for countries, codes in words.COUNTRY_CODES.items():
        if country.upper() in countries:
            out.update({code: meaning for code, meaning in codes.items() if code not in out})
    return out


@dataclass(frozen=True, slots=True)
class Short:
    """Short words of one language, and what they mean in it; see `words.SHORT_SIDES`."""

    signs: frozenset[str]
    meanings: dict[str, str]
    words: bool  # words of two letters and more count in every cell but one of English sides
    letters: bool  # so do single letters; else only in a cell with a word of the language

    def of(self, names: set[str]) -> dict[str, str]:
        """What counts in a cell of these words."""
        signed, english = bool(names & self.signs), bool(names & _ENGLISH_SIDES)
        return {
            word: its
            for word, its in self.meanings.items()
            if signed or not english and (self.words if len(word) > 1 else self.letters)
        }


_ENGLISH_SIDES = frozenset("left right lh rh lt rt lhs rhs".split())


def short_words(texts: list[str], header: str, country: str) -> tuple[Short, ...]:
    """The languages of a column's short words (``re``, ``dr``, ``d``, ``i``): by the country, or by the other words of the column.

    A single letter is a side where its partner, D and I, stands in the column, and P, the passenger's, does not.
    """
    names = {word for text in texts for word in _words_of(text)}
    head = _words_of(header)
    out = []
    for countries, signs, meanings in words.SHORT_SIDES:
        if country.upper() in countries or (names | head) & signs:
            sides = {meanings[letter] for letter in names & meanings.keys() if len(letter) == 1}
            partners = len(sides) > 1 and (meanings.get("p") or "p" not in names)
            out.append(Short(signs, meanings, words=True, letters=bool(partners)))
    return tuple(out)


def _words_of(text: str) -> set[str]:
    return set(re.findall(r"[a-z]+", _joined(str(text)[: t.LONGEST_CELL])))


_TYRES = re.compile(r"\b(?:tires?|tyres?|tread|duals?)\b")


def _duals_only_behind(codes: frozenset[str]) -> bool:
    """Whether the column has inner and outer behind (LRI, LRO), and in front whole wheels only (LF)."""
    behind = any(re.fullmatch(r"(?:lr|rl|rr)(?:in|out|inner|outer|[io])", code) for code in codes)
    before = any(re.fullmatch(r"(?:lf|rf|fl|fr)(?:in|out|inner|outer|[io])", code) for code in codes)
    return behind and not before and bool(codes & {"lf", "rf", "fl"})


_SLASHED = {"side": re.compile(r"\b[lr] ?/ ?f\b"), "axle": re.compile(r"\bf ?/ ?l\b")}


def _bare(text: str) -> str:
    return re.sub(r"[^a-z0-9]", "", t.fold(text))


def _known(texts: list[str], header: str, hints: dict) -> _Known:
    clear = t.distinct(texts)
    codes = frozenset(_bare(text) for text in clear)
    cells = {re.sub(r" ", "", t.fold(text)) for text in clear}
    slashed = [style for style, pattern in _SLASHED.items() if any(pattern.search(t.fold(text)) for text in clear)]
    if {"l/r", "r/r"} <= cells and codes & {"lf", "rf"}:
        slashed = ["side"]  # beside LF and RF
    driver, driver_from = driver_side(hints)
    country = str(hints.get("country") or "")
    known = _Known(
        codes=codes,
        named=frozenset(word for text in clear for word in _words_of(text)),
        slashed=slashed[0] if len(slashed) == 1 else None,
        country_codes=_codes_of_file(codes, country),
        short=short_words(clear, header, country),
        driver=driver,
        driver_from=driver_from,
        nearside=traffic_side(hints),
        axles=tuple(str(a).lower() for a in hints.get("axles") or ()),
        wheels=tuple(code for code in hints.get("wheels") or () if code in ("LF", "RF", "LR", "RR")),
        duals=bool(_TYRES.search(t.fold(str(header)))) or _duals_only_behind(codes),
    )
    return _with_header(known, t.tidy(str(header))[: t.LONGEST_CELL])


def _codes_of_file(codes: frozenset[str], country: str) -> dict[str, str]:
    out = {**words.CODES_OF_ANY_COUNTRY, **country_codes(country)}
    for pairs in words.CODE_PAIRS:
        if all(codes & pair.keys() for pair in pairs):
            for pair in pairs:
                out.update(pair)
    return out


_HEADER_FULL = {"position", "pos", "wheel", "wheels", "corner", "location", "posn", "place", "where"}
_HEADER_KINDS = {
    "side": {"side", "seite", "cote", "lado", "lato", "zijde"},
    "axle": {"axle", "axles", "achse", "essieu", "eje", "asse", "eixo"},
    "part": {"pad", "pads", "shoe", "shoes", "part", "parts", "component", "belag"},
}


def _with_header(known: _Known, header: str) -> _Known:
    names = re.findall(r"[a-z]+", t.fold(header))
    known = replace(known, trailer=bool(words.TRAILER & set(names)))
    names = [name for name in names if name not in words.TRAILER]
    kinds = [kind for kind, those in _HEADER_KINDS.items() if those & set(names)]
    kind = kinds[0] if len(kinds) == 1 and not _HEADER_FULL & set(names) else "full"
    faces = words.INNER | words.OUTER
    kind = "part" if known.codes and known.codes <= faces and (set(names) & (faces | _HEADER_KINDS["part"])) else kind
    known = replace(known, kind=kind)
    numbered = re.search(r"\baxle ?(\d)\b", t.fold(header))
    if numbered:
        return replace(known, kind="full", axle=numbered[1])
    completing = [n for n in names if n not in _HEADER_FULL and not any(n in those for those in _HEADER_KINDS.values())]
    if not completing:
        return known
    try:
        items = _Cell(" ".join(completing), known).items()
    except _Ask:
        return known
    if len(items) != 1:
        return known
    return replace(known, axle=items[0].axle, side=items[0].side, part=items[0].part)


# --- words of a cell --------------------------------------------------------------------------------------------------

_JOINED = [
    (re.compile(r"\b([lr]) ?[/.] ?h(?: ?[/.] ?s)?\b\.?"), r"\1h"),
    (re.compile(r"\b([lrnodp]) ?[/.] ?s\b"), r"\1s"),
    (re.compile(r"\b([io]) ?[/.] ?b\b"), r"\1b"),
    (re.compile(r"\b(near|off|kerb|curb|street|road)[ -]?side\b"), r"\1side"),
    (re.compile(r"\b(?:e|p|park(?:ing)?|hand|emergency)[ -]?brakes?\b"), "parkbrake"),
    (
        re.compile(r"\b(?:frein (?:a|de) (?:main|parking|parc)|freno de (?:mano|estacionamiento)|freno a mano|freio de mao)\b"),
        "parkbrake",
    ),
    (re.compile(r"\bpark(?:ing)?[ -](?=shoes?\b|pads?\b|linings?\b)"), "parkbrake "),
    (re.compile(r"\b(driver|passenger|operator)'?s\b"), r"\1"),
    (re.compile(r"\bco-driver\b"), "codriver"),
    (re.compile(r"(?:#|\bno\.? ?|\bnr\.? ?)(\d) ?(?:axle|ax)\b"), r"axle \1"),
    (re.compile(r"\b(?:axle|ax)\.? ?(?:#|no\.?|nr\.?|number) ?(\d)\b"), r"axle \1"),
    *(
        (re.compile(rf"\b(axle|ax) {word}\b"), rf"\1 {number}")
        for word, number in (("one", 1), ("two", 2), ("three", 3), ("four", 4))
    ),
    (re.compile(r"\b(left|right)[- ]hand\b"), r"\1"),
    (re.compile(r"\b(\d)\. ?(achse|axle|essieu|eje)\b"), r"axle \1"),
    (re.compile(r"\b([1-5])(?:st|nd|rd|th|e|er|eme)(?= (?:\w+ )?(?:axle|ax|drive|steer|tag|essieu))"), r"nth\1"),
    (re.compile(r"\b([1-5])(?:st|nd|rd|th) (?=(?:left|right|lh|rh|l|r)\b)"), r"nth\1 axle "),
]
_PAD_NAMED = re.compile(r"\b(?:pads?|linings?|inboard|outboard|belag|plaquettes?|pastillas?)\b")
_CODE_PART = re.compile(r"(lf|rf|lr|fl|rl|fr|rr)([io])")
_HAND_CODE = re.compile(r"([lr])h?s?([fr])|([fr])([lr])h?s?|([lr])([fr])h|([lr])hs?([fr])w?")
_TOKEN = re.compile(r"nth\d|[^\W\d_]+|\d+|[^\w\s]|_|\n")
_NTH = re.compile(r"nth[1-5]")
_HARD = {",", ";", "&", "+", "|", "\n", "and", "und", "et", "y", "plus"}
_SOFT = {"/", "-", ".", "_", "\\", "(", ")", ":", "'", '"', "[", "]", "*", "=", "!"}


def _camel_apart(clear: str) -> str:
    clear = re.sub(r"(?<=[a-z])(?=[A-Z][a-z])|(?<=[a-z])(?=[A-Z]\b)", " ", clear)
    return re.sub(r"\b([LRF])(?=(?:Front|Rear|Left|Right|Inner|Outer)\b)", r"\1 ", clear)


def _joined(clear: str) -> str:
    low = t.fold(t.polish_axle(_camel_apart(clear)))
    for pattern, better in _JOINED:
        low = pattern.sub(better, low)
    return low


_CODES: dict[str, tuple[str, str]] = {}
for _code, _axle, _side in (("lf", "front", "left"), ("rf", "front", "right"), ("lr", "rear", "left"), ("rr", "rear", "right")):
    _s, _a = _code
    for _form in (f"{_s}h{_a}", f"{_s}hs{_a}", f"{_a}{_s}h", f"{_s}{_a}w", f"{_s}s{_a}", f"{_s}t{_a}"):
        _CODES[_form] = (_axle, _side)
_CODES |= {
    "lf": ("front", "left"),
    "fl": ("front", "left"),
    "rf": ("front", "right"),
    "lr": ("rear", "left"),
    "rl": ("rear", "left"),
}
_DRIVER_CODES = {
    f"{who}{s}{axle}": (name, full)
    for who, name in (("d", "driver"), ("p", "passenger"))
    for s in ("", "s")
    for axle, full in (("f", "front"), ("r", "rear"))
}
_KERB_CODES = {
    code: (name, full)
    for who, name in (("ns", "nearside"), ("os", "offside"))
    for axle, full in (("f", "front"), ("r", "rear"))
    for code in (who + axle, axle + who)
}
_OF_A_TRAILER = "a trailer is a vehicle of its own: listed until its number is known"
_ANY_COUNTRY_CODES = frozenset(code for codes in words.COUNTRY_CODES.values() for code in codes)
_NAMED_AND_COUNTED = re.compile(rf"\b(?:{'|'.join(words.TRUCK_AXLES)}) (?:axle|ax) \d\b")
_FACES_IN_WORDS = (words.INNER | words.OUTER | {"leading", "trailing"}) - {"piston"}
_WRITTEN = words.LEFT | words.RIGHT | words.FRONT | words.REAR


class _Cell:
    """One cell's words turned into places, a group of words (between commas or ``and``) at a time."""

    def __init__(self, clear: str, known: _Known):
        self.clear = clear
        self.known = known
        self.low = _joined(clear)
        self.notes: list[str] = []
        self.doubts: list[str] = []
        self.groups = self._groups()
        named = {word for group in self.groups for word in group}
        short = {word: its for one in reversed(known.short) for word, its in one.of(named).items()}
        self.codes = short | known.country_codes
        if known.trailer:
            self.doubts.append(_OF_A_TRAILER)
        if "?" in self.low:
            self.doubts.append("the writer put a question mark")

    @property
    def has_and(self) -> bool:
        """Whether the pieces are joined by a word or sign for ``and``."""
        return bool(set(_TOKEN.findall(self.low)) & {"and", "&", "+", "und", "et", "y", "plus"})

    def note(self, sentence: str) -> None:
        if sentence not in self.notes:
            self.notes.append(sentence)

    # -- the answer

    def reading(self) -> Reading:
        whole = re.sub(r"[.!*]+$", "", self.low).strip()
        if whole in words.REMOVE_REPLACE or whole.replace(" ", "") in words.REMOVE_REPLACE:
            return refuse(f"{self.clear!r} names work, not a position", "P1")
        every = self._every_wheel(whole)
        if every:
            return every
        if re.fullmatch(r"(?:#|no\.?|wheel|pos\.?|position|w|rad|roue|tire|tyre|corner)? ?#? ?\d{1,2}", whole) and not (
            self.known.kind == "axle" and whole.isdigit()
        ):
            return self._numbered_wheel(int(re.search(r"\d+", whole)[0]))
        names = set(re.findall(r"[a-z]+", self.low))
        if names & words.OTHER_THINGS and not names & words.PARTS.keys():
            return refuse(f"{self.clear!r} names a part that is no brake", "P1")
        if "→" in self.low:
            raise _Ask(f"{self.clear!r}: from one place to another: which is meant?", "words", "P14")
        if names & words.EITHER:
            raise _Ask(f"{self.clear!r}: which of them?", "words", "P14")
        items = self.items()
        if not items:
            if {w for g in self.groups for w in g} & _ANY_COUNTRY_CODES:
                raise _Ask(f"{self.clear!r}: a wheel code of another language? of which country?", "country", "P11")
            return refuse(f"{self.clear!r} names no place on the vehicle", "P13")
        return self._say(self._completed(items))

    def _numbered_wheel(self, number: int) -> Reading:
        """Rule P3, answered where the column counts four wheels."""
        counted = [int(found[0]) for code in self.known.codes if (found := re.search(r"\d+$", code))]
        four = 1 <= number <= 4 and max(counted, default=4) <= 4
        order = self.known.wheels
        if not four or not order:
            raise _Ask("wheels are numbered and the numbering is not known", "wheels" if four else "words", "P3")
        axle, side = ("front" if order[number - 1][1] == "F" else "rear"), ("left" if order[number - 1][0] == "L" else "right")
        return assumed(_place(axle, side), None, f"wheel {number} as the shop numbers them", "P3")

    def _every_wheel(self, whole: str) -> Reading | None:
        # "all", "all 4", "4 wheels", "all round", "both axles"
        plain = re.sub(r"[^a-z0-9 ]", " ", whole)
        names = plain.split()
        count = {"4": 4, "four": 4, "6": 6, "six": 6, "8": 8, "10": 10}
        rest = [
            n
            for n in names
            if n not in words.POSITION_FILLER and n not in {"round", "around", "x", "positions", "corners"} | set(count)
        ]
        numbers = [count[n] for n in names if n in count]
        says_all = bool(rest) and all(n in words.EVERY_WHEEL for n in rest)
        counted = not rest and len(numbers) == 1 and len(names) > 1
        both_axles = rest == ["both"] and any(n in ("axles", "ends") for n in names)
        if (
            not (says_all or counted or both_axles)
            or "#" in whole
            or re.search(r"\b(?:wheel|pos|position|corner|axle) ?\d", plain)
        ):
            return None
        if says_all and "axles" in names and not self.known.axles:
            raise _Ask(f"{self.clear!r}: how many axles are there?", "axles", "P2")
        axles = len(self.known.axles) or 2
        if len(numbers) > 1 or (numbers and numbers[0] != 2 * axles):
            raise _Ask("how many wheels are meant, and on which axles", "axles", "P2")
        value = [_place(a) for a in (("front", "rear") if axles == 2 else map(str, range(1, axles + 1)))]
        if numbers or axles == 2 and names[0] != "complete":
            return ok(value, None, "P2")
        return assumed(value, None, f"taken as all {axles} axles", "P2")

    def _completed(self, items: list[_Item]) -> list[_Item]:
        """Each item with what its neighbours in the cell and the header say."""
        known = self.known
        items = self._joined_items(items)
        for order in (items[::-1], items):
            for near, item in zip(order, order[1:], strict=False):
                if item.axle is None and near.axle is not None:
                    if item.side and near.coded:
                        raise _Ask(f"{self.clear!r}: one place, or two?", "words", "P13")
                    item.axle = near.axle
                if item.side is None and not item.both and item.part and near.side and near.part:
                    item.side = near.side
        for item in items:
            if item.both and item.side:
                raise _Ask(f"{self.clear!r}: one side, or both?", "words", "P13")
            if (known.axle and item.axle not in (None, known.axle)) or (known.side and item.side not in (None, known.side)):
                self.doubts.append("a position that is not the header's")
            item.axle = item.axle or known.axle
            if item.side is None and not item.both:
                item.side = known.side
            item.part = item.part or (known.part if known.kind != "part" else None)
        if len({bool(item.part) for item in items}) > 1:
            raise _Ask(f"{self.clear!r}: which part belongs to which place?", "words", "P7")
        return items

    def _joined_items(self, items: list[_Item]) -> list[_Item]:
        """``Front, Left`` and ``LF, inner`` are one place written in two pieces."""
        whole_axles = {i.axle for i in items if i.axle and not (i.side or i.both or i.part)}
        if any(i.coded and i.axle in whole_axles for i in items):
            raise _Ask(f"{self.clear!r}: one wheel, or both of the axle?", "words", "P5")
        only_axle = [i for i in items if i.axle and not (i.side or i.both or i.part)]
        only_side = [i for i in items if (i.side or i.both) and not (i.axle or i.part)]
        only_part = [i for i in items if i.part and not (i.axle or i.side or i.both)]
        if len(only_axle) == 1 and only_side and len(only_axle) + len(only_side) == len(items):
            if self.has_and and len(only_side) == 1:
                raise _Ask(f"{self.clear!r}: one place, or two?", "words", "P13")
            for item in only_side:
                item.axle = only_axle[0].axle
            return only_side
        named_whole = re.search(r"\b(?:fronts|rears|axles?)\b", self.low)
        if (self.has_and or "/" in self.low) and only_axle and any(i.side for i in items) and not named_whole:
            raise _Ask(f"{self.clear!r}: does the side hold for both axles?", "words", "P13")
        if only_part and len(items) == len(only_part) + 1:
            whole = next(i for i in items if i not in only_part)
            if not whole.part:
                return [_Item(whole.axle, whole.side, i.part, whole.both) for i in only_part]
        return items

    def _say(self, items: list[_Item]) -> Reading:
        known = self.known
        for item in items:
            if item.axle is None:
                has_side = item.side or item.both
                if has_side and not (known.kind == "side" or item.part == "park_brake"):
                    raise _Ask(f"{self.clear!r}: which axle?", "words", "P13")
                if not has_side and not (known.kind == "part" or item.part == "park_brake"):
                    raise _Ask(f"{self.clear!r}: which axle and side?", "words", "P13")
        faces = [i for i in items if i.part in ("inner_pad", "outer_pad") and i.axle not in ("front", "1")]
        if faces and not _PAD_NAMED.search(self.low):
            if known.duals or re.search(r"\bduals?\b", self.low):
                raise _Ask(f"{self.clear!r}: inner and outer pad, or inner and outer wheel of a pair?", "words", "P7")
            if "drive" in known.axles and known.kind != "part":
                self.doubts.append("inner and outer taken as pads; on a drive axle they may be the wheels of a pair")
        places = _merged(items)
        value = places if len(places) > 1 else places[0]
        wheels = {(i.axle, s) for i in items for s in ([i.side] if i.side else _SIDES)}
        ends = {"front", "rear"}
        if len(wheels) == 3 and {a for a, _ in wheels} == ends and all(i.side for i in items):
            self.doubts.append("three of four wheels: why not the fourth?")
        if len(known.axles) > 2 and any(i.axle == "rear" for i in items):
            self.doubts.append(f"this vehicle has {len(known.axles)} axles: which of them is the rear one?")
        if known.axles.count("steer") > 1 and any(i.axle == "front" for i in items):
            self.doubts.append("this vehicle has more than one steer axle: which of them is the front one?")
        if any(i.axle and i.axle.isdigit() and not 1 <= int(i.axle) <= (len(known.axles) or 9) for i in items):
            raise _Ask(f"{self.clear!r}: the vehicle has no such axle", "axles", "P8")
        if self.doubts:
            return flag(value, None, "; ".join(self.doubts + self.notes), "P14")
        return assumed(value, None, "; ".join(self.notes), "P4") if self.notes else ok(value, None, "P4")

    # -- words to slots

    def _groups(self) -> list[list[str]]:
        groups: list[list[str]] = [[]]
        for word in _TOKEN.findall(self.low):
            if word in _HARD:
                groups.append([])
            else:
                groups[-1].append(word)
        return [g for g in groups if any(w.isalnum() for w in g)]

    def items(self) -> list[_Item]:
        """The places the cell names, in its order."""
        items: list[_Item] = []
        for index, group in enumerate(self.groups):
            items += self._group_items(index, [w for w in group if w not in _SOFT], group)
        return [i for i in items if i.axle or i.side or i.part or i.both]

    def _group_items(self, index: int, group: list[str], raw: list[str]) -> list[_Item]:
        slots = _Slots()
        seen = self._seen(group)
        if any(w in words.NOT_THERE for w in group):
            raise _Ask(f"{self.clear!r} says where it is not", "words", "P14")
        rest = _NAMED_AND_COUNTED.sub("", " ".join(group))
        if any(w in words.TRUCK_AXLES for w in group) and re.search(r"\b(?:axle|ax|a|l|r|left|right|lh|rh) ?\d", rest):
            raise _Ask(f"{self.clear!r}: an axle by its name and by its number", "words", "P9")
        axles = {self._plain_meaning(w)[0] for w in group if w in words.FRONT | words.REAR | {"f"}} - {None}
        wheels = {w for w in group if w in ("lf", "fl", "rf", "lr", "rl", "fr", "rr") or w in _KERB_CODES}
        own = {"front" if "f" in w else "rear" for w in wheels}
        numbers = {w for w in group if w.isdigit() or _NTH.fullmatch(w)}
        if len(numbers) > 1 or (numbers and axles):
            raise _Ask(f"{self.clear!r}: which axle?", "words", "P8")
        if axles and wheels and (wheels & {"lr", "rl"} or own != axles):
            raise _Ask(f"{self.clear!r}: one wheel, or both of the axle?", "words", "P5")
        position = 0
        while position < len(group):
            used = self._take(index, group, position, raw, seen, slots)
            position += used
        if len({i.axle for i in slots.items}) > 1 and len({bool(i.side) for i in slots.items}) > 1 and "/" not in raw:
            raise _Ask(f"{self.clear!r}: does the side hold for both axles?", "words", "P13")
        if len({i.side for i in slots.items} - {None}) > 1 and len(self._sides_named(group)) > 1:
            raise _Ask(f"{self.clear!r}: the two sides it names are not the same", "words", "P6")
        return slots.items

    def _sides_named(self, group: list[str]) -> set[str]:
        """In how many ways the group names a side: left and right, driver and passenger, near and off."""
        ways = {
            "side": words.LEFT | words.RIGHT | {"l"},
            "driver": words.DRIVER | words.PASSENGER,
            "kerb": words.NEARSIDE | words.OFFSIDE,
        }
        return {way for way, those in ways.items() if those & set(group)}

    def _seen(self, group: list[str]) -> set[str]:
        """Which kinds of word the group holds, to settle R, FR, RR, O, I, D and P."""
        seen = set()
        for word in group:
            axle, side = self._plain_meaning(word)
            if word in words.LEFT or word in words.RIGHT or word in ("l",):
                seen.add("left" if word in words.LEFT or word == "l" else "right")
                if word != "l":
                    seen.add("side word")
            elif word in words.NEARSIDE | words.OFFSIDE | words.DRIVER | words.PASSENGER or word in ("d", "p"):
                seen.add("side word")
            elif word in words.FRONT | words.REAR or word in words.TRUCK_AXLES or _NTH.fullmatch(word):
                seen.add("axle word")
            elif word == "f":
                seen.add("f")
            elif word.isdigit():
                seen.add("number")
            elif axle and side:
                seen.add("wheel")
            elif axle:
                seen.add("axle word")
            elif side:
                seen.add("side word")
        return seen

    def _plain_meaning(self, word: str) -> tuple[str | None, str | None]:
        """Axle and side of a word that needs no context."""
        coded = self.codes.get(word)
        if coded:
            names = coded.split()
            axle = names[0] if names[0] in ("front", "rear") else None
            side = names[-1] if names[-1] in _SIDES else None
            return axle, side
        if word in _CODES:
            return _CODES[word]
        axle = "front" if word in words.FRONT or word == "f" else "rear" if word in words.REAR else None
        side = "left" if word in words.LEFT or word == "l" else "right" if word in words.RIGHT else None
        return axle, side

    def _take(self, index, group, position, raw, seen, slots) -> int:
        """Read the word at ``position`` into ``slots``; return how many words were used."""
        word = group[position]
        following = group[position + 1] if position + 1 < len(group) else ""
        known = self.known
        if word == "?":
            return 1
        used = self._take_axle(group, position, seen, slots)
        if used:
            return used
        if word in ("lr", "rl") and {"l", "r"} <= known.codes and not known.codes & {"lf", "rf", "fl", "fr", "f"}:
            raise _Ask(f"{self.clear!r}: left rear, or left and right?", "words", "P5")
        if word in self.codes and not self._beside_a_side(word, group) or word in _CODES:
            slots.put(*self._plain_meaning(word))
            return 1
        if word in words.TRAILER:
            if not known.trailer:
                self.doubts.append(_OF_A_TRAILER)
            return 1
        if word == "r":
            slots.put(*self._lone_r(index, group, position, raw, seen))
            return 1
        if word in ("fr", "rr"):
            slots.put(*self._two_letters(word, seen))
            return 1
        if word in _DRIVER_CODES:
            who, axle = _DRIVER_CODES[word]
            if word in ("dr", "ds", "ps") and seen & {"axle word", "f"}:
                axle = None
            slots.put(axle, self._driver(who, bool(seen & {"wheel", "left", "right"})))
            return 1
        if word in _KERB_CODES:
            who, axle = _KERB_CODES[word]
            slots.put(axle, self._kerb(who))
            return 1
        match = _CODE_PART.fullmatch(word)
        if match:
            whole_code = match[1] == "rr" and not known.codes & {"fr", "fri", "fro"}
            if match[1] in ("fr", "rr") and not whole_code:
                axle, side = self._two_letters(match[1], seen)
            else:
                axle, side = _CODES.get(match[1], ("rear", "right"))
            slots.put(axle, side, self._in_or_out(match[2]))
            return 1
        if word == "is" and known.kind == "part":
            slots.put(part="inner_pad")
            return 1
        if word in ("o", "i", "in", "out"):
            self._take_in_out(word, following, seen, slots)
            return 1
        return self._take_word(word, seen, slots)

    def _beside_a_side(self, word: str, group: list[str]) -> bool:
        """Whether I or E stands in a group that names its side by another word: then it is the inner or outer pad."""
        return word in ("i", "o", "e") and any(self._plain_meaning(other)[1] for other in group if other != word)

    def _take_word(self, word: str, seen: set[str], slots: "_Slots") -> int:
        if word in words.DRIVER or word in words.PASSENGER or word in ("d", "p"):
            if word in ("d", "p") and not seen & {"axle word", "f"} and self.known.kind != "side":
                raise _Ask(f"{self.clear!r}: driver's or passenger's side, or something else?", "words", "P6")
            named = bool(seen & {"wheel", "left", "right"}) and len(word) > 1
            slots.put(None, self._driver("driver" if word in words.DRIVER or word == "d" else "passenger", named))
        elif word in words.NEARSIDE or word in words.OFFSIDE:
            self._take_kerb(word, seen, slots)
        elif word in words.INNER or word in words.OUTER:
            slots.put(part="inner_pad" if word in words.INNER else "outer_pad")
        elif word in words.PARTS:
            if word in words.GUESSED_PART:
                self.note(f"{word.upper()} taken as the parking brake")
            slots.put(part=words.PARTS[word])
        elif word in words.BOTH:
            slots.current.both = True
        elif word in words.POSITION_FILLER:
            pass
        else:
            axle, side = self._plain_meaning(word)
            if axle is None and side is None:
                axle, side = self._apart_or_slip(word)
            elif word in words.GUESSED_AXLE:
                self.note(f"{word.upper()} taken as {axle}")
            slots.put(axle, side)
        return 1

    def _apart_or_slip(self, word: str) -> tuple[str | None, str | None]:
        """``leftfront`` written together, or one letter wrong in a long word; else the word is listed as not known."""
        if word[0] in "lr" and word[1:] in words.FRONT | words.REAR and len(word) > 3:
            return self._plain_meaning(word[1:])[0], "left" if word[0] == "l" else "right"
        for cut in range(2, len(word) - 1):
            first, second = self._plain_meaning(word[:cut]), self._plain_meaning(word[cut:])
            if word[:cut] in _WRITTEN and word[cut:] in _WRITTEN and any(first) and any(second):
                axle, side = first[0] or second[0], first[1] or second[1]
                if axle and side:
                    return axle, side
        for right in ("front", "right", "rear", "left"):
            if t.one_slip(word, right):
                self.note(f"{word!r} taken as {right}")
                return self._plain_meaning(right)
        self.doubts.append(f"{word!r} is not known")
        return None, None

    # -- axles by number and by name

    def _take_axle(self, group: list[str], position: int, seen: set[str], slots: "_Slots") -> int:
        """Axle numbers and truck axles; 0 when the word is neither."""
        word = group[position]
        following = group[position + 1] if position + 1 < len(group) else ""
        after = group[position + 2] if position + 2 < len(group) else ""
        if word in words.AXLE_NUMBER_WORDS | {"a"} and following.isdigit():
            slots.put(str(int(following[:3])))
            return 2
        if _NTH.fullmatch(word) or (word in words.ORDINALS and (following in words.TRUCK_AXLES or following in ("axle", "ax"))):
            order = int(word[3:]) if _NTH.fullmatch(word) else words.ORDINALS[word]
            if following in words.TRUCK_AXLES and after not in ("axle_",):
                slots.put(self._truck_axle(words.TRUCK_AXLES[following], order))
                return 2
            if order > 0 and word not in words.FRONT:
                if word == "lead" and len(self.known.axles) != 2:
                    raise _Ask(f"{self.clear!r}: the first axle, or the first of a pair?", "axles", "P9")
                slots.put(str(order))
                return 2 if following in words.AXLE_NUMBER_WORDS else 1
            return 0
        if word in words.MIDDLE and len(self.known.axles) == 3:
            self.note("the middle one of three axles")
            slots.put("2")
            return 1
        if word in words.TRUCK_AXLES and not (word == "drv" and following in ("side", "f", "front", "rear", "r")):
            if following.isdigit():
                slots.put(self._truck_axle(words.TRUCK_AXLES[word], int(following[:3])))
                return 2
            if following in ("axle", "ax") and after.isdigit():
                slots.put(self._truck_axle(words.TRUCK_AXLES[word], self._counted_by_name(word, int(after[:3]))))
                return 3
            slots.put(self._truck_axle(words.TRUCK_AXLES[word], None, word.endswith("s")))
            return 1
        if word.isdigit():
            return self._take_number(group, position, slots)
        return 0

    def _take_number(self, group: list[str], position: int, slots: "_Slots") -> int:
        word = group[position]
        beside = {group[i] for i in (position - 1, position + 1) if 0 <= i < len(group)}
        axle_before = any(group[i] in words.TRAILER for i in range(position))
        if self.known.kind == "axle" and len(group) == 1:
            slots.put(str(int(word[:3])))
        elif re.search(rf"\br{word}\b", self.low) and not self._left_counted():
            raise _Ask(f"{self.clear!r}: right on axle {word}, or number {word} in the rear?", "words", "P5")
        elif beside & ({"l", "r"} | words.LEFT | words.RIGHT) and self._counts_axles(word):
            self.note(f"{word} taken as the axle's number, counted from the front")
            slots.put(str(int(word[:3])))
        elif axle_before:
            slots.put(str(int(word[:3])))
        else:
            raise _Ask(f"{self.clear!r}: what does {word} count?", "words", "P3")
        return 1

    def _left_counted(self) -> bool:
        """Whether the cell or the column has a left (L1) to such a number, and no front (F1)."""
        codes = {_bare(self.clear), *self.known.codes}
        return any(re.search(r"l[1-9]", code) for code in codes) and not any(re.search(r"f[1-9]", code) for code in codes)

    def _counts_axles(self, number: str) -> bool:
        """Whether a number beside a side counts axles: written together, or in a column of such codes, or the axles are known."""
        glued = re.search(rf"(?<!\d){number}[a-z]|[a-z]{number}(?!\d)", self.low)
        alike = [
            code
            for code in self.known.codes
            if re.fullmatch(r"[1-9](?:l|r|lh|rh|left|right)|(?:l|r|lh|rh|left|right)[1-9]", code)
        ]
        return bool(glued or self.known.axles or len(alike) > 1)

    def _counted_by_name(self, word: str, order: int) -> int:
        """``drive axle 2``: the second drive axle, unless the column counts its axles from the front (``drive axle 3`` of two)."""
        counted = {int(n) for code in self.known.codes for n in re.findall(rf"{word}ax(?:le)?(\d)", code)} | {order}
        own = self.known.axles.count(words.TRUCK_AXLES[word])
        others = any(re.search(r"steer(?:ing)?ax(?:le)?1", code) for code in self.known.codes) and 1 not in counted
        if max(counted) > own > 0 or others:
            raise _Ask(f"{self.clear!r}: an axle by its name and by its number", "words", "P9")
        return order

    def _truck_axle(self, name: str, order: int | None, every: bool = False) -> str:
        places = [i + 1 for i, axle in enumerate(self.known.axles) if axle == name]
        if not self.known.axles:
            if name == "steer" and order in (None, 1):
                self.doubts.append("steer axle taken as the front one; the vehicle's axles are not known")
                return "front"
            raise _Ask(f"{self.clear!r}: this vehicle's axles are not known", "axles", "P9")
        if not places:
            raise _Ask(f"{self.clear!r}: this vehicle has no {name} axle", "axles", "P9")
        if order is None:
            if len(places) > 1:
                raise _Ask(f"{self.clear!r}: which of the {len(places)} {name} axles?", "words", "P9")
            return str(places[0])
        if not (order == -1 or 1 <= order <= len(places)):
            raise _Ask(f"{self.clear!r}: this vehicle has {len(places)} {name} axles", "axles", "P9")
        if name == "steer" and len(places) == 1 and order != 1:
            raise _Ask(f"{self.clear!r}: this vehicle has one steer axle", "axles", "P9")
        chosen = places[-1] if order == -1 else places[order - 1]
        self.note(f"taken as axle {chosen} of {len(self.known.axles)}")
        return str(chosen)

    # -- letters that mean more than one thing

    def _lone_r(self, index, group, position, raw, seen) -> tuple[str | None, str | None]:
        """Rule P5 for R: rear or right."""
        known = self.known
        letters = [w for w in group if w.isalnum() and w not in words.POSITION_FILLER]
        if letters == ["r", "f"]:
            return None, "right"
        if "/" in raw and len(letters) == 2 and (set(letters) & words.LEFT or letters[0] in words.FRONT):
            raise _Ask(f"{self.clear!r}: R is rear or right?", "words", "P5")
        if letters == ["r"] and set(group) & {"axle", "axles"}:
            return "rear", None
        dotted = all(w.isalpha() or w == "." for w in raw) and "." in raw
        if (
            letters[-2:] == ["l", "r"]
            and letters[0] in words.FRONT | words.REAR | {"f"}
            or letters[:2] == ["l", "r"]
            and letters[-1] in words.FRONT | words.REAR | {"f"}
        ):
            return None, "right"
        if letters == ["r", "r"] and dotted and "fr" not in known.codes:
            return (None, "right") if position == 0 else ("rear", None)
        if letters in (["l", "r"], ["r", "l"], ["f", "r"], ["r", "r"]):
            if known.slashed and "/" in raw:
                return self._slashed(letters, position)
            if dotted and letters == ["l", "r"] and known.kind != "side":
                return "rear", None
            raise _Ask(f"{self.clear!r}: R is rear or right?", "words", "P5")
        if "side word" in seen and not seen & {"axle word", "f", "number"}:
            return "rear", None
        if seen & {"axle word", "number"} and not seen & {"side word", "left"}:
            return None, "right"
        if seen & {"left", "side word", "axle word", "f", "number", "wheel"} and letters != ["r"]:
            raise _Ask(f"{self.clear!r}: R is rear or right?", "words", "P5")
        return self._r_by_company(index, letters)

    def _slashed(self, letters: list[str], position: int) -> tuple[str | None, str | None]:
        rear, right = ("rear", None), (None, "right")
        if self.known.slashed == "side":
            meaning = {("l", "r"): rear, ("r", "r"): right if position == 0 else rear}.get(tuple(letters))
        else:
            meaning = {("r", "l"): rear, ("f", "r"): right, ("r", "r"): rear if position == 0 else right}.get(tuple(letters))
        if meaning is None:
            raise _Ask(f"{self.clear!r}: R is rear or right?", "words", "P5")
        return meaning

    def _r_by_company(self, index: int, letters: list[str]) -> tuple[str | None, str | None]:
        """R alone between commas: by the cell's other words, then the header, then the column."""
        if (
            self.known.axle not in (None, "rear")
            and letters == ["r"]
            and len(self.groups) == 1
            and not self.known.codes & ({"f"} | words.FRONT)
        ):
            return self._r_as("right", "by the header")
        others = [set(w for w in g if w.isalnum()) for i, g in enumerate(self.groups) if i != index]
        fronts = any(g & ({"f"} | words.FRONT) and not g & ({"l"} | words.LEFT) for g in others)
        lefts = any(g & ({"l"} | words.LEFT) for g in others)
        if fronts != lefts:
            return self._r_as("rear" if fronts else "right", "beside the rest of the cell", say=fronts)
        if others and (fronts or lefts):
            raise _Ask(f"{self.clear!r}: R is rear or right?", "words", "P5")
        fronts = bool(self.known.codes & ({"f"} | words.FRONT))
        lefts = bool(self.known.codes & ({"l"} | words.LEFT))
        if (self.known.kind == "side" and not fronts) or (self.known.kind == "axle" and not lefts):
            return self._r_as("right" if self.known.kind == "side" else "rear", "by the header")
        if self.known.kind in ("side", "axle"):
            raise _Ask(f"{self.clear!r}: R is rear or right? the header says one, the column the other", "words", "P5")
        if fronts != lefts:
            return self._r_as("rear" if fronts else "right", "by the column's other cells")
        raise _Ask(f"{self.clear!r}: R is rear or right?", "words", "P5")

    def _r_as(self, meaning: str, why: str, say: bool = True) -> tuple[str | None, str | None]:
        if say:
            self.note(f"R taken as {meaning} {why}")
        return ("rear", None) if meaning == "rear" else (None, "right")

    def _codes_around(self) -> set[str]:
        inside = {w for g in self.groups for w in g}
        column = {code[:2] if _CODE_PART.fullmatch(code) else code for code in self.known.codes}
        return (inside | column | self.known.named & {"lf", "rf", "lr", "fl", "rl"}) - {"fr", "rr"}

    def _one_wheels_face(self) -> bool:
        """Whether the cell names a face or one shoe of two, which a wheel has, and the column writes no axle beside it."""
        inside = {w for g in self.groups for w in g}
        axles = words.FRONT | words.REAR | {"f", "fr", "fri", "fro"}
        return bool(inside & _FACES_IN_WORDS) and not self.known.named & axles and self.known.kind != "axle"

    def _two_letters_unclear(self, word: str, seen: set[str]) -> bool:
        if seen & {"side word", "left"}:
            return False
        around = self._codes_around()
        if word == "rr":
            return not around & {"lf", "rf", "lr", "fl", "rl"}
        return not around & {"fl", "rl"} and not around & (words.REAR | {"ft"})

    def _two_letters(self, word: str, seen: set[str]) -> tuple[str | None, str | None]:
        """Rule P5 for FR (front right, or front) and RR (right rear, or rear)."""
        if seen & {"side word", "left"}:
            return ("front" if word == "fr" else "rear"), None
        if self._two_letters_unclear(word, seen):
            if word == "rr" and self._one_wheels_face():
                self.note("RR beside a face taken as right rear")
                return "rear", "right"
            raise _Ask(f"{self.clear!r}: a wheel, or {'front' if word == 'fr' else 'rear'} shortened?", "words", "P5")
        around = self._codes_around()
        if word == "rr":
            return "rear", "right"
        if around & {"fl", "rl"}:
            return "front", "right"
        self.note("FR taken as front: the column writes rear as a word")
        return "front", None

    def _in_or_out(self, letter: str) -> str:
        name = "inner" if letter == "i" else "outer"
        self.note(f"{letter.upper()} after the wheel taken as {name} pad")
        return f"{name}_pad"

    def _take_in_out(self, word: str, following: str, seen: set[str], slots: "_Slots") -> None:
        has_wheel = bool(slots.current.axle or slots.current.side or seen & {"wheel", "axle word", "side word", "left", "f"})
        before = bool(slots.current.axle or slots.current.side)
        first = word in ("in", "i", "o") and self.known.kind != "part"
        if not (before if first else has_wheel or self.known.kind == "part"):
            raise _Ask(f"{self.clear!r}: inner and outer, or something else?", "words", "P7")
        if len(word) == 1 and self.known.kind != "part":
            slots.put(part=self._in_or_out(word))
        else:
            slots.put(part="inner_pad" if word[0] == "i" else "outer_pad")

    # -- sides that need a country

    def _driver(self, who: str, named: bool) -> str | None:
        """Side of the driver or passenger; None where it is not known and the cell ``named`` the side anyhow."""
        side = self.known.driver if who == "driver" else opposite(self.known.driver)
        if side is None and named:
            return None
        if side is None:
            raise _Ask("on which side does the driver sit?", "driver_side", "P6")
        self.note(f"{who}'s side taken as {side}, the driver sitting on the {self.known.driver} {self.known.driver_from}")
        return side

    def _kerb(self, who: str) -> str:
        side = self.known.nearside if who == "nearside" else opposite(self.known.nearside)
        if side is None:
            raise _Ask("near side and off side: on which side does traffic keep?", "traffic_side", "P6")
        return side

    def _take_kerb(self, word: str, seen: set[str], slots: "_Slots") -> None:
        who = "nearside" if word in words.NEARSIDE else "offside"
        inside = {w for g in self.groups for w in g}
        has_axle = bool(seen & {"axle word", "f", "number"}) or "r" in inside
        has_axle = has_axle or self.known.nearside == "left" and bool(inside & {"fr", "rr"})
        if word == "os" and not has_axle:
            kind, codes = self.known.kind, self.known.codes
            if kind == "part" and codes & {"is", "i", "in", "inner", "inside"} and "ns" not in codes:
                self.note("OS taken as outer pad by the header and the column's other cells")
                slots.put(part="outer_pad")
                return
            if not (kind == "side" and ("ns" in codes or (self.known.nearside == "left" and "is" not in codes))):
                raise _Ask("OS: off side, or the outer pad?", "words", "P6")
            self.note("OS under a header of sides taken as off side")
        slots.put(None, self._kerb(who))


class _Slots:
    """Items filled word by word: a second, different axle, side or part opens the next item."""

    def __init__(self):
        self.items = [_Item()]

    @property
    def current(self) -> _Item:
        """The item being filled."""
        return self.items[-1]

    def put(self, axle: str | None = None, side: str | None = None, part: str | None = None) -> None:
        """Add what a word says; what contradicts the current item begins a new one."""
        now = self.current
        if part and now.part and {part, now.part} & {"park_brake"}:
            part = now.part = "park_brake"
        if (
            part == "pad"
            and now.part in ("inner_pad", "outer_pad")
            or part == "shoe"
            and now.part in ("leading_shoe", "trailing_shoe")
        ):
            part = None
        if (
            part in ("inner_pad", "outer_pad")
            and now.part == "pad"
            or part in ("leading_shoe", "trailing_shoe")
            and now.part == "shoe"
        ):
            now.part = None
        if (
            (axle and now.axle not in (None, axle))
            or (side and now.side not in (None, side))
            or (part and now.part not in (None, part))
        ):
            self.items.append(_Item())
            now = self.current
        now.axle, now.side, now.part = axle or now.axle, side or now.side, part or now.part
        now.coded = now.coded or bool(axle and side)


def _place(axle: str | None, side: str | None = None, part: str | None = None) -> dict:
    return {"axle": axle, "side": side, "part": part}


def _merged(items: list[_Item]) -> list[dict]:
    """Places in order, both sides of an axle and part as one place without a side."""
    sides: dict[tuple, set] = {}
    for item in items:
        sides.setdefault((item.axle, item.part), set()).add(item.side)
    return [
        _place(axle, None if None in found or len(found) == 2 else next(iter(found)), part)
        for (axle, part), found in sides.items()
    ]
