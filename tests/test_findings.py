"""Findings as a whole: the demo plans show their case, words and numbers agree."""

import re
from dataclasses import replace

import pytest

from aquacalc.findings import STATES, Finding, find, verdict
from aquacalc.findings.record import alike, also
from aquacalc.plan import edit, read_plan
from aquacalc.results.cycle import run_plan
from tests.findings_base import demo, found, run_of

pytestmark = pytest.mark.identity

DEMOS = {
    "greenhouse": set(),
    "spills-without-starting": {("does not", "spills")},
    "runs-on-without-stopping": {("does not", "runs_on")},
    "sump-overflows": {("does not", "sump_overflow"), ("does not", "drain_back")},
}


@pytest.mark.parametrize("name", DEMOS)
def test_demo_plans_show_their_case_and_nothing_else(name):
    findings = find(run_of(name))
    assert {(f.state, f.key) for f in findings if f.state != "good"} == DEMOS[name]
    assert verdict(findings) == ("does not" if DEMOS[name] else "works")


@pytest.mark.parametrize("name", DEMOS)
def test_every_finding_says_why_and_what_to_change(name):
    for f in find(run_of(name)):
        assert f.state in STATES
        assert f.cause.endswith(".")
        assert not f.title.endswith(".")
        assert bool(f.change) == (f.state != "good"), f
        if f.margin is not None:
            assert (f.margin < 0.0) == (f.state != "good"), f
            assert f.margin == (f.value - f.limit) * (1 if f.direction == "at least" else -1)
            assert bool(f.direction) == (f.limit is not None)


@pytest.mark.parametrize("name", [*DEMOS, "one-bed"])
def test_findings_are_said_in_the_units_asked_for(name):
    run = run_of(name)
    assert find(run) == find(run, run.plan.units)
    metric, us = find(run, "metric"), find(run, "us")
    assert [replace(f, cause="", change="") for f in metric] == [replace(f, cause="", change="") for f in us]
    said = " ".join(f"{f.cause} {f.change}" for f in us)
    assert re.search(r"\d (in|gal|gpm)\b", said)
    assert not re.search(r"\d (mm|m|L|L/min|cm²|kg|kg/m²)(?!\w)", said)


def test_worst_comes_first():
    ranks = [STATES.index(f.state) for f in find(run_of("sump-overflows"))]
    assert ranks == sorted(ranks)
    assert len(set(ranks)) > 1


def test_the_worst_finding_decides_and_watch_changes_nothing():
    bad, may, watch, good = (Finding(key="k", title="t", state=s, subject="s", cause="c.") for s in STATES)
    assert verdict([]) == verdict([good]) == verdict([good, watch]) == "works"
    assert verdict([watch, may, good]) == "may or may not"
    assert verdict([good, may, watch, bad]) == "does not"


def test_a_finding_is_declared_by_keyword():
    with pytest.raises(TypeError):
        Finding("key", "title", "good", "siphon", "cause.")


def test_units_of_the_plan_are_the_units_of_the_words():
    us = run_of("greenhouse")
    us = replace(us, plan=replace(us.plan, units="us"))
    for f in find(us):
        words = f"{f.cause} {f.change} {f.shown('us')}"
        assert not any(unit in words.split() for unit in ("mm", "L/min", "L", "kg", "kPa", "cm²", "m"))
    metric = find(demo())
    assert "18.0 L/min" in next(f for f in metric if f.key == "start").cause
    assert "4.76 gpm" in next(f for f in find(us) if f.key == "start").cause  # 18 / 3.785411784


def test_no_water_arrives_at_a_group_without_a_share():
    plan = read_plan("tests/plans/two-groups.toml")
    dry = edit.put(plan, {"bed.bed 3.inflow_share": 0.0})
    run = run_plan(dry, trace=False)
    assert found(run, "no_inflow", "siphon B").state == "does not"
    assert found(run, "no_inflow", "siphon A") is None
    assert found(run_plan(plan, trace=False), "no_inflow") is None


def said(**values):
    given = {"key": "k", "title": "t", "state": "good", "subject": "s", "cause": "c."} | values
    return Finding(**given).shown("metric")


def test_a_limit_is_said_with_its_direction_and_two_digits():
    """17.1 L/min is pi/4 D^2 sqrt(g D) of the demo's 26.6 mm, a band of +-50 %: two digits are known."""
    assert found(demo(), "start").shown("metric") == "very likely to start from about 17 L/min; you have 18"
    assert found(demo(), "start").shown("us") == "very likely to start from about 4.5 gpm; you have 4.76"
    length = {"kind": "length", "direction": "at least"}
    assert said(value=0.0561, limit=0.03, **length) == "at least 30 mm; you have 56"
    # Rounding never puts a value on the wrong side of its limit, nor on it.
    assert said(value=0.02996, limit=0.03, **length) == "at least 30 mm; you have 29.96"
    assert said(value=17.04 / 6e4, limit=17.1 / 6e4, kind="flow", direction="at least") == (
        "at least 17.1 L/min; you have 17.04"
    )
    assert said(value=1.6, limit=1.5, counts="times the bore", direction="at least") == (
        "at least 1.5 times the bore; you have 1.6"
    )
    band = {"state": "may or may not", "band": (5.13 / 6e4, 17.1 / 6e4), "limit": 17.1 / 6e4}
    assert said(value=9.4 / 6e4, kind="flow", direction="at least", **band) == (
        "may go either way between about 5.1 L/min and 17 L/min; you have 9.4"
    )
    assert said() == ""


def test_findings_alike_are_those_of_one_title_and_state_the_tightest_first():
    def made(subject, state, value):
        values = {"key": "drains", "title": "Drains", "cause": "", "limit": 20.0e-3, "direction": "at most"}
        return Finding(state=state, subject=subject, value=value, kind="length", **values)

    beds = [made("a", "good", 5e-3), made("b", "watch", 30e-3), made("c", "good", 12e-3)]
    groups = alike(beds)
    assert [[f.subject for f in group] for group in groups] == [["c", "a"], ["b"]]
    assert also(groups[0][1:], "metric") == "a (at most 20 mm; you have 5)"
