"""Kernels: one step in time.

The integrator is the stiffly accurate Rosenbrock pair of order 3(2) with four
stages and gamma 1/2 that is widely printed as RODAS3 (Sandu et al. 1997,
Atmospheric Environment 31:3459; coefficients from memory, held by an order
test). Being linearly implicit with the exact slopes of the network it takes
steps of seconds where drain lines answer in milliseconds, and it keeps the
total volume to rounding. Junctions are balanced exactly at every stage.
"""

from __future__ import annotations

from aquacalc.engine.deck import (
    F_TOLERANCE,
    HEADER_INTS,
    I_NODES,
    I_W_GAIN,
    I_W_RATE,
    I_W_STAGES,
    I_W_STATE,
    I_W_TRIAL,
    I_WIDTH,
    N_JUNCTION,
    NODE_INTS,
)
from aquacalc.engine.network import set_flows
from aquacalc.engine.solve import factor, solve


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
