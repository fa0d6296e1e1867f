"""Kernels: level from volume, and flow from head as tables on a logarithmic grid.

Friction is iterated to convergence once per grid point; in time the flow is
read off a cubic through value and slope, which stays within 0.05 % of the full
solution where laminar and turbulent flow join, and far closer elsewhere (a
test holds it there).
"""

from __future__ import annotations

import math

from aquacalc.flow.deck import (
    CELL,
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
from aquacalc.formulas import piece_loss

#: The slope of a loss is taken to a flow this much higher.
SLOPE_STEP = 1.000001
SLOPE_LOG = math.log(SLOPE_STEP)


def path_loss(F, at, pieces, Q):
    """Head (m) lost along a path of `pieces` pieces that start at `F[at]`, at flow `Q` (m3/s)."""
    g = F[F_GRAVITY]
    nu = F[F_VISCOSITY]
    total = 0.0
    for k in range(pieces):
        p = at + PIECE * k
        total += piece_loss(Q, F[p], F[p + 1], F[p + 2], F[p + 3], F[p + 4], nu, g)
    return total


def path_flow(F, at, pieces, head, guess):
    """Flow (m3/s) at which a path loses `head` (m), and d ln flow / d ln head there.

    Newton on logarithms from `guess`. The slope of the loss comes from a flow
    one part in a million higher, which leaves the root itself exact.
    """
    target = math.log(head)
    x = math.log(guess)
    slope = 0.55
    for _ in range(60):
        flow = math.exp(x)
        here = math.log(path_loss(F, at, pieces, flow))
        beyond = math.log(path_loss(F, at, pieces, flow * SLOPE_STEP))
        slope = SLOPE_LOG / (beyond - here)
        move = (target - here) * slope
        x += move
        if abs(move) < 1e-9:
            break
    return math.exp(x), slope


def fill_table(F, at, pieces, W, table):
    """Write the flow table of a path into `W` from `table` on."""
    area = F[at]
    for k in range(1, pieces):
        area = min(area, F[at + PIECE * k])
    guess = area * 1e-4
    for k in range(TABLE_POINTS):
        head = math.exp(TABLE_LOG_FIRST + TABLE_LOG_STEP * k)
        flow, slope = path_flow(F, at, pieces, head, guess)
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


def level_of(F, cells, count, V, hint):
    """Level (m), plan area (m2) and cell of a storage that holds `V` (m3).

    Each cell is a cubic in height through the volumes and areas at its ends;
    below the first and above the last the end area goes on.
    """
    k = hint
    while k < count - 1 and F[cells + CELL * k + 3] < V:
        k += 1
    while k > 0 and F[cells + CELL * k + 2] > V:
        k -= 1
    p = cells + CELL * k
    z0 = F[p]
    V0 = F[p + 2]
    A0 = F[p + 4]
    if V <= V0:
        return z0 + (V - V0) / A0, A0, k
    V1 = F[p + 3]
    A1 = F[p + 5]
    if V >= V1:
        return F[p + 1] + (V - V1) / A1, A1, k
    dz = F[p + 1] - z0
    rise = V1 - V0
    a0 = A0 * dz
    a1 = A1 * dz
    s = (V - V0) / rise
    c2 = 3.0 * rise - 2.0 * a0 - a1
    c3 = a0 + a1 - 2.0 * rise
    if abs(c2) + abs(c3) > 1e-13 * rise:
        for _ in range(40):
            error = s * (a0 + s * (c2 + s * c3)) - (V - V0)
            slope = a0 + s * (2.0 * c2 + 3.0 * s * c3)
            s -= error / slope
            if s < 0.0:
                s = 0.0
            elif s > 1.0:
                s = 1.0
            if abs(error) <= 1e-14 * V1:
                break
    return z0 + s * dz, (a0 + s * (2.0 * c2 + 3.0 * s * c3)) / dz, k


def volume_of(F, cells, count, z):
    """Volume (m3) of a storage filled to level `z` (m)."""
    k = 0
    while k < count - 1 and z > F[cells + CELL * k + 1]:
        k += 1
    p = cells + CELL * k
    z0 = F[p]
    z1 = F[p + 1]
    if z <= z0:
        return F[p + 2] + F[p + 4] * (z - z0)
    if z >= z1:
        return F[p + 3] + F[p + 5] * (z - z1)
    dz = z1 - z0
    s = (z - z0) / dz
    rise = F[p + 3] - F[p + 2]
    a0 = F[p + 4] * dz
    a1 = F[p + 5] * dz
    return F[p + 2] + s * (a0 + s * (3.0 * rise - 2.0 * a0 - a1 + s * (a0 + a1 - 2.0 * rise)))


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
    low = 0.0
    high = F[curve + 2 * (points - 1)]
    if pump_head(F, curve, points, 0.0) <= lift:
        return 0.0
    if pump_head(F, curve, points, high) - lift - path_loss(F, I[I_PUMP_PATH], I[I_PUMP_PIECES], high) >= 0.0:
        return high
    for _ in range(60):
        mid = 0.5 * (low + high)
        left = pump_head(F, curve, points, mid) - lift
        if left > path_loss(F, I[I_PUMP_PATH], I[I_PUMP_PIECES], mid):
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
