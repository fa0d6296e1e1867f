"""Findings on a siphon: does it start, does it stop, and is it built so that it can."""

from __future__ import annotations

import math
from typing import Any

from aquacalc.equations.formulas import circle_area, vapour_pressure
from aquacalc.findings.record import TIMES, Finding
from aquacalc.findings.start_stop import find_overflow, find_start_and_stop
from aquacalc.hydraulics.paths import siphon_path
from aquacalc.hydraulics.starting import choke, spill_level
from aquacalc.plan.model import Plan, Siphon
from aquacalc.results.cycle import GroupCycle
from aquacalc.results.pump_off import timer
from aquacalc.results.window import SumpRange, Window, crests
from aquacalc.units import show

#: Pressure kept above boiling at the crest, Pa: air leaves the water earlier (common practice, no source).
CREST_MARGIN = 20000.0
#: Room over the lip, in bores, that is comfortable (our own choice, no source).
ROOM = 2.0


def find_siphon(
    plan: Plan, group: GroupCycle, siphon: Siphon, window: Window, levels: SumpRange, dry: bool
) -> list[Finding]:
    """Judge one siphon and the beds it drains, taken together; `dry` as in `short_of_water`."""
    if group.outcome == "no inflow":
        either = _no_inflow(plan, group, dry), find_overflow(plan, siphon, window)
        return [f for f in either if f is not None]
    found = [_cycle(plan, group), *find_start_and_stop(plan, group, siphon, window, levels, dry)]
    found += [_floods(plan, group), _tail(plan, siphon, levels)]
    found += [_crest(plan, siphon, levels), *_bell(plan, siphon)]
    return [f for f in found if f is not None]


def _no_inflow(plan: Plan, group: GroupCycle, dry: bool) -> Finding:
    lip = show(group.lip, "elevation", plan.units)
    why = (
        "the pump runs dry, because the sump does not hold the water that these beds take."
        if dry
        else "the pump has run dry, cannot lift so high, or gives these beds no share, or a safety overflow "
        "takes the water."
    )
    change = "See the notes on pump, sump and overflow; give a bed of this siphon a share of the inflow."
    if dry:
        change = "Mend the sump: put more water in, use a wider one, or shorten the standpipe."
    return Finding(
        key="no_inflow",
        title="Beds do not flood",
        state="does not",
        subject=group.name,
        value=group.level,
        limit=group.lip,
        direction="at least",
        kind="elevation",
        cause=f"The water stops rising before it reaches the lip ({lip}): {why}",
        change=change,
    )


def _cycle(plan: Plan, group: GroupCycle) -> Finding | None:
    if group.outcome == "cycles":
        fill, drain = (
            show(t, "time", plan.units) for t in (group.period - group.drain_time, group.drain_time)
        )
        return Finding(
            key="cycle",
            title="It floods and drains",
            state="good",
            subject=group.name,
            value=group.period,
            kind="time",
            cause=f"It floods in {fill} and drains in {drain}, and every cycle is like the one before.",
        )
    if group.outcome != "unsettled":
        return None
    if group.cycles == 0:
        return Finding(
            key="unsettled",
            title="It has not settled",
            state="does not",
            subject=group.name,
            kind="time",
            cause="In sixty times the time that the pump takes to fill everything, it neither floods and "
            "drains nor comes to rest.",
            change="Check the sizes and the pump's flow in the plan: a very small flow into a large bed does "
            "this.",
        )
    return Finding(
        key="unsettled",
        title="It floods and drains, but no two floods are alike",
        state="watch",
        subject=group.name,
        value=group.misfit,
        kind="length",
        cause=f"It has drained {group.cycles} times, and at the last two breaks a level differed by "
        f"{show(group.misfit, 'length', plan.units)}. Siphons on one sump that change the pump's flow do "
        "this. The times of one cycle are not given.",
        change="Use a pump whose flow depends less on the sump's level, or a wider sump.",
    )


def _floods(plan: Plan, group: GroupCycle) -> Finding | None:
    if group.outcome != "cycles":
        return None
    low, high = (x / 3600.0 for x in (plan.limits.floods_low, plan.limits.floods_high))
    timed = timer(plan)
    floods = timed.floods[group.name] if timed else 1.0 / group.period
    values: dict[str, Any] = {"key": "floods", "subject": group.name, "value": floods, "kind": "frequency"}
    cause = (
        f"Your plan asks for {plan.limits.floods_low:g} to {plan.limits.floods_high:g} floods an hour. Each "
        f"takes {show(group.pumped, 'volume', plan.units)} of the pump's water."
    )
    at_least = values | {"limit": low, "direction": "at least"}
    at_most = values | {"limit": high, "direction": "at most"}
    if floods < low:
        change = "Raise the inflow, shorten the standpipe or drain fewer beds with this siphon."
        return Finding(title="Too few floods", state="watch", cause=cause, change=change, **at_least)
    if floods > high:
        change = "Lower the inflow, lengthen the standpipe or drain more beds with this siphon."
        return Finding(title="Too many floods", state="watch", cause=cause, change=change, **at_most)
    near = at_least if floods - low < high - floods else at_most
    return Finding(title="Floods as often as you asked", state="good", cause=cause, **near)


def _tail(plan: Plan, siphon: Siphon, levels: SumpRange) -> Finding:
    s, outlet = plan.units, siphon.tail.end
    high = min(levels.high, plan.sump.rim)
    values: dict[str, Any] = {
        "key": "tail", "subject": siphon.name, "value": high, "limit": outlet, "direction": "at most",
        "kind": "elevation",
    }  # fmt: skip
    if high > outlet:
        return Finding(
            title="Tail is drowned",
            state="watch",
            cause=f"The sump rises {show(high - outlet, 'head', s)} above the end of the tail. That takes "
            "head from the siphon; the flows here allow for it. Where it is under water when the "
            "siphon starts, "
            "the start may be that much higher.",
            change="End the tail higher, lower the water in the sump, or use a wider sump.",
            **values,
        )
    cause = f"The sump's highest level stays {show(outlet - high, 'head', s)} below the end of the tail."
    return Finding(title="Tail is free", state="good", cause=cause, **values)


def _crest(plan: Plan, siphon: Siphon, levels: SumpRange) -> Finding:
    s, boiling = plan.units, vapour_pressure(plan.water_temperature)
    lowest = min(crests(plan, siphon, levels), key=lambda c: c.pressure)
    limit = boiling + CREST_MARGIN
    values: dict[str, Any] = {
        "key": "crest", "subject": siphon.name, "value": lowest.pressure, "limit": limit,
        "direction": "at least", "kind": "pressure",
    }  # fmt: skip
    cause = (
        f"The lowest pressure, at the lip, is {show(max(lowest.pressure, 0.0), 'pressure', s)} absolute at "
        f"sea level. Water at {show(plan.water_temperature, 'temperature', s)} boils at "
        f"{show(boiling, 'pressure', s)}, and {show(CREST_MARGIN, 'pressure', s)} more is kept because air "
        "leaves the water earlier."
    )
    change = (
        "Shorten the standpipe, or slow the flow with a narrower tail. A tail that ends higher helps too."
    )
    if lowest.pressure <= boiling:
        title = "Siphon tears apart at its crest"
        return Finding(title=title, state="does not", cause=cause, change=change, **values)
    if lowest.pressure < limit:
        title = "Suction at the crest is strong"
        return Finding(title=title, state="watch", cause=cause, change=change, **values)
    return Finding(title="Suction at the crest is harmless", state="good", cause=cause, **values)


def _bell(plan: Plan, siphon: Siphon) -> list[Finding]:
    """Judge every way round the lip: each at least as wide as the bore."""
    s, bore = plan.units, circle_area(siphon.standpipe.pipe.bore)
    openings, *_ = siphon_path(plan, siphon)
    ring = circle_area(siphon.bell.bore) - circle_area(siphon.standpipe.widest)
    found = []
    for key, name, area, state, throttles, change in (
        ("gap", "Gap between lip and bell", ring, "may or may not",
         "It throttles the siphon by more than the flows here allow for, and a bell that leans shuts it on "
         "one side.", "Use a wider bell."),
        ("openings", "Way in at the bell's foot", openings.area, "watch",
         "It throttles the siphon; the flows here allow for that.", "Cut more or larger openings."),
    ):  # fmt: skip
        narrow = area < bore
        cause = f"It has {show(area, 'opening_area', s)}, the bore {show(bore, 'opening_area', s)}."
        found.append(
            Finding(
                key=f"bell_{key}",
                title=f"{name} is {'narrower than the bore' if narrow else 'wide enough'}",
                state=state if narrow else "good",
                subject=siphon.name,
                value=area / bore,
                limit=1.0,
                direction="at least",
                counts=TIMES,
                cause=f"{cause} {throttles}" if narrow else cause,
                change=change if narrow else "",
            )
        )
    return [*found, _roof(plan, siphon)]


def _roof(plan: Plan, siphon: Siphon) -> Finding:
    """Judge the room between the lip and the underside of the bell's top.

    The water goes through the curtain that stands on the lip, and the lip's
    law holds only while the roof does not touch the water.
    """
    s, bore = plan.units, circle_area(siphon.standpipe.pipe.bore)
    stand, room = siphon.standpipe, siphon.bell.top_height - siphon.standpipe.height
    curtain = math.pi * stand.lip_diameter * room
    head = spill_level(plan, siphon, choke(siphon)) - plan.vessel(siphon.host).floor - stand.height
    values: dict[str, Any] = {
        "key": "bell_clearance", "subject": siphon.name, "value": curtain / bore, "limit": 1.0,
        "direction": "at least", "counts": TIMES,
    }  # fmt: skip
    cause = (
        f"The roof is {show(room, 'length', s)} over the lip: the way under it has "
        f"{show(curtain, 'opening_area', s)}, the bore {show(bore, 'opening_area', s)}."
    )
    name = "Room between lip and bell top"
    enough = max(ROOM * bore / (math.pi * stand.lip_diameter), head)
    change = f"Use a taller bell: {show(enough, 'length', s)} over the lip is comfortable."
    if curtain < bore or room < head:
        if room < head:
            cause += f" The water would stand {show(head, 'head', s)} over the lip when the siphon starts."
        return Finding(
            title=f"{name} is too small",
            state="may or may not",
            cause=f"{cause} It throttles the siphon and changes its start; the flows here do not "
            "allow for that.",
            change=change,
            **values,
        )
    if curtain < ROOM * bore:
        return Finding(title=f"{name} is small", state="watch", cause=cause, change=change, **values)
    return Finding(title=f"{name} is wide enough", state="good", cause=cause, **values)
