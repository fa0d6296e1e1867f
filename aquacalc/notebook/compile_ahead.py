"""Have the compiled solver at hand before the first slider moves."""

from __future__ import annotations

from collections.abc import Callable

from aquacalc.engine import compiled, runner


def there() -> bool:
    """Whether the compiled solver is loaded."""
    return compiled.loaded()


def prepare(say: Callable[[str], None]) -> None:
    """Load the compiled solver; where this machine has none yet, say so: the runs have it made meanwhile."""
    if there():
        return
    if compiled.ready():
        runner.compile_now()
        return
    say(
        "The solver is being compiled for this machine, once: for about half a minute the sliders "
        "answer slowly."
    )
