"""`aquacalc report`: run a plan and say what it does."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from aquacalc.commands.plans import load, set_argument, working_out

SUMMARY = "run a plan and report what it does"
EPILOG = (
    "Exit status: 0 the plan works, 3 it may or may not, 1 it does not, 2 it could not be read (or the page "
    "not written). "
    "--html replaces a page that aquacalc wrote before; any other file that is there is left alone unless "
    "--force is given. Nothing is written when the plan cannot be read."
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("plan", metavar="PLAN.toml", type=Path, help="the plan; see `aquacalc keys`")
    set_argument(parser)
    parser.add_argument(
        "--json", action="store_true", help="print JSON for programs; see `aquacalc keys --report`"
    )
    parser.add_argument(
        "--html",
        metavar="FILE",
        type=Path,
        help="write a page with sliders, pictures and worked calculations that opens offline",
    )
    parser.add_argument(
        "--still", action="store_true", help="with --html: no sliders, so that the page runs no script"
    )
    parser.add_argument("--force", action="store_true", help="let --html replace any file")


def run(args: argparse.Namespace) -> int:
    """Report on the plan; the exit status says whether it works."""
    from aquacalc.files import check_target, write_file

    plan = load(args.plan, args.changes, args.json)
    if args.html:
        check_target(args.html, source=args.plan, force=args.force, ours=True)

    from aquacalc.design.advice import PAGE_RUNS, TEXT_RUNS
    from aquacalc.findings import EXIT_STATUS
    from aquacalc.report.content import build_report
    from aquacalc.report.text import text, verdict

    with working_out(args.plan):
        report = build_report(plan, PAGE_RUNS if args.html else TEXT_RUNS)
    if args.html:
        from aquacalc.report.html import page

        live: tuple = ()
        if not args.still:
            from aquacalc.live.page import SCRIPTS, SYSTEMS, live_plan, switched

            with working_out(args.plan):
                parts = {of: live_plan(plan, of, still=False) for of in SYSTEMS}
            live = (switched(parts, plan.units), SCRIPTS)
        write_file(args.html, page(report, *live), source=args.plan, force=args.force, ours=True)
        print(
            f"{verdict(report)} Page written: {args.html.resolve()}",
            file=sys.stderr if args.json else sys.stdout,
        )
    if args.json:
        from aquacalc.report.as_json import as_json

        print(as_json(report), end="")
    elif not args.html:
        print(text(report), end="")
    return EXIT_STATUS[report.verdict]
