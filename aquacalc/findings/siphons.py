"""Findings on a siphon: does it start, does it stop, and is it built so that it can."""

from __future__ import annotations

import math

from aquacalc.equations.formulas import GRAVITY, circle_area, froude_bore, vapour_pressure
from aquacalc.findings.record import TIMES, Finding
from aquacalc.hydraulics.paths import siphon_path
from aquacalc.plan.model import Plan, Siphon
from aquacalc.plan.tested import changed
from aquacalc.results.cycle import GroupCycle
from aquacalc.results.window import SumpRange, Window, crests
from aquacalc.units import show

#: Pressure kept above boiling at the crest, Pa: air leaves the water earlier (common practice, no source).
CREST_MARGIN = 20000.0


def find_siphon(
    plan: Plan, group: GroupCycle, siphon: Siphon, window: Window, levels: SumpRange
) -> list[Finding]:
    """Judge one siphon and the beds it drains, taken together."""
    if group.outcome == "no inflow":
        return [_no_inflow(plan, group)]
    found = [_cycle(plan, group), _start(plan, siphon, group, window)]
    found += [_stop(plan, siphon, group, window), _floods(plan, group), _tail(plan, siphon, levels)]
    found += [_crest(plan, siphon, levels), *_bell(plan, siphon)]
    return [f for f in found if f is not None]


def _no_inflow(plan: Plan, group: GroupCycle) -> Finding:
    lip = show(group.lip, "elevation", plan.units)
    return Finding(
        key="no_inflow",
        title="Beds do not flood",
        state="does not",
        subject=group.name,
        value=group.level,
        limit=group.lip,
        direction="at least",
        kind="elevation",
        cause=f"The water stops coming before it reaches the lip ({lip}): the pump has run dry, cannot lift "
        "so high, or gives these beds no share.",
        change="See what is said of the pump and the sump, and give a bed of this siphon a share of the "
        "inflow.",
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
        title="It floods and drains, but never twice alike",
        state="watch",
        subject=group.name,
        value=group.misfit,
        kind="length",
        cause=f"It has drained {group.cycles} times, and at the last two breaks a level differed by "
        f"{show(group.misfit, 'length', plan.units)}. Siphons on one sump that change the pump's flow do "
        "this. The times of one cycle are not given.",
        change="Use a pump whose flow depends less on the sump's level, or a wider sump.",
    )


def _bore_that_starts(froude: float, flow: float) -> float:
    """Bore (m) on which `flow` (m3/s) has the Froude number `froude`."""
    return (4.0 * flow / (math.pi * froude * math.sqrt(GRAVITY))) ** 0.4


def _other_parts(siphon: Siphon, table: str) -> str:
    """Say that the flow observed under a table of the siphon was of other parts than the plan has; or ""."""
    names = " and ".join(changed(siphon))
    if getattr(siphon, table).observed is None or not names:
        return ""
    return f" The flow observed under [siphon.{table}] was of another {names} and does not count here."


def _start(plan: Plan, siphon: Siphon, group: GroupCycle, window: Window) -> Finding:
    """Hold the flow that reaches the lip against the band in which a siphon starts."""
    s, low, high = plan.units, window.start_low, window.start_high
    spills = group.outcome == "spills"
    # Less than the pump's comes where a bed holds water back.
    flow = min(window.today_low, group.flow_steady) if spills else window.today_low
    values = {
        "subject": siphon.name, "value": flow, "limit": high, "direction": "at least", "band": (low, high),
        "kind": "flow", "wording": "very likely to start from about",
    }  # fmt: skip
    bore = show(siphon.standpipe.pipe.bore, "length", s)
    about_low, about_high = (show(q, "flow", s, 2) for q in (low, high))
    brings = f"The pump brings {show(flow, 'flow', s)}"
    froude = show(froude_bore(flow, siphon.standpipe.pipe.bore, GRAVITY), "number", s, 2)
    if window.observed:
        band = (
            f"By your own readings it starts at {show(window.start, 'flow', s)}; with their error somewhere "
            f"from {about_low} to {about_high}."
        )
    else:
        band = (
            f"A bore of {bore} lets its air out and only trickles below about {about_low}, and very likely "
            f"runs full from about {about_high}; between the two nobody can say. Today's Froude number is "
            f"{froude}.{_other_parts(siphon, 'priming')}"
        )
    if flow >= high:
        return Finding(
            key="start", title="The siphon starts", state="good", cause=f"{brings}. {band}", **values
        )
    more = f"Raise the inflow to this siphon above {about_high}"
    if not window.observed:
        needed = show(_bore_that_starts(siphon.priming.froude_high, flow), "length", s)
        more += f", or fit a standpipe with a bore of at most {needed}"
    if spills and flow < low:
        more += (
            ", from which it starts by your own readings."
            if window.observed
            else ". A wider lip on top keeps the water level low, but does not make a wide bore fill."
        )
        return Finding(
            key="spills",
            title="Spills without starting",
            state="does not",
            cause=f"{brings}. {band} The water runs down inside the standpipe with air beside it, and stays "
            f"{show(group.level - group.lip, 'head', s)} above the lip: the beds fill and never drain.",
            change=more,
            **values,
        )
    settle = (
        "Measure the flow that starts it again, with a smaller error."
        if window.observed
        else "Find out before you cut, with a hose, a bucket and a jug: `aquacalc bench` says which flows to "
        "try, and what you see goes into the plan as observed."
    )
    return Finding(
        key="start",
        title="Start is uncertain",
        state="may or may not",
        cause=f"{brings}. {band}",
        change=f"{settle} {more}, to be sure.",
        **values,
    )


def _stop(plan: Plan, siphon: Siphon, group: GroupCycle, window: Window) -> Finding:
    s = plan.units
    today, margin = window.today_high, f"{100 * plan.limits.stop_margin:.0f} %"
    below = show(window.stop_with_margin, "flow", s, 2)
    values = {"subject": siphon.name, "value": today, "direction": "at most", "kind": "flow"}
    at_rim = (
        f"With the water down at the bell rim the siphon carries {show(window.stop, 'flow', s, 2)}, under "
        f"{show(window.head_at_rim, 'head', s)} of head; the pump brings {show(today, 'flow', s)}."
    )
    change = f"End the tail lower, give it fewer bends or a wider bore, or bring the inflow below {below}."
    if window.stop_observed:
        at_rim = (
            f"By your own readings it stops up to {show(window.stop_with_margin, 'flow', s)} and runs on "
            f"from {show(window.stop, 'flow', s)}; the pump brings {show(today, 'flow', s)}."
        )
    else:
        at_rim += _other_parts(siphon, "stopping")
    if window.head_at_rim <= 0.0:
        at_rim = "The sump's water is above the bell rim, so nothing is siphoned down to the rim."
        change = "Lower the water in the sump or raise the chamber."
    if group.outcome == "runs on" or (
        today >= window.stop and (window.stop_observed or group.outcome != "cycles")
    ):
        return Finding(
            key="runs_on",
            title="Would run on if it started" if group.outcome == "spills" else "Runs on without stopping",
            state="does not",
            limit=window.stop,
            cause=f"{at_rim} As much comes in as goes out before the rim is bare, so no air gets in to "
            "break it.",
            change=change,
            **values,
        )
    values |= {"limit": window.stop_with_margin, "wording": "very likely to stop up to about"}
    if today > window.stop_with_margin:
        unsure = f"Within {margin} of that nobody can say whether it takes enough air to break."
        if window.stop_observed:
            unsure = "Between the two it may stop or run on."
        return Finding(
            key="stop",
            title="Stop is uncertain",
            state="may or may not",
            band=(window.stop_with_margin, window.stop),
            cause=f"{at_rim} {unsure}",
            change=f"Close the valve until less than {below} comes in. Or {change[0].lower()}{change[1:]}",
            **values,
        )
    return Finding(
        key="stop",
        title="Once started, it would stop" if group.outcome == "spills" else "The siphon stops",
        state="good",
        cause=f"{at_rim} It takes air and breaks.",
        **values,
    )


def _floods(plan: Plan, group: GroupCycle) -> Finding | None:
    if group.outcome != "cycles":
        return None
    low, high = (x / 3600.0 for x in (plan.limits.floods_low, plan.limits.floods_high))
    floods = 1.0 / group.period
    values = {"key": "floods", "subject": group.name, "value": floods, "kind": "frequency"}
    cause = (
        f"Your plan asks for {plan.limits.floods_low:g} to {plan.limits.floods_high:g} floods an hour. Each "
        f"takes {show(group.pumped, 'volume', plan.units)} of the pump's water."
    )
    at_least = values | {"limit": low, "direction": "at least"}
    at_most = values | {"limit": high, "direction": "at most"}
    if floods < low:
        change = "Raise the inflow, shorten the standpipe or drain fewer beds by this siphon."
        return Finding(title="Too few floods", state="watch", cause=cause, change=change, **at_least)
    if floods > high:
        change = "Lower the inflow, lengthen the standpipe or drain more beds by this siphon."
        return Finding(title="Too many floods", state="watch", cause=cause, change=change, **at_most)
    near = at_least if floods - low < high - floods else at_most
    return Finding(title="Floods as often as asked", state="good", cause=cause, **near)


def _tail(plan: Plan, siphon: Siphon, levels: SumpRange) -> Finding:
    s, outlet = plan.units, siphon.tail.outlet
    high = min(levels.high, plan.sump.rim)
    values = {
        "key": "tail", "subject": siphon.name, "value": high, "limit": outlet, "direction": "at most",
        "kind": "elevation",
    }  # fmt: skip
    if high > outlet:
        return Finding(
            title="Tail is drowned",
            state="watch",
            cause=f"The sump rises {show(high - outlet, 'head', s)} above the end of the tail. That takes "
            "head from the siphon, which flows here count, and slows the bell's air when it starts, which "
            "they do not.",
            change="End the tail higher, lower the water in the sump, or use a wider sump.",
            **values,
        )
    cause = f"The sump's highest level stays {show(outlet - high, 'head', s)} below the end of the tail."
    return Finding(title="Tail is free", state="good", cause=cause, **values)


def _crest(plan: Plan, siphon: Siphon, levels: SumpRange) -> Finding:
    s, boiling = plan.units, vapour_pressure(plan.water_temperature)
    lowest = min(crests(plan, siphon, levels), key=lambda c: c.pressure)
    limit = boiling + CREST_MARGIN
    values = {
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
    openings, annulus, *_ = siphon_path(siphon)
    stand, bell = siphon.standpipe, siphon.bell
    over_lip = math.pi * stand.lip_diameter * (bell.top_height - stand.height)
    counted, not_counted = "flows here count what is lost in it", "flows here do not count that loss"
    ways = (
        ("gap", "Gap between bell and standpipe", annulus.area, counted, "Use a wider bell."),
        ("openings", "Way in at the bell's foot", openings.area, counted, "Cut more or larger openings."),
        ("clearance", "Room between lip and bell top", over_lip, not_counted, "Use a taller bell."),
    )
    found = []
    for key, name, area, loss, change in ways:
        narrow = area < bore
        cause = f"It has {show(area, 'opening_area', s)}, the bore {show(bore, 'opening_area', s)}."
        found.append(
            Finding(
                key=f"bell_{key}",
                title=f"{name} is {'narrower than the bore' if narrow else 'wide enough'}",
                state="watch" if narrow else "good",
                subject=siphon.name,
                value=area / bore,
                limit=1.0,
                direction="at least",
                counts=TIMES,
                cause=f"{cause} It throttles the siphon; {loss}." if narrow else cause,
                change=change if narrow else "",
            )
        )
    return found
