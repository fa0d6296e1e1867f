"""`aquacalc compare`: two plans side by side, only what differs."""

from __future__ import annotations

import argparse
from pathlib import Path

from aquacalc.commands.plans import load, set_argument, working_out
from aquacalc.commands.told import Table, Told, form_arguments, tell
from aquacalc.failure import Failure

SUMMARY = "put two plans side by side: verdict, times, levels, parts and cost that differ"
EPILOG = (
    "Without a second plan, the plan is compared with itself after --set. Exit status: that of a report on "
    "the second plan (0 works, 3 may or may not, 1 does not); 2 it could not be read."
)
#: A verdict as a clause.
WORDS = {"works": "it works", "may or may not": "it may or may not work", "does not": "it does not work"}


def arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("plan", metavar="A.toml", type=Path, help="the first plan")
    parser.add_argument("other", metavar="B.toml", type=Path, nargs="?", help="the second plan")
    set_argument(parser)
    parser.add_argument(
        "--workshop", metavar="FILE", type=Path, help="TOML file of what you have, and your prices"
    )
    form_arguments(parser)


def run(args: argparse.Namespace) -> int:
    """Compare; the exit status says whether the second plan works."""
    from aquacalc.buildsheet.stock import Workshop, read_workshop
    from aquacalc.findings import EXIT_STATUS
    from aquacalc.plan.differences import differences

    if args.other is None and not args.changes:
        raise Failure("there is nothing to compare with. Fix: name a second plan, or give --set KEY=VALUE.")
    first = load(args.plan, (), args.json)
    second = load(args.other or args.plan, args.changes, args.json)
    with working_out(args.other or args.plan):
        workshop = read_workshop(args.workshop) if args.workshop else Workshop()
        sides = [side_by_side(plan, first.units, workshop) for plan in (first, second)]
    a, b = args.plan.stem, args.other.stem if args.other else "with --set"
    data, tables = {}, []
    pairs = {"Values": list(differences(first, second).items())}
    pairs |= {part: _pairs(*(side[part] for side in sides)) for part in sides[0]}
    for part, rows in pairs.items():
        data[part.lower()] = {name: {"a": x, "b": y} for name, (x, y) in rows}
        if rows or part == "Values" or (part == "Cost" and args.workshop):
            tables.append(Table(part, ("", a, b), tuple((name, x or "-", y or "-") for name, (x, y) in rows)))
    verdicts = [side["Verdict"]["verdict"] for side in sides]
    lines = tuple(f"{name}: {WORDS[found]}." for name, found in zip((a, b), verdicts, strict=True))
    tell(Told(f"{a} and {b}", lines, tuple(tables), data), args, args.plan)
    return EXIT_STATUS[verdicts[1]]


def _pairs(one: dict[str, str], other: dict[str, str]) -> list[tuple[str, tuple[str, str]]]:
    names = dict.fromkeys([*one, *other])
    return [(n, (one.get(n, ""), other.get(n, ""))) for n in names if one.get(n, "") != other.get(n, "")]


def side_by_side(plan, system: str, workshop) -> dict[str, dict[str, str]]:
    """Return what a plan does, needs and costs, in parts, as {what: text} in the units of `system`."""
    from aquacalc.buildsheet.cut_list import cut_list
    from aquacalc.buildsheet.drilling import drilling
    from aquacalc.buildsheet.materials import bill
    from aquacalc.findings import find, verdict
    from aquacalc.results.cycle import run_plan
    from aquacalc.units import show

    result = run_plan(plan, trace=False)
    findings = find(result, system)
    times: dict[str, str] = {}
    for group in result.groups:
        times[f"{group.name}: outcome"] = group.outcome
        if group.outcome == "cycles":
            times[f"{group.name}: fills and starts in"] = show(
                group.period - group.drain_time, "time", system
            )
            times[f"{group.name}: drains in"] = show(group.drain_time, "time", system)
            times[f"{group.name}: floods an hour"] = f"{3600.0 / group.period:.1f}"
    levels = {
        f"{node.name}: {word} water": show(level, "elevation", system)
        for node in (result.node(vessel.name) for vessel in plan.vessels)
        for word, level in (("highest", node.high), ("lowest", node.low))
    }
    levels |= {
        "sump: highest water": show(result.sump_high, "elevation", system),
        "sump: lowest water": show(result.sump_low, "elevation", system),
    }
    found = {
        f"{f.title} ({f.subject})": f"{f.state}: {f.shown(system)}".rstrip(": ")
        for f in findings
        if f.state != "good"
    }
    bought = bill(plan, cut_list(plan, workshop), drilling(plan, workshop), workshop.prices)
    parts = {
        " ".join(filter(None, (i.item, i.series, i.size))): f"{i.quantity} {i.unit}".removesuffix(" each")
        for i in bought.items
    }
    cost = {}
    if workshop.prices.lines:
        cost = {"total": f"{bought.total} {bought.currency}", "lines without a price": str(bought.unpriced)}
    return {
        "Verdict": {"verdict": verdict(findings)},
        "Times": times,
        "Levels": levels,
        "Findings": found,
        "Parts": parts,
        "Cost": cost,
    }
