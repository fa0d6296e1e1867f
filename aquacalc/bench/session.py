"""The bench test of one siphon of a plan: what is believed, what to try next, and when it is enough."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from aquacalc.bench.belief import SURE, Answer, Belief
from aquacalc.bench.jug import Jug
from aquacalc.bench.next_flow import WORTH, Next, next_flow
from aquacalc.bench.remarks import Contradiction, again, against_print, contradiction
from aquacalc.bench.trials import Trial
from aquacalc.hydraulics.siphon import siphon_flow
from aquacalc.hydraulics.starting import start_band
from aquacalc.hydraulics.stopping import AIR_CARRIED, Stop, stop
from aquacalc.plan import edit
from aquacalc.plan.model import Plan, Siphon
from aquacalc.plan.tested import unread, written
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import inflow_window, sump_range
from aquacalc.units import in_unit, read

#: Trials after which the bench has told what it can.
MOST_TRIALS = 10
#: A band no wider than this factor is narrow enough whatever the inflow.
NARROW = 1.15
#: Largest flow of a garden tap, m3/s: common practice, no source.
HOSE = 30.0 / 60000.0
#: A reading this many times outside what is believed is a slip of the unit.
SLIP = 4.0


@dataclass(frozen=True)
class Bench:
    """A bench test.

    Attributes
    ----------
    plan : Plan
    siphon : Siphon
        The one tested.
    trials : tuple of Trial
        With the parts that the plan has, in any order.
    inflow_low, inflow_high : float
        What the plan's pump brings to this siphon, least and most, m3/s.
    part : float
        What is left of the siphon's flow where air gets in with the sump at its highest, as a part of that
        with the tail's end free; 1 where the sump stays below the tail.
    hose : float
        Largest flow that can be made on the bench, m3/s.
    """

    plan: Plan
    siphon: Siphon
    trials: tuple[Trial, ...]
    inflow_low: float
    inflow_high: float
    part: float = 1.0
    hose: float = HOSE

    def after(self, *trials: Trial) -> Bench:
        """Return the test with some more trials."""
        return dataclasses.replace(self, trials=(*self.trials, *trials))

    @cached_property
    def start(self) -> Belief:
        """What is believed of the flow at which it starts."""
        band = start_band(unread(self.siphon))
        answers = (Answer(t.jug.flow, t.jug.error, t.started) for t in self.trials if t.started is not None)
        return Belief(band.low, band.high, tuple(answers))

    @cached_property
    def stop(self) -> Belief:
        """What is believed of the inflow at which it no longer stops, with the tail's end free."""
        free = free_stop(self.plan, self.siphon)
        # A siphon that is broken by a tube takes more air than it can carry off; another may run on with it.
        kept = 1.0 if free.firm else 1.0 - AIR_CARRIED
        answers = []
        for t in self.trials:
            part = self.part if t.where == "bed" else 1.0  # a bed is seen with its sump
            if t.stopped is not None and part > 0.0:
                answers.append(Answer(t.jug.flow / part, t.jug.error, not t.stopped))
        return Belief(kept * free.low, free.high, tuple(answers))

    @property
    def chance_starts(self) -> float:
        """Chance that the next flood starts at the plan's least inflow."""
        return self.start.chance(self.inflow_low)

    @property
    def chance_stops(self) -> float:
        """Chance that it stops at the plan's largest inflow, with the sump at its highest."""
        return 1.0 - self.stop.chance(self.inflow_high / self.part) if self.part > 0.0 else 0.0

    @property
    def answer(self) -> str:
        """What the plan's own inflow does: "works", "does not start", "runs on", or "" while it is open.

        Trials the wrong way round, and one that speaks against all in print and was made but once, leave it
        open.
        """
        if self.doubted:
            return ""
        if self.chance_starts <= 1.0 - SURE:
            return "does not start"
        if self.chance_stops <= 1.0 - SURE:
            return "runs on"
        return "works" if self.chance_starts * self.chance_stops >= SURE else ""

    @property
    def start_open(self) -> bool:
        """Whether more trials could change what is said of the start at the plan's inflow."""
        return self._open(self.chance_starts)

    @property
    def stop_open(self) -> bool:
        """The same of the stop."""
        return self._open(self.chance_stops)

    def _open(self, chance: float) -> bool:
        # Where the two together are not sure, one of them at least is below the root.
        return self.answer != "works" and 1.0 - SURE < chance < SURE**0.5

    @cached_property
    def start_odd(self) -> Contradiction | None:
        """Trials of the start that do not fit each other."""
        return contradiction(self.start)

    @cached_property
    def stop_odd(self) -> Contradiction | None:
        """The same of the stop."""
        return contradiction(self.stop)

    @cached_property
    def next(self) -> Next:
        """The trial that is expected to tell most of what is still open."""
        stop = self.stop if self.stop_open or not self.start_open else None
        start = self.start if self.start_open or not self.stop_open else None
        most = max([self.hose, *(trial.jug.flow for trial in self.trials)])
        return next_flow(start, stop, self.start, self.plan.units, most, self.again)

    @property
    def again(self) -> float | None:
        """Flow (m3/s) to try again because a trial does not fit; None when none is."""
        found = again(self.start)
        return found if found is not None else again(self.stop)

    @property
    def doubted(self) -> bool:
        """Whether some trials cannot be believed as they stand."""
        turned = any(odd is not None and odd.reversed for odd in (self.start_odd, self.stop_odd))
        once = any(again(b) in against_print(b) for b in (self.start, self.stop))
        return turned or once

    @property
    def enough(self) -> str:
        """Why no further trial is asked for; "" while one is."""
        if len(self.trials) >= MOST_TRIALS:
            return "ten trials"
        if self.trials and self.answer:
            return "decided"
        if not self.trials or self.next.retry:
            return ""
        asked = [b for b, is_open in ((self.start, self.start_open), (self.stop, self.stop_open)) if is_open]
        if asked and all(high / low <= NARROW for low, high in (b.band() for b in asked)):
            return "narrow"
        return "nothing more to learn" if self.next.tells < WORTH else ""

    def measured(self) -> Plan:
        """Return the plan with what the trials say of its start and stop in place of the printed band.

        The band put in is that of one flood: below it starts in one of twenty, above it in nineteen. The
        stop is put in when there is a trial from each side.
        """
        at = f"siphon.{self.siphon.name}"
        values: dict[str, Any] = {}
        if self.start.answers:
            values |= {
                f"{at}.priming.{key}": flow for key, flow in _seen(self.start, self.plan.units).items()
            }
        if self.stop.both_sides:
            values |= {
                f"{at}.stopping.{key}": flow for key, flow in _seen(self.stop, self.plan.units).items()
            }
            level = free_stop(self.plan, self.siphon).level
            values[f"{at}.stopping.head"] = round(level - self.siphon.tail.end, 4)
        plan = edit.put(self.plan, values, "measured", self._note())
        return edit.put(plan, {f"{at}.tested": written(self.siphon, self.plan.units)})

    def _note(self) -> str:
        """Say where and when the trials were made, for the plan's marks."""
        count = f"{len(self.trials)} trials" if len(self.trials) != 1 else "1 trial"
        places = " and ".join(sorted({f"at the {t.where}" for t in self.trials}))
        days = sorted({t.when.partition(" ")[0] for t in self.trials if t.when})
        return f"{count} {places}{f', {days[-1]}' if days else ''}"

    def plausible(self, jug: Jug) -> bool:
        """Whether a reading is of a size that such a siphon can see."""
        low, high = self.sizes
        return low / SLIP <= jug.flow <= SLIP * high

    @property
    def sizes(self) -> tuple[float, float]:
        """Flows (m3/s) between which it may start or stop."""
        return self.start.low, max(self.start.high, self.stop.high)


def _seen(belief: Belief, system: str) -> dict[str, float]:
    """Return the keys of a band of one flood: its middle and half its width, to three digits."""
    low, high = belief.any_flood()

    def rounded(flow: float) -> float:
        number, unit = in_unit(flow, "flow", system)
        return read(f"{number:.3g} {unit}", "flow")

    return {"observed": rounded(0.5 * (low + high)), "observed_error": rounded(0.5 * (high - low))}


def free_stop(plan: Plan, siphon: Siphon) -> Stop:
    """Return what is in print of the inflows that let a siphon stop, its tail's end in the open."""
    return stop(plan, unread(siphon), (siphon.tail.end, siphon.tail.end))


def bench(plan: Plan, name: str | None = None, trials: Sequence[Trial] = (), hose: float = HOSE) -> Bench:
    """Begin, or take up, the bench test of a siphon.

    Parameters
    ----------
    plan : Plan
        A checked plan.
    name : str, optional
        Which siphon, where there are several.
    trials : sequence of Trial
        Those made with the parts that the plan has.
    hose : float
        Largest flow that can be made on the bench, m3/s.

    Returns
    -------
    Bench

    Raises
    ------
    ValueError
        For a siphon that is not known.
    """
    known = {s.name: s for s in plan.siphons}
    if name is None and len(known) > 1:
        raise ValueError(f"the plan has several siphons; name one of {', '.join(known)}")
    if name is not None and name not in known:
        raise ValueError(f'there is no siphon "{name}"; there is {", ".join(known)}')
    siphon = known[name] if name is not None else plan.siphons[0]
    run = run_plan(plan)
    levels = sump_range(plan, run)
    window = inflow_window(plan, siphon, run, levels)
    level, high = free_stop(plan, siphon).level, min(levels.high, plan.sump.rim)
    part = siphon_flow(plan, siphon, level, high) / siphon_flow(plan, siphon, level, siphon.tail.end)
    return Bench(plan, siphon, tuple(trials), window.today_low, window.today_high, part, hose)
