"""The state of a plan at one moment: levels, regimes and flows."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field

from aquacalc.hydraulics.levels import drained_sump_level, start_level
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan.model import Plan
from aquacalc.plan.network import order
from aquacalc.results.cycle import SystemCycle

#: Less than this in a pipe (m3/s) is none.
STILL = 1e-7


@dataclass(frozen=True)
class Moment:
    """What a plan does at one moment.

    Attributes
    ----------
    t : float or None
        Time in the trace, s; None at rest.
    levels : dict of str to float
        By vessel and tee, m.
    regime : dict of str to str
        By siphon: "filling", "spilling", "priming", "siphoning" or "at rest".
    outflow : dict of str to float
        By siphon, m3/s.
    pump : float
        Its flow, m3/s.
    runs : dict of str to float
        Flow in the run out of each bed and tee, m3/s; negative where it flows back.
    """

    t: float | None
    levels: dict[str, float]
    regime: dict[str, str]
    outflow: dict[str, float]
    pump: float
    runs: dict[str, float] = field(default_factory=dict)


def moment(plan: Plan, run: SystemCycle | None, t: float | None) -> Moment:
    """State at time `t` of the run's trace; drained and at rest without a run."""
    names = [*(v.name for v in plan.vessels), *(tee.name for tee in plan.tees)]
    if run is None or run.trace is None:
        levels = {name: start_level(plan, name) for name in names}
        levels[plan.sump.name] = drained_sump_level(plan)
        still = {s.name: "at rest" for s in plan.siphons}
        return Moment(None, levels, still, dict.fromkeys(still, 0.0), 0.0)
    trace = run.trace
    if t is None:
        t = fullest(run, plan.siphons[0].name)
    k = min(max(bisect_right(trace.times, t) - 1, 0), len(trace.times) - 1)
    levels = {name: trace.level(name, t) for name in (*names, plan.sump.name)}
    part = 0.0
    if k + 1 < len(trace.times) and trace.times[k + 1] > trace.times[k]:
        part = min(max((t - trace.times[k]) / (trace.times[k + 1] - trace.times[k]), 0.0), 1.0)
    rates = {
        name: rows[k] + part * (rows[min(k + 1, len(rows) - 1)] - rows[k])
        for name, rows in trace.rates.items()
    }
    return Moment(
        t,
        levels,
        {name: rows[k] for name, rows in trace.regime.items()},
        {name: rows[k] for name, rows in trace.outflow.items()},
        trace.pump[k],
        run_flows(areas(plan), inlets(plan), levels, rates, trace.pump[k]),
    )


def areas(plan: Plan) -> dict[str, list[tuple[float, float]]]:
    """Water surface (m2) of each bed against elevation (m), media and what stands in it taken off."""
    found = {}
    for bed in plan.beds:
        cells = vessel_cells(plan, bed)
        ends = zip(cells.z0, cells.z1, cells.A0, cells.A1, strict=True)
        found[bed.name] = [at for z0, z1, a0, a1 in ends for at in ((z0, a0), (z1, a1))]
    return found


def inlets(plan: Plan) -> list[tuple[str, float, list[str]]]:
    """Each start of a run, upstream first: its part of the pump's flow, and the runs that lead to it."""
    whole = sum(bed.inflow_share for bed in plan.beds)
    shares = {bed.name: bed.inflow_share / whole for bed in plan.beds}
    return [
        (name, shares.get(name, 0.0), [run.start for run in plan.runs if run.to == name])
        for name, _ in order(plan)
        if plan.run_from(name) is not None
    ]


def run_flows(
    areas: dict[str, list[tuple[float, float]]],
    inlets: list[tuple[str, float, list[str]]],
    levels: dict[str, float],
    rates: dict[str, float],
    pump: float,
) -> dict[str, float]:
    """Flow (m3/s) in the run out of each bed and tee: what comes in, less what the level takes up.

    `areas` and `inlets` are as the functions of these names give them; `levels` in m, `rates` in m/s,
    `pump` in m3/s.
    """
    flows: dict[str, float] = {}
    for name, share, before in inlets:
        flow = share * pump + sum(flows[run] for run in before)
        if name in areas:
            flow -= _between(areas[name], levels[name]) * rates[name]
        flows[name] = flow if abs(flow) > STILL else 0.0
    return flows


def _between(points: list[tuple[float, float]], z: float) -> float:
    """Value at `z` of a line through `points`, which goes on level beyond its ends."""
    below = points[0]
    for above in points:
        if above[0] >= z:
            rise = above[0] - below[0]
            return above[1] if rise <= 0.0 else below[1] + (above[1] - below[1]) * (z - below[0]) / rise
        below = above
    return below[1]


def fullest(run: SystemCycle, name: str) -> float:
    """Time (s) at which a siphon has just begun to run full; the end of a run that does not cycle."""
    group = run.group(name)
    if group.outcome != "cycles":
        return run.duration
    return group.began + group.fill_time + group.spill_time + group.priming_time
