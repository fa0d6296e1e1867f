"""Holes: which, how wide, with which saw, and where their middles lie. Lengths in m."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from aquacalc.buildsheet.lengths import said
from aquacalc.buildsheet.stock import Workshop
from aquacalc.geometry.holes import LEAST_EDGE, Opening, openings
from aquacalc.plan.model import Plan

#: A saw this near to the hole asked for is the one to use (common practice, no source), m.
SAW_NEAR = 0.001
#: Width of a notch in a bell's rim, for which the plan has only a height (common practice, no source), m.
NOTCH = 0.010


@dataclass(frozen=True)
class Hole(Opening):
    """A hole to drill, with the grower's hole saw that fits it, `saw` (m), or None."""

    saw: float | None = None


def fitting_saw(diameters: tuple[float, ...], saws: tuple[float, ...]) -> float | None:
    """Return the saw (m) nearest to any of the diameters (m); None where none is near enough."""
    off = {saw: min(abs(saw - d) for d in diameters) for saw in saws if diameters}
    near = [saw for saw in off if off[saw] <= SAW_NEAR + 1e-9]
    return min(near, key=lambda saw: (off[saw], saw), default=None)


def drilling(plan: Plan, workshop: Workshop) -> tuple[Hole, ...]:
    """Return every hole through a floor or wall, in the order of the plan."""
    found = []
    for opening in openings(plan):
        hole = Hole(**vars(opening), saw=fitting_saw(opening.diameters, workshop.hole_saws))
        if hole.wall == "wall" and hole.edge < LEAST_EDGE:
            wall = said(max(hole.edge, 0.0), plan.units)
            less = f"; only {wall} of wall beside the hole: raise it, or use a smaller fitting"
            hole = replace(hole, caution=hole.caution + less)
        found.append(hole)
    return tuple(found)


@dataclass(frozen=True)
class Cutout:
    """Openings to cut at the foot of a bell: `count` of `width` by `height`, top edge at `top`, m.

    `around` is from the middle of one to that of the next along the outside, m; `notch` the top edge of a
    notch over one of them, 0 for none; `breather` whether a tube goes through the bell's top.
    """

    siphon: str
    count: int
    width: float
    height: float
    top: float
    around: float
    notch: float
    breather: bool


def cutouts(plan: Plan) -> tuple[Cutout, ...]:
    """Return the openings of every bell."""
    return tuple(
        Cutout(
            s.name,
            s.bell.openings,
            s.bell.opening_width,
            s.bell.opening_height,
            s.bell.rim_height,
            math.pi * s.bell.outside_diameter / s.bell.openings,
            s.bell.notch_height,
            s.breather is not None,
        )
        for s in plan.siphons
    )
