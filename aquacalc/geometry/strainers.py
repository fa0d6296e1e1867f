"""A strainer cut into pipe: how many openings, where on the pipe, what wall is left. Lengths in m."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aquacalc.equations.formulas import circle_area
from aquacalc.geometry.joints import socket_depth
from aquacalc.plan.model import Bed, Pipe, Plan

#: Part of the wall that a ring of openings may take (common practice, no source).
MOST_CUT = 0.5
#: Wall kept between two rings: as wide as the opening, and at least this (common practice, no source), m.
LEAST_BRIDGE = 0.005


def strainer_area(plan: Plan, start: str) -> float:
    """Open area (m2) of the strainer of the bed `start`; 0 when it has none."""
    bed = next((b for b in plan.beds if b.name == start), None)
    if bed is None or bed.strainer is None:
        return 0.0
    s = bed.strainer
    return s.count * (circle_area(s.width) if s.kind == "holes" else s.width * s.length)


@dataclass(frozen=True)
class StrainerCut:
    """The strainer of one bed.

    Attributes
    ----------
    bed : str
    pipe : Pipe
        The run's own pipe, capped, pushed over the outlet with a coupling.
    kind : {"slots", "holes"}
    width, length : float
        Of a slot, or diameter of a hole and 0, m.
    count, wanted : int
        Openings in the plan, and the fewest that give the open area asked for.
    area, asked : float
        Open area of the plan and the area asked for, m2.
    per_ring, rings : int
        Openings around the pipe, and rings along it.
    pitch : float
        From the middle of one ring to the next, m.
    around : float
        From the middle of one opening to the next, along the wall, m.
    bridge : float
        Wall left between rings, m.
    wall_left : float
        Part of the wall that a ring leaves.
    tube : float
        Length of the piece of pipe, with what goes into cap and coupling, m.
    """

    bed: str
    pipe: Pipe
    kind: str
    width: float
    length: float
    count: int
    wanted: int
    area: float
    asked: float
    per_ring: int
    rings: int
    pitch: float
    around: float
    bridge: float
    wall_left: float
    tube: float


def strainer_cut(plan: Plan, bed: Bed) -> StrainerCut | None:
    """Lay out the openings of a bed's strainer; None without a strainer or a run."""
    run = next((r for r in plan.runs if r.start == bed.name), None)
    strainer = bed.strainer
    if strainer is None or run is None:
        return None
    pipe = run.pipe
    wall = math.pi * pipe.outside_diameter
    across = strainer.length if strainer.kind == "slots" else strainer.width
    one = strainer_area(plan, bed.name) / strainer.count
    asked = plan.limits.strainer_ratio * circle_area(pipe.bore)
    per_ring = max(1, min(strainer.count, math.floor(MOST_CUT * wall / across)))
    rings = math.ceil(strainer.count / per_ring)
    bridge = max(strainer.width, LEAST_BRIDGE)
    pitch = strainer.width + bridge
    return StrainerCut(
        bed=bed.name,
        pipe=pipe,
        kind=strainer.kind,
        width=strainer.width,
        length=strainer.length,
        count=strainer.count,
        wanted=math.ceil(asked / one - 1e-9),
        area=one * strainer.count,
        asked=asked,
        per_ring=per_ring,
        rings=rings,
        pitch=pitch,
        around=wall / per_ring,
        bridge=bridge,
        wall_left=1.0 - per_ring * across / wall,
        tube=2.0 * socket_depth(pipe) + rings * pitch + bridge,
    )


def strainers(plan: Plan) -> tuple[StrainerCut, ...]:
    """Every strainer of the plan."""
    found = (strainer_cut(plan, bed) for bed in plan.beds)
    return tuple(cut for cut in found if cut is not None)
