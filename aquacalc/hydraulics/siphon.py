"""Flow of a siphon that runs full."""

from __future__ import annotations

from functools import lru_cache

from aquacalc.equations.formulas import GRAVITY, water_kinematic_viscosity
from aquacalc.hydraulics import path_flow as kernel
from aquacalc.hydraulics.paths import Piece, as_pieces, siphon_path
from aquacalc.plan.model import Plan, Siphon


def path_flow(pieces: list[Piece], head: float, viscosity: float) -> float:
    """Flow (m3/s) at which a path loses `head` (m) at kinematic `viscosity` (m2/s); 0 for no head."""
    return _path_flow(tuple(pieces), head, viscosity) if head > 0.0 else 0.0


@lru_cache(maxsize=1024)  # three laws and both ends of a band ask for the same flows
def _path_flow(pieces: tuple[Piece, ...], head: float, viscosity: float) -> float:
    guess = 1e-2 * min(piece.area for piece in pieces)
    return kernel.path_flow(as_pieces(list(pieces)), 0, len(pieces), head, guess, viscosity, GRAVITY)[0]


def siphon_head(siphon: Siphon, level: float, sump: float) -> float:
    """Head (m) over a siphon: water at `level` above its outlet, or above the sump where that is higher."""
    return level - max(siphon.tail.end, sump)


def siphon_flow(plan: Plan, siphon: Siphon, level: float, sump: float) -> float:
    """Flow (m3/s) of a siphon that runs full with water at `level` and the sump at `sump` (m)."""
    viscosity = water_kinematic_viscosity(plan.water_temperature)
    return path_flow(siphon_path(plan, siphon), siphon_head(siphon, level, sump), viscosity)
