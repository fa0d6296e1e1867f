"""Outlines of vessels seen end on, in pixels across and metres up."""

from __future__ import annotations

from dataclasses import dataclass

from aquacalc.plan.model import Bed, Chamber, Shape, Sump

Point = tuple[float, float]


def widest(shape: Shape) -> float:
    """Return the full width (m) that a vessel takes on the drawing."""
    return 2.0 * max(shape.half_width(h) for h in _heights(shape, shape.depth))


def _heights(shape: Shape, top: float) -> list[float]:
    return [*(h for h in sorted(set(shape.profile())) if h < top - 1e-9), top]


@dataclass(frozen=True)
class Placed:
    """A vessel on the drawing: centre (px), floor (m), pixels to a metre across."""

    vessel: Bed | Chamber | Sump
    centre: float
    across: float

    def half(self, z: float) -> float:
        """Half the inside width (px) at elevation `z` (m), which is kept within the vessel."""
        shape = self.vessel.shape
        return shape.half_width(min(max(z - self.vessel.floor, 0.0), shape.depth)) * self.across

    @property
    def left(self) -> float:
        """Left inside edge at the widest place, px."""
        return self.centre - 0.5 * widest(self.vessel.shape) * self.across

    @property
    def right(self) -> float:
        """Right inside edge at the widest place, px."""
        return self.centre + 0.5 * widest(self.vessel.shape) * self.across

    def _side(self, top: float) -> list[Point]:
        shape, floor = self.vessel.shape, self.vessel.floor
        return [(shape.half_width(h) * self.across, floor + h) for h in _heights(shape, top)]

    def wall(self) -> list[Point]:
        """Return the wall from rim to rim, open at the top."""
        side = self._side(self.vessel.shape.depth)
        return [(self.centre - w, z) for w, z in reversed(side)] + [(self.centre + w, z) for w, z in side]

    def filled(self, level: float) -> list[Point]:
        """Return the closed outline of what stands up to elevation `level` (m); empty below the floor."""
        top = min(level - self.vessel.floor, self.vessel.shape.depth)
        if top <= 1e-4:
            return []
        side = self._side(top)
        return [(self.centre - w, z) for w, z in reversed(side)] + [(self.centre + w, z) for w, z in side]
