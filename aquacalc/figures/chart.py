"""Axes, zones and labels of charts that are written as SVG."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from aquacalc.figures.vector import BOLD, TEXT, Drawing, nice_ticks, spread, text_width
from aquacalc.units import in_unit, show

WIDTH = 900.0
#: Hatches by their sign: lines on a tile of 8 by 8 px.
HATCHES = {
    "/": "M0 8L8 0M-1 1L1 -1M7 9L9 7",
    "\\": "M0 0L8 8M-1 7L1 9M7 -1L9 1",
    "|": "M2 0V8M6 0V8",
    "x": "M0 8L8 0M0 0L8 8",
}


def shown(number: float, kind: str, system: str, digits: int | None = None) -> str:
    """Write the SI value `number` with its unit for a drawing: with a true minus sign."""
    return show(number, kind, system, digits).replace("-", "−")


@dataclass(frozen=True)
class Axes:
    """A rectangle of a drawing (px) and the SI values at its edges.

    Attributes
    ----------
    d : Drawing
    left, top, width, height : float
        px.
    xs, ys : tuple of (float, float)
        Values at its left and right, and at its bottom and top edge.
    """

    d: Drawing
    left: float
    top: float
    width: float
    height: float
    xs: tuple[float, float]
    ys: tuple[float, float] = (0.0, 1.0)

    def x(self, value: float) -> float:
        """Where a value lies across, px."""
        return self.left + self.width * (value - self.xs[0]) / (self.xs[1] - self.xs[0])

    def y(self, value: float) -> float:
        """Where a value lies up, px."""
        return self.top + self.height * (self.ys[1] - value) / (self.ys[1] - self.ys[0])

    def at(self, points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        """Return points (x, y) in px."""
        return [(self.x(a), self.y(b)) for a, b in points]

    def clip(self, name: str) -> str:
        """Declare its rectangle as a clip; return what refers to it."""
        self.d.open("clipPath", id=f"cut-{name}")
        self.d.add("rect", x=self.left, y=self.top, width=self.width, height=self.height)
        self.d.shut("clipPath")
        return f"url(#cut-{name})"

    def scale_x(self, kind: str, system: str, label: str, most: int) -> None:
        """Tick the lower edge at round values of the unit shown, at most so many, and name it."""
        per, unit = in_unit(1.0, kind, system)
        self.ticks_x([t / per for t in self._round(self.xs, per, most)], per, f"{label} ({unit})")

    def ticks_x(self, values: Sequence[float], per: float, label: str) -> None:
        """Tick the lower edge at `values` (SI), which are written times the number `per`."""
        d, foot = self.d, self.top + self.height
        d.add("path", "axis", d=("M", self.left, " ", foot, "H", self.left + self.width))
        for value, words in zip(values, _labels([v * per for v in values]), strict=True):
            d.add("path", "axis", d=("M", self.x(value), " ", foot, "v5"))
            d.text(self.x(value), foot + 14.0, words, "m")
        d.text(self.left + 0.5 * self.width, foot + 33.0, label, "m")

    def scale_y(self, kind: str, system: str, label: str, most: int) -> None:
        """Tick the left edge at round values of the unit shown, at most so many, and name it upright."""
        d, (per, unit) = self.d, in_unit(1.0, kind, system)
        d.add("path", "axis", d=("M", self.left, " ", self.top, "v", self.height))
        values = [t / per for t in self._round(self.ys, per, most)]
        for value, words in zip(values, _labels([v * per for v in values]), strict=True):
            d.add("path", "axis", d=("M", self.left - 5.0, " ", self.y(value), "h5"))
            d.text(self.left - 8.0, self.y(value), words, "e")
        middle = self.top + 0.5 * self.height
        turned = f"translate({self.left - 58.0:g} {middle + 5.0:g})rotate(-90)"
        d.add("text", "m", f"{label} ({unit})" if unit else label, transform=turned)

    def _round(self, ends: tuple[float, float], per: float, most: int) -> list[float]:
        return nice_ticks(ends[0] * per, ends[1] * per, most)


def _labels(values: Sequence[float]) -> list[str]:
    step = abs(values[1] - values[0]) if len(values) > 1 else 1.0
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return [f"{v:.{decimals}f}".replace("-", "−") if abs(v) > 1e-9 * step else "0" for v in values]


def zone(d: Drawing, points: Sequence[tuple[float, float]], fill: str, hatch: str = "", **more) -> None:
    """Fill an outline (px) with a colour of the style sheet, and with a hatch over it."""
    d.path(points, "zone", close=True, style=f"fill:var(--{fill})", **more)
    if not hatch:
        return
    name = f"cut-hatch{ord(hatch)}"
    if name not in d.defined:
        d.defined.add(name)
        d.open("pattern", id=name, width=8.0, height=8.0, patternUnits="userSpaceOnUse")
        d.add("path", "hatch", d=HATCHES[hatch])
        d.shut("pattern")
    d.path(points, "", close=True, fill=f"url(#{name})", **more)


def box(x: float, y: float, width: float, height: float) -> list[tuple[float, float]]:
    """Return the corners of a rectangle from (`x`, `y`) on, `width` by `height`, px."""
    return [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]


def beside(texts: Sequence[str], wanted: Sequence[float], low: float, high: float) -> list[float]:
    """Return middles (px) of labels in a row from `low` to `high` (px): near `wanted`, none over another."""
    wide = [max(text_width(line, TEXT) for line in text.split("\n")) * BOLD + 10.0 for text in texts]
    return spread(wanted, wide, low, high)
