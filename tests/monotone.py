"""Random plans: more flow never makes a siphon start less, water is kept, nothing stands under a floor.

    python -m tests.monotone --seed 0 --count 1000

Each plan runs at seven tenths of its pump's flow, at its flow and at 1.4 times it; one in ten by a timer and
through a power cut as well. Every plan that works has to say its closest failure. Prints what fails;
exit status 1 when anything does.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

from aquacalc.design.closest import turns
from aquacalc.engine.runner import compile_now
from aquacalc.findings import find, verdict
from aquacalc.hydraulics.levels import volume_at
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan import plan_from_text
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle, run_plan
from aquacalc.results.pump_off import pipe_water, power_cut, timer
from aquacalc.results.window import system_water
from tests.plan.generated import plan_text

FACTORS = (0.7, 1.0, 1.4)
#: Share of the water that may be lost to rounding; what a level may be under its floor, m.
KEPT, UNDER = 1e-9, 1e-6
#: How sure a start is.
SURE = ("does not", "may or may not", "good")


def times(plan: Plan, factor: float) -> Plan:
    """Return the plan with its pump's flow times `factor`, along the whole curve where it has one."""
    pump = plan.pump
    curve = tuple((factor * q, head) for q, head in pump.curve)
    return replace(plan, pump=replace(pump, flow=pump.flow and factor * pump.flow, curve=curve))


def starts(findings, name: str) -> int:
    """How sure the start of a siphon is: 0 to 2; -1 where no water comes."""
    keys = ("start", "spills")
    found = [f for f in findings if f.subject == name and f.key in keys]
    return SURE.index(found[0].state) if found else -1


def off(plan: Plan, run: SystemCycle) -> Iterator[str]:
    """What is wrong with the plan when its pump stops."""
    cut = power_cut(run)
    held = sum(volume_at(vessel_cells(plan, v), cut.left[v.name]) for v in plan.vessels)
    sump = volume_at(vessel_cells(plan, plan.sump), cut.sump)
    lost = abs(held + sump - pipe_water(plan) - system_water(plan, run)) / system_water(plan, run)
    if lost > KEPT:
        yield f"a power cut loses {lost:.1e} of the water"
    for name, level in cut.left.items():
        if level < plan.vessel(name).floor - UNDER:
            yield f"after a power cut {name} stands under its floor"
    timed = timer(replace(plan, pump=replace(plan.pump, on=900.0, off=2700.0)))
    if timed.balance > KEPT:
        yield f"a timer loses {timed.balance:.1e} of the water"


def faults(seed: int, seen: Counter) -> Iterator[str]:
    """What is wrong with one plan."""
    plan = plan_from_text(plan_text(seed))
    sure: dict[str, int] = {}
    for factor in FACTORS:
        changed = times(plan, factor)
        run = run_plan(changed, trace=False)
        findings = find(run)
        says = verdict(findings)
        seen[says] += factor == 1.0
        if run.balance > KEPT:
            yield f"at {factor} times the flow {run.balance:.1e} of the water is lost"
        for vessel in plan.vessels:
            if run.node(vessel.name).low < vessel.floor - UNDER:
                yield f"at {factor} times the flow {vessel.name} stands under its floor"
        for siphon in plan.siphons:
            now, before = starts(findings, siphon.name), sure.get(siphon.name, -1)
            # A pump that has run dry brings less; a siphon without water says nothing of its start.
            dry = any(f.key == "pump_cover" and f.state == "does not" for f in findings)
            if 0 <= now < before and not dry:
                yield f"at {factor} times the flow {siphon.name} starts less surely"
            sure[siphon.name] = now
        if says == "works" and not turns(run, findings):
            yield f"at {factor} times the flow it works and says no closest failure"
        if factor == 1.0 and seed % 10 == 0:
            yield from off(changed, run)


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=0, help="number of the first plan")
    parser.add_argument("--count", type=int, default=1000, help="number of plans")
    given = parser.parse_args(argv)
    compile_now(print)
    began, seen, bad = time.perf_counter(), Counter(), 0
    for seed in range(given.seed, given.seed + given.count):
        for fault in faults(seed, seen):
            bad += 1
            print(f"seed {seed}: {fault}", flush=True)
    took = time.perf_counter() - began
    told = ", ".join(f"{n} {says}" for says, n in sorted(seen.items()))
    print(f"{given.count} plans in {took:.0f} s ({told}): {bad} faults")
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main())
