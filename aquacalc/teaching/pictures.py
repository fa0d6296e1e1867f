"""Drawings that contradict what learners often believe, each from the demo plan."""

from __future__ import annotations

from collections.abc import Callable

from aquacalc.figures.floods import floods
from aquacalc.figures.head_budget import head_budget, siphon_losses
from aquacalc.figures.levels import levels
from aquacalc.figures.lips import lips
from aquacalc.figures.priming_map import priming_map
from aquacalc.figures.section import section
from aquacalc.figures.vector import Drawn
from aquacalc.notebook.drain_panels import drained, line_losses
from aquacalc.notebook.reader_units import units
from aquacalc.notebook.saved_plan import demo_plan
from aquacalc.notebook.tuning_panels import with_drain
from aquacalc.results.cycle import run_plan

#: A flow at which a 1 in bore is expected to fill and a wider one is not, m3/s.
BETWEEN = 12.0 / 60e3


def _three_pipes() -> Drawn:
    return lips(demo_plan().siphons[0], units(), BETWEEN)


def _map() -> Drawn:
    return priming_map(demo_plan().siphons[0], BETWEEN, units(), flow_high=40.0 / 60e3)


def _levels() -> Drawn:
    return levels(run_plan(demo_plan()), system=units())


def _thin_line() -> Drawn:
    return levels(run_plan(with_drain(demo_plan(), "3/4 in")), system=units())


def _suction() -> Drawn:
    plan = demo_plan()
    run = run_plan(plan)
    start, end = run.one_cycle(plan.siphons[0].name)
    half_drained = end - 0.5 * run.groups[0].drain_time
    return section(plan, run, max(start, half_drained), system=units())


def _floods() -> Drawn:
    return floods(demo_plan("one-bed"), units())


def _head() -> Drawn:
    plan = demo_plan()
    run, siphon = run_plan(plan), plan.siphons[0]
    flow = run.groups[0].flow_high
    line, _ = line_losses(plan, run, drained(plan))
    return head_budget("drain line and siphon", [*line, *siphon_losses(plan, siphon, flow)], flow, units())


#: Name in `beliefs.toml` -> what draws it.
PICTURES: dict[str, Callable[[], Drawn]] = {
    "three pipes": _three_pipes,
    "map": _map,
    "levels": _levels,
    "thin line": _thin_line,
    "suction": _suction,
    "floods": _floods,
    "head": _head,
}
