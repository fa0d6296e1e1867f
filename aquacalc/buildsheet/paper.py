"""The build sheet as a PDF, typeset by typst: real tables over pages, with the drawings at their scale."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path

from aquacalc.buildsheet.drawing import Drawing
from aquacalc.buildsheet.sheet import BuildSheet
from aquacalc.buildsheet.steps import Step
from aquacalc.buildsheet.table import Table
from aquacalc.buildsheet.valve_card import CAUTION, INTRO, ValveCard

_PAPERS = {"A4": "a4", "Letter": "us-letter"}
#: Letters of a table (pt) at most and at least, and how many of 1 pt go across a page.
_LARGE, _SMALL, _ACROSS = 9.0, 8.0, 850.0
#: A cell of more characters is broken over lines before its column grows: the first of these that fits.
_LONG = (24, 16, 12)
#: Room between two columns, characters.
_PAD = 3.0
#: A table of no more rows is kept on one page.
_SHORT = 14


class PaperMissing(ImportError):
    """The typesetter is not installed; `str()` says how to get it."""


def paper(sheet: BuildSheet, drawings: Sequence[Drawing], size: str) -> bytes:
    """Return the build sheet as a PDF.

    Parameters
    ----------
    sheet : BuildSheet
    drawings : sequence of Drawing
        For the same paper; each becomes a page.
    size : {"A4", "Letter"}

    Returns
    -------
    bytes

    Raises
    ------
    PaperMissing
        When typst is not installed.
    """
    return _typeset("sheet", _content(sheet, drawings, size), drawings)


def card_paper(card: ValveCard, size: str) -> bytes:
    """Return the valve card as a PDF of one page; arguments and errors as of `paper`."""
    lines = [{"seen": line.seen, "steps": list(line.steps)} for line in card.lines]
    return _typeset(
        "card",
        {
            "title": card.title, "paper": _PAPERS[size], "intro": INTRO, "caution": CAUTION,
            "marks": [list(mark) for mark in card.marks], "lines": lines,
        },
    )  # fmt: skip


def _typeset(name: str, content: dict, drawings: Sequence[Drawing] = ()) -> bytes:
    """Return a template of this room, with its content, as a PDF."""
    try:
        import typst
    except ImportError:
        raise PaperMissing('the PDF needs typst. Fix: pip install "aquacalc[build]".') from None
    import matplotlib

    fonts = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        for drawing in drawings:
            (root / f"{drawing.name}.svg").write_text(drawing.svg(), encoding="utf-8")
        (root / f"{name}.json").write_text(json.dumps(content, ensure_ascii=False), encoding="utf-8")
        (root / f"{name}.typ").write_bytes((files("aquacalc.buildsheet") / f"{name}.typ").read_bytes())
        return typst.compile(
            str(root / f"{name}.typ"), root=folder, font_paths=[str(fonts)], ignore_system_fonts=True
        )


def _content(sheet: BuildSheet, drawings: Sequence[Drawing], size: str) -> dict:
    intro = [sheet.plan.note]
    if sheet.workshop.note:
        intro.append(f"{sheet.workshop.name}: {sheet.workshop.note}")
    tables = [t for t in sheet.tables if t.key != "readings"]
    return {
        "title": f"Build sheet: {sheet.plan.name}",
        "paper": _PAPERS[size],
        "intro": [line for line in intro if line],
        "warnings": list(sheet.warnings),
        "tables": [_table(t) for t in tables],
        "readings": _table(sheet.table("readings")),
        "steps": [_step(s) for s in sheet.steps],
        "checks": [_step(s) for s in sheet.checks],
        "blanks": ["Date", "By", "Water"],
        "drawings": [
            {"file": f"{d.name}.svg", "alt": d.alt, "lying": d.canvas.width > d.canvas.height}
            for d in drawings
        ],
    }


def _step(step: Step) -> dict:
    return {
        "title": step.title,
        "text": step.text,
        "cautions": list(step.cautions),
        "blanks": list(step.blanks),
    }


def _table(table: Table) -> dict:
    """Give each column a part of the width by the longest word and, up to a limit, cell that stands in it."""

    def width(k: int, limit: int) -> float:
        if k >= len(table.columns) - table.blanks:
            return 12.0
        cells = [row[k] for row in (*table.rows, *((table.total,) if table.total else ()))]
        words = [1.2 * len(word) for word in table.columns[k].split()]  # the head is bold
        words += [len(word) for cell in cells for word in cell.split()]
        return _PAD + max((*words, *(min(len(cell), limit) for cell in cells)), default=0.0)

    for limit in _LONG:
        widths = [width(k, limit) for k in range(len(table.columns))]
        size = _ACROSS / sum(widths)
        if size >= _LARGE:
            break
    return {
        "title": table.title,
        "intro": table.intro,
        "columns": list(table.columns),
        "rows": [list(row) for row in table.rows],
        "total": list(table.total),
        "notes": list(table.notes),
        "numeric": [table.numeric(k) for k in range(len(table.columns))],
        "widths": widths,
        "blank": table.blanks > 0,
        "whole": len(table.rows) <= _SHORT,
        "size": min(max(size, _SMALL), _LARGE),
    }
