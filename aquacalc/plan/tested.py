"""The parts of a siphon in words, for a reading that holds only while they stay as they were."""

from __future__ import annotations

from aquacalc.plan.model import Siphon


def parts(siphon: Siphon) -> dict[str, str]:
    """Return the parts that decide where a siphon starts and stops, each in words to 0.1 mm.

    Always in millimetres, whatever the plan's units, so that they can be compared.
    """
    stand, bell, tail = siphon.standpipe, siphon.bell, siphon.tail
    cone = f", {_mm(stand.cone_length)} long" if stand.cone_length else ""
    fittings = " + ".join(_fitting(f) for f in tail.fittings)
    return {
        "standpipe": f"bore {_mm(stand.pipe.bore)}, {_mm(stand.height)} tall",
        "lip": f"{_mm(stand.lip_diameter)}, {stand.entry}{cone}",
        "bell": (
            f"bore {_mm(bell.bore)}, top {_mm(bell.top_height)}, rim {_mm(bell.rim_height)}, "
            f"{bell.openings} openings {_mm(bell.opening_width)} by {_mm(bell.opening_height)}"
        ),
        "tail": f"bore {_mm(tail.pipe.bore)}, {_mm(tail.length)} long, {fittings}",
    }


def _mm(size: float) -> str:
    return f"{1e3 * size:.1f}".removesuffix(".0") + " mm"


def _fitting(fitting) -> str:
    count = f"{fitting.count} x " if fitting.count > 1 else ""
    apart = f" {_mm(fitting.spacing)} apart" if fitting.spacing else ""
    return f"{count}{fitting.name}{apart}"


def written(siphon: Siphon) -> str:
    """Return the parts as the plan's key `tested` and the bench's file have them."""
    return "; ".join(f"{name} {words}" for name, words in parts(siphon).items())


def changed(siphon: Siphon) -> tuple[str, ...]:
    """Name the parts that are not those the siphon's readings were taken with; none when nothing is said."""
    if not siphon.tested:
        return ()
    before = {name.strip() for name in siphon.tested.split(";")}
    return tuple(name for name, words in parts(siphon).items() if f"{name} {words}" not in before)
