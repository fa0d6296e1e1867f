"""Live pages in a real browser: equal to Python, safe, and usable by thumb and by keys.

What must fail is here beside what must not: a page whose engine is another, a slider beyond its ends, a plan
that cannot be built, a script in a name. The long comparison is `python -m tests.live_pages`.
"""

import os
import re
import threading
import urllib.error
import urllib.request
from dataclasses import replace
from pathlib import Path

import pytest

from aquacalc.__main__ import main
from aquacalc.catalogue import data_dir, workbooks_dir
from aquacalc.live import ENGINE
from aquacalc.live.page import SCRIPTS, live_page
from aquacalc.live.serve import server
from aquacalc.plan import plan_from_text
from aquacalc.plan.errors import PlanError
from aquacalc.plan.read import read_plan
from tests.browser.wait import until
from tests.live_pages import MOVE, compare

pytestmark = [pytest.mark.browser, pytest.mark.identity]

CHROMIUM = "/usr/bin/chromium"
DEMO = data_dir() / "plans" / "greenhouse.toml"


@pytest.fixture(scope="module")
def browser():
    if not Path(CHROMIUM).exists() and not os.environ.get("CI"):
        pytest.skip(f"no browser at {CHROMIUM}: install Debian's chromium to run this")
    from playwright.sync_api import sync_playwright

    from tests.browser.lab import FLAGS

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def page(browser):
    page = browser.new_page(viewport={"width": 390, "height": 844}, has_touch=True)
    page.errors = []
    page.on("pageerror", lambda error: page.errors.append(str(error)))
    go = page.goto

    def goto(url):
        """Go there and wait until what is packed in the page runs."""
        go(url)
        runs = "() => !document.getElementById('program') || document.body.classList.contains('running')"
        until(page, runs)

    page.goto = goto
    yield page
    assert not page.errors
    page.close()


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    file = tmp_path_factory.mktemp("live") / "demo.html"
    file.write_text(live_page(read_plan(DEMO)), encoding="utf-8")
    return file


@pytest.mark.parametrize("seed", [1000, 1001, 1003, 1008])
def test_page_says_what_python_says(page, tmp_path, seed):
    row = compare(page, seed, tmp_path, moves=4)
    assert row["verdict"], row
    assert row["findings"], row
    assert row["words"], row
    assert row["difference"] <= (1e-9 if row["outcomes"] == {"cycles"} else 1e-6), row
    assert row["bytes"] < 400_000
    assert row["requests"] == 0


def test_another_engine_is_noticed(page, tmp_path, monkeypatch):
    assert "9.80665" in ENGINE
    other = (ENGINE.replace("9.80665", "9.79"), *SCRIPTS[1:])
    monkeypatch.setattr("aquacalc.live.page.SCRIPTS", other)
    row = compare(page, 1003, tmp_path, moves=1)
    assert row["difference"] > 1e-6
    assert not row["words"]


def test_slider_keeps_its_ends(page, demo):
    page.goto(demo.as_uri())
    for part, end in ((99.0, "max"), (-99.0, "min")):
        page.evaluate(MOVE, [0, part])
        assert page.input_value("#s0-0") == page.get_attribute("#s0-0", end)
    page.evaluate("document.querySelector('.slider button[data-by=\"-1\"]').click()")
    assert page.input_value("#s0-0") == page.get_attribute("#s0-0", "min")
    page.click(".undo")
    text = DEMO.read_text(encoding="utf-8")
    until(page, "text => document.querySelector('textarea').value === text", text)


def test_what_cannot_be_built_is_refused_and_changes_nothing(page, tmp_path):
    text = DEMO.read_text(encoding="utf-8").replace('intake = "100 mm"', 'intake = "300 mm"')
    file = tmp_path / "intake.html"
    file.write_text(live_page(plan_from_text(text)), encoding="utf-8")
    page.goto(file.as_uri())
    water = page.locator(".slider label").all_inner_texts().index("Water in the sump, beds drained")
    page.evaluate(MOVE, [water, 0.0])
    assert "cannot be built: pump.intake" in page.inner_text("[data-part=verdict]")
    assert page.input_value("textarea") == text
    page.evaluate(MOVE, [water, 0.9])
    assert "cannot be built" not in page.inner_text("[data-part=verdict]")


def test_name_with_a_script_is_only_a_name(page, tmp_path):
    name = "</script><script>document.title='run'</script><img src=x onerror=alert(1)>"
    text = DEMO.read_text(encoding="utf-8").replace("School greenhouse herbs", name)
    file = tmp_path / "name.html"
    file.write_text(live_page(plan_from_text(text)), encoding="utf-8")
    page.goto(file.as_uri())
    assert page.inner_text("h1") == name
    assert page.title() != "run"
    assert page.evaluate(MOVE, [0, 0.5])[0] > 0
    assert read_plan(file).name == name


def test_only_its_own_scripts_run(page, demo, tmp_path):
    file = tmp_path / "changed.html"
    text = demo.read_text(encoding="utf-8")
    file.write_text(
        text.replace("</main>", "<script>document.title = 'run'</script></main>"), encoding="utf-8"
    )
    page.goto(file.as_uri())
    assert page.title() != "run"
    assert "default-src 'none'" in text
    assert "unsafe-eval" not in text


def test_what_cannot_be_worked_out_is_said_in_place_of_a_verdict(page, demo):
    page.goto(demo.as_uri())
    until(page, "document.querySelector('.live-plan').live?.found")
    page.evaluate("""() => {
        const judged = engine.judged;
        const error = Object.assign(new Error("a flow is not finite"), {kind: "ArithmeticError"});
        engine.judged = () => { throw error; };
        window.mend = () => { engine.judged = judged; };
    }""")
    page.evaluate(MOVE, [0, 0.4])
    assert "could not work this out: a flow is not finite" in page.inner_text("[data-part=verdict]")
    assert page.locator(".live-plan.stale").count() == 1
    page.evaluate("mend()")
    page.click(".undo")
    until(page, "document.querySelector('[data-part=verdict]').innerText === 'This plan works.'")
    assert not page.locator(".live-plan.stale").count()


def test_what_cannot_be_parsed_runs_nothing_and_the_page_says_so(browser, tmp_path, monkeypatch):
    """The same policy: the whole program is parsed before any of it runs."""
    monkeypatch.setattr("aquacalc.live.page.SCRIPTS", (ENGINE.replace("return", "retrun x", 1), *SCRIPTS[1:]))
    file = tmp_path / "broken.html"
    file.write_text(live_page(read_plan(DEMO)), encoding="utf-8")
    page = browser.new_page()
    errors = []
    page.on("pageerror", lambda error: errors.append(error.name))
    with page.expect_event("pageerror"):
        page.goto(file.as_uri())
    assert errors == ["SyntaxError"]
    assert page.locator(".still").is_visible()
    assert not page.locator("#s0-0").is_visible()
    page.close()


def test_finger_drags_a_slider(page, demo):
    page.goto(demo.as_uri())
    page.locator("#s0-0").scroll_into_view_if_needed()
    box = page.locator("#s0-0").bounding_box()
    start, y = box["x"] + box["width"] * 0.37, box["y"] + box["height"] / 2
    cdp = page.context.new_cdp_session(page)
    at = lambda x: [{"x": x, "y": y}]  # noqa: E731
    cdp.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": at(start)})
    for k in range(1, 9):
        cdp.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": at(start - 12.0 * k)})
    cdp.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    until(page, "document.querySelector('[data-part=verdict]').innerText !== 'This plan works.'")
    assert page.inner_text(".slider output") != "18.0 L/min"
    assert box["height"] >= 44


def test_saved_page_keeps_what_was_moved(page, demo, tmp_path):
    page.goto(demo.as_uri())
    page.focus("#s0-0")
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    until(page, "document.querySelector('textarea').value.includes('18.6 L/min')")
    told = page.inner_text(".result")
    file = tmp_path / "saved.html"
    file.write_text(
        "<!DOCTYPE html>\n" + page.evaluate("document.documentElement.outerHTML"), encoding="utf-8"
    )
    page.goto(file.as_uri())
    assert page.inner_text(".slider output") == "18.6 L/min"
    assert page.inner_text(".result") == told
    plan = read_plan(file)
    assert plan.pump.flow == 18.6 / 60e3
    assert replace(plan, pump=read_plan(DEMO).pump) == read_plan(DEMO)


def test_units_are_switched_and_what_was_moved_is_kept(page, demo, tmp_path):
    page.goto(demo.as_uri())
    page.evaluate(MOVE, [0, 0.2])
    flow = plan_from_text(page.input_value("textarea")).pump.flow
    page.click(".units label:has([value=us])")
    until(page, "document.querySelector('.slider output').textContent.endsWith('gpm')")
    until(page, "document.querySelector('textarea').value.includes('gpm')")
    us = plan_from_text(page.input_value("textarea")).pump.flow
    assert us == pytest.approx(flow, abs=0.03 * 3.785411784e-3 / 60)  # half a step of 0.05 gpm
    assert "gpm" in page.inner_text(".result")
    file = tmp_path / "us.html"
    file.write_text("<!DOCTYPE html>\n" + page.evaluate("document.documentElement.outerHTML"), "utf-8")
    page.goto(file.as_uri())
    assert page.inner_text(".slider output").endswith("gpm")
    assert page.locator(".units input:checked").get_attribute("value") == "us"
    page.click(".units label:has([value=metric])")
    until(page, "document.querySelector('.slider output').textContent.endsWith('L/min')")
    assert read_plan(file).pump.flow == us


def test_only_what_was_moved_becomes_given(page, tmp_path):
    text = (data_dir() / "plans" / "one-bed.toml").read_text(encoding="utf-8")
    for was, now in (
        ('height = "430 mm"', 'height = { value = "430 mm", mark = "assumed", note = "by eye" }'),
        ('media = "gravel"', 'media = "gravel"\nporosity = { value = "45 %", mark = "measured" }'),
    ):
        assert was in text
        text = text.replace(was, now)
    file, before = tmp_path / "marks.html", plan_from_text(text)
    file.write_text(live_page(before), encoding="utf-8")
    page.goto(file.as_uri())
    page.evaluate(MOVE, [0, 0.4])
    after = plan_from_text(page.input_value("textarea"))
    assert after.pump.flow != before.pump.flow
    assert after.marks == before.marks  # the flow was given before
    part = page.locator(".slider label").all_inner_texts().index("Part of the media that drains")
    page.evaluate(MOVE, [part, 0.8])
    moved = plan_from_text(page.input_value("textarea"))
    assert {k for k, m in before.marks.items() if m != moved.marks[k]} == {"bed.bed.porosity"}
    assert moved.marks["bed.bed.porosity"].mark == "given"


def test_page_without_a_plan_is_refused(tmp_path):
    file = tmp_path / "other.html"
    file.write_text("<!DOCTYPE html>\n<title>Water</title>", encoding="utf-8")
    with pytest.raises(PlanError, match="is a page without a plan"):
        read_plan(file)


def test_page_reads_without_its_script(browser, demo):
    page = browser.new_page(viewport={"width": 390, "height": 844}, java_script_enabled=False)
    page.goto(demo.as_uri())
    assert page.inner_text("[data-part=verdict]") == "This plan works."
    assert page.locator(".levels svg").bounding_box()["width"] > 300
    assert not page.locator("#s0-0").is_visible()
    assert re.search("shown and not run", page.inner_text(".still"))
    page.close()


def test_handout_links_its_lesson_which_has_guesses_sliders_and_pictures_without_python(page, tmp_path, demo):
    path = workbooks_dir() / "01-why-a-reducer-helps-priming.ipynb"
    (tmp_path / "02.html").write_bytes(demo.read_bytes())  # a page of ours where the next lesson's would be
    file, theirs = tmp_path / "sheet-live.html", tmp_path / "sheet.html"
    file.write_text("a learner's own", encoding="utf-8")
    assert main(["handout", str(path), "--out", str(theirs), "--live"]) == 2
    assert not theirs.exists()  # neither of the two where one may not be written
    file.unlink()
    assert main(["handout", str(path), "--out", str(theirs), "--live"]) == 0
    assert "<script" not in theirs.read_text(encoding="utf-8")
    assert file.stat().st_size < 400_000
    page.goto(theirs.as_uri())
    requests = []
    page.on("request", lambda request: requests.append(request.url))
    page.get_by_role("link", name="This lesson with sliders").click()
    until(page, "document.body.classList.contains('running')")
    assert requests == [file.as_uri()]
    assert page.get_by_role("link", name="02 Strainers and orifices").get_attribute("href") == "02.html"
    assert "my-plan.toml" not in page.inner_text("main")
    assert not page.locator("details[open]").count()  # answers are folded
    page.click(".units label:has([value=us])")
    until(page, "document.querySelector('.equation-result').innerText.endsWith('gpm')")
    assert "You gave no guess yet." in page.inner_text(".guesses")
    page.locator(".guess").first.locator("input").nth(2).check()
    page.locator(".guess").first.locator("button").click()
    assert "You guessed: both at the same flow. So it is" in page.inner_text(".guesses")
    equation = page.locator(".live-equation").first
    before = equation.locator(".equation-result").inner_text()
    equation.locator("[data-by='1']").first.click()
    assert equation.locator(".equation-result").inner_text() != before
    assert before.endswith("gpm")
    panel = page.locator(".live-plan:not(.live-equation)")
    assert panel.locator(".slider").count() == 3
    panel.locator("[data-by='-1']").nth(1).click()
    until(page, "document.querySelector('.live-plan:not(.live-equation) textarea').value.includes('3/4 in')")
    assert panel.locator("svg.whole").is_visible()


def test_served_folder_gives_out_its_pages_and_nothing_else(browser, page, demo):
    (demo.parent / "secret.toml").write_text("[plan]", encoding="utf-8")
    (demo.parent / "other.html").write_text("<p>not ours</p>", encoding="utf-8")
    with server(demo.parent, "127.0.0.1", 0) as made:
        threading.Thread(target=made.serve_forever, daemon=True).start()
        root = f"http://127.0.0.1:{made.server_port}"
        page.goto(root)
        assert page.locator("li").all_inner_texts() == ["demo.html"]
        page.click("li a")
        assert page.evaluate(MOVE, [0, 0.5])[0] > 0
        for path in ("/secret.toml", "/other.html", "/../demo.html", "/%2e%2e/secret.toml", "/demo.html/"):
            with pytest.raises(urllib.error.HTTPError, match="404"):
                urllib.request.urlopen(root + path, timeout=5)
        made.shutdown()


def test_report_has_sliders_and_reads_a_plan_back_out_of_a_page(page, tmp_path, capsys):
    report, live = tmp_path / "r.html", tmp_path / "live.html"
    assert main(["report", str(DEMO), "--html", str(report)]) == 0
    page.goto(report.as_uri())
    before = page.inner_text("main")
    page.wait_for_selector("body.running", state="attached")
    assert page.evaluate(MOVE, [0, 0.02])[0] > 0
    page.click(".units label:has([value=us])")
    until(page, "document.querySelector('.slider output').textContent.endsWith('gpm')")
    until(page, "document.querySelector('.live-plan').live?.found")
    assert "in metric units" in page.inner_text("header > .soft")  # of what does not follow
    assert page.inner_text("[data-part=verdict]") != "This plan works."
    assert page.inner_text("main") == before  # the plan as it is in its file
    page.click(".choice label:has([value=siphon])")
    assert page.locator(".live-plan svg.close").is_visible()
    ids = page.evaluate("[...document.querySelectorAll('[id]')].map(one => one.id)")
    assert len(ids) == len(set(ids))
    assert main(["report", str(report), "--html", str(live), "--still"]) == 0
    assert "<script" not in live.read_text(encoding="utf-8")
    assert main(["live", str(DEMO), "--out", str(live)]) == 0  # a page of ours is replaced
    capsys.readouterr()
    assert main(["report", str(live), "--json"]) == 0
    assert '"School greenhouse herbs"' in capsys.readouterr().out
    assert main(["live", str(DEMO)]) == 2
