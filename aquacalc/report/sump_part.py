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
from aquacalc.report.records import Cell, Column, Line, Row, Section, Table, Working
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import beds_full_level, runs_dry, sump_range, system_water

DAY = 86400.0
#: Water that evaporates (m/s): a greenhouse in winter, between, and in July (Fernandez et al., abstract).
EVAPORATION = (1e-3 / DAY, 2e-3 / DAY, 4e-3 / DAY)


def sump_section(plan: Plan, run: SystemCycle) -> Section:
    """Build the sump's levels: full beds, drained beds, pump off."""
    levels, sump, guard = sump_range(plan, run), plan.sump, lowest_pump_level(plan)
    cells = vessel_cells(plan, sump)
    swing = volume_at(cells, levels.high) - volume_at(cells, levels.low)
    dry = runs_dry(plan, run)
    full = beds_full_level(plan, run, levels)
    rows = (
        Row("low", "Lowest level", levels.low, "elevation",
            "here the pump draws air; the beds are not full" if dry else "every bed full"),
        Row("high", "Highest level while running", levels.high, "elevation", "every bed just drained"),
        Row("swing", "Swing", levels.high - levels.low, "length", "between the two"),
        Row("swing_volume", "Water that goes up and comes back", swing, "volume"),
        Row("pump_off", "Level with the pump off", levels.pump_off, "elevation",
            "every bed drained to its outlet, the delivery pipe run back"),
        Row("rim", "Rim", sump.rim, "elevation"),
        Row("freeboard", "Least freeboard", sump.rim - max(levels.high, levels.pump_off), "length",
            "rim above the highest of these levels"),
        Row("intake", "Lowest level the pump can take", guard, "elevation", "its intake is just covered"),
        Row("cover", "Least cover of the intake", full - guard, "length",
            "so much too low when the beds are full" if full < guard else ""),
        *_evaporates(plan, levels.low),
        Row("water", "Water in all, sump, beds and chambers", system_water(plan, run), "volume",
            "without the water in the pipes"),
    )  # fmt: skip
    intro = "The sump gives the water that floods the beds and takes it back."
    if len(plan.siphons) > 1:
        intro += (
            " All siphons are assumed to fill, and to drain, at the same time: sooner or later they will."
        )
    return Section("sump", "Sump", intro, rows=rows)


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
    note = f"the water over the intake at the lowest level, evaporating from beds and sump at {daily} a day"
    working = Working("days_of_water", {"V": spare, "e": EVAPORATION[1], "A": area})
    return (Row("dry", "Until the pump draws air, not topped up", usual, "time", note, working, fast, slow),)


def pump_section(plan: Plan, run: SystemCycle) -> Section:
    """Build the pump's figures."""
    pump, flow, levels = plan.pump, run.pump, sump_range(plan, run)
    turnover = flow / system_water(plan, run)
    rows = [Row("flow", "Flow, mean", flow, "flow", "over the whole run")]
    if pump.delivery and flow > 0.0:
        sump = 0.5 * (levels.low + levels.high)
        rows.append(
            Row("head", "Head the pump must give", _head(plan, flow, sump)[0], "head",
                "lift from the middle of the sump's swing to the delivery's end, and the pipe's loss",
                _head(plan, flow, sump)[1])
        )  # fmt: skip
    rows.append(
        Row(
            "turnover",
            "Water turned over",
            turnover,
            "frequency",
            "common practice is about once an hour (no source)",
        )
    )
    if pump.power > 0.0:
        rows.append(Row("power", "Power", pump.power, "power"))
        part, note = 1.0, "running all the time"
        if pump.on is not None:
            part, note = pump.on / (pump.on + pump.off), "running as the timer lets it"
        rows.append(Row("energy", "Energy in a day", part * pump.power * DAY, "energy", note))
    return Section("pump", "Pump", "", rows=tuple(rows))


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
        cells = (
            Cell(bed.empty_mass),
            Cell(w.media),
            Cell(w.water),
            total,
            Cell(w.area),
            load,
            Cell(w.support),
        )
        lines.append(Line(bed.name, cells))
    columns = (
        Column("empty", "Empty", "mass"),
        Column("media", "Dry media", "mass"),
        Column("water", "Water", "mass"),
        Column("total", "Flooded", "mass"),
        Column("area", "Area", "area"),
        Column("load", "Load on its area", "load"),
        Column("support", "On each support", "mass"),
    )
    note = "Water that the media holds after draining, plants and people are not counted."
    table = Table("weight", "Wet weight", "Bed", columns, tuple(lines), note)
    return Section("weight", "Wet weight", CAUTION, tables=(table,))


def water_section(plan: Plan) -> Section:
    """Build the properties of the water."""
    temperature = plan.water_temperature
    density, viscosity = water_density(temperature), water_viscosity(temperature)
    rows = (
        Row("temperature", "Temperature", temperature, "temperature"),
        Row("density", "Density", density, "density", "", Working("water_density", {"T": temperature})),
        Row("viscosity", "Kinematic viscosity", water_kinematic_viscosity(temperature), "viscosity", "",
            Working("kinematic_viscosity", {"mu": viscosity, "rho": density})),
    )  # fmt: skip
    return Section("water", "Water", "Fresh water at ordinary pressure.", rows=rows)
