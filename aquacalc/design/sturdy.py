"""Plans that do not care: the fewest, cheapest changes after which a plan works wherever the truth lies.

What nobody knows well is taken at both ends of its range at once: the flow that
starts the siphon, the porosity of the media, the pump's flow, and strainers as
cut or half shut. Stopping needs no corner of its own: a plan works only where it
stops at the hard end of that band. A plan that works at every corner is sturdy.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from aquacalc import catalogue
from aquacalc.design.advice import name_of
from aquacalc.design.answer import Answer, to_mark
from aquacalc.design.change import Change, built, kept
from aquacalc.design.many_plans import Progress, run_plans
from aquacalc.findings import find
from aquacalc.hydraulics.starting import start_band
from aquacalc.plan import edit
from aquacalc.plan.marks import mark_of
from aquacalc.plan.model import Breather, Plan, Siphon
from aquacalc.units import show

#: Pump flow over what the plan says: a measured one as well as a jug tells, others as valves drift and
#: pumps age (common practice, no source).
PUMP = (0.95, 1.05)
PUMP_MEASURED = (0.98, 1.02)
#: Porosity over a value that was given or measured; one that is assumed has its media's range.
POROSITY = (0.95, 1.05)
#: Part of a strainer's openings that an old one has left (mature perforated pipe: STEP LID guide).
OLD_STRAINER = 0.5
#: Parts of today's flow that a valve may be set to, and changes of standpipe, tail, sump and strainers, m.
VALVE = (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.1, 1.2, 1.35, 1.5, 1.75, 2.0, 2.5)
SHORTER = (0.02, 0.04, 0.08)
LOWER = (0.05, 0.1, 0.2, 0.3)
MARKS = (-0.2, -0.1, -0.05, 0.05, 0.1, 0.2)
OPENINGS = (1.25, 1.5, 2.0)
#: Bore and length (m) of tubes sold for air and ice makers (common practice, no source), and how far over
#: the bell's rim they end.
TUBES = ((0.004, 0.5), (0.006, 0.5))
OVER_RIM = 0.01
#: So many changes are made together at the most, each on top of this many of the best sets before.
MOST_CHANGES, BEAM = 3, 4
#: Says what a plan's parts cost: the money, and the currency.
Costs = Callable[[Plan], tuple[Decimal, str]]


@dataclass(frozen=True)
class Step:
    """One change, its kind (only one of a kind is made), and its `cost`, a number to order changes by."""

    kind: str
    cost: float
    change: Change

    @property
    def buys(self) -> bool:
        """Whether a part has to be bought for it."""
        return self.cost > WORK


#: Cost of what takes a saw and no part.
WORK = 1.0


@dataclass(frozen=True)
class Tried:
    """A set of changes, the faults (by name) that the plan then has at each corner, and the first of them."""

    changes: tuple[Step, ...]
    plan: Plan
    faults: tuple[dict[Name, int], ...]
    lacks: str

    @property
    def works(self) -> int:
        """At how many corners it works."""
        return len(self.faults) - len(self.failing)

    @property
    def sturdy(self) -> bool:
        """Whether it works at every corner."""
        return not self.failing

    @property
    def failing(self) -> list[int]:
        """Corners at which it does not, or may not."""
        return [k for k, found in enumerate(self.faults) if found]

    @property
    def rank(self) -> tuple[int, int, float]:
        """Place among sets of changes: most corners that work, then the fewest faults, then the cheapest."""
        return -self.works, sum(map(_weight, self.faults)), sum(step.cost for step in self.changes)


#: Key and subject of a finding, and what one counts as a fault.
Name = tuple[str, str]
FAULTS = {"does not": 2, "may or may not": 1}


def _weight(faults: dict[Name, int]) -> int:
    return sum(faults.values())


def corners(plan: Plan) -> tuple[dict[str, Any], ...]:
    """Return the edits that put a plan at each corner of what nobody knows well.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    tuple of dict of str to object
        As `aquacalc.plan.edit.put` takes them: every combination of an easy and
        a hard start, the ends of porosity and of the pump's flow, and strainers
        new and half shut.
    """
    return tuple(
        {key: value for end in ends for key, value in end.items()} for ends in itertools.product(*_ends(plan))
    )


def _ends(plan: Plan) -> Iterator[tuple[dict[str, Any], ...]]:
    starts: tuple[dict[str, Any], ...] = ({}, {})
    for siphon in plan.siphons:
        for end, flow in zip(starts, _start_ends(siphon), strict=True):
            end.update(flow)
    yield starts
    yield tuple(
        {
            f"bed.{bed.name}.porosity": min(value, 0.99)
            for bed in plan.beds
            for value in [_porosities(plan, bed)[k]]
        }
        for k in (0, 1)
    )
    if plan.pump.flow is not None:
        low, high = PUMP_MEASURED if mark_of(plan, "pump.flow").mark == "measured" else PUMP
        yield {"pump.flow": plan.pump.flow * low}, {"pump.flow": plan.pump.flow * high}
    shut = {
        f"bed.{bed.name}.strainer.count": max(int(bed.strainer.count * OLD_STRAINER), 1)
        for bed in plan.beds
        if bed.strainer is not None
    }
    if shut:
        yield {}, shut


def hard_start(plan: Plan) -> dict[str, Any]:
    """Return the edits that put every start at the hard end of its band."""
    return {key: value for siphon in plan.siphons for key, value in [*_start_ends(siphon)][1].items()}


def _start_ends(siphon: Siphon) -> Iterator[dict[str, Any]]:
    """Edits that put the start at the easy, then at the hard end of its band, and leave no band."""
    at, p, band = f"siphon.{siphon.name}.priming", siphon.priming, start_band(siphon)
    for flow, froude in ((band.low, p.froude_low), (band.high, p.froude_high)):
        if band.measured:
            yield {f"{at}.observed": flow, f"{at}.observed_error": 0.0}
        else:
            yield {f"{at}.froude_low": froude, f"{at}.froude": froude, f"{at}.froude_high": froude}


def _porosities(plan: Plan, bed) -> tuple[float, float]:
    now = bed.media.porosity
    if mark_of(plan, f"bed.{bed.name}.porosity").mark in ("given", "measured"):
        return now * POROSITY[0], now * POROSITY[1]
    media = catalogue.media(bed.media.name)
    return min(media.porosity_low, now), max(media.porosity_high, now)


class _Search:
    """Runs plans at their corners."""

    def __init__(self, plan: Plan, progress: Progress | None):
        self.plan, self.progress, self.done = plan, progress, 0
        self.stuck: set[Name] | None = None

    def tried(self, steps: tuple[Step, ...], before: Tried | None = None) -> Tried | None:
        """Run a changed plan at every corner; None where it cannot be built, or helps at no corner looked at.

        Of a set that adds to one tried `before`, the first and last corner at which that failed are run
        first, and nothing else where neither is better now. `stuck` keeps what no set mends there.
        """
        values = {key: value for step in steps for key, value in step.change.values.items()}
        plan = built(self.plan, values)
        at = [built(plan, corner) for corner in corners(plan)] if plan else []
        if not at or None in at:
            return None
        self.done += 1
        if self.progress is not None:
            self.progress(self.done, 0)
        found: dict[int, tuple[dict[Name, int], str]] = {}
        first = before.failing[:: max(len(before.failing) - 1, 1)] if before else []
        for few in (first, range(len(at))):
            todo = [k for k in few if k not in found]
            for k, run in zip(todo, run_plans([at[k] for k in todo]), strict=True):
                worst = find(run)
                faults = {name_of(f): FAULTS[f.state] for f in reversed(worst) if f.state in FAULTS}
                found[k] = faults, f"{worst[0].title.lower()} ({worst[0].subject})"
            if before and few is first:
                here = set(found[first[0]][0])
                self.stuck = here if self.stuck is None else self.stuck & here
                if all(_weight(found[k][0]) >= _weight(before.faults[k]) for k in first):
                    return None
        left = tuple(found[k][0] for k in range(len(at)))
        lacks = next((found[k][1] for k, here in enumerate(left) if here), "")
        return Tried(steps, plan, left, lacks)


def _steps(plan: Plan, stock: Collection[tuple[str, str]]) -> Iterator[Step]:
    """Yield every single change; pipe of a series and size in `stock` is cheaper."""
    system = plan.units
    if plan.pump.flow is not None:
        for part in VALVE:
            flow, text = to_mark(plan.pump.flow * part, "flow", system, part > 1.0)
            now = show(plan.pump.flow, "flow", system)
            turn = "Open" if part > 1.0 else "Close"
            only = ", if the pump can give it" if part > 1.0 else ""
            words = f"{turn} the valve to {text} (now {now}){only}."
            yield Step("valve", 0.5, Change(words, {"pump.flow": flow}))
    for by in MARKS:
        level = plan.sump.water_level + by
        if 0.0 < level < plan.sump.shape.depth:
            words = f"Fill the sump to {show(level, 'length', system)} ({plan.sump.measured_with})."
            yield Step("water", 0.5, Change(words, {"sump.water_level": level}))
    if all(bed.strainer for bed in plan.beds):
        for more in OPENINGS:
            values = {f"bed.{b.name}.strainer.count": round(b.strainer.count * more) for b in plan.beds}
            words = f"Cut {more:g} times the openings in every strainer."
            yield Step("strainer", WORK, Change(words, values))
    for siphon in plan.siphons:
        yield from _siphon_steps(plan, siphon, stock)


def _siphon_steps(plan: Plan, siphon: Siphon, stock: Collection[tuple[str, str]]) -> Iterator[Step]:
    system, at, stand = plan.units, f"siphon.{siphon.name}", siphon.standpipe
    of = f" of {siphon.name}" if len(plan.siphons) > 1 else ""
    tested = kept(siphon)
    for shorter in SHORTER:
        values = tested | {f"{at}.standpipe.height": stand.height - shorter}
        words = f"Cut the standpipe{of} {show(shorter, 'length', system)} shorter."
        yield Step(f"height{of}", WORK, Change(words, values))
    if siphon.breather is None:
        for bore, length in TUBES:
            tube = Breather(bore, length, siphon.bell.rim_height + OVER_RIM)
            words = (
                f"Fit an air tube{of}, {show(bore, 'length', system)} bore, {show(length, 'length', system)} "
                f"long, from the bell's crown to {show(tube.mouth, 'length', system)} over the floor."
            )
            yield Step(f"breather{of}", 1.5, Change(words, tested | {f"{at}.breather": tube}))
    for deeper in LOWER:
        values = tested | {
            f"{at}.tail.outlet": siphon.tail.outlet - deeper,
            f"{at}.tail.length": siphon.tail.length + deeper,
        }
        words = f"Lead the tail{of} {show(deeper, 'length', system)} lower, with as much more pipe."
        yield Step(f"tail{of}", 2.0, Change(words, values))
    if stand.pipe.series not in catalogue.series():
        return
    series = stand.pipe.series
    for size in catalogue.sizes(series):
        cost = 0.0 if (series, size.size) in stock else 0.5
        if stand.lip_diameter < size.bore < siphon.bell.bore - 0.01:
            values = tested | {f"{at}.standpipe.lip_diameter": size.bore}
            words = f"Put a reducer{of} on top of the standpipe, {size.size} wide at the lip."
            yield Step(f"lip{of}", 1.5 + cost, Change(words, values))
        if size.bore == stand.pipe.bore or not 0.4 < size.bore / stand.pipe.bore < 2.5:
            continue
        values = tested | {f"{at}.standpipe.size": size.size}
        words = f"Fit a {size.size} standpipe"
        if siphon.tail.pipe.series == series:
            values[f"{at}.tail.size"] = size.size
            words += " and tail"
        if stand.lip_diameter <= max(size.bore, stand.pipe.bore):
            values[f"{at}.standpipe.lip_diameter"] = size.bore
        yield Step(f"pipe{of}", 2.5 + cost, Change(f"{words}{of} (now {stand.pipe.size}).", values))


def search(
    plan: Plan, progress: Progress | None = None, stock: Collection[tuple[str, str]] = ()
) -> tuple[Tried, Tried | None]:
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
        The plan as it is, and the changed plan that works at most corners; None when nothing helps.
    """
    looking = _Search(plan, progress)
    now = looking.tried(())
    if now is None:
        return Tried(
            (), plan, ({("cannot_be_built", plan.name): 2},), "it cannot be built at every corner"
        ), None
    steps = list(_steps(plan, stock))
    beam, best = [now], now
    for _ in range(MOST_CHANGES):
        if best.sturdy:
            break
        sets = {
            frozenset(id(s) for s in (*before.changes, step)): (before, (*before.changes, step))
            for before in beam
            for step in steps
            if _goes_with(step, before.changes)
        }
        found = []
        for before, changes in sorted(sets.values(), key=lambda pair: sum(s.cost for s in pair[1])):
            tried = looking.tried(changes, before)
            if tried is not None:
                found.append(tried)
                if tried.sturdy:
                    break
        beam = sorted(found, key=lambda tried: tried.rank)[:BEAM]
        if beam and beam[0].rank < best.rank:
            best = beam[0]
        if looking.stuck:  # a fault that no change of this kind mends: two or three will not either
            break
    return now, best if best.rank < now.rank else None


def _goes_with(step: Step, others: tuple[Step, ...]) -> bool:
    """Whether a change is of another kind than others, and touches nothing that they change."""
    return not any(step.kind == s.kind or step.change.values.keys() & _parts_of(s) for s in others)


def _parts_of(step: Step) -> set[str]:
    return {path for path in step.change.values if not path.endswith(".tested")}


def sturdy(
    plan: Plan,
    progress: Progress | None = None,
    stock: Collection[tuple[str, str]] = (),
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
    count = len(now.faults)
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
        said.append(
            "No change of valve, water, strainers, standpipe, lip, tail or air tube makes it any better. "
            f"{narrows}"
        )
        return asked(steps=tuple(said))
    before = costs(plan) if costs else None
    for k, step in enumerate(best.changes, 1):
        so_far = best if k == len(best.changes) else _Search(plan, None).tried(best.changes[:k])
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


def inside(plan: Plan, shares: tuple[float, ...]) -> dict[str, Any]:
    """Return the edits for a point inside the corners.

    Parameters
    ----------
    plan : Plan
    shares : tuple of float
        Where between the two ends of each unknown, 0 to 1 (part).
    """
    found: dict[str, Any] = {}
    for (low, high), share in zip(_ends(plan), shares, strict=False):
        for key in low.keys() | high.keys():
            a = low.get(key, edit.get(plan, key))
            b = high.get(key, edit.get(plan, key))
            between = a + (b - a) * share
            found[key] = round(between) if isinstance(a, int) else between
    return found
