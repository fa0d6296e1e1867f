"""How much higher the water stands at the far end of a bed than over its outlet: what the media costs."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aquacalc.equations.formulas import GRAVITY, water_density, water_viscosity
from aquacalc.equations.media_flow import ergun
from aquacalc.plan.model import Bed, Plan

#: Sphericity of the grains: of round pebbles, and of crushed stone (from memory).
SPHERICITY = {"easy": 1.0, "hard": 0.7}
#: Steps from the outlet to the far end.
STEPS = 80
#: Least water that stands at an outlet through which something flows, m.
THIN = 0.002
#: Share of the drain time above which the far end lags behind what steady flow says (our own choice).
LAGS = 0.3


@dataclass(frozen=True)
class FarEnd:
    """The far end of one bed at one flow.

    Attributes
    ----------
    away : float
        Way from the outlet to the far end, m.
    easy, hard : float
        How much higher the water stands there than at the outlet, round grains and crushed, m.
    settles : float
        Time in which the water in the media levels out towards that, s.
    """

    away: float
    easy: float
    hard: float
    settles: float


def outlet_along(plan: Plan, bed: Bed) -> float:
    """Middle of a bed's outlet from its end wall, m: as given, the end itself, or the middle of the floor."""
    if any(s.host == bed.name for s in plan.siphons) or (bed.outlet == "floor" and bed.outlet_along is None):
        return 0.5 * bed.shape.across(0.0)[0]
    return 0.0 if bed.outlet == "side" else bed.outlet_along


def rise(plan: Plan, bed: Bed, flow: float, level: float, spread: bool, sphericity: float) -> float:
    """Rise (m) of the water from outlet to far end.

    Parameters
    ----------
    plan : Plan
    bed : Bed
    flow : float
        To the outlet, m3/s.
    level : float
        Elevation of the water at the outlet, m.
    spread : bool
        The flow comes from all of the media, as it drains; else it all comes in at the far end.
    sphericity : float
        Of the grains, a ratio.

    Returns
    -------
    float
    """
    length, _ = bed.shape.across(0.0)
    along = outlet_along(plan, bed)
    away = max(along, length - along)
    siphon = plan.siphon_in(bed.name)
    run = plan.run_from(bed.name)
    near = 0.5 * (siphon.media_guard if siphon else run.pipe.outside_diameter)
    height = max(level - bed.floor, THIN)
    wide = bed.shape.area(min(height, bed.shape.depth)) / length
    if spread:
        flow *= away / length
    if away <= near or flow <= 0.0:
        return 0.0
    media, warm = bed.media, plan.water_temperature
    grain = sphericity * math.sqrt(media.grain_smallest * media.grain_largest)
    viscosity, density = water_viscosity(warm), water_density(warm)
    wider = (away / near) ** (1.0 / STEPS)  # short steps where the water comes together at the outlet

    def falls(x: float, h: float) -> float:
        if h >= bed.media.depth:
            return 0.0  # over the media nothing holds it back
        passing = flow * (1.0 - x / away) if spread else flow
        velocity = passing / (min(wide, math.pi * x) * h)
        return ergun(viscosity, media.porosity, velocity, grain, density, 1.0) / (density * GRAVITY)

    h, x = height, near
    for _ in range(STEPS):
        step = x * (wider - 1.0)
        half = h + 0.5 * step * falls(x, h)
        h += step * falls(x + 0.5 * step, half)
        x += step
    return h - height


def far_end(plan: Plan, bed: Bed, flow: float, level: float, spread: bool) -> FarEnd:
    """Return how much higher the far end of a bed stands, by the grains of its media.

    Parameters
    ----------
    plan : Plan
    bed : Bed
    flow : float
        To the outlet, m3/s.
    level : float
        Elevation of the water at the outlet, m.
    spread : bool
        The flow comes from all of the media, as it drains; else it all comes in at the far end.

    Returns
    -------
    FarEnd
    """
    length, _ = bed.shape.across(0.0)
    along = outlet_along(plan, bed)
    away = max(along, length - along)
    if flow <= 0.0:
        return FarEnd(away, 0.0, 0.0, 0.0)
    easy, hard = (rise(plan, bed, flow, level, spread, s) for s in SPHERICITY.values())
    deep = max(level - bed.floor, THIN) + 0.5 * hard
    wide = bed.shape.area(min(deep, bed.shape.depth)) / length
    comes = flow * away / length if spread else flow
    carries = comes / (wide * deep) / max(hard / away, 1e-9)  # speed for a slope of 1
    return FarEnd(away, easy, hard, bed.media.porosity * away**2 / (carries * deep))
