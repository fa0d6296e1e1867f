"""The far ends of the beds of a plan that has been run."""

from __future__ import annotations

from aquacalc.hydraulics.far_end import LAGS, FarEnd, far_end
from aquacalc.plan.model import Bed
from aquacalc.results.cycle import SystemCycle


def far_ends(run: SystemCycle, bed: Bed) -> tuple[FarEnd, FarEnd] | None:
    """Return the far end of a bed when its siphon breaks and at its lowest; None where it does not drain."""
    plan, node = run.plan, run.node(bed.name)
    group = run.group(node.group)
    if group.outcome != "cycles" or bed.media.grain_smallest <= 0.0:
        return None
    shares = sum(b.inflow_share for b in plan.beds)
    part = run.shares[bed.name]
    steady = run.pump * bed.inflow_share / shares
    at_break = far_end(plan, bed, part * group.flow_break, node.at_break, spread=True)
    return at_break, far_end(plan, bed, steady, node.low, spread=False)


def lags(run: SystemCycle, bed: Bed, at_break: FarEnd) -> bool:
    """Whether the media of a bed levels out too slowly for what is said of a steady flow to hold."""
    return at_break.settles > LAGS * run.group(run.node(bed.name).group).drain_time
