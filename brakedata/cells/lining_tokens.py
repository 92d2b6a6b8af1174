"""A thickness cell cut into quantities and words, each with the letter that stands for it in the cell's shape."""

import re
from dataclasses import dataclass, replace

from brakedata.cells import words
from brakedata.cells.reading import Reading
from brakedata.units import MM_PER_32ND, MM_PER_IN

MM = {"mm": 1.0, "in": MM_PER_IN, "in32": MM_PER_32ND, "cm": 10.0, "thou": MM_PER_IN / 1000, "um": 0.001}


@dataclass(frozen=True, slots=True)
class Known:
    """What the header, the column and the hints say about every cell of the column."""

    unit: str | None = None
    clash: str = ""  # why header and hints give no unit
    labels: tuple["Label", ...] = ()  # the positions the header names, in order
    axle: str | None = None
    side: str | None = None
    face: str | None = None
    unsettled: Reading | None = None  # what must be asked before the header's positions can be read
    percent: str | None = None  # what per cent in this column are: left, worn or unclear; None when nothing says so
    bare: str = ""  # what a number alone is: % for per cent, ? for per cent or a reading, else a reading
    comma: str | None = None  # what makes a comma a decimal mark; None when nothing does
    new_mm: float | None = None
    numbers: "Numbers | None" = None  # the column's numbers that are bare or in mm
    only_zeros: bool = False
    shares: bool = False  # other cells hold a bare number below 1
    pairs: bool = False  # other cells hold two readings that are no fraction of an inch
    other_unit: bool = False  # most cells are written with a unit that is not the header's
    driver: str | None = None
    nearside: str | None = None
    codes: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Numbers:
    """The column's distinct numbers above 0 that are bare or in mm, as far as the rules need them."""

    lowest: tuple[float, ...]  # the two smallest
    highest: tuple[float, ...]  # the two largest
    count: int

    @classmethod
    def of(cls, numbers: set[float]) -> "Numbers":
        """From all the numbers."""
        ordered = sorted(numbers - {0.0})
        return cls(tuple(ordered[:2]), tuple(ordered[-2:]), len(ordered))

    def beside(self, number: float) -> tuple[int, float, float]:
        """How many others there are than ``number``, and the smallest and largest of them."""
        low = next((n for n in self.lowest if n != number), 0.0)
        high = next((n for n in reversed(self.highest) if n != number), 0.0)
        return self.count - 1, low, high


@dataclass(frozen=True, slots=True)
class Label:
    """What a reading is of."""

    axle: str | None = None
    side: str | None = None
    face: str | None = None  # inner, outer
    part: str | None = None


@dataclass(frozen=True, slots=True)
class Token:
    """A quantity or a word; ``kind`` is its letter in the shape."""

    kind: str
    text: str = ""
    number: float = 0.0
    unit: str | None = None
    comma: bool = False
    guess: str = ""


class Stop(Exception):
    """A reading found on the way: nothing more to look at."""

    def __init__(self, reading: Reading):
        super().__init__(reading.assumed)
        self.reading = reading


_CUT = re.compile(r"(?P<num>\d+(?:[.,]\d+)+|[.,]\d+|\d+\.?)|(?P<word>[^\W\d_]+(?:'[a-z]+)?)|(?P<sign>[^\s\w]|_|\n)")
_WHEEL_SIDE = r"(?P<s>lft|lt|lh|right|rgt|rt|rh)"
_WHEEL_AXLE = r"(?P<a>front|frt|frnt|ft|fr|f|rear|rr|re|back|r)"
_WHEELS_IN_WORDS = (
    re.compile(rf"\b{_WHEEL_SIDE}[ ./_-]*{_WHEEL_AXLE}(?![a-z])"),
    re.compile(r"\b(?P<s>left)[ ./_-]*(?P<a>front|frt|frnt|ft|fr|rear|rr|re|back)(?![a-z])"),
    re.compile(r"\b(?P<a>front|frt|frnt|ft|rear|rr|back)[ ./_-]*(?P<s>left|lft|lt|lh|right|rgt|rt|rh)\b"),
)
_PARTS_OF_AN_INCH = {"half": 2, "quarter": 4, "eighth": 8, "sixteenth": 16}


def _fraction_in_words(found: re.Match) -> str:
    """``three eighths of an inch`` as ``3/8"``; a word before it that is no number stays."""
    count = found["count"] or "a"
    number = count if count.isdigit() else words.NUMBER_WORDS.get(count)
    before = "" if number or count in ("a", "an") else count + " "
    return f'{before}{number or 1}/{_PARTS_OF_AN_INCH[found["part"]]}"'


_PHRASES = [
    (re.compile(r"^=> ?(?=\d)|^→ ?(?=\d+(?:\.\d)? ?(?:mm)?$)"), " ≥ "),
    (re.compile(r"\b(?:a bit|a little|slightly|just|little) (?=(?:over|under|above|below|more|less)\b)"), ""),
    (re.compile(r"(?<=[\dm])[ ,]*(?:or so|give or take|about|approx\.?|-ish)$|^looks (?:like|about) (?=\d)"), " ~ "),
    (re.compile(r"(\d)[- ]?ish mm\b"), r"\1 mm ~ "),
    (re.compile(r"(?<=\d) (?:plus|\+) mm$"), " mm ormore "),
    (re.compile(r"\bnew set\b"), "new"),
    (re.compile(r"\b(?:replaced|changed|renewed|fitted) (?:today|now)$"), "replaced"),
    (re.compile(r"\b(?:replaced|changed|renewed|went) from (\d[\d.,/]* ?(?:mm|\")?) ?to (?=\d)"), r"\1 → "),
    (re.compile(r"\b(replaced|changed|renewed)( \d[\d.,/]* ?(?:mm|\")?)? ?\b(?:w/|with) ?(?=\d)"), r"\1\2 → "),
    (re.compile(r"(?<=\d)-(?=inch(?:es)?\b)"), " "),
    (re.compile(r"\bapp\.? ?(?=\d)"), " ~ "),
    (re.compile(r"^(\d[\d.,]*) ?(?:mm)? before,? (\d[\d.,]*) ?(?:mm)? after$"), r"before \1 mm after \2 mm"),
    (re.compile(r"\b(?P<count>\d|[a-z]+) and a half(?= mm\b)"), lambda m: f"{words.NUMBER_WORDS.get(m['count'], m['count'])}.5"),
    (re.compile(r"\b(\d)-(?=1/[24] mm\b|3/4 mm\b)"), r"\1 "),
    (re.compile(r"(?<=\d)·(?=\d)"), "."),
    (re.compile(r"(?<=/32)s\b"), ""),
    (re.compile(r"(?:\bor|\band|&) ?(?:less|under|below|thinner|lower|smaller)\b"), " orless "),
    (re.compile(r"\b(?:no|not|never) (?:less|thinner|lower|smaller) than\b"), " > "),
    (re.compile(r"\b(?:less|fewer|smaller|thinner|lower|no more|not more|not over) than\b|\b(?:not over|at most|up to)\b"), " < "),
    (re.compile(r"\b(?:moins de|menos de|weniger als)\b"), " < "),
    (re.compile(r"\b(?:or|and|&) ?(?:more|better|over|above|thicker|up|greater|higher)\b|(?<=[\dm]) plus$"), " ormore "),
    (re.compile(r"\b(?:more|greater|better|thicker|higher) than\b|\b(?:at least|not under)\b"), " > "),
    (re.compile(r"\b(?:plus de|mas de|mehr als)\b"), " > "),
    (re.compile(r"\+ ?/ ?-|\bplus or minus\b"), " ± "),
    (re.compile(r"<=|=<"), " ≤ "),
    (re.compile(r">=|=>"), " ≥ "),
    (re.compile(r"(?<=\d)[- ]?ish\b"), " ~ "),
    (re.compile(r"(?<=[\d\"m])( ?mm| ?in| ?/ ?32(?:nds)?)? ?\+( ?mm| ?in)?$"), r"\1\2 ormore "),
    (re.compile(r"\bbetween ([\d./]+ ?(?:mm)?) (?:and|&) (?=\d)"), r"\1 - "),
    (re.compile(r"\bfrom ([\d./]+ ?(?:mm)?) (?=to \d)"), r"\1 "),
    (re.compile(r"\bbrand new\b"), "new"),
    (re.compile(r"\b[1-8] ?(?:pads?|shoes?|wheels?|linings?) ?(?:at|@|=)"), " countof "),
    (re.compile(r"(?<=[\dm\"]) (?:wear|verschleiss|abnutzung|usure|desgaste)$|^(?:wear|verschleiss|usure|desgaste):? ?(?=\d)"), " worn "),
    (re.compile(
        r"\b(?:no|not|without|w/o|excl\w*\.?|less|minus|ohne|sans|sin)(?: the)? (?:back(?:ing)? ?)?(?:plates?|backing)\b"),
     " withoutplate "),
    (re.compile(r"\b(?:pad|lining|friction|material)s? (?:material )?only\b"), " withoutplate "),
    (re.compile(
        r"(?:\b(?:w/|w|with|in[ck]l\w*\.?|inc\.?|plus|and|on|mit|avec|con)|\+)\.? ?(?:the )?(?:steel |metal |back(?:ing)? ?)?"
        r"(?:plates?|backing|bp|trager(?:platte)?|support|drager)\b|\b(?:overall|total|mit tragerplatte)\b"), " withplate "),
    (re.compile(r"\b(?:over|above|from|to|off)(?: the)? rivets?(?: heads?)?\b"), " overrivets "),
    (re.compile(r"(?<=\d)-(?=(?:16|32|64) ?(?:nds|nd|ths|th)\b)"), "/"),
    (re.compile(r"(?<=\d)\s*/\s*(\d+)\s*(?:nds|nd|ths|th)\b"), r"/\1"),
    (re.compile(r"(?<=\d) ?(16|32|64) ?(?:nds|nd|ths|th)\b"), r"/\1"),
    (re.compile(r"\bthirty[- ]?seconds?\b"), "/32"),
    (re.compile(
        r"(?:\b(?P<count>an?|[a-z]+|\d{1,2})[ -])?\b(?P<part>half|quarter|eighth|sixteenth)s?(?: an| of an)?[ -]inch\b"),
     _fraction_in_words),
    (re.compile(r"\bft[ ./-]*lbs?\b"), "ftlb"),
    (re.compile(r" of an inch\b"), '"'),
    (re.compile(r"(?<=\d) ?\( ?(?:1/)?32 ?(?:nds?)?(?: in)? ?\)"), "/32"),
    (re.compile(r"\bm m\b|\bm\.m\b\.?"), "mm"),
    (re.compile(r"\bw/ ?(?=[a-z])"), " "),
    (re.compile(r"\blh\b"), "l"), (re.compile(r"\brh\b"), "r"),
]  # fmt: skip
HOW_FAR_OR_WHEN = re.compile(
    r"(?:\s*[,;(]?\s*(?:@|\bat\b|\bon\b)\s*|(?<=mm)[ ,;(]+(?=\d{1,4}[-/.]\d{1,2}[-/.]\d{2,4}\)?$))"
    r"(?:\d{1,3}(?:[.,]\d)?\s*k\b|\d{1,3}[, ]?\d{3}\b|\d{4,7}\b|\d{1,4}[-/.]\d{1,2}[-/.]\d{2,4})"
    r"\s*(?:km|kms|mi|miles|mls|k)?\s*\)?$"
)


def simplified(low: str) -> str:
    """Phrases as one word each, wheels in words as LF, RF, LR, RR."""
    has_front_code = re.search(r"\b[lr] ?[/.-] ?f\b", low)
    low = re.sub(r"\b([lr]) ?[/.-] ?f\b\.?", r"\1f ", low)
    if has_front_code:
        low = re.sub(r"\b([lr]) ?[/.-] ?r\b\.?", r"\1r ", low)
    low = re.sub(r"\b([no])[ /.]?s[ /.]?([fr])(?=\b|\d)", r"\1s\2", low)
    low = re.sub(r"\b([no])[/.]s\b\.?", r"\1s", low)
    low = re.sub(r"\b([io])[/.]b\b\.?", r"\1b", low)
    low = re.sub(r"\b(near|off) ?side\b", r"\1side", low)
    for pattern in _WHEELS_IN_WORDS:
        low = pattern.sub(lambda m: f" {m['s'][0]}{'r' if m['a'][0] in 'rb' else 'f'} ", low)
    for pattern, plain in _PHRASES:
        low = pattern.sub(plain, low)
    return low


_KINDS: dict[str, str] = {}
for _kind, _those in (
    ("~", words.ABOUT), ("<", words.UNDER), (">", words.OVER), ("-", words.RANGE), ("l", words.LEFT_OVER), ("w", words.USED_UP),
    ("n", words.REPLACED), ("b", words.BEFORE), ("a", words.AFTER), ("x", words.CONDITION), ("&", words.AND),
    ("z", words.OTHER_PURPOSE), ("v", words.ADVICE),
    ("", words.THICKNESS_FILLER),
):  # fmt: skip
    for _word in _those:
        _KINDS.setdefault(_word, _kind)
for _kind, _signs in (
    ("X", "x countof"), ("B", "both each all ea"), ("≤", "orless"), ("≥", "ormore"), ("P", "withplate"),
    ("V", "overrivets"), ("→", "→"),
    ("/", "/ \\"), (",", ", ; |"), ("(", "( ["), (")", ") ]"), ("@", "@"), ("±", "±"),
    ("?", "? *"), ("", ": = _ . ! ' withoutplate"),
):  # fmt: skip
    _KINDS |= dict.fromkeys(_signs.split(), _kind)
_KINDS["\n"] = ","

KEY_WORDS: dict[str, Label] = {
    **dict.fromkeys(words.FRONT, Label(axle="front")),
    **dict.fromkeys(words.REAR, Label(axle="rear")),
    **dict.fromkeys(words.LEFT - {"ls"}, Label(side="left")),
    **dict.fromkeys(words.RIGHT - {"rs"}, Label(side="right")),
    **dict.fromkeys(words.INNER, Label(face="inner")),
    **dict.fromkeys(words.OUTER, Label(face="outer")),
    "f": Label(axle="front"), "l": Label(side="left"), "i": Label(face="inner"), "o": Label(face="outer"),
    "out": Label(face="outer"), "otr": Label(face="outer"),
    "lf": Label("front", "left"), "fl": Label("front", "left"), "rf": Label("front", "right"), "lr": Label("rear", "left"),
    "rl": Label("rear", "left"), "lhf": Label("front", "left"), "rhf": Label("front", "right"), "lhr": Label("rear", "left"),
    "rhr": Label("rear", "right"),
    "rotor": Label(part="rotor"), "rotors": Label(part="rotor"), "disc": Label(part="rotor"), "discs": Label(part="rotor"),
    "drum": Label(part="drum"), "drums": Label(part="drum"), "shoe": Label(part="shoe"), "shoes": Label(part="shoe"),
}  # fmt: skip
DRIVER_KEYS = {
    **dict.fromkeys(words.DRIVER | {"d"}, ("driver", None)),
    **dict.fromkeys(words.PASSENGER | {"p"}, ("passenger", None)),
    "df": ("driver", "front"), "dsf": ("driver", "front"), "dr": ("driver", "rear"), "dsr": ("driver", "rear"),
    "pf": ("passenger", "front"), "psf": ("passenger", "front"), "pr": ("passenger", "rear"), "psr": ("passenger", "rear"),
}  # fmt: skip
KERB_KEYS = {
    **dict.fromkeys(("ns", "nearside"), ("near", None)), "nsf": ("near", "front"), "nsr": ("near", "rear"),
    **dict.fromkeys(("os", "offside"), ("off", None)), "osf": ("off", "front"), "osr": ("off", "rear"),
}  # fmt: skip


def _is_key(word: str, names: set[str], known: Known) -> bool:
    if word in ("pad", "pads", "lining"):
        return bool(names & {"rotor", "rotors", "disc", "discs", "drum", "drums", "shoe", "shoes"})
    if word == "left":
        return bool(names & (words.RIGHT | {"r"})) or (bool(names) and "left first" in names)
    if word == "in":
        return bool(names & {"out", "outer"})
    if word == "otr":
        return bool(names & words.INNER)
    if word == "e":  # left beside D, else and
        return "d" in names and word in dict(known.codes)
    settled_later = word in ("r", "fr", "rr") or word in DRIVER_KEYS or word in KERB_KEYS
    return word in KEY_WORDS or settled_later or word in dict(known.codes)


def tokens_of(low: str, known: Known) -> list[Token]:
    """Quantities and words of a folded text, in order."""
    cut = [(m.lastgroup, m[0], m.start(), m.end()) for m in _CUT.finditer(low)]
    names = {word for kind, word, *_ in cut if kind == "word"}
    first = next((i for i, (kind, *_) in enumerate(cut) if kind == "num"), 0)
    if any(word == "left" for _, word, *_ in cut[:first]) and "%" not in low and "percent" not in names:
        names.add("left first")
    out: list[Token] = []
    i = 0
    while i < len(cut):
        kind, word, start, _ = cut[i]
        if kind == "num":
            token, i = _quantity(cut, i, low, names, known)
            out += token
            continue
        i += 1
        if kind == "word" and word in words.NUMBER_WORDS and word != "zero":
            unit = words.THICKNESS_UNITS.get(cut[i][1]) if i < len(cut) else None
            i += unit is not None
            out.append(Token("#", word, words.NUMBER_WORDS[word], unit, guess="a number written as a word"))
        elif kind == "word" and _is_key(word, names, known):
            out.append(Token("K", word))
        elif word in ("mm", '"') and i < len(cut) and cut[i][0] == "num":
            tokens, i = _quantity(cut, i, low, names, known)
            out += [
                replace(tok, unit=words.THICKNESS_UNITS[word]) if tok.kind == "#" and tok.unit is None else tok for tok in tokens
            ]
        else:
            out.append(Token(_KINDS.get(word, "u") or ".", word))
    return out


def _number(word: str) -> tuple[list[float], bool]:
    """Numbers in a run of digits, points and commas; and whether a comma stood for the decimal mark."""
    parts = re.split(r"[.,]", word.rstrip("."))
    if len(parts) <= 2:
        return [float(word.rstrip(".").replace(",", "."))], "," in word
    if all(len(p) <= 2 for p in parts) and len(set(re.findall(r"[.,]", word))) == 1:
        return [float(p) for p in parts], False
    return [], False


def _quantity(cut, i, low, names, known) -> tuple[list[Token], int]:
    """The quantity starting at ``cut[i]`` (number, fraction, mixed number, with its unit) and the place after it."""
    word = cut[i][1]
    numbers, comma = _number(word)
    if len(numbers) != 1:
        points = "." in word
        out = []
        for n in numbers:
            out += [Token("#", word, n, guess="points between readings" if points else ""), Token(",")]
        after = i + 1
        unit = words.THICKNESS_UNITS.get(cut[after][1]) if after < len(cut) else None
        if unit in MM:
            out = [replace(tok, unit=unit) if tok.kind == "#" else tok for tok in out]
            after += 1
        return (out[:-1], after) if out else ([Token("u", word)], after)
    number, after, unit, guess, text = numbers[0], i + 1, None, "", word

    def at(k: int) -> str:
        return cut[i + k][1] if i + k < len(cut) else ""

    whole_gap = i + 1 < len(cut) and cut[i + 1][0] == "num" and low[cut[i][3] : cut[i + 1][2]].isspace()
    if whole_gap and at(2) == "/" and at(3) in ("2", "4", "8") and "." not in word and int(at(1)) < int(at(3)):
        # mixed number: 5 1/2, and 7 1/2/32
        number, after, guess = number + int(at(1)) / int(at(3)), i + 4, "a mixed number"
        if at(4) == "/" and at(5) == "32":
            number, after, unit, guess = number, i + 6, "in32", ""
        return _with_unit(cut, after, Token("#", text, number, unit, comma, guess), names)
    if at(1) == "/" and cut[i + 2][0] == "num" if i + 2 < len(cut) else False:
        below = at(2).rstrip(".")
        inch = _inch_after(cut, i + 3, names)
        if below == "32" and number <= 32:
            return _with_unit(cut, i + 3, Token("#", f"{word}/32", number, "in32", guess="pair?" if comma else ""), names)
        if below in ("16", "64") and number < int(below):
            number_in = number / int(below)
            pair = below == "16" and number >= 10 and not inch and known.unit != "in"
            guess = "" if inch or known.unit == "in" else f"{word}/{below} taken as inches"
            guess = "against the header" if guess and known.unit == "mm" else guess
            if pair:
                guess = "pair?"
            return _with_unit(cut, i + 3, Token("#", f"{word}/{below}", number_in, "in", guess=guess), names)
        if below in ("2", "4", "8") and number < int(below) and (inch or known.unit == "in") and at(3) != "/":
            return _with_unit(cut, i + 3, Token("#", f"{word}/{below}", number / int(below), "in"), names)
    return _with_unit(cut, after, Token("#", text, number, unit, comma, guess), names)


def _inch_after(cut, k, names) -> bool:
    if k >= len(cut) or words.THICKNESS_UNITS.get(cut[k][1]) != "in":
        return False
    return not (cut[k][1] == "in" and names & {"out", "outer"})


def _with_unit(cut, after, token: Token, names) -> tuple[list[Token], int]:
    if after < len(cut):
        word = cut[after][1]
        unit = words.THICKNESS_UNITS.get(word)
        if word == "in" and names & {"out", "outer"}:
            unit = None
        if unit == "fraction":
            return [replace(token, unit=token.unit or "fraction")], after + 1
        if unit == "%":
            return [replace(token, kind="%", unit="%")], after + 1
        if word in words.OTHER_QUANTITIES and not (word == "hr" and names & {"hl", "vl", "vr"}):
            return [replace(token, unit="other")], after + 1
        if unit == "distance":
            further = after + 1
            if further < len(cut) and words.THICKNESS_UNITS.get(cut[further][1]) == "distance":
                further += 1
            return [replace(token, kind="d")], further
        if unit:
            if token.unit in ("in", "in32"):
                unit = token.unit if unit == "in" else "clash"
            return [replace(token, unit=unit)], after + 1
    return [token], after
