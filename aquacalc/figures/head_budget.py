"""Where the head goes in a drain line, a siphon or a delivery pipe: one bar for each loss."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from matplotlib.patches import Rectangle

from aquacalc.equations.formulas import water_kinematic_viscosity
from aquacalc.figures import style as s
from aquacalc.figures.picture import Picture, Screen
from aquacalc.hydraulics.paths import Piece, delivery_path, run_path, siphon_path
from aquacalc.plan.model import Fitting, Plan, Run, Siphon

LEFT, RIGHT = 236.0, 150.0
TOP, ROW, BAR = 16.0, 25.0, 16.0
BOTTOM = 48.0
FILLS = {"wall": ("#56b4e9", ""), "fitting": ("#e6b25a", "////"), "opening": ("#cccccc", "||||")}


@dataclass(frozen=True)
class Loss:
    """A part of a path and the head (m) lost in it; `kind` is "wall", "fitting" or "opening"."""

    name: str
    head: float
    kind: str


def _split(
    piece: Piece, flow: float, viscosity: float, fittings: Sequence[Fitting], wall: str, local: str
) -> list[Loss]:
    """Return wall friction and local losses of one piece: those of `fittings`, and the rest as `local`."""
    found = []
    if piece.length > 0.0:
        found.append(Loss(wall, replace(piece, k=0.0).loss(flow, viscosity), "wall"))
    each = replace(piece, length=0.0, k=1.0).loss(flow, viscosity)
    rest = piece.k
    for fitting in fittings:
        name = fitting.name if fitting.count == 1 else f"{fitting.count} × {fitting.name}"
        found.append(Loss(name, fitting.count * fitting.k * each, "fitting"))
        rest -= fitting.count * fitting.k
    if rest > 1e-9:
        found.append(Loss(local, rest * each, "fitting" if piece.length > 0.0 else "opening"))
    return found


def run_losses(plan: Plan, run: Run, flow: float) -> list[Loss]:
    """Return the losses along a run at `flow` (m3/s), in flow order."""
    viscosity = water_kinematic_viscosity(plan.water_temperature)
    found = []
    for piece in run_path(plan, run):
        pipe = piece.length > 0.0
        found += _split(piece, flow, viscosity, run.fittings if pipe else (), "pipe wall", piece.name)
    return found


def siphon_losses(plan: Plan, siphon: Siphon, flow: float) -> list[Loss]:
    """Return the losses from the water around the bell to the end of the tail at `flow` (m3/s)."""
    viscosity = water_kinematic_viscosity(plan.water_temperature)
    openings, annulus, stand, tail = siphon_path(plan, siphon)
    return [
        *_split(openings, flow, viscosity, (), "", "bell openings"),
        *_split(annulus, flow, viscosity, (), "bell annulus, wall", "turn over the lip"),
        *reversed(_split(stand, flow, viscosity, (), "standpipe, wall", "lip and entry")),
        *(
            replace(x, name=f"tail, {x.name}")
            for x in _split(tail, flow, viscosity, siphon.tail.fittings, "wall", "other")
        ),
    ]


def delivery_losses(plan: Plan, flow: float) -> list[Loss]:
    """Return the losses in the pump's delivery pipe at `flow` (m3/s); none without such a pipe."""
    if plan.pump.delivery is None:
        return []
    viscosity = water_kinematic_viscosity(plan.water_temperature)
    (piece,) = delivery_path(plan.pump.delivery)
    return _split(piece, flow, viscosity, plan.pump.delivery.fittings, "pipe wall", "other")


class HeadBudgetView:
    """The bars of one path, updated in place.

    Parameters
    ----------
    rows : int
        Most losses there will be.
    system : {"metric", "us"}
    high : float, optional
        Fixed end of the axis, m; chosen from the first losses shown if not given.
    scale : float
        Dots of the PNG to a CSS pixel.
    """

    def __init__(self, rows: int, system: str, high: float | None = None, scale: float = 2.0):
        self.system, self.high = system, high
        self.tall = ROW * (rows + 1)
        self.width = s.WIDTH - LEFT - RIGHT
        self.figure = s.new_figure(TOP + self.tall + BOTTOM)
        self.axes = s.place(self.figure, LEFT, TOP, self.width, self.tall)
        self.axes.set_ylim(self.tall, 0.0)
        self.axes.set_yticks([])
        self.drawn: list = []
        self.shown: tuple | None = None
        self.alt = ""
        self.screen = Screen(self.figure, scale)

    def update(self, title: str, found: Sequence[Loss], flow: float) -> bytes:
        """Show the losses of a path at a flow (m3/s) and return the PNG file."""
        self.show(title, found, flow)
        return self.screen.png()

    def picture(self) -> Picture:
        """Return what is shown now."""
        return Picture(self.figure, self.alt)

    def show(self, title: str, found: Sequence[Loss], flow: float) -> None:
        """Bring the bars to the losses of the path named `title` at `flow` (m3/s)."""
        if (title, tuple(found), flow) == self.shown:
            return
        first = self.shown is None
        self.shown = (title, tuple(found), flow)
        self.screen.rest()
        for artist in self.drawn:
            artist.remove()
        self.drawn = []
        total = sum(x.head for x in found)
        if self.high is None:
            self.high = 1.02 * total if total > 0.0 else 0.01
        if first:
            self.axes.set_xlim(0.0, self.high)
            s.scale_axis(self.axes, "x", "head", self.system, "head lost, added up along the way", 9)
        at = 0.0
        for k, loss in enumerate(found):
            y = ROW * (k + 0.5)
            colour, hatch = FILLS[loss.kind]
            self._bar(at, loss.head, y, colour, hatch)
            share = f"{100.0 * loss.head / total:.0f} %" if total > 0.0 else "0 %"
            self._words(y, loss.name, s.value(loss.head, "head", self.system, 2), share, "normal")
            at += loss.head
            if k + 1 < len(found):
                edge = min(at, self.high)
                (link,) = self.axes.plot(
                    [edge, edge], [y + 0.5 * BAR, y + ROW - 0.5 * BAR], color=s.SOFT, lw=0.8
                )
                self.drawn.append(link)
        y = ROW * (len(found) + 0.5)
        self._bar(0.0, total, y, "#4d4d4d", "")
        flowing = s.value(flow, "flow", self.system)
        self._words(
            y,
            f"all at {flowing}",
            s.value(total, "head", self.system),
            "100 %" if total > 0.0 else "",
            "bold",
        )
        self.alt = _alt(title, found, total, flowing, self.system)

    def _bar(self, start: float, length: float, y: float, colour: str, hatch: str) -> None:
        bar = Rectangle((start, y - 0.5 * BAR), length, BAR, fc=colour, ec=s.INK, lw=0.6, hatch=hatch)
        self.drawn.append(self.axes.add_patch(bar))

    def _words(self, y: float, name: str, head: str, share: str, weight: str) -> None:
        per = self.high / self.width
        name = s.fit(name, LEFT - 8.0, s.TEXT)
        self.drawn += [
            s.write(self.axes, -8.0 * per, y, name, s.TEXT, ha="right", weight=weight, clip_on=False),
            s.write(
                self.axes, self.high + 80.0 * per, y, head, s.TEXT, ha="right", weight=weight, clip_on=False
            ),
            s.write(
                self.axes, self.high + 134.0 * per, y, share, s.TEXT, ha="right", weight=weight, clip_on=False
            ),
        ]


def head_budget(
    title: str, found: Sequence[Loss], flow: float, system: str, high: float | None = None
) -> Picture:
    """Draw where the head goes along a path.

    Parameters
    ----------
    title : str
        Name of the path, for the text equivalent.
    found : sequence of Loss
        From `run_losses`, `siphon_losses` or `delivery_losses`.
    flow : float
        m3/s.
    system : {"metric", "us"}
    high : float, optional
        End of the axis, m.

    Returns
    -------
    Picture
    """
    view = HeadBudgetView(len(found), system, high, scale=1.0)
    view.show(title, found, flow)
    return view.picture()


def _alt(title: str, found: Sequence[Loss], total: float, flow: str, system: str) -> str:
    parts = ", ".join(f"{x.name} {s.value(x.head, 'head', system, 2)}" for x in found)
    return f"Head lost in {title} at {flow}: {s.value(total, 'head', system)} in all. Part by part: {parts}."
