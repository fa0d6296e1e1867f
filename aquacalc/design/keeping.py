"""Keeping it running: how much water, how often to look, what ages, uneven beds, one bed more."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from aquacalc.design.advice import advise
from aquacalc.design.answer import Answer, checked, to_mark
from aquacalc.design.many_plans import Progress
from aquacalc.design.trouble import Cause, Finder
from aquacalc.equations.formulas import circle_area
from aquacalc.findings import VERDICTS, find, verdict
from aquacalc.findings.record import brief
from aquacalc.findings.sump import PUMP_COVER
from aquacalc.hydraulics.levels import level_at, volume_at
from aquacalc.hydraulics.pump import lowest_pump_level
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan.model import Plan
from aquacalc.results import pump_off
from aquacalc.results.cycle import SystemCycle, run_plan
from aquacalc.results.window import beds_full_level, runs_dry, sump_range, system_water
from aquacalc.units import show

#: Beds that flood as deep as each other to this much (m) are even: a floor is not laid truer.
EVEN = 0.010
#: How often growers look, by the key of the cause (common practice, no source).
LOOK = {
    "strainer": "once a month, and after new planting",
    "line": "twice a year",
    "tail": "twice a year",
    "bell openings": "once a month",
    "media": "once a year: dig a hand deep at the inlet",
    "pump weak": "once a month: time a bucket; clean the intake",
}


@dataclass(frozen=True)
class Marks:
    """Levels `low` to `high` (m above the sump's floor) to fill to in one named state."""

    state: str
    low: float
    high: float


def marks(plan: Plan, run: SystemCycle) -> tuple[Marks, ...]:
    """Return between which levels the sump is filled, in states that a grower can see.

    Parameters
    ----------
    plan : Plan
    run : SystemCycle

    Returns
    -------
    tuple of Marks
        The lowest level that covers the pump, and the highest that keeps the floor dry, m.
    """
    sump, cells, levels = plan.sump, vessel_cells(plan, plan.sump), sump_range(plan, run)
    covered = lowest_pump_level(plan) + PUMP_COVER
    low = beds_full_level(plan, run, levels)
    less = volume_at(cells, low) - volume_at(cells, covered)
    highest = max(levels.high, levels.pump_off)
    more = volume_at(cells, sump.full) - volume_at(cells, highest)
    states = [("when the pump has been off for an hour", levels.pump_off)]
    if len(plan.siphons) == 1 and run.groups[0].outcome == "cycles":
        states.append(("just before the siphon starts", levels.low))
    made = []
    for state, level in states:
        held = volume_at(cells, level)
        ends = (level_at(cells, max(held + change, 0.0)) - sump.floor for change in (-less, more))
        made.append(Marks(state, *ends))
    return tuple(made)


def fill_words(plan: Plan, each: tuple[Marks, ...]) -> str:
    """Say to which marks the sump is filled, or that none will do."""
    if any(m.low > m.high for m in each):
        return "no level covers the pump and keeps the floor dry: the sump is too small for these beds"
    told = []
    for m in each:
        low, high = (to_mark(z, "vessel", plan.units, up)[1] for z, up in ((m.low, True), (m.high, False)))
        told.append(f"{low} to {high} {m.state}")
    return "; ".join(told)


def water(plan: Plan) -> Answer:
    """Answer how much water to buy and where to fill to.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    Answer
        The water of sump, beds, chambers and pipes, m3, and the marks to fill to.
    """
    run, system = run_plan(plan, trace=False), plan.units
    pipes = (*plan.runs, *((plan.pump.delivery,) if plan.pump.delivery else ()))
    held = system_water(plan, run) + sum(circle_area(p.pipe.bore) * p.length for p in pipes)
    swing, fill = sump_range(plan, run), marks(plan, run)
    cells = vessel_cells(plan, plan.sump)
    least = volume_at(cells, plan.sump.floor + fill[0].low)
    held += max(least - volume_at(cells, swing.pump_off), 0.0)  # what the plan has too little of
    flood = volume_at(cells, swing.high) - volume_at(cells, beds_full_level(plan, run, swing))
    to = fill_words(plan, fill)
    said = (
        f"About {brief(held, 'volume', system)} in all, pipes included.",
        f"Fill the sump to {to}." if to[0].isdigit() else f"{to[0].upper()}{to[1:]}.",
        f"Each flood takes {brief(flood, 'volume', system)} out of the sump and gives it back.",
        "Dry media soaks up some water for good: run it for an hour, then top up to the mark.",
        "Top up to the mark once a week: leaves and sun take a few per cent of the water a day (common "
        "practice, no source).",
        "Let the hose end above the sump's rim, never in the water: it can suck it back into the house.",
    )
    return Answer("How much water do I need, and where do I fill to?", "volume", system, steps=said)


def power_cut(plan: Plan) -> Answer:
    """Answer what a power cut does, at the worst moment for the sump and at the worst for the beds.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    Answer
    """
    cut, system, sump = pump_off.power_cut(run_plan(plan, trace=False)), plan.units, plan.sump
    room = sump.rim - cut.sump
    side = "below its rim" if room >= 0.0 else "over its rim: it overflows"
    end = f"{brief(abs(room), 'length', system)} {side}"
    deep = {bed.name: cut.stands[bed.name] - bed.floor for bed in plan.beds}
    worst = max(deep, key=deep.__getitem__)
    said = [
        f"Worst for the sump, just after the siphon has started: {brief(cut.comes_back, 'volume', system)} "
        f"come back within {show(cut.rest, 'time', system)}, and the sump rises to "
        f"{show(cut.sump, 'elevation', system)}, {end}.",
        f"Worst for the beds, just before it starts: {brief(cut.held, 'volume', system)} stay in beds and "
        f"chambers, {brief(deep[worst], 'length', system)} deep in {worst}, until the power is back.",
        "Roots bear that for some hours, not for days: lift the bell and pull the standpipe to let the beds "
        "drain (common practice, no source).",
        "When the power is back, all of it starts by itself: look at the sump and listen to the pump.",
    ]
    if plan.pump.delivery is None:
        said.append("The plan has no delivery pipe: what runs back through it is not counted.")
    return Answer("What does a power cut do?", "number", system, steps=tuple(said))


def upkeep(plan: Plan, siphon: str | None = None, progress: Progress | None = None) -> Answer:
    """Answer how often to look and clean, and how far each part may age before the verdict changes.

    Parameters
    ----------
    plan : Plan
    siphon : str, optional
    progress : callable, optional

    Returns
    -------
    Answer
        A sentence for each part that ages.
    """
    finder = Finder(plan, siphon, progress)
    now = verdict(find(finder.base))
    said = [f"Today this plan {now if now == 'works' else f'{now} work'}."]
    alike: dict[tuple[str, ...], list[str]] = {}
    for cause in finder.causes:
        often = next((words for key, words in LOOK.items() if cause.key.startswith(key)), "")
        if often:
            said_of = (cause.key.partition(" ")[0], often, _aged(finder, cause, now))
            alike.setdefault(said_of, []).append(cause.name)
    for (_, often, words), (first, *others) in alike.items():
        same = f" (the same for {len(others)} more)" if others else ""
        said.append(f"- {first}{same}. Look {often}. {words}")
    said.append("How often to look is common practice, no source. How fast a part ages is not known.")
    question = "How often do I look and clean, and what happens as slots, roots and pump age?"
    return Answer(question, "number", plan.units, steps=tuple(said))


def _aged(finder: Finder, cause: Cause, now: str) -> str:
    """Say how far one part may age before the verdict is worse than it is now, and what comes then."""
    before = 0.0
    for strength, run in ((s, r) for c, s, r in finder.ladder if c is cause):
        findings = find(run)
        then = verdict(findings)
        if VERDICTS.index(then) < VERDICTS.index(now):
            harmless = f"{cause.says(before)} does no harm yet" if before else "even a little of it matters"
            return (
                f"{harmless[0].upper()}{harmless[1:]}; with {cause.says(strength)} the plan {then} work: "
                f"{findings[0].title.lower()}."
            )
        before = strength
    return "However far it goes, the verdict does not change."


def even(plan: Plan) -> Answer:
    """Answer how to even out beds that flood to different depths.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    Answer
        By how much each bed floods, and how far to lift or let down each; its plan has the floors moved.
    """
    run, system = run_plan(plan, trace=False), plan.units
    depth = {bed.name: run.node(bed.name).high - bed.floor for bed in plan.beds}
    left = {bed.name: max(run.node(bed.name).low - bed.floor, 0.0) for bed in plan.beds}
    said = []
    for name in depth:
        deep, kept = (brief(level[name], "length", system) for level in (depth, left))
        said.append(f"- {name} floods {deep} deep and keeps {kept}.")
    question, spread = (
        "How do I even out beds that flood unevenly?",
        max(depth.values()) - min(depth.values()),
    )
    apart = brief(spread, "length", system)
    if len(depth) < 2:
        return Answer(question, "length", system, steps=("There is only one bed.",))
    if spread <= EVEN:
        said.append(f"They differ by {apart}, less than a floor can be laid level: nothing to do.")
        return Answer(question, "length", system, steps=tuple(said))
    said.append(
        f"They differ by {apart}. One lip sets one water level for all of them, so a bed whose floor is "
        "higher floods less deep. Move the floors:"
    )
    wanted = sorted(depth.values())[len(depth) // 2]
    moved = {}
    for bed in plan.beds:
        up = depth[bed.name] - wanted
        if abs(up) > 0.5 * EVEN:
            moved[bed.name] = up
            how = f"Pack {bed.name} up" if up > 0.0 else f"Let {bed.name} down"
            said.append(f"- {how} {brief(abs(up), 'length', system)}.")
    beds = tuple(dataclasses.replace(b, floor=b.floor + moved.get(b.name, 0.0)) for b in plan.beds)
    runs = tuple(
        dataclasses.replace(r, length=r.length + max(moved[r.start], 0.0), legs=()) if r.start in moved else r
        for r in plan.runs
    )
    follows, notes = checked(dataclasses.replace(plan, beds=beds, runs=runs))
    if follows is not None:
        after = run_plan(follows, trace=False)
        new = [after.node(b.name).high - b.floor for b in follows.beds]
        said.append(f"Tried: they then differ by {brief(max(new) - min(new), 'length', system)}.")
    return Answer(question, "length", system, exact=spread, steps=(*said, *notes), plan=follows)


def another_bed(plan: Plan) -> Answer:
    """Answer what changes when a bed like the last one is added.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    Answer
        Floods, times and sump before and after, what gets worse, and a change that was tried; its plan has
        the bed.
    """
    question, system = "What changes when I add a bed like the last one?", plan.units
    last = plan.beds[-1]
    line = plan.run_from(last.name)
    if line is None:
        raise ValueError(f"{last.name} holds its siphon; write a bed like it, with a siphon, into the plan")
    names = [bed.name for bed in plan.beds] + [c.name for c in plan.chambers] + [t.name for t in plan.tees]
    taken, number = set(names), len(plan.beds) + 1
    while f"bed {number}" in taken:
        number += 1
    name = f"bed {number}"
    bed = dataclasses.replace(last, name=name, **{k: None for k in ("x", "y") if hasattr(last, k)})
    follows, notes = checked(
        dataclasses.replace(
            plan, beds=(*plan.beds, bed), runs=(*plan.runs, dataclasses.replace(line, start=name))
        )
    )
    if follows is None:
        return Answer(question, "number", system, steps=notes)
    runs = [run_plan(p, trace=False) for p in (plan, follows)]
    findings = [find(run) for run in runs]
    before, after = (verdict(f) for f in findings)
    said = [f"{name} is like {last.name} and drains to {line.to}. Verdict: {before} before, {after} after."]
    for group, then in zip(runs[0].groups, runs[1].groups, strict=True):
        if group.outcome == then.outcome == "cycles":
            floods = [f"{3600.0 / g.period:.2g}" for g in (group, then)]
            drains = [show(g.drain_time, "time", system) for g in (group, then)]
            said.append(
                f"{group.name}: {floods[0]} floods an hour before, {floods[1]} after; it drains in "
                f"{drains[0]} before, {drains[1]} after."
            )
    cover = []
    for each, run in zip((plan, follows), runs, strict=True):
        over = beds_full_level(each, run, sump_range(each, run)) - lowest_pump_level(each)
        cover.append(f"{brief(abs(over), 'length', system)} {'over' if over > 0.0 else 'under'}")
    said.append(
        f"With the beds full the sump {'would be' if runs_dry(follows, runs[1]) else 'is'} {cover[0]} the "
        f"pump's intake before, {cover[1]} after."
    )
    old = {(f.key, f.subject) for f in findings[0] if f.state in VERDICTS}
    said += [
        f"- {f.title} ({f.subject}): {f.shown(system)}. {f.change}"
        for f in findings[1]
        if f.state in VERDICTS and (f.key, f.subject) not in old
    ][:5]
    for advice in advise(runs[1], findings[1])[:1]:
        said.append(f"A change that was tried: {advice.words} Then it {_then(advice.verdict)}.")
    return Answer(question, "number", system, steps=(*said, *notes), plan=follows)


def _then(state: str) -> str:
    return {"works": "works", "may or may not": "may or may not work"}.get(state, "still does not work")
