"""To print at full size: labels for the pieces, and templates to drill and saw by."""

from __future__ import annotations

from collections.abc import Iterable

from aquacalc.buildsheet.canvas import FOOT, LETTER, MARGIN, TITLE, Canvas, text_width, wrapped
from aquacalc.buildsheet.cut_list import Cut, CutList
from aquacalc.buildsheet.drawing import Drawing, sheet_of_paper
from aquacalc.buildsheet.drilling import NOTCH, Hole, cutouts
from aquacalc.buildsheet.lengths import said as length
from aquacalc.geometry.strainers import strainers
from aquacalc.plan.model import Plan

#: Labels on a sheet, across and down.
ACROSS, DOWN = 3, 8
#: A space at which no line ends.
NO_BREAK = "\u00a0"
#: Rulers to check the printer by: length, mm, and its name.
RULERS = ((100.0, "100 mm"), (101.6, "4 in"))
#: Between two templates, mm.
GAP = 6.0
#: Room for the rulers, and under the highest opening of a strip for its foot and two lines of words, mm.
HEAD, BELOW = 24.0, 12.0 + 2.6 * LETTER


def labels(plan: Plan, cuts: CutList, paper: str) -> list[Drawing]:
    """Make a label for each piece: its mark, what it is, its length and what its ends go into."""
    found = []
    each = ACROSS * DOWN
    for first in range(0, len(cuts.cuts), each):
        note = "Print, cut along the lines, stick one on each piece when it is cut."
        canvas = sheet_of_paper(plan, paper, True, "labels", note)
        wide = (canvas.width - 2.0 * MARGIN) / ACROSS
        high = (canvas.height - 2.0 * MARGIN - TITLE - FOOT) / DOWN
        for k, cut in enumerate(cuts.cuts[first : first + each]):
            x, y = MARGIN + (k % ACROSS) * wide, MARGIN + TITLE + (k // ACROSS) * high
            _label(canvas, plan, cut, (x, y, wide, high))
        marks = ", ".join(cut.mark for cut in cuts.cuts[first : first + each])
        number = first // each + 1
        name = "labels" if len(cuts.cuts) <= each else f"labels-{number}"
        found.append(Drawing(name, paper, 1, canvas, f"Labels to stick on the pieces {marks}."))
    return found


def _label(canvas: Canvas, plan: Plan, cut: Cut, room: tuple[float, float, float, float]) -> None:
    x, y, wide, high = room
    canvas.line([(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)], 0.15, "2 2", close=True)
    canvas.text((x + 2.0, y + 5.0), cut.mark, size=7.0, bold=True)
    canvas.text((x + wide - 2.0, y + 5.0), length(cut.length, plan.units), "end", bold=True)
    lines = [
        *wrapped(f"{cut.way}, {cut.pipe.size.replace(' ', NO_BREAK)}", wide - 4.0),
        *wrapped(f"{cut.first} > {cut.last}", wide - 4.0),
    ]
    for k, line in enumerate(lines[:4]):
        canvas.text((x + 2.0, y + 12.0 + k * 4.4), line)


def templates(plan: Plan, holes: tuple[Hole, ...], paper: str) -> list[Drawing]:
    """Draw every size of hole, slot and cut-out at full size, with rulers to check the printer."""
    room = Canvas(paper, True).height - 2.0 * MARGIN - TITLE - HEAD - FOOT
    shapes = [*_circles(plan, holes), *_strips(plan, room - BELOW)]
    found: list[Drawing] = []
    canvas: Canvas | None = None
    names: list[str] = []
    x = y = row = 0.0

    def begin() -> Canvas:
        note = "Print at 100 %: both rulers must be true, or nothing on this sheet is."
        made = sheet_of_paper(plan, paper, True, "templates at full size", note)
        for k, (long, name) in enumerate(RULERS):
            top = MARGIN + TITLE + 4.0 + 9.0 * k
            made.dimension((MARGIN, top), (MARGIN + long, top), "")
            made.text((MARGIN + long + 3.0, top), name)
        return made

    def end(canvas: Canvas) -> None:
        name = f"templates-{len(found) + 1}"
        found.append(Drawing(name, paper, 1, canvas, f"Templates at full size: {'; '.join(names)}."))

    for name, wide, high, draw in shapes:
        if canvas is not None and x + wide > canvas.width - MARGIN:
            x, y = MARGIN, y + row + GAP
            row = 0.0
        if canvas is None or y + high > canvas.height - MARGIN - FOOT:
            if canvas is not None:
                end(canvas)
            canvas, names = begin(), []
            x, y, row = MARGIN, MARGIN + TITLE + HEAD, 0.0
        draw(canvas, x, y)
        x, row = x + wide + GAP, max(row, high)
        names.append(name)
    if canvas is not None:
        end(canvas)
    return found


def _circles(plan: Plan, holes: Iterable[Hole]):
    """Every size of hole once: (name, width, height, what draws it), mm."""
    sizes: dict[float, list[str]] = {}
    for hole in holes:
        for size in hole.diameters:
            sizes.setdefault(round(size * 1e3, 1), []).append(f"{hole.vessel}: {hole.what}")
    for size, where in sorted(sizes.items()):
        name = f"hole {length(size / 1e3, plan.units)}"
        lines = [name, *dict.fromkeys(where)]
        wide = max(size + 8.0, max(text_width(line) for line in lines))

        def draw(canvas: Canvas, x: float, y: float, size=size, lines=lines) -> None:
            at, arm = (x + 0.5 * size + 4.0, y + 0.5 * size + 4.0), 0.5 * size + 4.0
            canvas.circle(at, 0.5 * size, 0.25)
            canvas.line([(at[0] - arm, at[1]), (at[0] + arm, at[1])], 0.15)
            canvas.line([(at[0], at[1] - arm), (at[0], at[1] + arm)], 0.15)
            for k, line in enumerate(lines):
                canvas.text((x, y + size + 12.0 + k * 5.5), line)

        yield name, wide, size + 14.0 + 5.5 * len(lines), draw


def _strips(plan: Plan, room: float):
    """Strip of at most `room` mm round each strainer and bell: (name, width, height, what draws it), mm."""
    alike: dict[tuple, list[str]] = {}
    for cut in strainers(plan):
        tall = cut.length if cut.kind == "slots" else 0.0
        key = (cut.around, cut.pitch, cut.first, cut.rings, cut.per_ring, cut.width, tall, cut.kind)
        alike.setdefault(key, []).append(cut.bed)
    for (around, pitch, first, rings, per_ring, width, long, kind), beds in alike.items():
        boxes = [
            (k * around + 0.5 * (around - (long or width)), first + ring * pitch, long or width, width)
            for ring in range(rings) for k in range(per_ring)
        ]  # fmt: skip
        name = f"strainer of {', '.join(beds)}"
        yield _strip(plan, name, around * per_ring, boxes, kind == "holes", room, pitch)
    for b in cutouts(plan):
        boxes = [
            (k * b.around + 0.5 * (b.around - b.width), b.top - b.height, b.width, b.height)
            for k in range(b.count)
        ]
        if b.notch:
            boxes.append((0.5 * (b.around - NOTCH), b.top, NOTCH, b.notch - b.top))
        yield _strip(plan, f"bell of {b.siphon}", b.around * b.count, boxes, False, room)


def _strip(
    plan: Plan,
    name: str,
    around: float,
    boxes: list[tuple[float, float, float, float]],
    round_: bool,
    room: float,
    pitch: float = 0.0,
):
    """Lay out a strip from its foot up.

    What is wider than the sheet is left for the next turn of it; rows `pitch` m apart that are over its
    `room` mm are left for when it is moved up.
    """
    most = 190.0
    whole = around * 1e3 <= most
    shown = [b for b in boxes if whole or (b[0] + b[2]) * 1e3 <= most]
    fits = [b for b in shown if not pitch or (b[1] + b[3]) * 1e3 <= room]
    high = max(b[1] + b[3] for b in fits) * 1e3
    wide = around * 1e3 if whole else max(b[0] + b[2] for b in shown) * 1e3 + 6.0
    turn = "once" if whole else "move it on"
    said = f"{name}: {turn} round {length(around, plan.units)}, foot at the thick line"
    rows, above = len({b[1] for b in fits}), len({b[1] for b in shown}) - len({b[1] for b in fits})
    if above:
        said += f"; then move it up by {length(rows * pitch, plan.units)} for the other {above} rows"

    def draw(canvas: Canvas, x: float, y: float) -> None:
        foot = y + high + 6.0
        canvas.line([(x, foot), (x + wide, foot)], 0.6)
        canvas.line([(x, foot), (x, y), (x + wide, y), (x + wide, foot)], 0.15, "2 1")
        for left, low, across, up in fits:
            a, b, c, d = x + left * 1e3, foot - (low + up) * 1e3, across * 1e3, up * 1e3
            if round_:
                canvas.circle((a + 0.5 * c, b + 0.5 * d), 0.5 * c, 0.2)
            else:
                canvas.line([(a, b), (a + c, b), (a + c, b + d), (a, b + d)], 0.2, close=True)
        for k, line in enumerate(wrapped(said, 188.0)):
            canvas.text((x, foot + 5.0 + k * 5.5), line)

    return name, max(wide, min(text_width(said), 188.0)), high + BELOW, draw
