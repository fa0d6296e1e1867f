"""The kernels through numba: the same source, compiled once per machine and kept on disk."""

from __future__ import annotations

import contextlib
import functools
import hashlib
import importlib
import os
import sys
import time
import types
from pathlib import Path

MODULES = (
    "aquacalc.equations.formulas",
    "aquacalc.hydraulics.cells",
    "aquacalc.hydraulics.path_flow",
    "aquacalc.engine.deck",
    "aquacalc.engine.tables",
    "aquacalc.engine.runs",
    "aquacalc.engine.junctions",
    "aquacalc.engine.network",
    "aquacalc.engine.solve",
    "aquacalc.engine.step",
    "aquacalc.engine.events",
    "aquacalc.engine.run",
    "aquacalc.engine.batch",
)

#: Seconds after which another process's unfinished compiling counts as abandoned.
PATIENCE = 300.0


@functools.cache
def cache_folder() -> Path:
    """Folder for machine code, named after the sources: an edit anywhere never meets stale code.

    Their place and time count as well, because numba keeps its code by them.
    """
    digest = hashlib.sha256(sys.version.encode())
    for name in MODULES:
        source = Path(importlib.import_module(name).__file__)
        digest.update(f"{source} {source.stat().st_mtime_ns}".encode())
        digest.update(source.read_bytes())
    base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "aquacalc" / digest.hexdigest()[:16]


def ready() -> bool:
    """Whether machine code for these sources lies on disk."""
    return (cache_folder() / "ready").exists()


def loaded() -> bool:
    """Whether this process has the compiled kernels already."""
    return kernels.cache_info().currsize > 0


@functools.cache
def kernels() -> types.SimpleNamespace:
    """Return the kernel functions, each compiled at its first call.

    Every plain function of the kernel modules is copied with its code
    unchanged; only the names it looks up lead to the compiled ones.
    """
    import numba

    modules = [importlib.import_module(name) for name in MODULES]
    scope: dict[str, object] = {"__builtins__": __builtins__, "__name__": "aquacalc.engine.compiled_kernels"}
    functions = []
    for module in modules:
        for name, value in vars(module).items():
            if isinstance(value, types.FunctionType):
                if value.__module__ == module.__name__:
                    functions.append(value)
            elif not name.startswith("__"):
                scope[name] = value
    before = numba.config.CACHE_DIR
    numba.config.CACHE_DIR = str(cache_folder())
    try:
        for function in functions:
            copy = types.FunctionType(function.__code__, scope, function.__name__, function.__defaults__)
            copy.__qualname__ = function.__qualname__
            copy.__module__ = function.__module__
            scope[function.__name__] = numba.njit(cache=True, nogil=True, error_model="numpy")(copy)
    finally:
        numba.config.CACHE_DIR = before
    return types.SimpleNamespace(**{f.__name__: scope[f.__name__] for f in functions})


def build() -> None:
    """Compile or load everything `run` needs, and leave a mark that it is there.

    While another process compiles the same sources this one waits for it.
    """
    from numba import float64, int64

    turn = cache_folder() / "compiling"
    cache_folder().mkdir(parents=True, exist_ok=True)
    mine = False
    while not ready() and not mine:
        try:
            turn.mkdir()
            mine = True
        except FileExistsError:
            with contextlib.suppress(FileNotFoundError):
                if time.time() - turn.stat().st_mtime > PATIENCE:
                    turn.rmdir()  # whoever began it is gone
            time.sleep(0.2)
    try:
        row, rows = float64[::1], float64[:, ::1]
        kernels().run.compile((int64[::1], row, row, row, row, int64))
        kernels().run_batch.compile((int64[::1], rows, row, rows, row))
        (cache_folder() / "ready").touch()
    finally:
        if mine:
            turn.rmdir()


if __name__ == "__main__":
    build()
