"""Findings on the holes in vessels: edges, corners, ribs, each other, seals, saws."""

from __future__ import annotations

import math
from itertools import combinations

from aquacalc.findings.building_words import measured, says
from aquacalc.findings.record import Finding
from aquacalc.geometry.holes import LEAST_EDGE, Opening, bulge
from aquacalc.geometry.placed import PlacedHole, Space
from aquacalc.geometry.strainers import strainer_cut
from aquacalc.plan.model import Bed, Plan
from aquacalc.units import show

#: What a wall may curve away under a hole: a rubber seal and a flat gasket (common practice, no source), m.
BULGE = {"rubber pipe seal": 0.006, "tank fitting": 0.003}
#: Thinnest wall that holds each in its hole (common practice, no source), m.
THIN = {"rubber pipe seal": 0.0015, "tank fitting": 0.001}
#: The widest hole saw that shops have (common practice, no source), m.
WIDEST_SAW = 0.152


def find_holes(plan: Plan, placed: Space) -> list[Finding]:
    """Judge every hole by itself, and those of a vessel against each other."""
    found = []
    for at in placed.holes:
        found += _hole(plan, at, placed)
    for vessel in placed.vessels.values():
        found += _neighbours(vessel, [h for h in placed.holes if h.hole.vessel == vessel.name])
    return found


def _where(hole: Opening) -> str:
    return f"{hole.vessel}: {hole.what}"


def _hole(plan: Plan, at: PlacedHole, placed: Space) -> list[Finding]:
    found, hole, s = [], at.hole, plan.units
    vessel, where = placed.vessels[hole.vessel].vessel, _where(hole)
    wide = show(hole.widest, "length", s)
    corner = placed.vessels[hole.vessel].corner(at.at) - 0.5 * hole.widest
    room = min(hole.edge, corner)
    if room < LEAST_EDGE - 1e-9:
        state, note = measured(at.given or hole.edge <= corner)
        cause = f"A hole of {wide} leaves too little wall beside it for a {hole.fitting} to seal.{note}"
        state = state if room < 0.5 * LEAST_EDGE else "watch"
        found.append(says("hole_edge", state, where, cause, room, LEAST_EDGE))
    if not hole.diameters:
        cause = (
            f"No source gives the hole of a {hole.fitting} on {hole.pipe.series} {hole.pipe.size}, so no saw "
            "can be named."
        )
        found.append(says("hole_size", "watch", where, cause))
    if hole.widest > WIDEST_SAW:
        cause = f"A {hole.fitting} on {hole.pipe.size} needs a hole of {wide}."
        found.append(says("hole_saw", "watch", where, cause, hole.widest, WIDEST_SAW))
    ribs = vessel.ribs if isinstance(vessel, Bed) and hole.wall == "floor" else ()
    near = min((abs(rib - hole.along) - 0.5 * hole.widest for rib in ribs), default=math.inf)
    if near < LEAST_EDGE:
        cause = f"A {hole.fitting} needs a flat floor; the nearest rib is too close."
        found.append(says("hole_rib", "does not", where, cause, near, LEAST_EDGE))
    if vessel.wall is not None and vessel.wall < THIN[hole.fitting]:
        cause = f"A {hole.fitting} does not hold in a wall this thin."
        found.append(says("seal_wall", "does not", where, cause, vessel.wall, THIN[hole.fitting]))
    across = vessel.shape.curve(hole.wall == "floor")
    away, limit = bulge(hole.widest, across) if across else 0.0, BULGE[hole.fitting]
    if away > limit:
        other = "a rubber pipe seal" if hole.fitting == "tank fitting" else "a wider vessel"
        cause = f"Over a hole of {wide} the wall curves away this much."
        change = f"Use {other}, a smaller pipe, or a flat wall."
        state = "does not" if away > 2.0 * limit else "watch"
        found.append(says("seal_curve", state, where, cause, away, limit, change=change))
    if hole.wall == "floor" and isinstance(vessel, Bed) and hole.key.startswith("run."):
        found += _strainer(plan, vessel, hole)
    return found


def _strainer(plan: Plan, bed: Bed, hole: Opening) -> list[Finding]:
    """Find a strainer that is too wide for its place, or too tall for its bed."""
    cut = strainer_cut(plan, bed)
    if cut is None or cut.foot == "bend 90, sharp":
        return []
    found = []
    room = hole.edge + 0.5 * (hole.widest - cut.pipe.outside_diameter)
    if room < -1e-9:
        wide = show(cut.pipe.outside_diameter, "length", plan.units)
        cause = f"Its tube, {cut.fixing}, is {wide} wide outside."
        found.append(says("strainer_wall", "does not", bed.name, cause, room, 0.0))
    if cut.fixing != "media guard" and cut.foot in ("foot", "coupling") and cut.tube > bed.shape.depth:
        cause = "Its openings, ring over ring, make it taller than the bed."
        found.append(says("strainer_tall", "watch", bed.name, cause, cut.tube, bed.shape.depth))
    return found


def _neighbours(vessel, holes: list[PlacedHole]) -> list[Finding]:
    """Find two holes of a vessel that leave too little wall between them."""
    walls = [h.hole for h in holes if h.hole.wall == "wall"]
    taken = sum(h.widest + LEAST_EDGE for h in walls)
    a, b = vessel.vessel.shape.across(0.0)
    around = math.pi * min(a, b) if vessel.vessel.shape.rounded else 2.0 * (a + b) - 8.0 * LEAST_EDGE
    if len(walls) > 1 and taken > around:
        cause = f"{len(walls)} holes and the wall between them do not fit round this vessel."
        change = "Join lines with a tee before they enter, or take a wider vessel."
        return [says("holes_close", "does not", vessel.name, cause, around, taken, change=change)]
    found = []
    for one, two in combinations(holes, 2):
        apart = one.apart(two)
        if apart < LEAST_EDGE - 1e-9:
            state, note = measured(one.given and two.given)
            cause = f"{one.hole.what} and {two.hole.what} leave this much wall between them.{note}"
            found.append(says("holes_close", state, vessel.name, cause, apart, LEAST_EDGE))
    return found
