"""Kernels: flow through each run from the levels at its ends, and over a lip."""

from __future__ import annotations

import math

from aquacalc.engine.state import MOUTH_FULL, MOUTH_LOG_FIRST, MOUTH_LOG_STEP, MOUTH_POINTS
from aquacalc.engine.tables import table_flow
from aquacalc.equations.formulas import lip_crossing

#: Weir coefficient of a pipe's end that faces up, into which a bed's last water falls: a lip's (King County,
#: from memory).
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


def mouth_flow(plan, table, D, level):
    """Flow (m3/s) into a level pipe's mouth of bore `D` (m), `level` (m) over its invert; slope (m2/s)."""
    if not level > 0.0:  # true of no number too
        return 0.0, 0.0
    scale = math.sqrt(plan.gravity * D) * D * D
    x = math.log(level / D)
    first = MOUTH_POINTS * table
    last = first + MOUTH_POINTS - 1
    if x >= 0.0:
        flow = scale * math.exp(plan.mouth_flow[last] + MOUTH_FULL * x)
        return flow, MOUTH_FULL * flow / level
    x = (x - MOUTH_LOG_FIRST) / MOUTH_LOG_STEP
    if x <= 0.0:
        flow = scale * math.exp(plan.mouth_flow[first] + plan.mouth_slope[first] * x * MOUTH_LOG_STEP)
        return flow, flow / level * plan.mouth_slope[first]
    k = min(int(x), MOUTH_POINTS - 2)
    t = x - k
    k += first
    m0 = plan.mouth_slope[k] * MOUTH_LOG_STEP
    m1 = plan.mouth_slope[k + 1] * MOUTH_LOG_STEP
    rise = plan.mouth_flow[k + 1] - plan.mouth_flow[k]
    c2 = 3.0 * rise - 2.0 * m0 - m1
    c3 = m0 + m1 - 2.0 * rise
    flow = scale * math.exp(plan.mouth_flow[k] + t * (m0 + t * (c2 + t * c3)))
    return flow, flow / level * (m0 + t * (2.0 * c2 + t * 3.0 * c3)) / MOUTH_LOG_STEP


def run_flow(plan, state, i):
    """Flow (m3/s) through the run out of node `i` and its slopes with the levels at both ends (m2/s).

    The head between the levels drives it, but no more goes in than the mouth
    takes with a free surface, at the higher invert of the two. A pipe's end
    that faces up takes what flows over its edge as a weir. A covered mouth
    takes more than one just covered, so that its limit is seldom worked out.
    """
    z_up = state.level[i]
    z_down = state.level[plan.parent[i]]
    inlet = plan.inlet[i]
    outfall = plan.outfall[i]
    step = max(inlet, outfall)
    table = max(plan.mouth[i], 0)
    wet_down = z_down > outfall
    head = z_up - (z_down if wet_down else outfall)
    if head > 0.0:
        over = z_up - (outfall if plan.mouth[i] < 0 else step)
        if not over > 0.0 or (plan.mouth[i] < 0 and z_up <= inlet):
            return 0.0, 0.0, 0.0
        flow, slope = table_flow(state, i, head)
        if over < plan.bore[i] or flow > state.covered[i]:
            limit, rise = mouth_flow(plan, table, plan.bore[i], over)
            if limit < flow:
                flow = limit
                slope = rise
                wet_down = False
        if plan.mouth[i] < 0:
            limit, rise = edge_flow(MOUTH_WEIR, plan.bore[i], z_up - inlet)
            if limit < flow:
                return limit, rise, 0.0
        return flow, slope, (-slope if wet_down else 0.0)
    wet_up = plan.junction[i] == 1 or z_up > inlet
    back = z_down - (z_up if wet_up else inlet)
    over = z_down - step
    if back <= 0.0 or not over > 0.0:
        return 0.0, 0.0, 0.0
    flow, slope = table_flow(state, i, back)
    if over < plan.bore[i] or flow > state.covered[i]:
        limit, rise = mouth_flow(plan, table, plan.bore[i], over)
        if limit < flow:
            return -limit, 0.0, -rise
    return -flow, (slope if wet_up else 0.0), -slope


def set_runs(plan, state, first):
    """Flows of the runs and net flow into every node; after the `first` pass only those at junctions."""
    parent = plan.parent
    junction = plan.junction
    flow = state.flow
    net = state.net
    for i in range(plan.nodes):
        net[i] = 0.0
    for i in range(plan.nodes):
        to = parent[i]
        if to < 0:
            continue
        if first or junction[i] == 1 or junction[to] == 1:
            q, a, b = run_flow(plan, state, i)
            flow[i] = q
            state.slope_up[i] = a
            state.slope_down[i] = b
        net[i] -= flow[i]
        net[to] += flow[i]
