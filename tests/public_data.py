"""Public data that the tests read where it lies beside the project, and never copy into it."""

import os
from pathlib import Path

import pytest

BESIDE = Path(__file__).parents[2] / "shared"


def reference(name: str) -> Path:
    """A file of published data (folder BRAKEDATA_REFERENCE, else ../shared/reference/data); skips where it is absent."""
    return _file("BRAKEDATA_REFERENCE", BESIDE / "reference" / "data", name)


def real(name: str) -> Path:
    """A file of real records (folder BRAKEDATA_REAL, else ../shared/real); skips where it is absent."""
    return _file("BRAKEDATA_REAL", BESIDE / "real", name)


def _file(variable, folder, name):
    file = Path(os.environ.get(variable, folder)) / name
    if not file.is_file():
        pytest.skip(f"{name} is not here: name its folder in the environment variable {variable}")
    return file
