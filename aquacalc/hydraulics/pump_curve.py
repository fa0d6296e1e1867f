"""Pump curves by the two figures on a box: between which curves the pump may run."""

from __future__ import annotations

from aquacalc.equations.pump import box_head
from aquacalc.plan.model import Pump

#: A pump may give this much less of both figures than its box says (our own choice, no source).
SHORT = 0.2
#: Points by which a parabola is drawn.
_POINTS = 24

Curve = tuple[tuple[float, float], ...]


def by_box(pump: Pump) -> bool:
    """Whether a pump's curve is no more than its greatest head and its greatest flow."""
    return len(pump.curve) == 2 and pump.curve[0][0] == 0.0 and pump.curve[1][1] == 0.0


def box_curves(pump: Pump) -> tuple[Curve, Curve]:
    """Lowest and highest curve (m3/s, m) that the two figures on a box leave open.

    The highest is the parabola through both; the lowest is the straight line
    through 20 % less of both.
    """
    (_, most_head), (most_flow, _) = pump.curve
    flows = [most_flow * k / _POINTS for k in range(_POINTS + 1)]
    high = tuple((q, box_head(most_head, q, most_flow)) for q in flows)
    return ((0.0, (1.0 - SHORT) * most_head), ((1.0 - SHORT) * most_flow, 0.0)), high
