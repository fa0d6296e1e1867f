"""Where the head goes in a drain line, a siphon or a delivery pipe: one bar for each loss."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from aquacalc.equations.formulas import water_kinematic_viscosity
from aquacalc.figures.chart import WIDTH, Axes, box, shown, zone
from aquacalc.figures.vector import BOLD, TEXT, Drawing, Drawn, fit
from aquacalc.hydraulics.paths import Piece, run_path, siphon_path
from aquacalc.plan.model import Fitting, Plan, Run, Siphon

LEFT, RIGHT = 262.0, 160.0
TOP, ROW, BAR = 16.0, 25.0, 16.0
BOTTOM = 48.0
FILLS = {"wall": ("water", ""), "fitting": ("may", "/"), "opening": ("never", "|")}


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


def head_budget(
    title: str,
    found: Sequence[Loss],
    flow: float,
    system: str,
    high: float | None = None,
    rows: int = 0,
) -> Drawn:
    """Draw where the head goes along a path.

    Parameters
    ----------
    title : str
        Name of the path, for the text equivalent.
    found : sequence of Loss
        From `run_losses` or `siphon_losses`.
    flow : float
        m3/s.
    system : {"metric", "us"}
    high : float, optional
        End of the axis, m.
    rows : int, optional
        Most losses there will be, for a picture that keeps its height.

    Returns
    -------
    Drawn
    """
    total = sum(x.head for x in found)
    high = high or (1.02 * total if total > 0.0 else 0.01)
    tall = ROW * (max(rows, len(found)) + 1)
    d = Drawing(WIDTH, TOP + tall + BOTTOM)
    axes = Axes(d, LEFT, TOP, WIDTH - LEFT - RIGHT, tall, (0.0, high))
    axes.scale_x("head", system, "head lost, added up along the way", 9)
    clip, at = axes.clip("bars"), 0.0

    def row(k: int, start: float, head: float, fill: tuple[str, str], words: tuple[str, str, str], cls: str):
        y = TOP + ROW * (k + 0.5)
        x = axes.x(start)
        zone(d, box(x, y - 0.5 * BAR, axes.x(start + head) - x, BAR), *fill, clip_path=clip)
        d.text(LEFT - 8.0, y, fit(words[0], (LEFT - 10.0) / BOLD, TEXT), f"e {cls}")
        for word, right in zip(words[1:], (80.0, 146.0), strict=True):
            d.text(WIDTH - RIGHT + right, y, word, f"e {cls}")

    for k, loss in enumerate(found):
        share = f"{100.0 * loss.head / total:.0f} %" if total > 0.0 else "0 %"
        row(k, at, loss.head, FILLS[loss.kind], (loss.name, shown(loss.head, "head", system, 2), share), "")
        at += loss.head
        if k + 1 < len(found):
            x, y = axes.x(min(at, high)), TOP + ROW * (k + 0.5)
            d.path([(x, y + 0.5 * BAR), (x, y + ROW - 0.5 * BAR)], "lead")
    flowing = shown(flow, "flow", system)
    last = (f"all at {flowing}", shown(total, "head", system), "100 %" if total > 0.0 else "")
    row(len(found), 0.0, total, ("all", ""), last, "b")
    d.alt = _alt(title, found, total, flowing, system)
    return Drawn((d,), d.alt)


def _alt(title: str, found: Sequence[Loss], total: float, flow: str, system: str) -> str:
    parts = ", ".join(f"{x.name} {shown(x.head, 'head', system, 2)}" for x in found)
    return f"Head lost in {title} at {flow}: {shown(total, 'head', system)} in all. Part by part: {parts}."
