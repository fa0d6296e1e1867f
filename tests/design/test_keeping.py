"""Keeping it running: water, power cuts, upkeep, uneven beds and one bed more, each worked out again."""

import math
import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.design import keeping as k
from aquacalc.findings import find, verdict
from aquacalc.hydraulics.pump import lowest_pump_level
from aquacalc.plan import plan_from_text, read_plan
from aquacalc.plan.edit import put
from aquacalc.results import pump_off
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import beds_full_level, sump_range, system_water

pytestmark = pytest.mark.identity
DATA, PLANS = data_dir() / "plans", Path(__file__).parents[1] / "plans"


@pytest.fixture(scope="module")
def demo():
    return read_plan(DATA / "greenhouse.toml")


def numbers(text: str) -> list[float]:
    return [float(n) for n in re.findall(r"(?<![\w.])-?\d+(?:\.\d+)?", text)]


@pytest.mark.parametrize(("name", "state"), [("greenhouse", 0), ("greenhouse", 1), ("minimal", 0)])
def test_a_sump_filled_to_a_mark_covers_its_pump_or_keeps_the_floor_dry(name, state):
    """At the low mark the pump is just covered with the beds full; at the high one the sump is just full."""
    plan = read_plan(DATA / f"{name}.toml")
    run = run_plan(plan, trace=False)
    mark, levels = k.marks(plan, run)[state], sump_range(plan, run)
    stands = (levels.pump_off, levels.low)[state]
    area = math.pi / 4.0 * plan.sump.shape.diameter**2
    for level, meets in ((mark.low, "low"), (mark.high, "high")):
        more = (plan.sump.floor + level - stands) * area  # a round sump is as wide at any level
        water = plan.sump.water_level + more / area
        filled = put(plan, {"sump.water_level": water})
        then = run_plan(filled, trace=False)
        swing = sump_range(filled, then)
        if meets == "low":
            covered = lowest_pump_level(plan) + 0.020
            assert beds_full_level(filled, then, swing) == pytest.approx(covered, abs=2e-4)
        else:
            assert max(swing.high, swing.pump_off) == pytest.approx(plan.sump.full, abs=2e-4)


def test_marks_are_rounded_to_the_dry_side_and_told_only_where_there_are_any(demo):
    low, high = 0.4412, 0.6589
    assert k.fill_words(demo, (k.Marks("now", low, high),)) == "450 mm to 650 mm now"
    two = (k.Marks("now", 0.44, 0.44), k.Marks("then", 0.1, 0.2))
    assert k.fill_words(demo, two) == "440 mm to 440 mm now; 100 mm to 200 mm then"
    assert "too small" in k.fill_words(demo, (k.Marks("now", 0.1, 0.2), k.Marks("then", 0.3, 0.29)))
    states = {
        name: [m.state for m in k.marks(p, run_plan(p, trace=False))]
        for name, p in (
            ("demo", demo),
            ("two", read_plan(PLANS / "two-groups.toml")),
            ("runs on", read_plan(DATA / "runs-on-without-stopping.toml")),
        )
    }
    assert {name: len(of) for name, of in states.items()} == {"demo": 2, "two": 1, "runs on": 1}


def test_water_to_buy_is_what_stands_in_vessels_and_pipes(demo):
    """All sump, beds, chamber (one level each) and each pipe's bore by its length; short water is added."""
    run = run_plan(demo, trace=False)
    pipes = sum(math.pi / 4.0 * p.pipe.bore**2 * p.length for p in (*demo.runs, demo.pump.delivery))
    held = system_water(demo, run) + pipes
    said = k.water(demo).steps
    assert said[0] == f"About {1e3 * held:.0f} L in all, pipes included."
    levels = sump_range(demo, run)
    area = math.pi / 4.0 * demo.sump.shape.diameter**2
    assert said[2].startswith(f"Each flood takes {1e3 * area * (levels.high - levels.low):.0f} L")
    short = put(demo, {"sump.water_level": 0.35})
    then = run_plan(short, trace=False)
    lacks = 0.35 + (k.marks(short, then)[0].low - 0.35) - (sump_range(short, then).pump_off - demo.sump.floor)
    assert lacks > 0.05
    whole = system_water(short, then) + pipes + area * lacks
    assert numbers(k.water(short).steps[0])[0] == pytest.approx(1e3 * whole, abs=1.0)
    small = k.water(read_plan(DATA / "sump-overflows.toml")).steps[1]
    assert small.startswith("No level covers the pump")


def test_a_power_cut_in_numbers(demo, monkeypatch):
    """Room to the rim on either side of it, and the bed with the deepest water by name."""
    cut = pump_off.power_cut(run_plan(demo, trace=False))
    said = k.power_cut(demo).steps
    assert f"{1e3 * (0.3 - cut.sump):.0f} mm below its rim" in said[0]
    assert len(said) == 4
    deep = {name: cut.stands[name] - 0.7 for name in ("bed 1", "bed 2", "bed 3")}
    assert f"{1e3 * max(deep.values()):.0f} mm deep in {max(deep, key=deep.get)}" in said[1]
    for sump, stands, words in (
        (
            demo.sump.rim,
            {"bed 1": 0.7, "bed 2": 0.8, "bed 3": 0.75},
            ("0 mm below its rim", "100 mm deep in bed 2"),
        ),
        (0.31, {"bed 1": 0.7, "bed 2": 0.8, "bed 3": 0.95}, ("10 mm over its rim", "250 mm deep in bed 3")),
        (0.25, {"bed 1": 0.9, "bed 2": 0.8, "bed 3": 0.75}, ("50 mm below its rim", "200 mm deep in bed 1")),
    ):
        fake = replace(cut, sump=sump, stands=stands)
        monkeypatch.setattr(k.pump_off, "power_cut", lambda run, fake=fake: fake)
        said = k.power_cut(demo).steps
        assert words[0] in said[0]
        assert words[1] in said[1]
    monkeypatch.undo()
    assert "no delivery pipe" in k.power_cut(read_plan(DATA / "one-bed.toml")).steps[-1]


@pytest.mark.parametrize(
    ("floor", "says", "length"),
    [(0.74, "Let bed 2 down 39 mm.", 0.13), (0.67, "Pack bed 2 up 30 mm.", 0.15)],
)
def test_beds_out_of_level_are_moved_back(demo, floor, says, length):
    """A bed put 40 mm up floods that much less deep; moved by what is said they flood alike again."""
    even = k.even(put(demo, {"bed.bed 2.floor": floor, "run.bed 2.length": 0.12 if floor < 0.7 else 0.13}))
    depths = [numbers(step)[1] for step in even.steps if " floods " in step and step.startswith("- ")]
    assert 1e3 * even.exact == pytest.approx(max(depths) - min(depths), abs=1.0)
    assert [step for step in even.steps if step.startswith(("- Let", "- Pack"))] == [f"- {says}"]
    assert even.plan.vessel("bed 2").floor == pytest.approx(0.7, abs=0.0015)
    assert even.plan.run_from("bed 2").length == pytest.approx(length, abs=0.0015)
    assert [even.plan.vessel(f"bed {n}").floor for n in (1, 3)] == [0.7, 0.7]
    run = run_plan(even.plan, trace=False)
    tops = [run.node(bed.name).high - bed.floor for bed in even.plan.beds]
    assert f"differ by {1e3 * (max(tops) - min(tops)):.1f} mm." in even.steps[-1]


def test_how_beds_are_moved_follows_from_the_middle_one(demo, monkeypatch):
    """10 mm are even and 5 mm are left alone: tops and lows put in by hand, and what is said of them."""
    base = run_plan(demo, trace=False)

    def said(depths, lows=(0.01, 0.0, -0.02)):
        nodes = tuple(
            replace(x, high=0.7 + depths[int(x.name[-1]) - 1], low=0.7 + lows[int(x.name[-1]) - 1])
            if x.name.startswith("bed")
            else x
            for x in base.nodes
        )
        monkeypatch.setattr(k, "run_plan", lambda plan, trace: replace(base, nodes=nodes))
        return k.even(demo)

    even = said((0.200, 0.2099, 0.204))
    assert even.steps[:3] == (
        "- bed 1 floods 200 mm deep and keeps 10 mm.",
        "- bed 2 floods 210 mm deep and keeps 0 mm.",
        "- bed 3 floods 204 mm deep and keeps 0 mm.",
    )
    assert "nothing to do" in even.steps[-1]
    assert even.plan is None
    moved = said((0.200, 0.230, 0.2049))
    assert [step for step in moved.steps if "bed 2 up" in step] == ["- Pack bed 2 up 25 mm."]
    assert not [step for step in moved.steps if step.startswith(("- Let", "- Pack bed 1", "- Pack bed 3"))]
    moved = said((0.190, 0.230, 0.200))
    assert [s for s in moved.steps if s[:5] in ("- Let", "- Pac")] == [
        "- Let bed 1 down 10 mm.",
        "- Pack bed 2 up 30 mm.",
    ]
    assert moved.exact == pytest.approx(0.04)
    assert [bed.floor for bed in moved.plan.beds] == pytest.approx([0.69, 0.73, 0.7])
    assert [r.length for r in moved.plan.runs] == pytest.approx([1.44, 0.12, 1.35, 0.1, 0.8])
    monkeypatch.undo()
    assert k.even(read_plan(DATA / "one-bed.toml")).steps == ("There is only one bed.",)


def test_another_bed_is_the_last_one_again(demo):
    """Floods an hour, drain times and the pump's cover before and after, from runs of both plans."""
    answer = k.another_bed(demo)
    new = answer.plan
    assert [bed.name for bed in new.beds] == ["bed 1", "bed 2", "bed 3", "bed 4"]
    assert new.run_from("bed 4").to == "tee 3"
    runs = [run_plan(p, trace=False) for p in (demo, new)]
    assert [
        float(n) for n in re.findall(r"([\d.]+) floods an hour before, ([\d.]+)", answer.steps[1])[0]
    ] == [float(f"{3600.0 / run.groups[0].period:.2g}") for run in runs]
    for run, when in zip(runs, ("before", "after"), strict=True):
        minutes, seconds = re.findall(rf"(\d+) min (\d+) s {when}", answer.steps[1])[0]
        assert 60 * int(minutes) + int(seconds) == pytest.approx(run.groups[0].drain_time, abs=0.6)
    over = [sump_range(r.plan, r).low - (-0.4 + 0.1) for r in runs]  # the intake is 100 mm over the floor
    assert answer.steps[2] == (
        f"With the beds full the sump is {1e3 * over[0]:.0f} mm over the pump's intake before, "
        f"{1e3 * over[1]:.0f} mm over after."
    )
    taken = read_plan(PLANS / "star.toml")
    names = [bed.name for bed in taken.beds]
    assert k.another_bed(taken).plan.beds[-1].name not in names
    text = (DATA / "greenhouse.toml").read_text(encoding="utf-8").replace('"bed 2"', '"bed 4"')
    assert k.another_bed(plan_from_text(text)).plan.beds[-1].name == "bed 5"
    inside = read_plan(PLANS / "inside-bed.toml")
    with pytest.raises(ValueError, match="holds its siphon"):
        k.another_bed(replace(inside, beds=inside.beds[:1], runs=()))


def test_another_bed_says_what_gets_worse():
    """In a sump that has just enough the next bed leaves the pump dry, which no finding said before."""
    plan = put(read_plan(DATA / "greenhouse.toml"), {"sump.water_level": 0.46})
    answer = k.another_bed(plan)
    before, after = (find(run_plan(p, trace=False)) for p in (plan, answer.plan))
    worse = [f for f in after if f.state in ("does not", "may or may not")]
    old = {(f.key, f.subject) for f in before if f.state in ("does not", "may or may not")}
    new = [f for f in worse if (f.key, f.subject) not in old]
    assert new
    assert f"Verdict: {verdict(before)} before, {verdict(after)} after." in answer.steps[0]
    assert [step for step in answer.steps if step.startswith("- ")] == [
        f"- {f.title} ({f.subject}): {f.shown('metric')}. {f.change}" for f in new[:5]
    ]
    assert [step for step in answer.steps if "A change that was tried" in step]


def test_a_part_may_age_up_to_the_last_step_that_changes_nothing(demo, monkeypatch):
    """The strength before the first that is worse is harmless; a better verdict on the way is no harm."""
    cause = SimpleNamespace(says=lambda s: f"strength {s}", key="tail", name="Slime")
    said = {0.25: "may or may not", 0.5: "works", 0.75: "does not", 1.0: "does not"}
    monkeypatch.setattr(k, "find", lambda run: [SimpleNamespace(title="Runs ON", of=run)])
    monkeypatch.setattr(k, "verdict", lambda findings: said[findings[0].of])
    other = SimpleNamespace()
    finder = SimpleNamespace(ladder=[(other, 0.1, 1.0), *((cause, s, s) for s in said), (other, 0.9, 1.0)])
    assert k._aged(finder, cause, "may or may not") == (
        "Strength 0.5 does no harm yet; with strength 0.75 the plan does not work: runs on."
    )
    assert k._aged(finder, cause, "works") == (
        "Even a little of it matters; with strength 0.25 the plan may or may not work: runs on."
    )
    assert k._aged(finder, cause, "does not") == "However far it goes, the verdict does not change."


def test_upkeep_puts_like_parts_together(demo, monkeypatch):
    parts = [
        ("strainer of bed 1", "A"),
        ("strainer of bed 2", "B"),
        ("strainer of bed 3", "C"),
        ("tail", "Slime"),
        ("air leak", "Air"),
        ("sump low", "Low"),
    ]
    causes = [SimpleNamespace(key=key, name=name) for key, name in parts]
    finder = SimpleNamespace(base=None, causes=causes)
    monkeypatch.setattr(k, "Finder", lambda plan, siphon, progress: finder)
    monkeypatch.setattr(k, "find", lambda run: ())
    monkeypatch.setattr(k, "_aged", lambda finder, cause, now: f"Aged as {cause.key[:4]}.")
    for now, said in (("works", "Today this plan works."), ("does not", "Today this plan does not work.")):
        monkeypatch.setattr(k, "verdict", lambda findings, now=now: now)
        steps = k.upkeep(demo).steps
        assert steps[:3] == (
            said,
            "- A (the same for 2 more). Look once a month, and after new planting. Aged as stra.",
            "- Slime. Look twice a year. Aged as tail.",
        )
        assert len(steps) == 4
