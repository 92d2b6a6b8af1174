"""Units a person reads in: everything is kept in km and mm, and turned into words and numbers here.

Miles and inches are written as a workshop writes them; a thickness in 32nds of an inch reads ``4.0/32 in``.
"""

from dataclasses import dataclass

import pandas as pd

from brakedata.units import DISTANCE_KM, THICKNESS_MM

DISTANCES = ("km", "mi")
THICKNESSES = ("mm", "in", "32nds")
_DECIMALS = {"mm": 1, "in": 3, "32nds": 1}
_RATE_DECIMALS = {"mm": 2, "in": 3, "32nds": 2}
_TAIL = {"mm": " mm", "in": " in", "32nds": "/32 in"}
_AXIS = {"mm": "mm", "in": "in", "32nds": "32nds of an inch"}
FORECAST_STEP = 100
"""Forecast odometers are shown to the nearest 100 km or mi; more digits would promise what no forecast holds."""


@dataclass(frozen=True)
class Shown:
    """A choice of units: ``distance`` km or mi, ``thickness`` mm, in or 32nds."""

    distance: str = "km"
    thickness: str = "mm"

    def distance_of(self, km):
        """Kilometres in the chosen unit; scalar or array."""
        return km / DISTANCE_KM[self.distance]

    def thickness_of(self, mm):
        """Millimetres in the chosen unit; scalar or array."""
        return mm / THICKNESS_MM[self.thickness]

    def distance_number(self, km, step: int = 1) -> str:
        """``125,500``; empty where not known."""
        return "" if pd.isna(km) else f"{round(self.distance_of(km) / step) * step:,.0f}"

    def distance_text(self, km, step: int = 1) -> str:
        """``125,500 km``; empty where not known."""
        return "" if pd.isna(km) else f"{self.distance_number(km, step)} {self.distance}"

    def forecast_text(self, km) -> str:
        """A forecast odometer, rounded to ``FORECAST_STEP``."""
        return self.distance_text(km, FORECAST_STEP)

    def between_text(self, low_km, high_km) -> str:
        """``118,900 and 133,300 km``, rounded to ``FORECAST_STEP``."""
        return f"{self.distance_number(low_km, FORECAST_STEP)} and {self.forecast_text(high_km)}"

    def thickness_number(self, mm) -> str:
        """``3.0``, ``0.118``; empty where not known."""
        return "" if pd.isna(mm) else f"{self.thickness_of(mm):.{_DECIMALS[self.thickness]}f}"

    def thickness_text(self, mm) -> str:
        """``3.0 mm``, ``0.118 in`` or ``3.8/32 in``; empty where not known."""
        if pd.isna(mm):
            return ""
        return f"{self.thickness_number(mm)}{_TAIL[self.thickness]}"

    def rate_text(self, mm_per_10000km) -> str:
        """``1.95 mm per 10,000 km``; empty where not known."""
        if pd.isna(mm_per_10000km):
            return ""
        rate = self.thickness_of(mm_per_10000km) * DISTANCE_KM[self.distance]
        return f"{rate:.{_RATE_DECIMALS[self.thickness]}f}{_TAIL[self.thickness]} per 10,000 {self.distance}"

    def rate_between_text(self, low, high) -> str:
        """``1.56 to 1.90 mm per 10,000 km``."""
        return f"{self.rate_text(low).split(_TAIL[self.thickness])[0]} to {self.rate_text(high)}"

    @property
    def thickness_axis(self) -> str:
        """Unit for the title of a thickness axis."""
        return _AXIS[self.thickness]


def usual(records) -> Shown:
    """The units that a folder is written in: those its settings name, else those of most of its visits and readings."""
    settings = records.settings
    distance, thickness = settings.distance_unit, settings.thickness_unit
    if "distance" not in settings.units_said:
        distance = _most(records.visits["odometer_unit"], DISTANCES, distance)
    if "thickness" not in settings.units_said:
        thickness = _most(records.measurements["unit"].head(LOOKED_AT), THICKNESSES, thickness)
    return Shown(distance, thickness if thickness in THICKNESSES else "mm")


LOOKED_AT = 5_000
"""Readings by which the unit of a folder is told."""


def _most(written, known, otherwise: str) -> str:
    """The unit written most often, of those that are ``known``."""
    counts = written[written.isin(known)].value_counts()
    return str(counts.index[0]) if len(counts) else otherwise


def chance_text(chance: float) -> str:
    """A chance between 0 and 1 in words: ``under 1 %``, ``5 %``, ``over 99 %``; empty where not known."""
    if pd.isna(chance):
        return ""
    if chance < 0.01:
        return "under 1 %"
    if chance > 0.99:
        return "over 99 %"
    return f"{100 * chance:.0f} %"


def day_text(date) -> str:
    """``4 May 2027``; empty where not known."""
    return "" if pd.isna(date) else f"{pd.Timestamp(date).day} {date:%b %Y}"


def about_text(date) -> str:
    """``early May 2027``: a forecast date to a third of a month; empty where not known."""
    if pd.isna(date):
        return ""
    third = "early" if date.day <= 10 else "mid" if date.day <= 20 else "late"
    return f"{third} {date:%b %Y}"


def count_text(number: int, one: str, many: str = "") -> str:
    """``1 reading``, ``8 readings``."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"
