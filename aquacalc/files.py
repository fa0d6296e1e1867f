"""The one writer: a file or a folder whole or untouched, and over nothing that is not meant.

A target is an ordinary file in a folder that exists. What is there already is
replaced only when told to (`force`) or when it is a page of our own (`ours`);
folders, links, pipes and devices are refused. Contents are put beside the
target first, so that a full disk or a process that ends leaves it as it was.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import stat
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from aquacalc.failure import AlreadyThere, NotWritten

#: What lies in the head of a page written here.
MARK = '<meta name="generator" content="aquacalc'
_HEAD = 4096
_PART = ".aquacalc-part-"


def check_target(path: str | Path, *, source: str | Path | None = None, force: bool = False,
                 ours: bool = False) -> Path:  # fmt: skip
    """Refuse a place where a file must not or cannot be written.

    Parameters
    ----------
    path : str or Path
        The file to write.
    source : str or Path, optional
        What the file is made from, which it never replaces.
    force : bool
        Replace any ordinary file.
    ours : bool
        Replace a page that was written here before.

    Returns
    -------
    Path

    Raises
    ------
    NotWritten, AlreadyThere
        One line that names the place, what is wrong, and what to do.
    """
    path = Path(path)
    with _said(path, "name a file in a folder you may write in"):
        if not path.parent.is_dir():
            raise NotWritten(
                f"{path}: there is no folder {path.parent}. Fix: make it, or name another folder."
            )
        _refuse_without_rights(path.parent)
        if path.is_symlink():
            raise NotWritten(f"{path}: is a link. Fix: name the file itself.")
        try:
            mode = path.stat().st_mode
        except FileNotFoundError:
            return path
        if stat.S_ISDIR(mode):
            raise NotWritten(f"{path}: is a folder. Fix: name a file inside it.")
        if not stat.S_ISREG(mode):
            raise NotWritten(f"{path}: is not an ordinary file. Fix: give another name.")
        if source is not None and Path(source).exists() and path.samefile(source):
            raise NotWritten(f"{path}: is what it is made from. Fix: give another name.")
        if not force and not (ours and is_ours(path)):
            what = "there already, and no page written by aquacalc" if ours else "there already"
            fix = "give another name, or replace it with --force (in a notebook, force=True)"
            raise AlreadyThere(f"{path}: is {what}. Fix: {fix}.")
    return path


def check_folder(folder: str | Path, names: Iterable[str], *, force: bool = False) -> Path:
    """Refuse a folder in which files of these names must not or cannot be written.

    Parameters
    ----------
    folder : str or Path
    names : iterable of str
        Below the folder, with "/".
    force : bool
        Replace ordinary files of these names.

    Returns
    -------
    Path

    Raises
    ------
    NotWritten, AlreadyThere
    """
    folder = Path(folder)
    with _said(folder, "name a folder you may write in"):
        if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
            raise NotWritten(
                f"{folder}: is not a folder. Fix: name a folder, or one that does not exist yet."
            )
        there = sorted(name for name in names if os.path.lexists(folder / name))
        if there and not force:
            more = f" and {len(there) - 1} more" if len(there) > 1 else ""
            fix = "name another folder, or write over them with --force"
            raise AlreadyThere(f"{folder / there[0]}{more}: there already. Fix: {fix}.")
        for name in there:
            check_target(folder / name, force=True)
        for made in (folder, folder.parent):  # what is new is put together beside the folder
            _refuse_without_rights(next(path for path in (made, *made.parents) if path.exists()))
    return folder


def _refuse_without_rights(folder: Path) -> None:
    """Find out before any work is done; what changes later is found when it is written."""
    if not folder.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR))
    if not os.access(folder, os.W_OK | os.X_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))


def is_ours(path: Path) -> bool:
    """Whether a file carries the mark of a page written here."""
    try:
        with path.open("rb") as stream:
            return MARK.encode() in stream.read(_HEAD)
    except OSError:
        return False


def write_file(
    path: str | Path,
    content: str | bytes,
    *,
    source: str | Path | None = None,
    force: bool = False,
    ours: bool = False,
) -> Path:
    """Write one file, whole or not at all; the parameters are those of `check_target`.

    Raises
    ------
    NotWritten, AlreadyThere
    """
    path = check_target(path, source=source, force=force, ours=ours)
    there = path.exists()
    with _said(path, "name a file in a folder you may write in"):
        _clear(path)
        part = _part(path.parent, content, _beside(path))
        try:
            if there:
                shutil.copymode(path, part)
                os.replace(part, path)
            else:
                _appear(part, path)
        finally:
            part.unlink(missing_ok=True)
    return path


def write_folder(
    folder: str | Path, contents: Mapping[str, str | bytes], *, force: bool = False
) -> tuple[Path, ...]:
    """Write files below a folder: all of them, or none.

    A folder that is not there, or is empty, appears with all of its files at
    once. In one that has files of its own, the new ones are put beside their
    places first and renamed when all of them are on the disk.

    Parameters
    ----------
    folder : str or Path
        Made when it is not there, with the folders above it.
    contents : dict of str to (str or bytes)
        By name below the folder; a name may have folders in it, with "/".
    force : bool
        Replace ordinary files of these names.

    Returns
    -------
    tuple of Path

    Raises
    ------
    NotWritten, AlreadyThere
    """
    folder = check_folder(folder, contents, force=force)
    with _said(folder, "name a folder you may write in"):
        folder.parent.mkdir(parents=True, exist_ok=True)
        _clear(folder)
        whole = Path(tempfile.mkdtemp(prefix=_beside(folder), dir=folder.parent))
        try:
            for name, content in contents.items():
                target = whole / name
                target.parent.mkdir(parents=True, exist_ok=True)
                os.replace(_part(target.parent, content), target)
            whole.chmod(0o777 & ~_umask())
            if not folder.is_dir() or not any(folder.iterdir()):
                os.replace(whole, folder)
            else:
                for name in contents:
                    (folder / name).parent.mkdir(parents=True, exist_ok=True)
                    os.replace(whole / name, folder / name)
        finally:
            shutil.rmtree(whole, ignore_errors=True)
    return tuple(folder / name for name in contents)


def _beside(target: Path) -> str:
    """Return how the names begin of what is put together beside a target: hidden, and never too long."""
    return f".{target.name[:50]}{_PART}"


def _clear(target: Path) -> None:
    """Take away what a run that was killed left beside its target."""
    with contextlib.suppress(OSError):
        for left in target.parent.iterdir():
            if left.name.startswith(_beside(target)):
                shutil.rmtree(left, ignore_errors=True) if left.is_dir() else left.unlink()


def _part(folder: Path, content: str | bytes, begins: str = _PART) -> Path:
    """Put the content into a file of a name of its own in the folder, on the disk."""
    handle, name = tempfile.mkstemp(prefix=begins, dir=folder)
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content.encode("utf-8") if isinstance(content, str) else content)
            stream.flush()
            os.fsync(stream.fileno())
        part.chmod(0o666 & ~_umask())
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    return part


def _appear(part: Path, path: Path) -> None:
    """Give a part its name, which nothing may have taken in the meantime."""
    try:
        os.link(part, path)
    except FileExistsError:
        raise AlreadyThere(f"{path}: is there already. Fix: give another name.") from None
    except OSError:  # a disk without hard links
        if os.path.lexists(path):
            raise AlreadyThere(f"{path}: is there already. Fix: give another name.") from None
        os.replace(part, path)


def _umask() -> int:
    now = os.umask(0o022)
    os.umask(now)
    return now


@contextlib.contextmanager
def _said(path: Path, fix: str) -> Iterator[None]:
    """Turn an error of the system into one line about `path`."""
    try:
        yield
    except NotWritten:
        raise
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise NotWritten(f"{path}: cannot be written ({reason}). Fix: {fix}.") from None
