"""The wear panel: one axle's readings, lines, limits and due window."""

from html import escape

import ipywidgets as widgets
import pandas as pd

from brakedata import figures
from brakedata.panels import pieces
from brakedata.panels.frame import NARROW, Panel, field
from brakedata.panels.redraw import Picture
from brakedata.units import THICKNESS_MM
from brakedata.views import wear

FIRST_DUE = -1
_STEPS = {"mm": 0.1, "in": 0.005, "32nds": 0.25}
_FORMATS = {"mm": ".1f", "in": ".3f", "32nds": ".2f"}


class WearPanel(Panel):
    """How one axle wears, and how sure that is."""

    def _build(self):
        self.vehicle = field(widgets.Dropdown, "Vehicle", "230px", options=["-"])
        self.axle = field(widgets.Dropdown, "Axle", "150px", options=["-"])
        self.position = field(widgets.Dropdown, "Lines of", "310px", options=[("first to be due", FIRST_DUE)])
        self.history = field(
            widgets.Dropdown, "Show", "260px", options=list(wear.LIVES_SHOWN.items()), value=wear.LIVES_SHOWN_FIRST
        )
        self.replace_at = field(widgets.FloatSlider, "What if replaced at (mm)", "430px", continuous_update=False)
        self.as_recorded = widgets.Button(description="Back to the recorded point", layout=dict(NARROW))
        self.picture, self.disc_picture = Picture(), Picture()
        self.numbers, self.window, self.beside, self.readings = (widgets.HTML() for _ in range(4))
        self.window.add_class("brakedata-answer")
        self._on(self.vehicle, self._vehicle_chosen)
        self._on(self.axle, self._axle_chosen)
        for control in (self.position, self.history, self.replace_at):
            self._on(control, self._redraw)
        self.as_recorded.on_click(self._guarded(self._untry))
        return [
            self.controls(self.vehicle, self.axle, self.position, self.history), self.controls(self.replace_at, self.as_recorded),
            self.picture.box, self.window, self.numbers, self.disc_picture.box, self.beside, self.readings,
        ]  # fmt: skip

    def _opened(self):
        self.book = wear.WearBook(self.made)
        self._tried = None
        first = self.made.table["vehicle_id"].iloc[0]
        self._fill(self.vehicle, sorted(self.made.table["vehicle_id"].unique()), None if self._known() else first)
        self._axles_of_vehicle()

    def _known(self):
        return self.vehicle.value in set(self.made.table["vehicle_id"])

    def _vehicle_chosen(self):
        self._axles_of_vehicle()
        self._redraw()

    def _axles_of_vehicle(self):
        """The vehicle's axles; of a vehicle just chosen, the one due first."""
        table = self.made.table
        due_first = table.loc[table["vehicle_id"].eq(self.vehicle.value), "axle"].iloc[0]
        options = [(wear.axle_words(axle), axle) for axle in self.book.axles_of(self.vehicle.value)]
        self._fill(self.axle, options, due_first)
        self._positions_of_axle()

    def _axle_chosen(self):
        self._positions_of_axle()
        self._redraw()

    def _positions_of_axle(self):
        view = self.book.view(self.vehicle.value, self.axle.value, None, self.history.value)
        options = [(f"first to be due ({view.position['label']})", FIRST_DUE)]
        options += [(label, int(slot)) for label, slot in zip(view.positions["label"], view.positions["slot"], strict=True)]
        self._filling = True
        self.position.options, self.position.value = options, FIRST_DUE
        self._filling = False
        self._tried = None
        self._slide(view.recorded_replace_mm, view)

    def _slide(self, mm, view):
        """Put the slider at ``mm``, in the chosen unit, over what the part can be."""
        unit = self.thickness.value
        top = THICKNESS_MM[unit]
        low = 0.0 if pd.isna(view.position["discard_at_mm"]) else float(view.position["discard_at_mm"])
        high = max(float(view.position["new_mm"]) * 0.8, view.recorded_replace_mm, mm)
        self._filling = True
        self.replace_at.description = f"What if replaced at ({unit})"
        self.replace_at.step, self.replace_at.readout_format = _STEPS[unit], _FORMATS[unit]
        self.replace_at.min = min(self.replace_at.min, low / top)
        self.replace_at.max, self.replace_at.min = high / top, low / top
        self.replace_at.value = mm / top
        self._filling = False
        self._unit_of_slider = unit

    def _untry(self):
        self._tried = None
        self._slide(self._view().recorded_replace_mm, self._view())
        self._redraw()

    def _view(self):
        slot = None if self.position.value == FIRST_DUE else self.position.value
        return self.book.view(self.vehicle.value, self.axle.value, slot, self.history.value)

    def _redraw(self):
        view = self._view()
        if self.thickness.value != self._unit_of_slider:
            self._slide(self._tried if self._tried is not None else view.recorded_replace_mm, view)
        view = self._with_what_if(view)
        spec = figures.wear_spec(view, self.shown)
        self.picture.show(spec)
        self.disc_picture.show(figures.disc_spec(self.book.disc(view), self.shown, spec["layout"]["xaxis"]["range"]))
        self._write(view)

    def _with_what_if(self, view):
        """The view at the slider's replace point, when that is not the recorded one."""
        mm = self.replace_at.value * THICKNESS_MM[self.thickness.value]
        half_step = 0.51 * _STEPS[self.thickness.value] * THICKNESS_MM[self.thickness.value]
        self._tried = None if abs(mm - view.recorded_replace_mm) <= half_step else mm
        self.as_recorded.disabled = self._tried is None
        if self._tried is None or not view.forecast:
            return view
        return wear.what_if(view, self.made.try_replace_at(self._tried, view.axle_no), self._tried)

    def _write(self, view):
        """The same numbers in tables and words."""
        trial = ""
        if view.tried_mm is not None:
            trial = (
                f"<p><b>What if:</b> replaced at {self.shown.thickness_text(view.tried_mm)}, instead of "
                f"{self.shown.thickness_text(view.recorded_replace_mm)} in the records. Nothing is saved.</p>"
            )
        table = pieces.table(wear.window_table(view, self.shown), "No forecast for this axle.")
        self.window.value = f"<h3>Due window of the axle</h3>{trial}{table}"
        said = [f"{name[:1].upper()}{name[1:]}: {value}." for name, value in wear.numbers(view, self.shown)]
        self.numbers.value = pieces.sentences([*said, view.own_words(self.shown)])
        self.beside.value = "".join(
            f"<h3>{title}</h3>{pieces.sentences(said)}"
            for title, said in (
                ("Rotors and drums", self.book.rotors_of(view, self.shown)),
                ("Odd wear", self.book.odd_of(view)),
                ("Where the number comes from", self.book.sources(view, self.shown)),
            )
            if said
        )
        readings = pieces.table(wear.readings_table(view, self.shown), "No reading of this axle was used.")
        self.readings.value = f"<h3>Readings of {escape(view.name)}, newest first</h3>{readings}"

    def _in_short(self) -> str:
        """When the shown axle is due, and what stands behind it, in plain sentences."""
        view = self._with_what_if(self._view())
        return pieces.wrapped([f"{view.headline(self.shown)}.", f"{view.behind()}.", view.own_words(self.shown)])
