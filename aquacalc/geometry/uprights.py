"""What stands in the vessels: standpipes, bells, strainers, safety overflows. Lengths in m."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aquacalc.geometry.holes import Opening
from aquacalc.geometry.routes import overflow_pipe
from aquacalc.geometry.strainers import strainer_cut
from aquacalc.plan.model import Plan


@dataclass(frozen=True)
class Upright:
    """A round part that stands in a vessel.

    Attributes
    ----------
    name, host : str
        "bell of siphon", and the vessel it stands in.
    x, y : float
        Its middle, m.
    low, high : float
        Elevations of its foot and its top, m.
    diameter : float
        Outside, m.
    given : bool
        Whether the plan says where its vessel stands and where it stands in it.
    """

    name: str
    host: str
    x: float
    y: float
    low: float
    high: float
    diameter: float
    given: bool

    def apart(self, other: Upright) -> float:
        """Room between two of them, m; negative where one is in the other."""
        if min(self.high, other.high) <= max(self.low, other.low):
            return math.inf
        return math.dist((self.x, self.y), (other.x, other.y)) - 0.5 * (self.diameter + other.diameter)


def uprights(plan: Plan, vessels: dict, holes: tuple[Opening, ...]) -> tuple[Upright, ...]:
    """Place what stands in the vessels, by where these stand and where the holes in their floors are."""
    found = []
    for siphon in plan.siphons:
        host, bell, stand = vessels[siphon.host], siphon.bell, siphon.standpipe
        floor = host.vessel.floor
        wall = 0.5 * (bell.outside_diameter - bell.bore)
        wide = max(stand.pipe.outside_diameter, stand.lip_diameter)
        at = (siphon.host, host.x, host.y, floor)
        found.append(Upright(f"standpipe of {siphon.name}", *at, floor + stand.height, wide, host.given))
        top = floor + bell.top_height + wall
        found.append(Upright(f"bell of {siphon.name}", *at, top, bell.outside_diameter, host.given))
        if siphon.overflow is not None:
            pipe = overflow_pipe(siphon)
            hole = next(h for h in holes if h.key == f"siphon.{siphon.name}.overflow")
            x, y = host.on_floor(hole.along, hole.across)
            at, high = (siphon.host, x, y, floor), floor + siphon.overflow.height
            found.append(Upright(f"overflow of {siphon.name}", *at, high, pipe.outside_diameter, True))
    outlets = {h.vessel: h for h in holes if h.key.startswith("run.") and h.wall == "floor"}
    for bed in plan.beds:
        cut = strainer_cut(plan, bed) if bed.name in outlets else None
        if cut is not None and cut.foot != "bend 90, sharp":
            hole = outlets[bed.name]
            x, y = vessels[bed.name].on_floor(hole.along, hole.across)
            at, high, given = (bed.name, x, y, bed.floor), bed.floor + cut.tube, vessels[bed.name].given
            found.append(Upright(f"strainer of {bed.name}", *at, high, cut.pipe.outside_diameter, given))
    return tuple(found)
