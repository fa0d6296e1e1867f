"""The siphon drawn large: bell, standpipe with its lip, tail, and the water and air in and around them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from aquacalc.figures.outline import Placed, Point, widest
from aquacalc.figures.vector import PHONE, Drawing, Movement, Number, Word, outline, spread, value
from aquacalc.hydraulics.starting import choke, choking_level
from aquacalc.plan.model import Bed, Plan, Siphon

WIDTH, HEIGHT = 396.0, 440.0
#: Room for the dimension at the left, the labels at the right, and the title.
LEFT, RIGHT, TOP = 54.0, 154.0, 34.0
LINE = 1.15 * PHONE
#: A lip without a stated height of reducer is drawn this high, m.
STEP = 0.012


def facts(plan: Plan, siphon: Siphon) -> dict[str, float | str]:
    """Return what a drawing has to know of a siphon: lengths and heights above its floor, m; m3/s."""
    stand, bell = siphon.standpipe, siphon.bell
    return {
        "host": siphon.host,
        "floor": plan.vessel(siphon.host).floor,
        "height": stand.height,
        "cone_length": stand.cone_length,
        "lip_diameter": stand.lip_diameter,
        "bore": stand.pipe.bore,
        "outside_diameter": stand.pipe.outside_diameter,
        "bell_bore": bell.bore,
        "bell_outside_diameter": bell.outside_diameter,
        "top_height": bell.top_height,
        "rim_height": bell.rim_height,
        "opening_height": bell.opening_height,
        "outlet": siphon.tail.outlet,
        "start_level": choking_level(plan, siphon),
        "start_flow": choke(siphon),
    }


def places(fact: dict, stage: str, level: float, outflow: float) -> dict[str, float]:
    """Where the parts of a siphon are: elevations and, across, distances from its middle, m.

    Parameters
    ----------
    fact : dict
        As `facts` returns it.
    stage : str
        What it does: "filling", "spilling", "priming", "siphoning" or "at rest".
    level, outflow : float
        Water in its host, m; what it lets out, m3/s.
    """
    floor, bore = fact["floor"], 0.5 * fact["bore"]
    lip, crown, rim = (floor + fact[key] for key in ("height", "top_height", "rim_height"))
    wide = max(0.5 * fact["lip_diameter"], bore)
    full = stage == "siphoning"
    inside = crown if full else min(max(level, floor), crown)
    # Falling water lines the pipe; how much of the bore it takes grows with the flow (common practice: a
    # third when it chokes). Then plugs of water carry the air away.
    filled = {"spilling": 0.35 * min(outflow / fact["start_flow"], 1.0), "priming": 0.6, "siphoning": 1.0}
    part = filled.get(stage, 0.0)
    return {
        "lip": lip,
        "cone": lip - ((fact["cone_length"] or STEP) if wide > 1.001 * bore else 0.0),
        "wide": wide,
        "bore": bore,
        "wall": 0.5 * fact["outside_diameter"] - bore,
        "crown": crown,
        "rim": rim,
        "foot": max(rim - fact["opening_height"], floor),
        "bell": 0.5 * fact["bell_bore"],
        "shell": 0.5 * fact["bell_outside_diameter"],
        "start": fact["start_level"],
        "outlet": fact["outlet"],
        "inside": inside,
        "air": 0.5 * (max(inside, lip) + crown),
        "core": bore * (1.0 - part) ** 0.5,
        "filled": part,
    }


class CloseUp:
    """One siphon to one scale, with room for every plan of `plans`."""

    def __init__(self, plans: Sequence[Plan], name: str):
        self.name = name
        self.window = (LEFT, WIDTH - RIGHT)
        found = [(p, p.siphon(name)) for p in plans]
        floors = [p.vessel(x.host).floor for p, x in found]
        tops = [max(p.crown_level(x), choking_level(p, x)) for p, x in found]
        low, high = min(floors), max(tops)
        self.up = (HEIGHT - TOP) / (1.25 * (high - low))
        # A host a little too wide is drawn smaller; only a window of a much wider one is shown.
        room = self.window[1] - self.window[0] - 6.0
        wide = max(widest(p.vessel(x.host).shape) for p, x in found)
        if 0.5 < room / (wide * self.up) < 1.0:
            self.up = room / wide
        inner = max(1.3 * x.media_guard or 1.2 * x.bell.outside_diameter for _, x in found)
        self.up = min(self.up, room / inner)
        spare = (HEIGHT - TOP) / self.up - (high - low)
        self.base = TOP + (high + 0.45 * spare) * self.up
        self.middle = 0.5 * sum(self.window)

    def y(self, z: Any) -> Any:
        """Where an elevation (m) is drawn."""
        return self.base - z * self.up

    def draw(self, plan: Plan, movement: Movement) -> Drawing:
        """Draw it, with the values and words of `movement`."""
        siphon = plan.siphon(self.name)
        host = plan.vessel(siphon.host)
        d, c, y = Drawing(WIDTH, HEIGHT, movement, PHONE), self.middle, self.y
        at = {key: value(f"{self.name} {key}") for key in places(facts(plan, siphon), "", 0.0, 0.0)}
        v = {key: at[key] * self.up for key in ("wide", "bore", "wall", "bell", "shell", "core")}
        level = y(value(f"level {siphon.host}"))
        d.open("g", data_stage=Word(f"stage {self.name}"))
        self._vessel(d, plan, siphon, host, level)
        bell = [(c - v["bell"], y(at["rim"])), (c - v["bell"], y(at["crown"]))]
        bell += [(c + v["bell"], y(at["crown"])), (c + v["bell"], y(at["rim"]))]
        d.path(bell, "air", close=True)
        within = [(c - v["bell"], y(host.floor)), (c - v["bell"], y(at["inside"]))]
        d.path([*within, *((c + (c - x), z) for x, z in reversed(within))], "water", close=True)
        self._standpipe(d, c, at, v)
        shell = [(c - v["shell"], y(at["rim"])), (c - v["shell"], y(at["crown"]) - (v["shell"] - v["bell"]))]
        outside = [*shell, *((c + (c - x), z) for x, z in reversed(shell))]
        d.add("path", "part", d=(*outline(outside, True), *outline(bell[::-1], True)))
        for half in ("bell", "shell"):
            ends = [[(c + side * v[half], y(at[z])) for z in ("foot", "rim")] for side in (-1.0, 1.0)]
            d.paths(ends, "opening")
        x0, x1 = self.window
        d.paths([[(x0, level), (c - v["shell"], level)], [(c + v["shell"], level), (x1, level)]],
                "surface", clip_path=f"url(#{self._clip()})")  # fmt: skip
        d.path([(c - v["bell"], y(at["inside"])), (c + v["bell"], y(at["inside"]))], "surface inner")
        self._labels(d, plan, siphon, c, at, v)
        d.shut()
        return d

    def _clip(self) -> str:
        return "cut-close-" + "".join(ch if ch.isalnum() else "-" for ch in self.name)

    def _vessel(self, d: Drawing, plan: Plan, siphon: Siphon, host, level: Number) -> None:
        """Wall, media and water of the vessel around the siphon, as much of them as the window shows."""
        (x0, x1), c = self.window, self.middle
        placed, top = Placed(host, c, self.up), min(host.rim, (self.base - TOP) / self.up)

        def cut(points: list[Point]) -> list[Point]:
            return [(min(max(x, x0), x1), self.y(z)) for x, z in points]

        d.open("clipPath", id=self._clip())
        d.path(cut(placed.filled(top)), "", close=True)
        d.shut("clipPath")
        d.open("g", clip_path=f"url(#{self._clip()})")
        if isinstance(host, Bed):
            d.path(cut(placed.filled(host.floor + host.media.depth)), "media", close=True)
            grains(d, cut(placed.filled(host.floor + host.media.depth)), f"{self._clip()}-grain", 11.0)
        if siphon.media_guard > 0.0:
            half, z = 0.5 * siphon.media_guard * self.up, self.y(host.floor)
            d.path([(c - half, z), (c - half, TOP), (c + half, TOP), (c + half, z)], "guard")
        d.add("rect", "water over" if isinstance(host, Bed) else "water", x=x0, y=level, width=x1 - x0,
              height=3.0 * HEIGHT)  # fmt: skip
        d.shut()
        half = 0.5 * siphon.standpipe.pipe.outside_diameter * self.up
        wall = [(x, self.y(z)) for x, z in placed.wall() if z <= top + 1e-9 and x0 < x < x1]
        edge, floor = placed.half(top), self.y(host.floor)
        left = [p for p in wall if p[0] < c]
        if x0 < c - edge:
            left = [(c - edge, self.y(top)), *(p for p in left if p[1] > self.y(top) + 0.1)]
        else:
            left = [(x0, floor)]
        right = [(2.0 * c - x, z) for x, z in left]
        if abs(left[-1][1] - floor) > 0.1:
            left, right = [*left, (x0, floor)], [*right, (x1, floor)]
        d.paths([[*left, (c - half, floor)], [*right, (c + half, floor)]], "wall")

    def _standpipe(self, d: Drawing, c: float, at: dict, v: dict) -> None:
        """Draw the pipe, what fills it, and its tail down to the edge."""
        y = self.y
        left = [(c - v["bore"], HEIGHT), (c - v["bore"], y(at["cone"])), (c - v["wide"], y(at["lip"]))]
        hole = [*left, *((c + (c - x), z) for x, z in reversed(left))]
        d.path(hole, "empty", close=True)
        d.path(hole, "water falls", close=True)
        d.path([(c, y(at["lip"])), (c, HEIGHT)], "core", stroke_width=2.0 * v["core"])
        for side in (-1.0, 1.0):
            inner = [(c + side * v["bore"], HEIGHT), (c + side * v["bore"], y(at["cone"])),
                     (c + side * v["wide"], y(at["lip"]))]  # fmt: skip
            outer = [(x + side * v["wall"], z) for x, z in reversed(inner)]
            d.path([*inner, *outer], "part", close=True)
        tip = 7.0
        below = [HEIGHT - 44.0, HEIGHT - 22.0]
        arrows = [[(c, z + tip), (c - 5.0, z - tip), (c + 5.0, z - tip)] for z in below]
        d.add("path", "arrow falls", d=tuple(item for arrow in arrows for item in outline(arrow, True)))

    def _labels(self, d: Drawing, plan: Plan, siphon: Siphon, c: float, at: dict, v: dict) -> None:
        y, (x0, x1), name = self.y, self.window, self.name
        d.text(0.0, 14.0, f"{name}, close up" if len(plan.siphons) > 1 else "The siphon, close up", "b")
        low = self.y(plan.vessel(siphon.host).floor)
        marks: list[tuple[Any, float, tuple[str | Word, ...]]] = [
            (y(at["start"]), x1 - 2.0, ("flood level", Word(f"{name} start"))),
            (y(at["lip"]), c + v["wide"], (Word(f"{name} wide"), Word(f"{name} lip"))),
            (y(0.62 * at["crown"] + 0.38 * at["rim"]), c + v["shell"], ("bell",)),
            (y(0.4 * at["lip"] + 0.6 * at["rim"]), c + v["bore"], ("standpipe", Word(f"{name} bore"))),
            (y(at["rim"]), c + v["shell"], ("bell rim", Word(f"{name} rim"))),
            (HEIGHT - 14.0, c + v["bore"], ("tail ends", Word(f"{name} outlet"))),
        ]
        now = [z.at(d.movement.values) if not isinstance(z, float) else z for z, _, _ in marks]
        rooms = [LINE * len(words) + 5.0 for _, _, words in marks]
        leaders = []
        for (z, x, words), middle in zip(marks, spread(now, rooms, TOP, HEIGHT - 2.0), strict=True):
            for k, word in enumerate(words):
                d.text(x1 + 18.0, middle + (k - 0.5 * (len(words) - 1)) * LINE, word)
            leaders.append([(x, z), (x1 + 2.0, z), (x1 + 15.0, middle)])
        d.paths(leaders, "leader")
        d.paths(
            [[(x0, y(at["start"])), (c - v["shell"], y(at["start"]))],
             [(c + v["shell"], y(at["start"])), (x1, y(at["start"]))]],
            "level",
        )  # fmt: skip
        d.path([(x0 - 10.0, y(at["lip"])), (c - v["wide"], y(at["lip"]))], "level fine")
        x = x0 - 16.0
        d.paths(
            [[(x, low), (x, y(at["lip"]))], [(x - 3.0, low - 6.0), (x, low), (x + 3.0, low - 6.0)],
             [(x - 3.0, y(at["lip"]) + 6.0), (x, y(at["lip"])), (x + 3.0, y(at["lip"]) + 6.0)],
             [(x - 6.0, low), (x0, low)], [(x - 6.0, y(at["lip"])), (x0, y(at["lip"]))]],
            "dimension",
        )  # fmt: skip
        d.add(
            "text", "m", Word(f"{name} height"), x=0, y=0,
            transform=("translate(", x - 8.0, " ", 0.5 * low + 0.5 * y(at["lip"]), ")rotate(-90)"),
        )  # fmt: skip
        d.text(c, y(at["air"]), "air", "m halo airword", size=0.0)


def grains(d: Drawing, points: list[Point], name: str, pitch: float) -> None:
    """Stipple an outline, dots `pitch` px apart, so that media differ from what is empty without colour."""
    if len(points) < 3:
        return
    d.open("pattern", id=name, width=pitch, height=2.0 * pitch, patternUnits="userSpaceOnUse")
    for x, y in ((0.25, 0.5), (0.75, 1.5)):
        d.add("circle", "grain", cx=x * pitch, cy=y * pitch, r=1.4)
    d.shut("pattern")
    d.path(points, "", close=True, fill=f"url(#{name})")
