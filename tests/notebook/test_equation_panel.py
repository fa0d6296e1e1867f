"""Panels of one equation: values, words, units."""

import re

import pytest
from nbformat.v4 import new_markdown_cell, new_notebook

from aquacalc.catalogue import data_dir
from aquacalc.equations import RECORDS
from aquacalc.equations.worked import Working, worked
from aquacalc.notebook import EquationPanel, demo_plan, said, use
from aquacalc.notebook.saved_readings import ERRORS, invented
from aquacalc.notebook.slider import grid
from aquacalc.notebook.strainer_panels import head_panel
from aquacalc.pages.maths import Workings
from aquacalc.plan import read_plan
from aquacalc.teaching.handout import handout
from aquacalc.teaching.live_lesson import _equation
from aquacalc.units import show

RANGES = {"A": ("1 cm2", "6 cm2", "20 cm2"), "H": ("10 mm", "123.4 mm", "500 mm")}


@pytest.mark.identity
def test_result_is_the_librarys_own():
    panel = EquationPanel("orifice_flow", RANGES)
    panel.set(H=0.2, A=5e-4)
    flow = RECORDS["orifice_flow"].compute(A=5e-4, H=0.2).value
    assert panel.text == f"Flow: {show(flow, 'flow')}."
    assert panel.text in panel.words.value
    assert panel.result.result_text in panel.math.value  # beside the formula, for who hears it
    assert panel.result == worked(RECORDS["orifice_flow"], {"A": 5e-4, "H": 0.2})


@pytest.mark.identity
def test_every_set_formula_is_reached_by_keyboard_and_has_a_name(tmp_path):
    """WCAG 2.2, 2.1.1 (read): what is wider than its place can be scrolled without a mouse."""
    panel = EquationPanel("choking_flow", {"D": ("15 mm", "26.6 mm", "60 mm"), "Fr": (0.3, 0.55, 1.0)})
    book = new_notebook(cells=[new_markdown_cell("$$Q = \\frac{V}{t}$$")])
    pages = {
        "panel": panel.math.value,
        "handout": handout(book, "a.ipynb", tmp_path),
        "report": Workings("metric").block(Working("choking_flow", panel.values, None)),
        "live lesson": _equation(panel, "metric", 1),
    }
    for name, page in pages.items():
        outer = re.findall(r'<(?:div|span) class="math"[^>]*>', page)
        assert outer, name
        for tag in outer:
            assert 'tabindex="0" role="group" aria-label="' in tag, (name, tag)
        assert "<math" in page, name


@pytest.mark.identity
def test_slider_and_box_follow_each_other_and_are_rounded():
    knob = EquationPanel("orifice_flow", RANGES).knobs["H"]
    knob.slider.value = 200.00000000000003
    assert (knob.box.value, knob.si) == (200.0, 0.2)
    knob.box.value = 212.5
    assert (knob.slider.value, knob.si) == (212.5, 0.2125)


@pytest.mark.identity
def test_first_value_between_steps_is_kept_exactly():
    knob = EquationPanel("orifice_flow", RANGES).knobs["H"]
    assert knob.si == 0.1234
    knob.slider.value = 125.0  # what a browser sends back for 123.4 when it draws a slider in steps of 5
    assert knob.si == 0.1234
    knob.slider.value = 130.0
    assert knob.si == 0.13


@pytest.mark.identity
def test_units_switch_in_one_place():
    first, second = EquationPanel("orifice_flow", RANGES), EquationPanel("fill_time", {
        "V": ("10 L", "80 L", "400 L"), "Q": ("2 L/min", "18 L/min", "40 L/min")})  # fmt: skip
    before = first.result.value
    use("us")
    assert first.knobs["H"].slider.description.endswith("(in)")
    assert second.knobs["V"].box.tooltip.endswith("(gal)")
    assert first.result.value == before
    assert first.text == f"Flow: {show(before, 'flow', 'us')}."
    first.knobs["H"].box.value = 10.0
    assert first.knobs["H"].si == 0.254


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize(
    ("low", "high", "kind"),
    [(0.01, 0.5, "head"), (1e-5, 6e-4, "flow"), (1e-4, 2e-3, "opening_area"), (0.1, 0.9, "ratio"),
     (0.012, 0.055, "length"), (0.0, 40.0, "temperature"), (-0.4, 1.2, "elevation")],
)  # fmt: skip
@pytest.mark.identity
def test_step_divides_the_span(low, high, kind, system):
    a, b, step, decimals = grid(low, high, kind, system)
    count = (b - a) / step
    assert abs(count - round(count)) < 1e-9
    assert round(count) >= 40
    assert round(step, decimals) == step


@pytest.mark.identity
def test_bundle_without_a_kernel():
    data, _ = EquationPanel("orifice_flow", RANGES)._repr_mimebundle_()
    assert data["text/plain"].startswith("Flow: ")
    assert "\n" not in data["text/plain"]
    assert "Q = C_d × A × sqrt(2 × g × H)" in data["text/html"]  # no raw LaTeX where nothing sets it
    assert "\\" not in data["text/html"]
    assert r"\begin{aligned}" in data["text/latex"]  # for paper
    assert "application/vnd.jupyter.widget-view+json" in data


@pytest.mark.identity
def test_out_of_range_is_said():
    panel = EquationPanel("choking_flow", {"Fr": (0.3, 0.55, 1.5), "D": ("10 mm", "26.6 mm", "60 mm")})
    assert "Careful" not in panel.text
    panel.set(Fr=1.4)
    assert "Careful" in panel.text


@pytest.mark.parametrize(
    ("name", "ranges", "said"),
    [("nothing", {}, "nothing"), ("orifice_flow", {"X": (0, 1, 2)}, "X"),
     ("orifice_flow", {"H": (2.0, 1.0, 3.0)}, "H"), ("orifice_flow", {"H": (0.1, float("nan"), 3.0)}, "H")],
)  # fmt: skip
def test_refuses(name, ranges, said):
    with pytest.raises(ValueError, match=said):
        EquationPanel(name, ranges)


@pytest.mark.identity
def test_missing_value_is_said_in_words():
    panel = EquationPanel("orifice_flow", {"H": ("10 mm", "120 mm", "500 mm")})
    assert "no value for A" in panel.text


def test_unknown_units_are_refused():
    with pytest.raises(ValueError, match="metric"):
        use("imperial")


@pytest.mark.identity
def test_said_breaks_into_paragraphs_and_a_list():
    shown = said("How?\n- a < b\n- c\nSo.")
    assert repr(shown) == "How?\n- a < b\n- c\nSo."
    assert shown.html == "<p>How?</p><ul><li>a &lt; b</li><li>c</li></ul><p>So.</p>"


@pytest.mark.identity
def test_sliders_of_a_strainer_begin_at_its_own_numbers():
    """Its open area from a tenth to twice, its flow from a fifth to three times, 28 slots of 3 x 25 mm."""
    panel = head_panel(demo_plan())
    area, flow = 28 * 0.003 * 0.025, panel.values["Q"]
    assert panel.values["A_o"] == pytest.approx(area)
    assert panel.knobs["A_o"].ends == pytest.approx((0.1 * area, 2.0 * area), rel=0.05)
    assert panel.knobs["Q"].ends == pytest.approx((0.2 * flow, 3.0 * flow), rel=0.05)
    speed = flow / (panel.values["C_d"] * area)
    assert panel.result.value == pytest.approx(speed**2 / 2 / 9.80665)


@pytest.mark.identity
@pytest.mark.parametrize("name", ["greenhouse", "spills-without-starting", "runs-on-without-stopping"])
def test_invented_readings_are_those_that_can_be_read(name):
    """To half their error, and none of what never comes: a fill that does not end in a start, a drain."""
    plan = read_plan(data_dir() / "plans" / f"{name}.toml")
    found = {r.what: r for r in invented(plan)}
    for what, error in ERRORS.items():
        if what in found:
            halves = 2.0 * found[what].value / error
            assert halves == pytest.approx(round(halves), abs=1e-6)
            assert found[what].error == error
            assert found[what].value > 0.0
    cycles = name == "greenhouse"
    assert [what in found for what in ("jug flow", "fill time", "drain time")] == [True, cycles, cycles]
    assert {r.bed for r in found.values()} == ({"", "bed 1"} if "level at break" in found else {""})
