"""Parts that reach into one another, where a plan's vessels and pipes are. Lengths in m."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations

from aquacalc.geometry.outlines import overlap
from aquacalc.geometry.placed import TOUCH, Box, Line, Point, Space, Standing

#: Least square of a length that is not divided by, m2.
TINY = 1e-18


@dataclass(frozen=True)
class Contact:
    """Two parts of which one reaches `depth` (m) into the other; `given` when the plan gives both places."""

    first: str
    second: str
    depth: float
    given: bool


def contacts(space: Space) -> list[Contact]:
    """Return every two parts that are in the same place, the pipes' own vessels and joints apart."""
    lines, found = len(space.lines), []
    parts: list[Line | Standing] = [*space.lines, *space.vessels.values()]
    near = _near([part.box() for part in parts])
    for i, j in sorted(near, key=lambda pair: (pair[0] < lines) + (pair[1] < lines)):
        one, other = parts[i], parts[j]
        if (depth := _depth(one, other)) > TOUCH:
            found.append(Contact(one.name, other.name, depth, one.given and other.given))
    for part, beside in combinations(space.uprights, 2):
        kinds = {part.name.partition(" of ")[0], beside.name.partition(" of ")[0]}
        if part.host == beside.host and kinds != {"standpipe", "bell"} and -part.apart(beside) > TOUCH:
            found.append(Contact(part.name, beside.name, -part.apart(beside), True))
    return found


def _depth(one: Line | Standing, other: Line | Standing) -> float:
    """How far two parts reach into each other, m; of a pipe and a vessel the pipe comes first."""
    if isinstance(one, Standing):
        return overlap(one, other)
    return one.reach(other) if isinstance(other, Standing) else _crossing(one, other)


def _near(boxes: list[Box]) -> list[tuple[int, int]]:
    """Return every two boxes that meet, by one sweep along x: their numbers, in order."""
    found = []
    reached: list[int] = []
    for i in sorted(range(len(boxes)), key=lambda k: boxes[k][0][0]):
        (x, y, z), (_, to_y, to_z) = boxes[i]
        reached = [j for j in reached if boxes[j][1][0] >= x]
        for j in reached:
            (_, y0, z0), (_, y1, z1) = boxes[j]
            if y <= y1 and y0 <= to_y and z <= z1 and z0 <= to_z:
                found.append((min(i, j), max(i, j)))
        reached.append(i)
    return sorted(found)


def _crossing(first: Line, second: Line) -> float:
    """How far two pipes reach into each other, those parts apart that meet in a joint or a vessel."""
    near = 0.5 * (first.pipe.outside_diameter + second.pipe.outside_diameter)
    shared = {first.start, first.to} & {second.start, second.to} - {""}
    deepest = 0.0
    for i, (a, b) in enumerate(zip(first.points, first.points[1:], strict=False)):
        for j, (c, d) in enumerate(zip(second.points, second.points[1:], strict=False)):
            if shared and _ends(first, i, shared) and _ends(second, j, shared):
                continue
            deepest = max(deepest, near - distance(a, b, c, d))
    return deepest


def _ends(line: Line, part: int, shared: set[str]) -> bool:
    """Whether a part of a line is its end at something shared."""
    return (part == 0 and line.start in shared) or (part == len(line.points) - 2 and line.to in shared)


def distance(a: Point, b: Point, c: Point, d: Point) -> float:
    """Least distance (m) between the straight parts a to b and c to d.

    The place on the first that is nearest to the second's line, the place on the second nearest to that, and
    once more the place on the first: Ericson, Real-Time Collision Detection, 5.1.9, from memory.
    """
    u, v = _from(a, b), _from(c, d)
    w = _from(c, a)
    # A part may be a point, and two may be parallel: then any place will do to begin with.
    uu, vv, uv = max(_dot(u, u), TINY), max(_dot(v, v), TINY), _dot(u, v)
    uw, vw = _dot(u, w), _dot(v, w)
    s = _unit((uv * vw - uw * vv) / max(uu * vv - uv * uv, TINY))
    t = _unit((uv * s + vw) / vv)
    s = _unit((uv * t - uw) / uu)
    return math.hypot(*(r + s * p - t * q for p, q, r in zip(u, v, w, strict=True)))


def _from(a: Point, b: Point) -> tuple[float, ...]:
    return tuple(q - p for p, q in zip(a, b, strict=True))


def _dot(u, v) -> float:
    return sum(p * q for p, q in zip(u, v, strict=True))


def _unit(x: float) -> float:
    return min(max(x, 0.0), 1.0)
