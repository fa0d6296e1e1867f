"""Findings just on either side of their limits, and the numbers in their words worked out by hand."""

import functools
import math
from dataclasses import replace
from types import SimpleNamespace

import pytest

from aquacalc.findings import _with_faults, beds, building, draining, holes, record, siphons, start_stop
from aquacalc.findings import timer as timed
from aquacalc.findings.beds import find_bed, find_chambers, weight
from aquacalc.findings.building import find_building
from aquacalc.findings.delivery import find_delivery
from aquacalc.findings.draining import find_draining, highest_step
from aquacalc.findings.record import Finding, Findings, told_apart
from aquacalc.findings.sump import find_sump
from aquacalc.hydraulics.levels import volume_at
from aquacalc.hydraulics.mouths import mouth_level_at
from aquacalc.hydraulics.siphon import siphon_flow
from aquacalc.hydraulics.starting import late_rise
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan import edit, plan_from_text, read_plan
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import inflow_window, sump_range
from tests.findings_base import demo, with_group, with_node
from tests.pairs.demo_edits import edited

pytestmark = pytest.mark.identity
L_MIN = 60000.0


def of(**values):
    return Finding(**{"key": "k", "title": "t", "state": "good", "subject": "s", "cause": "c."} | values)


@functools.cache
def run_of(name):
    return run_plan(read_plan(f"tests/plans/{name}.toml"), trace=False)


def moved(run, values):
    """The same run under a plan with other values."""
    return replace(run, plan=edit.put(run.plan, values))


def only(found, key, subject=None):
    hits = [f for f in found if f.key == key and subject in (None, f.subject)]
    assert len(hits) <= 1
    return hits[0] if hits else None


def test_what_fails_once_a_siphon_starts_takes_the_place_of_less():
    """A note in the second run changes nothing, nor does what is as bad already, nor the start itself."""
    pairs = (("a", "good", "does not"), ("b", "watch", "watch"), ("c", "watch", "may or may not"),
             ("d", "may or may not", "may or may not"), ("e", "may or may not", "does not"),
             ("start", "good", "does not"), ("spills", "watch", "does not"))  # fmt: skip
    first = [of(key=key, state=state) for key, state, _ in pairs]
    second = [of(key=key, state=state) for key, _, state in pairs]
    second += [
        of(key="new", state="watch"),
        of(key="newer", state="may or may not"),
        of(key="a", subject="z"),
    ]
    found = {(f.key, f.subject): f for f in _with_faults(first, second)}
    assert len(found) == 8
    said = {key: f.cause == "If it starts: c." for (key, _), f in found.items()}
    assert {key for key, is_new in said.items() if is_new} == {"a", "c", "e", "newer"}
    assert [found[key, "s"].state for key in ("a", "c", "e")] == ["does not", "may or may not", "does not"]


def test_room_between_value_and_limit():
    values = {"value": 3.0, "limit": 5.0}
    assert [of(direction=d, **values).margin for d in ("at most", "at least", "")] == [2.0, -2.0, None]
    assert of(value=3.0, direction="at most").margin is None
    assert of(limit=3.0, direction="at most").margin is None
    assert of(value=0.0, limit=0.0, direction="at most").margin == 0.0


def test_a_limit_in_words():
    length = {"kind": "length", "direction": "at least"}
    assert of(value=-0.012, limit=0.03, **length).shown("metric") == "at least 30 mm; you are 42 mm short"
    assert of(value=-0.012, limit=0.0, **length).shown("metric") == "at least 0 mm; you are 12 mm short"
    assert "short" not in of(value=-0.012, limit=-0.02, **length).shown("metric")
    assert "short" not in of(value=0.0, limit=0.03, **length).shown("metric")
    assert "short" not in of(value=-0.01, limit=0.03, kind="length", direction="at most").shown("metric")
    assert of(value=0.0123, kind="length").shown("metric") == "12.3 mm"
    assert of(value=2.0, counts="times the bore").shown("metric") == "2.00 times the bore"
    band = {"value": 0.015, "limit": 0.02, "band": (0.01, 0.02), "direction": "at least", "kind": "length"}
    assert of(state="may or may not", **band).shown("metric").startswith("may go either way between about 10")
    assert of(state="watch", **band).shown("metric") == "at least 20 mm; you have 15"


@pytest.mark.parametrize(
    ("values", "kind", "told"),
    [
        ((0.030, 0.056), "length", ["30 mm", "56"]),
        ((0.03012, 0.0301), "length", ["30.12 mm", "30.1"]),
        ((0.030, 0.030), "length", ["30 mm", "30"]),
        ((0.030, 0.030 * (1 + 1e-7)), "length", ["30 mm", "30"]),
        ((0.012, 0.01501, 0.015), "length", ["12 mm", "15.01 mm", "15"]),
        ((1.0 / L_MIN, 18.03 / L_MIN), "flow", ["1 L/min", "18"]),
        ((17.0 / L_MIN, 18.13 / L_MIN), "flow", ["17 L/min", "18.1"]),
        ((0.5, 0.51), "elevation", ["0.500 m", "0.510"]),
    ],
)
def test_values_are_told_apart_with_as_few_digits_as_do(values, kind, told):
    assert told_apart(values, kind, "metric") == told


def test_findings_name_themselves():
    found = Findings(
        (of(state="watch", title="Short"), of(value=0.03, limit=0.02, kind="length", direction="at least"))
    )
    assert repr(found) == "works\ns: Short (watch)"
    frame = found.frame()
    assert list(frame.margin)[1] == pytest.approx(0.01)
    assert list(frame.unit)[1] == "m"
    assert [record.the(x) for x in ("siphon", "sump", "siphon 1")] == ["the siphon", "the sump", "siphon 1"]
    assert record.also([of(), of(value=2.0, subject="b")], "metric") == "s; b (2.00)"
    alike = record.alike([of(subject="none"), of(value=1.0, limit=0.0, direction="at least", subject="some")])
    assert [[f.subject for f in group] for group in alike] == [["some", "none"]]


def test_media_stand_round_a_guard_and_not_in_it():
    plan = read_plan("tests/plans/inside-bed.toml")
    first, second = (weight(plan, bed, bed.floor) for bed in plan.beds)
    guard = math.pi / 4 * 0.154**2 * 0.26
    assert second.media_volume - first.media_volume == pytest.approx(guard)
    assert second.water == pytest.approx(0.0, abs=1e-9)


def test_a_bed_may_stand_higher_by_a_drowned_tail_or_a_late_start():
    """The tail ends at 0.320 m; a sump at 0.340 m drowns it by 20 mm, more than a late start costs."""
    late = late_rise(demo().plan, demo().plan.siphons[0], demo().groups[0].inflow)
    assert 0.0 < late < 0.020
    freeboard = lambda run: only(find_bed(run.plan, run, run.plan.beds[0]), "bed_freeboard")  # noqa: E731
    near = with_node(demo(), "bed 1", high=1.0 - 0.5 * late)
    finding = freeboard(near)
    assert finding.state == "may or may not"
    assert finding.band == pytest.approx((-0.5 * late, 0.5 * late))
    assert "watch the first flood" in finding.change
    drowned = replace(with_node(demo(), "bed 1", high=1.0 - 0.020), sump_low=0.340)
    finding = freeboard(drowned)
    assert finding.band == pytest.approx((-late, 0.020))
    assert "drowned by 20.0 mm" in finding.cause
    assert finding.change.startswith("End the tail")
    assert freeboard(replace(drowned, sump_low=0.300)).state == "watch"
    just = [with_node(demo(), "bed 1", high=1.0 - late + d) for d in (-1e-9, 1e-9)]
    assert [freeboard(run).state for run in just] == ["watch", "may or may not"]
    chamber = lambda run: only(find_chambers(run.plan, run), "chamber_freeboard")  # noqa: E731
    full = with_node(demo(), "chamber", high=1.020 - late + 1e-9)
    assert chamber(full).band == pytest.approx((-1e-9, late - 1e-9))
    assert chamber(replace(full, sump_low=0.340)).band == pytest.approx((-0.020 - 1e-9, late - 1e-9))
    states = [chamber(with_node(demo(), "chamber", high=z)).state for z in (1.020, 1.020 - late - 1e-9)]
    assert states == ["does not", "watch" if late < beds.CHAMBER_FREEBOARD else "good"]


def test_area_that_a_strainer_lacks():
    plan = edit.put(demo().plan, {"bed.bed 1.strainer.count": 10})
    finding = only(find_bed(plan, demo(), plan.beds[0]), "strainer")
    bore = math.pi / 4 * 40.9**2 / 100  # cm2
    area = 10 * 0.3 * 2.5
    assert finding.state == "watch"
    assert f"Its openings add up to {area:.2f} cm²" in finding.cause
    assert f"{area / bore:.3g} times" in finding.cause
    assert finding.change.startswith(f"Cut at least {1.5 * bore - area:.1f} cm² more")


def flow_back(end, high, **more):
    values = {"pump.delivery.outlet": end} | more
    run = with_node(moved(demo(), values), "bed 2", high=high)
    return (find_delivery(run.plan, run) or [None])[0]


def test_an_end_of_the_delivery_near_the_water():
    """Levels are good to 10 mm: sure from 10 mm over the highest bed on, in the water below it."""
    high = 0.960
    ends = (high + 0.010 + 1e-6, high + 0.010 - 1e-6, high + 1e-6, high, high - 1e-6)
    found = [flow_back(end, high) for end in ends]
    assert [f.state for f in found] == ["good", *["may or may not"] * 4]
    assert found[1].title == found[2].title == "Delivery ends close to the water"
    assert found[3].title == found[4].title == "Beds run back through the pump when it stops"
    assert found[1].band == pytest.approx((high, high + 0.010))
    assert "bed 2 reaches 0.960 m" in found[0].cause
    valve = {"pump.delivery.check_valve": "fitted"}
    assert [flow_back(end, high, **valve).state for end in ends] == ["good"] * 5
    assert flow_back(high - 1e-6, high, **valve).title == "Check valve holds the beds' water"
    assert flow_back(ends[1], high, **valve).title == "Delivery ends above the water"
    assert find_delivery(edit.put(demo().plan, {"pump.delivery": None}), demo()) == []


def test_what_runs_back_through_the_delivery_fills_the_sump():
    """Pores of 0.45 on 0.6 m2: 50 mm out of bed 2, and of each other bed what stands over the pipe's end."""
    end, high = 0.910, 0.960
    others = [max(demo().node(name).high - end, 0.0) for name in ("bed 1", "bed 3")]
    litres = 1000 * 0.45 * 0.6 * (high - end + sum(others))
    finding = flow_back(end, high)
    assert f"up to {litres:.1f} L of the beds'" in finding.cause
    level = demo().sump_low + litres / 1000 / (math.pi / 4 * 0.9**2)
    assert f"fills to {level:.3f} m" in finding.cause
    assert finding.state == "may or may not"
    over = flow_back(end, high, **{"sump.depth": level + 0.4 - 1e-4})
    assert over.state == "does not"
    assert flow_back(end, high, **{"sump.depth": level + 0.4 + 1e-4}).state == "may or may not"


def test_only_beds_that_are_fed_reach_up_to_the_delivery():
    shares = {"bed.bed 2.inflow_share": 0.0}
    finding = flow_back(1.050, 0.990, **shares)
    assert finding.limit == max(demo().node(name).high for name in ("bed 1", "bed 3"))


def test_what_holds_a_bed_s_water_highest():
    plan = demo().plan
    bed = plan.beds[0]
    step = highest_step(plan, bed)
    assert (step.name, step.level) == ("its outlet", pytest.approx(0.710))
    tee = highest_step(edit.put(plan, {"tee.tee 2.elevation": 0.8, "tee.tee 3.elevation": 0.75}), bed)
    assert (tee.name, tee.level, tee.lower) == ("tee 2", 0.8, "Lay tee 2 lower")
    named = SimpleNamespace(name="the tee T", lower=draining.Step("the tee T", 1.0).lower)
    assert named.lower == "Lay the tee T lower"
    out = highest_step(edit.put(plan, {"run.tee 3.outfall": 0.79}), bed)
    assert (out.name, out.level) == ("the outfall into chamber", 0.79)
    for key, height, name in (
        ("rim_height", 0.25, "the bell's rim, where the siphon breaks"),
        ("notch_height", 0.26, "the notch in the bell, where the siphon breaks"),
    ):
        high = highest_step(edit.put(plan, {f"siphon.siphon.bell.{key}": height}), bed)
        assert (high.name, high.level) == (name, pytest.approx(0.5 + height)), key
    tube = ("siphon.breather", {"bore": '"8 mm"', "length": '"0.5 m"', "mouth": '"270 mm"'})
    mouth = highest_step(plan_from_text(edited(tube)), bed)
    assert (mouth.name, mouth.level) == ("the breather's mouth, where the siphon breaks", pytest.approx(0.77))
    assert mouth.lower == "Lead the breather's mouth lower"


def test_why_water_stays():
    """A tee 15 mm over the outlet counts as the reason of 29 mm, not of 31; nor once it is 20 mm allowed."""
    plan = edit.put(demo().plan, {"tee.tee 2.elevation": 0.725})
    why = lambda plan, left: draining._why(plan, plan.beds[0], plan.run_from("bed 1"), 1e-4, left)[0]  # noqa: E731
    assert why(plan, 0.0299).startswith("Tee 2, at 0.725 m, is 15.0 mm above its outlet")
    assert why(plan, 0.0301).startswith("The siphon breaks before")
    high = edit.put(demo().plan, {"tee.tee 2.elevation": 0.7301})
    assert why(high, 0.5).startswith("Tee 2")  # more than the plan lets stay, however much does
    side = read_plan("tests/plans/side-outlets.toml")
    mouth = mouth_level_at(side.run_from("bed 1"), 1e-4)
    said = [why(side, 2 * mouth * x) for x in (0.999, 1.001)]
    assert said[0].startswith("The pump's 6.00 L/min into this bed runs through the mouth")
    assert f"stands {1000 * mouth:.1f} mm over it" in said[0]
    assert said[1].startswith("The siphon breaks before")


def test_the_inflow_in_words_is_the_bed_s_own_share():
    """Shares of 1, 1 and 2 of 18 L/min: 4.5 L/min to bed 1; side outlets take it through their mouths."""
    run = run_of("side-outlets")
    shares = {"bed.bed 1.inflow_share": 1.0, "bed.bed 2.inflow_share": 3.0, "limits.residual": 0.001}
    run = with_node(moved(run, shares), "bed 1", low=0.740 + 0.030)
    finding = only(find_draining(run.plan, run, run.plan.beds[0]), "drains")
    assert f"The pump's {run.pump * L_MIN / 4:.2f} L/min into this bed" in finding.cause


@pytest.mark.parametrize(
    ("deep", "state"),
    [(0.273 + 1e-6, "watch"), (0.273 - 1e-6, "good"), (0.135 + 1e-6, "good"), (0.135 - 1e-6, "watch"),
     (0.054 + 1e-6, "watch"), (0.054 - 1e-6, "does not"), (-0.01, "does not")],
)  # fmt: skip
def test_a_flood_against_the_media(deep, state):
    """In 270 mm: over them by 3 mm, to half of them, to a fifth."""
    run = with_node(demo(), "bed 1", high=0.700 + deep)
    finding = only(find_draining(run.plan, run, run.plan.beds[0]), "flood")
    assert (finding.state, finding.value) == (state, pytest.approx(max(deep, 0.0)))
    assert (finding.limit, finding.direction) == (
        (0.270, "at most") if deep > 0.2 and state == "watch" else (pytest.approx(0.135), "at least")
    )
    bare = moved(run, {"bed.bed 1.media_depth": 0.0})
    assert only(find_draining(bare.plan, bare, bare.plan.beds[0]), "flood") is None
    spills = with_group(run, outcome="spills")
    assert only(find_draining(spills.plan, spills, spills.plan.beds[0]), "flood") is None


@pytest.mark.parametrize(
    ("height", "state"),
    [(0.050 - 1e-6, "good"), (0.050 + 1e-6, "may or may not"), (0.130 - 1e-6, "may or may not"),
     (0.130 + 1e-6, "does not")],
)  # fmt: skip
def test_water_under_a_side_outlet(height, state):
    """50 mm are usual; over half of 260 mm of media it keeps roots under water."""
    base = run_of("side-outlets")
    lies = draining.outlet_level(base.plan, base.plan.beds[0]) - 0.740
    run = moved(base, {"bed.bed 1.outlet_height": height - lies})
    finding = only(find_draining(run.plan, run, run.plan.beds[0]), "wet_zone")
    assert (finding.state, finding.value) == (state, pytest.approx(height))
    if state != "good":
        assert finding.band == pytest.approx((0.050, max(0.130, height)))
    assert only(find_draining(demo().plan, demo(), demo().plan.beds[0]), "wet_zone") is None


def test_grains_against_openings():
    """Of 8 to 16 mm 85 % are under 14.8 mm: slots of that over 1.2 keep them, of 16 mm / 1.2 do not."""
    base = demo()
    grain = {"bed.bed 1.grain_smallest": 0.008, "bed.bed 1.grain_largest": 0.016}
    for kind, ratio in (("slots", 1.2), ("holes", 1.0)):
        states = []
        for wide in (
            0.0148 / ratio - 1e-7,
            0.0148 / ratio + 1e-7,
            0.016 / ratio - 1e-7,
            0.016 / ratio + 1e-7,
        ):
            strainer = {"bed.bed 1.strainer.width": wide, "bed.bed 1.strainer.kind": kind}
            run = moved(base, grain | strainer)
            finding = only(find_draining(run.plan, run, run.plan.beds[0]), "strainer_grains")
            assert finding.limit == pytest.approx(0.0148 / ratio)
            states.append(finding.state)
        assert states == ["good", "may or may not", "may or may not", "does not"], kind
    middle = moved(base, grain | {"bed.bed 1.strainer.width": 0.013})
    finding = only(find_draining(middle.plan, middle, middle.plan.beds[0]), "strainer_grains")
    assert finding.band == pytest.approx((0.0148 / 1.2, 0.016 / 1.2))
    none = moved(base, {"bed.bed 1.grain_smallest": 0.0, "bed.bed 1.grain_largest": 0.0})
    assert only(find_draining(none.plan, none, none.plan.beds[0]), "strainer_grains") is None


def levels(run):
    return sump_range(run.plan, run)


def sump(run, key, of=None):
    return only(find_sump(run.plan, run, of or levels(run)), key)


def test_water_that_a_late_start_takes_from_over_the_intake():
    """Three beds' pores, 0.45 of 0.6 m2 each to the media's top, and the chamber's ring rise by as much."""
    run = demo()
    rise = late_rise(run.plan, run.plan.siphons[0], run.groups[0].inflow)
    more = 0.0
    for vessel in run.plan.vessels:
        if vessel.name != "sump":
            cells, high = vessel_cells(run.plan, vessel), run.node(vessel.name).high
            more += volume_at(cells, high + rise) - volume_at(cells, high)
    assert more == pytest.approx(3 * 0.27 * rise, rel=0.10)
    drop = more / (math.pi / 4 * 0.9**2)
    low = levels(run).low + 0.4
    found = [sump(moved(run, {"pump.intake": low - drop + d}), "pump_cover") for d in (-2e-6, 2e-6)]
    assert found[1].state == "may or may not"
    assert found[1].band == pytest.approx((0.0, drop), abs=3e-6)
    assert found[0].state == ("watch" if drop < 0.020 else "good")
    assert f"up to {1000 * more:.2f} L more" in found[1].cause
    under = sump(moved(run, {"pump.intake": low + 0.001}), "pump_cover")
    assert "would be down to" in under.cause
    assert sump(moved(run, {"pump.intake": low - 0.001}), "pump_cover").state in (
        "does not",
        "may or may not",
    )


def test_water_that_is_too_much_for_a_sump():
    """50 mm of freeboard are kept: over 0.250 m each millimetre is 0.636 L to take out."""
    run, area = demo(), math.pi / 4 * 0.9**2
    for high, state, litres in (
        (0.2499, "good", 0.0),
        (0.2600, "watch", 10 * area),
        (0.2950, "may or may not", 45 * area),
    ):
        finding = sump(run, "sump_overflow", replace(levels(run), high=high))
        assert finding.state == state
        if litres:
            assert f"Take {litres:.3g} L of water out" in finding.change
            assert f"leaves {1000 * (0.3 - high):.3g}" in finding.cause.replace(".0 mm", " mm")
    over = sump(run, "sump_overflow", replace(levels(run), high=0.310))
    assert f"hold {10 * area:.2f} L more than it can" in over.cause
    assert "10.0 mm above the rim" in over.cause
    assert "with all siphons" not in over.cause
    without = moved(run, {"pump.delivery": None})
    assert "run back" not in sump(without, "drain_back", levels(run)).cause
    assert "the delivery pipe run back" in sump(run, "drain_back").cause


def test_a_cycle_in_words():
    group = replace(demo().groups[0], period=600.0, drain_time=150.0)
    assert siphons._cycle(demo().plan, group).cause.startswith(
        "It floods in 7 min 30 s and drains in 2 min 30 s"
    )
    assert siphons._cycle(demo().plan, replace(group, outcome="spills")) is None


def test_the_nearer_of_both_limits_of_floods_is_told():
    plan = edit.put(demo().plan, {"limits.floods_low": 2.0, "limits.floods_high": 10.0})
    for period, limit, direction in ((3600 / 5.9, 2.0, "at least"), (3600 / 6.1, 10.0, "at most")):
        finding = siphons._floods(plan, replace(demo().groups[0], period=period))
        assert (finding.limit * 3600, finding.direction) == (pytest.approx(limit), direction)
        assert finding.state == "good"
    for period, state in ((3600 / 2.0, "good"), (3600 / 10.0, "good"), (1801.0, "watch"), (359.9, "watch")):
        assert siphons._floods(plan, replace(demo().groups[0], period=period)).state == state, period
    assert siphons._floods(plan, replace(demo().groups[0], outcome="spills")) is None


def test_room_over_the_lip_in_bores():
    """The way over a lip of 40.9 mm is as wide as twice the bore of 26.6 mm from 8.7 mm up."""
    stand = demo().plan.siphons[0].standpipe
    lip, bore = math.pi * stand.lip_diameter, math.pi / 4 * stand.pipe.bore**2
    room = 2 * bore / lip
    head = (inflow_window(demo().plan, demo().plan.siphons[0], demo()).start / (1.71 * lip)) ** (2 / 3)
    assert head < room
    states = []
    for d in (1e-6, -1e-6):
        plan = edit.put(demo().plan, {"siphon.siphon.bell.top_height": 0.430 + room + d})
        states.append(siphons._roof(plan, plan.siphons[0]).state)
    assert states == ["good", "watch"]
    low = edit.put(demo().plan, {"siphon.siphon.bell.top_height": 0.430 + 0.005})
    finding = siphons._roof(low, low.siphons[0])
    assert f"the way under it has {1e4 * lip * 0.005:.2f} cm²" in finding.cause
    assert (
        f"{1000 * head:.2f} mm over the lip" in finding.cause or f"{1000 * head:.1f} mm over" in finding.cause
    )
    assert f"{1000 * room:.2f} mm over the lip is comfortable" in finding.change
    assert finding.value == pytest.approx(lip * 0.005 / bore, rel=1e-4)


def stop_of(run, **more):
    plan = run.plan
    window = replace(inflow_window(plan, plan.siphons[0], run), **more)
    return start_stop._stop(plan, plan.siphons[0], run.groups[0], window)


def test_what_stops_it_in_words():
    window = inflow_window(demo().plan, demo().plan.siphons[0], demo())
    good = stop_of(demo())
    assert f"more than {100 * window.margin:.2g} % to spare" in good.cause
    assert "to spare" not in stop_of(demo(), margin=0.0).cause
    assert "to spare" not in stop_of(demo(), stop_observed=True).cause
    drowned = stop_of(demo(), head_at_rim=0.0)
    assert drowned.cause.startswith("The sump's water is above the bell rim")
    assert not stop_of(demo(), head_at_rim=1e-9).cause.startswith("The sump's water is above")
    apart = stop_of(demo(), stop=30 / L_MIN, stop_least=20 / L_MIN)
    assert "carries somewhere from 20 L/min to 30 L/min" in apart.cause
    assert "carries 30 L/min;" in stop_of(demo(), stop=30 / L_MIN, stop_least=30 / L_MIN).cause
    assert "at the breather's mouth" in stop_of(demo(), firm=True).cause
    at = {"stop": 20 / L_MIN, "stop_with_margin": 17 / L_MIN}
    runs_on = with_group(demo(), outcome="runs on")
    assert (
        stop_of(demo(), today_high=20 / L_MIN, today=20 / L_MIN, **at).key == "stop"
    )  # the run says it stops
    assert stop_of(runs_on, today_high=20 / L_MIN, **at).key == "runs_on"
    assert stop_of(runs_on, today_high=19.9 / L_MIN, **at).state == "may or may not"
    assert stop_of(demo(), today_high=20 / L_MIN, stop_observed=True, **at).key == "runs_on"
    unsure = stop_of(demo(), today_high=18 / L_MIN, **at)
    assert unsure.band == pytest.approx((17 / L_MIN, 20 / L_MIN))
    assert "breather tube from the bell's crown" in unsure.change
    assert stop_of(demo(), today_high=17 / L_MIN, **at).state == "good"
    timed_run = moved(demo(), {"pump.on": 900.0, "pump.off": 1800.0})
    assert stop_of(timed_run, today_high=17.1 / L_MIN, **at).title == "Stops when the timer stops the pump"
    assert stop_of(timed_run, today_high=17 / L_MIN, **at).title == "The siphon stops"
    assert stop_of(timed_run, today_high=18 / L_MIN, head_at_rim=0.0, **at).title == "Stop is uncertain"


def breather(mouth, length=0.5, bore=0.004):
    given = {"bore": f'"{bore * 1e3} mm"', "length": f'"{length} m"', "mouth": f'"{mouth * 1e3} mm"'}
    plan = plan_from_text(edited(("siphon.breather", given)))
    return start_stop._breather(plan, plan.siphons[0])


def test_a_breather_by_its_mouth_length_and_bore():
    """Lip 430 mm and rim 30 mm over the floor; from the top at 465 mm to a mouth at 60 are 405 mm."""
    assert [breather(z).title for z in (0.430, 0.4299)] == [
        "Breather keeps the siphon from starting", "Breather is too thin to count on",
    ]  # fmt: skip
    assert [breather(0.060, x).state for x in (0.4049, 0.4051)] == ["does not", "good"]
    assert breather(0.060, 0.4049).limit == pytest.approx(0.405)
    assert [breather(z).title for z in (0.0299, 0.030)] == [
        "Breather's mouth is too low", "Breather breaks the siphon",
    ]  # fmt: skip
    thin = breather(0.060, bore=0.001)
    assert (thin.state, thin.value < thin.limit) == ("watch", True)


def test_a_line_that_climbs_or_has_a_crest():
    """Tee 3 at 0.580 m and an outfall of 0.560 m; a bore of 40.9 mm has its half at 20.4 mm."""

    def falls(**values):
        plan = edit.put(
            demo().plan, {f"tee.tee 3.{k}" if k == "elevation" else k: v for k, v in values.items()}
        )
        return [f for f in building._falls(plan) if f.subject == "tee 3 to chamber"]

    ends = {x: falls(**{"run.tee 3.outfall": 0.580 + x}) for x in (0.0019, 0.0021, 0.0203, 0.0206)}
    assert ends[0.0019] == []
    assert [ends[x][0].state for x in (0.0021, 0.0203, 0.0206)] == [
        "may or may not",
        "may or may not",
        "does not",
    ]
    assert ends[0.0206][0].value == pytest.approx(0.0206)
    assert ends[0.0203][0].band == pytest.approx((0.0, 0.02045), abs=1e-4)
    assert "climbs 20.3 mm" in ends[0.0203][0].cause


def test_a_way_without_bends_and_pieces_that_are_too_short():
    def piece(heading, centre, drop=0.0, need=0.0, name="a"):
        first, last = SimpleNamespace(name=name), SimpleNamespace(name=f"{name}2")
        values = {"centre": centre, "drop": drop, "need": need, "fits": centre >= need}
        return SimpleNamespace(heading=heading, first=first, last=last, **values)

    def keys(length, drop, *pieces, given=True):
        route = SimpleNamespace(name="r", length=length, drop=drop, pieces=pieces, given=given)
        return {f.key: f for f in building._pieces(route, "metric")}

    upright = piece("upright", 0.5)
    assert keys(0.5, 0.4949, upright).keys() == {"straight_length"}
    assert keys(0.5, -0.4951, upright) == {}
    assert keys(0.5, 0.3, upright, piece("level", 0.2)) == {}
    assert keys(0.6, 0.5, piece("slanting", 0.6)).keys() == {"straight_length"}
    level = [piece("level", 0.4, 0.02), piece("level", 0.6, -0.03)]
    assert keys(1.0, 0.0, *level) == {}  # 50 mm in a metre
    steep = keys(1.0, 0.0, *level[:1], piece("level", 0.6, -0.0301))["line_steep"]
    assert (steep.value, steep.limit) == pytest.approx((0.0501, 0.05))
    short = [
        piece("level", 0.10, need=0.11),
        piece("level", 0.05, need=0.08, name="b"),
        piece("upright", 0.2, need=0.2),
    ]
    found = keys(0.35, 0.0, *short)["piece_short"]
    assert (found.value, found.limit, found.state) == (0.05, 0.08, "does not")
    assert found.cause.startswith("Between b and b2")
    assert "Also too short: between a and a2 (100 mm of 110 mm)" in found.cause
    assert keys(0.35, 0.0, *short, given=False)["piece_short"].state == "watch"


def test_room_for_a_bell_and_above_it():
    def bell(run_into=True, **values):
        plan = edit.put(demo().plan, values)
        return {(f.key, f.state): f for f in find_building(plan) if f.key in ("bell_room", "bell_lift")}

    outside = demo().plan.siphons[0].bell.outside_diameter
    wide = lambda room: {"chamber.chamber.diameter": outside + 2 * (room + 0.010)}  # noqa: E731
    for room, found in ((0.0101, None), (0.0099, "watch"), (0.0031, "watch"), (0.0029, "does not")):
        hits = bell(**wide(room))
        assert [key for key in hits if key[0] == "bell_room"] == ([("bell_room", found)] if found else []), (
            room
        )
    assert bell(**wide(0.005))["bell_room", "watch"].value == pytest.approx(0.005)
    assert "past the inlet's pipe" in bell(**wide(0.005))["bell_room", "watch"].cause
    for room, states in ((0.4651, []), (0.4649, ["does not"])):
        hits = bell(**{"chamber.chamber.headroom": room})
        assert [state for key, state in hits if key == "bell_lift"] == states


def hole(**more):
    """A hole of 60 mm for a tank fitting 40 mm from the edge of a flat wall."""
    pipe = SimpleNamespace(size="1 in", series="s")
    given = {"vessel": "v", "what": "run 1", "key": "run.1", "wall": "floor", "pipe": pipe,
             "fitting": "tank fitting", "diameters": (0.06,), "widest": 0.06, "edge": 0.04,
             "along": 0.3}  # fmt: skip
    return SimpleNamespace(**given | more)


def judged(one, given=True, corner=1.0, across=0.0, wall=0.004, ribs=None):
    shape = SimpleNamespace(curve=lambda floor: across)
    vessel = demo().plan.beds[0] if ribs is not None else SimpleNamespace(wall=wall, shape=shape, name="v")
    if ribs is not None:
        vessel = replace(vessel, ribs=ribs)
    standing = SimpleNamespace(vessel=vessel, corner=lambda at: corner)
    at = SimpleNamespace(hole=one, at=None, given=given)
    found = holes._hole(demo().plan, at, SimpleNamespace(vessels={"v": standing}))
    return {f.key: f for f in found}


def test_a_hole_near_an_edge_or_a_corner():
    states = {0.0101: None, 0.0099: "watch", 0.0051: "watch", 0.0049: "does not"}
    for room, state in states.items():
        assert (judged(hole(edge=room)) or {"hole_edge": None})["hole_edge"] == state or (
            judged(hole(edge=room))["hole_edge"].state == state
        ), room
        by_corner = judged(hole(), corner=room + 0.03)
        assert (by_corner["hole_edge"].state if state else by_corner.get("hole_edge")) == state, room
    # Where the hole is along a wall is derived, its height over the floor is the plan's own.
    assert judged(hole(), given=False, corner=0.034)["hole_edge"].state == "watch"
    assert judged(hole(edge=0.004), given=False)["hole_edge"].state == "does not"
    assert judged(hole(edge=0.004), given=False, corner=0.033)["hole_edge"].state == "watch"
    assert judged(hole(edge=0.0099))["hole_edge"].value == pytest.approx(0.0099)


def test_a_hole_by_its_saw_its_ribs_its_wall_and_its_curve():
    assert judged(hole()) == {}
    assert judged(hole(diameters=())).keys() == {"hole_size"}
    assert [bool(judged(hole(widest=x, edge=0.2)).get("hole_saw")) for x in (0.152, 0.1521)] == [False, True]
    # A rib 40 mm beside the middle leaves 10 mm beside a hole of 60 mm.
    line = hole(key="tail")
    for rib, found in ((0.3401, False), (0.3399, True), (0.2601, True), (0.2599, False), (0.30, True)):
        assert ("hole_rib" in judged(line, ribs=(0.9, rib))) == found, rib
    assert judged(line, ribs=(0.9, 0.335))["hole_rib"].value == pytest.approx(0.005)
    assert "hole_rib" not in judged(hole(wall="wall"), ribs=(0.3,))
    for fitting, thin in (("tank fitting", 0.001), ("rubber pipe seal", 0.0015)):
        for wall, found in ((thin, False), (thin - 1e-5, True), (None, False)):
            assert ("seal_wall" in judged(hole(fitting=fitting), wall=wall)) == found, (fitting, wall)
    # r - sqrt(r^2 - 30^2) in mm is 3 at r = (900 + 9) / 6 and 6 at r = (900 + 36) / 12.
    for radius, state in ((151.6, None), (151.4, "watch"), (78.1, "watch"), (77.9, "does not")):
        found = judged(hole(), across=2 * radius / 1e3)
        assert (found["seal_curve"].state if state else found.get("seal_curve")) == state, radius


def test_holes_that_go_round_a_vessel():
    """Three of 60 mm with 10 mm beside each take 210 mm of a tube's way round, or of a box's less corners."""
    at = lambda: SimpleNamespace(hole=hole(wall="wall"), given=True, apart=lambda other: 1.0)  # noqa: E731

    def close(shape, count=3):
        vessel = SimpleNamespace(name="v", vessel=SimpleNamespace(shape=shape))
        return holes._neighbours(vessel, [at() for _ in range(count)])

    shape = lambda a, b, rounded: SimpleNamespace(across=lambda z: (a, b), rounded=rounded)  # noqa: E731
    for around, found in ((0.2101, 0), (0.2099, 1)):
        assert len(close(shape(around / math.pi, 0.5, True))) == found
        assert len(close(shape(0.5 * (around + 0.08) - 0.05, 0.05, False))) == found
    assert close(shape(0.06, 0.06, False))[0].limit == pytest.approx(0.21)
    assert close(shape(0.01, 0.01, True), 1) == []
    near = [SimpleNamespace(hole=hole(), given=g, apart=lambda other: 0.0099) for g in (True, False)]
    vessel = SimpleNamespace(name="v", vessel=SimpleNamespace(shape=shape(1.0, 1.0, True)))
    assert [f.state for f in holes._neighbours(vessel, near)] == ["watch"]
    near[1].given = True
    assert [f.state for f in holes._neighbours(vessel, near)] == ["does not"]


@pytest.mark.parametrize(("seconds", "minutes"), [(60.0, 1), (60.1, 2), (119.0, 2), (1.0, 1)])
def test_a_timer_is_set_to_whole_minutes(seconds, minutes):
    assert timed.whole_minutes(seconds) == minutes


def test_beds_that_stand_while_the_pump_is_off():
    """20 mm may stay. Over that it is a note up to four hours off, and doubtful from there."""

    def stands(high, low, off=3600.0):
        run = moved(demo(), {"pump.on": 900.0, "pump.off": off})
        at_on = {
            b.name: (low if b.name == "bed 2" else 0.710, high if b.name == "bed 2" else 0.712)
            for b in run.plan.beds
        }
        return timed._stands(run.plan, run, SimpleNamespace(at_on=at_on))

    good = stands(0.730 - 1e-6, 0.710)
    assert (good.state, good.value, good.subject) == ("good", pytest.approx(0.020, abs=1e-4), "bed 2")
    watch = stands(0.730 + 1e-3, 0.710)
    assert (watch.state, watch.band) == ("watch", None)
    assert "It at times stops" in watch.cause
    assert "It always stops" in stands(0.740, 0.730 + 1e-6).cause
    long = stands(0.740, 0.710, 4 * 3600.0 + 1.0)
    assert (long.state, long.band) == ("may or may not", pytest.approx((0.020, 0.030)))
    assert stands(0.740, 0.710, 4 * 3600.0).state == "watch"


def test_holes_are_held_against_those_of_their_own_vessel(monkeypatch):
    monkeypatch.setattr(holes, "_hole", lambda *_: [])
    shape = SimpleNamespace(across=lambda z: (1.0, 1.0), rounded=True)
    named = {x: SimpleNamespace(name=x, vessel=SimpleNamespace(shape=shape)) for x in "abc"}
    near = lambda x: SimpleNamespace(hole=hole(vessel=x), given=True, apart=lambda other: 0.001)  # noqa: E731
    placed = SimpleNamespace(vessels=named, holes=[near(x) for x in "abba"])
    assert [f.subject for f in holes.find_holes(demo().plan, placed)] == ["a", "b"]


def started(run, flow, **more):
    """What is said of a start where `flow` (L/min) reaches the lip."""
    plan = run.plan
    today = {"today": flow / L_MIN, "today_low": flow / L_MIN, "today_high": flow / L_MIN}
    dry, group = more.pop("dry", False), more.pop("group", run.groups[0])
    window = replace(inflow_window(plan, plan.siphons[0], run), **today | more)
    return start_stop._start(plan, plan.siphons[0], group, window, dry)


def test_a_start_in_words():
    """The band of a 26.6 mm bore: from 5.1 L/min at Froude 0.3 to 17 at Froude 1."""
    run = demo()
    stand = run.plan.siphons[0].standpipe.pipe.bore
    unit = math.pi / 4 * stand**2 * math.sqrt(9.80665 * stand) * L_MIN
    good = started(run, unit * 1.001)
    assert (good.key, good.state) == ("start", "good")
    assert "Today's Froude number is 1.0." in good.cause
    unsure = started(run, unit * 0.6)
    assert (unsure.key, unsure.state, unsure.band) == (
        "start", "may or may not", pytest.approx((0.3 * unit / L_MIN, unit / L_MIN)),
    )  # fmt: skip
    wide = (0.6) ** 0.4 * stand  # the bore on which this flow has Froude 1: it goes with the flow to the 0.4
    assert f"with a bore of at most {1000 * wide:.1f} mm" in unsure.change
    least = started(run, unit * 0.29)
    assert (least.key, least.state) == ("spills", "does not")
    assert "above the lip" not in least.cause
    spilling = replace(run.groups[0], outcome="spills", level=run.groups[0].lip + 0.0075, flow_steady=1.0)
    assert "stays 7.50 mm above the lip" in started(run, unit * 0.29, group=spilling).cause
    assert started(run, unit * 1.1, group=spilling).title == "Spills without starting"
    assert "the safety overflow takes" in started(run, unit * 1.1, group=spilling).cause
    assert started(run, unit * 1.1, group=spilling, dry=True).title == "Runs out of water before it starts"
    less = replace(spilling, flow_steady=0.5 * unit / L_MIN)
    assert started(run, unit * 1.1, group=less).value == pytest.approx(0.5 * unit / L_MIN)
    assert started(run, unit * 1.1, group=less, dry=True).value == pytest.approx(1.1 * unit / L_MIN)
    seen = started(run, unit * 0.29, observed=True)
    assert "By your own readings it starts at" in seen.cause
    assert "with a bore of at most" not in seen.change
    narrow = moved(run, {"siphon.siphon.tail.bore": stand - 1e-6})
    assert "is narrower than the standpipe's" in started(narrow, unit * 0.6).cause
    assert "is narrower than" not in unsure.cause


def test_what_is_said_of_a_pump_known_by_its_box():
    """Its two figures bring anything from the least to the most: the most decides that it never starts."""
    box = ((0.0, 3.3), (78 / L_MIN, 0.0))
    run = moved(demo(), {"pump.flow": None, "pump.curve": box})
    at = {"today_low": 4 / L_MIN, "today_high": 6 / L_MIN}
    unsure = started(run, 5.0, **at)
    assert unsure.state == "may or may not"
    assert "somewhere from 4.0 L/min to 6.0 L/min by the two figures" in unsure.cause
    assert unsure.change.startswith(start_stop.JUG)
    assert started(run, 5.0, **at | {"today_high": 5.0 / L_MIN}).state == "does not"
    assert not started(demo(), 9.0).change.startswith(start_stop.JUG)


def test_a_sill_against_what_may_stay_and_the_lip():
    """A pipe 10 mm up in the floor of a bed whose lip is at 0.930 m."""

    def sills(**values):
        plan = edit.put(demo().plan, values)
        return only(building._outlet(plan, plan.beds[0]), "sill")

    limit = "limits.residual"
    assert [sills(**{limit: x}).state for x in (0.0101, 0.0099)] == ["good", "watch"]
    assert sills(**{limit: 0.02}).value == pytest.approx(0.010)
    floors = [sills(**{"bed.bed 1.floor": 0.930 - 0.010 + d}) for d in (-1e-6, 1e-6)]
    assert [f.state for f in floors] == ["good", "does not"]
    assert floors[1].title == "The outlet is above the flood level"


def test_a_pipe_that_misses_what_it_enters_or_meets_another():
    line = lambda name, given: SimpleNamespace(name=name, start="a", to="b", given=given)  # noqa: E731
    given = {"x": True, "y": False, "z": True, "none": True}
    misses = {"x": 0.0051, "y": 0.2, "z": 0.0049}
    placed = SimpleNamespace(lines=[line(*pair) for pair in given.items()], misses=misses)
    found = building._misses(demo().plan, placed)
    assert [(f.subject, f.state, f.value) for f in found] == [("x", "does not", 0.0051), ("y", "watch", 0.2)]


def test_parts_in_the_same_place(monkeypatch):
    touch = lambda given, depth: SimpleNamespace(first="a", second="b", depth=depth, given=given)  # noqa: E731
    monkeypatch.setattr(building, "contacts", lambda placed: placed)
    found = building._contacts([touch(True, 0.01), touch(False, 0.02), touch(False, 0.05), touch(True, 0.03)])
    assert [(f.state, f.value) for f in found] == [("does not", 0.01), ("does not", 0.03), ("watch", 0.05)]
    assert [f.state for f in building._contacts([touch(True, 0.01)])] == ["does not"]


def stands_on(first=1, cut=0, late_first=1, late_cut=0, on=600.0, lip=300.0, needed=500.0, fills=60.0):
    """What is said of a timer of `on` seconds; water is at the lip after `lip`, started after `needed`."""
    plan = edit.put(demo().plan, {"pump.on": on, "pump.off": 1800.0})
    make = lambda first, cut: SimpleNamespace(  # noqa: E731
        first={"siphon": first}, cut_short={"siphon": cut}, floods={"siphon": 1 / 1200}, pumped=0.18,
        runs_back=0.01, tried=40, periods=3,
    )  # fmt: skip
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(timed, "latest_start", lambda plan: {"siphon": (lip, needed)})
        patch.setattr(timed, "fills_pipe", lambda plan: fills)
        patch.setattr(timed, "timer", lambda plan, late: make(late_first, late_cut))
        return timed._starts(plan, make(first, cut), "siphon")


def test_a_timer_against_the_time_a_siphon_needs():
    """From the lip it needs 200 s and 60 to fill the pipe: shorter runs fill bit by bit."""
    good = stands_on()
    assert (good.state, good.limit) == ("good", None)
    assert "from the first run of the pump" in good.cause
    assert "for the first time in run 3 of the pump" in stands_on(first=3).cause
    never = stands_on(first=0, on=400.0)
    assert (never.state, never.limit, never.value) == ("does not", 500.0, 400.0)
    assert never.change.startswith("Set the timer to 9 min on")
    assert stands_on(first=0, on=500.0).limit is None
    assert stands_on(first=0, needed=0.0, lip=0.0).change.startswith("Let the pump run longer")
    assert "enough" not in stands_on(first=0, needed=0.0, lip=0.0).cause
    for on, state in ((299.0, "good"), (300.0, "may or may not"), (260.0, "good"), (259.0, "may or may not")):
        for cut in ({"cut": 1}, {"late_cut": 1}):
            assert stands_on(on=on, **cut).state == state, (on, cut)
        assert stands_on(on=on).state == "good", on
    assert stands_on(late_first=0).state == "may or may not"
    assert "In 1 of 3 runs of the pump" in stands_on(cut=1, late_first=0).cause
    assert "If it starts as late as it may" in stands_on(late_first=0).cause


def test_a_full_tail_is_told_by_its_froude_number():
    run = demo()
    plan, (siphon,) = run.plan, run.plan.siphons
    window = inflow_window(plan, siphon, run)
    told = {x: start_stop._tail_full(plan, siphon, replace(window, tail_full=x), levels(run))
            for x in ("full", "open", "uncertain")}  # fmt: skip
    assert [f.state for f in told.values()] == ["good", "watch", "watch"]
    assert [told[x].title for x in ("open", "uncertain")] == [
        "Tail runs with air in it", "Tail may run full or with air in it",
    ]  # fmt: skip
    D = siphon.tail.pipe.bore
    flow = siphon_flow(plan, siphon, window.stop_level, min(levels(run).high, 0.3))
    assert told["full"].value == pytest.approx(flow / (math.pi / 4 * D**2 * math.sqrt(9.80665 * D)))
    high = replace(levels(run), high=0.9)
    full = siphon_flow(plan, siphon, window.stop_level, 0.3)  # over its rim the sump spills
    drowned = start_stop._tail_full(plan, siphon, window, high)
    assert drowned.value == pytest.approx(full / (math.pi / 4 * D**2 * math.sqrt(9.80665 * D)))


def test_an_overflow_over_the_start_and_under_the_rims():
    run = demo()
    window = inflow_window(run.plan, run.plan.siphons[0], run)
    at = lambda z, bore="40 mm": (  # noqa: E731
        plan := plan_from_text(
            edited(("siphon.overflow", {"bore": f'"{bore}"', "height": f'"{1000 * z:.4f} mm"'}))
        ),
        start_stop.find_overflow(plan, plan.siphons[0], window),
    )[1]
    lip = math.pi * run.plan.siphons[0].standpipe.lip_diameter
    low, high = (0.430 + (q / (1.71 * lip)) ** (2 / 3) for q in (window.start_low, window.start_high))
    assert at(high + 1e-5).state == "good"
    assert at(high - 1e-5).state == "may or may not"
    assert at(low + 1e-5).state == "may or may not"
    assert at(low - 1e-5).state == "does not"
    assert at(high + 1e-5).limit == pytest.approx(0.5 + high)
    small = at(0.460, "6 mm")
    assert (small.title, small.state) == ("Overflow is too small for the pump", "watch")
    assert start_stop.find_overflow(run.plan, run.plan.siphons[0], window) is None
