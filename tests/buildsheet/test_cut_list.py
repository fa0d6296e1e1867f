"""Lengths to cut: by hand for the demo, and adding up to the plan for any plan."""

import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from aquacalc.buildsheet.cut_list import cut_list
from aquacalc.buildsheet.lengths import inches, whole_mm
from aquacalc.buildsheet.stock import Stock, Workshop
from aquacalc.geometry.joints import fitting_joint, socket_depth
from aquacalc.geometry.laying import SLANT
from aquacalc.geometry.routes import routes
from aquacalc.plan import edit
from aquacalc.plan.model import Fitting, Pipe
from aquacalc.plan.read import read_plan
from tests.plan.random_plans import plans

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "data" / "plans" / "greenhouse.toml"
#: A plan is too large to be worth shrinking.
QUICK = (Phase.explicit, Phase.reuse, Phase.generate)
PLANS = [DEMO, *sorted((ROOT / "tests" / "plans").glob("*.toml"))]


def iso(mm):
    return Pipe("ISO 1452 PN16", f"{mm} mm", (mm - 4) / 1e3, mm / 1e3, 2e-6)


@pytest.mark.outside
@pytest.mark.parametrize(
    ("mm", "right_angle", "half"),
    # Laying lengths of elbows, ISO 1452-3 (from memory), printed to 0.5 mm.
    [(20, 11, 5), (25, 13.5, 6), (32, 17, 7.5), (40, 21, 9.5), (50, 26, 11.5), (63, 32.5, 14),
     (75, 38.5, 16.5), (90, 46, 19.5), (110, 56, 23.5)],
)  # fmt: skip
def test_take_offs_of_elbows(mm, right_angle, half):
    assert fitting_joint("bend 90, sharp", iso(mm)).take_off * 1e3 == pytest.approx(right_angle, abs=0.5)
    assert fitting_joint("bend 45", iso(mm)).take_off * 1e3 == pytest.approx(half, abs=0.5)


@pytest.mark.outside
def test_socket_depths():
    # ISO 727-1 (from memory): half the outside diameter plus 6 mm; ASTM D2466 (from memory): 7/8 in for 1 in.
    for mm in (20, 32, 50, 110):
        assert socket_depth(iso(mm)) == pytest.approx(0.5 * mm / 1e3 + 0.006)
        assert socket_depth(replace(iso(mm), series="own")) == pytest.approx(socket_depth(iso(mm)))
    inch = Pipe("ASTM D1785 schedule 40", "1 in", 0.02664, 0.033401, 0.0)
    assert socket_depth(inch) == pytest.approx(0.875 * 0.0254, abs=5e-5)


@pytest.mark.identity
def test_demo_by_hand():
    """Bore 40.894, outside 48.26; tee and sharp elbow half the outside + 1 = 25.13; short bend one bore."""
    cuts = {c.mark: c for c in cut_list(read_plan(DEMO), Workshop()).cuts}
    middle = 590 + 40.894 / 2  # the middle of the line lies half a bore above its invert
    # A1: floor 700 to the middle, less the bend's 40.894, plus 6 of seal and 4 of chamfer.
    assert cuts["A1"].exact * 1e3 == pytest.approx(700 - middle - 40.894 + 10, abs=0.01)
    # A2: what is left of 1440, less bend and tee.
    assert cuts["A2"].exact * 1e3 == pytest.approx(1440 - (700 - middle) - 40.894 - 25.13, abs=0.01)
    # C1: tee to tee.
    assert cuts["C1"].exact * 1e3 == pytest.approx(1350 - 2 * 25.13, abs=0.01)
    # D1: straight down into tee 3, 10 mm lower: the plan's 100 mm, which its levels bear out to half a mm.
    assert cuts["D1"].exact * 1e3 == pytest.approx(100 - 25.13 + 10, abs=0.01)
    assert 700 - (middle - 10) == pytest.approx(100, abs=0.5)
    # F: lip 430 less the reducer's 30, floor 500, outlet 320: 580 down in all, 370 across; 1 in short bends.
    down = cuts["F1"].exact + cuts["F3"].exact
    assert down * 1e3 == pytest.approx(430 - 30 + 500 - 320 - 2 * 26.645, abs=0.01)
    assert cuts["F2"].exact * 1e3 == pytest.approx(550 - 180 - 2 * 26.645, abs=0.01)
    # The bell is as long as from the floor to the underside of its cap.
    assert cuts["H1"].length == pytest.approx(0.465)


def joined(route):
    return sum(p.centre for p in route.pieces)


def check(plan):
    made = cut_list(plan, Workshop())
    for route in made.ways:
        drop = sum(p.drop for p in route.pieces)
        assert drop == pytest.approx(route.drop, abs=5e-4), route.name
        # What is cut is as long as what is computed, even where its elevations do not agree with that.
        assert joined(route) == pytest.approx(route.length, abs=1e-4), route.name
        cuts = made.of_way(route.name)
        offs = sum(p.first.take_off + p.last.take_off for p in route.pieces)
        gap = 2 * fitting_joint("coupling", route.pipe).take_off * (len(cuts) - len(route.pieces))
        # Whole millimetres, and they still add up to the millimetre.
        total = sum(round(c.length * 1e3) for c in cuts)
        assert total == pytest.approx((joined(route) - offs - gap) * 1e3, abs=0.51), route.name
    return made


@pytest.mark.identity
@pytest.mark.parametrize("path", PLANS, ids=lambda p: p.stem)
def test_cuts_add_up_to_the_plan(path):
    check(read_plan(path))


@pytest.mark.identity
@settings(max_examples=60, deadline=None, phases=QUICK, suppress_health_check=list(HealthCheck))
@given(plans())
def test_cuts_add_up_for_any_plan(plan):
    made = check(plan)
    # End levels, reckoned here from the plan alone: the middle lies half a bore above an invert.
    tees = {t.name: t for t in plan.tees}
    for run, route in zip(plan.runs, made.ways, strict=False):
        half = 0.5 * run.pipe.bore
        if run.start in tees:
            top = tees[run.start].elevation + half
        else:
            bed = plan.vessel(run.start)
            top = bed.floor if bed.outlet == "floor" else bed.outlet_invert + half
        fall = sum(p.drop for p in route.pieces)
        assert top - fall == pytest.approx(run.outfall + half, abs=5e-4)


@pytest.mark.identity
@settings(max_examples=60, deadline=None, phases=QUICK, suppress_health_check=list(HealthCheck))
@given(plans())
def test_every_piece_lies_in_one_length_of_pipe(plan):
    made = cut_list(plan, Workshop(kerf=0.003))
    for nested in made.nested:
        seen = [i for bar in nested.nesting.bars for i in bar.pieces]
        assert sorted(seen) == list(range(len(nested.cuts)))
        for bar in nested.nesting.bars:
            used = sum(nested.cuts[i].length for i in bar.pieces)
            assert used + 0.003 * (len(bar.pieces) - 1) <= bar.length + 1e-4


@pytest.mark.identity
def test_a_long_piece_is_joined():
    plan = read_plan(DEMO)
    run = replace(plan.runs[0], length=7.0)
    plan = replace(plan, runs=(run, *plan.runs[1:]))
    made = cut_list(plan, Workshop(stock=(Stock(run.pipe.series, run.pipe.size, sold=(3.0,)),)))
    cuts = made.of_way("bed 1 to tee 2")
    # 7.0 - 0.0896 down - 0.0409 bend - 0.0251 tee = 6.844 of level pipe: three parts and two couplings.
    assert len(cuts) == 4
    assert len(made.couplings) == 2
    assert sum(c.exact for c in cuts[1:]) == pytest.approx(6.8444 - 2 * 0.003, abs=1e-3)
    assert max(c.length for c in cuts) <= 3.0
    # The level pieces go through no wall: the chamfer of the seal is in the upright one alone.
    assert [c.chamfer for c in cuts] == [pytest.approx(0.004), 0.0, 0.0, 0.0]
    assert [(c.first, c.last) for c in cuts[1:]] == [
        ("bend 90, short", "coupling"), ("coupling", "coupling"), ("coupling", "tee 2"),
    ]  # fmt: skip


@pytest.mark.identity
def test_45s_too_close_are_said():
    plan = read_plan(DEMO)

    def with_spacing(spacing):
        last = replace(plan.runs[-1], fittings=(Fitting("two 45s", 1, 0.3, spacing), Fitting("exit", 1, 1.0)))
        made = cut_list(replace(plan, runs=(*plan.runs[:-1], last)), Workshop())
        return [c for c in made.of_way("tee 3 to chamber") if not c.fits], made

    # Two sockets of 27.8 and two take-offs of 0.2071 x 48.26 + 1: 77.6 mm.
    bad, made = with_spacing(0.077)
    assert len(bad) == 1
    assert any("need 77.6 mm" in note for way in made.ways for note in way.notes)
    assert with_spacing(0.078)[0] == []


@pytest.mark.identity
def test_no_bend_for_a_floor_outlet_far_away_is_said():
    plan = read_plan(ROOT / "tests" / "plans" / "half-drums.toml")
    route = next(r for r in routes(plan) if r.name == "drum 1 to tee 1")
    assert {p.heading for p in route.pieces} == {SLANT}
    assert "add its bends" in route.notes[0]


@pytest.mark.identity
@given(st.lists(st.floats(0.001, 9.0), min_size=1, max_size=30))
def test_whole_millimetres_add_up(lengths):
    made = whole_mm(lengths)
    assert abs(sum(made) - sum(lengths) * 1e3) <= 0.5 + 1e-6
    assert all(abs(mm - x * 1e3) <= 1.0 + 1e-6 for mm, x in zip(made, lengths, strict=True))


@pytest.mark.identity
@pytest.mark.parametrize(
    ("metres", "text"), [(0.0254, "1"), (0.0, "0"), (0.3604, "14-3/16"), (0.0127, "1/2"), (0.00159, "1/16")]
)
def test_inches(metres, text):
    assert inches(metres) == text


@pytest.mark.identity
@given(st.floats(0.0, 10.0))
def test_inches_are_near(metres):
    whole, _, part = inches(metres).partition("-")
    if "/" in whole:
        whole, part = "0", whole
    top, _, bottom = part.partition("/")
    value = int(whole) + (int(top) / int(bottom) if bottom else 0)
    assert math.isclose(value * 0.0254, metres, abs_tol=0.0254 / 32 + 1e-9)


@pytest.mark.parametrize(("fixing", "top"), [("over the outlet", "cap"), ("media guard", "open end")])
def test_a_media_guard_is_open_at_its_top_and_a_strainer_capped(fixing, top):
    plan = edit.put(read_plan(DEMO), {"bed.*.strainer.fixing": fixing})
    pieces = [cut for cut in cut_list(plan, Workshop()).cuts if cut.way.startswith("strainer")]
    assert [(cut.last, cut.into_last > 0.0) for cut in pieces] == [(top, top == "cap")] * len(plan.beds)


@pytest.mark.identity
@pytest.mark.parametrize(("length", "parts"), [(3.05, 1), (3.2, 2), (9.5, 4)])
def test_a_piece_is_joined_from_the_longest_length_sold(length, parts):
    """With lengths of 1 and 3 m: the upright pieces are whole, the level one is the plan's less 156 mm."""
    plan = read_plan(DEMO)
    run = replace(plan.runs[0], length=length)
    plan = replace(plan, runs=(run, *plan.runs[1:]))
    made = cut_list(plan, Workshop(stock=(Stock(run.pipe.series, run.pipe.size, sold=(1.0, 3.0)),)))
    level = made.of_way("bed 1 to tee 2")[1:]
    assert len(level) == parts
    stop = fitting_joint("coupling", run.pipe).take_off
    assert sum(c.exact for c in level) == pytest.approx(length - 0.156 - 2 * (parts - 1) * stop, abs=1e-3)
    depth = socket_depth(run.pipe)
    assert [c.into_first for c in level] == pytest.approx([depth] * parts)
    assert [c.into_last for c in level] == pytest.approx([depth] * parts)
