"""Kernels: the head lost along a path of pipe pieces, and the flow at which it loses a head."""

import math
from collections.abc import Sequence
from typing import NamedTuple

from aquacalc.equations.formulas import piece_loss

#: The slope of a loss is taken to a flow this much higher.
SLOPE_STEP = 1.000001
SLOPE_LOG = math.log(SLOPE_STEP)


class Pieces(NamedTuple):
    """Pieces of one or more paths: flow area (m2), hydraulic diameter, length, roughness (m), local loss."""

    area: Sequence[float]
    diameter: Sequence[float]
    length: Sequence[float]
    roughness: Sequence[float]
    k: Sequence[float]


def path_loss(pieces, first, end, Q, nu, g):
    """Head (m) lost along the pieces from `first` to before `end`, at flow `Q` (m3/s)."""
    total = 0.0
    for k in range(first, end):
        total += piece_loss(
            Q, pieces.area[k], pieces.diameter[k], pieces.length[k], pieces.roughness[k], pieces.k[k], nu, g
        )
    return total


def path_flow(pieces, first, end, head, guess, nu, g):
    """Flow (m3/s) at which a path loses `head` (m), and d ln flow / d ln head there.

    Newton on logarithms from `guess`. The slope of the loss comes from a flow
    one part in a million higher, which leaves the root itself exact.
    """
    target = math.log(head)
    x = math.log(guess)
    slope = 0.55
    for _ in range(60):
        flow = math.exp(x)
        here = math.log(path_loss(pieces, first, end, flow, nu, g))
        beyond = math.log(path_loss(pieces, first, end, flow * SLOPE_STEP, nu, g))
        slope = SLOPE_LOG / (beyond - here)
        move = (target - here) * slope
        x += move
        if abs(move) < 1e-9:
            break
    return math.exp(x), slope
