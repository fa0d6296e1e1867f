"""The inflow window of a siphon as a bar: where it starts, where it stops, and today's flow."""

from __future__ import annotations

from itertools import pairwise

from aquacalc.figures import style as s
from aquacalc.figures.live.artists import Pool
from aquacalc.figures.picture import Picture, Screen
from aquacalc.figures.vector import spread
from aquacalc.results.window import Window

HEIGHT = 196.0
LEFT, RIGHT = 26.0, 26.0
TOP, BAR = 40.0, 36.0
VALUES = 106.0
AXIS = 138.0

#: What an inflow does, by how sure it is to start and to stop, with how it is drawn.
ZONES = {
    ("no", "yes"): ("does not start", "#ececec", ""),
    ("may", "yes"): ("may or may not start", "#f7e3b5", "////"),
    ("yes", "yes"): ("starts and stops", "#9ccbe8", ""),
    ("may", "may"): ("may not start, may not stop", "#f2c6a0", "xxxx"),
    ("yes", "may"): ("may not stop", "#f2c6a0", "||||"),
    ("no", "may"): ("does not start", "#ececec", ""),
    ("no", "no"): ("does not start", "#ececec", ""),
    ("may", "no"): ("does not stop", "#cfcfcf", "\\\\\\\\"),
    ("yes", "no"): ("does not stop", "#cfcfcf", "\\\\\\\\"),
}


def zone(window: Window, flow: float) -> str:
    """Say in words what an inflow `flow` (m3/s) does at this siphon."""
    return ZONES[_sure(window, flow)][0]


def _sure(window: Window, flow: float) -> tuple[str, str]:
    start = "no" if flow < window.start_low else "yes" if flow >= window.start_high else "may"
    stop = "yes" if flow <= window.stop_with_margin else "no" if flow > window.stop else "may"
    return start, stop


def zones(window: Window, high: float) -> list[tuple[float, float, tuple[str, str]]]:
    """Return stretches of inflow from 0 to `high` (m3/s) as (low, high, how sure to start and to stop)."""
    marks = (window.start_low, window.start_high, window.stop_with_margin, window.stop)
    edges = sorted({0.0, high, *(x for x in marks if 0.0 < x < high)})
    found: list[tuple[float, float, tuple[str, str]]] = []
    for a, b in pairwise(edges):
        sure = _sure(window, 0.5 * (a + b))
        if found and ZONES[found[-1][2]] == ZONES[sure]:
            found[-1] = (found[-1][0], b, sure)
        else:
            found.append((a, b, sure))
    return found


class WindowView:
    """The bar of one siphon, updated in place.

    Parameters
    ----------
    system : {"metric", "us"}
    high : float, optional
        Fixed end of the axis, m3/s; chosen from the first window shown if not given.
    scale : float
        Dots of the PNG to a CSS pixel.
    """

    def __init__(self, system: str, high: float | None = None, scale: float = 2.0):
        self.system, self.high = system, high
        self.width = s.WIDTH - LEFT - RIGHT
        self.figure = s.new_figure(HEIGHT)
        self.axes = s.bare(self.figure, LEFT, 0.0, self.width, HEIGHT - 40.0)
        self.axes.set_ylim(HEIGHT - 40.0, 0.0)
        self.scale = s.place(self.figure, LEFT, AXIS, self.width, 4.0)
        self.scale.spines["left"].set_visible(False)
        self.scale.set_yticks([])
        self.pool = Pool()
        self.window: Window | None = None
        self.alt = ""
        self.screen = Screen(self.figure, scale)

    def update(self, window: Window) -> bytes:
        """Show a window and return the PNG file."""
        self.show(window)
        return self.screen.png()

    def picture(self) -> Picture:
        """Return what is shown now."""
        return Picture(self.figure, self.alt)

    def show(self, window: Window) -> None:
        """Bring the bar to a window."""
        if window == self.window:
            return
        self.screen.rest()
        self.pool.start()
        if self.high is None:
            self.high = 1.12 * max(window.stop, window.start_high, window.today_high)
        if self.window is None:
            self.scale.set_xlim(0.0, self.high)
            s.scale_axis(self.scale, "x", "flow", self.system, "inflow to the siphon", 12)
        self.window = window
        found = zones(window, self.high)
        self._bars(found)
        self._values(window)
        self.pool.stop()
        self.alt = _alt(window, self.system)

    def _x(self, flow: float) -> float:
        return min(flow / self.high, 1.0) * self.width

    def _bars(self, found) -> None:
        names = []
        for a, b, sure in found:
            name, colour, hatch = ZONES[sure]
            x0, x1 = self._x(a), self._x(b)
            self.pool.box(self.axes, x0, TOP, x1 - x0, BAR, fc=colour, ec=s.SOFT, lw=0.8, hatch=hatch)
            names.append((0.5 * (x0 + x1), name, sure == ("yes", "yes"), x0, x1))
        sizes = [s.text_width(name, s.TEXT) + 10.0 for _, name, _, _, _ in names]
        places = spread([n[0] for n in names], sizes, -LEFT + 4.0, self.width + RIGHT - 4.0)
        for x, (middle, name, good, x0, x1) in zip(places, names, strict=True):
            weight = "bold" if good else "normal"
            self.pool.text(self.axes, x, 14.0, name, s.TEXT, ha="center", weight=weight)
            foot = middle if x1 - x0 < 8.0 else min(max(x, x0 + 2.0), x1 - 2.0)
            self._lead((x, 23.0), (foot, TOP))

    def _values(self, window: Window) -> None:
        """Name the edges under the bar, and today's flow among them."""
        margin = round(100.0 * (1.0 - window.stop_with_margin / window.stop)) if window.stop > 0.0 else 0
        seen = "your reading" if window.observed else "start expected"
        marks = [
            (window.start_low, "lowest start", s.SOFT),
            (window.start, seen, s.INK),
            (window.start_high, "sure start", s.SOFT),
            (window.stop_with_margin, f"stop limit less {margin} %", s.INK),
            (window.stop, "stop limit", s.SOFT),
            (window.today, "today", s.MARK),
        ]
        marks = [m for m in marks if m[0] <= self.high * 1.0001]
        texts = [f"{s.value(flow, 'flow', self.system)}\n{name}" for flow, name, _ in marks]
        sizes = [s.text_width(text) + 10.0 for text in texts]
        xs = [self._x(flow) for flow, _, _ in marks]
        for x0, x, text, (_, name, colour) in zip(
            xs, spread(xs, sizes, -LEFT + 4.0, self.width + RIGHT - 4.0), texts, marks, strict=True
        ):
            today = name == "today"
            self.pool.text(
                self.axes, x, VALUES + 6.0, text, ha="center", linespacing=1.1,
                color=s.MARK if today else s.INK, weight="bold" if today else "normal",
            )  # fmt: skip
            self._lead((x, VALUES - 9.0), (x0, TOP + BAR + 2.0), s.MARK if today else s.SOFT)
            if name in ("today", seen):
                style = "-" if today else (0, (4, 2))
                top = TOP - 6.0 if today else TOP
                self.pool.line(
                    self.axes, [x0, x0], [top, TOP + BAR + 2.0],
                    color=colour, lw=3.0 if today else 1.4, ls=style, zorder=5.0,
                )  # fmt: skip
        if window.today_high > window.today_low:
            ends = [self._x(window.today_low), self._x(window.today_high)]
            self.pool.line(self.axes, ends, [TOP + 0.5 * BAR] * 2, color=s.MARK, lw=5.0, ls="-", zorder=4.8)

    def _lead(self, a, b, colour: str = s.SOFT) -> None:
        self.pool.line(self.axes, [a[0], b[0]], [a[1], b[1]], color=colour, ls="-", lw=0.8, zorder=2.0)


def window(data: Window, system: str, high: float | None = None) -> Picture:
    """Draw the inflow window of a siphon.

    Parameters
    ----------
    data : aquacalc.results.window.Window
    system : {"metric", "us"}
    high : float, optional
        End of the axis, m3/s.

    Returns
    -------
    Picture
    """
    view = WindowView(system, high, scale=1.0)
    view.show(data)
    return view.picture()


def _alt(w: Window, system: str) -> str:
    def q(flow: float) -> str:
        return s.value(flow, "flow", system)

    if w.stop <= w.start_low:
        middle = "No inflow both starts it and lets it stop. "
    elif w.stop_with_margin > w.start_high:
        middle = f"It starts and stops from {q(w.start_high)} to {q(w.stop_with_margin)}. "
    else:
        middle = "No inflow is sure both to start it and to let it stop. "
    basis = "by your own reading" if w.observed else "expected"
    return (
        f"Inflow window of {w.siphon}. Below {q(w.start_low)} it does not start; from there to "
        f"{q(w.start_high)} it may, {basis} from {q(w.start)}. {middle}"
        f"Above {q(w.stop)} it does not stop; less the margin that is {q(w.stop_with_margin)}. "
        f"Today's inflow is {q(w.today)}: {zone(w, w.today)}."
    )
