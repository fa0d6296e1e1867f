"""Kernels: the linear solve on a forest of storages and junctions.

Nodes stand children before parents, so that one pass down and one pass up
eliminate the whole network without fill-in; the sump couples to every bed
(pump) and every siphon (drowned tail) and is carried as a border.
"""

from __future__ import annotations

from aquacalc.engine.deck import (
    G_ROOT,
    GROUP_INTS,
    GROUP_WORK,
    GW_DOWN,
    GW_DOWN_SUMP,
    HEADER_INTS,
    I_F_NODES,
    I_GROUPS,
    I_NODES,
    I_W_BORDER,
    I_W_DIAGONAL,
    I_W_GAIN,
    I_W_GROUP,
    I_W_LOWER,
    I_W_ROW,
    I_W_SCALARS,
    I_W_SLOPE_DOWN,
    I_W_SLOPE_UP,
    I_W_UPPER,
    N_JUNCTION,
    N_PARENT,
    NF_SHARE,
    NODE_FLOATS,
    NODE_INTS,
    S_PIVOT,
    S_PUMP_GAIN,
    S_PUMP_SLOPE,
)


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
