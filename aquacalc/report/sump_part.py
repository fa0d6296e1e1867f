"""Report sections on the sump, the pump, the water and the weight."""

from __future__ import annotations

from aquacalc.equations.formulas import (
    GRAVITY,
    friction_factor,
    water_density,
    water_kinematic_viscosity,
    water_viscosity,
)
from aquacalc.equations.media_flow import days_of_water
from aquacalc.findings.beds import CAUTION, weight
from aquacalc.hydraulics.levels import volume_at
from aquacalc.hydraulics.paths import delivery_path
from aquacalc.hydraulics.pump import lowest_pump_level
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan.model import Plan
from aquacalc.report.records import Cell, Row, Section, Working
from aquacalc.report.wording import line, row, rows_of, section, table, words
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import beds_full_level, runs_dry, sump_range, system_water

DAY = 86400.0
#: Water that evaporates (m/s): a greenhouse in winter, between, and in July (Fernandez et al., abstract).
EVAPORATION = (1e-3 / DAY, 2e-3 / DAY, 4e-3 / DAY)


def sump_section(plan: Plan, run: SystemCycle) -> Section:
    """Build the sump's levels: full beds, drained beds, pump off."""
    levels, sump, guard = sump_range(plan, run), plan.sump, lowest_pump_level(plan)
    cells, row = vessel_cells(plan, sump), rows_of("sump")
    full = beds_full_level(plan, run, levels)
    dry = "here the pump draws air; the beds are not full" if runs_dry(plan, run) else None
    short = "too low by this much when the beds are full" if full < guard else None
    rows = (
        row("low", levels.low, note=dry),
        row("high", levels.high),
        row("swing", levels.high - levels.low),
        row("swing_volume", volume_at(cells, levels.high) - volume_at(cells, levels.low)),
        row("pump_off", levels.pump_off),
        row("rim", sump.rim),
        row("freeboard", sump.rim - max(levels.high, levels.pump_off)),
        row("intake", guard),
        row("cover", full - guard, note=short),
        *_evaporates(plan, full),
        row("water", system_water(plan, run)),
    )
    several = words()["section"]["sump"]["several"] if len(plan.siphons) > 1 else ""
    return section("sump", rows=rows, several=several)


def _evaporates(plan: Plan, low: float) -> tuple[Row, ...]:
    """How long the water over the intake lasts when nobody tops it up."""
    guard, cells = lowest_pump_level(plan), vessel_cells(plan, plan.sump)
    spare = volume_at(cells, low) - volume_at(cells, guard)
    if spare <= 0.0:
        return ()
    shapes = [plan.sump.shape, *(bed.shape for bed in plan.beds)]
    area = sum(shape.area(shape.depth) for shape in shapes)
    slow, usual, fast = (days_of_water(spare, e, area) for e in EVAPORATION)
    daily = "0.04 to 0.16 in" if plan.units == "us" else "1 to 4 mm"
    working = Working("days_of_water", {"V": spare, "e": EVAPORATION[1], "A": area})
    return (row("sump", "dry", usual, working, low=fast, high=slow, daily=daily),)


def pump_section(plan: Plan, run: SystemCycle) -> Section:
    """Build the pump's figures."""
    pump, flow, levels, row = plan.pump, run.pump, sump_range(plan, run), rows_of("pump")
    rows = [row("flow", flow)]
    if pump.delivery and flow > 0.0:
        rows.append(row("head", *_head(plan, flow, 0.5 * (levels.low + levels.high))))
    rows.append(row("turnover", flow / system_water(plan, run)))
    if pump.power > 0.0:
        rows.append(row("power", pump.power))
        part, when = 1.0, "all the time"
        if pump.on is not None:
            part, when = pump.on / (pump.on + pump.off), "as the timer lets it"
        rows.append(row("energy", part * pump.power * DAY, when=when))
    return section("pump", rows=rows)


def _head(plan: Plan, flow: float, sump: float) -> tuple[float, Working]:
    """Head (m) asked of the pump at a flow and a sump level, with its equation."""
    viscosity = water_kinematic_viscosity(plan.water_temperature)
    (piece,) = delivery_path(plan.pump.delivery)
    f = friction_factor(flow / piece.area * piece.diameter / viscosity, piece.roughness / piece.diameter)
    lift = plan.pump.delivery.outlet - sump
    values = {
        "H_s": lift, "f": f, "L": piece.length, "D": piece.diameter, "K": piece.k, "Q": flow, "A": piece.area,
        "g": GRAVITY,
    }  # fmt: skip
    return lift + piece.loss(flow, viscosity), Working("system_head", values)


def weight_section(plan: Plan, run: SystemCycle) -> Section:
    """Build the wet weight of each bed."""
    density, lines = water_density(plan.water_temperature), []
    for bed in plan.beds:
        w = weight(plan, bed, run.node(bed.name).high)
        values = {
            "m": bed.empty_mass, "rho_m": bed.media.bulk_density, "V_m": w.media_volume, "rho": density,
            "V_w": w.water_volume,
        }  # fmt: skip
        total = Cell(w.total, Working("wet_mass", values))
        load = Cell(w.load, Working("floor_load", {"M": w.total, "A": w.area}))
        lines.append(line(bed.name, bed.empty_mass, w.media, w.water, total, w.area, load, w.support))
    return section("weight", tables=(table("weight", lines),), caution=CAUTION)


def water_section(plan: Plan) -> Section:
    """Build the properties of the water."""
    temperature, row = plan.water_temperature, rows_of("water")
    density, viscosity = water_density(temperature), water_viscosity(temperature)
    kinematic = Working("kinematic_viscosity", {"mu": viscosity, "rho": density})
    rows = (
        row("temperature", temperature),
        row("density", density, Working("water_density", {"T": temperature})),
        row("viscosity", water_kinematic_viscosity(temperature), kinematic),
    )
    return section("water", rows=rows)
