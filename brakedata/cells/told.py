"""What the readers said of many cells, kept to become findings and questions."""

from dataclasses import dataclass, field

import numpy as np

from brakedata.cells.reading import ASK, FLAG, OK_ASSUMED, REFUSE, Reading

NOTHING_WRITTEN = "C2"
"""The rule for a cell that says that there is no reading."""


@dataclass
class Told:
    """What the readers said of cells, to become findings and questions.

    ``noted`` are ``(code, row, column, value, reading)``, ``asked`` are ``(question, row, column, value, sentence)``; ``row`` is
    the place of the row in its kind. ``seen`` is every reading by column and text, ``stands_for`` the whole text that a day written in
    part was read as, by column and text.
    """

    noted: list[tuple] = field(default_factory=list)
    asked: list[tuple] = field(default_factory=list)
    seen: dict[str, dict[str, Reading]] = field(default_factory=dict)
    stands_for: dict[str, dict[str, str]] = field(default_factory=dict)

    def of(self, column: str, rows: np.ndarray, texts: list[str], readings: list[Reading]) -> None:
        """Keep what each reading says, a reading a row."""
        self.spread(column, rows, np.arange(len(texts)), texts, readings)

    def spread(self, column: str, rows: np.ndarray, code: np.ndarray, texts: list[str], readings: list[Reading]) -> None:
        """Keep what the readings say: that of place ``code`` in the distinct ``texts`` and ``readings`` for each of ``rows``."""
        if not len(code):
            return
        last = np.zeros(len(texts), dtype="int64")
        last[code] = np.arange(len(code))
        self.seen.setdefault(column, {}).update((texts[at], readings[at]) for at in np.argsort(last, kind="stable"))
        said = [_says(text, reading) for text, reading in zip(texts, readings, strict=True)]
        by_rule = np.array([word == "R71-assumed" for word in said], dtype=bool)
        single = np.array([bool(word) for word in said], dtype=bool) & ~by_rule
        for at in np.flatnonzero(single[code]):
            of = code[at]
            reading, told = readings[of], self.asked if said[of] == ASK else self.noted
            told.append((reading.question if said[of] == ASK else said[of], rows[at], column, texts[of], reading.assumed))
        _, rule = np.unique([reading.rule for reading in readings], return_inverse=True)
        those = np.flatnonzero(by_rule[code])
        _, first, times = np.unique(rule[code[those]], return_index=True, return_counts=True)
        for at, count in sorted(zip(those[first], times, strict=True)):
            more = f"; so in {count:,} cells" if count > 1 else ""
            self.noted.append(("R71-assumed", rows[at], column, texts[code[at]], readings[code[at]].assumed + more))

    def refuse(self, code: str, column: str, rows, texts, sentence: str) -> None:
        """Cells that no reading came of, for a reason of our own."""
        self.noted += [(code, row, column, text, sentence) for row, text in zip(rows, texts, strict=True)]


def _says(text: str, reading: Reading) -> str:
    """The finding that a reading makes, ``ask`` for a question; empty for none."""
    if reading.status == OK_ASSUMED or reading.status == REFUSE and reading.rule == NOTHING_WRITTEN:
        return "R71-assumed"
    if reading.status == FLAG:
        return "R72-read-with-doubt" if reading.taken else "R73-not-believed"
    if reading.status == ASK:
        return ASK
    return "R75-no-reading" if reading.status == REFUSE and text.strip() else ""
