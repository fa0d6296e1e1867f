"""Solve for what the sump decides: tallest standpipe, size of the sump."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable

from aquacalc.design.answer import (
    Answer,
    Limit,
    bound,
    checked,
    conflict_of,
    deciding,
    shower,
    the_siphon,
    to_mark,
)
from aquacalc.equations.formulas import circle_area
from aquacalc.findings.draining import EDGE
from aquacalc.findings.record import the
from aquacalc.hydraulics.levels import level_at, volume_at
from aquacalc.hydraulics.pump import full_flow_level
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan import edit
from aquacalc.plan.model import Bed, Plan, Shape, Siphon
from aquacalc.results.cycle import SystemCycle, run_plan
from aquacalc.results.window import sump_range

#: Heights are solved to this, m.
FINE = 1e-6
SAYS = {
    "cycles": "starts and stops",
    "spills": "spills without starting",
    "runs on": "runs on without stopping",
    "no inflow": "gets no water",
    "unsettled": "does not settle",
}


def pump_cover(plan: Plan, run: SystemCycle) -> float:
    """Return the depth (m) left over the pump's intake with every bed full; negative when it draws air."""
    return sump_range(plan, run).low - full_flow_level(plan)


def room_for_all(plan: Plan, run: SystemCycle) -> float:
    """Return the height (m) left in the sump with the pump off and all water back; negative when short."""
    return plan.sump.full - sump_range(plan, run).pump_off


def _sump_said(plan: Plan, run: SystemCycle) -> tuple[str, str]:
    show, levels = shower(plan.units), sump_range(plan, run)
    need, most = full_flow_level(plan), plan.sump.full
    return (
        f"With the beds full, the water in the sump is at {show(levels.low, 'elevation')}; "
        f"the pump needs {show(need, 'elevation')}.",
        f"With the pump off and all the water back it is at {show(levels.pump_off, 'elevation')}; "
        f"its rim less freeboard is at {show(most, 'elevation')}.",
    )


def _standpipe_limits(
    plan: Plan, s: Siphon, at: Callable[[float], tuple[Plan, SystemCycle]]
) -> tuple[Limit, ...]:
    """Return what bounds the height of a standpipe; `at` gives plan and run at a height."""
    show, host = shower(plan.units), plan.vessel(s.host)
    low, high = s.bell.rim_height + 0.01, host.shape.depth

    def most(margin: Callable[[Plan, SystemCycle], float]) -> float:
        return bound(lambda h: margin(*at(h)), low, high, True, FINE)

    limits = [
        Limit(
            "the pump stays covered with the beds full",
            most(pump_cover),
            True,
            f"its intake is {show(plan.pump.intake)} above the sump's floor",
        ),
        Limit(
            "with the pump off the sump takes all the water back",
            most(room_for_all),
            True,
            f"its rim is to stay {show(plan.sump.rim - plan.sump.full)} above the water",
        ),
        Limit(f"the lip stays below the wall of {the(host.name)}", high, True),
    ]
    for node in at(low)[1].nodes:
        if node.group != s.name or node.junction:
            continue
        vessel = plan.vessel(node.name)
        bed = isinstance(vessel, Bed)
        full = vessel.rim - (plan.limits.bed_freeboard if bed else 0.0)
        kept = f"{the(vessel.name)} keeps {show(plan.limits.bed_freeboard)} below its wall"
        limits.append(
            Limit(
                kept if bed else f"{the(vessel.name)} does not overflow",
                most(functools.partial(_dry, name=vessel.name, full=full)),
                True,
            )
        )
    return tuple(limits)


def tallest_standpipe(plan: Plan, siphon: str | None = None) -> Answer:
    """Find the tallest standpipe that sump and beds take.

    Parameters
    ----------
    plan : Plan
        A checked plan.
    siphon : str, optional
        Which siphon, where there are several.

    Returns
    -------
    Answer
        Height of the lip above its vessel's floor, m; the real one in whole mm
        or sixteenths of an inch. The bell keeps its clearance above the lip.

    Raises
    ------
    ValueError
        When the siphon is not known.
    """
    s = the_siphon(plan, siphon)
    crown = s.bell.top_height - s.standpipe.height

    @functools.cache
    def at(height: float) -> tuple[Plan, SystemCycle]:
        values = {"standpipe.height": height, "bell.top_height": height + crown}
        changed = edit.put(plan, {f"siphon.{s.name}.{key}": value for key, value in values.items()})
        return changed, run_plan(changed, trace=False)

    limits = _standpipe_limits(plan, s, at)
    decides = deciding(limits, True)
    question = f"How tall can the standpipe of {the(s.name)} be?"
    found = functools.partial(Answer, question, "length", plan.units, limits, decides.name)
    conflict = conflict_of(limits, "length", plan.units)
    if conflict:
        return found(conflict)
    real, text = to_mark(decides.bound, "length", plan.units, up=False)
    changed, run = at(real)
    good, notes = checked(changed)
    show, group = shower(plan.units), run.group(s.name)
    held = (
        f"At {text} the lip is at {show(group.lip, 'elevation')}, and what {the(s.name)} drains holds "
        f"{show(group.volume_high, 'volume')} at its fullest."
    )
    outcome = f"In this plan {the(s.name)} {SAYS[group.outcome]}."
    wet = [b for b in changed.beds if run.node(b.name).high > b.floor + b.media.depth + EDGE]
    if wet and group.outcome == "cycles":
        over = max(run.node(b.name).high - b.floor - b.media.depth for b in wet)
        who = wet[0].name if len(wet) == 1 else f"{len(wet)} beds"
        _, lower = to_mark(real - over, "length", plan.units, up=False)
        note = f"The flood then stands {show(over)} over the media of {who}, where it grows algae"
        notes = (f"{note}; a standpipe of about {lower} keeps its top dry.", *notes)
    return found(
        exact=decides.bound,
        real=real,
        real_text=text,
        steps=(held, *_sump_said(changed, run), outcome, *notes),
        plan=good,
    )


def _filled(plan: Plan, shape: Shape) -> Plan | None:
    """Return the plan with this sump, filled as high as drain-back allows; None if that is too low."""
    sump = dataclasses.replace(plan.sump, shape=shape, measured_with="beds drained")
    cells = vessel_cells(plan, sump)
    delivery = plan.pump.delivery
    back = circle_area(delivery.pipe.bore) * delivery.length if delivery else 0.0
    room = volume_at(cells, sump.full) - back
    level = level_at(cells, max(room, 0.0))
    filled = dataclasses.replace(plan, sump=dataclasses.replace(sump, water_level=level - sump.floor))
    return filled if level > full_flow_level(filled) else None


def _said(shape: Shape, system: str) -> str:
    show = shower(system)
    return f"{shape.described(show)}, {show(shape.volume(shape.depth), 'volume')} to the rim"


def sump_size(plan: Plan) -> Answer:
    """Find the smallest sump of the plan's form and depth that serves it.

    Parameters
    ----------
    plan : Plan
        A checked plan; its sump gives form, depth, floor and freeboard.

    Returns
    -------
    Answer
        Volume to the rim, m3, with the water filled as high as drain-back and
        freeboard allow; the real one has sides of whole 10 mm or half inches.
    """
    shape = plan.sump.shape
    whole = shape.volume(shape.depth)

    @functools.cache
    def cover(volume: float) -> float:
        changed = _filled(plan, shape.scaled(volume / whole))
        return -1.0 if changed is None else pump_cover(changed, run_plan(changed, trace=False))

    high = whole
    for _ in range(20):
        if cover(high) >= 0.0:
            break
        high *= 2.0
    show = shower(plan.units)
    usable = plan.sump.full - plan.sump.floor - plan.pump.intake
    limit = Limit(
        "the pump stays covered with the beds full, and the sump keeps its freeboard with all the water back",
        bound(cover, 1e-3 * high, high, False, 1e-7),
        False,
        f"{show(usable)} of depth between intake and freeboard",
    )
    found = functools.partial(
        Answer, "How large must the sump be?", "volume", plan.units, (limit,), limit.name
    )
    conflict = conflict_of((limit,), "volume", plan.units)
    if conflict:
        return found(f"{conflict} A deeper sump, a lower intake or less freeboard gives room.")
    real = shape.scaled(limit.bound / whole).resized(lambda x: to_mark(x, "vessel", plan.units, up=True)[0])
    changed = _filled(plan, real)
    run = run_plan(changed, trace=False)
    cells, levels = vessel_cells(changed, changed.sump), sump_range(changed, run)
    swing = volume_at(cells, levels.pump_off) - volume_at(cells, levels.low)
    good, notes = checked(changed)
    steps = [
        f"Beds, chambers and pipes take and give back {show(swing, 'volume')}.",
        f"Filled with {show(volume_at(cells, run.sump_drained), 'volume')} of water, "
        f"{show(changed.sump.water_level)} deep with the beds drained:",
        *_sump_said(changed, run),
        *(f"In this plan {the(g.name)} {SAYS[g.outcome]}." for g in run.groups),
    ]
    drowned = [s.name for s in plan.siphons if levels.high > s.tail.end]
    if drowned:
        steps.append(f"The full sump drowns the tail of {', '.join(drowned)}; end it higher if that matters.")
    return found(
        exact=limit.bound,
        real=real.volume(real.depth),
        real_text=_said(real, plan.units),
        steps=(*steps, *notes),
        plan=good,
    )


def _dry(_: Plan, run: SystemCycle, name: str, full: float) -> float:
    """How far the highest water in a vessel lies below `full`, m."""
    return full - run.node(name).high
