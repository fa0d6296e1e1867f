"""Runs of the demo plans, and the same with one thing moved, for the tests of findings."""

import functools
from dataclasses import replace

from aquacalc.catalogue import data_dir
from aquacalc.findings import Finding, find
from aquacalc.plan import edit, read_plan
from aquacalc.results.cycle import SystemCycle, run_plan

HAIR = 1e-7


@functools.cache
def run_of(name: str) -> SystemCycle:
    return run_plan(read_plan(data_dir() / "plans" / f"{name}.toml"), trace=False)


def demo() -> SystemCycle:
    return run_of("greenhouse")


def with_plan(run: SystemCycle, values: dict) -> SystemCycle:
    """The same run under a plan with other values: for limits that the run itself does not depend on."""
    return replace(run, plan=edit.put(run.plan, values))


def with_group(run: SystemCycle, **values) -> SystemCycle:
    first, *others = run.groups
    return replace(run, groups=(replace(first, **values), *others))


def with_node(run: SystemCycle, name: str, **values) -> SystemCycle:
    nodes = tuple(replace(n, **values) if n.name == name else n for n in run.nodes)
    return replace(run, nodes=nodes)


def found(run: SystemCycle, key: str, subject: str | None = None) -> Finding | None:
    """The one finding with this key (on this subject), or None."""
    hits = [f for f in find(run) if f.key == key and subject in (None, f.subject)]
    assert len(hits) <= 1, hits
    return hits[0] if hits else None


def states(key: str, *runs: SystemCycle, subject: str | None = None) -> list[str | None]:
    hits = [found(run, key, subject) for run in runs]
    return [f and f.state for f in hits]
