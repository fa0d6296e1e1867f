"""`aquacalc evidence`: the page that says what every number rests on."""

from __future__ import annotations

import argparse
from pathlib import Path

SUMMARY = "write the page that says what every number rests on"
EPILOG = (
    "Each equation, table and constant with its source, its range and the values it was held against, and "
    "of what kind they are; where sources disagree and what that does to the demo plan; what we "
    "found no source for. A page that aquacalc wrote before is replaced; any other file is "
    "left alone unless --force is given."
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("--out", metavar="FILE", type=Path, required=True, help="the page to write")
    parser.add_argument("--force", action="store_true", help="replace any file")


def run(args: argparse.Namespace) -> int:
    """Write the page; 0."""
    from aquacalc.files import check_target, write_file

    check_target(args.out, force=args.force, ours=True)

    from aquacalc.evidence.page import page

    write_file(args.out, page(), force=args.force, ours=True)
    print(f"Page written: {args.out.resolve()}")
    return 0
