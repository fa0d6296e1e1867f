"""The build sheet in a folder: which files there are, and what is in each."""

from __future__ import annotations

from aquacalc.buildsheet import valve_card
from aquacalc.buildsheet.canvas import PAPER, PHONE
from aquacalc.buildsheet.drawing import Drawing, assembly_drawings, view_drawings
from aquacalc.buildsheet.drawing_siphon import siphon_drawing
from aquacalc.buildsheet.page import page
from aquacalc.buildsheet.paper import PaperMissing, card_paper, paper
from aquacalc.buildsheet.scene import scene
from aquacalc.buildsheet.sheet import BuildSheet
from aquacalc.buildsheet.templates import labels, templates


def drawings(sheet: BuildSheet, paper: str) -> list[Drawing]:
    """Return section, plan view, the whole put together and every siphon, on a `paper` of `PAPER`."""
    placed = scene(sheet.plan, sheet.cuts)
    siphons = [siphon_drawing(sheet.plan, siphon, paper, sheet.cuts) for siphon in sheet.plan.siphons]
    return [*view_drawings(placed, paper), *assembly_drawings(placed, paper), *siphons]


def contents(sheet: BuildSheet) -> tuple[dict[str, bytes], str]:
    """Make every file of the sheet.

    Returns
    -------
    tuple of (dict of str to bytes, str)
        Contents by file name, and why the PDF sheets are not among them ("" when they are).
    """
    made = {f"{table.key}.csv": table.csv().encode() for table in sheet.tables}
    card = valve_card.valve_card(sheet.plan)
    made["valve-card.html"] = valve_card.page(card).encode()
    missing = ""
    for size in PAPER:
        if size == PHONE:
            continue
        drawn = drawings(sheet, size)
        if size == next(iter(PAPER)):
            made["build-sheet.html"] = page(sheet, drawn, drawings(sheet, PHONE)).encode()
        full = [*templates(sheet.plan, sheet.holes, size), *labels(sheet.plan, sheet.cuts, size)]
        for drawing in (*drawn, *full):
            made[f"drawing-{drawing.name}-{size.lower()}.svg"] = drawing.svg().encode()
        try:
            made[f"build-sheet-{size.lower()}.pdf"] = paper(sheet, [*drawn, *full], size)
            made[f"valve-card-{size.lower()}.pdf"] = card_paper(card, size)
        except PaperMissing as error:
            missing = str(error)
    return made, missing
