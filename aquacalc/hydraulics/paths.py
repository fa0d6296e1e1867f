"""Paths: each pipe way of a plan as the pieces whose losses add up, with a name for each piece."""

from __future__ import annotations

from dataclasses import dataclass

from aquacalc.equations import losses
from aquacalc.equations.formulas import GRAVITY, circle_area, piece_loss
from aquacalc.geometry.strainers import strainer_area
from aquacalc.hydraulics.path_flow import Pieces
from aquacalc.plan.model import Bed, Delivery, Fitting, Pipe, Plan, Run, Siphon, Standpipe

#: A bell's foot openings, cut by hand in thin plastic, act as sharp orifices (HEC-22, from memory).
OPENING_DISCHARGE = 0.60
#: Water turns over the lip and keeps none of its speed in the annulus (an assumption on the safe side).
TURN_LOSS = 1.0


@dataclass(frozen=True)
class Piece:
    """One piece of a path: flow area (m2), hydraulic diameter, length, roughness (m), coefficient `k`."""

    name: str
    area: float
    diameter: float
    length: float
    roughness: float
    k: float

    def floats(self) -> tuple[float, float, float, float, float]:
        """Return the five numbers in the order the kernels read them."""
        return (self.area, self.diameter, self.length, self.roughness, self.k)

    def loss(self, flow: float, viscosity: float) -> float:
        """Head (m) lost in this piece at `flow` (m3/s) and kinematic `viscosity` (m2/s)."""
        return piece_loss(flow, *self.floats(), viscosity, GRAVITY)


def as_pieces(path: list[Piece]) -> Pieces:
    """Return a path as the kernels read it."""
    return Pieces(*map(list, zip(*(piece.floats() for piece in path), strict=True)))


def pipe_piece(name: str, pipe: Pipe, length: float, fittings: tuple[Fitting, ...], k: float = 0.0) -> Piece:
    """Piece for a `length` (m) of `pipe` with its fittings and a further loss coefficient `k`."""
    total = k + sum(f.count * f.k for f in fittings)
    return Piece(name, circle_area(pipe.bore), pipe.bore, length, pipe.roughness, total)


def opening_piece(name: str, area: float, discharge: float) -> Piece:
    """Piece for openings of `area` (m2) that act as orifices of coefficient `discharge`."""
    return Piece(name, area, 1.0, 0.0, 0.0, 1.0 / discharge**2)


def run_path(plan: Plan, run: Run) -> list[Piece]:
    """Pieces of a run, strainer first."""
    pieces = []
    bed = None if plan.tee(run.start) else plan.bed(run.start)
    if isinstance(bed, Bed) and bed.strainer is not None:
        area = strainer_area(plan, run.start)
        pieces.append(opening_piece("strainer", area, bed.strainer.discharge_coefficient))
    pieces.append(pipe_piece("pipe and fittings", run.pipe, run.length, run.fittings))
    return pieces


def standpipe_entry(stand: Standpipe) -> float:
    """Loss coefficient from the water above the lip into the full bore, on the bore.

    A square lip is a square-edged entrance of the lip's own width, followed by
    a sudden or a conical contraction when the lip is wider than the bore; a
    rounded lip is one entrance whose edge radius is half the difference.
    """
    bore, lip = stand.pipe.bore, stand.lip_diameter
    if stand.entry == "rounded":
        return losses.entrance_rounded(0.5 * (lip - bore), bore)
    entrance = losses.referred_loss(losses.entrance_square(), lip, bore)
    if lip <= bore:
        return entrance
    if stand.entry == "cone":
        angle = losses.cone_angle(bore, lip, stand.cone_length)
        return entrance + losses.cone_contraction(bore, lip, angle)
    return entrance + losses.sudden_contraction(bore, lip)


def foot(plan: Plan, siphon: Siphon) -> float:
    """Elevation (m) at which the bore of the standpipe ends and that of the tail begins."""
    own = siphon.standpipe.foot
    return plan.vessel(siphon.host).floor if own is None else own


def siphon_path(plan: Plan, siphon: Siphon) -> list[Piece]:
    """Pieces of a bell siphon from the water outside the bell to the end of the tail."""
    bell = siphon.bell
    stand = siphon.standpipe
    below = plan.vessel(siphon.host).floor - foot(plan, siphon)
    outside = max(stand.pipe.outside_diameter, stand.lip_diameter)
    annulus = circle_area(bell.bore) - circle_area(outside)
    openings = bell.openings * bell.opening_width * bell.opening_height
    return [
        opening_piece("bell openings", openings, OPENING_DISCHARGE),
        Piece(
            "bell annulus",
            annulus,
            bell.bore - outside,
            max(stand.height - bell.rim_height, 0.0),
            stand.pipe.roughness,
            TURN_LOSS,
        ),
        pipe_piece(
            "standpipe",
            stand.pipe,
            stand.height + below,
            (),
            standpipe_entry(stand),
        ),
        pipe_piece("tail", siphon.tail.pipe, max(siphon.tail.length - below, 0.0), siphon.tail.fittings),
    ]


def delivery_path(delivery: Delivery) -> list[Piece]:
    """Pieces of the pump's delivery pipe."""
    return [pipe_piece("delivery pipe", delivery.pipe, delivery.length, delivery.fittings)]


def path_loss(pieces: list[Piece], flow: float, viscosity: float) -> float:
    """Head (m) lost along `pieces` at `flow` (m3/s) and kinematic `viscosity` (m2/s)."""
    return sum(piece.loss(flow, viscosity) for piece in pieces)
