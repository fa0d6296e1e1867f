"""The kernels through numba: the same source, compiled once per machine and kept on disk."""

from __future__ import annotations

import contextlib
import functools
import hashlib
import importlib
import sys
import time
import types
from pathlib import Path
from typing import Any

from aquacalc.engine.state import Cycles, Floats, Ints, PackedPlan, State, Totals, Trace, blank

MODULES = (
    "aquacalc.equations.formulas",
    "aquacalc.hydraulics.cells",
    "aquacalc.hydraulics.path_flow",
    "aquacalc.hydraulics.duty",
    "aquacalc.engine.state",
    "aquacalc.engine.tables",
    "aquacalc.engine.runs",
    "aquacalc.engine.junctions",
    "aquacalc.engine.rates",
    "aquacalc.engine.solve",
    "aquacalc.engine.step",
    "aquacalc.engine.events",
    "aquacalc.engine.run",
)

#: Compiled into their callers: handing some hundred arrays on costs more than these do.
INLINED = {
    "balance_junctions", "edge_flow", "factor", "follow", "imbalance", "level_of", "lip_flow_slope", "miss",
    "mouth_flow", "pump_flow", "record", "run_flow", "set_levels", "set_runs", "siphon_outflow", "solve",
    "solve_tree", "stage", "table_flow", "watch", "water_held",
}  # fmt: skip

#: Seconds after which another process's unfinished compiling counts as abandoned.
PATIENCE = 300.0


@functools.cache
def cache_folder() -> Path:
    """Folder for machine code, named after the sources: an edit anywhere never meets stale code.

    Their place and time count as well, because numba keeps its code by them.
    """
    digest = hashlib.sha256(sys.version.encode())
    for name in (*MODULES, __name__):
        source = Path(importlib.import_module(name).__file__)
        digest.update(f"{source} {source.stat().st_mtime_ns}".encode())
        digest.update(source.read_bytes())
    from platformdirs import user_cache_path

    return user_cache_path("aquacalc") / digest.hexdigest()[:16]


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
    scope: dict[str, Any] = {"__builtins__": __builtins__, "__name__": "aquacalc.engine.compiled_kernels"}
    functions = []
    for module in modules:
        for name, value in vars(module).items():
            if isinstance(value, types.FunctionType):
                if value.__module__ == module.__name__:
                    functions.append(value)
            elif not name.startswith("__"):
                scope[name] = value
    config: Any = numba.config
    njit: Any = numba.njit  # takes options that its types do not list
    before, config.CACHE_DIR = config.CACHE_DIR, str(cache_folder())
    try:
        for function in functions:
            copy = types.FunctionType(function.__code__, scope, function.__name__, function.__defaults__)
            copy.__qualname__ = function.__qualname__
            copy.__module__ = function.__module__
            inner = function.__name__ != "run"
            scope[function.__name__] = njit(
                cache=True,
                nogil=True,
                error_model="numpy",
                _nrt=False,  # nothing is allocated, so arrays need not be counted at every call
                no_cpython_wrapper=inner,  # a way in from Python takes longest of all to compile
                no_cfunc_wrapper=inner,
                forceinline=function.__name__ in INLINED,
            )(copy)
    finally:
        config.CACHE_DIR = before
    return types.SimpleNamespace(**{f.__name__: scope[f.__name__] for f in functions})


def as_arrays(record: tuple) -> tuple:
    """Return a record of lists as one of arrays."""
    import numpy as np

    def array(value, kind):
        if isinstance(value, tuple):
            return as_arrays(value)
        return np.array(value, np.int64 if kind == Ints else np.float64) if isinstance(value, list) else value

    return type(record)(*map(array, record, type(record).__annotations__.values()))


def run(plan: PackedPlan, rows: int = 0) -> tuple[Totals, Cycles, Trace]:
    """Run one packed plan, keeping at most so many rows of its trace."""
    import numpy as np

    state, cycles, trace = blank(plan, rows, np.zeros)
    # A plain tuple: machine code that called a class would fall over an interrupt.
    totals = Totals(*kernels().run(as_arrays(plan), state, cycles, trace))
    return totals, Cycles(*(x.tolist() for x in cycles)), Trace(*(x.tolist() for x in trace))


def build() -> None:
    """Compile or load everything `run` needs, and leave a mark that it is there.

    While another process compiles the same sources this one waits for it.
    """
    from numba import float64, int64
    from numba.core.types import NamedTuple

    types = {int: int64, float: float64, Ints: int64[::1], Floats: float64[::1]}

    def type_of(kind):
        return types.get(kind) or NamedTuple([type_of(k) for k in kind.__annotations__.values()], kind)

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
        kernels().run.compile(tuple(map(type_of, (PackedPlan, State, Cycles, Trace))))
        (cache_folder() / "ready").touch()
    finally:
        if mine:
            turn.rmdir()


if __name__ == "__main__":
    build()
