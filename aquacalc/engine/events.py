"""Kernels: when a siphon changes what it does, and what a cycle was."""

from __future__ import annotations

from aquacalc.engine.rates import set_flows, set_levels
from aquacalc.engine.state import CYCLES, FILLING, IDLE, PURGING, RUNS_ON, SIPHONING, SPILLING, SPILLS
from aquacalc.engine.step import attempt

#: A level that moves slower than this (m/s) everywhere has settled.
SETTLED = 1e-7
#: Levels are located to this at an event, m.
LOCATED = 1e-10


def miss(plan, state, volume, j):
    """How far (m; m3 while it purges) siphon `j` is past its next event at `volume`, its levels set.

    Negative before it.
    """
    z = state.level[plan.root[j]]
    regime = state.regime[j]
    if regime == FILLING:
        return z - plan.lip[j]
    if regime == SPILLING:
        return z - plan.start_level[j]
    if regime == PURGING:
        return volume[plan.nodes + 1 + j] - state.out_choke[j] - plan.purge[j]
    if regime == SIPHONING:
        if state.open[j] == 0 and state.level[plan.nodes] <= plan.tail[j]:
            return max(plan.rim[j], plan.opens[j]) - z
        return plan.rim[j] - z
    return -1.0


def locate(plan, state, h, j):
    """Shorten the step until siphon `j` stands at its event; the step's length, trial left there."""
    set_levels(plan, state, state.volume)
    before = miss(plan, state, state.volume, j)
    set_levels(plan, state, state.trial)
    low = 0.0
    high = h
    f_low = min(before, -LOCATED)
    f_high = miss(plan, state, state.trial, j)
    for turn in range(60):
        if high - low < 1e-12 * h or f_high < LOCATED:
            break
        part = f_low / (f_low - f_high)
        if turn % 3 == 2:
            part = 0.5
        middle = low + (high - low) * min(max(part + 1e-9, 1e-6), 1.0 - 1e-9)
        attempt(plan, state, middle, False)
        set_levels(plan, state, state.trial)
        f = miss(plan, state, state.trial, j)
        if f >= 0.0:
            high = middle
            f_high = f
        else:
            low = middle
            f_low = f
    attempt(plan, state, high, False)
    set_levels(plan, state, state.trial)
    return high


def water_held(plan, state, j):
    """Water (m3) held by the storages that drain to siphon `j`."""
    total = 0.0
    for i in range(plan.nodes):
        if plan.siphon[i] == j and plan.junction[i] == 0:
            total += state.volume[i]
    return total


def watch(plan, state):
    """Keep lows and highs for the state and flows last set."""
    for i in range(plan.nodes + 1):
        z = state.level[i]
        state.low[i] = min(state.low[i], z)
        state.high[i] = max(state.high[i], z)
    for j in range(plan.siphons):
        V = water_held(plan, state, j)
        state.volume_low[j] = min(state.volume_low[j], V)
        state.volume_high[j] = max(state.volume_high[j], V)
        if state.regime[j] == SIPHONING:
            state.flow_high[j] = max(state.flow_high[j], state.flow[plan.root[j]])


def report_cycle(plan, state, cycles, j, t, outcome):
    """Copy what siphon `j` did since its last break into `cycles`; the largest change of a level since."""
    root = plan.root[j]
    misfit = 0.0
    for i in range(plan.nodes):
        if plan.siphon[i] != j:
            continue
        z = state.level[i]
        if plan.junction[i] == 0:
            misfit = max(misfit, abs(z - state.at_break[i]))
        cycles.low[i] = state.low[i]
        cycles.high[i] = state.high[i]
        cycles.at_break[i] = z
        cycles.at_start[i] = state.at_start[i]
        state.at_break[i] = z
        state.low[i] = z
        state.high[i] = z
    cycles.outcome[j] = outcome
    cycles.began[j] = state.break_time[j]
    cycles.spill_time[j] = state.spill_time[j]
    cycles.choke_time[j] = state.choke_time[j]
    cycles.start_time[j] = state.start_time[j]
    cycles.ended[j] = t
    cycles.flow_start[j] = state.flow_start[j]
    cycles.flow_high[j] = state.flow_high[j]
    cycles.flow_end[j] = state.flow[root]
    cycles.misfit[j] = misfit
    cycles.volume_low[j] = state.volume_low[j]
    cycles.volume_high[j] = state.volume_high[j]
    cycles.level[j] = state.level[root]
    cycles.breaks[j] = state.breaks[j]
    return misfit


def outcome_of(regime):
    """Return what came of a siphon that has settled while it does this."""
    if regime == SPILLING:
        return SPILLS
    return RUNS_ON if regime == SIPHONING else IDLE


def settle_others(plan, state, cycles, j, t):
    """Siphon `j` repeats its cycle and has broken again: close those that only follow it.

    They do the same as at its last break, and over its cycle their levels have moved no faster than those
    of one that has settled. The first siphon that repeats is the one that they are held against.
    """
    for k in range(j):
        if state.done[k] == 1 and state.breaks[k] > 0:
            return
    for k in range(plan.siphons):
        if state.done[k] == 1:
            continue
        changed = max(state.spill_time[k], state.choke_time[k], state.start_time[k], state.break_time[k])
        moved = 0.0
        for i in range(plan.nodes):
            if plan.siphon[i] == k and plan.junction[i] == 0:
                moved = max(moved, abs(state.level[i] - state.at_other[i]))
                state.at_other[i] = state.level[i]
        since = t - state.break_time[j]
        if changed < state.break_time[j] and moved < SETTLED * since and state.regime[k] != PURGING:
            report_cycle(plan, state, cycles, k, t, outcome_of(state.regime[k]))
            state.done[k] = 1


def on_break(plan, state, cycles, j, t):
    """Close the cycle of a siphon that has broken, and say whether it repeats the one before."""
    n = plan.nodes
    V = water_held(plan, state, j)
    out = state.volume[n + 1 + j]
    share = 0.0
    for i in range(n):
        if plan.siphon[i] == j:
            share += plan.share[i]
    pumped = share * state.volume[n + 1 + plan.siphons]
    state.breaks[j] += 1
    if state.done[j] == 0:  # a siphon that waits for another keeps the cycle that repeated
        misfit = report_cycle(plan, state, cycles, j, t, CYCLES)
        came = pumped - state.pumped_break[j]
        went = out - state.out_break[j]
        stored = V - state.volume_break[j]
        cycles.pumped[j] = came
        cycles.drained[j] = went
        if came > 0.0:
            cycles.balance[j] = (came - went - stored) / came
        if state.breaks[j] > 1 and misfit < plan.repeat:
            state.done[j] = 1
    if state.done[j] == 1:
        settle_others(plan, state, cycles, j, t)
    state.break_time[j] = t
    state.out_break[j] = out
    state.pumped_break[j] = pumped
    state.volume_break[j] = V
    state.volume_low[j] = V
    state.volume_high[j] = V
    state.flow_high[j] = 0.0
    state.regime[j] = FILLING


def on_event(plan, state, cycles, j, t):
    """Siphon `j` stands at its event: change regime."""
    regime = state.regime[j]
    if regime == FILLING:
        state.regime[j] = SPILLING
        state.spill_time[j] = t
    elif regime == SPILLING:
        state.regime[j] = PURGING
        state.choke_time[j] = t
        state.out_choke[j] = state.volume[plan.nodes + 1 + j]  # the air goes with the flow over the lip
    elif regime == PURGING:
        state.regime[j] = SIPHONING
        state.start_time[j] = t
        drowned = state.level[plan.nodes] > plan.tail[j]
        state.open[j] = 1 - (plan.fills_drowned[j] if drowned else plan.fills[j])
        set_flows(plan, state, state.volume)
        state.flow_start[j] = state.flow[plan.root[j]]
        for i in range(plan.nodes):
            if plan.siphon[i] == j:
                state.at_start[i] = state.level[i]
    elif state.level[plan.root[j]] > plan.rim[j] + LOCATED:
        state.open[j] = 1  # air comes up the tail
    else:
        on_break(plan, state, cycles, j, t)


def settle(plan, state, cycles, t):
    """Close the siphons whose levels no longer move; whether every siphon is done."""
    all_done = True
    for j in range(plan.siphons):
        if state.done[j] == 1:
            continue
        moving = 0.0
        for i in range(plan.nodes):
            if plan.siphon[i] == j and plan.junction[i] == 0:
                moving = max(moving, abs(state.rate[i] * state.gain[i]))
        if moving < SETTLED and state.regime[j] != PURGING:
            report_cycle(plan, state, cycles, j, t, outcome_of(state.regime[j]))
            state.done[j] = 1
        else:
            all_done = False
    return all_done
