"""What a view shows: directions, places on paper, parts of details, marks along pieces."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace
from types import SimpleNamespace

import pytest

from aquacalc.buildsheet import drawing, legend, nesting
from aquacalc.buildsheet import scene as scenes
from aquacalc.buildsheet.canvas import CHARACTER, LETTER, MARGIN, Canvas
from aquacalc.buildsheet.cut_list import cut_list
from aquacalc.buildsheet.legend import Legend
from aquacalc.buildsheet.scene import CORNERS, FRONT, SIDE, Frame, between, details, extent, scene, slices
from aquacalc.buildsheet.stock import Stock, Workshop
from aquacalc.plan import edit
from tests.buildsheet.test_drawings_measured import VIEWS
from tests.buildsheet.test_second_way import plan_of

pytestmark = pytest.mark.identity
POINTS = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (2.0, -3.0, 0.5)]


def of(name, workshop=None):
    plan = plan_of(name)
    return scene(plan, cut_list(plan, workshop or Workshop()))


@pytest.mark.parametrize(
    ("view", "name", "k"),
    [(scenes.FRONT, "section", 0), (scenes.SIDE, "section", 1), (scenes.ABOVE, "plan view", 0),
     (scenes.ABOVE_SIDE, "plan view", 1), (CORNERS[0], "assembly", 0), (CORNERS[1], "assembly", 1)],
)  # fmt: skip
def test_what_goes_right_and_up_the_paper(view, name, k):
    """As `test_drawings_measured` has them once more; from a corner all three lengths are to one scale."""
    assert view.name == name
    for point in POINTS:
        assert view.flat(point) == pytest.approx(VIEWS[name][k](*point))
    assert (view.side, view.above) == (name == "section", name == "plan view")
    if name == "assembly":
        assert [math.hypot(*view.flat(p)) for p in POINTS[:3]] == pytest.approx([1.0] * 3)


def test_a_place_on_the_paper_goes_right_and_up_by_the_scale():
    frame = Frame(FRONT, 50.0, 30.0, 180.0, (-1.0, 0.25))
    assert frame((-1.0, 9.0, 0.25)) == pytest.approx((30.0, 180.0))
    assert frame((0.0, 9.0, 1.25)) == pytest.approx((80.0, 130.0))


def test_a_point_between_two():
    assert between((0.0, 1.0, 2.0), (4.0, 1.0, 0.0), 0.25) == pytest.approx((1.0, 1.0, 1.5))


@pytest.mark.parametrize("name", ["greenhouse", "half-drums", "two-groups"])
@pytest.mark.parametrize("view", [FRONT, SIDE, CORNERS[0]], ids=lambda v: f"{v.name} {v.right[0]:.1f}")
def test_a_view_is_as_large_as_all_that_it_shows(name, view):
    """Every point by itself: sides of vessels by their own formula, lines, and what stands."""
    placed = of(name).space
    seen = []
    for s in placed.vessels.values():
        v, turn = s.vessel, math.radians(s.turn)
        for k in range(13):
            z = v.shape.depth * k / 12
            for a, b in v.shape.outline(z):
                x = s.x + a * math.cos(turn) - b * math.sin(turn)
                y = s.y + a * math.sin(turn) + b * math.cos(turn)
                seen.append(view.flat((x, y, v.floor + z)))
        assert slices(s)[::6] == pytest.approx([v.floor, v.floor + v.shape.depth / 2, v.rim])
    seen += [view.flat(p) for line in placed.lines for p in line.points]
    seen += [view.flat((u.x, u.y, z)) for u in placed.uprights for z in (u.low, u.high)]
    xs, ys = zip(*seen, strict=True)
    assert extent(view, placed) == pytest.approx((min(xs), min(ys), max(xs), max(ys)))


@pytest.mark.parametrize("name", ["greenhouse", "half-drums", "two-groups", "seed 3", "star"])
@pytest.mark.parametrize("view", [FRONT, CORNERS[0]], ids=["section", "assembly"])
def test_details_show_every_vessel_once_and_no_more_than_their_width(name, view):
    """Of pipes each shows what lies in its width, and nothing of a mark whose vessel is elsewhere."""
    whole = of(name)
    parts = list(details(whole, view))
    names = [name for part in parts for name in part.space.vessels]
    assert sorted(names) == sorted(whole.space.vessels)
    assert [part.listed for part in parts] == [True] + [False] * (len(parts) - 1)
    ends = []
    for part in parts:
        xs = [[view.flat(p)[0] for z in slices(s) for p in scenes.outline(s, z)]
              for s in part.space.vessels.values()]  # fmt: skip
        low, high = min(map(min, xs)) - 0.06, max(map(max, xs)) + 0.06
        ends.append((low, high))
        widest = max(max(x) - min(x) for x in xs)
        assert view is FRONT or high - low <= max(1.5, widest) + 0.12 + 1e-9
        for line in part.space.lines:
            assert len(line.points) == 2
            for p in line.points:
                assert low - 1e-9 <= view.flat(p)[0] <= high + 1e-9
        for _mark, a, b, host in part.marks:
            assert host in ("", *part.space.vessels)
            assert low - 1e-9 <= min(view.flat(a)[0], view.flat(b)[0])
            assert max(view.flat(a)[0], view.flat(b)[0]) <= high + 1e-9
        assert all(low <= view.flat(at)[0] <= high for at in part.spots.values()) is True
        assert {u.host for u in part.space.uprights} <= set(part.space.vessels)
        hosts = [u for u in whole.space.uprights if u.host in part.space.vessels]
        assert len(part.space.uprights) == len(hosts)
        holes = [h for h in whole.space.holes if h.hole.vessel in part.space.vessels]
        assert len(part.space.holes) == len(holes)
    assert ends == sorted(ends)
    if view is FRONT:  # none is divided between two details
        for (_, a), (b, _) in itertools.pairwise(ends):
            assert b >= a - 0.12 - 1e-9


@pytest.mark.parametrize(("x0", "x1", "part"), [
    (-1.0, 3.0, (0.0, 2.0)), (3.0, -1.0, (2.0, 0.0)), (0.5, 1.5, (0.5, 1.5)), (-1.0, 1.0, (0.0, 1.0)),
    (2.5, 4.0, None), (-3.0, -0.5, None), (1.97, 4.0, None), (1.0, 1.0, (1.0, 1.0)),
    (-0.05, 1.95, (0.0, 1.95)),
])  # fmt: skip
def test_a_pipe_is_cut_where_a_detail_ends(x0, x1, part):
    """From 0 to 2 m; a stump shorter than 150 mm and than two fifths of its piece is left out."""
    whole = of("greenhouse")
    line = replace(whole.space.lines[0], points=((x0, 0.0, 0.1), (x1, 4.0, 0.9)))
    made = replace(whole, space=replace(whole.space, lines=(line,)), marks=(("X1", *line.points, ""),))
    found = scenes._part_of(made, FRONT, 0.0, 2.0, list(whole.space.vessels), True)
    if part is None:
        assert (found.space.lines, found.marks) == ((), ())
        return
    ((a, b),) = (line.points for line in found.space.lines)
    assert (a[0], b[0]) == pytest.approx(part)
    for p in (a, b):
        t = (p[0] - x0) / (x1 - x0) if x1 != x0 else (0.0 if p == a else 1.0)
        assert p == pytest.approx((p[0], 4.0 * t, 0.1 + 0.8 * t))
    kept = abs(part[1] - part[0]) >= 0.4 * abs(x1 - x0)
    assert found.marks == ((("X1", a, b, ""),) if kept else ())


def test_marks_of_a_joined_piece_lie_one_after_the_other():
    """A level piece of 6.8 m from lengths of 3 m: three marks, each over a third of it."""
    plan = edit.put(plan_of("greenhouse"), {"run.bed 1.length": 7.0})
    run = plan.runs[0]
    cuts = cut_list(plan, Workshop(stock=(Stock(run.pipe.series, run.pipe.size, sold=(3.0,)),)))
    made = scene(plan, cuts)
    level = [cut.mark for cut in cuts.of_way("bed 1 to tee 2") if cut.piece == 1]
    places = [(a, b) for mark, a, b, host in made.marks if mark in level]
    assert len(places) == 3
    line = made.space.line("run.bed 1").points
    assert [places[0][0], places[-1][1]] == [pytest.approx(line[1]), pytest.approx(line[2])]
    for (_, end), (begin, _) in itertools.pairwise(places):
        assert end == pytest.approx(begin)
    assert [math.dist(a, b) for a, b in places] == pytest.approx([math.dist(line[1], line[2]) / 3] * 3)
    assert dict(made.pieces)[level[0]] == next(c.length for c in cuts.cuts if c.mark == level[0])


@pytest.mark.parametrize(
    ("vessels", "lines", "says"),
    [((True, True), (True, True), False), ((True, False), (True, True), True),
     ((True, True), (False, True), True), ((False, False), (False, False), True)],
)  # fmt: skip
def test_only_places_that_are_all_given_need_no_measuring(vessels, lines, says):
    made = SimpleNamespace(
        vessels={k: SimpleNamespace(given=given) for k, given in enumerate(vessels)},
        lines=tuple(SimpleNamespace(given=given) for given in lines),
    )
    assert bool(drawing._note(SimpleNamespace(space=made))) == says


def test_gathered_pieces_go_where_least_is_left():
    """Lengths of 100 with 30, 20 and 60 left: the piece of 15 of the last goes where 20 are left."""
    kind = nesting._Kind(100, 100, 100, 9)
    need = [70, 80, 25, 15]
    bars = [(kind, [0]), (kind, [1]), (kind, [2, 3])]
    nesting._gather(need, bars)
    assert [at for _, at in bars] == [[0], [1, 3], [2]]


@pytest.mark.parametrize(("per", "scale"), [
    (50.0, 20), (49.9, 21), (20.0, 50), (19.9, 60), (10.0, 100), (9.99, 125), (0.5, 1000), (2000.0, 1),
])  # fmt: skip
def test_the_scale_is_the_largest_that_has_room(per, scale):
    assert drawing.scale_for(per) == scale


@pytest.mark.parametrize("upright", [False, True])
@pytest.mark.parametrize(("units", "scale", "long", "label"), [
    ("metric", 20, 1.0, "1 m"), ("metric", 16, 0.5, "0.5 m"), ("metric", 8, 0.2, "0.2 m"),
    ("metric", 1, 0.05, "50 mm"),
    ("us", 16, 0.9144, "3 ft"), ("us", 15, 0.3048, "1 ft"), ("us", 1, 0.0254, "1 in"),
    ("us", 3, 0.1524, "6 in"),
])  # fmt: skip
def test_the_bar_is_the_longest_of_60_mm_and_to_scale(units, scale, long, label, upright):
    plan = replace(plan_of("greenhouse"), units=units)
    canvas = drawing.sheet_of_paper(plan, "A4", upright, "section", "Note.", scale)
    (x0, y0), (x1, y1) = (map(float, p) for p in re.findall(r"[ML]([\d.]+) ([\d.]+)", canvas.svg("x")))
    assert (x1 - x0) * scale == pytest.approx(long * 1e3, abs=scale * 2e-3)
    assert x1 == pytest.approx(canvas.width - MARGIN)
    assert y0 == y1
    assert long * 1e3 / scale <= 60.0
    assert f">{label}</text>" in canvas.svg("x")
    assert f"1:{scale} printed at 100 % on A4. Note." in canvas.svg("x")
    for a, b in itertools.combinations(canvas.texts, 2):
        apart = max(a[0], b[0]) >= min(a[2], b[2]) or max(a[1], b[1]) >= min(a[3], b[3])
        assert apart, "title, note and bar are clear of each other"


@pytest.mark.parametrize("count", [1, 2, 7, 12, 13])
@pytest.mark.parametrize("size", [4.2, 6.0])
def test_a_legend_fills_its_columns_from_the_left_and_stays_in_its_room(count, size):
    """Values end where their texts begin; down the first column, then the next."""
    rows = tuple((f"{k}.0 m", f"what lies at {k}") for k in range(count))
    one, canvas = Legend("Title", rows), Canvas("A4")
    one.write(canvas, 50.0, size)
    title, *cells = canvas.texts
    assert len(cells) == 2 * count
    assert title[0] == pytest.approx(MARGIN)
    values, texts = cells[::2], cells[1::2]
    for value, text in zip(values, texts, strict=True):
        assert value[2] == pytest.approx(text[0] - 2.0)
        assert value[1] == pytest.approx(text[1])
    lines = sorted({round(text[1], 6) for text in texts})
    columns = sorted({round(text[0], 6) for text in texts})
    assert len(lines) == math.ceil(count / len(columns))
    order = sorted(texts, key=lambda box: (box[0], box[1]))
    assert texts == order, "down the first column, then the next"
    for a, b in itertools.combinations(canvas.texts, 2):
        assert max(a[0], b[0]) >= min(a[2], b[2]) - 1e-9 or max(a[1], b[1]) >= min(a[3], b[3]) - 1e-9
    lowest = max(box[3] for box in canvas.texts)
    assert lowest - 50.0 <= one.room(canvas.width, size) <= lowest - 50.0 + 2.0 * size
    assert max(box[2] for box in canvas.texts) <= canvas.width - MARGIN + 1e-9


def test_letters_of_legends_are_the_largest_that_fit():
    one = Legend("Title", tuple((f"{k} m", "what lies there") for k in range(20)))
    sizes = [legend.letters((one,), 297.0, high) for high in (5.0, 45.0, 70.0, 400.0)]
    assert sizes == sorted(sizes)
    assert sizes[0] == LETTER
    assert sizes[-1] == max(legend.SIZES)
    for high, size in zip((45.0, 70.0), sizes[1:3], strict=True):
        assert one.room(297.0, size) <= high
        larger = [s for s in legend.SIZES if s > size]
        assert not larger or one.room(297.0, min(larger)) > high
    assert one.room(20.0, 6.0) == math.inf


PLACES = [(dx, dy) for dx in ("middle", "left", "right", -18.0, 18.0) for dy in (0.0, -6.0, 6.0, -12.0, 12.0)]


@pytest.mark.parametrize(("dx", "dy"), PLACES)
def test_a_vessels_name_is_written_at_the_first_free_place_about_its_middle(dx, dy, monkeypatch):
    """In its middle, or half its length or 18 mm to a side, and 6 or 12 mm higher or lower."""
    whole = of("greenhouse")
    (chamber,) = (s for name, s in whole.space.vessels.items() if name == "chamber")
    made = replace(whole, space=replace(whole.space, vessels={"chamber": chamber}), marks=(), spots={})
    frame, canvas = Frame(scenes.ABOVE, 100.0, 100.0, 100.0, (chamber.x, chamber.y)), Canvas("A4")
    half = 0.5 * len("chamber") * CHARACTER * LETTER
    x = 100.0 + {"middle": 0.0, "left": -half, "right": half}.get(dx, dx)
    asked = []

    def free(box):
        middle = (0.5 * (box[0] + box[2]), 0.5 * (box[1] + box[3]))
        asked.append(middle)
        return middle == pytest.approx((x, 100.0 + dy))

    monkeypatch.setattr(canvas, "free", free)
    drawing._labels(canvas, made, frame)
    (box,) = canvas.texts
    assert (0.5 * (box[0] + box[2]), 0.5 * (box[1] + box[3])) == pytest.approx((x, 100.0 + dy))
    assert box[2] - box[0] == pytest.approx(2.0 * half)
    assert len(asked) == len(PLACES)
