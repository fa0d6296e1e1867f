"""Findings on the sump and the pump: does the water fit, running and stopped, and stay over the intake."""

from __future__ import annotations

from typing import Any

from aquacalc.findings.record import Finding
from aquacalc.hydraulics.levels import level_at, volume_at
from aquacalc.hydraulics.pump import lowest_pump_level
from aquacalc.hydraulics.starting import late_rise
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan.model import BRIM, Plan, Siphon
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import SumpRange, beds_full_level, runs_dry
from aquacalc.units import show

#: Water wanted over the pump's intake so that it draws no air, m (our own choice, no source).
PUMP_COVER = 0.020


def find_sump(plan: Plan, run: SystemCycle, levels: SumpRange) -> list[Finding]:
    """Judge the sump and the pump."""
    return [_running(plan, levels), _pump_off(plan, levels), _cover(plan, run, levels)]


def _several(plan: Plan) -> str:
    return " with all siphons draining together" if len(plan.siphons) > 1 else ""


def _too_high(plan: Plan, key: str, level: float, titles: tuple[str, str, str, str], when: str) -> Finding:
    """Hold a highest level of the sump against its rim and freeboard."""
    s, sump = plan.units, plan.sump
    room, limit = sump.rim - level, sump.freeboard
    values: dict[str, Any] = {
        "key": key, "subject": sump.name, "value": room, "limit": limit, "direction": "at least",
        "kind": "length",
    }  # fmt: skip
    cause = (
        f"{when} the water is at {show(level, 'elevation', s)}; the rim is at "
        f"{show(sump.rim, 'elevation', s)}."
    )
    over = volume_at(vessel_cells(plan, sump), level) - volume_at(vessel_cells(plan, sump), sump.full)
    change = (
        f"Take {show(max(over, 0.0), 'volume', s)} of water out, use a larger sump, or shorten the standpipe "
        "so that the beds take less of it."
    )
    if room < 0.0:
        spilt = volume_at(vessel_cells(plan, sump), level) - volume_at(vessel_cells(plan, sump), sump.rim)
        cause = (
            f"{when} the sump would have to hold {show(spilt, 'volume', s)} more than it can: its level "
            f"would be {show(-room, 'length', s)} above the rim."
        )
        return Finding(title=titles[0], state="does not", cause=cause, change=change, **values)
    if room < BRIM:
        cause += f" That leaves {show(room, 'length', s)} of wall, and no level is known better than that."
        change = f"Stand by when the beds drain for the first time and watch the rim. {change}"
        return Finding(
            title=titles[1], state="may or may not", band=(0.0, BRIM), cause=cause, change=change, **values
        )
    if room < limit:
        cause += f" That leaves {show(room, 'length', s)} of freeboard; keep {show(limit, 'length', s)}."
        return Finding(title=titles[2], state="watch", cause=cause, change=change, **values)
    return Finding(title=titles[3], state="good", cause=cause, **values)


def _running(plan: Plan, levels: SumpRange) -> Finding:
    titles = ("Sump overflows", "Sump may overflow", "Sump freeboard is short", "Sump holds the water")
    return _too_high(
        plan, "sump_overflow", levels.high, titles, f"When the beds have drained{_several(plan)},"
    )


def _pump_off(plan: Plan, levels: SumpRange) -> Finding:
    titles = (
        "Sump overflows when the pump stops",
        "Sump may overflow when the pump stops",
        "Sump freeboard is short when the pump stops",
        "Sump holds the drain-back",
    )
    when = "With the pump off, every bed drained to its outlet"
    when += " and the delivery pipe run back," if plan.pump.delivery else ","
    return _too_high(plan, "drain_back", levels.pump_off, titles, when)


def _cover(plan: Plan, run: SystemCycle, levels: SumpRange) -> Finding:
    s, guard = plan.units, lowest_pump_level(plan)
    low = beds_full_level(plan, run, levels)
    cover = round(low - guard, 6)
    values: dict[str, Any] = {
        "key": "pump_cover", "subject": "pump", "value": cover, "limit": PUMP_COVER, "direction": "at least",
        "kind": "length",
    }  # fmt: skip
    full = (
        "When the beds are full"
        if len(plan.siphons) == 1
        else "When the beds of all siphons are full together"
    )
    verb = "is" if low > guard else "would be"
    cells = vessel_cells(plan, plan.sump)
    more = sum(_late_water(plan, run, siphon) for siphon in plan.siphons)
    late = cover - (low - level_at(cells, volume_at(cells, low) - more)) if cover > 0.0 else cover
    cause = (
        f"{full} the sump {verb} down to {show(low, 'elevation', s)}; the intake needs water up to "
        f"{show(guard, 'elevation', s)}."
    )
    change = "Put more water in, use a wider sump, lower the intake, or shorten the standpipe."
    if runs_dry(plan, run) or cover <= 0.0:
        cause += " The pump draws air."
        return Finding(title="Pump runs dry", state="does not", cause=cause, change=change, **values)
    if late <= 0.0:
        return Finding(
            title="Pump may draw air before the siphon starts",
            state="may or may not",
            band=(late, cover),
            cause=f"{cause} The siphon may start late, and the beds take up to "
            f"{show(more, 'volume', s)} more before it does.",
            change=f"Watch the intake at the first flood. {change}",
            **values,
        )
    if cover < PUMP_COVER:
        return Finding(title="Pump is barely covered", state="watch", cause=cause, change=change, **values)
    return Finding(title="Pump stays covered", state="good", cause=cause, **values)


def _late_water(plan: Plan, run: SystemCycle, siphon: Siphon) -> float:
    """Water (m3) that beds and chambers take from the sump beyond the run's if a siphon starts late."""
    rise = late_rise(plan, siphon, run.group(siphon.name).inflow)
    high = {v.name: run.node(v.name).high for v in plan.vessels if run.node(v.name).group == siphon.name}
    cells = {name: vessel_cells(plan, plan.vessel(name)) for name in high}
    return sum(volume_at(cells[name], z + rise) - volume_at(cells[name], z) for name, z in high.items())
