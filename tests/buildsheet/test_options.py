"""Options: each is the whole plan with one change, and only that."""

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from aquacalc.buildsheet import options as options_module
from aquacalc.buildsheet.as_planned import as_planned_table
from aquacalc.buildsheet.options import alternatives, compare, head_lost
from aquacalc.buildsheet.stock import Workshop, read_workshop
from aquacalc.equations import losses
from aquacalc.equations.formulas import water_kinematic_viscosity
from aquacalc.findings import find, verdict
from aquacalc.geometry.joints import fitting_joint
from aquacalc.hydraulics.paths import path_loss, run_path, siphon_path
from aquacalc.plan import edit
from aquacalc.plan.check import check_plan
from aquacalc.plan.model import Fitting
from aquacalc.plan.read import read_plan
from aquacalc.results.cycle import run_plan

ROOT = Path(__file__).resolve().parents[2]
pytestmark = pytest.mark.identity
DEMO = read_plan(ROOT / "data" / "plans" / "greenhouse.toml")
FILES = sorted((ROOT / "tests" / "plans").glob("*.toml"))


def changed(name):
    return next(change for n, _, change in alternatives(DEMO) if n == name)(DEMO)


@pytest.fixture(scope="module")
def options():
    return {o.name: o for o in compare(DEMO, read_workshop(ROOT / "data" / "workshop-demo.toml"))}


def test_the_demo_has_every_column(options):
    assert list(options) == [
        "as planned", "tank fittings", "two 45s", "one 90", "side outlets", "a siphon in each bed",
    ]  # fmt: skip
    assert not any(o.problem for o in options.values())


def test_as_planned_is_the_plan(options):
    run = run_plan(DEMO)
    assert options["as planned"].drain_time == pytest.approx(run.groups[0].drain_time, rel=1e-6)
    assert options["as planned"].swing == pytest.approx(run.sump_high - run.sump_low, rel=1e-6)
    assert options["as planned"].flow == pytest.approx(run.groups[0].flow_start, rel=1e-3)


@pytest.mark.parametrize(
    ("plan", "edits", "said"),
    [
        ("pump-curve", {}, "curve: 0 L/min at 2.6 m; 10 L/min at 2.2 m; 20 L/min at 1.6 m"),
        ("pump-curve", {"pump.on": 900.0, "pump.off": 2700.0}, "on: 15 min 0 s | off: 45 min 0 s"),
        ("half-drums", {}, "depths: 0 mm; 100 mm; 300 mm | areas: 0.3 m²; 0.36 m²; 0.45 m²"),
        ("half-drums", {"plan.units": "us"}, "areas: 3.2292 ft²; 3.875 ft²; 4.8438 ft²"),
    ],
)
def test_lists_and_times_stand_in_the_readers_units(plan, edits, said):
    """They stood as bare SI numbers: "curve: 0 at 3.6576; 0.0012618 at 0 | on: 900 s"."""
    table = as_planned_table(edit.put(read_plan(f"tests/plans/{plan}.toml"), edits))
    assert said in "\n".join(row[-1] for row in table.rows)


def test_seals_change_the_price_and_not_the_water(options):
    a, b = options["as planned"], options["tank fittings"]
    # Four of 1-1/2 in at 7.40 for 2.60, one of 1 in at 5.20 for 1.90.
    assert b.cost - a.cost == 4 * (Decimal("7.40") - Decimal("2.60")) + Decimal("5.20") - Decimal("1.90")
    assert (b.head, b.drain_time, b.swing) == (a.head, a.drain_time, a.swing)


def test_a_square_90_loses_more_and_drains_slower(options):
    assert options["one 90"].head > options["as planned"].head > options["two 45s"].head
    assert options["one 90"].drain_time > options["as planned"].drain_time > options["two 45s"].drain_time
    # Three 90s of the drain line and tail become pairs of 45s.
    assert options["two 45s"].parts == options["as planned"].parts + 3
    assert options["one 90"].parts == options["as planned"].parts - 1


def test_side_outlets_keep_water(options):
    kept = options["side outlets"].residual - options["as planned"].residual
    # Hole of 64 mm with 10 mm below it, bore of 40.9 mm: invert 21.6 mm up in three beds of 0.6 m2 at 0.45;
    # 10 mm of pipe stand in the floor outlets that they replace.
    height = 0.5 * (0.064 - 0.040894) + 0.010 - 0.010
    # Over its invert the mouth of a level pipe stands 17 to 23 mm deep at 6 L/min (critical flow in the
    # circle, flush to projecting), where a floor outlet keeps some 6 mm.
    low, high = (3 * 0.6 * 0.45 * (height + over - 0.006) for over in (0.017, 0.023))
    assert low < kept < high


def test_side_outlets_and_back():
    there = replace(changed("side outlets"), text="")
    back = next(change for n, _, change in alternatives(there) if n == "floor outlets")(there)
    assert [b.outlet for b in back.beds] == ["floor"] * 3
    for mine, run in zip(back.runs, DEMO.runs, strict=True):
        assert mine.length == pytest.approx(run.length)
        assert sorted(f.name for f in mine.fittings) == sorted(f.name for f in run.fittings)


def test_a_siphon_in_each_bed_floods_as_high():
    each = changed("a siphon in each bed")
    check_plan(each)
    assert len(each.siphons) == 3
    for siphon in each.siphons:
        lip = each.vessel(siphon.host).floor + siphon.standpipe.height
        assert lip == pytest.approx(0.500 + 0.430)
        assert siphon.tail.outlet == DEMO.siphons[0].tail.outlet
    assert each.runs == ()


def test_a_siphon_in_each_bed_is_sized_so_that_it_works(options):
    """A third of the flow does not start the shared siphon's size: a narrower one does."""
    each = options["a siphon in each bed"]
    assert each.outcome == "cycles"
    shared = DEMO.siphons[0].standpipe.pipe.bore
    assert max(s.standpipe.pipe.bore for s in each.plan.siphons) < shared
    assert verdict(find(run_plan(each.plan, trace=False))) != "does not"


def test_no_total_where_a_part_that_differs_has_no_price(options):
    """The demo's list has no reducer for the siphons of the beds; a price for every part gives a total."""
    for option in options.values():
        assert (option.cost is None) == bool(option.unpriced and option.name != "as planned"), option.name


def test_one_shared_siphon():
    plan = read_plan(ROOT / "tests" / "plans" / "two-groups.toml")
    shared = next(change for n, _, change in alternatives(plan) if n == "one shared siphon")(plan)
    check_plan(replace(shared, text=""))
    assert len(shared.siphons) == len(shared.chambers) == 1


def test_head_by_hand():
    """Bed 1 is the worst: its run, the next with two beds' flow and the last with three, and the siphon."""
    flow = 1e-3
    nu = water_kinematic_viscosity(20.0)
    runs = {r.start: r for r in DEMO.runs}
    ways = [("bed 1", 1 / 3), ("tee 2", 2 / 3), ("tee 3", 1.0)]
    line = sum(path_loss(run_path(DEMO, runs[name]), part * flow, nu) for name, part in ways)
    assert head_lost(DEMO, flow) == pytest.approx(
        line + path_loss(siphon_path(DEMO, DEMO.siphons[0]), flow, nu)
    )


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_every_alternative_says_what_it_changes_or_why_not(path):
    plan = read_plan(path)
    names = [n for n, _, _ in alternatives(plan)]
    assert len(names) == len(set(names)) >= 3
    for name, words, change in alternatives(plan):
        assert words
        assert change(plan) != plan, name


def test_what_cannot_be_built_says_why():
    shallow = tuple(
        replace(
            b,
            floor=b.floor + 0.21,
            shape=replace(b.shape, depth=0.1),
            media=replace(b.media, depth=0.08),
        )
        for b in DEMO.beds
    )
    tall = replace(DEMO, beds=shallow)
    found = {o.name: o for o in compare(tall, Workshop())}
    each = found["a siphon in each bed"]
    assert each.problem
    assert each.outcome == ""
    assert each.cost is None


@pytest.mark.identity
def test_two_45s_stand_as_close_as_their_sockets_let_them():
    """Two sockets and two take-offs apart, within what the losses are known for."""
    made = changed("two 45s")
    pairs = [(f, run.pipe) for run in made.runs for f in run.fittings if f.name == "two 45s"]
    pairs += [(f, s.tail.pipe) for s in made.siphons for f in s.tail.fittings if f.name == "two 45s"]
    tried = 0
    for fitting, pipe in pairs:
        half = fitting_joint("bend 45", pipe)
        close = 2.0 * (half.take_off + half.socket)
        if fitting.spacing == pytest.approx(0.080):  # given in the plan
            continue
        low, high = (losses.TWO_45_SMOOTH[k][0] * pipe.bore for k in (0, -1))
        assert low < close < high
        assert fitting.spacing == pytest.approx(close)
        tried += 1
    assert tried >= 2


def test_floor_outlets_take_one_of_two_bends_and_keep_the_other():
    """A side outlet with two bends, by "2 x" or one by one: through the floor one of them is left."""
    for fittings in ((Fitting("bend 90, short", 2, 0.9),), (Fitting("bend 90, short", 1, 0.9),) * 2):
        run = replace(DEMO.runs[0], fittings=fittings)
        bed = replace(DEMO.beds[0], outlet="side", outlet_height=0.03)
        plan = replace(DEMO, beds=(bed, *DEMO.beds[1:]), runs=(run, *DEMO.runs[1:]))
        made = options_module._floor(plan)
        assert sum(f.count for f in made.runs[0].fittings) == 1
        assert made.beds[0].outlet_height == 0.0
        straight = bed.floor - run.outfall - 0.5 * run.pipe.bore
        assert made.runs[0].length == pytest.approx(run.length - 0.03 - options_module.SIDE_WAY)
        assert made.runs[0].length > straight
        (short,) = options_module._floor(replace(plan, runs=(replace(run, length=0.1),), beds=(bed,))).runs
        assert short.length == pytest.approx(straight)


def test_each_siphons_tail_is_longer_by_its_drain_lines_and_its_drop():
    """Of the shared siphon's: all runs on the bed's way, and how far the bed stands over the chamber."""
    shared, each = DEMO.siphons[0], changed("a siphon in each bed")
    for siphon in each.siphons:
        way, at = 0.0, siphon.host
        while at != shared.host:
            way, at = way + DEMO.run_from(at).length, DEMO.run_from(at).to
        over = DEMO.bed(siphon.host).floor - DEMO.vessel(shared.host).floor
        assert over > 0.0
        assert siphon.tail.length == pytest.approx(shared.tail.length + way + over)
        assert siphon.bell.top_height - siphon.standpipe.height == pytest.approx(
            shared.bell.top_height - shared.standpipe.height
        )


@pytest.mark.parametrize("short", [1.0, 0.1])
def test_lines_led_to_one_chamber_are_as_long_as_they_were_or_have_to_be(short):
    plan = read_plan(ROOT / "tests" / "plans" / "two-groups.toml")
    first, second = plan.siphons
    plan = replace(plan, runs=tuple(replace(r, length=short * r.length) for r in plan.runs))
    shared = next(change for n, _, change in alternatives(plan) if n == "one shared siphon")(plan)
    outfall = next(run.outfall for run in plan.runs if run.to == first.host)
    led = {run.start: run for run in shared.runs}
    for run in plan.runs:
        if run.to == second.host:
            falls = plan.bed(run.start).floor - outfall
            assert led[run.start].length == pytest.approx(max(run.length, falls))
            assert (led[run.start].to, led[run.start].outfall) == (first.host, outfall)
        else:
            assert led[run.start].length == run.length


def test_two_45s_stand_no_closer_than_their_table_and_no_farther():
    """As close as take-off and socket let them, within the spacings that the table has, in bores."""
    low, high = losses.TWO_45_SMOOTH[0][0], losses.TWO_45_SMOOTH[-1][0]
    for bore in (0.004, 0.0409, 0.4):
        pipe = replace(DEMO.runs[0].pipe, bore=bore)
        run = replace(DEMO.runs[0], pipe=pipe)
        made = options_module._two_45s(replace(DEMO, runs=(run,))).runs[0]
        half = fitting_joint("bend 45", pipe)
        near = 2.0 * (half.take_off + half.socket)
        spacing = next(f.spacing for f in made.fittings if f.name == "two 45s")
        assert spacing == pytest.approx(sorted((low * bore, near, high * bore))[1])


def test_a_side_outlets_height_leaves_its_edge_under_the_larger_of_two_holes(monkeypatch):
    """Sources disagree, 50 and 60 mm: the middle of the pipe is 30 and the edge over the floor."""
    monkeypatch.setattr(options_module, "hole_sizes", lambda seal, pipe: ((0.05, 0.06), ""))
    made = options_module._side(DEMO)
    for bed, run, was in zip(made.beds, made.runs, DEMO.runs, strict=False):
        assert bed.outlet == "side"
        middle = bed.outlet_height + 0.5 * run.pipe.bore
        assert middle == pytest.approx(0.030 + options_module.LEAST_EDGE)
        assert run.length == pytest.approx(was.length + bed.outlet_height + options_module.SIDE_WAY)
        assert sum(f.count for f in run.fittings) == sum(f.count for f in was.fittings) + 1
        break
