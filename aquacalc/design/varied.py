"""What of a plan is not known exactly, how far, and the plan with it moved.

Every varied thing is a factor on the plan, log-normal about 1.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping

from aquacalc.design.readings import adjusted, spreads
from aquacalc.plan.model import Plan, Siphon
from aquacalc.plan.tested import changed, written

#: What varies: name -> words for it.
VARIED = {
    "inflow": "the pump's flow",
    "porosity": "the drainable porosity",
    "bore": "the bores of drain lines, standpipe and tail",
    "loss": "the loss coefficients of drain lines and tail",
    "lip": "the coefficients of the lip",
    "start": "the flow that starts the siphon",
}
#: Standard deviation of ln(bore): walls are held to about a tenth, half of one on each side of the bore
#: (from memory of ASTM D1785's tolerances).
BORE_SPREAD = 0.015
#: The same of the lip's coefficients: a quarter of the band 1.34 to 1.84 of sharp and broad round lips.
LIP_SPREAD = math.log(1.84 / 1.34) / 4.0


def plan_spreads(plan: Plan) -> dict[str, float]:
    """Return the standard deviation of the logarithm of each of `VARIED`, from the plan's own bands."""
    each = [spreads(plan, s.name) for s in plan.siphons]
    widest = {name: max(e[name] for e in each) for name in each[0]}
    return {name: {**widest, "bore": BORE_SPREAD, "lip": LIP_SPREAD}[name] for name in VARIED}


def _bored(plan: Plan, factor: float) -> Plan:
    """Return the plan with the bores of runs, standpipes and tails multiplied."""

    def pipe(part):
        return dataclasses.replace(part, pipe=dataclasses.replace(part.pipe, bore=part.pipe.bore * factor))

    def siphon(s: Siphon) -> Siphon:
        stand = dataclasses.replace(s.standpipe, lip_diameter=s.standpipe.lip_diameter * factor)
        new = dataclasses.replace(s, standpipe=pipe(stand), tail=pipe(s.tail))
        # The parts vary as they are made, and stay the parts that were tested.
        return dataclasses.replace(new, tested=written(new)) if s.tested and not changed(s) else new

    return dataclasses.replace(
        plan, runs=tuple(pipe(r) for r in plan.runs), siphons=tuple(siphon(s) for s in plan.siphons)
    )


def varied(plan: Plan, factors: Mapping[str, float]) -> Plan:
    """Return the plan with each of `VARIED` multiplied by its factor.

    The start is then known: its band shrinks to nothing.
    """
    plan = _bored(plan, factors["bore"])
    for at, siphon in enumerate(plan.siphons):
        lip = dataclasses.replace(
            siphon,
            lip_weir=siphon.lip_weir * factors["lip"],
            lip_orifice=siphon.lip_orifice * factors["lip"],
        )
        each = {name: factors[name] for name in ("porosity", "loss", "start")}
        if at == 0:
            each["inflow"] = factors["inflow"]
        plan = adjusted(plan, lip, each)
    sure = (
        dataclasses.replace(s, priming=dataclasses.replace(s.priming, observed_error=0.0))
        for s in plan.siphons
    )
    return dataclasses.replace(plan, siphons=tuple(sure))
