"""Kernels: level from volume, and flow from head as tables on a logarithmic grid.

Friction is iterated to convergence once per grid point; in time the flow is
read off a cubic through value and slope, which stays within 0.05 % of the full
solution where laminar and turbulent flow join, and far closer elsewhere (a
test holds it there).
"""

from __future__ import annotations

import math

from aquacalc.engine.deck import (
    F_GRAVITY,
    F_PUMP_OUTLET,
    F_SUMP_FLOOR,
    F_SUMP_RIM,
    F_VISCOSITY,
    I_PUMP_CURVE,
    I_PUMP_PATH,
    I_PUMP_PIECES,
    I_PUMP_POINTS,
    PIECE,
    PUMP_POINTS,
    TABLE_FIRST,
    TABLE_LOG_FIRST,
    TABLE_LOG_STEP,
    TABLE_POINTS,
)
from aquacalc.hydraulics.path_flow import path_flow, path_loss


def fill_table(F, at, pieces, W, table):
    """Write the flow table of a path into `W` from `table` on."""
    area = F[at]
    for k in range(1, pieces):
        area = min(area, F[at + PIECE * k])
    guess = area * 1e-4
    for k in range(TABLE_POINTS):
        head = math.exp(TABLE_LOG_FIRST + TABLE_LOG_STEP * k)
        flow, slope = path_flow(F, at, pieces, head, guess, F[F_VISCOSITY], F[F_GRAVITY])
        W[table + 2 * k] = math.log(flow)
        W[table + 2 * k + 1] = slope
        guess = flow * math.exp(slope * TABLE_LOG_STEP)


def table_flow(W, table, head):
    """Flow (m3/s) and d flow / d head (m2/s) at `head` (m, > 0) from a flow table."""
    if head <= TABLE_FIRST:
        slope = math.exp(W[table]) / TABLE_FIRST
        return slope * head, slope
    x = (math.log(head) - TABLE_LOG_FIRST) / TABLE_LOG_STEP
    k = int(x)
    if k > TABLE_POINTS - 2:
        last = table + 2 * (TABLE_POINTS - 1)
        flow = math.exp(W[last] + W[last + 1] * (x - TABLE_POINTS + 1) * TABLE_LOG_STEP)
        return flow, flow / head * W[last + 1]
    t = x - k
    p = table + 2 * k
    m0 = W[p + 1] * TABLE_LOG_STEP
    m1 = W[p + 3] * TABLE_LOG_STEP
    rise = W[p + 2] - W[p]
    c2 = 3.0 * rise - 2.0 * m0 - m1
    c3 = m0 + m1 - 2.0 * rise
    flow = math.exp(W[p] + t * (m0 + t * (c2 + t * c3)))
    return flow, flow / head * (m0 + t * (2.0 * c2 + t * 3.0 * c3)) / TABLE_LOG_STEP


def pump_head(F, curve, points, Q):
    """Head (m) on a pump curve at `Q` (m3/s): straight lines between its points."""
    k = 0
    while k < points - 2 and F[curve + 2 * (k + 1)] < Q:
        k += 1
    q0 = F[curve + 2 * k]
    h0 = F[curve + 2 * k + 1]
    q1 = F[curve + 2 * k + 2]
    h1 = F[curve + 2 * k + 3]
    return h0 + (h1 - h0) * (Q - q0) / (q1 - q0)


def duty_flow(I, F, z_sump):
    """Flow (m3/s) at which pump curve and delivery pipe agree, for a sump level; 0 if it cannot lift."""
    curve = I[I_PUMP_CURVE]
    points = I[I_PUMP_POINTS]
    lift = F[F_PUMP_OUTLET] - z_sump
    nu = F[F_VISCOSITY]
    g = F[F_GRAVITY]
    low = 0.0
    high = F[curve + 2 * (points - 1)]
    if pump_head(F, curve, points, 0.0) <= lift:
        return 0.0
    path = I[I_PUMP_PATH]
    pieces = I[I_PUMP_PIECES]
    if pump_head(F, curve, points, high) - lift - path_loss(F, path, pieces, high, nu, g) >= 0.0:
        return high
    for _ in range(60):
        mid = 0.5 * (low + high)
        left = pump_head(F, curve, points, mid) - lift
        if left > path_loss(F, path, pieces, mid, nu, g):
            low = mid
        else:
            high = mid
        if high - low < 1e-14:
            break
    return 0.5 * (low + high)


def fill_pump_table(I, F, W, table):
    """Write the pump's flow at evenly spaced sump levels, floor to rim, into `W`."""
    bottom = F[F_SUMP_FLOOR]
    step = (F[F_SUMP_RIM] - bottom) / (PUMP_POINTS - 1)
    for k in range(PUMP_POINTS):
        W[table + k] = duty_flow(I, F, bottom + step * k)
