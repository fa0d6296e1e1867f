"""A siphon large and to scale, with the heights and diameters that make it work."""

from __future__ import annotations

from aquacalc.buildsheet.drawing import (
    FOOT,
    LADDER,
    MARGIN,
    MM,
    PAPER,
    TITLE,
    Drawing,
    dimension,
    ladder,
    plan_drawing,
    scale_for,
    section_drawing,
    sheet_of_paper,
)
from aquacalc.buildsheet.drilling import Hole
from aquacalc.figures import style as s
from aquacalc.figures.picture import Picture
from aquacalc.figures.scene import Frame
from aquacalc.plan.model import Plan, Siphon

#: Drawn of the tail below the floor, and of the air above the highest part, m.
BELOW, ABOVE = 0.07, 0.04
#: The siphon's middle, as a part of the drawing's width.
MIDDLE = 0.38


def drawings(plan: Plan, holes: tuple[Hole, ...], paper: str) -> tuple[Drawing, ...]:
    """Return section, plan view and every siphon of a plan on `paper`, "A4" or "Letter"."""
    siphons = tuple(siphon_drawing(plan, siphon, paper) for siphon in plan.siphons)
    return section_drawing(plan, paper), plan_drawing(plan, holes, paper), *siphons


def siphon_drawing(plan: Plan, siphon: Siphon, paper: str) -> Drawing:
    """Draw one siphon from the side; heights are above the floor it stands on."""
    width, height = (side * MM for side in PAPER[paper])
    wide, high = width - 2 * MARGIN - LADDER, height - 2 * MARGIN - TITLE - FOOT
    bell = siphon.bell
    tall = bell.top_height + ABOVE + BELOW
    scale = scale_for(min(0.9 * high / tall, wide / (3.0 * bell.outside_diameter)))
    per = 1e3 / scale * MM
    low = -BELOW - 0.5 * (high / per - tall)
    frame = Frame(wide, high, low, low + high / per, per, per)
    from_where = f"Heights above the floor of {siphon.host}."
    figure = sheet_of_paper(plan, paper, siphon.name, scale, from_where)
    axes = s.bare(figure, MARGIN + LADDER, MARGIN + TITLE, wide, high)
    axes.set_ylim(frame.low, frame.high)
    marks = heights(siphon)
    edge = _edge(plan, siphon, frame)
    for z, _ in marks:
        axes.plot([0.0, edge], [z, z], color="#d0d0d0", lw=0.35, zorder=0.1)
    _parts(axes, plan, siphon, frame, edge)
    _diameters(axes, plan, siphon, frame, edge)
    ladder(figure, [(z, text, s.value(z, "length", plan.units)) for z, text in marks], frame, high)
    words = "; ".join(f"{text} {s.value(z, 'length', plan.units)}" for z, text in marks)
    alt = f"{siphon.name} of {plan.name} at 1:{scale}, heights above the floor of {siphon.host}: {words}."
    name = "siphon" if len(plan.siphons) == 1 else f"siphon-{plan.siphons.index(siphon) + 1}"
    return Drawing(name, paper, scale, Picture(figure, alt))


def heights(siphon: Siphon) -> list[tuple[float, str]]:
    """Return what is set out on a siphon: heights (m) above the floor it stands on, highest first."""
    stand, bell = siphon.standpipe, siphon.bell
    found = [
        (bell.top_height, "under top of bell"),
        (stand.height, "lip, flood level"),
        (bell.rim_height, "bell rim: air enters"),
        (0.0, f"floor of {siphon.host}"),
    ]
    if stand.cone_length:
        found.append((stand.height - stand.cone_length, "pipe stops in reducer"))
    return sorted(found, reverse=True)


def _wall(plan: Plan, siphon: Siphon, frame: Frame) -> float:
    """Half the width (m) of the host at its floor where there is room to draw it, else 0."""
    half = plan.vessel(siphon.host).shape.half_width(0.0)
    return half if half * frame.across < 0.9 * MIDDLE * frame.width else 0.0


def _edge(plan: Plan, siphon: Siphon, frame: Frame) -> float:
    """Where the drawing ends and the names of diameters begin, px."""
    half = max(0.5 * siphon.bell.outside_diameter, 0.5 * siphon.media_guard, _wall(plan, siphon, frame))
    return MIDDLE * frame.width + half * frame.across + 12.0


def _parts(axes, plan: Plan, siphon: Siphon, frame: Frame, edge: float) -> None:
    bell, stand, tail = siphon.bell, siphon.standpipe, siphon.tail
    middle, per = MIDDLE * frame.width, frame.across
    host = plan.vessel(siphon.host)

    def lines(half: float, heights_: list[float], halves: list[float] | None = None, **look):
        """Draw one outline on both sides of the middle."""
        for side in (-1.0, 1.0):
            xs = [middle + side * h * per for h in (halves or [half] * len(heights_))]
            axes.plot(xs, heights_, color=s.INK, **look)

    axes.plot([0.0, edge], [0.0, 0.0], color=s.INK, lw=2.2, zorder=2)
    if _wall(plan, siphon, frame):
        marks = [0.0, min(host.shape.depth, frame.high)]
        lines(0.0, marks, [host.shape.half_width(z) for z in marks], lw=2.2)
    axes.plot([0.0, edge], [stand.height] * 2, color=s.INK, lw=0.9, ls=(0, (6, 3)), zorder=0.5)
    cone = stand.height - stand.cone_length
    for diameter, thick in ((stand.pipe.outside_diameter, 1.2), (stand.pipe.bore, 0.7)):
        lines(0.5 * diameter, [-0.5 * BELOW, cone], lw=thick)
    if stand.cone_length:
        lines(0.0, [cone, stand.height], [0.5 * stand.pipe.bore, 0.5 * stand.lip_diameter], lw=1.6)
    for diameter, thick in ((tail.pipe.outside_diameter, 1.2), (tail.pipe.bore, 0.7)):
        lines(0.5 * diameter, [-BELOW, -0.5 * BELOW], lw=thick)
    wall = 0.5 * (bell.outside_diameter - bell.bore)
    for half, top in (
        (0.5 * bell.outside_diameter, bell.top_height + wall),
        (0.5 * bell.bore, bell.top_height),
    ):
        lines(half, [bell.rim_height, top], lw=1.4)
        lines(half, [0.0, bell.rim_height], lw=0.7, ls=(0, (2, 2)))
        axes.plot([middle - half * per, middle + half * per], [top, top], color=s.INK, lw=1.4)
    if siphon.media_guard:
        lines(0.5 * siphon.media_guard, [0.0, host.shape.depth], lw=0.9, ls=(0, (1, 2)))


def _diameters(axes, plan: Plan, siphon: Siphon, frame: Frame, edge: float) -> None:
    """Diameters, each on a line of its own with its name at the edge."""
    bell, stand, tail = siphon.bell, siphon.standpipe, siphon.tail
    middle, per = MIDDLE * frame.width, frame.across

    def length(x: float) -> str:
        return s.value(x, "length", plan.units)

    def across(diameter: float, z: float, what: str):
        half = 0.5 * diameter * per
        dimension(axes, (middle - half, z), (middle + half, z), "")
        axes.plot([middle + half, edge], [z, z], color=s.INK, lw=0.4, zorder=4)
        s.write(axes, edge + 4.0, z, f"{what} {length(diameter)}")

    at = [bell.rim_height + part * (stand.height - bell.rim_height) for part in (0.85, 0.7, 0.55, 0.4, 0.25)]
    if siphon.media_guard:
        across(siphon.media_guard, at[0], "media guard, inside")
    across(stand.lip_diameter, stand.height, "lip, inside")
    across(bell.bore, at[1], f"bell {bell.size}, inside".replace("  ", " ").replace(" ,", ","))
    across(bell.outside_diameter, at[2], "bell, outside")
    across(stand.pipe.bore, at[3], f"standpipe {stand.pipe.size}, inside")
    across(stand.pipe.outside_diameter, at[4], "standpipe, outside")
    across(tail.pipe.outside_diameter, -0.75 * BELOW, f"tail {tail.pipe.size}, outside")
    z = 0.5 * bell.rim_height
    size = f"{length(bell.opening_width)} wide, {length(bell.opening_height)} high"
    axes.plot([middle + 0.5 * bell.outside_diameter * per, edge], [z, z], color=s.INK, lw=0.4, zorder=4)
    s.write(axes, edge + 4.0, z, f"{bell.openings} openings, {size}")
