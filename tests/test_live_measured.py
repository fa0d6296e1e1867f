"""Live pages: pictures measured, sliders' ends counted by hand, equations solved and put back."""

import dataclasses
import math
import re
from xml.etree import ElementTree as etree

import pytest

from aquacalc import units
from aquacalc.live import charts
from aquacalc.live.charts import levels, window
from aquacalc.live.equations import FUNCTIONS, SYMBOLS, calculation, solved
from aquacalc.live.sliders import sliders
from aquacalc.plan import edit, read_plan
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import inflow_window
from tests.report.test_text import PLANS

pytestmark = pytest.mark.identity


@pytest.fixture(scope="module")
def greenhouse():
    return read_plan(PLANS["greenhouse"])


#: Half a pixel of a picture is at most so much of its scale; what is written in it has one decimal.
PIXEL = 0.06
#: Inside sizes of the demo's parts, counted by hand from its file: mm, and m where it is a level.
ENDS = {
    "flow": ("L/min", 2.0, 40.0),
    "lip": ("mm", 15.0, 69.0),  # 77.9 of bell, less 6.8 of the standpipe's two walls and 2 to spare
    "height": ("mm", 172.0, 502.0),  # 0.4 of 430; 520 of chamber less half of 35 of room
    "room": ("mm", 5.0, 100.0),
    "rim": ("mm", 10.0, 129.0),  # 0.3 of 430
    "outlet": ("m", -0.38, 0.48),  # 20 mm over the sump's floor; as much under the chamber's
    "porosity": ("", 0.20, 0.70),
    "openings": ("", 1.0, 60.0),
    "water": ("mm", 140.0, 700.0),  # a fifth of the sump, and all of it
}
IN_US = {
    "flow": ("gpm", 0.55, 10.55),  # 2 and 40 L/min are 0.528 and 10.567, in steps of 0.05
    "lip": ("in", 0.60, 2.70),  # 0.591 and 2.72
    "height": ("in", 6.80, 19.75),  # 6.77 and 19.78
    "room": ("in", 0.20, 3.90),  # 0.197 and 3.94
    "rim": ("in", 0.40, 5.05),  # 0.394 and 5.08
    "outlet": ("in", -14.8, 18.8),  # -14.96 and 18.90, in steps of 0.2
    "water": ("in", 5.55, 27.55),  # 5.51 and 27.56
}


@pytest.mark.parametrize(("system", "ends"), [("metric", ENDS), ("us", IN_US)])
def test_ends_of_the_demos_sliders(greenhouse, system, ends):
    found = {slider.key: slider for slider in sliders(greenhouse, system)}
    assert set(found) == {*ENDS, "bore", "drains"}
    for key, (unit, low, high) in ends.items():
        slider = found[key]
        shown = [number * slider.step for number in (slider.low, slider.high)]
        assert (slider.unit, *shown) == (unit, pytest.approx(low), pytest.approx(high)), key
        # A number's value is what is shown of it, in SI, and every value has no more decimals than are shown.
        if unit:
            value = units.read(f"{shown[1]:.{slider.decimals}f} {unit}", slider.kind)
            assert slider.high * slider.per / slider.over == pytest.approx(value, rel=1e-12), key
        assert round(slider.step, slider.decimals) == slider.step, key


def test_a_plans_own_value_is_between_the_ends(greenhouse):
    """Also where it is beyond what a slider offers otherwise; a pump's curve ends it at the open valve."""
    strong = edit.put(greenhouse, {"pump.flow": 55.0 / 60e3, "sump.water_level": 0.08})
    found = {slider.key: slider for slider in sliders(strong, "metric")}
    assert found["flow"].high * found["flow"].step == pytest.approx(110.0)
    assert found["water"].low * found["water"].step == pytest.approx(80.0)
    curve = read_plan(PLANS["pump-curve"])
    (flow,) = [slider for slider in sliders(curve, "metric") if slider.key == "flow"]
    assert flow.label == "Pump flow, by its valve"
    assert flow.high * flow.step == pytest.approx(run_plan(curve).pump * 60e3, abs=0.2)
    weak = edit.put(greenhouse, {"pump.flow": 1.0 / 60e3})
    (flow,) = [slider for slider in sliders(weak, "metric") if slider.key == "flow"]
    assert flow.low * flow.step == pytest.approx(1.0)


@pytest.mark.parametrize("key", sorted(FUNCTIONS))
def test_an_equation_is_solved_for_each_of_its_symbols(key):
    """What is found gives the result again; the middle of each symbol's range is the value put in."""
    output, *inputs = [name for name, *_ in SYMBOLS[key]]
    values = {"C_w": 0.6, "C_d": 0.6, "D": 0.04, "D_l": 0.05, "h": 0.3, "h_m": 0.25, "Fr": 0.6, "g": 9.81,
              "phi": 0.4, "A": 0.6, "V": 0.2, "Q_i": 3e-4, "Q_s": 7e-4}  # fmt: skip
    values = {name: values[name] for name in inputs}
    result = solved(key, output, values)
    assert result == FUNCTIONS[key](*values.values()) > 0.0
    for name in inputs:
        put = values | {output: result}
        rises = FUNCTIONS[key](*(values | {name: 1.01 * values[name]}).values()) > result
        if rises:
            assert solved(key, name, put | {name: math.nan}) == pytest.approx(values[name], rel=1e-9), name
    said = calculation(key, output, values, "metric")
    assert set(said) == {*inputs, output, "result"}
    number, unit = re.fullmatch(r"([\d.]+) (.+)", said["result"]).groups()
    kind = SYMBOLS[key][0][1]
    assert units.read(f"{number} {unit}", kind) == pytest.approx(result, rel=0.01)


def measured(svg):
    """Text (x, y, words) and elements of a picture."""
    tree = etree.fromstring(svg)
    texts = [(float(t.get("x")), float(t.get("y")), t.get("class") or "", t.text) for t in tree.iter("text")]
    return tree, texts


@pytest.mark.parametrize("name", ["greenhouse", "us-units", "two-groups"])
@pytest.mark.parametrize("width", [360.0, 700.0])
def test_lines_of_levels_stand_at_the_levels_of_the_run(name, width):
    plan = read_plan(PLANS[name])
    run = run_plan(plan)
    tree, texts = measured(levels(run, width))
    marks = [(y - 4.0, float(t.replace("\N{MINUS SIGN}", "-"))) for _, y, kind, t in texts if kind == "end"]
    (y0, z0), (y1, z1) = marks[0], marks[-1]
    assert len(marks) >= 3
    metres = 1.0 if plan.units == "metric" else 0.0254
    per = (z1 - z0) * metres / (y1 - y0)  # m of level a pixel, downwards
    times = [(x, float(t)) for x, _, kind, t in texts if kind == "mid" and t != "minutes"]
    (x0, t0), (x1, t1) = times[0], times[-1]
    second = (t1 - t0) * 60.0 / (x1 - x0)
    start, end = run.one_cycle(plan.siphons[0].name)
    lines = tree.findall("polyline")
    names = [*(n.name for n in run.nodes if not n.junction), plan.sump.name]
    assert len(lines) == len(names)
    for line, vessel in zip(lines, names, strict=True):
        points = [tuple(map(float, point.split(","))) for point in line.get("points").split()]
        inside = [t for t in run.trace.times if not (t < start or t > end)]
        every = -(-len(inside) // 240)
        told = inside[::every] + ([] if (len(inside) - 1) % every == 0 else inside[-1:])
        assert [x for x, _ in points] == pytest.approx([x0 + (t - start) / second for t in told], abs=0.3), (
            vessel
        )
        for x, y in points[:: max(1, len(points) // 25)]:
            at, level = start + second * (x - x0), z0 * metres + per * (y - y0)
            near = [
                run.trace.level(vessel, min(max(at + dt * second, start), end)) for dt in (-1.0, 0.0, 1.0)
            ]
            room = abs(per) * 1.5 * PIXEL * 10 + 0.5 * metres * 0.01
            assert min(near) - room <= level <= max(near) + room, (vessel, x, y)
    lips = [path for path in tree.findall("path") if path.get("class") == "mark"]
    for path, siphon in zip(lips, plan.siphons, strict=True):
        y = float(re.match(r"M[\d.]+ ([\d.]+)h", path.get("d"))[1])
        assert z0 * metres + per * (y - y0) == pytest.approx(plan.lip_level(siphon), abs=abs(per))
    alt = tree.get("aria-label")
    node = next(n for n in run.nodes if not n.junction)
    assert f"{node.name} {units.show(node.low, 'elevation', plan.units)} to" in alt.replace(
        "\N{MINUS SIGN}", "-"
    )
    assert f"Levels over {units.show(end - start, 'time', plan.units)}:" in alt


@pytest.mark.parametrize("name", ["greenhouse", "us-units", "two-groups"])
def test_the_bar_of_a_window_begins_and_ends_at_its_flows(name):
    """Edges of its parts are the flows from which it may and will start, and stop; today's is where it is."""
    plan = read_plan(PLANS[name])
    run = run_plan(plan)
    for siphon in plan.siphons:
        found = inflow_window(plan, siphon, run)
        picture = etree.fromstring(window(found, plan, 500.0)).find("svg")
        tree, texts = measured(etree.tostring(picture))
        numbers = [(x, float(t)) for x, _, kind, t in texts if kind == "mid" and re.fullmatch(r"[\d.]+", t)]
        (x0, q0), (x1, q1) = numbers[0], numbers[-1]
        assert (x0, q0) == (12.0, 0.0)
        unit = "L/min" if plan.units == "metric" else "gpm"
        flow = units.read(f"{(q1 - q0) / (x1 - x0)!r} {unit}", "flow")  # a pixel
        edges = {float(r.get("x")) for r in tree.findall("rect")}
        edges |= {float(r.get("x")) + float(r.get("width")) for r in tree.findall("rect")}
        marks = [found.start_low, found.start_high, found.stop_with_margin, found.stop]
        for mark in marks:
            if mark > 0.0:
                assert min(abs(12.0 + mark / flow - x) for x in edges) < 0.2, (siphon.name, mark)
        assert max(edges) == pytest.approx(488.0, abs=0.1)
        today = next(path for path in tree.findall("path") if path.get("class") == "today")
        assert float(re.match(r"M([\d.]+)", today.get("d"))[1]) == pytest.approx(
            12.0 + found.today / flow, abs=0.2
        )
        kinds = {(float(r.get("x")), r.get("class")) for r in tree.findall("rect")}
        sure = [x for x, kind in kinds if kind == "sure"]
        if found.start_high < found.stop_with_margin:
            assert sure == [pytest.approx(12.0 + found.start_high / flow, abs=0.2)]
        for path in tree.findall("path"):
            if path.get("class") == "hatch":  # stays inside its part
                xs = [float(x) for x in re.findall(r"M([\d.]+) ", path.get("d"))]
                part = [
                    r
                    for r in tree.findall("rect")
                    if float(r.get("x")) <= xs[0] <= float(r.get("x")) + float(r.get("width"))
                ]
                left, wide = float(part[0].get("x")), float(part[0].get("width"))
                assert left <= xs[0]
                assert xs[-1] + 8.0 <= left + wide + 0.1


@pytest.mark.parametrize(("system", "per"), [("metric", 1.0), ("us", 1 / 0.0254)])
def test_marks_of_levels_are_looked_for_between_lowest_and_highest(monkeypatch, system, per):
    run, asked, ticks = run_plan(read_plan(PLANS["greenhouse"])), [], charts.nice_ticks
    monkeypatch.setattr(charts, "nice_ticks", lambda *given: (asked.append(given), ticks(*given))[1])
    levels(dataclasses.replace(run, plan=dataclasses.replace(run.plan, units=system)), 500.0)
    low, high, _ = asked[0]
    assert (low / per, high / per) == pytest.approx((run.sump_low, run.node("bed 1").high), abs=5e-3)
