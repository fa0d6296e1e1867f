"""The workbooks in a real browser: run, moved by keyboard and mouse, held against the library."""

import os
import re
import shutil
from html import unescape
from pathlib import Path

import pytest

from aquacalc.catalogue import data_dir, workbooks_dir
from aquacalc.notebook import BedPanel, BedsPanel, LipPanel, SumpPanel, use
from aquacalc.plan import read_plan

pytestmark = [pytest.mark.browser, pytest.mark.timeout(900)]

CHROMIUM = "/usr/bin/chromium"
#: Workbook -> its panel, demo plan, key and label of the slider that is moved.
CASES = {
    "01": (LipPanel, "greenhouse", "lip", "Lip diameter"),
    "04": (BedPanel, "one-bed", "standpipe", "Standpipe height"),
    "05": (BedsPanel, "greenhouse", "standpipe", "Standpipe height"),
    "06": (SumpPanel, "greenhouse", "standpipe", "Standpipe height"),
}


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    if not Path(CHROMIUM).exists() and not os.environ.get("CI"):
        pytest.skip(f"no browser at {CHROMIUM}: install Debian's chromium to run this")
    from tests.browser.lab import chromium, lab

    folder = tmp_path_factory.mktemp("workbooks")
    for path in workbooks_dir().glob("*"):
        if path.is_file():
            shutil.copy(path, folder)
    with lab(folder) as running, chromium() as watched:
        yield running, folder, watched


def settled(page, box, left: float | None = None) -> float:
    """Value of a number box once it has stayed the same for half a second, other than the one it left."""
    before = None
    for _ in range(120):
        now = box.input_value()
        if now == before and float(now) != left:
            return float(now)
        before = now
        page.wait_for_timeout(500)
    raise AssertionError("the number box does not come to rest")


@pytest.mark.identity
@pytest.mark.parametrize("number", CASES)
def test_moved_slider_agrees_with_the_library(served, number):
    from playwright.sync_api import expect

    from tests.browser.lab import narrow_page, open_notebook

    lab, folder, watched = served
    kind, demo, key, label = CASES[number]
    use("metric")
    mine = kind(read_plan(data_dir() / "plans" / f"{demo}.toml"))
    name = next(folder.glob(f"{number}-*.ipynb")).name
    page = watched.page
    open_notebook(lab, page, name)
    panel = page.locator(".widget-vbox").filter(has=page.locator("svg[role=img]")).first
    panel.scroll_into_view_if_needed()
    row = panel.locator(".widget-hbox").filter(has_text=label).first
    handle, box = row.locator(".noUi-handle"), row.locator("input[type=number]")
    words = panel.locator("[role=status] b").first
    picture = panel.locator("svg[role=img]").first

    def agree(left=None):
        for _ in range(40):  # a busy computer may bring the last move later
            mine.set(**{key: settled(page, box, left) / 1e3})
            if words.inner_text() == mine.text:
                break
        expect(words).to_have_text(mine.text, timeout=20000)
        drawn = unescape(re.search(r'aria-label="([^"]*)"', mine.above)[1])
        expect(picture).to_have_attribute("aria-label", drawn)

    expect(words).to_have_text(mine.text, timeout=60000)
    for control in (handle, box):  # for somebody who hears the page
        expect(control).to_have_accessible_name(f"{mine.knobs[key].label} (mm)")
    start = settled(page, box)

    handle.focus()
    for _ in range(3):
        page.keyboard.press("ArrowLeft")
    agree(start)
    after_keys = settled(page, box, start)
    assert start - 3.01 * mine.knobs[key].step <= after_keys <= start - 2.0 * mine.knobs[key].step

    place = handle.bounding_box()
    page.mouse.move(place["x"] + place["width"] / 2, place["y"] + place["height"] / 2)
    page.mouse.down()
    page.mouse.move(place["x"] - 40, place["y"] + place["height"] / 2, steps=8)
    page.mouse.up()
    agree(after_keys)
    assert settled(page, box) < after_keys

    box.fill(f"{start:g}")
    box.press("Enter")
    agree()
    assert settled(page, box) == start
    assert picture.bounding_box()["width"] > 400

    assert narrow_page(page, heard=number in ("01", "04")) == []
    assert page.locator(".Toastify__toast").count() == 0  # a question of JupyterLab's would cover the panel
    assert watched.errors == []
    assert watched.outside == []
