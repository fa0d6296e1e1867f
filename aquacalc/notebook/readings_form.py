"""What readings of the first day say: tables, and a form that fits the plan to them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

import ipywidgets as w
from IPython.display import display

from aquacalc.buildsheet.steps import Blank, blanks
from aquacalc.design.answer import the_siphon
from aquacalc.design.chances import Study
from aquacalc.design.fit import Fit, fit
from aquacalc.design.readings import FITTED, READINGS, Reading, adjusted, predict
from aquacalc.figures.chances import chances
from aquacalc.figures.fit_ranges import ranges
from aquacalc.figures.picture import Picture
from aquacalc.findings import find, verdict
from aquacalc.notebook.entry import Entry
from aquacalc.notebook.panel import status
from aquacalc.notebook.plan_panel import against
from aquacalc.notebook.reader_units import units as chosen
from aquacalc.notebook.save_row import SaveRow
from aquacalc.notebook.saved_readings import MINE, first_bed, invented, one_reading, read_readings
from aquacalc.notebook.showing import said
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


def fitted_ranges(found: Fit) -> Picture:
    """Draw each range before the readings and now."""
    return ranges(found, chosen())


def chances_drawn(study: Study) -> Picture:
    """Draw how often each finding comes up, and what it depends on."""
    return chances(study)


def taken(readings: Sequence[Reading]) -> Grid:
    """Return readings as a table."""
    system = chosen()
    rows = []
    for reading in readings:
        kind = READINGS[reading.what][0]
        name = f"{reading.what}, {reading.bed}" if reading.bed else reading.what
        value = show(reading.value, kind, system)
        rows.append([name, value, show(reading.error, kind, system, 2)])
    return grid("Readings taken", ["reading", "value", "off by"], rows)


def estimates(found: Fit) -> Grid:
    """Return what was thought before the readings and what they say, as a table."""
    system = chosen()
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


def matches(found: Fit) -> Grid:
    """Return every reading beside what the fitted plan does, as a table."""
    system = chosen()
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
        judged, group = find(run, chosen()), run.groups[0]
        watch = dict.fromkeys(f"{f.title} ({f.subject})" for f in judged if f.state != "good")
        cycle = [show(x, "time") for x in (group.period, group.drain_time)]
        rows.append([name, verdict(judged), *cycle, "; ".join(watch) or "nothing"])
    columns = ["plan", "verdict", "one cycle", "drain time", "to watch"]
    return grid("The plan before and after", columns, rows)


#: The boxes of a line.
COLUMNS = ("reading", "off by")


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
        self.plan = plan
        self.siphon = siphon or plan.siphons[0].name
        self.blanks = tuple(b for b in blanks(plan, run_plan(plan)) if b.siphon == self.siphon)
        self.fit: Fit | None = None
        given = read_readings(mine, self.siphon) if Path(mine).exists() else ()
        self.lines = tuple(self._line(blank, given) for blank in self.blanks)
        button = w.Button(description="Fit the plan", tooltip="Fit the plan to the readings")
        button.on_click(lambda _: self.press())
        self.reply, self.note = w.HTML(), w.HTML()
        self.saving = SaveRow(lambda: self.fit.plan, self._say_note, "Save the plan as fitted")
        self.saving.layout.display = "none"  # until there is something to save
        super().__init__([*self.lines, button, self.reply, self.saving, self.note])

    def _line(self, blank: Blank, given: Sequence[Reading]) -> Entry:
        """Return the line of a reading, with what was typed before, or what the file has."""
        line = Entry((self.plan.name, self.siphon, blank.key, blank.bed), _name(blank), blank.kind, COLUMNS)
        for reading in given:
            if _what(blank) == reading.what and reading.bed in ("", blank.bed) and not any(line.texts):
                line.put(reading.value, reading.error)
        return line

    def _say_note(self, text: str) -> None:
        self.note.value = status(text)

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The readings typed so far.

        Raises
        ------
        ReadingsError
            Naming the line that cannot be read.
        """
        found = []
        for blank, line in zip(self.blanks, self.lines, strict=True):
            if any(line.texts):
                texts = dict(zip(("value", "error"), line.texts, strict=True))
                row = {"key": blank.key, "bed": blank.bed, "unit": line.unit, **texts}
                found.append(one_reading(row, "form", _what(blank)))
        return tuple(found)

    def press(self) -> None:
        """Fit the plan to what is in the form and say what came out."""
        try:
            self.fit = fit(self.plan, self.readings, self.siphon)
        except ValueError as error:
            self.reply.value = status(str(error))
            return
        tables = "".join(f(self.fit).html for f in (estimates, matches))
        judged = find(run_plan(self.fit.plan), chosen())
        self.reply.value = (
            f'<div role="status">{tables}{said(self.fit.said).html}'
            f"{changes(self.plan, self.fit).html}{against(judged)}"
            "<p>Save the fitted plan here. Run the boxes below again, and they show it too.</p></div>"
        )
        self.saving.layout.display = "flex"

    def _repr_mimebundle_(self, **kwargs):
        rows = [[line.name.value, b.how, "", ""] for b, line in zip(self.blanks, self.lines, strict=True)]
        sheet = grid("Readings", ["reading", "how", "value", "off by"], rows)
        return super()._repr_mimebundle_(**kwargs) | sheet._repr_mimebundle_()


def _what(blank: Blank) -> str:
    return blank.key.replace("_", " ")


def _name(blank: Blank) -> str:
    return f"{_what(blank)}{f', {blank.bed}' if blank.bed else ''}"


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
