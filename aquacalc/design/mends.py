"""Changes that may mend a fault, cheapest first, as edits of the plan.

What formulas rule out (a flow outside the window, a tail that would drown) is
left out here; whether the rest mends the plan is seen by running it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Any

from aquacalc import catalogue
from aquacalc.design import mends_draining as draining
from aquacalc.design import mends_sump as sump
from aquacalc.design.answer import to_mark
from aquacalc.design.change import SPARE, Change, built, kept, listed, sizes_of, whose
from aquacalc.design.mends_building import BUILDING, OVER_RIM, hole_edge
from aquacalc.design.mends_sump import lower_standpipe
from aquacalc.equations.formulas import circle_area, water_density
from aquacalc.findings import Finding
from aquacalc.findings.record import brief
from aquacalc.findings.timer import whole_minutes
from aquacalc.hydraulics.paths import siphon_path
from aquacalc.hydraulics.starting import choke, spill_level
from aquacalc.plan.model import Breather, Plan, Siphon
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.pump_off import latest_start, pipe_water
from aquacalc.results.window import SumpRange, Window, inflow_part, inflow_window, sump_range
from aquacalc.units import show

#: Lengths (m) by which a tail is led lower, the shortest first, and room kept over the sump (our own choice).
LOWER = (0.05, 0.1, 0.15, 0.2, 0.3, 0.4)
TAIL_ROOM = 0.01
#: Way under a bell's roof over the bore's area at which it is comfortable.
ROOMY = 2.0
#: Height of an opening at a bell's foot (our own choice), m.
OPENING = 0.03
#: Tubes that are tried as breathers, bore and length, m; smallest first (our own choice).
BREATHERS = ((0.004, 0.5), (0.006, 0.5), (0.008, 0.5))


def _window(run: SystemCycle, values: dict[str, Any], siphon: Siphon) -> Window | None:
    """Inflow window of a changed siphon, the sump as it goes now; None where it cannot be built."""
    changed = built(run.plan, values)
    return None if changed is None else inflow_window(changed, changed.siphon(siphon.name), run)


def _flow(run: SystemCycle, siphon: Siphon, low: float, high: float, up: bool) -> Iterator[Change]:
    """Set the valve so that this siphon gets the least flow over `low` (`up`), or the most under `high`."""
    plan = run.plan
    part = inflow_part(plan, siphon)
    if part <= 0.0:
        return
    if plan.pump.flow is None:
        if up:
            yield from sump.stronger_pump(plan, low / part, high / part)
            return
        high = min(high, inflow_window(plan, siphon, run).today_low)  # what a valve can only take from
    wanted = low * (1.0 + SPARE) if up else high * (1.0 - SPARE)
    if not low < wanted < high:
        return
    flow, text = to_mark(wanted / part, "flow", plan.units, up)
    if plan.pump.flow is None:
        words = f"Set the flow to {text} by a valve in the delivery, with a jug and a watch."
        yield Change(words, {"pump.flow": flow, "pump.curve": ()})
        return
    now = brief(plan.pump.flow, "flow", plan.units, 3)
    yield Change(f"{'Open' if up else 'Close'} the valve to {text} (now {now}).", {"pump.flow": flow})


def _standpipe(run: SystemCycle, siphon: Siphon, wider: bool) -> Iterator[Change]:
    """Fit standpipe and tail of another size in which today's flow starts and stops."""
    plan, now = run.plan, siphon.standpipe.pipe
    sizes = [s for s in sizes_of(now) if (s.bore > now.bore if wider else s.bore < now.bore)]
    for size in sizes if wider else reversed(sizes):
        at = f"siphon.{siphon.name}"
        values: dict[str, Any] = kept(run.plan, siphon) | {f"{at}.standpipe.size": size.size}
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
            yield Change(f"{words}{whose(plan, siphon)} (now {now.size}).", values)


def _starts(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    siphon = run.plan.siphon(finding.subject)
    window = inflow_window(run.plan, siphon, run)
    yield from _flow(run, siphon, window.start_high, window.stop_with_margin, up=True)
    yield from _standpipe(run, siphon, wider=False)


def _stops(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    plan, siphon = run.plan, run.plan.siphon(finding.subject)
    levels = sump_range(plan, run)
    window = inflow_window(plan, siphon, run, levels)
    if window.head_at_rim <= 0.0:
        yield from _sump_lower(plan, siphon, levels)
        return
    openings, *_ = siphon_path(plan, siphon)
    if openings.area < circle_area(siphon.standpipe.pipe.bore):
        yield _wider_openings(plan, siphon)
    yield from _flow(run, siphon, window.start_high, window.stop_with_margin, up=False)
    at, stand = f"siphon.{siphon.name}", siphon.standpipe.pipe
    changes: list[tuple[str, dict[str, Any]]] = []
    if siphon.tail.pipe.bore != stand.bore and siphon.tail.pipe.series == stand.series:
        words = f"Fit a tail of {stand.size}, as the standpipe{whose(plan, siphon)}"
        changes.append((f"{words} (now {siphon.tail.pipe.size}).", {f"{at}.tail.size": stand.size}))
    for bore, shortest in () if window.firm else BREATHERS:
        mouth, text = to_mark(siphon.bell.rim_height + OVER_RIM, "length", plan.units, up=True)
        length = max(shortest, siphon.bell.top_height)  # it has to reach down to its mouth
        wide, long = (brief(x, "length", plan.units) for x in (bore, length))
        words = (
            f"Fit a breather{whose(plan, siphon)}, {wide} bore, {long} long, mouth {text} above the floor."
        )
        changes.append((words, {f"{at}.breather": Breather(bore, length, mouth)}))
    for deeper in LOWER:
        outlet = siphon.tail.outlet - deeper
        if outlet >= min(levels.high, plan.sump.rim) + TAIL_ROOM:
            words = f"Lead the tail{whose(plan, siphon)} {brief(deeper, 'length', plan.units)} lower"
            values = {f"{at}.tail.outlet": outlet, f"{at}.tail.length": siphon.tail.length + deeper}
            changes.append((f"{words}, with as much more pipe.", values))
    done: set[str] = set()
    for words, values in changes:
        kind = words.split()[0]
        changed = None if kind in done else _window(run, kept(run.plan, siphon) | values, siphon)
        if changed and changed.today_high < changed.stop_with_margin:
            done.add(kind)
            yield Change(words, kept(run.plan, siphon) | values)
    yield from _standpipe(run, siphon, wider=True)


def _sump_lower(plan: Plan, siphon: Siphon, levels: SumpRange) -> Iterator[Change]:
    """Set a sump lower whose water reaches the tail's end, or the rest higher."""
    down, text = to_mark(levels.high - siphon.tail.end + TAIL_ROOM, "vessel", plan.units, up=True)
    words = f"Set the sump {text} lower, or everything else that much higher."
    yield Change(words, {"sump.floor": plan.sump.floor - down})


def _wider_openings(plan: Plan, siphon: Siphon) -> Change:
    """Cut four openings at the bell's foot that have twice the bore's area."""
    height, tall = to_mark(min(siphon.bell.rim_height, OPENING), "length", plan.units, up=False)
    width, wide = to_mark(
        ROOMY * circle_area(siphon.standpipe.pipe.bore) / (4.0 * height), "length", plan.units, up=True
    )
    at = f"siphon.{siphon.name}.bell"
    words = f"Cut 4 openings of {wide} by {tall} at the bell's foot{whose(plan, siphon)}."
    values = {f"{at}.openings": 4, f"{at}.opening_width": width, f"{at}.opening_height": height}
    return Change(words, kept(plan, siphon) | values)


def _floods(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Set the valve for the floods asked, by the water of a flood over inflow and over what drains it."""
    siphon = run.plan.siphon(finding.subject)
    group, window = run.group(siphon.name), inflow_window(run.plan, siphon, run)
    water, drains = group.volume_high - group.volume_low, group.drained / group.drain_time
    up = finding.direction == "at least"
    for spare in (SPARE, 3.0 * SPARE):  # the run may flood a little less often than this sum
        rate = finding.limit * (1.0 + spare if up else 1.0 - spare)
        # water/Q + water/(drains - Q) = 1/rate is a quadratic in Q; the smaller root fills slower than it
        # drains. It has no root where no flow floods so often.
        inside = drains * drains - 4.0 * water * drains * rate
        if inside <= 0.0:
            return
        flow = 0.5 * (drains - math.sqrt(inside))
        if up:
            yield from _flow(run, siphon, max(flow, window.start_high), window.stop_with_margin, up=True)
        else:
            yield from _flow(run, siphon, window.start_high, min(flow, window.stop_with_margin), up=False)


def _bed_holds(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Cut the standpipe, or use beds with higher walls."""
    plan = run.plan
    siphon = plan.siphon(run.node(finding.subject).group)
    for spare in (1.0, 1.5):  # a bed falls by a little less than its standpipe
        yield from lower_standpipe(plan, siphon, spare * -finding.margin)
    wanted = [(b, run.node(b.name).high + plan.limits.bed_freeboard - b.floor) for b in plan.beds]
    short = [(bed.name, deep) for bed, deep in wanted if deep > bed.shape.depth]
    depths = {name: to_mark(deep, "vessel", plan.units, up=True) for name, deep in short}
    if depths:
        said = listed([f"{name} {text}" for name, (_, text) in depths.items()])
        yield Change(f"Use deeper beds: {said}.", {f"bed.{name}.depth": z for name, (z, _) in depths.items()})


def _lighter(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Fill a bed with lighter media, or cut the standpipe until its water is so much less."""
    plan, bed = run.plan, run.plan.bed(finding.subject)
    if finding.margin is None:
        return
    water = bed.media.porosity * water_density(plan.water_temperature)
    by = -finding.margin * bed.shape.footprint() / (water * bed.shape.area(bed.media.depth))
    for spare in (1.2, 1.6):  # a bed falls by a little less than its standpipe
        yield from lower_standpipe(plan, plan.siphon(run.node(bed.name).group), spare * by)
    lighter = min(map(catalogue.media, catalogue.media_names()), key=lambda media: media.bulk_density)
    if lighter.bulk_density < bed.media.bulk_density:
        at = f"bed.{bed.name}"
        values: dict[str, Any] = {f"{at}.media": lighter.name, f"{at}.porosity": lighter.porosity}
        values |= {f"{at}.bulk_density": lighter.bulk_density}
        values |= {f"{at}.grain_smallest": lighter.grain_low, f"{at}.grain_largest": lighter.grain_high}
        yield Change(f"Fill {bed.name} with {lighter.name}.", values)


def _chamber_holds(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    plan = run.plan
    chamber = plan.vessel(finding.subject)
    depth, text = to_mark(chamber.shape.depth - finding.margin, "vessel", plan.units, up=True)
    yield Change(f"Use a chamber {text} deep.", {f"chamber.{chamber.name}.depth": depth})
    yield from lower_standpipe(plan, plan.siphon_in(chamber.name), -finding.margin)


def _tail_free(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    plan, siphon = run.plan, run.plan.siphon(finding.subject)
    up = TAIL_ROOM - finding.margin
    at = f"siphon.{siphon.name}.tail"
    values = kept(run.plan, siphon) | {f"{at}.outlet": siphon.tail.outlet + up}
    if siphon.tail.length > up:
        values[f"{at}.length"] = siphon.tail.length - up
    yield Change(
        f"End the tail{whose(plan, siphon)} {brief(up, 'length', plan.units)} higher, over the sump's "
        "highest water.",
        values,
    )


def _bell_clear(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    plan, siphon = run.plan, run.plan.siphon(finding.subject)
    stand = siphon.standpipe
    head = spill_level(plan, siphon, choke(siphon)) - plan.lip_level(siphon)
    room = max(ROOMY * circle_area(stand.pipe.bore) / (math.pi * stand.lip_diameter), head)
    height, text = to_mark(stand.height + room, "length", plan.units, up=True)
    values = kept(run.plan, siphon) | {f"siphon.{siphon.name}.bell.top_height": height}
    yield Change(f"Use a bell{whose(plan, siphon)} whose roof is {text} over the floor.", values)


def _timer_longer(run: SystemCycle, siphon: str) -> Iterator[Change]:
    """Let the timer run the pump until a siphon has started from drained beds, as late as it may."""
    plan = run.plan
    _, needed = latest_start(plan)[siphon]
    for spare in (1.0, 1.25):
        minutes = whole_minutes(spare * needed)
        if needed and 60.0 * minutes > plan.pump.on:
            now = show(plan.pump.on, "time", plan.units)
            yield Change(f"Set the timer to {minutes} min on (now {now}).", {"pump.on": 60.0 * minutes})


def _timer(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    if run.plan.pump.delivery is not None and pipe_water(run.plan) > 0.0:
        yield Change("Fit a check valve in the delivery.", {"pump.delivery.check_valve": "fitted"})
    yield from _timer_longer(run, finding.subject)


def _timer_stands(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    yield from _timer_longer(run, run.node(finding.subject).group)


#: Key of a finding -> what yields the changes that may mend it. In this order they are tried: what causes
#: the others comes first.
MENDS: dict[str, Callable[[SystemCycle, Finding], Iterator[Change]]] = {
    "no_inflow": sump.brings_water,
    "hole_edge": hole_edge,
    "drains": draining.drains,
    "start": _starts,
    "spills": _starts,
    "stop": _stops,
    "runs_on": _stops,
    "pump_cover": sump.pump_covered,
    "floods": _floods,
    "bed_freeboard": _bed_holds,
    "chamber_freeboard": _chamber_holds,
    "strainer": draining.strains,
    "sump_overflow": sump.sump_holds,
    "drain_back": sump.sump_holds,
    "tail": _tail_free,
    "bell_clearance": _bell_clear,
    **BUILDING,
    "timer": _timer,
    "timer_stands": _timer_stands,
    "flood": draining.floods,
    "wet_zone": draining.lower_outlet,
    "weight": _lighter,
    "far_end": draining.far_end,
}
