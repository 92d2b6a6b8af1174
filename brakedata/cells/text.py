"""A cell's text made tidy before any rule looks at it, and what every field does the same way.

Rules: C1 too long or damaged, C2 nothing there, C3 the shop's own words, C4 letters standing for digits.
"""

import re
import unicodedata
from collections.abc import Callable, Iterable

from brakedata.cells import words
from brakedata.cells.reading import OK, OK_ASSUMED, Reading, lower_to, refuse

LONGEST_CELL = 200
"""Characters; a longer text is a story, not a reading."""

_SAME_SIGNS = str.maketrans({
    **dict.fromkeys("‐‑‒–—―−﹣－", "-"),
    **dict.fromkeys("’‘‛′´`ʼ＇", "'"),
    **dict.fromkeys("“”„‟″＂«»", '"'),
    **dict.fromkeys("⁄∕／", "/"),
    **dict.fromkeys("→⇒➔➜➝➞⟶⟹►▶", "→"),
    **dict.fromkeys("≈≃∼～˜", "~"),
    **dict.fromkeys("×✕✖", "x"),
    "≦": "≤", "≧": "≥", "⩽": "≤", "⩾": "≥",
})  # fmt: skip
_ARROW = re.compile(r"[-=]{1,3}>+|>{2,3}|\.{2,3}>")
_SPACES = re.compile(r"[^\S\n]+")
_SPREADSHEET_ERROR = re.compile(r"#(?:REF|N/A|NAME\??|VALUE|DIV/0|NULL|NUM|SPILL|CALC|#*)!?", re.I)
_NO_READING_START = re.compile(
    r"(?:see|refer|as per|could ?n[o']?t|can ?n[o']?t|cannot|unable|not|did ?n[o']?t|does ?n[o']?t|was ?n[o']?t|no one|"
    r"nobody|no (?:read\w*|access|display|data|time|odo\w*|info\w*|record|entry|value|measure\w*|date|inspection))\b"
)


def tidy(text: str) -> str:
    """One way of writing signs, blanks, digits and fractions; letters keep their case.

    Full-width and other scripts' digits become 0-9, ``½`` becomes `` 1/2``, every dash ``-``, every inch mark ``"``,
    every arrow ``→``; invisible characters and what stands at the end like a full stop go.
    """
    if text.isascii():
        plain = text
    else:
        text = text.translate(_SAME_SIGNS)
        plain = unicodedata.normalize("NFKC", "".join(map(_plain_sign, text))).translate(_SAME_SIGNS)
        plain = "".join(map(_plain_digit, plain))
    plain = _ARROW.sub("→", plain.replace("''", '"').replace("\r", "\n").replace("\t", " "))
    plain = _SPACES.sub(" ", plain).strip()
    return plain.rstrip(" .,;!\n") or plain


def _plain_sign(sign: str) -> str:
    if unicodedata.category(sign) == "Cf":
        return ""
    if unicodedata.category(sign) == "No":
        parts = unicodedata.normalize("NFKC", sign).replace("⁄", "/")
        return f" {parts}" if "/" in parts and parts[-1].isdigit() else sign
    return sign


def _plain_digit(sign: str) -> str:
    return sign if sign.isascii() else str(unicodedata.decimal(sign, sign))


def unwrapped(text: str) -> str:
    """The text without the one pair of brackets around all of it."""
    inside = re.fullmatch(r"[(\[]([^()\[\]]+)[)\]]", text)
    return inside[1].strip() if inside else text


def fold(text: str) -> str:
    """Lower case without accents: ``März`` and ``MARZ`` alike."""
    if text.isascii():
        return text.lower()
    bare = "".join(c for c in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(c))
    return unicodedata.normalize("NFC", bare)


def polish_axle(text: str) -> str:
    """The text with the Polish word for an axle as one that keeps its letters when folded: without its accent it is the off side."""
    return text if text.isascii() else re.sub(r"(?i)\boś(?![^\W\d_])", "osie", text)


def as_text(cell) -> str:
    """A cell as text; None and not-a-number as empty."""
    if isinstance(cell, str):
        return cell
    if cell is None or cell != cell:
        return ""
    return str(cell)


def not_a_reading(text: str) -> Reading | None:
    """Rules C1 and C2: the refusal when the text holds no reading in any field, else None."""
    if len(text) > LONGEST_CELL:
        return refuse(f"more than {LONGEST_CELL} characters: a story, not a reading", "C1")
    if not (text.isascii() and text.isprintable()) and any(
        unicodedata.category(c) in ("Cc", "Cs", "Co") and c not in "\n\r\t" or c == "\ufffd" for c in text
    ):
        return refuse("holds damaged characters: the file may have been read with the wrong encoding", "C1")
    clear = tidy(text)
    if not clear:
        return refuse("nothing written", "C2")
    if _SPREADSHEET_ERROR.fullmatch(clear):
        return refuse("a spreadsheet error, or a column too narrow to show its number when it was exported", "C2")
    low = fold(clear).strip(" .!*()[]'")
    if low.strip('-_/?"~=+:;,\\') in words.NO_READING or low in words.NO_READING:
        return refuse(f"{clear!r} says that there is no reading", "C2")
    if not any(c.isdigit() for c in low) and _NO_READING_START.match(low):
        return refuse(f"{clear!r} says that there is no reading", "C2")
    return None


def shop_words(hints: dict) -> dict[str, str]:
    """Rule C3: what the shop said its words mean, by folded word."""
    return {fold(tidy(str(word))).strip(" ."): str(meaning) for word, meaning in (hints.get("words") or {}).items()}


def meaning_of(text: str, meanings: dict[str, str]) -> str | None:
    """What the shop said that this text means; None where it said nothing."""
    return meanings.get(fold(tidy(text)).strip(" .")) if meanings and len(text) <= LONGEST_CELL else None


def read_one(text: str, meanings: dict[str, str], rule: Callable[[str], Reading]) -> Reading:
    """Read one text: the shop's own words first (C3), then what is no reading (C1, C2), then the field's rules."""
    meaning = meaning_of(text, meanings)
    if meaning is not None:
        reading = read_one(meaning, {}, rule)
        sentence = f"{text.strip()!r} means {meaning!r}, as the shop said"
        return lower_to(reading, OK_ASSUMED, sentence, "C3") if reading.status == OK else reading
    return not_a_reading(text) or rule(tidy(text))


def each_once(texts: list[str], rule: Callable[[str], Reading]) -> list[Reading]:
    """``rule`` applied once for every distinct text."""
    known = {text: rule(text) for text in dict.fromkeys(texts)}
    return [known[text] for text in texts]


def distinct(texts: Iterable[str]) -> list[str]:
    """Distinct texts short enough to be readings, tidy, in order of first sight."""
    return list(dict.fromkeys(tidy(t) for t in dict.fromkeys(texts) if len(t) <= LONGEST_CELL))


_RUN = re.compile(r"[0-9A-Za-z|]+(?:[.,'][0-9A-Za-z|]+)*")
_UNIT_AT_END = re.compile(r"(?<=[0-9OoIlL|ZzSsGBbgq])(?:mm|cm|inch|in|kms?|miles?|mi|mls|k|hrs?|h)$", re.I)
_LETTER_DIGITS = str.maketrans({
    **dict.fromkeys("Oo", "0"), **dict.fromkeys("IlL|i", "1"), **dict.fromkeys("Zz", "2"), **dict.fromkeys("Ss", "5"),
    **dict.fromkeys("Gb", "6"), "B": "8", **dict.fromkeys("gq", "9"),
})  # fmt: skip


def letters_to_digits(text: str) -> str | None:
    """Rule C4: the text with letters that stand for digits replaced (``l0`` 10, ``84S12`` 84512); None if there are none.

    Only runs that hold a digit already are touched, and only where every letter looks like a digit.
    """

    def mend(run: re.Match) -> str:
        unit = _UNIT_AT_END.search(run[0])
        body, rest = (run[0][: unit.start()], unit[0]) if unit else (run[0], "")
        fixed = body.translate(_LETTER_DIGITS)
        looks_right = any(c.isdigit() for c in body) and all(c.isdigit() or c in ".,'" for c in fixed)
        return fixed + rest if looks_right else run[0]

    mended = _RUN.sub(mend, text)
    return mended if mended != text else None


def decimal_mark(hints: dict) -> str | None:
    """Decimal mark of the file as the hints tell it: ``.``, ``,`` or None when they do not."""
    if hints.get("decimal") in (".", ","):
        return hints["decimal"]
    country = str(hints.get("country") or "").upper()
    if country in words.DECIMAL_COMMA:
        return ","
    if country in words.DECIMAL_POINT:
        return "."
    return {";": ",", ",": "."}.get(hints.get("delimiter"))


def one_slip(word: str, right: str) -> bool:
    """Whether a word is another one but for one letter changed, missing, added or swapped with its neighbour; the first letter must stand."""
    if word == right or word[0] != right[0] or abs(len(word) - len(right)) > 1 or len(word) < 4:
        return False
    if len(word) == len(right):
        wrong = [i for i in range(len(word)) if word[i] != right[i]]
        swapped = (
            len(wrong) == 2
            and wrong[1] == wrong[0] + 1
            and word[wrong[0]] == right[wrong[1]]
            and word[wrong[1]] == right[wrong[0]]
        )
        return swapped or (len(wrong) == 1 and len(right) >= 5)
    longer, shorter = sorted((word, right), key=len, reverse=True)
    extra = [i for i in range(len(longer)) if longer[:i] + longer[i + 1 :] == shorter]
    return bool(extra) and (len(right) >= 5 or (longer == word and len(extra) > 1))
