"""Where everything of a plan stands on the section: vessels left to right in drain order.

A plan has no horizontal coordinates. Vessels keep their width and elevation;
the gaps between them are the drawing's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from aquacalc.figures.outline import Placed, Point, widest
from aquacalc.figures.style import TEXT, text_width
from aquacalc.plan.model import Bed, Plan, Run, Siphon

GAP = 16.0
SUMP_GAP = 34.0
#: Vertical scale (px per m) below which widths are squeezed rather than heights.
LEAST_SCALE = 115.0


@dataclass(frozen=True)
class Frame:
    """Size of the drawing and its scales.

    Attributes
    ----------
    width, height : float
        px.
    low, high : float
        Elevations at the bottom and top edge, m.
    across, up : float
        Scales across and up, pixels to a metre; equal where the plan fits.
    """

    width: float
    height: float
    low: float
    high: float
    across: float
    up: float


@dataclass(frozen=True)
class Line:
    """A pipe on the drawing: middle line, diameters `outside` and `inside` (px), what fills it."""

    points: tuple[Point, ...]
    outside: float
    inside: float
    start: str
    kind: str  # "run", "tail" or "delivery"


@dataclass(frozen=True)
class Scene:
    """What is drawn of one plan, apart from its water; `header` is the elevation of the pump's header, m."""

    frame: Frame
    placed: dict[str, Placed]
    columns: dict[str, tuple[float, float]]
    tees: dict[str, Point]
    lines: tuple[Line, ...]
    drops: tuple[Point, ...]  # where the header lets water into a bed
    header: float
    groups: dict[str, tuple[str, ...]] = field(default_factory=dict)


def drain_order(plan: Plan) -> dict[str, tuple[str, ...]]:
    """Return {siphon: its vessels from the farthest upstream to the host}."""
    to = {run.start: run.to for run in plan.runs}
    hosts = {siphon.host: siphon.name for siphon in plan.siphons}
    rank = {v.name: k for k, v in enumerate(plan.vessels)}

    def depth(name: str) -> tuple[str, int]:
        steps = 0
        while name not in hosts:
            name, steps = to[name], steps + 1
        return name, steps

    found: dict[str, list[str]] = {siphon.name: [] for siphon in plan.siphons}
    ends = {name: depth(name) for name in rank}
    for name in sorted(rank, key=lambda n: (-ends[n][1], rank[n])):
        found[hosts[ends[name][0]]].append(name)
    return {name: tuple(members) for name, members in found.items()}


def label_width(plan: Plan, name: str) -> float:
    """Least width (px) of a column: the longest word of the name, or a level with its unit."""
    word = max(name.split(), key=len)
    return max(min(text_width(word, TEXT), 84.0), text_width("0.000 m"), 46.0)


def _extent(plan: Plan) -> tuple[float, float, float]:
    """Lowest and highest elevation drawn, and that of the pump's header, m."""
    vessels = (*plan.beds, *plan.chambers, plan.sump)
    low = min(v.floor for v in vessels)
    rim = max(v.rim for v in vessels)
    header = rim + 0.10
    if plan.pump.delivery is not None:
        header = max(rim + 0.04, plan.pump.delivery.outlet)
    bells = [plan.crown_level(s) for s in plan.siphons]
    return low, max(header, *bells), header


def fit_frame(plans: Sequence[Plan], width: float, height: float) -> Frame:
    """Choose the scales so that every vessel of every plan fits `width` by `height` (px)."""
    extents = [_extent(plan) for plan in plans]
    low, high = min(e[0] for e in extents), max(e[1] for e in extents)
    up_most = (height - 34.0) / (high - low)
    across = min(up_most, *(_widest_scale(plan, width) for plan in plans))
    up = max(across, min(up_most, LEAST_SCALE))
    spare = height / up - (high - low)
    return Frame(width, height, low - 0.5 * spare - 2.0 / up, high + 0.5 * spare - 2.0 / up, across, up)


def _widest_scale(plan: Plan, width: float) -> float:
    """Largest pixels to a metre at which the columns of `plan` fit `width` (px)."""
    names = [name for members in drain_order(plan).values() for name in members]
    vessels = [*(plan.vessel(n) for n in names), plan.sump]
    wide = [widest(v.shape) for v in vessels]
    least = [label_width(plan, v.name) for v in vessels]
    room = width - 10.0 - GAP * len(names) - SUMP_GAP * len(plan.siphons)
    small, large = 1.0, 4000.0
    for _ in range(40):
        scale = 0.5 * (small + large)
        taken = sum(max(w * scale + 4.0, m) for w, m in zip(wide, least, strict=True))
        small, large = (scale, large) if taken <= room else (small, scale)
    return small


def _columns(plan: Plan, frame: Frame) -> tuple[dict[str, tuple[float, float]], dict[str, Placed]]:
    spans: list[tuple[str, float, float]] = []
    for members in drain_order(plan).values():
        for k, name in enumerate(members):
            last = k == len(members) - 1
            spans.append((name, _column_width(plan, name, frame), SUMP_GAP if last else GAP))
    spans.append((plan.sump.name, _column_width(plan, plan.sump.name, frame), 0.0))
    total = sum(w + gap for _, w, gap in spans)
    # What is left over widens the gaps, so that a small plan does not crowd in a corner.
    extra = max(frame.width - 10.0 - total, 0.0) / len(spans)
    x = 0.4 * extra + 5.0
    columns, placed = {}, {}
    for name, wide, gap in spans:
        columns[name] = (x, x + wide)
        vessel = plan.sump if name == plan.sump.name else plan.vessel(name)
        placed[name] = Placed(vessel, x + 0.5 * wide, frame.across)
        x += wide + gap + extra
    return columns, placed


def _column_width(plan: Plan, name: str, frame: Frame) -> float:
    vessel = plan.sump if name == plan.sump.name else plan.vessel(name)
    return max(widest(vessel.shape) * frame.across + 4.0, label_width(plan, name))


def outlet_point(plan: Plan, placed: Placed, run: Run) -> Point:
    """Where a run leaves its bed: middle of the floor, or the right wall at the outlet's height."""
    bed = placed.vessel
    if isinstance(bed, Bed) and bed.outlet == "side":
        z = bed.outlet_invert + 0.5 * run.pipe.bore
        return placed.centre + placed.half(z), z
    return placed.centre, bed.floor


def build_scene(plan: Plan, frame: Frame) -> Scene:
    """Lay out `plan` in `frame`."""
    columns, placed = _columns(plan, frame)
    runs = {run.start: run for run in plan.runs}
    px = min(frame.across, frame.up)
    tees: dict[str, Point] = {}
    waiting = list(plan.tees)
    while waiting:
        for tee in waiting:
            feeders = [r.start for r in plan.runs if r.to == tee.name]
            if all(f in placed or f in tees for f in feeders):
                xs = [tees[f][0] if f in tees else outlet_point(plan, placed[f], runs[f])[0] for f in feeders]
                sides = [f for f in feeders if f in placed and placed[f].vessel.outlet == "side"]
                x = max(xs) + (0.5 * GAP if sides else 0.0)
                tees[tee.name] = (x, tee.elevation + 0.5 * runs[tee.name].pipe.bore)
                waiting.remove(tee)
                break
    lines = [_run_line(plan, frame, placed, tees, run, px) for run in plan.runs]
    lines += [_tail_line(plan, frame, placed, siphon, k, px) for k, siphon in enumerate(plan.siphons)]
    delivery, drops, header = _delivery(plan, frame, placed, px)
    return Scene(frame, placed, columns, tees, (*lines, delivery), tuple(drops), header, drain_order(plan))


def _entry(plan: Plan, frame: Frame, placed: dict[str, Placed], run: Run, px: float) -> float:
    """Elevation (m) drawn for the middle of a run's end; runs that lie behind each other are set apart."""
    true = run.outfall + 0.5 * run.pipe.bore
    same = [r for r in plan.runs if r.to == run.to and r.start in placed]
    same.sort(key=lambda r: placed[r.start].centre)
    if run not in same or len(same) < 2:
        return true
    wide = max(r.pipe.outside_diameter for r in same) * px / frame.up
    floor = placed[run.to].vessel.floor + 0.55 * wide
    ceiling = min(placed[r.start].vessel.floor for r in same) - 1.2 * wide
    pitch = wide + 4.0 / frame.up
    top = max(min(true + 0.5 * pitch * (len(same) - 1), ceiling), true)
    bottom = max(top - pitch * (len(same) - 1), min(floor, true))
    return bottom + (top - bottom) * same.index(run) / (len(same) - 1)


def _run_line(
    plan: Plan, frame: Frame, placed: dict[str, Placed], tees: dict[str, Point], run: Run, px: float
) -> Line:
    outside, inside = run.pipe.outside_diameter * px, run.pipe.bore * px
    bend = 0.5 * outside + 4.0
    points: list[Point] = []
    if run.start in tees:
        points.append(tees[run.start])
        z_run = None
    else:
        points.append(outlet_point(plan, placed[run.start], run))
        if plan.vessel(run.start).outlet == "side":
            x = points[0][0] + 0.5 * GAP
            points.append((x, points[0][1]))
        z_run = points[-1][1]
    x0, z0 = points[-1]
    if run.to in tees:
        x1, z1 = tees[run.to]
        if z_run is not None and abs(x1 - x0) > 1.0:
            points.append((x0, z1))
        points.append((x1, z1))
    else:
        into = placed[run.to]
        z1 = _entry(plan, frame, placed, run, px)
        x1 = into.centre - into.half(z1)
        if z_run is not None:
            below = z1 if z1 < z0 - bend / frame.up or points[0][1] != z0 else z0 - 1.6 * bend / frame.up
            if len(points) == 2:  # a side outlet can lead straight across
                below = z1
            points.append((x0, below))
            if abs(below - z1) > 1e-6:
                points.append((x1 - bend, below))
                points.append((x1 - bend, z1))
        points.append((x1, z1))
    return Line(tuple(points), outside, inside, run.start, "run")


def _tail_line(
    plan: Plan, frame: Frame, placed: dict[str, Placed], siphon: Siphon, rank: int, px: float
) -> Line:
    host, sump = placed[siphon.host], placed[plan.sump.name]
    pipe, outlet = siphon.tail.pipe, siphon.tail.outlet
    outside = pipe.outside_diameter * px
    floor = host.vessel.floor
    # Tails of several groups run one above the other, the farthest lowest, and end side by side.
    across = max(outlet, plan.sump.rim + 0.8 * pipe.outside_diameter) + rank * (outside + 4.0) / frame.up
    ceiling = floor - 0.5 * pipe.outside_diameter - 5.0 / frame.up
    across = max(min(across, ceiling), outlet) if ceiling > outlet else min(across, ceiling)
    end = sump.left + (sump.right - sump.left) * (0.12 + 0.10 * rank)
    points = [(host.centre, floor), (host.centre, across), (end, across)]
    if abs(outlet - across) > 0.5 * outside / frame.up:
        points.append((end, outlet))
    return Line(tuple(points), outside, pipe.bore * px, siphon.host, "tail")


def _delivery(plan: Plan, frame: Frame, placed: dict[str, Placed], px: float):
    sump = placed[plan.sump.name]
    x = sump.left + 0.80 * (sump.right - sump.left)
    header = _extent(plan)[2]
    fed = [placed[b.name] for b in plan.beds if b.inflow_share > 0.0]
    pipe = plan.pump.delivery.pipe if plan.pump.delivery else None
    outside = max(pipe.outside_diameter * px, 3.0) if pipe else 3.5
    inside = max(pipe.bore * px, 1.4) if pipe else 2.0
    bottom = plan.sump.floor + max(plan.pump.intake, 6.0 / frame.up)
    first = min(p.left + 0.22 * (p.right - p.left) for p in fed)
    points = ((x, bottom), (x, header), (first, header))
    drops = [(p.left + 0.22 * (p.right - p.left), p.vessel.rim) for p in fed]
    return Line(points, outside, inside, plan.sump.name, "delivery"), drops, header
