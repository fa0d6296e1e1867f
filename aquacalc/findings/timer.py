"""Findings on a pump on a timer: does every siphon still start, and what stands while it is off."""

from __future__ import annotations

import math
from typing import Any

from aquacalc.findings.record import Finding
from aquacalc.hydraulics.levels import start_level
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.pump_off import Timer, fills_pipe, latest_start, timer
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
    return [*(_starts(plan, timed, name) for name in goes), _stands(plan, run, timed)]


def _times(plan: Plan) -> str:
    on, off = (show(t, "time", plan.units) for t in (plan.pump.on, plan.pump.off))
    return f"The pump runs for {on} and then stops for {off}"


def _starts(plan: Plan, timed: Timer, name: str) -> Finding:
    """Judge whether the siphon starts while the pump is on, as late as it may."""
    s, first, (lip, needed) = plan.units, timed.first[name], latest_start(plan)[name]
    values: dict[str, Any] = {"key": "timer", "subject": name, "kind": "time", "value": plan.pump.on}
    brings = (
        f"{_times(plan)}: {show(timed.pumped, 'volume', s)} come to the beds each time, and "
        f"{show(timed.runs_back, 'volume', s)} run back out of the delivery pipe."
    )
    enough = f" {show(needed, 'time', s)} in one go are enough." if needed else ""
    longer = f"Set the timer to {whole_minutes(needed)} min on" if needed else "Let the pump run longer"
    short = values | ({"limit": needed, "direction": "at least"} if needed > plan.pump.on else {})
    if not first:
        return Finding(
            title="Timer is too short to ever start the siphon",
            state="does not",
            cause=f"{brings} It never starts, in {timed.tried} tries: what comes while the pump is on is "
            f"lost while it is off, or the pump stops before the bell has lost its air.{enough}",
            change=f"{longer}, or end the delivery pipe above the water or fit a check valve so "
            "that nothing runs back.",
            **short,
        )
    late = timer(plan, late=True)
    often = show(timed.floods[name], "frequency", s)
    when = (
        "from the first run of the pump" if first == 1 else f"for the first time in run {first} of the pump"
    )
    cause = f"{brings} It floods and drains {often}, {when}."
    cut = timed.cut_short[name] or late.cut_short[name]
    # Short runs that fill the beds bit by bit may stop anywhere, as long as one starts it from the lip.
    on, from_lip = plan.pump.on, needed - lip + fills_pipe(plan)
    if not late.first[name] or (cut and (on >= lip or on < from_lip)):
        share = f"In {timed.cut_short[name]} of {timed.periods} runs of the pump"
        return Finding(
            title="Timer stops the pump before the siphon starts",
            state="may or may not",
            cause=f"{cause} {share if timed.cut_short[name] else 'If it starts as late as it may'}, it "
            "stops with water over the lip and air still in the bell: that water runs slowly over the lip, "
            f"the beds stay flooded, and it has to start again the next time.{enough}",
            change=f"{longer}. To settle it, watch one run of the pump to its end.",
            **short,
        )
    return Finding(title="Starts by the timer", state="good", cause=cause, **values)


def whole_minutes(seconds: float) -> int:
    """Whole minutes to set a timer to for at least so many `seconds` (s)."""
    return math.ceil(seconds / 60.0)


def _stands(plan: Plan, run: SystemCycle, timed: Timer) -> Finding:
    """Judge how deep beds still stand when the pump comes on again."""
    s, limit = plan.units, plan.limits.residual
    over = {name: z[1] - start_level(plan, name) for name, z in timed.at_on.items()}
    name = max(over, key=lambda bed: over[bed])
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
