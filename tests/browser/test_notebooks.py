"""Every notebook in a real browser: run all cells, move each control, see the numbers change, no fault anywhere.

The ``lab`` fixture fails a test at its end on any fault: page, console, kernel, server log, or a request that leaves the computer.
"""

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
