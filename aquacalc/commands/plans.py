"""What the commands that run a plan share: reading it, changing values on the way, saying what failed."""

from __future__ import annotations

import argparse
import json
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from importlib.util import find_spec
from pathlib import Path

from aquacalc.failure import Failure

#: Seconds after which a command says that it is still working.
PATIENCE = 2.0
#: Letters of a key of --set: longer than any with the longest name in it.
LONGEST_KEY = 200


def set_argument(parser: argparse.ArgumentParser) -> None:
    """Declare --set."""
    parser.add_argument(
        "--set",
        metavar="KEY=VALUE",
        action="append",
        default=[],
        dest="changes",
        help='what if: use another value, "siphon.standpipe.height=410 mm" or "bed.*.porosity=40 %%"; the '
        "file stays as it is",
    )


def load(path: Path, changes: Sequence[str] = (), as_json: bool = False):
    """Read a plan, put the values of --set in, and check it.

    Raises
    ------
    Failure
        With every fault; with `as_json` they are printed as JSON first.
    """
    from aquacalc.plan.check import check_plan
    from aquacalc.plan.edit import put_text
    from aquacalc.plan.errors import PlanError
    from aquacalc.plan.read import read_plan
    from aquacalc.plan.text import clean

    texts = {}
    for change in changes:
        key, found, value = change.partition("=")
        if not found or not key.strip() or len(key) > LONGEST_KEY or not clean(change):
            fix = 'write KEY=VALUE, "pump.flow=16 L/min" for example'
            raise Failure(f"--set {change[:LONGEST_KEY]}: is not a change. Fix: {fix}.")
        texts[key.strip()] = value.strip()
    try:
        plan = read_plan(path)
        if texts:
            plan = put_text(plan, texts, "--set")
            check_plan(plan, f"{path} with --set")
    except PlanError as error:
        if as_json:
            print(json.dumps(error.as_dict(), indent=2, ensure_ascii=False))
        raise Failure(str(error)) from None
    except LookupError as error:
        raise Failure(f"--set {error.args[0] if error.args else error}") from None
    return plan


class _Waiting:
    """Says after a while that it takes a while, and then how far it is."""

    def __init__(self) -> None:
        self.timer = threading.Timer(PATIENCE, _say, ["working it out; Ctrl-C stops ..."])
        self.timer.daemon = True
        self.timer.start()
        self.next = time.monotonic() + 2.0 * PATIENCE

    def __call__(self, done: int, total: int) -> None:
        """Say how far it is, every few seconds."""
        if time.monotonic() >= self.next:
            self.next = time.monotonic() + 2.0 * PATIENCE
            _say(f"  {done} of {total} plans run" if total else f"  {done} plans run")


@contextmanager
def working_out(path: Path, many: bool = False) -> Iterator[Callable[[int, int], None]]:
    """Say after two seconds that it takes a while, and turn what the numbers can end in into one line.

    Yields what takes the progress; with `many` plans the solver is compiled first, which is announced.

    Raises
    ------
    Failure
    """
    from aquacalc.plan.errors import PlanError

    if many and find_spec("numba") is not None:
        from aquacalc.engine.runner import compile_now

        compile_now(_say)
    waiting = _Waiting()
    try:
        yield waiting
    except PlanError as error:
        raise Failure(str(error)) from None
    except ArithmeticError as error:
        raise Failure(
            f"{path}: the numbers of this plan cannot be worked out ({error}). Fix: look for a size or "
            "a flow that is far too large or too small."
        ) from None
    finally:
        waiting.timer.cancel()


def _say(text: str) -> None:
    with suppress(OSError, ValueError, AttributeError):  # nobody listens
        print(text, file=sys.stderr, flush=True)
