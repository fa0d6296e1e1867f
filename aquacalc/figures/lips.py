"""Three standpipes with water spilling in: a plain end, a wider lip on its bore, a pipe as wide all down."""

from __future__ import annotations

from dataclasses import dataclass, replace

from aquacalc.equations.formulas import GRAVITY, lip_head
from aquacalc.figures.chart import WIDTH, box, shown
from aquacalc.figures.vector import Drawing, Drawn
from aquacalc.hydraulics.starting import StartBand, start_band
from aquacalc.plan.model import Siphon, Tail

HEIGHT = 386.0
TOP, FOOT = 40.0, 100.0
#: Where the standpipes stand, px from the left, and half the width of water drawn around each.
CENTRES = (155.0, 450.0, 745.0)
HALF = 138.0
#: What must fit without a change of scale: head over the lip, pipe below it, m.
HEAD, PIPE = 0.034, 0.055
WALL = 0.0032
#: Pixels to a metre, both ways; where the lips stand and where the pipes are cut off, px from the top.
UP = (HEIGHT - TOP - FOOT) / (HEAD + PIPE)
ZERO, LOW = TOP + HEAD * UP, HEIGHT - FOOT
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
    wide, bore = stand.lip_diameter, stand.pipe.bore
    reduced = "with a reducer" if wide > 1.001 * bore else "no reducer yet"
    sizes = (("plain end", bore, bore), (reduced, wide, bore), ("wide all the way", wide, wide))
    for name, lip, inside in sizes:
        tail = siphon.tail if inside == bore else _as_wide(siphon.tail, inside)
        pipe = replace(stand, lip_diameter=lip, pipe=replace(stand.pipe, bore=inside))
        band = start_band(replace(siphon, standpipe=pipe, tail=tail))
        # Once the bore fills the water rises no further, whatever more comes in.
        flow = band.middle if inflow is None else min(inflow, band.middle)
        head = lip_head(siphon.lip_weir, siphon.lip_orifice, lip, flow, GRAVITY)
        made.append(Pipe(name, lip, inside, band, head, _does(band, inflow)))
    return tuple(made)


def _as_wide(tail: Tail, bore: float) -> Tail:
    return replace(tail, pipe=replace(tail.pipe, bore=max(bore, tail.pipe.bore)))


def _does(band: StartBand, inflow: float | None) -> str:
    if inflow is None:
        return EXPECTED
    steps = ((band.low, TRICKLES), (band.middle, MAY), (band.high, EXPECTED))
    return next((word for end, word in steps if inflow < end), RUNS)


def lips(siphon: Siphon, system: str, inflow: float | None = None) -> Drawn:
    """Draw a siphon's standpipe beside a plain end of the same bore and a pipe as wide as the lip.

    Parameters
    ----------
    siphon : Siphon
    system : {"metric", "us"}
    inflow : float, optional
        Inflow to each, m3/s; the flow at which each is expected to fill if not given.

    Returns
    -------
    Drawn
    """
    pipes = three_pipes(siphon, inflow)
    d = Drawing(WIDTH, HEIGHT)
    for c, pipe in zip(CENTRES, pipes, strict=True):
        _one(d, c, pipe)
        _named(d, c, pipe, system)
    came = "each gets the flow at which it should start"
    if inflow is not None:
        came = f"{shown(inflow, 'flow', system)} comes to each"
    d.text(0.5 * WIDTH, LOW + 84.0, came, "m b")
    d.alt = _alt(pipes, came, system)
    return Drawn((d,), d.alt)


def _one(d: Drawing, c: float, pipe: Pipe) -> None:
    """Draw one standpipe: water, walls, the air in and over it."""
    r, wide, wall, level = 0.5 * pipe.bore * UP, 0.5 * pipe.lip * UP, WALL * UP, ZERO - pipe.head * UP
    cone = ZERO + (max(0.9 * (wide - r), 0.012 * UP) if pipe.lip > 1.001 * pipe.bore else 0.0)
    d.path(box(c - HALF, level, 2.0 * HALF, LOW - level), "water", close=True)
    for k in (-1.0, 1.0):
        wall_of = [(r, LOW), (r, cone), (wide, ZERO), (wide + wall, ZERO), (r + wall, cone), (r + wall, LOW)]
        d.path([(c + k * x, y) for x, y in wall_of], "part", close=True)
    foot = cone + 0.5 * r
    if pipe.does == TRICKLES:  # a film runs down the wall, and air stands in the middle all the way
        film = 0.80 * r
        dip = [(0.80 * wide, level), (film, cone + 0.3 * r), (film, LOW), (0.0, LOW)]
    else:  # the bore fills below the mouth, and a hollow forms over it
        hollow = 0.85 * ZERO + 0.15 * level
        dip = [(0.55 * wide, level), (0.30 * r, hollow + 0.5 * (cone - ZERO)), (0.0, foot)]
    _air(d, c, dip)
    if pipe.does == MAY:  # plugs of water with long bubbles between them
        half, tall = 0.72 * r, BUBBLE * r
        for k in range(max(1, int((LOW - foot - PLUG * r) / (PITCH * r)))):
            top = LOW - tall - k * PITCH * r
            side = [(half, top + tall), (half, top + half), (0.7 * half, top + 0.3 * half), (0.0, top)]
            _air(d, c, side)
    if pipe.does in (TRICKLES, MAY):
        d.text(c, LOW - 20.0, "air", "m soft")


def _air(d: Drawing, c: float, half: list[tuple[float, float]]) -> None:
    """Draw air by the outline of its right half, from one end to the middle."""
    d.path([*((c - x, y) for x, y in half), *((c + x, y) for x, y in half[-2::-1])], "air hollow", close=True)


def _named(d: Drawing, c: float, pipe: Pipe, system: str) -> None:
    """Write what it is called, what it does, its sizes and where it starts; the head over its lip."""
    level, wide, x = ZERO - pipe.head * UP, 0.5 * pipe.lip * UP, c - HALF + 14.0
    low, high = (shown(flow, "flow", system) for flow in (pipe.band.low, pipe.band.high))
    d.text(c, 14.0, pipe.name, "m b")
    d.path([(c - HALF, level), (c + HALF, level)], "surface")
    d.path([(x - 8.0, ZERO), (c - wide, ZERO)], "level")
    d.path([(x, ZERO), (x, level)], "today")
    d.text(x - 6.0, level - 13.0, f"head {shown(pipe.head, 'head', system)}", "b mark")
    d.text(c, LOW + 16.0, pipe.does, "m b")
    sizes = (shown(size, "length", system) for size in (pipe.lip, pipe.bore))
    d.text(c, LOW + 37.0, "lip {}, bore {}".format(*sizes), "m")
    d.text(c, LOW + 57.0, f"start: {low} to {high}", "m")


def _alt(pipes: tuple[Pipe, ...], came: str, system: str) -> str:
    def told(x: float, kind: str = "length") -> str:
        return shown(x, kind, system)

    each = (
        f"{p.name}, lip {told(p.lip)}, bore {told(p.bore)}: {p.does}, the water "
        f"{told(p.head, 'head')} over the lip; it starts from {told(p.band.low, 'flow')} to "
        f"{told(p.band.high, 'flow')}, expected at {told(p.band.middle, 'flow')}"
        for p in pipes
    )
    return f"Three standpipes; {came}. {'. '.join(f'{e[:1].upper()}{e[1:]}' for e in each)}."
