"""Kernels: when a siphon changes what it does, and what a cycle was."""

from __future__ import annotations

from aquacalc.engine.deck import (
    CYCLES,
    F_REPEAT,
    FILLING,
    G_ROOT,
    GF_LIP,
    GF_PRIMED_LEVEL,
    GF_PURGE,
    GF_RIM,
    GO_BALANCE,
    GO_BREAKS,
    GO_DRAINED,
    GO_FLOW_BREAK,
    GO_FLOW_HIGH,
    GO_FLOW_PRIMED,
    GO_FLOW_STEADY,
    GO_MISFIT,
    GO_OUTCOME,
    GO_PUMPED,
    GO_ROOT_LEVEL,
    GO_T_BREAK,
    GO_T_CHOKE,
    GO_T_PRIMED,
    GO_T_SPILL,
    GO_T_START,
    GO_V_HIGH,
    GO_V_LOW,
    GROUP_FLOATS,
    GROUP_INTS,
    GROUP_OUT,
    GROUP_WORK,
    GW_BREAKS,
    GW_DONE,
    GW_FLOW_HIGH,
    GW_FLOW_PRIMED,
    GW_OUT_BREAK,
    GW_PUMPED_BREAK,
    GW_PURGE_END,
    GW_REGIME,
    GW_T_BREAK,
    GW_T_CHOKE,
    GW_T_PRIMED,
    GW_T_SPILL,
    GW_V_BREAK,
    GW_V_HIGH,
    GW_V_LOW,
    HEADER_INTS,
    HEADER_OUT,
    I_F_GROUPS,
    I_F_NODES,
    I_GROUPS,
    I_NODES,
    I_W_FLOW,
    I_W_GAIN,
    I_W_GROUP,
    I_W_LEVEL,
    I_W_NODE,
    I_W_RATE,
    I_W_SCALARS,
    I_W_STATE,
    I_W_TRIAL,
    IDLE,
    N_GROUP,
    N_JUNCTION,
    NF_SHARE,
    NO_BREAK,
    NO_HIGH,
    NO_LOW,
    NO_PRIMED,
    NODE_FLOATS,
    NODE_INTS,
    NODE_OUT,
    NODE_WORK,
    NW_BREAK,
    NW_HIGH,
    NW_LOW,
    NW_PRIMED,
    PURGING,
    RUNS_ON,
    S_SUMP_HIGH,
    S_SUMP_LOW,
    SIPHONING,
    SPILLING,
    SPILLS,
)
from aquacalc.engine.network import set_flows, set_levels
from aquacalc.engine.step import attempt

#: A level that moves slower than this (m/s) everywhere has settled.
SETTLED = 1e-7
#: Levels are located to this at an event, m.
LOCATED = 1e-10


def miss(I, F, W, j):
    """How far (m) group `j` has run past its next event at the trial state; negative before it."""
    root = I[HEADER_INTS + NODE_INTS * I[I_NODES] + GROUP_INTS * j + G_ROOT]
    z = W[I[I_W_LEVEL] + root]
    gf = I[I_F_GROUPS] + GROUP_FLOATS * j
    w = I[I_W_GROUP] + GROUP_WORK * j
    regime = W[w + GW_REGIME]
    if regime == FILLING:
        return z - F[gf + GF_LIP]
    if regime == SPILLING:
        return z - F[gf + GF_PRIMED_LEVEL]
    if regime == SIPHONING:
        return F[gf + GF_RIM] - z
    return -1.0


def locate(I, F, W, h, j):
    """Shorten the step until group `j` stands at its event; the step's length, trial left there."""
    set_levels(I, F, W, I[I_W_STATE])
    before = miss(I, F, W, j)
    set_levels(I, F, W, I[I_W_TRIAL])
    low = 0.0
    high = h
    f_low = min(before, -LOCATED)
    f_high = miss(I, F, W, j)
    for turn in range(60):
        if high - low < 1e-12 * h or f_high < LOCATED:
            break
        part = f_low / (f_low - f_high)
        if turn % 3 == 2:
            part = 0.5
        middle = low + (high - low) * min(max(part + 1e-9, 1e-6), 1.0 - 1e-9)
        attempt(I, F, W, middle, False)
        set_levels(I, F, W, I[I_W_TRIAL])
        f = miss(I, F, W, j)
        if f >= 0.0:
            high = middle
            f_high = f
        else:
            low = middle
            f_low = f
    attempt(I, F, W, high, False)
    set_levels(I, F, W, I[I_W_TRIAL])
    return high


def group_volume(I, W, j):
    """Water (m3) held by the storages of group `j`."""
    total = 0.0
    for i in range(I[I_NODES]):
        ni = HEADER_INTS + NODE_INTS * i
        if I[ni + N_GROUP] == j and I[ni + N_JUNCTION] == 0:
            total += W[I[I_W_STATE] + i]
    return total


def watch(I, W):
    """Keep lows and highs for the state and flows last set."""
    n = I[I_NODES]
    for i in range(n):
        w = I[I_W_NODE] + NODE_WORK * i
        z = W[I[I_W_LEVEL] + i]
        W[w + NW_LOW] = min(W[w + NW_LOW], z)
        W[w + NW_HIGH] = max(W[w + NW_HIGH], z)
    s = I[I_W_SCALARS]
    z = W[I[I_W_LEVEL] + n]
    W[s + S_SUMP_LOW] = min(W[s + S_SUMP_LOW], z)
    W[s + S_SUMP_HIGH] = max(W[s + S_SUMP_HIGH], z)
    for j in range(I[I_GROUPS]):
        w = I[I_W_GROUP] + GROUP_WORK * j
        root = I[HEADER_INTS + NODE_INTS * n + GROUP_INTS * j + G_ROOT]
        V = group_volume(I, W, j)
        W[w + GW_V_LOW] = min(W[w + GW_V_LOW], V)
        W[w + GW_V_HIGH] = max(W[w + GW_V_HIGH], V)
        if W[w + GW_REGIME] == SIPHONING:
            W[w + GW_FLOW_HIGH] = max(W[w + GW_FLOW_HIGH], W[I[I_W_FLOW] + root])


def report_group(I, W, OUT, j, t, outcome):
    """Copy what group `j` did since its last break into `OUT`."""
    n = I[I_NODES]
    w = I[I_W_GROUP] + GROUP_WORK * j
    o = HEADER_OUT + GROUP_OUT * j
    root = I[HEADER_INTS + NODE_INTS * n + GROUP_INTS * j + G_ROOT]
    misfit = 0.0
    for i in range(n):
        ni = HEADER_INTS + NODE_INTS * i
        if I[ni + N_GROUP] != j:
            continue
        v = I[I_W_NODE] + NODE_WORK * i
        q = HEADER_OUT + GROUP_OUT * I[I_GROUPS] + NODE_OUT * i
        z = W[I[I_W_LEVEL] + i]
        if I[ni + N_JUNCTION] == 0:
            misfit = max(misfit, abs(z - W[v + NW_BREAK]))
        OUT[q + NO_LOW] = W[v + NW_LOW]
        OUT[q + NO_HIGH] = W[v + NW_HIGH]
        OUT[q + NO_BREAK] = z
        OUT[q + NO_PRIMED] = W[v + NW_PRIMED]
        W[v + NW_BREAK] = z
        W[v + NW_LOW] = z
        W[v + NW_HIGH] = z
    OUT[o + GO_OUTCOME] = outcome
    OUT[o + GO_T_START] = W[w + GW_T_BREAK]
    OUT[o + GO_T_SPILL] = W[w + GW_T_SPILL]
    OUT[o + GO_T_CHOKE] = W[w + GW_T_CHOKE]
    OUT[o + GO_T_PRIMED] = W[w + GW_T_PRIMED]
    OUT[o + GO_T_BREAK] = t
    OUT[o + GO_FLOW_PRIMED] = W[w + GW_FLOW_PRIMED]
    OUT[o + GO_FLOW_HIGH] = W[w + GW_FLOW_HIGH]
    OUT[o + GO_FLOW_BREAK] = W[I[I_W_FLOW] + root]
    OUT[o + GO_FLOW_STEADY] = W[I[I_W_FLOW] + root]
    OUT[o + GO_MISFIT] = misfit
    OUT[o + GO_V_LOW] = W[w + GW_V_LOW]
    OUT[o + GO_V_HIGH] = W[w + GW_V_HIGH]
    OUT[o + GO_ROOT_LEVEL] = W[I[I_W_LEVEL] + root]
    return misfit


def on_break(I, F, W, OUT, j, t):
    """Close the cycle of a siphon that has broken, and say whether it repeats the one before."""
    n = I[I_NODES]
    y = I[I_W_STATE]
    groups = I[I_GROUPS]
    w = I[I_W_GROUP] + GROUP_WORK * j
    o = HEADER_OUT + GROUP_OUT * j
    V = group_volume(I, W, j)
    out = W[y + n + 1 + j]
    share = 0.0
    for i in range(n):
        if I[HEADER_INTS + NODE_INTS * i + N_GROUP] == j:
            share += F[I[I_F_NODES] + NODE_FLOATS * i + NF_SHARE]
    pumped = share * W[y + n + 1 + groups]
    breaks = W[w + GW_BREAKS] + 1.0
    if W[w + GW_DONE] == 0.0:  # a group that waits for another keeps the cycle that repeated
        misfit = report_group(I, W, OUT, j, t, CYCLES)
        OUT[o + GO_BREAKS] = breaks
        OUT[o + GO_PUMPED] = pumped - W[w + GW_PUMPED_BREAK]
        OUT[o + GO_DRAINED] = out - W[w + GW_OUT_BREAK]
        stored = V - W[w + GW_V_BREAK]
        if OUT[o + GO_PUMPED] > 0.0:
            OUT[o + GO_BALANCE] = (OUT[o + GO_PUMPED] - OUT[o + GO_DRAINED] - stored) / OUT[o + GO_PUMPED]
        if breaks > 1.0 and misfit < F[F_REPEAT]:
            W[w + GW_DONE] = 1.0
    W[w + GW_BREAKS] = breaks
    W[w + GW_T_BREAK] = t
    W[w + GW_OUT_BREAK] = out
    W[w + GW_PUMPED_BREAK] = pumped
    W[w + GW_V_BREAK] = V
    W[w + GW_V_LOW] = V
    W[w + GW_V_HIGH] = V
    W[w + GW_FLOW_HIGH] = 0.0
    W[w + GW_REGIME] = FILLING


def on_event(I, F, W, OUT, j, t):
    """Group `j` stands at its event: change regime."""
    w = I[I_W_GROUP] + GROUP_WORK * j
    root = I[HEADER_INTS + NODE_INTS * I[I_NODES] + GROUP_INTS * j + G_ROOT]
    gf = I[I_F_GROUPS] + GROUP_FLOATS * j
    regime = W[w + GW_REGIME]
    if regime == FILLING:
        W[w + GW_REGIME] = SPILLING
        W[w + GW_T_SPILL] = t
    elif regime == SPILLING:
        W[w + GW_REGIME] = PURGING
        W[w + GW_T_CHOKE] = t
        W[w + GW_PURGE_END] = t + F[gf + GF_PURGE]
    elif regime == PURGING:
        W[w + GW_REGIME] = SIPHONING
        W[w + GW_T_PRIMED] = t
        set_flows(I, F, W, I[I_W_STATE])
        W[w + GW_FLOW_PRIMED] = W[I[I_W_FLOW] + root]
        for i in range(I[I_NODES]):
            if I[HEADER_INTS + NODE_INTS * i + N_GROUP] == j:
                W[I[I_W_NODE] + NODE_WORK * i + NW_PRIMED] = W[I[I_W_LEVEL] + i]
    else:
        on_break(I, F, W, OUT, j, t)


def settle(I, F, W, OUT, t):
    """Close the groups whose levels no longer move; whether every group is done."""
    n = I[I_NODES]
    all_done = True
    for j in range(I[I_GROUPS]):
        w = I[I_W_GROUP] + GROUP_WORK * j
        if W[w + GW_DONE] == 1.0:
            continue
        moving = 0.0
        for i in range(n):
            ni = HEADER_INTS + NODE_INTS * i
            if I[ni + N_GROUP] == j and I[ni + N_JUNCTION] == 0:
                moving = max(moving, abs(W[I[I_W_RATE] + i] * W[I[I_W_GAIN] + i]))
        if moving < SETTLED and W[w + GW_REGIME] != PURGING:
            outcome = IDLE
            if W[w + GW_REGIME] == SPILLING:
                outcome = SPILLS
            elif W[w + GW_REGIME] == SIPHONING:
                outcome = RUNS_ON
            report_group(I, W, OUT, j, t, outcome)
            OUT[HEADER_OUT + GROUP_OUT * j + GO_BREAKS] = W[w + GW_BREAKS]
            W[w + GW_DONE] = 1.0
        else:
            all_done = False
    return all_done
