"""Drawings for the bench: section and plan view, to a true scale on A4 or Letter, black on white."""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import cached_property

from aquacalc.buildsheet.drilling import Hole
from aquacalc.figures import style as s
from aquacalc.figures.outline import path_of, widest
from aquacalc.figures.picture import Picture
from aquacalc.figures.scene import Frame, Scene, build_scene, fit_frame
from aquacalc.figures.vector import spread
from aquacalc.plan.model import Bed, Chamber, Plan, Shape, Sump
from aquacalc.units import show

#: Paper (mm), lying on its long side.
PAPER = {"A4": (297.0, 210.0), "Letter": (279.4, 215.9)}
SCALES = (5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200, 500, 1000)
MM = s.DPI / 25.4  # px of the figure in a millimetre of paper
MARGIN, TITLE, LADDER, FOOT = 10.0 * MM, 14.0 * MM, 66.0 * MM, 16.0 * MM
GREY = "#8a8a8a"


@dataclass(frozen=True)
class Drawing:
    """A drawing on a sheet of paper; `scale` 20 means 1:20."""

    name: str
    paper: str
    scale: int
    picture: Picture

    def svg(self) -> str:
        """Return the SVG, as wide and high as the paper."""
        width, height = PAPER[self.paper]
        text = self.picture.svg(self.name)
        return text.replace("<svg ", f'<svg width="{width}mm" height="{height}mm" ', 1)

    @cached_property
    def pdf(self) -> bytes:
        """A PDF of one page."""
        out = io.BytesIO()
        # No date, so that the same plan makes the same file.
        self.picture.figure.savefig(out, format="pdf", metadata={"CreationDate": None})
        return out.getvalue()


#: Lengths of the scale bar, m, with their names; the longest that is no more than 60 mm of paper is drawn.
BARS = {
    "metric": ((1.0, "1 m"), (0.5, "0.5 m"), (0.2, "0.2 m"), (0.1, "0.1 m")),
    "us": ((0.9144, "3 ft"), (0.3048, "1 ft"), (0.1524, "6 in"), (0.0762, "3 in")),
}


def sheet_of_paper(plan: Plan, paper: str, what: str, scale: int, from_where: str):
    """Make an empty sheet: title, what heights are measured from, scale in words and as a bar."""
    width, height = (side * MM for side in PAPER[paper])
    figure = s.new_figure(height, width)
    right, inner = width - 2 * MARGIN, height - 2 * MARGIN
    axes = s.bare(figure, MARGIN, MARGIN, right, inner)
    axes.set_ylim(inner, 0.0)
    s.write(axes, 0.0, 8.0, f"{plan.name}: {what}", 13.0, weight="bold")
    s.write(axes, 0.0, 30.0, f"{from_where} {plan.note}", s.SMALL)
    note = (
        f"Scale 1:{scale} when printed at 100 % on {paper}. "
        "Gaps between vessels and the ways of pipes are not to scale."
    )
    s.write(axes, 0.0, inner - 8.0, note, s.SMALL)
    bars = BARS[plan.units]
    long, label = next((bar for bar in bars if bar[0] * 1e3 / scale <= 60.0), bars[-1])
    left = right - long * 1e3 / scale * MM
    axes.plot([left, right], [inner - 8.0] * 2, color=s.INK, lw=3.0, solid_capstyle="butt")
    s.write(axes, left - 6.0, inner - 8.0, label, s.SMALL, ha="right")
    return figure


def scale_for(pixels_per_metre: float) -> int:
    """Largest standard scale that fits where there is room for `pixels_per_metre` pixels to a metre."""
    return next((n for n in SCALES if 1e3 / n * MM <= pixels_per_metre), SCALES[-1])


def section_drawing(plan: Plan, paper: str) -> Drawing:
    """Draw the section with every elevation on a ladder at its left."""
    width, height = (side * MM for side in PAPER[paper])
    wide, high = width - 2 * MARGIN - LADDER, height - 2 * MARGIN - TITLE - FOOT
    fitted = fit_frame((plan,), wide, high - 60.0)
    scale = scale_for(min(fitted.across, fitted.up))
    per = 1e3 / scale * MM
    middle = 0.5 * (fitted.low + fitted.high) + 20.0 / per
    frame = Frame(wide, high, middle - 0.5 * high / per, middle + 0.5 * high / per, per, per)
    figure = sheet_of_paper(plan, paper, "section", scale, f"Elevations above {plan.datum}.")
    axes = s.bare(figure, MARGIN + LADDER, MARGIN + TITLE, wide, high)
    axes.set_ylim(frame.low, frame.high)
    scene = build_scene(plan, frame)
    _vessels(axes, plan, scene)
    _pipes(axes, plan, scene)
    _widths(axes, scene, plan)
    marks = elevations(plan)
    for z, _ in marks:
        axes.axhline(z, color="#d0d0d0", lw=0.35, zorder=0.1)
    shown = [(z, text, s.value(z, "elevation", plan.units)) for z, text in marks]
    ladder(figure, shown, frame, high)
    words = "; ".join(f"{text} {show(z, 'elevation', plan.units)}" for z, text in marks)
    return Drawing("section", paper, scale, Picture(figure, f"Section of {plan.name} at 1:{scale}. {words}."))


def _vessels(axes, plan: Plan, scene: Scene) -> None:
    from matplotlib.collections import LineCollection
    from matplotlib.patches import PathPatch

    placed = scene.placed
    media = [placed[b.name].filled(b.floor + b.media.depth) for b in plan.beds]
    axes.add_patch(PathPatch(path_of(media), fc="none", ec=GREY, lw=0.0, hatch="..", zorder=0.5))
    axes.add_collection(
        LineCollection([p.wall() for p in placed.values()], colors=s.INK, linewidths=1.8, zorder=3)
    )
    sump = placed[plan.sump.name]
    z = plan.sump.floor + plan.sump.water_level
    axes.plot([sump.left, sump.right], [z, z], color=s.INK, lw=0.8, ls=(0, (1, 2)))
    for siphon in plan.siphons:
        members = [placed[n] for n in scene.groups[siphon.name]]
        lip = plan.lip_level(siphon)
        ends = [min(p.left for p in members) - 6.0, max(p.right for p in members) + 6.0]
        axes.plot(ends, [lip, lip], color=s.INK, lw=0.9, ls=(0, (6, 3)), zorder=0.7)
        s.write(axes, ends[1] + 3.0, lip, "flood level", s.SMALL)


def _pipes(axes, plan: Plan, scene: Scene) -> None:
    for line in scene.lines:
        xs, zs = zip(*line.points, strict=True)
        axes.plot(xs, zs, color=s.INK, lw=max(line.outside * s.POINT, 1.6), solid_capstyle="butt", zorder=2.0)
        inner = max(line.outside * s.POINT - 1.4, 0.6)
        axes.plot(xs, zs, color=s.PAPER, lw=inner, solid_capstyle="butt", zorder=2.1)
    x, z = next(line for line in scene.lines if line.kind == "delivery").points[0]
    axes.plot([x], [z], "s", ms=9.0, mfc=s.PAPER, mec=s.INK, zorder=2.8)
    s.write(axes, x - 9.0, z, "pump", s.SMALL, ha="right")
    for name, (x, z) in scene.tees.items():
        axes.plot([x], [z], "s", ms=4.0, color=s.INK, zorder=3.2)
        s.write(axes, x, z - 16.0 / scene.frame.up, name, s.SMALL, ha="center")
    for siphon in plan.siphons:
        host = scene.placed[siphon.host]
        floor, across = host.vessel.floor, scene.frame.across
        bell, stand = siphon.bell, siphon.standpipe
        half = 0.5 * bell.outside_diameter * across
        feet = [floor + bell.rim_height, floor + bell.top_height]
        xs = [host.centre - half, host.centre - half, host.centre + half, host.centre + half]
        axes.plot(xs, [feet[0], feet[1], feet[1], feet[0]], color=s.INK, lw=1.3, zorder=2.8)
        out = 0.5 * stand.pipe.outside_diameter * across
        wide = 0.5 * max(stand.lip_diameter, stand.pipe.outside_diameter) * across
        top, cone = floor + stand.height, floor + stand.height - stand.cone_length
        for side in (-1.0, 1.0):
            xs = [host.centre + side * x for x in (out, out, wide)]
            axes.plot(xs, [floor, cone, top], color=s.INK, lw=0.9, zorder=2.7)


def _widths(axes, scene: Scene, plan: Plan) -> None:
    """Name and inside width of every vessel, in a strip above all of them."""
    up = scene.frame.up
    strip = max(scene.header, *(p.vessel.rim for p in scene.placed.values())) + 14.0 / up
    for name, p in scene.placed.items():
        half = 0.5 * widest(p.vessel.shape) * scene.frame.across
        for x in (p.centre - half, p.centre + half):
            axes.plot([x, x], [p.vessel.rim + 3.0 / up, strip + 4.0 / up], color=GREY, lw=0.4, zorder=0.6)
        text = s.value(widest(p.vessel.shape), "length", plan.units)
        dimension(axes, (p.centre - half, strip), (p.centre + half, strip), text, below=-9.0 / up)
        s.write(axes, p.centre, strip + 24.0 / up, name, s.TEXT, ha="center", weight="bold")


def dimension(axes, start, end, text: str, below: float = 0.0, beside: float = 0.0, at: float = 0.5) -> None:
    """Draw a dimension line with arrowheads; its length stands `at` this part of it.

    It stands `below` the line by so many pixels, or `beside` it and turned.
    """
    arrow = {
        "arrowstyle": "<|-|>",
        "color": s.INK,
        "lw": 0.6,
        "shrinkA": 0,
        "shrinkB": 0,
        "mutation_scale": 6,
    }
    axes.annotate("", xy=end, xytext=start, arrowprops=arrow, zorder=4)
    x, y = (a + at * (b - a) for a, b in zip(start, end, strict=True))
    if beside:
        s.write(axes, x + beside, y, text, s.SMALL, ha="center", rotation=90)
    else:
        box = {"fc": s.PAPER, "ec": "none", "pad": 0.6}
        s.write(axes, x, y - below, text, s.SMALL, ha="center", bbox=box, zorder=4)


def elevations(plan: Plan) -> list[tuple[float, str]]:
    """Every elevation a builder sets out, highest first, with what lies there; equal ones share a line."""
    found: dict[int, tuple[float, list[str]]] = {}

    def add(z: float, text: str):
        _, words = found.setdefault(round(z * 1e4), (z, []))
        if text not in words:
            words.append(text)

    groups: tuple[tuple[str, tuple], ...] = (("bed", plan.beds), ("chamber", plan.chambers))
    for kind, vessels in groups:
        for v in vessels:
            name = v.name if len(vessels) == 1 or len({(x.floor, x.rim) for x in vessels}) > 1 else f"{kind}s"
            add(v.rim, f"rim, {name}")
            add(v.floor, f"floor inside, {name}")
            if isinstance(v, Bed):
                add(v.floor + v.media.depth, f"top of media, {name}")
                if v.outlet == "side":
                    add(v.outlet_invert, f"invert of outlet, {name}")
    for tee in plan.tees:
        add(tee.elevation, f"invert, {tee.name}")
    for run in plan.runs:
        if all(t.name != run.to for t in plan.tees):
            add(run.outfall, f"invert of inlet, {run.to}")
    for siphon in plan.siphons:
        add(plan.lip_level(siphon), f"lip, {siphon.name}")
        add(plan.rim_level(siphon), f"bell rim, {siphon.name}")
        add(plan.crown_level(siphon), f"under top of bell, {siphon.name}")
        add(siphon.tail.outlet, f"end of tail, {siphon.name}")
    sump = plan.sump
    add(sump.rim, f"rim, {sump.name}")
    add(sump.floor, f"floor inside, {sump.name}")
    add(sump.floor + sump.water_level, f"water, {sump.measured_with}")
    if plan.pump.delivery is not None:
        add(plan.pump.delivery.outlet, "end of delivery")
    return [(z, ", ".join(words)) for z, words in sorted(found.values(), key=lambda x: -x[0])]


def ladder(figure, marks: list[tuple[float, str, str]], frame: Frame, high: float) -> None:
    """Label heights at the left, each (height, what lies there, value), with a leader to its true place.

    The ladder is `high` pixels high.
    """
    axes = s.bare(figure, MARGIN, MARGIN + TITLE, LADDER, high)
    axes.set_ylim(0.0, high)
    wanted = [(z - frame.low) * frame.up for z, _, _ in marks]
    at = spread(wanted, [13.0] * len(wanted), 2.0, high - 2.0)
    for (_, text, shown), true, y in zip(marks, wanted, at, strict=True):
        s.write(axes, LADDER - 94.0, y, s.fit(text, LADDER - 100.0, 7.0), 7.0, ha="right")
        s.write(axes, LADDER - 26.0, y, shown, 7.5, ha="right", weight="bold")
        axes.plot([LADDER - 24.0, LADDER - 8.0, LADDER], [y, true, true], color=s.INK, lw=0.6, clip_on=False)


def _sides(shape: Shape) -> tuple[float, float]:
    """Widest inside size across and along, m, as the plan view shows it."""
    across = widest(shape)
    ends = [side for z in (0.0, shape.depth) for side in shape.across(z)]
    return across, max(*ends, across)


def plan_drawing(plan: Plan, holes: tuple[Hole, ...], paper: str) -> Drawing:
    """Draw every vessel from above with its inside sizes and the middles of its holes."""
    width, height = (side * MM for side in PAPER[paper])
    wide, high = width - 2 * MARGIN - 40.0, height - 2 * MARGIN - TITLE - FOOT
    vessels = (*plan.beds, *plan.chambers, plan.sump)
    longest = max(_sides(v.shape)[1] for v in vessels)
    fitted = fit_frame((plan,), wide, high)
    scale = scale_for(min(fitted.across, (high - 110.0) / longest))
    per = 1e3 / scale * MM
    frame = Frame(wide, high, -0.5 * high / per, 0.5 * high / per, per, per)
    figure = sheet_of_paper(plan, paper, "plan view", scale, "Inside sizes.")
    axes = s.bare(figure, MARGIN + 20.0, MARGIN + TITLE, wide, high)
    axes.set_ylim(frame.low, frame.high)
    scene = build_scene(plan, frame)
    for vessel in vessels:
        _from_above(axes, plan, vessel, scene)
    _ways_from_above(axes, plan, scene)
    for hole in holes:
        if hole.wall == "floor":
            _hole(axes, plan, hole, scene)
    sizes = "; ".join(
        f"{v.name} {show(_sides(v.shape)[0], 'length', plan.units)} by "
        f"{show(_sides(v.shape)[1], 'distance', plan.units)}"
        for v in vessels
    )
    alt = f"Plan view of {plan.name} at 1:{scale}, inside sizes: {sizes}."
    return Drawing("plan", paper, scale, Picture(figure, alt))


def _from_above(axes, plan: Plan, vessel: Bed | Chamber | Sump, scene: Scene) -> None:
    from matplotlib.patches import Ellipse, Rectangle

    across, along = _sides(vessel.shape)
    centre, per = scene.placed[vessel.name].centre, scene.frame.across
    if vessel.shape.rounded:
        patch = Ellipse((centre, 0.0), across * per, along, fc="none", ec=s.INK, lw=1.8, zorder=3)
    else:
        corner = (centre - 0.5 * across * per, -0.5 * along)
        patch = Rectangle(corner, across * per, along, fc="none", ec=s.INK, lw=1.8, zorder=3)
    if along > across or not vessel.shape.rounded:
        x = centre - 0.5 * across * per - 9.0
        text = show(along, "distance" if along >= 1.0 else "length", plan.units)
        dimension(axes, (x, -0.5 * along), (x, 0.5 * along), text, beside=-8.0, at=0.3)
    axes.add_patch(patch)
    s.write(axes, centre, 0.5 * along + 12.0 / per, vessel.name, s.TEXT, ha="center", weight="bold")
    z = -0.5 * along - 9.0 / per
    text = show(across, "length", plan.units)
    if not vessel.shape.sides:
        text += " (square of the same area)"
    half = 0.5 * across * per
    dimension(axes, (centre - half, z), (centre + half, z), text, below=10.0 / per)


def _ways_from_above(axes, plan: Plan, scene: Scene) -> None:
    """Pipes as dash-dotted middle lines, straight from outlet to outlet."""

    def x_of(name: str) -> float:
        return scene.tees[name][0] if name in scene.tees else scene.placed[name].centre

    ends = [(r.start, r.to) for r in plan.runs] + [(x.host, plan.sump.name) for x in plan.siphons]
    for names in ends:
        xs = [x_of(n) for n in names]
        if names[1] == plan.sump.name:
            sump = scene.placed[plan.sump.name]
            xs[1] = sump.left + 0.18 * (sump.right - sump.left)
        axes.plot(xs, [0.0, 0.0], color=s.INK, lw=0.9, ls=(0, (8, 2, 1, 2)), zorder=2)
    for name, (x, _) in scene.tees.items():
        axes.plot([x], [0.0], "s", ms=4.0, color=s.INK, zorder=3.2)
        s.write(axes, x + 8.0, -16.0 / scene.frame.up, name, s.SMALL)


def _hole(axes, plan: Plan, hole: Hole, scene: Scene) -> None:
    """Draw a hole in a floor: its circle, its cross, and its middle from the end and side walls."""
    from matplotlib.patches import Ellipse

    placed, per = scene.placed[hole.vessel], scene.frame.across
    size = max(hole.diameters, default=hole.pipe.outside_diameter)
    along, across, _ = placed.vessel.shape.middle()
    up, over = hole.along - along, hole.across - across
    if along < across:  # the longer side is drawn upright
        up, over = over, up
    x = placed.centre + over * per
    axes.add_patch(Ellipse((x, up), size * per, size, fc=s.PAPER, ec=s.INK, lw=1.0, zorder=3.5))
    arm = 0.5 * size + 5.0 / per
    axes.plot([x - arm * per, x + arm * per], [up, up], color=s.INK, lw=0.5, zorder=3.6)
    axes.plot([x, x], [up - arm, up + arm], color=s.INK, lw=0.5, zorder=3.6)
    across, along = _sides(placed.vessel.shape)
    if placed.vessel.shape.rounded and along == across:
        return
    quarter = placed.centre + 0.28 * across * per
    rest = 0.5 * along - up
    dimension(axes, (quarter, up), (quarter, 0.5 * along), show(rest, "length", plan.units), beside=9.0)
    z = 0.30 * along
    ends = (placed.centre - 0.5 * across * per, z), (x, z)
    dimension(axes, *ends, show(0.5 * across + over, "length", plan.units), below=-9.0 / per)
