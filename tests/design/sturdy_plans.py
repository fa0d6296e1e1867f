"""Plans made sturdy, by the hundred: `python -m tests.design.sturdy_plans [plans] [first seed]`.

Takes plans drawn by number that are "may or may not" or worse, looks for the fewest changes after which
each works at every corner of what nobody knows, and runs those at 100 points within.
"""

from __future__ import annotations

import random
import sys
import time
from collections import Counter
from collections.abc import Iterator

from aquacalc.design.many_plans import run_plans
from aquacalc.design.sturdy import Tried, corners, inside, search
from aquacalc.findings import find, verdict
from aquacalc.plan import edit, plan_from_text
from aquacalc.plan.model import Plan
from tests.plan.generated import plan_text

POINTS = 100
#: Unknowns that have two ends, at the most.
UNKNOWNS = 4


def doubtful(first: int) -> Iterator[tuple[int, Plan]]:
    """Yield plans by seed that are "may or may not" or worse."""
    seed = first
    while True:
        plan = plan_from_text(plan_text(seed))
        if verdict(find(run_plans([plan])[0])) != "works":
            yield seed, plan
        seed += 1


def fails(tried: Tried, seed: int) -> tuple[int, int]:
    """Corners and points within at which a plan that is called sturdy does not work."""
    draw = random.Random(seed)
    points = [inside(tried.plan, tuple(draw.random() for _ in range(UNKNOWNS))) for _ in range(POINTS)]
    return tuple(
        sum(verdict(find(run)) != "works" for run in run_plans([edit.put(tried.plan, e) for e in edits]))
        for edits in (corners(tried.plan), points)
    )


def main(plans: int = 200, first: int = 5000):
    """Print a line for each plan, and the table."""
    began, made, bad, kinds = time.perf_counter(), Counter(), Counter(), Counter()
    each = doubtful(first)
    for n in range(plans):
        seed, plan = next(each)
        now, best = search(plan)
        if now.sturdy or (best is not None and best.sturdy):
            found = best or now
            count = len(found.changes)
            at_corners, within = fails(found, seed)
            bad.update(corners=at_corners > 0, within=within > 0, points=within)
            kinds.update(step.kind.partition(" of ")[0] for step in found.changes)
            said = f"sturdy by {count}: {'; '.join(s.change.words for s in found.changes)}"
        else:
            count = -1 if best is None else -2
            said = f"not: {(best or now).lacks}"
        made[count] += 1
        print(f"{n + 1} seed {seed}: {now.works} of {len(now.faults)}; {said}", flush=True)
    sturdy = sum(count for k, count in made.items() if k >= 0)
    print("\n| Changed parts | Plans |\n|---|---|")
    names = {-2: "not sturdy, but better", -1: "nothing helps"}
    for k in (0, 1, 2, 3, -2, -1):
        print(f"| {names.get(k, k)} | {made[k]} |")
    print(f"\nOf {sturdy} sturdy plans: {bad['corners']} fail at a corner, {bad['within']} at a point within")
    print(f"({bad['points']} of {sturdy * POINTS} points). Changes: {dict(kinds.most_common())}")
    print(f"{plans} plans, seeds {first} to {seed}, {time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main(*(int(x) for x in sys.argv[1:]))
