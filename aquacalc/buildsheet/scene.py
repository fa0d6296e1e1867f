"""What a drawing shows: the geometry seen along one direction, whole or in parts, with marks of pieces."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from aquacalc.buildsheet.canvas import Flat
from aquacalc.buildsheet.cut_list import CutList
from aquacalc.geometry.outlines import moved
from aquacalc.geometry.placed import Point, Space, Standing
from aquacalc.geometry.space import space
from aquacalc.plan.model import Plan

#: Names of the places of the pump, and where the delivery ends.
PUMP, END = "pump", "on to the beds"
#: How wide a detail for a phone may be, with more than one vessel, and what it shows beyond them, m.
DETAIL, BEYOND = 1.5, 0.06
#: A stump of a pipe that is shorter than this is left out of a detail, m.
SHORT = 0.15
#: Slices in which a vessel's sides are drawn.
SLICES = 12
HALF, ROOT = 0.5, math.sqrt(0.75)


@dataclass(frozen=True)
class View:
    """A direction to look in: what of a point goes to the right and what goes up the paper."""

    name: str
    right: Point
    up: Point

    @property
    def side(self) -> bool:
        """Whether it looks level from one side."""
        return self.up == (0.0, 0.0, 1.0)

    @property
    def above(self) -> bool:
        """Whether it looks straight down."""
        return self.up[2] == 0.0

    def flat(self, point: Sequence[float]) -> Flat:
        """Return a point (m) as it is seen: to the right and up, m."""
        (x, y, z), (a, b, c), (d, e, f) = point, self.right, self.up
        return a * x + b * y + c * z, d * x + e * y + f * z


ABOVE = View("plan view", (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
FRONT = View("section", (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
#: The section of plans that are longer along y, with the plan view turned the same way.
SIDE, ABOVE_SIDE = (
    View("section", (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    View("plan view", (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0)),
)
#: From two corners, of which one may hide less and fill a sheet better.
CORNERS = (
    View("assembly", (ROOT, -ROOT, 0.0), (-HALF, -HALF, 1.0)),
    View("assembly", (ROOT, ROOT, 0.0), (-HALF, HALF, 1.0)),
)


@dataclass(frozen=True)
class Frame:
    """Where a view lies on the paper: `per` mm to a metre, `left` and `foot` (mm) of what is at `low` (m)."""

    view: View
    per: float
    left: float
    foot: float
    low: Flat

    def __call__(self, point: Sequence[float]) -> Flat:
        """Return where a point (m) lies on the paper, mm."""
        x, y = self.view.flat(point)
        return self.left + (x - self.low[0]) * self.per, self.foot - (y - self.low[1]) * self.per


@dataclass(frozen=True)
class Scene:
    """What is drawn: the geometry, and the marks of its pieces with their ends and the vessel they stand in.

    `spots` are single points with their names: tees, the pump, and where the delivery ends; `pieces` the
    length (m) of each piece by its mark. `listed` is whether a section has what lies at each height under it.
    """

    plan: Plan
    space: Space
    marks: tuple[tuple[str, Point, Point, str], ...] = field(default_factory=tuple)
    spots: dict[str, Point] = field(default_factory=dict)
    pieces: tuple[tuple[str, float], ...] = ()
    listed: bool = True


def scene(plan: Plan, cuts: CutList) -> Scene:
    """Place a plan and find where each piece of its cut list lies, from end to end."""
    placed = space(plan)
    tees = {tee.name for tee in plan.tees}
    spots = {line.start: line.points[0] for line in placed.lines if line.start in tees}
    for line in placed.lines:
        if line.key == "pump.delivery":
            spots |= {PUMP: line.points[0], END: line.points[-1]}
    lengths = tuple((cut.mark, cut.length) for cut in cuts.cuts)
    return Scene(plan, placed, tuple(_marked(plan, placed, cuts)), spots, lengths)


def details(scene: Scene, view: View) -> Iterator[Scene]:
    """Divide a view from left to right into vessels that are together at most `DETAIL` wide.

    Vessels that one sees behind each other are not parted, but from a corner, where all of them would be.
    """
    spans = {}
    for name, standing in scene.space.vessels.items():
        xs = [view.flat(p)[0] for z in slices(standing) for p in outline(standing, z)]
        spans[name] = min(xs), max(xs)
    groups: list[tuple[float, float, list[str]]] = []
    for name, (low, high) in sorted(spans.items(), key=lambda each: each[1]):
        if groups and ((low < groups[-1][1] and view not in CORNERS) or high - groups[-1][0] <= DETAIL):
            first, last, names = groups.pop()
            groups.append((first, max(high, last), [*names, name]))
        else:
            groups.append((low, high, [name]))
    for k, (low, high, names) in enumerate(groups):
        yield _part_of(scene, view, low - BEYOND, high + BEYOND, names, k == 0)


def _part_of(scene: Scene, view: View, low: float, high: float, names: list[str], listed: bool) -> Scene:
    """Keep of a scene what a view shows from `low` to `high` (m) to the right, and the vessels `names`."""

    def kept(a: Point, b: Point) -> tuple[Point, Point] | None:
        x, y = view.flat(a)[0], view.flat(b)[0]
        if max(x, y) < low or min(x, y) > high:
            return None
        ends = [min(max(z, low), high) for z in (x, y)]
        return (
            (a, b)
            if x == y
            else (between(a, b, (ends[0] - x) / (y - x)), between(a, b, (ends[1] - x) / (y - x)))
        )

    old = scene.space
    lines = [
        replace(line, points=part)
        for line in old.lines
        for ends in pairwise(line.points)
        if (part := kept(*ends)) and math.dist(*part) >= min(SHORT, 0.4 * math.dist(*ends))
    ]
    marks = [
        (mark, *part, host) for mark, a, b, host in scene.marks
        if host in ("", *names) and (part := kept(a, b)) and math.dist(*part) >= 0.4 * math.dist(a, b)
    ]  # fmt: skip
    seen = replace(
        old,
        vessels={name: old.vessels[name] for name in names},
        lines=tuple(lines),
        uprights=tuple(u for u in old.uprights if u.host in names),
        holes=tuple(h for h in old.holes if h.hole.vessel in names),
    )
    spots = {name: at for name, at in scene.spots.items() if low <= view.flat(at)[0] <= high}
    return replace(scene, space=seen, marks=tuple(marks), spots=spots, listed=listed)


def _marked(plan: Plan, placed: Space, cuts: CutList) -> Iterator[tuple[str, Point, Point, str]]:
    lines = {line.name: line for line in placed.lines}
    uprights = {u.name: u for u in placed.uprights}
    for siphon in plan.siphons:  # a standpipe that is a piece of its own
        uprights[f"{siphon.name}: standpipe"] = uprights[f"standpipe of {siphon.name}"]
    for name in dict.fromkeys(cut.way for cut in cuts.cuts):
        mine = cuts.of_way(name)
        host = ""
        if name in lines:
            ends = list(pairwise(lines[name].points))
        elif name in uprights:
            u = uprights[name]
            ends, host = [((u.x, u.y, u.low), (u.x, u.y, u.high))], u.host
        else:
            continue
        for k, (a, b) in enumerate(ends):
            parts = [cut for cut in mine if cut.piece == k]
            for n, cut in enumerate(parts):
                begin, end = (between(a, b, (n + k) / len(parts)) for k in (0, 1))
                yield cut.mark, begin, end, host


def between(a: Point, b: Point, part: float) -> Point:
    """Return the point a part of the way from `a` to `b`, m."""
    x, y, z = (p + part * (q - p) for p, q in zip(a, b, strict=True))
    return x, y, z


def outline(standing: Standing, z: float) -> list[Point]:
    """Corners of the inside of a vessel at elevation `z` (m)."""
    shape = standing.vessel.shape
    flat = shape.outline(min(max(z - standing.vessel.floor, 0.0), shape.depth))
    return [(x, y, z) for x, y in moved(flat, standing.turn, standing.x, standing.y)]


def slices(standing: Standing) -> list[float]:
    """Return the heights (m) at which a vessel is drawn."""
    v = standing.vessel
    return [v.floor + v.shape.depth * k / SLICES for k in range(SLICES + 1)]


def extent(view: View, placed: Space) -> tuple[float, float, float, float]:
    """Return left, foot, right and top (m) of everything that a view shows."""
    points = [view.flat(p) for s in placed.vessels.values() for z in slices(s) for p in outline(s, z)]
    points += [view.flat(p) for line in placed.lines for p in line.points]
    points += [view.flat((u.x, u.y, z)) for u in placed.uprights for z in (u.low, u.high)]
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)
