"""The plan in space: vessels placed and pipes as lines. x and y lie level, z is an elevation; m.

A plan that gives a vessel's `x` and `y` fixes where it stands, and one that gives a way's legs fixes the
way. What is not given is derived: each way is laid by its own lengths from its host outwards, so that what
is placed agrees with what is computed, and is marked as derived.
"""

from __future__ import annotations

import math

from aquacalc.geometry.holes import Opening, openings
from aquacalc.geometry.laying import LINK, STEEP, UPRIGHT, Route
from aquacalc.geometry.outlines import inside, moved, overlap
from aquacalc.geometry.placed import Line, PlacedHole, Point, Space, Standing
from aquacalc.geometry.routes import delivery_route, run_route, siphon_routes, wall_of
from aquacalc.geometry.uprights import uprights
from aquacalc.plan.model import Bed, Chamber, Plan, Run, Siphon
from aquacalc.plan.network import order

#: Where the ways into one vessel come from, in turn: degrees from straight on.
APPROACHES = (0.0, 90.0, -90.0, 45.0, -45.0, 135.0, -135.0, 22.5, -22.5, 67.5, -67.5, 112.5, -112.5)
#: How far inside the sump's wall a tail that is derived ends, as part of the sump's width.
TAIL_INSIDE = 0.25
#: Ways in which a delivery that is derived may leave, degrees.
HEADINGS = tuple(range(0, 360, 15))
#: From which side of the sump each siphon that is derived comes, degrees from the first.
SIDES = (0.0, 180.0, 90.0, -90.0, 45.0, -135.0, 135.0, -45.0)


def _swing(route: Route, k: int) -> float:
    """By how much a level way turns at each end of its piece `k`, which lies between two 45s, degrees."""
    pieces = route.pieces
    if UPRIGHT in (pieces[k - 1].heading, pieces[k + 1].heading):
        return 0.0
    fall = abs(pieces[k].drop) / pieces[k].centre
    if fall <= STEEP:
        return 45.0
    return math.degrees(math.acos(min(math.sqrt(0.5 / (1.0 - fall**2)), 1.0)))


def course(route: Route, folded: bool = False) -> tuple[list[Point], float, float]:
    """Return a route from (0, 0, 0) on along x: its points, and its first and last level heading, degrees.

    A corner between two level pieces turns left and right by turns, so that the way goes on as a whole;
    `folded` turns to one side only.
    """
    points, heading, side = [(0.0, 0.0, 0.0)], 0.0, 1.0
    last = 0.0
    pieces = route.pieces
    for k, piece in enumerate(pieces):
        level = math.sqrt(max(piece.centre**2 - piece.drop**2, 0.0))
        flat = level > 0.5 * piece.centre
        if k and flat and piece.heading != LINK:
            before = pieces[k - 1]
            turn = piece.first.turn
            if before.heading == LINK:
                turn = _swing(route, k - 1)
            elif abs(before.drop) > 0.7 * before.centre:
                turn = 0.0  # out of an upright piece: on in the same direction
            if turn:
                heading += side * turn
                side = -side if not folded and (turn == 90.0 or before.heading == LINK) else side
        elif k and piece.heading == LINK:
            heading += side * _swing(route, k)
        x, y, z = points[-1]
        way = math.radians(heading)
        points.append((x + level * math.cos(way), y + level * math.sin(way), z - piece.drop))
        if level > 1e-9:
            last = heading
    return points, 0.0, last


def _laid(points: list[Point], turn: float, at: Point, end: bool) -> tuple[Point, ...]:
    """Turn points about z by `turn` (degrees) and move them so that the first, or the last, lies `at`."""
    flat = moved([(x, y) for x, y, _ in points], turn, 0.0, 0.0)
    k = -1 if end else 0
    dx, dy, dz = at[0] - flat[k][0], at[1] - flat[k][1], at[2] - points[k][2]
    return tuple((x + dx, y + dy, p[2] + dz) for (x, y), p in zip(flat, points, strict=True))


class _Layout:
    """Places a plan's vessels and lines, host by host, from each siphon outwards and up its drain lines."""

    def __init__(self, plan: Plan):
        self.plan = plan
        self.vessels: dict[str, Standing] = {}
        self.lines: list[Line] = []
        self.starts: dict[str, tuple[Point, float]] = {}  # of tees: where the run out begins, its heading
        self.entered: dict[str, int] = {}
        self.misses: dict[str, float] = {}
        self.side = 0.0

    def stand(self, vessel, x: float, y: float, turn: float) -> Standing:
        """Place a vessel: where the plan says, else at `x`, `y`."""
        given = vessel.x is not None and vessel.y is not None
        if given:
            x, y, turn = vessel.x, vessel.y, 90.0 if vessel.lies == "along y" else 0.0
        kind = {Bed: "bed", Chamber: "chamber"}.get(type(vessel))
        key = f"{kind}.{vessel.name}" if kind else "sump"
        found = Standing(vessel.name, key, vessel, x, y, turn, given, wall_of(vessel))
        self.vessels[vessel.name] = found
        return found

    def space(self) -> Space:
        plan = self.plan
        named = order(plan)
        for group, siphon in enumerate(plan.siphons):
            names = [name for name, of in reversed(named) if of == group]
            self.side = SIDES[group % len(SIDES)]
            self.stand(plan.vessel(siphon.host), *self.beside_sump(siphon, group), 0.0)
            self.tail(siphon, group)
            for name in names[1:]:
                self.run(plan.run_from(name))
        self.delivery()
        holes = openings(plan)
        placed = tuple(self.hole(hole) for hole in holes)
        standing = uprights(plan, self.vessels, holes)
        return Space(self.vessels, tuple(self.lines), standing, placed, self.misses)

    def run(self, run: Run) -> None:
        """Lay a run back from where it ends, and place the bed it begins at."""
        plan, route = self.plan, run_route(self.plan, run)
        points, _, last = course(route)
        k = self.entered.get(run.to, 0)
        self.entered[run.to] = k + 1
        if run.to in self.starts:
            at, onward = self.starts[run.to]
            straight = any(f.name == "tee, in line" for f in run.fittings[-1:])
            side = 90.0 if k % 2 else -90.0
            approach = onward if straight or not last_is_level(route) else onward + side
        else:
            into = self.vessels[run.to]
            approach = APPROACHES[k % len(APPROACHES)] + self.side
            z = run.outfall + 0.5 * run.pipe.bore
            reach = into.reach(approach + 180.0, z)
            way = math.radians(approach)
            at = (into.x - reach * math.cos(way), into.y - reach * math.sin(way), z)
        turn = approach - last
        bed = next((b for b in plan.beds if b.name == run.start), None)
        into = self.vessels.get(run.to)
        if into and into.given and bed and bed.x is not None:
            laid = self.between(bed, into, route.name, points)
            self.lines.append(
                Line(route.name, f"run.{run.start}", run.pipe, laid, run.start, run.to, bool(run.legs))
            )
            return
        laid = _laid(points, turn, at, end=True)
        start, heading = laid[0], turn
        if bed is None:
            self.starts[run.start] = (start, heading)
        else:
            standing = self.bed(bed, start, heading)
            dx, dy = self.outlet(standing, heading)
            moved_to = (standing.x + dx, standing.y + dy, start[2])
            if standing.given or bed.outlet_along is not None:
                laid = tuple((x + moved_to[0] - start[0], y + moved_to[1] - start[1], z) for x, y, z in laid)
        self.lines.append(
            Line(route.name, f"run.{run.start}", run.pipe, laid, run.start, run.to, bool(run.legs))
        )

    def between(self, bed: Bed, into: Standing, name: str, points: list[Point]) -> tuple[Point, ...]:
        """Lay a way between two vessels that both have their places, its end towards the second's middle."""
        standing = self.stand(bed, 0.0, 0.0, 0.0)
        heading = math.degrees(math.atan2(into.y - standing.y, into.x - standing.x))
        dx, dy = self.outlet(standing, heading)
        x, y = standing.x + dx, standing.y + dy
        towards = math.degrees(math.atan2(into.y - y, into.x - x))
        turn = towards - math.degrees(math.atan2(points[-1][1], points[-1][0]))
        z = self.plan.run_from(bed.name).outfall + 0.5 * self.plan.run_from(bed.name).pipe.bore
        laid = _laid(points, turn, (x, y, z - points[-1][2]), end=False)
        free = math.dist((x, y), (into.x, into.y)) - into.reach(towards + 180.0, z)
        self.misses[name] = abs(math.hypot(*points[-1][:2]) - free)
        return laid

    def hole(self, hole: Opening) -> PlacedHole:
        """Place a hole: in a floor by its distances, in a wall where its pipe meets it."""
        vessel = self.vessels[hole.vessel]
        if hole.wall == "floor":
            return PlacedHole(hole, (*vessel.on_floor(hole.along, hole.across), vessel.vessel.floor), True)
        line = next(line for line in self.lines if line.key == hole.key)
        z = vessel.vessel.floor + hole.height
        if line.over:  # a tail through the sump's wall: on its last level piece, or where that would meet it
            a, b = line.points[-2], line.points[-1]
            if abs(a[2] - b[2]) > 0.5 * math.dist(a, b) and len(line.points) > 2:
                a, b = line.points[-3], a
            part = inside(vessel.outline(z), a[:2], b[:2], 0.0)
            t = part[0] if part else 1.0
            return PlacedHole(hole, (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), z), False)
        x, y, _ = line.points[0] if line.start == hole.vessel else line.points[-1]
        other = self.vessels.get(line.to if line.start == hole.vessel else line.start)
        given = vessel.given and line.given and other is not None and other.given
        return PlacedHole(hole, (x, y, z), given)

    def delivery(self) -> None:
        """Lay the delivery from the middle of the sump, clear of the rest, to end over a bed it feeds."""
        plan, route, sump = self.plan, delivery_route(self.plan), self.vessels[self.plan.sump.name]
        if route is None:
            return
        fed = [self.vessels[bed.name] for bed in plan.beds if bed.inflow_share]
        at = (sump.x, sump.y, plan.sump.floor + plan.pump.intake)
        pipe, given = plan.pump.delivery.pipe, route.given
        folds = (False,) if given else (False, True)
        ways = [_laid(course(route, f)[0], turn, at, end=False) for f in folds for turn in HEADINGS]
        ways = sorted(ways, key=lambda laid: round(min(bed.beyond(laid[-1]) for bed in fed), 6))
        lines: list[tuple[float, Line]] = []
        for laid in ways:
            line = Line("delivery", "pump.delivery", pipe, laid, sump.name, "", given, over=True)
            blocked = 0.0 if given else sum(line.reach(s) for s in self.vessels.values())
            lines.append((round(blocked, 6), line))
            if not blocked:
                break
        self.lines.append(min(lines, key=lambda each: each[0])[1])

    def outlet(self, standing: Standing, heading: float) -> tuple[float, float]:
        """Where a bed's outlet lies from the bed's middle."""
        bed = standing.vessel
        assert isinstance(bed, Bed)
        if bed.outlet == "side":
            reach, way = standing.reach(heading, bed.outlet_invert), math.radians(heading)
            return reach * math.cos(way), reach * math.sin(way)
        length, width, _ = bed.shape.middle()
        along = 0.0 if bed.outlet_along is None else bed.outlet_along - length
        across = 0.0 if bed.outlet_across is None else bed.outlet_across - width
        return moved([(along, across)], standing.turn, 0.0, 0.0)[0]

    def bed(self, bed: Bed, start: Point, heading: float) -> Standing:
        """Place a bed over its outlet: lengthwise along its way if that is free, else across it."""
        tries: list[tuple[float, int, float, float, float]] = []
        for turn in (heading, heading + 90.0):
            found = self.stand(bed, 0.0, 0.0, turn)
            dx, dy = self.outlet(found, heading)
            found = self.stand(bed, start[0] - dx, start[1] - dy, turn)
            near = (s for s in self.vessels.values() if s.name != bed.name)
            worst = max((overlap(found, s) for s in near), default=0.0)
            tries.append((worst, len(tries), turn, dx, dy))
        _, _, turn, dx, dy = min(tries)
        return self.stand(bed, start[0] - dx, start[1] - dy, turn)

    def in_sump(self, x: float, y: float, heading: float, way: float) -> tuple[float, float]:
        """Return the sump's middle from a tail's end in it that comes by `heading`, or back (`way` -1)."""
        sump = self.plan.sump
        wide = way * (0.5 - TAIL_INSIDE) * sump.shape.across(sump.shape.depth)[0]
        return x + wide * math.cos(math.radians(heading)), y + wide * math.sin(math.radians(heading))

    def beside_sump(self, siphon: Siphon, group: int) -> tuple[float, float]:
        """Return where a siphon's host has to stand so that its tail ends in the sump."""
        if group == 0:
            return 0.0, 0.0
        points, _, last = course(siphon_routes(self.plan, siphon)[-1])
        sump = self.vessels[self.plan.sump.name]
        x, y = self.in_sump(sump.x, sump.y, self.side + last, -1.0)
        dx, dy = moved([points[-1][:2]], self.side, 0.0, 0.0)[0]
        return x - dx, y - dy

    def tail(self, siphon: Siphon, group: int) -> None:
        """Lay a tail from its host, and for the first siphon place the sump around its end."""
        plan, host = self.plan, self.vessels[siphon.host]
        *_, route = siphon_routes(plan, siphon)
        points, _, last = course(route)
        top = tail_top(plan, siphon, route)
        sump, turn = plan.sump, self.side
        if sump.x is not None:
            turn = math.degrees(math.atan2(sump.y - host.y, sump.x - host.x)) - last
        laid = _laid(points, turn, (host.x, host.y, top), end=False)
        last += turn
        if group == 0:
            self.stand(sump, *self.in_sump(*laid[-1][:2], last, 1.0), 0.0)
        placed = self.vessels[sump.name]
        if host.given and placed.given:
            x, y, z = laid[-1]
            way = math.degrees(math.atan2(y - placed.y, x - placed.x))
            out = math.dist((x, y), (placed.x, placed.y)) - placed.reach(way, z)
            self.misses[route.name] = max(out + 0.5 * siphon.tail.pipe.outside_diameter, 0.0)
        self.lines.append(
            Line(
                route.name, f"siphon.{siphon.name}.tail", siphon.tail.pipe, laid, siphon.host, sump.name,
                bool(siphon.tail.legs), over=True,
            )
        )  # fmt: skip


def tail_top(plan: Plan, siphon: Siphon, route: Route) -> float:
    """Elevation (m) at which the route of a tail begins."""
    end_level = abs(route.pieces[-1].drop) < 0.5 * route.pieces[-1].centre
    return siphon.tail.outlet + (0.5 * siphon.tail.pipe.bore if end_level else 0.0) + route.drop


def last_is_level(route: Route) -> bool:
    """Whether a route's last piece lies level, or nearly."""
    piece = route.pieces[-1]
    return abs(piece.drop) < 0.7 * piece.centre


def space(plan: Plan) -> Space:
    """Place everything of a plan.

    Examples
    --------
    >>> from aquacalc.catalogue import data_dir
    >>> from aquacalc.plan.read import read_plan
    >>> found = space(read_plan(data_dir() / "plans" / "greenhouse.toml"))
    >>> [round(x, 2) for x in found.line("run.tee 3").points[-1]]  # where it enters the chamber
    [-0.12, 0.0, 0.58]
    """
    return _Layout(plan).space()
