"""Kernels: the linear solve on a forest of storages and junctions.

Nodes stand children before parents, so that one pass down and one pass up
eliminate the whole network without fill-in; the sump couples to every bed
(pump) and every siphon (drowned tail) and is carried as a border.
"""

from __future__ import annotations

from aquacalc.engine.junctions import LEAST_PIVOT


def factor(plan, state, weight):
    """Eliminate (M weight - J) for the flows last set; M is 0 for junctions, 1 elsewhere."""
    n = plan.nodes
    parent = plan.parent
    gain = state.gain
    up = state.slope_up
    down = state.slope_down
    diagonal = state.diagonal
    border = state.border
    pump_gain = up[n] * gain[n]
    state.by_sump[plan.siphons] = pump_gain
    pivot = weight + pump_gain
    for i in range(n):
        diagonal[i] = (0.0 if plan.junction[i] == 1 else weight) + up[i] * gain[i]
        border[i] = -plan.share[i] * pump_gain
    for i in range(n):
        if parent[i] >= 0:
            diagonal[parent[i]] -= down[i] * gain[parent[i]]
    for j in range(plan.siphons):
        root = plan.root[j]
        state.by_root[j] = up[root] * gain[root]
        state.by_sump[j] = down[root] * gain[n]
        border[root] += state.by_sump[j]
        pivot -= state.by_sump[j]
    for i in range(n):
        to = parent[i]
        if plan.junction[i] == 1:
            diagonal[i] = max(diagonal[i], LEAST_PIVOT)
        if to >= 0:
            state.upper[i] = down[i] * gain[to]
            state.lower[i] = -up[i] * gain[i] / diagonal[i]
            diagonal[to] -= state.lower[i] * state.upper[i]
    solve_tree(plan, state, border)
    for j in range(plan.siphons):
        pivot += state.by_root[j] * border[plan.root[j]]
    diagonal[n] = pivot


def solve_tree(plan, state, x):
    """Solve the eliminated network in place for the right-hand side `x`."""
    parent = plan.parent
    for i in range(plan.nodes):
        if parent[i] >= 0:
            x[parent[i]] -= state.lower[i] * x[i]
    for i in range(plan.nodes - 1, -1, -1):
        if parent[i] >= 0:
            x[i] -= state.upper[i] * x[parent[i]]
        x[i] /= state.diagonal[i]


def solve(plan, state, x, weight):
    """Solve for one stage in place: nodes, sump, then outflow of each siphon and pumped volume."""
    n = plan.nodes
    last = n + 1 + plan.siphons
    solve_tree(plan, state, x)
    for j in range(plan.siphons):
        x[n] += state.by_root[j] * x[plan.root[j]]
    x[n] /= state.diagonal[n]
    sump = x[n]
    for i in range(n):
        x[i] -= state.border[i] * sump
    for j in range(plan.siphons):
        x[n + 1 + j] += state.by_root[j] * x[plan.root[j]] + state.by_sump[j] * sump
        x[n + 1 + j] /= weight
    x[last] = (x[last] + state.by_sump[plan.siphons] * sump) / weight
