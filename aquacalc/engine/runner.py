"""Run packed plans: in the interpreter for one answer at once, compiled for many.

Both are the same kernels. Compiling takes about half a minute once per
machine and version; the code is kept in the user's cache folder. Until it is
there a single plan runs in the interpreter (a few tenths of a second) while a
process in the background compiles.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Sequence

from aquacalc.engine import compiled
from aquacalc.engine import run as engine
from aquacalc.engine.deck import out_width as width_of_out
from aquacalc.engine.deck import trace_width
from aquacalc.engine.packing import Deck

#: Rows kept of one run in time; a run that needs more keeps its first ones and says so.
TRACE_ROWS = 6000
#: Runs of one process that go through the interpreter before loading the machine code (0.7 s) pays: a report
#: and the changed plans that it tries.
FEW = 11

_asked = 0
_builder: subprocess.Popen | None = None


def _compiled_wanted() -> bool:
    """Whether a single plan should run compiled now; starts the compiler when its code is missing."""
    global _asked, _builder
    _asked += 1
    if compiled.loaded():
        return True
    if _asked <= FEW:
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


def run_deck(deck: Deck, trace: bool = True) -> tuple[Sequence[float], Sequence[float]]:
    """Run one packed plan.

    Returns
    -------
    out : sequence of float
        As laid out in `aquacalc.engine.deck`.
    rows : sequence of float
        Trace rows one after another (empty without `trace`).
    """
    nodes, groups = len(deck.nodes), len(deck.groups)
    rows = TRACE_ROWS if trace else 0
    trace_size = rows * trace_width(nodes, groups) or 1
    if _compiled_wanted():
        import numpy as np

        out, buffer = np.zeros(width_of_out(nodes, groups)), np.zeros(trace_size)
        compiled.kernels().run(
            np.array(deck.ints, dtype=np.int64),
            np.array(deck.floats, dtype=np.float64),
            np.zeros(deck.work),
            out,
            buffer,
            rows,
        )
        return out.tolist(), buffer
    out, buffer = [0.0] * width_of_out(nodes, groups), [0.0] * trace_size
    engine.run(deck.ints, deck.floats, [0.0] * deck.work, out, buffer, rows)
    return out, buffer


def compile_now(say: Callable[[str], None] = lambda text: None) -> None:
    """Compile or load the kernels in this process, saying so when it takes long."""
    if not compiled.loaded() and not compiled.ready():
        say("Compiling the solver for this machine, once (about half a minute) ...")
    compiled.build()
