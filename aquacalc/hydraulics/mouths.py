"""A pipe's mouth with a free surface: the water that stands before it, and the flow it takes."""

from __future__ import annotations

import math
from functools import lru_cache

from aquacalc.equations.formulas import GRAVITY, critical_flow, mouth_level
from aquacalc.equations.mouth import MOUTH_LOSS
from aquacalc.plan.model import Run

#: Part of the bore to which the law of a free surface is followed.
DEEPEST = 0.97


def mouth_loss(run: Run) -> float:
    """Loss into the mouth of a run on its own velocity: by its entrance, flush or standing into the bed."""
    flush, projecting = MOUTH_LOSS
    return projecting if any(f.name == "entrance, projecting" for f in run.fittings) else flush


def critical_depth(flow: float, D: float) -> float:
    """Depth (m) at which `flow` (m3/s) is critical in a pipe of bore `D` (m); at most near its crown."""
    low, high = 0.0, DEEPEST * D
    if flow <= 0.0 or critical_flow(high, D, GRAVITY) <= flow:
        return high if flow > 0.0 else 0.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if critical_flow(middle, D, GRAVITY) < flow:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@lru_cache(maxsize=4096)
def _level(flow: float, D: float, loss: float) -> float:
    y = critical_depth(flow, D)
    return mouth_level(y, D, loss) if y > 0.0 else 0.0


def mouth_level_at(run: Run, flow: float) -> float:
    """Still water (m) over the invert of a run's mouth that takes `flow` (m3/s) with a free surface."""
    return _level(flow, run.pipe.bore, mouth_loss(run))


def level_curve(loss: float, levels: list[float]) -> tuple[list[float], list[float]]:
    """Flow into a mouth at levels over its invert, all over powers of its bore.

    Parameters
    ----------
    loss : float
        Loss coefficient of the mouth, on its own velocity.
    levels : list of float
        Over the bore; up to 1.

    Returns
    -------
    tuple of list
        ln of flow over sqrt(g) D^2.5, and its slope against ln of the level.
    """
    flows, slopes = [], []
    for level in levels:
        low, high = 0.0, DEEPEST
        for _ in range(80):
            y = 0.5 * (low + high)
            low, high = (y, high) if mouth_level(y, 1.0, loss) < level else (low, y)
        y, h = 0.5 * (low + high), 1e-4 * level
        flow = critical_flow(y, 1.0, 1.0)
        rise = (mouth_level(y + h, 1.0, loss) - mouth_level(y - h, 1.0, loss)) / (2.0 * h)
        more = (critical_flow(y + h, 1.0, 1.0) - critical_flow(y - h, 1.0, 1.0)) / (2.0 * h)
        flows.append(math.log(flow))
        slopes.append(more / rise * level / flow)
    return flows, slopes
