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
    found = [_cycle(plan, group), _spills(plan, siphon, group, window), _start(plan, siphon, window)]
    found += [_stop(plan, siphon, group, window), _floods(plan, group), _tail(plan, siphon, levels)]
    found += [_crest(plan, siphon, levels), *_bell(plan, siphon)]
    return [f for f in found if f is not None]


def _no_inflow(plan: Plan, group: GroupCycle) -> Finding:
    lip = show(group.lip, "elevation", plan.units)
    return Finding(
        "no_inflow", "Beds do not flood", "bad", group.name, group.level, group.lip, group.level - group.lip,
        "elevation",
        f"Water stops coming before it stands at the lip ({lip}): the pump has run dry, cannot lift so high, "
        "or gives these beds no share.",
        "See what is said of the pump and the sump, and give a bed of this siphon a share of the inflow.",
    )  # fmt: skip


def _cycle(plan: Plan, group: GroupCycle) -> Finding | None:
    if group.outcome == "cycles":
        fill, drain = (
            show(t, "time", plan.units) for t in (group.period - group.drain_time, group.drain_time)
        )
        reason = f"It floods in {fill} and drains in {drain}, and every cycle is like the one before."
        return Finding(
            "cycle", "It floods and drains", "good", group.name, group.period, None, None, "time", reason
        )
    if group.outcome != "unsettled":
        return None
    if group.cycles == 0:
        return Finding(
            "unsettled", "It has not settled", "bad", group.name, None, None, None, "time",
            "In sixty times the time that the pump takes to fill everything, it neither floods and drains "
            "nor comes to rest.",
            "Check the sizes and the pump's flow in the plan: a very small flow into a large bed does this.",
        )  # fmt: skip
    return Finding(
        "unsettled", "It floods and drains, but never twice alike", "watch", group.name,
        group.misfit, None, None, "length",
        f"It has drained {group.cycles} times, and at the last two breaks a level differed by "
        f"{show(group.misfit, 'length', plan.units)}. Siphons on one sump that change the pump's flow do "
        "this. The times of one cycle are not given.",
        "Use a pump whose flow depends less on the sump's level, or a wider sump.",
    )  # fmt: skip


def _bore_that_starts(froude: float, flow: float) -> float:
    """Bore (m) on which `flow` (m3/s) has the Froude number `froude`."""
    return (4.0 * flow / (math.pi * froude * math.sqrt(GRAVITY))) ** 0.4


def _other_parts(siphon: Siphon, table: str) -> str:
    """Say that the flow observed under a table of the siphon was of other parts than the plan has; or ""."""
    names = " and ".join(changed(siphon))
    if getattr(siphon, table).observed is None or not names:
        return ""
    return f" The flow observed under [siphon.{table}] was of another {names} and does not count here."


def _spills(plan: Plan, siphon: Siphon, group: GroupCycle, window: Window) -> Finding | None:
    if group.outcome != "spills":
        return None
    s = plan.units
    inflow = min(window.today_low, group.flow_steady)  # less than the pump's where a bed holds water back
    bore = siphon.standpipe.pipe.bore
    needed = _bore_that_starts(siphon.priming.froude, inflow)
    reason = (
        f"The pump brings {show(inflow, 'flow', s)}, but a bore of {show(bore, 'length', s)} fills "
        f"only from {show(window.start, 'flow', s)}. The water runs down inside the standpipe with air "
        f"beside it, and stays {show(group.level - group.lip, 'head', s)} above the lip: the beds fill and "
        f"never drain.{_other_parts(siphon, 'priming')}"
    )
    ways = f"Raise the inflow to this siphon above {show(window.start_high, 'flow', s)}"
    if not window.observed:
        ways += (
            f", or fit a standpipe with a smaller bore (at most {show(needed, 'length', s)} for the middle "
            "estimate). A wider lip on top keeps the water level low, but does not make a wide bore fill."
        )
    else:
        ways += ", from which it starts by your own readings."
    return Finding(
        "spills", "Spills without starting", "bad", siphon.name, inflow, window.start,
        inflow - window.start, "flow", reason, ways, (window.start_low, window.start_high),
    )  # fmt: skip


def _start(plan: Plan, siphon: Siphon, window: Window) -> Finding | None:
    today, low, high = window.today_low, window.start_low, window.start_high
    if today < low:
        return None
    s = plan.units
    bore = show(siphon.standpipe.pipe.bore, "length", s)
    band = f"{show(low, 'flow', s)} to {show(high, 'flow', s)}"
    if window.observed:
        why = (
            f"By your own readings it starts at {show(window.start, 'flow', s)}, with their error somewhere "
            f"from {band}."
        )
    else:
        froude = froude_bore(today, siphon.standpipe.pipe.bore, GRAVITY)
        why = (
            f"A bore of {bore} starts to fill somewhere from {band}: below that it trickles and lets its air "
            f"out, above it runs full. The middle estimate is {show(window.start, 'flow', s)}. "
            f"Today's Froude number is {show(froude, 'number')}."
        )
        why += _other_parts(siphon, "priming")
    values = (siphon.name, today, high, today - high, "flow")
    if today >= high:
        reason = f"The pump brings {show(today, 'flow', s)}, which is above the band. {why}"
        return Finding("start", "The siphon starts", "good", *values, reason, band=(low, high))
    reason = f"The pump brings {show(today, 'flow', s)}, which is inside the uncertain band. {why}"
    change = f"Raise the inflow above {show(high, 'flow', s)}"
    if window.observed:
        change += ", or measure again with a smaller error."
    else:
        needed = _bore_that_starts(siphon.priming.froude_high, today)
        change += (
            f", or fit a bore of at most {show(needed, 'length', s)}. Or find out before you cut, by hose, "
            "bucket and jug: `aquacalc bench` says which flows to try, and the band shrinks to what you see."
        )
    return Finding("start", "Start is uncertain", "watch", *values, reason, change, (low, high))


def _stop(plan: Plan, siphon: Siphon, group: GroupCycle, window: Window) -> Finding:
    s = plan.units
    today, margin = window.today_high, f"{100 * plan.limits.stop_margin:.0f} %"
    at_rim = (
        f"With the water down at the bell rim the siphon carries {show(window.stop, 'flow', s)}, under "
        f"{show(window.head_at_rim, 'head', s)} of head; the pump brings {show(today, 'flow', s)}."
    )
    change = (
        "Lead the end of the tail lower, give it fewer bends or a wider bore, or bring the inflow below "
        f"{show(window.stop_with_margin, 'flow', s)}."
    )
    if window.stop_observed:
        at_rim = (
            f"By your own readings it stops up to {show(window.stop_with_margin, 'flow', s)} and runs on "
            f"from {show(window.stop, 'flow', s)}; the pump brings {show(today, 'flow', s)}."
        )
    else:
        at_rim += _other_parts(siphon, "stopping")
    if window.head_at_rim <= 0.0:
        at_rim = "The sump stands above the bell rim, so nothing is siphoned down to the rim."
        change = "Lower the water in the sump or raise the chamber."
    if group.outcome == "runs on" or (
        today >= window.stop and (window.stop_observed or group.outcome != "cycles")
    ):
        title = "Would run on if it started" if group.outcome == "spills" else "Runs on without stopping"
        reason = (
            f"{at_rim} As much comes in as goes out before the rim is bare, so no air gets in to break it."
        )
        return Finding(
            "runs_on",
            title,
            "bad",
            siphon.name,
            today,
            window.stop,
            window.stop - today,
            "flow",
            reason,
            change,
        )
    limit = window.stop_with_margin
    values = (siphon.name, today, limit, limit - today, "flow")
    if today > limit:
        reason = f"{at_rim} The margin asked for is {margin}; a partly blocked tail would make it run on."
        if window.stop_observed:
            reason = f"{at_rim} Between the two it may stop or run on."
        return Finding("stop", "Stops with little margin", "watch", *values, reason, change)
    reason = f"{at_rim} It takes air and breaks, with more than the margin of {margin} in hand."
    if window.stop_observed:
        reason = f"{at_rim} It takes air and breaks."
    title = "Once started, it would stop" if group.outcome == "spills" else "The siphon stops"
    return Finding("stop", title, "good", *values, reason)


def _floods(plan: Plan, group: GroupCycle) -> Finding | None:
    if group.outcome != "cycles":
        return None
    low, high = (x / 3600.0 for x in (plan.limits.floods_low, plan.limits.floods_high))
    floods = 1.0 / group.period
    reason = (
        f"{plan.limits.floods_low:g} to {plan.limits.floods_high:g} floods an hour are asked for. Each takes "
        f"{show(group.pumped, 'volume', plan.units)} of the pump's water."
    )
    if floods < low:
        return Finding(
            "floods", "Too few floods", "watch", group.name, floods, low, floods - low, "frequency", reason,
            "Raise the inflow, shorten the standpipe or drain fewer beds by this siphon.",
        )  # fmt: skip
    if floods > high:
        return Finding(
            "floods", "Too many floods", "watch", group.name, floods, high, high - floods, "frequency",
            reason, "Lower the inflow, lengthen the standpipe or drain more beds by this siphon.",
        )  # fmt: skip
    limit = low if floods - low < high - floods else high
    values = (group.name, floods, limit, abs(floods - limit), "frequency")
    return Finding("floods", "Floods as often as asked", "good", *values, reason)


def _tail(plan: Plan, siphon: Siphon, levels: SumpRange) -> Finding:
    s, outlet = plan.units, siphon.tail.outlet
    high = min(levels.high, plan.sump.rim)
    margin = outlet - high
    values = (siphon.name, high, outlet, margin, "elevation")
    if margin < 0.0:
        return Finding(
            "tail", "Tail is drowned", "watch", *values,
            f"The sump rises {show(-margin, 'head', s)} above the end of the tail. That takes head from the "
            "siphon, which flows here count, and slows the bell's air when it starts, which they do not.",
            "End the tail higher, lower the water in the sump, or use a wider sump.",
        )  # fmt: skip
    reason = f"The sump's highest level stays {show(margin, 'head', s)} below the end of the tail."
    return Finding("tail", "Tail is free", "good", *values, reason)


def _crest(plan: Plan, siphon: Siphon, levels: SumpRange) -> Finding:
    s, boiling = plan.units, vapour_pressure(plan.water_temperature)
    lowest = min(crests(plan, siphon, levels), key=lambda c: c.pressure)
    limit = boiling + CREST_MARGIN
    values = (siphon.name, lowest.pressure, limit, lowest.pressure - limit, "pressure")
    reason = (
        f"The lowest pressure, at the lip, is {show(max(lowest.pressure, 0.0), 'pressure', s)} absolute at "
        f"sea level. Water at {show(plan.water_temperature, 'temperature', s)} boils at "
        f"{show(boiling, 'pressure', s)}, and {show(CREST_MARGIN, 'pressure', s)} more is kept because air "
        "leaves the water earlier."
    )
    change = (
        "Shorten the standpipe, or slow the flow with a narrower tail. A tail that ends higher helps too."
    )
    if lowest.pressure <= boiling:
        return Finding("crest", "Siphon tears apart at its crest", "bad", *values, reason, change)
    if lowest.pressure < limit:
        return Finding("crest", "Suction at the crest is strong", "watch", *values, reason, change)
    return Finding("crest", "Suction at the crest is harmless", "good", *values, reason)


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
        ratio = area / bore
        values = (siphon.name, ratio, 1.0, ratio - 1.0, "number")
        reason = f"It has {show(area, 'opening_area', s)}, the bore {show(bore, 'opening_area', s)}."
        if ratio < 1.0:
            reason += f" It throttles the siphon; {loss}."
            title = f"{name} is narrower than the bore"
            found.append(Finding(f"bell_{key}", title, "watch", *values, reason, change, counts=TIMES))
        else:
            title = f"{name} is wide enough"
            found.append(Finding(f"bell_{key}", title, "good", *values, reason, counts=TIMES))
    return found
