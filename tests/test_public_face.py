"""`import aquacalc`: quick, and all that a notebook needs."""

from __future__ import annotations

import subprocess
import sys

import pandas as pd
import pint
import pytest

import aquacalc
from aquacalc.plan.errors import PlanError
from aquacalc.units import UnitError

pytestmark = pytest.mark.identity


@pytest.fixture(scope="module")
def plan():
    return aquacalc.read_plan(aquacalc.data_dir() / "plans" / "greenhouse.toml")


@pytest.fixture(scope="module")
def run(plan):
    return aquacalc.run_plan(plan, trace=False)


def test_nothing_is_loaded_before_it_is_used():
    code = "import sys, aquacalc; print([m for m in sys.modules if m.startswith('aquacalc.')])"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert shown.strip() == "['aquacalc.face']"


@pytest.mark.parametrize("name", [n for n in aquacalc.__all__ if n != "__version__"])
def test_every_name_is_there_and_documented(name):
    thing = getattr(aquacalc, name)
    assert callable(thing)
    assert thing.__doc__


def test_a_name_that_is_not_there():
    with pytest.raises(AttributeError, match="tallest_pipe"):
        _ = aquacalc.tallest_pipe


def test_an_equation_takes_text_a_quantity_or_a_float(plan):
    area = aquacalc.equation("circle_area")
    ours, theirs = pint.get_application_registry(), pint.UnitRegistry()
    values = [area.compute(D=d).value for d in (0.0409, "40.9 mm", ours("40.9 mm"), theirs("4.09 cm"))]
    assert values == pytest.approx([values[0]] * 4, rel=1e-12)
    assert repr(area.compute(D="40.9 mm")).startswith("area: 13.1 cm")


@pytest.mark.parametrize(
    "bad", ["3 kg", pint.UnitRegistry()("3 kg"), True, None, [1.0], "wide", float("nan")]
)
def test_a_wrong_type_is_one_sentence(bad):
    with pytest.raises(UnitError) as caught:
        aquacalc.equation("circle_area").compute(D=bad)
    assert str(caught.value).startswith("circle_area: D (bore): ")
    assert "\n" not in str(caught.value)


def test_a_misspelt_equation_is_guessed():
    with pytest.raises(ValueError, match="did you mean lip_head"):
        aquacalc.equation("lip_haed")


def test_a_plan_is_changed_in_the_readers_units(plan):
    changed = aquacalc.change(plan, {"pump.flow": "20 L/min", "siphon.standpipe.height": "16 in"})
    assert aquacalc.value_of(changed, "pump.flow") == pytest.approx(20e-3 / 60)
    assert aquacalc.value_of(changed, "siphon.standpipe.height") == pytest.approx(0.4064)
    with pytest.raises(UnitError, match=r"pump\.flow.*where a flow is wanted"):
        aquacalc.change(plan, {"pump.flow": "20 mm"})
    with pytest.raises(PlanError):
        aquacalc.plan_from_text("[plan]")


def test_results_are_a_few_lines_and_a_table(plan, run):
    findings = aquacalc.find(run)
    for thing in (plan, run, findings, aquacalc.tallest_standpipe(plan), aquacalc.build_report(plan)):
        assert len(repr(thing)) < 1500, type(thing)
        assert " object at 0x" not in repr(thing)
    assert plan.beds[0].name in run.frame().index
    level = run.frame().loc["chamber", "highest, m"]
    assert level == pytest.approx(run.node("chamber").high)
    assert isinstance(findings.frame(), pd.DataFrame)
    assert len(findings.frame()) == len(findings)
    assert "<table" in run._repr_html_()
    assert "<table" in findings._repr_html_()


def test_tables_follow_the_plans_units(plan):
    us = aquacalc.run_plan(aquacalc.change(plan, {"plan.units": "us"}), trace=False)
    heading = next(h for h in us.frame().columns if h.startswith("highest"))
    assert heading == "highest, in"
    assert us.frame().loc["chamber", heading] == pytest.approx(us.node("chamber").high / 0.0254)


@pytest.mark.parametrize(
    ("name", "given", "said"),
    [
        ("run_plan", (3,), "run_plan: plan is 3, which is not a plan. Fix: give what read_plan returned."),
        ("find", ("x",), "find: run is 'x', which is not a run of a plan. Fix: give what run_plan returned."),
        ("change", (None, {}), "change: plan is None, which is not a plan."),
        ("verdict", (3,), "verdict: findings is 3, which is not findings. Fix: give what find returned."),
        ("read_plan", (3,), "read_plan: path is 3, which is not a path."),
        ("plan_from_text", (b"a",), "plan_from_text: text is b'a', which is not text."),
        ("sweep", (list(range(99)), {}), "sweep: plan is of the type list, which is not a plan."),
    ],
)
def test_a_wrong_argument_is_one_sentence(name, given, said):
    with pytest.raises(TypeError) as caught:
        getattr(aquacalc, name)(*given)
    assert str(caught.value).startswith(said)
    assert "\n" not in str(caught.value)


def test_a_plan_by_its_keyword_is_taken(plan):
    assert aquacalc.run_plan(plan=plan, trace=False).plan is plan
