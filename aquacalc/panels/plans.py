"""The reader's own plan, handed from one workbook to the next."""

from __future__ import annotations

from pathlib import Path

from aquacalc.catalogue import data_dir
from aquacalc.plan import Plan, read_plan

#: Where a panel's "Save plan" puts a plan unless another name is given.
MINE = "my-plan.toml"


def open_plan(demo: str = "greenhouse", mine: str | Path = MINE) -> Plan:
    """Open the plan that was saved last in this folder, or a demo plan.

    Parameters
    ----------
    demo : str
        Name of a plan in data/plans.
    mine : str or Path
        The reader's file.

    Returns
    -------
    Plan

    Raises
    ------
    PlanError
        When the reader's file cannot be read as a plan.
    """
    mine = Path(mine)
    if mine.exists():
        print(f"Opened your plan {mine}.")
        return read_plan(mine)
    plan = read_plan(data_dir() / "plans" / f"{demo}.toml")
    print(
        f"There is no {mine} here yet, so this is the demo plan: {plan.name}. All its numbers are invented."
    )
    return plan
