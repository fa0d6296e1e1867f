"""Kernels: heads at junctions, which store nothing, so that what flows in flows out."""

from __future__ import annotations

from aquacalc.engine.deck import (
    HEADER_INTS,
    I_NODES,
    I_W_FLOW,
    I_W_JUNCTION,
    I_W_LEVEL,
    I_W_MOVE,
    I_W_NET,
    I_W_SLOPE_DOWN,
    I_W_SLOPE_UP,
    N_JUNCTION,
    N_PARENT,
    NODE_INTS,
)
from aquacalc.engine.runs import set_runs

#: Net flow into a junction that counts as none, m3/s.
BALANCED = 1e-14
#: Net flow so small (m3/s) that one more step along the slopes balances the junctions to rounding.
NEARLY = 1e-10


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
