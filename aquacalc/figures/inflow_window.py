"""The inflow window of a siphon as a bar: where it starts, where it stops, and today's flow."""

from __future__ import annotations

from itertools import pairwise

from aquacalc.figures.chart import WIDTH, Axes, beside, box, shown
from aquacalc.figures.chart import zone as zone_of
from aquacalc.figures.vector import Drawing, Drawn
from aquacalc.results.window import Window

HEIGHT = 204.0
LEFT, RIGHT = 26.0, 26.0
TOP, BAR = 40.0, 36.0
VALUES = 106.0
AXIS = 142.0

#: What an inflow does, by how sure it is to start and to stop, with how it is drawn.
ZONES = {
    ("no", "yes"): ("does not start", "no", ""),
    ("may", "yes"): ("may or may not start", "may", "/"),
    ("yes", "yes"): ("starts and stops", "water", ""),
    ("may", "may"): ("may not start, may not stop", "both", "x"),
    ("yes", "may"): ("may not stop", "both", "|"),
    ("no", "may"): ("does not start", "no", ""),
    ("no", "no"): ("does not start", "no", ""),
    ("may", "no"): ("does not stop", "never", "\\"),
    ("yes", "no"): ("does not stop", "never", "\\"),
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


def window(data: Window, system: str, high: float | None = None) -> Drawn:
    """Draw the inflow window of a siphon.

    Parameters
    ----------
    data : aquacalc.results.window.Window
    system : {"metric", "us"}
    high : float, optional
        End of the axis, m3/s.

    Returns
    -------
    Drawn
    """
    high = high or 1.12 * max(data.stop, data.start_high, data.today_high)
    d = Drawing(WIDTH, HEIGHT)
    axes = Axes(d, LEFT, TOP, WIDTH - LEFT - RIGHT, AXIS - TOP, (0.0, high))
    axes.scale_x("flow", system, "inflow to the siphon", 12)
    _bars(axes, zones(data, high))
    _values(axes, data, system)
    d.alt = _alt(data, system)
    return Drawn((d,), d.alt)


def _bars(axes: Axes, found) -> None:
    d, names = axes.d, [ZONES[sure][0] for _, _, sure in found]
    ends = [(axes.x(a), axes.x(b)) for a, b, _ in found]
    places = beside(names, [0.5 * (x0 + x1) for x0, x1 in ends], 4.0, WIDTH - 4.0)
    for x, name, (x0, x1), (_, _, sure) in zip(places, names, ends, found, strict=True):
        zone_of(d, box(x0, TOP, x1 - x0, BAR), *ZONES[sure][1:])
        d.text(x, 14.0, name, "m b" if sure == ("yes", "yes") else "m")
        foot = 0.5 * (x0 + x1) if x1 - x0 < 8.0 else min(max(x, x0 + 2.0), x1 - 2.0)
        d.path([(x, 24.0), (foot, TOP)], "lead")


def _values(axes: Axes, data: Window, system: str) -> None:
    """Name the edges under the bar, and today's flow among them."""
    d, margin = axes.d, 0
    if data.stop > 0.0:
        margin = round(100.0 * (1.0 - data.stop_with_margin / data.stop))
    seen = "your reading" if data.observed else "start expected"
    marks = [
        (data.start_low, "lowest start"),
        (data.start, seen),
        (data.start_high, "sure start"),
        (data.stop_with_margin, f"stop limit less {margin} %"),
        (data.stop, "stop limit"),
        (data.today, "today"),
    ]
    marks = [m for m in marks if m[0] <= axes.xs[1] * 1.0001]
    texts = [f"{shown(flow, 'flow', system)}\n{name}" for flow, name in marks]
    xs = [axes.x(flow) for flow, _ in marks]
    if data.today_high > data.today_low:
        ends = [(axes.x(min(q, axes.xs[1])), TOP + 0.5 * BAR) for q in (data.today_low, data.today_high)]
        d.path(ends, "today")
    for x0, x, text, (_, name) in zip(xs, beside(texts, xs, 4.0, WIDTH - 4.0), texts, marks, strict=True):
        cls = "m b mark" if name == "today" else "m"
        for k, line in enumerate(text.split("\n")):
            d.text(x, VALUES + 17.0 * k, line, cls)
        d.path([(x, VALUES - 10.0), (x0, TOP + BAR + 2.0)], "lead")
        if name == "today":
            d.path([(x0, TOP - 6.0), (x0, TOP + BAR + 2.0)], "today")
        elif name == seen:
            d.path([(x0, TOP), (x0, TOP + BAR + 2.0)], "dash")


def _alt(w: Window, system: str) -> str:
    def q(flow: float) -> str:
        return shown(flow, "flow", system)

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
