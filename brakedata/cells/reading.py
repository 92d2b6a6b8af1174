"""What one cell was read as, and the five ways to say it.

The statuses, from sure to unsure: ``ok`` read; ``ok_assumed`` read, the assumption stated; ``flag`` read and listed
for a person (with no value: seen, not believed, not taken); ``ask`` not read until a person answers once for the
column; ``refuse`` not a reading.
"""

from dataclasses import dataclass, replace

OK, OK_ASSUMED, FLAG, ASK, REFUSE = "ok", "ok_assumed", "flag", "ask", "refuse"
STATUSES = (OK, OK_ASSUMED, FLAG, ASK, REFUSE)


@dataclass(frozen=True, slots=True)
class Reading:
    """One cell, read or not.

    Attributes
    ----------
    status : str
        ``ok``, ``ok_assumed``, ``flag``, ``ask`` or ``refuse``.
    value : object
        None, a number, a text, a list or a dict, as the field defines it (see ``brakedata.cells.read``).
    unit : str or None
        The unit the cell was written in: ``mm``, ``in``, ``in32``, ``km``, ``mi``, ``h``; None where none matters.
    assumed : str
        One plain sentence: what was assumed, what must be asked, or why the cell is no reading. Empty for ``ok``.
    rule : str
        Number of the rule that decided, for instance ``T7``.
    question : str
        For ``ask``: the hint that would settle it once for the whole column, for instance ``unit``. Else empty.
    offset_km : float
        Where the old instrument stood, when this reading is the first of a new one: to be added from here on.
    """

    status: str
    value: object = None
    unit: str | None = None
    assumed: str = ""
    rule: str = ""
    question: str = ""
    offset_km: float = 0.0

    @property
    def taken(self) -> bool:
        """Whether the cell gave a value."""
        return self.value is not None


def ok(value, unit=None, rule="") -> Reading:
    """Read without doubt."""
    return Reading(OK, value, unit, "", rule)


def assumed(value, unit, sentence, rule="") -> Reading:
    """Read, with the assumption stated."""
    return Reading(OK_ASSUMED, value, unit, sentence, rule)


def flag(value, unit, sentence, rule="") -> Reading:
    """Read and listed for a person; with ``value`` None: seen, not believed, not taken."""
    return Reading(FLAG, value, unit, sentence, rule)


def ask(sentence, question="words", rule="") -> Reading:
    """Leave unread until a person has answered ``question`` once for the column."""
    return Reading(ASK, None, None, sentence, rule, question)


def refuse(sentence, rule="") -> Reading:
    """Not a reading."""
    return Reading(REFUSE, None, None, sentence, rule)


def lower_to(reading: Reading, status: str, sentence: str, rule: str = "") -> Reading:
    """Make a reading less sure (never surer), adding the reason."""
    if STATUSES.index(status) < STATUSES.index(reading.status):
        status = reading.status
    both = f"{reading.assumed}; {sentence}" if reading.assumed else sentence
    return replace(reading, status=status, assumed=both, rule=rule or reading.rule)
