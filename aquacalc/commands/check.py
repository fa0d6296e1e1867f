"""`aquacalc check`: what is here, what is missing, and the command that adds it."""

from __future__ import annotations

import argparse
import platform
import sys
from importlib.util import find_spec

SUMMARY = "say what is installed, what is missing and how to add it"

#: What each extra brings, by the name under which it is imported, and what it is for. "" is always there.
EXTRAS = {
    "": ("report, keys, start", ("pint", "platformdirs", "tomlkit")),
    "pages": ("report --html, live", ("jinja2", "latex2mathml")),
    "build": ("build, bench, compare and most of ask", ("matplotlib", "numpy", "scipy", "typst")),
    "workbooks": (
        "the workbooks, the rest of ask, evidence --out",
        ("IPython", "ipykernel", "ipywidgets", "jupyterlab", "nbconvert", "nbformat", "nh3", "numba",
         "pandas", "SALib", "sympy"),
    ),
}  # fmt: skip


def arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments: none."""


def adds(name: str) -> str:
    """Return the command that adds what is imported under `name`."""
    name = {"markupsafe": "jinja2"}.get(name, name)  # comes with it
    extra = next((extra for extra, (_, names) in EXTRAS.items() if name in names), "workbooks")
    return f'{sys.executable} -m pip install "aquacalc{f"[{extra}]" if extra else ""}"'


def run(args: argparse.Namespace) -> int:
    """Print what is here and what is missing; 0, or 2 when even the report lacks something."""
    from aquacalc import __version__
    from aquacalc.catalogue import data_dir

    print(f"aquacalc {__version__}, Python {platform.python_version()}, {platform.system()}")
    print(f"data: {data_dir()}")
    whole = True
    for extra, (purpose, names) in EXTRAS.items():
        missing = [name for name in names if find_spec(name) is None]
        whole = whole and (bool(extra) or not missing)
        if missing:
            print(f"{purpose}: {', '.join(missing)} missing. Fix: {adds(missing[0])}")
        else:
            print(f"{purpose}: ready")
    if find_spec("numba") is not None:
        from aquacalc.engine import compiled

        ready = compiled.ready()
        print(
            f"compiled solver: {'ready' if ready else 'made by the first workbook or sweep (half a minute)'}"
        )
    return 0 if whole else 2
