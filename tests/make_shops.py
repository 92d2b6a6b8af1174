"""Eight invented shops, each with its own way of writing brake readings down: what they know, and the files they keep.

``checks_of(shop, month)`` is the truth in plain numbers; ``python tests/make_shops.py`` writes the files of ``tests/data/shops``
anew (it needs odfpy, xlwt and openpyxl). The tests read the files and compare what comes of them with the truth.
"""

import datetime
import io
import sys
import zipfile
from dataclasses import dataclass, field
from pathlib import Path

FOLDER = Path(__file__).parent / "data" / "shops"
WHEELS = ("LF", "RF", "LR", "RR")
AXLE = {"F": "front", "R": "rear"}
SIDE = {"L": "left", "R": "right"}
NEW_MM = 12.0
"""What the shop that writes per cent calls a new lining."""


@dataclass
class Check:
    """One visit: odometer in the shop's unit, readings in its unit by (axle, side, part)."""

    vehicle: str
    date: datetime.date
    odometer: float
    readings: dict[tuple[str, str, str], float]
    complaint: str = ""
    work: tuple = ()
    extra: dict = field(default_factory=dict)


def _days(month: int, count: int, late: bool = True) -> list[datetime.date]:
    """``count`` days of a month of 2025, with days after the 12th when ``late``."""
    step = 27 / count if late else 11 / count
    return [datetime.date(2025, month, 1 + int(step * i)) for i in range(count)]


def _worn(start: float, per_visit: float, nth: int, step: float) -> float:
    """A thickness after ``nth`` visits, on the gauge's step."""
    return round(round((start - per_visit * nth) / step) * step, 6)


def _checks(vehicles, month, places, start, wear, step, first_odometer, per_month, late=True) -> list[Check]:
    days, out = _days(month, len(vehicles), late), []
    for at, (vehicle, day) in enumerate(zip(vehicles, days, strict=True)):
        odometer = first_odometer + 7_431 * at + per_month * (month - 1)
        readings = {place: _worn(start - 0.07 * start * (n % 3), wear, month + at % 2, step) for n, place in enumerate(places)}
        out.append(Check(vehicle, day, odometer, readings))
    return out


def _by_wheel(part):
    return [(AXLE[wheel[1]], SIDE[wheel[0]], part) for wheel in WHEELS]


PADS = [(AXLE[wheel[1]], SIDE[wheel[0]], face) for wheel in WHEELS for face in ("inner_pad", "outer_pad")]
CARS = ["101", "102", "103", "104", "105"]
SHOPS = {
    "inches_by_pad": (CARS, PADS, 0.42, 0.02, 0.01, 31_250, 905),
    "semicolons": (["NX-TR 41", "NX-TR 42", "NX-TR 43", "NX-TR 44"], PADS, 11.0, 0.5, 0.5, 61_240, 1_450),
    "a_sheet_a_year": (["Bus 7", "Bus 8", "Bus 9", "Bus 11"], PADS, 13.0, 0.5, 0.5, 88_300, 2_210),
    "a_sheet_a_vehicle": (["Van 12", "Van 15", "Van 20"], _by_wheel("pad"), 10.5, 0.4, 0.1, 42_018, 1_930),
    "thirty_seconds": (["T-3", "T-4", "T-6"], [(a, s, "shoe") for a in ("1", "2") for s in ("left", "right")], 20.0, 1.0, 1.0, 120_400, 3_020),
    "driver_and_passenger": (["K1", "K2", "K3", "K4"], _by_wheel("pad"), 9.0, 0.5, 0.5, 23_118, 1_204),
    "everything": (["F-01", "F-02", "F-03"], [("front", "", "pad"), ("rear", "", "pad")], 90.0, 5.0, 5.0, 54_102, 1_711),
    "totals": (["B1", "B2", "B3", "B5"], _by_wheel("shoe"), 14.0, 0.5, 0.5, 90_207, 2_560),
}  # fmt: skip


def checks_of(shop: str, month: int) -> list[Check]:
    """What the shop found in a month (1, 2, 3), in its own units."""
    vehicles, places, start, wear, step, first, per_month = SHOPS[shop]
    checks = _checks(vehicles, month, places, start, wear, step, first, per_month, late=shop != "driver_and_passenger")
    if shop == "everything":
        checks[0].complaint, checks[0].work = "squeals when braking", ("rear", "", "pads", "replaced")
        checks[1].complaint, checks[1].work = "pulls to the left; only when wet", ("front", "", "pads", "replaced")
    return checks


def in_file(shop: str, month: int) -> list[Check]:
    """What stands in a month's file: from the second month on the last vehicle of the month before stands there again."""
    return ([checks_of(shop, month - 1)[-1]] if month > 1 else []) + checks_of(shop, month)


# --- the files --------------------------------------------------------------------------------------------------------


def _us(day):
    return f"{day.month}/{day.day}/{day.year}"


def inches_by_pad(month: int) -> bytes:
    """Wide, a column a pad, decimal inches, UTF-8 with a byte-order mark; in the third month in mm, and it says so."""
    unit = " (mm)" if month == 3 else ""
    names = [f"{wheel} {face}{unit}" for wheel in WHEELS for face in ("in", "out")]
    lines = [",".join(["Unit #", "Date", "Odometer (mi)", *names, "Remarks"])]
    for check in in_file("inches_by_pad", month):
        factor = 25.4 if month == 3 else 1
        cells = [f"{check.readings[place] * factor:.2f}" for place in PADS]
        lines.append(",".join([check.vehicle, _us(check.date), f'"{check.odometer:,}"', *cells, "ok" if check.vehicle == "101" else ""]))
    return "\ufeff".encode() + "\r\n".join(lines).encode() + b"\r\n"


def semicolons(month: int) -> bytes:
    """German: semicolons, decimal commas, dots for thousands, a title above, Windows-1252; words for a good lining."""
    wheel = {"LF": "VL", "RF": "VR", "LR": "HL", "RR": "HR"}
    names = [f"Belag {wheel[w]} {face} (mm)" for w in WHEELS for face in ("innen", "außen")]
    lines = [f"Bremsenprüfung Betriebshof Süd{';' * 3}", "", ";".join(["Kennzeichen", "Datum", "Km-Stand", *names, "Bemerkungen"])]
    for at, check in enumerate(in_file("semicolons", month)):
        cells = [f"{check.readings[place]:.1f}".replace(".", ",") for place in PADS]
        cells[-1] = "i.O." if at in (1, 2) else cells[-1]
        lines.append(";".join([check.vehicle, f"{check.date:%d.%m.%Y}", f"{check.odometer:,}".replace(",", "."), *cells, "Räder geprüft"]))
    return "\r\n".join(lines).encode("cp1252")


def a_sheet_a_year(month: int) -> bytes:
    """A workbook with a sheet a year; two header lines, group names merged over their columns."""
    import openpyxl

    book = openpyxl.Workbook()
    book.remove(book.active)
    for year in (2024, 2025):
        sheet = book.create_sheet(str(year))
        sheet.append(["Vehicle", "Date", "Mileage", "Front pads (mm)", None, None, None, "Rear pads (mm)"])
        sheet.append([None, None, None, *["L / inner", "L / outer", "R / inner", "R / outer"] * 2])
        for merged in ("A1:A2", "B1:B2", "C1:C2", "D1:G1", "H1:K1"):
            sheet.merge_cells(merged)
        checks = in_file("a_sheet_a_year", month)
        for check in checks:
            day, odometer = (check.date, check.odometer) if year == 2025 else (check.date.replace(year=2024), check.odometer - 30_000)
            sheet.append([check.vehicle, day, odometer, *(check.readings[place] for place in PADS)])
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def a_sheet_a_vehicle(month: int) -> bytes:
    """An .ods with a sheet a vehicle, a row a wheel."""
    import pandas as pd

    data = io.BytesIO()
    with pd.ExcelWriter(data, engine="odf") as book:
        for vehicle in SHOPS["a_sheet_a_vehicle"][0]:
            rows = [
                (check.date.strftime("%d/%m/%Y"), check.odometer, wheel, check.readings[place], "")
                for check in in_file("a_sheet_a_vehicle", month) if check.vehicle == vehicle
                for wheel, place in zip(WHEELS, _by_wheel("pad"), strict=True)
            ]  # fmt: skip
            pd.DataFrame(rows, columns=["Date", "Km", "Position", "Pad mm", "Note"]).to_excel(book, sheet_name=vehicle, index=False)
    return data.getvalue()


def thirty_seconds(month: int) -> bytes:
    """Long, tabs, UTF-16, 32nds of an inch written as fractions or as plain numbers with their unit."""
    lines = ["\t".join(["Truck", "Date", "Miles", "Axle", "Side", "Lining", "Unit"])]
    for check in in_file("thirty_seconds", month):
        for (axle, side, _), value in check.readings.items():
            fraction = side == "left"
            cells = [f"{value:g}/32" if fraction else f"{value:g}", "" if fraction else "32nds"]
            lines.append("\t".join([check.vehicle, f"{check.date:%Y-%m-%d}", f"{check.odometer}", axle, side[0].upper(), *cells]))
    return "\r\n".join(lines).encode("utf-16")


def driver_and_passenger(month: int) -> bytes:
    """A zip with one table: driver's and passenger's side, no unit, no day after the 12th."""
    side = {"L": "Passenger", "R": "Driver"}
    names = [f"{side[wheel[0]]} {AXLE[wheel[1]]} pad" for wheel in WHEELS]
    lines = [",".join(["Vehicle", "Visit date", "Odo km", *names])]
    for check in in_file("driver_and_passenger", month):
        cells = [f"{check.readings[place]:g}" for place in _by_wheel("pad")]
        lines.append(",".join([check.vehicle, f"{check.date:%d/%m/%Y}", str(check.odometer), *cells]))
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr(zipfile.ZipInfo(f"export/checks_{month}.csv"), "\n".join(lines))
    return data.getvalue()


def everything(month: int) -> bytes:
    """One file of everything, bars between the cells, per cent of the lining left; a new column in the third month."""
    names = ["RO No", "Fleet No", "Model", "Date In", "KM", "Customer complaint", "Work done", "Tech", "Front pads % left", "Rear pads % left", "Cost"]
    lines = ["|".join(names + (["Brake hose"] if month == 3 else []))]
    for check in in_file("everything", month):
        number = f"R{month if check.date.month == month else month - 1}{check.vehicle[-2:]}"
        work = f"{check.work[0]} {check.work[2]} {check.work[3]}" if check.work else ""
        cells = [number, check.vehicle, "van", f"{check.date:%d %b %Y}", f"{check.odometer}", check.complaint, work, "AB"]
        cells += [f"{value:g}%" for value in check.readings.values()] + ["120.50" if work else ""]
        lines.append("|".join(cells + (["fine"] if month == 3 else [])))
    return "\n".join(lines).encode()


def totals(month: int) -> bytes:
    """An .xls with titles above, a total below, blank lines between."""
    import xlwt

    book = xlwt.Workbook()
    sheet = book.add_sheet("Lining depths")
    sheet.write(0, 0, "Brake lining depths")
    sheet.write(1, 0, "Depot East")
    for column, name in enumerate(["Bus", "Checked on date", "Odometer", "L/F", "R/F", "L/R", "R/R"]):
        sheet.write(3, column, name)
    row, style = 4, xlwt.easyxf(num_format_str="YYYY-MM-DD")
    checks = in_file("totals", month)
    for at, check in enumerate(checks):
        row += at == 2
        sheet.write(row, 0, check.vehicle)
        sheet.write(row, 1, check.date, style)
        sheet.write(row, 2, check.odometer)
        for column, place in enumerate(_by_wheel("shoe")):
            sheet.write(row, 3 + column, check.readings[place])
        row += 1
    sheet.write(row, 0, "Average")
    sheet.write(row, 3, 11.1)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


ENDING = {
    "inches_by_pad": "csv", "semicolons": "csv", "a_sheet_a_year": "xlsx", "a_sheet_a_vehicle": "ods", "thirty_seconds": "tsv",
    "driver_and_passenger": "zip", "everything": "txt", "totals": "xls",
}  # fmt: skip


def write_all(folder: Path) -> None:
    """Write every month of every shop."""
    for shop, ending in ENDING.items():
        (folder / shop).mkdir(parents=True, exist_ok=True)
        for month in (1, 2, 3) if shop in ("inches_by_pad", "everything") else (1, 2):
            (folder / shop / f"month{month}.{ending}").write_bytes(globals()[shop](month))


if __name__ == "__main__":
    write_all(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER)
