"""Report sections on the pump being off: a power cut, and a timer."""

from __future__ import annotations

from aquacalc.plan.model import Plan
from aquacalc.report.records import Section
from aquacalc.report.wording import line, rows_of, section, table
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.pump_off import pipe_water, power_cut, timer


def power_cut_section(plan: Plan, run: SystemCycle) -> Section:
    """Build what happens when the pump stops at the worst moment and stays off."""
    cut, row = power_cut(run), rows_of("power_cut")
    still = cut.rest < 1.0
    rows = (
        row("sump", cut.sump),
        row("comes_back", cut.comes_back),
        row("pipe", pipe_water(plan)),
        row("rest", 0.0 if still else cut.rest, note="nothing moves" if still else None),
        row("held", cut.held),
    )
    lines = (
        line(v.name, cut.left[v.name], cut.stands[v.name], cut.stands[v.name] - v.floor) for v in plan.vessels
    )
    return section("power_cut", rows=rows, tables=(table("power_cut", lines),))


def timer_section(plan: Plan) -> Section | None:
    """Build what a timer does; None without one."""
    timed, row = timer(plan), rows_of("timer")
    if timed is None:
        return None
    known = "until it repeats itself" if timed.repeats else "run, and it has not repeated itself"
    rows = [
        row("on", plan.pump.on),
        row("off", plan.pump.off),
        row("pumped", timed.pumped),
        row("runs_back", timed.runs_back),
        row("periods", str(timed.periods), known=known),
    ]
    for siphon in plan.siphons:
        of = f", {siphon.name}" if len(plan.siphons) > 1 else ""
        first = str(timed.first[siphon.name] or "never")
        rows.append(row("floods", timed.floods[siphon.name], name=f"floods{of}", of=of))
        rows.append(row("first", first, name=f"first{of}", of=of))
    rows += [row("sump_low", timed.sump_low), row("sump_high", timed.sump_high)]
    lines = (line(bed.name, *timed.at_off[bed.name], *timed.at_on[bed.name]) for bed in plan.beds)
    return section("timer", rows=rows, tables=(table("timer", lines),))
