"""`aquacalc ask`: one question about a plan, answered."""

from __future__ import annotations

import argparse
import importlib
import inspect
import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from aquacalc.commands.plans import load, set_argument, working_out
from aquacalc.commands.told import Table, Told, form_arguments, tell
from aquacalc.failure import Failure

SUMMARY = "answer one question about a plan: how tall, how wide, how much, what is wrong"
EPILOG = (
    "Exit status: 0 answered (also when the answer is that there is none), 2 it could not be. The plan in "
    "the file stays as it is; --out writes the plan that follows from the answer to a new file."
)


@dataclass(frozen=True)
class Question:
    """A question: what it asks, the function that answers it, its options {name: (kind, default)}.

    `many` says that it runs hundreds of plans, for which the solver is compiled once.
    """

    asks: str
    function: str
    options: dict[str, tuple[str, str]] = field(default_factory=dict)
    many: bool = False


#: Signs of trouble: the keys of `aquacalc.design.trouble.SIGNS`, said here so that the help loads nothing.
SEEN = (
    "never starts", "never stops", "never fills", "fills slowly", "fills fast", "drains slowly",
    "drains fast", "stays wet", "floods unevenly", "bed overflows", "sump overflows", "pump draws air",
)  # fmt: skip
#: Options that may be given more than once.
LISTS = ("over", "seen", "top", "left")
QUESTIONS = {
    "standpipe": Question(
        "How tall can the standpipe be?", "sump.tallest_standpipe", {"siphon": ("name", "")}, many=True
    ),
    "pump": Question(
        "What flow floods the beds so often?",
        "pump_flow.pump_flow_for",
        {"floods": ("number", "3"), "siphon": ("name", "")},
        many=True,
    ),
    "siphon": Question(
        "Which bore and lip start and stop at my flow?",
        "bore.lip_and_bore",
        {"flow": ("flow", ""), "priming_head": ("length", ""), "siphon": ("name", "")},
    ),
    "drain": Question(
        "How wide does the drain line have to be?",
        "drains.smallest_drain_line",
        {"difference": ("length", "30 mm"), "residual": ("length", ""), "siphon": ("name", "")},
    ),
    "strainer": Question(
        "How many slots or holes does a bed's strainer need?",
        "drains.strainer_slots",
        {"bed": ("text", ""), "width": ("length", ""), "length": ("length", ""), "head": ("length", "")},
    ),
    "sump": Question("How small can the sump be?", "sump.sump_size"),
    "fit": Question(
        "What do my stopwatch readings say?",
        "fit.fit",
        {"readings": ("sheet of readings, filled in", ""), "siphon": ("name", "")},
    ),
    "chances": Question("How likely is it to work?", "chances.study", {"size": ("number", "")}, many=True),
    "sturdy": Question(
        "What makes it work even if your guesses are off?",
        "sturdy.sturdy",
        {"workshop": ("file of pipe and prices that you have, as for build", "")},
        many=True,
    ),
    "trouble": Question(
        "What is wrong with it, and what do I look at first?",
        "trouble.trouble",
        {
            "seen": ("sign, once or more: " + ", ".join(SEEN), ""),
            "fill": ("time", ""),
            "drain": ("time", ""),
            "jug": ("flow", ""),
            "top": ('"BED=LENGTH", dry at the top', ""),
            "left": ('"BED=LENGTH", water left on the floor', ""),
            "siphon": ("name", ""),
        },
        many=True,
    ),
    "upkeep": Question(
        "How often do I look and clean, and what ages how far?",
        "keeping.upkeep",
        {"siphon": ("name", "")},
        many=True,
    ),
    "water": Question("How much water do I need, and where do I fill to?", "keeping.water"),
    "powercut": Question("What does a power cut do?", "keeping.power_cut"),
    "even": Question("How do I even out beds that flood unevenly?", "keeping.even"),
    "bed": Question("What changes when I add a bed?", "keeping.another_bed"),
    "map": Question(
        "Over which values does it work?",
        "sweep.sweep",
        {"over": ('"KEY=LOW to HIGH", once or twice', ""), "steps": ("number", "15")},
        many=True,
    ),
}


def arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    asked = "\n".join(f"  {name:<10} {q.asks}" for name, q in QUESTIONS.items())
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.description = f"{SUMMARY.capitalize()}.\n\nquestions:\n{asked}"
    parser.epilog = EPILOG
    parser.add_argument("question", metavar="QUESTION", choices=tuple(QUESTIONS), help="one of the above")
    parser.add_argument("plan", metavar="PLAN.toml", type=Path, help="the plan; see `aquacalc keys`")
    for name, (kind, default) in {k: v for q in QUESTIONS.values() for k, v in q.options.items()}.items():
        users = ", ".join(n for n, q in QUESTIONS.items() if name in q.options)
        usual = f", {default} when left out" if default else ""
        parser.add_argument(
            f"--{name.replace('_', '-')}",
            metavar="VALUE",
            action="append" if name in LISTS else "store",
            help=f"{users}: a {kind}{usual}",
        )
    set_argument(parser)
    form_arguments(parser)
    parser.add_argument("--out", metavar="FILE.toml", type=Path, help="write the plan that follows")
    parser.add_argument("--force", action="store_true", help="let --out and --html replace a file")


def run(args: argparse.Namespace) -> int:
    """Answer the question; 0."""
    from aquacalc.files import check_target
    from aquacalc.plan.differences import differences
    from aquacalc.plan.write import save_plan

    asked = QUESTIONS[args.question]
    for name in {n for q in QUESTIONS.values() for n in q.options} - set(asked.options):
        if getattr(args, name) is not None:
            raise Failure(
                f'--{name.replace("_", "-")}: does not belong to "{args.question}". Fix: leave it out.'
            )
    plan = load(args.plan, args.changes, args.json)
    if args.html:
        check_target(args.html, source=args.plan, force=args.force, ours=True)
    if args.out:
        check_target(args.out, source=args.plan, force=args.force)
    given = _given(args, asked, plan)
    room, _, function = asked.function.partition(".")
    try:
        with working_out(args.plan, asked.many) as progress:
            answerer = getattr(importlib.import_module(f"aquacalc.design.{room}"), function)
            if "progress" in inspect.signature(answerer).parameters:
                given["progress"] = progress
            answer = answerer(plan, **given)
            told, follows = TELLERS.get(args.question, _told)(asked, plan, answer, given)
    except (ValueError, LookupError) as error:
        raise Failure(f"{args.plan}: {error.args[0] if error.args else error}") from None
    if args.out and follows:
        save_plan(follows, args.out, args.force)
    changes = differences(plan, follows) if follows else {}
    if changes:
        note = f"Written: {args.out.resolve()}" if args.out else "Add --out FILE.toml to keep it."
        rows = tuple(
            (path, before or "nothing", after or "nothing") for path, (before, after) in changes.items()
        )
        kept = Table("The plan that follows", ("", "now", "then"), rows, note=note)
        told = replace(told, tables=(*told.tables, kept))
    told.data["changes"] = {path: {"before": b, "after": a} for path, (b, a) in changes.items()}
    tell(told, args, args.plan)
    return 0


def _given(args: argparse.Namespace, asked: Question, plan) -> dict[str, Any]:
    """Read the options of a question, and refuse what lacks."""
    from aquacalc.units import KINDS

    given: dict[str, Any] = {}
    for name, (kind, default) in asked.options.items():
        text = getattr(args, name) or default
        if text:
            given[name] = text if kind not in KINDS else _value(text, kind, f"--{name.replace('_', '-')}")
    for whole in ("size", "steps"):
        if whole in given:
            if given[whole] != int(given[whole]):
                raise Failure(f"--{whole}: {given[whole]:g} is not a whole number. Fix: write one.")
            given[whole] = int(given[whole])
    if args.question == "strainer":
        given.setdefault("bed", plan.beds[0].name)
        bare = any(bed.name == given["bed"] and bed.strainer is None for bed in plan.beds)
        if bare and not {"width", "length"} <= set(given):
            raise Failure(
                f"{args.plan}: {given['bed']} has no strainer yet. Fix: say how large a slot is, "
                '--width "3 mm" --length "25 mm".'
            )
    if "siphon" in asked.options and len(plan.siphons) > 1 and "siphon" not in given:
        named = ", ".join(f'"{siphon.name}"' for siphon in plan.siphons)
        raise Failure(f"{args.plan}: has several siphons. Fix: say which with --siphon, one of {named}.")
    if args.question == "fit":
        given["readings"] = _readings(args, plan)
    if args.question == "trouble":
        given = {"seen": _seen(given)} | {k: v for k, v in given.items() if k == "siphon"}
    if "workshop" in given:
        given = _workshop(Path(given["workshop"]))
    if args.question == "map":
        given = {"values": _axes(plan, given), "findings": True}
    return given


def _value(text: str, kind: str, what: str, zero: bool = False) -> float:
    """Read a quantity, and refuse what no plan could have; nothing at all only where it may be `zero`."""
    from aquacalc import units
    from aquacalc.plan.check import range_problem
    from aquacalc.plan.key import Key

    try:
        value = units.read(text, kind, what)
    except units.UnitError as error:
        raise Failure(f"{error}") from None
    high = math.inf if what == "--size" else None
    problem = range_problem(Key(what, kind, "", "", zero=zero, high=high), value)
    if problem:
        raise Failure(f"{what} {text}: {problem[0]}. Fix: {problem[1]}.")
    return value


def _readings(args: argparse.Namespace, plan):
    """Read the sheet of readings."""
    from aquacalc.notebook.saved_readings import read_readings
    from aquacalc.plan.errors import PlanError

    if args.readings is None:
        raise Failure(
            "--readings is missing. Fix: name the sheet readings.csv that the build wrote, filled in."
        )
    try:
        return read_readings(args.readings, args.siphon or plan.siphons[0].name)
    except PlanError as error:
        raise Failure(str(error)) from None


def _seen(given: dict):
    """Put signs and readings of trouble together."""
    from aquacalc.design.trouble import ALSO, Seen

    readings = {(what, ""): given[what] for what in ("fill", "drain", "jug") if what in given}
    for what in ("top", "left"):
        for text in given.get(what, ()):
            bed, _, value = text.rpartition("=")
            readings[what, bed.strip()] = _value(value.strip(), "length", f"--{what}")
    signs = [one.strip().casefold() for one in given.get("seen", ())]
    return Seen(tuple(ALSO.get(sign, sign) for sign in signs), readings)


def _workshop(path: Path) -> dict[str, Any]:
    """Read what the grower has: series and size of the pipe there is, and what a plan's parts cost."""
    from aquacalc.buildsheet.cut_list import cut_list
    from aquacalc.buildsheet.drilling import drilling
    from aquacalc.buildsheet.materials import bill
    from aquacalc.buildsheet.stock import WorkshopError, read_workshop

    try:
        workshop = read_workshop(path)
    except WorkshopError as error:
        raise Failure(str(error)) from None

    def costs(plan):
        found = bill(plan, cut_list(plan, workshop), drilling(plan, workshop), workshop.prices)
        return found.total, found.currency

    stock = {(s.series, s.size) for s in workshop.stock if s.owned or s.offcuts}
    return {"stock": stock} | ({"costs": costs} if workshop.prices.lines else {})


def _axes(plan, given: dict) -> dict[str, list[float]]:
    """Read --over into values by path."""
    from aquacalc.plan import edit

    over, steps = given.get("over") or [], given["steps"]
    form = 'write --over "pump.flow=10 to 30 L/min", once or twice'
    if not 1 <= len(over) <= 2:
        raise Failure(f"--over: {len(over)} values given. Fix: {form}.")
    if not 2 <= steps <= 60:
        raise Failure(f"--steps {steps}: cannot be drawn. Fix: give a whole number from 2 to 60.")
    found: dict[str, list[float]] = {}
    for text in over:
        path, _, ends = text.partition("=")
        low, middle, high = (part.strip() for part in ends.partition(" to "))
        if not (low and middle and high):
            raise Failure(f'--over "{text}": is not a range. Fix: {form}.')
        try:
            kind = edit.kind_of(plan, path.strip())
        except (LookupError, TypeError) as error:
            raise Failure(f"--over {error.args[0] if error.args else error}") from None
        unit = re.sub(r"^[-+\d., /]*(e[-+]?\d+)?\s*", "", high)
        ends = (x if x[-1].isalpha() or x[-1] == "%" else f"{x} {unit}" for x in (low, high))
        a, b = (_value(end, kind, f"--over {path.strip()}", zero=True) for end in ends)
        if not a < b:
            raise Failure(f'--over "{text}": falls. Fix: write the smaller value first.')
        found[path.strip()] = [a + (b - a) * k / (steps - 1) for k in range(steps)]
    return found


def _told(asked: Question, plan, answer, given: dict) -> tuple[Told, object]:
    """Tell an `Answer`; numbers of its data in SI units, limits that bound nothing without a number."""
    limits = [
        {
            "name": limit.name,
            "bound": limit.bound if math.isfinite(limit.bound) else None,
            "direction": "at most" if limit.most else "at least",
            "text": limit.text(answer.kind, answer.system),
        }
        for limit in answer.limits
    ]
    keys = ("question", "kind", "exact", "real", "real_text", "binding", "conflict")
    data = {k: getattr(answer, k) for k in keys} | {"limits": limits, "steps": list(answer.steps)}
    title, *lines = answer.text.splitlines()
    return Told(title, tuple(lines), data=data), answer.plan


def _told_said(asked: Question, plan, answer, given: dict) -> tuple[Told, object]:
    """Tell what has its sentences: a fit, a study."""
    follows = answer.plan if answer.complete and answer.plan != plan else None
    return Told(
        asked.asks, tuple(answer.said), data={"question": asked.asks, "said": list(answer.said)}
    ), follows


#: What stands in a map of text for each verdict.
SIGNS = {"works": "#", "may or may not": "?", "does not": ".", "cannot be built": "x"}


def _told_map(asked: Question, plan, table, given: dict) -> tuple[Told, object]:
    """Tell a sweep: a row for each of the one value, or a map of signs over two."""
    from aquacalc.plan import edit
    from aquacalc.units import show

    if table.empty:
        raise Failure("stopped before the first plans were run.")
    paths = list(given["values"])
    kinds = [edit.kind_of(plan, path) for path in paths]
    table = table.reindex(
        columns=table.columns.union(("verdict", "worst"), sort=False)
    )  # if none can be built
    verdicts = [v if isinstance(v, str) else "cannot be built" for v in table["verdict"]]
    worst = [
        w if isinstance(w, str) else r for w, r in zip(table.get("worst", ""), table["reason"], strict=True)
    ]
    counts = {v: verdicts.count(v) for v in SIGNS if v in verdicts}
    words = {"works": "work", "may or may not": "may or may not work", "does not": "do not work"}
    said = ", ".join(f"{count} {words.get(v, v)}" for v, count in counts.items())
    whole = table.attrs["complete"]
    early = "" if whole else f"Stopped early, with {len(verdicts)} of {table.attrs['plans']} plans run."
    lines = tuple(filter(None, (early, f"Of {len(verdicts)} plans {said}.")))
    rows = [{p: table[p].iloc[k] for p in paths} | {"verdict": v, "worst": w}
            for k, (v, w) in enumerate(zip(verdicts, worst, strict=True))]  # fmt: skip
    data = {"question": asked.asks, "counts": counts, "plans": rows}
    if len(paths) == 1:
        told = tuple((show(r[paths[0]], kinds[0], plan.units), r["verdict"], r["worst"]) for r in rows)
        return Told(
            asked.asks, lines, (Table("Each plan", (paths[0], "verdict", "worst"), told),), data
        ), None
    from aquacalc.figures.plan_map import plan_map

    across, up = (given["values"][path] for path in paths)
    texts = [show(value, kinds[1], plan.units) for value in up]
    wide = max(map(len, texts))
    drawing = ["", f"{paths[1]} up, {paths[0]} across"]
    for k in reversed(range(len(up))):
        signs = " ".join(SIGNS[v] for v in verdicts[k :: len(up)])
        drawing.append(f"{texts[k]:>{wide}}  {signs}")
    ends = [show(value, kinds[0], plan.units) for value in (across[0], across[-1])]
    gap = max(2 * len(across) - 1 - len(ends[0]) - len(ends[1]), 1)
    drawing.append(" " * (wide + 2) + ends[0] + " " * gap + ends[1])
    drawing.append("# works   ? may or may not   . does not   x cannot be built")
    if not whole:
        return Told(asked.asks, lines, (), data, drawing=tuple(drawing)), None
    picture = plan_map(table, plan, plan.units)
    return Told(asked.asks, lines, (), data, picture.svg("map"), picture.alt, tuple(drawing)), None


TELLERS: dict[str, Callable] = {"fit": _told_said, "chances": _told_said, "map": _told_map}
