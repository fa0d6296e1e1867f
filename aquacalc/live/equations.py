"""Equations with sliders in a live page: the result follows; the page runs the translation of `result`."""

from __future__ import annotations

from aquacalc.equations import RECORDS

#: Those that lessons put sliders to, by key.
FUNCTIONS = {
    key: RECORDS[key].function
    for key in (
        "lip_weir_flow", "choking_flow", "priming_head", "bed_water", "cycle_time", "round_volume",
    )
}  # fmt: skip


def result(key: str, values: list) -> float:
    """Return the result of an equation, in the SI unit of its output.

    Parameters
    ----------
    key : str
        Of `FUNCTIONS`.
    values : list of float
        In the order in which its function takes them, each in the SI unit of its symbol.
    """
    return FUNCTIONS[key](*values)
