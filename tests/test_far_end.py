"""Far ends of beds against `fluids` and scipy, and how much of a strainer may clog against whole runs."""

import functools
import math
from dataclasses import replace
from pathlib import Path

import pytest
from fluids.packed_bed import Ergun
from iapws import IAPWS95
from scipy.integrate import solve_ivp

from aquacalc.catalogue import data_dir
from aquacalc.design.closest import turns
from aquacalc.findings import find
from aquacalc.hydraulics.far_end import far_end
from aquacalc.plan import edit
from aquacalc.plan.read import read_plan
from aquacalc.results.clogging import may_clog
from aquacalc.results.cycle import run_plan
from aquacalc.results.far_end import far_ends

#: What a grower reads off a rule, m.
LEVEL = 1e-3


@functools.cache
def plan(**changes):
    read = read_plan(data_dir() / "plans" / "greenhouse.toml")
    return edit.put(read, {f"bed.bed 1.{key}": value for key, value in changes.items()})


@functools.cache
def ran(**changes):
    return run_plan(plan(**changes), trace=False)


def solved(bed, near, away, flow, deep, sphericity, spread):
    """Rise to the far end by `fluids.Ergun`, water at 20 degC of `iapws`, half a ring at the outlet."""
    water = IAPWS95(T=293.15, P=0.101325)
    grain = sphericity * math.sqrt(bed.media.grain_smallest * bed.media.grain_largest)

    def slope(x, h):
        passing = flow * (1.0 - x / away) if spread else flow
        speed = passing / (min(bed.shape.width, math.pi * x) * h[0])
        lost = Ergun(grain, bed.media.porosity, max(speed, 1e-9), water.rho, water.mu, L=1.0)
        return [lost / (water.rho * 9.80665)]

    found = solve_ivp(slope, (near, away), [deep], rtol=1e-8, atol=1e-9)
    return found.y[0][-1] - deep


@pytest.mark.outside
@pytest.mark.parametrize("spread", [True, False])
@pytest.mark.parametrize(("along", "grain"), [(0.03, 0.012), (0.03, 0.004), (0.6, 0.008), (0.2, 0.02)])
def test_far_end_against_fluids(along, grain, spread):
    """`fluids` 1.3.1, packed_bed.Ergun, integrated along the bed by scipy (REF-LIB)."""
    ours = plan(outlet_along=along, grain_smallest=grain, grain_largest=grain)
    bed, flow, deep = ours.beds[0], 1e-4, 0.015
    end = far_end(ours, bed, flow, bed.floor + deep, spread)
    near, away = 0.5 * ours.run_from(bed.name).pipe.outside_diameter, max(along, 1.2 - along)
    assert end.away == pytest.approx(away)
    share = away / 1.2 if spread else 1.0
    for said, sphericity in ((end.easy, 1.0), (end.hard, 0.7)):
        assert said == pytest.approx(
            solved(bed, near, away, share * flow, deep, sphericity, spread), abs=LEVEL
        )


@pytest.mark.identity
def test_orders_of_magnitude_at_one_end_of_the_demo_bed():
    """Steady 6 L/min: some 20 mm with grains of 12 mm and twice that with 4 mm, to a factor of 1.5."""
    for grain, expected in ((0.012, 0.020), (0.004, 0.040)):
        run = ran(outlet_along=0.03, grain_smallest=grain, grain_largest=grain)
        _, end = far_ends(run, run.plan.beds[0])
        assert expected / 1.5 < end.easy < end.hard < 1.5 * expected


def far(**changes):
    (found,) = (f for f in find(ran(**changes)) if f.key == "far_end" and f.subject == "bed 1")
    return found


@pytest.mark.identity
def test_fine_media_with_the_outlet_at_one_end_is_no_plain_yes():
    fine = far(outlet_along=0.05, grain_smallest=0.003, grain_largest=0.005)
    assert fine.state == "may or may not"
    assert "Dig a hole" in fine.change
    assert far(grain_smallest=0.003, grain_largest=0.005).state == "watch"  # nobody said where the outlet is
    assert far(outlet_along=0.6, grain_smallest=0.012, grain_largest=0.02).state == "good"


@pytest.mark.identity
def test_nothing_is_said_of_clogging_without_a_strainer_a_flood_or_a_drain_line():
    bare = replace(plan().beds[0], strainer=None)
    assert may_clog(ran(), plan().beds[0]) is not None
    assert may_clog(ran(), bare) is None
    still = run_plan(edit.put(plan(), {"pump.flow": 2.0 / 60e3}), trace=False)
    assert [group.outcome for group in still.groups] != ["cycles"]
    assert may_clog(still, still.plan.beds[0]) is None
    inside = read_plan(Path(__file__).parent / "plans" / "inside-bed.toml")
    (bed,) = [bed for bed in inside.beds if inside.run_from(bed.name) is None]
    assert may_clog(run_plan(inside, trace=False), replace(bed, strainer=plan().beds[0].strainer)) is None


@pytest.mark.identity
def test_a_strainer_may_clog_as_far_as_whole_runs_say():
    """A little less and nothing changes, a little more and the bed keeps too much."""
    share = may_clog(ran(), plan().beds[0])
    strainers = {f"bed.{b.name}.strainer.discharge_coefficient": 0.6 for b in plan().beds}
    states = []
    for clogged in (share - 0.04, share + 0.04):
        less = edit.put(plan(), {key: value * (1.0 - clogged) for key, value in strainers.items()})
        found = find(run_plan(less, trace=False))
        states.append({f.state for f in found if f.key == "drains"})
    assert states == [{"good"}, {"does not"}]
    (said,) = (turn for turn in turns(ran(), find(ran())) if turn.name == "clogged")
    assert f"{100 * share:.0f} %" in said.says
    assert not said.plausible  # half of the openings is what is in print of an old pipe
