"""Draining against EPANET (through `wntr`): levels and volumes, second by second, while pipes run full.

How far the two may differ, derived and not fitted:

* EPANET uses Swamee-Jain friction, aquacalc Colebrook. `fluids` gives the
  largest relative difference d over the Reynolds numbers met; a run whose loss
  is friction to the part p then flows differently by p d / 2, and a level that
  has fallen by H differs by p d / 2 times H.
* EPANET moves its tanks by one explicit step a second, which lags a level
  whose speed changes by half the change of speed times one second.
* The chamber stands below a bed by the head lost in the run, which differs by
  p d of itself for the run's friction and as much again for the siphon's; its
  own first minute after starting (tens of mm/s) is left out, the beds' is not.
* A bed that holds the siphon itself stands like a chamber: below the other beds.
* Once a bed is nearly dry its mouth takes air; EPANET has no such law, so the
  comparison ends when water stands less than one bore above an outlet.
"""

from dataclasses import replace

import numpy as np
import pytest
from fluids.friction import Colebrook, Swamee_Jain_1976

from aquacalc.catalogue import data_dir
from aquacalc.equations.formulas import GRAVITY, water_kinematic_viscosity
from aquacalc.geometry.strainers import outlet_level
from aquacalc.hydraulics.levels import volume_at
from aquacalc.hydraulics.paths import path_loss, run_path, siphon_path
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan.read import read_plan
from aquacalc.results.cycle import run_plan
from tests.network_twin import drain

PLANS = {
    "greenhouse": data_dir() / "plans" / "greenhouse.toml",
    **{
        n: data_dir().parent / "tests" / "plans" / f"{n}.toml"
        for n in (
            "series",
            "star",
            "half-drums",
            "single",
            "side-outlets",
            "inside-bed",
            "two-groups",
            "us-units",
        )
    },
}
CHAMBER_FROM = 60


def friction_band(plan, flow):
    """Largest p d (see the head of this file) of the siphon at `flow` or of any run at its share of it."""
    nu = water_kinematic_viscosity(plan.water_temperature)
    paths = [(run_path(plan, run), flow / len(plan.beds)) for run in plan.runs]
    paths.append((siphon_path(plan, plan.siphons[0]), flow))
    worst = 0.0
    for pieces, q in paths:
        pipe = pieces[-1]
        rough = pipe.roughness / pipe.diameter
        top = max(q / pipe.area * pipe.diameter / nu, 8000.0)
        d = max(
            abs(Swamee_Jain_1976(r, rough) / Colebrook(r, rough) - 1) for r in np.geomspace(4000.0, top, 40)
        )
        local = sum(p.k * (q / p.area) ** 2 / (2 * GRAVITY) for p in pieces)
        worst = max(worst, d * (1 - local / path_loss(pieces, q, nu)))
    return worst


def one_group(plan, siphon):
    """The part of a plan that drains to one siphon: EPANET is given that alone."""
    names = {siphon.host}
    for _ in plan.runs:
        names |= {run.start for run in plan.runs if run.to in names}
    return replace(
        plan,
        siphons=(siphon,),
        runs=tuple(run for run in plan.runs if run.start in names),
        **{
            kind: tuple(x for x in getattr(plan, kind) if x.name in names)
            for kind in ("beds", "tees", "chambers")
        },
    )


def draining(whole, run, number):
    """Draining of one siphon: our levels and EPANET's by vessel and second, a bed, seconds compared."""
    plan = one_group(whole, whole.siphons[number])
    group = run.groups[number]
    full = group.began + group.period - group.drain_time
    shares = sum(bed.inflow_share for bed in whole.beds)
    inflow = {bed.name: run.pump * bed.inflow_share / shares for bed in plan.beds}
    vessels = [v.name for v in (*plan.beds, *plan.chambers)]
    seconds = range(int(group.drain_time) + 1)
    levels = {name: [run.trace.level(name, full + t) for t in seconds] for name in vessels}
    twin, times = drain(plan, {name: levels[name][0] for name in vessels}, inflow, int(group.drain_time))
    assert times == list(seconds)
    beds = [bed for bed in plan.beds if bed.name != group.host]
    bore = {r.start: r.pipe.bore for r in plan.runs}
    last = max(
        t for t in times if all(levels[b.name][t] > outlet_level(plan, b) + bore[b.name] for b in beds)
    )
    return levels, twin, beds[0].name, last


@pytest.mark.outside
@pytest.mark.filterwarnings("ignore:Changing the headloss formula")
@pytest.mark.parametrize(("name", "number"), [*((n, 0) for n in PLANS), ("two-groups", 1)])
def test_draining(name, number):
    whole = read_plan(PLANS[name])
    run = run_plan(whole)
    plan = one_group(whole, whole.siphons[number])
    group = run.groups[number]
    vessels = {v.name: v for v in (*plan.beds, *plan.chambers)}
    levels, twin, _, last = draining(whole, run, number)
    level = lambda node, t: levels[node][t]  # noqa: E731
    times = range(last + 1)
    beds = [bed for bed in plan.beds if bed.name != group.host]
    assert last > 0.3 * group.drain_time
    band = friction_band(plan, group.flow_high)

    def lag(name, first):
        speed = np.diff([level(name, t) for t in times[first : last + 1]])
        return 0.5 * (speed.max() - speed.min())

    falls, off = {}, {}
    for bed in beds:
        falls[bed.name] = level(bed.name, 0) - level(bed.name, last)
        off[bed.name] = band / 2 * falls[bed.name] + lag(bed.name, 0)
        assert off[bed.name] < 0.012 * falls[bed.name]  # the derivation must not excuse much
        for t in times[:last]:
            assert twin[bed.name][t] == pytest.approx(level(bed.name, t), abs=off[bed.name])
    for t in times[CHAMBER_FROM:last]:
        drop = max(level(bed.name, t) for bed in beds) - level(group.host, t)
        off[group.host] = band / 2 * max(falls.values()) + 2 * band * drop + lag(group.host, CHAMBER_FROM)
        assert twin[group.host][t] == pytest.approx(level(group.host, t), abs=off[group.host])

    # volumes: what all vessels hold together, each level's allowance over its own water surface
    for t in times[CHAMBER_FROM:last:10]:
        ours = theirs = allowed = at_start = 0.0
        for name, vessel in vessels.items():
            cells = vessel_cells(plan, vessel)
            ours += volume_at(cells, level(name, t))
            theirs += volume_at(cells, twin[name][t])
            at_start += volume_at(cells, level(name, 0))
            z = level(name, t)
            allowed += volume_at(cells, z + off[name]) - volume_at(cells, z)
        assert allowed < 0.01 * at_start
        assert theirs == pytest.approx(ours, abs=allowed)
