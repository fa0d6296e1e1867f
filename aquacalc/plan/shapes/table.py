"""A vessel of any form, given by its plan areas at some heights."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import ClassVar

from aquacalc.plan.shapes.shape import Problem, Shape


@dataclass(frozen=True)
class Table(Shape):
    """A vessel with plan `areas` (m2) at `depths` (m above its floor), changing evenly between them.

    Seen from above, the square of the same area stands for it.
    """

    kind: ClassVar[str] = "table"
    keys: ClassVar[tuple[str, ...]] = ("depths", "areas")

    depths: tuple[float, ...] = ()
    areas: tuple[float, ...] = ()

    @classmethod
    def derive(cls, sizes: dict) -> dict:
        return {"depth": sizes["depths"][-1]}

    def _row(self, z: float) -> int:
        k = 0
        while k < len(self.depths) - 2 and z > self.depths[k + 1]:
            k += 1
        return k

    def area(self, z: float) -> float:
        k = self._row(z)
        z0, z1 = self.depths[k : k + 2]
        a0, a1 = self.areas[k : k + 2]
        return a0 + (a1 - a0) * (z - z0) / (z1 - z0)

    def volume(self, z: float) -> float:
        k = self._row(z)
        below = sum(
            0.5 * (self.areas[i] + self.areas[i + 1]) * (self.depths[i + 1] - self.depths[i])
            for i in range(k)
        )
        return below + 0.5 * (self.areas[k] + self.area(z)) * (z - self.depths[k])

    def breaks(self) -> list[float]:
        return list(self.depths)

    def across(self, z: float) -> tuple[float, float]:
        side = math.sqrt(self.area(z))
        return side, side

    def profile(self) -> list[float]:
        return [0.0, *self.depths, self.depth]

    def narrowest(self) -> float:
        """Diameter (m) of the smallest area."""
        return math.sqrt(4.0 * min(self.areas) / math.pi)

    def middle(self) -> tuple[float, float, str]:
        radius = math.sqrt(self.areas[0] / math.pi)
        return radius, radius, "middle of the floor"

    def scaled(self, factor: float) -> Shape:
        return replace(self, areas=tuple(a * factor for a in self.areas))

    def described(self, show: Callable[[float], str]) -> str:
        return f"in the same form, {show(self.depth)} deep"

    def problems(self, show: Callable[[float], str]) -> Iterator[Problem]:
        if len(self.depths) != len(self.areas):
            reason = f"does not go with depths ({len(self.depths)} values)"
            yield Problem("areas", f"{len(self.areas)} values", reason, "give one area for each depth")
        if self.depths[0] != 0.0 or not all(a < b for a, b in pairwise(self.depths)):
            fix = "begin at 0 mm and let each be larger than the one before"
            yield Problem("depths", [show(d) for d in self.depths], "does not rise from 0", fix)
        if min(self.areas) <= 0.0:
            yield Problem("areas", min(self.areas), "is zero", "give each area above 0", "area")
