"""Sentences and steps in a notebook: as a list, and the same as plain text."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from aquacalc.buildsheet.steps import Step


class Listed:
    """A list to read."""

    def __init__(self, text: str, html: str):
        self.text, self.html = text, html

    def _repr_mimebundle_(self, include=None, exclude=None):
        return {"text/plain": self.text, "text/html": self.html}


def sentences(lines: Iterable[str] | str) -> Listed:
    """Put sentences under each other, a text by its lines.

    Parameters
    ----------
    lines : iterable of str, or str
    """
    lines = lines.splitlines() if isinstance(lines, str) else list(lines)
    items = "".join(f"<li>{escape(line.removeprefix('- '))}</li>" for line in lines)
    return Listed("\n".join(lines), f"<ul>{items}</ul>")


def steps(found: Iterable[Step]) -> Listed:
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
    return Listed("\n".join(lines), f"<ol>{''.join(items)}</ol>")
