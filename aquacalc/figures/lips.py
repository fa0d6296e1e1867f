"""Two standpipes of one bore at the moment they prime: a plain end, and a wider lip on the same bore."""

from __future__ import annotations

from matplotlib.patches import PathPatch

from aquacalc.equations.formulas import GRAVITY, lip_head
from aquacalc.figures import style as s
from aquacalc.figures.live.artists import Pool
from aquacalc.figures.outline import path_of
from aquacalc.figures.picture import Picture
from aquacalc.hydraulics.starting import choke
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

    def show(self, siphon: Siphon) -> None:
        """Bring the drawing to a siphon's bore, lip and priming."""
        stand = siphon.standpipe
        bore, lips = stand.pipe.bore, (stand.pipe.bore, stand.lip_diameter)
        flow = choke(siphon)
        heads = [lip_head(siphon.lip_weir, siphon.lip_orifice, lip, flow, GRAVITY) for lip in lips]
        self.pool.start()
        water, hollow, pipes = [], [], []
        for centre, lip, head in zip(CENTRES, lips, heads, strict=True):
            parts = self._one(centre, bore, lip, head)
            for whole, part in zip((water, hollow, pipes), parts, strict=True):
                whole += part
        for patch, polygons in ((self.water, water), (self.hollow, hollow), (self.pipes, pipes)):
            patch.set_path(path_of(polygons))
        self._words(siphon, flow, lips, heads)
        self.pool.stop()
        self.alt = _alt(siphon, flow, heads, self.system)

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
        # At the choking flow the bore is full below the mouth, and a hollow forms over it.
        dip = [(0.55 * wide, level), (0.30 * r, 0.15 * level - 0.5 * cone), (0.0, -cone - 0.5 * r)]
        hollow = [(c - x, y) for x, y in dip] + [(c + x, y) for x, y in reversed(dip[:-1])]
        return [around], [hollow], walls

    def _words(self, siphon: Siphon, flow: float, lips, heads) -> None:
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
        pool.text(
            ax, 0.5 * s.WIDTH, low - 31.0, f"both carry {shown(flow, 'flow')}: the flow at which "
            "this bore is expected to fill", ha="center", color=s.SOFT,
        )  # fmt: skip


def lips(siphon: Siphon, system: str) -> Picture:
    """Draw a siphon's standpipe at the moment it primes, beside a plain end of the same bore.

    Parameters
    ----------
    siphon : Siphon
    system : {"metric", "us"}

    Returns
    -------
    Picture
    """
    view = LipsView(system)
    view.show(siphon)
    return view.picture()


def _alt(siphon: Siphon, flow: float, heads, system: str) -> str:
    def shown(x: float, kind: str) -> str:
        return s.value(x, kind, system)

    stand = siphon.standpipe
    return (
        f"Two standpipes with a bore of {shown(stand.pipe.bore, 'length')} at the flow that fills it, "
        f"{shown(flow, 'flow')}. Over the plain end the water stands {shown(heads[0], 'head')} high, over "
        f"the lip of {shown(stand.lip_diameter, 'length')} {shown(heads[1], 'head')}."
    )
