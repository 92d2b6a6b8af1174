"""Whether everything the notebooks need is installed, in sentences that name the cure."""

import re
import sys
from importlib import metadata

_REQUIREMENT = re.compile(r"^([\w.-]+)\s*(.*)$")
_BOUND = re.compile(r"(>=|<)\s*([\d.]+)")


def check(requirements: list[str] | None = None) -> list[str]:
    """What is installed, or what is missing and how to cure it, a sentence each.

    Parameters
    ----------
    requirements : list of str, optional
        As in a package's metadata, for instance ``plotly>=6.3,<8``; default those of brakedata itself.
    """
    if requirements is None:
        try:
            requirements = metadata.requires("brakedata") or []
        except metadata.PackageNotFoundError:
            return [f"Not ready: brakedata itself is not installed. Cure: in its folder, type: {sys.executable} -m pip install ."]
    needed = [line for line in requirements if "extra ==" not in line]
    wrong = [line for line in needed if not _met(line)]
    if wrong:
        cure = " ".join(f'"{line}"' for line in wrong)
        return [f"Not ready: {_installed(line)} is installed, but {line} is needed." for line in wrong] + [
            f"Cure: in a terminal, type: {sys.executable} -m pip install {cure}",
            "Then choose Kernel, Restart Kernel, and Run All Cells.",
        ]
    return ["Ready: everything the notebooks need is installed."]


def _name(requirement: str) -> str:
    return _REQUIREMENT.match(requirement)[1]


def _installed(requirement: str) -> str:
    try:
        return f"{_name(requirement)} {metadata.version(_name(requirement))}"
    except metadata.PackageNotFoundError:
        return f"no {_name(requirement)}"


def _met(requirement: str) -> bool:
    try:
        version = _numbers(metadata.version(_name(requirement)))
    except metadata.PackageNotFoundError:
        return False
    bounds = _BOUND.findall(requirement)
    return all(version >= _numbers(edge) if sign == ">=" else version < _numbers(edge) for sign, edge in bounds)


def _numbers(version: str) -> tuple[int, ...]:
    return tuple(int(part) for part in re.findall(r"\d+", version)[:3])
