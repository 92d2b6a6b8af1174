"""Complaint and technician notes to symptoms: `read` for one text, `read_all` for a column.

The words are in `brakedata.symptoms.words`; a shop adds its own with the argument `words`.
"""

from __future__ import annotations

from dataclasses import dataclass

from .belonging import place
from .mentions import find_mentions, own_phrases
from .reading import read_words
from .standing import judge
from .verdict import conclude, found, guess, where
from .words import CATEGORIES

__all__ = ["CATEGORIES", "Symptoms", "read", "read_all"]


@dataclass(frozen=True)
class Symptoms:
    """What one text says.

    Attributes
    ----------
    category : str
        One of `CATEGORIES`: the complaint named first; ``other`` is no brake complaint, ``none`` no complaint.
    subtype : str
        The kind within the category, such as squeal, pedal-pulse, left.
    negated : str
        ``no``; ``partial`` (a further symptom is named only to deny it); ``yes`` (symptoms are named, and all of them
        denied, past, fixed or only supposed).
    also_category : tuple of str
        Further categories, in the order told.
    words : tuple of str
        The words of the text the answer rests on, as written.
    axle, side : str
        ``front``, ``rear``; ``left``, ``right``; empty where the text does not say, or says both.
    conditions : tuple of str
        When it happens: cold, hot, wet, reverse, light braking, ...
    found : str
        Whether somebody looked: ``confirmed``, ``not found``, or empty.
    """

    category: str
    subtype: str
    negated: str = "no"
    also_category: tuple = ()
    words: tuple = ()
    axle: str = ""
    side: str = ""
    conditions: tuple = ()
    found: str = ""


def read(text, words=None):
    """Reads one complaint or note.

    Parameters
    ----------
    text : str or None
        As written, in any case; None and other blanks count as empty.
    words : mapping of str to list of str, optional
        The shop's own words by category (or ``category/subtype``, or ``ignore``); they come before ours.

    Returns
    -------
    Symptoms

    Raises
    ------
    ValueError
        `words` names no known category.
    """
    return _read(text, own_phrases(words) if words else None)


def read_all(texts, words=None):
    """Reads a column of texts, each distinct text once.

    Parameters
    ----------
    texts : iterable of str or None, n texts
    words : as for `read`

    Returns
    -------
    list of Symptoms, n long, in the order of `texts`
    """
    own = own_phrases(words) if words else None
    known = {}
    answers = []
    for text in texts:
        key = text if isinstance(text, str) else None
        if key not in known:
            known[key] = _read(text, own)
        answers.append(known[key])
    return answers


def _read(text, own):
    said = read_words(text) if isinstance(text, str) else []
    if not said:
        return Symptoms("none", "service")
    mentions, ignored = find_mentions(said, own)
    answer = conclude(said, place(said, judge(said, mentions)))
    if answer is None:
        category, subtype, places = guess(said, ignored)
        answer = category, subtype, "no", (), places
    category, subtype, negated, further, places = answer
    spans = sorted({(said[at].start, said[at].end) for at in places})
    written = tuple(dict.fromkeys(text[start:end] for start, end in spans))
    axle, side, conditions = where(said)
    return Symptoms(category, subtype, negated, further, written, axle, side, conditions, found(said, negated))
