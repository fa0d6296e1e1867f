"""What to do in order, with the cautions where they matter, and the sheet for the first day with water."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from aquacalc.build.cut_list import CutList
from aquacalc.build.drilling import Hole
from aquacalc.build.weight import CAUTION, BedWeight
from aquacalc.cycle import SystemCycle
from aquacalc.plan.model import Plan
from aquacalc.units import show


@dataclass(frozen=True)
class Step:
    """One step: what to do, what to look out for, and what to tick or fill in."""

    title: str
    text: str
    cautions: tuple[str, ...] = ()
    blanks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Reading:
    """One reading of the first day; `kind` is a key of `units.KINDS`; `planned` (SI) or None."""

    key: str
    what: str
    kind: str
    how: str
    planned: float | None


@cache
def _texts() -> dict:
    return tomllib.loads((files("aquacalc.build") / "steps.toml").read_text(encoding="utf-8"))


def steps(
    plan: Plan, cuts: CutList, holes: tuple[Hole, ...], weighed: tuple[BedWeight, ...]
) -> tuple[Step, ...]:
    """Return the steps in order, with this plan's numbers."""
    system = plan.units
    heaviest = max(weighed, key=lambda w: w.full)
    words = {
        "heaviest": heaviest.bed,
        "full": show(heaviest.full, "mass", system),
        "per_support": show(heaviest.per_support, "mass", system),
        "supports": str(heaviest.supports),
        "per_area": show(heaviest.per_area, "load", system),
        "weight_caution": CAUTION,
        "datum": plan.datum,
        "pieces": str(len(cuts.cuts)),
        "holes": str(len(holes)),
        "siphons": " ".join(_siphon(plan, s) for s in plan.siphons),
    }
    used = {hole.fitting for hole in holes}
    return tuple(
        Step(
            raw["title"],
            raw["text"].format_map(words),
            tuple(caution.format_map(words) for caution in raw["cautions"]),
        )
        for raw in _texts()["step"]
        if raw.get("when") in (None, *used)
    )


def _siphon(plan: Plan, siphon) -> str:
    stand, bell = siphon.standpipe, siphon.bell
    lip, rim, top = (show(z, "length", plan.units) for z in (stand.height, bell.rim_height, bell.top_height))
    level = show(plan.vessel(siphon.host).floor + stand.height, "elevation", plan.units)
    return (
        f"{siphon.name}: lip {lip} above the floor of {siphon.host}, at elevation {level}; bell rim {rim} "
        f"and the underside of the bell's top {top} above that floor. Stand the bell so that the standpipe is in "
        "its middle."
    )


def commissioning(plan: Plan) -> tuple[Step, ...]:
    """Return the checks of the first day with water."""
    words = {
        "water_level": show(plan.sump.water_level, "length", plan.units),
        "measured_with": plan.sump.measured_with,
    }
    return tuple(
        Step(raw["title"], raw["text"].format_map(words), blanks=tuple(raw["blanks"]))
        for raw in _texts()["check"]
    )


def readings(plan: Plan, run: SystemCycle) -> tuple[Reading, ...]:
    """Return what to measure on the first day, with what the plan says of it."""
    planned = expected(plan, run)
    return tuple(Reading(**raw, planned=planned.get(raw["key"])) for raw in _texts()["reading"])


def expected(plan: Plan, run: SystemCycle) -> dict[str, float]:
    """Return what the plan says of each reading, SI, by its key.

    Of several siphons the first that cycles is meant; a reading without an
    answer is left out.
    """
    found = {"jug_flow": run.pump}
    group = next((g for g in run.groups if g.outcome == "cycles"), None)
    if group is None:
        return found
    found["fill_time"] = group.fill_time + group.spill_time + group.priming_time
    found["drain_time"] = group.drain_time
    beds = [bed for bed in plan.beds if run.node(bed.name).group == group.name]
    found["level_at_break"] = max(run.node(bed.name).at_break - bed.floor for bed in beds)
    # The whole pump's flow, as the jug has it, when this siphon's part is at its limit.
    whole = run.pump / group.inflow
    found["lowest_start"] = group.choking * whole
    found["highest_stop"] = group.flow_break * whole
    if run.trace is not None:
        start, end = run.one_cycle(group.name)
        levels = [
            run.trace.level(plan.sump.name, t)
            for t in (start, *(t for t in run.trace.times if start <= t <= end), end)
        ]
        found["sump_rise"] = max(levels) - min(levels)
    return found
