"""Weights, by hand and against a published kind of figure."""

from dataclasses import replace
from pathlib import Path

import pytest

from aquacalc.buildsheet.weight import bed_weight, weights
from aquacalc.findings.beds import weight
from aquacalc.plan.model import Media
from aquacalc.plan.read import read_plan
from aquacalc.plan.shapes import Rectangular
from aquacalc.results.cycle import run_plan

ROOT = Path(__file__).resolve().parents[2]
DEMO = read_plan(ROOT / "data" / "plans" / "greenhouse.toml")


@pytest.mark.identity
def test_gravel_bed_of_30_cm():
    """0.30 m of gravel of 1600 kg/m3, 0.40 of it water: 480 + 120 kg on each m2 (arithmetic)."""
    bed = replace(
        DEMO.beds[0],
        shape=Rectangular(0.30, length=1.0, width=1.0),
        media=Media("gravel", 0.30, 0.40, 1600.0),
        empty_mass=0.0,
    )
    weighed = bed_weight(replace(DEMO, beds=(bed, *DEMO.beds[1:])), bed, bed.rim)
    assert weighed.per_area == pytest.approx(600.0, abs=0.5)


@pytest.mark.identity
def test_demo_by_hand():
    weighed = bed_weight(DEMO, DEMO.beds[0], 0.930)
    # 1.2 x 0.5 x 0.27 m of clay at 380 kg/m3; water at 20 degC 998.2 kg/m3, 0.23 m deep in 0.45 of the media.
    assert weighed.dry == pytest.approx(14 + 0.162 * 380)
    assert weighed.wet == pytest.approx(weighed.dry + 0.6 * 0.23 * 0.45 * 998.2, abs=0.05)
    # To the rim: 0.27 m in the media and 0.03 m of free water.
    assert weighed.full == pytest.approx(weighed.dry + 0.6 * (0.27 * 0.45 + 0.03) * 998.2, abs=0.05)
    assert weighed.per_support == pytest.approx(weighed.full / 4)
    assert weighed.per_area == pytest.approx(weighed.full / 0.6)
    assert not weighed.over
    assert replace(weighed, limit=weighed.per_area - 1).over
    assert not replace(weighed, limit=0.0).over


@pytest.mark.identity
def test_flooded_is_the_mass_of_the_report():
    """The highest water of the run, not the lip, on the sheet as in the findings."""
    run = run_plan(DEMO, trace=False)
    for weighed, bed in zip(weights(DEMO, run), DEMO.beds, strict=True):
        assert weighed.wet == weight(DEMO, bed, run.node(bed.name).high).total
        assert weighed.wet > bed_weight(DEMO, bed, 0.930).wet
