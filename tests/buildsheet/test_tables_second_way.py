"""Tables of options, tools, time and readings worked out a second way, from plans, runs and other tables."""

import math
import re
import tomllib
from pathlib import Path

import pytest

from aquacalc.buildsheet import tables, work
from aquacalc.buildsheet.drilling import cutouts, drilling
from aquacalc.buildsheet.options import compare
from aquacalc.buildsheet.sheet import build_sheet
from aquacalc.buildsheet.steps import blanks
from aquacalc.buildsheet.stock import Workshop, read_workshop
from aquacalc.buildsheet.work import time_table, tools_table
from aquacalc.catalogue import data_dir
from aquacalc.geometry.strainers import strainers
from aquacalc.results.cycle import run_plan
from tests.buildsheet.test_second_way import NAMES, cuts_of, plan_of, read
from tests.report.second_way import SecondWay
from tests.report.test_text import PLANS

pytestmark = pytest.mark.identity
LISTED = tomllib.loads((Path(work.__file__).parent / "work.toml").read_text(encoding="utf-8"))
SHOP = read_workshop(data_dir() / "workshop-demo.toml")
#: Size of the reader's unit.
SIZES = {"metric": {"mm": 1e-3, "L": 1e-3, "L/min": 1e-3 / 60, "s": 1.0},
         "us": {"in": 0.0254, "gal": 3.785411784e-3, "gpm": 3.785411784e-3 / 60, "s": 1.0}}  # fmt: skip


def parts_of(name, shop=None):
    plan = plan_of(name)
    workshop = shop or Workshop()
    return plan, cuts_of(name), drilling(plan, workshop), strainers(plan), cutouts(plan)


@pytest.mark.parametrize("name", NAMES)
def test_time(name):
    plan, cuts, holes, cut, bells = parts_of(name)
    rows, total = read(time_table(plan, cuts, holes, cut, bells))
    with_strainer = {one.bed for one in cut}
    slots = sum(bed.strainer.count for bed in plan.beds if bed.strainer and bed.name in with_strainer)
    bell = sum(siphon.bell.openings for siphon in plan.siphons)
    notches = sum(siphon.bell.notch_height > 0.0 for siphon in plan.siphons)
    expected = {
        "vessels": len(plan.beds) + len(plan.chambers) + 1,
        "pieces": len(cuts.cuts),
        "holes": len(holes),
        "openings": slots + bell + notches,
        "once": 1,
        "siphons": len(plan.siphons),
    }
    low = high = 0.0
    for row, one in zip(rows, LISTED["work"], strict=True):
        assert row["work"] == one["work"]
        count = int(row["how many"])
        assert count == expected.get(one["counts"], count), one["work"]
        short, long = (float(x) for x in row["minutes each"].split(" to "))
        assert [short, long] == one["minutes"]
        said = [float(x) for x in row["minutes"].split(" to ")]
        assert said == [pytest.approx(count * short, abs=0.5), pytest.approx(count * long, abs=0.5)]
        low, high = low + count * short / 60.0, high + count * long / 60.0
    hours = [float(x) for x in total["minutes"].removesuffix(" h").split(" to ")]
    assert hours == [pytest.approx(low, abs=0.51), pytest.approx(high, abs=0.51)]


@pytest.mark.parametrize("name", PLANS)
def test_buckets_of_media_and_joints(name):
    """Media by its depth and the area at many heights; a joint for each end that goes into a socket."""
    from tests.independent import area_of

    plan, cuts, holes, cut, bells = parts_of(name)
    rows = {row["work"]: int(row["how many"]) for row in read(time_table(plan, cuts, holes, cut, bells))[0]}
    steps, litres = 4000, 0.0
    for bed in plan.beds:
        dz = bed.media.depth / steps
        litres += sum(area_of(bed.shape, (k + 0.5) * dz) for k in range(steps)) * dz * 1e3
    (buckets,) = (count for key, count in rows.items() if "bucket of media" in key)
    assert buckets in (math.ceil(litres / 10.0 - 1e-3), math.ceil(litres / 10.0 + 1e-3))
    (joints,) = (count for key, count in rows.items() if key.startswith("put a joint"))
    assert joints == sum(end > 0.0 for one in cuts.cuts for end in (one.into_first, one.into_last))


@pytest.mark.parametrize("name", [*PLANS, "seed 2", "seed 5"])
def test_tools(name):
    plan, _, holes, cut, _ = parts_of(name, SHOP)
    rows, _ = read(tools_table(plan, holes, cut, SHOP))
    tools = [row["tool"] for row in rows]
    assert len(set(tools)) == len(tools)
    assert [one["tool"] for one in LISTED["tool"]] == tools[: len(LISTED["tool"])]
    unit = SIZES[plan.units]["mm" if plan.units == "metric" else "in"]
    for row in rows[len(LISTED["tool"]) :]:
        users = set(row["for"].split(", "))
        numbers = [number(text) * unit for text in re.findall(r"\d[\d /.-]*(?= mm| in\b)", row["tool"])]
        if row["tool"].startswith("hole saw"):
            mine = [h for h in holes if numbers and h.diameters == pytest.approx(numbers, abs=6e-4)]
            mine = mine or [h for h in holes if not h.diameters and not numbers]
            assert {h.vessel for h in mine} == users, row
            yours = any(abs(saw - d) < 5e-4 for h in mine for d in h.diameters for saw in SHOP.hole_saws)
            assert row["yours or to get"] == ("yours" if yours else "borrow or buy"), row
        else:
            kind = "holes" if row["tool"].startswith("drill bit") else "slots"
            mine = {
                f"strainer of {c.bed}" for c in cut if c.kind == kind and abs(c.width - numbers[0]) < 6e-4
            }
            assert mine == users, row
    assert sum(len(row["for"].split(", ")) for row in rows if row["tool"].startswith("strainer")) == 0
    saws = {h.diameters for h in holes}
    assert sum(tool.startswith("hole saw") for tool in tools) == len(saws)


def number(text):
    """Read "44", "1-3/4" or "2.5"."""
    text = text.strip().rstrip("-")
    whole, _, part = text.partition("-") if "/" in text and "-" in text else ("0", "", text)
    if "/" in part:
        above, below = part.split("/")
        return float(whole) + float(above) / float(below)
    return float(part)


@pytest.mark.parametrize("name", ["greenhouse", "us-units", "two-groups", "side-outlets"])
def test_options(name):
    """Each column from a run of its plan: levels of the run, area times depth, parts of its own bill."""
    plan = plan_of(name)
    options = compare(plan, SHOP)
    table = tables.options_table(options, plan, SHOP.prices.currency)
    rows = table.rows
    units = SIZES[plan.units]
    for k, option in enumerate(options):
        said = {row[0].split(",")[0].split(" at ")[0]: (row[0], row[k + 1]) for row in rows}
        if option.problem:
            assert said["what it does"][1] == "cannot be built"
            continue
        run = run_plan(option.plan, trace=False)
        swing = run.sump_high - run.sump_low
        head, text = said["sump swing"]
        assert float(text) * units[head.split(", ")[1]] == pytest.approx(swing, rel=6e-3)
        drains = [group.drain_time for group in run.groups if group.outcome == "cycles"]
        assert said["drain time"][1] == (f"{max(drains):.0f}" if drains else "")
        assert set(said["what it does"][1].split(", ")) == {group.outcome for group in run.groups}
        bought = build_sheet(option.plan, SHOP).bill if option.name != "as planned" else None
        if bought is not None:
            assert int(said["parts to buy"][1]) == bought.parts
        if len(drains) == len(run.groups):
            way = SecondWay(option.plan, {"sections": []})
            left = sum(way.held(bed, run.node(bed.name).at_break) for bed in option.plan.beds)
            head, text = said["water left in the beds"]
            assert float(text) * units[head.split(", ")[1]] == pytest.approx(left, rel=2e-2, abs=3e-4)
        else:
            assert said["water left in the beds"][1] == ""


def swing(run, siphon):
    """Lowest to highest level of the sump in one cycle, from the run in time."""
    start, end = run.one_cycle(siphon)
    levels = [run.trace.level("sump", start + (end - start) * k / 4000) for k in range(4001)]
    return max(levels) - min(levels)


@pytest.mark.parametrize("name", PLANS)
def test_readings(name):
    """What the plan says of each reading, from its run."""
    plan = plan_of(name)
    run = run_plan(plan)
    rows, _ = read(tables.readings_table(blanks(plan, run), plan))
    units = SIZES[plan.units]
    assert len(rows) == 7 * len(plan.siphons)
    flow = sum(run.group(siphon.name).inflow for siphon in plan.siphons)
    for row in rows:
        assert row["value"] == row["error"] == ""
        group = run.group(row["siphon"])
        value = float(row["plan"]) * units[row["unit"]] if row["plan"] else None
        cycles = group.outcome == "cycles"
        expected = {
            "fill_time": group.period - group.drain_time if cycles else None,
            "drain_time": group.drain_time if cycles else None,
            "jug_flow": flow,
            "sump_rise": swing(run, row["siphon"]) if cycles and len(plan.siphons) == 1 else None,
        }
        if row["key"] in expected:
            wanted = expected[row["key"]]
            if wanted is not None:
                assert value == pytest.approx(wanted, rel=6e-3), row
        if row["key"] == "level_at_break" and value is not None:
            siphons = SecondWay(plan, {"sections": []}).hosts
            mine = [bed for bed in plan.beds if siphons[bed.name].name == row["siphon"]]
            deepest = max(run.node(bed.name).at_break - bed.floor for bed in mine)
            assert value == pytest.approx(deepest, rel=6e-3), row
            assert row["bed"] in {bed.name for bed in mine}
