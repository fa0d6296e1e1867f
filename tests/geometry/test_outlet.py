"""The water that an outlet leaves, as it is built: by hand, and the same in report and build sheet."""

import csv
import io

import pytest

from aquacalc.buildsheet import tables
from aquacalc.catalogue import data_dir
from aquacalc.geometry.strainers import FIXINGS, outlet_level, sill, strainer_cut
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
