"""What is written under a view: a title and rows, each a value in bold with what it is, in columns."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from aquacalc.buildsheet.canvas import LETTER, MARGIN, Canvas, text_width

#: Letters (mm) that are tried, where a sheet has room.
SIZES = (7.0, 6.5, 6.0, 5.5, 5.0, 4.6)
#: Room for a row over the size of its letters, and from a column to the next, mm.
LINE, APART = 1.25, 8.0
#: Letters are this much wider in bold.
BOLD = 1.2


@dataclass(frozen=True)
class Legend:
    """Rows of a value and what it is, under a title."""

    title: str
    rows: tuple[tuple[str, str], ...]

    def _columns(self, width: float, size: float) -> tuple[int, float]:
        """Return how many columns fit a sheet of `width`, mm, and the room for a value."""
        value = BOLD * max(text_width(value, size) for value, _ in self.rows)
        value += 2.0 if value else 0.0
        each = value + max(text_width(text, size) for _, text in self.rows) + APART
        return int((width - 2.0 * MARGIN + APART) // each), value

    def room(self, width: float, size: float = LETTER) -> float:
        """Return the height (mm) that it takes on a sheet of `width` in letters of `size`."""
        count, _ = self._columns(width, size)
        return (math.ceil(len(self.rows) / count) + 1.5) * LINE * size if count else math.inf

    def write(self, canvas: Canvas, top: float, size: float) -> None:
        """Write it down from `top` in letters of `size`, mm, its columns over the whole width."""
        count, value = self._columns(canvas.width, size)
        lines = math.ceil(len(self.rows) / count)
        each = (canvas.width - 2.0 * MARGIN) / math.ceil(len(self.rows) / lines)
        canvas.text((MARGIN, top), self.title, size=size)
        for k, (said, text) in enumerate(self.rows):
            x, y = MARGIN + each * (k // lines) + value, top + (k % lines + 1.2) * LINE * size
            canvas.text((x - 2.0, y), said, "end", size, bold=True)
            canvas.text((x, y), text, size=size)


def folded(title: str, rows: Iterable[tuple[str, str]], across: int) -> Legend:
    """Return a legend whose long rows are broken over lines of `across` characters."""
    lines = ((value, textwrap.wrap(text, across)) for value, text in rows)
    return Legend(title, tuple((value if k == 0 else "", t) for value, ts in lines for k, t in enumerate(ts)))


def room(legends: Sequence[Legend], width: float, size: float = LETTER) -> float:
    """Return the height (mm) that all of them take on a sheet of `width` in letters of `size`, mm."""
    return sum(legend.room(width, size) for legend in legends)


def letters(legends: Sequence[Legend], width: float, high: float) -> float:
    """Return the largest letters (mm) in which all of them on a sheet of `width` are at most `high`, mm."""
    return next((size for size in SIZES if room(legends, width, size) <= high), LETTER)
