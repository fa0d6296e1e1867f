"""Kernels are compiled in the background as the tests start; files that take long come first."""

import subprocess
import sys

from hypothesis import settings

from aquacalc.engine import compiled

# The suite draws the same plans each time and fails for no slowness; `python -m tests.properties` draws anew.
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")

#: Files that take a minute: begun last, they would leave one core idle at the end.
LONG = ("test_workbooks_browser.py", "test_workbooks.py", "test_fit.py")


def pytest_collection_modifyitems(items):
    items.sort(key=lambda item: LONG.index(item.path.name) if item.path.name in LONG else len(LONG))


def pytest_configure(config):
    worker = hasattr(config, "workerinput")
    if not worker and not compiled.ready():
        silent = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        subprocess.Popen([sys.executable, "-m", "aquacalc.engine.compiled"], **silent)


def pytest_runtest_setup(item):
    """Run by machine code as soon as it is there; what has to be interpreted says so itself."""
    if not compiled.loaded() and compiled.ready():
        compiled.build()
