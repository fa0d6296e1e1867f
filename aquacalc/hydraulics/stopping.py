"""When a siphon stops: the level at which air gets in, and the inflows at which enough of it does."""

from __future__ import annotations

from dataclasses import dataclass

from aquacalc.equations.formulas import GRAVITY, circle_area, friction_factor, water_density
from aquacalc.equations.priming import PURGE_FROUDE, air_carried
from aquacalc.equations.running_full import air_inflow
from aquacalc.hydraulics.running import LAWS, running_flow
from aquacalc.hydraulics.siphon import siphon_flow
from aquacalc.plan.model import Plan, Siphon
from aquacalc.plan.tested import changed

#: Air a siphon can carry off with its water and run on, of its flow: a strong jump in the tail.
AIR_CARRIED = air_carried(PURGE_FROUDE[2])
#: A tube that brings this many times as much breaks the siphon without fail (our own choice).
FIRM = 3.0
#: Density (kg/m3) and kinematic viscosity (m2/s) of air at 20 degC and 1 atm (handbooks, from memory).
AIR_DENSITY = 1.204
AIR_VISCOSITY = 15.1e-6
#: Roughness of a drawn tube, m (Hydraulic Institute).
TUBE_ROUGHNESS = 1.52e-6


@dataclass(frozen=True)
class Breather:
    """What a breather tube does: `air` through it at its mouth's `level` (m), and `needed` air, m3/s."""

    level: float
    air: float
    needed: float

    @property
    def firm(self) -> bool:
        """Whether it breaks the siphon without fail."""
        return self.air >= self.needed


@dataclass(frozen=True)
class Stop:
    """Inflows that let a siphon stop.

    Attributes
    ----------
    level : float
        Elevation (m) at which air gets in; the lowest where it does so at several.
    flow : float
        What it carries at the level where the run breaks it, by the middle law, m3/s.
    low, high : float
        Least and greatest that it may carry there, m3/s.
    margin : float
        Share of the least that is kept: the plan's own margin, or the air a siphon can carry off and run on.
    firm : bool
        Broken by a tube with air in plenty.
    measured : bool
        The flows come from the grower's own readings, with the tail as it was then.
    """

    level: float
    flow: float
    low: float
    high: float
    margin: float
    firm: bool
    measured: bool


def tube_air(siphon: Siphon, depth: float, density: float) -> float:
    """Air (m3/s) through a siphon's breather under `depth` (m) of suction of water of `density` (kg/m3)."""
    tube = siphon.breather
    area, pressure = circle_area(tube.bore), density * GRAVITY * depth
    flow = air_inflow(area, pressure, AIR_DENSITY, 0.03, tube.length, tube.bore)
    for _ in range(30):
        reynolds = flow / area * tube.bore / AIR_VISCOSITY
        f = friction_factor(reynolds, TUBE_ROUGHNESS / tube.bore)
        flow = air_inflow(area, pressure, AIR_DENSITY, f, tube.length, tube.bore)
    return flow


def breather(plan: Plan, siphon: Siphon) -> Breather | None:
    """Hold a siphon's breather against what it needs; None without one, or with its mouth over the lip."""
    tube, stand = siphon.breather, siphon.standpipe
    if tube is None or tube.mouth >= stand.height:
        return None
    level = plan.vessel(siphon.host).floor + tube.mouth
    carried = max(running_flow(plan, siphon, law, level, (siphon.tail.end, siphon.tail.end)) for law in LAWS)
    air = tube_air(siphon, stand.height - tube.mouth, water_density(plan.water_temperature))
    return Breather(level, air, FIRM * AIR_CARRIED * carried)


def break_level(plan: Plan, siphon: Siphon) -> float:
    """Level (m) outside the bell at which the run takes a siphon to break."""
    rim = plan.rim_level(siphon)
    tube = breather(plan, siphon)
    if tube is not None and tube.firm:
        return max(rim, tube.level)
    return max(rim, plan.vessel(siphon.host).floor + siphon.bell.notch_height)


def stop(plan: Plan, siphon: Siphon, sumps: tuple[float, float]) -> Stop:
    """Inflows that let a siphon of a plan stop.

    Parameters
    ----------
    plan : Plan
    siphon : Siphon
    sumps : tuple of float
        Level of the sump (m) when the siphon starts, and its highest.

    Returns
    -------
    Stop
    """
    level, tube = break_level(plan, siphon), breather(plan, siphon)
    firm = tube is not None and tube.firm and level == tube.level
    low_level = level if firm else plan.rim_level(siphon)
    high_level = level if tube is None else max(level, tube.level)
    at_low = [running_flow(plan, siphon, law, low_level, sumps) for law in LAWS]
    at_high = [running_flow(plan, siphon, law, high_level, sumps) for law in LAWS]
    seen = siphon.stopping
    if seen.observed is not None and not changed(siphon):
        # Seen with the tail's end free: less where the sump takes head from it.
        end = siphon.tail.end
        there = siphon_flow(plan, siphon, end + seen.head if seen.head else low_level, end)
        part = siphon_flow(plan, siphon, low_level, sumps[1]) / there
        low, high = (part * (seen.observed + e) for e in (-seen.observed_error, seen.observed_error))
        return Stop(low_level, part * seen.observed, low, high, 0.0, firm, True)
    margin = plan.limits.stop_margin if firm else max(plan.limits.stop_margin, AIR_CARRIED)
    return Stop(
        level=low_level,
        flow=running_flow(plan, siphon, "middle", level, sumps),
        low=min(at_low),
        high=max(at_high),
        margin=margin,
        firm=firm,
        measured=False,
    )
