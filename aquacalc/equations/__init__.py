"""The equations: one record each, gathered by topic in `RECORDS`.

`RECORDS` and `TOPICS` are gathered when first asked for, so that a plan can be
read with `aquacalc.equations.losses` alone.
"""

from __future__ import annotations

from aquacalc.equations.record import Choice, Equation, Limit, RangeWarning, Result, Source, Symbol

__all__ = [
    "RECORDS",
    "TOPICS",
    "Choice",
    "Equation",
    "Limit",
    "RangeWarning",
    "Result",
    "Source",
    "Symbol",
    "equation",
]


def equation(key: str) -> Equation:
    """Return the equation called `key`; its symbols take text, a pint quantity, or a float in SI.

    Raises
    ------
    ValueError
        For a name that no equation has, with those that resemble it.

    Examples
    --------
    >>> equation("circle_area").compute(D="40.9 mm")
    area: 13.1 cm²
    """
    from aquacalc.equations.records import RECORDS

    if key not in RECORDS:
        import difflib

        near = difflib.get_close_matches(str(key), RECORDS, n=3) or sorted(RECORDS)
        raise ValueError(f"there is no equation {key!r}; did you mean {', '.join(near)}?")
    return RECORDS[key]


def __getattr__(name: str):
    if name in ("RECORDS", "TOPICS"):
        from aquacalc.equations import records

        return getattr(records, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
