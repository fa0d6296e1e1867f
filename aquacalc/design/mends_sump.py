"""Changes that may mend too much or too little water in the sump, or a pump that is too weak."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from aquacalc.design.answer import to_mark
from aquacalc.design.change import SPARE, Change, built, kept, whose
from aquacalc.findings import Finding
from aquacalc.findings.record import brief
from aquacalc.findings.sump import PUMP_COVER
from aquacalc.hydraulics.levels import drained_sump_level, flood_volume, level_at, volume_at
from aquacalc.hydraulics.starting import start_band
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan import edit
from aquacalc.plan.model import Plan, Siphon
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import inflow_part, runs_dry, sump_range
from aquacalc.units import show

#: Sumps that are tried, as parts of the one in the plan.
WIDER = (1.1, 1.2, 1.3, 1.4, 1.6, 2.0, 2.5, 3.2, 4.0, 5.0)
#: Least height of an intake over the sump's floor (common practice, no source), m.
LEAST_INTAKE = 0.02


def lower_standpipe(plan: Plan, siphon: Siphon, by: float) -> Iterator[Change]:
    """Cut the standpipe `by` so much (m), as long as its lip stays over the bell's rim."""
    if siphon.standpipe.height - by <= siphon.bell.rim_height:
        return
    height, text = to_mark(siphon.standpipe.height - by, "length", plan.units, up=False)
    now = brief(siphon.standpipe.height, "length", plan.units, 3)
    values = kept(plan, siphon) | {f"siphon.{siphon.name}.standpipe.height": height}
    yield Change(f"Cut the standpipe{whose(plan, siphon)} to {text} (now {now}).", values)


def _water(plan: Plan, volume: float) -> Change | None:
    """Change the water in the sump by a volume (m3); None where the sump cannot."""
    sump, cells = plan.sump, vessel_cells(plan, plan.sump)
    held = volume_at(cells, sump.floor + sump.water_level) + volume
    if held <= 0.0:
        return None
    level, text = to_mark(level_at(cells, held) - sump.floor, "length", plan.units, up=volume > 0.0)
    if not plan.pump.intake < level < sump.shape.depth:
        return None
    much = brief(abs(volume), "volume", plan.units)
    now = brief(sump.water_level, "length", plan.units, 3)
    does = "Add {} of water" if volume > 0.0 else "Take {} of water out"
    words = f"{does.format(much)}: fill the sump to {text} with the {sump.measured_with} (now {now})."
    return Change(words, {"sump.water_level": level})


def sump_holds(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Take water out, or use a deeper or a wider sump."""
    plan, sump = run.plan, run.plan.sump
    cells, levels = vessel_cells(plan, plan.sump), sump_range(plan, run)
    highest = max(levels.high, levels.pump_off)
    over = volume_at(cells, highest) - volume_at(cells, sump.full)
    less = _water(plan, -over)
    if less is not None:
        yield less
    depth, text = to_mark(highest + sump.rim - sump.full - sump.floor, "vessel", plan.units, up=True)
    now = brief(sump.shape.depth, "length", plan.units, 3)
    yield Change(f"Use a sump {text} deep (now {now}).", {"sump.depth": depth})
    yield from _wider_sump(run, same_water=True)


def _wider_sump(run: SystemCycle, same_water: bool) -> Iterator[Change]:
    """Use a wider sump with the same water in it, or filled as high as now."""
    plan, sump = run.plan, run.plan.sump
    path = "sump.diameter" if hasattr(sump.shape, "diameter") else "sump.width"
    if not hasattr(sump.shape, path.partition(".")[2]):
        return
    held = volume_at(vessel_cells(plan, sump), sump.floor + sump.water_level)
    now = edit.get(plan, path)
    for factor in WIDER:
        size, text = to_mark(factor * now, "vessel", plan.units, up=True)
        wider = built(plan, {path: size})
        if wider is None:
            continue
        cells, level = vessel_cells(wider, wider.sump), sump.water_level
        if same_water:
            level = level_at(cells, held) - sump.floor
        changed = edit.put(wider, {"sump.water_level": level})
        drained = drained_sump_level(changed)
        if same_water:
            levels = sump_range(changed, dataclasses.replace(run, plan=changed, sump_drained=drained))
            fits = max(levels.high, levels.pump_off) <= sump.full
        else:
            low = level_at(cells, volume_at(cells, drained) - (1.0 + SPARE) * flood_volume(plan))
            fits = low >= sump.floor + plan.pump.intake + PUMP_COVER
        if not fits:
            continue
        was, fill = brief(now, "length", plan.units, 3), brief(level, "length", plan.units, 3)
        water = "and the same water in it, " if same_water else "filled to "
        yield Change(
            f"Use a sump with a {path.partition('.')[2]} of {text} (now {was}), {water}{fill} with the "
            f"{sump.measured_with}.",
            {path: size, "sump.water_level": level},
        )
        return


def pump_covered(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Put more water in, lower the intake, use a wider sump, or cut the standpipe."""
    plan, cells = run.plan, vessel_cells(run.plan, run.plan.sump)
    low = plan.sump.floor + plan.pump.intake + finding.value
    needed = volume_at(cells, low - finding.margin) - volume_at(cells, low)
    # A run in which the pump ran dry does not say how full the beds get.
    over = SPARE * flood_volume(plan) if runs_dry(plan, run) else 0.0
    for spare in (1.0, 2.5):  # less may come back from the beds than the drained sump promises
        more = _water(plan, spare * needed + over)
        if more is not None:
            yield more
    if plan.pump.intake + finding.margin >= LEAST_INTAKE:
        intake, text = to_mark(plan.pump.intake + finding.margin, "length", plan.units, up=False)
        now = brief(plan.pump.intake, "length", plan.units)
        words = f"Lower the pump's intake to {text} above the floor (now {now})."
        yield Change(words, {"pump.intake": intake})
    yield from _wider_sump(run, same_water=False)
    if len(plan.siphons) == 1 and run.groups[0].volume_high > run.groups[0].volume_low:
        siphon, group = plan.siphons[0], run.groups[0]
        area = (group.volume_high - group.volume_low) / (group.lip - group.rim)
        yield from lower_standpipe(plan, siphon, needed / area)


def stronger_pump(plan: Plan, least: float, most: float) -> Iterator[Change]:
    """Fit a pump that brings from `least` to `most` (m3/s), where one is known by its curve."""
    delivery = plan.pump.delivery
    if delivery is None or not plan.pump.curve or not least < most:
        return
    flow, text = to_mark(min((1.0 + 5.0 * SPARE) * least, 0.5 * (least + most)), "flow", plan.units, up=True)
    end = show(delivery.outlet, "elevation", plan.units)
    words = f"Fit a pump that brings {text} up to the end of the delivery at {end}."
    yield Change(words, {"pump.flow": flow, "pump.curve": ()})


def brings_water(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Cover the pump, or fit one that lifts so high."""
    plan = run.plan
    siphon = plan.siphon(finding.subject)
    part = inflow_part(plan, siphon)
    if part > 0.0:
        yield from stronger_pump(plan, start_band(siphon).high / part, 2.0 * start_band(siphon).high / part)
