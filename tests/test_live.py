"""What the sliders of a live page do to a plan, in Python; `tests/browser/test_live_pages.py` moves them."""

from dataclasses import replace

import pytest

from aquacalc.findings import find, verdict
from aquacalc.live.answer import answer, drawn, told
from aquacalc.live.page import own_number
from aquacalc.live.settings import SETTINGS, moved, value_at
from aquacalc.live.sliders import _kind, _text, saved, sliders
from aquacalc.plan import plan_from_text, read_plan
from aquacalc.plan.check import contradictions
from aquacalc.results.cycle import run_plan
from tests.plan.generated import plan_text
from tests.report.test_text import PLANS

pytestmark = pytest.mark.identity
NAMES = ("greenhouse", "one-bed", "two-groups", "us-units")


def value_of(slider, number):
    return slider.sizes[number] if slider.sizes else number * slider.per / slider.over


@pytest.mark.parametrize("name", NAMES)
def test_a_slider_moves_what_it_names_and_nothing_else(name):
    plan = read_plan(PLANS[name])
    found = sliders(plan, plan.units)
    assert [s.key for s in found] == sorted((s.key for s in found), key=list(SETTINGS).index)
    for slider in found:
        own = {path: value_at(plan, list(fields)) for path, fields in slider.paths}
        assert slider.low < slider.high, slider.key
        for number in (slider.low, slider.high):
            value = value_of(slider, number)
            new = moved(plan, [(slider.key, slider.place, value)])
            now = {path: value_at(new, list(fields)) for path, fields in slider.paths}
            path = next(iter(own))
            wanted = value.size if slider.sizes else value
            if slider.key == "lip":  # never narrower than its pipe
                wanted = max(wanted, plan.siphons[slider.place].standpipe.pipe.bore)
            if slider.key == "room":  # over the lip, where the file has the top over the floor
                wanted += plan.siphons[slider.place].standpipe.height
            assert now[path] == (wanted if slider.sizes else pytest.approx(wanted, rel=1e-9)), slider.key
            back = moved(new, [(slider.key, slider.place, start_of(slider, plan))])
            untouched = {other: value_at(back, list(fields)) for other, fields in slider.paths}
            if slider.key not in (
                "lip",
                "bore",
                "drains",
            ):  # a bore widens the lip, and stretches a short drop
                assert untouched == pytest.approx(own), slider.key


def start_of(slider, plan):
    return slider.start if not slider.sizes else plan.runs[0].pipe


@pytest.mark.parametrize("name", NAMES)
def test_a_page_keeps_the_plan_and_answers_as_the_report(name):
    plan = read_plan(PLANS[name])
    _, pieces = saved(plan, sliders(plan, plan.units))
    text = "".join(piece["before"] for piece in pieces)
    assert plan_from_text(text) == replace(plan, text="")
    found = answer(plan, [])
    assert found.faults == ()
    assert found.verdict == verdict(find(run_plan(plan)))
    markup = drawn(found, 400.0) | told(found, 400.0)
    assert set(markup) == {"result", "levels", "verdict", "window", "findings"}
    assert markup["window"].count("<svg") == len(plan.siphons)


@pytest.mark.parametrize("name", ["pump-curve", "minimal", 1003, 1011, 1025])
def test_only_what_a_slider_moves_becomes_given(name):
    """1011 and 1025 have their tables in an order of their own, 1003 a curve with other keys after it."""
    plan = plan_from_text(plan_text(name)) if isinstance(name, int) else read_plan(PLANS[name])
    found = sliders(plan, plan.units)
    paths, pieces = saved(plan, found)
    for slider in found:
        own = {path for path, _ in slider.paths}
        number = slider.low if slider.sizes else min(own_number(slider) + 1, slider.high)
        new = moved(plan, [(slider.key, slider.place, value_of(slider, number))])
        if contradictions(new):  # which the page refuses
            continue
        text = ""
        for piece in pieces:
            parts = piece.get("after", [])
            values = {k: value_at(new, list(paths[k].fields)) for k in parts if isinstance(k, int)}
            if all(value == paths[k].start for k, value in values.items()):
                text += piece["before"]
                continue
            shown = {k: _text(value, _kind(paths[k].path), "metric") for k, value in values.items()}
            text += "".join(shown[part] if isinstance(part, int) else part for part in parts)
        again = plan_from_text(text)
        other = {k for k in {*plan.marks, *again.marks} if plan.marks.get(k) != again.marks.get(k)}
        assert other <= own | ({"pump.curve"} if slider.key == "flow" else set()), (slider.key, other)


def test_what_cannot_be_built_is_said_and_not_run():
    plan = read_plan(PLANS["greenhouse"])
    found = answer(plan, [("rim", 0, plan.siphons[0].standpipe.height + 0.1)])
    assert found.run is None
    assert found.verdict == ""
    assert any("rim_height" in fault or "rim height" in fault for fault in found.faults), found.faults


def test_flows_of_the_window_are_in_the_readers_unit():
    plan = read_plan(PLANS["greenhouse"])
    for system, unit in (("metric", "L/min"), ("us", "gpm")):
        shown = told(answer(replace(plan, units=system), []), 400.0)["window"]
        assert unit in shown
