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
from aquacalc.report.wording import line, rows_of, section, table, words
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
    row = rows_of("cycle")
    rows = [row("outcome", OUTCOMES[group.outcome])]
    if group.outcome == "cycles":
        rows += _times(group)
    rows.append(row("inflow", group.inflow))
    kind = "no_cycle"
    if group.outcome == "cycles":
        kind = "cycle"
        rows += _flows(group)
    elif group.outcome in ("spills", "runs on"):
        kind = "rest"
        where, base = ("lip", group.lip) if group.outcome == "spills" else ("bell rim", group.rim)
        rows += [
            row("flow_steady", group.flow_steady),
            row("level", group.level),
            row("above", group.level - base, where=where),
        ]
    always_on = words()["section"]["cycle"]["always_on"] if timed else ""
    return section(kind, group.name, rows=rows, name="cycle", always_on=always_on)


def _times(group: GroupCycle) -> list[Row]:
    row = rows_of("cycle")
    named = ("fill_time", "spill_time", "priming_time", "drain_time")
    return [
        row("period", group.period),
        row("floods", 1.0 / group.period),
        *(row(name, getattr(group, name)) for name in named),
    ]


def _flows(group: GroupCycle) -> list[Row]:
    row, water = rows_of("cycle"), group.volume_high - group.volume_low
    mean = group.drained / group.drain_time
    rows = [
        row("flood", water),
        row("pumped", group.pumped),
        row("flow_start", group.flow_start),
        row("flow_break", group.flow_break),
    ]
    if mean > group.inflow:
        values = {"V": water, "Q_i": group.inflow, "Q_s": mean}
        by_hand = water / group.inflow + water / (mean - group.inflow)
        rows.append(row("by_hand", by_hand, Working("cycle_time", values)))
    return [*rows, row("breaks", str(group.cycles))]


def level_section(plan: Plan, run: SystemCycle) -> Section:
    """Build the levels of each bed and chamber, and of the sump, over one cycle."""
    lines = []
    any_cycle = any(group.outcome == "cycles" for group in run.groups)
    for vessel in plan.vessels:
        node = run.node(vessel.name)
        cycles = run.group(node.group).outcome == "cycles"
        left = max(node.low - start_level(plan, vessel.name), 0.0) if cycles else None
        low, start = (node.low, node.at_start) if cycles else (None, None)
        levels = (low, start, node.at_break, node.high, vessel.rim, vessel.rim - node.high)
        lines.append(line(vessel.name, *levels, left))
    rim, high = plan.sump.rim, run.sump_high
    lines.append(line(plan.sump.name, run.sump_low, None, None, high, rim, rim - high, None))
    at_break = "Siphon breaks" if any_cycle else "At rest"
    left_is = words()["table"]["levels"]["left"] if any_cycle else ""
    made = table("levels", lines, at_break=at_break, left=left_is)
    return section("levels", tables=(made,), datum=plan.datum)
