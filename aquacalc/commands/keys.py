"""`aquacalc keys`: every key of a plan file, or every name of the report's JSON."""

from __future__ import annotations

import argparse

SUMMARY = "print every key of a plan file"


def arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("--report", action="store_true", help="print every name of the report's JSON instead")


def run(args: argparse.Namespace) -> int:
    """Print the document; always 0."""
    if args.report:
        from aquacalc.report.as_json import shape_document

        print(shape_document(), end="")
    else:
        from aquacalc.plan.document import document

        print(document(), end="")
    return 0
