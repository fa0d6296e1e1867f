"""Lengths as a workshop writes them: whole millimetres, and inches to a sixteenth."""

from __future__ import annotations

import math
from collections.abc import Sequence


def inches(metres: float) -> str:
    """Write a length of `metres` in inches to the nearest sixteenth: "14-3/16"."""
    sixteenths = round(metres / 0.0254 * 16)
    whole, part = divmod(abs(sixteenths), 16)
    sign = "-" if sixteenths < 0 else ""
    if not part:
        return f"{sign}{whole}"
    shared = math.gcd(part, 16)
    fraction = f"{part // shared}/{16 // shared}"
    return f"{sign}{whole}-{fraction}" if whole else f"{sign}{fraction}"


def number(metres: float, system: str) -> str:
    """Write a length of `metres` without its unit: whole mm, or inches to a sixteenth."""
    return str(round(metres * 1e3)) if system == "metric" else inches(metres)


def unit(system: str) -> str:
    """Return the unit of `number`."""
    return "mm" if system == "metric" else "in"


def said(metres: float, system: str) -> str:
    """Write a length of `metres` with its unit."""
    return f"{number(metres, system)} {unit(system)}"


def whole_mm(lengths: Sequence[float]) -> list[int]:
    """Round lengths (m) to mm so that they add up to their rounded sum."""
    found, done, before = [], 0.0, 0
    for length in lengths:
        done += length
        at = round(done * 1e3)
        found.append(at - before)
        before = at
    return found
