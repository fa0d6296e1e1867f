"""Kernels: one plan from its start to the cycle that repeats."""

from __future__ import annotations

from aquacalc.engine.events import locate, miss, on_event, report_cycle, settle, watch, water_held
from aquacalc.engine.pipe_flow import mouth_flow
from aquacalc.engine.rates import set_flows, set_levels
from aquacalc.engine.state import FILLING, PURGING, SPILLING, UNSETTLED
from aquacalc.engine.step import attempt
from aquacalc.engine.tables import fill_pump_table, fill_table
from aquacalc.hydraulics.cells import volume_of

STEPS_MAX = 60000
STEP_MIN = 1e-9


def prepare(plan, state):
    """Tables and the start: beds and chambers at their start levels, the siphons broken."""
    n = plan.nodes
    for path in range(n + 2 * plan.siphons):
        if plan.end_piece[path] > plan.first_piece[path]:
            fill_table(plan, state, path)
    if len(plan.curve_flow) > 0:
        fill_pump_table(plan, state)
    for i in range(n + 1):
        z = plan.start[i]
        if i < n and plan.junction[i] == 1:
            state.volume[i] = z
        else:
            state.volume[i] = volume_of(plan.cells, plan.first_cell[i], plan.last_cell[i], z)
        state.cell[i] = plan.first_cell[i]
        state.low[i] = 1e30
        state.high[i] = -1e30
        state.at_break[i] = z
        state.at_start[i] = z
        if i < n and plan.parent[i] >= 0:
            full, _ = mouth_flow(plan, max(plan.mouth[i], 0), plan.bore[i], plan.bore[i])
            state.covered[i] = full
    for j in range(plan.siphons):
        state.volume_low[j] = 1e30
        state.volume_high[j] = -1e30
        state.volume_break[j] = water_held(plan, state, j)
        state.regime[j] = plan.regime[j]
        state.open[j] = plan.open[j]
        state.out_choke[j] = -plan.purged[j]


def record(plan, state, trace, row, t):
    """Write one row of the trace for the flows last set, while there is room; the next row."""
    if row >= len(trace.times):
        return row
    n = plan.nodes
    trace.times[row] = t
    trace.pumps[row] = state.flow[n]
    for i in range(n + 1):
        at = row * (n + 1) + i
        trace.levels[at] = state.level[i]
        junction = i < n and plan.junction[i] == 1
        trace.rates[at] = 0.0 if junction else state.rate[i] * state.gain[i]
    for j in range(plan.siphons):
        at = row * plan.siphons + j
        trace.outflows[at] = state.flow[plan.root[j]]
        trace.regimes[at] = state.regime[j]
    return row + 1


def run(plan, state, cycles, trace):
    """Run one plan, state all noughts, until every siphon repeats or settles; the numbers of `Totals`."""
    prepare(plan, state)
    n = plan.nodes
    siphons = plan.siphons
    volume = state.volume
    stored_start = 0.0
    for j in range(siphons):
        stored_start += state.volume_break[j]
    sump_start = volume[n]
    t = 0.0
    h = 1e-3
    status = 1
    steps = 0
    rejected = 0
    rows = 0
    known = False
    while plan.time_max - t > STEP_MIN:
        if steps + rejected > STEPS_MAX:
            status = 2
            break
        h = min(h, plan.step_max, plan.time_max - t)
        error = attempt(plan, state, h, known)
        known = False
        if error > 1.0 and h > STEP_MIN:
            rejected += 1
            h = max(h * max(0.2, 0.9 * error ** (-1.0 / 3.0)), STEP_MIN)
            continue
        set_levels(plan, state, state.trial)
        event = -1
        took = h
        for j in range(siphons):
            if miss(plan, state, state.trial, j) >= 0.0:
                took = locate(plan, state, took, j)
                event = j
        steps += 1
        t += took
        for i in range(n + siphons + 2):
            volume[i] = state.trial[i]
        set_flows(plan, state, volume)
        watch(plan, state)
        rows = record(plan, state, trace, rows, t)
        if event >= 0:
            on_event(plan, state, cycles, event, t)
            set_flows(plan, state, volume)
            rows = record(plan, state, trace, rows, t)
            h = min(h, 0.05)
        else:
            for j in range(siphons):
                below = plan.lip[j] - state.level[plan.root[j]]
                if (state.regime[j] == SPILLING or state.regime[j] == PURGING) and below > 1e-6:
                    state.regime[j] = FILLING
            h = h * min(5.0, max(0.2, 0.9 * max(error, 1e-9) ** (-1.0 / 3.0)))
        known = True
        if settle(plan, state, cycles, t):
            status = 0
            break
    stored = 0.0
    drained = 0.0
    for j in range(siphons):
        stored += water_held(plan, state, j)
        drained += volume[n + 1 + j]
        if state.done[j] == 0:
            report_cycle(plan, state, cycles, j, t, UNSETTLED)
        cycles.regime[j] = state.regime[j]
        cycles.open[j] = state.open[j]
        cycles.purged[j] = volume[n + 1 + j] - state.out_choke[j]
    for i in range(n + 1):
        cycles.last[i] = state.level[i]
    stored -= stored_start
    pumped = volume[n + 1 + siphons]
    lost = max(abs(pumped - drained - stored), abs(drained - pumped - (volume[n] - sump_start)))
    balance = lost / pumped if pumped > 0.0 else lost
    return status, steps, rejected, t, pumped, drained, stored, balance, state.low[n], state.high[n], rows
