"""The map of a sweep: regions are the table's rows, lines its numbers, and what is no map is refused."""

import io
from xml.etree import ElementTree

import numpy as np
import pandas as pd
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.contour import QuadContourSet
from matplotlib.patches import PathPatch

from aquacalc.design.sweep import GROUP_FIELDS, sweep
from aquacalc.figures.map_cells import Room, edges, outlines, path_of
from aquacalc.figures.plan_map import LINES, plan_map
from aquacalc.figures.sweep_regions import FILLS, OUTCOMES, REST, axis_of, regions
from aquacalc.findings import find
from aquacalc.plan import edit
from aquacalc.results.cycle import run_plan
from tests.figures.checks import holds, texts
from tests.figures.examples import FLOWS, HEIGHTS, MAPS, plan_of, still, swept

pytestmark = pytest.mark.identity
TABLES = ("findings", "names", "sump", "stopped", "outcomes")


def drawn(picture):
    """Patches of the regions, in order."""
    return [p for p in picture.figure.axes[0].patches if isinstance(p, PathPatch)]


def verdict_of(row):
    """What a row of the table says, by its own columns alone."""
    if row["outcome"] == "cannot be built":
        return "cannot be built"
    if "verdict" not in row:
        return OUTCOMES[row["outcome"]][1]
    found = {value for key, value in row.items() if key.startswith("finding.")}
    return next((state for state in ("does not", "may or may not") if state in found), "works")


@pytest.mark.parametrize("each", MAPS, ids=lambda e: " ".join(e))
def test_every_row_lies_in_the_region_of_its_verdict_and_in_no_other(each):
    table, _ = swept(each[0])
    found = regions(table)
    patches = drawn(still(f"map, {', '.join(each)}"))
    assert len(patches) == len(found.names)
    for row in table.to_dict("records"):
        point = [axis.place(row[axis.path]) for axis in (found.x, found.y)]
        inside = [k for k, patch in enumerate(patches) if holds(patch.get_path(), point)]
        assert inside == [found.at(*point)]
        verdict = found.names[inside[0]][1]
        assert verdict == verdict_of(row)
        _, hatches = FILLS[verdict]
        assert patches[inside[0]].get_hatch() in (hatches if hatches != ("",) else ("", None))


def test_a_region_is_named_by_what_is_worst():
    table, plan = swept("findings")
    found = regions(table)
    for flow, height in ((FLOWS[0], HEIGHTS[3]), (FLOWS[5], HEIGHTS[3]), (FLOWS[18], HEIGHTS[8])):
        run = run_plan(edit.put(plan, {"pump.flow": flow, "siphon.standpipe.height": height}), trace=False)
        worst = find(run)[0]
        name, verdict = found.names[found.at(flow, height)]
        row = table[(table["pump.flow"] == flow) & (table["siphon.standpipe.height"] == height)].iloc[0]
        assert (name, verdict) == (worst.title[0].lower() + worst.title[1:], verdict_of(row))
        assert row["worst"] == worst.title
    works = found.names[found.at(FLOWS[8], HEIGHTS[5])]
    assert works == ("works", "works")


@pytest.mark.parametrize("name", TABLES)
def test_every_region_is_named_once_and_its_size_told(name):
    each = next(m for m in MAPS if m[0] == name)
    picture, found = still(f"map, {', '.join(each)}"), regions(swept(name)[0])
    words = [" ".join(text.split()) for text, _ in texts(picture.figure)]
    for k in range(len(found.names)):
        assert words.count(found.label(k)) == 1
        assert f"{found.label(k)[1:]}: {int((found.of == k).sum())} plans" in picture.alt
    assert f"{found.runs} plans: what does each do?" in words
    assert found.runs == len(swept(name)[0])


def test_plans_not_run_are_white_and_said():
    found = regions(swept("stopped")[0])
    assert found.names[-1] == ("not run", "not run")
    assert int((found.of == len(found.names) - 1).sum()) == found.of.size - 104
    assert drawn(still("map, stopped, metric, "))[-1].get_facecolor() == (1.0, 1.0, 1.0, 1.0)


def test_this_plan_is_marked_where_it_is():
    for name, want in (
        ("findings", (18.0 / 60e3, 0.43)),
        ("names", (1.0, 18.0 / 60e3)),
        ("sump", (0.9, 0.45)),
    ):
        picture = plan_map(*swept(name), "metric")
        (mark,) = [
            line for line in picture.figure.axes[0].lines if line.get_marker() == "o" and line.get_ms() > 5
        ]
        assert (mark.get_xdata()[0], mark.get_ydata()[0]) == pytest.approx(want)
        assert 'This plan lies in "' in picture.alt
    off = still("map, stopped, metric, ")
    assert "off the map: flow of the pump 1.00 L/min" in off.alt
    assert not any(line.get_ms() > 5 and line.get_marker() == "o" for line in off.figure.axes[0].lines)


def test_a_line_stands_where_the_column_has_its_value():
    """Between two neighbours of the grid a line crosses where a straight line between them does."""
    table, plan = swept("findings")
    picture = plan_map(table, plan, "metric", "siphon.period")
    (lines,) = [x for x in picture.figure.axes[0].collections if isinstance(x, QuadContourSet)]
    minutes = regions(table).column(table, "siphon.period") / 60.0
    seen = 0
    for level, pieces in zip(lines.levels, lines.allsegs, strict=True):
        for x, y in np.concatenate(pieces):
            i = np.flatnonzero(np.isclose(FLOWS, x, rtol=1e-9, atol=0.0))
            if len(i):  # it crosses a column of the grid
                column = minutes[i[0]]
                known = np.isfinite(column)
                assert np.interp(y, np.array(HEIGHTS)[known], column[known]) == pytest.approx(level, rel=1e-6)
                seen += 1
    assert seen > 10
    told = [text for text, _ in texts(picture.figure)]
    assert "15 min" in told
    assert any(text.startswith("Dashed: length of a cycle,") for text in told)
    wanted = np.nanmin(minutes), np.nanmax(minutes)
    assert f"{wanted[0]:.3g} min to {wanted[1]:.3g} min" in picture.alt


def test_where_no_plan_cycles_there_is_no_line():
    table, plan = swept("findings")
    values = regions(table).column(table, "siphon.period")
    cycles = table.pivot(index="pump.flow", columns="siphon.standpipe.height", values="outcome") == "cycles"
    assert (np.isfinite(values) == cycles.to_numpy()).all()
    low = table[table["pump.flow"] < 8.0 / 60e3]
    assert "no plan cycles" in plan_map(low, plan, "metric", "siphon.period").alt


def test_every_number_of_a_sweep_can_be_lines():
    table, _ = swept("outcomes")
    numbers = [c for c in table.columns[2:] if pd.api.types.is_numeric_dtype(table[c])]
    assert set(GROUP_FIELDS) <= {c.rpartition(".")[2] for c in numbers}
    assert {c.rpartition(".")[2] for c in numbers} == set(LINES)


def test_a_table_from_a_file_gives_the_same_map():
    table, _ = swept("findings")
    back = pd.read_csv(io.StringIO(table.to_csv(index=False)))
    one, other = regions(table), regions(back)
    assert one.names == other.names
    assert (one.of == other.of).all()


def test_the_smallest_regions_go_together_where_hatches_run_out():
    table, _ = swept("findings")
    many = table[table["outcome"] == "cycles"].iloc[:60].copy()
    many = many.assign(verdict="may or may not", worst=[f"Finding {k // 6}" for k in range(60)])
    many = many.assign(
        **{"pump.flow": np.repeat(np.arange(6.0), 10), "siphon.standpipe.height": [*range(10)] * 6}
    )
    names = regions(many).names
    assert len(names) == len(FILLS["may or may not"][1])
    assert names[-1] == (REST, "may or may not")
    assert int((regions(many).of == 4).sum()) == 36


@pytest.mark.parametrize(
    ("path", "words", "kind"),
    [
        ("pump.flow", "flow of the pump", "flow"),
        ("siphon.standpipe.height", "height of the standpipe", "length"),
        ("siphon.siphon A.standpipe.height", "height of the standpipe, siphon A", "length"),
        ("bed.bed 1.porosity", "porosity of bed 1", "ratio"),
        ("bed.*.media_depth", "media depth of every bed", "length"),
        ("bed.bed 1.strainer.count", "count of the strainer, bed 1", "number"),
        ("run.bed 1.length", "length of the run from bed 1", "distance"),
        ("plan.water_temperature", "water temperature", "temperature"),
    ],
)
def test_axes_are_named_in_words(path, words, kind):
    axis = axis_of(path, [3.0, 1.0, 2.0, 1.0])
    assert (axis.words, axis.kind, axis.values) == (words, kind, (1.0, 2.0, 3.0))


def test_warm_water_has_its_own_zero():
    """20 degC is 68 degF: ticks follow the thermometer."""
    plan = plan_of("greenhouse")
    table = sweep(plan, {"plan.water_temperature": [10.0, 20.0, 30.0], "pump.flow": FLOWS[8:11]})
    axes = plan_map(table, plan, "us").figure.axes[0]
    ticks = {text.get_text(): at for at, text in zip(axes.get_xticks(), axes.get_xticklabels(), strict=True)}
    assert ticks["50"] == pytest.approx(10.0)
    assert axes.get_xlabel().endswith("(degF)")


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (
            lambda t: t[t["pump.flow"] == FLOWS[0]],
            "only siphon.standpipe.height varies; give `sweep` two paths",
        ),
        (lambda t: t.iloc[:1], "nothing varies; give `sweep` two paths"),
        (lambda t: t.iloc[:0], "no plans; let the sweep run longer"),
        (lambda t: t.drop(columns="outcome"), 'no column "outcome"; give the table that `sweep` returns'),
        (lambda t: pd.concat([t, t.iloc[:1]]), "in the table twice; keep one row"),
        (lambda t: t.iloc[::11], "do not lie on a grid; make the table with `sweep`"),
        (
            lambda t: t.assign(x=range(len(t)))[["x", *t.columns]],
            r'3 vary \(x, pump.flow, siphon.standpipe.height\); keep .*\["siphon.standpipe.height"\] == 0.3',
        ),
    ],
)
def test_what_is_no_map_is_refused_with_the_fix(change, says):
    table, plan = swept("findings")
    with pytest.raises(ValueError, match=says):
        plan_map(change(table), plan, "metric")


@pytest.mark.parametrize(
    ("name", "lines", "says"),
    [
        ("findings", "siphon.outcome", "cannot be drawn; give a column that ends in one of period"),
        ("findings", "pump.period", 'no column "pump.period"'),
        ("names", "siphon.period", "lines need numbers on both axes"),
    ],
)
def test_what_gives_no_lines_is_refused(name, lines, says):
    with pytest.raises(ValueError, match=says):
        plan_map(*swept(name), "metric", lines)


def test_a_third_value_that_stands_still_is_no_third_axis():
    table, _ = swept("findings")
    held = table.assign(x=1.0)[["x", *table.columns]]
    assert (regions(held).of == regions(table).of).all()


def test_outlines_hold_their_cells_and_no_others():
    rng = np.random.default_rng(2)
    for _ in range(40):
        inside = rng.random((7, 5)) < rng.uniform(0.1, 0.9)
        x, y = (np.cumsum(rng.uniform(0.5, 2.0, n)) for n in (8, 6))
        path = path_of(outlines(inside, x, y))
        for (i, j), held in np.ndenumerate(inside):
            middle = 0.5 * (x[i] + x[i + 1]), 0.5 * (y[j] + y[j + 1])
            assert holds(path, middle) == held


def test_cells_meet_half_way():
    assert edges([1.0, 2.0, 4.0]).tolist() == [0.5, 1.5, 3.0, 5.0]


def test_words_are_placed_inside_their_region_and_apart():
    rng = np.random.default_rng(7)
    x, y = np.linspace(0.0, 300.0, 11), np.linspace(0.0, 200.0, 9)
    for _ in range(20):
        of = (rng.random((10, 8)) < 0.25).astype(int)
        room = Room(of, x, y)
        boxes = []
        while (at := room.place(0, 40.0, 16.0)) is not None:
            for dx in (-19.9, 0.0, 19.9):
                for dy in (-7.9, 0.0, 7.9):
                    cell = np.searchsorted(x, at[0] + dx) - 1, np.searchsorted(y, at[1] + dy) - 1
                    assert of[cell] == 0
            assert all(abs(at[0] - a) > 39.0 or abs(at[1] - b) > 15.0 for a, b in boxes)
            assert room.has(*at, 30.0, 10.0)
            room.take(*at, 40.0, 16.0)
            assert not room.has(*at, 30.0, 10.0)
            boxes.append(at)
        assert boxes
        px, py = room.inmost(1)
        assert of[np.searchsorted(x, px) - 1, np.searchsorted(y, py) - 1] == 1


def test_svg_stands_alone():
    picture = still("map, findings, metric, siphon.period")
    text = picture.svg("one")
    root = ElementTree.fromstring(text)
    assert root.get("aria-label") == picture.alt
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    assert len(text) < 90_000


@pytest.mark.parametrize(("x", "y", "there"), [
    (20.0, 50.0, True), (15.0, 50.0, False), (280.0, 50.0, True), (285.0, 50.0, False),
    (150.0, 10.0, True), (150.0, 7.0, False), (150.0, 90.0, True), (150.0, 93.0, False), (150.0, 50.0, False),
    (110.0, 50.0, True), (120.0, 50.0, False), (190.0, 50.0, True), (180.0, 50.0, False),
    (150.0, 66.0, True), (150.0, 62.0, False),
    (150.0, 34.0, True), (150.0, 38.0, False),
])  # fmt: skip
def test_words_lie_on_the_map_and_on_no_others(x, y, there):
    """A box of 32 x 14 px on 300 x 100, of which 40 x 12 about the middle are taken; 3 px are let off."""
    room = Room(np.zeros((1, 1), dtype=int), np.array([0.0, 300.0]), np.array([0.0, 100.0]))
    assert room.has(150.0, 50.0, 32.0, 14.0)
    room.take(150.0, 50.0, 40.0, 12.0)
    assert room.has(x, y, 32.0, 14.0) == there


def test_words_are_put_in_the_middle_of_a_region_and_its_inmost_point_is_in_the_middle_of_it():
    """A region of 200 x 100 px right of another: its middle is (200, 50)."""
    of = np.array([[1], [0], [0]])
    room = Room(of, np.array([0.0, 100.0, 200.0, 300.0]), np.array([0.0, 100.0]))
    assert room.place(0, 60.0, 20.0) == pytest.approx((200.0, 50.0), abs=2.0)
    assert room.place(1, 60.0, 20.0) == pytest.approx((50.0, 50.0), abs=2.0)
    assert room.place(1, 94.0, 90.0) == pytest.approx((50.0, 50.0), abs=3.0)
    assert room.place(1, 106.0, 20.0) is None
    assert room.place(0, 60.0, 103.0) is None
    assert room.place(0, 400.0, 20.0) is None
    assert room.inmost(1) == pytest.approx((50.0, 50.0), abs=3.5)


@pytest.mark.parametrize("flow", [8.0, 34.0, 34.5, 35.0, 35.5, 36.0, 38.0])
def test_the_name_of_this_plan_stays_on_the_map(flow):
    """Right of its dot, or left of it near the right edge."""
    table, plan = swept("findings")
    figure = plan_map(table, edit.put(plan, {"pump.flow": flow / 60e3}), "metric").figure
    axes, draw = figure.axes[0], FigureCanvasAgg(figure).get_renderer()
    (name,) = (text for text in axes.texts if text.get_text() == "this plan")
    (mark,) = (line for line in axes.lines if line.get_marker() == "o" and line.get_ms() > 5)
    box, frame = name.get_window_extent(draw), axes.get_window_extent(draw)
    x, y = axes.transData.transform((mark.get_xdata()[0], mark.get_ydata()[0]))
    assert frame.x0 < box.x0 < box.x1 < frame.x1
    assert box.y0 < y < box.y1
    assert (box.x0 > x) if flow < 20.0 else (flow < 38.0 or box.x1 < x)
    assert min(abs(box.x0 - x), abs(box.x1 - x)) < 30.0


@pytest.mark.parametrize(("rows", "drawn"), [((0, 3), True), ((0, 4, 8), False)])
def test_a_map_may_be_half_empty_and_no_more(rows, drawn):
    """Two plans of a grid of four leave half of it; three along the diagonal of nine leave two thirds."""
    side = 2 if drawn else 3
    grid = [(1e-4 * (k // side + 1), 0.40 + 0.01 * (k % side)) for k in rows]
    table = pd.DataFrame(
        [{"pump.flow": q, "siphon.standpipe.height": h, "outcome": "cycles"} for q, h in grid]
    )
    if drawn:
        found = regions(table)
        assert (found.of == len(found.names) - 1).sum() == 2
        assert found.names[-1] == ("not run", "not run")
    else:
        with pytest.raises(ValueError, match="do not lie on a grid"):
            regions(table)
