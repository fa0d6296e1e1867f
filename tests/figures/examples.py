"""Plans for the figures' tests: every plan file, and one to six beds on a drain line."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

from aquacalc.cycle import SystemCycle, run_plan
from aquacalc.plan.model import Plan, Tee
from aquacalc.plan.read import read_plan

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
