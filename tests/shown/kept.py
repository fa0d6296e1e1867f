"""What was shown, in a compressed file for each subject: the plan, or the kind of page."""

from __future__ import annotations

import functools
import json
import lzma
from pathlib import Path

from tests.shown.lines import TODAY, differ, lines
from tests.shown.pages import PAGES

FOLDER = Path(__file__).parent / "kept"
COMMAND = "python -m tests.shown --write"
#: A page as it is kept: lines by file name.
Shown = dict[str, list[str]]


def subject(name: str) -> str:
    """Name of the file that keeps a page: the plan of "star: build", the kind of "ask sump us"."""
    plan, colon, _ = name.partition(": ")
    return (plan if colon else name.split()[0]).replace(" ", "-")


def shown(name: str) -> Shown:
    """What a page shows today."""
    return {TODAY.sub("DATE", file): lines(file, text) for file, text in PAGES[name]()}


@functools.cache
def stored(of: str) -> dict[str, Shown]:
    """Return what is kept of a subject, by page; nothing when there is no file."""
    path = FOLDER / f"{of}.xz"
    return json.loads(lzma.decompress(path.read_bytes())) if path.exists() else {}


def write(pages: dict[str, Shown]) -> None:
    """Keep every page, and remove what is kept of others."""
    by: dict[str, dict[str, Shown]] = {}
    for name, page in pages.items():
        by.setdefault(subject(name), {})[name] = page
    FOLDER.mkdir(exist_ok=True)
    for path in FOLDER.glob("*.xz"):
        if path.stem not in by:
            path.unlink()
    for of, kept in by.items():
        if kept != stored(of):
            text = json.dumps(kept, ensure_ascii=False, separators=(",", ":"))
            (FOLDER / f"{of}.xz").write_bytes(lzma.compress(text.encode(), preset=9))
    stored.cache_clear()


def differences(name: str, now: Shown) -> list[str]:
    """Say what differs in a page: for each file the first line, as it was and as it is."""
    was = stored(subject(name)).get(name)
    if was is None:
        return [f"{name}: is not kept"]
    found = [f"{name}, {file}: is no longer there" for file in was if file not in now]
    for file, new in now.items():
        if file not in was:
            found.append(f"{name}, {file}: is new")
        elif (pair := differ(was[file], new)) is not None:
            found.append(f"{name}, {file}:\n  - {pair[0][:300]}\n  + {pair[1][:300]}")
    return found
