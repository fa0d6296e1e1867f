"""Changes that may mend a bed that does not drain, or does not flood: way out, outlet, media, height."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from aquacalc.design.answer import to_mark
from aquacalc.design.change import Change, built, kept, listed, sizes_of, whose
from aquacalc.equations.formulas import circle_area, water_kinematic_viscosity
from aquacalc.findings import Finding
from aquacalc.findings.draining import BREAKS, GRAIN_RATIO, coarse_grain, highest_step
from aquacalc.findings.record import brief
from aquacalc.geometry.strainers import outlet_level, strainer_area
from aquacalc.hydraulics.levels import start_level
from aquacalc.hydraulics.mouths import mouth_level_at
from aquacalc.hydraulics.paths import path_loss, run_path
from aquacalc.hydraulics.stopping import break_level
from aquacalc.plan.model import Bed, Plan, Strainer
from aquacalc.plan.network import order
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import inflow_window

#: Depths (m) under the lowest outlet at which a bell is made to let air in (our own choice).
UNDER_OUTLET = (0.05, 0.12)
#: Lowest rim that a bell is given (our own choice): its openings end there, m.
LEAST_RIM = 0.02
#: Sizes of pipe that are tried, one wider than the other (our own choice).
MOST_WIDER = 3
#: By how much a line is laid to fall where it has to be lowered (our own choice), m.
FALL = 0.005
#: Width and length (m) of the slots of a strainer where a bed has none (common practice, no source).
SLOT = (0.003, 0.025)
#: Part of its media that a bed is set to flood (our own choice).
FLOODED = 0.85
#: Grades of media that are sold, smallest and largest grain, m (common practice, no source).
GRADES = ((0.008, 0.016), (0.016, 0.032))


def all_fall(plan: Plan) -> Change | None:
    """Lower tees and outfalls until every line falls along its flow; None where all do."""
    onward, values, said = {run.start: run for run in plan.runs}, {}, []
    level = {tee.name: tee.elevation for tee in plan.tees}
    most: dict[str, float] = {}
    for name, _ in order(plan):  # every node comes before the one it drains to
        if name in onward:
            run = onward[name]
            if plan.tee(name) is not None:
                if most.get(name, math.inf) < level[name]:
                    level[name] = most[name] - FALL
                top = level[name]
            else:
                bed = plan.bed(name)
                top = bed.floor - 0.5 * run.pipe.bore if bed.outlet == "floor" else bed.outlet_invert
            most[run.to] = min(top, most.get(run.to, math.inf))
    for tee in plan.tees:
        if level[tee.name] < tee.elevation:
            level[tee.name], text = to_mark(level[tee.name], "length", plan.units, up=False)
            values[f"tee.{tee.name}.elevation"] = level[tee.name]
            said.append(f"{tee.name} to {text}")
    for run in plan.runs:
        end = level.get(run.to)
        if end is None and run.outfall > (top := level.get(run.start, most[run.to])):
            end, text = to_mark(top, "length", plan.units, up=False)
            said.append(f"the outfall into {run.to} to {text}")
        if end is not None and end < run.outfall:
            values[f"run.{run.start}.outfall"] = end
            if plan.tee(run.start) is None:
                values[f"run.{run.start}.length"] = run.length + run.outfall - end
    return Change(f"Lower {listed(said)}, so that every line falls.", values) if said else None


def _wet(run: SystemCycle, finding: Finding) -> list[str]:
    """Names of the beds of a siphon that keep more water than they may; all where they never drained."""
    plan, group = run.plan, run.node(finding.subject).group
    beds = [bed.name for bed in plan.beds if run.node(bed.name).group == group]
    if run.group(group).outcome != "cycles":
        return beds
    return [n for n in beds if run.node(n).low - start_level(plan, n) > plan.limits.residual]


def drains(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Mend what holds the water: a step on the way, the bell's rim, the strainer; then wider pipe."""
    plan, group = run.plan, run.node(finding.subject).group
    siphon = plan.siphon(group)
    wet, bed = _wet(run, finding), plan.bed(finding.subject)
    step = highest_step(plan, bed)
    if step.level > outlet_level(plan, bed) and step.name not in BREAKS:
        fall = all_fall(plan)
        if fall is not None:
            yield fall
    if break_level(plan, siphon) > min(outlet_level(plan, plan.bed(name)) for name in wet) - UNDER_OUTLET[0]:
        yield from _breaks_lower(plan, siphon.name, wet)
    yield from strains(run, finding)
    sides = [name for name in wet if plan.bed(name).outlet == "side"]
    if sides:
        values: dict[str, Any] = {f"bed.{name}.outlet": "floor" for name in sides}
        values |= {f"bed.{name}.outlet_height": 0.0 for name in sides}
        over = "over the outlet"
        lying = [n for n in sides if (tube := plan.bed(n).strainer) is not None and tube.fixing != over]
        values |= {f"bed.{name}.strainer.fixing": over for name in lying}
        strainer = f", the strainer {over}" if lying else ""
        yield Change(f"Let {listed(sides)} out through the floor, not the side{strainer}.", values)
    yield from _wider(run, group, wet)
    tail = siphon.tail.pipe
    for size in reversed([s for s in sizes_of(tail) if s.bore < tail.bore]):
        values = kept(run.plan, siphon) | {f"siphon.{siphon.name}.tail.size": size.size}
        changed = built(plan, values)
        if changed is None:
            continue
        narrow = changed.siphon(group)
        window = inflow_window(changed, narrow, run)
        if window.today_high >= window.stop_with_margin:
            continue
        yield Change(f"Fit a {size.size} tail{whose(plan, siphon)} (now {tail.size}).", values)


def _breaks_lower(plan: Plan, name: str, wet: Sequence[str]) -> Iterator[Change]:
    """Let air into the bell farther down: no notch, its breather or its rim lower."""
    siphon = plan.siphon(name)
    at, bell, of = f"siphon.{name}.bell", siphon.bell, whose(plan, siphon)
    if bell.notch_height > bell.rim_height:
        yield Change(f"Use a bell{of} without a notch.", kept(plan, siphon) | {f"{at}.notch_height": 0.0})
        return
    floor = plan.vessel(siphon.host).floor
    if siphon.breather is not None and siphon.breather.mouth > bell.rim_height:
        words = f"Lead the breather's mouth{of} down to the bell's rim."
        yield Change(words, kept(plan, siphon) | {f"siphon.{name}.breather.mouth": bell.rim_height})
    for under in UNDER_OUTLET:
        wanted = min(outlet_level(plan, plan.bed(one)) for one in wet) - under - floor
        rim, text = to_mark(max(wanted, LEAST_RIM), "length", plan.units, up=False)
        if rim < bell.rim_height:
            now = brief(bell.rim_height, "length", plan.units, 3)
            words = f"Lower the bell's rim{of} to {text} above the floor (now {now})."
            openings = {f"{at}.opening_height": min(bell.opening_height, rim)}
            yield Change(words, kept(plan, siphon) | {f"{at}.rim_height": rim} | openings)


def _wider(run: SystemCycle, group: str, wet: Sequence[str]) -> Iterator[Change]:
    """Lay wider pipe from every bed that keeps water, by the head it loses at the break; then wider still."""
    plan = run.plan
    siphon = plan.siphon(group)
    flow, inflow = inflow_window(plan, siphon, run).stop, run.pump / sum(b.inflow_share for b in plan.beds)
    ways = {name: [line.start for line in plan.way(name)] for name in wet}
    pipes = {start: plan.run_from(start).pipe for way in ways.values() for start in way}
    sizes = {size.bore: size for pipe in pipes.values() for size in sizes_of(pipe)}
    tried, least = 0, min(pipe.bore for pipe in pipes.values())
    for bore in sorted(bore for bore in sizes if bore > least):
        names = {
            n: next((s for s in sizes_of(p) if s.bore >= bore), None)
            for n, p in pipes.items()
            if p.bore < bore
        }
        values = {f"run.{name}.size": size.size for name, size in names.items() if size is not None}
        changed = built(plan, values) if values else None
        if changed is None or tried == MOST_WIDER:
            return
        viscosity = water_kinematic_viscosity(plan.water_temperature)
        fits = True
        for name, way in ways.items():
            bed, lines = changed.bed(name), [changed.run_from(start) for start in way]
            lost = sum(path_loss(run_path(changed, r), run.drains[r.start] * flow, viscosity) for r in lines)
            room = outlet_level(changed, bed) + plan.limits.residual - break_level(plan, siphon)
            mouth = mouth_level_at(lines[0], inflow * bed.inflow_share) if bed.outlet == "side" else 0.0
            fits = fits and lost <= room and mouth <= plan.limits.residual
        if fits:
            tried += 1
            said = listed(list(dict.fromkeys(values.values())))
            openings = _strained(changed)
            words = f"Lay {said} pipe from {listed(wet)} to the siphon. {openings.words}"
            yield Change(words.rstrip(), values | openings.values)


def strains(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Fit strainers where there are none; cut as many openings as are asked for in each that is short."""
    plan = run.plan
    bare = [b for b in plan.beds if b.strainer is None and plan.run_from(b.name) is not None]
    if finding.subject in [bed.name for bed in bare]:
        held = min((x for b in bare if (x := coarse_grain(b) / GRAIN_RATIO["slots"])), default=1.0)
        width, wide = to_mark(min(SLOT[0], held), "length", plan.units, up=held > 1.1 * SLOT[0])
        length, long = to_mark(SLOT[1], "length", plan.units, up=True)
        values: dict[str, Any] = {}
        for bed in bare:
            least = plan.limits.strainer_ratio * circle_area(plan.run_from(bed.name).pipe.bore)
            count = math.ceil(least / (width * length)) if width else 0
            values[f"bed.{bed.name}.strainer"] = Strainer("slots", count, width, length)
        counts = listed(sorted({str(strainer.count) for strainer in values.values()}, key=int))
        names = listed([bed.name for bed in bare])
        yield Change(f"Fit strainers of {counts} slots, {wide} by {long}, in {names}.", values)
    change = _strained(plan)
    if f"bed.{finding.subject}.strainer.count" in change.values:
        yield change


def _strained(plan: Plan) -> Change:
    """Cut what is missing of every strainer."""
    values: dict[str, Any] = {}
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
    said = [f"{much}{'s' if len(beds) > 1 else ''} of {listed(beds)}" for much, beds in alike.items()]
    return Change(f"Cut {'; '.join(said)}." if said else "", values)


def floods(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Stand a bed lower whose flood is shallow, as far as its wall holds the water."""
    plan, bed = run.plan, run.plan.bed(finding.subject)
    if finding.direction != "at least":
        return
    high = bed.floor + finding.value
    floor = max(high - FLOODED * bed.media.depth, high + plan.limits.bed_freeboard - bed.shape.depth)
    floor, text = to_mark(floor, "length", plan.units, up=True)
    line = plan.run_from(bed.name)
    if floor >= bed.floor or line is None:
        return
    values: dict[str, Any] = {f"bed.{bed.name}.floor": floor}
    shorter = line.length - (bed.floor - floor)
    if shorter > 0.0 and not line.legs:
        values[f"run.{bed.name}.length"] = shorter
    yield Change(f"Stand {bed.name} lower: its floor at {text}.", values)


def lower_outlet(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Set the side outlets of every bed lower that keeps too much."""
    plan = run.plan
    high = [b for b in plan.beds if b.outlet == "side" and b.outlet_height > finding.limit]
    lower, text = to_mark(finding.limit - 0.01, "length", plan.units, up=False)
    values: dict[str, object] = {f"bed.{b.name}.outlet_height": lower for b in high}
    for b in high:
        line = plan.run_from(b.name)
        values[f"run.{b.name}.outfall"] = min(line.outfall, b.floor + lower)
    if high:
        yield Change(
            f"Set the side outlet of {listed([b.name for b in high])} {text} over the floor.", values
        )


def far_end(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Put the floor outlet in the middle of each bed, or use coarser media."""
    plan = run.plan

    def middle(bed: Bed) -> bool:
        return bed.outlet == "floor" and bed.outlet_along is not None

    moved = {f"bed.{b.name}.outlet_along": b.shape.middle()[0] for b in plan.beds if middle(b)}
    if moved:
        yield Change("Put the outlets in the middle of the floor.", dict(moved))
    for smallest, largest in GRADES:
        fine = [b for b in plan.beds if 0.0 < b.media.grain_smallest < smallest]
        if not fine:
            continue
        values = {f"bed.{b.name}.grain_smallest": smallest for b in fine}
        values |= {f"bed.{b.name}.grain_largest": largest for b in fine}
        low, high = (brief(x, "length", plan.units) for x in (smallest, largest))
        words = f"Fill {listed([b.name for b in fine])} with grains of {low} to {high}."
        yield Change(words, values)
        if moved:
            yield Change(f"Put the outlets in the middle of the floor. {words}", moved | values)
