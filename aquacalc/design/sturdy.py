"""Plans that do not care: the fewest, cheapest changes after which a plan works wherever the truth lies.

What nobody knows well is taken at both ends of its range at once: the flow that
starts the siphon, the porosity of the media, the pump's flow, and strainers as
cut or half shut. Stopping needs no corner of its own: a plan works only where it
stops at the hard end of that band. A plan that works at every corner is sturdy.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from aquacalc import catalogue
from aquacalc.design.advice import name_of
from aquacalc.design.answer import Answer, to_mark
from aquacalc.design.change import SPARE, Change, built, kept
from aquacalc.design.many_plans import Progress, run_plans
from aquacalc.design.mends import MENDS
from aquacalc.findings import Finding, find
from aquacalc.hydraulics.pump import pump_flow
from aquacalc.hydraulics.pump_curve import by_box
from aquacalc.hydraulics.starting import start_band
from aquacalc.hydraulics.stopping import stop
from aquacalc.plan import edit
from aquacalc.plan.marks import mark_of
from aquacalc.plan.model import Breather, Fitting, Pipe, Plan, Siphon
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import inflow_part, inflow_window, sump_range
from aquacalc.units import show

#: Pump flow over what the plan says: a measured one as well as a jug tells, others as valves drift and
#: pumps age (common practice, no source).
PUMP = (0.95, 1.05)
PUMP_MEASURED = (0.98, 1.02)
#: Porosity over a value that was given or measured; one that is assumed has its media's range.
POROSITY = (0.95, 1.05)
#: Part of a strainer's openings that an old one has left (mature perforated pipe: STEP LID guide).
OLD_STRAINER = 0.5
#: By how much standpipes are cut shorter and tails led lower (m), and times the openings of strainers.
SHORTER = (0.02, 0.04, 0.08)
LOWER = (0.05, 0.1, 0.2, 0.3)
OPENINGS = (1.25, 1.5, 2.0, 3.0)
#: Bore and length (m) of tubes sold for air and ice makers (common practice, no source), and how far over
#: the bell's rim they end.
TUBES = ((0.004, 0.5), (0.006, 0.5))
OVER_RIM = 0.01
#: Halvings of a valve's loss coefficient, from 10,000 down to 0.01.
HALVINGS = 20
#: Faults are mended one after the other, at most so many times, each on top of this many of the best sets
#: before; and so many ways are tried for one fault.
MOST_ROUNDS, BEAM, WAYS = 8, 3, 16
#: Costs of a change, numbers to order them by: a valve or a mark, what takes a saw, a part.
TURN, WORK, PART = 0.5, 1.0, 2.0
#: Keys whose change takes a new part.
BOUGHT = {"size", "depth", "width", "diameter", "bore", "fittings", "seal", "check_valve", "length",
          "media_guard", "top_height", "breather", "lip_diameter"}  # fmt: skip
#: Keys of a pipe: one size takes the place of another.
PIPE = ("series", "size", "lip_diameter")
#: Keys of findings on the inflow's window, by `name_of`; on room over the water; and on openings.
WINDOW = ("start", "stop")
ROOM = ("bed_freeboard", "chamber_freeboard", "overflow", "bell_clearance")
SLOTS = ("drains", "strainer")
#: Says what a plan's parts cost: the money, and the currency.
Costs = Callable[[Plan], tuple[Decimal, str]]
#: Key and subject of a finding, and what one counts as a fault.
Name = tuple[str, str]
FAULTS = {"does not": 2, "may or may not": 1}


@dataclass(frozen=True)
class Step:
    """One change, the `cost` to order it by, and how many `parts` it changes alike."""

    cost: float
    change: Change
    parts: int = 1

    @property
    def buys(self) -> bool:
        """Whether a part has to be bought for it."""
        return any(key.rpartition(".")[2] in BOUGHT for key in self.change.values)

    @property
    def touches(self) -> set[str]:
        """Paths of the plan that it changes."""
        return {path for path in self.change.values if not path.endswith(".tested")}

    def mixes(self, before: Step) -> bool:
        """Whether it changes again what another step changed, and does not simply take its place."""
        again = before.touches <= self.touches and all(p.rpartition(".")[2] in PIPE for p in self.touches)
        return bool(before.touches & self.touches) and not again


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
        low, high = _pump_ends(plan)
        yield {"pump.flow": plan.pump.flow * low}, {"pump.flow": plan.pump.flow * high}
    shut = {
        f"bed.{bed.name}.strainer.count": max(int(bed.strainer.count * OLD_STRAINER), 1)
        for bed in plan.beds
        if bed.strainer is not None
    }
    if shut:
        yield {}, shut


def _pump_ends(plan: Plan) -> tuple[float, float]:
    return PUMP_MEASURED if mark_of(plan, "pump.flow").mark == "measured" else PUMP


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
    """Looks for changes, one fault after the other.

    Sets of changes are run at a few corners that have all the faults of the plan as it is between them
    (`watched`); one without a fault there is run at all, and the corner at which it fails is watched from
    then on.
    """

    def __init__(self, plan: Plan, stock: Collection[tuple[str, str]], progress: Progress | None):
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
        at = [k for k in self.watched if name in before.at(k).faults]
        run = before.at(at[0]).run if at else None
        ways: list[tuple[Step, ...]] = []
        if run is None:
            return
        if name[0] in WINDOW:
            ways += _settings(before.plan, name[1], run, self.stock)
        else:
            ways += [(step,) for step in _further(before.plan, name[0], self.stock)]
            if name[0] == "drains":  # a narrower tail gives the bed time, and may need another standpipe
                siphon = run.group(run.node(name[1]).group).name
                ways += (
                    w for w in _settings(before.plan, siphon, run, self.stock) if _slower(before.plan, w)
                )
            for k in at:
                ways += [(step,) for step in _mends(before, k, name)]
        ways = [way for way in ways if not any(s.mixes(done) for s in way for done in before.changes)]
        ways.sort(key=lambda way: (sum(s.parts for s in way), sum(s.cost for s in way)))
        known: list[dict[str, Any]] = []
        for way in ways:
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


def _mends(before: Tried, corner: int, name: Name) -> Iterator[Step]:
    """Yield what advice would change at a corner, as one step for all faults alike and for this one alone."""
    seen, edits = before.at(corner), before.corners[corner]

    def changes(finding: Finding | None) -> Iterator[Change]:
        for change in MENDS[finding.key](seen.run, finding) if finding and finding.key in MENDS else ():
            if not change.values.keys() & edits.keys():  # else it would be worked out from the corner's value
                yield change

    alike = [next(changes(f), None) for n, f in seen.faults.items() if n[0] == name[0]]
    first = [change for change in alike if change is not None]
    if len(first) > 1 and not set.intersection(*(set(change.values) for change in first)):
        values = {key: value for change in first for key, value in change.values.items()}
        yield Step(PART, Change(" ".join(dict.fromkeys(c.words for c in first)), values), len(first))
    for change in changes(seen.faults[name]):
        bought = any(key.rpartition(".")[2] in BOUGHT for key in change.values)
        yield Step(PART if bought else TURN if "sump.water_level" in change.values else WORK, change)


def _further(plan: Plan, key: str, stock: Collection[tuple[str, str]]) -> Iterator[Step]:
    """Yield what else may mend a fault: openings of strainers, a wider or a lower lip."""
    if key in SLOTS and all(bed.strainer for bed in plan.beds):
        for more in OPENINGS:
            values = {f"bed.{b.name}.strainer.count": round(b.strainer.count * more) for b in plan.beds}
            yield Step(WORK, Change(f"Cut {more:g} times the openings in every strainer.", values))
    for siphon in plan.siphons if key in ROOM else ():
        yield from _lips(plan, siphon, stock)
        for shorter in SHORTER:
            height = siphon.standpipe.height - shorter
            words = f"Cut the standpipe{_of(plan, siphon)} {show(shorter, 'length', plan.units)} shorter."
            values = kept(siphon) | {f"siphon.{siphon.name}.standpipe.height": height}
            yield Step(WORK, Change(words, values))


def _settings(
    plan: Plan, name: str, run: SystemCycle, stock: Collection[tuple[str, str]]
) -> Iterator[tuple[Step, ...]]:
    """Yield pipe, tail, tube and valve together with which a siphon starts and stops, by formulas alone."""
    siphon = next(s for s in plan.siphons if s.name == name)
    high = min(sump_range(run.plan, run).high, plan.sump.rim)
    less, more = _pump_ends(plan)
    kinds = (_pipes(plan, siphon, stock), _tails(plan, siphon, stock), _tubes(plan, siphon))
    for parts in itertools.product(*([None, *kind] for kind in kinds)):
        steps = tuple(step for step in parts if step)
        if any(a.touches & b.touches for a, b in itertools.combinations(steps, 2)):
            continue
        changed = built(plan, {key: v for step in steps for key, v in step.change.values.items()})
        if changed is None:
            continue
        now = next(s for s in changed.siphons if s.name == name)
        if plan.pump.flow is None:
            found = inflow_window(changed, now, run)
            if found.start_high < found.today_low and found.today_high < found.stop_with_margin:
                yield steps
            elif found.start_high < found.stop_with_margin < found.today_high:
                most = found.stop_with_margin / inflow_part(changed, now)
                yield from ((*steps, valve) for valve in _throttle(plan, most, run))
            continue
        part, end = inflow_part(changed, now), stop(changed, now, (high, high))
        window = start_band(now).high / part / less, end.low * (1.0 - end.margin) / part / more
        if window[0] < plan.pump.flow < window[1]:
            yield steps
        else:
            yield from ((*steps, valve) for valve in _valve(plan, window))


def _valve(plan: Plan, window: tuple[float, float]) -> Iterator[Step]:
    """Yield the valve's setting just inside a window of the pump's flow (m3/s), on today's side."""
    low, high = window
    up = plan.pump.flow <= low
    flow, text = to_mark(low * (1.0 + SPARE) if up else high * (1.0 - SPARE), "flow", plan.units, up)
    if low < flow < high:
        turn, only = ("Open", ", if the pump can give it") if up else ("Close", "")
        words = f"{turn} the valve to {text} (now {show(plan.pump.flow, 'flow', plan.units)}){only}."
        yield Step(TURN, Change(words, {"pump.flow": flow}))


def _throttle(plan: Plan, most: float, run: SystemCycle) -> Iterator[Step]:
    """Yield a valve in the delivery, so far shut that a pump with a curve brings less than `most` (m3/s)."""
    delivery, level = plan.pump.delivery, sump_range(run.plan, run).high
    flow, text = to_mark(most * (1.0 - SPARE), "flow", plan.units, up=False)
    low, high = 0.0, 1e4  # loss coefficient of the valve

    def with_valve(k: float) -> dict[str, Any]:
        valve = Fitting("valve, partly shut", 1, k, given=True)
        return {"pump.delivery.fittings": (*delivery.fittings[:-1], valve, *delivery.fittings[-1:])}

    if delivery is None or by_box(plan.pump):
        return
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        brings = pump_flow(edit.put(plan, with_valve(middle)), level)
        low, high = (middle, high) if brings > flow else (low, middle)
    now = show(pump_flow(plan, level), "flow", plan.units)
    words = f"Fit a valve in the delivery and close it until at most {text} comes (now {now})."
    yield Step(1.5, Change(words, with_valve(high)))


def _slower(plan: Plan, steps: tuple[Step, ...]) -> bool:
    """Whether a siphon gets a narrower tail."""
    changed = edit.put(plan, {key: value for step in steps for key, value in step.change.values.items()})
    pairs = zip(plan.siphons, changed.siphons, strict=True)
    return any(new.tail.pipe.bore < now.tail.pipe.bore for now, new in pairs)


def _of(plan: Plan, siphon: Siphon) -> str:
    return f" of {siphon.name}" if len(plan.siphons) > 1 else ""


def _tubes(plan: Plan, siphon: Siphon) -> Iterator[Step]:
    """Yield air tubes."""
    system, of = plan.units, _of(plan, siphon)
    for bore, length in TUBES if siphon.breather is None else ():
        tube = Breather(bore, length, siphon.bell.rim_height + OVER_RIM)
        words = (
            f"Fit an air tube{of}, {show(bore, 'length', system)} bore, {show(length, 'length', system)} "
            f"long, from the bell's crown to {show(tube.mouth, 'length', system)} over the floor."
        )
        yield Step(1.5, Change(words, kept(siphon) | {f"siphon.{siphon.name}.breather": tube}))


def _tails(plan: Plan, siphon: Siphon, stock: Collection[tuple[str, str]]) -> Iterator[Step]:
    """Yield lower tails, and tails of another size."""
    at = f"siphon.{siphon.name}.tail"
    for deeper in LOWER:
        values = kept(siphon) | {
            f"{at}.outlet": siphon.tail.outlet - deeper,
            f"{at}.length": siphon.tail.length + deeper,
        }
        much = show(deeper, "length", plan.units)
        words = f"Lead the tail{_of(plan, siphon)} {much} lower, with as much more pipe."
        yield Step(PART, Change(words, values))
    for size, cost in _sizes(plan, siphon.tail.pipe, stock):
        words = f"Fit a {size.size} tail{_of(plan, siphon)} (now {siphon.tail.pipe.size})."
        yield Step(PART + cost, Change(words, kept(siphon) | _as_size(at, siphon.tail.pipe, size)))


def _sizes(
    plan: Plan, pipe: Pipe, stock: Collection[tuple[str, str]]
) -> Iterator[tuple[catalogue.PipeSize, float]]:
    """Yield the sizes that a pipe may have instead, and what they cost more; those in `stock` nothing.

    A pipe of no table gives way to one of the series that the plan has elsewhere.
    """
    each = (pipe, *(line.pipe for line in plan.runs))
    series = next((p.series for p in each if p.series in catalogue.series()), None)
    for size in catalogue.sizes(series) if series else ():
        if size.bore != pipe.bore and 0.4 < size.bore / pipe.bore < 2.5:
            yield size, 0.0 if (series, size.size) in stock else 0.5


def _as_size(at: str, pipe: Pipe, size: catalogue.PipeSize) -> dict[str, Any]:
    """Return the edits that make a pipe one of a table's."""
    new = {} if size.series == pipe.series else {f"{at}.series": size.series}
    return new | {f"{at}.size": size.size}


def _lips(plan: Plan, siphon: Siphon, stock: Collection[tuple[str, str]]) -> Iterator[Step]:
    """Yield reducers that widen the lip."""
    for size, cost in _sizes(plan, siphon.standpipe.pipe, stock):
        if siphon.standpipe.lip_diameter < size.bore < siphon.bell.bore - 0.01:
            values = kept(siphon) | {f"siphon.{siphon.name}.standpipe.lip_diameter": size.bore}
            of = _of(plan, siphon)
            words = f"Put a reducer{of} on top of the standpipe, {size.size} wide at the lip."
            yield Step(1.5 + cost, Change(words, values))


def _pipes(plan: Plan, siphon: Siphon, stock: Collection[tuple[str, str]]) -> Iterator[Step]:
    """Yield other sizes of the standpipe, and of the tail where it is of the same pipe."""
    stand, at = siphon.standpipe, f"siphon.{siphon.name}"
    for size, cost in _sizes(plan, stand.pipe, stock):
        values = kept(siphon) | _as_size(f"{at}.standpipe", stand.pipe, size)
        words = f"Fit a {size.size} standpipe"
        if siphon.tail.pipe.series == stand.pipe.series:
            values |= _as_size(f"{at}.tail", siphon.tail.pipe, size)
            words += " and tail"
        if stand.lip_diameter <= max(size.bore, stand.pipe.bore):
            values[f"{at}.standpipe.lip_diameter"] = size.bore
        words = f"{words}{_of(plan, siphon)} (now {stand.pipe.size})."
        yield Step(2.5 + cost, Change(words, values))


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
