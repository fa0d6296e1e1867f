"""`aquacalc learner`: a workbook without its answers."""

from __future__ import annotations

import argparse
from pathlib import Path

SUMMARY = "write a workbook without its answers"
EPILOG = (
    'An answer is a cell that shows a solution, one tagged "answer", or a folded block whose summary begins '
    "with Answer. Cells tagged "
    '"teacher" go too. The boxes that check what a learner types stay.'
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("workbook", metavar="WORKBOOK", type=Path, help="a workbook (.ipynb)")
    parser.add_argument("--out", metavar="FILE.ipynb", type=Path, required=True, help="the learner's copy")
    parser.add_argument("--force", action="store_true", help="replace a file that is there")


def run(args: argparse.Namespace) -> int:
    """Write the learner's copy; 0."""
    import nbformat

    from aquacalc.commands.notebooks import read_notebook
    from aquacalc.files import check_target, write_file
    from aquacalc.teaching.learner import without_answers

    notebook = read_notebook(args.workbook)
    check_target(args.out, source=args.workbook, force=args.force)
    made, taken = without_answers(notebook)
    write_file(args.out, nbformat.writes(made) + "\n", source=args.workbook, force=args.force)
    print(f"{taken} answers taken out. Learner's copy written: {args.out.resolve()}")
    return 0
