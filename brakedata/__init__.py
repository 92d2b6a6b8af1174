"""brakedata: brake service records to wear rates, due windows and comebacks.

>>> import brakedata
>>> records = brakedata.load("demo_records")
>>> schedule = brakedata.schedule.make(records)

Names and modules are loaded when first used, so that importing the package is quick.
"""

from importlib import import_module

__version__ = "0.1.0"

_PUBLIC = {
    "load": ("brakedata.checks", "load"),
    "Records": ("brakedata.records", "Records"),
    "RecordsError": ("brakedata.findings", "RecordsError"),
}

__all__ = sorted(_PUBLIC)


def __getattr__(name):
    if name in _PUBLIC:
        module, attribute = _PUBLIC[name]
        return getattr(import_module(module), attribute)
    try:
        return import_module(f"brakedata.{name}")
    except ModuleNotFoundError as problem:
        if problem.name != f"brakedata.{name}":
            raise
        raise AttributeError(f"module 'brakedata' has no attribute {name!r}") from None
