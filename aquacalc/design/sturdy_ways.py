"""Ways to mend a fault for good, cheapest parts and turns first; the formulas rule out what cannot help."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Any

from aquacalc import catalogue
from aquacalc.design.advice import name_of
from aquacalc.design.answer import to_mark
from aquacalc.design.change import SPARE, Change, built, kept, whose
from aquacalc.design.corners import pump_ends
from aquacalc.design.mends import BREATHERS, MENDS
from aquacalc.design.mends_building import OVER_RIM
from aquacalc.findings import Finding
from aquacalc.hydraulics.starting import start_band
from aquacalc.hydraulics.stopping import stop
from aquacalc.plan import edit
from aquacalc.plan.model import Breather, Pipe, Plan, Siphon
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import inflow_part, inflow_window, sump_range
from aquacalc.units import show

#: By how much standpipes are cut shorter and tails led lower (m), and times the openings of strainers.
SHORTER = (0.02, 0.04, 0.08)
LOWER = (0.05, 0.1, 0.2, 0.3)
OPENINGS = (1.25, 1.5, 2.0, 3.0)
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
#: Series and size of pipe that is there already.
Stock = Collection[tuple[str, str]]


@dataclass(frozen=True)
class Step:
    """One change, its `cost` (a number to order by), and how many `parts` it changes alike (count)."""

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


def ways(
    plan: Plan, finding: Finding, run: SystemCycle, edits: dict[str, Any], alike: list[Finding], stock: Stock
) -> Iterator[tuple[Step, ...]]:
    """Yield ways to mend a fault; which of them do is seen by running them.

    Parameters
    ----------
    plan : Plan
    finding : Finding
        Found on `run`.
    run : SystemCycle
        Of the plan at a corner.
    edits : dict of str to object
        What the corner changes.
    alike : list of Finding
        All on that run that have the same key.
    stock : collection of (str, str)
        Series and size of pipe that is there already.
    """
    key = name_of(finding)[0]
    if key in WINDOW:
        yield from _settings(plan, finding.subject, run, stock)
        return
    yield from ((step,) for step in _further(plan, key, stock))
    if key == "drains":  # a narrower tail gives the bed time, and may need another standpipe
        siphon = run.group(run.node(finding.subject).group).name
        yield from (way for way in _settings(plan, siphon, run, stock) if _slower(plan, way))
    yield from ((step,) for step in _mends(run, finding, edits, alike))


def _mends(run: SystemCycle, finding: Finding, edits: dict[str, Any], alike: list[Finding]) -> Iterator[Step]:
    """Yield what advice would change at a corner, as one step for all faults alike and for this one alone."""

    def changes(of: Finding) -> Iterator[Change]:
        for change in MENDS[of.key](run, of) if of.key in MENDS else ():
            if not change.values.keys() & edits.keys():  # else it would be worked out from the corner's value
                yield change

    first = [change for f in alike for change in itertools.islice(changes(f), 1)]
    if len(first) > 1 and not set.intersection(*(set(change.values) for change in first)):
        values = {key: value for change in first for key, value in change.values.items()}
        yield Step(PART, Change(" ".join(dict.fromkeys(c.words for c in first)), values), len(first))
    for change in changes(finding):
        bought = any(key.rpartition(".")[2] in BOUGHT for key in change.values)
        yield Step(PART if bought else TURN if "sump.water_level" in change.values else WORK, change)


def _further(plan: Plan, key: str, stock: Stock) -> Iterator[Step]:
    """Yield what else may mend a fault: openings of strainers, a wider or a lower lip."""
    if key in SLOTS and all(bed.strainer for bed in plan.beds):
        for more in OPENINGS:
            values = {f"bed.{b.name}.strainer.count": round(b.strainer.count * more) for b in plan.beds}
            yield Step(WORK, Change(f"Cut {more:g} times the openings in every strainer.", values))
    for siphon in plan.siphons if key in ROOM else ():
        yield from _lips(plan, siphon, stock)
        for shorter in SHORTER:
            height = siphon.standpipe.height - shorter
            words = f"Cut the standpipe{whose(plan, siphon)} {show(shorter, 'length', plan.units)} shorter."
            values = kept(plan, siphon) | {f"siphon.{siphon.name}.standpipe.height": height}
            yield Step(WORK, Change(words, values))


def _settings(plan: Plan, name: str, run: SystemCycle, stock: Stock) -> Iterator[tuple[Step, ...]]:
    """Yield pipe, tail, tube and valve together with which a siphon starts and stops, by formulas alone."""
    siphon = plan.siphon(name)
    high = min(sump_range(run.plan, run).high, plan.sump.rim)
    less, more = pump_ends(plan)
    today = inflow_window(plan, siphon, run)
    if plan.pump.flow is None:
        ends = today.today_low / inflow_part(plan, siphon), today.today_high / inflow_part(plan, siphon)
    else:
        ends = plan.pump.flow * less, plan.pump.flow * more
    kinds = (_pipes(plan, siphon, stock), _tails(plan, siphon, stock), _tubes(plan, siphon))
    for parts in itertools.product(*([None, *kind] for kind in kinds)):
        steps = tuple(step for step in parts if step)
        if any(a.touches & b.touches for a, b in itertools.combinations(steps, 2)):
            continue
        changed = built(plan, {key: v for step in steps for key, v in step.change.values.items()})
        if changed is None:
            continue
        now = changed.siphon(name)
        part, end = inflow_part(changed, now), stop(changed, now, (high, high))
        window = start_band(now).high / part, end.low * (1.0 - end.margin) / part
        if window[0] < ends[0] and ends[1] < window[1]:
            yield steps
        else:
            least, most = window[0] / less, window[1] / more
            if plan.pump.flow is None:  # a valve can only take from what it brings
                most = min(most, ends[0] / more)
            yield from ((*steps, valve) for valve in _valve(plan, least, most))


def _valve(plan: Plan, low: float, high: float) -> Iterator[Step]:
    """Yield the valve's setting just inside a window of the pump's flow (m3/s), on today's side."""
    now = plan.pump.flow
    up = now is not None and now <= low
    flow, text = to_mark(low * (1.0 + SPARE) if up else high * (1.0 - SPARE), "flow", plan.units, up)
    if not low < flow < high:
        return
    if now is None:
        words = f"Set the flow to {text} by a valve in the delivery, with a jug and a watch."
        yield Step(TURN, Change(words, {"pump.flow": flow, "pump.curve": ()}))
    else:
        turn, only = ("Open", ", if the pump can give it") if up else ("Close", "")
        words = f"{turn} the valve to {text} (now {show(now, 'flow', plan.units)}){only}."
        yield Step(TURN, Change(words, {"pump.flow": flow}))


def _slower(plan: Plan, steps: tuple[Step, ...]) -> bool:
    """Whether a siphon gets a narrower tail."""
    changed = edit.put(plan, {key: value for step in steps for key, value in step.change.values.items()})
    pairs = zip(plan.siphons, changed.siphons, strict=True)
    return any(new.tail.pipe.bore < now.tail.pipe.bore for now, new in pairs)


def _tubes(plan: Plan, siphon: Siphon) -> Iterator[Step]:
    """Yield air tubes."""
    system, of = plan.units, whose(plan, siphon)
    for bore, length in BREATHERS if siphon.breather is None else ():
        tube = Breather(bore, length, siphon.bell.rim_height + OVER_RIM)
        words = (
            f"Fit an air tube{of}, {show(bore, 'length', system)} bore, {show(length, 'length', system)} "
            f"long, from the bell's crown to {show(tube.mouth, 'length', system)} over the floor."
        )
        yield Step(1.5, Change(words, kept(plan, siphon) | {f"siphon.{siphon.name}.breather": tube}))


def _tails(plan: Plan, siphon: Siphon, stock: Stock) -> Iterator[Step]:
    """Yield lower tails, and tails of another size."""
    at = f"siphon.{siphon.name}.tail"
    for deeper in LOWER:
        values = kept(plan, siphon) | {
            f"{at}.outlet": siphon.tail.outlet - deeper,
            f"{at}.length": siphon.tail.length + deeper,
        }
        much = show(deeper, "length", plan.units)
        words = f"Lead the tail{whose(plan, siphon)} {much} lower, with as much more pipe."
        yield Step(PART, Change(words, values))
    for size, cost in _sizes(plan, siphon.tail.pipe, stock):
        words = f"Fit a {size.size} tail{whose(plan, siphon)} (now {siphon.tail.pipe.size})."
        yield Step(PART + cost, Change(words, kept(plan, siphon) | _as_size(at, siphon.tail.pipe, size)))


def _sizes(plan: Plan, pipe: Pipe, stock: Stock) -> Iterator[tuple[catalogue.PipeSize, float]]:
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


def _lips(plan: Plan, siphon: Siphon, stock: Stock) -> Iterator[Step]:
    """Yield reducers that widen the lip."""
    for size, cost in _sizes(plan, siphon.standpipe.pipe, stock):
        if siphon.standpipe.lip_diameter < size.bore < siphon.bell.bore - 0.01:
            values = kept(plan, siphon) | {f"siphon.{siphon.name}.standpipe.lip_diameter": size.bore}
            of = whose(plan, siphon)
            words = f"Put a reducer{of} on top of the standpipe, {size.size} wide at the lip."
            yield Step(1.5 + cost, Change(words, values))


def _pipes(plan: Plan, siphon: Siphon, stock: Stock) -> Iterator[Step]:
    """Yield other sizes of the standpipe, and of the tail where it is of the same pipe."""
    stand, at = siphon.standpipe, f"siphon.{siphon.name}"
    for size, cost in _sizes(plan, stand.pipe, stock):
        values = kept(plan, siphon) | _as_size(f"{at}.standpipe", stand.pipe, size)
        words = f"Fit a {size.size} standpipe"
        if siphon.tail.pipe.series == stand.pipe.series:
            values |= _as_size(f"{at}.tail", siphon.tail.pipe, size)
            words += " and tail"
        if stand.lip_diameter <= max(size.bore, stand.pipe.bore):
            values[f"{at}.standpipe.lip_diameter"] = size.bore
        words = f"{words}{whose(plan, siphon)} (now {stand.pipe.size})."
        yield Step(2.5 + cost, Change(words, values))
