"""Floods an hour against the pump's flow: more pump is not always more floods."""

from __future__ import annotations

from dataclasses import replace

from aquacalc.figures import style as s
from aquacalc.figures.picture import Picture
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import run_plan
from aquacalc.units import in_unit

HEIGHT, LEFT, TOP, ACROSS, TALL = 320.0, 80.0, 30.0, 720.0, 220.0
#: Flows drawn, as parts of what the siphon carries on average.
PARTS = (0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.86, 0.9, 0.94, 0.97)


def floods(plan: Plan, system: str) -> Picture:
    """Draw how often a plan floods at each flow of its pump.

    Parameters
    ----------
    plan : Plan
        Its siphon cycles.
    system : {"metric", "us"}

    Returns
    -------
    Picture
    """
    group = run_plan(plan, trace=False).groups[0]
    mean = group.drained / group.drain_time
    points = []
    for part in PARTS:
        pump = replace(plan.pump, flow=part * mean, curve=())
        period = run_plan(replace(plan, pump=pump), trace=False).groups[0].period
        points.append((part * mean, 3600.0 / period if period else 0.0))
    figure = s.new_figure(HEIGHT)
    axes = s.place(figure, LEFT, TOP, ACROSS, TALL)
    shown = [in_unit(flow, "flow", system)[0] for flow, _ in points]
    often = [count for _, count in points]
    axes.plot(shown, often, color=s.SERIES[0], lw=2.0, marker="o", ms=4.0)
    unit = in_unit(0.0, "flow", system)[1]
    axes.set_xlim(0.0, 1.05 * shown[-1])
    axes.set_ylim(0.0, 1.25 * max(often))
    axes.set_xlabel(f"flow of the pump ({unit})", fontsize=s.SMALL, fontfamily=s.FAMILY)
    axes.set_ylabel("floods an hour", fontsize=s.SMALL, fontfamily=s.FAMILY)
    most = max(range(len(often)), key=often.__getitem__)
    s.write(axes, shown[most], often[most] + 0.08 * max(often), "most floods", s.TEXT, ha="center")
    if 0.0 in often:
        never = shown[often.index(0.0)]
        s.write(axes, never, 0.08 * max(often), "never stops, never floods again", s.TEXT)
    flow, count = s.value(points[most][0], "flow", system), often[most]
    last = s.value(points[-1][0], "flow", system)
    ends = "none" if often[-1] == 0.0 else f"{often[-1]:.1f}"
    alt = (
        f"Floods an hour of {plan.name} against the flow of its pump: {often[0]:.1f} at "
        f"{s.value(points[0][0], 'flow', system)}, most at {flow} with {count:.1f}, and {ends} at {last}."
    )
    return Picture(figure, alt)
