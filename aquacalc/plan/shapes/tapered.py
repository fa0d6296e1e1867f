"""A trough with flat sloping sides, wider at the rim."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from aquacalc.equations.formulas import tapered_area, tapered_volume
from aquacalc.plan.shapes.shape import Shape


@dataclass(frozen=True)
class Tapered(Shape):
    """A trough, `length` by `width` at the floor and `top_length` by `top_width` at the rim (m)."""

    kind: ClassVar[str] = "tapered"
    keys: ClassVar[tuple[str, ...]] = ("depth", "length", "width", "top_length", "top_width")
    sides: ClassVar[tuple[str, ...]] = ("length", "width", "top_length", "top_width")

    length: float = 0.0
    width: float = 0.0
    top_length: float = 0.0
    top_width: float = 0.0

    def area(self, z: float) -> float:
        return tapered_area(self.length, self.width, self.top_length, self.top_width, self.depth, z)

    def volume(self, z: float) -> float:
        return tapered_volume(self.length, self.width, self.top_length, self.top_width, self.depth, z)

    def across(self, z: float) -> tuple[float, float]:
        part = z / self.depth
        return (
            self.length + (self.top_length - self.length) * part,
            self.width + (self.top_width - self.width) * part,
        )
