"""Outlines seen from above, and how far one reaches into another. Lengths in m, angles in degrees."""

from __future__ import annotations

import math

Flat = tuple[float, float]


def moved(points: list[Flat], turn: float, x: float, y: float) -> list[Flat]:
    """Turn points about the origin by `turn` and move them by `x`, `y`."""
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    return [(x + a * c - b * s, y + a * s + b * c) for a, b in points]


def depth_of_overlap(first: list[Flat], second: list[Flat]) -> float:
    """How far two convex outlines reach into each other: the least move that parts them; 0 if apart."""
    least = math.inf
    for outline in (first, second):
        for (x0, y0), (x1, y1) in zip(outline, outline[1:] + outline[:1], strict=True):
            nx, ny = y1 - y0, x0 - x1
            size = math.hypot(nx, ny)
            if size < 1e-12:
                continue
            spans = []
            for points in (first, second):
                on = [(x * nx + y * ny) / size for x, y in points]
                spans.append((min(on), max(on)))
            (a0, a1), (b0, b1) = spans
            least = min(least, a1 - b0, b1 - a0)
            if least <= 0.0:
                return 0.0
    return least


def overlap(first, second) -> float:
    """How far two standing vessels reach into each other, m."""
    low = max(first.vessel.floor - first.wall, second.vessel.floor - second.wall)
    high = min(first.vessel.rim, second.vessel.rim)
    if low >= high:
        return 0.0
    if math.hypot(first.x - second.x, first.y - second.y) >= first.radius + second.radius:
        return 0.0
    # Where a wall bends it may be widest.
    bends = [s.vessel.floor + h for s in (first, second) for h in s.vessel.shape.profile()]
    heights = (low, high, *(z for z in bends if low < z < high))
    return max(depth_of_overlap(first.outline(z), second.outline(z)) for z in heights)


def inside(outline: list[Flat], start: Flat, end: Flat, grown: float) -> tuple[float, float] | None:
    """Part of the line from `start` to `end` (0 to 1) that lies in an outline `grown` out by so much (m)."""
    low, high = 0.0, 1.0
    area = sum(a * d - b * c for (a, b), (c, d) in zip(outline, outline[1:] + outline[:1], strict=True))
    sign = 1.0 if area > 0.0 else -1.0
    for (x0, y0), (x1, y1) in zip(outline, outline[1:] + outline[:1], strict=True):
        nx, ny = sign * (y1 - y0), sign * (x0 - x1)  # outwards
        size = math.hypot(nx, ny)
        if size < 1e-12:
            continue
        nx, ny = nx / size, ny / size
        at = (start[0] - x0) * nx + (start[1] - y0) * ny - grown
        slope = (end[0] - start[0]) * nx + (end[1] - start[1]) * ny
        if abs(slope) < 1e-12:
            if at > 0.0:
                return None
        elif slope > 0.0:
            high = min(high, -at / slope)
        else:
            low = max(low, -at / slope)
        if low > high:
            return None
    return low, high
