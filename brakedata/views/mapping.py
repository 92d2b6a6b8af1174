"""What a shop's own tables are taken for, and what must be said once about them: the sentences and tables of the records panel."""

import tomllib

import pandas as pd

from brakedata.findings import RecordsError
from brakedata.guards import shown
from brakedata.mapping import Proposal, Question, stopped
from brakedata.settings_file import SETTINGS_FILE
from brakedata.shown import count_text

SAMPLES = 3
CELL_LETTERS = 40
NO_ANSWER = ""
ASKED = "asked: "


def known(proposal: Proposal) -> bool:
    """Whether the tables can be checked without anybody looking first: their kind was saved before, and nothing vital is open."""
    return not stopped(proposal) and bool(proposal.sheets["layout"].ne("new").all())


def headline(proposal: Proposal) -> str:
    """How many columns were looked at and what is still open, in one sentence."""
    columns, questions = proposal.columns, proposal.questions
    unsure = int((~columns["sure"]).sum())
    parts = [count_text(len(columns), "column"), f"{unsure:,} not sure" if unsure else "each of them sure or said"]
    vital = sum(question.vital for question in questions)
    if vital:
        parts.append(f"{count_text(vital, 'question')} that must be answered before anything is forecast")
    if len(questions) > vital:
        parts.append(f"{count_text(len(questions) - vital, 'question')} that may be answered")
    return f"{shown(proposal.source.name)}: {', '.join(parts)}" + ("" if questions else "; nothing needs to be asked")


def in_order(columns: pd.DataFrame) -> list[tuple[int, str]]:
    """``(layout, column)`` of every column, those not sure first, else as they stand in the files."""
    order = columns.sort_values("sure", kind="stable")
    return list(zip(order["layout"], order["column"], strict=True))


def column_label(proposal: Proposal, layout: int, column: str) -> str:
    """What stands before the choice of a column's role."""
    return f"“{shown(column, CELL_LETTERS)}” is" + (f" (kind {layout})" if len(proposal.kinds) > 1 else "")


def role_options(proposal: Proposal, role: str) -> list[tuple[str, str]]:
    """``(words, role)`` of everything a column can be, and of what it is taken for now where that is a role of its own."""
    options = [(words, name) for name, words in proposal.roles]
    return options if role in {name for _, name in options} else [(role.replace("_", " ").replace(":", ","), role), *options]


def sample_words(one) -> str:
    """The first cells of a column as they are written."""
    return "; ".join(shown(text, CELL_LETTERS) for text in one["samples"][:SAMPLES]) or "empty"


def read_words(one) -> str:
    """How these cells are read; what is the same of all of them, once.

    Parameters
    ----------
    one : Series
        A row of `Proposal.columns`.
    """
    samples, read = one["samples"][:SAMPLES], one["read_as"][:SAMPLES]
    if not read:
        return "not used" if samples else ""
    if read == samples:
        return "read as written"
    values, _, tails = zip(*(text.partition(" (") for text in read), strict=True)
    if len(set(read)) == 1:
        said = read[0]
    elif len(set(tails)) == 1:
        said = "; ".join(values) + (f" ({tails[0]}" if tails[0] else "")
    else:
        said = "; ".join(read)
    waits = len(set(read)) == 1 and said.startswith(ASKED)
    return shown(f"not read yet: {said.removeprefix(ASKED)}" if waits else f"read as {said}", 400)


def surety(one) -> str:
    """How sure it is what a column is, and why."""
    if one["source"] == "saved":
        return f"As saved in {SETTINGS_FILE}."
    if one["source"] == "answered":
        return "As you said."
    return ("Sure: " if one["sure"] else "Not sure, please look: ") + shown(one["evidence"], 300).rstrip(".") + "."


# --- questions


def words_asked(question: Question) -> list[str]:
    """The shop's own words that a question asks about; none for any other question."""
    return list(tomllib.loads(question.line)["shop"]["words"]) if question.key == "words" else []


def answer_options(proposal: Proposal, question: Question) -> list[tuple[str, str]]:
    """``(words, value)`` to choose an answer from, none chosen first; empty where the answer is to be written."""
    name, _, layout = question.key.partition(".")
    choices = question.choices
    if not choices and name in ("vehicle_id", "date", "odometer"):
        here = proposal.columns[proposal.columns["layout"].eq(int(layout))]
        choices = [(column, column) for column in here["column"]]
    return [("not answered", NO_ANSWER), *((shown(words, 90), value) for value, words in choices)] if choices else []


def asked(number: int, question: Question) -> tuple[str, str]:
    """A question, and why it is asked."""
    must = "must be answered" if question.vital else "may be left open"
    return f"{number}. {shown(question.text, 300)}", f"Asked because of {shown(question.why, 300)}; {must}."


def number(text: str) -> float:
    """A thickness that a person wrote.

    Raises
    ------
    RecordsError
        It is no number.
    """
    try:
        return float(text.strip().removesuffix("mm").strip().replace(",", "."))
    except ValueError:
        raise RecordsError(f"“{shown(text)}” is no number of mm: write for instance 12 or 10.5.") from None


def missing(proposal: Proposal) -> list[str]:
    """What is missing before the records can be checked; empty where nothing is."""
    vital = [shown(question.text, 300) for question in proposal.questions if question.vital]
    if not vital and stopped(proposal):
        return ["No row could be used: say below which column is the date, the vehicle and the readings."]
    return vital


def save_words(proposal: Proposal) -> str:
    """What the save button says."""
    vital = sum(question.vital for question in proposal.questions)
    return f"Save so far ({count_text(vital, 'answer')} missing)" if vital else "Save and check"


# --- what comes of it


def first_rows(rows: pd.DataFrame) -> pd.DataFrame:
    """`Proposal.first_rows` as it is shown."""
    out = pd.DataFrame(
        {
            "file": rows["file"].map(shown), "sheet": rows["sheet"].map(shown), "line": rows["line"].map("{:,}".format),
            "loads as": rows["loads_as"].map(lambda text: shown(text, 400)), "left out because": rows["left_out"].map(lambda text: shown(text, 200)),
        }
    )  # fmt: skip
    return out.drop(columns=[name for name in ("sheet", "left out because") if not out[name].ne("").any()])
