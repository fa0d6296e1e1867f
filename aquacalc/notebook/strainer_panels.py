"""Strainers: openings of the reader's own plan, what they take, and what the bed notices of it."""

from __future__ import annotations

from collections.abc import Sequence

from aquacalc.design.drains import drain_flows, residuals
from aquacalc.equations import RECORDS
from aquacalc.equations.formulas import GRAVITY, circle_area
from aquacalc.geometry.strainers import strainer_area
from aquacalc.notebook.drain_panels import LineHead
from aquacalc.notebook.equation_panel import EquationPanel
from aquacalc.notebook.panel_pictures import Levels
from aquacalc.notebook.plan_panel import Move, PlanPanel
from aquacalc.notebook.reader_units import units
from aquacalc.notebook.table import Grid, grid
from aquacalc.plan import edit
from aquacalc.plan.model import Bed, Plan, Siphon
from aquacalc.results.cycle import SystemCycle, run_plan
from aquacalc.units import show

#: Parts of the openings that a table leaves open.
SHARES = (1.0, 0.75, 0.5, 0.35, 0.25, 0.2, 0.1)


def strained(plan: Plan) -> Bed:
    """Return the first bed with a strainer on a drain line.

    Raises
    ------
    ValueError
        When there is none, with what to do.
    """
    starts = {run.start for run in plan.runs}
    for bed in plan.beds:
        if bed.strainer is not None and bed.name in starts:
            return bed
    raise ValueError(
        f"no bed of {plan.name} has a strainer on a drain line; open the demo plan instead: "
        'plan = open_plan(mine="none")'
    )


def openings_panel(plan: Plan) -> EquationPanel:
    """Return the open area of the first strainer with sliders that begin at its own openings."""
    strainer = strained(plan).strainer
    count = (1, float(strainer.count), max(60.0, float(strainer.count)))
    if strainer.kind == "holes":
        across = (min(0.001, strainer.width), strainer.width, max(0.015, strainer.width))
        return EquationPanel("hole_area", {"n": count, "d": across})
    wide = (min(0.001, strainer.width), strainer.width, max(0.008, strainer.width))
    long = (min(0.005, strainer.length), strainer.length, max(0.06, strainer.length))
    return EquationPanel("slot_area", {"n": count, "w": wide, "l": long})


def open_areas() -> Grid:
    """Return the loss coefficient of a strainer by its open area over the bore's, as a table."""
    rows = []
    for ratio in (0.5, 1.0, 1.5, 2.0, 3.0, 5.0):
        k = RECORDS["strainer_loss"].compute(A_p=1e-3, C_d=0.6, A_o=ratio * 1e-3).value
        rows.append([f"{ratio:g} times the bore", f"{k:.2g}"])
    note = "For scale: a short 90° bend has K = 0.4, a square pipe entrance 0.5."
    return grid("What open area buys", ["open area", "K"], rows, note)


def head_panel(plan: Plan) -> EquationPanel:
    """Return the head lost in the first strainer with sliders that begin at its own flow and area."""
    bed = strained(plan)
    _, flow = strainer_head(plan, run_plan(plan))
    area = strainer_area(plan, bed.name)
    return EquationPanel(
        "strainer_head",
        {
            "Q": (0.2 * flow, flow, 3.0 * flow),
            "A_o": (0.1 * area, area, 2.0 * area),
            "C_d": (0.4, bed.strainer.discharge_coefficient, 0.82),
        },
    )


def strainer_head(plan: Plan, run: SystemCycle) -> tuple[float, float]:
    """Return the head (m) that the first strainer takes, and the most that its bed gives (m3/s)."""
    bed = strained(plan)
    flow = drain_flows(plan, run, _siphon(plan, run, bed))[bed.name]
    speed = flow / (bed.strainer.discharge_coefficient * strainer_area(plan, bed.name))
    return speed**2 / (2.0 * GRAVITY), flow


def with_openings(plan: Plan, share: float) -> Plan:
    """Return the plan with a `share` of the openings of each strainer left, one at least."""
    values = {
        f"bed.{b.name}.strainer.count": max(1, round(share * b.strainer.count))
        for b in plan.beds
        if b.strainer is not None
    }
    return edit.put(plan, values)


def fewer_openings(plan: Plan, shares: Sequence[float] = SHARES) -> Grid:
    """Return what a bed notices with a part of the openings of every strainer left, as a table.

    Parameters
    ----------
    plan : Plan
    shares : sequence of float
        Parts of the openings that stay open.
    """
    system, kind, rows = units(), strained(plan).strainer.kind, []
    for share in shares:
        tried = with_openings(plan, share)
        run = run_plan(tried, trace=False)
        head, _ = strainer_head(tried, run)
        rows.append([strained(tried).strainer.count, show(head, "head", system, 2), *_drained(tried, run, 2)])
    return grid(
        f"Fewer {kind} open, in every bed",
        [f"{kind} open", "head they take at first", "drain time", "water left over the outlet"],
        rows,
        "All beds on their whole run. The head is that of the flow just after the start.",
    )


def _siphon(plan: Plan, run: SystemCycle, bed: Bed) -> Siphon:
    return plan.siphon(run.node(bed.name).group)


def _drained(plan: Plan, run: SystemCycle, digits: int | None = None) -> tuple[str, str]:
    """Return drain time and depth left over the outlet, or why there is none."""
    bed = strained(plan)
    siphon = _siphon(plan, run, bed)
    group = run.group(siphon.name)
    if group.outcome != "cycles":
        return group.outcome, ""
    kept = residuals(plan, run, siphon)[bed.name]
    return show(group.drain_time, "time"), show(kept, "length", units(), digits)


class StrainerPanel(PlanPanel):
    """Openings of every strainer: what they take, and what the bed notices.

    Parameters
    ----------
    plan : Plan
        One of its beds has a strainer.
    """

    def __init__(self, plan: Plan):
        bed = strained(plan)
        count = bed.strainer.count
        alike = all(b.strainer and b.strainer.count == count for b in plan.beds)
        # Beds with strainers of their own stay as they are: the slider says which one it moves.
        path = "bed.*.strainer.count" if alike else f"bed.{bed.name}.strainer.count"
        move = Move(
            "open",
            f"{bed.strainer.kind.capitalize()} open in {'every bed' if alike else bed.name}",
            "number",
            lambda p: float(strained(p).strainer.count),
            lambda p, left: edit.put(p, {path: round(left)}),
            1.0,
            max(60.0, float(count)),
            whole=True,
        )
        super().__init__(plan, (move,), (LineHead, Levels), moment=False)

    def told(self) -> tuple[str, str]:
        """Say what the strainer takes and what stays in the bed."""
        plan, run, system = self.plan, self.run, units()
        bed = strained(plan)
        area = strainer_area(plan, bed.name)
        bore = plan.run_from(bed.name).pipe.bore
        head, flow = strainer_head(plan, run)
        text = (
            f"{bed.strainer.count} {bed.strainer.kind} open {show(area, 'opening_area', system)}, "
            f"{area / circle_area(bore):.2f} times the bore. At {show(flow, 'flow', system)}, the most that "
            f"{bed.name} gives, they take {show(head, 'head', system)}."
        )
        time, kept = _drained(plan, run)
        if kept:
            text += f" Draining takes {time}, and {kept} of water stay over the outlet."
        return text, super().told()[1]
