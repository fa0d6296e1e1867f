"""What the bench says just on either side of its limits, on trials made by hand."""

import math
from types import SimpleNamespace

import pytest

from aquacalc.bench import next_flow as nxt
from aquacalc.bench import words
from aquacalc.bench.belief import SURE, Answer, Belief
from aquacalc.bench.jug import jug_time, read_jug
from aquacalc.bench.next_flow import next_flow, round_flows
from aquacalc.bench.remarks import _near, again, against_print, contradiction
from aquacalc.bench.session import HOSE, bench
from aquacalc.bench.trials import trial
from aquacalc.catalogue import data_dir
from aquacalc.hydraulics.siphon import siphon_flow
from aquacalc.hydraulics.stopping import AIR_CARRIED
from aquacalc.plan import edit, read_plan
from aquacalc.units import UnitError

pytestmark = pytest.mark.identity
L = 1 / 60000
DEMO = read_plan(data_dir() / "plans" / "greenhouse.toml")
PRINTED = Belief(5.1 * L, 17.0 * L)


def told(*pairs, error=0.03):
    return PRINTED.after(*(Answer(q * L, error, yes) for q, yes in pairs))


def test_a_jug_explains_what_its_error_allows():
    """Two readings of 3 % each may part by 3 % times the root of 2, as a logarithm."""
    most = math.exp(0.03 * math.sqrt(2.0))
    for part, none in ((most * (1 - 1e-9), True), (most * (1 + 1e-9), False)):
        assert (contradiction(told((10.0, True), (10.0 * part, False))) is None) == none
    assert contradiction(told((10.0, True), (9.0, True))) is None
    assert contradiction(told((10.0, False), (11.0, False))) is None


def test_the_pair_that_parts_most_is_named():
    found = contradiction(told((10.0, True), (8.0, True), (11.0, False), (13.0, False), (9.0, False)))
    assert (found.yes, found.no) == (8.0 * L, 13.0 * L)


def test_trials_the_wrong_way_round():
    """Every start below every failure, two at least of each; then the highest failure is tried again."""
    turned = contradiction(told((7.0, True), (8.0, True), (11.0, False), (13.0, False)))
    assert (turned.reversed, turned.odd, turned.again) == (True, None, 13.0 * L)
    assert not contradiction(told((7.0, True), (11.0, False), (13.0, False))).reversed
    assert not contradiction(told((7.0, True), (11.5, True), (11.0, False), (13.0, False))).reversed
    tried = contradiction(told((7.0, True), (8.0, True), (11.0, False), (12.5, False), (13.0, False)))
    assert tried.again is None  # 12.5 is within 10 % of 13


def test_a_middle_flow_is_tried_again_unless_one_is_near_it():
    first = contradiction(told((9.0, True), (11.0, False)))
    middle = math.sqrt(99.0)
    assert first.again == pytest.approx(middle * L)
    for part, near in ((1.099, True), (1.101, False), (1 / 1.099, True), (1 / 1.101, False)):
        assert _near(10.0, [50.0, 10.0 * part]) == near, part
    assert not _near(10.0, [])


def test_what_speaks_against_all_in_print():
    """It started under 5.1 L/min, or failed over 17; how far under or over decides."""
    found = against_print(
        told((2.0, True), (30.0, False), (40.0, False), (10.0, True), (2.0, False), (30.0, True))
    )
    assert found == (2.0 * L, 30.0 * L, 40.0 * L)
    assert against_print(told((5.05, True), (17.1, False))) == ()
    assert again(told((2.0, True))) == 2.0 * L
    assert again(told((2.0, True), (2.1, True))) is None
    assert again(told((2.0, True), (2.1, False))) is None  # it has been tried again
    assert again(told((10.0, True))) is None


def test_the_chance_of_a_flood_is_half_at_the_middle_of_what_is_believed():
    low, high = PRINTED.any_flood()
    assert PRINTED.chance(math.sqrt(5.1 * 17.0) * L) == pytest.approx(0.5, abs=1e-3)
    assert PRINTED.chance(low) == pytest.approx(1 - SURE, abs=1e-3)
    assert PRINTED.chance(high) == pytest.approx(SURE, abs=1e-3)
    assert not told((9.0, True), (11.0, True)).both_sides
    assert told((9.0, True), (11.0, False)).both_sides


def test_information_is_that_of_its_definition():
    """Entropy of the answer less what is left of it once the flow is known, summed by hand over the grid."""
    found = told((9.0, False), (13.0, True))
    entropy = lambda p: -sum(x * math.log2(x) for x in (p, 1 - p) if x > 0)  # noqa: E731
    says = found._above(math.log(11.0 * L), 0.03)
    yes, left = 0.0, 0.0
    for k in range(len(found.grid)):
        weight = float(found.weights[k].sum())
        here = float((found.weights[k] * says[k]).sum())
        yes += here
        left += weight * entropy(here / weight) if weight > 0 else 0.0
    assert found.tells(11.0 * L, 0.03) == pytest.approx(entropy(yes) - left, abs=1e-9)


def test_the_next_flow_weighs_the_stop_by_the_chance_to_start():
    start, stop = told((9.0, False), (13.0, True)), Belief(25 * L, 35 * L)
    for of in (
        next_flow(start, stop, start, "metric", 60 * L),
        next_flow(None, stop, start, "metric", 60 * L),
    ):
        assert of.chance == start.chance(of.flow)
        assert of.stop == pytest.approx(stop.tells(of.flow, 0.03) * of.chance)
        assert of.tells == of.start + of.stop
        assert not of.retry
    alone = next_flow(start, None, start, "metric", 60 * L)
    assert (alone.stop, alone.start) == (0.0, start.tells(alone.flow, 0.03))
    every = [next_flow(start, stop, start, "metric", 60 * L, x * L) for x in (12.3, 5.03, 60.0)]
    assert [round(of.flow / L, 6) for of in every] == [12.5, 5.0, 60.0]
    assert all(of.retry for of in every[:2]), every
    assert not next_flow(start, stop, start, "metric", 60 * L, 60.1 * L).retry
    little = next_flow(start, None, start, "metric", 4 * L)  # the hose gives less than the band asks
    assert 4 / 1.2 <= little.flow / L <= 4.0


def test_round_flows_begin_and_end_with_the_interval():
    flows = [round(q / L, 6) for q in round_flows(10.0 * L, 11.0 * L, "metric")]
    assert flows == [10.0, 10.5, 11.0]
    assert round_flows(10.1 * L, 10.4 * L, "metric") == []


@pytest.mark.parametrize(("text", "error"), [("10 L/min +- 30 %", 0.3), ("10 L/min +- 0.1 %", 0.005),
    ("1 L in 3 s", math.hypot(0.1, 0.02)), ("10 L/min", 0.05),
])  # fmt: skip
def test_error_of_a_jug(text, error):
    assert read_jug(text).error == pytest.approx(error, abs=5e-4)


def test_a_jug_that_tells_nothing():
    with pytest.raises(UnitError, match="31% of the flow"):
        read_jug("10 L/min +- 31 %")
    assert read_jug("10 L/min", "1 L/min").error == 0.1
    assert read_jug("10 L/min +- 4 %", "9 %").error == 0.04


@pytest.mark.parametrize(("flow", "text"), [
    (6.0, "1 L in 10.0 s"), (6.1, "2 L in 19.7 s"), (30.0, "5 L in 10.0 s"), (5.9, "1 L in 10.2 s"),
    (3.0, "1 L in 20 s"), (3.1, "1 L in 19.4 s"), (90.0, "10 L in 6.7 s"),
])  # fmt: skip
def test_a_jug_takes_ten_seconds(flow, text):
    assert jug_time(flow * L, "metric") == text


def made(*trials, flow=18.0, **more):
    plan = edit.put(DEMO, {"pump.flow": flow * L} | more)
    return bench(plan, trials=[trial(*text.split(": ")) for text in trials])


def test_sizes_of_a_reading_that_can_be_believed():
    test = made()
    low, high = test.sizes
    assert (low, high) == (test.start.low, max(test.start.high, test.stop.high))
    for flow, fits in (
        (low / 4 * 1.001, True),
        (low / 4 * 0.999, False),
        (high * 3.999, True),
        (high * 4.001, False),
    ):
        assert test.plausible(SimpleNamespace(flow=flow)) == fits


def test_a_bed_s_stop_is_seen_with_its_sump():
    """With the sump over the tail's end a flow that ran on in the bed would have been more in the open."""
    test = made(flow=18.0, **{"siphon.siphon.tail.outlet": 0.15})
    siphon = test.siphon
    assert 0.0 < test.part < 1.0
    free = test.stop
    most = siphon_flow(test.plan, siphon, 0.530, 0.150)
    assert free.high == pytest.approx(most, rel=1e-3)
    assert free.low == pytest.approx((1 - AIR_CARRIED) * most, rel=1e-3)
    seen = [test.after(trial("30 L/min", f"started, {what}")) for what in ("stopped", "ran on")]
    assert [t.stop.answers[0].above for t in seen] == [False, True]
    assert seen[0].stop.answers[0].flow == pytest.approx(30 * L)
    from dataclasses import replace

    bed = test.after(replace(trial("30 L/min", "started, stopped"), where="bed"))
    assert bed.stop.answers[0].flow == pytest.approx(30 * L / test.part)
    assert test.chance_stops == pytest.approx(1 - free.chance(18 * L / test.part))
    dry = replace(test, part=0.0)
    assert dry.chance_stops == 0.0
    assert replace(bed, part=0.0).stop.answers == ()
    assert replace(test, part=0.0, hose=HOSE).answer == "runs on"


def test_words_of_flows_and_chances():
    assert [words.of_100(x) for x in (0.0, 0.004, 0.5, 0.973, 0.999, 1.0)] == [
        f"{n} of 100" for n in (1, 1, 50, 97, 99, 99)
    ]
    assert words.two_digits(17.04 * L, "metric") == "17 L/min"
    assert words.flow_text(17.04 * L, "metric") == "17 L/min"
    test = SimpleNamespace(plan=DEMO, inflow_low=17.0 * L, inflow_high=18.0 * L)
    assert words._inflow(test) == "17 L/min to 18 L/min"
    assert words._inflow(SimpleNamespace(plan=DEMO, inflow_low=18.0 * L, inflow_high=18.01 * L)) == "18 L/min"


def bands(*trials):
    return " ".join(words.bands(made(*trials)))


def test_words_of_what_no_trial_has_shown():
    assert "started at every flow tried, down to 11 L/min" in bands("13 L/min: started", "11 L/min: started")
    assert "not start at any flow tried, up to 9 L/min" in bands("8 L/min: n", "9 L/min: n")
    assert "every flow tried" not in bands("13 L/min: started")
    assert "stopped each time it was watched, up to 20 L/min" in bands("15 L/min: s t", "20 L/min: s t")
    assert "ran on at every flow at which it was watched, down to 30 L/min" in bands(
        "33 L/min: s r", "30 L/min: s r"
    )
    both = bands("30 L/min: s t", "33 L/min: s r")
    assert "With the tail's end free it stops up to somewhere between" in both
    for error, coarse in ((8, True), (7.9, False)):
        said = bands(f"13 L/min +- {error} %: started", "12 L/min +- 2 %: started")
        assert (f"good to {error:.2g} % only" in said) == coarse


def test_a_bar_measured_by_its_characters():
    """64 characters from 0.7 of the least to 1.2 of the most, by logarithm."""
    test = made("13 L/min: s t", "9 L/min: n", "33 L/min: s r")
    lines = words.bar(test)
    least = 0.7 * min(test.start.low, 18 * L)
    most = 1.2 * max(test.start.high, test.stop.high, 18 * L)
    at = lambda q: 12 + round(63 * math.log(q / least) / math.log(most / least))  # noqa: E731
    rows = {line[:12].strip() or n: line for n, line in enumerate(lines)}
    start, stop = rows["starts from"], rows["stops up to"]
    for line, belief in ((start, test.start), (stop, test.stop)):
        assert (line.index("="), line.rindex("=")) == (at(belief.low), at(belief.high))
        assert len(line) == 76
        assert set(line[12:]) == {"-", "="}
    assert rows["your plan"].index("^") == at(18 * L)
    measured = [line for line in lines if line.startswith("  measured")]
    for line, belief in zip(measured, (test.start, test.stop), strict=True):
        assert (line.index("#"), line.rindex("#")) == tuple(at(q) for q in belief.band())
    tried = [line for line in lines if line.startswith("  tried")]
    assert {x: tried[0].index(x, 12) for x in "n"} == {"n": at(9 * L)}
    assert [k for k, x in enumerate(tried[0]) if x == "s" and k >= 12] == [at(13 * L), at(33 * L)]
    assert (tried[1].index("t", 12), tried[1].index("r", 12)) == (at(13 * L), at(33 * L))
    scale = lines[0]
    for number in ("5", "10", "20"):
        if f" {number} " in scale:
            assert scale.index(f" {number} ") + 1 == at(float(number) * L), number
    assert " 10 " in scale


def verdict(chance_starts, chance_stops, **more):
    given = {"plan": DEMO, "chance_starts": chance_starts, "chance_stops": chance_stops, "inflow_low": 18 * L,
             "inflow_high": 18 * L, "part": 0.5, "start": told((9.0, False)), "enough": "", "answer": "",
             "stop": Belief(20 * L, 25 * L), "start_open": False, "stop_open": False}  # fmt: skip
    return words.verdict(SimpleNamespace(**given | more))


def test_verdicts_in_words():
    start, stop = told((9.0, False)), Belief(20 * L, 25 * L)
    sure = words.flow_text(start.any_flood()[1], "metric")
    most = words.flow_text(0.5 * stop.any_flood()[0], "metric")
    works = verdict(0.99, 0.98, answer="works")
    assert works[0] == "Enough: cut. At your 18 L/min it starts on 99 of 100 floods and stops on 98 of 100."
    assert works[1].startswith(f"It would at {sure} to {most} (that it stops is by published values alone)")
    seen = stop.after(Answer(15 * L, 0.03, False))
    assert "published" not in verdict(0.99, 0.98, answer="works", stop=seen)[1]
    assert "No flow tried has started it" in verdict(0.01, 0.9, answer="does not start")[0]
    some = told((9.0, False), (13.0, True))
    assert "From" in verdict(0.01, 0.9, answer="does not start", start=some)[0]
    ran = stop.after(Answer(30 * L, 0.03, True))
    assert "stopped at no flow tried" in verdict(0.9, 0.01, answer="runs on", stop=ran)[0]
    both = ran.after(Answer(15 * L, 0.03, False))
    assert "Up to" in verdict(0.9, 0.01, answer="runs on", stop=both)[0]
    open_ = verdict(0.5, 0.6, enough="narrow", start_open=True, stop_open=True)
    assert open_[0].startswith("The band is as narrow as it need be. It may or may not work")
    assert [line[:15] for line in open_[1:]] == ["Bring the flow ", "Bring the flow "]
    assert len(verdict(0.5, 0.6)) == 1


def test_flows_are_looked_for_from_the_lower_band_to_the_upper(monkeypatch):
    """From the least of both to the greatest, no further than the hose gives."""
    start, stop = told((9.0, False), (13.0, True)), Belief(25 * L, 35 * L)
    asked = []
    whole = nxt.round_flows
    monkeypatch.setattr(nxt, "round_flows", lambda *given: (asked.append(given[:2]), whole(*given))[1])
    for most in (60.0, 20.0, 5.0):
        next_flow(start, stop, start, "metric", most * L)
    low, high = start.band(0.98)[0], stop.band(0.98)[1]
    assert 5 * L < low < 20 * L < high < 60 * L
    assert asked == [(low, high), (low, 20 * L), (pytest.approx(5 * L / 1.2), 5 * L)]
