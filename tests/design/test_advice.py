"""Advice: each change was run, mends its fault, and brings no new one."""

import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from aquacalc.design import advice as a
from aquacalc.design import mends_building as building
from aquacalc.design import mends_draining as draining
from aquacalc.design.closest import turns
from aquacalc.design.keeping import marks, water
from aquacalc.design.mends import MENDS
from aquacalc.design.mends_sump import _water, lower_standpipe
from aquacalc.findings import STATES, Finding, find, verdict
from aquacalc.geometry.space import space
from aquacalc.plan import edit, plan_from_text
from aquacalc.plan.model import Breather
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import runs_dry
from tests.pairs.demo_edits import DEMO
from tests.plan.generated import plan_text

pytestmark = pytest.mark.identity
LAYOUTS = Path(__file__).parents[1] / "plans"
#: One fault of the demo plan each, and the least that is known of the change that mends it.
FAULTS = {
    "inflow in the band": ({"pump.flow": 9.4 / 60e3}, "Open the valve to 17."),
    "inflow under the band": ({"pump.flow": 4.5 / 60e3}, "Open the valve to 17."),
    "inflow over the stop": ({"pump.flow": 42 / 60e3}, "Close the valve to 3"),
    "wide standpipe": ({"siphon.standpipe.size": "2 in", "siphon.tail.size": "2 in"}, "Fit a 1 in standpipe"),
    "little water": ({"sump.water_level": 0.36}, "of water: fill the sump to"),
    "much water": ({"sump.water_level": 0.69}, "of water out: fill the sump to"),
    "low bed walls": ({"bed.*.depth": 0.236, "bed.*.media_depth": 0.2}, "Cut the standpipe to"),
    "few slots": ({"bed.bed 2.strainer.count": 9}, "in the strainer of bed 2"),
    "low roof": ({"siphon.bell.top_height": 0.431}, "Use a bell"),
}


def ran(plan):
    run = run_plan(plan, trace=False)
    return run, find(run)


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_of_the_demo_plan_is_mended(greenhouse, name):
    values, words = FAULTS[name]
    run, findings = ran(edit.put(greenhouse, values))
    best = a.advise(run, findings)[0]
    assert words in best.words
    assert best.verdict == "works"
    again = find(run_plan(edit.put(run.plan, best.values), trace=False))
    assert again == best.findings  # what is told was run
    assert verdict(again) == "works"


@pytest.mark.parametrize(("asked", "most"), [(4.0, False), (4.2, True)])
def test_the_valve_is_set_for_the_floods_asked(greenhouse, asked, most):
    """Water of a flood over inflow and over what drains it: within 2.5 % of what the run then makes."""
    run, findings = ran(edit.put(greenhouse, {"limits.floods_low": asked}))
    (finding,) = (f for f in findings if f.key == "floods" and f.state != "good")
    change = next(MENDS["floods"](run, finding))
    period = run_plan(edit.put(run.plan, change.values), trace=False).groups[0].period
    assert 3600.0 / period == pytest.approx(asked, rel=0.025)
    best = [*a.advise(run, findings)]  # at 28 L/min the demo floods most often, 4.13 times an hour
    assert (not best) == most
    assert not any(f.key == "floods" and f.state != "good" for tried in best for f in tried.findings)


@pytest.mark.parametrize("seed", [*range(12), 166, 180, 77709])  # of the last, some changes cannot be built
def test_no_advice_brings_a_new_fault(seed):
    run, findings = ran(plan_from_text(plan_text(seed)))
    deciding = {(f.key, f.subject): STATES.index(f.state) for f in findings}
    for advice in a.advise(run, findings, a.PAGE_RUNS):
        _, after = ran(edit.put(run.plan, advice.values))
        assert verdict(after) == advice.verdict
        for f in after:
            if f.state in ("does not", "may or may not"):
                names = {f.key, *(key for key, same in a.SAME.items() if same == f.key), a.SAME.get(f.key)}
                was = min(deciding.get((key, f.subject), len(STATES)) for key in names)
                assert was <= STATES.index(f.state), (advice.words, f.title, f.subject)


@pytest.mark.parametrize("filled", [0.42, 0.36, 0.2])
def test_the_mark_and_the_advice_name_one_level_that_covers_the_pump(greenhouse, filled):
    run, findings = ran(edit.put(greenhouse, {"sump.water_level": filled}))
    low = marks(run.plan, run)[0].low
    best = a.advise(run, findings)[0]
    assert best.values["sump.water_level"] == pytest.approx(low, abs=0.01)  # half of the step of a mark
    after, _ = ran(edit.put(greenhouse, {"sump.water_level": low + 0.01}))
    assert not runs_dry(after.plan, after)
    assert marks(after.plan, after)[0].low == pytest.approx(low, abs=0.01)


def test_water_to_buy_reaches_the_mark_whatever_is_in_the_sump(greenhouse):
    def litres(level):
        return float(water(edit.put(greenhouse, {"sump.water_level": level})).steps[0].split()[1])

    run, _ = ran(edit.put(greenhouse, {"sump.water_level": 0.3}))
    assert litres(0.3) == pytest.approx(litres(marks(run.plan, run)[0].low), rel=0.02)


def test_a_sump_that_runs_dry_is_the_cause_named(greenhouse):
    _, findings = ran(edit.put(greenhouse, {"sump.water_level": 0.4}))
    spills = next(f for f in findings if f.subject == "siphon" and f.state == "does not")
    assert spills.title in ("Runs out of water before it starts", "Beds do not flood")
    assert "pump_cover" in {f.key for f in findings if f.state == "does not"}


def test_no_more_runs_than_allowed(greenhouse, monkeypatch):
    tried = []
    monkeypatch.setattr(a, "run_plan", lambda plan, trace: tried.append(plan) or run_plan(plan, trace))
    run, findings = ran(plan_from_text(plan_text(9)))
    for runs in (0, 1, 5):
        tried.clear()
        found = a.advise(run, findings, runs)
        assert len(tried) <= runs
        assert found == () or runs > 0
    assert a.advise(*ran(greenhouse)) == ()  # nothing to mend


def test_two_faults_are_mended_together(greenhouse):
    values = {"pump.flow": 9.4 / 60e3, "bed.*.depth": 0.236, "bed.*.media_depth": 0.2}
    best = a.advise(*ran(edit.put(greenhouse, values)), a.PAGE_RUNS)[0]
    assert best.verdict == "works"
    assert set(best.values) == {"pump.flow", "siphon.siphon.standpipe.height"}


def test_a_reading_does_not_count_for_parts_that_were_changed(greenhouse):
    """It was seen to start at 30 L/min; a smaller standpipe is another siphon and goes by print again."""
    seen = {"siphon.priming.observed": 30 / 60e3, "siphon.priming.observed_error": 1 / 60e3}
    run, findings = ran(edit.put(greenhouse, seen))
    for advice in a.advise(run, findings, a.PAGE_RUNS):
        changed = advice.plan.siphons[0]
        assert changed.standpipe.pipe == greenhouse.siphons[0].standpipe.pipe or changed.tested


@pytest.mark.parametrize("litres", [9.4, 18.0, 38.0])
def test_the_verdict_turns_where_it_is_said_to(greenhouse, litres):
    """Each turn of the pump's flow is tried on both sides of the flow that it names."""
    run, findings = ran(edit.put(greenhouse, {"pump.flow": litres / 60e3}))
    now, found = verdict(findings), [t for t in turns(run, findings) if t.name.startswith("inflow")]
    assert found
    for turn in found:
        flow = float(turn.says.removeprefix("The pump's flow: ").partition(" ")[0])
        step = 1.0 if turn.name == "inflow more" else -1.0
        ends = [ran(edit.put(greenhouse, {"pump.flow": (flow + k * step) / 60e3}))[1] for k in (-1.0, 1.0)]
        assert [verdict(f) for f in ends] == [now, turn.to], turn.says


def test_the_closest_failure_of_the_demo_is_its_start(greenhouse):
    first = turns(*ran(greenhouse))[0]
    assert (first.name, first.to, first.plausible) == ("inflow less", "may or may not", True)
    assert first.says.startswith("The pump's flow: 17 L/min instead of 18 (5 % less)")


@pytest.mark.parametrize(
    ("name", "side", "to"), [("water more", 1.0, "may or may not"), ("water less", -1.0, "does not")]
)
def test_the_sumps_water_turns_the_verdict(greenhouse, name, side, to):
    run, findings = ran(greenhouse)
    turn = next(t for t in turns(run, findings) if t.name == name)
    litres = float(turn.says.partition(": ")[2].partition(" ")[0])
    area = 0.25 * 3.14159265 * 0.9**2
    found = []
    for part in (0.95, 1.05):
        level = run.plan.sump.water_level + side * part * litres / 1000.0 / area
        found.append(verdict(ran(edit.put(greenhouse, {"sump.water_level": level}))[1]))
    assert found == ["works", to]


def test_a_plan_that_does_not_work_has_no_turn(greenhouse):
    assert turns(*ran(edit.put(greenhouse, {"pump.flow": 42 / 60e3}))) == ()


def test_a_sump_that_may_be_full_to_its_brim_keeps_the_wall_that_no_level_is_known_to(greenhouse):
    run, findings = ran(edit.put(greenhouse, {"sump.freeboard": 0.0, "sump.water_level": 0.692}))
    assert verdict(findings) == "may or may not"
    advice = a.advise(run, findings)[0]
    assert advice.words.startswith("Take 2.7 L of water out: fill the sump to 687 mm")
    assert advice.verdict == "works"
    assert max(mark.high for mark in marks(run.plan, run)) == pytest.approx(0.700 - 0.010)


def given(mended, verdict, **values):
    words = " ".join(mended)
    return a.Advice(
        mends=tuple((key, "x") for key in mended), words=words, values=values or {words: 1.0}, plan=None,
        findings=(), verdict=verdict, gives="",
    )  # fmt: skip


def test_what_mends_less_than_another_is_left_out(greenhouse, monkeypatch):
    """Those that make the plan work come first, then those that mend most; together only where none works."""
    run, _ = ran(greenhouse)
    found = [
        Finding(key=k, title="", state="does not", subject="x", cause="")
        for k in ("stop", "start", "floods", "drains")
    ]
    one, two, three = (
        given(["stop"], "does not"),
        given(["start", "stop"], "does not"),
        given(["floods"], "may or may not"),
    )
    four = given(["drains"], "works")

    def told(*advice, together=None):
        def of(self, finding):
            return next((x for x in advice if a.mends(x, finding)), None)

        monkeypatch.setattr(a._Trials, "for_finding", of)
        monkeypatch.setattr(a._Trials, "together", lambda self, each: together)
        return a.advise(run, found)

    assert told(one) == (one,)
    assert told(one, given(["start"], "does not")) == (given(["start"], "does not"), one)
    assert told(two, three, four) == (four, three, two)
    kept = told(given(["start"], "does not"), replace(two, mends=(("stop", "x"), ("start", "x"))))
    assert [x.words for x in kept] == ["start stop"]
    both = given(["stop", "start", "floods"], "works")
    assert told(two, three, together=both)[0] is both
    assert both not in told(two, three, together=given(["stop"], "may or may not"))
    assert both not in told(four, two, together=both)
    assert both not in told(two, together=both)


def test_side_outlets_that_are_too_high_are_set_lower():
    """Of the side outlets only those over the limit, 10 mm under it, with the outfall no higher."""
    plan = plan_from_text((LAYOUTS / "side-outlets.toml").read_text("utf-8"))
    names = [bed.name for bed in plan.beds]
    plan = edit.put(
        plan,
        {f"bed.{n}.outlet": "side" for n in names[:2]}
        | {f"bed.{names[0]}.outlet_height": 0.08, f"bed.{names[1]}.outlet_height": 0.05},
    )
    finding = Finding(
        key="wet_zone", title="", state="watch", subject=names[0], cause="", value=0.08, limit=0.06
    )
    (change,) = MENDS["wet_zone"](SimpleNamespace(plan=plan), finding)
    line, bed = plan.run_from(names[0]), plan.bed(names[0])
    assert change.values == pytest.approx(
        {
            f"bed.{names[0]}.outlet_height": 0.05,
            f"run.{names[0]}.outfall": min(line.outfall, bed.floor + 0.05),
        }
    )
    assert change.words == f"Set the side outlet of {names[0]} 50 mm over the floor."
    assert not list(
        MENDS["wet_zone"](SimpleNamespace(plan=edit.put(plan, {"bed.*.outlet_height": 0.06})), finding)
    )


def test_an_outlet_is_drilled_between_two_ribs_the_nearest_to_the_middle_first():
    """Ribs at 300 and 500 mm of 1.2 m leave middles at 150, 400 and 850 mm."""
    plan = edit.put(plan_from_text(DEMO), {"bed.bed 2.ribs": (0.3, 0.5)})
    finding = Finding(key="hole_rib", title="", state="does not", subject="bed 2: outlet", cause="")
    offered = [change.values for change in MENDS["hole_rib"](SimpleNamespace(plan=plan), finding)]
    assert [[*values.values()] for values in offered] == [pytest.approx([x]) for x in (0.4, 0.85, 0.15)]
    assert {key for values in offered for key in values} == {"bed.bed 2.outlet_along"}


def offered(plan, key, subject="", run=None, **finding):
    """Edits of every change that may mend a finding of a plan."""
    made = Finding(key=key, title="", cause="", subject=subject, **{"state": "does not", **finding})
    return list(MENDS[key](run or SimpleNamespace(plan=plan), made))


def test_a_dry_pump_gets_water_a_lower_intake_or_a_shorter_standpipe(greenhouse):
    """30 mm more over the intake: 0.636 m2 of sump by 30 mm; the beds give 1.3 to 1.8 m2 of water back."""
    run = run_plan(greenhouse, trace=False)
    changes = offered(greenhouse, "pump_cover", "pump", run, value=-0.01, limit=0.02, direction="at least")
    area = math.pi / 4.0 * 0.9**2
    water = [c for c in changes if c.words.startswith("Add")]
    assert [c.values["sump.water_level"] for c in water] == [pytest.approx(0.64), pytest.approx(0.685)]
    assert f"Add {1e3 * 0.03 * area:.0f} L of water: fill the sump to 640 mm" in water[0].words
    (intake,) = (c for c in changes if "intake" in c.words)
    assert intake.values == pytest.approx({"pump.intake": 0.07})
    assert "to 70 mm above the floor (now 100 mm)" in intake.words
    (cut,) = (c for c in changes if c.words.startswith("Cut"))
    group = run.groups[0]
    less = 0.03 * area * (group.lip - group.rim) / (group.volume_high - group.volume_low)
    assert cut.values["siphon.siphon.standpipe.height"] == pytest.approx(0.43 - less, abs=0.001)
    short = edit.put(greenhouse, {"pump.intake": 0.049})
    other = replace(run, plan=short)
    changes = offered(short, "pump_cover", "pump", other, value=-0.01, limit=0.02, direction="at least")
    assert not [c for c in changes if "intake" in c.words]  # 19 mm over the floor is less than it may stand


def test_a_bed_is_moved_along_its_line_and_parts_apart(greenhouse):
    """By what lacks, in the direction from the bed to where its line leads."""
    text = (LAYOUTS / "inside-bed.toml").read_text("utf-8")
    plan = plan_from_text(text)
    changes = offered(plan, "bell_room", "siphon", value=0.0, limit=0.02, direction="at least")
    assert changes[0].values == {"siphon.siphon.media_guard": pytest.approx(0.154 + 2.0 * 0.02)}
    changes = offered(greenhouse, "bell_room", "siphon", value=0.0, limit=0.02, direction="at least")
    assert changes[0].values == {"chamber.chamber.diameter": pytest.approx(0.29)}


def test_a_flood_too_shallow_lowers_its_bed_as_far_as_its_wall_holds(greenhouse):
    """The water stands at 0.944 m; nine tenths of 270 mm of media, or 30 mm of wall over it."""
    finding = {"value": 0.1, "limit": 0.2}
    (change,) = offered(greenhouse, "flood", "bed 2", direction="at least", **finding)
    floor = change.values["bed.bed 2.floor"]
    assert floor == pytest.approx(max(0.8 - draining.FLOODED * 0.27, 0.8 + 0.03 - 0.3), abs=0.001)
    assert "run.bed 2.length" not in change.values  # 90 mm are less than it comes down
    (change,) = offered(greenhouse, "flood", "bed 1", direction="at least", **finding)
    assert change.values["run.bed 1.length"] == pytest.approx(1.44 - (0.7 - floor))
    assert not offered(greenhouse, "flood", "bed 1", direction="at most", **finding)
    assert not offered(greenhouse, "flood", "bed 1", direction="at least", value=0.26, limit=0.2)


def test_of_two_vessels_in_one_place_the_second_moves_away(greenhouse):
    """By what they overlap, along either side, on the side where it stands already."""
    placed = space(greenhouse).vessels
    for x, y, ways in ((0.1, -0.1, (1.0, -1.0)), (-0.1, 0.1, (-1.0, 1.0)), (0.0, 0.0, (1.0, 1.0))):
        one, other = placed["bed 1"], placed["bed 2"]
        moved = {**placed, "bed 2": replace(other, x=one.x + x, y=one.y + y)}
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(building, "space", lambda plan, moved=moved: SimpleNamespace(vessels=moved))
            along = [c.values for c in offered(greenhouse, "overlap", "bed 1 and bed 2", value=0.25)]
            near = plan_moves(greenhouse, patch, moved)
        assert along == [
            {"bed.bed 2.x": pytest.approx(one.x + x + ways[0] * 0.25)},
            {"bed.bed 2.y": pytest.approx(one.y + y + ways[1] * 0.25)},
        ]
        assert near
    assert not offered(greenhouse, "overlap", "bed 1 and bed 9", value=0.25)


def plan_moves(plan, patch, placed):
    """A bed 100 mm too far from where its line leads, on its own side of it, comes nearer by that."""
    line = next(run for run in plan.runs if run.start == "bed 1")
    toward = replace(placed["chamber"], x=placed["bed 1"].x + 0.3, y=placed["bed 1"].y - 0.4)
    patch.setattr(building, "space", lambda _: SimpleNamespace(vessels={**placed, line.to: toward}))
    key = next(key for key, made in MENDS.items() if made is building.line_reaches)
    found = [c.values for c in offered(plan, key, f"{line.start} to {line.to}", value=0.1)]
    bed = placed["bed 1"]
    return found == [
        {"bed.bed 1.x": pytest.approx(bed.x + 0.06), "bed.bed 1.y": pytest.approx(bed.y - 0.08)},
        {"bed.bed 1.x": pytest.approx(bed.x - 0.06), "bed.bed 1.y": pytest.approx(bed.y + 0.08)},
    ]


def test_a_breather_reaches_from_under_the_roof_to_its_mouth(greenhouse):
    """The roof is at 465 mm, the rim at 30; the tube is held against the way between, 20 mm are added."""

    def told(length, mouth):
        plan = edit.put(greenhouse, {"siphon.breather": Breather(0.004, length, mouth)})
        return [c.values for c in offered(plan, "breather", "siphon", kind="length", value=0.1, limit=0.2)]

    at = "siphon.siphon.breather"
    assert told(0.3, 0.05) == [{f"{at}.length": pytest.approx(0.485)}]
    assert told(0.42, 0.05) == [{f"{at}.mouth": pytest.approx(0.05)}]
    assert told(0.3, 0.44) == [{f"{at}.mouth": pytest.approx(0.05), f"{at}.length": pytest.approx(0.485)}]
    plan = edit.put(greenhouse, {"siphon.breather": Breather(0.004, 0.5, 0.05)})
    wider = [c.values for c in offered(plan, "breather", "siphon", kind="area", value=0.1, limit=0.2)]
    assert wider == [{f"{at}.bore": pytest.approx(0.004 * part)} for part in (1.5, 2.0, 3.0)]


@pytest.mark.parametrize(
    "fault",
    [
        {"pump.flow": 90 / 60e3},
        {"bed.*.depth": 0.236, "bed.*.media_depth": 0.2},
        {"siphon.siphon A.bell.top_height": 0.421, "siphon.siphon B.bell.top_height": 0.421},
        {"sump.water_level": 0.69},
    ],
)
def test_of_two_siphons_a_change_names_the_one_it_is_of(fault):
    """Of two, each change of a siphon's parts says whose; of one, the name would only be in the way."""
    plan = edit.put(plan_from_text((LAYOUTS / "two-groups.toml").read_text("utf-8")), fault)
    names = [siphon.name for siphon in plan.siphons]
    run, findings = ran(plan)
    looked_at = 0
    for finding in [f for f in findings if f.state != "good" and f.key in MENDS]:
        for change in MENDS[finding.key](run, finding):
            of = {name for name in names if any(path.startswith(f"siphon.{name}.") for path in change.values)}
            assert {name for name in names if name in change.words} >= of, change.words
            looked_at += bool(of)
    (change,) = lower_standpipe(plan, plan.siphons[1], 0.05)
    assert change.words.startswith(f"Cut the standpipe of {names[1]} to ")
    assert looked_at or "sump.water_level" in fault
    one = plan_from_text(DEMO)
    (change,) = lower_standpipe(one, one.siphons[0], 0.05)
    assert change.words == "Cut the standpipe to 380 mm (now 430 mm)."
    assert list(lower_standpipe(one, one.siphons[0], 0.3999))
    assert not list(lower_standpipe(one, one.siphons[0], 0.4001))  # its lip would be under the bell's rim


def test_a_sump_is_not_filled_to_its_brim(greenhouse):
    """Its wall is 700 mm, its water 610 mm deep; 89 mm more can be filled in, 89.5 mm round to all of it."""
    area = math.pi / 4.0 * 0.9**2
    assert _water(greenhouse, 0.089 * area).values == pytest.approx({"sump.water_level": 0.699})
    assert _water(greenhouse, 0.0895 * area) is None
    assert _water(greenhouse, -0.509 * area).values == pytest.approx({"sump.water_level": 0.101})
    assert _water(greenhouse, -0.51 * area) is None  # the pump's intake would be bare
    assert _water(greenhouse, -0.7 * area) is None
