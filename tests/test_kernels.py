"""Each kernel by itself, on states made by hand: what a whole run passes by, or mends without a word."""

import functools
import math
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.optimize import brentq

from aquacalc.catalogue import data_dir
from aquacalc.engine import compiled, events, junctions, pipe_flow, rates, runner, solve, step, tables
from aquacalc.engine import run as engine
from aquacalc.engine.packing import joined, mouth_table, pack
from aquacalc.engine.state import (
    CYCLES,
    FILLING,
    IDLE,
    MOUTH_FULL,
    MOUTH_LOG_FIRST,
    NEVER,
    PUMP_POINTS,
    PURGING,
    RUNS_ON,
    SIPHONING,
    SPILLING,
    SPILLS,
    TABLE_FIRST,
    TABLE_LOG_FIRST,
    TABLE_LOG_STEP,
    TABLE_POINTS,
    UNSETTLED,
    Totals,
    blank,
    entries,
)
from aquacalc.hydraulics import starting
from aquacalc.hydraulics.cells import Cells, level_of, volume_of
from aquacalc.hydraulics.duty import PUMP_GUARD_BAND, curve_head, duty_flow
from aquacalc.hydraulics.levels import volume_at
from aquacalc.hydraulics.path_flow import path_flow, path_loss
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan import plan_from_text
from aquacalc.plan.network import order
from aquacalc.plan.read import read_plan
from tests.pairs.demo_edits import edited

pytestmark = pytest.mark.identity
G = 9.80665


@functools.cache
def packed(name):
    folder = data_dir() / "plans" if name == "greenhouse" else data_dir().parent / "tests" / "plans"
    return pack(read_plan(folder / f"{name}.toml"))


def begun(plan, rows=0):
    """A state at the start of a run."""
    state, cycles, trace = blank(plan, rows)
    engine.prepare(plan, state)
    return state, cycles, trace


def one(**more):
    """A plan of one chamber that a siphon drains, a bed and a tee that run to it, for kernels of events."""
    given = {
        "nodes": 3, "siphons": 1, "root": [2], "siphon": [0, 0, 0], "junction": [0, 1, 0],
        "share": [0.75, 0.0, 0.25],
        "lip": [0.9], "start_level": [0.92], "purge": [0.004], "rim": [0.5], "tail": [0.3], "opens": [0.6],
        "fills": [1], "fills_drowned": [0], "repeat": 1e-4,
    }  # fmt: skip
    return SimpleNamespace(**given | more)


def state_of(**more):
    """Its state: volumes of three nodes, sump, out of the siphon and pumped."""
    names = {"level": 4, "low": 4, "high": 4, "at_break": 4, "at_start": 4, "flow": 4, "rate": 6, "gain": 4}
    by_siphon = (
        "regime", "open", "done", "breaks", "out_choke", "spill_time", "choke_time", "start_time",
        "break_time", "flow_start", "flow_high", "volume_low", "volume_high", "volume_break", "out_break",
        "pumped_break",
    )  # fmt: skip
    given = {name: [0.0] * count for name, count in names.items()} | {name: [0] for name in by_siphon}
    return SimpleNamespace(**given | {"volume": [0.010, 0.8, 0.020, 0.3, 0.050, 0.100]} | more)


def kept():
    by_node = dict.fromkeys(("low", "high", "at_break", "at_start"), 3)
    by_siphon = (
        "outcome", "began", "spill_time", "choke_time", "start_time", "ended", "flow_start", "flow_high",
        "flow_end",
        "misfit", "volume_low", "volume_high", "level", "breaks", "pumped", "drained", "balance",
    )  # fmt: skip
    sizes = by_node | dict.fromkeys(by_siphon, 1)
    return SimpleNamespace(**{name: [None] * count for name, count in sizes.items()})


@pytest.mark.parametrize(
    ("regime", "open_", "sump", "wanted"),
    [
        (FILLING, 0, 0.2, 0.55 - 0.9),
        (SPILLING, 0, 0.2, 0.55 - 0.92),
        (PURGING, 0, 0.2, 0.050 - 0.047 - 0.004),
        (SIPHONING, 0, 0.2, 0.6 - 0.55),  # its end free, the tail opens above the rim
        (SIPHONING, 0, 0.3, 0.6 - 0.55),  # water just at the end does not keep the air out
        (SIPHONING, 0, 0.31, 0.5 - 0.55),
        (SIPHONING, 1, 0.2, 0.5 - 0.55),
    ],
)
def test_how_far_a_siphon_is_past_its_next_event(regime, open_, sump, wanted):
    state = state_of(level=[0.0, 0.0, 0.55, sump], regime=[regime], open=[open_], out_choke=[0.047])
    assert events.miss(one(), state, state.volume, 0) == pytest.approx(wanted, abs=1e-12)
    below = one(opens=[0.4])  # a tail that would open below the rim does nothing: the rim is bare first
    if regime == SIPHONING:
        assert events.miss(below, state, state.volume, 0) == pytest.approx(0.5 - 0.55)


def test_lows_and_highs_are_those_since_the_last_break():
    state = state_of(
        level=[0.5, 0.6, 0.7, 0.1], low=[0.4, 0.7, 0.7, 0.2], high=[0.5, 0.55, 0.8, 0.2], regime=[SIPHONING],
        flow=[0.0, 0.0, 3e-4, 9e-4], flow_high=[2e-4], volume_low=[0.029], volume_high=[0.029],
    )  # fmt: skip
    events.watch(one(), state)
    assert state.low == [0.4, 0.6, 0.7, 0.1]
    assert state.high == [0.5, 0.6, 0.8, 0.2]
    assert (state.volume_low, state.volume_high) == ([0.029], [pytest.approx(0.030)])  # a tee holds nothing
    assert state.flow_high == [3e-4]
    state.volume[0], state.flow[2] = 0.005, 1e-4
    events.watch(one(), state)
    assert (state.volume_low, state.flow_high) == ([pytest.approx(0.025)], [3e-4])
    state.regime, state.flow = [SPILLING], [0.0, 0.0, 5e-4, 0.0]
    events.watch(one(), state)
    assert state.flow_high == [3e-4]  # what runs over the lip is no siphon's flow


def test_a_break_closes_the_cycle_and_says_what_came_went_and_stayed():
    """All of 0.100 m3 pumped goes to these beds: 0.060 came, 0.038 went, 0.021 stayed; 0.001 is lost."""
    state = state_of(
        level=[0.71, 0.6, 0.5, 0.1], at_break=[0.7103, 0.1, 0.49995, 0.0], low=[0.7, 0.6, 0.5, 0.0],
        high=[0.95, 0.9, 0.93, 0.2], at_start=[0.94, 0.8, 0.92, 0.1], regime=[SIPHONING],
        flow=[1e-4, 1e-4, 2e-4, 3e-4],
        breaks=[1], out_break=[0.012], pumped_break=[0.040], volume_break=[0.009], volume_low=[0.008],
        volume_high=[0.12], flow_high=[5e-4], flow_start=[4e-4], spill_time=[20.0], choke_time=[30.0],
        start_time=[40.0], break_time=[10.0],
    )  # fmt: skip
    cycles = kept()
    events.on_break(one(), state, cycles, 0, 75.0)
    assert (cycles.pumped[0], cycles.drained[0]) == pytest.approx((0.060, 0.038))
    assert cycles.balance[0] == pytest.approx((0.060 - 0.038 - (0.030 - 0.009)) / 0.060)
    assert cycles.misfit == [pytest.approx(3e-4)]  # of the bed; the tee's 0.5 m do not count
    assert (cycles.low, cycles.high, cycles.at_start) == (
        [0.7, 0.6, 0.5],
        [0.95, 0.9, 0.93],
        [0.94, 0.8, 0.92],
    )
    assert cycles.at_break == [0.71, 0.6, 0.5] == state.at_break[:3] == state.low[:3] == state.high[:3]
    told = (
        cycles.outcome, cycles.began, cycles.spill_time, cycles.choke_time, cycles.start_time, cycles.ended,
        cycles.breaks, cycles.level, cycles.flow_start, cycles.flow_high, cycles.flow_end,
    )  # fmt: skip
    assert [x[0] for x in told] == [CYCLES, 10.0, 20.0, 30.0, 40.0, 75.0, 2, 0.5, 4e-4, 5e-4, 2e-4]
    assert (cycles.volume_low, cycles.volume_high) == ([0.008], [0.12])
    assert state.done == [0]  # 0.3 mm is no repeat
    assert (state.regime, state.flow_high, state.break_time) == ([FILLING], [0.0], [75.0])
    assert (state.out_break, state.pumped_break) == ([0.050], [pytest.approx(0.100)])
    assert state.volume_break == state.volume_low == state.volume_high == [pytest.approx(0.030)]


@pytest.mark.parametrize(("breaks", "moved", "done"), [(1, 0.9e-4, 1), (1, 1.1e-4, 0), (0, 0.0, 0)])
def test_a_cycle_repeats_from_the_second_break_on(breaks, moved, done):
    level = [0.71, 0.6, 0.5, 0.1]
    state = state_of(level=level, at_break=[0.71 - moved, 0.0, 0.5, 0.0], breaks=[breaks])
    events.on_break(one(), state, kept(), 0, 75.0)
    assert (state.done, state.breaks) == ([done], [breaks + 1])


def test_a_siphon_that_waits_for_another_keeps_the_cycle_that_repeated():
    state, cycles = state_of(done=[1], breaks=[3], regime=[SIPHONING]), kept()
    events.on_break(one(), state, cycles, 0, 75.0)
    assert (cycles.outcome, state.done, state.breaks, state.regime) == ([None], [1], [4], [FILLING])
    dry, cycles = state_of(volume=[0.010, 0.8, 0.020, 0.3, 0.050, 0.0]), kept()
    events.on_break(one(), dry, cycles, 0, 75.0)
    assert cycles.balance == [None]  # nothing came that could be a share


def test_only_the_beds_of_a_siphon_count_for_it():
    two = one(siphons=2, root=[2, 0], siphon=[1, 0, 0])
    state, cycles = state_of(volume=[0.010, 0.8, 0.020, 0.3, 0.050, 0.060, 0.100]), kept()
    for record in (state, cycles):
        for name, value in vars(record).items():
            if len(value) == 1:
                setattr(record, name, value * 2)
    assert (events.water_held(two, state, 0), events.water_held(two, state, 1)) == (0.020, 0.010)
    events.on_break(two, state, cycles, 1, 75.0)
    assert (cycles.pumped[1], cycles.drained[1]) == pytest.approx((0.075, 0.060))
    assert cycles.balance[1] == pytest.approx((0.075 - 0.060 - 0.010) / 0.075)
    assert (cycles.low[0], cycles.low[2], cycles.pumped[0]) == (0.0, None, None)
    assert (state.out_break, state.pumped_break) == ([0, 0.060], [0, pytest.approx(0.075)])
    state.regime[1] = SPILLING
    events.on_event(two, state, cycles, 1, 80.0)
    assert (state.out_choke, state.choke_time) == ([0, 0.060], [0, 80.0])
    state.out_choke[1], two.purge, two.lip = 0.057, [0.004, 0.005], [0.9, 0.8]
    assert events.miss(two, state, state.volume, 1) == pytest.approx(0.060 - 0.057 - 0.005)
    state.level[0], state.regime[1] = 0.7, FILLING
    assert events.miss(two, state, state.volume, 1) == pytest.approx(0.7 - 0.8)


@pytest.mark.parametrize(
    ("regime", "moves", "purging", "outcome"),
    [
        (FILLING, 0.9e-7, False, IDLE),
        (SPILLING, 0.9e-7, False, SPILLS),
        (SIPHONING, -0.9e-7, False, RUNS_ON),
        (SPILLING, 1.1e-7, False, None),
        (SPILLING, -1.1e-7, False, None),
        (PURGING, 0.0, True, None),
    ],
)
def test_what_no_longer_moves_has_settled(regime, moves, purging, outcome):
    """Less than 1e-7 m/s; a tee's head may move, and air that leaves is no rest."""
    state, cycles = (
        state_of(rate=[moves / 2.0, 1.0, 0.0, 0.0], gain=[2.0, 1.0, 2.0, 1.0], regime=[regime]),
        kept(),
    )
    done = events.settle(one(), state, cycles, 99.0)
    assert done == (outcome is not None)
    assert (cycles.outcome, state.done) == ([outcome], [int(done)])
    assert events.settle(one(), state_of(done=[1], rate=[1.0] * 6, gain=[1.0] * 4), cycles, 99.0)


def test_each_event_leads_to_the_next_regime(monkeypatch):
    monkeypatch.setattr(events, "set_flows", lambda *_: None)
    state, cycles = state_of(level=[0.94, 0.8, 0.93, 0.2], flow=[0.0, 0.0, 6e-4, 0.0], breaks=[0]), kept()
    plan = one()
    events.on_event(plan, state, cycles, 0, 1.0)
    assert (state.regime, state.spill_time) == ([SPILLING], [1.0])
    events.on_event(plan, state, cycles, 0, 2.0)
    assert (state.regime, state.choke_time, state.out_choke) == ([PURGING], [2.0], [0.050])
    events.on_event(plan, state, cycles, 0, 3.0)
    assert (state.regime, state.start_time, state.flow_start) == ([SIPHONING], [3.0], [6e-4])
    assert (state.open, state.at_start[:3]) == ([0], [0.94, 0.8, 0.93])
    events.on_event(plan, state, cycles, 0, 4.0)  # over the rim: air comes up the tail
    assert (state.regime, state.open) == ([SIPHONING], [1])
    state.level[2] = 0.5 + 0.5 * events.LOCATED
    events.on_event(plan, state, cycles, 0, 5.0)
    assert (state.regime, state.breaks, cycles.ended) == ([FILLING], [1], [5.0])


@pytest.mark.parametrize(("sump", "open_"), [(0.29, 0), (0.30, 0), (0.31, 1)])
def test_a_tail_may_fill_only_while_its_end_is_free(monkeypatch, sump, open_):
    monkeypatch.setattr(events, "set_flows", lambda *_: None)
    state = state_of(level=[0.94, 0.8, 0.93, sump], regime=[PURGING])
    events.on_event(one(), state, kept(), 0, 3.0)
    assert state.open == [open_]


def test_a_run_goes_on_with_what_had_gone_over_the_lip():
    """Of the water that takes the air out 1 L had gone: 1 L less is left until the siphon runs."""
    plan = packed("greenhouse")
    going = plan._replace(regime=[PURGING], purged=[0.001])
    state, *_ = begun(going)
    assert state.volume[going.nodes + 1] == 0.0
    assert events.miss(going, state, state.volume, 0) == pytest.approx(0.001 - plan.purge[0])


def times_of(plan):
    state, cycles, trace = blank(plan, 40)
    totals = Totals(*engine.run(plan, state, cycles, trace))
    return totals, state, cycles, trace


def test_a_run_that_is_out_of_time_or_steps_says_so(monkeypatch):
    plan = packed("greenhouse")._replace(time_max=40.0)
    totals, state, cycles, trace = times_of(plan)
    assert (totals.status, totals.time) == (1, pytest.approx(40.0))
    assert cycles.outcome[0] == UNSETTLED
    assert cycles.ended[0] == totals.time
    assert totals.rows == min(40, totals.steps)  # one row a step while nothing happens
    assert trace.times[totals.rows - 1] == pytest.approx(totals.time)
    assert totals.pumped == pytest.approx(40.0 * plan.pump_flow)
    # What the beds and the chamber gained is what was pumped, and what the sump lost.
    assert totals.stored == pytest.approx(totals.pumped, rel=1e-9)
    assert totals.drained == cycles.purged[0] == 0.0
    assert totals.balance < 1e-9
    assert list(cycles.last[: plan.nodes + 1]) == list(state.level[: plan.nodes + 1])
    assert totals.sump_low < totals.sump_high <= plan.start[plan.nodes]
    monkeypatch.setattr(engine, "STEPS_MAX", 5)
    few = times_of(plan)[0]
    assert (few.status, few.steps + few.rejected) == (2, 6)


def test_a_run_without_water_has_nothing_to_hold_a_loss_against():
    plan = packed("greenhouse")._replace(pump_flow=0.0)
    totals, _, cycles, _ = times_of(plan)
    assert (totals.pumped, totals.drained, cycles.outcome[0]) == (0.0, 0.0, IDLE)
    assert totals.balance == pytest.approx(0.0, abs=1e-12)


def test_a_row_of_the_trace_is_what_was_last_set():
    plan = packed("two-groups")
    state, _, trace = begun(plan, 2)
    rates.set_flows(plan, state, state.volume)
    n, tee = plan.nodes, plan.junction.index(1)
    state.regime[1] = SPILLING
    assert [engine.record(plan, state, trace, row, t) for row, t in ((0, 7.0), (1, 8.0), (2, 9.0))] == [
        1,
        2,
        2,
    ]
    assert trace.times == [7.0, 8.0]
    assert trace.pumps == [plan.pump_flow] * 2
    assert trace.levels[: n + 1] == trace.levels[n + 1 :] == state.level[: n + 1]
    assert trace.rates[n] == pytest.approx(-plan.pump_flow / (math.pi * 1.1**2 / 4))  # the sump falls
    assert trace.rates[tee] == 0.0
    assert trace.regimes == [FILLING, SPILLING] * 2
    assert trace.outflows[:2] == [state.flow[root] for root in plan.root]


def test_room_for_each_field():
    plan = SimpleNamespace(nodes=5, siphons=2)
    wanted = {
        "log_flow": TABLE_POINTS * 9, "log_slope": TABLE_POINTS * 9, "pump_table": PUMP_POINTS, "times": 4,
        "pumps": 4,
        "levels": 24, "rates": 24, "outflows": 8, "regimes": 8, "volume": 9,
    }  # fmt: skip
    assert {name: entries(name, plan, 4) for name in wanted} == wanted


def test_records_of_lists_are_joined_in_order():
    a, b = Cells(*[[1.0]] * 6), Cells(*[[2.0, 3.0]] * 6)
    whole, first, end = joined(Cells, [a, None, b])
    assert (whole.z0, first, end) == ([1.0, 2.0, 3.0], [0, 1, 1], [1, 1, 3])


# One cell of a cone of 0.4 m2 at its foot and 0.9 m2 at 0.5 m, and one of upright walls over it.
CONE = Cells(
    [1.0, 1.5], [1.5, 1.7], [0.0, 0.5 * (0.4 + 0.6 + 0.9) / 3], [0.5 * 1.9 / 3, 0.5 * 1.9 / 3 + 0.18],
    [0.4, 0.9], [0.9, 0.9],
)  # fmt: skip


@pytest.mark.parametrize("z", [0.9, 1.0, 1.1, 1.3, 1.5, 1.6, 1.7, 1.9])
@pytest.mark.parametrize("cell", [0, 1])
def test_level_and_volume_of_a_cone(z, cell):
    """Area of a cone of (sqrt 0.4 + (sqrt 0.9 - sqrt 0.4) s)^2; below and above it the end's area goes on."""
    s = min(max((z - 1.0) / 0.5, 0.0), 1.0)
    side = math.sqrt(0.4) + (math.sqrt(0.9) - math.sqrt(0.4)) * s
    volume = 0.5 * s * (0.4 + math.sqrt(0.4) * side + side**2) / 3
    volume += 0.9 * max(z - 1.5, 0.0) + 0.4 * min(z - 1.0, 0.0)
    assert volume_of(CONE, 0, 1, z) == pytest.approx(volume, rel=1e-12)
    level, area, k = level_of(CONE, 0, 1, volume, cell)
    assert (level, area) == pytest.approx((z, side**2), rel=1e-9)
    assert k == (1 if z > 1.5 else 0) or z == 1.5
    # Asked for the first cell alone, what is above it stands on the area of its upper end.
    assert volume_of(CONE, 0, 0, 1.6) == pytest.approx(CONE.V1[0] + 0.9 * 0.1)
    assert level_of(CONE, 1, 1, 0.2, 1)[0] == pytest.approx(1.5 + (0.2 - CONE.V0[1]) / 0.9)


def slope_of(flow, at, step=1e-7):
    return (flow(at + step) - flow(at - step)) / (2 * step)


@pytest.mark.parametrize("depth", [0.004, 0.0149, 0.0151, 0.05])
def test_flow_over_a_lip_and_its_slope(depth):
    """1.71 pi D h^1.5 up to where 0.6 A sqrt(2 g h) is less: at 0.6 sqrt(2 g) / (4 x 1.71) of 40 mm."""
    D, C_w, C_d = 0.04, 1.71, 0.6
    crossing = C_d * math.sqrt(2 * G) / (4 * C_w) * D
    assert 0.0149 < crossing < 0.0156
    weir, orifice = C_w * math.pi * D * depth**1.5, C_d * math.pi / 4 * D**2 * math.sqrt(2 * G * depth)
    flow, slope = pipe_flow.lip_flow_slope(C_w, C_d, D, depth, G)
    assert flow == pytest.approx(min(weir, orifice), rel=1e-12)
    assert slope == pytest.approx(
        slope_of(lambda h: pipe_flow.lip_flow_slope(C_w, C_d, D, h, G)[0], depth), rel=1e-6
    )
    assert pipe_flow.lip_flow_slope(C_w, C_d, D, -0.01, G) == (0.0, 0.0)


@pytest.mark.parametrize("table", [0, 1])
def test_a_mouth_below_and_above_its_table(table):
    """Under exp(-6) bores as a power of the level; over one bore it opens with the sixth power."""
    plan, D = packed("side-outlets"), 0.05
    lowest = math.exp(MOUTH_LOG_FIRST) * D
    flow = lambda level: pipe_flow.mouth_flow(plan, table, D, level)[0]  # noqa: E731
    for level in (0.4 * lowest, 0.9 * lowest, 0.3 * D, 0.99 * D, 1.01 * D, 1.3 * D):
        slope = pipe_flow.mouth_flow(plan, table, D, level)[1]
        assert slope == pytest.approx(slope_of(flow, level, 1e-5 * level), rel=1e-4), level
    for join in (lowest, D):
        assert flow(join * (1 - 1e-9)) == pytest.approx(flow(join * (1 + 1e-9)), rel=1e-7)
    # Between nothing and its first point a shallow mouth takes nearly the square of the level.
    power = math.log(flow(0.9 * lowest) / flow(0.3 * lowest)) / math.log(3.0)
    assert power == pytest.approx(2.0, abs=0.01)
    assert flow(1.3 * D) == pytest.approx(1.3**MOUTH_FULL * flow(D), rel=1e-9)
    assert (
        pipe_flow.mouth_flow(plan, table, D, 0.0)
        == pipe_flow.mouth_flow(plan, table, D, math.nan)
        == (0.0, 0.0)
    )
    assert flow(0.5 * D) == pytest.approx(pipe_flow.mouth_flow(plan, table, 2 * D, D)[0] / 2**2.5)


LINES = [
    # level above, level below, over the inlet 0.70 and the outfall 0.60 of a run
    (0.95, 0.40), (0.95, 0.64), (0.90, 0.85), (0.7005, 0.30), (0.69, 0.40), (0.70, 0.70), (0.71, 0.73),
    (0.30, 0.72), (0.30, 0.705), (0.30, 0.69), (0.30, 0.95), (0.85, 0.90), (0.695, 0.72),
]  # fmt: skip


def run_between(plan, state, up, down):
    """What `run_flow` gives of the first run between two levels."""
    state.level[0], state.level[plan.parent[0]] = up, down
    state.covered[0] = pipe_flow.mouth_flow(plan, max(plan.mouth[0], 0), plan.bore[0], plan.bore[0])[0]
    return pipe_flow.run_flow(plan, state, 0)


@pytest.mark.parametrize("mouth", [-1, 0, 1])
@pytest.mark.parametrize("junction", [0, 1])
@pytest.mark.parametrize(("up", "down"), LINES)
def test_flow_of_a_run_by_the_levels_at_its_ends(mouth, junction, up, down):
    """The full flow of the head between the levels, or the mouth's where that is less."""
    star = packed("star")
    state, *_ = begun(star)
    plan = star._replace(inlet=[0.70] * 9, outfall=[0.60] * 9, mouth=[mouth] * 9, junction=[junction] * 9)
    inlet, outfall, bore = 0.70, 0.60, plan.bore[0]
    full = lambda head: tables.table_flow(state, 0, head)[0] if head > 0.0 else 0.0  # noqa: E731
    takes = lambda over: pipe_flow.mouth_flow(plan, max(mouth, 0), bore, over)[0]  # noqa: E731
    forward = up - max(down, outfall)
    if forward > 0.0:
        if mouth < 0:
            edge = 1.71 * math.pi * bore * max(up - inlet, 0.0) ** 1.5
            wanted = min(full(forward), edge, takes(up - outfall))
        else:
            wanted = min(full(forward), takes(up - inlet))
    else:
        bottom = up if junction or up > inlet else inlet
        wanted = -min(full(down - bottom), takes(down - inlet))
    flow, by_up, by_down = run_between(plan, state, up, down)
    assert flow == pytest.approx(wanted, rel=1e-12, abs=1e-15)
    at = lambda a, b: run_between(plan, state, up + a, down + b)[0]  # noqa: E731
    for said, a, b in ((by_up, 1e-8, 0.0), (by_down, 0.0, 1e-8)):
        if up not in (inlet, outfall) and down not in (inlet, outfall):
            assert said == pytest.approx((at(a, b) - at(-a, -b)) / 2e-8, rel=1e-4, abs=1e-9)


def test_a_run_up_into_its_end_is_held_to_the_higher_invert():
    star = packed("star")
    state, *_ = begun(star)
    plan = star._replace(inlet=[0.60] * 9, outfall=[0.70] * 9, mouth=[0] * 9)
    flow = run_between(plan, state, 0.71, 0.5)[0]
    assert flow == pytest.approx(min(pipe_flow.mouth_flow(plan, 0, plan.bore[0], 0.71 - 0.70)[0],
                                     tables.table_flow(state, 0, 0.01)[0]))  # fmt: skip
    assert run_between(plan, state, 0.69, 0.5)[0] == 0.0


def test_table_of_a_path_at_and_beyond_its_ends():
    plan = packed("greenhouse")
    state, *_ = begun(plan)
    first, end = plan.first_piece[0], plan.end_piece[0]
    last = math.exp(TABLE_LOG_FIRST + TABLE_LOG_STEP * (TABLE_POINTS - 1))
    assert last == pytest.approx(10.0, rel=1e-6)
    for head in (last * 0.999, last, last * 1.2):
        flow, slope = tables.table_flow(state, 0, head)
        assert path_loss(plan.pieces, first, end, flow, plan.viscosity, G) == pytest.approx(head, rel=1e-3)
        assert slope == pytest.approx(
            slope_of(lambda h: tables.table_flow(state, 0, h)[0], head, 1e-6), rel=1e-4
        )
    flow, slope = tables.table_flow(state, 0, TABLE_FIRST)
    assert tables.table_flow(state, 0, 0.25 * TABLE_FIRST) == (pytest.approx(0.25 * flow), slope)
    assert path_loss(plan.pieces, first, end, flow, plan.viscosity, G) == pytest.approx(TABLE_FIRST, rel=1e-6)


def test_flow_of_a_path_by_brentq_and_its_slope():
    plan = packed("greenhouse")
    first, end = plan.first_piece[0], plan.end_piece[0]
    loss = lambda q: path_loss(plan.pieces, first, end, q, plan.viscosity, G)  # noqa: E731
    for head in (1e-4, 0.05, 1.0):
        flow, slope = path_flow(plan.pieces, first, end, head, 1e-3, plan.viscosity, G)
        assert flow == pytest.approx(
            brentq(lambda q, head=head: loss(q) - head, 1e-9, 1.0, xtol=1e-15), rel=1e-7
        )
        more = math.log(loss(flow * math.exp(1e-4)) / loss(flow * math.exp(-1e-4)))
        assert slope == pytest.approx(2e-4 / more, rel=1e-4)


FLOWS, HEADS = [0.0, 4e-4, 1e-3], [3.0, 2.0, 0.5]


def test_a_pump_curve_is_straight_between_its_points():
    at = {0.0: 3.0, 2e-4: 2.5, 4e-4: 2.0, 7e-4: 1.25, 1e-3: 0.5, 1.2e-3: 0.0}
    for flow, head in at.items():
        assert curve_head(FLOWS, HEADS, flow) == pytest.approx(head), flow


def test_a_pump_runs_where_curve_and_pipe_agree():
    """By brentq; nothing where it cannot lift, and its greatest flow where that is left over."""
    plan = packed("pump-curve")
    path = plan.nodes + 2 * plan.siphons
    piece = plan.pieces, plan.first_piece[path], plan.end_piece[path]
    duty = lambda lift: duty_flow(FLOWS, HEADS, *piece, lift, plan.viscosity, G)  # noqa: E731
    left = lambda q, lift: curve_head(FLOWS, HEADS, q) - lift - path_loss(*piece, q, plan.viscosity, G)  # noqa: E731
    for lift in (1.0, 2.3, 2.95):
        assert duty(lift) == pytest.approx(brentq(left, 1e-12, 1e-3, args=(lift,), xtol=1e-14), abs=1e-10), (
            lift
        )
    assert duty(3.0) == duty(3.5) == 0.0
    assert left(1e-3, -9.0) > 0.0
    assert duty(-9.0) == 1e-3


def test_pump_over_the_sump():
    """A table from floor to rim, straight between its points and beyond; air takes it over the last 2 mm."""
    plan = packed("pump-curve")
    state, *_ = begun(plan)
    path, floor, rim = plan.nodes + 2 * plan.siphons, plan.sump_floor, plan.sump_rim
    grid = (rim - floor) / (PUMP_POINTS - 1)
    piece = plan.pieces, plan.first_piece[path], plan.end_piece[path]
    curve = plan.curve_flow, plan.curve_head
    duty = lambda z: duty_flow(*curve, *piece, plan.pump_outlet - z, plan.viscosity, G)  # noqa: E731
    for k in (20, 40, 63, 64):
        assert rates.pump_flow(plan, state, floor + k * grid)[0] == pytest.approx(
            duty(floor + k * grid), rel=1e-9
        )
    z = floor + 30.25 * grid
    flow, slope = rates.pump_flow(plan, state, z)
    low, high = duty(floor + 30 * grid), duty(floor + 31 * grid)
    assert (flow, slope) == pytest.approx((low + 0.25 * (high - low), (high - low) / grid), rel=1e-9)
    over = rates.pump_flow(plan, state, rim + grid)[0]
    assert over == pytest.approx(2 * duty(rim) - duty(rim - grid), rel=1e-9)
    under = plan._replace(pump_guard=floor - 1.0)
    assert rates.pump_flow(under, state, floor - grid)[0] == pytest.approx(
        2 * duty(floor) - duty(floor + grid)
    )
    guarded = plan._replace(pump_guard=z - 0.25 * PUMP_GUARD_BAND)
    part, more = rates.pump_flow(guarded, state, z)
    assert part == pytest.approx(0.25 * flow)
    assert more == pytest.approx(slope_of(lambda x: rates.pump_flow(guarded, state, x)[0], z, 1e-8), rel=1e-6)
    for cover, share in ((1.0, 1.0), (0.0, 0.0), (-1.0, 0.0)):
        at = plan._replace(pump_guard=z - cover * PUMP_GUARD_BAND)
        assert rates.pump_flow(at, state, z) == pytest.approx((share * flow, share * slope)), cover
    fixed = packed("greenhouse")
    assert rates.pump_flow(fixed, state, fixed.pump_guard + 0.1) == (fixed.pump_flow, 0.0)


@pytest.mark.parametrize("over", [-0.01, 0.01])
def test_a_safety_overflow_takes_its_part_beside_the_siphon(over):
    base = packed("greenhouse")
    state, *_ = begun(base)
    level = base.lip[0] + 0.012
    plan = base._replace(overflow=[level - over], overflow_bore=[0.05])
    flow = lambda z, of: (state.level.__setitem__(plan.root[0], z), rates.siphon_outflow(of, state, 0))[1]  # noqa: E731
    alone, both = flow(level, base), flow(level, plan)
    lip = 1.71 * math.pi * base.lip_diameter[0] * 0.012**1.5
    assert alone == (pytest.approx(lip), pytest.approx(1.5 * lip / 0.012), 0.0)
    more = 1.71 * math.pi * 0.05 * max(over, 0.0) ** 1.5
    assert both[0] - alone[0] == pytest.approx(more, abs=1e-15)
    assert both[1] == pytest.approx(slope_of(lambda z: flow(z, plan)[0], level), rel=1e-5)


@pytest.mark.parametrize("opened", [0, 1])
@pytest.mark.parametrize("sump", [0.0, 0.45, 0.55])
def test_a_running_siphon_has_the_head_over_its_end_or_the_sump(opened, sump):
    base = packed("greenhouse")
    state, *_ = begun(base)
    plan = base._replace(foot=[0.5])
    end = 0.5 if opened else plan.tail[0]
    assert plan.tail[0] < 0.45
    state.regime[0], state.open[0], z = SIPHONING, opened, 0.8
    flow = lambda z, s: (state.level.__setitem__(plan.nodes, s), rates.running(plan, state, 0, z))[1]  # noqa: E731
    q, a, b = flow(z, sump)
    path = plan.nodes + opened
    lost = path_loss(plan.pieces, plan.first_piece[path], plan.end_piece[path], q, plan.viscosity, G)
    assert lost == pytest.approx(z - max(end, sump), rel=1e-3)
    assert a == pytest.approx(slope_of(lambda x: flow(x, sump)[0], z), rel=1e-4)
    assert b == pytest.approx(slope_of(lambda x: flow(z, x)[0], sump), rel=1e-4, abs=1e-12)
    assert flow(end, 0.0) == flow(end - 0.1, 0.0) == (0.0, 0.0, 0.0)


# Two beds to a tee, that and a third bed to a second tee, it to the first host; a bed to the second host.
PARENT, JUNCTION, ROOT = [2, 2, 4, 4, 5, -1, 7, -1], [0, 0, 1, 0, 1, 0, 0, 0], [5, 7]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_solve_on_the_tree_against_a_full_matrix(seed):
    """(M / t - J) x = b by numpy: J from the slopes of each flow by the levels at its ends."""
    draw, n, weight = np.random.default_rng(seed), 8, 3.0
    up, down, gain = draw.uniform(0.5, 2.0, 9), -draw.uniform(0.2, 0.5, 9), draw.uniform(0.5, 2.0, 9)
    gain[[i for i in range(n) if JUNCTION[i]]] = 1.0
    share = draw.uniform(0.0, 0.3, n)
    plan = SimpleNamespace(nodes=n, siphons=2, parent=PARENT, junction=JUNCTION, root=ROOT, share=share)
    zeros = {name: [0.0] * 9 for name in ("diagonal", "border", "upper", "lower")}
    state = SimpleNamespace(
        gain=gain, slope_up=up, slope_down=down, by_root=[0.0] * 2, by_sump=[0.0] * 3, **zeros
    )
    J = np.zeros((n + 4, n + 4))
    for i, to in enumerate(PARENT):
        if to < 0:
            j = ROOT.index(i)
            for column, slope in ((i, up[i] * gain[i]), (n, down[i] * gain[n])):
                J[i, column] -= slope
                J[n, column] += slope
                J[n + 1 + j, column] += slope
        else:
            for column, slope in ((i, up[i] * gain[i]), (to, down[i] * gain[to])):
                J[i, column] -= slope
                J[to, column] += slope
    J[:n, n] += share * up[n] * gain[n]
    J[n, n] -= up[n] * gain[n]
    J[n + 3, n] += up[n] * gain[n]
    mass = np.diag([0.0 if i < n and JUNCTION[i] else weight for i in range(n + 4)])
    b = draw.normal(size=n + 4)
    solve.factor(plan, state, weight)
    x = list(b)
    solve.solve(plan, state, x, weight)
    assert x == pytest.approx(np.linalg.solve(mass - J, b), rel=1e-9)


@pytest.mark.parametrize(
    ("name", "apart", "halved"),
    [("two-groups", 0.01, 0), ("side-outlets", 0.01, 0), ("greenhouse", 0.001, 0), ("half-drums", 0.01, 1)],
)
def test_heads_of_tees_are_found_in_a_few_steps(monkeypatch, name, apart, halved):
    """Newton with the right slopes doubles its digits each time; halving alone takes hundreds of flows."""
    plan, calls, by_halving = packed(name), [], []
    state, *_ = begun(plan)
    for i in range(plan.nodes):
        state.level[i] = state.volume[i] = 0.82 + apart * i if plan.parent[i] >= 0 else 0.77
    set_runs, settle_each, tees = junctions.set_runs, junctions.settle_each, np.array(plan.junction) == 1
    set_runs(plan, state, True)
    worst = junctions.imbalance(plan, state)
    assert worst == np.abs(np.array(state.net[: plan.nodes])[tees]).max() > 1e-3
    monkeypatch.setattr(junctions, "set_runs", lambda *given: (calls.append(1), set_runs(*given)))
    monkeypatch.setattr(junctions, "settle_each", lambda *given: (by_halving.append(1), settle_each(*given)))
    junctions.balance_junctions(plan, state, state.volume)
    assert (len(calls) <= 5, len(by_halving)) == (True, halved)
    set_runs(plan, state, True)
    assert junctions.imbalance(plan, state) < 1e-12
    assert list(np.array(state.volume[: plan.nodes])[tees]) == list(np.array(state.level[: plan.nodes])[tees])


def test_the_last_step_of_the_heads_follows_the_slopes():
    """A head that moves by d moves the flows at its ends by slope times d, and what comes in by their sum."""
    plan = packed("two-groups")
    state, *_ = begun(plan)
    tee = plan.junction.index(1)
    above = [i for i in range(plan.nodes) if plan.parent[i] == tee]
    below = plan.parent[tee]
    for i in range(plan.nodes):
        state.slope_up[i], state.slope_down[i] = 2.0 + i, -1.0 - i
    state.move[tee] = 0.01
    before = state.level[tee]
    junctions.follow(plan, state)
    assert state.level[tee] == pytest.approx(before + 0.01)
    out, come = (2.0 + tee) * 0.01, [(-1.0 - i) * 0.01 for i in above]
    assert state.flow[tee] == pytest.approx(out)
    assert [state.flow[i] for i in above] == pytest.approx(come)
    assert state.net[tee] == pytest.approx(sum(come) - out)
    assert [state.net[i] for i in above] == pytest.approx([-x for x in come])
    assert state.net[below] == pytest.approx(out)


def test_the_error_of_a_step_is_a_level_over_its_tolerance():
    plan = packed("two-groups")
    state, *_ = begun(plan)
    error = step.attempt(plan, state, 2.0, False)
    stored = [i for i in range(plan.nodes + 1) if i == plan.nodes or not plan.junction[i]]
    worst = max(abs(state.k4[i] * state.gain[i]) for i in stored)
    assert error == pytest.approx(worst / 4e-6)
    assert error > 0.0
    state.volume[0] = math.nan
    assert step.attempt(plan, state, 2.0, False) == pytest.approx(1e30 / 4e-6)


def test_mouths_are_numbered_by_their_entrance():
    fitting = SimpleNamespace(name="entrance, projecting")
    assert [mouth_table(SimpleNamespace(fittings=f)) for f in ((), (fitting,))] == [0, 1]


def test_what_a_packed_plan_says_of_its_tree():
    plan = packed("two-groups")
    for i in range(plan.nodes):
        child, found = plan.first_child[i], []
        while child >= 0:
            found.append(child)
            child = plan.next_child[child]
        assert found == [k for k in range(plan.nodes) if plan.parent[k] == i], i
    assert sum(plan.share) == pytest.approx(1.0)
    assert [plan.siphon[root] for root in plan.root] == [0, 1]
    assert {i for i in range(plan.nodes) if plan.parent[i] < 0} == set(plan.root)


def test_a_run_of_two_siphons_tells_what_went_out_of_each():
    """Both lips are so low that water runs over them in the first minutes; neither has lost its air yet."""
    plan = packed("two-groups")
    lips = [rim + 0.02 for rim in plan.rim]
    plan = plan._replace(lip=lips, start_level=[z + 1e-4 for z in lips], purge=[1.0, 1.0], time_max=600.0)
    totals, state, cycles, _ = times_of(plan)
    out = state.volume[plan.nodes + 1 : plan.nodes + 3]
    assert cycles.regime[:2] == state.regime[:2] == [PURGING, PURGING]
    assert min(out) > 1e-4 < abs(out[0] - out[1])
    assert totals.drained == pytest.approx(sum(out), rel=1e-12)
    assert cycles.purged[:2] == pytest.approx(
        [went - state.out_choke[j] for j, went in enumerate(out)], rel=1e-12
    )
    held = [
        sum(state.volume[i] for i in range(plan.nodes) if plan.siphon[i] == j and not plan.junction[i])
        for j in (0, 1)
    ]
    assert totals.stored == pytest.approx(sum(held) - sum(state.volume_break[:2]), rel=1e-9)
    assert totals.pumped == pytest.approx(totals.drained + totals.stored, rel=1e-9)
    assert totals.balance < 1e-9
    assert (totals.sump_low, totals.sump_high) == (state.low[plan.nodes], state.high[plan.nodes])


@pytest.mark.parametrize(("chamber", "lowest"), [(0.50, 0.50), (0.58, 0.56)])
def test_a_tee_in_which_nothing_flows_rests_under_all_there_is(chamber, lowest):
    """The line ends at 0.56 m, the tee lies at 0.60 m; water in the chamber below the tee cannot run back."""
    plan = packed("two-groups")
    state, *_ = begun(plan)
    tee = plan.junction.index(1)
    for i in range(plan.nodes):
        state.level[i] = chamber if plan.parent[i] < 0 else plan.inlet[i]
    assert (plan.inlet[tee], plan.outfall[tee]) == (0.60, 0.56)
    junctions.settle_each(plan, state)
    assert state.level[tee] == pytest.approx(lowest - junctions.BEYOND, abs=1e-9)
    assert state.flow[tee] == 0.0


@pytest.mark.parametrize(("nodes", "counts"), [(1, 1), (4, 1), (9, 1), (10, 2), (26, 5)])
def test_a_plan_of_many_beds_asks_for_machine_code_sooner(monkeypatch, nodes, counts):
    """Beside the first dozen plans in the interpreter a large one counts once for each five nodes."""
    monkeypatch.setattr(runner, "_asked", 7)
    monkeypatch.setattr(runner, "_compiled_wanted", lambda: True)
    monkeypatch.setattr(compiled, "run", lambda plan, rows: rows)
    assert runner.run_packed(SimpleNamespace(nodes=nodes)) == runner.TRACE_ROWS
    assert runner._asked == 7 + counts
    assert runner.run_packed(SimpleNamespace(nodes=nodes), trace=False) == 0


@pytest.mark.parametrize(("asked", "loaded", "ready", "wanted"), [
    (11, False, True, False), (12, False, True, True), (12, False, False, False), (0, True, False, True),
])  # fmt: skip
def test_machine_code_is_loaded_after_the_first_plans(monkeypatch, asked, loaded, ready, wanted):
    monkeypatch.setattr(runner, "_asked", asked)
    monkeypatch.setattr(compiled, "loaded", lambda: loaded)
    monkeypatch.setattr(compiled, "ready", lambda: ready)
    monkeypatch.setattr(compiled, "build", lambda: True)
    assert runner._compiled_wanted() == wanted


def test_a_packed_plan_by_hand():
    """The demo: every number from the plan's own sizes, in the order of its nodes."""
    text = edited(("siphon.overflow", {"bore": '"40 mm"', "height": '"460 mm"'}))
    demo = plan_from_text(text)
    plan = pack(demo)
    names = [name for name, _ in order(demo)]
    (siphon,) = demo.siphons
    at = {name: i for i, name in enumerate(names)}
    drains_to = {"bed 1": "tee 2", "bed 2": "tee 2", "bed 3": "tee 3", "tee 2": "tee 3", "tee 3": "chamber"}
    assert plan.parent == [at[drains_to[name]] if name in drains_to else -1 for name in names]
    inlets = [plan.inlet[at[x]] for x in ("bed 1", "tee 2", "tee 3", "chamber")]
    assert inlets == pytest.approx([0.71, 0.59, 0.58, 0.0])
    assert [plan.outfall[at[x]] for x in ("tee 3", "chamber")] == [0.56, 0.0]
    bore = demo.run_from("bed 1").pipe.bore
    assert [plan.bore[at[x]] for x in ("bed 1", "tee 3", "chamber")] == [bore, bore, 0.0]
    assert [plan.mouth[at[x]] for x in ("bed 1", "tee 2", "chamber")] == [-1, 0, -1]
    assert [plan.junction[at[x]] for x in ("bed 1", "tee 2", "chamber")] == [0, 1, 0]
    assert [plan.share[at[x]] for x in ("bed 1", "tee 2", "chamber")] == [pytest.approx(1 / 3), 0.0, 0.0]
    assert plan.start[-1] == pytest.approx(0.21)
    assert (plan.root, plan.lip, plan.rim) == ([at["chamber"]], [pytest.approx(0.93)], [pytest.approx(0.53)])
    assert (plan.overflow, plan.overflow_bore) == ([pytest.approx(0.96)], [0.04])
    bare = packed("greenhouse")
    assert (bare.overflow, bare.overflow_bore, bare.open, bare.purged) == ([NEVER], [0.0], [0], [0.0])
    assert plan.purge == [pytest.approx(starting.purge(siphon)[1] * starting.choke(siphon))]
    assert (plan.tail, plan.foot, plan.regime) == ([0.32], [0.5], [FILLING])
    assert (plan.pump_guard, plan.pump_outlet) == (pytest.approx(-0.3), 1.05)
    assert (plan.sump_floor, plan.sump_rim) == (-0.4, pytest.approx(0.3))
    held = sum(volume_at(vessel_cells(demo, v), v.rim) for v in (*demo.beds, *demo.chambers))
    assert plan.time_max == pytest.approx(60 * held / demo.pump.flow)
    curve = read_plan("tests/plans/pump-curve.toml")
    held = sum(volume_at(vessel_cells(curve, v), v.rim) for v in (*curve.beds, *curve.chambers))
    most = max(q for q, _ in curve.pump.curve)
    assert packed("pump-curve").time_max == pytest.approx(60 * held / (0.25 * most))
    assert packed("pump-curve").pump_flow == 0.0
    assert pack(read_plan("tests/plans/two-groups.toml")).pump_outlet == 0.0  # it gives no delivery pipe
    two = packed("two-groups")
    for i in range(two.nodes):
        fed = two.parent[i] >= 0 and not two.junction[i]
        assert two.share[i] == (pytest.approx(1 / 3) if fed else 0.0), i


@pytest.mark.parametrize("part", [0.1, 0.5, 0.9])
def test_a_step_is_cut_where_the_water_stands_at_the_event(monkeypatch, part):
    """The lip is put at a level that a step of 20 s passes: found within 1e-10 m, in few tries."""
    base, tries = packed("inside-bed"), []
    plan = base._replace(start=[*[0.80] * base.nodes, base.start[-1]])
    state, *_ = begun(plan)
    root, step_ = plan.root[0], 20.0
    step.attempt(plan, state, step_, False)
    before = plan.start[root]
    rates.set_levels(plan, state, state.trial)
    after = state.level[root]
    assert after > before + 1e-3
    aimed = plan._replace(lip=[before + part * (after - before)])
    attempt = events.attempt
    monkeypatch.setattr(events, "attempt", lambda *given: (tries.append(given[2]), attempt(*given))[1])
    took = events.locate(aimed, state, step_, 0)
    assert 0.0 < took < step_
    assert 0.0 <= state.level[root] - aimed.lip[0] < events.LOCATED
    assert all(0.0 < h < step_ for h in tries), tries
    assert len(tries) <= 16
    again = begun(plan)[0]
    attempt(aimed, again, took, False)
    assert again.trial == pytest.approx(state.trial, rel=1e-12)  # the trial is left there


def test_a_step_that_ends_at_the_event_is_left_whole():
    plan = packed("inside-bed")
    state, *_ = begun(plan)
    step.attempt(plan, state, 5.0, False)
    rates.set_levels(plan, state, state.trial)
    aimed = plan._replace(lip=[state.level[plan.root[0]]])
    assert events.locate(aimed, state, 5.0, 0) == 5.0


def test_no_event_is_known_of_a_siphon_that_does_nothing_known():
    assert events.miss(one(), state_of(regime=[9]), [0.0] * 6, 0) < 0.0
