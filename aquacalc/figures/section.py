"""The section: every vessel at its own elevation, with its water, and the siphon close up."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import hypot

from matplotlib.collections import LineCollection
from matplotlib.patches import PathPatch

from aquacalc.figures import style as s
from aquacalc.figures.closeup import CloseUp
from aquacalc.figures.live.artists import Keeper, Pool
from aquacalc.figures.outline import path_of, pebbles
from aquacalc.figures.picture import Picture, Screen
from aquacalc.figures.scene import Scene, build_scene, fit_frame
from aquacalc.figures.snapshot import Moment, moment
from aquacalc.hydraulics.starting import choking_level
from aquacalc.plan.model import Bed, Plan
from aquacalc.results.cycle import SystemCycle

HEIGHT = 430.0
LEFT, TOP, BOTTOM = 62.0, 52.0, 38.0
CLOSE = 290.0
#: What a siphon does, in large words, by its regime.
STAGES = {
    "filling": "Filling", "spilling": "Spilling over the lip", "priming": "Air leaves the bell",
    "siphoning": "Running full",
}  # fmt: skip
STAGE_SIZE = 10.5
#: Half an arrow's length, px, and the least difference of level (m) that moves water in a drain line.
ARROW, MOVES = 6.0, 0.001


class SectionView:
    """A section that follows a plan and a moment of its run, in place.

    Parameters
    ----------
    plan : Plan
    others : sequence of Plan
        Further plans that must fit without a change of scale, such as those at a slider's ends.
    siphon : str, optional
        Name of the siphon drawn close up; the first if not given.
    system : {"metric", "us"}, optional
        Units shown; the plan's own if not given.
    scale : float
        Dots of the PNG to a CSS pixel.
    """

    def __init__(
        self,
        plan: Plan,
        others: Sequence[Plan] = (),
        siphon: str | None = None,
        system: str | None = None,
        scale: float = 2.0,
    ):
        self.system = system or plan.units
        self.siphon = siphon or plan.siphons[0].name
        self.figure = s.new_figure(HEIGHT)
        width, height = s.WIDTH - LEFT - CLOSE - 14.0, HEIGHT - TOP - BOTTOM
        self.axes = s.place(self.figure, LEFT, TOP, width, height)
        self.axes.spines["bottom"].set_visible(False)
        self.axes.set_xticks([])
        self.axes.set_xlim(0.0, width)
        self.strip = s.bare(self.figure, LEFT, 0.0, width, TOP)
        self.strip.set_ylim(TOP, 0.0)
        self.frame = fit_frame((plan, *others), width, height)
        self.axes.set_ylim(self.frame.low, self.frame.high)
        s.scale_axis(self.axes, "y", "elevation", self.system, f"elevation above {plan.datum}")
        axes = s.bare(self.figure, s.WIDTH - CLOSE, 8.0, CLOSE, HEIGHT - 16.0)
        self.close = CloseUp(axes, CLOSE, HEIGHT - 16.0, (plan, *others), self.siphon, self.system)
        self._artists()
        self.plan: Plan | None = None
        self.alt = ""
        self.screen = Screen(self.figure, scale)
        self.show(plan, None, None)

    def _artists(self) -> None:
        ax = self.axes
        self.ground = ax.axhline(0.0, color=s.RULE, lw=1.0, zorder=0.2)
        self.media = ax.add_patch(PathPatch(path_of([]), fc=s.MEDIA, ec="none", zorder=0.5))
        (self.pebbles,) = ax.plot([], [], ".", ms=2.6, mew=0.0, color=s.MEDIA_DOT, zorder=0.6)
        self.levels = ax.add_collection(
            LineCollection([], colors=s.INK, linewidths=0.8, linestyles=[(0, (5, 3))], zorder=0.7)
        )
        self.water = ax.add_patch(PathPatch(path_of([]), fc=s.WATER, ec="none", alpha=0.62, animated=True))
        self.surface = ax.add_collection(
            LineCollection([], colors=s.WATER_LINE, linewidths=1.3, animated=True, zorder=2.0)
        )
        self.stream = ax.add_collection(
            LineCollection([], colors=s.WATER_LINE, animated=True, zorder=2.1, alpha=0.6)
        )
        self.outer = ax.add_collection(LineCollection([], colors=s.PIPE, animated=True, zorder=2.4))
        self.inner = ax.add_collection(LineCollection([], animated=True, zorder=2.5))
        for lines in (self.outer, self.inner):
            lines.set_joinstyle("miter")
            lines.set_capstyle("butt")
        self.siphons = ax.add_patch(
            PathPatch(path_of([]), fc=s.PIPE, ec=s.INK, lw=0.5, animated=True, zorder=2.7)
        )
        self.walls = ax.add_collection(
            LineCollection([], colors=s.INK, linewidths=1.6, animated=True, zorder=3.0)
        )
        (self.marks,) = ax.plot(
            [], [], "v", ms=5.0, mfc=s.PAPER, mec=s.WATER_LINE, mew=0.9, animated=True, zorder=3.2
        )
        (self.pump,) = ax.plot([], [], "s", ms=9.0, mfc=s.PIPE, mec=s.INK, mew=0.8, animated=True, zorder=2.8)
        (self.tees,) = ax.plot([], [], "s", ms=4.0, color=s.INK, zorder=3.2, animated=True)
        self.arrows = ax.add_patch(
            PathPatch(path_of([]), fc=s.MARK, ec=s.PAPER, lw=0.5, animated=True, zorder=3.4)
        )
        self.pool, self.keep = Pool(), Keeper()
        self.values: dict = {}
        foot = self.frame.low - 11.0 / self.frame.up
        self.caption = s.write(ax, 0.0, foot, "", STAGE_SIZE, weight="bold", clip_on=False, animated=True)

    def show(self, plan: Plan, run: SystemCycle | None, t: float | None) -> None:
        """Bring every artist to the state of `plan` at time `t` (s) of `run`."""
        if plan is not self.plan and plan != self.plan:
            self._still(plan)
            self.screen.rest()
        self.plan = plan
        now = moment(plan, run, t)
        self._move(plan, now)
        self.close.move(now)
        start = run.one_cycle(self.siphon)[0] if run is not None else 0.0
        when = "at rest, drained" if now.t is None else s.value(max(now.t - start, 0.0), "time", self.system)
        if now.t is not None:
            cycles = run.group(self.siphon).outcome == "cycles"
            when += " after the siphon broke" if cycles else " after the pump was switched on"
        stage = STAGES.get(now.regime[self.siphon], now.regime[self.siphon].capitalize())
        self.keep(self.caption.set_text, when if now.t is None else f"{stage}: {when}")
        self.alt = _alt(plan, now, when, self.siphon, self.system)

    def update(self, plan: Plan, run: SystemCycle | None, t: float | None) -> bytes:
        """Show a plan at the moment `t` (s) and return the PNG file."""
        self.show(plan, run, t)
        return self.screen.png()

    def picture(self) -> Picture:
        """Return what is shown now."""
        return Picture(self.figure, self.alt)

    def _still(self, plan: Plan) -> None:
        scene = build_scene(plan, self.frame)
        self.scene = scene
        beds = [scene.placed[b.name] for b in plan.beds]
        tops = [p.vessel.floor + p.vessel.media.depth for p in beds]
        self.keep.path(self.media, [p.filled(z) for p, z in zip(beds, tops, strict=True)])
        dots = [d for p, z in zip(beds, tops, strict=True) for d in pebbles(p, z, 7.0, self.frame.up)]
        self.keep(self.pebbles.set_data, [x for x, _ in dots], [z for _, z in dots])
        self.keep(self.walls.set_segments, [p.wall() for p in scene.placed.values()])
        self.keep(self.outer.set_segments, [line.points for line in scene.lines])
        self.keep(self.outer.set_linewidths, [line.outside * s.POINT for line in scene.lines])
        self.keep(self.inner.set_segments, [line.points for line in scene.lines])
        inside = [max(line.inside, 0.5 * line.outside) * s.POINT for line in scene.lines]
        self.keep(self.inner.set_linewidths, inside)
        tees = scene.tees.values()
        self.keep(self.tees.set_data, [x for x, _ in tees], [z for _, z in tees])
        x, z = next(line for line in scene.lines if line.kind == "delivery").points[0]
        self.keep(self.pump.set_data, [x], [z])
        self.keep.path(self.siphons, _siphons(plan, scene))
        self.keep(self.levels.set_segments, _flood_lines(plan, scene))
        self._labels(plan, scene)
        self.close.still(plan)

    def _labels(self, plan: Plan, scene: Scene) -> None:
        self.pool.start()
        for name in [name for name in self.values if name not in scene.columns]:
            self.values.pop(name).remove()
        for name, (left, right) in scene.columns.items():
            middle, room = 0.5 * (left + right), right - left + 10.0
            lines = _wrap(name, room)
            for k, line in enumerate(lines):
                y = 10.0 + 13.0 * k if len(lines) == 2 else 20.0
                self.pool.text(self.strip, middle, y, line, s.TEXT, ha="center", weight="bold")
            if name not in self.values:
                self.values[name] = s.write(
                    self.strip, middle, 38.0, "", ha="center", color=s.WATER_LINE, animated=True
                )
            self.keep(self.values[name].set_x, middle)
        frame = scene.frame
        _names(self.pool, self.axes, plan, scene, self.system)
        shown = "widths and heights to one scale"
        if frame.across < 0.98 * frame.up:
            shown = f"widths drawn at {100.0 * frame.across / frame.up:.0f} % of the scale of heights"
        note = f"Vessels seen end on, {shown}; gaps are not to scale."
        self.pool.text(self.axes, 0.0, frame.low - 28.0 / frame.up, note, color=s.SOFT)
        self.pool.stop()

    def _move(self, plan: Plan, now: Moment) -> None:
        scene = self.scene
        placed = scene.placed
        self.keep.path(self.water, [p.filled(now.levels[name]) for name, p in placed.items()])
        lines, marks = [], []
        for name, p in placed.items():
            z = now.levels[name]
            self.keep(self.values[name].set_text, s.value(z, "elevation", self.system))
            if p.vessel.floor + 1e-3 < z <= p.vessel.rim + 0.05:
                half = p.half(z)
                lines.append([(p.centre - half, z), (p.centre + half, z)])
                marks.append((p.centre - 0.62 * half, z + 3.5 / scene.frame.up))
        self.keep(self.surface.set_segments, lines)
        self.keep(self.marks.set_data, [x for x, _ in marks], [z for _, z in marks])
        running = {x.host: now.outflow[x.name] > 0.0 for x in plan.siphons}
        colours, streams, widths = [], [], []
        for line in scene.lines:
            wet = now.levels[line.start] > min(z for _, z in line.points) if line.kind == "run" else False
            if line.kind == "tail":
                wet = running[line.start]
                x, z = line.points[-1]
                sump = now.levels[plan.sump.name]
                if wet and z > sump:
                    streams.append([(x, z), (x, sump)])
                    widths.append(0.6 * line.inside * s.POINT)
            elif line.kind == "delivery":
                wet = now.pump > 0.0
            colours.append(s.WATER if wet else s.PIPE_EMPTY)
        if now.pump > 0.0:
            streams += [[(x, scene.header), (x, z)] for x, z in scene.drops]
            widths += [1.6] * len(scene.drops)
        self.keep(self.inner.set_color, colours)
        self.keep.path(self.arrows, _arrows(plan, scene, now))
        self.keep(self.stream.set_segments, streams)
        self.keep(self.stream.set_linewidths, widths or [1.0])


def section(
    plan: Plan,
    run: SystemCycle | None = None,
    t: float | None = None,
    siphon: str | None = None,
    system: str | None = None,
) -> Picture:
    """Draw the section of a plan with its water at one moment.

    Parameters
    ----------
    plan : Plan
    run : SystemCycle, optional
        What `aquacalc.results.cycle.run_plan` gave, with its trace; drained vessels without it.
    t : float, optional
        Time (s) in the trace; the moment the siphon begins to run full if not given.
    siphon : str, optional
        Name of the siphon drawn close up; the first if not given.
    system : {"metric", "us"}, optional
        Units shown; the plan's own if not given.

    Returns
    -------
    Picture
    """
    view = SectionView(plan, siphon=siphon, system=system, scale=1.0)
    view.show(plan, run, t)
    return view.picture()


def _wrap(name: str, room: float) -> list[str]:
    if s.text_width(name, s.TEXT) <= room or " " not in name:
        return [s.fit(name, room, s.TEXT)]
    words = name.split()
    cut = min(range(1, len(words)), key=lambda k: abs(len(" ".join(words[:k])) - len(" ".join(words[k:]))))
    return [s.fit(" ".join(part), room, s.TEXT) for part in (words[:cut], words[cut:])]


def _flood_lines(plan: Plan, scene: Scene) -> list:
    lines = []
    for siphon in plan.siphons:
        members = [scene.placed[name] for name in scene.groups[siphon.name]]
        z = choking_level(plan, siphon)
        lines.append([(min(p.left for p in members) - 4.0, z), (max(p.right for p in members) + 6.0, z)])
    return lines


def _siphons(plan: Plan, scene: Scene) -> list:
    shapes = []
    across = scene.frame.across
    for siphon in plan.siphons:
        host = scene.placed[siphon.host]
        c, floor = host.centre, host.vessel.floor
        stand, bell = siphon.standpipe, siphon.bell
        out = 0.5 * stand.pipe.outside_diameter * across
        lip = floor + stand.height
        shapes.append([(c - out, floor), (c - out, lip), (c + out, lip), (c + out, floor)])
        half = 0.5 * bell.outside_diameter * across
        thick = max(0.5 * (bell.outside_diameter - bell.bore) * across, 1.0)
        rim, top = floor + bell.rim_height, floor + bell.top_height
        roof = top - thick / scene.frame.up
        shapes.append(
            [
                (c - half, rim), (c - half, top), (c + half, top), (c + half, rim),
                (c + half - thick, rim), (c + half - thick, roof),
                (c - half + thick, roof), (c - half + thick, rim),
            ]
        )  # fmt: skip
    return shapes


def _arrows(plan: Plan, scene: Scene, now: Moment) -> list:
    """Return an arrow on every pipe that water moves in, the way it moves."""
    to = {run.start: run.to for run in plan.runs}
    hosts = {siphon.host: siphon.name for siphon in plan.siphons}
    shapes = []
    for line in scene.lines:
        if line.kind == "delivery":
            way = 1.0 if now.pump > 0.0 else 0.0
        elif line.kind == "tail":
            way = 1.0 if now.outflow[hosts[line.start]] > 0.0 else 0.0
        else:
            fall = now.levels[line.start] - now.levels[to[line.start]]
            way = 0.0 if abs(fall) < MOVES else 1.0 if fall > 0.0 else -1.0
        if way:
            shapes.append(_arrow(line.points, way, scene.frame.up))
    return shapes


def _arrow(points, way: float, up: float) -> list:
    """Return a triangle in the middle of a line's longest part; x in px, z in m (`up` px to a metre)."""
    parts = [(x0, z0, x1 - x0, (z1 - z0) * up) for (x0, z0), (x1, z1) in pairwise(points)]
    x, z, dx, dy = max(parts, key=lambda part: part[2] ** 2 + part[3] ** 2)
    length = way * max(hypot(dx, dy), 1e-9)
    ax, ay = ARROW * dx / length, ARROW * dy / length
    mx, my = x + 0.5 * dx, 0.5 * dy
    corners = ((ax, ay), (-ax - ay, -ay + ax), (-ax + ay, -ay - ax))
    return [(mx + cx, z + (my + cy) / up) for cx, cy in corners]


def _names(pool: Pool, axes, plan: Plan, scene: Scene, system: str) -> None:
    """Write the names of pipes, tees, flood level and pump, each where there is room."""
    frame = scene.frame
    line = 13.0 / frame.up
    last = plan.siphons[-1]
    host, sump = scene.placed[last.host], scene.placed[plan.sump.name]
    z = choking_level(plan, last)
    room = sump.left + 0.80 * (sump.right - sump.left) - host.right - 16.0
    value = s.value(z, "elevation", system)
    ways = (f"flood level {value}", f"flood level\n{value}")
    words = next((w for w in ways if s.text_width(w) < room), "")
    pool.text(axes, host.right + 9.0, z, words)
    previous = -1e9
    for name, (x, zt) in sorted(scene.tees.items(), key=lambda item: item[1]):
        if x - previous > s.text_width(name) + 6.0:
            below = zt - 0.5 * scene.lines[0].outside / frame.up - 0.7 * line
            pool.text(axes, x, below, name, ha="right", color=s.SOFT)
            previous = x
    drains = [x for x in scene.lines if x.kind == "run"]
    if drains:
        sizes = {f"{run.pipe.size}" for run in plan.runs}
        words = "drain line " + sizes.pop() if len(sizes) == 1 else "drain lines"
        low = min(zz - 0.5 * d.outside / frame.up for d in drains for _, zz in d.points)
        low -= (1.7 if scene.tees else 0.8) * line
        left = min(x for d in drains for x, _ in d.points)
        pool.text(axes, left, low, words)
    pump = f"pump {s.value(plan.pump.flow, 'flow', system)}" if plan.pump.flow is not None else "pump"
    pool.text(axes, sump.centre, plan.sump.floor - 0.8 * line, pump, ha="center")


def _alt(plan: Plan, now: Moment, when: str, name: str, system: str) -> str:
    siphon = next(x for x in plan.siphons if x.name == name)

    def at(z: float) -> str:
        return s.value(z, "elevation", system)

    vessels = [*plan.beds, *plan.chambers, plan.sump]
    water = ", ".join(f"{v.name} {at(now.levels[v.name])}" for v in vessels)
    where = "bed" if isinstance(plan.vessel(siphon.host), Bed) else "chamber"
    return (
        f"Section of {plan.name}, {when}: {name} is {now.regime[name]}. "
        f"Water levels above {plan.datum}: {water}. In its {where}, the standpipe is "
        f"{s.value(siphon.standpipe.height, 'length', system)} high with its lip at "
        f"{at(plan.lip_level(siphon))}, "
        f"the flood level is {at(choking_level(plan, siphon))} and the bell rim "
        f"{at(plan.rim_level(siphon))}; the tail ends at {at(siphon.tail.outlet)}."
    )
