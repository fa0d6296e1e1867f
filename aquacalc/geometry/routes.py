"""The routes of a plan: runs, standpipes and tails, overflows, delivery. Lengths in m."""

from __future__ import annotations

from dataclasses import replace

from aquacalc.geometry.joints import STUB, USUAL_WALL, Joint, fitting_joint, next_size, passage, socket_depth
from aquacalc.geometry.laying import LEVEL, SLANT, UPRIGHT, Piece, Route, Way, add_joints, along_legs, solve
from aquacalc.plan.model import Bed, Chamber, Fitting, Pipe, Plan, Run, Siphon, Sump
from aquacalc.plan.network import host_of


def wall_of(vessel: Bed | Chamber | Sump) -> float:
    """Thickness (m) of a vessel's wall: the plan's, else the usual one."""
    return USUAL_WALL if vessel.wall is None else vessel.wall


def seal_of(plan: Plan, vessel: str) -> str:
    """Say what a pipe passes the wall of `vessel` through; a chamber that does not say takes after a bed."""
    own = next((c.seal for c in plan.chambers if c.name == vessel), "")
    if own:
        return own
    hosts = host_of(plan)
    for bed in plan.beds:
        if bed.name == vessel:
            return bed.seal
    return next((b.seal for b in plan.beds if hosts[b.name] == vessel), plan.beds[0].seal)


def run_fittings(plan: Plan, run: Run) -> tuple[Fitting, ...]:
    """Fittings of a run without the tees at its ends, which stand in the plan by themselves."""
    tees = {tee.name for tee in plan.tees}
    inner = [f for f in run.fittings if not f.name.startswith(("entrance", "exit"))]
    if run.to in tees and inner and inner[-1].name.startswith("tee"):
        inner = inner[:-1]
    if run.start in tees and inner and inner[0].name.startswith("tee"):
        inner = inner[1:]
    return tuple(inner)


def run_route(plan: Plan, run: Run) -> Route:
    """Route of a run, from the inside face of a bed or the middle of a tee to the next."""
    pipe, half = run.pipe, 0.5 * run.pipe.bore
    tees = {tee.name: tee for tee in plan.tees}
    if run.start in tees:
        start, top, floor = fitting_joint("tee, branch", pipe), tees[run.start].elevation + half, False
        start = replace(start, name=run.start)
    else:
        bed = plan.bed(run.start)
        floor = bed.outlet == "floor"
        start = passage(bed.seal, pipe, bed.name, wall=wall_of(bed))
        top = bed.floor if floor else bed.outlet_invert + half
    if run.to in tees:
        end = replace(fitting_joint("tee, branch", pipe), name=run.to)
        turn_level = any(f.name == "tee, in line" for f in run.fittings[-1:])
    else:
        end, turn_level = (
            passage(seal_of(plan, run.to), pipe, run.to, wall=wall_of(plan.vessel(run.to))),
            True,
        )
    name = f"{run.start} to {run.to}"
    if run.legs:
        return along_legs(name, pipe, run.legs, run.fittings, start, end, units=plan.units)
    way = Way(name, pipe, run.length, top - run.outfall - half, [start], units=plan.units)
    add_joints(run_fittings(plan, run), pipe, way)
    way.joints.append(end)
    return solve(way, UPRIGHT if floor else LEVEL, turn_level)


def siphon_routes(plan: Plan, siphon: Siphon) -> tuple[Route, ...]:
    """Routes of the standpipe and the tail: one where both are one pipe through a rubber pipe seal."""
    host, stand, tail = plan.vessel(siphon.host), siphon.standpipe, siphon.tail
    seal = seal_of(plan, siphon.host)
    depth = socket_depth(stand.pipe)
    reducer = stand.lip_diameter > stand.pipe.bore + 1e-6
    lip = Joint("reducer", 0.0, depth) if reducer else Joint("lip")
    stands = stand.height - (stand.cone_length if reducer else 0.0)
    same = (stand.pipe.series, stand.pipe.size, stand.pipe.outside_diameter) == (
        tail.pipe.series,
        tail.pipe.size,
        tail.pipe.outside_diameter,
    )
    top, length, base, name = host.floor, tail.length, 0.0, f"{siphon.name}: tail"
    routes: list[Route] = []
    if seal == "rubber pipe seal" and same:
        through = passage(seal, tail.pipe, host.name, wall=wall_of(host)).room
        start, base, name = lip, stands + through, f"{siphon.name}: standpipe and tail"
        top, length = host.floor + stands, tail.length + stands
    elif seal == "rubber pipe seal":
        below = STUB + depth
        joint = fitting_joint("contraction to 0.7", tail.pipe)
        start = replace(joint, name="reducer below the floor")
        foot = replace(start, socket=depth)
        top, length = host.floor - below, tail.length - below
        piece = Piece(UPRIGHT, stands + below, stands + below, lip, foot)
        routes.append(Route(f"{siphon.name}: standpipe", stand.pipe, piece.centre, piece.drop, (piece,)))
    else:
        start = passage(seal, tail.pipe, host.name, wall=wall_of(host))
        foot = passage(seal, stand.pipe, host.name, inside=True)
        piece = Piece(UPRIGHT, stands, stands, lip, foot)
        note = "Push the standpipe into the tank fitting without cement: it lifts out for cleaning."
        routes.append(Route(f"{siphon.name}: standpipe", stand.pipe, stands, stands, (piece,), (note,)))
    if tail.legs:
        first = replace(tail.legs[0], length=tail.legs[0].length + length - tail.length)
        legs = (first, *tail.legs[1:])
        end = Joint("open end")
        return (*routes, along_legs(name, tail.pipe, legs, tail.fittings, start, end, base, plan.units))
    way = Way(name, tail.pipe, length, 0.0, [start], base=base, units=plan.units)
    add_joints(tail.fittings, tail.pipe, way)
    way.joints.append(Joint("open end"))
    corners = len(way.spacings) + sum(1 for j in way.joints if j.turn == 90.0)
    # One bend leaves the last piece level: its invert lies at the outlet, its middle half a bore higher.
    way.drop = top - tail.outlet - (0.5 * tail.pipe.bore if corners % 2 else 0.0)
    return (*routes, solve(way, UPRIGHT, False))


def tail_crossing(plan: Plan, siphon: Siphon) -> float | None:
    """Elevation (m) of a tail's underside where it meets the sump's wall; None where it goes over the rim.

    A derived tail with two bends goes over as high as its first bend allows; one that hangs straight down
    from its host ends in the open sump under it.
    """
    tail, rim = siphon.tail, plan.sump.rim
    *_, route = siphon_routes(plan, siphon)
    half = 0.5 * tail.pipe.outside_diameter
    level = [k for k, p in enumerate(route.pieces) if p.heading in (LEVEL, SLANT)]
    if not level:
        return None
    if level[-1] == len(route.pieces) - 1:
        under = tail.outlet + 0.5 * tail.pipe.bore - half
    elif route.given:
        below = sum(p.drop for p in route.pieces[level[-1] + 1 :])
        under = tail.outlet + below - half
    else:
        first = route.pieces[0]
        under = plan.vessel(siphon.host).floor - (first.need - first.base) - half
        under -= passage(seal_of(plan, siphon.host), tail.pipe, "").room if first.base else 0.0
    return under if under < rim - 1e-9 else None


def delivery_route(plan: Plan) -> Route | None:
    """Route of the pump's delivery pipe, from the intake's level up to its outlet."""
    delivery = plan.pump.delivery
    if delivery is None:
        return None
    start, end = Joint("pump outlet"), Joint("open end")
    if delivery.legs:
        legs, parts = delivery.legs, delivery.fittings
        return along_legs("delivery", delivery.pipe, legs, parts, start, end, units=plan.units)
    low = plan.sump.floor + plan.pump.intake
    way = Way(
        "delivery",
        delivery.pipe,
        delivery.length,
        low - delivery.outlet,
        [start],
        climbs=True,
        units=plan.units,
    )
    add_joints(delivery.fittings, delivery.pipe, way)
    way.joints.append(end)
    return solve(way, UPRIGHT, False)


def overflow_route(plan: Plan, siphon: Siphon) -> Route | None:
    """Route of a safety overflow from its mouth through the floor; the plan does not say how it goes on."""
    if siphon.overflow is None:
        return None
    host, height = plan.vessel(siphon.host), siphon.overflow.height
    pipe, seal = overflow_pipe(siphon), seal_of(plan, siphon.host)
    note = "Lead it on to the sump by a way of its own: the plan does not say how, measure on the spot."
    foot = passage(seal, pipe, host.name, inside=True)
    length = height
    if seal == "rubber pipe seal":
        foot = Joint("coupling to its way on", socket=socket_depth(pipe))
        length += passage(seal, pipe, host.name, wall=wall_of(host)).room + foot.socket
    piece = Piece(UPRIGHT, length, length, Joint("mouth"), foot)
    return Route(f"overflow of {siphon.name}", pipe, length, length, (piece,), (note,), given=True)


def overflow_pipe(siphon: Siphon) -> Pipe:
    """Pipe of a safety overflow: the narrowest of the tail's series with the mouth that the plan asks for."""
    return next_size(siphon.tail.pipe.series, siphon.overflow.bore)


def routes(plan: Plan) -> tuple[Route, ...]:
    """Every pipe way of the plan: runs, standpipes, tails and overflows, delivery."""
    found = [run_route(plan, run) for run in plan.runs]
    for siphon in plan.siphons:
        found += siphon_routes(plan, siphon)
        over = overflow_route(plan, siphon)
        found += [over] if over else []
    delivery = delivery_route(plan)
    return tuple(found if delivery is None else [*found, delivery])
