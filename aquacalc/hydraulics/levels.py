"""Levels and volumes of a plan's vessels: drained, flooded, and at any level."""

from __future__ import annotations

from aquacalc.geometry.strainers import outlet_level
from aquacalc.hydraulics.cells import Cells, level_of, volume_of
from aquacalc.hydraulics.stopping import break_level
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan.model import Bed, Plan
from aquacalc.plan.network import order


def start_level(plan: Plan, name: str) -> float:
    """Level (m) at which a drained bed, tee or chamber stands when the pump is switched on."""
    tee = plan.tee(name)
    if tee is not None:
        return tee.elevation
    vessel = plan.vessel(name)
    siphon = plan.siphon_in(name)
    if siphon is not None:
        return break_level(plan, siphon)
    return outlet_level(plan, vessel) if isinstance(vessel, Bed) else vessel.floor


def volume_at(cells: Cells, z: float) -> float:
    """Volume (m3) of a vessel with these cells filled to elevation `z` (m)."""
    return volume_of(cells, 0, len(cells.z0) - 1, z)


def level_at(cells: Cells, V: float) -> float:
    """Elevation (m) of the water in a vessel with these cells that holds `V` (m3)."""
    return level_of(cells, 0, len(cells.z0) - 1, V, 0)[0]


def flood_volume(plan: Plan) -> float:
    """Water (m3) that beds and chambers take from drained to standing at their siphon's lip."""
    return sum(floods(plan).values())


def floods(plan: Plan) -> dict[str, float]:
    """Water (m3) that each bed and chamber takes from drained to standing at its siphon's lip, by name."""
    vessels, found = {vessel.name: vessel for vessel in plan.vessels}, {}
    for name, group in order(plan):
        if name in vessels:
            cells, low = vessel_cells(plan, vessels[name]), start_level(plan, name)
            lip = plan.lip_level(plan.siphons[group])
            found[name] = volume_at(cells, max(lip, low)) - volume_at(cells, low)
    return found


def drained_sump_level(plan: Plan) -> float:
    """Sump elevation (m) when the pump is off and every bed has drained."""
    sump = plan.sump
    level = sump.floor + sump.water_level
    if sump.measured_with == "beds drained":
        return level
    cells = vessel_cells(plan, sump)
    return level_at(cells, volume_at(cells, level) + flood_volume(plan))
