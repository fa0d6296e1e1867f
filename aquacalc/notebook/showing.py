"""How text, pictures, answers and steps show themselves in a notebook, and again when the units change."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable
from dataclasses import replace
from html import escape

from IPython.display import DisplayHandle, display

from aquacalc.buildsheet.steps import Step
from aquacalc.equations.worked import Worked
from aquacalc.figures.picture import Picture
from aquacalc.figures.vector import Drawn
from aquacalc.notebook.reader_units import follow, units
from aquacalc.pages.maths import three_rows
from aquacalc.plan.model import Plan


class Shown:
    """Something to read or to look at: HTML, the same as plain text, and with typeset formulas for paper."""

    def __init__(self, text: str, html: str, latex: str = ""):
        self.text, self.html, self.latex = text, html, latex

    def __repr__(self) -> str:
        return self.text

    def _repr_mimebundle_(self, include=None, exclude=None):
        still = {"text/plain": self.text, "text/html": self.html}
        return still | ({"text/latex": self.latex} if self.latex else {})


class Following:
    """What a function gives, in the reader's units: made again, in the same place, when these change."""

    def __init__(self, make: Callable[[], object]):
        self.make = make
        self._handle: DisplayHandle | None = None

    def _ipython_display_(self) -> None:
        self._handle = display(self.make(), display_id=True)
        _following.append(self)
        follow(self)

    def switch(self, system: str) -> None:
        """Show it in the units of now."""
        self._handle.update(self.make())


#: Those on the page; units are followed by what somebody else holds.
_following: list[Following] = []


def said(words: str | Iterable[str]) -> Shown:
    """Show a text, such as an answer's or a panel's, broken between words at any width.

    Parameters
    ----------
    words : str or iterable of str
        Lines that begin with "- " form a list, and so do lines that come one by one.
    """
    text = words if isinstance(words, str) else "\n".join(f"- {line}" for line in words)
    parts = []
    for listed, lines in itertools.groupby(text.split("\n"), lambda line: line.startswith("- ")):
        if listed:
            parts.append("<ul>" + "".join(f"<li>{escape(line[2:])}</li>" for line in lines) + "</ul>")
        else:
            parts += [f"<p>{escape(line)}</p>" for line in lines]
    return Shown(text, "".join(parts))


def shown(what, *args, **more):
    """Show a picture, a table, an answer or a text.

    Parameters
    ----------
    what : Picture, str, or anything with a `text`
        Or a function that gives one: it is called, and called again when the reader's units change.
    *args, **more
        For the function; a plan goes in with the reader's units.

    Returns
    -------
    Shown, Grid or Following
    """
    if not callable(what):
        return _shown(what)

    def make():
        given = (replace(a, units=units()) if isinstance(a, Plan) else a for a in args)
        return _shown(what(*given, **more))

    return Following(make)


def _shown(what):
    if isinstance(what, Picture | Drawn):  # as HTML: a notebook's own pictures have no text equivalent
        return Shown(what.alt, what.html())
    if hasattr(what, "_repr_mimebundle_"):
        return what
    return said(getattr(what, "text", what))


def steps(found: Iterable[Step]) -> Shown:
    """Put steps in order, each with its cautions and with what is to be ticked or filled in.

    Parameters
    ----------
    found : iterable of Step
    """
    lines, items = [], []
    for number, step in enumerate(found, 1):
        lines.append(f"{number}. {step.title}. {step.text}")
        lines += [f"   Caution: {c}" for c in step.cautions] + [f"   [ ] {b}" for b in step.blanks]
        cautions = "".join(f"<p><strong>Caution:</strong> {escape(c)}</p>" for c in step.cautions)
        blanks = "".join(f"<li>☐ {escape(b)}</li>" for b in step.blanks)
        ticked = f'<ul style="list-style:none;padding-left:0">{blanks}</ul>' if blanks else ""
        items.append(f"<li><strong>{escape(step.title)}.</strong> {escape(step.text)}{cautions}{ticked}</li>")
    return Shown("\n".join(lines), f"<ol>{''.join(items)}</ol>")


def calculation(done: Worked) -> str:
    """Set a worked calculation where a page may have formulas; it can be reached and scrolled by keyboard."""
    return (
        '<div class="math" tabindex="0" role="group" aria-label="calculation" '
        f'style="overflow-x:auto;display:grid;gap:0.8em;font-size:1.3em">{three_rows(done)}</div>'
    )


def calculation_still(done: Worked) -> dict[str, str]:
    """Return a calculation for a reader without a kernel: HTML in plain signs, and LaTeX for paper."""
    rows = (done.formula_text, done.numbers_text, done.result_text)
    html = "".join(f"<div>{escape(row)}</div>" for row in rows)
    return {"text/html": html, "text/latex": done._repr_latex_()}
