"""Run packed plans: in the interpreter for one answer at once, compiled for many.

Both are the same kernels. Compiling takes about half a minute once per
machine and version; the code is kept in the user's cache folder. Where it
cannot be had, every plan runs in the interpreter (a few hundredths of a second).
"""

from __future__ import annotations

import contextlib
import subprocess
import sys
from collections.abc import Callable
from importlib.util import find_spec

from aquacalc.engine import compiled
from aquacalc.engine import run as engine
from aquacalc.engine.state import Cycles, PackedPlan, Totals, Trace, blank

#: Rows kept of one run in time; a run that needs more keeps its first ones and says so.
TRACE_ROWS = 6000
#: Runs of one process that go through the interpreter before loading the machine code (0.9 s) pays: a report
#: and the changed plans that it tries. A plan of many beds counts for more.
FEW = 11

_asked = 0
_builder: subprocess.Popen | None = None


def _compiled_wanted() -> bool:
    """Whether a single plan should run compiled now: where the machine code is there, after the first few."""
    return compiled.loaded() or (_asked > FEW and compiled.ready() and compiled.build())


def run_packed(plan: PackedPlan, trace: bool = True) -> tuple[Totals, Cycles, Trace]:
    """Run one packed plan; the trace has no rows unless it is wanted."""
    global _asked
    _asked += max(1, plan.nodes // 5)
    rows = TRACE_ROWS if trace else 0
    if _compiled_wanted():
        return compiled.run(plan, rows)
    state, cycles, kept = blank(plan, rows)
    return Totals(*engine.run(plan, state, cycles, kept)), cycles, kept


def compile_now(say: Callable[[str], None] = lambda text: None) -> bool:
    """Compile or load the kernels in this process, saying so when it takes long; False without numba."""
    if not compiled.loaded() and not compiled.ready():
        say("Compiling the solver for this machine, once (about half a minute) ...")
    return compiled.build()


def compile_aside() -> None:
    """Have another process compile, once; where none can be started the interpreter goes on."""
    global _builder
    if _builder is None and find_spec("numba") is not None:
        with contextlib.suppress(OSError):
            _builder = subprocess.Popen(
                [sys.executable, "-m", "aquacalc.engine.compiled"],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )


def compiling() -> bool:
    """Whether another process is compiling for this one."""
    return _builder is not None and _builder.poll() is None
