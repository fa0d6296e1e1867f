"""Whether a plan can be built at all: ranges, network, geometry.

Whether it works is for the findings; here is refused only what has no meaning.
"""

from __future__ import annotations

import itertools
import math

from aquacalc import units
from aquacalc.plan import model
from aquacalc.plan.check_siphon import check_lips, check_siphons
from aquacalc.plan.errors import Checked
from aquacalc.plan.network import SLACK, check_ends, check_length, check_network, check_runs
from aquacalc.plan.records import flatten, tables_of
from aquacalc.plan.schema import TABLES, Key
from aquacalc.plan.shapes import Shape


def range_problem(key: Key, value: float) -> tuple[str, str] | None:
    """Return (reason, fix) when a `value` (SI) is not finite, zero, negative or beyond belief, else None."""
    low, high = key.believed
    name = key.kind.replace("_", " ")
    fix = f"write it for example as {units.KINDS[key.kind].example}"
    if not math.isfinite(value):
        return "is not a finite number", fix
    if value == 0.0 and low == 0.0 and not key.zero:
        return "is zero", f"give the real {name}, above 0"
    if value < low and low == 0.0 and key.kind != "temperature":
        return "is negative", f"give the real {name}, above 0"
    if not low <= value <= high:
        si = units.KINDS[key.kind].si
        shown = " to ".join(units.text_of(v, si) for v in (low, high))
        return f"is beyond belief ({shown})", f"check the number and the unit; {fix}"
    return None


def check_plan(plan: model.Plan, file: str = "plan") -> None:
    """Refuse a plan that cannot be built.

    Parameters
    ----------
    plan : Plan
    file : str
        Stands in the error as the file.

    Raises
    ------
    PlanError
        For the first thing found: a value out of its range, a network that is
        no tree ending at siphons, or sizes that contradict each other.
    """
    c = Checked(plan, file)
    for check in (
        _ranges,
        _names,
        check_network,
        _beds,
        check_runs,
        check_lips,
        check_siphons,
        _sump,
        _pump,
        _limits,
    ):
        check(c)


def _ranges(c: Checked):
    for path, place, record in tables_of(c.plan):
        table = TABLES[path]
        for name, value in flatten(path, record).items():
            key = table.key(name)
            if key.numeric and value is not None:
                problem = range_problem(key, value)
                if problem:
                    c.refuse(f"{place}.{name}", repr(value), *problem)
        if hasattr(record, "shape"):
            _shape(c, record.shape, place)
        if hasattr(record, "pipe") and record.pipe.bore >= record.pipe.outside_diameter:
            c.refuse(
                f"{place}.bore",
                record.pipe.bore,
                "is not less than the outside diameter",
                "measure both again",
            )


def _shape(c: Checked, shape: Shape, place: str):
    for problem in shape.problems(c.show):
        c.refuse(f"{place}.{problem.key}", problem.value, problem.reason, problem.fix, problem.kind)


def _names(c: Checked):
    """Names are what runs, edits and findings go by."""
    plan = c.plan
    seen: dict[str, str] = {}
    for table, records in (
        ("bed", plan.beds),
        ("tee", plan.tees),
        ("chamber", plan.chambers),
        ("siphon", plan.siphons),
        ("sump", (plan.sump,)),
    ):
        for record in records:
            if record.name in seen:
                c.refuse(
                    "sump.name" if table == "sump" else f"{table}.{record.name}.name",
                    record.name,
                    f"is the name of a {seen[record.name]} too",
                    "give each its own name",
                )
            seen[record.name] = table


def _beds(c: Checked):
    plan = c.plan
    runs = {run.start: run for run in plan.runs}
    for bed in plan.beds:
        place = f"bed.{bed.name}"
        if bed.media.depth > bed.shape.depth + SLACK:
            c.refuse(
                f"{place}.media_depth",
                bed.media.depth,
                f"is more than the bed's depth ({c.show(bed.shape.depth)})",
                "lower the media or deepen the bed",
            )
        if bed.outlet == "floor" and bed.outlet_height:
            c.refuse(
                f"{place}.outlet_height",
                bed.outlet_height,
                "does not belong to a floor outlet",
                'leave it out, or write outlet = "side"',
            )
        run = runs.get(bed.name)
        if bed.outlet == "side" and run and bed.outlet_height + run.pipe.bore > bed.shape.depth + SLACK:
            c.refuse(
                f"{place}.outlet_height",
                bed.outlet_height,
                "puts the outlet above the bed's wall",
                "lower the outlet",
            )
        if bed.strainer:
            _strainer(c, bed.strainer, f"{place}.strainer")
    if all(bed.inflow_share == 0.0 for bed in plan.beds):
        first = plan.beds[0].name
        c.refuse(
            f"bed.{first}.inflow_share",
            "0",
            "and every other share is 0, so no bed gets water",
            "give at least one bed a share above 0",
        )


def _strainer(c: Checked, strainer: model.Strainer, place: str):
    if strainer.kind == "slots" and strainer.length == 0.0:
        c.refuse(f"{place}.length", strainer.length, "is zero", "give the length of a slot")
    if strainer.kind == "holes" and strainer.length:
        c.refuse(
            f"{place}.length",
            strainer.length,
            "does not belong to holes",
            "leave it out; width is the diameter of a hole",
        )


def _sump(c: Checked):
    sump, pump = c.plan.sump, c.plan.pump
    if sump.water_level > sump.shape.depth:
        c.refuse(
            "sump.water_level",
            sump.water_level,
            f"is above the sump's wall ({c.show(sump.shape.depth)})",
            "measure it from the sump's floor",
        )
    if sump.freeboard >= sump.shape.depth:
        c.refuse("sump.freeboard", sump.freeboard, "is as deep as the sump", "ask for less")
    if pump.intake >= sump.water_level:
        c.refuse(
            "pump.intake",
            pump.intake,
            f"is not under water (water_level is {c.show(sump.water_level)})",
            "lower the intake or fill the sump",
        )
    for siphon in c.plan.siphons:
        if siphon.tail.outlet < sump.floor:
            c.refuse(
                f"siphon.{siphon.name}.tail.outlet",
                siphon.tail.outlet,
                f"is below the sump's floor ({c.level(sump.floor)})",
                "end the tail in the sump",
                "elevation",
            )


def _pump(c: Checked):
    pump, delivery = c.plan.pump, c.plan.pump.delivery
    if (pump.flow is None) == (not pump.curve):
        reason = "are both missing" if pump.flow is None else "are both given"
        c.refuse(
            "pump.flow",
            "" if pump.flow is None else pump.flow,
            f"flow and curve {reason}",
            'write either flow = "18 L/min", or curve and [pump.delivery]',
            "flow",
        )
    if pump.curve:
        shown = [[c.show(q, "flow"), c.show(h, "distance")] for q, h in pump.curve]
        flows, heads = zip(*pump.curve, strict=True)
        numbers = (*flows, *heads)
        if not all(math.isfinite(v) and v >= 0.0 for v in numbers):
            c.refuse("pump.curve", shown, "holds a value that is negative or not finite", "give real points")
        if len(flows) < 2 or not _rising(flows) or not _rising(heads[::-1]):
            c.refuse(
                "pump.curve",
                shown,
                "is no falling curve",
                "give two or more points, flow rising and head falling from each to the next",
            )
        if delivery is None:
            c.refuse("pump.delivery", "", "is missing, and a curve needs it", "add [pump.delivery]")
    if delivery is None:
        return
    check_ends(
        c,
        delivery.fittings,
        "pump.delivery",
        bool(delivery.fittings) and delivery.fittings[0].name.startswith("entrance"),
        True,
    )
    for bed in c.plan.beds:
        if bed.inflow_share and delivery.outlet < bed.floor:
            c.refuse(
                "pump.delivery.outlet",
                delivery.outlet,
                f"is below the floor of {bed.name} ({c.level(bed.floor)})",
                "end the delivery above the beds",
                "elevation",
            )
    rise = delivery.outlet - c.plan.sump.floor - pump.intake
    check_length(c, delivery.length, max(rise, 0.0), "pump.delivery")


def _limits(c: Checked):
    asked = c.plan.limits
    if asked.floods_low > asked.floods_high:
        c.refuse(
            "limits.floods_low",
            f"{asked.floods_low:g}",
            f"is more than floods_high ({asked.floods_high:g})",
            "swap them",
        )


def _rising(values) -> bool:
    return all(a < b for a, b in itertools.pairwise(values))
