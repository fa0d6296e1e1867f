"""Map of bore and lip against inflow: which combinations start, and how high the water stands then."""

from __future__ import annotations

import math
from typing import Any

from aquacalc.equations.formulas import GRAVITY, choking_flow, lip_crossing, lip_head
from aquacalc.figures.chart import WIDTH, Axes, shown, zone
from aquacalc.figures.levels import DASHES
from aquacalc.figures.vector import TEXT, Drawing, Drawn, text_width
from aquacalc.hydraulics.starting import start_band, start_froudes
from aquacalc.plan.model import Siphon

HEIGHT = 400.0
TOP, TALL = 44.0, 300.0
LEFT, WIDE = 78.0, 330.0
SECOND = 520.0
#: Heads over the lip (m) whose lines are drawn.
HEADS = (0.005, 0.010, 0.015, 0.020, 0.030)
HEADS_US = (0.00635, 0.0127, 0.01905, 0.0254, 0.0381)  # 1/4, 1/2, 3/4, 1 and 1 1/2 in
STEPS = 40
#: A name on a map: its axes, where its middle lies (in their units), and its lines.
Label = tuple[Axes, float, float, str]
#: Narrowest bore of the map, m.
BORE_LOW = 0.012


def lip_for(head: float, flow: float, weir: float, orifice: float) -> float:
    """Lip diameter (m) over which `flow` (m3/s) stands `head` (m) high: the inverse of the lip law.

    `weir` (m^0.5/s) and `orifice` are its coefficients.
    """
    by_weir = flow / (weir * math.pi * head**1.5)
    if head < lip_crossing(weir, orifice, GRAVITY) * by_weir:
        return by_weir
    return (flow / (orifice * 0.25 * math.pi * math.sqrt(2.0 * GRAVITY * head))) ** 0.5


def priming_map(
    siphon: Siphon,
    inflow: float,
    system: str,
    flow_high: float | None = None,
    bore_high: float | None = None,
    lip_high: float | None = None,
) -> Drawn:
    """Draw which bores and lips start at which inflow.

    Parameters
    ----------
    siphon : Siphon
    inflow : float
        Today's inflow to it, m3/s.
    system : {"metric", "us"}
    flow_high, bore_high, lip_high : float, optional
        Ends of the axes, m3/s and m, for a map that stays as it is; chosen to fit if not given.

    Returns
    -------
    Drawn
    """
    stand = siphon.standpipe
    bore, lip = stand.pipe.bore, stand.lip_diameter
    flow_high = flow_high or max(6e-4, 1.5 * inflow)
    bores = BORE_LOW, bore_high or max(0.055, 1.4 * bore)
    lips = BORE_LOW, lip_high or max(0.110, 1.6 * lip)
    d = Drawing(WIDTH, HEIGHT)
    left = Axes(d, LEFT, TOP, WIDE, TALL, (0.0, flow_high), bores)
    right = Axes(d, SECOND, TOP, WIDE, TALL, lips, bores)
    for axes, title in (
        (left, "Does the bore fill?"),
        (right, "How high does the water stand then?"),
    ):
        axes.scale_y("length", system, "bore of the standpipe", 7)
        d.text(axes.left, 18.0, title, "b")
    left.scale_x("flow", system, "inflow", 7)
    right.scale_x("length", system, "lip diameter", 7)
    froudes = start_froudes(siphon)
    labels = [*_regions(left, froudes), _heads(right, siphon, froudes[1], system)]
    for axes, x in ((left, inflow), (right, lip)):
        if x > axes.xs[1] or not bores[0] <= bore <= bores[1]:
            continue
        px, py = axes.x(x), axes.y(bore)
        d.add("circle", "dot", cx=px, cy=py, r=6.5)
        side = x > 0.6 * axes.xs[1]
        d.text(px - 12.0 if side else px + 12.0, py, "this plan", f"b mark halo{' e' if side else ''}")
    for label in labels:
        _label(*label)
    d.alt = _alt(siphon, inflow, system)
    return Drawn((d,), d.alt)


def _regions(axes: Axes, froudes: tuple[float, float, float]) -> list[Label]:
    """Fill where a bore fills, may and does not; return the names of the areas."""
    d, clip, (low, high), end = axes.d, axes.clip("starts"), axes.ys, axes.xs[1]

    def curve(froude: float) -> list[tuple[float, float]]:
        sizes = [low + (high - low) * k / STEPS for k in range(STEPS + 1)]
        return axes.at([(choking_flow(froude, bore, GRAVITY), bore) for bore in sizes])

    first, middle, last = (curve(froude) for froude in froudes)
    (x0, y0), (_, y1) = axes.at([(0.0, low), (0.0, high)])
    far = max(axes.x(2.0 * end), last[-1][0])
    zone(d, [(x0, y0), *first, (x0, y1)], "no", clip_path=clip)
    zone(d, [*first, *reversed(last)], "may", "/", clip_path=clip)
    zone(d, [*last, (far, y1), (far, y0)], "water", clip_path=clip)
    d.path(middle, "dash", clip_path=clip)

    def bore_at(froude: float, part: float) -> float:
        """Bore whose curve passes an inflow (a part of the axis), kept on the map."""
        return min(max((part * end / choking_flow(froude, 1.0, GRAVITY)) ** 0.4, low), high)

    a, b, c = (bore_at(froude, 0.80) for froude in froudes)
    found = [
        (axes, 0.80 * end, 0.5 * (c + low), "fills:\nstarts"),
        (axes, 0.20 * end, 0.5 * (bore_at(froudes[0], 0.20) + high), "trickles:\ndoes not start"),
    ]
    tall = (high - low) / TALL
    if a - c > 60.0 * tall:
        found.append((axes, 0.80 * end, 0.5 * (a + b), "uncertain"))
        found.append((axes, 0.80 * end, 0.5 * (b + c), "expected start:\ndashed line"))
    else:
        found.append((axes, 0.78 * end, a + 20.0 * tall, "uncertain band,\nyour reading dashed"))
    return found


def _heads(axes: Axes, siphon: Siphon, froude: float, system: str) -> Label:
    """Draw lines of one head over the lip at the flow at which the bore fills; name the area without."""
    d, (low, high) = axes.d, axes.ys
    zone(d, axes.at([(low, low), (low, high), (high, high)]), "no", "|")
    for k, head in enumerate(HEADS if system == "metric" else HEADS_US):
        points = []
        for i in range(STEPS + 1):
            bore = low + (high - low) * i / STEPS
            lip = lip_for(head, choking_flow(froude, bore, GRAVITY), siphon.lip_weir, siphon.lip_orifice)
            if bore <= lip <= 0.86 * axes.xs[1]:
                points.append((lip, bore))
        if len(points) < 2:
            continue
        look: dict[str, Any] = {"stroke_dasharray": DASHES[k]} if DASHES[k] else {}
        d.path(axes.at(points), "curve blue", **look)
        x, bore = points[-1]
        d.text(axes.x(x) + 4.0, max(axes.y(bore), TOP + 6.0), shown(head, "head", system, 2), "halo")
    return axes, low + 0.31 * (high - low), low + 0.86 * (high - low), "lip narrower\nthan bore"


def _label(axes: Axes, x: float, y: float, text: str) -> None:
    """Write lines about a place, or so far below or above it that they touch no other label."""
    d, lines, x, y = axes.d, text.split("\n"), axes.x(x), axes.y(y)
    half = 0.5 * max(text_width(line, TEXT) for line in lines), 9.0 * len(lines)

    def free(move: float) -> bool:
        return all(
            abs(0.5 * (x0 + x1) - x) > half[0] + 0.5 * (x1 - x0)
            or abs(0.5 * (y0 + y1) - y - move) > half[1] + 0.5 * (y1 - y0)
            for x0, y0, x1, y1, _ in d.texts
        )

    move = next((move for move in (0.0, 20.0, -20.0, 35.0, -35.0, 50.0, -50.0) if free(move)), 0.0)
    for k, line in enumerate(lines):
        d.text(x, y + move + 17.0 * (k - 0.5 * (len(lines) - 1)), line, "m halo")


def _alt(siphon: Siphon, inflow: float, system: str) -> str:
    stand = siphon.standpipe
    band = start_band(siphon)
    low, likely, high = band.low, band.middle, band.high
    head = lip_head(siphon.lip_weir, siphon.lip_orifice, stand.lip_diameter, likely, GRAVITY)
    plain = lip_head(siphon.lip_weir, siphon.lip_orifice, stand.pipe.bore, likely, GRAVITY)
    does = "does not start" if inflow < low else "starts" if inflow >= high else "may or may not start"

    def q(flow: float) -> str:
        return shown(flow, "flow", system)

    def mm(length: float, kind: str = "length") -> str:
        return shown(length, kind, system)

    return (
        f"Map of bore and lip against inflow. A bore of {mm(stand.pipe.bore)} is expected to fill at "
        f"{q(likely)} (from {q(low)} to {q(high)}); at today's {q(inflow)} it {does}. "
        f"Over its lip of {mm(stand.lip_diameter)} the water then stands {mm(head, 'head')} high; "
        f"over a lip as narrow as the bore it would be {mm(plain, 'head')}."
    )
