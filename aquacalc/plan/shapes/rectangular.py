"""A box: straight walls on a rectangle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from aquacalc.plan.shapes.shape import Shape


@dataclass(frozen=True)
class Rectangular(Shape):
    """A box, `length` by `width` (m)."""

    kind: ClassVar[str] = "rectangular"
    keys: ClassVar[tuple[str, ...]] = ("depth", "length", "width")
    sides: ClassVar[tuple[str, ...]] = ("length", "width")

    length: float = 0.0
    width: float = 0.0

    def area(self, z: float) -> float:
        return self.length * self.width

    def volume(self, z: float) -> float:
        return self.area(z) * z

    def across(self, z: float) -> tuple[float, float]:
        return self.length, self.width
