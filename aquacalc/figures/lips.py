"""Two standpipes of one bore with water spilling in: a plain end, and a wider lip on the same bore."""

from __future__ import annotations

from aquacalc.equations.formulas import GRAVITY, lip_head
from aquacalc.figures.chart import WIDTH, box, shown
from aquacalc.figures.vector import Drawing, Drawn
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
#: Pixels to a metre, both ways; where the lips stand and where the pipes are cut off, px from the top.
UP = (HEIGHT - TOP - FOOT) / (HEAD + PIPE)
ZERO, LOW = TOP + HEAD * UP, HEIGHT - FOOT


def _does(band: StartBand, today: float | None) -> str:
    """Say what both do at an inflow (m3/s)."""
    if today is None:
        return "the flow at which this bore is expected to fill"
    if today < band.low:
        return "both trickle, air stands in the pipe"
    if today < band.middle:
        return "both may fill or only trickle"
    return "both are expected to fill here" if today < band.high else "both fill here"


def lips(siphon: Siphon, system: str, today: float | None = None) -> Drawn:
    """Draw a siphon's standpipe beside a plain end of the same bore, as water spills into both.

    Parameters
    ----------
    siphon : Siphon
    system : {"metric", "us"}
    today : float, optional
        Inflow, m3/s; the flow at which the bore is expected to fill if not given.

    Returns
    -------
    Drawn
    """
    stand = siphon.standpipe
    bore, ends = stand.pipe.bore, (stand.pipe.bore, stand.lip_diameter)
    band = start_band(siphon)
    # Once the bore fills the water rises no further, whatever more comes in.
    flow = band.middle if today is None else min(today, band.middle)
    does = _does(band, today)
    heads = [lip_head(siphon.lip_weir, siphon.lip_orifice, lip, flow, GRAVITY) for lip in ends]
    titles = ("plain end", "wider lip, same bore" if ends[1] > 1.001 * ends[0] else "no reducer yet")
    d = Drawing(WIDTH, HEIGHT)
    for c, title, lip, head in zip(CENTRES, titles, ends, heads, strict=True):
        d.text(c, 14.0, title, "m b")
        _one(d, c, bore, lip, head, flow < band.middle)
        _named(d, c, lip, head, system)
        d.text(c, LOW + 14.0, f"bore {shown(bore, 'length', system)}", "m")
    came = shown(flow if today is None else today, "flow", system)
    d.text(0.5 * WIDTH, LOW + 34.0, f"{came} comes to both lips: {does}", "m b")
    d.alt = _alt(siphon, does, flow, heads, system)
    return Drawn((d,), d.alt)


def _one(d: Drawing, c: float, bore: float, lip: float, head: float, airy: bool) -> None:
    """Draw one standpipe: water, the hollow over its mouth, walls."""
    r, wide, wall, level = 0.5 * bore * UP, 0.5 * lip * UP, WALL * UP, ZERO - head * UP
    cone = ZERO + (max(0.9 * (wide - r), 0.012 * UP) if lip > 1.001 * bore else 0.0)
    d.path(box(c - HALF, level, 2.0 * HALF, LOW - level), "water", close=True)
    for k in (-1.0, 1.0):
        wall_of = [(r, LOW), (r, cone), (wide, ZERO), (wide + wall, ZERO), (r + wall, cone), (r + wall, LOW)]
        d.path([(c + k * x, y) for x, y in wall_of], "part", close=True)
    if airy:  # a film runs down the wall, and air stands in the middle all the way
        film = 0.80 * r
        dip = [(0.80 * wide, level), (film, cone + 0.3 * r), (film, LOW), (0.0, LOW)]
    else:  # the bore is full below the mouth, and a hollow forms over it
        hollow = 0.85 * ZERO + 0.15 * level
        dip = [(0.55 * wide, level), (0.30 * r, hollow + 0.5 * (cone - ZERO)), (0.0, cone + 0.5 * r)]
    d.path([*((c - x, y) for x, y in dip), *((c + x, y) for x, y in dip[-2::-1])], "air hollow", close=True)
    if airy:
        d.text(c, LOW - 20.0, "air", "m soft")


def _named(d: Drawing, c: float, lip: float, head: float, system: str) -> None:
    """Draw the surface and the head over the lip, with their values."""
    level, wide, x = ZERO - head * UP, 0.5 * lip * UP, c - HALF + 22.0
    d.path([(c - HALF, level), (c + HALF, level)], "surface")
    d.path([(x - 12.0, ZERO), (c - wide, ZERO)], "level")
    d.path([(x, ZERO), (x, level)], "today")
    d.text(x + 8.0, level - 13.0, f"head {shown(head, 'head', system)}", "b mark")
    d.text(c + wide + 14.0, ZERO + 12.0, f"lip {shown(lip, 'length', system)} wide")


def _alt(siphon: Siphon, does: str, flow: float, heads, system: str) -> str:
    def told(x: float, kind: str) -> str:
        return shown(x, kind, system)

    stand = siphon.standpipe
    return (
        f"Two standpipes with a bore of {told(stand.pipe.bore, 'length')}, {told(flow, 'flow')} over both "
        f"lips: {does}. Over the plain end the water stands {told(heads[0], 'head')} high, over "
        f"the lip of {told(stand.lip_diameter, 'length')} {told(heads[1], 'head')}."
    )
