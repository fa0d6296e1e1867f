"""Pictures of a live page as SVG, drawn alike in Python and by the page: levels in a cycle, inflow window.

They are drawn for a width in CSS pixels, so that words stay as large on a phone as on a desk.
"""

from __future__ import annotations

import math
from html import escape

from aquacalc.figures.inflow_window import ZONES, zones
from aquacalc.figures.vector import nice_ticks, spread
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import Window
from aquacalc.units import in_unit, show, typeset

#: Dashes of the lines, so that they are told apart without colour.
DASHES = ("", "7 3", "2 2.5", "9 3 2 3", "4 4", "12 4")
#: Most points of a line.
POINTS = 240
HEIGHT = 260.0
ROW = 15.0


def levels(run: SystemCycle, width: float) -> str:
    """Draw the levels of beds, chambers and sump over one cycle, as wide as `width` (px)."""
    plan, trace = run.plan, run.trace
    system = plan.units
    start, end = run.one_cycle(plan.siphons[0].name)
    names = [*(n.name for n in run.nodes if not n.junction), plan.sump.name]
    rows = [k for k, t in enumerate(trace.times) if start <= t <= end]
    every = max(1, math.ceil(len(rows) / POINTS))
    rows = [k for i, k in enumerate(rows) if i % every == 0 or i == len(rows) - 1]
    lips = [(f"lip, {s.name}", plan.lip_level(s)) for s in plan.siphons]
    if not rows:
        return ""
    shown = [trace.levels[name][k] for name in names for k in rows]
    shown += [level for _, level in lips]
    low, high = min(shown), max(shown)
    high = max(high, low + 0.01)
    left, right, top, foot = 46.0, 108.0, 24.0, HEIGHT - 36.0
    wide = width - left - right

    def x(t: float) -> float:
        return left + wide * (t - start) / max(end - start, 1e-9)

    def y(z: float) -> float:
        return foot - (foot - top) * (z - low) / (high - low)

    unit = in_unit(0.0, "elevation", system)[1]
    per = in_unit(1.0, "elevation", system)[0]
    parts = [f'<text x="0" y="12">level, {unit}</text>']
    for value in nice_ticks(low * per, high * per, 7):
        at = y(value / per)
        number = typeset(f"{value:.2f}" if system == "metric" else f"{value:.0f}")
        parts.append(f'<path class="grid" d="M{left:.1f} {at:.1f}h{wide:.1f}"/>')
        parts.append(f'<text class="end" x="{left - 5.0:.1f}" y="{at + 4.0:.1f}">{number}</text>')
    minutes = (end - start) / 60.0
    for value in nice_ticks(0.0, minutes, 5 if wide < 300.0 else 8):
        at = x(start + 60.0 * value)
        parts.append(f'<path class="grid" d="M{at:.1f} {foot:.1f}v4"/>')
        parts.append(f'<text class="mid" x="{at:.1f}" y="{foot + 17.0:.1f}">{value:g}</text>')
    parts.append(f'<text class="mid" x="{left + 0.5 * wide:.1f}" y="{HEIGHT - 4.0:.1f}">minutes</text>')
    for _, level in lips:
        parts.append(f'<path class="mark" d="M{left:.1f} {y(level):.1f}h{wide:.1f}"/>')
    ends = [(y(level), name, -1) for name, level in lips]
    for i, name in enumerate(names):
        line = trace.levels[name]
        path = " ".join(f"{x(trace.times[k]):.1f},{y(line[k]):.1f}" for k in rows)
        dash = DASHES[i % len(DASHES)]
        parts.append(f'<polyline class="line c{i % 6}" stroke-dasharray="{dash}" points="{path}"/>')
        ends.append((y(line[rows[-1]]), name, i))
    ends = sorted(ends)
    for at, (was, name, i) in zip(
        spread([e[0] for e in ends], [ROW] * len(ends), top - ROW, foot + ROW), ends, strict=True
    ):
        text = name if len(name) < 15 else f"{name[:8]}…{name[-5:]}"  # names differ at their ends
        kind = f"c{i % 6}" if i >= 0 else "soft"
        far = left + wide
        parts.append(f'<path class="lead" d="M{far:.1f} {was:.1f}l10 {at - was:.1f}"/>')
        parts.append(f'<text class="{kind}" x="{far + 13.0:.1f}" y="{at + 4.0:.1f}">{escape(text)}</text>')
    said = "; ".join(
        f"{n.name} {show(n.low, 'elevation', system)} to {show(n.high, 'elevation', system)}"
        for n in run.nodes
        if not n.junction
    )
    alt = typeset(f"Levels over {show(end - start, 'time', system)}: {said}.")
    return _svg(width, HEIGHT, alt, parts)


def window(found: Window, plan: Plan, width: float) -> str:
    """Draw the inflows at which a siphon starts and stops as a bar `width` (px) wide, with today's."""
    system = plan.units
    high = 1.12 * max(found.stop, found.start_high, found.today_high)
    left, right = 12.0, 12.0
    wide, top, tall = width - left - right, 46.0, 30.0

    def x(flow: float) -> float:
        return left + wide * min(flow / high, 1.0)

    parts, names = [], []
    for low, end, sure in zones(found, high):
        name, _, hatch = ZONES[sure]
        kind = "sure" if sure == ("yes", "yes") else "never" if "no" in sure else "may"
        parts.append(
            f'<rect class="{kind}" x="{x(low):.1f}" y="{top}" width="{x(end) - x(low):.1f}" height="{tall}"/>'
        )
        if hatch:
            d = " ".join(
                f"M{at:.1f} {top + tall}l8 -{tall}" for at in _every(x(low) + 2.0, x(end) - 9.0, 9.0)
            )
            parts.append(f'<path class="hatch" d="{d}"/>')
        names.append((name, low, end))
    at = x(found.today)
    today = f"now {show(found.today, 'flow', system)}"
    side = "start" if at < 0.35 * width else "end" if at > 0.65 * width else "mid"
    parts.append(f'<path class="today" d="M{at:.1f} {top - 12.0}v{tall + 18.0}"/>')
    parts.append(f'<text class="{side} strong" x="{at:.1f}" y="{top - 18.0}">{today}</text>')
    unit = in_unit(0.0, "flow", system)[1]
    per = in_unit(1.0, "flow", system)[0]
    for value in nice_ticks(0.0, high * per, 5 if width < 420.0 else 9):
        parts.append(f'<path class="grid" d="M{x(value / per):.1f} {top + tall}v5"/>')
        parts.append(f'<text class="mid" x="{x(value / per):.1f}" y="{top + tall + 18.0}">{value:g}</text>')
    parts.append(f'<text class="mid" x="{0.5 * width:.1f}" y="{top + tall + 34.0}">inflow, {unit}</text>')
    said = "; ".join(
        f"{name} from {show(low, 'flow', system, 2)} to {show(end, 'flow', system, 2)}"
        for name, low, end in names
    )
    picture = _svg(width, top + tall + 38.0, f"{said}; {today}.", parts)
    return f"<figure>{picture}<figcaption>{escape(f'{found.siphon}: {said}.')}</figcaption></figure>"


def _every(low: float, high: float, step: float) -> list[float]:
    return [low + step * k for k in range(max(0, math.floor((high - low) / step) + 1))]


def _svg(width: float, height: float, alt: str, parts: list[str]) -> str:
    return (
        f'<svg class="chart" role="img" aria-label="{escape(alt)}" viewBox="0 0 {width:.0f} {height:.0f}" '
        f'width="{width:.0f}" height="{height:.0f}">{"".join(parts)}</svg>'
    )
