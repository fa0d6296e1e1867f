"""A table in a notebook: read aloud by its heads, and the same as plain text."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from html import escape

from aquacalc.buildsheet.table import Table
from aquacalc.notebook.showing import Shown
from aquacalc.units.table import KINDS

#: A cell no longer than the first stays on one line ("1-1/2 in" is read as one thing); one longer than the
#: second is given room, so that a narrow page does not break it after every word.
_SHORT, _LONG = 11, 36
_SHOWN = {unit for k in KINDS.values() for unit in (k.metric, k.us, *(k.large or ())[:2]) if unit}
_UNITS = "|".join(re.escape(unit) for unit in sorted({*_SHOWN, "min", "h", "%"}, key=len, reverse=True))
#: A value with its unit, or a size of pipe with its fraction of an inch.
_VALUE = re.compile(rf"(\d+-)?\d+([./]\d+)? ({_UNITS})(?![\w/])|\d+-\d+/\d+")
#: Columns that can be given room at once.
_ROOMY = 2
#: From this many columns on they stand closer.
_WIDE = 7


class Grid(Shown):
    """A table to look at.

    Parameters
    ----------
    table : Table
        As the build sheet makes it.
    """

    def __init__(self, table: Table):
        self.table = table
        super().__init__(self._text(), self._html())

    def _text(self) -> str:
        """Return the table as plain text, its columns lined up."""
        t = self.table
        rows = [t.columns, *t.rows, *((t.total,) if t.total else ())]
        wide = [max(len(row[k]) for row in rows) for k in range(len(t.columns))]
        right = [t.numeric(k) for k in range(len(t.columns))]
        lines = [t.title] + [
            "  ".join(
                c.rjust(w) if r else c.ljust(w) for c, w, r in zip(row, wide, right, strict=True)
            ).rstrip()
            for row in rows
        ]
        return "\n".join([*lines, *t.notes])

    def _html(self) -> str:
        """Return the table as HTML, with its title as caption."""
        t = self.table
        sides = ["right" if t.numeric(k) else "left" for k in range(len(t.columns))]

        roomy = sum(any(len(row[k]) > _LONG for row in t.rows) for k in range(len(t.columns))) <= _ROOMY

        def row(tag: str, cells: Sequence[str], bold: bool = False) -> str:
            scope = ' scope="col"' if tag == "th" else ""
            made = (
                f'<{tag}{scope} style="{_style(cells, k, sides[k], tag, roomy)}">'
                f"{'<b>' * bold}{_words(c)}{'</b>' * bold}</{tag}>"
                for k, c in enumerate(cells)
            )
            return f"<tr>{''.join(made)}</tr>"

        body = [row("td", cells) for cells in t.rows] + ([row("td", t.total, True)] if t.total else [])
        notes = "".join(f"<p>{escape(note)}</p>" for note in t.notes)
        intro = f"<p>{escape(t.intro)}</p>" if t.intro else ""
        return (
            f'{intro}<div tabindex="0" style="overflow-x:auto"><table>'
            f'<caption style="text-align:left;font-weight:bold">{escape(t.title)}</caption>'
            f"<thead>{row('th', t.columns)}</thead><tbody>{''.join(body)}</tbody></table></div>{notes}"
        )


def _words(cell: str) -> str:
    """Write a cell; a key of several words may break between them, a value and its unit may not."""
    whole = _VALUE.sub(r'<span style="white-space:nowrap">\g<0></span>', escape(cell))
    return whole.replace("_", "_<wbr>")


def _style(cells: Sequence[str], k: int, side: str, tag: str, roomy: bool) -> str:
    cell, columns = cells[k], len(cells)
    gap = "1.1em" if columns < _WIDE else "0.9em" if side == "right" else "0.7em"
    if k == columns - 1:
        gap = "0"
    style = f"text-align:{side};vertical-align:top;padding:0.15em {gap} 0.15em 0"
    if tag == "td" and len(cell) <= _SHORT:  # a head may break: its column is as narrow as its numbers
        style += ";white-space:nowrap"
    room = "7em" if columns > _WIDE else "9em"
    return style + (f";min-width:{room}" if roomy and len(cell) > _LONG else "")


def grid(title: str, columns: Sequence[str], rows: Iterable[Sequence[object]], *notes: str) -> Grid:
    """Make a table to look at.

    Parameters
    ----------
    title : str
    columns : sequence of str
    rows : iterable of sequences
        As many cells as columns; anything but text is turned into text.
    *notes : str
        Sentences below it.
    """
    made = tuple(tuple(str(cell) for cell in row) for row in rows)
    return Grid(Table("", title, "", tuple(columns), made, notes=notes))
