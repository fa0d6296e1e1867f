"""Levels against time over one cycle, with the siphon's regimes named along the top."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

from aquacalc.figures import style as s
from aquacalc.figures.live.artists import Pool
from aquacalc.figures.picture import Picture, Screen
from aquacalc.figures.scene import drain_order
from aquacalc.figures.vector import nice_ticks, spread
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle

HEIGHT = 424.0
LEFT, RIGHT = 66.0, 184.0
BAND_TOP, BAND = 44.0, 14.0
UPPER_TOP, UPPER, LOWER = 68.0, 200.0, 88.0
#: Most points drawn of one curve.
POINTS = 160


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


class LevelsView:
    """Levels over one cycle of one siphon's group, and of the sump, updated in place.

    Parameters
    ----------
    plan : Plan
    siphon : str, optional
        Whose group is shown; the first if not given.
    system : {"metric", "us"}, optional
        Units shown; the plan's own if not given.
    limits : dict, optional
        Fixed axes: "time", "beds" and "sump", each (low, high) in s or m.
    scale : float
        Dots of the PNG to a CSS pixel.
    """

    def __init__(
        self,
        plan: Plan,
        siphon: str | None = None,
        system: str | None = None,
        limits: dict[str, tuple[float, float]] | None = None,
        scale: float = 2.0,
    ):
        self.system = system or plan.units
        self.siphon = siphon or plan.siphons[0].name
        self.limits = limits or {}
        self.figure = s.new_figure(HEIGHT)
        width = s.WIDTH - LEFT - RIGHT
        self.width = width
        self.band = s.bare(self.figure, LEFT, 0.0, width, BAND_TOP + BAND)
        self.band.set_ylim(BAND_TOP + BAND, 0.0)
        self.upper = s.place(self.figure, LEFT, UPPER_TOP, width, UPPER)
        self.lower = s.place(self.figure, LEFT, UPPER_TOP + UPPER + 22.0, width, LOWER)
        self.upper.set_xticks([])
        self.upper.spines["bottom"].set_color(s.RULE)
        self.names = s.bare(self.figure, LEFT + width, 0.0, RIGHT, HEIGHT)
        self.names.set_ylim(HEIGHT, 0.0)
        self.cursors = [
            ax.axvline(0.0, color=s.MARK, lw=1.2, animated=True, visible=False, zorder=6)
            for ax in (self.upper, self.lower)
        ]
        self.when = s.write(self.lower, 0.0, 0.0, "", color=s.MARK, animated=True, visible=False, va="bottom")
        self.pool = Pool()
        self.run: SystemCycle | None = None
        self.ends: tuple[float, ...] = ()
        self.alt = ""
        self.screen = Screen(self.figure, scale)

    def show(self, run: SystemCycle, t: float | None = None) -> None:
        """Draw the levels of a run, and a line at time `t` (s) if given."""
        if run is not self.run:
            self._still(run)
            self.screen.rest()
        self.run = run
        for cursor in (*self.cursors, self.when):
            cursor.set_visible(t is not None)
        if t is not None:
            x = min(max(t - self.start, 0.0), self.upper.get_xlim()[1])
            for cursor in self.cursors:
                cursor.set_xdata([x, x])
            high = x > 0.85 * self.upper.get_xlim()[1]
            self.when.set_ha("right" if high else "left")
            top = self.lower.get_ylim()[1]
            self.when.set_position((x, top))
            self.when.set_text(f" {s.value(x, 'time', self.system)} ")

    def update(self, run: SystemCycle, t: float | None = None) -> bytes:
        """Show a run at the moment `t` (s) and return the PNG file."""
        self.show(run, t)
        return self.screen.png()

    def picture(self) -> Picture:
        """Return what is shown now."""
        return Picture(self.figure, self.alt)

    def _still(self, run: SystemCycle) -> None:
        self.pool.start()
        plan, system = run.plan, self.system
        self.start, self.end = run.one_cycle(self.siphon)
        members = drain_order(plan)[self.siphon]
        siphon = next(x for x in plan.siphons if x.name == self.siphon)
        curves = {name: _curve(run, name, self.start, self.end) for name in (*members, plan.sump.name)}
        lip, rim = plan.lip_level(siphon), plan.rim_level(siphon)

        low = min(rim, *(min(z) for name, (_, z) in curves.items() if name in members))
        high = max(lip, *(max(z) for name, (_, z) in curves.items() if name in members))
        self._limit(self.upper, "beds", low, high, 0.08)
        sump = plan.sump
        z = curves[sump.name][1]
        intake = sump.floor + plan.pump.intake
        # Rim and intake are shown when the level comes anywhere near them, else the swing would be flat.
        reach = max(max(z) - min(z), 0.05)
        edges = [v for v in (sump.rim, intake) if min(abs(v - max(z)), abs(v - min(z))) < 1.2 * reach]
        self._limit(self.lower, "sump", min(z + edges), max(z + edges), 0.16)
        span = self.limits.get("time", (0.0, self.end - self.start))
        for axes in (self.upper, self.lower):
            if span != axes.get_xlim():
                axes.set_xlim(*span)
        ends = (*self.upper.get_ylim(), *self.lower.get_ylim(), self.upper.get_xlim()[1])
        if ends != self.ends:
            self.ends = ends
            s.scale_axis(self.upper, "y", "elevation", system, "elevation", 6)
            s.scale_axis(self.lower, "y", "elevation", system, "elevation", 4)
            _time_axis(self.lower, self.upper.get_xlim()[1])

        self._lines(members, curves, ((lip, f"lip {s.value(lip, 'elevation', system)}"),
                                      (rim, f"bell rim {s.value(rim, 'elevation', system)}")))  # fmt: skip
        marks = [(v, n) for v, n in ((sump.rim, "sump rim"), (intake, "pump intake")) if v in edges]
        self._sump(sump.name, curves[sump.name], marks)
        found = spans(run, self.siphon, self.start, self.end)
        self._regimes(found)
        self.pool.stop()
        self.alt = _alt(run, self.siphon, members, curves, found, system)

    def _limit(self, axes, key: str, low: float, high: float, room: float) -> None:
        margin = room * max(high - low, 0.02)
        limits = self.limits.get(key, (low - margin, high + margin))
        if limits != axes.get_ylim():
            axes.set_ylim(*limits)

    def _lines(self, members, curves, marks) -> None:
        ax = self.upper
        ends, colours, words = [], [], []
        for k, name in enumerate(members):
            t, z = curves[name]
            last = name == members[-1]
            colour = s.INK if last else s.SERIES[k % len(s.SERIES)]
            dash = (0, s.DASHES[k % len(s.DASHES)]) if not last and k % len(s.DASHES) else "-"
            width, over = (2.2, 3.0) if last else (1.8, 3.1)
            self.pool.line(ax, t, z, color=colour, ls=dash, lw=width, zorder=over)
            ends.append(z[-1])
            colours.append((colour, dash, 2.2 if last else 1.8))
            words.append(name)
        for z, name in marks:
            self._across(ax, z)
            ends.append(z)
            colours.append((s.SOFT, (0, (1, 2)), 0.9))
            words.append(name)
        self._direct(ax, UPPER_TOP, UPPER, ends, colours, words)

    def _sump(self, name, curve, marks) -> None:
        t, z = curve
        self.pool.line(self.lower, t, z, color=s.WATER_LINE, ls="-", lw=1.8, zorder=3)
        ends, colours, words = [z[-1]], [(s.WATER_LINE, "-", 1.8)], [name]
        for v, label in marks:
            self._across(self.lower, v)
            ends.append(v)
            colours.append((s.SOFT, (0, (1, 2)), 0.9))
            words.append(f"{label} {s.value(v, 'elevation', self.system)}")
        self._direct(self.lower, UPPER_TOP + UPPER + 22.0, LOWER, ends, colours, words)

    def _direct(self, axes, top, height, ends, strokes, words) -> None:
        """Write the names beside the ends of the curves, each with a piece of its line."""
        low, high = axes.get_ylim()
        wanted = [top + height * (high - z) / (high - low) for z in ends]
        for y0, y, (colour, dash, lw), text in zip(
            wanted,
            spread(wanted, [15.0] * len(wanted), top - 10.0, top + height + 10.0),
            strokes,
            words,
            strict=True,
        ):
            self.pool.line(self.names, [1.0, 9.0], [y0, y], color=s.RULE, ls="-", lw=0.8)
            self.pool.line(self.names, [9.0, 33.0], [y, y], color=colour, ls=dash, lw=lw)
            self.pool.text(self.names, 38.0, y, s.fit(text, RIGHT - 40.0))

    def _across(self, axes, z: float) -> None:
        low, high = axes.get_xlim()
        self.pool.line(axes, [low, high], [z, z], color=s.SOFT, lw=0.9, ls=(0, (1, 2)), zorder=2)

    def _regimes(self, found: list[Span]) -> None:
        """Fill the band along the top and name its stretches."""
        ax, width = self.band, self.width
        low, high = self.upper.get_xlim()
        fills = {"filling": "#e3eef6", "spilling": "#f7e3b5", "priming": "#f2c6a0", "siphoning": "#9ccbe8"}
        hatches = {"filling": "", "spilling": "||||", "priming": "xxxx", "siphoning": "////"}
        stretches = []
        for span in found:
            x0 = (span.start - self.start - low) / (high - low) * width
            x1 = min((span.end - self.start - low) / (high - low) * width, width)
            if x0 < width:
                stretches.append((span, x0, x1))
        for span, x0, x1 in stretches:
            self.pool.box(
                ax, x0, BAND_TOP, x1 - x0, BAND,
                fc=fills[span.name], hatch=hatches[span.name], ec=s.SOFT, lw=0.6,
            )  # fmt: skip
            if x1 < width:
                for axes in (self.upper, self.lower):
                    x = span.end - self.start
                    self.pool.line(axes, [x, x], axes.get_ylim(), color=s.RULE, ls="-", lw=0.8, zorder=1)
        words = [f"{n.name} {s.value(n.end - n.start, 'time', self.system)}" for n, _, _ in stretches]
        sizes = [s.text_width(text) + 10.0 for text in words]
        # Of many short stretches only the longest are named.
        kept = sorted(range(len(words)), key=lambda k: stretches[k][1] - stretches[k][2])
        while sum(sizes[k] for k in kept) > width + 100.0:
            kept.pop()
        kept.sort()
        middles = [0.5 * (stretches[k][1] + stretches[k][2]) for k in kept]
        places = spread(middles, [sizes[k] for k in kept], -40.0, width + 60.0)
        for k, middle, x in zip(kept, middles, places, strict=True):
            self.pool.text(ax, x, BAND_TOP - 22.0, words[k], ha="center", clip_on=False)
            near = min(max(x, stretches[k][1] + 2.0), stretches[k][2] - 2.0)
            foot = middle if stretches[k][2] - stretches[k][1] < 8.0 else near
            ends = [BAND_TOP - 13.0, BAND_TOP]
            self.pool.line(ax, [x, foot], ends, color=s.SOFT, ls="-", lw=0.7, clip_on=False)


def levels(
    run: SystemCycle, siphon: str | None = None, t: float | None = None, system: str | None = None
) -> Picture:
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

    Returns
    -------
    Picture
    """
    view = LevelsView(run.plan, siphon, system, scale=1.0)
    view.show(run, t)
    return view.picture()


def _curve(run: SystemCycle, name: str, start: float, end: float) -> tuple[list[float], list[float]]:
    """Return times from `start` (s) and levels (m): the solver's own steps, thinned where they are many."""
    trace = run.trace
    a, b = bisect_right(trace.times, start), bisect_left(trace.times, end)
    stride = max(1, (b - a) // POINTS)
    times = [start, *trace.times[a:b:stride], end]
    return [t - start for t in times], [trace.level(name, t) for t in times]


def _time_axis(axes, span: float) -> None:
    unit, size = ("s", 1.0) if span < 240.0 else ("min", 60.0) if span < 14400.0 else ("h", 3600.0)
    ticks = nice_ticks(0.0, span / size, 9)
    axes.xaxis.set_ticks([t * size for t in ticks], [f"{t:g}" for t in ticks])
    axes.set_xlabel(f"time ({unit})", fontsize=s.SMALL, fontfamily=s.FAMILY, color=s.INK)


def _alt(run: SystemCycle, name: str, members, curves, found: list[Span], system: str) -> str:
    def at(z: float) -> str:
        return s.value(z, "elevation", system)

    parts = ", ".join(f"{span.name} for {s.value(span.end - span.start, 'time', system)}" for span in found)
    swings = ", ".join(f"{m} from {at(min(curves[m][1]))} to {at(max(curves[m][1]))}" for m in members)
    sump = curves[run.plan.sump.name][1]
    group = run.group(name)
    whole = "One cycle" if group.outcome == "cycles" else "The whole run"
    length = s.value(curves[run.plan.sump.name][0][-1], "time", system)
    return (
        f"Levels against time. {whole} of {name} takes {length}: {parts}. "
        f"Levels: {swings}, {run.plan.sump.name} from {at(min(sump))} to {at(max(sump))}."
    )
