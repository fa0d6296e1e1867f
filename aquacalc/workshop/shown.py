"""A picture in a notebook, with its words for those who cannot see it and for paper."""

from __future__ import annotations

import base64
from html import escape

from aquacalc.figures.picture import Picture
from aquacalc.figures.style import DPI


class Shown:
    """A picture to look at: a notebook's own pictures have no text equivalent, so it is put in as HTML."""

    def __init__(self, picture: Picture):
        self.picture = picture

    def _repr_mimebundle_(self, include=None, exclude=None):
        picture = self.picture
        width = round(picture.figure.get_size_inches()[0] * DPI)
        data = base64.b64encode(picture.png()).decode()
        html = (
            f'<figure style="margin:0"><img src="data:image/png;base64,{data}" alt="{escape(picture.alt)}" '
            f'style="width:100%;max-width:{width}px"></figure>'
        )
        return {"text/html": html, "text/plain": picture.alt}


def shown(picture: Picture) -> Shown:
    """Put a picture into the notebook."""
    return Shown(picture)
