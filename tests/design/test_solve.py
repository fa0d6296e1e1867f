"""What to build: exact answers meet their limits, real sizes keep them, no answer names the conflict."""

import dataclasses
import math

import pytest
from scipy.integrate import quad

from aquacalc.catalogue import sizes
from aquacalc.design import answer as a
from aquacalc.design import bore, drains, pump_flow, sump
from aquacalc.equations import RECORDS
from aquacalc.equations.formulas import GRAVITY
from aquacalc.hydraulics.pump import lowest_pump_level
from aquacalc.plan import edit, read_plan
from aquacalc.plan.check import check_plan
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import inflow_window, sump_range
from aquacalc.units import show
from tests.independent import Water
from tests.report.test_text import PLANS


@pytest.fixture(scope="module")
def shallow(greenhouse):
    """The greenhouse with deep beds and chamber and little water, so that the sump decides."""
    deep = {"bed.*.depth": 0.5, "chamber.chamber.depth": 0.7, "sump.water_level": 0.40}
    return edit.put(greenhouse, deep)


@pytest.mark.identity
def test_bound_finds_the_crossing_or_says_there_is_none():
    assert a.bound(lambda x: 2.0 - x, 0.0, 5.0, True, 1e-9) == pytest.approx(2.0)
    assert a.bound(lambda x: x - 2.0, 0.0, 5.0, False, 1e-9) == pytest.approx(2.0)
    assert a.bound(lambda x: 9.0 - x, 0.0, 5.0, True, 1e-9) == math.inf
    assert a.bound(lambda x: -1.0 - x, 0.0, 5.0, True, 1e-9) == -math.inf
    assert a.bound(lambda x: x + 1.0, 0.0, 5.0, False, 1e-9) == -math.inf
    assert a.bound(lambda x: x - 9.0, 0.0, 5.0, False, 1e-9) == math.inf


@pytest.mark.identity
@pytest.mark.parametrize(
    ("bound", "most", "said"),
    [
        (0.456, True, "lid: at most 456 mm (it is low)"),
        (0.456, False, "lid: at least 456 mm (it is low)"),
        (math.inf, True, "lid: no limit here (it is low)"),
        (-math.inf, True, "lid: no value tried meets it (it is low)"),
        (-math.inf, False, "lid: no limit here (it is low)"),
        (math.inf, False, "lid: no value tried meets it (it is low)"),
    ],
)
def test_a_limit_in_words(bound, most, said):
    assert a.Limit("lid", bound, most, "it is low").text("length", "metric") == said
    assert a.Limit("lid", bound, most).text("length", "metric") == said.removesuffix(" (it is low)")


@pytest.mark.identity
@pytest.mark.parametrize("name", ["greenhouse", "series", "star", "two-groups", "inside-bed"])
def test_drain_flows_add_up_to_the_siphons_flow(name):
    """What comes out of beds is the siphon's flow but for the part that its own vessel gives."""
    plan = read_plan(PLANS[name])
    run = run_plan(plan)
    for siphon in plan.siphons:
        flows = drains.drain_flows(plan, run, siphon)
        water = {n.name: Water(plan, plan.vessel(n.name)) for n in run.nodes
                 if n.group == siphon.name and not n.junction}  # fmt: skip
        held = {n: quad(w.area, run.node(n).low, run.node(n).high, limit=200)[0] for n, w in water.items()}
        into = {r.start: r for r in plan.runs if r.start in flows}
        last = sum(flow for start, flow in flows.items() if into[start].to == siphon.host)
        high = run.group(siphon.name).flow_high
        part = 1.0 - held[siphon.host] / sum(held.values())
        assert last == pytest.approx(high * part, rel=1e-3)
        for start, flow in flows.items():
            above = sum(flows[r.start] for r in into.values() if r.to == start)
            own = high * held.get(start, 0.0) / sum(held.values())
            assert flow == pytest.approx(above + own, rel=1e-3), start


@pytest.mark.identity
@pytest.mark.parametrize(
    ("value", "mark", "system", "up", "text"),
    [
        (0.4567, "length", "metric", False, "456 mm"),
        (0.4567, "length", "metric", True, "457 mm"),
        (0.456, "length", "metric", False, "456 mm"),
        (0.4206875, "length", "us", False, "16 9/16 in"),
        (0.0254, "length", "us", True, "1 in"),
        (0.712, "vessel", "metric", True, "720 mm"),
        (18.51 / 60000, "flow", "metric", True, "18.6 L/min"),
    ],
)
def test_rounding_goes_the_safe_way_to_what_can_be_cut(value, mark, system, up, text):
    rounded, said = a.to_mark(value, mark, system, up)
    assert said == text
    assert (rounded >= value - 1e-9) if up else (rounded <= value + 1e-9)


@pytest.mark.identity
def test_the_tallest_standpipe_leaves_nothing_in_hand(shallow):
    found = sump.tallest_standpipe(shallow)
    assert found.binding == "the pump stays covered with the beds full"
    crown = 0.035

    def left(height):
        values = {"siphon.standpipe.height": height, "siphon.bell.top_height": height + crown}
        changed = edit.put(shallow, values)
        return sump.pump_cover(changed, run_plan(changed, trace=False))

    assert left(found.exact) == pytest.approx(0.0, abs=2e-5)
    assert left(found.exact + 0.001) < 0.0 < left(found.exact - 0.001)
    assert found.exact - 0.001 < found.real <= found.exact
    assert edit.get(found.plan, "siphon.standpipe.height") == found.real
    check_plan(found.plan)


@pytest.mark.identity
def test_the_tallest_standpipe_agrees_with_the_water_balance(shallow):
    """What the sump gives down to the intake is what the beds hold at most, over their sills of 10 mm."""
    found = sump.tallest_standpipe(shallow)
    values = {"siphon.standpipe.height": found.exact, "siphon.bell.top_height": found.exact + 0.035}
    changed = edit.put(shallow, values)
    run = run_plan(changed)
    area = math.pi / 4 * 0.9**2
    given = area * (run.sump_drained - lowest_pump_level(changed) - 0.002)
    full = 0.0
    for k in (1, 2, 3):
        high = run.node(f"bed {k}").high
        full += 1.2 * 0.5 * (0.45 * (min(high, 0.97) - 0.71) + max(high - 0.97, 0.0))
    chamber = math.pi / 4 * 0.25**2 * (run.node("chamber").high - 0.53)
    pipe = math.pi / 4 * 0.033401**2 * (found.exact - 0.03)
    bell = math.pi / 4 * (0.0889**2 - 0.0779272**2) * (run.node("chamber").high - 0.53)
    assert given == pytest.approx(full + chamber - pipe - bell, rel=2e-3)


@pytest.mark.identity
def test_a_low_bed_wall_decides_before_the_sump(greenhouse):
    found = sump.tallest_standpipe(greenhouse)
    assert found.binding.endswith("keeps 30.0 mm below its wall")
    high = max(node.high for node in run_plan(found.plan).nodes if node.name.startswith("bed"))
    assert 0.97 - 0.001 < high <= 0.97


@pytest.mark.identity
def test_no_standpipe_when_drain_back_overfills_the_sump(greenhouse):
    full = edit.put(greenhouse, {"sump.water_level": 0.66})
    found = sump.tallest_standpipe(full)
    assert found.exact is None
    assert found.plan is None
    assert "with the pump off the sump takes all the water back" in found.conflict
    assert "No answer" in found.text


@pytest.mark.identity
def test_the_pump_flow_gives_the_floods_asked_for(greenhouse):
    found = pump_flow.pump_flow_for(greenhouse, 3.0)
    period = run_plan(edit.put(greenhouse, {"pump.flow": found.exact}), trace=False).groups[0].period
    assert 3600.0 / period == pytest.approx(3.0, rel=1e-6)
    assert found.exact <= found.real < found.exact + 0.1 / 60000 + 1e-12
    assert found.real_text == f"{60000 * found.real:.1f} L/min"
    assert found.plan.pump.flow == found.real
    assert any("uncertain" in step for step in found.steps)
    assert [(limit.bound, limit.most) for limit in found.limits[2:]] == [(found.exact, False)]
    group = run_plan(found.plan, trace=False).groups[0]
    for time in (group.fill_time, group.spill_time + group.priming_time, group.drain_time):
        assert show(time, "time") in found.steps[0]
    sure = pump_flow.pump_flow_for(greenhouse, 3.6)
    assert not any("uncertain" in step for step in sure.steps)


@pytest.mark.identity
def test_the_pump_flow_of_one_of_two_siphons_counts_its_part_of_the_flow():
    """Two of three beds drain to siphon A: the pump brings one and a half times its start and stop."""
    plan = read_plan(PLANS["two-groups"])
    run = run_plan(plan, trace=False)
    floods = 0.95 * 3600.0 / run.group("siphon A").period
    found = pump_flow.pump_flow_for(plan, floods, "siphon A")
    window = inflow_window(plan, plan.siphon("siphon A"), run)
    assert [limit.bound for limit in found.limits[:2]] == pytest.approx(
        [1.5 * window.start, 1.5 * window.stop]
    )
    again = run_plan(edit.put(plan, {"pump.flow": found.exact}), trace=False)
    assert 3600.0 / again.group("siphon A").period == pytest.approx(floods, rel=1e-6)


@pytest.mark.identity
def test_lips_fit_inside_the_bell(greenhouse):
    """A bell exactly as wide as a lip with its walls leaves no gap, and the lip is not offered."""
    bores = bore._Bores(greenhouse, greenhouse.siphons[0], run_plan(greenhouse, trace=False), 3e-4)
    one = next(size for size in bore.sizes_of(bores.s.standpipe.pipe.series) if size.size == "1 in")
    lips = bores.lips(one)
    wide = lips[-1].bore + 2.0 * (0.5 * (one.outside_diameter - one.bore))
    tight = dataclasses.replace(bores.s.bell, bore=wide)
    bores.s = dataclasses.replace(bores.s, bell=tight)
    assert bores.lips(one) == lips[:-1]


@pytest.mark.identity
def test_heads_by_lip_are_compared_only_where_there_are_several(greenhouse, monkeypatch):
    assert "Priming head by the size of the lip: " in bore.lip_and_bore(greenhouse).text
    monkeypatch.setattr(bore._Bores, "lips", lambda self, size: [size])
    assert "Priming head by the size of the lip: " not in bore.lip_and_bore(greenhouse).text


@pytest.mark.identity
def test_too_many_and_too_few_floods_say_why(greenhouse):
    many, few = pump_flow.pump_flow_for(greenhouse, 8.0), pump_flow.pump_flow_for(greenhouse, 0.5)
    assert many.exact is None
    assert "more than this plan can make" in many.conflict
    assert (many.limits[-1].bound, many.limits[-1].most) == (math.inf, False)
    assert few.exact is None
    assert "fewer than this plan makes" in few.conflict
    assert (few.limits[-1].bound, few.limits[-1].most) == (-math.inf, True)


@pytest.mark.identity
@pytest.mark.parametrize(
    "shape",
    [
        {},
        {"sump.shape": "rectangular", "sump.length": 1.0, "sump.width": 0.7},
        {"sump.shape": "table", "sump.depths": (0.0, 0.3, 0.7), "sump.areas": (0.5, 0.6, 0.7)},
    ],
    ids=lambda s: s.get("sump.shape", "round"),
)
def test_the_smallest_sump_uses_its_whole_depth(greenhouse, shape):
    plan = edit.put(greenhouse, shape)
    check_plan(plan)
    found = sump.sump_size(plan)
    exact = sump._filled(plan, plan.sump.shape.scaled(found.exact / plan.sump.shape.volume(0.7)))
    levels = sump_range(exact, run_plan(exact, trace=False))
    assert levels.low == pytest.approx(lowest_pump_level(exact) + 0.002, abs=1e-4)
    assert levels.pump_off == pytest.approx(exact.sump.rim - exact.sump.freeboard, abs=1e-6)
    assert found.real >= found.exact * (1.0 - 1e-9)
    real = sump_range(found.plan, run_plan(found.plan, trace=False))
    assert real.low >= lowest_pump_level(found.plan) + 0.002 - 1e-6


@pytest.mark.identity
def test_no_sump_without_depth_to_use(greenhouse):
    found = sump.sump_size(edit.put(greenhouse, {"sump.freeboard": 0.62}))
    assert found.exact is None
    assert "deeper sump" in found.conflict


@pytest.mark.identity
def test_the_drain_line_takes_just_the_difference_allowed(greenhouse):
    found = drains.smallest_drain_line(greenhouse, 0.05)
    flows = drains.drain_flows(greenhouse, run_plan(greenhouse, trace=False), greenhouse.siphons[0])
    exact = edit.put(greenhouse, {"run.*.bore": found.exact})
    assert max(drains.level_differences(exact, flows).values()) == pytest.approx(0.05, abs=1e-6)
    assert found.real >= found.exact
    below = [s.bore for s in sizes("ASTM D1785 schedule 40") if s.bore < found.real]
    assert max(below) < found.exact
    assert {r.pipe.bore for r in found.plan.runs} == {found.real}
    # The runs together carry what the siphon takes but for the chamber's own water.
    last = flows["tee 3"]
    assert last == pytest.approx(sum(flows[f"bed {k}"] for k in (1, 2, 3)))
    assert last < run_plan(greenhouse, trace=False).groups[0].flow_high


@pytest.mark.identity
def test_the_drain_line_lets_beds_drain(greenhouse):
    found = drains.smallest_drain_line(greenhouse, 1.0, residual=0.02)
    assert found.binding == "no bed keeps more than 20.0 mm"
    exact = edit.put(greenhouse, {"run.*.bore": found.exact})
    run = run_plan(exact, trace=False)
    assert max(drains.residuals(exact, run, exact.siphons[0]).values()) == pytest.approx(0.02, abs=2e-4)


@pytest.mark.identity
def test_no_drain_line_when_the_strainers_take_the_difference(greenhouse):
    found = drains.smallest_drain_line(greenhouse, 0.001)
    assert found.exact is None
    assert "strainers" in found.conflict
    with pytest.raises(ValueError, match="difference"):
        drains.smallest_drain_line(greenhouse, -1.0)
    with pytest.raises(ValueError, match='no run of the siphon starts at "bed 9"'):
        drains.smallest_drain_line(greenhouse, 0.05, runs=("bed 9",))


@pytest.mark.identity
def test_the_bore_is_the_one_that_the_inflow_chokes(greenhouse):
    found = bore.lip_and_bore(greenhouse)
    closed = (4.0 * 3.0e-4 / (math.pi * 1.0 * math.sqrt(GRAVITY))) ** 0.4
    assert found.exact == pytest.approx(closed, rel=1e-5)
    assert found.real_text.startswith("1 in (26.6 mm bore)")
    assert found.plan.siphons[0].standpipe.pipe.bore == found.real
    assert found.plan.siphons[0].tail.pipe == found.plan.siphons[0].standpipe.pipe
    key, values, _ = found.worked[0]
    assert RECORDS[key].compute(**values).value == pytest.approx(0.0112, abs=5e-5)


@pytest.mark.identity
def test_a_small_priming_head_asks_for_a_wider_lip(greenhouse):
    narrow = bore.lip_and_bore(greenhouse, flow=2e-4)
    wide = bore.lip_and_bore(greenhouse, flow=2e-4, priming_head=0.006)
    assert "no reducer" in narrow.real_text
    assert "a reducer from 1-1/4 in" in wide.real_text
    stand = wide.plan.siphons[0].standpipe
    room = bore._Bores(wide.plan, wide.plan.siphons[0], run_plan(wide.plan), 2e-4)
    assert room.head(stand.pipe.bore, stand.lip_diameter) <= 0.006
    assert room.head(stand.pipe.bore, 0.0266446) > 0.006


@pytest.mark.identity
def test_no_bore_says_which_limits_conflict(greenhouse):
    found = bore.lip_and_bore(greenhouse, flow=2e-3)
    assert found.exact is None
    assert "stops with a margin of 10%" in found.conflict
    assert "ring between bell and standpipe" in found.conflict


@pytest.mark.identity
def test_the_growers_own_reading_replaces_the_band(greenhouse):
    seen = edit.put(greenhouse, {"siphon.priming.observed": 2e-4, "siphon.priming.observed_error": 1e-5})
    found = bore.lip_and_bore(seen, flow=2.1e-4)
    assert found.exact == pytest.approx(greenhouse.siphons[0].standpipe.pipe.bore, rel=1e-5)


@pytest.mark.identity
def test_slots_open_the_area_asked_for(greenhouse):
    found = drains.strainer_slots(greenhouse, "bed 1")
    assert found.exact == pytest.approx(1.5 * math.pi / 4 * 0.040894**2 / (0.003 * 0.025), rel=1e-9)
    assert found.real == 27
    assert found.plan.beds[0].strainer.count == 27
    head = drains.strainer_slots(greenhouse, "bed 1", head=0.002)
    key, values, _ = head.worked[1]
    assert RECORDS[key].compute(**values).value <= 0.002
    fewer = {**values, "A_o": values["A_o"] * (head.real - 1) / head.real}
    assert RECORDS[key].compute(**fewer).value > 0.002
    with pytest.raises(ValueError, match="width"):
        drains.strainer_slots(edit.put(greenhouse, {"bed.bed 1.strainer": None}), "bed 1")


@pytest.mark.identity
def test_answers_come_in_the_plans_units(greenhouse):
    us = dataclasses.replace(greenhouse, units="us")
    found = sump.tallest_standpipe(us)
    assert found.real_text == "17 15/16 in"
    assert " in" in found.text
    assert "mm" not in found.text


@pytest.mark.identity
def test_sizes_that_end_before_the_answer_are_said(greenhouse, monkeypatch):
    """A series that ends at 1/2 in has no drain line; no lip starts within a tenth of a millimetre."""
    wanted = drains.smallest_drain_line(greenhouse, 0.05)
    few = [size for size in sizes("ASTM D1785 schedule 40") if size.bore < 0.016]
    monkeypatch.setattr(drains, "sizes_of", lambda pipe: few)
    found = drains.smallest_drain_line(greenhouse, 0.05)
    assert (found.exact, found.real) == (pytest.approx(wanted.exact), None)
    assert found.conflict.endswith(f"the largest is {few[-1].size}.")
    narrow = bore.lip_and_bore(greenhouse, flow=3e-4, priming_head=1e-4)
    assert narrow.real is None
    assert narrow.exact == pytest.approx(bore.lip_and_bore(greenhouse, flow=3e-4).exact, rel=1e-3)
    low = next(limit for limit in narrow.limits if not limit.most)
    assert f"lies between {show(low.bound, 'length')} and {show(narrow.exact, 'length')}" in narrow.conflict
