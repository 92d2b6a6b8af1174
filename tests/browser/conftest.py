"""A JupyterLab and a Chromium for the tests in this folder.

Without a Chromium the tests are skipped, saying so; with BRAKEDATA_REQUIRE_BROWSER=1 they fail instead. The browser is
the one on the path, or the one that BRAKEDATA_CHROMIUM names.
"""

import contextlib
import os
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

from brakedata import lab as kit_lab
from browser.lab_driver import CHROMIUM_FLAGS, LabPage, LabServer

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")


def find_chromium() -> str | None:
    """Path of the browser to drive, or None."""
    return os.environ.get("BRAKEDATA_CHROMIUM") or next(filter(None, map(shutil.which, NAMES)), None)


# Package scope, not session: an open Playwright keeps an event loop running, which other tests must not meet.
@pytest.fixture(scope="package")
def chromium():
    """The browser."""
    path = find_chromium()
    if path is None:
        lacking = "no Chromium on this machine: install it, or name one in BRAKEDATA_CHROMIUM"
        if os.environ.get("BRAKEDATA_REQUIRE_BROWSER") == "1":
            pytest.fail(lacking)
        pytest.skip(lacking)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=CHROMIUM_FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="package")
def lab_folder(tmp_path_factory) -> Path:
    """What ``brakedata lab`` lays out, in a folder with a name as people give them: notebooks and demo records."""
    home = tmp_path_factory.mktemp("lab") / "Bremsen – Übersicht (neu)"
    home.mkdir()
    with contextlib.chdir(home):
        work, _ = kit_lab.prepare(None)
    return work


@pytest.fixture(scope="package")
def lab_server(chromium, lab_folder, tmp_path_factory):
    """A JupyterLab on that folder."""
    server = LabServer(lab_folder, lab_folder / "demo_records", tmp_path_factory.mktemp("jupyter"))
    yield server
    server.stop()


@pytest.fixture(scope="session")
def shots(tmp_path_factory) -> Path:
    """Where screenshots go."""
    wanted = os.environ.get("BRAKEDATA_SHOTS")
    folder = Path(wanted) if wanted else tmp_path_factory.mktemp("shots")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@pytest.fixture
def any_lab(chromium, lab_server, shots):
    """A browser page on the lab, whose faults are the test's business."""
    page = LabPage(chromium, lab_server, shots)
    yield page
    page.close()


@pytest.fixture
def lab(any_lab):
    """A browser page on the lab; any fault on it fails the test, at the latest when the test ends."""
    yield any_lab
    assert any_lab.problems() == []
