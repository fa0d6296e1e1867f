"""How fast a panel answers in JupyterLab: `python -m tests.benchmarks.bench_panel [passes of 40 keys]`.

Keys go to a slider 60 ms apart; from each key's event to the frame in which the
browser shows its picture is measured, in the page. Beside the panel the same
picture is shown in the common way, `interactive_output`, and a bare
slider with a line of text, which tells what JupyterLab takes by itself. On a
computer that is busy with something else all three are slower: look at the last.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from pathlib import Path

import psutil

from tests.browser.lab import chromium, lab, open_notebook, write_notebook

APART = 60  # ms
PASS = 40  # keys one way before turning back
STEP = 5  # mm of standpipe a key
GROWTH_MOVES = 500

START = """\
from aquacalc.catalogue import data_dir
from aquacalc.plan import read_plan
plan = read_plan(data_dir() / "plans" / "greenhouse.toml")
"""
PANEL = (
    START
    + """\
from aquacalc.notebook import BedPanel
panel = BedPanel(plan)
panel.set(standpipe=0.22)
panel
"""
)
INLINE = (
    START
    + """\
import ipywidgets as w
from IPython.display import HTML, display
from aquacalc.results.cycle import run_plan
from aquacalc.figures.section import section
from aquacalc.figures.snapshot import fullest
from aquacalc.engine import runner
from aquacalc.notebook.tuning_panels import with_standpipe
runner.compile_now()
slider = w.FloatSlider(min=170, max=485, step=5, value=220)
def draw(height):
    changed = with_standpipe(plan, height / 1e3)
    run = run_plan(changed)
    picture = section(changed, run, fullest(run, "siphon"))
    said = f'<span aria-label="standpipe is {height:g} mm"></span>'
    display(HTML(picture.html()), HTML(said))
w.VBox([slider, w.interactive_output(draw, {"height": slider})])
"""
)
#: Nothing but a slider and a line of text: what JupyterLab itself takes on this computer, just now.
FLOOR = """\
import ipywidgets as w
slider = w.FloatSlider(min=170, max=485, step=5, value=220)
line = w.HTML()
def say(change):
    line.value = f'<span aria-label="standpipe is {change["new"]:g} mm">{change["new"]:g}</span>'
slider.observe(say, "value")
w.VBox([slider, line])
"""
#: In the page: notes each key, and each frame in which a picture of another height is seen.
WATCH = """() => {
  window.keys = []; window.seen = [];
  document.addEventListener('keydown', () => window.keys.push(performance.now()), true);
  const height = () => {
    for (const node of document.querySelectorAll('.jp-OutputArea [aria-label*="standpipe is"]')) {
      const found = /standpipe is ([\\d.]+) mm/.exec(node.getAttribute('aria-label'));
      if (found) return parseFloat(found[1]);
    }
    return null;
  };
  let last = height();
  new MutationObserver(async () => {
    const now = height();
    if (now === null || now === last) return;
    last = now;
    const images = [...document.querySelectorAll('.jp-OutputArea img')];
    await Promise.all(images.map(i => i.decode().catch(() => 0)));
    requestAnimationFrame(() => setTimeout(() => window.seen.push([performance.now(), now]), 0));
  }).observe(document.body, {subtree: true, childList: true, attributes: true, attributeFilter: ['src']});
  return last;
}"""


def press(page, count: int, key: str = "ArrowRight") -> None:
    """Hold a key down until it has come `count` times, `APART` ms from one to the next.

    Sleeping costs this computer nothing; asking the page for its clock would.
    """
    start = time.perf_counter()
    for k in range(count):
        time.sleep(max(start + 1e-3 * APART * (k + 1) - time.perf_counter(), 0.0))
        page.keyboard.down(key)
    page.keyboard.up(key)


def measure(served, name: str, passes: int, moves: int) -> dict[str, float]:
    """Latencies (ms) of one notebook's slider, keys lost, and growth (MB) of its kernel."""
    with chromium(guarded=False) as watched:
        page = watched.page
        open_notebook(served, page, name)
        page.wait_for_selector(".noUi-handle")
        page.wait_for_timeout(3000)
        handle = page.locator(".noUi-handle").first
        handle.focus()
        for key in ("ArrowRight", "ArrowLeft"):  # first pictures are made slowly
            page.keyboard.press(key)
            page.wait_for_timeout(1500)
        at = page.evaluate(WATCH)
        if at != float(handle.get_attribute("aria-valuetext").split()[0]):
            raise RuntimeError(f"{name}: the picture is of {at} mm, the slider elsewhere")
        waited: list[float] = []
        for k in range(passes):
            step = STEP if k % 2 == 0 else -STEP
            page.evaluate("window.keys = []; window.seen = []")
            press(page, PASS, "ArrowRight" if step > 0 else "ArrowLeft")
            page.wait_for_timeout(2500)
            times, seen = page.evaluate("window.keys"), page.evaluate("window.seen")
            shown = {round((height - at) / step): when for when, height in reversed(seen)}
            waited += [shown[n] - times[n - 1] for n in range(1, PASS + 1) if n in shown]
            at += step * PASS
        found = {
            "median": statistics.median(waited),
            "p95": statistics.quantiles(waited, n=20)[-1],
            "lost": passes * PASS - len(waited),
            "keys": passes * PASS,
            "growth": float("nan"),
        }
        if moves:
            alive = [
                p
                for p in psutil.Process(served.process.pid).children(recursive=True)
                if p.status() != psutil.STATUS_ZOMBIE
            ]
            kernel = [p for p in alive if "ipykernel" in " ".join(p.cmdline())][-1]
            before = kernel.memory_info().rss
            for k in range(moves // 50):
                press(page, 50, "ArrowRight" if k % 2 == 0 else "ArrowLeft")
            page.wait_for_timeout(1500)
            found["growth"] = (kernel.memory_info().rss - before) / 1e6
        return found


def main(passes: int = 4) -> None:
    """Measure both ways and print the table."""
    with tempfile.TemporaryDirectory() as folder, lab(Path(folder)) as served:
        write_notebook(Path(folder) / "panel.ipynb", PANEL)
        write_notebook(Path(folder) / "inline.ipynb", INLINE)
        write_notebook(Path(folder) / "floor.ipynb", FLOOR)
        rows = {
            "panel": measure(served, "panel.ipynb", passes, GROWTH_MOVES),
            "inline PNG": measure(served, "inline.ipynb", passes, 0),
            "bare slider": measure(served, "floor.ipynb", passes, 0),
        }
    print(f"Key to picture, keys {APART} ms apart; growth of the kernel over {GROWTH_MOVES} moves.")
    print(f"{'way':<12}{'median ms':>10}{'p95 ms':>8}{'lost':>6}{'of':>5}{'growth MB':>11}")
    for name, r in rows.items():
        print(
            f"{name:<12}{r['median']:>10.0f}{r['p95']:>8.0f}{r['lost']:>6}{r['keys']:>5}{r['growth']:>11.1f}"
        )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
