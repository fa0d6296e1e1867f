"""A guess that is given before the answer, kept, and met again at the end of the page.

The questions stand in `guesses.toml`, so that a page does not give their answers away.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from html import escape
from importlib.resources import files

#: Guesses given in this notebook: question -> choice. A page that is run again has them still.
_given: dict[str, str] = {}
#: Questions put in this notebook, in their order.
_asked: dict[str, GuessAsked] = {}
_open: list = []  # what shows the guesses at the end


@dataclass(frozen=True)
class GuessAsked:
    """A question to guess at.

    Attributes
    ----------
    question : str
    choices : tuple of str
    right : str
        One of them.
    why : str
    """

    question: str
    choices: tuple[str, ...]
    right: str
    why: str

    def met(self) -> str:
        """Return the guess beside what happens, and why."""
        mine = _given.get(self.question)
        if mine is None:
            return f"{self.question} You gave no guess. It is: {self.right}, because {self.why}"
        if mine == self.right:
            return f"{self.question} You guessed: {mine}. So it is, because {self.why}"
        return f"{self.question} You guessed: {mine}. It is: {self.right}, because {self.why}"


class Guess:
    """A question with its choices; once given, a guess stays."""

    def __init__(self, asked: GuessAsked):
        self.asked = asked
        self._box = None

    @property
    def text(self) -> str:
        """The question in plain text, choices below it."""
        return "\n".join([self.asked.question, *(f"  ( ) {c}" for c in self.asked.choices)])

    @property
    def box(self):
        """The widget: question, choices, button, reply."""
        if self._box is None:
            import ipywidgets as w

            question = w.HTML(f"<p><strong>{escape(self.asked.question)}</strong></p>")
            self.choice = w.RadioButtons(
                options=self.asked.choices, value=None, layout={"width": "auto"}, description="Your guess",
            )  # fmt: skip
            self.button = w.Button(description="This is my guess", tooltip="Keep this guess")
            self.reply = w.HTML()
            self.button.on_click(lambda _: self.give(self.choice.value))
            self._box = w.VBox([question, self.choice, self.button, self.reply])
            self._kept()
        return self._box

    def give(self, choice: str | None) -> None:
        """Keep a guess; the first one counts."""
        if choice is None:
            self.reply.value = '<p role="status">Choose one first.</p>'
            return
        _given.setdefault(self.asked.question, choice)
        self._kept()
        for shown in _open:
            shown.show()

    def _kept(self) -> None:
        mine = _given.get(self.asked.question)
        if mine is not None:
            self.choice.value, self.choice.disabled, self.button.disabled = mine, True, True
            self.reply.value = '<p role="status">Kept. You meet it again at the end of the page.</p>'

    def _repr_mimebundle_(self, include=None, exclude=None):
        listed = "".join(f"<li>☐ {escape(c)}</li>" for c in self.asked.choices)
        html = (
            f'<p><strong>{escape(self.asked.question)}</strong></p><ul style="list-style:none">{listed}</ul>'
        )
        return self.box._repr_mimebundle_() | {"text/plain": self.text, "text/html": html}


class Guesses:
    """Every guess of the page beside what happens; it follows guesses that are given later."""

    def __init__(self):
        import ipywidgets as w

        self.box = w.HTML()
        self.show()
        _open.append(self)

    def show(self) -> None:
        """Bring it up to date."""
        self.box.value = self.html

    @property
    def lines(self) -> list[str]:
        """One line for every question."""
        return [asked.met() for asked in _asked.values()]

    @property
    def html(self) -> str:
        """The lines as a list."""
        return f'<ul role="status">{"".join(f"<li>{escape(line)}</li>" for line in self.lines)}</ul>'

    def _repr_mimebundle_(self, include=None, exclude=None):
        text = {"text/plain": "\n".join(self.lines), "text/html": self.html}
        return self.box._repr_mimebundle_() | text


def guess(key: str) -> Guess:
    """Ask for a guess.

    Parameters
    ----------
    key : str
        Of `guesses.toml`.

    Raises
    ------
    KeyError
        When there is no such question.
    """
    known = questions()
    if key not in known:
        raise KeyError(f'there is no question "{key}"; there are {", ".join(known)}')
    asked = known[key]
    _asked[asked.question] = asked
    return Guess(asked)


@cache
def questions() -> dict[str, GuessAsked]:
    """Return every question by its key, in order."""
    text = (files("aquacalc.teaching") / "guesses.toml").read_text(encoding="utf-8")
    return {
        key: GuessAsked(raw["question"], tuple(raw["choices"]), raw["choices"][raw["right"]], raw["why"])
        for key, raw in tomllib.loads(text).items()
    }


def guesses() -> Guesses:
    """Show every guess of the page beside what happens."""
    return Guesses()
