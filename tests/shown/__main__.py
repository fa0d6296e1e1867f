"""Compare what is shown with what is kept, or keep it: see `tests.shown`."""

from __future__ import annotations

import argparse
import sys
import time

from aquacalc.engine import compiled
from tests import shown as about
from tests.shown import kept
from tests.shown.pages import PAGES


def main(arguments: list[str] | None = None) -> int:
    """Say what differs; 1 when something does and is not written."""
    parser = argparse.ArgumentParser(prog="python -m tests.shown", description=about.__doc__.splitlines()[0])
    parser.add_argument("pages", nargs="*", help="only pages whose name holds one of these")
    parser.add_argument("--write", action="store_true", help="keep what is shown now")
    args = parser.parse_args(arguments)
    if compiled.ready():
        compiled.build()
    wanted = [name for name in PAGES if not args.pages or any(word in name for word in args.pages)]
    started, changed, now = time.perf_counter(), 0, {}
    for name in wanted:
        now[name] = kept.shown(name)
        found = kept.differences(name, now[name])
        changed += bool(found)
        for line in found[:3]:
            print(line)
        if found[3:]:
            print(f"{name}: and {len(found) - 3} more files")
    print(f"{len(wanted)} pages in {time.perf_counter() - started:.0f} s: {changed} differ.")
    if args.write:
        kept.write({name: now.get(name) or kept.stored(kept.subject(name)).get(name, {}) for name in PAGES})
        print(f"Kept in {kept.FOLDER.name}/.")
        return 0
    if changed:
        print(f"If that is meant, keep it with: {kept.COMMAND}, and say old, new and why in CHANGELOG.md.")
    return 1 if changed else 0


if __name__ == "__main__":
    sys.exit(main())
