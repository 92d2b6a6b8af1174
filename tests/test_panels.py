"""Panels, by setting the values of their controls as a person does and reading what is then shown.

Truth: the small folder of ``folders.py``; what was planted in it; what a control's own words promise.
"""

import datetime as dt
import os
import re

import folders
import ipywidgets as widgets
import openpyxl
import pandas as pd
import pytest

from brakedata import figures
from brakedata.panels import RecordsPanel, SchedulePanel, StartPanel, TrackRecordPanel, WearPanel
from brakedata.panels.ready import check

PANELS = (StartPanel, RecordsPanel, WearPanel, SchedulePanel, TrackRecordPanel)
GROWN = {
    ("measurements", folders.line_of(visit, r)): f"{visit},front,{side},{part},thickness,{mm},mm,before"
    for visit, mm in (("a4", 12.0), ("a5", 11.0), ("a6", 10.0))
    for r, (_, side, part, _) in enumerate(folders.READINGS[:4])
}
"""An unrecorded pad change of A's front before visit a4."""
HELD_BACK = ["R40-change-unrecorded", "R95-own-forecast-held-back"]
"""What is said of it."""


pytestmark = pytest.mark.usefixtures("nothing_vanishes")


@pytest.fixture
def folder(tmp_path):
    return folders.write(tmp_path / "Bremsen – Übersicht (neu)", folders.planted(GROWN))


def opened(kind, folder):
    panel = kind(folder)
    panel.load()
    assert panel.strip.value == ""
    return panel


def controls(panel):
    """Every control a person can move."""
    kinds = (widgets.Dropdown, widgets.Text, widgets.FloatSlider, widgets.ToggleButtons, widgets.DatePicker, widgets.Button)

    def inside(widget):
        for child in getattr(widget, "children", ()):
            yield child
            yield from inside(child)

    return [widget for widget in inside(panel.widget) if isinstance(widget, kinds)]


def text(html):
    """What a person reads of HTML."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html.value)).strip()


def title(picture):
    return re.sub(r"\s*<br>\s*", " ", re.sub(r"</?(b|span)[^>]*>", "", picture.widget.layout.title.text))


# --- every panel


@pytest.mark.parametrize("kind", PANELS)
def test_a_panel_loads_when_first_shown(kind, folder, monkeypatch):
    shown = []
    monkeypatch.setattr("IPython.display.display", shown.append)
    panel = kind(folder)
    panel._ipython_display_()
    assert shown == [panel.widget]
    assert "Loaded Bremsen – Übersicht (neu)" in text(panel.status)
    assert panel.body.layout.visibility == "visible"
    assert panel.answer().strip()


@pytest.mark.parametrize("kind", PANELS)
def test_every_control_has_its_own_label(kind, folder):
    labels = [control.description for control in controls(opened(kind, folder))]
    assert all(labels)
    assert len(set(labels)) == len(labels)


@pytest.mark.parametrize("kind", PANELS)
@pytest.mark.parametrize("wrong", ["no such folder", "", "a file.txt", "empty"])
def test_a_wrong_folder_is_one_sentence_and_no_more(kind, wrong, folder, tmp_path):
    (tmp_path / "a file.txt").write_text("x")
    (tmp_path / "empty").mkdir()
    panel = opened(kind, folder)
    before = text(panel.status)
    panel.folder.value = str(tmp_path / wrong) if wrong else " "
    panel.load_button.click()
    assert panel.strip.value.count("<p") == 1
    assert text(panel.strip).endswith(".")
    assert "Traceback" not in panel.strip.value
    assert text(panel.status) == before  # what was loaded stays
    panel.folder.value = str(folder)
    panel.load_button.click()
    assert panel.strip.value == ""


def test_a_date_before_all_records_leaves_the_date_of_what_is_shown(folder):
    panel = opened(SchedulePanel, folder)
    shown = panel.as_of.value
    panel.as_of.value = dt.date(1999, 1, 1)
    panel.load_button.click()
    assert panel.strip.value.count("<p") == 1 and panel.as_of.value == shown


@pytest.mark.parametrize("kind", PANELS)
def test_a_folder_may_be_written_with_quotes_and_blanks(kind, folder):
    panel = kind(f' "{folder}" ')
    panel.load()
    assert "Loaded Bremsen" in text(panel.status)


def test_a_defect_is_shown_in_one_sentence_and_remembered(folder, monkeypatch):
    panel = opened(WearPanel, folder)

    def broken(*_):
        raise KeyError("<b>pad</b>")

    monkeypatch.setattr(figures, "wear_spec", broken)
    panel.distance.value = "mi"
    assert "Something went wrong inside the program (KeyError:" in text(panel.strip)
    assert "<b>pad" not in panel.strip.value
    assert isinstance(panel.fault, KeyError)
    panel.fault = None  # meant; the fixture need not complain


def test_an_unwritable_place_is_one_sentence(folder, monkeypatch):
    panel = opened(SchedulePanel, folder)
    (folder / "out").write_text("a file where the folder should be")
    panel.csv.click()
    assert text(panel.strip).startswith(f"{folder / 'out'} could not be made")
    assert panel.saved.value == ""


def test_records_are_read_once_and_shared(folder, monkeypatch):
    first = opened(SchedulePanel, folder)
    second = opened(WearPanel, folder)
    assert second.made is first.made
    assert opened(RecordsPanel, folder).made.records is first.made.records


def test_a_changed_file_is_read_anew(folder):
    panel = opened(SchedulePanel, folder)
    before = panel.made
    visits = folder / "visits.csv"
    visits.write_text(visits.read_text("utf-8") + "b7,B,2024-09-09,55900,km,,\n", "utf-8")
    os.utime(visits, (1, 1))
    panel.load_button.click()
    assert panel.made is not before
    assert panel.made.as_of == before.as_of  # the date chosen stays
    assert len(panel.made.records.visits) == 13


def test_the_as_of_date_looks_back_and_returns_to_the_newest_of_other_records(folder, tmp_path):
    panel = opened(SchedulePanel, folder)
    assert str(panel.as_of.value) == "2024-09-02"
    panel.as_of.value = pd.Timestamp("2024-01-01").date()
    panel.load_button.click()
    assert "as of 1 Jan 2024" in text(panel.status)
    assert panel.made.table["last_reading_date"].max() <= pd.Timestamp("2024-01-01")
    other = folders.texts()
    other["odometer_log"] += "A,2024-10-05,52000,km\n"
    panel.folder.value = str(folders.write(tmp_path / "other", other))
    panel.load_button.click()
    assert str(panel.as_of.value) == "2024-10-05"


@pytest.mark.parametrize("kind", PANELS)
def test_units_begin_as_the_folder_is_written(kind, folder):
    (folder / "records.toml").write_text('[units]\ndistance = "mi"\nthickness = "32nds"\n', "utf-8")
    panel = opened(kind, folder)
    assert (panel.distance.value, panel.thickness.value) == ("mi", "32nds")


@pytest.mark.parametrize("kind", PANELS)
def test_names_from_the_records_are_only_text(kind, tmp_path):
    nasty = "<img src=x onerror=alert(1)>"
    tables = {
        name: t.replace("\nA,", f"\n{nasty},").replace(",A,", f",{nasty},").replace("a3", nasty)
        for name, t in folders.texts().items()
    }
    panel = opened(kind, folders.write(tmp_path / "n", tables))
    if kind is SchedulePanel:
        panel.horizon.value = 0  # every axle, due soon or not
    html = "".join(part.value for part in vars(panel).values() if isinstance(part, widgets.HTML))
    assert "<img" not in html
    if kind is not StartPanel and kind is not RecordsPanel:
        assert "&lt;img src=x" in html


# --- start


def test_start_says_where_the_records_are_and_what_they_hold(folder):
    panel = opened(StartPanel, folder)
    said = text(panel.overview)
    assert str(folder) in said
    assert "96 rows read" in said
    assert "measurements 72" in said
    assert panel.answer().startswith("0 of 4") or panel.answer().startswith("None of 4 axles may be due by 2 Mar 2025")
    kilometres = said
    panel.distance.value = "mi"
    assert text(panel.overview) != kilometres


# --- records


def test_counts_and_findings_of_the_records(folder):
    panel = opened(RecordsPanel, folder)
    assert "measurements 72 72 0 0 2" in text(panel.counts)
    assert all(code in text(panel.lines) for code in HELD_BACK)
    assert sum(int(label.split()[0]) for label in panel.picture.widget.data[0].text) == 2


def test_filters_narrow_the_findings(tmp_path):
    lines = {("measurements", 3): "a1,front,left,outer_pad,thickness,thick,mm,before", ("visits", 3): "a2,A,never,16000,km,,"}
    panel = opened(RecordsPanel, folders.write(tmp_path / "r", folders.planted(lines)))
    everything = text(panel.lines)
    assert "thick" in everything
    assert "never" in everything
    panel.table.value = "visits"
    assert "never" in text(panel.lines)
    assert "thick " not in text(panel.lines)
    panel.table.value = "all"
    panel.severity.value = "note"
    assert text(panel.lines).startswith("0 of ")
    panel.severity.value = "all"
    panel.code.value = "R8-not-a-number"
    assert text(panel.lines).startswith("1 of ")
    assert "thick" in text(panel.lines)


def test_many_findings_come_in_pages(tmp_path):
    lines = {("measurements", None): "\n".join(f"z{n},front,left,pad,thickness,9,mm,before" for n in range(250))}
    panel = opened(RecordsPanel, folders.write(tmp_path / "r", folders.planted(lines)))
    assert [label for label, _ in panel.page.options] == ["1 to 100", "101 to 200", "201 to 250"]
    assert len(panel.lines.value) < 60_000
    panel.page.value = 200
    assert "250 of 250 findings pass the filters; 50 shown" in text(panel.lines)


def test_findings_are_downloaded_as_filtered_with_their_path_shown(folder):
    panel = opened(RecordsPanel, folder)
    panel.csv.click()
    panel.xlsx.click()
    file = folder / "out" / "findings.xlsx"
    assert str(file) in text(panel.saved)
    written = pd.read_csv(folder / "out" / "findings.csv", keep_default_na=False)
    assert written["code"].tolist() == HELD_BACK
    assert openpyxl.load_workbook(file).active.max_row == 3
    panel.severity.value = "refused"
    panel.csv.click()
    assert len(pd.read_csv(folder / "out" / "findings.csv")) == 0


@pytest.mark.parametrize(("button", "answer", "replaced"), [("yes", "yes", True), ("no", "no", False)])
def test_an_answer_is_remembered_beside_the_records(folder, button, answer, replaced):
    panel = opened(RecordsPanel, folder)
    assert "9.0 mm on 28 Oct 2023, then 12.0 mm on 5 Feb 2024" in text(panel.question)
    assert "1 of 1 still open" in text(panel.question)
    getattr(panel, button).click()
    assert panel.strip.value == ""
    assert f'answer = "{answer}"' in (folder / "records.toml").read_text("utf-8")
    assert "0 of 1 still open" in text(panel.question)
    assert f"answered: {answer}" in text(panel.question)
    again = opened(SchedulePanel, folder)
    front = again.made.lives.lives.query("vehicle_id == 'A' and axle == 'front'")
    assert ("jump" in set(front["start_kind"])) is replaced


def test_the_question_follows_the_units(folder):
    panel = opened(RecordsPanel, folder)
    panel.thickness.value = "32nds"
    assert "11.3/32 in on 28 Oct 2023" in text(panel.question)  # 9.0 / 0.79375


def test_nothing_to_ask_is_said(tmp_path):
    panel = opened(RecordsPanel, folders.write(tmp_path / "clean", folders.texts()))
    assert "None: no lining grew" in text(panel.question)
    assert panel.yes.disabled
    assert panel.no.disabled
    assert title(panel.picture) == "No finding: nothing stood out"


def test_records_without_a_vehicle_in_service_still_show_their_findings(tmp_path):
    retired = {
        ("vehicles", 2): "A,van,urban,2023-01-02,20,km,2024-01-01",
        ("vehicles", 3): "B,van,urban,2023-01-02,30,km,2024-01-01",
    }
    source = folders.write(tmp_path / "retired", folders.planted(retired))
    panel = opened(RecordsPanel, source)
    assert "No schedule can be made of these records: no vehicle is in service" in text(panel.counts)
    assert "R21-date-out-of-service" in text(panel.lines)
    schedule = SchedulePanel(source)
    schedule.load()
    assert text(schedule.strip).startswith("No vehicle is in service")


# --- wear


@pytest.fixture
def wear(folder):
    return opened(WearPanel, folder)


def test_every_control_of_the_wear_panel_changes_what_is_shown(wear):
    picture = wear.picture.widget
    changes = [
        (wear.vehicle, "B"), (wear.axle, "rear"), (wear.axle, "front"), (wear.history, 0), (wear.history, 2), (wear.position, 2),
        (wear.distance, "mi"), (wear.thickness, "32nds"), (wear.replace_at, 8.0), (wear.thickness, "in"),
    ]  # fmt: skip
    wear.vehicle.value = "A"
    for control, value in changes:
        before = [picture.to_json(), wear.window.value, wear.readings.value, wear.numbers.value]
        assert control.value != value
        control.value = value
        after = [picture.to_json(), wear.window.value, wear.readings.value, wear.numbers.value]
        if control is wear.history and value == 2:
            continue  # B has one life: the same picture
        if control is wear.history:
            continue
        assert after != before, control.description
    assert wear.picture.widget is picture  # updated in place


def test_history_shows_earlier_lives(wear):
    wear.vehicle.value, wear.axle.value = "A", "front"
    whole = text(wear.readings)
    wear.history.value = 0
    assert "earlier" in whole
    assert "earlier" not in text(wear.readings)


def test_a_vehicle_opens_on_the_axle_due_first(wear):
    for vehicle in ("A", "B"):
        wear.vehicle.value = vehicle
        due_first = wear.made.table.query("vehicle_id == @vehicle")["axle"].iloc[0]
        assert wear.axle.value == due_first


def test_what_if_changes_window_and_words_and_can_be_undone(wear):
    wear.vehicle.value = "B"
    recorded = wear.window.value
    assert wear.as_recorded.disabled
    wear.replace_at.value = 5.0
    assert "What if: replaced at 5.0 mm, instead of 3.0 mm in the records. Nothing is saved." in text(wear.window)
    assert "what if replaced at 5.0 mm" in title(wear.picture)
    assert "what if" in wear.answer()
    wear.thickness.value = "32nds"
    assert wear.replace_at.value == pytest.approx(6.25, abs=0.13)  # 5.0 / 0.79375 = 6.30
    assert "What if:" in text(wear.window)
    wear.thickness.value = "mm"
    wear.as_recorded.click()
    assert wear.window.value == recorded
    assert wear.replace_at.value == pytest.approx(3.0)
    assert "what if" not in title(wear.picture)


def test_a_what_if_ends_with_its_axle(wear):
    wear.vehicle.value = "B"
    wear.replace_at.value = 5.0
    wear.vehicle.value = "A"
    assert "What if" not in wear.window.value
    assert wear.replace_at.value == pytest.approx(3.0)


@pytest.mark.parametrize("unit", ["mm", "in", "32nds"])
def test_changing_units_alone_is_no_what_if(wear, unit):
    wear.thickness.value = unit
    assert "What if" not in wear.window.value
    assert wear.replace_at.description == f"What if replaced at ({unit})"


def test_the_picture_and_its_table_hold_the_same_window(wear):
    wear.vehicle.value = "B"
    bar = next(t for t in wear.picture.widget.data if t.meta == "due window")
    for km in bar.x:
        assert f"{round(km / 100) * 100:,} km" in text(wear.window)
    assert "24 readings of this life" in text(wear.numbers)


def test_updating_in_place_gives_the_picture_that_drawing_anew_gives(wear):
    wear.vehicle.value = "A"
    wear.distance.value, wear.thickness.value = "mi", "in"
    wear.vehicle.value = "B"
    anew = figures.wear(wear._view(), wear.shown)
    for mine, its in zip(wear.picture.widget.data, anew.data, strict=True):
        drawn = {key: value for key, value in mine.to_plotly_json().items() if key != "uid"}
        assert drawn == its.to_plotly_json()
    mine, its = (figure.layout.to_plotly_json() for figure in (wear.picture.widget, anew))
    assert {key: mine[key] for key in its if key != "template"} == {key: its[key] for key in its if key != "template"}


# --- schedule


@pytest.fixture
def schedule(folder):
    panel = opened(SchedulePanel, folder)
    panel.horizon.value = 0
    return panel


def shown_axles(panel):
    return list(panel.picture.widget.layout.yaxis.ticktext)


def test_filters_and_sorting_of_the_schedule(schedule):
    assert sorted(shown_axles(schedule)) == ["A front", "A rear", "B front", "B rear"]
    schedule.vehicle.value = "b"
    assert sorted(shown_axles(schedule)) == ["B front", "B rear"]
    schedule.axle.value = "rear"
    assert shown_axles(schedule) == ["B rear"]
    schedule.vehicle.value = ""
    schedule.order.value = "vehicle"
    assert shown_axles(schedule) == ["A rear", "B rear"]
    schedule.wear_class.value = "van"
    assert shown_axles(schedule) == ["A rear", "B rear"]
    schedule.horizon.value = 3
    assert shown_axles(schedule) == []
    assert "No axle passes these filters." in text(schedule.table)
    assert "No axle to explain" in text(schedule.reasons)
    assert title(schedule.picture).startswith("None of 4 axles may be due by 2 Dec 2024")


def test_the_table_lists_the_axles_of_the_picture(schedule):
    for axle in shown_axles(schedule):
        assert axle in text(schedule.table)
    assert "4 of 4 axles that pass the filters" in text(schedule.table)


def test_why_explains_the_chosen_axle_in_the_chosen_units(schedule):
    schedule.why.value = ("B", "front")
    assert "mm per 10,000 km" in text(schedule.reasons)
    assert "24 readings of this life" in text(schedule.reasons)
    schedule.why.value = ("B", "rear")
    assert "12 readings of this life" in text(schedule.reasons)
    schedule.distance.value, schedule.thickness.value = "mi", "32nds"
    assert "/32 in per 10,000 mi" in text(schedule.reasons)
    assert "due [mi]" in text(schedule.table)


def test_the_download_holds_the_filtered_rows_as_the_contract_names_them(schedule, folder):
    schedule.vehicle.value = "B"
    schedule.distance.value = "mi"
    schedule.csv.click()
    schedule.xlsx.click()
    name = "schedule_2024-09-02"
    assert str(folder / "out" / f"{name}.xlsx") in text(schedule.saved)
    written = pd.read_csv(folder / "out" / f"{name}.csv", keep_default_na=False)
    assert written["vehicle_id"].tolist() == ["B", "B"]
    assert written.columns.tolist() == schedule.made.table.columns.tolist()
    assert written["due_odometer_km"].tolist() == schedule.chosen["due_odometer_km"].tolist()  # km, whatever is shown
    assert openpyxl.load_workbook(folder / "out" / f"{name}.xlsx").active.max_row == 3


def test_many_axles_come_in_pages(tmp_path):
    tables = folders.texts()
    tables["vehicles"] += "".join(f"C{n:02d},van,urban,2024-01-02,20,km,\n" for n in range(30))
    panel = opened(SchedulePanel, folders.write(tmp_path / "many", tables))
    panel.horizon.value = 0
    assert [label for label, _ in panel.page.options] == ["1 to 25", "26 to 50", "51 to 64"]
    first = shown_axles(panel)
    panel.page.value = 50
    assert len(first) == 25
    assert len(shown_axles(panel)) == 14
    assert set(first) & set(shown_axles(panel)) == set()


# --- ready


def test_what_is_installed_is_ready():
    assert check(["numpy>=1.0,<100", "pytest>=1"]) == ["Ready: everything the notebooks need is installed."]


@pytest.mark.parametrize("requirement", ["numpy>=99.0,<100", "numpy<1.0", "no-such-package-here>=1.0"])
def test_what_is_missing_is_named_with_its_cure(requirement):
    said = check(["pytest>=1", requirement, 'pint>=0.1; extra == "test"'])
    assert said[0].startswith("Not ready: ")
    assert requirement in said[0]
    assert f'-m pip install "{requirement}"' in said[1]
    assert len(said) == 3
