"""The schedule panel: which axle is due, when, and why."""

from html import escape

import ipywidgets as widgets

from brakedata import figures, rotors, schedule
from brakedata.panels import desk, pieces
from brakedata.panels.frame import NARROW, Panel, field
from brakedata.panels.redraw import Picture
from brakedata.views import measure
from brakedata.views import schedule as view
from brakedata.views import track_record as record_view
from brakedata.views.wear import axle_words

PAGE = 25
MOST_ASKED = 400
"""Of how many axles, soonest first, it is worked out what one more reading would do."""
NO_AXLE = ("", "")


class SchedulePanel(Panel):
    """Which axle is due, when, and why."""

    def _build(self):
        self.horizon = field(widgets.Dropdown, "Due within", "185px", options=list(view.HORIZONS.items()), value=6)
        self.wear_class = field(widgets.Dropdown, "Wear class", "205px", options=[view.ALL])
        self.axle = field(widgets.Dropdown, "Axle", "125px", options=[view.ALL])
        self.vehicle = field(widgets.Text, "Vehicle contains", "205px", continuous_update=False)
        self.order = field(widgets.Dropdown, "Sort by", "240px", options=list(view.ORDERS))
        self.page = field(widgets.Dropdown, "Rows", "150px", options=[("none", 0)])
        self.why = field(widgets.Dropdown, "Why is this axle due", "360px", options=[("none", NO_AXLE)])
        self.csv = widgets.Button(description="Download CSV", layout=dict(NARROW))
        self.xlsx = widgets.Button(description="Download XLSX", layout=dict(NARROW))
        self.picture = Picture()
        self.table, self.next, self.record, self.reasons, self.saved = (widgets.HTML() for _ in range(5))
        self.table.add_class("brakedata-answer")
        self.reasons.add_class("brakedata-why")
        for control in (self.horizon, self.wear_class, self.axle, self.vehicle, self.order):
            self._on(control, self._filter_chosen)
        self._on(self.page, self._draw_page)
        self._on(self.why, self._explain)
        self.csv.on_click(self._guarded(lambda: self._save(".csv")))
        self.xlsx.on_click(self._guarded(lambda: self._save(".xlsx")))
        return [
            self.controls(self.horizon, self.wear_class, self.axle, self.vehicle, self.order, self.page),
            self.picture.box, self.controls(self.why), self.reasons, self.table, self.next, self.record, self.controls(self.csv, self.xlsx), self.saved,
        ]  # fmt: skip

    def _opened(self):
        self.rows, self.rotors = view.with_more(self.made), rotors.fit(self.made)
        self._fill(self.wear_class, [view.ALL, *sorted(name for name in self.rows["wear_class"].unique() if name)])
        axles = [(axle_words(axle), axle) for axle in sorted(self.rows["axle"].unique())]
        self._fill(self.axle, [(view.ALL, view.ALL), *axles])
        self.saved.value = ""

    def _redraw(self):
        self._filter_chosen()

    def _load(self):
        super()._load()
        self._look_back()

    def _units_chosen(self):
        super()._units_chosen()
        if self.made is not None:
            self._look_back()

    def _look_back(self):
        """Say how such schedules have done so far: after all else is drawn, since it takes its time when first asked."""
        self.record.value = "<p class='quiet'>Track record: looking back …</p>"
        record = desk.open_quick_record(self._loaded[0], self.made)
        self.record.value = f"<p>{escape(record_view.line(record, self.shown))}</p>"

    def _filter_chosen(self):
        self.chosen = view.filtered(
            self.rows, self.made.as_of, months=self.horizon.value or None, wear_class=self.wear_class.value, axle=self.axle.value,
            vehicle=self.vehicle.value, order=self.order.value,
        )  # fmt: skip
        self._fill(self.page, pieces.pages(len(self.chosen), PAGE), 0)
        self._draw_page()
        self._measure_next()

    def _draw_page(self):
        page = self.chosen.iloc[self.page.value : self.page.value + PAGE].reset_index(drop=True)
        title = view.headline(self.chosen, len(self.rows), self.made.as_of, self.horizon.value or None)
        self.picture.show(figures.calendar_spec(page, self.made.as_of, title, view.KEY, self.shown))
        said = f"<h3>The same axles as a table</h3><p class='quiet'>{len(page):,} of {len(self.chosen):,} axles that pass the filters.</p>"
        self.table.value = said + pieces.table(view.cells(page, self.shown), "No axle passes these filters.")
        options = [
            (f"{vehicle} {axle_words(axle)}", (vehicle, axle))
            for vehicle, axle in zip(page["vehicle_id"], page["axle"], strict=True)
        ]
        self._fill(self.why, options or [("none", NO_AXLE)])
        self._explain()

    def _measure_next(self):
        """Which of the filtered axles one more reading would tell most about."""
        said, table = measure.next_to_measure(self.made, self.chosen.head(MOST_ASKED), self.shown)
        self.next.value = f"<h3>Which axle to measure next</h3><p>{escape(said)}</p>" + (
            pieces.table(table, "") if len(table) else ""
        )

    def _explain(self):
        if self.why.value == NO_AXLE:
            self.reasons.value = "<p class='quiet'>No axle to explain: none passes these filters.</p>"
            return
        said = schedule.why(self.made, *self.why.value, self.shown)
        self.reasons.value = pieces.sentences([*said, *measure.rotor_words(self.made, self.rotors, *self.why.value, self.shown)])

    def _save(self, suffix):
        frame = self.chosen[schedule.COLUMNS]
        file = desk.save(frame, self.made.records, f"schedule_{self.made.as_of:%Y-%m-%d}{suffix}", view.about(self.made))
        self.saved.value = f"<p>Saved {len(frame):,} axles, as filtered, in km and mm: <code>{escape(str(file))}</code></p>"

    def _in_short(self) -> str:
        """What the filtered schedule comes to, and why its first axle is due, in plain sentences."""
        said = [view.headline(self.chosen, len(self.rows), self.made.as_of, self.horizon.value or None) + "."]
        return pieces.wrapped(
            said + ([] if self.why.value == NO_AXLE else schedule.why(self.made, *self.why.value, self.shown)[:3])
        )
