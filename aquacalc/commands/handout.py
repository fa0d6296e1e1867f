"""`aquacalc handout`: a workbook as one page that prints and opens offline."""

from __future__ import annotations

import argparse
from pathlib import Path

SUMMARY = "write a workbook as one page to print or to read offline"
EPILOG = (
    "The page holds the workbook as it was last saved: its pictures, numbers and math, no script, nothing "
    "fetched. Print it from a browser; the code stays off the paper. For a page without answers, write the "
    "learner's copy first."
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("workbook", metavar="WORKBOOK", type=Path, help="a workbook (.ipynb)")
    parser.add_argument("--out", metavar="FILE.html", type=Path, required=True, help="the page")
    parser.add_argument(
        "--live", action="store_true", help="write the lesson with sliders beside it, and a link to it"
    )
    parser.add_argument("--force", action="store_true", help="replace any file")


def run(args: argparse.Namespace) -> int:
    """Write the page; 0."""
    from aquacalc.commands.live import write_lesson
    from aquacalc.commands.notebooks import read_notebook
    from aquacalc.files import check_target, write_file

    notebook = read_notebook(args.workbook)
    live = args.out.with_name(f"{args.out.stem}-live.html")
    for target in (args.out, live) if args.live else (args.out,):
        check_target(target, source=args.workbook, force=args.force, ours=True)
    from aquacalc.teaching.handout import handout

    if args.live:
        write_lesson(notebook, args.workbook, live, "metric", args.force)
    where = args.workbook.resolve().parent
    page = handout(notebook, args.workbook.name, where, live.name if args.live else "")
    write_file(args.out, page, source=args.workbook, force=args.force, ours=True)
    silent = [
        c for c in notebook.cells if c.cell_type == "code" and c.source.strip() and not c.execution_count
    ]
    if silent:
        print(f"! {len(silent)} cells have not been run: run and save the workbook to have their pictures.")
    print(f"Page written: {args.out.resolve()}")
    return 0
