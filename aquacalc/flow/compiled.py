"""The kernels through numba: the same source, compiled once per machine and kept on disk."""

from __future__ import annotations

import functools
import hashlib
import importlib
import os
import sys
import types
from pathlib import Path

MODULES = (
    "aquacalc.formulas",
    "aquacalc.flow.deck",
    "aquacalc.flow.tables",
    "aquacalc.flow.network",
    "aquacalc.flow.engine",
    "aquacalc.flow.batch",
)


@functools.cache
def cache_folder() -> Path:
    """Folder for machine code, named after the sources: an edit anywhere never meets stale code."""
    digest = hashlib.sha256(sys.version.encode())
    for name in MODULES:
        digest.update(Path(importlib.import_module(name).__file__).read_bytes())
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
    scope: dict[str, object] = {"__builtins__": __builtins__, "__name__": "aquacalc.flow.compiled_kernels"}
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
    """Compile or load everything `run` needs, and leave a mark that it is there."""
    from numba import float64, int64

    kernels().run.compile((int64[::1], float64[::1], float64[::1], float64[::1], float64[::1], int64))
    if not ready():
        cache_folder().mkdir(parents=True, exist_ok=True)
        (cache_folder() / "ready").touch()


if __name__ == "__main__":
    build()
