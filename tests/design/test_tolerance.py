"""Tolerance study: chances and shares against closed forms, stop, and what is refused."""

import math
import threading

import pytest

from aquacalc.design import chances as t
from aquacalc.equations.formulas import GRAVITY, choking_flow
from aquacalc.plan import edit

SALib = pytest.importorskip("SALib")
NARROW = 1e-4


@pytest.fixture(scope="module")
def near(greenhouse):
    """The greenhouse with a pump flow near the one that starts its siphon."""
    return edit.put(greenhouse, {"pump.flow": 11.0 / 60000})


@pytest.fixture(scope="module")
def found(near):
    return t.study(near, {"porosity": NARROW, "bore": NARROW, "loss": NARROW, "lip": NARROW}, size=32)


def chance(study, key):
    return next(c for c in study.chances if c.key == key)


@pytest.mark.identity
def test_the_chance_of_starting_is_the_normal_one(near, found):
    """Inflow over choking flow is log-normal, so the chance that it is below 1 is known."""
    choking = choking_flow(0.55, near.siphons[0].standpipe.pipe.bore, GRAVITY)
    spread = math.hypot(found.spreads["inflow"], found.spreads["start"])
    z = math.log(near.pump.flow / choking) / spread
    expected = 0.5 * math.erfc(z / math.sqrt(2.0))
    start = chance(found, "start")
    assert start.parts["does not"] == pytest.approx(expected, abs=4.0 * start.error)
    assert 0.0 < start.error < 0.1
    assert found.works <= 1.0 - start.parts["does not"] + 1e-12


@pytest.mark.identity
def test_the_shares_are_those_of_two_log_normals(near, found):
    """Variance of a log-normal of mean m: m**2 (exp(s**2) - 1) exp(s**2); the two parts add up."""
    choking = choking_flow(0.55, near.siphons[0].standpipe.pipe.bore, GRAVITY)

    def variance(median, s):
        return median**2 * math.exp(s * s) * (math.exp(s * s) - 1.0)

    start = variance(choking, found.spreads["start"])
    share = start / (start + variance(near.pump.flow, found.spreads["inflow"]))
    shares = {s.name: s for s in chance(found, "start").shares}
    assert shares["start"].index == pytest.approx(share, abs=max(2.0 * shares["start"].error, 0.05))
    assert shares["porosity"].index < 0.01
    assert sum(s.index for s in shares.values()) == pytest.approx(1.0)
    assert chance(found, "start").matters_most == t.VARIED["start"]
    assert any("depends most on the flow that starts the siphon" in line for line in found.said)


@pytest.mark.identity
def test_the_table_has_every_plan(found):
    assert found.complete
    assert len(found.table) == 32 * 8
    assert (found.table["verdict"] == "works").mean() == pytest.approx(found.works)
    assert set(t.VARIED) <= set(found.table.columns)
    assert found.table["inflow"].apply(math.log).std() == pytest.approx(0.15, rel=0.15)


@pytest.mark.identity
def test_factors_of_one_leave_the_plan(greenhouse):
    same = t.varied(greenhouse, dict.fromkeys(t.VARIED, 1.0))
    assert same.beds == greenhouse.beds
    assert same.pump == greenhouse.pump
    assert [r.pipe for r in same.runs] == [r.pipe for r in greenhouse.runs]
    wide = t.varied(greenhouse, {**dict.fromkeys(t.VARIED, 1.0), "bore": 1.01})
    assert wide.runs[0].pipe.bore == pytest.approx(1.01 * greenhouse.runs[0].pipe.bore)
    ratio = wide.siphons[0].priming.observed / same.siphons[0].priming.observed
    assert ratio == pytest.approx(1.01**2.5)


@pytest.mark.identity
def test_the_inflow_of_several_groups_is_varied_once(greenhouse):
    from pathlib import Path

    from aquacalc.plan import read_plan

    two = read_plan(Path(__file__).parents[1] / "plans" / "two-groups.toml")
    more = t.varied(two, {**dict.fromkeys(t.VARIED, 1.0), "inflow": 1.1})
    before = two.pump.flow or two.pump.curve[-1][0]
    assert (more.pump.flow or more.pump.curve[-1][0]) == pytest.approx(1.1 * before)


@pytest.mark.identity
def test_stop_closes_the_study_with_whole_blocks(greenhouse, monkeypatch):
    monkeypatch.setattr(t, "CHUNK", 12)
    stop = threading.Event()
    part = t.study(greenhouse, size=16, stop=stop, progress=lambda done, _: done and stop.set(), threads=1)
    assert not part.complete
    assert len(part.table) in (0, 8, 16, 24, 32, 40)
    none = t.study(greenhouse, size=16, stop=lambda: True)
    assert len(none.table) == 0
    assert math.isnan(none.works)


@pytest.mark.identity
@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ({"size": 100}, "power of 2"),
        ({"spread_of": {"flow": 0.1}}, '"flow" is not varied'),
        ({"spread_of": {"inflow": -0.1}}, "spread of inflow = -0.1"),
    ],
)
def test_what_cannot_be_studied_is_refused(greenhouse, arguments, says):
    with pytest.raises(ValueError, match=says):
        t.study(greenhouse, **arguments)


@pytest.mark.identity
def test_the_chance_is_a_range_over_beliefs_about_the_start(near, found):
    """Shifted by its own spread, the start's prior gives the chance of a log-normal shifted so."""
    choking = choking_flow(0.55, near.siphons[0].standpipe.pipe.bore, GRAVITY)
    spread = math.hypot(found.spreads["inflow"], found.spreads["start"])
    starts = 1.0 - chance(found, "start").parts["does not"]
    assert found.works == pytest.approx(starts, abs=1e-9)  # nothing else fails here
    for prior, sign in zip(found.priors, (-1.0, 1.0), strict=True):
        assert prior.middle == pytest.approx(math.exp(sign * found.spreads["start"]))
        z = (math.log(near.pump.flow / choking) - sign * found.spreads["start"]) / spread
        assert prior.works == pytest.approx(1.0 - 0.5 * math.erfc(z / math.sqrt(2.0)), abs=0.08)
    low, high = found.plausible
    assert low < found.works_range[0] < found.works_range[1] < high
    assert "No published source says where siphons start" in found.said[1]


@pytest.mark.identity
def test_a_start_that_was_seen_needs_no_range_of_beliefs(near):
    seen = edit.put(
        near, {"siphon.priming.observed": 9 / 60000, "siphon.priming.observed_error": 0.3 / 60000}
    )
    found = t.study(seen, size=2)
    assert found.priors == ()
    assert found.plausible == found.works_range


@pytest.mark.identity
def test_a_bore_that_is_a_little_out_does_not_make_a_plan_that_cannot_be_built(greenhouse):
    narrow = dict.fromkeys(t.VARIED, 1.0) | {"bore": 0.966}
    (row,) = t.study_rows(greenhouse, list(narrow), [list(narrow.values())])
    assert row["reason"] == ""
    assert t.UNBUILT not in row["states"]


def test_a_part_seen_in_a_study_lies_where_wilson_says():
    """Of each end the part that was seen is 1.96 standard errors off, for plans worth so many."""
    for part, error, blocks in ((0.3, 0.04, 20), (0.9, 0.02, 40), (0.5, 0.2, 10), (0.5, 0.001, 10)):
        worth = min(max(part * (1.0 - part) / error**2, 1.6 * blocks), 8.0 * blocks)
        for end in t.likely(part, error, blocks):
            off = 1.959964 * math.sqrt(end * (1.0 - end) / worth)
            assert abs(part - end) == pytest.approx(off, rel=1e-6), (part, error)
    for part in (
        0.0,
        1.0,
    ):  # all alike: 1.6 plans a block, z2 / (n + z2) to the one side, nothing to the other
        low, high = t.likely(part, 0.0, 10)
        assert high - low == pytest.approx(1.959964**2 / (16.0 + 1.959964**2), rel=1e-6)
        assert part in (low, high)


def test_margins_that_are_missing_are_the_worst_or_go_by_the_state():
    states = ["works", "does not", "works", "does not"]
    assert t._margins([0.3, None, 0.1, math.inf], states) == [0.3, 0.1, 0.1, 0.1]
    assert t._margins([0.3, None, None, math.nan], states) == [0.0, -1.0, 0.0, -1.0]
    rows = [
        {"titles": {"k": title}, "states": {"k": state}}
        for title, state in (("A", "good"), ("B", "good"), ("B", "good"), ("C", "watch"))
    ] + [{"titles": {}, "states": {}}]
    assert t._titles(rows, "k") == {"good": "B", "watch": "C"}


def test_a_plan_that_cannot_be_built_is_a_row_that_says_why(greenhouse):
    """A pump of a million million times the flow is beyond belief; the plan itself is run."""
    names = tuple(t.VARIED)
    rows = [[1.0] * len(names), [1e12 if name == "inflow" else 1.0 for name in names]]
    good, bad = t.study_rows(greenhouse, names, rows)
    assert (good["verdict"], good["reason"]) == ("works", "")
    assert t.UNBUILT not in good["states"]
    assert bad["verdict"] == "does not"
    assert "cannot be right" in bad["reason"]
    assert bad["states"] == {t.UNBUILT: "does not"}
    assert bad["titles"] == {t.UNBUILT: "Cannot be built"}
    assert bad["factors"]["inflow"] == 1e12
