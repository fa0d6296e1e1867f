"""Solve for drains: smallest drain line, and openings of a strainer."""

from __future__ import annotations

import functools
import math

from aquacalc import catalogue
from aquacalc.design.answer import (
    Answer,
    Limit,
    bound,
    checked,
    conflict_of,
    deciding,
    positive,
    shower,
    the_siphon,
)
from aquacalc.equations.formulas import GRAVITY, circle_area, water_kinematic_viscosity
from aquacalc.findings.record import the
from aquacalc.geometry.strainers import outlet_level
from aquacalc.hydraulics.levels import volume_at
from aquacalc.hydraulics.paths import path_loss, run_path
from aquacalc.hydraulics.siphon import siphon_flow
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan import edit
from aquacalc.plan.model import Bed, Pipe, Plan, Siphon, Strainer
from aquacalc.results.cycle import SystemCycle, run_plan

#: Bores are looked for between these, m: wider pipe than 6 in is in no table of ours.
BORES = (0.004, 0.2)
FINE = 1e-7


def drain_flows(plan: Plan, run: SystemCycle, siphon: Siphon) -> dict[str, float]:
    """Return the flow (m3/s) in each run while the siphon runs at its highest, by the run's start.

    The siphon's flow is shared among the beds as the water they hold above
    their lowest level: beds that drain together fall together.
    """
    group = run.group(siphon.name)
    flow = group.flow_high or siphon_flow(plan, siphon, group.start_level, run.sump_low)
    held: dict[str, float] = {}
    for node in run.nodes:
        if node.group == siphon.name and not node.junction:
            cells = vessel_cells(plan, plan.vessel(node.name))
            held[node.name] = volume_at(cells, node.high) - volume_at(cells, node.low)
    total = sum(held.values())
    flows: dict[str, float] = {}
    for name, volume in held.items():
        part = flow * (volume / total if total > 0.0 else 1.0 / len(held))
        for line in plan.way(name):
            flows[line.start] = flows.get(line.start, 0.0) + part
    return flows


def level_differences(plan: Plan, flows: dict[str, float]) -> dict[str, float]:
    """Return the head (m) lost from each bed to its siphon's vessel at these run flows, by bed."""
    viscosity = water_kinematic_viscosity(plan.water_temperature)
    taken = [r for r in plan.runs if r.start in flows]
    lost = {r.start: path_loss(run_path(plan, r), flows[r.start], viscosity) for r in taken}
    return {b.name: sum(lost[r.start] for r in plan.way(b.name)) for b in plan.beds if b.name in lost}


def residuals(plan: Plan, run: SystemCycle, siphon: Siphon) -> dict[str, float]:
    """Return the depth (m) over its outlet that each bed keeps when the siphon breaks."""
    levels = {node.name: node.at_break for node in run.nodes if node.group == siphon.name}
    beds = [bed for bed in plan.beds if bed.name in levels and bed.name != siphon.host]
    return {bed.name: levels[bed.name] - outlet_level(plan, bed) for bed in beds}


def sizes_of(series: str) -> tuple[catalogue.PipeSize, ...]:
    """Return the sizes of a series, smallest bore first; of all series for a pipe that is in none."""
    names = catalogue.series() if series == catalogue.OWN else (series,)
    return tuple(sorted((s for n in names for s in catalogue.sizes(n)), key=lambda s: s.bore))


def pipe_of(size: catalogue.PipeSize) -> Pipe:
    """Return a plan's pipe of this size."""
    return Pipe(size.series, size.size, size.bore, size.outside_diameter, size.roughness)


def smallest_drain_line(
    plan: Plan,
    difference: float,
    residual: float | None = None,
    runs: tuple[str, ...] = (),
    siphon: str | None = None,
) -> Answer:
    """Find the smallest drain line that keeps beds and siphon together and lets the beds drain.

    Parameters
    ----------
    plan : Plan
        A checked plan.
    difference : float
        Level difference (m) allowed between any bed and the siphon's vessel
        while the siphon runs at its highest flow.
    residual : float, optional
        Depth (m) over its outlet that a bed may keep when the siphon breaks;
        by default the plan's own limit.
    runs : tuple of str, optional
        Starts of the runs to size together; by default all of this siphon.
    siphon : str, optional
        Which siphon, where there are several.

    Returns
    -------
    Answer
        Bore, m; the real one is the smallest size of the runs' own series.

    Raises
    ------
    ValueError
        When a length is not positive, or a run or siphon is not known.
    """
    s = the_siphon(plan, siphon)
    residual = plan.limits.residual if residual is None else residual
    positive(difference=difference, residual=residual)
    show = shower(plan.units)
    asked = functools.partial(Answer, "How small can the drain line be?", "length", plan.units)
    flows = drain_flows(plan, run_plan(plan, trace=False), s)
    for name in runs:
        if name not in flows:
            raise ValueError(f'no run of {the(s.name)} starts at "{name}"; write one of {", ".join(flows)}')
    chosen = runs or tuple(flows)
    if not chosen:
        return asked(conflict=f"{s.name} is in its bed and has no drain line.")

    def apart(changed: Plan) -> float:
        return max(level_differences(changed, flows).values())

    @functools.cache
    def kept(changed: Plan) -> float:
        run = run_plan(changed, trace=False)
        deepest = max(residuals(changed, run, s).values())
        return deepest if run.group(s.name).outcome == "cycles" else max(deepest, 2.0 * residual)

    def bored(bore: float) -> Plan:
        return edit.put(plan, {f"run.{name}.bore": bore for name in chosen})

    limits = (
        Limit(
            f"the level difference stays within {show(difference)}",
            bound(lambda d: difference - apart(bored(d)), *BORES, False, FINE),
            False,
            f"strainers and other pipes take {show(apart(bored(BORES[1])))} of it",
        ),
        Limit(
            f"no bed keeps more than {show(residual)}",
            bound(lambda d: residual - kept(bored(d)), *BORES, False, 1e-5),
            False,
            "at the siphon's break",
        ),
    )
    decides = deciding(limits, False)
    found = functools.partial(asked, limits, decides.name)
    conflict = conflict_of(limits, "length", plan.units)
    if conflict:
        return found(conflict)
    parts = ", ".join(f"{name} {show(q, 'flow')}" for name, q in flows.items())
    carried = f"At the siphon's highest flow the runs carry, each bed by the water it holds: {parts}."
    sizes = sizes_of(next(r for r in plan.runs if r.start in chosen).pipe.series)
    for size in sizes:
        changed = edit.put(plan, {f"run.{name}.pipe": pipe_of(size) for name in chosen})
        if apart(changed) > difference or kept(changed) > residual:
            continue
        good, notes = checked(changed)
        result = (
            f"In {size.size} the water in the farthest bed is {show(apart(changed))} above the "
            "siphon's water, "
            f"and no bed keeps more than {show(kept(changed))}."
        )
        return found(
            exact=decides.bound,
            real=size.bore,
            real_text=f"{size.size} ({show(size.bore)} bore)",
            steps=(carried, result, *notes),
            plan=good,
        )
    return found(
        f"No size of {sizes[-1].series} is wide enough; the largest is {sizes[-1].size}.",
        exact=decides.bound,
        steps=(carried,),
    )


def _opening(bed: Bed, width: float | None, length: float | None) -> Strainer:
    """Return one opening as asked for, what is left out as in the bed's own strainer."""
    old = bed.strainer or Strainer("slots", 1, 0.0)
    width = old.width if width is None else width
    length = old.length if length is None else length
    positive(width=width)
    if old.kind == "slots":
        positive(length=length)
    return Strainer(old.kind, 1, width, length if old.kind == "slots" else 0.0, old.discharge_coefficient)


def strainer_slots(
    plan: Plan,
    bed: str,
    width: float | None = None,
    length: float | None = None,
    head: float | None = None,
) -> Answer:
    """Find how many slots or holes a bed's strainer needs.

    Parameters
    ----------
    plan : Plan
        A checked plan.
    bed : str
        Whose strainer.
    width, length : float, optional
        Size of one slot, m; by default as in the plan. A strainer of holes
        has their diameter as width.
    head : float, optional
        Head (m) that the strainer may take at the highest drain flow; by
        default the open area alone decides.

    Returns
    -------
    Answer
        Number of openings; the real one is the next whole number.

    Raises
    ------
    ValueError
        When the bed is not known or has no run, a size is missing or not positive.
    """
    found = next((b for b in plan.beds if b.name == bed), None)
    if found is None:
        raise ValueError(f'there is no bed "{bed}"; write one of {", ".join(b.name for b in plan.beds)}')
    way = plan.run_from(bed)
    if way is None:
        raise ValueError(f"{bed} holds its siphon and has no strainer; ask about a bed with a drain line")
    opening = _opening(found, width, length)
    show = shower(plan.units)
    slots = opening.kind == "slots"
    one = opening.width * opening.length if slots else circle_area(opening.width)
    each = f"{show(opening.width)} x {show(opening.length)}" if slots else show(opening.width)
    run = run_plan(plan, trace=False)
    flow = drain_flows(plan, run, the_siphon(plan, run.node(bed).group))[bed]
    pipe_area = circle_area(way.pipe.bore)
    ratio, C_d = plan.limits.strainer_ratio, opening.discharge_coefficient
    limits = [
        Limit(
            f"the open area is {ratio:g} times the bore",
            ratio * pipe_area / one,
            False,
            f"the bore has {show(pipe_area, 'opening_area')}, one opening {show(one, 'opening_area')}",
        )
    ]
    if head is not None:
        positive(head=head)
        limits.append(
            Limit(
                f"the strainer takes no more than {show(head, 'head')}",
                flow / (C_d * math.sqrt(2.0 * GRAVITY * head)) / one,
                False,
                f"at {show(flow, 'flow')}, discharge coefficient {C_d:g}",
            )
        )
    decides = deciding(tuple(limits), False)
    count = math.ceil(decides.bound - 1e-9)
    area = count * one
    lost = (flow / (C_d * area)) ** 2 / (2.0 * GRAVITY)
    strainer = Strainer(opening.kind, count, opening.width, opening.length, C_d)
    good, notes = checked(edit.put(plan, {f"bed.{bed}.strainer": strainer}))
    result = (
        f"{count} {opening.kind} open {show(area, 'opening_area')}, {area / pipe_area:.2f} times the bore, "
        f"and take {show(lost, 'head')} at {show(flow, 'flow')}."
    )
    symbols = {"w": opening.width, "l": opening.length} if slots else {"d": opening.width}
    return Answer(
        f"How many {opening.kind} of {each} does {bed} need?",
        "number",
        plan.units,
        tuple(limits),
        decides.name,
        exact=decides.bound,
        real=float(count),
        real_text=f"{count} {opening.kind} of {each}",
        steps=(result, *notes),
        worked=(
            ("slot_area" if slots else "hole_area", {"n": float(count), **symbols}, None),
            ("strainer_head", {"Q": flow, "C_d": C_d, "A_o": area, "g": GRAVITY}, None),
        ),
        plan=good,
    )
