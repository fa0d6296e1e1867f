"""Report sections on the pump being off: a power cut, and a timer."""

from __future__ import annotations

from aquacalc.plan.model import Plan
from aquacalc.report.records import Cell, Column, Line, Row, Section, Table
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.pump_off import pipe_water, power_cut, timer


def power_cut_section(plan: Plan, run: SystemCycle) -> Section:
    """Build what happens when the pump stops at the worst moment and stays off."""
    cut = power_cut(run)
    rows = (
        Row("sump", "Highest level of the sump", cut.sump, "elevation",
            "cut just after the siphon has started, delivery pipe run back"),
        Row("comes_back", "Water that comes back", cut.comes_back, "volume", "from that moment on"),
        Row("pipe", "Of it, out of the delivery pipe", pipe_water(plan), "volume"),
        Row("rest", "Until nothing moves", cut.rest, "time", "the last of it a trickle"),
        Row("held", "Water that stays flooded", cut.held, "volume",
            "cut just before the siphon starts, the worst moment for the roots"),
    )  # fmt: skip
    lines = [
        Line(v.name, (Cell(cut.left[v.name]), Cell(cut.stands[v.name]), Cell(cut.stands[v.name] - v.floor)))
        for v in plan.vessels
    ]
    columns = (
        Column("left", "Cut just after the start", "elevation"),
        Column("stands", "Cut just before the start", "elevation"),
        Column("deep", "Then stands over the floor", "length"),
    )
    note = "Where the water stands until somebody comes. What stays flooded drains at the next start."
    table = Table("power_cut", "Where water stays", "Vessel", columns, tuple(lines), note)
    intro = "The pump stops and stays off. What is worst for the sump is not what is worst for the beds."
    return Section("power_cut", "If the power fails", intro, rows=rows, tables=(table,))


def timer_section(plan: Plan) -> Section | None:
    """Build what a timer does; None without one."""
    timed = timer(plan)
    if timed is None:
        return None
    known = "until it repeats itself" if timed.repeats else "run, and it has not repeated itself"
    rows = [
        Row("on", "Runs for", plan.pump.on, "time"),
        Row("off", "Then stops for", plan.pump.off, "time"),
        Row("pumped", "Water to the beds in one run", timed.pumped, "volume"),
        Row("runs_back", "Runs back in one stop", timed.runs_back, "volume", "out of the delivery pipe"),
        Row("periods", "Runs and stops", str(timed.periods), "text", known),
    ]
    for siphon in plan.siphons:
        of = f", {siphon.name}" if len(plan.siphons) > 1 else ""
        first = str(timed.first[siphon.name] or "never")
        rows.append(Row(f"floods{of}", f"Floods{of}", timed.floods[siphon.name], "frequency"))
        rows.append(Row(f"first{of}", f"First start{of} in run number", first, "text"))
    rows += [
        Row("sump_low", "Lowest level of the sump", timed.sump_low, "elevation"),
        Row("sump_high", "Highest level of the sump", timed.sump_high, "elevation",
            "the delivery pipe run back"),
    ]  # fmt: skip
    lines = [
        Line(bed.name, tuple(Cell(z) for z in (*timed.at_off[bed.name], *timed.at_on[bed.name])))
        for bed in plan.beds
    ]
    columns = (
        Column("off_low", "Lowest at switching off", "elevation"),
        Column("off_high", "Highest", "elevation"),
        Column("on_low", "Lowest at switching on", "elevation"),
        Column("on_high", "Highest", "elevation"),
    )
    table = Table("timer", "Levels when the timer switches", "Bed", columns, tuple(lines))
    intro = "The plan run by its timer, one time after another, from drained beds. What is said of one "
    intro += "cycle elsewhere is of a pump that runs on."
    return Section("timer", "On the timer", intro, rows=tuple(rows), tables=(table,))
