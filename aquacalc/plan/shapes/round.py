"""An upright round tank."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar

from aquacalc.equations.formulas import circle_area
from aquacalc.plan.shapes.shape import Shape


@dataclass(frozen=True)
class Round(Shape):
    """An upright round tank, `diameter` (m) across."""

    kind: ClassVar[str] = "round"
    keys: ClassVar[tuple[str, ...]] = ("depth", "diameter")
    sides: ClassVar[tuple[str, ...]] = ("diameter",)
    rounded: ClassVar[bool] = True

    diameter: float = 0.0

    def area(self, z: float) -> float:
        return circle_area(self.diameter)

    def volume(self, z: float) -> float:
        return self.area(z) * z

    def across(self, z: float) -> tuple[float, float]:
        return self.diameter, self.diameter

    def described(self, show: Callable[[float], str]) -> str:
        return f"{show(self.diameter)} across and {show(self.depth)} deep"
