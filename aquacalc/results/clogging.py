"""How much of a strainer's openings may clog before a plan does something else."""

from __future__ import annotations

import math

from aquacalc.equations.formulas import water_kinematic_viscosity
from aquacalc.geometry.strainers import outlet_level
from aquacalc.hydraulics.paths import run_path
from aquacalc.hydraulics.stopping import break_level
from aquacalc.plan.model import Bed
from aquacalc.results.cycle import SystemCycle


def may_clog(run: SystemCycle, bed: Bed) -> float | None:
    """Share of the strainer's openings of a bed that may clog before it keeps too much water or overflows.

    The bed has to give its part of the siphon's flow at the break with the water no higher than may stay
    in it, and to pass its inflow below its rim. By the losses of its way alone: no plan is run.
    None where it does not drain, has no strainer, or has no room even with every opening clear.
    """
    plan, node = run.plan, run.node(bed.name)
    group = run.group(node.group)
    if bed.strainer is None or group.outcome != "cycles" or plan.run_from(bed.name) is None:
        return None
    viscosity = water_kinematic_viscosity(plan.water_temperature)
    shares, siphon = run.drains, plan.siphon(group.name)
    strainer, *rest = run_path(plan, plan.run_from(bed.name))
    draining = shares[bed.name] * group.flow_break
    lost, at = sum(p.loss(draining, viscosity) for p in rest), plan.run_from(bed.name).to
    lowest = plan.run_from(bed.name).outfall
    while plan.run_from(at) is not None:
        onward = plan.run_from(at)
        lost += run_path(plan, onward)[-1].loss(shares[at] * group.flow_break, viscosity)
        lowest, at = max(lowest, onward.outfall), onward.to
    allowed = outlet_level(plan, bed) + plan.limits.residual
    inflow = run.pump * bed.inflow_share / sum(b.inflow_share for b in plan.beds)
    least = 1.0
    for flow, room in (
        (draining, allowed - max(break_level(plan, siphon), lowest) - lost),
        (inflow, bed.rim - node.high),
    ):
        now = strainer.loss(flow, viscosity)
        if room + now <= 0.0:
            return None
        if now > 0.0:
            open_part = math.sqrt(now / (room + (now if flow == inflow else 0.0))) if room > 0.0 else 1.0
            least = min(least, 1.0 - open_part)
    return max(least, 0.0)
