"""What the names over the records say that tells them apart: sheets ``Brakes`` and ``Tyres``, ``Pads`` and ``Rotors``, ``Before`` and ``After``.

A name counts only where another one beside it says otherwise: a garage that is called after tyres says nothing of its records. A line or a
name that says nothing else, ``Tyre depths``, needs no other.
"""

import numpy as np
import pandas as pd

from brakedata import headings
from brakedata.layouts import FOLLOWS, LINE_ABOVE
from brakedata.mapping.kinds import Kind

NO_PART = "no part of a brake"
"""Stands for what is named as measured where that is something else, a tyre."""


def said(kind: Kind) -> tuple[pd.DataFrame, dict[str, pd.Series]]:
    """``part, taken`` (empty where no name says it) of each row, and for each the name that says it; ``line`` is a part that a line says."""
    out = pd.DataFrame({"part": "", "taken": "", "line": ""}, index=range(len(kind.cells)), dtype="str")
    by = {what: pd.Series("", index=out.index, dtype="str") for what in out}
    alone = _lines(kind, FOLLOWS)
    for names in (alone, *over(kind)):
        for what, meaning in (("part", _part_of_lines if names is alone else _part), ("taken", _taken)):
            of = {name: meaning(name) for name in set(names)}
            if len(set(of.values())) > 1 or any(of.values()) and (names is alone or all(map(_says_no_more, of))):
                new = out[what].eq("") & pd.Series([of[name] != "" for name in names])
                out[what] = out[what].mask(new, pd.Series([of[name] for name in names], dtype="str"))
                by[what] = by[what].mask(new, pd.Series(names, dtype="str"))
    part = {name: _part_of_lines(name) for name in set(alone)}
    out["line"] = pd.Series([part[name] for name in alone], dtype="str")
    return out, by


def _says_no_more(name: str) -> bool:
    """Whether a name is a part, tyres, or before or after the work, and nothing else: a sheet ``Rotors``."""
    return bool(headings.part_only(name) or headings.tyres_only(name) or headings.taken_only(name))


def _part(name: str) -> str:
    return NO_PART if headings.of_tyres(name) else headings.part_named(name)


def _part_of_lines(name: str) -> str:
    parts = {NO_PART if headings.tyres_only(line) else headings.part_line(line) for line in name.split("\n")} - {""}
    return parts.pop() if len(parts) == 1 else ""


def _taken(name: str) -> str:
    said = {headings.taken(line) for line in name.split("\n") if headings.taken_line(line)}
    return said.pop() if len(said) == 1 else ""


def _lines(kind: Kind, label: str) -> list[str]:
    """What the lines over each row say under a label of `Sheet.over`."""
    of = [sheet.over[label].tolist() if label in sheet.over else [""] * len(sheet.cells) for sheet in kind.sheets]
    return [text for part in of for text in part]


def over(kind: Kind) -> list[list[str]]:
    """The names over each row, a list a kind of name: the line above it, its sheet's, its titles, its file's."""
    length = [len(sheet.cells) for sheet in kind.sheets]
    whole = [
        np.repeat(np.array(texts, dtype=object), length).tolist()
        for texts in (
            [sheet.sheet for sheet in kind.sheets],
            ["\n".join(sheet.above) for sheet in kind.sheets],
            [sheet.file.rpartition(".")[0] for sheet in kind.sheets],
        )
    ]
    return [_lines(kind, LINE_ABOVE), *whole]
