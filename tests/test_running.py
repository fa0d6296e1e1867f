"""Tails full or with air in them, what lets a siphon stop, and mouths with a free surface."""

import math
from dataclasses import replace

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.engine.packing import pack
from aquacalc.engine.pipe_flow import mouth_flow
from aquacalc.equations.formulas import GRAVITY
from aquacalc.equations.mouth import MOUTH_LOSS
from aquacalc.hydraulics import running, stopping
from aquacalc.hydraulics.mouths import critical_depth, mouth_level_at
from aquacalc.hydraulics.pump_curve import box_curves, by_box
from aquacalc.hydraulics.siphon import siphon_flow
from aquacalc.hydraulics.starting import start_band
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan import plan_from_text, read_plan
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import inflow_window
from tests.findings_base import demo
from tests.independent import mouth
from tests.pairs.demo_edits import edited

L_MIN = 60000.0
FT = 0.3048
WIDE = ("siphon.tail", {"size": '"3 in"'})
SUMPS = (0.0, 0.2)


def plan_with(*changes):
    plan = plan_from_text(edited(*changes))
    return plan, plan.siphons[0]


@pytest.mark.identity
def test_open_tail_lets_out_what_falls_to_the_foot():
    """Energy from the rim to the foot, every loss by hand: openings, annulus, entry, friction, fall."""
    plan, siphon = plan_with(WIDE)
    rim = plan.rim_level(siphon)
    flow = running.open_flow(plan, siphon, rim, 0.0)
    lost = sum(p.loss(flow, 1.0034e-6) for p in running.open_path(plan, siphon))
    assert lost == pytest.approx(siphon.bell.rim_height, rel=1e-3)
    assert 18.0 < flow * L_MIN < 20.0
    plan, siphon = plan_with(WIDE, ("siphon.standpipe", {"foot": '"0.470 m"'}))
    assert running.open_flow(plan, siphon, rim, 0.0) * L_MIN == pytest.approx(28.0, abs=0.5)


@pytest.mark.identity
def test_narrow_tail_may_start_it_and_a_wide_one_does_not():
    narrow, same, wide = (
        start_band(plan_with(("siphon.tail", {"size": f'"{x} in"'}))[1]) for x in ("3/4", "1", "3")
    )
    assert (narrow.low * L_MIN, narrow.high * L_MIN) == pytest.approx((2.8, 17.0), rel=0.01)
    assert same == wide
    assert narrow.low < same.low


@pytest.mark.identity
@pytest.mark.parametrize("law", running.LAWS)
def test_tail_of_the_standpipes_bore_is_full_and_a_much_wider_one_is_not(law):
    plan, siphon = plan_with()
    rim = plan.rim_level(siphon)
    assert running.is_full(plan, siphon, law, rim, SUMPS)
    assert running.running_flow(plan, siphon, law, rim, SUMPS) == siphon_flow(plan, siphon, rim, SUMPS[1])
    plan, siphon = plan_with(WIDE)
    assert not running.is_full(plan, siphon, law, rim, SUMPS)


@pytest.mark.identity
@pytest.mark.parametrize(("size", "by"), [("1-1/2 in", 3), ("2 in", 2), ("3 in", 1)])
@pytest.mark.parametrize("drowned", [False, True])
def test_a_wider_tail_fills_by_fewer_laws(size, by, drowned):
    """1.282 L/s fall into it: Froude 1.54, 0.83 and 0.31 on its bore, against 0.3, 0.55 and 1.0 or 1.1."""
    plan, siphon = plan_with(("siphon.tail", {"size": f'"{size}"'}))
    lip, end = plan.lip_level(siphon), siphon.tail.end
    assert running.open_flow(plan, siphon, lip, end) * 1e3 == pytest.approx(1.282, abs=5e-4)
    assert not running.backs_up(plan, siphon, lip, end)
    assert [running.fills(plan, siphon, law, drowned) for law in running.LAWS] == [True] * by + [False] * (
        3 - by
    )


@pytest.mark.identity
@pytest.mark.parametrize("law", running.LAWS)
def test_a_tail_opens_where_its_flow_is_too_slow_to_keep_the_air_out(law):
    plan, siphon = plan_with(WIDE)
    level, end = running.opens_at(plan, siphon, law), siphon.tail.end
    flow = siphon_flow(plan, siphon, level, end)
    lip = plan.lip_level(siphon)
    if level < lip:
        assert flow == pytest.approx(running.tail_law(plan, siphon, law).stays, rel=1e-6)
    else:
        assert flow <= running.tail_law(plan, siphon, law).stays
    assert not running.backs_up(plan, siphon, level, end)


@pytest.mark.identity
def test_a_tail_that_backs_up_opens_where_both_flows_are_one():
    plan, siphon = plan_with(
        ("siphon.tail", {"fittings": '["bend 90, short", {fitting = "valve", k = 40}, "exit"]'})
    )
    level, end = running.opens_at(plan, siphon, "hard"), siphon.tail.end
    assert end < level < plan.lip_level(siphon)
    full = siphon_flow(plan, siphon, level, end)
    assert full == pytest.approx(running.open_flow(plan, siphon, level, end), rel=1e-6)
    assert full < running.tail_law(plan, siphon, "hard").stays


@pytest.mark.identity
def test_the_lowest_water_in_a_drum_has_a_surface():
    """Its lowest line has no area: the lowest cell has that of its volume over its height."""
    plan = read_plan("tests/plans/half-drums.toml")
    cells = vessel_cells(plan, plan.beds[0])
    assert cells.A0[0] == pytest.approx(cells.V1[0] / (cells.z1[0] - cells.z0[0]))
    assert cells.A0[1] == pytest.approx(cells.A1[0])


@pytest.mark.identity
def test_tail_that_carries_less_full_than_falls_in_backs_up():
    plan, siphon = plan_with(
        ("siphon.tail", {"fittings": '["bend 90, short", {fitting = "valve", k = 40}, "exit"]'})
    )
    rim = plan.rim_level(siphon)
    full = siphon_flow(plan, siphon, rim, 0.0)
    assert full < running.open_flow(plan, siphon, rim, 0.0)
    for law in running.LAWS:
        assert running.running_flow(plan, siphon, law, rim, SUMPS) == full


@pytest.mark.identity
@pytest.mark.parametrize(
    "change",
    [(), (WIDE,), (("siphon.tail", {"size": '"1-1/2 in"'}),), (("siphon.tail", {"size": '"2 in"'}),)],
)
def test_run_breaks_at_the_flow_of_the_window(change):
    """What the run carries when it breaks lies between the least and the most of the window."""
    plan, siphon = plan_with(("pump", {"flow": '"12 L/min"'}), *change)
    run = run_plan(plan, trace=False)
    window = inflow_window(plan, siphon, run)
    assert run.groups[0].outcome == "cycles"
    assert window.stop_least * (1 - 1e-3) <= run.groups[0].flow_break <= window.stop * (1 + 1e-3)


@pytest.mark.identity
def test_breather_and_notch():
    tube = ("siphon.breather", {"bore": '"4 mm"', "length": '"0.5 m"', "mouth": '"70 mm"'})
    plan, siphon = plan_with(tube)
    found = stopping.breather(plan, siphon)
    assert found.firm
    assert 20.0 < found.air * L_MIN < 30.0
    assert stopping.break_level(plan, siphon) == pytest.approx(0.570)
    plan, siphon = plan_with(("siphon.breather", {"bore": '"1 mm"', "length": '"1 m"', "mouth": '"70 mm"'}))
    assert not stopping.breather(plan, siphon).firm
    assert stopping.break_level(plan, siphon) == pytest.approx(0.530)
    plan, siphon = plan_with(("siphon.bell", {"notch_height": '"50 mm"'}))
    found = stopping.stop(plan, siphon, SUMPS)
    assert stopping.break_level(plan, siphon) == pytest.approx(0.550)
    assert found.low < found.high


def run_of(bore, entrance="entrance, square"):
    plan, _ = plan_with(
        ("run 1", {"series": '"own"', "size": '"x"', "bore": f'"{bore} mm"', "outside_diameter": '"60 mm"',
                   "roughness": '"0.0021 mm"'})
    )  # fmt: skip
    return plan.runs[0]


@pytest.mark.identity
@pytest.mark.parametrize(
    ("bore", "flow", "low", "high"), [(40.9, 18, 31, 35), (40.9, 6, 17, 19), (26.6, 6, 20, 23)]
)
def test_water_over_the_invert_of_a_side_outlet(bore, flow, low, high):
    """Critical depth by halving and the energy over it, flush and standing into the bed."""
    run, Q = run_of(bore), flow / L_MIN
    D = bore / 1e3
    y = critical_depth(Q, D)
    angle = 2 * math.acos(1 - 2 * y / D)
    area, wide = D**2 / 8 * (angle - math.sin(angle)), D * math.sin(angle / 2)
    assert Q**2 * wide == pytest.approx(GRAVITY * area**3, rel=1e-9)
    for loss in MOUTH_LOSS:
        level = y + (1 + loss) * (Q / area) ** 2 / (2 * GRAVITY)
        assert low - 0.5 <= level * 1e3 <= high + 0.5
    assert mouth_level_at(run, Q) == pytest.approx(y + 1.2 * (Q / area) ** 2 / (2 * GRAVITY), rel=1e-9)


@pytest.mark.outside
@pytest.mark.parametrize(("K", "M"), [(0.0098, 2.0), (0.0340, 1.5)])
def test_mouth_within_the_band_of_culverts(K, M):
    """HDS-5 inlet control, form 1, as coded in EPA SWMM 5.2: square edge, and thin wall projecting.

    HW/D = E_c/D + K X^M with X = Q/(A sqrt(D)) in feet. Its culverts are 0.15 m
    and more; below that it is held here by Froude's law only.
    """
    for froude in (0.1, 0.2, 0.3, 0.4):
        D = 1.0
        Q = froude * math.pi / 4 * D**2 * math.sqrt(GRAVITY * D)
        y = critical_depth(Q, D)
        angle = 2 * math.acos(1 - 2 * y / D)
        area = D**2 / 8 * (angle - math.sin(angle))
        energy = y + (Q / area) ** 2 / (2 * GRAVITY)
        X = (Q / FT**3) / (math.pi / 4 * (D / FT) ** 2 * math.sqrt(D / FT))
        culvert = energy + K * X**M * D
        flush, projecting = (y + (1 + loss) * (Q / area) ** 2 / (2 * GRAVITY) for loss in MOUTH_LOSS)
        assert 0.9 * flush <= culvert <= 1.1 * projecting


@pytest.mark.identity
@pytest.mark.parametrize("table", [0, 1])
def test_mouth_table_against_the_wetted_angle(table):
    packed = pack(demo().plan)
    before = 0.0
    for k in range(1, 160):
        level = 0.0004 * k
        flow, slope = mouth_flow(packed, table, 0.0409, level)
        assert flow == pytest.approx(mouth(level, 0.0409, table == 1), rel=2e-3)
        more, _ = mouth_flow(packed, table, 0.0409, level * (1 + 1e-6))
        assert (more - flow) / (level * 1e-6) == pytest.approx(slope, rel=2e-3)
        assert flow > before
        before = flow


@pytest.mark.parametrize("name", ["greenhouse", "one-bed"])
def test_the_middle_of_what_keeps_a_tail_full_is_between_the_ends(name):
    """All are a speed times the bore's area, so the middle is the mean of the slow and the fast one."""
    plan = read_plan(data_dir() / "plans" / f"{name}.toml")
    easy, middle, hard = (
        running.tail_law(plan, plan.siphons[0], law).stays for law in ("easy", "middle", "hard")
    )
    assert easy < middle < hard
    assert middle == pytest.approx(0.5 * (easy + hard))


@pytest.mark.parametrize(
    ("curve", "box"),
    [
        (((0.0, 3.0), (1e-3, 0.0)), True),
        (((1e-4, 3.0), (1e-3, 0.0)), False),
        (((0.0, 3.0), (1e-3, 0.1)), False),
        (((0.0, 3.0), (5e-4, 2.0), (1e-3, 0.0)), False),
        ((), False),
    ],
)
def test_two_figures_of_a_box_are_the_ends_of_a_curve(curve, box):
    """A greatest head without flow and a greatest flow without head; a fifth less of both, or a parabola."""
    pump = replace(demo().plan.pump, flow=None, curve=curve)
    assert by_box(pump) is box
    if box:
        low, high = box_curves(pump)
        assert low == (pytest.approx((0.0, 2.4)), pytest.approx((8e-4, 0.0)))
        assert len(high) == 25
        for flow, head in high:
            assert head == pytest.approx(3.0 * (1.0 - (flow / 1e-3) ** 2), abs=1e-12)
        assert [flow for flow, _ in high] == pytest.approx([1e-3 * k / 24 for k in range(25)])
