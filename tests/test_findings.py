"""Findings as a whole: the demo plans show their case, words and numbers agree."""

import math
import re
from dataclasses import replace

import pytest

from aquacalc.findings import VERDICTS, Finding, find, works
from aquacalc.plan import edit, read_plan
from aquacalc.results.cycle import run_plan
from tests.findings_base import demo, found, run_of, with_plan

pytestmark = pytest.mark.identity

DEMOS = {
    "greenhouse": set(),
    "spills-without-starting": {("bad", "spills")},
    "runs-on-without-stopping": {("bad", "runs_on")},
    "sump-overflows": {("bad", "sump_overflow"), ("bad", "drain_back")},
}


@pytest.mark.parametrize("name", DEMOS)
def test_demo_plans_show_their_case_and_nothing_else(name):
    findings = find(run_of(name))
    assert {(f.verdict, f.key) for f in findings if f.verdict != "good"} == DEMOS[name]
    assert works(findings) == (not DEMOS[name])


@pytest.mark.parametrize("name", DEMOS)
def test_every_finding_says_why_and_what_to_change(name):
    for f in find(run_of(name)):
        assert f.verdict in VERDICTS
        assert f.reason.endswith(".")
        assert not f.title.endswith(".")
        assert bool(f.change) == (f.verdict != "good"), f
        if f.margin is not None:
            assert (f.margin < 0.0) == (f.verdict != "good"), f
            assert math.isclose(abs(f.margin), min(abs(f.value - f.limit), abs(f.margin)), rel_tol=1e-9)


@pytest.mark.parametrize("name", [*DEMOS, "one-bed"])
def test_findings_are_said_in_the_units_asked_for(name):
    run = run_of(name)
    assert find(run) == find(run, run.plan.units)
    metric, us = find(run, "metric"), find(run, "us")
    assert [replace(f, reason="", change="") for f in metric] == [
        replace(f, reason="", change="") for f in us
    ]
    said = " ".join(f"{f.reason} {f.change}" for f in us)
    assert re.search(r"\d (in|gal|gpm)\b", said)
    assert not re.search(r"\d (mm|m|L|L/min|cm²|kg|kg/m²)(?!\w)", said)


def test_worst_comes_first():
    ranks = [VERDICTS.index(f.verdict) for f in find(run_of("sump-overflows"))]
    assert ranks == sorted(ranks)
    assert len(set(ranks)) > 1


def test_works_unless_one_is_bad():
    good, bad = (Finding("k", "t", v, "s", None, None, None, "length", "r.") for v in ("watch", "bad"))
    assert works([good])
    assert not works([good, bad])


def test_units_of_the_plan_are_the_units_of_the_words():
    us = run_of("greenhouse")
    us = replace(us, plan=replace(us.plan, units="us"))
    for f in find(us):
        words = f"{f.reason} {f.change} {f.shown('us')}"
        assert not any(unit in words.split() for unit in ("mm", "L/min", "L", "kg", "kPa", "cm²", "m"))
    metric = find(demo())
    assert "18.0 L/min" in next(f for f in metric if f.key == "start").reason
    assert "4.76 gpm" in next(f for f in find(us) if f.key == "start").reason  # 18 / 3.785411784


def test_no_water_arrives_at_a_group_without_a_share():
    plan = read_plan("tests/plans/two-groups.toml")
    dry = edit.put(plan, {"bed.bed 3.inflow_share": 0.0})
    run = run_plan(dry, trace=False)
    assert found(run, "no_inflow", "siphon B").verdict == "bad"
    assert found(run, "no_inflow", "siphon A") is None
    assert found(run_plan(plan, trace=False), "no_inflow") is None


def test_margin_is_written_as_in_hand_short_or_over():
    at = {"bed.bed 1.depth": 0.3, "limits.bed_freeboard": 0.1}
    short = found(with_plan(demo(), at), "bed_freeboard", "bed 1")
    assert "short by" in short.shown("metric")
    assert "over by" in found(run_of("runs-on-without-stopping"), "runs_on").shown("metric")
    assert found(demo(), "bed_freeboard", "bed 1").shown("metric").endswith("in hand")
