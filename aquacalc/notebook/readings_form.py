"""What readings of the first day say: tables, and a form that fits the plan to them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

import ipywidgets as w

from aquacalc import units
from aquacalc.buildsheet.steps import Blank, blanks
from aquacalc.design.answer import the_siphon
from aquacalc.design.fit import Fit, fit
from aquacalc.design.readings import FITTED, READINGS, Reading, adjusted, predict
from aquacalc.findings import find, verdict
from aquacalc.notebook.reader_units import follow
from aquacalc.notebook.reader_units import units as chosen
from aquacalc.notebook.saved_readings import first_bed, one_reading
from aquacalc.notebook.table import Grid, grid
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import run_plan
from aquacalc.units import show


def answers(plan: Plan, by: float = 1.1, siphon: str | None = None) -> Grid:
    """Return what every reading does when one of the fitted things changes, as a table.

    Parameters
    ----------
    plan : Plan
        Its siphon cycles.
    by : float
        A factor on one thing at a time.
    siphon : str, optional
        Which siphon; the first by default.
    """
    name = siphon or plan.siphons[0].name
    bed = first_bed(plan, name)

    def read(tried: Plan) -> list[float]:
        run = run_plan(tried)
        asked = [Reading(what, 1.0, 1.0, bed) for what in READINGS]
        return [predict(tried, run, the_siphon(tried, name), reading) for reading in asked]

    planned = read(plan)
    changed = [read(adjusted(plan, the_siphon(plan, name), {thing: by})) for thing in FITTED]
    rows = []
    for k, what in enumerate(READINGS):
        rows.append([what, *(_percent(new[k] / planned[k]) if planned[k] else "?" for new in changed)])
    return grid(
        f"What a reading does when one thing is {100.0 * (by - 1.0):.0f} % larger",
        ["reading", *(FITTED[thing][0].removeprefix("the ") for thing in FITTED)],
        rows,
        "A dash: less than half a percent.",
    )


def _percent(ratio: float) -> str:
    if not math.isfinite(ratio):
        return "?"
    percent = round(100.0 * (ratio - 1.0))
    return f"{percent:+d} %" if percent else "–"


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
        watch = dict.fromkeys(f"{f.title} ({f.subject})" for f in judged if f.state != "good")
        cycle = [show(x, "time") for x in (group.period, group.drain_time)]
        rows.append([name, verdict(judged), *cycle, "; ".join(watch) or "nothing"])
    columns = ["plan", "verdict", "one cycle", "drain time", "to watch"]
    return grid("The plan before and after", columns, rows)


class ReadingsForm(w.VBox):
    """A line for every reading, and a button that fits the plan to those that were taken.

    Without a kernel it is a sheet to write on.

    Parameters
    ----------
    plan : Plan
    siphon : str, optional
        Which siphon; the first by default.

    Attributes
    ----------
    fit : Fit or None
        What the readings say, once the button was pressed.
    """

    def __init__(self, plan: Plan, siphon: str | None = None):
        self.plan = plan
        self.siphon = siphon or plan.siphons[0].name
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
                found.append(one_reading(line, "form", _what(blank)))
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
