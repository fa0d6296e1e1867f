"""Findings on a pump on a timer: does every siphon still start, and what stands while it is off."""

from __future__ import annotations

from typing import Any

from aquacalc.findings.record import Finding
from aquacalc.hydraulics.levels import start_level
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.pump_off import Timer, fills_pipe, timer
from aquacalc.units import show

#: Time (s) that roots stand in still water before somebody who grows would ask whether they bear it (common
#: practice, no source).
STANDS_LONG = 4.0 * 3600.0


def find_timer(plan: Plan, run: SystemCycle) -> list[Finding]:
    """Judge a plan by its pump's timer; nothing without one."""
    timed = timer(plan)
    if timed is None:
        return []
    goes = [g.name for g in run.groups if g.outcome in ("cycles", "runs on", "unsettled")]
    return [*(_starts(plan, run, timed, name) for name in goes), _stands(plan, run, timed)]


def _times(plan: Plan) -> str:
    on, off = (show(t, "time", plan.units) for t in (plan.pump.on, plan.pump.off))
    return f"The pump runs for {on} and then stops for {off}"


def longest_start(plan: Plan, run: SystemCycle, name: str) -> float:
    """Time (s) on that starts a siphon in one go from beds that have drained, the pipe filled first."""
    group = run.group(name)
    return fills_pipe(plan) + group.period - group.drain_time


def _starts(plan: Plan, run: SystemCycle, timed: Timer, name: str) -> Finding:
    s, first = plan.units, timed.first[name]
    values: dict[str, Any] = {"key": "timer", "subject": name, "kind": "time", "value": plan.pump.on}
    brings = (
        f"{_times(plan)}: {show(timed.pumped, 'volume', s)} come to the beds each time, and "
        f"{show(timed.runs_back, 'volume', s)} run back out of the delivery pipe."
    )
    if first:
        often = show(timed.floods[name], "frequency", s)
        repeats = f"It floods and drains {often}"
        when = "in the first time on" if first == 1 else f"for the first time in time on number {first}"
        cause = f"{brings} {repeats}, {when}."
        return Finding(title="Starts by the timer", state="good", cause=cause, **values)
    longest = longest_start(plan, run, name)
    needed = f" {show(longest, 'time', s)} in one go are enough." if run.group(name).period else ""
    return Finding(
        title="Timer is too short to ever start the siphon",
        state="does not",
        limit=longest if run.group(name).period else None,
        direction="at least",
        cause=f"{brings} It never starts, in {timed.tried} tries: what comes in one time on is lost in "
        f"the time off, or the pump stops before the bell has lost its air.{needed}",
        change="Let the pump run longer, or end the delivery pipe above the water or fit a check valve so "
        "that nothing runs back.",
        **values,
    )


def _stands(plan: Plan, run: SystemCycle, timed: Timer) -> Finding:
    """Judge how deep beds still stand when the pump comes on again."""
    s, limit = plan.units, plan.limits.residual
    over = {name: z[1] - start_level(plan, name) for name, z in timed.at_on.items()}
    name = max(over, key=over.get)
    deep, off = over[name], show(plan.pump.off, "time", s)
    values: dict[str, Any] = {
        "key": "timer_stands", "subject": name, "value": round(max(deep, 0.0), 4), "limit": limit,
        "direction": "at most", "kind": "length",
    }  # fmt: skip
    if deep <= limit:
        cause = f"{_times(plan)}. When it comes on again every bed has drained."
        return Finding(title="Beds drain while the pump is off", state="good", cause=cause, **values)
    least = timed.at_on[name][0] - start_level(plan, name)
    always = "always" if least > limit else "at times"
    return Finding(
        title="Beds stand flooded while the pump is off",
        state="may or may not" if plan.pump.off > STANDS_LONG else "watch",
        band=(limit, deep) if plan.pump.off > STANDS_LONG else None,
        cause=f"{_times(plan)}. It {always} stops with the siphon not started, and up to "
        f"{show(deep, 'length', s)} of water stand over the outlet of {name} for {off} and longer.",
        change="Let the pump run until the siphon has started, or shorten the time off.",
        **values,
    )
