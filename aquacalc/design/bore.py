"""Solve for the bore and lip of a siphon that starts and stops at a pump's flow."""

from __future__ import annotations

import dataclasses
import functools
import math

from aquacalc import catalogue
from aquacalc.design.answer import (
    Answer,
    Limit,
    bound,
    checked,
    conflict_of,
    deciding,
    positive,
    shower,
    the_siphon,
)
from aquacalc.design.drains import BORES, FINE, pipe_of, sizes_of
from aquacalc.equations.formulas import GRAVITY, choking_flow, circle_area, lip_head
from aquacalc.findings.record import the
from aquacalc.hydraulics.siphon import siphon_flow
from aquacalc.hydraulics.starting import start_froudes
from aquacalc.plan import edit
from aquacalc.plan.model import Bed, Pipe, Plan, Siphon
from aquacalc.plan.tested import unread
from aquacalc.results.cycle import SystemCycle, run_plan
from aquacalc.results.window import sump_range


def _widest(bell: float, wall: float) -> float:
    """Return the bore (m) whose standpipe of this wall leaves a ring of its own area in a bell, m."""
    return math.sqrt(max(0.5 * bell**2 - wall**2, 0.0)) - wall


class _Bores:
    """One siphon of a plan with other bores and lips, at one inflow."""

    def __init__(self, plan: Plan, s: Siphon, run: SystemCycle, inflow: float):
        self.plan, self.s, self.inflow = plan, s, inflow
        # What was seen with these parts says nothing of another bore.
        _, self.central, self.sure = start_froudes(unread(s) if s.tested else s)
        self.sump_high = sump_range(plan, run).high
        self.rim = plan.rim_level(s)
        self.wall = 0.5 * (s.standpipe.pipe.outside_diameter - s.standpipe.pipe.bore)
        self.widest = _widest(s.bell.bore, self.wall)

    def with_pipe(self, pipe: Pipe, lip: float) -> Plan:
        """Return the plan with another standpipe, and its tail with it where both were one pipe."""
        at = f"siphon.{self.s.name}"
        values = {f"{at}.standpipe.pipe": pipe, f"{at}.standpipe.lip_diameter": max(lip, pipe.bore)}
        if self.s.tail.pipe == self.s.standpipe.pipe:
            values[f"{at}.tail.pipe"] = pipe
        return edit.put(self.plan, values)

    def stop_flow(self, pipe: Pipe, lip: float) -> float:
        """Return the siphon's flow (m3/s) with the water at the bell rim and the sump at its highest."""
        changed = self.with_pipe(pipe, lip)
        return siphon_flow(changed, the_siphon(changed, self.s.name), self.rim, self.sump_high)

    def exactly(self, bore: float) -> Pipe:
        """Return a pipe of any bore with the standpipe's wall."""
        old = self.s.standpipe.pipe
        return dataclasses.replace(old, bore=bore, outside_diameter=bore + 2.0 * self.wall)

    def filled(self, froude: float) -> float:
        """Return the bore (m) that the inflow just chokes at a Froude number."""
        return bound(lambda d: self.inflow - choking_flow(froude, d, GRAVITY), *BORES, True, FINE)

    def head(self, bore: float, lip: float) -> float:
        """Return the head (m) over a lip at the flow that chokes a bore, by the central estimate."""
        Q = choking_flow(self.central, bore, GRAVITY)
        return lip_head(self.s.lip_weir, self.s.lip_orifice, lip, Q, GRAVITY)

    def limits(self) -> tuple[Limit, ...]:
        """Return what bounds the bore."""
        show, margin = shower(self.plan.units), self.plan.limits.stop_margin
        lip = self.s.standpipe.lip_diameter

        def left(d: float) -> float:
            return (1.0 - margin) * self.stop_flow(self.exactly(d), lip) - self.inflow

        return (
            Limit(
                "the siphon very likely starts",
                self.filled(self.sure),
                True,
                f"its bore fills at Froude number {self.sure:.2g}",
            ),
            Limit(
                f"the siphon stops with a margin of {margin:.0%}",
                bound(left, BORES[0], self.widest, False, FINE),
                False,
                f"bell rim at {show(self.rim, 'elevation')}, sump up to {show(self.sump_high, 'elevation')}",
            ),
            Limit(
                "the ring between bell and standpipe is as wide as the bore",
                self.widest,
                True,
                f"the bell is {show(self.s.bell.bore)} wide",
            ),
        )

    def lips(self, size: catalogue.PipeSize) -> list[catalogue.PipeSize]:
        """Return the sizes that a reducer's wide end can have on this bore, inside this bell."""
        wall = 0.5 * (size.outside_diameter - size.bore)
        bell = self.s.bell.bore
        sizes = sizes_of(self.s.standpipe.pipe.series)
        return [x for x in sizes if x.bore >= size.bore and x.bore + 2.0 * wall < bell]


def priming_room(plan: Plan, run: SystemCycle, s: Siphon) -> float:
    """Return the height (m) from the lip to the lowest freeboard line of the vessels it drains."""
    lip = run.group(s.name).lip
    vessels = [plan.vessel(n.name) for n in run.nodes if n.group == s.name and not n.junction]
    return min(v.rim - (plan.limits.bed_freeboard if isinstance(v, Bed) else 0.0) - lip for v in vessels)


def lip_and_bore(
    plan: Plan, flow: float | None = None, priming_head: float | None = None, siphon: str | None = None
) -> Answer:
    """Find bore and lip of a siphon that starts and stops at a pump's flow.

    Parameters
    ----------
    plan : Plan
        A checked plan. The tail changes with the standpipe where both are of
        the same pipe; the bell stays.
    flow : float, optional
        Flow (m3/s) of the whole pump; by default the plan's.
    priming_head : float, optional
        Head (m) over the lip that may be needed to start; by default what the
        beds have room for.
    siphon : str, optional
        Which siphon, where there are several.

    Returns
    -------
    Answer
        The largest bore (m) that surely starts; the real one is the largest
        size of the standpipe's series that starts and stops, with the
        narrowest lip of that series that keeps to the priming head.

    Raises
    ------
    ValueError
        When `flow` or `priming_head` is not positive, or the siphon is not known.
    """
    s = the_siphon(plan, siphon)
    positive(**{k: v for k, v in {"flow": flow, "priming_head": priming_head}.items() if v is not None})
    run = run_plan(plan, trace=False)
    inflow = run.group(s.name).inflow * (1.0 if flow is None else flow / run.pump)
    bores = _Bores(plan, s, run, inflow)
    show = shower(plan.units)
    limits = bores.limits()
    decides = deciding(limits, True)
    question = f"Which bore and lip suit {show(inflow, 'flow')} through {the(s.name)}?"
    found = functools.partial(Answer, question, "length", plan.units, limits, decides.name)
    likely = (
        f"By the central estimate (Froude number {bores.central:.2g}) the siphon starts up to a bore of "
        f"{show(bores.filled(bores.central))}."
    )
    conflict = conflict_of(limits, "length", plan.units)
    if conflict:
        hint = "A longer drop to the tail's end lets a smaller bore stop."
        return found(f"{conflict} {likely} {hint}")
    room = priming_head or priming_room(plan, run, s)
    keep = 1.0 - plan.limits.stop_margin
    for size in reversed(sizes_of(s.standpipe.pipe.series)):
        lip = next((x for x in bores.lips(size) if bores.head(size.bore, x.bore) <= room), None)
        if (
            lip is not None
            and size.bore <= decides.bound
            and keep * bores.stop_flow(pipe_of(size), lip.bore) >= inflow
        ):
            answer = functools.partial(found, exact=decides.bound)
            return _real(answer, bores, size, lip, room, likely)
    least = next(x for x in limits if not x.most)
    return found(
        f"No size of {s.standpipe.pipe.series} lies between {show(least.bound)} and {show(decides.bound)} "
        f"with a lip that starts within {show(room, 'head')}.",
        exact=decides.bound,
        steps=(likely,),
    )


def _real(
    found: functools.partial[Answer],
    bores: _Bores,
    size: catalogue.PipeSize,
    lip: catalogue.PipeSize,
    room: float,
    likely: str,
) -> Answer:
    """Return the answer in this size and lip, with its reasoning."""
    s, show = bores.s, shower(bores.plan.units)
    good, notes = checked(bores.with_pipe(pipe_of(size), lip.bore))
    choking = choking_flow(bores.central, size.bore, GRAVITY)
    stop = bores.stop_flow(pipe_of(size), lip.bore)
    narrowest = bound(lambda d: room - bores.head(size.bore, d), size.bore, s.bell.bore, False, FINE)
    steps = [
        likely,
        f"In {size.size} it chokes at {show(choking, 'flow')} and runs at {show(stop, 'flow')} with the "
        "water at the bell rim.",
        f"Starting takes {show(bores.head(size.bore, lip.bore), 'head')} over this lip, of "
        f"{show(room, 'head')} there may be; a lip of {show(max(narrowest, size.bore))} would do.",
    ]
    lips = bores.lips(size)
    if len(lips) > 1:
        each = ", ".join(f"{x.size} {show(bores.head(size.bore, x.bore), 'head')}" for x in lips)
        steps.append(f"Priming head by the size of the lip: {each}.")
    ring = circle_area(s.bell.bore) - circle_area(max(size.outside_diameter, lip.bore))
    if ring < circle_area(size.bore):
        steps.append(
            f"The ring between bell and standpipe ({show(ring, 'opening_area')}) is narrower than the bore "
            f"({show(circle_area(size.bore), 'opening_area')}): choose a wider bell."
        )
    wide = "no reducer" if lip.bore == size.bore else f"a reducer from {lip.size} ({show(lip.bore)} lip)"
    values = {"C_w": s.lip_weir, "C_d": s.lip_orifice, "D_l": lip.bore, "Fr": bores.central}
    return found(
        real=size.bore,
        real_text=f"{size.size} ({show(size.bore)} bore), {wide}",
        steps=(*steps, *notes),
        worked=(("priming_head", {**values, "D": size.bore, "g": GRAVITY}, None),),
        plan=good,
    )
