"""Kernels: one step in time.

The integrator is the stiffly accurate Rosenbrock pair of order 3(2) with four
stages and gamma 1/2 that is widely printed as RODAS3 (Sandu et al. 1997,
Atmospheric Environment 31:3459; coefficients from memory, held by an order
test). Being linearly implicit with the exact slopes of the network it takes
steps of seconds where drain lines answer in milliseconds, and it keeps the
total volume to rounding. Junctions are balanced exactly at every stage.
"""

from __future__ import annotations

from aquacalc.engine.rates import set_flows
from aquacalc.engine.solve import factor, solve


def stage(plan, state, x, h, c1, c2, c3):
    """Right-hand side and solution of the stage `x` from the rates last set."""
    for i in range(plan.nodes + plan.siphons + 2):
        x[i] = state.rate[i]
        if i >= plan.nodes or plan.junction[i] == 0:
            x[i] += (c1 * state.k1[i] + c2 * state.k2[i] + c3 * state.k3[i]) / h
    solve(plan, state, x, 2.0 / h)


def attempt(plan, state, h, known):
    """One step of `h` seconds from volume to trial; the largest error over its tolerance.

    `known` says that the flows last set are those of the state.
    """
    n = plan.nodes
    width = n + plan.siphons + 2
    volume = state.volume
    trial = state.trial
    k1 = state.k1
    k3 = state.k3
    k4 = state.k4
    if not known:
        set_flows(plan, state, volume)
    factor(plan, state, 2.0 / h)
    for i in range(width):
        k1[i] = 0.0
        state.k2[i] = 0.0
        k3[i] = 0.0
    stage(plan, state, k1, h, 0.0, 0.0, 0.0)
    stage(plan, state, state.k2, h, 4.0, 0.0, 0.0)
    for i in range(width):
        trial[i] = volume[i] + 2.0 * k1[i]
    set_flows(plan, state, trial)
    stage(plan, state, k3, h, 1.0, -1.0, 0.0)
    for i in range(width):
        trial[i] = volume[i] + 2.0 * k1[i] + k3[i]
    set_flows(plan, state, trial)
    stage(plan, state, k4, h, 1.0, -1.0, -8.0 / 3.0)
    worst = 0.0
    for i in range(width):
        trial[i] += k4[i]
    for i in range(n + 1):
        if i < n and plan.junction[i] == 1:
            continue
        error = abs(k4[i] * state.gain[i])
        worst = max(worst, error) if error == error else 1e30
    return worst / plan.tolerance
