"""Results as they show themselves: a few lines at a prompt, a table in a workbook, a pandas frame."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from aquacalc.units import KINDS, in_unit, show

if TYPE_CHECKING:
    import pandas as pd

    from aquacalc.results.cycle import SystemCycle

OUTCOMES = {
    "cycles": "floods and drains",
    "spills": "spills without starting",
    "runs on": "runs on without stopping",
    "no inflow": "does not flood",
    "unsettled": "not settled",
}


def lines(run: SystemCycle) -> list[str]:
    """Say what a run comes to, a line for each siphon and one for the sump."""
    system = run.plan.units
    said = []
    for group in run.groups:
        line = f"{group.name}: {OUTCOMES[group.outcome]}"
        if group.period:
            line += f" every {show(group.period, 'time', system)}"
        said.append(f"{line}, at {show(group.inflow, 'flow', system)}")
    low, high = (show(z, "elevation", system) for z in (run.sump_low, run.sump_high))
    return [*said, f"{run.plan.sump.name}: {low} to {high}"]


def levels(run: SystemCycle) -> pd.DataFrame:
    """Return the levels of beds, chambers and tees over one cycle, in the plan's units.

    Returns
    -------
    pandas.DataFrame
        A row for each, by name; the unit stands in the heading. Levels are
        elevations above the plan's datum.
    """
    import pandas as pd

    system, unit = run.plan.units, getattr(KINDS["elevation"], run.plan.units)
    named = {"low": "lowest", "at_start": "siphon starts", "at_break": "siphon breaks", "high": "highest"}
    rows = {
        node.name: {
            f"{name}, {unit}": in_unit(getattr(node, key), "elevation", system)[0]
            for key, name in named.items()
        }
        for node in run.nodes
    }
    return pd.DataFrame.from_dict(rows, orient="index")


def html(said: list[str], frame: pd.DataFrame) -> str:
    """Return lines and a table as markup for a workbook."""
    return "".join(f"<p>{escape(line)}</p>" for line in said) + frame.to_html(float_format="{:.4g}".format)
