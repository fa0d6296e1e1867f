"""What the figures say: true to scale, the engine's own numbers, the same in words."""

from __future__ import annotations

import base64
import random
import re
from dataclasses import replace
from itertools import accumulate, pairwise
from xml.etree import ElementTree

import numpy as np
import pytest

from aquacalc.equations.formulas import GRAVITY, choking_flow, lip_flow, lip_head, water_kinematic_viscosity
from aquacalc.figures import floods, vector
from aquacalc.figures.chart import Axes
from aquacalc.figures.head_budget import head_budget, run_losses, siphon_losses
from aquacalc.figures.inflow_window import window, zone, zones
from aquacalc.figures.levels import Span, _regimes, levels, spans
from aquacalc.figures.lips import lips
from aquacalc.figures.priming_map import lip_for, priming_map
from aquacalc.figures.section import SectionView, section
from aquacalc.figures.snapshot import fullest, moment
from aquacalc.hydraulics.paths import path_loss, run_path, siphon_path
from aquacalc.hydraulics.starting import choking_level, start_band, start_froudes
from aquacalc.plan import edit, plan_from_text
from aquacalc.results.window import inflow_window
from aquacalc.units import show
from tests.figures.examples import NAMES, plan_of, ran, row_of_beds

pytestmark = pytest.mark.identity


def windows(name):
    run = ran(name)
    return [inflow_window(run.plan, siphon, run) for siphon in run.plan.siphons]


@pytest.mark.parametrize("count", [1, 3])
def test_small_plans_are_drawn_to_one_scale(count):
    frame = SectionView(row_of_beds(count).plan).frame
    assert frame.across == frame.up


def test_vessels_in_drain_order():
    view = SectionView(plan_of("greenhouse"))
    view.show(plan_of("greenhouse"))
    order = sorted(view.scene.placed, key=lambda name: view.scene.placed[name].centre)
    assert order == ["bed 1", "bed 2", "bed 3", "chamber", "sump"]


def test_half_drum_is_seen_as_a_circle():
    drum = next(b.shape for b in plan_of("half-drums").beds if b.shape.kind == "half drum")
    radius = 0.5 * drum.diameter
    for h in (0.1 * radius, 0.5 * radius, drum.depth):
        assert drum.half_width(h) ** 2 + (radius - h) ** 2 == pytest.approx(radius**2)


@pytest.mark.parametrize("name", NAMES)
def test_moment_when_full(name):
    run = ran(name)
    for group in run.groups:
        now = moment(run.plan, run, fullest(run, group.name) + 1e-3)
        if group.outcome == "cycles":
            assert now.regime[group.name] == "siphoning"
            siphon = next(x for x in run.plan.siphons if x.name == group.name)
            assert choking_level(run.plan, siphon) == pytest.approx(group.start_level)


@pytest.mark.parametrize("name", NAMES)
def test_regimes_last_as_long_as_the_engine_says(name):
    run = ran(name)
    for group in run.groups:
        start, end = run.one_cycle(group.name)
        found = spans(run, group.name, start, end)
        assert found[0].start == pytest.approx(start)
        assert found[-1].end == pytest.approx(end)
        assert all(a.end == b.start for a, b in pairwise(found))
        if group.outcome == "cycles":
            assert [x.name for x in found] == ["filling", "spilling", "priming", "siphoning"]
            lasted = [x.end - x.start for x in found]
            told = [group.fill_time, group.spill_time, group.priming_time, group.drain_time]
            assert lasted == pytest.approx(told, abs=1e-6 * group.period)
        words = levels(run, group.name).alt
        for span in found:
            assert f"{span.name} for {show(span.end - span.start, 'time', run.plan.units)}" in words


@pytest.mark.parametrize("name", NAMES)
def test_zones_of_the_window(name):
    for data in windows(name):
        high = 1.5 * max(data.stop, data.start_high, data.today)
        found = zones(data, high)
        assert found[0][0] == 0.0
        assert found[-1][1] == high
        assert all(a[1] == b[0] for a, b in pairwise(found))
        assert zone(data, 0.5 * data.start_low) == "does not start"
        assert zone(data, 0.999 * high) == "does not stop"
        if data.start_high < data.stop_with_margin:
            assert zone(data, 0.5 * (data.start_high + data.stop_with_margin)) == "starts and stops"
        words = window(data, "metric").alt
        for flow in (data.start_low, data.start, data.start_high, data.stop, data.today):
            assert show(flow, "flow") in words


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("greenhouse", "starts and stops"),
        ("spills-without-starting", "does not start"),
        ("runs-on-without-stopping", "does not stop"),
    ],
)
def test_window_agrees_with_the_run(name, says):
    data = windows(name)[0]
    assert zone(data, data.today) == says
    assert {"starts and stops": "cycles", "does not start": "spills", "does not stop": "runs on"}[says] == (
        ran(name).groups[0].outcome
    )


@pytest.mark.parametrize("name", NAMES)
def test_head_budget_adds_up_to_the_path_loss(name):
    plan = plan_of(name)
    nu = water_kinematic_viscosity(plan.water_temperature)
    for flow in (2e-5, 4e-4, 1.1e-3):
        for run in plan.runs:
            parts = run_losses(plan, run, flow)
            assert sum(x.head for x in parts) == pytest.approx(
                path_loss(run_path(plan, run), flow, nu), rel=1e-12
            )
        for siphon in plan.siphons:
            parts = siphon_losses(plan, siphon, flow)
            total = path_loss(siphon_path(plan, siphon), flow, nu)
            assert sum(x.head for x in parts) == pytest.approx(total, rel=1e-12)
            picture = head_budget("it", parts, flow, "metric")
            assert show(total, "head") in picture.alt
            assert all(show(x.head, "head", "metric", 2) in picture.alt for x in parts)


def test_lip_for_turns_the_lip_law_round():
    rng = random.Random(5)
    for _ in range(200):
        head, flow = rng.uniform(0.002, 0.08), rng.uniform(2e-5, 2e-3)
        lip = lip_for(head, flow, 1.71, 0.6)
        assert lip_flow(1.71, 0.6, lip, head, GRAVITY) == pytest.approx(flow, rel=1e-12)


def test_a_flow_at_the_end_of_the_band_may_start_it():
    siphon = plan_of("greenhouse").siphons[0]
    band = start_band(siphon)
    says = ["does not start", "may or may not start", "may or may not start", "starts"]
    for flow, said in zip((0.99 * band.low, band.low, 0.99 * band.high, band.high), says, strict=True):
        assert f" it {said}. Over" in priming_map(siphon, flow, "metric").alt


def test_priming_map_names_the_band_and_the_head():
    plan = plan_of("greenhouse")
    siphon = plan.siphons[0]
    data = windows("greenhouse")[0]
    words = priming_map(siphon, data.today, "metric").alt
    for flow in (data.start_low, data.start, data.start_high, data.today):
        assert show(flow, "flow") in words
    assert show(choking_level(plan, siphon) - 0.930, "head") in words
    seen = replace(siphon, priming=replace(siphon.priming, observed=2e-4, observed_error=1e-5))
    low, likely, high = start_froudes(seen)
    assert (low + high) / 2.0 == pytest.approx(likely)
    assert high / likely == pytest.approx(1.05)


def test_spread_moves_labels_apart_and_no_further():
    rng = random.Random(3)
    for _ in range(300):
        sizes = [rng.uniform(5.0, 30.0) for _ in range(rng.randint(1, 8))]
        wanted = [rng.uniform(-20.0, 320.0) for _ in sizes]
        placed = vector.spread(wanted, sizes, 0.0, 300.0)
        ranked = sorted(range(len(sizes)), key=lambda k: placed[k])
        assert placed[ranked[0]] - 0.5 * sizes[ranked[0]] >= -1e-9
        assert placed[ranked[-1]] + 0.5 * sizes[ranked[-1]] <= 300.0 + 1e-9
        for a, b in pairwise(ranked):
            assert placed[b] - placed[a] >= 0.5 * (sizes[a] + sizes[b]) - 1e-9
            assert wanted[a] <= wanted[b]
    assert vector.spread([50.0, 120.0], [10.0, 10.0], 0.0, 300.0) == [50.0, 120.0]
    assert vector.spread([50.0, 50.0], [10.0, 10.0], 0.0, 300.0) == [45.0, 55.0]


@pytest.mark.parametrize(("low", "high"), [(-0.4, 1.2), (0.0, 17.6), (0.0003, 0.0009), (24.0, 41.0)])
def test_ticks_are_round_and_inside(low, high):
    ticks = vector.nice_ticks(low, high, 8)
    steps = np.diff(ticks)
    assert 3 <= len(ticks) <= 9
    assert steps == pytest.approx(steps[0])
    assert float(f"{steps[0]:e}".split("e")[0]) in (1.0, 2.0, 5.0)
    assert low - 1e-9 <= ticks[0]
    assert ticks[-1] <= high + 1e-9


def ticks(drawn):
    """Numbers at the ticks of a chart, and where they stand."""
    root = ElementTree.fromstring(drawn.svg("x"))
    texts = [
        e for e in root.iter("{http://www.w3.org/2000/svg}text") if re.fullmatch(r"[−.\d]+", e.text or "")
    ]
    return [(e.text, e.get("x"), e.get("y")) for e in texts]


def test_axes_stay_when_the_slider_moves():
    data = windows("greenhouse")[0]
    other = replace(data, today=2.0 * data.today, stop=1.4 * data.stop)
    assert ticks(window(data, "metric", 1e-3)) == ticks(window(other, "metric", 1e-3))
    siphon = plan_of("greenhouse").siphons[0]
    first, second = (priming_map(siphon, flow, "metric", flow_high=6e-4) for flow in (1e-4, 4e-4))
    assert ticks(first) == ticks(second)
    assert first.svg() != second.svg()
    fixed = {"time": (0.0, 1200.0), "beds": (0.5, 1.0), "sump": (-0.4, 0.3)}
    run = ran("greenhouse")
    one, two = (ticks(levels(run, t=t, limits=fixed)) for t in (None, run.groups[0].began + 300.0))
    assert one == two
    assert {text for text, _, _ in one} >= {"0.5", "1.0", "−0.2", "20"}


def along(drawn):
    """Turn a place along the lower axis of a chart into its number; the bars' ends, from the left."""
    found = [(float(text), float(x)) for text, x, y in ticks(drawn) if y == ticks(drawn)[0][2]]
    (first, x0), *_, (last, x1) = found
    assert all(x == pytest.approx(x0 + (n - first) * (x1 - x0) / (last - first), abs=0.02) for n, x in found)
    root = ElementTree.fromstring(drawn.svg("x"))
    bars = [e.get("d") for e in root.iter() if e.get("class") == "zone"]
    lines = {e.get("class"): e.get("d") for e in root.iter() if e.get("class") in ("dash", "today")}

    def number(x):
        return first + (float(x) - x0) * (last - first) / (x1 - x0)

    ends = [[number(x) for x in re.findall(r"[ML](\S+) ", d)[:2]] for d in bars]
    return ends, {name: number(re.match(r"M(\S+)", d)[1]) for name, d in lines.items()}


@pytest.mark.parametrize(
    ("name", "system", "per"), [("greenhouse", "metric", 6e4), ("us-units", "us", 15850.323)]
)
def test_zones_and_flows_of_the_window_are_where_its_axis_says(name, system, per):
    data = windows(name)[0]
    ends, lines = along(window(data, system))
    edges = sorted({data.start_low, data.start_high, data.stop_with_margin, data.stop})
    assert ends[0][0] == pytest.approx(0.0, abs=0.01)
    assert [end for _, end in ends[:-1]] == pytest.approx([q * per for q in edges], abs=0.02)
    assert [low for low, _ in ends[1:]] == [end for _, end in ends[:-1]]
    assert lines["dash"] == pytest.approx(data.start * per, abs=0.02)
    assert lines["today"] == pytest.approx(data.today * per, abs=0.02)


def test_bars_of_the_head_budget_are_as_long_as_their_heads():
    plan = plan_of("greenhouse")
    parts = siphon_losses(plan, plan.siphons[0], 4e-4)
    (*bars, whole), _ = along(head_budget("it", parts, 4e-4, "metric"))
    heads = [1e3 * part.head for part in parts]
    assert [high - low for low, high in bars] == pytest.approx(heads, abs=0.01)
    assert [low for low, _ in bars] == pytest.approx([sum(heads[:k]) for k in range(len(heads))], abs=0.01)
    assert whole == pytest.approx([0.0, sum(heads)], abs=0.01)


def test_levels_are_drawn_where_their_axis_says():
    run = ran("greenhouse")
    fixed = {"time": (0.0, 1200.0), "beds": (0.5, 1.0), "sump": (-0.4, 0.3)}
    drawn = levels(run, limits=fixed)
    root = ElementTree.fromstring(drawn.svg("x"))
    (high,) = (float(y) for text, _, y in ticks(drawn) if text == "1.0")
    (low,) = (float(y) for text, _, y in ticks(drawn) if text == "0.5")
    curves = [e for e in root.iter() if (e.get("class") or "") == "curve" and e.get("clip-path")]
    names = ["bed 1", "bed 2", "bed 3", "chamber"]
    for name, curve in zip(names, curves, strict=True):
        ys = [float(y) for y in re.findall(r"[ML]\S+ ([^MLZ]+)", curve.get("d"))]
        node = run.node(name)
        per = (low - high) / 0.5
        assert min(ys) == pytest.approx(high - 5.1 + (1.0 - node.high) * per, abs=1.0)


def test_of_many_stretches_the_longest_are_named():
    drawing = vector.Drawing(600.0, 300.0)
    charts = tuple(Axes(drawing, 60.0, top, 450.0, 80.0, (0.0, 1000.0)) for top in (60.0, 180.0))
    ends = list(accumulate([20, 20, 20, 300, 20, 230, 20, 370], initial=0))
    _regimes(charts, [Span(a, b, "filling") for a, b in pairwise(ends)], "metric")
    named = [
        e.text
        for e in ElementTree.fromstring(drawing.svg("x")).iter()
        if (e.text or "").startswith("filling")
    ]
    assert named == [f"filling {show(s, 'time')}" for s in (300, 230, 370)]


@pytest.mark.parametrize("name", ["greenhouse", "inside-bed", "one-bed", "two-groups", "us-units"])
def test_svg_stands_alone(name):
    run = ran(name)
    for picture in (levels(run), window(windows(name)[0], "metric")):
        text = picture.svg("one")
        root = ElementTree.fromstring(text)
        assert root.get("role") == "img"
        assert root.get("aria-label") == picture.alt
        assert text.count("http") == 1  # its namespace
        ids = [e.get("id") for e in root.iter() if e.get("id")]
        assert len(ids) == len(set(ids))
        assert all(i.startswith("one-") for i in ids)
        assert len(text) < 90_000
        assert text == picture.svg("one")
        words = {"".join(e.itertext()).strip() for e in root.iter("{http://www.w3.org/2000/svg}text")}
        assert run.plan.sump.name in words or "today" in words


def test_lips_say_both_heads():
    siphon = plan_of("greenhouse").siphons[0]
    stand = siphon.standpipe
    picture, wide = lips(siphon, "metric"), stand.lip_diameter
    for lip, bore in ((stand.pipe.bore,) * 2, (wide, stand.pipe.bore), (wide, wide)):
        flow = choking_flow(0.55, bore, GRAVITY)
        head = show(lip_head(1.71, 0.60, lip, flow, GRAVITY), "head")
        assert head in picture.alt
        assert f"head {head}<" in picture.svg()
        assert show(flow, "flow") in picture.alt


def test_water_of_the_lips_is_drawn_to_scale():
    plan, heads = plan_of("greenhouse"), []
    for lip in (0.03, 0.06):
        siphon = edit.put(plan, {"siphon.standpipe.lip_diameter": lip}).siphons[0]
        told = re.findall(r'class="(?:surface|level)" d="M\S+ ([\d.]+)L', lips(siphon, "metric").svg())
        drawn = [float(low) - float(high) for high, low in zip(told[::2], told[1::2], strict=True)]
        heads.append((drawn, lip_head(1.71, 0.60, lip, choking_flow(0.55, 0.02664, GRAVITY), GRAVITY)))
    (first, a), (second, b) = heads
    assert first[0] == second[0]  # the plain end stays as it is
    assert first[1] / second[1] == pytest.approx(a / b, rel=2e-3)


def test_tees_have_their_names_from_left_to_right_whatever_they_are_called():
    text = ran("greenhouse").plan.text.replace("tee 2", "z tee").replace("tee 3", "a tee")
    plan = plan_from_text(text)
    drawn = section(plan).svg()
    assert {name for name in ("z tee", "a tee") if f">{name}<" in drawn} == {"z tee", "a tee"}
    image = section(plan).html()
    assert "<style>" in base64.b64decode(image.partition("base64,")[2].partition('"')[0]).decode()


@pytest.mark.parametrize(("last", "says"), [(900.0, "4.0 at "), (0.0, "none at ")])
def test_floods_are_told_of_the_first_the_best_and_the_last_flow(monkeypatch, last, says):
    """A flood in 30 minutes, then in 10, then in 15 or never: 2, 6 and 4 an hour or none, by their flows."""
    run = ran("greenhouse")
    group = run.groups[0]
    mean = group.drained / group.drain_time
    periods = {floods.PARTS[0]: 1800.0, floods.PARTS[5]: 600.0, floods.PARTS[-1]: last}

    def made(plan, trace):
        part = round(plan.pump.flow / mean, 6)
        known = group.period if plan is run.plan else periods.get(part, 1200.0)
        return replace(run, groups=(replace(group, period=known),))

    monkeypatch.setattr(floods, "run_plan", made)
    said = floods.floods(run.plan, "metric").alt
    flows = [show(part * mean, "flow") for part in (floods.PARTS[0], floods.PARTS[5], floods.PARTS[-1])]

    assert f"2.0 at {flows[0]}" in said
    assert f"most at {flows[1]} with 6.0" in said
    assert f"{says}{flows[2]}." in said
