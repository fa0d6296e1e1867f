"""What a run comes to, worked out by hand: parts of a cycle, curves, shares, power cuts, timers, beliefs."""

import functools
import math
from dataclasses import replace

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.engine import state as e
from aquacalc.engine.packing import REPEAT, pack
from aquacalc.engine.runner import run_packed
from aquacalc.hydraulics.pump import lowest_pump_level
from aquacalc.hydraulics.starting import start_band
from aquacalc.plan import edit
from aquacalc.plan.read import plan_from_text, read_plan
from aquacalc.report.content import cycle_section
from aquacalc.report.sump_part import EVAPORATION, _evaporates
from aquacalc.results import cycle, pump_off, tables, window
from aquacalc.results.cycle import OUTCOMES, Trace, run_plan, unpack
from aquacalc.results.pump_off import Standing, _alike, _late, _Period, _period, _siphoned_back

pytestmark = pytest.mark.identity
TESTS = data_dir().parent / "tests" / "plans"


@functools.cache
def plan(name="one-bed"):
    folder = data_dir() / "plans" if (data_dir() / "plans" / f"{name}.toml").exists() else TESTS
    return read_plan(folder / f"{name}.toml")


@functools.cache
def piped():
    """One bed, its pump with a delivery pipe of 3 m that ends at 1.3 m, over the bed."""
    text = (data_dir() / "plans" / "one-bed.toml").read_text(encoding="utf-8")
    more = (
        '[pump.delivery]\nseries = "ASTM D1785 schedule 40"\nsize = "1 in"\nlength = "3 m"\n'
        'fittings = ["exit"]\noutlet = "1.3 m"\n'
    )
    return plan_from_text(text.replace("[limits]", f"{more}\n[limits]"))


@functools.cache
def ran(name="one-bed"):
    return run_plan(plan(name))


@functools.cache
def raw(name="one-bed"):
    packed = pack(plan(name))
    totals, cycles, _ = run_packed(packed, trace=False)
    return packed, totals, cycles


# A cycle


@pytest.mark.parametrize("code", list(OUTCOMES))
def test_a_cycle_is_cut_at_lip_choking_and_start(code):
    """From 10 s to 110 s, over the lip at 40, choked at 55, full at 60; 0.5 m3 in 100 s."""
    packed, totals, cycles = raw()
    totals = totals._replace(pumped=3.0, time=1000.0, balance=0.1, status=1)
    cycles = cycles._replace(
        outcome=[code], began=[10.0], ended=[110.0], spill_time=[40.0], choke_time=[55.0], start_time=[60.0],
        pumped=[0.5], flow_end=[3e-4], balance=[-0.3],
    )  # fmt: skip
    run = unpack(plan(), packed, totals, cycles)
    (group,) = run.groups
    times = group.period, group.fill_time, group.spill_time, group.priming_time, group.drain_time
    cycles_ = OUTCOMES[code] == "cycles"
    assert times == ((100.0, 30.0, 15.0, 5.0, 50.0) if cycles_ else (0.0,) * 5)
    assert group.inflow == (0.005 if cycles_ else pytest.approx(0.003))  # one siphon has all of the pump's
    assert group.flow_break == (3e-4 if cycles_ else 0.0)
    assert group.flow_steady == (3e-4 if OUTCOMES[code] in ("spills", "runs on") else 0.0)
    assert (group.balance, run.balance, run.settled) == (0.3, 0.3, False)
    assert run.pump == pytest.approx(0.003)
    assert run.one_cycle("siphon") == ((10.0, 110.0) if cycles_ else (0.0, 1000.0))
    assert unpack(plan(), packed, totals._replace(status=0, balance=0.5), cycles).balance == 0.5
    assert unpack(plan(), packed, totals._replace(status=0), cycles).settled


def test_a_siphon_that_does_not_cycle_has_its_beds_part_of_the_pump():
    packed, totals, cycles = raw("two-groups")
    idle = cycles._replace(outcome=[e.SPILLS] * 2)
    run = unpack(plan("two-groups"), packed, totals._replace(pumped=2.0, time=1000.0), idle)
    shares = [bed.inflow_share for bed in plan("two-groups").beds]
    for j, group in enumerate(run.groups):
        beds = [b.inflow_share for b in plan("two-groups").beds if run.node(b.name).group == group.name]
        assert group.inflow == pytest.approx(2e-3 * sum(beds) / sum(shares), rel=1e-12), j
    assert {n.name for n in run.nodes if n.junction} == {tee.name for tee in plan("two-groups").tees} != set()


def trace(times, levels, rates):
    return Trace(times, {"a": levels}, {"a": rates}, {}, {}, [])


def test_between_steps_a_level_is_a_cubic():
    """z = t^3 - 2 t^2 + 3 with its rate is a cubic: it comes back wherever it is asked for."""
    times = [0.0, 0.5, 2.0, 3.0]

    def z(t):
        return t**3 - 2.0 * t**2 + 3.0

    of = trace(times, [z(t) for t in times], [3.0 * t**2 - 4.0 * t for t in times])
    for t in (0.0, 0.2, 0.5, 0.9, 1.9, 2.0, 2.5, 3.0):
        assert of.level("a", t) == pytest.approx(z(t), abs=1e-12), t
    assert of.level("a", -1.0) == z(0.0)
    assert of.level("a", 4.0) == pytest.approx(z(3.0))
    tee = trace([0.0, 2.0, 2.0, 3.0], [1.0, 5.0, 7.0, 8.0], [0.0] * 4)
    assert [tee.level("a", t) for t in (0.5, 1.0, 1.99)] == pytest.approx([2.0, 3.0, 4.98])
    assert tee.level("a", 2.0) == 7.0  # a jump: what is after it
    still = trace([0.0, 2.0, 2.0], [1.0, 5.0, 7.0], [0.0, 1.0, 1.0])
    assert still.level("a", 2.5) == 5.0
    half = trace([0.0, 1.0], [0.0, 1.0], [0.0, 1.0])  # a rate at one end: no straight line
    assert half.level("a", 0.5) == pytest.approx(0.375)  # 3/4 of s^2 less s^3: 0.5 - 0.125


@pytest.mark.parametrize("name", ["series", "two-groups", "star"])
def test_a_run_carries_the_water_behind_it(name):
    """Bed by bed: whatever drains through a run is summed by following every vessel down to its siphon."""
    run, of = ran(name), plan(name)
    onward = {r.start: r.to for r in of.runs}
    behind = dict.fromkeys(onward, 0.0)
    for siphon in of.siphons:
        mine = {v: x for v, x in run.floods.items() if run.node(v).group == siphon.name}
        for vessel, volume in mine.items():
            share = volume / sum(mine.values())
            assert run.shares[vessel] == pytest.approx(share, rel=1e-12), vessel
            at = vessel
            while at in onward:
                behind[at] += share
                at = onward[at]
    assert run.drains == pytest.approx(behind, abs=1e-12)


def test_shares_of_no_flood_are_none():
    dry = replace(ran(), plan=replace(plan(), name="dry"))
    dry.__dict__["floods"] = dict.fromkeys(ran().floods, 0.0)
    assert dry.shares == dict.fromkeys(ran().floods, 0.0)


@pytest.mark.parametrize(
    ("outcome", "place", "changes"),
    [("spills", "low", True), ("spills", "below", False), ("spills", "middle", False),
     ("spills", "under", True),
     ("cycles", "low", False)],
)  # fmt: skip
def test_only_what_spills_inside_its_band_is_made_to_start(monkeypatch, outcome, place, changes):
    (siphon,) = plan().siphons
    band = start_band(siphon)
    flow = {"low": band.low, "below": band.low * (1.0 - 1e-9), "middle": band.middle,
            "under": band.middle * (1.0 - 1e-9)}[place]  # fmt: skip
    run = replace(ran(), groups=(replace(ran().groups[0], outcome=outcome, flow_steady=flow),))
    seen = []
    monkeypatch.setattr(cycle, "run_plan", lambda plan, trace: seen.append((plan, trace)) or "ran")
    assert cycle.if_started(run) == ("ran" if changes else None)
    if changes:
        ((made, traced),) = seen
        bore = siphon.standpipe.pipe.bore
        froude = flow / (math.pi / 4 * bore**2) / math.sqrt(9.80665 * bore)
        assert made.siphons[0].priming.froude == pytest.approx(0.97 * froude, rel=1e-9)
        assert made.siphons[0].priming.observed is None
        assert traced is False


@pytest.mark.parametrize(
    ("what", "value", "said"),
    [
        ("sump_low", math.nan, "the level in .* comes out as nan"),
        ("sump_low", -1.1e-6, "1.1e-06 m below its floor"), ("sump_low", -0.9e-6, ""),
        ("sump_high", math.inf, "not finite"), ("pump", math.nan, "not finite"),
        ("low", math.inf, "comes out as inf"), ("low", -0.5, "0.5 m below its floor"),
        ("high", math.nan, "finite"),
        ("period", math.inf, "finite"), ("inflow", math.nan, "finite"), ("flow_high", math.inf, "finite"),
        ("level", math.nan, "finite"), ("duration", math.nan, ""),
    ],
)  # fmt: skip
def test_what_cannot_be_is_not_believed(what, value, said):
    run = ran("star")
    if what in ("low", "high"):
        node = next(n for n in run.nodes if not n.junction)
        value = value + plan("star").vessel(node.name).floor
        run = replace(run, nodes=tuple(replace(n, **{what: value}) if n is node else n for n in run.nodes))
    elif hasattr(run.groups[0], what):
        run = replace(run, groups=(replace(run.groups[0], **{what: value}), *run.groups[1:]))
    else:
        value = value + plan("star").sump.floor if what == "sump_low" else value
        run = replace(run, **{what: value})
    if said:
        with pytest.raises(ArithmeticError, match=said):
            cycle._believe(run)
    else:
        cycle._believe(run)


def test_a_tee_has_no_floor():
    run = ran("two-groups")
    deep = tuple(replace(n, low=-50.0) if n.junction else n for n in run.nodes)
    cycle._believe(replace(run, nodes=deep))


def test_a_run_says_a_line_for_each_siphon_and_the_sump():
    run = ran("two-groups")
    said = tables.lines(run)
    assert [line.split(":")[0] for line in said] == [*(s.name for s in plan("two-groups").siphons), "sump"]
    for line in said[:2]:
        assert ": floods and drains every " in line
    stuck = replace(run, groups=(replace(run.groups[0], outcome="spills", period=0.0), run.groups[1]))
    assert tables.lines(stuck)[0].startswith(f"{run.groups[0].name}: spills without starting, at ")
    assert repr(run).splitlines() == [f"{plan('two-groups').name}:", *said]
    frame = run.frame()
    assert list(frame.index) == [node.name for node in run.nodes]
    for node in run.nodes:
        row = frame.loc[node.name]
        for key, name in (("low", "lowest"), ("at_start", "siphon starts"), ("at_break", "siphon breaks"),
                          ("high", "highest")):  # fmt: skip
            (column,) = (c for c in frame.columns if c.startswith(f"{name}, "))
            factor = {"mm": 1e3, "m": 1.0}[column.rpartition(" ")[2]]
            assert row[column] == pytest.approx(factor * getattr(node, key)), (node.name, name)
    assert run._repr_html_().startswith("".join(f"<p>{line}</p>" for line in said) + "<table")


# The window


def test_the_sump_goes_from_all_full_to_all_drained():
    """Between upright walls: what the beds hold at their fullest and emptiest is missing in the sump."""
    of, run = plan("two-groups"), ran("two-groups")
    levels = window.sump_range(of, run)
    area = (
        math.pi / 4 * of.sump.shape.diameter**2
        if of.sump.shape.kind == "round"
        else (of.sump.shape.length * of.sump.shape.width)
    )
    water = window.system_water(of, run)
    for level, held in ((levels.low, [g.volume_high for g in run.groups]),
                        (levels.high, [g.volume_low for g in run.groups])):  # fmt: skip
        assert area * (level - of.sump.floor) == pytest.approx(water - sum(held), abs=1e-6)
    assert levels.low < levels.high


def test_a_siphons_part_is_that_of_its_beds():
    of = edit.put(plan("two-groups"), {f"bed.{plan('two-groups').beds[0].name}.inflow_share": 3.0})
    mine = ran("two-groups").node(of.beds[0].name).group
    total = sum(bed.inflow_share for bed in of.beds)
    for siphon in of.siphons:
        beds = [b.inflow_share for b in of.beds if ran("two-groups").node(b.name).group == siphon.name]
        assert window.inflow_part(of, siphon) == pytest.approx(sum(beds) / total)
        assert (3.0 in beds) == (siphon.name == mine)


def test_the_pressure_at_the_lip_is_bernoullis():
    """p = p_a - rho g (z + (1 + K) v^2 / 2g), nothing flowing: p_a - rho g z."""
    (siphon,) = plan().siphons
    level = plan().lip_level(siphon) - 0.2
    still = window.crest(plan(), siphon, level, 0.0)
    assert (still.velocity, still.height) == (0.0, pytest.approx(0.2))
    assert still.pressure == pytest.approx(101325.0 - 998.2 * 9.80665 * 0.2, rel=1e-5)
    runs = window.crest(plan(), siphon, level, 5e-4)
    area = math.pi / 4 * siphon.standpipe.pipe.bore**2
    assert runs.velocity == pytest.approx(5e-4 / area)
    lost = (1.0 + runs.loss) * runs.velocity**2 / (2 * 9.80665)
    assert runs.pressure == pytest.approx(101325.0 - 998.2 * 9.80665 * (0.2 + lost), rel=1e-5)
    assert runs.loss > still.loss > 0.0


# The pump off


def test_an_open_pipe_takes_down_to_its_end_what_stands_over_it():
    """Bed of 1.4 by 0.8 m with porosity: what stands over the mouth comes back into the sump."""
    of = edit.put(piped(), {"pump.delivery.outlet": 0.85})
    (bed,) = of.beds
    named = [n for n, _ in pump_off.order(of)]
    levels = [0.90 if n == bed.name else 0.80 for n in named]
    sump = of.sump.floor + 0.1
    at = Standing((*levels, sump), (e.SPILLING,), (1,), (0.0,))
    after = _siphoned_back(of, at)
    assert after.levels[named.index(bed.name)] == 0.85
    assert after.levels[named.index("chamber")] == 0.80
    assert (after.regime, after.open, after.purged) == (at.regime, at.open, at.purged)
    area = math.pi / 4 * of.sump.shape.diameter**2
    back = 1.4 * 0.8 * bed.media.porosity * 0.05
    assert area * (after.levels[-1] - sump) == pytest.approx(back, rel=0.02)  # of the pipes in the media
    low = Standing((*[0.84 for _ in named], sump), (e.SPILLING,), (1,), (0.0,))
    assert _siphoned_back(of, low) is low
    valve = edit.put(of, {"pump.delivery.check_valve": "fitted"})
    assert _siphoned_back(valve, at) is at
    assert pump_off.pipe_water(valve) == 0.0
    pipe = of.pump.delivery
    assert pump_off.pipe_water(of) == pytest.approx(math.pi / 4 * pipe.pipe.bore**2 * pipe.length)
    assert pump_off.pipe_water(replace(of, pump=replace(of.pump, delivery=None))) == 0.0


def test_the_pipe_fills_before_anything_comes_out_of_it():
    of = piped()
    assert pump_off.fills_pipe(of) == pytest.approx(pump_off.pipe_water(of) / of.pump.flow)
    assert pump_off.fills_pipe(edit.put(of, {"pump.flow": 0.0})) == 0.0


def standing(level, regime=e.FILLING):
    return Standing((level, level, 0.1), (regime,), (0,), (0.0,))


def test_states_are_alike_whose_levels_differ_by_less_than_counts():
    at = standing(0.5)
    near = Standing((0.5, 0.5 - 0.9 * REPEAT, 0.1), at.regime, at.open, at.purged)
    off = Standing((0.5, 0.5 - 1.1 * REPEAT, 0.1), at.regime, at.open, at.purged)
    assert _alike(at, near)
    assert not _alike(at, off)
    assert not _alike(at, standing(0.5, e.SIPHONING))


def period(breaks, starting, off, on, low, high, pumped):
    return _Period((breaks,), (starting,), (off, off, 0.0), (on, on, 0.0), low, high, pumped)


def timed(on=600.0, off=1200.0):
    return edit.put(piped(), {"pump.on": on, "pump.off": off})


def run_timer(monkeypatch, of, script, late=False):
    """Run `timer` on periods that are given instead of worked out."""
    made = iter(script)
    monkeypatch.setattr(pump_off, "_period", lambda plan, packed, at: next(made))
    return pump_off.timer.__wrapped__(of, late)


def test_a_timers_numbers_are_those_of_the_periods_that_repeat(monkeypatch):
    """Three periods, the third ending like the first: the last two repeat, in 2 * 30 min."""
    of = timed()
    one = period(1, True, 0.90, 0.80, 0.05, 0.30, 0.010)
    two = period(0, True, 0.92, 0.78, 0.04, 0.31, 0.020)
    three = period(3, False, 0.91, 0.79, 0.06, 0.29, 0.015)
    of_bed = of.beds[0].name
    found = run_timer(monkeypatch, of, [(standing(0.8), one), (standing(0.7), two), (standing(0.8), three)])
    assert (found.periods, found.tried, found.repeats) == (2, 3, True)
    assert found.floods == {"siphon": pytest.approx(3.0 / 3600.0)}
    assert found.first == {"siphon": 1}
    assert found.cut_short == {"siphon": 1}
    assert (found.at_off, found.at_on) == ({of_bed: (0.91, 0.92)}, {of_bed: (0.78, 0.79)})
    assert found.sump_low == 0.04
    assert found.pumped == 0.020
    assert found.runs_back == pump_off.pipe_water(of)
    area = math.pi / 4 * of.sump.shape.diameter**2
    assert found.sump_high == pytest.approx(0.31 + found.runs_back / area, rel=1e-6)
    # water at the end less that at the start, over all that was pumped
    packed = pack(of)
    start = Standing(tuple(packed.start), (0,), (0,), (0.0,))
    cells = pump_off.vessel_cells(of, of.sump)

    def held(at):
        return pump_off._held(of, at.levels) + pump_off.volume_at(cells, at.levels[-1])

    assert found.balance == pytest.approx(abs(held(standing(0.8)) - held(start)) / 0.045)


def test_a_timer_that_repeats_at_once_or_never(monkeypatch):
    of = timed()
    packed = pack(of)
    same = Standing(tuple(packed.start), (0,), (0,), (0.0,))
    idle = period(0, False, 0.9, 0.8, 0.05, 0.3, 0.0)
    found = run_timer(monkeypatch, of, [(same, idle)])
    assert (found.periods, found.repeats, found.first, found.balance) == (1, True, {"siphon": 0}, 0.0)
    rising = [
        (standing(0.7 + 1e-3 * k), period(k == 40, False, 0.9, 0.8, 0.05, 0.3, 0.01)) for k in range(60)
    ]
    found = run_timer(monkeypatch, of, rising)
    assert (found.periods, found.repeats, found.tried) == (60, False, 60)
    assert found.first == {"siphon": 41}
    assert found.floods["siphon"] == pytest.approx(1.0 / (60 * 1800.0))
    assert pump_off.timer.__wrapped__(plan()) is None


def test_water_lost_with_nothing_pumped_is_said_as_it_is(monkeypatch):
    of = timed()
    start = Standing(tuple(pack(of).start), (0,), (0,), (0.0,))
    less = Standing((*start.levels[:-1], start.levels[-1] - 0.01), (0,), (0,), (0.0,))
    found = run_timer(monkeypatch, of, [(less, period(0, False, 0.9, 0.8, 0.05, 0.3, 0.0)),
                                        (less, period(0, False, 0.9, 0.8, 0.05, 0.3, 0.0))])  # fmt: skip
    assert found.balance == pytest.approx(0.01 * math.pi / 4 * of.sump.shape.diameter**2, rel=1e-6)


def test_a_period_is_one_time_on_less_the_filling_of_the_pipe_and_one_off(monkeypatch):
    of = edit.put(timed(), {"pump.delivery.check_valve": "fitted"})
    packed, asked = pack(of), []
    script = {True: (standing(0.9, e.SPILLING), 0.02, 0.25, 0.012, [1]),
              False: (standing(0.8, e.FILLING), 0.03, 0.28, 0.0, [2])}  # fmt: skip

    def phase(packed, at, seconds, pump):
        asked.append((at, seconds, pump))
        after, low, high, pumped, breaks = script[pump]
        totals = e.Totals(**{**dict.fromkeys(e.Totals._fields, 0.0), "sump_low": low, "sump_high": high,
                             "pumped": pumped})  # fmt: skip
        return after, totals, raw()[2]._replace(breaks=breaks)

    monkeypatch.setattr(pump_off, "phase", phase)
    start = standing(0.7)
    after, found = _period(of, packed, start)
    assert asked == [(start, 600.0, True), (script[True][0], 1200.0, False)]
    assert after == script[False][0]
    assert found == _Period((3,), (True,), script[True][0].levels, script[False][0].levels, 0.02, 0.28, 0.012)
    asked.clear()
    open_ = timed()
    late = pump_off.fills_pipe(open_)
    assert late > 0.0
    _period(open_, packed, start)
    assert asked[0][1] == pytest.approx(600.0 - late)
    asked.clear()
    _, found = _period(timed(on=0.5 * late), packed, start)  # it stops before anything comes out
    assert [(seconds, pump) for _, seconds, pump in asked] == [(1200.0, False)]
    assert found.breaks == (2,)
    assert found.starting == (False,)
    assert (found.sump_low, found.sump_high) == (0.03, 0.28)
    low = Standing((0.7, 0.7, 0.01), (e.PURGING,), (0,), (0.0,))
    script[True] = (replace(low, levels=(0.7, 0.7, 0.5)), 0.02, 0.25, 0.012, [0])
    _, found = _period(of, packed, low)
    assert found.starting == (True,)
    assert found.sump_low == 0.01  # where it began


def test_what_runs_back_may_lift_the_sump_highest_of_all(monkeypatch):
    of = timed()
    back = Standing((0.7, 0.7, 0.6), (e.FILLING,), (0,), (0.0,))
    monkeypatch.setattr(pump_off, "_siphoned_back", lambda plan, at: back)
    after, found = _period(of, pack(of), Standing(tuple(pack(of).start), (0,), (0,), (0.0,)))
    assert after is back
    assert (found.sump_high, found.at_on) == (0.6, back.levels)


def test_the_latest_start_is_counted_from_the_switching_on(monkeypatch):
    """Began at 100 s in the run; the pipe fills first, which takes its own time."""
    of, cycles = piped(), raw()[2]
    fills = pump_off.fills_pipe(of)
    for outcome, goes in ((e.CYCLES, True), (e.RUNS_ON, True), (e.SPILLS, False), (e.IDLE, False)):
        made = cycles._replace(outcome=[outcome], began=[100.0], spill_time=[400.0], start_time=[500.0])
        monkeypatch.setattr(pump_off, "run_packed", lambda packed, trace, made=made: (None, made, None))
        found = pump_off.latest_start.__wrapped__(of)["siphon"]
        assert found == (pytest.approx((300.0 + fills, 400.0 + fills)) if goes else (0.0, 0.0)), outcome


@pytest.mark.parametrize(
    ("part", "takes"), [(0.3, "middle"), (0.9, "inflow"), (1.2, "high")]
)  # of the end of the band
def test_a_late_start_is_at_the_end_of_the_band_or_at_most_of_the_inflow(monkeypatch, part, takes):
    (siphon,) = plan().siphons
    band = start_band(siphon)
    of = edit.put(plan(), {"pump.flow": part * band.high / pump_off.LATEST})
    flow = {"middle": band.middle, "inflow": part * band.high, "high": band.high}[takes]
    late = _late(of, pack(of))
    assert late.start_level == [pytest.approx(pump_off.spill_level(of, siphon, flow), abs=1e-9)]
    quick, usual, slow = pump_off.purge(siphon)
    assert late.purge == [pytest.approx(slow * pump_off.choke(siphon))]
    assert quick < usual < slow


def test_beds_that_flood_by_the_pump_alone_stand_where_they_are():
    """A plan that spills keeps its water over the lip when the pump stops, all but what trickles off."""
    run = ran("spills-without-starting")
    cut = pump_off.power_cut(run)
    (siphon,) = run.plan.siphons
    lip = run.plan.lip_level(siphon)
    for bed in run.plan.beds:
        assert cut.stands[bed.name] == pytest.approx(max(lip, bed.outlet_invert), abs=1e-3)
        assert cut.left[bed.name] == pytest.approx(lip, abs=2e-3)
    assert cut.held > 0.0
    assert cut.sump < run.plan.sump.rim


# The report


def test_the_water_over_the_intake_evaporates_from_sump_and_beds():
    """At 2 mm a day over all open water; nothing is said where nothing stands over the intake."""
    of = plan()
    guard = lowest_pump_level(of)
    assert _evaporates(of, guard) == ()
    assert _evaporates(of, guard - 0.01) == ()
    (row,) = _evaporates(of, guard + 0.1)
    sump = math.pi / 4 * of.sump.shape.diameter**2
    days = 86400.0 * 0.1 * sump / (0.002 * (sump + 1.4 * 0.8))
    assert row.value == pytest.approx(days, rel=1e-6)
    assert (row.low, row.high) == (pytest.approx(days / 2.0), pytest.approx(2.0 * days))
    assert EVAPORATION[1] * 86400.0 == pytest.approx(0.002)


@pytest.mark.parametrize(
    ("outcome", "base"), [("spills", "lip"), ("runs on", "rim"), ("cycles", ""), ("unsettled", "")]
)
def test_where_nothing_cycles_the_level_is_said_over_lip_or_rim(outcome, base):
    group = replace(ran().groups[0], outcome=outcome, level=0.9, lip=0.8, rim=0.6)
    rows = {row.key: row for row in cycle_section(group, False).rows}
    assert ("above" in rows) == bool(base)
    if base:
        assert rows["above"].value == pytest.approx({"lip": 0.1, "rim": 0.3}[base])
    assert ("period" in rows) == (outcome == "cycles")
    if outcome == "cycles":
        assert rows["floods"].value == pytest.approx(1.0 / group.period)
        assert rows["flood"].value == pytest.approx(group.volume_high - group.volume_low)
        slow = replace(group, inflow=group.drained / group.drain_time)
        assert "by_hand" in rows
        assert "by_hand" not in {row.key for row in cycle_section(slow, False).rows}
