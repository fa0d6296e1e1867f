"""A workbook as one live page: its prose and results, its panels with sliders, and no Python behind it."""

from __future__ import annotations

import ast
import contextlib
import io
import json
import math
import re
from html import escape
from inspect import signature
from pathlib import Path

import nbformat

from aquacalc import __version__
from aquacalc.equations import RECORDS
from aquacalc.live.equations import FUNCTIONS
from aquacalc.live.page import HOW, SCRIPTS, live_plan, own_number, slider_rows
from aquacalc.live.sliders import grid
from aquacalc.notebook import reader_units
from aquacalc.notebook.bed_form import BedForm
from aquacalc.notebook.equation_panel import EquationPanel
from aquacalc.notebook.plan_panel import PlanPanel
from aquacalc.pages.skeleton import skeleton
from aquacalc.teaching.guessing import Guess, Guesses
from aquacalc.teaching.handout import markdown, shown_output, title_of
from aquacalc.units import show

#: What a panel's slider is called here.
KEYS = {"inflow": "flow", "standpipe": "height", "drain": "drains"}


def live_lesson(notebook, name: str, folder: Path, system: str = "metric") -> str:
    """Run a workbook and write it as a live page.

    Parameters
    ----------
    notebook : nbformat.NotebookNode
    name : str
        File name of the workbook, for the foot of the page.
    folder : Path
        Where it lies.
    system : {"metric", "us"}
        Units of sliders and results.

    Returns
    -------
    str

    Raises
    ------
    Exception
        Whatever a cell of the workbook raises.
    """
    before = reader_units.units()
    reader_units.use(system)
    try:
        parts = _Lesson(folder, system).parts(notebook)
    finally:
        reader_units.use(before)
    first, *more = re.split(r"(?=<style>)", "".join(parts))
    sheets = dict.fromkeys(part.partition("</style>")[0] for part in more)
    once = first
    for part in more:  # a style sheet once
        sheet, end, rest = part.partition("</style>")
        once += (sheet + end if sheet in sheets else "") + rest
        sheets.pop(sheet, None)
    body = f'<p class="still">{HOW}</p><main>{once}</main>'
    foot = (
        f"Made from {name} by aquacalc {__version__}. Estimates, not a guarantee: try the siphon before you "
        "glue it."
    )
    return skeleton(title_of(notebook, name), body, kind="handout live", foot=foot, scripts=SCRIPTS)


#: Equations whose own result a page can work out, each with its symbol.
_RESULTS = {(key, RECORDS[key].output.key) for key in FUNCTIONS}


class _Lesson:
    """One run of a workbook's cells in this process."""

    def __init__(self, folder: Path, system: str):
        self.folder, self.system = folder, system
        self.scope: dict[str, object] = {"__name__": "__main__"}
        self.number = 0

    def parts(self, notebook) -> list[str]:
        found = []
        for cell in notebook.cells:
            if cell.cell_type == "markdown":
                found.append(markdown(cell, self.folder))
            elif cell.cell_type == "code" and cell.source.strip():
                found.append(self.cell(cell.source))
        return found

    def cell(self, source: str) -> str:
        """Run a cell; what it shows."""
        body = ast.parse(source).body
        last = body[-1] if body and isinstance(body[-1], ast.Expr) else None
        body = body[:-1] if last else body
        printed = io.StringIO()
        with contextlib.redirect_stdout(printed):
            exec(compile(ast.Module(body, []), "cell", "exec"), self.scope)
            value = eval(compile(ast.Expression(last.value), "cell", "eval"), self.scope) if last else None
        text = f"<pre>{escape(printed.getvalue())}</pre>" if printed.getvalue() else ""
        return text if value is None else text + self.shown(value)

    def shown(self, value: object) -> str:
        self.number += 1
        if isinstance(value, reader_units.UnitSwitch):
            return ""
        if isinstance(value, BedForm):
            value = value.panel
        if isinstance(value, PlanPanel):
            keys = [KEYS.get(move.key, move.key) for move in value.moves]
            return live_plan(value.plan, self.system, keys, self.number, folded=True)
        if isinstance(value, Guess):
            return _guess(value, self.number)
        if isinstance(value, Guesses):
            return '<ul class="guesses"><li>The page tells you once you have guessed.</li></ul>'
        still = self.output(value)
        if isinstance(value, EquationPanel) and (value.equation.key, value.find) in _RESULTS:
            return f"{still}{_equation(value, self.system, self.number)}"
        return still

    def output(self, value: object) -> str:
        """Write a value as the workbook shows it."""
        data: dict = {"text/plain": repr(value)}
        bundle = getattr(value, "_repr_mimebundle_", None)
        if bundle is not None:
            made = bundle()
            data |= made[0] if isinstance(made, tuple) else made
        else:
            for kind, method in (("text/html", "_repr_html_"), ("text/latex", "_repr_latex_")):
                made = getattr(value, method, lambda: None)()
                data |= {kind: made} if made else {}
        data = {k: v for k, v in data.items() if isinstance(v, str)}
        output = nbformat.v4.new_output("execute_result", data=data)
        return f'<div class="out">{shown_output(output, self.folder)}</div>'


def _guess(guess: Guess, number: int) -> str:
    asked = guess.asked
    choices = "".join(
        f'<label><input type="radio" name="guess{number}" value="{escape(c)}"> {escape(c)}</label>'
        for c in asked.choices
    )
    return (
        f'<form class="guess" data-question="{escape(asked.question)}" data-right="{escape(asked.right)}" '
        f'data-why="{escape(asked.why)}"><fieldset><legend>{escape(asked.question)}</legend>{choices}'
        '</fieldset><p><button type="button">This is my guess</button> <span role="status"></span></p></form>'
    )


def _equation(panel: EquationPanel, system: str, number: int) -> str:
    """Write the sliders of an equation under its worked calculation."""
    record, rows = panel.equation, []
    for key, knob in panel.knobs.items():
        symbol = record.symbol(key)
        label = f"{symbol.name[:1].upper()}{symbol.name[1:]}, {key}"
        rows.append(grid(key, label, symbol.kind, system, knob.si, knob.ends))
    names = list(signature(record.function).parameters)
    defaults = {s.key: s.default for s in record.symbols if s.default is not None}
    values = {name: (defaults | panel.values)[name] for name in names}
    output = record.symbol(panel.find)
    name = f"{output.name[:1].upper()}{output.name[1:]}"
    data = {
        "key": record.key, "order": names, "values": values, "name": name, "kind": output.kind,
        "system": system,
        "sliders": [
            {"key": s.key, "kind": s.kind, "low": s.low, "high": s.high, "per": s.per, "over": s.over,
             "own": own_number(s)} for s in rows
        ],
    }  # fmt: skip
    text = json.dumps(data).replace("<", "\\u003c")
    result = FUNCTIONS[record.key](*values.values())
    said = show(result, output.kind, system) if math.isfinite(result) else "no value"
    return (
        f'<form class="live-equation live-plan" autocomplete="off"><div class="sliders">'
        f"{slider_rows(rows, system, number)}"
        f'<p class="equation-result" aria-live="polite">{escape(name)}: {said}</p></div>'
        f'<script type="application/json" class="equation-data">{text}</script></form>'
    )
