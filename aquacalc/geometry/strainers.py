"""A bed's outlet as it is built: how its strainer is made and cut, the sill it leaves. Lengths in m."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aquacalc.equations.formulas import circle_area
from aquacalc.geometry.joints import fitting_joint, next_size, passage, socket_depth
from aquacalc.plan.model import Bed, Pipe, Plan, Run

#: Part of the wall that a ring of openings may take (common practice, no source).
MOST_CUT = 0.5
#: Wall kept between two rings: as wide as the opening, and at least this (common practice, no source), m.
LEAST_BRIDGE = 0.005
#: How much wider than the pipe's outside a tube over the outlet is (common practice, no source), m.
OVER, AROUND = 0.003, 0.050
#: A guard that is open above stands this much out of the media (common practice, no source), m.
ABOVE_MEDIA = 0.020
#: Ways to make a strainer, with how each is put in; the first is what a plan means that says nothing.
FIXINGS = {
    "over the outlet": "a wider tube, capped, stands on the floor over the outlet; it lifts out",
    "in a coupling": "a capped tube stands in a coupling on the outlet",
    "lying on the floor": "a capped tube lies on the floor, in an elbow on the outlet",
    "media guard": "a guard wide enough for a hand stands around the open outlet; its openings strain",
}


def strainer_area(plan: Plan, start: str) -> float:
    """Open area (m2) of the strainer of the bed `start`; 0 when it has none."""
    bed = next((b for b in plan.beds if b.name == start), None)
    if bed is None or bed.strainer is None:
        return 0.0
    s = bed.strainer
    return s.count * (circle_area(s.width) if s.kind == "holes" else s.width * s.length)


def outlet_run(plan: Plan, bed: Bed) -> Run | None:
    """Return the run out of a bed; None for a bed that its own siphon empties."""
    return plan.run_from(bed.name)


def pipe_end(seal: str, pipe: Pipe) -> float:
    """Height (m) above the inside face of what stands there with no strainer: pipe end or inside flange."""
    joint = passage(seal, pipe, "")
    return joint.socket - joint.take_off if joint.socket else -joint.take_off


def first_opening(seal: str, pipe: Pipe, fixing: str, width: float) -> float:
    """Height (m) above the floor of the lowest opening of a strainer on a floor outlet.

    Parameters
    ----------
    seal : str
    pipe : Pipe
        Of the run.
    fixing : str
        Key of `FIXINGS`.
    width : float
        Of an opening, m.
    """
    if fixing in ("over the outlet", "media guard"):
        return LEAST_BRIDGE
    bridge = max(width, LEAST_BRIDGE)
    if fixing == "in a coupling":
        if passage(seal, pipe, "").socket:
            return pipe_end(seal, pipe) + bridge  # the fitting's own upper socket takes the tube
        coupling = fitting_joint("coupling", pipe)
        return 2.0 * (coupling.socket + coupling.take_off) + bridge
    return 0.0


def sill_height(seal: str, pipe: Pipe, fixing: str, width: float) -> float:
    """Depth (m) of the water that a floor outlet cannot drain.

    `width` is that of the strainer's openings (m). The pipe stands through its seal, or the tank fitting's
    flange on the floor; a coupling lifts the first opening, an elbow the pipe's invert.

    Examples
    --------
    >>> from aquacalc.plan.model import Pipe
    >>> pipe = Pipe("ASTM D1785 schedule 40", "1-1/2 in", 0.040894, 0.04826, 2.1e-6)
    >>> for fixing in FIXINGS:
    ...     print(fixing, round(sill_height("rubber pipe seal", pipe, fixing, 0.003) * 1e3))
    over the outlet 10
    in a coupling 64
    lying on the floor 32
    media guard 10
    """
    end = pipe_end(seal, pipe)
    if fixing == "lying on the floor":
        elbow = fitting_joint("bend 90, sharp", pipe)
        stands = end if passage(seal, pipe, "").socket else 0.0
        return max(end, stands + elbow.socket + elbow.take_off - 0.5 * pipe.bore)
    return max(end, first_opening(seal, pipe, fixing, width))


def sill(plan: Plan, bed: Bed, fixing: str = "") -> float:
    """Depth (m) that a bed keeps above the invert of its outlet, by the way its strainer is made.

    Parameters
    ----------
    plan : Plan
    bed : Bed
    fixing : str, optional
        Key of `FIXINGS`; the plan's own if not given.

    Returns
    -------
    float
        0 for a side outlet, which drains to its invert, and for a bed without a run.
    """
    run = outlet_run(plan, bed)
    if run is None or bed.outlet == "side":
        return 0.0
    if bed.strainer is None:
        return pipe_end(bed.seal, run.pipe)
    return sill_height(bed.seal, run.pipe, fixing or bed.strainer.fixing, bed.strainer.width)


def outlet_level(plan: Plan, bed: Bed) -> float:
    """Elevation (m) below which a bed's outlet, as it is built, drains nothing."""
    return bed.outlet_invert + sill(plan, bed)


def tube_pipe(pipe: Pipe, foot: str, fixing: str) -> Pipe:
    """Pipe that a strainer is cut from, on an outlet of `pipe`."""
    if foot != "foot":
        return pipe
    return next_size(pipe.series, pipe.outside_diameter + (AROUND if fixing == "media guard" else OVER))


@dataclass(frozen=True)
class StrainerCut:
    """The strainer of one bed.

    Attributes
    ----------
    bed : str
    fixing : str
        Key of `FIXINGS`.
    pipe : Pipe
        What it is cut from.
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
    first : float
        Wall between the foot of the tube, or its socket, and the first opening, m.
    wall_left : float
        Part of the wall that a ring leaves.
    tube : float
        Length of the piece of pipe, with what goes into its cap and socket, m.
    foot : str
        What its foot ends in: "foot", "coupling", "socket of the tank fitting" or "bend 90, sharp".
    sill : float
        Water that stays above the invert of the outlet, m.
    """

    bed: str
    fixing: str
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
    first: float
    wall_left: float
    tube: float
    foot: str
    sill: float


def strainer_cut(plan: Plan, bed: Bed) -> StrainerCut | None:
    """Lay out the openings of a bed's strainer; None without a strainer or a run."""
    run, strainer = outlet_run(plan, bed), bed.strainer
    if strainer is None or run is None:
        return None
    foot = _foot(bed, run)
    pipe = tube_pipe(run.pipe, foot, strainer.fixing)
    wall = math.pi * pipe.outside_diameter
    across = strainer.length if strainer.kind == "slots" else strainer.width
    one = strainer_area(plan, bed.name) / strainer.count
    asked = plan.limits.strainer_ratio * circle_area(run.pipe.bore)
    per_ring = max(1, min(strainer.count, math.floor(MOST_CUT * wall / across)))
    rings = math.ceil(strainer.count / per_ring)
    bridge = max(strainer.width, LEAST_BRIDGE)
    first = LEAST_BRIDGE if foot == "foot" else bridge
    pitch = strainer.width + bridge
    openings = first + rings * pitch
    if strainer.fixing == "media guard":  # it keeps the media off all the way up, and has no cap
        tube = max(openings, bed.media.depth + ABOVE_MEDIA)
    else:
        tube = openings + socket_depth(pipe) * (1.0 if foot == "foot" else 2.0)
    return StrainerCut(
        bed=bed.name,
        fixing=strainer.fixing,
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
        first=first,
        wall_left=1.0 - per_ring * across / wall,
        tube=tube,
        foot=foot,
        sill=sill(plan, bed),
    )


def _foot(bed: Bed, run: Run) -> str:
    """Name what the foot of a bed's strainer stands in; on a side outlet it lies in a coupling or fitting."""
    fixing = bed.strainer.fixing
    if fixing == "media guard" or (fixing == "over the outlet" and bed.outlet == "floor"):
        return "foot"
    if fixing == "lying on the floor" and bed.outlet == "floor":
        return "bend 90, sharp"
    return "socket of the tank fitting" if passage(bed.seal, run.pipe, "").socket else "coupling"


def strainers(plan: Plan) -> tuple[StrainerCut, ...]:
    """Every strainer of the plan."""
    found = (strainer_cut(plan, bed) for bed in plan.beds)
    return tuple(cut for cut in found if cut is not None)
