"""What the report says: findings, and sections of rows and tables with the equation behind each number."""

from __future__ import annotations

from aquacalc.design.advice import TEXT_RUNS, advise
from aquacalc.design.closest import turns
from aquacalc.findings import find, verdict
from aquacalc.hydraulics.levels import start_level
from aquacalc.plan.model import Plan
from aquacalc.report.marks_part import marks_section
from aquacalc.report.pipe_part import drain_section, strainer_section
from aquacalc.report.pump_off_part import power_cut_section, timer_section
from aquacalc.report.records import (
    Cell,
    Column,
    Finding,
    Line,
    Report,
    Row,
    Section,
    Table,
    Window,
    Working,
    shown,
)
from aquacalc.report.siphon_part import siphon_section, standpipe_section, window_section
from aquacalc.report.sump_part import pump_section, sump_section, water_section, weight_section
from aquacalc.report.trust_part import trust_section
from aquacalc.results.cycle import GroupCycle, SystemCycle, run_plan
from aquacalc.results.tables import OUTCOMES
from aquacalc.results.window import inflow_window

__all__ = [
    "Cell", "Column", "Finding", "Line", "Report", "Row", "Section", "Table", "Window", "Working",
    "build_report", "shown",
]  # fmt: skip


def build_report(plan: Plan, runs: int = TEXT_RUNS) -> Report:
    """Run a plan and say all there is to say about it.

    Parameters
    ----------
    plan : Plan
        Checked, as `read_plan` gives it.
    runs : int
        Number of changed plans that may be run to find advice.

    Returns
    -------
    Report
    """
    run = run_plan(plan)
    findings = find(run)
    windows = tuple(inflow_window(plan, siphon, run) for siphon in plan.siphons)
    sections: list[Section | None] = []
    for siphon, window in zip(plan.siphons, windows, strict=True):
        timed = plan.pump.on is not None
        sections += [cycle_section(run.group(siphon.name), timed), window_section(plan, siphon, window)]
    sections.append(level_section(plan, run))
    for siphon in plan.siphons:
        sections += [standpipe_section(plan, run, siphon), siphon_section(plan, run, siphon)]
    sections += [drain_section(plan, run), strainer_section(plan, run), sump_section(plan, run)]
    sections += [power_cut_section(plan, run), timer_section(plan)]
    sections += [pump_section(plan, run), weight_section(plan, run), water_section(plan)]
    sections.append(marks_section(plan))
    sections.append(trust_section(plan.units))
    kept = tuple(section for section in sections if section is not None)
    return Report(
        plan,
        run,
        windows,
        findings,
        kept,
        verdict(findings),
        advise(run, findings, runs),
        turns(run, findings),
    )


def cycle_section(group: GroupCycle, timed: bool) -> Section:
    """Build the times and flows of one cycle, or of the state that it comes to; `timed` with a timer."""
    rows = [Row("outcome", "What it does", OUTCOMES[group.outcome], "text")]
    if group.outcome == "cycles":
        rows += _times(group)
    rows.append(Row("inflow", "Inflow", group.inflow, "flow", "mean of the pump's flow to these beds"))
    if group.outcome == "cycles":
        rows += _flows(group)
    elif group.outcome in ("spills", "runs on"):
        where = "lip" if group.outcome == "spills" else "bell rim"
        base = group.lip if group.outcome == "spills" else group.rim
        rows += [
            Row("flow_steady", "Flow out, steady", group.flow_steady, "flow", "as much as comes in"),
            Row("level", "Level at the siphon, steady", group.level, "elevation"),
            Row("above", f"That is above the {where}", group.level - base, "head"),
        ]
    title, intro = "What happens", "There is no cycle to describe."
    if group.outcome == "cycles":
        title, intro = "One cycle", "Once it has settled into a repeating cycle."
    elif group.outcome in ("spills", "runs on"):
        intro = "It comes to rest and stays that way."
    if timed:
        intro = f"With the pump on all the time; the timer has a part of its own. {intro}"
    return Section("cycle", title, intro, group.name, tuple(rows))


def _times(group: GroupCycle) -> list[Row]:
    return [
        Row("period", "Whole cycle", group.period, "time", "from one siphon break to the next"),
        Row("floods", "Floods", 1.0 / group.period, "frequency"),
        Row("fill_time", "Filling", group.fill_time, "time", "from the break until water reaches the lip"),
        Row("spill_time", "Spilling", group.spill_time, "time", "over the lip, until the bore chokes"),
        Row("priming_time", "Priming", group.priming_time, "time", "the air leaves the bell; an estimate"),
        Row("drain_time", "Draining", group.drain_time, "time", "the siphon runs full, until it breaks"),
    ]


def _flows(group: GroupCycle) -> list[Row]:
    water = group.volume_high - group.volume_low
    mean = group.drained / group.drain_time
    rows = [
        Row("flood", "Water that floods and drains", water, "volume", "in beds and chamber"),
        Row("pumped", "Water pumped in a cycle", group.pumped, "volume"),
        Row("flow_start", "Siphon flow at the start", group.flow_start, "flow", "when it first runs full"),
        Row("flow_break", "Siphon flow at the break", group.flow_break, "flow", "when air gets in"),
    ]
    if mean > group.inflow:
        values = {"V": water, "Q_i": group.inflow, "Q_s": mean}
        by_hand = water / group.inflow + water / (mean - group.inflow)
        note = (
            "the water divided by the inflow, plus the water divided by the siphon's mean flow "
            "less the inflow"
        )
        rows.append(
            Row("by_hand", "Whole cycle by hand", by_hand, "time", note, Working("cycle_time", values))
        )
    rows.append(Row("breaks", "Cycles until it repeated", str(group.cycles), "text"))
    return rows


def level_section(plan: Plan, run: SystemCycle) -> Section:
    """Build the levels of each bed and chamber, and of the sump, over one cycle."""
    lines = []
    any_cycle = any(group.outcome == "cycles" for group in run.groups)
    for vessel in plan.vessels:
        node = run.node(vessel.name)
        cycles = run.group(node.group).outcome == "cycles"
        left = max(node.low - start_level(plan, vessel.name), 0.0) if cycles else None
        lines.append(
            Line(
                vessel.name,
                (
                    Cell(node.low if cycles else None),
                    Cell(node.at_start if cycles else None),
                    Cell(node.at_break),
                    Cell(node.high),
                    Cell(vessel.rim),
                    Cell(vessel.rim - node.high),
                    Cell(left),
                ),
            )
        )
    sump = plan.sump
    levels = (Cell(run.sump_low), Cell(None), Cell(None), Cell(run.sump_high), Cell(sump.rim))
    lines.append(Line(sump.name, (*levels, Cell(sump.rim - run.sump_high), Cell(None))))
    columns = (
        Column("low", "Lowest", "elevation"),
        Column("at_start", "Siphon starts", "elevation"),
        Column("at_break", "Siphon breaks" if any_cycle else "At rest", "elevation"),
        Column("high", "Highest", "elevation"),
        Column("rim", "Rim", "elevation"),
        Column("freeboard", "Freeboard", "length"),
        Column("left", "Left at lowest", "length"),
    )
    note = "The sump's row covers the whole run, which begins with the beds drained."
    if any_cycle:
        note += " What is left is above a bed's outlet, or above the bell rim where the siphon is."
    table = Table("levels", "Levels", "Vessel", columns, tuple(lines), note)
    return Section("levels", "Levels", f"Elevations above the {plan.datum}.", tables=(table,))
