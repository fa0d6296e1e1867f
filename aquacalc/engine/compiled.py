"""The kernels through numba: the same source, compiled once per machine and kept on disk."""

from __future__ import annotations

import contextlib
import importlib
import threading
import types
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from aquacalc.engine import code_folder
from aquacalc.engine.state import Cycles, Floats, Ints, PackedPlan, State, Totals, Trace, blank

MODULES = (
    "aquacalc.equations.formulas",
    "aquacalc.hydraulics.cells",
    "aquacalc.hydraulics.path_flow",
    "aquacalc.hydraulics.duty",
    "aquacalc.engine.state",
    "aquacalc.engine.tables",
    "aquacalc.engine.pipe_flow",
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
    "mouth_flow", "net_at", "pump_flow", "record", "run_flow", "running", "set_levels", "set_runs",
    "siphon_outflow", "solve", "solve_tree", "stage", "table_flow", "watch", "water_held",
}  # fmt: skip

_kernels: types.SimpleNamespace | None = None
_given_up = False
_turn = threading.Lock()


def folder() -> Path:
    """Return the folder of the machine code of these sources."""
    return code_folder.folder_for((*MODULES, "aquacalc.engine.compiled"))


def ready() -> bool:
    """Whether machine code for these sources lies on disk and can be trusted."""
    return find_spec("numba") is not None and code_folder.whole(folder())


def loaded() -> bool:
    """Whether this process has the compiled kernels already."""
    return _kernels is not None


def _jitted(folder: Path | None) -> types.SimpleNamespace:
    """Return the kernel functions, each compiled at its first call and kept in the folder, if there is one.

    Every plain function of the kernel modules is copied with its code
    unchanged; only the names it looks up lead to the compiled ones. Only
    `run` is kept: its code holds all that it leads to.
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
    before, config.CACHE_DIR = config.CACHE_DIR, str(folder or "")
    try:
        for function in functions:
            copy = types.FunctionType(function.__code__, scope, function.__name__, function.__defaults__)
            copy.__qualname__ = function.__qualname__
            copy.__module__ = function.__module__
            inner = function.__name__ != "run"
            scope[function.__name__] = njit(
                cache=not inner and folder is not None,
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


def _with_code(folder: Path | None) -> types.SimpleNamespace:
    """Return the kernels with the machine code of `run`, from the folder if it is there."""
    import numba
    import numpy as np

    def example(kind):
        if kind in (int, float):
            return kind()
        if kind in (Ints, Floats):
            return np.zeros(0, np.int64 if kind is Ints else np.float64)
        return kind(*map(example, kind.__annotations__.values()))

    kernels = _jitted(folder)
    kept = kernels.run.stats.cache_path
    if folder is not None and not (kept and Path(kept).is_relative_to(folder)):
        return _with_code(None)  # numba could not write there and chose a place that nobody has looked at
    # of the types that a call has: of other ones the first call would compile all of it again
    kernels.run.compile(tuple(numba.typeof(example(kind)) for kind in (PackedPlan, State, Cycles, Trace)))
    return kernels


def as_arrays(record: tuple) -> tuple:
    """Return a record of lists as one of arrays."""
    import numpy as np

    def array(value, kind):
        if isinstance(value, tuple):
            return as_arrays(value)
        return np.array(value, np.int64 if kind == Ints else np.float64) if isinstance(value, list) else value

    return type(record)(*map(array, record, type(record).__annotations__.values()))


def run(plan: PackedPlan, rows: int = 0) -> tuple[Totals, Cycles, Trace]:
    """Run one packed plan, keeping at most so many rows of its trace, once `build` has said True."""
    import numpy as np

    state, cycles, trace = blank(plan, rows, np.zeros)
    # A plain tuple: machine code that called a class would fall over an interrupt.
    totals = Totals(*_kernels.run(as_arrays(plan), state, cycles, trace))
    return totals, Cycles(*(x.tolist() for x in cycles)), Trace(*(x.tolist() for x in trace))


def build() -> bool:
    """Load the machine code, or compile it; return whether it is there, which it is not without numba.

    While another process compiles the same sources this one waits for it.
    """
    global _kernels, _given_up
    with _turn:
        if _kernels is None and not _given_up:
            try:
                with contextlib.nullcontext() if ready() else code_folder.turn(folder()):
                    _kernels = _loaded_or_made()
            except ImportError:
                _given_up = True
    return _kernels is not None


def _loaded_or_made() -> types.SimpleNamespace:
    try:
        with code_folder.place(folder()) as place:
            kernels = _with_code(place)
            if not kernels.run.stats.cache_hits:
                code_folder.keep(place, folder())
            return kernels
    except ImportError:
        raise
    except Exception:  # a full disk, or whatever reading bytes that are not code may raise
        code_folder.drop(folder())
        return _with_code(None)


if __name__ == "__main__":
    build()
