"""Kernels: flow through each run from the levels at its ends, and over a lip."""

from __future__ import annotations

import math

from aquacalc.engine.tables import table_flow
from aquacalc.equations.formulas import lip_crossing

#: Weir coefficient of a pipe mouth that a vessel's last water runs into: a lip's (King County, from memory).
MOUTH_WEIR = 1.71


def edge_flow(C_w, D, depth):
    """Flow (m3/s) over a level round edge `D` (m) under `depth` (m) as a weir, and its slope (m2/s)."""
    if depth <= 0.0:
        return 0.0, 0.0
    slope = 1.5 * C_w * math.pi * D * math.sqrt(depth)
    return slope * depth / 1.5, slope


def lip_flow_slope(C_w, C_d, D, depth, g):
    """Flow (m3/s) over a lip, weir or orifice, and its slope (m2/s)."""
    if depth < lip_crossing(C_w, C_d, g) * D:
        return edge_flow(C_w, D, depth)
    flow = C_d * 0.25 * math.pi * D * D * math.sqrt(2.0 * g * depth)
    return flow, 0.5 * flow / depth


def run_flow(plan, state, i, z_up, z_down):
    """Flow (m3/s) through the run out of node `i` and its slopes with the levels at both ends (m2/s).

    The head between the levels drives it; a bed that runs dry feeds no more
    than flows over the edge of the mouth as a weir. A junction stores nothing,
    so its head may fall below its invert.
    """
    junction = plan.junction[i] == 1
    inlet = plan.inlet[i]
    outfall = plan.outfall[i]
    wet_up = junction or z_up > inlet
    head_up = z_up if wet_up else inlet
    wet_down = z_down > outfall
    head_down = z_down if wet_down else outfall
    head = head_up - head_down
    if head > 0.0:
        if not wet_up:
            return 0.0, 0.0, 0.0
        flow, slope = table_flow(state, i, head)
        if not junction:
            limit, rise = edge_flow(MOUTH_WEIR, plan.bore[i], z_up - inlet)
            if limit < flow:
                return limit, rise, 0.0
        return flow, slope, (-slope if wet_down else 0.0)
    if not wet_down and not junction:
        return 0.0, 0.0, 0.0
    flow, slope = table_flow(state, i, max(-head, 1e-30))
    if not junction:
        limit, rise = edge_flow(MOUTH_WEIR, plan.bore[i], z_down - outfall)
        if limit < flow:
            return -limit, 0.0, -rise
    return -flow, (slope if wet_up else 0.0), (-slope if wet_down else 0.0)


def set_runs(plan, state, first):
    """Flows of the runs and net flow into every node; after the `first` pass only those at junctions."""
    parent = plan.parent
    junction = plan.junction
    level = state.level
    flow = state.flow
    net = state.net
    for i in range(plan.nodes):
        net[i] = 0.0
    for i in range(plan.nodes):
        to = parent[i]
        if to < 0:
            continue
        if first or junction[i] == 1 or junction[to] == 1:
            q, a, b = run_flow(plan, state, i, level[i], level[to])
            flow[i] = q
            state.slope_up[i] = a
            state.slope_down[i] = b
        net[i] -= flow[i]
        net[to] += flow[i]
