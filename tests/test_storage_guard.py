"""Water in a bed with a siphon inside: media between guard and walls, clear water inside the guard."""

import math

import pytest

from aquacalc.hydraulics.levels import volume_at
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan import read_plan

pytestmark = pytest.mark.identity


def test_no_media_stand_inside_a_guard():
    plan = read_plan("tests/plans/inside-bed.toml")
    siphon = plan.siphons[0]
    bed = plan.vessel(siphon.host)
    level = 0.5 * min(bed.media.depth, siphon.standpipe.height)
    assert siphon.bell.rim_height < level < siphon.bell.top_height
    area = bed.shape.length * bed.shape.width
    guard = math.pi / 4 * siphon.media_guard**2
    pipe = math.pi / 4 * siphon.standpipe.pipe.outside_diameter**2
    wall = math.pi / 4 * (siphon.bell.outside_diameter**2 - siphon.bell.bore**2)
    held = (area - guard) * bed.media.porosity * level + guard * level
    held -= pipe * level + wall * (level - siphon.bell.rim_height)
    assert volume_at(vessel_cells(plan, bed), bed.floor + level) == pytest.approx(held, rel=1e-6)
