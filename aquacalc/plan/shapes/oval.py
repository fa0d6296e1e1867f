"""An oval tank, such as a stock tank or a bath tub: an ellipse with a straight or sloping wall."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from aquacalc.equations.formulas import oval_area, oval_volume
from aquacalc.plan.shapes.tapered import Tapered


@dataclass(frozen=True)
class Oval(Tapered):
    """An ellipse, `length` by `width` at the floor and `top_length` by `top_width` at the rim (m)."""

    kind: ClassVar[str] = "oval"
    rounded: ClassVar[bool] = True

    @classmethod
    def derive(cls, sizes: dict) -> dict:
        return {"top_length": sizes.get("length"), "top_width": sizes.get("width")}

    def area(self, z: float) -> float:
        return oval_area(self.length, self.width, self.top_length, self.top_width, self.depth, z)

    def volume(self, z: float) -> float:
        return oval_volume(self.length, self.width, self.top_length, self.top_width, self.depth, z)
