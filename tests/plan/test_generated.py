"""Plans drawn by number can be read, are the same every time, and leave no kind of plan out."""

import pytest

from aquacalc import catalogue
from aquacalc.plan import plan_from_text
from tests.plan.generated import BED_SHAPES, UPRIGHT, plan_text, topology


@pytest.mark.identity
def test_a_seed_is_one_text():
    assert plan_text(7) == plan_text(7)
    assert len({plan_text(seed) for seed in range(50)}) == 50


@pytest.mark.identity
def test_200_seeds_leave_no_kind_out():
    plans = [plan_from_text(plan_text(seed)) for seed in range(200)]
    beds = [bed for plan in plans for bed in plan.beds]
    siphons = [siphon for plan in plans for siphon in plan.siphons]
    pipes = [run.pipe for plan in plans for run in plan.runs]
    seen = {
        "topology": {topology(plan, s.host) for plan in plans for s in plan.siphons},
        "siphons": {len(plan.siphons) for plan in plans},
        "shape": {bed.shape.kind for bed in beds},
        "chamber": {chamber.shape.kind for plan in plans for chamber in plan.chambers},
        "sump": {plan.sump.shape.kind for plan in plans},
        "outlet": {bed.outlet for bed in beds},
        "strainer": {bed.strainer.kind if bed.strainer else "none" for bed in beds},
        "media": {bed.media.name for bed in beds},
        "seal": {bed.seal for bed in beds},
        "series": {pipe.series for pipe in pipes},
        "standpipe": {s.standpipe.pipe.series for s in siphons},
        "reducer": {
            s.standpipe.entry if s.standpipe.lip_diameter > s.standpipe.pipe.bore else "none" for s in siphons
        },
        "priming": {s.priming.observed is not None for s in siphons},
        "pump": {("curve" if p.pump.curve else "flow", p.pump.delivery is not None) for p in plans},
        "measured with": {plan.sump.measured_with for plan in plans},
        "units": {plan.units for plan in plans},
    }
    every_series = {*catalogue.series(), catalogue.OWN}
    assert seen == {
        "topology": {"single", "series", "star", "comb", "own runs", "inside a bed"},
        "siphons": {1, 2, 3},
        "shape": set(BED_SHAPES),
        "chamber": set(UPRIGHT),
        "sump": set(UPRIGHT),
        "outlet": {"floor", "side"},
        "strainer": {"slots", "holes", "none"},
        "media": set(catalogue.media_names()),
        "seal": {"rubber pipe seal", "tank fitting"},
        "series": every_series,
        "standpipe": every_series,
        "reducer": {"none", "square", "cone", "rounded"},
        "priming": {True, False},
        "pump": {("flow", False), ("flow", True), ("curve", True)},
        "measured with": {"beds drained", "beds flooded"},
        "units": {"metric", "us"},
    }
