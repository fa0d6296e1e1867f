"""Map of bore and lip against inflow: which combinations start, and how high the water stands then."""

from __future__ import annotations

import math

from matplotlib.patches import PathPatch

from aquacalc.equations.formulas import GRAVITY, choking_flow, lip_crossing, lip_head
from aquacalc.figures import style as s
from aquacalc.figures.outline import path_of
from aquacalc.figures.picture import Picture, Screen
from aquacalc.hydraulics.starting import start_band, start_froudes
from aquacalc.plan.model import Siphon

HEIGHT = 400.0
TOP, TALL = 44.0, 300.0
LEFT, WIDE = 70.0, 340.0
SECOND = 500.0
#: Heads over the lip (m) whose lines are drawn.
HEADS = (0.005, 0.010, 0.015, 0.020, 0.030)
HEADS_US = (0.00635, 0.0127, 0.01905, 0.0254, 0.0381)  # 1/4, 1/2, 3/4, 1 and 1 1/2 in
STEPS = 40


def lip_for(head: float, flow: float, weir: float, orifice: float) -> float:
    """Lip diameter (m) over which `flow` (m3/s) stands `head` (m) high: the inverse of the lip law.

    `weir` (m^0.5/s) and `orifice` are its coefficients.
    """
    by_weir = flow / (weir * math.pi * head**1.5)
    if head < lip_crossing(weir, orifice, GRAVITY) * by_weir:
        return by_weir
    return (flow / (orifice * 0.25 * math.pi * math.sqrt(2.0 * GRAVITY * head))) ** 0.5


class PrimingMapView:
    """Both maps for one siphon and its inflow, updated in place.

    Parameters
    ----------
    system : {"metric", "us"}
    flow_high, bore_high, lip_high : float
        Ends of the axes, m3/s and m; they stay where they are.
    bore_low : float
        Start of the bore axis, m.
    scale : float
        Dots of the PNG to a CSS pixel.
    """

    def __init__(
        self,
        system: str,
        flow_high: float = 6e-4,
        bore_high: float = 0.055,
        lip_high: float = 0.110,
        bore_low: float = 0.012,
        scale: float = 2.0,
    ):
        self.system = system
        self.ends = (flow_high, bore_low, bore_high, lip_high)
        self.figure = s.new_figure(HEIGHT)
        self.left = s.place(self.figure, LEFT, TOP, WIDE, TALL)
        self.right = s.place(self.figure, SECOND, TOP, WIDE, TALL)
        self.left.set_xlim(0.0, flow_high)
        self.right.set_xlim(bore_low, lip_high)
        for axes in (self.left, self.right):
            axes.set_ylim(bore_low, bore_high)
            s.scale_axis(axes, "y", "length", system, "bore of the standpipe", 7)
        s.scale_axis(self.left, "x", "flow", system, "inflow", 7)
        s.scale_axis(self.right, "x", "length", system, "lip diameter", 7)
        titles = ("Does the bore fill?", "How high does the water stand over the lip then?")
        for axes, text in zip((self.left, self.right), titles, strict=True):
            axes.set_title(
                text, fontsize=s.TEXT, fontfamily=s.FAMILY, color=s.INK, loc="left", weight="bold", pad=12
            )
        self.drawn: list = []
        self.marks: list = []
        self.laws: tuple[float, ...] = ()
        self.shown: tuple | None = None
        self.alt = ""
        self.screen = Screen(self.figure, scale)

    def update(self, siphon: Siphon, inflow: float) -> bytes:
        """Show a siphon at an inflow (m3/s) and return the PNG file."""
        self.show(siphon, inflow)
        return self.screen.png()

    def picture(self) -> Picture:
        """Return what is shown now."""
        return Picture(self.figure, self.alt)

    def show(self, siphon: Siphon, inflow: float) -> None:
        """Bring both maps to a siphon and its inflow (m3/s)."""
        if (siphon, inflow) == self.shown:
            return
        self.shown = (siphon, inflow)
        self.screen.rest()
        for mark in self.marks:
            mark.remove()
        self.marks = []
        low, likely, high = start_froudes(siphon)
        laws = (low, likely, high, siphon.lip_weir, siphon.lip_orifice)
        if laws != self.laws:
            self.laws = laws
            for artist in self.drawn:
                artist.remove()
            self.drawn = []
            self._regions(low, likely, high)
            self._heads(siphon, likely)
        bore, lip = siphon.standpipe.pipe.bore, siphon.standpipe.lip_diameter
        for axes, x in ((self.left, inflow), (self.right, lip)):
            (mark,) = axes.plot([x], [bore], "o", ms=9, mfc=s.MARK, mec=s.PAPER, mew=1.5, zorder=6)
            side = x > 0.6 * axes.get_xlim()[1]
            label = axes.annotate(
                "this plan", (x, bore), (-9 if side else 9, -1), textcoords="offset points", zorder=7,
                ha="right" if side else "left", va="center", fontsize=s.TEXT, fontfamily=s.FAMILY,
                color=s.MARK, weight="bold", bbox={"fc": s.PAPER, "ec": "none", "pad": 1.0, "alpha": 0.85},
            )  # fmt: skip
            self.marks += [mark, label]
        self.alt = _alt(siphon, inflow, self.system)

    def _regions(self, low: float, likely: float, high: float) -> None:
        flow_high, bore_low, bore_high, _ = self.ends
        bores = [bore_low + (bore_high - bore_low) * k / STEPS for k in range(STEPS + 1)]

        def curve(froude: float) -> list[tuple[float, float]]:
            return [(choking_flow(froude, d, GRAVITY), d) for d in bores]

        first, last = curve(low), curve(high)
        end = 2.0 * flow_high
        parts = (
            ([(0.0, bore_low), *first, (0.0, bore_high)], "#ececec", ""),
            ([*first, *reversed(last)], "#f7e3b5", "////"),
            ([*last, (max(end, last[-1][0]), bore_high), (max(end, last[-1][0]), bore_low)], "#9ccbe8", ""),
        )
        for polygon, colour, hatch in parts:
            patch = PathPatch(path_of([polygon]), fc=colour, ec=s.SOFT, lw=0.8, hatch=hatch, zorder=1)
            self.drawn.append(self.left.add_patch(patch))
        (line,) = self.left.plot(
            *zip(*curve(likely), strict=True), color=s.INK, lw=1.6, ls=(0, (5, 2)), zorder=2
        )
        self.drawn.append(line)

        def bore_at(froude: float, x: float) -> float:
            """Bore whose curve passes inflow `x` (a part of the axis), kept on the map."""
            return min(max((x * flow_high / choking_flow(froude, 1.0, GRAVITY)) ** 0.4, bore_low), bore_high)

        a, b, c = (bore_at(froude, 0.80) for froude in (low, likely, high))
        self._label(self.left, 0.80 * flow_high, 0.5 * (c + bore_low), "fills:\nstarts")
        self._label(
            self.left, 0.20 * flow_high, 0.5 * (bore_at(low, 0.20) + bore_high), "trickles:\ndoes not start"
        )
        tall = (bore_high - bore_low) / TALL
        if a - c > 60.0 * tall:
            self._label(self.left, 0.80 * flow_high, 0.5 * (a + b), "uncertain")
            self._label(self.left, 0.80 * flow_high, 0.5 * (b + c), "expected start:\ndashed line")
        else:
            self._label(self.left, 0.80 * flow_high, a + 16.0 * tall, "uncertain band,\nyour reading dashed")

    def _heads(self, siphon: Siphon, likely: float) -> None:
        _, bore_low, bore_high, lip_high = self.ends
        below = [(bore_low, bore_low), (bore_low, bore_high), (bore_high, bore_high)]
        patch = PathPatch(path_of([below]), fc="#ececec", ec=s.SOFT, lw=0.8, hatch="||", zorder=1)
        self.drawn.append(self.right.add_patch(patch))
        span = bore_high - bore_low
        self._label(self.right, bore_low + 0.28 * span, bore_low + 0.86 * span, "lip narrower\nthan bore")
        heads = HEADS if self.system == "metric" else HEADS_US
        for k, head in enumerate(heads):
            points = []
            for i in range(STEPS + 1):
                d = bore_low + (bore_high - bore_low) * i / STEPS
                lip = lip_for(head, choking_flow(likely, d, GRAVITY), siphon.lip_weir, siphon.lip_orifice)
                if d <= lip <= 0.86 * lip_high:
                    points.append((lip, d))
            if len(points) < 2:
                continue
            dash = (0, s.DASHES[k]) if s.DASHES[k] else "-"
            (line,) = self.right.plot(
                *zip(*points, strict=True), color=s.SERIES[0], lw=1.5, ls=dash, zorder=2
            )
            x, d = points[-1]
            text = f" {s.value(head, 'head', self.system, 2)}"
            self.drawn += [line, s.write(self.right, x, min(d, bore_high - 0.02 * span), text, zorder=5)]

    def _label(self, axes, x: float, y: float, text: str) -> None:
        self.drawn.append(
            s.write(axes, x, y, text, ha="center", zorder=5, clip_on=False,
                    bbox={"fc": s.PAPER, "ec": "none", "pad": 1.2, "alpha": 0.85})
        )  # fmt: skip


def priming_map(siphon: Siphon, inflow: float, system: str, **ends: float) -> Picture:
    """Draw which bores and lips start at which inflow.

    Parameters
    ----------
    siphon : Siphon
    inflow : float
        Today's inflow to it, m3/s.
    system : {"metric", "us"}
    **ends : float
        Ends of the axes (SI), as `PrimingMapView` takes them.

    Returns
    -------
    Picture
    """
    stand = siphon.standpipe
    fitted = {
        "flow_high": max(6e-4, 1.5 * inflow),
        "bore_high": max(0.055, 1.4 * stand.pipe.bore),
        "lip_high": max(0.110, 1.6 * stand.lip_diameter),
    }
    view = PrimingMapView(system, scale=1.0, **{**fitted, **ends})
    view.show(siphon, inflow)
    return view.picture()


def _alt(siphon: Siphon, inflow: float, system: str) -> str:
    stand = siphon.standpipe
    band = start_band(siphon)
    low, likely, high = band.low, band.middle, band.high
    head = lip_head(siphon.lip_weir, siphon.lip_orifice, stand.lip_diameter, likely, GRAVITY)
    plain = lip_head(siphon.lip_weir, siphon.lip_orifice, stand.pipe.bore, likely, GRAVITY)
    does = "does not start" if inflow < low else "starts" if inflow >= high else "may or may not start"

    def q(flow: float) -> str:
        return s.value(flow, "flow", system)

    def mm(length: float, kind: str = "length") -> str:
        return s.value(length, kind, system)

    return (
        f"Map of bore and lip against inflow. A bore of {mm(stand.pipe.bore)} is expected to fill at "
        f"{q(likely)} (from {q(low)} to {q(high)}); at today's {q(inflow)} it {does}. "
        f"Over its lip of {mm(stand.lip_diameter)} the water then stands {mm(head, 'head')} high; "
        f"over a lip as narrow as the bore it would be {mm(plain, 'head')}."
    )
