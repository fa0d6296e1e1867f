"""What stands and lies where: vessels, pipes as lines, holes, and all of a plan's together; m."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

from aquacalc.geometry.holes import Opening
from aquacalc.geometry.outlines import inside, moved
from aquacalc.geometry.uprights import Upright
from aquacalc.plan.model import Bed, Chamber, Pipe, Sump

Point = tuple[float, float, float]
#: The least and the greatest corner of what is around a part.
Box = tuple[Point, Point]
#: Parts may touch: what reaches less far into another is no contact, m.
TOUCH = 0.0001
#: Rise of a pipe within which a wall beside it is taken as upright, m.
SLICE = 0.01


@dataclass(frozen=True)
class Standing:
    """A vessel where it stands.

    Attributes
    ----------
    name, key : str
        "bed 1", and its place in the plan, "bed.bed 1".
    vessel : Bed, Chamber or Sump
    x, y : float
        Its middle, m.
    turn : float
        Angle of its length from the x axis, degrees.
    given : bool
        Whether the plan gives its place.
    wall : float
        Thickness of its wall and floor, m.
    """

    name: str
    key: str
    vessel: Bed | Chamber | Sump
    x: float
    y: float
    turn: float
    given: bool
    wall: float

    def outline(self, z: float) -> list[tuple[float, float]]:
        """Corners of its outside seen from above at elevation `z` (m), kept between floor and rim."""
        # A half drum has no width at its lowest line, and an outline of no area has no inside.
        height = min(max(z - self.vessel.floor, 1e-6), self.vessel.shape.depth)
        corners = self.vessel.shape.outline(height)
        a, b = self.vessel.shape.across(height)
        wide, long = (1.0 + 2.0 * self.wall / max(side, 1e-6) for side in (a, b))
        return moved([(x * wide, y * long) for x, y in corners], self.turn, self.x, self.y)

    @cached_property
    def radius(self) -> float:
        """How far its outside reaches from its middle at most, m."""
        shape = self.vessel.shape
        return max(0.5 * math.hypot(*(x + 2.0 * self.wall for x in shape.across(z))) for z in shape.profile())

    def box(self) -> Box:
        """Return a box around it."""
        x, y, wide, vessel = self.x, self.y, self.radius, self.vessel
        return (x - wide, y - wide, vessel.floor - self.wall), (x + wide, y + wide, vessel.rim)

    def on_floor(self, along: float, across: float) -> tuple[float, float]:
        """Where a point of its floor lies, `along` from the end wall and `across` from the side wall, m."""
        length, width, _ = self.vessel.shape.middle()
        return moved([(along - length, across - width)], self.turn, self.x, self.y)[0]

    def corner(self, at: Point) -> float:
        """From a point of its wall to the nearest upright corner, along the wall, m; far for a round one."""
        shape = self.vessel.shape
        if shape.rounded:
            return math.inf
        x, y = (abs(side) for side in moved([(at[0] - self.x, at[1] - self.y)], -self.turn, 0.0, 0.0)[0])
        a, b = (0.5 * side for side in shape.across(min(max(at[2] - self.vessel.floor, 0.0), shape.depth)))
        return b - y if abs(a - x) < abs(b - y) else a - x

    def beyond(self, at: Point) -> float:
        """How far a point seen from above is from its inside, towards its middle, m; 0 over it."""
        x, y = at[0] - self.x, at[1] - self.y
        return max(math.hypot(x, y) - self.reach(math.degrees(math.atan2(y, x)), self.vessel.rim), 0.0)

    def reach(self, heading: float, z: float) -> float:
        """From its middle to the inside of its wall, towards `heading` (degrees) at elevation `z`, m."""
        shape = self.vessel.shape
        a, b = (max(side, 1e-6) for side in shape.across(min(max(z - self.vessel.floor, 0.0), shape.depth)))
        turn = math.radians(heading - self.turn)
        c, s = abs(math.cos(turn)) / (0.5 * a), abs(math.sin(turn)) / (0.5 * b)
        return 1.0 / math.hypot(c, s) if shape.rounded else 1.0 / max(c, s)


@dataclass(frozen=True)
class Line:
    """A pipe where it lies.

    Attributes
    ----------
    name, key : str
        "bed 1 to tee 2", and its place in the plan, "run.bed 1".
    pipe : Pipe
    points : tuple of (x, y, z)
        Its middle line from joint to joint, m.
    start, to : str
        What it leaves and what it enters.
    given : bool
        Whether the plan gives its legs.
    over : bool
        Whether it comes into `to` from above, over the rim or through a hole judged elsewhere.
    """

    name: str
    key: str
    pipe: Pipe
    points: tuple[Point, ...]
    start: str
    to: str
    given: bool
    over: bool = False

    def box(self) -> Box:
        """Return a box around it, so wide that it holds the corners of an outline grown by half of it."""
        wide = self.pipe.outside_diameter
        xs, ys, zs = ([point[k] for point in self.points] for k in range(3))
        low, high = (min(xs), min(ys), min(zs)), (max(xs), max(ys), max(zs))
        return (low[0] - wide, low[1] - wide, low[2] - wide), (high[0] + wide, high[1] + wide, high[2] + wide)

    def reach(self, vessel: Standing) -> float:
        """How far (m) it reaches into a vessel that it does not belong to, or again into its own."""
        deepest, half = 0.0, 0.5 * self.pipe.outside_diameter
        low, high = vessel.vessel.floor - vessel.wall, vessel.vessel.rim
        parts = list(pairwise(self.points))
        if vessel.name == self.start:
            parts = parts[1:]
        if vessel.name == self.to:
            parts = [] if self.over else parts[:-1]
        for a, b in [cut for part in parts for cut in _by_height(*part)]:
            if max(a[2], b[2]) + half <= low or min(a[2], b[2]) - half >= high:
                continue
            outline = vessel.outline(0.5 * (max(low, min(a[2], b[2])) + min(high, max(a[2], b[2]))))
            part = inside(outline, a[:2], b[:2], half - TOUCH)
            if part is None:
                continue
            zs = [a[2] + t * (b[2] - a[2]) for t in part]
            under = min(max(zs) + half - low, high - (min(zs) - half))
            deepest = max(deepest, min(under, 2.0 * half))
        return deepest


def _by_height(a: Point, b: Point) -> list[tuple[Point, Point]]:
    """Cut a straight part so that a wall that leans is met at its own height."""
    count = 1 + int(abs(b[2] - a[2]) / SLICE)
    ends = [
        (a[0] + k / count * (b[0] - a[0]), a[1] + k / count * (b[1] - a[1]), a[2] + k / count * (b[2] - a[2]))
        for k in range(count + 1)
    ]
    return list(pairwise(ends))


@dataclass(frozen=True)
class PlacedHole:
    """A hole where it is: `at` its middle, `given` when the plan says so."""

    hole: Opening
    at: Point
    given: bool

    def apart(self, other: PlacedHole) -> float:
        """Wall between two of them, m."""
        return math.dist(self.at, other.at) - 0.5 * (self.hole.widest + other.hole.widest)


@dataclass(frozen=True)
class Space:
    """Where everything of a plan is.

    Attributes
    ----------
    vessels : dict of str to Standing
    lines : tuple of Line
    uprights : tuple of Upright
    holes : tuple of PlacedHole
    misses : dict of str to float
        By a line's name: how far its end is from what it enters, where the plan gives both places, m.
    """

    vessels: dict[str, Standing]
    lines: tuple[Line, ...]
    uprights: tuple[Upright, ...] = ()
    holes: tuple[PlacedHole, ...] = ()
    misses: dict[str, float] = field(default_factory=dict)

    def line(self, key: str) -> Line:
        """Return the line of this place in the plan."""
        return next(line for line in self.lines if line.key == key)
