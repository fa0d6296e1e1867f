"""What readings of the first day say: tables, and a form that fits the plan to them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial
from html import escape
from pathlib import Path

import ipywidgets as w
from IPython.display import display

from aquacalc import units
from aquacalc.buildsheet.steps import Blank, blanks
from aquacalc.design.answer import the_siphon
from aquacalc.design.fit import Fit, fit
from aquacalc.design.readings import FITTED, READINGS, Reading, adjusted, predict
from aquacalc.findings import find, verdict
from aquacalc.notebook.prose import said
from aquacalc.notebook.reader_units import follow
from aquacalc.notebook.reader_units import units as chosen
from aquacalc.notebook.save_row import SaveRow
from aquacalc.notebook.saved_readings import MINE, first_bed, invented, one_reading, read_readings
from aquacalc.notebook.table import Grid, grid
from aquacalc.plan.model import Plan
from aquacalc.plan.write import save_plan
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
        *_unknown(rows),
    )


def _unknown(rows: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """Say what a question mark means, where there is one."""
    if not any("?" in row for row in rows):
        return ()
    return (
        "A question mark: the plan does not flood and drain by itself, as it is or with that change, so "
        "there is nothing to read.",
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


#: What was typed so far, (plan, siphon, reading, bed, column) -> text with its unit, for a form made again.
_typed: dict[tuple[str, ...], str] = {}


class ReadingsForm(w.VBox):
    """A line for every reading, and a button that fits the plan to those that were taken.

    Readings of a file that lies in this folder are filled in, and what was typed before stays. Without a
    kernel it is a sheet to write on.

    Parameters
    ----------
    plan : Plan
    siphon : str, optional
        Which siphon; the first by default.
    mine : str or Path
        The reader's file of readings.

    Attributes
    ----------
    fit : Fit or None
        What the readings say, once the button was pressed.
    """

    def __init__(self, plan: Plan, siphon: str | None = None, mine: str | Path = MINE):
        self.plan, self.system = plan, chosen()
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
        self.reply, self.note = w.HTML(), w.HTML()
        self.saving = SaveRow(self.save, self._say_note, "Save the plan as fitted")
        self.saving.layout.display = "none"  # until there is something to save
        super().__init__([*lines, button, self.reply, self.saving, self.note])
        self.switch(chosen())
        if Path(mine).exists():
            self.fill(read_readings(mine, self.siphon))
        for k, blank in enumerate(self.blanks):
            for column, box in (("value", self.values[k]), ("error", self.errors[k])):
                key = (plan.name, self.siphon, blank.key, blank.bed, column)
                box.value = _in_unit(_typed.get(key, ""), blank, self.system) or box.value
                box.observe(partial(self._keep, key, blank), "value")
        follow(self)

    def _keep(self, key: tuple[str, ...], blank: Blank, change) -> None:
        text = change["new"].strip()
        _typed[key] = f"{text} {_unit(blank, self.system)}" if _bare(text) else text

    def save(self, path: str | Path, force: bool = False) -> None:
        """Write the fitted plan to a file.

        Parameters
        ----------
        path : str or Path
        force : bool
            Whether to replace a file that is there.

        Raises
        ------
        FileExistsError
            When the file is there and `force` is not set.
        """
        save_plan(self.fit.plan, path, force)

    def _say_note(self, text: str) -> None:
        self.note.value = f'<p role="status">{escape(text)}</p>'

    def switch(self, system: str) -> None:
        """Ask for the readings in other units; what was typed is turned into them."""
        before, self.system = self.system, system
        for blank, name, value, error in zip(self.blanks, self.names, self.values, self.errors, strict=True):
            name.value = _name(blank, system)
            value.tooltip, error.tooltip = name.value, f"how far off: {name.value}"
            for box in (value, error):
                if system != before and _bare(box.value):
                    box.value = _in_unit(f"{box.value.strip()} {_unit(blank, before)}", blank, system)

    def fill(self, readings: Sequence[Reading]) -> None:
        """Put readings into the form."""
        for reading in readings:
            for k, blank in enumerate(self.blanks):
                if _what(blank) == reading.what and reading.bed in ("", blank.bed):
                    unit = _unit(blank, self.system)
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
                    "unit": _unit(blank, self.system),
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
        told = "".join(f"<li>{escape(line)}</li>" for line in self.fit.said)
        judged = find(run_plan(self.fit.plan), self.system)
        advice = "".join(
            f"<li><b>{escape(f.title)}</b> ({escape(f.subject)}). {escape(f.cause)} {escape(f.change)}</li>"
            for f in judged
            if f.state != "good"
        )
        self.reply.value = (
            f'<div role="status">{estimates(self.fit, self.system).html}<ul>{told}</ul>'
            f"{matches(self.fit, self.system).html}{changes(self.plan, self.fit).html}<ul>{advice}</ul>"
            "<p>Save the fitted plan here. Run the boxes below again, and they show it too.</p></div>"
        )
        self.saving.layout.display = "flex"

    def _repr_mimebundle_(self, **kwargs):
        rows = [[_name(b, self.system), b.how, "", ""] for b in self.blanks]
        sheet = grid("Readings", ["reading", "how", "value", "off by"], rows)
        return super()._repr_mimebundle_(**kwargs) | sheet._repr_mimebundle_()


def _what(blank: Blank) -> str:
    return blank.key.replace("_", " ")


def _name(blank: Blank, system: str) -> str:
    unit = _unit(blank, system)
    return f"{_what(blank)}{f', {blank.bed}' if blank.bed else ''} ({unit})"


def _unit(blank: Blank, system: str) -> str:
    return units.in_unit(0.0, blank.kind, system)[1]


def _bare(text: str) -> bool:
    """Whether a text is a number without a unit."""
    return text.strip().replace(".", "", 1).isdigit()


def _in_unit(text: str, blank: Blank, system: str) -> str:
    """Return a reading in the unit asked for; as it was typed where it cannot be read."""
    number, _, unit = text.partition(" ")
    if not text or not _bare(number) or unit == _unit(blank, system):
        return number if _bare(number) else text
    try:
        value = units.read(text, blank.kind)
    except units.UnitError:
        return text
    return show(value, blank.kind, digits=4, unit=_unit(blank, system)).split()[0]


def used(form: ReadingsForm) -> tuple[Reading, ...]:
    """Return the readings in the form, or invented ones while it is empty, and say which they are."""
    mine = form.readings
    if mine:
        display(said(f"These are the {len(mine)} readings of the form above."))
        return mine
    display(
        said(
            "The form is empty, so these readings are invented: what a system built a little otherwise than "
            "planned would give, read with a stopwatch, a jug and a rule."
        )
    )
    return invented(form.plan, form.siphon)
