"""The siphon drawn large: bell, standpipe with its lip, tail, and the water in and around them."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.patches import PathPatch

from aquacalc.figures import style as s
from aquacalc.figures.live.artists import Keeper
from aquacalc.figures.outline import Placed, Point, path_of, pebbles, widest
from aquacalc.figures.snapshot import Moment
from aquacalc.hydraulics.starting import choking_level
from aquacalc.plan.model import Bed, Plan, Siphon

LEFT = 40.0  # room for the dimension
RIGHT = 132.0  # room for the labels
#: A lip without a stated height of reducer is drawn this high, m.
STEP = 0.012
#: Height (px) that the word "air" needs.
AIR_ROOM = 14.0


class CloseUp:
    """Close-up of one siphon in axes whose x runs in pixels.

    Parameters
    ----------
    axes : matplotlib Axes
    width, height : float
        Size of the axes, px.
    plans : sequence of Plan
        Every plan that must fit without a change of scale.
    name : str
        The siphon's name.
    """

    def __init__(self, axes: Axes, width: float, height: float, plans, name: str, system: str):
        self.axes, self.name, self.system = axes, name, system
        self.keep = Keeper()
        self.window = (LEFT, width - RIGHT)
        bottoms, tops = [], []
        for plan in plans:
            siphon = _siphon(plan, name)
            host = plan.vessel(siphon.host)
            bottoms.append(host.floor)
            tops.append(max(plan.crown_level(siphon), choking_level(plan, siphon)))
        low, high = min(bottoms), max(tops)
        self.up = (height - 40.0) / ((high - low) * 1.22)
        # A host a little too wide is drawn smaller; only a window of a much wider one is shown.
        wide = max(widest(plan.vessel(_siphon(plan, name).host).shape) for plan in plans)
        room = self.window[1] - self.window[0] - 6.0
        if 0.5 < room / (wide * self.up) < 1.0:
            self.up = room / wide
        guard = 1.3 * max(_siphon(plan, name).media_guard for plan in plans)
        if guard > 0.0:
            self.up = min(self.up, room / guard)
        spare = height / self.up - (high - low)
        self.low = low - 0.5 * (spare - 34.0 / self.up)
        self.high = self.low + height / self.up
        axes.set_ylim(self.low, self.high)
        self.water = axes.add_patch(PathPatch(path_of([]), fc=s.WATER, ec="none", animated=True))
        self.media = axes.add_patch(PathPatch(path_of([]), fc=s.MEDIA, ec="none", zorder=0.5))
        (self.pebbles,) = axes.plot([], [], ".", ms=4.0, mew=0.0, color=s.MEDIA_DOT, zorder=0.55)
        self.guard = axes.add_patch(PathPatch(path_of([]), fc=s.PAPER, ec=s.SOFT, lw=0.8, ls=":", zorder=0.6))
        self.inside = axes.add_patch(PathPatch(path_of([]), fc=s.PAPER, ec="none", animated=True, zorder=2))
        self.inner = axes.add_patch(PathPatch(path_of([]), fc=s.WATER, ec="none", animated=True, zorder=2.2))
        self.pipes = axes.add_patch(
            PathPatch(path_of([]), fc=s.PIPE, ec=s.INK, lw=0.6, animated=True, zorder=3)
        )
        self.walls = axes.add_collection(
            LineCollection([], animated=True, colors=s.INK, linewidths=1.8, zorder=3.2)
        )
        self.surface = axes.add_collection(
            LineCollection([], colors=s.WATER_LINE, linewidths=1.3, animated=True, zorder=2.5)
        )
        self.openings = axes.add_collection(
            LineCollection(
                [], animated=True, colors=s.SOFT, linewidths=0.8, linestyles=[(0, (2, 2))], zorder=3.1
            )
        )
        self.levels = axes.add_collection(
            LineCollection(
                [], animated=True, colors=s.INK, linewidths=0.9, linestyles=[(0, (5, 3))], zorder=3.3
            )
        )
        self.leaders = axes.add_collection(
            LineCollection([], animated=True, colors=s.SOFT, linewidths=0.7, zorder=4)
        )
        self.dimension = axes.add_collection(LineCollection([], colors=s.INK, linewidths=0.8, zorder=4))
        self.labels = [s.write(axes, 0, 0, "", linespacing=1.05) for _ in range(6)]
        self.height_label = s.write(axes, LEFT - 24.0, 0.0, "", rotation=90, ha="center")
        self.title = s.write(axes, 0.0, self.high - 8.0 / self.up, "", s.TEXT, weight="bold")
        self.air = s.write(axes, 0.0, 0.0, "", color=s.SOFT, ha="center", animated=True, zorder=4)
        self.arrows = axes.add_patch(PathPatch(path_of([]), fc=s.MARK, ec="none", animated=True, zorder=4))
        self.state = s.write(axes, 0.0, self.high - 23.0 / self.up, "", animated=True)

    def still(self, plan: Plan) -> None:
        """Draw what does not move with the water."""
        siphon = _siphon(plan, self.name)
        host = plan.vessel(siphon.host)
        x0, x1 = self.window
        self.siphon, self.host = siphon, host
        self.placed = Placed(host, 0.5 * (x0 + x1), self.up)
        c, floor = self.placed.centre, host.floor
        foot = self._tail_half(siphon)
        top = min(host.rim, self.high - 34.0 / self.up)
        wall = [self._clip(p) for p in self.placed.wall() if p[1] <= top + 1e-9]
        wall = [
            self._clip((c - self.placed.half(top), top)),
            *wall,
            self._clip((c + self.placed.half(top), top)),
        ]
        left = [p for p in wall if p[0] < c]
        right = [p for p in wall if p[0] > c]
        lower = [[left[-1], (c - foot, floor)], [(c + foot, floor), right[0]]]
        sides = [side for side in (left, right) if x0 + 1.0 < side[0][0] < x1 - 1.0]
        self.keep(self.walls.set_segments, [*sides, *lower])
        self.keep.path(self.media, self._media(siphon, host))
        dots = (
            pebbles(self.placed, host.floor + host.media.depth, 11.0, self.up)
            if isinstance(host, Bed)
            else []
        )
        dots = [(x, z) for x, z in dots if x0 + 3.0 < x < x1 - 3.0]
        self.keep(self.pebbles.set_data, [x for x, _ in dots], [z for _, z in dots])
        self.keep.path(self.guard, self._guard(siphon, host))
        self.keep.path(self.pipes, self._pipes(siphon, floor, c))
        self.keep(self.openings.set_segments, self._openings(siphon, floor, c))
        self._annotate(plan, siphon, host, c)

    def move(self, now: Moment) -> None:
        """Draw the water of one moment."""
        siphon, c, floor = self.siphon, self.placed.centre, self.host.floor
        level = now.levels[siphon.host]
        regime = now.regime[self.name]
        body = [self._clip(p) for p in self.placed.filled(level)]
        self.keep.path(self.water, [body])
        self.keep(self.water.set_alpha, 0.62 if isinstance(self.host, Bed) else 1.0)
        bell, pipe = siphon.bell, siphon.standpipe.pipe
        inside = 0.5 * bell.bore * self.up
        crown = floor + bell.top_height
        full = regime == "siphoning"
        reach = crown if full else min(level, crown)
        wet = [_box(c - inside, c + inside, floor, reach)] if reach > floor else []
        bore = 0.5 * pipe.bore * self.up
        bottom = self.low
        dry: list[list[Point]] = []
        lip = floor + siphon.standpipe.height
        if full:
            wet.append(_box(c - bore, c + bore, bottom, lip))
        else:
            dry = [_box(c - bore, c + bore, bottom, lip), *self._mouth(siphon, floor, c)]
            if level > lip and regime in ("spilling", "priming"):
                film = (0.55 if regime == "priming" else 0.28) * bore
                wet += [
                    _box(c - bore, c - bore + film, bottom, lip),
                    _box(c + bore - film, c + bore, bottom, lip),
                ]
        self.keep.path(self.inner, wet)
        self.keep.path(self.inside, [_box(c - inside, c + inside, floor + bell.rim_height, crown), *dry])
        over = max(level, lip)
        roomy = not full and (crown - over) * self.up > AIR_ROOM
        self.keep(self.air.set_text, "air" if roomy else "")
        self.keep(self.air.set_position, (c, 0.5 * (over + crown)))
        self.keep.path(self.arrows, self._falls(c, lip) if now.outflow[self.name] > 0.0 else [])
        half = self.placed.half(level)
        outer = 0.5 * bell.outside_diameter * self.up
        x0, x1 = self.window
        lines = [
            [(max(c - half, x0), level), (c - outer, level)],
            [(c + outer, level), (min(c + half, x1), level)],
        ]
        if not full and floor + bell.rim_height < level < crown:
            lines.append([(c - inside, level), (c + inside, level)])
        self.keep(self.surface.set_segments, lines if level > floor else [])
        flow = s.value(now.outflow[self.name], "flow", self.system)
        words = regime if now.outflow[self.name] <= 0.0 else f"{regime}, {flow} out"
        self.keep(self.state.set_text, f"now {words}")

    def _falls(self, c: float, lip: float) -> list[list[Point]]:
        """Arrows down the standpipe."""
        places = (self.low + part * (lip - self.low) for part in (0.3, 0.6))
        tip = 6.0 / self.up
        return [[(c, z - tip), (c - 5.0, z + tip), (c + 5.0, z + tip)] for z in places]

    def _clip(self, p: Point) -> Point:
        return min(max(p[0], self.window[0]), self.window[1]), p[1]

    def _tail_half(self, siphon: Siphon) -> float:
        return 0.5 * siphon.standpipe.pipe.outside_diameter * self.up

    def _media(self, siphon: Siphon, host) -> list[list[Point]]:
        if not isinstance(host, Bed):
            return []
        return [[self._clip(p) for p in self.placed.filled(host.floor + host.media.depth)]]

    def _guard(self, siphon: Siphon, host) -> list[list[Point]]:
        if siphon.media_guard <= 0.0:
            return []
        half = 0.5 * siphon.media_guard * self.up
        top = min(host.floor + host.shape.depth, self.high - 36.0 / self.up)
        return [_box(self.placed.centre - half, self.placed.centre + half, host.floor, top)]

    def _mouth(self, siphon: Siphon, floor: float, c: float) -> list[list[Point]]:
        """Inside of the reducer."""
        stand = siphon.standpipe
        lip = floor + stand.height
        wide, bore = 0.5 * stand.lip_diameter * self.up, 0.5 * stand.pipe.bore * self.up
        foot = lip - (stand.cone_length or STEP)
        return [[(c - bore, foot), (c - wide, lip), (c + wide, lip), (c + bore, foot)]]

    def _pipes(self, siphon: Siphon, floor: float, c: float) -> list[list[Point]]:
        """Walls of standpipe, reducer and bell."""
        stand, bell, up = siphon.standpipe, siphon.bell, self.up
        bore, out = 0.5 * stand.pipe.bore * up, 0.5 * stand.pipe.outside_diameter * up
        wall = out - bore
        lip = floor + stand.height
        polygons = []
        if stand.lip_diameter > stand.pipe.bore * 1.001:
            foot = lip - (stand.cone_length or STEP)
            wide = 0.5 * stand.lip_diameter * up
            for side in (-1.0, 1.0):
                polygons.append(
                    [
                        (c + side * bore, self.low),
                        (c + side * bore, foot),
                        (c + side * wide, lip),
                        (c + side * (wide + wall), lip),
                        (c + side * out, foot),
                        (c + side * out, self.low),
                    ]
                )
        else:
            polygons += [_box(c + bore, c + out, self.low, lip), _box(c - out, c - bore, self.low, lip)]
        inner, outer = 0.5 * bell.bore * up, 0.5 * bell.outside_diameter * up
        rim, top = floor + bell.rim_height, floor + bell.top_height
        cap = top + max(outer - inner, 2.0) / up
        polygons.append(
            [
                (c - outer, rim), (c - outer, cap), (c + outer, cap), (c + outer, rim),
                (c + inner, rim), (c + inner, top), (c - inner, top), (c - inner, rim),
            ]
        )  # fmt: skip
        return polygons

    def _openings(self, siphon: Siphon, floor: float, c: float) -> list[list[Point]]:
        """Legs of the bell between its openings."""
        bell = siphon.bell
        rim = floor + bell.rim_height
        foot = max(rim - bell.opening_height, floor)
        lines = []
        for x in (bell.bore, bell.outside_diameter):
            half = 0.5 * x * self.up
            lines += [[(c - half, foot), (c - half, rim)], [(c + half, foot), (c + half, rim)]]
        return lines

    def _annotate(self, plan: Plan, siphon: Siphon, host, c: float) -> None:
        system, up = self.system, self.up
        stand, bell = siphon.standpipe, siphon.bell
        x0, x1 = self.window
        lip, rim, flood = plan.lip_level(siphon), plan.rim_level(siphon), choking_level(plan, siphon)
        half_out = 0.5 * bell.outside_diameter * up
        bore = 0.5 * stand.pipe.bore * up
        wide = 0.5 * stand.lip_diameter * up
        middle = 0.5 * (host.floor + lip)
        right = min(c + self.placed.half(flood), x1)

        def at(z: float) -> str:
            return s.value(z, "elevation", system)

        def wide_of(d: float) -> str:
            return s.value(d, "length", system)

        marks = [
            (flood, right, f"flood level\n{at(flood)}"),
            (lip, c + wide, f"lip {wide_of(stand.lip_diameter)} wide\nat {at(lip)}"),
            (middle + 0.12 * stand.height, c + half_out, "bell"),
            (middle - 0.12 * stand.height, c + bore, f"standpipe\nbore {wide_of(stand.pipe.bore)}"),
            (rim, c + half_out, f"bell rim (air in)\nat {at(rim)}"),
            (self.low + 10.0 / up, c + bore, f"tail, ends at\n{at(siphon.tail.outlet)}"),
        ]
        rooms = [(38.0 if "\n" in text else 24.0) / up for _, _, text in marks]
        ys = s.spread([m[0] for m in marks], rooms, self.low, self.high - 34.0 / up)
        leaders = []
        x_text = x1 + 14.0
        for label, (z, x, text), y in zip(self.labels, marks, ys, strict=False):
            self.keep(label.set_position, (x_text, y))
            self.keep(label.set_text, text)
            leaders.append([(x, z), (max(x1, x) + 2.0, z), (x_text - 3.0, y)])
        self.keep(self.leaders.set_segments, leaders)
        self.keep(
            self.levels.set_segments,
            [
                [(max(c - self.placed.half(flood), x0), flood), (c - half_out, flood)],
                [(c + half_out, flood), (right, flood)],
                [(LEFT - 18.0, lip), (c - wide, lip)],
            ],
        )
        x = LEFT - 12.0
        tip = 5.0 / up
        self.keep(
            self.dimension.set_segments,
            [
                [(x, host.floor), (x, lip)],
                [(x - 2.5, host.floor + tip), (x, host.floor), (x + 2.5, host.floor + tip)],
                [(x - 2.5, lip - tip), (x, lip), (x + 2.5, lip - tip)],
                [(x - 5.0, host.floor), (x0, host.floor)],
            ],
        )
        self.keep(self.height_label.set_y, middle)
        self.keep(self.height_label.set_text, f"standpipe {s.value(stand.height, 'length', system)}")
        self.keep(
            self.title.set_text,
            s.fit(f"{self.name}, close up" if len(plan.siphons) > 1 else "the siphon, close up", 300.0),
        )


def _siphon(plan: Plan, name: str) -> Siphon:
    return next(x for x in plan.siphons if x.name == name)


def _box(x0: float, x1: float, z0: float, z1: float) -> list[Point]:
    return [(x0, z0), (x0, z1), (x1, z1), (x1, z0)]
