"""Drives JupyterLab in a real browser as a person does: open a notebook, run it, move a control, read the answer.

``LabServer`` is a JupyterLab of its own on this machine; ``LabPage`` is one browser page on it. Controls are found by
the label a person reads. Whatever a person would see or fear as a fault (an exception in a cell or behind a control, a
warning on screen, a widget that cannot be shown, a script error, a dead kernel, a traceback in the server's log, a
request that leaves the machine) is collected, and ``LabPage.problems()`` lists it.
"""

import json
import os
import re
import subprocess
import time
from pathlib import Path
from urllib.parse import quote, urlsplit
from urllib.request import urlopen

from brakedata import lab, places

CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",  # no name is looked up: what works here works offline
]
VIEWPORT = {"width": 1440, "height": 1000}
PATIENCE_S = 120

# Console errors that are not faults of ours, each with its reason.
TOLERATED_CONSOLE: list[str] = []


class LabServer:
    """The JupyterLab that ``brakedata lab`` starts, on a free local port, its settings, data and log kept apart.

    Parameters
    ----------
    work : Path
        The folder of the notebooks, as ``brakedata.lab.prepare`` made it.
    records : Path
        The records that the notebooks open.
    state : Path
        An empty folder for Jupyter's own files and the log.
    """

    def __init__(self, work: Path, records: Path, state: Path):
        self._log_file = state / "server.log"
        runtime = state / "runtime"
        environment = {
            **os.environ,
            "BRAKEDATA_RECORDS": str(records),
            "JUPYTER_CONFIG_PATH": str(places.lab_settings()),
            "JUPYTER_CONFIG_DIR": str(state / "config"),
            "JUPYTER_DATA_DIR": str(state / "data"),
            "JUPYTER_RUNTIME_DIR": str(runtime),
            "JUPYTERLAB_SETTINGS_DIR": str(state / "settings"),
            "JUPYTERLAB_WORKSPACES_DIR": str(state / "workspaces"),
            "IPYTHONDIR": str(state / "ipython"),
        }
        command = [
            *lab.command(work, open_browser=False),
            *("--ServerApp.port=0", "--IdentityProvider.token="),
            "--LabApp.expose_app_in_browser=True",  # the page can be asked what the kernel is doing
        ]
        with self._log_file.open("wb") as log:
            self._process = subprocess.Popen(
                command, env=environment, stdin=subprocess.DEVNULL, stdout=log, stderr=subprocess.STDOUT
            )
        try:
            self.url = self._wait_for_address(runtime)
        except BaseException:
            self.stop()
            raise

    def _wait_for_address(self, runtime: Path) -> str:
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until and self._process.poll() is None:
            for file in runtime.glob("jpserver-*.json"):
                try:
                    url = json.loads(file.read_text("utf-8"))["url"]
                    urlopen(url + "api", timeout=5).close()
                    return url
                except (OSError, ValueError):
                    pass  # the file is half written or the port not open yet
            time.sleep(0.1)
        raise RuntimeError("JupyterLab did not start:\n" + self.log())

    def log(self, start: int = 0) -> str:
        """What the server and its kernels wrote, from byte ``start``."""
        return self._log_file.read_bytes()[start:].decode("utf-8", "replace")

    def log_size(self) -> int:
        """Bytes written so far."""
        return self._log_file.stat().st_size

    def stop(self) -> None:
        """End the server and its kernels."""
        self._process.terminate()
        try:
            self._process.wait(20)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()


# Counts what was asked of the kernel and not yet answered. Controls talk to the kernel beside its main channel (in a
# subshell), so a question on the main channel would not wait for them; counting every message does.
WATCH_KERNEL = """() => {
  const session = window.jupyterapp.shell.currentWidget.sessionContext.session;
  const watch = window.kernelWatch = {waiting: new Set(), last: performance.now(), lost: false, faults: []};
  session.statusChanged.connect((_, status) => {
    if (!['dead', 'autorestarting', 'restarting'].includes(status)) return;
    watch.lost = true;
    watch.faults.push('kernel ' + status);
  });
  session.anyMessage.connect((_, {msg, direction}) => {
    const type = msg.header.msg_type, parent = msg.parent_header?.msg_id;
    watch.last = performance.now();
    if (direction === 'send') { if (msg.channel === 'shell') watch.waiting.add(msg.header.msg_id); return; }
    if (type === 'status' && msg.content.execution_state === 'idle') watch.waiting.delete(parent);
    if (msg.channel === 'shell' && msg.content.status === 'aborted') watch.waiting.delete(parent);
    if (type === 'error') watch.faults.push(`kernel: ${msg.content.ename}: ${msg.content.evalue}`);
    if (type === 'stream' && msg.content.name === 'stderr') watch.faults.push('stderr: ' + msg.content.text);
  });
}"""
KERNEL_QUIET = """quiet_ms => window.kernelWatch.lost
  || window.kernelWatch.waiting.size === 0 && performance.now() - window.kernelWatch.last > quiet_ms"""
# JupyterLab asks a new kernel for widgets through a comm that the kernel may not have opened yet, and the kernel says so.
FORGET_GREETING = """() => {
  const watch = window.kernelWatch;
  watch.faults = watch.faults.filter(fault => !fault.startsWith('stderr: No such comm'));
}"""
PAGE_DRAWN = """panel => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => done(
  !panel.innerText.includes('Loading widget')
  && [...panel.querySelectorAll('.js-plotly-plot')].every(
    plot => plot.querySelector('.main-svg') && plot.data?.length)))))"""
READ_FIGURES = """plots => plots.map(plot => ({
  title: plot._fullLayout.title?.text ?? '',
  x_title: plot._fullLayout.xaxis?.title?.text ?? '',
  y_title: plot._fullLayout.yaxis?.title?.text ?? '',
  traces: plot._fullData.map(trace => ({
    name: trace.name, type: trace.type, x: [...(trace.x ?? [])], y: [...(trace.y ?? [])]})),
  marks: plot.querySelectorAll('.cartesianlayer :is(.trace path, .hm image), .shapelayer path').length,
}))"""

# Each kind of control: its CSS class, and where in it the label stands ("" = on the control itself).
KINDS = {
    "dropdown": (".widget-dropdown", ".widget-label"),
    "list": (".widget-select, .widget-select-multiple", ".widget-label"),
    "slider": (".widget-slider", ".widget-label"),
    "field": (".widget-text, .widget-textarea, .widget-datepicker", ".widget-label"),
    "toggles": (".widget-toggle-buttons", ".widget-label"),
    "radio": (".widget-radio", ".widget-label"),
    "checkbox": (".widget-checkbox", ".widget-label-basic"),
    "button": ("button.widget-button", ""),
    "toggle": ("button.widget-toggle-button:not(.widget-toggle-buttons *)", ""),
}
READ_CONTROLS = """(panel, kinds) => Object.entries(kinds).flatMap(([kind, [css, place]]) =>
  [...panel.querySelectorAll(css)].filter(control => control.checkVisibility()).map(control => {
    const label = place ? control.querySelector(place)?.innerText ?? '' : control.innerText;
    return [kind, label.replace(/\\u200b/g, '').trim()];
  }))"""

# Left out of pictures: the bar at the selected cell, and its buttons.
PLAIN_PICTURE = ".jp-Collapser { visibility: hidden } .jp-cell-toolbar { display: none }"

FAULT_OUTPUT = "[data-mime-type='application/vnd.jupyter.stderr'], [data-mime-type='application/vnd.jupyter.error']"
FAULT_TEXT = re.compile(r"Error (?:displaying|creating) widget.*|Failed to load model.*")
FAULT_LOG = re.compile(r"^(?:Traceback.*|\[[EC] \d.*|\[IPKernelApp\] (?:ERROR|CRITICAL).*)$", re.MULTILINE)


class LabPage:
    """One browser page on a LabServer, with one notebook open at a time."""

    def __init__(self, browser, server: LabServer, shots: Path):
        self.server = server
        self.moved: set[str] = set()
        self._shots = shots
        self._faults: list[str] = []
        self._log_start = server.log_size()
        context = browser.new_context(viewport=VIEWPORT)
        context.route("**/*", self._keep_local)
        self.page = context.new_page()
        self.page.set_default_timeout(PATIENCE_S * 1000)
        self.page.on("console", self._hear_console)
        self.page.on("pageerror", lambda error: self._faults.append(f"script error: {error}"))
        self.page.on("crash", lambda _: self._faults.append("the page crashed"))
        self.page.on("websocket", lambda socket: self._is_foreign(socket.url))

    # --- opening and running

    def open_notebook(self, name: str) -> None:
        """Open the notebook at this path below the server's folder and wait for its kernel."""
        self.page.goto(f"{self.server.url}doc/tree/{quote(name)}?reset")
        self.page.wait_for_function(
            "() => window.jupyterapp?.shell.currentWidget?.sessionContext?.session?.kernel?.status === 'idle'"
        )
        self.page.evaluate("() => window.jupyterapp.shell.collapseLeft()")
        self.page.evaluate(WATCH_KERNEL)
        self.page.wait_for_function(KERNEL_QUIET, arg=500, polling=50)
        self.page.evaluate(FORGET_GREETING)
        self.panel.locator(".jp-Cell").first.wait_for()

    def run_all(self) -> None:
        """Run every cell, as the menu does, and wait until widgets and pictures stand."""
        self.page.evaluate("() => window.jupyterapp.commands.execute('notebook:run-all-cells')")
        self.wait_idle()

    def wait_idle(self) -> None:
        """Wait until the kernel has answered everything and the page has drawn it."""
        until = time.monotonic() + PATIENCE_S
        self.page.wait_for_function(KERNEL_QUIET, arg=200, polling=50)
        while not self.panel.evaluate(PAGE_DRAWN):
            if time.monotonic() > until:
                raise TimeoutError(f"widgets or pictures of the notebook did not appear within {PATIENCE_S} s")

    def close(self) -> None:
        """End the notebook's kernel and close the page."""
        self.page.evaluate("() => window.jupyterapp?.shell.currentWidget?.sessionContext?.shutdown()")
        self.page.context.close()

    # --- reading

    @property
    def panel(self):
        """Locator of the open notebook."""
        return self.page.locator(".jp-NotebookPanel:not(.lm-mod-hidden)")

    def text_of(self, css: str) -> str:
        """The visible text of the one element in the notebook that this CSS selector names."""
        element = self.panel.locator(css)
        element.scroll_into_view_if_needed()
        return element.inner_text()

    def figures(self) -> list[dict]:
        """What each picture shows, as drawn: title, axis titles, traces (name, type, x, y) and the number of marks."""
        return self.panel.locator(".js-plotly-plot").evaluate_all(READ_FIGURES)

    def open_code_cells(self) -> int:
        """How many code cells show their code."""
        return self.panel.locator(".jp-CodeCell .jp-InputArea-editor").filter(visible=True).count()

    def controls(self) -> list[tuple[str, str]]:
        """Kind (a key of KINDS) and label of every control on the page that a person can see."""
        return [(kind, label) for kind, label in self.panel.evaluate(READ_CONTROLS, KINDS)]

    def not_moved(self) -> list[str]:
        """Labels of the controls that have not been moved yet."""
        return sorted({label for _, label in self.controls()} - self.moved)

    # --- moving controls

    def choose(self, label: str, *options: str) -> None:
        """Choose an option (in a list that allows it, several) of a dropdown, list, radio group or row of buttons."""
        kind, control = self._control(label, "dropdown", "list", "radio", "toggles")
        if kind == "toggles":
            control.get_by_role("button", name=options[0], exact=True).click()
        elif kind == "radio":
            control.get_by_label(options[0], exact=True).check()
        else:
            control.locator("select").select_option(label=list(options))
        self._moved(label)

    def set_value(self, label: str, value: object) -> None:
        """Type a value and press Enter: the readout of a slider, a number, a text, a date as YYYY-MM-DD."""
        kind, control = self._control(label, "slider", "field")
        field = control.locator(".widget-readout" if kind == "slider" else "input, textarea")
        field.fill(str(value))
        field.press("Enter")
        field.blur()
        self._moved(label)

    def tick(self, label: str, on: bool = True) -> None:
        """Tick or clear a checkbox."""
        self._control(label, "checkbox")[1].locator("input").set_checked(on)
        self._moved(label)

    def press(self, label: str) -> None:
        """Press a button."""
        self._control(label, "button", "toggle")[1].click()
        self._moved(label)

    def options(self, label: str) -> list[str]:
        """What a dropdown, list, radio group or row of toggle buttons offers."""
        _, control = self._control(label, "dropdown", "list", "radio", "toggles")
        return [text.strip() for text in control.locator("option, button, label:has(input)").all_inner_texts()]

    def value(self, label: str) -> str | bool | list[str]:
        """What a control shows: its text or chosen option (of a list, options), or whether it is ticked."""
        kind, control = self._control(label, "dropdown", "list", "slider", "field", "toggles", "radio", "checkbox")
        if kind == "checkbox":
            return control.locator("input").is_checked()
        if kind == "field":
            return control.locator("input, textarea").input_value()
        if kind == "list":
            return control.locator("option:checked").all_inner_texts()
        shown = {
            "dropdown": "option:checked",
            "slider": ".widget-readout",
            "toggles": ".mod-active",
            "radio": "label:has(input:checked)",
        }
        return control.locator(shown[kind]).inner_text().strip()

    def _control(self, label: str, *kinds: str):
        """Kind and locator of the one visible control with this label, which must be of one of these kinds."""
        whole = re.compile(rf"^[\s\u200b]*{re.escape(label)}[\s\u200b]*$")
        found = []
        for kind in kinds:
            css, place = KINDS[kind]
            named = {"has": self.page.locator(place, has_text=whole)} if place else {"has_text": whole}
            controls = self.panel.locator(css).filter(visible=True, **named)
            found += [(kind, controls.nth(i)) for i in range(controls.count())]
        if len(found) != 1:
            raise LookupError(f"{len(found)} controls {label!r} of kind {'/'.join(kinds)}; on show: {self.controls()}")
        return found[0]

    def _moved(self, label: str) -> None:
        self.moved.add(label)
        self.wait_idle()

    # --- faults

    def problems(self) -> list[str]:
        """Everything that went wrong since the page was opened, a line each; empty when all is well."""
        return self._faults + self._kernel_faults() + self._shown_faults() + self._logged_faults()

    def _kernel_faults(self) -> list[str]:
        if not self.page.evaluate("() => 'kernelWatch' in window"):
            return []
        status = self.page.evaluate("() => window.jupyterapp.shell.currentWidget.sessionContext.session?.kernel.status")
        lost = [] if status in ("idle", "busy") else [f"kernel is {status}"]
        return self.page.evaluate("() => window.kernelWatch.faults") + lost

    def _shown_faults(self) -> list[str]:
        shown = [f"in a cell: {text.strip()}" for text in self.panel.locator(FAULT_OUTPUT).all_inner_texts()]
        return shown + FAULT_TEXT.findall("\n".join(self.panel.all_inner_texts()))

    def _logged_faults(self) -> list[str]:
        return [f"server log: {line}" for line in FAULT_LOG.findall(self.server.log(self._log_start))]

    def _hear_console(self, message) -> None:
        if message.type == "error" and not any(known in message.text for known in TOLERATED_CONSOLE):
            self._faults.append(f"console: {message.text} ({message.location.get('url', '')})")

    def _is_foreign(self, url: str) -> bool:
        foreign = urlsplit(url).hostname not in ("127.0.0.1", None)  # None: data and blob addresses
        if foreign:
            self._faults.append(f"tried to leave this machine: {url}")
        return foreign

    def _keep_local(self, route) -> None:
        if self._is_foreign(route.request.url):
            route.abort()
        else:
            route.continue_()

    # --- pictures

    def screenshot(self, name: str, css: str = ".jp-Cell") -> Path:
        """Save a picture of what this CSS selector names (all cells: the whole notebook), however long it is.

        The picture goes to the folder of the environment variable BRAKEDATA_SHOTS, or to the test's own.
        """
        self.panel.locator(css).first.scroll_into_view_if_needed()
        frame = self.panel.locator(".jp-WindowedPanel-outer")
        beyond = frame.evaluate("e => e.scrollHeight - e.clientHeight")
        self.page.set_viewport_size({**VIEWPORT, "height": VIEWPORT["height"] + beyond})
        frame.evaluate("e => { e.scrollTo(0, 0); document.activeElement.blur(); }")
        self.wait_idle()
        boxes = [area.bounding_box() for area in self.panel.locator(css).filter(visible=True).all()]
        left, top = (min(box[side] for box in boxes) for side in ("x", "y"))
        right = max(box["x"] + box["width"] for box in boxes)
        bottom = max(box["y"] + box["height"] for box in boxes)
        file = self._shots / f"{name}.png"
        clip = {"x": left, "y": top, "width": right - left, "height": bottom - top}
        self.page.screenshot(path=file, clip=clip, style=PLAIN_PICTURE)
        self.page.set_viewport_size(VIEWPORT)
        self.wait_idle()
        return file
