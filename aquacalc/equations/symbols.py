"""The symbols of the records, each once, from the table `symbols.csv`.

A row is called by its symbol, with a word behind it where several quantities
are written alike: "D" is the bore of a pipe, "D lip" the diameter of a lip.
Ranges are SI values of the `kind`; `why` says why a range ends there, and is
left empty where it only spans the sizes of this trade.
"""

from __future__ import annotations

import csv
import functools
from pathlib import Path

from aquacalc.equations.record import Symbol

FILE = Path(__file__).with_name("symbols.csv")
_TRADE = "sizes of this trade; the formula itself has no end here"


def named(*names: str) -> tuple[Symbol, ...]:
    """Return the symbols called `names` in the table."""
    return tuple(_table()[name] for name in names)


@functools.cache
def _table() -> dict[str, Symbol]:
    with FILE.open(encoding="utf-8", newline="") as file:
        return {row["symbol"]: _symbol(row) for row in csv.DictReader(file)}


def _symbol(row: dict[str, str]) -> Symbol:
    return Symbol(
        key=row["symbol"].partition(" ")[0],
        name=row["name"],
        meaning=row["meaning"],
        kind=row["kind"],
        low=float(row["low"]),
        high=float(row["high"]),
        why=row["why"] or _TRADE,
        latex=row["latex"],
        default=float(row["default"]) if row["default"] else None,
    )
