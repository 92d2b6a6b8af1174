"""The piece of the comebacks panel that asks whether a complaint belongs to a job: yes, no or unknown, with a reason."""

from html import escape

import ipywidgets as widgets

from brakedata import comebacks
from brakedata.findings import RecordsError
from brakedata.panels.frame import NARROW, field
from brakedata.shown import day_text
from brakedata.views import complaints as view

NONE = ("none", -1)
TEXT_LETTERS = 60


class Answer:
    """The complaint, the job it may belong to, the reason and the three buttons; answers are kept in ``records.toml``.

    Parameters
    ----------
    panel : ComebacksPanel
        Whose strip takes errors, and which links anew after an answer.
    """

    def __init__(self, panel):
        self.panel = panel
        self.complaint = field(widgets.Dropdown, "Complaint", "640px", options=[NONE])
        self.job = field(widgets.Dropdown, "Job", "460px", options=[NONE])
        self.reason = field(widgets.Text, "Reason", "460px", placeholder="in your own words, kept with the answer")
        self.buttons = {
            said: widgets.Button(description=text, layout=dict(NARROW))
            for said, text in (("yes", "Yes, of that job"), ("no", "No, not of it"), ("unknown", "Unknown"))
        }
        self.question, self.said = widgets.HTML(), widgets.HTML()
        for said, button in self.buttons.items():
            button.on_click(panel._guarded(lambda said=said: self.answer(said)))
        panel._on(self.complaint, self.complaint_chosen)
        panel._on(self.job, self.ask)
        self.boxes = [
            widgets.HTML("<h3>Does this complaint belong to this job?</h3>"), panel.controls(self.complaint, self.job), self.question,
            panel.controls(self.reason, *self.buttons.values()), self.said,
        ]  # fmt: skip

    def opened(self, rows) -> None:
        """Offer the complaints of a list.

        Parameters
        ----------
        rows : DataFrame
            As `views.complaints.complaints` gives them.
        """
        self.listed = rows
        texts = (rows["complaint"].where(rows["complaint"].ne(""), rows["note"])).str.slice(0, TEXT_LETTERS)
        options = [
            (f"{vehicle}, {day_text(date)}, {visit}: {text}", place)
            for place, (vehicle, date, visit, text) in enumerate(
                zip(rows["vehicle_id"], rows["date"], rows["visit_id"], texts, strict=True)
            )
        ]
        self.panel._fill(self.complaint, options or [NONE], 0)
        self.complaint_chosen()

    def complaint_chosen(self) -> None:
        """Offer the jobs the complaint can belong to, the one it is linked with first chosen."""
        jobs, linked = [], None
        if len(self.listed):
            complaint = self.listed.iloc[self.complaint.value]
            jobs, linked = view.earlier_jobs(self.panel.made.found, complaint), complaint["job"]
        self.panel._fill(self.job, jobs or [NONE], int(linked) if linked == linked and linked is not None else None)
        self.panel._set(self.reason, value="")
        self.ask()

    def ask(self) -> None:
        """Show the question, and what was answered before."""
        none = not len(self.listed) or self.job.value == NONE[1]
        for button in self.buttons.values():
            button.disabled = none
        if none:
            self.question.value = "<p class='quiet'>None: choose another list above.</p>"
            return
        link = self._link()
        before = view.answered(link["answer"], link["reason"])
        self.question.value = (
            f"<p>{escape(view.question(link, self.panel.shown))}</p><p class='quiet'>So far: {escape(before)}.</p>"
        )

    def _link(self):
        made = self.panel.made
        return view.pair(made.found, made.records, self.listed.iloc[self.complaint.value], self.job.value)

    def answer(self, said: str) -> None:
        """Remember an answer to the chosen question, and link anew."""
        if not len(self.listed) or self.job.value == NONE[1]:
            raise RecordsError("there is no complaint to answer: choose another list.")
        link, reason = self._link(), self.reason.value.strip()
        file = comebacks.answer(
            self.panel.made.records.source, link["visit_id"], link["job_visit_id"], link["job_axle"], said, reason
        )
        self.panel.refollow()
        self.said.value = (
            f"<p>Answered {said}: visit {escape(link['visit_id'])} and the {escape(link['job_axle'])} job of visit "
            f"{escape(link['job_visit_id'])}. Kept in <code>{escape(str(file.resolve()))}</code>.</p>"
        )
