"""Two standpipes of one bore with water spilling in: a plain end, and a wider lip on the same bore."""

from __future__ import annotations

from matplotlib.patches import PathPatch

from aquacalc.equations.formulas import GRAVITY, lip_head
from aquacalc.figures import style as s
from aquacalc.figures.live.artists import Pool
from aquacalc.figures.outline import path_of
from aquacalc.figures.picture import Picture
from aquacalc.hydraulics.starting import StartBand, start_band
from aquacalc.plan.model import Siphon

HEIGHT = 330.0
TOP, FOOT = 40.0, 44.0
#: Where the two standpipes stand, px from the left, and half the width of water drawn around each.
CENTRES = (250.0, 650.0)
HALF = 190.0
#: What must fit without a change of scale: head over the lip, pipe below it, m.
HEAD, PIPE = 0.034, 0.055
WALL = 0.0032


class LipsView:
    """Both standpipes, updated in place.

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

    def show(self, siphon: Siphon, today: float | None = None) -> None:
        """Bring the drawing to a siphon's bore and lip, at an inflow `today` (m3/s) or where it fills."""
        stand = siphon.standpipe
        bore, lips = stand.pipe.bore, (stand.pipe.bore, stand.lip_diameter)
        band = start_band(siphon)
        # Once the bore fills the water rises no further, whatever more comes in.
        flow = band.middle if today is None else min(today, band.middle)
        self.airy = flow < band.middle
        does = _does(band, today)
        heads = [lip_head(siphon.lip_weir, siphon.lip_orifice, lip, flow, GRAVITY) for lip in lips]
        self.pool.start()
        water, hollow, pipes = [], [], []
        for centre, lip, head in zip(CENTRES, lips, heads, strict=True):
            parts = self._one(centre, bore, lip, head)
            for whole, part in zip((water, hollow, pipes), parts, strict=True):
                whole += part
        for patch, polygons in ((self.water, water), (self.hollow, hollow), (self.pipes, pipes)):
            patch.set_path(path_of(polygons))
        self._words(does, flow if today is None else today, lips, heads)
        self.pool.stop()
        self.alt = _alt(siphon, does, flow, heads, self.system)

    def picture(self) -> Picture:
        """Return what is shown now."""
        return Picture(self.figure, self.alt)

    def _one(self, c: float, bore: float, lip: float, head: float):
        """Return the polygons of one standpipe: water, the hollow over its mouth, walls."""
        up, low = self.up, -PIPE * self.up
        r, wide, wall, level = 0.5 * bore * up, 0.5 * lip * up, WALL * up, head * up
        cone = max(0.9 * (wide - r), 0.012 * up) if lip > 1.001 * bore else 0.0
        around = [(c - HALF, low), (c - HALF, level), (c + HALF, level), (c + HALF, low)]
        walls = [
            [
                (c + k * r, low), (c + k * r, -cone), (c + k * wide, 0.0), (c + k * (wide + wall), 0.0),
                (c + k * (r + wall), -cone), (c + k * (r + wall), low),
            ]
            for k in (-1.0, 1.0)
        ]  # fmt: skip
        if self.airy:  # a film runs down the wall, and air stands in the middle all the way
            film = 0.80 * r
            dip = [(0.80 * wide, level), (film, -cone - 0.3 * r), (film, low), (0.0, low)]
        else:  # the bore is full below the mouth, and a hollow forms over it
            dip = [(0.55 * wide, level), (0.30 * r, 0.15 * level - 0.5 * cone), (0.0, -cone - 0.5 * r)]
        hollow = [(c - x, y) for x, y in dip] + [(c + x, y) for x, y in reversed(dip[:-1])]
        return [around], [hollow], walls

    def _words(self, does: str, came: float, lips, heads) -> None:
        def shown(x: float, kind: str = "length") -> str:
            return s.value(x, kind, self.system)

        up, pool, ax = self.up, self.pool, self.axes
        low = -PIPE * up
        titles = ("plain end", "wider lip, same bore" if lips[1] > 1.001 * lips[0] else "no reducer yet")
        for c, title, lip, head in zip(CENTRES, titles, lips, heads, strict=True):
            level, wide = head * up, 0.5 * lip * up
            pool.text(ax, c, HEAD * up + 24.0, title, s.TEXT, ha="center", weight="bold")
            pool.line(ax, [c - HALF, c + HALF], [level, level], color=s.WATER_LINE, ls="-", lw=1.6, zorder=5)
            x = c - HALF + 22.0
            pool.line(ax, [x - 12.0, c - wide], [0.0, 0.0], color=s.INK, ls=(0, (5, 3)), lw=0.9, zorder=6)
            pool.line(ax, [x, x], [0.0, level], color=s.MARK, ls="-", lw=3.0, zorder=6)
            told = f"head {shown(head, 'head')}"
            pool.text(ax, x + 8.0, level + 12.0, told, s.TEXT, color=s.MARK, weight="bold", zorder=7)
            pool.text(ax, c + wide + 14.0, -10.0, f"lip {shown(lip)} wide", zorder=7)
            pool.text(ax, c, low - 12.0, f"bore {shown(lips[0])}", ha="center")
        caption = f"{shown(came, 'flow')} comes to both lips: {does}"
        pool.text(ax, 0.5 * s.WIDTH, low - 31.0, caption, s.TEXT, ha="center", weight="bold")
        if self.airy:
            for c in CENTRES:
                pool.text(ax, c, low + 20.0, "air", ha="center", color=s.SOFT, zorder=7)  # fmt: skip


def _does(band: StartBand, today: float | None) -> str:
    """Say what both do at an inflow (m3/s)."""
    if today is None:
        return "the flow at which this bore is expected to fill"
    if today < band.low:
        return "both trickle, air stands in the pipe"
    if today < band.middle:
        return "both may fill or only trickle"
    return "both are expected to fill here" if today < band.high else "both fill here"


def lips(siphon: Siphon, system: str, today: float | None = None) -> Picture:
    """Draw a siphon's standpipe beside a plain end of the same bore, as water spills into both.

    Parameters
    ----------
    siphon : Siphon
    system : {"metric", "us"}
    today : float, optional
        Inflow, m3/s; the flow at which the bore is expected to fill if not given.

    Returns
    -------
    Picture
    """
    view = LipsView(system)
    view.show(siphon, today)
    return view.picture()


def _alt(siphon: Siphon, does: str, flow: float, heads, system: str) -> str:
    def shown(x: float, kind: str) -> str:
        return s.value(x, kind, system)

    stand = siphon.standpipe
    return (
        f"Two standpipes with a bore of {shown(stand.pipe.bore, 'length')}, {shown(flow, 'flow')} over both "
        f"lips: {does}. Over the plain end the water stands {shown(heads[0], 'head')} high, over "
        f"the lip of {shown(stand.lip_diameter, 'length')} {shown(heads[1], 'head')}."
    )
