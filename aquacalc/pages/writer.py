"""Writing a page over nothing that is not our own."""

from __future__ import annotations

import os
from pathlib import Path

from aquacalc.failure import Failure

#: Stands in the head of every page written here; only a file that carries it is replaced unasked.
MARK = '<meta name="generator" content="aquacalc'
_HEAD = 4096


def check_target(path: Path, source: Path, force: bool) -> None:
    """Refuse a place where a page made from `source` must not or cannot be written.

    Raises
    ------
    Failure
    """
    if not path.parent.is_dir():
        raise Failure(
            f"{path}: there is no folder {path.parent}. Fix: make it, or name a file in another folder."
        )
    if path.is_dir():
        raise Failure(f"{path}: is a folder. Fix: name a file, for example {path / 'report.html'}.")
    if not path.exists():
        return
    if source.exists() and path.samefile(source):
        raise Failure(f"{path}: is what it is made from. Fix: give the page another name.")
    if not path.is_file():
        raise Failure(f"{path}: is no ordinary file. Fix: give the page another name.")
    if not force and not is_ours(path):
        raise Failure(
            f"{path}: is there already and is no page written by aquacalc. Fix: give the page another name, "
            "or add --force to replace it."
        )


def is_ours(path: Path) -> bool:
    """Whether a file carries the mark of a page written here."""
    try:
        with path.open("rb") as stream:
            return MARK.encode() in stream.read(_HEAD)
    except OSError:
        return False


def write_page(path: Path, text: str) -> None:
    """Write a page whole or not at all.

    Raises
    ------
    Failure
    """
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        part.write_text(text, encoding="utf-8", newline="\n")
        os.replace(part, path)
    except OSError as error:
        raise Failure(
            f"{path}: cannot be written ({error.strerror}). Fix: name a file you may write."
        ) from None
    finally:
        part.unlink(missing_ok=True)
