"""The build sheet in a folder: which files there are, and writing them over nothing that exists."""

from __future__ import annotations

import os
from pathlib import Path

from aquacalc.buildsheet.drawing import PAPER
from aquacalc.buildsheet.drawing_siphon import drawings
from aquacalc.buildsheet.page import page
from aquacalc.buildsheet.paper import PaperMissing, paper
from aquacalc.buildsheet.sheet import BuildSheet


class FileExists(OSError):
    """A file of the sheet is there already; nothing was written."""


def contents(sheet: BuildSheet) -> tuple[dict[str, bytes], str]:
    """Make every file of the sheet.

    Returns
    -------
    tuple of (dict of str to bytes, str)
        Contents by file name, and why the PDF sheets are not among them ("" when they are).
    """
    made = {f"{table.key}.csv": table.csv().encode() for table in sheet.tables}
    missing = ""
    for size in PAPER:
        drawn = drawings(sheet.plan, sheet.holes, size)
        if size == next(iter(PAPER)):
            made["build-sheet.html"] = page(sheet, drawn).encode()
        for drawing in drawn:
            name = f"drawing-{drawing.name}-{size.lower()}"
            made[f"{name}.svg"] = drawing.svg().encode()
            made[f"{name}.pdf"] = drawing.pdf
        try:
            made[f"build-sheet-{size.lower()}.pdf"] = paper(sheet, drawn, size)
        except PaperMissing as error:
            missing = str(error)
    return made, missing


def write_sheet(made: dict[str, bytes], folder: Path, force: bool = False) -> tuple[Path, ...]:
    """Write files into a folder, all of them or, when one is in the way, none.

    Parameters
    ----------
    made : dict of str to bytes
    folder : Path
        Made when it is not there.
    force : bool
        Write over files of these names.

    Returns
    -------
    tuple of Path

    Raises
    ------
    FileExists
        When a file is there and `force` is not given.
    OSError
        When the folder or a file cannot be written.
    """
    folder = Path(folder)
    there = sorted(name for name in made if (folder / name).exists())
    if there and not force:
        raise FileExists(f"{folder / there[0]}" + (f" and {len(there) - 1} more" if len(there) > 1 else ""))
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, content in made.items():
        target, part = folder / name, folder / f"{name}.{os.getpid()}.part"
        try:
            part.write_bytes(content)
            os.replace(part, target)
        finally:
            part.unlink(missing_ok=True)
        written.append(target)
    return tuple(written)
