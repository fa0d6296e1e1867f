"""What every shape of vessel can say of itself. Lengths in m, heights above the floor."""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import ClassVar, NamedTuple

#: Sides of the polygon that stands for a curve seen from above.
SIDES = 64


class Problem(NamedTuple):
    """A size that makes no vessel: its key, the value, what is wrong with it, and the mend."""

    key: str
    value: object
    reason: str
    fix: str
    kind: str = "length"


@dataclass(frozen=True)
class Shape(ABC):
    """The inside of a vessel that stands upright on a level floor.

    Attributes
    ----------
    kind : str
        The plan's word for it.
    keys : tuple of str
        Keys of a plan that give its sizes.
    sides : tuple of str
        Those of them that are sizes seen from above, which a vessel is bought by.
    rounded : bool
        Whether it is round or oval seen from above.
    depth : float
        From floor to rim, m.
    """

    kind: ClassVar[str]
    keys: ClassVar[tuple[str, ...]]
    sides: ClassVar[tuple[str, ...]] = ()
    rounded: ClassVar[bool] = False

    depth: float = 0.0

    @classmethod
    def derive(cls, sizes: dict) -> dict:
        """Return the sizes that follow from others when a plan leaves them out."""
        return {}

    @abstractmethod
    def area(self, z: float) -> float:
        """Water surface (m2) of the empty vessel at height `z` (m)."""

    @abstractmethod
    def volume(self, z: float) -> float:
        """Volume (m3) of the empty vessel from its floor to height `z` (m)."""

    def height(self, volume: float) -> float:
        """Height (m) to which `volume` (m3) fills the empty vessel, at most its depth."""
        low, high = 0.0, self.depth
        for _ in range(200):
            middle = 0.5 * (low + high)
            if not low < middle < high:
                break
            if self.volume(middle) < volume:
                low = middle
            else:
                high = middle
        return high

    def breaks(self) -> list[float]:
        """Heights (m) inside the vessel between which a cubic through volume and area is exact, or close."""
        return []

    @abstractmethod
    def across(self, z: float) -> tuple[float, float]:
        """Inside length and width (m) at height `z` (m), seen from above."""

    def outline(self, z: float) -> list[tuple[float, float]]:
        """Corners (x along the length, y across, m) seen from above at height `z`, about the middle."""
        a, b = (0.5 * side for side in self.across(z))
        if not self.rounded:
            return [(-a, -b), (a, -b), (a, b), (-a, b)]
        turns = [2.0 * math.pi * k / SIDES for k in range(SIDES)]
        return [(a * math.cos(t), b * math.sin(t)) for t in turns]

    def half_width(self, z: float) -> float:
        """Half the inside width (m) at height `z`, seen end on: the shorter way across at the floor."""
        length, width = self.across(0.0)
        return 0.5 * self.across(z)[0 if length < width else 1]

    def profile(self) -> list[float]:
        """Heights (m) that draw the wall seen end on."""
        return [0.0, self.depth]

    def narrowest(self) -> float:
        """Smallest inside width (m): what stands on the floor has to go into it."""
        return min(*self.across(0.0), *self.across(self.depth))

    def curve(self, floor: bool) -> float:
        """Diameter (m) to which its `floor`, or else its wall, is curved; 0 where it is flat."""
        return min(self.across(0.0)) if self.rounded and not floor else 0.0

    def footprint(self) -> float:
        """Area (m2) that the vessel covers where it stands."""
        return self.area(0.0)

    def middle(self) -> tuple[float, float, str]:
        """Return the middle of the floor from the end and from the side (m), and in words."""
        length, width = self.across(0.0)
        return 0.5 * length, 0.5 * width, "middle of the floor"

    def scaled(self, factor: float) -> Shape:
        """Return the shape with its areas times `factor` and its depth as it is."""
        side = math.sqrt(factor)
        return replace(self, **{name: side * getattr(self, name) for name in self.sides})

    def resized(self, size: Callable[[float], float]) -> Shape:
        """Return the shape with each size seen from above put through `size`."""
        return replace(self, **{name: size(getattr(self, name)) for name in self.sides})

    def described(self, show: Callable[[float], str]) -> str:
        """Its sizes in words, lengths written by `show`."""
        length, width = self.across(0.0)
        return f"{show(length)} x {show(width)} and {show(self.depth)} deep"

    def problems(self, show: Callable[[float], str]) -> Iterator[Problem]:
        """Each size that makes no vessel; lengths written by `show`."""
        return iter(())
