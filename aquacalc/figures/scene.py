"""Where everything of a plan stands on the section: vessels left to right in drain order.

The section is unfolded along the drain lines. Widths and every elevation are those of the geometry, and so
is what lies how far along a pipe; only the gaps between vessels are the drawing's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import hypot

from aquacalc.figures.outline import Placed, Point, widest
from aquacalc.figures.vector import PHONE, fit, text_width
from aquacalc.geometry.laying import Route
from aquacalc.geometry.routes import run_route, siphon_routes
from aquacalc.geometry.space import course, tail_top
from aquacalc.plan.model import Bed, Chamber, Pipe, Plan, Run, Siphon, Sump
from aquacalc.plan.network import order

GAP = 16.0
SUMP_GAP = 34.0
#: Room for the ladder of elevations, px; least px to a metre across.
LEFT, LEAST_ACROSS = 52.0, 45.0
#: A branch that leads no farther on than this (m) comes straight down on its tee.
BEND = 0.03
#: Vertical scale (px per m) below which widths are squeezed rather than heights.
LEAST_SCALE = 115.0


@dataclass(frozen=True)
class Frame:
    """Size of the drawing and its scales.

    Attributes
    ----------
    width : float
        px.
    low, high : float
        Elevations at the bottom and top edge, m.
    across, up : float
        Scales across and up, pixels to a metre; equal where the plan fits.
    size : float
        Of letters, px.
    left : float
        Where the first column begins, px.
    """

    width: float
    low: float
    high: float
    across: float
    up: float
    size: float = PHONE
    left: float = 0.0


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


def label_width(name: str, size: float) -> float:
    """Least width (px) of a column: its name's longest word, or a level with unit; letters of `size` px."""
    word = max(name.split(), key=len)
    return max(min(text_width(word, size), 7.0 * size), text_width("0.000 m", size))


def least_width(plan: Plan) -> float:
    """Least width (px) of a drawing: of many vessels it is wider rather than of fewer px to a metre."""
    names = [name for members in drain_order(plan).values() for name in members]
    vessels = [*(plan.vessel(name) for name in names), plan.sump]
    room = sum(max(label_width(v.name, PHONE), LEAST_ACROSS * widest(v.shape) + 5.0) for v in vessels)
    return LEFT + 11.0 + room + GAP * len(names) + SUMP_GAP * len(plan.siphons)


def wrapped(name: str, room: float) -> list[str]:
    """Break a vessel's name over two lines where it is wider than `room`, px."""
    if text_width(name) <= room or " " not in name:
        return [fit(name, room)]
    words = name.split()
    cut = min(range(1, len(words)), key=lambda k: abs(len(" ".join(words[:k])) - len(" ".join(words[k:]))))
    return [fit(" ".join(part), room) for part in (words[:cut], words[cut:])]


def extent(plan: Plan) -> tuple[float, float, float]:
    """Lowest and highest elevation drawn, and that of the pump's header, m."""
    vessels: list[Bed | Chamber | Sump] = [*plan.vessels, plan.sump]
    low = min(v.floor for v in vessels)
    rim = max(v.rim for v in vessels)
    header = rim + 0.10
    if plan.pump.delivery is not None:
        header = max(rim + 0.04, plan.pump.delivery.outlet)
    bells = [plan.crown_level(s) for s in plan.siphons]
    return low, max(header, *bells), header


def fit_frame(plans: Sequence[Plan], width: float, height: float, size: float = PHONE) -> Frame:
    """Choose scales so that each vessel of every plan fits `width` by `height`; `size` of letters, px."""
    extents = [extent(plan) for plan in plans]
    low, high = min(e[0] for e in extents), max(e[1] for e in extents)
    up_most = (height - 34.0) / (high - low)
    across = min(up_most, *(_widest_scale(plan, width, size) for plan in plans))
    up = max(across, min(up_most, LEAST_SCALE))
    # No empty band under a plan that is wider than high.
    return Frame(width, low - 24.0 / up, high + 10.0 / up, across, up, size)


def _widest_scale(plan: Plan, width: float, size: float) -> float:
    """Largest pixels to a metre at which the columns of `plan` fit `width` (px)."""
    names = [name for members in drain_order(plan).values() for name in members]
    vessels = [*(plan.vessel(n) for n in names), plan.sump]
    wide = [widest(v.shape) for v in vessels]
    least = [label_width(v.name, size) for v in vessels]
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
    x = frame.left + 0.4 * extra + 5.0
    columns, placed = {}, {}
    for name, wide, gap in spans:
        columns[name] = (x, x + wide)
        vessel = plan.sump if name == plan.sump.name else plan.vessel(name)
        placed[name] = Placed(vessel, x + 0.5 * wide, frame.across)
        x += wide + gap + extra
    return columns, placed


def _column_width(plan: Plan, name: str, frame: Frame) -> float:
    vessel = plan.sump if name == plan.sump.name else plan.vessel(name)
    return max(widest(vessel.shape) * frame.across + 4.0, label_width(name, frame.size))


def build_scene(plan: Plan, frame: Frame) -> Scene:
    """Lay out `plan` in `frame`."""
    columns, placed = _columns(plan, frame)
    px = min(frame.across, frame.up)
    tees: dict[str, Point] = {}
    ways = [run for run in (plan.run_from(name) for name, _ in order(plan)) if run is not None]
    starts: dict[str, float] = {}
    profiles: dict[str, list[Point]] = {}
    for run in reversed(ways):  # a way into a tee ends where the way out of it begins
        after = None if run.to in placed else profiles[run.to]
        end = run.outfall + 0.5 * run.pipe.bore if after is None else after[0][1]
        profiles[run.start] = _unfolded(run_route(plan, run), end)
    for run in ways:
        profile = profiles[run.start]
        x = tees[run.start][0] if run.start in tees else _outlet(plan, placed[run.start], run)
        starts[run.start] = x
        if run.to not in placed:  # a tee stands as far on as the farthest of what leads to it
            on = min(profile[-1][0] * frame.across, GAP) if profile[-1][0] > BEND else 0.0
            tees[run.to] = (max(x + on, tees.get(run.to, (0.0, 0.0))[0]), profile[-1][1])
    drawn = []
    for run in ways:
        profile = profiles[run.start]
        into, last = placed.get(run.to), profile[-1][1]
        end = tees[run.to][0] if into is None else into.centre - into.half(last)
        points = _stretched(profile, starts[run.start], end)
        drawn.append(_line(points, run.pipe, px, run.start, "run"))
    for rank, siphon in enumerate(plan.siphons):
        *_, route = siphon_routes(plan, siphon)
        profile = _unfolded(route, tail_top(plan, siphon, route) - route.drop)
        drawn.append(_tail_line(plan, placed, siphon, profile, rank, px))
    delivery, drops, header = _delivery(plan, frame, placed, px)
    return Scene(frame, placed, columns, tees, (*drawn, delivery), tuple(drops), header, drain_order(plan))


def _unfolded(route: Route, end: float) -> list[Point]:
    """Return a route that ends at elevation `end` unfolded: how far on it lies level, how high, m."""
    points, _, _ = course(route)
    lift = end - points[-1][2]
    found = [(0.0, points[0][2] + lift)]
    for (x0, y0, _), (x1, y1, z) in pairwise(points):
        found.append((found[-1][0] + hypot(x1 - x0, y1 - y0), z + lift))
    return found


def _stretched(profile: list[Point], start: float, end: float) -> tuple[Point, ...]:
    """Lay a profile between two places of the drawing (px); elevations stay as they are."""
    whole = profile[-1][0]
    if whole < 1e-6:  # straight down or up; the drawing has its two ends side by side
        last = profile[-1][1]
        points = [(start, z) for _, z in profile]
        return tuple(points if abs(end - start) < 0.5 else [*points, (end, last)])
    return tuple((start + (end - start) * along / whole, z) for along, z in profile)


def _line(points: tuple[Point, ...], pipe: Pipe, px: float, start: str, kind: str) -> Line:
    return Line(points, pipe.outside_diameter * px, pipe.bore * px, start, kind)


def _outlet(plan: Plan, placed: Placed, run: Run) -> float:
    """Where (px) a run leaves its bed: by its floor outlet, or through the right wall."""
    bed = plan.bed(run.start)
    if bed.outlet == "side":
        return placed.centre + placed.half(bed.outlet_invert + 0.5 * run.pipe.bore)
    length, width = bed.shape.across(0.0)
    at = bed.outlet_across if length >= width else bed.outlet_along
    along, across, _ = bed.shape.middle()
    middle = across if length >= width else along
    return placed.centre + (0.0 if at is None else (at - middle) * placed.across)


def _tail_line(plan: Plan, placed: dict[str, Placed], siphon: Siphon, profile, rank: int, px: float) -> Line:
    """Lay a tail from its host's floor to its end in the sump; those of several siphons end side by side."""
    host, sump = placed[siphon.host], placed[plan.sump.name]
    end = sump.left + (sump.right - sump.left) * (0.12 + 0.10 * rank)
    floor = host.vessel.floor
    while len(profile) > 1 and profile[0][1] > floor - 1e-9 and profile[1][0] < 1e-6:
        profile = profile[1:]  # the standpipe above it
    profile = [(0.0, floor), *profile]
    if profile[-1][0] < 1e-6:  # it hangs straight down into the sump under it: drawn beside it
        z = 0.5 * (floor + profile[-1][1])
        points = ((host.centre, floor), (host.centre, z), (end, z), (end, profile[-1][1]))
        return _line(points, siphon.tail.pipe, px, siphon.host, "tail")
    return _line(_stretched(profile, host.centre, end), siphon.tail.pipe, px, siphon.host, "tail")


def _delivery(plan: Plan, frame: Frame, placed: dict[str, Placed], px: float):
    sump = placed[plan.sump.name]
    x = sump.left + 0.80 * (sump.right - sump.left)
    header = extent(plan)[2]
    fed = [placed[b.name] for b in plan.beds if b.inflow_share > 0.0]
    pipe = plan.pump.delivery.pipe if plan.pump.delivery else None
    outside = max(pipe.outside_diameter * px, 3.0) if pipe else 3.5
    inside = max(pipe.bore * px, 1.4) if pipe else 2.0
    bottom = plan.sump.floor + max(plan.pump.intake, 6.0 / frame.up)
    first = min(p.left + 0.22 * (p.right - p.left) for p in fed)
    points = ((x, bottom), (x, header), (first, header))
    drops = [(p.left + 0.22 * (p.right - p.left), p.vessel.rim) for p in fed]
    return Line(points, outside, inside, plan.sump.name, "delivery"), drops, header
