"""Stopwatch readings: exact readings give the truth back, intervals hold it at their rate, gaps are said."""

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest

from aquacalc.catalogue import data_dir
from aquacalc.commands.ask import QUESTIONS, _told_said
from aquacalc.design import fit as fit_module
from aquacalc.design.fit import fit
from aquacalc.design.many_plans import run_plans
from aquacalc.design.readings import FITTED, READINGS, Reading, adjusted, contradictions, predict, spreads
from aquacalc.plan import edit, read_plan
from aquacalc.plan.check import check_plan
from aquacalc.plan.marks import mark_of
from aquacalc.plan.model import Mark
from aquacalc.plan.read import plan_from_text
from aquacalc.plan.write import write_plan
from aquacalc.results.cycle import run_plan

TRUTH = {"porosity": 0.95, "inflow": 1.1, "loss": 1.3, "start": 1.2}
ERRORS = {
    "fill time": 5.0,
    "drain time": 5.0,
    "jug flow": 8e-6,
    "level at break": 0.003,
    "sump rise": 0.003,
    "lowest start": 1e-5,
    "highest stop": 3e-5,
}


@pytest.fixture(scope="module")
def single():
    return read_plan(Path(__file__).parents[1] / "plans" / "single.toml")


def readings_of(plan, whats=tuple(READINGS), error=1.0):
    """What would be read on a plan, without error."""
    siphon, run = plan.siphons[0], run_plans([plan])[0]
    made = [Reading(w, 1.0, ERRORS[w] * error, plan.beds[0].name) for w in whats]
    return [dataclasses.replace(r, value=predict(plan, run, siphon, r)) for r in made]


@pytest.mark.identity
def test_exact_readings_give_the_truth_back(single):
    truth = adjusted(single, single.siphons[0], TRUTH)
    found = fit(single, readings_of(truth, error=0.01))
    for name, factor in TRUTH.items():
        assert found.estimate(name).factor == pytest.approx(factor, rel=2e-3), name
    assert max(abs(m.pull) for m in found.matches) < 0.5
    assert found.plan.pump.flow == pytest.approx(truth.pump.flow, rel=2e-3)
    assert found.plan.siphons[0].priming.observed == pytest.approx(
        truth.siphons[0].priming.observed, rel=2e-3
    )


@pytest.mark.identity
@pytest.mark.parametrize("runs", [3, 1])
def test_a_fit_that_is_stopped_keeps_what_it_has_and_says_so(single, monkeypatch, runs):
    """Point, slopes and next point are three batches; the first point alone is the plan itself."""
    truth = adjusted(single, single.siphons[0], TRUTH)
    readings, real, batches = readings_of(truth), fit_module.run_plans, []

    def interrupted(plans):
        batches.append(len(plans))
        if len(batches) == runs + 2:  # slopes at the next point come after it
            raise KeyboardInterrupt
        return real(plans)

    monkeypatch.setattr(fit_module, "run_plans", interrupted)
    if runs == 1:
        with pytest.raises(KeyboardInterrupt, match="before the first step"):
            fit(single, readings)
        return
    found = fit(single, readings)
    assert not found.complete
    assert found.said[0].startswith("Stopped early")
    before = [abs(math.log(factor)) for factor in TRUTH.values()]
    left = [abs(math.log(found.estimate(n).factor / factor)) for n, factor in TRUTH.items()]
    assert sum(left) < 0.5 * sum(before)  # nearer than the plan was
    told, follows = _told_said(QUESTIONS["fit"], single, found, {})
    assert follows is None
    assert told.text().splitlines()[2].startswith("Stopped early")


@pytest.mark.identity
def test_the_fitted_plan_is_a_plan_like_any_other(single):
    truth = adjusted(single, single.siphons[0], TRUTH)
    plan = fit(single, readings_of(truth)).plan
    check_plan(plan)
    text = write_plan(plan)
    assert plan_from_text(text, "fitted") == plan
    flow = text.partition('flow = {value = "')[2].partition(" L/min")[0]
    assert flow == f"{plan.pump.flow * 60e3:.4g}"  # no more digits than four: no reading gives more
    losses = [f.k for way in (*plan.runs, plan.siphons[0].tail) for f in way.fittings]
    assert [k for k in losses if k != float(f"{k:.4g}")] == []
    assert run_plan(plan).groups[0].drain_time == pytest.approx(
        run_plan(truth).groups[0].drain_time, rel=0.01
    )


@pytest.mark.identity
def test_each_factor_changes_what_it_names(greenhouse):
    changed = adjusted(greenhouse, greenhouse.siphons[0], TRUTH)
    assert edit.get(changed, "bed.*.porosity") == pytest.approx([0.45 * 0.95] * 3)
    assert changed.pump.flow == pytest.approx(1.1 * greenhouse.pump.flow)
    parts = [(*p.runs, p.siphons[0].tail) for p in (changed, greenhouse)]
    for new, old in zip(*parts, strict=True):
        assert [f.k for f in new.fittings] == pytest.approx([1.3 * f.k for f in old.fittings])
    assert adjusted(greenhouse, greenhouse.siphons[0], {}) == greenhouse


@pytest.mark.identity
def test_porosity_is_as_uncertain_as_its_media_in_the_tables(single):
    """Gravel: 0.35 to 0.45, a quarter of it; media that no table has: the module's own."""
    assert spreads(single)["porosity"] == pytest.approx(math.log(0.45 / 0.35) / 4.0)
    other = dataclasses.replace(single.beds[0].media, name="broken shells")
    bed = dataclasses.replace(single.beds[0], media=other)
    assert spreads(dataclasses.replace(single, beds=(bed,)))["porosity"] == 0.10


@pytest.mark.identity
def test_a_jug_tells_the_inflow_and_nothing_else(single):
    found = fit(single, [Reading("jug flow", 1.1 * single.pump.flow, 0.01 * single.pump.flow)])
    assert found.estimate("inflow").factor == pytest.approx(1.1, rel=0.01)
    assert found.estimate("inflow").spread == pytest.approx(0.01 / 1.1, rel=0.05)
    for name in ("porosity", "loss", "start"):
        e = found.estimate(name)
        assert e.spread == pytest.approx(e.spread_before, rel=1e-6)
        assert e.factor == pytest.approx(1.0, abs=1e-6)
    assert sum("cannot tell" in s for s in found.said) == 3
    assert any("What would tell: lowest start" in s for s in found.said)


@pytest.mark.identity
def test_a_fill_time_alone_ties_porosity_to_inflow(single):
    found = fit(single, readings_of(single, ("fill time",)))
    i, j = list(FITTED).index("porosity"), list(FITTED).index("inflow")
    assert found.correlation[i][j] > 0.7
    assert any(s.startswith("They cannot tell the drainable porosity from the inflow") for s in found.said)


@pytest.mark.identity
def test_a_reading_that_does_not_fit_is_named(single):
    good = readings_of(single)
    bad = [dataclasses.replace(r, value=3.0 * r.value) if r.what == "sump rise" else r for r in good]
    assert any("The sump rise of" in s and "does not fit the rest" in s for s in fit(single, bad).said)
    assert not any("does not fit" in s for s in fit(single, good).said)


#: Readings of two kinds that cannot both be true (L/min), whatever the plan; and the same mended.
CROSSED = [
    (("lowest start", 14.0), ("jug flow", 12.0), "a drain time was read", ("jug flow", 16.0)),
    (("highest stop", 16.0), ("jug flow", 18.0), "a drain time was read", ("jug flow", 15.0)),
    (("lowest start", 30.0), ("highest stop", 20.0), "at any flow", ("highest stop", 34.0)),
]


@pytest.mark.identity
@pytest.mark.parametrize(("one", "other", "because", "mended"), CROSSED)
def test_readings_of_two_kinds_that_contradict_each_other_are_said(single, one, other, because, mended):
    def said(*flows):
        made = [Reading(what, flow / 60000, 0.3 / 60000) for what, flow in flows]
        return contradictions(single, [*made, Reading("drain time", 300.0, 10.0)])

    (found,) = said(one, other)
    assert "contradict each other" in found
    assert because in found
    assert said(one, mended) == ()


@pytest.mark.identity
def test_a_compromise_between_readings_is_called_one_before_its_numbers(single):
    """A flood far too quick for the jug: no porosity near the plan's explains both."""
    good = readings_of(single, ("jug flow", "fill time", "sump rise"))
    bad = [dataclasses.replace(r, value=0.5 * r.value) if r.what == "fill time" else r for r in good]
    assert not any("compromise" in s for s in fit(single, good).said)
    assert "compromise" in fit(single, bad).said[0]


@pytest.mark.identity
@pytest.mark.parametrize(
    ("readings", "says"),
    [
        ([], "no readings"),
        ([Reading("speed", 1.0, 0.1)], '"speed" is not a reading'),
        ([Reading("fill time", -1.0, 5.0)], "fill time = -1"),
        ([Reading("fill time", math.nan, 5.0)], "fill time = nan"),
        ([Reading("fill time", 300.0, 0.0)], "error of fill time = 0"),
        ([Reading("level at break", 0.01, 0.003, "bed 9")], 'no bed "bed 9"'),
    ],
)
def test_readings_that_cannot_be_used_are_refused(single, readings, says):
    with pytest.raises(ValueError, match=says):
        fit(single, readings)


@pytest.mark.identity
@pytest.mark.timeout(300)
def test_intervals_hold_the_truth_at_their_rate(single):
    """200 built systems, drawn from what is thought of the plan, each read with error.

    The 90 % interval of each of the four must hold the truth in 90 % of the
    cases; of 200 that is 180 with a standard deviation of 4.2, so three of
    those either way.
    """
    cases, level = 200, 0.9
    rng = np.random.default_rng(20240607)
    before = spreads(single)
    whats = tuple(READINGS)
    held = dict.fromkeys(FITTED, 0)
    for _ in range(cases):
        factors = {name: math.exp(before[name] * rng.standard_normal()) for name in FITTED}
        truth = adjusted(single, single.siphons[0], factors)
        exact = [r for r in readings_of(truth) if math.isfinite(r.value)]
        if len(exact) < len(whats):  # it would not cycle: there is nothing to time
            exact = [r for r in exact if r.what == "jug flow"]
        read = [dataclasses.replace(r, value=r.value + r.error * rng.standard_normal()) for r in exact]
        found = fit(single, [r for r in read if r.value > 0.0], level=level)
        for name in FITTED:
            e = found.estimate(name)
            base = e.value / e.factor
            held[name] += e.low <= base * factors[name] <= e.high
    band = 3.0 * math.sqrt(cases * level * (1.0 - level))
    for name, count in held.items():
        assert abs(count - cases * level) <= band, (name, held)


@pytest.mark.identity
@pytest.mark.parametrize(
    ("readings", "keywords", "word"),
    [
        ([Reading("fil time", 900.0, 10.0)], {}, "fill time"),
        ([Reading("fill time", 900.0, 10.0)], {"before": {"porosty": 0.1}}, "porosity"),
        ([Reading("fill time", 900.0, 10.0)], {"level": 5}, "level"),
        ([Reading("level at break", 5.0, 0.01, "bed 1")], {}, "is not possible"),
        ([Reading("fill time", 8 * 86400.0, 10.0)], {}, "at most 7.0 days"),
        ([Reading("jug flow", 1.1, 0.1)], {}, "jug flow of .* is not possible"),
        ([Reading("fill time", 900.0, 10.0), Reading("fill time", 300.0, 10.0)], {}, "contradict"),
    ],
)
def test_what_cannot_be_is_refused(readings, keywords, word):
    plan = read_plan(data_dir() / "plans" / "greenhouse.toml")
    with pytest.raises(ValueError, match=word):
        fit(plan, readings, **keywords)


@pytest.mark.identity
@pytest.mark.parametrize("told", [False, True])
def test_fitted_values_are_marked_and_a_start_that_no_reading_tells_keeps_its_band(told):
    plan = read_plan(data_dir() / "plans" / "greenhouse.toml")
    start = [Reading("lowest start", 2.0e-4, 1.0e-5)] if told else []
    found = fit(plan, [Reading("fill time", 750.0, 10.0), *start])
    again = plan_from_text(write_plan(found.plan))
    assert found.estimate("start").told is told
    for path in ("bed.bed 1.porosity", "pump.flow", *(["siphon.priming.observed"] if told else [])):
        assert mark_of(again, path) == Mark("derived", "fitted to readings"), path
    if not told:
        assert again.siphons[0].priming == plan.siphons[0].priming
        assert again.siphons[0].tested == ""


@pytest.mark.identity
def test_a_pump_with_a_curve_begins_at_the_middle_of_its_curve():
    plan = read_plan(Path(__file__).parents[1] / "plans" / "pump-curve.toml")
    assert plan.pump.curve[-1][0] == pytest.approx(35 / 60e3)
    assert fit_module._values(plan, plan.siphons[0])["inflow"] == pytest.approx(17.5 / 60e3)
    fitted = fit(plan, [Reading("fill time", 700.0, 10.0), Reading("drain time", 250.0, 10.0)]).plan
    flows = [flow * 60e3 for flow, _ in fitted.pump.curve]
    assert flows != pytest.approx([flow * 60e3 for flow, _ in plan.pump.curve], rel=1e-3)
    assert flows == pytest.approx([float(f"{flow:.4g}") for flow in flows], rel=1e-12)


def test_slopes_are_differences_and_none_where_a_plan_does_not_cycle(single):
    """Two readings that go as 3x + 5y and -2x + y; the second is no number beyond x."""
    one = object.__new__(fit_module._Model)
    one.np, one.errors, one.before = np, np.array([2.0, 4.0]), np.array([0.1, 0.5])

    def predictions(points):
        rows = np.array([[3.0 * x + 5.0 * y, -2.0 * x + y] for x, y in points])
        rows[1, 1] = math.nan
        return rows

    one.predictions = predictions
    slopes = one.jacobian(np.array([0.3, -0.2]))
    assert slopes == pytest.approx(np.array([[1.5, 2.5], [0.0, 0.25], [10.0, 0.0], [0.0, 2.0]]))
