"""What is wrong with the records: rows used and left out, the findings one by one, and the changes that await an answer."""

import pandas as pd

from brakedata import findings
from brakedata.columns import RECORD_TABLES
from brakedata.records import LEFT_OUT, TAKEN, Records, at_source
from brakedata.settings_file import SETTINGS_FILE
from brakedata.shown import Shown, count_text, day_text

ALL = "all"


def counts(records: Records, found: pd.DataFrame) -> pd.DataFrame:
    """Rows of each table: ``table, read, used, in_part, left_out, notes``.

    A row is used in part when it stands in its table but a cell of it was left out; a measurement whose value was left out is
    not used. Rows of a table that could not be used at all are not counted, its finding says so.
    """
    out = []
    for table in RECORD_TABLES:
        frame = getattr(records, table)
        about = found[found["table"].eq(table) & (found["row"] > 1)]
        taken_together = about.loc[about["code"].eq("R84-answer-applied"), "row"]
        kept, spoken = set(frame["row"]) | set(taken_together), about[about["severity"].ne("note")]
        unused = set(spoken["row"]) - kept
        if table == "measurements":
            unused |= set(spoken.loc[spoken["column"].eq("value"), "row"])
        in_part = (set(spoken["row"]) & kept) - unused
        read = len(kept | unused)
        notes = int((found["table"].eq(table) & found["severity"].eq("note")).sum())
        out.append((table, read, read - len(unused) - len(in_part), len(in_part), len(unused), notes))
    return pd.DataFrame(out, columns=["table", "read", "used", "in_part", "left_out", "notes"])


def headline(count: pd.DataFrame) -> str:
    """The answer in one sentence."""
    read, unused, in_part, notes = (int(count[name].sum()) for name in ("read", "left_out", "in_part", "notes"))
    if not unused + in_part + notes:
        return f"All {read:,} rows could be used, and nothing stood out"
    parts = [f"{count_text(unused, 'row')} not used" if unused else "every row used"]
    parts += [f"{in_part:,} used in part"] if in_part else []
    return f"{count_text(read, 'row')} read: {', '.join(parts)}; {count_text(notes, 'note')} on the others"


def said_of(records: Records, found: pd.DataFrame) -> str:
    """The answer in one sentence: of the kit's tables by their rows, of a shop's own files by the rows of those files."""
    if records.trail is None:
        return headline(counts(records, found))
    rows, notes = records.rows_read.groupby("outcome")["rows"].sum(), int(found["severity"].eq("note").sum())
    taken, lost = (int(rows.get(outcome, 0)) for outcome in (TAKEN, LEFT_OUT))
    return f"{count_text(taken + lost, 'row')} read: {taken:,} taken, {lost:,} left out; {count_text(notes, 'note')}"


def gave(records: Records) -> list[str]:
    """What came of a shop's own files: every row of them by file and sheet, and what they gave."""
    named = {"vehicle": records.vehicles, "visit": records.visits, "reading": records.measurements, "job": records.work}
    return [
        *ledger_lines(records.rows_read),
        "They gave " + ", ".join(count_text(len(frame), name) for name, frame in named.items())
        + f" and {count_text(len(records.odometer_log), 'odometer')} beside the visits.",
    ]  # fmt: skip


def by_rule(found: pd.DataFrame) -> pd.DataFrame:
    """How often each rule spoke: ``severity, code, findings``, the most serious first, then the most frequent."""
    out = found.groupby(["severity", "code"]).size().reset_index(name="findings")
    order = out["severity"].map({name: -place for place, name in enumerate(findings.SEVERITIES)})
    out = out.assign(order=order).sort_values(["order", "findings", "code"], ascending=[True, False, True], kind="stable")
    return out.drop(columns="order").reset_index(drop=True)


def filtered(found: pd.DataFrame, table: str = ALL, severity: str = ALL, code: str = ALL) -> pd.DataFrame:
    """The findings of one table, severity and rule, the most serious first; ``all`` leaves a filter open."""
    keep = pd.Series(True, index=found.index)
    for column, wanted in (("table", table), ("severity", severity), ("code", code)):
        if wanted != ALL:
            keep &= found[column].eq(wanted)
    order = found.loc[keep, "severity"].map({name: -place for place, name in enumerate(findings.SEVERITIES)})
    return found.loc[order.sort_values(kind="stable").index].reset_index(drop=True)


def lines(found: pd.DataFrame) -> pd.DataFrame:
    """Findings as they are shown: where, as written, what to do, which rule, what it was taken for."""
    return pd.DataFrame(
        {
            "table": found["table"], "line": found["row"].map(lambda row: "" if pd.isna(row) else f"{int(row):,}"),
            "vehicle": found["vehicle_id"], "column": found["column"], "as written": found["value"],
            "what to do": found["advice"], "how serious": found["severity"].str.replace("_", " "), "rule": found["code"],
            "taken for": found["reading"],
        }
    )  # fmt: skip


def question(proposal, shown: Shown, trail: pd.DataFrame | None = None) -> str:
    """A proposed change as a question a person can answer; the reading's line is that of the source where ``trail`` knows it."""
    reading = at_source(pd.DataFrame({"table": ["measurements"], "row": [proposal["row"]]}), trail).iloc[0]
    side = {"both": "both sides", "": "both sides"}.get(proposal["side"], f"{proposal['side']} side")
    return (
        f"Vehicle {proposal['vehicle_id']}, {proposal['axle']} axle, {side}: {shown.thickness_text(proposal['before_mm'])} on "
        f"{day_text(proposal['since_date'])}, then {shown.thickness_text(proposal['after_mm'])} on {day_text(proposal['date'])} "
        f"(visit {proposal['visit_id']}, {reading['table']} line {int(reading['row'])}), and no job is recorded. "
        f"Were linings replaced there?"
    )


def answer_words(answer: str) -> str:
    """What was answered to a proposal, in words."""
    return {"yes": "answered: yes, replaced", "no": "answered: no, not replaced"}.get(answer, "not answered: taken as replaced")


def ledger_lines(rows_read: pd.DataFrame) -> list[str]:
    """What came of every row of every file, a line a file or sheet: read = taken + left out, and why."""
    out = []
    for (file, sheet), its in rows_read.groupby(["file", "sheet"], sort=False):
        taken, lost = (its[its["outcome"].eq(outcome)] for outcome in (TAKEN, LEFT_OUT))
        name = f"{file}, sheet {sheet}" if sheet else file
        why = ", ".join(f"{rows:,} {reason}" for reason, rows in zip(lost["why"], lost["rows"], strict=True))
        out.append(
            f"{name}: {count_text(int(its['rows'].sum()), 'row')} read = {taken['rows'].sum():,} taken + {lost['rows'].sum():,} left out"
            + (f" ({why})" if why else "")
        )  # fmt: skip
    return out


def mapping_lines(proposal) -> list[str]:
    """What a shop's own files were taken for, a line a column, and the questions, each with what to write into ``records.toml``."""
    columns = proposal.columns
    out = [f"{proposal.source.name} holds no table of this kit: its columns were taken so"]
    for layout, its in columns.groupby("layout"):
        if len(proposal.kinds) > 1:
            files = proposal.sheets.iloc[[kind.number == layout for kind in proposal.kinds for _ in kind.sheets]]
            out.append(f"kind {layout}: {', '.join((files['file'] + ' ' + files['sheet']).str.strip().unique()[:6])}")
        for _, one in its.iterrows():
            samples = ", ".join(short(text, 40) for text in one["samples"][:3])
            read_as = ", ".join(short(text, 60) for text in one["read_as"][:1])
            read_as = f" = {read_as}" if read_as and read_as != one["samples"][0] else ""
            out.append(f"  {one['column']}: {one['role']} ({one['evidence']}); {samples or 'empty'}{read_as}")
    return [*out, *(question_lines(proposal) or ["nothing needs to be asked"])]


def question_lines(proposal) -> list[str]:
    """The open questions, each with what to write into ``records.toml``; none where nothing is asked."""
    out = []
    for number, question in enumerate(proposal.questions, 1):
        must = "must be answered" if question.vital else "may be answered"
        out.append(f"question {number} ({must}): {question.text} ({question.why})")
        out.append(f"  answer it in the notebook 01_records, or write into {SETTINGS_FILE} beside the records:")
        out += [f"    {line}" for line in question.line.split("\n")]
    return out


def short(text: str, most: int) -> str:
    """A text for a line: one line, cut."""
    text = " ".join(str(text).split())
    return text if len(text) <= most else text[: most - 1] + "…"
