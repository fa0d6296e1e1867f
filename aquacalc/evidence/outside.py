"""The values of data/evidence.csv that this package is held against, each with ours worked out anew."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from aquacalc.catalogue import read_table
from aquacalc.equations import RECORDS
from aquacalc.evidence.engine import CONSTANTS
from aquacalc.evidence.given import Given, parse
from aquacalc.evidence.kinds import best
from aquacalc.units import in_unit


@dataclass(frozen=True)
class Outside:
    """One value; the fields are the columns of data/evidence.csv, and `points` is a number of points."""

    of: str
    subject: str
    place: str
    given: str
    printed: str
    unit: str
    low: str
    high: str
    author: str
    title: str
    section: str
    note: str
    kind: str
    points: float

    @property
    def is_band(self) -> bool:
        """Whether the source gives two ends instead of a value."""
        return " to " in self.printed

    @property
    def cited(self) -> str:
        """Who gives it: author, title, section and remark."""
        return ", ".join(part for part in (self.author, self.title, self.section, self.note) if part)

    @property
    def asked(self) -> Given:
        """The equation with what is put into it."""
        name = f"{self.subject}.{self.place}" if self.place else self.subject
        return parse(f"{name}({self.given})")

    @property
    def equations(self) -> tuple[str, ...]:
        """Every equation that the value holds, the one it stands under first."""
        return tuple(dict.fromkeys(self.asked.equations())) if self.of == "equation" else ()

    @property
    def row(self) -> dict[str, str]:
        """Columns that pick a row of a table."""
        return dict(pair.split("=", 1) for pair in self.given.split("; "))

    def ours(self) -> float:
        """Our own value, in `unit`, worked out now."""
        if self.of == "engine":
            return CONSTANTS[self.subject].value()
        if self.of == "table":
            row = next(r for r in read_table(self.subject) if r.items() >= self.row.items())
            return row[self.place] / 25.4 if self.unit == "in" else row[self.place]
        result = self.asked.result()
        return in_unit(result.value, result.kind, unit=self.unit)[0]

    def agrees(self) -> bool:
        """Whether our value lies between `low` and `high`."""
        # The inputs are written to ten digits.
        low, high, ours = float(self.low), float(self.high), self.ours()
        hair = 1e-8 * max(abs(low), abs(high))
        return low - hair <= ours <= high + hair


@cache
def outside() -> tuple[Outside, ...]:
    """Return every value, equations in the order of their topics."""
    return tuple(Outside(**row) for row in read_table("evidence"))


def held_by() -> dict[str, list[Outside]]:
    """Equation -> the values that hold it, those of a chain of equations under each of them.

    Raises
    ------
    LookupError
        Naming an equation that no value holds.
    """
    found: dict[str, list[Outside]] = {key: [] for key in RECORDS}
    for value in outside():
        for key in value.equations:
            found[key].append(value)
    bare = [key for key, values in found.items() if not values]
    if bare:
        raise LookupError(
            f"{bare[0]}: no value in data/evidence.csv holds this equation; give it a case in "
            "tests/equations and run `python -m tests.regenerate evidence`"
        )
    return found


def best_kinds() -> dict[str, str]:
    """Equation -> the best kind of value that holds it."""
    return {key: best(v.kind for v in values) for key, values in held_by().items()}


def shown_ours(value: Outside) -> str:
    """Our value to one digit more than the source prints."""
    first = value.printed.split(" to ")[0]
    mantissa, e, _ = first.partition("e")
    digits = len(mantissa.lstrip("-0.").replace(".", "")) + 1
    return f"{value.ours():.{max(min(digits, 10), 3)}g}" if e else _decimals(value.ours(), mantissa)


def _decimals(ours: float, printed: str) -> str:
    return f"{ours:.{len(printed.partition('.')[2]) + 1}f}"


def shown_difference(value: Outside) -> str:
    """Our value against the printed one, in words: "inside", or per cent."""
    ours = value.ours()
    if value.is_band:
        low, high = (float(x) for x in value.printed.split(" to "))
        return "inside" if low <= ours <= high else "outside"
    printed = float(value.printed)
    if printed == 0.0:
        return f"{ours:.2g}"
    part = 100.0 * (ours / printed - 1.0)
    return "0" if abs(part) < 5e-5 else f"{part:+.2g} %"
