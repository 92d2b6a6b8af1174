"""Pictures, by what they contain.

Truth: the small folder of ``folders.py`` (front pads lose 1 mm in 8,000 km from 12 mm), the definitions 1 mi = 1.609344 km and
1/32 in = 0.79375 mm, and the rules of the house on colours and words.
"""

import colorsys
import re

import folders
import numpy as np
import pandas as pd
import pytest
from test_views import AS_OF, ROWS

from brakedata import figures, schedule
from brakedata.shown import Shown
from brakedata.views import records as records_view
from brakedata.views import wear

TEXTUAL = ("title", "text", "name", "hovertemplate")


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The small folder, with a job on A's front, a rotor reading, and a reading that fits nothing."""
    lines = {
        ("measurements", None): "a6,front,left,rotor,thickness,27.4,mm,before",
        ("work", None): "b2,front,both,pads,replaced,,,",
    }
    after = {("measurements", folders.line_of(visit, r)): f"{visit},front,{side},{part},thickness,{mm},mm,before"
             for visit, mm in (("b3", 11.0), ("b4", 10.0), ("b5", 9.0), ("b6", 8.0))
             for r, (_, side, part, _) in enumerate(folders.READINGS[:4])}  # fmt: skip
    return schedule.make(folders.load(tmp_path_factory.mktemp("pictures") / "small", {**lines, **after}))


@pytest.fixture(scope="module")
def book(made):
    return wear.WearBook(made)


@pytest.fixture(scope="module")
def picture(book):
    return figures.wear(book.view("A", "front"), Shown())


@pytest.fixture(scope="module")
def calendar():
    rows = ROWS.assign(next_visit_date=AS_OF + pd.Timedelta(days=40))
    return figures.calendar(rows, AS_OF, "What is due", "how sure", Shown())


def trace(figure, meta):
    (found,) = [t for t in figure.data if t.meta == meta]
    return found


def notes(figure):
    return [note.text for note in figure.layout.annotations]


def points(figure):
    return sorted(zip(trace(figure, "readings").x, trace(figure, "readings").y, strict=True))


# --- wear


def test_every_reading_is_a_point_where_it_was_read(picture):
    assert points(picture) == sorted((8000.0 * i, 12.0 - i) for i in range(1, 7) for _ in range(4))


def test_other_units_are_the_same_points(book):
    figure = figures.wear(book.view("A", "front"), Shown("mi", "32nds"))
    again = [(x * 1.609344, y * 0.79375) for x, y in points(figure)]
    np.testing.assert_allclose(again, points(figures.wear(book.view("A", "front"), Shown())))
    assert figure.layout.xaxis.title.text == "odometer [mi]"
    assert figure.layout.yaxis.title.text == "lining remaining [32nds of an inch]"
    assert "replace at 3.8/32 in" in notes(figure)


def test_axes_have_their_units(picture):
    assert picture.layout.xaxis.title.text == "odometer [km]"
    assert picture.layout.yaxis.title.text == "lining remaining [mm]"


def test_a_point_tells_the_reading_as_written_and_where_it_stands(picture):
    said = trace(picture, "readings").text
    line = folders.line_of("a1", 2)
    assert any(
        text.startswith("<b>right inner pad: 11.0 mm as written</b><br>visit a1, 11 Apr 2023, 8,000 km<br>"
                        f"measurements, line {line}<br>shared estimate there ") for text in said
    )  # fmt: skip


def test_shape_is_position_and_grey_is_past(book):
    view = book.view("B", "front")
    marks = trace(figures.wear(view, Shown()), "readings").marker
    expected = {
        ("left", "inner_pad"): "square", ("left", "outer_pad"): "circle", ("right", "inner_pad"): "square-open",
        ("right", "outer_pad"): "circle-open",
    }  # fmt: skip
    pairs = list(zip(view.readings["side"], view.readings["part"], strict=True))
    assert list(marks.symbol) == [expected[pair] for pair in pairs]
    assert list(marks.color) == [figures.BLUE if running else figures.PAST for running in view.readings["running"]]
    assert set(marks.color) == {figures.BLUE, figures.PAST}


def test_the_key_names_each_position_once(picture):
    names = [t.name for t in picture.data if t.meta == "key" and t.showlegend]
    assert sorted(names) == ["left inner pad", "left outer pad", "right inner pad", "right outer pad"]


def test_the_own_line_is_drawn_where_the_readings_lie(picture):
    line = trace(picture, "own line")
    np.testing.assert_allclose(line.y, 12 - np.array(line.x) / 8000, atol=1e-9)
    assert len(trace(picture, "own band").x) == 2 * len(line.x)


def test_two_readings_have_a_line_and_no_band(tmp_path):
    few = {("measurements", folders.line_of(f"a{n}", r)): None for n in range(1, 5) for r in range(4)}
    view = wear.WearBook(schedule.make(folders.load(tmp_path, few))).view("A", "front")
    figure = figures.wear(view, Shown())
    assert view.own_readings == 2
    assert len(trace(figure, "own line").x) > 0
    assert len(trace(figure, "own band").x) == 0


def test_the_shared_estimate_runs_through_its_band_and_falls(picture):
    middle, band = trace(picture, "middle"), trace(picture, "band")
    n = len(middle.x)
    high, low = np.array(band.y[:n]), np.array(band.y[n:])[::-1]
    assert (low <= np.array(middle.y) + 1e-9).all()
    assert (np.array(middle.y) <= high + 1e-9).all()
    assert (np.diff(middle.y) < 0).all()
    assert np.interp(48_000, middle.x, middle.y) == pytest.approx(6.0, abs=0.3)


def test_the_due_window_is_the_schedules(picture, made):
    row = made.table[made.table["vehicle_id"].eq("A") & made.table["axle"].eq("front")].iloc[0]
    bar = trace(picture, "due window")
    assert list(bar.x) == [row["due_odometer_early_km"], row["due_odometer_late_km"]]
    assert list(bar.y) == [3.0, 3.0]
    assert list(trace(picture, "even odds").x) == [row["due_odometer_km"]]


def test_limits_are_ink_lines_named_at_the_line(picture):
    levels = {s.y0 for s in picture.layout.shapes if s.type == "line" and s.xref == "paper" and s.line.color == figures.INK}
    assert levels == {3.0, 1.6}
    assert {"replace at 3.0 mm", "discard at 1.6 mm"} <= set(notes(picture))


def test_the_kits_own_planning_point_says_so(tmp_path):
    made = schedule.make(folders.load(tmp_path, limits=None))
    figure = figures.wear(wear.WearBook(made).view("A", "front"), Shown())
    assert "replace at 3.0 mm<br>(the kit's own)" in notes(figure)
    assert not any("discard" in text for text in notes(figure))


def test_a_what_if_leaves_the_recorded_line(book, made):
    view = book.view("A", "front")
    figure = figures.wear(wear.what_if(view, made.try_replace_at(5.0, view.axle_no), 5.0), Shown())
    assert {"what if: 5.0 mm", "replace at 3.0 mm"} <= set(notes(figure))
    assert set(trace(figure, "due window").y) == {5.0}
    assert "what if replaced at 5.0 mm" in words(figure)


def test_labels_of_near_limits_stand_apart():
    shapes, labels = figures._limit_lines([(3.0, "a", "solid"), (2.9, "b", "solid"), (2.8, "c", "solid")], [0.0, 10.0])
    assert sorted(s["y0"] for s in shapes) == [2.8, 2.9, 3.0]
    heights = [note["y"] for note in labels]
    assert min(-np.diff(heights)) >= 0.5


def test_lives_and_the_as_of_date_are_marked(book, made):
    figure = figures.wear(book.view("B", "front"), Shown())
    assert {"pads replaced<br>16,000 km", "as of<br>2 Sep 2024"} <= set(notes(figure))
    verticals = {s.x0 for s in figure.layout.shapes if s.type == "line" and s.yref == "paper"}
    assert {30.0, 16_000.0, 49_000.0} <= verticals


def test_life_labels_do_not_run_into_each_other():
    lives = pd.DataFrame({"km": [0.0, 100, 40_000], "words": ["new vehicle", "pads replaced", "pads replaced"], "running": [False, False, True]})
    view = type("View", (), {"lives": lives})
    shapes, labels = figures._fitted(view, Shown(), [0.0, 100_000.0])
    assert [note["x"] for note in labels] == [40_000.0, 100.0]
    assert sum(shape["type"] == "line" for shape in shapes) == 3


def test_the_title_is_the_answer_with_its_level_and_what_stands_behind(picture):
    title = words(picture)
    assert "A front: due between" in title
    assert "8 times in 10" in title
    assert "24 readings of this life" in title
    assert "1 like axle" in title


@pytest.mark.parametrize("units", [("km", "mm"), ("mi", "in"), ("mi", "32nds")])
def test_every_axle_has_the_same_traces_in_the_same_order(book, made, units):
    kinds = {
        tuple((t.type, t.meta) for t in figures.wear(book.view(*key), Shown(*units)).data)
        for key in made.table[["vehicle_id", "axle"]].itertuples(index=False)
    }
    assert len(kinds) == 1


def test_rotors_with_limits_or_a_sentence(book):
    view = book.view("A", "front")
    figure = figures.disc(book.disc(view), Shown(), [0.0, 80_000.0])
    assert points(figure) == [(48_000.0, 27.4)]
    assert {"machine to 25.6 mm", "discard at 25.0 mm", "left rotor"} <= set(notes(figure))
    assert list(figure.layout.xaxis.range) == [0.0, 80_000.0]
    none = figures.disc(book.disc(book.view("B", "rear")), Shown(), [0.0, 80_000.0])
    assert "B rear: no rotor or drum reading in the lives shown" in words(none)
    assert none.layout.xaxis.visible is False
    assert [(t.type, t.meta) for t in none.data] == [(t.type, t.meta) for t in figure.data]


# --- schedule


def test_bars_run_from_the_early_to_the_late_date(calendar):
    bars = trace(calendar, "due window")
    assert list(bars.base) == ["2025-02-10", "2025-01-20", "2025-08-01"]
    ends = [str(pd.Timestamp(a) + pd.Timedelta(milliseconds=ms))[:10] for a, ms in zip(bars.base, bars.x, strict=True)]
    assert ends == ["2025-04-01", "2025-11-01", "2025-10-01"]
    assert list(bars.y) == [0, 1, 2]
    assert list(trace(calendar, "even odds").x) == ["2025-03-01", "2025-05-01", "2025-09-01"]
    assert list(trace(calendar, "next usual visit").x) == ["2025-02-10"] * 4
    assert list(calendar.layout.yaxis.ticktext) == ["V1 front", "V2 rear", "w3 front", "V4 2"]
    assert calendar.layout.yaxis.range[0] > calendar.layout.yaxis.range[1]  # the first row on top


def test_the_number_stands_beside_the_colour(calendar):
    said = [text.strip() for text in trace(calendar, "right").text]
    assert said == ["under 1 % · 8 readings", "35 % · 1 reading", "12 % · 0 readings", "no forecast, see the table"]


def lightness(color):
    red, green, blue = (int(color[i : i + 2], 16) / 255 for i in (1, 3, 5))
    return colorsys.rgb_to_hls(red, green, blue)[1]


def test_darker_is_more_likely():
    chances = pd.Series([0.0, 0.01, 0.05, 0.10, 0.20, 0.40])
    light = [lightness(color) for color in figures.risk_colors(chances)]
    assert all(np.diff(light) < 0)
    assert figures.risk_colors(pd.Series([0.399, 0.40, 1.0, np.nan])) == [*figures.RISK_BLUES[-2:], figures.RISK_BLUES[-1], figures.NO_RISK]


def test_a_window_that_has_passed_is_said_not_drawn():
    rows = ROWS.iloc[:1].assign(
        due_date_early=pd.Timestamp("2023-05-02"), due_date=pd.Timestamp("2023-06-01"), due_date_late=pd.Timestamp("2023-07-09"),
        next_visit_date=AS_OF + pd.Timedelta(days=9),
    )  # fmt: skip
    figure = figures.calendar(rows, AS_OF, "", "", Shown())
    assert len(trace(figure, "due window").y) == 0
    assert "window passed: 2 May 2023 to 9 Jul 2023" in trace(figure, "began before").text[0]
    assert pd.Timestamp(figure.layout.xaxis.range[0]) > pd.Timestamp("2024-10-15")


def test_an_empty_calendar_says_what_to_do(calendar):
    figure = figures.calendar(ROWS.iloc[:0].assign(next_visit_date=pd.Series(dtype="datetime64[s]")), AS_OF, "None", "", Shown())
    assert notes(figure)[-1] == "no axle here:<br>widen the filters above"
    assert [(t.type, t.meta) for t in figure.data] == [(t.type, t.meta) for t in calendar.data]


# --- records


def test_each_rule_has_a_bar_with_its_number():
    counts = pd.DataFrame({"severity": ["refused", "left_out", "note", "note"], "code": ["R25-a", "R12-b", "R34-c", "R40-d"], "findings": [1, 2, 1, 1200]})
    bars = figures.rules(counts).data[0]
    assert list(bars.x) == [1, 2, 1, 1200]
    assert list(bars.text) == ["1 refused", "2 left out", "1 note", "1,200 notes"]
    assert lightness(bars.marker.color[0]) < lightness(bars.marker.color[1]) < lightness(bars.marker.color[2])


def test_no_finding_is_said():
    figure = figures.rules(records_view.by_rule(pd.DataFrame(columns=["severity", "code"])))
    assert "No finding: nothing stood out" in words(figure)


# --- all


def words(figure):
    """The title without its markup, lines joined."""
    return re.sub(r"\s*<br>\s*", " ", re.sub(r"</?(b|span)\b[^>]*>", "", figure.layout.title.text))


@pytest.fixture(scope="module")
def every(picture, calendar, book):
    counts = pd.DataFrame({"severity": ["refused", "left_out", "note"], "code": ["R25", "R12", "R34"], "findings": [1, 2, 3]})
    disc = figures.disc(book.disc(book.view("A", "front")), Shown(), [0.0, 80_000.0])
    return [picture, calendar, disc, figures.rules(counts)]


def leaves(value):
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from ((key, leaf) if name is None else (name, leaf) for name, leaf in leaves(inner))
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from leaves(inner)
    else:
        yield None, value


def test_every_colour_is_blue_or_grey(every):
    """The house rule: no traffic light, one blue scale (hues of 190 to 230 degrees)."""
    found = {str(leaf) for figure in every for _, leaf in leaves(figure.to_plotly_json())}
    colors = {tuple(int(c[i : i + 2], 16) for i in (1, 3, 5)) for text in found for c in re.findall(r"#[0-9a-fA-F]{6}\b", text)}
    colors |= {tuple(map(int, match)) for text in found for match in re.findall(r"rgba?\((\d+),\s*(\d+),\s*(\d+)", text)}
    assert len(colors) > 8
    for color in colors:
        hue, _, saturation = colorsys.rgb_to_hls(*(part / 255 for part in color))
        grey = max(color) - min(color) <= 32 or saturation < 0.15
        assert grey or 190 <= hue * 360 <= 230, color
    named = {text for text in found if text.lower() in ("red", "green", "yellow", "orange", "lime", "gold", "crimson", "tomato")}
    assert named == set()


def test_one_family_of_letters(every):
    families = {leaf for figure in every for name, leaf in leaves(figure.to_plotly_json()) if "family" in str(name) or leaf == figures.FONT}
    assert {figure.layout.font.family for figure in every} == {figures.FONT}
    assert families <= {figures.FONT}


def test_no_forecast_is_called_safe(every):
    assert not any("safe" in str(leaf).lower() for figure in every for _, leaf in leaves(figure.to_plotly_json()))


def test_names_from_the_records_are_only_text(tmp_path):
    """Markup and formulas in a vehicle's name or a reading's visit stay text."""
    nasty = '"<a href=""x"">$a$</a>"'
    tables = {name: text.replace("\nA,", f"\n{nasty},").replace(",A,", f",{nasty},") for name, text in folders.texts().items()}
    made = schedule.make(folders.load(tmp_path, **tables))
    vehicle = '<a href="x">$a$</a>'
    assert vehicle in set(made.table["vehicle_id"])
    view = wear.WearBook(made).view(vehicle, "front")
    rows = made.table.assign(next_visit_date=made.as_of)
    shown = [figures.wear(view, Shown()), figures.calendar(rows, made.as_of, f"{vehicle} first", "", Shown())]
    for figure in shown:
        texts = [str(leaf) for _, leaf in leaves(figure.to_plotly_json())]
        assert not any("<a" in text or "$a$" in text for text in texts)
        assert any("&lt;a href" in text and "&#36;a&#36;" in text for text in texts)
