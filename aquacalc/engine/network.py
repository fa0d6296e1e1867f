"""Kernels: levels, flows and rates of the whole plan from its state."""

from __future__ import annotations

from aquacalc.engine.deck import (
    F_GRAVITY,
    F_PUMP_FLOW,
    F_PUMP_GUARD,
    F_SUMP_FLOOR,
    F_SUMP_RIM,
    G_ROOT,
    GF_LIP,
    GF_LIP_DIAMETER,
    GF_LIP_ORIFICE,
    GF_LIP_WEIR,
    GF_TAIL,
    GROUP_FLOATS,
    GROUP_INTS,
    GROUP_WORK,
    GW_REGIME,
    HEADER_INTS,
    I_F_GROUPS,
    I_F_NODES,
    I_GROUPS,
    I_NODES,
    I_PUMP_POINTS,
    I_SUMP_CELLS,
    I_SUMP_COUNT,
    I_W_FLOW,
    I_W_GAIN,
    I_W_GROUP,
    I_W_HINT,
    I_W_LEVEL,
    I_W_NET,
    I_W_PUMP,
    I_W_RATE,
    I_W_SCALARS,
    I_W_SLOPE_DOWN,
    I_W_SLOPE_UP,
    I_W_TABLES,
    N_CELL_COUNT,
    N_CELLS,
    N_JUNCTION,
    NF_SHARE,
    NODE_FLOATS,
    NODE_INTS,
    PUMP_POINTS,
    S_PUMP,
    S_PUMP_SLOPE,
    SIPHONING,
    TABLE_POINTS,
)
from aquacalc.engine.junctions import balance_junctions
from aquacalc.engine.runs import lip_flow_slope, set_runs
from aquacalc.engine.tables import table_flow
from aquacalc.hydraulics.cells import level_of

#: The pump loses its flow over this much of sump level, m.
PUMP_GUARD_BAND = 0.002


def pump_flow(I, F, W, z_sump):
    """Pump flow (m3/s) and its slope with sump level (m2/s); none when the intake draws air."""
    if I[I_PUMP_POINTS] == 0:
        flow = F[F_PUMP_FLOW]
        slope = 0.0
    else:
        step = (F[F_SUMP_RIM] - F[F_SUMP_FLOOR]) / (PUMP_POINTS - 1)
        x = (z_sump - F[F_SUMP_FLOOR]) / step
        k = min(max(int(x), 0), PUMP_POINTS - 2)
        p = I[I_W_PUMP] + k
        slope = (W[p + 1] - W[p]) / step
        flow = W[p] + slope * step * (x - k)
    cover = (z_sump - F[F_PUMP_GUARD]) / PUMP_GUARD_BAND
    if cover >= 1.0:
        return flow, slope
    if cover <= 0.0:
        return 0.0, 0.0
    return flow * cover, slope * cover + flow / PUMP_GUARD_BAND


def set_levels(I, F, W, y):
    """Levels and their gain per unit of state from the state that starts at `W[y]`."""
    n = I[I_NODES]
    level = I[I_W_LEVEL]
    gain = I[I_W_GAIN]
    hint = I[I_W_HINT]
    for i in range(n + 1):
        if i == n:
            cells = I[I_SUMP_CELLS]
            count = I[I_SUMP_COUNT]
        else:
            ni = HEADER_INTS + NODE_INTS * i
            if I[ni + N_JUNCTION] == 1:
                W[level + i] = W[y + i]
                W[gain + i] = 1.0
                continue
            cells = I[ni + N_CELLS]
            count = I[ni + N_CELL_COUNT]
        z, A, k = level_of(F, cells, count, W[y + i], int(W[hint + i]))
        W[level + i] = z
        W[gain + i] = 1.0 / A
        W[hint + i] = k


def set_flows(I, F, W, y):
    """Flows, their slopes and dy/dt for the state that starts at `W[y]`, junctions balanced."""
    set_levels(I, F, W, y)
    n = I[I_NODES]
    groups = I[I_GROUPS]
    level = I[I_W_LEVEL]
    flow = I[I_W_FLOW]
    up = I[I_W_SLOPE_UP]
    down = I[I_W_SLOPE_DOWN]
    rate = I[I_W_RATE]
    s = I[I_W_SCALARS]
    z_sump = W[level + n]
    pumped, pump_slope = pump_flow(I, F, W, z_sump)
    W[s + S_PUMP] = pumped
    W[s + S_PUMP_SLOPE] = pump_slope
    set_runs(I, F, W, True)
    balance_junctions(I, F, W, y)
    for i in range(n):
        W[rate + i] = W[I[I_W_NET] + i] + F[I[I_F_NODES] + NODE_FLOATS * i + NF_SHARE] * pumped
    W[rate + n] = -pumped
    for j in range(groups):
        root = I[HEADER_INTS + NODE_INTS * n + GROUP_INTS * j + G_ROOT]
        gf = I[I_F_GROUPS] + GROUP_FLOATS * j
        z = W[level + root]
        b = 0.0
        if W[I[I_W_GROUP] + GROUP_WORK * j + GW_REGIME] == SIPHONING:
            drowned = z_sump > F[gf + GF_TAIL]
            head = z - (z_sump if drowned else F[gf + GF_TAIL])
            q = 0.0
            a = 0.0
            if head > 0.0:
                q, a = table_flow(W, I[I_W_TABLES] + 2 * TABLE_POINTS * (n + j), head)
                if drowned:
                    b = -a
        else:
            q, a = lip_flow_slope(
                F[gf + GF_LIP_WEIR],
                F[gf + GF_LIP_ORIFICE],
                F[gf + GF_LIP_DIAMETER],
                z - F[gf + GF_LIP],
                F[F_GRAVITY],
            )
        W[flow + root] = q
        W[up + root] = a
        W[down + root] = b
        W[rate + root] -= q
        W[rate + n] += q
        W[rate + n + 1 + j] = q
    W[rate + n + 1 + groups] = pumped
