"""Print sentences that are made from parts, for a person to read: `python -m tests.sentences [how many]`.

One bed, several beds and two siphons, metric and US, as they are and with four faults: thirty plans. Each
shape of sentence (its numbers and names aside) is printed once, the verdict and what goes with it first.
"""

from __future__ import annotations

import itertools
import re
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from aquacalc.design.advice import PAGE_RUNS
from aquacalc.design.change import built
from aquacalc.plan import Plan, read_plan
from aquacalc.report.content import build_report
from aquacalc.report.records import Report
from aquacalc.report.summary import bars, change, facts, leaning
from aquacalc.report.text import verdict

ROOT = Path(__file__).parents[1]
PLANS = ("data/plans/one-bed.toml", "data/plans/greenhouse.toml", "tests/plans/two-groups.toml")
#: Faults by what they change, as factors on values of the plan.
FAULTS = {
    "as it is": {},
    "pump weak": {"pump.flow": 0.45},
    "pump strong": {"pump.flow": 2.4},
    "little water": {"sump.water_level": 0.35},
    "small sump": {"sump.water_level": 1.0, "sump.depth": 0.86},
}


def plans() -> Iterator[tuple[str, Plan]]:
    """Yield (what it is, plan) of each combination that can be built."""
    from aquacalc.plan import edit

    for path, system, (fault, factors) in itertools.product(PLANS, ("metric", "us"), FAULTS.items()):
        plan = replace(read_plan(ROOT / path), units=system)
        values = {p: edit.get(plan, p) * f for p, f in factors.items() if edit.get(plan, p) is not None}
        changed = built(plan, values)
        if changed is not None:
            yield f"{Path(path).stem}, {system}, {fault}", changed


def sentences(report: Report) -> Iterator[str]:
    """Yield what a report says in sentences, the first screen before the findings."""
    yield verdict(report)
    for label, words in facts(report):
        yield f"{label}: {words}"
    best = change(report)
    if best:
        yield f"{best[0]}: {best[1]}"
    yield from leaning(report.turns, report.verdict)
    for bar in bars(report):
        yield f"{bar.title}: {bar.words}"
    for finding in report.findings:
        for words in (finding.cause, finding.change):
            if words:
                yield f"{finding.title} ({finding.subject}): {words}"


def every(runs: int = PAGE_RUNS) -> Iterator[tuple[str, str]]:
    """Yield (plan, sentence), each shape of sentence once; so many runs are spent on each plan's advice."""
    told = set()
    for name, plan in plans():
        for words in sentences(build_report(plan, runs)):
            shape = re.sub(r"\b(bed|siphon|chamber|tee)( \w+)?\b", "it", re.sub(r"-?\d[\d./]*", "0", words))
            if shape not in told:
                told.add(shape)
                yield name, words


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    for name, words in itertools.islice(every(), count):
        print(f"[{name}] {words}")
