"""The equations: one record each, gathered by topic in `RECORDS`.

`RECORDS` and `TOPICS` are gathered when first asked for, so that a plan can be
read with `aquacalc.equations.losses` alone.
"""

from __future__ import annotations

from aquacalc.equations.record import Choice, Equation, Limit, RangeWarning, Result, Source, Symbol

__all__ = ["RECORDS", "TOPICS", "Choice", "Equation", "Limit", "RangeWarning", "Result", "Source", "Symbol"]


def __getattr__(name: str):
    if name in ("RECORDS", "TOPICS"):
        from aquacalc.equations import records

        return getattr(records, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
