"""Readings of the first day, from the sheet that was filled in or from a form, and what they say."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from html import escape
from pathlib import Path

import ipywidgets as w

from aquacalc import units
from aquacalc.build.steps import Blank, blanks
from aquacalc.cycle import run_plan
from aquacalc.design.answer import the_siphon
from aquacalc.design.fit import Fit, fit
from aquacalc.design.readings import FITTED, READINGS, Reading, adjusted, members, predict
from aquacalc.findings import find, works
from aquacalc.panels.system import follow
from aquacalc.panels.system import units as chosen
from aquacalc.plan.errors import PlanError
from aquacalc.plan.model import Plan
from aquacalc.units import show
from aquacalc.workshop.check import MINUTES
from aquacalc.workshop.grid import Grid, grid

COLUMNS = ("key", "siphon", "reading", "how", "bed", "unit", "plan", "value", "error")
_LARGEST = 1_000_000


class ReadingsError(PlanError):
    """A sheet of readings that cannot be used: file, line, value, reason, fix."""


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
    path = Path(path)
    try:
        with path.open("rb") as stream:
            raw = stream.read(_LARGEST + 1)
        text = raw.decode("utf-8-sig")
    except OSError as error:
        raise ReadingsError(str(path), "", "", f"{error.strerror}", "check the name and the folder") from None
    except UnicodeDecodeError:
        raise ReadingsError(str(path), "", "", "is not text in UTF-8", "save it as CSV in UTF-8") from None
    if len(raw) > _LARGEST:
        raise ReadingsError(str(path), "", "", "is over 1 MB", "name the sheet that the build wrote")
    rows = csv.reader(io.StringIO(text))
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
            found.append(_reading(line, str(path), f"line {number}"))
    return tuple(found)


def _reading(line: dict[str, str], file: str, place: str) -> Reading:
    what = line["key"].replace("_", " ")
    if what not in READINGS:
        fix = f"write one of {', '.join(k.replace(' ', '_') for k in READINGS)}"
        raise ReadingsError(file, place, line["key"], "is no reading", fix)
    for column in ("value", "error"):
        if not line[column]:
            fix = "give both: the reading, and how far off it may be"
            raise ReadingsError(file, f"{place}.{column}", "", "is empty", fix)
    numbers = [
        _number(line[c], line["unit"], READINGS[what][0], file, f"{place}.{c}") for c in ("value", "error")
    ]
    return Reading(what, *numbers, line["bed"])


def _number(text: str, unit: str, kind: str, file: str, place: str) -> float:
    """Read a number in the unit given, or with a unit of its own."""
    minutes = MINUTES.fullmatch(text) if kind == "time" else None
    if minutes:
        return 60.0 * float(minutes[1]) + float(minutes[2])
    bare = text.replace(".", "", 1).isdigit()
    try:
        value = units.read(f"{text} {unit}" if bare else text, kind, place)
    except units.UnitError as error:
        raise ReadingsError(file, place, text, error.reason, error.fix) from None
    if value <= 0.0:
        raise ReadingsError(file, place, text, "is not above zero", "leave what you did not read empty")
    return value


def answers(plan: Plan, by: float = 1.1, siphon: str | None = None) -> Grid:
    """Return what every reading does when one of the fitted things changes, as a table.

    Parameters
    ----------
    plan : Plan
        Its siphon cycles.
    by : float
        Factor on one thing at a time.
    siphon : str, optional
        Which siphon, where there are several.
    """
    name = the_siphon(plan, siphon).name
    bed = next(b.name for b in plan.beds if b.name in members(plan, the_siphon(plan, siphon)))

    def read(tried: Plan) -> list[float]:
        run = run_plan(tried)
        asked = [Reading(what, 1.0, 1.0, bed) for what in READINGS]
        return [predict(tried, run, the_siphon(tried, name), reading) for reading in asked]

    planned = read(plan)
    changed = [read(adjusted(plan, the_siphon(plan, name), {thing: by})) for thing in FITTED]
    rows = []
    for k, what in enumerate(READINGS):
        percent = [round(100.0 * (new[k] / planned[k] - 1.0)) for new in changed]
        rows.append([what, *(f"{p:+d} %" if p else "–" for p in percent)])
    return grid(
        f"What a reading does when one thing is {100.0 * (by - 1.0):.0f} % larger",
        ["reading", *(FITTED[thing][0].removeprefix("the ") for thing in FITTED)],
        rows,
        "A dash: less than half a percent.",
    )


def taken(readings: Sequence[Reading], system: str | None = None) -> Grid:
    """Return readings as a table."""
    system = system or chosen()
    rows = []
    for reading in readings:
        kind = READINGS[reading.what][0]
        name = f"{reading.what}, {reading.bed}" if reading.bed else reading.what
        value = show(reading.value, kind, system)
        rows.append([name, value, show(reading.error, kind, system, 2)])
    return grid("Readings taken", ["reading", "value", "off by"], rows)


def estimates(found: Fit, system: str | None = None) -> Grid:
    """Return what was thought before the readings and what they say, as a table."""
    system = system or chosen()
    rows = []
    for e in found.estimates:
        before, value = (show(x, e.kind, system) for x in (e.before, e.value))
        low, high, was_low, was_high = (
            show(x, e.kind, system) for x in (e.low, e.high, e.before_low, e.before_high)
        )
        rows.append([FITTED[e.name][0], before, f"{was_low} to {was_high}", value, f"{low} to {high}"])
    note = f"{100.0 * found.level:.0f} of 100 such ranges hold the truth."
    columns = ["", "plan", "could be", "fitted", "now between"]
    return grid("What the readings say", columns, rows, note)


def matches(found: Fit, system: str | None = None) -> Grid:
    """Return every reading beside what the fitted plan does, as a table."""
    system = system or chosen()
    rows = []
    for m in found.matches:
        kind = READINGS[m.reading.what][0]
        read, fitted = (show(x, kind, system) for x in (m.reading.value, m.fitted))
        error = show(m.reading.error, kind, system, 2)
        rows.append([m.reading.what, f"{read} ± {error}", fitted, f"{m.pull:+.1f}"])
    return grid(
        "Each reading and the fitted plan",
        ["reading", "read", "fitted plan", "apart, in errors"],
        rows,
        "Beyond 3 errors apart: read it again, or look for what the plan leaves out.",
    )


def changes(plan: Plan, found: Fit) -> Grid:
    """Return what the plan did before the fit and does with it, as a table."""
    rows = []
    for name, tried in (("as planned", plan), ("as fitted", found.plan)):
        run = run_plan(tried)
        judged, group = find(run), run.groups[0]
        watch = dict.fromkeys(f"{f.title} ({f.subject})" for f in judged if f.verdict != "good")
        cycle = [show(x, "time") for x in (group.period, group.drain_time)]
        rows.append([name, "yes" if works(judged) else "no", *cycle, "; ".join(watch) or "nothing"])
    columns = ["plan", "works", "one cycle", "drain time", "to watch"]
    return grid("The plan before and after", columns, rows)


class ReadingsForm(w.VBox):
    """A line for every reading, and a button that fits the plan to those that were taken.

    Without a kernel it is a sheet to write on.

    Parameters
    ----------
    plan : Plan
    siphon : str, optional
        Which siphon, where there are several.

    Attributes
    ----------
    fit : Fit or None
        What the readings say, once the button was pressed.
    """

    def __init__(self, plan: Plan, siphon: str | None = None):
        self.plan = plan
        self.siphon = the_siphon(plan, siphon).name
        self.blanks = tuple(b for b in blanks(plan, run_plan(plan)) if b.siphon == self.siphon)
        self.fit: Fit | None = None
        self.values: list[w.Text] = []
        self.errors: list[w.Text] = []
        self.names = [w.Label(layout=w.Layout(width="21em")) for _ in self.blanks]
        lines = []
        for name in self.names:
            value = w.Text(placeholder="reading", layout=w.Layout(width="8em"))
            error = w.Text(placeholder="off by", layout=w.Layout(width="8em"))
            self.values.append(value)
            self.errors.append(error)
            lines.append(w.HBox([name, value, w.Label("±"), error]))
        button = w.Button(description="Fit the plan", tooltip="Fit the plan to the readings")
        button.on_click(lambda _: self.press())
        self.reply = w.HTML()
        super().__init__([*lines, button, self.reply])
        self.switch(chosen())
        follow(self)

    def switch(self, system: str) -> None:
        """Ask for the readings in other units; what was typed stays and is read in them."""
        self.system = system
        for blank, name, value, error in zip(self.blanks, self.names, self.values, self.errors, strict=True):
            name.value = _name(blank, system)
            value.tooltip, error.tooltip = name.value, f"how far off: {name.value}"

    def fill(self, readings: Sequence[Reading]) -> None:
        """Put readings into the form."""
        for reading in readings:
            for k, blank in enumerate(self.blanks):
                if _what(blank) == reading.what and reading.bed in ("", blank.bed):
                    unit = units.in_unit(0.0, blank.kind, self.system)[1]
                    self.values[k].value = show(reading.value, blank.kind, digits=4, unit=unit).split()[0]
                    self.errors[k].value = show(reading.error, blank.kind, digits=2, unit=unit).split()[0]

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The readings typed so far.

        Raises
        ------
        ReadingsError
            Naming the line that cannot be read.
        """
        found = []
        for blank, value, error in zip(self.blanks, self.values, self.errors, strict=True):
            if value.value.strip() or error.value.strip():
                line = {
                    "key": blank.key,
                    "bed": blank.bed,
                    "unit": units.in_unit(0.0, blank.kind, self.system)[1],
                    "value": value.value.strip(),
                    "error": error.value.strip(),
                }
                found.append(_reading(line, "form", _what(blank)))
        return tuple(found)

    def press(self) -> None:
        """Fit the plan to what is in the form and say what came out."""
        try:
            self.fit = fit(self.plan, self.readings, self.siphon)
        except ValueError as error:
            self.reply.value = f'<p role="status"><b>{escape(str(error))}</b></p>'
            return
        said = "".join(f"<li>{escape(line)}</li>" for line in self.fit.said)
        self.reply.value = (
            f'<div role="status">{estimates(self.fit, self.system).html}<ul>{said}</ul>'
            f"{matches(self.fit, self.system).html}</div>"
        )

    def _repr_mimebundle_(self, **kwargs):
        rows = [[_name(b, self.system), b.how, "", ""] for b in self.blanks]
        sheet = grid("Readings", ["reading", "how", "value", "off by"], rows)
        return super()._repr_mimebundle_(**kwargs) | sheet._repr_mimebundle_()


def _what(blank: Blank) -> str:
    return blank.key.replace("_", " ")


def _name(blank: Blank, system: str) -> str:
    unit = units.in_unit(0.0, blank.kind, system)[1]
    return f"{_what(blank)}{f', {blank.bed}' if blank.bed else ''} ({unit})"
