"""Levels against time over one cycle, with the siphon's regimes named along the top."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from typing import Any

from aquacalc.figures.chart import WIDTH, Axes, box, shown, zone
from aquacalc.figures.scene import drain_order
from aquacalc.figures.vector import TEXT, Drawing, Drawn, fit, nice_ticks, spread, text_width
from aquacalc.results.cycle import SystemCycle

HEIGHT = 430.0
LEFT, RIGHT = 80.0, 234.0
BAND_TOP, BAND = 44.0, 14.0
UPPER_TOP, UPPER, LOWER = 68.0, 200.0, 88.0
#: Most points drawn of one curve.
POINTS = 160
#: Dashes of the beds' curves, whose colours are the style sheet's `--s0` and on.
DASHES = ("", "6 2", "2 1.5", "8 2 2 2", "4 1.5 1 1.5 1 1.5", "10 3", "1 1", "6 1.5 1 1.5")
#: Colour and hatch of what a siphon does.
FILLS = {
    "filling": ("start", ""),
    "spilling": ("may", "|"),
    "priming": ("both", "x"),
    "siphoning": ("water", "/"),
}


@dataclass(frozen=True)
class Span:
    """A stretch of the siphon's time in one regime: from `start` to `end` (s), and its name in words."""

    start: float
    end: float
    name: str


def spans(run: SystemCycle, siphon: str, low: float, high: float) -> list[Span]:
    """Return the regimes of one siphon between the times `low` and `high` (s), in order."""
    trace = run.trace
    found: list[Span] = []
    k = max(bisect_right(trace.times, low) - 1, 0)
    rows = trace.regime[siphon]
    # A row tells the regime of the step that ends there.
    for i in range(k, len(trace.times) - 1):
        start = trace.times[i] if found else low
        end, name = min(trace.times[i + 1], high), rows[i + 1]
        if end <= start:
            continue
        if found and found[-1].name == name:
            found[-1] = Span(found[-1].start, end, name)
        else:
            found.append(Span(start, end, name))
    return found


def levels(
    run: SystemCycle,
    siphon: str | None = None,
    t: float | None = None,
    system: str | None = None,
    limits: dict[str, tuple[float, float]] | None = None,
) -> Drawn:
    """Draw the levels of one siphon's group and of the sump over one cycle.

    Parameters
    ----------
    run : SystemCycle
        With its trace.
    siphon : str, optional
        Whose group is shown; the first if not given.
    t : float, optional
        Time (s) in the trace at which a line is drawn.
    system : {"metric", "us"}, optional
        Units shown; the plan's own if not given.
    limits : dict, optional
        Fixed axes: "time", "beds" and "sump", each (low, high) in s or m.

    Returns
    -------
    Drawn
    """
    plan, limits = run.plan, limits or {}
    system = system or plan.units
    siphon = siphon or plan.siphons[0].name
    start, end = run.one_cycle(siphon)
    members = drain_order(plan)[siphon]
    curves = {name: _curve(run, name, start, end) for name in (*members, plan.sump.name)}
    one = plan.siphon(siphon)
    lip, rim = plan.lip_level(one), plan.rim_level(one)
    heights = [z for name in members for z in curves[name][1]]
    sump, water = plan.sump, curves[plan.sump.name][1]
    intake = sump.floor + plan.pump.intake
    # Rim and intake are shown when the level comes anywhere near them, else the swing would be flat.
    reach = max(max(water) - min(water), 0.05)
    marks = [(sump.rim, "sump rim"), (intake, "pump intake")]
    marks = [(z, n) for z, n in marks if min(abs(z - max(water)), abs(z - min(water))) < 1.2 * reach]

    d = Drawing(WIDTH, HEIGHT)
    span, wide = limits.get("time", (0.0, end - start)), WIDTH - LEFT - RIGHT
    beds = limits.get("beds") or _room([*heights, lip, rim], 0.08)
    upper = Axes(d, LEFT, UPPER_TOP, wide, UPPER, span, beds)
    swing = limits.get("sump") or _room([*water, *(z for z, _ in marks)], 0.16)
    lower = Axes(d, LEFT, UPPER_TOP + UPPER + 22.0, wide, LOWER, span, swing)
    upper.scale_y("elevation", system, "elevation", 6)
    lower.scale_y("elevation", system, "elevation", 4)
    unit, size = _time_unit(span[1])
    lower.ticks_x([tick * size for tick in nice_ticks(0.0, span[1] / size, 9)], 1.0 / size, f"time ({unit})")
    found = spans(run, siphon, start, end)
    _regimes((upper, lower), [Span(x.start - start, x.end - start, x.name) for x in found], system)
    lines = [(curves[name], name, name == members[-1], k % len(DASHES)) for k, name in enumerate(members)]
    _curves(upper, lines, [(lip, "lip"), (rim, "bell rim")], system)
    _curves(lower, [(curves[sump.name], sump.name, True, 0)], marks, system, " blue")
    if t is not None:
        _moment((upper, lower), min(max(t - start, 0.0), span[1]), system)
    d.alt = _alt(run, siphon, members, curves, found, system)
    return Drawn((d,), d.alt)


def _room(values: list[float], room: float) -> tuple[float, float]:
    low, high = min(values), max(values)
    margin = room * max(high - low, 0.02)
    return low - margin, high + margin


def _curves(axes: Axes, lines, marks, system: str, colour: str = "") -> None:
    """Draw curves and levels, and write their names beside their ends, each with a piece of its line."""
    d = axes.d
    found: list[tuple[float, str, str, dict[str, Any]]] = []
    clip = axes.clip(f"lines{axes.top:g}")
    for z, words in marks:
        d.path(axes.at([(x, z) for x in axes.xs]), "dotted", clip_path=clip)
        found.append((axes.y(z), f"{words} {shown(z, 'elevation', system)}", "dotted", {}))
    for (times, levels), name, strong, k in lines:
        look: dict[str, Any] = {}
        if not strong:
            look = {"style": f"stroke:var(--s{k})"}
            if DASHES[k]:
                look["stroke_dasharray"] = DASHES[k]
        d.path(axes.at(list(zip(times, levels, strict=True))), f"curve{colour}", clip_path=clip, **look)
        found.append((axes.y(levels[-1]), name, f"curve{colour}", look))
    edge, foot = axes.left + axes.width, axes.top + axes.height
    wanted = [min(max(y, axes.top), foot) for y, _, _, _ in found]
    places = spread(wanted, [18.0] * len(wanted), axes.top - 12.0, foot + 12.0)
    for y0, y, (_, words, cls, look) in zip(wanted, places, found, strict=True):
        d.path([(edge + 1.0, y0), (edge + 9.0, y)], "grid")
        d.path([(edge + 9.0, y), (edge + 33.0, y)], cls, **look)
        d.text(edge + 38.0, y, fit(words, RIGHT - 40.0, TEXT))


def _regimes(charts: tuple[Axes, Axes], found: list[Span], system: str) -> None:
    """Fill the band along the top and name its stretches."""
    upper, d = charts[0], charts[0].d
    edge = upper.left + upper.width
    found = [span for span in found if upper.x(span.start) < edge]
    ends = [(upper.x(span.start), min(upper.x(span.end), edge)) for span in found]
    for span, (x0, x1) in zip(found, ends, strict=True):
        zone(d, box(x0, BAND_TOP, x1 - x0, BAND), *FILLS[span.name])
        for axes in charts if x1 < edge else ():
            d.path([(x1, axes.top), (x1, axes.top + axes.height)], "grid")
    words = [f"{x.name} {shown(x.end - x.start, 'time', system)}" for x in found]
    sizes = [text_width(text, TEXT) + 10.0 for text in words]
    # Of many short stretches only the longest are named.
    kept = sorted(range(len(words)), key=lambda k: ends[k][0] - ends[k][1])
    while sum(sizes[k] for k in kept) > upper.width + 100.0:
        kept.pop()
    kept.sort()
    middles = [0.5 * sum(ends[k]) for k in kept]
    places = spread(middles, [sizes[k] for k in kept], 4.0, edge + 60.0)
    for k, middle, x in zip(kept, middles, places, strict=True):
        x0, x1 = ends[k]
        d.text(x, BAND_TOP - 22.0, words[k], "m")
        foot = middle if x1 - x0 < 8.0 else min(max(x, x0 + 2.0), x1 - 2.0)
        d.path([(x, BAND_TOP - 12.0), (foot, BAND_TOP)], "lead")


def _moment(charts: tuple[Axes, Axes], t: float, system: str) -> None:
    """Mark a time (s from the left edge) on both charts."""
    lower = charts[1]
    d, x = lower.d, lower.x(t)
    for axes in charts:
        d.path([(x, axes.top), (x, axes.top + axes.height)], "today thin")
    words, y = shown(t, "time", system), lower.top - 11.0
    if t > 0.85 * lower.xs[1]:
        d.text(x - 5.0, y, words, "mark e")
    else:
        d.text(x + 5.0, y, words, "mark")


def _curve(run: SystemCycle, name: str, start: float, end: float) -> tuple[list[float], list[float]]:
    """Return times from `start` (s) and levels (m): the solver's own steps, thinned where they are many."""
    trace = run.trace
    a, b = bisect_right(trace.times, start), bisect_left(trace.times, end)
    stride = max(1, (b - a) // POINTS)
    times = [start, *trace.times[a:b:stride], end]
    return [t - start for t in times], [trace.level(name, t) for t in times]


def _time_unit(span: float) -> tuple[str, float]:
    return ("s", 1.0) if span < 240.0 else ("min", 60.0) if span < 14400.0 else ("h", 3600.0)


def _alt(run: SystemCycle, name: str, members, curves, found: list[Span], system: str) -> str:
    def at(z: float) -> str:
        return shown(z, "elevation", system)

    parts = ", ".join(f"{span.name} for {shown(span.end - span.start, 'time', system)}" for span in found)
    swings = ", ".join(f"{m} from {at(min(curves[m][1]))} to {at(max(curves[m][1]))}" for m in members)
    sump = curves[run.plan.sump.name][1]
    group = run.group(name)
    whole = "One cycle" if group.outcome == "cycles" else "The whole run"
    length = shown(curves[run.plan.sump.name][0][-1], "time", system)
    return (
        f"Levels against time. {whole} of {name} takes {length}: {parts}. "
        f"Levels: {swings}, {run.plan.sump.name} from {at(min(sump))} to {at(max(sump))}."
    )
