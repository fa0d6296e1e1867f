"""The state of a plan at one moment: levels, regimes and flows."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

from aquacalc.hydraulics.levels import drained_sump_level, start_level
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle


@dataclass(frozen=True)
class Moment:
    """Levels (m) by vessel and tee, regime and outflow (m3/s) by siphon, pump flow (m3/s) at `t` (s)."""

    t: float | None
    levels: dict[str, float]
    regime: dict[str, str]
    outflow: dict[str, float]
    pump: float


def moment(plan: Plan, run: SystemCycle | None, t: float | None) -> Moment:
    """State at time `t` of the run's trace; drained and at rest without a run."""
    names = [v.name for v in (*plan.beds, *plan.chambers, *plan.tees)]
    if run is None or run.trace is None:
        levels = {name: start_level(plan, name) for name in names}
        levels[plan.sump.name] = drained_sump_level(plan)
        still = {s.name: "at rest" for s in plan.siphons}
        return Moment(None, levels, still, dict.fromkeys(still, 0.0), 0.0)
    trace = run.trace
    if t is None:
        t = fullest(run, plan.siphons[0].name)
    k = min(max(bisect_right(trace.times, t) - 1, 0), len(trace.times) - 1)
    return Moment(
        t,
        {name: trace.level(name, t) for name in (*names, plan.sump.name)},
        {name: rows[k] for name, rows in trace.regime.items()},
        {name: rows[k] for name, rows in trace.outflow.items()},
        trace.pump[k],
    )


def fullest(run: SystemCycle, name: str) -> float:
    """Time (s) at which a siphon has just begun to run full; the end of a run that does not cycle."""
    group = run.group(name)
    if group.outcome != "cycles":
        return run.duration
    return group.began + group.fill_time + group.spill_time + group.priming_time
