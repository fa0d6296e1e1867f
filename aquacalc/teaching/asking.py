"""An exercise in a notebook: a box to type in with a kernel, a line to write on without one."""

from __future__ import annotations

from html import escape

from aquacalc.equations import RECORDS
from aquacalc.equations.worked import worked
from aquacalc.notebook.reader_units import follow, units
from aquacalc.notebook.showing import Shown, calculation, calculation_still
from aquacalc.teaching.checking import check
from aquacalc.teaching.exercise import Exercise, exercise, exercises
from aquacalc.teaching.guessing import LINE
from aquacalc.units import show

#: A line for the answer, and room to work on paper.
_LINE = f"<p>Answer: {LINE}</p>"
_ROOM = '<div style="height:7em"></div>'
_WHOLE = '<div style="break-inside:avoid">'
_MARKS = {"right": "✓", "close": "≈", "wrong": "✗", "none": ""}


class Question:
    """A question with a box for the answer and what is said to it.

    It follows the notebook's units.

    Parameters
    ----------
    asked : Exercise
    system : {"metric", "us"}
    number : int or str, optional
        Stands before the title.
    """

    def __init__(self, asked: Exercise, system: str, number: int | str | None = None):
        self.asked, self.system, self.number = asked, system, number
        self._title = _title(asked, number)
        self._box = None

    def switch(self, system: str) -> None:
        """Ask the same in other units."""
        self.system = system
        if self._box is not None:
            self._box.children[0].value = self._html()

    @property
    def text(self) -> str:
        """The question in plain text, choices below it."""
        lines = [f"{self._title} {self.asked.question(self.system)}"]
        lines += [f"  ({letter}) {words}" for letter, words in self.asked.choices.items()]
        return "\n".join(lines)

    def _html(self) -> str:
        choices = "".join(
            f"<li>({escape(letter)}) {escape(words)}</li>" for letter, words in self.asked.choices.items()
        )
        listed = f'<ul style="list-style:none">{choices}</ul>' if choices else ""
        question = escape(self.asked.question(self.system))
        return f"<p><strong>{escape(self._title)}</strong> {question}</p>{listed}"

    @property
    def box(self):
        """The widget: question, box, button, reply (`box.children`)."""
        if self._box is None:
            self._box = self._make()
        return self._box

    def _make(self):
        import ipywidgets as w

        what = "a, b or c" if self.asked.choices else "number and unit"
        answer = w.Text(
            description="Your answer:",
            placeholder=what,
            continuous_update=False,
            style={"description_width": "6.5em"},
            layout=w.Layout(width="20em"),
        )
        button = w.Button(description="Check", tooltip="Check the answer")
        reply = w.HTML()

        def say(_):
            said = check(self.asked.key, answer.value)
            picture = _drawn(self.asked) if said.verdict != "none" else ""
            mark = f"<strong>{_MARKS[said.verdict]}</strong>"
            reply.value = f'<p role="status">{mark} {escape(said.said)}</p>{picture}'

        answer.observe(say, "value")
        button.on_click(say)
        follow(self)
        return w.VBox([w.HTML(self._html()), w.HBox([answer, button]), reply])

    def _repr_mimebundle_(self, include=None, exclude=None):
        room = "" if self.asked.choices else _ROOM
        bundle = {"text/plain": self.text, "text/html": f"{_WHOLE}{self._html()}{room}{_LINE}</div>"}
        shown = self.box._repr_mimebundle_()
        view = "application/vnd.jupyter.widget-view+json"
        if view in shown:
            bundle[view] = shown[view]
        return bundle


class Solution:
    """The answer with its calculation, or the right choice and why; it follows the notebook's units."""

    def __init__(self, asked: Exercise, system: str, number: int | str | None = None):
        self.asked, self.number = asked, number
        self._title = f"Answer {_title(asked, number)}" if number else f"Answer: {asked.title}"
        self._box = None
        self.switch(system)

    def switch(self, system: str) -> None:
        """Give the same in other units."""
        self.system, self.worked = system, None
        if self.asked.equation:
            record = RECORDS[self.asked.equation.key]
            self.worked = worked(record, self.asked.values, system, self.asked.wanted)
        if self._box is not None:
            self._box.value = self._html(calculation)

    @property
    def short(self) -> str:
        """The answer alone: a value with its unit, or a letter with what it stands for."""
        if self.worked is None:
            return f"({self.asked.right}) {self.asked.choices[self.asked.right]}"
        return show(self.asked.answer(), self.asked.kind, self.system)

    @property
    def text(self) -> str:
        """The solution in plain text."""
        how = self.worked.text if self.worked else ""
        lines = [f"{self._title} {self.short}", how, self.asked.why]
        return "\n".join(line for line in lines if line)

    @property
    def box(self):
        """The widget: the answer, folded."""
        if self._box is None:
            import ipywidgets as w

            self._box = w.HTML(self._html(calculation))
            follow(self)
        return self._box

    def _html(self, how) -> str:
        why = f"<p>{escape(self.asked.why)}</p>" if self.asked.why else ""
        # Folded, so that an answer below its question is not seen before it is wanted.
        return (
            f"<details><summary>{escape(self._title)}</summary><p><strong>{escape(self.short)}</strong></p>"
            f"{how(self.worked) if self.worked else ''}{why}{_drawn(self.asked)}</details>"
        )

    def _repr_mimebundle_(self, include=None, exclude=None):
        html = self._html(lambda done: calculation_still(done)["text/html"])
        latex = self.worked._repr_latex_() if self.worked else ""
        if latex:  # for paper, which nobody can fold
            latex = f"**{self._title} {self.short}**\n\n{latex}\n\n{self.asked.why}".rstrip()
        still = {"text/plain": self.text, "text/html": html} | ({"text/latex": latex} if latex else {})
        return self.box._repr_mimebundle_() | still


def _drawn(asked: Exercise) -> str:
    """Return the picture that shows why, as HTML."""
    if not asked.picture:
        return ""
    from aquacalc.teaching.pictures import PICTURES

    return PICTURES[asked.picture]().html()


def _title(asked: Exercise, number: int | str | None) -> str:
    return f"{f'{number}. ' if number else ''}{asked.title}{'' if asked.title.endswith('?') else '.'}"


def _units(system: str | None) -> str:
    """Return the system asked for, or the notebook's."""
    return units() if system is None else system


def ask(key: str, number: int | str | None = None, system: str | None = None) -> Question:
    """Put an exercise.

    Parameters
    ----------
    key : str
    number : int or str, optional
        Stands before the title.
    system : {"metric", "us"}, optional
        Units that the question is in, those of the notebook's panels by default; the answer may be in any.

    Raises
    ------
    KeyError
        When there is no such exercise.
    """
    return Question(exercise(key), _units(system), number)


def formula_sheet() -> Shown:
    """Return every formula that the exercises need, with what its symbols are."""
    text, html, latex = [], [], []
    for key, one in {e.equation.key: e for e in exercises().values() if e.equation}.items():
        record = RECORDS[key]
        done = worked(record, one.values, "metric", one.wanted)
        names = ", ".join(f"{symbol.key} {symbol.name}" for symbol in record.symbols)
        signs = ", ".join(f"${symbol.latex}$ {symbol.name}" for symbol in record.symbols)
        text.append(f"{record.title}: {done.formula_text}; {names}")
        html.append(
            f'<p style="break-inside:avoid"><strong>{escape(record.title)}</strong><br>'
            f"{escape(done.formula_text)}<br><small>{escape(names)}</small></p>"
        )
        latex.append(f"<div>\n\n**{record.title}**\n\n$$\n{done.formula_latex}\n$$\n\n{signs}\n\n</div>\n\n")
    paper = f'<div class="formulas">\n\n{"".join(latex)}</div>'
    return Shown("\n".join(text), "".join(html), paper)


def solution(key: str, number: int | str | None = None, system: str | None = None) -> Solution:
    """Show the answer of an exercise with its calculation.

    Parameters
    ----------
    key : str
    number : int or str, optional
        That of the question.
    system : {"metric", "us"}, optional
        Those of the notebook's panels by default.

    Raises
    ------
    KeyError
        When there is no such exercise.
    """
    return Solution(exercise(key), _units(system), number)
