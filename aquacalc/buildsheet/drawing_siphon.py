"""A siphon large and to scale, with the heights and diameters that make it work."""

from __future__ import annotations

from aquacalc.buildsheet import heights as set_out
from aquacalc.buildsheet.canvas import FOOT, LETTER, MARGIN, PAPER, PHONE, TITLE, Canvas, spread, text_width
from aquacalc.buildsheet.cut_list import CutList
from aquacalc.buildsheet.drawing import Drawing, scale_for, sheet_of_paper
from aquacalc.geometry.holes import openings
from aquacalc.geometry.routes import overflow_pipe
from aquacalc.plan.model import Plan, Siphon
from aquacalc.units import show

#: Drawn of the tail below the floor, and of the air above the highest part, m.
BELOW, ABOVE = 0.07, 0.03
#: How far from the bell's middle a breather is drawn that hangs beside it, as part of the bell's outside.
BREATHER_OUT = 0.575
#: Room (mm) for heights with their names.
LADDER = 84.0


def siphon_drawing(plan: Plan, siphon: Siphon, paper: str, cuts: CutList) -> Drawing:
    """Draw one siphon from the side, with its pieces' marks; heights are above the floor it stands on."""
    bell = siphon.bell
    tall = bell.top_height + ABOVE + BELOW
    wide = max(1.3 * max(bell.outside_diameter, siphon.media_guard), 2.2 * _overflow_at(plan, siphon))
    across = _diameters(siphon, cuts)
    names = _named(plan, siphon, cuts, across)
    shown = [(z, text, show(z, "length", plan.units)) for z, text in heights(siphon)]
    small = paper == PHONE
    beside = 0.0 if small else LADDER
    if small:  # no room at the left: heights are among the names at the right
        names = sorted([*names, *((z, f"{text} {value}", 0.0) for z, text, value in shown)], reverse=True)
    room = max(text_width(text) for _, text, _ in names) + 8.0

    def fit(upright: bool) -> float:
        width, height = PAPER[paper][::-1] if upright else PAPER[paper]
        high = height - 2.0 * MARGIN - TITLE - FOOT
        return min(high / tall, (width - 2.0 * MARGIN - beside - room) / wide)

    upright = small or fit(True) > fit(False)
    scale = scale_for(fit(upright))
    per = 1e3 / scale
    note = f"Heights are above the floor of {siphon.host}."
    canvas = sheet_of_paper(plan, paper, upright, siphon.name, note, scale)
    top, foot = MARGIN + TITLE, canvas.height - MARGIN - FOOT
    floor = 0.5 * (top + foot) + 0.5 * (tall - 2.0 * BELOW) * per
    left, right = MARGIN + beside, canvas.width - MARGIN - room
    middle = 0.5 * (left + right)

    def at(x: float, z: float) -> tuple[float, float]:
        return middle + x * per, floor - z * per

    for z, _, _ in shown:
        canvas.line([(left, at(0, z)[1]), (right, at(0, z)[1])], 0.1, ink="#999")
    _parts(canvas, plan, siphon, at, 0.5 * (right - left) / per)
    for d, z, _ in across:
        canvas.dimension(at(-0.5 * d, z), at(0.5 * d, z), "")
    spread_at = spread([at(0, z)[1] for z, _, _ in names], 1.3 * LETTER, top, foot)
    for (z, text, half), y in zip(names, spread_at, strict=True):
        canvas.line([at(half, z), (right - 4.0, at(0, z)[1]), (right + 1.0, y)], 0.2)
        canvas.text((right + 2.0, y), text)
    wanted = [at(0, z)[1] for z, _, _ in shown]
    if not small:
        set_out.ladder(canvas, shown, wanted, left, (top, foot), names=True)
    said = "; ".join(f"{text} {value}" for _, text, value in shown)
    alt = f"{siphon.name} of {plan.name} at 1:{scale}, heights above the floor of {siphon.host}: {said}."
    name = "siphon" if len(plan.siphons) == 1 else f"siphon-{plan.siphons.index(siphon) + 1}"
    return Drawing(name, paper, scale, canvas, alt)


def _mark(cuts: CutList, *ways: str) -> str:
    return next((f"{cut.mark} " for way in ways for cut in cuts.cuts if cut.way == way), "")


def _diameters(siphon: Siphon, cuts: CutList) -> list[tuple[float, float, str]]:
    """Return the diameters (m) that are drawn, the height of each, and what it is of."""
    bell, stand, tail, n = siphon.bell, siphon.standpipe, siphon.tail, siphon.name
    guard, *spots = (
        bell.rim_height + part * (stand.height - bell.rim_height) for part in (0.85, 0.7, 0.55, 0.4, 0.25)
    )
    stands = _mark(cuts, f"{n}: standpipe and tail", f"{n}: standpipe")
    found = [
        (stand.lip_diameter, stand.height, "lip, inside"),
        (bell.bore, spots[0], f"{_mark(cuts, f'bell of {n}')}bell {bell.size}".strip() + ", inside"),
        (bell.outside_diameter, spots[1], "bell, outside"),
        (stand.pipe.bore, spots[2], f"{stands}standpipe {stand.pipe.size}, inside"),
        (stand.pipe.outside_diameter, spots[3], "standpipe, outside"),
        (tail.pipe.outside_diameter, -0.75 * BELOW,
         f"{_mark(cuts, f'{n}: tail')}tail {tail.pipe.size}, outside"),
    ]  # fmt: skip
    return [*found, (siphon.media_guard, guard, "media guard, inside")] if siphon.media_guard else found


def _named(plan: Plan, siphon: Siphon, cuts: CutList, across) -> list[tuple[float, str, float]]:
    """Return what is named beside the drawing: its height, the words, and how far out it is, m."""
    bell, n = siphon.bell, siphon.name

    def long(x: float) -> str:
        return show(x, "length", plan.units)

    found = [(z, f"{what} {long(d)}", 0.5 * d) for d, z, what in across]
    opening = f"{long(bell.opening_width)} by {long(bell.opening_height)}"
    found.append((0.5 * bell.rim_height, f"{bell.openings} openings {opening}", 0.5 * bell.outside_diameter))
    if siphon.breather is not None:
        tube, z = siphon.breather, 0.5 * (siphon.breather.mouth + bell.top_height)
        words = f"{_mark(cuts, f'breather of {n}')}breather, bore {long(tube.bore)}"
        found.append((z, words, BREATHER_OUT * bell.outside_diameter))
    if siphon.overflow is not None:
        pipe = overflow_pipe(siphon)
        words = f"{_mark(cuts, f'overflow of {n}')}overflow {long(pipe.outside_diameter)}"
        found.append((0.9 * siphon.overflow.height, words, _overflow_at(plan, siphon)))
    return sorted(found, reverse=True)


def _overflow_at(plan: Plan, siphon: Siphon) -> float:
    """How far from the bell's middle the outside of a safety overflow is, m; 0 without one."""
    if siphon.overflow is None:
        return 0.0
    hole = next(h for h in openings(plan) if h.key == f"siphon.{siphon.name}.overflow")
    return hole.across - plan.vessel(siphon.host).shape.middle()[1] + 0.5 * hole.pipe.outside_diameter


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
    if siphon.overflow is not None:
        found.append((siphon.overflow.height, "mouth of overflow"))
    if siphon.breather is not None:
        found.append((siphon.breather.mouth, "mouth of breather"))
    if bell.notch_height:
        found.append((bell.notch_height, "top of notch"))
    return sorted(found, reverse=True)


def _parts(canvas: Canvas, plan: Plan, siphon: Siphon, at, edge: float) -> None:
    """Draw the outlines on both sides of the middle, out to `edge` (m)."""
    bell, stand, tail = siphon.bell, siphon.standpipe, siphon.tail
    host = plan.vessel(siphon.host)

    def sides(points: list[tuple[float, float]], width: float, dash: str = "") -> None:
        for side in (-1.0, 1.0):
            canvas.line([at(side * x, z) for x, z in points], width, dash)

    sides([(0.0, 0.0), (edge, 0.0)], 0.7)
    if host.shape.half_width(0.0) < edge:
        heights_ = (0.0, min(host.shape.depth, bell.top_height + ABOVE))
        sides([(host.shape.half_width(z), z) for z in heights_], 0.7)
    sides([(0.0, stand.height), (edge, stand.height)], 0.3, "3 1.5")
    cone = stand.height - stand.cone_length
    for pipe, low, high in ((stand.pipe, -0.5 * BELOW, cone), (tail.pipe, -BELOW, -0.5 * BELOW)):
        for diameter, width in ((pipe.outside_diameter, 0.45), (pipe.bore, 0.25)):
            sides([(0.5 * diameter, low), (0.5 * diameter, high)], width)
    if stand.cone_length:
        sides([(0.5 * stand.pipe.bore, cone), (0.5 * stand.lip_diameter, stand.height)], 0.6)
    wall = 0.5 * (bell.outside_diameter - bell.bore)
    for half, top in (
        (0.5 * bell.outside_diameter, bell.top_height + wall),
        (0.5 * bell.bore, bell.top_height),
    ):
        sides([(half, bell.rim_height), (half, top)], 0.5)
        sides([(half, 0.0), (half, bell.rim_height)], 0.25, "1 0.8")
        sides([(0.0, top), (half, top)], 0.5)
    if bell.notch_height:
        canvas.line([at(-0.5 * bell.outside_diameter, z) for z in (bell.rim_height, bell.notch_height)], 1.2)
    if siphon.breather is not None:
        out, over = BREATHER_OUT * bell.outside_diameter, bell.top_height + 0.5 * ABOVE
        way = [(0.3 * bell.bore, bell.top_height), (0.3 * bell.bore, over), (out, over)]
        canvas.line([at(x, z) for x, z in (*way, (out, siphon.breather.mouth))], 0.7)
    if siphon.overflow is not None:
        far, pipe = _overflow_at(plan, siphon), overflow_pipe(siphon)
        for x in (far, far - pipe.outside_diameter):
            canvas.line([at(x, -0.5 * BELOW), at(x, siphon.overflow.height)], 0.45)
    if siphon.media_guard:
        half = 0.5 * siphon.media_guard
        sides([(half, 0.0), (half, min(host.shape.depth, bell.top_height + ABOVE))], 0.35, "0.6 1")
