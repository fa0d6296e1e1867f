"""The pump: its flow, and the sump level at which it draws air."""

from __future__ import annotations

from aquacalc.equations.formulas import GRAVITY, water_kinematic_viscosity
from aquacalc.hydraulics.duty import PUMP_GUARD_BAND, duty_flow
from aquacalc.hydraulics.paths import as_pieces, delivery_path
from aquacalc.plan.model import Plan


def lowest_pump_level(plan: Plan) -> float:
    """Sump elevation (m) at which the pump's intake is no longer covered."""
    return plan.sump.floor + plan.pump.intake


def full_flow_level(plan: Plan) -> float:
    """Sump elevation (m) below which air takes some of the pump's flow."""
    return lowest_pump_level(plan) + PUMP_GUARD_BAND


def pump_flow(plan: Plan, sump: float) -> float:
    """Flow (m3/s) of the pump with the sump at `sump` (m) and its intake covered."""
    pump = plan.pump
    if pump.flow is not None:
        return pump.flow
    flows, heads = zip(*pump.curve, strict=True)
    pieces = as_pieces(delivery_path(pump.delivery))
    viscosity = water_kinematic_viscosity(plan.water_temperature)
    lift = pump.delivery.outlet - sump
    return duty_flow(flows, heads, pieces, 0, len(pieces.area), lift, viscosity, GRAVITY)
