"""Starting JupyterLab on the notebooks, offline and on this computer only.

The kit's notebooks are copied into a folder of their own, inside the records folder the user named (or in the current
folder, with the demo records, when none was named), so that the installed ones stay as they are.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

from brakedata import places
from brakedata.findings import RecordsError

WORK_FOLDER = "brakedata_notebooks"
FIRST = "00_start_here.ipynb"


def start(folder: str | None, open_browser: bool = True, say=lambda text: None) -> int:
    """Copy the notebooks beside the records and open JupyterLab on them; returns when it is closed.

    Parameters
    ----------
    folder : str or None
        A records folder or workbook; None for the demo records.
    open_browser : bool
    say : callable
        Called with each sentence for the user.

    Returns
    -------
    int
        JupyterLab's exit status.
    """
    work, records = prepare(folder)
    say(f"Notebooks: {work}")
    say(f"Records: {records}")
    say("JupyterLab opens in the browser; to end it, close this window or press Ctrl+C twice.")
    environment = {
        **os.environ,
        "BRAKEDATA_RECORDS": str(records),
        "JUPYTER_CONFIG_PATH": os.pathsep.join(
            [str(places.lab_settings())] + [p for p in [os.environ.get("JUPYTER_CONFIG_PATH")] if p]
        ),
    }
    try:
        return subprocess.run(command(work, open_browser), env=environment).returncode
    except KeyboardInterrupt:
        return 0


def command(work: Path, open_browser: bool) -> list[str]:
    """The command that starts JupyterLab on ``work``."""
    return [
        sys.executable, "-m", "jupyterlab", "--ServerApp.ip=127.0.0.1", f"--ServerApp.root_dir={work}",
        f"--LabApp.default_url=/doc/tree/{FIRST}", f"--ServerApp.open_browser={open_browser}",
        "--ServerApp.allow_root=True", "--LabApp.extension_manager=readonly",
    ]  # fmt: skip


def prepare(folder: str | None) -> tuple[Path, Path]:
    """Put the notebooks in place; notebooks that are already there are kept as they are.

    Returns
    -------
    work : Path
        Folder of the notebooks.
    records : Path
        The records they open.
    """
    if folder is None:
        home = Path.cwd()
        records = home / WORK_FOLDER / "demo_records"
    else:
        records = Path(folder).expanduser().resolve()
        if not records.exists():
            raise RecordsError(f"{folder} does not exist: give the folder or workbook that holds the records.")
        home = records if records.is_dir() else records.parent
    work = home / WORK_FOLDER
    try:
        work.mkdir(exist_ok=True)
        for notebook in sorted(places.notebooks().glob("*.ipynb")):
            if not (work / notebook.name).exists():
                shutil.copyfile(notebook, work / notebook.name)
        if folder is None and not records.exists():
            shutil.copytree(places.demo_records(), records, ignore=shutil.ignore_patterns("out", "records.toml"))
    except OSError as problem:
        raise RecordsError(
            f"{work} could not be written ({problem.strerror or problem}): start from a folder you may write to."
        ) from problem
    return work, records
