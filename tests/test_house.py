"""The rules of the house: who may import whom, who may print, and how notebooks and words are kept.

Source of the rules: DEVELOPERS.md, our own practice.
"""

import ast
import json
import re
import subprocess
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "brakedata"

# A module imports only from modules named before it: from layers above its own, or further left in its own.
HOUSE = {
    "words": "columns findings units shown places side_by_side",
    "data": "guards tablefiles codes cells symptoms handwritten headings layouts vins settings_file records mapping limits entries",
    "trust": "answered unit_changes checks lives who_is_who selection",
    "answers": "own_line shared_model usage comebacks survival pad_life effects gauge_study",
    "forecast": "forecast",
    "decisions": "schedule rotors explain odd_wear track_record bay",
    "show": "views figures figures_track_record figures_pad_life figures_comebacks tables handback share templates report",
    "beside": "simulate simulate_shop demo",
    "faces": "panels lab cli __main__",
}
ORDER = " ".join(HOUSE.values()).split()
MADE_FLEETS = HOUSE["beside"].split()

# What only one part of the house may know.
ONLY_IN = {
    "ipywidgets": {"panels"},
    "anywidget": {"panels"},
    "IPython": {"panels"},
    "plotly": {"panels", "figures", "figures_track_record", "figures_pad_life", "figures_comebacks"},
    "subprocess": {"lab"},
    "click": {"cli"},
}
NOWHERE = set(
    "pickle marshal shelve dill joblib cloudpickle requests urllib http httpx aiohttp socket ssl ftplib smtplib".split()
)
NOT_AT_IMPORT = set("plotly ipywidgets anywidget IPython jupyterlab statsmodels scipy".split())

SOURCES = sorted(PACKAGE.rglob("*.py"))
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
SOURCE_LINES = 8
NOTEBOOK_BYTES = 80_000

named_by_file = pytest.mark.parametrize("file", SOURCES, ids=lambda file: file.relative_to(PACKAGE).as_posix())
each_notebook = pytest.mark.parametrize("notebook", NOTEBOOKS, ids=lambda file: file.stem)


def module_of(file: Path) -> str:
    """The house's name for a file: ``records``, and ``panels`` for every file in panels/."""
    return file.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports(file: Path) -> set[str]:
    """Full names of everything a file imports, wherever in it; of names taken from brakedata itself, those names."""
    found = set()
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            package = ["brakedata", *file.relative_to(PACKAGE).parts[:-1]]
            start = ".".join(package[: len(package) + 1 - node.level]) if node.level else ""
            whole = ".".join(filter(None, (start, node.module)))
            found |= {f"{whole}.{alias.name}" for alias in node.names} if whole == "brakedata" else {whole}
    return found


# --- layers


def test_every_module_has_its_place_in_the_house():
    assert {module_of(file) for file in SOURCES} - {"__init__"} <= set(ORDER)


@named_by_file
def test_imports_come_from_the_layers_above(file):
    module = module_of(file)
    names = {name.split(".")[1] if "." in name else "*" for name in imports(file) if name.split(".")[0] == "brakedata"}
    if module == "__init__":
        above = set()  # the package itself imports its modules by name, when first asked
    elif module in HOUSE["faces"].split():
        above = {"*", module, *ORDER[: ORDER.index(module)]}
    elif module in MADE_FLEETS:
        above = set(f"{HOUSE['words']} {HOUSE['data']} {HOUSE['beside']}".split())
    else:
        above = {module, *ORDER[: ORDER.index(module)]}
    assert names <= above


@named_by_file
def test_each_outside_package_is_known_only_where_it_belongs(file):
    outside = {name.split(".")[0] for name in imports(file)} - {"brakedata"}
    assert outside & NOWHERE == set()
    assert {name for name in outside & ONLY_IN.keys() if module_of(file) not in ONLY_IN[name]} == set()


def test_every_package_imported_is_asked_for_at_installation():
    asked = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    asked = {re.match(r"[\w-]+", line).group().lower() for line in asked}
    outside = {name.split(".")[0] for file in SOURCES for name in imports(file)} - {"brakedata"} - sys.stdlib_module_names
    sold_as = packages_distributions()
    assert {name for name in outside if not asked & {sold.lower() for sold in sold_as.get(name, ())}} == set()


def test_panels_take_only_figure_widgets_from_plotly():
    taken = {name for file in SOURCES if module_of(file) == "panels" for name in imports(file) if name.startswith("plotly")}
    assert taken <= {"plotly.graph_objects"}


@pytest.fixture(scope="module")
def fresh_import():
    """What ``import brakedata`` does in a new interpreter: the modules it loads, and what it prints."""
    code = "import sys, brakedata; sys.stderr.write(' '.join(sys.modules))"
    return subprocess.run([sys.executable, "-W", "error", "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)


def test_importing_the_package_is_quiet_and_light(fresh_import):
    assert fresh_import.stdout == ""
    loaded = set(fresh_import.stderr.split())
    assert "brakedata" in loaded
    assert loaded & NOT_AT_IMPORT == set()


@named_by_file
def test_only_the_command_line_prints_and_nothing_is_evaluated(file):
    calls = [node for node in ast.walk(ast.parse(file.read_text("utf-8"))) if isinstance(node, ast.Call)]
    called = {call.func.id for call in calls if isinstance(call.func, ast.Name)}
    allowed = {"print"} if module_of(file) in ("cli", "demo") else set()
    assert called & {"print", "eval", "exec", "compile"} <= allowed


def test_the_code_passes_the_linter():
    run = subprocess.run([sys.executable, "-m", "ruff", "check", "--no-cache", str(ROOT)], capture_output=True, text=True)
    assert run.returncode == 0, run.stdout


# --- notebooks


def cells(notebook: Path, kind: str) -> list[dict]:
    """The notebook's cells of one kind, the source of each as one text."""
    all_cells = json.loads(notebook.read_text("utf-8"))["cells"]
    return [{**cell, "source": "".join(cell["source"])} for cell in all_cells if cell["cell_type"] == kind]


def test_there_are_notebooks():
    assert "00_start_here" in [notebook.stem for notebook in NOTEBOOKS]


@each_notebook
def test_a_notebook_opens_with_one_title_and_a_sentence(notebook):
    headings = [line for cell in cells(notebook, "markdown") for line in cell["source"].splitlines() if line.startswith("# ")]
    first = json.loads(notebook.read_text("utf-8"))["cells"][0]
    assert first["cell_type"] == "markdown"
    assert len(headings) == 1
    title, *rest = "".join(first["source"]).strip().splitlines()
    assert title == headings[0]
    assert "".join(rest).strip().endswith((".", "?"))


@each_notebook
def test_a_notebook_only_calls_the_package(notebook):
    for cell in cells(notebook, "code"):
        tree = ast.parse(cell["source"])
        defined = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.ClassDef | ast.Lambda)]
        assert defined == [], cell["source"]
        assert len(cell["source"].splitlines()) <= SOURCE_LINES, cell["source"]


@each_notebook
def test_a_notebook_is_stored_folded_and_bare(notebook):
    assert notebook.stat().st_size < NOTEBOOK_BYTES
    content = json.loads(notebook.read_text("utf-8"))
    assert "widgets" not in content["metadata"]
    assert content["metadata"]["kernelspec"]["name"] == "python3"
    for cell in cells(notebook, "code"):
        assert cell["metadata"].get("jupyter", {}).get("source_hidden"), cell["source"]
        kept = "keep_output" in cell["metadata"].get("tags", [])
        assert kept or cell["outputs"] == [], cell["source"]
        assert all(output["output_type"] == "stream" for output in cell["outputs"]), cell["source"]


@each_notebook
def test_a_notebook_makes_a_promise(notebook):
    """A cell whose output is compared needs a stored one; a notebook without promises is run and tells nothing."""
    code = cells(notebook, "code")
    compared = [cell for cell in code if "NBVAL_CHECK_OUTPUT" in cell["source"]]
    asserted = [cell for cell in code if re.search(r"^assert ", cell["source"], re.MULTILINE)]
    assert compared + asserted
    assert all(cell["outputs"] for cell in compared)


# --- words

GUIDES = [ROOT / name for name in ("README.md", "DEVELOPERS.md")]
LINK = re.compile(r"\]\((?!https?:|#|mailto:)([^)#\s]+)")
PATH = re.compile(r"`([\w./*-]+(?:\.(?:py|md|ipynb|png|sh)|/))`")


@pytest.mark.parametrize("guide", GUIDES, ids=lambda file: file.name)
def test_every_file_a_guide_names_is_there(guide):
    text = guide.read_text("utf-8")
    named = {*LINK.findall(text), *PATH.findall(text)}
    assert named
    missing = [name for name in sorted(named) if not any(any(base.glob(name.rstrip("/"))) for base in (ROOT, PACKAGE))]
    assert missing == []


# Paths of one machine, package hosts, and words that belong elsewhere; in two parts, so that this file does not hold them.
UNWANTED = re.compile(
    "|".join(
        [r"(?<!\w)/wor" + "k/", r"\.libr" + "ary", r"(?<!\w)/t" + "mp/", "tran" + "script", "seed docu" + "ment"]
        + [rf"\b{host}\." + end for host, end in (("pypi", "org"), ("pythonhosted", "org"), ("npmjs", "com"), ("debian", "org"))]
    ),
    re.IGNORECASE,
)
TEXTS = {".py", ".md", ".toml", ".ipynb", ".csv", ".json", ".cfg", ".txt", ""}
LEFT_OUT = {".git", ".venv", "__pycache__", ".pytest_cache", ".ruff_cache", ".hypothesis", "build", "dist", "out"}


def test_no_file_names_a_machine_a_host_or_an_unwanted_word():
    def kept(folder):
        for entry in sorted(folder.iterdir()):
            if entry.name not in LEFT_OUT:
                yield from kept(entry) if entry.is_dir() else [entry]

    files = [file for file in kept(ROOT) if file.suffix in TEXTS]
    assert Path(__file__) in files
    read = {file.relative_to(ROOT).as_posix(): file.read_text("utf-8", errors="replace") for file in files}
    assert {name: found.group() for name, text in read.items() if (found := UNWANTED.search(text))} == {}
