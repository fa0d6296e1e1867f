"""Drawings measured: each part's place on the paper, turned back by the scale, against the plan.

The paper is 297 or 279.4 mm wide and the figure has 100 px to the inch, so a mm of paper is 100/25.4 px and
`scale` times as many mm of the thing. Heights are the axes' own, in metres.
"""

import functools
import itertools
import math

import numpy as np
import pytest
from matplotlib.patches import Ellipse, Rectangle

from aquacalc.buildsheet.drawing import elevations
from aquacalc.buildsheet.drawing_siphon import drawings, heights
from aquacalc.buildsheet.drilling import drilling
from aquacalc.buildsheet.stock import Workshop
from tests.buildsheet.test_second_way import plan_of
from tests.independent import area_of

pytestmark = pytest.mark.identity
NAMES = [
    "greenhouse",
    "half-drums",
    "inside-bed",
    "side-outlets",
    "us-units",
    "two-groups",
    "seed 3",
    "seed 8",
]


@functools.cache
def drawn(name):
    plan = plan_of(name)
    return {d.name: d for d in drawings(plan, drilling(plan, Workshop()), "A4")}


def metres(drawing):
    """How many metres of the thing a px of the figure is."""
    return 25.4 / 100.0 * drawing.scale / 1e3


def lines(axes, per, middle):
    """Every straight stroke as (x, z) pairs in metres from the middle, rounded to 0.01 mm."""
    found = []
    for line in axes.lines:
        xs, zs = np.asarray(line.get_xdata(), float), np.asarray(line.get_ydata(), float)
        points = [(round((x - middle) * per, 5), round(z, 5)) for x, z in zip(xs, zs, strict=True)]
        found += [tuple(sorted((a, b), key=lambda p: (p[1], p[0]))) for a, b in itertools.pairwise(points)]
    return found


def stroke(found, low, high):
    """Whether a stroke from `low` to `high` (or one that holds both) is there, within 0.05 mm."""
    return any(np.allclose((a, b), (low, high), atol=5e-5) for a, b in found)


@pytest.mark.parametrize("name", NAMES)
def test_siphon(name):
    plan = plan_of(name)
    for siphon in plan.siphons:
        alone = len(plan.siphons) == 1
        drawing = drawn(name)["siphon" if alone else f"siphon-{plan.siphons.index(siphon) + 1}"]
        axes, per = drawing.picture.figure.axes[1], metres(drawing)
        middle = 0.38 * (axes.get_window_extent().width * 100.0 / drawing.picture.figure.dpi)
        found = lines(axes, per, middle)
        stand, bell, tail = siphon.standpipe, siphon.bell, siphon.tail
        under = stand.height - stand.cone_length
        parts = []
        for half in (stand.pipe.outside_diameter / 2, stand.pipe.bore / 2):
            parts.append(((half, -0.035), (half, under)))
        for half in (tail.pipe.outside_diameter / 2, tail.pipe.bore / 2):
            parts.append(((half, -0.07), (half, -0.035)))
        if stand.cone_length:  # narrow at its foot, as wide as the lip on top
            parts.append(((stand.pipe.bore / 2, under), (stand.lip_diameter / 2, stand.height)))
        wall = (bell.outside_diameter - bell.bore) / 2
        for half, top in (
            (bell.outside_diameter / 2, bell.top_height + wall),
            (bell.bore / 2, bell.top_height),
        ):
            parts += [((half, bell.rim_height), (half, top)), ((half, 0.0), (half, bell.rim_height))]
        if siphon.media_guard:
            half = siphon.media_guard / 2
            parts.append(((half, 0.0), (half, plan.vessel(siphon.host).shape.depth)))
        host = plan.vessel(siphon.host).shape
        wide = across(host) if host.kind in ("round", "rectangular") else 0.0
        if wide and wide / 2 / per < 0.3 * middle / 0.38:  # there is room for its walls
            top = min(host.depth, round(axes.get_ylim()[1], 5))
            parts.append(((wide / 2, 0.0), (wide / 2, top)))
        for low, high in parts:
            assert stroke(found, low, high), (siphon.name, low, high)
            assert stroke(found, (-low[0], low[1]), (-high[0], high[1])), (siphon.name, low, high)
        for half, top in (
            (bell.outside_diameter / 2, bell.top_height + wall),
            (bell.bore / 2, bell.top_height),
        ):
            assert stroke(found, (-half, top), (half, top)), "top of the bell"
        assert axes.get_ylim()[1] > bell.top_height + wall
        assert axes.get_ylim()[0] < -0.07
        texts = {text.get_text() for text in axes.texts}
        assert any(f"{bell.openings} openings" in text for text in texts)


@pytest.mark.parametrize("name", NAMES)
def test_heights_of_a_siphon_are_its_own(name):
    for siphon in plan_of(name).siphons:
        stand, bell = siphon.standpipe, siphon.bell
        found = {words: z for z, words in heights(siphon)}
        expected = {
            "under top of bell": bell.top_height,
            "lip, flood level": stand.height,
            "bell rim: air enters": bell.rim_height,
            f"floor of {siphon.host}": 0.0,
        }
        if stand.cone_length:
            expected["pipe stops in reducer"] = stand.height - stand.cone_length
        assert found == pytest.approx(expected)
        assert [z for z, _ in heights(siphon)] == sorted(found.values(), reverse=True)


def dimensions(axes):
    """Dimension lines as (start, end) in the axes' own px and m."""
    return [(t.xyann, t.xy) for t in axes.texts if getattr(t, "arrow_patch", None) is not None]


@pytest.mark.parametrize("name", NAMES)
def test_diameters_of_a_siphon(name):
    plan = plan_of(name)
    for siphon in plan.siphons:
        alone = len(plan.siphons) == 1
        drawing = drawn(name)["siphon" if alone else f"siphon-{plan.siphons.index(siphon) + 1}"]
        axes, per = drawing.picture.figure.axes[1], metres(drawing)
        found = sorted((end[0] - start[0]) * per for start, end in dimensions(axes))
        stand, bell = siphon.standpipe, siphon.bell
        expected = [
            stand.lip_diameter, bell.bore, bell.outside_diameter, stand.pipe.bore,
            stand.pipe.outside_diameter, siphon.tail.pipe.outside_diameter,
        ]  # fmt: skip
        if siphon.media_guard:
            expected.append(siphon.media_guard)
        assert found == pytest.approx(sorted(expected), abs=1e-6)
        # The lip's diameter is measured at the lip, the tail's below the floor.
        at_lip = [(end[0] - start[0]) * per for start, end in dimensions(axes)
                  if start[1] == pytest.approx(stand.height)]  # fmt: skip
        assert at_lip == [pytest.approx(stand.lip_diameter)]
        below = [(end[0] - start[0]) * per for start, end in dimensions(axes) if start[1] < 0.0]
        assert below == [pytest.approx(siphon.tail.pipe.outside_diameter)]


def across(shape):
    """Widest inside size seen from the end: the shorter side of a rectangle."""
    if shape.kind == "rectangular":
        return min(shape.length, shape.width)
    if shape.kind == "tapered":
        pair = (shape.width, shape.top_width)
        return max(pair if shape.width <= shape.length else (shape.length, shape.top_length))
    if shape.kind == "half drum":
        h = min(shape.depth, shape.diameter / 2)
        return 2 * math.sqrt(h * (shape.diameter - h))
    if shape.kind == "round":
        return shape.diameter
    return math.sqrt(max(area_of(shape, z) for z in shape.depths))


def along(shape):
    """Widest inside size the other way."""
    sides = {
        "rectangular": ("length", "width"),
        "tapered": ("length", "width", "top_length", "top_width"),
        "half drum": ("length",),
    }.get(shape.kind, ())
    return max((getattr(shape, side) for side in sides), default=across(shape))


@pytest.mark.parametrize("name", NAMES)
def test_section(name):
    plan, drawing = plan_of(name), drawn(name)["section"]
    axes, per = drawing.picture.figure.axes[1], metres(drawing)
    walls = [np.array(s) for s in axes.collections[0].get_segments()]
    vessels = {v.name: v for v in (*plan.beds, *plan.chambers, plan.sump)}
    middles = {}
    for vessel in vessels.values():
        rim = vessel.floor + vessel.shape.depth
        mine = [
            w for w in walls
            if np.allclose((w[:, 1].min(), w[:, 1].max()), (vessel.floor, rim), atol=1e-6)
            and np.ptp(w[:, 0]) * per == pytest.approx(across(vessel.shape), abs=2e-3)
        ]  # fmt: skip
        assert mine, vessel.name
        middles[vessel.name] = [0.5 * (w[:, 0].min() + w[:, 0].max()) for w in mine]
    for siphon in plan.siphons:
        floor, stand, bell = vessels[siphon.host].floor, siphon.standpipe, siphon.bell
        half, wide = bell.outside_diameter / 2, max(stand.lip_diameter, stand.pipe.outside_diameter) / 2
        out, cone, lip = stand.pipe.outside_diameter / 2, stand.height - stand.cone_length, stand.height
        parts = [((half, bell.rim_height), (half, bell.top_height)), ((out, 0.0), (out, cone))]
        if stand.cone_length:
            parts.append(((out, cone), (wide, lip)))
        sides = [
            ((side * x0, floor + z0), (side * x1, floor + z1))
            for side in (-1, 1) for (x0, z0), (x1, z1) in parts
        ]  # fmt: skip
        # Vessels alike cannot be told apart by their walls: the siphon stands in one of them.
        missing = [
            [part for part in sides if not stroke(lines(axes, per, middle), *part)]
            for middle in middles[siphon.host]
        ]
        assert [] in missing, missing
        found = lines(axes, per, 0.0)
        assert any(a[1] == b[1] == pytest.approx(floor + lip, abs=2e-5) for a, b in found), "flood level"
    # Widths stand in one strip above everything, each over its own vessel.
    strip = {round(start[1], 6) for start, _ in dimensions(axes)}
    assert len(strip) == 1
    assert strip.pop() > max(vessel.floor + vessel.shape.depth for vessel in vessels.values())
    wide = sorted((end[0] - start[0]) * per for start, end in dimensions(axes))
    assert wide == pytest.approx(sorted(across(v.shape) for v in vessels.values()), abs=2e-3)
    level = plan.sump.floor + plan.sump.water_level
    assert any(a[1] == b[1] == pytest.approx(level, abs=2e-5) for a, b in lines(axes, per, 0.0)), "water"


@pytest.mark.parametrize("name", NAMES)
def test_ladder_of_the_section(name):
    """Every elevation of the plan stands on the ladder, from the plan alone."""
    plan = plan_of(name)
    found = [(z, words) for z, words in elevations(plan)]
    expected = set()
    for vessel in (*plan.beds, *plan.chambers, plan.sump):
        expected |= {vessel.floor, vessel.floor + vessel.shape.depth}
    for bed in plan.beds:
        expected.add(bed.floor + bed.media.depth)
        if bed.outlet == "side":
            expected.add(bed.floor + bed.outlet_height)
    expected |= {tee.elevation for tee in plan.tees}
    expected |= {run.outfall for run in plan.runs}
    for siphon in plan.siphons:
        floor = plan.vessel(siphon.host).floor
        heights_ = (siphon.standpipe.height, siphon.bell.rim_height, siphon.bell.top_height)
        expected |= {floor + h for h in heights_} | {siphon.tail.outlet}
    expected.add(plan.sump.floor + plan.sump.water_level)
    if plan.pump.delivery:
        expected.add(plan.pump.delivery.outlet)
    assert {round(z, 4) for z, _ in found} == {round(z, 4) for z in expected}
    rims = [z for z, words in found if words == f"rim, {plan.sump.name}"]
    assert all(z == pytest.approx(plan.sump.floor + plan.sump.shape.depth) for z in rims)


@pytest.mark.parametrize("name", NAMES)
def test_plan_view(name):
    plan, drawing = plan_of(name), drawn(name)["plan"]
    axes, per = drawing.picture.figure.axes[1], metres(drawing)
    boxes = []
    for patch in axes.patches:
        if isinstance(patch, Rectangle):
            boxes.append((patch.get_width() * per, patch.get_height()))
        elif isinstance(patch, Ellipse):
            boxes.append((patch.width * per, patch.height))
    for vessel in (*plan.beds, *plan.chambers, plan.sump):
        wide, long = across(vessel.shape), along(vessel.shape)
        assert any(np.allclose(box, (wide, long), atol=2e-3) for box in boxes), vessel.name
    for hole in drilling(plan, Workshop()):
        if hole.wall == "floor":
            size = max(hole.diameters, default=hole.pipe.outside_diameter)
            assert any(np.allclose(box, (size, size), atol=1e-6) for box in boxes), hole.vessel


@pytest.mark.parametrize("name", NAMES)
def test_dimensions_of_the_plan_view(name):
    """Both inside sizes of a vessel (one of a round one), and a floor's hole from two sides."""
    plan, drawing = plan_of(name), drawn(name)["plan"]
    axes, per = drawing.picture.figure.axes[1], metres(drawing)
    found = sorted(
        round(abs(end[0] - start[0]) * per + abs(end[1] - start[1]), 5) for start, end in dimensions(axes)
    )
    expected = []
    bored = {hole.vessel for hole in drilling(plan, Workshop()) if hole.wall == "floor"}
    for vessel in (*plan.beds, *plan.chambers, plan.sump):
        shape, wide, long = vessel.shape, across(vessel.shape), along(vessel.shape)
        sizes = [wide] if shape.kind == "round" else [wide, long]
        expected += sizes
        if vessel.name in bored and shape.kind != "round":
            expected += [wide / 2, long / 2]
    assert found == pytest.approx(sorted(expected), abs=2e-3)
