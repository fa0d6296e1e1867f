"""A pipe's way as the builder says it: "down 80 mm", "along 1370 mm falling 10 mm", "left 200 mm"."""

from __future__ import annotations

import itertools
import math
import re

from aquacalc import units
from aquacalc.plan.model import Fitting, Leg

#: A length, fitting or level given beside legs may differ by this much, m.
AGREES = 0.005
#: Along goes on as before, left and right turn from there.
_LEG = re.compile(
    r"(down|up|along|left|right)( at 45)?\s+(\S.*?)(?:\s+(falling|rising)\s+(\S.*))?", re.IGNORECASE
)
_FORM = 'write each as "down 80 mm", "along 1.2 m falling 10 mm", "left 200 mm" or "down at 45 60 mm"'


def read_leg(text: str) -> Leg:
    """Read one leg.

    Raises
    ------
    ValueError
        With what is wrong and how to write it.

    Examples
    --------
    >>> leg = read_leg("along 1.2 m falling 10 mm")
    >>> leg.way, leg.length, leg.drop
    ('along', 1.2, 0.01)
    """
    found = _LEG.fullmatch(text.strip())
    if not found:
        raise ValueError(_FORM)
    way, half, length, slope, fall = found.groups()
    way = way.lower()
    values = []
    for part in (length, fall):
        try:
            values.append(units.read(part, "distance", "leg") if part else 0.0)
        except units.UnitError as error:
            raise ValueError(f"{error.reason}; {_FORM}") from None
    if not (math.isfinite(values[0]) and values[0] > 0.0):
        raise ValueError("give each leg a length above 0")
    if slope and (way in ("down", "up") or values[1] >= values[0]):
        raise ValueError("only a level leg falls or rises, and by less than its length")
    return Leg(way, values[0], bool(half), -values[1] if (slope or "").lower() == "rising" else values[1])


def write_leg(leg: Leg) -> str:
    """Write a leg as `read_leg` reads it, in m.

    Examples
    --------
    >>> write_leg(read_leg("left at 45 80 mm"))
    'left at 45 0.08 m'
    """
    text = f"{leg.way}{' at 45' if leg.half else ''} {leg.length!r} m"
    if leg.fall:
        text += f" {'falling' if leg.fall > 0.0 else 'rising'} {abs(leg.fall)!r} m"
    return text


def directions(legs: tuple[Leg, ...]) -> list[tuple[float, float, float]]:
    """Direction of each leg: x on, y to the left, z up; a fall of a level leg is left out."""
    heading, found = 0.0, []
    for leg in legs:
        turn = math.radians(45.0 if leg.half else 90.0)
        if leg.way in ("left", "right"):
            heading += turn if leg.way == "left" else -turn
        level = {"down": math.cos(turn), "up": math.cos(turn)}.get(leg.way, 1.0)
        upward = {"down": -1.0, "up": 1.0}.get(leg.way, 0.0) * math.sin(turn)
        if leg.way in ("down", "up") and not leg.half:
            level = 0.0
        found.append((level * math.cos(heading), level * math.sin(heading), upward))
    return found


def corners(legs: tuple[Leg, ...]) -> list[float]:
    """By how much the pipe turns from each leg to the next, degrees."""
    ways = directions(legs)
    found = []
    for a, b in itertools.pairwise(ways):
        dot = sum(p * q for p, q in zip(a, b, strict=True))
        found.append(float(round(math.degrees(math.acos(min(max(dot, -1.0), 1.0))))))
    return found


def turns(fittings: tuple[Fitting, ...]) -> list[tuple[str, int]]:
    """Name and turn (degrees) of each fitting that turns the pipe, in order; two 45s are two."""
    found = []
    for f in fittings:
        if f.name == "two 45s":
            found += [("bend 45", 45)] * (2 * f.count)
        elif f.name.startswith("bend 90"):
            found += [(f.name, 90)] * f.count
        elif f.name.startswith("bend 45"):
            found += [(f.name, 45)] * f.count
    return found


def problem(legs: tuple[Leg, ...], fittings: tuple[Fitting, ...]) -> tuple[str, str] | None:
    """Return (reason, fix) when the legs cannot be laid, or not with these fittings."""
    made = corners(legs)
    for k, angle in enumerate(made):
        if angle not in (0, 45, 90):
            return f"turns back by {angle} degrees after leg {k + 1}", "lead it round with two right angles"
    wanted = [angle for angle in made if angle]
    have = [angle for _, angle in turns(fittings)]
    if have != wanted:
        return (
            f"turn by {wanted or 'nothing'} degrees, the fittings by {have or 'nothing'}",
            "give one bend 90 for each right angle and one bend 45 for each half, in order",
        )
    return None


def shown(leg: Leg) -> str:
    """Write a leg for a message: whole mm."""
    half = " at 45" if leg.half else ""
    fall = f" {'falling' if leg.fall > 0.0 else 'rising'} {abs(leg.fall) * 1e3:.0f} mm" if leg.fall else ""
    return f"{leg.way}{half} {leg.length * 1e3:.0f} mm{fall}"
