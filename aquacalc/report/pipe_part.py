"""Report sections on the drain lines and the strainers."""

from __future__ import annotations

from dataclasses import replace

from aquacalc.equations.formulas import GRAVITY, circle_area, water_kinematic_viscosity
from aquacalc.geometry.strainers import outlet_level, outlet_run, strainer_area
from aquacalc.hydraulics.paths import run_path
from aquacalc.plan.model import Bed, Plan
from aquacalc.plan.network import order
from aquacalc.report.records import Cell, Section, Table, Working
from aquacalc.report.siphon_part import piece_cells
from aquacalc.report.wording import line, section, table
from aquacalc.results.clogging import may_clog
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.far_end import far_ends
from aquacalc.results.window import crests, sump_range


def run_flows(plan: Plan, run: SystemCycle) -> dict[str, float]:
    """Estimate the flow (m3/s) of each run, by its start, when the siphon has just started.

    The siphon's flow with the water at its lip comes from the beds by their
    shares of the water; the chamber gives its own share.
    """
    levels, groups = sump_range(plan, run), dict(order(plan))
    flows = [crests(plan, siphon, levels)[0].flow for siphon in plan.siphons]
    return {start: part * flows[groups[start]] for start, part in run.drains.items()}


def drain_section(plan: Plan, run: SystemCycle) -> Section | None:
    """Build the drain lines: what each run loses just after the siphon has started."""
    if not plan.runs:
        return None
    flows, lines = run_flows(plan, run), []
    for r in plan.runs:
        flow, piece = flows[r.start], run_path(plan, r)[-1]
        cells = piece_cells(plan, piece, flow) if flow > 0.0 else (None,) * 4
        pipe = f"{r.pipe.size}, {r.pipe.series}"
        lines.append(line(f"{r.start} to {r.to}", pipe, r.pipe.bore, r.length, flow, *cells))
    return section("drain_lines", tables=(table("drain_lines", lines),))


def strainer_section(plan: Plan, run: SystemCycle) -> Section | None:
    """Build the outlets as built, and the strainers: open area against the bore, and the head they cost."""
    if not plan.runs:
        return None
    flows, lines = run_flows(plan, run), []
    for bed in plan.beds:
        if bed.strainer and bed.name in flows:
            cells = _strainer_cells(plan, bed, flows[bed.name])
            lines.append(line(bed.name, *cells, may_clog(run, bed)))
    strainers = (table("strainers", lines),) if lines else ()
    tables = (_outlets(plan, run), *strainers, *_far_ends(plan, run))
    made = section("strainers", tables=tables, ratio=plan.limits.strainer_ratio)
    return made if lines else replace(made, intro="")


def _outlets(plan: Plan, run: SystemCycle) -> Table:
    """Table of what each bed's outlet is and what water it leaves, above the bed's floor."""
    lines = []
    for bed in plan.beds:
        if outlet_run(plan, bed) is None:
            continue
        node = run.node(bed.name)
        cycles = run.group(node.group).outcome == "cycles"
        made = f"strainer {bed.strainer.fixing}" if bed.strainer else "no strainer"
        sill = outlet_level(plan, bed) - bed.floor
        lines.append(line(bed.name, f"{bed.outlet}, {made}", sill, node.low - bed.floor if cycles else None))
    return table("outlets", lines)


def _far_ends(plan: Plan, run: SystemCycle) -> tuple[Table, ...]:
    """Table of how much higher the water stands at the far end of each bed than at its outlet."""
    lines = []
    for bed in plan.beds:
        ends = far_ends(run, bed)
        if ends is not None:
            higher = (x for end in ends for x in (end.easy, end.hard))
            lines.append(line(bed.name, ends[1].away, *higher, ends[0].settles))
    return (table("far_end", lines),) if lines else ()


def _strainer_cells(plan: Plan, bed: Bed, flow: float) -> tuple[Cell, ...]:
    s, r = bed.strainer, plan.run_from(bed.name)
    area, bore = strainer_area(plan, bed.name), circle_area(r.pipe.bore)
    if s.kind == "slots":
        working = Working("slot_area", {"n": float(s.count), "w": s.width, "l": s.length})
    else:
        working = Working("hole_area", {"n": float(s.count), "d": s.width})
    lost = run_path(plan, r)[0].loss(flow, water_kinematic_viscosity(plan.water_temperature))
    head = Working("strainer_head", {"Q": flow, "C_d": s.discharge_coefficient, "A_o": area, "g": GRAVITY})
    return (
        Cell(f"{s.count} {s.kind}"),
        Cell(area, working),
        Cell(bore, Working("circle_area", {"D": r.pipe.bore})),
        Cell(area / bore, Working("area_ratio", {"A_o": area, "A_p": bore})),
        Cell(flow),
        Cell(lost, head) if flow > 0.0 else Cell(None),
    )
