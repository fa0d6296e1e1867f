"""A workbook as one live page: its prose and results, its panels with sliders, and no Python behind it."""

from __future__ import annotations

import ast
import contextlib
import io
import json
import re
from html import escape
from pathlib import Path
from urllib.parse import quote

import nbformat

from aquacalc import __version__
from aquacalc.equations import forms
from aquacalc.files import is_ours
from aquacalc.live.equations import FUNCTIONS, calculation
from aquacalc.live.page import SCRIPTS, SYSTEMS, live_plan, slider_rows, switched
from aquacalc.live.sliders import grid
from aquacalc.notebook import reader_units
from aquacalc.notebook.bed_form import BedForm
from aquacalc.notebook.equation_panel import EquationPanel
from aquacalc.notebook.plan_panel import PlanPanel
from aquacalc.notebook.showing import Following
from aquacalc.pages.maths import mathml
from aquacalc.pages.skeleton import skeleton
from aquacalc.teaching.guessing import Guess, Guesses
from aquacalc.teaching.handout import markdown, shown_output, title_of

#: What a panel's slider is called here.
KEYS = {"inflow": "flow", "standpipe": "height", "drain": "drains"}


def live_lesson(notebook, name: str, folder: Path, system: str = "metric", beside: Path | None = None) -> str:
    """Run a workbook and write it as a live page.

    Parameters
    ----------
    notebook : nbformat.NotebookNode
    name : str
        File name of the workbook, for the foot of the page.
    folder : Path
        Where it lies.
    system : {"metric", "us"}
        Units that it opens with.
    beside : Path, optional
        Folder of the page. The next lesson is linked where its live page is there, under the workbook's name
        or its number (`05.html`).

    Returns
    -------
    str

    Raises
    ------
    Exception
        Whatever a cell of the workbook raises.
    """
    mains = {}
    for of in SYSTEMS:
        before = reader_units.units()
        reader_units.use(of)
        try:
            mains[of] = _styled_once("".join(_Lesson(folder, of, beside).parts(notebook)))
        finally:
            reader_units.use(before)
    foot = (
        f"Made from {name} by aquacalc {__version__}. Estimates, not a guarantee: try the siphon before you "
        "glue it."
    )
    body = f"<main>{switched(mains, system)}</main>"
    return skeleton(title_of(notebook, name), body, kind="handout live", foot=foot, scripts=SCRIPTS)


def _styled_once(text: str) -> str:
    """Leave out each style sheet that has come before."""
    first, *more = re.split(r"(?=<style>)", text)
    sheets = dict.fromkeys(part.partition("</style>")[0] for part in more)
    for part in more:
        sheet, end, rest = part.partition("</style>")
        first += (sheet + end if sheet in sheets else "") + rest
        sheets.pop(sheet, None)
    return first


#: What is asked of a reader who has a kernel.
_RUN = re.compile(r"Choose \*\*Run, Run All Cells\*\* above, and (\w)")
#: What is said of a reader's own file.
_NO_FILE = re.compile(r"^There is no \S+ here yet\. ", re.M)
_HERE = (
    '<p class="soft">This page runs by itself, on a phone too. Forms to type into, and some pictures, are in '
    "the workbook only. A plan with sliders has four pictures here: Beds, Siphon, Levels and Inflow.</p>"
)
#: Tags, and what is not read as text.
_UNSEEN = re.compile(r"(<(?:script|style)\b.*?</|<[^>]*>)", re.S)
#: The workbook after this one: its title, and its name without ".ipynb".
_NEXT = re.compile(r"^Next: \[\*\*(.+)\*\*\]\((.+)\.ipynb\)\.$", re.M)


class _Lesson:
    """One run of a workbook's cells in this process."""

    def __init__(self, folder: Path, system: str, beside: Path | None):
        self.folder, self.system, self.beside = folder, system, beside
        self.scope: dict[str, object] = {"__name__": "__main__"}
        self.number = 0

    def parts(self, notebook) -> list[str]:
        found: list[str] = []
        for cell in notebook.cells:
            if cell.cell_type == "markdown":
                source = cell.metadata.get("live", cell.source)  # where the page has other controls
                source, onward = _RUN.sub(lambda m: m[1].upper(), source), _NEXT.search(source)
                cell = nbformat.from_dict({**cell, "source": _NEXT.sub("", source)})
                found.append(markdown(cell, self.folder))
                found += [self.onward(*onward.groups())] if onward else []
                found += [_HERE] if len(found) == 1 else []
            elif cell.cell_type == "code" and cell.source.strip():
                found.append(self.cell(cell.source))
        return [part.replace('<details open="">', "<details>") for part in found]

    def onward(self, title: str, name: str) -> str:
        """Say which lesson is next, with a link where its live page is beside this one."""
        for page in (f"{name}.html", f"{name.partition('-')[0]}.html"):
            if self.beside and (self.beside / page).is_file() and is_ours(self.beside / page):
                return f'<p>Next: <a href="{quote(page)}"><strong>{escape(title)}</strong></a>.</p>'
        return f"<p>Next: <strong>{escape(title)}</strong>, a workbook of the set.</p>"

    def cell(self, source: str) -> str:
        """Run a cell; what it shows."""
        body = ast.parse(source).body
        last = body[-1] if body and isinstance(body[-1], ast.Expr) else None
        body = body[:-1] if last else body
        printed = io.StringIO()
        with contextlib.redirect_stdout(printed):
            exec(compile(ast.Module(body, []), "cell", "exec"), self.scope)
            value = eval(compile(ast.Expression(last.value), "cell", "eval"), self.scope) if last else None
        said = _NO_FILE.sub("", printed.getvalue())
        text = f"<pre>{escape(said)}</pre>" if said else ""
        return text if value is None else text + self.shown(value)

    def shown(self, value: object) -> str:
        self.number += 1
        if isinstance(value, reader_units.UnitSwitch):
            return ""
        if isinstance(value, Following):
            value = value.make()
        if isinstance(value, BedForm):
            value = value.panel
        if isinstance(value, PlanPanel):
            keys = [KEYS.get(move.key, move.key) for move in value.moves]
            return live_plan(value.plan, self.system, keys, self.number)
        if isinstance(value, Guess):
            return _guess(value, self.number)
        if isinstance(value, Guesses):
            return '<ul class="guesses"><li>The page tells you once you have guessed.</li></ul>'
        if isinstance(value, EquationPanel) and value.equation.key in FUNCTIONS:
            return _equation(value, self.system, self.number)
        return self.output(value)

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
        return f'<div class="out">{_minus(shown_output(output, self.folder))}</div>'


def _minus(markup: str) -> str:
    """Write the minus signs of what a reader sees as such; tags, and what is in a script, stay."""
    parts = _UNSEEN.split(markup)
    parts[::2] = [re.sub(r"(?<![\w.)-])-(?=\d)", "−", part) for part in parts[::2]]
    return "".join(parts)


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
    """Write an equation with sliders over its worked calculation, whose numbers follow them."""
    record, rows = panel.equation, []
    for key, knob in panel.knobs.items():
        symbol = record.symbol(key)
        label = f"{symbol.name[:1].upper()}{symbol.name[1:]}, {key}"
        kind = "ratio" if symbol.kind == "number" else symbol.kind  # numbers that are counted go by ones
        rows.append(grid(key, label, kind, system, knob.si, knob.ends))
    values = {s.key: s.default for s in record.symbols if s.default is not None} | panel.values
    numbers, done = calculation(record.key, panel.find, values, system), panel.result
    form, found = forms.form(record.relation, panel.find), record.symbol(panel.find)
    slots = {key: rf"\text{{⟦{key}⟧}}" for key in numbers}
    both = {key: rf"\left({slot}\right)" if " " in numbers[key] else slot for key, slot in slots.items()}
    latex = (
        done.formula_latex,
        form.in_latex(both | {found.key: found.latex}),
        f"{found.latex} = {slots[found.key]}",
    )
    lines = "".join(f"<div>{_followed(line, numbers)}</div>" for line in latex)
    data = {
        "key": record.key, "find": panel.find, "values": values, "system": system,
        "sliders": [
            {"key": s.key, "kind": s.kind, "low": s.low, "high": s.high, "per": s.per, "over": s.over}
            for s in rows
        ],
    }  # fmt: skip
    text = json.dumps(data).replace("<", "\\u003c")
    name = f"{found.name[:1].upper()}{found.name[1:]}"
    return (
        f'<form class="live-equation live-plan" autocomplete="off"><p><strong>{escape(done.title)}</strong>'
        f'</p><div class="sliders">{slider_rows(rows, system, number)}</div>'
        f'<div class="math" tabindex="0" role="group" aria-label="calculation">{lines}</div>'
        f'<p class="equation-result" aria-live="polite">{escape(name)}: '
        f'<span data-value="result">{numbers["result"]}</span></p>'
        f'<script type="application/json" class="equation-data">{text}</script></form>'
    )


def _followed(latex: str, numbers: dict[str, str]) -> str:
    """Set a row of a calculation; each number in it says which it is."""
    return re.sub(
        r"<mtext>⟦(\w+)⟧</mtext>",
        lambda m: f'<mtext data-value="{m[1]}">{escape(numbers[m[1]])}</mtext>',
        mathml(latex, "").replace(' alttext=""', ""),
    )
