"""What holds of every plan, tried on plans drawn by number, of every topology, shape and outlet.

    python -m tests.properties --seed 0 --count 5000

A plan that is written is read back as the same plan; lengths add up and nothing lies in something else unsaid
(`tests.geometry.random_space`); at seven tenths of its pump's flow, at its flow and at 1.4 times it water is
kept, nothing stands under a floor, and more flow never makes a siphon start less surely; what works says its
closest failure. One plan in ten runs by a timer and through a power cut, and its report fits the schema and
has no number that is not finite. Prints what fails and a table; exit status 1 when anything does.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

from aquacalc.design.closest import turns
from aquacalc.engine.runner import compile_now
from aquacalc.findings import EXIT_STATUS, find, verdict
from aquacalc.hydraulics.levels import volume_at
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan import PlanError, check_plan, plan_from_text, write_plan
from aquacalc.plan.model import Plan
from aquacalc.plan.shapes import SHAPES, make
from aquacalc.report.as_json import as_dict, schema
from aquacalc.report.content import build_report
from aquacalc.results.cycle import SystemCycle, run_plan
from aquacalc.results.pump_off import pipe_water, power_cut, timer
from aquacalc.results.window import system_water
from tests.geometry.random_space import problems
from tests.plan.generated import plan_text, topology

FACTORS = (0.7, 1.0, 1.4)
#: Share of the water that may be lost to rounding; what a level may be under its floor, m.
KEPT, UNDER = 1e-9, 1e-6
#: How sure a start is.
SURE = ("does not", "may or may not", "good")


def drawn(seed: int) -> Plan:
    """Return the plan of a number; one in five with ovals for its rectangular beds, which are not drawn."""
    plan = plan_from_text(plan_text(seed))
    if seed % 5 != 4:
        return plan
    beds = []
    for bed in plan.beds:
        if (shape := bed.shape).kind == "rectangular":
            sizes = {"top_length": shape.length, "top_width": shape.width, **vars(shape)}
            bed = replace(bed, shape=make("oval", **sizes))
        beds.append(bed)
    plan = replace(plan, beds=tuple(beds))
    check_plan(plan)
    return plan


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


def reported(plan: Plan) -> Iterator[str]:
    """What is wrong with the plan's report."""
    import jsonschema

    out = as_dict(build_report(plan))
    for error in jsonschema.Draft202012Validator(schema()).iter_errors(out):
        yield f"the report does not fit its schema: {error.message[:80]} at {error.json_path}"
    try:
        json.dumps(out, allow_nan=False)
    except ValueError:
        yield "the report has a number that is not finite"


def faults(seed: int, seen: Counter, every: int = 10) -> Iterator[str]:
    """What is wrong with one plan; with one in `every`, what takes longer is tried as well."""
    try:
        plan = drawn(seed)
    except PlanError as error:  # a height in inches that is rounded to just under a floor
        seen["refused", error.reason.partition(" of ")[0], ""] += 1
        return
    if plan_from_text(write_plan(plan)) != plan:
        yield "is read back as another plan"
    yield from problems(plan)
    sure: dict[str, int] = {}
    for factor in FACTORS:
        changed = times(plan, factor)
        run = run_plan(changed, trace=False)
        findings = find(run)
        says = verdict(findings)
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
        if factor == 1.0:
            for kind in {topology(plan, siphon.host) for siphon in plan.siphons}:
                seen["beds and siphon", kind, says] += 1
            for kind in {bed.shape.kind for bed in plan.beds}:
                seen["shape of a bed", kind, says] += 1
            for kind in {bed.outlet for bed in plan.beds}:
                seen["outlet", kind, says] += 1
            if seed % every == 0:
                yield from off(changed, run)
                yield from reported(changed)


def table(seen: Counter) -> str:
    """Return how many plans of each kind there were, and what their verdicts were."""
    says = [word for word in EXIT_STATUS if any(key[2] == word for key in seen)]
    lines = [f"| | | Plans | {' | '.join(says)} |", "|---|---|---|" + "---|" * len(says)]
    for what, kind in sorted({key[:2] for key in seen}):
        counts = [seen[what, kind, word] for word in says]
        total = sum(counts) or seen[what, kind, ""]
        lines.append(f"| {what} | {kind} | {total} | {' | '.join(map(str, counts))} |")
    return "\n".join(lines)


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=0, help="number of the first plan")
    parser.add_argument("--count", type=int, default=1000, help="number of plans")
    given = parser.parse_args(argv)
    compile_now(print)
    began, seen, bad = time.perf_counter(), Counter(), 0
    for seed in range(given.seed, given.seed + given.count):
        try:
            found = list(faults(seed, seen))
        except Exception as error:
            found = [f"{type(error).__name__}: {error}"]
        for fault in found:
            bad += 1
            print(f"seed {seed}: {fault}", flush=True)
        if (seed - given.seed) % 500 == 499:
            print(f"{seed - given.seed + 1} plans in {time.perf_counter() - began:.0f} s", flush=True)
    missing = set(SHAPES) - {key[1] for key in seen if key[0] == "shape of a bed"}
    print(f"\n{table(seen)}\n\nseed {given.seed}: {given.count} plans, {bad} faults"
          f"{'; never drawn: ' + ', '.join(missing) if missing else ''}.")  # fmt: skip
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main())
