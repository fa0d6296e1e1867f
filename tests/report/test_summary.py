"""The first screen: what it says is what the run and the findings say."""

import re

import pytest

from aquacalc.design import keeping
from aquacalc.findings import find, verdict
from aquacalc.plan import edit
from aquacalc.report import summary
from aquacalc.report.content import build_report
from aquacalc.report.text import WIDTH, text
from aquacalc.results.cycle import run_plan
from aquacalc.units import show
from tests.report.test_text import PLANS, report

pytestmark = pytest.mark.identity


def fact(found, label):
    return [words for name, words in summary.facts(found) if name.startswith(label)]


@pytest.mark.parametrize("name", PLANS)
def test_the_first_lines_hold_the_first_questions(name):
    found = report(name)
    siphons = len(found.plan.siphons)
    first = "\n".join(text(found).splitlines()[: 25 + 8 * (siphons - 1)])
    for label in ("Start", "Stop", "Floods", "Beds", "Fill the sump to", "Margins, tightest first"):
        assert label in first, label
    assert first.count("\n") < 25 + 8 * siphons
    assert all(len(line) <= WIDTH for line in first.splitlines())


def test_on_a_timer_the_floods_are_the_timers():
    """A pump that outruns the siphon works by a timer: one flood each time, not "none"."""
    greenhouse = report("greenhouse").plan
    timed = edit.put(greenhouse, {"pump.flow": 45 / 60e3, "pump.on": 900.0, "pump.off": 2700.0})
    assert fact(build_report(timed), "Floods") == ["1 an hour by the timer: on 15 min 0 s, off 45 min 0 s"]
    always = build_report(edit.put(greenhouse, {"pump.flow": 45 / 60e3}))
    assert fact(always, "Floods") == ["none: the siphon runs on and never fills"]


def test_the_demo_says_its_numbers():
    found = report("greenhouse")
    assert fact(found, "Start") == ["very likely to start from about 17 L/min; you have 18"]
    group, bed = found.run.groups[0], found.plan.beds[0]
    fills, drains = (show(t, "time") for t in (group.period - group.drain_time, group.drain_time))
    floods = f"{3600.0 / group.period:.1f} an hour; fills and starts in {fills}, drains in {drains}"
    assert fact(found, "Floods") == [floods]
    node = found.run.node(bed.name)
    heights = (bed.floor + bed.media.depth - node.high, bed.rim - node.high, node.low - bed.floor)
    dry, room, left = (f"{1e3 * x:.0f}" for x in heights)
    stays = f"{left} mm of water left on its floor"
    said = f"bed 1, bed 2: top {dry} mm of the media dry, {room} mm to the rim, {stays}"
    assert fact(found, "Beds")[0].startswith(said)
    assert fact(report("spills-without-starting"), "Floods") == [
        "none: the siphon spills over the lip and never drains"
    ]


def test_of_many_beds_the_worst_are_named(monkeypatch):
    monkeypatch.setattr(summary, "BEDS", 2)
    found = report("greenhouse")
    (words,) = fact(found, "Beds")
    least = min(found.plan.beds, key=lambda bed: bed.rim - found.run.node(bed.name).high)
    assert words.startswith(f"worst of 3 beds: {least.name}: ")


@pytest.mark.parametrize("end", ["low", "high"])
def test_between_the_marks_the_pump_is_covered_and_the_floor_dry(end):
    """Filled to a mark with the beds drained and the pump off, the plan is at its limit and not past it."""
    plan = edit.put(
        report("greenhouse").plan, {"pump.delivery": None}
    )  # nothing runs back: pump off is drained
    run = run_plan(plan, trace=False)
    mark = getattr(keeping.marks(plan, run)[0], end)
    step = 0.002 if end == "low" else -0.002
    keys = {"low": {"pump_cover"}, "high": {"sump_overflow", "drain_back"}}[end]
    seen = []
    for level in (mark + step, mark - step):
        after = find(run_plan(edit.put(plan, {"sump.water_level": level}), trace=False))
        seen.append({f.state for f in after if f.key in keys})
    assert seen[0] == {"good"}
    assert "watch" in seen[1]


def test_a_sump_too_small_has_no_mark():
    assert fact(report("sump-overflows"), "Fill") == [
        "no level covers the pump and keeps the floor dry: the sump is too small for these beds"
    ]


@pytest.mark.parametrize("name", PLANS)
def test_bars_are_tightest_first_and_full_at_the_limit(name):
    found = report(name)
    made = summary.bars(found)
    assert [b.used for b in made] == sorted((b.used for b in made), reverse=True)
    for bar in made:
        assert (bar.used > 1.0) == (bar.state != "good"), bar
        assert bar.words


def test_what_is_said_to_change_was_tried_or_is_called_help():
    label, words = summary.change(report("spills-without-starting"))
    assert label == "Best change"
    assert "Tried: it works" in words
    heavy = build_report(edit.put(report("greenhouse").plan, {"limits.floor_load": 100.0}))
    label, words = summary.change(heavy)
    assert label == "What may help"
    assert words.startswith("Use lighter media")
    assert summary.change(report("greenhouse")) is None


@pytest.mark.parametrize("name", PLANS)
@pytest.mark.parametrize("units", ["metric", "us"])
def test_sentences_are_whole_in_both_units(name, units):
    """No part is missing, doubled or in the other units, whatever the plan."""
    found = build_report(edit.put(report(name).plan, {"plan.units": units}), 2)
    assert found.verdict == verdict(found.findings)
    said = [words for _, words in summary.facts(found)] + [b.words for b in summary.bars(found)]
    said += [summary.tried(a) for a in found.advice] + [t.says for t in found.turns]
    for words in said:
        assert not re.search(r"  |\.\.|,,|; ;|\bNone\b|\bnan\b|\binf\b", words), words
        wrong = r"\d (mm|L|L/min|kg/m²|m)\b" if units == "us" else r"\d (in|gpm|gal|lb/ft²)\b"
        if not re.search(r"\d in (standpipe|tail|pipe)", words):  # a nominal size is a name
            assert not re.search(wrong, words.replace("in (", "").replace("in and", "")), words
