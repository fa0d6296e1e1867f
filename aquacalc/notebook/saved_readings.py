"""Readings of the first day: the sheet that was filled in, or invented ones until there is one."""

from __future__ import annotations

import csv
import math
from dataclasses import replace

from aquacalc import units
from aquacalc.design.answer import the_siphon
from aquacalc.design.readings import READINGS, Reading, adjusted, members, predict
from aquacalc.plan.errors import PlanError
from aquacalc.plan.model import Plan
from aquacalc.plan.text import check_rows, read_text
from aquacalc.results.cycle import run_plan

COLUMNS = ("key", "siphon", "reading", "how", "bed", "unit", "plan", "value", "error")
#: The reader's own sheet, as the build writes it.
MINE = "readings.csv"
#: Factors on the plan that the invented readings were made with; invented themselves.
BUILT = {"porosity": 0.93, "inflow": 0.91, "loss": 1.2, "start": 1.1}
#: How far off each invented reading may be, SI; the highest stop was not read.
ERRORS = {
    "fill time": 10.0,
    "drain time": 6.0,
    "jug flow": 0.4 / 60e3,
    "level at break": 0.003,
    "sump rise": 0.005,
    "lowest start": 0.5 / 60e3,
}


class ReadingsError(PlanError):
    """A sheet of readings that cannot be used: file, line, value, reason, fix."""


def invented(plan: Plan, siphon: str | None = None) -> tuple[Reading, ...]:
    """Return readings of a system built a little otherwise than planned (`BUILT`), as fine as they are read.

    Parameters
    ----------
    plan : Plan
    siphon : str, optional
        Which siphon; the first by default.
    """
    name = siphon or plan.siphons[0].name
    built = adjusted(plan, the_siphon(plan, name), BUILT)
    run = run_plan(built)
    bed = first_bed(plan, name)
    found = []
    for what, error in ERRORS.items():
        reading = Reading(what, 1.0, error, bed if what == "level at break" else "")
        value = predict(built, run, the_siphon(built, name), reading)
        # As fine as it is read: to half its error, which is also what makes it differ from the truth.
        value = round(2.0 * value / error) * error / 2.0 if math.isfinite(value) else 0.0
        if value > 0.0:
            found.append(replace(reading, value=value))
    return tuple(found)


def first_bed(plan: Plan, siphon: str) -> str:
    """Return the name of the first bed that drains to a siphon."""
    names = members(plan, the_siphon(plan, siphon))
    return next(bed.name for bed in plan.beds if bed.name in names)


def read_readings(path, siphon: str) -> tuple[Reading, ...]:
    """Read the sheet `readings.csv` that the build sheet writes, filled in.

    Parameters
    ----------
    path : str or Path
    siphon : str
        Whose lines are wanted.

    Returns
    -------
    tuple of Reading
        Of the lines with a value, in their order.

    Raises
    ------
    ReadingsError
        One error naming file, line, value and fix.
    """
    text = read_text(path, ReadingsError, "the sheet that the build wrote")
    rows = csv.reader(check_rows(text, str(path), ReadingsError))
    header = tuple(cell.strip() for cell in next(rows, []))
    if header != COLUMNS:
        fix = f"keep the first line as it was: {','.join(COLUMNS)}"
        raise ReadingsError(
            str(path), "line 1", ",".join(header), "is not the head of a sheet of readings", fix
        )
    found = []
    for number, row in enumerate(rows, 2):
        if not any(cell.strip() for cell in row):
            continue
        if len(row) != len(COLUMNS):
            fix = f"give {len(COLUMNS)} cells, empty ones too"
            raise ReadingsError(str(path), f"line {number}", ",".join(row), f"has {len(row)} cells", fix)
        line = dict(zip(COLUMNS, (cell.strip() for cell in row), strict=True))
        if line["siphon"] == siphon and (line["value"] or line["error"]):
            found.append(one_reading(line, str(path), f"line {number}"))
    return tuple(found)


def one_reading(line: dict[str, str], file: str, place: str) -> Reading:
    """Read one line: key, bed, unit, value, error.

    Raises
    ------
    ReadingsError
    """
    what = line["key"].replace("_", " ")
    if what not in READINGS:
        fix = f"write one of {', '.join(k.replace(' ', '_') for k in READINGS)}"
        raise ReadingsError(file, place, line["key"], "is not a reading", fix)
    for column in ("value", "error"):
        if not line[column]:
            fix = "give both: the reading, and how far off it may be"
            raise ReadingsError(file, f"{place}.{column}", "", "is empty", fix)
    value, error = (
        _number(line[c], line["unit"], READINGS[what][0], file, f"{place}.{c}") for c in ("value", "error")
    )
    return Reading(what, value, error, line["bed"])


def _number(text: str, unit: str, kind: str, file: str, place: str) -> float:
    """Read a number in the unit given, or with a unit of its own."""
    bare = text.replace(".", "", 1).isdigit()
    try:
        value = units.read(f"{text} {unit}" if bare else text, kind, place)
    except units.UnitError as error:
        raise ReadingsError(file, place, text, error.reason, error.fix) from None
    if value <= 0.0:
        raise ReadingsError(file, place, text, "is not above zero", "leave what you did not read empty")
    return value
