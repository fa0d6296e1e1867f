"""Floods an hour against the pump's flow: more pump is not always more floods."""

from __future__ import annotations

from dataclasses import replace

from aquacalc.figures.chart import WIDTH, Axes, shown
from aquacalc.figures.vector import Drawing, Drawn
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import run_plan

HEIGHT, LEFT, TOP, ACROSS, TALL = 330.0, 80.0, 30.0, WIDTH - 120.0, 240.0
#: Flows drawn, as parts of what the siphon carries on average.
PARTS = (0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.55, 0.6, 0.64, 0.68, 0.72, 0.8, 0.9)
HOUR = 3600.0


def floods(plan: Plan, system: str) -> Drawn:
    """Draw how often a plan floods at each flow of its pump.

    Parameters
    ----------
    plan : Plan
        Its siphon cycles.
    system : {"metric", "us"}

    Returns
    -------
    Drawn
    """
    group = run_plan(plan, trace=False).groups[0]
    mean, points = group.drained / group.drain_time, []
    for part in PARTS:
        pump = replace(plan.pump, flow=part * mean, curve=())
        period = run_plan(replace(plan, pump=pump), trace=False).groups[0].period
        points.append((part * mean, HOUR / period if period else 0.0))
    most, often = max(points, key=lambda point: point[1])
    d = Drawing(WIDTH, HEIGHT)
    axes = Axes(d, LEFT, TOP, ACROSS, TALL, (0.0, 1.05 * points[-1][0]), (0.0, 1.25 * often))
    axes.scale_x("flow", system, "flow of the pump", 10)
    axes.scale_y("number", system, "floods an hour", 6)
    d.path(axes.at(points), "curve blue")
    d.text(axes.x(most), axes.y(often) - 14.0, "most floods", "m b")
    never = next((flow for flow, count in points if count == 0.0), None)
    if never is not None:
        d.text(LEFT + ACROSS, axes.y(0.0) - 16.0, "never stops, never floods again", "b e")
    end = "none" if never is not None else f"{points[-1][1]:.1f}"
    first, best, last = (shown(flow, "flow", system) for flow in (points[0][0], most, points[-1][0]))
    d.alt = (
        f"Floods an hour of {plan.name} against the flow of its pump: {points[0][1]:.1f} at {first}, most at "
        f"{best} with {often:.1f}, and {end} at {last}."
    )
    return Drawn((d,), d.alt)
