"""Pages held against axe-core: nothing serious or critical, and nothing cut at twice the size."""

import os
from pathlib import Path

import nbformat
import pytest

from aquacalc.__main__ import main
from aquacalc.catalogue import data_dir, workbooks_dir

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
    book = workbooks_dir() / "09-workshop.ipynb"
    made, _ = without_answers(nbformat.read(book, as_version=4))
    (folder / "handout.html").write_text(handout(made, book.name, book.parent), encoding="utf-8")
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
    from axe_playwright_python.sync_playwright import Axe

    page = browser.new_page(viewport={"width": 640, "height": 900})  # 1280 px at 200 %
    try:
        page.goto(pages[name].as_uri())
        found = Axe().run(page).response["violations"]
        bad = [
            f"{v['id']}: {v['help']}; {v['nodes'][0]['target']}"
            for v in found
            if v["impact"] in ("serious", "critical")
        ]
        assert bad == []
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    finally:
        page.close()
