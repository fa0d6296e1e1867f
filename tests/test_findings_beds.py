"""Findings on beds, chambers, sump and pump, each just inside and just outside its limit."""

import math

import pytest

from aquacalc.findings.beds import weight
from aquacalc.findings.draining import GRAIN_RATIO, coarse_grain
from aquacalc.geometry.holes import openings
from aquacalc.plan import edit, read_plan
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import sump_range, system_water
from tests.findings_base import HAIR, demo, found, states, with_node, with_plan

pytestmark = pytest.mark.identity
BED = "bed 1"


def test_a_bed_may_keep_the_residual_asked_for():
    left = demo().node(BED).low - 0.710  # 10 mm of pipe stand in its outlet
    inside, outside = (with_plan(demo(), {"limits.residual": left * (1 + d)}) for d in (HAIR, -HAIR))
    assert states("drains", inside, outside, subject=BED) == ["good", "may or may not"]
    finding = found(outside, "drains", BED)
    assert finding.value == pytest.approx(left)
    assert finding.title == "Keeps more water than you allow"
    flood = found(with_node(demo(), BED, low=0.715, high=0.910), "drains", BED)
    assert flood.cause.startswith("At its lowest 5.00 mm of water is left above its outlet; ")
    assert flood.cause.endswith("The flood is 200 mm deep.")


def test_a_bed_that_surely_keeps_more_than_asked_does_not_drain():
    """20 mm may stay; 15 % and 3 mm over that nobody can say."""
    runs = [with_node(demo(), BED, low=0.736 + d) for d in (-1e-6, 1e-6)]
    assert states("drains", *runs, subject=BED) == ["may or may not", "does not"]


def test_the_bed_that_holds_the_siphon_drains_to_the_bell_rim():
    plan = read_plan("tests/plans/inside-bed.toml")
    run = run_plan(plan, trace=False)
    host = plan.siphons[0].host
    assert found(run, "drains", host).value == pytest.approx(0.0, abs=1e-6)
    assert "the level at which the siphon breaks" in found(run, "drains", host).cause


def test_water_that_a_tee_holds_back_is_put_down_to_it():
    """A tee 0.10 m over the bed's own outlet, which stands 10 mm over its floor at 0.70 m."""
    run = with_plan(demo(), {"tee.tee 3.elevation": 0.810})
    finding = found(with_node(run, BED, low=0.812, high=0.95), "drains", BED)
    assert "Tee 3, at 0.810 m, is 100 mm above its outlet, and water cannot drain over it." in finding.cause


def test_nothing_is_said_of_draining_where_nothing_drains():
    run = run_plan(edit.put(demo().plan, {"pump.flow": 4 / 60000}), trace=False)
    assert run.groups[0].outcome == "spills"
    assert states("drains", run, subject=BED) == [None]


def test_freeboard_of_a_bed():
    """The rim stands at 0.700 + 0.300 m and 30 mm are asked for."""
    levels = (0.970 - 1e-6, 0.970 + 1e-6, 1.000 - 1e-6, 1.000 + 1e-6)
    runs = [with_node(demo(), BED, high=z) for z in levels]
    assert states("bed_freeboard", *runs, subject=BED) == ["good", "watch", "may or may not", "does not"]
    assert found(runs[1], "bed_freeboard", BED).margin == pytest.approx(-1e-6)
    assert found(runs[3], "bed_freeboard", BED).title == "Bed overflows"


def test_the_top_of_the_media_stays_dry():
    """The media ends at 0.700 + 0.270 m."""
    levels = (0.970 - 1e-6, 0.970 + 1e-6, 1.000 + 1e-6)
    runs = [with_node(demo(), BED, high=z) for z in levels]
    assert states("dry_top", *runs, subject=BED) == ["good", "watch", None]
    assert found(runs[1], "dry_top", BED).title == "Water rises above the media"


def test_freeboard_of_the_chamber():
    """The rim stands at 0.500 + 0.520 m and 10 mm are wanted."""
    levels = (1.010 - 1e-6, 1.010 + 1e-6, 1.020 - 1e-3, 1.020 + 1e-6)
    runs = [with_node(demo(), "chamber", high=z) for z in levels]
    assert states("chamber_freeboard", *runs) == ["good", "watch", "may or may not", "does not"]
    assert found(runs[2], "chamber_freeboard").title == "Chamber may overflow before the siphon starts"
    assert found(runs[3], "chamber_freeboard").title == "Chamber overflows"


def test_strainer_area_over_bore():
    bore = next(r for r in demo().plan.runs if r.start == BED).pipe.bore
    ratio = 28 * 0.003 * 0.025 / (math.pi * bore**2 / 4)
    inside, outside = (with_plan(demo(), {"limits.strainer_ratio": ratio * (1 + d)}) for d in (-HAIR, HAIR))
    assert states("strainer", inside, outside, subject=BED) == ["good", "watch"]
    assert found(inside, "strainer", BED).value == pytest.approx(ratio)


def test_a_bare_pipe_is_held_against_the_grains_as_a_hole():
    """A bore of 40.9 mm; 85 % of grains of 8 to `largest` are smaller than 8 + 0.85 (largest - 8)."""
    bare = {f"bed.{BED}.strainer": None}
    grains = ({"bed.bed 1.grain_largest": mm / 1000.0} for mm in (40.8, 46.6, 46.8))
    unknown = {"bed.bed 1.grain_smallest": 0.0, "bed.bed 1.grain_largest": 0.0}
    no_media = {"bed.bed 1.media_depth": 0.0}
    runs = [with_plan(demo(), bare | more) for more in (*grains, unknown, no_media)]
    wanted = ["does not", "may or may not", "watch", "may or may not", "watch"]
    assert states("strainer", *runs, subject=BED) == wanted


def test_wet_weight_by_hand_and_its_limit():
    """14 kg empty, 0.162 m3 of clay, and water to the flood level in the media's pores."""
    run = demo()
    bed = run.plan.beds[0]
    depth = run.node(BED).high - 0.700
    assert depth < 0.270
    water = 998.2 * 0.45 * 0.6 * depth
    total = 14 + bed.media.bulk_density * 0.6 * 0.27 + water
    w = weight(run.plan, bed, run.node(BED).high)
    assert w.total == pytest.approx(total, rel=1e-5)
    assert w.load == pytest.approx(total / 0.6, rel=1e-5)
    assert w.support == pytest.approx(total / 4, rel=1e-5)
    inside, outside = (with_plan(run, {"limits.floor_load": w.load * (1 + d)}) for d in (HAIR, -HAIR))
    assert states("weight", inside, outside, subject=BED) == ["good", "does not"]
    assert "licensed" in found(outside, "weight", BED).change
    assert states("weight", with_plan(run, {"limits.floor_load": 0.0}), subject=BED) == ["watch"]
    unknown = found(with_plan(run, {f"bed.{BED}.bulk_density": 0.0}), "weight", BED)
    assert "no mass for the media" in unknown.cause


@pytest.mark.identity
def test_load_of_flooded_gravel():
    """0.30 m of gravel at 1600 kg/m3 with 0.40 full of water weighs 600 kg/m2 (arithmetic; water 1000)."""
    bed = {"media_depth": 0.3, "porosity": 0.40, "bulk_density": 1600.0, "empty_mass": 0.0}
    plan = edit.put(demo().plan, {f"bed.{BED}.{k}": v for k, v in bed.items()})
    assert weight(plan, plan.beds[0], 1.0).load == pytest.approx(600, abs=0.5)
    assert weight(plan, plan.beds[0], 2.0).load == weight(plan, plan.beds[0], 1.0).load


def test_footprint_of_each_shape():
    beds = {b.name: b for b in read_plan("tests/plans/half-drums.toml").beds}
    drum = beds["drum 1"].shape
    assert drum.footprint() == pytest.approx(drum.length * drum.diameter)
    tub = beds["tub"].shape
    assert tub.footprint() == pytest.approx(tub.areas[0])


def sump_area():
    return math.pi * 0.9**2 / 4


def test_sump_levels_by_hand():
    run = demo()
    group, levels = run.groups[0], sump_range(run.plan, run)
    # Drained the water in the sump is at -0.400 + 0.610 m; the cycle then keeps what is left in the beds.
    start = system_water(run.plan, run) - 0.610 * sump_area()
    assert levels.high == pytest.approx(0.210 - (group.volume_low - start) / sump_area())
    assert levels.low == pytest.approx(0.210 - (group.volume_high - start) / sump_area())
    assert levels.low == pytest.approx(run.sump_low, abs=1e-6)
    bore = run.plan.pump.delivery.pipe.bore
    assert levels.pump_off == pytest.approx(0.210 + 4.2 * math.pi * bore**2 / 4 / sump_area())


@pytest.mark.parametrize(
    ("key", "level", "titles"),
    [
        (
            "sump_overflow",
            "high",
            ("Sump overflows", "Sump may overflow", "Sump freeboard is short", "Sump holds the water"),
        ),
        (
            "drain_back",
            "pump_off",
            (
                "Sump overflows when the pump stops",
                "Sump may overflow when the pump stops",
                "Sump freeboard is short when the pump stops",
                "Sump holds the drain-back",
            ),
        ),
    ],
)
def test_sump_freeboard_and_overflow(key, level, titles):
    run = demo()
    z = getattr(sump_range(run.plan, run), level)
    room = 0.300 - z
    runs = [with_plan(run, {"sump.freeboard": room + d}) for d in (-1e-6, 1e-6)]
    assert states(key, *runs) == ["good", "watch"]
    assert [found(r, key).title for r in reversed(runs)] == list(titles[2:])
    assert found(runs[1], key).margin == pytest.approx(-1e-6)
    depth = z + 0.400
    walls = (0.010 + 1e-6, 0.010 - 1e-6, 1e-6, -1e-6)
    runs = [with_plan(run, {"sump.depth": depth + d, "sump.freeboard": 0.0}) for d in walls]
    assert states(key, *runs) == ["good", "may or may not", "may or may not", "does not"]
    assert [found(r, key).title for r in runs] == [titles[k] for k in (3, 1, 1, 0)]
    spilt = found(with_plan(run, {"sump.depth": depth - 0.010}), key)
    assert f"{0.010 * sump_area() * 1000:.2f} L more" in spilt.cause


def test_pump_cover():
    run = demo()
    low = sump_range(run.plan, run).low + 0.400
    intakes = (low - 0.020 - 1e-6, low - 0.020 + 1e-6, low - 1e-3)
    runs = [with_plan(run, {"pump.intake": z}) for z in intakes]
    assert states("pump_cover", *runs) == ["good", "watch", "does not"]
    assert found(runs[1], "pump_cover").margin == pytest.approx(-1e-6)


def test_a_starved_pump_says_how_far_down_the_beds_would_draw_the_sump():
    run = run_plan(edit.put(demo().plan, {"sump.diameter": 0.5}), trace=False)
    finding = found(run, "pump_cover")
    assert finding.state == "does not"
    # 0.2 m3 and more are wanted from 0.51 m of a sump of 0.196 m2.
    assert finding.value < -0.4


def test_groups_are_taken_together():
    plan = read_plan("tests/plans/two-groups.toml")
    run = run_plan(plan, trace=False)
    levels = sump_range(plan, run)
    assert levels.low < run.sump_low - 1e-3
    assert "all siphons" in found(run, "pump_cover").cause
    assert "all siphons" in found(run, "sump_overflow").cause
    assert "all siphons" not in found(demo(), "sump_overflow").cause


@pytest.mark.parametrize("side", [-1.0, 1.0])
def test_a_rib_beside_an_outlet(side):
    """10 mm of flat floor between the edge of the hole, in the middle of 1.2 m, and the rib."""
    hole = next(h for h in openings(demo().plan) if h.vessel == BED)
    assert hole.along == pytest.approx(0.6)
    for room, state in ((0.0101, None), (0.0099, "does not")):
        rib = 0.6 + side * (0.5 * hole.widest + room)
        far = 0.6 - side * 0.4
        run = with_plan(demo(), {f"bed.{BED}.ribs": tuple(sorted((rib, far)))})
        finding = found(run, "hole_rib")
        assert (finding and finding.state) == state, room
        assert finding is None or finding.value == pytest.approx(room)


def test_what_alone_holds_half_of_the_water_or_more_than_may_stay_is_the_cause():
    """A tee over the outlet (10 mm over the floor) by a little over and under half of what is left."""
    for over, named in ((0.0149, False), (0.0151, True)):
        run = with_plan(demo(), {"tee.tee 3.elevation": 0.710 + over, "limits.residual": 0.02})
        finding = found(with_node(run, BED, low=0.740, high=0.95), "drains", BED)
        assert ("Tee 3" in finding.cause) is named, over
    for over, named in ((0.0199, False), (0.0201, True)):
        run = with_plan(demo(), {"tee.tee 3.elevation": 0.710 + over, "limits.residual": 0.02})
        finding = found(with_node(run, BED, low=0.810, high=0.95), "drains", BED)
        assert ("Tee 3" in finding.cause) is named, over


def test_openings_between_a_bed_of_small_and_of_large_grains():
    """Slots narrower than the small grains are good, those wider than the large ones let all through."""
    ratio = GRAIN_RATIO["slots"]
    states_of = {}
    for width in (0.001, 0.006, 0.030):
        run = with_plan(demo(), {f"bed.{BED}.grain_smallest": 0.008, f"bed.{BED}.grain_largest": 0.016,
                                 f"bed.{BED}.strainer.width": width})  # fmt: skip
        finding = found(run, "strainer_grains", BED)
        states_of[width] = finding.state
        assert finding.limit == pytest.approx(coarse_grain(run.plan.bed(BED)) / ratio)
        if finding.state == "may or may not":
            assert finding.band == pytest.approx((finding.limit, 0.016 / ratio))
            assert "Or cut slots of at most" in finding.change
    largest = 0.016 / ratio
    for width, state in ((largest * 0.999, "may or may not"), (largest * 1.001, "does not")):
        run = with_plan(demo(), {f"bed.{BED}.grain_smallest": 0.002, f"bed.{BED}.grain_largest": 0.016,
                                 f"bed.{BED}.strainer.width": width})  # fmt: skip
        assert found(run, "strainer_grains", BED).state == state
    assert states_of[0.001] == "good"
    assert states_of[0.030] == "does not"
