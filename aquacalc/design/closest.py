"""How far a verdict leans on what nobody knows: which value, moved how far, turns it into which other.

`turns` works from the formulas of the limits alone and runs no plan; `worth_measuring` also runs the plan
with the values that no formula holds against a limit (porosity, lengths of pipe) at the ends of their ranges.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from aquacalc import catalogue
from aquacalc.design.readings import NINE_IN_TEN, spreads
from aquacalc.findings import Finding, find, verdict
from aquacalc.findings.record import brief, the, told_apart
from aquacalc.hydraulics.levels import volume_at
from aquacalc.hydraulics.starting import start_band
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan import edit
from aquacalc.plan.check import check_plan
from aquacalc.plan.errors import PlanError
from aquacalc.plan.marks import mark_of
from aquacalc.plan.model import BRIM, Plan
from aquacalc.results.clogging import may_clog
from aquacalc.results.cycle import SystemCycle, run_plan
from aquacalc.results.window import Window, inflow_window, sump_range
from aquacalc.units import show

#: Standard deviations taken of what no reading and no table gives: a saw's cut and a floor's slope, m, and
#: the part of the water that evaporates or is topped up too high between two looks (common practice, no
#: source).
LEVEL_SPREAD = 0.010
WATER_SPREAD = 0.05
#: The same of a strainer's openings: half of them closed is in print for an old pipe, as one case in ten.
CLOG_SPREAD = 0.30
#: Length of pipe, water in the sump and flow of the pump over what is believed; common practice, no source.
LENGTH, WATER, FLOW = (0.5, 2.0), (0.7, 1.0), (0.7, 1.2)
#: Halvings by which the place is found at which a verdict turns: to an eighth of the range.
HALVINGS = 3
#: How each value is measured, by the first word of a turn's name.
MEASURE = {
    "inflow": "Time how long it takes to fill a bucket at the beds.",
    "loss": "Once it is built, time how long it drains, and give that to `aquacalc ask fit`.",
    "level": "Lay a hose level across the beds' rims and the lip.",
    "water": "Mark on the sump how high you fill it, and keep to the mark.",
    "start": "Build the siphon first and try it: `aquacalc bench` says how.",
    "porosity": "Fill a bucket with it, pour water in to the top, and measure what runs out.",
    "length": "Measure where the pipes will run.",
}


@dataclass(frozen=True, kw_only=True)
class Turn:
    """A value at which the verdict turns.

    Parameters
    ----------
    name : str
        "inflow less", "inflow more", "loss", "level", "clogged", "water more" or "water less"; also "start",
        "porosity" and "length" where plans are run. Its first word is a key of `MEASURE`.
    says : str
        A sentence with the value now, where it turns, and into what.
    to : {"works", "may or may not", "does not"}
        The verdict there.
    far : float
        How far it is, in standard deviations of what is not known of the value.
    """

    name: str
    says: str
    to: str
    far: float

    @property
    def plausible(self) -> bool:
        """Whether the range that holds nine cases in ten reaches it."""
        return self.far <= NINE_IN_TEN


def turns(run: SystemCycle, findings: Sequence[Finding]) -> tuple[Turn, ...]:
    """Return where the verdict turns, the closest first.

    Parameters
    ----------
    run : SystemCycle
    findings : sequence of Finding
        On that run.

    Returns
    -------
    tuple of Turn
        Of a plan that works what makes it fail, of one that may or may not what settles it; none of one
        that does not, where advice says more.
    """
    now = verdict(findings)
    if now == "does not":
        return ()
    levels = sump_range(run.plan, run)
    found: list[Turn] = []
    alone = sum(f.state == now for f in findings) == 1
    for siphon in run.plan.siphons:
        window = inflow_window(run.plan, siphon, run, levels)
        known = spreads(run.plan, siphon.name)
        found += _inflow(run, window, known["inflow"], now, alone)
        if now == "works" and not window.stop_observed:
            found += _losses(run, window, known["loss"])
    if now == "works":
        found += _levels(run, findings)
        found += _water(run, findings)
        found += _clogged(run)
    closest: dict[str, Turn] = {}
    for turn in sorted(found, key=lambda t: t.far):
        closest.setdefault(turn.name, turn)
    return tuple(closest.values())


def worth_measuring(plan: Plan) -> tuple[Turn, ...]:
    """Return what is worth measuring first: values whose usual range turns the verdict, the closest first.

    Parameters
    ----------
    plan : Plan
        A checked plan; some ten more like it are run.

    Returns
    -------
    tuple of Turn
    """
    run = run_plan(plan, trace=False)
    findings = find(run)
    now = verdict(findings)
    found = [turn for turn in turns(run, findings) if turn.plausible]
    said = {turn.name.split()[0] for turn in found}
    for name, says, ends, told in _ranges(plan):
        if name not in said:
            found += _tried(plan, name, says, ends, told, now)
    return tuple(sorted(found, key=lambda turn: turn.far))


def _tried(
    plan: Plan,
    name: str,
    says: str,
    ends: Iterable[Callable[[float], dict]],
    told: Callable[[dict], str],
    now: str,
) -> Iterator[Turn]:
    """Move a value to both ends of its range; where the verdict turns, find how far along by halving."""
    for end in ends:
        if (to := _verdict(plan, end(1.0))) == now:
            continue
        low, high = 0.0, 1.0
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if _verdict(plan, end(middle)) == now else (low, middle)
        into = {"works": "works", "cannot be built": to}.get(to, f"{to} work")
        said = f"{says}; with {told(end(high))} the plan {into}."
        yield Turn(name=name, says=said, to=to, far=high * NINE_IN_TEN)


def _verdict(plan: Plan, change: dict[str, object]) -> str:
    """Verdict on the plan with a change; "cannot be built" when it makes no plan."""
    try:
        changed = edit.put(plan, change)
        check_plan(changed)
        return verdict(find(run_plan(changed, trace=False)))
    except (PlanError, ArithmeticError):
        return "cannot be built"


def _ranges(plan: Plan) -> Iterator[tuple[str, str, tuple[Callable[[float], dict], ...], Callable]]:
    """Yield (name, words, edits by how far to each end, words for such edits) of what could matter."""
    system = plan.units

    def assumed(path: str) -> bool:
        return mark_of(plan, path).mark == "assumed"

    def told_flow(edit: dict) -> str:
        return show(next(iter(edit.values())), "flow", system, 2)

    def to_ends(values: dict[str, float], ends: dict[str, tuple[float, ...]]):
        return tuple(
            lambda far, k=k: {p: v + (ends[p][k] - v) * far for p, v in values.items()} for k in range(2)
        )

    for siphon in plan.siphons:
        if siphon.priming.observed is None:
            path, band = f"siphon.{siphon.name}.priming.observed", start_band(siphon)
            low, high = (show(q, "flow", system, 2) for q in (band.low, band.high))
            says = f"The flow that starts {the(siphon.name)} may be anything from about {low} to {high}"
            ends = to_ends({path: band.middle}, {path: (band.low, band.high)})
            yield "start", says, tuple(_seen_with(end, path) for end in ends), told_flow
    if plan.pump.flow is not None and assumed("pump.flow"):
        flow = plan.pump.flow
        low, high = (show(f * flow, "flow", system, 2) for f in FLOW)
        ends = to_ends({"pump.flow": flow}, {"pump.flow": tuple(f * flow for f in FLOW)})
        yield "inflow", f"The pump's flow may be {low} to {high}", ends, told_flow
    beds = [b for b in plan.beds if b.media.name != catalogue.OWN and assumed(f"bed.{b.name}.porosity")]
    for media in dict.fromkeys(bed.media.name for bed in beds):
        known = catalogue.media(media)
        values = {f"bed.{b.name}.porosity": b.media.porosity for b in beds if b.media.name == media}
        least, most = known.porosity_low, known.porosity_high
        says = f"The water that {media} drains may be {100 * least:.0f} to {100 * most:.0f} % of its volume"
        ends = to_ends(values, dict.fromkeys(values, (least, most)))
        yield "porosity", says, ends, lambda edit: f"{100.0 * next(iter(edit.values())):.0f} %"
    lengths = {f"run.{r.start}.length": r.length for r in plan.runs}
    lengths |= {f"siphon.{s.name}.tail.length": s.tail.length for s in plan.siphons}
    lengths = {path: length for path, length in lengths.items() if assumed(path)}
    if lengths:
        ends = to_ends(lengths, {path: tuple(f * v for f in LENGTH) for path, v in lengths.items()})
        first = next(iter(lengths))
        yield (
            "length",
            "The pipes may be half to twice as long",
            ends,
            lambda edit: f"{edit[first] / lengths[first]:.2g} times the length",
        )
    if assumed("sump.water_level"):
        level = plan.sump.water_level
        ends = to_ends({"sump.water_level": level}, {"sump.water_level": tuple(f * level for f in WATER)})
        says = f"The water in the sump may be down to {100 * WATER[0]:.0f} % of its depth"
        yield "water", says, ends[:1], lambda edit: show(edit["sump.water_level"], "length", system, 2)


def _seen_with(end: Callable[[float], dict], path: str) -> Callable[[float], dict]:
    """Give a flow that starts a siphon its error, so that it counts as seen."""
    return lambda far: (flow := end(far)) | {f"{path}_error": 0.02 * flow[path]}


def _of(run: SystemCycle, name: str) -> str:
    return f" to {name}" if len(run.plan.siphons) > 1 else ""


def _inflow(run: SystemCycle, window: Window, spread: float, now: str, alone: bool) -> Iterator[Turn]:
    """Hold the pump's flow against the ends of the window."""
    ends = (
        (window.start_low, window.today_low, "less", "does not", "it does not start"),
        (window.start_high, window.today_low, "less", "may or may not", "it may or may not start"),
        (window.stop_with_margin, window.today_high, "more", "may or may not", "it may or may not stop"),
        (window.stop, window.today_high, "more", "does not", "it runs on without stopping"),
    )
    for limit, today, side, to, what in ends:
        if limit <= 0.0 or today <= 0.0:
            continue
        beyond = today < limit if side == "less" else today > limit
        if beyond and to == "does not":
            continue
        if beyond:  # it has turned already: the same limit is where it works again
            side, to, what = "more" if side == "less" else "less", "works", "it works"
        if to == now or (to == "works" and not alone):
            continue
        at, flow = told_apart((limit, today), "flow", run.plan.units)
        part = abs(limit / today - 1.0)
        says = f"{at}{_of(run, window.siphon)} instead of {flow} ({_percent(part)} {side}), and {what}."
        yield Turn(
            name=f"inflow {side}",
            says=f"The pump's flow: {says}",
            to=to,
            far=abs(math.log(limit / today)) / spread,
        )


def _percent(part: float) -> str:
    return f"{100.0 * part:.0f} %" if part >= 0.0095 else "under 1 %"


def _losses(run: SystemCycle, window: Window, spread: float) -> Iterator[Turn]:
    """Let the losses grow until the siphon may not stop: its flow goes with one over their root."""
    if window.stop_with_margin <= window.today_high or window.today_high <= 0.0:
        return
    factor = (window.stop_with_margin / window.today_high) ** 2
    says = (
        f"The losses of {_of(run, window.siphon)[4:] or 'the siphon'}: about {factor:.2g} times those worked "
        "out (more or sharper bends, slime, roots), and it may or may not stop."
    )
    yield Turn(name="loss", says=says, to="may or may not", far=math.log(factor) / spread)


def _levels(run: SystemCycle, findings: Sequence[Finding]) -> Iterator[Turn]:
    """Raise the water in the bed or chamber that has least room."""
    rooms = [f for f in findings if f.key in ("bed_freeboard", "chamber_freeboard") and f.value > 0.0]
    if not rooms:
        return
    least = min(rooms, key=lambda f: f.value)
    room = brief(least.value, "length", run.plan.units)
    says = (
        f"Water {room} higher in {least.subject} (a taller standpipe, a floor out of level), and it "
        "overflows."
    )
    yield Turn(name="level", says=says, to="does not", far=least.value / LEVEL_SPREAD)


def _clogged(run: SystemCycle) -> Iterator[Turn]:
    """Clog the strainer that has least room for it, until its bed keeps too much water."""
    shares = [(share, bed) for bed in run.plan.beds for share in [may_clog(run, bed)] if share]
    if not shares:
        return
    share, bed = min(shares, key=lambda pair: pair[0])
    says = (
        f"The strainer of {bed.name}: {100.0 * share:.0f} % of its openings closed by roots and fines, and "
        "more water stays in the bed than you allow."
    )
    yield Turn(name="clogged", says=says, to="does not", far=share / CLOG_SPREAD)


def _water(run: SystemCycle, findings: Sequence[Finding]) -> Iterator[Turn]:
    """Put water in until the sump may overflow, and take it out until the pump draws air."""
    plan = run.plan
    cells, levels = vessel_cells(plan, plan.sump), sump_range(plan, run)
    held = volume_at(cells, levels.high)
    more = volume_at(cells, plan.sump.rim - BRIM) - volume_at(cells, max(levels.high, levels.pump_off))
    less = volume_at(cells, levels.low) - volume_at(cells, plan.sump.floor + plan.pump.intake)
    for volume, word, what, to in (
        (more, "more", "the sump may overflow", "may or may not"),
        (
            less,
            "less (evaporated, or taken up by media more porous than the plan says)",
            "the pump draws air",
            "does not",
        ),
    ):
        if volume > 0.0 and held > 0.0:
            says = f"Water in the sump: {brief(volume, 'volume', plan.units)} {word}, and {what}."
            yield Turn(name=f"water {word[:4]}", says=says, to=to, far=volume / held / WATER_SPREAD)
