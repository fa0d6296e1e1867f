"""The valve card: each line is tried on a plan that has what the line is for."""

from dataclasses import replace
from pathlib import Path

import pytest

from aquacalc.buildsheet import valve_card as valve_card_module
from aquacalc.buildsheet.valve_card import page, valve_card
from aquacalc.catalogue import data_dir
from aquacalc.design.corners import hard_start
from aquacalc.design.keeping import marks
from aquacalc.findings import find
from aquacalc.plan import edit, plan_from_text, read_plan
from aquacalc.results.cycle import run_plan
from tests.plan.generated import plan_text

pytestmark = pytest.mark.identity
L = 1 / 60000
DEMO = read_plan(data_dir() / "plans" / "greenhouse.toml")
CARD = valve_card(DEMO)


def line(key, card=CARD):
    return next(line for line in card.lines if line.key == key)


def states(plan, *keys):
    return {finding.state for finding in find(run_plan(plan, trace=False)) if finding.key in keys}


#: The demo, one in US units, one whose pump has a curve, one with several siphons, and one drawn at random.
PLANS = {
    "demo": DEMO,
    "US units": read_plan(Path(__file__).parents[1] / "plans" / "us-units.toml"),
    "curve": read_plan(Path(__file__).parents[1] / "plans" / "pump-curve.toml"),
    "two groups": read_plan(Path(__file__).parents[1] / "plans" / "two-groups.toml"),
    "random": plan_from_text(plan_text(11)),
}
CARDS = {name: valve_card(plan) for name, plan in PLANS.items() if name != "demo"} | {"demo": CARD}


@pytest.mark.parametrize("name", PLANS)
@pytest.mark.parametrize(
    ("key", "times", "findings"),
    [("trickles", 0.3, ("start", "spills")), ("runs on", 4.0, ("stop", "runs_on"))],
)
def test_the_valve_mends_what_its_line_is_for(name, key, times, findings):
    """Siphons that are hard to start, with too little and with too much water."""
    told = line(key, CARDS[name])
    flow = {"pump.flow": times * told.values["pump.flow"]}
    ill = edit.put(PLANS[name], hard_start(PLANS[name]) | told.values | flow)
    assert "does not" in states(ill, *findings)
    mended = edit.put(ill, told.values)
    assert states(mended, "start", "spills", "stop", "runs_on") == {"good"}
    assert {group.outcome for group in run_plan(mended, trace=False).groups} == {"cycles"}


@pytest.mark.parametrize(("name", "bed"), [("demo", "bed 1"), ("US units", "trough"), ("random", "bed A1")])
def test_the_bed_that_lags_keeps_less_with_its_own_valve_turned_and_least_when_clean(name, bed):
    plan, told = PLANS[name], line("lags", CARDS[name])
    count = max(int(0.1 * plan.bed(bed).strainer.count), 1)
    ill = edit.put(plan, {f"bed.{bed}.strainer.count": count})
    turned = edit.put(ill, told.values)
    clean, clogged, less = (run_plan(p, trace=False).node(bed).at_break for p in (plan, ill, turned))
    assert clean + 0.002 < less < clogged
    assert told.steps[0].startswith("Clean")  # what helps most comes first


@pytest.mark.parametrize("name", PLANS)
def test_filled_to_the_mark_the_pump_is_covered_again(name):
    plan, told = PLANS[name], line("sump low", CARDS[name])
    ill = edit.put(plan, {"sump.water_level": 0.9 * plan.pump.intake})
    assert states(ill, "pump_cover") == {"does not"}
    mended = edit.put(ill, told.values)
    assert states(mended, "pump_cover") == {"good"}
    assert "does not" not in states(mended, "sump_overflow")
    off = marks(plan, run_plan(mended, trace=False))[0]
    assert off.low <= run_plan(mended, trace=False).sump_drained - plan.sump.floor <= off.high


def test_no_setting_is_promised_where_there_is_none():
    """A wide bore on a short fall: what surely starts it is more than what surely stops."""
    values = {"siphon.siphon.tail.outlet": 0.50, "siphon.siphon.tail.length": 0.4}
    card = valve_card(edit.put(DEMO, values))
    for key in ("trickles", "runs on"):
        assert line(key, card).values == {}
        assert "No setting of the valve" in line(key, card).steps[0]


def test_in_us_units_the_same_settings_to_their_marks():
    card = valve_card(replace(DEMO, units="us"))
    for key in ("trickles", "runs on"):
        here, there = (line(key, c).values["pump.flow"] for c in (CARD, card))
        assert there == pytest.approx(here, rel=0.01)
        assert "gpm" in " ".join(line(key, card).steps)
    text = page(card)
    assert "L/min" not in text
    assert "<script" not in text


@pytest.mark.parametrize(("low", "high", "up", "least", "most"), [
    (1.0, 1.0, True, 1.0, 1.1), (1.0, 1.0, False, 0.9, 1.0), (1.08, 1.0, True, 1.08, 1.18),
    (1.0, 0.0, True, 0, 0), (1.0, 0.0, False, 0, 0),
])  # fmt: skip
def test_a_setting_is_just_inside_its_window(low, high, up, least, most):
    """Parts of the demo's lowest and highest setting; the window's own side, and none where it is empty."""
    ends = [line(key).values["pump.flow"] / off for key, off in (("trickles", 1.05), ("runs on", 0.95))]
    found = valve_card_module._set(DEMO, run_plan(DEMO, trace=False), low * ends[0], high * ends[1], up)
    if not most:
        assert found is None
        return
    flow, run = found
    end = ends[0 if up else 1]
    assert least * end < flow < most * end
    assert run.pump == pytest.approx(flow)


def test_in_a_window_narrower_than_what_is_kept_at_its_ends_the_middle_is_set():
    ends = [line(key).values["pump.flow"] for key in ("trickles", "runs on")]
    middle = sum(ends) / 2
    for up in (True, False):
        flow, _ = valve_card_module._set(DEMO, run_plan(DEMO, trace=False), 0.97 * middle, 1.03 * middle, up)
        assert 0.97 * middle < flow < 1.03 * middle


def test_a_valve_lets_by_no_more_than_the_pump_brings():
    plan = PLANS["curve"]
    run = run_plan(plan, trace=False)
    at, _ = valve_card_module._set(plan, run, 0.9 * run.pump, 1.5 * run.pump, False)
    assert 0.9 * run.pump < at < run.pump
    assert valve_card_module._set(plan, run, 1.1 * run.pump, 1.5 * run.pump, False) is None


@pytest.mark.parametrize("settles", [(True, True), (True, False), (False, True), (False, False)])
def test_the_valve_is_left_only_where_both_ends_of_its_window_work(settles, monkeypatch):
    runs = iter(settles)
    settled = run_plan(DEMO, trace=False)
    monkeypatch.setattr(valve_card_module, "_settled", lambda plan, flow: settled if next(runs) else None)
    told = valve_card_module._sump_low(DEMO, settled, 0.8 * DEMO.pump.flow, 1.1 * DEMO.pump.flow)
    assert any(step.startswith("Leave the valve") for step in told.steps) == all(settles)
