"""How far the vehicle has run: ``84,512 mi``, ``84.5k``, ``84512/3120``, ``8.4512E+04``, ``12 (new cluster @84500)``.

Rules
-----
O1 no unit: ask. O2 marks between thousands and before decimals. O3 thousands (k, tkm). O4 scientific notation. O5 about,
bounds, intervals. O6 placeholders and numbers typed to get past a required field. O7 dates and other numbers that are no
odometer. O8 two numbers in a cell (in and out, two units, engine hours). O9 another meter: flag. O10 a new cluster. O11 a
reading its writer doubted: flag. O12 stray signs: flag. O13 letters for digits: flag. O14 number words. O15 advice: ask.
Against the vehicle's own readings: O16 goes back, O17 rolled over, O18 too far, O19 the same as before.
"""

import re
from dataclasses import dataclass, replace

from brakedata.cells import text as t
from brakedata.cells import words
from brakedata.cells.odometer_history import against_history
from brakedata.cells.reading import FLAG, OK_ASSUMED, Reading, ask, assumed, flag, lower_to, ok, refuse
from brakedata.units import DISTANCE_KM, KM_PER_MI

FARTHEST_KM = 3_000_000
"""More than any brake record shows; the largest seen in a public fleet file is 1,110,000."""
MOST_SHOWN = 1_000_000
"""An odometer of six digits shows less (common practice, no source)."""
SLOWEST, FASTEST = 8, 60
"""Miles or km run in an engine hour, over a vehicle's life (common practice, no source)."""
ROAD_TEST = 30
"""Miles or km between in and out that a shop drives (common practice, no source)."""
SMALL = 300
"""A bare number below this may be thousands."""


@dataclass(frozen=True, slots=True)
class _Known:
    """What the header, the column and the hints say about every cell of the column."""

    unit: str | None = None
    unit_by: str = ""  # the header's word by which km is taken, where it says no unit
    clash: str = ""
    mark: str | None = None
    long_numbers: bool = False  # the column's bare numbers have five or six digits
    with_history: bool = False
    thousand_mil: bool = False
    header_doubt: str = ""  # why the header is not one of the vehicle's own odometer
    no_odometer: bool = False  # the header names no meter at all: a trip, a plan, a speed


@dataclass(frozen=True, slots=True)
class _Token:
    """A number or a word; ``kind`` is its letter in the shape."""

    kind: str
    text: str = ""
    number: float = 0.0
    unit: str | None = None
    thousand: bool = False
    note: str = ""
    doubt: str = ""


class _Stop(Exception):
    def __init__(self, reading: Reading):
        super().__init__(reading.assumed)
        self.reading = reading


def read_column(texts: list[str], header: str, hints: dict) -> list[Reading]:
    """Read a column of odometers, in km rounded to 0.1.

    Parameters
    ----------
    texts : list of str, shape (cells,)
    header : str
    hints : dict
        ``unit``, ``country``, ``decimal``, ``delimiter``, ``cell_type``, ``words``, ``previous``, ``dates``, ``odometer_digits``.

    Returns
    -------
    list of Reading, shape (cells,)
    """
    known = _known(texts, header, hints)
    meanings = t.shop_words(hints)
    plain = _plain_reader(known) if not meanings else None

    def rule(text: str) -> Reading:
        quick = plain and plain(text)
        return quick or t.read_one(text, meanings, lambda clear: read_clear(clear, known))

    readings = t.each_once(texts, rule)
    if known.header_doubt:
        readings = [_under_header(reading, known) for reading in readings]
    return against_history(readings, hints) if known.with_history else readings


def _under_header(reading: Reading, known: _Known) -> Reading:
    """The reading, or what is left of it where the header names another number or another meter."""
    if reading.value is None:
        return reading
    if known.no_odometer:
        return flag(None, None, f"{known.header_doubt}; not taken", "O7")
    return lower_to(replace(reading, rule="O9"), FLAG, known.header_doubt, "O9")


_ORDINARY = re.compile(r"[1-9]\d{3,5}|[1-9]\d{0,2},\d{3}")
_TYPED_THROUGH = "01234567890 9876543210"


def _plain_reader(known: _Known):
    """The quick way for ordinary whole numbers; it gives None for every other text."""
    if known.unit not in DISTANCE_KM or known.unit_by:
        return None
    factor, unit = DISTANCE_KM[known.unit], known.unit
    comma = "comma taken as the thousands mark" if known.mark != "," else None

    def plain(text: str) -> Reading | None:
        if not _ORDINARY.fullmatch(text):
            return None
        digits = text.replace(",", "")
        if len(digits) > 4 and (digits.count(digits[0]) == len(digits) or digits in _TYPED_THROUGH):
            return None
        value = round(int(digits) * factor, 1)
        if len(digits) == len(text):
            return ok(value, unit, "O1")
        return comma and assumed(value, unit, comma, "O1")

    return plain


def read_clear(clear: str, known: _Known) -> Reading:
    """Read one tidy, non-empty text."""
    mended = t.letters_to_digits(clear)
    if mended:
        second = _try(mended, known)
        if second.value is not None:
            return lower_to(second, FLAG, f"{clear!r} read as {mended!r}: letters for digits", "O13")
    return _try(clear, known)


def _try(clear: str, known: _Known) -> Reading:
    try:
        return _read(clear, known)
    except _Stop as stop:
        return stop.reading


# --- what header, column and hints say --------------------------------------------------------------------------------

_HEADER_UNITS = {
    **dict.fromkeys(("km", "kms", "kilometer", "kilometers", "kilometre", "kilometres", "kilometerstand", "kilometrage",
                     "kilometraje",                      "quilometragem", "kilometros", "klm", "chilometri"), "km"),
    **dict.fromkeys(("mi", "mile", "miles", "mls"), "mi"),
    **dict.fromkeys(("hours", "hrs", "hour", "hr", "stunden", "heures", "horas"), "h"),
}  # fmt: skip


_COUNTS_KM = frozenset(
    "laufleistung tachostand compteur cuentakilometros percorrenza chilometraggio contachilometri quilometros tellerstand przebieg "
    "licznik licznika".split()
)
"""Words for an odometer in languages whose countries count km: no unit, and taken for it where nothing else says one."""
_HEADER_THOUSANDS = re.compile(
    r"[x*/] ?10+\b|\b1[ .,]?000s?\b|(?<![\d.,])000s?\b|\b(?:thou|thousands?|hundreds?|tkm|tsd|tenths?)\b|"
    r"\bk (?:km|mi)|\b(?:kms?|mi(?:les)?)[ (,/]+k\b"
)
_HEADER_NO_ODOMETER = re.compile(
    r"\bprev(?:ious)?\b|\blast (?!odo|read|km|mi|known)|\bannual\b|\byearly\b|/ ?year\b|\bwarranty\b|\blimit\b|\btarget\b|\bpredicted\b|"
    r"\btrip\b|\bsince\b|\bremaining\b|\bto go\b|\bnext\b|\bdue\b|\binterval\b|\bdaily\b|\bper\b|\bkm ?/ ?(?:h|l|day)\b|\bkmh\b|\bmph\b|\bmpg\b|"
    r"^(?!.*\btotal\b).*\b(?:driven|travell?ed)\b"
)


def _known(texts: list[str], header: str, hints: dict) -> _Known:
    names = re.findall(r"[a-z]+", t.fold(t.tidy(header)[: t.LONGEST_CELL]))
    found = {_HEADER_UNITS[n] for n in names if n in _HEADER_UNITS}
    if re.search(r"(?<=[a-z])Km\b|(?<=[a-z])KM\b", header):
        found.add("km")
    hint = hints.get("unit") if hints.get("unit") in ("km", "mi", "h") else None
    unit, clash = (next(iter(found)) if len(found) == 1 else None), ""
    if len(found) > 1:
        hint, clash = None, "the header names two units"
    elif _HEADER_THOUSANDS.search(t.fold(header)) or "mil" in names and hints.get("country") in ("SE", "NO"):
        unit, hint, clash = None, None, "the header speaks of thousands or tens"
    elif unit and hint and unit != hint:
        unit, hint, clash = None, None, f"the header says {unit}, the answer given before says {hint}"
    long = 0
    for text in dict.fromkeys(texts):
        if len(text) < 12 and re.fullmatch(r"\s*\d{5,6}(?:\.0+)?\s*", text):
            long += 1
            if long > 1:
                break
    country = str(hints.get("country") or "").upper()
    no_odometer = _HEADER_NO_ODOMETER.search(t.fold(header))
    other_meter = set(names) & words.OTHER_METER - {"engine"}
    doubt = f"the header speaks of {no_odometer[0].strip()!r}, not of an odometer" if no_odometer else ""
    if other_meter and not no_odometer:
        doubt = f"{min(other_meter)!r} in the header: another meter or vehicle than the dash, its own series"
    counts_km = next((name for name in names if name in _COUNTS_KM), "") if not (unit or hint or clash) else ""
    return _Known(
        unit=unit or hint or ("km" if counts_km else None),
        unit_by=counts_km,
        clash=clash,
        mark=t.decimal_mark(hints),
        long_numbers=long > 1,
        with_history=bool(hints.get("previous")),
        header_doubt=doubt,
        no_odometer=bool(no_odometer),
        thousand_mil=country in ("ES", "MX", "AR", "CL", "CO", "PE", "UY", "PT", "BR"),
    )


# --- cutting a cell into tokens ---------------------------------------------------------------------------------------

_CUT = re.compile(
    r"(?P<num>\d+(?:[.,]\d+)?e\+?\d{1,2}(?![\da-z])"
    r"|\d{1,3}(?P<sep>[,.' _])\d{3}(?:(?P=sep)\d{3})*(?:[.,]\d{1,2})?(?![\d])(?![.,]\d)"
    r"|\d+(?:[.,]\d+)*|[.,]\d+)"
    r"|(?P<word>[^\W\d_]+(?:'[a-z]+)?)|(?P<sign>[^\s\w]|_|\n)"
)
_DATE = re.compile(
    r"\b(?:(?:19|20)\d\d[-/.]\d{1,2}[-/.]\d{1,2}(?:[t ]\d{1,2}:\d{2}(?::\d{2})?(?:\.\d+)?z?)?"
    r"|\d{1,2}([-/.])\d{1,2}\1(?:\d{4}|\d{2})"
    r"(?: \d{1,2}:\d{2}(?::\d{2})?(?: ?[ap]m)?)?)(?![\d.,])"
)
_CLOCK = re.compile(r"(?<=\d )(?:at |@ ?)?(?<![\d:.])(?:[01]?\d|2[0-3]):[0-5]\d(?::[0-5]\d)?(?: ?[ap]m)?$")
_TRIP = re.compile(
    r"[(\[,;/]* ?\btrip(?: ?(?:meter|odo|counter))?(?: ?[ab12](?= ?[:=]? ?\d))? ?[:=]? ?\d{1,4}(?:[.,]\d)?(?![\d.,])(?: ?(?:km|mi)\w*)?[)\]]?"
)
_BESIDE = re.compile(
    r"[(\[,;/-]* ?\b(?:(?P<less>last|prev(?:ious)?)|(?:ro|wo|inv|invoice|job|ticket))\b"
    r"(?: (?:service|serv|svc|visit|time))* ?(?:[.:#@=]|no\b|at\b)* ?(?P<num>\d+(?:,\d{3})*)(?P<k> ?k\b)?(?: ?(?:kms?|mi|miles)\b)?[)\]]?"
)
_ONE_NUMBER = re.compile(r"\d+(?:,\d{3})*(?:\.\d)?( ?k)?(?![\d.,])")
_PHRASES = [
    (re.compile(r"\b(?:or|and|&) ?(?:less|under|below)\b"), " orless "),
    (re.compile(r"\b(?:no|not) (?:less|fewer|under) than\b"), " > "),
    (re.compile(r"\b(?:less|fewer|no more|not more) than\b|\b(?:at most|up to|not over)\b"), " < "),
    (re.compile(r"\b(?:or|and|&) ?(?:more|over|above|up)\b|(?<=[\dki]) plus$"), " ormore "),
    (re.compile(r"\b(?:more|greater) than\b|\b(?:at least|in excess of|upwards of)\b"), " > "),
    (re.compile(r"<=|=<|≤"), " < "),
    (re.compile(r">=|=>|≥"), " > "),
    (re.compile(r"(?<=[\dk])[- ]?ish\b|\bor so\b|\bplus or minus\b|\+/-|±"), " ~ "),
    (re.compile(r"(?<=[\dkmi])( ?km| ?mi(?:les)?)? ?\+( ?km| ?mi(?:les)?)?$"), r"\1\2 ormore "),
    (re.compile(r"\bbetween (.{1,20}?) (?:and|&) (?=\d)"), r"\1 - "),
    (re.compile(r"\bfrom (\d[\d,. ]*k?) to (?=\d)"), r"\1 - "),
    (re.compile(r"(?<=\d) ?tkm\b"), " k km"),
    (re.compile(r"\b(?:hub)[ -]?(?:odo|meter|o)\w*\b"), "hub"),
    (re.compile(r"\bk ?- ?(?=mi|km)"), "k "),
]  # fmt: skip
_KINDS: dict[str, str] = {}
for _kind, _those in (
    ("~", words.ABOUT), ("<", words.UNDER), (">", words.OVER), ("m", words.OTHER_METER), ("D", words.DOUBTED),
    ("c", words.CLUSTER),
    ("x", words.EXCHANGED), ("i", words.FIRST_OF_VISIT), ("o", words.LAST_OF_VISIT),
    ("b", words.STOOD_BEFORE), ("a", words.STANDS_NOW),
    ("z", words.PLANNED | words.NOT_THE_ODOMETER),
    ("", words.ODOMETER_FILLER),
):  # fmt: skip
    for _word in _those:
        _KINDS.setdefault(_word, _kind)
for _kind, _signs in (
    ("≤", "orless"), ("≥", "ormore"), ("-", "- to thru bis"), ("/", "/ \\ |"), (",", ", ; and &"), ("e", "or oder ou"), ("(", "( ["), (")", ") ]"),
    ("@", "@ at"),
    ("!", "% $ £ € #"), ("?", "* ?"), ("", ": = . ' \""),
):  # fmt: skip
    _KINDS |= dict.fromkeys(_signs.split(), _kind)
_KINDS["\n"] = ","


def _tokens(low: str, known: _Known) -> list[_Token]:
    cut = [(m.lastgroup if m.lastgroup != "sep" else "num", m[0]) for m in _CUT.finditer(low)]
    cut = [
        ("num" if word[0].isdigit() or (len(word) > 1 and word[0] in ".," and word[1].isdigit()) else kind, word)
        for kind, word in cut
    ]
    out: list[_Token] = []
    i = 0
    while i < len(cut):
        kind, word = cut[i]
        i += 1
        if kind == "num":
            token = _Token("#", word)
            while i < len(cut) and cut[i][0] == "word":
                follows = cut[i][1]
                thousand = follows in ("k", "thou", "thousand", "thousands", "tsd", "tausend") or (
                    follows == "mil" and known.thousand_mil
                )
                if thousand and not token.thousand:
                    token = replace(token, thousand=True)
                elif follows in words.DISTANCE_UNITS and token.unit is None:
                    token = replace(token, unit=words.DISTANCE_UNITS[follows])
                elif follows == "m" and token.unit is None:
                    token = replace(token, unit="m")
                else:
                    break
                i += 1
            out.append(token)
        elif word in words.DISTANCE_UNITS:
            out.append(_Token("u", word, unit=words.DISTANCE_UNITS[word]))
        else:
            letter = _KINDS.get(word, "w")
            if letter:
                out.append(_Token(letter, word))
    return out


# --- one number -------------------------------------------------------------------------------------------------------


def _number(token: _Token, known: _Known) -> _Token:
    """The token with its number, and what had to be assumed about its marks (rules O2 to O4)."""
    word = token.text.rstrip(".")
    if "e" in word:
        return _scientific(token, word)
    marks = re.findall(r"[,.' _]", word)
    parts = re.split(r"[,.' _]", word)
    note = doubt = ""
    if not marks:
        number = float(word)
    elif set(marks) <= {" ", "'", "_"}:
        number = float("".join(parts))
    elif len(set(marks)) == 2 and marks[-1] in ".," and len(marks) >= 2 and marks.count(marks[-1]) == 1 and len(parts[-1]) <= 2:
        number = float("".join(parts[:-1]) + "." + parts[-1])
    elif len(marks) >= 2 and len(set(marks)) == 1 and all(len(p) == 3 for p in parts[1:]):
        number = float("".join(parts))
    elif set(marks) == {","} and re.fullmatch(r"\d{1,2}(?:,\d\d)+,\d{3}", word):
        number, note = float("".join(parts)), "marks after lakh and thousand"
    elif len(marks) == 1:
        number, note, doubt = _one_mark(token, marks[0], parts, known)
    else:
        raise _Stop(ask(f"{token.text!r} is no number as usually written", "words", "O2"))
    if token.thousand:
        if number >= 3000:
            raise _Stop(ask(f"{token.text} k: thousand, or km?", "words", "O3"))
        decimals = len(parts[-1]) if marks and marks[-1] in ".," and "thousands" not in note else 0
        number *= 1000
        note = f"rounded to {10 ** max(0, 3 - decimals):,}"
    return replace(token, number=number, note=note, doubt=doubt)


def _one_mark(token: _Token, mark: str, parts: list[str], known: _Known) -> tuple[float, str, str]:
    """A number with one point or comma: thousands, tenths, or asked."""
    whole, rest = parts
    decimal = float(f"{whole or 0}.{rest}")
    if token.thousand:
        return decimal, "", ""
    grouped = float(whole + rest) if whole else 0.0
    if len(rest) == 3 and 1 <= len(whole) <= 3 and whole[0] != "0":
        if known.mark and mark != known.mark:
            return grouped, f"{'comma' if mark == ',' else 'point'} taken as the thousands mark", ""
        if known.mark is None and mark == ",":
            return grouped, "comma taken as the thousands mark", ""
        if known.long_numbers:
            return (
                grouped,
                "",
                f"{token.text!r} was read with a decimal {'comma' if mark == ',' else 'point'} somewhere upstream; "
                "the column's other cells have five or six digits",
            )
        raise _Stop(ask(f"{token.text!r}: thousands, or a decimal {'comma' if mark == ',' else 'point'}?", "decimal", "O2"))
    if len(whole) >= 4 or (rest.strip("0") == "" and len(rest) <= 2):
        return decimal, "decimal comma" if mark == "," else "", ""
    if len(whole) >= 3 and len(rest) <= 2 and mark == (known.mark or ".") and not known.long_numbers:
        return decimal, "", ""
    raise _Stop(ask(f"{token.text!r}: thousands, tenths, or a digit lost?", "words", "O2"))


def _scientific(token: _Token, word: str) -> _Token:
    """Rule O4: ``8.4512E+04``; where digits are missing the number is rounded and listed."""
    mantissa, exponent = word.split("e")
    mantissa = mantissa.replace(",", ".")
    decimals = len(mantissa.split(".")[1]) if "." in mantissa else 0
    power = int(exponent)
    if power > 8:
        raise _Stop(refuse(f"{token.text!r} is far more than any odometer shows", "O7"))
    number = float(f"{mantissa}e{power}")
    lost = power - decimals
    doubt = f"a spreadsheet kept only {decimals + 1} digits: rounded to {10**lost:,}" if lost > 0 else ""
    return replace(token, number=number, doubt=doubt)


def _odd_number(text: str, number: float, known: _Known) -> Reading | None:
    """Rules O6 and O7 for a bare number: placeholders, typed-through numbers, dates; None for an ordinary one."""
    digits = re.sub(r"\D", "", text.split(".")[0])
    bare = digits.lstrip("0")
    if not bare:
        return refuse("0: a placeholder", "O6")
    if len(bare) >= 5 and set(bare) == {"9"}:
        return refuse(f"{text.strip()}: a placeholder", "O6")
    if len(digits) == 8 and re.fullmatch(r"(?:(?:19|20)\d\d(?:0\d|1[0-2])[0-3]\d|[0-3]\d[0-3]\d20\d\d)", digits):
        return refuse(f"{text.strip()} looks like a date", "O7")
    factor = DISTANCE_KM.get(known.unit or "km", 1.0)
    if number * factor > FARTHEST_KM:
        return refuse(f"{text.strip()} is far more than any odometer shows", "O7")
    value = round(number * factor, 1)
    if len(bare) >= 5 and (len(set(bare)) == 1 or bare in _TYPED_THROUGH):
        return flag(value, known.unit, f"{text.strip()}: often typed to get past a required field", "O6")
    if number >= MOST_SHOWN and not known.with_history and re.fullmatch(r"\d+(?:\.\d)?", text.strip()):
        return flag(value, known.unit, f"{text.strip()}: more digits than an odometer shows; one too many, or tenths?", "O6")
    if number < 1000 and known.long_numbers and not known.with_history:
        if number <= 10:
            return refuse(f"{text.strip()}: a placeholder", "O6")
        return ask(f"{text.strip()}: in thousands? the column's other cells have five or six digits", "words", "O6")
    if number < SMALL and not known.with_history:
        return flag(value, known.unit, f"{text.strip()}: unusually small; in thousands?", "O6")
    return None


# --- the rules --------------------------------------------------------------------------------------------------------


def _read(clear: str, known: _Known) -> Reading:
    low = t.fold(clear)
    wrapped = re.fullmatch(r"=?\"(.*)\"", low) or re.fullmatch(r"'(.*)", low)
    low = wrapped[1].strip() if wrapped else low
    if not low:
        return refuse("nothing written", "C2")
    notes: list[str] = []
    if _DATE.fullmatch(low):
        return refuse(f"{clear!r} is a date", "O7")
    without = _DATE.sub(" ", low)
    if without != low:
        notes.append("a date in the same cell was left out")
    for pattern, what in ((_CLOCK, "a time of day"), (_TRIP, "a trip meter")):
        shorter = pattern.sub(" ", without)
        if shorter != without and re.search(r"\d{4}|\d[,.' ]\d{3}|\dk", shorter):
            without = shorter
            notes.append(f"{what} in the same cell was left out")
    alone = _without_beside(without)
    if alone:
        without = alone
        notes.append("an earlier reading or an order's number in the same cell was left out")
    spoken = _spoken(without)
    if spoken is not None:
        number, unit = spoken
        return _one(_Token("#", str(number), number, unit), known, ["a number written in words"], [], "O14")
    for pattern, plain in _PHRASES:
        without = pattern.sub(plain, without)
    tokens = _tokens(without.strip(), known)
    shape = "".join(tok.kind for tok in tokens)
    if "#" not in shape:
        return refuse(f"{clear!r} holds no reading", "O7")
    if "z" in shape:
        return ask(f"{clear!r}: a reading, or a plan?", "words", "O15")
    if "c" in shape or "x" in shape:
        return _new_cluster(clear, tokens, known)
    return _by_shape(clear, shape, tokens, known, notes)


def _without_beside(low: str) -> str:
    """The text without one named number beside the reading (``last 83900``, ``RO 12345``), where the two fit."""
    found = list(_BESIDE.finditer(low))
    if len(found) != 1:
        return ""
    rest = low[: found[0].start()] + " " + low[found[0].end() :]
    numbers = [m[0] for m in _ONE_NUMBER.finditer(rest)]
    if len(numbers) != 1 or len(re.findall(r"\d[\d.,]*", rest)) != 1:
        return ""
    reading = _plain_value(numbers[0])
    beside = _plain_value(found[0]["num"] + (found[0]["k"] or ""))
    return rest if reading >= 1000 and (beside < reading or not found[0]["less"]) else ""


def _plain_value(text: str) -> float:
    return float(text.rstrip("k ").replace(",", "")) * (1000 if text.endswith("k") else 1)


def _by_shape(clear: str, shape: str, tokens: list[_Token], known: _Known, notes: list[str]) -> Reading:
    doubts = [f"the cell also says {tok.text!r}" for tok in tokens if tok.kind in "wD"]
    doubts += [f"{tok.text!r}: another meter or vehicle than the dash, its own series" for tok in tokens if tok.kind == "m"]
    if "?" in shape:
        doubts.append("marked by the writer")
    numbers = [tok for tok in tokens if tok.kind == "#"]
    units = {tok.unit for tok in tokens if tok.kind == "u"}
    if "i" not in shape and any(tok.text == "left" for tok in tokens):
        return ask(f"{clear!r}: run, or left to run?", "words", "O15")
    if units and any(n.unit and units != {n.unit} for n in numbers) or len(units) > 1:
        return ask(f"{clear!r}: in which unit?", "unit", "O1")
    before = next((tok.unit for tok in tokens if tok.kind == "u"), None)
    if before and all(n.unit is None for n in numbers):
        numbers = [replace(n, unit=before) for n in numbers]
    meter = "m" in shape
    bare = re.sub(r"[wDm?u@a]", "", shape)
    if re.fullmatch(r"-#|#-|\(#\)|!#|#!|-!#|!-#|\(!#\)", bare):
        odd = "" if re.fullmatch(r"\(#\)", bare) and clear.strip()[0] != "(" else f"{clear!r}: a stray sign"
        doubts += [odd] if odd else []
        bare = "#"
    if "~" in bare:
        notes.append("about")
        bare = bare.replace("~", "")
    bare = re.sub(r"[(),]*$|^[,)]*", "", bare) if len(numbers) == 1 else bare
    if len(numbers) == 1:
        rule = "O9" if meter else "O5" if "about" in notes else "O1"
        return _single(
            clear,
            bare.replace("(", "").replace(")", "").replace(",", "").replace("-", "-"),
            numbers[0],
            known,
            notes,
            doubts,
            rule,
        )
    if len(numbers) == 2:
        return _two(clear, bare, numbers, known, notes, doubts)
    return ask(f"{clear!r}: which of the numbers is the odometer?", "words", "O8")


def _single(clear, bare, token, known, notes, doubts, rule) -> Reading:
    if bare in ("<#", "#≤", ">#", "#≥"):
        one = _one(token, known, notes, doubts, "O5")
        if one.value is None:
            return one
        value = {"low": None, "high": one.value} if bare in ("<#", "#≤") else {"low": one.value, "high": None}
        return lower_to(replace(one, value=value), OK_ASSUMED, "a bound, not a reading", "O5")
    if bare in ("i#", "#i"):
        return _one(token, known, notes, doubts, rule)
    if bare in ("o#", "#o"):
        return _one(token, known, [*notes, "the reading when it left the shop"], doubts, "O8")
    if bare == "#":
        hidden = re.search(r"(?<=\d)[,.]?(?:x{2,3}|\*{2,3}|_{1,3}|-{3})$", clear.lower())
        if hidden:
            return _hidden_digits(clear, token, known)
        return _one(token, known, notes, doubts, rule)
    if bare == "b#":
        return ask(f"{clear!r}: this visit's reading, or an earlier one?", "words", "O15")
    return ask(f"{clear!r} cannot be read: what does it mean?", "words", "O7")


def _hidden_digits(clear: str, token: _Token, known: _Known) -> Reading:
    """``84xxx``: the last digits not written."""
    count = len(re.search(r"[x*_-]+$", clear.lower())[0])
    low = _number(replace(token, text=token.text.rstrip(",.")), known).number * 10**count
    unit = token.unit or known.unit
    if unit not in DISTANCE_KM:
        return _need_unit(known)
    factor = DISTANCE_KM[unit]
    value = {"low": round(low * factor, 1), "high": round((low + 10**count - 1) * factor, 1)}
    return flag(value, unit, f"{clear!r}: the last {count} digit{'s are' if count > 1 else ' is'} not written", "O5")


def _need_unit(known: _Known) -> Reading:
    why = known.clash or "no unit in the cell, the header or an answer given before"
    return ask(f"km or miles? {why}", "unit", "O1")


def _unit_of(token: _Token, known: _Known, notes: list[str]) -> str:
    if token.unit == "m":
        if known.unit != "mi":
            raise _Stop(ask(f"{token.text} m: miles, or something else?", "unit", "O1"))
        notes.append("m taken as miles")
        return "mi"
    unit = token.unit or known.unit
    if unit is None:
        raise _Stop(_need_unit(known))
    if known.unit_by and not token.unit:
        notes.append(f"taken as km, in which “{known.unit_by}” is mostly counted")
    return unit


def _one(token: _Token, known: _Known, notes: list[str], doubts: list[str], rule: str) -> Reading:
    """One number with its unit, in km."""
    notes = list(notes)
    unit = _unit_of(token, known, notes)
    if unit == "h":
        return flag(None, "h", "hours are another meter: its own series, not a distance", "O9")
    if not token.number:
        token = _number(token, known)
    odd = None if token.thousand else _odd_number(token.text, token.number, replace(known, unit=unit))
    if odd and (odd.value is None or odd.status == FLAG):
        return odd if odd.value is None else lower_to(odd, FLAG, "; ".join([*doubts, *notes]) or "listed", "O6")
    value = round(token.number * DISTANCE_KM[unit], 1)
    if value > FARTHEST_KM:
        return refuse(f"{token.text!r} is far more than any odometer shows", "O7")
    if value == 0:
        return refuse("0: a placeholder", "O6")
    notes += [token.note] if token.note else []
    doubts = doubts + ([token.doubt] if token.doubt else [])
    rule = "O3" if token.thousand and rule == "O1" else rule
    if doubts:
        return flag(value, unit, "; ".join(doubts + notes), rule)
    return assumed(value, unit, "; ".join(notes), rule) if notes else ok(value, unit, rule)


def _spoken(low: str) -> tuple[int, str | None] | None:
    """Rule O14: ``eighty-four thousand five hundred``; None when the cell is not all number words."""
    names = re.findall(r"[a-z]+|\d+", low)
    unit = next((words.DISTANCE_UNITS[n] for n in names if n in words.DISTANCE_UNITS), None)
    names = [n for n in names if n not in words.DISTANCE_UNITS and n not in ("and", "a") and n not in words.ODOMETER_FILLER]
    known = words.NUMBER_WORDS
    if not any(n in known or n == "thousand" for n in names) or any(
        n not in known and n not in ("hundred", "thousand") for n in names
    ):
        return None
    total = group = 0
    for n in names:
        if n == "hundred":
            group = max(group, 1) * 100
        elif n == "thousand":
            total, group = total + max(group, 1) * 1000, 0
        else:
            group += known[n]
    return (total + group, unit) if total + group >= 1000 else None


# --- two numbers in a cell --------------------------------------------------------------------------------------------


def _two(clear: str, bare: str, numbers: list[_Token], known: _Known, notes: list[str], doubts: list[str]) -> Reading:
    """Rule O8."""
    first, second = numbers
    if "b" in bare:
        return ask(f"{clear!r}: this visit's reading, or an earlier one?", "words", "O15")
    if "!" in bare:
        doubts = [*doubts, "a stray sign"]
        bare = bare.replace("!", "")
    shape = re.sub(r"[(),/]", "", bare)
    shape = shape.replace("-", "") if "i" in shape else shape
    if first.unit == "h" and second.unit != "h":
        first, second = second, first
    if second.unit == "h":
        return _beside_hours(clear, bare, first, second, known, notes, doubts)
    if shape in ("i#o#", "#i#o", "i##o"):
        return _in_and_out(clear, first, second, known, notes, doubts)
    if shape in ("o#i#", "#o#i"):
        return _in_and_out(clear, second, first, known, notes, doubts)
    if bare == "#-#":
        return _interval(clear, first, second, known, notes, doubts)
    if shape != "##":
        return ask(f"{clear!r}: which of the numbers is the odometer?", "words", "O8")
    first, second = _number(first, known), _number(second, known)
    if first.unit and second.unit and first.unit != second.unit:
        a, b = first.number * DISTANCE_KM.get(first.unit, 0), second.number * DISTANCE_KM.get(second.unit, 0)
        step = 1000.0 * max([DISTANCE_KM.get(n.unit, 0) for n in (first, second) if n.thousand], default=0)
        if abs(a - b) <= max(2.0, 0.0002 * a, step):
            return _one(first, known, notes, doubts, "O8")
        return ask(f"{clear!r}: the two units do not agree", "words", "O8")
    if first.unit != second.unit and second.unit:
        return ask(f"{clear!r}: which of the numbers is the odometer?", "words", "O8")
    return _two_bare(clear, first, second, known, notes, doubts)


def _beside_hours(clear, bare, first, second, known, notes, doubts) -> Reading:
    """An odometer with engine hours, where the speed they make is one an engine can run at."""
    first, second = _number(first, known), _number(second, known)
    if "-" in bare or not second.number or not SLOWEST <= first.number / second.number <= FASTEST:
        return ask(f"{clear!r}: which of the numbers is the odometer?", "words", "O8")
    return _one(first, known, notes, doubts, "O8")


def _two_bare(clear, first, second, known, notes, doubts) -> Reading:
    a, b = first.number, second.number
    if a > 3000 and abs(a * KM_PER_MI - b) <= max(2.0, 0.0002 * b):
        return _one(replace(first, unit="mi"), known, [*notes, "miles, then the same in km"], doubts, "O8")
    if b > 3000 and abs(b * KM_PER_MI - a) <= max(2.0, 0.0002 * a):
        return _one(replace(first, unit="km"), known, [*notes, "km, then the same in miles"], doubts, "O8")
    if a > 1000 and 0 <= b - a <= 100:
        reading = _one(first, known, [*notes, "two readings a little apart: taken as in and out, the first kept"], doubts, "O8")
        far = b - a > ROAD_TEST and reading.value is not None
        return lower_to(reading, FLAG, "far for a road test: or one of them miswritten", "O8") if far else reading
    if a > 1000 and 100 <= b < a and SLOWEST <= a / b <= FASTEST:
        return _one(first, known, [*notes, "the second number looks like engine hours"], doubts, "O8")
    return ask(f"{clear!r}: which of the numbers is the odometer?", "words", "O8")


def _in_and_out(clear, arrived, left, known, notes, doubts) -> Reading:
    arrived, left = _number(arrived, known), _number(left, known)
    arrived = replace(arrived, unit=arrived.unit or left.unit)
    if left.number < arrived.number or left.number > arrived.number + 2000:
        return flag(None, None, f"{clear!r}: in and out do not fit together; not taken", "O8")
    return _one(arrived, known, notes, doubts, "O8")


def _interval(clear, first, second, known, notes, doubts) -> Reading:
    if second.thousand and not first.thousand and re.fullmatch(r"\d{1,3}([.,]\d)?", first.text):
        first = replace(first, thousand=True)
    unit = second.unit or first.unit
    low, high = (_one(_number(replace(n, unit=unit), known), known, notes, doubts, "O5") for n in (first, second))
    if not isinstance(low.value, float) or not isinstance(high.value, float):
        return low if low.value is None else high
    if not low.value < high.value <= 1.25 * low.value + 1000:
        return ask(f"{clear!r}: an interval, or two readings?", "words", "O5")
    both = replace(low, value={"low": low.value, "high": high.value})
    exact = any(not n.thousand and _number(n, known).number % 100 for n in (first, second))
    if exact and high.value - low.value > 100:
        return ask(f"{clear!r}: an interval, or two readings?", "words", "O5")
    if high.value - low.value <= 100:
        return lower_to(both, FLAG, "an interval, or in and out", "O5")
    return lower_to(both, OK_ASSUMED, "an interval", "O5")


def _new_cluster(clear: str, tokens: list[_Token], known: _Known) -> Reading:
    """Rule O10: the reading of the new instrument on top of where the old one stood."""
    numbers = [tok for tok in tokens if tok.kind == "#"]
    if len(numbers) != 2 or any(tok.kind in "wmzD" for tok in tokens):
        return ask(f"{clear!r}: where did the old instrument stand, and where the new?", "words", "O10")
    marked = []
    mark = ""
    for tok in tokens:
        if tok.kind in "@bax":
            mark = tok.kind if not (tok.kind == "x" and mark == "@") else mark
        elif tok.kind == "#":
            marked.append(mark)
            mark = ""
    old = [i for i, m in enumerate(marked) if m in ("@", "b")]
    if len(old) != 1:
        return ask(f"{clear!r}: where did the old instrument stand, and where the new?", "words", "O10")
    numbers = [_number(n, known) for n in numbers]
    stood, shows = numbers[old[0]], numbers[1 - old[0]]
    if shows.number >= stood.number:
        return ask(f"{clear!r}: where did the old instrument stand, and where the new?", "words", "O10")
    unit = _unit_of(replace(stood, unit=stood.unit or shows.unit), known, [])
    if unit == "h":
        return flag(None, "h", "hours are another meter: its own series, not a distance", "O9")
    factor = DISTANCE_KM[unit]
    total = ok(round((stood.number + shows.number) * factor, 1), unit, "O10")
    return replace(total, offset_km=round(stood.number * factor, 1))
