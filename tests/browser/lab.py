"""JupyterLab on loopback and a page of Chromium on it, for the browser tests and the panel benchmark."""

from __future__ import annotations

import contextlib
import json
import secrets
import socket
import subprocess
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import nbformat
from playwright.sync_api import Page, sync_playwright

from aquacalc.commands.workbooks import lab_command, lab_environment

CHROMIUM = "/usr/bin/chromium"
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
PATIENCE = 120.0


class Lab:
    """A running JupyterLab: its process, address and token."""

    def __init__(self, process: subprocess.Popen, port: int, token: str):
        self.process, self.port, self.token = process, port, token

    def url(self, path: str) -> str:
        """Address of a path, with the token."""
        return f"http://127.0.0.1:{self.port}{path}{'&' if '?' in path else '?'}token={self.token}"

    def get(self, path: str):
        """JSON of an address of the server."""
        with urllib.request.urlopen(self.url(path), timeout=10) as reply:
            return json.load(reply)


@contextlib.contextmanager
def lab(folder: Path) -> Iterator[Lab]:
    """Serve `folder` with JupyterLab until the block ends."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    token = secrets.token_hex(16)
    command = [*lab_command(folder), f"--ServerApp.port={port}", "--no-browser"]
    command.append("--LabApp.expose_app_in_browser=True")
    home = folder / ".home"  # no settings of the user's own
    extra = {
        "JUPYTER_CONFIG_DIR": str(home / "config"),
        "JUPYTERLAB_SETTINGS_DIR": str(home / "settings"), "JUPYTERLAB_WORKSPACES_DIR": str(home / "spaces"),
    }  # fmt: skip
    process = subprocess.Popen(
        command,
        cwd=folder,
        env=lab_environment(token) | extra,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    served = Lab(process, port, token)
    try:
        end = time.monotonic() + PATIENCE
        while True:
            try:
                served.get("/api/status")
                break
            except OSError:
                if process.poll() is not None or time.monotonic() > end:
                    raise RuntimeError("JupyterLab did not start") from None
                time.sleep(0.2)
        yield served
    finally:
        process.terminate()
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()


class Watched:
    """A page and its complaints; if `guarded`, no request leaves and what it asked for is noted."""

    def __init__(self, page: Page, guarded: bool):
        self.page = page
        self.outside: list[str] = []
        self.errors: list[str] = []
        if guarded:
            page.route("**/*", self._route)
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on("console", lambda said: self.errors.append(said.text) if said.type == "error" else None)

    def _route(self, route):
        address = route.request.url
        if address.startswith(("http://127.0.0.1:", "ws://127.0.0.1:", "data:", "blob:")):
            route.continue_()
        else:
            self.outside.append(address)
            route.abort()


@contextlib.contextmanager
def chromium(width: int = 1280, height: int = 900, guarded: bool = True) -> Iterator[Watched]:
    """Open a fresh Chromium with one watched page.

    To look at each request takes time that a reader does not spend; a benchmark does not guard.
    """
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        try:
            yield Watched(browser.new_page(viewport={"width": width, "height": height}), guarded)
        finally:
            browser.close()


def open_notebook(served: Lab, page: Page, name: str) -> str:
    """Open a notebook and run all its cells; the id of its kernel."""
    page.goto(served.url(f"/doc/tree/{name}?reset"))
    page.wait_for_selector(".jp-Notebook .jp-Cell", timeout=PATIENCE * 1e3)
    kernel = wait_idle(served, page, name)
    page.wait_for_function(READY, arg=name, timeout=PATIENCE * 1e3)
    page.evaluate("window.jupyterapp.commands.execute('notebook:run-all-cells')")
    page.wait_for_function(ALL_RUN, timeout=PATIENCE * 1e3)
    wait_idle(served, page, name)
    return kernel


#: Commands go to this notebook, and its page knows that the kernel is idle; "run all" may do nothing before.
READY = """(name) => {
    const panel = window.jupyterapp.shell.currentWidget;
    return panel?.context?.isReady && panel.context.path === name && panel.sessionContext.isReady
        && panel.sessionContext.session?.kernel?.status === 'idle'
        && window.jupyterapp.commands.isEnabled('notebook:run-all-cells');
}"""
#: Every code cell with something in it has been run and none is running.
ALL_RUN = """() => {
    const cells = window.jupyterapp.shell.currentWidget.content.widgets.filter(
        c => c.model.type === 'code' && c.model.sharedModel.source.trim());
    return cells.length > 0 && cells.every(
        c => c.model.executionCount && c.model.sharedModel.executionState !== 'running');
}"""


def wait_idle(served: Lab, page: Page, name: str) -> str:
    """Wait until the notebook's kernel is idle; the kernel's id."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        for session in served.get("/api/sessions"):
            if session["path"] == name and session["kernel"]["execution_state"] == "idle":
                return session["kernel"]["id"]
        page.wait_for_timeout(200)  # not time.sleep: the page's requests wait for us
    raise RuntimeError(f"the kernel of {name} is not idle")


def write_notebook(path: Path, *cells: str) -> None:
    """Write a notebook of code cells."""
    made = [nbformat.v4.new_code_cell(source) for source in cells]
    metadata = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
    nbformat.write(nbformat.v4.new_notebook(cells=made, metadata=metadata), path)


def serious(page: Page, *where: str) -> list[str]:
    """What axe-core finds serious or critical, in all of a page or in the elements named."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page, {"include": [[place] for place in where]} if where else None)
    return [
        f"{v['id']}: {v['help']}; {v['nodes'][0]['target']}"
        for v in found.response["violations"]
        if v["impact"] in ("serious", "critical")
    ]


#: What of a notebook's page is ours; the rest is JupyterLab's own.
OURS = (".jp-NotebookPanel-notebook .jp-OutputArea", ".jp-NotebookPanel-notebook .jp-MarkdownOutput")


def narrow_page(page: Page, heard: bool = False) -> list[str]:
    """Go through the page in a window of 800 pixels; what is cut or lies over something else there.

    If `heard`, what axe-core finds serious in cells and outputs too.
    """
    before = page.viewport_size
    page.set_viewport_size({"width": 800, "height": 3200})
    found: dict[str, None] = {}
    below = True
    page.evaluate(f"{SCROLLED}.scrollTop = 0")
    while below:
        page.wait_for_timeout(300)  # cells are put in as they come into view
        found |= dict.fromkeys(page.evaluate(UNCLEAR) + (serious(page, *OURS) if heard else []))
        below = page.evaluate(f"(n => n.scrollTop + 1 < (n.scrollTop += 2800, n.scrollTop))({SCROLLED})")
    page.set_viewport_size(before)
    return list(found)


SCROLLED = "document.querySelector('.jp-NotebookPanel-notebook .jp-WindowedPanel-outer')"
#: Panels and outputs wider than their place, unless they can be scrolled, and words in a picture that lie
#: over others or outside of it.
UNCLEAR = """() => {
    const found = [];
    const places = '.jp-OutputArea-output, .jp-OutputArea-output :not(svg *)';
    for (const node of document.querySelectorAll(places)) {
        const style = getComputedStyle(node);
        if (node.closest('.noUi-target, mjx-container, .MathJax') || style.display === 'inline') continue;
        if (node.clientWidth && node.scrollWidth > node.clientWidth + 1 && style.overflowX !== 'auto')
            found.push(`${node.tagName} ${node.className}: ${node.scrollWidth} in ${node.clientWidth} px`);
    }
    for (const picture of document.querySelectorAll('.jp-OutputArea svg[role=img]')) {
        const edge = picture.getBoundingClientRect();
        const texts = [...picture.querySelectorAll('text')].filter((t) => t.textContent.trim());
        const boxes = texts.map((t) => t.getBoundingClientRect());
        boxes.forEach((a, k) => {
            const out = a.left < edge.left - 1 || a.right > edge.right + 1;
            if (out) found.push(`cut: ${texts[k].textContent}`);
            boxes.slice(k + 1).forEach((b, j) => {
                const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
                const tall = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
                if (wide > 1 && tall > 2)
                    found.push(`${texts[k].textContent} over ${texts[k + 1 + j].textContent}`);
            });
        });
    }
    return found;
}"""
