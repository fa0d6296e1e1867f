"""What is written under a view: a title and rows, each a value in bold with what it is, in columns."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from aquacalc.buildsheet import heights
from aquacalc.buildsheet.canvas import LETTER, MARGIN, Canvas, text_width
from aquacalc.buildsheet.lengths import said
from aquacalc.buildsheet.scene import Scene, View
from aquacalc.units import show

#: Letters (mm) that are tried, where a sheet has room.
SIZES = (7.0, 6.5, 6.0, 5.5, 5.0, 4.6)
#: Room for a row over the size of its letters, and from a column to the next, mm.
LINE, APART = 1.25, 8.0
#: Characters of a row under a view, on a sheet that stands.
STANDING = 60
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
        for k, (first, text) in enumerate(self.rows):
            x, y = MARGIN + each * (k // lines) + value, top + (k % lines + 1.2) * LINE * size
            canvas.text((x - 2.0, y), first, "end", size, bold=True)
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


def under(scene: Scene, views: Sequence[View], across: int = STANDING) -> tuple[Legend, ...]:
    """Return what is written under views: heights, inside sizes, lengths of pieces."""
    plan, found = scene.plan, []
    if any(view.side for view in views):
        found.append(
            folded(f"Above {plan.datum}:", ((v, text) for _, text, v in heights.marks(plan)), across)
        )
    if any(view.above for view in views):
        title = "Inside sizes; middles of holes in floors, from one end and one side:"
        found.append(folded(title, _alike(scene), across))
    if scene.pieces and not all(view.side for view in views):
        lengths = ((mark, said(long, plan.units)) for mark, long in scene.pieces)
        found.append(Legend("Pieces, as cut:", tuple(lengths)))
    return tuple(found)


def _once(lengths: Sequence[float], system: str) -> list[str]:
    """Write lengths (m) with their unit at the last."""
    shown = [show(x, "length", system) for x in lengths]
    return [*(one.rpartition(" ")[0] for one in shown[:-1]), shown[-1]]


def _alike(scene: Scene) -> Iterable[tuple[str, str]]:
    """Return rows: names of vessels that are alike, their sizes and the middles of holes in their floors."""
    plan = scene.plan
    found: dict[str, list[str]] = {}
    for name in (*(bed.name for bed in plan.beds), *(c.name for c in plan.chambers), plan.sump.name):
        vessel = scene.space.vessels[name].vessel
        across = sorted(
            {max(s) - min(s) for s in zip(*vessel.shape.outline(vessel.shape.depth), strict=True)}
        )
        words = [" by ".join(_once(across[::-1], plan.units))]
        for h in scene.space.holes:
            if h.hole.wall == "floor" and h.hole.vessel == name:
                words.append(f"hole at {' and '.join(_once((h.hole.along, h.hole.across), plan.units))}")
        found.setdefault("; ".join(words), []).append(name)
    return (("", f"{', '.join(names)}: {sizes}") for sizes, names in found.items())
