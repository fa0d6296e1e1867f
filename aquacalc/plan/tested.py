"""The parts of a siphon in words, for a reading that holds only while they stay as they were."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from aquacalc.plan.model import Fitting, Leg, Siphon, Stopping


def parts(siphon: Siphon, size: Callable[[float], str] | None = None) -> dict[str, str]:
    """Return the parts that decide where a siphon starts and stops, each in words to 0.1 mm.

    Parameters
    ----------
    siphon : Siphon
    size : callable, optional
        Writes a length in m; in millimetres when left out.

    Returns
    -------
    dict of str to str
    """
    size = size or _mm
    stand, bell, tail = siphon.standpipe, siphon.bell, siphon.tail
    cone = f", {size(stand.cone_length)} long" if stand.cone_length else ""
    fittings = " + ".join(_fitting(f, size) for f in tail.fittings)
    legs = "".join(f", {_leg(leg, size)}" for leg in tail.legs)
    notch = f", notch to {size(bell.notch_height)}" if bell.notch_height else ""
    tube = siphon.breather
    if tube is not None:
        notch += f", breather {size(tube.bore)} by {size(tube.length)}, mouth at {size(tube.mouth)}"
    return {
        "standpipe": f"bore {size(stand.pipe.bore)}, {size(stand.height)} tall",
        "lip": f"{size(stand.lip_diameter)}, {stand.entry}{cone}",
        "bell": (
            f"bore {size(bell.bore)}, top {size(bell.top_height)}, rim {size(bell.rim_height)}, "
            f"{bell.openings} openings {size(bell.opening_width)} by {size(bell.opening_height)}{notch}"
        ),
        "tail": f"bore {size(tail.pipe.bore)}, {size(tail.length)} long, {fittings}{legs}",
    }


def _mm(size: float) -> str:
    return f"{1e3 * size:.1f}".removesuffix(".0") + " mm"


def _inches(size: float) -> str:
    return f"{size / 0.0254:.3f}".rstrip("0").removesuffix(".") + " in"


def _leg(leg: Leg, size: Callable[[float], str]) -> str:
    half = " at 45" if leg.half else ""
    fall = f" falling {size(leg.fall)}" if leg.fall else ""
    return f"{leg.way}{half} {size(leg.length)}{fall}"


def _fitting(fitting: Fitting, size: Callable[[float], str]) -> str:
    count = f"{fitting.count} x " if fitting.count > 1 else ""
    apart = f" {size(fitting.spacing)} apart" if fitting.spacing else ""
    return f"{count}{fitting.name}{apart}"


def written(siphon: Siphon, system: str = "metric") -> str:
    """Return the parts as the plan's key `tested` and the bench's file have them, in the plan's units."""
    each = parts(siphon, _inches if system == "us" else _mm)
    return "; ".join(f"{name} {words}" for name, words in each.items())


def changed(siphon: Siphon) -> tuple[str, ...]:
    """Name the parts that are not those the siphon's readings were taken with; none when nothing is said."""
    if not siphon.tested:
        return ()
    before = {name.strip() for name in siphon.tested.split(";")}
    metric, us = parts(siphon), parts(siphon, _inches)
    return tuple(
        name
        for name in metric
        if f"{name} {metric[name]}" not in before and f"{name} {us[name]}" not in before
    )


def unread(siphon: Siphon) -> Siphon:
    """Return the siphon without its readings of start and stop."""
    priming = replace(siphon.priming, observed=None, observed_error=0.0)
    return replace(siphon, priming=priming, stopping=Stopping(), tested="")
