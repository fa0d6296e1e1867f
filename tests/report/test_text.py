"""The report's content: every number agrees with the equation it names; the text is fit to read."""

import functools
import math
import re

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.equations import RECORDS
from aquacalc.equations.worked import worked
from aquacalc.plan import edit, plan_from_text, read_plan
from aquacalc.report import text as module
from aquacalc.report.content import build_report, shown
from aquacalc.report.records import TEXT, Cell, Column, Line, Table
from aquacalc.report.text import _HEADINGS as HEADINGS
from aquacalc.report.text import WIDTH, text, verdict
from aquacalc.units import KINDS

pytestmark = pytest.mark.identity
PLANS = {
    path.stem: path
    for folder in (data_dir() / "plans", data_dir().parent / "tests" / "plans")
    for path in sorted(folder.glob("*.toml"))
}
#: Rows whose number no single equation gives: read off the plan, off the run in time, or one from the other.
NOT_ONE_EQUATION = {
    "power_cut": {"sump", "comes_back", "pipe", "rest", "held"},
    "cycle": {"outcome", "period", "floods", "fill_time", "spill_time", "priming_time", "drain_time",
              "inflow", "flood", "pumped", "flow_start", "flow_break", "breaks", "flow_steady", "level",
              "above"},
    "window": {"today", "today_low", "today_high"},
    "standpipe": {"pipe", "bore", "lip_diameter", "lip", "priming_level"},
    "siphon": {"head_lip", "head_rim"},
    "sump": {"low", "high", "swing", "swing_volume", "pump_off", "rim", "freeboard", "intake", "cover",
             "water"},
    "pump": {"flow", "turnover", "power", "energy"},
    "water": {"temperature"},
}  # fmt: skip


@functools.cache
def report(name):
    return build_report(read_plan(PLANS[name]))


def section(name, key):
    return next(s for s in report(name).sections if s.key == key)


def value(name, key, row):
    return next(r.value for r in section(name, key).rows if r.key == row)


def numbers(found):
    """Every (place, value, Working) of a report."""
    for s in found.sections:
        for row in s.rows:
            yield f"{s.key}.{row.key}", row.value, row.worked
        for table in s.tables:
            for line in table.lines:
                for column, cell in zip(table.columns, line.cells, strict=True):
                    yield f"{s.key}.{table.key}.{line.name}.{column.key}", cell.value, cell.worked


@pytest.mark.parametrize("name", PLANS)
def test_every_number_is_what_its_equation_gives(name):
    count = 0
    for place, number, working in numbers(report(name)):
        if working is not None:
            equation = RECORDS[working.equation]
            result = equation.solve_for(working.solve_for or equation.output.key, **working.values)
            assert result.value == pytest.approx(number, rel=1e-9), place
            count += 1
    assert count > 30


@pytest.mark.parametrize("name", PLANS)
def test_rows_without_an_equation_are_the_known_ones(name):
    observed = any(s.priming.observed is not None for s in report(name).plan.siphons)
    for s in report(name).sections:
        if s.key == "marks":  # values of the plan itself
            continue
        bare = {row.key for row in s.rows if row.worked is None}
        allowed = NOT_ONE_EQUATION.get(s.key, set())
        if observed:  # the grower's own reading
            allowed = allowed | {"start_low", "start", "start_high", "choking_flow"}
        assert bare <= allowed, s.key


def test_demo_plan_is_inside_every_range():
    for place, _, working in numbers(report("greenhouse")):
        if working is not None:
            equation = RECORDS[working.equation]
            result = equation.solve_for(working.solve_for or equation.output.key, **working.values)
            assert not result.warnings, place


@pytest.mark.parametrize("name", ["greenhouse", "us-units"])
def test_numbers_open_into_worked_calculations(name):
    seen = set()
    for place, _, working in numbers(report(name)):
        if working is None or working.equation in seen:
            continue
        seen.add(working.equation)
        done = worked(RECORDS[working.equation], working.values, report(name).plan.units, working.solve_for)
        assert done.text.count("\n") >= 2, place
    assert len(seen) > 15


@pytest.mark.parametrize("name", PLANS)
def test_text_is_fit_to_read(name):
    words = text(report(name))
    assert words.endswith("\n")
    assert not re.search(r"\b(None|nan|inf|True|False)\b", words)
    for line in words.splitlines():
        assert len(line) <= WIDTH, line
        assert line == line.rstrip()
    for finding in report(name).findings:
        assert finding.title in words.replace("\n    ", " ")
    for s in report(name).sections:
        assert s.title in words
        for row in s.rows:
            assert row.label in words


@pytest.mark.parametrize("name", PLANS)
def test_every_number_is_shown_with_its_unit(name):
    system = report(name).plan.units
    for s in report(name).sections:
        for row in s.rows:
            if row.kind == TEXT or row.value is None:
                continue
            has_unit = bool(KINDS[row.kind].si)
            assert bool(re.search(r"[A-Za-z²³%]$", row.shown(system).split(" (")[0])) == has_unit, row
            assert math.isfinite(row.value)


def test_keys_do_not_repeat():
    for name in PLANS:
        sections = report(name).sections
        assert len({(s.key, s.subject) for s in sections}) == len(sections)
        for s in sections:
            assert len({r.key for r in s.rows}) == len(s.rows)
            for t in s.tables:
                assert len({c.key for c in t.columns}) == len(t.columns)
                assert len({line.name for line in t.lines}) == len(t.lines)


def test_verdict_in_one_sentence():
    assert verdict(report("greenhouse")) == "This plan works."
    assert verdict(report("sump-overflows")).startswith("This plan does not work: sump overflows (sump); ")
    short = edit.put(report("greenhouse").plan, {"limits.strainer_ratio": 1.7})
    assert verdict(build_report(short)) == "This plan works, with 1 thing to watch."
    short = edit.put(report("greenhouse").plan, {"limits.floods_low": 5.0})
    assert verdict(build_report(short)) == "This plan works, with 1 thing to watch."


def test_faults_alike_share_their_name_in_the_verdict(monkeypatch):
    low = edit.put(report("greenhouse").plan, {"bed.*.depth": 0.236, "bed.*.media_depth": 0.2})
    assert verdict(build_report(low)) == "This plan does not work: bed overflows (bed 1, bed 2, bed 3)."
    worse = edit.put(low, {"limits.floor_load": 50.0, "sump.depth": 0.62, "pump.flow": 42 / 60e3})
    monkeypatch.setattr(module, "FAULTS", 2)
    assert verdict(build_report(worse)) == (
        "This plan does not work: runs on without stopping (siphon); and 2 more faults."
    )


@pytest.mark.parametrize("name", ["greenhouse", "pump-curve", "two-groups"])
def test_a_cycle_is_the_sum_of_its_parts(name):
    parts = sum(value(name, "cycle", k) for k in ("fill_time", "spill_time", "priming_time", "drain_time"))
    assert parts == pytest.approx(value(name, "cycle", "period"), rel=1e-12)


def test_cycle_by_hand_is_near_the_cycle_in_time():
    """It leaves out what spills over the lip, so it is shorter, by no more than spilling and priming last."""
    by_hand, period = value("greenhouse", "cycle", "by_hand"), value("greenhouse", "cycle", "period")
    lost = value("greenhouse", "cycle", "spill_time") + value("greenhouse", "cycle", "priming_time")
    assert period - lost < by_hand < period


@pytest.mark.parametrize("name", ["greenhouse", "inside-bed", "us-units"])
@pytest.mark.parametrize("where", ["lip", "rim"])
def test_where_the_head_goes_adds_up_to_the_head(name, where):
    table = next(t for t in section(name, "siphon").tables if t.key == f"head_{where}")
    lost = sum(line.cells[-1].value for line in table.lines)
    assert lost == pytest.approx(value(name, "siphon", f"head_{where}"), rel=1e-9)


def test_drain_lines_carry_the_siphon_flow_less_the_chambers_part():
    """The chamber holds 0.4 m of a 0.25 m round less bell and standpipe, near 19 of 201 L."""
    (table,) = section("greenhouse", "drain_lines").tables
    flows = {line.name: line.cells[3].value for line in table.lines}
    assert flows["tee 2 to tee 3"] == pytest.approx(flows["bed 1 to tee 2"] + flows["bed 2 to tee 2"])
    onward = flows["tee 2 to tee 3"] + flows["bed 3 to tee 3"]
    assert flows["tee 3 to chamber"] == pytest.approx(onward)
    assert onward / value("greenhouse", "siphon", "flow_lip") == pytest.approx(1 - 19 / 201, abs=0.003)


def test_several_siphons_are_told_apart():
    words = text(report("two-groups"))
    assert "One cycle: siphon A\n" in words
    assert "One cycle: siphon B\n" in words
    assert "One cycle\n" in text(report("greenhouse"))


def test_where_nothing_cycles_the_report_says_what_it_comes_to():
    words = text(report("spills-without-starting"))
    assert "What happens\n" in words
    assert "At rest" in words
    assert value("spills-without-starting", "cycle", "flow_steady") == pytest.approx(18 / 60000, rel=1e-3)


def test_findings_alike_stand_together_worst_first():
    plan = edit.put(report("greenhouse").plan, {"limits.strainer_ratio": 1.7, "bed.bed 2.strainer.count": 20})
    words = text(build_report(plan))
    _, below = words.split("What to watch\n")  # the bars above name it too
    assert below.count("Strainer area is short") == 1
    assert "Strainer area is short: bed 2\n" in words
    assert "The same for: bed 1 (at least 1.7 times the bore; you have 1.6); bed 3" in words


@pytest.mark.parametrize("name", PLANS)
def test_lines_stand_under_their_headings(name):
    """A heading is underlined to its length, is not empty, and no gap is wider than a line."""
    words = text(report(name))
    assert "\n\n\n" not in words
    lines = words.splitlines()
    for k, line in enumerate(lines):
        if line and set(line) <= {"-"} and len(line) > 4:
            assert len(line) == len(lines[k - 1]), lines[k - 1]
            assert lines[k + 1] or lines[k + 2], f"nothing stands under {lines[k - 1]}"
    states = {finding.state for finding in report(name).findings}
    for state, heading in HEADINGS.items():
        assert (f"{heading}\n{'-' * len(heading)}\n" in words) == (state in states), heading


def test_findings_in_order_name_the_one_with_the_least_in_hand():
    words = text(report("greenhouse")).replace("\n    ", " ")
    found = {f.subject: f for f in report("greenhouse").findings if f.key == "bed_freeboard"}
    least = min(found.values(), key=lambda f: f.margin)
    value = least.shown("metric")
    assert f"Freeboard is enough: {', '.join(found)} ({least.subject}: {value})" in words.replace(
        "\n    ", " "
    )
    (stop,) = (f for f in report("greenhouse").findings if f.key == "stop")
    assert f"The siphon stops: siphon ({stop.shown('metric')})" in words


def test_no_value_is_a_dash():
    assert shown(None, "length", "metric") == "-"


@pytest.mark.identity
def test_numbers_stand_at_the_right_of_their_column_and_words_at_the_left():
    columns = (Column("flow", "Flow", "flow"), Column("what", "What", TEXT))
    lines = (Line("bed 1", (Cell(3e-4), Cell("sand"))), Line("bed 22", (Cell(3e-5), Cell("fine grit"))))
    found = module._table(Table("k", "Things", "Bed", columns, lines), "metric", False)
    assert [line.rstrip() for line in found] == [
        "Things",
        "Bed           Flow  What",
        "bed 1   18.0 L/min  sand",
        "bed 22  1.80 L/min  fine grit",
    ]


@pytest.mark.identity
@pytest.mark.parametrize(("letters", "fits"), [(46, True), (47, False)])
def test_a_table_that_is_wider_than_the_text_becomes_a_block_for_each_line(letters, fits):
    """Three columns of 4, `letters` and 46, and two spaces between each: 100 in all, or 101."""
    columns = (Column("a", "One", TEXT), Column("b", "Two", TEXT))
    table = Table("k", "T", "Bed", columns, (Line("bed1", (Cell("x" * letters), Cell("y" * 46))),))
    found = module._table(table, "metric", True)
    assert found[0].startswith("Bed " if fits else "bed1: one xxx")


@pytest.mark.identity
def test_what_a_strainer_has_to_open_is_said_where_there_are_strainers():
    assert "times the bore" in section("greenhouse", "strainers").intro
    plan = plan_from_text(re.sub(r"strainer = .*\n", "", PLANS["greenhouse"].read_text("utf-8")))
    bare = next(s for s in build_report(plan).sections if s.key == "strainers")
    assert bare.intro == ""


@pytest.mark.identity
def test_a_pump_that_runs_dry_has_no_time_until_it_draws_air():
    found = build_report(edit.put(read_plan(PLANS["greenhouse"]), {"sump.water_level": 0.150}))
    rows = {s.key: {row.key: row for row in s.rows} for s in found.sections}
    assert "dry" not in rows["sump"]
    assert rows["power_cut"]["rest"].note == "nothing moves"
    assert "Pump runs dry" in text(found)
