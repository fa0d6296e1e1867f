"""The whole build of a plan: every table, step and drawing, for screen, spreadsheet and paper."""

from __future__ import annotations

from dataclasses import dataclass

from aquacalc.buildsheet import tables
from aquacalc.buildsheet.as_planned import as_planned_table
from aquacalc.buildsheet.cut_list import CutList, cut_list
from aquacalc.buildsheet.drilling import Hole, cutouts, drilling
from aquacalc.buildsheet.materials import Bill, bill
from aquacalc.buildsheet.options import Option, compare
from aquacalc.buildsheet.steps import Blank, Step, blanks, commissioning, steps
from aquacalc.buildsheet.stock import Workshop
from aquacalc.buildsheet.table import Table
from aquacalc.buildsheet.weight import BedWeight, weights
from aquacalc.buildsheet.work import time_table, tools_table
from aquacalc.geometry.strainers import strainers
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle, run_plan
from aquacalc.units import show


@dataclass(frozen=True)
class BuildSheet:
    """Everything for the bench.

    Attributes
    ----------
    plan : Plan
    workshop : Workshop
    run : SystemCycle
    cuts : CutList
    holes : tuple of Hole
    bill : Bill
    weights : tuple of BedWeight
    options : tuple of Option
    tables : tuple of Table
        In the order of the page; each is one CSV.
    steps, checks : tuple of Step
    readings : tuple of Blank
    warnings : tuple of str
        What cannot be built as planned.
    """

    plan: Plan
    workshop: Workshop
    run: SystemCycle
    cuts: CutList
    holes: tuple[Hole, ...]
    bill: Bill
    weights: tuple[BedWeight, ...]
    options: tuple[Option, ...]
    tables: tuple[Table, ...]
    steps: tuple[Step, ...]
    checks: tuple[Step, ...]
    readings: tuple[Blank, ...]
    warnings: tuple[str, ...]

    def table(self, key: str) -> Table:
        """Return the table called `key`."""
        return next(t for t in self.tables if t.key == key)


def build_sheet(plan: Plan, workshop: Workshop | None = None) -> BuildSheet:
    """Reckon the build of a plan.

    Parameters
    ----------
    plan : Plan
        Checked, as `read_plan` gives it.
    workshop : Workshop, optional
        What the grower owns and pays; shop lengths and no prices without it.

    Returns
    -------
    BuildSheet

    Raises
    ------
    WorkshopError
        For a price in a unit that the item is not bought in.
    """
    workshop = workshop or Workshop()
    run = run_plan(plan)
    cuts = cut_list(plan, workshop)
    holes = drilling(plan, workshop)
    listed = bill(plan, cuts, holes, workshop.prices)
    weighed = weights(plan, run)
    compared = compare(plan, workshop, run)
    read = blanks(plan, run)
    strained, bells = strainers(plan), cutouts(plan)
    made = (
        tables.cuts_table(cuts, plan.units),
        tables.stock_table(cuts, workshop, plan.units),
        tables.holes_table(holes, workshop, plan.units),
        tables.outlets_table(plan),
        tables.openings_table(plan, strained, bells),
        tables.bill_table(listed, workshop),
        tools_table(plan, holes, strained, workshop),
        time_table(plan, cuts, holes, strained, bells),
        as_planned_table(plan),
        tables.options_table(compared, plan, listed.currency),
        tables.weight_table(weighed, plan),
        tables.readings_table(read, plan),
    )
    return BuildSheet(
        plan,
        workshop,
        run,
        cuts,
        holes,
        listed,
        weighed,
        compared,
        made,
        steps(plan, cuts, holes, weighed),
        commissioning(plan),
        read,
        _warnings(cuts, holes, weighed, plan),
    )


def _warnings(
    cuts: CutList, holes: tuple[Hole, ...], weighed: tuple[BedWeight, ...], plan: Plan
) -> tuple[str, ...]:
    found = [
        f"{c.mark} ({c.way}) does not fit its joints: see the notes of the cut list."
        for c in cuts.cuts
        if not c.fits
    ]
    found += [f"Hole in {h.vessel} for {h.what}: {h.caution}." for h in holes if "only" in h.caution]
    for w in weighed:
        if w.over:
            load, limit = (show(x, "load", plan.units) for x in (w.per_area, w.limit))
            found.append(f"{w.bed} lays {load} on its area when full; the plan's floor takes {limit}.")
    return tuple(found)
