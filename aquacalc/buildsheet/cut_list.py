"""The cut list: every piece of pipe with its length, and the lengths of pipe it comes from."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from aquacalc.buildsheet.lengths import whole_mm
from aquacalc.buildsheet.nesting import Nesting, nest
from aquacalc.buildsheet.stock import Stock, Workshop
from aquacalc.geometry.joints import Joint, fitting_joint, socket_depth
from aquacalc.geometry.laying import Piece, Route
from aquacalc.geometry.routes import routes
from aquacalc.geometry.strainers import strainers
from aquacalc.plan.model import Pipe, Plan
from aquacalc.units import show

#: Heading of a bell or strainer, which is no way of water.
TUBE = "tube"
#: Made of soft tube, of which a roll is cut: nothing to nest.
BREATHER = "breather"
#: How near a cut comes to its mark (common practice, no source), m.
SAW_DOUBT = 0.001


@dataclass(frozen=True)
class Cut:
    """One piece to cut.

    Attributes
    ----------
    mark : str
        What to write on the pipe: "A1" is the first piece of the first way.
    way : str
        "bed 1 to tee 2", "bell of siphon".
    pipe : Pipe
    heading : str
        "upright", "level", "between two 45s", "slanting", "tube".
    first, last : str
        What it ends in.
    centre : float
        Between the middles of its joints, m.
    into_first, into_last : float
        Hidden in the joint at each end, socket or seal, m.
    chamfer : float
        Chamfer that the length includes, m.
    exact : float
        Length as worked out, m.
    length : float
        Length to cut, whole mm, m; the pieces of a way add up.
    fits : bool
        False where the joints leave it too little room.
    sure : float or None
        How far its length may be off, m; None for a way that is derived: measure before cutting.
    piece : int
        Which piece of its way it is, or is part of, from 0.
    """

    mark: str
    way: str
    pipe: Pipe
    heading: str
    first: str
    last: str
    centre: float
    into_first: float
    into_last: float
    chamfer: float
    exact: float
    length: float
    fits: bool = True
    sure: float | None = None
    piece: int = 0


@dataclass(frozen=True)
class Nested:
    """The cuts of one pipe and the lengths they come from; `bars` index into `cuts`."""

    pipe: Pipe
    stock: Stock
    cuts: tuple[Cut, ...]
    nesting: Nesting


@dataclass(frozen=True)
class CutList:
    """Every piece, the ways they belong to, the couplings that long ways need, and the nesting."""

    cuts: tuple[Cut, ...]
    ways: tuple[Route, ...]
    couplings: tuple[Pipe, ...]
    nested: tuple[Nested, ...]

    def of_way(self, name: str) -> tuple[Cut, ...]:
        """Return the cuts of one way, in order."""
        return tuple(c for c in self.cuts if c.way == name)


def cut_list(plan: Plan, workshop: Workshop) -> CutList:
    """Return the cut list of a plan.

    Parameters
    ----------
    plan : Plan
        Checked.
    workshop : Workshop

    Returns
    -------
    CutList
    """
    cuts: list[Cut] = []
    couplings: list[Pipe] = []
    ways = routes(plan)
    for letter, way in zip(_letters_from(0), ways, strict=False):
        longest = _longest(workshop.of(way.pipe, plan.units))
        cuts += _way_cuts(letter, way, longest, couplings)
    cuts += _tubes(plan, workshop, _letters_from(len(ways)), couplings)
    hard = [c for c in cuts if not c.way.startswith(f"{BREATHER} of ")]
    pipes = {(c.pipe.series, c.pipe.size, c.pipe.outside_diameter): c.pipe for c in hard}
    nested = []
    for key, pipe in pipes.items():
        same = tuple(c for c in hard if (c.pipe.series, c.pipe.size, c.pipe.outside_diameter) == key)
        stock = workshop.of(pipe, plan.units)
        ready = tuple(c for c in same if c.length > 0.0)
        nested.append(Nested(pipe, stock, ready, nest([c.length for c in ready], stock, workshop.kerf)))
    return CutList(tuple(cuts), ways, tuple(couplings), tuple(nested))


def _letters_from(start: int) -> Iterator[str]:
    """Count on in letters: A, B ... Z, AA, AB ..."""
    n = start
    while True:
        text, k = "", n
        while k >= 0:
            text = chr(ord("A") + k % 26) + text
            k = k // 26 - 1
        yield text
        n += 1


def _longest(stock: Stock) -> float:
    """Longest piece, in whole mm, that comes from one length: shop lengths can always be had."""
    return math.floor(max(stock.sold) * 1e3 + 1e-6) / 1e3


def _way_cuts(letter: str, way: Route, longest: float, couplings: list[Pipe]) -> list[Cut]:
    raw: list[dict[str, Any]] = []
    for number, piece in enumerate(way.pieces):
        chamfer = piece.first.chamfer + piece.last.chamfer
        into = [j.socket or max(-j.take_off, 0.0) for j in (piece.first, piece.last)]
        parts = _parts(piece.cut, way.pipe, longest)
        couplings += [way.pipe] * (len(parts) - 1)
        depth = fitting_joint("coupling", way.pipe).socket
        for n, part in enumerate(parts):
            begins, ends = n == 0, n == len(parts) - 1
            raw.append(
                {
                    "heading": piece.heading,
                    "first": piece.first.name if begins else "coupling",
                    "last": piece.last.name if ends else "coupling",
                    "centre": piece.centre if len(parts) == 1 else part,
                    "into_first": into[0] if begins else depth,
                    "into_last": into[1] if ends else depth,
                    "chamfer": chamfer if len(parts) == 1 else 0.0,
                    "exact": part,
                    "fits": piece.fits,
                    "sure": _sure(piece) if way.given or piece.heading == TUBE else None,
                    "piece": number,
                }
            )
    lengths = whole_mm([r["exact"] for r in raw])
    return [
        Cut(mark=f"{letter}{n}", way=way.name, pipe=way.pipe, length=mm / 1e3, **r)
        for n, (r, mm) in enumerate(zip(raw, lengths, strict=True), 1)
    ]


def _sure(piece: Piece) -> float:
    """How far a piece may be off (m): its joints and a saw cut of 1 mm, as independent errors."""
    return math.sqrt(piece.first.doubt**2 + piece.last.doubt**2 + SAW_DOUBT**2)


def _parts(cut: float, pipe: Pipe, longest: float) -> list[float]:
    """Divide a piece that is longer than a length of pipe into equal parts joined by couplings."""
    if cut <= longest:
        return [cut]
    gap = 2.0 * fitting_joint("coupling", pipe).take_off
    n = math.ceil((cut + gap) / (longest + gap))
    return [(cut - (n - 1) * gap) / n] * n


def _tubes(plan: Plan, workshop: Workshop, letters: Iterator[str], couplings: list[Pipe]) -> list[Cut]:
    """Bells, strainers and breathers, which are pieces of pipe too."""
    tubes: list[tuple[str, Pipe, float, Joint, Joint | None]] = []
    for siphon in plan.siphons:
        bell = siphon.bell
        if bell.series:
            pipe = Pipe(bell.series, bell.size, bell.bore, bell.outside_diameter, 0.0)
            tubes.append((f"bell of {siphon.name}", pipe, bell.top_height, Joint("foot"), None))
        if siphon.breather is not None:
            tube, ends = siphon.breather, (Joint("through the bell's top"), Joint("mouth"))
            bore = show(tube.bore, "length", plan.units)
            pipe = Pipe("", f"tube of {bore} bore", tube.bore, tube.bore, 0.0)
            tubes.append((f"{BREATHER} of {siphon.name}", pipe, tube.length, *ends))
    for cut in strainers(plan):
        foot = Joint("foot") if cut.foot == "foot" else Joint(cut.foot, socket=socket_depth(cut.pipe))
        top = Joint("open end") if cut.fixing == "media guard" else None
        tubes.append((f"strainer of {cut.bed}", cut.pipe, cut.tube, foot, top))
    found = []
    for name, pipe, length, foot, end in tubes:
        piece = Piece(TUBE, length, length, foot, end or Joint("cap", socket=socket_depth(pipe)))
        way = Route(name, pipe, length, length, (piece,))
        found += _way_cuts(next(letters), way, _longest(workshop.of(pipe, plan.units)), couplings)
    return found
