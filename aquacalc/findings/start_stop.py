"""Findings on a siphon's start and stop: what its tail runs like, and what is fitted to help."""

from __future__ import annotations

import math
from typing import Any

from aquacalc.equations.formulas import GRAVITY, froude_bore
from aquacalc.findings.record import Finding
from aquacalc.hydraulics.paths import foot
from aquacalc.hydraulics.pump_curve import by_box
from aquacalc.hydraulics.running import tail_froude
from aquacalc.hydraulics.starting import spill_level
from aquacalc.hydraulics.stopping import breather
from aquacalc.plan.model import Plan, Siphon
from aquacalc.plan.network import host_of
from aquacalc.plan.tested import changed
from aquacalc.results.cycle import GroupCycle
from aquacalc.results.safety_overflow import blocked
from aquacalc.results.window import SumpRange, Window
from aquacalc.units import show

#: What settles a pump known by its box alone.
JUG = "Measure the pump's flow with a jug and a watch, and give it as flow under [pump]."


def find_start_and_stop(
    plan: Plan, group: GroupCycle, siphon: Siphon, window: Window, levels: SumpRange, dry: bool
) -> list[Finding]:
    """Judge whether one siphon starts and stops, and the parts that bear on it; `dry` as in `find_siphon`."""
    found = [_start(plan, siphon, group, window, dry), _stop(plan, siphon, group, window)]
    found.append(_tail_full(plan, siphon, window, levels))
    found += [_breather(plan, siphon), find_overflow(plan, siphon, window)]
    return [f for f in found if f is not None]


def _bore_that_starts(froude: float, flow: float) -> float:
    """Bore (m) on which `flow` (m3/s) has the Froude number `froude`."""
    return (4.0 * flow / (math.pi * froude * math.sqrt(GRAVITY))) ** 0.4


def _start(plan: Plan, siphon: Siphon, group: GroupCycle, window: Window, dry: bool) -> Finding:
    """Hold the flow that reaches the lip against the band in which a siphon starts."""
    s, low, high = plan.units, window.start_low, window.start_high
    spills = group.outcome == "spills"
    # Less than the pump's comes where a bed holds water back.
    flow = min(window.today_low, group.flow_steady) if spills and not dry else window.today_low
    values: dict[str, Any] = {
        "subject": siphon.name, "value": flow, "limit": high, "direction": "at least", "band": (low, high),
        "kind": "flow", "wording": "very likely to start from about",
    }  # fmt: skip
    stand, tail = siphon.standpipe.pipe.bore, siphon.tail.pipe.bore
    bore = show(stand, "length", s)
    about_low, about_high = (show(q, "flow", s, 2) for q in (low, high))
    brings = f"The pump delivers {show(flow, 'flow', s)}"
    if by_box(plan.pump):
        brings = f"The pump delivers {_by_box(plan, window)}"
    froude = show(froude_bore(flow, stand, GRAVITY), "number", s, 2)
    if window.observed:
        band = (
            f"By your own readings it starts at {show(window.start, 'flow', s)}; with their error somewhere "
            f"from {about_low} to {about_high}."
        )
    elif tail < stand:
        band = (
            f"The tail's bore of {show(tail, 'length', s)} is narrower than the standpipe's {bore} and may "
            f"fill first, from about {about_low}; very likely the standpipe itself fills from about "
            f"{about_high}; between the two it may go either way."
        )
    else:
        band = (
            f"A bore of {bore} lets its air out and only trickles below about {about_low}, and very likely "
            f"runs full from about {about_high}; between the two it may go either way. Today's "
            "Froude number is "
            f"{froude}."
        )
    band += _other_parts(siphon, "priming")
    if flow >= high and spills:
        title, why, change = (
            (
                "Runs out of water before it starts",
                "the sump runs dry first",
                "Mend the sump: put more water in, use a wider one, or shorten the standpipe.",
            )
            if dry
            else (
                "Spills without starting",
                "the safety overflow takes the water first",
                "Raise the mouth of the overflow.",
            )
        )
        return Finding(
            key="spills",
            title=title,
            state="does not",
            cause=f"{brings}, enough to start it, but {why}.",
            change=change,
            **values,
        )
    if flow >= high:
        return Finding(
            key="start", title="The siphon starts", state="good", cause=f"{brings}. {band}", **values
        )
    more = f"Raise the inflow to this siphon above {about_high}"
    if not window.observed:
        needed = show(_bore_that_starts(siphon.priming.froude_high, flow), "length", s)
        more += f", or fit a standpipe with a bore of at most {needed}"
    best = flow if spills or not by_box(plan.pump) else window.today_high
    if best < low:
        more += (
            ", from which it starts by your own readings."
            if window.observed
            else ". A wider lip on top keeps the water level low, but does not make a wide bore fill."
        )
        stays = ""
        if spills:
            stays = f", and stays {show(group.level - group.lip, 'head', s)} above the lip"
        return Finding(
            key="spills",
            title="Spills without starting",
            state="does not",
            cause=f"{brings}. {band} The water runs down inside the standpipe with air beside it{stays}: the "
            "beds fill and never drain.",
            change=more,
            **values,
        )
    settle = (
        "Measure the flow that starts it again, with a smaller error."
        if window.observed
        else "Find out before you cut, with a hose, a bucket and a jug: `aquacalc bench` says which flows to "
        "try, and what you see goes into the plan as observed."
    )
    if by_box(plan.pump):
        settle = f"{JUG} {settle}"
    return Finding(
        key="start",
        title="Start is uncertain",
        state="may or may not",
        cause=f"{brings}. {band}",
        change=f"{settle} {more}, to be sure.",
        **values,
    )


def _other_parts(siphon: Siphon, table: str) -> str:
    """Say that the flow observed under a table of the siphon was of other parts than the plan has; or ""."""
    names = " and ".join(changed(siphon))
    if getattr(siphon, table).observed is None or not names:
        return ""
    return (
        f" The flow observed under [siphon.{table}] was measured with another {names} and does "
        "not count here."
    )


def _by_box(plan: Plan, window: Window) -> str:
    low, high = (show(q, "flow", plan.units, 2) for q in (window.today_low, window.today_high))
    return f"somewhere from {low} to {high} by the two figures on its box"


def _carries(plan: Plan, window: Window) -> str:
    """Say what the siphon carries where air gets in."""
    s = plan.units
    where = "at the breather's mouth" if window.firm else "down at the bell rim"
    most, least = (show(q, "flow", s, 2) for q in (window.stop, window.stop_least))
    flows = most if most == least else f"somewhere from {least} to {most}"
    open_tail = {
        "full": "",
        "open": " (the tail runs with air in it, so only the fall to the standpipe's foot counts)",
        "uncertain": " (the tail may run full, or with air in it)",
    }[window.tail_full]
    return f"With the water {where} the siphon carries {flows}{open_tail}"


def _stop(plan: Plan, siphon: Siphon, group: GroupCycle, window: Window) -> Finding:
    """Hold what comes in against what the siphon carries where air gets in."""
    s, today = plan.units, window.today_high
    below = show(window.stop_with_margin, "flow", s, 2)
    values: dict[str, Any] = {"subject": siphon.name, "value": today, "direction": "at most", "kind": "flow"}
    brings = _by_box(plan, window) if by_box(plan.pump) else show(today, "flow", s)
    at_rim = f"{_carries(plan, window)}; the pump delivers {brings}."
    if window.tail_full != "full":
        change = (
            f"Fit a tail no wider than the standpipe, or lead the standpipe's bore further down (its foot is "
            f"at {show(foot(plan, siphon), 'elevation', s)}), or bring the inflow below {below}."
        )
    elif siphon.tail.pipe.bore < siphon.standpipe.pipe.bore:
        change = (
            "Fit a tail of the standpipe's bore, end it lower, give it fewer bends, or bring the inflow "
            f"below {below}."
        )
    else:
        change = f"End the tail lower, give it fewer bends, or bring the inflow below {below}."
    if window.stop_observed:
        at_rim = (
            f"By your own readings it stops up to {show(window.stop_with_margin, 'flow', s)} and runs on "
            f"from {show(window.stop, 'flow', s)}; the pump delivers {brings}."
        )
    else:
        at_rim += _other_parts(siphon, "stopping")
    if window.head_at_rim <= 0.0:
        at_rim = "The sump's water is above the bell rim, so nothing is siphoned down to the rim."
        change = "Lower the water in the sump or raise the chamber."
    over = (window.today_low if by_box(plan.pump) else today) >= window.stop
    if plan.pump.on is not None and window.head_at_rim > 0.0 and today > window.stop_with_margin:
        off = show(plan.pump.off, "time", s)
        return Finding(
            key="stop",
            title="Stops when the timer stops the pump",
            state="watch",
            limit=window.stop_with_margin,
            cause=f"{at_rim} While the pump runs it may run on; the timer stops the pump for {off}, and then "
            "nothing comes in and it breaks.",
            change=change,
            **values,
        )
    if over and (window.stop_observed or group.outcome != "cycles"):
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
    if today > window.stop_with_margin or group.outcome == "runs on":
        tube = " A breather tube from the bell's crown makes it break more reliably."
        if siphon.breather:
            tube = " The breather does not count as it is: see what is said of it." if not window.firm else ""
        unsure = (
            "That close it may gulp air at the rim and carry it off as fast as it comes in: it "
            "may or may not break."
        )
        if window.stop_observed:
            unsure = "Between the two it may stop or run on."
        return Finding(
            key="stop",
            title="Stop is uncertain",
            state="may or may not",
            band=(min(window.stop_with_margin, today), max(window.stop, today)),
            cause=f"{at_rim} {unsure}",
            change=f"{JUG + ' ' if by_box(plan.pump) else ''}Close the valve until less than {below} comes "
            f"in, and watch it stop.{tube} Or "
            f"{change[0].lower()}{change[1:]}",
            **values,
        )
    kept = f" That is more than {show(100.0 * window.margin, 'number', s, 2)} % to spare."
    kept = kept if window.margin and not window.stop_observed else ""
    return Finding(
        key="stop",
        title="Once started, it would stop" if group.outcome == "spills" else "The siphon stops",
        state="good",
        cause=f"{at_rim}{kept} It takes air and breaks.",
        **values,
    )


def _tail_full(plan: Plan, siphon: Siphon, window: Window, levels: SumpRange) -> Finding:
    """Say whether the tail runs full down to where the siphon stops; what follows is in the stop."""
    s, stand, tail = plan.units, siphon.standpipe.pipe.bore, siphon.tail.pipe.bore
    froude = tail_froude(plan, siphon, window.stop_level, min(levels.high, plan.sump.rim))
    cause = (
        f"A full tail of {show(tail, 'length', s)} would have a Froude number of {froude:.2g} when the "
        "siphon stops. Air is swept out above about 1.1 and comes up the tail below about 0.35 (upright) to "
        "0.54 (level)."
    )
    values: dict[str, Any] = {"key": "tail_full", "subject": siphon.name, "value": froude, "kind": "number"}
    if window.tail_full == "full":
        return Finding(title="Tail runs full", state="good", cause=cause, **values)
    change = f"Fit a tail no wider than the standpipe's {show(stand, 'length', s)}."
    title = (
        "Tail runs with air in it" if window.tail_full == "open" else "Tail may run full or with air in it"
    )
    return Finding(title=title, state="watch", cause=cause, change=change, **values)


def _breather(plan: Plan, siphon: Siphon) -> Finding | None:
    """Judge a breather tube: under water at the start, and wide enough."""
    if siphon.breather is None:
        return None
    s, mouth, lip = plan.units, siphon.breather.mouth, siphon.standpipe.height
    if mouth >= lip:
        return Finding(
            key="breather",
            title="Breather keeps the siphon from starting",
            state="does not",
            subject=siphon.name,
            value=mouth,
            limit=lip,
            direction="at most",
            kind="length",
            cause=f"Its mouth is {show(mouth, 'length', s)} over the floor, the lip "
            f"{show(lip, 'length', s)}: it is bare when the siphon should start, and air comes in as fast as "
            "it is carried off.",
            change="Lead its mouth down, a little over the bell's rim.",
        )
    reach = siphon.bell.top_height - mouth
    if siphon.breather.length < reach:
        return Finding(
            key="breather",
            title="Breather does not reach its mouth",
            state="does not",
            subject=siphon.name,
            value=siphon.breather.length,
            limit=reach,
            direction="at least",
            kind="length",
            cause="That is the way from under the bell's top straight down to the mouth.",
            change="Use a longer tube.",
        )
    if mouth < siphon.bell.rim_height:
        return Finding(
            key="breather",
            title="Breather's mouth is too low",
            state="watch",
            subject=siphon.name,
            value=mouth,
            limit=siphon.bell.rim_height,
            direction="at least",
            kind="length",
            cause="It is under the bell's rim, so the rim is bare first and the breather does nothing.",
            change="Lead its mouth up, a little over the bell's rim.",
        )
    tube = breather(plan, siphon)
    values: dict[str, Any] = {
        "key": "breather", "subject": siphon.name, "value": tube.air, "limit": tube.needed,
        "direction": "at least", "kind": "flow",
    }  # fmt: skip
    cause = f"With its mouth bare it lets in {show(tube.air, 'flow', s, 2)} of air."
    if tube.firm:
        return Finding(title="Breather breaks the siphon", state="good", cause=cause, **values)
    change = "Fit a wider or a shorter tube."
    return Finding(
        title="Breather is too thin to count on", state="watch", cause=cause, change=change, **values
    )


def find_overflow(plan: Plan, siphon: Siphon, window: Window) -> Finding | None:
    """Judge a safety overflow: over the level at which the siphon starts, under every rim."""
    pipe = siphon.overflow
    if pipe is None:
        return None
    s, host = plan.units, plan.vessel(siphon.host)
    mouth = host.floor + pipe.height
    starts = spill_level(plan, siphon, window.start_high)
    values: dict[str, Any] = {
        "key": "overflow", "subject": siphon.name, "value": mouth, "limit": starts, "direction": "at least",
        "kind": "elevation",
    }  # fmt: skip
    cause = (
        f"Its mouth is at {show(mouth, 'elevation', s)}; the water has to reach up to "
        f"{show(starts, 'elevation', s)} before the siphon starts."
    )
    if mouth < starts:
        surely = mouth < spill_level(plan, siphon, window.start_low)
        return Finding(
            title="Overflow takes the water before the siphon starts",
            state="does not" if surely else "may or may not",
            cause=cause,
            change=f"Raise its mouth above {show(starts, 'elevation', s)}.",
            **values,
        )
    levels = blocked(plan)
    mine = [v for v in plan.vessels if host_of(plan)[v.name] == host.name]
    least = min(mine, key=lambda v: v.rim - levels[v.name])
    room = least.rim - levels[least.name]
    high = show(levels[least.name], "elevation", s)
    cause += f" With the standpipe blocked the water would rise to {high} in {least.name}"
    if room <= 0.0:
        return Finding(
            title="Overflow is too small for the pump",
            state="watch",
            cause=f"{cause}, {show(-room, 'head', s)} over its rim: the overflow carries less than the "
            "pump brings.",
            change="Fit a wider overflow, or a lower one.",
            **values,
        )
    cause += f", {show(room, 'head', s)} under its rim."
    return Finding(title="Overflow carries the pump's flow", state="good", cause=cause, **values)
