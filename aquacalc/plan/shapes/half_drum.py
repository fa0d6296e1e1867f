"""A drum on its side, cut open along the top."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import ClassVar

from aquacalc.equations.formulas import drum_area, drum_volume
from aquacalc.plan.shapes.shape import Problem, Shape

#: It is cut into this many cells, closer together near its lowest line.
CELLS = 40
#: Difference of lengths (m) that is no difference: a tape shows no less.
SLACK = 5e-4


@dataclass(frozen=True)
class HalfDrum(Shape):
    """A cylinder on its side, `diameter` across and `length` long (m)."""

    kind: ClassVar[str] = "half drum"
    keys: ClassVar[tuple[str, ...]] = ("depth", "length", "diameter")
    sides: ClassVar[tuple[str, ...]] = ("length",)  # drums are bought by their diameter

    length: float = 0.0
    diameter: float = 0.0

    @classmethod
    def derive(cls, sizes: dict) -> dict:
        return {"depth": 0.5 * sizes["diameter"]}

    def area(self, z: float) -> float:
        return drum_area(self.diameter, self.length, z)

    def volume(self, z: float) -> float:
        return drum_volume(self.diameter, self.length, z)

    def breaks(self) -> list[float]:
        return [self.depth * (k / CELLS) ** 2 for k in range(1, CELLS)]

    def across(self, z: float) -> tuple[float, float]:
        return self.length, 2.0 * math.sqrt(max(z * (self.diameter - z), 0.0))

    def half_width(self, z: float) -> float:
        return 0.5 * self.across(z)[1]

    def profile(self) -> list[float]:
        return [self.depth * (1.0 - math.cos(0.5 * math.pi * k / 16)) for k in range(17)]

    def narrowest(self) -> float:
        return min(self.length, self.diameter)

    def footprint(self) -> float:
        return self.length * self.diameter

    def middle(self) -> tuple[float, float, str]:
        return 0.5 * self.length, 0.5 * self.diameter, "lowest line of the drum, middle of its length"

    def curve(self, floor: bool) -> float:
        return self.diameter if floor else 0.0

    def scaled(self, factor: float) -> Shape:
        return replace(self, length=self.length * factor)

    def described(self, show: Callable[[float], str]) -> str:
        return f"{show(self.length)} x {show(self.diameter)} and {show(self.depth)} deep"

    def problems(self, show: Callable[[float], str]) -> Iterator[Problem]:
        if self.depth > self.diameter + SLACK:
            reason = f"is more than the drum's diameter ({show(self.diameter)})"
            yield Problem("depth", self.depth, reason, "give the inside depth, half the diameter as a rule")
