"""Kernels: one plan from its start to the cycle that repeats."""

from __future__ import annotations

from aquacalc.engine.deck import (
    F_GRAVITY,
    F_STEP_MAX,
    F_SUMP_START,
    F_TIME_MAX,
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
    GO_BREAKS,
    GROUP_FLOATS,
    GROUP_INTS,
    GROUP_OUT,
    GROUP_WORK,
    GW_BREAKS,
    GW_DONE,
    GW_PURGE_END,
    GW_REGIME,
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
    I_W_STATE,
    I_W_TABLES,
    I_W_TRIAL,
    I_WIDTH,
    N_CELL_COUNT,
    N_CELLS,
    N_JUNCTION,
    N_PATH,
    N_PIECES,
    NF_START,
    NODE_FLOATS,
    NODE_INTS,
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
    S_PUMP,
    S_SUMP_HIGH,
    S_SUMP_LOW,
    S_TRACE_ROWS,
    SPILLING,
    TABLE_POINTS,
    UNSETTLED,
)
from aquacalc.engine.events import group_volume, locate, miss, on_event, report_group, settle, watch
from aquacalc.engine.network import set_flows, set_levels
from aquacalc.engine.step import attempt
from aquacalc.engine.tables import fill_pump_table, fill_table
from aquacalc.equations.formulas import lip_head
from aquacalc.hydraulics.cells import volume_of

STEPS_MAX = 60000
STEP_MIN = 1e-9


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
            if miss(I, F, W, j) >= 0.0:
                took = locate(I, F, W, took, j)
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
