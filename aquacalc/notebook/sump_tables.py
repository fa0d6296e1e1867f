"""Levels of the sump, and what its size allows: the tables of the lesson on sumps."""

from __future__ import annotations

from aquacalc.design.sump import sump_size, tallest_standpipe
from aquacalc.notebook.equation_panel import EquationPanel
from aquacalc.notebook.reader_units import units
from aquacalc.notebook.showing import Shown, said
from aquacalc.notebook.table import Grid, grid
from aquacalc.plan import edit
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import sump_range
from aquacalc.units import show


def swing_panel(plan: Plan) -> EquationPanel:
    """Return how far a round sump swings, with sliders that begin at the plan's sump and flood."""
    group = run_plan(plan).groups[0]
    flood, across = group.volume_high - group.volume_low, plan.sump.shape.across(0.0)[0]
    ranges = {"D": (0.5 * across, across, 1.6 * across), "V": (0.3 * flood, flood, 2.5 * flood)}
    return EquationPanel("round_volume", ranges, find="h")


def sump_levels(plan: Plan) -> Grid:
    """Return where the sump stands at its highest and lowest, and what that is held against, as a table."""

    def at(level: float) -> str:
        return show(level, "elevation", units())

    levels, sump = sump_range(plan, run_plan(plan)), plan.sump
    rim, intake = at(sump.rim), at(sump.floor + plan.pump.intake)
    rows = [
        ["beds just drained", at(levels.high), f"rim {rim}"],
        ["pump off, all water back", at(levels.pump_off), f"rim {rim}"],
        ["beds full", at(levels.low), f"pump intake {intake}"],
    ]
    note = f"Elevations above the {plan.datum}."
    return grid("Where the sump stands", ["when", "level", "held against"], rows, note)


def standpipe_by_sump(plan: Plan) -> Grid:
    """Return the tallest standpipe for smaller sumps, filled as deep as the plan's, as a table."""
    part = plan.sump.shape.sides[:2][-1]  # or its "diameter"
    now, rows = edit.get(plan, f"sump.{part}"), []
    for share in (0.6, 0.65, 0.7, 0.8, 0.9, 1.0):
        tried = edit.put(plan, {f"sump.{part}": share * now})
        found = tallest_standpipe(tried, plan.siphons[0].name)
        tall = show(found.real, "length", units()) if found.real else "none"
        rows.append([show(share * now, "length", units()), tall, found.binding or found.conflict])
    return grid(
        "The tallest standpipe by the size of the sump",
        ["sump across", "standpipe up to", "what decides"],
        rows,
        f"Each sump is filled {show(plan.sump.water_level, 'length', units())} deep with the beds drained, "
        "as the plan's is. A fuller one takes a taller standpipe.",
    )


def smallest_sump(plan: Plan) -> Shown:
    """Return how small the sump may be, and why that may differ from the table of standpipes."""
    why = (
        "This sump is smaller than the table above would have it for the same standpipe, because here its "
        "water may stand as high as its freeboard allows; in the table it stands as deep as in the plan."
    )
    return said(f"{sump_size(plan).text}\n{why}")
