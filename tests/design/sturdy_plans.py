"""Plans made sturdy, by the hundred: `python -m tests.design.sturdy_plans [plans] [first seed] [FILE]`.

Takes plans drawn by number that are "may or may not" or worse, looks for the fewest changes after which
each works at every corner of what nobody knows, and runs those at 100 points within. Only plans that can be
built as drawn are taken: where a hole or a pipe does not fit, somebody has to draw again first. With FILE
each plan is written there as a line of JSON, and what it has is not done again.
"""

from __future__ import annotations

import itertools
import json
import random
import sys
import time
from collections import Counter
from pathlib import Path

from aquacalc.design.many_plans import run_plans
from aquacalc.design.sturdy import FAULTS, Tried, corners, inside, search
from aquacalc.findings import find, verdict
from aquacalc.findings.building import find_building
from aquacalc.plan import edit, plan_from_text
from aquacalc.plan.model import Plan
from tests.plan.generated import plan_text

POINTS = 100
#: Unknowns that have two ends, at the most.
UNKNOWNS = 4


def drawn(seed: int) -> tuple[str, Plan]:
    """Return a plan by seed, and why it is not taken; "" when it is."""
    plan = plan_from_text(plan_text(seed))
    if any(f.state in FAULTS for f in find_building(plan)):
        return "cannot be built", plan
    return "works" if verdict(find(run_plans([plan])[0])) == "works" else "", plan


def fails(tried: Tried, seed: int) -> tuple[int, int]:
    """Corners and points within at which a plan that is called sturdy does not work."""
    draw = random.Random(seed)
    points = [inside(tried.plan, tuple(draw.random() for _ in range(UNKNOWNS))) for _ in range(POINTS)]
    return tuple(
        sum(verdict(find(run)) != "works" for run in run_plans([edit.put(tried.plan, e) for e in edits]))
        for edits in (corners(tried.plan), points)
    )


def result(seed: int) -> dict[str, object]:
    """Return what the search makes of the plan of a seed."""
    began = time.perf_counter()
    left_out, plan = drawn(seed)
    if left_out:
        return {"seed": seed, "left out": left_out}
    now, best = search(plan)
    found = best or now
    at_corners, within = fails(found, seed) if found.sturdy else (0, 0)
    return {
        "seed": seed, "corners": len(now.corners), "works": now.works, "then": found.works,
        "sturdy": found.sturdy, "better": best is not None, "parts": sum(s.parts for s in found.changes),
        "changes": [s.change.words for s in found.changes], "first": now.lacks, "lacks": found.lacks,
        "fails at corners": at_corners, "fails within": within, "s": round(time.perf_counter() - began, 1),
    }  # fmt: skip


def main(plans: int = 200, first: int = 5000, file: str = ""):
    """Print a line for each plan, and the table."""
    kept = Path(file).read_text().splitlines() if file and Path(file).exists() else []
    rows = {row["seed"]: row for row in map(json.loads, kept)}
    taken: list[dict] = []
    for seed in itertools.count(first):
        if len(taken) == plans:
            break
        if seed not in rows:
            rows[seed] = result(seed)
            if file:
                with Path(file).open("a") as out:
                    out.write(json.dumps(rows[seed]) + "\n")
        row = rows[seed]
        if "left out" not in row:
            taken.append(row)
            end = "sturdy by" if row["sturdy"] else f"not ({row['lacks']}), tried"
            print(
                f"{len(taken)} seed {seed}: {row['works']} of {row['corners']}, then {row['then']}; {end} "
                f"{row['parts']}: {' '.join(row['changes'])} {row['s']} s",
                flush=True,
            )
    left = Counter(row["left out"] for s, row in rows.items() if "left out" in row and first <= s < seed)
    made = [row for row in taken if row["sturdy"]]
    print(f"\nSeeds {first} to {seed - 1}; left out: {dict(left)}\n\n| Changed parts | Plans |\n|---|---|")
    for parts, count in sorted(Counter(row["parts"] for row in made).items()):
        print(f"| {parts} | {count} |")
    better = [row for row in taken if not row["sturdy"] and row["better"]]
    print(f"| not sturdy, but fewer faults | {len(better)} |")
    print(f"| nothing helps | {len(taken) - len(made) - len(better)} |")
    points = sum(row["fails within"] for row in made)
    print(f"\nOf {len(made)} sturdy plans {sum(row['fails at corners'] > 0 for row in made)} fail at a corner,")
    print(f"{sum(row['fails within'] > 0 for row in made)} at a point within ({points} points).")
    rest = Counter(row["lacks"].partition(" (")[0] for row in taken if not row["sturdy"])
    print(f"What is left of the others: {dict(rest.most_common())}")
    times = sorted(row["s"] for row in taken)
    print(f"{times[len(times) // 2]} s a plan in the median, {times[-1]} s at the most")


if __name__ == "__main__":
    main(*(int(x) for x in sys.argv[1:3]), *sys.argv[3:])
