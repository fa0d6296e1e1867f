"""Holes and strainer openings."""

import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from aquacalc.buildsheet.drilling import cutouts, drilling, fitting_saw
from aquacalc.buildsheet.stock import Workshop
from aquacalc.geometry.holes import hole_sizes, openings
from aquacalc.geometry.strainers import strainer_cut
from aquacalc.plan.model import Pipe, Strainer
from aquacalc.plan.read import read_plan

ROOT = Path(__file__).resolve().parents[2]
DEMO = read_plan(ROOT / "data" / "plans" / "greenhouse.toml")
SAWS = Workshop(hole_saws=(0.025, 0.032, 0.044, 0.064))


@pytest.mark.identity
@pytest.mark.parametrize(
    ("size", "hole"),
    # A common list of holes for rubber pipe seals (from memory): no standard fixes them.
    [("1/2 in", 32), ("3/4 in", 32), ("1 in", 44), ("1-1/4 in", 51), ("1-1/2 in", 64), ("2 in", 76)],
)
def test_holes_of_seals(size, hole):
    pipe = Pipe("ASTM D1785 schedule 40", size, 0.0, 0.0, 0.0)
    sizes, caution = hole_sizes("rubber pipe seal", pipe)
    assert [round(d * 1e3) for d in sizes] == [hole]
    assert caution == "check the seal supplied"


@pytest.mark.identity
def test_sources_that_disagree_are_both_shown():
    # DN 50: 64 mm in common practice, 76 mm in the common list.
    sizes, caution = hole_sizes("rubber pipe seal", Pipe("AS/NZS 1477 PN12", "DN 50", 0.0, 0.0, 0.0))
    assert sizes == (0.064, 0.076)
    assert "disagree" in caution
    assert hole_sizes("rubber pipe seal", Pipe("own", "by hand", 0.0, 0.05, 0.0))[0] == ()


@pytest.mark.identity
def test_only_the_inlets_after_the_first_are_beside_others():
    plan = read_plan(ROOT / "data" / "plans" / "minimal.toml")
    inlets = [hole.place for hole in openings(plan) if hole.what.startswith("inlet")]
    said = [f"wall towards bed {k}{', beside the other inlets' * (k > 1)}" for k in (1, 2, 3)]
    assert [place.partition(";")[0] for place in inlets] == said


@pytest.mark.identity
def test_demo_by_hand():
    holes = drilling(DEMO, SAWS)
    assert [(h.vessel, h.wall, h.saw) for h in holes] == [
        ("bed 1", "floor", 0.064),
        ("bed 2", "floor", 0.064),
        ("bed 3", "floor", 0.064),
        ("chamber", "wall", 0.064),
        ("chamber", "floor", 0.044),
    ]
    assert (holes[0].along, holes[0].across) == (0.6, 0.25)
    # Inlet: invert 560 over a floor at 500, and half a bore of 40.894.
    assert holes[3].height == pytest.approx(0.060 + 0.020447)


@pytest.mark.identity
def test_a_side_outlet_too_low_for_its_hole_is_said():
    plan = read_plan(ROOT / "tests" / "plans" / "side-outlets.toml")
    low = tuple(replace(b, outlet_height=0.010, seal="rubber pipe seal") for b in plan.beds)
    holes = drilling(replace(plan, beds=low), SAWS)
    # Middle 10 + half the bore, hole of 64: its lower edge reaches into the floor.
    assert holes[0].edge == pytest.approx(0.010 + 0.5 * plan.runs[0].pipe.bore - 0.032)
    assert "raise it" in holes[0].caution
    assert "raise it" not in drilling(plan, SAWS)[0].caution


@pytest.mark.identity
@given(st.lists(st.floats(0.01, 0.2), min_size=1, max_size=8), st.floats(0.01, 0.2))
def test_a_saw_is_named_only_where_it_fits(saws, hole):
    """Within a mm of the hole, and then the nearest."""
    found = fitting_saw((hole,), tuple(saws))
    nearest = min(abs(s - hole) for s in saws)
    assert (found is None) == (nearest > 0.001 + 1e-9)
    assert found is None or abs(found - hole) == nearest
    assert fitting_saw((), tuple(saws)) is None
    assert fitting_saw((hole,), ()) is None


@pytest.mark.identity
def test_strainer_by_hand():
    bed = replace(DEMO.beds[0], strainer=Strainer("slots", 28, 0.003, 0.025))
    plan = replace(DEMO, beds=(bed, *DEMO.beds[1:]))
    cut = strainer_cut(plan, bed)
    # Bore 40.894: 13.13 cm2, half as much again is 19.70 cm2; a slot has 0.75 cm2: 26.3, so 27 slots.
    assert cut.asked * 1e4 == pytest.approx(19.70, abs=0.005)
    assert cut.wanted == 27
    assert cut.area * 1e4 == pytest.approx(21.0)
    # A tube of 2 in, bore 52.5, goes over the pipe, 48.26 outside. Round it: 189.5 mm; three slots of 25
    # leave 114.5 mm, 60 %; four would leave 47 %.
    assert cut.pipe.size == "2 in"
    assert cut.per_ring == 3
    assert cut.wall_left == pytest.approx(1 - 75 / (math.pi * 60.325))
    assert cut.rings == 10
    assert cut.pitch == pytest.approx(0.008)
    # 5 mm of wall at the foot, ten rings, and a cap's socket of 29.4.
    assert cut.tube == pytest.approx(0.005 + 10 * 0.008 + 0.0294)
    # Pushed into a coupling: two sockets of 27.8 and 3 mm between them, then 5 mm of wall.
    coupled = replace(bed, strainer=replace(bed.strainer, fixing="in a coupling"))
    cut = strainer_cut(replace(plan, beds=(coupled, *DEMO.beds[1:])), coupled)
    assert cut.tube == pytest.approx(2 * 0.0278 + 10 * 0.008 + 0.005)
    assert cut.sill == pytest.approx(2 * 0.0278 + 0.003 + 0.005)


@pytest.mark.identity
@given(
    st.sampled_from(["slots", "holes"]), st.integers(1, 200), st.floats(0.002, 0.01), st.floats(0.01, 0.07)
)
def test_strainers_keep_wall_and_count(kind, count, width, length):
    bed = replace(DEMO.beds[0], strainer=Strainer(kind, count, width, length if kind == "slots" else 0.0))
    cut = strainer_cut(replace(DEMO, beds=(bed, *DEMO.beds[1:])), bed)
    assert cut.per_ring * cut.rings >= count > cut.per_ring * (cut.rings - 1)
    assert cut.wall_left >= 0.5 - 1e-9 or cut.per_ring == 1
    assert cut.wanted * cut.area / count >= cut.asked - 1e-12 > (cut.wanted - 1) * cut.area / count - 2e-12


@pytest.mark.identity
def test_bell_openings():
    (cut,) = cutouts(DEMO)
    assert (cut.count, cut.top) == (4, 0.03)
    assert cut.around == pytest.approx(math.pi * 0.0889 / 4)


@pytest.mark.identity
def test_a_saw_of_a_whole_millimetre_more_or_less_fits_and_a_hair_more_does_not():
    """Sizes in mm are not exact in m: 61 - 60 is a hair over one."""
    for mm in range(20, 160):
        for saw in (mm - 1, mm + 1):
            assert fitting_saw((mm / 1e3,), (saw / 1e3,)) == saw / 1e3, (mm, saw)
            assert fitting_saw((mm / 1e3,), (saw / 1e3 + math.copysign(1e-6, saw - mm),)) is None, (mm, saw)
