"""Every number of the report's JSON is worked out a second way, from the plan and from each other."""

import functools
import math
from dataclasses import replace

import pytest

from aquacalc import units
from aquacalc.findings.building_words import WORDS
from aquacalc.plan import edit, plan_from_text
from aquacalc.plan.schema import TABLES
from aquacalc.report.as_json import as_dict
from aquacalc.report.content import build_report
from aquacalc.results.clogging import may_clog
from aquacalc.results.cycle import run_plan
from tests.independent import G
from tests.plan.generated import plan_text
from tests.report.second_way import FROM_THE_RUN, SecondWay, carried_off
from tests.report.test_text import PLANS, report

pytestmark = pytest.mark.identity
#: Drawn plans on top of those that are written: every topology and shape between them.
SEEDS = range(12)
NAMES = [*PLANS, *(f"seed {n}" for n in SEEDS)]
#: Friction from `fluids` and viscosity from `iapws` differ from ours by less than 0.2 %, and so does a half
#: drum, whose lowest line has no area; a level that rests on one by 0.2 mm.
RELATIVE, LEVEL = 2e-3, 2e-4


@functools.cache
def second(name):
    if name.startswith("seed "):
        found = build_report(plan_from_text(plan_text(int(name[5:]))))
    else:
        found = report(name)
    return SecondWay(found.plan, as_dict(found))


def near(expected, column):
    return pytest.approx(expected, rel=RELATIVE, abs=LEVEL if column not in ("flow", "velocity") else 1e-9)


def assert_is_in_the_plan(plan, row, text):
    """What is said to be assumed is a value of the plan: 'bed.*.porosity of bed 1', '0.450'."""
    words, _, subject = row.partition(" of ")
    value = edit.get(plan, words.replace("*", subject))
    if isinstance(value, float):
        path = words.replace(".*", "")
        kind = TABLES[path.rpartition(".")[0]].key(path.rpartition(".")[2]).kind
        assert units.read(text, kind) == pytest.approx(value, rel=5e-3, abs=5e-4), row
    elif isinstance(value, str):
        assert text == value, row


@pytest.mark.parametrize("name", NAMES)
def test_rows(name):
    way = second(name)
    expected, seen = way.rows(), 0
    for (section, subject), said in way.sections.items():
        for row, of in said["rows"].items():
            if section == "marks":
                assert_is_in_the_plan(way.plan, row, of["value"])
            elif (section, subject, row) in expected:
                wanted = expected[section, subject, row]
                if math.isnan(wanted):  # between laminar and turbulent
                    continue
                # Small numbers in SI (areas, flows, volumes) are held relatively.
                small = abs(wanted) < 0.02 and of["unit"] != "m"
                close = pytest.approx(wanted, rel=RELATIVE) if small else near(wanted, row)
                assert of["value"] == close, (section, subject, row)
                seen += 1
            else:
                known = FROM_THE_RUN.get(section, set())
                assert row in known, f"{section}.{row} has no second way"
    assert seen >= 30
    for siphon in way.plan.siphons:  # water over the end of the tail, and over the sump, flows
        rows = {key: set(way.sections[key, siphon.name]["rows"]) for key in ("siphon", "window")}
        for where, row in (("lip", None), ("rim", "stop")):
            flows = way.value("siphon", f"head_{where}", siphon.name) > 0.0
            assert (f"flow_{where}" in rows["siphon"]) == flows
            assert row is None or (row in rows["window"]) == flows


@pytest.mark.parametrize("name", NAMES)
def test_cells(name):
    way = second(name)
    expected = way.cells()
    for (section, table, line, column), wanted in expected.items():
        said = way.cell(section, table, line, column)
        if math.isnan(wanted):
            continue
        small = abs(wanted) < 0.02 and column in ("area", "bore_area")
        close = pytest.approx(wanted, rel=1e-9) if small else near(wanted, column)
        if column == "settles":  # ours takes 80 steps to the far end
            close = pytest.approx(wanted, rel=0.01)
        assert said == close, (section, line, column)
    for (section, _), said in way.sections.items():
        for table, of in said["tables"].items():
            if section in (
                "siphon",
                "trust",
            ):  # the siphon's losses have a test of their own, the other is words
                continue
            for line, cells in of["lines"].items():
                for column, cell in cells.items():
                    known = column in FROM_THE_RUN.get(table, ())
                    worked = (section, table, line, column) in expected
                    assert known or worked or not isinstance(cell["value"], float), (
                        f"{table}.{line}.{column} has no second way"
                    )


@pytest.mark.parametrize("name", NAMES)
def test_losses_of_a_siphon(name):
    way = second(name)
    for siphon in way.plan.siphons:
        for table, of in way.sections["siphon", siphon.name]["tables"].items():
            expected = way.losses(siphon, table.removeprefix("head_"))
            for part, cells in of["lines"].items():
                for column, wanted in expected[part].items():
                    if not math.isnan(wanted):
                        assert cells[column]["value"] == near(wanted, column), (table, part, column)


@pytest.mark.parametrize("name", NAMES)
def test_levels_to_fill_the_sump_to(name):
    way = second(name)
    expected = way.fill()
    assert len(way.out["fill"]) == len(expected)
    for said, (low, high) in zip(way.out["fill"], expected, strict=True):
        assert (said["low"], said["high"]) == pytest.approx((low, high), abs=LEVEL), said["state"]


@pytest.mark.parametrize("name", NAMES)
def test_windows_have_the_numbers_of_the_sections(name):
    """And each number of a window is one of them, the spare and the level apart."""
    way = second(name)
    for window in way.out["windows"]:
        siphon = next(s for s in way.plan.siphons if s.name == window["siphon"])
        rows = {key: of["value"] for key, of in way.sections["window", siphon.name]["rows"].items()}
        numbers = {key: x for key, x in window.items() if type(x) is float}
        for key in (
            "start_low",
            "start",
            "start_high",
            "stop",
            "stop_with_margin",
            "today_low",
            "today_high",
        ):
            if key in rows and key in numbers:
                assert numbers.pop(key) == rows[key], key
        for key in ("today_low", "today_high"):
            if numbers.get(key) == numbers["today"]:  # a pump that gives the same at any level
                del numbers[key]
        assert numbers.pop("today") == pytest.approx(way.value("cycle", "inflow", siphon.name), rel=1e-6)
        assert numbers.pop("head_at_rim") == pytest.approx(
            way.value("siphon", "head_rim", siphon.name), rel=1e-9
        )
        floor = way.plan.vessel(siphon.host).floor
        assert numbers.pop("stop_level") == pytest.approx(floor + siphon.bell.rim_height, rel=1e-9)
        assert numbers.pop("margin") == pytest.approx(
            max(way.plan.limits.stop_margin, 0.0066 * 9.0**1.4), rel=1e-9
        )
        if window["tail_full"] == "full":
            assert numbers.pop("stop_least") == window["stop"]
        assert set(numbers) <= {"stop", "stop_least", "stop_with_margin"}, "no second way"


def test_strainer_may_clog_until_the_bed_would_overflow():
    """Where hardly any wall is left, the inflow through what is open of the strainer reaches the rim."""
    plan = report("greenhouse").plan
    shallow = {"bed.*.depth": 0.245, "bed.*.media_depth": 0.245, "limits.residual": 0.2}
    run = run_plan(edit.put(plan, shallow))
    bed = run.plan.beds[0]
    inflow = run.pump * bed.inflow_share / sum(b.inflow_share for b in run.plan.beds)
    s = bed.strainer
    clear = (inflow / (s.discharge_coefficient * s.count * s.width * s.length)) ** 2 / (2.0 * G)
    room = bed.rim - run.node(bed.name).high
    assert may_clog(run, bed) == pytest.approx(1.0 - math.sqrt(clear / (room + clear)), rel=1e-6)


def test_a_pump_of_any_power_has_its_energy():
    found = build_report(edit.put(report("greenhouse").plan, {"pump.power": 0.5}))
    rows = next(s for s in as_dict(found)["sections"] if s["key"] == "pump")["rows"]
    assert rows["energy"]["value"] == pytest.approx(0.5 * 86400.0)


def test_a_row_is_shown_with_its_band():
    (row,) = (r for s in report("greenhouse").sections for r in s.rows if r.key == "purge_time")
    assert row.shown("metric") == "23.2 s (7.44 s to 61.1 s)"
    assert row.note.endswith("it takes 20.1 s in this plan's cycle")
    assert replace(row, low=None).shown("metric") == "23.2 s"
    assert replace(row, high=None).shown("metric") == "23.2 s"


def test_the_window_says_whose_flows_it_shows():
    def notes(plan):
        (window,) = (s for s in build_report(plan).sections if s.key == "window")
        return {row.key: (row.note, row.worked is not None) for row in window.rows if "start" in row.key}

    plan = report("greenhouse").plan
    assert notes(plan) == {
        "start_low": ("Froude number 0.3", True),
        "start": ("Froude number 0.55, the middle estimate", True),
        "start_high": ("Froude number 1", True),
    }
    seen = edit.put(
        plan, {"siphon.siphon.priming.observed": 2e-4, "siphon.siphon.priming.observed_error": 1e-5}
    )
    assert notes(seen) == {
        "start_low": ("your own reading, less its error", False),
        "start": ("your own reading", False),
        "start_high": ("your own reading and its error", False),
    }


@pytest.mark.parametrize("name", ["greenhouse", "inside-bed", "two-groups"])
def test_the_siphons_equation_counts_all_pipe_of_the_standpipes_bore(name):
    way = second(name)
    for siphon in way.plan.siphons:
        values = way.sections["siphon", siphon.name]["rows"]["flow_lip"]["worked"]["values"]
        assert siphon.tail.pipe == siphon.standpipe.pipe
        assert values["L"]["value"] == pytest.approx(siphon.standpipe.height + siphon.tail.length)
        lines = way.sections["siphon", siphon.name]["tables"]["head_lip"]["lines"]
        assert values["f"]["value"] == pytest.approx(lines["tail"]["friction"]["value"])
        assert values["A"]["value"] == pytest.approx(math.pi / 4 * siphon.standpipe.pipe.bore**2)


@pytest.mark.parametrize("name", PLANS)
def test_band_of_the_purge(name):
    """From a jump of Froude number 10 to one of 3."""
    way = second(name)
    for siphon in way.plan.siphons:
        rows = way.sections["standpipe", siphon.name]["rows"]
        air, flow = rows["trapped_air"]["value"], rows["choking_flow"]["value"]
        assert rows["purge_time"]["low"] == pytest.approx(carried_off(10.0, air, flow), rel=1e-9)
        assert rows["purge_time"]["high"] == pytest.approx(carried_off(3.0, air, flow), rel=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_drain_lines_share_the_siphons_flow_by_the_water_behind_them(name):
    way = second(name)
    if ("drain_lines", "") not in way.sections:
        return
    plan = way.plan
    behind = {run.start: [run.start] for run in plan.runs}
    after = {run.start: run.to for run in plan.runs}
    for start in after:
        step = after[start]
        while step in after:
            behind[step].append(start)
            step = after[step]
    beds = {bed.name: bed for bed in plan.beds}

    def water(vessel, siphon):
        lip, low = plan.vessel(siphon.host).floor + siphon.standpipe.height, way._drained(vessel)
        return way.held(vessel, max(lip, low)) - way.held(vessel, low)

    for run in plan.runs:
        siphon = way.hosts[next(n for n in behind[run.start] if n in beds)]
        mine = [bed for bed in plan.beds if way.hosts[bed.name] is siphon]
        whole = sum(water(bed, siphon) for bed in mine)
        if siphon.host not in beds:
            whole += water(plan.vessel(siphon.host), siphon)
        part = sum(water(beds[n], siphon) for n in behind[run.start] if n in beds) / whole
        flow = part * way.sections["siphon", siphon.name]["rows"]["flow_lip"]["value"]
        said = way.cell("drain_lines", "drain_lines", f"{run.start} to {run.to}", "flow")
        assert said == pytest.approx(flow, rel=RELATIVE), run.start


@pytest.mark.parametrize("name", NAMES)
def test_findings_have_the_numbers_of_the_sections(name):
    way, seen = second(name), set()
    for finding in way.out["findings"]:
        key, subject = finding["key"], finding["subject"]
        wanted = way.finding(key, subject) if finding["value"] is not None else None
        if wanted is None:
            # A far end without a table is that of a bed without a drain line: see tests/test_far_end.py.
            built = key in WORDS or key == "far_end" or finding["value"] is None
            assert built, f"{key} of {subject} has no second way"
            continue
        value, limit, sign = wanted
        seen.add(key)
        assert finding["value"] == pytest.approx(value, rel=1e-9), key
        assert finding["limit"] == (None if limit is None else pytest.approx(limit, rel=1e-9)), key
        if limit is None:
            assert finding["margin"] is None, key
            continue
        margin = sign * (value - limit)
        # The finding on too much water says by how much it is over, the others what is in hand.
        if key != "runs_on":
            assert finding["margin"] == pytest.approx(margin, rel=1e-9, abs=1e-12), key
            assert (finding["state"] == "good") == (margin >= 0.0), key
    assert len(seen) >= 9
