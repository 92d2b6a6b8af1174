"""Vehicle identification numbers.

Sources: 49 CFR 565.15(c) with its tables III to V, whose worked example is 1G4AH59H_5G118341 (read, recomputed); the other test
numbers and their sums by hand, as in the table of the project's reference notes (secondary sources, recomputed); model years by
49 CFR 565.15(b), 565.25(b) and table VII (value from memory). All other numbers are invented.
"""

import re

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from folders import load, planted, write
from hypothesis import given, settings
from hypothesis import strategies as st

from brakedata import findings, vins
from brakedata.cli import main
from brakedata.panels import desk

EXAMPLE = "1G4AH59H45G118341"
LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ0123456789"


def column(*texts):
    return pd.Series(texts, dtype="str")


def judged(*texts):
    return vins.judge(column(*texts))


# --- the published cases


@pytest.mark.parametrize(
    ("vin", "digit", "problem"),
    [
        ("1G4AH59H45G118341", "4", ""),  # sum 411
        ("1G4AH59H45G118314", "1", "check digit"),  # sum 408
        ("1FACP45EXLF192944", "X", ""),  # sum 373
        ("1M8GDM9AXKP042788", "X", ""),  # sum 351
        ("11111111111111111", "1", "placeholder"),  # sum 89: right, and nobody's
    ],
)
def test_published_numbers(vin, digit, problem):
    row = judged(vin).iloc[0]
    assert (row["digit"], row["problem"]) == (digit, problem)


def test_the_worked_example_with_its_check_digit_still_open():
    assert vins.check_digit(column("1G4AH59H_5G118341")).tolist() == ["4"]


def test_a_made_number_by_hand():
    """5YJSA1 0 0 at the rest zero: 5*8 + Y8*7 + J1*6 + S2*5 + A1*4 + 1*3 = 40+56+6+10+4+3 = 119; 119 mod 11 = 9."""
    assert vins.check_digit(column("5YJSA1" + "0" * 11)).tolist() == ["9"]


@pytest.mark.parametrize(
    ("code", "seventh", "year"),
    [("A", "1", 1980), ("A", "B", 2010), ("H", "1", 1987), ("J", "1", 1988), ("T", "4", 1996), ("V", "4", 1997), ("Y", "9", 2000),
     ("1", "0", 2001), ("9", "0", 2009), ("9", "F", 2039), ("L", "F", 2020), ("R", "F", 2024)],
)  # fmt: skip
def test_model_year_by_the_tenth_and_the_seventh_character(code, seventh, year):
    vin = complete(f"1G4AH5{seventh}H_{code}G118341")
    assert vins.model_year(column(vin)).tolist() == [year]


def test_a_model_year_after_the_vehicle_joined_is_that_of_the_cycle_before():
    heavy = complete("1M8GDMAA_KP042788")  # a letter at the seventh place, which heavy vehicles are free to use: 1989 or 2019
    assert vins.model_year(column(heavy, heavy, heavy), [np.nan, 2018, 1990]).tolist() == [2019, 2019, 1989]
    assert np.isnan(vins.model_year(column(heavy), [1975])[0])


def test_no_model_year_is_told_of_a_number_that_need_not_hold_one():
    assert np.isnan(vins.model_year(column("WDB9066331S123456", "1G4AH59H45G118314", "short", ""))).all()


def complete(vin):
    """The number with its check digit in place of ``_``, by the arithmetic of table III and IV written out again."""
    value = dict(zip("ABCDEFGHJKLMNPRSTUVWXYZ_", [*range(1, 9), 1, 2, 3, 4, 5, 7, 9, *range(2, 10), 0], strict=True))
    weights = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2]
    total = sum(weight * int(value.get(c, c)) for c, weight in zip(vin, weights, strict=True))
    return vin.replace("_", "0123456789X"[total % 11])


# --- forms and slips


@pytest.mark.parametrize("written", ["1g4ah59h45g118341", " 1G4 AH59H 45G 118341 ", "VIN: 1G4-AH59H-45G118341", "*1G4AH59H45G118341*",
                                     "１G4AH59H45G118341"])  # fmt: skip
def test_ways_of_writing_one_number(written):
    assert vins.normalised(column(written)).tolist() == [EXAMPLE]
    assert judged(written)["problem"].tolist() == [""]


@pytest.mark.parametrize(
    ("written", "problem"),
    [("", ""), ("1G4AH59H45G11834", "length"), ("1G4AH59H45G1183411", "length"), ("1G4AH59H45G11834!", "characters"),
     ("1G4AH59H45G1I8341", "characters"), ("WDB9066331S123456", "no check digit"), ("G118341", "length"), ("ÄG4AH59H45G118341", "characters")],
)  # fmt: skip
def test_what_is_wrong_with_a_number(written, problem):
    assert judged(written)["problem"].tolist() == [problem]


@pytest.mark.parametrize("written", ["1G4AH59H45G1I834I", "IG4AH59H45GII834I", "1g4ah59h45gi18341"])
def test_a_forbidden_letter_is_read_as_the_digit_it_looks_like(written):
    assert judged(written)["suggestion"].tolist() == [EXAMPLE]


@pytest.mark.parametrize("written", ["1G4AH59H45G118314", "1G4AHS9H45G118341", "G14AH59H45G118341", "1G4AH59H45GI18314"])
def test_one_slip_is_among_the_few_suggestions(written):
    """Two neighbours swapped, or S for 5; a check digit agrees by chance once in eleven, so there may be others."""
    suggested = judged(written)["suggestion"][0].split(" or ")
    if written.startswith("G"):  # not North American as written: no check digit to go by
        assert suggested == [""]
    else:
        assert EXAMPLE in suggested and len(suggested) <= vins.MOST_SUGGESTED
        assert all(judged(text)["problem"][0] == "" for text in suggested)


def test_nothing_is_suggested_where_a_right_number_stands():
    assert judged(EXAMPLE, "1FACP45EXLF192944", "")["suggestion"].tolist() == ["", "", ""]


def random_vins(n, seed=1):
    rng = np.random.default_rng(seed)
    body = ["1" + "".join(rng.choice(list(LETTERS), 7)) + "_" + rng.choice(list(vins.YEAR_CODES)) for _ in range(n)]
    return [complete(f"{text}{rng.choice(list(LETTERS))}{rng.integers(100_000, 1_000_000)}") for text in body]


def test_a_swapped_pair_is_noticed_nearly_always_and_often_explained():
    """Weights of neighbours differ by 1 or 2, but by 10 at the eighth and ninth place and 9 at the next: of 300 swaps of unlike
    characters only those of equal value go unnoticed (a letter and the digit it is worth, 3 of 33 others)."""
    rng, noticed, explained = np.random.default_rng(2), 0, 0
    right = random_vins(300)
    wrong = []
    for vin in right:
        at = rng.choice([k for k in range(1, 16) if vin[k] != vin[k + 1]])
        wrong.append(vin[:at] + vin[at + 1] + vin[at] + vin[at + 2 :])
    out = judged(*wrong)
    noticed = out["problem"].eq("check digit").to_numpy()
    explained = np.array([vin in text.split(" or ") for vin, text in zip(right, out["suggestion"], strict=True)])
    assert noticed.mean() > 0.85
    assert explained[noticed].mean() > 0.5


# --- two vehicles, one number


def pairs(*texts):
    found = vins.pairs(judged(*texts))
    return list(found.itertuples(index=False, name=None))


def test_the_same_number_and_near_misses_are_linked():
    assert pairs(EXAMPLE, "1g4ah59h-45g118341") == [(0, 1, "the same VIN")]
    assert pairs(EXAMPLE, "1G4AH59H45G11834I") == [(0, 1, "O or Q for 0, I for 1")]
    assert pairs("1G4AH59H45G118314", EXAMPLE) == [(0, 1, "two neighbours swapped")]
    assert pairs(EXAMPLE, "1G4AH59H45G118344") == [(0, 1, "one character differs")]
    assert pairs("WDB9066331S123456", "WBD9066331S123456") == [(0, 1, "two neighbours swapped")]


def test_vehicles_bought_together_are_not_linked():
    """Neighbouring serial numbers with right check digits; and, from elsewhere, neighbouring and transposed serial numbers."""
    batch = [complete(f"1G4AH59H_5G11{n}") for n in range(8300, 8360)]
    assert pairs(*batch) == []
    assert pairs(*[f"WDB9066331S1234{n}" for n in range(10, 99)]) == []
    assert pairs("11111111111111111", "11111111111111111", "", "") == []


def test_findings_say_where_and_what(tmp_path):
    edits = {
        ("vehicles", 1): "vehicle_id,wear_class,duty,in_service_date,in_service_odometer,odometer_unit,retired_date,vin",
        ("vehicles", 2): f"A,van,urban,2023-01-02,20,km,,{EXAMPLE}",
        ("vehicles", 3): "B,van,urban,2023-01-02,30,km,,1G4AH59H45G118314",
    }
    found = load(tmp_path, edits).findings
    assert found["code"].tolist() == ["R81-vin-check-digit", "R83-vin-twice"]
    assert found["row"].tolist() == [3, 3] and found["vehicle_id"].tolist() == ["B", "B"]
    assert found["value"].tolist() == ["1G4AH59H45G118314"] * 2
    assert EXAMPLE in found["reading"][0] and found["reading"][1] == "two neighbours swapped: vehicle A on line 2"


def noticed(*texts):
    vehicles = pd.DataFrame({"vin": column(*texts), "vehicle_id": column(*[f"V{n}" for n in range(len(texts))])})
    return findings.join(vins.noticed(vehicles.assign(row=range(2, 2 + len(texts)))))


def test_a_wrong_check_digit_is_a_warning_elsewhere_said_once():
    found = noticed("WDB9066331S123456", "VF1MA000123456789", "")
    assert found["code"].tolist() == ["R82-vin-not-north-american"]
    assert found["severity"].tolist() == ["note"] and found["row"].isna().all()


def test_where_most_from_elsewhere_keep_check_digits_each_wrong_one_is_named():
    made_for_export = [complete(f"JTDBR32E_3{n}12345") for n in range(10, 19)]
    found = noticed(*made_for_export, "WDB9066331S123456")
    assert found[["code", "row"]].to_numpy().tolist() == [["R82-vin-not-north-american", 11]]


def test_a_fleet_that_writes_the_last_eight_is_told_once():
    found = noticed("5G118341", "5G118342", "5G118343", "", "5G11834")
    assert found["code"].tolist() == ["R80-vin-form"] * 2
    assert found["row"].fillna(0).tolist() == [6, 0]
    assert noticed("", "").empty


# --- masking

OFF, ON = "", "[vins]\nmask = true\n"


@settings(max_examples=40, deadline=None)
@given(st.text("".join(sorted(LETTERS)), min_size=17, max_size=17), st.sampled_from(["", " ", "-"]))
def test_a_masked_number_keeps_the_kind_of_vehicle_and_no_serial_number(vin, gap):
    written = gap.join([vin[:3], vin[3:9], vin[9:]]).lower()
    assert vins.masked(written) == vin[:8] + "*********"


@pytest.mark.parametrize("short", ["5G118341", "118341", "1G4AH59H45G11834", "1G4AH59H45G1183412"])
def test_a_number_of_another_length_is_hidden_whole(short):
    assert set(vins.masked(short)) == {"*"}


IDS = (EXAMPLE, "1FACP45EXLF192944")


def vin_folder(folder, toml):
    """The small folder with VINs for vehicle ids, odd VIN cells, and a VIN in words."""
    tables = planted({("vehicles", 1): "vehicle_id,wear_class,duty,in_service_date,in_service_odometer,odometer_unit,retired_date,vin"})
    tables["vehicles"] = tables["vehicles"].replace("A,van,urban,2023-01-02,20,km,", f"{IDS[0]},van,urban,2023-01-02,20,km,,{IDS[0]}")
    tables["vehicles"] = tables["vehicles"].replace("B,van,urban,2023-01-02,30,km,", f"{IDS[1]},van,urban,2023-01-02,30,km,,1FACP45EXLF19294")
    for name in ("visits", "odometer_log"):
        for short, vin in zip("AB", IDS, strict=True):
            tables[name] = re.sub(rf"(^|,){short},", rf"\g<1>{vin},", tables[name], flags=re.MULTILINE)
    tables["work"] += f"a6,front,both,pads,replaced,,,\na1,rear,both,hose,checked,,x{IDS[1]},of {IDS[1]} I think\n"
    write(folder, tables)
    (folder / "records.toml").write_text(toml, encoding="utf-8")
    return folder


def exported(folder, out):
    """Everything that leaves: the three commands to file and to screen, and a panel's download."""
    texts = []
    for command, end in (("check", ".xlsx"), ("check", ".csv"), ("schedule", ".html"), ("comebacks", ".csv")):
        run = CliRunner().invoke(main, [command, str(folder), "--out", str(out / f"{command}{end}")])
        assert run.exit_code in (0, 1), run.output
    for command in ("check", "schedule", "comebacks"):
        texts.append(CliRunner().invoke(main, [command, str(folder)]).stdout)
    judged_folder = desk.judge(str(folder), lambda text: None)
    desk.save(judged_folder.findings, judged_folder.records, "findings.csv")
    desk.hand_back(judged_folder.findings, judged_folder.records, "findings.xlsx")
    files = [*out.iterdir(), *(folder / "out").iterdir()]
    texts += [file.read_text("utf-8") for file in files if file.suffix in (".csv", ".html")]
    for file in files:
        if file.suffix == ".xlsx":
            sheets = pd.read_excel(file, sheet_name=None, dtype=str, header=None, engine="openpyxl").values()
            texts += ["\n".join(sheet.fillna("").to_numpy().ravel()) for sheet in sheets]
    return "\n".join(texts)


@pytest.fixture(scope="module")
def exports(tmp_path_factory):
    out = {}
    for toml in (OFF, ON):
        base = tmp_path_factory.mktemp("vins")
        (base / "exports").mkdir()
        out[toml] = exported(vin_folder(base / "r", toml), base / "exports")
    return out


def test_masked_records_export_no_whole_number_and_vehicles_stay_apart(exports):
    for vin in (*IDS, "1FACP45EXLF19294"):
        assert vin in exports[OFF] or vin.startswith("1FACP45EXLF19294")
        assert vin[8:] not in exports[ON] and vin[11:] not in exports[ON]
    assert "1G4AH59H*********-1" in exports[ON] and "1FACP45E*********-1" in exports[ON]


def test_ids_that_look_alike_when_masked_are_numbered(tmp_path):
    batch = [complete(f"1G4AH59H_5G11{n}") for n in (8350, 8345)]
    edits = {("vehicles", 2 + n): f"{vin},van,urban,2023-01-02,20,km," for n, vin in enumerate(batch)}
    (tmp_path / "records.toml").write_text(ON, encoding="utf-8")
    mask = vins.mask(load(tmp_path, edits))
    assert [mask.names[vin] for vin in batch] == ["1G4AH59H*********-1", "1G4AH59H*********-2"]
    assert mask.text(f"vehicle {batch[1]}: look") == "vehicle 1G4AH59H*********-2: look"


def test_a_serial_number_as_vehicle_id_is_hidden_where_the_vin_tells_it(tmp_path):
    edits = {
        ("vehicles", 1): "vehicle_id,wear_class,duty,in_service_date,in_service_odometer,odometer_unit,retired_date,vin",
        ("vehicles", 2): f"118341,van,urban,2023-01-02,20,km,,{EXAMPLE}", ("vehicles", 3): "118399,van,urban,2023-01-02,30,km,,",
    }  # fmt: skip
    (tmp_path / "records.toml").write_text(ON, encoding="utf-8")
    frame = pd.DataFrame({"vehicle_id": ["118341", "118399"], "n": [118341, 2]})
    assert vins.mask(load(tmp_path, edits)).frame(frame).to_numpy().tolist() == [["1G4AH59H*********-1", 118341], ["118399", 2]]


def test_a_setting_that_is_not_understood_hides(tmp_path):
    (tmp_path / "records.toml").write_text('[vins]\nmask = "please"\n', encoding="utf-8")
    records = load(tmp_path)
    assert vins.mask(records).on and records.findings["code"].tolist() == ["R15-setting-not-understood"]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.text(max_size=20), max_size=6))
def test_any_text_is_judged_without_failing(texts):
    out = judged(*texts) if texts else vins.judge(column())
    assert len(out) == len(texts)
    assert vins.pairs(out)["first"].lt(vins.pairs(out)["second"]).all()
    for text in texts:
        assert vins.masked(text).endswith("*")
