"""The notebooks, the demo records and the blank templates are found in a clone, and in a wheel installed elsewhere."""

import json
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from brakedata import places

ROOT = Path(__file__).resolve().parents[1]
CARRIED = {"notebooks": "*.ipynb", "demo_records": "*.csv", "templates": "*.csv"}
WHERE = "import json; from brakedata import places; print(json.dumps({name: str(getattr(places, name)()) for name in %r}))"


def test_a_clone_has_them_beside_the_package():
    assert places.notebooks() == ROOT / "notebooks"
    assert places.demo_records() == ROOT / "demo_records"
    assert places.templates() == ROOT / "shared"


@pytest.fixture(scope="module")
def unpacked_wheel(tmp_path_factory):
    """A wheel of the project, built here and unpacked as an installer does."""
    built, site = tmp_path_factory.mktemp("built"), tmp_path_factory.mktemp("site")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(built)]
    subprocess.run(build, cwd=ROOT, check=True, capture_output=True)
    (wheel,) = built.glob("*.whl")
    with zipfile.ZipFile(wheel) as packed:
        packed.extractall(site)
    return site


def test_a_wheel_carries_the_same_files(unpacked_wheel):
    run = subprocess.run(
        [sys.executable, "-c", WHERE % [*CARRIED]], cwd=unpacked_wheel, capture_output=True, text=True, check=True
    )
    for name, folder in json.loads(run.stdout).items():
        assert Path(folder).is_relative_to(unpacked_wheel)
        carried = {file.name: file.read_bytes() for file in Path(folder).glob(CARRIED[name])}
        assert carried
        assert carried == {file.name: file.read_bytes() for file in getattr(places, name)().glob(CARRIED[name])}


def test_a_wheel_carries_the_settings_of_the_lab(unpacked_wheel):
    settings = places.lab_settings() / "labconfig" / "default_setting_overrides.json"
    carried = unpacked_wheel / settings.relative_to(ROOT)
    assert json.loads(carried.read_text("utf-8")) == json.loads(settings.read_text("utf-8"))
    assert json.loads(settings.read_text("utf-8"))["@jupyterlab/apputils-extension:notification"]["fetchNews"] == "false"
