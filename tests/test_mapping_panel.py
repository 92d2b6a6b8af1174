"""The records panel on a shop's own tables, by setting the values of its controls; truth: the invented shops of ``make_shops``.

That the panel's words are right is in ``test_views_mapping``; that the numbers are, in ``test_mapping``.
"""

import shutil
from pathlib import Path

import ipywidgets as widgets
import pytest
from make_shops import in_file
from test_mapping import ANSWERS, file_of, same
from test_panels import controls, text

import brakedata
from brakedata import mapping
from brakedata.panels import RecordsPanel, StartPanel, WearPanel, desk, mapping_piece

pytestmark = pytest.mark.usefixtures("nothing_vanishes")


def opened(path, kind=RecordsPanel):
    panel = kind(path)
    panel.load()
    assert panel.fault is None
    return panel


def shop_file(tmp_path, shop, month=1):
    folder = tmp_path / "Prüfungen & mehr"
    folder.mkdir(exist_ok=True)
    return Path(shutil.copy(file_of(shop, month), folder))


def labelled(panel, label):
    return next(control for control in controls(panel) if control.description == label)


def inside(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from inside(child)


def own(panel):
    """Everything a person reads of the piece."""
    return " ".join(text(one) for one in inside(panel.own.box) if isinstance(one, widgets.HTML))


def answer_all(panel, shop):
    """Answer as the shop does, through the controls."""
    for key, value in ANSWERS[shop].items():
        fields = panel.own._fields[key]
        if isinstance(value, dict):
            for field in fields:
                field.value = value[field.description.split("”")[0].removeprefix("“")]
        else:
            fields[0].value = value if isinstance(fields[0], widgets.Dropdown) else str(value)
        assert panel.fault is None and panel.strip.value == ""


@pytest.mark.parametrize("shop", ["semicolons", "driver_and_passenger", "everything", "totals"])
def test_a_shop_answers_and_saves_in_the_panel_and_its_records_are_right(shop, tmp_path):
    file = shop_file(tmp_path, shop)
    panel = opened(file)
    assert panel.strip.value == "" and panel.own.box.layout.display == "" and panel.checks.layout.display == "none"
    assert panel.body.layout.visibility == "visible"
    answer_all(panel, shop)
    assert not (file.parent / "records.toml").exists()  # nothing is written before Save
    assert panel.own.save_button.description == "Save and check"
    panel.own.save_button.click()
    assert panel.fault is None and panel.strip.value == ""
    assert str((file.parent / "records.toml").resolve()) in panel.own.saved.value.replace("&amp;", "&")
    assert panel.checks.layout.display == "" and "rows read" in text(panel.counts)
    same(panel.made.records, shop, in_file(shop, 1))
    desk._kept.clear()  # as after a restart of the kernel
    again = opened(file.parent)
    assert again.checks.layout.display == "" and "nothing needs to be asked" in own(again)
    same(again.made.records, shop, in_file(shop, 1))


def test_an_answer_changes_what_the_samples_and_the_first_rows_are_read_as(tmp_path):
    panel = opened(shop_file(tmp_path, "inches_by_pad"))
    assert "not read yet: mm, inches or 32nds?" in own(panel)
    assert "front left inner pad" not in text(panel.own.rows)
    labelled(panel, "Answer 1").value = "in"
    assert "0.40; 0.38 read as 10.16 mm; 9.65 mm" in own(panel)  # 0.40 x 25.4, by hand
    assert "front left inner pad 0.4 in" in text(panel.own.rows)
    labelled(panel, "Answer 1").value = "mm"  # an answer can be changed
    assert "0.40; 0.38 read as 0.40 mm; 0.38 mm" in own(panel)


def test_a_corrected_guess_changes_the_first_rows_and_is_saved(tmp_path):
    file = shop_file(tmp_path, "semicolons")
    panel = opened(file)
    assert "note: Räder geprüft" in text(panel.own.rows)
    labelled(panel, "“Bemerkungen” is").value = "not used"
    assert "Räder geprüft" not in text(panel.own.rows)
    assert "As you said." in own(panel)
    panel.own.save_button.click()
    assert 'Bemerkungen = "not used"' in (file.parent / "records.toml").read_text("utf-8")
    roles = mapping.propose(file).columns.set_index("column")["role"]
    assert roles["Bemerkungen"] == "not used" and roles["Kennzeichen"] == "vehicle_id"


def test_the_rows_add_up_to_the_lines_of_the_file(tmp_path):
    panel = opened(shop_file(tmp_path, "semicolons"))
    assert "month1.csv: 7 rows read = 4 taken + 3 left out" in text(panel.own.ledger)  # counted in the file by hand


def test_part_of_the_answers_can_be_saved_and_the_rest_is_asked_again(tmp_path):
    file = shop_file(tmp_path, "totals")
    panel = opened(file)
    assert panel.own.save_button.description == "Save so far (3 answers missing)"
    assert "In which unit are the odometers?" in text(panel.own.missing)
    panel.own._fields["distance_unit.1"][0].value = "mi"
    assert panel.own.save_button.description == "Save so far (2 answers missing)"
    panel.own.save_button.click()
    assert panel.strip.value == "" and panel.checks.layout.display == "none"
    again = opened(file)
    assert set(again.own._fields) == {"thickness_unit.1", "part.1"}
    assert again.checks.layout.display == "none"


def test_what_cannot_be_is_one_sentence_and_changes_nothing(tmp_path):
    panel = opened(shop_file(tmp_path, "everything"))
    before = own(panel)
    (answer,) = panel.own._fields["new_thickness_mm"]
    for wrong in ("thick", "1200", "-3"):
        answer.value = wrong
        assert panel.strip.value.count("<p") == 1 and text(panel.strip).endswith(".") and panel.fault is None
        assert own(panel) == before
    answer.value = "12,0 mm"
    assert panel.strip.value == "" and panel.own.proposal.questions == []


def test_other_panels_send_to_the_records_notebook_and_work_once_it_is_answered(tmp_path):
    file = shop_file(tmp_path, "totals")
    for kind in (StartPanel, WearPanel):
        panel = opened(file, kind)
        assert "01_records" in text(panel.strip) and "In which unit" in text(panel.strip) and panel.strip.value.count("<p") == 1
        assert "01_records" in panel.answer()  # the cell that prints it shows the same, no traceback
    records = opened(file)
    assert "must be answered" in records.answer()
    answer_all(records, "totals")
    records.own.save_button.click()
    panel = opened(file, StartPanel)
    assert panel.strip.value == "" and "month1.xls" in text(panel.status)
    for one in (text(records.counts), text(panel.overview)):  # 4 buses once each, 4 wheels; 10 lines in the sheet
        assert "10 rows read: 4 taken, 6 left out" in one
        assert "They gave 4 vehicles, 4 visits, 16 readings, 0 jobs and 0 odometers beside the visits." in one


def test_a_table_of_hundreds_of_columns_is_paged_the_unsure_first(tmp_path):
    wide = tmp_path / "wide.csv"
    lines = [
        ",".join(
            [
                "Unit #",
                "Date",
                "Odometer km",
                "<i>Remarks",
                *(f"Extra <b>{chr(97 + n % 26)}{chr(97 + n // 26)}" for n in range(299)),
                "L/F",
            ]
        )
    ]
    lines += [
        ",".join(
            [
                f"V{n}",
                f"2025-01-{n:02}",
                f"{50_000 + n}",
                "<script>1</script>",
                *(str(n * m) for m in range(299)),
                f"{9 + n / 10}",
            ]
        )
        for n in range(10, 28)
    ]
    wide.write_text("\n".join(lines), "utf-8")
    panel = opened(wide)
    assert len(panel.own.columns.children) == mapping_piece.COLUMNS_A_PAGE
    assert len([one for one in inside(panel.own.box) if isinstance(one, widgets.Dropdown | widgets.Text)]) <= 60
    columns = panel.own.proposal.columns
    first = {label for _, label in panel.own._order[: int((~columns["sure"]).sum())]}
    assert "L/F" in first and "Unit #" not in first
    shown = "".join(one.value for one in inside(panel.own.box) if isinstance(one, widgets.HTML))
    assert "&lt;script" in shown and "<script" not in shown and "<i>" not in shown
    panel.own.page.value = 300
    assert len(panel.own.columns.children) == 4  # 304 columns, 25 a page
    labels = [control.description for control in controls(panel)]
    assert len(set(labels)) == len(labels)


def test_from_a_shop_s_file_to_our_own_folder_and_back(tmp_path):
    file = shop_file(tmp_path, "inches_by_pad")
    panel = opened(file)
    panel.folder.value = str(brakedata.places.demo_records())
    panel.load()
    assert panel.own.box.layout.display == "none" and panel.checks.layout.display == "" and "rows read" in panel.answer()
    panel.folder.value = f'"{file}"'
    panel.load()
    assert panel.own.box.layout.display == "" and panel.checks.layout.display == "none" and "12 columns" in panel.answer()


def test_a_finding_of_a_shop_s_file_names_its_file_and_line(tmp_path):
    file = shop_file(tmp_path, "semicolons")
    panel = opened(file)
    panel.own.save_button.click()
    words = panel.made.findings[panel.made.findings["value"].eq("i.O.")]
    assert len(words) == 2
    assert "month1.csv 5 NX-TR 42" in text(panel.lines)  # line 5 of the file: a title, a blank line and the header come before


def test_the_panel_asks_what_a_heading_of_wear_means_and_takes_the_answer(tmp_path):
    file = tmp_path / "checks.csv"
    file.write_text("van,date,km,LF pad wear mm\n" + "".join(f"V1,2024-0{n}-15,{1000 * n},{n}\n" for n in range(1, 5)), "utf-8")
    panel = opened(file)
    assert set(panel.own._fields) == {"wear.1"} and "left of the lining, or what is worn away?" in text(panel.own.missing)
    assert "not read yet: a header of wear" in own(panel) and "front left pad" not in text(panel.own.rows)
    (answer,) = panel.own._fields["wear.1"]
    answer.value = "worn"
    assert set(panel.own._fields) == {"wear.1", "new_thickness_mm"}
    panel.own._fields["new_thickness_mm"][0].value = "12"
    assert panel.strip.value == "" and panel.own.save_button.description == "Save and check"
    assert "front left pad 11 mm" in text(panel.own.rows) and "front left pad 8 mm" in text(panel.own.rows)
    panel.own.save_button.click()
    assert panel.made.records.measurements["value_mm"].tolist() == [11, 10, 9, 8]
