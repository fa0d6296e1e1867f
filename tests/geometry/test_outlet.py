"""The water that an outlet leaves, as it is built: by hand, and the same in report and build sheet."""

import csv
import io
import itertools
import math
from dataclasses import replace

import pytest

from aquacalc import catalogue
from aquacalc.buildsheet import tables
from aquacalc.catalogue import data_dir
from aquacalc.geometry.joints import next_size, socket_depth
from aquacalc.geometry.strainers import (
    FIXINGS,
    first_opening,
    outlet_level,
    sill,
    strainer_area,
    strainer_cut,
)
from aquacalc.hydraulics.levels import start_level
from aquacalc.plan import edit, read_plan
from aquacalc.report.content import build_report
from aquacalc.results.cycle import run_plan

pytestmark = pytest.mark.identity
DEMO = read_plan(data_dir() / "plans" / "greenhouse.toml")
PLANS = sorted((data_dir() / "plans").glob("*.toml"))


@pytest.mark.parametrize(
    ("fixing", "mm"),
    # A pipe of 48.26 x 40.894 stands 6 mm and a chamfer of 4 through its seal. A coupling is two sockets of
    # 27.8 and a stop of 3; 5 mm of wall lie under the first slot. An elbow: socket 27.8, half the outside
    # and 1 to the middle, half the bore down to the invert.
    [
        ("over the outlet", 6 + 4),
        ("in a coupling", 2 * 27.8 + 3 + 5),
        ("lying on the floor", 27.8 + 48.26 / 2 + 1 - 40.894 / 2),
        ("media guard", 6 + 4),
    ],
)
def test_sill_by_hand(fixing, mm):
    plan = edit.put(DEMO, {"bed.*.strainer.fixing": fixing})
    assert sill(plan, plan.beds[0]) * 1e3 == pytest.approx(mm, abs=0.05)
    assert start_level(plan, "bed 1") == pytest.approx(0.700 + mm / 1e3, abs=5e-5)


def test_the_usual_way_leaves_least():
    heights = {f: sill(DEMO, DEMO.beds[0], f) for f in FIXINGS}
    assert heights[DEMO.beds[0].strainer.fixing] == min(heights.values())


def test_a_coupling_keeps_its_water():
    """54 mm more stay, in 1.2 x 0.5 m at a porosity of 0.45: so much less goes to and fro in each bed."""
    other = edit.put(DEMO, {"bed.*.strainer.fixing": "in a coupling"})
    kept = [run_plan(p, trace=False).node("bed 1").low for p in (DEMO, other)]
    assert kept[1] - kept[0] == pytest.approx(0.0536, abs=0.002)


def test_a_side_outlet_drains_to_its_invert():
    plan = edit.put(DEMO, {"bed.bed 1.outlet": "side", "bed.bed 1.outlet_height": 0.03})
    assert outlet_level(plan, plan.beds[0]) == pytest.approx(0.730)


def test_a_guard_stands_out_of_the_media():
    plan = edit.put(DEMO, {"bed.*.strainer.fixing": "media guard"})
    cut = strainer_cut(plan, plan.beds[0])
    assert cut.tube >= 0.270 + 0.020 - 1e-9
    assert cut.pipe.bore >= 0.04826 + 0.050


@pytest.mark.parametrize("path", PLANS, ids=lambda p: p.stem)
def test_report_and_build_sheet_say_the_same(path):
    plan = read_plan(path)
    rows = {r["bed"]: r for r in csv.DictReader(io.StringIO(tables.outlets_table(plan).csv()))}
    report = build_report(plan)
    (section,) = (s for s in report.sections if s.key == "strainers")
    table = next(t for t in section.tables if t.key == "outlets")
    assert len(table.lines) == len(rows) > 0
    for line in table.lines:
        assert round(line.cells[1].value * 1e3) == int(rows[line.name]["sill, mm"])


def test_open_area_of_slots_and_of_holes():
    """28 slots of 3 x 25 mm, or as many holes of 6 mm: n w l and n pi d^2 / 4; none without a strainer."""
    assert strainer_area(DEMO, "bed 1") == pytest.approx(28 * 0.003 * 0.025)
    holes = replace(
        DEMO.beds[0], strainer=replace(DEMO.beds[0].strainer, kind="holes", width=0.006, length=0.0)
    )
    assert strainer_area(replace(DEMO, beds=(holes,)), "bed 1") == pytest.approx(28 * math.pi / 4 * 0.006**2)
    assert strainer_area(replace(DEMO, beds=(replace(holes, strainer=None),)), "bed 1") == 0.0
    assert strainer_area(DEMO, "bed 9") == 0.0


@pytest.mark.parametrize(
    ("seal", "fixing", "mm"),
    # A tank fitting of 1-1/2 in has a socket of 27.8 mm whose stop is 10 mm lower: 10 mm over the floor. A
    # coupling stands on a seal 2 x 27.8 and 3 mm high. Wall under the first slot: its width, 5 mm at least.
    [("rubber pipe seal", "over the outlet", 5.0), ("rubber pipe seal", "media guard", 5.0),
     ("rubber pipe seal", "lying on the floor", 0.0), ("tank fitting", "lying on the floor", 0.0),
     ("rubber pipe seal", "in a coupling", 58.6 + 8.0), ("tank fitting", "in a coupling", 10.0 + 8.0)],
)  # fmt: skip
def test_the_lowest_opening_is_as_high_as_what_is_under_it(seal, fixing, mm):
    """Slots of 8 mm."""
    assert first_opening(seal, DEMO.runs[0].pipe, fixing, 0.008) * 1e3 == pytest.approx(mm, abs=0.05)


def test_the_next_size_is_the_narrowest_of_its_series_that_has_the_bore():
    series = DEMO.runs[0].pipe.series
    for s, t in itertools.pairwise(sorted(catalogue.sizes(series), key=lambda s: s.bore)):
        assert next_size(series, s.bore).size == s.size
        assert next_size(series, s.bore + 1e-6).size == t.size
    widest = max(s.bore for name in catalogue.series() for s in catalogue.sizes(name))
    for name in catalogue.series():
        own = max(s.bore for s in catalogue.sizes(name))
        if own < widest - 1e-3:
            of_any = next_size(name, own + 1e-4)
            assert of_any.series != name
            assert own + 1e-4 <= of_any.bore <= widest
    none = next_size(series, widest + 0.001)
    assert (none.bore, none.outside_diameter - none.bore) == pytest.approx((widest + 0.001, 0.006))
    assert none.size == f"bore at least {(widest + 0.001) * 1e3:.0f} mm"
    assert next_size("own", 0.04).bore >= 0.04


@pytest.mark.parametrize(
    ("fixing", "sockets", "first"),
    [("over the outlet", 1.0, 0.005), ("in a coupling", 2.0, 0.008), ("lying on the floor", 2.0, 0.008)],
)
def test_a_strainers_tube_is_as_long_as_its_rings_and_what_it_is_put_into(fixing, sockets, first):
    """Slots of 8 mm, as much wall after each ring; a cap on top, and a socket at the foot but for a foot."""
    strainer = replace(DEMO.beds[0].strainer, fixing=fixing, width=0.008, count=30)
    bed = replace(DEMO.beds[0], strainer=strainer)
    cut = strainer_cut(replace(DEMO, beds=(bed, *DEMO.beds[1:])), bed)
    half_round = math.pi * cut.pipe.outside_diameter / 2
    assert cut.per_ring == math.floor(half_round / 0.025)
    assert cut.rings == math.ceil(30 / cut.per_ring)
    assert cut.around * cut.per_ring == pytest.approx(2 * half_round)
    assert cut.wall_left == pytest.approx(1 - cut.per_ring * 0.025 / (2 * half_round))
    assert (cut.pitch, cut.bridge, cut.first) == pytest.approx((0.016, 0.008, first))
    assert cut.tube == pytest.approx(first + cut.rings * 0.016 + sockets * socket_depth(cut.pipe))
    assert cut.wanted == math.ceil(cut.asked / (0.008 * 0.025))
