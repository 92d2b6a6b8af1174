"""The comebacks panel: which jobs come back, what goes with it, since when, what it takes, and what to look at first."""

from html import escape

import ipywidgets as widgets

from brakedata import comebacks, figures_comebacks
from brakedata.comebacks import FACTORS, Windows
from brakedata.panels import desk, pieces
from brakedata.panels.answer_piece import Answer
from brakedata.panels.frame import NARROW, Panel, field
from brakedata.panels.redraw import Picture
from brakedata.shown import count_text, day_text
from brakedata.units import DISTANCE_KM
from brakedata.views import comebacks as view
from brakedata.views import complaints

PAGE = 25
FIRST, LIST, RATES, DISTANCE, TOGETHER, TIME, COST = PAGES = (
    "What to look at first", "Suspected comebacks", "Rates", "By distance", "What goes with it", "Over time", "Cost",
)  # fmt: skip
FIRST_FACTOR = "hub_face"
WHOLE_SHOP = ("whole shop", "")
NUMBERS = frozenset({"jobs", "came back", "days", "jobs watched"})


class ComebacksPanel(Panel):
    """Which jobs come back, and what goes with it."""

    def _build(self):
        self.page = field(widgets.ToggleButtons, "Show", options=PAGES)
        self.page.style.button_width = "auto"
        self.page.add_class("brakedata-pages")
        self.by = field(widgets.Dropdown, "By", "230px", options=list(FACTORS))
        self.within = field(widgets.FloatSlider, "Within (km)", "380px", min=1_000, max=30_000, step=500, value=comebacks.WITHIN_KM,
                            readout_format=",.0f", continuous_update=False)  # fmt: skip
        self.letters = widgets.Checkbox(description="Technicians as letters", value=True, indent=False, layout=dict(NARROW))
        self.said = widgets.HTML()
        self.said.add_class("brakedata-answer")
        self._unit_of_sliders, self._first_by = "km", FIRST_FACTOR
        built = (self._build_first, self._build_list, self._build_rates, self._build_distance, self._build_together,
                 self._build_time, self._build_cost)  # fmt: skip
        self.pages = {name: widgets.VBox(build(), layout={"width": "100%"}) for name, build in zip(PAGES, built, strict=True)}
        self._on(self.page, self._redraw)
        for control in (self.by, self.within):
            self._on(control, self._redraw)
        self._on(self.letters, self._letters_chosen)
        return [self.controls(self.by, self.within, self.letters), self.said, self.page, *self.pages.values()]

    def _build_first(self):
        self.first_picture, self.first = Picture(), widgets.HTML()
        self.first.add_class("brakedata-first")
        return [self.first_picture.box, self.first]

    def _build_list(self):
        self.list = field(widgets.Dropdown, "List", "220px", options=complaints.LISTS)
        self.rows = field(widgets.Dropdown, "Rows", "150px", options=[("none", 0)])
        slider = {"min": 1_000, "max": 40_000, "step": 500, "readout_format": ",.0f", "continuous_update": False}
        self.noise = field(widgets.FloatSlider, "Noise, pull, drag within (km)", "440px", value=Windows.noise_km, **slider)
        self.pulsation = field(widgets.FloatSlider, "Pulsation within (km)", "400px", value=Windows.pulsation_km, **slider)
        self.days = field(widgets.IntSlider, "Within days", "360px", min=30, max=1_460, step=10, value=int(Windows.days),
                          continuous_update=False)  # fmt: skip
        self.links, self.save_list, self.saved_list = widgets.HTML(), self._button("Download list as XLSX"), widgets.HTML()
        self.links.add_class("brakedata-list")
        self.answered = Answer(self)
        self._on(self.list, self._list_chosen)
        self._on(self.rows, self._write_list)
        for control in (self.noise, self.pulsation, self.days):
            self._on(control, self.refollow)
        self.save_list.on_click(self._guarded(self._save_list))
        return [
            self.controls(self.list, self.rows), self.links, *self.answered.boxes,
            widgets.HTML("<h3>How long after a job a complaint can be its comeback</h3>"),
            self.controls(self.noise, self.pulsation, self.days), self.controls(self.save_list), self.saved_list,
        ]  # fmt: skip

    def _build_rates(self):
        self.funnel, self.rates, self.explained = Picture(), widgets.HTML(), widgets.HTML()
        self.save_rates, self.saved_rates = self._button("Download rates as XLSX"), widgets.HTML()
        self.rates.add_class("brakedata-rates")
        self.save_rates.on_click(self._guarded(self._save_rates))
        return [self.funnel.box, self.explained, self.rates, self.controls(self.save_rates), self.saved_rates]

    def _build_distance(self):
        self.level = field(widgets.Dropdown, "Level", "300px", options=[WHOLE_SHOP])
        self.curve, self.returns = Picture(), widgets.HTML()
        self._on(self.level, self._draw_distance)
        return [self.controls(self.level), self.curve.box, self.returns]

    def _build_together(self):
        self.ratios, self.together = Picture(), widgets.HTML()
        return [self.ratios.box, self.together]

    def _build_time(self):
        self.trend, self.trend_said = Picture(), widgets.HTML()
        return [self.trend.box, self.trend_said]

    def _build_cost(self):
        self.cost_of_one = field(widgets.BoundedFloatText, "One comeback costs (0 = as recorded)", "340px", min=0, max=1e9)
        self.costs, self.cost_said = Picture(), widgets.HTML()
        self._on(self.cost_of_one, self._draw_cost)
        return [self.controls(self.cost_of_one), self.costs.box, self.cost_said]

    def _button(self, label):
        return widgets.Button(description=label, layout=dict(NARROW))

    # --- records and what is found in them

    def _open(self, folder, as_of):
        return desk.open_comebacks(folder, as_of, self._windows(), self._progress)

    def _what_is_loaded(self):
        found = self.made.found
        return (
            f"Loaded <b>{escape(self.made.records.source.name)}</b>: {count_text(len(found.jobs), 'brake job')} and "
            f"{count_text(len(found.links), 'complaint')} that may belong to them, as of {day_text(self.made.as_of)}. "
            f"{view.CAUTION}"
        )

    def _opened(self):
        self._found_anew()
        self.saved_list.value = self.saved_rates.value = self.answered.said.value = ""
        there = [name for name in FACTORS if len(self.found.jobs[name].unique()) > 1] or [FIRST_FACTOR]
        self._fill(self.by, [(view.words(name), name) for name in there], self._first_by if self._first_by in there else None)
        self._first_by = None

    def _found_anew(self):
        self.found = comebacks.as_letters(self.made.found) if self.letters.value else self.made.found
        self._kept = {}

    def _letters_chosen(self):
        self._found_anew()
        self._redraw()

    def refollow(self):
        """Link anew, with the windows and the answers as they now are."""
        self.made = desk.follow(self.made.records, self.made.as_of, self._windows())
        self._found_anew()
        self._redraw()

    def _windows(self):
        noise, pulsation = (self._km(slider) for slider in (self.noise, self.pulsation))
        return Windows(noise, pulsation, noise, noise, float(self.days.value))

    def _km(self, slider):
        """What a slider of distances says, km."""
        return slider.value * DISTANCE_KM[self._unit_of_sliders]

    @property
    def within_km(self) -> float:
        """The distance within which a comeback counts."""
        return self._km(self.within)

    def _take_units(self):
        super()._take_units()
        self._convert_sliders()

    def _units_chosen(self):
        self._convert_sliders()
        super()._units_chosen()

    def _convert_sliders(self):
        """Bring the sliders to the chosen unit; what they say stays the same distance."""
        unit = self.distance.value
        ratio = DISTANCE_KM[self._unit_of_sliders] / DISTANCE_KM[unit]
        for slider in (self.within, self.noise, self.pulsation):
            value, most = slider.value * ratio, slider.max * ratio
            self._set(slider, max=max(slider.max, most))
            self._set(
                slider, value=value, max=most, description=slider.description.replace(f"({self._unit_of_sliders})", f"({unit})")
            )
        self._unit_of_sliders = unit

    def _rates(self):
        return self._once(
            ("rates", self.by.value, self.within_km), lambda: comebacks.rates(self.found, self.by.value, self.within_km)
        )

    def _together(self):
        return self._once(("together", self.within_km), lambda: comebacks.goes_with(self.found, self.within_km))

    def _once(self, key, make):
        """Worked out once for what is found, and kept."""
        if key not in self._kept:
            self._kept[key] = make()
        return self._kept[key]

    # --- drawing

    def _redraw(self):
        for name, page in self.pages.items():
            page.layout.display = "" if name == self.page.value else "none"
        self.said.value = pieces.sentences(view.shop_sentences(self.found, self._rates(), self.shown))
        draw = {FIRST: self._draw_first, LIST: self._list_chosen, RATES: self._draw_rates, DISTANCE: self._levels_of_factor,
                TOGETHER: self._draw_together, TIME: self._draw_time, COST: self._draw_cost}  # fmt: skip
        draw[self.page.value]()

    def _draw_first(self):
        together = self._together()
        rows = view.ratios(together)
        self.first_picture.show(
            figures_comebacks.ratios_spec(rows, view.ratios_headline(rows), view.held_equal_sentence(together))
        )
        table = pieces.table(
            view.first_cells(comebacks.look_first(together)),
            "Nothing goes with more comebacks by more than chance: keep recording what was done, and what was knowingly left.",
        )
        self.first.value = (
            f"<h3>Measure this first: it would confirm the suspicion, or clear it (common practice)</h3>{table}"
            f"<h3>Before anything is measured</h3>{pieces.sentences(list(comebacks.CAUTIONS))}"
        )

    def _list_chosen(self):
        self.listed = complaints.complaints(self.made.found, self.made.records, self.list.value)
        self._fill(self.rows, pieces.pages(len(self.listed), PAGE), 0)
        self._write_list()

    def _write_list(self):
        rows = self.listed.iloc[self.rows.value : self.rows.value + PAGE].reset_index(drop=True)
        cells = complaints.other_cells(rows) if self.list.value == complaints.OTHER else complaints.link_cells(rows, self.shown)
        self.links.value = (
            f"<p class='quiet'>{len(rows):,} of {len(self.listed):,} complaints of this list, newest first. The kit proposes, a person "
            f"confirms: what is answered no does not count.</p>{pieces.table(cells, 'No complaint in this list.', NUMBERS)}"
        )
        self.answered.opened(rows)

    def _draw_rates(self):
        made, by = self._rates(), self.by.value
        excesses = self._once(("excess", by, self.within_km), lambda: view.explained(self.found, made, by))
        funnel = view.funnel(made, view.beside_points(self.found, excesses))
        title, note = view.headline(made, by), view.behind(made, self.shown)
        self.funnel.show(figures_comebacks.funnel_spec(funnel, title, note, self.shown.distance_text(self.within_km)))
        self.explained.value = pieces.sentences([*view.excess_sentences(excesses), view.CAUTION])
        self.rates.value = f"<h3>The same as a table</h3>{pieces.table(view.rate_cells(made, self.shown), '', NUMBERS)}"

    def _levels_of_factor(self):
        made = self._rates()
        there = made.table[made.table["risk"].notna()]["level"]
        self._fill(self.level, [WHOLE_SHOP, *((view.words(level), level) for level in there)])
        self._draw_distance()

    def _draw_distance(self):
        factor, level = (self.by.value, self.level.value) if self.level.value else ("", "")
        shop = view.by_distance(self.found, self.within_km)
        mine = view.by_distance(self.found, self.within_km, factor, level) if level else shop
        title = view.distance_headline(mine, shop, factor, level, self.shown)
        note = "band: 95 times in 100; jobs still being watched count as far as they were watched"
        self.curve.show(figures_comebacks.by_distance_spec(mine, shop, title, note, view.words(level), self.shown))
        self.returns.value = pieces.sentences([view.returns_sentence(self.found, self.within_km, self.shown)])

    def _draw_together(self):
        together, by = self._together(), self.by.value
        rows = view.ratios(together, by)
        self.ratios.show(figures_comebacks.ratios_spec(rows, view.ratios_headline(rows, by), view.held_equal_sentence(together)))
        recorded = pieces.table(
            view.recorded_cells(comebacks.recorded(self.found, self.within_km)), "Nothing is recorded of how jobs were done."
        )
        self.together.value = (
            f"<h3>Everything that was compared</h3>{pieces.table(view.together_cells(together), 'Too few jobs to compare anything.', NUMBERS)}"
            f"<h3>What was recorded, on jobs that came back and on the others</h3>{recorded}"
        )

    def _draw_time(self):
        trend = self._once(("trend", self.within_km), lambda: comebacks.trend(self.found, self.within_km))
        self.trend.show(figures_comebacks.over_time_spec(trend, trend.sentence.removesuffix("."), view.trend_note(trend)))
        self.trend_said.value = pieces.sentences([view.CAUTION])

    def _draw_cost(self):
        made = comebacks.cost(self.made.records, self.found, self._together(), self.cost_of_one.value or None)
        self.costs.show(figures_comebacks.cost_spec(made, view.cost_headline(made), view.cost_note(made)))
        self.cost_said.value = pieces.sentences([*view.cost_sentences(made), view.CAUTION])

    # --- downloads

    def _save_list(self):
        file = desk.save(self.listed.drop(columns=["kinds", "job"]), self.made.records, "suspected_comebacks.xlsx")
        self.saved_list.value = f"<p>Saved {len(self.listed):,} complaints, as listed: <code>{escape(str(file))}</code></p>"

    def _save_rates(self):
        table = self._rates().table
        file = desk.save(table, self.made.records, f"comebacks_by_{self.by.value}.xlsx")
        self.saved_rates.value = f"<p>Saved {len(table):,} rates, distances in km: <code>{escape(str(file))}</code></p>"

    def _in_short(self) -> str:
        """What the shop's comebacks come to, and what to look at first, in plain sentences."""
        made, together = self._rates(), self._together()
        rows = view.ratios(together)
        said = [
            *view.shop_sentences(self.found, made, self.shown),
            f"{view.headline(made, self.by.value)}.",
            f"{view.ratios_headline(rows)}.",
        ]
        return pieces.wrapped([*said, view.CAUTION])
