"""Kernel: many packed plans of one layout, one after another without returning to the interpreter."""

from __future__ import annotations

from aquacalc.engine.run import run


def run_batch(I, F, W, OUT, TR):
    """Run the plans whose floats are the rows of `F`, results in the rows of `OUT`; no trace."""
    for k in range(len(F)):
        run(I, F[k], W, OUT[k], TR, 0)
