"""A class of learners on live pages, on loopback: `python -m tests.benchmarks.bench_class [learners]`, 20.

The command's own server gives one folder out to as many browser contexts at once, each with a page of its
own, in which a slider is moved five times.
"""

from __future__ import annotations

import asyncio
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from playwright.async_api import async_playwright

from aquacalc.catalogue import data_dir
from aquacalc.live.page import live_page
from aquacalc.plan.read import read_plan
from tests.browser.lab import CHROMIUM, FLAGS
from tests.live_pages import MOVE

PORT = 8765


async def learner(browser, number: int, loads: list[float], moves: list[float], failures: list[str]) -> None:
    """Open the page and move its first slider."""
    context = await browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    page = await context.new_page()
    page.on("pageerror", lambda error: failures.append(str(error)))
    began = time.perf_counter()
    await page.goto(f"http://127.0.0.1:{PORT}/demo.html")
    loads.append(1e3 * (time.perf_counter() - began))
    for k in range(5):
        moves.append((await page.evaluate(MOVE, [0, 0.3 + 0.02 * k + 0.005 * number]))[2])


def memory(process: int) -> float:
    """Return the resident memory of a process, MB."""
    status = Path(f"/proc/{process}/status").read_text(encoding="ascii")
    return int(status.split("VmRSS:")[1].split()[0]) / 1e3


def say(what: str, took: list[float]) -> None:
    """Print median and p95."""
    middle, late = statistics.median(took), sorted(took)[int(0.95 * len(took))]
    print(f"{what}: median {middle:.0f} ms, p95 {late:.0f} ms, {len(took)}")


async def main(learners: int) -> None:
    loads, moves, failures = [], [], []
    with tempfile.TemporaryDirectory() as name:
        page = live_page(read_plan(data_dir() / "plans" / "greenhouse.toml"))
        (Path(name) / "demo.html").write_text(page, encoding="utf-8")
        command = [sys.executable, "-m", "aquacalc", "live", "--serve", name, "--port", str(PORT)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
            print(server.stdout.readline().strip())
            before = memory(server.pid)
            async with async_playwright() as play:
                browser = await play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
                await asyncio.gather(*(learner(browser, k, loads, moves, failures) for k in range(learners)))
                await browser.close()
            after = memory(server.pid)
            server.terminate()
    say("page loaded", loads)
    say("a move, worked out and drawn", moves)
    print(f"failures {len(failures)}; server {before:.0f} MB, {after:.0f} MB after {learners} learners")


if __name__ == "__main__":
    asyncio.run(main(int(sys.argv[1]) if len(sys.argv) > 1 else 20))
