"""How each relation is written, kept in a file so that a page of worked calculations needs no sympy.

`forms.json` holds, for every relation rearranged for every symbol, its two
sides in LaTeX and in plain text with a slot for each symbol. It is made from
the records by `python -m tests.regenerate forms`, and a test makes it again and
compares. A relation that is not in it is written by sympy there and then.
"""

from __future__ import annotations

import functools
import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from aquacalc.equations.record import Symbol

FILE = Path(__file__).with_name("forms.json")
#: A slot: the symbol's key, and whether brackets already stand around it.
_SLOT = re.compile(r"\(⟦(\w+)⟧\)|⟦(\w+)⟧")
_NAME = re.compile(r"[A-Za-z_]\w*")


@dataclass(frozen=True)
class Form:
    """One relation rearranged for one symbol.

    Attributes
    ----------
    closed : bool
        False when the symbol stands more than once, so the relation stays as it is.
    latex, text : tuple of str
        Left and right side with slots.
    """

    closed: bool
    latex: tuple[str, str]
    text: tuple[str, str]

    def in_latex(self, shown: dict[str, str]) -> str:
        """Write the relation in LaTeX, each symbol as `shown` says."""
        return " = ".join(_SLOT.sub(lambda m: shown[m[1] or m[2]], side) for side in self.latex)

    def in_text(self, shown: dict[str, str]) -> str:
        """Write the relation as one line of text; a value in brackets loses them where there are some."""

        def fill(match: re.Match) -> str:
            value = shown[match[1] or match[2]]
            return value if match[1] or not value.startswith("(") else value[1:-1]

        return " = ".join(_SLOT.sub(fill, side) for side in self.text)


@functools.cache
def _kept() -> dict[str, list]:
    return json.loads(FILE.read_text(encoding="utf-8")) if FILE.exists() else {}


@functools.cache
def form(relation: str, key: str) -> Form:
    """Return the form of `relation` rearranged for the symbol `key`."""
    kept = _kept().get(f"{relation} | {key}")
    if kept is None:
        return write(relation, key)
    closed, latex, text = kept
    return Form(closed, tuple(latex), tuple(text))


def write(relation: str, key: str) -> Form:
    """Write the form of `relation` for `key` with sympy."""
    from aquacalc.equations import algebra

    eq = algebra.parse(relation)
    rearranged = algebra.isolate(eq, key)
    shown = eq if rearranged is None else rearranged
    sides = (shown.lhs, shown.rhs)
    names = _NAME.findall(relation)
    left, right = (algebra.latex(side, {n: f"⟦{n}⟧" for n in names}) for side in sides)
    before, after = (algebra.text(side, {n: f"(⟦{n}⟧)" for n in names}) for side in sides)
    return Form(rearranged is not None, (left, right), (before, after))


def _between(symbol: Symbol, part: float) -> float:
    """Return a value that far along a symbol's range, by ratio where the range spans decades."""
    low, high = symbol.low, symbol.high
    return low * (high / low) ** part if low > 0.0 and high > 100.0 * low else low + (high - low) * part


def relations() -> list[tuple[str, str]]:
    """List every relation of the records, branches included, with every symbol it can be asked for."""
    from aquacalc.equations import RECORDS

    found: dict[tuple[str, str], None] = {}
    for record in RECORDS.values():
        written = {record.relation}
        if record.choose:
            for place in range(200):
                parts = [(place * (0.618 + 0.07 * i)) % 1.0 for i in range(len(record.symbols))]
                values = {s.key: _between(s, part) for s, part in zip(record.symbols, parts, strict=True)}
                try:
                    written.add(record.choose(values).relation)
                except (ValueError, ZeroDivisionError, OverflowError):
                    continue
        found |= {(relation, s.key): None for relation in sorted(written) for s in record.symbols}
    return [pair for pair in found if re.search(rf"\b{pair[1]}\b", pair[0])]


def made() -> str:
    """Return the text of `forms.json` made afresh."""
    table = {}
    for relation, key in relations():
        one = write(relation, key)
        table[f"{relation} | {key}"] = [one.closed, one.latex, one.text]
    lines = [
        f"{json.dumps(k, ensure_ascii=False)}: {json.dumps(v, ensure_ascii=False)}" for k, v in table.items()
    ]
    return "{\n" + ",\n".join(lines) + "\n}\n"
