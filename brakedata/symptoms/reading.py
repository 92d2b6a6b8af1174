"""From text to words: spelling, shorthand and other languages put right, clauses told apart, phrases found.

Nothing here knows about brakes; the words come from `words`.
"""
from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache

from . import words as lists

_TOKEN = re.compile(r"""
    (?:[a-z]\.){2,}                          # a.m.
  | \b(?:[a-z]/[a-z]{1,2}|w/)(?![a-z])       # w/o, c/s, r/t, w/
  | \d+(?:[.,]\d+)?  |  \.\d+                # 40, 1.5, .004
  | [^\W\d_]+(?:['’`´?](?:t|s|re|ve|ll|d|m)\b)?
  | \n | [^\w\s]
""", re.VERBOSE)
_NEW_SENTENCE = set(".!?\n")
_NEW_CLAUSE = set(",;:()[]/|•–—")
_BUT = {"but", "however", "although", "though", "except", "yet", "otherwise"}
_AND = {"and", "&", "+", "plus", "also", "then", "so", "because"}
_NOT_FORMS = {form + "nt": form + " not" for form in
              "do does did ca is was are were have has had could would should must ai need".split()}
_NOT_FORMS |= {"cant": "can not", "cannot": "can not", "wont": "will not", "dosent": "does not", "doesent": "does not",
               "dosnt": "does not", "dident": "did not", "couldent": "could not", "wouldent": "would not", "im": "i am"}
DENIALS = {"no", "not", "never", "without", "nolonger", "nothing", "nor", "neither"}
_NO_GAP_OVER = DENIALS | {"when", "if", "once", "until", "after", "while", "because", "unless"}
_GAP = 4        # words that ".." may skip
_SMALL = 2      # small words that may stand between neighbours


@dataclass(frozen=True)
class Word:
    """One word of the text as understood: `base` form, written `form`, and where it stands (`start`, `end`)."""
    base: str
    form: str
    start: int
    end: int
    clause: int = 0
    sentence: int = 0
    after: str = ""          # what opened its clause: "", "but", "and", ","


# ---------------------------------------------------------------- base forms
def _stems(form):
    """Shorter forms a written form may come from, best first."""
    found = []
    for ending in ("s", "es", "d", "ed", "ing", "in", "y"):
        if form.endswith(ending) and len(form) - len(ending) >= 3:
            stem = form[:-len(ending)]
            found += [stem, stem + "e"] if ending not in ("s", "d") else [stem]
            if len(stem) > 3 and stem[-1] == stem[-2]:
                found.append(stem[:-1])
    return found


def _split(phrases):
    return [" ".join(phrase.split()) for phrase in phrases.split(",") if phrase.strip()]


def _phrase_tables():
    nested = (lists.SYMPTOMS, lists.CAUSES)
    for table in nested:
        for by_subtype in table.values():
            yield from by_subtype.values()
    for table in (lists.GOOD, lists.ONLY_DENIED, lists.CUES, lists.CONDITIONS, lists.AXLES, lists.SIDES, lists.JOINED):
        yield from table.values()
    yield from (lists.NOT_THIS, lists.NO, lists.NOT, lists.CANNOT_FIND, lists.SAY_NOT, lists.NOT_ONLY, lists.CURED, lists.BACK,
                lists.PAST, lists.IF, lists.BEWARE, lists.WHEN_NOT_WHETHER, lists.WORK_DONE, lists.TROUBLE)
    yield from lists.GROUPS.values()


@lru_cache(maxsize=None)
def _bases():
    """Every base form the lists use."""
    raw = set(lists.SPELLINGS) | set(lists.JOINED) | DENIALS
    for table in _phrase_tables():
        for slot in table.replace(",", " ").split():
            raw |= {word for word in slot.split("/") if word.isalpha()}
    for english in lists.OTHER_LANGUAGES:
        raw |= {word for word in english.split() if word.isalpha()}
    return {word for word in raw if not any(stem in raw for stem in _stems(word))}


@lru_cache(maxsize=None)
def _spellings():
    return {variant: base for base, variants in lists.SPELLINGS.items() for variant in variants.split()}


def _inflections(base):
    yield base
    yield from (base + "s", base + "ed", base + "ing")
    if base.endswith("e"):
        yield from (base + "d", base[:-1] + "ing")
    elif base[-1] in "bdgklmnpt":
        yield from (base + base[-1] + "ing", base + base[-1] + "ed")


def _one_letter_less(form):
    return {form[:i] + form[i + 1:] for i in range(len(form))}


@lru_cache(maxsize=None)
def _slips():
    """From each long word of the lists, with one letter taken out, to the words it may come from."""
    index = {}
    for base in _bases():
        if len(base) >= 5 and base not in lists.NEVER_CORRECTED_TO:
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
    for stem in _stems(form):
        stem = spellings.get(stem, stem)
        if stem in bases and form not in lists.REAL_WORDS:
            return stem
    if 5 <= len(form) <= 20 and form not in lists.REAL_WORDS:
        near = {pair for shorter in _one_letter_less(form) | {form} for pair in _slips().get(shorter, ())}
        near = sorted((form[0] != word[0], base) for word, base in near if _one_slip_apart(form, word))
        if near and not near[0][0]:
            return near[0][1]
    return form


# ---------------------------------------------------------------- phrases
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
                slots = self._slots(phrase)
                for key in slots[0][1]:
                    self.by_first.setdefault(key, []).append((slots, meaning))

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
                options |= {name if name[0] in "=$" else base_form(name) for name in group}
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
            if word.base in options or "=" + word.form in options:
                return here
            passable = word.base not in _NO_GAP_OVER if gap else (word.form in _FILLERS)
            skipped += 1
            if not passable or skipped > limit:
                return None
        return None

    def find(self, words):
        """All places: list of (meaning, tuple of word indexes)."""
        found = []
        for at, word in enumerate(words):
            for key in {word.base, "=" + word.form}:
                for slots, meaning in self.by_first.get(key, ()):
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


@lru_cache(maxsize=None)
def _translations():
    """First foreign word -> [(all its words, English words)], longest first."""
    table = {}
    for english, foreign in lists.OTHER_LANGUAGES.items():
        for phrase in (_split(foreign) if "," in foreign else foreign.split()):
            parts = tuple(phrase.split())
            table.setdefault(parts[0], []).append((parts, english.split()))
    return {first: sorted(options, key=lambda option: -len(option[0])) for first, options in table.items()}


@lru_cache(maxsize=None)
def _joined():
    return Phrases(((phrases, whole) for whole, phrases in lists.JOINED.items()), loose=False)


def _raw(text):
    """[(form, start, end)]: written words and separators; a contraction is two words."""
    tokens = []
    for match in _TOKEN.finditer(_fold(text)):
        form, start, end = match.group(), match.start(), match.end()
        if form.endswith("y") and text[end - 1] in "ýÝ" and len(form) > 1:      # a comma garbled on export
            tokens += [(form[:-1], start, end - 1), (",", end - 1, end)]
            continue
        if form == "-" and text[start - 1:end + 1].strip() == "-":
            form = ","
        plain = re.sub(r"['’`´?]", "", form) if len(form) > 1 else form
        if len(form) > len(plain) and plain not in _NOT_FORMS:
            plain = re.split(r"['’`´?]", form)[0]
        for part in _NOT_FORMS.get(plain, plain).split(" "):
            tokens.append((part, start, end))
    return tokens


def _translate(tokens):
    table, out, at = _translations(), [], 0
    forms = [token[0] for token in tokens]
    while at < len(tokens):
        form, start, end = tokens[at]
        for parts, english in table.get(form, ()):
            if tuple(forms[at:at + len(parts)]) == parts:
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

    Returns
    -------
    list of Word
    """
    run, words = 0, []
    for form, start, end in _translate(_raw(text)):
        if form in _NEW_SENTENCE or form in _NEW_CLAUSE:
            run += 1
            words.append(Word(form, form, start, end, run))
            run += 1
        elif form[0].isalnum() or form in _AND:
            words.append(Word(base_form(form), form, start, end, run))
    return _in_clauses(_join(words))


def _in_clauses(words):
    """Numbers clauses and sentences, and drops what parts them."""
    out, clause, sentence, after, filled = [], 0, 0, "", False
    for word in words:
        parts = word.form in _NEW_SENTENCE or word.form in _NEW_CLAUSE
        if parts or word.base in _BUT or word.base in _AND:
            clause += 1
            sentence += word.form in _NEW_SENTENCE
            kept = "" if filled else after
            after = "but" if "but" in (kept,) or word.base in _BUT else "and" if word.base in _AND or kept == "and" else ","
            filled = False
        else:
            out.append(Word(word.base, word.form, word.start, word.end, clause, sentence, after))
            filled = True
    return out
