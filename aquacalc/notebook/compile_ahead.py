"""Have the compiled solver at hand before the first slider moves."""

from __future__ import annotations

from collections.abc import Callable

from aquacalc.engine import compiled, runner


def there() -> bool:
    """Whether the compiled solver is loaded, or there is none to wait for."""
    return compiled.loaded() or not runner.compiling()


def prepare(say: Callable[[str], None]) -> None:
    """Load the compiled solver; where this machine has none yet, have it made meanwhile and say so."""
    if compiled.loaded():
        return
    if compiled.ready():
        runner.compile_now()
        return
    runner.compile_aside()
    if runner.compiling():
        say(
            "The solver is being compiled for this machine, once: for about half a minute the sliders "
            "answer slowly."
        )
