"""The start panel: where the records are, what they hold, and what they come to."""

from html import escape

import ipywidgets as widgets

from brakedata.panels import pieces
from brakedata.panels.frame import Panel
from brakedata.shown import count_text, day_text
from brakedata.views import records as records_view
from brakedata.views import schedule as schedule_view

MONTHS = 6


class StartPanel(Panel):
    """Where the records are, and what they come to."""

    def _build(self):
        self.overview = widgets.HTML()
        self.overview.add_class("brakedata-answer")
        return [self.overview]

    def _opened(self):
        self._rows = schedule_view.with_more(self.made)

    def _redraw(self):
        made = self.made
        said = "".join(f"<p>{escape(sentence)}</p>" for sentence in self._said())
        self.overview.value = (
            f"<h2>{escape(self._headline())}</h2>{said}<h3>What was found in <code>{escape(str(made.records.source.resolve()))}</code></h3>"
            + self._found()
        )

    def _found(self):
        made = self.made
        if made.records.trail is not None:
            return pieces.sentences(records_view.gave(made.records))
        counts = records_view.counts(made.records, made.findings)
        named = counts[counts["read"] > 0][["table", "read"]].rename(columns={"read": "rows read"})
        return pieces.table(named.map(lambda cell: f"{cell:,}" if isinstance(cell, int) else cell), "No table was found.")

    def _said(self):
        pace = self.made.usage.table["km_per_day"].median()
        odometers = int(self.made.usage.table["odometers"].sum())
        yield f"{records_view.said_of(self.made.records, self.made.findings)}; the newest date is {day_text(self.made.records.newest_date)}."
        yield (
            f"The median vehicle drives {self.shown.distance_text(pace)} a day ({count_text(odometers, 'odometer reading')} of "
            f"{count_text(len(self.made.usage.table), 'vehicle')})."
        )

    def _in_short(self) -> str:
        """What the schedule comes to over the next six months, in one sentence."""
        return pieces.wrapped([f"{self._headline()}."])

    def _headline(self):
        chosen = schedule_view.filtered(self._rows, self.made.as_of, months=MONTHS)
        return schedule_view.headline(chosen, len(self._rows), self.made.as_of, MONTHS)
