"""`aquacalc compare`: two plans side by side, only what differs."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from aquacalc.commands.plans import load, set_argument, working_out
from aquacalc.failure import Failure

SUMMARY = "put two plans side by side: verdicts, times, levels and parts that differ"
EPILOG = (
    "Without a second plan, the plan is compared with itself after --set. Exit status: that of a report on "
    "the second plan (0 works, 3 may or may not, 1 does not); 2 it could not be read."
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("plan", metavar="A.toml", type=Path, help="the first plan")
    parser.add_argument("other", metavar="B.toml", type=Path, nargs="?", help="the second plan")
    set_argument(parser)
    parser.add_argument("--json", action="store_true", help="print JSON for programs")


def run(args: argparse.Namespace) -> int:
    """Compare; the exit status says whether the second plan works."""
    from aquacalc.findings import EXIT_STATUS, find, verdict
    from aquacalc.plan.differences import differences
    from aquacalc.results.cycle import run_plan

    if args.other is None and not args.changes:
        raise Failure("there is nothing to compare with. Fix: name a second plan, or give --set KEY=VALUE.")
    first = load(args.plan, (), args.json)
    second = load(args.other or args.plan, args.changes, args.json)
    results = []
    for path, plan in ((args.plan, first), (args.other or args.plan, second)):
        with working_out(path):
            results.append(_results(run_plan(plan, trace=False), first.units))
    values = differences(first, second)
    found = [
        (name, *(side.get(name, "") for side in results))
        for name in dict.fromkeys([*results[0], *results[1]])
    ]
    found = [row for row in found if row[1] != row[2]]
    with working_out(args.other or args.plan):
        status = EXIT_STATUS[verdict(find(run_plan(second, trace=False)))]
    if args.json:
        pairs = {"values": [(k, *v) for k, v in values.items()], "results": found}
        print(
            json.dumps(
                {part: {n: {"a": a, "b": b} for n, a, b in rows} for part, rows in pairs.items()},
                indent=2,
                ensure_ascii=False,
            )
        )
        return status
    a, b = str(args.plan), str(args.other) if args.other else "with --set"
    for title, rows in (
        ("Values that differ", [(k, *v) for k, v in values.items()]),
        ("What they do", found),
    ):
        print(f"{title}\n{'-' * len(title)}")
        print(_table([("", a, b), *rows]) if rows else "no difference")
        print()
    return status


def _results(run, system: str) -> dict[str, str]:
    """Return what a plan does as {what: text}, in the units of `system`."""
    from aquacalc.buildsheet.materials import fitting_counts
    from aquacalc.findings import find, verdict
    from aquacalc.units import show

    findings = find(run, system)
    found = {"verdict": verdict(findings)}
    for group in run.groups:
        found[f"{group.name}: outcome"] = group.outcome
        if group.outcome == "cycles":
            found[f"{group.name}: one cycle"] = show(group.period, "time", system)
            found[f"{group.name}: fills in"] = show(group.fill_time, "time", system)
            found[f"{group.name}: drains in"] = show(group.drain_time, "time", system)
            found[f"{group.name}: floods an hour"] = f"{3600.0 / group.period:.1f}"
    for node in run.nodes:
        if not node.junction:
            found[f"{node.name}: highest water"] = show(node.high, "elevation", system)
            found[f"{node.name}: lowest water"] = show(node.low, "elevation", system)
    found["sump: highest water"] = show(run.sump_high, "elevation", system)
    found["sump: lowest water"] = show(run.sump_low, "elevation", system)
    for finding in findings:
        name = f"{finding.title} ({finding.subject})"
        found[name] = f"{finding.state}: {finding.shown(system)}".rstrip(": ")
    for (item, series, size), count in sorted(fitting_counts(run.plan).items()):
        found[f"part: {' '.join(filter(None, (item, series, size)))}"] = str(count)
    return found


def _table(rows: list[tuple[str, str, str]]) -> str:
    """Set rows in columns."""
    widths = [max(len(row[i]) for row in rows) for i in (0, 1)]
    return "\n".join(f"{n:<{widths[0]}}  {a:<{widths[1]}}  {b}".rstrip() for n, a, b in rows)
