"""Panels in a real browser: units switched, what a screen reader hears, and the water moved."""

import os
from pathlib import Path

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]

CHROMIUM = "/usr/bin/chromium"
#: What is said of every slider: its name, its value; and what stands in the box beside it.
HEARD = """() => [...document.querySelectorAll('.noUi-handle')].map((handle) => {
    const row = handle.closest('.widget-hbox');
    return [row.querySelector('.widget-label').textContent, handle.getAttribute('aria-valuetext'),
        row.querySelector('input, select').value];
})"""


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    if not Path(CHROMIUM).exists() and not os.environ.get("CI"):
        pytest.skip(f"no browser at {CHROMIUM}: install Debian's chromium to run this")
    from tests.browser.lab import chromium, lab, write_notebook

    folder = tmp_path_factory.mktemp("panels")
    start = "from aquacalc.notebook import *\nfrom aquacalc.teaching import *\nUnitSwitch()"
    equation = "EquationPanel('pipe_velocity', {'Q': ('6 L/min', '60 L/min', '90 L/min')}, {'D': '40.9 mm'})"
    write_notebook(folder / "panel.ipynb", start, "BedPanel(demo_plan('one-bed'))", equation)
    forms = "BedForm(demo_plan('one-bed'))", "StartForm()", "FaultHunt()", "guess('which-starts-lower')"
    write_notebook(folder / "forms.ipynb", start, *forms)
    with lab(folder) as running, chromium(height=3000) as watched:
        yield running, watched.page
        assert watched.errors == []


@pytest.fixture(scope="module")
def opened(served):
    return run(*served, "panel.ipynb")


@pytest.fixture(scope="module")
def forms(served):
    return run(*served, "forms.ipynb")


def run(lab, page, name):
    from tests.browser.lab import open_notebook

    open_notebook(lab, page, name)
    page.locator(".noUi-handle").first.wait_for()
    return page


def heard(page) -> dict[str, tuple[str, str]]:
    return {name: (said, box) for name, said, box in page.evaluate(HEARD)}


@pytest.mark.identity
def test_sliders_stand_where_they_stood_after_a_switch_of_units(opened):
    page = opened
    page.wait_for_function(f"({HEARD})().some(([name]) => name === 'Standpipe height (mm)')")
    assert heard(page)["Standpipe height (mm)"] == ("430 mm", "430")
    page.get_by_role("button", name="US (in, gpm)").click()
    page.wait_for_function(f"({HEARD})().some(([name]) => name === 'Pump flow (gpm)')")
    page.wait_for_timeout(500)
    said, box = heard(page)["Standpipe height (in)"]
    assert said.split()[1] == "in"
    assert float(said.split()[0]) == pytest.approx(430 / 25.4, abs=0.1)  # half a step of 0.2 in
    assert float(box) == pytest.approx(430 / 25.4, abs=0.005)
    handle = page.get_by_role("slider", name="Standpipe height (in)")
    handle.focus()
    page.keyboard.press("ArrowDown")  # JupyterLab would go to the next cell
    page.wait_for_function(f"({HEARD})().some((s) => s[0] === 'Standpipe height (in)' && s[2] === '16.8')")
    page.get_by_role("button", name="metric (mm, L/min)").click()
    page.wait_for_function(f"({HEARD})().some(([name]) => name === 'Standpipe height (mm)')")
    page.wait_for_timeout(500)
    assert float(heard(page)["Standpipe height (mm)"][1]) == pytest.approx(16.8 * 25.4, abs=0.05)


@pytest.mark.identity
def test_a_screen_reader_hears_values_with_their_units_and_sizes_by_name(opened):
    told = heard(opened)
    assert told["Standpipe size"][0].replace("\xa0", " ") == "1 in"
    assert told["Pump flow (L/min)"][0] == "18 L/min"
    for name, (said, _) in told.items():
        assert len(said) <= 12, (name, said)  # no 429.99999999999994


@pytest.mark.identity
def test_water_plays_by_keyboard_and_only_when_asked(opened):
    page = opened
    moment = page.get_by_role("slider", name="Moment of the cycle, %")
    at = moment.get_attribute("aria-valuenow")
    page.wait_for_timeout(600)
    assert moment.get_attribute("aria-valuenow") == at  # it stands still until it is asked to move
    button = page.get_by_role("button", name="Play or pause the water")
    button.focus()
    page.keyboard.press("Enter")
    page.wait_for_function("(at) => document.querySelectorAll('.noUi-handle')[4].ariaValueNow !== at", arg=at)
    page.keyboard.press("Enter")
    page.wait_for_timeout(800)
    stopped = moment.get_attribute("aria-valuenow")
    page.wait_for_timeout(600)
    assert moment.get_attribute("aria-valuenow") == stopped


@pytest.mark.identity
def test_a_formula_is_reached_by_tab_and_says_its_name(opened):
    page = opened
    page.get_by_label("flow, Q (L/min)").last.focus()
    page.keyboard.press("Tab")
    said = page.evaluate("[document.activeElement.getAttribute('aria-label'), document.activeElement.role]")
    assert said == ["calculation", "group"]


@pytest.mark.identity
def test_arrows_move_a_choice_and_a_list_and_not_the_notebook(forms):
    page = forms
    page.get_by_label("the plain one").focus()
    page.keyboard.press("ArrowDown")
    page.wait_for_function("() => document.activeElement.matches('input[type=radio]:checked')")
    chosen = page.locator("input[type=radio]:checked")
    assert chosen.evaluate("(node) => node.labels[0].textContent.trim()") == "the one with the reducer"
    page.get_by_label("Cause").press("ArrowDown")
    page.wait_for_function("() => document.activeElement.value === 'the pump delivers a quarter less'")


@pytest.mark.identity
def test_sizes_of_ones_own_bed_are_used_or_refused_by_name(forms):
    page = forms
    box = page.get_by_label("Height of the standpipe (mm), value")
    use = page.get_by_role("button", name="Use these sizes")
    box.fill("2000")
    use.press("Enter")
    page.get_by_role("status").filter(has_text="Fix: shorten the standpipe").wait_for()
    box.fill("400")
    use.press("Enter")
    page.get_by_role("status").filter(has_text="The panel has these sizes.").wait_for()
    page.wait_for_function(
        f"({HEARD})().filter((s) => s[0] === 'Standpipe height (mm)' && s[2] === '400').length"
    )


@pytest.mark.identity
def test_first_plan_is_asked_for_and_spoken_in_either_units(forms):
    page = forms
    flow = page.get_by_label("Flow of the pump at the beds")
    assert flow.get_attribute("placeholder") == "18 L/min"
    page.get_by_role("button", name="Does it work?").press("Enter")
    page.get_by_role("status").filter(has_text="This plan works").wait_for()
    page.get_by_role("button", name="US (in, gpm)").click()
    page.get_by_role("status").filter(has_text="you have 5").wait_for()
    assert flow.get_attribute("placeholder") == "5 gpm"
    page.get_by_role("button", name="metric (mm, L/min)").click()


@pytest.mark.identity
def test_a_learner_hunts_a_fault(forms):
    from tests.browser.lab import OURS, serious

    page = forms
    take = page.get_by_role("button", name="Take this reading")
    page.get_by_label("Name", exact=True).fill("Ann")
    for what in ("jug flow", "drain time"):
        page.get_by_label("Reading", exact=True).select_option(what)
        take.press("Enter")
        page.get_by_role("cell", name=what).wait_for()  # the row, whose words do not change with the number
    page.get_by_role("status").filter(has_text="3 readings left").wait_for()
    page.get_by_role("button", name="That is it").press("Enter")
    page.get_by_role("status").filter(has_text="Choose a cause and how sure").wait_for()
    page.get_by_label("Cause").select_option("the pump delivers a quarter less")
    page.get_by_label("How sure").select_option("95 in 100")
    page.get_by_role("button", name="That is it").press("Enter")
    told = page.get_by_role("status").filter(has_text="Here is its water")
    told.wait_for()
    assert "95 in 100 sure. It is: " in told.inner_text()
    assert serious(page, *OURS) == []
