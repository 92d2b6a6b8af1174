"""Distances in km, thicknesses in mm: what other units are worth, and how they are written.

The factors are exact by definition: 1 mi = 1.609344 km and 1 in = 25.4 mm (international yard and pound
agreement of 1959).
"""

KM_PER_MI = 1.609344
MM_PER_IN = 25.4
MM_PER_32ND = MM_PER_IN / 32

DISTANCE_KM = {"km": 1.0, "mi": KM_PER_MI}
THICKNESS_MM = {"mm": 1.0, "in": MM_PER_IN, "32nds": MM_PER_32ND, "um": 0.001}

_DISTANCE_WORDS = {
    "km": "km", "kms": "km", "kilometre": "km", "kilometres": "km", "kilometer": "km", "kilometers": "km",
    "mi": "mi", "mile": "mi", "miles": "mi", "mi.": "mi",
}  # fmt: skip
_THICKNESS_WORDS = {
    "mm": "mm", "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm",
    "in": "in", "inch": "in", "inches": "in", '"': "in", "in.": "in",
    "32nds": "32nds", "32nd": "32nds", "in32": "32nds", "in/32": "32nds", "1/32": "32nds", "1/32in": "32nds",
    "/32": "32nds", "um": "um", "µm": "um", "μm": "um", "micron": "um", "microns": "um",
}  # fmt: skip

GAUGE_STEPS_MM = (1.0, MM_PER_32ND, 0.5, 0.25, 0.1, 0.05, 0.01)
"""Steps of the gauges in use, coarsest first: step gauges, 32nds feelers, callipers (common practice, no source)."""


def distance_unit(word: str) -> str | None:
    """Canonical name (``km`` or ``mi``) of a distance unit as written, or None when it is not one."""
    return _DISTANCE_WORDS.get(word.strip().lower())


def thickness_unit(word: str) -> str | None:
    """Canonical name (``mm``, ``in``, ``32nds`` or ``um``) of a thickness unit as written, or None."""
    return _THICKNESS_WORDS.get(word.strip().lower().replace(" ", ""))
