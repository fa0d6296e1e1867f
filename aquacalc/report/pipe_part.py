"""Report sections on the drain lines and the strainers."""

from __future__ import annotations

from aquacalc.equations.formulas import GRAVITY, circle_area, water_kinematic_viscosity
from aquacalc.geometry.strainers import outlet_level, outlet_run, strainer_area
from aquacalc.hydraulics.paths import run_path
from aquacalc.plan.model import Bed, Plan
from aquacalc.plan.network import order
from aquacalc.report.records import Cell, Column, Line, Section, Table, Working
from aquacalc.report.siphon_part import PIECE_COLUMNS, piece_cells
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
        pipe = Cell(f"{r.pipe.size}, {r.pipe.series}")
        cells = piece_cells(plan, piece, flow) if flow > 0.0 else (Cell(None),) * len(PIECE_COLUMNS)
        lines.append(
            Line(f"{r.start} to {r.to}", (pipe, Cell(r.pipe.bore), Cell(r.length), Cell(flow), *cells))
        )
    columns = (
        Column("pipe", "Pipe", "text"),
        Column("bore", "Bore", "length"),
        Column("length", "Length", "distance"),
        Column("flow", "Flow", "flow"),
        *PIECE_COLUMNS,
    )
    note = (
        "The head lost is how much higher the water is at the start of the run than at its end. The flow "
        "is this run's part of the siphon's flow with the water at the lip, shared by the water that "
        "each bed holds."
    )
    intro = (
        "A drain line that loses a lot of head makes its bed lag; the siphon may break before "
        "the bed is empty."
    )
    table = Table("drain_lines", "Drain lines just after the start", "Run", columns, tuple(lines), note)
    return Section("drain_lines", "Drain lines", intro, tables=(table,))


def strainer_section(plan: Plan, run: SystemCycle) -> Section | None:
    """Build the outlets as built, and the strainers: open area against the bore, and the head they cost."""
    if not plan.runs:
        return None
    flows, lines = run_flows(plan, run), []
    for bed in plan.beds:
        if bed.strainer and bed.name in flows:
            clogs = Cell(may_clog(run, bed))
            lines.append(Line(bed.name, (*_strainer_cells(plan, bed, flows[bed.name]), clogs)))
    columns = (
        Column("openings", "Openings", "text"),
        Column("area", "Open area", "opening_area"),
        Column("bore_area", "Bore of the drain line", "opening_area"),
        Column("ratio", "Open area over bore", "number"),
        Column("flow", "Flow", "flow"),
        Column("head", "Head lost", "head"),
        Column("may_clog", "Share that may clog", "ratio"),
    )
    intro = (
        f"This plan asks for at least {plan.limits.strainer_ratio:g} times the bore; 1.5 to 2 times "
        "is common "
        "practice, without a published source. This is for clean openings: roots and "
        "fines close them with time."
    )
    note = (
        "The flow comes from the table of drain lines. So much of the openings may clog before the bed "
        "keeps more water than you allow, or floods over its rim; half of an old pipe is published (a guide "
        "to rain gardens)."
    )
    table = Table("strainers", "Strainers", "Bed", columns, tuple(lines), note)
    tables = (_outlets(plan, run), *((table,) if lines else ()), *_far_ends(plan, run))
    return Section("strainers", "Outlets and strainers", intro if lines else "", tables=tables)


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
        low = node.low - bed.floor if cycles else None
        lines.append(Line(bed.name, (Cell(f"{bed.outlet}, {made}"), Cell(sill), Cell(low))))
    columns = (
        Column("made", "Outlet", "text"),
        Column("sill", "Sill", "length"),
        Column("stays", "Water that stays", "length"),
    )
    note = (
        "Both are above the bed's floor. The sill is what the outlet as built cannot drain: the pipe's end "
        "through its seal, the flange of a tank fitting, a coupling, or the invert of a side outlet."
    )
    return Table("outlets", "Outlets as built", "Bed", columns, tuple(lines), note)


def _far_ends(plan: Plan, run: SystemCycle) -> tuple[Table, ...]:
    """Table of how much higher the water stands at the far end of each bed than at its outlet."""
    lines = []
    for bed in plan.beds:
        ends = far_ends(run, bed)
        if ends is not None:
            cells = (ends[1].away, *(x for end in ends for x in (end.easy, end.hard)), ends[0].settles)
            lines.append(Line(bed.name, tuple(map(Cell, cells))))
    columns = (
        Column("away", "Far end to outlet", "distance"),
        Column("break_easy", "At the break, round grains", "length"),
        Column("break_hard", "crushed", "length"),
        Column("low_easy", "At the lowest, round grains", "length"),
        Column("low_hard", "crushed", "length"),
        Column("settles", "Levels out in", "time"),
    )
    note = (
        "Water flows to the outlet through the media, which costs head (Ergun's law; good to a factor of "
        "1.5). At the break the media gives its own water; at the lowest the inflow is taken to come in at "
        "the far end. It holds where levelling out takes much less time than draining."
    )
    table = Table("far_end", "Far end of a bed over its outlet", "Bed", columns, tuple(lines), note)
    return (table,) if lines else ()


def _strainer_cells(plan: Plan, bed: Bed, flow: float) -> tuple[Cell, ...]:
    s, r = bed.strainer, next(r for r in plan.runs if r.start == bed.name)
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
