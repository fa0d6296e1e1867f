"""Run packed plans: in the interpreter for one answer at once, compiled for many.

Both are the same kernels. Compiling takes about half a minute once per
machine and version; the code is kept in the user's cache folder. Until it is
there a single plan runs in the interpreter (a few tenths of a second) while a
process in the background compiles.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from functools import cache
from importlib.util import find_spec

from aquacalc.engine import compiled
from aquacalc.engine import run as engine
from aquacalc.engine.state import Cycles, PackedPlan, Totals, Trace, blank

#: Rows kept of one run in time; a run that needs more keeps its first ones and says so.
TRACE_ROWS = 6000
#: Runs of one process that go through the interpreter before loading the machine code (0.7 s) pays: a report
#: and the changed plans that it tries.
FEW = 11

_asked = 0
_builder: subprocess.Popen | None = None


@cache
def _can_compile() -> bool:
    return find_spec("numba") is not None


def _compiled_wanted() -> bool:
    """Whether a single plan should run compiled now; starts the compiler when its code is missing."""
    global _asked, _builder
    _asked += 1
    if compiled.loaded():
        return True
    if _asked <= FEW or not _can_compile():
        return False
    if compiled.ready():
        return True
    if _builder is None:
        _builder = subprocess.Popen(
            [sys.executable, "-m", "aquacalc.engine.compiled"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
    return False


def run_packed(plan: PackedPlan, trace: bool = True) -> tuple[Totals, Cycles, Trace]:
    """Run one packed plan; the trace has no rows unless it is wanted."""
    rows = TRACE_ROWS if trace else 0
    if _compiled_wanted():
        return compiled.run(plan, rows)
    state, cycles, kept = blank(plan, rows)
    return Totals(*engine.run(plan, state, cycles, kept)), cycles, kept


def compile_now(say: Callable[[str], None] = lambda text: None) -> None:
    """Compile or load the kernels in this process, saying so when it takes long."""
    if not compiled.loaded() and not compiled.ready():
        say("Compiling the solver for this machine, once (about half a minute) ...")
    compiled.build()
