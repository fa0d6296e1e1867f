"""What to do in order, with the cautions where they matter, and the sheet for the first day with water."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from aquacalc.buildsheet.cut_list import CutList
from aquacalc.buildsheet.drilling import Hole
from aquacalc.buildsheet.weight import CAUTION, BedWeight
from aquacalc.design.readings import READINGS, Reading, members, predict
from aquacalc.plan.model import Delivery, Plan, Run, Siphon, Tail
from aquacalc.results.cycle import SystemCycle
from aquacalc.units import show


@dataclass(frozen=True)
class Step:
    """One step: what to do, what to look out for, and what to tick or fill in."""

    title: str
    text: str
    cautions: tuple[str, ...] = ()
    blanks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Blank:
    """One reading to take on the first day.

    Attributes
    ----------
    key : str
        Name of a reading of `aquacalc.design.readings`, with "_" for spaces.
    siphon, bed : str
        What it is taken on; `bed` only for a level.
    what, how : str
    kind : str
        Key of `units.KINDS`.
    planned : float or None
        What the plan says, SI; None when its siphon does not cycle.
    """

    key: str
    siphon: str
    bed: str
    what: str
    how: str
    kind: str
    planned: float | None


@cache
def _texts() -> dict:
    return tomllib.loads((files("aquacalc.buildsheet") / "steps.toml").read_text(encoding="utf-8"))


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
        "valve": _valve(plan),
        "service": _service(plan),
        "siphons": " ".join(_siphon(plan, s) for s in plan.siphons),
    }
    used = {hole.fitting for hole in holes}
    return tuple(
        Step(
            raw["title"],
            raw["text"].format_map(words),
            tuple(caution.format_map(words) for caution in raw["cautions"]),
            tuple(raw.get("blanks", ())),
        )
        for raw in _texts()["step"]
        if raw.get("when") in (None, *used)
    )


def _valve(plan: Plan) -> str:
    """Say which valve sets the flow, or that the plan has none."""
    delivery = plan.pump.delivery
    names = [f.name for f in delivery.fittings if "valve" in f.name] if delivery else []
    held = ""
    if delivery and delivery.check_valve == "fitted":
        held = " The check valve goes on the pump's outlet, its arrow along the flow."
    if names:
        return f"The {names[0].partition(',')[0]} in the delivery sets the flow.{held}"
    return held.lstrip() + (
        "No valve is in the plan: put one into the fittings of [pump.delivery], so that it is on the list "
        "and in the numbers, or you cannot set the flow."
    )


def _service(plan: Plan) -> str:
    """Say where the pipes come apart and are cleaned, or that the plan has no such part."""
    ways: list[Run | Tail | Delivery] = [*plan.runs, *(s.tail for s in plan.siphons)]
    ways += [plan.pump.delivery] if plan.pump.delivery else []
    names = {f.name for way in ways for f in way.fittings}
    said = [f"each {name} where a hand reaches it" for name in ("union", "clean-out") if name in names]
    if said:
        return f"Set {' and '.join(said)}."
    return (
        "No union and no clean-out is in the plan: where a pipe should come apart or take a brush, put one "
        "into its fittings, so that it is on the list and in the numbers."
    )


def _siphon(plan: Plan, siphon: Siphon) -> str:
    stand, bell = siphon.standpipe, siphon.bell
    lip, rim, top = (show(z, "length", plan.units) for z in (stand.height, bell.rim_height, bell.top_height))
    level = show(plan.lip_level(siphon), "elevation", plan.units)
    more = ""
    if siphon.breather:
        mouth = show(siphon.breather.mouth, "length", plan.units)
        more += (
            f" Lead its breather airtight through the bell's top and fix the mouth {mouth} above that floor: "
            "once it is bare it lets air in and stops the siphon."
        )
    if siphon.overflow:
        height = show(siphon.overflow.height, "length", plan.units)
        more += f" Its safety overflow opens {height} above that floor: put no valve in its way."
    return (
        f"{siphon.name}: lip {lip} above the floor of {siphon.host}, at elevation {level}; bell rim {rim} "
        f"and the underside of the bell's top {top} above that floor. Stand the bell so that the standpipe "
        f"is in its middle.{more}"
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


def blanks(plan: Plan, run: SystemCycle) -> tuple[Blank, ...]:
    """Return the readings to take, siphon by siphon, with what the plan says of each."""
    found = []
    for siphon in plan.siphons:
        for what, (kind, meaning) in READINGS.items():
            key = what.replace(" ", "_")
            bed = _slowest_bed(plan, run, siphon) if what == "level at break" else ""
            planned = predict(plan, run, siphon, Reading(what, 0.0, 0.0, bed))
            given = planned if math.isfinite(planned) else None
            found.append(Blank(key, siphon.name, bed, meaning, _texts()["how"][key], kind, given))
    return tuple(found)


def _slowest_bed(plan: Plan, run: SystemCycle, siphon: Siphon) -> str:
    """Return the bed that holds most water above its floor when the siphon breaks."""
    names = members(plan, siphon)
    beds = [bed for bed in plan.beds if bed.name in names]
    return max(beds, key=lambda bed: run.node(bed.name).at_break - bed.floor).name
