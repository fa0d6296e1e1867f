"""The inflow window of a siphon, how far the sump's level goes, and the pressure at the crest.

The window runs from the lowest flow that starts the siphon to the highest that
lets it stop; where it starts is known only as a band.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from aquacalc.equations.formulas import (
    GRAVITY,
    circle_area,
    water_density,
    water_kinematic_viscosity,
)
from aquacalc.equations.siphon import crest_pressure
from aquacalc.hydraulics.levels import flood_volume, level_at, start_level, volume_at
from aquacalc.hydraulics.paths import siphon_path
from aquacalc.hydraulics.pump import full_flow_level, pump_flow
from aquacalc.hydraulics.pump_curve import box_curves, by_box
from aquacalc.hydraulics.running import LAWS, is_full
from aquacalc.hydraulics.siphon import siphon_flow, siphon_head
from aquacalc.hydraulics.starting import spill_level, start_band
from aquacalc.hydraulics.stopping import break_level, stop
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan.model import Plan, Siphon
from aquacalc.plan.network import order
from aquacalc.results.cycle import SystemCycle

#: Standard atmosphere, Pa (CGPM 1954, exact by convention).
ATMOSPHERE = 101325.0


@dataclass(frozen=True)
class Window:
    """Inflows between which one siphon starts and stops, m3/s.

    Attributes
    ----------
    siphon : str
    start_low, start, start_high : float
        Below the first it does not start, above the last it does, and between it may.
    observed : bool
        The three come from the grower's own reading and its error.
    stop : float
        Greatest flow that the siphon may have with the water where air gets in: a higher inflow never
        lets air in. 0 when the sump stands over the rim.
    stop_least : float
        Least flow that it may have there; less than `stop` where nobody knows whether the tail runs full.
    margin : float
        Share of the least that is kept: the plan's own, or the air that a siphon can carry off and run on.
    stop_with_margin : float
        Highest inflow that is said to let it stop: the least flow less the margin.
    tail_full : {"full", "open", "uncertain"}
        What the tail is when it stops.
    stop_level : float
        Elevation at which air gets in: the rim, the top of a notch, or a breather's mouth, m.
    firm : bool
        Stopped by a breather with air in plenty.
    today : float
        Inflow of the plan, averaged over the cycle.
    today_low, today_high : float
        Inflow with the sump at its lowest and at its highest; both are `today` for a constant pump. By
        the two figures of a pump's box, the least and the most that it may give.
    head_at_rim : float
        Level at which it stops above the tail's outlet, or above the sump where that is higher, m.
    stop_observed : bool
        `stop` and `stop_with_margin` come from the grower's own readings: it runs on from the first, and
        stops up to the second, nine times in ten.
    """

    siphon: str
    start_low: float
    start: float
    start_high: float
    observed: bool
    stop: float
    stop_least: float
    margin: float
    stop_with_margin: float
    tail_full: str
    stop_level: float
    firm: bool
    today: float
    today_low: float
    today_high: float
    head_at_rim: float
    stop_observed: bool


@dataclass(frozen=True)
class SumpRange:
    """Levels of the sump (m), with every group taken at its fullest or emptiest at once.

    Attributes
    ----------
    low : float
        Every group full at the same time.
    high : float
        Every group just drained at the same time.
    pump_off : float
        Pump off, every bed drained to its outlet and the delivery pipe run back.
    """

    low: float
    high: float
    pump_off: float


def _pump_band(plan: Plan) -> tuple[Plan, Plan]:
    """Return the plan with the least and the most that its pump may give."""
    if not by_box(plan.pump):
        return plan, plan
    least, most = (replace(plan, pump=replace(plan.pump, curve=c)) for c in box_curves(plan.pump))
    return least, most


def inflow_part(plan: Plan, siphon: Siphon) -> float:
    """Part of the pump's flow that goes to the beds of one siphon."""
    mine = {name for name, group in order(plan) if plan.siphons[group].name == siphon.name}
    shares = [(bed.inflow_share, bed.name in mine) for bed in plan.beds]
    return sum(share for share, is_mine in shares if is_mine) / sum(share for share, _ in shares)


def system_water(plan: Plan, run: SystemCycle) -> float:
    """Water (m3) in sump, beds and chambers together; what stands in pipes is not counted."""
    held = sum(
        volume_at(vessel_cells(plan, vessel), start_level(plan, vessel.name)) for vessel in plan.vessels
    )
    return volume_at(vessel_cells(plan, plan.sump), run.sump_drained) + held


def sump_range(plan: Plan, run: SystemCycle) -> SumpRange:
    """How far the sump's level goes when all groups come together."""
    cells, water = vessel_cells(plan, plan.sump), system_water(plan, run)
    delivery = plan.pump.delivery
    back = circle_area(delivery.pipe.bore) * delivery.length if delivery else 0.0
    return SumpRange(
        low=level_at(cells, water - sum(g.volume_high for g in run.groups)),
        high=level_at(cells, water - sum(g.volume_low for g in run.groups)),
        pump_off=level_at(cells, volume_at(cells, run.sump_drained) + back),
    )


def runs_dry(plan: Plan, run: SystemCycle) -> bool:
    """Whether the pump draws air in the run."""
    return run.sump_low <= full_flow_level(plan)


def short_of_water(plan: Plan, run: SystemCycle) -> bool:
    """Whether the pump draws air because the sump does not hold what full beds take."""
    return runs_dry(plan, run) and _flooded_level(plan, run) <= full_flow_level(plan)


def beds_full_level(plan: Plan, run: SystemCycle, levels: SumpRange) -> float:
    """Sump elevation (m) with every bed full; where the pump runs dry first, the level that would take."""
    return min(levels.low, run.sump_low, _flooded_level(plan, run)) if runs_dry(plan, run) else levels.low


def _flooded_level(plan: Plan, run: SystemCycle) -> float:
    """Sump elevation (m) with water standing over every lip as high as the inflow makes it."""
    cells, flow = vessel_cells(plan, plan.sump), pump_flow(plan, full_flow_level(plan))
    left = volume_at(cells, run.sump_drained) - flood_volume(plan)
    vessels = {vessel.name: vessel for vessel in plan.vessels}
    for name, group in order(plan):
        if name in vessels:
            siphon, held = plan.siphons[group], vessel_cells(plan, vessels[name])
            inflow = min(start_band(siphon).middle, inflow_part(plan, siphon) * flow)
            top = spill_level(plan, siphon, inflow)
            left -= volume_at(held, top) - volume_at(held, plan.lip_level(siphon))
    return level_at(cells, left)


def inflow_window(plan: Plan, siphon: Siphon, run: SystemCycle, levels: SumpRange | None = None) -> Window:
    """Inflow window of one siphon of a plan that has been run.

    Parameters
    ----------
    plan : Plan
    siphon : Siphon
        One of the plan's.
    run : SystemCycle
        What `aquacalc.results.cycle.run_plan` gave for the plan.
    levels : SumpRange, optional
        Of the same run, when it is known already.

    Returns
    -------
    Window

    Examples
    --------
    >>> from aquacalc.catalogue import data_dir
    >>> from aquacalc.plan.read import read_plan
    >>> from aquacalc.results.cycle import run_plan
    >>> plan = read_plan(data_dir() / "plans" / "one-bed.toml")
    >>> window = inflow_window(plan, plan.siphons[0], run_plan(plan, trace=False))
    >>> window.start_low < window.start < window.start_high
    True
    """
    group, start = run.group(siphon.name), start_band(siphon)
    levels = levels or sump_range(plan, run)
    high = min(levels.high, plan.sump.rim)  # what is over the rim has run off
    sumps = (min(levels.low, high), high)
    end = stop(plan, siphon, sumps)
    full = {is_full(plan, siphon, law, end.level, sumps) for law in LAWS}
    today = group.inflow
    today_low = today_high = today
    if plan.pump.curve:
        part = inflow_part(plan, siphon)
        least, most = _pump_band(plan)
        today_low = min(today, part * pump_flow(least, levels.low))
        today_high = max(today, part * pump_flow(most, levels.high))
    return Window(
        siphon=siphon.name,
        start_low=start.low,
        start=start.middle,
        start_high=start.high,
        observed=start.measured,
        stop=end.high,
        stop_least=end.low,
        margin=end.margin,
        stop_with_margin=end.low * (1.0 - end.margin),
        tail_full="uncertain" if len(full) > 1 else "full" if True in full else "open",
        stop_level=end.level,
        firm=end.firm,
        today=today,
        today_low=today_low,
        today_high=today_high,
        head_at_rim=siphon_head(siphon, end.level, high),
        stop_observed=end.measured,
    )


@dataclass(frozen=True)
class Crest:
    """A siphon running full, and the pressure at its lip, where it is lowest.

    Attributes
    ----------
    level : float
        Water outside the bell, m.
    flow, velocity : float
        m3/s, and m/s in the standpipe's bore.
    height : float
        Lip above the water, m; negative below it.
    loss : float
        Loss coefficient of the way up to the lip, on the bore.
    pressure : float
        Absolute, Pa.
    """

    level: float
    flow: float
    velocity: float
    height: float
    loss: float
    pressure: float


def crest(plan: Plan, siphon: Siphon, level: float, flow: float) -> Crest:
    """Pressure at the lip of a siphon that carries `flow` (m3/s) with the water outside at `level` (m)."""
    viscosity = water_kinematic_viscosity(plan.water_temperature)
    velocity = flow / circle_area(siphon.standpipe.pipe.bore)
    velocity_head = velocity**2 / (2.0 * GRAVITY)
    openings, annulus, standpipe, *_ = siphon_path(plan, siphon)
    lost = openings.loss(flow, viscosity) + annulus.loss(flow, viscosity)
    loss = standpipe.k + (lost / velocity_head if velocity_head > 0.0 else 0.0)
    height = plan.lip_level(siphon) - level
    density = water_density(plan.water_temperature)
    pressure = crest_pressure(ATMOSPHERE, density, GRAVITY, height, loss, velocity)
    return Crest(level, flow, velocity, height, loss, pressure)


def crests(plan: Plan, siphon: Siphon, levels: SumpRange) -> tuple[Crest, Crest]:
    """Return the crest with the water at the lip and at the bell rim, where suction is strongest."""
    lip, rim = plan.lip_level(siphon), break_level(plan, siphon)
    return (
        crest(plan, siphon, lip, siphon_flow(plan, siphon, lip, levels.low)),
        crest(plan, siphon, rim, siphon_flow(plan, siphon, rim, min(levels.high, plan.sump.rim))),
    )
