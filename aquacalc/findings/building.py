"""Whether a plan can be built: pieces and their joints, holes, walls, seals, outlets and what is in the way.

What the plan itself gives decides; what is derived, because the plan leaves it out, is a note to measure.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

from aquacalc.findings.record import Finding
from aquacalc.geometry.contacts import contacts
from aquacalc.geometry.holes import LEAST_EDGE, Opening, bulge, openings
from aquacalc.geometry.outlines import depth_of_overlap
from aquacalc.geometry.routes import SLANT, UPRIGHT, Route, routes, tail_crossing
from aquacalc.geometry.space import Space, space
from aquacalc.geometry.strainers import outlet_level, outlet_run, sill, strainer_cut
from aquacalc.plan.legs import AGREES
from aquacalc.plan.model import Bed, Plan, Siphon
from aquacalc.plan.network import host_of
from aquacalc.units import show

#: The findings that are made here.
KEYS = frozenset({
    "piece_short", "line_climbs", "line_crest", "hole_edge", "hole_size", "hole_rib", "holes_close",
    "seal_wall", "seal_curve", "straight_length", "tail_wall", "bell_room", "bell_lift", "overlap",
    "sill", "strainer_tall",
})  # fmt: skip
#: A way may climb this much along its flow before it holds air (common practice, no source), m.
LEVEL = 0.002
#: Room for fingers around a bell (common practice, no source), and the least that lets it out, m.
FINGERS, LEAST_ROOM = 0.010, 0.003
#: What a wall may curve away under a hole: a rubber seal and a flat gasket (common practice, no source), m.
BULGE = {"rubber pipe seal": 0.006, "tank fitting": 0.003}
#: Thinnest wall that holds each in its hole (common practice, no source), m.
THIN = {"rubber pipe seal": 0.0015, "tank fitting": 0.001}


@dataclass(frozen=True)
class _Built:
    """A plan that is the same as another when what is built is the same: a sweep mostly changes the water."""

    built: tuple
    plan: Plan = field(compare=False)


def find_building(plan: Plan) -> list[Finding]:
    """Judge whether the plan can be built as it stands."""
    beds = tuple(
        replace(
            bed,
            media=replace(bed.media, porosity=0.0, bulk_density=0.0),
            inflow_share=0.0,
            empty_mass=0.0,
        )
        for bed in plan.beds
    )
    siphons = tuple((s.name, s.host, s.standpipe, s.bell, s.tail, s.media_guard) for s in plan.siphons)
    sump = (plan.sump.name, plan.sump.floor, plan.sump.shape, plan.sump.x, plan.sump.y, plan.sump.lies)
    rest = (plan.sump.wall, plan.pump.intake, plan.pump.delivery, plan.limits.residual, plan.units)
    built = (beds, plan.runs, plan.tees, plan.chambers, siphons, sump, rest)
    return list(_judged(_Built(built, plan)))


@lru_cache(maxsize=256)
def _judged(built: _Built) -> tuple[Finding, ...]:
    plan = built.plan
    placed = space(plan)
    found: list[Finding] = []
    for route in routes(plan):
        found += _pieces(route)
    found += _falls(plan)
    holes = openings(plan)
    for hole in holes:
        found += _hole(plan, hole)
    found += _neighbours(plan, holes)
    for siphon in plan.siphons:
        found += [*_tail(plan, siphon), *_bell(plan, siphon, placed)]
    found += _contacts(placed)
    for bed in plan.beds:
        found += _outlet(plan, bed)
    return tuple(found)


def _state(given: bool) -> str:
    return "does not" if given else "watch"


def _measure(given: bool) -> str:
    return "" if given else " The plan leaves this way open and it is derived: measure before you cut."


def _pieces(route: Route) -> list[Finding]:
    """Find pieces that their joints, seals and walls leave no room for."""
    short = [piece for piece in route.pieces if not piece.fits]
    found = _straight(route)
    if not short:
        return found
    worst = max(short, key=lambda p: p.need - p.centre)
    return [
        *found,
        Finding(
            key="piece_short",
            title="A piece is too short for its joints",
            state=_state(route.given),
            subject=route.name,
            value=worst.centre,
            limit=worst.need,
            direction="at least",
            kind="length",
            cause=f"Between {worst.first.name} and {worst.last.name}: sockets, seal and wall need more room "
            f"than there is.{_measure(route.given)}",
            change="Set the two farther apart: another elevation, length or leg.",
        ),
    ]


def _straight(route: Route) -> list[Finding]:
    """Find a pipe without a bend whose length and levels do not agree."""
    straight = all(piece.heading in (UPRIGHT, SLANT) for piece in route.pieces)
    if not straight or abs(route.length - abs(route.drop)) <= AGREES:
        return []
    return [
        Finding(
            key="straight_length",
            title="A straight pipe does not agree with its levels",
            state="watch",
            subject=route.name,
            value=route.length,
            limit=abs(route.drop),
            direction="at most",
            kind="length",
            cause="It has no bend, and its ends differ by this much in height, so it would have to slant.",
            change="Add its bends, or measure its length again.",
        )
    ]


def _falls(plan: Plan) -> list[Finding]:
    """Find drain lines that climb along their flow, or have a crest."""
    tees = {t.name: t for t in plan.tees}
    found = []
    for run in plan.runs:
        half = 0.5 * run.pipe.bore
        if run.start in tees:
            top = tees[run.start].elevation + half
        else:
            bed = plan.bed(run.start)
            top = bed.floor if bed.outlet == "floor" else bed.outlet_invert + half
        heights = [top]
        for leg in run.legs:
            heights.append(heights[-1] - leg.drop)
        if not run.legs:
            heights.append(run.outfall + half)
        climb = max(max(heights[k + 1 :], default=z) - z for k, z in enumerate(heights))
        if climb <= LEVEL:
            continue
        crest = len(run.legs) > 0 and max(heights[1:]) > heights[-1] + LEVEL
        slight = climb <= half and not crest
        text = show(climb, "length", plan.units)
        found.append(
            Finding(
                key="line_crest" if crest else "line_climbs",
                title="A crest in the line holds air" if crest else "A drain line climbs along its flow",
                state="may or may not" if slight else "does not",
                subject=f"{run.start} to {run.to}",
                value=climb,
                limit=0.0,
                direction="at most",
                band=(0.0, half),
                kind="length",
                cause=f"It climbs {text} on its way. Air stays in it at the first filling, and water when it "
                "drains." + (" That is less than half its bore, so some air gets past." if slight else ""),
                change=("Fill it slowly and watch for air that will not leave. Or let " if slight else "Let ")
                + "every line fall along its flow: lower its end, or raise its start.",
            )
        )
    return found


def _hole(plan: Plan, hole: Opening) -> list[Finding]:
    found = []
    where, s = f"{hole.vessel}: {hole.what}", plan.units
    vessel = plan.vessel(hole.vessel) if hole.vessel != plan.sump.name else plan.sump
    if hole.edge < LEAST_EDGE:
        found.append(
            Finding(
                key="hole_edge",
                title="A hole is too near an edge",
                state="does not" if hole.edge < 0.5 * LEAST_EDGE else "watch",
                subject=where,
                value=hole.edge,
                limit=LEAST_EDGE,
                direction="at least",
                kind="length",
                cause=f"A hole of {show(hole.widest, 'length', s)} leaves too little wall beside it for a "
                f"{hole.fitting} to seal.",
                change="Move it, or use a smaller pipe or fitting.",
            )
        )
    if not hole.diameters:
        found.append(
            Finding(
                key="hole_size",
                title="No list has the hole for this pipe",
                state="watch",
                subject=where,
                cause=f"No source gives the hole of a {hole.fitting} on {hole.pipe.series} {hole.pipe.size}, "
                "so no saw can be named.",
                change="Measure the one supplied before you drill.",
            )
        )
    ribs = vessel.ribs if isinstance(vessel, Bed) else ()
    near = min((abs(rib - hole.along) - 0.5 * hole.widest for rib in ribs), default=None)
    if hole.wall == "floor" and near is not None and near < LEAST_EDGE:
        found.append(
            Finding(
                key="hole_rib",
                title="A hole meets a rib",
                state="does not",
                subject=where,
                value=near,
                limit=LEAST_EDGE,
                direction="at least",
                kind="length",
                cause=f"A {hole.fitting} needs a flat floor; the nearest rib is too close.",
                change="Give the outlet another place with outlet_along, between the ribs.",
            )
        )
    if vessel.wall is not None and vessel.wall < THIN[hole.fitting]:
        found.append(
            Finding(
                key="seal_wall",
                title="The wall is too thin for its seal",
                state="does not",
                subject=where,
                value=vessel.wall,
                limit=THIN[hole.fitting],
                direction="at least",
                kind="length",
                cause=f"A {hole.fitting} does not hold in a wall this thin.",
                change="Put a plate behind the wall, or take a thicker vessel.",
            )
        )
    found += _curved(plan, hole, vessel)
    return found


def _curved(plan: Plan, hole: Opening, vessel) -> list[Finding]:
    across = vessel.shape.curve(hole.wall == "floor")
    away = bulge(hole.widest, across) if across else 0.0
    limit = BULGE[hole.fitting]
    if away <= limit:
        return []
    other = "a rubber pipe seal" if hole.fitting == "tank fitting" else "a wider vessel"
    return [
        Finding(
            key="seal_curve",
            title="The wall curves too much for its seal",
            state="does not" if away > 2.0 * limit else "watch",
            subject=f"{hole.vessel}: {hole.what}",
            value=away,
            limit=limit,
            direction="at most",
            kind="length",
            cause=f"Over a hole of {show(hole.widest, 'length', plan.units)} the wall curves away this much.",
            change=f"Use {other}, a smaller pipe, or a flat wall.",
        )
    ]


def _neighbours(plan: Plan, openings_: tuple[Opening, ...]) -> list[Finding]:
    """Find vessels whose wall has no room for all the holes in it side by side."""
    found = []
    for chamber in plan.vessels:
        holes = [h for h in openings_ if h.vessel == chamber.name and h.wall == "wall"]
        if len(holes) < 2:
            continue
        taken = sum(h.widest + LEAST_EDGE for h in holes)
        a, b = chamber.shape.across(0.0)
        around = 3.14159 * min(a, b) if chamber.shape.rounded else 2.0 * (a + b) - 8.0 * LEAST_EDGE
        if taken > around:
            found.append(
                Finding(
                    key="holes_close",
                    title="Holes are too near each other",
                    state="does not",
                    subject=chamber.name,
                    value=around,
                    limit=taken,
                    direction="at least",
                    kind="length",
                    cause=f"{len(holes)} holes and the wall between them do not fit round this vessel.",
                    change="Join lines with a tee before they enter, or take a wider vessel.",
                )
            )
    return found


def _tail(plan: Plan, siphon: Siphon) -> list[Finding]:
    """Find a tail that goes through the sump's wall without a hole for it."""
    crossing, given = tail_crossing(plan, siphon), bool(siphon.tail.legs)
    if crossing is None or siphon.tail.enters == "through the wall":
        return []
    return [
        Finding(
            key="tail_wall",
            title="The tail meets the sump's wall",
            state=_state(given),
            subject=f"{siphon.name}: tail",
            value=crossing,
            limit=plan.sump.rim,
            direction="at least",
            kind="elevation",
            cause="Where it goes in, the pipe's underside is below the sump's rim, and the plan has no hole "
            f"for it.{_measure(given)}",
            change='Lead it over the rim and down with two bends, or give enters = "through the wall" and '
            "drill for it.",
        )
    ]


def _bell(plan: Plan, siphon: Siphon, placed: Space) -> list[Finding]:
    found = []
    host, bell = plan.vessel(siphon.host), siphon.bell
    wide = siphon.media_guard or host.shape.narrowest()
    inlets = [run for run in plan.runs if run.to == host.name]
    stub = 0.0 if siphon.media_guard or not inlets else 0.010
    room = 0.5 * (wide - bell.outside_diameter) - stub
    if room < FINGERS:
        found.append(
            Finding(
                key="bell_room",
                title="No room around the bell",
                state="does not" if room < LEAST_ROOM else "watch",
                subject=siphon.name,
                value=room,
                limit=FINGERS,
                direction="at least",
                kind="length",
                cause="That is left beside the bell"
                + (", past the inlet's pipe," if stub else "")
                + " to take it out by hand.",
                change="Use a narrower bell or a wider vessel.",
            )
        )
    me = placed.vessels[host.name]
    headroom = getattr(host, "headroom", None)
    if headroom is not None and headroom < bell.top_height:
        found.append(
            Finding(
                key="bell_lift",
                title="The bell cannot be lifted out",
                state="does not",
                subject=siphon.name,
                value=headroom,
                limit=bell.top_height,
                direction="at least",
                kind="length",
                cause=f"Its foot has to clear the rim of {host.name}, and there is less room above it.",
                change="Clear the room above the chamber, or move the chamber.",
            )
        )
    above = [
        s for s in placed.vessels.values()
        if s.name != host.name and s.vessel.floor - s.wall >= host.rim - 1e-9 and _over(me, s)
    ]  # fmt: skip
    for other in above:
        free = other.vessel.floor - other.wall - host.rim
        if free < bell.top_height:
            given = me.given and other.given
            found.append(
                Finding(
                    key="bell_lift",
                    title="The bell cannot be lifted out",
                    state=_state(given),
                    subject=siphon.name,
                    value=free,
                    limit=bell.top_height,
                    direction="at least",
                    kind="length",
                    cause=f"{other.name} is above it.{_measure(given)}",
                    change="Move one of them aside.",
                )
            )
    return found


def _over(below, above) -> bool:
    return depth_of_overlap(below.outline(below.vessel.rim), above.outline(above.vessel.floor)) > 0.0


def _contacts(placed: Space) -> list[Finding]:
    """Find parts in the same place: each pair that the plan gives, and one note on those derived."""
    found, derived = [], []
    for c in contacts(placed):
        if not c.given:
            derived.append(c)
            continue
        found.append(
            Finding(
                key="overlap",
                title="Two parts are in the same place",
                state="does not",
                subject=f"{c.first} and {c.second}",
                value=c.depth,
                limit=0.0,
                direction="at most",
                kind="length",
                cause="One reaches this far into the other.",
                change="Move one of them, or lead the pipe round.",
            )
        )
    if derived:
        pairs = "; ".join(f"{c.first} and {c.second}" for c in derived)
        found.append(
            Finding(
                key="overlap",
                title="Parts may be in each other's way",
                state="watch",
                subject="layout",
                value=max(c.depth for c in derived),
                limit=0.0,
                direction="at most",
                kind="length",
                cause="The plan does not say where everything goes. Laid out by its lengths, these are in "
                f"the same place: {pairs}.",
                change="Measure on the spot, or give x and y of the vessels and the legs of the pipes.",
            )
        )
    return found


def _outlet(plan: Plan, bed: Bed) -> list[Finding]:
    run = outlet_run(plan, bed)
    if run is None:
        return []
    found, s = [], plan.units
    height = sill(plan, bed)
    limit = plan.limits.residual
    made = f"strainer {bed.strainer.fixing}" if bed.strainer else "no strainer"
    host = plan.vessel(host_of(plan)[bed.name])
    siphon = next(x for x in plan.siphons if x.host == host.name)
    lip = host.floor + siphon.standpipe.height
    values: dict[str, Any] = {
        "subject": bed.name, "value": height, "limit": limit, "direction": "at most", "kind": "length",
    }  # fmt: skip
    cause = f"The outlet as built ({bed.outlet}, {made}) keeps {show(height, 'length', s)} above its invert."
    if outlet_level(plan, bed) >= lip:
        found.append(
            Finding(
                key="sill",
                title="The outlet is above the flood level",
                state="does not",
                cause=cause + " This bed never floods and drains.",
                change="Lower the bed or its outlet, or lengthen the standpipe.",
                **values,
            )
        )
    elif height > limit:
        found.append(
            Finding(
                key="sill",
                title="The outlet leaves a lot of water",
                state="watch",
                cause=cause,
                change='Make the strainer "over the outlet", or in a media guard.',
                **values,
            )
        )
    else:
        found.append(
            Finding(key="sill", title="The outlet leaves little water", state="good", cause=cause, **values)
        )
    if bed.strainer is None:
        return found
    cut = strainer_cut(plan, bed)
    tall = cut.tube if cut.foot in ("foot", "coupling") and bed.outlet == "floor" else 0.0
    if cut.fixing != "media guard" and tall > bed.shape.depth:
        found.append(
            Finding(
                key="strainer_tall",
                title="The strainer sticks out of the bed",
                state="watch",
                subject=bed.name,
                value=tall,
                limit=bed.shape.depth,
                direction="at most",
                kind="length",
                cause="Its openings, ring over ring, make it taller than the bed.",
                change="Cut more openings in a ring, or use a wider tube.",
            )
        )
    return found
