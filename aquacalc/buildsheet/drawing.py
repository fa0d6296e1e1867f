"""Drawings for the bench, projected from the geometry: section, plan view and the whole put together.

To a true scale on A4 or Letter, black on white. Every point of a drawing is a point of `geometry.space`
seen along one direction, so that what is measured on it is what is computed and cut.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

from aquacalc.buildsheet import heights, legend
from aquacalc.buildsheet.canvas import FOOT, LETTER, MARGIN, PAPER, PHONE, TITLE, Canvas, text_width
from aquacalc.buildsheet.legend import Legend
from aquacalc.buildsheet.scene import (
    ABOVE,
    ABOVE_SIDE,
    CORNERS,
    FRONT,
    PUMP,
    SIDE,
    Frame,
    Scene,
    View,
    details,
    extent,
    outline,
    slices,
)
from aquacalc.geometry.placed import Point, Standing
from aquacalc.plan.model import Bed, Plan
from aquacalc.units import show

#: Scales that are used, 1 to so many.
SCALES = (*range(1, 51), 60, 75, 100, 125, 150, 200, 300, 500, 1000)
#: Lengths of the scale bar, m, with their names; the longest that is no more than 60 mm of paper is drawn.
BARS = {
    "metric": ((1.0, "1 m"), (0.5, "0.5 m"), (0.2, "0.2 m"), (0.1, "0.1 m"), (0.05, "50 mm")),
    "us": ((0.9144, "3 ft"), (0.3048, "1 ft"), (0.1524, "6 in"), (0.0762, "3 in"), (0.0254, "1 in")),
}
#: Room (mm) left for dimensions beside a view, for marks alone, and between two views.
AROUND, MARKS, BETWEEN = 9.0, 4.0, 12.0
#: How much smaller a drawing may be to leave less empty, and how much may be empty, mm.
NEARLY, ROOMY = 0.85, 32.0
#: Characters of a row under a view on a phone.
ON_PHONE = 38
_EDGES: tuple[Callable, ...] = (min, max)


@dataclass(frozen=True, repr=False)
class Drawing:
    """A drawing on a sheet of paper; `scale` 20 means 1:20.

    Attributes
    ----------
    name, paper : str
    scale : int
    canvas : Canvas
    alt : str
        The same in words.
    """

    name: str
    paper: str
    scale: int
    canvas: Canvas
    alt: str

    def __repr__(self) -> str:
        return self.alt

    def svg(self) -> str:
        """Return the SVG, as wide and high as the paper."""
        return self.canvas.svg(self.alt)

    def _repr_html_(self) -> str:
        """Show it in a notebook, scrolled sideways where it is wider than the window."""
        return f'<div tabindex="0" style="overflow-x:auto">{self.svg()}</div>'


def scale_for(per: float) -> int:
    """Largest scale that is used where there is room for `per` mm of paper to a metre."""
    return next((n for n in SCALES if 1e3 / n <= per), SCALES[-1])


def sheet_of_paper(
    plan: Plan, paper: str, upright: bool, what: str, note: str, scale: int = 0, height: float = 0.0
) -> Canvas:
    """Begin a sheet, `height` mm high if given: title, note at its foot, the scale in words and as a bar."""
    canvas = Canvas(paper, upright, height)
    small = paper == PHONE
    title = what[:1].upper() + what[1:] if small else f"{plan.name}: {what}"
    canvas.text((MARGIN, MARGIN + 3.0), title, size=5.5, bold=True)
    foot = canvas.height - MARGIN - 2.0
    if scale:
        canvas.text((MARGIN, foot), note if small else f"1:{scale} printed at 100 % on {paper}. {note}")
        long, label = next((b for b in BARS[plan.units] if b[0] * 1e3 / scale <= 60.0), BARS[plan.units][-1])
        right = canvas.width - MARGIN
        bar = foot - 6.0 if upright else foot
        canvas.line([(right - long * 1e3 / scale, bar), (right, bar)], 1.2)
        canvas.text((right - long * 1e3 / scale - 2.0, bar), label, "end")
    else:
        canvas.text((MARGIN, foot), note)
    return canvas


@dataclass(frozen=True)
class _Sheet:
    """Views one above the other on a sheet, and what is written under them.

    `per` is the mm to a metre that there is room for, `spare` the height that stays empty at the scale used.
    """

    views: tuple[View, ...]
    paper: str
    upright: bool
    extents: tuple[tuple[float, float, float, float], ...]
    legends: tuple[Legend, ...]
    per: float
    size: float
    spare: float

    @property
    def what(self) -> str:
        return " and ".join(view.name for view in self.views)


def _laid(
    seen: dict[View, tuple[float, float, float, float]],
    legends: tuple[Legend, ...],
    paper: str,
    upright: bool,
) -> _Sheet:
    """Fit views, of which each shows so much, on a sheet, as large as may be."""
    width, height = PAPER[paper][::-1] if upright else PAPER[paper]
    views, extents = tuple(seen), tuple(seen.values())
    ladder, ladder_high = 0.0, 0.0
    if views[0].side:
        ladder, ladder_high = heights.LADDER, heights.LINE * (len(legends[0].rows) + 1)
    wide = max(e[2] - e[0] for e in extents)
    high = sum(e[3] - e[1] for e in extents)
    gaps = sum(sum(_around(view)) for view in views) + BETWEEN * (len(views) - 1)
    foot = height - MARGIN - FOOT
    free = foot - MARGIN - TITLE - gaps
    across = width - 2.0 * MARGIN - ladder - 2.0 * AROUND
    per = max(min(across / wide, (free - legend.room(legends, width)) / high), 1e3 / SCALES[-1])
    free -= high * 1e3 / scale_for(per)
    size = legend.letters(legends, width, min(free, foot - MARGIN - TITLE - ladder_high))
    return _Sheet(
        views, paper, upright, extents, legends, per, size, free - legend.room(legends, width, size)
    )


def _around(view: View) -> tuple[float, float]:
    """Room (mm) over and under a view: a section has dimensions over it, a plan view under it."""
    return AROUND if view.side else MARKS, AROUND if view.above else MARKS


def _best(scene: Scene, paper: str, *choices: tuple[View, ...]) -> _Sheet:
    """Choose the views, and which way the paper lies, that leave least empty and are hardly smaller."""
    sheets = []
    for views in choices:
        seen = {view: extent(view, scene.space) for view in views}
        for shown in (scene, replace(scene, pieces=())):
            legends = legend.under(shown, views)
            sheets += [_laid(seen, legends, paper, upright) for upright in (False, True)]
    largest = max(sheet.per for sheet in sheets)
    return min(
        (sheet for sheet in sheets if sheet.per >= NEARLY * largest),
        key=lambda sheet: (max(sheet.spare, ROOMY), scale_for(sheet.per), -len(sheet.legends)),
    )


def view_drawings(scene: Scene, paper: str) -> list[Drawing]:
    """Draw section and plan view, on one sheet one above the other where that does not make them small.

    On a phone each is a stack of details.
    """
    lines = extent(ABOVE, scene.space)
    side = lines[3] - lines[1] > lines[2] - lines[0]
    views = (SIDE, ABOVE_SIDE) if side else (FRONT, ABOVE)
    if paper == PHONE:
        return [_detail(part, view, k) for view in views for k, part in enumerate(details(scene, view), 1)]
    both, alone = _best(scene, paper, views), [_best(scene, paper, (view,)) for view in views]
    together = both.per >= 0.9 * min(each.per for each in alone)
    return [_drawn(scene, sheet, sheet.what) for sheet in ([both] if together else alone)]


def assembly_drawings(scene: Scene, paper: str) -> list[Drawing]:
    """Draw everything put together, seen from a corner: lengths along x, y and upright are to scale.

    On a phone the whole has the names of vessels alone, and details the marks of the pieces.
    """
    if paper == PHONE:
        bare = replace(scene, marks=(), spots={})
        parts = enumerate([bare, *details(scene, CORNERS[0])])
        return [_detail(part, CORNERS[0], k) for k, part in parts]
    drawn = _drawn(scene, _best(scene, paper, *((view,) for view in CORNERS)), "put together")
    pieces = "; ".join(mark for mark, *_ in scene.marks)
    return [replace(drawn, alt=f"{drawn.alt} Pieces: {pieces}.")]


def _detail(scene: Scene, view: View, number: int) -> Drawing:
    """Draw a part of a view for a phone, as high as it has to be."""
    what = f"{view.name} {number}" if number else view.name
    width, _ = PAPER[PHONE][::-1]
    legends = legend.under(scene, (view,), ON_PHONE) if view.side and scene.listed else ()
    x0, y0, x1, y1 = extents = extent(view, scene.space)
    ladder, under = heights.LADDER if view.side else 0.0, legend.room(legends, width)
    scale = scale_for((width - 2.0 * MARGIN - ladder - 2.0 * AROUND) / (x1 - x0))
    high = (y1 - y0) * 1e3 / scale + 4.0 * AROUND
    if ladder:  # every value of the ladder needs its line
        high = max(high, heights.LINE * (len(heights.marks(scene.plan)) + 1))
    canvas = sheet_of_paper(
        scene.plan, PHONE, True, what, _note(scene), scale, 2.0 * MARGIN + TITLE + FOOT + under + high
    )
    spare = high - (y1 - y0) * 1e3 / scale - sum(_around(view))
    sheet = _Sheet((view,), PHONE, True, (extents,), legends, 1e3 / scale, LETTER, spare)
    return _views(scene, canvas, sheet, scale, what)


def _drawn(scene: Scene, sheet: _Sheet, title: str) -> Drawing:
    scale = scale_for(sheet.per)
    canvas = sheet_of_paper(scene.plan, sheet.paper, sheet.upright, title, _note(scene), scale)
    return _views(scene, canvas, sheet, scale, sheet.what)


def _views(scene: Scene, canvas: Canvas, sheet: _Sheet, scale: int, what: str) -> Drawing:
    """Draw the views of a sheet: what is spare goes in equal parts over, between and under them."""
    plan, per, words = scene.plan, 1e3 / scale, []
    under = foot_of_all = canvas.height - MARGIN - FOOT - legend.room(sheet.legends, canvas.width, sheet.size)
    for one in sheet.legends:
        one.write(canvas, under, sheet.size)
        under += one.room(canvas.width, sheet.size)
    gap = max(sheet.spare, 0.0) / (len(sheet.views) + 1)
    top, frames = MARGIN + TITLE + gap, []
    ladder = heights.LADDER if any(view.side for view in sheet.views) else 0.0
    for view, (x0, y0, x1, y1) in zip(sheet.views, sheet.extents, strict=True):
        over, below = _around(view)
        left = MARGIN + ladder + AROUND
        left += 0.5 * max(canvas.width - MARGIN - AROUND - left - (x1 - x0) * per, 0.0)
        foot = top + over + (y1 - y0) * per
        frames.append(Frame(view, per, left, foot, (x0, y0)))
        top = foot + below + BETWEEN + gap
    for frame in frames:
        if frame.view.side:
            words.append(_heights(canvas, scene, frame, foot_of_all - 0.5 * sheet.size))
    for frame in frames:
        _parts(canvas, scene, frame)
        words.append(_sizes(canvas, scene, frame))
    for frame in frames:
        _labels(canvas, scene, frame)
    alt = f"{what[:1].upper()}{what[1:]} of {plan.name} at 1:{scale}. {' '.join(words)}"
    return Drawing(what.replace(" ", "-"), canvas.paper, scale, canvas, alt)


def _note(scene: Scene) -> str:
    placed = all(s.given for s in scene.space.vessels.values()) and all(li.given for li in scene.space.lines)
    return "" if placed else "Places come from lengths: measure on the spot."


def _parts(canvas: Canvas, scene: Scene, at: Frame) -> None:
    """Draw vessels, what stands in them, and pipes over them."""
    for standing in scene.space.vessels.values():
        _vessel(canvas, standing, at)
    for u in scene.space.uprights:
        _cylinder(canvas, at, (u.x, u.y, u.low), (u.x, u.y, u.high), u.diameter)
    for line in sorted(scene.space.lines, key=lambda li: min(at.view.flat(p)[1] for p in li.points)):
        wide = max(line.pipe.outside_diameter * at.per, 1.0)
        points = [at(p) for p in line.points]
        canvas.line(points, wide)
        canvas.line(points, max(wide - 0.6, 0.3), ink="#fff")
        for (a, b), (c, d) in zip(pairwise(line.points), pairwise(points), strict=True):
            if math.dist(c, d) < 0.05 * math.dist(a, b) * at.per:  # seen end on
                canvas.circle(c, 0.5 * wide, fill="#fff")
    if PUMP in scene.spots:
        x, y = at(scene.spots[PUMP])
        canvas.line([(x - 2, y - 2), (x + 2, y - 2), (x + 2, y + 2), (x - 2, y + 2)], 0.5, "", True, "#fff")
        canvas.texts.append((x - 3.0, y - 3.0, x + 3.0, y + 3.0))
    if at.view.above:
        for hole in scene.space.holes:
            if hole.hole.wall == "floor":
                x, y = at(hole.at)
                r = 0.5 * hole.hole.widest * at.per
                canvas.circle((x, y), r, 0.3)
                canvas.line([(x - r - 1.5, y), (x + r + 1.5, y)], 0.15)
                canvas.line([(x, y - r - 1.5), (x, y + r + 1.5)], 0.15)
                canvas.texts.append((x - r - 1.0, y - r - 1.0, x + r + 1.0, y + r + 1.0))


def _vessel(canvas: Canvas, standing: Standing, at: Frame) -> None:
    """Draw the inside of a vessel: floor, rim and the sides that are seen."""
    rings = [[at(p) for p in outline(standing, z)] for z in slices(standing)]
    if not at.view.side:
        canvas.line(rings[0], 0.25, "1.5 1" if at.view.above else "", close=True)
        canvas.line(rings[-1], 0.5, close=True)
    if at.view.above:
        return
    if at.view.side or standing.vessel.shape.rounded:
        for edge in _EDGES:
            canvas.line([edge(ring) for ring in rings], 0.5)
    else:
        for k in range(len(rings[0])):
            canvas.line([ring[k] for ring in rings], 0.35)
    if at.view.side:
        canvas.line([min(rings[0]), max(rings[0])], 0.5)
        vessel = standing.vessel
        if isinstance(vessel, Bed):
            ring = [at(p) for p in outline(standing, vessel.floor + vessel.media.depth)]
            canvas.line([min(ring), max(ring)], 0.25, "0.8 0.8")


def _cylinder(canvas: Canvas, at: Frame, low: Point, high: Point, diameter: float) -> None:
    """Draw a round part that stands."""
    half = 0.5 * diameter
    turns = [math.radians(10.0 * k) for k in range(36)]
    rings = [
        [at((x + half * math.cos(t), y + half * math.sin(t), z)) for t in turns] for x, y, z in (low, high)
    ]
    if not at.view.side:
        canvas.line(rings[1], 0.3, close=True)
    if at.view.above:
        return
    for edge in _EDGES:
        canvas.line([edge(rings[0]), edge(rings[1])], 0.3, "1.2 0.8")
    if at.view.side:
        canvas.line([min(rings[1]), max(rings[1])], 0.3, "1.2 0.8")


def _size(scene: Scene, name: str, view: View) -> tuple[float, ...]:
    """Inside sizes (m) of a vessel to the right and up the paper; its own where it lies askew."""
    standing = scene.space.vessels[name]
    shape = standing.vessel.shape
    corners = [view.flat(p) for p in outline(standing, standing.vessel.rim)]
    if view.above and _askew(standing):
        corners = shape.outline(shape.depth)
    return tuple(max(side) - min(side) for side in zip(*corners, strict=True))


def _askew(standing: Standing) -> bool:
    return bool(standing.turn % 90.0) and not standing.vessel.shape.rounded


def _sizes(canvas: Canvas, scene: Scene, at: Frame) -> str:
    """Draw the inside sizes of vessels and the middles of the holes in their floors, where there is room.

    Of vessels that are alike and lie the same way one has them: all of them are written under a plan view.
    """
    words: list[str] = []
    done: set[tuple[str, str, float]] = set()
    if not at.view.side and not at.view.above:
        return ""
    for name, standing in scene.space.vessels.items():
        ring = [at(p) for p in outline(standing, standing.vessel.rim)]
        xs, ys = [p[0] for p in ring], [p[1] for p in ring]
        x0, x1, y0, y1 = min(xs), max(xs), min(ys), max(ys)
        wide, high = (show(x, "length", scene.plan.units) for x in _size(scene, name, at.view))
        if at.view.side:
            words.append(f"{name} {wide} wide")
            for over in (4.0,) if (wide, "", 0.0) in done else (4.0, 10.0, 16.0, 22.0):
                if canvas.dimension((x0, y0 - over), (x1, y0 - over), wide, 3.2, must=False):
                    done.add((wide, "", 0.0))
                    break
            continue
        words.append(f"{name} {wide} by {high}")
        if (wide, high, standing.turn) in done or _askew(standing):
            continue
        done.add((wide, high, standing.turn))
        canvas.dimension((x0, y1 + 3.0), (x1, y1 + 3.0), wide, -3.2, must=False)
        beside, side = (x0 + 3.0, -3.2) if x1 - x0 > 40.0 else (x0 - 3.0, 3.2)
        canvas.dimension((beside, y1), (beside, y0), high, side, must=False)
        for hole in scene.space.holes:
            if hole.hole.wall == "floor" and hole.hole.vessel == name and not standing.vessel.shape.rounded:
                x, y = at(hole.at)
                long, up = (show(d / at.per, "length", scene.plan.units) for d in (x - x0, y1 - y))
                canvas.dimension((x0, y - 6.0), (x, y - 6.0), long, 3.2, must=False)
                canvas.dimension((x + 6.0, y1), (x + 6.0, y), up, -3.2, must=False)
    return f"Inside sizes: {'; '.join(words)}."


def _heights(canvas: Canvas, scene: Scene, at: Frame, foot: float) -> str:
    """Write the values of all elevations beside a section; return them with what lies there."""
    left = MARGIN + heights.LADDER
    shown = [mark for mark in heights.marks(scene.plan) if mark[0] >= at.low[1] - 1e-6]
    wanted = [at.foot - (z - at.low[1]) * at.per for z, _, _ in shown]
    heights.ladder(canvas, shown, wanted, left, (MARGIN + TITLE, foot))
    for y in wanted:
        canvas.line([(left, y), (canvas.width - MARGIN, y)], 0.1, ink="#999")
    return "; ".join(f"{text} {value}" for _, text, value in shown) + "."


def _labels(canvas: Canvas, scene: Scene, at: Frame) -> None:
    """Write the names of vessels and tees, and the mark of every piece that this view does not see end on.

    Where a level view has no room for one it is left out: the whole put together has all of them.
    """
    must = not at.view.side
    for name, standing in scene.space.vessels.items():
        ring = [at(p) for p in outline(standing, standing.vessel.rim)]
        x, y = (sum(p[k] for p in ring) / len(ring) for k in (0, 1))
        if at.view.side:
            y = at.foot - (standing.vessel.floor + 0.5 * standing.vessel.shape.depth - at.low[1]) * at.per
        half = 0.5 * text_width(name)
        spots = [
            (x + dx, y + dy) for dx in (0.0, -half, half, -18.0, 18.0) for dy in (0.0, -6.0, 6.0, -12.0, 12.0)
        ]
        if not must:  # in the vessel, so that nobody takes it for another's
            (x0, x1), (y0, y1) = ((min(p[k] for p in ring), max(p[k] for p in ring)) for k in (0, 1))
            y1 = at.foot - (standing.vessel.floor - at.low[1]) * at.per
            spots = [p for p in spots if x0 < p[0] < x1 and y0 < p[1] < y1]
        free = [p for p in spots if canvas.free((p[0] - half, p[1] - 2.5, p[0] + half, p[1] + 2.5))]
        if free or must:
            canvas.text((free or spots)[0], name, "middle", bold=True)
    for name, spot in scene.spots.items():
        if name != PUMP:
            canvas.label(at(spot), name, must=must)
    for mark, a, b, _ in scene.marks:
        (xa, ya), (xb, yb) = at(a), at(b)
        if math.dist((xa, ya), (xb, yb)) >= 0.3 * math.dist(a, b) * at.per:
            canvas.label((0.5 * (xa + xb), 0.5 * (ya + yb)), mark, bold=True, must=must)
