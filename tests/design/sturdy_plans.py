"""Plans made sturdy, by the hundred: `python -m tests.design.sturdy_plans [plans] [first seed] [FILE]`.

Takes plans drawn by number that are "may or may not" or worse, looks for the fewest changes after which
each works at every corner of what nobody knows, and runs those at 100 points within. Plans in which a hole, a
pipe or the weight does not fit are left out: somebody has to draw them again first. With FILE each plan is
written there as a line of JSON, and what it has is not done again.
"""

from __future__ import annotations

import json
import random
import sys
import time
from collections import Counter
from pathlib import Path

from aquacalc.design.corners import corners, inside
from aquacalc.design.many_plans import run_plans
from aquacalc.design.sturdy import FAULTS, Tried, search
from aquacalc.findings import find, verdict
from aquacalc.findings.building import find_building
from aquacalc.plan import edit, plan_from_text
from tests.plan.generated import plan_text

POINTS = 100
#: Unknowns that have two ends, at the most.
UNKNOWNS = 4


def fails(tried: Tried, seed: int) -> tuple[int, int]:
    """Corners and points within at which a plan that is called sturdy does not work."""
    draw = random.Random(seed)
    points = [inside(tried.plan, tuple(draw.random() for _ in range(UNKNOWNS))) for _ in range(POINTS)]
    return tuple(
        sum(verdict(find(run)) != "works" for run in run_plans([edit.put(tried.plan, e) for e in edits]))
        for edits in (corners(tried.plan), points)
    )


def result(seed: int) -> dict[str, object]:
    """Return what the search makes of the plan of a seed; the seed alone of a plan that works."""
    began = time.perf_counter()
    plan = plan_from_text(plan_text(seed))
    findings = find(run_plans([plan])[0])
    faults = [*find_building(plan), *(f for f in findings if f.key == "weight")]
    if verdict(findings) == "works":
        return {"seed": seed, "left out": "works"}
    if any(f.state in FAULTS for f in faults):
        return {"seed": seed, "left out": "cannot be built"}
    now, best = search(plan)
    found = best or now
    at_corners, within = fails(found, seed) if found.sturdy else (0, 0)
    return {
        "seed": seed, "corners": len(now.corners), "works": now.works, "then": found.works,
        "sturdy": found.sturdy, "better": best is not None, "parts": sum(s.parts for s in found.changes),
        "changes": [s.change.words for s in found.changes], "lacks": found.lacks,
        "fails at corners": at_corners, "fails within": within, "s": round(time.perf_counter() - began, 1),
    }  # fmt: skip


def said(row: dict) -> str:
    """Say what came of one plan."""
    end = "sturdy by" if row["sturdy"] else f"not ({row['lacks']}), tried"
    return (
        f"seed {row['seed']}: {row['works']} of {row['corners']}, then {row['then']}; {end} "
        f"{row['parts']}: {' '.join(row['changes'])} {row['s']} s"
    )


def table(rows: list[dict]):
    """Print what came of some plans."""
    made = [row for row in rows if row["sturdy"]]
    better = [row for row in rows if not row["sturdy"] and row["better"]]
    print("\n| Changed parts | Plans |\n|---|---|")
    for parts, count in sorted(Counter(row["parts"] for row in made).items()):
        print(f"| {parts} | {count} |")
    print(f"| not sturdy, but fewer faults | {len(better)} |")
    print(f"| nothing helps | {len(rows) - len(made) - len(better)} |")
    at, within = (sum(row[f"fails {where}"] > 0 for row in made) for where in ("at corners", "within"))
    print(f"\nOf {len(made)} sturdy plans {at} fail at a corner, {within} at a point within", end=" ")
    print(f"({sum(row['fails within'] for row in made)} of {POINTS * len(made)} points).")
    rest = Counter(row["lacks"].partition(" (")[0] for row in rows if not row["sturdy"])
    print(f"What is left of the others: {dict(rest.most_common())}")
    times = sorted(row["s"] for row in rows)
    print(f"{times[len(times) // 2]} s a plan in the median, {times[-1]} s at the most")


def main(plans: int = 200, first: int = 5000, file: str = ""):
    """Print a line for each plan, and the tables."""
    kept = Path(file).read_text().splitlines() if file and Path(file).exists() else []
    known = {row["seed"]: row for row in map(json.loads, kept)}
    taken: list[dict] = []
    left: Counter[str] = Counter()
    seed = first
    while len(taken) < plans:
        row = known.get(seed) or result(seed)
        if file and seed not in known:
            with Path(file).open("a") as out:
                out.write(json.dumps(row) + "\n")
        if "left out" in row:
            left[row["left out"]] += 1
        else:
            taken.append(row)
            print(said(row), flush=True)
        seed += 1
    print(f"\nSeeds {first} to {seed - 1}; left out: {dict(left)}")
    table(taken)


if __name__ == "__main__":
    main(*(int(x) for x in sys.argv[1:3]), *sys.argv[3:])
