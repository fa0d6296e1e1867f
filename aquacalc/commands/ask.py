"""`aquacalc ask`: one question of the design room, answered for a plan."""

from __future__ import annotations

import argparse
import json
from dataclasses import dataclass
from pathlib import Path

from aquacalc.commands.plans import load, set_argument, working_out
from aquacalc.failure import Failure

SUMMARY = "answer one question about a plan: how tall, how wide, how much"
EPILOG = (
    "Exit status: 0 answered (also when the answer is that there is none), 2 it could not be. The plan in "
    "the file stays as it is; --out writes the plan that follows from the answer to a new file."
)


@dataclass(frozen=True)
class Question:
    """A question: what it asks, the function that answers it, and its options {name: (kind, default)}."""

    asks: str
    room: str
    function: str
    options: dict[str, tuple[str, str]]


QUESTIONS = {
    "standpipe": Question("How tall can the standpipe be?", "sump", "tallest_standpipe", {}),
    "pump": Question(
        "What flow floods the beds so often?", "solve", "pump_flow_for", {"floods": ("number", "3")}
    ),
    "siphon": Question(
        "Which bore and lip start and stop at my flow?",
        "bore",
        "lip_and_bore",
        {"flow": ("flow", ""), "priming_head": ("length", "")},
    ),
    "drain": Question(
        "How wide does the drain line have to be?",
        "drains",
        "smallest_drain_line",
        {"difference": ("length", "30 mm"), "residual": ("length", "")},
    ),
    "strainer": Question(
        "How many slots or holes does a bed's strainer need?",
        "drains",
        "strainer_slots",
        {"bed": ("text", ""), "width": ("length", ""), "length": ("length", ""), "head": ("length", "")},
    ),
    "sump": Question("How small can the sump be?", "sump", "sump_size", {}),
    "readings": Question(
        "What do my stopwatch readings say?", "fit", "fit", {"readings": ("sheet of readings, filled in", "")}
    ),
    "chances": Question("How likely is it to work?", "chances", "study", {"size": ("number", "")}),
    "sturdy": Question("What makes it work wherever the truth lies?", "sturdy", "sturdy", {}),
}


def arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    asked = "; ".join(f"{name}: {q.asks}" for name, q in QUESTIONS.items())
    parser.epilog = EPILOG
    parser.add_argument(
        "question", metavar="QUESTION", choices=tuple(QUESTIONS), help=asked.replace("%", "%%")
    )
    parser.add_argument("plan", metavar="PLAN.toml", type=Path, help="the plan; see `aquacalc keys`")
    for name, (kind, default) in {k: v for q in QUESTIONS.values() for k, v in q.options.items()}.items():
        users = ", ".join(n for n, q in QUESTIONS.items() if name in q.options)
        usual = f", {default} when left out" if default else ""
        parser.add_argument(f"--{name.replace('_', '-')}", metavar="VALUE", help=f"{users}: a {kind}{usual}")
    set_argument(parser)
    parser.add_argument("--json", action="store_true", help="print JSON for programs")
    parser.add_argument("--out", metavar="FILE.toml", type=Path, help="write the plan that follows")
    parser.add_argument("--force", action="store_true", help="let --out replace a file")


def run(args: argparse.Namespace) -> int:
    """Answer the question; 0."""
    import importlib

    from aquacalc import units
    from aquacalc.plan.differences import differences
    from aquacalc.plan.write import save_plan

    asked = QUESTIONS[args.question]
    for name in {n for q in QUESTIONS.values() for n in q.options} - set(asked.options):
        if getattr(args, name) is not None:
            raise Failure(
                f'--{name.replace("_", "-")}: does not belong to "{args.question}". Fix: leave it out.'
            )
    plan = load(args.plan, args.changes, args.json)
    given = {}
    for name, (kind, default) in asked.options.items():
        text = getattr(args, name) or default
        try:
            if text:
                given[name] = (
                    text if kind not in units.KINDS else units.read(text, kind, f"--{name.replace('_', '-')}")
                )
        except units.UnitError as error:
            raise Failure(f"{error}") from None
    if args.question == "strainer":
        given.setdefault("bed", plan.beds[0].name)
        bare = any(bed.name == given["bed"] and bed.strainer is None for bed in plan.beds)
        if bare and not {"width", "length"} <= set(given):
            raise Failure(
                f"{args.plan}: {given['bed']} has no strainer yet. Fix: say how large a slot is, "
                '--width "3 mm" --length "25 mm".'
            )
    if args.question == "readings":
        given = {"readings": _readings(args, plan)}
    if "size" in given:
        given["size"] = int(given["size"])
    try:
        with working_out(args.plan):
            answer = getattr(importlib.import_module(f"aquacalc.design.{asked.room}"), asked.function)(
                plan, **given
            )
    except (ValueError, LookupError) as error:
        raise Failure(f"{args.plan}: {error.args[0] if error.args else error}") from None
    said = "\n".join(getattr(answer, "said", ())) or answer.text
    changes = differences(plan, answer.plan) if answer.plan else {}
    if args.out and answer.plan:
        save_plan(answer.plan, args.out, args.force)
    if args.json:
        told = {"said": list(answer.said)} if hasattr(answer, "said") else _as_dict(answer)
        told["changes"] = {path: {"before": b, "after": a} for path, (b, a) in changes.items()}
        print(json.dumps(told, indent=2, ensure_ascii=False))
        return 0
    print(said)
    if changes:
        print("\nThe plan that follows has:")
        print(
            "\n".join(
                f"  {path}: {after}  (now {before or 'nothing'})" for path, (before, after) in changes.items()
            )
        )
        print(f"Written: {args.out.resolve()}" if args.out else "Add --out FILE.toml to keep it.")
    return 0


def _readings(args: argparse.Namespace, plan):
    """Read the sheet of readings."""
    from aquacalc.notebook.saved_readings import read_readings
    from aquacalc.plan.errors import PlanError

    if args.readings is None:
        raise Failure(
            "--readings is missing. Fix: name the sheet readings.csv that the build wrote, filled in."
        )
    try:
        return read_readings(args.readings, plan.siphons[0].name)
    except PlanError as error:
        raise Failure(str(error)) from None


def _as_dict(answer) -> dict:
    """Return the answer for JSON; numbers in SI units, limits that bound nothing without a number."""
    import math

    limits = [
        {
            "name": limit.name,
            "bound": limit.bound if math.isfinite(limit.bound) else None,
            "direction": "at most" if limit.most else "at least",
            "text": limit.text(answer.kind, answer.system),
        }
        for limit in answer.limits
    ]
    return {
        "question": answer.question,
        "kind": answer.kind,
        "exact": answer.exact,
        "real": answer.real,
        "real_text": answer.real_text,
        "binding": answer.binding,
        "conflict": answer.conflict,
        "limits": limits,
        "steps": list(answer.steps),
    }
