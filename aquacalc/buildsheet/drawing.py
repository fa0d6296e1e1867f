"""Drawings for the bench, projected from the geometry: section, plan view and the whole put together.

To a true scale on A4 or Letter, black on white. Every point of a drawing is a point of `geometry.space`
seen along one direction, so that what is measured on it is what is computed and cut.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from aquacalc.buildsheet import heights
from aquacalc.buildsheet.canvas import FOOT, LETTER, MARGIN, PAPER, PHONE, TITLE, Canvas, text_width
from aquacalc.buildsheet.scene import (
    ABOVE,
    ABOVE_SIDE,
    CORNER,
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
#: Room (mm) left for dimensions around a view, and between two views.
AROUND, BETWEEN = 9.0, 12.0
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


def _rooms(scene: Scene, views: Sequence[View], width: float) -> tuple[float, float]:
    """Return the room (mm) for the heights of a section: beside it, and under it on a sheet of `width`."""
    if views[0].name != "section":
        return 0.0, 0.0
    return heights.LADDER, heights.table_room(heights.marks(scene.plan), width) if scene.listed else 0.0


def _fit(
    scene: Scene, views: Sequence[View], paper: str, upright: bool
) -> tuple[float, list[tuple[float, float, float, float]]]:
    """Return the mm to a metre at which views fit one above the other, and what each shows."""
    width, height = PAPER[paper][::-1] if upright else PAPER[paper]
    extents = [extent(view, scene.space) for view in views]
    ladder, under = _rooms(scene, views, width)
    wide = max(e[2] - e[0] for e in extents)
    high = sum(e[3] - e[1] for e in extents)
    across = width - 2.0 * MARGIN - ladder - 2.0 * AROUND
    up = height - 2.0 * MARGIN - TITLE - FOOT - 2.0 * AROUND * len(views) - BETWEEN * (len(views) - 1)
    return min(across / wide, (up - under) / high), extents


def _ways(paper: str) -> tuple[bool, ...]:
    """Whether a sheet may stand on its short side, and whether it may lie: a phone's stands."""
    return (True,) if paper == PHONE else (False, True)


def _sheets(scene: Scene, paper: str) -> list[tuple[tuple[View, ...], bool]]:
    """Choose which views share a sheet and whether it stands: the way that draws them largest."""
    lines = extent(ABOVE, scene.space)
    side = lines[3] - lines[1] > lines[2] - lines[0]
    section, above = (SIDE, ABOVE_SIDE) if side else (FRONT, ABOVE)

    def best(views: tuple[View, ...]) -> tuple[float, bool]:
        return max((_fit(scene, views, paper, u)[0], u) for u in _ways(paper))

    both, alone = best((section, above)), [best((v,)) for v in (section, above)]
    if paper != PHONE and both[0] >= 0.8 * min(each[0] for each in alone):
        return [((section, above), both[1])]
    return [((v,), each[1]) for v, each in zip((section, above), alone, strict=True)]


def view_drawings(scene: Scene, paper: str) -> list[Drawing]:
    """Draw section and plan view, on one sheet one above the other where that does not make them small.

    On a phone each is a stack of details.
    """
    found, plan = [], scene.plan
    if paper == PHONE:
        for (view,), _ in _sheets(scene, paper):
            found += [_detail(part, view, k) for k, part in enumerate(details(scene, view), 1)]
        return found
    for views, upright in _sheets(scene, paper):
        per, extents = _fit(scene, views, paper, upright)
        scale = scale_for(per)
        what = " and ".join(view.name for view in views)
        canvas = sheet_of_paper(plan, paper, upright, what, _note(scene), scale)
        found.append(_views(scene, canvas, views, extents, scale, what))
    return found


def _detail(scene: Scene, view: View, number: int) -> Drawing:
    """Draw a part of a view for a phone, as high as it has to be."""
    what = f"{view.name} {number}" if number else view.name
    width, _ = PAPER[PHONE][::-1]
    (x0, y0, x1, y1), (ladder, under) = extent(view, scene.space), _rooms(scene, (view,), width)
    scale = scale_for((width - 2.0 * MARGIN - ladder - 2.0 * AROUND) / (x1 - x0))
    high = (y1 - y0) * 1e3 / scale + 4.0 * AROUND
    if ladder:  # every value of the ladder needs its line
        high = max(high, heights.LINE * (len(heights.marks(scene.plan)) + 1))
    canvas = sheet_of_paper(
        scene.plan, PHONE, True, what, _note(scene), scale, 2.0 * MARGIN + TITLE + FOOT + under + high
    )
    return _views(scene, canvas, (view,), [(x0, y0, x1, y1)], scale, what)


def _views(scene: Scene, canvas: Canvas, views, extents, scale: int, what: str) -> Drawing:
    plan, per, words = scene.plan, 1e3 / scale, []
    high = sum(e[3] - e[1] for e in extents) * per + 2.0 * AROUND * len(views) + BETWEEN * (len(views) - 1)
    ladder, under = _rooms(scene, views, canvas.width)
    size = LETTER
    if under and canvas.paper != PHONE:
        marks, free = heights.marks(plan), canvas.height - 2.0 * MARGIN - TITLE - FOOT - high
        size = heights.letters(marks, canvas.width, free)
        under = heights.table_room(marks, canvas.width, size)
    foot_of_all = canvas.height - MARGIN - FOOT - under
    spare = foot_of_all - MARGIN - TITLE - high
    top = MARGIN + TITLE + 0.5 * max(spare, 0.0)
    frames = []
    for view, (x0, y0, x1, y1) in zip(views, extents, strict=True):
        left = MARGIN + ladder + AROUND
        left += 0.5 * max(canvas.width - MARGIN - AROUND - left - (x1 - x0) * per, 0.0)
        foot = top + AROUND + (y1 - y0) * per
        frames.append(Frame(view, per, left, foot, (x0, y0)))
        top = foot + AROUND + BETWEEN
    for frame in frames:
        if frame.view.name == "section":
            words.append(_heights(canvas, plan, frame, foot_of_all, size if scene.listed else 0.0))
    for frame in frames:
        _parts(canvas, scene, frame)
        words.append(_sizes(canvas, scene, frame))
    for frame in frames:
        _labels(canvas, scene, frame)
    name = what.replace(" ", "-")
    alt = f"{what[:1].upper()}{what[1:]} of {plan.name} at 1:{scale}. {' '.join(words)}"
    return Drawing(name, canvas.paper, scale, canvas, alt)


def assembly_drawings(scene: Scene, paper: str) -> list[Drawing]:
    """Draw everything put together, seen from a corner: lengths along x, y and upright are to scale.

    On a phone the whole has the names of vessels alone, and details the marks of the pieces.
    """
    plan = scene.plan
    if paper == PHONE:
        bare = replace(scene, marks=(), spots={})
        parts = enumerate([bare, *details(scene, CORNER)])
        return [_detail(part, CORNER, k) for k, part in parts]
    upright = max(_ways(paper), key=lambda u: _fit(scene, (CORNER,), paper, u)[0])
    per, extents = _fit(scene, (CORNER,), paper, upright)
    scale = scale_for(per)
    canvas = sheet_of_paper(plan, paper, upright, "put together", _note(scene), scale)
    drawn = _views(scene, canvas, (CORNER,), extents, scale, "assembly")
    pieces = "; ".join(f"{mark}" for mark, _, _ in scene.marks)
    return [Drawing("assembly", paper, scale, canvas, f"{drawn.alt} Pieces: {pieces}.")]


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
    if at.view.side or len(rings[0]) > 8:
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


def _sizes(canvas: Canvas, scene: Scene, at: Frame) -> str:
    """Write the inside sizes of every vessel beside it, and the middles of the holes in its floor."""
    said, s = [], scene.plan.units
    if at.view is CORNER:
        return ""
    for name, standing in scene.space.vessels.items():
        ring = [at(p) for p in outline(standing, standing.vessel.rim)]
        xs, ys = [p[0] for p in ring], [p[1] for p in ring]
        x0, x1, y0, y1 = min(xs), max(xs), min(ys), max(ys)
        wide, long = ((b - a) / at.per for a, b in ((x0, x1), (y0, y1)))
        text, tall = show(wide, "length", s), show(long, "length", s)
        half = 0.5 * text_width(text)
        if at.view.side:
            middle, over = 0.5 * (x0 + x1), y0 - 4.0
            while over > MARGIN + TITLE and not canvas.free(
                (middle - half, over - 5.5, middle + half, over - 1.0)
            ):
                over -= 6.0
            canvas.dimension((x0, over), (x1, over), text, 3.2)
            said.append(f"{name} {text} wide")
            continue
        if standing.turn % 90.0 and not standing.vessel.shape.rounded:  # it lies askew
            sides = zip(*standing.vessel.shape.outline(standing.vessel.shape.depth), strict=True)
            text, tall = (show(max(side) - min(side), "length", s) for side in sides)
            canvas.label((0.5 * (x0 + x1), y1), f"{text} by {tall}")
            said.append(f"{name} {text} by {tall}")
            continue
        canvas.dimension((x0, y1 + 3.0), (x1, y1 + 3.0), text, -3.2)
        beside, side = (x0 + 3.0, -3.2) if x1 - x0 > 40.0 else (x0 - 3.0, 3.2)
        canvas.dimension((beside, y1), (beside, y0), tall, side)
        said.append(f"{name} {text} by {tall}")
        for hole in scene.space.holes:
            if hole.hole.wall == "floor" and hole.hole.vessel == name and not standing.vessel.shape.rounded:
                x, y = at(hole.at)
                canvas.dimension((x0, y - 6.0), (x, y - 6.0), show((x - x0) / at.per, "length", s), 3.2)
                canvas.dimension((x + 6.0, y1), (x + 6.0, y), show((y1 - y) / at.per, "length", s), -3.2)
    return f"Inside sizes: {'; '.join(said)}."


def _heights(canvas: Canvas, plan: Plan, at: Frame, foot: float, size: float) -> str:
    """Write the values of all elevations beside a section, and in `size` what lies there; return both."""
    shown, left = heights.marks(plan), MARGIN + heights.LADDER
    if not size:
        shown = [mark for mark in shown if mark[0] >= at.low[1] - 1e-6]
    wanted = [at.foot - (z - at.low[1]) * at.per for z, _, _ in shown]
    heights.ladder(canvas, shown, wanted, left, (MARGIN + TITLE, foot))
    for y in wanted:
        canvas.line([(left, y), (canvas.width - MARGIN, y)], 0.1, ink="#999")
    if size:
        end = foot + heights.table_room(shown, canvas.width, size)
        heights.table(canvas, shown, f"Above {plan.datum}:", end, size)
    return "; ".join(f"{text} {value}" for _, text, value in shown) + "."


def _labels(canvas: Canvas, scene: Scene, at: Frame) -> None:
    """Write the names of vessels and tees, and the mark of every piece that this view does not see end on."""
    for name, standing in scene.space.vessels.items():
        ring = [at(p) for p in outline(standing, standing.vessel.rim)]
        x, y = (sum(p[k] for p in ring) / len(ring) for k in (0, 1))
        if at.view.side:
            y = at.foot - (standing.vessel.floor + 0.5 * standing.vessel.shape.depth - at.low[1]) * at.per
        half = 0.5 * text_width(name)
        spots = [
            (x + dx, y + dy) for dx in (0.0, -half, half, -18.0, 18.0) for dy in (0.0, -6.0, 6.0, -12.0, 12.0)
        ]
        free = [p for p in spots if canvas.free((p[0] - half, p[1] - 2.5, p[0] + half, p[1] + 2.5))]
        canvas.text((free or spots)[0], name, "middle", bold=True)
    for mark, a, b in scene.marks:
        (xa, ya), (xb, yb) = at(a), at(b)
        if math.dist((xa, ya), (xb, yb)) >= 0.3 * math.dist(a, b) * at.per:
            canvas.label((0.5 * (xa + xb), 0.5 * (ya + yb)), mark, bold=True)
    for name, spot in scene.spots.items():
        if name != PUMP:
            canvas.label(at(spot), name)
