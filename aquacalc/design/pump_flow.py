"""Solve for the pump flow that floods the beds so many times an hour."""

from __future__ import annotations

import dataclasses
import functools
import math

from aquacalc.design.answer import (
    Answer,
    Limit,
    bound,
    checked,
    conflict_of,
    positive,
    shower,
    the_siphon,
    to_mark,
)
from aquacalc.design.many_plans import run_plans
from aquacalc.findings.record import the
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle, run_plan
from aquacalc.results.window import Window, inflow_window

#: Pump flows tried between start and stop before the exact one is sought.
FLOWS_TRIED = 24


def _with_flow(plan: Plan, flow: float) -> Plan:
    """Return the plan with a pump of constant flow."""
    return dataclasses.replace(plan, pump=dataclasses.replace(plan.pump, flow=flow, curve=()))


def _rate(run: SystemCycle, siphon: str) -> float:
    """Floods an hour of a siphon; 0 unless it cycles."""
    period = run.group(siphon).period
    return 3600.0 / period if period > 0.0 else 0.0


def pump_flow_for(plan: Plan, floods: float, siphon: str | None = None) -> Answer:
    """Find the pump flow that floods the beds `floods` times an hour.

    Parameters
    ----------
    plan : Plan
        A checked plan; a pump curve in it is set aside.
    floods : float
        Floods an hour wanted.
    siphon : str, optional
        Whose floods, where there are several siphons.

    Returns
    -------
    Answer
        Flow of the whole pump, m3/s; the real one to 0.1 L/min or 0.05 gpm,
        what a jug and a valve can be held to. Where two flows would do, the
        lower: more flow then only lengthens the draining.

    Raises
    ------
    ValueError
        When `floods` is not a positive number, or the siphon is not known.
    """
    positive(floods=floods)
    s = the_siphon(plan, siphon)
    show = shower(plan.units)
    run = run_plan(plan, trace=False)
    window = inflow_window(plan, s, run)
    share = run.group(s.name).inflow / run.pump
    start, stop = window.start / share, window.stop / share
    wanted = f"{floods:g} floods an hour"
    limits = (
        Limit("the siphon starts", start, False, "the flow that chokes its bore"),
        Limit("the siphon stops", stop, True, "its own flow with the water at the bell rim"),
    )
    asked = functools.partial(Answer, f"What pump flow floods {floods:g} times an hour?", "flow", plan.units)
    conflict = conflict_of(limits, "flow", plan.units)
    if conflict:
        return asked(limits, conflict=conflict)

    flows = [start * (stop / start) ** ((k + 0.5) / FLOWS_TRIED) for k in range(FLOWS_TRIED)]
    rates = [_rate(r, s.name) for r in run_plans([_with_flow(plan, q) for q in flows])]
    top = max(range(FLOWS_TRIED), key=rates.__getitem__)
    if rates[top] < floods:
        most = f"the most is {rates[top]:.2f} an hour, at {show(flows[top], 'flow')}"
        return asked(
            (*limits, Limit(wanted, math.inf, False, most)),
            wanted,
            f"{wanted} are more than this plan can make: {most}, for more flow fills faster but lengthens "
            "the draining. A shorter standpipe or a larger bore floods more often.",
        )
    if rates[0] > floods:
        fewest = f"the fewest is {rates[0]:.2f} an hour, at {show(flows[0], 'flow')}"
        return asked(
            (*limits, Limit(wanted, -math.inf, True, fewest)),
            wanted,
            f"{wanted} are fewer than this plan makes with the least flow that starts its siphon: {fewest}. "
            "A smaller bore starts with less flow, a taller standpipe uses more water for each "
            "flood; or switch "
            "the pump by a timer.",
        )

    def in_hand(flow: float) -> float:
        return _rate(run_plan(_with_flow(plan, flow), trace=False), s.name) - floods

    first = next(k for k in range(1, top + 1) if rates[k] >= floods) if rates[0] < floods else 1
    exact = bound(in_hand, flows[first - 1], flows[first], False, 1e-10)
    real, text = to_mark(exact, "flow", plan.units, up=True)
    changed = _with_flow(plan, real)
    good, notes = checked(changed)
    return asked(
        (*limits, Limit(wanted, exact, False)),
        wanted,
        exact=exact,
        real=real,
        real_text=text,
        steps=(*_flow_said(changed, run_plan(changed, trace=False), window, share, text), *notes),
        plan=good,
    )


def _flow_said(plan: Plan, run: SystemCycle, window: Window, share: float, text: str) -> tuple[str, ...]:
    """Say what the beds do at the real flow."""
    show, group = shower(plan.units), run.group(window.siphon)
    starting = group.spill_time + group.priming_time
    steps = (
        f"With {text}, of which {the(group.name)} gets {show(group.inflow, 'flow')}: filling "
        f"{show(group.fill_time, 'time')}, spilling until it starts {show(starting, 'time')}, draining "
        f"{show(group.drain_time, 'time')}, {_rate(run, group.name):.2f} floods an hour.",
        f"It starts from about {show(window.start / share, 'flow')} of pump flow (very likely from "
        f"{show(window.start_high / share, 'flow')}) and stops up to {show(window.stop / share, 'flow')}.",
    )
    if group.inflow < window.start_high:
        return (*steps, "Starting is uncertain at this flow: try it before relying on it.")
    return steps
