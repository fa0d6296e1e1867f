"""A way laid as straight pieces between its fittings: by its legs, or by its length and levels.

A plan gives a run's length along its middle, its fittings in order and the
elevations of its ends. That fixes what the upright pieces add up to and what
the level pieces add up to. How a sum is divided between several of them is the
builder's choice; here each gets what its fittings need and an equal part of
the rest, and the route says that it was divided.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from aquacalc.geometry.joints import Joint, fitting_joint, socket_depth
from aquacalc.plan.legs import corners, turns
from aquacalc.plan.model import Fitting, Leg, Pipe
from aquacalc.units import show

UPRIGHT, LEVEL, LINK, SLANT = "upright", "level", "between two 45s", "slanting"
#: Slope that a right-angled joint and its seals still take (common practice, no source).
STEEP = 0.05


@dataclass(frozen=True)
class Piece:
    """One straight piece of pipe.

    Attributes
    ----------
    heading : {"upright", "level", "between two 45s", "slanting"}
    centre : float
        From the middle of the joint before it to the middle of the one after, m.
    drop : float
        How far its far end lies below its near end, along its middle, m.
    first, last : Joint
    base : float
        Part of it that goes through a vessel, with its wall and seal, before it is free, m.
    """

    heading: str
    centre: float
    drop: float
    first: Joint
    last: Joint
    base: float = 0.0

    @property
    def cut(self) -> float:
        """Length to cut, m."""
        return self.centre - self.first.take_off - self.last.take_off

    @property
    def need(self) -> float:
        """Least between the middles of its joints, m: sockets may touch each other, a seal or a wall."""
        return (self.base or self.first.least) + self.last.least

    @property
    def fits(self) -> bool:
        """Whether the joints leave the pipe its place."""
        return self.centre >= self.need - 5e-4 and self.cut > 0.0


@dataclass(frozen=True)
class Route:
    """The way of one pipe.

    Attributes
    ----------
    name : str
        "bed 1 to tee 2".
    pipe : Pipe
    length : float
        Along its middle, as the plan has it, m.
    drop : float
        How far its end lies below its start, along its middle, m (negative: rises).
    pieces : tuple of Piece
    notes : tuple of str
        What the builder has to know about it.
    given : bool
        Whether the plan gives its legs; else they are derived.
    """

    name: str
    pipe: Pipe
    length: float
    drop: float
    pieces: tuple[Piece, ...]
    notes: tuple[str, ...] = ()
    given: bool = False


@dataclass
class Way:
    """A route in the making: joints in order, and what lies between them.

    Attributes
    ----------
    name : str
    pipe : Pipe
    length, drop : float
        As of `Route`, m.
    joints : list of Joint
    spacings : dict of int to float
        Between the two 45s of a pair, m, by the index of the first.
    base : float
        As of `Piece`, of its first, m.
    climbs : bool
        Whether it goes up first, and then on level.
    units : {"metric", "us"}
        Of its notes.
    """

    name: str
    pipe: Pipe
    length: float
    drop: float
    joints: list[Joint]
    spacings: dict[int, float] = field(default_factory=dict)
    base: float = 0.0
    climbs: bool = False
    units: str = "metric"


def add_joints(fittings: tuple[Fitting, ...], pipe: Pipe, way: Way):
    """Append the joints of `fittings`, a pair of 45s as two with their spacing."""
    for fitting in fittings:
        if fitting.name.startswith(("entrance", "exit")):
            continue
        pairs = fitting.count if fitting.name == "two 45s" else 0
        if not pairs and fitting_joint(fitting.name, pipe).turn == 45.0:
            pairs, single = divmod(fitting.count, 2)
        else:
            single = 0 if pairs else fitting.count
        half = fitting_joint("bend 45" if fitting.name == "two 45s" else fitting.name, pipe)
        for _ in range(pairs):
            way.spacings[len(way.joints)] = fitting.spacing or 2.0 * (half.take_off + half.socket)
            way.joints += [half, half]
        way.joints += [half] * single


def _headings(way: Way, start: str, turn_level: bool, upright: bool) -> list[str]:
    """Heading of each piece; `upright` lets level legs turn upright again."""
    found, now, seen = [], start, 0
    corners = len(way.spacings) + sum(1 for j in way.joints if j.turn == 90.0)
    for i in range(len(way.joints) - 1):
        if i > 0:
            joint = way.joints[i]
            corner = joint.turn == 90.0 or i - 1 in way.spacings
            if corner:
                seen += 1
                last = seen == corners
                now = LEVEL if now == UPRIGHT or not upright or (last and turn_level) else UPRIGHT
        found.append(LINK if i in way.spacings else now)
    return found


def _least(way: Way, i: int) -> float:
    a, b = way.joints[i], way.joints[i + 1]
    return (way.base if i == 0 and way.base else a.least) + b.least


def _sums(way: Way, headings: list[str]) -> tuple[float, float]:
    """Return what the upright and the level pieces add up to along their middles, m."""
    upright = abs(way.drop)
    for i, spacing in way.spacings.items():
        around = headings[i - 1], headings[i + 1]
        if UPRIGHT in around and LEVEL in around:
            upright -= spacing / math.sqrt(2.0)
    return upright, way.length - upright - sum(way.spacings.values())


def _room(way: Way, headings: list[str]) -> bool:
    """Whether upright and level pieces both get what their joints need."""
    for kind, total in zip((UPRIGHT, LEVEL), _sums(way, headings), strict=True):
        at = [i for i, h in enumerate(headings) if h == kind]
        if at and total < sum(_least(way, i) for i in at):
            return False
    return True


def _rolled(way: Way) -> float:
    """How far, as a part of its length, a piece between two 45s falls that lie between level pieces.

    A pair of 45s may be rolled from a turn on the level to one straight down; it is where the way would
    otherwise slope more than its joints take.
    """
    if not way.spacings or abs(way.drop) <= STEEP * way.length:
        return 0.0
    return min(abs(way.drop) / sum(way.spacings.values()), math.sqrt(0.5))


def solve(way: Way, start: str, turn_level: bool) -> Route:
    """Lay the pieces: upright ones by the elevations, level ones by the length."""
    headings = _headings(way, start, turn_level, not way.climbs)
    if not _room(way, headings):
        headings = _headings(way, start, turn_level, False)
    notes: list[str] = []
    upright, level = _sums(way, headings)
    if LEVEL not in headings and LINK not in headings:
        if abs(way.length - upright) <= 2.0 * (way.pipe.outside_diameter + socket_depth(way.pipe)):
            if abs(way.length - upright) > 5e-4:
                notes.append(
                    f"The plan's length is {show(way.length, 'length', way.units)}; its elevations make it "
                    f"{show(upright, 'length', way.units)}: measure before you cut, and put the plan right."
                )
        else:
            headings = [SLANT] * len(headings)
            notes.append("The plan has no bend here, so this pipe would have to slant: add its bends.")
    kinds = {kind: [i for i, h in enumerate(headings) if h == kind] for kind in (UPRIGHT, LEVEL, SLANT)}
    straight = LEVEL not in headings and LINK not in headings
    totals = {UPRIGHT: way.length if straight else upright, LEVEL: level, SLANT: way.length}
    if not kinds[UPRIGHT]:
        totals[LEVEL] = way.length - sum(way.spacings.values())
    centres = dict(way.spacings)
    for kind, at in kinds.items():
        if at:
            spare = totals[kind] - sum(_least(way, i) for i in at)
            centres.update({i: _least(way, i) + spare / len(at) for i in at})
    sign = 1.0 if way.drop >= 0.0 else -1.0
    rolled = 0.0 if kinds[UPRIGHT] else _rolled(way)
    if rolled:
        notes.append(
            "Roll the two 45s on its level pieces so that the piece between them falls "
            f"{show(rolled * max(way.spacings.values()), 'length', way.units)}: the others stay level."
        )
    pieces = []
    for i, heading in enumerate(headings):
        if kinds[UPRIGHT] and not straight:
            fall = 1.0 if heading == UPRIGHT else 0.0
            if heading == LINK and {headings[i - 1], headings[i + 1]} == {UPRIGHT, LEVEL}:
                fall = 1.0 / math.sqrt(2.0)
            drop = sign * fall * centres[i]
        elif rolled:
            linked, rest = sum(way.spacings.values()), way.length - sum(way.spacings.values())
            left = way.drop - sign * rolled * linked
            drop = centres[i] * (sign * rolled if heading == LINK else left / rest)
        else:
            drop = way.drop * centres[i] / way.length
        base = way.base if i == 0 else 0.0
        pieces.append(Piece(heading, centres[i], drop, way.joints[i], way.joints[i + 1], base))
    divided = [kind for kind in (UPRIGHT, LEVEL) if len(kinds[kind]) > 1]
    if divided:
        notes.append(
            f"The plan fixes the sum of the {' and of the '.join(divided)} pieces, not how it is divided: "
            "put the pieces together dry and mark the last one on the spot."
        )
    notes += [_short(piece, way.units) for piece in pieces if not piece.fits]
    if any(j.measure for j in way.joints):
        measured = sorted({j.name for j in way.joints if j.measure})
        notes.append(f"Measure before cutting: {', '.join(measured)}.")
    return Route(way.name, way.pipe, way.length, way.drop, tuple(pieces), tuple(notes))


def _short(piece: Piece, units: str) -> str:
    there, need = show(piece.centre, "length", units), show(piece.need, "length", units)
    if piece.heading == LINK:
        return (
            f"The two 45s are {there} apart in the plan; with their sockets they need "
            f"{need}. Change the spacing in the plan, or measure 45s that go into each other."
        )
    return (
        f"{piece.first.name} and {piece.last.name} are {there} apart and need "
        f"{need}: change a length or an elevation in the plan."
    )


def along_legs(
    name: str,
    pipe: Pipe,
    legs: tuple[Leg, ...],
    fittings: tuple[Fitting, ...],
    start: Joint,
    end: Joint,
    base: float = 0.0,
    units: str = "metric",
) -> Route:
    """Make the route whose legs the plan gives, with the fittings that turn it at its corners.

    `base` is as of `Piece`, of the first one, m; `units` those of its notes.
    """
    angles, bends = corners(legs), iter(turns(fittings))
    joints = [start]
    for angle in angles:
        joints.append(fitting_joint(next(bends)[0], pipe) if angle else fitting_joint("coupling", pipe))
    joints.append(end)
    pieces = []
    for k, leg in enumerate(legs):
        heading = UPRIGHT if leg.way in ("down", "up") else LEVEL
        if leg.half and heading == UPRIGHT:
            heading = LINK
        first = base if k == 0 else 0.0
        pieces.append(Piece(heading, leg.length, leg.drop, joints[k], joints[k + 1], first))
    turning = {bend for bend, _ in turns(fittings)}
    inner = sorted(
        {f.name for f in fittings if f.name not in turning and f.name != "two 45s"}
        - {f.name for f in fittings if f.name.startswith(("entrance", "exit", "tee"))}
    )
    notes = [f"{part} goes into one of its legs: measure it before you cut that one." for part in inner]
    notes += [_short(piece, units) for piece in pieces if not piece.fits]
    length, drop = sum(leg.length for leg in legs), sum(leg.drop for leg in legs)
    return Route(name, pipe, length, drop, tuple(pieces), tuple(notes), given=True)
