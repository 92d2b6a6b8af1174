"""The track record panel: had the kit been used before, how right would it have been?"""

import ipywidgets as widgets

from brakedata import figures_track_record as figures
from brakedata.panels import desk, pieces
from brakedata.panels.frame import Panel, field
from brakedata.panels.redraw import Picture
from brakedata.shown import count_text, day_text
from brakedata.views import track_record as view

PAGE = 25
VEHICLES = {"at most 100": 100, "at most 300": 300, "all": None}


class TrackRecordPanel(Panel):
    """What the kit would have said on past dates, beside what came."""

    def _build(self):
        self.dates = field(widgets.Dropdown, "Forecasts of", "300px", options=list(view.DATES), value=view.FIRST_DATES)
        self.vehicles = field(widgets.Dropdown, "Vehicles", "210px", options=list(VEHICLES))
        self.page = field(widgets.Dropdown, "Rows", "150px", options=[("none", 0)])
        self.windows, self.by_date, self.misses = Picture(), Picture(), Picture()
        self.said, self.table, self.readings, self.left_out = (widgets.HTML() for _ in range(4))
        self.said.add_class("brakedata-answer")
        for control in (self.dates, self.vehicles):
            self._on(control, self._walked_anew)
        self._on(self.page, self._write_page)
        return [
            self.controls(self.dates, self.vehicles), self.said, self.windows.box, self.misses.box, self.by_date.box,
            self.controls(self.page), self.table, self.readings, self.left_out,
        ]  # fmt: skip

    def _opened(self):
        self._look_back()

    def _walked_anew(self):
        self._look_back()
        self._redraw()

    def _look_back(self):
        """Make the forecasts of the past dates, saying which is being made."""
        status = self.status.value
        dates, most = view.DATES[self.dates.value], VEHICLES[self.vehicles.value]
        try:
            self.record = desk.open_track_record(self._loaded[0], self.made, dates, most, self._progress)
        finally:
            self.status.value = status
        self._fill(self.page, pieces.pages(len(self.record.judged), PAGE), 0)

    def _redraw(self):
        record = self.record
        self.said.value = pieces.sentences(view.sentences(record, self.shown))
        self.windows.show(figures.windows_spec(record.judged, self.shown))
        self.misses.show(figures.misses_spec(view.misses(record), self.shown))
        self.by_date.show(figures.by_date_spec(view.by_date(record)))
        left_out = pieces.table(view.not_judged(record), "Every forecast of these dates can be judged.", {"forecasts"})
        self.left_out.value = f"<h3>Forecasts that cannot be judged, and why</h3>{left_out}"
        self._write_page()

    def _write_page(self):
        rows = view.windows_table(self.record.judged, self.shown).iloc[self.page.value : self.page.value + PAGE]
        self.table.value = "<h3>Each judged window: those that missed first, then by how far</h3>" + pieces.table(
            rows, "No past window can be judged yet."
        )
        readings = view.readings_table(self.record.next_readings, self.shown).head(PAGE)
        self.readings.value = "<h3>Next readings, those outside their band first</h3>" + pieces.table(
            readings, "No later reading yet."
        )

    def _in_short(self) -> str:
        """What the track record comes to, in plain sentences."""
        dates = f"Forecasts of {count_text(len(self.record.dates), 'past date')}"
        if self.record.dates:
            dates += f", {day_text(self.record.dates[0])} the first"
        return pieces.wrapped([f"{dates}.", *view.sentences(self.record, self.shown)])
