"""Holes: which, how wide, with which saw, and where their middles lie. Lengths in m."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aquacalc import catalogue
from aquacalc.buildsheet.stock import Workshop
from aquacalc.geometry.routes import seal_of
from aquacalc.plan.model import Pipe, Plan

#: A saw this near to the hole asked for is the one to use (common practice, no source), m.
SAW_NEAR = 0.001
#: Wall kept between a hole and a corner or the floor (common practice, no source), m.
LEAST_EDGE = 0.010


@dataclass(frozen=True)
class Hole:
    """One hole in a vessel.

    Attributes
    ----------
    vessel, what : str
    wall : {"floor", "wall"}
    pipe : Pipe
    fitting : str
        "rubber pipe seal" or "tank fitting".
    diameters : tuple of float
        What the sources give, m; empty where none lists this pipe; two where they disagree.
    saw : float or None
        The grower's nearest hole saw, m.
    place : str
        Where the middle is, in words.
    along, across : float
        Middle from the end wall and from the side wall, inside (floor), m; 0 for a hole in a wall.
    height : float
        Middle above the inside floor (wall), m; 0 for a hole in the floor.
    edge : float
        Least wall between the widest hole and the floor or side, m.
    caution : str
    """

    vessel: str
    what: str
    wall: str
    pipe: Pipe
    fitting: str
    diameters: tuple[float, ...]
    saw: float | None
    place: str
    along: float
    across: float
    height: float
    edge: float
    caution: str

    @property
    def disagree(self) -> bool:
        """Whether the sources give different holes."""
        return len(self.diameters) > 1


def hole_sizes(fitting: str, pipe: Pipe) -> tuple[tuple[float, ...], str]:
    """Hole diameters (m) that the sources give for a pipe through a fitting, and what to check."""
    rows = [
        s for s in catalogue.seals() if (s.fitting, s.series, s.size) == (fitting, pipe.series, pipe.size)
    ]
    what = "fitting" if fitting == "tank fitting" else "seal"
    sizes = tuple(sorted({s.hole_diameter for s in rows}))
    if not sizes:
        return (), f"no list has this pipe: take the hole from the {what} supplied"
    if len(sizes) > 1:
        return sizes, f"the sources disagree: check the {what} supplied"
    return sizes, rows[0].caution


def nearest_saw(diameters: tuple[float, ...], saws: tuple[float, ...]) -> float | None:
    """Return the saw nearest to any of the diameters, m."""
    if not diameters or not saws:
        return None
    return min(saws, key=lambda s: (min(abs(s - d) for d in diameters), s))


def drilling(plan: Plan, workshop: Workshop) -> tuple[Hole, ...]:
    """Return every hole through a floor or wall, in the order of the plan."""
    found: list[Hole] = []
    runs = {run.start: run for run in plan.runs}

    def add(vessel, what, wall, pipe, fitting, height, place):
        sizes, caution = hole_sizes(fitting, pipe)
        along, across, middle = vessel.shape.middle()
        widest = 0.5 * max(sizes, default=pipe.outside_diameter)
        if wall == "floor":
            room = min(across, along) - widest
            found.append(
                Hole(vessel.name, what, wall, pipe, fitting, sizes, nearest_saw(sizes, workshop.hole_saws),
                     middle, along, across, 0.0, room, caution)
            )  # fmt: skip
            return
        edge = min(height - widest, vessel.shape.depth - height - widest)
        if edge < LEAST_EDGE:
            caution += (
                f"; only {edge * 1e3:.0f} mm of wall beside the hole: raise it, or use a smaller fitting"
            )
        found.append(
            Hole(vessel.name, what, wall, pipe, fitting, sizes, nearest_saw(sizes, workshop.hole_saws),
                 place, 0.0, 0.0, height, edge, caution)
        )  # fmt: skip

    for bed in plan.beds:
        run = runs.get(bed.name)
        if run is None:
            continue
        height = bed.outlet_height + 0.5 * run.pipe.bore
        place = "middle of the end wall" if bed.outlet == "side" else ""
        wall = "wall" if bed.outlet == "side" else "floor"
        add(bed, f"outlet to {run.to}", wall, run.pipe, bed.seal, height, place)
    vessels = {v.name: v for v in (*plan.beds, *plan.chambers)}
    entered: dict[str, int] = {}
    for run in plan.runs:
        if run.to not in vessels:
            continue
        into = vessels[run.to]
        entered[run.to] = entered.get(run.to, 0) + 1
        beside = "" if entered[run.to] == 1 else f", {entered[run.to]}th inlet: beside the others"
        height = run.outfall - into.floor + 0.5 * run.pipe.bore
        add(into, f"inlet from {run.start}", "wall", run.pipe, seal_of(plan, into.name), height,
            f"wall towards {run.start}{beside}")  # fmt: skip
    for siphon in plan.siphons:
        host = vessels[siphon.host]
        seal = seal_of(plan, host.name)
        wider = max(siphon.standpipe.pipe, siphon.tail.pipe, key=lambda p: p.outside_diameter)
        pipe = siphon.standpipe.pipe if seal == "rubber pipe seal" else wider
        add(host, f"standpipe of {siphon.name}", "floor", pipe, seal, 0.0, "")
    return tuple(found)


@dataclass(frozen=True)
class Cutout:
    """Openings to cut at the foot of a bell: `count` of `width` by `height`, top edge at `top`, m.

    `around` is from the middle of one to that of the next along the outside, m.
    """

    siphon: str
    count: int
    width: float
    height: float
    top: float
    around: float


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
        )
        for s in plan.siphons
    )
