"""Does a sound, a shake or a pull belong to the brakes, or to tyres, bearings, suspension, engine ...?"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import replace
from functools import cache

from . import words as lists
from .reading import Phrases

_BRAKE_PARTS = {"brake", "pad", "caliper", "rotor", "shoe", "drum"}
_OF_A_SPEED = {"at", "from", "to", "between", "over", "around", "above", "past", "about", "going", "exactly"}
_PULLED = set("the a my his her it this that out into in over off up away through onto handle bus train wheels trailer".split())
_DRIFTS = {"drift", "wander", "lead", "steer"}


@cache
def _cues():
    return Phrases((phrases, name) for name, phrases in lists.CUES.items())


@cache
def _where():
    tables = (("condition", lists.CONDITIONS), ("axle", lists.AXLES), ("side", lists.SIDES))
    return Phrases((phrases, (kind, name)) for kind, table in tables for name, phrases in table.items())


def where_and_when(words):
    """{("condition" | "axle" | "side", name): [(first, last) word index]} as the text says them."""
    found = {}
    for key, places in _where().find(words):
        found.setdefault(key, []).append((places[0], places[-1]))
    return found


class Setting:
    """What stands around a mention: braking or not, engine, bumps, tyres ..."""

    def __init__(self, words, mentions):
        self.words = words
        self.conditions = {name: spans for (kind, name), spans in where_and_when(words).items() if kind == "condition"}
        self.named = {
            words[at].clause
            for m in mentions
            if m.kind in ("symptom", "own")
            for at in m.places
            if m.status == "stands" or words[at].after != "and"
        }
        self.openers = {m.first for m in mentions if m.kind == "symptom" and m.status == "stands"}
        self.starts, self.ends = {}, {}
        for at, word in enumerate(words):
            self.starts.setdefault(word.clause, at)
            self.ends[word.clause] = at
        self.cues = self._told()

    def _told(self):
        """Cues by name as sorted (first, last); what is said of not braking or of brake work is not "braking"."""
        found = {}
        for name, places in _cues().find(self.words):
            found.setdefault(name, []).append(frozenset(places))
        longer = found.get("braking", ())
        found["not braking"] = [p for p in found.get("not braking", ()) if not any(p < other for other in longer)]

        def without(name, *others):
            used = set().union(*(p for other in others for p in found.get(other, ())))
            found[name] = [p for p in found.get(name, ()) if used.isdisjoint(p)]

        without("braking", "not braking", "brake work")
        for name in list(found):
            if name != "not a cue":
                without(name, "not a cue")
        return {name: sorted((min(p), max(p)) for p in spans) for name, spans in found.items()}

    def zone(self, mention):
        """(first, last) word index of what belongs to the mention: its clause and neighbours that name nothing."""
        low, high = self.words[mention.first].clause, self.words[mention.last].clause
        while high + 1 not in self.named and high < self.words[-1].clause:
            high += 1
        high += self._carried_on(mention, high)
        while low - 1 not in self.named and low > 0:
            low -= 1
        return min(self.starts[c] for c in range(low, high + 1) if c in self.starts), max(
            self.ends[c] for c in range(low, high + 1) if c in self.ends
        )

    def _carried_on(self, mention, clause):
        """1 where "and" joins the mention to the next one: "rumbling and shaking when braking"."""
        following = mention.last + 1
        return int(
            clause == self.words[mention.last].clause
            and following in self.openers
            and self.words[following].after == "and"
            and self.words[following].clause == clause + 1
        )

    @staticmethod
    def _inside(spans, zone):
        start = bisect_left(spans, (zone[0], -1))
        for first, last in spans[start:]:
            if first > zone[1]:
                return False
            if last <= zone[1]:
                return True
        return False

    def near(self, zone, *names):
        """True where a cue of these names stands within the zone."""
        return any(self._inside(self.cues.get(name, ()), zone) for name in names)

    def condition(self, zone, name):
        """True where the condition is told within the zone."""
        return self._inside(sorted(self.conditions.get(name, ())), zone)

    def anywhere(self, *names):
        """True where a cue of these names stands anywhere in the text."""
        return any(self.cues.get(name) for name in names)

    def _at_speed(self, zone):
        """A road speed told: "at 60", "from 55 to 65"."""
        return any(
            word.base.isdecimal()
            and len(word.base) <= 3
            and 35 <= int(word.base) <= 140
            and self.words[at - 1].base in _OF_A_SPEED
            for at, word in enumerate(self.words[zone[0] + 1 : zone[1] + 1], zone[0] + 1)
        )

    def _slowing(self, zone):
        """Two speeds, the second well below the first: "from 55 to 20", "50-30"."""
        speeds = [
            (at, int(word.base))
            for at, word in enumerate(self.words[zone[0] : zone[1] + 1], zone[0])
            if word.base.isdecimal() and len(word.base) <= 3
        ]
        return any(
            35 <= first <= 140
            and second <= 0.75 * first
            and all(word.form in ("to", "down", "mph", "km", "kmh", "until") for word in self.words[at + 1 : later])
            for (at, first), (later, second) in zip(speeds, speeds[1:], strict=False)
        )

    def braking(self, mention, zone):
        """Whether it comes with braking.

        Returns
        -------
        str
            ``yes``, ``no``, ``always`` (at speed or all the time), ``text`` (braking is told elsewhere), ``work`` (only
            brake work is told) or empty.
        """
        if mention.category == "noise" and mention.subtype not in ("hum", "whine", "unspecified") and self.near(zone, "silenced"):
            return "yes"
        if self.near(zone, "not braking"):
            return "no"
        if (
            mention.first
            and self.words[mention.first - 1].base in _BRAKE_PARTS
            or self.near(zone, "braking")
            or self._slowing(zone)
        ):
            return "yes"
        if self.near(zone, "always", "speed") or self._at_speed(zone):
            return "always"
        return "text" if self.anywhere("braking") else "work" if self.anywhere("brake work") else ""


def place(words, mentions):
    """Gives sounds, shakes and pulls the category they belong to.

    Parameters
    ----------
    words : list of Word
    mentions : list of Mention, with status

    Returns
    -------
    list of Mention
    """
    setting = Setting(words, mentions)
    told, out = _brakes_told(mentions), []
    for mention in mentions:
        placed = mention.kind == "symptom" or mention.kind == "cause" and mention.category == "drag"
        if placed and mention.status == "stands" and mention.category in _PLACED:
            zone = setting.zone(mention)
            link = setting.braking(mention, zone)
            category, subtype = _PLACED[mention.category](mention, link, setting, zone, told)
            mention = replace(mention, category=category, subtype=subtype)
        if mention.category != "none":
            out.append(mention)
    return _absorb(words, out)


def _brakes_told(mentions):
    """True where the text names a brake symptom that needs no setting, or denies one, or a brake measurement."""
    return any(
        (
            m.kind in ("symptom", "own")
            and m.status == "stands"
            and (m.category in ("pedal", "parking-brake") or m.subtype in ("squeal", "grind", "pedal-pulse", "judder"))
        )
        or (m.kind == "cause" and m.category == "pulsation")
        or (m.kind == "symptom" and m.status == "denied" and m.category in ("pulsation", "pull", "pedal"))
        for m in mentions
    )


def _sound(mention, link, setting, zone, told):
    family = mention.subtype

    def near(*names):
        return setting.near(zone, *names)

    if family in ("wear-indicator", "double-negative"):
        return "noise", family
    if family not in ("squeal", "scrape") and near("first metres") and near("engine", "abs"):
        return "noise", "groan-abs"
    if link != "yes":
        for cue, subtype in (("bearing", "wheel-bearing"), ("lugs", "wheel-nut"), ("engine", "belt")):
            if near(cue) and not (cue == "bearing" and family == "scrape"):
                return "other", subtype
        if near("tyre"):
            return "other", "tyre"
        if not link and setting.anywhere("engine"):
            return "other", "not-brakes"
        if near("bumps", "suspension") or (family in ("groan", "clunk", "squeal") and near("turning")):
            return "other", "suspension"
        if family == "grind" and (near("turning") or link == "no"):
            return "other", "wheel-bearing"
    if family == "whine" and link in ("yes", "text"):
        return "noise", _squeal_kind(setting, zone)
    if family in ("hum", "whine"):
        return ("noise", "shudder-sound") if link == "yes" else ("other", "wheel-bearing")
    if family in ("squeal", "grind", "groan", "scrape"):
        return "noise", _squeal_kind(setting, zone) if family == "squeal" else family
    if link in ("yes", "text", "work") or told:
        return "noise", {"clunk": "clunk-brake", "buzz": "groan-abs"}.get(family, family)
    return "other", "ambiguous"


def _squeal_kind(setting, zone):
    if setting.near(zone, "silenced"):
        return "wear-indicator"
    kinds = (("wet", "squeal-damp"), ("cold", "squeal-cold"))
    return next((kind for condition, kind in kinds if setting.condition(zone, condition)), "squeal")


def _shake(mention, link, setting, zone, told):
    subtype = "judder" if mention.subtype == "unspecified" else mention.subtype
    if link == "no":
        return "other", "balance"
    sure = ("judder",) if link == "always" else ("judder", "rear-pulse")
    if link == "yes" or subtype == "pedal-pulse" or mention.subtype in sure:
        return "pulsation", subtype
    if link == "always" and (setting.near(zone, "always") or not setting.anywhere("brake work")):
        return "other", "balance"
    if setting.near(zone, "tyre", "balance", "bumps", "suspension"):
        return "other", "balance"
    return ("pulsation", subtype) if link or told else ("other", "ambiguous")


def _pull(mention, link, setting, zone, told):
    words = [setting.words[at] for at in mention.places]
    following = setting.words[mention.last + 1 : mention.last + 2]
    if len(words) == 1 and following and following[0].form in _PULLED:
        return "none", ""
    if link in ("no", "always") or link != "yes" and (setting.near(zone, "alignment") or any(w.base in _DRIFTS for w in words)):
        return "other", "alignment"
    if link != "yes" and setting.anywhere("suspension"):
        return "other", "suspension"
    bases = {word.base for word in words}
    side = "left" if bases & {"left", "l", "nearside"} else "right" if bases & {"right", "r", "offside"} else "pull"
    return "pull", "right-cold" if side == "right" and setting.condition(zone, "cold") else side


def _vague(mention, link, setting, zone, told):
    """A leak, a smell, smoke, a lamp: of the brakes unless the text tells only of other things."""
    brakes = link in ("yes", "text", "work") or told or setting.anywhere("braking", "brake work", "wheel")
    loose = len(mention.places) == 1 or mention.subtype == "unnamed" or mention.kind == "cause"
    if loose and not brakes and setting.anywhere("elsewhere"):
        return "other", "not-brakes"
    return mention.category, "brake-red" if mention.subtype == "unnamed" else mention.subtype


_PLACED = {"noise": _sound, "pulsation": _shake, "pull": _pull, "leak": _vague, "drag": _vague, "warning-light": _vague}


# ---------------------------------------------------------------- one thing told with several words
_OF_PARKBRAKE = {"off", "released", "still"}
_CORNERS = {"one", "lf", "rf", "lr", "rr", "left", "right", "front", "rear", "wheel"}
_SUBJECTS = _BRAKE_PARTS | {"wheel", "pedal", "hub"}


def _absorb(words, mentions):
    """Leaves out a mention that only describes another one of its clause."""
    clauses = {}
    for mention in mentions:
        if mention.status == "stands" and mention.kind == "symptom":
            for at in mention.places:
                clauses.setdefault(words[at].clause, set()).add((mention.category, mention.subtype))
    false_abs = any(m.kind == "symptom" and m.subtype == "abs" and m.status == "stands" for m in mentions)
    pulls = any(m.category == "pull" and m.status == "stands" for m in mentions)
    openings = _openings(words)
    out = []
    for mention in mentions:
        if mention.status == "stands" and mention.kind == "symptom":
            beside = set().union(*(clauses[words[at].clause] for at in mention.places)) - {(mention.category, mention.subtype)}
            subject = openings[words[mention.first].clause][0].base
            if _described(mention, {category for category, _ in beside}, beside, pulls, subject):
                continue
            if mention.subtype == "pedal-pulse" and false_abs:
                mention = replace(mention, category="pedal", subtype="grabby")
            if mention.category in ("drag", "pedal") and _of_parkbrake(words, openings, mention):
                mention = replace(mention, category="parking-brake", subtype="stuck" if mention.category == "drag" else "travel")
        out.append(mention)
    return out


def _described(mention, categories, beside, pulls, subject):
    if mention.subtype in ("grabby", "no-brakes") and pulls and subject in _CORNERS:
        return True
    return (
        "parking-brake" in categories
        and mention.category in ("noise", "drag", "pedal", "warning-light", "other")
        or mention.subtype == "grabby"
        and categories & {"pulsation", "pull"}
        or mention.category == "noise"
        and "leak" in categories
        or mention.category in ("noise", "pulsation")
        and ("other", "wheel-nut") in beside
    )


def _openings(words):
    """{clause: [its words]}"""
    clauses = {}
    for word in words:
        clauses.setdefault(word.clause, []).append(word)
    return clauses


def _of_parkbrake(words, clauses, mention):
    """As in "park brake stays down, wont release": said of the parking brake, not of the brakes."""
    own = clauses[words[mention.first].clause]
    bases = {word.base for word in own[:20]}
    if "parkbrake" in bases:
        return not _OF_PARKBRAKE & bases and all(words[at].base != "parkbrake" for at in mention.places)
    before = clauses.get(own[0].clause - 1, ())
    no_subject = own[0].base in ("not", "will", "stay", "stick", "freeze", "hang") or (
        own[0] is words[mention.first] and own[0].base not in _SUBJECTS
    )
    return bool(before) and before[0].base == "parkbrake" and before[0].sentence == own[0].sentence and no_subject
