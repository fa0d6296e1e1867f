"""Storage cells: each vessel's volume against level, with media, bell and standpipe taken off."""

from __future__ import annotations

from itertools import pairwise

from aquacalc.equations.formulas import circle_area, drum_area, drum_volume, tapered_area, tapered_volume
from aquacalc.plan.model import Bed, Chamber, Plan, Shape, Sump

#: A curved vessel is cut into this many cells, closer together near its floor.
DRUM_CELLS = 40


def _table_row(shape: Shape, z: float) -> int:
    """Row of a depth-area table that height `z` falls in."""
    k = 0
    while k < len(shape.depths) - 2 and z > shape.depths[k + 1]:
        k += 1
    return k


def shape_area(shape: Shape, z: float) -> float:
    """Plan area (m2) of an empty vessel at height `z` (m) above its floor."""
    if shape.kind == "rectangular":
        return shape.length * shape.width
    if shape.kind == "round":
        return circle_area(shape.diameter)
    if shape.kind == "tapered":
        return tapered_area(shape.length, shape.width, shape.top_length, shape.top_width, shape.depth, z)
    if shape.kind == "half drum":
        return drum_area(shape.diameter, shape.length, z)
    k = _table_row(shape, z)
    z0, z1 = shape.depths[k : k + 2]
    a0, a1 = shape.areas[k : k + 2]
    return a0 + (a1 - a0) * (z - z0) / (z1 - z0)


def shape_volume(shape: Shape, z: float) -> float:
    """Volume (m3) of an empty vessel from its floor to height `z` (m)."""
    if shape.kind in ("rectangular", "round"):
        return shape_area(shape, z) * z
    if shape.kind == "tapered":
        return tapered_volume(shape.length, shape.width, shape.top_length, shape.top_width, shape.depth, z)
    if shape.kind == "half drum":
        return drum_volume(shape.diameter, shape.length, z)
    k = _table_row(shape, z)
    below = sum(
        0.5 * (shape.areas[i] + shape.areas[i + 1]) * (shape.depths[i + 1] - shape.depths[i])
        for i in range(k)
    )
    return below + 0.5 * (shape.areas[k] + shape_area(shape, z)) * (z - shape.depths[k])


def heights(shape: Shape, extra: list[float]) -> list[float]:
    """Heights (m) between which a cubic through value and slope is exact, or close for a drum."""
    marks = {0.0, shape.depth, *(h for h in extra if 0.0 < h < shape.depth)}
    if shape.kind == "half drum":
        marks |= {shape.depth * (k / DRUM_CELLS) ** 2 for k in range(1, DRUM_CELLS)}
    marks |= {h for h in shape.depths if 0.0 < h < shape.depth}
    ordered = sorted(marks)
    return [0.0, *(b for a, b in pairwise(ordered) if b - a > 1e-9)]


def cells(
    shape: Shape,
    floor: float,
    layers: list[tuple[float, float]],
    inserts: list[tuple[float, float, float]],
) -> list[float]:
    """Return the flat cells of one vessel.

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
    list of float
        z0, z1, V0, V1, A0, A1 for each cell, floor upwards.
    """
    marks = [top for top, _ in layers] + [z for low, high, _ in inserts for z in (low, high)]
    out: list[float] = []
    volume = 0.0
    edges = heights(shape, marks)
    for low, high in pairwise(edges):
        middle = 0.5 * (low + high)
        porosity = next((p for top, p in layers if middle < top), 1.0)
        solid = sum(area for a, b, area in inserts if a < middle < b)
        a0 = porosity * shape_area(shape, low) - solid
        a1 = porosity * shape_area(shape, high) - solid
        rise = porosity * (shape_volume(shape, high) - shape_volume(shape, low)) - solid * (high - low)
        if low == 0.0 and shape.kind == "half drum":
            a0 = rise / (high - low)  # the drum's lowest line has no area; water there still needs a level
        out += [floor + low, floor + high, volume, volume + rise, a0, a1]
        volume += rise
    return out


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


def vessel_cells(plan: Plan, vessel: Bed | Chamber | Sump) -> list[float]:
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
