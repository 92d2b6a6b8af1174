"""Records folders as a whole: nothing lost, the same in every form, and a person's answers kept."""

import numpy as np
import pandas as pd
import pytest
from folders import line_of, load, planted, texts, write
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import brakedata
from brakedata import lives
from brakedata.columns import RECORD_TABLES
from brakedata.findings import RecordsError
from brakedata.records import Settings, answer_pad_change, read_settings
from brakedata.simulate import fleet
from brakedata.simulate import write as write_fleet

TABLES = list(RECORD_TABLES)
LOST = ("left_out", "refused")


def lines_left_out(records, table):
    found = records.findings
    return set(found.loc[found["table"].eq(table) & found["severity"].isin(LOST) & found["row"].notna(), "row"].astype(int))


def assert_nothing_lost(records, lines: dict[str, list[int]]):
    """Every line of every table is used or has a finding that says it was left out; none is used twice."""
    for table, its in lines.items():
        used = getattr(records, table)["row"].tolist()
        assert len(used) == len(set(used))
        assert set(used) <= set(its)
        whole_table = records.findings["code"].eq("R3-column-missing") & records.findings["table"].eq(table)
        if not whole_table.any():
            assert set(its) - set(used) <= lines_left_out(records, table), table
            assert len(its) == len(used) + len(lines_left_out(records, table) - set(used))


def assert_every_reading_is_accounted_for(records):
    """Every measurement stands in a life, or a finding says why not: about itself or about its visit's odometer."""
    cut = lives.cut(records)
    m = records.measurements.merge(records.visits[["visit_id", "odometer_ok", "row"]], on="visit_id", suffixes=("", "_visit"))
    dimension = np.where(m["part"].eq("drum"), m["measure"].eq("diameter"), m["measure"].eq("thickness"))
    out = m[dimension & ~m["row"].isin(cut.readings["row"])]
    found = pd.concat([records.findings, cut.findings])
    about = found[found["table"].eq("measurements") & found["code"].isin(("R33-several-readings", "R34-bound", "R41-reading-misfit", "R42-sides-swapped"))]
    odometers = lines_left_out(records, "visits")
    explained = out["row"].isin(about["row"]) | (~out["odometer_ok"] & out["row_visit"].isin(odometers))
    assert out[~explained]["row"].tolist() == []


# --- nothing lost


JUNK = [
    "", " ", "x", "-5", "0", "99", "1e9", "1e400", "nan", "inf", "<2", ">=", "7/32", "12,5", "2023-02-30", "03/04/2024", "1850-01-01",
    "9999-12-31", "=1+1", "ü", "front", "left", "W1", "V-1", "mi", "in", "a\nb", '"', "a;b", "\u200b", "T" * 300, "a,b,c,d,e,f,g,h,i,j,k",
]  # fmt: skip
MADE = fleet(vehicles=5, years=2.0, seed=3, log_every_days=60).tables


@given(
    cells=st.lists(st.tuples(st.sampled_from(TABLES), st.integers(0, 10_000), st.integers(0, 20), st.sampled_from(JUNK)), max_size=25),
    again=st.lists(st.tuples(st.sampled_from(TABLES), st.integers(0, 10_000)), max_size=6),
    gone=st.lists(st.tuples(st.sampled_from(TABLES), st.integers(0, 10_000)), max_size=6),
)
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_rows_in_are_rows_used_and_rows_left_out(tmp_path_factory, cells, again, gone):
    """A made fleet with cells spoilt, rows doubled and rows taken out."""
    tables = {name: table.astype(object).astype("str").where(table.notna(), "") for name, table in MADE.items()}
    for name, row, column, junk in cells:
        tables[name].iloc[row % len(tables[name]), column % tables[name].shape[1]] = junk
    for name, row in again:
        tables[name] = pd.concat([tables[name], tables[name].iloc[[row % len(tables[name])]]], ignore_index=True)
    for name, row in gone:
        tables[name] = tables[name].drop(index=tables[name].index[row % len(tables[name])]).reset_index(drop=True)
    folder = tmp_path_factory.mktemp("dirty")
    lines = {}
    for name, table in tables.items():
        table.to_csv(folder / f"{name}.csv", index=False)
        breaks = table.apply(lambda row: sum(str(cell).count("\n") for cell in row), axis=1)
        written = table.apply(lambda row: any(str(cell).strip() for cell in row), axis=1)
        first = 2 + np.arange(len(table)) + breaks.cumsum().shift(1, fill_value=0)
        lines[name] = first[written].astype(int).tolist()
    records = brakedata.load(folder)
    assert_nothing_lost(records, lines)
    if len(records.visits):
        assert_every_reading_is_accounted_for(records)


def test_the_frames_say_on_which_line_each_row_stands(tmp_path):
    records = load(tmp_path)
    for table, text in texts().items():
        written = text.splitlines()
        key = list(RECORD_TABLES[table])[0].name
        for _, row in getattr(records, table).iterrows():
            assert written[row["row"] - 1].split(",")[0] == row[key]


# --- one fleet, many forms


def plain(records):
    """The tables without lines and without what was written, and the findings without lines, in one order."""
    out = {}
    for name in TABLES:
        frame = getattr(records, name)
        out[name] = frame[[c for c in frame.columns if c not in ("row", "unit", "odometer_unit") and not c.endswith("_written")]]
    found = records.findings.drop(columns="row")
    found["value"] = found["value"].str.replace(r"\.0(?= |$)", "", regex=True)
    found["reading"] = found["reading"].str.replace(r"\d+$", "", regex=True)
    return out, found.sort_values(list(found.columns), ignore_index=True)


@pytest.fixture(scope="module")
def dirty_fleet():
    """A made fleet with slips, repeated rows, impossible readings, unknown visits and empty cells."""
    tables = fleet(vehicles=40, seed=12, slip_share=0.03, log_every_days=45).tables
    m = tables["measurements"].copy()
    m.loc[[5, 50], "value"] = [44.0, -1.0]
    m.loc[[7, 70], "visit_id"] = "W99999"
    m.loc[[9, 90], "part"] = "brick"
    m.loc[[11], "value"] = np.nan
    tables["measurements"] = pd.concat([m, m.iloc[[3, 33]]], ignore_index=True)
    tables["visits"] = pd.concat([tables["visits"], tables["visits"].iloc[[8]]], ignore_index=True)
    return tables


@pytest.fixture(scope="module")
def as_csv(dirty_fleet, tmp_path_factory):
    return brakedata.load(write_fleet(dirty_fleet, tmp_path_factory.mktemp("csv")))


@pytest.mark.parametrize("form", ["csv", "parquet", "xlsx"])
def test_the_same_fleet_shuffled_in_any_form_is_the_same_records(form, dirty_fleet, as_csv, tmp_path):
    again = brakedata.load(write_fleet(dirty_fleet, tmp_path, form=form, shuffle_seed=5))
    (tables, found), (others, other_found) = plain(as_csv), plain(again)
    assert len(found) > 10
    for name in TABLES:
        pd.testing.assert_frame_equal(tables[name], others[name])
    pd.testing.assert_frame_equal(found, other_found)


@pytest.mark.parametrize("thickness", ["32nds", "in"])
def test_the_same_fleet_in_miles_and_inches_is_the_same_records(thickness, dirty_fleet, as_csv, tmp_path):
    """To the ten digits that were written."""
    again = brakedata.load(write_fleet(dirty_fleet, tmp_path, distance_unit="mi", thickness_unit=thickness))
    for name, columns in {
        "visits": ["odometer_km", "clock_km", "odometer_ok"], "measurements": ["value_mm"], "limits": ["new_mm", "discard_at_mm"],
        "vehicles": ["in_service_odometer_km", "in_service_ok"], "odometer_log": ["odometer_km", "odometer_ok"],
    }.items():  # fmt: skip
        pd.testing.assert_frame_equal(getattr(as_csv, name)[columns], getattr(again, name)[columns], rtol=1e-8)
    assert as_csv.findings["code"].value_counts().to_dict() == again.findings["code"].value_counts().to_dict()


def test_units_may_differ_from_row_to_row_and_the_folder_has_its_own(tmp_path):
    """Worked by hand: 5,000 mi = 8,046.72 km; 0.4375 in = 14/32 in = 11.1125 mm; the folder's own are miles and 32nds."""
    lines = {("visits", 2): "a1,A,2023-04-11,5000,,,", ("visits", 3): "a2,A,2023-07-20,16000,km,,"}
    lines |= {("measurements", 2): "a1,front,left,inner_pad,thickness,14,,", ("measurements", 3): "a1,front,left,outer_pad,thickness,0.4375,in,"}
    folder = write(tmp_path, planted(lines))
    (folder / "records.toml").write_text('# ours\n[units]\ndistance = "Miles"\nthickness = "1/32 in"\n', encoding="utf-8-sig")
    records = brakedata.load(folder)
    assert records.settings == Settings("mi", "32nds", {})
    assert records.visits.loc[records.visits["visit_id"].isin(("a1", "a2")), "odometer_km"].tolist() == [8046.72, 16000.0]
    first = records.measurements[records.measurements["row"].isin((2, 3))]
    assert first["value_mm"].tolist() == pytest.approx([11.1125, 11.1125], rel=1e-14)
    assert first["unit"].tolist() == ["32nds", "in"] and first["value_written"].tolist() == ["14", "0.4375"]


@pytest.mark.parametrize(
    ("written", "low", "high"),
    [("<2", None, 2.0), ("<= 2", None, 2.0), ("≤2.0", None, 2.0), (">10", 10.0, None), ("≥ 10", 10.0, None)],
)
def test_a_bound_is_a_bound_and_no_number(written, low, high, tmp_path):
    line = line_of("a6", 0)
    records = load(tmp_path, {("measurements", line): f"a6,front,left,inner_pad,thickness,{written},mm,before"})
    row = records.measurements.set_index("row").loc[line]
    assert pd.isna(row["value_mm"])
    assert [None if pd.isna(row[name]) else row[name] for name in ("low_mm", "high_mm")] == [low, high]
    assert line not in set(lives.cut(records).readings["row"])


@pytest.mark.parametrize("written", ["<", "<x", "thin"])
def test_what_is_neither_number_nor_bound_is_left_out(written, tmp_path):
    line = line_of("a6", 0)
    records = load(tmp_path, {("measurements", line): f"a6,front,left,inner_pad,thickness,{written},mm,before"})
    assert records.findings[["code", "row"]].to_numpy().tolist() == [["R8-not-a-number", line]]


# --- folders


def test_a_folder_with_spaces_and_umlauts_and_a_lock_file_beside_the_workbook(tmp_path):
    folder = tmp_path / "Bremsen – Übersicht (neu)"
    write_fleet(fleet(vehicles=3, years=1.5, seed=1).tables, folder, form="xlsx")
    (folder / "~$records.xlsx").write_bytes(b"locked")
    assert len(brakedata.load(folder).vehicles) == 3
    assert len(brakedata.load(str(folder / "records.xlsx")).vehicles) == 3


def test_file_names_may_be_written_in_capitals_and_sheets_with_spaces(tmp_path):
    write(tmp_path, texts())
    (tmp_path / "vehicles.csv").rename(tmp_path / "VEHICLES.CSV")
    assert len(brakedata.load(tmp_path).vehicles) == 2
    with pd.ExcelWriter(tmp_path / "book.xlsx") as book:
        for name in texts():
            pd.read_csv(next(tmp_path.glob(f"[{name[0]}{name[0].upper()}]{name[1:]}.csv"), tmp_path / "VEHICLES.CSV")).to_excel(
                book, sheet_name=f" {name.replace('_', ' ').title()}", index=False
            )
    records = brakedata.load(tmp_path / "book.xlsx")
    assert len(records.findings) == 0 and len(records.odometer_log) == 6


def _no_folder(folder):
    return folder / "none"


def _empty(folder):
    folder.mkdir()
    return folder


def _a_file(folder):
    folder.mkdir()
    (folder / "notes.txt").write_text("hello")
    return folder / "notes.txt"


def _two_books(folder):
    folder.mkdir()
    for name in ("one.xlsx", "two.xlsx"):
        (folder / name).write_bytes(b"")
    return folder


def _broken_book(folder):
    folder.mkdir()
    (folder / "one.xlsx").write_bytes(b"PK nothing")
    return folder


def _book_without_tables(folder):
    folder.mkdir()
    pd.DataFrame({"a": [1]}).to_excel(folder / "one.xlsx", sheet_name="Sheet1")
    return folder


def _without(table):
    return lambda folder: write(folder, {**texts(), table: None})


def _without_column(table, column):
    return lambda folder: write(folder, {**texts(), table: texts()[table].replace(column, "x", 1)})


def _with(**tables):
    return lambda folder: write(folder, {**texts(), **tables})


def _broken_parquet(folder):
    write(folder, {**texts(), "visits": None})
    (folder / "visits.parquet").write_bytes(b"PAR1 nothing")
    return folder


def _settings(text):
    def make(folder):
        write(folder, texts())
        (folder / "records.toml").write_bytes(text)
        return folder

    return make


REFUSED = {
    "no such folder": (_no_folder, r"^\S*none does not exist: give the folder or workbook that holds the records\.$"),
    "an empty folder": (_empty, r"^here holds no table: put vehicles\.csv, visits\.csv and measurements\.csv"),
    "a file that is no workbook": (_a_file, r"^notes\.txt: no row of it could be used: brakedata check says what each column was taken for"),
    "two workbooks": (_two_books, r"^here holds no table: give the folder or file that holds the records\.$"),
    "a broken workbook": (_broken_book, r"^one\.xlsx is not a readable workbook: open it and save it again as \.xlsx\.$"),
    "a workbook of other sheets": (_book_without_tables, r"^here: no row of it could be used: brakedata check says what each column was taken for"),
    "no vehicles": (_without("vehicles"), r"^here: no table named vehicles found: each table is a file \(for instance vehicles\.csv\)"),
    "no visits": (_without("visits"), r"^here: no table named visits found"),
    "no measurements": (_without("measurements"), r"^here: no table named measurements found"),
    "a needed column": (_without_column("visits", "odometer"), r"^visits: the column odometer is missing: add it, or name yours so in the header\.$"),
    "an empty file": (_with(measurements=""), r"^measurements: the column visit_id and the column axle and the column part "),
    "noise": (_with(visits=bytes(range(256)) * 9), r"^visits\.csv is not a text table: "),
    "a broken Parquet file": (_broken_parquet, r"^visits\.parquet is not a readable Parquet file: export it again\.$"),
    "settings that are no TOML": (_settings(b"units = ["), r"^records\.toml could not be read \(.+\): correct that line or delete the file\.$"),
    "settings that are no text": (_settings(b"\xff\xfe\x00"), r"^records\.toml could not be read \("),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSED)
def test_where_nothing_can_be_done_one_sentence_says_why(case, tmp_path):
    make, sentence = REFUSED[case]
    with pytest.raises(RecordsError, match=sentence) as told:
        brakedata.load(make(tmp_path / "here"))
    assert "\n" not in str(told.value).strip()


@pytest.mark.parametrize("table", TABLES)
def test_a_header_alone_is_an_empty_table(table, tmp_path):
    records = load(tmp_path, **{table: texts()[table].splitlines()[0] + "\n"})
    assert len(getattr(records, table)) == 0
    if table not in ("vehicles", "visits"):
        assert len(records.findings) == 0
        assert len(lives.cut(records).axles) == 4


def test_without_a_dated_visit_there_is_no_newest_date(tmp_path):
    records = load(tmp_path, visits="visit_id,vehicle_id,date,odometer\n", odometer_log=None)
    with pytest.raises(RecordsError, match="no dated visit could be used: see what brakedata check says of it"):
        lives.cut(records)


# --- a person's answers


def test_an_answer_is_remembered_and_everything_else_in_the_file_stays(tmp_path):
    folder = write(tmp_path / "here", texts())
    file = folder / "records.toml"
    file.write_text('# our shop, do not touch\n[units]\ndistance = "km"  # on the dash\n\n[labels]\nours = "yes"\n', encoding="utf-8")
    assert answer_pad_change(folder, "a2", "front", "both", True) == file
    assert answer_pad_change(folder, "b4", "rear", "left", False) == file
    assert read_settings(folder)[0].pad_changes == {("a2", "front", "both"): True, ("b4", "rear", "left"): False}
    answer_pad_change(folder, "a2", "front", "both", False)
    assert read_settings(folder)[0].pad_changes == {("a2", "front", "both"): False, ("b4", "rear", "left"): False}
    text = file.read_text(encoding="utf-8")
    for kept in ("# our shop, do not touch", 'distance = "km"  # on the dash', '[labels]\nours = "yes"'):
        assert kept in text
    assert text.count("[[pad_change]]") == 2
    assert sorted(path.name for path in folder.iterdir()) == sorted([f"{name}.csv" for name in texts()] + ["records.toml"])


def test_an_answer_beside_a_workbook_and_in_a_file_that_did_not_exist(tmp_path):
    (tmp_path / "book.xlsx").write_bytes(b"")
    file = answer_pad_change(tmp_path / "book.xlsx", "Ü 1", "1", "both", True)
    assert file == tmp_path / "records.toml"
    assert read_settings(tmp_path)[0].pad_changes == {("Ü 1", "1", "both"): True}


def test_an_answer_that_cannot_be_written_says_so_and_keeps_the_file(tmp_path):
    file = tmp_path / "records.toml"
    file.write_text("units = [", encoding="utf-8")
    with pytest.raises(RecordsError, match=r"^the answer could not be written to records\.toml \(.+\): correct or close that file"):
        answer_pad_change(tmp_path, "a2", "front", "both", True)
    assert file.read_text(encoding="utf-8") == "units = ["
    file.write_text("pad_change = 3\n", encoding="utf-8")
    with pytest.raises(RecordsError, match=r"^the answer could not be written"):
        answer_pad_change(tmp_path, "a2", "front", "both", True)


def test_loading_changes_no_file(tmp_path):
    folder = write(tmp_path, texts())
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    lives.cut(brakedata.load(folder))
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
