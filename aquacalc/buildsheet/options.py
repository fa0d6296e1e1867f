"""Other ways to build the same plan, side by side: what they cost and what they do."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import partial

from aquacalc.buildsheet.cut_list import cut_list
from aquacalc.buildsheet.drilling import drilling
from aquacalc.buildsheet.materials import Bill, bill
from aquacalc.buildsheet.stock import Workshop
from aquacalc.design.change import built
from aquacalc.design.drains import sizes_of
from aquacalc.equations import losses
from aquacalc.equations.formulas import water_kinematic_viscosity
from aquacalc.findings import VERDICTS, find
from aquacalc.geometry.holes import LEAST_EDGE, hole_sizes
from aquacalc.geometry.joints import fitting_joint
from aquacalc.hydraulics.levels import volume_at
from aquacalc.hydraulics.paths import path_loss, run_path, siphon_path
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan.check import check_plan
from aquacalc.plan.errors import PlanError
from aquacalc.plan.model import Fitting, Pipe, Plan, Run, Siphon, Stopping, Tail
from aquacalc.plan.network import downstream, host_of
from aquacalc.plan.records import fitting_k
from aquacalc.results.cycle import SystemCycle, run_plan

#: Room around a bell inside its media guard (common practice, no source), m.
GUARD_ROOM = 0.030
#: Pipe out of the wall and back under the bed for a side outlet (common practice, no source), m.
SIDE_WAY = 0.10
#: The option of as many siphons as beds.
EACH = "a siphon in each bed"


@dataclass(frozen=True)
class Option:
    """One way to build the plan.

    Attributes
    ----------
    name, changed : str
        What it is, and what was changed from the plan.
    plan : Plan
    problem : str
        Why it cannot be built; "" when it can. The rest is None then.
    outcome : str
        "cycles", "spills" and so on, of each siphon.
    cost : Decimal or None
        None where a part that differs from the plan's has no price.
    unpriced : tuple of str
        Those parts; of the plan itself every part without a price, which its cost leaves out.
    parts : int
    head : float
        Lost from the worst bed to the end of the tail at `flow`, m.
    flow : float
        Out of all the beds: the running flow of the plan as it is, the same for every option, m3/s.
    drain_time : float or None
        Longest, s.
    residual : float or None
        Water left in the beds when the siphon breaks, m3.
    swing : float
        Of the sump, m.
    """

    name: str
    changed: str
    plan: Plan
    problem: str = ""
    outcome: str = ""
    cost: Decimal | None = None
    unpriced: tuple[str, ...] = ()
    parts: int | None = None
    head: float | None = None
    flow: float | None = None
    drain_time: float | None = None
    residual: float | None = None
    swing: float | None = None


def compare(plan: Plan, workshop: Workshop, run: SystemCycle | None = None) -> tuple[Option, ...]:
    """Reckon the plan and every other way to build it that makes sense for it.

    Parameters
    ----------
    plan : Plan
    workshop : Workshop
    run : SystemCycle, optional
        Of the plan; run here when left out.

    Returns
    -------
    tuple of Option
        The plan first.
    """
    run = run or run_plan(plan, trace=False)
    flow = running_flow(plan, run)
    now = _bill(plan, workshop)
    found = [_reckon("as planned", "nothing", plan, workshop, flow, now, run)]
    for name, changed, change in alternatives(plan):
        found.append(_reckon(name, changed, change(plan), workshop, flow, now))
    return tuple(found)


def _bill(plan: Plan, workshop: Workshop) -> Bill:
    return bill(plan, cut_list(plan, workshop), drilling(plan, workshop), workshop.prices)


def alternatives(plan: Plan) -> list[tuple[str, str, Callable[[Plan], Plan]]]:
    """Return (name, what is changed, the change) for what this plan does not do already."""
    found: list[tuple[str, str, Callable[[Plan], Plan]]] = []
    seals = {bed.seal for bed in plan.beds}
    for seal in ("rubber pipe seal", "tank fitting"):
        if seals != {seal}:
            found.append((f"{seal}s", "how pipes pass walls", partial(_seals, seal=seal)))
    names = {f.name for f in _drain_fittings(plan)}
    if any(n.startswith("bend 90") for n in names):
        found.append(("two 45s", "every right angle of the drain lines and tails", _two_45s))
    if "two 45s" in names or any(n.startswith("bend 90") and n != "bend 90, sharp" for n in names):
        found.append(("one 90", "every right angle of the drain lines and tails, square inside", _one_90))
    outlets = {bed.outlet for bed in plan.beds if bed.name in {r.start for r in plan.runs}}
    if "floor" in outlets:
        found.append(("side outlets", "outlets of the beds, as low as the hole allows", _side))
    if "side" in outlets:
        found.append(("floor outlets", "outlets of the beds", _floor))
    if len(plan.beds) > len(plan.siphons):
        found.append((EACH, "siphons in the beds, sized for it; no drain line", _each))
    if len(plan.siphons) > 1 and all(_chamber(plan, s) for s in plan.siphons):
        found.append(("one shared siphon", "siphons: all drain lines lead to the first chamber", _shared))
    return found


def _chamber(plan: Plan, siphon: Siphon) -> bool:
    return any(c.name == siphon.host for c in plan.chambers)


def _drain_fittings(plan: Plan) -> list[Fitting]:
    ways: list[Run | Tail] = [*plan.runs, *(s.tail for s in plan.siphons)]
    return [f for way in ways for f in way.fittings]


def _seals(plan: Plan, seal: str) -> Plan:
    return replace(plan, beds=tuple(replace(bed, seal=seal) for bed in plan.beds))


def _bends(plan: Plan, change: Callable[[Fitting, Pipe], Fitting]) -> Plan:
    def way(w):
        return replace(w, fittings=tuple(change(f, w.pipe) for f in w.fittings), legs=())

    siphons = tuple(replace(s, tail=way(s.tail)) for s in plan.siphons)
    return replace(plan, runs=tuple(way(r) for r in plan.runs), siphons=siphons)


def _two_45s(plan: Plan) -> Plan:
    def change(f: Fitting, pipe: Pipe) -> Fitting:
        if not f.name.startswith("bend 90"):
            return f
        half = fitting_joint("bend 45", pipe)
        low, high = (row[0] * pipe.bore for row in (losses.TWO_45_SMOOTH[0], losses.TWO_45_SMOOTH[-1]))
        spacing = min(max(2.0 * (half.take_off + half.socket), low), high)
        return Fitting("two 45s", f.count, fitting_k("two 45s", spacing, pipe.bore), spacing)

    return _bends(plan, change)


def _one_90(plan: Plan) -> Plan:
    def change(f: Fitting, pipe: Pipe) -> Fitting:
        if f.name == "two 45s" or f.name.startswith("bend 90"):
            return Fitting("bend 90, sharp", f.count, fitting_k("bend 90, sharp", 0.0, pipe.bore))
        return f

    return _bends(plan, change)


def _side(plan: Plan) -> Plan:
    """Lead every floor outlet out of the wall: one bend more, and the way out and down on top."""
    runs = {run.start: run for run in plan.runs}
    beds, changed = [], dict(runs)
    for bed in plan.beds:
        run = runs.get(bed.name)
        if run is not None and bed.outlet == "floor":
            hole = max(hole_sizes(bed.seal, run.pipe)[0], default=1.3 * run.pipe.outside_diameter)
            height = 0.5 * (hole - run.pipe.bore) + LEAST_EDGE
            bend = Fitting("bend 90, short", 1, fitting_k("bend 90, short", 0.0, run.pipe.bore))
            fittings = (*run.fittings[:1], bend, *run.fittings[1:])
            length = run.length + height + SIDE_WAY
            bed = replace(bed, outlet="side", outlet_height=height)
            changed[bed.name] = replace(run, fittings=fittings, length=length, legs=())
        beds.append(bed)
    return replace(plan, beds=tuple(beds), runs=tuple(changed[r.start] for r in plan.runs))


def _floor(plan: Plan) -> Plan:
    """Lead every side outlet through the floor: the first bend and the way out fall away."""
    runs = {run.start: run for run in plan.runs}
    beds, changed = [], dict(runs)
    for bed in plan.beds:
        run = runs.get(bed.name)
        if bed.outlet == "side":
            if run is not None:
                first = next((i for i, f in enumerate(run.fittings) if f.name.startswith("bend 90")), None)
                fittings = list(run.fittings)
                if first is not None and fittings[first].count > 1:
                    fittings[first] = replace(fittings[first], count=fittings[first].count - 1)
                elif first is not None:
                    del fittings[first]
                length = max(
                    run.length - bed.outlet_height - SIDE_WAY,
                    abs(bed.floor - run.outfall - 0.5 * run.pipe.bore),
                )
                changed[bed.name] = replace(run, fittings=tuple(fittings), length=length, legs=())
            bed = replace(bed, outlet="floor", outlet_height=0.0)
        beds.append(bed)
    return replace(plan, beds=tuple(beds), runs=tuple(changed[r.start] for r in plan.runs))


def _each(plan: Plan) -> Plan:
    """Give each bed its own siphon: the same bell and bore, at the same flood level, into the sump."""
    hosts = host_of(plan)
    found: list[Siphon] = []
    for bed in plan.beds:
        shared = plan.siphon_in(hosts[bed.name])
        if shared.host == bed.name:
            found.append(shared)
            continue
        host = plan.vessel(shared.host)
        height = plan.lip_level(shared) - bed.floor
        rise = height - shared.standpipe.height
        way = sum(run.length for run in plan.way(bed.name))
        found.append(
            replace(
                shared,
                name=f"siphon of {bed.name}"[:60],
                host=bed.name,
                standpipe=replace(shared.standpipe, height=height),
                bell=replace(shared.bell, top_height=shared.bell.top_height + rise),
                tail=replace(shared.tail, length=shared.tail.length + way + max(bed.floor - host.floor, 0.0)),
                priming=replace(shared.priming, observed=None, observed_error=0.0),  # seen with other parts
                stopping=Stopping(),
                media_guard=shared.media_guard or shared.bell.outside_diameter + 2.0 * GUARD_ROOM,
            )
        )
    kept = tuple(replace(bed, outlet="floor", outlet_height=0.0, strainer=None) for bed in plan.beds)
    return _sized(replace(plan, beds=kept, runs=(), tees=(), chambers=(), siphons=tuple(found)))


def _sized(plan: Plan) -> Plan:
    """Give every siphon the widest standpipe and tail with which least is at fault; the reducers stay.

    What no pipe can mend, such as a floor that is too weak, is at fault with each of them.
    """
    best, rank = plan, (math.inf, math.inf)
    sizes = {s.name: sizes_of(s.standpipe.pipe.series)[::-1] for s in plan.siphons}
    for k in range(max(map(len, sizes.values()))):
        values: dict[str, object] = {}
        for siphon in plan.siphons:
            own = sizes[siphon.name]
            size = own[min(k, len(own) - 1)] if own else None
            if size is None or size.bore > siphon.standpipe.pipe.bore + 1e-6:
                continue
            at = f"siphon.{siphon.name}"
            values |= {f"{at}.standpipe.size": size.size, f"{at}.tail.size": size.size}
            if siphon.standpipe.lip_diameter <= siphon.standpipe.pipe.bore + 1e-6:
                values[f"{at}.standpipe.lip_diameter"] = size.bore
        changed = built(plan, values) if values else plan
        if changed is not None and (values or k == 0):
            states = [f.state for f in find(run_plan(changed, trace=False))]
            faults = states.count(VERDICTS[0]), states.count(VERDICTS[1])
            if faults < rank:
                best, rank = changed, faults
        if rank == (0, 0):
            break
    return best


def _shared(plan: Plan) -> Plan:
    """Lead the drain lines of every chamber to the first one, as long as they are or have to be."""
    first = plan.siphons[0]
    others = {s.host for s in plan.siphons[1:]}
    outfall = next(run.outfall for run in plan.runs if run.to == first.host)
    tops = {tee.name: tee.elevation for tee in plan.tees} | {b.name: b.outlet_invert for b in plan.beds}

    def lead(run: Run) -> Run:
        if run.to not in others:
            return run
        length = max(run.length, abs(tops[run.start] - outfall))
        return replace(run, to=first.host, outfall=outfall, length=length, legs=())

    runs = tuple(lead(run) for run in plan.runs)
    chambers = tuple(c for c in plan.chambers if c.name not in others)
    return replace(plan, runs=runs, chambers=chambers, siphons=(first,))


def running_flow(plan: Plan, run: SystemCycle) -> float:
    """Flow (m3/s) of all siphons as they begin to run full; of one that does not, what it passes."""
    flows = []
    for siphon in plan.siphons:
        group = run.group(siphon.name)
        flows.append(group.flow_start if group.outcome == "cycles" else group.flow_steady or group.inflow)
    return sum(flows)


def head_lost(plan: Plan, flow: float) -> float:
    """Head (m) lost from the worst bed to the end of its tail.

    Parameters
    ----------
    plan : Plan
    flow : float
        Out of all the beds together, an equal part from each, m3/s.
    """
    hosts, to = host_of(plan), downstream(plan)
    viscosity = water_kinematic_viscosity(plan.water_temperature)
    each = flow / len(plan.beds)
    through: dict[str, float] = {}
    for bed in plan.beds:
        name = bed.name
        while name in to:
            through[name] = through.get(name, 0.0) + each
            name = to[name]
    worst = 0.0
    for siphon in plan.siphons:
        members = [bed.name for bed in plan.beds if hosts[bed.name] == siphon.host]
        tail = path_loss(siphon_path(plan, siphon), each * len(members), viscosity)
        for name in members:
            line = sum(path_loss(run_path(plan, r), through[r.start], viscosity) for r in plan.way(name))
            worst = max(worst, line + tail)
    return worst


def residual_water(plan: Plan, run: SystemCycle) -> float | None:
    """Water (m3) in the beds when their siphons break; None when one does not cycle."""
    if any(g.outcome != "cycles" for g in run.groups):
        return None
    return sum(volume_at(vessel_cells(plan, bed), run.node(bed.name).at_break) for bed in plan.beds)


def _reckon(
    name: str,
    changed: str,
    plan: Plan,
    workshop: Workshop,
    flow: float,
    now: Bill,
    run: SystemCycle | None = None,
) -> Option:
    plan = replace(plan, text="")
    if run is None:
        try:
            check_plan(plan, name)
        except PlanError as error:
            return Option(name, changed, plan, f"{error.key} {error.reason}")
        run = run_plan(plan, trace=False)
    listed = now if run.plan is plan and name == "as planned" else _bill(plan, workshop)
    bare = [i for i in (*now.items, *listed.items) if i.price is None]
    differ = {i.key for i in bare if listed is now or now.quantity(i.key) != listed.quantity(i.key)}
    without = tuple(sorted(f"{item} {size}".strip() for item, _, size in differ))
    known = workshop.prices.lines and (listed is now or not without)
    return Option(
        name,
        changed,
        plan,
        outcome=", ".join(sorted({g.outcome for g in run.groups})),
        cost=listed.total if known else None,
        unpriced=without,
        parts=listed.parts,
        head=head_lost(plan, flow),
        flow=flow,
        drain_time=max((g.drain_time for g in run.groups if g.outcome == "cycles"), default=None),
        residual=residual_water(plan, run),
        swing=run.sump_high - run.sump_low,
    )
