"""Map of a sweep over two plan values: regions by what speaks against a plan, and where this plan lies."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.patches import PathPatch

from aquacalc.figures import style as s
from aquacalc.figures.map_cells import Room, edges, outlines, path_of
from aquacalc.figures.outline import Point
from aquacalc.figures.picture import Picture
from aquacalc.figures.sweep_regions import FILLS, Axis, Regions, regions
from aquacalc.figures.vector import nice_ticks, spread
from aquacalc.plan import edit
from aquacalc.plan.model import Plan
from aquacalc.units import in_unit

if TYPE_CHECKING:
    import pandas as pd

HEIGHT = 440.0
LEFT, TOP, WIDE, TALL = 84.0, 46.0, 560.0, 330.0
#: Where words beside the map begin, and how wide they may be, px.
SIDE = LEFT + WIDE + 34.0
SIDE_WIDE = s.WIDTH - SIDE - 6.0
#: Room that a line of words takes, px.
LINE = 13.5
#: Characters to a line that are tried for a label, the widest first.
WRAPS = (34, 22, 16, 12)
#: Columns that lines can show, by the last part of their name: words, kind, unit if not the kind's own.
LINES = {
    "period": ("length of a cycle", "time", "min"),
    "fill_time": ("time to fill", "time", "min"),
    "spill_time": ("time of spilling", "time", None),
    "priming_time": ("time of priming", "time", None),
    "drain_time": ("time to drain", "time", "min"),
    "floods_per_hour": ("floods an hour", "number", None),
    "inflow": ("inflow", "flow", None),
    "choking": ("flow that starts it", "flow", None),
    "flow_start": ("flow when it starts", "flow", None),
    "flow_break": ("flow when it breaks", "flow", None),
    "low": ("lowest level", "elevation", None),
    "high": ("highest level", "elevation", None),
    "at_break": ("level at the break", "elevation", None),
    "sump_low": ("lowest level of the sump", "elevation", None),
    "sump_high": ("highest level of the sump", "elevation", None),
    "sump_drained": ("level of the sump with all water back", "elevation", None),
}


def plan_map(table: pd.DataFrame, plan: Plan, system: str, lines: str = "") -> Picture:
    """Draw what each plan of a sweep over two plan values does.

    Parameters
    ----------
    table : pandas.DataFrame
        From `aquacalc.design.sweep.sweep`, best with ``findings=True``.
    plan : Plan
        The plan that was swept; its own values are marked.
    system : {"metric", "us"}
    lines : str, optional
        Column to draw lines of equal value of, "siphon.period" for instance;
        where the plan does not cycle there are none.

    Returns
    -------
    Picture

    Raises
    ------
    ValueError
        For a table that is no grid of two plan values, or a column of which
        no lines can be drawn; it says the fix.
    """
    drawn = _Map(regions(table), table, plan, system, lines)
    return Picture(drawn.figure, drawn.alt)


class _Map:
    """A map while it is drawn; places of words are pixels from the lower left corner of its axes."""

    def __init__(self, found: Regions, table: pd.DataFrame, plan: Plan, system: str, lines: str):
        self.found, self.system = found, system
        self.figure = s.new_figure(HEIGHT)
        self.axes = s.place(self.figure, LEFT, TOP, WIDE, TALL)
        self.side = s.bare(self.figure, SIDE, TOP, SIDE_WIDE, TALL)
        self.side.set_ylim(0.0, TALL)
        self.notes: list[str] = []
        ends = [edges(axis.at) for axis in (found.x, found.y)]
        self.axes.set_xlim(ends[0][0], ends[0][-1])
        self.axes.set_ylim(ends[1][0], ends[1][-1])
        _scale(self.axes, "x", found.x, system)
        _scale(self.axes, "y", found.y, system)
        self.room = Room(found.of, self._px(0, ends[0]), self._px(1, ends[1]))
        self._regions(ends)
        told = [self._mark(plan)]
        beside = [k for k in range(len(found.names)) if not self._inside(k)]
        if lines:
            told.append(self._lines(table, lines))
        self._beside(beside)
        self.axes.set_title(
            f"{found.runs} plans: what does each do?",
            fontsize=s.TEXT, fontfamily=s.FAMILY, color=s.INK, loc="left", weight="bold", pad=14,
        )  # fmt: skip
        self.alt = " ".join([*self._told(), *told])

    def _px(self, which: int, values) -> np.ndarray:
        low, high = (self.axes.get_xlim, self.axes.get_ylim)[which]()
        return (np.asarray(values, dtype=float) - low) / (high - low) * (WIDE, TALL)[which]

    def _data(self, x: float, y: float) -> Point:
        (x0, x1), (y0, y1) = self.axes.get_xlim(), self.axes.get_ylim()
        return x0 + (x1 - x0) * x / WIDE, y0 + (y1 - y0) * y / TALL

    def _write(self, at: Point, text: str, size: float = s.SMALL, **options) -> None:
        """Write words on paper of their own, so that hatches and lines do not run through them."""
        box = {"fc": s.PAPER, "ec": "none", "pad": 1.2, "alpha": 0.88}
        s.write(
            self.axes, *self._data(*at), text, size, **{"ha": "center", "zorder": 5, "bbox": box, **options}
        )

    def _regions(self, ends: list[np.ndarray]) -> None:
        used = dict.fromkeys(FILLS, 0)
        for k, (_, verdict) in enumerate(self.found.names):
            fill, hatches = FILLS[verdict]
            path = path_of(outlines(self.found.of == k, *ends))
            hatch = hatches[used[verdict]]
            used[verdict] += 1
            self.axes.add_patch(PathPatch(path, fc=fill, ec=s.SOFT, lw=0.8, hatch=hatch, zorder=1))

    def _mark(self, plan: Plan) -> str:
        """Mark the plan's own values; return a sentence about them."""
        places = []
        for axis in (self.found.x, self.found.y):
            value = own_value(plan, axis)
            place = axis.place(value)
            if place is None:
                told = f"This plan is off the map: {axis.words} {axis.told(value, self.system)}."
                self.notes.append(told)
                return told
            places.append(place)
        x, y = (float(self._px(which, place)) for which, place in enumerate(places))
        self.axes.plot(*places, "o", ms=9, mfc=s.MARK, mec=s.PAPER, mew=1.5, zorder=6)
        self.room.take(x, y, 14.0, 14.0)
        wide = s.text_width("this plan", s.TEXT)
        left = x + wide + 16.0 > WIDE
        x += -10.0 if left else 10.0
        self._write(
            (x, y), "this plan", s.TEXT, ha="right" if left else "left", color=s.MARK, weight="bold", zorder=7
        )
        self.room.take(x + (-0.5 if left else 0.5) * wide, y, wide, LINE + 4.0)
        return f'This plan lies in "{self.found.label(self.found.at(*places))}".'

    def _lines(self, table: pd.DataFrame, column: str) -> str:
        """Draw lines of equal value of a column, each with its value on it; return a sentence about them."""
        last = column.rpartition(".")[2]
        if last not in LINES:
            raise ValueError(
                f'lines of "{column}" cannot be drawn; give a column that ends in one of {", ".join(LINES)}'
            )
        words, kind, unit = LINES[last]
        values = self.found.column(table, column)
        owner = column.rpartition(".")[0]
        words = f"{words}, {owner}" if owner else words
        shown, unit = in_unit(values, kind, self.system, unit)
        seen = shown[np.isfinite(shown)]
        if not seen.size or np.ptp(seen) <= 1e-9 * np.abs(seen).max():
            told = f"No lines of {words}: " + ("it is one everywhere." if seen.size else "no plan cycles.")
            self.notes.append(told)
            return told
        levels = nice_ticks(float(seen.min()), float(seen.max()), 7)
        drawn = self.axes.contour(
            self.found.x.at, self.found.y.at, np.ma.masked_invalid(shown).T, levels=levels,
            colors=s.INK, linewidths=1.2, linestyles=[(0, (6, 2))], zorder=3,
        )  # fmt: skip
        for level, pieces in zip(drawn.levels, drawn.allsegs, strict=True):
            self._level(f"{level:.6g} {unit}".strip().replace("-", "−"), pieces)
        self.notes.append(f"Dashed: {words}{f' ({unit})' if unit else ''}.")
        low, high = (f"{x:.3g} {unit}".strip().replace("-", "−") for x in (seen.min(), seen.max()))
        return f"Lines show {words}: {low} to {high}."

    def _level(self, text: str, pieces) -> None:
        """Write a line's value on its longest piece that has room for it."""
        wide, tall = s.text_width(text) + 4.0, LINE
        for piece in sorted(pieces, key=len, reverse=True):
            if len(piece) < 2:
                continue
            points = np.column_stack([self._px(which, piece[:, which]) for which in (0, 1)])
            order = np.argsort(np.abs(np.arange(len(points)) - 0.5 * (len(points) - 1)), kind="stable")
            for x, y in points[order]:
                if self.room.has(x, y, wide, tall):
                    self._write((x, y), text, zorder=4)
                    self.room.take(x, y, wide, tall)
                    return

    def _inside(self, region: int) -> bool:
        """Name a region inside it; False where the words do not fit."""
        text, works = self.found.label(region), self.found.names[region][1] == "works"
        for turned in (False, True):  # upright in a narrow strip
            for wrap in WRAPS:
                words = "\n".join(textwrap.wrap(text, wrap, break_long_words=False))
                size = s.text_width(words) + 6.0, LINE * (words.count("\n") + 1) + 2.0
                size = size[::-1] if turned else size
                place = self.room.place(region, *size)
                if place is not None:
                    weight, angle = "bold" if works else "normal", 90.0 if turned else 0.0
                    self._write(place, words, weight=weight, rotation=angle, linespacing=1.1)
                    self.room.take(*place, *size)
                    return True
        return False

    def _beside(self, regions_left: list[int]) -> None:
        """Name regions beside the map, with lines to them, above the notes."""
        notes = [line for note in self.notes for line in _wrapped(note)]
        s.write(self.side, 0.0, 0.0, "\n".join(notes), va="bottom", linespacing=1.1)
        texts = ["\n".join(_wrapped(self.found.label(k))) for k in regions_left]
        points = [self.room.inmost(k) for k in regions_left]
        sizes = [LINE * (text.count("\n") + 1) + 6.0 for text in texts]
        places = spread([y for _, y in points], sizes, LINE * len(notes) + 10.0, TALL)
        for (x, y), text, at in zip(points, texts, places, strict=True):
            s.write(self.side, 0.0, at, text, linespacing=1.1)
            ends = [self._data(x, y), self._data(WIDE + 28.0, at)]
            self.axes.plot(
                *zip(*ends, strict=True), color=s.INK, lw=0.8, marker="o", ms=3.0, markevery=[0],
                zorder=4.5, clip_on=False,
            )  # fmt: skip

    def _told(self) -> list[str]:
        """Return sentences about the map and its regions."""
        found = self.found
        axes = [(found.x, range(len(found.x.values))), (found.y, range(len(found.y.values)))]
        said = [f"Map of {found.runs} plans by {' and '.join(self._span(*axis) for axis in axes)}."]
        for k in range(len(found.names)):
            columns, rows = np.nonzero(found.of == k)
            label = found.label(k)
            spans = f"{self._span(found.x, columns)} and {self._span(found.y, rows)}"
            said.append(f"{label[0].upper()}{label[1:]}: {len(columns)} plans, {spans}.")
        return said

    def _span(self, axis: Axis, places) -> str:
        """Write from where to where on an axis some of its values lie."""
        low, high = (axis.told(axis.values[at], self.system) for at in (min(places), max(places)))
        return f"{axis.words} at {low}" if high == low else f"{axis.words} from {low} to {high}"


def own_value(plan: Plan, axis: Axis):
    """Return the plan's own value on an axis; of several beds' values the one that they share, if any."""
    value = edit.get(plan, axis.path)
    if isinstance(value, tuple):
        return value[0] if len(set(value)) == 1 else None
    return value


def _scale(axes, which: str, axis: Axis, system: str) -> None:
    """Tick an axis at round values with its unit, or at the names tried."""
    part, room = (axes.xaxis, WIDE) if which == "x" else (axes.yaxis, LEFT * 2.4)
    if axis.kind is None:
        each = room / len(axis.values) if which == "x" else LEFT - 26.0
        part.set_ticks(axis.at, [s.fit(str(v), each - 6.0) for v in axis.values])
    else:
        s.scale_axis(axes, which, axis.kind, system, axis.words, 8)
    unit = in_unit(1.0, axis.kind, system)[1] if axis.kind else "by name"
    part.set_label_text(f"{axis.words} ({unit or axis.kind})", fontsize=s.SMALL, fontfamily=s.FAMILY)
    part.label.set_color(s.INK)


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, int(SIDE_WIDE / (s.CHARACTER * s.SMALL / s.POINT)))
