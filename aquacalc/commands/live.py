"""`aquacalc live`: a plan as one page with sliders, which needs no Python and no network."""

from __future__ import annotations

import argparse
from pathlib import Path

from aquacalc.commands.plans import load, set_argument, working_out
from aquacalc.failure import Failure

SUMMARY = (
    "write a plan or a lesson as one page with sliders that answers on a phone, without Python or network"
)
EPILOG = (
    "The page holds the plan: `aquacalc report PAGE.html` reads it back. Exit status: 0 the plan works, 3 it "
    "may or may not, 1 it does not, 2 it could not be read or the page not written."
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument(
        "plan", metavar="PLAN.toml", type=Path, nargs="?",
        help="the plan, see `aquacalc keys`; or a workbook",
    )  # fmt: skip
    set_argument(parser)
    parser.add_argument("--out", metavar="FILE.html", type=Path, help="the page to write")
    parser.add_argument("--units", choices=("metric", "us"), help="units it opens with; the plan's own")
    parser.add_argument(
        "--serve",
        metavar="FOLDER",
        type=Path,
        help="let everybody on this machine's network open the pages in FOLDER, until Ctrl-C; for phones "
        "that show a file without running it",
    )
    parser.add_argument("--port", type=int, default=8000, help="of --serve; 8000 if not given")
    parser.add_argument("--force", action="store_true", help="let --out replace any file")


def _serve(folder: Path, port: int) -> int:
    """Serve a folder's pages until Ctrl-C; 0."""
    from aquacalc.live.serve import own_address, pages, server

    found = pages(folder)
    if not found:
        raise Failure(
            f"{folder}: holds no page that aquacalc wrote. Fix: write one with --out {folder}/NAME.html."
        )
    try:
        made = server(folder, "", port)
    except (OSError, OverflowError) as error:
        why = getattr(error, "strerror", "not from 0 to 65535")
        raise Failure(f"port {port}: {why}. Fix: name another with --port.") from None
    print(
        f"{len(found)} pages at http://{own_address()}:{made.server_port}/ for everybody on this network, "
        "without password or encryption: the pages themselves, plans inside, and nothing else of the folder. "
        "Ctrl-C ends it.",
        flush=True,
    )
    with made:
        made.serve_forever()
    return 0


def write_lesson(notebook, workbook: Path, out: Path, system: str, force: bool) -> None:
    """Write a workbook's live page; any of its cells may take time."""
    from aquacalc.files import check_target, write_file

    check_target(out, source=workbook, force=force, ours=True)
    from aquacalc.teaching.live_lesson import live_lesson

    with working_out(workbook):
        page = live_lesson(notebook, workbook.name, workbook.resolve().parent, system, out.resolve().parent)
    write_file(out, page, source=workbook, force=force, ours=True)
    print(f"Page written: {out.resolve()} ({len(page.encode()) / 1000:.0f} kB)")


def run(args: argparse.Namespace) -> int:
    """Write the page; the exit status says whether the plan works."""
    from aquacalc.files import check_target, write_file

    if args.serve:
        return _serve(args.serve, args.port)
    if args.plan is None or args.out is None:
        raise Failure("live: name a plan and --out FILE.html, or --serve FOLDER.")
    if args.plan.suffix == ".ipynb":
        from aquacalc.commands.notebooks import read_notebook

        write_lesson(read_notebook(args.plan), args.plan, args.out, args.units or "metric", args.force)
        return 0
    plan = load(args.plan, args.changes)
    check_target(args.out, source=args.plan, force=args.force, ours=True)
    with working_out(args.plan):
        from aquacalc.findings import EXIT_STATUS
        from aquacalc.live.answer import answer
        from aquacalc.live.page import live_page

        page = live_page(plan, args.units)
        found = answer(plan, [])
    write_file(args.out, page, source=args.plan, force=args.force, ours=True)
    print(f"Page written: {args.out.resolve()} ({len(page.encode()) / 1000:.0f} kB)")
    return EXIT_STATUS[found.verdict]
