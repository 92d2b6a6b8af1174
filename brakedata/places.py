"""Where the notebooks, the demo records and the blank templates are.

A wheel carries them inside the package, in ``_data``; a clone has them beside the package.
"""

from pathlib import Path

PACKAGE = Path(__file__).resolve().parent


def notebooks() -> Path:
    """Folder of the notebooks."""
    return _carried("notebooks")


def demo_records() -> Path:
    """Records folder of the invented depot."""
    return _carried("demo_records")


def templates() -> Path:
    """Folder of the blank record tables and the column dictionary."""
    return _carried("shared")


def lab_settings() -> Path:
    """Jupyter configuration folder that keeps JupyterLab quiet, offline and folded; for ``JUPYTER_CONFIG_PATH``."""
    return PACKAGE / "lab_settings"


def _carried(name: str) -> Path:
    in_wheel = PACKAGE / "_data" / name
    return in_wheel if in_wheel.is_dir() else PACKAGE.parent / name
