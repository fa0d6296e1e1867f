"""The picture of a tolerance study: bars, ranges and words are the study's own numbers."""

import math
from dataclasses import replace
from types import SimpleNamespace
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.patches import Rectangle

from aquacalc.design import chances as tolerance
from aquacalc.design.chances import VARIED, likely
from aquacalc.figures import chances as c
from aquacalc.findings import STATES
from tests.figures.checks import texts
from tests.figures.examples import STUDIES, still, studied


def bars(axes):
    """Bars with their middle height; the background is none."""
    return [p for p in axes.patches if isinstance(p, Rectangle)]


def whiskers(axes):
    return [line.get_xdata() for line in axes.lines if line.get_marker() == "|"]


@pytest.mark.outside
@pytest.mark.parametrize(("seen", "plans"), [(0, 128), (1, 128), (13, 128), (64, 128), (128, 128)])
def test_the_range_is_wilsons(seen, plans):
    """Against scipy's Wilson interval, at a standard error that says how many plans it is worth."""
    stats = pytest.importorskip("scipy.stats")
    part = seen / plans
    blocks = plans / 1.6  # what blocks are worth where nothing, or everything, has it
    wanted = stats.binomtest(seen, plans).proportion_ci(0.95, method="wilson")
    found = likely(part, math.sqrt(part * (1.0 - part) / plans), blocks)
    assert found == pytest.approx((wanted.low, wanted.high), abs=1e-6)


@pytest.mark.identity
@pytest.mark.parametrize("part", [0.1, 0.3, 0.5])
def test_the_range_holds_the_truth_as_often_as_it_says(part):
    """Of a finding that depends on one thing, six plans of a block share a value and two another.

    95 % of 2000 draws, less four standard errors of that count: 93 %.
    """
    rng = np.random.default_rng(4)
    six, two = (rng.random((2000, 128)) < part for _ in range(2))
    means = (6.0 * six + 2.0 * two) / 8.0
    held = 0
    for row in means:
        low, high = likely(row.mean(), row.std(ddof=1) / math.sqrt(128), 128)
        held += low <= part <= high
    assert 0.93 < held / 2000 < 0.97


@pytest.mark.identity
def test_the_study_counts_its_own_table():
    found = studied("at times")
    assert found.works_range[0] < found.works < found.works_range[1]
    for chance in found.chances:
        low, high = chance.ranges["does not"]
        assert low <= chance.parts["does not"] <= high
        assert sum(chance.parts.values()) <= 1.0 + 1e-12
        assert {state for state, part in chance.parts.items() if part > 0.0} == set(chance.titles)
    start = next(x for x in found.chances if x.key == "start")
    assert start.titles["does not"] == "Spills without starting"
    assert start.parts["does not"] == pytest.approx((found.table["start.siphon"] < 0.0).mean())


@pytest.mark.identity
def test_a_plan_that_cannot_be_built_is_a_finding_of_its_own():
    found = studied("cannot be built")
    (only,) = found.chances
    assert (only.key, only.subject) == tolerance.UNBUILT
    assert (only.parts["does not"], found.works) == (1.0, 0.0)
    assert [row.title for row in c.rows(found)] == ["The plan works", "Cannot be built"]


@pytest.mark.identity
@pytest.mark.parametrize("name", STUDIES)
def test_a_bar_is_as_long_as_the_chance_and_its_line_as_the_range(name):
    found = studied(name)
    left = still(f"chances, {name}").figure.axes[0]
    shown = c.rows(found)[: c.MOST + 1]
    assert left.get_xlim() == (0.0, 100.0)
    assert [b.get_width() for b in bars(left)] == pytest.approx([100.0 * row.part for row in shown])
    assert all(b.get_x() == 0.0 for b in bars(left))
    for ends, row in zip(whiskers(left), shown, strict=True):
        assert list(ends) == pytest.approx([100.0 * x for x in row.range])


@pytest.mark.identity
@pytest.mark.parametrize("name", STUDIES)
def test_a_bar_beside_it_is_as_long_as_the_index(name):
    found = studied(name)
    right = still(f"chances, {name}").figure.axes[1]
    shown = [row for row in c.rows(found)[1 : c.MOST + 1] if row.shares]
    drawn = iter(zip(bars(right), whiskers(right), strict=True))
    for row in shown:
        for share in row.shares:
            bar, ends = next(drawn)
            zero = c.PITCH * list(VARIED).index(share.name)
            assert bar.get_x() == pytest.approx(zero)
            assert bar.get_width() / c.FULL == pytest.approx(min(max(share.index, 0.0), 1.0))
            kept = [min(max(share.index + k * share.error, 0.0), 1.0) for k in (-1.0, 1.0)]
            assert [(x - zero) / c.FULL for x in ends] == pytest.approx(kept)
        assert sum(c.hundredths(row.shares)) == round(100.0 * sum(share.index for share in row.shares))
    assert next(drawn, None) is None


@pytest.mark.identity
@pytest.mark.parametrize("parts", [(1 / 3,) * 3, (0.745, 0.245, 0.01), (0.5, 0.495, 0.005), (1.0, 0.0)])
def test_parts_of_100_add_up_to_100(parts):
    shares = [c.Share(f"{k}", "", part, 0.0) for k, part in enumerate(parts)]
    said = c.hundredths(shares)
    assert sum(said) == 100
    assert said == pytest.approx([100.0 * part for part in parts], abs=1.0)


@pytest.mark.identity
def test_every_finding_that_comes_up_has_a_row_or_is_named_below():
    found = studied("many and long")
    every = c.rows(found)
    assert len(every) == 16
    verdicts = [row.state for row in every]
    assert verdicts == sorted(verdicts, key=["works", *STATES].index)
    for verdict in STATES[:-1]:
        parts = [row.part for row in every if row.state == verdict]
        assert parts == sorted(parts, reverse=True)
    picture = still("chances, many and long")
    assert picture.note.startswith(f"And {16 - c.MOST - 1} more")
    assert [row.name for row in every if row.name not in picture.alt] == []


@pytest.mark.identity
def test_alike_findings_of_several_beds_share_a_row():
    found = studied("at times")
    one = next(x for x in found.chances if x.key == "strainer")
    none = dict.fromkeys(STATES, 0.0)
    beds = [replace(one, subject=f"bed {k}", parts=none | {"watch": 0.25, "good": 0.75}) for k in (1, 2)]
    beds.append(replace(one, subject="bed 3", parts=none | {"watch": 0.5, "good": 0.5}))
    made = c.rows(replace(found, chances=tuple(replace(b, titles={"watch": "Area is short"}) for b in beds)))
    assert [row.subjects for row in made[1:]] == [("bed 3",), ("bed 1", "bed 2")]


@pytest.mark.identity
def test_only_what_is_good_in_every_plan_is_called_so():
    found = studied("never works")
    assert "It floods and drains" not in c.always_good(found)  # it never does
    assert "Tail is free" in c.always_good(found)
    half = [replace(x, parts=x.parts | {"good": 0.5}) for x in found.chances]
    assert c.always_good(replace(found, chances=tuple(half))) == []


@pytest.mark.identity
@pytest.mark.parametrize(
    ("part", "says"),
    [
        (0.002, "fewer than 1 in 100"),
        (0.04, "4 in 100"),
        (0.5, "50 in 100"),
        (0.9961, "more than 99 in 100"),
        (1.0, "100 in 100"),
    ],
)
def test_chances_are_counts_in_a_hundred(part, says):
    assert c.in_hundred(part) == says


@pytest.mark.identity
def test_the_words_say_what_is_drawn():
    found = studied("at times")
    picture = still("chances, at times")
    start = next(x for x in found.chances if x.key == "start")
    low, high = (f"{100.0 * x:.0f}" for x in start.ranges["does not"])
    told = f"{c.in_hundred(start.parts['does not'])} ({low} to {high})"
    assert f"Spills without starting: siphon: {told}; it depends most on {start.matters_most}" in picture.alt
    assert told in [text for text, _ in texts(picture.figure)]
    assert "in none of 16 (at most" in still("chances, never works").alt
    assert "in all 16 (at least" in still("chances, never works").alt
    assert "stopped early" in still("chances, always works").alt
    root = ElementTree.fromstring(picture.svg("one"))
    assert root.get("aria-label") == picture.alt


@pytest.mark.identity
def test_a_study_without_plans_is_refused():
    found = studied("at times")
    with pytest.raises(ValueError, match="let it run longer"):
        c.chances(replace(found, table=found.table.iloc[:0]))


@pytest.mark.identity
@pytest.mark.parametrize(("part", "likely", "says"), [
    (0.0, (0.0, 0.21), "in none of 16 (at most 21 in 100)"),
    (1.0, (0.79, 1.0), "in all 16 (at least 79 in 100)"),
    (0.5, (0.28, 0.72), "50 in 100 (28 to 72)"), (0.0625, (0.01, 0.28), "6 in 100 (1 to 28)"),
])  # fmt: skip
def test_a_part_is_told_with_its_range(part, likely, says):
    assert c._told(part, likely, 16) == says


@pytest.mark.identity
@pytest.mark.parametrize("complete", [True, False])
@pytest.mark.parametrize("good", [["Drains"], ["Drains", "Starts"], []])
def test_below_the_picture_stands_what_it_leaves_out(good, complete, monkeypatch):
    found = replace(studied("at times"), complete=complete)
    monkeypatch.setattr(c, "always_good", lambda study: good)
    rest = [SimpleNamespace(title=title) for title in ("One", "Two", "One")]
    below = c._below(found, rest)
    assert below.startswith("And 3 more: One; Two.")
    assert ("Good in all" in below) == bool(good)
    assert not good or f"Good in all {len(found.table)} plans: {'; '.join(good)}." in below
    assert ("stopped early" in below) == (not complete)
    assert f"From {len(found.table)} plans." in below
    assert not c._below(found, []).startswith("And")
