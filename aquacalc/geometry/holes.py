"""Every hole through a floor or wall: where its middle lies, how wide, what wall is left. Lengths in m."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aquacalc import catalogue
from aquacalc.geometry.routes import overflow_pipe, seal_of, tail_crossing
from aquacalc.geometry.strainers import outlet_run
from aquacalc.plan.model import Bed, Chamber, Pipe, Plan, Sump

#: Wall kept between a hole and a corner, an edge or another hole (common practice, no source), m.
LEAST_EDGE = 0.010


@dataclass(frozen=True)
class Opening:
    """One hole in a vessel.

    Attributes
    ----------
    vessel, what : str
        "bed 1", "outlet to tee 2".
    key : str
        Place in the plan: "run.bed 1".
    wall : {"floor", "wall"}
    pipe : Pipe
    fitting : str
        "rubber pipe seal" or "tank fitting".
    diameters : tuple of float
        What the sources give, m; empty where none lists this pipe; two where they disagree.
    place : str
        Where the middle is, in words.
    along, across : float
        Middle from the end wall and from the side wall, inside (floor), m; 0 for a hole in a wall.
    height : float
        Middle above the inside floor (wall), m; 0 for a hole in the floor.
    edge : float
        Least wall between the widest hole and the floor, rim or side, m.
    caution : str
    """

    vessel: str
    what: str
    key: str
    wall: str
    pipe: Pipe
    fitting: str
    diameters: tuple[float, ...]
    place: str
    along: float
    across: float
    height: float
    edge: float
    caution: str

    @property
    def widest(self) -> float:
        """Widest hole that the sources give, m; the pipe's outside where none does."""
        return max(self.diameters, default=self.pipe.outside_diameter)


def hole_sizes(fitting: str, pipe: Pipe) -> tuple[tuple[float, ...], str]:
    """Return hole diameters (m) for `pipe` through `fitting`, and what to check."""
    rows = [
        s for s in catalogue.seals() if (s.fitting, s.series, s.size) == (fitting, pipe.series, pipe.size)
    ]
    what = "seal" if fitting == "rubber pipe seal" else "fitting"
    sizes = tuple(sorted({s.hole_diameter for s in rows}))
    if not sizes:
        return (), f"no list has this pipe: take the hole from the {what} supplied"
    if len(sizes) > 1:
        return sizes, f"the sources disagree: check the {what} supplied"
    return sizes, rows[0].caution


def openings(plan: Plan) -> tuple[Opening, ...]:
    """Return every hole through a floor or wall, in the order of the plan."""
    found: list[Opening] = []
    vessels = {v.name: v for v in plan.vessels}
    for bed in plan.beds:
        run = outlet_run(plan, bed)
        if run is None:
            continue
        side = bed.outlet == "side"
        height = bed.outlet_height + 0.5 * run.pipe.bore if side else 0.0
        place = "middle of the end wall" if side else ""
        found.append(
            _opening(bed, f"outlet to {run.to}", f"run.{run.start}", run.pipe, bed.seal, height, place)
        )
    entered: dict[str, int] = {}
    for run in plan.runs:
        if run.to not in vessels:
            continue
        into = vessels[run.to]
        entered[run.to] = entered.get(run.to, 0) + 1
        beside = "" if entered[run.to] == 1 else ", beside the other inlets"
        height = run.outfall - into.floor + 0.5 * run.pipe.bore
        place = f"wall towards {run.start}{beside}"
        seal = seal_of(plan, into.name)
        found.append(
            _opening(into, f"inlet from {run.start}", f"run.{run.start}", run.pipe, seal, height, place)
        )
    for siphon in plan.siphons:
        host = vessels[siphon.host]
        seal = seal_of(plan, host.name)
        wider = max(siphon.standpipe.pipe, siphon.tail.pipe, key=lambda p: p.outside_diameter)
        pipe = siphon.standpipe.pipe if seal == "rubber pipe seal" else wider
        found.append(
            _opening(host, f"standpipe of {siphon.name}", f"siphon.{siphon.name}", pipe, seal, 0.0, "")
        )
        if siphon.overflow is not None:
            what, key = f"overflow of {siphon.name}", f"siphon.{siphon.name}.overflow"
            found.append(_opening(host, what, key, overflow_pipe(siphon), seal, 0.0, "beside the bell"))
        entering = tail_crossing(plan, siphon)
        if entering is not None and siphon.tail.enters == "through the wall":
            tail, sump = siphon.tail.pipe, plan.sump
            height = entering + 0.5 * tail.outside_diameter - sump.floor
            place, key = f"wall towards {host.name}", f"siphon.{siphon.name}.tail"
            found.append(_opening(sump, f"tail of {siphon.name}", key, tail, seal, height, place))
    return tuple(found)


def _opening(
    vessel: Bed | Chamber | Sump, what: str, key: str, pipe: Pipe, fitting: str, height: float, place: str
) -> Opening:
    """Make the hole at `height` in a wall; with no `place` in words it is one in the middle of the floor."""
    sizes, caution = hole_sizes(fitting, pipe)
    half = 0.5 * max(sizes, default=pipe.outside_diameter)
    if place == "beside the bell":
        along, across, _ = vessel.shape.middle()
        across, edge = 2.0 * across - half - LEAST_EDGE, LEAST_EDGE
        return Opening(
            vessel.name, what, key, "floor", pipe, fitting, sizes, place, along, across, 0.0, edge, caution
        )
    if not place:
        along, across, place = vessel.shape.middle()
        length, width = 2.0 * along, 2.0 * across
        if isinstance(vessel, Bed) and (vessel.outlet_along or vessel.outlet_across):
            along, across = vessel.outlet_along or along, vessel.outlet_across or across
            place = "in the floor"
        room = min(across, width - across, along, length - along)
        if vessel.shape.rounded:
            room = _inside_oval(0.5 * length, 0.5 * width, along - 0.5 * length, across - 0.5 * width)
        room -= half
        return Opening(
            vessel.name, what, key, "floor", pipe, fitting, sizes, place, along, across, 0.0, room, caution
        )
    edge = min(height - half, vessel.shape.depth - height - half)
    return Opening(
        vessel.name, what, key, "wall", pipe, fitting, sizes, place, 0.0, 0.0, height, edge, caution
    )


def _inside_oval(a: float, b: float, x: float, y: float) -> float:
    """How far (m) a point is inside an oval of half axes `a` and `b`; negative outside."""
    x, y, low, high = abs(x), abs(y), 0.0, 0.5 * math.pi
    for _ in range(40):
        near, far = (2.0 * low + high) / 3.0, (low + 2.0 * high) / 3.0
        one = math.hypot(a * math.cos(near) - x, b * math.sin(near) - y)
        other = math.hypot(a * math.cos(far) - x, b * math.sin(far) - y)
        low, high = (low, far) if one < other else (near, high)
    away = math.hypot(a * math.cos(low) - x, b * math.sin(low) - y)
    return away if (x / a) ** 2 + (y / b) ** 2 <= 1.0 else -away


def bulge(width: float, across: float) -> float:
    """How far (m) the wall of a vessel `across` (m) wide curves away over a hole `width` (m) wide."""
    radius = 0.5 * across
    half = min(0.5 * width, radius)
    return radius - math.sqrt(radius * radius - half * half)
