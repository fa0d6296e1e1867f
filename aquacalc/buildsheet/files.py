"""The build sheet in a folder: which files there are, and what is in each."""

from __future__ import annotations

from aquacalc.buildsheet.drawing import PAPER
from aquacalc.buildsheet.drawing_siphon import drawings
from aquacalc.buildsheet.page import page
from aquacalc.buildsheet.paper import PaperMissing, paper
from aquacalc.buildsheet.sheet import BuildSheet


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
