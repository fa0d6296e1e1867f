"""Heights to set out: which there are, and a ladder of them beside a view."""

from __future__ import annotations

from collections.abc import Sequence

from aquacalc.buildsheet.canvas import LETTER, Canvas, spread, text_width
from aquacalc.plan.model import Bed, Plan
from aquacalc.units import show

#: A height with what lies there, and its value as it is written.
Mark = tuple[float, str, str]
#: Room (mm) for the values of a ladder with their lines, and from line to line.
LADDER, LINE = 36.0, 1.25 * LETTER


def marks(plan: Plan) -> list[Mark]:
    """Return every elevation of a plan as it is written."""
    return [(z, text, show(z, "elevation", plan.units)) for z, text in elevations(plan)]


def elevations(plan: Plan) -> list[tuple[float, str]]:
    """Every elevation a builder sets out, highest first, with what lies there; equal ones share a line."""
    found: dict[int, tuple[float, list[str]]] = {}

    def add(z: float, text: str):
        _, words = found.setdefault(round(z * 1e4), (z, []))
        if text not in words:
            words.append(text)

    groups: tuple[tuple[str, tuple], ...] = (("bed", plan.beds), ("chamber", plan.chambers))
    for kind, vessels in groups:
        for v in vessels:
            name = v.name if len(vessels) == 1 or len({(x.floor, x.rim) for x in vessels}) > 1 else f"{kind}s"
            add(v.rim, f"rim, {name}")
            add(v.floor, f"floor, {name}")
            if isinstance(v, Bed):
                add(v.floor + v.media.depth, f"media, {name}")
                if v.outlet == "side":
                    add(v.outlet_invert, f"outlet's invert, {name}")
    for tee in plan.tees:
        add(tee.elevation, f"invert, {tee.name}")
    last = [run for run in plan.runs if all(t.name != run.to for t in plan.tees)]
    for run in last:
        add(run.outfall, "inlet's invert" + (f", {run.to}" if len({r.to for r in last}) > 1 else ""))
    for siphon in plan.siphons:
        of = f", {siphon.name}" if len(plan.siphons) > 1 else ""
        add(plan.lip_level(siphon), f"lip{of}")
        add(plan.rim_level(siphon), f"bell rim{of}")
        add(plan.crown_level(siphon), f"bell's roof{of}")
        add(siphon.tail.outlet, f"tail's end{of}")
    sump = plan.sump
    add(sump.rim, f"rim, {sump.name}")
    add(sump.floor, f"floor, {sump.name}")
    add(sump.floor + sump.water_level, "water, pump off")
    if plan.pump.delivery is not None:
        add(plan.pump.delivery.outlet, "delivery's end")
    return [(z, ", ".join(words)) for z, words in sorted(found.values(), key=lambda x: -x[0])]


def ladder(
    canvas: Canvas, shown: Sequence[Mark], wanted: list[float], left: float, room, names=False
) -> None:
    """Write values between the heights `room` (mm), ending `left`, with a line to the true place of each."""
    top, foot = room
    at = spread(wanted, LINE, top + 3.0, foot - 3.0)
    for (_, text, value), true, y in zip(shown, wanted, at, strict=True):
        canvas.text((left - 8.0, y), value, "end", bold=True)
        if names:
            canvas.text((left - 11.0 - 1.2 * text_width(value), y), text, "end")
        canvas.line([(left - 7.0, y), (left - 2.0, true), (left, true)], 0.2)
