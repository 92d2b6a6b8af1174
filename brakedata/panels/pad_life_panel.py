"""The pad life panel: how long linings last here, what moves their wear, and how far readings repeat."""

import ipywidgets as widgets

from brakedata import effects, gauge_study, pad_life
from brakedata import figures_pad_life as figures
from brakedata.panels import pieces
from brakedata.panels.frame import Panel, field
from brakedata.panels.redraw import Picture
from brakedata.views import effects as effects_view
from brakedata.views import pad_life as view

BY = {"class and axle": ("wear_class", "axle", "lining"), "class, axle and product line": pad_life.GROUPS}
COUNTS = frozenset({"sets", "vehicles", "ended", "running", "1 in 10 by", "9 in 10 by", "half by Weibull", "half by lognormal", "farthest watched",
                    "like sets", "their vehicles", "kinds shared", "q value"})  # fmt: skip


class PadLifePanel(Panel):
    """Pad life, what moves wear, gauge study."""

    def _build(self):
        self.wear_class = field(widgets.Dropdown, "Wear class", "230px", options=[view.ALL])
        self.kind = field(widgets.Dropdown, "Linings", "200px", options=[view.ALL])
        self.line = field(widgets.Dropdown, "Product line", "240px", options=[view.ALL])
        self.by = field(widgets.Dropdown, "Table by", "280px", options=list(BY))
        self.life = field(widgets.Dropdown, "Life", "220px", options=view.lives_asked())
        self.factor = field(
            widgets.Dropdown, "What moves wear", "270px", options=[(word, name) for name, word in effects_view.FACTORS.items()]
        )
        self.use_button = widgets.Button(description="Use the gauge study", layout={"width": "auto"})
        self.curve, self.forest = Picture(), Picture()
        self.said, self.table, self.moved, self.moved_table, self.gauge = (widgets.HTML() for _ in range(5))
        self.said.add_class("brakedata-answer")
        self.moved.add_class("brakedata-moved")
        for control in (self.wear_class, self.kind, self.line):
            self._on(control, self._draw_life)
        for control in (self.by, self.life):
            self._on(control, self._write_table)
        self._on(self.factor, self._draw_effects)
        self.use_button.on_click(self._guarded(self._use_study))
        return [
            self.controls(self.wear_class, self.kind, self.line), self.curve.box, self.said, self.controls(self.by, self.life), self.table,
            self.controls(self.factor), self.forest.box, self.moved, self.moved_table, self.gauge, self.controls(self.use_button),
        ]  # fmt: skip

    def _opened(self):
        made = self.made
        self.found = pad_life.find(made.records, made.lives, made.usage)
        self.effects = effects.find(made.model)
        self.study = gauge_study.of_records(made.records)
        wear_class, kind = view.most_seen(self.found)
        self._fill(self.wear_class, [view.ALL, *view.classes(self.found)], wear_class)
        self._fill(self.kind, view.kinds(self.found) or [view.ALL], kind)
        self._fill(self.line, [view.ALL, *view.lines(self.found)], view.ALL)

    def _redraw(self):
        self._draw_life()
        self._write_table()
        self._draw_effects()
        self._write_gauge()

    def _draw_life(self):
        picked = self.wear_class.value, self.kind.value, self.line.value
        sets = view.chosen(self.found, *picked)
        self.groups = {life: pad_life.group(sets, life) for life in pad_life.LIVES}
        self.what = view.choice_words(*picked)
        self.curve.show(figures.curve_spec(self.groups, self.what, self.shown))
        self.said.value = pieces.sentences(view.sentences(self.groups, self.what, self.found, self.shown))

    def _write_table(self):
        rows = view.cells(pad_life.table(self.found, BY[self.by.value], self.life.value), self.shown)
        title = f"<h3>Distance from fitting {view.LIVES_IN_WORDS[self.life.value]}</h3>"
        self.table.value = title + pieces.table(rows, "No set of linings has a known start.", COUNTS)

    def _draw_effects(self):
        rows = effects_view.rows_of(self.effects, self.factor.value)
        self.forest.show(figures.effects_spec(rows, self.factor.value))
        self.moved.value = pieces.sentences(effects_view.sentences(rows))
        self.moved_table.value = pieces.table(effects_view.cells(rows), "Nothing to compare.", COUNTS)

    def _write_gauge(self):
        kept, used = self.made.records.settings.repeat, self.made.model.scales["repeat_mm"]
        said = pieces.sentences(view.gauge_sentences(self.study, kept, used, self.shown))
        rows = view.gauge_table(self.study, self.shown)
        self.use_button.layout.display = "" if self.study.readings else "none"
        self.gauge.value = "<h3>How far readings repeat</h3>" + said + (pieces.table(rows, "") if len(rows) else "")

    def _use_study(self):
        gauge_study.keep(self.made.records, self.study)
        self._load()

    def _in_short(self) -> str:
        """How long the chosen linings last, and what the chosen factor comes to, in plain sentences."""
        rows = effects_view.rows_of(self.effects, self.factor.value)
        return pieces.wrapped([*view.sentences(self.groups, self.what, self.found, self.shown), *effects_view.sentences(rows)])
