"""`aquacalc build`: what to cut, drill and buy, in what order, for bench and spreadsheet."""

from __future__ import annotations

import argparse
from pathlib import Path

from aquacalc.commands.plans import load, set_argument, working_out

SUMMARY = "write the cut list, drilling schedule, bill of materials, drawings and steps of a plan"
EPILOG = (
    "Writes CSV tables, one HTML page, and PDF and SVG on A4 and Letter into DIR. Exit status: 0 the plan "
    "works and can be put together, 3 it may or may not work, 1 it does not work or does not fit together "
    "(the files are written all the same), 2 it could not be read or the files not written. Nothing that is "
    "there is written over unless --force is given."
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("plan", metavar="PLAN.toml", type=Path, help="the plan; see `aquacalc keys`")
    set_argument(parser)
    parser.add_argument("--out", metavar="DIR", type=Path, required=True, help="folder for the files")
    parser.add_argument(
        "--workshop", metavar="FILE", type=Path, help="TOML file of pipe, saws and prices that you have"
    )
    parser.add_argument("--force", action="store_true", help="write over files of the same names")


def run(args: argparse.Namespace) -> int:
    """Write the build sheet; the exit status says whether the plan works and fits together."""
    from aquacalc.files import check_folder, write_folder

    plan = load(args.plan, args.changes)
    check_folder(args.out, ("build-sheet.html", "valve-card.html"), force=args.force)  # before the work
    with working_out(args.plan):
        if args.workshop:
            from aquacalc.buildsheet.stock import read_workshop

            workshop = read_workshop(args.workshop)
        else:
            workshop = None
        from aquacalc.buildsheet.sheet import build_sheet

        sheet = build_sheet(plan, workshop)

    from aquacalc.buildsheet.files import contents
    from aquacalc.findings import EXIT_STATUS, find, verdict

    made, missing = contents(sheet)
    written = write_folder(args.out, made, force=args.force)
    for warning in (*sheet.warnings, *sheet.bill.unmatched):
        print(f"! {warning}")
    if missing:
        print(f"! {missing}")
    found = verdict(find(sheet.run))
    if found != "works":
        print(f"! This plan {found} work as it is: see `aquacalc report` before you buy or cut.")
    print(f"{len(written)} files written to {args.out.resolve()}")
    return EXIT_STATUS["does not" if sheet.warnings else found]
