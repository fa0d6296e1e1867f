"""Whether a plan can be built: pieces and their joints, lines, bells, outlets and what is in the way.

What the plan itself gives decides; what is derived, because the plan leaves it out, is a note to measure.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache

from aquacalc.findings.building_words import measured, says
from aquacalc.findings.draining import WET_ZONE
from aquacalc.findings.holes import find_holes
from aquacalc.findings.record import Finding, the
from aquacalc.geometry.contacts import Contact, contacts
from aquacalc.geometry.laying import LEVEL, SLANT, STEEP, UPRIGHT, Route
from aquacalc.geometry.outlines import depth_of_overlap
from aquacalc.geometry.placed import Space, Standing
from aquacalc.geometry.routes import routes, tail_crossing
from aquacalc.geometry.space import space
from aquacalc.geometry.strainers import outlet_level, outlet_run, sill
from aquacalc.plan.legs import AGREES
from aquacalc.plan.model import Bed, Plan, Siphon
from aquacalc.plan.network import host_of
from aquacalc.units import show

#: A way may climb this much along its flow before it holds air (common practice, no source), m.
FLAT = 0.002
#: Room for fingers around a bell (common practice, no source), and the least that lets it out, m.
FINGERS, LEAST_ROOM = 0.010, 0.003
#: Most pairs in the same place that are told one by one.
MOST_NAMED = 20


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
    siphons = tuple(
        (s.name, s.host, s.standpipe, s.bell, s.tail, s.media_guard, s.overflow) for s in plan.siphons
    )
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
        found += _pieces(route, plan.units)
    found += [*_falls(plan), *_misses(plan, placed), *find_holes(plan, placed)]
    for siphon in plan.siphons:
        found += [*_tail(plan, siphon), *_bell(plan, siphon, placed)]
    found += _contacts(placed)
    for bed in plan.beds:
        found += _outlet(plan, bed)
    return tuple(found)


def _pieces(route: Route, units: str) -> list[Finding]:
    """Find pieces that joints, seals and walls leave no room for, and a way that would have to slant."""
    found = []
    straight = all(piece.heading in (UPRIGHT, SLANT) for piece in route.pieces)
    if straight and abs(route.length - abs(route.drop)) > AGREES:
        cause = "It has no bend, and its ends differ by this much in height, so it would have to slant."
        found.append(says("straight_length", "watch", route.name, cause, route.length, abs(route.drop)))
    level = [piece for piece in route.pieces if piece.heading == LEVEL]
    fall, most = sum(abs(p.drop) for p in level), STEEP * sum(p.centre for p in level)
    if fall > most:
        cause = "Its bends turn on the level, so all of this fall is in pieces that are cut as level ones."
        found.append(says("line_steep", "watch", route.name, cause, fall, most))
    short = [piece for piece in route.pieces if not piece.fits]
    if short:
        # to the nanometre: which of two that lack the same is named must not hang on a last digit
        worst = max(short, key=lambda p: round((p.need - p.centre) / 1e-9))
        state, note = measured(route.given)
        cause = (
            f"Between {worst.first.name} and {worst.last.name}: sockets, seal and wall need more room "
            f"than there is.{note}"
        )
        others = "; ".join(
            f"between {p.first.name} and {p.last.name} ({show(p.centre, 'length', units)} of "
            f"{show(p.need, 'length', units)})"
            for p in short
            if p is not worst
        )
        cause += f" Also too short: {others}." if others else ""
        found.append(says("piece_short", state, route.name, cause, worst.centre, worst.need))
    return found


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
        if climb <= FLAT:
            continue
        crest = len(run.legs) > 0 and max(heights[1:]) > heights[-1] + FLAT
        slight = climb <= half and not crest
        much = show(climb, "length", plan.units)
        cause = (
            f"It climbs {much} on its way. Air stays in it at the first filling, and water when it drains."
        )
        change = ""
        if slight:
            cause += " That is less than half its bore, so some air gets past."
            change = (
                "Fill it slowly and watch for air that will not leave. Or let every line fall along its "
                "flow: lower its end, or raise its start."
            )
        key, state = "line_crest" if crest else "line_climbs", "may or may not" if slight else "does not"
        found.append(
            says(key, state, f"{run.start} to {run.to}", cause, climb, 0.0, (0.0, half), change=change)
        )
    return found


def _misses(plan: Plan, placed: Space) -> list[Finding]:
    """Find pipes whose ends, by the plan's own places and lengths, are not at what they enter."""
    found = []
    for line in placed.lines:
        miss = placed.misses.get(line.name, 0.0)
        if miss > AGREES:
            state, note = measured(line.given)
            cause = f"Where the plan puts {line.start} and {line.to}, its end is this far off.{note}"
            found.append(says("line_misses", state, line.name, cause, miss, AGREES))
    return found


def _tail(plan: Plan, siphon: Siphon) -> list[Finding]:
    """Find a tail that goes through the sump's wall without a hole for it."""
    crossing = tail_crossing(plan, siphon)
    if crossing is None or siphon.tail.enters == "through the wall":
        return []
    state, note = measured(bool(siphon.tail.legs))
    cause = (
        "Where it goes in, the pipe's underside is below the sump's rim, and the plan has no hole for it."
        + note
    )
    return [says("tail_wall", state, f"{siphon.name}: tail", cause, crossing, plan.sump.rim)]


def _bell(plan: Plan, siphon: Siphon, placed: Space) -> list[Finding]:
    """Find a bell that has no room beside it, or cannot be lifted out."""
    found = []
    host, bell, me = plan.vessel(siphon.host), siphon.bell, placed.vessels[siphon.host]
    wide = siphon.media_guard or host.shape.narrowest()
    inlet = not siphon.media_guard and any(run.to == host.name for run in plan.runs)
    room = 0.5 * (wide - bell.outside_diameter) - (0.010 if inlet else 0.0)
    if room < FINGERS:
        past = ", past the inlet's pipe," if inlet else ""
        cause = f"That is left beside the bell{past} to take it out by hand."
        state = "does not" if room < LEAST_ROOM else "watch"
        found.append(says("bell_room", state, siphon.name, cause, room, FINGERS))
    headroom = getattr(host, "headroom", None)
    if headroom is not None and headroom < bell.top_height:
        cause = f"Its foot has to clear the rim of {the(host.name)}, and there is less room above it."
        change = "Clear the room above the chamber, or move the chamber."
        found.append(
            says("bell_lift", "does not", siphon.name, cause, headroom, bell.top_height, change=change)
        )
    for other in placed.vessels.values():
        free = other.vessel.floor - other.wall - host.rim
        if other.name != host.name and -1e-9 <= free < bell.top_height and _over(me, other):
            state, note = measured(me.given and other.given)
            cause = f"{other.name} is above it.{note}"
            found.append(says("bell_lift", state, siphon.name, cause, free, bell.top_height))
    return found


def _over(below: Standing, above: Standing) -> bool:
    return depth_of_overlap(below.outline(below.vessel.rim), above.outline(above.vessel.floor)) > 0.0


def _contacts(placed: Space) -> list[Finding]:
    """Find parts in the same place: each pair that the plan gives, and one note on those derived.

    Of many pairs those that reach deepest are named, and how many more there are.
    """
    all_ = contacts(placed)
    given, more = _deepest([c for c in all_ if c.given])
    found = []
    for c in given:
        cause = "One reaches this far into the other."
        if more and c is given[-1]:
            cause += f" {more} more pairs of parts are in the same place too."
        found.append(says("overlap", "does not", f"{c.first} and {c.second}", cause, c.depth, 0.0))
    derived, more = _deepest([c for c in all_ if not c.given])
    if derived:
        pairs = "; ".join(f"{c.first} and {c.second}" for c in derived)
        cause = (
            "The plan does not say where everything goes. Laid out by its lengths, these are in the same "
            f"place: {pairs}{f'; and {more} more' if more else ''}."
        )
        deepest = max(c.depth for c in derived)
        title = "Parts may be in each other's way"
        change = "Measure on the spot, or give x and y of the vessels and the legs of the pipes."
        found.append(says("overlap", "watch", "layout", cause, deepest, 0.0, title=title, change=change))
    return found


def _deepest(all_: list[Contact]) -> tuple[list[Contact], int]:
    """Return the contacts to name, in their order, and how many are left out."""
    order = sorted(range(len(all_)), key=lambda k: -all_[k].depth)[:MOST_NAMED]
    return [all_[k] for k in sorted(order)], len(all_) - len(order)


def _outlet(plan: Plan, bed: Bed) -> list[Finding]:
    """Judge the water that a bed's outlet keeps as it is built."""
    if outlet_run(plan, bed) is None:
        return []
    height, limit = sill(plan, bed), plan.limits.residual
    made = f"strainer {bed.strainer.fixing}" if bed.strainer else "no strainer"
    host = plan.vessel(host_of(plan)[bed.name])
    siphon = plan.siphon_in(host.name)
    much = show(height, "length", plan.units)
    cause = f"The outlet as built ({bed.outlet}, {made}) leaves {much} of water above its invert."
    state, title, change = "good", "", ""
    if outlet_level(plan, bed) >= host.floor + siphon.standpipe.height:
        state, cause = "does not", cause + " This bed never floods and drains."
        title = "The outlet is above the flood level"
        change = "Lower the bed or its outlet, or lengthen the standpipe."
    elif height > limit:
        # A floor outlet that keeps more than the wet zone that is usual keeps roots under water.
        state = "may or may not" if bed.outlet == "floor" and height > WET_ZONE else "watch"
        title = "The outlet leaves a lot of water"
        change = 'Make the strainer "over the outlet", or in a media guard.'
    return [says("sill", state, bed.name, cause, height, limit, title=title, change=change)]
