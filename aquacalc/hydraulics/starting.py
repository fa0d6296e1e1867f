"""When a siphon starts: the flow at which its bore fills, and how long its bell takes to lose its air."""

from __future__ import annotations

from aquacalc.equations import priming
from aquacalc.equations.formulas import GRAVITY, choking_flow
from aquacalc.plan.model import Siphon


def choke(siphon: Siphon) -> float:
    """Flow (m3/s) at which this siphon's bore fills: the grower's own reading if there is one."""
    if siphon.priming.observed is not None:
        return siphon.priming.observed
    return choking_flow(siphon.priming.froude, siphon.standpipe.pipe.bore, GRAVITY)


def trapped_air(siphon: Siphon) -> float:
    """Air (m3) under the bell's crown when water stands at the lip."""
    return priming.trapped_air(siphon.bell.bore, siphon.bell.top_height - siphon.standpipe.height, 0.0)


def purge(siphon: Siphon) -> tuple[float, float, float]:
    """Time (s) from choking to running full: shortest, central and longest estimate."""
    return priming.purge_band(trapped_air(siphon), choke(siphon))
