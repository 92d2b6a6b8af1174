"""Does a symptom named stand, or is it denied, past, or only supposed?"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from . import words as lists
from .reading import DENIALS, Phrases

_FAR = 40  # words a cure told later reaches back at most
_REACH = 12  # words a denial reaches at most
_OF_A_CALL = {"if", "will", "would", "to", "for", "told"}  # beside "back" they tell of the customer, not of the noise


@cache
def _marks():
    return Phrases(
        [
            (lists.NO, "no"),
            (lists.NOT, "not"),
            (lists.CANNOT_FIND, "cannot find"),
            (lists.SAY_NOT, "say not"),
            (lists.NOT_ONLY, "not only"),
            (lists.CURED, "cured"),
            (lists.CURING, "curing"),
            (lists.UNLIT, "unlit"),
            (lists.FINE, "fine"),
            (lists.BACK, "back"),
            (lists.PAST, "past"),
            (lists.PAST_SINCE, "past since"),
            (lists.IT_DOES, "it does"),
            (lists.IF, "if"),
            (lists.BEWARE, "beware"),
            (lists.MAY_COME, "may come"),
            (lists.WHEN_NOT_WHETHER, "when"),
            (lists.WORK_DONE, "work"),
            (lists.TESTED, "test"),
        ]
    )


class Scope:
    """Denials, suppositions and cures of one text, and what they reach."""

    def __init__(self, words, mentions):
        self.words, self.mentions = words, mentions
        self.named = {place for mention in mentions for place in mention.places}
        self.buts = [0]
        for at in range(1, len(words)):
            opens = words[at].clause != words[at - 1].clause and words[at].after == "but"
            self.buts.append(self.buts[-1] + opens)
        self.marks = {}
        self._mark()

    def _mark(self):
        taken = set()
        for name, places in sorted(_marks().find(self.words), key=lambda found: -len(found[1])):
            if name in ("no", "not", "cannot find", "say not", "not only"):
                if not taken.isdisjoint(places) or not self.named.isdisjoint(places):
                    continue
                taken.update(places)
            self.marks.setdefault(name, []).append(places)

    def marked(self, *names):
        """Places of all marks of these names."""
        return [places for name in names for places in self.marks.get(name, ())]

    def clause(self, at):
        """The clause of the word at this index."""
        return self.words[at].clause

    def same_sentence(self, one, other):
        """True within a sentence, with no "but" between."""
        return self.words[one].sentence == self.words[other].sentence and self.buts[one] == self.buts[other]

    def passable(self, start, end):
        """True where only words a denial reaches across stand between."""
        return end - start <= _REACH and all(
            at in self.named or word.base in lists.TRANSPARENT or word.form in lists.TRANSPARENT or not word.base.isalpha()
            for at, word in enumerate(self.words[start:end], start)
        )

    def rest_of_clause(self, at, limit=4):
        """The words after `at` in its clause."""
        return [word for word in self.words[at + 1 : at + 1 + limit] if word.clause == self.clause(at)]

    # ------------------------------------------------------------ denied
    def denials_before(self, mention):
        """How many denials reach the mention from before it: two cancel."""
        count = 0
        for places in sorted(self.marked("no", "not"), reverse=True):
            start = places[-1] + 1
            if 0 <= mention.first - start <= _REACH and self.clause(places[-1]) == self.clause(mention.first):
                meant_for_another = count and not self.named.isdisjoint(range(start, mention.first))
                count += self.passable(start, mention.first) and not meant_for_another and not self._sometimes(mention)
        for name in ("cannot find", "say not"):
            reached = any(
                places[-1] < mention.first and self.same_sentence(places[0], mention.first) for places in self.marked(name)
            )
            count += reached and not (name == "cannot find" and count)
        return count

    def cured_before(self, mention):
        """As in "you fixed the squeal"."""
        return any(
            0 <= mention.first - places[-1] - 1 <= 4
            and self.clause(places[0]) == self.clause(mention.first)
            and self.passable(places[-1] + 1, mention.first)
            and not self._denied(places[0])
            for places in self.marked("curing")
        )

    def _sometimes(self, mention):
        """As in "does not squeal when hot, only cold"."""
        rest = {word.base for word in self.rest_of_clause(mention.last)}
        later = {word.base for word in self.words[mention.last + 1 : mention.last + 12]}
        return bool(rest & (lists.SOMETIMES | lists.EVER)) and "only" in later

    def _denied(self, at):
        return any(word.base in DENIALS for word in self.words[max(0, at - 3) : at] if word.clause == self.clause(at))

    def denied_after(self, mention, until, count):
        """A cure or "not found" said of the mention, before the next one (`until`)."""
        names = ("cured", "fine") if mention.kind == "cause" else ("cured",)
        if mention.category == "warning-light":
            names += ("unlit",)
        return mention.kind != "good" and any(
            mention.last < places[0] < min(until, mention.last + _FAR)
            and self.named.isdisjoint(places)
            and self._is_cure(mention, places)
            and not (count and self.words[places[0]].base == "nolonger")
            for places in self.marked(*names)
        )

    def _is_cure(self, mention, places):
        words, end = self.words, places[-1]
        if words[places[0]].sentence > words[mention.last].sentence + 1 or self._denied(places[0]):
            return False
        if any(at in self.named for at in range(end + 1, min(end + 6, len(words))) if self.clause(at) == self.clause(end)):
            return False
        following = [word.base for word in self.rest_of_clause(end, 6)]
        if words[end].form == "stopped" and following[:1] and following[0] not in ("since", "after", "now", "by", "on"):
            return False
        between = {word.base for word in words[mention.last + 1 : places[0]]}
        first, before = words[places[0]], words[places[0] - 1].base
        if before in lists.NOT_CURED or first.form == "stopped" and before in lists.STOPPERS:
            return False
        if lists.REPAIRS & set(following) or lists.REPAIRS & between:
            return True
        if following[:1] == ["after"]:
            return not lists.FEW & set(following) and "stop" not in following
        return not (following[:1] and following[0] in lists.SOMETIMES) and not between & lists.FEW

    def back_again(self, mention, until):
        """As in "fixed last week, now it is back"."""
        cures = {at for places in self.marked("cured") for at in places}
        return any(
            mention.last < places[0] < until and self.named.isdisjoint(places) and cures.isdisjoint(places)
            for places in self.marked("back")
        )

    def but_it_does(self, mention, until):
        """As in "it should not squeal, but it does", "no noise at first but then it came back"."""
        returned = any(
            mention.last < places[0] < until
            and self.words[places[-1]].base in ("again", "back", "return")
            and self.buts[places[0]] > self.buts[mention.last]
            and not self._denied(places[0])
            and not any(word.form in _OF_A_CALL for word in self.words if word.clause == self.clause(places[0]))
            for places in self.marked("back")
        )
        return returned or any(
            mention.last < places[0] < until
            and self.words[places[0]].after == "but"
            and self.clause(places[0]) == self.clause(mention.last) + 1
            and not self.rest_of_clause(places[-1], 1)
            for places in self.marked("it does")
        )

    # ------------------------------------------------------------ supposed, past
    def supposed(self, mention, until):
        """As in "if it squeals", "may squeal", "listen for a squeal", "brakes might fail"."""
        clause = self.clause(mention.first)
        inside = self.words[mention.first : mention.last + 1]
        if any(word.base in ("may", "might") for word in inside):
            return True
        for places in self.marked("if"):
            if places[-1] < mention.first and not self._is_when(places):
                reaches = self.words[places[0]].base != "if" and self.same_sentence(places[0], mention.first)
                if reaches or self.clause(places[0]) == clause:
                    return True
        opens = self.words[mention.first].after == "and" and mention.first and self.clause(mention.first - 1) != clause
        for places in self.marked("beware"):
            here = self.clause(places[0])
            if places[-1] < mention.first and (
                here == clause
                and self.passable(places[-1] + 1, mention.first)
                or opens
                and here == clause - 1
                and self.words[places[-1]].base in ("may", "might", "could")
            ):
                return True
        return any(
            mention.last < places[0] < until and self.clause(places[0]) == self.clause(mention.last)
            for places in self.marked("may come")
        )

    def _is_when(self, places):
        return any(not set(places).isdisjoint(other) for other in self.marked("when"))

    def past(self, mention, until):
        """As in "used to squeal", "squealed before you fixed it"."""
        before = any(
            places[-1] < mention.first and self.clause(places[0]) == self.clause(mention.first) and not self._denied(places[0])
            for places in self.marked("past")
        )
        since = any(
            mention.last < places[0] < until
            and self.clause(places[0]) == self.clause(mention.last)
            and self.words[places[0] - 1].base not in ("than", "like", "as", "never", "not")
            for places in self.marked("past since")
        )
        still = {word.base for word in self.words[mention.last + 1 : until]} & lists.EVER
        return before and not still or since and not self.back_again(mention, until)


# ---------------------------------------------------------------- all mentions of a text
def judge(words, mentions):
    """Gives every mention its status.

    Parameters
    ----------
    words : list of Word
    mentions : list of Mention, in the order of the text

    Returns
    -------
    list of Mention
    """
    scope = Scope(words, mentions)
    judged, until, clause, first = [], len(words), None, len(words)
    for mention in reversed(mentions):
        if words[mention.last].clause != clause:
            until = first
        judged.insert(0, _not_good(_with_status(scope, mention, until)))
        clause, first = words[mention.first].clause, mention.first
    return _answered_later(scope, _in_lists(words, _not_found_later(scope, judged)))


def _with_status(scope, mention, until):
    count = scope.denials_before(mention)
    cured = scope.cured_before(mention) or scope.denied_after(mention, until, count)
    if cured and (count or not scope.back_again(mention, until)):
        count += 1
    if count % 2 and not scope.but_it_does(mention, until):
        return replace(mention, status="denied")
    if count:
        return replace(mention, subtype="double-negative") if mention.subtype == "unspecified" else mention
    if scope.supposed(mention, until):
        return replace(mention, status="supposed")
    return replace(mention, status="past") if scope.past(mention, until) else mention


def _not_good(mention):
    """As in "not quiet", "pedal is not firm": denied good is trouble."""
    if mention.kind == "good" and mention.status == "denied":
        subtype = "double-negative" if mention.category == "noise" else "unspecified"
        return replace(mention, kind="symptom", subtype=subtype, status="stands")
    return mention


def _in_lists(words, mentions):
    """As in "no noise, pull or vibration": a denial or supposition carries through the list."""
    out = []
    for mention in mentions:
        before = out[-1] if out else None
        if (
            before
            and mention.status == "stands"
            and before.status != "stands"
            and before.kind != "good"
            and _listed(words, before, mention)
        ):
            mention = replace(mention, status=before.status)
        out.append(mention)
    return out


def _listed(words, before, mention):
    first, last = words[mention.first], words[before.last]
    between = words[before.last + 1 : mention.first]
    if (
        first.after == "but"
        or first.clause - last.clause > 1
        or len(between) > _REACH
        or any(
            word.form in ("more", "it") or not (word.base in lists.TRANSPARENT or word.form in lists.TRANSPARENT)
            for word in between
        )
    ):
        return False
    if any(word.base in ("or", "nor") for word in between):
        return True
    if first.clause == last.clause or first.form not in lists.BARE_NAMES:
        return False
    rest = []
    for word in words[mention.last + 1 :]:
        if word.clause != first.clause:
            break
        rest.append(word.base)
    return "or" in rest or "nor" in rest or all(base in lists.AFTER_A_LIST for base in rest)


def _not_found_later(scope, mentions):
    """As in "squeal - could not duplicate": a check that found nothing answers what was named before it."""
    out = list(mentions)
    for places in scope.marked("cannot find"):
        if any(m.first > places[-1] and scope.same_sentence(places[0], m.first) for m in mentions):
            continue
        out = [
            replace(m, status="denied") if m.last < places[0] and m.status == "stands" and m.kind in ("symptom", "own") else m
            for m in out
        ]
    return out


def _answered_later(scope, mentions):
    """As in "says it pulls; test drive, no pull", "pulled before, straight now".

    The later word answers the earlier one, unless work was done between them.
    """
    tests = [places[0] for places in scope.marked("test")]
    work = [places[0] for places in scope.marked("work")]
    out = list(mentions)
    for later in mentions:
        now = (
            later.kind == "good"
            and later.status == "stands"
            and "now" in {word.base for word in scope.words[max(0, later.first - 4) : later.last + 5]}
        )
        if not now and (later.status != "denied" or later.kind != "symptom"):
            continue
        for number, m in enumerate(out):
            if m.last < later.first and m.category == later.category and m.status == "stands" and m.kind == "symptom":
                tested = any(m.last < at < later.last + 6 for at in tests)
                if (now or tested) and not any(m.last < at < later.first for at in work):
                    out[number] = replace(m, status="denied")
    return out
