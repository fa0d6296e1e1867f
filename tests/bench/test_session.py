"""The bench test of a plan: when it is enough, what goes into the plan, and for which parts it holds."""

import dataclasses
from dataclasses import replace
from pathlib import Path

import pytest

from aquacalc.bench import words
from aquacalc.bench.jug import read_jug
from aquacalc.bench.session import MOST_TRIALS, bench, free_stop
from aquacalc.bench.trials import TrialFile, of_parts, trial
from aquacalc.catalogue import data_dir
from aquacalc.design.bore import lip_and_bore
from aquacalc.design.chances import plan_spreads, varied
from aquacalc.design.change import kept
from aquacalc.findings import find
from aquacalc.hydraulics.starting import start_band
from aquacalc.hydraulics.stopping import stop
from aquacalc.plan import edit, plan_from_text, read_plan
from aquacalc.plan.marks import mark_of
from aquacalc.plan.model import Breather, Leg
from aquacalc.plan.tested import changed, parts, written
from aquacalc.plan.write import write_plan
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import inflow_window

pytestmark = pytest.mark.identity
L = 1 / 60000
DEMO = read_plan(data_dir() / "plans" / "greenhouse.toml")


def demo_test(*trials, flow=18.0):
    """The bench test of the demo at a pump's flow, L/min, with trials "9.4: started"."""
    plan = edit.put(DEMO, {"pump.flow": flow * L})
    pairs = (text.split(":") for text in trials)
    made = [trial(f"{reading} L/min +- 3 %", outcome) for reading, outcome in pairs]
    return bench(plan, trials=made)


#: Trials that settle the demo: it starts from about 11 L/min.
SETTLED = ("9.4: n", "13: started, stopped", "11: started", "10.4: n")


def start_finding(plan):
    run = run_plan(plan)
    return next(f for f in find(run) if f.key in ("start", "spills")), run


# When it is enough. Pairs: what must not be called settled, and the same with what settles it.


def test_a_flow_inside_what_is_left_is_never_called_enough():
    assert demo_test("9.4: n", "13: started", flow=11.0).answer == ""
    assert demo_test("9.4: n", "13: started", flow=18.0).answer == "works"


def test_a_flow_below_all_that_started_is_called_so():
    settled = demo_test("9.4: n", "13: started", "7: n", flow=6.0)
    assert settled.answer == "does not start"
    assert "do not cut" in words.verdict(settled)[0]


def test_nothing_is_enough_before_a_trial():
    assert demo_test(flow=30.0).enough == ""
    assert demo_test("20: started, stopped", flow=20.0).enough == "decided"


def test_a_siphon_that_ran_on_at_the_plans_flow_is_no_yes():
    ran = demo_test(*(f"{flow}: started, ran on" for flow in (28, 30, 33)), flow=40.0)
    assert ran.answer == "runs on"
    assert "do not cut" in words.verdict(ran)[0]
    stopped = demo_test("33: started, stopped", "36: started, stopped", flow=30.0)
    assert stopped.answer == "works"


def test_ten_trials_are_the_most():
    trials = ["10: started", "11: n"] * (MOST_TRIALS // 2)
    done = demo_test(*trials, flow=10.5)
    assert done.enough == "ten trials"
    assert "may or may not" in words.verdict(done)[0]


def test_both_trials_are_asked_for_where_both_are_open():
    both = demo_test(flow=33.0)
    assert not both.start_open
    assert both.stop_open
    assert both.next.stop > 0.0
    assert both.next.flow <= both.hose


def test_a_wide_open_hose_is_asked_for_no_more_than_it_gives():
    small = bench(edit.put(DEMO, {"pump.flow": 33 * L}), hose=20 * L)
    assert small.next.flow <= 20 * L


# What goes into the plan.


def test_what_was_measured_replaces_the_band_everywhere():
    test = demo_test(*SETTLED, flow=16.5)
    before, _ = start_finding(test.plan)
    after, run = start_finding(test.measured())
    assert before.title == "Start is uncertain"
    assert after.title == "The siphon starts"
    window = inflow_window(run.plan, run.plan.siphons[0], run)
    never, always = test.start.any_flood()
    assert window.observed
    assert (window.start_low, window.start_high) == pytest.approx((never, always), rel=0.02)
    assert "own readings" in after.cause


def test_the_plan_is_written_and_read_back_with_it():
    plan = demo_test(*SETTLED).measured()
    text = write_plan(plan)
    again = plan_from_text(text)
    assert again == plan
    mark = mark_of(plan, "siphon.siphon.priming.observed")
    assert (mark.mark, mark.note) == ("measured", "4 trials at the bench")
    assert 'mark = "measured"' in text
    assert text.count("\nobserved =") == 1  # nobody saw it run on, so the stop stays as printed
    assert start_band(again.siphons[0]).measured


def test_a_stop_seen_from_both_sides_replaces_its_band():
    test = demo_test("11: started", "28: started, stopped", "36: started, ran on", "33: started, ran on")
    run = run_plan(test.measured())
    window = inflow_window(run.plan, run.plan.siphons[0], run)
    low, high = test.stop.any_flood()
    assert window.stop_observed
    assert (window.stop_with_margin, window.stop) == pytest.approx((low, high), rel=0.02)
    # 36 L/min ran on at the bench.
    there = edit.put(run.plan, {"pump.flow": 36 * L})
    (finding,) = [f for f in find(run_plan(there)) if f.key in ("stop", "runs_on")]
    assert finding.state != "good"


def test_a_stop_is_less_where_the_sump_takes_head_from_the_tail():
    test = demo_test("11: started", "28: started, stopped", "36: started, ran on", "33: started, ran on")
    low = {"siphon.siphon.tail.outlet": 0.05}
    drowned = edit.put(test.measured(), low)
    window = inflow_window(drowned, drowned.siphons[0], run_plan(drowned))
    printed = edit.put(DEMO, {"pump.flow": 18 * L, **low})
    rim = inflow_window(printed, printed.siphons[0], run_plan(printed))
    assert rim.head_at_rim < 0.45  # the sump stands over the tail's end
    # Less head than on the bench or more: the flow goes as the siphon's own law has it.
    part = rim.stop / free_stop(DEMO, DEMO.siphons[0]).high
    assert window.stop == pytest.approx(part * test.stop.any_flood()[1], rel=0.02)
    end = drowned.siphons[0].tail.end
    found = stop(drowned, drowned.siphons[0], (end, end + 0.3))
    assert found.measured
    assert found.flow == pytest.approx(0.5 * (found.low + found.high))
    assert found.flow < stop(drowned, drowned.siphons[0], (end, end)).flow


# For which parts it holds.

#: Part, key and another value of it.
OTHER_PARTS = [
    ("standpipe", "standpipe.height", 0.40),
    ("standpipe", "standpipe.bore", 0.0263),
    ("lip", "standpipe.lip_diameter", 0.045),
    ("lip", "standpipe.cone_length", 0.04),
    ("bell", "bell.bore", 0.080),
    ("bell", "bell.top_height", 0.48),
    ("bell", "bell.openings", 6),
    ("bell", "bell.notch_height", 0.02),
    ("bell", "breather", Breather(0.004, 0.5, 0.1)),
    ("tail", "tail.length", 0.60),
    ("tail", "tail.bore", 0.0351),
]


@pytest.mark.parametrize(("part", "key", "value"), OTHER_PARTS)
def test_another_part_loses_the_reading_and_the_report_says_so(part, key, value):
    plan = demo_test(*SETTLED, flow=14.0).measured()
    other = edit.put(plan, {f"siphon.siphon.{key}": value})
    assert changed(other.siphons[0]) == (part,)
    assert not start_band(other.siphons[0]).measured
    finding, run = start_finding(other)
    assert f"with another {part}" in finding.cause
    assert not inflow_window(other, other.siphons[0], run).observed
    back = edit.put(other, {f"siphon.siphon.{key}": edit.get(plan, f"siphon.siphon.{key}")})
    assert start_band(back.siphons[0]).measured


#: What may change of a siphon's parts without touching where it starts and stops.
NO_MATTER = {
    "name", "host", "tested", "priming", "stopping", "series", "size", "outside_diameter", "roughness",
    "media_guard", "lip_weir", "lip_orifice", "outlet", "outlet_is", "enters", "foot", "overflow",
}  # fmt: skip


def _fields(record, path=()):
    """Every field of a siphon that is no record itself, by its path."""
    for field in dataclasses.fields(record):
        value = getattr(record, field.name)
        if dataclasses.is_dataclass(value) and field.name not in NO_MATTER:
            yield from _fields(value, (*path, field.name))
        else:
            yield (*path, field.name), value


def _with(record, path, value):
    head, *rest = path
    inner = _with(getattr(record, head), rest, value) if rest else value
    return replace(record, **{head: inner})


def test_every_field_of_the_parts_is_named_or_does_not_matter():
    """A new field of a siphon must be told apart in `plan.tested.parts`, or stand above with the others."""
    siphon = DEMO.siphons[0]
    untold = []
    for path, value in _fields(siphon):
        if path[-1] in NO_MATTER:
            continue
        other = value + 1 if isinstance(value, int | float) else "other"
        if path[-1] == "breather":
            other = Breather(0.004, 0.5, 0.1)
        if isinstance(value, tuple):
            other = () if value else (Leg("down", 0.1),)
        if parts(_with(siphon, path, other)) == parts(siphon):
            untold.append(".".join(path))
    assert untold == []


@pytest.mark.parametrize(
    ("key", "value"), [("pump.flow", 15 * L), ("siphon.siphon.lip_weir", 1.5), ("sump.water_level", 0.55)]
)
def test_what_was_not_tested_may_change(key, value):
    plan = edit.put(demo_test(*SETTLED, flow=14.0).measured(), {key: value})
    assert start_band(plan.siphons[0]).measured


def test_another_bore_is_sought_by_what_is_in_print():
    """Where a siphon of 26.6 mm starts says nothing, measured, of one of 20.9 mm."""
    measured, printed = demo_test(*SETTLED).measured(), demo_test().plan
    assert lip_and_bore(measured).exact == pytest.approx(lip_and_bore(printed).exact, rel=1e-9)


def test_what_is_known_better_varies_less():
    measured, printed = demo_test(*SETTLED).measured(), demo_test().plan
    assert plan_spreads(measured)["start"] < 0.7 * plan_spreads(printed)["start"]


@pytest.mark.parametrize(("system", "unit", "other"), [("metric", "mm", "in"), ("us", "in", "mm")])
def test_parts_are_written_in_the_plans_units_and_known_in_either(system, unit, other):
    seen = bench(replace(DEMO, units=system), trials=demo_test(*SETTLED).trials).measured()
    siphon = seen.siphons[0]
    assert f" {unit}" in siphon.tested
    assert f" {other}" not in siphon.tested
    assert written(siphon, system) == siphon.tested
    assert set(kept(seen, replace(siphon, tested="")).values()) == {siphon.tested}
    assert not changed(siphon)
    assert changed(edit.put(seen, {"siphon.siphon.standpipe.height": 0.4305}).siphons[0]) == ("standpipe",)
    file = TrialFile(Path("a.toml"), siphon.name, siphon.tested, demo_test(*SETTLED).trials)
    assert len(of_parts([file], DEMO.siphons[0])) == len(SETTLED)


def test_a_readers_own_flow_holds_for_any_parts():
    seen = {"siphon.siphon.priming.observed": 11 * L, "siphon.siphon.standpipe.height": 0.40}
    assert start_band(edit.put(DEMO, seen).siphons[0]).measured


def test_every_part_is_told_apart():
    names = {name for name, _, _ in OTHER_PARTS}
    assert names == set(parts(DEMO.siphons[0]))


def test_parts_that_vary_as_they_are_made_stay_tested():
    """A bore a hundredth wider than in print is the same pipe."""
    plan = demo_test(*SETTLED).measured()
    factors = {"inflow": 1.0, "porosity": 1.0, "bore": 1.01, "loss": 1.0, "lip": 1.0, "start": 1.0}
    found = start_band(varied(plan, factors).siphons[0])
    assert found.measured
    assert found.middle == pytest.approx(start_band(plan.siphons[0]).middle, rel=1e-9)


# Words.


def test_a_contradiction_is_said_in_words():
    said = " ".join(words.remarks(demo_test("9: started", "11: n", flow=10.0)))
    assert "It started at 9 L/min but did not start at 11 L/min." in said
    assert "Try about 9.95 L/min again." in said
    assert not words.remarks(demo_test("9: n", "11: started"))


def test_an_odd_trial_is_named():
    odd = demo_test("9: n", "10: n", "12: started", "13: started", "5.5: started", flow=11.0)
    said = " ".join(words.remarks(odd))
    assert "speak against the one at 5.5 L/min" in said


#: Trials at the bench, and what has to be said of them; the plan must not be called to work by them.
SAID = [
    (("60: n",), "Is the unit right"),
    (("60: n", "50: n", "60: n"), "trust your trials"),
    (("13: started, ran on",), "published values have it stop up to 34 L/min"),
    (("6: started", "8: started", "10: n", "12: n", "14: n"), "the wrong way round"),
    (("14: n", "12: n", "10: n", "8: started", "6: started"), "the wrong way round"),
    (("13: n", "17: n", "20: n", "24: n"), "did not start at any flow tried, up to 24 L/min"),
]


@pytest.mark.parametrize(("trials", "said"), SAID)
def test_what_must_be_said_of_doubtful_trials(trials, said):
    test = demo_test(*trials)
    assert said in " ".join([*words.bands(test), *words.remarks(test)])
    assert test.answer != "works"
    assert test.enough in ("", "decided", "nothing more to learn")


#: Trials, the plan's flow, what is the answer, and what must and must not be said of what comes next.
NEXT = [
    (("20: n", "24: n"), 8, "does not start", "No flow tried has started it: look for a leak", "From "),
    (
        ("9: n", "13: started"),
        5,
        "does not start",
        "on 19 of 20: raise the flow, or test a narrower",
        "No flow",
    ),
    (("33: started, ran on", "30: ran on", "28: ran on"), 42, "runs on", "stopped at no flow tried", "Up to"),
    (("25: started, stopped", "33: ran on"), 55, "runs on", "on 19 of 20: turn the flow down", "at no flow"),
    (
        ("20: started, stopped", "26: started, stopped"),
        30,
        "",
        "whether it still stops at such a flow",
        "not (",
    ),
    (("9: n", "13: started"), 11, "", "Why: it may start there or not (", "still stops"),
    (("11: started", "11: n") * 5, 11, "", "Bring the flow above 16.8 L/min, or test a narrower", "below"),
    (("33: ran on", "33: started, stopped") * 5, 33, "", "Bring the flow below 23.8 L/min, or test", "above"),
]


@pytest.mark.parametrize(("trials", "flow", "answer", "said", "unsaid"), NEXT)
def test_what_comes_next_is_what_was_seen(trials, flow, answer, said, unsaid):
    test = demo_test(*trials, flow=flow)
    assert test.answer == answer
    told = " ".join(words.verdict(test)) if test.enough else words.next_line(test)
    assert said in told
    assert unsaid not in told
    assert len(trials) < MOST_TRIALS or not words.worth(test)


def test_all_started_says_that_the_lower_end_is_a_guess():
    test = demo_test("13: started", "9.4: started", "7: started", "6: started")
    assert "down to 6 L/min: where it no longer does is a guess" in " ".join(words.bands(test))
    assert test.answer == "works"


def test_a_coarse_jug_is_said_and_narrows_less():
    plan = edit.put(DEMO, {"pump.flow": 18 * L})
    wide, fine = (
        bench(plan, trials=[trial(f"{q} L/min +- {error} %", out) for q, out in ((9, "n"), (13, "started"))])
        for error in (10, 3)
    )
    assert "good to 10 % only" in " ".join(words.bands(wide))
    assert "good to" not in " ".join(words.bands(fine))
    low, high = wide.start.band()
    assert high / low > fine.start.band()[1] / fine.start.band()[0]


def test_the_prior_of_the_stop_is_what_the_plan_says():
    """A wide tail may run open: the band reaches from the open flow less the air to the full one."""
    for size in ("1 in", "2 in"):
        plan = edit.put(DEMO, {"siphon.siphon.tail.size": size})
        end = plan.siphons[0].tail.end
        found, test = stop(plan, plan.siphons[0], (end, end)), bench(plan)
        assert (test.stop.low, test.stop.high) == pytest.approx((0.857 * found.low, found.high), rel=1e-3)
    assert found.low < 0.8 * found.high


def test_a_breather_that_breaks_it_firmly_is_tested_at_its_mouth():
    plan = edit.put(DEMO, {"siphon.siphon.breather": Breather(0.004, 0.5, 0.1)})
    made = [trial(f"{q} L/min +- 3 %", out) for q, out in ((40, "started, stopped"), (52, "started, ran on"))]
    test = bench(plan, trials=made)
    assert test.stop.low == test.stop.high
    measured = test.measured()
    end = measured.siphons[0].tail.end
    found = stop(measured, measured.siphons[0], (end, end))
    assert found.measured
    assert (found.low, found.high) == pytest.approx(test.stop.any_flood(), rel=0.02)


def test_a_bar_shrinks_with_every_trial():
    drawn = []
    for n in range(len(SETTLED)):
        lines = words.bar(demo_test(*SETTLED[: n + 1]))
        drawn.append(next(line.count("#") for line in lines if line.startswith("  measured")))
    assert drawn == sorted(drawn, reverse=True)
    assert drawn[-1] < 0.65 * drawn[0]


def test_everything_said_fits_a_terminal():
    lines = words.bar(demo_test(*SETTLED, "31: started, stopped", "34: ran on"))
    assert max(map(len, [*lines, words.KEY.rjust(12)])) <= 80


@pytest.mark.parametrize("flow", [0.1, 300.0])
def test_a_reading_of_another_size_is_a_slip(flow):
    test = demo_test()
    assert not test.plausible(read_jug(f"{flow} L/min"))
    assert test.plausible(read_jug("9 L/min"))


def test_readings_of_the_bed_go_the_same_way():
    """Where the sump stays below the tail, bed and bench say the same."""
    bucket = demo_test("13: started, stopped", "33: ran on")
    bed = bench(bucket.plan, trials=[replace(t, where="bed") for t in bucket.trials])
    assert bed.part == pytest.approx(1.0)
    assert bed.stop.band() == bucket.stop.band()
    assert bed.start.band() == bucket.start.band()


def test_several_siphons_have_to_be_named():
    two = read_plan("tests/plans/two-groups.toml")
    with pytest.raises(ValueError, match="name one of"):
        bench(two)
    assert bench(two, two.siphons[1].name).siphon == two.siphons[1]
