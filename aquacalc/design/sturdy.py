"""Plans that do not care: the fewest, cheapest changes after which a plan works wherever the truth lies.

What nobody knows well is taken at both ends of its range at once: the flow that
starts the siphon, the porosity of the media, the pump's flow, and strainers as
cut or half shut. Stopping needs no corner of its own: a plan works only where it
stops at the hard end of that band. A plan that works at every corner is sturdy.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from aquacalc.design.advice import name_of
from aquacalc.design.answer import Answer
from aquacalc.design.change import built
from aquacalc.design.corners import corners
from aquacalc.design.many_plans import Progress, run_plans
from aquacalc.design.sturdy_ways import WINDOW, Step, Stock, ways
from aquacalc.findings import Finding, find
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle

#: Faults are mended one after the other, at most so many times, each on top of this many of the best sets
#: before; and so many ways are tried for one fault.
MOST_ROUNDS, BEAM, WAYS = 8, 3, 16
#: Says what a plan's parts cost: the money, and the currency.
Costs = Callable[[Plan], tuple[Decimal, str]]
#: Key and subject of a finding, and what one counts as a fault.
Name = tuple[str, str]
FAULTS = {"does not": 2, "may or may not": 1}


@dataclass(frozen=True)
class Seen:
    """What was found at one corner: the run, its faults by name, and the worst of them in words.

    A plan that cannot be built there has no run and one fault.
    """

    run: SystemCycle | None
    faults: dict[Name, Finding | None]
    lacks: str

    @property
    def weight(self) -> int:
        """How bad the faults are together."""
        return sum(FAULTS[f.state] if f else max(FAULTS.values()) for f in self.faults.values())


@dataclass(frozen=True)
class Tried:
    """A set of changes, the plan with them, and the edits for each corner; it is run where somebody looks."""

    changes: tuple[Step, ...]
    plan: Plan
    corners: tuple[dict[str, Any], ...]
    seen: dict[int, Seen] = field(default_factory=dict)

    def at(self, corner: int) -> Seen:
        """Return what is found at a corner."""
        if corner not in self.seen:
            plan = built(self.plan, self.corners[corner])
            if plan is None:
                self.seen[corner] = Seen(None, {("cannot_be_built", self.plan.name): None}, "cannot be built")
                return self.seen[corner]
            run = run_plans([plan])[0]
            worst = find(run)
            faults = {name_of(f): f for f in reversed(worst) if f.state in FAULTS}
            self.seen[corner] = Seen(run, faults, f"{worst[0].title.lower()} ({worst[0].subject})")
        return self.seen[corner]

    def weight(self, corners: Iterable[int]) -> int:
        """How bad the faults at some corners are together."""
        return sum(self.at(k).weight for k in corners)

    @property
    def failing(self) -> list[int]:
        """Corners at which it does not work, or may not."""
        return [k for k in range(len(self.corners)) if self.at(k).faults]

    @property
    def works(self) -> int:
        """At how many corners it works."""
        return len(self.corners) - len(self.failing)

    @property
    def sturdy(self) -> bool:
        """Whether it works at every corner; ends at the first where it does not."""
        return not any(self.at(k).faults for k in range(len(self.corners)))

    @property
    def lacks(self) -> str:
        """The worst fault at the first corner that has one."""
        return next((self.at(k).lacks for k in range(len(self.corners)) if self.at(k).faults), "")

    @property
    def cost(self) -> tuple[int, float]:
        """How many parts are changed, and what the changes cost: the order of sets."""
        return sum(s.parts for s in self.changes), sum(s.cost for s in self.changes)


class _Search:
    """Looks for changes, one fault after the other.

    Sets of changes are run at a few corners that have all the faults of the plan as it is between them
    (`watched`); one without a fault there is run at all, and the corner at which it fails is watched from
    then on.
    """

    def __init__(self, plan: Plan, stock: Stock, progress: Progress | None):
        self.plan, self.stock, self.progress, self.done = plan, stock, progress, 0
        self.watched: list[int] = []

    def tried(self, steps: tuple[Step, ...]) -> Tried | None:
        """Return a changed plan; None where it cannot be built."""
        values = {key: value for step in steps for key, value in step.change.values.items()}
        plan = built(self.plan, values)
        self.done += 1
        if self.progress is not None:
            self.progress(self.done, 0)
        return Tried(steps, plan, corners(plan)) if plan else None

    def watch(self, now: Tried) -> None:
        """Choose corners that have every fault of the plan as it is, the worst first."""
        left = {name for k in now.failing for name in now.at(k).faults}
        while left:
            most = max(now.failing, key=lambda k: (len(left & now.at(k).faults.keys()), now.at(k).weight))
            self.watched.append(most)
            left -= now.at(most).faults.keys()

    def sturdy(self, new: Tried) -> bool:
        """Whether a set has no fault; the first corner that shows one is watched from now on."""
        if new.weight(self.watched):
            return False
        failing = next((k for k in range(len(new.corners)) if new.at(k).faults), None)
        if failing is not None:
            self.watched.append(failing)
        return failing is None

    def better(self, before: Tried) -> Iterator[Tried]:
        """Yield the sets with fewer faults that come of mending the first fault that can be."""
        names = dict.fromkeys(name for k in self.watched for name in reversed(before.at(k).faults))
        for name in names:
            found = False
            for steps in self._ways(before, name):
                touched = set().union(*(step.touches for step in steps))
                new = self.tried((*(s for s in before.changes if not s.touches & touched), *steps))
                if new is not None and self._fewer(new, before):
                    found = True
                    yield new
            if found:
                return

    def _fewer(self, new: Tried, before: Tried) -> bool:
        """Whether a set has fewer faults than another; ends at the first corner that has more."""
        here = [(new.at(k).weight, before.at(k).weight) for k in itertools.takewhile(
            lambda k: new.at(k).weight <= before.at(k).weight, self.watched)]  # fmt: skip
        return len(here) == len(self.watched) and sum(a - b for a, b in here) < 0

    def _ways(self, before: Tried, name: Name) -> Iterator[tuple[Step, ...]]:
        """Yield ways to mend a fault, fewest and cheapest changes first."""
        found: list[tuple[Step, ...]] = []
        for k in self.watched:
            seen = before.at(k)
            finding = seen.faults.get(name)
            if finding is not None:
                alike = [f for f in seen.faults.values() if f.key == finding.key]
                found += ways(before.plan, finding, seen.run, before.corners[k], alike, self.stock)
                if name[0] in WINDOW:
                    break  # formulas take all corners at once
        found = [way for way in found if not any(s.mixes(done) for s in way for done in before.changes)]
        found.sort(key=lambda way: (sum(s.parts for s in way), sum(s.cost for s in way)))
        known: list[dict[str, Any]] = []
        for way in found:
            values = {key: value for step in way for key, value in step.change.values.items()}
            if values and values not in known and len(known) < WAYS:
                known.append(values)
                yield way

    def least(self, found: Tried) -> Tried:
        """Leave out each change that a sturdy set can do without."""
        for step in found.changes:
            less = self.tried(tuple(s for s in found.changes if s is not step))
            if less is not None and self.sturdy(less):
                return self.least(less)
        return found


def search(plan: Plan, progress: Progress | None = None, stock: Stock = ()) -> tuple[Tried, Tried | None]:
    """Look for the fewest, cheapest changes after which a plan works at every corner.

    Parameters
    ----------
    plan : Plan
        A checked plan.
    progress : callable, optional
        Called with (plans tried, 0) after each.
    stock : collection of (str, str)
        Series and size of pipe that is there already; it comes first.

    Returns
    -------
    tuple of (Tried, Tried or None)
        The plan as it is, and the changed plan that has the fewest faults; None when nothing helps.
    """
    looking = _Search(plan, stock, progress)
    now = Tried((), plan, corners(plan))
    if now.sturdy:
        return now, None
    looking.watch(now)
    beam, best = [now], now
    for _ in range(MOST_ROUNDS):
        found: list[Tried] = []
        for new in itertools.chain.from_iterable(map(looking.better, beam)):
            if looking.sturdy(new):
                return now, looking.least(new)
            found.append(new)

        def rank(tried: Tried) -> tuple[int, tuple[int, float]]:
            return tried.weight(looking.watched), tried.cost

        beam = sorted(found, key=rank)[:BEAM]
        if not beam:
            break
        best = min(best, beam[0], key=rank)
    return now, best if best is not now else None


def sturdy(
    plan: Plan,
    progress: Progress | None = None,
    stock: Stock = (),
    costs: Costs | None = None,
) -> Answer:
    """Answer what makes a plan work wherever in their ranges the unknowns lie.

    Parameters
    ----------
    plan : Plan
        A checked plan.
    progress : callable, optional
        Called with (plans tried, 0) after each.
    stock : collection of (str, str)
        Series and size of pipe that is there already; it comes first.
    costs : callable, optional
        Says what a plan's parts cost.

    Returns
    -------
    Answer
        In words, each change with what it buys and costs; its plan has the changes. It has no number of
        its own.
    """
    now, best = search(plan, progress, stock)
    count = len(now.corners)
    said = [
        f"Tried at {count} corners: an easy and a hard start, porosity and the pump's flow at both ends of "
        "their range, strainers new and half shut; stopping at its hard end."
    ]
    question = "What makes this plan work even if your guesses are off?"
    asked = functools.partial(Answer, question, "number", plan.units)
    if now.sturdy:
        said.append("It works in every one of them as it is: nothing to change.")
        return asked(steps=tuple(said), plan=plan)
    said.append(f"As it is, it works at {now.works} of {count}. First thing against it: {now.lacks}.")
    narrows = "A bench test narrows the start and the stop: see `aquacalc bench`."
    if best is None:
        said.append(f"No change that was tried makes it any better. {narrows}")
        return asked(steps=tuple(said))
    before = costs(plan) if costs else None
    for k, step in enumerate(best.changes, 1):
        so_far = best if k == len(best.changes) else _Search(plan, (), None).tried(best.changes[:k])
        line = f"{step.change.words} It then works at {so_far.works if so_far else 0} of {count}."
        if before is not None and so_far:
            after = costs(so_far.plan)
            line += _price(after[0] - before[0], after[1], step)
            before = after
        elif not step.buys:
            line += " Nothing has to be bought."
        said.append(line)
    if not best.sturdy:
        said.append(f"That is the best found, and not sturdy: {best.lacks} remains. {narrows}")
    return asked(steps=tuple(said), plan=best.plan)


def _price(more: Decimal, currency: str, step: Step) -> str:
    """Say what a change costs."""
    if more:
        return f" Parts then cost {abs(more)} {currency} {'more' if more > 0 else 'less'}.".replace("  ", " ")
    return " Your prices name nothing for it." if step.buys else " Nothing has to be bought."
