"""A table once: what the page shows is what the spreadsheet gets."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass

_FORMULA = tuple("=+-@\uff1d\uff0b\uff0d\uff20")
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")


@dataclass(frozen=True)
class Table:
    """Cells as text, numbers as plain numbers with their unit in the column's head.

    Attributes
    ----------
    key : str
        Name of the CSV file, without its ending.
    title, intro : str
    columns : tuple of str
    rows : tuple of tuple of str
    total : tuple of str
        Last row, in bold; empty when there is none.
    notes : tuple of str
    blanks : int
        How many of the last columns are left blank, to write in.
    """

    key: str
    title: str
    intro: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    total: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    blanks: int = 0

    def csv(self) -> str:
        """Return the table as CSV, its total as the last row."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(self.columns)
        for row in (*self.rows, *((self.total,) if self.total else ())):
            writer.writerow([_safe(cell) for cell in row])
        return out.getvalue()

    def numeric(self, column: int) -> bool:
        """Whether every filled cell of a column is a number, so that it is set to the right."""
        cells = [row[column] for row in self.rows if row[column]]
        return bool(cells) and all(_NUMBER.fullmatch(cell) for cell in cells)


def _safe(cell: str) -> str:
    """Keep a spreadsheet from taking a name out of the plan for a formula."""
    # A spreadsheet takes the full-width signs for the plain ones.
    if cell.lstrip()[:1] in _FORMULA and not _NUMBER.fullmatch(cell):
        return "'" + cell
    return cell
