"""What is wrong with the records: rows used and left out, the findings one by one, and the changes that await an answer."""

import pandas as pd

from brakedata import findings
from brakedata.columns import RECORD_TABLES
from brakedata.records import Records
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
        kept, spoken = set(frame["row"]), about[about["severity"].ne("note")]
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


def by_rule(found: pd.DataFrame) -> pd.DataFrame:
    """How often each rule spoke: ``severity, code, findings``, the most serious first, then the most frequent."""
    out = found.groupby(["severity", "code"]).size().reset_index(name="findings")
    order = out["severity"].map({name: -place for place, name in enumerate(findings.SEVERITIES)})
    out = out.assign(order=order).sort_values(["order", "findings", "code"], ascending=[True, False, True], kind="stable")
    return out.drop(columns="order").reset_index(drop=True)


def filtered(found: pd.DataFrame, table: str = ALL, severity: str = ALL, code: str = ALL) -> pd.DataFrame:
    """The findings of one table, severity and rule; ``all`` leaves a filter open."""
    keep = pd.Series(True, index=found.index)
    for column, wanted in (("table", table), ("severity", severity), ("code", code)):
        if wanted != ALL:
            keep &= found[column].eq(wanted)
    return found[keep].reset_index(drop=True)


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


def question(proposal, shown: Shown) -> str:
    """A proposed change as a question a person can answer."""
    side = {"both": "both sides", "": "both sides"}.get(proposal["side"], f"{proposal['side']} side")
    return (
        f"Vehicle {proposal['vehicle_id']}, {proposal['axle']} axle, {side}: {shown.thickness_text(proposal['before_mm'])} on "
        f"{day_text(proposal['since_date'])}, then {shown.thickness_text(proposal['after_mm'])} on {day_text(proposal['date'])} "
        f"(visit {proposal['visit_id']}, measurements line {int(proposal['row'])}), and no job is recorded. "
        f"Were linings replaced there?"
    )


def answer_words(answer: str) -> str:
    """What was answered to a proposal, in words."""
    return {"yes": "answered: yes, replaced", "no": "answered: no, not replaced"}.get(answer, "not answered: taken as replaced")
