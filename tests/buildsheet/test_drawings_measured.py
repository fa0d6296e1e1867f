"""Drawings measured: each part's place on the paper, turned back by the scale, against the geometry.

The paper is drawn in mm, so a point of it times the scale is a point of the thing as seen along the view's
direction, from one corner that is the same for all of a drawing. Views are written out here once more.
"""

import functools
import itertools
import math
import re
from dataclasses import replace

import pytest

from aquacalc.buildsheet.canvas import MARGIN, PHONE
from aquacalc.buildsheet.cut_list import cut_list
from aquacalc.buildsheet.drawing import assembly_drawings, view_drawings
from aquacalc.buildsheet.drawing_siphon import heights
from aquacalc.buildsheet.files import drawings
from aquacalc.buildsheet.heights import elevations
from aquacalc.buildsheet.scene import scene
from aquacalc.buildsheet.sheet import build_sheet
from aquacalc.buildsheet.stock import Workshop
from aquacalc.buildsheet.templates import labels, templates
from aquacalc.catalogue import data_dir
from aquacalc.geometry.routes import overflow_pipe
from aquacalc.geometry.space import space
from aquacalc.geometry.strainers import strainers
from aquacalc.plan import edit, plan_from_text
from aquacalc.plan.model import Breather, Overflow
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
    "assembly": [
        lambda x, y, z: (math.sqrt(0.75) * (x - y), z - 0.5 * (x + y)),
        lambda x, y, z: (math.sqrt(0.75) * (x + y), z - 0.5 * (x - y)),
    ],
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
    """Which of the points wanted are not on the drawing: none where all fit from one of its corners."""
    here = points(drawing)
    near = drawing.scale * NEAR
    cells = {
        (round(x / near) + a, round(y / near) + b) for x, y in here for a in (-1, 0, 1) for b in (-1, 0, 1)
    }

    def lacks(corner):
        dx, dy = corner[0] - wanted[0][0], corner[1] - wanted[0][1]
        for at in wanted:
            if (round((at[0] + dx) / near), round((at[1] + dy) / near)) not in cells:
                yield at

    for corner in dict.fromkeys(here):
        if not any(True for _ in lacks(corner)):
            return []
    return min((list(lacks(corner)) for corner in here[:20]), key=len)


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


def rows_of_six():
    """Twelve beds, in two rows of six over their drain lines, as a plan is written."""
    demo = (data_dir() / "plans" / "greenhouse.toml").read_text()
    head, rest = demo.split("[[bed]]", 1)
    bed = "[[bed]]" + rest.split("[[bed]]", 1)[0]
    made = [head]
    for row in "AB":
        made += [bed.replace("bed 1", f"{row}{k}") for k in range(1, 7)]
        made += [f'[[tee]]\nname = "tee {row}{k}"\nelevation = "{602 - 6 * k} mm"\n' for k in range(2, 7)]
        runs = [(f"{row}{k}", f"tee {row}{max(k, 2)}", "850 mm" if k == 1 else f"{88 + 6 * k} mm",
                 '"entrance, square", "bend 90, short", "tee, in line"' if k == 1
                 else '"entrance, square", "tee, branch"', "") for k in range(1, 7)]  # fmt: skip
        runs += [(f"tee {row}{k}", f"tee {row}{k + 1}", "750 mm", '"tee, in line"', "") for k in range(2, 6)]
        runs.append((f"tee {row}6", "chamber", "0.9 m", '"exit"', 'outfall = "0.550 m"'))
        made += [f'[[run]]\nfrom = "{start}"\nto = "{end}"\nseries = "ASTM D1785 schedule 40"\n'
                 f'size = "1-1/2 in"\nlength = "{long}"\nfittings = [{fittings}]\n{more}\n'
                 for start, end, long, fittings, more in runs]  # fmt: skip
    return "\n".join([*made, "[[chamber]]" + demo.split("[[chamber]]", 1)[1]])


def shapes():
    """Plans by their shape on the ground."""
    demo = (data_dir() / "plans" / "greenhouse.toml").read_text()
    low = demo.replace('length = "1.2 m"', 'length = "3.0 m"').replace('"1.44 m"', '"3.24 m"')
    return {
        **{name: plan_of(name) for name in (*NAMES, "one-bed", "minimal")},
        "long and low": plan_from_text(low.replace('"1.35 m"', '"3.15 m"')),
        "twelve in rows": plan_from_text(rows_of_six()),
        "star": plan_of("star"),
    }


def empty_bands(drawing):
    """Widest band (mm) between the margins with no ink, from side to side and from top to foot."""
    canvas = drawing.canvas
    boxes = [*canvas.texts]
    for d in re.findall(r'<path d="([^"]*)"', drawing.svg()):
        numbers = [float(n) for n in re.findall(r"-?\d+\.?\d*", d)]
        corners = list(zip(numbers[::2], numbers[1::2], strict=True))
        boxes += [
            (min(a, c), min(b, e), max(a, c), max(b, e)) for (a, b), (c, e) in itertools.pairwise(corners)
        ]
    widest = []
    for k, end in ((0, canvas.width - MARGIN), (1, canvas.height - MARGIN)):
        covered, most = MARGIN, 0.0
        for low, high in sorted([*((box[k], box[k + 2]) for box in boxes), (end, end)]):
            most, covered = max(most, low - covered), max(covered, high)
        widest.append(most)
    return widest


def test_drawings_for_a_phone_stay_on_their_sheet():
    """No line leads to a height that a detail does not show (it ran through the words below)."""
    for name, plan in shapes().items():
        for drawing in view_drawings(scene(plan, cut_list(plan, Workshop())), PHONE):
            written = re.search(r'y="([\d.]+)"[^>]*>Above ', drawing.svg())
            end = float(written[1]) if written else drawing.canvas.height
            lowest = max(
                -y * 1e3 / drawing.scale for x, y in points(drawing) if x * 1e3 / drawing.scale < 60.0
            )
            assert lowest < end, (name, drawing.name, lowest, end)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_drawings_fill_their_sheet(paper):
    """What is drawn takes three fifths of the paper one way; no band of 30 mm is empty either way."""
    for name, plan in shapes().items():
        placed = scene(plan, cut_list(plan, Workshop()))
        for drawing in (*view_drawings(placed, paper), *assembly_drawings(placed, paper)):
            canvas, inked = drawing.canvas, points(drawing)
            xs, ys = zip(*inked, strict=True)
            spans = [(max(side) - min(side)) * 1e3 / drawing.scale for side in (xs, ys)]
            share = max(spans[0] / canvas.width, spans[1] / canvas.height)
            assert share > 0.6, (name, drawing.name, share)
            across, up = empty_bands(drawing)
            assert across < 30.0, (name, drawing.name, across)
            assert up < 30.0, (name, drawing.name, up)


@pytest.mark.parametrize("name", ["greenhouse", "us-units", "seed 8"])
def test_no_words_lie_on_others(name):
    """But for names in a crowd where there is no free place at all, of which there are none here."""
    for drawing in drawn(name):
        for (i, a), (j, b) in itertools.combinations(enumerate(drawing.canvas.texts), 2):
            wide, high = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
            assert min(wide, high) < 0.5, (drawing.name, i, j, wide, high)


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


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_strip_taller_than_the_sheet_goes_on_when_it_is_moved_up(paper):
    plan = edit.put(plan_of("greenhouse"), {f"bed.bed {n}.strainer.count": 120 for n in (1, 2, 3)})
    found = templates(plan, (), paper)
    for drawing in found:
        lowest = -min(y for _, y in points(drawing)) * 1e3
        assert lowest <= drawing.canvas.height - 2.0 * MARGIN
    strip = found[0].svg()
    slots = re.findall(r'd="M[\d.]+ ([\d.]+) L[\d.]+ [\d.]+ L[\d.]+ [\d.]+ L[^"]*Z"', strip)
    rows = sorted({float(y) for y in slots})
    moved, left = re.search(
        r"move it up by ([\d.]+) mm\s*for the other (\d+) rows", re.sub(r"<[^>]+>", " ", strip)
    ).groups()
    assert float(moved) == pytest.approx(len(rows) * (rows[1] - rows[0]), abs=0.5)
    assert len(rows) + int(left) == strainers(plan)[0].rings


def test_a_label_for_every_piece():
    sheet = sheet_of("greenhouse")
    text = "".join(d.svg() for d in labels(sheet.plan, sheet.cuts, "A4"))
    for cut, other in itertools.pairwise(sheet.cuts.cuts):
        assert f">{cut.mark}</text>" in text
        assert f">{round(other.length * 1e3)} mm</text>" in text


def lines_of(drawing):
    """Strokes of a drawing as lists of corners, m of the thing from the middle of the sheet, y up."""
    found = []
    for d in re.findall(r'<path d="([^"]*)"', drawing.svg()):
        numbers = [float(n) for n in re.findall(r"-?\d+\.?\d*", d)]
        found.append([(x * drawing.scale / 1e3, -y * drawing.scale / 1e3)
                      for x, y in zip(numbers[::2], numbers[1::2], strict=True)])  # fmt: skip
    return found


def test_breather_notch_overflow_and_guard_stand_where_the_plan_has_them():
    """Notch and breather on their own side of the bell, the overflow beside it, the guard round it."""
    plan = plan_of("greenhouse")
    made = replace(plan.siphons[0], breather=Breather(0.006, 0.5, 0.06), overflow=Overflow(0.026, 0.45),
                   bell=replace(plan.siphons[0].bell, notch_height=0.045), media_guard=0.16)  # fmt: skip
    plan = replace(plan, siphons=(made,))
    siphon, sheet = plan.siphons[0], build_sheet(plan)
    drawing = next(d for d in drawings(sheet, "A4") if d.name == "siphon")
    bell, pipe = siphon.bell, overflow_pipe(siphon)
    half = bell.outside_diameter / 2
    hole = next(h for h in sheet.holes if h.what == "overflow of siphon")
    middle = hole.across - plan.vessel("chamber").shape.diameter / 2
    assert middle - pipe.outside_diameter / 2 > half  # clear of the bell
    wanted = [(0.0, 0.0), (-half, bell.rim_height), (-half, 0.045)]  # the notch
    wanted += [(middle + side * pipe.outside_diameter / 2, 0.45) for side in (-1, 1)]
    wanted += [(side * 0.08, 0.0) for side in (-1, 1)]
    assert missing(drawing, wanted) == []
    (way,) = (s for s in lines_of(drawing) if len(s) == 4 and s[0][0] == s[1][0] and s[1][1] == s[2][1])
    (tube, top), (_, over), (out, _), (_, mouth) = way
    assert 0.0 < over - top < 0.03
    assert top - mouth == pytest.approx(bell.top_height - 0.06, abs=2e-5)
    assert bell.outside_diameter / 2 - 0.3 * bell.bore < out - tube  # down outside the bell
    text = drawing.svg()
    for words in ("breather, bore 6", "overflow ", "media guard, inside 160 mm", "top of notch"):
        assert words in text, words
    assert {z for z, words in heights(siphon) if "mouth" in words} == {0.45, 0.06}
    around = next(d for d in templates(plan, (), "A4") if "bell of siphon" in d.svg())
    tops = [max(y for _, y in s[:4]) - min(y for _, y in s[:4]) for s in lines_of(around) if len(s) == 4]
    assert any(tall == pytest.approx(0.045 - bell.opening_height, abs=2e-5) for tall in tops), tops
