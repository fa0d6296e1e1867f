"""The kernels: tables, conservation, order of the integrator, regimes, interpreted and compiled alike."""

import dataclasses
import math
import subprocess
import sys
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from scipy.optimize import brentq

from aquacalc.catalogue import data_dir
from aquacalc.engine import compiled, events, junctions, rates, runner, step
from aquacalc.engine import run as engine
from aquacalc.engine.packing import pack
from aquacalc.engine.state import SIPHONING, TABLE_POINTS, Totals, blank
from aquacalc.engine.tables import fill_table, table_flow
from aquacalc.hydraulics.levels import level_at, volume_at
from aquacalc.hydraulics.paths import as_pieces, path_loss, run_path, siphon_path
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan import edit
from aquacalc.plan.network import order
from aquacalc.plan.read import read_plan
from aquacalc.results.cycle import run_plan
from tests.independent import Path, area_of, viscosity
from tests.plan.random_plans import plans

PLANS = data_dir() / "plans"
LAYOUTS = data_dir().parent / "tests" / "plans"


@pytest.fixture(scope="module")
def demo():
    return read_plan(PLANS / "greenhouse.toml")


def table_of(pieces, nu):
    plan = SimpleNamespace(
        pieces=as_pieces(pieces), first_piece=[0], end_piece=[len(pieces)], viscosity=nu, gravity=9.80665
    )
    tables = SimpleNamespace(log_flow=[0.0] * TABLE_POINTS, log_slope=[0.0] * TABLE_POINTS)
    fill_table(plan, tables, 0)
    return tables


@pytest.mark.outside
def test_siphon_flow_against_fluids_and_brentq(demo):
    """The demo siphon at start and rim: brentq on `fluids` friction with `iapws` viscosity, 0.1 %."""
    siphon = demo.siphons[0]
    floor = demo.vessel(siphon.host).floor
    path = Path(siphon_path(demo, siphon), viscosity(demo.water_temperature))
    run = run_plan(demo)
    for level, ours in (
        (run.trace.level(siphon.host, run.groups[0].began + run.groups[0].period), run.groups[0].flow_break),
        (floor + siphon.bell.rim_height, run.groups[0].flow_break),
    ):
        head = level - siphon.tail.outlet
        theirs = brentq(lambda q, head=head: path.loss(q) - head, 1e-7, 0.1, xtol=1e-12)
        assert ours == pytest.approx(theirs, rel=1e-3)
    start = next(
        t for t, r in zip(run.trace.times, run.trace.regime[siphon.name], strict=True) if r == "siphoning"
    )
    head = run.trace.level(siphon.host, start) - siphon.tail.outlet
    theirs = brentq(lambda q: path.loss(q) - head, 1e-7, 0.1, xtol=1e-12)
    assert run.groups[0].flow_high == pytest.approx(theirs, rel=1e-3)


@pytest.mark.identity
def test_tables_stay_on_the_full_solution(demo):
    """Between grid points a table's flow loses that head within 0.1 %, so is right within 0.05 %."""
    nu = viscosity(demo.water_temperature)
    for pieces in (siphon_path(demo, demo.siphons[0]), *(run_path(demo, run) for run in demo.runs)):
        tables = table_of(pieces, nu)
        for head in np.geomspace(2e-6, 5.0, 400):
            flow, slope = table_flow(tables, 0, head)
            assert path_loss(pieces, flow, nu) == pytest.approx(head, rel=1e-3)
            near, _ = table_flow(tables, 0, head * 1.000001)
            assert (near - flow) / (head * 1e-6) == pytest.approx(slope, rel=1e-3)


@pytest.mark.identity
@pytest.mark.parametrize("name", ["half-drums", "star", "inside-bed", "us-units"])
def test_cells_hold_the_volume_of_the_geometry(name):
    """Volumes against quadrature of the geometry's own area; level and volume are inverse of each other."""
    plan = read_plan(LAYOUTS / f"{name}.toml")
    for vessel in plan.beds:
        if any(s.host == vessel.name for s in plan.siphons):
            continue
        cells = vessel_cells(plan, vessel)
        z = np.linspace(0.0, vessel.shape.depth, 20001)
        areas = np.array(
            [area_of(vessel.shape, x) * (vessel.media.porosity if x < vessel.media.depth else 1) for x in z]
        )
        total = np.concatenate([[0], np.cumsum((areas[1:] + areas[:-1]) / 2 * np.diff(z))])
        for k in range(200, 20001, 900):
            ours = volume_at(cells, vessel.floor + z[k])
            assert ours == pytest.approx(total[k], rel=2e-3, abs=2e-6)
            assert level_at(cells, ours) == pytest.approx(vessel.floor + z[k], abs=1e-9)


@pytest.mark.identity
def test_order_of_the_integrator(demo):
    """Halving fixed steps through a smooth stretch of draining divides the error by about 2**3."""
    plan = pack(demo)._replace(tolerance=1e9)
    names = [name for name, _ in order(demo)]

    def after(steps):
        state, *_ = blank(plan, 0)
        engine.prepare(plan, state)
        state.regime[0] = SIPHONING
        for i, name in enumerate(names):
            if not plan.junction[i]:
                cells = vessel_cells(demo, demo.vessel(name))
                state.volume[i] = volume_at(cells, 0.93 if name != "chamber" else 0.89)
        for _ in range(steps):
            step.attempt(plan, state, 20.0 / steps, False)
            state.volume[:] = state.trial
        return np.array(state.volume)

    keep = [i for i in range(plan.nodes) if not plan.junction[i]]
    exact = after(1600)[keep]
    errors = [np.abs(after(k)[keep] - exact).max() for k in (100, 200)]
    assert 2.5 < math.log2(errors[0] / errors[1]) < 3.6
    assert plan.siphons == 1


@pytest.mark.identity
def test_a_level_that_is_no_number_draws_nothing_from_a_table(demo):
    """A step that fails may leave one behind; machine code would read it off at no place in memory."""
    plan = pack(demo)
    state, *_ = blank(plan, 0)
    state.regime[0] = SIPHONING
    state.level[plan.root[0]] = math.nan
    assert rates.siphon_outflow(plan, state, 0) == (0.0, 0.0, 0.0)


@pytest.mark.identity
def test_an_interrupt_in_the_middle_of_compiled_runs_is_an_exception():
    """Stopped in a notebook, or out of time in a test, a run must not take the process with it."""
    code = (
        "import signal\n"
        "from aquacalc.catalogue import data_dir\n"
        "from aquacalc.engine import compiled\n"
        "from aquacalc.engine.packing import pack\n"
        "from aquacalc.plan.read import read_plan\n"
        "plan = pack(read_plan(data_dir() / 'plans' / 'greenhouse.toml'))\n"
        "compiled.build()\n"
        "compiled.run(plan)\n"
        "signal.signal(signal.SIGALRM, signal.default_int_handler)\n"
        "for turn in range(150):\n"
        "    try:\n"
        "        signal.setitimer(signal.ITIMER_REAL, 0.001 + 0.00002 * turn)\n"
        "        while True:\n"
        "            compiled.run(plan)\n"
        "    except KeyboardInterrupt:\n"
        "        pass\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=600)
    assert done.returncode == 0, done.stderr[-500:]


@pytest.mark.identity
def test_interpreted_and_compiled_are_one(demo):
    """The same kernels through numba give the same numbers, to the last digits of a float."""
    plan = pack(demo)
    state, cycles, trace = blank(plan, runner.TRACE_ROWS)
    totals = Totals(*engine.run(plan, state, cycles, trace))
    compiled.build()
    for slow, fast in zip((totals, cycles, trace), compiled.run(plan, runner.TRACE_ROWS), strict=True):
        for name, a, b in zip(slow._fields, slow, fast, strict=True):
            assert a == pytest.approx(b, rel=1e-9, abs=1e-12), name


@pytest.mark.identity
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(plans())
def test_volume_is_conserved_on_any_layout(plan):
    run = run_plan(plan, trace=False)
    # Rounding alone: some 4,000 steps, each half of 2.2e-16 of 1 m3 that is kept, against a cycle of 0.05 L.
    assert run.balance <= 1e-8
    for group in run.groups:
        assert group.outcome in ("cycles", "spills", "runs on", "no inflow", "unsettled")
        if group.outcome == "cycles":
            assert group.misfit < 1e-4 or not run.settled


@pytest.mark.identity
def test_a_bed_without_inflow_fills_from_the_others(demo):
    """Flow back and levelling come out of the model: a bed the pump never feeds follows the others up."""
    plan = edit.put(demo, {"bed.bed 3.inflow_share": 0.0})
    run = run_plan(plan)
    group = run.groups[0]
    lip_time = group.began + group.fill_time
    assert run.trace.level("bed 3", lip_time) == pytest.approx(run.trace.level("chamber", lip_time), abs=2e-3)
    after_break = group.began + 0.5 * group.fill_time
    assert run.trace.level("bed 3", after_break) < run.trace.level("chamber", after_break)


@pytest.mark.identity
def test_spills_at_the_lip_head_of_its_inflow():
    """A siphon that never starts stands where the lip law puts its whole inflow."""
    plan = read_plan(PLANS / "spills-without-starting.toml")
    group = run_plan(plan).groups[0]
    stand = plan.siphons[0].standpipe
    head = (plan.pump.flow / (1.71 * math.pi * stand.lip_diameter)) ** (2 / 3)
    assert group.outcome == "spills"
    surface = 1.0  # m2, a little more than the plan's own; times the slowest rise still counted as moving
    assert group.flow_steady == pytest.approx(plan.pump.flow, abs=events.SETTLED * surface)
    assert group.level - group.lip == pytest.approx(head, abs=5e-5)


@pytest.mark.identity
def test_runs_on_where_siphon_flow_meets_inflow():
    """A siphon that never stops stands where its flow equals the inflow, above the rim."""
    plan = read_plan(PLANS / "runs-on-without-stopping.toml")
    group = run_plan(plan).groups[0]
    nu = viscosity(plan.water_temperature)
    assert group.outcome == "runs on"
    level = plan.siphons[0].tail.outlet + path_loss(siphon_path(plan, plan.siphons[0]), plan.pump.flow, nu)
    assert group.level == pytest.approx(level, abs=2e-4)
    assert group.level > group.rim


@pytest.mark.identity
@pytest.mark.parametrize("fraction", [0.999, 1.001])
def test_inside_and_outside_the_choking_flow(demo, fraction):
    """Just below the choking flow it spills, just above it starts: the event is located, not stepped over."""
    choking = run_plan(demo, trace=False).groups[0].choking
    plan = dataclasses.replace(demo, pump=dataclasses.replace(demo.pump, flow=choking * fraction))
    outcome = run_plan(plan, trace=False).groups[0].outcome
    assert outcome == ("spills" if fraction < 1 else "cycles")


@pytest.mark.identity
@pytest.mark.parametrize("name", ["side-outlets", "two-groups", "us-units"])
@pytest.mark.parametrize("deep", [0.004, 0.02, 0.1])
def test_a_tee_set_by_itself_lets_out_what_comes_in(name, deep):
    """Beds `deep` over their outlets, hosts empty: by halving, whatever the flow into a mouth depends on."""
    plan = pack(read_plan(LAYOUTS / f"{name}.toml"))
    state, *_ = blank(plan, 0)
    engine.prepare(plan, state)
    for i in range(plan.nodes):
        state.level[i] = plan.inlet[i] + deep if plan.parent[i] >= 0 else plan.start[i]
    junctions.settle_each(plan, state)
    tee = plan.junction.index(1)
    assert max(state.flow[i] for i in range(plan.nodes) if plan.parent[i] == tee) > 1e-6
    assert state.net[tee] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.identity
@pytest.mark.parametrize("name", ["side-outlets", "two-groups", "us-units"])
def test_a_tee_set_by_itself_lets_water_back_into_low_beds(name):
    """The host stands over all, so that every line runs backwards; the tee's head is between the two."""
    plan = pack(read_plan(LAYOUTS / f"{name}.toml"))
    state, *_ = blank(plan, 0)
    engine.prepare(plan, state)
    low, high = max(plan.inlet) + 0.02, max(plan.inlet) + 0.2
    for i in range(plan.nodes):
        state.level[i] = low if plan.parent[i] >= 0 else high
    junctions.settle_each(plan, state)
    tee = plan.junction.index(1)
    assert max(state.flow[i] for i in range(plan.nodes) if plan.parent[i] == tee) < -1e-6
    assert low < state.level[tee] < high
    assert state.net[tee] == pytest.approx(0.0, abs=1e-9)
