"""Every shape of vessel: area, volume, height, outline and the sizes that make no vessel."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from scipy.integrate import quad

from aquacalc.hydraulics.levels import level_at, volume_at
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan import PlanError, plan_from_text, read_plan
from aquacalc.plan.shapes import SHAPES, make
from aquacalc.results.cycle import run_plan

SIZES = {
    "rectangular": {"depth": 0.3, "length": 1.2, "width": 0.5},
    "tapered": {"depth": 0.3, "length": 1.2, "width": 0.5, "top_length": 1.3, "top_width": 0.62},
    "round": {"depth": 0.6, "diameter": 0.9},
    "oval": {"depth": 0.6, "length": 1.4, "width": 0.6, "top_length": 1.5, "top_width": 0.75},
    "half drum": {"depth": 0.29, "length": 0.88, "diameter": 0.58},
    "table": {"depth": 0.3, "depths": (0.0, 0.12, 0.3), "areas": (0.5, 0.62, 0.6)},
}
TUB = """
shape = "oval"
length = "1.2 m"
width = "500 mm"
{rim}depth = "300 mm"
"""


def test_every_shape_is_tried_here():
    assert set(SIZES) == set(SHAPES)


@pytest.fixture(params=sorted(SIZES))
def shape(request):
    return make(request.param, **SIZES[request.param])


@pytest.mark.identity
def test_volume_is_the_integral_of_the_area(shape):
    for z in (0.1 * shape.depth, 0.5 * shape.depth, shape.depth):
        kinks = [b for b in shape.breaks() if shape.kind == "table" and 0.0 < b < z]
        whole = quad(shape.area, 0.0, z, points=kinks or None, epsabs=1e-13, epsrel=1e-11)[0]
        assert shape.volume(z) == pytest.approx(whole, rel=1e-9)


@pytest.mark.identity
def test_height_undoes_volume(shape):
    for part in (0.05, 0.4, 0.99):
        assert shape.height(shape.volume(part * shape.depth)) == pytest.approx(part * shape.depth, abs=1e-9)
    assert shape.height(2.0 * shape.volume(shape.depth)) == pytest.approx(shape.depth, abs=1e-9)


@pytest.mark.identity
def test_outline_encloses_the_area(shape):
    """By the shoelace formula; 64 sides of an inscribed polygon have sin(t)/t of the ellipse, t = 2 pi/64."""
    t = 2.0 * math.pi / 64
    for z in (0.3 * shape.depth, 0.9 * shape.depth):
        corners = shape.outline(z)
        turns = zip(corners, corners[1:] + corners[:1], strict=True)
        enclosed = 0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in turns)
        part = math.sin(t) / t if shape.rounded else 1.0
        assert enclosed == pytest.approx(part * shape.area(z), rel=1e-9)


@pytest.mark.identity
def test_scaling_scales_every_area(shape):
    twice = shape.scaled(2.0)
    assert twice.depth == shape.depth
    for z in (0.2 * shape.depth, shape.depth):
        assert twice.area(z) == pytest.approx(2.0 * shape.area(z), rel=1e-12)


@pytest.mark.identity
def test_nothing_wider_than_the_narrowest_way_fits(shape):
    first = 0.5 if shape.kind == "half drum" else 0.0  # a drum's lowest line has no width
    ways = [side for part in (first, 1.0) for side in shape.across(part * shape.depth)]
    circle = math.sqrt(4.0 / math.pi) if shape.kind == "table" else 1.0  # across a circle, not a square
    assert min(ways) <= shape.narrowest() <= circle * max(ways)
    assert shape.kind == "half drum" or shape.narrowest() == pytest.approx(circle * min(ways))


@pytest.mark.identity
def test_a_round_tank_is_an_oval_one():
    tank, tub = make("round", depth=0.5, diameter=0.9), make("oval", depth=0.5, length=0.9, width=0.9,
                                                             top_length=0.9, top_width=0.9)  # fmt: skip
    assert tub.volume(0.31) == pytest.approx(tank.volume(0.31), rel=1e-12)
    assert tub.half_width(0.2) == pytest.approx(tank.half_width(0.2))


def oval_plan(rim: str = "") -> str:
    text = Path("data/plans/one-bed.toml").read_text(encoding="utf-8")
    start, end = text.index('shape = "'), text.index('depth = "')
    return text[:start] + TUB.format(rim=rim).strip().rpartition("\n")[0] + "\n" + text[end:]


@pytest.mark.identity
def test_a_plan_with_a_bath_tub_floods_and_drains():
    """Its water is 0.25 pi of a box's in the media; straight walls when no size is given at the rim."""
    plan = plan_from_text(oval_plan())
    bed = plan.beds[0]
    assert (bed.shape.kind, bed.shape.top_length, bed.shape.top_width) == ("oval", 1.2, 0.5)
    cells = vessel_cells(plan, bed)
    assert level_at(cells, volume_at(cells, bed.floor + 0.1)) == pytest.approx(bed.floor + 0.1, abs=1e-12)
    run = run_plan(plan, trace=False)
    assert run.groups[0].outcome == "cycles"
    assert run.balance < 1e-9
    wider = run_plan(plan_from_text(oval_plan('top_length = "1.3 m"\ntop_width = "600 mm"\n')), trace=False)
    assert wider.groups[0].pumped > run.groups[0].pumped


def test_a_tapered_trough_needs_its_sizes_at_the_rim():
    text = Path("data/plans/one-bed.toml").read_text(encoding="utf-8")
    with pytest.raises(PlanError, match="top_length"):
        plan_from_text(text.replace('shape = "rectangular"', 'shape = "tapered"', 1))


def test_old_plans_have_the_shapes_they_had():
    kinds = {bed.shape.kind for bed in read_plan("tests/plans/half-drums.toml").beds}
    assert "half drum" in kinds


@pytest.mark.identity
def test_the_narrowest_way_across_decides_what_goes_in():
    """A half drum of 0.88 by 0.58 m takes 0.58; a table says nothing of widths, so a round one is meant."""
    found = {kind: make(kind, **sizes).narrowest() for kind, sizes in SIZES.items()}
    assert found.pop("table") == pytest.approx(math.sqrt(4.0 * 0.5 / math.pi))
    assert found == {"rectangular": 0.5, "tapered": 0.5, "round": 0.9, "oval": 0.6, "half drum": 0.58}
    assert make("half drum", depth=0.29, length=0.4, diameter=0.58).narrowest() == 0.4


@pytest.mark.identity
def test_a_vessel_scaled_is_as_deep_and_holds_so_much_more(shape):
    """In length, in area or as the factor is meant: what it holds at each level has one ratio to before."""
    wider = shape.scaled(1.21)
    assert wider.depth == shape.depth
    ratios = [wider.volume(part * shape.depth) / shape.volume(part * shape.depth) for part in (0.3, 0.7, 1.0)]
    assert ratios == pytest.approx([ratios[0]] * 3)
    assert ratios[0] == pytest.approx(1.21)


@pytest.mark.identity
def test_what_a_table_of_areas_may_not_be():
    def keys(**changes):
        return [p.key for p in make("table", **SIZES["table"] | changes).problems(str)]

    assert keys() == []
    assert keys(areas=(0.5, 0.62)) == ["areas"]
    assert keys(depths=(0.01, 0.12, 0.3)) == ["depths"]
    assert keys(depths=(0.0, 0.12, 0.12)) == ["depths"]
    assert keys(areas=(0.5, 0.0, 0.6)) == ["areas"]
    drum = SIZES["half drum"]
    for deep, said in ((0.58, []), (0.581, ["depth"])):
        assert [p.key for p in make("half drum", **drum | {"depth": deep}).problems(str)] == said


@pytest.mark.identity
@pytest.mark.parametrize("kind", sorted(SHAPES))
def test_a_size_that_is_left_out_is_none_at_all(kind):
    """A plan whose shape is changed lacks the sizes of the new one; 0 is refused, or means the usual."""
    bare = make(kind, depth=0.3)
    assert {getattr(bare, key) for key in bare.keys if key != "depth"} <= {0.0, ()}
