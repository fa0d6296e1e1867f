"""The bench test in a workbook: which flow to try, what it did, and what is known now."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from html import escape
from pathlib import Path

import ipywidgets as w

from aquacalc.bench import words
from aquacalc.bench.session import bench
from aquacalc.bench.trials import TrialError, add, beside, of_parts, read_trials, today, trial
from aquacalc.notebook.panel import Panel, status
from aquacalc.notebook.reader_units import units
from aquacalc.notebook.saved_plan import MINE
from aquacalc.plan.model import Plan
from aquacalc.plan.tested import written
from aquacalc.units import UnitError

#: What a trial came to, as the buttons have it.
OUTCOMES = ("started, stopped", "started, ran on", "started", "did not within ten minutes")


class BenchPanel(Panel):
    """A line for a trial, and what all trials so far tell.

    Every trial is kept at once in a dated file beside the reader's plan, as `aquacalc bench` keeps it,
    and those that are there already count.

    Parameters
    ----------
    plan : Plan
    siphon : str, optional
        Which siphon, where there are several.
    mine : str or Path
        The reader's plan, beside which the trials are kept.
    """

    def __init__(self, plan: Plan, siphon: str | None = None, mine: str | Path = MINE):
        super().__init__()
        self.mine = Path(mine)
        self.bench = bench(replace(plan, units=units()), siphon)
        self.parts = written(self.bench.siphon, self.bench.plan.units)
        files = [read_trials(path) for path in beside(self.mine)]
        self.bench = self.bench.after(*of_parts(files, self.bench.siphon))
        self.reading = w.Text(
            description="Jug", placeholder="2 L in 11.4 s", tooltip="What the jug says: 2 L in 11.4 s"
        )
        self.reply = w.HTML()
        buttons = []
        for outcome in OUTCOMES:
            button = w.Button(description=outcome, layout=w.Layout(width="auto"), tooltip=f"It {outcome}")
            button.on_click(self._pressed(outcome))
            buttons.append(button)
        self._show()
        self.complete(self.words, self.reading, w.HBox(buttons, layout={"flex_flow": "wrap"}), self.reply)

    def _pressed(self, outcome: str) -> Callable[[w.Button], None]:
        return lambda _: self.add(self.reading.value, outcome)

    def add(self, reading: str, outcome: str) -> None:
        """Keep a trial: the jug's `reading`, "2 L in 11.4 s", and what it came to."""
        try:
            one = trial(reading, outcome)
            if not self.bench.plausible(one.jug):
                raise TrialError(f"{reading} is a flow that no such siphon ever sees. Fix: look at the unit.")
            now = dt.datetime.now()
            one = replace(one, when=now.isoformat(sep=" ", timespec="minutes"))
            add(today(self.mine, self.bench.siphon.name, self.parts, now.date()), one)
        except (UnitError, TrialError) as error:
            self.reply.value = status(str(error))
            return
        self.bench, self.reading.value, self.reply.value = self.bench.after(one), "", ""
        self._show()

    @property
    def plan(self) -> Plan:
        """The plan with what was measured in place of the band in print."""
        return self.bench.measured()

    def switch(self, system: str) -> None:
        """Show the same in other units."""
        self.bench = replace(self.bench, plan=replace(self.bench.plan, units=system))
        self._show()

    def still(self) -> tuple[dict, dict]:
        """Return bars and words as HTML."""
        return {"text/html": self.html}, {}

    def _show(self) -> None:
        test = self.bench
        bars = "\n".join([*words.bar(test), f"{'':{words.LABEL}}{words.KEY}"])
        if test.enough:
            first, *rest = [*words.verdict(test), *words.worth(test)]
        else:
            first, rest = words.next_line(test), []
        lines = [*rest, *words.bands(test), *words.remarks(test), *words.opening(test), *words.lost(test)]
        more = "".join(f'<p style="margin:0.3em 0">{escape(line)}</p>' for line in lines)
        drawn = (
            f'<pre aria-hidden="true" style="line-height:1.25;overflow-x:auto;font-size:0.9em">{escape(bars)}'
            "</pre>"
        )
        self.say(first, drawn + more)
