"""An exercise in a notebook: a box to type in with a kernel, a line to write on without one."""

from __future__ import annotations

from html import escape

from aquacalc.equations import RECORDS
from aquacalc.equations.worked import Worked, worked
from aquacalc.teaching.check import check
from aquacalc.teaching.exercise import Exercise, exercise

_LINE = (
    '<p>Answer: <span style="display:inline-block;min-width:16em;border-bottom:1px solid">&nbsp;</span></p>'
)
_WHOLE = '<div style="break-inside:avoid">'
_MARKS = {"right": "✓", "close": "≈", "wrong": "✗", "none": ""}


class Question:
    """A question with a box for the answer and what is said to it.

    It follows the notebook's units.

    Parameters
    ----------
    asked : Exercise
    system : {"metric", "us"}
    number : int, optional
        Stands before the title.
    """

    def __init__(self, asked: Exercise, system: str, number: int | None = None):
        self.asked, self.system, self.number = asked, system, number
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

    @property
    def _title(self) -> str:
        number = f"{self.number}. " if self.number else ""
        return f"{number}{self.asked.title}{'' if self.asked.title.endswith('?') else '.'}"

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

        from aquacalc.notebook.reader_units import follow

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
            reply.value = f'<p role="status"><strong>{_MARKS[said.verdict]}</strong> {escape(said.said)}</p>'

        answer.observe(say, "value")
        button.on_click(say)
        follow(self)
        return w.VBox([w.HTML(self._html()), w.HBox([answer, button]), reply])

    def _repr_mimebundle_(self, include=None, exclude=None):
        bundle = {"text/plain": self.text, "text/html": f"{_WHOLE}{self._html()}{_LINE}</div>"}
        shown = self.box._repr_mimebundle_()
        view = "application/vnd.jupyter.widget-view+json"
        if view in shown:
            bundle[view] = shown[view]
        return bundle


class Solution:
    """The answer with its calculation, or the right choice and why."""

    def __init__(self, asked: Exercise, system: str):
        self.asked = asked
        self.worked: Worked | None = None
        if asked.equation:
            record = RECORDS[asked.equation.key]
            self.worked = worked(record, asked.values, system, asked.wanted)

    @property
    def text(self) -> str:
        """The solution in plain text."""
        if self.worked is None:
            return f"({self.asked.right}) {self.asked.choices[self.asked.right]}. {self.asked.why}"
        return "\n".join(x for x in (self.worked.text, self.asked.why) if x)

    def _repr_mimebundle_(self, include=None, exclude=None):
        bundle = {"text/plain": self.text}
        shown = f"<p>{escape(self.text)}</p>"
        if self.worked is not None:
            bundle["text/latex"] = shown = self.worked._repr_latex_()
        # Folded, so that an answer below its question is not seen before it is wanted.
        bundle["text/html"] = (
            f"<details><summary>Answer: {escape(self.asked.title)}</summary>{shown}</details>"
        )
        return bundle


def _units(system: str | None) -> str:
    """Return the system asked for, or the notebook's."""
    if system is not None:
        return system
    from aquacalc.notebook.reader_units import units

    return units()


def ask(key: str, number: int | None = None, system: str | None = None) -> Question:
    """Put an exercise.

    Parameters
    ----------
    key : str
    number : int, optional
        Stands before the title.
    system : {"metric", "us"}, optional
        Units that the question is in, those of the notebook's panels by default; the answer may be in any.

    Raises
    ------
    KeyError
        When there is no such exercise.
    """
    return Question(exercise(key), _units(system), number)


def solution(key: str, system: str | None = None) -> Solution:
    """Show the answer of an exercise with its calculation.

    Raises
    ------
    KeyError
        When there is no such exercise.
    """
    return Solution(exercise(key), _units(system))
