"""Whether a plan can be built at all: ranges, network, geometry.

Whether it works is for the findings; here is refused only what has no meaning.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from typing import Any

from aquacalc import catalogue, units
from aquacalc.plan import model
from aquacalc.plan.check_siphon import check_lips, check_siphons
from aquacalc.plan.errors import Checked, Fault, PlanError
from aquacalc.plan.key import LONGEST_NAME, LONGEST_TEXT, MOST, Key
from aquacalc.plan.network import SLACK, check_ends, check_legs, check_length, check_network, check_runs
from aquacalc.plan.records import flatten, tables_of
from aquacalc.plan.schema import TABLES
from aquacalc.plan.shapes import Shape
from aquacalc.plan.short import MOST_BEDS
from aquacalc.plan.text import clean


def range_problem(key: Key, value: float) -> tuple[str, str] | None:
    """Return (reason, fix) when a `value` (SI) is not finite, zero, negative or beyond belief, else None."""
    low, high = key.believed
    if low <= value <= high or (value == 0.0 and key.zero):
        return None
    name = key.kind.replace("_", " ")
    fix = f"write it for example as {units.KINDS[key.kind].example}"
    if not math.isfinite(value):
        return "is not a finite number", fix
    if value == 0.0 and low >= 0.0:
        return "is zero", f"give the real {name}, above 0"
    if value < 0.0 <= low and key.kind != "temperature":
        return "is negative", f"give the real {name}, above 0"
    si = units.KINDS[key.kind].si
    shown = " to ".join(units.text_of(v, si) for v in (low, high))
    return f"cannot be right ({shown})", f"check the number and the unit; {fix}"


def word_problem(key: Key, value: Any) -> tuple[str, str] | None:
    """Return (reason, fix) when a text, choice or count is not one that the key can have, else None."""
    if key.kind == "choice":
        if value in key.choices:
            return None
        near = catalogue.near_matches(str(value), key.choices)
        return "is not one of the choices", catalogue.suggestion(near, key.choices)
    if key.kind == "count":
        if isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= MOST:
            return None
        return "is not a usable number", f"write a whole number from 1 to {MOST}"
    if not isinstance(value, str) or len(value) > key.longest:
        return "is too long", f"keep it to {key.longest} characters"
    if not clean(value, lines=key.longest == LONGEST_TEXT):
        return "holds characters that nobody can see, or that turn the text around", "type it again by hand"
    if "$" in value and key.longest < LONGEST_TEXT:
        return 'holds "$", which a picture would take for the sign of a formula', "write it in words"
    return None


def name_problem(path: str, name: str) -> tuple[str, str] | None:
    """Return (reason, fix) when a name could not stand in the path of an edit, else None."""
    if not name or "." in name or "*" in name or name != name.strip() or len(name) > LONGEST_NAME:
        fix = f'write up to {LONGEST_NAME} letters, digits and spaces, without "." or "*"'
        return "is not a usable name", fix
    if path == "siphon" and name in TABLES["siphon"].inner:
        return "is the name of a part", 'call it for example "siphon 1"'
    return None


def check_plan(plan: model.Plan, file: str = "plan") -> None:
    """Refuse a plan that cannot be built, however it came to be.

    Parameters
    ----------
    plan : Plan
    file : str
        Stands in the error as the file.

    Raises
    ------
    PlanError
        With every fault that was found: values out of their range, words that
        are no choice or in no table, a network that is no tree ending at
        siphons, sizes that contradict each other.
    """
    faults = faults_of(plan)
    if faults:
        raise PlanError.of(file, faults)


def faults_of(plan: model.Plan, broken: Iterable[str] = ()) -> list[Fault]:
    """Return everything that keeps a plan from being built.

    Parameters
    ----------
    plan : Plan
    broken : iterable of str
        Paths of values that only stand in for what could not be read; nothing is held against them.
    """
    c = Checked(plan, broken)
    if len(plan.beds) > MOST_BEDS:
        fix = f"keep to {MOST_BEDS} beds on one sump"
        c.note("bed", f"{len(plan.beds)} beds", f"is more than the {MOST_BEDS} that a plan may have", fix)
        return c.faults
    _values(c)
    _names(c)
    return _together(c)


def contradictions(plan: model.Plan) -> list[Fault]:
    """Return what of a plan does not go together, each value by itself being one that it may have."""
    return _together(Checked(plan))


def _together(c: Checked) -> list[Fault]:
    if c.lacks("name", "from", "to", "host"):
        joined = False
    else:
        before = len(c.faults)
        check_network(c)
        joined = len(c.faults) == before
    _beds(c)
    if joined:
        check_runs(c)
        check_lips(c)
    check_siphons(c)
    _sump(c)
    _pump(c)
    _limits(c)
    return c.faults


def _values(c: Checked):
    """Check each value by itself."""
    nameless = c.lacks("name")
    for path, place, record in tables_of(c.plan):
        table = TABLES[path]
        for name, value in flatten(path, record).items():
            key = table.key(name)
            problem = None if nameless and name == "name" else _problem(path, key, value)
            if problem:
                c.breaks(f"{place}.{name}")
                c.note(f"{place}.{name}", value, *problem)
        if hasattr(record, "shape"):
            _shape(c, record.shape, place)
        if hasattr(record, "pipe") and record.pipe.bore >= record.pipe.outside_diameter:
            c.refuse(
                f"{place}.bore",
                record.pipe.bore,
                "is not less than the outside diameter",
                "measure both again",
            )
        if path == "bed" or table.key("series"):
            _in_the_tables(c, path, place, record)


def _problem(path: str, key: Key, value: Any) -> tuple[str, str] | None:
    if value is None:
        return None
    if key.numeric:
        return range_problem(key, value)
    if key.kind in ("text", "choice", "count"):
        if key.name == "name" and path != "plan" and name_problem(path, value):
            return name_problem(path, value)
        if key.name == "name" and not value.strip():
            return "is empty", "write a name, or leave the line out"
        return word_problem(key, value)
    if key.kind in ("lengths", "areas"):
        one = Key("", key.kind[:-1], "", "", zero=True)
        return next(filter(None, (range_problem(one, v) for v in value)), None)
    return None


def _in_the_tables(c: Checked, path: str, place: str, record):
    """Check the names of pipe, media and seal."""
    pipe = record if path == "siphon.bell" else getattr(record, "pipe", None)
    try:
        if pipe is not None and pipe.series not in ("", catalogue.OWN):
            what, value = "series", pipe.series
            catalogue.sizes(value)
            what, value = "size", pipe.size
            catalogue.pipe(pipe.series, value)
        if path == "bed":
            what, value = "media", record.media.name
            if value != catalogue.OWN:
                catalogue.media(value)
            what, value = "seal", record.seal
            catalogue.seal(value)
    except catalogue.CatalogueError as error:
        c.refuse(f"{place}.{what}", value, "is not in the tables", error.fix)


def _shape(c: Checked, shape: Shape, place: str):
    for problem in shape.problems(c.show):
        c.refuse(f"{place}.{problem.key}", problem.value, problem.reason, problem.fix, problem.kind)
        c.breaks(f"{place}.depth")


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
                c.breaks(f"{table}.{record.name}.name")
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
    if not c.lacks("inflow_share") and all(bed.inflow_share == 0.0 for bed in plan.beds):
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
    if c.sound("sump") and pump.intake >= sump.water_level:
        c.refuse(
            "pump.intake",
            pump.intake,
            f"is not under water (water_level is {c.show(sump.water_level)})",
            "lower the intake or fill the sump",
        )
    for siphon in c.plan.siphons:
        if c.sound("sump") and siphon.tail.outlet < sump.floor:
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
        elif len(flows) < 2 or not _rising(flows) or not _rising(heads[::-1]):
            c.refuse(
                "pump.curve",
                shown,
                "is not a falling curve",
                "give two or more points, flow rising and head falling from each to the next",
            )
        if delivery is None:
            c.refuse("pump.delivery", "", "is missing, and a curve needs it", "add [pump.delivery]")
    if (pump.on is None) != (pump.off is None):
        there, other = ("on", "off") if pump.off is None else ("off", "on")
        c.refuse(
            f"pump.{there}",
            getattr(pump, there),
            f"{other} is missing beside it",
            "give both times of the timer, or neither",
            "time",
        )
    if delivery is None:
        return
    check_ends(
        c,
        delivery.fittings,
        "pump.delivery",
        bool(delivery.fittings) and delivery.fittings[0].name.startswith("entrance"),
        True,
    )
    fed = [bed for bed in c.plan.beds if bed.inflow_share and c.sound(f"bed.{bed.name}")]
    highest = max(fed, key=lambda bed: bed.floor, default=None)
    if highest and delivery.outlet < highest.floor:
        c.refuse(
            "pump.delivery.outlet",
            delivery.outlet,
            f"is below the floor of {highest.name} ({c.level(highest.floor)})",
            "end the delivery above the beds",
            "elevation",
        )
    rise = delivery.outlet - c.plan.sump.floor - pump.intake
    if c.sound("sump"):
        check_length(c, delivery.length, max(rise, 0.0), "pump.delivery")
        check_legs(c, delivery, delivery.outlet - rise, delivery.outlet, "pump.delivery")


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
