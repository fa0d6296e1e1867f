"""Kernels: one plan from its start to the cycle that repeats.

The integrator is the stiffly accurate Rosenbrock pair of order 3(2) with four
stages and gamma 1/2 that is widely printed as RODAS3 (Sandu et al. 1997,
Atmospheric Environment 31:3459; coefficients from memory, held by an order
test). Being linearly implicit with the exact slopes of the network it takes
steps of seconds where drain lines answer in milliseconds, and it keeps the
total volume to rounding. Junctions, which store nothing, are balanced exactly
at every stage.
"""

from __future__ import annotations

from aquacalc.flow.deck import (
    CYCLES,
    F_GRAVITY,
    F_REPEAT,
    F_STEP_MAX,
    F_SUMP_START,
    F_TIME_MAX,
    F_TOLERANCE,
    FILLING,
    G_PATH,
    G_PIECES,
    G_ROOT,
    GF_CHOKING,
    GF_LIP,
    GF_LIP_DIAMETER,
    GF_LIP_ORIFICE,
    GF_LIP_WEIR,
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
    I_PUMP_POINTS,
    I_SUMP_CELLS,
    I_SUMP_COUNT,
    I_W_FLOW,
    I_W_GAIN,
    I_W_GROUP,
    I_W_HINT,
    I_W_LEVEL,
    I_W_NODE,
    I_W_PUMP,
    I_W_RATE,
    I_W_SCALARS,
    I_W_STAGES,
    I_W_STATE,
    I_W_TABLES,
    I_W_TRIAL,
    I_WIDTH,
    IDLE,
    N_CELL_COUNT,
    N_CELLS,
    N_GROUP,
    N_JUNCTION,
    N_PATH,
    N_PIECES,
    NF_SHARE,
    NF_START,
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
    O_BALANCE,
    O_DRAINED,
    O_PUMPED,
    O_REJECTED,
    O_STATUS,
    O_STEPS,
    O_STORED,
    O_SUMP_END,
    O_SUMP_HIGH,
    O_SUMP_LOW,
    O_TIME,
    O_TRACE_ROWS,
    PURGING,
    RUNS_ON,
    S_PUMP,
    S_SUMP_HIGH,
    S_SUMP_LOW,
    S_TRACE_ROWS,
    SIPHONING,
    SPILLING,
    SPILLS,
    TABLE_POINTS,
    UNSETTLED,
)
from aquacalc.flow.network import factor, set_flows, set_levels, solve
from aquacalc.flow.tables import fill_pump_table, fill_table, volume_of
from aquacalc.formulas import lip_head

#: A level that moves slower than this (m/s) everywhere has settled.

SETTLED = 1e-7
STEPS_MAX = 60000
STEP_MIN = 1e-9
#: Levels are located to this at an event, m.
LOCATED = 1e-10


def prepare(I, F, W):
    """Tables and the start: beds and chambers at their start levels, the siphons broken."""
    n = I[I_NODES]
    groups = I[I_GROUPS]
    y = I[I_W_STATE]
    for i in range(n):
        ni = HEADER_INTS + NODE_INTS * i
        nf = I[I_F_NODES] + NODE_FLOATS * i
        if I[ni + N_PIECES] > 0:
            fill_table(F, I[ni + N_PATH], I[ni + N_PIECES], W, I[I_W_TABLES] + 2 * TABLE_POINTS * i)
        if I[ni + N_JUNCTION] == 1:
            W[y + i] = F[nf + NF_START]
        else:
            W[y + i] = volume_of(F, I[ni + N_CELLS], I[ni + N_CELL_COUNT], F[nf + NF_START])
        W[I[I_W_HINT] + i] = 0
    W[I[I_W_HINT] + n] = 0
    W[y + n] = volume_of(F, I[I_SUMP_CELLS], I[I_SUMP_COUNT], F[F_SUMP_START])
    for j in range(groups + 1):
        W[y + n + 1 + j] = 0.0
    for j in range(groups):
        gi = HEADER_INTS + NODE_INTS * n + GROUP_INTS * j
        gf = I[I_F_GROUPS] + GROUP_FLOATS * j
        fill_table(F, I[gi + G_PATH], I[gi + G_PIECES], W, I[I_W_TABLES] + 2 * TABLE_POINTS * (n + j))
        F[gf + GF_PRIMED_LEVEL] = F[gf + GF_LIP] + lip_head(
            F[gf + GF_LIP_WEIR],
            F[gf + GF_LIP_ORIFICE],
            F[gf + GF_LIP_DIAMETER],
            F[gf + GF_CHOKING],
            F[F_GRAVITY],
        )
        w = I[I_W_GROUP] + GROUP_WORK * j
        for k in range(GROUP_WORK):
            W[w + k] = 0.0
        W[w + GW_V_LOW] = 1e30
        W[w + GW_V_HIGH] = -1e30
    if I[I_PUMP_POINTS] > 0:
        fill_pump_table(I, F, W, I[I_W_PUMP])
    for i in range(n):
        w = I[I_W_NODE] + NODE_WORK * i
        W[w + NW_LOW] = 1e30
        W[w + NW_HIGH] = -1e30
        W[w + NW_BREAK] = F[I[I_F_NODES] + NODE_FLOATS * i + NF_START]
        W[w + NW_PRIMED] = W[w + NW_BREAK]
    s = I[I_W_SCALARS]
    W[s + S_SUMP_LOW] = 1e30
    W[s + S_SUMP_HIGH] = -1e30
    W[s + S_TRACE_ROWS] = 0.0


def stage(I, F, W, h, number, c1, c2, c3):
    """Right-hand side and solution of one stage from the rates last set."""
    n = I[I_NODES]
    width = I[I_WIDTH]
    k1 = I[I_W_STAGES]
    x = k1 + width * number
    rate = I[I_W_RATE]
    for i in range(width):
        W[x + i] = W[rate + i]
        if i >= n or I[HEADER_INTS + NODE_INTS * i + N_JUNCTION] == 0:
            W[x + i] += (c1 * W[k1 + i] + c2 * W[k1 + width + i] + c3 * W[k1 + 2 * width + i]) / h
    solve(I, W, x, 2.0 / h)


def attempt(I, F, W, h, known):
    """One step of `h` seconds from state to trial; the largest error over its tolerance.

    `known` says that the flows last set are those of the state.
    """
    n = I[I_NODES]
    width = I[I_WIDTH]
    y = I[I_W_STATE]
    trial = I[I_W_TRIAL]
    k1 = I[I_W_STAGES]
    k3 = k1 + 2 * width
    k4 = k1 + 3 * width
    for i in range(4 * width):
        W[k1 + i] = 0.0
    if not known:
        set_flows(I, F, W, y)
    factor(I, F, W, 2.0 / h)
    stage(I, F, W, h, 0, 0.0, 0.0, 0.0)
    stage(I, F, W, h, 1, 4.0, 0.0, 0.0)
    for i in range(width):
        W[trial + i] = W[y + i] + 2.0 * W[k1 + i]
    set_flows(I, F, W, trial)
    stage(I, F, W, h, 2, 1.0, -1.0, 0.0)
    for i in range(width):
        W[trial + i] = W[y + i] + 2.0 * W[k1 + i] + W[k3 + i]
    set_flows(I, F, W, trial)
    stage(I, F, W, h, 3, 1.0, -1.0, -8.0 / 3.0)
    worst = 0.0
    gain = I[I_W_GAIN]
    for i in range(width):
        W[trial + i] += W[k4 + i]
    for i in range(n + 1):
        if i < n and I[HEADER_INTS + NODE_INTS * i + N_JUNCTION] == 1:
            continue
        error = abs(W[k4 + i] * W[gain + i])
        worst = max(worst, error) if error == error else 1e30
    return worst / F[F_TOLERANCE]


def miss(I, F, W, j, t):
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


def locate(I, F, W, t, h, j):
    """Shorten the step until group `j` stands at its event; the step's length, trial left there."""
    set_levels(I, F, W, I[I_W_STATE])
    before = miss(I, F, W, j, t)
    set_levels(I, F, W, I[I_W_TRIAL])
    low = 0.0
    high = h
    f_low = min(before, -LOCATED)
    f_high = miss(I, F, W, j, t + h)
    for turn in range(60):
        if high - low < 1e-12 * h or f_high < LOCATED:
            break
        part = f_low / (f_low - f_high)
        if turn % 3 == 2:
            part = 0.5
        middle = low + (high - low) * min(max(part + 1e-9, 1e-6), 1.0 - 1e-9)
        attempt(I, F, W, middle, False)
        set_levels(I, F, W, I[I_W_TRIAL])
        f = miss(I, F, W, j, t + middle)
        if f >= 0.0:
            high = middle
            f_high = f
        else:
            low = middle
            f_low = f
    attempt(I, F, W, high, False)
    set_levels(I, F, W, I[I_W_TRIAL])
    return high


def record(I, W, TR, rows, t):
    """Write one trace row for the flows last set, while there is room."""
    s = I[I_W_SCALARS]
    at = int(W[s + S_TRACE_ROWS])
    if at >= rows:
        return
    n = I[I_NODES]
    groups = I[I_GROUPS]
    p = at * (2 + 2 * (n + 1) + 2 * groups)
    TR[p] = t
    for i in range(n + 1):
        TR[p + 1 + i] = W[I[I_W_LEVEL] + i]
        junction = i < n and I[HEADER_INTS + NODE_INTS * i + N_JUNCTION] == 1
        TR[p + 2 + n + i] = 0.0 if junction else W[I[I_W_RATE] + i] * W[I[I_W_GAIN] + i]
    p += 1 + 2 * (n + 1)
    for j in range(groups):
        root = I[HEADER_INTS + NODE_INTS * n + GROUP_INTS * j + G_ROOT]
        TR[p + j] = W[I[I_W_FLOW] + root]
        TR[p + groups + j] = W[I[I_W_GROUP] + GROUP_WORK * j + GW_REGIME]
    TR[p + 2 * groups] = W[s + S_PUMP]
    W[s + S_TRACE_ROWS] = at + 1


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


def finish(I, F, W, OUT, t, stored_start, sump_start):
    """Close groups that never settled and balance the whole run."""
    n = I[I_NODES]
    groups = I[I_GROUPS]
    y = I[I_W_STATE]
    stored = 0.0
    drained = 0.0
    for j in range(groups):
        stored += group_volume(I, W, j)
        drained += W[y + n + 1 + j]
        if W[I[I_W_GROUP] + GROUP_WORK * j + GW_DONE] == 0.0:
            report_group(I, W, OUT, j, t, UNSETTLED)
            OUT[HEADER_OUT + GROUP_OUT * j + GO_BREAKS] = W[I[I_W_GROUP] + GROUP_WORK * j + GW_BREAKS]
    pumped = W[y + n + 1 + groups]
    s = I[I_W_SCALARS]
    OUT[O_TIME] = t
    OUT[O_PUMPED] = pumped
    OUT[O_DRAINED] = drained
    OUT[O_STORED] = stored - stored_start
    lost = max(
        abs(pumped - drained - (stored - stored_start)), abs(drained - pumped - (W[y + n] - sump_start))
    )
    OUT[O_BALANCE] = lost / pumped if pumped > 0.0 else lost
    OUT[O_SUMP_LOW] = W[s + S_SUMP_LOW]
    OUT[O_SUMP_HIGH] = W[s + S_SUMP_HIGH]
    OUT[O_SUMP_END] = W[I[I_W_LEVEL] + n]
    OUT[O_TRACE_ROWS] = W[s + S_TRACE_ROWS]


def run(I, F, W, OUT, TR, rows):
    """Run one plan until every group repeats or settles; results in `OUT`, trace rows in `TR`."""
    prepare(I, F, W)
    n = I[I_NODES]
    groups = I[I_GROUPS]
    y = I[I_W_STATE]
    trial = I[I_W_TRIAL]
    width = I[I_WIDTH]
    stored_start = 0.0
    for j in range(groups):
        V = group_volume(I, W, j)
        stored_start += V
        W[I[I_W_GROUP] + GROUP_WORK * j + GW_V_BREAK] = V
    sump_start = W[y + n]
    t = 0.0
    h = 1e-3
    status = 1
    steps = 0
    rejected = 0
    known = False
    while t < F[F_TIME_MAX]:
        if steps + rejected > STEPS_MAX:
            status = 2
            break
        h = min(h, F[F_STEP_MAX])
        purging = -1
        for j in range(groups):
            w = I[I_W_GROUP] + GROUP_WORK * j
            if W[w + GW_REGIME] == PURGING and W[w + GW_PURGE_END] - t <= h * 1.0001:
                h = max(W[w + GW_PURGE_END] - t, STEP_MIN)
                purging = j
        error = attempt(I, F, W, h, known)
        known = False
        if error > 1.0 and h > STEP_MIN:
            rejected += 1
            h = max(h * max(0.2, 0.9 * error ** (-1.0 / 3.0)), STEP_MIN)
            continue
        set_levels(I, F, W, trial)
        event = -1
        took = h
        for j in range(groups):
            if miss(I, F, W, j, t + took) >= 0.0:
                took = locate(I, F, W, t, took, j)
                event = j
        if event < 0 and purging >= 0:
            event = purging
        steps += 1
        t += took
        for i in range(width):
            W[y + i] = W[trial + i]
        set_flows(I, F, W, y)
        watch(I, W)
        record(I, W, TR, rows, t)
        if event >= 0:
            on_event(I, F, W, OUT, event, t)
            set_flows(I, F, W, y)
            record(I, W, TR, rows, t)
            h = min(h, 0.05)
        else:
            for j in range(groups):
                w = I[I_W_GROUP] + GROUP_WORK * j
                root = I[HEADER_INTS + NODE_INTS * n + GROUP_INTS * j + G_ROOT]
                below = F[I[I_F_GROUPS] + GROUP_FLOATS * j + GF_LIP] - W[I[I_W_LEVEL] + root]
                if (W[w + GW_REGIME] == SPILLING or W[w + GW_REGIME] == PURGING) and below > 1e-6:
                    W[w + GW_REGIME] = FILLING
            h = h * min(5.0, max(0.2, 0.9 * max(error, 1e-9) ** (-1.0 / 3.0)))
        known = True
        if settle(I, F, W, OUT, t):
            status = 0
            break
    finish(I, F, W, OUT, t, stored_start, sump_start)
    OUT[O_STATUS] = status
    OUT[O_STEPS] = steps
    OUT[O_REJECTED] = rejected
