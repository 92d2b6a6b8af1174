"""The records panel: what is wrong with a records folder, and the changes and mix-ups that await an answer."""

from html import escape

import ipywidgets as widgets

from brakedata import figures, mapping
from brakedata.findings import SEVERITIES, RecordsError
from brakedata.panels import desk, pieces
from brakedata.panels.frame import NARROW, Panel, field
from brakedata.panels.mapping_piece import OwnTables
from brakedata.panels.redraw import Picture
from brakedata.panels.who_piece import WhoIsWho
from brakedata.records import answer_pad_change, at_source
from brakedata.shown import count_text
from brakedata.views import mapping as mapping_view
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
        self.who, self.own = WhoIsWho(self), OwnTables(self)
        for control in (self.table, self.severity, self.code):
            self._on(control, self._filter_chosen)
        self._on(self.page, self._write_lines)
        self._on(self.change, self._ask)
        self.yes.on_click(self._guarded(lambda: self._answer(True)))
        self.no.on_click(self._guarded(lambda: self._answer(False)))
        self.csv.on_click(self._guarded(lambda: self._save("findings.csv")))
        self.xlsx.on_click(self._guarded(lambda: self._save("findings.xlsx")))
        self.checks = widgets.VBox([
            self.counts, self.picture.box, widgets.HTML("<h3>The findings, line by line</h3>"),
            self.controls(self.table, self.severity, self.code, self.page), self.lines,
            self.controls(self.csv, self.xlsx), self.saved,
            widgets.HTML("<h3>Changes that look as if they were made, and are not recorded</h3>"),
            self.controls(self.change, self.yes, self.no), self.question, *self.who.boxes,
        ], layout={"width": "100%"})  # fmt: skip
        return [self.own.box, self.checks]

    def _load(self):
        source = desk.path_of(self.folder.value)
        proposal = self._proposed(source) if mapping.foreign(source) else None
        ready, before = proposal is None or mapping_view.known(proposal), self.checks.layout.display
        if ready:
            self.checks.layout.display = ""  # first, since a picture that nobody sees is not drawn
            try:
                super()._load()
            except Exception:
                self.checks.layout.display = before
                raise
        else:
            said = "which holds none of the kit's own tables; nothing is written before you save."
            self.status.value = f"Looking at <b>{escape(source.name)}</b>, {said}"
            self.checks.layout.display = "none"
        self.own.open(proposal) if proposal else self.own.close()
        self.body.layout.visibility = "visible"

    def _proposed(self, source):
        """What a shop's own tables are taken for."""
        status = self.status.value
        self._progress("reading the files")
        try:
            proposal = mapping.propose(source)
            if not len(proposal.first_rows(1)):
                raise RecordsError(f"{source.name} holds no row under a heading: give the folder or file that holds the records.")
        finally:
            self.status.value = status
        return proposal

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
        self._fill(
            self.code,
            [
                (view.ALL, view.ALL),
                *((f"{code} ({n:,})", code) for code, n in zip(rules["code"], rules["findings"], strict=True)),
            ],
        )
        proposals = self.made.proposals
        options = [
            (f"{vehicle} {axle}, visit {visit} ({answer or 'open'})", place)
            for place, (vehicle, axle, visit, answer) in enumerate(
                proposals[["vehicle_id", "axle", "visit_id", "answer"]].itertuples(index=False)
            )
        ]
        open_ones = [place for place, answer in enumerate(proposals["answer"]) if not answer]
        self._fill(self.change, options or [("none", 0)], open_ones[0] if open_ones else None)
        self.who.opened()
        self.saved.value = ""

    def _redraw(self):
        found = self.made.findings
        records = self.made.records
        if records.trail is None:
            named = view.counts(records, found).rename(
                columns={"read": "rows read", "in_part": "used in part", "left_out": "not used"}
            )
            table = pieces.table(named.map(lambda cell: f"{cell:,}" if isinstance(cell, int) else cell), "")
        else:
            table = pieces.sentences(view.gave(records))
        problem = (
            f"<p><b>No schedule can be made of these records:</b> {escape(self.made.problem)}</p>" if self.made.problem else ""
        )
        self.counts.value = f"<h2>{escape(view.said_of(records, found))}</h2>{problem}{table}"
        self.picture.show(figures.rules_spec(view.by_rule(found)))
        self._filter_chosen()
        self._ask()
        self.who.ask()

    def _chosen(self):
        return view.filtered(self.made.findings, self.table.value, self.severity.value, self.code.value)

    def _filter_chosen(self):
        self._fill(self.page, pieces.pages(len(self._chosen()), PAGE), 0)
        self._write_lines()

    def _write_lines(self):
        rows = self._chosen()
        shown = rows.iloc[self.page.value : self.page.value + PAGE]
        said = (
            f"<p class='quiet'>{len(rows):,} of {len(self.made.findings):,} findings pass the filters; {len(shown):,} shown.</p>"
        )
        lines = view.lines(at_source(shown, self.made.records.trail))
        self.lines.value = said + pieces.table(lines, "Nothing to see here: no finding passes these filters.")

    def _ask(self):
        proposals = self.made.proposals
        self.yes.disabled = self.no.disabled = not len(proposals)
        if not len(proposals):
            self.question.value = "<p class='quiet'>None: no lining grew without a recorded job.</p>"
            return
        proposal = proposals.iloc[self.change.value]
        still = int(proposals["answer"].eq("").sum())
        self.question.value = (
            f"<p>{escape(view.question(proposal, self.shown, self.made.records.trail))}</p><p class='quiet'>{escape(view.answer_words(proposal['answer']))}; "
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
        found, records = self._chosen(), self.made.records
        file = (
            desk.hand_back(found, records, name)
            if name.endswith(".xlsx")
            else desk.save(at_source(found, records.trail), records, name)
        )
        self.saved.value = f"<p>Saved {len(found):,} findings, as filtered: <code>{escape(str(file))}</code></p>"

    def answer(self) -> str:
        """What is wrong with the records, in one sentence; of tables nobody has looked at yet, what they are taken for."""
        if self.own.proposal is not None and not mapping_view.known(self.own.proposal):
            return pieces.wrapped([mapping_view.headline(self.own.proposal) + "."])
        return super().answer()

    def _in_short(self) -> str:
        """What is wrong with the records, in one sentence."""
        return pieces.wrapped([view.said_of(self.made.records, self.made.findings) + "."])
