"""Numbers in the sentences that answer a question, worked out a second way."""

import csv
import json
import re

import pytest

from aquacalc import units
from aquacalc.__main__ import main
from aquacalc.catalogue import data_dir
from aquacalc.design.keeping import another_bed, even, power_cut, water
from aquacalc.plan import edit
from aquacalc.report.as_json import as_dict
from aquacalc.report.content import build_report
from aquacalc.results.cycle import run_plan
from tests.report.second_way import SecondWay, circle
from tests.report.test_second_way import second

pytestmark = pytest.mark.identity
DEMO = str(data_dir() / "plans" / "greenhouse.toml")
PLANS = ("greenhouse", "us-units", "seed 3")


def told(text, kind, words):
    """Read the number before words, or at their {}: its value in SI and half its last digit."""
    number = r"(-?[\d.]+) ([^\s,;.]+)"
    pattern = re.escape(words).replace(r"\{\}", number) if "{}" in words else f"{number} {re.escape(words)}"
    found = re.search(pattern, text)
    assert found, (words, text)
    digits = 10.0 ** -len(found[1].partition(".")[2])
    value, step = (units.read(f"{n!r} {found[2]}", kind) for n in (float(found[1]), digits))
    return value, 0.51 * abs(step - units.read(f"0 {found[2]}", kind))


def assert_told(text, kind, words, value, relative=2e-3):
    """The report's second way is good to 0.2 %, and what is printed to half its last digit."""
    said, half = told(text, kind, words)
    assert said == pytest.approx(value, rel=relative, abs=half), (words, text)


@pytest.mark.parametrize("name", PLANS)
def test_water(name):
    """All water is that of vessels, drain lines and delivery; a flood is what the sump gives and takes."""
    way = second(name)
    plan, text = way.plan, "\n".join(water(way.plan).steps)
    pipes = [*plan.runs, *([plan.pump.delivery] if plan.pump.delivery else [])]
    held = way.value("sump", "water") + sum(circle(p.pipe.bore) * p.length for p in pipes)
    off = way.value("sump", "pump_off")
    missing = way.held(plan.sump, plan.sump.floor + way.out["fill"][0]["low"]) - way.held(plan.sump, off)
    assert_told(text, "volume", "About {} in all", held + max(missing, 0.0))
    full, high = way.value("sump", "low"), way.value("sump", "high")
    out = way.held(plan.sump, high) - way.held(plan.sump, full)
    assert_told(text, "volume", "Each flood takes {} out of the sump", out, relative=0.02)


@pytest.mark.parametrize("name", PLANS)
def test_a_power_cut(name):
    way = second(name)
    text = "\n".join(power_cut(way.plan).steps)
    for row, kind, words in (
        ("comes_back", "volume", "just after the siphon has started: {} come back"),
        ("held", "volume", "just before it starts: {} stay in beds and chambers"),
        ("sump", "elevation", "the sump rises to {}"),
    ):
        assert_told(text, kind, words, way.rows()["power_cut", "", row])
    deep = {bed.name: way.cells()["power_cut", "power_cut", bed.name, "deep"] for bed in way.plan.beds}
    worst = max(deep.values())
    (at,) = {bed for bed in deep if f" deep in {bed}," in text}
    assert deep[at] == pytest.approx(worst, abs=1e-3)
    assert_told(text, "length", f"deep in {at},", worst)


def test_another_bed(greenhouse):
    """The plan with the bed, run by itself, has what is said of it."""
    answer = another_bed(greenhouse)
    text, after = "\n".join(answer.steps), run_plan(answer.plan).groups[0]
    before = run_plan(greenhouse).groups[0]
    assert [bed.name for bed in answer.plan.beds] == ["bed 1", "bed 2", "bed 3", "bed 4"]
    floods = re.search(r"([\d.]+) floods an hour before, ([\d.]+) after", text)
    assert [float(n) for n in floods.groups()] == pytest.approx(
        [3600.0 / g.period for g in (before, after)], abs=0.051
    )
    drains = re.search(r"drains in (\d+) min (\d+) s before, (\d+) min (\d+) s after", text)
    minutes = [float(n) for n in drains.groups()]
    assert [60.0 * minutes[0] + minutes[1], 60.0 * minutes[2] + minutes[3]] == pytest.approx(
        [before.drain_time, after.drain_time], abs=0.51
    )
    for words, plan in ((" over the pump's intake before", greenhouse), (" over after", answer.plan)):
        way = SecondWay(plan, as_dict(build_report(plan)))
        intake = plan.sump.floor + plan.pump.intake
        assert_told(text, "length", words.strip(), way.value("sump", "low") - intake)


def test_even(greenhouse):
    """Beds flood to one level: what a floor lies lower is what the bed floods deeper."""
    low = edit.put(greenhouse, {"bed.bed 2.floor": greenhouse.bed("bed 2").floor - 0.020})
    text = "\n".join(even(low).steps)
    run = run_plan(low)
    deep = {bed.name: run.node(bed.name).high - bed.floor for bed in low.beds}
    for bed in low.beds:
        line = re.search(rf"- {bed.name} floods.*", text)[0]
        assert_told(line, "length", "floods {} deep", deep[bed.name], relative=1e-6)
        assert_told(line, "length", "keeps {}.", run.node(bed.name).low - bed.floor, relative=1e-6)
    assert max(deep, key=deep.get) == "bed 2"
    assert_told(text, "length", "They differ by {}", max(deep.values()) - min(deep.values()), relative=1e-6)
    assert_told(text, "length", "Pack bed 2 up {}.", 0.020, relative=1e-6)


def test_compare(capsys, greenhouse):
    """What is said of two plans is what each has by itself; parts and cost are those of its build sheet."""
    priced = str(data_dir() / "workshop-demo.toml")
    other = ["--set", "siphon.standpipe.height=400 mm", "--set", 'siphon.tail.fittings=["exit"]']
    assert main(["compare", str(DEMO), *other, "--workshop", priced, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    changed = edit.put_text(greenhouse, dict(change.split("=") for change in other[1::2]))
    levels, runs = {}, [run_plan(plan) for plan in (greenhouse, changed)]
    for name in ("bed 1", "bed 2", "bed 3", "chamber"):
        levels[f"{name}: highest water"] = [run.node(name).high for run in runs]
    levels["sump: lowest water"] = [run.sump_low for run in runs]
    assert [*data["levels"]] == [*levels]  # and the lowest in beds and chamber is the same
    for name, (a, b) in levels.items():
        said = [units.read(data["levels"][name][side], "elevation") for side in "ab"]
        assert said == pytest.approx([a, b], abs=0.51e-3), name
    floods = [float(n) for n in data["times"]["siphon: floods an hour"].values()]
    assert floods == pytest.approx([3600.0 / run.groups[0].period for run in runs], abs=0.051)
    bend = "bend 90, short ASTM D1785 schedule 40 1 in"
    assert data["parts"] == {bend: {"a": "2", "b": ""}}
    with (data_dir() / "prices-demo.csv").open(encoding="utf-8", newline="") as file:
        prices = {(row["item"], row["size"]): row["price"] for row in csv.DictReader(file)}
    total = [float(text.partition(" ")[0]) for text in data["cost"]["total"].values()]
    assert total[0] - total[1] == pytest.approx(2.0 * float(prices["bend 90, short", "1 in"]), abs=1e-6)
