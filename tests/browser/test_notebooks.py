"""Every notebook in a real browser: run all cells, move each control, see the numbers change, no fault anywhere.

The ``lab`` fixture fails a test at its end on any fault: page, console, kernel, server log, or a request that leaves the computer.
"""

import shutil
from pathlib import Path

SHOPS = Path(__file__).parents[1] / "data" / "shops"
ANSWER, STRIP = ".brakedata-answer", ".brakedata-error"


def opened(lab, name):
    """Open a notebook, run it, and look at what every one of them must hold."""
    lab.open_notebook(f"{name}.ipynb")
    lab.run_all()
    assert lab.open_code_cells() == 0
    assert lab.text_of(STRIP) == ""
    lab.screenshot(name)


def changed(lab, css, act):
    """Do ``act`` and see that the text at ``css`` changes."""
    before = lab.text_of(css)
    act()
    after = lab.text_of(css)
    assert after != before
    return after


def try_the_top_row(lab, css, as_of=True):
    """A wrong folder gives one sentence and no traceback; the right one loads again; units and as-of date change the text."""
    folder = lab.value("Records folder")
    lab.set_value("Records folder", folder + " (not there)")
    lab.press("Load")
    assert "does not exist" in lab.text_of(STRIP)
    assert "Traceback" not in lab.text_of(STRIP)
    lab.set_value("Records folder", folder)
    lab.press("Load")
    assert lab.text_of(STRIP) == ""
    if as_of:
        lab.set_value("As of", "2026-03-31")
        changed(lab, css, lambda: lab.press("Load"))


def test_start_here(lab):
    opened(lab, "00_start_here")
    before = lab.text_of(".brakedata")
    assert "78 axles of 39 vehicles" in before
    try_the_top_row(lab, ".brakedata")
    assert changed(lab, ".brakedata", lambda: lab.choose("Distance", "mi")).count(" mi a day") == 1
    lab.choose("Thickness", "32nds")
    assert lab.not_moved() == []


def test_records(lab):
    opened(lab, "01_records")
    assert lab.figures()[0]["marks"] > 0
    lines = lab.text_of(ANSWER)
    assert "SV-4" in lines and "8469" in lines, "the slipped odometer that was planted"
    only = changed(lab, ANSWER, lambda: lab.choose("Table", "visits"))
    assert "SV-4" in only and "R34-bound" not in only
    lab.choose("Table", "all")
    assert "R23-odometer-back" not in changed(lab, ANSWER, lambda: lab.choose("How serious", "note"))
    lab.choose("How serious", "all")
    rule = next(option for option in lab.options("Rule") if option.startswith("R34"))
    assert "R23-odometer-back" not in changed(lab, ANSWER, lambda: lab.choose("Rule", rule))
    lab.choose("Rule", lab.options("Rule")[0])
    lab.choose("Rows", lab.options("Rows")[-1])
    lab.press("Download findings as CSV")
    assert "findings.csv" in lab.text_of(".brakedata")
    lab.press("Download findings as XLSX")
    assert "findings.xlsx" in lab.text_of(".brakedata")
    lab.choose("Proposed change", lab.options("Proposed change")[-1])
    assert "answered" in changed(lab, ".brakedata", lambda: lab.press("No, not replaced"))
    lab.press("Yes, replaced")
    lab.choose("Distance", "mi")
    lab.choose("Thickness", "in")
    try_the_top_row(lab, ANSWER, as_of=False)
    assert lab.not_moved() == []


def test_wear(lab):
    opened(lab, "02_wear")
    figure = lab.figures()[0]
    assert figure["marks"] > 0
    assert "SV-6 front" in figure["title"]
    changed(lab, ANSWER, lambda: lab.choose("Vehicle", "PV-3"))
    assert "PV-3" in lab.figures()[0]["title"]
    changed(lab, ANSWER, lambda: lab.choose("Axle", "rear"))
    assert "PV-3 rear" in lab.figures()[0]["title"]
    lab.choose("Lines of", lab.options("Lines of")[-1])
    lab.choose("Show", lab.options("Show")[0])
    recorded = lab.text_of(ANSWER)
    tried = changed(lab, ANSWER, lambda: lab.set_value("What if replaced at (mm)", 5))
    assert "5.0 mm" in tried
    assert "what if" in lab.text_of(".brakedata").lower()
    lab.press("Back to the recorded point")
    assert lab.text_of(ANSWER) == recorded
    assert " mi" in changed(lab, ANSWER, lambda: lab.choose("Distance", "mi"))
    assert "/32 in" in changed(lab, ANSWER, lambda: lab.choose("Thickness", "32nds"))
    lab.choose("Thickness", "mm")
    try_the_top_row(lab, ANSWER)
    assert lab.not_moved() == []


def test_schedule(lab):
    opened(lab, "03_schedule")
    figure = lab.figures()[0]
    assert figure["marks"] > 0
    assert "axles may be due by" in figure["title"]
    changed(lab, ANSWER, lambda: lab.choose("Due within", "any time"))
    changed(lab, ANSWER, lambda: lab.choose("Sort by", lab.options("Sort by")[-1]))
    changed(lab, ANSWER, lambda: lab.choose("Rows", lab.options("Rows")[-1]))
    changed(lab, ANSWER, lambda: lab.choose("Wear class", lab.options("Wear class")[-1]))
    changed(lab, ANSWER, lambda: lab.choose("Axle", "rear"))
    changed(lab, ".brakedata-why", lambda: lab.choose("Why is this axle due", lab.options("Why is this axle due")[-1]))
    assert " mi" in changed(lab, ANSWER, lambda: lab.choose("Distance", "mi"))
    changed(lab, ANSWER, lambda: lab.choose("Thickness", "in"))
    lab.press("Download CSV")
    assert ".csv" in lab.text_of(".brakedata")
    lab.press("Download XLSX")
    assert ".xlsx" in lab.text_of(".brakedata")
    assert "No axle passes" in changed(lab, ANSWER, lambda: lab.set_value("Vehicle contains", "<b>none</b>"))
    lab.set_value("Vehicle contains", "")
    try_the_top_row(lab, ANSWER)
    assert lab.not_moved() == []


def test_comebacks(lab):
    opened(lab, "04_comebacks")
    assert "line K" in lab.figures()[0]["title"]
    first = changed(lab, ".brakedata-first", lambda: lab.set_value("Within (km)", 6000))
    assert "Take brake dust for asbestos" in first
    lab.set_value("Within (km)", 10000)
    lab.choose("Show", "Rates")
    lab.screenshot("04_comebacks_rates")
    assert "“not done”" in lab.figures()[1]["title"]
    people = changed(lab, ".brakedata-rates", lambda: lab.choose("By", "technician"))
    assert "too few to say" in people and "T3" not in people
    assert "T3" in changed(lab, ".brakedata-rates", lambda: lab.tick("Technicians as letters", on=False))
    lab.press("Download rates as XLSX")
    assert "comebacks_by_technician.xlsx" in lab.text_of(".brakedata")
    lab.choose("Show", "By distance")
    assert "T1" not in " ".join(lab.options("Level")), "a person under 50 jobs has no curve"
    lab.choose("Level", "T3")
    lab.screenshot("04_comebacks_distance")
    assert "T3" in lab.figures()[2]["title"] and lab.figures()[2]["marks"] > 0
    for page, place in (("What goes with it", 3), ("Over time", 4), ("Cost", 5)):
        lab.choose("Show", page)
        lab.screenshot(f"04_comebacks_{place}")
        assert lab.figures()[place]["marks"] > 0
    lab.set_value("One comeback costs (0 = as recorded)", 200)
    assert "known of 87 of 87" in lab.figures()[5]["title"]
    lab.choose("Show", "Suspected comebacks")
    lab.screenshot("04_comebacks_list")
    answer_a_comeback(lab)
    changed(lab, ".brakedata-list", lambda: lab.set_value("Noise, pull, drag within (km)", 1500))
    changed(lab, ".brakedata-list", lambda: lab.set_value("Pulsation within (km)", 5000))
    changed(lab, ".brakedata-list", lambda: lab.set_value("Within days", 40))
    lab.choose("Rows", lab.options("Rows")[-1])
    lab.press("Download list as XLSX")
    assert "suspected_comebacks.xlsx" in lab.text_of(".brakedata")
    lab.choose("Distance", "mi")
    lab.choose("Thickness", "in")
    try_the_top_row(lab, ANSWER)
    assert {name for name in lab.not_moved() if not name.endswith("(mi)")} == set()


def answer_a_comeback(lab):
    """Break a link, make another, and see both again after the kernel was started anew."""
    lab.choose("Complaint", lab.options("Complaint")[1])
    asked = lab.value("Complaint")
    lab.set_value("Reason", "stone in the shield <b>")
    lab.press("No, not of it")
    lab.choose("List", "answered")
    assert "no: stone in the shield <b>" in lab.text_of(".brakedata-list")
    lab.choose("List", "other complaints")
    lab.choose("Job", lab.options("Job")[0])
    lab.press("Unknown")
    lab.press("Yes, of that job")
    for command in ("notebook:clear-all-cell-outputs", "docmanager:save"):
        lab.page.evaluate(f"() => window.jupyterapp.commands.execute('{command}')")
    lab.page.evaluate("() => window.jupyterapp.shell.currentWidget.sessionContext.shutdown()")
    lab.open_notebook("04_comebacks.ipynb")
    lab.run_all()
    lab.choose("Show", "Suspected comebacks")
    lab.choose("List", "answered")
    kept = lab.text_of(".brakedata-list")
    assert "no: stone in the shield <b>" in kept and "yes" in kept
    assert asked in lab.options("Complaint")
    lab.choose("List", "not answered")


def test_track_record(lab):
    opened(lab, "05_track_record")
    figure = lab.figures()[0]
    assert figure["marks"] > 0
    assert "past windows held" in figure["title"]
    assert "early-late window held" in lab.text_of(ANSWER)
    changed(lab, ANSWER, lambda: lab.choose("Forecasts of", "18 months ago"))
    lab.choose("Vehicles", lab.options("Vehicles")[-1])
    lab.choose("Rows", lab.options("Rows")[-1])
    assert " mi" in changed(lab, ANSWER, lambda: lab.choose("Distance", "mi"))
    lab.choose("Thickness", "in")
    try_the_top_row(lab, ANSWER)
    assert lab.not_moved() == []


def test_pad_life(lab):
    opened(lab, "06_pad_life")
    life, moved = lab.figures()
    assert life["marks"] > 0
    assert "half are replaced by" in life["title"]
    changed(lab, ANSWER, lambda: lab.choose("Wear class", "minibus"))
    assert "minibus" in lab.figures()[0]["title"]
    changed(lab, ANSWER, lambda: lab.choose("Linings", "rear pads"))
    assert "too few to say" in changed(lab, ANSWER, lambda: lab.choose("Product line", "line K"))
    lab.choose("Product line", "all")
    changed(lab, ".brakedata", lambda: lab.choose("Life", "to the replace point"))
    changed(lab, ".brakedata", lambda: lab.choose("Table by", "class, axle and product line"))
    assert "no difference beyond chance" in lab.text_of(".brakedata-moved")
    assert "urban duty" in changed(lab, ".brakedata-moved", lambda: lab.choose("What moves wear", "duty"))
    assert lab.figures()[1]["title"] != moved["title"]
    assert " mi " in changed(lab, ANSWER, lambda: lab.choose("Distance", "mi"))
    changed(lab, ".brakedata", lambda: lab.choose("Thickness", "in"))
    try_the_top_row(lab, ANSWER)
    assert lab.not_moved() == []


def test_own_tables(lab, tmp_path):
    """A shop's own file: change a guess, answer what is asked, save, see the checks, and see them again in another kernel."""
    file = tmp_path / "Bremsen – März" / "month1.xls"
    file.parent.mkdir()
    shutil.copy(SHOPS / "totals" / "month1.xls", file)
    lab.open_notebook("01_records.ipynb")
    lab.run_all()
    lab.set_value("Records folder", str(file))
    lab.press("Load")
    assert lab.text_of(STRIP) == ""
    assert "3 questions that must be answered" in lab.text_of(".brakedata-own")
    lab.screenshot("01_own_tables")
    rows = ".brakedata-first-rows"
    assert "90,207 mi" in changed(lab, rows, lambda: lab.choose("Answer 2", "miles"))
    lab.choose("Answer 1", "millimetres")
    assert "front left shoe 13.5 mm" in changed(lab, rows, lambda: lab.choose("Answer 3", "brake shoes"))
    assert "front right" not in changed(lab, rows, lambda: lab.choose("“R/F” is", "not used"))
    assert "As you said." in lab.text_of(".brakedata-own")
    lab.screenshot("01_own_tables_answered")
    assert not (file.parent / "records.toml").exists()
    lab.press("Save and check")
    assert lab.text_of(STRIP) == ""
    assert "records.toml" in lab.text_of(".brakedata-own") and "rows read" in lab.text_of(".brakedata")
    lab.screenshot("01_own_tables_saved")
    assert lab.figures()[0]["marks"] > 0
    assert '"R/F" = "not used"' in (file.parent / "records.toml").read_text("utf-8")
    lab.open_notebook("01_records.ipynb")
    lab.run_all()
    lab.set_value("Records folder", str(file.parent))
    lab.press("Load")
    assert "nothing needs to be asked" in lab.text_of(".brakedata-own")
    assert "rows read" in lab.text_of(".brakedata")
