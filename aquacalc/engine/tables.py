"""Kernels: flow from head, and the pump's flow from the sump's level, as tables.

Friction is iterated to convergence once per grid point; in time the flow is
read off a cubic through value and slope, which stays within 0.05 % of the full
solution where laminar and turbulent flow join, and far closer elsewhere (a
test holds it there).
"""

from __future__ import annotations

import math

from aquacalc.engine.state import PUMP_POINTS, TABLE_FIRST, TABLE_LOG_FIRST, TABLE_LOG_STEP, TABLE_POINTS
from aquacalc.hydraulics.duty import duty_flow
from aquacalc.hydraulics.path_flow import path_flow


def fill_table(plan, state, path):
    """Work out the flows of a path at the heads of its table."""
    first = plan.first_piece[path]
    end = plan.end_piece[path]
    area = plan.pieces.area[first]
    for k in range(first + 1, end):
        area = min(area, plan.pieces.area[k])
    guess = area * 1e-4
    for k in range(TABLE_POINTS):
        head = math.exp(TABLE_LOG_FIRST + TABLE_LOG_STEP * k)
        flow, slope = path_flow(plan.pieces, first, end, head, guess, plan.viscosity, plan.gravity)
        state.log_flow[TABLE_POINTS * path + k] = math.log(flow)
        state.log_slope[TABLE_POINTS * path + k] = slope
        guess = flow * math.exp(slope * TABLE_LOG_STEP)


def table_flow(state, path, head):
    """Flow (m3/s) and d flow / d head (m2/s) at `head` (m, > 0) from the table of a path."""
    log_flow = state.log_flow
    log_slope = state.log_slope
    p = TABLE_POINTS * path
    if head <= TABLE_FIRST:
        slope = math.exp(log_flow[p]) / TABLE_FIRST
        return slope * head, slope
    x = (math.log(head) - TABLE_LOG_FIRST) / TABLE_LOG_STEP
    k = int(x)
    if k > TABLE_POINTS - 2:
        p += TABLE_POINTS - 1
        flow = math.exp(log_flow[p] + log_slope[p] * (x - TABLE_POINTS + 1) * TABLE_LOG_STEP)
        return flow, flow / head * log_slope[p]
    t = x - k
    p += k
    m0 = log_slope[p] * TABLE_LOG_STEP
    m1 = log_slope[p + 1] * TABLE_LOG_STEP
    rise = log_flow[p + 1] - log_flow[p]
    c2 = 3.0 * rise - 2.0 * m0 - m1
    c3 = m0 + m1 - 2.0 * rise
    flow = math.exp(log_flow[p] + t * (m0 + t * (c2 + t * c3)))
    return flow, flow / head * (m0 + t * (2.0 * c2 + t * 3.0 * c3)) / TABLE_LOG_STEP


def fill_pump_table(plan, state):
    """Work out the pump's flow at evenly spaced sump levels, floor to rim."""
    path = plan.nodes + 2 * plan.siphons
    step = (plan.sump_rim - plan.sump_floor) / (PUMP_POINTS - 1)
    for k in range(PUMP_POINTS):
        state.pump_table[k] = duty_flow(
            plan.curve_flow,
            plan.curve_head,
            plan.pieces,
            plan.first_piece[path],
            plan.end_piece[path],
            plan.pump_outlet - (plan.sump_floor + step * k),
            plan.viscosity,
            plan.gravity,
        )
