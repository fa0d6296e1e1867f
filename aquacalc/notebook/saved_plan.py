"""The reader's own plan, handed from one workbook to the next."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from IPython.display import display

from aquacalc.catalogue import data_dir
from aquacalc.notebook.reader_units import propose, units
from aquacalc.notebook.showing import said
from aquacalc.plan import Plan, read_plan

#: Where a panel's "Save plan" puts a plan unless another name is given.
MINE = "my-plan.toml"


def demo_plan(name: str = "greenhouse") -> Plan:
    """Open a plan of data/plans by its name, in the units in use."""
    return replace(read_plan(data_dir() / "plans" / f"{name}.toml"), units=units())


def open_plan(demo: str = "greenhouse", mine: str | Path = MINE, several: bool = False) -> Plan:
    """Open the plan that was saved last in this folder, or a demo plan.

    Parameters
    ----------
    demo : str
        Name of a plan in data/plans.
    mine : str or Path
        The reader's file.
    several : bool
        Whether only a plan with several beds on one siphon will do.

    Returns
    -------
    Plan
        In the units that the reader has chosen, so that every answer is. Until one is chosen, the units of
        the reader's own plan are used by everything.

    Raises
    ------
    PlanError
        When the reader's file cannot be read as a plan.
    """
    mine = Path(mine)
    why = f"There is no {mine} here yet."
    if mine.exists():
        plan = read_plan(mine)
        if not several or (len(plan.beds) > 1 and len(plan.siphons) == 1 and plan.runs):
            display(said(f"Opened your plan {mine}."))
            propose(plan.units)
            return replace(plan, units=units())
        why = f"Your {mine} does not have several beds on one siphon."
    plan = demo_plan(demo)
    display(said(f"{why} This is the demo plan, all invented: {plan.name}."))
    return plan
