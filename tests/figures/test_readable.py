"""Every figure of every plan: no labels over each other, none cut, units on axes, apart without colour."""

from __future__ import annotations

import re
from itertools import combinations
from xml.etree import ElementTree

import pytest
from matplotlib.colors import to_hex, to_rgb
from matplotlib.patches import Patch

from aquacalc.figures import style, vector
from aquacalc.figures.head_budget import head_budget, run_losses, siphon_losses
from aquacalc.figures.inflow_window import window
from aquacalc.figures.levels import levels
from aquacalc.figures.priming_map import priming_map
from aquacalc.results.window import inflow_window
from tests.figures.checks import axes_without_unit, clear, unclear
from tests.figures.colour_blind import MATRICES, apart
from tests.figures.examples import NAMES, STILLS, moments, ran, row_of_beds, still

pytestmark = pytest.mark.identity
#: CIE76 difference that is plain to see side by side (2.3 is just noticeable: Mahy et al. 1994, from memory).
PLAIN = 10.0
THEMES = {
    name: dict(re.findall(r"--(\w+): (#\w{6});", colours))
    for name, colours in zip(("light", "dark"), vector.themes(vector.style()), strict=True)
}
MATPLOTLIB = {"light": {c: c for c in style.DARK}, "dark": style.DARK}
#: Nothing over anything else, nothing cut.
CLEAR = ([], [])


def pictures(name):
    run = ran(name)
    plan = run.plan
    siphon = plan.siphons[0]
    data = inflow_window(plan, siphon, run)
    flow = 1e-3
    yield levels(run)
    yield window(data, plan.units)
    yield priming_map(siphon, data.today, plan.units)
    yield head_budget("siphon", siphon_losses(plan, siphon, flow), flow, plan.units)
    for way in plan.runs[:1]:
        yield head_budget("run", run_losses(plan, way, flow), flow, plan.units)


@pytest.mark.parametrize("name", NAMES)
def test_no_label_lies_over_another_or_is_cut(name):
    for picture in pictures(name):
        clear(picture)


@pytest.mark.parametrize("name", STILLS)
def test_studies_maps_and_lips_are_as_clear(name):
    if name.startswith("lips"):
        clear(still(name))
        return
    figure = still(name).figure
    assert unclear(figure) == CLEAR
    assert axes_without_unit(figure) == []


@pytest.mark.parametrize(
    ("name", "system"),
    [
        ("greenhouse", "metric"),
        ("half-drums", "metric"),
        ("inside-bed", "metric"),
        ("star", "us"),
        ("two-groups", "us"),
    ],
)
def test_levels_stay_clear_all_through_a_cycle(name, system):
    run = ran(name)
    for siphon in run.plan.siphons:
        for t in moments(run)[::6]:
            clear(levels(run, siphon.name, t, system))


@pytest.mark.parametrize("count", range(1, 7))
def test_one_to_six_beds(count):
    run = row_of_beds(count)
    picture = levels(run)
    clear(picture)
    assert all(f"bed {k + 1}" in picture.alt for k in range(count))


def test_checks_see_an_overlap_and_a_cut():
    figure = style.new_figure(200)
    axes = style.bare(figure, 0, 0, 900, 200)
    axes.set_ylim(0, 200)
    style.write(axes, 100, 100, "one label")
    style.write(axes, 120, 102, "another")
    style.write(axes, 880, 20, "runs over the edge")
    assert unclear(figure) == ([("one label", "another")], ["runs over the edge"])
    for touching in ((120.0, 102.0, "another"), (880.0, 20.0, "runs over the edge")):
        drawing = vector.Drawing(900.0, 200.0)
        drawing.text(100.0, 100.0, "one label")
        drawing.text(*touching)
        with pytest.raises(AssertionError, match=touching[2]):
            clear(vector.Drawn((drawing,), ""))


@pytest.mark.parametrize("eye", MATRICES)
def test_simulation_leaves_grey_alone_and_takes_colour_away(eye):
    for row in MATRICES[eye]:
        assert sum(row) == pytest.approx(1.0, abs=2e-6)
    assert apart("#808080", "#a0a0a0", eye) == pytest.approx(apart("#808080", "#a0a0a0", ""), abs=1e-3)
    # Blue and green are what the third cone tells apart, red and green the other two.
    pair = ("#00a0c0", "#00b080") if eye == "tritanopia" else ("#c06000", "#7c8a00")
    assert apart(*pair, eye) < 0.6 * apart(*pair, "")


def test_lines_of_levels_differ_without_colour():
    root = ElementTree.fromstring(levels(row_of_beds(6)).svg())
    lines = [e for e in root.iter() if e.get("class") == "curve" and e.get("clip-path")]
    assert len(lines) == 7
    dashes = [e.get("stroke-dasharray") for e in lines]
    assert len(set(dashes[:-1])) == 6
    assert "style" not in lines[-1].attrib  # the chamber's line is ink, whole like the first bed's


@pytest.mark.parametrize("name", NAMES)
def test_areas_that_touch_differ_by_colour_or_hatch(name):
    run = ran(name)
    siphon = run.plan.siphons[0]
    data = inflow_window(run.plan, siphon, run)
    for picture in (window(data, "metric"), priming_map(siphon, data.today, "metric"), levels(run)):
        kinds, before = set(), ""
        for e in ElementTree.fromstring(picture.svg()).iter():
            if e.get("class") == "zone":
                before = re.search(r"--(\w+)", e.get("style"))[1]
                kinds.add((before, ""))
            elif "hatch" in (e.get("fill") or ""):
                kinds -= {(before, "")}
                kinds.add((before, e.get("fill")))
        for (one, hatch), (other, mark) in combinations(sorted(kinds), 2):
            for theme in THEMES.values():
                for eye in ("", *MATRICES):
                    assert hatch != mark or apart(theme[one], theme[other], eye) > 0.5 * PLAIN, (one, other)


def areas_differ(figure, eye):
    for axes in figure.axes:
        patches = [p for p in axes.findobj(Patch) if p is not axes.patch and p.get_visible()]
        kinds = {(p.get_facecolor(), p.get_hatch()) for p in patches if p.get_facecolor()[3] > 0.0}
        for (one, hatch), (other, mark) in combinations(sorted(kinds, key=str), 2):
            pair = to_hex(one), to_hex(other)
            for each in (pair, [style.DARK[colour] for colour in pair]):
                assert hatch != mark or apart(*each, eye) > 0.5 * PLAIN, each


@pytest.mark.parametrize("name", [name for name in STILLS if not name.startswith("lips")])
def test_every_colour_of_studies_and_maps_follows_the_theme(name):
    drawn = re.sub(r"<style>.*?</style>", "", still(name).svg(), flags=re.S)
    assert re.findall(r"(?<!,)#[0-9a-f]{6}\b", drawn) == []
    for text in re.findall(r"<text[^>]*>", drawn):
        assert "fill: var(" in text, text  # without it, black on a dark page


@pytest.mark.parametrize("eye", ["", *MATRICES])
@pytest.mark.parametrize("name", [name for name in STILLS if not name.startswith("lips")])
def test_areas_of_studies_maps_differ_too(name, eye):
    areas_differ(still(name).figure, eye)


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("eye", ["", *MATRICES])
def test_water_media_and_pipe_differ_in_the_section(eye, theme):
    # Water over media is a blend; the surface line, the stipple and the walls tell the rest.
    has = THEMES[theme]
    for one, other in combinations(("paper", "water", "pipe", "ink"), 2):
        assert apart(has[one], has[other], eye) > PLAIN, (one, other)
    for one, other in (("grain", "media"), ("air", "water"), ("deep", "water"), ("mark", "water")):
        assert apart(has[one], has[other], eye) > PLAIN, (one, other)


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("colour", ["ink", "soft", "deep", "mark", style.INK, style.SOFT, style.MARK])
def test_text_stands_out_from_paper(colour, theme):
    # WCAG 2.2 success criterion 1.4.3: 4.5 to 1 (read; relative luminance as in its definition, from memory).
    has = THEMES[theme] | MATPLOTLIB[theme]
    paper = has[style.PAPER if colour.startswith("#") else "paper"]
    light, dark = sorted((luminance(has[colour]), luminance(paper)), reverse=True)
    assert (light + 0.05) / (dark + 0.05) > 4.5


def luminance(colour):
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
