"""Figures where something is nothing, meets a limit or has no room: each pair just on either side of it."""

from __future__ import annotations

import math
import random
import re
from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace
from xml.etree import ElementTree

import numpy as np
import pytest
from scipy.interpolate import CubicHermiteSpline
from scipy.optimize import minimize

from aquacalc.equations.formulas import GRAVITY, choking_flow, lip_flow
from aquacalc.figures.chart import WIDTH, Axes, beside
from aquacalc.figures.fit_ranges import FITTED, ROW, ranges
from aquacalc.figures.head_budget import Loss, _split, head_budget, run_losses
from aquacalc.figures.inflow_window import window
from aquacalc.figures.levels import spans
from aquacalc.figures.lips import BUBBLE, LOW, MAY, PITCH, RUNS, TRICKLES, UP, ZERO, lips
from aquacalc.figures.priming_map import BORE_LOW, HEADS, LEFT, SECOND, TALL, TOP, WIDE, _label, priming_map
from aquacalc.figures.scene import fit_frame
from aquacalc.figures.section import _arrow_size, _stream
from aquacalc.figures.snapshot import _between
from aquacalc.figures.vector import Drawing, fit, spread, text_width, value
from aquacalc.hydraulics.paths import Piece
from aquacalc.hydraulics.starting import start_band, start_froudes
from aquacalc.plan.model import Fitting
from aquacalc.results.cycle import Trace
from aquacalc.results.pump_off import latest_start
from aquacalc.results.window import inflow_window
from tests.figures.examples import plan_of, ran

pytestmark = pytest.mark.identity


def words(drawn):
    """Texts of a picture with their places, px."""
    root = ElementTree.fromstring(drawn.svg("x"))
    texts = root.iter("{http://www.w3.org/2000/svg}text")
    return [(e.text, float(e.get("x")), float(e.get("y"))) for e in texts if e.text and e.get("x")]


def siphon_of(observed=0.0, error=0.0):
    siphon = plan_of("greenhouse").siphons[0]
    if not observed:
        return siphon
    return replace(siphon, priming=replace(siphon.priming, observed=observed, observed_error=error))


@pytest.mark.parametrize(("error", "narrow"), [(0.0, False), (2e-6, True), (1.2e-4, False)])
def test_names_of_the_priming_map_stand_in_what_they_name(error, narrow):
    """A bore starts where the inflow is over its Froude number's; a narrow band has one name."""
    siphon, inflow = siphon_of(2e-4 if error else 0.0, error), 3e-4
    low, likely, high = start_froudes(siphon)
    end, top = 6e-4, max(0.055, 1.4 * siphon.standpipe.pipe.bore)
    drawn = priming_map(siphon, inflow, "metric")
    at = {text: ((x - LEFT) / WIDE * end, top - (y - TOP) / TALL * (top - BORE_LOW))
          for text, x, y in words(drawn) if x < LEFT + WIDE}  # fmt: skip

    def froude(name):
        flow, bore = at[name]
        return flow / choking_flow(1.0, bore, GRAVITY)

    assert froude("fills:") > high
    assert froude("trickles:") < low
    if narrow:
        assert froude("uncertain band,") < low  # written over the band
        assert "your reading dashed" in at
        assert "uncertain" not in at
    else:
        assert low < froude("uncertain") < likely
        assert likely < froude("dashed line") < high or likely < froude("expected start:") < high
        assert "uncertain band," not in at
    dots = re.findall(r'class="dot" cx="([\d.]+)" cy="([\d.]+)"', drawn.svg("x"))
    bore, lip = siphon.standpipe.pipe.bore, siphon.standpipe.lip_diameter
    up = TOP + TALL * (top - bore) / (top - BORE_LOW)
    across = [
        LEFT + WIDE * inflow / end,
        SECOND + WIDE * (lip - BORE_LOW) / (max(0.110, 1.6 * lip) - BORE_LOW),
    ]
    assert [float(x) for x, _ in dots] == pytest.approx(across, abs=0.01)
    assert [float(y) for _, y in dots] == pytest.approx([up, up], abs=0.01)


@pytest.mark.parametrize(("inflow", "dots", "side"), [(1e-4, 2, "m"), (5e-4, 2, "e"), (7e-4, 1, "")])
def test_this_plan_is_named_on_the_side_with_room_and_only_where_it_is_on_the_map(inflow, dots, side):
    drawn = priming_map(siphon_of(), inflow, "metric", flow_high=6e-4)
    assert drawn.svg("x").count('class="dot"') == dots
    found = [x for text, x, _ in words(drawn) if text == "this plan" and x < LEFT + WIDE + 20.0]
    px = LEFT + WIDE * inflow / 6e-4
    assert found == ([] if dots == 1 else [pytest.approx(px + (12.0 if side == "m" else -12.0), abs=0.01)])


def test_lines_of_one_head_join_lips_over_which_it_stands():
    """At the flow that fills each bore: the lip law gives that flow back from the head."""
    siphon = siphon_of()
    _, likely, _ = start_froudes(siphon)
    stand = siphon.standpipe
    lips, bores = (
        (BORE_LOW, max(0.110, 1.6 * stand.lip_diameter)),
        (BORE_LOW, max(0.055, 1.4 * stand.pipe.bore)),
    )
    root = ElementTree.fromstring(priming_map(siphon, 3e-4, "metric").svg("x"))
    curves = [e.get("d") for e in root.iter() if e.get("class") == "curve blue"]
    assert len(curves) == len(HEADS) - 1  # 30 mm stand only over lips narrower than the bore
    for head, d in zip(HEADS[:-1], curves, strict=True):
        for x, y in re.findall(r"[ML]([-\d.]+) ([-\d.]+)", d):
            lip = lips[0] + (float(x) - SECOND) / WIDE * (lips[1] - lips[0])
            bore = bores[1] - (float(y) - TOP) / TALL * (bores[1] - bores[0])
            flow = choking_flow(likely, bore, GRAVITY)
            assert lip_flow(siphon.lip_weir, siphon.lip_orifice, lip, head, GRAVITY) == pytest.approx(
                flow, rel=5e-3
            )
            assert bore - 1e-5 <= lip <= 0.86 * lips[1] + 1e-5


def test_a_name_moves_up_or_down_until_it_is_free():
    d = Drawing(600.0, 400.0)
    axes = Axes(d, 0.0, 0.0, 600.0, 400.0, (0.0, 600.0), (0.0, 400.0))
    moves = []
    for _ in range(6):
        _label(axes, 300.0, 200.0, "one name")
        x0, y0, x1, y1, _ = d.texts[-1]
        assert 0.5 * (x0 + x1) == pytest.approx(300.0)
        moves.append(0.5 * (y0 + y1) - 200.0)
    assert moves == pytest.approx([0.0, 20.0, -20.0, 50.0, -50.0, 0.0])  # 35 is 15 from 20: 9 and half a line
    _label(axes, 450.0, 200.0, "two\nlines")
    assert [0.5 * (y0 + y1) for _, y0, _, y1, _ in d.texts[-2:]] == pytest.approx([191.5, 208.5])


def test_a_siphon_that_nothing_stops_has_no_margin_to_tell():
    run = ran("greenhouse")
    data = inflow_window(run.plan, run.plan.siphons[0], run)
    part = round(100 * (data.stop - data.stop_with_margin) / data.stop)
    assert f"stop limit less {part} %" in window(data, "metric").svg("x")
    never = window(replace(data, stop=0.0, stop_least=0.0, stop_with_margin=0.0), "metric")
    assert "stop limit less 0 %" in never.svg("x")
    assert "No inflow both starts it and lets it stop." in never.alt


@pytest.mark.parametrize(("stop", "kept", "says"), [
    (0.999, 0.9, "No inflow both starts it"), (1.001, 0.9, "No inflow is sure both"),
    (9.0, 1.999, "No inflow is sure both"), (9.0, 2.001, "It starts and stops from"),
])  # fmt: skip
def test_words_of_the_window_at_its_limits(stop, kept, says):
    """Starting from 1 (perhaps) and 2 (surely) L/min: up to where it stops, perhaps and surely."""
    run = ran("greenhouse")
    data = replace(
        inflow_window(run.plan, run.plan.siphons[0], run), start_low=1 / 6e4, start=1.5 / 6e4,
        start_high=2 / 6e4, stop=stop / 6e4, stop_least=stop / 6e4, stop_with_margin=kept / 6e4,
        today=1 / 6e4, today_low=1 / 6e4, today_high=1 / 6e4,
    )  # fmt: skip
    drawn = window(data, "metric")
    assert says in drawn.alt
    assert 'class="today"' in drawn.svg("x")
    names = [text for text, _, _ in words(drawn)]
    assert ("stop limit" in names) == (stop < 2.2 or kept < 9.0)


def test_a_path_without_flow_loses_nothing_and_is_drawn():
    drawn = head_budget("it", [Loss("wall", 0.0, "wall"), Loss("bend", 0.0, "fitting")], 0.0, "metric")
    texts = [text for text, _, _ in words(drawn)]
    assert texts.count("0 %") == 2
    assert "100 %" not in texts
    lost = head_budget("it", [Loss("wall", 0.003, "wall"), Loss("bend", 0.001, "fitting")], 1e-4, "metric")
    texts = [text for text, _, _ in words(lost)]
    assert [texts.count(t) for t in ("75 %", "25 %", "100 %")] == [1, 1, 1]
    first, lead, second, whole = (
        [(float(x), float(y)) for x, y in re.findall(r"[ML]([-\d.]+) ([-\d.]+)", e.get("d"))]
        for e in ElementTree.fromstring(lost.svg("x")).iter()
        if e.get("class") in ("zone", "lead")
    )
    assert lead == [first[2], second[0]]  # from the end of a bar down to where the next begins
    assert first[2][1] < second[0][1]
    assert (second[1][0] - second[0][0]) * 3 == pytest.approx(first[1][0] - first[0][0], abs=0.05)
    assert (whole[0][0], whole[1][0]) == (first[0][0], second[1][0])


def test_losses_of_a_piece_are_its_wall_its_fittings_and_what_is_over():
    piece = Piece("drain line", math.pi / 4 * 0.05**2, 0.05, 2.0, 1.5e-6, 3.0)
    each = 0.5 * (3e-4 / (math.pi / 4 * 0.05**2)) ** 2 / GRAVITY
    bends = (Fitting("bend 90, short", 2, 0.9), Fitting("exit", 1, 1.0))
    wall, two, one, rest = _split(piece, 3e-4, 1e-6, bends, "pipe wall", "other")
    assert (wall.name, wall.kind) == ("pipe wall", "wall")
    assert (two.name, two.head) == ("2 × bend 90, short", pytest.approx(1.8 * each))
    assert (one.name, one.head) == ("exit", pytest.approx(each))
    assert (rest.name, rest.head, rest.kind) == ("other", pytest.approx(0.2 * each), "fitting")
    whole = _split(replace(piece, k=2.8), 3e-4, 1e-6, bends, "pipe wall", "other")
    assert [loss.name for loss in whole] == ["pipe wall", "2 × bend 90, short", "exit"]
    (hole,) = _split(replace(piece, length=0.0), 3e-4, 1e-6, (), "", "openings")
    assert (hole.name, hole.kind, hole.head) == ("openings", "opening", pytest.approx(3.0 * each))


def test_a_run_begins_with_its_strainer():
    plan = plan_of("greenhouse")
    first = run_losses(plan, plan.runs[0], 2e-4)[0]
    assert first.kind == "opening"
    assert next(loss.kind for loss in run_losses(plan, plan.run_from("tee 2"), 2e-4)) == "wall"


def test_labels_in_a_row_keep_apart_and_inside():
    found = beside(["one", "two\nlonger line", "three"], [100.0, 101.0, 880.0], 4.0, WIDTH - 4.0)
    assert found == sorted(found)
    assert found[2] < WIDTH - 4.0


@pytest.mark.parametrize(("z", "value"), [(-1.0, 2.0), (0.0, 2.0), (0.25, 2.5), (0.5, 3.0), (0.75, 4.0),
                                          (1.0, 5.0), (2.0, 5.0)])  # fmt: skip
def test_a_line_through_points_goes_on_level(z, value):
    assert _between([(0.0, 2.0), (0.5, 3.0), (1.0, 5.0)], z) == pytest.approx(value)


def test_a_step_has_its_upper_value():
    assert _between([(0.0, 2.0), (0.0, 3.0), (1.0, 5.0)], 0.0) == pytest.approx(2.0)
    assert _between([(0.0, 2.0), (0.5, 3.0), (0.5, 4.0), (1.0, 6.0)], 0.75) == pytest.approx(5.0)


@pytest.mark.parametrize(("part", "does"), [(0.5, TRICKLES), (0.97, MAY), (4.0, RUNS)])
def test_air_in_a_standpipe_is_a_core_bubbles_or_a_hollow_over_water(part, does):
    """Parts of the flow at which the plain end is expected to start; every outline is alike on both sides."""
    siphon = siphon_of()
    drawn = lips(siphon, "metric", part * start_band(siphon).middle)
    root = ElementTree.fromstring(drawn.svg("x"))
    paths = [[(float(x), float(y)) for x, y in re.findall(r"[ML]([-\d.]+) ([-\d.]+)", e.get("d"))]
             for e in root.iter() if e.get("class") == "air hollow"]  # fmt: skip
    middles = sorted({round(0.5 * (min(x for x, _ in p) + max(x for x, _ in p)), 1) for p in paths})
    assert len(middles) == 3
    for path in paths:
        c = 0.5 * (min(x for x, _ in path) + max(x for x, _ in path))
        ends = {(round(x - c, 1), y) for x, y in path}
        assert ends == {(0.0 if x == 0.0 else -x, y) for x, y in ends}
    first = [p for p in paths if abs(0.5 * (p[0][0] + p[-1][0]) - middles[0]) < 0.5]
    r = 0.5 * siphon.standpipe.pipe.bore * UP
    tall = max(y for p in first for _, y in p)
    if does == TRICKLES:
        assert (len(first), tall) == (1, LOW)
        at_foot = [x for x, y in first[0] if y == LOW]
        assert 0.5 * r < 0.5 * (max(at_foot) - min(at_foot)) < r
    elif does == MAY:
        bubbles = [p for p in first if min(y for _, y in p) > ZERO + r]
        assert bubbles
        assert tall == LOW
        for p in bubbles:
            assert 0.5 * (max(x for x, _ in p) - min(x for x, _ in p)) < r
        for p in paths:  # each a tall bubble from its foot up to its top, and plugs of water between them
            if min(y for _, y in p) > ZERO + r:
                wide, feet = max(x for x, _ in p) - min(x for x, _ in p), max(y for _, y in p)
                assert feet - min(y for _, y in p) == pytest.approx(BUBBLE * 0.5 * wide / 0.72, abs=0.05)
        assert PITCH > BUBBLE
    else:
        assert len(first) == 1
        assert ZERO < tall < ZERO + r
    assert does in [text for text, _, _ in words(drawn)]


def test_a_plan_that_never_cycles_has_no_latest_start():
    plans = {name: plan_of(name) for name in ("spills-without-starting", "greenhouse")}
    assert latest_start(plans["spills-without-starting"]) == {"siphon": (0.0, 0.0)}
    lip, started = latest_start(plans["greenhouse"])["siphon"]
    assert 60.0 < lip < started


def test_ranges_of_a_fit_stand_beside_their_names_and_where_their_axis_says():
    """From 0.8 to 1.3 times the plan's before and 0.9 to 1.1 now; and half as far for the second."""
    names = list(FITTED)[:2]
    estimates = [
        SimpleNamespace(name=name, kind="number", before=2.0, factor=1.05, before_low=2 * (1 - 0.2 / k),
                        before_high=2 * (1 + 0.3 / k), low=2 * (1 - 0.1 / k), high=2 * (1 + 0.1 / k))
        for name, k in zip(names, (1.0, 2.0), strict=True)
    ]  # fmt: skip
    figure = ranges(SimpleNamespace(estimates=estimates), "metric").figure
    (axes,) = figure.axes
    lines = [[float(x) for x in line.get_xdata()] for line in axes.lines if len(line.get_xdata()) == 2]
    ends = [line for line in lines if line != [1.0, 1.0]]
    assert ends == [pytest.approx(e) for e in ([0.8, 1.3], [0.9, 1.1], [0.9, 1.15], [0.95, 1.05])]
    named = [t for t in axes.texts if t.get_text() in [FITTED[n][0].removeprefix("the ") for n in names]]
    assert [t.xy for t in named] == [(0.0, pytest.approx(0.5 * ROW)), (0.0, pytest.approx(1.5 * ROW))]
    low, high = axes.get_xlim()
    assert low < 0.8 < 1.3 < high
    assert {round(float(line.get_xdata()[0]), 6) for line in axes.lines if len(line.get_xdata()) == 1} == {
        1.05
    }


def test_numbers_that_move_add_up_as_numbers_do():
    """Sums, differences and multiples of forms are those of their values, whatever these are."""
    for now in ({"a": 2.0, "b": 5.0}, {"a": -1.0, "b": 0.25}):
        a, b = 3.0 * value("a") + 1.0, 2.0 - value("b") * 4.0
        x, y = 3.0 * now["a"] + 1.0, 2.0 - 4.0 * now["b"]
        made = {a: x, b: y, a + b: x + y, a - b: x - y, -a: -x, 7.0 - a: 7.0 - x, a - 7.0: x - 7.0,
                0.5 * a + 0.25 * b: 0.5 * x + 0.25 * y, (a + b) - (b - a): 2.0 * x}  # fmt: skip
        for form, number in made.items():
            assert form.at(now) == pytest.approx(number), form


@pytest.mark.parametrize("seed", range(8))
def test_labels_are_moved_as_little_as_may_be(seed):
    """The least sum of squares with each half of two labels between their middles, by scipy."""
    draw = random.Random(seed)
    sizes = [draw.choice((4.0, 8.0, 12.0)) for _ in range(6)]
    wanted = [draw.uniform(10.0, 90.0) for _ in sizes]
    found = spread(wanted, sizes, 0.0, 100.0)
    order = sorted(range(6), key=lambda k: wanted[k])
    limits = [
        {"type": "ineq", "fun": lambda x, i=i, j=j: x[j] - x[i] - 0.5 * (sizes[i] + sizes[j])}
        for i, j in pairwise(order)
    ]
    inside = [(0.5 * s, 100.0 - 0.5 * s) for s in sizes]
    # A label that is wanted over the edge is wanted at it.
    meant = np.clip(wanted, *np.transpose(inside))
    best = minimize(lambda x: np.sum((x - meant) ** 2), np.array(found), method="SLSQP", bounds=inside,
                    constraints=limits, options={"ftol": 1e-12})  # fmt: skip
    assert found == pytest.approx(best.x, abs=2e-3)


def test_labels_with_no_room_share_what_there_is():
    found = spread([50.0, 51.0, 52.0, 90.0], [20.0, 40.0, 20.0, 40.0], 0.0, 60.0)
    assert found == pytest.approx([5.0, 20.0, 35.0, 50.0])  # each takes half of what it wants
    assert spread([30.0, 10.0], [4.0, 4.0], 0.0, 60.0) == [30.0, 10.0]
    assert spread([], [], 0.0, 60.0) == []


@pytest.mark.parametrize(("width", "shown"), [(6, "abcdef"), (5, "abcd…"), (2, "a…"), (1, "a…"), (0.5, "a…")])
def test_a_name_is_cut_where_its_room_ends(width, shown):
    assert fit("abcdef", text_width("x", 10.0) * width + 1e-6, 10.0) == shown


TIMES = (0.0, 1.0, 1.0, 4.0, 9.0)
LEVELS, RATES = [0.5, 0.8, 0.8, 0.3, 0.4], [0.2, -0.1, 0.1, 0.3, 0.05]


def test_between_its_steps_a_run_is_a_cubic_through_levels_and_rates():
    """By scipy's Hermite spline from 1 s on; before its start and after its end it stays."""
    tee = [0.1, 0.4, 0.4, 1.0, 2.0]
    trace = Trace(TIMES, {"bed": LEVELS, "tee": tee}, {"bed": RATES, "tee": [0.0] * 5}, {}, {}, ())
    spline = CubicHermiteSpline(TIMES[2:], LEVELS[2:], RATES[2:])
    for t in (1.0, 1.5, 2.0, 3.9, 4.0, 4.1, 6.5, 8.99, 9.0):
        assert trace.level("bed", t) == pytest.approx(float(spline(t)), abs=1e-12), t
    first = CubicHermiteSpline(TIMES[:2], LEVELS[:2], RATES[:2])
    assert trace.level("bed", 0.25) == pytest.approx(float(first(0.25)), abs=1e-12)
    assert (trace.level("bed", -5.0), trace.level("bed", 50.0)) == pytest.approx((0.5, 0.4))
    for t in (0.3, 2.5, 7.0):
        assert trace.level("tee", t) == pytest.approx(np.interp(t, [0, 1, 4, 9], [0.1, 0.4, 1.0, 2.0]))


@pytest.mark.parametrize(("low", "high", "found"), [
    (0.0, 9.0, [(0.0, 1.0, "filling"), (1.0, 9.0, "siphoning")]),
    (0.5, 5.0, [(0.5, 1.0, "filling"), (1.0, 5.0, "siphoning")]), (0.0, 1.0, [(0.0, 1.0, "filling")]),
    (1.0, 2.0, [(1.0, 2.0, "siphoning")]), (6.0, 99.0, [(6.0, 9.0, "siphoning")]),
])  # fmt: skip
def test_stretches_of_a_regime_are_joined_and_cut_at_the_ends(low, high, found):
    """A row tells the regime of the step that ends there."""
    rows = ["", "filling", "filling", "siphoning", "siphoning"]
    run = SimpleNamespace(trace=SimpleNamespace(times=TIMES, regime={"s": rows}))
    assert [(x.start, x.end, x.name) for x in spans(run, "s", low, high)] == found


@pytest.mark.parametrize(
    ("part", "arrow", "stream"),
    [
        (0.0, 0.0, 0.0),
        (0.25, 0.85, 3.0),
        (1.0, 1.2, 6.0),
        (4.0, 1.2, 6.0),
        (-0.25, -0.85, 0.0),
        (-9, -1.2, 0),
    ],
)
def test_arrows_and_streams_grow_with_the_root_of_the_flow(part, arrow, stream):
    """An arrow from half to 1.2 of its size, a stream up to 6 px; water that runs back points back."""
    assert _arrow_size(part * 3e-4, 3e-4) == pytest.approx(arrow)
    assert _stream(part * 3e-4, 3e-4) == pytest.approx(stream)


def test_a_frame_for_several_plans_holds_the_lowest_and_the_highest_of_all():
    """The demo, its beds 300 mm higher and its sump 200 mm deeper: from the deep floor to the high rims."""
    plan = plan_of("greenhouse")
    higher = replace(plan, beds=tuple(replace(b, floor=b.floor + 0.3) for b in plan.beds))
    deeper = replace(plan, sump=replace(plan.sump, floor=plan.sump.floor - 0.2))
    for plans in ([plan, higher, deeper], [deeper, higher, plan], [higher, plan, deeper]):
        frame = fit_frame(plans, 640.0, 420.0)
        low, high = deeper.sump.floor, max(*(b.rim for b in higher.beds), plan.pump.delivery.outlet)
        high = max(high, max(b.rim for b in higher.beds) + 0.04)
        assert frame.low == pytest.approx(low - 24.0 / frame.up)
        assert frame.high == pytest.approx(high + 10.0 / frame.up)
        alone = [fit_frame([one], 640.0, 420.0) for one in plans]
        assert frame.across <= min(one.across for one in alone) + 1e-9
