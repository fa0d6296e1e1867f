"""A panel that holds a plan: sliders change it, pictures and words say what comes of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as w

from aquacalc.figures.vector import style
from aquacalc.findings import Finding, find
from aquacalc.notebook.compile_ahead import prepare, there
from aquacalc.notebook.film import Film
from aquacalc.notebook.panel import Panel
from aquacalc.notebook.panel_pictures import LivePicture, State
from aquacalc.notebook.reader_units import units
from aquacalc.notebook.save_row import SaveRow
from aquacalc.notebook.slider import Choice, Knob
from aquacalc.plan.check import check_plan
from aquacalc.plan.errors import PlanError
from aquacalc.plan.model import Plan
from aquacalc.plan.write import save_plan
from aquacalc.results.cycle import SystemCycle, run_plan
from aquacalc.units import show


@dataclass(frozen=True)
class Move:
    """A slider of a plan.

    Parameters
    ----------
    key : str
        Short name, for `PlanPanel.set`.
    label : str
        What it is.
    kind : str
        Key of `aquacalc.units.KINDS`; "size" for a choice among `sizes`.
    get : callable
        Plan -> value in SI, or the size.
    put : callable
        (plan, value) -> plan.
    low, high : float
        Ends, SI.
    sizes : tuple of str
    whole : bool
        Whether only whole numbers make sense.
    """

    key: str
    label: str
    kind: str
    get: Callable[[Plan], Any]
    put: Callable[[Plan, Any], Plan]
    low: float = 0.0
    high: float = 0.0
    sizes: tuple[str, ...] = ()
    whole: bool = False

    @property
    def ends(self) -> tuple[float | str, float | str]:
        """Lowest and highest value."""
        return (self.sizes[0], self.sizes[-1]) if self.sizes else (self.low, self.high)


class PlanPanel(Panel):
    """Sliders for a plan.

    Parameters
    ----------
    plan : Plan
        A checked plan; it is not changed, `plan` of the panel is.
    moves : sequence of Move
    pictures : sequence of LivePicture types
        One is shown at a time; buttons choose.
    moment : bool
        Whether a slider goes through the cycle.
    """

    def __init__(
        self,
        plan: Plan,
        moves: Sequence[Move],
        pictures: Sequence[type[LivePicture]],
        moment: bool = True,
    ):
        super().__init__()
        self.start, self.moves = plan, tuple(moves)
        self.note = w.HTML()
        prepare(self._say_note)
        self._waiting = not there()
        self._ends = tuple(move.put(plan, end) for move in self.moves for end in move.ends)
        self._flow_high = max(p.pump.flow or 0.0 for p in (plan, *self._ends)) or 1e-3
        self.knobs: dict[str, Knob | Choice] = {}
        for move in self.moves:
            value = move.get(plan)
            if move.sizes:
                knob = Choice(move.label, move.sizes, value, self._moved)
            else:
                ends = (min(move.low, value), max(move.high, value))
                knob = Knob(move.label, move.kind, *ends, value, self._moved, units(), move.whole)
            self.knobs[move.key] = knob
        self.moment = Knob("Moment of the cycle, %", "number", 0, 100, 100, self._draw, units(), whole=True)
        self.film = Film(self.moment)
        self.kinds = tuple(pictures)
        self.drawn: dict[type[LivePicture], LivePicture] = {}
        self.chooser = w.ToggleButtons(
            options=[(kind.name, kind) for kind in self.kinds],
            tooltips=[kind.__doc__ for kind in self.kinds],
            style={"button_width": "auto"},
        )
        self.chooser.observe(lambda change: self._draw(), "value")
        self._plan, self._ran = plan, run_plan(plan)
        group = self.run.group(plan.siphons[0].name)
        if group.period > 0.0:  # begin where the siphon has just begun to run
            self.moment.si = round(100.0 * (1.0 - group.drain_time / group.period))
        self._told()
        self.saving = SaveRow(lambda: self.plan, self._say_note, "Save the plan as the sliders have it")
        shown = [*self.knobs.values(), *([self.moment, self.film] if moment else [])]
        choose = [self.chooser] if len(self.kinds) > 1 else []
        sheet = w.HTML(f"<style>{style()}</style>", layout={"display": "none"})
        self.complete(sheet, *shown, *choose, self.words, self.saving, self.note)

    @property
    def plan(self) -> Plan:
        """The plan as the sliders have it."""
        return self._plan

    @property
    def run(self) -> SystemCycle:
        """What the plan does."""
        return self._ran

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What that means, worst first."""
        return self._findings

    def set(self, **values: Any) -> None:
        """Move sliders, by their keys, to SI values or sizes."""
        for key, value in values.items():
            knob = self.knobs[key]
            if isinstance(knob, Choice):
                knob.value = value
            else:
                knob.si = value

    def save(self, path: str | Path, force: bool = False) -> None:
        """Write the plan to a file.

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
        save_plan(self.plan, path, force)

    def switch(self, system: str) -> None:
        """Show the same in other units."""
        for knob in self.knobs.values():
            knob.switch(system)
        self.drawn = {}
        self._moved()

    def still(self) -> tuple[dict, dict]:
        """Return the pictures, each with its alt text, and the words under them."""
        state, parts = self._state(), []
        for kind in self.kinds:
            parts.append(kind.draw(state).html())
        return {"text/html": "".join(parts) + self.html}, {}

    def told(self) -> tuple[str, str]:
        """Return the result: a line of text, and HTML below it. Subclasses say more."""
        return told(self.plan, self.run, self.findings)

    def _moved(self) -> None:
        plan = self.start
        for move in self.moves:
            knob = self.knobs[move.key]
            value = knob.value if isinstance(knob, Choice) else knob.si
            if value != move.get(plan):
                plan = move.put(plan, value)
        try:
            check_plan(replace(plan, units=units()), "these sliders")
        except PlanError as error:
            self.above = self._picture()  # of the last plan that can be built, in the units of now
            self.say(f"This cannot be built: {error}")
            return
        self._plan, self._ran = plan, run_plan(plan)
        self._told()
        if self._waiting and there():
            self._waiting = False
            self._say_note("")

    def _told(self) -> None:
        self._findings = find(self.run, units())
        self.above = self._picture()
        self.say(*self.told())

    def _draw(self) -> None:
        self.above = self._picture()
        self.refresh()

    def _picture(self) -> str:
        kind, state = self.chooser.value, self._state()
        if kind not in self.drawn:
            self.drawn[kind] = kind(state)
        return self.drawn[kind].svg(state)

    def _state(self) -> State:
        start, end = self.run.one_cycle(self.plan.siphons[0].name)
        t = start + 0.01 * self.moment.si * (end - start)
        return State(self.plan, self.run, t, units(), self._ends, self._flow_high)

    def _say_note(self, text: str) -> None:
        self.note.value = f'<p role="status">{escape(text)}</p>' if text else ""


def told(plan: Plan, run: SystemCycle, findings: Sequence[Finding]) -> tuple[str, str]:
    """Return what a plan does in a line, and what speaks against it as HTML."""
    system, said = units(), []
    for group in run.groups:
        name = f"{group.name[:1].upper()}{group.name[1:]}"
        if group.outcome == "cycles":
            said.append(
                f"{name} floods and drains: a cycle takes {show(group.period, 'time', system)}, "
                f"{3600.0 / group.period:.1f} floods an hour; of it filling "
                f"{show(group.fill_time, 'time', system)}, draining {show(group.drain_time, 'time', system)}."
            )
        elif group.outcome == "spills":
            said.append(f"{name} spills without starting: the beds stay full.")
        elif group.outcome == "runs on":
            said.append(f"{name} runs on without stopping: the beds stay empty.")
        else:
            said.append(f"{name}: {group.outcome}.")
    bad = [f for f in findings if f.state != "good"]
    if not bad:
        said.append("Nothing speaks against it.")
    else:
        words = {"does not": "does not work", "may or may not": "may or may not work", "watch": "watch"}
        listed = "; ".join(f"{words[f.state]}: {f.title.lower()} ({f.subject})" for f in bad[:3])
        said.append(f"{listed[:1].upper()}{listed[1:]}.")
    return " ".join(said), against(bad)


def against(findings: Sequence[Finding]) -> str:
    """Return what is not good among findings as an HTML list, each with its cause and what to change."""
    rows = "".join(
        f"<li><b>{escape(f.title)}</b> ({escape(f.subject)}). {escape(f.cause)} {escape(f.change)}</li>"
        for f in findings
        if f.state != "good"
    )
    return f'<ul style="margin:0.3em 0;padding-left:1.4em">{rows}</ul>' if rows else ""
