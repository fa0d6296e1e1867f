"""A power cut and a timer: runs one after another against an independent scipy solution, and water kept."""

import functools
import itertools
import math
from dataclasses import replace

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.engine.packing import pack
from aquacalc.findings import find, verdict
from aquacalc.hydraulics.levels import drained_sump_level, start_level, volume_at
from aquacalc.hydraulics.starting import spill_level, start_band
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan import edit
from aquacalc.plan.check import check_plan
from aquacalc.plan.errors import PlanError
from aquacalc.plan.model import Overflow
from aquacalc.plan.network import order
from aquacalc.plan.read import read_plan
from aquacalc.report.as_json import as_dict
from aquacalc.report.content import build_report
from aquacalc.results import window as window_module
from aquacalc.results.cycle import run_plan
from aquacalc.results.pump_off import Standing, phase, power_cut, timer
from aquacalc.results.safety_overflow import blocked
from aquacalc.results.window import inflow_part
from tests.independent import Independent
from tests.report.second_way import SecondWay

pytestmark = pytest.mark.identity
#: What a grower reads off a rule, m.
LEVEL = 1e-3
#: Of the independent solution, as in `test_system`.
RTOL, ATOL = 1e-5, 1e-6


@functools.cache
def plan(name):
    folder = data_dir() / "plans" if name in ("greenhouse", "one-bed") else data_dir().parent / "tests/plans"
    return read_plan(folder / f"{name}.toml")


def timed(name, on, off, **more):
    keys = {key.replace("__", "."): value for key, value in more.items()}
    return edit.put(plan(name), {"pump.on": on, "pump.off": off} | keys)


class Going(Independent):
    """The independent solution, run on from where it was left, its pump switched."""

    on, levels = True, None

    def pump(self, sump):
        return super().pump(sump) if self.on else 0.0

    def initial(self, sump_level):
        return self.levels or super().initial(sump_level)

    def goes_on(self, seconds, on):
        self.on = on
        history = self.run(drained_sump_level(self.plan), breaks=99, limit=seconds, rtol=RTOL, atol=ATOL)
        self.levels = [float(x) for x in history.pieces[-1][1](seconds)]
        return history


def pipe(plan):
    delivery = plan.pump.delivery
    return math.pi / 4 * delivery.pipe.bore**2 * delivery.length if delivery else 0.0


@functools.cache
def second(name):
    return SecondWay(plan(name), as_dict(build_report(plan(name))))


@pytest.mark.parametrize("name", ["greenhouse", "side-outlets"])
def test_power_cut_against_scipy(name):
    run, way = run_plan(plan(name), trace=False), second(name)
    vessels = (*run.plan.beds, *run.plan.chambers)
    cut, other = power_cut(run), Going(run.plan)
    at = {node: run.node(node).at_start for node, _ in order(run.plan)}
    now = way._level(way.value("sump", "water") - sum(way.held(v, at[v.name]) for v in vessels))
    other.levels = [at.get(n, now) for n in other.names] + [0.0] * len(run.plan.siphons)
    other.regime = dict.fromkeys(other.regime, "full")
    other.goes_on(cut.rest, on=False)
    for vessel, level in cut.left.items():
        assert level == pytest.approx(other.levels[other.at[vessel]], abs=LEVEL), vessel
    with_pipe = way.held(run.plan.sump, other.levels[other.at[run.plan.sump.name]]) + pipe(run.plan)
    assert cut.sump == pytest.approx(way._level(with_pipe), abs=LEVEL)


@pytest.mark.parametrize(
    ("name", "on", "off"),
    [("greenhouse", 900.0, 2700.0), ("single", 480.0, 1320.0), ("single", 240.0, 900.0)],
)
def test_timer_against_scipy(name, on, off):
    ours, other = timer(timed(name, on, off)), Going(plan(name))
    late = pipe(plan(name)) / plan(name).pump.flow  # the pipe fills first
    count, ends, starts = 0, [], []
    for _ in range(ours.tried):
        for seconds, runs, kept in ((on - late, True, ends), (off, False, starts)):
            count += sum(what == "break" for _, _, what in other.goes_on(seconds, runs).events)
            kept.append(list(other.levels))
    again = ours.tried - ours.periods
    assert count >= sum(ours.floods.values()) * ours.periods * (on + off) - 1e-9
    for bed in plan(name).beds:
        i = other.at[bed.name]
        off_levels, on_levels = ([row[i] for row in rows[again:]] for rows in (ends, starts))
        assert ours.at_off[bed.name] == pytest.approx((min(off_levels), max(off_levels)), abs=LEVEL)
        assert ours.at_on[bed.name] == pytest.approx((min(on_levels), max(on_levels)), abs=LEVEL)
    assert ours.balance < 1e-9
    assert ours.pumped == pytest.approx(plan(name).pump.flow * (on - late), rel=1e-9)


def told(plan):
    found = {f.key: f for f in find(run_plan(plan, trace=False))}
    return found, verdict(found.values())


def test_a_timer_too_short_to_ever_start():
    """Spilling and priming take a minute in one go; the pipe has to fill first."""
    found, says = told(timed("greenhouse", 30.0, 570.0))
    assert says == "does not"
    assert "too short" in found["timer"].title
    found, says = told(timed("greenhouse", 900.0, 2700.0))
    assert says == "works"
    assert found["timer"].state == found["timer_stands"].state == "good"


@pytest.mark.parametrize("minutes", [2.0, 4.0, 10.0, 11.0, 12.0, 15.0])
def test_a_timer_that_stops_the_pump_while_the_siphon_starts(minutes):
    """Filling takes 10 min 45 s, spilling and priming up to 3 min 20 s: between the two it stops short.

    Shorter ones fill the beds bit by bit, which works where one of them is enough from the lip on.
    """
    found, _ = told(timed("greenhouse", 60.0 * minutes, 2700.0))
    short = minutes in (2.0, 11.0, 12.0)
    assert found["timer"].state == ("may or may not" if short else "good")
    if short:
        assert "before the siphon starts" in found["timer"].title
        assert "Set the timer to 15 min on" in found["timer"].change


def test_what_runs_back_each_time_can_keep_it_from_starting():
    under = {"pump.delivery.outlet": 0.85}
    found, _ = told(edit.put(timed("greenhouse", 240.0, 600.0), under))
    assert found["timer"].state == "does not"
    found, _ = told(
        edit.put(timed("greenhouse", 240.0, 600.0), under | {"pump.delivery.check_valve": "fitted"})
    )
    assert found["timer"].state == "good"
    assert found["timer_stands"].state == "watch"


def test_a_timer_breaks_what_runs_on_and_beds_that_stand_long_are_asked_about():
    found, says = told(timed("greenhouse", 900.0, 2700.0, pump__flow=45.0 / 60000.0))
    assert (says, found["stop"].state) == ("works", "watch")
    found, says = told(timed("greenhouse", 300.0, 6 * 3600.0))
    assert (says, found["timer_stands"].state) == ("may or may not", "may or may not")
    assert "may or may not" not in {found[k].state for k in ("start", "stop")}


def test_a_report_says_what_the_timer_does():
    plan = timed("greenhouse", 900.0, 2700.0)
    (section,) = (s for s in build_report(plan).sections if s.key == "timer")
    rows = {row.key: row.value for row in section.rows}
    assert rows["floods"] == pytest.approx(1.0 / 3600.0)
    assert rows["runs_back"] == pytest.approx(pipe(plan), rel=1e-9)
    assert rows["pumped"] == pytest.approx(plan.pump.flow * 900.0 - pipe(plan), rel=1e-9)
    assert rows["sump_low"] < rows["sump_high"] < plan.sump.rim


@pytest.mark.parametrize("given", ["on", "off"])
def test_half_a_timer_is_refused(given):
    with pytest.raises(PlanError, match="is missing beside it"):
        check_plan(edit.put(plan("greenhouse"), {f"pump.{given}": 60.0}))


@pytest.mark.parametrize(("bore", "state"), [(0.040, "good"), (0.010, "watch")])
def test_an_overflow_is_run_with_the_standpipe_blocked(bore, state):
    """The water over its mouth is that of a weir round its edge; too narrow, a bed runs over."""
    (siphon,) = plan("greenhouse").siphons
    fitted = replace(siphon, overflow=Overflow(bore, 0.46))
    changed = replace(plan("greenhouse"), siphons=(fitted,))
    levels = blocked(changed)
    over = (changed.pump.flow / (siphon.lip_weir * math.pi * bore)) ** (2.0 / 3.0)
    if state == "good":
        assert levels["chamber"] == pytest.approx(0.500 + 0.460 + over, abs=LEVEL)
    assert (max(levels[bed.name] - bed.rim for bed in changed.beds) < 0.0) == (state == "good")
    found, _ = told(changed)
    assert found["overflow"].state == state


def test_beds_stand_no_higher_than_an_open_end_of_the_delivery_and_a_valve_keeps_them():
    """The end lies at 0.85 m, under the flood: the open pipe takes down to it what stands over it."""
    under = edit.put(plan("greenhouse"), {"pump.delivery.outlet": 0.85})
    shut, open_, dry = (power_cut(run_plan(p, trace=False)) for p in (
        edit.put(under, {"pump.delivery.check_valve": "fitted"}), under, plan("greenhouse")))  # fmt: skip
    assert min(shut.stands[bed.name] for bed in under.beds) > 0.85
    assert open_.stands == pytest.approx({name: min(z, 0.85) for name, z in shut.stands.items()}, abs=1e-6)
    assert dry.stands == pytest.approx(shut.stands, abs=1e-6)
    assert open_.left == pytest.approx(shut.left, abs=1e-6)
    assert open_.comes_back - shut.comes_back == pytest.approx(pipe(under), rel=1e-6)


@pytest.mark.parametrize("name", ["greenhouse", "two-groups"])
def test_a_run_in_pieces_is_the_run_in_one(name):
    """Stopped while it fills, while its bell purges and while it drains, and run on from there."""
    run = run_plan(plan(name))
    packed, name = pack(run.plan), run.groups[0].name
    changes = [0.0]
    for before, after, t in zip(
        run.trace.regime[name], run.trace.regime[name][1:], run.trace.times[1:], strict=False
    ):
        changes += [t] if before != after else []
    begun = Standing(tuple(packed.start), (0,) * packed.siphons, tuple(packed.open), (0.0,) * packed.siphons)
    end = changes[5] + 1.0
    for regime, (since, until) in enumerate(itertools.pairwise(changes[:5])):
        first = 0.5 * (since + until)
        there, early, _ = phase(packed, begun, first, pump=True)
        assert there.regime[0] == regime
        then, late, _ = phase(packed, there, end - first, pump=True)
        whole, totals, _ = phase(packed, begun, end, pump=True)
        assert then.levels == pytest.approx(whole.levels, abs=2e-4), first
        assert then.regime == whole.regime, first
        assert early.pumped + late.pumped == pytest.approx(totals.pumped, rel=1e-6)
        assert early.drained + late.drained == pytest.approx(totals.drained, rel=2e-3)


def test_each_siphon_keeps_its_own_water():
    """Over a cycle that repeats, each passes what its share of the pump brings, and the whole loses none."""
    run = run_plan(edit.put(plan("two-groups"), {"bed.bed 1.inflow_share": 1.4}), trace=False)
    shares = {
        name: sum(b.inflow_share for b in run.plan.beds if run.node(b.name).group == name)
        for name in [g.name for g in run.groups]
    }
    for group in run.groups:
        share = shares[group.name] / sum(shares.values())
        assert group.inflow == pytest.approx(share * run.plan.pump.flow)
        assert group.pumped == pytest.approx(group.inflow * group.period, rel=1e-6)
        assert group.drained == pytest.approx(group.pumped, rel=1e-3)
    assert run.balance < 1e-9
    assert run.stored == pytest.approx(run.pumped - run.drained, abs=1e-9)


@pytest.mark.parametrize("name", ["greenhouse", "two-groups", "half-drums"])
def test_with_water_over_every_lip_the_sump_has_what_they_do_not_hold(name):
    """All of the water, less each vessel's up to where the inflow stands over its siphon's lip."""
    run, plan_ = run_plan(plan(name), trace=False), plan(name)
    cells = vessel_cells(plan_, plan_.sump)
    level = window_module._flooded_level(plan_, run)
    held = volume_at(cells, level) - volume_at(cells, run.sump_drained)
    for vessel in (*plan_.beds, *plan_.chambers):
        siphon = plan_.siphons[dict(order(plan_))[vessel.name]]
        inflow = inflow_part(plan_, siphon) * plan_.pump.flow
        top = spill_level(plan_, siphon, min(start_band(siphon).middle, inflow))
        own = vessel_cells(plan_, vessel)
        held += volume_at(own, top) - volume_at(own, start_level(plan_, vessel.name))
    assert held == pytest.approx(0.0, abs=1e-6)
