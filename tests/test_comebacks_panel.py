"""The comebacks panel, by setting the values of its controls as a person does and reading what is then shown.

Truth: records written by hand, a made shop (`simulate_shop`), the definition 1 mi = 1.609344 km, and the rules of the house: nobody
is ranked, no figure of a person under 50 jobs, nothing is called a cause.
"""

import re
from html import unescape

import ipywidgets as widgets
import openpyxl
import pytest
from test_comebacks import BASE, BASE_WORK, job, shop, visit

import brakedata
from brakedata import comebacks, simulate, simulate_shop
from brakedata.panels import ComebacksPanel, desk
from brakedata.panels.comebacks_panel import COST, DISTANCE, FIRST, LIST, PAGES, RATES, TIME, TOGETHER
from brakedata.views import complaints

SQUEAL = visit("C", "2024-05-01", 57_000, complaint="front brakes squeal <i>badly</i>")
LATE = visit("D", "2025-04-01", 84_000, complaint="it does it again")


pytestmark = pytest.mark.usefixtures("nothing_vanishes")


@pytest.fixture
def folder(tmp_path):
    """Two jobs of one vehicle, a squeal after them, and a complaint in which no brake is named."""
    where = tmp_path / "Bremsen – Übersicht (neu)"
    shop(where, [*BASE, SQUEAL, LATE], BASE_WORK)
    return where


@pytest.fixture(scope="module")
def made_shop(tmp_path_factory):
    """A made shop of 900 jobs, one technician with under 50 of them."""
    return simulate.write(simulate_shop.shop(4).tables, tmp_path_factory.mktemp("made"))


def opened(folder):
    panel = ComebacksPanel(folder)
    panel.load()
    assert panel.strip.value == ""
    return panel


def text(html):
    """What a person reads of HTML."""
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", html.value))).strip()


def title(picture):
    return re.sub(r"\s*<br>\s*", " ", re.sub(r"</?(b|span)[^>]*>", "", picture.widget.layout.title.text))


def shown_now(panel):
    """All that a person can read: HTML and pictures of what is not hidden."""
    said = []

    def look(widget):
        if getattr(widget.layout, "display", None) == "none":
            return
        if isinstance(widget, widgets.HTML) and "<style>" not in widget.value:
            said.append(text(widget))
        if hasattr(widget, "to_plotly_json"):
            said.append(str(widget.to_plotly_json()))
        if isinstance(widget, widgets.Dropdown):
            said.extend(str(option) for option in widget.options)
        for child in getattr(widget, "children", ()):
            look(child)

    look(panel.body)
    return " ".join(said)


# --- pages


def test_every_page_shows_only_itself(folder):
    panel = opened(folder)
    assert panel.page.value == FIRST
    for page in PAGES:
        panel.page.value = page
        assert panel.strip.value == ""
        assert [name for name, box in panel.pages.items() if box.layout.display != "none"] == [page]


def test_cautions_stand_beside_what_to_measure_first(made_shop):
    panel = opened(made_shop)
    said = text(panel.first)
    assert all(caution in said for caution in comebacks.CAUTIONS)
    assert "hub face: not done" in said and "runout at the rotor on the car" in said
    assert "hub face: not done" in title(panel.first_picture)


def test_records_with_hardly_a_comeback_are_shown_all_the_same(folder):
    panel = opened(folder)
    assert "Nothing goes with more comebacks by more than chance" in title(panel.first_picture)
    panel.page.value = TIME
    assert "too few" in title(panel.trend)
    panel.page.value = COST
    assert "no cost is recorded" in title(panel.costs)
    panel.cost_of_one.value = 250
    assert "Comebacks took" in title(panel.costs)


def test_records_without_a_job_end_in_one_sentence(tmp_path):
    shop(tmp_path / "r", BASE, [job("J1", part="hub_face", action="cleaned")])
    panel = ComebacksPanel(tmp_path / "r")
    panel.load()
    assert "no brake job" in panel.strip.value.lower() and panel.strip.value.count("<p") == 1
    assert "no brake job" in panel.answer().lower()


def test_records_without_a_job_hide_the_answers_of_those_before(folder, tmp_path):
    panel = opened(folder)
    shop(tmp_path / "r", BASE, [job("J1", part="hub_face", action="cleaned")])
    panel.folder.value = str(tmp_path / "r")
    panel.load_button.click()
    assert panel.body.layout.visibility == "hidden" and "no brake job" in panel.strip.value.lower()
    panel.folder.value = str(folder)
    panel.load_button.click()
    assert panel.body.layout.visibility == "visible" and panel.strip.value == ""


# --- people


def test_letters_stand_for_people_on_every_page(made_shop):
    panel = opened(made_shop)
    panel.by.value = "technician"
    for page in PAGES:
        panel.page.value = page
        seen = shown_now(panel)
        assert [name for name in simulate_shop.TECHNICIANS if re.search(rf"\b{name}\b", seen)] == []
    assert [name for name in simulate_shop.TECHNICIANS if name in panel.answer()] == []
    panel.letters.value = False
    panel.page.value = RATES
    assert simulate_shop.BAD in shown_now(panel)


def test_no_figure_of_a_person_under_fifty_jobs_on_any_page(made_shop):
    panel = opened(made_shop)
    panel.letters.value = False
    panel.by.value = "technician"
    panel.page.value = RATES
    (few,) = [row for row in re.findall(r"<tr>.*?</tr>", panel.rates.value) if simulate_shop.NEW in row]
    assert "too few to say" in few and "%" not in few
    panel.page.value = DISTANCE
    assert simulate_shop.NEW not in str(panel.level.options) and simulate_shop.BAD in str(panel.level.options)
    panel.page.value = TOGETHER
    assert simulate_shop.NEW not in shown_now(panel)


def test_people_stand_in_order_of_their_names(made_shop):
    panel = opened(made_shop)
    panel.letters.value = False
    panel.by.value = "technician"
    panel.page.value = TOGETHER
    for names in (
        panel.ratios.widget.layout.yaxis.ticktext,
        re.findall(r"<td class='short'>(Ash|Birch|Cedar|Elm|Fir)<", panel.together.value),
    ):
        assert list(names) == sorted(names) and len(names) > 2


def test_nothing_is_called_a_cause_or_safe(made_shop):
    panel = opened(made_shop)
    for page in PAGES:
        panel.page.value = page
        seen = shown_now(panel).replace("need not be cause and effect", "").replace("were it the cause", "")
        assert not re.search(r"\b(causes?|caused|guilty|to blame|safe)\b", seen.lower()), page


def test_the_bad_ones_funnel_point_says_what_goes_better_with_it(made_shop):
    """Seed 4's hasty one is not flagged; the bad one is, and nothing recorded explains it."""
    panel = opened(made_shop)
    panel.letters.value = False
    panel.by.value = "technician"
    panel.page.value = RATES
    assert f"“{simulate_shop.BAD}”" in title(panel.funnel)
    assert "nothing else that is recorded explains it" in text(panel.explained)


# --- distances and units


def test_distance_and_units(made_shop):
    panel = opened(made_shop)
    panel.page.value = RATES
    before = text(panel.rates)
    panel.distance.value = "mi"
    assert panel.within.description == "Within (mi)"
    assert panel.within_km == pytest.approx(10_000.0)
    assert panel.within.value * 1.609344 == pytest.approx(10_000.0)
    assert "come back within 6,214 mi" in panel.funnel.widget.layout.yaxis.title.text
    assert text(panel.rates).replace("[mi]", "[km]") != before
    panel.distance.value = "km"
    assert text(panel.rates) == before
    panel.within.value = 5_000
    fewer = comebacks.rates(panel.found, panel.by.value, 5_000.0).shop["comebacks"]
    assert f"{fewer:,} of 900 jobs have one within 5,000 km" in text(panel.said)


def test_windows_are_the_users(folder):
    panel = opened(folder)
    panel.page.value = LIST
    assert "1 of 1 complaints" in text(panel.links)
    panel.noise.value = 6_500  # J1 was at 50,000 km, the squeal at 57,000
    assert "0 of 0 complaints" in text(panel.links)
    panel.noise.value = 7_000
    panel.days.value = 100  # and 112 days later
    assert "0 of 0 complaints" in text(panel.links)
    panel.days.value = 120
    assert "1 of 1 complaints" in text(panel.links)


# --- answers


def answers(folder):
    """What a person answered, as a fresh start reads it."""
    links = comebacks.find(brakedata.load(folder)).links
    return links[["visit_id", "job_visit_id", "answer", "reason", "counts"]].to_numpy().tolist()


def test_an_answer_is_kept_with_its_reason_and_survives_a_fresh_start(folder):
    panel = opened(folder)
    panel.page.value = LIST
    asked = text(panel.answered.question)
    assert all(part in asked for part in ("7,000 km and 112 days", "pads replaced", "J1", "squeal <i>badly</i>"))
    panel.answered.reason.value = "a stone"
    panel.answered.buttons["no"].click()
    assert answers(folder) == [["C", "J1", "no", "a stone", False]]
    assert "0 of 2 jobs have one" in text(panel.said)
    desk._kept.clear()
    again = opened(folder)
    again.page.value, again.list.value = LIST, complaints.ANSWERED
    assert "no: a stone" in text(again.links)
    assert "a stone" in text(again.answered.question)


def test_a_link_is_made_with_a_complaint_that_was_not_read_as_one_and_taken_to_another_job(folder):
    panel = opened(folder)
    panel.page.value, panel.list.value = LIST, complaints.OTHER
    assert "it does it again" in text(panel.links)
    assert [label[:2] for label, _ in panel.answered.job.options] == ["J2", "J1"]
    panel.answered.job.value = panel.answered.job.options[1][1]
    panel.answered.buttons["yes"].click()
    assert ["D", "J1", "yes", "", True] in answers(folder)
    panel.list.value = complaints.ANSWERED
    panel.answered.job.value = panel.answered.job.options[0][1]
    panel.answered.buttons["yes"].click()
    assert [row[:3] for row in answers(folder) if row[0] == "D"] == [["D", "J2", "yes"]], "a complaint belongs to one job"


def test_an_answer_that_cannot_be_kept_is_told_in_a_sentence(folder):
    (folder / "records.toml").write_text("[[comeback", "utf-8")
    panel = ComebacksPanel(folder)
    panel.load()
    assert "correct that line" in panel.strip.value
    (folder / "records.toml").unlink()
    panel.load()
    panel.page.value = LIST
    (folder / "records.toml").write_text("[[comeback", "utf-8")
    panel.answered.buttons["yes"].click()
    assert "answer again" in panel.strip.value and panel.strip.value.count("<p") == 1


# --- downloads


def test_downloads_hold_what_is_listed(folder):
    panel = opened(folder)
    panel.page.value = LIST
    panel.save_list.click()
    (rows,) = [list(openpyxl.load_workbook(file).active.values) for file in (folder / "out").glob("suspected*.xlsx")]
    assert len(rows) == 1 + 1 and SQUEAL["complaint"] in rows[1]
    panel.page.value = RATES
    panel.save_rates.click()
    (rows,) = [list(openpyxl.load_workbook(file).active.values) for file in (folder / "out").glob("comebacks_by*.xlsx")]
    assert list(rows[0][:3]) == ["factor", "level", "jobs"]
    assert sum(row[2] for row in rows[1:]) == 2
