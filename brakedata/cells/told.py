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
    the place of the row in its kind. ``seen`` is every reading by column and text.
    """

    noted: list[tuple] = field(default_factory=list)
    asked: list[tuple] = field(default_factory=list)
    seen: dict[str, dict[str, Reading]] = field(default_factory=dict)

    def of(self, column: str, rows: np.ndarray, texts: list[str], readings: list[Reading]) -> None:
        """Keep what each reading says."""
        assumed: dict[str, list] = {}
        self.seen.setdefault(column, {}).update(zip(texts, readings, strict=True))
        for row, text, reading in zip(rows, texts, readings, strict=True):
            if reading.status == OK_ASSUMED or reading.status == REFUSE and reading.rule == NOTHING_WRITTEN:
                assumed.setdefault(reading.rule, []).append((row, text, reading.assumed))
            elif reading.status == FLAG:
                code = "R72-read-with-doubt" if reading.taken else "R73-not-believed"
                self.noted.append((code, row, column, text, reading.assumed))
            elif reading.status == ASK:
                self.asked.append((reading.question, row, column, text, reading.assumed))
            elif reading.status == REFUSE and text.strip():
                self.noted.append(("R75-no-reading", row, column, text, reading.assumed))
        for those in assumed.values():
            row, text, sentence = those[0]
            more = f"; so in {len(those):,} cells" if len(those) > 1 else ""
            self.noted.append(("R71-assumed", row, column, text, sentence + more))

    def refuse(self, code: str, column: str, rows, texts, sentence: str) -> None:
        """Cells that no reading came of, for a reason of our own."""
        self.noted += [(code, row, column, text, sentence) for row, text in zip(rows, texts, strict=True)]
