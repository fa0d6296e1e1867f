"""Equations with sliders in a live page: the calculation follows; the page runs what is translated of it."""

from __future__ import annotations

import math

from aquacalc.equations import RECORDS
from aquacalc.equations.worked import fitting, fitting_units
from aquacalc.units import show

#: Those that lessons put sliders to, by key.
FUNCTIONS = {
    key: RECORDS[key].function
    for key in (
        "lip_weir_flow", "choking_flow", "priming_head", "bed_water", "cycle_time", "round_volume",
    )
}  # fmt: skip
#: Their symbols, the result first: key, kind, and the unit in a calculation in metric and US units.
SYMBOLS = {
    key: [(s.key, s.kind, fitting_units(RECORDS[key], "metric", s), fitting_units(RECORDS[key], "us", s))
          for s in RECORDS[key].symbols]
    for key in FUNCTIONS
}  # fmt: skip
#: Halvings that find another symbol than the result.
HALVINGS = 200


def solved(key: str, find: str, values: dict[str, float]) -> float:
    """Return a symbol of an equation from the others, all SI; a result must rise with what is found."""
    output, *inputs = [s[0] for s in SYMBOLS[key]]
    function = FUNCTIONS[key]
    if find == output:
        return function(*[values[name] for name in inputs])
    low, high = 0.0, 1e3
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if function(*[middle if name == find else values[name] for name in inputs]) < values[output]:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def calculation(key: str, find: str, values: dict[str, float], system: str) -> dict[str, str]:
    """Return the numbers of a worked calculation as texts.

    Parameters
    ----------
    key : str
        Of `FUNCTIONS`.
    find : str
        The symbol wanted.
    values : dict of str to float
        Of all other symbols, SI.
    system : {"metric", "us"}

    Returns
    -------
    dict of str to str
        By symbol, in units that fit together; the one found also in the unit of the trade, and under
        "result" in that alone.
    """
    value = solved(key, find, values)
    found = {}
    for name, kind, metric, us in SYMBOLS[key]:
        unit = metric if system == "metric" else us
        if name != find:
            found[name] = fitting(values[name], kind, unit)
        elif not math.isfinite(value):
            found[name] = found["result"] = "no value"
        else:
            own, traded = fitting(value, kind, unit), show(value, kind, system)
            found[name] = f"{own} = {traded}" if unit not in traded.split(" ") else traded
            found["result"] = traded
    return found
