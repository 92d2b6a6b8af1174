"""The browser driver itself: it moves each kind of control, and no kind of fault escapes it.

Truth: the throw-away notebook written here, whose answers and faults are known.
"""

import nbformat
import pytest

from browser.lab_driver import VIEWPORT

CONTROLS = """
import datetime, ipywidgets as w, plotly.graph_objects as go
fig = go.FigureWidget(go.Scatter(x=[0, 1, 2], y=[0, 1, 2], name="pad"), dict(title="start", xaxis_title="km"))
moved = [
    w.Dropdown(options=["all", "van", "car"], description="Class"),
    w.Select(options=["front", "rear"], description="Axle"),
    w.SelectMultiple(options=["a", "b", "c"], description="Vehicles"),
    w.FloatSlider(value=3, min=1, max=6, description="Replace at (mm)", continuous_update=False),
    w.BoundedFloatText(value=3, max=9, description="Horizon"),
    w.Text(description="Filter", continuous_update=False),
    w.DatePicker(value=datetime.date(2024, 1, 31), description="As of"),
    w.ToggleButtons(options=["km", "mi"], description="Distance"),
    w.RadioButtons(options=["date", "risk"], description="Order"),
    w.Checkbox(value=False, description="Show band"),
]
answer = w.HTML("nothing yet").add_class("trial-answer")
def show(change):
    answer.value = " | ".join(str(control.value) for control in moved)
    with fig.batch_update():
        fig.data[0].y = [0, moved[3].value, 2 * moved[3].value]
        fig.layout.title.text = moved[0].value
for control in moved:
    control.observe(show, "value")
download, break_it = w.Button(description="Download"), w.Button(description="Break it")
download.on_click(lambda _: setattr(answer, "value", "downloaded"))
break_it.on_click(lambda _: {}["pad"])
w.VBox([*moved, download, break_it, answer, fig])
"""

# Code of a cell, and what is then said.
FAULTS = {
    "import sys; _ = sys.stderr.write('worn')": "stderr: worn",
    "get_ipython().kernel.log.error('worn')": "server log: [IPKernelApp] ERROR | worn",
    "Javascript('setTimeout(() => nowhere.x)')": "script error: nowhere is not defined",
    "Javascript('console.error(\"torn\")')": "console: torn",
    "HTML('<img src=\"https://pictures.invalid/pad.png\">')": "tried to leave this machine: https://pictures.invalid",
    "display({'application/vnd.jupyter.widget-view+json': {'model_id': 'x', 'version_major': 2}}, raw=True)": (
        "Error displaying widget"
    ),
    "1 / 0": "kernel: ZeroDivisionError",
}


@pytest.fixture
def opened(any_lab, lab_folder):
    """Open a notebook of these code cells and run it."""

    def run(*cells):
        notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(code) for code in cells])
        notebook.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3", "language": "python"}
        nbformat.write(notebook, lab_folder / "trial.ipynb")
        any_lab.open_notebook("trial.ipynb")
        any_lab.run_all()
        return any_lab

    return run


def test_each_control_moves_its_answer_is_read_and_an_exception_behind_it_is_seen(opened):
    lab = opened(CONTROLS)
    assert lab.text_of(".trial-answer") == "nothing yet"
    assert len(lab.not_moved()) == 12
    with pytest.raises(LookupError, match="0 controls 'Axel' of kind dropdown"):
        lab.choose("Axel", "rear")

    lab.choose("Class", "van")
    lab.choose("Axle", "rear")
    lab.choose("Vehicles", "a", "c")
    lab.set_value("Replace at (mm)", 4.5)
    lab.set_value("Horizon", 7)
    lab.set_value("Filter", "<b>x</b>")
    lab.set_value("As of", "2024-05-17")
    lab.choose("Distance", "mi")
    lab.choose("Order", "risk")
    lab.tick("Show band")
    assert lab.text_of(".trial-answer") == "van | rear | ('a', 'c') | 4.5 | 7.0 | x | 2024-05-17 | mi | risk | True"
    shown = ["van", ["rear"], ["a", "c"], "4.50", "7", "<b>x</b>", "2024-05-17", "mi", "risk", True]
    assert [lab.value(label) for kind, label in lab.controls() if kind != "button"] == shown
    assert lab.options("Class") == ["all", "van", "car"]

    (figure,) = lab.figures()
    assert (figure["title"], figure["x_title"]) == ("van", "km")
    assert figure["traces"] == [{"name": "pad", "type": "scatter", "x": [0, 1, 2], "y": [0, 4.5, 9]}]
    assert figure["marks"] == 4  # one line, three points

    lab.press("Download")
    assert lab.text_of(".trial-answer") == "downloaded"
    assert lab.not_moved() == ["Break it"]
    assert lab.problems() == []
    lab.press("Break it")
    assert lab.problems() == ["kernel: KeyError: 'pad'"]


def test_a_picture_shows_the_whole_notebook(opened):
    lab = opened(*["1"] * 40)
    picture = lab.screenshot("forty cells").read_bytes()
    width, height = (int.from_bytes(picture[at : at + 4], "big") for at in (16, 20))  # where a PNG says its size
    assert lab.page.viewport_size == VIEWPORT
    assert 0.8 * VIEWPORT["width"] < width < VIEWPORT["width"]
    assert height > 2 * VIEWPORT["height"]


def test_every_kind_of_fault_is_a_problem(opened):
    problems = opened("from IPython.display import *", *FAULTS).problems()
    assert [said for said in FAULTS.values() if not any(said in problem for problem in problems)] == []


def test_a_kernel_that_dies_is_a_problem(opened):
    assert "kernel autorestarting" in opened("import os; os._exit(1)").problems()
