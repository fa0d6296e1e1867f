"""Plans that work wherever the truth lies: at every corner of what nobody knows, and inside."""

from __future__ import annotations

import random
from dataclasses import replace
from decimal import Decimal

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.design import sturdy as sturdy_module
from aquacalc.design.change import Change
from aquacalc.design.corners import corners, inside, pump_ends
from aquacalc.design.many_plans import run_plans
from aquacalc.design.sturdy import search, sturdy
from aquacalc.design.sturdy_ways import Step, _further, _pipes, _settings, _valve
from aquacalc.findings import find, verdict
from aquacalc.hydraulics.starting import start_band
from aquacalc.hydraulics.stopping import stop
from aquacalc.plan import edit, plan_from_text, read_plan, write_plan
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import sump_range
from tests.plan.generated import plan_text

pytestmark = pytest.mark.identity
LITRE_A_MINUTE = 1e-3 / 60


def plan_of(name="greenhouse", **values):
    plan = read_plan(data_dir() / "plans" / f"{name}.toml")
    return edit.put(plan, {key.replace("__", "."): value for key, value in values.items()})


def verdicts(plans):
    return {verdict(find(run)) for run in run_plans(plans)}


def test_corners_are_every_combination_and_both_ends_of_the_start():
    plan = plan_of()
    found = corners(plan)
    assert len(found) == 2**4  # start, porosity, pump, strainers
    froudes = {c["siphon.siphon.priming.froude"] for c in found}
    assert froudes == {plan.siphons[0].priming.froude_low, plan.siphons[0].priming.froude_high}
    counts = {c.get("bed.bed 1.strainer.count", plan.beds[0].strainer.count) for c in found}
    assert counts == {plan.beds[0].strainer.count, plan.beds[0].strainer.count // 2}


def test_a_measured_start_and_flow_leave_less_to_doubt():
    plan = plan_of(siphon__siphon__priming__observed=10 * LITRE_A_MINUTE)
    plan = edit.put(plan, {"siphon.siphon.priming.observed_error": 0.5 * LITRE_A_MINUTE})
    plan = edit.put(plan, {"pump.flow": 18 * LITRE_A_MINUTE}, mark="measured")
    found = corners(plan)
    flows = sorted({c["siphon.siphon.priming.observed"] / LITRE_A_MINUTE for c in found})
    assert flows == pytest.approx([9.5, 10.5])
    assert max(c["pump.flow"] for c in found) == pytest.approx(18 * 1.02 * LITRE_A_MINUTE)


@pytest.mark.parametrize(
    ("name", "flow", "words"),
    [
        ("greenhouse", 12.0, "Open the valve"),  # inside the start band
        ("spills-without-starting", 18.0, "Fit a 1 in standpipe and tail"),
        ("runs-on-without-stopping", 18.0, "Lead the tail"),
    ],
)
def test_a_plan_that_is_not_sturdy_is_made_so(name, flow, words):
    plan = plan_of(name, pump__flow=flow * LITRE_A_MINUTE)
    now, best = search(plan)
    assert not now.sturdy
    assert best.sturdy, best.lacks
    assert any(step.change.words.startswith(words) for step in best.changes)
    assert verdicts([edit.put(best.plan, corner) for corner in corners(best.plan)]) == {"works"}
    draw = random.Random(7)
    points = [inside(best.plan, tuple(draw.random() for _ in range(4))) for _ in range(10)]
    assert verdicts([edit.put(best.plan, point) for point in points]) == {"works"}
    # Each change is needed: without any one of them it is not sturdy.
    for left_out in best.changes:
        values = {k: v for s in best.changes if s is not left_out for k, v in s.change.values.items()}
        less = edit.put(plan, values)
        assert verdicts([edit.put(less, corner) for corner in corners(less)]) != {"works"}, left_out


def test_a_valve_is_closed_for_less_and_opened_for_more():
    plan = plan_of()  # 18 L/min
    down, up = (
        next(_valve(plan, low * LITRE_A_MINUTE, high * LITRE_A_MINUTE))
        for low, high in ((4.0, 10.0), (20.0, 30.0))
    )
    assert down.change.words == "Close the valve to 9.8 L/min (now 18.0 L/min)."
    assert up.change.words == "Open the valve to 20.4 L/min (now 18.0 L/min), if the pump can give it."
    assert not list(_valve(plan, 20.0 * LITRE_A_MINUTE, 20.05 * LITRE_A_MINUTE))  # no jug shows so little


def test_a_pump_with_a_curve_is_throttled_by_a_valve_in_its_delivery():
    """Its siphon starts by readings, and then runs on; a valve takes from what a pump brings, and no more."""
    plan = plan_from_text(plan_text(5041))
    now, best = search(plan)
    assert not now.sturdy
    assert best.sturdy, best.lacks
    said = [step.change.words for step in best.changes]
    assert any(w.startswith("Set the flow to ") and "by a valve in the delivery" in w for w in said), said
    assert best.plan.pump.flow < plan.pump.curve[-1][0]
    assert plan_from_text(write_plan(best.plan)).pump == best.plan.pump  # can be written and read again


def test_a_sturdy_plan_is_left_alone():
    plan = plan_of(pump__flow=21 * LITRE_A_MINUTE)
    assert search(plan)[1] is None
    answer = sturdy(plan)
    assert "nothing to change" in answer.text
    assert answer.plan == plan


def test_what_nothing_mends_is_said():
    """A sump that stands over the bell's rim: no valve, pipe or slot helps."""
    plan = plan_of(sump__floor=0.35)
    answer = sturdy(plan)
    assert answer.plan is None or "not sturdy" in answer.text
    assert "works at 0 of" in answer.text


def test_stock_and_prices_are_counted():
    """Pipe that is there comes before pipe that is not; the first costs nothing by the price list."""
    plan = plan_of("spills-without-starting")
    stock = {("ASTM D1785 schedule 40", "1 in")}
    cost = {s.change.words: s.cost for s in _pipes(plan, plan.siphons[0], stock)}
    one, other = (
        next(c for w, c in cost.items() if w.startswith(f"Fit a {size}")) for size in ("1 in", "1-1/4 in")
    )
    assert one < other
    bill = {"2 in": Decimal("20.00"), "1 in": Decimal("14.50")}
    said = sturdy(plan, costs=lambda p: (bill[p.siphons[0].standpipe.pipe.size], "credits")).text
    assert "Parts then cost 5.50 credits less." in said
    assert "Nothing has to be bought." in said


def test_what_a_change_costs_is_said_with_its_sign():
    bought = Step(1.0, Change("", {"siphon.siphon.tail.size": "1 in"}))
    worked = Step(1.0, Change("", {"pump.flow": 1.0}))
    assert (bought.buys, worked.buys) == (True, False)
    for more, said in ((3, " Parts then cost 3 coins more."), (-3, " Parts then cost 3 coins less.")):
        assert sturdy_module._price(Decimal(more), "coins", bought) == said
        assert sturdy_module._price(Decimal(more), "coins", worked) == said
    assert sturdy_module._price(Decimal(2), "", bought) == " Parts then cost 2 more."
    assert sturdy_module._price(Decimal(0), "coins", bought) == " Your prices name nothing for it."
    assert sturdy_module._price(Decimal(0), "coins", worked) == " Nothing has to be bought."


def test_only_what_bears_on_a_fault_is_tried():
    """More openings where beds drain late; a wider lip or a shorter standpipe where water stands too high."""
    plan = read_plan(data_dir() / "plans" / "greenhouse.toml")
    for key, wanted in (("drains", "slots"), ("strainer", "slots"), ("bed_freeboard", "lips"), ("stop", "")):
        steps = list(_further(plan, key, ()))
        slots = [s.change.values for s in steps if "openings" in s.change.words]
        lips = [s.change.values for s in steps if "openings" not in s.change.words]
        assert (bool(slots), bool(lips)) == (wanted == "slots", wanted == "lips"), key
        assert [values["bed.bed 2.strainer.count"] for values in slots] == [35, 42, 56, 84][: len(slots)]
        cut = [v["siphon.siphon.standpipe.height"] for v in lips if "siphon.siphon.standpipe.height" in v]
        assert cut == pytest.approx([0.41, 0.39, 0.35][: len(cut)])
        assert len(cut) == 3 * (wanted == "lips")
    bare = edit.put(plan, {"bed.bed 2.strainer": None})
    assert not list(_further(bare, "drains", ()))


def test_a_pump_that_fits_whatever_it_brings_needs_no_valve():
    """Both ends of what it may give lie between a sure start and a sure stop; else a valve is set."""
    plan = read_plan(data_dir() / "plans" / "greenhouse.toml")
    siphon, run = plan.siphons[0], run_plan(plan, trace=False)
    high = sump_range(plan, run).high
    end = stop(plan, siphon, (high, high))
    starts, stops = start_band(siphon).high, end.low * (1.0 - end.margin)
    less, more = pump_ends(plan)
    assert less < 1.0 < more
    for flow, alone in (
        (1.001 * starts / less, True), (0.999 * starts / less, False),
        (0.999 * stops / more, True), (1.001 * stops / more, False),
    ):  # fmt: skip
        given = replace(plan, pump=replace(plan.pump, flow=flow))
        first = next(_settings(given, siphon.name, run, ()))
        assert (first == ()) is alone, flow
        assert alone or "valve" in first[0].change.words
