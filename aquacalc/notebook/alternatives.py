"""Several ways to build or run one plan, side by side with what each comes to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from aquacalc.buildsheet.options import alternatives
from aquacalc.design.drains import residuals
from aquacalc.design.sweep import sweep
from aquacalc.figures.picture import Picture
from aquacalc.figures.plan_map import plan_map
from aquacalc.findings import find
from aquacalc.notebook.reader_units import units
from aquacalc.notebook.table import Grid, grid
from aquacalc.notebook.tuning_panels import pipe_sizes, with_bore, with_drain, with_flow
from aquacalc.plan import edit
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import inflow_window
from aquacalc.units import show

if TYPE_CHECKING:
    import pandas as pd


def ways(plan: Plan, tried: Sequence[tuple[str, float]]) -> Grid:
    """Return a plan with other standpipes and pump flows as a table.

    Parameters
    ----------
    plan : Plan
    tried : sequence of (str, float)
        Size of the standpipe, and the pump's flow in m3/s.
    """
    rows = []
    for size, flow in tried:
        one = with_flow(with_bore(plan, size), flow)
        run = run_plan(one)
        group, window = run.groups[0], inflow_window(one, one.siphons[0], run)
        against = [f.title.lower() for f in find(run, units()) if f.state != "good"]
        floods = f"{3600 / group.period:.1f}" if group.period else group.outcome
        sure = f"{_flow(window.start_high)} to {_flow(window.stop_with_margin)}"
        rows.append([size, _flow(flow), floods, sure, "; ".join(against) or "nothing"])
    return grid(
        f"{len(rows)} ways to run {plan.name}",
        ["standpipe", "pump", "floods an hour", "very likely starts and stops", "against it"],
        rows,
    )


def drain_lines(plan: Plan) -> Grid:
    """Return a plan with every size of drain line, and what the bed farthest off keeps, as a table.

    Parameters
    ----------
    plan : Plan
        Several beds on one siphon.
    """
    siphon, rows = plan.siphons[0], []
    far = plan.runs[0].start
    for size in pipe_sizes(plan.runs[0].pipe.series, 0.020, 0.055):
        tried = with_drain(plan, size)
        run = run_plan(tried, trace=False)
        group = run.groups[0]
        heads = (run.node(far).at_break - group.rim, max(residuals(tried, run, siphon)[far], 0.0))
        cycle = show(group.period, "time") if group.period else group.outcome
        rows.append([size, cycle, show(group.drain_time, "time"), *(show(h, "head", units()) for h in heads)])
    return grid(
        "The drain line, and what it leaves behind",
        ["drain line", "one cycle", "draining", f"{far} over the bell rim", f"water kept in {far}"],
        rows,
        "The same pipe size for all runs of the drain line. Levels when the siphon breaks.",
    )


def flood_depths(plan: Plan) -> Grid:
    """Return how deep each bed floods, and with the second bed 60 mm higher, as a table.

    Parameters
    ----------
    plan : Plan
        Several beds on one siphon.
    """
    second, rows = plan.beds[1].name, []
    higher = edit.put(plan, {f"bed.{second}.floor": plan.beds[1].floor + 0.060})
    for name, tried in (("all at one height", plan), (f"{second} raised", higher)):
        run = run_plan(tried, trace=False)
        for bed in tried.beds:
            high = run.node(bed.name).high
            deep, wall = (show(max(x, 0.0), "length", units()) for x in (high - bed.floor, bed.rim - high))
            rows.append([name, bed.name, deep, wall])
    return grid("How deep each bed floods", ["plan", "bed", "floods to", "wall above it"], rows)


def plans_around(plan: Plan) -> pd.DataFrame:
    """Run a plan with other pump flows and standpipes around its own, with what is found against each.

    Parameters
    ----------
    plan : Plan
    """
    flow, tall = run_plan(plan, trace=False).pump, plan.siphons[0].standpipe.height
    flows = np.linspace(0.3, 2.2, 27) * max(flow, 8.0 / 60e3)
    heights = np.linspace(0.7, 1.08, 18) * tall
    values = {"pump.flow": flows.tolist(), "siphon.standpipe.height": heights.tolist()}
    return sweep(plan, values, findings=True)


def plans_map(table: pd.DataFrame, plan: Plan) -> Picture:
    """Draw such a table as a map, with lines of floods an hour."""
    return plan_map(table, plan, units(), "siphon.floods_per_hour")


def shared_or_each(plan: Plan) -> Grid:
    """Return beds on one siphon against a siphon in each bed, with the same pipe and with 1/2 in, as a table.

    Parameters
    ----------
    plan : Plan
        Several beds on one siphon.
    """
    size = plan.siphons[0].standpipe.pipe.size
    each = next(change for name, _, change in alternatives(plan) if name == "a siphon in each bed")(plan)
    small = {"standpipe.size": "1/2 in", "tail.size": "1/2 in", "standpipe.lip_diameter": 0.0266}
    tried = {
        f"one shared, {size}": plan,
        f"one per bed, {size}": each,
        "one per bed, 1/2 in": edit.put(each, {f"siphon.*.{key}": value for key, value in small.items()}),
    }
    rows = []
    for name, one in tried.items():
        run = run_plan(one, trace=False)
        group, window = run.groups[0], inflow_window(one, one.siphons[0], run)
        sure = f"{_flow(window.start_high)} to {_flow(window.stop_with_margin)}"
        cycle = show(group.period, "time") if group.period else group.outcome
        swing = show(run.sump_high - run.sump_low, "length", units())
        rows.append([name, _flow(group.inflow), sure, cycle, swing])
    return grid(
        "Shared or each its own",
        ["siphons", "inflow to each", "very likely starts and stops", "one cycle", "swing of the sump"],
        rows,
    )


def unspoken(table: pd.DataFrame, flow: str = "pump.flow", height: str = "siphon.standpipe.height") -> Grid:
    """Return, by standpipe height, between which flows nothing was found against a plan.

    Only flows that follow each other in the sweep without a plan that fails between them make one range.

    Parameters
    ----------
    table : DataFrame
        A sweep over both with findings.
    flow, height : str
        Its columns.
    """
    rows = []
    for tall, part in table.groupby(height):
        part = part.sort_values(flow)
        good = (part["worst"] == "").to_numpy()
        for first, last in _stretches(good):
            flows = part[flow].iloc[first : last + 1]
            floods = part["siphon.floods_per_hour"].iloc[first : last + 1]
            rows.append([
                show(tall, "length", units()), _flow(flows.min()), _flow(flows.max()),
                f"{floods.min():.1f} to {floods.max():.1f}",
            ])  # fmt: skip
    return grid(
        "Nothing against it",
        ["standpipe", "from", "to", "floods an hour"],
        rows or [["none of those tried", "", "", ""]],
        "A standpipe with two lines has plans between them with something against them.",
    )


def _stretches(good: Sequence[bool]) -> list[tuple[int, int]]:
    """Return first and last place of every unbroken stretch."""
    found: list[tuple[int, int]] = []
    for k, yes in enumerate(good):
        if yes and found and found[-1][1] == k - 1:
            found[-1] = (found[-1][0], k)
        elif yes:
            found.append((k, k))
    return found


def _flow(q: float) -> str:
    return show(q, "flow", units())
