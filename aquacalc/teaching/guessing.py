"""A guess that is given before the answer, kept, and met again at the end of the page.

The questions stand in `guesses.toml`, so that a page does not give their answers away. What was guessed
stands in a small file beside the workbook, so that it outlives the kernel.
"""

from __future__ import annotations

import json
import tomllib
from dataclasses import dataclass
from functools import cache
from html import escape
from importlib.resources import files
from pathlib import Path

from aquacalc.failure import Failure
from aquacalc.files import write_file

#: The reader's guesses, beside the workbook: key of the question -> number of the choice.
MINE = Path("my-guesses.json")
#: What is written on by hand.
LINE = '<span style="display:inline-block;min-width:16em;border-bottom:1px solid">&nbsp;</span>'
#: Questions put in this notebook, in their order.
_asked: dict[str, GuessAsked] = {}
_open: list = []  # what shows the guesses at the end


@dataclass(frozen=True)
class GuessAsked:
    """A question to guess at.

    Attributes
    ----------
    key, question : str
    choices : tuple of str
    right : str
        One of them.
    why : str
    """

    key: str
    question: str
    choices: tuple[str, ...]
    right: str
    why: str

    @property
    def mine(self) -> str | None:
        """What was guessed."""
        number = given().get(self.key)
        return self.choices[number] if number is not None and 0 <= number < len(self.choices) else None

    @property
    def sheet(self) -> str:
        """The question with boxes to tick on paper, as HTML."""
        listed = "".join(f"<li>☐ {escape(c)}</li>" for c in self.choices)
        return f'<p><strong>{escape(self.question)}</strong></p><ul style="list-style:none">{listed}</ul>'

    def met(self) -> str:
        """Return the guess beside what happens, and why; nothing of that before a guess is given."""
        if self.mine is None:
            return f"{self.question} No guess yet: give yours above, and you meet it here."
        if self.mine == self.right:
            return f"{self.question} You guessed: {self.mine}. So it is, because {self.why}"
        return f"{self.question} You guessed: {self.mine}. It is: {self.right}, because {self.why}"


def given() -> dict[str, int]:
    """Return the guesses that are kept, by question; none where the file cannot be read."""
    try:
        kept = json.loads(MINE.read_text(encoding="utf-8"))
        return {str(key): number for key, number in kept.items() if type(number) is int}
    except (OSError, ValueError, AttributeError):
        return {}


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
            self._say("Choose one first.")
            return
        kept = given()
        kept.setdefault(self.asked.key, self.asked.choices.index(choice))
        try:
            write_file(MINE, json.dumps(kept, indent=1) + "\n", force=True)
        except Failure as error:
            self._say(str(error))
            return
        self._kept()
        for shown in _open:
            shown.show()

    def _kept(self) -> None:
        if self.asked.mine is not None:
            self.choice.value, self.choice.disabled, self.button.disabled = self.asked.mine, True, True
            self._say("Kept. You meet it again at the end of the page.")

    def _say(self, text: str) -> None:
        self.reply.value = f'<p role="status">{escape(text)}</p>'

    def _repr_mimebundle_(self, include=None, exclude=None):
        return self.box._repr_mimebundle_() | {"text/plain": self.text, "text/html": self.asked.sheet}


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
        lines = "".join(f"<li>{escape(line)}</li>" for line in self.lines)
        return f'<div role="status"><ul>{lines}</ul></div>'

    def _repr_mimebundle_(self, include=None, exclude=None):
        paper = "".join(f"<div>{a.sheet}<p>Because: {LINE}</p></div>" for a in _asked.values() if not a.mine)
        text = {"text/plain": "\n".join(self.lines), "text/html": paper or self.html}
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
    _asked[key] = known[key]
    return Guess(known[key])


@cache
def questions() -> dict[str, GuessAsked]:
    """Return every question by its key, in order."""
    text = (files("aquacalc.teaching") / "guesses.toml").read_text(encoding="utf-8")
    return {
        key: GuessAsked(key, raw["question"], tuple(raw["choices"]), raw["choices"][raw["right"]], raw["why"])
        for key, raw in tomllib.loads(text).items()
    }


def guesses() -> Guesses:
    """Show every guess of the page beside what happens."""
    return Guesses()
