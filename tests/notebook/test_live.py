"""Figures as SVG at once: well formed, like the figure itself, and written anew only where it changed."""

import re
from xml.etree import ElementTree

import pytest
from matplotlib.patches import PathPatch
from matplotlib.path import Path

from aquacalc.catalogue import data_dir
from aquacalc.equations.formulas import GRAVITY, choking_flow, lip_head
from aquacalc.figures import style
from aquacalc.figures.levels import LevelsView
from aquacalc.figures.lips import lips
from aquacalc.figures.live.svg import Live
from aquacalc.figures.priming_map import PrimingMapView
from aquacalc.plan import edit, read_plan
from aquacalc.results.cycle import run_plan
from aquacalc.units import show

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def run():
    return run_plan(read_plan(data_dir() / "plans" / "greenhouse.toml"))


def words(figure) -> list[str]:
    """Every visible line of text of a figure."""
    found = []
    for axes in figure.axes:
        texts = [*axes.texts, axes.title, axes._left_title]
        texts += [t for axis in (axes.xaxis, axes.yaxis) for t in (axis.label, *axis.get_ticklabels())]
        found += [line for t in texts if t.get_visible() for line in t.get_text().split("\n") if line.strip()]
    return found


@pytest.mark.identity
@pytest.mark.parametrize("kind", ["levels", "map"])
def test_holds_every_word_of_the_figure_and_is_well_formed(run, kind):
    plan = run.plan
    if kind == "levels":
        view = LevelsView(plan, scale=1.0)
        view.show(run, 900.0)
    else:
        view = PrimingMapView("metric", scale=1.0)
        view.show(plan.siphons[0], 3e-4)
    root = ElementTree.fromstring(Live(view.figure).svg('a < b & "c"'))
    assert root.get("aria-label") == 'a < b & "c"'
    shown = [text.text for text in root.iter(f"{SVG}text")]
    assert set(words(view.figure)) <= set(shown)
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    used = set(re.findall(r"url\(#([^)]+)\)", ElementTree.tostring(root, "unicode")))
    assert used <= set(ids)
    _, _, width, height = map(float, root.get("viewBox").split())
    for text in root.iter(f"{SVG}text"):
        assert 0.0 <= float(text.get("x")) <= width
        assert 0.0 <= float(text.get("y")) <= height


@pytest.mark.identity
def test_only_what_changed_is_written_anew(run):
    view = LevelsView(run.plan, scale=1.0)
    live = Live(view.figure)
    view.show(run, 1300.0)
    first = live.svg("x")
    count = 0
    draw = live.pen.draw_path

    def counted(*args, **kwargs):
        nonlocal count
        count += 1
        return draw(*args, **kwargs)

    live.pen.draw_path = counted
    assert live.svg("x") == first
    still = count
    view.show(run, 1500.0)
    assert live.svg("x") != first
    view.show(run, 1300.0)
    assert live.svg("x") == first
    assert still < 5


@pytest.mark.identity
def test_new_path_of_a_patch_is_seen_though_it_does_not_call_itself_stale():
    figure = style.new_figure(100)
    axes = style.bare(figure, 0, 0, 900, 100)
    axes.set_ylim(0, 100)
    patch = axes.add_patch(PathPatch(Path([(10, 10), (20, 10), (20, 20)]), fc="#ff0000", ec="none"))
    live = Live(figure)
    first = live.svg("x")
    assert "M10.0 90.0L20.0 90.0L20.0 80.0" in first
    patch.set_path(Path([(10, 10), (30, 10), (30, 30)]))
    assert "M10.0 90.0L30.0 90.0L30.0 70.0" in live.svg("x")


@pytest.mark.identity
def test_lips_say_both_heads():
    siphon = read_plan(data_dir() / "plans" / "greenhouse.toml").siphons[0]
    stand = siphon.standpipe
    flow = choking_flow(0.55, stand.pipe.bore, GRAVITY)
    picture = lips(siphon, "metric")
    for lip in (stand.pipe.bore, stand.lip_diameter):
        head = show(lip_head(1.71, 0.60, lip, flow, GRAVITY), "head")
        assert head in picture.alt
        assert any(head in line for line in words(picture.figure))
    assert show(flow, "flow") in picture.alt


@pytest.mark.identity
def test_water_of_the_lips_is_drawn_to_scale():
    plan = read_plan(data_dir() / "plans" / "greenhouse.toml")
    heads = []
    for lip in (0.03, 0.06):
        siphon = edit.put(plan, {"siphon.standpipe.lip_diameter": lip}).siphons[0]
        axes = lips(siphon, "metric").figure.axes[0]
        surfaces = [line.get_ydata()[0] for line in axes.lines if line.get_color() == style.WATER_LINE]
        heads.append((surfaces, lip_head(1.71, 0.60, lip, choking_flow(0.55, 0.02664, GRAVITY), GRAVITY)))
    (first, a), (second, b) = heads
    assert first[0] == second[0]  # the plain end stays as it is
    assert first[1] / second[1] == pytest.approx(a / b, rel=2e-3)
