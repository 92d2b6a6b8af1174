"""Blank record tables and the dictionary of columns, made from ``columns``.

``python -m brakedata.templates FOLDER`` writes a CSV a table, one workbook with a sheet a table and the dictionary, and the
dictionary as ``columns.md``.
"""

import sys
from pathlib import Path

import pandas as pd

from brakedata import columns, tables

WORKBOOK = "records.xlsx"
DICTIONARY = "columns.md"
ANSWERS = {"schedule": columns.SCHEDULE, "comebacks": columns.COMEBACKS, "findings": columns.FINDINGS}
CELLS = {
    "id": "name or number", "text": "text", "number": "number", "date": "date, YYYY-MM-DD", "choice": "one of these words",
    "axle": "front, rear or 1 to 9", "flag": "true or false", "reading": "number, or a bound such as <2",
    "distance_unit": "km or mi", "thickness_unit": "mm, in or 32nds",
}  # fmt: skip
"""What is written in a cell, by the column's kind."""


def dictionary() -> pd.DataFrame:
    """Every column of every record table and answer: ``table, column, needed, cell, words, meaning``."""
    rows = [
        (table, c.name, "yes" if c.required else "", CELLS[c.kind], ", ".join(c.choices), c.meaning)
        for table, its in columns.RECORD_TABLES.items()
        for c in its
    ]
    rows += [(table, a.name, "", a.unit, "", a.meaning) for table, its in ANSWERS.items() for a in its]
    return pd.DataFrame(rows, columns=["table", "column", "needed", "cell", "words", "meaning"])


def dictionary_text() -> str:
    """The dictionary as Markdown, a part a table."""
    parts = ["# Every column, and what it means\n\nMade from `brakedata/columns.py` by `python -m brakedata.templates shared`.\n"]
    whole = dictionary()
    for name, its in whole.groupby("table", sort=False):
        if name in ANSWERS:
            parts.append(_part(f"## Answer: {name}", its[["column", "cell", "meaning"]], ["column", "unit", "meaning"]))
        else:
            needed = " (needed)" if name in columns.NEEDED_TABLES else ""
            shown = its[["column", "needed", "cell", "words", "meaning"]]
            parts.append(_part(f"## Records: {name}{needed}", shown, list(shown.columns)))
    return "\n".join(parts)


def _part(heading: str, rows: pd.DataFrame, names: list[str]) -> str:
    lines = [names, ["---"] * len(names), *rows.to_numpy().tolist()]
    table = "\n".join("| " + " | ".join(str(cell).replace("|", "\\|") for cell in line) + " |" for line in lines)
    return f"{heading}\n\n{table}\n"


def write(folder) -> Path:
    """Write the templates and the dictionary into ``folder``, made when absent."""
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    blank = {name: pd.DataFrame(columns=columns.names(name), dtype="str") for name in columns.RECORD_TABLES}
    for name, frame in blank.items():
        tables.write(frame, folder / f"{name}.csv")
    tables.write_book({**blank, "columns": dictionary()}, folder / WORKBOOK)
    (folder / DICTIONARY).write_text(dictionary_text(), encoding="utf-8", newline="\n")
    return folder


if __name__ == "__main__":
    write(sys.argv[1] if len(sys.argv) > 1 else "shared")
