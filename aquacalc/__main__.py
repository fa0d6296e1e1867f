"""The command line: `python -m aquacalc COMMAND`."""

from __future__ import annotations

import argparse
import importlib
import os
import re
import signal
import sys
import threading
from collections.abc import Sequence
from typing import NoReturn

from aquacalc import __version__
from aquacalc.commands.check import adds
from aquacalc.failure import Failure

#: Modules of `aquacalc.commands`, in the order of the help.
COMMANDS = (
    "start",
    "report",
    "live",
    "ask",
    "compare",
    "bench",
    "build",
    "keys",
    "check",
    "evidence",
    "workbooks",
    "learner",
    "handout",
)
#: Exit status when a command could not do what it was asked.
FAILED = 2


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    argv : sequence of str, optional
        Arguments; those of the process when left out.

    Returns
    -------
    int
        Exit status of the command; 2 when it failed, with the reason on standard error.
    """
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    before = None
    if threading.current_thread() is threading.main_thread():
        before = signal.signal(signal.SIGTERM, signal.default_int_handler)  # as Ctrl-C: keep what is done
    try:
        args = _parsed(sys.argv[1:] if argv is None else argv)
        status = args.run(args)
        if sys.stdout is not None:  # closed before the program began
            sys.stdout.flush()
    except Failure as failure:
        return _ended(str(failure))
    except BrokenPipeError:
        # The reader went away. Point stdout elsewhere so that the interpreter's own flush at exit is silent.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 128 + 13
    except KeyboardInterrupt as stop:
        return _ended(str(stop) or "stopped; no unfinished file is left behind", 128 + 2)
    except ModuleNotFoundError as error:
        part = (error.name or "a part").partition(".")[0]
        return _ended(f'this needs "{part}", which is not installed. Fix: {adds(part)}')
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        return _ended(
            f"{where}{error.strerror or error}. Fix: check the name, the room on the disk and your rights."
        )
    except MemoryError:
        return _ended("there is not enough memory for this. Fix: try a smaller plan.")
    except Exception as error:  # the outermost door: whatever happens is one line
        what = f"{type(error).__name__}: {error}".splitlines()[0][:200]
        return _ended(
            f"a fault of the program itself ({what}). Fix: send the plan and this line to its makers."
        )
    finally:
        if before is not None:
            signal.signal(signal.SIGTERM, before)
    return status


class _Parser(argparse.ArgumentParser):
    """Leaves by the outermost door, as everything else that cannot be done."""

    def error(self, message: str) -> NoReturn:
        raise Failure(f"{message}. Fix: see python -m {self.prog} --help")


def _parsed(argv: Sequence[str]) -> argparse.Namespace:
    """Read the arguments, with no more commands loaded than are named.

    Raises
    ------
    Failure
    """
    named = [name for name in COMMANDS if name in argv[:1]]
    parser = _Parser(
        prog=" ".join(["aquacalc", *named]), description="Flood-and-drain grow beds on bell siphons."
    )
    parser.add_argument("--version", action="version", version=f"aquacalc {__version__}")
    commands = parser.add_subparsers(metavar="COMMAND", required=True, prog="aquacalc")
    # One command does not wait for the others' imports.
    for name in named or COMMANDS:
        module = importlib.import_module(f"aquacalc.commands.{name}")
        command = commands.add_parser(
            name, help=module.SUMMARY, description=f"{module.SUMMARY.capitalize()}."
        )
        module.arguments(command)
        command.set_defaults(run=module.run)
    return parser.parse_args(argv)


def _ended(reason: str, status: int = FAILED) -> int:
    """Say in one line why nothing came of it, and leave nothing that fails again at exit.

    Names are said as they were typed, without what would turn or hide the line; lines that are set in are
    the faults of a plan.
    """
    reason = re.sub(r"\n(?!  )", " ", reason)
    reason = "".join(c if c.isprintable() or c == "\n" else " " for c in reason)
    try:
        print(f"aquacalc: {reason}", file=sys.stderr)
        sys.stderr.flush()
    except (OSError, ValueError, AttributeError):
        pass
    try:
        sys.stdout.flush()
    except (OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    return status


if __name__ == "__main__":
    sys.exit(main())
