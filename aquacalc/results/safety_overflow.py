"""What a safety overflow is for: the water rises although the standpipes are blocked."""

from __future__ import annotations

from aquacalc.engine.packing import pack
from aquacalc.engine.runner import run_packed
from aquacalc.engine.state import NEVER
from aquacalc.plan.model import Plan
from aquacalc.plan.network import order


def blocked(plan: Plan) -> dict[str, float]:
    """Return the level (m) of each bed and chamber at rest, the pump running and no water over any lip.

    Walls go on above the rim: a level over it says by how much it overflows.
    """
    packed = pack(plan)
    nothing = [NEVER] * packed.siphons
    _, cycles, _ = run_packed(packed._replace(lip=nothing, start_level=nothing), trace=False)
    levels = zip(order(plan), cycles.last, strict=False)
    return {name: level for (name, _), level in levels if plan.tee(name) is None}
