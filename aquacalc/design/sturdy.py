"""Plans that do not care: the fewest, cheapest changes after which a plan works wherever the truth lies.

What nobody knows well is taken at both ends of its range at once: the flow that
starts the siphon, the porosity of the media, the pump's flow, and strainers as
cut or half shut. A plan that works at every corner is sturdy.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from aquacalc import catalogue
from aquacalc.design.answer import Answer, to_mark
from aquacalc.design.change import Change
from aquacalc.design.many_plans import Progress, run_plans
from aquacalc.findings import find, verdict
from aquacalc.hydraulics.starting import start_band
from aquacalc.plan import edit
from aquacalc.plan.check import check_plan
from aquacalc.plan.errors import PlanError
from aquacalc.plan.marks import mark_of
from aquacalc.plan.model import Plan, Siphon
from aquacalc.plan.tested import written
from aquacalc.units import show

#: Pump flow over what the plan says: a measured one as well as a jug tells, others as valves drift and
#: pumps age (common practice, no source).
PUMP = (0.95, 1.05)
PUMP_MEASURED = (0.98, 1.02)
#: Porosity over a value that was given or measured; one that is assumed has its media's range.
POROSITY = (0.95, 1.05)
#: Part of a strainer's openings that an old one has left (mature perforated pipe: STEP LID guide).
OLD_STRAINER = 0.5
#: Parts of today's flow that a valve may be set to, lower, and changes of lip, tail and standpipe.
VALVE = (0.6, 0.7, 0.8, 0.85, 0.9, 0.95, 1.05, 1.1, 1.2, 1.3, 1.5, 1.75, 2.0, 2.5)
SHORTER = (0.02, 0.04, 0.08)
LOWER = (0.05, 0.1, 0.2)
MARKS = (-0.1, -0.05, 0.05, 0.1)
OPENINGS = (1.25, 1.5, 2.0)
#: So many changes are made together at the most, each on top of this many of the best sets before.
MOST_CHANGES, BEAM = 3, 4


@dataclass(frozen=True)
class Step:
    """One change, its kind (only one of a kind is made), and its `cost`, a number to order changes by."""

    kind: str
    cost: float
    change: Change


@dataclass(frozen=True)
class Tried:
    """A set of changes, at how many corners the plan then works or may work, and what it lacks."""

    changes: tuple[Step, ...]
    plan: Plan
    works: int
    may: int
    lacks: str


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
    """Runs plans at their corners, each plan once."""

    def __init__(self, plan: Plan, progress: Progress | None):
        self.plan, self.progress, self.done = plan, progress, 0
        self.count = len(corners(plan))

    def tried(self, steps: tuple[Step, ...]) -> Tried | None:
        """Run a changed plan at every corner; None where it cannot be built."""
        values = {key: value for step in steps for key, value in step.change.values.items()}
        try:
            changed = edit.put(self.plan, values)
            check_plan(changed)
            plans = [edit.put(changed, corner) for corner in corners(changed)]
            for plan in plans:
                check_plan(plan)
        except (PlanError, LookupError, TypeError, ValueError):
            return None
        verdicts, lacks = [], ""
        for run in run_plans(plans):
            findings = find(run)
            verdicts.append(verdict(findings))
            if verdicts[-1] != "works":
                lacks = lacks or f"{findings[0].title.lower()} ({findings[0].subject})"
        self.done += 1
        if self.progress is not None:
            self.progress(self.done, 0)
        return Tried(steps, changed, verdicts.count("works"), verdicts.count("may or may not"), lacks)


def _steps(plan: Plan) -> Iterator[Step]:
    """Yield every single change, the cheapest kinds first."""
    system = plan.units
    if plan.pump.flow is not None:
        for part in VALVE:
            flow, text = to_mark(plan.pump.flow * part, "flow", system, part > 1.0)
            now = show(plan.pump.flow, "flow", system)
            turn = "Open" if part > 1.0 else "Close"
            yield Step("valve", 0.5, Change(f"{turn} the valve to {text} (now {now}).", {"pump.flow": flow}))
    for by in MARKS:
        level = plan.sump.water_level + by
        if 0.0 < level < plan.sump.shape.depth:
            words = f"Fill the sump to {show(level, 'length', system)} ({plan.sump.measured_with})."
            yield Step("water", 0.5, Change(words, {"sump.water_level": level}))
    if all(bed.strainer for bed in plan.beds):
        for more in OPENINGS:
            values = {f"bed.{b.name}.strainer.count": round(b.strainer.count * more) for b in plan.beds}
            words = f"Cut {more:g} times the openings in every strainer."
            yield Step("strainer", 1.0, Change(words, values))
    for siphon in plan.siphons:
        yield from _siphon_steps(plan, siphon)


def _siphon_steps(plan: Plan, siphon: Siphon) -> Iterator[Step]:
    system, at, stand = plan.units, f"siphon.{siphon.name}", siphon.standpipe
    of = f" of {siphon.name}" if len(plan.siphons) > 1 else ""
    seen = siphon.priming.observed is not None or siphon.stopping.observed is not None
    tested: dict[str, Any] = {f"{at}.tested": written(siphon)} if seen and not siphon.tested else {}
    for shorter in SHORTER:
        values = tested | {f"{at}.standpipe.height": stand.height - shorter}
        words = f"Cut the standpipe{of} {show(shorter, 'length', system)} shorter."
        yield Step(f"height{of}", 1.0, Change(words, values))
    for deeper in LOWER:
        values = tested | {
            f"{at}.tail.outlet": siphon.tail.outlet - deeper,
            f"{at}.tail.length": siphon.tail.length + deeper,
        }
        words = f"Lead the tail{of} {show(deeper, 'length', system)} lower, with as much more pipe."
        yield Step(f"tail{of}", 2.0, Change(words, values))
    if stand.pipe.series not in catalogue.series():
        return
    for size in catalogue.sizes(stand.pipe.series):
        if size.bore == stand.pipe.bore or not 0.4 < size.bore / stand.pipe.bore < 2.5:
            continue
        values = tested | {f"{at}.standpipe.size": size.size}
        words = f"Fit a {size.size} standpipe"
        if siphon.tail.pipe.series == stand.pipe.series:
            values[f"{at}.tail.size"] = size.size
            words += " and tail"
        if stand.lip_diameter <= max(size.bore, stand.pipe.bore):
            values[f"{at}.standpipe.lip_diameter"] = size.bore
        yield Step(f"pipe{of}", 3.0, Change(f"{words}{of} (now {stand.pipe.size}).", values))


def search(plan: Plan, progress: Progress | None = None) -> tuple[Tried, Tried | None, int]:
    """Look for the fewest, cheapest changes after which a plan works at every corner.

    Parameters
    ----------
    plan : Plan
        A checked plan.
    progress : callable, optional
        Called with (plans tried, 0) after each.

    Returns
    -------
    tuple of (Tried, Tried or None, int)
        The plan as it is, the changed plan that works at most corners (None
        when nothing helps), and how many corners there are.
    """
    looking = _Search(plan, progress)
    now = looking.tried(())
    if now is None or now.works == looking.count:
        return now or Tried((), plan, 0, 0, "it cannot be built at every corner"), None, looking.count
    steps = list(_steps(plan))
    beam, best = [now], now
    for _ in range(MOST_CHANGES):
        found = [
            tried
            for before in beam
            for step in steps
            if step.kind not in {s.kind for s in before.changes}
            and not any(step.change.values.keys() & s.change.values.keys() for s in before.changes)
            and (tried := looking.tried((*before.changes, step)))
        ]
        beam = sorted(found, key=_rank)[:BEAM]
        if beam and _rank(beam[0]) < _rank(best):
            best = beam[0]
        if best.works == looking.count:
            break
    return now, best if best.works > now.works else None, looking.count


def _rank(tried: Tried) -> tuple[int, int, float]:
    """Order of sets of changes: most corners that work, then that may, then the cheapest."""
    return -tried.works, -tried.may, _cost(tried)


def _cost(tried: Tried) -> float:
    return sum(step.cost for step in tried.changes)


def sturdy(plan: Plan, progress: Progress | None = None) -> Answer:
    """Answer what makes a plan work wherever in their ranges the unknowns lie.

    Parameters
    ----------
    plan : Plan
        A checked plan.
    progress : callable, optional
        Called with (plans tried, 0) after each.

    Returns
    -------
    Answer
        In words, each change with what it buys; its plan has the changes. It
        has no number of its own.
    """
    now, best, count = search(plan, progress)
    question = "What makes this plan work even if your guesses are off?"
    said = [
        f"Tried at {count} corners: an easy and a hard start, porosity and the pump's flow at both ends of "
        "their range, strainers new and half shut."
    ]
    if now.works == count:
        said.append("It works in every one of them as it is: nothing to change.")
        return Answer(question, "number", plan.units, steps=tuple(said), plan=plan)
    said.append(f"As it is, it works at {now.works} of {count}. First thing against it: {now.lacks}.")
    if best is None:
        said.append(
            "No change of valve, water, strainers, standpipe or tail makes it work at more. A bench test "
            "narrows the start: see `aquacalc bench`."
        )
        return Answer(question, "number", plan.units, steps=tuple(said))
    for k, step in enumerate(best.changes, 1):
        so_far = best if k == len(best.changes) else _Search(plan, progress).tried(best.changes[:k])
        said.append(f"{step.change.words} It then works at {so_far.works if so_far else 0} of {count}.")
    if best.works < count:
        said.append(
            f"That is the best found, and not sturdy: {best.lacks} remains. A bench test narrows the start: "
            "see `aquacalc bench`."
        )
    return Answer(question, "number", plan.units, steps=tuple(said), plan=best.plan)


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
