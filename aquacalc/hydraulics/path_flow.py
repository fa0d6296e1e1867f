"""Kernels: the head lost along a path of pipe pieces, and the flow at which it loses a head."""

from __future__ import annotations

import math

from aquacalc.equations.formulas import piece_loss

PIECE = 5  #: numbers in a piece: flow area, hydraulic diameter, length, roughness, K
#: The slope of a loss is taken to a flow this much higher.
SLOPE_STEP = 1.000001
SLOPE_LOG = math.log(SLOPE_STEP)


def path_loss(F, at, pieces, Q, nu, g):
    """Head (m) lost along a path of `pieces` pieces that start at `F[at]`, at flow `Q` (m3/s)."""
    total = 0.0
    for k in range(pieces):
        p = at + PIECE * k
        total += piece_loss(Q, F[p], F[p + 1], F[p + 2], F[p + 3], F[p + 4], nu, g)
    return total


def path_flow(F, at, pieces, head, guess, nu, g):
    """Flow (m3/s) at which a path loses `head` (m), and d ln flow / d ln head there.

    Newton on logarithms from `guess`. The slope of the loss comes from a flow
    one part in a million higher, which leaves the root itself exact.
    """
    target = math.log(head)
    x = math.log(guess)
    slope = 0.55
    for _ in range(60):
        flow = math.exp(x)
        here = math.log(path_loss(F, at, pieces, flow, nu, g))
        beyond = math.log(path_loss(F, at, pieces, flow * SLOPE_STEP, nu, g))
        slope = SLOPE_LOG / (beyond - here)
        move = (target - here) * slope
        x += move
        if abs(move) < 1e-9:
            break
    return math.exp(x), slope
