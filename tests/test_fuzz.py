"""Anything at all as input: the readers never raise, and keep their promises about what they return.

No truth from outside is needed: the promises are in the docstrings. What fuzzing found is kept in ``test_hostile.py``.
"""

import csv
import io
import math
import random
import re
import struct
import zipfile

import folders
import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from brakedata import cells, checks, cli, codes, findings, guards, symptoms, tablefiles
from brakedata.findings import RecordsError

FIELDS = ("pad_thickness", "position", "odometer", "date")
STATUSES = {"ok", "ok_assumed", "flag", "ask", "refuse"}
pieces = st.sampled_from(
    ["7", "32", "5/32", "1,5", "12.5", "mm", "in", '"', "%", "LF", "RR", "inner", "axle 2", "mi", "km", "k", "62,4OO", "2024-02-30", "03/04/24",
     "45321", "1e400", "nan", "-", "<", ">=", "OK", "metal to metal", "n/a", "٣", "７", "½", "\u202e", "\u200f", "\ufeff", "\0", "\n", "\t", " ",
     "=1+1", "à", "🛞", "½ in", "new", "1932-07-07", "9" * 40, "0.0000001", "II", "hours", "~", "approx"]
)  # fmt: skip
any_cell = st.one_of(st.text(max_size=12), st.lists(pieces, max_size=5).map("".join), st.lists(pieces, max_size=4).map(" ".join))
columns = st.lists(any_cell, min_size=1, max_size=6)
hints = st.fixed_dictionaries(
    {},
    optional={
        "unit": st.sampled_from(["mm", "in", "in32", "km", "mi", "h", "x", None]), "country": st.sampled_from(["US", "GB", "JP", "", "ZZ"]),
        "decimal": st.sampled_from([".", ","]), "source": st.sampled_from(["csv", "xlsx", "text"]), "as_of": st.sampled_from(["2024-06-30", ""]),
        "cell_type": st.sampled_from(["text", "number", "date"]), "date_system": st.just("1904"), "new_thickness_mm": st.sampled_from([12.0, 11]),
        "words": st.just({"OK": ">=5 mm"}), "previous": st.just([1000, 2000.0]), "driver_side": st.sampled_from(["left", "right"]),
    },
)  # fmt: skip
headers = st.one_of(st.just(""), st.sampled_from(["LF (mm)", "Front", "Odo mi", "Date", "Reading 32nds", "%"]), st.text(max_size=10))
BOUNDS = {"pad_thickness": (0.0, 60.0), "odometer": (0.0, 4_000_000.0)}
"""mm and km: twice the thickest lining of ``checks.LINING_RANGE_MM``, and ``checks.MOST_ODOMETER_KM``."""


def numbers(value):
    """Every number in a reading's value."""
    if isinstance(value, bool) or value is None or isinstance(value, str):
        return []
    if isinstance(value, int | float):
        return [value]
    return [number for part in (value.values() if isinstance(value, dict) else value) for number in numbers(part)]


@pytest.mark.parametrize("field", FIELDS)
@given(column=columns, header=headers, said=hints)
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@example(column=["\0"], header="", said={})
@example(column=["9" * 400], header="mm", said={"unit": "mm"})
@example(column=["1e308 mm", "1e-320 in"], header="", said={})
def test_a_cell_reader_reads_anything(field, column, header, said):
    readings = cells.read(field, column, header, said)
    assert len(readings) == len(column)
    for reading in readings:
        assert reading.status in STATUSES
        assert all(math.isfinite(number) for number in numbers(reading.value))
        if reading.status in ("ask", "refuse"):
            assert reading.value is None
        if reading.status in ("ok", "ok_assumed"):
            assert reading.value is not None
            if field in BOUNDS:
                low, high = BOUNDS[field]
                assert all(low <= number <= high for number in numbers(reading.value)), reading
            if field == "date" and isinstance(reading.value, str):
                assert re.fullmatch(r"\d{4}-\d\d-\d\d", reading.value) and not pd.isna(pd.Timestamp(reading.value))


def answer(reading):
    return reading.status, repr(reading.value), reading.unit


@pytest.mark.parametrize("field", ["pad_thickness", "position"])
@given(column=columns, header=headers, said=hints, seed=st.integers(0, 99))
@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_the_order_of_a_column_does_not_matter(field, column, header, said, seed):
    """Thickness and position; an odometer or a date is read with its neighbours in the column."""
    turned = list(range(len(column)))
    random.Random(seed).shuffle(turned)
    straight = [answer(reading) for reading in cells.read(field, column, header, said)]
    shuffled = [answer(reading) for reading in cells.read(field, [column[at] for at in turned], header, said)]
    assert shuffled == [straight[at] for at in turned]


@given(st.lists(st.floats(0.5, 20).map(lambda mm: round(mm, 1)), min_size=1, max_size=6))
@settings(max_examples=60, deadline=None)
def test_a_plain_thickness_is_read_as_itself(values):
    readings = cells.read("pad_thickness", [f"{mm} mm" for mm in values])
    assert [reading.value for reading in readings] == pytest.approx(values)
    again = cells.read("pad_thickness", [f"{reading.value} mm" for reading in readings])
    assert [reading.value for reading in again] == [reading.value for reading in readings]


@given(st.lists(st.dates(pd.Timestamp("2001-01-01").date(), pd.Timestamp("2024-12-31").date()), min_size=1, max_size=6))
@settings(max_examples=60, deadline=None)
def test_a_plain_date_is_read_as_itself(days):
    readings = cells.read("date", [day.isoformat() for day in days], "Date", {"as_of": "2025-06-30"})
    assert [reading.value for reading in readings if reading.taken] == [
        day.isoformat() for day, reading in zip(days, readings, strict=True) if reading.taken
    ]


@given(any_cell | st.text(max_size=200))
@settings(max_examples=200, deadline=None)
def test_a_complaint_may_be_anything(text):
    first, again = symptoms.read(text), symptoms.read(text)
    assert repr(first) == repr(again)


# --- files


def one_sentence(problem: RecordsError):
    assert "\n" not in str(problem) and str(problem).endswith(".") and len(str(problem)) < 600


@given(st.binary(max_size=300) | st.lists(pieces, max_size=40).map(lambda parts: "".join(parts).encode("utf-8", "surrogatepass")))
@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_bytes_are_a_table_or_a_sentence(tmp_path, data):
    for ending, read in ((".csv", tablefiles.read_csv), (".parquet", tablefiles.read_parquet)):
        file = tmp_path / f"work{ending}"
        file.write_bytes(data)
        try:
            frame, _ = read(file, "work")
        except RecordsError as problem:
            one_sentence(problem)
        else:
            assert "row" in frame and (frame["row"] >= 2).all() and frame["row"].is_monotonic_increasing
    for check in (lambda: guards.zip_members(data, "x.zip"), lambda: tablefiles.open_book(data, "x.xlsx"), lambda: guards.kind_of(data)):
        try:
            check()
        except RecordsError as problem:
            one_sentence(problem)


words = st.sampled_from(["a", '"a"', '"a,b"', '""', '"a""b"', " ", "", "é", "\ufeff", "\u2028x", ' "a"', 'a"', '"a"b', "x;y", "\x0b"])


@given(st.lists(st.tuples(words, words).map(",".join), min_size=1, max_size=6), st.sampled_from(["\n", "\r\n"]), st.booleans())
@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_the_quick_way_reads_what_the_slow_way_reads(lines, end, ended):
    """Truth: the path that was there before the quick one."""
    data = ("h1,h2\n" + end.join(lines) + (end if ended else "")).encode()
    quick = tablefiles._plain(data)
    if quick is None:
        return
    frame, found = tablefiles._named(quick[1], quick[0], 2 + np.arange(len(quick[1])), "work", [])
    text, slow_found = tablefiles.text_of(data, "x", "work")
    slow, slow_found = tablefiles.read_text(text, "x", "work", slow_found)
    assert found == slow_found == []
    assert frame.astype("object").to_numpy().tolist() == slow.astype("object").to_numpy().tolist()


def spoilt(data: bytes, how: random.Random) -> bytes:
    """A file with a few bytes flipped, cut, doubled or put in."""
    data = bytearray(data)
    for _ in range(how.randint(1, 6)):
        at, kind = how.randrange(len(data) + 1), how.randrange(5)
        if kind == 0 and data:
            data[min(at, len(data) - 1)] = how.randrange(256)
        elif kind == 1:
            del data[at : at + how.randint(1, 30)]
        elif kind == 2:
            data[at:at] = data[at : at + how.randint(1, 60)]
        elif kind == 3:
            data[at:at] = how.choice([b'"', b",", b"\n", b"\0", b"\r", b";", b"\xff\xfe", "٣".encode(), "\u202e".encode(), b"1e999", b"-", b"NaN", b"inf"])
        else:
            data = data[: max(at, 1)]
    return bytes(data)


def book() -> bytes:
    from test_hostile import cell, xlsx

    return xlsx("".join(f'<row r="{n}">{cell(f"A{n}", f"W{n}")}{cell(f"B{n}", "x")}</row>' for n in range(2, 20)))


@given(st.integers(0, 10**9))
@settings(max_examples=120, deadline=None)
def test_a_damaged_workbook_is_a_table_or_a_sentence(seed):
    """Packed anew after spoiling a part, so that the damage reaches the reader; and spoilt as a file."""
    how = random.Random(seed)
    whole = book()
    with zipfile.ZipFile(io.BytesIO(whole)) as packed:
        parts = {name: packed.read(name) for name in packed.namelist()}
    name = how.choice(list(parts))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        for part, data in parts.items():
            packed.writestr(part, spoilt(data, how) if part == name else data)
    for data in (out.getvalue(), spoilt(whole, how)):
        try:
            opened = tablefiles.open_book(data, "x.xlsx")
            for sheet in opened.sheet_names:
                tablefiles.read_sheet(opened, sheet, "work")
        except RecordsError as problem:
            one_sentence(problem)


@given(st.integers(0, 10**9))
@settings(max_examples=120, deadline=None)
def test_a_damaged_old_workbook_is_a_table_or_a_sentence(seed):
    from test_hostile import xls

    how = random.Random(seed)
    data = bytearray(xls([(n, n % 3, float(n)) for n in range(40)]))
    for _ in range(how.randint(1, 8)):
        at = how.randrange(0, 1800 if how.random() < 0.7 else len(data) - 4)
        data[at : at + 4] = struct.pack("<I", how.choice([0, 1, 2, 255, 65535, 2**31, 2**32 - 1, how.randrange(2**32)]))
    try:
        opened = tablefiles.open_book(bytes(data), "x.xls")
        for sheet in opened.sheet_names:
            tablefiles.read_sheet(opened, sheet, "work")
    except RecordsError as problem:
        one_sentence(problem)


# --- the quick ways of the checks

few = st.sampled_from(["", "a", "b", "ab", "é", "Z", " "])
rows = st.lists(
    st.tuples(few, few, st.sampled_from([1.0, 2.5, np.nan, -1]), st.integers(-3, 3), st.sampled_from(["2020-01-01", "2020-01-02", "1960-05-05"])),
    max_size=12,
)  # fmt: skip


@given(rows, st.permutations(list("abcde")), st.integers(1, 5), st.sampled_from([2, 50_000]))
@settings(max_examples=150, deadline=None)
def test_coded_columns_answer_as_texts_do(cells_of, order, n, most_ordered):
    """Truth: the same questions put to pandas about the plain texts."""
    plain = pd.DataFrame(cells_of, columns=list("abcde")).astype({"a": "str", "b": "str", "c": "float64", "d": "int64"})
    plain["e"] = pd.to_datetime(plain["e"]).astype("datetime64[s]")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(codes, "MOST_ORDERED", most_ordered)
        places = {name: pd.factorize(plain[name]) for name in "ab"}
        coded = plain.assign(**{name: codes.from_places(place, pd.Series(texts, dtype="str")) for name, (place, texts) in places.items()})
    by = list(order)[:n]
    for frame in (plain, coded):
        assert codes.again(frame, by).tolist() == plain.duplicated(by).tolist()
        assert codes.order(frame, by).tolist() == plain.sort_values(by, kind="stable").index.tolist()
    pd.testing.assert_frame_equal(codes.plain(coded), plain)
    pd.testing.assert_frame_equal(codes.plain(codes.kept(plain)), plain)
    for kept in (plain["a"], coded["a"]):
        assert codes.mapped(kept, len).tolist() == plain["a"].map(len).tolist()
        assert codes.text(codes.mapped(kept, str.upper)).tolist() == plain["a"].map(str.upper).tolist()
    pd.testing.assert_series_equal(codes.text(codes.instead(coded["a"], "", "new")), plain["a"].replace("", "new"), check_names=False)
    where = pd.Index(plain["a"].drop_duplicates()).get_indexer(plain["b"]).tolist()
    for known in (plain["a"].drop_duplicates(), coded["a"].drop_duplicates()):
        for asked in (plain["b"], coded["b"]):
            assert codes.place(known.reset_index(drop=True), asked).tolist() == where


@given(st.integers(0, 10**9))
@settings(max_examples=150, deadline=None)
def test_a_lone_misfit_is_what_the_best_chain_finds(seed):
    """Truth: the longest chain, computed for every vehicle, as it was before lone misfits were set aside."""
    rng = np.random.default_rng(seed)
    vehicle, day, km = [], [], []
    for number in range(rng.integers(1, 6)):
        n = rng.integers(1, 40)
        days = np.cumsum(rng.integers(0, 30, n)).astype(float)
        its = 20_000 + np.cumsum(rng.integers(0, 80, n) * np.diff(days, prepend=0.0))
        its[rng.integers(0, n, rng.integers(0, 4))] += rng.choice([-1, 1]) * 10.0 ** rng.integers(2, 6)
        order = np.lexsort((its, days))
        vehicle, day, km = [*vehicle, *[number] * n], [*day, *days[order]], [*km, *its[order]]
    vehicle, day, km = np.array(vehicle), np.array(day), np.array(km)
    quick = checks.largest_consistent(vehicle, day, km)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(checks, "_lone_misfits", lambda *_: (np.array([], dtype=int), np.array([], dtype=int)))
        assert checks.largest_consistent(vehicle, day, km).tolist() == quick.tolist()


# --- whole folders through the command line

JUNK = ["", " ", "1e400", "-1e9", "nan", "inf", "٣٤", "７/32", "\u202e12", "\u200f", "9" * 400, "=1+1", "<", ">=", "2024-13-45", "0001-01-01", "9999-12-31", "\0", "'", "a,b", "12.5.2"]


def mutated(how: random.Random) -> dict[str, bytes]:
    """The small folder with columns dropped, doubled or renamed, cells spoilt, bytes flipped."""
    out = {}
    for name, text in folders.texts().items():
        rows = list(csv.reader(text.splitlines()))
        kind = how.randrange(7)
        column = how.randrange(len(rows[0]))
        if kind == 0:
            rows = [[cell for at, cell in enumerate(row) if at != column] for row in rows]
        elif kind == 1:
            rows = [[*row, row[column]] for row in rows]
        elif kind == 2:
            rows[0][column] = how.choice(["", "row", "usable", "code", "vehicle_id", "value_mm", " Date ", "\u202e"])
        elif kind < 6:
            for _ in range(how.randint(1, 8)):
                rows[how.randrange(1, len(rows))][how.randrange(len(rows[0]))] = how.choice(JUNK)
        out_text = io.StringIO()
        csv.writer(out_text, lineterminator=how.choice(["\n", "\r\n"])).writerows(rows)
        data = out_text.getvalue().encode(how.choice(["utf-8", "utf-8-sig", "utf-16"]) if how.random() < 0.2 else "utf-8", "replace")
        out[name] = spoilt(data, how) if kind == 6 or how.random() < 0.1 else data
        if how.random() < 0.03:
            out[name] = None
    return out


@given(st.integers(0, 10**9))
@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_a_spoilt_folder_is_checked_or_refused_in_a_sentence(tmp_path_factory, seed):
    how = random.Random(seed)
    folder = folders.write(tmp_path_factory.mktemp("spoilt"), mutated(how))
    result = CliRunner().invoke(cli.main, ["check", str(folder)])
    assert result.exit_code in (0, 1, 2), result.output
    assert "Traceback" not in result.output and "went wrong inside" not in result.output, result.output[-1500:]
    assert isinstance(result.exception, SystemExit | None)
    if result.exit_code == 2:
        last = result.output.strip().splitlines()[-1]
        assert last.startswith("brakedata: ") and last.endswith(".")


def test_findings_of_any_text_are_one_line():
    for text in ("\n\r\x1b[0m", "\u202e" * 500, "a" * 10_000):
        said = findings.sentence(findings.make("R8-not-a-number", "visits", row=1, column="odometer", value=text).iloc[0])
        assert "\n" not in said and len(said) < 400
