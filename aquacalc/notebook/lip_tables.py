"""What a lip and a bore each do: the tables of the lesson on reducers."""

from __future__ import annotations

from dataclasses import replace

from aquacalc import catalogue
from aquacalc.equations import RECORDS
from aquacalc.equations.formulas import GRAVITY, choking_flow
from aquacalc.figures.lips import three_pipes
from aquacalc.findings import STATES, VERDICTS, find, verdict
from aquacalc.notebook.reader_units import units
from aquacalc.notebook.table import Grid, grid
from aquacalc.notebook.tuning_panels import with_lip
from aquacalc.plan import edit
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import inflow_window
from aquacalc.units import show

#: The flow of the first tables, m3/s: the demo pump's.
FLOW = 18.0 / 60e3
#: Bores (m) of the pipes they compare.
SIZES = ("1 in", "1-1/4 in", "1-1/2 in", "2 in")
_SERIES = "ASTM D1785 schedule 40"


def _bores() -> dict[str, float]:
    return {pipe.size: pipe.bore for pipe in catalogue.sizes(_SERIES) if pipe.size in SIZES}


def _show(x: float, kind: str = "length") -> str:
    return show(x, kind, units())


def plain_ends() -> Grid:
    """Return how high the water stands over four plain pipes at one flow, as a table."""
    weir = RECORDS["lip_weir_flow"]
    rows = [
        [size, _show(bore), _show(weir.solve_for("h", Q=FLOW, D=bore, C_w=1.71).value, "head")]
        for size, bore in _bores().items()
    ]
    over = f"water over the lip at {_show(FLOW, 'flow')}"
    return grid("Over the lip alone", ["plain pipe", "bore", over], rows)


def fills() -> Grid:
    """Return which flow fills the bore of four pipes, as a table."""
    rows = []
    for size, bore in _bores().items():
        low, likely, high = (choking_flow(fr, bore, GRAVITY) for fr in (0.3, 0.55, 1.0))
        says = "no" if low > FLOW else "yes" if high <= FLOW else "perhaps"
        rows.append([size, *(_show(q, "flow") for q in (low, likely, high)), says])
    starts = f"starts at {_show(FLOW, 'flow')}?"
    columns = ["pipe", "may start from", "expected from", "sure from", starts]
    return grid("What it takes to fill a bore", columns, rows)


def gains_and_costs(plan: Plan) -> Grid:
    """Return what a plain end, a reducer and a pipe as wide as the lip each gain and cost, as a table.

    Parameters
    ----------
    plan : Plan
        Its siphon has a lip wider than its bore.
    """
    rows, siphon = [], plan.siphons[0]
    flow = run_plan(plan, trace=False).pump
    at = f"siphon.{siphon.name}"
    for pipe in three_pipes(siphon, flow):
        bore = replace(siphon.standpipe.pipe, bore=pipe.bore)
        sizes = {f"{at}.standpipe.pipe": bore, f"{at}.standpipe.lip_diameter": pipe.lip}
        if pipe.bore > siphon.standpipe.pipe.bore:
            sizes[f"{at}.tail.pipe"] = replace(siphon.tail.pipe, bore=pipe.bore)
        tried = edit.put(plan, sizes)
        run = run_plan(tried)
        window, group = inflow_window(tried, tried.siphons[0], run), run.groups[0]
        start, sure, stop = (_show(q, "flow") for q in (pipe.band.middle, pipe.band.high, window.stop))
        time = show(group.drain_time, "time") if group.outcome == "cycles" else "-"
        head = _show(pipe.head, "head")
        found = find(run, units())
        against = dict.fromkeys(f.title.lower() for f in found if f.state in STATES[:2] and f.key != "start")
        works = verdict(found) if verdict(found) == VERDICTS[-1] else f"{verdict(found)} work"
        rows.append([pipe.name, start, sure, head, stop, time,
                     f"{'; '.join([pipe.does, *against])}: the plan {works}"])  # fmt: skip
    columns = ["standpipe", "should start at", "sure from", "water over its lip", "stops only below",
               "draining takes", "the plan"]  # fmt: skip
    note = "A dash: as calculated it does not flood and drain at the pump's flow."
    return grid(f"Gains and costs, {plan.name} at {_show(flow, 'flow')}", columns, rows, note)


def wide_lips(plan: Plan) -> Grid:
    """Return what lips gain and cost from the bore up to the widest that goes into the bell, as a table.

    Parameters
    ----------
    plan : Plan
    """
    siphon = plan.siphons[0]
    bore, bell = siphon.standpipe.pipe.bore, siphon.bell.bore
    widest = bell - (siphon.standpipe.pipe.outside_diameter - bore) - 0.002
    rows = []
    for k in range(6):
        tried = with_lip(plan, bore + k / 5 * (widest - bore))
        run = run_plan(tried)
        made, group = tried.siphons[0], run.groups[0]
        gap = next((f for f in find(run, units()) if f.key == "bell_gap"), None)
        rows.append([
            _show(made.standpipe.lip_diameter), _show(three_pipes(made)[1].head, "head"),
            f"{gap.value:.1f} times the bore" if gap else "", show(group.drain_time, "time")
            if group.outcome == "cycles" else group.outcome,
        ])  # fmt: skip
    thin = " to ".join(show(head, "head", units(), 1) for head in (0.005, 0.008))
    return grid(
        "A lip that is too wide",
        ["lip", "water over it at the start", "gap round it in the bell", "draining takes"],
        rows,
        f"Bore {_show(bore)} under every lip, in a bell of {_show(bell)}. Below {thin} over a lip the skin "
        "of the water has its say, and the law of the lip is unreliable.",
    )
