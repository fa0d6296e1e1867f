"""Plans for the figures' tests: every plan file, one to six beds on a drain line; studies and sweeps."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from aquacalc.design.chances import Chance, Study, study
from aquacalc.design.sweep import sweep
from aquacalc.figures.chances import chances
from aquacalc.figures.lips import lips
from aquacalc.figures.picture import Picture
from aquacalc.figures.plan_map import plan_map
from aquacalc.findings import STATES
from aquacalc.plan import edit
from aquacalc.plan.model import Plan, Tee
from aquacalc.plan.read import read_plan
from aquacalc.results.cycle import SystemCycle, run_plan

ROOT = Path(__file__).parents[2]
FILES = sorted([*(ROOT / "data/plans").glob("*.toml"), *(ROOT / "tests/plans").glob("*.toml")])
NAMES = [path.stem for path in FILES]


@cache
def ran(name: str) -> SystemCycle:
    """Run a plan file once for all tests."""
    return run_plan(read_plan(next(path for path in FILES if path.stem == name)))


@cache
def row_of_beds(count: int) -> SystemCycle:
    """Run the demo plan with `count` beds on its drain line."""
    plan = read_plan(ROOT / "data/plans/greenhouse.toml")
    beds = tuple(replace(plan.beds[0], name=f"bed {k + 1}") for k in range(count))
    first, branch, line, _, last = plan.runs
    tees = tuple(Tee(f"tee {k + 1}", 0.62 - 0.01 * k) for k in range(count))
    runs = []
    for k, tee in enumerate(tees):
        near = first if k == 0 else branch
        runs.append(replace(near, start=f"bed {k + 1}", to=tee.name, outfall=tee.elevation))
        if k + 1 < count:
            runs.append(replace(line, start=tee.name, to=tees[k + 1].name, outfall=tees[k + 1].elevation))
    runs.append(replace(last, start=tees[-1].name))
    return run_plan(replace(plan, beds=beds, tees=tees, runs=tuple(runs)))


def moments(run: SystemCycle) -> list[float]:
    """Times (s) spread over what a figure shows of a run."""
    start, end = run.one_cycle(run.plan.siphons[0].name)
    return [start + part * (end - start) for part in (0.0, 0.02, 0.3, 0.64, 0.66, 0.7, 0.9, 1.0)]


def plan_of(name: str) -> Plan:
    """Return the plan of a file."""
    return ran(name).plan


@cache
def studied(name: str) -> Study:
    """Return a tolerance study: some findings at times, all at once, none, stopped, or with long names."""
    plan = edit.put(plan_of("greenhouse"), {"pump.flow": 12.0 / 60e3})
    if name == "at times":
        return study(plan, size=16)
    if name == "never works":
        return study(edit.put(plan, {"pump.flow": 3.0 / 60e3}), size=2)
    if name == "cannot be built":
        return study(row_of_beds(6).plan, size=2)
    found = studied("at times")
    if name == "always works":
        sure = tuple(
            replace(c, parts=dict.fromkeys(STATES, 0.0) | {"good": 1.0})
            for c in found.chances
            if "good" in c.titles
        )
        return replace(found, chances=sure, works=1.0, works_range=(0.9, 1.0), priors=(), complete=False)
    long = "A finding of a very long title that goes on and on, further than any of ours does"
    many = [_named(found.chances[0], f"{long} {k}", f"bed of long name {k}", k) for k in range(15)]
    return replace(found, chances=tuple(many))


def _named(chance: Chance, title: str, subject: str, k: int) -> Chance:
    part, titles = 0.004 * k**2 + 0.001, dict.fromkeys(STATES, title)
    near = max(part - 0.06, 0.0), min(part + 0.09, 1.0)
    return replace(
        chance,
        subject=subject,
        parts=dict.fromkeys(STATES, 0.0) | {STATES[k % 3]: part},
        titles=titles,
        ranges=dict.fromkeys(STATES, near),
        shares=chance.shares if k % 3 else (),
    )


STUDIES = ("at times", "never works", "cannot be built", "always works", "many and long")
FLOWS = tuple(np.linspace(4.0, 40.0, 19) / 60e3)
HEIGHTS = tuple(np.linspace(0.30, 0.48, 10))


@cache
def swept(name: str):
    """Return a sweep's table over two plan values, with the plan that was swept."""
    plan = plan_of("greenhouse")
    flow, height = "pump.flow", "siphon.standpipe.height"
    if name == "findings":
        return sweep(plan, {flow: FLOWS, height: HEIGHTS}, findings=True), plan
    if name == "names":
        sizes = ("3/4 in", "1 in", "1-1/4 in", "1-1/2 in")
        return sweep(plan, {"siphon.standpipe.size": sizes, flow: FLOWS}, findings=True), plan
    if name == "sump":
        values = {"sump.diameter": np.linspace(0.5, 1.0, 17), "bed.*.porosity": np.linspace(0.3, 0.7, 9)}
        return sweep(plan, values, findings=True), plan
    whole, _ = swept("findings")
    if name == "stopped":
        return whole.iloc[:104], edit.put(plan, {flow: 1.0 / 60e3})
    # "outcomes"
    extra = [column for column in whole.columns if column in ("verdict", "worst") or "finding." in column]
    return whole.drop(columns=extra), plan


#: Maps of `swept`: table, system, lines.
MAPS = (
    ("findings", "metric", "siphon.period"),
    ("findings", "us", "siphon.floods_per_hour"),
    ("names", "us", ""),
    ("sump", "metric", "sump_low"),
    ("stopped", "metric", ""),
    ("outcomes", "metric", "bed 1.high"),
)


#: Figures that belong to no run: studies, maps, lips in both systems.
STILLS = (
    *(f"chances, {name}" for name in STUDIES),
    *(f"map, {', '.join(each)}" for each in MAPS),
    *(f"lips, {system}, {end}" for system in ("metric", "us") for end in ("plain end", "wider lip")),
)


@cache
def still(name: str) -> Picture:
    """Draw one of `STILLS`."""
    what, first, *rest = name.split(", ")
    if what == "chances":
        return chances(studied(first))
    if what == "map":
        return plan_map(*swept(first), *rest)
    siphon = plan_of("greenhouse").siphons[0]
    if rest[0] == "plain end":
        bore = siphon.standpipe.pipe.bore
        siphon = replace(siphon, standpipe=replace(siphon.standpipe, lip_diameter=bore))
    return lips(siphon, first)
