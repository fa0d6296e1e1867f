"""When a siphon starts: the flow at which its bore fills, and how long its bell takes to lose its air."""

from __future__ import annotations

from dataclasses import dataclass, replace

from aquacalc.equations import priming
from aquacalc.equations.formulas import GRAVITY, choking_flow, froude_bore, lip_head
from aquacalc.plan.model import Plan, Siphon
from aquacalc.plan.tested import changed

#: Least weir coefficient of a lip in print, m^0.5/s (EN 12056-3, from memory).
LEAST_WEIR = 1.34
#: What surface tension holds back at a lip, m, and the flow (m3/s) under which it does (from memory).
TENSION, TENSION_FLOW = 0.003, 1e-4


@dataclass(frozen=True)
class StartBand:
    """Inflows (m3/s) at which a siphon starts: not below `low`, surely above `high`, from about `middle`.

    `measured` says that they come from readings and not from print.
    """

    low: float
    middle: float
    high: float
    measured: bool


def start_band(siphon: Siphon) -> StartBand:
    """Return where a siphon starts: by readings of these parts if there are any, else by Froude number.

    The narrowest bore fills first and may start it; when the standpipe fills, it must.
    """
    p, bore = siphon.priming, siphon.standpipe.pipe.bore
    if p.observed is not None and not changed(siphon):
        return StartBand(p.observed - p.observed_error, p.observed, p.observed + p.observed_error, True)
    narrowest = min(bore, siphon.tail.pipe.bore)
    low = choking_flow(p.froude_low, narrowest, GRAVITY)
    middle, high = (choking_flow(fr, bore, GRAVITY) for fr in (p.froude, p.froude_high))
    return StartBand(low, middle, high, False)


def start_froudes(siphon: Siphon) -> tuple[float, float, float]:
    """Return the band as Froude numbers on the bore: low, middle, high."""
    band, bore = start_band(siphon), siphon.standpipe.pipe.bore
    return tuple(froude_bore(flow, bore, GRAVITY) for flow in (band.low, band.middle, band.high))


def choke(siphon: Siphon) -> float:
    """Flow (m3/s) at which this siphon's bore fills, the middle of its band."""
    return start_band(siphon).middle


def choking_level(plan: Plan, siphon: Siphon) -> float:
    """Elevation (m) of the water whose flow over the lip fills the bore."""
    return spill_level(plan, siphon, choke(siphon))


def spill_level(plan: Plan, siphon: Siphon, flow: float) -> float:
    """Elevation (m) of the water over the lip of a siphon at a `flow` (m3/s), before it starts."""
    wide = siphon.standpipe.lip_diameter
    return plan.lip_level(siphon) + lip_head(siphon.lip_weir, siphon.lip_orifice, wide, flow, GRAVITY)


def late_rise(plan: Plan, siphon: Siphon, inflow: float) -> float:
    """How much higher (m) than by the law taken water may stand before a start at `inflow` (m3/s).

    It may start at the end of its band, with more water over the lip, which surface tension holds back
    where little flows.
    """
    band = start_band(siphon)
    weak = replace(siphon, lip_weir=min(LEAST_WEIR, siphon.lip_weir))
    usual = spill_level(plan, siphon, min(band.middle, inflow))
    late = spill_level(plan, weak, min(max(band.high, band.middle), inflow)) - usual
    return max(late, TENSION if inflow < TENSION_FLOW else 0.0)


def trapped_air(siphon: Siphon) -> float:
    """Air (m3) under the bell's crown when water stands at the lip."""
    return priming.trapped_air(siphon.bell.bore, siphon.bell.top_height - siphon.standpipe.height, 0.0)


def purge(siphon: Siphon) -> tuple[float, float, float]:
    """Time (s) from choking to running full: shortest, central and longest estimate."""
    return priming.purge_band(trapped_air(siphon), choke(siphon))
