"""Symptoms named in a text, before it is asked whether they stand."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from . import words as lists
from .reading import Phrases, known


@dataclass(frozen=True)
class Mention:
    """A symptom named in the text: what, at which words, and whether it stands."""

    kind: str  # symptom; cause (found by a technician); good; vague; own (the shop's word)
    category: str
    subtype: str
    places: tuple  # indexes of the words it rests on
    status: str = "stands"  # stands, denied, past, supposed

    @property
    def first(self):
        """Index of its first word."""
        return self.places[0]

    @property
    def last(self):
        """Index of its last word."""
        return self.places[-1]


def _nested(kind, table):
    for category, by_subtype in table.items():
        for subtype, phrases in by_subtype.items():
            yield phrases, (kind, category, subtype)


def _flat(kind, table):
    for category, phrases in table.items():
        yield phrases, (kind, category, "")


@cache
def _our_phrases():
    return Phrases(
        [
            *_nested("symptom", lists.SYMPTOMS),
            *_nested("cause", lists.CAUSES),
            *_flat("good", lists.GOOD),
            *_flat("vague", lists.ONLY_DENIED),
            (lists.NOT_THIS, ("ignore", "", "")),
        ]
    )


def own_phrases(words):
    """The shop's own words as phrases.

    Parameters
    ----------
    words : mapping of str to list of str
        Category, or ``category/subtype``, or ``ignore``, to phrases.

    Raises
    ------
    ValueError
        A key is not a category, or a value is not a list of phrases.
    """
    entries = []
    for key, phrases in words.items():
        category, _, subtype = str(key).partition("/")
        if category not in lists.CATEGORIES + ("ignore",):
            raise ValueError(f"symptoms: the word list {key!r} is not one of {', '.join(lists.CATEGORIES)} or ignore; rename it.")
        if isinstance(phrases, str) or not all(isinstance(phrase, str) and phrase.strip(" ,.^$") for phrase in phrases):
            raise ValueError(f'symptoms: the words under {key!r} must be a list of texts, such as ["yelp"].')
        kind = "ignore" if category in ("ignore", "none") else "own"
        entries += [(phrase.lower().replace(",", " "), (kind, category, subtype or "own word")) for phrase in phrases]
    return Phrases(entries)


def find_mentions(words, own=None):
    """The symptoms named: longest phrase first, no word used twice, the shop's words before ours.

    Parameters
    ----------
    words : list of Word
    own : Phrases, optional
        The shop's own words.

    Returns
    -------
    list of Mention, in the order of the text
    set of int
        Indexes of the words that only look like a symptom.
    """
    ranked = [(True, meaning, places) for meaning, places in _our_phrases().find(words)]
    ranked += [(False, meaning, places) for meaning, places in (own.find(words) if own else ())]
    ranked.sort(key=lambda r: (r[0], -len(r[2]), r[2][-1] - r[2][0], r[2][0], r[1][0] != "symptom"))
    taken, ignored, mentions = set(), set(), []
    for _, (kind, category, subtype), places in ranked:
        if taken.isdisjoint(places):
            taken.update(places)
            if kind == "ignore":
                ignored.update(places)
            else:
                mentions.append(Mention(kind, category, subtype, places))
    mentions += _imitated(words, taken)
    return sorted(mentions, key=lambda mention: mention.first), ignored


def _imitated(words, taken):
    """Sounds written as heard: "womp womp", "eeeee"."""
    for at, word in enumerate(words):
        plain = re.sub(r"(.)\1+", r"\1", word.form)
        if at in taken or not word.form.isalpha() or known(word.base) or known(plain):
            continue
        repeated = at + 1 < len(words) and words[at + 1].form == word.form and len(word.form) > 2
        if repeated or re.search(r"(.)\1\1", word.form):
            yield Mention("symptom", "noise", "unspecified", (at,))
            taken.update((at, at + 1))
