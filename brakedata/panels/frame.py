"""What every panel has: the records folder, Load, the as-of date, one switch for units, progress, and a strip for errors."""

from html import escape

import ipywidgets as widgets

from brakedata.findings import RecordsError
from brakedata.panels import desk, pieces
from brakedata.panels.redraw import Fit
from brakedata.shown import DISTANCES, THICKNESSES, Shown, count_text, day_text, usual

NARROW = {"width": "auto"}
AUTO = {"description_width": "initial"}


def field(kind, label: str, width: str = "auto", **more):
    """A control with its label beside it, as wide as told."""
    return kind(description=label, layout={"width": width}, style=dict(AUTO), **more)


class Panel:
    """A panel: built once, updated in place, loaded when it is first shown.

    A subclass builds its controls and pictures in ``_build``, fills them from new records in ``_opened`` and brings everything
    to the state of the controls in ``_redraw``.

    Parameters
    ----------
    folder : str or Path, optional
        Records to open; default those ``brakedata lab`` was started on, else the demo records.
    """

    ask_as_of = True

    def __init__(self, folder=None):
        self.made = None
        self.fault: Exception | None = None
        self.trouble = ""
        self._filling = False
        self._loaded = ("", None)
        self.folder = field(
            widgets.Text, "Records folder", "460px", value=str(folder or desk.first_folder()), continuous_update=False
        )
        self.as_of = field(widgets.DatePicker, "As of", "210px")
        self.load_button = widgets.Button(description="Load", button_style="primary", layout=dict(NARROW))
        self.distance = field(widgets.ToggleButtons, "Distance", options=DISTANCES)
        self.thickness = field(widgets.ToggleButtons, "Thickness", options=THICKNESSES)
        for switch in (self.distance, self.thickness):
            switch.style.button_width = "68px"
        self.status = widgets.HTML()
        self.strip = widgets.HTML()
        self.strip.add_class("brakedata-error")
        self.status.add_class("brakedata-status")
        asked = [self.folder, self.as_of, self.load_button] if self.ask_as_of else [self.folder, self.load_button]
        top = self.controls(*asked, self.distance, self.thickness)
        top.add_class("brakedata-top")
        self.body = widgets.VBox(self._build(), layout={"width": "100%", "visibility": "hidden"})
        self.widget = widgets.VBox(
            [widgets.HTML(pieces.STYLE), Fit(), top, self.status, self.strip, self.body], layout={"width": "100%"}
        )
        self.widget.add_class("brakedata")
        self.load_button.on_click(self._guarded(self._load))
        self._on(self.distance, self._units_chosen)
        self._on(self.thickness, self._units_chosen)

    def _ipython_display_(self):
        from IPython.display import display

        display(self.widget)
        if self.made is None:
            self.load()

    # --- for the subclass

    def _build(self) -> list[widgets.Widget]:
        """Make the controls and pictures; returns what stands under the top row."""
        raise NotImplementedError

    def _opened(self) -> None:
        """Fill the controls from ``self.made``."""
        raise NotImplementedError

    def _redraw(self) -> None:
        """Bring pictures and tables to the state of the controls."""
        raise NotImplementedError

    def _in_short(self) -> str:
        """What the panel shows, in plain sentences."""
        raise NotImplementedError

    def answer(self) -> str:
        """What the panel shows, in plain sentences, to copy; where nothing is loaded, why."""
        if self.made is None:
            return pieces.wrapped([self.trouble or "Nothing is loaded yet: press Load."])
        try:
            said = self._in_short()
        except RecordsError as problem:
            said = pieces.wrapped([str(problem)])
        return f"{said}\n\n{pieces.wrapped([self._whose()])}"

    def _whose(self) -> str:
        """Of which records, and in which units, a copied answer is: it stays as it was when its cell was run."""
        units = f"{self.distance.value} and {self.thickness.value}"
        return f"{self.made.records.source.name}, in {units}, as this cell was last run."

    def controls(self, *boxes) -> widgets.Box:
        """A row of controls that wraps on a narrow screen."""
        row = widgets.Box(list(boxes), layout={"width": "100%"})
        row.add_class("brakedata-controls")
        return row

    @property
    def shown(self) -> Shown:
        """The units chosen."""
        return Shown(self.distance.value, self.thickness.value)

    def _units_chosen(self):
        if self.made is not None:
            self._redraw()

    def _on(self, control, action) -> None:
        """Run ``action`` when the value of ``control`` changes."""
        control.observe(self._guarded(action), "value")

    def _guarded(self, action):
        """``action`` as a callback: nothing while controls are being filled, every failure as a sentence in the strip."""

        def run(_change=None):
            if self._filling:
                return
            try:
                action()
            except RecordsError as problem:
                self._complain(str(problem))
            except OSError as problem:
                self._complain(f"{problem.filename or 'a file'} could not be read or written ({problem.strerror or problem}).")
            except Exception as problem:  # a defect of ours must not vanish, nor end in a bare traceback
                self.fault = problem
                self._complain(
                    f"something went wrong inside the program ({type(problem).__name__}: {problem}): please report it with what you did."
                )
            else:
                self._complain("")

        return run

    def _complain(self, sentence: str) -> None:
        self.trouble = sentence = sentence[:1].upper() + sentence[1:]
        self.strip.value = f"<p role='alert'>{escape(sentence)}</p>" if sentence else ""

    def _fill(self, control, options, value=None) -> None:
        """Give a control other options without asking for a redraw; keeps its value where it can."""
        self._filling = True
        try:
            values = [option[1] if isinstance(option, tuple) else option for option in options]
            kept = value if value is not None else control.value
            control.options = options
            control.value = kept if kept in values else values[0]
        finally:
            self._filling = False

    def _set(self, control, **values) -> None:
        """Set properties of a control without asking for a redraw."""
        self._filling = True
        try:
            with control.hold_trait_notifications():
                for name, value in values.items():
                    setattr(control, name, value)
        finally:
            self._filling = False

    # --- loading

    def load(self) -> None:
        """Load the records that the top row names, and redraw."""
        self._guarded(self._load)()

    def _load(self):
        folder, as_of = self.folder.value, self.as_of.value
        other = folder != self._loaded[0]
        if other and as_of == self._loaded[1]:  # other records, and nobody asked for a date: their newest
            as_of = None
        status, made = self.status.value, None
        self.load_button.disabled = True
        try:
            made = self.made = self._open(folder, as_of)
            status = self._what_is_loaded()
        finally:
            self.status.value = status
            self.load_button.disabled = False
            if made is None and not other:
                self._set(self.as_of, value=self._loaded[1])  # the date of what is still shown
        if self.ask_as_of:
            self._set(self.as_of, value=self.made.as_of.date())
        self._loaded = (folder, self.as_of.value)
        if other:
            self._take_units()
        try:
            self._opened()
            self._redraw()
        except Exception:
            self.body.layout.visibility = "hidden"  # it shows other records
            raise
        self.body.layout.visibility = "visible"

    def _open(self, folder, as_of):
        """What the panel shows, from the records of ``folder``."""
        return desk.open_schedule(folder, as_of, self._progress)

    def _take_units(self):
        """Begin in the units the folder itself is written in."""
        own = usual(self.made.records)
        self._set(self.distance, value=own.distance)
        self._set(self.thickness, value=own.thickness)

    def _progress(self, text):
        self.status.value = f"{escape(text[:1].upper() + text[1:])} …"

    def _what_is_loaded(self):
        table = self.made.table
        vehicles = count_text(table["vehicle_id"].nunique(), "vehicle")
        return (
            f"Loaded <b>{escape(self.made.records.source.name)}</b>: {count_text(len(table), 'axle')} of {vehicles} in service, "
            f"as of {day_text(self.made.as_of)}; {count_text(len(self.made.findings), 'finding')}. Planning aid, not a safety "
            "inspection: the vehicle's service information comes first."
        )
