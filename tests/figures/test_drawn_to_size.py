"""Where each part of a section and of its close-up is drawn, turned back into metres by its own ladder.

What must fail here: a level drawn outside its vessel, a part half a pixel from where the geometry has it, a
label over another or past the edge, letters too small to read; whatever the shapes of the vessels, how
many siphons there are, and how the beds lead into each other.
"""

import re
from dataclasses import replace
from itertools import pairwise, product
from xml.etree import ElementTree

import numpy as np
import pytest

from aquacalc.figures.closeup import LEFT, RIGHT, WIDTH
from aquacalc.figures.section import SectionView, section, state
from aquacalc.figures.snapshot import areas, fullest, inlets, moment, run_flows
from aquacalc.figures.vector import LEAST, NARROWEST, PHONE, TEXT
from aquacalc.geometry.space import space
from aquacalc.hydraulics.levels import volume_at
from aquacalc.hydraulics.starting import choking_level
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan import edit
from aquacalc.plan.read import plan_from_text
from aquacalc.results.cycle import run_plan
from aquacalc.units import in_unit, show
from tests.figures.checks import clear
from tests.figures.examples import NAMES, moments, plan_of, ran, row_of_beds
from tests.plan.generated import plan_text

pytestmark = pytest.mark.identity
SVG = "{http://www.w3.org/2000/svg}"
#: A drawing is written to a hundredth of a pixel; a part may be this far (px) from its place.
NEAR = 0.5
RANDOM = [plan_from_text(plan_text(seed)) for seed in range(900, 912)]


def elements(drawing, *classes):
    """Elements of a drawing with one of these classes, in the order they are drawn."""
    root = ElementTree.fromstring(drawing.svg())
    return [e for e in root.iter() if set((e.get("class") or "").split()) & set(classes)]


def points(element):
    """Points of a path of straight lines."""
    return np.array([[float(n) for n in p.split()] for p in re.findall(r"[ML]([^MLZ]+)", element.get("d"))])


def ladder(view, drawing):
    """How many pixels a metre of elevation takes, and where 0 is, read off the ladder at the left edge."""
    per, _ = in_unit(1.0, "elevation", view.system)
    rungs = [float(points_of_rung(e)) for e in elements(drawing, "grid")]
    shown = [e for e in elements(drawing, "soft") if re.fullmatch(r"[−\d.]+", e.text or "")]
    values = [float(e.text.replace("−", "-")) / per for e in shown]
    slope, zero = np.polyfit(values, rungs, 1)
    assert len(rungs) == len(values) >= 2
    return slope, zero


def points_of_rung(element):
    return re.match(r"M\S+ (\S+)H", element.get("d"))[1]


@pytest.mark.parametrize("plan", [*map(plan_of, NAMES), *RANDOM], ids=lambda plan: plan.name)
def test_every_part_of_the_section_is_where_the_geometry_has_it(plan):
    view = SectionView(plan)
    drawing = view.show(plan).parts[0]
    slope, zero = ladder(view, drawing)

    def at(z):
        return slope * z + zero

    drawn = [e for e in elements(drawing, "wall") if "shell" not in e.get("class")]
    names = list(view.scene.placed)
    assert len(drawn) == len(names)
    spans, left = [], {}
    for name, wall in zip(names, drawn, strict=True):
        vessel = view.scene.placed[name].vessel
        ys, xs = points(wall)[:, 1], points(wall)[:, 0]
        assert ys.max() == pytest.approx(at(vessel.floor), abs=NEAR)
        assert ys.min() == pytest.approx(at(vessel.rim), abs=NEAR)
        widest = 2.0 * max(vessel.shape.half_width(h) for h in np.linspace(0.0, vessel.shape.depth, 400))
        assert np.ptp(xs) == pytest.approx(widest * view.frame.across, rel=0.01)
        spans.append((xs.min(), xs.max()))
        half = xs <= view.scene.placed[name].centre
        left[name] = sorted(zip(ys[half], xs[half], strict=True))
    assert all(a[1] < b[0] for a, b in pairwise(sorted(spans))), "a vessel stands in its neighbour"
    assert max(x for _, x in spans) < view.width
    lines = {line.key: line for line in space(plan).lines}
    pipes = dict(zip([(x.kind, x.start) for x in view.scene.lines], elements(drawing, "pipe"), strict=True))
    for run in plan.runs:
        told = [at(z) for _, _, z in lines[f"run.{run.start}"].points]
        ys = points(pipes["run", run.start])[:, 1]
        assert max(min(abs(ys - z)) for z in told) < NEAR
        assert (ys[0], ys[-1]) == pytest.approx((told[0], told[-1]), abs=NEAR)
        if run.to in left:  # at the wall, which may lean
            x, y = points(pipes["run", run.start])[-1]
            assert x == pytest.approx(np.interp(y, *zip(*left[run.to], strict=True)), abs=NEAR)
    for siphon in plan.siphons:
        tail = points(pipes["tail", siphon.host])
        assert tail[-1][1] == pytest.approx(at(lines[f"siphon.{siphon.name}.tail"].points[-1][2]), abs=NEAR)
        sump = view.scene.placed[plan.sump.name]
        assert sump.left < tail[-1][0] < sump.right
        host = plan.vessel(siphon.host)
        shell = points(elements(drawing, "shell")[plan.siphons.index(siphon)])[:, 1]
        assert shell.max() == pytest.approx(at(plan.rim_level(siphon)), abs=NEAR)
        assert shell.min() == pytest.approx(at(plan.crown_level(siphon)), abs=NEAR)
        stand = points(elements(drawing, "empty")[plan.siphons.index(siphon)])[:, 1]
        assert (stand.max(), stand.min()) == pytest.approx(
            (at(host.floor), at(plan.lip_level(siphon))), abs=NEAR
        )
        flood = [points(e)[0][1] for e in elements(drawing, "level")][plan.siphons.index(siphon)]
        assert flood == pytest.approx(at(choking_level(plan, siphon)), abs=NEAR)


@pytest.mark.parametrize("plan", [*map(plan_of, NAMES), *RANDOM[:6]], ids=lambda plan: plan.name)
def test_every_part_of_the_close_up_is_to_one_scale(plan):
    for siphon in plan.siphons:
        view = SectionView(plan, siphon=siphon.name)
        drawing, up = view.show(plan).parts[1], view.close.up
        stand, bell = siphon.standpipe, siphon.bell
        floor = plan.vessel(siphon.host).floor
        low = max(points(e)[:, 1].max() for e in elements(drawing, "wall"))

        def at(height, low=low, up=up):
            return low - height * up

        hole = points(elements(drawing, "empty")[0])
        assert hole[:, 1].min() == pytest.approx(at(stand.height), abs=NEAR)
        wide = max(stand.lip_diameter, stand.pipe.bore)
        assert np.ptp(hole[:, 0]) == pytest.approx(wide * up, abs=2.0 * NEAR)
        air = points(elements(drawing, "air")[0])
        assert air[:, 1].max() == pytest.approx(at(bell.rim_height), abs=NEAR)
        assert air[:, 1].min() == pytest.approx(at(bell.top_height), abs=NEAR)
        assert np.ptp(air[:, 0]) == pytest.approx(bell.bore * up, abs=2.0 * NEAR)
        level = points(elements(drawing, "level")[0])[0][1]
        assert level == pytest.approx(at(choking_level(plan, siphon) - floor), abs=NEAR)
        inside = [x for e in elements(drawing, "part", "level") for x in points(e)[:, 0]]
        assert min(inside) >= LEFT - 16.0 - NEAR
        assert max(inside) <= WIDTH - RIGHT + NEAR


@pytest.mark.parametrize("name", NAMES)
def test_water_is_drawn_at_the_levels_of_the_run(name):
    run = ran(name)
    view = SectionView(run.plan)
    for t in moments(run):
        drawn = view.show(run.plan, run, t)
        slope, zero = ladder(view, drawn.parts[0])
        water = [e for e in elements(drawn.parts[0], "water") if e.tag == f"{SVG}rect"]
        for vessel, rect in zip(view.scene.placed, water, strict=True):
            z = run.trace.level(vessel, t)
            assert float(rect.get("y")) == pytest.approx(slope * z + zero, abs=NEAR)
            said = show(z, "elevation", run.plan.units).replace("-", "−")
            assert said in drawn.alt
            assert any(e.text == said for e in elements(drawn.parts[0], "deep"))


def test_water_stays_inside_its_vessel():
    for name in ("half-drums", "sump-overflows", "us-units"):
        drawn = section(plan_of(name), ran(name))
        root = ElementTree.fromstring(drawn.parts[0].svg())
        clips = {c.get("id"): points(c[0]) for c in root.iter(f"{SVG}clipPath")}
        walls = [points(e) for e in elements(drawn.parts[0], "wall") if "shell" not in e.get("class")]
        for group in (g for g in root.iter(f"{SVG}g") if g.get("clip-path")):
            box = clips[group.get("clip-path")[5:-1]]
            assert any(np.allclose(box.min(0), w.min(0)) and np.allclose(box.max(0), w.max(0)) for w in walls)


@pytest.mark.parametrize("stage", ["filling", "spilling", "priming", "siphoning"])
def test_standpipe_shows_what_it_does(stage):
    run = ran("greenhouse")
    group = run.groups[0]
    before = {
        "filling": 0.0, "spilling": group.fill_time, "priming": group.fill_time + group.spill_time,
        "siphoning": group.fill_time + group.spill_time + group.priming_time,
    }[stage]  # fmt: skip
    lasts = {
        "filling": group.fill_time, "spilling": group.spill_time, "priming": group.priming_time,
        "siphoning": group.drain_time,
    }[stage]  # fmt: skip
    drawn = section(run.plan, run, group.began + before + 0.8 * lasts)
    bore = points(elements(drawn.parts[1], "empty")[0])
    wide = np.ptp(bore[bore[:, 1] > bore[:, 1].min() + 60.0][:, 0])
    core = float(elements(drawn.parts[1], "core")[0].get("stroke-width"))
    # Dry; a film around a core of air; plugs of water between air; full.
    least, most = {
        "filling": (1.0, 1.0), "spilling": (0.75, 0.98), "priming": (0.5, 0.75), "siphoning": (0.0, 0.0)
    }[stage]  # fmt: skip
    assert least * wide - 0.1 <= core <= most * wide + 0.1
    assert ElementTree.fromstring(drawn.parts[1].svg())[0].get("data-stage") == stage


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("system", ["metric", "us"])
def test_no_label_lies_over_another_or_is_cut(name, system):
    run = ran(name)
    for siphon in run.plan.siphons:
        view = SectionView(run.plan, siphon=siphon.name, system=system)
        for t in (None, *moments(run)[::3]):
            clear(view.show(run.plan, run, t))


@pytest.mark.parametrize("plan", [*(row_of_beds(k).plan for k in range(1, 9)), *RANDOM], ids=lambda p: p.name)
def test_labels_of_many_beds_and_of_random_plans_are_clear(plan):
    drawn = section(plan)
    clear(drawn)


@pytest.mark.parametrize("plan", [*map(plan_of, NAMES), *RANDOM], ids=lambda plan: plan.name)
def test_no_pipe_runs_through_the_words_at_the_flood_level(plan):
    """Points a pixel apart along each pipe's middle line, against a box round the words."""
    drawing = section(plan).parts[0]
    found = [e for e in elements(drawing, "halo") if e.text == "flood level"]
    assert len(found) <= 1
    for words, pipe in product(found, elements(drawing, "pipe")):
        x, y = float(words.get("x")), float(words.get("y"))
        half = 0.5 * float(pipe.get("stroke-width"))
        for (x0, y0), (x1, y1) in pairwise(points(pipe)):
            for s in np.linspace(0.0, 1.0, 2 + int(np.hypot(x1 - x0, y1 - y0))):
                along, up = x0 + s * (x1 - x0), y0 + s * (y1 - y0)
                beside = not x - half < along < x + 5.0 * PHONE + half
                assert beside or up + half < y - 0.7 * PHONE or up - half > y, (along, up)


def test_letters_are_large_enough():
    """At least 11 px: in a page of 800 px (760 inside, 16 between both drawings), and on a phone."""
    assert TEXT * NARROWEST >= 11.0
    assert PHONE * LEAST >= 11.0
    drawn = section(plan_of("greenhouse"))
    assert sum(part.width for part in drawn.parts) * NARROWEST + 16.0 <= 760.0
    assert drawn.parts[0].width * LEAST <= 390.0 - 2 * 14.4
    assert f"min-width:max({LEAST * 580.0:.0f}px,min(100%,{NARROWEST * 580.0:.0f}px))" in drawn.svg()


def test_flow_in_a_run_is_what_its_bed_loses():
    """Volumes over a second, from the storage cells, against the flow that the arrow shows."""
    run = ran("greenhouse")
    plan, trace = run.plan, run.trace
    start = fullest(run, "siphon") + 60.0
    now = moment(plan, run, start)
    for bed in plan.beds:
        cells = vessel_cells(plan, bed)
        volumes = [volume_at(cells, trace.level(bed.name, start + dt)) for dt in (-0.5, 0.5)]
        lost = now.pump / 3.0 - (volumes[1] - volumes[0])
        assert now.runs[bed.name] == pytest.approx(lost, rel=0.01)
    assert now.runs["tee 3"] == pytest.approx(sum(now.runs[b.name] for b in plan.beds))
    still = run_flows(areas(plan), inlets(plan), now.levels, dict.fromkeys(now.levels, 0.0), 3e-4)
    assert still["bed 1"] == pytest.approx(1e-4)


def test_a_changed_plan_is_drawn_to_the_same_scale():
    run = ran("greenhouse")
    plan = run.plan
    changed = edit.put(plan, {"siphon.standpipe.height": 0.36, "siphon.bell.top_height": 0.4})
    view = SectionView(plan, (changed,))
    before, after = view.show(plan), view.show(changed)
    assert ladder(view, before.parts[0]) == pytest.approx(ladder(view, after.parts[0]))
    fresh = SectionView(changed, (plan,)).show(changed)
    assert fresh.parts[1].svg() == after.parts[1].svg()
    assert show(0.36, "length") in after.alt
    assert before.parts[1].svg() != after.parts[1].svg()


def test_a_run_of_one_plan_is_drawn_with_another_units():
    run = ran("us-units")
    told = section(run.plan, run, system="metric").alt
    assert " m" in told
    assert run_plan(replace(run.plan, units="metric")).plan.units == "metric"


def test_a_line_is_drawn_full_while_its_water_stands_over_its_end():
    """A line that ends in its vessel is filled while the bed's water is a millimetre over it."""
    run = ran("greenhouse")
    (line,) = (x for x in run.plan.runs if x.to == "chamber")
    now = moment(run.plan, run, None)
    for over, filled in ((0.002, 1.0), (0.0005, 0.0), (-0.05, 0.0)):
        levels = now.levels | {line.start: line.outfall + over}
        values, _ = state(run.plan, replace(now, levels=levels), "", "siphon", "metric", 1e-3)
        assert values[f"run {line.start} filled"] == filled
