"""Drawings measured: each part's place on the paper, turned back by the scale, against the geometry.

The paper is drawn in mm, so a point of it times the scale is a point of the thing as seen along the view's
direction, from one corner that is the same for all of a drawing. Views are written out here once more.
"""

import functools
import itertools
import math
import re

import pytest

from aquacalc.buildsheet.canvas import MARGIN
from aquacalc.buildsheet.drawing_siphon import heights
from aquacalc.buildsheet.files import drawings
from aquacalc.buildsheet.heights import elevations
from aquacalc.buildsheet.sheet import build_sheet
from aquacalc.buildsheet.templates import labels, templates
from aquacalc.geometry.space import space
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
#: What of (x, y, z) goes right and up the paper; a section and a plan view may be turned along y.
VIEWS = {
    "section": [lambda x, y, z: (x, z), lambda x, y, z: (y, z)],
    "plan view": [lambda x, y, z: (x, y), lambda x, y, z: (y, -x)],
    "assembly": [lambda x, y, z: (math.sqrt(0.75) * (x - y), z - 0.5 * (x + y))],
}
#: Points are written to a thousandth of a mm of paper.
NEAR = 2e-6


@functools.cache
def sheet_of(name):
    return build_sheet(plan_of(name))


@functools.cache
def drawn(name):
    return drawings(sheet_of(name), "A4")


def points(drawing):
    """Every corner of every stroke, in m of the thing, y up."""
    found = []
    for d in re.findall(r'<path d="([^"]*)"', drawing.svg()):
        numbers = [float(n) for n in re.findall(r"-?\d+\.?\d*", d)]
        found += [(x * drawing.scale / 1e3, -y * drawing.scale / 1e3)
                  for x, y in zip(numbers[::2], numbers[1::2], strict=True)]  # fmt: skip
    return found


def missing(drawing, wanted):
    """How many of the points wanted are nowhere on the drawing, from the corner at which most of them are."""
    here = points(drawing)
    near = drawing.scale * NEAR
    cells = {(round(x / near), round(y / near)) for x, y in here}

    def lacks(dx, dy):
        at = [(round((x + dx) / near), round((y + dy) / near)) for x, y in wanted]
        return [w for w, (i, j) in zip(wanted, at, strict=True)
                if not any((i + a, j + b) in cells for a in (-1, 0, 1) for b in (-1, 0, 1))]  # fmt: skip

    corners = [(x - wanted[0][0], y - wanted[0][1]) for x, y in dict.fromkeys(here)]
    return min((lacks(*corner) for corner in corners), key=len)


@pytest.mark.parametrize("name", NAMES)
def test_every_joint_and_vessel_is_where_the_geometry_has_it(name):
    plan = plan_of(name)
    placed = space(plan)
    seen = set()
    for drawing in drawn(name):
        for view, ways in VIEWS.items():
            if view.replace(" ", "-") != drawing.name:
                continue  # a sheet with two views is measured by the same code in other plans
            seen.add(view)
            wanted = [p for line in placed.lines for p in line.points]
            if view == "section":
                for s in placed.vessels.values():
                    ring = [(x, y) for x, y in s.vessel.shape.outline(s.vessel.shape.depth)]
                    turn = math.radians(s.turn)
                    for a, b in ring if len(ring) <= 8 else []:
                        x = s.x + a * math.cos(turn) - b * math.sin(turn)
                        y = s.y + a * math.sin(turn) + b * math.cos(turn)
                        wanted.append((x, y, s.vessel.rim))
                # Of a vessel's corners only the outermost are on its sides.
                wanted = [p for p in wanted if any(p in line.points for line in placed.lines)]
            lacks = [missing(drawing, [way(*p) for p in wanted]) for way in ways]
            assert min(lacks, key=len) == [], (name, view)
    assert "assembly" in seen


@pytest.mark.parametrize("name", NAMES)
def test_every_piece_has_its_mark_on_a_drawing(name):
    """On the whole put together each piece is marked, but for a few seen end on, which the section has."""
    said = {d.name: set(re.findall(r">([A-Z]+\d+)</text>", d.svg())) for d in drawn(name)}
    marks = {cut.mark for cut in sheet_of(name).cuts.cuts}
    side_strainers = {c.mark for c in sheet_of(name).cuts.cuts
                      if c.way.startswith("strainer") and not c.first.startswith("foot")}  # fmt: skip
    everywhere = set().union(*said.values())
    assert marks - everywhere <= side_strainers, marks - everywhere


@pytest.mark.parametrize("name", NAMES)
def test_letters_are_three_mm_high(name):
    """Capitals of DejaVu Sans are 0.729 of the size of its letters (from memory)."""
    sheet = sheet_of(name)
    for drawing in (
        *drawn(name),
        *labels(sheet.plan, sheet.cuts, "A4"),
        *templates(sheet.plan, sheet.holes, "A4"),
    ):
        sizes = {float(s) for s in re.findall(r'font-size="([\d.]+)"', drawing.svg())}
        assert min(sizes) * 0.729 >= 3.0, drawing.name


@pytest.mark.parametrize("name", NAMES)
def test_views_fill_their_sheet(name):
    """The next larger scale would not fit: what is drawn takes over two thirds of the room one way."""
    for drawing in drawn(name):
        xs, ys = zip(*points(drawing), strict=True)
        per = drawing.scale / 1e3
        wide, high = (max(xs) - min(xs)) / per, (max(ys) - min(ys)) / per
        canvas = drawing.canvas
        assert wide > 0.6 * canvas.width or high > 0.6 * canvas.height, drawing.name
        if "section" in drawing.name:  # with its table, down to the foot: no band of 30 mm is left empty
            used = sorted((top, foot) for _, top, _, foot in canvas.texts)
            used += [(0.0, MARGIN), (canvas.height - MARGIN, canvas.height)]
            used.append((min(ys), max(ys)))
            used.sort()
            covered, widest = 0.0, 0.0
            for top, foot in used:
                widest, covered = max(widest, top - covered), max(covered, foot)
            assert widest < 30.0, (drawing.name, widest)


@pytest.mark.parametrize("name", NAMES)
def test_siphon(name):
    plan = plan_of(name)
    for siphon in plan.siphons:
        alone = len(plan.siphons) == 1
        wanted_name = "siphon" if alone else f"siphon-{plan.siphons.index(siphon) + 1}"
        drawing = next(d for d in drawn(name) if d.name == wanted_name)
        stand, bell, tail = siphon.standpipe, siphon.bell, siphon.tail
        under = stand.height - stand.cone_length
        wall = (bell.outside_diameter - bell.bore) / 2
        parts = [(0.0, 0.0)]
        for half in (stand.pipe.outside_diameter / 2, stand.pipe.bore / 2):
            parts += [(half, -0.035), (half, under)]
        for half in (tail.pipe.outside_diameter / 2, tail.pipe.bore / 2):
            parts += [(half, -0.07), (half, -0.035)]
        if stand.cone_length:  # narrow at its foot, as wide as the lip on top
            parts += [(stand.pipe.bore / 2, under), (stand.lip_diameter / 2, stand.height)]
        for half, top in (
            (bell.outside_diameter / 2, bell.top_height + wall),
            (bell.bore / 2, bell.top_height),
        ):
            parts += [(half, bell.rim_height), (half, top), (half, 0.0), (0.0, top)]
        parts += [(-x, z) for x, z in parts]
        assert missing(drawing, parts) == []
        assert f"{bell.openings} openings" in drawing.svg()


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
        if siphon.overflow:
            expected["mouth of overflow"] = siphon.overflow.height
        assert found == pytest.approx(expected)
        assert [z for z, _ in heights(siphon)] == sorted(found.values(), reverse=True)


def across(shape):
    """Widest inside sizes, the shorter first."""
    if shape.kind == "rectangular":
        return sorted((shape.length, shape.width))
    if shape.kind in ("tapered", "oval"):
        return sorted((max(shape.length, shape.top_length), max(shape.width, shape.top_width)))
    if shape.kind == "half drum":
        h = min(shape.depth, shape.diameter / 2)
        return sorted((2 * math.sqrt(h * (shape.diameter - h)), shape.length))
    if shape.kind == "round":
        return [shape.diameter] * 2
    return [math.sqrt(max(area_of(shape, z) for z in shape.depths))] * 2


@pytest.mark.parametrize("name", NAMES)
def test_inside_sizes_are_on_the_plan_view(name):
    plan = plan_of(name)
    drawing = next(d for d in drawn(name) if "plan-view" in d.name)
    alt = drawing.alt.partition("Inside sizes:")[2] if "section" not in drawing.name else drawing.alt
    for vessel in (*plan.beds, *plan.chambers, plan.sump):
        got = re.search(rf"\b{re.escape(vessel.name)} ([\d.]+) (mm|m|in|ft) by ([\d.]+) (mm|m|in|ft)", alt)
        assert got, (vessel.name, alt)
        per = {"mm": 1e-3, "m": 1.0, "in": 0.0254, "ft": 0.3048}
        sizes = sorted((float(got[1]) * per[got[2]], float(got[3]) * per[got[4]]))
        assert sizes == pytest.approx(across(vessel.shape), abs=6e-3), vessel.name


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
    assert rims == pytest.approx([plan.sump.floor + plan.sump.shape.depth] * len(rims))


def test_templates_are_at_full_size():
    """The holes of the schedule and the rulers, measured on the sheet in mm."""
    sheet = sheet_of("greenhouse")
    found = templates(sheet.plan, sheet.holes, "A4")
    text = "".join(d.svg() for d in found)
    radii = {float(r) for r in re.findall(r'<circle[^>]* r="([\d.]+)"', text)}
    assert {d * 500 for h in sheet.holes for d in h.diameters} <= {round(r, 2) for r in radii}
    for drawing in found:
        xs = [float(x) for x in re.findall(r'<path d="M10.000 28.000 L([\d.]+) 28.000', drawing.svg())]
        assert xs == [110.0]
    slots = re.findall(r'd="M([\d.]+) ([\d.]+) L([\d.]+) ([\d.]+) L([\d.]+) ([\d.]+) L[^"]*Z"', text)
    sizes = {(round(float(c) - float(a), 2), round(float(f) - float(b), 2)) for a, b, c, _, _, f in slots}
    strainer = sheet.plan.beds[0].strainer
    assert (strainer.length * 1e3, strainer.width * 1e3) in sizes
    bell = sheet.plan.siphons[0].bell
    assert (bell.opening_width * 1e3, bell.opening_height * 1e3) in sizes


def test_a_label_for_every_piece():
    sheet = sheet_of("greenhouse")
    text = "".join(d.svg() for d in labels(sheet.plan, sheet.cuts, "A4"))
    for cut, other in itertools.pairwise(sheet.cuts.cuts):
        assert f">{cut.mark}</text>" in text
        assert f">{round(other.length * 1e3)} mm</text>" in text
