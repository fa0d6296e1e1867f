"""What trials on the bench tell: the tables of the lesson on measuring before cutting."""

from __future__ import annotations

from aquacalc.bench.session import bench
from aquacalc.bench.trials import trial
from aquacalc.bench.words import bands, next_line, remarks, verdict
from aquacalc.findings import find
from aquacalc.notebook.reader_units import units
from aquacalc.notebook.showing import Shown, said
from aquacalc.notebook.table import Grid, grid
from aquacalc.notebook.tuning_panels import less_flow
from aquacalc.plan import edit
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import run_plan
from aquacalc.units import show

#: Somebody's trials, invented: what the jug said, and what the siphon did.
AFTERNOON = (
    ("2 L in 12.8 s", "did not within ten minutes"),
    ("5 L in 22.1 s", "started, stopped"),
    ("2 L in 10.6 s", "did not within ten minutes"),
    ("5 L in 24.4 s", "started, stopped"),
)
#: The same with a third trial that does not fit the second, invented.
ODD = (AFTERNOON[0], ("5 L in 22.1 s", "did not within ten minutes"), ("2 L in 10.6 s", "started"))


def _after(plan: Plan, trials):
    return bench(plan, trials=[trial(jug, outcome) for jug, outcome in trials])


def first_trials(plan: Plan) -> Grid:
    """Return what a first trial would tell at some flows, as a table."""
    test, rows = bench(plan), []
    for part in (0.4, 0.6, 0.75, 1.0, 1.4, 1.9):
        flow = part * test.next.flow
        chance = f"{100 * test.start.chance(flow):.0f} of 100"
        rows.append([show(flow, "flow", units()), chance, f"{test.start.tells(flow, 0.03):.2f}"])
    note = "One bit halves what is possible."
    return grid("What a first trial would tell", ["flow", "starts", "bits"], rows, note)


def afternoon(plan: Plan) -> Grid:
    """Return how the band shrinks trial by trial in the invented afternoon, as a table."""
    rows = []
    for n in range(len(AFTERNOON) + 1):
        low, high = (show(q, "flow", units()) for q in _after(plan, AFTERNOON[:n]).start.band())
        jug, came = AFTERNOON[n - 1] if n else ("", "before any trial")
        rows.append([str(n), jug, came, f"{low} to {high}"])
    return grid("The band after each trial", ["", "jug", "what it did", "starts from"], rows)


def afternoon_known(plan: Plan) -> Shown:
    """Say what is known after the invented afternoon."""
    known = _after(plan, AFTERNOON)
    return said("\n".join([*bands(known), *verdict(known)]))


def odd_trials(plan: Plan) -> Shown:
    """Say what is known after invented trials that contradict each other."""
    known = _after(plan, ODD)
    return said("\n".join([*remarks(known), *bands(known), next_line(known)]))


def measured_or_not(plan: Plan) -> Grid:
    """Return what a weaker pump's plan says of the start, by print, by measurement and with another lip."""
    less = less_flow(plan, 0.9)
    measured = _after(less, AFTERNOON).measured()
    wider = edit.put(measured, {f"siphon.{plan.siphons[0].name}.standpipe.lip_diameter": 0.050})
    rows = []
    for name, tried in {"published band": less, "measured": measured, "other lip": wider}.items():
        finding = next(f for f in find(run_plan(tried), units()) if f.key in ("start", "spills"))
        rows.append([name, finding.title, finding.cause])
    return grid("What the plan says of the start", ["plan", "it says", "why"], rows)
