"""The piece of the records panel that asks who is who: one mix-up at a time, yes, no or unknown."""

from html import escape

import ipywidgets as widgets

from brakedata import answered
from brakedata.findings import RecordsError
from brakedata.panels.frame import NARROW, field

SUBJECTS = {
    "same_visit": "one visit on two papers", "vehicles_swapped": "two vehicles swapped", "sides_swapped": "left and right swapped",
    "new_cluster": "a new cluster", "odometer_unit": "an odometer in another unit",
}  # fmt: skip
EFFECTS = {
    "same_visit": "Yes takes the two visits together.",
    "vehicles_swapped": "Yes gives each visit to the other vehicle.",
    "sides_swapped": "Yes exchanges left and right of the readings of this axle at this visit.",
    "new_cluster": "Yes adds the distance to every odometer of this vehicle from that day on.",
    "odometer_unit": "Yes reads these odometers in the other unit.",
}
SAID = {"": "not answered", "no": "answered: no", "unknown": "answered: unknown"}


class WhoIsWho:
    """The questions, the three buttons, and the answers kept in ``records.toml``.

    Parameters
    ----------
    panel : Panel
        Whose strip takes errors, and which loads anew after an answer; ``panel.made`` has ``records`` and ``who``, the proposals
        of ``who_is_who.propose``.
    """

    def __init__(self, panel):
        self.panel = panel
        self.choice = field(widgets.Dropdown, "Question", "520px", options=[("none", 0)])
        self.buttons = {
            said: widgets.Button(description=text, layout=dict(NARROW))
            for said, text in (("yes", "Yes, it is so"), ("no", "No"), ("unknown", "Unknown"))
        }
        self.question = widgets.HTML()
        for said, button in self.buttons.items():
            button.on_click(panel._guarded(lambda said=said: self.answer(said)))
        panel._on(self.choice, self.ask)
        self.controls = panel.controls(self.choice, *self.buttons.values())
        self.boxes = [widgets.HTML("<h3>Who is who: what may have been mixed up</h3>"), self.controls, self.question]

    def opened(self) -> None:
        """Fill the choice from the proposals, the first open one chosen."""
        who = self.panel.made.who
        options = [
            (f"{SUBJECTS[kind]}: {vehicle} {visits}".strip() + f" ({answer or 'open'})", place)
            for place, (kind, vehicle, visits, answer) in enumerate(
                who[["kind", "vehicle_id", "visits", "answer"]].itertuples(index=False)
            )
        ]
        still = [place for place, answer in enumerate(who["answer"]) if not answer]
        self.panel._fill(self.choice, options or [("none", 0)], still[0] if still else None)

    def ask(self) -> None:
        """Show the chosen question with what speaks for it."""
        who = self.panel.made.who
        self.controls.layout.display = "" if len(who) else "none"
        if not len(who):
            self.question.value = "<p class='quiet'>None: no visit, vehicle, side or odometer looks mixed up.</p>"
            return
        asked = who.iloc[self.choice.value]
        evidence = asked["evidence"][:1].upper() + asked["evidence"][1:]
        self.question.value = (
            f"<p>{escape(evidence)}. Is it {escape(SUBJECTS[asked['kind']])}?</p><p class='quiet'>The evidence is {asked['strength']}; "
            f"{SAID[asked['answer']]}; {int(who['answer'].eq('').sum()):,} of {len(who):,} still open. {EFFECTS[asked['kind']]} Nothing "
            "is changed before; answers are kept in records.toml beside the records, and the files stay as they are.</p>"
        )

    def answer(self, said: str) -> None:
        """Remember an answer to the chosen question, and load anew."""
        made = self.panel.made
        if not len(made.who):
            raise RecordsError("there is no question to answer.")
        asked = made.who.iloc[self.choice.value]
        answered.remember(made.records.source, asked["kind"], asked["fields"], said)
        self.panel._load()
