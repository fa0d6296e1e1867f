"""A picture in a notebook, with its words for those who cannot see it and for paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from aquacalc.figures.picture import Picture
    from aquacalc.figures.vector import Drawn


class Shown:
    """A picture to look at: a notebook's own pictures have no text equivalent, so it is put in as HTML."""

    def __init__(self, picture: Picture | Drawn):
        self.picture = picture

    def _repr_mimebundle_(self, include=None, exclude=None):
        return {"text/html": self.picture.html(), "text/plain": self.picture.alt}


def shown(picture: Picture | Drawn) -> Shown:
    """Put a picture into the notebook."""
    return Shown(picture)
