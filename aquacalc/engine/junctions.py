"""Kernels: heads at junctions, which store nothing, so that what flows in flows out."""

from __future__ import annotations

from aquacalc.engine.pipe_flow import run_flow, set_runs

#: Net flow into a junction that counts as none, m3/s.
BALANCED = 1e-14
#: Least change of a junction's net flow with its head, m2/s: below its invert nothing leaves.
LEAST_PIVOT = 1e-5
#: Heads of junctions are looked for this far (m) below and above every level and invert.
BEYOND = 0.01
#: So often is each junction settled in turn before the slopes are tried again.
SWEEPS = 10
#: Net flow so small (m3/s) that one more step along the slopes balances the junctions to rounding.
NEARLY = 1e-10


def imbalance(plan, state):
    """Largest net flow (m3/s) into a junction."""
    worst = 0.0
    for i in range(plan.nodes):
        if plan.junction[i] == 1:
            worst = max(worst, abs(state.net[i]))
    return worst


def follow(plan, state):
    """Move the heads of the junctions, and the flows along their slopes: exact balance without new flows."""
    move = state.move
    for i in range(plan.nodes):
        if plan.junction[i] == 1:
            state.level[i] += move[i]
    for i in range(plan.nodes):
        to = plan.parent[i]
        if to >= 0:
            more = state.slope_up[i] * move[i] + state.slope_down[i] * move[to]
            state.flow[i] += more
            state.net[i] -= more
            state.net[to] += more


def net_at(plan, state, i):
    """Net flow (m3/s) into junction `i` from the levels last set."""
    net = 0.0
    child = plan.first_child[i]
    while child >= 0:
        q, _, _ = run_flow(plan, state, child)
        net += q
        child = plan.next_child[child]
    q, _, _ = run_flow(plan, state, i)
    return net - q


def settle_each(plan, state):
    """Set the head of each junction in turn so that it balances while the others stay, by halving.

    For mouths that take a flow whatever the head behind them: there no slope
    leads to the answer.
    """
    low = 1e30
    high = -1e30
    for i in range(plan.nodes):
        if plan.junction[i] == 0:
            low = min(low, state.level[i])
            high = max(high, state.level[i])
        if plan.parent[i] >= 0:
            low = min(low, plan.inlet[i], plan.outfall[i])
            high = max(high, plan.inlet[i], plan.outfall[i])
    for i in range(plan.nodes):
        if plan.junction[i] == 1:
            below = low - BEYOND
            above = high + BEYOND
            for _ in range(70):
                state.level[i] = 0.5 * (below + above)
                if not below < state.level[i] < above:
                    break
                if net_at(plan, state, i) > 0.0:
                    below = state.level[i]
                else:
                    above = state.level[i]
    set_runs(plan, state, False)


def balance_junctions(plan, state, volume):
    """Set the heads of the junctions so that what flows in flows out: damped Newton on the tree.

    Flow rises with every head above and falls with every head below, so there
    is one answer and halving the step finds it.
    """
    n = plan.nodes
    parent = plan.parent
    junction = plan.junction
    level = state.level
    up = state.slope_up
    down = state.slope_down
    pivot = state.pivot
    move = state.move
    worst = imbalance(plan, state)
    for _ in range(60):
        if worst <= BALANCED:
            break
        for i in range(n):
            pivot[i] = up[i]
            move[i] = state.net[i]
        for i in range(n):
            to = parent[i]
            if junction[i] == 1:
                pivot[i] = max(pivot[i], LEAST_PIVOT)
            if to < 0 or junction[to] == 0:
                continue
            pivot[to] -= down[i]
            if junction[i] == 1:
                pivot[to] += up[i] * down[i] / pivot[i]
                move[to] += up[i] / pivot[i] * move[i]
        for i in range(n - 1, -1, -1):
            if junction[i] == 0:
                move[i] = 0.0
                continue
            move[i] = (move[i] - down[i] * move[parent[i]]) / pivot[i]
        if worst <= NEARLY:
            follow(plan, state)
            break
        part = 1.0
        done = 0.0
        for _ in range(30):
            for i in range(n):
                if junction[i] == 1:
                    level[i] += (part - done) * move[i]
            set_runs(plan, state, False)
            left = imbalance(plan, state)
            done = part
            if left <= BALANCED or left < (1.0 - 0.2 * part) * worst:
                break
            part *= 0.5
        if left >= 0.5 * worst:  # by slopes it gets no further, or not soon
            for _ in range(SWEEPS):
                settle_each(plan, state)
                left = imbalance(plan, state)
                if left < 0.5 * worst:
                    break
        worst = left
    for i in range(n):
        if junction[i] == 1:
            volume[i] = level[i]
