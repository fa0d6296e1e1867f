"""Kernels: flows from levels over a forest of storages and junctions, and the linear solve on it.

Nodes stand children before parents, so that one pass down and one pass up
eliminate the whole network without fill-in; the sump couples to every bed
(pump) and every siphon (drowned tail) and is carried as a border.
"""

from __future__ import annotations

import math

from aquacalc.flow.deck import (
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
    GW_DOWN,
    GW_DOWN_SUMP,
    GW_REGIME,
    HEADER_INTS,
    I_F_GROUPS,
    I_F_NODES,
    I_GROUPS,
    I_NODES,
    I_PUMP_POINTS,
    I_SUMP_CELLS,
    I_SUMP_COUNT,
    I_W_BORDER,
    I_W_DIAGONAL,
    I_W_FLOW,
    I_W_GAIN,
    I_W_GROUP,
    I_W_HINT,
    I_W_JUNCTION,
    I_W_LEVEL,
    I_W_LOWER,
    I_W_MOVE,
    I_W_NET,
    I_W_PUMP,
    I_W_RATE,
    I_W_ROW,
    I_W_SCALARS,
    I_W_SLOPE_DOWN,
    I_W_SLOPE_UP,
    I_W_TABLES,
    I_W_UPPER,
    N_CELL_COUNT,
    N_CELLS,
    N_JUNCTION,
    N_PARENT,
    NF_BORE,
    NF_INLET,
    NF_OUTFALL,
    NF_SHARE,
    NODE_FLOATS,
    NODE_INTS,
    PUMP_POINTS,
    S_PIVOT,
    S_PUMP,
    S_PUMP_GAIN,
    S_PUMP_SLOPE,
    SIPHONING,
    TABLE_POINTS,
)
from aquacalc.flow.tables import level_of, table_flow
from aquacalc.formulas import lip_crossing

#: Weir coefficient of a pipe mouth that a vessel's last water runs into: a lip's (King County, from memory).
MOUTH_WEIR = 1.71
#: The pump loses its flow over this much of sump level, m.
PUMP_GUARD_BAND = 0.002
#: Net flow into a junction that counts as none, m3/s.
BALANCED = 1e-14
#: Net flow so small (m3/s) that one more step along the slopes balances the junctions to rounding.
NEARLY = 1e-10


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


def run_flow(F, W, table, nf, junction, z_up, z_down):
    """Flow (m3/s) through a run and its slopes with the levels at both ends (m2/s).

    The head between the levels drives it; a bed that runs dry feeds no more
    than flows over the edge of the mouth as a weir. A junction stores nothing,
    so its head may fall below its invert.
    """
    inlet = F[nf + NF_INLET]
    outfall = F[nf + NF_OUTFALL]
    wet_up = junction or z_up > inlet
    head_up = z_up if wet_up else inlet
    wet_down = z_down > outfall
    head_down = z_down if wet_down else outfall
    head = head_up - head_down
    if head > 0.0:
        if not wet_up:
            return 0.0, 0.0, 0.0
        flow, slope = table_flow(W, table, head)
        if not junction:
            limit, rise = edge_flow(MOUTH_WEIR, F[nf + NF_BORE], z_up - inlet)
            if limit < flow:
                return limit, rise, 0.0
        return flow, slope, (-slope if wet_down else 0.0)
    if not wet_down and not junction:
        return 0.0, 0.0, 0.0
    flow, slope = table_flow(W, table, max(-head, 1e-30))
    if not junction:
        limit, rise = edge_flow(MOUTH_WEIR, F[nf + NF_BORE], z_down - outfall)
        if limit < flow:
            return -limit, 0.0, -rise
    return -flow, (slope if wet_up else 0.0), (-slope if wet_down else 0.0)


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


def set_runs(I, F, W, first):
    """Flows of the runs and net flow into every node; after the `first` pass only those at junctions."""
    n = I[I_NODES]
    level = I[I_W_LEVEL]
    flow = I[I_W_FLOW]
    up = I[I_W_SLOPE_UP]
    down = I[I_W_SLOPE_DOWN]
    net = I[I_W_NET]
    for i in range(n):
        W[net + i] = 0.0
    for i in range(n):
        ni = HEADER_INTS + NODE_INTS * i
        parent = I[ni + N_PARENT]
        if parent < 0:
            continue
        junction = I[ni + N_JUNCTION] == 1
        if first or junction or I[HEADER_INTS + NODE_INTS * parent + N_JUNCTION] == 1:
            q, a, b = run_flow(
                F,
                W,
                I[I_W_TABLES] + 2 * TABLE_POINTS * i,
                I[I_F_NODES] + NODE_FLOATS * i,
                junction,
                W[level + i],
                W[level + parent],
            )
            W[flow + i] = q
            W[up + i] = a
            W[down + i] = b
        W[net + i] -= W[flow + i]
        W[net + parent] += W[flow + i]


def imbalance(I, W):
    """Largest net flow (m3/s) into a junction."""
    worst = 0.0
    for i in range(I[I_NODES]):
        if I[HEADER_INTS + NODE_INTS * i + N_JUNCTION] == 1:
            worst = max(worst, abs(W[I[I_W_NET] + i]))
    return worst


def follow(I, W):
    """Move the heads of the junctions, and the flows along their slopes: exact balance without new flows."""
    n = I[I_NODES]
    flow = I[I_W_FLOW]
    net = I[I_W_NET]
    move = I[I_W_MOVE]
    for i in range(n):
        if I[HEADER_INTS + NODE_INTS * i + N_JUNCTION] == 1:
            W[I[I_W_LEVEL] + i] += W[move + i]
    for i in range(n):
        parent = I[HEADER_INTS + NODE_INTS * i + N_PARENT]
        if parent >= 0:
            more = W[I[I_W_SLOPE_UP] + i] * W[move + i] + W[I[I_W_SLOPE_DOWN] + i] * W[move + parent]
            W[flow + i] += more
            W[net + i] -= more
            W[net + parent] += more


def balance_junctions(I, F, W, y):
    """Set the heads of the junctions so that what flows in flows out: damped Newton on the tree.

    Flow rises with every head above and falls with every head below, so there
    is one answer and halving the step finds it.
    """
    n = I[I_NODES]
    level = I[I_W_LEVEL]
    up = I[I_W_SLOPE_UP]
    down = I[I_W_SLOPE_DOWN]
    pivot = I[I_W_JUNCTION]
    move = I[I_W_MOVE]
    worst = imbalance(I, W)
    for _ in range(100):
        if worst <= BALANCED:
            break
        for i in range(n):
            W[pivot + i] = W[up + i]
            W[move + i] = W[I[I_W_NET] + i]
        for i in range(n):
            ni = HEADER_INTS + NODE_INTS * i
            parent = I[ni + N_PARENT]
            if parent < 0 or I[HEADER_INTS + NODE_INTS * parent + N_JUNCTION] == 0:
                continue
            W[pivot + parent] -= W[down + i]
            if I[ni + N_JUNCTION] == 1:
                W[pivot + parent] += W[up + i] * W[down + i] / W[pivot + i]
                W[move + parent] += W[up + i] / W[pivot + i] * W[move + i]
        for i in range(n - 1, -1, -1):
            ni = HEADER_INTS + NODE_INTS * i
            if I[ni + N_JUNCTION] == 0:
                W[move + i] = 0.0
                continue
            parent = I[ni + N_PARENT]
            W[move + i] = (W[move + i] - W[down + i] * W[move + parent]) / W[pivot + i]
        if worst <= NEARLY:
            follow(I, W)
            break
        part = 1.0
        done = 0.0
        for _ in range(30):
            for i in range(n):
                if I[HEADER_INTS + NODE_INTS * i + N_JUNCTION] == 1:
                    W[level + i] += (part - done) * W[move + i]
            set_runs(I, F, W, False)
            left = imbalance(I, W)
            done = part
            if left <= BALANCED or left < (1.0 - 0.2 * part) * worst:
                break
            part *= 0.5
        if left >= worst:
            break
        worst = left
    for i in range(n):
        if I[HEADER_INTS + NODE_INTS * i + N_JUNCTION] == 1:
            W[y + i] = W[level + i]


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


def factor(I, F, W, weight):
    """Eliminate (M weight - J) for the flows last set; M is 0 for junctions, 1 elsewhere."""
    n = I[I_NODES]
    groups = I[I_GROUPS]
    gain = I[I_W_GAIN]
    up = I[I_W_SLOPE_UP]
    down = I[I_W_SLOPE_DOWN]
    diagonal = I[I_W_DIAGONAL]
    lower = I[I_W_LOWER]
    upper = I[I_W_UPPER]
    border = I[I_W_BORDER]
    row = I[I_W_ROW]
    s = I[I_W_SCALARS]
    pump_gain = W[s + S_PUMP_SLOPE] * W[gain + n]
    W[s + S_PUMP_GAIN] = pump_gain
    pivot = weight + pump_gain
    for i in range(n):
        ni = HEADER_INTS + NODE_INTS * i
        W[diagonal + i] = (0.0 if I[ni + N_JUNCTION] == 1 else weight) + W[up + i] * W[gain + i]
        W[border + i] = -F[I[I_F_NODES] + NODE_FLOATS * i + NF_SHARE] * pump_gain
        W[row + i] = 0.0
    for i in range(n):
        parent = I[HEADER_INTS + NODE_INTS * i + N_PARENT]
        if parent >= 0:
            W[diagonal + parent] -= W[down + i] * W[gain + parent]
    for j in range(groups):
        root = I[HEADER_INTS + NODE_INTS * n + GROUP_INTS * j + G_ROOT]
        w = I[I_W_GROUP] + GROUP_WORK * j
        W[w + GW_DOWN] = W[up + root] * W[gain + root]
        W[w + GW_DOWN_SUMP] = W[down + root] * W[gain + n]
        W[row + root] = -W[w + GW_DOWN]
        W[border + root] += W[w + GW_DOWN_SUMP]
        pivot -= W[w + GW_DOWN_SUMP]
    for i in range(n):
        parent = I[HEADER_INTS + NODE_INTS * i + N_PARENT]
        if parent >= 0:
            W[upper + i] = W[down + i] * W[gain + parent]
            W[lower + i] = -W[up + i] * W[gain + i] / W[diagonal + i]
            W[diagonal + parent] -= W[lower + i] * W[upper + i]
    solve_tree(I, W, border)
    for j in range(groups):
        root = I[HEADER_INTS + NODE_INTS * n + GROUP_INTS * j + G_ROOT]
        pivot -= W[row + root] * W[border + root]
    W[s + S_PIVOT] = pivot


def solve_tree(I, W, x):
    """Solve the eliminated network in place for the right-hand side that starts at `W[x]`."""
    n = I[I_NODES]
    diagonal = I[I_W_DIAGONAL]
    lower = I[I_W_LOWER]
    upper = I[I_W_UPPER]
    for i in range(n):
        parent = I[HEADER_INTS + NODE_INTS * i + N_PARENT]
        if parent >= 0:
            W[x + parent] -= W[lower + i] * W[x + i]
    for i in range(n - 1, -1, -1):
        parent = I[HEADER_INTS + NODE_INTS * i + N_PARENT]
        if parent >= 0:
            W[x + i] -= W[upper + i] * W[x + parent]
        W[x + i] /= W[diagonal + i]


def solve(I, W, x, weight):
    """Solve for one stage in place: nodes, sump, then outflow of each group and pumped volume."""
    n = I[I_NODES]
    groups = I[I_GROUPS]
    border = I[I_W_BORDER]
    row = I[I_W_ROW]
    s = I[I_W_SCALARS]
    solve_tree(I, W, x)
    for j in range(groups):
        root = I[HEADER_INTS + NODE_INTS * n + GROUP_INTS * j + G_ROOT]
        W[x + n] -= W[row + root] * W[x + root]
    W[x + n] /= W[s + S_PIVOT]
    sump = W[x + n]
    for i in range(n):
        W[x + i] -= W[border + i] * sump
    for j in range(groups):
        root = I[HEADER_INTS + NODE_INTS * n + GROUP_INTS * j + G_ROOT]
        w = I[I_W_GROUP] + GROUP_WORK * j
        W[x + n + 1 + j] += W[w + GW_DOWN] * W[x + root] + W[w + GW_DOWN_SUMP] * sump
        W[x + n + 1 + j] /= weight
    W[x + n + 1 + groups] = (W[x + n + 1 + groups] + W[s + S_PUMP_GAIN] * sump) / weight
