"""Machine code on disk: for its owner alone, whole or absent, and never loaded when in doubt.

Loading machine code runs whatever lies there, so it has to be what this user
wrote: folders and files belong to the user and nobody else may write in them
or in the folders above, and each file has the digest that was noted when the
folder got its name. Whatever is not so is thrown away, or left alone where
it belongs to somebody else.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
import importlib
import json
import os
import platform
import shutil
import stat
import sys
import tempfile
import time
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

try:
    import fcntl
except ImportError:  # Windows: two processes that compile at once both do the work
    fcntl = None

#: Notes the digest of each other file of a folder that is whole.
MARK = "whole.json"
#: Seconds that code nobody loads is kept, and that an unfinished folder is.
KEPT, UNFINISHED = 30 * 86400.0, 86400.0
#: Seconds to wait for another process that compiles before doing it here too.
PATIENCE = 300.0


def base() -> Path:
    """Return the folder of all machine code of this user."""
    from platformdirs import user_cache_path

    return user_cache_path("aquacalc")


@functools.cache
def folder_for(modules: tuple[str, ...]) -> Path:
    """Return the folder for the code of these modules: an edit anywhere never meets stale code.

    Their place and time count as well, because numba keeps its code by them,
    and so do numba itself and what the processor can do.
    """
    digest = hashlib.sha256(f"{sys.version} {_processor()}".encode())
    with contextlib.suppress(PackageNotFoundError):
        digest.update(version("numba").encode())
    for name in modules:
        source = Path(importlib.import_module(name).__file__)
        digest.update(f"{source} {source.stat().st_mtime_ns}".encode())
        digest.update(source.read_bytes())
    return base() / digest.hexdigest()[:16]


def _processor() -> str:
    with contextlib.suppress(OSError):
        for line in Path("/proc/cpuinfo").read_text(encoding="utf-8", errors="replace").splitlines():
            if line.startswith(("flags", "Features")):
                return f"{platform.machine()} {line}"
    return f"{platform.machine()} {platform.processor()}"


def whole(folder: Path) -> bool:
    """Whether what lies there was written by this user alone and is as it was written."""
    try:
        there = [folder, *folder.rglob("*")]
        if not (_safe_above(folder) and all(_private(path) for path in (folder.parent, *there))):
            return False
        noted = json.loads((folder / MARK).read_text(encoding="utf-8"))
        return noted == _digests(folder)
    except (OSError, ValueError):
        return False


@contextlib.contextmanager
def place(folder: Path) -> Iterator[Path]:
    """Give a place to load from or compile into, with a copy of what is whole in `folder`.

    Nobody else can reach the copy, and numba may write there even where the folder is read-only.
    """
    try:
        _own(folder.parent)
        made = Path(tempfile.mkdtemp(prefix="making-", dir=folder.parent))
    except OSError:
        made = Path(tempfile.mkdtemp(prefix="aquacalc-"))
    try:
        if whole(folder):
            shutil.copytree(folder, made, dirs_exist_ok=True)
            if not whole(made):  # it changed meanwhile
                drop(made)
                made.mkdir(mode=0o700)
            with contextlib.suppress(OSError):
                os.utime(folder / MARK)  # used today
        yield made
    finally:
        drop(made)


def keep(made: Path, folder: Path) -> None:
    """Give what was compiled its name, for its owner alone, where the folder can be had."""
    with contextlib.suppress(OSError):
        _own(folder.parent)
        (made / MARK).unlink(missing_ok=True)
        for path in made.rglob("*"):
            path.chmod(0o700 if path.is_dir() else 0o600)
        noted = json.dumps(_digests(made))
        (made / MARK).write_text(noted, encoding="utf-8")
        (made / MARK).chmod(0o600)
        drop(folder)
        made.rename(folder)
        _drop_old(folder)


def drop(path: Path) -> None:
    """Delete a file or folder, and nothing that a link leads to."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path, ignore_errors=True)
    else:
        path.unlink(missing_ok=True)


@contextlib.contextmanager
def turn(folder: Path) -> Iterator[None]:
    """Wait while another process compiles the same, though not for ever; however it ends, that frees it."""
    file, handle = folder.with_suffix(".turn"), None
    try:
        with contextlib.suppress(OSError):
            _own(folder.parent)
            handle = os.open(file, os.O_CREAT | os.O_RDWR | getattr(os, "O_NOFOLLOW", 0), 0o600)
        until = time.monotonic() + PATIENCE
        while handle is not None and fcntl is not None and time.monotonic() < until:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                break
            except BlockingIOError:
                time.sleep(0.2)
            except OSError:  # a disk that knows no locks
                break
        yield
    finally:
        if handle is not None:
            os.close(handle)


def _digests(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path != folder / MARK
    }


def _mine(path: Path) -> bool:
    """Whether it is no link and belongs to this user; on Windows the user's folders are nobody else's."""
    found = path.lstat()
    return not stat.S_ISLNK(found.st_mode) and (os.name == "nt" or found.st_uid == os.getuid())


def _private(path: Path) -> bool:
    return _mine(path) and (os.name == "nt" or not path.lstat().st_mode & 0o022)


def _safe_above(folder: Path) -> bool:
    """Whether nobody else can put another folder in the place of the user's own."""
    for path in () if os.name == "nt" else folder.parent.resolve().parents:
        found = path.stat()
        if found.st_uid not in (0, os.getuid()) or (
            found.st_mode & 0o002 and not found.st_mode & stat.S_ISVTX
        ):
            return False
    return True


def _own(folder: Path) -> None:
    """Make the folder of all machine code, and empty it where others could have written in it.

    Raises
    ------
    PermissionError
        When it belongs to somebody else, or lies where others can put another in its place.
    """
    folder.parent.mkdir(parents=True, exist_ok=True)
    folder.mkdir(mode=0o700, exist_ok=True)
    if not (_mine(folder) and _safe_above(folder / "any")):
        raise PermissionError(f"{folder}: is open to other users.")
    if not _private(folder):
        for path in folder.iterdir():
            drop(path)
    folder.chmod(0o700)


def _drop_old(kept: Path) -> None:
    """Drop code that no program has loaded for a month, and what was left unfinished."""
    now = time.time()
    for path in kept.parent.iterdir():
        with contextlib.suppress(OSError):
            mark = path / MARK
            age = abs(now - (mark if mark.exists() else path).stat().st_mtime)  # a clock may be set back
            if path != kept and age > (KEPT if mark.exists() else UNFINISHED):
                drop(path)
