"""Storage cells: each vessel's volume against level, with media, bell and standpipe taken off."""

from __future__ import annotations

from itertools import pairwise

from aquacalc.equations.formulas import circle_area
from aquacalc.hydraulics.cells import Cells
from aquacalc.plan.model import Bed, Chamber, Plan, Shape, Sump


def heights(shape: Shape, extra: list[float]) -> list[float]:
    """Heights (m) between which a cubic through value and slope is exact, or close where a wall is curved."""
    marks = {0.0, shape.depth, *(h for h in (*extra, *shape.breaks()) if 0.0 < h < shape.depth)}
    ordered = sorted(marks)
    return [0.0, *(b for a, b in pairwise(ordered) if b - a > 1e-9)]


def cells(
    shape: Shape,
    floor: float,
    layers: list[tuple[float, float]],
    inserts: list[tuple[float, float, float]],
) -> Cells:
    """Return the cells of one vessel.

    Parameters
    ----------
    shape : Shape
    floor : float
        Elevation of the floor, m.
    layers : list of (top, porosity)
        Media from the floor up to `top` (m above the floor).
    inserts : list of (low, high, area)
        What stands in the water and displaces it, m, m and m2; a negative
        area gives room back (the inside of a media guard).

    Returns
    -------
    Cells
    """
    marks = [top for top, _ in layers] + [z for low, high, _ in inserts for z in (low, high)]
    found = []
    volume = 0.0
    edges = heights(shape, marks)
    for low, high in pairwise(edges):
        middle = 0.5 * (low + high)
        porosity = next((p for top, p in layers if middle < top), 1.0)
        solid = sum(area for a, b, area in inserts if a < middle < b)
        a0 = porosity * shape.area(low) - solid
        a1 = porosity * shape.area(high) - solid
        rise = porosity * (shape.volume(high) - shape.volume(low)) - solid * (high - low)
        if low == 0.0 and shape.area(0.0) == 0.0:
            a0 = rise / (high - low)  # a drum's lowest line has no area; water there still needs a level
        found.append((floor + low, floor + high, volume, volume + rise, a0, a1))
        volume += rise
    return Cells(*map(list, zip(*found, strict=True)))


def bell_inserts(plan: Plan, host: str) -> list[tuple[float, float, float]]:
    """List what a siphon's bell and standpipe displace in the vessel called `host`."""
    inserts: list[tuple[float, float, float]] = []
    for siphon in plan.siphons:
        if siphon.host != host:
            continue
        bell = siphon.bell
        wall = circle_area(bell.outside_diameter) - circle_area(bell.bore)
        inserts.append((bell.rim_height, bell.top_height, wall))
        inserts.append((0.0, siphon.standpipe.height, circle_area(siphon.standpipe.pipe.outside_diameter)))
    return inserts


def vessel_cells(plan: Plan, vessel: Bed | Chamber | Sump) -> Cells:
    """Cells of a bed, chamber or sump of `plan`."""
    inserts = bell_inserts(plan, vessel.name)
    if not isinstance(vessel, Bed):
        return cells(vessel.shape, vessel.floor, [], inserts)
    media = vessel.media
    for siphon in plan.siphons:
        if siphon.host == vessel.name and siphon.media_guard > 0.0:
            room = (1.0 - media.porosity) * circle_area(siphon.media_guard)
            inserts.append((0.0, media.depth, -room))
    return cells(vessel.shape, vessel.floor, [(media.depth, media.porosity)], inserts)
