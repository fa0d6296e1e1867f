"""Three standpipes with water spilling in: a plain end, a wider lip on its bore, a pipe as wide all down."""

from __future__ import annotations

from dataclasses import dataclass, replace

from matplotlib.patches import PathPatch

from aquacalc.equations.formulas import GRAVITY, lip_head
from aquacalc.figures import style as s
from aquacalc.figures.live.artists import Pool
from aquacalc.figures.outline import path_of
from aquacalc.figures.picture import Picture
from aquacalc.hydraulics.starting import StartBand, start_band
from aquacalc.plan.model import Siphon

HEIGHT = 366.0
TOP, FOOT = 40.0, 80.0
#: Where the standpipes stand, px from the left, and half the width of water drawn around each.
CENTRES = (155.0, 450.0, 745.0)
HALF = 138.0
#: What must fit without a change of scale: head over the lip, pipe below it, m.
HEAD, PIPE = 0.034, 0.055
WALL = 0.0032
#: Water over the first bubble, a bubble, and from one to the next, in half bores.
PLUG, BUBBLE, PITCH = 0.4, 1.3, 1.75
#: What water does in a standpipe that begins to start, in words.
TRICKLES, MAY, EXPECTED, RUNS = "trickles", "chokes: may start", "should start", "runs full"


@dataclass(frozen=True)
class Pipe:
    """One standpipe at one inflow.

    Attributes
    ----------
    name : str
    lip, bore : float
        m.
    band : StartBand
    head : float
        How high the water stands over its lip, m.
    does : str
        `TRICKLES`, `MAY`, `EXPECTED` or `RUNS`.
    """

    name: str
    lip: float
    bore: float
    band: StartBand
    head: float
    does: str


def three_pipes(siphon: Siphon, inflow: float | None = None) -> tuple[Pipe, ...]:
    """Return a siphon's standpipe with a plain end, with its lip, and as wide as the lip all the way down.

    Parameters
    ----------
    siphon : Siphon
    inflow : float, optional
        What comes to each, m3/s; to each what it is expected to start at, if not given.
    """
    stand, made = siphon.standpipe, []
    wide = stand.lip_diameter
    sizes = (("plain end", stand.pipe.bore, stand.pipe.bore), ("with a reducer", wide, stand.pipe.bore),
             ("wide all the way", wide, wide))  # fmt: skip
    for name, lip, bore in sizes:
        tail = siphon.tail if bore == stand.pipe.bore else _as_wide(siphon.tail, bore)
        pipe = replace(stand, lip_diameter=lip, pipe=replace(stand.pipe, bore=bore))
        band = start_band(replace(siphon, standpipe=pipe, tail=tail))
        # Once the bore fills the water rises no further, whatever more comes in.
        flow = band.middle if inflow is None else min(inflow, band.middle)
        head = lip_head(siphon.lip_weir, siphon.lip_orifice, lip, flow, GRAVITY)
        made.append(Pipe(name, lip, bore, band, head, _does(band, inflow)))
    return tuple(made)


def _as_wide(tail, bore: float):
    return replace(tail, pipe=replace(tail.pipe, bore=max(bore, tail.pipe.bore)))


def _does(band: StartBand, inflow: float | None) -> str:
    if inflow is None:
        return EXPECTED
    steps = ((band.low, TRICKLES), (band.middle, MAY), (band.high, EXPECTED))
    return next((word for end, word in steps if inflow < end), RUNS)


class LipsView:
    """The three standpipes, updated in place.

    Parameters
    ----------
    system : {"metric", "us"}
    """

    def __init__(self, system: str):
        self.system = system
        self.figure = s.new_figure(HEIGHT)
        self.axes = s.bare(self.figure, 0.0, 0.0, s.WIDTH, HEIGHT)
        self.up = (HEIGHT - TOP - FOOT) / (HEAD + PIPE)  # px to a metre, both ways
        self.axes.set_ylim(-PIPE * self.up - FOOT, HEAD * self.up + TOP)
        self.water = self.axes.add_patch(PathPatch(path_of([]), fc=s.WATER, ec="none", zorder=1))
        self.hollow = self.axes.add_patch(
            PathPatch(path_of([]), fc=s.PAPER, ec=s.WATER_LINE, lw=1.1, zorder=5.5)
        )
        self.pipes = self.axes.add_patch(PathPatch(path_of([]), fc=s.PIPE, ec=s.INK, lw=0.6, zorder=4))
        self.pool = Pool()
        self.alt = ""

    def show(self, siphon: Siphon, inflow: float | None = None) -> None:
        """Bring the drawing to a siphon's bore and lip, at an `inflow` (m3/s) or where each starts."""
        pipes = three_pipes(siphon, inflow)
        self.pool.start()
        water, hollow, walls = [], [], []
        for centre, pipe in zip(CENTRES, pipes, strict=True):
            for whole, part in zip((water, hollow, walls), self._one(centre, pipe), strict=True):
                whole += part
            self._words(centre, pipe)
        for patch, polygons in ((self.water, water), (self.hollow, hollow), (self.pipes, walls)):
            patch.set_path(path_of(polygons))
        came = "each gets the flow at which it should start"
        if inflow is not None:
            came = f"{s.value(inflow, 'flow', self.system)} comes to each"
        self.pool.text(
            self.axes, 0.5 * s.WIDTH, -PIPE * self.up - 66.0, came, s.TEXT, ha="center", weight="bold"
        )
        self.pool.stop()
        self.alt = _alt(pipes, came, self.system)

    def picture(self) -> Picture:
        """Return what is shown now."""
        return Picture(self.figure, self.alt)

    def _one(self, c: float, pipe: Pipe):
        """Return the polygons of one standpipe: water, the air in and over it, walls."""
        up, low = self.up, -PIPE * self.up
        r, wide, wall, level = 0.5 * pipe.bore * up, 0.5 * pipe.lip * up, WALL * up, pipe.head * up
        cone = max(0.9 * (wide - r), 0.012 * up) if pipe.lip > 1.001 * pipe.bore else 0.0
        around = [(c - HALF, low), (c - HALF, level), (c + HALF, level), (c + HALF, low)]
        walls = [
            [
                (c + k * r, low), (c + k * r, -cone), (c + k * wide, 0.0), (c + k * (wide + wall), 0.0),
                (c + k * (r + wall), -cone), (c + k * (r + wall), low),
            ]
            for k in (-1.0, 1.0)
        ]  # fmt: skip
        air = []
        if pipe.does == TRICKLES:  # a film runs down the wall, and air stands in the middle all the way
            film = 0.80 * r
            dip = [(0.80 * wide, level), (film, -cone - 0.3 * r), (film, low), (0.0, low)]
        else:  # the bore fills below the mouth, and a hollow forms over it
            foot = -cone - 0.5 * r
            dip = [(0.55 * wide, level), (0.30 * r, 0.15 * level - 0.5 * cone), (0.0, foot)]
            if pipe.does == MAY:  # plugs of water with long bubbles between them
                air = [
                    _bubble(c, top, 0.72 * r, BUBBLE * r) for top in _tops(foot - PLUG * r, low, PITCH * r)
                ]
        hollow = [(c - x, y) for x, y in dip] + [(c + x, y) for x, y in reversed(dip[:-1])]
        return [around], [hollow, *air], walls

    def _words(self, c: float, pipe: Pipe) -> None:
        def shown(x: float, kind: str = "length") -> str:
            return s.value(x, kind, self.system)

        up, pool, ax = self.up, self.pool, self.axes
        low, level, wide = -PIPE * up, pipe.head * up, 0.5 * pipe.lip * up
        plain = pipe.name == "with a reducer" and pipe.lip <= 1.001 * pipe.bore
        title = "no reducer yet" if plain else pipe.name
        pool.text(ax, c, HEAD * up + 24.0, title, s.TEXT, ha="center", weight="bold")
        pool.line(ax, [c - HALF, c + HALF], [level, level], color=s.WATER_LINE, ls="-", lw=1.6, zorder=5)
        x = c - HALF + 14.0
        pool.line(ax, [x - 8.0, c - wide], [0.0, 0.0], color=s.INK, ls=(0, (5, 3)), lw=0.9, zorder=6)
        pool.line(ax, [x, x], [0.0, level], color=s.MARK, ls="-", lw=3.0, zorder=6)
        head = f"head {shown(pipe.head, 'head')}"
        pool.text(ax, x - 6.0, level + 12.0, head, s.TEXT, color=s.MARK, weight="bold", zorder=7)
        band = pipe.band
        lines = (
            (pipe.does, s.TEXT, "bold"),
            (f"lip {shown(pipe.lip)}, bore {shown(pipe.bore)}", s.SMALL, "normal"),
            (f"starts from {shown(band.low, 'flow')} to {shown(band.high, 'flow')}", s.SMALL, "normal"),
        )
        for k, (text, size, weight) in enumerate(lines):
            pool.text(ax, c, low - 14.0 - 16.0 * k, text, size, ha="center", weight=weight)
        if pipe.does in (TRICKLES, MAY):
            pool.text(ax, c, low + 20.0, "air", ha="center", color=s.INK, zorder=7)


def _tops(first: float, low: float, pitch: float) -> list[float]:
    """Return the upper ends of bubbles between `first` and `low` (px), `pitch` apart, one at the foot."""
    count = max(1, int((first - low) / pitch))
    return [low + BUBBLE / PITCH * pitch + pitch * k for k in range(count)]


def _bubble(c: float, top: float, half: float, tall: float) -> list[tuple[float, float]]:
    """Return a long bubble with a round head."""
    side = [(half, top - tall), (half, top - half), (0.7 * half, top - 0.3 * half), (0.0, top)]
    return [(c + x, y) for x, y in side] + [(c - x, y) for x, y in reversed(side[:-1])]


def lips(siphon: Siphon, system: str, inflow: float | None = None) -> Picture:
    """Draw a siphon's standpipe beside a plain end of the same bore and a pipe as wide as the lip.

    Parameters
    ----------
    siphon : Siphon
    system : {"metric", "us"}
    inflow : float, optional
        Inflow to each, m3/s; the flow at which each is expected to fill if not given.

    Returns
    -------
    Picture
    """
    view = LipsView(system)
    view.show(siphon, inflow)
    return view.picture()


def _alt(pipes: tuple[Pipe, ...], came: str, system: str) -> str:
    def shown(x: float, kind: str = "length") -> str:
        return s.value(x, kind, system)

    each = (
        f"{p.name}, lip {shown(p.lip)}, bore {shown(p.bore)}: {p.does}, the water "
        f"{shown(p.head, 'head')} over the lip; it starts from {shown(p.band.low, 'flow')} to "
        f"{shown(p.band.high, 'flow')}, expected at {shown(p.band.middle, 'flow')}"
        for p in pipes
    )
    return f"Three standpipes; {came}. {'. '.join(f'{e[:1].upper()}{e[1:]}' for e in each)}."
