"""The engine as JavaScript, in a real browser, against the same functions in Python."""

import os
from pathlib import Path

import pytest

from aquacalc.engine.packing import pack
from aquacalc.engine.run import run
from aquacalc.engine.state import CYCLES, Totals, blank
from aquacalc.live import translate
from aquacalc.plan import plan_from_text
from tests.plan.generated import plan_text

pytestmark = [pytest.mark.browser, pytest.mark.identity]

CHROMIUM = "/usr/bin/chromium"
SEEDS = range(1000, 1050)
#: Run each plan; typed arrays as plain ones.
SCRIPT = """plans => plans.map(plan => {
    const done = engine.run(plan, 0), plain = {};
    for (const name in done.cycles) plain[name] = Array.from(done.cycles[name]);
    return {totals: done.totals, cycles: plain};
})"""
#: Flows, m3/s: their differences are measured against 0.1 L/s at least, others against 1 (m, s, m3).
FLOWS = ("flow_start", "flow_high", "flow_end")


@pytest.fixture(scope="module")
def theirs():
    """Totals and cycles of each plan as the browser works them out."""
    if not Path(CHROMIUM).exists() and not os.environ.get("CI"):
        pytest.skip(f"no browser at {CHROMIUM}: install Debian's chromium to run this")
    from playwright.sync_api import sync_playwright

    from tests.browser.lab import FLAGS

    packed = [pack(plan_from_text(plan_text(seed))) for seed in SEEDS]
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        page = browser.new_page()
        page.add_script_tag(content=translate.FILE.read_text(encoding="utf-8"))
        found = page.evaluate(SCRIPT, [translate.as_object(plan) for plan in packed])
        browser.close()
    return list(zip(packed, found, strict=True))


def test_fifty_random_plans_come_out_alike(theirs):
    """To 1e-9 in all that repeats; when nothing moves any more is found less exactly.

    Powers and logarithms of a browser differ in the last digit from those of
    Python. Now and then that lets one step be refused that the other takes,
    and the end of a run that comes to rest (slower than 0.1 um/s) moves with it.
    """
    loose = 0
    for seed, (plan, found) in zip(SEEDS, theirs, strict=True):
        state, cycles, trace = blank(plan, 0)
        totals = Totals(*run(plan, state, cycles, trace))
        assert found["totals"]["status"] == totals.status, seed
        assert found["cycles"]["outcome"] == cycles.outcome, seed
        assert found["cycles"]["breaks"] == cycles.breaks, seed
        for name, ours in cycles._asdict().items():
            for k, (a, b) in enumerate(zip(ours, found["cycles"][name], strict=True)):
                off = abs(a - b) / max(abs(a), abs(b), 1e-4 if name in FLOWS else 1.0)
                assert off <= 1e-6, (seed, name, k, a, b)
                loose += off > 1e-9
        if all(outcome == CYCLES for outcome in cycles.outcome[: plan.siphons]):
            assert found["totals"]["time"] == pytest.approx(totals.time, rel=1e-9), seed
    assert loose <= 10
