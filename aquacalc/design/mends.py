"""Changes that may mend a fault, cheapest first, as edits of the plan.

What formulas rule out (a flow outside the window, a tail that would drown) is
left out here; whether the rest mends the plan is seen by running it.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterator
from typing import Any

from aquacalc import catalogue
from aquacalc.design.answer import to_mark
from aquacalc.design.change import Change, kept
from aquacalc.design.mends_building import BUILDING
from aquacalc.equations.formulas import circle_area
from aquacalc.findings import Finding
from aquacalc.findings.record import brief
from aquacalc.hydraulics.levels import drained_sump_level, level_at, volume_at
from aquacalc.hydraulics.paths import strainer_area
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan import edit
from aquacalc.plan.check import check_plan
from aquacalc.plan.errors import PlanError
from aquacalc.plan.model import Pipe, Plan, Siphon
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.pump_off import fills_pipe, pipe_water
from aquacalc.results.window import Window, inflow_part, inflow_window, sump_range
from aquacalc.units import show

#: What is kept beyond a limit, as a part of it: a valve is not set finer.
SPARE = 0.02
#: Lengths (m) by which a tail is led lower, the shortest first, and room kept over the sump (our own choice).
LOWER = (0.05, 0.1, 0.15, 0.2, 0.3, 0.4)
TAIL_ROOM = 0.01
#: Way under a bell's roof over the bore's area at which it is comfortable.
ROOMY = 2.0
#: Sumps that are tried, as parts of the one in the plan.
WIDER = (1.1, 1.2, 1.3, 1.4, 1.6)


def _siphon(plan: Plan, name: str) -> Siphon:
    return next(s for s in plan.siphons if s.name == name)


def built(plan: Plan, values: dict[str, Any]) -> Plan | None:
    """Return the plan with other values, or None where it cannot be built."""
    try:
        changed = edit.put(plan, values)
        check_plan(changed)
    except (PlanError, KeyError, TypeError, catalogue.CatalogueError):
        return None
    return changed


def _window(run: SystemCycle, values: dict[str, Any], siphon: Siphon) -> Window | None:
    """Inflow window of a changed siphon, the sump as it goes now; None where it cannot be built."""
    changed = built(run.plan, values)
    return None if changed is None else inflow_window(changed, _siphon(changed, siphon.name), run)


def _of(plan: Plan, siphon: Siphon) -> str:
    return f" of {siphon.name}" if len(plan.siphons) > 1 else ""


def _flow(run: SystemCycle, siphon: Siphon, low: float, high: float, up: bool) -> Iterator[Change]:
    """Set the valve so that this siphon gets the least flow over `low` (`up`), or the most under `high`."""
    plan = run.plan
    if plan.pump.flow is None:
        return
    part = inflow_part(plan, siphon)
    wanted = low * (1.0 + SPARE) if up else high * (1.0 - SPARE)
    if part <= 0.0 or not low < wanted < high:
        return
    flow, text = to_mark(wanted / part, "flow", plan.units, up)
    now = brief(plan.pump.flow, "flow", plan.units, 3)
    yield Change(f"{'Open' if up else 'Close'} the valve to {text} (now {now}).", {"pump.flow": flow})


def _sizes(pipe: Pipe) -> list[catalogue.PipeSize]:
    """Sizes of a pipe's series, by bore; none for a pipe that is in no table."""
    if pipe.series not in catalogue.series():
        return []
    return sorted(catalogue.sizes(pipe.series), key=lambda size: size.bore)


def _standpipe(run: SystemCycle, siphon: Siphon, wider: bool) -> Iterator[Change]:
    """Fit standpipe and tail of another size in which today's flow starts and stops."""
    plan, now = run.plan, siphon.standpipe.pipe
    sizes = [s for s in _sizes(now) if (s.bore > now.bore if wider else s.bore < now.bore)]
    for size in sizes if wider else reversed(sizes):
        at = f"siphon.{siphon.name}"
        values: dict[str, Any] = kept(siphon) | {f"{at}.standpipe.size": size.size}
        words = f"Fit a {size.size} standpipe"
        stand = siphon.standpipe
        if stand.lip_diameter <= size.bore or stand.lip_diameter == now.bore:
            values[f"{at}.standpipe.lip_diameter"] = size.bore
            if stand.entry == "cone":
                values[f"{at}.standpipe.entry"] = "square"
                words += " with a plain end"
        if siphon.tail.pipe.series == now.series:
            values[f"{at}.tail.size"] = size.size
            words += " and a tail of the same size"
        window = _window(run, values, siphon)
        if window and window.start_high < window.today_low and window.today_high < window.stop_with_margin:
            yield Change(f"{words}{_of(plan, siphon)} (now {now.size}).", values)


def _starts(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    siphon = _siphon(run.plan, finding.subject)
    window = inflow_window(run.plan, siphon, run)
    yield from _flow(run, siphon, window.start_high, window.stop_with_margin, up=True)
    yield from _standpipe(run, siphon, wider=False)


def _stops(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    plan, siphon = run.plan, _siphon(run.plan, finding.subject)
    levels = sump_range(plan, run)
    window = inflow_window(plan, siphon, run, levels)
    yield from _flow(run, siphon, window.start_high, window.stop_with_margin, up=False)
    at = f"siphon.{siphon.name}.tail"
    for deeper in LOWER:
        outlet = siphon.tail.outlet - deeper
        if outlet < min(levels.high, plan.sump.rim) + TAIL_ROOM:
            break
        values = kept(siphon) | {f"{at}.outlet": outlet, f"{at}.length": siphon.tail.length + deeper}
        window = _window(run, values, siphon)
        if window and window.today_high < window.stop_with_margin:
            text = brief(deeper, "length", plan.units)
            yield Change(f"Lead the tail{_of(plan, siphon)} {text} lower, with as much more pipe.", values)
            break
    yield from _standpipe(run, siphon, wider=True)


def _floods(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Set the valve for the floods asked, by the water of a flood over inflow and over what drains it."""
    siphon = _siphon(run.plan, finding.subject)
    group, window = run.group(siphon.name), inflow_window(run.plan, siphon, run)
    water, drains = group.volume_high - group.volume_low, group.drained / group.drain_time
    rate = finding.limit * (1.0 + SPARE if finding.direction == "at least" else 1.0 - SPARE)
    # water/Q + water/(drains - Q) = 1/rate is a quadratic in Q; the smaller root fills slower than it drains.
    inside = drains * drains - 4.0 * water * drains * rate
    if inside <= 0.0:
        return
    flow = 0.5 * (drains - math.sqrt(inside))
    up = finding.direction == "at least"
    if up:
        yield from _flow(run, siphon, max(flow, window.start_high), window.stop_with_margin, up=True)
    else:
        yield from _flow(run, siphon, window.start_high, min(flow, window.stop_with_margin), up=False)


def _lower_standpipe(plan: Plan, siphon: Siphon, by: float) -> Iterator[Change]:
    """Cut the standpipe, as long as its lip stays over the bell's rim."""
    if siphon.standpipe.height - by <= siphon.bell.rim_height:
        return
    height, text = to_mark(siphon.standpipe.height - by, "length", plan.units, up=False)
    now = brief(siphon.standpipe.height, "length", plan.units, 3)
    values = kept(siphon) | {f"siphon.{siphon.name}.standpipe.height": height}
    yield Change(f"Cut the standpipe{_of(plan, siphon)} to {text} (now {now}).", values)


def _bed_holds(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    plan = run.plan
    siphon = _siphon(plan, run.group(run.node(finding.subject).group).name)
    for spare in (1.0, 1.5):  # a bed falls by a little less than its standpipe
        yield from _lower_standpipe(plan, siphon, spare * -finding.margin)


def _chamber_holds(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    plan = run.plan
    chamber = next(c for c in plan.chambers if c.name == finding.subject)
    depth, text = to_mark(chamber.shape.depth - finding.margin, "vessel", plan.units, up=True)
    yield Change(f"Use a chamber {text} deep.", {f"chamber.{chamber.name}.depth": depth})
    yield from _lower_standpipe(
        plan, next(s for s in plan.siphons if s.host == chamber.name), -finding.margin
    )


def _drains(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Wider pipe on the bed's way to the siphon, then a siphon that runs slower."""
    plan, name = run.plan, finding.subject
    values: dict[str, Any] = {}
    onward = {r.start: r for r in plan.runs}
    sizes = []
    while name in onward:
        pipe = onward[name].pipe
        wider = next((s for s in _sizes(pipe) if s.bore > pipe.bore), None)
        if wider is not None:
            values[f"run.{name}.size"] = wider.size
            sizes.append(wider.size)
        name = onward[name].to
    if values:
        yield Change(
            f"Lay {' and '.join(dict.fromkeys(sizes))} pipe from {finding.subject} to the siphon.", values
        )
    siphon = _siphon(plan, run.group(run.node(finding.subject).group).name)
    tail = siphon.tail.pipe
    for size in reversed([s for s in _sizes(tail) if s.bore < tail.bore]):
        values = kept(siphon) | {f"siphon.{siphon.name}.tail.size": size.size}
        window = _window(run, values, siphon)
        if window and window.today_high < window.stop_with_margin:
            yield Change(f"Fit a {size.size} tail{_of(plan, siphon)} (now {tail.size}).", values)


def _strains(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Cut as many slots or holes as are asked for, in every strainer that is short."""
    plan, values = run.plan, {}
    alike: dict[str, list[str]] = {}
    for line in plan.runs:
        bed = next((b for b in plan.beds if b.name == line.start and b.strainer is not None), None)
        if bed is None:
            continue
        one = strainer_area(plan, bed.name) / bed.strainer.count
        count = math.ceil(plan.limits.strainer_ratio * circle_area(line.pipe.bore) / one - 1e-9)
        if count > bed.strainer.count:
            values[f"bed.{bed.name}.strainer.count"] = count
            much = f"{count} {bed.strainer.kind}, not {bed.strainer.count}, in the strainer"
            alike.setdefault(much, []).append(bed.name)
    if f"bed.{finding.subject}.strainer.count" in values:
        said = (f"{much}{'s' if len(beds) > 1 else ''} of {listed(beds)}" for much, beds in alike.items())
        yield Change(f"Cut {'; '.join(said)}.", values)


def listed(names: list[str]) -> str:
    """Write names as a list: "bed 1, bed 2 and bed 3"."""
    return " and ".join([*([", ".join(names[:-1])] if len(names) > 1 else []), names[-1]])


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


def _sump_holds(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    plan, sump = run.plan, run.plan.sump
    cells, levels = vessel_cells(plan, plan.sump), sump_range(plan, run)
    highest = max(levels.high, levels.pump_off)
    over = volume_at(cells, highest) - volume_at(cells, sump.rim - sump.freeboard)
    less = _water(plan, -over)
    if less is not None:
        yield less
    depth, text = to_mark(highest + sump.freeboard - sump.floor, "vessel", plan.units, up=True)
    now = brief(sump.shape.depth, "length", plan.units, 3)
    yield Change(f"Use a sump {text} deep (now {now}).", {"sump.depth": depth})
    yield from _wider_sump(run)


def _wider_sump(run: SystemCycle) -> Iterator[Change]:
    """Use a wider sump with the same water in it."""
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
        level = level_at(vessel_cells(wider, wider.sump), held) - sump.floor
        changed = edit.put(wider, {"sump.water_level": level})
        levels = sump_range(
            changed, dataclasses.replace(run, plan=changed, sump_drained=drained_sump_level(changed))
        )
        if max(levels.high, levels.pump_off) > sump.rim - sump.freeboard:
            continue
        was, fill = brief(now, "length", plan.units, 3), brief(level, "length", plan.units, 3)
        what = path.partition(".")[2]
        yield Change(
            f"Use a sump with a {what} of {text} (now {was}) and the same water in it, {fill} with the "
            f"{sump.measured_with}.",
            {path: size, "sump.water_level": level},
        )
        return


def _pump_covered(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    plan, cells = run.plan, vessel_cells(run.plan, run.plan.sump)
    low = plan.sump.floor + plan.pump.intake + finding.value
    needed = volume_at(cells, low - finding.margin) - volume_at(cells, low)
    for spare in (1.0, 1.3):  # less may come back from the beds than the drained sump promises
        more = _water(plan, spare * needed)
        if more is not None:
            yield more
    if len(plan.siphons) == 1 and run.groups[0].volume_high > run.groups[0].volume_low:
        siphon, group = plan.siphons[0], run.groups[0]
        area = (group.volume_high - group.volume_low) / (group.lip - group.rim)
        yield from _lower_standpipe(plan, siphon, needed / area)


def _tail_free(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    plan, siphon = run.plan, _siphon(run.plan, finding.subject)
    up = TAIL_ROOM - finding.margin
    at = f"siphon.{siphon.name}.tail"
    values = kept(siphon) | {f"{at}.outlet": siphon.tail.outlet + up}
    if siphon.tail.length > up:
        values[f"{at}.length"] = siphon.tail.length - up
    yield Change(
        f"End the tail{_of(plan, siphon)} {brief(up, 'length', plan.units)} higher, over the sump's "
        "highest water.",
        values,
    )


def _bell_clear(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    plan, siphon = run.plan, _siphon(run.plan, finding.subject)
    stand = siphon.standpipe
    room = ROOMY * circle_area(stand.pipe.bore) / (math.pi * stand.lip_diameter)
    height, text = to_mark(stand.height + room, "length", plan.units, up=True)
    values = kept(siphon) | {f"siphon.{siphon.name}.bell.top_height": height}
    yield Change(f"Use a bell{_of(plan, siphon)} whose roof is {text} over the floor.", values)


def _timer_longer(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Let the timer run the pump until spilling and priming are over, or a whole flood."""
    plan, group = run.plan, run.group(finding.subject)
    for needed in (group.spill_time + group.priming_time, group.period - group.drain_time):
        minutes = math.ceil((fills_pipe(plan) + (1.0 + SPARE) * needed) / 60.0)
        if group.period and 60.0 * minutes > plan.pump.on:
            now = show(plan.pump.on, "time", plan.units)
            yield Change(f"Set the timer to {minutes} min on (now {now}).", {"pump.on": 60.0 * minutes})


def _timer(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    if run.plan.pump.delivery is not None and pipe_water(run.plan) > 0.0:
        yield Change("Fit a check valve in the delivery.", {"pump.delivery.check_valve": "fitted"})
    if run.group(finding.subject).period:
        yield from _timer_longer(run, finding)


def _timer_stands(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Let the timer run the pump for a whole flood, so that beds drain before it stops or after."""
    yield from _timer_longer(run, dataclasses.replace(finding, subject=run.node(finding.subject).group))


def _lower_outlet(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Set the side outlets of every bed lower that keeps too much."""
    plan = run.plan
    high = [b for b in plan.beds if b.outlet == "side" and b.outlet_height > finding.limit]
    lower, text = to_mark(finding.limit - 0.01, "length", plan.units, up=False)
    values: dict[str, object] = {f"bed.{b.name}.outlet_height": lower for b in high}
    for b in high:
        line = plan.run_from(b.name)
        values[f"run.{b.name}.outfall"] = min(line.outfall, b.floor + lower)
    yield Change(f"Set the side outlet of {listed([b.name for b in high])} {text} over the floor.", values)


def _middle_outlet(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Put the floor outlet in the middle of each bed."""
    moved = {
        f"bed.{b.name}.outlet_along": b.shape.middle()[0]
        for b in run.plan.beds
        if b.outlet == "floor" and b.outlet_along is not None
    }
    if moved:
        yield Change("Put the outlets in the middle of the floor.", dict(moved))


#: Key of a finding -> what yields the changes that may mend it.
MENDS: dict[str, Callable[[SystemCycle, Finding], Iterator[Change]]] = {
    "start": _starts,
    "spills": _starts,
    "stop": _stops,
    "runs_on": _stops,
    "floods": _floods,
    "bed_freeboard": _bed_holds,
    "chamber_freeboard": _chamber_holds,
    "drains": _drains,
    "strainer": _strains,
    "sump_overflow": _sump_holds,
    "drain_back": _sump_holds,
    "pump_cover": _pump_covered,
    "tail": _tail_free,
    "bell_clearance": _bell_clear,
    **BUILDING,
    "timer": _timer,
    "timer_stands": _timer_stands,
    "wet_zone": _lower_outlet,
    "far_end": _middle_outlet,
}
