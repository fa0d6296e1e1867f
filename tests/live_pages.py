"""Live pages in a real browser against Python: `python -m tests.live_pages [plans]`, 50 if not said.

For each plan its sliders are moved at random, one after another, by the page's own controls. Held equal are
the plan as it is saved, read by Python; the totals of the engine; verdict and findings, word by word. Timed
are each move's work until run, levels and section are drawn, all of its work, and when its verdict is out,
as the machine is and slowed six times.
"""

from __future__ import annotations

import random
import statistics
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from playwright.sync_api import sync_playwright

from aquacalc.engine import runner
from aquacalc.findings import find, verdict
from aquacalc.live.page import live_page
from aquacalc.plan import Plan, edit, plan_from_text
from aquacalc.results.cycle import run_plan
from tests.browser.lab import CHROMIUM, FLAGS
from tests.plan.generated import plan_text

MOVES = 6
#: Flows (m3/s) are measured against 0.1 L/s at least, other numbers against 1 (m, s, m3).
FLOWS = ("inflow", "flow_start", "flow_high", "flow_break", "flow_steady", "choking")
NUMBERS = (*FLOWS, "period", "fill_time", "spill_time", "priming_time", "drain_time", "level", "volume_low",
           "volume_high", "pumped", "drained")  # fmt: skip
#: Moves a slider of the page by what its reader would do, and waits for what is drawn.
MOVE = """async ([k, part]) => {
    while (!document.querySelector(".live-plan")?.live) await new Promise(done => setTimeout(done, 5));
    const input = document.querySelectorAll(".slider input")[k], low = Number(input.min);
    input.value = Math.round(low + part * (Number(input.max) - low));
    input.dispatchEvent(new Event("input", {bubbles: true}));
    const live = () => document.querySelector(".live-plan").live;
    return new Promise(done => {
        const told = () => live().found !== undefined && live().after !== undefined;
        const look = () => !told() ? setTimeout(look, 0) : done([live().drawn, live().work, live().after]);
        requestAnimationFrame(look);
    });
}"""
TOLD = """() => {
    const live = document.querySelector('.live-plan').live;
    return live.found !== undefined && !live.found.faults.length;
}"""
READ = """() => {
    const live = document.querySelector('.live-plan').live, run = live.found.run;
    return {
        refused: live.found.faults, verdict: live.found.verdict,
        toml: document.querySelector("textarea").value,
        findings: live.found.findings.map(f => [f.key, f.subject, f.state, f.title, f.cause, f.change]),
        groups: run && run.groups, sump: run && [run.sump_low, run.sump_high],
    };
}"""


def difference(ours, theirs: dict) -> float:
    """Return the largest difference of any number of the cycles and the sump."""
    worst = max(abs(a - b) for a, b in zip((ours.sump_low, ours.sump_high), theirs["sump"], strict=True))
    for group, found in zip(ours.groups, theirs["groups"], strict=True):
        for name in NUMBERS:
            a, b = getattr(group, name), found[name]
            worst = max(worst, abs(a - b) / max(abs(a), abs(b), 1e-4 if name in FLOWS else 1.0))
    return worst


def drawn_plan(seed: int) -> Plan:
    """Return a plan drawn by number; every third has its pump on a timer."""
    plan = plan_from_text(plan_text(seed))
    return plan if seed % 3 else edit.put(plan, {"pump.on": 900.0, "pump.off": 60.0 * (seed % 70)})


def compare(page, seed: int, folder: Path, moves: int = MOVES) -> dict:
    """Move the sliders of one plan; what came of it."""
    plan = drawn_plan(seed)
    file = folder / f"{seed}.html"
    file.write_text(live_page(plan), encoding="utf-8")
    requests: list[str] = []
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("request", lambda request: requests.append(request.url))
    page.goto(file.as_uri())
    page.wait_for_selector("body.warm")
    count = page.locator(".slider").count()
    rng, took, worked, refused = random.Random(seed), [], [], 0
    cdp = page.context.new_cdp_session(page)
    cdp.send("Performance.setTimeDomain", {"timeDomain": "threadTicks"})
    cdp.send("Performance.enable")
    for _ in range(moves):
        before = page.evaluate("document.querySelector('textarea').value")
        began = _worked(cdp)
        took.append(page.evaluate(MOVE, [rng.randrange(count), rng.random()]))
        worked.append(1e3 * (_worked(cdp) - began))
        if page.evaluate("document.querySelector('.live-plan').live.found.faults.length"):
            refused += 1
            assert page.evaluate("document.querySelector('textarea').value") == before, seed
    found = page.evaluate(READ)
    if found["refused"]:
        page.click(".undo")
        page.wait_for_function(TOLD)
        found = page.evaluate(READ)
    ours = run_plan(plan_from_text(found["toml"]))
    words = [[f.key, f.subject, f.state, f.title, f.cause, f.change] for f in find(ours, plan.units)]
    return {
        "seed": seed, "took": took, "worked": worked, "refused": refused, "bytes": file.stat().st_size,
        "requests": len(requests) - 1, "errors": errors, "difference": difference(ours, found),
        "outcomes": {g.outcome for g in ours.groups},
        "verdict": verdict(find(ours)) == found["verdict"],
        "findings": [w[:4] for w in words] == [w[:4] for w in found["findings"]],
        "words": words == found["findings"],
    }  # fmt: skip


def _worked(cdp) -> float:
    """Return the seconds of processor that the page's thread has had."""
    metrics = cdp.send("Performance.getMetrics")["metrics"]
    return next(m["value"] for m in metrics if m["name"] == "TaskDuration")


def _times(took: Sequence[float]) -> str:
    return f"median {statistics.median(took):.1f}, p95 {sorted(took)[int(0.95 * len(took))]:.1f}"


def main(arguments: list[str]) -> int:
    plans = int(arguments[0]) if arguments else 50
    # The page's steps are the interpreter's. Machine code adds up in another order; a plan that comes to rest
    # between two floods may then end a step later (3.6e-6 of a period in seed 1025).
    runner.FEW = 10**9
    slow: list[float] = []
    with sync_playwright() as play, tempfile.TemporaryDirectory() as name:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        page = browser.new_page(viewport={"width": 390, "height": 844}, has_touch=True)
        rows = [compare(page, seed, Path(name)) for seed in range(1000, 1000 + plans)]
        cdp = page.context.new_cdp_session(page)
        cdp.send("Emulation.setCPUThrottlingRate", {"rate": 6})
        for seed in range(1000, 1000 + min(plans, 12)):
            slow += compare(page, seed, Path(name))["took"]
        browser.close()
    for row in rows:
        said = row["verdict"] and row["findings"] and row["words"]
        if row["errors"] or not said or row["difference"] > 1e-9:
            print(row)
    equal = [sum(row[name] for row in rows) for name in ("verdict", "findings", "words")]
    worst, apart = max(r["difference"] for r in rows), sum(r["difference"] > 1e-9 for r in rows)
    took = [t for row in rows for t in row["took"]]
    sizes = [row["bytes"] for row in rows]
    print(f"plans {len(rows)}, moves {len(took)}, of them refused {sum(r['refused'] for r in rows)}")
    print("equal: verdict {}, findings {}, every word {}".format(*equal))
    print(f"largest difference {worst:.1e}; over 1e-9 in {apart}")
    worked = [t for row in rows for t in row["worked"]]
    print(f"ms of processor a move, all of the page's work: {_times(worked)}")
    for what, moves in (("ms a move", took), ("slowed six times", slow)):
        drawn, all_of_it, after = zip(*moves, strict=True)
        print(f"{what}: drawn {_times(drawn)}; with its verdict {_times(all_of_it)}; after {_times(after)}")
    print(f"bytes {min(sizes)} to {max(sizes)}; requests {sum(r['requests'] for r in rows)}")
    return 0 if all(r["verdict"] and r["findings"] and not r["errors"] for r in rows) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
