"""From the mentions of a text to the one answer."""

from __future__ import annotations

from functools import cache

from . import words as lists
from .belonging import where_and_when
from .reading import Phrases

_SHORT = 25  # words; in a longer text single words point to nothing
_SIDE_REMARKS = ("appearance", "recall", "wildlife", "not-brakes", "ambiguous", "alignment", "stop-lamp")


def conclude(words, mentions):
    """Category, subtype, negated, further categories, and the word indexes the answer rests on; None where nothing is named."""
    standing = [m for m in mentions if m.status == "stands" and m.kind in ("symptom", "own")]
    told = _without_side_remarks(standing) or [m for m in mentions if m.status == "stands" and m.kind == "cause"]
    denying = [m for m in mentions if _denies(words, m)]
    denied = {m.category for m in denying}
    if told:
        categories = tuple(dict.fromkeys(m.category for m in told))
        same = [m for m in told if m.category == categories[0]]
        subtype = next((m.subtype for m in same if m.subtype not in ("unspecified", "ambiguous")), same[0].subtype)
        negated = "partial" if denied - set(categories) else "no"
        return categories[0], subtype, negated, categories[1:], _places(told)
    if denied:
        return "none", _none_kind(denying, denied), "yes", (), _places(denying)
    return None


def _places(mentions):
    return sorted({at for mention in mentions for at in mention.places})


def _denies(words, mention):
    if mention.kind == "good":
        if mention.status != "stands" or words[mention.first].after == "then":
            return False
        clause = words[mention.last].clause
        following = [word.base for word in words[mention.last + 1 : mention.last + 5] if word.clause == clause]
        return not (following and following[0] in lists.SOMETIMES) or not lists.REPAIRS.isdisjoint(following)
    return mention.status != "stands" and mention.kind != "cause" and mention.category != "other"


def _without_side_remarks(mentions):
    """Leaves out what is no trouble of its own beside a brake symptom: looks, a recall asked about."""
    brakes = any(m.category != "other" for m in mentions)
    return [m for m in mentions if not (brakes and m.category == "other" and m.subtype in _SIDE_REMARKS)]


def _none_kind(mentions, denied):
    status = {m.status for m in mentions}
    if status == {"supposed"}:
        return "hypothetical"
    if "past" in status:
        return "past"
    return "all-denied" if len(denied) > 1 else f"{min(denied)}-denied"


# ---------------------------------------------------------------- nothing named
@cache
def _hints():
    return Phrases(
        [
            *((phrases, name) for name, phrases in lists.HINTS.items()),
            (lists.WORK_ASKED, "work asked"),
            (lists.TROUBLE, "trouble"),
            (lists.NO_TROUBLE, "no trouble"),
            ("when/if/while/under/on .. =braking/brake/stop/slow", "braking"),
        ]
    )


def guess(words, ignored):
    """Category, subtype and word indexes where no symptom is named: what the words point to, trouble unknown, or only work."""
    found = {}
    for name, places in _hints().find(words):
        if ignored.isdisjoint(places):
            found.setdefault(name, []).append(places)
    denied = {at for places in found.get("no trouble", ()) for at in places}
    if denied and all(not denied.isdisjoint(places) for places in found.get("trouble", ())):
        found.pop("trouble", None)
    work_asked = "work asked" in found

    def rests_on(*names):
        return sorted({at for name in names for places in found.get(name, ()) for at in places})

    pointed = [name for name in lists.HINTS if name in found and len(words) <= _SHORT]
    if pointed and not work_asked:
        best = max(pointed, key=lambda name: len(found[name]))
        return best, "unspecified", rests_on(best)
    if "trouble" in found or "braking" in found and not work_asked:
        return "other", "ambiguous", rests_on("trouble", "braking")
    if not work_asked and len(words) > 1 and words[0].base == "brake" and all(word.base.isalpha() for word in words):
        return "pedal", "unspecified", [0]
    return "none", "service", []


@cache
def _looked():
    return Phrases([(lists.CANNOT_FIND, "not found"), (lists.CONFIRMED, "confirmed"), ("roadtest", "roadtest")])


def found(words, negated):
    """Whether somebody looked for what was told: ``confirmed``, ``not found`` or empty."""
    said = {name for name, _ in _looked().find(words)}
    if "not found" in said or "roadtest" in said and negated == "yes":
        return "not found"
    return "confirmed" if "confirmed" in said else ""


def where(words):
    """(axle, side, conditions) as the text says them; "" where it says nothing or both."""
    found = where_and_when(words)

    def only(kind):
        names = [name for key, name in found if key == kind]
        return names[0] if len(names) == 1 else ""

    return only("axle"), only("side"), tuple(name for name in lists.CONDITIONS if ("condition", name) in found)
