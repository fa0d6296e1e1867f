"""Sentences in a notebook, broken between words at any width; printed text breaks inside them."""

from __future__ import annotations

import itertools
from html import escape


class Said:
    """Lines of text; those that begin with "- " form a list.

    Parameters
    ----------
    text : str
    """

    def __init__(self, text: str):
        self.text = text

    def __repr__(self) -> str:
        return self.text

    def _repr_html_(self) -> str:
        parts = []
        for listed, lines in itertools.groupby(self.text.split("\n"), lambda line: line.startswith("- ")):
            if listed:
                parts.append("<ul>" + "".join(f"<li>{escape(line[2:])}</li>" for line in lines) + "</ul>")
            else:
                parts += [f"<p>{escape(line)}</p>" for line in lines]
        return "".join(parts)


def said(text: str) -> Said:
    """Show a text, such as an answer's or a panel's.

    Parameters
    ----------
    text : str

    Returns
    -------
    Said
    """
    return Said(text)
