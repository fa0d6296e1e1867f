"""Vessels, paths, starts and stops of a plan, worked out by hand from its own sizes."""

import math
from dataclasses import replace
from types import SimpleNamespace

import pytest

from aquacalc.equations.formulas import friction_factor
from aquacalc.hydraulics import (
    far_end,
    levels,
    mouths,
    paths,
    pump,
    pump_curve,
    running,
    starting,
    stopping,
    storage,
)
from aquacalc.hydraulics.cells import Cells
from aquacalc.hydraulics.duty import PUMP_GUARD_BAND
from aquacalc.hydraulics.siphon import siphon_flow, siphon_head
from aquacalc.plan import edit, plan_from_text, read_plan
from aquacalc.plan.tested import written
from tests.findings_base import demo
from tests.pairs.demo_edits import edited

pytestmark = pytest.mark.identity
G, L_MIN = 9.80665, 60000.0
INSIDE, SIDE, CURVE, DRUMS = (
    read_plan(f"tests/plans/{name}.toml")
    for name in ("inside-bed", "side-outlets", "pump-curve", "half-drums")
)


def plan_with(*changes):
    plan = plan_from_text(edited(*changes))
    return plan, plan.siphons[0]


def circle(d):
    return math.pi / 4 * d**2


def test_water_that_floods_each_vessel():
    """Pores of 0.45 of 0.6 m2 from the pipe 10 mm up in the floor to the lip; the chamber's ring."""
    plan, (siphon,) = demo().plan, demo().plan.siphons
    stand, bell = siphon.standpipe, siphon.bell
    found = levels.floods(plan)
    lip = 0.500 + 0.430
    bed = 0.6 * (0.45 * (lip - 0.710))
    chamber = (circle(0.250) - circle(stand.pipe.outside_diameter)) * 0.400
    chamber -= (circle(bell.outside_diameter) - circle(bell.bore)) * 0.400
    assert found == {"bed 1": pytest.approx(bed), "bed 2": pytest.approx(bed), "bed 3": pytest.approx(bed),
                     "chamber": pytest.approx(chamber)}  # fmt: skip
    assert levels.flood_volume(plan) == pytest.approx(3 * bed + chamber)
    over = edit.put(plan, {"bed.bed 1.floor": 0.940})
    assert levels.floods(over)["bed 1"] == 0.0  # it stands over the lip


def test_sump_as_measured_with_beds_drained_or_flooded():
    """610 mm in a tube of 900 mm; beds that stand full bring what they hold back to it."""
    plan = demo().plan
    assert levels.drained_sump_level(plan) == pytest.approx(-0.400 + 0.610)
    flooded = edit.put(plan, {"sump.measured_with": "beds flooded", "sump.water_level": 0.3})
    assert levels.drained_sump_level(flooded) == pytest.approx(-0.1 + levels.flood_volume(plan) / circle(0.9))


def test_level_at_which_each_vessel_begins():
    plan = demo().plan
    wanted = {"bed 1": 0.710, "tee 2": 0.590, "tee 3": 0.580, "chamber": 0.530}
    assert {name: levels.start_level(plan, name) for name in wanted} == pytest.approx(wanted)
    two = read_plan("tests/plans/two-groups.toml")
    assert levels.start_level(two, "chamber B") == pytest.approx(0.530)
    assert levels.start_level(INSIDE, "bed 1") == pytest.approx(0.730)
    plain = replace(plan, siphons=(replace(plan.siphons[0], host="bed 1"),))
    assert levels.start_level(plain, "chamber") == 0.500  # a chamber without a siphon is empty from its floor


def test_depth_that_a_flow_takes_in_a_pipe():
    """Critical where Q^2 b = g A^3; nothing for no flow, and no deeper than 0.97 of the bore."""
    assert mouths.critical_depth(0.0, 0.04) == mouths.critical_depth(-1.0, 0.04) == 0.0
    assert mouths.critical_depth(1.0, 0.04) == pytest.approx(0.97 * 0.04)
    y = mouths.critical_depth(2e-4, 0.04)
    angle = 2 * math.acos(1 - 2 * y / 0.04)
    area, wide = 0.04**2 / 8 * (angle - math.sin(angle)), 0.04 * math.sin(angle / 2)
    assert 2e-4**2 * wide == pytest.approx(G * area**3, rel=1e-9)
    run = SIDE.run_from("bed 1")
    assert mouths.mouth_level_at(run, 0.0) == 0.0
    projecting = replace(run, fittings=(replace(run.fittings[0], name="entrance, projecting"),))
    assert mouths.mouth_loss(projecting) > mouths.mouth_loss(run)
    assert mouths.mouth_level_at(projecting, 2e-4) > mouths.mouth_level_at(run, 2e-4)


def test_pieces_of_a_siphon_by_hand():
    """Foot 40 mm under the chamber's floor: so much longer the standpipe, so much shorter the tail."""
    plan, siphon = plan_with(("siphon.standpipe", {"foot": '"0.460 m"'}))
    openings, ring, stand, tail = paths.siphon_path(plan, siphon)
    lip, bell = siphon.standpipe.lip_diameter, siphon.bell
    outside = max(lip, siphon.standpipe.pipe.outside_diameter)
    assert (openings.area, openings.k) == pytest.approx((4 * 0.040 * 0.030, 1 / 0.6**2))
    assert (ring.area, ring.diameter) == pytest.approx(
        (circle(bell.bore) - circle(outside), bell.bore - outside)
    )
    assert (ring.length, ring.k) == pytest.approx((0.430 - 0.030, 1.0))
    assert stand.length == pytest.approx(0.430 + 0.040)
    assert tail.length == pytest.approx(0.550 - 0.040)
    assert tail.k == pytest.approx(sum(f.count * f.k for f in siphon.tail.fittings))
    free = running.open_path(plan, siphon)[-1]
    assert (free.area, free.diameter, free.length, free.k) == (stand.area, stand.diameter, 0.0, 1.0)
    long, siphon = plan_with(("siphon.standpipe", {"foot": '"-0.100 m"'}))
    assert paths.siphon_path(long, siphon)[-1].length == 0.0


@pytest.mark.parametrize(("entry", "wide", "k"), [
    ("square", 1.0, 0.5), ("square", 1.5, None), ("cone", 1.5, None), ("cone", 1.0, 0.5),
    ("rounded", 1.2, None),
])  # fmt: skip
def test_entry_over_the_lip(entry, wide, k):
    """Half a velocity head in the lip's own width; what narrows after it costs more, a cone less."""
    base = demo().plan.siphons[0].standpipe
    bore = base.pipe.bore
    loss = paths.standpipe_entry(replace(base, entry=entry, lip_diameter=wide * bore, cone_length=0.03))
    square = 0.5 / wide**4
    if k:
        assert loss == pytest.approx(k)
    elif entry == "square":
        assert loss == pytest.approx(square + 0.5 * (1 - 1 / wide**2), rel=0.1)
    elif entry == "cone":
        half = math.atan(0.25 * bore / 0.03)
        assert loss == pytest.approx(square + 0.8 * math.sin(half) * (1 - 1 / wide**2))
    else:
        assert 0.02 < loss < 0.5


def test_first_piece_of_a_run_is_its_bed_s_strainer():
    plan = demo().plan
    strainer, pipe = paths.run_path(plan, plan.run_from("bed 1"))
    assert strainer.area == pytest.approx(28 * 0.003 * 0.025)
    assert strainer.k == pytest.approx(1 / plan.beds[0].strainer.discharge_coefficient ** 2)
    assert (pipe.length, pipe.area) == pytest.approx((1.44, circle(plan.run_from("bed 1").pipe.bore)))
    assert [p.name for p in paths.run_path(plan, plan.run_from("tee 2"))] == ["pipe and fittings"]
    bare = edit.put(plan, {"bed.bed 1.strainer": None})
    assert len(paths.run_path(bare, bare.run_from("bed 1"))) == 1


def test_losses_of_a_path_add_up():
    pieces = [paths.Piece("a", 1e-3, 0.03, 2.0, 1e-6, 0.7), paths.Piece("b", 2e-3, 1.0, 0.0, 0.0, 2.8)]
    v, w, nu = 4e-4 / 1e-3, 4e-4 / 2e-3, 1e-6
    f = friction_factor(v * 0.03 / nu, 1e-6 / 0.03)
    assert paths.path_loss(pieces, 4e-4, nu) == pytest.approx(
        ((f * 2.0 / 0.03 + 0.7) * v**2 + 2.8 * w**2) / (2 * G)
    )


def test_levels_of_the_pump():
    plan = demo().plan
    assert pump.lowest_pump_level(plan) == pytest.approx(-0.4 + 0.1)
    assert pump.full_flow_level(plan) == pytest.approx(-0.3 + PUMP_GUARD_BAND)
    assert pump.pump_flow(plan, -5.0) == plan.pump.flow
    flow = pump.pump_flow(CURVE, 0.1)
    path = paths.delivery_path(CURVE.pump.delivery)
    asked = CURVE.pump.delivery.outlet - 0.1 + paths.path_loss(path, flow, 1.0034e-6)
    (q0, h0), (q1, h1) = next(
        p for p in zip(CURVE.pump.curve, CURVE.pump.curve[1:], strict=False) if p[1][0] >= flow
    )
    assert h0 + (h1 - h0) * (flow - q0) / (q1 - q0) == pytest.approx(asked, rel=1e-3)


def test_pump_curves_of_a_box():
    """3 m and 60 L/min: between the parabola through both and the straight line through 20 % less of both."""
    boxed = lambda *points: SimpleNamespace(curve=points)  # noqa: E731
    box = boxed((0.0, 3.0), (1e-3, 0.0))
    assert pump_curve.by_box(box)
    for other in (boxed((0.0, 3.0), (5e-4, 2.0), (1e-3, 0.0)), boxed((1e-4, 3.0), (1e-3, 0.0)),
                  boxed((0.0, 3.0), (1e-3, 0.5)), boxed()):  # fmt: skip
        assert not pump_curve.by_box(other)
    low, high = pump_curve.box_curves(box)
    assert low == ((0.0, pytest.approx(2.4)), (pytest.approx(0.8e-3), 0.0))
    assert (high[0], high[-1], len(high)) == ((0.0, 3.0), (1e-3, 0.0), 25)
    assert high[12] == pytest.approx((5e-4, 3.0 * 0.75))


def test_a_tail_has_a_level_part_where_it_is_longer_than_its_fall():
    """It falls 180 mm from the chamber's floor; two bores of 26.6 mm more are its bends."""
    bore = demo().plan.siphons[0].tail.pipe.bore
    for more, level in ((-1e-6, False), (1e-6, True)):
        plan = edit.put(demo().plan, {"siphon.siphon.tail.length": 0.180 + 2 * bore + more})
        assert running.has_level_part(plan, plan.siphons[0]) == level, more


def test_limits_of_the_laws_of_a_tail():
    """Froude numbers 0.3, 0.55 and 1.0 to fill; 0.35 upright or 0.54 level, 1.08 or their mean to stay."""
    plan, siphon = demo().plan, demo().plan.siphons[0]
    D = siphon.tail.pipe.bore
    unit = circle(D) * math.sqrt(G * D)
    laws = [running.tail_law(plan, siphon, law) for law in running.LAWS]
    assert [x.fills / unit for x in laws] == pytest.approx([0.3, 0.55, 1.0])
    assert [x.fills_drowned / unit for x in laws] == pytest.approx([0.3, 0.55, 1.1])
    assert [x.stays / unit for x in laws] == pytest.approx([0.542, 0.5 * (0.542 + 1.075), 1.075])
    assert {x.foot for x in laws} == {0.500}
    upright = edit.put(plan, {"siphon.siphon.tail.length": 0.2})
    assert running.tail_law(upright, upright.siphons[0], "easy").stays / unit == pytest.approx(0.345)


def test_a_full_tail_is_where_it_filled_and_stayed():
    """A tail of 1-1/2 in fills by all laws; at the rim it is full by those that ask less than it carries."""
    plan, siphon = plan_with(("siphon.tail", {"size": '"1-1/2 in"'}))
    end = siphon.tail.end
    rim = plan.rim_level(siphon)
    carries = siphon_flow(plan, siphon, rim, 0.0)
    for law in running.LAWS:
        stays = running.tail_law(plan, siphon, law).stays
        backs = running.backs_up(plan, siphon, rim, 0.0)
        assert running.is_full(plan, siphon, law, rim, (end, 0.0)) == (carries > stays or backs), law
        assert running.is_full(plan, siphon, law, rim, (end, end + 1e-6))  # no air gets to a drowned end
        wanted = siphon_flow if running.is_full(plan, siphon, law, rim, (end, 0.0)) else running.open_flow
        assert running.running_flow(plan, siphon, law, rim, (end, 0.0)) == wanted(plan, siphon, rim, 0.0)
    wide, siphon = plan_with(("siphon.tail", {"size": '"2 in"'}))
    froude = running.open_flow(wide, siphon, wide.lip_level(siphon), end) / (
        circle(siphon.tail.pipe.bore) * math.sqrt(G * siphon.tail.pipe.bore)
    )
    assert 0.55 < froude < 1.0
    assert not running.is_full(wide, siphon, "hard", rim, (end + 1e-6, end + 1e-6))  # it never filled
    assert running.is_full(wide, siphon, "easy", rim, (end + 1e-6, end + 1e-6))


def test_an_open_tail_falls_to_the_foot_or_the_sump():
    plan, siphon = demo().plan, demo().plan.siphons[0]
    high = running.open_flow(plan, siphon, 0.8, 0.55)
    lost = sum(p.loss(high, 1.0034e-6) for p in running.open_path(plan, siphon))
    assert lost == pytest.approx(0.25, rel=1e-3)
    assert running.open_flow(plan, siphon, 0.8, 0.2) == running.open_flow(plan, siphon, 0.8, 0.5)
    assert siphon_head(siphon, 0.8, 0.2) == pytest.approx(0.48)
    assert siphon_head(siphon, 0.8, 0.4) == pytest.approx(0.40)
    D = siphon.tail.pipe.bore
    froude = siphon_flow(plan, siphon, 0.8, 0.2) / (circle(D) * math.sqrt(G * D))
    assert running.tail_froude(plan, siphon, 0.8, 0.2) == pytest.approx(froude)


def test_a_tail_that_rises_from_its_foot_or_never_opens():
    """Its foot no higher than its end, whatever comes fills it."""
    level, siphon = plan_with(("siphon.standpipe", {"foot": '"0.300 m"'}))
    assert running.opens_at(level, siphon, "hard") == siphon.tail.end


def test_start_by_readings_by_print_and_by_other_parts():
    siphon = demo().plan.siphons[0]
    printed = starting.start_band(siphon)
    D = siphon.standpipe.pipe.bore
    unit = circle(D) * math.sqrt(G * D)
    p = siphon.priming
    assert (printed.low, printed.middle, printed.high) == pytest.approx(
        (p.froude_low * unit, p.froude * unit, p.froude_high * unit)
    )
    assert starting.start_froudes(siphon) == pytest.approx((p.froude_low, p.froude, p.froude_high))
    read = replace(p, observed=1e-4, observed_error=2e-5)
    seen = replace(siphon, priming=read, tested=written(siphon))
    assert starting.start_band(seen) == starting.StartBand(8e-5, 1e-4, pytest.approx(1.2e-4), True)
    other = replace(seen, bell=replace(siphon.bell, top_height=0.5))
    assert starting.start_band(other) == printed
    wide = replace(siphon, tail=replace(siphon.tail, pipe=replace(siphon.tail.pipe, bore=0.05)))
    assert starting.start_band(wide).low == printed.low  # the standpipe is the narrowest


def test_how_late_a_siphon_may_start():
    """(Q / (1.34 pi D))^(2/3) at the end of its band, over (Q / (1.71 pi D))^(2/3) in the middle."""
    plan, siphon = demo().plan, demo().plan.siphons[0]
    band, D = starting.start_band(siphon), siphon.standpipe.lip_diameter
    head = lambda q, c: (q / (c * math.pi * D)) ** (2 / 3)  # noqa: E731
    below, inside, above = 0.9 * band.middle, 0.5 * (band.middle + band.high), 1.5 * band.high
    assert below > starting.TENSION_FLOW
    for inflow, late, usual in (
        (below, below, below),
        (inside, inside, band.middle),
        (above, band.high, band.middle),
    ):
        assert starting.late_rise(plan, siphon, inflow) == pytest.approx(
            head(late, 1.34) - head(usual, 1.71)
        ), inflow
    assert starting.spill_level(plan, siphon, band.middle) == pytest.approx(0.930 + head(band.middle, 1.71))
    assert starting.choking_level(plan, siphon) == starting.spill_level(plan, siphon, band.middle)
    little = starting.late_rise(plan, siphon, 1e-5)
    assert head(1e-5, 1.34) - head(1e-5, 1.71) < 0.003 == little
    just = starting.late_rise(plan, siphon, starting.TENSION_FLOW)
    assert just == pytest.approx(head(1e-4, 1.34) - head(1e-4, 1.71))
    lower = replace(siphon, lip_weir=1.2)
    assert starting.late_rise(plan, lower, below) == pytest.approx(0.0, abs=1e-12)


def test_air_under_a_bell_and_the_time_to_carry_it_off():
    siphon = demo().plan.siphons[0]
    air = circle(siphon.bell.bore) * (0.465 - 0.430)
    assert starting.trapped_air(siphon) == pytest.approx(air)
    carried = [0.0066 * (froude - 1) ** 1.4 * starting.choke(siphon) for froude in (10, 5, 3)]
    assert starting.purge(siphon) == pytest.approx([air / q for q in carried])


TUBE = {"bore": '"4 mm"', "length": '"0.5 m"', "mouth": '"70 mm"'}


def test_air_through_a_breather():
    """Suction of 360 mm of water: the energy of the air, and as much loss as its own Reynolds number says."""
    plan, siphon = plan_with(("siphon.breather", TUBE))
    found = stopping.breather(plan, siphon)
    area, pressure = circle(0.004), 998.2 * G * (0.430 - 0.070)
    v = found.air / area
    f = friction_factor(v * 0.004 / 15.1e-6, 1.52e-6 / 0.004)
    assert 1.204 / 2 * v**2 * (1.5 + f * 0.5 / 0.004) == pytest.approx(pressure, rel=1e-4)
    end = siphon.tail.end
    most = max(running.running_flow(plan, siphon, law, 0.570, (end, end)) for law in running.LAWS)
    assert found.needed == pytest.approx(3 * 0.0066 * 9**1.4 * most)
    assert found.level == pytest.approx(0.570)
    assert stopping.Breather(0.5, 1.0, 1.0).firm
    assert not stopping.Breather(0.5, 1.0, 1.1).firm
    assert stopping.breather(demo().plan, demo().plan.siphons[0]) is None
    for mouth, there in (("430 mm", False), ("429 mm", True)):
        plan, siphon = plan_with(("siphon.breather", TUBE | {"mouth": f'"{mouth}"'}))
        assert (stopping.breather(plan, siphon) is not None) == there


@pytest.mark.parametrize(
    ("tube", "notch", "level"),
    [(TUBE, None, 0.570), (TUBE | {"mouth": '"20 mm"'}, None, 0.530),
     (TUBE | {"bore": '"1 mm"'}, '"50 mm"', 0.550),
     (None, '"50 mm"', 0.550), (None, '"20 mm"', 0.530), (None, None, 0.530)],
)  # fmt: skip
def test_level_at_which_a_siphon_breaks(tube, notch, level):
    """A firm breather's mouth, else the notch, but never under the rim at 30 mm over the floor."""
    changes = [("siphon.breather", tube)] if tube else []
    changes += [("siphon.bell", {"notch_height": notch})] if notch else []
    plan, siphon = plan_with(*changes)
    assert stopping.break_level(plan, siphon) == pytest.approx(level)


def test_what_a_siphon_carries_where_it_stops():
    """Of least and most: a firm breather stops it at its mouth alone; another may, and the rim does."""
    sumps = (0.0, 0.2)
    flow = lambda plan, siphon, z: siphon_flow(plan, siphon, z, 0.2)  # noqa: E731
    cases = (((), 0.530, 0.530, False), ((("siphon.breather", TUBE),), 0.570, 0.570, True),
             ((("siphon.breather", TUBE | {"bore": '"1 mm"'}),), 0.530, 0.570, False),
             ((("siphon.bell", {"notch_height": '"50 mm"'}),), 0.530, 0.550, False))  # fmt: skip
    for changes, low, high, firm in cases:
        plan, siphon = plan_with(*changes)
        found = stopping.stop(plan, siphon, sumps)
        assert (found.level, found.firm, found.measured) == (pytest.approx(low), firm, False)
        assert (found.low, found.high) == pytest.approx(
            (flow(plan, siphon, low), flow(plan, siphon, high))
        ), changes
        assert found.flow == pytest.approx(flow(plan, siphon, stopping.break_level(plan, siphon)))
        assert found.margin == pytest.approx(0.1 if firm else 0.0066 * 9**1.4)
    generous = edit.put(demo().plan, {"limits.stop_margin": 0.3})
    assert stopping.stop(generous, generous.siphons[0], sumps).margin == 0.3


@pytest.mark.parametrize("head", [0.0, 0.4])
@pytest.mark.parametrize("sump", [0.2, 0.45])
def test_a_reading_of_what_a_siphon_carries_is_moved_to_where_it_stops(head, sump):
    """12 L/min +- 1 seen under 0.4 m of head, or with the water at the rim; today the sump may take some."""
    plan, siphon = demo().plan, demo().plan.siphons[0]
    seen = {"observed": 12 / L_MIN, "observed_error": 1 / L_MIN, "head": head}
    read = replace(siphon, stopping=replace(siphon.stopping, **seen), tested=written(siphon))
    there = siphon_flow(plan, read, 0.320 + head if head else 0.530, 0.320)
    part = siphon_flow(plan, read, 0.530, sump) / there
    found = stopping.stop(plan, read, (0.0, sump))
    assert (found.low, found.flow, found.high) == pytest.approx([part * q / L_MIN for q in (11, 12, 13)])
    assert (found.margin, found.measured, found.level) == (0.0, True, pytest.approx(0.530))
    other = replace(read, bell=replace(siphon.bell, top_height=0.5))
    assert not stopping.stop(plan, other, (0.0, sump)).measured


def test_cells_of_a_vessel_with_layers_and_inserts():
    """A box of 2 m2: media of half its room to 0.3 m, a post of 0.1 m2, a guard that gives back."""
    box = SimpleNamespace(depth=0.5, breaks=lambda: (), area=lambda z: 2.0, volume=lambda z: 2.0 * z)
    found = storage.cells(box, 1.0, [(0.3, 0.5)], [(0.1, 0.2, 0.1), (0.0, 0.3, -0.05)])
    assert found.z0 == pytest.approx([1.0, 1.1, 1.2, 1.3])
    assert found.z1 == pytest.approx([1.1, 1.2, 1.3, 1.5])
    assert found.A0 == found.A1 == pytest.approx([1.05, 0.95, 1.05, 2.0])
    assert pytest.approx([0.105, 0.2, 0.305, 0.705]) == found.V1
    assert pytest.approx([0.0, *found.V1[:-1]]) == found.V0
    assert isinstance(found, Cells)
    # Marks outside a vessel, or on its ends, make no cell; nor does one a hair beside another.
    assert storage.heights(box, [-0.1, 0.0, 0.5, 0.6, 0.2, 0.2 + 1e-10]) == [0.0, 0.2, 0.5]
    cone = SimpleNamespace(depth=0.5, breaks=lambda: (0.25,), area=lambda z: z, volume=lambda z: 0.5 * z * z)
    point = storage.cells(cone, 0.0, [], [])
    assert (point.A0[0], point.A1[0]) == pytest.approx((0.125, 0.25))  # its lowest point still has a surface


def test_what_stands_in_a_vessel():
    plan = INSIDE
    siphon = plan.siphons[0]
    wall, post = storage.bell_inserts(plan, "bed 1")
    assert wall == (
        0.030,
        0.250,
        pytest.approx(circle(siphon.bell.outside_diameter) - circle(siphon.bell.bore)),
    )
    assert post == (0.0, 0.220, pytest.approx(circle(siphon.standpipe.pipe.outside_diameter)))
    assert storage.bell_inserts(plan, "bed 2") == []
    low, other = (storage.vessel_cells(plan, bed).A0[0] for bed in plan.beds)
    pores = plan.beds[0].media.porosity
    assert other == pytest.approx(0.6 * pores)
    assert low == pytest.approx(0.6 * pores + (1 - pores) * circle(0.154) - post[2])


def test_middle_of_an_outlet_along_a_bed():
    moved = edit.put(demo().plan, {"bed.bed 1.outlet_along": 0.2})
    for plan, name, along in ((INSIDE, "bed 1", 0.5), (SIDE, "bed 1", 0.0), (demo().plan, "bed 1", 0.6),
                              (moved, "bed 1", 0.2)):  # fmt: skip
        assert far_end.outlet_along(plan, plan.bed(name)) == pytest.approx(along), plan.name


def test_far_end_without_flow_and_over_the_media():
    """With water over the media nothing holds it back; without flow nothing rises or settles."""
    plan = edit.put(demo().plan, {"bed.bed 1.outlet_along": 0.2})
    bed = plan.beds[0]
    assert far_end.far_end(plan, bed, 0.0, 0.8, False) == far_end.FarEnd(pytest.approx(1.0), 0.0, 0.0, 0.0)
    assert far_end.rise(plan, bed, 1e-4, bed.floor + 0.27, False, 1.0) == 0.0
    assert far_end.rise(plan, bed, 1e-4, bed.floor + 0.2, False, 1.0) > 0.0
    shallow = [far_end.rise(plan, bed, 1e-5, bed.floor + z, False, 1.0) for z in (-0.1, 0.0, 0.002)]
    assert shallow == pytest.approx([shallow[2]] * 3, rel=1e-9)
    end = far_end.far_end(plan, bed, 1e-4, bed.floor + 0.05, True)
    # Darcy: the flow of a slope of one, through half the rise more than stands at the outlet.
    deep = 0.05 + 0.5 * end.hard
    speed = 1e-4 * 1.0 / 1.2 / (0.5 * deep) / (end.hard / 1.0)
    assert end.settles == pytest.approx(0.45 * 1.0**2 / (speed * deep))
    once = far_end.far_end(plan, bed, 1e-4, bed.floor + 0.05, False)
    deep = 0.05 + 0.5 * once.hard
    assert once.settles == pytest.approx(0.45 / (1e-4 / (0.5 * deep) / once.hard * deep))
