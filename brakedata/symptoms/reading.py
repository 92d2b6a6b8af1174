"""From text to words: spelling, shorthand and other languages put right, clauses told apart, phrases found.

Nothing here knows about brakes; the words come from `words`.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache

from . import words as lists

_TOKEN = re.compile(
    r"""
    (?:[a-z]\.){2,}                          # a.m.
  | \b(?:[a-z]/[a-z]{1,2}|w/)(?![a-z])       # w/o, c/s, r/t, w/
  | \d+(?:[.,]\d+)?  |  \.\d+                # 40, 1.5, .004
  | [^\W\d_]+(?:['’`´?](?:t|s|re|ve|ll|d|m)\b)?
  | \n | [^\w\s]
""",
    re.VERBOSE,
)
_NEW_SENTENCE = set(".!?\n")
_NEW_CLAUSE = set(",;:()[]/|•–—")
_BUT = {"but", "however", "although", "though", "except", "yet", "otherwise"}
_AND = {"and", "&", "+", "plus", "also", "so", "because"}
_NOT_FORMS = {
    form + "nt": form + " not" for form in "do does did ca is was are were have has had could would should must ai need".split()
}
_NOT_FORMS |= {
    "cant": "can not",
    "cannot": "can not",
    "wont": "will not",
    "dosent": "does not",
    "doesent": "does not",
    "dosnt": "does not",
    "dident": "did not",
    "couldent": "could not",
    "wouldent": "would not",
    "im": "i am",
}
DENIALS = {"no", "not", "never", "without", "nolonger", "nothing", "nor", "neither"}
_NO_GAP_OVER = DENIALS | {"when", "if", "once", "until", "while", "because", "unless"}
_GAP = 4  # words that ".." may skip
_LONG_CLAUSE = 40  # words without any stop: then a clause is taken to end
_MOST = 15_000  # characters read of one text
_SMALL = 2  # small words that may stand between neighbours
_WHOLE = {"tired", "within"}  # no forms of shorter words


@dataclass(frozen=True)
class Word:
    """One word of the text as understood: `base` form, written `form`, and where it stands (`start`, `end`)."""

    base: str
    form: str
    start: int
    end: int
    clause: int = 0
    sentence: int = 0
    after: str = ""  # what opened its clause: "", "but", "and", ","


# ---------------------------------------------------------------- base forms
def _stems(form):
    """Shorter forms a written form may come from, best first."""
    found = [form[:-3] + "y"] if form.endswith(("ies", "ied")) and len(form) > 5 else []
    for ending in ("s", "es", "d", "ed", "ing", "in", "y"):
        if form.endswith(ending) and len(form) - len(ending) >= 3:
            stem = form[: -len(ending)]
            found += [stem, stem + "e"] if ending not in ("s", "d") else [stem]
            if len(stem) > 3 and stem[-1] == stem[-2]:
                found.append(stem[:-1])
    return found


def _split(phrases):
    return [" ".join(phrase.split()) for phrase in phrases.split(",") if phrase.strip()]


def _strings(value):
    """Every string of a table of words."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from _strings(inner)


def _phrase_tables():
    """Every string of phrases in the lists, whatever they are for."""
    for name, table in vars(lists).items():
        if name.isupper() and name not in ("SPELLINGS", "OTHER_LANGUAGES"):
            yield from _strings(table)


@cache
def _bases():
    """Every base form the lists use."""
    raw = set(lists.SPELLINGS) | set(lists.JOINED) | DENIALS
    for table in _phrase_tables():
        for slot in table.replace(",", " ").split():
            raw |= {word for word in slot.split("/") if word.isalpha()}
    for english in lists.OTHER_LANGUAGES:
        raw |= {word for word in english.split() if word.isalpha()}
    return {word for word in raw if word in lists.SPELLINGS or word in _WHOLE or not any(stem in raw for stem in _stems(word))}


@cache
def _spellings():
    return {variant: base for base, variants in lists.SPELLINGS.items() for variant in variants.split()}


def _inflections(base):
    yield base
    yield from (base + "s", base + "ed", base + "ing")
    if base.endswith("e"):
        yield from (base + "d", base[:-1] + "ing")
    elif base[-1] in "bdgklmnpt":
        yield from (base + base[-1] + "ing", base + base[-1] + "ed")


def _consonants(form):
    return re.sub("[aeiouy]", "", form)


@cache
def _shorthand():
    """Consonants alone ("sqlng") to the word they stand for, where only one word fits."""
    table = {}
    for base in sorted(set(lists.CORRECTED) | {"rear", "left", "right", "customer", "pull", "worn", "noisy"}):
        for form in _inflections(base):
            table.setdefault(_consonants(form), set()).add(base_form(base))
    return {short: min(found) for short, found in table.items() if len(short) >= 3 and len(found) == 1}


def _one_letter_less(form):
    return {form[:i] + form[i + 1 :] for i in range(len(form))}


@cache
def _slips():
    """From each form of the words to correct towards, with a letter taken out, to the words it may come from."""
    index = {}
    for base in sorted({base_form(word) for word in lists.CORRECTED if base_form(word) in _bases()}):
        for form in _inflections(base):
            for shorter in _one_letter_less(form) | {form}:
                index.setdefault(shorter, set()).add((form, base))
    return index


def _one_slip_apart(one, other):
    """True where one letter more, less, other, or two neighbours swapped, makes `one` into `other`."""
    if abs(len(one) - len(other)) > 1:
        return False
    start = 0
    while start < min(len(one), len(other)) and one[start] == other[start]:
        start += 1
    a, b = one[start:], other[start:]
    return a[1:] == b[1:] or a[1:] == b or a == b[1:] or (len(a) > 1 and a[:2] == b[1::-1] and a[2:] == b[2:])


@lru_cache(maxsize=20000)
def base_form(form):
    """The base form of a written word, or the word itself where the lists do not know it."""
    spellings, bases = _spellings(), _bases()
    if form in spellings:
        return spellings[form]
    if form in bases or not form.isalpha():
        return form
    if len(form) >= 3 and _consonants(form) == form and form in _shorthand():
        return _shorthand()[form]
    for stem in _stems(form):
        stem = spellings.get(stem, stem) if len(stem) > 3 else stem
        if stem in bases and form not in _WHOLE:
            return stem
    if 5 <= len(form) <= 20 and form not in lists.REAL_WORDS and form not in lists.CORRECTED:
        near = {pair for shorter in _one_letter_less(form) | {form} for pair in _slips().get(shorter, ())}
        near = sorted((form[0] != word[0], base) for word, base in near if _one_slip_apart(form, word))
        if near and not near[0][0]:
            return near[0][1]
    return form


def known(form):
    """True where the lists have this word."""
    return form in _bases() or form in _FILLERS or form in lists.TRANSPARENT


# ---------------------------------------------------------------- phrases
def _keys(word):
    """What a phrase may call the word, always in this order: of two phrases that tie, the same one wins every time."""
    return (word.base, "=" + word.form, "#") if word.base.isdecimal() else (word.base, "=" + word.form)


class Phrases:
    """Phrases with what they stand for, found in a list of words.

    Parameters
    ----------
    entries : iterable of (str, object)
        Phrases parted by commas, written as `words` says, and what each stands for.
    loose : bool
        Whether small words may stand between neighbours.
    """

    def __init__(self, entries, loose=True):
        self.skip = _SMALL if loose else 0
        self.by_first = {}
        for phrases, meaning in entries:
            for phrase in _split(phrases):
                opens = phrase.startswith("^ ")
                slots = self._slots(phrase.removeprefix("^ "))
                for key in slots[0][1]:
                    self.by_first.setdefault(key, []).append((opens, slots, meaning))

    @staticmethod
    def _slots(phrase):
        """[(gap before it, set of words)]; a word as written is kept with its "="."""
        slots, gap = [], False
        for part in phrase.split():
            if part == "..":
                gap = True
                continue
            options = set()
            for word in part.split("/"):
                group = lists.GROUPS[word[1:]].split() if word.startswith("@") else [word]
                options |= {name if name[0] in "=$#" else base_form(name) for name in group}
                options |= {
                    "=" + form for name in group if name.isalpha() and not known(base_form(name)) for form in _inflections(name)
                }
            slots.append((gap, options))
            gap = False
        return slots

    def _next(self, words, at, gap, options):
        """Index of the next slot's word after `at`, or None."""
        clause, skipped = words[at].clause, 0
        limit = _GAP if gap else self.skip
        for here in range(at + 1, len(words) + 1):
            ended = here == len(words) or words[here].clause != clause
            if "$" in options and ended:
                return at
            if ended:
                return None
            word = words[here]
            if not options.isdisjoint(_keys(word)):
                return here
            passable = word.base not in _NO_GAP_OVER if gap else (word.form in _FILLERS)
            skipped += not (gap and word.form in _FILLERS)
            if not passable or skipped > limit:
                return None
        return None

    def find(self, words):
        """All places: list of (meaning, tuple of word indexes)."""
        found = []
        for at, word in enumerate(words):
            for key in _keys(word):
                for opens, slots, meaning in self.by_first.get(key, ()):
                    if opens and at and words[at - 1].clause == word.clause:
                        continue
                    places = [at]
                    for gap, options in slots[1:]:
                        here = self._next(words, places[-1], gap, options)
                        if here is None:
                            break
                        places.append(here)
                    else:
                        found.append((meaning, tuple(dict.fromkeys(places))))
        return found


_FILLERS = set(lists.FILLERS)


# ---------------------------------------------------------------- from text to words
def _fold(text):
    """Lower case without accents, one character for each of `text`."""
    folded = []
    for character in text:
        plain = unicodedata.normalize("NFKD", character)[:1].lower()
        folded.append("s" if character == "ß" else plain if len(plain) == 1 else character)
    return "".join(folded)


@cache
def _translations():
    """First foreign word -> [(all its words, English words)], longest first."""
    table = {}
    for english, foreign in lists.OTHER_LANGUAGES.items():
        for phrase in _split(foreign) if "," in foreign else foreign.split():
            parts = tuple(phrase.split())
            table.setdefault(parts[0], []).append((parts, english.split()))
    return {first: sorted(options, key=lambda option: -len(option[0])) for first, options in table.items()}


@cache
def _joined():
    return Phrases(((phrases, whole) for whole, phrases in lists.JOINED.items()), loose=False)


def _raw(text):
    """[(form, start, end)]: written words and separators; a contraction is two words."""
    tokens = []
    for match in _TOKEN.finditer(_fold(text)):
        form, start, end = match.group(), match.start(), match.end()
        if form.endswith("y") and text[end - 1] in "ýÝ" and len(form) > 1:  # a comma garbled on export
            tokens += [(form[:-1], start, end - 1), (",", end - 1, end)]
            continue
        if form == "-" and text[start - 1 : end + 1].strip() == "-":
            form = ","
        plain = re.sub(r"['’`´?]", "", form) if len(form) > 1 else form
        if len(form) > len(plain) and plain not in _NOT_FORMS:
            plain = re.split(r"['’`´?]", form)[0]
        for part in _NOT_FORMS.get(plain, plain).split(" "):
            tokens.append((part, start, end))
    return tokens


def _translate(tokens):
    """Their words as ours; "ne ... pas" and "ne ... plus" are one denial."""
    table, out, at = _translations(), [], 0
    for number, (form, start, end) in enumerate(tokens):
        if form == "ne":
            tokens[number] = ("not", start, end)
            for later in range(number + 1, min(number + 4, len(tokens))):
                if tokens[later][0] in ("pas", "plus"):
                    tokens[later] = ("the",) + tokens[later][1:]
                    break
    forms = [token[0] for token in tokens]
    while at < len(tokens):
        form, start, end = tokens[at]
        for parts, english in table.get(form, ()):
            if tuple(forms[at : at + len(parts)]) == parts:
                end = tokens[at + len(parts) - 1][2]
                out += [(word.lstrip("="), start, end) for word in english]
                at += len(parts)
                break
        else:
            out.append((form, start, end))
            at += 1
    return out


def _join(words):
    """Joins the words that belong together (parking brake -> parkbrake), longest first."""
    whole = {}
    for name, places in sorted(_joined().find(words), key=lambda found: -len(found[1])):
        if not any(place in whole for place in places):
            whole.update({place: (name, places) for place in places})
    out = []
    for at, word in enumerate(words):
        name, places = whole.get(at, (None, ()))
        if name is None:
            out.append(word)
        elif at == places[0]:
            out.append(Word(name, name, word.start, words[places[-1]].end, word.clause))
    return out


def read_words(text):
    """The words of a text with their clauses.

    Parameters
    ----------
    text : str
        The first 15,000 characters are read.

    Returns
    -------
    list of Word
    """
    run, words = 0, []
    for form, start, end in _translate(_raw(text[:_MOST])):
        if form in _NEW_SENTENCE or form in _NEW_CLAUSE:
            run += 1
            words.append(Word(form, form, start, end, run))
            run += 1
        elif form[0].isalnum() or form in _AND:
            words.append(Word(base_form(form), form, start, end, run))
    return _in_clauses(_join(words))


def _opener(word, before):
    """What opens a clause: the strongest of the separators in a row."""
    name = "but" if word.base in _BUT else "and" if word.base in _AND else "then" if word.base == "then" else ","
    return max(before, name, key=("", ",", "and", "then", "but").index)


def _in_clauses(words):
    """Numbers clauses and sentences, and drops what parts them."""
    out, clause, sentence, after, filled = [], 0, 0, "", False
    for word in words:
        parts = word.form in _NEW_SENTENCE or word.form in _NEW_CLAUSE
        if parts or word.base in _BUT or word.base in _AND or word.base == "then":
            clause += 1
            sentence += word.form in _NEW_SENTENCE
            kept = "" if filled else after
            after = _opener(word, kept)
            filled = False
        else:
            if out and out[-1].clause == clause and len(out) >= _LONG_CLAUSE and out[-_LONG_CLAUSE].clause == clause:
                clause, after = clause + 1, ","
            out.append(Word(word.base, word.form, word.start, word.end, clause, sentence, after))
            filled = True
    return out
