"""The piece of the records panel for tables of a shop's own: what each column is, what must be said once, and what comes of it."""

from html import escape

import ipywidgets as widgets

from brakedata.findings import RecordsError
from brakedata.guards import shown
from brakedata.panels import pieces
from brakedata.panels.frame import NARROW, field
from brakedata.settings_file import SETTINGS_FILE
from brakedata.views import mapping as view
from brakedata.views.records import ledger_lines

COLUMNS_A_PAGE = 25
MOST_QUESTIONS = 12
ROWS = 20
MOST_FILES = 40
LABEL = {"description_width": "215px"}


class OwnTables:
    """The guesses, the questions and the first rows of a proposal; nothing is written before Save.

    Parameters
    ----------
    panel : RecordsPanel
        Whose strip takes errors, and which loads the records once they are saved.
    """

    def __init__(self, panel):
        self.panel, self.proposal = panel, None
        self._said: dict[str, object] = {}
        self._asked: list = []
        self._fields: dict[str, list] = {}
        self._lines: list[tuple[tuple[int, str], widgets.Dropdown, widgets.HTML]] = []
        self.headline, self.more, self.rows, self.ledger, self.missing, self.saved = (widgets.HTML() for _ in range(6))
        self.rows.add_class("brakedata-first-rows")
        self.missing.add_class("brakedata-missing")
        self.questions, self.columns = widgets.VBox(layout={"width": "100%"}), widgets.VBox(layout={"width": "100%"})
        self.taken = widgets.HTML(
            "<h3>What each column is taken for</h3><p class='quiet'>Those that are not sure come first.</p>"
        )
        self.page = field(widgets.Dropdown, "Columns", "240px", options=[("none", 0)])
        self.save_button = widgets.Button(description="Save", button_style="primary", layout=dict(NARROW))
        self.save_button.on_click(panel._guarded(self.save))
        panel._on(self.page, self._page_chosen)
        self.box = widgets.VBox(
            [
                self.headline, self.questions, self.more, self.taken, panel.controls(self.page),
                self.columns, self.rows, self.ledger, panel.controls(self.save_button, self.missing), self.saved,
            ],
            layout={"width": "100%", "display": "none"},
        )  # fmt: skip
        self.box.add_class("brakedata-own")

    def close(self) -> None:
        """Show nothing: the records are in the kit's own tables."""
        self.proposal, self.box.layout.display = None, "none"

    def open(self, proposal) -> None:
        """Show a proposal.

        Parameters
        ----------
        proposal : mapping.Proposal
        """
        columns = proposal.columns
        self.proposal, self._order = proposal, view.in_order(columns)
        self._said, self._asked, self._fields, self.questions.children = {}, [], {}, []
        self.panel._fill(self.page, pieces.pages(len(columns), COLUMNS_A_PAGE), 0)
        self._lay_columns()
        self.saved.value = ""
        self._show()
        self.box.layout.display = ""

    # --- what is shown

    def _show(self):
        """Bring everything to what is said so far."""
        proposal = self.proposal
        self.headline.value = (
            f"<h2>Your own tables</h2><p>{escape(view.headline(proposal))}.</p><p class='quiet'>Look through it, put right what is wrong, "
            f"and save: what you say is kept in {SETTINGS_FILE} beside the records, in plain words that can be changed there, and next month "
            "nothing of it is asked again. Your files stay as they are.</p>"
        )
        self._show_questions()
        self._show_columns()
        table = pieces.table(view.first_rows(proposal.first_rows(ROWS)), "No row holds anything.")
        self.rows.value = f"<h3>The first {ROWS} rows, as they load now</h3>{table}"
        said = ledger_lines(proposal.ledger())
        rest = [f"... and {len(said) - MOST_FILES:,} more files and sheets"] if len(said) > MOST_FILES else []
        self.ledger.value = f"<h3>What comes of every row</h3>{pieces.sentences([*said[:MOST_FILES], *rest])}"
        missing = view.missing(proposal)
        self.save_button.description = view.save_words(proposal)
        self.missing.value = f"<p>Before anything can be checked: {escape(' '.join(missing))}</p>" if missing else ""

    def _show_questions(self):
        """Questions keep their place and number; those answered stay, so that an answer can be changed."""
        waiting = {question.key: question for question in self.proposal.questions}
        kept = [question for question in self._asked if question.key in waiting or question.key in self._said]
        had = {question.key for question in kept}
        asked = [*kept, *(question for key, question in waiting.items() if key not in had)]
        listed = asked[:MOST_QUESTIONS]
        if [question.key for question in listed] != [question.key for question in self._asked]:
            self._asked = listed
            boxes = [box for number, question in enumerate(listed, 1) for box in self._question(number, question)]
            self.questions.children = [widgets.HTML("<h3>What must be said once</h3>"), *boxes] if boxes else []
        rest = len(asked) - len(listed)
        self.more.value = f"<p class='quiet'>{rest:,} more questions follow once some of these are answered.</p>" if rest else ""
        for question in listed:
            for control in self._fields[question.key]:
                if isinstance(control, widgets.Dropdown):
                    self.panel._set(control, value=self._said.get(question.key, view.NO_ANSWER))

    def _question(self, number, question):
        """A question as widgets: its words, and a choice or a text to answer it."""
        text, why = view.asked(number, question)
        options, words = view.answer_options(self.proposal, question), view.words_asked(question)
        if options:
            choice = widgets.Dropdown(
                options=options, description=f"Answer {number}", layout={"width": "510px"}, style=dict(LABEL)
            )
            controls = [choice]
        elif words:
            said = self._said.get(question.key, {})
            controls = [self._text(f"“{shown(word)}” means", ">=5 mm, or: no reading", said.get(word, "")) for word in words]
        else:
            controls = [self._text(f"Answer {number}", "write it here, then press Enter", self._said.get(question.key, ""))]
        self._fields[question.key] = controls
        for control in controls:
            self.panel._on(control, lambda: self._answered(question))
        return [widgets.HTML(f"<p><b>{escape(text)}</b></p><p class='quiet'>{escape(why)}</p>"), *controls]

    def _text(self, label, hint, said):
        return widgets.Text(
            description=label,
            placeholder=hint,
            value=str(said),
            continuous_update=False,
            layout={"width": "510px"},
            style=dict(LABEL),
        )

    def _page_chosen(self):
        self._lay_columns()
        self._show_columns()

    def _lay_columns(self):
        """A line a column of the chosen page: what it is, to choose; beside it its cells and why."""
        self._lines = []
        for layout, column in self._order[self.page.value : self.page.value + COLUMNS_A_PAGE]:
            label = view.column_label(self.proposal, layout, column)
            role = widgets.Dropdown(description=label, layout={"width": "510px"}, style=dict(LABEL))
            self.panel._on(role, lambda at=(layout, column), role=role: self._say(f"columns.{at[0]}.{at[1]}", role.value))
            self._lines.append(((layout, column), role, widgets.HTML()))
        self.columns.children = [self.panel.controls(role, said) for _, role, said in self._lines]
        for row in self.columns.children:
            row.add_class("brakedata-column")

    def _show_columns(self):
        by_place = {(one["layout"], one["column"]): one for _, one in self.proposal.columns.iterrows()}
        for at, control, said in self._lines:
            one = by_place[at]
            self.panel._fill(control, view.role_options(self.proposal, one["role"]), one["role"])
            said.value = (
                f"<p><code>{escape(view.sample_words(one))}</code> {escape(view.read_words(one))}</p>"
                f"<p class='quiet'>{escape(view.surety(one))}</p>"
            )

    # --- what a person does

    def _answered(self, question):
        controls = self._fields[question.key]
        if words := view.words_asked(question):
            value = {word: control.value.strip() for word, control in zip(words, controls, strict=True) if control.value.strip()}
        else:
            value = controls[0].value
        if not value:
            self._show()
            raise RecordsError("an answer can be changed here, not taken back: choose another, or press Load to begin anew.")
        if question.key == "new_thickness_mm":
            value = view.number(value)
        self._say(question.key, value)

    def _say(self, key, value):
        """Tell the proposal, and show what comes of it; what cannot be leaves everything as it was."""
        status = self.panel.status.value
        self.panel._progress("reading the cells with this answer")
        try:
            self.proposal.answer(key, value)
            if not key.startswith("columns.") or key in {question.key for question in self._asked}:
                self._said[key] = value
        finally:
            self.panel.status.value = status
            self._show()

    def save(self) -> None:
        """Write ``records.toml`` beside the records, and go on to the checks where nothing is missing."""
        file = self.proposal.save()
        self._show()
        if not view.missing(self.proposal):
            self.panel._load()
        self.saved.value = f"<p>Saved in <code>{escape(str(file.resolve()))}</code></p>"
