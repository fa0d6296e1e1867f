"""Kernels: levels, flows and rates of the whole plan from its state."""

from __future__ import annotations

from aquacalc.engine.junctions import balance_junctions
from aquacalc.engine.pipe_flow import lip_flow_slope, set_runs
from aquacalc.engine.state import PUMP_POINTS, SIPHONING
from aquacalc.engine.tables import table_flow
from aquacalc.hydraulics.cells import level_of
from aquacalc.hydraulics.duty import PUMP_GUARD_BAND


def pump_flow(plan, state, z_sump):
    """Pump flow (m3/s) and its slope with sump level (m2/s); none when the intake draws air."""
    if len(plan.curve_flow) == 0:
        flow = plan.pump_flow
        slope = 0.0
    else:
        step = (plan.sump_rim - plan.sump_floor) / (PUMP_POINTS - 1)
        x = (z_sump - plan.sump_floor) / step
        k = min(max(int(x), 0), PUMP_POINTS - 2)
        below = state.pump_table[k]
        slope = (state.pump_table[k + 1] - below) / step
        flow = below + slope * step * (x - k)
    cover = (z_sump - plan.pump_guard) / PUMP_GUARD_BAND
    if cover >= 1.0:
        return flow, slope
    if cover <= 0.0:
        return 0.0, 0.0
    return flow * cover, slope * cover + flow / PUMP_GUARD_BAND


def siphon_outflow(plan, state, j):
    """Flow (m3/s) of siphon `j`, running or over its lip; slopes with the levels at root and sump (m2/s).

    What a safety overflow takes, over its edge as over a lip, goes with it.
    """
    z = state.level[plan.root[j]]
    if state.regime[j] == SIPHONING:
        q, a, b = running(plan, state, j, z)
    else:
        q, a = lip_flow_slope(
            plan.lip_weir[j], plan.lip_orifice[j], plan.lip_diameter[j], z - plan.lip[j], plan.gravity
        )
        b = 0.0
    over = z - plan.overflow[j]
    if over > 0.0:
        more, rise = lip_flow_slope(
            plan.lip_weir[j], plan.lip_orifice[j], plan.overflow_bore[j], over, plan.gravity
        )
        q += more
        a += rise
    return q, a, b


def running(plan, state, j, z):
    """Flow (m3/s) of siphon `j` that runs, water at `z` (m), and its slopes as `siphon_outflow` has them."""
    z_sump = state.level[plan.nodes]
    end = plan.foot[j] if state.open[j] == 1 else plan.tail[j]
    drowned = z_sump > end
    head = z - (z_sump if drowned else end)
    if not head > 0.0:  # true of no number too, which a step about to be refused may leave here
        return 0.0, 0.0, 0.0
    q, a = table_flow(state, plan.nodes + (plan.siphons if state.open[j] == 1 else 0) + j, head)
    return q, a, (-a if drowned else 0.0)


def set_levels(plan, state, volume):
    """Levels and their gain per unit of state at the state `volume`."""
    n = plan.nodes
    for i in range(n + 1):
        if i < n and plan.junction[i] == 1:
            state.level[i] = volume[i]
            state.gain[i] = 1.0
            continue
        z, A, k = level_of(plan.cells, plan.first_cell[i], plan.last_cell[i], volume[i], state.cell[i])
        state.level[i] = z
        state.gain[i] = 1.0 / A
        state.cell[i] = k


def set_flows(plan, state, volume):
    """Flows, their slopes and rates at the state `volume`, junctions balanced."""
    set_levels(plan, state, volume)
    n = plan.nodes
    rate = state.rate
    pumped, pump_slope = pump_flow(plan, state, state.level[n])
    state.flow[n] = pumped
    state.slope_up[n] = pump_slope
    set_runs(plan, state, True)
    balance_junctions(plan, state, volume)
    for i in range(n):
        rate[i] = state.net[i] + plan.share[i] * pumped
    rate[n] = -pumped
    for j in range(plan.siphons):
        root = plan.root[j]
        q, a, b = siphon_outflow(plan, state, j)
        state.flow[root] = q
        state.slope_up[root] = a
        state.slope_down[root] = b
        rate[root] -= q
        rate[n] += q
        rate[n + 1 + j] = q
    rate[n + 1 + plan.siphons] = pumped
