"""Which assumptions of a plan are worth measuring: those whose usual range changes the verdict."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from aquacalc import catalogue
from aquacalc.findings import VERDICTS, find, verdict
from aquacalc.hydraulics.starting import start_band
from aquacalc.plan import edit
from aquacalc.plan.check import check_plan
from aquacalc.plan.errors import PlanError
from aquacalc.plan.marks import mark_of
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import run_plan
from aquacalc.units import show

#: Flow that a pump brings to the beds over what is believed; common practice, no source.
FLOW = (0.7, 1.2)
#: Length of pipe over what is believed; common practice, no source.
LENGTH = (0.5, 2.0)


@dataclass(frozen=True)
class Assumption:
    """A value that nobody measured, and what it can do.

    Attributes
    ----------
    path : str
        As in `aquacalc.plan.edit`; with "*" for all records of a kind.
    says : str
        What it is, how far it may be off and how to measure it.
    low, high : str
        Verdict with the value at the lower and the upper end of its usual range.
    flips : bool
        Whether either differs from the verdict as it stands.
    """

    path: str
    says: str
    low: str
    high: str
    flips: bool


def assumptions(plan: Plan) -> tuple[Assumption, ...]:
    """Try each assumption of a plan at both ends of its usual range.

    Parameters
    ----------
    plan : Plan
        A checked plan.

    Returns
    -------
    tuple of Assumption
        Those that change the verdict first, the worst first.
    """
    now = verdict(find(run_plan(plan, trace=False)))
    found = []
    for path, says, ends in _ranges(plan):
        low, high = (_verdict(plan, change) for change in ends)
        found.append(Assumption(path, says, low, high, low != now or high != now))
    found.sort(
        key=lambda a: (not a.flips, min(_rank(a.low), _rank(a.high)), -abs(_rank(a.low) - _rank(a.high)))
    )
    return tuple(found)


def _rank(state: str) -> int:
    return VERDICTS.index(state) if state in VERDICTS else 0


def _verdict(plan: Plan, change: dict[str, Any]) -> str:
    """Verdict on the plan with a change; "cannot be built" when it makes no plan."""
    try:
        changed = edit.put(plan, change)
        check_plan(changed)
        return verdict(find(run_plan(changed, trace=False)))
    except (PlanError, ArithmeticError):
        return "cannot be built"


def _ranges(plan: Plan) -> Iterator[tuple[str, str, tuple[dict, ...]]]:
    """Yield (path, words, changes at both ends) of each assumption that could matter."""
    system = plan.units

    def assumed(path: str) -> bool:
        return mark_of(plan, path).mark == "assumed"

    for siphon in plan.siphons:
        if siphon.priming.observed is None and assumed(f"siphon.{siphon.name}.priming.froude"):
            path, band = f"siphon.{siphon.name}.priming.observed", start_band(siphon)
            said = (
                f"Flow that starts {siphon.name}: anything from about {show(band.low, 'flow', system, 2)} to "
                f"{show(band.high, 'flow', system, 2)}. Build the siphon first and try it: "
                "`aquacalc bench` says how."
            )
            error = f"siphon.{siphon.name}.priming.observed_error"
            yield path, said, tuple({path: q, error: 0.02 * q} for q in (band.low, band.high))
    if plan.pump.flow is not None and assumed("pump.flow"):
        ends = tuple({"pump.flow": plan.pump.flow * f} for f in FLOW)
        low, high = (show(e["pump.flow"], "flow", system) for e in ends)
        yield (
            "pump.flow",
            (
                f"Flow of the pump at the beds: perhaps {low} to {high}. Time how long it takes to "
                "fill a bucket there."
            ),
            ends,
        )
    beds = [bed for bed in plan.beds if assumed(f"bed.{bed.name}.porosity")]
    for media in dict.fromkeys(bed.media.name for bed in beds):
        known = catalogue.media(media)
        names = [bed.name for bed in beds if bed.media.name == media]
        ends = tuple(
            {f"bed.{name}.porosity": value for name in names}
            for value in (known.porosity_low, known.porosity_high)
        )
        path = "bed.*.porosity" if len(names) == len(plan.beds) else f"bed.{names[0]}.porosity"
        yield (
            path,
            (
                f"Water that {media} drains: {100 * known.porosity_low:.0f} to "
                f"{100 * known.porosity_high:.0f} % "
                "of its volume. Fill a bucket with it, pour water in to the top, and measure what runs out."
            ),
            ends,
        )
    runs = [run for run in plan.runs if assumed(f"run.{run.start}.length")]
    if runs:
        ends = tuple({f"run.{run.start}.length": run.length * f for run in runs} for f in LENGTH)
        yield (
            "run.*.length",
            "Length of the drain pipes: half to twice as long. Measure where they will run.",
            ends,
        )
    if assumed("sump.water_level"):
        level = plan.sump.water_level
        ends = tuple({"sump.water_level": level * f} for f in (0.7, 1.0))
        yield "sump.water_level", "Water in the sump: mark how high you fill it, with the pump off.", ends
    for siphon in plan.siphons:
        path = f"siphon.{siphon.name}.tail.length"
        if assumed(path):
            ends = tuple({path: siphon.tail.length * f} for f in (0.8, LENGTH[1]))
            yield path, f"Length of the outlet pipe of {siphon.name}: measure its way into the sump.", ends
