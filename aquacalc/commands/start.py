"""`aquacalc start`: a first plan from eight questions, its report, and what to measure first."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from pathlib import Path

from aquacalc.commands.plans import working_out
from aquacalc.failure import Failure

SUMMARY = "make a first plan from eight questions, and say what it does"
EPILOG = (
    "Press Enter for the usual answer, or write ? when you do not know: both are marked as assumed in the "
    "plan. With --yes, --answers, or answers as options, nothing is asked. Nothing that is there is written "
    "over. Exit status as `aquacalc report`: 0 works, 3 may or may not, 1 does not; 2 nothing was written."
)
#: Assumptions named at the end.
NAMED = 3


def arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    from aquacalc.design.start import QUESTIONS

    parser.epilog = EPILOG
    parser.add_argument(
        "--out",
        metavar="PLAN.toml",
        type=Path,
        default=Path("my-plan.toml"),
        help="the file to write (my-plan.toml)",
    )
    parser.add_argument(
        "--units", choices=("metric", "us"), help="units of plan and report; else those of the answers"
    )
    parser.add_argument(
        "--answers",
        metavar="FILE",
        type=Path,
        help='answers from a file instead, a line each: beds = 3, length = "1.2 m"',
    )
    parser.add_argument(
        "--yes", action="store_true", help="ask nothing; take the usual answer where none is given"
    )
    for question in QUESTIONS:
        parser.add_argument(f"--{question.name}", metavar="ANSWER", help=question.asks.lower())


def run(args: argparse.Namespace) -> int:
    """Ask, write, report; the exit status says whether the plan works."""
    from aquacalc.design.closest import MEASURE, worth_measuring
    from aquacalc.design.start import QUESTIONS, UNKNOWN, plan_text
    from aquacalc.files import check_target
    from aquacalc.findings import EXIT_STATUS
    from aquacalc.plan.read import plan_from_text
    from aquacalc.plan.write import save_plan
    from aquacalc.report.content import build_report
    from aquacalc.report.text import text

    if args.out.exists():
        raise Failure(f"{args.out}: there already; nothing was asked. Fix: name another file with --out.")
    check_target(args.out)
    answers = _from_file(args.answers, [q.name for q in QUESTIONS]) if args.answers else {}
    answers |= {q.name: getattr(args, q.name) for q in QUESTIONS if getattr(args, q.name) is not None}
    system = args.units or _system(answers.values())
    for question in QUESTIONS:
        given = answers.get(question.name)
        if given is not None and given.strip().casefold() not in UNKNOWN:
            _readable(question, given, True)
    if not (args.yes or args.answers or answers):
        answers = _asked(QUESTIONS, system)
    with working_out(args.out):
        plan = plan_from_text(plan_text(answers, system), str(args.out))
        report = build_report(plan)
    save_plan(plan, args.out)
    print(text(report))
    print("Trying what the plan assumes ...", file=sys.stderr, flush=True)
    with working_out(args.out):
        found = worth_measuring(plan)
    print("Measure these first\n-------------------")
    for number, turn in enumerate(found[:NAMED], 1):
        print(f"{number}. {turn.says}\n   {MEASURE[turn.name.split()[0]]}")
    if len(found) < NAMED:
        print(f"Nothing {'else ' if found else ''}changes the verdict within its usual range.")
    print(f"\nYour plan: {args.out.resolve()}")
    print(f"Change what is assumed there, then: python -m aquacalc report {args.out}")
    return EXIT_STATUS[report.verdict]


def _system(texts: Iterable[str]) -> str:
    """Return the units that most answers are written in; metric where as many are in either."""
    from aquacalc.units import KINDS

    us, metric = ({getattr(kind, name) for kind in KINDS.values()} for name in ("us", "metric"))
    written = [text.split()[-1] for text in texts if text.split()]
    return "us" if sum((u in us) - (u in metric) for u in written) > 0 else "metric"


def _from_file(path: Path, names: list[str]) -> dict[str, str]:
    """Read a file of answers; every name that is not one is told at once."""
    from aquacalc import catalogue
    from aquacalc.plan.text import read_text, read_toml

    with working_out(path):
        raw = read_toml(read_text(path, what="a file of answers"), str(path))
    wrong = [
        f"{path}: {name}: is not a question. Fix: "
        + catalogue.suggestion(catalogue.near_matches(name, names), names)
        for name in raw
        if name not in names
    ]
    if wrong:
        raise Failure("\n".join(wrong))
    return {name: str(value) for name, value in raw.items()}


def _asked(questions, system: str) -> dict[str, str]:
    """Ask each question until its answer can be read."""
    from aquacalc.design.start import UNKNOWN

    print(f"{len(questions)} questions. Enter takes the usual answer, ? says that you do not know.\n")
    answers = {}
    for number, question in enumerate(questions, 1):
        while True:
            print(
                f"{number}/{len(questions)} {question.asks} [{question.usual[system]}]\n    ({question.why})"
            )
            try:
                text = input("    > ")
            except EOFError:
                raise Failure(
                    "the answers ended before the questions; nothing was written. Fix: add --yes."
                ) from None
            if text.strip().casefold() in UNKNOWN:
                break
            problem = _readable(question, text, False)
            if not problem:
                answers[question.name] = text
                break
            print(f"    {problem}")
    print()
    return answers


def _readable(question, text: str, sure: bool) -> str:
    """Say what is wrong with an answer, "" when nothing is; with `sure` that ends the command."""
    from aquacalc.design.start import read_answer

    try:
        read_answer(question, text)
    except (ValueError, LookupError) as error:
        if sure:
            raise Failure(f"--{question.name}: {error}") from None
        return str(error)
    return ""
