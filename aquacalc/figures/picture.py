"""A finished figure with its text equivalent, as SVG that follows the reader's light or dark theme."""

from __future__ import annotations

import base64
import io
import re
from dataclasses import dataclass
from html import escape

from matplotlib import rc_context
from matplotlib.figure import Figure

from aquacalc.figures.style import DARK, DPI, FAMILY

_HEAD = re.compile(r"\A.*?<svg\b[^>]*?(viewBox=\"[^\"]*\")[^>]*>", re.S)
_METADATA = re.compile(r"\s*<metadata>.*?</metadata>", re.S)
_GROUP_ID = re.compile(r'(<g) id="[^"]*"')
_ID = re.compile(r'(\bid="|href="#|url\(#)([^")]+)')
#: A reader without our font gets one that is no wider, so that labels do not run into each other.
_FAMILIES = f"'{FAMILY}', Verdana, Arial, sans-serif"
#: A picture is shown no narrower than this part of its width, and scrolled sideways in a narrower place:
#: smaller than that, its words cannot be read.
NARROWEST = 0.99
_SPACE = re.compile(r"\n\s*")
_COLOUR = re.compile("|".join(DARK))
_DARK = "".join(f"--c{light[1:]}:{dark};" for light, dark in DARK.items())
_SHEET = f"<style>@media screen and (prefers-color-scheme:dark){{svg{{{_DARK}}}}}</style>"


@dataclass(frozen=True)
class Picture:
    """A figure and a sentence that says the same in words.

    Attributes
    ----------
    figure : matplotlib.figure.Figure
    alt : str
        Text equivalent, with the numbers.
    note : str
        What is read below it; as text it takes the width of the page, whatever that is.
    """

    figure: Figure
    alt: str
    note: str = ""

    def svg(self, prefix: str = "fig") -> str:
        """Return one `<svg>` element for use inside a page.

        Parameters
        ----------
        prefix : str
            Begins every id in it, so that several can stand in one page.
        """
        out = io.StringIO()
        with rc_context({"svg.fonttype": "none", "svg.hashsalt": prefix}):
            self.figure.savefig(out, format="svg", metadata={"Date": None})
        text = _METADATA.sub("", out.getvalue())
        view = _HEAD.match(text)
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
            f'{view.group(1)} role="img" aria-label="{escape(self.alt)}">'
        )
        body = _GROUP_ID.sub(r"\1", text[view.end() :])
        body = _ID.sub(rf"\g<1>{prefix}-\g<2>", body).replace(f"'{FAMILY}'", _FAMILIES)
        body = _COLOUR.sub(lambda found: f"var(--c{found[0][1:]},{found[0]})", body)
        return head + _SHEET + _SPACE.sub("\n", body).strip()

    def html(self) -> str:
        """Return it as HTML for a notebook, whose own pictures have no text equivalent."""
        width = round(self.figure.get_size_inches()[0] * DPI)
        data = base64.b64encode(self.svg().encode()).decode()
        return (
            '<figure tabindex="0" style="margin:0 0 0.5em;overflow-x:auto">'
            f'<img src="data:image/svg+xml;base64,{data}" '
            f'alt="{escape(self.alt)}" style="width:100%;max-width:{width}px;'
            f'min-width:{round(NARROWEST * width)}px"></figure>'
        ) + (f"<p>{escape(self.note)}</p>" if self.note else "")
