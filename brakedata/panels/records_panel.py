"""The records panel: what is wrong with a records folder, and the changes that await an answer."""

from html import escape

import ipywidgets as widgets

from brakedata import figures
from brakedata.findings import SEVERITIES, RecordsError
from brakedata.panels import desk, pieces
from brakedata.panels.frame import NARROW, Panel, field
from brakedata.panels.redraw import Picture
from brakedata.records import answer_pad_change
from brakedata.shown import count_text
from brakedata.views import records as view

PAGE = 100


class RecordsPanel(Panel):
    """What is wrong with the records."""

    ask_as_of = False

    def _build(self):
        self.table = field(widgets.Dropdown, "Table", "230px", options=[view.ALL])
        self.severity = field(widgets.Dropdown, "How serious", "230px", options=[view.ALL])
        self.code = field(widgets.Dropdown, "Rule", "330px", options=[view.ALL])
        self.page = field(widgets.Dropdown, "Rows", "190px", options=[("none", 0)])
        self.change = field(widgets.Dropdown, "Proposed change", "520px", options=[("none", 0)])
        self.yes = widgets.Button(description="Yes, replaced", layout=dict(NARROW))
        self.no = widgets.Button(description="No, not replaced", layout=dict(NARROW))
        self.csv = widgets.Button(description="Download findings as CSV", layout=dict(NARROW))
        self.xlsx = widgets.Button(description="Download findings as XLSX", layout=dict(NARROW))
        self.counts, self.question, self.lines, self.saved = (widgets.HTML() for _ in range(4))
        self.lines.add_class("brakedata-answer")
        self.picture = Picture()
        for control in (self.table, self.severity, self.code):
            self._on(control, self._filter_chosen)
        self._on(self.page, self._write_lines)
        self._on(self.change, self._ask)
        self.yes.on_click(self._guarded(lambda: self._answer(True)))
        self.no.on_click(self._guarded(lambda: self._answer(False)))
        self.csv.on_click(self._guarded(lambda: self._save("findings.csv")))
        self.xlsx.on_click(self._guarded(lambda: self._save("findings.xlsx")))
        return [
            self.counts, self.picture.box, widgets.HTML("<h3>The findings, line by line</h3>"),
            self.controls(self.table, self.severity, self.code, self.page), self.lines,
            self.controls(self.csv, self.xlsx), self.saved,
            widgets.HTML("<h3>Changes that look as if they were made, and are not recorded</h3>"),
            self.controls(self.change, self.yes, self.no), self.question,
        ]  # fmt: skip

    def _open(self, folder, as_of):
        return desk.judge(folder, self._progress)

    def _what_is_loaded(self):
        found = count_text(len(self.made.findings), "finding")
        return f"Loaded <b>{escape(self.made.records.source.name)}</b>: {found}."

    def _opened(self):
        found = self.made.findings
        self._fill(self.table, [view.ALL, *sorted(found["table"].unique())])
        self._fill(self.severity, [(name.replace("_", " "), name) for name in (view.ALL, *SEVERITIES)])
        rules = view.by_rule(found)
        self._fill(self.code, [(view.ALL, view.ALL), *((f"{code} ({n:,})", code) for code, n in zip(rules["code"], rules["findings"], strict=True))])
        proposals = self.made.proposals
        options = [
            (f"{vehicle} {axle}, visit {visit} ({answer or 'open'})", place)
            for place, (vehicle, axle, visit, answer) in enumerate(
                proposals[["vehicle_id", "axle", "visit_id", "answer"]].itertuples(index=False)
            )
        ]
        open_ones = [place for place, answer in enumerate(proposals["answer"]) if not answer]
        self._fill(self.change, options or [("none", 0)], open_ones[0] if open_ones else None)
        self.saved.value = ""

    def _redraw(self):
        found = self.made.findings
        count = view.counts(self.made.records, found)
        named = count.rename(columns={"read": "rows read", "in_part": "used in part", "left_out": "not used"})
        table = pieces.table(named.map(lambda cell: f"{cell:,}" if isinstance(cell, int) else cell), "")
        problem = f"<p><b>No schedule can be made of these records:</b> {escape(self.made.problem)}</p>" if self.made.problem else ""
        self.counts.value = f"<h2>{escape(view.headline(count))}</h2>{problem}{table}"
        self.picture.show(figures.rules_spec(view.by_rule(found)))
        self._filter_chosen()
        self._ask()

    def _chosen(self):
        return view.filtered(self.made.findings, self.table.value, self.severity.value, self.code.value)

    def _filter_chosen(self):
        self._fill(self.page, pieces.pages(len(self._chosen()), PAGE), 0)
        self._write_lines()

    def _write_lines(self):
        rows = self._chosen()
        shown = rows.iloc[self.page.value : self.page.value + PAGE]
        said = f"<p class='quiet'>{len(rows):,} of {len(self.made.findings):,} findings pass the filters; {len(shown):,} shown.</p>"
        self.lines.value = said + pieces.table(view.lines(shown), "Nothing to see here: no finding passes these filters.")

    def _ask(self):
        proposals = self.made.proposals
        self.yes.disabled = self.no.disabled = not len(proposals)
        if not len(proposals):
            self.question.value = "<p class='quiet'>None: no lining grew without a recorded job.</p>"
            return
        proposal = proposals.iloc[self.change.value]
        still = int(proposals["answer"].eq("").sum())
        self.question.value = (
            f"<p>{escape(view.question(proposal, self.shown))}</p><p class='quiet'>{escape(view.answer_words(proposal['answer']))}; "
            f"{still:,} of {len(proposals):,} still open. Answers are kept in records.toml beside the records.</p>"
        )

    def _answer(self, changed):
        proposals = self.made.proposals
        if not len(proposals):
            raise RecordsError("there is no proposed change to answer.")
        asked = proposals.iloc[self.change.value]
        answer_pad_change(self.made.records.source, asked["visit_id"], asked["axle"], asked["side"], changed)
        self._load()

    def _save(self, name):
        file = desk.save(self._chosen(), self.made.records, name)
        self.saved.value = f"<p>Saved {len(self._chosen()):,} findings, as filtered: <code>{escape(str(file))}</code></p>"

    def answer(self) -> str:
        """What is wrong with the records, in one sentence."""
        return pieces.wrapped([view.headline(view.counts(self.made.records, self.made.findings)) + "."])
