"""``records.toml`` beside the records: read, and changed without touching what else a person wrote there."""

import tomllib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from brakedata import guards
from brakedata.findings import RecordsError

SETTINGS_FILE = "records.toml"


def place(source) -> Path:
    """Where the settings of a records folder, or of a workbook or file in one, are kept."""
    source = Path(source)
    return (source if source.is_dir() else source.parent) / SETTINGS_FILE


def read(source) -> dict:
    """Everything the settings say; empty where there are none.

    Raises
    ------
    RecordsError
        The file cannot be read.
    """
    file = place(source)
    if not file.is_file():
        return {}
    try:
        return tomllib.loads(guards.read_bytes(file).decode("utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as problem:
        raise RecordsError(f"{SETTINGS_FILE} could not be read ({problem}): correct that line or delete the file.") from problem


@contextmanager
def changing(source, what: str = "the answer could not be written", again: str = "answer again") -> Iterator:
    """The settings as a document to change, written when the block ends; comments and all other parts stay as they are.

    Raises
    ------
    RecordsError
        ``what`` happened, as the file cannot be read or written or is not of the form that the block expects: do ``again``.
    """
    import tomlkit

    file = place(source)
    try:
        document = tomlkit.parse(guards.read_bytes(file).decode("utf-8-sig")) if file.is_file() else tomlkit.document()
        yield document
        half_written = file.with_name(f"{SETTINGS_FILE}.new")
        half_written.write_text(tomlkit.dumps(document), encoding="utf-8")
        half_written.replace(file)
    except (OSError, UnicodeDecodeError, tomlkit.exceptions.TOMLKitError, AttributeError, TypeError) as problem:
        raise RecordsError(f"{what} to {SETTINGS_FILE} ({problem}): correct or close that file and {again}.") from problem


def entry(part, name: str, question: dict, same: Callable | None = None):
    """The last entry of the list ``name`` about a question; where there is none, a new one at the end.

    Parameters
    ----------
    part : tomlkit table or document
    name : str
    question : dict
        What names the question.
    same : callable, optional
        Tells of an entry whether it is about the question; default: it says the same under each of the question's keys.
    """
    import tomlkit

    same = same or (lambda one: all(str(one.get(key)) == value for key, value in question.items()))
    about = [one for one in part.setdefault(name, tomlkit.aot()) if same(one)]
    if not about:
        part[name].append(tomlkit.item(question))
        about = [part[name][-1]]
    return about[-1]
