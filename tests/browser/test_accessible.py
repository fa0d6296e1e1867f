"""Pages held against axe-core: nothing serious or critical, and nothing cut at twice the size."""

import os
from pathlib import Path

import nbformat
import pytest

from aquacalc.__main__ import main
from aquacalc.catalogue import data_dir, workbooks_dir
from tests.browser.wait import until

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300), pytest.mark.identity]

CHROMIUM = "/usr/bin/chromium"
PLAN = data_dir() / "plans" / "greenhouse.toml"


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """Every page of ours that can be printed, by its name."""
    if not Path(CHROMIUM).exists() and not os.environ.get("CI"):
        pytest.skip(f"no browser at {CHROMIUM}: install Debian's chromium to run this")
    from aquacalc.teaching.handout import handout
    from aquacalc.teaching.learner import without_answers

    folder = tmp_path_factory.mktemp("pages")
    assert main(["report", str(PLAN), "--html", str(folder / "report.html")]) == 0
    assert main(["build", str(PLAN), "--out", str(folder / "build")]) == 0
    assert main(["evidence", "--out", str(folder / "evidence.html")]) == 0
    assert main(["live", str(PLAN), "--out", str(folder / "live.html")]) == 0
    lesson = workbooks_dir() / "01-why-a-reducer-helps-priming.ipynb"
    assert main(["live", str(lesson), "--out", str(folder / "lesson.html")]) == 0
    assert main(["bench", str(PLAN), "--sheet", str(folder / "bench.html")]) == 0
    book = workbooks_dir() / "09-workshop.ipynb"
    made, _ = without_answers(nbformat.read(book, as_version=4))
    (folder / "handout.html").write_text(handout(made, book.name, book.parent), encoding="utf-8")
    key = nbformat.read(book, as_version=4)
    (folder / "key.html").write_text(handout(key, book.name, book.parent), encoding="utf-8")
    found = {path.stem: path for path in sorted(folder.rglob("*.html"))}
    return found


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    from tests.browser.lab import FLAGS

    with sync_playwright() as play:
        made = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield made
        made.close()


@pytest.mark.parametrize("name", ["report", "build-sheet", "evidence", "handout"])
def test_nothing_serious_and_nothing_cut_at_twice_the_size(pages, browser, name):
    accessible(browser, pages[name], 640)  # 1280 px at 200 %


@pytest.mark.parametrize("name", ["live", "lesson", "valve-card", "bench", "key"])
def test_nothing_serious_and_nothing_cut_on_a_phone(pages, browser, name):
    accessible(browser, pages[name], 390)


def accessible(browser, path, width):
    from tests.browser.lab import serious

    page = browser.new_page(viewport={"width": width, "height": 900})
    try:
        page.goto(path.as_uri())
        assert serious(page) == []
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    finally:
        page.close()


def test_water_of_a_live_page_stands_still_and_moves_by_keyboard(pages, browser):
    page = browser.new_page(viewport={"width": 800, "height": 900}, reduced_motion="reduce")
    page.goto(pages["live"].as_uri())
    film = page.get_by_role("group", name="Move the water")
    moment = film.get_by_role("slider", name="Moment")

    def at():
        return int(moment.input_value())

    first = at()
    page.wait_for_timeout(300)
    assert at() == first  # nothing moves that nobody started
    play = film.get_by_role("button", name="Play")
    film.get_by_label("Speed").select_option("fast")
    play.press("Enter")
    until(page, "(n) => +document.querySelector('.film input').value !== n", first)
    film.get_by_role("button", name="Pause").press("Enter")
    stopped = at()
    page.wait_for_timeout(300)
    assert at() == stopped
    film.get_by_role("button", name="One step on").press("Enter")
    assert at() == (stopped + 1) % 201
    film.get_by_role("button", name="One step back").press("Space")
    assert at() == stopped
    moment.press("Home")
    assert at() == 0
    assert moment.get_attribute("aria-valuetext").startswith("0 s")
    before = page.locator("svg.whole").inner_html()
    moment.press("ArrowRight")
    assert at() == 1
    moment.press("End")
    assert page.locator("svg.whole").inner_html() != before  # the picture follows
    page.close()
