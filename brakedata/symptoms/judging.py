"""What a text says: which symptoms stand, which are denied, past or only supposed, and what they belong to."""
from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from . import words as lists
from .reading import DENIALS, Phrases, base_form

SOUNDS = {"squeal", "grind", "groan", "buzz", "clunk", "rattle", "scrape", "hum"}


@dataclass(frozen=True)
class Mention:
    """A symptom named in the text: what, at which words, and whether it stands."""
    kind: str                # symptom, cause, good, vague, own (the shop's word)
    category: str
    subtype: str
    places: tuple
    status: str = "stands"   # stands, denied, past, supposed

    @property
    def first(self):
        return self.places[0]

    @property
    def last(self):
        return self.places[-1]


# ---------------------------------------------------------------- the lists, made ready once
def _nested(kind, table):
    for category, by_subtype in table.items():
        for subtype, phrases in by_subtype.items():
            yield phrases, (kind, category, subtype)


def _flat(kind, table):
    for category, phrases in table.items():
        yield phrases, (kind, category, "")


@lru_cache(maxsize=None)
def _symptom_phrases():
    entries = [*_nested("symptom", lists.SYMPTOMS), *_nested("cause", lists.CAUSES), *_flat("good", lists.GOOD),
               *_flat("vague", lists.ONLY_DENIED), (lists.NOT_THIS, ("ignore", "", ""))]
    return Phrases(entries)


@lru_cache(maxsize=None)
def _cue_phrases():
    return Phrases((phrases, name) for name, phrases in lists.CUES.items())


@lru_cache(maxsize=None)
def _scope_phrases():
    return Phrases([(lists.NO, "no"), (lists.NOT, "not"), (lists.CANNOT_FIND, "cannot find"), (lists.SAY_NOT, "say not"),
                    (lists.NOT_ONLY, "not only"), (lists.CURED, "cured"), (lists.BACK, "back"), (lists.PAST, "past"),
                    (lists.IF, "if"), (lists.BEWARE, "beware"), (lists.WHEN_NOT_WHETHER, "when"), (lists.WORK_DONE, "work"),
                    (lists.TROUBLE, "trouble")])


@lru_cache(maxsize=None)
def _where_phrases():
    tables = (("condition", lists.CONDITIONS), ("axle", lists.AXLES), ("side", lists.SIDES))
    return Phrases((phrases, (kind, name)) for kind, table in tables for name, phrases in table.items())


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
        if isinstance(phrases, str) or not all(isinstance(phrase, str) and phrase.strip() for phrase in phrases):
            raise ValueError(f"symptoms: the words under {key!r} must be a list of texts, such as [\"yelp\"].")
        kind = "ignore" if category in ("ignore", "none") else "own"
        entries += [(" ".join(_written(phrase)), (kind, category, subtype or "own word")) for phrase in phrases]
    return Phrases(entries)


def _written(phrase):
    return phrase.lower().replace(",", " ").split()


# ---------------------------------------------------------------- mentions
def find_mentions(words, own=None):
    """The symptoms named, longest phrase first, no word used twice; the shop's words before ours."""
    found = [(meaning, places) for meaning, places in _symptom_phrases().find(words)]
    ranked = [(1, len(places), meaning, places) for meaning, places in found]
    if own is not None:
        ranked += [(0, len(places), meaning, places) for meaning, places in own.find(words)]
    ranked.sort(key=lambda r: (r[0], -r[1], r[3][-1] - r[3][0], r[3][0], r[2][0] != "symptom"))
    taken, mentions = set(), []
    for _, _, (kind, category, subtype), places in ranked:
        if taken.isdisjoint(places):
            taken.update(places)
            if kind != "ignore":
                mentions.append(Mention(kind, category, subtype, places))
    return sorted(mentions, key=lambda mention: mention.first)


# ---------------------------------------------------------------- does it stand?
class Scope:
    """Denials, suppositions and cures of one text, and what they reach."""

    def __init__(self, words, mentions):
        self.words, self.mentions = words, mentions
        self.named = {place for mention in mentions for place in mention.places}
        self.marks = {}
        found = sorted(_scope_phrases().find(words), key=lambda f: -len(f[1]))
        taken = set()
        for name, places in found:
            used = set(places) & self.named and name in ("no", "not", "cannot find", "say not")
            if name in ("no", "not", "cannot find", "say not", "not only"):
                if used or not taken.isdisjoint(places):
                    continue
                taken.update(places)
            self.marks.setdefault(name, []).append(places)

    def _marks(self, *names):
        return [places for name in names for places in self.marks.get(name, ())]

    def _clause(self, at):
        return self.words[at].clause

    def _passable(self, start, end):
        """True where only words a denial reaches across stand between."""
        return all(place in self.named or word.base in lists.TRANSPARENT or word.form in lists.TRANSPARENT
                   or not word.base.isalpha()
                   for place, word in enumerate(self.words[start:end], start))

    def _same_sentence_no_but(self, one, other):
        a, b = sorted((one, other))
        if self.words[a].sentence != self.words[b].sentence:
            return False
        return not any(word.after == "but" and word.clause != self.words[a].clause for word in self.words[a:b + 1])

    # -- denial
    def denials_before(self, mention):
        count = 0
        for places in self._marks("no", "not"):
            if places[-1] < mention.first and self._clause(places[-1]) == self._clause(mention.first):
                count += self._passable(places[-1] + 1, mention.first)
        for places in self._marks("cannot find", "say not"):
            if places[-1] < mention.first and self._same_sentence_no_but(places[0], mention.first):
                count += 1
        return count

    def denied_after(self, mention, until):
        """A cure or "not found" said of the mention, before the next one (`until`)."""
        for places in self._marks("cured"):
            if mention.last < places[0] < until and not self.named & set(places) and self._is_cure(mention, places):
                return True
        return False

    def _is_cure(self, mention, places):
        words, end = self.words, places[-1]
        if words[places[0]].sentence > words[mention.last].sentence + 1:
            return False
        following = [word.base for word in words[end + 1:end + 4] if word.clause == words[end].clause]
        if following[:1] and following[0] in ("when", "once", "until", "if", "with", "for", "in", "above", "below", "while", "as"):
            return False
        if following[:1] == ["after"]:
            return not any(base in ("stop", "mile", "minute", "warm", "few", "couple", "km", "while") for base in
                           [w.base for w in words[end + 1:end + 6]])
        before = {word.base for word in words[max(0, places[0] - 3):places[0]] if word.clause == words[places[0]].clause}
        return not before & DENIALS and not (before & {"then", "until"})

    def back_again(self, mention, until):
        return any(mention.last < places[0] < until and not self.named & set(places) for places in self._marks("back"))

    # -- supposed, past
    def supposed(self, mention):
        for places in self._marks("if"):
            if places[-1] < mention.first and not self._is_when(places) and \
                    (self._clause(places[0]) == self._clause(mention.first)
                     or (self._same_sentence_no_but(places[0], mention.first) and self.words[places[0]].base != "if")):
                return True
        return any(places[-1] < mention.first and self._clause(places[0]) == self._clause(mention.first)
                   and self._passable(places[-1] + 1, mention.first) for places in self._marks("beware"))

    def _is_when(self, places):
        return any(set(places) & set(other) for other in self._marks("when"))

    def past(self, mention):
        return any(places[-1] < mention.first and self._clause(places[0]) == self._clause(mention.first)
                   for places in self._marks("past"))


def judge(words, mentions):
    """Gives every mention its status."""
    scope = Scope(words, mentions)
    judged = []
    for number, mention in enumerate(mentions):
        until = mentions[number + 1].first if number + 1 < len(mentions) else len(words)
        judged.append(replace(mention, status=_status(scope, mention, until)))
    return _carry_lists(words, _not_found_later(scope, judged))


def _status(scope, mention, until):
    count = scope.denials_before(mention)
    if scope.denied_after(mention, until) and not scope.back_again(mention, until):
        count += 1
    if count % 2:
        return "denied"
    if scope.supposed(mention):
        return "supposed"
    if scope.past(mention) and not count:
        return "past"
    return "stands"


def _carry_lists(words, mentions):
    """"no noise, pull or vibration": a denial or supposition carries through the list."""
    out = []
    for mention in mentions:
        before = out[-1] if out else None
        if before and mention.status == "stands" and before.status in ("denied", "supposed", "past") and before.kind != "good":
            between = words[before.last + 1:mention.first]
            same_clause = words[before.last].clause == words[mention.first].clause
            listed = any(word.base in ("or", "nor") for word in between) or _closes_list(words, before, mention)
            plain = all(word.base in lists.TRANSPARENT or word.form in lists.TRANSPARENT for word in between)
            if plain and listed and words[mention.first].after != "but" and \
                    (same_clause or words[mention.first].clause == words[before.last].clause + 1):
                mention = replace(mention, status=before.status)
        out.append(mention)
    return out


def _closes_list(words, before, mention):
    """A bare word after a comma or "and", or a list that ends in "or"."""
    if words[mention.first].clause == words[before.last].clause:
        return False
    clause = [word for word in words if word.clause == words[mention.first].clause]
    rest = [word for word in words[mention.last + 1:] if word.clause == words[mention.first].clause]
    bare = words[mention.first].form in lists.BARE_NAMES
    return bare and (any(word.base in ("or", "nor") for word in clause) or all(
        word.base in ("roadtest", "felt", "feel", "note", "hear", "find", "on", "now", "at", "during", "all", "present") for word in rest))


def _not_found_later(scope, mentions):
    """"squeal - could not duplicate": a check that found nothing answers what was named before it."""
    out = list(mentions)
    for places in scope._marks("cannot find"):
        later = [m for m in mentions if m.first > places[-1] and scope._same_sentence_no_but(places[0], m.first)]
        if not later:
            for number, mention in enumerate(out):
                if mention.last < places[0] and mention.status == "stands" and mention.kind in ("symptom", "own"):
                    out[number] = replace(mention, status="denied")
    return out


# ---------------------------------------------------------------- what does it belong to?
class Setting:
    """What stands around a mention: braking or not, engine, bumps, tyres ..."""

    def __init__(self, words, mentions):
        self.words, self.mentions = words, mentions
        self.cues = {}
        for name, places in _cue_phrases().find(words):
            self.cues.setdefault(name, []).append(set(places))
        spoken_for = [places for name in ("not braking", "brake work") for places in self.cues.get(name, ())]
        self.cues["braking"] = [p for p in self.cues.get("braking", ()) if all(p.isdisjoint(other) for other in spoken_for)]

    def zone(self, mention):
        """Word indexes that belong to the mention: its clause and neighbouring clauses that name nothing."""
        named = {self.words[place].clause for m in self.mentions if m.kind in ("symptom", "own") for place in m.places}
        own = {self.words[place].clause for place in mention.places}
        low, high = min(own), max(own)
        while high + 1 not in named and high < self.words[-1].clause:
            high += 1
        while low - 1 not in named and low > 0:
            low -= 1
        return {at for at, word in enumerate(self.words) if low <= word.clause <= high}

    def near(self, zone, *names):
        return any(places <= zone for name in names for places in self.cues.get(name, ()))

    def anywhere(self, *names):
        return any(self.cues.get(name) for name in names)

    def braking(self, mention, zone):
        """"yes", "no", "always" (goes on without braking), "text" (braking named elsewhere), "work" (only brake work) or ""."""
        clause = {at for at in zone if self.words[at].clause == self.words[mention.first].clause}
        if self.near(zone, "not braking"):
            return "no"
        if self.near(clause, "braking") or self.near(zone, "braking"):
            return "yes"
        if self.near(zone, "always", "speed"):
            return "always"
        return "text" if self.anywhere("braking") else "work" if self.anywhere("brake work") else ""


def place(words, mentions):
    """Gives sounds, shakes and pulls the category they belong to."""
    setting = Setting(words, mentions)
    brakes_told = any(m.category not in ("other", "none") and m.status == "stands" and m.kind in ("symptom", "own")
                      and m.subtype not in ("unspecified", "hum", "clunk", "rattle") for m in mentions)
    out = []
    for mention in mentions:
        if mention.kind == "symptom" and mention.status == "stands":
            zone = setting.zone(mention)
            link = setting.braking(mention, zone)
            if mention.category == "noise":
                mention = _moved(mention, _sound(mention.subtype, link, setting, zone, brakes_told))
            elif mention.category == "pulsation":
                mention = _moved(mention, _shake(mention.subtype, link, setting, zone, brakes_told))
            elif mention.category == "pull":
                mention = _moved(mention, _pull(words, mention, link, setting, zone))
        out.append(mention)
    return _absorb(words, out)


def _moved(mention, place_):
    return replace(mention, category=place_[0], subtype=place_[1])


def _sound(family, link, setting, zone, brakes_told):
    near = lambda *names: setting.near(zone, *names)
    if family == "wear-indicator":
        return "noise", family
    if family in ("buzz", "grind", "groan", "clunk", "hum", "unspecified") and near("first metres") and near("engine"):
        return "noise", "groan-abs"
    if link != "yes":
        for cue, subtype in (("bearing", "wheel-bearing"), ("lugs", "wheel-nut"), ("engine", "belt")):
            if near(cue) and not (cue == "bearing" and family in ("squeal", "scrape") and not near("bearing")):
                return "other", subtype
        if near("tyre"):
            return "other", "tyre"
        if near("bumps", "suspension") or (family in ("groan", "clunk") and near("turning")):
            return "other", "suspension"
        if family == "grind" and (near("turning") or link == "no"):
            return "other", "wheel-bearing"
    if family == "hum":
        return ("noise", "shudder-sound") if link == "yes" else ("other", "wheel-bearing")
    if family in ("squeal", "grind", "groan", "scrape"):
        return "noise", _squeal_kind(setting, zone) if family == "squeal" else family
    if link in ("yes", "text", "work") or brakes_told:
        return "noise", {"clunk": "clunk-brake", "buzz": "groan-abs"}.get(family, family)
    return "other", "ambiguous"


def _squeal_kind(setting, zone):
    if setting.near(zone, "silenced"):
        return "wear-indicator"
    here = {name for (kind, name), places in _where_phrases().find(setting.words) if kind == "condition" and set(places) <= zone}
    return "squeal-damp" if "wet" in here else "squeal-cold" if "cold" in here else "squeal"


def _shake(subtype, link, setting, zone, brakes_told):
    certain = subtype in ("judder", "pedal-pulse")
    if link == "no":
        return "other", "balance"
    if certain or link == "yes":
        return "pulsation", "judder" if subtype == "unspecified" else subtype
    if link == "always" and not (setting.anywhere("brake work") and not setting.near(zone, "always")):
        return "other", "balance"
    if setting.near(zone, "tyre", "balance", "bumps", "suspension"):
        return "other", "balance"
    if link in ("text", "work", "always") or brakes_told:
        return "pulsation", "judder" if subtype == "unspecified" else subtype
    return "other", "ambiguous"


def _pull(words, mention, link, setting, zone):
    drifts = any(words[place].base in ("drift", "wander", "lead", "steer") for place in mention.places)
    if link == "no" or (link != "yes" and setting.near(zone, "alignment")):
        return "other", "alignment"
    if link == "always" or (drifts and link != "yes"):
        return "other", "alignment"
    if link != "yes" and setting.anywhere("suspension"):
        return "other", "suspension"
    side = next((side for side in ("left", "right") if any(_names(words[at], side) for at in mention.places)), "")
    cold = any(kind == "condition" and name == "cold" and set(places) <= zone
               for (kind, name), places in _where_phrases().find(words))
    return "pull", "right-cold" if side == "right" and cold else side or "pull"


def _names(word, side):
    return word.base in (side, {"left": "nearside", "right": "offside"}[side]) or word.form == side[0]


def _absorb(words, mentions):
    """One thing told with several words is one mention."""
    def clauses(mention):
        return {words[place].clause for place in mention.places}

    out = []
    for mention in mentions:
        others = [m for m in mentions if m is not mention and m.status == mention.status and clauses(m) & clauses(mention)]
        swallowed = any(
            (m.category == "parking-brake" and mention.category in ("noise", "drag", "pedal", "warning-light", "other"))
            or (m.category == "leak" and mention.category == "noise")
            or (m.category == "other" and m.subtype == "wheel-nut" and mention.category in ("noise", "pulsation"))
            for m in others if m.kind == "symptom")
        false_abs = mention.category == "pulsation" and mention.subtype == "pedal-pulse" and any(
            m.category == "warning-light" and m.subtype == "abs" and m.status == "stands" for m in mentions)
        if false_abs:
            mention = replace(mention, category="pedal", subtype="abs working unasked")
        if not swallowed:
            out.append(mention)
    return out


# ---------------------------------------------------------------- the answer
def conclude(words, mentions):
    """Category, subtype, negated, further categories and the mentions they rest on."""
    standing = [m for m in mentions if m.status == "stands" and m.kind in ("symptom", "own")]
    causes = [m for m in mentions if m.status == "stands" and m.kind == "cause"]
    told = _without_side_remarks(standing) or causes
    denied = {m.category for m in mentions if _denies(words, m)}
    if told:
        categories = list(dict.fromkeys(m.category for m in told))
        main = categories[0]
        same = [m for m in told if m.category == main]
        first = next((m for m in same if m.subtype not in ("unspecified", "ambiguous")), same[0])
        negated = "partial" if denied - set(categories) - {"other"} else "no"
        return main, first.subtype, negated, tuple(categories[1:]), told
    if denied:
        resting = [m for m in mentions if _denies(words, m)]
        return "none", _none_kind(resting, denied), "yes", (), resting
    return None


def _denies(words, mention):
    if mention.kind == "good":
        following = [word.base for word in words[mention.last + 1:mention.last + 3]]
        return mention.status == "stands" and not set(following) & {"when", "once", "after", "until", "if", "while"}
    return mention.status != "stands" and mention.kind != "cause" and mention.category != "other"


def _without_side_remarks(mentions):
    """Leaves out what is no trouble of its own beside a brake symptom: looks, a recall asked about."""
    brakes = any(m.category != "other" for m in mentions)
    side = ("appearance", "recall", "wildlife", "not-brakes", "ambiguous", "alignment", "stop-lamp")
    return [m for m in mentions if not (brakes and m.category == "other" and m.subtype in side)]


def _none_kind(mentions, denied):
    status = {m.status for m in mentions}
    if status == {"supposed"}:
        return "hypothetical"
    if "past" in status:
        return "past"
    if len(denied) > 1:
        return "all-denied"
    return f"{min(denied)}-denied"


def trouble_named(words):
    return any(name == "trouble" for name, _ in _scope_phrases().find(words))


def where_and_when(words, mentions):
    """(axle, side, conditions) as the text says them; "" where it says nothing or both."""
    found = {"condition": [], "axle": [], "side": []}
    for (kind, name), _ in _where_phrases().find(words):
        if name not in found[kind]:
            found[kind].append(name)
    one = lambda names: names[0] if len(names) == 1 else ""
    order = list(lists.CONDITIONS)
    return one(found["axle"]), one(found["side"]), tuple(sorted(found["condition"], key=order.index))
