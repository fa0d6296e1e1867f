"""What all panels have in common: how they show themselves with and without a kernel."""

from __future__ import annotations

import gc
from html import escape

import ipywidgets as w

from aquacalc.notebook.reader_units import follow, unfollow

WIDTH = 900


class Panel(w.VBox):
    """A box of sliders, picture and words.

    Subclasses give `still` and `switch`, call `say` whenever the result has
    changed, and `complete` at the end of their construction.

    Without a kernel, and to a test that compares outputs, a panel is its `still`
    picture and its `text`.
    """

    def __init__(self):
        self.words = w.HTML(layout={"width": "auto"})
        self.text = self.html = self.above = ""
        super().__init__(layout={"width": "100%", "max_width": f"{WIDTH}px", "overflow": "hidden"})

    def complete(self, *parts: w.Widget) -> None:
        """Put the finished panel together; from now on it follows the units."""
        self.children = parts
        follow(self)
        # A full collection of 200,000 objects of libraries takes 0.11 s, in which a held key has no answer.
        gc.collect()
        gc.freeze()

    def close(self) -> None:
        """Take the panel away; it follows the units no longer."""
        unfollow(self)
        super().close()

    def say(self, text: str, more: str = "") -> None:
        """Show the result in words: a line of plain `text`, and HTML below it."""
        self.text, self.html = text, status(text, more)
        self.refresh()

    def refresh(self) -> None:
        """Show the SVG `above` and the words as one piece: two would be two messages and two layouts."""
        picture = f'<div tabindex="0" style="overflow-x:auto">{self.above}</div>' if self.above else ""
        self.words.value = picture + self.html

    def still(self) -> tuple[dict, dict]:
        """Return what is shown without a kernel: {MIME type: data} and {MIME type: metadata}."""
        raise NotImplementedError

    def switch(self, system: str) -> None:
        """Show the same in other units."""
        raise NotImplementedError

    def _repr_mimebundle_(self, **kwargs):
        data, metadata = self.still()
        return super()._repr_mimebundle_(**kwargs) | data | {"text/plain": self.text}, metadata


def status(text: str, more: str = "") -> str:
    """Return a result as HTML that a screen reader speaks when it changes."""
    return (
        f'<div role="status" style="line-height:1.45"><p style="margin:0.3em 0"><b>{escape(text)}</b></p>'
        f"{more}</div>"
    )
